//! What holds for every phrase that can be said.

use super::choice::*;
use super::field::{FieldUnit, Label, hint, unit};
use super::finding::{FindingWords, Part, Short, TroublePart, TroubleWords};
use super::scan::{CameraSays, CameraWord, CodeRefused, FromCode};
use super::source::SourceLine;
use super::step::AfterLead;
use super::times::{TimeName, TimeRefusal, TimesSays, TimesWord};
use super::unit::Day;
use super::*;
use crate::assess::Question;
use crate::bench::{Bottom, Separates, WhiteCells};
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{Missing, Sex};
use crate::draft::{
    AdditionChoice, CheckKind, CountStanding, Field, ProductTube, SampleDilution, Screening, Side, Stage,
    TimeOf, TimeRefused, TroubleKind, WhiteCellOrder,
};
use crate::evidence::{SourceId, Standing};
use crate::finding::{HeldStep, Level};
use crate::product::kind::ProductKind;
use crate::quantity::time::{Date, Instant, Offset};
use crate::quantity::unit::{
    Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
use crate::scan::{Elements, ScanError};
use crate::spin::programme::Rating;
use crate::spin::rcf::RadiusKind;
use crate::spin::rotor::RotorKind;

struct Said {
    english: String,
    pseudo: String,
    /// Must be whole sentences.
    sentence: bool,
}

fn said(all: &mut Vec<Said>, sentence: bool, phrase: &dyn Phrase) {
    struct Borrowed<'a>(&'a dyn Phrase);
    impl Phrase for Borrowed<'_> {
        fn english(&self) -> Cow<'static, str> {
            self.0.english()
        }
    }
    let english = Language::English.say(Borrowed(phrase)).into_owned();
    let pseudo = Language::Pseudo.say(Borrowed(phrase)).into_owned();
    all.push(Said { english, pseudo, sentence });
}

