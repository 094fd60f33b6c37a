//! What was thrown away: containers opened and not used, containers discarded, product left over. Lines are added and
//! taken back, never erased.

use super::{Check, Draft, Field};
use crate::product::MAX_CONTAINERS;
use crate::quantity::read::{Kind, read};
use crate::quantity::time::Instant;
use crate::quantity::{Quantity, Volume};
use serde::{Deserialize, Serialize};

/// What sort of thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DiscardKind {
    /// Containers that were opened and not used.
    OpenedUnused,
    /// Containers that were discarded.
    Container,
    /// Product, plasma or cells that were left over.
    LeftOver,
}

impl DiscardKind {
    /// In the order offered.
    pub const ALL: [DiscardKind; 3] =
        [DiscardKind::OpenedUnused, DiscardKind::Container, DiscardKind::LeftOver];

    /// Whether it is counted in containers and has a lot; else measured in mL.
    pub fn of_containers(self) -> bool {
        self != DiscardKind::LeftOver
    }
}

/// One line of what was thrown away.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Discard {
    /// What sort.
    pub kind: DiscardKind,
    /// How many containers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u8>,
    /// How much was left over [mL].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume: Option<Volume>,
    /// What was left over, in words; empty of containers.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub what: String,
    /// Lot of the containers; empty of what was left over.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lot: String,
    /// The reason; of what was left over, how it was disposed of.
    pub why: String,
    /// When it was entered.
    pub at: Instant,
    /// Who.
    pub by: String,
    /// Taken back as a mistake, by whom and when; it stays in the record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawn: Option<Check>,
}

impl Discard {
    /// Not taken back.
    pub fn stands(&self) -> bool {
        self.withdrawn.is_none()
    }
}

/// Why a line was refused; nothing is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiscardRefused {
    /// Nobody is named.
    NoName,
    /// No reason, or not how.
    NoReason,
    /// How many containers, 1 to [`MAX_CONTAINERS`].
    NoCount,
    /// How much, more than nothing.
    NoVolume,
    /// What was left over.
    NoWhat,
    /// Which lot.
    NoLot,
}

impl Draft {
    /// Enters a line; its texts are trimmed. Containers without a lot are of the one that the case now has. Errors: what is missing.
    pub fn throw_away(&mut self, mut line: Discard) -> Result<(), DiscardRefused> {
        for text in [&mut line.what, &mut line.lot, &mut line.why, &mut line.by] {
            *text = text.trim().to_owned();
        }
        if line.kind.of_containers() {
            (line.volume, line.what) = (None, String::new());
            if line.lot.is_empty() {
                line.lot = self.text(Field::ContainerLot).trim().to_owned();
            }
            if !line.count.is_some_and(|n| (1..=MAX_CONTAINERS).contains(&n)) {
                return Err(DiscardRefused::NoCount);
            }
            if line.lot.is_empty() {
                return Err(DiscardRefused::NoLot);
            }
        } else {
            (line.count, line.lot) = (None, String::new());
            if line.what.is_empty() {
                return Err(DiscardRefused::NoWhat);
            }
            if line.volume.is_none_or(|v| v.get() <= 0.0) {
                return Err(DiscardRefused::NoVolume);
            }
        }
        match line {
            Discard { ref why, .. } if why.is_empty() => Err(DiscardRefused::NoReason),
            Discard { ref by, .. } if by.is_empty() => Err(DiscardRefused::NoName),
            line => {
                self.discards.push(line);
                Ok(())
            }
        }
    }

    /// How much was left over, as typed in the units of the case; `None` where it cannot be read.
    pub fn left_over(&self, typed: &str) -> Option<Volume> {
        let kind = Kind::Volume { min: 0.0, max: 500.0 };
        read(typed, kind, &self.conventions).value().and_then(|v| Volume::new(v).ok())
    }

