//! One finding of each kind, and what holds for every sentence said of them.

use super::*;
use crate::blood::anticoagulant::Agent;
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{LimitHit, LimitLevel, LimitRule};
use crate::case::BloodUntold;
use crate::draft::{About, Decision, Field, Placed, Screening, Side, TroubleKind};
use crate::evidence::SourceId;
use crate::finding::{LotOf, RunDiffers};
use crate::log::{CheckState, Checked};
use crate::product::order::OrderedAmount;
use crate::quantity::time::{Date, Instant};
use crate::quantity::{
    AcRatio, CellCount, Cells, Factor, Fold, Grams, Haemoglobin, Quantity, Rpm, Seconds, Volume,
};
use crate::scan::Gtin;
use crate::spin::programme::{Rating, RatingBreach};
use crate::working::Figure;
use std::collections::BTreeMap;

fn ml(value: f64) -> Volume {
    Volume::new(value).unwrap()
}

fn ratio(value: f64) -> AcRatio {
    AcRatio::new(value).unwrap()
}

fn limit(rule: LimitRule, level: LimitLevel, value: f64, limit: f64, unit: &'static str) -> FindingKind {
    FindingKind::Limit(LimitHit {
        rule,
        value: Figure { value, unit },
        limit: Figure { value: limit, unit },
        level,
        source: SourceId::LimitsJudgement,
    })
}

