//! Words of the spin: rotor, programme, what runs, what is due.

use super::Phrase;
use super::bench::BenchWord;
use super::choice::{RadiusName, RadiusShort, RatingName, SpinStageName};
use super::unit;
use crate::assess::spin::Happening;
use crate::quantity::unit::{Conventions, NumberStyle};
use crate::quantity::write;
use crate::spin::SpinError;
use crate::spin::programme::{PlannedTime, Programme, RatingBreach, Speed, Stage};
use crate::spin::transfer::NotCarried;
use std::borrow::Cow;

crate::phrases! {
    /// Names and buttons of the spin.
    SpinLabel {
        Heading => "Spin",
        NoRadius => "no radius on record",
        Programme => "Programme",
        Ratings => "Ratings, at the maximum radius",
        RatedRotor => "Rotor, speed",
        RatedBucket => "Bucket, force",
        RatedContainer => "Container, force",
        NotOnRecord => "not on record",
        Ran => "What really ran, and how it was set",
        NotNoted => "not noted",
        RanShort => "ran",
        Begun => "begun",
        TakeBack => "Take back",
        Ended => "Spin ended",
        RunAgain => "Run this stage again",
        EndedSo => "Spin ended where it stopped",
        EndLeftOut => "Enter when the spin ended",
        BloodCount => "Blood count",
        CountNow => "Enter a count that has come",
        ToProduct => "Go to Product",
        NeedleInFirst => "Enter first when the needle went in",
        NeedleOutFirst => "Enter first that the needle is out",
        Next => "Next",
        SpinBy => "Spin by",
        UseBy => "Use by",
        Due => "due",
        Open => "until done",
    }
}

crate::phrases! {
    /// The programme on another rotor.
    OtherRotor {
        Title => "On another rotor",
        Which => "Rotor",
        None => "Choose another rotor of the Bench",
        Force => "Same force",
        Speed => "Speed, rpm",
        Factors => "Clearing factor, S·h: here, there",
        Clearing => "Time for the same clearing, min",
        Pictured => "The picture of the spin, below, draws the same case on it beside this one.",
        Unchecked => "a rating on record cannot be held against it",
        ForceHolds => "The same force at the same named radius is a start for a first spin, and no more: nothing is validated for it. The height of the column and the haematocrit decide as much. Check with counts before relying on it.",
        ClearingHolds => "The same clearing holds for what is dilute and goes to the bottom of a tube that swings out, as in a second spin: as long as it takes the same cell from the surface to the bottom. It does not hold for a first spin, where cells hinder one another. The way is from the surface of the fluid, as it stands in the picture of the spin in a tube like the first, to the bottom of the tube: measured otherwise, or in another tube, the time is another.",
        FixedAngle => "at a fixed angle nothing follows, neither force nor clearing: the cells’ way is across the tube",
        Limits => "Speeds are held against the ratings on record of the other rotor, its buckets and the case’s container; where none is on record, none is checked. Instructions of rotor, bucket and container hold there as here.",
    }
}

/// Why a stage is not carried over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotCarriedWords<'a>(pub &'a NotCarried);

impl Phrase for NotCarriedWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.0 {
            NotCarried::FixedAngle => OtherRotor::FixedAngle.english(),
            NotCarried::FirstSpin => Cow::Borrowed("does not hold for a first spin"),
            NotCarried::HeightUnknown => Cow::Borrowed(
                "how high the fluid stands in this spin is not known, and without it no time follows",
            ),
            NotCarried::NoRoom(rotor) => {
                Cow::Owned(format!("{rotor}: no room for so high a column of fluid"))
            }
            NotCarried::Spin(SpinError::RadiusMissing { kind, rotor }) => Cow::Owned(format!(
                "{rotor}: no {} on record; without it, nothing can be carried over",
                RadiusName(*kind).english()
            )),
            NotCarried::Spin(SpinError::RadiiReversed { rotor }) => {
                Cow::Owned(format!("{rotor}: its minimum radius is not below its maximum"))
            }
            NotCarried::Spin(SpinError::OutOfRange(_)) => Cow::Borrowed("outside what a rotor can run"),
        }
    }
}

/// How high the fluid of a stage stands, by which its clearing is reckoned, and of which rotors, of this case and the
/// other, the minimum radius on record says otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FluidStands<'a> {
    /// Number of the stage, from 0.
    pub index: u8,
    /// Height above the bottom [mm] as it is written, with its band once that is worked out.
    pub height: &'a str,
    /// Number from 0 of the container it stands in, where they are not filled alike: the fullest.
    pub container: Option<u8>,
    /// Names of the rotors.
    pub rotors: [&'a str; 2],
    /// Whether the fluid stands nearer to the axis.
    pub above_minimum: [bool; 2],
}