/// Every phrase of the core, numbers as a point reader and a comma reader see them.
fn everything() -> Vec<Said> {
    let mut all = Vec::new();
    macro_rules! names {
        ($($wrap:path: $($value:expr),+;)*) => { $($(said(&mut all, false, &$wrap($value));)+)* };
    }
    names! {
        SideName: Side::Left, Side::Right, Side::NoSide;
        SideMark: Side::Left, Side::Right;
        WhiteCellOrderName: WhiteCellOrder::Wanted, WhiteCellOrder::NotWanted;
        ProductTubeName: ProductTube::Plain, ProductTube::LiquidCitrate;
        CellsDilutionName: SampleDilution::Undiluted, SampleDilution::Diluted;
        CountStandingName: CountStanding::Today, CountStanding::Older, CountStanding::NoCount;
        SexName: Sex::Female, Sex::Male;
        SampleName: SampleKind::LaboratoryEdta, SampleKind::FilledContainer, SampleKind::LiquidCitrate,
            SampleKind::FingerPrick, SampleKind::OlderResult;
        ConventionName: VolumeConvention::FillMark, VolumeConvention::AddedBlood;
        ConventionAfterVolume: VolumeConvention::FillMark, VolumeConvention::AddedBlood;
        ProductKindName: ProductKind::OffTheTop, ProductKind::Concentrate, ProductKind::WithCells;
        WhiteCellsName: WhiteCells::LeftBehind, WhiteCells::Kept, WhiteCells::Unknown;
        CheckName: CheckKind::Identity, CheckKind::IdentityDiffers, CheckKind::Anticoagulant,
            CheckKind::AnticoagulantSound, CheckKind::AnticoagulantUnsound, CheckKind::ContainersSound,
            CheckKind::ContainersUnsound, CheckKind::Balance, CheckKind::HandOver;
        RadiusName: RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum;
        RadiusShort: RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum;
        RotorKindName: RotorKind::SwingOut, RotorKind::FixedAngle;
        RatingName: Rating::RotorSpeed, Rating::Bucket, Rating::Container;
        SeparatesName: Separates::Open, Separates::Gel, Separates::Float, Separates::Chamber;
        BottomName: Bottom::Round, Bottom::Conical, Bottom::Flat;
        MissingName: Missing::Weight, Missing::Height, Missing::Sex, Missing::Age, Missing::Haemoglobin,
            Missing::FirstDraw;
    }
    for what in Screening::ALL {
        said(&mut all, false, &ScreeningQuestion(what));
        said(&mut all, false, &ScreeningStatement(what));
    }
    for kind in TroubleKind::ALL {
        said(&mut all, false, &TroubleName(kind));
        for part in TroublePart::ALL {
            said(&mut all, true, &TroubleWords { kind, part });
        }
    }
    for what in AdditionChoice::ALL {
        said(&mut all, false, &AdditionName(what));
    }
    published(&mut all);
    let ai = || "17".to_owned();
    for refused in [
        ScanError::OtherSymbol,
        ScanError::Behind,
        ScanError::NoIdentifier,
        ScanError::Short { ai: ai() },
        ScanError::Long { ai: ai() },
        ScanError::Character { ai: ai() },
        ScanError::CheckDigit,
        ScanError::NoDate { ai: ai() },
        ScanError::Twice { ai: ai() },
        ScanError::Unseparated { ai: ai() },
        ScanError::Nothing,
        ScanError::ProductAlone,
        ScanError::Link,
    ] {
        said(&mut all, true, &CodeRefused(&refused));
    }
    said(&mut all, true, &FromCode(&Elements::default()));
    for question in [
        Question::Identifiers,
        Question::Site,
        Question::Side,
        Question::Volume,
        Question::WhiteCells,
        Question::Amount,
        Question::SecondNumber,
        Question::Prescriber,
    ] {
        said(&mut all, false, &question);
    }
    for agent in Agent::ALL {
        said(&mut all, false, &AgentName(agent, NumberStyle::Point));
    }
    for what in [
        TimeOf::NeedleIn,
        TimeOf::NeedleOut,
        TimeOf::Stage(1),
        TimeOf::SpinEnd,
        TimeOf::Collected,
        TimeOf::Counted,
        TimeOf::HandedOver,
    ] {
        said(&mut all, false, &TimeName(what));
    }
    for why in [TimeRefused::NotATime, TimeRefused::Ahead, TimeRefused::Same, TimeRefused::Crosses] {
        said(&mut all, true, &TimeRefusal(why));
    }
    CameraWord::ALL.iter().for_each(|w| said(&mut all, false, w));
    CameraSays::ALL.iter().for_each(|w| said(&mut all, true, w));
    TimesWord::ALL.iter().for_each(|w| said(&mut all, false, w));
    TimesSays::ALL.iter().for_each(|w| said(&mut all, true, w));
    for stage in Stage::ALL {
        said(&mut all, false, &stage);
    }
    for step in [HeldStep::Needle, HeldStep::Spin, HeldStep::HandOver] {
        said(&mut all, false, &step);
    }
    for level in [Level::Note, Level::Caution, Level::StopClinician, Level::StopFinal] {
        said(&mut all, false, &level);
    }
    for &after in AfterLead::ALL {
        said(&mut all, false, &after);
    }
    for standing in [
        Standing::Read,
        Standing::ReadSecondHand,
        Standing::FromMemory,
        Standing::CommonPractice,
        Standing::Judgement,
        Standing::Arithmetic,
    ] {
        said(&mut all, false, &standing);
    }
    for &id in SourceId::ALL {
        said(&mut all, true, &SourceLine(id));
    }
    for field in Field::all() {
        said(&mut all, false, &Label(field));
        if let Some(hint) = hint(field) {
            said(&mut all, false, &hint);
        }
        if let Some(unit @ (FieldUnit::Years | FieldUnit::Days)) = unit(field, &Conventions::default()) {
            said(&mut all, false, &unit);
        }
    }
    said(&mut all, false, &FieldUnit::FeetInches);
    said(&mut all, false, &Day(Date::new(2026, 3, 12).unwrap()));
    quality_says(&mut all);
    plan_says(&mut all);
    set_out_says(&mut all);
    log_says(&mut all);
    blood_before_says(&mut all);
    lock_says(&mut all);
    CountUnit::ALL.iter().for_each(|u| said(&mut all, false, u));
    HaematocritUnit::ALL.iter().for_each(|u| said(&mut all, false, u));
    HaemoglobinUnit::ALL.iter().for_each(|u| said(&mut all, false, u));
    MassUnit::ALL.iter().for_each(|u| said(&mut all, false, u));
    HeightUnit::ALL.iter().for_each(|u| said(&mut all, false, u));
    for numbers in [NumberStyle::Point, NumberStyle::Comma] {
        said(&mut all, false, &numbers);
        let conventions = Conventions { numbers, ..Conventions::default() };
        for kind in &finding::tests::samples() {
            said(&mut all, false, &Short(kind));
            for part in [Part::Cause, Part::Action] {
                said(
                    &mut all,
                    true,
                    &FindingWords { kind, part, conventions: &conventions, offset: Offset::UTC },
                );
            }
        }
    }
    all
}