/// At least one of every kind, and one of every sentence that a kind can take.
pub(crate) fn samples() -> Vec<FindingKind> {
    use FindingKind as F;
    let by = Instant(1_773_325_440_000); // 12 Mar 2026, 14:24 UTC
    let mut all = vec![
        F::RoundedDown,
        F::ConventionUnsaid,
        F::AboveCapacity { fill: ml(18.0), capacity: ml(15.5), container: None },
        F::AboveCapacity { fill: ml(18.0), capacity: ml(15.5), container: Some(1) },
        F::NoRotor,
        F::FillOutsideRange { fill: ml(5.0), low: ml(8.0), high: ml(15.0) },
        F::UnderFilledTube { container: 1 },
        F::MarkBelowAnticoagulant { container: 0 },
        F::MarkMissing { container: 1 },
        F::MoreThanOneContainer,
        F::PartsDiffer { parts: ml(4.0), ordered: ml(3.0) },
        F::OrderUpsideDown { what: OrderedAmount::Platelets, least: 6.0, most: 5.0 },
        F::OrderUpsideDown { what: OrderedAmount::Fold, least: 6.0, most: 5.0 },
        F::Beyond { counted: false, range: CellCount::new(131_250.0).unwrap_err() },
        F::Beyond { counted: true, range: CellCount::new(150_000.0).unwrap_err() },
        F::Beyond { counted: true, range: crate::quantity::Haematocrit::new(6.0).unwrap_err() },
        F::Beyond { counted: true, range: crate::quantity::RedCount::new(600.0).unwrap_err() },
        F::NotMixed,
        F::DilutionUnsaid,
        F::LimitUnknown { level: LimitLevel::Caution, drawn: ml(120.0) },
        F::LimitUnknown { level: LimitLevel::Stop, drawn: ml(226.0) },
        F::BloodUntold(BloodUntold { told: ml(26.0), whole: true, entered: None }),
        F::BloodUntold(BloodUntold { told: ml(26.0), whole: false, entered: Some(ml(13.0)) }),
        F::BloodUntold(BloodUntold { told: ml(0.0), whole: false, entered: None }),
        F::NoPlan,
        F::RebuiltInPart,
        F::KeptAboveFill { kept: ml(40.0), fill: ml(30.0) },
        F::FoldUnlikely { fold: Fold::new(0.4).unwrap() },
        F::PlateletsLow(CellCount::new(92.0).unwrap()),
        F::HaemoglobinLow(Haemoglobin::new(9.5).unwrap()),
        F::ScreeningOpen,
        F::SampleUnsaid,
        F::NoCount,
        F::HaematocritUnknown,
        F::IdentityUnchecked,
        F::IdentityDiffers,
        F::WhiteCellsContradict,
        F::NothingToPredictFrom,
        F::LiteratureRange,
        F::ProductAboveBound { asked: ml(5.0), bound: ml(4.25) },
        F::ProductOutsideRange { asked: ml(0.5) },
        F::LedgerShort { missing: ml(0.8) },
        F::RatingUnchecked,
        F::RadiusUnknown,
        F::PastSpinBy(by),
        F::PastUseBy(by),
        F::GivenPastUseBy { at: Instant(by.0 + 16 * 60_000), by },
        F::GivenPastUseBy { at: Instant(by.0 + 24 * 3_600_000), by },
        F::UseByEarlier { was: Instant(by.0 + 51 * 60_000), now: by },
        F::UseByEarlier { was: Instant(by.0 + 24 * 3_600_000), now: by },
        F::SpinCutShort,
        F::ClockWentBack,
        F::SetAside(0),
        F::SetAsideLate(0),
        F::NothingLeft,
        F::AboveCeiling { fold: Fold::new(8.2).unwrap(), ceiling: Fold::new(6.5).unwrap() },
        F::MixingUnsaid,
        F::WhiteCellsNotCounted,
        F::ProductTubeUnsaid,
        F::CellsDilutionUnsaid,
        F::DifferentialOver { sum: Factor::new(1.08).unwrap() },
        F::VolumesOpen { found: ml(27.0), fill: ml(30.0), tolerance: ml(1.39) },
        F::PlateletsOver { found: Cells::new(6.2).unwrap(), drawn: Cells::new(5.46).unwrap() },
        F::AdditionIncomplete,
        F::CalciumAdded,
        F::ProductNotCounted,
        F::BloodUnknown,
        limit(LimitRule::PerKg, LimitLevel::Caution, 3.4, 3.0, "mL/kg"),
        limit(LimitRule::Share, LimitLevel::Stop, 8.1, 7.5, "%"),
        limit(LimitRule::Volume, LimitLevel::Caution, 221.0, 200.0, "mL"),
        limit(LimitRule::EightWeeksPerKg, LimitLevel::Stop, 7.001, 7.0, "mL/kg"),
        limit(LimitRule::EightWeeksVolume, LimitLevel::Stop, 560.0, 550.0, "mL"),
        limit(LimitRule::HaemoglobinLow, LimitLevel::Caution, 9.5, 10.0, "g/dL"),
        limit(LimitRule::HaemoglobinForVolume, LimitLevel::Caution, 12.0, 12.5, "g/dL"),
        limit(LimitRule::HaemoglobinForPerKg, LimitLevel::Stop, 10.4, 11.0, "g/dL"),
        limit(LimitRule::LightWeight, LimitLevel::Caution, 3.4, 3.0, "mL/kg"),
        limit(LimitRule::SmallBloodVolume, LimitLevel::Caution, 3.4, 3.0, "mL/kg"),
        limit(LimitRule::FirstDraw, LimitLevel::Caution, 3.4, 3.0, "mL/kg"),
        limit(LimitRule::Minor, LimitLevel::Stop, 16.0, 18.0, "years"),
    ];
    let (count, factor) = (|v| CellCount::new(v).unwrap(), |v| Factor::new(v).ok());
    for (reading, end, above, rather) in
        [(5200.0, 4800.0, true, factor(5.0)), (5200.0, 4800.0, true, None), (8.0, 10.0, false, None)]
    {
        all.push(F::ReadingNotLinear { reading: count(reading), end: count(end), above, rather });
    }
    for agent in Agent::ALL {
        all.extend([F::AgentUnsuitable(agent), F::AmountUnknown(agent), F::BandUnknown(agent)]);
    }
    for container in [None, Some(0)] {
        all.push(F::AnticoagulantLow { ratio: ratio(0.08), low: ratio(0.1), container });
        all.push(F::AnticoagulantFarLow { ratio: ratio(0.02), low: Some(ratio(0.1)), container });
        for mark in [None, Some(ml(12.0))] {
            all.push(F::AnticoagulantHigh { ratio: ratio(2.0 / 9.0), high: ratio(0.2), container, mark });
        }
    }
    all.extend(Screening::ALL.map(F::ScreeningYes));
    for sample in [
        SampleKind::LaboratoryEdta,
        SampleKind::FilledContainer,
        SampleKind::LiquidCitrate,
        SampleKind::FingerPrick,
        SampleKind::OlderResult,
    ] {
        all.extend([None, Some(1), Some(45)].map(|days| F::WeakSample(sample, days)));
    }
    for of in LotOf::ALL {
        let product = |number| Gtin::read(number).unwrap();
        let (scanned, expected) = (product("6291041500213"), product("7300011000017"));
        let other = F::OtherProduct { of, scanned, expected };
        let day = |day| Date::new(2026, 2, day).unwrap();
        let expired = |lot: &str| F::Expired { of, lot: lot.to_owned(), last: day(28) };
        all.extend([expired("K-0071"), expired(""), F::ExpiryUnreadable(of)]);
        // Nobody looks at an addition's soundness here, and the Bench names no number of it.
        if !matches!(of, LotOf::Addition(_)) {
            all.extend([F::Unsound(of), other]);
        }
        all.extend([Some(day(27)), None].map(|entered| F::ExpiryDiffers { of, code: day(28), entered }));
        if of != LotOf::Containers {
            all.push(F::SameProduct { of, product: scanned });
        }
    }
    for (rating, value, limit, unit) in [
        (Rating::RotorSpeed, 4200.0, 4000.0, "rpm"),
        (Rating::Bucket, 1800.0, 1500.0, "×g"),
        (Rating::Container, 1500.4, 1500.0, "×g"),
    ] {
        let figure = |value| Figure { value, unit };
        all.push(F::OverRating(RatingBreach {
            stage: 1,
            rating,
            value: figure(value),
            limit: figure(limit),
        }));
    }
    for (rating, value, limit, unit) in
        [(Rating::RotorSpeed, 4200.0, 4000.0, "rpm"), (Rating::Container, 1500.4, 1500.0, "×g")]
    {
        let figure = |value| Figure { value, unit };
        let (value, limit) = (figure(value), figure(limit));
        all.push(F::RanOverRating(RatingBreach { stage: 1, rating, value, limit }));
    }
    for (second, other, turned) in [(false, Some(1), false), (true, None, false), (true, Some(1), true)] {
        let (apart, allowed) = (Grams::new(1.04).unwrap(), Grams::new(1.0).unwrap());
        all.push(F::OutOfBalance { second, container: 0, other, apart, allowed, turned });
    }
    let (rpm, time) = (|v| Rpm::new(v).unwrap(), |v| Seconds::new(v).unwrap());
    all.push(F::RunDiffers { stage: 2, what: RunDiffers::Speed { planned: rpm(2280.0), ran: rpm(2000.0) } });
    all.push(F::RunDiffers { stage: 2, what: RunDiffers::Time { planned: time(600.0), ran: time(300.0) } });
    all.push(F::RunDiffers { stage: 2, what: RunDiffers::Clock { planned: time(600.0), left: time(0.0) } });
    for (one, other) in [(true, true), (true, false), (false, true)] {
        all.push(F::NoRating { rotor: one, container: other });
        all.push(F::SoundUnchecked { anticoagulant: one, containers: other });
        all.push(F::DrawnWithOther { anticoagulant: one, container: other });
    }
    let placed = |side| Placed { side, site: "patellar tendon".to_owned() };
    all.push(F::SiteChanged { then: placed(Some(Side::Right)), now: placed(Some(Side::Left)) });
    let spelt = Placed { side: Some(Side::Right), site: "patellar-tendon".to_owned() };
    all.push(F::SiteReworded { then: placed(Some(Side::Right)), now: spelt });
    let sign = crate::draft::CheckSign::pick(0, &[]);
    all.push(F::OrderTakenOver { sign, at: Instant(1_773_309_900_000) });
    for others in [0, 1] {
        all.push(F::OtherIdentifier { sign, at: Instant(1_773_309_900_000), others });
    }
    all.extend(Field::all().into_iter().filter(|f| f.kind().is_some()).map(F::Unread));
    for of in Checked::ALL {
        let day = Date::new(2026, 3, 11).unwrap();
        let states = [CheckState::Failed(day), CheckState::Overdue(day), CheckState::Never];
        for chosen in [true, false] {
            all.extend(states.map(|state| F::CentrifugeCheck { of, state, chosen }));
        }
    }
    for kind in TroubleKind::ALL {
        all.extend([F::Trouble(kind, None), F::Trouble(kind, Some(1))]);
    }
    all
}

