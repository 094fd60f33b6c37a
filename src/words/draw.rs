//! Words of the draw: before the needle, needle in, the answer beside them, and the ledger.

use super::Phrase;
use super::unit::{self, Written};
use crate::assess::draw::ContainerNow;
use crate::blood::anticoagulant::{Direction, Split};
use crate::draft::TroubleKind;
use crate::product::ledger::{Closed, Closure};
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Volume};
use crate::words::choice::TroubleName;
use std::borrow::Cow;

crate::phrases! {
    /// Before the needle.
    Before {
        Identity => "Patient states both identifiers",
        BothAgree => "Both agree",
        TheyDiffer => "They differ",
        UndoIdentity => "Undo the identity check",
        Agreed => "both stated by the patient, and they agree",
        Differed => "what the patient stated does not agree",
        Agent => "Anticoagulant",
        AgentLook => "clear, in date, seal whole",
        AgentSound => "Clear, in date",
        AgentUnsound => "It is not",
        UndoAgent => "Undo the anticoagulant check",
        Vessels => "Containers",
        VesselsLook => "whole, sealed, in date, labelled with the check sign",
        VesselsSound => "All sound",
        VesselsUnsound => "One is not",
        UndoVessels => "Undo the container check",
        Sound => "found sound",
        Unsound => "found not sound",
        Draw => "Draw",
        InEach => "In each container",
        Second => "Second person",
        SecondIs => "checks the anticoagulant amount; neither the technician nor who made ready",
        SecondDone => "Amount checked",
        SecondSame => "The second person can be neither the technician nor the one who made ready.",
        SecondEmpty => "Enter the second person’s name.",
        UndoSecond => "Undo the second check",
        SecondChecked => "anticoagulant amount checked",
        Lots => "Lots and expiry",
        Limits => "Blood of this patient",
        DrawnToday => "Drawn today, discards included",
        PerWeight => "Per weight",
        OfBlood => "Of the blood volume",
        LimitsSmall => "A draw this small needs neither weight nor height.",
        EightWeeks => "In 8 weeks",
    }
}

crate::phrases! {
    /// Needle in.
    Needle {
        Since => "Needle in since",
        Out => "Needle out",
        ClockAndNext => "Clock and next step",
        Marks => "Mark reached in each container",
        MarksHelp => "A container left blank counts as planned until the needle is out; after that it is not reckoned until its mark is entered.",
        Back => "Back to before the needle",
        TakeBack => "Needle in was tapped by mistake",
        TakenBack => "Needle in taken back.",
        NoTakeBack => "Needle in cannot be taken back any more: a mark or needle out is entered.",
        OneMore => "One more container",
        OneLess => "Leave the last one out again",
        Extra => "extra",
        MarkUnknown => "not known",
        Container => "Container",
        Planned => "Planned",
        Actual => "Actual",
        ShareOf => "Anticoagulant in 100\u{a0}mL blood",
        NotYet => "not yet",
    }
}

crate::phrases! {
    /// When something goes wrong.
    Wrong {
        Open => "Something went wrong",
        OpenAtNeedle => "Short, clotted, other trouble",
        Title => "What went wrong?",
        Which => "In which container?",
        WhatNow => "What to do now",
        MustStop => "What must stop",
        Ask => "Whom to ask",
        Reckoned => "What can still be reckoned",
        Record => "What is recorded",
        EnterMark => "Enter the mark reached",
        Entered => "Entered for this case",
        BackToWork => "Back to the work",
        Aside => "Set aside: it takes no further part.",
        AsideSlip => "If nothing had been collected by then, take this back as a mistake, enter it again and set the container aside.",
        AsideLate => "Set aside after the product was collected: its blood is in the product, and what it was set aside for stays.",
    }
}