/// What others have published, and what is said of a count.
fn published(all: &mut Vec<Said>) {
    use crate::product::classification::{Activator, Family, Inputs, Needed, PartOf, classify};
    use crate::product::literature::{REPORTS, Side as Of};
    use crate::words::classification::{Classes, OutcomeWords};
    use crate::words::counting::{Counting, LinearWords};
    use crate::words::literature::{Literature, ReportWords};
    let c = Conventions::default();
    for report in REPORTS {
        said(all, true, &ReportWords(report, &c));
    }
    for side in [Of::Reported, Of::Null] {
        said(all, false, &side);
    }
    said(all, true, &Literature::Describes);
    said(all, true, &Literature::Confounded);
    said(all, true, &Classes::About);
    said(all, true, &Classes::NotCounted);
    for words in Counting::ALL {
        said(all, false, words);
    }
    use crate::product::recipe::Linear as L;
    for linear in [L::NotKnown, L::Inside, L::PartlyAbove, L::PartlyBelow, L::Above, L::Below] {
        said(all, true, &LinearWords(linear, None));
    }
    for classified in classify(&Inputs::default()) {
        for part in &classified.parts {
            said(all, false, &part.of);
            said(all, false, &OutcomeWords(&part.outcome, &c));
        }
    }
    for family in [Family::Paw, Family::DohanEhrenfest] {
        said(all, false, &family);
    }
    for part in [PartOf::WhiteShare, PartOf::Purity] {
        said(all, false, &part);
    }
    for needed in [Needed::Protocol, Needed::WhatIsAdded] {
        said(all, false, &needed);
    }
    said(all, false, &Activator::AutologousThrombin);
}

/// What is said of blood drawn before.
fn blood_before_says(all: &mut Vec<Said>) {
    use super::order::{BloodBeforeLine, EnterSum};
    let sum = "26\u{a0}mL".to_owned();
    for known in [Some(sum.clone()), None] {
        let draw = |planned| known.clone().map(|v| (v, planned));
        let days = ["2 Oct 2026", "9 Oct 2026", "5 Nov 2026"].map(str::to_owned);
        let draws = days.into_iter().zip([draw(false), draw(true), None]).collect();
        let reference = "HL-0417".into();
        said(all, true, &BloodBeforeLine { reference, draws, sum: known.clone(), whole: false });
    }
    said(all, false, &EnterSum(sum));
    let sure = super::records::DiscardSure {
        sign: crate::draft::CheckSign::pick(0, &[]),
        now: &crate::assess::spin::Happening::SpinOver,
    };
    said(all, true, &sure);
    let sign = crate::draft::CheckSign::pick(0, &[]);
    said(all, true, &super::order::TakenOverLine { sign, day: "2 Oct 2026".to_owned() });
    for same_protocol in [true, false] {
        let (day, recovery) = ("2 Oct 2026".to_owned(), "0.69".to_owned());
        let sign = crate::draft::CheckSign::pick(0, &[]);
        said(all, true, &super::plan::SessionLine { sign, number: (1, 3), day, recovery, same_protocol });
    }
}

