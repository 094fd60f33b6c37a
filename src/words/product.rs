//! Words of the product: collect, count, share out, hand over, sign; and of late counts.

use super::Phrase;
use super::unit::{self, Written};
use crate::assess::hand_over::Need;
use crate::product::measured::{AgainstOrder, AgainstRange, Check};
use crate::product::order::{Likelihood, OrderSense, OrderedAmount};
use crate::quantity::time::{Instant, Offset};
use crate::record::{Counts, SignError};
use std::borrow::Cow;

crate::phrases! {
    /// Collect.
    Collect {
        Heading => "Collect",
        Bound => "Most plasma that can be taken",
        LeftBehind => "Left behind in the containers",
        Now => "Product collected",
        Collected => "Collected at",
        TakeBack => "Not collected yet",
        Product => "product",
        Plasma => "plasma left",
        Coat => "buffy coat",
        Cells => "cells",
        One => "One container after the spin, to scale",
        Second => "The plasma of one container after the last spin, to scale",
    }
}

crate::phrases! {
    /// How the product is counted. Not counting it is an end as good as any, as long as it is said.
    CountHow {
        Now => "Count now",
        Later => "Count later",
        Not => "Not counted",
    }
}

crate::phrases! {
    /// Count.
    Count {
        Heading => "Count",
        How => "Platelets of the product",
        Sample => "Sample, well mixed, before anything is added",
        Expect => "Reading to expect",
        Add => "Add a reading",
        Remove => "Remove the last reading",
        Dilution => "Sample before the analyser",
        Mixed => "Well mixed, and no clumps seen?",
        Beside => "Counted beside predicted",
        Quantity => "Amount",
        CountedHead => "Counted",
        PredictedHead => "Predicted",
        InProduct => "Platelets in product",
        Concentration => "Concentration",
        Fold => "Fold over the blood’s count",
        Recovery => "Recovery",
        Spread => "Spread of the readings",
        AgainstOrder => "Against the order",
        Ordered => "Ordered",
        ByCount => "By the count",
        AsExpected => "As predicted",
        NotCounted => "not counted",
        NotConfirmed => "not confirmed",
        CountNotConfirmed => "count not confirmed",
        Ceiling => "ceiling",
        Counted => "counted",
        Predicted => "predicted",
        FoldShort => "Fold",
    }
}

crate::phrases! {
    /// Sentences about the count.
    CountSays {
        Later => "The case goes on the list of cases waiting for counts. Card and label say that platelets are not counted.",
        Not => "Nothing was counted. Card and label say so, and no figure stands in the count’s place.",
        ReadingRemoved => "The last reading is removed.",
        ReadingsRemoved => "The readings are removed.",
        NotConfirmed => "The count is not confirmed: fold, recovery, total and doses stay predictions until it is.",
        NoPrediction => "Nothing is predicted for this protocol, so the count stands alone.",
        EnterKept => "Enter the product kept: without it no platelets in product and no dose are counted.",
        NoBaseline => "The blood was not counted, so neither fold nor recovery follows.",
        CheckInOrder => "More platelets than were drawn. Check, in this order:",
        ExplainedByError => "Counting error alone could explain it.",
        AnalyserChanged => "The Bench has other figures of the analyser since.",
        ClosingNeeds => "Product and platelet-poor plasma kept, with the cells, close the volumes; with a count of that plasma, the platelets.",
        ScalesPicture => "One position read as recovery, fold, concentration and platelets in product: predicted hatched, counted solid, ceiling at the right.",
    }
}

crate::phrases! {
    /// Share out and add.
    Share {
        Heading => "Share out",
        Volume => "Volume",
        Dose => "Dose",
        Site => "Site",
        WholeSite => "whole site",
        Given => "Given in all",
        Planned => "To give in all",
        GivenWord => "given",
        PlannedWord => "planned",
        Passage => "On the way to the patient",
        Additions => "Additions ordered",
        AddAddition => "Add an addition",
        RemoveAddition => "Remove the last addition",
        What => "what is added",
        NotChosen => "not chosen",
        AfterVolume => "Volume after additions",
        AfterCount => "Concentration after additions, by the count",
        Calcium => "Calcium per citrate, by amount",
        NoDose => "not known",
    }
}

crate::phrases! {
    /// Sentences about sharing and adding.
    ShareSays {
        NoParts => "The order names no volume to give yet.",
        LotCleared => "The lot went with the addition that was chosen before.",
        AdditionRemoved => "The last addition is removed.",
        AdditionHow => "Substance, strength and volume as ordered. Nothing is filled in.",
        CalciumAbout => "Calcium binds citrate about one to one; a ratio is no instruction.",
    }
}

