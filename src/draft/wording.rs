//! Whether two texts name one place in other words: a slip of the pen put right, or a word added to be exact.

/// Words of place that lie a letter or two apart, or tell two places apart by themselves: one in place of another is no
/// slip of the pen, and a side or another place added is none.
const PLACES: [&str; 24] = [
    "anterior",
    "posterior",
    "superior",
    "inferior",
    "interior",
    "exterior",
    "medial",
    "median",
    "radial",
    "lateral",
    "bilateral",
    "dorsal",
    "distal",
    "proximal",
    "palmar",
    "plantar",
    "volar",
    "ulnar",
    "tibial",
    "fibular",
    "peroneal",
    "perineal",
    "ilium",
    "ileum",
];
const OTHERS: [&str; 10] =
    ["left", "right", "both", "bilateral", "and", "or", "not", "no", "plus", "contralateral"];
/// From so many letters on one letter may be a slip, and two: shorter words are other words. Our own judgement.
const ONE_SLIP: usize = 5;
const TWO_SLIPS: usize = 9;

/// Whether `now` differs from `before` in hyphens and the like, in the letters of one word, or in words added with all
/// before still in their order. Figures are the same ones.
pub(super) fn reworded(before: &str, now: &str) -> bool {
    let (before, now) = (words(before), words(now));
    let joined = |words: &[String]| words.concat();
    let figures = |words: &[String]| words.iter().flat_map(|w| figures(w)).collect::<Vec<_>>();
    let same = figures(&before) == figures(&now);
    (same && (joined(&before) == joined(&now) || one_slip(&before, &now))) || added(&before, &now)
}

fn words(text: &str) -> Vec<String> {
    let apart = text.split(|c: char| !c.is_alphanumeric());
    apart.filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
}

/// The numbers in a word.
fn figures(word: &str) -> Vec<String> {
    let runs = word.split(|c: char| !c.is_numeric());
    runs.filter(|run| !run.is_empty()).map(str::to_owned).collect()
}

/// One word of all differs, by a slip.
fn one_slip(before: &[String], now: &[String]) -> bool {
    let mut differ = before.iter().zip(now).filter(|(a, b)| a != b);
    let (one, more) = (differ.next(), differ.next());
    before.len() == now.len() && more.is_none() && one.is_some_and(|(a, b)| slip(a, b))
}

fn slip(a: &str, b: &str) -> bool {
    let known = |word: &str| PLACES.contains(&word) || OTHERS.contains(&word);
    let shortest = a.chars().count().min(b.chars().count());
    let most = match shortest {
        TWO_SLIPS.. => 2,
        ONE_SLIP.. => 1,
        _ => return false,
    };
    !(known(a) && known(b)) && edits(a, b) <= most
}

/// How many letters are put in, left out, or written for another (Levenshtein).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, c) in a.chars().enumerate() {
        let mut next = vec![i + 1];
        for ((old, pair), d) in row.iter().zip(row.iter().skip(1)).zip(&b) {
            let left = next.last().copied().unwrap_or_default();
            next.push((old + usize::from(c != *d)).min(pair + 1).min(left + 1));
        }
        row = next;
    }
    row.last().copied().unwrap_or_default()
}

/// Words were added, none of which names a side or joins another place, and all before are there in their order.
fn added(before: &[String], now: &[String]) -> bool {
    let mut left = before.iter().peekable();
    let mut found = 0usize;
    for word in now {
        if left.next_if_eq(&word).is_some() {
            continue;
        }
        if OTHERS.contains(&word.as_str()) {
            return false;
        }
        found += 1;
    }
    found > 0 && !before.is_empty() && left.peek().is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_pen_and_a_word_more_are_the_same_place_and_another_place_is_another() {
        for (before, now) in [
            ("patellar tendon", "patellar-tendon"),
            ("patellar tendon", "Patellartendon."),
            ("patelar tendon", "patellar tendon"),
            ("patellar tendon", "patellar tenden"),
            ("supraspinatus tendon", "suprasipnatus tendon"),
            ("patellar tendon", "patellar tendon, distal"),
            ("patellar tendon", "proximal patellar tendon near its origin"),
            ("L4/5", "L4-5"),
        ] {
            assert!(reworded(before, now), "{before} / {now}");
        }
        for (before, now) in [
            ("patellar tendon", "Achilles tendon"),
            ("patellar tendon", "tendon"),
            ("patellar tendon, distal", "patellar tendon"),
            ("patellar tendon", ""),
            ("patellar tendon", "tendon patellar"),
            ("patellar tendon", "patelar tenden"),
            ("patellar tendon", "left patellar tendon"),
            ("patellar tendon", "patellar tendon and Achilles tendon"),
            ("medial meniscus", "median meniscus"),
            ("medial epicondyle", "radial epicondyle"),
            ("anterior labrum", "inferior labrum"),
            ("lateral epicondyle", "medial epicondyle"),
            ("distal", "proximal"),
            ("plantar fascia", "palmar fascia"),
            ("hip", "lip"),
            ("knee", "kneel"),
            ("L4/5", "L5/S1"),
            ("C5/6", "C56"),
            ("finger 2", "finger 3"),
            ("finger2s", "finger3s"),
        ] {
            assert!(!reworded(before, now), "{before} / {now}");
        }
    }
}