/// The list of what to lay out.
fn set_out_says(all: &mut Vec<Said>) {
    use super::set_out::{SetOutLine as L, SetOutSays, SetOutWord};
    SetOutWord::ALL.iter().for_each(|word| said(all, false, word));
    SetOutSays::ALL.iter().for_each(|says| said(all, true, says));
    let of = || "2\u{a0}mL".to_owned();
    for line in [
        L::Containers(1, of()),
        L::Containers(2, of()),
        L::Prefilled("ACD-A".into(), of()),
        L::Agent { name: "ACD-A".into(), all: Some(of()), each: of(), step: of() },
        L::Agent { name: "ACD-A".into(), all: None, each: of(), step: of() },
        L::Discard(of()),
        L::Syringes(Vec::new()),
        L::Syringes(vec![of()]),
        L::Syringes(vec![of(), of()]),
        L::Sample(of()),
        L::Added(of()),
        L::Labels(2, 0, "7K".into()),
        L::Labels(2, 3, "7K".into()),
    ] {
        said(all, false, &line);
    }
}

/// What is said of log, day and what was thrown away.
fn log_says(all: &mut Vec<Said>) {
    use super::log::LogWord;
    use crate::draft::{DiscardKind, DiscardRefused as D};
    use crate::log::typed::NotRead as N;
    use crate::log::{CareKind, Checked, Good, Refused as R};
    // Labels and sentences stand in one table.
    use crate::record::archive::unsaid::Unsaid;
    for became in
        [Unsaid::Removed { texts: 1, left: 0 }, Unsaid::Removed { texts: 4, left: 1 }, Unsaid::Changed]
    {
        said(all, true, &super::log::UnsaidLine(Ok(became)));
    }
    said(all, true, &super::log::UnsaidLine(Err(crate::record::store::StoreError::Shut)));
    LogWord::ALL.iter().for_each(|word| said(all, word.english().ends_with('.'), word));
    Checked::ALL.iter().for_each(|of| said(all, false, of));
    [CareKind::Cleaning, CareKind::Spill].iter().for_each(|kind| said(all, false, kind));
    Good::ALL.iter().for_each(|of| said(all, false, of));
    DiscardKind::ALL.iter().for_each(|kind| said(all, false, kind));
    for why in [D::NoName, D::NoReason, D::NoCount, D::NoVolume, D::NoWhat, D::NoLot] {
        said(all, true, &why);
    }
    for why in [N::Day, N::DayAsked, N::Time, N::Product, N::Months, N::NotChosen] {
        said(all, true, &why);
    }
    use crate::draft::NotOffered as O;
    let (of, name, lot) = (Good::Containers, String::new(), "K-0058".to_owned());
    let entry =
        crate::log::LotEntry { of, name, lot, product_is: None, expiry: None, product: None, opened: None };
    for not in [
        O::Expired,
        O::OtherProduct,
        O::ProductNotSaid,
        O::CaseOpen,
        O::InContainer,
        O::OtherNumber,
        O::NoExpiry,
    ] {
        let offer = super::log::LotOffer { lot: &entry, not: Some(not), numbers: NumberStyle::Point };
        said(all, true, &offer);
    }
    for why in [
        R::NoName,
        R::NoReason,
        R::NoEquipmentName,
        R::NothingDone,
        R::NoLot,
        R::NoAdditionName,
        R::NotThere,
        R::OtherKind,
        R::DueBefore,
        R::Ahead,
        R::Interval,
        R::Listed,
    ] {
        said(all, true, &why);
    }
}