crate::phrases! {
    /// Card, hand-over, signature.
    Sign {
        Heading => "Card",
        Print => "Print card",
        PrintThen => "Print the card of this entry",
        Entries => "Entries of this record",
        PrintAmended => "Print amended card",
        NotHandedOver => "Not handed over yet",
        ReasonAnew => "Give another reason",
        Sign => "Sign the record",
        AllGiven => "All given",
        NoneGiven => "None of it given",
        RestGiven => "The rest given",
        NoneOfRest => "None of the rest given",
        GivenAndKept => "When it was given, and how it was kept",
        Without => "No product to hand over",
        SignWithout => "Sign without a product",
        ToLater => "Go to Later",
        Preview => "Label, as it will print",
        NoLabelWithout => "No product, no label of it.",
        NoLabel => "No label prints while a Stop without a way past stands.",
        Made => "What was made",
        DoseCounted => "Dose in all, counted",
        DosePartly => "Dose in all, volume planned in part, by the count",
        DosePlanned => "Dose in all, planned volume, by the count",
        DosePredicted => "Dose in all, predicted, not counted",
        Expected => "What is expected",
    }
}

crate::phrases! {
    /// Sentences of hand-over and signature.
    SignSays {
        Without => "Blood was drawn and no product is handed over: what was done, its lots and what happened are signed all the same. Card and files say that there was no product, and why.",
        WhenGiven => "When was it given? Enter the time at each part, below.",
        Watched => "Watched until it is told of each part when it was given, or that none of it was.",
        AmendOnly => "A signed record is not changed; what comes later is added as an amendment with its reason.",
    }
}

crate::phrases! {
    /// Late counts and amendments.
    Late {
        Heading => "Count",
        Amend => "Amend the record",
        Who => "Who amends",
        ToSign => "To be signed now",
        Why => "Why it is amended",
        Card => "Card",
        Amended => "Record amended",
        ToProduct => "Go to Product",
        CameBack => "count came back from the laboratory",
    }
}

crate::phrases! {
    /// Sentences about late counts.
    LateSays {
        NotSigned => "The record is not signed yet. Hand over and sign it under Product; a count can be typed here or there.",
        Waiting => "The record waits for a count. Type the readings, say that the sample was mixed, and amend.",
        NoProduct => "The record says that no product came of the draw. A change is added as an amendment; what was signed stays.",
        HasCount => "The record holds a count. A change is added as an amendment; what was signed stays.",
        WhoMore => "signs the amendment; who made the product stays as it was signed",
    }
}

impl LateSays {
    /// How a case stands by the count of its record; `None` without one.
    pub fn of(counts: Option<Counts>) -> Self {
        match counts {
            None => LateSays::NotSigned,
            Some(Counts::Later | Counts::NotCounted) => LateSays::Waiting,
            Some(Counts::Counted) => LateSays::HasCount,
            Some(Counts::NoProduct) => LateSays::NoProduct,
        }
    }
}

/// An amount an order may name, as the head of its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderedName(pub OrderedAmount);

impl Phrase for OrderedName {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            OrderedAmount::Platelets => "Platelets to give",
            OrderedAmount::Concentration => "Concentration",
            OrderedAmount::Fold => "Fold",
        })
    }
}

crate::phrases! {
    /// What a number of platelets ordered is for.
    OrderedFor {
        InAll => "in all",
        EachPart => "in each part",
    }
}

/// How an order means its number, on a button.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderSenseName(pub OrderSense);

impl Phrase for OrderSenseName {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            OrderSense::AtLeast => "At least",
            OrderSense::Between => "Between",
            OrderSense::About => "About",
        })
    }
}

/// An amount as it is ordered, with its number or numbers already written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OrderedText {
    /// No less.
    AtLeast(String),
    /// No less than the first, no more than the second.
    Between(String, String),
    /// No less than the first; the second number is not there.
    SecondMissing(String),
    /// Within a tenth of it.
    About(String),
}

impl Phrase for OrderedText {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self {
            OrderedText::AtLeast(least) => format!("at least {least}"),
            OrderedText::Between(least, most) => format!("{least} to {most}"),
            OrderedText::SecondMissing(least) => format!("{least} to … (second number missing)"),
            OrderedText::About(named) => format!("about {named} (within a tenth)"),
        })
    }
}

