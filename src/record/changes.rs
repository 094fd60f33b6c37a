//! What one entry of a record changed against the one before.

mod chosen;

use crate::arrange::gather;
use crate::draft::field::MAX_SITES;
use crate::draft::{Check, CheckKind, Draft, Field, Kit, KitPart, TimeOf};
use crate::quantity::time::{Instant, Offset};
use crate::stored;
use serde::Serialize;
use std::collections::BTreeSet;

pub use chosen::Chosen;

/// One difference.
#[derive(Debug, Clone, PartialEq)]
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
    /// A time entered, taken back or corrected.
    Time {
        /// Which.
        what: TimeOf,
        /// As it was.
        before: Option<Instant>,
        /// As it is.
        after: Option<Instant>,
        /// Local time of the case; `None` where it kept none.
        offset: Option<Offset>,
    },
    /// A check made, taken back, lapsed, or made again.
    Check {
        /// Which.
        kind: CheckKind,
        /// As it was.
        before: Option<Check>,
        /// As it is.
        after: Option<Check>,
        /// Local time of the case; `None` where it kept none.
        offset: Option<Offset>,
    },
    /// Something in this part that none of those tells.
    Part(Part),
}

impl Change {
    /// What was changed, as files name it: the key of a field, of a choice, of a time, of a check, or of a part of the
    /// case.
    pub fn key(&self) -> String {
        match self {
            Change::Typed { field, .. } => field.key(),
            Change::Chosen { after, .. } => after.key(),
            Change::Entry { part, .. } => stored::key(part).unwrap_or_default(),
            Change::Time { what, .. } => what.key().trim_start_matches("time_").to_owned(),
            // What is checked may also be chosen.
            Change::Check { kind, .. } => format!("check_{}", stored::key(kind).unwrap_or_default()),
            Change::Part(part) => stored::key(part).unwrap_or_default(),
        }
    }