/// What is said of the lock.
fn lock_says(all: &mut Vec<Said>) {
    use super::banner::{Banner, Shelf};
    use super::closed::{ClosedFault, ClosedSays, ClosedWord, LockAfter, NotDone, RecoveryPrinted};
    use crate::record::closed::ClosedError as E;
    use crate::record::store::StoreError;
    ClosedWord::ALL.iter().for_each(|word| said(all, false, word));
    ClosedSays::ALL.iter().for_each(|says| said(all, true, says));
    let day = super::unit::date(Instant(1_795_597_200_000), Offset::UTC).unwrap();
    said(all, true, &RecoveryPrinted(day));
    for error in [
        E::TooShort,
        E::Wrong,
        E::NotARecoveryKey,
        E::NoChance,
        E::Damaged,
        E::NoMemory,
        E::Elsewhere,
        E::NotKept,
        E::Foreign,
    ] {
        said(all, true, &ClosedFault(error));
    }
    said(all, true, &NotDone(&StoreError::Shut));
    said(all, true, &Banner::NotClosed(None));
    said(all, true, &Banner::NotClosed(Some(StoreError::Full)));
    for shelf in [Shelf::Bench, Shelf::Settings, Shelf::Decisions] {
        said(all, true, &Banner::ShelfNewer(shelf));
    }
    for minutes in [0, 10] {
        said(all, false, &LockAfter(minutes));
    }
}

/// What is said of doubt and plan.
fn plan_says(all: &mut Vec<Said>) {
    use super::plan::{AllAtOnce, HowLikely, Narrows, PlanLine as L, PlanSays, PlanWord, VerdictWords};
    use super::unit::{FromTo, Written};
    use crate::assess::Unplanned as U;
    use crate::product::doubt::Unknown;
    use crate::product::order::{Likelihood, OrderedAmount};
    use crate::product::plan::{Limit, Verdict, Why};
    PlanWord::ALL.iter().for_each(|word| said(all, false, word));
    PlanSays::ALL.iter().for_each(|says| said(all, true, says));
    let ml = |number: &str| Written { number: number.to_owned(), unit: "mL" };
    let from_to = |low: &str, high: &str| FromTo(ml(low), ml(high));
    for unknown in [Unknown::NoCount, Unknown::BloodCount, Unknown::Method, Unknown::ProductVolume] {
        said(all, false, &unknown);
        said(all, true, &Narrows(unknown, from_to("2.8", "6"), from_to("3", "4.6")));
    }
    let likelihoods = (0..=10).map(Likelihood::OutOfTen).chain([
        Likelihood::VeryUnlikely,
        Likelihood::Unlikely,
        Likelihood::AsLikelyAsNot,
        Likelihood::Likely,
        Likelihood::VeryLikely,
    ]);
    for likely in likelihoods {
        said(all, false, &likely);
        said(all, false, &HowLikely(likely));
        said(all, true, &AllAtOnce(likely));
        for verdict in [Verdict::Met, Verdict::OnlyAtTheMiddle, Verdict::CannotMeet] {
            said(all, true, &VerdictWords(verdict, Some(likely)));
        }
        said(all, true, &L::FiveMore(ml("41.6"), Some(from_to("3", "4.6")), likely));
    }
    said(all, true, &VerdictWords(Verdict::Met, None));
    for why in [
        U::NoAmount,
        U::NeedleIn,
        U::Unread(Field::Weight),
        U::UpsideDown,
        U::NoContainer,
        U::NoProtocol,
        U::NoExpectation,
        U::WhiteCells,
        U::Anticoagulant,
        U::NothingToGive,
        U::SecondNumber,
        U::PartsDiffer,
    ] {
        said(all, true, &why);
    }
    for why in [
        Why::Least,
        Why::Surest,
        Why::Fuller,
        Why::LessBloodInMore,
        Why::MoreProduct,
        Why::OnlyAtTheMiddle,
        Why::OtherContainer,
    ] {
        said(all, false, &why);
    }
    let c = Conventions::default();
    let both = || Some((from_to("2.8", "6"), from_to("3", "4.6")));
    for line in [
        L::Way(2, Some((ml("2"), "ACD-A".to_owned())), ml("15"), ml("26"), ml("4"), ml("0.5")),
        L::CountNow(ml("236"), true, both()),
        L::CountNow(ml("210"), false, both()),
        L::CountedWay(ml("26"), Some(ml("39"))),
        L::CountedWay(ml("26"), None),
        L::From("from literature".to_owned()),
        L::Reachable(OrderedAmount::Platelets, 2.2, c),
        L::Picture(ml("4"), ml("26"), from_to("3", "4.6"), Some("5".to_owned()), Some(ml("100"))),
    ] {
        said(all, true, &line);
    }
    use Limit as Is;
    for limit in [Is::Containers, Is::Blood(None), Is::ProductVolume, Is::ProductKept, Is::Count, Is::Method]
    {
        said(all, false, &limit);
        said(all, true, &L::Binds(limit));
    }
}