fn say(kind: &FindingKind, part: Part, conventions: &Conventions) -> String {
    FindingWords { kind, part, conventions, offset: Offset::UTC }.english().into_owned()
}

/// Every variant's name, from the source, so that a sample that is missing is noticed.
pub(crate) fn variants() -> Vec<String> {
    let source = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/src/finding.rs")).unwrap();
    let body = source.split("pub enum FindingKind {").nth(1).unwrap().split("\n}\n").next().unwrap();
    let names = body.lines().filter(|l| l.starts_with("    ") && !l.starts_with("     "));
    let names = names.map(str::trim).filter(|l| l.starts_with(char::is_uppercase));
    names.map(|l| l.split(|c: char| !c.is_alphanumeric()).next().unwrap().to_owned()).collect()
}

#[test]
fn there_is_a_sample_of_every_kind() {
    let samples = samples();
    let variants = variants();
    assert!(variants.len() >= 40, "{variants:?}");
    for variant in variants {
        let there =
            |k: &FindingKind| format!("{k:?}").split(|c: char| !c.is_alphanumeric()).next() == Some(&variant);
        assert!(samples.iter().any(there), "{variant}");
    }
}

#[test]
fn causes_carry_their_numbers() {
    use FindingKind as F;
    let c = Conventions::default();
    let at = |kind: F| say(&kind, Part::Cause, &c).replace('\u{a0}', " ");
    for (kind, want) in [
        (
            F::AnticoagulantHigh {
                ratio: ratio(2.0 / 9.0),
                high: ratio(0.2),
                container: Some(0),
                mark: None,
            },
            "Container 1 holds 22.2 mL of anticoagulant for 100 mL of blood; the range ends at 20.",
        ),
        (
            F::AnticoagulantLow { ratio: ratio(0.08), low: ratio(0.1), container: None },
            "The plan gives 8 mL of anticoagulant for 100 mL of blood; the range begins at 10.",
        ),
        (
            F::AnticoagulantFarLow { ratio: ratio(0.02), low: Some(ratio(0.1)), container: None },
            "The plan gives 2 mL of anticoagulant for 100 mL of blood, less than half of the 10 mL at which the range begins.",
        ),
        (
            F::AnticoagulantFarLow { ratio: ratio(0.0), low: None, container: None },
            "The plan gives no anticoagulant.",
        ),
        (
            F::AboveCapacity { fill: ml(18.0), capacity: ml(15.5), container: None },
            "A fill of 18 mL is more than the container can hold, 15.5 mL.",
        ),
        (
            F::FillOutsideRange { fill: ml(5.0), low: ml(8.0), high: ml(15.0) },
            "A fill of 5 mL is outside the 8 to 15 mL this container is used for.",
        ),
        (
            F::WeakSample(SampleKind::OlderResult, Some(45)),
            "The blood count is a weak one: result of an earlier day, 45 days old.",
        ),
        (
            F::WeakSample(SampleKind::OlderResult, None),
            "The blood count is a weak one: result of an earlier day.",
        ),
        (
            F::PlateletsLow(CellCount::new(92.0).unwrap()),
            "The blood’s count is 92 ×10⁹/L. Below 100 is listed as a caution.",
        ),
        (
            F::HaemoglobinLow(Haemoglobin::new(9.5).unwrap()),
            "Haemoglobin is 95 g/L. Below 100 is listed as a caution.",
        ),
        (
            F::LedgerShort { missing: ml(0.8) },
            "Sites, sample and losses together need 0.8 mL more than there is of the product.",
        ),
        (
            F::PartsDiffer { parts: ml(3.5), ordered: ml(3.0) },
            "The parts of the site come to 3.5 mL; the volume ordered is 3 mL.",
        ),
        (
            F::Beyond { counted: true, range: CellCount::new(150_000.0).unwrap_err() },
            "By the count, the cell count would be 150\u{202f}000 ×10⁹/L; it is reckoned up to 100\u{202f}000 ×10⁹/L only.",
        ),
        (F::PastUseBy(Instant(1_773_325_440_000)), "The use-by has passed: it was 14:24."),
        (
            F::GivenPastUseBy { at: Instant(1_773_326_400_000), by: Instant(1_773_325_440_000) },
            "The product was given at 14:40; its use-by was 14:24.",
        ),
        (
            F::GivenPastUseBy { at: Instant(1_773_411_840_000), by: Instant(1_773_325_440_000) },
            "The product was given at 13 Mar 2026, 14:24; its use-by was 12 Mar 2026, 14:24.",
        ),
        (
            F::UseByEarlier { was: Instant(1_773_326_400_000), now: Instant(1_773_325_440_000) },
            "The use-by was 14:40 and is now 14:24: a time was corrected after the product was collected.",
        ),
        (
            F::AboveCeiling { fold: Fold::new(8.2).unwrap(), ceiling: Fold::new(6.5).unwrap() },
            "The count makes 8.2 times the blood’s own; the volumes allow 6.5 at most.",
        ),
        (
            limit(LimitRule::Share, LimitLevel::Stop, 8.1, 7.5, "%"),
            "Today’s draw with its discards comes to 8.1 % of the estimated blood volume; the limit is 7.5.",
        ),
        (
            // Passed by a hair: the figure shown lies on its own side of the limit.
            limit(LimitRule::EightWeeksPerKg, LimitLevel::Stop, 7.001, 7.0, "mL/kg"),
            "In 8 weeks, today included, 7.001 mL/kg are drawn; the limit is 7.",
        ),
        (
            limit(LimitRule::HaemoglobinForPerKg, LimitLevel::Stop, 10.4, 11.0, "g/dL"),
            "Haemoglobin is 104 g/L; the limit for a draw of this size is 110.",
        ),
        (F::Trouble(TroubleKind::Clot, Some(1)), "A clot is seen in container 2."),
        (
            F::RunDiffers {
                stage: 2,
                what: RunDiffers::Time {
                    planned: Seconds::new(600.0).unwrap(),
                    ran: Seconds::new(300.0).unwrap(),
                },
            },
            "Stage 3 ran 5 min; planned were 10 min.",
        ),
        (
            F::RunDiffers {
                stage: 2,
                what: RunDiffers::Clock {
                    planned: Seconds::new(600.0).unwrap(),
                    left: Seconds::new(0.0).unwrap(),
                },
            },
            "From stage 3 on, the times entered leave 0 min for 10 min planned.",
        ),
        (
            F::Unread(Field::Weight),
            "What is typed at “Weight” cannot be read, or still asks which reading is meant.",
        ),
    ] {
        assert_eq!(at(kind), want);
    }
}

