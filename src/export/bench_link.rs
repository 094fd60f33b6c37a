//! A Bench in the fragment of a link: what stands behind `#` is never sent to a server.
//!
//! Text: `bench=2.`, then in base64 for addresses (RFC 4648, 5) the Bench as stored, squeezed, and four bytes of the
//! SHA-256 of that. What may name a person stays here: the clinic's own two lines, its wordings and the lead; and whether
//! cards carry the patient's reference in their code is decided on each device.

use super::code::squeeze::{squeeze, unsqueeze};
use crate::bench::Bench;
use crate::record::Reason;
use crate::stored;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};

/// Begins the fragment of such a link.
pub const HEAD: &str = "bench=";
/// The layout written and read here.
const LAYOUT: &str = "2";
/// The one before it, which was packed in another way.
const OLDER: &str = "1";
/// Most characters of a fragment: what messages and readers commonly pass on whole (own judgement).
pub const LONGEST: usize = 8_000;
/// Bytes of the check at the end.
const CHECK: usize = 4;

/// Why a link holds no Bench.
#[derive(Debug, Clone, PartialEq)]
pub enum NoBench {
    /// More characters than [`LONGEST`].
    TooLong {
        /// How many.
        found: usize,
    },
    /// Made by a newer Strawline.
    Newer,
    /// Made by one before the first that packs as it is done now.
    Older,
    /// A character that no such link has, counted from 1 behind its head.
    Character {
        /// Where.
        at: usize,
    },
    /// Cut short or changed on the way.
    NotWhole,
    /// What is inside is no Bench, or one that contradicts itself.
    Refused(Reason),
}

/// The Bench without what names a person or the clinic, or may, being free text; names of entries stay.
pub fn without_names(bench: &Bench) -> Bench {
    let mut bench = bench.clone();
    bench.clinic.name.clear();
    bench.clinic.second_line.clear();
    bench.clinic.autologous.clear();
    bench.clinic.local_line.clear();
    bench.clinic.coded_reference = false;
    bench.limits_lead.clear();
    bench
}

/// The fragment that carries a Bench, without its `#`. Errors: it is longer than a link can be; a file carries it.
pub fn fragment(bench: &Bench) -> Result<String, NoBench> {
    let text = stored::write(&without_names(bench)).unwrap_or_default();
    let mut bytes = squeeze(&text).ok_or(NoBench::TooLong { found: text.len() })?;
    bytes.extend(check(&bytes));
    let fragment = format!("{HEAD}{LAYOUT}.{}", URL_SAFE_NO_PAD.encode(&bytes));
    let found = fragment.len();
    if found > LONGEST { Err(NoBench::TooLong { found }) } else { Ok(fragment) }
}

/// The Bench in a fragment, with or without its `#`; `None` where it is no such fragment. Errors: see [`NoBench`].
pub fn read(fragment: &str) -> Option<Result<Bench, NoBench>> {
    let rest = fragment.strip_prefix('#').unwrap_or(fragment).strip_prefix(HEAD)?;
    Some(carried(rest))
}

fn carried(rest: &str) -> Result<Bench, NoBench> {
    let found = HEAD.len().saturating_add(rest.len());
    if found > LONGEST {
        return Err(NoBench::TooLong { found });
    }
    let (layout, text) = rest.split_once('.').ok_or(NoBench::NotWhole)?;
    if layout == OLDER {
        return Err(NoBench::Older);
    }
    if layout != LAYOUT {
        let newer = !layout.is_empty() && layout.len() < 4 && layout.bytes().all(|b| b.is_ascii_digit());
        return Err(if newer { NoBench::Newer } else { NoBench::Character { at: 1 } });
    }
    let of_base64 = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
    if let Some(n) = text.chars().position(|c| !of_base64(c)) {
        return Err(NoBench::Character { at: layout.len().saturating_add(n).saturating_add(2) });
    }
    let bytes = URL_SAFE_NO_PAD.decode(text).map_err(|_| NoBench::NotWhole)?;
    let (squeezed, end) =
        bytes.split_at_checked(bytes.len().saturating_sub(CHECK)).ok_or(NoBench::NotWhole)?;
    if squeezed.is_empty() || check(squeezed) != *end {
        return Err(NoBench::NotWhole);
    }
    let text = unsqueeze(squeezed).ok_or(NoBench::NotWhole)?;
    let bench = Bench::from_json(&text).map_err(|error| NoBench::Refused(Reason::from(error)))?;
    // Anybody can make such a link: no name comes in by it that none of ours holds.
    Ok(without_names(&bench))
}

