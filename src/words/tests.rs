//! What holds for every phrase that can be said.

use super::choice::*;
use super::field::{FieldUnit, Label, hint, unit};
use super::finding::{FindingWords, Part, Short, TroublePart, TroubleWords};
use super::source::SourceLine;
use super::step::AfterLead;
use super::times::{TimeName, TimeRefusal, TimesSays, TimesWord};
use super::unit::Day;
use super::*;
use crate::assess::Question;
use crate::bench::{Bottom, WhiteCells};
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{Missing, Sex};
use crate::draft::{
    AdditionChoice, CheckKind, CountStanding, Field, Screening, Side, Stage, TimeOf, TimeRefused,
    TroubleKind, WhiteCellOrder,
};
use crate::evidence::{SourceId, Standing};
use crate::finding::{HeldStep, Level};
use crate::product::kind::ProductKind;
use crate::quantity::time::{Date, Offset};
use crate::quantity::unit::{
    Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
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
    for question in [
        Question::Identifiers,
        Question::Site,
        Question::Side,
        Question::Volume,
        Question::WhiteCells,
        Question::Amount,
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
    for why in [TimeRefused::NotATime, TimeRefused::Ahead, TimeRefused::Same] {
        said(&mut all, true, &TimeRefusal(why));
    }
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
