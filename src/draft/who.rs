//! Who did each stage: asked once a stage, answered by a person, filled in by nobody else.

use super::{CheckKind, Draft, Field};
use crate::spin::programme::Stage;

impl Draft {
    /// Where it is asked who did a stage of the programme: once for what turns without a stop, once for what is done by
    /// hand. A stop is waited for, and has nobody.
    pub fn who_of(&self, index: u8) -> Option<Field> {
        let stages = &self.kit.protocol.as_ref()?.programme.0;
        let mut at = usize::from(index);
        match stages.get(at)? {
            Stage::Stop { .. } => return None,
            Stage::Handling { .. } => return Some(Field::WhoSpin(index)),
            Stage::Ramp { .. } | Stage::Hold { .. } => {}
        }
        while let Some(before) =
            at.checked_sub(1).filter(|b| stages.get(*b).is_some_and(|s| s.speed().is_some()))
        {
            at = before;
        }
        u8::try_from(at).ok().map(Field::WhoSpin)
    }

    /// Where it is asked, in the order of the job.
    pub fn who_asked(&self) -> Vec<Field> {
        let stages = self.kit.protocol.as_ref().map_or(0, |p| p.programme.0.len());
        let spins = (0..super::field::MAX_STAGES)
            .take(stages)
            .map(Field::WhoSpin)
            .filter(|field| matches!(field, Field::WhoSpin(i) if self.who_of(*i) == Some(*field)));
        let before = [Field::WhoBefore, Field::WhoDraw].into_iter();
        before.chain(spins).chain([Field::WhoProduct, Field::WhoHandOver]).collect()
    }

    /// Where it is asked who does what a check is of.
    fn who_checks(&self, kind: CheckKind) -> Option<Field> {
        use CheckKind as K;
        match kind {
            K::Identity
            | K::IdentityDiffers
            | K::AnticoagulantSound
            | K::AnticoagulantUnsound
            | K::ContainersSound
            | K::ContainersUnsound => Some(Field::WhoBefore),
            K::HandOver => Some(Field::WhoHandOver),
            K::Balance => self.who_balances(),
            // The second person is asked for there; nobody is asked who took the order.
            K::Anticoagulant | K::TodaysOrder => None,
        }
    }

    /// Where it is asked who does what the rotor is balanced for.
    pub fn who_balances(&self) -> Option<Field> {
        self.turns_next().and_then(|stage| self.who_of(stage))
    }

    /// Who makes a check: whoever is named for its stage, else the technician; empty where neither is.
    pub fn checks_now(&self, kind: CheckKind) -> &str {
        let named = self.who_checks(kind).map(|field| self.text(field).trim());
        named.filter(|who| !who.is_empty()).unwrap_or_else(|| self.text(Field::Technician).trim())
    }

    /// Whether this is the name of the technician, or of who made ready: no second person then.
    pub fn made_ready_by(&self, name: &str) -> bool {
        self.named_ready(name) || one_person(self.text(Field::Technician), name)
    }

    /// Whether this is the name of who is named as having made ready.
    pub(super) fn named_ready(&self, name: &str) -> bool {
        one_person(self.text(Field::WhoBefore), name)
    }

    /// Whether the technician, or the one who hands it over, is named as the one who receives it: nothing is read back
    /// between two people then.
    pub fn receives_own(&self) -> bool {
        let to = self.text(Field::HandedTo);
        [Field::Technician, Field::WhoHandOver].iter().any(|field| one_person(self.text(*field), to))
    }

    /// Whom to offer for a stage that names nobody yet: the technician, and whoever the last stage before it names.
    pub fn who_offered(&self, field: Field) -> Vec<String> {
        if !self.text(field).trim().is_empty() {
            return Vec::new();
        }
        let asked = self.who_asked();
        let before = asked.iter().take_while(|other| **other != field);
        let before = before.map(|other| self.text(*other).trim()).filter(|who| !who.is_empty()).last();
        let technician = Some(self.text(Field::Technician).trim()).filter(|who| !who.is_empty());
        let mut offered: Vec<String> = technician.map(str::to_owned).into_iter().collect();
        offered.extend(before.filter(|who| technician != Some(*who)).map(str::to_owned));
        offered
    }
}