/// How likely the order is met.
impl Phrase for Likelihood {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Likelihood::VeryUnlikely => "the order is very unlikely to be met",
            Likelihood::Unlikely => "the order is less likely to be met than not",
            Likelihood::AsLikelyAsNot => "the order is about as likely to be met as not",
            Likelihood::Likely => "the order is more likely to be met than not",
            Likelihood::VeryLikely => "the order is very likely to be met",
            Likelihood::OutOfTen(0) => "fewer than 1 in 10 such preparations meet the order",
            Likelihood::OutOfTen(10..) => "nearly all of 10 such preparations meet the order",
            Likelihood::OutOfTen(n) => {
                return Cow::Owned(format!("about {n} in 10 such preparations meet the order"));
            }
        })
    }
}

/// A counted amount against the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderMet(pub AgainstOrder);

impl Phrase for OrderMet {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            AgainstOrder::Met => "met",
            AgainstOrder::NotMet => "not met",
            AgainstOrder::WithinCountingError => "too close to tell: within counting error",
        })
    }
}

/// Whether the middle of the predicted range reaches what is ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderReached(pub bool);

impl Phrase for OrderReached {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(if self.0 {
            "the middle of the range reaches it"
        } else {
            "the middle of the range falls short"
        })
    }
}

/// A counted amount against its predicted range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InRange(pub AgainstRange);

impl Phrase for InRange {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            AgainstRange::Below => "The count lies below the predicted range.",
            AgainstRange::Inside => "The count lies within the predicted range.",
            AgainstRange::Above => "The count lies above the predicted range.",
        })
    }
}

/// What to check when more platelets are found than were drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckThis(pub Check);

impl Phrase for CheckThis {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Check::BaselineKind => "what the blood’s own count was taken from",
            Check::Dilution => "the dilution before the analyser",
            Check::Mixing => "whether the product was mixed, and clumps looked for",
            Check::Volume => "the product volume, as measured",
        })
    }
}

/// A line with what is written put in.
#[derive(Debug, Clone, PartialEq)]
pub enum ProductLine {
    /// A range after a predicted value.
    Range(Written, Written),
    /// The reading to expect, at a dilution.
    AtDilution(String),
    /// Undiluted.
    Undiluted,
    /// A spun container, in words: product, all that is in it.
    Column(Written, Written),
    /// One row of additions.
    Addition(u8),
    /// A part of the site as ordered.
    OrderedPart(String),
    /// Signed by, at.
    SignedBy(String, String),
    /// Handed over to, at.
    HandedTo(String, String),
    /// All given, at.
    AllGiven(String),
    /// Nothing given, said at.
    NoneGiven(String),
    /// These parts given, at.
    RestGiven(Vec<String>, String),
    /// Nothing given to these parts, said at.
    NoneOfRest(Vec<String>, String),
    /// Amended so many times.
    AmendedTimes(usize),
    /// Stops that stand all the same while it is amended.
    StillOpen(Vec<String>),
    /// What is typed and not entered, and is not signed with the rest.
    NotEntered(Vec<String>),
    /// The share-out of so much product.
    ShareOf(Written),
}

impl Phrase for ProductLine {
    fn english(&self) -> Cow<'static, str> {
        use ProductLine as P;
        Cow::Owned(match self {
            P::Range(low, high) => format!("{} to {}", low.number, high.number),
            P::AtDilution(n) => format!("at 1 part in {n}, predicted"),
            P::Undiluted => "undiluted, predicted".to_owned(),
            P::Column(product, fill) => format!("{product} of product in a container that holds {fill}."),
            P::Addition(row) => format!("Addition {}", u32::from(*row).saturating_add(1)),
            P::OrderedPart(part) => format!("ordered: {part}"),
            P::SignedBy(who, at) => format!("Signed by {who}, {at}."),
            P::HandedTo(who, at) if who.is_empty() => format!("Handed over {at}."),
            P::HandedTo(who, at) => format!("Handed over {at} to {who}."),
            P::AllGiven(at) => format!("All given {at}."),
            P::NoneGiven(at) => {
                format!("None of it given, entered {at}. What became of it is entered under Discarded.")
            }
            P::RestGiven(parts, at) => format!("Given {at}: {}.", parts.join(", ")),
            P::NoneOfRest(parts, at) => format!(
                "Not given, entered {at}: {}. What became of it is entered under Discarded.",
                parts.join(", ")
            ),
            P::AmendedTimes(1) => "Amended once.".to_owned(),
            P::AmendedTimes(n) => format!("Amended {n} times."),
            P::StillOpen(stops) => format!("Still open: {}.", stops.join(", ")),
            P::NotEntered(typed) => format!("Typed and not entered yet: {}.", typed.join(", ")),
            P::ShareOf(v) => format!("Share out {v}"),
        })
    }
}

