//! What a case takes from the clinic's log: its centrifuge, and lots of the shelf.

use super::Draft;
use crate::finding::LotOf;
use crate::log::{Centrifuge, Log, LotEntry};

impl Draft {
    /// Lot and expiry of the shelf list become what a person could have typed.
    pub fn take_from_shelf(&mut self, of: LotOf, lot: &LotEntry) {
        let [_, expiry] = of.fields();
        self.type_lot(of, lot.lot.clone());
        self.write(expiry, lot.expiry.map(|day| day.to_string()).unwrap_or_default());
    }

    /// The centrifuges in use that turn the rotor of the case.
    pub fn centrifuges(&self, log: &Log) -> Vec<Centrifuge> {
        self.kit.rotor.as_ref().map(|rotor| log.centrifuges(&rotor.id)).unwrap_or_default()
    }

    /// The centrifuge as it now stands by the log: the one chosen, else the only one that turns the rotor. Once a spin
    /// has begun, or what it made is gone on with, it stays as it was then.
    pub fn centrifuge_by(&self, log: &Log) -> Option<Centrifuge> {
        let times = &self.times;
        let past = !times.stages.is_empty()
            || [times.spin_end, times.collected, times.handed_over].iter().any(Option::is_some);
        if past {
            return self.kit.centrifuge.clone();
        }
        let mut all = self.centrifuges(log);
        let chosen = |c: &Centrifuge| self.kit.centrifuge.as_ref().is_some_and(|kept| kept.id == c.id);
        match all.iter().position(chosen) {
            Some(at) => Some(all.swap_remove(at)),
            None if all.len() == 1 => all.pop(),
            None => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::log::{Ended, Equipment, What};
    use crate::quantity::time::{Date, Instant};
    use crate::quantity::unit::Conventions;

    #[test]
    fn a_lot_of_the_shelf_is_what_could_have_been_typed_and_an_expired_one_stops_as_ever() {
        use crate::finding::FindingKind;
        use crate::log::Good;
        use crate::quantity::time::Offset;
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let lot = |last| LotEntry {
            of: Good::Containers,
            name: String::new(),
            lot: "K-0061".into(),
            expiry: Some(last),
            product: None,
            opened: None,
        };
        let day = |y| Date::new(y, 12, 31).unwrap();
        let mut typed = d.clone();
        typed.edit(None, |d| {
            d.write(crate::draft::Field::ContainerLot, "K-0061");
            d.write(crate::draft::Field::ContainerExpiry, "2031-12-31");
        });
        d.edit(None, |d| d.take_from_shelf(LotOf::Containers, &lot(day(2031))));
        assert_eq!(d, typed);
        d.edit(None, |d| d.take_from_shelf(LotOf::Containers, &lot(day(1969))));
        let case = crate::case::read(&d, crate::words::Language::English).0;
        let now = crate::assess::Now { at: Instant(0), offset: Offset::UTC };
        let found = crate::assess::assess(&case, now).findings;
        assert!(found.iter().any(|f| matches!(f.kind, FindingKind::Expired { of: LotOf::Containers, .. })));
    }

    #[test]
    fn the_only_centrifuge_is_taken_of_two_one_is_chosen_and_a_spin_keeps_it() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let rotor = d.kit.rotor.as_ref().map(|r| r.id.clone());
        let today = Date::new(2026, 3, 12).unwrap();
        let mut log = Log::default();
        let add = |log: &mut Log, id: &str, what| {
            let new = log.draw_up(id.to_owned(), "MO", Instant(0), today, what).unwrap();
            log.take_up(vec![new]);
        };
        let named = |name: &str, rotor: &Option<String>| {
            What::Equipment(Equipment { name: name.into(), rotor: rotor.clone(), ..Equipment::default() })
        };
        assert_eq!(d.centrifuge_by(&log), None);
        add(&mut log, "s", named("Scales", &None));
        add(&mut log, "a", named("Centrifuge 1", &rotor));
        let id = |d: &Draft, log: &Log| d.centrifuge_by(log).map(|c| c.id);
        assert_eq!(id(&d, &log).as_deref(), Some("a"));
        add(&mut log, "b", named("Centrifuge 2", &rotor));
        assert_eq!(id(&d, &log), None, "which of two is not guessed");
        d.kit.centrifuge = d.centrifuges(&log).into_iter().find(|c| c.id == "b");
        assert_eq!(id(&d, &log).as_deref(), Some("b"));
        let text = d.to_json();
        assert_eq!(Draft::from_json(&text), Ok(d.clone()));
        add(&mut log, "e", What::Ended(Ended { of: "b".into(), why: "broken".into() }));
        assert_eq!(id(&d, &log).as_deref(), Some("a"));
        d.times.stages.insert(0, Instant(5));
        assert_eq!(id(&d, &log).as_deref(), Some("b"), "it was spun on that one");
    }
}
