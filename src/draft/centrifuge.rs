//! What a case takes from the clinic's log: its centrifuge, and lots of the shelf.

use super::Draft;
use crate::blood::anticoagulant::Agent;
use crate::finding::LotOf;
use crate::log::{Centrifuge, Centrifuges, Log, LotEntry, ProductIs, ShelfLot};
use crate::quantity::time::Date;
use crate::scan::same_lot;
use crate::words::Language;

/// A lot of the shelf at the field of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShelfOffer {
    /// Its entry.
    pub lot: LotEntry,
    /// Why it is shown and not offered; `None`: a tap fills it in.
    pub not: Option<NotOffered>,
}

/// Why a lot of the shelf is not offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotOffered {
    /// It is out of date.
    Expired,
    /// It is a lot of something else than the case uses.
    OtherProduct,
    /// Its entry does not say what it is a lot of.
    ProductNotSaid,
    /// The case does not say yet what it uses.
    CaseOpen,
    /// What the case uses comes in the container.
    InContainer,
    /// Its product number is not the one that the Bench names.
    OtherNumber,
    /// Its entry has no expiry, which has to come from the label.
    NoExpiry,
}

impl Draft {
    /// The anticoagulant of the case: what is in the container when bought, else what was chosen, else the protocol's.
    pub fn agent(&self) -> Option<Agent> {
        let prefill = self.kit.container.as_ref().and_then(|c| c.prefill.as_ref());
        let protocol = self.kit.protocol.as_ref();
        prefill.map(|p| p.agent).or(self.choices.agent).or(protocol.map(|p| p.agent))
    }

    /// The lots in use of one kind, each with why it is not offered to this case on this day.
    /// An addition is known by its name, in the language of the page.
    pub fn shelf(&self, of: LotOf, log: &Log, today: Date, language: Language) -> Vec<ShelfOffer> {
        let offer = |s: ShelfLot| ShelfOffer { not: self.not_offered(of, &s, today, language), lot: s.lot };
        log.shelf(of.into()).into_iter().map(offer).collect()
    }

    fn not_offered(&self, of: LotOf, s: &ShelfLot, today: Date, language: Language) -> Option<NotOffered> {
        let container = self.kit.container.as_ref();
        let added = match of {
            LotOf::Addition(row) => Some(self.is_addition(row, &s.lot, language)),
            LotOf::Containers | LotOf::Anticoagulant => None,
        };
        // What the case uses, and whether the lot is one of it.
        let uses = match (of, &s.lot.product_is) {
            (LotOf::Addition(_), _) => added.and_then(Result::ok),
            (LotOf::Containers, Some(ProductIs::Container { id, .. })) => container.map(|c| c.id == *id),
            (LotOf::Anticoagulant, Some(ProductIs::Agent(agent))) => self.agent().map(|own| own == *agent),
            (_, Some(_)) => Some(false),
            (_, None) => None,
        };
        let number = self.named_product(of).zip(s.lot.product);
        if s.expired(today) {
            Some(NotOffered::Expired)
        } else if added == Some(Err(false)) || (added.is_none() && s.lot.product_is.is_none()) {
            Some(NotOffered::ProductNotSaid)
        } else if of == LotOf::Anticoagulant && container.is_some_and(|c| c.prefill.is_some()) {
            Some(NotOffered::InContainer)
        } else if uses.is_none() {
            Some(NotOffered::CaseOpen)
        } else if uses == Some(false) {
            Some(NotOffered::OtherProduct)
        } else if number.is_some_and(|(named, own)| named != own) {
            Some(NotOffered::OtherNumber)
        } else if s.lot.expiry.is_none() {
            Some(NotOffered::NoExpiry)
        } else {
            None
        }
    }

    /// Lot and expiry of the shelf list become what a person could have typed. An entry that has no expiry leaves the
    /// one that stands where it is of the same lot.
    pub fn take_from_shelf(&mut self, of: LotOf, lot: &LotEntry) {
        let [_, expiry] = of.fields();
        let same = same_lot(self.text(of.lot()), &lot.lot);
        self.type_lot(of, lot.lot.clone());
        match lot.expiry {
            Some(day) => self.write(expiry, day.to_string()),
            None if same => {}
            None => self.write(expiry, ""),
        }
    }

