//! The check sign: two characters that tell open cases apart on container, bucket, label and card.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Digits and letters that cannot be taken for one another by hand or by eye.
const DIGITS: [char; 5] = ['3', '4', '6', '7', '9'];
const LETTERS: [char; 20] =
    ['A', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K', 'M', 'N', 'P', 'Q', 'R', 'T', 'U', 'V', 'W', 'X', 'Y'];

/// Digit and letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct CheckSign(char, char);

impl CheckSign {
    /// A sign that shares neither character with one in use, while such a one is left; `seed` picks among
    /// them. With more than five cases open only the pair differs.
    pub fn pick(seed: u64, in_use: &[CheckSign]) -> CheckSign {
        Self::pick_beside(seed, in_use, &[])
    }

    /// The same, and none of those that may still stand on a product of today.
    pub fn pick_beside(seed: u64, in_use: &[CheckSign], taken: &[CheckSign]) -> CheckSign {
        let all = || DIGITS.iter().flat_map(|&d| LETTERS.iter().map(move |&l| CheckSign(d, l)));
        let free = || all().filter(|s| !taken.contains(s));
        let apart: Vec<_> = free().filter(|s| in_use.iter().all(|u| u.0 != s.0 && u.1 != s.1)).collect();
        let unequal: Vec<_> = free().filter(|s| !in_use.contains(s)).collect();
        let pool = if apart.is_empty() { unequal } else { apart };
        let at = usize::try_from(seed % 9973).unwrap_or(0).checked_rem(pool.len()).unwrap_or(0);
        pool.get(at).copied().unwrap_or(CheckSign('7', 'K'))
    }
}

impl fmt::Display for CheckSign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.0, self.1)
    }
}

impl TryFrom<String> for CheckSign {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let mut chars = text.chars();
        match (chars.next(), chars.next(), chars.next()) {
            (Some(d), Some(l), None) if DIGITS.contains(&d) && LETTERS.contains(&l) => Ok(CheckSign(d, l)),
            _ => Err(format!("{text:?} is not a check sign: one of 3 4 6 7 9, then a letter such as K")),
        }
    }
}

impl From<CheckSign> for String {
    fn from(sign: CheckSign) -> String {
        sign.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_in_use_share_no_character_until_five_are_open() {
        let mut open = Vec::new();
        for seed in 0..5 {
            let next = CheckSign::pick(seed * 7919, &open);
            assert!(open.iter().all(|u: &CheckSign| u.0 != next.0 && u.1 != next.1));
            open.push(next);
        }
        let sixth = CheckSign::pick(1, &open);
        assert!(!open.contains(&sixth));
    }

    #[test]
    fn a_sign_that_could_be_misread_is_refused() {
        for text in ["0K", "7O", "K7", "7", "7KK", "8A", "7Z"] {
            assert!(CheckSign::try_from(text.to_owned()).is_err(), "{text}");
        }
    }
}
