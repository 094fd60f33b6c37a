//! The code on a printed card, from which Strawline rebuilds the case.
//!
//! Under a lock it holds the whole case, closed with the clinic's key. Without one any phone could read it: it then
//! holds quantities, lots and times, and the patient reference only where the clinic says that it is a coded one; no
//! name, no other identifier, nothing typed in words.
//!
//! Text of one code: `SL3:`, its number, how many there are, `:`, bytes in base45, `:`. The bytes of all parts in
//! turn: 0 in clear or 1 closed; closed, what of the lock opens it, so that the passphrase does on any device; the case
//! as stored, squeezed, or closed after that; four bytes of the SHA-256 of what comes before them.

mod bare;
mod base45;
pub(super) mod squeeze;
pub mod symbol;
#[cfg(test)]
mod tests;

use crate::draft::{Draft, DraftError, Rebuilt};
use crate::quantity::time::{Instant, Offset};
use crate::record::Record;
use crate::record::archive::backup::Closing;
use crate::record::closed::{Chance, ClosedError, Key, Lock};
use crate::words::code::{CodePrinted, CodeWord};
use crate::words::field::Label;
use crate::words::times::TimeName;
use crate::words::{Language, unit};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};
use symbol::Symbol;

/// Before the number of its layout.
const HEAD: &str = "SL";
/// The layout written and read here.
const LAYOUT: &str = "3";
/// Those before it, which were packed in another way.
const OLDER: [&str; 2] = ["1", "2"];
/// What a closed case is bound to.
const PLACE: &str = "strawline.card";
/// What stands before the bytes of a closed text.
const CLOSED: &str = "closed-1 ";
/// Most bytes of one part: with them a code is of version 25 at most.
const MOST: usize = 960;
/// Most characters looked at; two codes hold a quarter of it.
const LONGEST: usize = 12_000;
/// Bytes of the check at the end.
const CHECK: usize = 4;

/// A case as it stands in a code, before it is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Code {
    /// One code, or two.
    pub symbols: Vec<Symbol>,
    /// It is closed.
    pub closed: bool,
    /// The patient reference stands in it in clear.
    pub reference: bool,
}

/// Why there is no code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoCode {
    /// More than two codes hold.
    TooLong,
    /// It could not be closed.
    NotClosed,
}

/// Why a code was not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unread {
    /// Nothing there.
    Empty,
    /// No code of a card.
    NotACode,
    /// Of a newer Strawline.
    Newer,
    /// Of one before the first that packs as it is done now.
    Older,
    /// The other part is missing, counted from 1.
    Part {
        /// Which.
        missing: usize,
    },
    /// Parts of two cards, or of two prints of one.
    TwoCards,
    /// A character that no code has, or not all of them.
    NotWhole,
    /// Closed, and no key of it is at hand.
    Closed,
    /// What is inside is no case.
    NoCase,
}

/// Which case a code is to hold.
#[derive(Debug, Clone, Copy)]
pub struct Of<'a> {
    /// The case.
    pub draft: &'a Draft,
    /// Its record and the entry that is printed, counted from 0.
    pub entry: Option<(&'a Record, usize)>,
    /// The clinic's patient reference is a coded one, and stands in clear.
    pub reference: bool,
}

/// The text of each code, printed now. Errors: see [`NoCode`].
pub fn texts(of: Of<'_>, closing: Option<Closing<'_>>, now: Instant) -> Result<Vec<String>, NoCode> {
    let mut draft = match closing {
        Some(_) => of.draft.clone(),
        None => bare::bare(of.draft, of.reference),
    };
    let entry = of.entry.and_then(|(record, n)| Some((record.entries().nth(n)?.at, record.seal(n))));
    draft.rebuilt = Some(Rebuilt {
        at: bare::second(now),
        whole: closing.is_some(),
        signed: entry.map(|(at, _)| at),
        check: entry.and_then(|(_, seal)| seal.map(|seal| seal.short())),
        printed: None,
    });
    let squeezed = squeeze::squeeze(&draft.to_json()).ok_or(NoCode::TooLong)?;
    let mut bytes = match closing {
        None => [&[0], squeezed.as_slice()].concat(),
        Some(Closing { lock, key, mut chance }) => {
            let lock = lock.to_bytes().map_err(|_| NoCode::NotClosed)?;
            let closed = close(key, &squeezed, &mut chance).map_err(|_| NoCode::NotClosed)?;
            [&[1], lock.as_slice(), &closed].concat()
        }
    };
    bytes.extend(check(&bytes));
    let parts = bytes.len().div_ceil(MOST);
    if parts > 2 {
        return Err(NoCode::TooLong);
    }
    // Alike in size, and whole pairs but for the last.
    let each = bytes.len().div_ceil(parts).next_multiple_of(2);
    let part = |(n, part)| format!("{HEAD}{LAYOUT}:{n}{parts}:{}:", base45::encode(part));
    Ok((1..).zip(bytes.chunks(each)).map(part).collect())
}