#[test]
fn numbers_follow_the_reader() {
    use crate::quantity::unit::{HaemoglobinUnit, NumberStyle};
    let c = Conventions {
        numbers: NumberStyle::Comma,
        haemoglobin: HaemoglobinUnit::GramPerDecilitre,
        ..Conventions::default()
    };
    let low = say(&FindingKind::HaemoglobinLow(Haemoglobin::new(9.5).unwrap()), Part::Cause, &c);
    assert_eq!(low.replace('\u{a0}', " "), "Haemoglobin is 9,5 g/dL. Below 10 is listed as a caution.");
    let citrate = say(&FindingKind::BandUnknown(Agent::SodiumCitrate38), Part::Cause, &c);
    assert!(citrate.contains("sodium citrate 3,8\u{a0}%"), "{citrate}");
}

#[test]
fn a_time_of_giving_that_a_tap_wrote_is_not_called_typed() {
    let at = Instant(1_773_326_400_000);
    let late = FindingKind::GivenPastUseBy { at, by: Instant(at.0 - 60_000) };
    let action = say(&late, Part::Action, &Conventions::default());
    assert!(action.starts_with("Look whether that time is right"), "{action}");
}

#[test]
fn causes_are_short_and_no_two_kinds_share_one() {
    let c = Conventions::default();
    let mut seen = BTreeMap::new();
    for kind in samples() {
        let cause = say(&kind, Part::Cause, &c);
        assert!((1..=2).contains(&sentences(&cause)), "{cause}");
        assert!(cause.chars().count() <= 140, "{} {cause}", cause.chars().count());
        let action = say(&kind, Part::Action, &c);
        let most = if matches!(kind, FindingKind::Trouble(..)) { 8 } else { 3 };
        assert!((1..=most).contains(&sentences(&action)), "{action}");
        if let Some(other) = seen.insert(cause.clone(), kind.name()) {
            assert_eq!(other, kind.name(), "{cause}");
        }
    }
}

