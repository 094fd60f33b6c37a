//! Records closed to whoever holds the device: every text of cases and records is encrypted under one key, which
//! only the clinic's passphrase or its printed recovery key opens.
//!
//! Argon2id (RFC 9106) makes a key of what is typed, slowly; that key opens the one the texts are under. Texts are
//! encrypted with XChaCha20-Poly1305 (draft-irtf-cfrg-xchacha), bound to the key they are stored under: one that was
//! changed, or put in another's place, is refused and not misread. Chance comes in as an argument.

mod recovery;
pub mod safe;
pub mod store;
#[cfg(test)]
mod tests;

use crate::stored;
use argon2::{Algorithm, Argon2, Block, Params, Version};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chacha20poly1305::aead::{AeadInPlace, KeyInit};
use chacha20poly1305::{Tag, XChaCha20Poly1305, XNonce};
use serde::{Deserialize, Serialize};

pub use recovery::RecoveryKey;

/// Version of the stored lock.
const SCHEMA: u32 = 1;
/// Begins every closed text; no text in clear begins so.
const MARK: &str = "closed-1 ";
/// Fewest characters of a passphrase (own judgement).
pub const SHORTEST: usize = 10;
/// Most memory that a lock may ask for [KiB], and most passes: a page can hardly have more.
const MOST: Cost = Cost { memory: 256 << 10, passes: 16 };
/// Least, so that no lock put in the place of ours makes guessing cheap; tests would take too long with it.
const LEAST: Cost = if cfg!(test) { Cost { memory: 64, passes: 1 } } else { Cost::USUAL };

const KEY: usize = 32;
const NONCE: usize = 24;
const TAG: usize = 16;
const SALT: usize = 16;
/// A salt and a closed key.
const SLOT: usize = SALT + NONCE + KEY + TAG;

/// Fills bytes with chance from the device. Errors: there is none to be had.
pub type Chance<'a> = &'a mut dyn FnMut(&mut [u8]) -> Result<(), ClosedError>;

/// Why something stays closed, or could not be closed. What stands can be read as before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClosedError {
    /// Fewer characters than [`SHORTEST`].
    TooShort,
    /// Not the passphrase, or not the recovery key.
    Wrong,
    /// A recovery key has other characters, or more or fewer.
    NotARecoveryKey,
    /// The device gives no chance to make a key from.
    NoChance,
    /// The lock is not as it was written.
    Damaged,
    /// The device has not the memory that making a key takes.
    NoMemory,
    /// Another tab made, changed or took off the lock meanwhile.
    Elsewhere,
    /// What is stored here does not outlast the page: a lock over it would be lost, and what it closes with it.
    NotKept,
    /// Some texts are closed under a key that this lock does not hold; without a lock nobody would know.
    Foreign,
}

/// What making a key of a passphrase costs; whoever guesses pays it for every guess.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cost {
    /// Memory [KiB].
    pub memory: u32,
    /// Passes over it.
    pub passes: u32,
}

impl Cost {
    /// 64 MiB, twice over: the least this program takes.
    pub const USUAL: Cost = Cost { memory: 64 << 10, passes: 2 };
}

/// What opens a lock, as typed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum With<'a> {
    /// The clinic's passphrase.
    Passphrase(&'a str),
    /// The recovery key that was printed when the lock was made.
    Recovery(&'a str),
    /// Either of them.
    Either(&'a str),
}

/// The key of all texts, closed once under the passphrase and once under the recovery key. Holds nothing secret. Its
/// id outlives a change of the passphrase.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lock {
    schema: u32,
    id: String,
    /// Counts changes of the passphrase: of two copies the later holds.
    change: u32,
    cost: Cost,
    passphrase: Slot,
    recovery: Slot,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Slot {
    salt: String,
    key: String,
}

/// The key of all texts, open.
#[derive(Clone)]
pub struct Key {
    bytes: [u8; KEY],
    cipher: XChaCha20Poly1305,
}

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Key")
    }
}

impl Key {
    fn new(bytes: [u8; KEY]) -> Self {
        Self { cipher: XChaCha20Poly1305::new(&bytes.into()), bytes }
    }

    /// A text closed, to stand under `place`. Errors: no chance.
    pub fn close(&self, place: &str, text: &str, chance: Chance<'_>) -> Result<String, ClosedError> {
        let closed = self.encrypt(place, text.as_bytes(), chance)?;
        Ok(format!("{MARK}{}", STANDARD.encode(closed)))
    }

    /// The text that stands closed under `place`. Errors: not closed, under another key or place, or changed since.
    pub fn open(&self, place: &str, closed: &str) -> Result<String, ClosedError> {
        let closed = closed.strip_prefix(MARK).ok_or(ClosedError::Wrong)?;
        let bytes = STANDARD.decode(closed).map_err(|_| ClosedError::Wrong)?;
        String::from_utf8(self.decrypt(place, &bytes)?).map_err(|_| ClosedError::Wrong)
    }