/// A moment with its day: 12 Mar 2026, 11:40.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayAndTime(pub Instant, pub Offset);

impl Phrase for DayAndTime {
    fn english(&self) -> Cow<'static, str> {
        let time = unit::clock(self.0, self.1);
        match unit::date(self.0, self.1) {
            Some(day) => Cow::Owned(format!("{}, {time}", day.english())),
            None => Cow::Owned(time),
        }
    }
}

/// A moment beside another: with its day only where that is another one.
pub fn beside(at: Instant, other: Instant, offset: Offset) -> String {
    let day = |at: Instant| at.local(offset).map(|(day, _)| day);
    if day(at) == day(other) {
        unit::clock(at, offset)
    } else {
        DayAndTime(at, offset).english().into_owned()
    }
}

/// What a hand-over still needs, within the line of its button.
impl Phrase for Need {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Need::NeedleIn => "needle in",
            Need::Marks => "mark of each container",
            Need::SpinEnd => "end of the spin",
            Need::Collected => "product collected",
            Need::ProductKept => "product kept",
            Need::Receiver => "who receives it",
            Need::OtherReceiver => "a receiver other than who hands it over",
            Need::ReadBack => "read-back",
            Need::WhyChanged => "why it was changed",
            Need::Technician => "who signs",
            Need::WhyNone => "why no product is handed over",
            Need::NotBoth => "a product, or a reason why none",
        })
    }
}

/// What a hand-over still needs, and where it is entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NeedSays(pub Need);

impl Phrase for NeedSays {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Need::NeedleIn => {
                "Needle in is not entered. The use-by counts from it: enter it under Before the needle."
            }
            Need::Marks => {
                "Enter the mark of each container that was not set aside, under Needle in. Where no blood came, it is the mark of the anticoagulant."
            }
            Need::SpinEnd => {
                "The end of the spin is not entered: enter it under Spinning, with the time when it was."
            }
            Need::Collected => "Enter that the product is collected, under Collect.",
            Need::ProductKept => "Enter the product kept, under Collect.",
            Need::Receiver => "Enter who receives the product.",
            Need::OtherReceiver => {
                "Who receives the product can be neither the technician nor the one who hands it over: it is read back between two people."
            }
            Need::ReadBack => {
                "Read both identifiers, side and site, and the check sign back at hand-over, and confirm it under Card."
            }
            Need::WhyChanged => "Say why it was changed after the product was handed over, under Card.",
            Need::Technician => "Enter the technician’s name under Order; the signature carries it.",
            Need::WhyNone => "Say why no product is handed over, under Card.",
            Need::NotBoth => {
                "A reason why no product is handed over stands under Card. Take it out there, or sign without a product."
            }
        })
    }
}

/// Why a signature was refused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignRefused<'a>(pub &'a SignError);

impl Phrase for SignRefused<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            SignError::NoName => "Enter the technician’s name under Order; the signature carries it.",
            SignError::NoAmender => "Enter who amends the record; the amendment carries that name.",
            SignError::NoReason => "Enter why the record is amended.",
            SignError::OtherCase => "This case has no record yet. Sign it first.",
            SignError::Unchanged => "Nothing differs from what was signed.",
            SignError::NotFinite { what } => {
                return Cow::Owned(format!(
                    "{what} is not a number, so it cannot be kept. Correct what it rests on."
                ));
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_not_counted_is_said_without_a_figure() {
        for words in [CountSays::Later, CountSays::Not] {
            let said = words.english();
            assert!(said.contains("counted") && !said.contains(|c: char| c.is_ascii_digit()), "{said}");
        }
    }

    #[test]
    fn only_a_record_with_a_count_is_said_to_hold_one() {
        let all = [
            None,
            Some(Counts::Counted),
            Some(Counts::Later),
            Some(Counts::NotCounted),
            Some(Counts::NoProduct),
        ];
        let holds = all.map(|counts| LateSays::of(counts).english().contains("holds a count"));
        assert_eq!(holds, [false, true, false, false, false]);
        assert!(LateSays::of(Some(Counts::NoProduct)).english().contains("no product"));
    }

    #[test]
    fn a_moment_carries_its_day() {
        let at = Instant(1_773_311_000_000);
        assert_eq!(DayAndTime(at, Offset::UTC).english(), "12\u{a0}Mar\u{a0}2026, 10:23");
    }
}