fn sentences(text: &str) -> usize {
    text.split(". ").count()
}

#[test]
fn who_decides_is_said() {
    let c = Conventions::default();
    for kind in samples() {
        let action = say(&kind, Part::Action, &c);
        match kind.level() {
            // A Stop that the prescriber may lift names the prescriber.
            Level::StopClinician => assert!(action.contains("prescriber"), "{}: {action}", kind.key()),
            // A final Stop says what not to do, first.
            Level::StopFinal => assert!(action.starts_with("Do not "), "{}: {action}", kind.key()),
            Level::Note | Level::Caution => {}
        }
    }
}

#[test]
fn a_medicine_is_never_advised_upon() {
    let c = Conventions::default();
    for what in Screening::ALL {
        let action = say(&FindingKind::ScreeningYes(what), Part::Action, &c).to_lowercase();
        assert!(action.contains("ask the prescriber"), "{action}");
        for word in ["stop", "pause", "interrupt", "skip", "continue taking"] {
            assert!(!action.contains(word), "{action}");
        }
    }
    for kind in samples() {
        for part in [Part::Cause, Part::Action] {
            let text = say(&kind, part, &c).to_lowercase();
            for word in ["recommend", "advised dose", "should give", "optimal", "you should"] {
                assert!(!text.contains(word), "{text}");
            }
        }
    }
}

