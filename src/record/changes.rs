//! What one entry of a record changed against the one before.

mod chosen;

use crate::arrange::gather;
use crate::draft::field::MAX_SITES;
use crate::draft::{Draft, Field, Kit, KitPart};
use crate::stored;
use serde::Serialize;
use std::collections::BTreeSet;

pub use chosen::Chosen;

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A typed entry; empty is "nothing typed".
    Typed {
        /// Which.
        field: Field,
        /// As it was.
        before: String,
        /// As it is.
        after: String,
    },
    /// Something chosen from a few: a choice, a unit, an entry of the Bench.
    Chosen {
        /// As it was.
        before: Chosen,
        /// As it is.
        after: Chosen,
    },
    /// An entry of the Bench that is otherwise under the same name; `None` where it has none.
    Entry {
        /// Which.
        part: KitPart,
        /// Its name.
        name: Option<String>,
    },
    /// Something in this part.
    Part(Part),
}

impl Change {
    /// What was changed, as files name it: the key of a field, of a choice, or of a part of the case.
    pub fn key(&self) -> String {
        match self {
            Change::Typed { field, .. } => field.key(),
            Change::Chosen { after, .. } => after.key(),
            Change::Entry { part, .. } => stored::key(part).unwrap_or_default(),
            Change::Part(part) => stored::key(part).unwrap_or_default(),
        }
    }
}

/// Parts of a case that are not typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Limits, how long a product may be used, the analyser, centrifuges.
    Kit,
    /// What was chosen.
    Choices,
    /// When things happened.
    Times,
    /// What was confirmed.
    Checks,
    /// What went wrong.
    Troubles,
    /// What was thrown away.
    Discards,
    /// What was decided about findings.
    Decisions,
}

/// Differences in the order of [`Field`], then what was chosen, then of [`Part`]. Left out is why something was changed
/// before the signature, since an amendment has a reason of its own.
pub fn between(before: &Draft, after: &Draft) -> Vec<Change> {
    // What is new in a case must be named here.
    let Draft {
        texts: _,
        choices: _,
        conventions: _,
        kit: _,
        times: _,
        corrections: _,
        given_ahead: _,
        checks: _,
        lapsed: _,
        scans: _,
        corrected_lots: _,
        troubles: _,
        discards: _,
        decisions: _,
        // The same for as long as the case lives.
        schema: _,
        id: _,
        sign: _,
        demo: _,
        begun: _,
        rebuilt: _,
        taken_over: _,
        offset: _,
        // What is in view.
        stage: _,
        rows: _,
        // How something else stood at a moment, or what follows from it.
        placed: _,
        identified: _,
        hand_overs: _,
        ended_without: _,
        blood_told: _,
        namesake: _,
        drawn_to: _,
    } = after;
    let fields: BTreeSet<Field> = gather(before.texts.keys().chain(after.texts.keys()).copied());
    let other = |field: &Field| before.text(*field) != after.text(*field) && *field != Field::WhyChanged;
    let typed = fields.into_iter().filter(other).map(|field| Change::Typed {
        field,
        before: before.text(field).to_owned(),
        after: after.text(field).to_owned(),
    });
    let parts = [
        (Part::Kit, of_bench(&before.kit) != of_bench(&after.kit)),
        (Part::Times, when(before) != when(after) || told_otherwise(before, after)),
        (Part::Checks, looked_at(before) != looked_at(after)),
        (Part::Troubles, before.troubles != after.troubles),
        (Part::Discards, before.discards != after.discards),
        (Part::Decisions, before.decisions != after.decisions),
    ];
    typed
        .chain(chosen::differences(before, after))
        .chain(parts.into_iter().filter(|(_, differs)| *differs).map(|(part, _)| Change::Part(part)))
        .collect()
}

/// What of the kit is of no entry with a name.
fn of_bench(kit: &Kit) -> impl PartialEq {
    let Kit { container: _, protocol: _, rotor: _, centrifuge, centrifuges, limits, clock, analyser } = kit;
    (centrifuge, centrifuges, limits, clock, analyser)
}

fn when(draft: &Draft) -> impl PartialEq {
    (&draft.times, &draft.corrections)
}

/// Whether a time of giving is the same text and yet tells something else: typed anew, it no longer lies ahead.
fn told_otherwise(before: &Draft, after: &Draft) -> bool {
    let differs = |part| {
        let field = Field::PartGivenAt(part);
        before.text(field) == after.text(field) && before.is_ahead(part) != after.is_ahead(part)
    };
    (0..MAX_SITES).any(differs)
}