impl Phrase for FluidStands<'_> {
    fn english(&self) -> Cow<'static, str> {
        let height = write::with_unit(self.height, "mm");
        let stage = u32::from(self.index).saturating_add(1);
        let mut said = format!("Stage {stage}: the fluid stands {height} high, as pictured");
        if let Some(container) = self.container {
            said.push_str(&format!(" of container {}, the fullest", u32::from(container).saturating_add(1)));
        }
        said.push('.');
        for (rotor, _) in self.rotors.iter().zip(self.above_minimum).filter(|(_, above)| *above) {
            said.push_str(&format!(
                " On {rotor} that is nearer to the axis than the minimum radius on record: one of the two is wrong, or the tube is another."
            ));
        }
        Cow::Owned(said)
    }
}

/// A speed on another rotor that passes a rating there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverThere<'a>(pub &'a RatingBreach, pub NumberStyle);

impl Phrase for OverThere<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Self(breach, style) = *self;
        let (value, limit) = unit::apart(breach.value.value, breach.limit.value, 0, style);
        Cow::Owned(format!(
            "not to be run: it would take {} to {}; its limit is {limit}",
            RatingName(breach.rating).english(),
            write::with_unit(&value, breach.value.unit),
        ))
    }
}

crate::phrases! {
    /// Sentences of the spin.
    SpinSentence {
        NoProgramme => "No spin programme is on record for this protocol. Enter it in Bench, or follow the instructions of the process.",
        NoProtocol => "No protocol is chosen yet. Choose one under Order.",
        NoRotor => "Choose a rotor: a force becomes a speed only at its radius.",
        EndMissing => "The end of the spin is not entered. Collected now, it can be entered under Spinning with its time.",
        CountHint => "A count from the needle’s own blood may come while it spins; everything expected follows it.",
    }
}

/// Before the latest that a use-by can be: the clinic’s window that may still set an earlier one, written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UseByWithin(pub String);

impl Phrase for UseByWithin {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Use by {} after the spin’s end, at the latest", self.0))
    }
}

/// On the card, the use-by of what was collected before an end of its spin was entered: the latest that it can be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UseByTaken {
    /// The latest, written.
    pub at: String,
    /// The clinic’s window from the end of the spin, written.
    pub window: String,
}

impl Phrase for UseByTaken {
    fn english(&self) -> Cow<'static, str> {
        let Self { at, window } = self;
        Cow::Owned(format!(
            "use by {at} at the latest, set by {window} from when it was collected; {window} from the end of the spin, \
             once that is entered"
        ))
    }
}

/// How long a programme takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InAll<'a>(pub PlannedTime, pub &'a Conventions);

impl Phrase for InAll<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Self(PlannedTime { known, open_stages }, c) = *self;
        let minutes = unit::minutes(known, c).to_string();
        Cow::Owned(match open_stages {
            0 => format!("In all {minutes}."),
            1 => format!("In all {minutes}, and what a person ends: 1 stage."),
            n => format!("In all {minutes}, and what a person ends: {n} stages."),
        })
    }
}

/// A stage's number and kind: "Stage 2, hold".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageTitle<'a> {
    /// Its number from 0.
    pub index: u8,
    /// The stage, if the plan has one of that number.
    pub stage: Option<&'a Stage>,
}

impl Phrase for StageTitle<'_> {
    fn english(&self) -> Cow<'static, str> {
        let n = u32::from(self.index).saturating_add(1);
        Cow::Owned(match self.stage {
            Some(Stage::Handling { .. }) => format!("Stage {n}, by hand"),
            Some(stage) => format!("Stage {n}, {}", SpinStageName(stage).english().to_lowercase()),
            None => format!("Stage {n}"),
        })
    }
}

/// What a stage plans: "180 ×g at the maximum radius, 10 min".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StagePlan<'a> {
    /// The stage.
    pub stage: &'a Stage,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for StagePlan<'_> {
    fn english(&self) -> Cow<'static, str> {
        let c = self.conventions;
        let mut parts = Vec::new();
        if let Stage::Handling { what, .. } = self.stage {
            parts.push(what.clone());
        }
        match self.stage.speed() {
            Some(Speed::Rpm(rpm)) => parts.push(unit::rpm(rpm, c).to_string()),
            Some(Speed::Rcf { g, at }) => {
                parts.push(format!("{} {}", unit::rcf(g, c), RadiusShort(at).english()))
            }
            None => {}
        }
        match self.stage.time() {
            Some(time) => parts.push(unit::minutes(time, c).to_string()),
            None => parts.push("until done".to_owned()),
        }
        Cow::Owned(parts.join(", "))
    }
}

