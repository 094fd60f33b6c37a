//! Bytes: hashing, naming by content, packing.

use anyhow::Result;
use base64::{Engine, engine::general_purpose::STANDARD};
use sha2::{Digest, Sha256};
use std::io::Write;

/// SHA-256 as a page's policy or an `integrity` attribute writes it.
pub fn integrity(bytes: &[u8]) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(bytes)))
}

/// The first ten hexadecimal digits of the SHA-256.
pub fn short_hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(5).map(|byte| format!("{byte:02x}")).collect()
}

/// `icon.svg` becomes `icon-0123456789.svg`: another content, another name.
pub fn hashed_name(name: &str, bytes: &[u8]) -> String {
    let (stem, extension) = name.rsplit_once('.').unwrap_or((name, "bin"));
    format!("{stem}-{}.{extension}", short_hash(bytes))
}

/// Brotli at its strongest.
///
/// # Errors
/// Never in practice: it writes to memory.
pub fn brotli(bytes: &[u8]) -> Result<Vec<u8>> {
    let mut packed = Vec::new();
    let params = brotli::enc::BrotliEncoderParams {
        quality: 11,
        lgwin: 22,
        size_hint: bytes.len(),
        ..Default::default()
    };
    brotli::BrotliCompress(&mut &*bytes, &mut packed, &params)?;
    Ok(packed)
}

/// Gzip, then base64: how the single file carries its module.
///
/// # Errors
/// Never in practice: it writes to memory.
pub fn gzip_base64(bytes: &[u8]) -> Result<String> {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    packer.write_all(bytes)?;
    Ok(base64(&packer.finish()?))
}

/// Base64 with padding.
pub fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn name_carries_hash_before_extension() {
        // SHA-256 of nothing begins e3b0c44298.
        assert_eq!(hashed_name("a.b.css", b""), "a.b-e3b0c44298.css");
        assert_eq!(integrity(b""), "sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=");
    }

    #[test]
    fn brotli_returns_what_went_in() {
        let text = "plasma ".repeat(500);
        let packed = brotli(text.as_bytes()).expect("packs");
        let mut back = Vec::new();
        brotli::BrotliDecompress(&mut &*packed, &mut back).expect("unpacks");
        assert_eq!(back, text.as_bytes());
        assert!(packed.len() < 100, "{} bytes", packed.len());
    }
}
