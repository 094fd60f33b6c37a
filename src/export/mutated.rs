//! What comes in from elsewhere, mutated: Bench files and links, backups in clear and closed, codes of cards. 2,000 by
//! default, 100,000 with `STRAWLINE_LONG=1`; each is answered within a second and 64 MB, with a sentence where it is
//! refused.

use super::bench_link;
use super::code;
use super::code::squeeze::squeeze;
use super::trial;
use crate::bench::Bench;
use crate::quantity::time::Instant;
use crate::record::Reason;
use crate::record::archive::backup::{self, Closing, Shelves};
use crate::record::archive::{save_bench, save_draft, save_record};
use crate::record::closed::{ClosedError, Cost, Lock};
use crate::record::store::Memory;
use crate::record::trial::block_on;
use crate::words::Phrase;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};
use std::time::{Duration, Instant as Clock};

/// What is put in here and there.
const ODD: [&str; 14] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "javascript:alert(1)",
    "=cmd|' /C calc'!A0",
    "\\u0000",
    "\u{202e}",
    "1e999",
    "-1",
    "null",
    "[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[",
    "{\"schema\":99",
    "18446744073709551616",
    "\"",
    "%00",
];

struct Dice(u64);

impl Dice {
    fn next(&mut self) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 33).unwrap()
    }

    fn below(&mut self, n: usize) -> usize {
        self.next() % n.max(1)
    }

    /// A text with one to three things done to it.
    fn mutated(&mut self, text: &str) -> String {
        let mut bytes = text.as_bytes().to_vec();
        for _ in 0..=self.below(3) {
            let at = self.below(bytes.len());
            match self.below(7) {
                0 => bytes.truncate(at),
                1 => bytes.splice(at..at, ODD[self.below(ODD.len())].bytes()).for_each(drop),
                2 => {
                    let end = (at + self.below(40)).min(bytes.len());
                    bytes.drain(at..end);
                }
                3 => {
                    let (from, n) = (self.below(bytes.len()), self.below(200));
                    let piece = bytes[from..(from + n).min(bytes.len())].to_vec();
                    bytes.splice(at..at, piece);
                }
                4 => bytes.splice(at..at, "[".repeat(self.below(4000)).bytes()).for_each(drop),
                _ if bytes.is_empty() => {}
                _ => bytes[at] = b' ' + u8::try_from(self.below(95)).unwrap(),
            }
        }
        String::from_utf8_lossy(&bytes).into_owned()
    }
}

fn chance(bytes: &mut [u8]) -> Result<(), ClosedError> {
    bytes.iter_mut().zip(7..).for_each(|(byte, n)| *byte = n);
    Ok(())
}

fn shelves(store: &Memory) -> Shelves<'_, Memory, Memory> {
    Shelves { shelf: store, drafts: store, records: store }
}

/// The link of a Bench file, whatever that says: whole by its check.
fn forged(text: &str) -> Option<String> {
    let mut bytes = squeeze(text)?;
    let check: Vec<u8> = Sha256::digest(&bytes).iter().copied().take(4).collect();
    bytes.extend(check);
    Some(format!("#bench=2.{}", URL_SAFE_NO_PAD.encode(&bytes)))
}

/// The same with whatever bytes stand there; the text only says which, the length in front among them.
fn forged_bytes(text: &str, good: &str) -> Option<String> {
    let mut bytes = squeeze(good)?;
    for (n, odd) in Sha256::digest(text.as_bytes()).iter().take(6).enumerate() {
        let at = (n * 97).min(bytes.len().saturating_sub(1));
        bytes[at] ^= odd;
    }
    let check: Vec<u8> = Sha256::digest(&bytes).iter().copied().take(4).collect();
    bytes.extend(check);
    Some(format!("#bench=2.{}", URL_SAFE_NO_PAD.encode(&bytes)))
}

/// A field of what Linux tells of this process [kB].
fn told(field: &str) -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix(field))?;
    line.trim_start_matches(':').trim().trim_end_matches("kB").trim().parse().ok()
}

/// Set for the process that measures: in it nothing else runs.
const MEASURES: &str = "STRAWLINE_MEASURES_MEMORY";

/// Time that this thread has worked, where Linux tells it: on a busy machine it also waits for others.
fn worked(since: Clock) -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let spent = told.and_then(|told| told.split_whitespace().next()?.parse().ok()).filter(|spent| *spent > 0);
    spent.map_or_else(|| since.elapsed(), Duration::from_nanos)
}

/// What this process holds before the first reading [kB], with the most so far forgotten; none where nobody measures.
fn baseline() -> Option<u64> {
    std::env::var_os(MEASURES)?;
    std::fs::write("/proc/self/clear_refs", "5").unwrap();
    Some(told("VmRSS").unwrap())
}

/// The most it has held since, beyond that [kB].
fn most_since(before: Option<u64>) -> Option<u64> {
    let before = before?;
    Some(told("VmHWM").unwrap().saturating_sub(before))
}