#[test]
fn every_trouble_says_its_four_things() {
    for kind in TroubleKind::ALL {
        let action = say(&FindingKind::Trouble(kind, None), Part::Action, &Conventions::default());
        for part in TroublePart::ALL {
            let one = TroubleWords { kind, part }.english();
            assert!(action.contains(one.as_ref()), "{one}");
        }
        let ask = TroubleWords { kind, part: TroublePart::Ask }.english();
        assert!(ask.contains("prescriber"), "{ask}");
        let record = TroubleWords { kind, part: TroublePart::Record }.english();
        assert!(record.contains("record"), "{record}");
    }
}

#[test]
fn a_button_says_what_it_waits_for() {
    use FindingKind as F;
    let none = BTreeMap::new();
    let open = |kinds: Vec<F>| {
        kinds.into_iter().map(|k| Finding::new(k, About::default(), &none)).collect::<Vec<_>>()
    };
    let line = |findings: &[Finding], step| {
        StillOpen { findings, step, check: None, needs: &[] }.english().into_owned()
    };
    let one = open(vec![F::IdentityUnchecked, F::ScreeningYes(Screening::AntiInflammatory), F::NoCount]);
    assert_eq!(line(&one, HeldStep::Needle), "still open: identity, 1 caution");
    let more = open(vec![
        F::Expired { of: LotOf::Containers, lot: String::new(), last: Date::new(2026, 2, 28).unwrap() },
        F::MoreThanOneContainer,
        F::ScreeningYes(Screening::Fainted),
        F::ClockWentBack,
    ]);
    assert_eq!(line(&more, HeldStep::Needle), "still open: container expired, 2 cautions");
    assert_eq!(line(&more, HeldStep::Spin), "still open: container expired, 3 cautions");
    assert_eq!(line(&open(vec![F::NoCount]), HeldStep::HandOver), "");
    let check = Some(crate::draft::CheckKind::Balance);
    let line_with =
        StillOpen { findings: &[], step: HeldStep::Spin, check, needs: &[] }.english().into_owned();
    assert_eq!(line_with, "still open: rotor balanced, lids closed");
    let needs = [Need::NeedleIn, Need::ProductKept];
    assert_eq!(
        StillOpen {
            findings: &open(vec![F::NotMixed]),
            step: HeldStep::HandOver,
            check: None,
            needs: &needs
        }
        .english(),
        "still open: sample not mixed, needle in, product kept"
    );
    // Seen and decided, it no longer waits.
    let said = |reason: &str| Decision::new("MO", reason, Instant(0));
    let decisions = BTreeMap::from([
        (F::IdentityUnchecked.key(), said("known to me")),
        (F::MoreThanOneContainer.key(), said("")),
    ]);
    let settled: Vec<_> = [F::IdentityUnchecked, F::MoreThanOneContainer]
        .map(|k| Finding::new(k, About::default(), &decisions))
        .into();
    assert_eq!(line(&settled, HeldStep::Needle), "");
}
