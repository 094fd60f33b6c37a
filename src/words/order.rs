//! Words of the first screen, of the order and of its panel.

use super::Phrase;
use super::unit;
use crate::blood::anticoagulant::{Split, VolumeConvention};
use crate::blood::patient::Missing;
use crate::draft::CheckSign;
use crate::quantity::Volume;
use crate::quantity::unit::Conventions;
use crate::words::choice::MissingName;
use std::borrow::Cow;

crate::phrases! {
    /// The screen before any case is open.
    First {
        Title => "Strawline",
        What => "From a patient’s own blood to platelet-rich plasma: how much anticoagulant in which container, to which mark, how to spin, what to expect, what was made, and what each site is given. It works without a network, and nothing typed here leaves this device.",
        Limits => "It supports trained people and takes no decision from them. The prescriber’s order, the instructions of container, anticoagulant and centrifuge, local policy and law come first. No licensed person has reviewed it.",
        NewCase => "New case",
        OpenDemo => "Open the demo",
        DemoIs => "The demo is an invented patient; nothing of it enters the clinic’s figures.",
        Drafts => "Cases begun earlier",
    }
}

crate::phrases! {
    /// Headings, questions and buttons of the order.
    OrderWords {
        Who => "Who",
        WhatWhere => "What and where",
        Vessels => "Containers",
        Count => "Blood count",
        Side => "Side",
        WhiteCells => "White cells",
        Divide => "Divide among parts of the site",
        AddPart => "Add a part",
        RemovePart => "Remove the last part",
        Container => "Container",
        Protocol => "Protocol",
        Rotor => "Rotor",
        BenchChanged => "The Bench has another entry of that name since.",
        TakeFromBench => "Take it as it stands in Bench",
        Agent => "Anticoagulant",
        AgentOfProtocol => "as the protocol says",
        NotChosen => "not chosen",
        OneContainer => "The order asks for one container only",
        Convention => "The volume means",
        WhichMeant => "Which is meant? The draw waits for it.",
        IsCounted => "Is there a count of this blood?",
        Sample => "Counted from",
        SampleUnsaid => "not said",
        People => "Who ordered, who prepares",
        Screening => "Screening questions",
        ScreeningFor => "Answers are written down for the prescriber, who decides. Tap an answer again to leave it open.",
        Yes => "Yes",
        No => "No",
        Patient => "Patient: size, blood drawn, haemoglobin",
        Sex => "Sex, for the blood volume",
        FirstDraw => "First draw of this kind",
        Amounts => "Other amounts the order names",
        AmountsOf => "As ordered. Strawline recommends no dose.",
        AnticoagulantAnother => "Anticoagulant: another, or another amount",
        OneAmount => "Enter one of the two. Left open, the protocol’s amount holds, else the label’s.",
        Machine => "Rotor, lots and expiry",
        LeavesOpen => "What the order leaves open",
        LotsCleared => "Lot and expiry were of what stood there before, and are cleared.",
        PrintQuestions => "Print the question list",
        NothingOpen => "The order answers all that is asked of it.",
    }
}

/// From which case an order was taken over.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenOverLine {
    /// Its check sign.
    pub sign: CheckSign,
    /// Its day, written.
    pub day: String,
}

impl Phrase for TakenOverLine {
    fn english(&self) -> Cow<'static, str> {
        let Self { sign, day } = self;
        Cow::Owned(format!("Order taken over from {sign}, {day}: hold it against today’s order."))
    }
}

crate::phrases! {
    /// Names of the lines of the order at a glance.
    Glance {
        BloodCount => "Blood count",
        Haematocrit => "Haematocrit",
        Containers => "Containers",
        Method => "Method",
        Lots => "Lots",
        People => "Ordered by / made by",
        DoesNotSay => "The order does not say",
        NoReference => "no patient reference",
        NoCount => "not counted",
        NotSaid => "not said",
    }
}

/// What the records tell of blood drawn in the eight weeks before: reference, each draw with its day and its volume if
/// told, the sum.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BloodBeforeLine {
    /// Patient reference.
    pub reference: String,
    /// Day, and volume as written with whether a container counts as planned in it.
    pub draws: Vec<(String, Option<(String, bool)>)>,
    /// All that is told, if anything is.
    pub sum: Option<String>,
    /// Whether each record tells an amount.
    pub whole: bool,
}

impl Phrase for BloodBeforeLine {
    fn english(&self) -> Cow<'static, str> {
        let draws = self.draws.iter().map(|(day, volume)| match volume {
            Some((volume, false)) => format!("{volume} on {day}"),
            Some((volume, true)) => format!("{volume}, as planned, on {day}"),
            None => format!("an amount not told on {day}"),
        });
        let draws: Vec<String> = draws.collect();
        let sum = match &self.sum {
            Some(sum) if self.whole => sum.clone(),
            Some(sum) => format!("at least {sum}"),
            None => "an amount that is not known".to_owned(),
        };
        Cow::Owned(format!(
            "Cases of {} on this device, last eight weeks: {}; {sum} in all. Draws elsewhere come to it. Check that they are of this patient.",
            self.reference,
            draws.join(", "),
        ))
    }
}

/// Takes that sum over into the field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EnterSum(pub String);

impl Phrase for EnterSum {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Enter {}", self.0))
    }
}