crate::phrases! {
    /// The answer beside the work.
    AnswerWords {
        ThenBlood => "then blood to this line",
        BloodTo => "blood to this line",
        InProduct => "Platelets in product",
        Fold => "Fold",
        TimesCount => "times the blood’s count, whatever that count is",
        TakeSample => "2 to 3\u{a0}mL in an EDTA tube at the same needle, counted, turns this table into one row.",
        ThenBloodTo => "then blood to",
        BloodUpTo => "blood to",
        InProductUnit => "in product, ×10⁹",
        CutAway => "These volumes and this protocol’s figures cannot both be right: nothing is predicted.",
        NoExpectation => "This protocol has no counts behind it: nothing is predicted, the ceiling holds.",
        NoProduct => "Enter how much product is kept, and the fold follows.",
    }
}

/// What a plan still waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needed {
    /// Which container.
    Container,
    /// How many.
    HowMany,
    /// Which volume.
    Volume,
    /// What the volume means.
    Meaning,
    /// Protocol or anticoagulant.
    Agent,
    /// How much anticoagulant.
    Amount,
    /// The amounts contradict each other.
    Fit,
}

impl Phrase for Needed {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Needed::Container => "which container",
            Needed::HowMany => "how many",
            Needed::Volume => "to which volume",
            Needed::Meaning => "whether that volume is the fill mark or blood alone",
            Needed::Agent => "protocol or anticoagulant",
            Needed::Amount => "how much anticoagulant the label names",
            Needed::Fit => "amounts that fit: the anticoagulant is more than the volume",
        })
    }
}

/// One line for all that a plan still waits for.
#[derive(Debug, Clone, Copy)]
pub struct Waiting<'a>(pub &'a [Needed]);

impl Phrase for Waiting<'_> {
    fn english(&self) -> Cow<'static, str> {
        let names: Vec<_> = self.0.iter().map(Phrase::english).collect();
        Cow::Owned(format!("For anticoagulant and fill mark, still needed: {}.", names.join("; ")))
    }
}

