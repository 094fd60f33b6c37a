//! The recovery key: printed once, typed by hand when the passphrase is lost.

use super::{Chance, ClosedError};
use std::fmt;

/// Figures and letters without I, L, O and U, which are misread: the alphabet that Crockford chose for base 32.
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const BYTES: usize = 20;
const GROUP: usize = 4;

/// 160 bits of chance.
#[derive(Clone, PartialEq, Eq)]
pub struct RecoveryKey([u8; BYTES]);

impl RecoveryKey {
    pub(super) fn new(chance: Chance<'_>) -> Result<Self, ClosedError> {
        let mut bytes = [0; BYTES];
        chance(&mut bytes)?;
        Ok(Self(bytes))
    }

    pub(super) fn bytes(&self) -> &[u8] {
        &self.0
    }

    /// As typed: spaces and hyphens say nothing, O is 0, I and L are 1. Errors: other characters, more or fewer.
    pub fn read(typed: &str) -> Result<Self, ClosedError> {
        let mut bits = 0_u32;
        let mut held = 0_u32;
        let mut bytes = Vec::with_capacity(BYTES);
        for sign in typed.chars().filter(|c| !c.is_whitespace() && *c != '-') {
            let sign = match sign.to_ascii_uppercase() {
                'O' => '0',
                'I' | 'L' => '1',
                other => other,
            };
            let place = ALPHABET.iter().position(|a| char::from(*a) == sign);
            let value = place.and_then(|p| u32::try_from(p).ok()).ok_or(ClosedError::NotARecoveryKey)?;
            bits = (bits << 5) | value;
            held += 5;
            if held >= 8 {
                held -= 8;
                let [.., byte] = (bits >> held).to_be_bytes();
                bytes.push(byte);
                bits &= (1 << held) - 1;
            }
            if bytes.len() > BYTES {
                return Err(ClosedError::NotARecoveryKey);
            }
        }
        match bytes.try_into() {
            Ok(bytes) if held == 0 => Ok(Self(bytes)),
            _ => Err(ClosedError::NotARecoveryKey),
        }
    }
}

/// In groups of four.
impl fmt::Display for RecoveryKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut bits = 0_u32;
        let mut held = 0_u32;
        let mut written = 0_usize;
        for byte in self.0 {
            bits = (bits << 8) | u32::from(byte);
            held += 8;
            while held >= 5 {
                held -= 5;
                let sign = usize::try_from(bits >> held).ok().and_then(|at| ALPHABET.get(at));
                if written > 0 && written.is_multiple_of(GROUP) {
                    f.write_str("-")?;
                }
                f.write_str(
                    std::str::from_utf8(sign.map(std::slice::from_ref).unwrap_or_default())
                        .unwrap_or_default(),
                )?;
                written += 1;
                bits &= (1 << held) - 1;
            }
        }
        Ok(())
    }
}