/// What is said of a clinic's counts.
fn quality_says(all: &mut Vec<Said>) {
    use super::quality::{ExcludedWords, InControlWords, NextWords, QualitySays};
    use crate::quality::chart::IN_CONTROL;
    use crate::quality::decided::Refused;
    use crate::quality::group::{GroupBy, LotField};
    use crate::quality::learn::Prior;
    use crate::quality::line::Covariate;
    use crate::quality::rules::{Rule, Side, Signal};
    use crate::quality::{Excluded, Ground};
    for ground in [
        Ground::Literature,
        Ground::ClinicEntry,
        Ground::Counts { n: 1 },
        Ground::Counts { n: 12 },
        Ground::LiteratureAndCounts { n: 1 },
        Ground::EntryAndCounts { n: 9 },
        Ground::Nothing { wanted: 1 },
        Ground::Nothing { wanted: 3 },
    ] {
        said(all, false, &ground);
    }
    let by_hand = Excluded::ByHand {
        by: "MO".to_owned(),
        at: Instant(1_795_597_200_000),
        why: "clotted tube.".to_owned(),
    };
    assert_eq!(
        ExcludedWords(&by_hand, Offset::UTC).english(),
        "Left out by MO on 25\u{a0}Nov\u{a0}2026: clotted tube."
    );
    for why in [
        Excluded::Demo,
        Excluded::ChangedOutside,
        Excluded::Rebuilt,
        Excluded::NotMixed,
        Excluded::MixingUnsaid,
        Excluded::Clumps,
        Excluded::SampleUnknown,
        Excluded::OlderBlood,
        Excluded::DilutionUnknown,
        Excluded::TubeUnsaid,
        Excluded::NotLinear,
        Excluded::NoProductCount,
        Excluded::NoProtocol,
        Excluded::NoBaseline,
        Excluded::NoBlood,
        Excluded::NoVolume,
        Excluded::NoPlatelets,
        Excluded::OtherKind,
        by_hand,
    ] {
        said(all, true, &ExcludedWords(&why, Offset::UTC));
    }
    for refused in [
        Refused::NoName,
        Refused::NoReason,
        Refused::Stands,
        Refused::NothingStands,
        Refused::NotComplete,
        Refused::UpsideDown,
        Refused::NoPeriod,
        Refused::NoPeriodName,
        Refused::TooFew { n: 1 },
        Refused::TooFew { n: 19 },
    ] {
        said(all, true, &refused);
    }
    for rule in Rule::ALL {
        said(all, false, &rule);
        for side in [Side::High, Side::Low, Side::Spread] {
            let signal = Signal { rule, side };
            said(all, true, &signal);
            signal.to_check().iter().for_each(|check| said(all, false, check));
        }
    }
    GroupBy::ALL.iter().for_each(|by| said(all, false, by));
    LotField::ALL.iter().for_each(|field| said(all, false, field));
    Covariate::ALL.iter().for_each(|covariate| said(all, false, covariate));
    QualitySays::ALL.iter().for_each(|says| said(all, true, says));
    chart_says(all);
    out_says(all);
    let next = Prior::of_moments(0.7, 0.12, 0.0018).and_then(|p| p.next()).unwrap();
    for style in [NumberStyle::Point, NumberStyle::Comma] {
        said(all, true, &InControlWords(IN_CONTROL, style));
        said(all, true, &NextWords(next, style));
    }
}

