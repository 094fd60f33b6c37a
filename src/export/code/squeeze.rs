//! Makes a text small enough for a printed code: DEFLATE (RFC 1951) whose window already holds [`PRIMER`], so that the
//! names of fields and what ships cost next to nothing.

use miniz_oxide::deflate::core::{
    CompressorOxide, TDEFLFlush, TDEFLStatus, compress, create_comp_flags_from_zip_params,
};
use miniz_oxide::inflate::TINFLStatus;
use miniz_oxide::inflate::core::inflate_flags::TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF;
use miniz_oxide::inflate::core::{DecompressorOxide, decompress};

/// Stands before every text. It must never change: what was written after it is read only after it.
const PRIMER: &str = include_str!("primer_1.txt");

/// Longest text [bytes]; a case is a tenth of that.
pub const LONGEST: usize = 100_000;

/// A text, squeezed; `None` when it is longer than [`LONGEST`].
pub fn squeeze(text: &str) -> Option<Vec<u8>> {
    if text.len() > LONGEST {
        return None;
    }
    // As hard as it can, without a header.
    let mut packer = CompressorOxide::new(create_comp_flags_from_zip_params(10, 0, 0));
    // A text that does not pack grows by five bytes in some thousands.
    let mut out = vec![0; PRIMER.len().max(text.len()) * 2 + 64];
    // What the primer packs to is let go: it ends on a whole byte, and whoever reads has it too.
    compress(&mut packer, PRIMER.as_bytes(), &mut out, TDEFLFlush::Sync);
    let (status, _, length) = compress(&mut packer, text.as_bytes(), &mut out, TDEFLFlush::Finish);
    out.truncate(length);
    (status == TDEFLStatus::Done).then_some(out)
}

/// The way back; `None` for what no text was squeezed into. What was changed on the way may give another text.
pub fn unsqueeze(bytes: &[u8]) -> Option<String> {
    let mut out = PRIMER.as_bytes().to_vec();
    out.resize(PRIMER.len() + LONGEST, 0);
    let mut reader = Box::<DecompressorOxide>::default();
    let whole = TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF;
    let (status, read, length) = decompress(&mut reader, bytes, &mut out, PRIMER.len(), whole);
    let text = out.get(PRIMER.len()..)?.get(..length)?;
    let ends = status == TINFLStatus::Done && read == bytes.len();
    ends.then(|| String::from_utf8(text.to_vec()).ok())?
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_was_squeezed_comes_back(text in ".{0,400}") {
            let squeezed = squeeze(&text).unwrap();
            prop_assert_eq!(unsqueeze(&squeezed), Some(text));
        }

        #[test]
        fn any_bytes_give_a_text_or_none(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            drop(unsqueeze(&bytes));
        }
    }

    #[test]
    fn the_longest_text_comes_back_and_a_longer_one_is_refused() {
        // letters of a generator, which do not pack
        let mut seed = 7_u32;
        let mut letter = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            char::from(b' ' + u8::try_from(seed >> 24).unwrap() % 95)
        };
        let text: String = (0..LONGEST).map(|_| letter()).collect();
        let squeezed = squeeze(&text).unwrap();
        assert_eq!(unsqueeze(&squeezed), Some(text.clone()));
        assert_eq!(squeeze(&(text + "x")), None);
        assert_eq!(unsqueeze(&[]), None);
    }

    /// A text that would grow beyond all bounds, and one with something after its end.
    #[test]
    fn what_grows_too_long_or_goes_on_is_refused() {
        let mut packer = CompressorOxide::new(create_comp_flags_from_zip_params(9, 0, 0));
        let long = vec![b'a'; LONGEST + 1];
        let mut out = vec![0; 4_000];
        let (_, _, length) = compress(&mut packer, &long, &mut out, TDEFLFlush::Finish);
        assert_eq!(unsqueeze(&out[..length]), None);
        let mut more = squeeze("HL").unwrap();
        more.push(0);
        assert_eq!(unsqueeze(&more), None);
    }

    #[test]
    fn what_stands_before_costs_next_to_nothing() {
        let squeezed = squeeze(PRIMER).unwrap();
        assert!(squeezed.len() * 40 < PRIMER.len(), "{} of {}", squeezed.len(), PRIMER.len());
    }
}