/// A line with written quantities put in.
#[derive(Debug, Clone, PartialEq)]
pub enum DrawLine {
    /// Head of the fill.
    InEachOf(u8),
    /// Blood in each.
    BloodEach(Written),
    /// The number of containers behind it, and all the blood.
    InAll(u8, Written),
    /// Anticoagulant by its name, to be put in first.
    AgentFirst(String),
    /// By which device it is measured.
    ByStep(Written),
    /// Already inside when bought.
    AlreadyInside(String),
    /// Mark of a container, as the heading of the number.
    MarkUnit(&'static str),
    /// What is expected, and of how much product.
    ExpectedWhen(Written),
    /// Fold with its ceiling.
    Ceiling(Written),
    /// Ceiling with the volumes it rests on: blood, product.
    CeilingOf(Written, Written, Written),
    /// Head of the column of plausible counts, with their unit.
    IfCount(&'static str),
    /// Dose in all, and whether every volume was entered as given.
    DoseIn(Written, bool),
    /// 2 + 13 = 15 mL.
    Sum(String, String, Written),
    /// How it was rounded, from the exact amount.
    Rounded(Direction, Written),
    /// How many, in the bar of a phone.
    EachOf(u8),
    /// The one being filled reached its mark.
    AtTheMark(u8),
    /// Caption of a container at its mark. Captions keep to one line, so that the mark stays where it is.
    CaptionDone(u8),
    /// Caption of the one being filled.
    CaptionFilling(u8),
    /// Up to where, in how many containers, and how many have their mark.
    UpToLine { n: u8, filled: usize },
    /// Needle out, with every container taken as filled to the mark.
    OutAll(usize),
    /// Needle out, with these taken as filled to the mark.
    OutRest(Vec<u8>),
    /// Caption of one that waits.
    CaptionWaits(u8),
    /// Caption of one that a Stop speaks of.
    CaptionStopped(u8),
    /// Caption of one that ended elsewhere than at its mark.
    CaptionAt(u8, Written),
    /// Caption of one set aside.
    CaptionAside(u8),
    /// Caption of one whose mark is not known.
    CaptionUnknown(u8),
    /// A container by its number.
    ContainerNo(u8),
    /// Sets it aside.
    SetAside(u8),
    /// Top up to at least.
    TopUp(Written),
    /// The accepted range of anticoagulant per 100 mL of blood.
    Accepted(Written, Written),
    /// Checked by whom and when: what, who, when.
    CheckedBy(String, String, String),
    /// Takes back a trouble that was entered by mistake.
    TakeBack(TroubleKind, Option<u8>),
    /// Why something that went wrong is not taken back.
    StaysAside,
    /// A picture of containers, in words: how many, anticoagulant, mark.
    PictureOf(u8, Written, Written),
}

/// 2 × 13 mL planned, where what happened differs from it; and how many containers are in no sum.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedBeside(pub u8, pub Written, pub usize);

impl Phrase for PlannedBeside {
    fn english(&self) -> Cow<'static, str> {
        let mut words = if self.0 == 1 {
            format!("planned {}", self.1.number)
        } else {
            format!("planned {} × {}", self.0, self.1.number)
        };
        match self.2 {
            0 => {}
            1 => words.push_str("; 1 container not known"),
            n => words.push_str(&format!("; {n} containers not known")),
        }
        Cow::Owned(words)
    }
}

/// 2 + 13 = 15 mL, of one container.
pub fn sum(split: &Split, c: &Conventions) -> DrawLine {
    let number = |v: Volume| unit::volume(v, c).number;
    DrawLine::Sum(number(split.anticoagulant), number(split.blood), unit::volume(split.fill, c))
}

/// From 0 as in the draft, to 1 as people count.
fn no(i: u8) -> u32 {
    u32::from(i) + 1
}

impl Phrase for DrawLine {
    fn english(&self) -> Cow<'static, str> {
        use DrawLine as D;
        Cow::Owned(match self {
            D::InEachOf(1) => "In the container".to_owned(),
            D::InEachOf(n) => format!("In each of {n} containers"),
            D::BloodEach(v) => format!("{v} blood"),
            D::InAll(1, _) => "in the container".to_owned(),
            D::InAll(_, v) => format!("in each, {} in all", v.number),
            D::AgentFirst(name) => format!("{name} first"),
            D::ByStep(step) => format!("in each, by {step} steps"),
            D::AlreadyInside(name) => format!("{name} is in the tube already"),
            D::MarkUnit(unit) => format!("{unit} mark"),
            D::ExpectedWhen(v) => format!("Predicted, when {v} is kept"),
            D::Ceiling(v) => format!("(ceiling {})", v.number),
            D::CeilingOf(v, blood, product) => {
                format!("Ceiling {}: {blood} blood ÷ {product} product", v.number)
            }
            D::IfCount(unit) => format!("If the count is, {unit}"),
            D::DoseIn(v, true) => format!("Dose, in the {v} given"),
            D::DoseIn(v, false) => format!("Dose, in the {v} to give"),
            D::Sum(a, b, f) => format!("{a} + {b} = {f}"),
            D::Rounded(Direction::Up, from) => format!("rounded up from {from}"),
            D::Rounded(Direction::Down, from) => format!("rounded down from {from}"),
            D::Rounded(Direction::Exact, _) => "as reckoned, nothing rounded".to_owned(),
            D::EachOf(1) => "one container".to_owned(),
            D::EachOf(n) => format!("in each of {n}"),
            D::AtTheMark(i) => format!("{} at the mark", no(*i)),
            D::CaptionDone(i) => format!("{} · filled", no(*i)),
            D::CaptionFilling(i) => format!("{} · filling", no(*i)),
            D::UpToLine { n: 1, .. } => "blood up to the line".to_owned(),
            D::UpToLine { n, filled: 0 } => format!("blood up to the line, in each of {n}"),
            D::UpToLine { n, filled } => format!("blood up to the line, in each of {n}; {filled} filled"),
            D::OutAll(1) => "Needle out, at the mark".to_owned(),
            D::OutAll(_) => "Needle out, all at the mark".to_owned(),
            D::OutRest(which) => {
                let numbers: Vec<String> = which.iter().map(|i| no(*i).to_string()).collect();
                match numbers.split_last() {
                    Some((last, [])) => format!("Needle out, {last} at the mark"),
                    Some((last, rest)) => format!("Needle out, {} and {last} at the mark", rest.join(", ")),
                    None => "Needle out".to_owned(),
                }
            }
            D::CaptionWaits(i) => format!("{} · next", no(*i)),
            D::CaptionStopped(i) => format!("{} · stopped", no(*i)),
            D::CaptionAt(i, v) => format!("{} · at {}", no(*i), v.number),
            D::CaptionAside(i) => format!("{} · aside", no(*i)),
            D::CaptionUnknown(i) => format!("{} · not known", no(*i)),
            D::ContainerNo(i) => format!("Container {}", no(*i)),
            D::SetAside(i) => format!("Set container {} aside", no(*i)),
            D::TopUp(v) => format!("top up to at least {v}"),
            D::Accepted(low, high) => format!("range {} to {}", low.number, high.number),
            D::CheckedBy(what, who, at) if who.is_empty() => format!("{what}, {at}"),
            D::CheckedBy(what, who, at) => format!("{what}, {at}, {who}"),
            D::StaysAside => "stays: the product was collected without this container".to_owned(),
            D::TakeBack(kind, container) => {
                let name = TroubleName(*kind).english().to_lowercase();
                match container {
                    Some(i) => format!("Take back: {name}, container {}", no(*i)),
                    None => format!("Take back: {name}"),
                }
            }
            D::PictureOf(n, agent, mark) => {
                let which =
                    if *n == 1 { "One container".to_owned() } else { format!("Each of {n} containers") };
                format!("{which}: anticoagulant up to {agent}, then blood up to the {mark} mark.")
            }
        })
    }
}