    // nonce, then what is encrypted, then the tag that tells whether it was changed
    fn encrypt(&self, place: &str, clear: &[u8], chance: Chance<'_>) -> Result<Vec<u8>, ClosedError> {
        let mut nonce = [0; NONCE];
        chance(&mut nonce)?;
        let mut text = clear.to_vec();
        let tag = self
            .cipher
            .encrypt_in_place_detached(XNonce::from_slice(&nonce), place.as_bytes(), &mut text)
            .map_err(|_| ClosedError::Damaged)?;
        Ok([&nonce, text.as_slice(), tag.as_slice()].concat())
    }

    fn decrypt(&self, place: &str, closed: &[u8]) -> Result<Vec<u8>, ClosedError> {
        let (nonce, rest) = closed.split_at_checked(NONCE).ok_or(ClosedError::Wrong)?;
        let end = rest.len().checked_sub(TAG).ok_or(ClosedError::Wrong)?;
        let (text, tag) = rest.split_at_checked(end).ok_or(ClosedError::Wrong)?;
        let mut clear = text.to_vec();
        self.cipher
            .decrypt_in_place_detached(
                XNonce::from_slice(nonce),
                place.as_bytes(),
                &mut clear,
                Tag::from_slice(tag),
            )
            .map_err(|_| ClosedError::Wrong)?;
        Ok(clear)
    }
}

/// Whether a text is closed.
pub fn is_closed(text: &str) -> bool {
    text.starts_with(MARK)
}

impl Lock {
    /// A new lock, the key it holds, and the recovery key, which is shown once and kept nowhere. Errors: a passphrase
    /// too short; no chance.
    pub fn new(
        passphrase: &str,
        cost: Cost,
        chance: Chance<'_>,
    ) -> Result<(Self, Key, RecoveryKey), ClosedError> {
        long_enough(passphrase)?;
        let (mut bytes, mut id) = ([0; KEY], [0; SALT]);
        chance(&mut bytes)?;
        chance(&mut id)?;
        let recovery = RecoveryKey::new(chance)?;
        let lock = Self {
            schema: SCHEMA,
            id: STANDARD.encode(id),
            change: 0,
            cost,
            passphrase: Slot::new(passphrase.as_bytes(), PASSPHRASE, cost, &bytes, chance)?,
            recovery: Slot::new(recovery.bytes(), RECOVERY, cost, &bytes, chance)?,
        };
        Ok((lock, Key::new(bytes), recovery))
    }

    /// Tells this lock from any other.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The key of all texts. Takes as long as [`Cost`] says, right or wrong. Errors: wrong.
    pub fn open(&self, with: With<'_>) -> Result<Key, ClosedError> {
        let bytes = match with {
            With::Passphrase(typed) => self.passphrase.open(typed.as_bytes(), PASSPHRASE, self.cost)?,
            With::Recovery(typed) => {
                self.recovery.open(RecoveryKey::read(typed)?.bytes(), RECOVERY, self.cost)?
            }
            With::Either(typed) => {
                return match self.open(With::Recovery(typed)) {
                    Err(ClosedError::NotARecoveryKey | ClosedError::Wrong) => {
                        self.open(With::Passphrase(typed))
                    }
                    done => done,
                };
            }
        };
        Ok(Key::new(bytes))
    }

    /// The same lock under another passphrase: the texts need not be written anew. Errors: too short; no chance.
    pub fn with_passphrase(
        &self,
        key: &Key,
        passphrase: &str,
        chance: Chance<'_>,
    ) -> Result<Self, ClosedError> {
        long_enough(passphrase)?;
        let slot = Slot::new(passphrase.as_bytes(), PASSPHRASE, self.cost, &key.bytes, chance)?;
        Ok(Self { passphrase: slot, change: self.change.saturating_add(1), ..self.clone() })
    }

    /// As it is stored. Errors: it cannot be written.
    pub fn to_json(&self) -> Result<String, ClosedError> {
        stored::write(self).map_err(|_| ClosedError::Damaged)
    }

    /// From what is stored. Errors: not a lock of this version, or one that asks for more, or less, than any made.
    pub fn from_json(text: &str) -> Result<Self, ClosedError> {
        let lock: Self = stored::read(text, SCHEMA).map_err(|_| ClosedError::Damaged)?;
        if lock.fits() { Ok(lock) } else { Err(ClosedError::Damaged) }
    }
}

/// What of a lock opens its key, as it goes along with what stands on paper: the cost, and for passphrase and recovery key
/// each the salt and the closed key.
impl Lock {
    /// Bytes of it.
    const BYTES: usize = 5 + 2 * SLOT;