/// What leaves the page, and what comes back.
fn out_says(all: &mut Vec<Said>) {
    use super::out::{FhirWord as F, OutSays, OutWord};
    use crate::bench::chart::ChartPart;
    use crate::record::Reason;
    use crate::record::archive::backup::{Item, Outcome as O, What as W};
    OutWord::ALL.iter().for_each(|word| said(all, false, word));
    OutSays::ALL.iter().for_each(|says| said(all, true, says));
    ChartPart::ALL.iter().for_each(|part| said(all, false, part));
    for n in 0..3 {
        said(all, true, &super::out::LastBackup(None, n));
        said(all, true, &super::out::LastBackup(Some("12 Mar 2026".to_owned()), n));
    }
    let on = crate::quantity::time::Date::new(2026, 3, 12).unwrap();
    for what in crate::log::Checked::ALL {
        for failed in [true, false] {
            said(all, false, &F::CheckedOn { what, on, failed });
        }
    }
    for word in [F::Centrifuge, F::DiscardedContainer, F::Added, F::Lot] {
        said(all, false, &word);
    }
    for word in [F::Blood, F::Product, F::InProduct, F::Drawn, F::Program { app: "1.2.3", model: 4 }] {
        said(all, false, &word);
    }
    let sign = crate::draft::CheckSign::pick(0, &[]);
    for what in [W::Record(sign), W::OpenCase(sign), W::DiscardedCase(sign), W::Bench, W::Decisions] {
        for outcome in [
            O::Added,
            O::Amended(1),
            O::Amended(2),
            O::Same,
            O::Older,
            O::Differs,
            O::Discarded,
            O::Merged(1),
        ] {
            said(all, true, &Item { what: what.clone(), outcome });
        }
    }
    for outcome in [
        O::Merged(2),
        O::PutAside,
        O::BenchDiffers,
        O::Unreadable(Reason::Missing),
        O::Unreadable(Reason::PutAside),
        O::NotKept,
        O::NotKnown,
    ] {
        said(all, true, &Item { what: W::Bench, outcome });
    }
}