/// On Linux, which tells how much memory a process took at most.
#[cfg(target_os = "linux")]
#[test]
fn whatever_comes_in_takes_no_more_than_64_mb() {
    // What is measured can be too much.
    let here = std::env::var_os(MEASURES).is_some();
    if here {
        let before = baseline();
        drop(std::hint::black_box(vec![1u8; 100_000_000]));
        let took = most_since(before).unwrap();
        assert!(took > 90_000, "{took} kB");
        return;
    }
    for name in [
        "whatever_comes_in_takes_no_more_than_64_mb",
        "whatever_comes_in_is_taken_or_refused_with_a_sentence",
    ] {
        let done = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", &format!("export::mutated::{name}"), "--nocapture"])
            .env(MEASURES, "yes")
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&done.stdout).into_owned();
        println!("{said}");
        assert!(
            done.status.success() && said.contains("1 passed"),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
    }
}

#[test]
fn whatever_comes_in_is_taken_or_refused_with_a_sentence() {
    let each = if std::env::var_os("STRAWLINE_LONG").is_some() { 16_667 } else { 334 };
    let file = Bench::default().to_json();
    let link = format!("#{}", bench_link::fragment(&Bench::default()).unwrap());
    let store = Memory::default();
    block_on(async {
        let mut bench = Bench::default();
        bench.clinic.name = "Harbour Lane Joint Clinic".into();
        save_record(&store, &trial::counted()).await.unwrap();
        save_draft(&store, &trial::drawn(), None).await.unwrap();
        save_bench(&store, &bench, &Bench::default()).await.unwrap();
    });
    let (lock, key, _) = Lock::new("straw and garnet", Cost { memory: 64, passes: 1 }, &mut chance).unwrap();
    let (mut plain, mut closed) = (String::new(), String::new());
    block_on(backup::write(shelves(&store), trial::SIGNED, None, |piece| plain += &piece)).unwrap();
    let under = Some(Closing { lock: &lock, key: &key, chance });
    block_on(backup::write(shelves(&store), trial::SIGNED, under, |piece| closed += &piece)).unwrap();
    let draft = trial::counted_draft();
    let of = code::Of { draft: &draft, entry: None, reference: true };
    let card = code::texts(of, None, trial::SIGNED).unwrap().join("\n");
    let shut_card = code::texts(of, under, trial::SIGNED).unwrap().join("\n");
    let carded = |text: &str| {
        let _asks = code::lock(text);
        let read = code::read(text, std::slice::from_ref(&key), Instant(0));
        read.map(drop).map_err(|unread| unread.english().into_owned())
    };
    let said = |reason: Reason| reason.english().into_owned();
    type Way<'a> = (&'a str, &'a str, Box<dyn Fn(&str) -> Result<(), String> + 'a>);
    let restored = |text: &str| {
        let _asks = backup::lock(text);
        let new = Memory::default();
        let done = block_on(backup::restore(shelves(&new), text, Some(&key)));
        assert!(done.is_ok() || new.texts().is_empty(), "refused, nothing is changed");
        // What became of each thing is said.
        done.map(|done| done.items.iter().for_each(|item| assert!(!item.english().is_empty()))).map_err(said)
    };
    let linked = |text: &str| match bench_link::read(text) {
        None => Err("no link of ours".to_owned()),
        Some(read) => read.map(drop).map_err(|why| why.english().into_owned()),
    };
    let ways: [Way<'_>; 8] = [
        ("Bench file", &file, Box::new(|text| Bench::from_json(text).map(drop).map_err(|e| said(e.into())))),
        ("link", &link, Box::new(linked)),
        (
            "link, whole by its check",
            &file,
            Box::new(|text| forged(text).map_or(Ok(()), |text| linked(&text))),
        ),
        (
            "link, bytes of its own, whole by its check",
            &file,
            Box::new(|text| match text == file {
                true => Ok(()),
                false => forged_bytes(text, &file).map_or(Ok(()), |text| linked(&text)),
            }),
        ),
        ("backup", &plain, Box::new(restored)),
        ("closed backup", &closed, Box::new(restored)),
        ("code of a card", &card, Box::new(carded)),
        ("closed code of a card", &shut_card, Box::new(carded)),
    ];
    let mut dice = Dice(0x2026_1125_5eed);
    // What stays behind from one reading to the next counts too.
    let (before, start) = (baseline(), Clock::now());
    for (name, good, read) in ways {
        assert!(read(good).is_ok(), "{name} as it is");
        let (mut refused, mut slowest) = (0, Duration::ZERO);
        for n in 0..each {
            let text = dice.mutated(good);
            let began = worked(start);
            let answer = read(&text);
            slowest = slowest.max(worked(start).saturating_sub(began));
            if let Err(sentence) = answer {
                refused += 1;
                assert!(sentence.len() > 10, "{name} {n}: {sentence}");
            }
        }
        let most = most_since(before);
        println!("{name}: {each} mutated, {refused} refused, slowest {slowest:?}, at most {most:?} kB");
        assert!(most.is_none_or(|kb| kb <= 64_000), "{name}: {most:?} kB");
        assert!(slowest <= Duration::from_secs(1), "{name}: {slowest:?}");
        assert!(refused > each / 4, "{name}: {refused}");
        // Of a closed file nothing that was changed is taken, but for a space between two texts.
        if name == "closed backup" {
            assert!(refused > each * 8 / 10, "{refused}");
        }
    }
}