/// What was looked at and what was found: checks, those that lapsed, codes that were scanned, lots corrected.
fn looked_at(draft: &Draft) -> impl PartialEq {
    (&draft.checks, &draft.lapsed, &draft.scans, &draft.corrected_lots)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::anticoagulant::{Agent, VolumeConvention};
    use crate::blood::baseline::SampleKind;
    use crate::blood::patient::Sex;
    use crate::draft::{
        AdditionChoice, Brake, CheckSign, Choices, CountStanding, ProductTube, SampleDilution, Screening,
        Side, WhiteCellOrder,
    };
    use crate::export::card::said_of;
    use crate::finding::LotOf;
    use crate::product::order::{OrderSense, OrderedAmount};
    use crate::quantity::time::Instant;
    use crate::quantity::unit::{
        Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
    };
    use crate::words::Language;
    use crate::words::chosen::ChosenName;

    #[test]
    fn side_and_site_first_kept_in_an_older_record_are_no_change() {
        let mut old = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        old.times.needle_in = Some(Instant(3));
        let mut touched = old.clone();
        touched.change(|_| ());
        assert!(old.placed.is_none() && touched.placed.is_some());
        assert_eq!(between(&old, &touched), []);
    }

    #[test]
    fn what_is_changed_after_the_signature_leaves_the_reason_before_it_alone() {
        let mut signed = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        signed.hand_over(Instant(5));
        let type_in =
            |d: &mut Draft, field, text: &str| d.edit(None, |d| d.type_in(field, text, Instant(6), None));
        type_in(&mut signed, Field::OrderVolume, "2");
        type_in(&mut signed, Field::WhyChanged, "asked again");
        let mut later = signed.clone();
        type_in(&mut later, Field::PartVolume(0), "1.5");
        let (before, after) = (signed.text(Field::PartVolume(0)).to_owned(), "1.5".to_owned());
        assert_eq!(later.text(Field::WhyChanged), "");
        assert_eq!(between(&signed, &later), [Change::Typed { field: Field::PartVolume(0), before, after }]);
    }

    #[test]
    fn a_time_that_lay_ahead_and_is_typed_again_is_a_change() {
        let mut ahead = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        ahead.write(Field::PartGivenAt(1), "12:15");
        let mut told = ahead.clone();
        ahead.lies_ahead(Field::PartGivenAt(1), Some("12:15".into()));
        assert_eq!(between(&ahead, &told), [Change::Part(Part::Times)]);
        // What is kept of a text that no longer stands says nothing.
        told.lies_ahead(Field::PartGivenAt(1), Some("12:20".into()));
        assert_eq!(between(&ahead, &told), [Change::Part(Part::Times)]);
        assert_eq!(between(&told, &told.clone()), []);
    }

    #[test]
    fn a_code_that_changes_no_text_is_a_change() {
        let before = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let mut after = before.clone();
        let same = format!("(10){}", before.text(Field::ContainerLot));
        assert_eq!(after.scan(LotOf::Containers, &same, Instant(6)), Ok(true));
        assert_eq!(after.texts, before.texts);
        assert_eq!(between(&before, &after), [Change::Part(Part::Checks)]);
    }

    /// The demo with everything chosen otherwise that can be.
    fn otherwise() -> [Draft; 2] {
        let before = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let mut after = before.clone();
        after.conventions = Conventions {
            numbers: NumberStyle::Comma,
            count: CountUnit::PerMicrolitre,
            haematocrit: HaematocritUnit::Percent,
            haemoglobin: HaemoglobinUnit::MillimolePerLitre,
            mass: MassUnit::Pound,
            height: HeightUnit::FeetInches,
        };
        after.choices = Choices {
            side: Some(Side::Left),
            white_cells: Some(WhiteCellOrder::NotWanted),
            one_container: true,
            order_sense: OrderedAmount::ALL.map(|what| (what, OrderSense::About)).into(),
            each_part: true,
            count: Some(CountStanding::Older),
            sample: Some(SampleKind::FingerPrick),
            sex: Some(Sex::Female),
            first_draw: Some(true),
            agent: Some(Agent::SodiumCitrate38),
            convention: Some(VolumeConvention::AddedBlood),
            additions: [(0, AdditionChoice::CalciumGluconate), (2, AdditionChoice::Other)].into(),
            screening: Screening::ALL
                .map(|what| (what, before.choices.screening.get(&what) != Some(&true)))
                .into(),
            dilution: Some(SampleDilution::Diluted),
            product_tube: Some(ProductTube::LiquidCitrate),
            cells_dilution: Some(SampleDilution::Diluted),
            mixed_no_clumps: Some(false),
            count_later: true,
            brakes: [(0, Brake::Off), (2, Brake::On)].into(),
        };
        after.kit.container.as_mut().unwrap().name = "Tube, filled to 10 mL".into();
        after.kit.rotor.as_mut().unwrap().maximum = None;
        after.kit.protocol = None;
        [before, after]
    }

    #[test]
    fn whatever_is_chosen_otherwise_is_told_with_what_stood_there() {
        let [before, after] = otherwise();
        let changed = between(&before, &after);
        // 19 choices of which three amounts, two additions, two brakes and nine answers are told each by itself; six units; a container,
        // a protocol; the rotor has kept its name.
        let told = changed.iter().filter(|change| matches!(change, Change::Chosen { .. })).count();
        assert_eq!(
            (told, changed.len()),
            (15 + 3 + 2 + 2 + 9 + 6 + 2, 15 + 3 + 2 + 2 + 9 + 6 + 3),
            "{changed:#?}"
        );
        let side = |side| Chosen::Side(Some(side));
        assert_eq!(changed[0], Change::Chosen { before: side(Side::Right), after: side(Side::Left) });
        let rotor = after.kit.rotor.as_ref().map(|r| r.name.clone());
        assert!(changed.contains(&Change::Entry { part: KitPart::Rotor, name: rotor }));
        let back = between(&after, &before);
        assert_eq!(back.len(), changed.len());
        for change in changed.iter().chain(&back) {
            let said = said_of(change, Language::English, NumberStyle::Point);
            let values = match change {
                Change::Chosen { before, after } => [before, after],
                _ => continue,
            };
            for value in values.map(|c| Language::English.say(ChosenName(c, NumberStyle::Point)).into_owned())
            {
                assert!(value.is_empty() || said.contains(&value), "{said}");
            }
            assert!(said.contains(" before"), "{said}");
        }
        let first = said_of(&changed[0], Language::English, NumberStyle::Point);
        assert_eq!(first, "Side now “LEFT”, “RIGHT” before");
    }
}