    /// The same where two tabs changed one case: times hang together, and so do checks.
    pub fn hangs_on(&self) -> String {
        match self {
            Change::Time { .. } => Change::Part(Part::Times).key(),
            Change::Check { .. } => Change::Part(Part::Checks).key(),
            other => other.key(),
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

/// Differences in the order of [`Field`], then what was chosen, times, checks, then of [`Part`]. Left out is why something was changed
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
    let (times, checks) = (timed(before, after), checked(before, after));
    let other_times = rest_of_times(before, &times) != rest_of_times(after, &times);
    let parts = [
        (Part::Kit, of_bench(&before.kit) != of_bench(&after.kit)),
        (Part::Times, other_times || told_otherwise(before, after)),
        (Part::Checks, rest_of_checks(before, &checks) != rest_of_checks(after, &checks)),
        (Part::Troubles, before.troubles != after.troubles),
        (Part::Discards, before.discards != after.discards),
        (Part::Decisions, before.decisions != after.decisions),
    ];
    typed
        .chain(chosen::differences(before, after))
        .chain(times)
        .chain(checks)
        .chain(parts.into_iter().filter(|(_, differs)| *differs).map(|(part, _)| Change::Part(part)))
        .collect()
}

/// What of the kit is of no entry with a name.
fn of_bench(kit: &Kit) -> impl PartialEq {
    let Kit { container: _, protocol: _, rotor: _, centrifuge, centrifuges, limits, clock, analyser } = kit;
    (centrifuge, centrifuges, limits, clock, analyser)
}

/// Times that differ, in the order of the job.
fn timed(before: &Draft, after: &Draft) -> Vec<Change> {
    let all: BTreeSet<TimeOf> = gather(before.times.entered().into_iter().chain(after.times.entered()));
    let offset = after.offset.or(before.offset);
    let one = |what: TimeOf| {
        let [before, after] = [before, after].map(|draft| draft.times.get(what));
        (before != after).then_some(Change::Time { what, before, after, offset })
    };
    all.into_iter().filter_map(one).collect()
}

/// What those do not tell: runs that stopped, corrections that left the time as it was.
fn rest_of_times(draft: &Draft, told: &[Change]) -> impl PartialEq + use<> {
    let mut times = draft.times.clone();
    (times.needle_in, times.needle_out, times.spin_end) = (None, None, None);
    (times.collected, times.counted, times.handed_over) = (None, None, None);
    times.stages.clear();
    let is_told =
        |of: TimeOf| told.iter().any(|change| matches!(change, Change::Time { what, .. } if *what == of));
    let corrections: Vec<_> = draft.corrections.iter().filter(|c| !is_told(c.what)).cloned().collect();
    (times, corrections)
}

/// Checks that differ, in the order of [`CheckKind`].
fn checked(before: &Draft, after: &Draft) -> Vec<Change> {
    let all: BTreeSet<CheckKind> = gather(before.checks.keys().chain(after.checks.keys()).copied());
    let offset = after.offset.or(before.offset);
    let one = |kind: CheckKind| {
        let [before, after] = [before, after].map(|draft| draft.checks.get(&kind).cloned());
        (before != after).then_some(Change::Check { kind, before, after, offset })
    };
    all.into_iter().filter_map(one).collect()
}

/// Whether a time of giving is the same text and yet tells something else: typed anew, it no longer lies ahead.
fn told_otherwise(before: &Draft, after: &Draft) -> bool {
    let differs = |part| {
        let field = Field::PartGivenAt(part);
        before.text(field) == after.text(field) && before.is_ahead(part) != after.is_ahead(part)
    };
    (0..MAX_SITES).any(differs)
}

/// What those do not tell: codes that were scanned, lots corrected, what lapsed of checks that stand as they did.
fn rest_of_checks(draft: &Draft, told: &[Change]) -> impl PartialEq + use<> {
    let is_told =
        |of: CheckKind| told.iter().any(|change| matches!(change, Change::Check { kind, .. } if *kind == of));
    let lapsed: Vec<_> = draft.lapsed.iter().filter(|l| !is_told(l.kind)).cloned().collect();
    (lapsed, draft.scans.clone(), draft.corrected_lots.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::anticoagulant::{Agent, VolumeConvention};
    use crate::blood::baseline::SampleKind;
    use crate::blood::patient::Sex;
    use crate::draft::{
        AdditionChoice, Brake, Changed, CheckSign, Choices, CountStanding, Lapsed, ProductTube,
        SampleDilution, Screening, Side, WhiteCellOrder,
    };
    use crate::export::card::said_of;
    use crate::finding::LotOf;
    use crate::product::order::{OrderSense, OrderedAmount};
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
    fn each_time_that_differs_is_told_by_itself_and_what_none_tells_as_a_part() {
        let mut before = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        before.offset = Offset::new(60);
        before.times.needle_in = Some(Instant(0));
        before.times.collected = Some(Instant(3_600_000));
        let mut after = before.clone();
        after.times.stages.insert(1, Instant(1_800_000));
        after.times.collected = None;
        after.correct(TimeOf::NeedleIn, Instant(60_000), "MO".into(), Instant(4_000_000));
        let changed = between(&before, &after);
        let time = |what, before, after| Change::Time { what, before, after, offset: Offset::new(60) };
        assert_eq!(
            changed,
            [
                time(TimeOf::NeedleIn, Some(Instant(0)), Some(Instant(60_000))),
                time(TimeOf::Stage(1), None, Some(Instant(1_800_000))),
                time(TimeOf::Collected, Some(Instant(3_600_000)), None),
            ]
        );
        let keys: Vec<String> = changed.iter().map(Change::key).collect();
        assert_eq!(keys, ["needle_in", "stage_2", "collected"]);
        assert!(changed.iter().all(|change| change.hangs_on() == "times"));
        // The first minute of 1970 and half an hour and an hour past it, an hour east of Greenwich.
        let said = |draft: &Draft, after: &Draft| -> Vec<String> {
            let all = between(draft, after);
            let said = all.iter().map(|c| said_of(c, Language::English, NumberStyle::Point));
            said.map(|said| said.replace('\u{a0}', " ")).collect()
        };
        assert_eq!(
            said(&before, &after),
            [
                "Needle in now “1 Jan 1970, 01:01”, “1 Jan 1970, 01:00” before",
                "Stage 2 begun now “1 Jan 1970, 01:30”, nothing before",
                "Product collected taken out, “1 Jan 1970, 02:00” before",
            ]
        );
        // A case that kept no local time says which it is.
        (before.offset, after.offset) = (None, None);
        assert_eq!(said(&before, &after)[1], "Stage 2 begun now “1 Jan 1970, 00:30 UTC”, nothing before");
        // Corrected there and back, only the trace is left; a run that stopped is of no time that was tapped.
        let mut back = after.clone();
        back.correct(TimeOf::NeedleIn, Instant(0), "MO".into(), Instant(5_000_000));
        back.correct(TimeOf::NeedleIn, Instant(60_000), "MO".into(), Instant(6_000_000));
        assert_eq!(between(&after, &back), [Change::Part(Part::Times)]);
        let mut stopped = after.clone();
        let (stage, began, stop) = (1, Instant(1_800_000), Instant(1_900_000));
        stopped.times.interrupted.push(crate::draft::Interrupted { stage, began, stopped: stop });
        assert_eq!(between(&after, &stopped), [Change::Part(Part::Times)]);
    }

    #[test]
    fn each_check_that_differs_is_told_by_itself() {
        let mut before = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        before.offset = Offset::new(60);
        let check = |by: &str, at| Check { by: by.into(), at: Instant(at), of: String::new() };
        before.checks = [(CheckKind::Identity, check("MO", 0)), (CheckKind::Balance, check("MO", 0))].into();
        let mut after = before.clone();
        let lapsed = after.checks.remove(&CheckKind::Balance).unwrap();
        after.lapsed.push(Lapsed { kind: CheckKind::Balance, check: lapsed, changed: Changed::Rotor });
        after.checks.insert(CheckKind::Identity, check("JT", 60_000));
        after.checks.insert(CheckKind::Anticoagulant, check("", 120_000));
        let changed = between(&before, &after);
        let keys: Vec<String> = changed.iter().map(Change::key).collect();
        assert_eq!(keys, ["check_identity", "check_anticoagulant", "check_balance"]);
        assert!(changed.iter().all(|change| change.hangs_on() == "checks"));
        let said = changed.iter().map(|c| said_of(c, Language::English, NumberStyle::Point));
        let said: Vec<String> = said.map(|said| said.replace('\u{a0}', " ")).collect();
        let name = |kind| Language::English.say(crate::words::choice::CheckName(kind)).into_owned();
        assert_eq!(
            said,
            [
                format!(
                    "{} now “JT, 1 Jan 1970, 01:01”, “MO, 1 Jan 1970, 01:00” before",
                    name(CheckKind::Identity)
                ),
                format!("{} now “1 Jan 1970, 01:02”, nothing before", name(CheckKind::Anticoagulant)),
                format!("{} taken out, “MO, 1 Jan 1970, 01:00” before", name(CheckKind::Balance)),
            ]
        );
        // What lapsed and was made again just as it stood.
        let mut again = before.clone();
        again.lapsed.clone_from(&after.lapsed);
        assert_eq!(between(&before, &again), [Change::Part(Part::Checks)]);
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