/// Whether two names are one, in whatever letters, spaces and stops; nobody is no one.
fn one_person(one: &str, other: &str) -> bool {
    let letters = |name: &str| {
        name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>()
    };
    let one = letters(one);
    !one.is_empty() && one == letters(other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;
    use crate::quantity::{Rpm, Seconds};
    use crate::spin::programme::{Programme, Speed};

    fn demo() -> Draft {
        Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default())
    }

    #[test]
    fn it_is_asked_once_for_what_turns_without_a_stop_and_once_for_what_is_by_hand() {
        let mut d = demo();
        let by_stage = |d: &Draft| (0..8).map(|i| d.who_of(i)).collect::<Vec<_>>();
        let who = |i| Some(Field::WhoSpin(i));
        assert_eq!(by_stage(&d)[..4], [who(0), who(1), who(2), None], "spin, by hand, spin");
        let time = Seconds::constant(60.0);
        let speed = Speed::Rpm(Rpm::constant(1000.0));
        let handling = Stage::Handling { what: String::new(), time: None };
        d.kit.protocol.as_mut().unwrap().programme = Programme(vec![
            Stage::Ramp { to: speed, time },
            Stage::Hold { speed, time },
            Stage::Stop { time: Some(time) },
            Stage::Hold { speed, time },
            handling,
            Stage::Ramp { to: speed, time },
            Stage::Hold { speed, time },
        ]);
        assert_eq!(by_stage(&d), [who(0), who(0), None, who(3), who(4), who(5), who(5), None]);
        let asked: Vec<Field> = [0, 3, 4, 5].map(Field::WhoSpin).into();
        assert_eq!(d.who_asked()[2..6], asked);
        d.kit.protocol = None;
        assert_eq!((d.who_of(0), d.who_asked().len()), (None, 4));
    }

    #[test]
    fn a_check_is_made_by_whoever_is_named_for_its_stage_else_by_the_technician() {
        let mut d = demo();
        let all = [CheckKind::Identity, CheckKind::ContainersSound, CheckKind::Balance, CheckKind::HandOver];
        let by = |d: &Draft| all.map(|kind| d.checks_now(kind).to_owned());
        assert_eq!(by(&d), ["MO"; 4]);
        d.write(Field::WhoBefore, " JT ");
        d.write(Field::WhoSpin(0), "AB");
        d.write(Field::WhoHandOver, "CD");
        assert_eq!(by(&d), ["JT", "JT", "AB", "CD"]);
        d.begin_stage(0, Instant(1));
        d.begin_stage(1, Instant(2));
        d.write(Field::WhoSpin(1), "EF");
        assert_eq!(d.checks_now(CheckKind::Balance), "MO", "the next spin has nobody named");
        d.write(Field::WhoSpin(2), "GH");
        assert_eq!(d.checks_now(CheckKind::Balance), "GH");
        assert_eq!(d.checks_now(CheckKind::TodaysOrder), "MO");
    }

    #[test]
    fn the_rotor_is_balanced_by_who_is_named_for_the_spin_it_is_balanced_for() {
        use crate::draft::{Trouble, TroubleKind};
        let mut d = demo();
        let time = Seconds::constant(60.0);
        let speed = Speed::Rpm(Rpm::constant(1000.0));
        let (ramp, hold) = (Stage::Ramp { to: speed, time }, Stage::Hold { speed, time });
        let handling = Stage::Handling { what: String::new(), time: None };
        let stages = vec![ramp.clone(), hold.clone(), handling, ramp, hold];
        d.kit.protocol.as_mut().unwrap().programme = Programme(stages);
        let who = |i| Some(Field::WhoSpin(i));
        assert_eq!(d.who_balances(), who(0));
        // The machine goes from the ramp to the hold by itself: nobody taps that.
        d.begin_stage(0, Instant(1));
        let mut stopped = d.clone();
        d.begin_stage(2, Instant(2));
        assert_eq!(d.who_balances(), who(3));
        d.begin_stage(3, Instant(3));
        assert_eq!(d.who_balances(), who(3));
        d.begin_stage(4, Instant(4));
        assert_eq!(d.who_balances(), None, "nothing turns any more");
        // What stopped is balanced for its own next run.
        for (d, own) in [(&mut stopped, 0), (&mut d, 3)] {
            d.went_wrong(Trouble {
                kind: TroubleKind::SpinStopped,
                container: None,
                at: Instant(5),
                by: "MO".into(),
                set_aside: false,
                aside: None,
                collected: false,
                withdrawn: None,
            });
            assert_eq!(d.who_balances(), who(own));
        }
    }

    #[test]
    fn who_made_ready_is_no_second_person_and_who_hands_over_does_not_receive() {
        let mut d = demo();
        d.write(Field::WhoBefore, "JT");
        for name in ["JT", "j. t.", "MO", " m o "] {
            assert!(d.made_ready_by(name), "{name}");
        }
        assert!(!d.made_ready_by("JTM") && !d.made_ready_by("") && !d.made_ready_by("."));
        d.write(Field::HandedTo, "JT");
        assert!(!d.receives_own());
        d.write(Field::WhoHandOver, "j t");
        assert!(d.receives_own());
        d.write(Field::WhoHandOver, ".");
        d.write(Field::HandedTo, ".");
        assert!(!d.receives_own());
    }

    #[test]
    fn technician_and_whoever_the_last_stage_names_are_offered_and_nothing_is_filled_in() {
        let mut d = demo();
        let at = |d: &Draft, field| d.who_offered(field);
        for field in d.who_asked() {
            assert_eq!((at(&d, field), d.text(field)), (vec!["MO".to_owned()], ""), "{field}");
        }
        d.write(Field::WhoDraw, " JT ");
        assert_eq!(at(&d, Field::WhoBefore), ["MO"], "not of a stage after it");
        assert_eq!(at(&d, Field::WhoDraw), Vec::<String>::new(), "somebody is named");
        assert_eq!(at(&d, Field::WhoHandOver), ["MO", "JT"], "also over stages that name nobody");
        d.write(Field::WhoProduct, "MO");
        assert_eq!(at(&d, Field::WhoHandOver), ["MO"]);
        d.write(Field::Technician, "");
        assert_eq!(at(&d, Field::WhoSpin(0)), ["JT"]);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }
}