/// A trouble that was taken back: what, by whom, when. What it was is struck through before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack(pub String, pub String);

impl Phrase for TakenBack {
    fn english(&self) -> Cow<'static, str> {
        let who_and_when = [&self.0, &self.1].into_iter().filter(|s| !s.is_empty());
        Cow::Owned(format!("taken back {}", who_and_when.cloned().collect::<Vec<_>>().join(", ")))
    }
}

/// What went wrong with which container, within a line.
#[derive(Debug, Clone, Copy)]
pub struct TroubleLine(pub TroubleKind, pub Option<u8>);

impl Phrase for TroubleLine {
    fn english(&self) -> Cow<'static, str> {
        let name = TroubleName(self.0).english();
        match self.1 {
            Some(i) => Cow::Owned(format!("{name}, container {}", no(i))),
            None => name,
        }
    }
}

/// What was drawn, where else the plan would say what to draw.
#[derive(Debug, Clone, Copy)]
pub struct Drawn<'a> {
    /// Containers as they count now.
    pub containers: &'a [ContainerNow],
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for Drawn<'_> {
    fn english(&self) -> Cow<'static, str> {
        let holds = |now: &ContainerNow| {
            let words = match &now.split {
                Some(split) if now.entered => sum(split, self.conventions).english(),
                Some(_) => Needle::NotYet.english(),
                None => Needle::MarkUnknown.english(),
            };
            if now.set_aside { format!("{words}, set aside") } else { words.into_owned() }
        };
        let each: Vec<String> = self.containers.iter().map(holds).collect();
        Cow::Owned(match each.as_slice() {
            [] => "Drawn.".to_owned(),
            [one] => format!("Drawn: {one}."),
            [first, rest @ ..] if rest.iter().all(|one| one == first) => {
                format!("Drawn: {first} in each, {} containers.", each.len())
            }
            _ => {
                let named = self.containers.iter().zip(&each);
                let named = named.map(|(now, holds)| format!("container {}, {holds}", no(now.index)));
                format!("Drawn: {}.", named.collect::<Vec<_>>().join("; "))
            }
        })
    }
}

/// A line of the ledger strip. What is heavy stands between `*`.
#[derive(Debug, Clone, PartialEq)]
pub enum LedgerLine {
    /// Anticoagulant by its name.
    Agent(Written, String),
    /// Blood, the fill of all, and the plan where it differs.
    Blood(Written, Written, Option<String>),
    /// Left behind in the containers.
    LeftBehind(Written),
    /// Product kept or planned.
    Product(Written, bool),
    /// For a count, and whether it was taken.
    Sample(Written, bool),
    /// Lost on the way.
    Losses(Written),
    /// Left over.
    LeftOver(Written),
    /// A part of the site by its name.
    Site(Written, String),
    /// What is missing.
    Missing(Written),
    /// All of it, and that it closes: the parts, product, what was added.
    Closes(Vec<String>, Written, Option<Written>),
    /// More product than was filled: product, whether it is kept or planned, fill, by how much.
    OverFill(Written, bool, Written, Written),
    /// More goes out than there is product: the parts, product, what was added, by how much.
    Short(Vec<String>, Written, Option<Written>, Written),
    /// More product than was filled, and more goes out than that.
    Both(Box<LedgerLine>, Box<LedgerLine>),
    /// Where no part has a name.
    Given,
}