/// All stages of a programme: "Stage 1, hold: 180 ×g at the maximum radius, 10 min; ...".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProgrammePlan<'a> {
    /// The programme.
    pub programme: &'a Programme,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for ProgrammePlan<'_> {
    fn english(&self) -> Cow<'static, str> {
        if self.programme.0.is_empty() {
            return BenchWord::NotSet.english();
        }
        let told = (0..=u8::MAX).zip(&self.programme.0).map(|(index, stage)| {
            let title = StageTitle { index, stage: Some(stage) }.english();
            format!("{title}: {}", StagePlan { stage, conventions: self.conventions }.english())
        });
        Cow::Owned(told.collect::<Vec<_>>().join("; "))
    }
}

/// The button that says a stage has begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StageBegan(pub u8);

impl Phrase for StageBegan {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Stage {} has begun", u32::from(self.0).saturating_add(1)))
    }
}

/// Why no speed follows for a stage, and what to enter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedMissing<'a>(pub &'a SpinError);

impl Phrase for SpeedMissing<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.0 {
            SpinError::RadiusMissing { kind, .. } => Cow::Owned(format!(
                "This stage is planned in ×g {}. Enter the rotor’s {} in Bench; no speed follows without it.",
                RadiusShort(*kind).english(),
                RadiusName(*kind).english()
            )),
            SpinError::RadiiReversed { .. } => Cow::Borrowed(
                "The rotor’s minimum radius is not below its maximum. Correct its radii in Bench; no speed or force follows from them.",
            ),
            SpinError::OutOfRange(_) => Cow::Borrowed(
                "No rotor can run what this stage asks for. Correct its speed or force, or the rotor’s radii, in Bench.",
            ),
        }
    }
}

/// What runs, beside the large clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NowLong<'a> {
    /// What is happening.
    pub now: &'a Happening,
    /// The stage that runs, if the plan has it.
    pub stage: Option<&'a Stage>,
}

impl Phrase for NowLong<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.now {
            Happening::NotBegun => "Needle not in yet",
            Happening::Drawing { .. } => "Needle in, since",
            Happening::WaitingToSpin => "Waiting for the spin, since",
            Happening::Stage { index, ends, due } => {
                let title = StageTitle { index: *index, stage: self.stage }.english();
                return Cow::Owned(match (ends, due) {
                    (_, true) => format!("{title}: its time is over"),
                    (Some(_), false) => format!("{title}, ends in"),
                    (None, false) => format!("{title}, since"),
                });
            }
            Happening::Stopped { index, .. } => {
                let title = StageTitle { index: *index, stage: self.stage }.english();
                return Cow::Owned(format!("{title}: stopped, since"));
            }
            Happening::SpinOver => "Spin over, since",
            Happening::Collected => "Product collected, since",
            Happening::HandedOver => "Handed over, since",
            Happening::Ended => "Signed without a product, since",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Bench;
    use crate::quantity::{Quantity, Rpm, Seconds};
    use crate::spin::programme::Rating;
    use crate::spin::rcf::RadiusKind;
    use crate::working::Figure;

    #[test]
    fn a_programme_is_told_whole_so_that_no_change_of_it_is_hidden() {
        let bench = Bench::default();
        let c = &bench.clinic.conventions;
        let mut programme = bench.protocols[0].programme.clone();
        let told = |programme: &Programme| ProgrammePlan { programme, conventions: c }.english().into_owned();
        let before = told(&programme);
        assert!(
            before.starts_with("Stage 1, ")
                && before.contains("180\u{a0}×g at the maximum radius, 10\u{a0}min")
        );
        assert_eq!(before.matches("Stage ").count(), programme.0.len(), "{before}");
        let stage = programme.0.iter_mut().find(|stage| matches!(stage, Stage::Hold { .. })).unwrap();
        *stage =
            Stage::Hold { speed: Speed::Rpm(Rpm::new(1000.0).unwrap()), time: Seconds::new(300.0).unwrap() };
        let after = told(&programme);
        assert!(after != before && after.contains("1000\u{a0}rpm, 5\u{a0}min"), "{after}");
        assert_eq!(told(&Programme::default()), "not set");
    }

