//! The same preparation once more: what was ordered and how it is made, nothing of what was found or done.

use super::{CheckSign, Choices, Draft, Field, Kit, TakenOver};
use crate::arrange::gather;
use crate::bench::Bench;
use crate::log::Centrifuges;
use crate::quantity::time::Instant;
use crate::record::course;
use crate::record::line::begun as begun_at;

impl Draft {
    /// A new case with this one's order, kit, plan and choices, under the limits, the clock and the analyser of the
    /// Bench as it is now. It keeps which case it was taken over from. Who prepares, counts, age, weight, an amount chosen,
    /// screening answers, lots, times, checks, troubles and decisions belong to the day and stay behind.
    pub fn again(&self, id: String, sign: CheckSign, begun: Instant, bench: &Bench) -> Draft {
        let mut draft = Draft::new(id, sign, begun, self.conventions);
        draft.demo = self.demo;
        draft.taken_over = Some(TakenOver { sign: self.sign, at: begun_at(self) });
        draft.kit = Kit { centrifuge: None, centrifuges: Centrifuges::default(), ..self.kit.clone() };
        // The demo rests on what ships.
        if !self.demo {
            draft.kit.limits = bench.limits.clone();
            draft.kit.clock = bench.clock;
            draft.kit.analyser = bench.analyser;
        }
        draft.rows.parts = self.rows.parts;
        draft.rows.additions = self.rows.additions;
        let old = &self.choices;
        draft.choices = Choices {
            side: old.side,
            white_cells: old.white_cells,
            one_container: old.one_container,
            order_sense: old.order_sense.clone(),
            each_part: old.each_part,
            sex: old.sex,
            agent: old.agent,
            convention: old.convention,
            additions: old.additions.clone(),
            ..Choices::default()
        };
        let kept = self.texts.iter().filter(|(field, _)| of_the_order(**field));
        draft.texts = gather(kept.map(|(field, text)| (*field, text.clone())));
        if let Some(next) = next_session(self.text(Field::Session)) {
            draft.write(Field::Session, next);
        }
        draft
    }
}

/// The session after this one: of "2 of 3" it is "3 of 3", of the last there is none.
fn next_session(text: &str) -> Option<String> {
    let (number, last, rest) = course::session(text)?;
    (number < last).then(|| format!("{}{rest}", number.saturating_add(1)))
}

fn of_the_order(field: Field) -> bool {
    matches!(
        field,
        Field::PatientReference
            | Field::SecondIdentifier
            | Field::Prescriber
            | Field::Site
            | Field::OrderVolume
            | Field::OrderPlatelets
            | Field::OrderPlateletsMost
            | Field::OrderConcentration
            | Field::OrderConcentrationMost
            | Field::OrderFold
            | Field::OrderFoldMost
            | Field::OrderNote
            | Field::PartName(_)
            | Field::PartVolume(_)
            | Field::Height
            | Field::Containers
            | Field::FillVolume
            | Field::AnticoagulantPer100
            | Field::AnticoagulantPerContainer
            | Field::OwnAgent
            | Field::ProductVolume
            | Field::CountSample
            | Field::NeedleChanges
            | Field::Transfers
            | Field::AdditionName(_)
            | Field::AdditionStrength(_)
            | Field::AdditionVolume(_)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{CheckKind, Stage};
    use crate::quantity::unit::Conventions;

    #[test]
    fn order_and_kit_go_along_and_what_was_found_stays_behind() {
        let mut old = Draft::demo("a".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        old.stage = Stage::Product;
        old.times.needle_in = Some(Instant(1));
        old.checks.insert(
            CheckKind::Identity,
            crate::draft::Check { by: "MO".into(), at: Instant(1), of: String::new() },
        );
        for (field, text) in [
            (Field::Reading(0), "900"),
            (Field::Age, "43"),
            (Field::Weight, "70"),
            (Field::Height, "172"),
            (Field::AnticoagulantChosen, "2.2"),
        ] {
            old.write(field, text);
        }
        let new = old.again("b".into(), CheckSign::pick(0, &[old.sign]), Instant(5), &Bench::default());
        assert_eq!((new.id.as_str(), new.begun, new.stage), ("b", Instant(5), Stage::Order));
        assert_ne!(new.sign, old.sign);
        assert_eq!((&new.kit, new.rows.parts, new.choices.side), (&old.kit, 2, old.choices.side));
        for kept in [
            Field::PatientReference,
            Field::PartName(1),
            Field::FillVolume,
            Field::ProductVolume,
            Field::Height,
        ] {
            assert_eq!(new.text(kept), old.text(kept), "{kept}");
        }
        for left in [
            Field::BloodCount,
            Field::BloodHaematocrit,
            Field::Reading(0),
            Field::AnticoagulantLot,
            Field::Age,
            Field::Weight,
            Field::AnticoagulantChosen,
            Field::Technician,
        ] {
            assert!(!old.text(left).is_empty());
            assert_eq!(new.text(left), "", "{left}");
        }
        assert_eq!((new.choices.count, new.choices.screening.len()), (None, 0));
        assert_eq!((new.times.clone(), new.checks.len()), (Default::default(), 0));
        // Whose order it was stays told.
        assert_eq!(new.taken_over, Some(TakenOver { sign: old.sign, at: Instant(1) }));
        assert_eq!(Draft::from_json(&new.to_json()).unwrap(), new);
    }

    #[test]
    fn limits_clock_and_analyser_are_those_of_the_bench_today() {
        let mut bench = Bench::default();
        bench.limits.minors = true;
        bench.analyser.high = Some(crate::quantity::CellCount::constant(3000.0));
        bench.clock.total = crate::quantity::Seconds::constant(7200.0);
        let mut old = Draft::demo("a".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let kit = |old: &Draft| old.again("b".into(), CheckSign::pick(0, &[]), Instant(5), &bench).kit;
        assert_eq!(kit(&old), old.kit, "the demo rests on what ships");
        old.demo = false;
        let new = kit(&old);
        assert_eq!((&new.limits, new.clock, new.analyser), (&bench.limits, bench.clock, bench.analyser));
        assert_eq!(
            (new.container, new.protocol, new.rotor),
            (old.kit.container, old.kit.protocol, old.kit.rotor)
        );
    }

    #[test]
    fn a_course_goes_on_to_its_next_session() {
        for (now, next) in
            [("2 of 3", "3 of 3"), (" 1/3 ", "2/3"), ("3 of 3", ""), ("second", ""), ("2", ""), ("", "")]
        {
            let mut d = Draft::new("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
            d.write(Field::Session, now);
            let again = d.again("e".into(), CheckSign::pick(1, &[]), Instant(1), &Bench::default());
            assert_eq!(again.text(Field::Session), next, "{now:?}");
        }
    }
}