/// The codes of a case, printed now. Errors: see [`NoCode`].
pub fn code(of: Of<'_>, closing: Option<Closing<'_>>, now: Instant) -> Result<Code, NoCode> {
    let closed = closing.is_some();
    let reference = !closed && bare::has_reference(of.draft, of.reference);
    let symbols = texts(of, closing, now)?.iter().map(|text| Symbol::of(text)).collect::<Option<_>>();
    Ok(Code { symbols: symbols.ok_or(NoCode::TooLong)?, closed, reference })
}

/// The lock that a closed code carries; none of one in clear. Errors: see [`Unread`].
pub fn lock(typed: &str) -> Result<Option<Lock>, Unread> {
    Ok(match held(&whole(typed)?)? {
        Held::Closed { lock, .. } => Some(lock),
        Held::Clear(_) => None,
    })
}

/// The case in what a reader typed: one part, or two in any order. It is marked as rebuilt at this moment. Errors: see
/// [`Unread`].
pub fn read(typed: &str, keys: &[Key], now: Instant) -> Result<Draft, Unread> {
    let (draft, closed) = match held(&whole(typed)?)? {
        Held::Clear(squeezed) => (squeeze::unsqueeze(squeezed), false),
        Held::Closed { closed, .. } => {
            let open = keys.iter().find_map(|key| open(key, closed));
            (squeeze::unsqueeze(&open.ok_or(Unread::Closed)?), true)
        }
    };
    let draft = Draft::from_json(&draft.ok_or(Unread::NoCase)?).map_err(|error| match error {
        DraftError::Newer { .. } => Unread::Newer,
        _ => Unread::NoCase,
    })?;
    // It becomes part of the key that the case is stored under.
    let id = |b: u8| b.is_ascii_alphanumeric() || b == b'-';
    if draft.id.is_empty() || draft.id.len() > 64 || !draft.id.bytes().all(id) {
        return Err(Unread::NoCase);
    }
    let told = draft.rebuilt.clone();
    // Anybody can make a code in clear: nothing comes in by it that none of ours holds.
    let mut draft = if closed { draft } else { bare::bare(&draft, true) };
    let hex = |check: &String| check.len() == 8 && check.bytes().all(|b| b.is_ascii_hexdigit());
    draft.rebuilt = Some(Rebuilt {
        at: now,
        whole: closed,
        signed: told.as_ref().and_then(|t| t.signed),
        printed: told.as_ref().map(|t| t.at).filter(|at| at.0 != 0),
        check: told.and_then(|t| t.check).filter(hex),
    });
    Ok(draft)
}

/// What a case that was read holds, line by line: what was typed, when things happened.
pub fn holds(draft: &Draft, language: Language, offset: Offset) -> Vec<String> {
    let offset = draft.offset.unwrap_or(offset);
    let say = |at| {
        let day = unit::date(at, offset).map(|day| language.say(day).into_owned());
        day.into_iter().chain([unit::clock(at, offset)]).collect::<Vec<_>>().join(", ")
    };
    let line = |name: &str, text: &str| format!("{name}: {text}");
    let mut lines = vec![line(&language.say(CodeWord::Sign), &draft.sign.to_string())];
    let printed = draft.rebuilt.as_ref().and_then(|r| r.printed).map(say);
    lines.push(language.say(CodePrinted(printed)).into_owned());
    lines.push(line(&language.say(CodeWord::Begun), &say(draft.begun)));
    lines.extend(draft.texts.iter().map(|(field, text)| line(&language.say(Label(*field)), text)));
    let times = draft.times.entered().into_iter().filter_map(|what| Some((what, draft.times.get(what)?)));
    lines.extend(times.map(|(what, at)| line(&language.say(TimeName(what)), &say(at))));
    let ended = draft.ended_without.filter(|_| draft.times.handed_over.is_none());
    lines.extend(ended.map(|at| line(&language.say(CodeWord::Ended), &say(at))));
    lines
}

/// A case that was read, ready to be taken up: what its code left without a name gets one.
pub fn named(mut draft: Draft, language: Language) -> Draft {
    bare::names(&mut draft.kit, |name| {
        if name.is_empty() {
            *name = language.say(CodeWord::KitName).into_owned();
        }
    });
    draft
}