    #[test]
    fn a_use_by_that_may_come_earlier_names_the_window() {
        let window = || "1\u{a0}h".to_owned();
        assert_eq!(
            UseByWithin(window()).english(),
            "Use by 1\u{a0}h after the spin’s end, at the latest",
            "the time follows"
        );
        let card = UseByTaken { at: "12:16".to_owned(), window: window() }.english();
        assert!(card.starts_with("use by 12:16 at the latest, set by 1\u{a0}h from when it was"), "{card}");
    }

    #[test]
    fn what_is_missing_is_named_with_its_rotor() {
        let missing = SpinError::RadiusMissing { kind: RadiusKind::Minimum, rotor: "Swing-out".into() };
        assert_eq!(
            NotCarriedWords(&NotCarried::Spin(missing)).english(),
            "Swing-out: no minimum radius, at the surface of the fluid on record; without it, nothing can be carried over"
        );
    }

    #[test]
    fn a_fluid_that_stands_above_the_minimum_radius_is_told() {
        let said = |above_minimum| {
            let (height, rotors) = ("39", ["Here", "There"]);
            FluidStands { index: 2, height, container: None, rotors, above_minimum }
        };
        let of = FluidStands { container: Some(1), height: "39 (37 to 42)", ..said([false; 2]) }.english();
        assert!(
            of.ends_with("stands 39 (37 to 42)\u{a0}mm high, as pictured of container 2, the fullest."),
            "{of}"
        );
        let said = |above_minimum| said(above_minimum).english().into_owned();
        assert_eq!(said([false; 2]), "Stage 3: the fluid stands 39\u{a0}mm high, as pictured.");
        let one = said([false, true]);
        assert!(one.contains("On There that is nearer to the axis") && !one.contains("On Here"), "{one}");
        assert_eq!(NotCarriedWords(&NotCarried::FirstSpin).english(), "does not hold for a first spin");
    }

    #[test]
    fn a_rating_passed_there_is_said_with_its_limit() {
        let figure = |value, unit| Figure { value, unit };
        let breach = RatingBreach {
            stage: 0,
            rating: Rating::Bucket,
            value: figure(900.0, "×g"),
            limit: figure(800.0, "×g"),
        };
        assert_eq!(
            OverThere(&breach, NumberStyle::Point).english(),
            "not to be run: it would take the bucket to 900\u{a0}×g; its limit is 800"
        );
    }

    /// The double spin of the shipped Bench: twice ten minutes, and a person who moves the plasma.
    #[test]
    fn a_programme_says_how_long_it_takes() {
        let bench = Bench::default();
        let programme = &bench.protocol("double-spin").unwrap().programme;
        let c = Conventions::default();
        let said = |programme: &Programme| InAll(programme.planned().unwrap(), &c).english().into_owned();
        assert_eq!(said(programme), "In all 20\u{a0}min, and what a person ends: 1 stage.");
        assert_eq!(said(&Programme(programme.0[..1].to_vec())), "In all 10\u{a0}min.");
    }

    /// What is wrong is not called missing.
    #[test]
    fn why_no_speed_follows() {
        let said = |error: SpinError| SpeedMissing(&error).english().into_owned();
        let rotor = || "Swing-out".to_owned();
        let missing = said(SpinError::RadiusMissing { kind: RadiusKind::Maximum, rotor: rotor() });
        assert!(missing.starts_with("This stage is planned in ×g at the maximum radius. Enter"), "{missing}");
        let reversed = said(SpinError::RadiiReversed { rotor: rotor() });
        assert!(reversed.contains("not below its maximum") && !reversed.contains("Enter"), "{reversed}");
        let range = Rpm::new(f64::INFINITY).unwrap_err();
        assert!(said(SpinError::OutOfRange(range)).starts_with("No rotor can run"));
    }

    #[test]
    fn stages_say_what_they_plan() {
        let bench = Bench::default();
        let stages = &bench.protocol("double-spin").unwrap().programme.0;
        let c = Conventions::default();
        let plan: Vec<String> =
            stages.iter().map(|stage| StagePlan { stage, conventions: &c }.english().into_owned()).collect();
        assert_eq!(
            plan,
            [
                "180\u{a0}×g at the maximum radius, 10\u{a0}min",
                "move plasma above the cells to a new container, until done",
                "900\u{a0}×g at the maximum radius, 10\u{a0}min"
            ]
        );
        let titles: Vec<String> = (0u8..)
            .zip(stages)
            .map(|(index, stage)| StageTitle { index, stage: Some(stage) }.english().into_owned())
            .collect();
        assert_eq!(titles, ["Stage 1, hold", "Stage 2, by hand", "Stage 3, hold"]);
    }
}