/// Yes or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct YesNo(pub bool);

impl Phrase for YesNo {
    fn english(&self) -> Cow<'static, str> {
        if self.0 { OrderWords::Yes.english() } else { OrderWords::No.english() }
    }
}

/// What a volume would mean under one of its two readings, all three amounts said.
#[derive(Debug, Clone, Copy)]
pub struct Meaning<'a> {
    /// The reading.
    pub convention: VolumeConvention,
    /// What one container then holds.
    pub split: &'a Split,
    /// Whether this reading was chosen; `None` while neither was.
    pub chosen: Option<bool>,
    /// Units of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for Meaning<'_> {
    fn english(&self) -> Cow<'static, str> {
        let write = |v: Volume| unit::volume(v, self.conventions);
        let (agent, blood, fill) =
            (write(self.split.anticoagulant), write(self.split.blood), write(self.split.fill));
        let which = match (self.chosen, self.convention) {
            (Some(true), VolumeConvention::FillMark) => "Chosen, the fill mark",
            (Some(true), VolumeConvention::AddedBlood) => "Chosen, blood alone",
            (_, VolumeConvention::FillMark) => "If it were the fill mark",
            (_, VolumeConvention::AddedBlood) => "If it were blood alone",
        };
        Cow::Owned(format!(
            "{which}: {} anticoagulant + {} blood = {fill}, the mark.",
            agent.number, blood.number
        ))
    }
}

/// What must be known before the draw can be held against the limits.
#[derive(Debug, Clone, Copy)]
pub struct MissingLine<'a>(pub &'a [Missing]);

impl Phrase for MissingLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let names: Vec<_> = self.0.iter().map(|m| MissingName(*m).english()).collect();
        Cow::Owned(format!(
            "This draw is large enough to be held against limits. Still needed: {}.",
            names.join(", ")
        ))
    }
}

/// What is given, and where: give 3 mL: 2 into the tendon, 1 beside it.
#[derive(Debug, Clone, Copy)]
pub struct GiveLine<'a> {
    /// Ordered for the whole site.
    pub volume: Option<Volume>,
    /// Parts with a volume.
    pub parts: &'a [(Volume, String)],
    /// Units of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for GiveLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let c = self.conventions;
        let parts: Vec<String> = self
            .parts
            .iter()
            .map(|(v, name)| {
                let number = unit::volume(*v, c).number;
                if name.is_empty() { number } else { format!("{number} {name}") }
            })
            .collect();
        let parts = parts.join(", ");
        Cow::Owned(match (self.volume, parts.is_empty()) {
            (None, true) => "volume not said".to_owned(),
            (Some(v), true) => format!("give {}", unit::volume(v, c)),
            (Some(v), false) => format!("give {}: {parts}", unit::volume(v, c)),
            (None, false) => format!("give, in mL: {parts}"),
        })
    }
}

/// 2, each filled to 15 mL.
#[derive(Debug, Clone, Copy)]
pub struct ContainersLine<'a> {
    /// How many.
    pub number: u8,
    /// Name in the clinic.
    pub name: &'a str,
    /// The mark, if it is known.
    pub mark: Option<Volume>,
    /// Units of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for ContainersLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let mark = self.mark.map(|m| format!(", to the {} mark", unit::volume(m, self.conventions)));
        Cow::Owned(format!("{} × {}{}", self.number, self.name, mark.unwrap_or_default()))
    }
}

/// A container that is bought with its anticoagulant inside.
#[derive(Debug, Clone, Copy)]
pub struct PrefilledLine<'a> {
    /// Name of the anticoagulant.
    pub agent: &'a str,
    /// How much.
    pub volume: Volume,
    /// Units of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for PrefilledLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!(
            "holds {} {} when bought",
            unit::volume(self.volume, self.conventions),
            self.agent
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Quantity;
    use crate::quantity::write::NO_BREAK;

    fn ml(v: f64) -> Volume {
        Volume::new(v).unwrap()
    }

    #[test]
    fn both_meanings_name_all_three_amounts() {
        let c = Conventions::default();
        let say = |convention, a, b, f, chosen| {
            let split = Split { anticoagulant: ml(a), blood: ml(b), fill: ml(f) };
            Meaning { convention, split: &split, chosen, conventions: &c }.english().replace(NO_BREAK, " ")
        };
        assert_eq!(
            say(VolumeConvention::FillMark, 2.0, 13.0, 15.0, Some(true)),
            "Chosen, the fill mark: 2 anticoagulant + 13 blood = 15 mL, the mark."
        );
        assert_eq!(
            say(VolumeConvention::AddedBlood, 2.4, 15.0, 17.4, Some(false)),
            "If it were blood alone: 2.4 anticoagulant + 15 blood = 17.4 mL, the mark."
        );
    }

    #[test]
    fn what_is_given_names_each_part() {
        let c = Conventions::default();
        let parts = [(ml(2.0), "into the tendon".to_owned()), (ml(1.0), "beside it".to_owned())];
        let line =
            |volume, parts| GiveLine { volume, parts, conventions: &c }.english().replace(NO_BREAK, " ");
        assert_eq!(line(Some(ml(3.0)), &parts), "give 3 mL: 2 into the tendon, 1 beside it");
        assert_eq!(line(None, &[]), "volume not said");
    }
}