fn check(bytes: &[u8]) -> Vec<u8> {
    Sha256::digest(bytes).iter().copied().take(CHECK).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Phrase;

    fn named() -> Bench {
        let mut bench = Bench::default();
        bench.clinic.name = "Harbour Lane Joint Clinic".into();
        bench.clinic.second_line = "Dr A. Reyes-Lindqvist".into();
        bench.clinic.autologous = "Own blood, asked for by Dr A. Reyes-Lindqvist".into();
        bench.clinic.local_line = "Questions to Dr A. Reyes-Lindqvist".into();
        bench.clinic.coded_reference = true;
        bench.limits_lead = "Dr A. Reyes-Lindqvist".into();
        bench.containers[0].name = "Tube of this clinic".into();
        bench
    }

    #[test]
    fn a_bench_comes_back_from_its_link_without_a_name() {
        let text = fragment(&named()).unwrap();
        println!("{} characters", text.len());
        assert!(text.len() < LONGEST / 2, "{}", text.len());
        let back = read(&format!("#{text}")).unwrap().unwrap();
        assert_eq!(back, without_names(&named()));
        assert!(!back.clinic.coded_reference);
        assert!(!back.to_json().contains("Reyes") && !back.to_json().contains("Harbour"));
        // Of a link that somebody else made likewise.
        let mut bytes = squeeze(&stored::write(&named()).unwrap()).unwrap();
        bytes.extend(check(&bytes));
        let forged = format!("{HEAD}2.{}", URL_SAFE_NO_PAD.encode(&bytes));
        assert_eq!(read(&forged).unwrap().unwrap(), without_names(&named()));
        for other in ["", "#", "#bench", "#worksheet", "#records"] {
            assert_eq!(read(other), None);
        }
    }

    #[test]
    fn what_is_no_bench_is_refused_with_what_and_where() {
        let text = fragment(&named()).unwrap();
        let said = |text: &str| read(text).unwrap().unwrap_err();
        let long = format!("{HEAD}2.{}", "A".repeat(LONGEST));
        assert_eq!(said(&long), NoBench::TooLong { found: LONGEST + 8 });
        assert_eq!(said("bench=3.AAAA"), NoBench::Newer);
        assert_eq!(said("bench=1.AAAA"), NoBench::Older);
        assert_eq!(said("bench=2.AA<A"), NoBench::Character { at: 5 });
        assert_eq!(said("bench=2.AA%3C"), NoBench::Character { at: 5 });
        assert_eq!(said("bench=<script>.A"), NoBench::Character { at: 1 });
        for cut in ["bench=", "bench=2", "bench=2.", "bench=2.AAAAAAAA", &text[..text.len() - 1]] {
            assert_eq!(said(cut), NoBench::NotWhole, "{cut:.20}");
        }
        let mut big = named();
        for n in 0..400 {
            let mut more = big.containers[0].clone();
            more.id = format!("{:x}", Sha256::digest(format!("{n}")));
            big.containers.push(more);
        }
        assert!(matches!(fragment(&big), Err(NoBench::TooLong { .. })));
        let mut wrong = named();
        wrong.containers[0].fill_low = wrong.containers[0].capacity;
        let refused = said(&fragment(&wrong).unwrap());
        assert!(refused.english().contains("Tube of this clinic"), "{}", refused.english());
        assert!(said(&long).english().contains("8008"), "{}", said(&long).english());
    }
}