    /// Takes a line back.
    pub fn take_back_discard(&mut self, line: &Discard, back: Check) {
        if let Some(found) = self.discards.iter_mut().find(|d| *d == line && d.stands()) {
            found.withdrawn = Some(back);
        }
    }

    /// Lots of containers that were thrown away; what was taken back is left out.
    pub fn discarded_lots(&self) -> impl Iterator<Item = &str> {
        self.discards.iter().filter(|d| d.stands() && !d.lot.is_empty()).map(|d| d.lot.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quality::group::{Lot, recall};
    use crate::quantity::unit::Conventions;

    fn line(kind: DiscardKind) -> Discard {
        let containers = kind.of_containers();
        Discard {
            kind,
            count: containers.then_some(1),
            volume: if containers { None } else { Volume::new(0.6).ok() },
            what: if containers { String::new() } else { "product".into() },
            lot: if containers { "K-0077".into() } else { String::new() },
            why: " seal torn ".into(),
            at: Instant(5),
            by: "MO".into(),
            withdrawn: None,
        }
    }

    #[test]
    fn what_is_thrown_away_is_kept_with_reason_lot_and_name_and_found_by_its_lot() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let as_before = d.to_json();
        assert!(!as_before.contains("discards"), "drafts of before are read and written as they were");
        for kind in DiscardKind::ALL {
            assert_eq!(d.throw_away(line(kind)), Ok(()));
        }
        assert_eq!(d.discards[0].why, "seal torn");
        assert_eq!(Draft::from_json(&d.to_json()), Ok(d.clone()));
        let named = |d: &Draft| {
            let lot = Lot::read("k-0077").unwrap();
            recall([(crate::quality::group::NamedIn::OpenCase, d)], &lot).len()
        };
        assert_eq!((d.discarded_lots().count(), named(&d)), (2, 1));
        for line in d.discards.clone() {
            d.take_back_discard(&line, Check { by: "MO".into(), at: Instant(6), of: String::new() });
        }
        assert_eq!((d.discards.len(), d.discarded_lots().count(), named(&d)), (3, 0, 0));
        assert_eq!(Draft::from_json(&d.to_json()), Ok(d));
    }

    #[test]
    fn a_line_without_a_lot_is_of_the_lot_that_the_case_has_by_now() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let bare = || Discard { lot: String::new(), ..line(DiscardKind::Container) };
        for lot in ["K-0058", "K-0059"] {
            d.write(Field::ContainerLot, lot);
            assert_eq!(d.throw_away(bare()), Ok(()));
        }
        assert_eq!(d.throw_away(line(DiscardKind::OpenedUnused)), Ok(()));
        let lots: Vec<_> = d.discards.iter().map(|line| line.lot.as_str()).collect();
        assert_eq!(lots, ["K-0058", "K-0059", "K-0077"]);
    }

    #[test]
    fn what_is_missing_is_named_and_nothing_is_entered() {
        use DiscardKind as K;
        use DiscardRefused as R;
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        d.write(Field::ContainerLot, "");
        let cases: [(Discard, R); 9] = [
            (Discard { count: None, ..line(K::OpenedUnused) }, R::NoCount),
            (Discard { count: Some(0), ..line(K::Container) }, R::NoCount),
            (Discard { count: Some(MAX_CONTAINERS + 1), ..line(K::Container) }, R::NoCount),
            (Discard { lot: " ".into(), ..line(K::Container) }, R::NoLot),
            (Discard { why: " ".into(), ..line(K::Container) }, R::NoReason),
            (Discard { by: String::new(), ..line(K::LeftOver) }, R::NoName),
            (Discard { volume: None, ..line(K::LeftOver) }, R::NoVolume),
            (Discard { volume: Some(Volume::ZERO), ..line(K::LeftOver) }, R::NoVolume),
            (Discard { what: String::new(), ..line(K::LeftOver) }, R::NoWhat),
        ];
        for (line, why) in cases {
            assert_eq!(d.throw_away(line), Err(why));
        }
        assert_eq!(d.discards, []);
    }
}
