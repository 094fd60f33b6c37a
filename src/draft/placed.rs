//! Side and site as they stood when the needle went in: where the product goes is not changed in silence afterwards.

use super::{Draft, Field, Side, Times};
use crate::stored;
use serde::{Deserialize, Serialize};

/// A side and a site.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Placed {
    /// Side; `None` where none was said.
    pub side: Option<Side>,
    /// Site as typed; empty where none was.
    pub site: String,
}

impl Placed {
    /// What stands there now.
    pub(super) fn of(draft: &Draft) -> Self {
        Self { side: draft.choices.side, site: draft.text(Field::Site).trim().to_owned() }
    }

    /// Takes over what is not said yet.
    fn complete(&mut self, later: &Placed) {
        self.side = self.side.or(later.side);
        if self.site.is_empty() {
            self.site.clone_from(&later.site);
        }
    }

    /// Whether another side is said.
    fn on_other_side(&self, now: &Placed) -> bool {
        self.side.is_some_and(|side| now.side != Some(side))
    }

    /// Whether its site is written otherwise. Letters large or small and spaces make no other site.
    fn sited_otherwise(&self, now: &Placed) -> bool {
        let plain = |site: &str| site.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>();
        !self.site.is_empty() && plain(&self.site) != plain(&now.site)
    }

    /// Whether what it says is no longer said.
    fn differs(&self, now: &Placed) -> bool {
        self.on_other_side(now) || (self.sited_otherwise(now) && !reworded(&self.site, &now.site))
    }

    /// Whether its site is the same but for how it is written.
    fn said_otherwise(&self, now: &Placed) -> bool {
        !self.differs(now) && self.sited_otherwise(now)
    }
}

/// Whether two sites differ in hyphens, other punctuation and spaces alone. One letter can be another place, and so can
/// what stands between two words that count: "2, 4" names two and "2-4" three, "I, II" is not "III".
fn reworded(before: &str, now: &str) -> bool {
    let counts = |word: &str| {
        let roman = word.chars().all(|c| matches!(c, 'i' | 'v' | 'x'));
        roman || word.chars().count() == 1 || word.contains(char::is_numeric)
    };
    let said = |text: &str| {
        let (mut said, mut counted) = (String::new(), false);
        let (mut word, mut mark) = (String::new(), String::new());
        for c in text.to_lowercase().chars().chain([' ']) {
            if c.is_alphanumeric() {
                word.push(c);
                continue;
            }
            if !word.is_empty() {
                let counts = counts(&word);
                if counted && counts {
                    said.push_str(Some(mark.trim()).filter(|mark| !mark.is_empty()).unwrap_or(" "));
                }
                said.push_str(&word);
                counted = counts;
                word.clear();
                mark.clear();
            }
            mark.push(c);
        }
        said
    };
    said(before) == said(now)
}

impl Draft {
    /// Keeps side and site once the needle is in; what was not said then, as it stands at the next step that is timed.
    /// A needle that was a slip keeps nothing.
    pub(super) fn keep_place(&mut self, place: &Placed, times: &Times) {
        if self.times.needle_in.is_none() {
            self.placed = None;
            return;
        }
        let now = Placed::of(self);
        // Drafts of older versions kept none: then what stood before their first change.
        let first = if times.needle_in.is_some() { place } else { &now };
        let kept = self.placed.get_or_insert_with(|| first.clone());
        if self.times != *times {
            kept.complete(&now);
        }
    }

    /// Side and site at the needle, and now, where another stands there now.
    pub fn moved(&self) -> Option<(Placed, Placed)> {
        self.since_needle(Placed::differs)
    }

    /// The same where the site alone is written otherwise, letter for letter the same.
    pub fn site_reworded(&self) -> Option<(Placed, Placed)> {
        self.since_needle(Placed::said_otherwise)
    }

    fn since_needle(&self, is: fn(&Placed, &Placed) -> bool) -> Option<(Placed, Placed)> {
        let now = Placed::of(self);
        self.placed.clone().filter(|then| is(then, &now)).map(|then| (then, now))
    }

    /// What is read back at the hand-over besides the identifiers: the side's key and the site, as they stand.
    pub fn place_read_back(&self) -> String {
        let Placed { side, site } = Placed::of(self);
        let side = side.and_then(|side| stored::key(&side)).unwrap_or_default();
        format!("{side} {site}").trim().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    fn demo() -> Draft {
        Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default())
    }