    /// As bytes. Errors: not as it was written.
    pub fn to_bytes(&self) -> Result<Vec<u8>, ClosedError> {
        let passes = u8::try_from(self.cost.passes).map_err(|_| ClosedError::Damaged)?;
        let slots = [self.passphrase.to_bytes()?, self.recovery.to_bytes()?].concat();
        let all = [self.cost.memory.to_be_bytes().as_slice(), &[passes], &slots].concat();
        if all.len() == Self::BYTES { Ok(all) } else { Err(ClosedError::Damaged) }
    }

    /// From the first of these bytes, and what follows them. It has no id: it opens, and is not to be stored. Errors: too
    /// few, or it asks for more, or less, than any made.
    pub fn from_bytes(bytes: &[u8]) -> Result<(Self, &[u8]), ClosedError> {
        let (all, rest) = bytes.split_at_checked(Self::BYTES).ok_or(ClosedError::Damaged)?;
        let (cost, slots) = all.split_first_chunk().ok_or(ClosedError::Damaged)?;
        let (passes, slots) = slots.split_first().ok_or(ClosedError::Damaged)?;
        let (passphrase, recovery) = slots.split_at_checked(SLOT).ok_or(ClosedError::Damaged)?;
        let cost = Cost { memory: u32::from_be_bytes(*cost), passes: u32::from(*passes) };
        let [passphrase, recovery] = [passphrase, recovery].map(Slot::from_bytes);
        let lock = Self { schema: SCHEMA, id: String::new(), change: 0, cost, passphrase, recovery };
        if lock.fits() { Ok((lock, rest)) } else { Err(ClosedError::Damaged) }
    }

    fn fits(&self) -> bool {
        (LEAST.memory..=MOST.memory).contains(&self.cost.memory)
            && (LEAST.passes..=MOST.passes).contains(&self.cost.passes)
    }
}

fn long_enough(passphrase: &str) -> Result<(), ClosedError> {
    if passphrase.chars().count() < SHORTEST { Err(ClosedError::TooShort) } else { Ok(()) }
}

/// What each slot's key is bound to.
const PASSPHRASE: &str = "passphrase";
const RECOVERY: &str = "recovery";

impl Slot {
    fn new(
        secret: &[u8],
        what: &str,
        cost: Cost,
        key: &[u8; KEY],
        chance: Chance<'_>,
    ) -> Result<Self, ClosedError> {
        let mut salt = [0; SALT];
        chance(&mut salt)?;
        let closed = Key::new(slow_key(secret, &salt, cost)?).encrypt(what, key, chance)?;
        Ok(Self { salt: STANDARD.encode(salt), key: STANDARD.encode(closed) })
    }

    /// Salt and closed key.
    fn decode(&self) -> Result<[Vec<u8>; 2], ClosedError> {
        let decode = |text: &str| STANDARD.decode(text).map_err(|_| ClosedError::Damaged);
        Ok([decode(&self.salt)?, decode(&self.key)?])
    }

    /// Both in turn, of lengths that every slot has.
    fn to_bytes(&self) -> Result<Vec<u8>, ClosedError> {
        let [salt, closed] = self.decode()?;
        if salt.len() == SALT { Ok([salt, closed].concat()) } else { Err(ClosedError::Damaged) }
    }

    fn from_bytes(bytes: &[u8]) -> Self {
        let (salt, closed) = bytes.split_at_checked(SALT).unwrap_or((bytes, &[]));
        Self { salt: STANDARD.encode(salt), key: STANDARD.encode(closed) }
    }

    fn open(&self, secret: &[u8], what: &str, cost: Cost) -> Result<[u8; KEY], ClosedError> {
        let [salt, closed] = self.decode()?;
        let bytes = Key::new(slow_key(secret, &salt, cost)?).decrypt(what, &closed)?;
        bytes.try_into().map_err(|_| ClosedError::Damaged)
    }
}

/// Argon2id, version 1.3, one lane. Errors: a salt or cost that it does not take; no memory.
fn slow_key(secret: &[u8], salt: &[u8], cost: Cost) -> Result<[u8; KEY], ClosedError> {
    let damaged = |_| ClosedError::Damaged;
    let params = Params::new(cost.memory, cost.passes, 1, Some(KEY)).map_err(damaged)?;
    let mut memory = blocks(params.block_count())?;
    let mut key = [0; KEY];
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into_with_memory(secret, salt, &mut key, &mut memory)
        .map_err(damaged)?;
    Ok(key)
}

/// Memory, asked for with care: where it is short, the allocation made by the crate would end the page.
fn blocks(count: usize) -> Result<Vec<Block>, ClosedError> {
    let mut memory = Vec::new();
    memory.try_reserve_exact(count).map_err(|_| ClosedError::NoMemory)?;
    memory.resize(count, Block::new());
    Ok(memory)
}