    /// The centrifuge chosen and those that turn the rotor of the case, as they stand by a log that knows more than the
    /// one they were taken from; `None` where nothing is to be changed. None is chosen that nobody chose, and one that the
    /// log does not know, because another tab entered it, stays. Once a spin has begun, or what it made is gone on with,
    /// all stay as they were then.
    pub fn centrifuges_by(&self, log: &Log) -> Option<(Option<Centrifuge>, Centrifuges)> {
        let times = &self.times;
        let past = !times.stages.is_empty()
            || [times.spin_end, times.collected, times.handed_over].iter().any(Option::is_some);
        let kit = &self.kit;
        let were = &kit.centrifuges;
        let now = log.centrifuges(kit.rotor.as_ref().map(|r| r.id.as_str()).unwrap_or_default());
        let other_rotor = were.rotor != now.rotor;
        if past || (!other_rotor && were.entries >= now.entries) || (were.is_unset() && now.all.is_empty()) {
            return None;
        }
        let own = kit.centrifuge.as_ref();
        let chosen = match own.and_then(|own| now.all.iter().find(|c| c.id == own.id)) {
            Some(as_it_stands) => Some(as_it_stands.clone()),
            None => {
                let known = |c: &&Centrifuge| log.entries().iter().any(|e| e.id == c.id);
                let of_another = other_rotor && !were.is_unset();
                own.filter(|c| !known(c) && !of_another).cloned()
            }
        };
        Some((chosen, now))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{AdditionChoice, CheckSign};
    use crate::log::{Ended, Equipment, What};
    use crate::quantity::time::Instant;
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
            product_is: None,
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
    fn an_entry_without_an_expiry_leaves_the_one_of_the_same_lot_and_none_of_another() {
        use crate::draft::Field::{ContainerExpiry, ContainerLot};
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        d.write(ContainerLot, "K-0061");
        d.write(ContainerExpiry, "2026-01-31");
        let bare = |lot: &str| LotEntry { lot: lot.into(), ..on_the_shelf(None, None) };
        d.edit(None, |d| d.take_from_shelf(LotOf::Containers, &bare("k-0061")));
        assert_eq!(d.text(ContainerExpiry), "2026-01-31", "an expired box stays one");
        d.edit(None, |d| d.take_from_shelf(LotOf::Containers, &bare("K-0062")));
        assert_eq!((d.text(ContainerLot), d.text(ContainerExpiry)), ("K-0062", ""));
    }

    #[test]
    fn only_a_lot_of_what_the_case_uses_is_offered() {
        use super::NotOffered as N;
        let today = Date::new(2026, 3, 12).unwrap();
        let last = |y| Date::new(y, 6, 30);
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let id = d.kit.container.as_ref().unwrap().id.clone();
        let tube = |id: &str| Some(ProductIs::Container { id: id.to_owned(), name: "Tube".into() });
        let agent = |agent| Some(ProductIs::Agent(agent));
        let not = |d: &Draft, of: LotOf, lot: LotEntry| {
            let mut log = Log::default();
            let lot = LotEntry { of: of.into(), ..lot };
            let new = log.draw_up("l".into(), "MO", Instant(0), today, What::Lot(lot)).unwrap();
            log.take_up(vec![new]);
            let all = d.shelf(of, &log, today, crate::words::Language::English);
            assert_eq!(all.len(), 1, "it is shown either way");
            all.into_iter().next().unwrap().not
        };
        let containers = LotOf::Containers;
        assert_eq!(not(&d, containers, on_the_shelf(tube(&id), last(2027))), None);
        assert_eq!(not(&d, containers, on_the_shelf(tube(&id), None)), Some(N::NoExpiry));
        assert_eq!(not(&d, containers, on_the_shelf(tube(&id), last(2025))), Some(N::Expired));
        assert_eq!(not(&d, containers, on_the_shelf(tube("syringe"), last(2027))), Some(N::OtherProduct));
        assert_eq!(not(&d, containers, on_the_shelf(None, last(2027))), Some(N::ProductNotSaid));
        assert_eq!(not(&d, containers, on_the_shelf(agent(Agent::AcdA), last(2027))), Some(N::OtherProduct));
        let own = d.agent().unwrap();
        let acd = |a| on_the_shelf(agent(a), last(2027));
        assert_eq!((own, not(&d, LotOf::Anticoagulant, acd(own))), (Agent::AcdA, None));
        assert_eq!(not(&d, LotOf::Anticoagulant, acd(Agent::SodiumCitrate32)), Some(N::OtherProduct));
        let number = crate::scan::Gtin::read("06291041500213");
        d.kit.container.as_mut().unwrap().product_number = crate::scan::Gtin::read("4006381333931");
        let numbered = LotEntry { product: number, ..on_the_shelf(tube(&id), last(2027)) };
        assert_eq!(not(&d, containers, numbered), Some(N::OtherNumber));
        d.kit.container.as_mut().unwrap().prefill = Some(crate::bench::Prefill {
            agent: own,
            volume: <crate::quantity::Volume as crate::quantity::Quantity>::new(2.0).unwrap(),
        });
        assert_eq!(not(&d, LotOf::Anticoagulant, acd(own)), Some(N::InContainer));
        let of_name = |d: &Draft, name: &str| {
            let named = LotEntry { name: name.into(), ..on_the_shelf(None, last(2027)) };
            not(d, LotOf::Addition(0), named)
        };
        d.rows.additions = 1;
        assert_eq!(of_name(&d, "Calcium gluconate 10 %"), Some(N::CaseOpen));
        d.choose_addition(0, Some(AdditionChoice::CalciumGluconate));
        assert_eq!(of_name(&d, "calcium gluconate 10 %"), None);
        assert_eq!(of_name(&d, "Calcium chloride 10 %"), Some(N::OtherProduct));
        assert_eq!(of_name(&d, "CaGl"), Some(N::ProductNotSaid));
        d.choose_addition(0, Some(AdditionChoice::Other));
        assert_eq!(of_name(&d, "Saline"), Some(N::CaseOpen));
        d.write(crate::draft::Field::AdditionName(0), "saline ");
        assert_eq!((of_name(&d, "Saline"), of_name(&d, "Water")), (None, Some(N::OtherProduct)));
        d.kit.container = None;
        assert_eq!(not(&d, containers, on_the_shelf(tube(&id), last(2027))), Some(N::CaseOpen));
    }

    fn on_the_shelf(product_is: Option<ProductIs>, expiry: Option<Date>) -> LotEntry {
        let (of, name, lot) = (crate::log::Good::Containers, String::new(), "K-0061".into());
        LotEntry { of, name, lot, product_is, expiry, product: None, opened: None }
    }

    fn by(d: &mut Draft, log: &Log) -> bool {
        let by = d.centrifuges_by(log);
        let changed = by.is_some();
        if let Some((chosen, all)) = by {
            (d.kit.centrifuge, d.kit.centrifuges) = (chosen, all);
        }
        changed
    }

    fn enter(log: &mut Log, id: &str, what: What) {
        let today = Date::new(2026, 3, 12).unwrap();
        let new = log.draw_up(id.to_owned(), "MO", Instant(0), today, what).unwrap();
        log.take_up(vec![new]);
    }

    fn named(d: &Draft, name: &str) -> What {
        let rotor = d.kit.rotor.as_ref().map(|r| r.id.clone());
        What::Equipment(Equipment { name: name.into(), rotor, ..Equipment::default() })
    }

    fn chosen(d: &Draft) -> Option<&str> {
        d.kit.centrifuge.as_ref().map(|c| c.id.as_str())
    }

    #[test]
    fn a_centrifuge_is_chosen_by_a_person_and_a_spin_keeps_it() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let mut log = Log::default();
        assert!(!by(&mut d, &log) && d.kit.centrifuges.is_unset());
        enter(&mut log, "s", What::Equipment(Equipment { name: "Scales".into(), ..Equipment::default() }));
        assert!(!by(&mut d, &log), "nothing turns the rotor");
        enter(&mut log, "a", named(&d, "Centrifuge 1"));
        assert!(by(&mut d, &log));
        assert_eq!(
            (chosen(&d), d.kit.centrifuges.all.len()),
            (None, 1),
            "the only one is offered, not taken"
        );
        d.kit.centrifuge = d.kit.centrifuges.all.first().cloned();
        enter(&mut log, "b", named(&d, "Centrifuge 2"));
        assert!(by(&mut d, &log) && !by(&mut d, &log));
        assert_eq!((chosen(&d), d.kit.centrifuges.all.len()), (Some("a"), 2));
        let text = d.to_json();
        assert_eq!(Draft::from_json(&text), Ok(d.clone()));
        // The next session asks anew.
        let again = d.again("n".into(), CheckSign::pick(1, &[]), Instant(9), &crate::bench::Bench::default());
        assert_eq!((chosen(&again), again.kit.centrifuges.is_unset()), (None, true));
        let mut spun = d.clone();
        spun.times.stages.insert(0, Instant(5));
        enter(&mut log, "e", What::Ended(Ended { of: "a".into(), why: "broken".into() }));
        assert!(!by(&mut spun, &log) && chosen(&spun) == Some("a"), "it was spun on that one");
        assert!(by(&mut d, &log));
        assert_eq!(chosen(&d), None, "ended, and no other steps into its place");
        let mut other = d.clone();
        other.kit.centrifuge = other.kit.centrifuges.all.first().cloned();
        other.kit.rotor.as_mut().unwrap().id = "another".into();
        assert!(by(&mut other, &log));
        assert_eq!((chosen(&other), other.kit.centrifuges.all.len()), (None, 0));
    }

    #[test]
    fn two_tabs_of_which_one_has_an_older_log_come_to_rest() {
        let mut old = Log::default();
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        enter(&mut old, "a", named(&d, "Centrifuge 1"));
        let mut new = old.clone();
        enter(&mut new, "b", named(&d, "Centrifuge 2"));
        enter(&mut new, "e", What::Ended(Ended { of: "a".into(), why: "broken".into() }));
        assert!(by(&mut d, &old));
        assert!(by(&mut d, &new) && !by(&mut d, &old) && !by(&mut d, &new));
        // Chosen where it is known, kept where it is not.
        d.kit.centrifuge = d.kit.centrifuges.all.first().cloned();
        assert!(!by(&mut d, &old) && chosen(&d) == Some("b"));
        d.kit.centrifuges = crate::log::Centrifuges::default();
        assert!(by(&mut d, &old) && chosen(&d) == Some("b"));
        assert!(by(&mut d, &new) && chosen(&d) == Some("b"));
        // Whoever changes the rotor: the longer log has the last word, once.
        d.kit.rotor.as_mut().unwrap().id = "another".into();
        assert!(by(&mut d, &old) && by(&mut d, &new) && !by(&mut d, &old) && !by(&mut d, &new));
    }
}