/// What the page says of them.
fn chart_says(all: &mut Vec<Said>) {
    use super::charts::{ChartLine as L, ChartSays, ChartWord, StableName};
    use crate::quality::OwnStands;
    ChartWord::ALL.iter().for_each(|word| said(all, false, word));
    ChartSays::ALL.iter().for_each(|says| said(all, true, says));
    let s = |text: &str| text.to_owned();
    let three = || [s("0.52"), s("0.7"), s("0.94")];
    for kind in [ProductKind::OffTheTop, ProductKind::Concentrate, ProductKind::WithCells] {
        said(all, false, &StableName(kind));
        said(all, false, &L::Title(kind, s("double-spin tube method")));
        said(all, true, &L::Counts(kind, 1, s("2 Mar 2026"), s("9 Mar 2026")));
        said(all, false, &L::Point(26, s("9 Mar 2026"), kind, s("0.5")));
        said(all, false, &L::RestsOn(kind, s("from literature")));
    }
    for line in [
        L::Expected(s("0.7"), s("0.55"), s("0.85"), s("from literature")),
        L::White(s("1.8"), s("1.2"), s("2.7")),
        L::FirstTwenty(20, s("2 Mar 2026"), s("9 Mar 2026"), three()),
        L::Period(s("spring"), 24, three(), s("MO")),
        L::ToGo(1),
        L::OwnNow(OwnStands::Holds { kept: 9, of: 10 }),
        L::OwnNow(OwnStands::OtherKind),
        L::OwnNow(OwnStands::TooFew { kept: 2, of: 10 }),
        L::MayHaveUsed(1),
        L::MayHaveUsed(4),
        L::ContainerFew(9),
        L::ContainerOwn(12),
        L::PeriodShort(s("spring"), 19),
        L::ToGo(12),
        L::Picture(60, 0),
        L::Picture(60, 1),
        L::Picture(60, 4),
        L::AgainstPicture(s("Haematocrit of the blood"), 60),
        L::MoreSignals(3),
        L::Proportion(s("0.9"), s("0.7"), s("1.1")),
        L::Wanted(1),
        L::Wanted(6),
        L::Own(s("MO"), s("9 Mar 2026")),
        L::Used(1),
        L::Used(3),
    ] {
        said(all, true, &line);
    }
    for line in [
        L::Invented(60),
        L::Progress(4, 10),
        L::ReportOf(s("double-spin tube method")),
        L::From(s("containers"), s("K-0058")),
    ] {
        said(all, false, &line);
    }
}

/// A number that ends in a zero after its decimal mark.
fn trailing_zero(text: &str) -> bool {
    let marks = text.char_indices().filter(|(_, c)| matches!(c, '.' | ','));
    marks.into_iter().any(|(at, c)| {
        let before = text[..at].chars().next_back().is_some_and(|c| c.is_ascii_digit());
        let digits: String = text[at + c.len_utf8()..].chars().take_while(char::is_ascii_digit).collect();
        before && digits.ends_with('0')
    })
}

#[test]
fn phrases_keep_the_house_rules() {
    let all = everything();
    assert!(all.len() > 500, "{}", all.len());
    for Said { english, sentence, .. } in &all {
        assert!(!english.is_empty());
        assert_eq!(english.trim(), english);
        assert!(!english.to_lowercase().contains("billion"), "{english}");
        assert!(!english.contains(['"', '\t', '\n']) && !english.contains("  "), "{english}");
        assert!(!english.contains("{}"), "{english}");
        if *sentence {
            assert!(english.ends_with(['.', '?']), "{english}");
            assert!(english.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit()), "{english}");
        } else {
            assert!(!english.ends_with('.') || english == "Stop. Do not go on.", "{english}");
        }
    }
}

#[test]
fn numbers_in_phrases_keep_the_house_rules() {
    for spoilt in ["4.0 mL", "4,50", "a 0.10"] {
        assert!(trailing_zero(spoilt), "{spoilt}");
    }
    for fine in ["4 mL", "10", "0.05", "on 4. 0 left", "10,5"] {
        assert!(!trailing_zero(fine), "{fine}");
    }
    // Citations keep the numbers as their authors print them.
    let citations: Vec<String> =
        SourceId::ALL.iter().map(|&id| SourceLine(id).english().into_owned()).collect();
    for Said { english, .. } in everything().iter().filter(|s| !citations.contains(&s.english)) {
        assert!(!trailing_zero(english), "{english}");
        // A number is joined to its unit by a space that does not break.
        for unit in ["mL", "×10⁹", "g/L", "g/dL", "×g", "rpm", "%", "kg", "mmol/L", "mL/kg"] {
            for (at, _) in english.match_indices(&format!(" {unit}")) {
                let before = english[..at].chars().next_back();
                assert!(!before.is_some_and(|c| c.is_ascii_digit()), "{english}");
            }
        }
    }
}

#[test]
fn the_pseudo_language_differs_everywhere() {
    for Said { english, pseudo, .. } in everything() {
        assert_ne!(english, pseudo);
        assert!(pseudo.starts_with('⟦') && pseudo.ends_with('⟧'), "{pseudo}");
    }
}