    #[test]
    fn what_stood_at_the_needle_is_kept_and_what_is_said_later_with_the_next_step() {
        let mut d = demo();
        d.change(|d| d.choices.side = Some(Side::Left));
        d.change(|d| d.choices.side = Some(Side::Right));
        assert_eq!((d.moved(), d.placed.clone()), (None, None), "before the needle anything may be changed");
        d.change(|d| d.times.needle_in = Some(Instant(6)));
        assert_eq!(d.placed, Some(Placed::of(&d)));
        for text in ["Patellar  Tendon ", "patellar tendon"] {
            d.change(|d| d.write(Field::Site, text));
            assert_eq!((d.moved(), d.site_reworded()), (None, None));
        }
        d.change(|d| d.write(Field::Site, "patellar-tendon"));
        let (then, now) = d.site_reworded().unwrap();
        assert_eq!((then.site.as_str(), now.site.as_str()), ("patellar tendon", "patellar-tendon"));
        assert_eq!(d.moved(), None);
        d.change(|d| d.choices.side = Some(Side::Left));
        let (then, now) = d.moved().unwrap();
        assert_eq!((then.side, now.side), (Some(Side::Right), Some(Side::Left)));
        assert_eq!(d.site_reworded(), None, "the other side is the graver");
        d.change(|d| d.write(Field::Site, "patellar tendon"));
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        d.change(|d| d.choices.side = Some(Side::Right));
        assert_eq!(d.moved(), None, "it is right again");
        d.change(|d| d.times.needle_in = None);
        assert_eq!(d.placed, None);

        let mut late = demo();
        late.write(Field::Site, "");
        late.change(|d| d.times.needle_in = Some(Instant(6)));
        for text in ["Achilles tendom", "Achilles tendon"] {
            late.change(|d| d.write(Field::Site, text));
            assert_eq!(late.moved(), None, "nobody has gone on with it yet");
        }
        late.change(|d| d.times.needle_out = Some(Instant(9)));
        late.change(|d| d.write(Field::Site, "patellar tendon"));
        assert_eq!(late.moved().map(|(then, _)| then.site).as_deref(), Some("Achilles tendon"));
    }

    #[test]
    fn only_how_a_site_is_written_may_differ_and_any_other_letter_or_word_is_another_place() {
        for (before, now) in [
            ("patellar tendon", "patellar-tendon"),
            ("patellar tendon", "Patellartendon."),
            ("finger 2, 4", "Finger 2,4"),
            ("L4-L5", "l4 - L5"),
            ("toe II.", "toe-II"),
        ] {
            assert!(reworded(before, now), "{before} / {now}");
        }
        for (before, now) in [
            ("metacarpophalangeal joint, first", "metatarsophalangeal joint, first"),
            ("knee", "knee, hip"),
            ("finger 2", "finger 2, 3"),
            ("patelar tendon", "patellar tendon"),
            ("patellar tendon", "patellar tendon, distal"),
            ("patellar tendon", "Achilles tendon"),
            ("patellar tendon", "tendon"),
            ("patellar tendon, distal", "patellar tendon"),
            ("patellar tendon", ""),
            ("patellar tendon", "tendon patellar"),
            ("patellar tendon", "left patellar tendon"),
            ("patellar tendon", "patellar tendon and Achilles tendon"),
            ("medial meniscus", "median meniscus"),
            ("medial epicondyle", "radial epicondyle"),
            ("anterior labrum", "inferior labrum"),
            ("plantar fascia", "palmar fascia"),
            ("hip", "lip"),
            ("L4/5", "L5/S1"),
            ("C5/6", "C56"),
            ("finger 2, 4", "finger 2-4"),
            ("L4/5", "L4-5"),
            ("finger 2 3", "finger 23"),
            ("finger 2", "finger 3"),
            ("toe I, II", "toe III"),
            ("toe I–III", "toe I, III"),
            ("zones A-C", "zones A, C"),
            ("L4-L5", "L4, L5"),
        ] {
            assert!(!reworded(before, now), "{before} / {now}");
        }
    }

    #[test]
    fn a_draft_stored_before_this_was_kept_keeps_what_stands_before_its_first_change() {
        let mut d = demo();
        d.times.needle_in = Some(Instant(6));
        assert!(!d.to_json().contains("placed"));
        let mut old = Draft::from_json(&d.to_json()).unwrap();
        old.change(|d| d.choices.side = Some(Side::Left));
        assert_eq!(old.moved().map(|(then, _)| then.side), Some(Some(Side::Right)));
        assert_eq!(old.place_read_back(), "left patellar tendon");
    }
}
