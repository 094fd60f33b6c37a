//! Signed records of the invented case, for tests.

use super::card::Given;
use super::signed::{amend, sign};
use crate::assess::{Now, assess};
use crate::bench::Bench;
use crate::case;
use crate::draft::{CheckSign, Draft, Field, Trouble, TroubleKind};
use crate::finding::LotOf;
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use crate::record::Record;
use crate::record::standing::RecordStanding;
use crate::words::Language;

/// 25 Nov 2026, 10:40 UTC.
pub(crate) const SIGNED: Instant = Instant(1_795_603_200_000);

pub(crate) fn with<T>(draft: &Draft, record: Option<&Record>, act: impl FnOnce(Given<'_>) -> T) -> T {
    let (case, _) = case::read(draft, Language::English);
    let now = Now { at: SIGNED, offset: Offset::UTC };
    let (answer, clinic) = (assess(&case, now), Bench::default().clinic);
    let language = Language::English;
    act(Given {
        draft,
        case: &case,
        answer: &answer,
        clinic: &clinic,
        language,
        now,
        record,
        standing: RecordStanding::Sound,
        sessions: &[],
    })
}

pub(crate) fn signed(draft: &Draft) -> Record {
    with(draft, None, |given| sign(given, "MO", SIGNED)).unwrap()
}

/// The invented case with the needle out and nothing collected.
pub(crate) fn drawn() -> Draft {
    let sign = CheckSign::pick(0, &[]);
    let mut draft = Draft::demo("a".into(), sign, Instant(1_795_597_200_000), Conventions::default());
    draft.offset = Offset::new(60);
    draft.times.needle_in = Some(Instant(1_795_599_600_000));
    draft.times.needle_out = Some(Instant(1_795_599_900_000));
    draft.write(Field::FillActual(0), "15");
    draft.write(Field::FillActual(1), "15");
    draft
}

/// It, collected, counted and given: 47 at 1 in 20 is 940.
pub(crate) fn counted_draft() -> Draft {
    let mut draft = drawn();
    draft.choices.mixed_no_clumps = Some(true);
    draft.choices.dilution = Some(crate::draft::SampleDilution::Diluted);
    let typed = [
        (Field::ProductActual, "4"),
        (Field::Dilution, "20"),
        (Field::Reading(0), "47"),
        (Field::PartGiven(0), "2"),
        (Field::PartGiven(1), "1"),
        (Field::HandedTo, "Dr A. Reyes-Lindqvist"),
    ];
    for (field, text) in typed {
        draft.write(field, text);
    }
    draft.times.spin_end = Some(Instant(1_795_601_700_000));
    draft.times.collected = Some(Instant(1_795_602_000_000));
    draft.times.handed_over = Some(Instant(1_795_602_900_000));
    draft
}

/// The first stage of its spin stopped at 10:54 and ran again from 11:05, container 1 weighed anew in between.
pub(crate) fn run_again(draft: &mut Draft) {
    let begun = draft.times.needle_out.map_or(0, |out| out.0) + 300_000;
    let ended = draft.times.spin_end.take();
    draft.write(Field::FilledWeight(0), "31.2");
    draft.begin_stage(0, Instant(begun));
    draft.went_wrong(Trouble {
        kind: TroubleKind::SpinStopped,
        container: None,
        at: Instant(begun + 240_000),
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    draft.write(Field::FilledWeight(0), "30.9");
    draft.run_again(Instant(begun + 900_000));
    draft.times.spin_end = ended;
}

/// It with the codes of both lots read by a scanner.
pub(crate) fn scanned() -> Draft {
    let mut draft = counted_draft();
    for (of, number, lot) in
        [(LotOf::Containers, "06291041500213", "K-0058"), (LotOf::Anticoagulant, "04012345678901", "AC-2291")]
    {
        draft.scan(of, &format!("]d201{number}1728033110{lot}"), SIGNED).unwrap();
    }
    draft
}

pub(crate) fn planned() -> Record {
    signed(&drawn())
}

pub(crate) fn counted() -> Record {
    signed(&counted_draft())
}

pub(crate) fn amended() -> Record {
    let record = counted();
    let mut draft = record.latest().clone();
    draft.write(Field::ProductActual, "3.8");
    let at = Instant(SIGNED.0 + 60_000);
    with(&draft, Some(&record), |given| amend(&record, given, "JT", at, "misread the syringe")).unwrap()
}