impl LedgerLine {
    /// The last line of a ledger: that it closes, or each way in which it does not. `numbers` are the parts that the
    /// product goes to.
    pub fn of(
        closed: &Closed,
        product: Written,
        kept: bool,
        numbers: Vec<String>,
        added: Option<Written>,
        write: impl Fn(Volume) -> Written,
    ) -> Self {
        let Closure::Short { .. } = closed.closure else { return Self::Closes(numbers, product, added) };
        // Sums of volumes come a rounding apart: what would be written as nothing is none.
        let over = |v: Volume| Some(v).filter(|v| v.get() > 1e-9).map(&write);
        let over_fill = over(closed.over_fill)
            .map(|over| Self::OverFill(product.clone(), kept, write(closed.fill.value), over));
        let short = over(closed.over_product).map(|missing| Self::Short(numbers, product, added, missing));
        match (over_fill, short) {
            (Some(fill), Some(short)) => Self::Both(Box::new(fill), Box::new(short)),
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => Self::Given,
        }
    }
}

impl Phrase for LedgerLine {
    fn english(&self) -> Cow<'static, str> {
        use LedgerLine as L;
        Cow::Owned(match self {
            L::Agent(v, name) => format!("*{}* {name}", v.number),
            L::Blood(b, f, None) => format!("+ *{}* blood = *{f}* in the containers", b.number),
            L::Blood(b, f, Some(plan)) => {
                format!("+ *{}* blood ({plan}) = *{f}* in the containers", b.number)
            }
            L::LeftBehind(v) => format!("*{}* left behind", v.number),
            L::Product(v, true) => format!("+ *{v}* product kept"),
            L::Product(v, false) => format!("+ *{v}* product, planned"),
            L::Sample(v, true) => format!("*{}* count sample", v.number),
            L::Sample(v, false) => format!("*{}* count sample, planned", v.number),
            L::Losses(v) => format!("*{}* needle and transfer losses", v.number),
            L::LeftOver(v) => format!("*{}* left over", v.number),
            L::Site(v, name) => format!("*{}* {name}", v.number),
            L::Missing(v) => format!("*{v} missing*"),
            L::Closes(parts, whole, None) => format!("{} = *{whole}*, closes", parts.join(" + ")),
            L::Closes(parts, whole, Some(added)) => {
                format!("{} = *{} + {added}* added, closes", parts.join(" + "), whole.number)
            }
            L::OverFill(product, kept, fill, over) => {
                let (is, was) = if *kept { ("kept", "filled") } else { ("planned", "in the containers") };
                format!("*{product}* {is} is *{over}* more than the *{fill}* {was}, does not close")
            }
            L::Short(parts, whole, None, missing) => {
                format!("{} is *{missing}* more than *{whole}*, does not close", parts.join(" + "))
            }
            L::Short(parts, whole, Some(added), missing) => {
                let parts = parts.join(" + ");
                format!("{parts} is *{missing}* more than *{} + {added}* added, does not close", whole.number)
            }
            L::Both(one, other) => format!("{}; {}", one.english(), other.english()),
            L::Given => "given".to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::write::NO_BREAK;

    fn ml(v: f64) -> Written {
        unit::volume(Volume::new(v).unwrap(), &Conventions::default())
    }

    fn said(line: &impl Phrase) -> String {
        line.english().replace(NO_BREAK, " ")
    }

    #[test]
    fn a_sum_is_written_out() {
        let v = |x| Volume::new(x).unwrap();
        let split = Split { anticoagulant: v(2.0), blood: v(13.0), fill: v(15.0) };
        assert_eq!(said(&sum(&split, &Conventions::default())), "2 + 13 = 15 mL");
    }

    #[test]
    fn what_was_drawn_is_told_container_by_container_where_they_differ() {
        let v = |x| Volume::new(x).unwrap();
        let now = |index, blood: Option<f64>| ContainerNow {
            index,
            split: blood.map(|b| Split { anticoagulant: v(2.0), blood: v(b), fill: v(2.0 + b) }),
            ratio: None,
            entered: blood.is_some(),
            set_aside: false,
            extra: false,
            top_up: None,
        };
        let conventions = Conventions::default();
        let drawn = |containers: &[ContainerNow]| said(&Drawn { containers, conventions: &conventions });
        let alike = [now(0, Some(13.0)), now(1, Some(13.0))];
        assert_eq!(drawn(&alike), "Drawn: 2 + 13 = 15 mL in each, 2 containers.");
        let unlike =
            [now(0, Some(13.0)), ContainerNow { set_aside: true, ..now(1, Some(9.0)) }, now(2, None)];
        assert_eq!(
            drawn(&unlike),
            "Drawn: container 1, 2 + 13 = 15 mL; container 2, 2 + 9 = 11 mL, set aside; container 3, not known."
        );
        assert_eq!(drawn(&unlike[..1]), "Drawn: 2 + 13 = 15 mL.");
    }

    #[test]
    fn a_ledger_that_falls_short_says_by_how_much() {
        let parts = vec!["0.2".to_owned(), "5".to_owned()];
        assert_eq!(
            said(&LedgerLine::Short(parts.clone(), ml(4.0), None, ml(1.2))),
            "0.2 + 5 is *1.2 mL* more than *4 mL*, does not close"
        );
        assert_eq!(
            said(&LedgerLine::Short(parts, ml(4.0), Some(ml(0.5)), ml(0.7))),
            "0.2 + 5 is *0.7 mL* more than *4 + 0.5 mL* added, does not close"
        );
        // 30 mL were filled; what becomes of the product adds up to it and is no part of what is wrong.
        assert_eq!(
            said(&LedgerLine::OverFill(ml(40.0), true, ml(30.0), ml(10.0))),
            "*40 mL* kept is *10 mL* more than the *30 mL* filled, does not close"
        );
    }

    #[test]
    fn the_last_line_of_a_ledger_is_true_of_every_way_not_to_close() {
        use crate::product::ledger::{Ledger, Losses, SiteVolume, close};
        let v = |x| Volume::new(x).unwrap();
        let line = |product: f64, site: f64, added: f64| {
            let closed = close(&Ledger {
                anticoagulant: v(4.0),
                blood: v(26.0),
                product: v(product),
                sample: v(0.2),
                losses: Losses::NONE,
                added: v(added),
                sites: vec![SiteVolume { index: 0, volume: v(site) }],
            })
            .unwrap();
            let numbers = vec!["0.2".to_owned(), ml(site).number];
            let added = Some(ml(added)).filter(|_| added > 0.0);
            let write = |v: Volume| ml(v.get());
            said(&LedgerLine::of(&closed, ml(product), true, numbers, added, write))
        };
        assert_eq!(line(4.0, 3.8, 0.0), "0.2 + 3.8 = *4 mL*, closes");
        let over = "*40 mL* kept is *10 mL* more than the *30 mL* filled, does not close";
        assert_eq!(line(40.0, 39.8, 0.0), over);
        assert_eq!(line(4.0, 5.0, 0.0), "0.2 + 5 is *1.2 mL* more than *4 mL*, does not close");
        assert_eq!(line(4.0, 5.0, 0.5), "0.2 + 5 is *0.7 mL* more than *4 + 0.5 mL* added, does not close");
        let short = "0.2 + 41 is *1.2 mL* more than *40 mL*, does not close";
        assert_eq!(line(40.0, 41.0, 0.0), format!("{over}; {short}"));
    }

    #[test]
    fn a_wait_names_everything_at_once() {
        let said = said(&Waiting(&[Needed::Container, Needed::Agent]));
        assert!(said.contains("which container") && said.contains("protocol or anticoagulant"), "{said}");
    }
}