/// What the bytes of a code hold.
enum Held<'a> {
    Clear(&'a [u8]),
    Closed { lock: Lock, closed: &'a [u8] },
}

fn held(bytes: &[u8]) -> Result<Held<'_>, Unread> {
    let (bytes, end) = bytes.split_at_checked(bytes.len().saturating_sub(CHECK)).ok_or(Unread::NotWhole)?;
    if check(bytes) != *end {
        return Err(Unread::NotWhole);
    }
    match bytes.split_first() {
        Some((0, squeezed)) => Ok(Held::Clear(squeezed)),
        Some((1, rest)) => {
            let (lock, closed) = Lock::from_bytes(rest).map_err(|_| Unread::NoCase)?;
            Ok(Held::Closed { lock, closed })
        }
        _ => Err(Unread::Newer),
    }
}

/// The bytes of all parts.
fn whole(typed: &str) -> Result<Vec<u8>, Unread> {
    if typed.len() > LONGEST {
        return Err(Unread::NotACode);
    }
    // A reader may write small letters; which, the alphabet does not tell apart.
    let typed = typed.to_ascii_uppercase();
    let lines = typed.split(['\n', '\r', '\t']).filter(|line| !line.trim().is_empty());
    let mut parts: [Option<Vec<u8>>; 2] = [None, None];
    let mut of = None;
    for line in lines {
        let (n, all, bytes) = part(line)?;
        if of.is_some_and(|of| of != all) {
            return Err(Unread::TwoCards);
        }
        of = Some(all);
        let place = n.checked_sub(1).filter(|_| n <= all).and_then(|n| parts.get_mut(n));
        let place = place.ok_or(Unread::NotWhole)?;
        if place.as_ref().is_some_and(|there| *there != bytes) {
            return Err(Unread::TwoCards);
        }
        *place = Some(bytes);
    }
    let all = of.ok_or(Unread::Empty)?;
    let mut bytes = Vec::new();
    for (missing, part) in (1..).zip(parts).take(all) {
        bytes.extend(part.ok_or(Unread::Part { missing })?);
    }
    Ok(bytes)
}

/// Number, how many there are, bytes.
fn part(line: &str) -> Result<(usize, usize, Vec<u8>), Unread> {
    let rest = line.trim_start().strip_prefix(HEAD).ok_or(Unread::NotACode)?;
    let (layout, rest) = rest.split_once(':').ok_or(Unread::NotACode)?;
    if OLDER.contains(&layout) {
        return Err(Unread::Older);
    }
    if layout != LAYOUT {
        let newer = !layout.is_empty() && layout.len() < 4 && layout.bytes().all(|b| b.is_ascii_digit());
        return Err(if newer { Unread::Newer } else { Unread::NotACode });
    }
    let (count, rest) = rest.split_once(':').ok_or(Unread::NotWhole)?;
    let (n, all) = match count.as_bytes() {
        [n @ b'1'..=b'2', all @ b'1'..=b'2'] => (usize::from(n - b'0'), usize::from(all - b'0')),
        _ => return Err(Unread::NotWhole),
    };
    let (text, _) = rest.rsplit_once(':').ok_or(Unread::NotWhole)?;
    Ok((n, all, base45::decode(text).ok_or(Unread::NotWhole)?))
}

fn check(bytes: &[u8]) -> Vec<u8> {
    Sha256::digest(bytes).iter().copied().take(CHECK).collect()
}

/// A lock closes texts: seven bits a letter make one of any bytes.
fn close(key: &Key, bytes: &[u8], chance: Chance<'_>) -> Result<Vec<u8>, ClosedError> {
    let text: String = regroup(bytes, 8, 7).into_iter().map(char::from).collect();
    let closed = key.close(PLACE, &text, chance)?;
    let closed = closed.strip_prefix(CLOSED).ok_or(ClosedError::Damaged)?;
    STANDARD.decode(closed).map_err(|_| ClosedError::Damaged)
}

fn open(key: &Key, closed: &[u8]) -> Option<Vec<u8>> {
    let closed = format!("{CLOSED}{}", STANDARD.encode(closed));
    let text = key.open(PLACE, &closed).ok()?;
    let mut bytes = regroup(text.as_bytes(), 7, 8);
    // What was filled up to whole letters may come back as a byte too many.
    bytes.truncate(text.len() * 7 / 8);
    Some(bytes)
}

/// The same bits in groups of another size, the last filled up with 0.
fn regroup(from: &[u8], width: u32, to: u32) -> Vec<u8> {
    let mut out = Vec::with_capacity(from.len() * 2);
    let (mut held, mut bits) = (0_u32, 0_u32);
    let group = |held: u32| u8::try_from(held & ((1 << to) - 1)).unwrap_or(0);
    for byte in from {
        held = held << width | u32::from(*byte) & ((1 << width) - 1);
        bits += width;
        while bits >= to {
            bits -= to;
            out.push(group(held >> bits));
        }
        held &= (1 << bits) - 1;
    }
    if bits > 0 {
        out.push(group(held << (to - bits)));
    }
    out
}
