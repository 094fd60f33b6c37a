//! Bytes as the 45 characters that a QR code holds in five and a half bits each (RFC 9285).

use std::iter::successors;

const ALPHABET: &[u8; 45] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

/// Two bytes are three characters, a last one alone two; the lowest digit first.
pub fn encode(bytes: &[u8]) -> String {
    let digits = bytes.chunks(2).flat_map(|pair| {
        let number = pair.iter().fold(0_usize, |n, byte| n << 8 | usize::from(*byte));
        successors(Some(number), |n| Some(n / 45)).take(pair.len() + 1).map(|n| n % 45)
    });
    digits.filter_map(|digit| ALPHABET.get(digit).map(|c| char::from(*c))).collect()
}

/// The way back; `None` where a character, a length or a number is none that [`encode`] writes.
pub fn decode(text: &str) -> Option<Vec<u8>> {
    let digits: Vec<usize> =
        text.bytes().map(|c| ALPHABET.iter().position(|a| *a == c)).collect::<Option<_>>()?;
    let mut bytes = Vec::with_capacity(digits.len() / 3 * 2 + 1);
    for some in digits.chunks(3) {
        let number = some.iter().rev().fold(0, |n, digit| n * 45 + digit);
        match some.len() {
            3 => bytes.extend(u16::try_from(number).ok()?.to_be_bytes()),
            2 => bytes.push(u8::try_from(number).ok()?),
            _ => return None,
        }
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// RFC 9285, sections 4.3 and 4.4, written here from memory.
    #[test]
    fn the_examples_of_the_standard() {
        for (text, code) in
            [("AB", "BB8"), ("Hello!!", "%69 VD92EX0"), ("base-45", "UJCLQE7W581"), ("ietf!", "QED8WEX0")]
        {
            assert_eq!(encode(text.as_bytes()), code);
            assert_eq!(decode(code), Some(text.as_bytes().to_vec()));
        }
        // Too large for two bytes, for one, of one character, of others.
        for none in ["GGW", ":::", "::", "A", "BB8A", "bb8", "Ä"] {
            assert_eq!(decode(none), None, "{none}");
        }
    }

    proptest! {
        #[test]
        fn bytes_come_back(bytes in proptest::collection::vec(any::<u8>(), 0..100)) {
            prop_assert_eq!(decode(&encode(&bytes)), Some(bytes));
        }
    }
}
