//! What is said of doubt and plan.

use super::Phrase;
use super::field::Label;
use super::product::{OrderedFor, OrderedName, OrderedText};
use super::unit::{self, FromTo, Written};
use crate::assess::Unplanned;
use crate::assess::product::OrderLine;
use crate::blood::patient::LimitRule;
use crate::draft::CheckSign;
use crate::product::doubt::Unknown;
use crate::product::order::{Likelihood, OrderSense, OrderedAmount};
use crate::product::plan::{Limit, Verdict, Why};
use crate::quantity::unit::{Conventions, NumberStyle};
use crate::quantity::write;
use crate::quantity::{CellCount, Cells, Fold, Quantity};
use std::borrow::Cow;

/// What an earlier session of the course measured: which, the day, its recovery, whether the protocol was this one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SessionLine {
    /// Check sign of its record.
    pub sign: CheckSign,
    /// Which, of how many.
    pub number: (u8, u8),
    /// The day, as written.
    pub day: String,
    /// Recovery, as written.
    pub recovery: String,
    /// The protocol was the one chosen now.
    pub same_protocol: bool,
}

impl Phrase for SessionLine {
    fn english(&self) -> Cow<'static, str> {
        let Self { sign, number: (number, last), day, recovery, same_protocol } = self;
        let by = if *same_protocol { "" } else { " by another protocol" };
        Cow::Owned(format!(
            "Measured in session {number} of {last} on {day}{by}, record {sign}: recovery {recovery}."
        ))
    }
}

crate::phrases! {
    /// Headings and buttons of the plan.
    PlanWord {
        For => "Platelets to give are ordered",
        Title => "Plan for this order",
        Planning => "planning…",
        Ways => "Ways within the limits, predicted with the 80\u{a0}% range",
        Way => "Way",
        Blood => "Blood, mL",
        InProduct => "In product, ×10⁹",
        Use => "Use this plan",
        SetNow => "as set now",
        Relaxing => "What each limit, if it were relaxed, would buy",
        Relaxed => "Limit",
        ThenWay => "Way",
        Then => "Order",
        ThenMet => "met",
        ThenNotMet => "still not met",
        CountFirst => "Count the blood before drawing more",
        Picture => "Platelets in product against blood drawn",
        AsTable => "The picture as a table",
        Containers => "Containers",
        Workings => "How the plan is worked out",
        AgentEach => "Anticoagulant in each",
        BloodInAll => "Blood in all",
        Needs => "the order needs",
        Limit => "limit",
        Planned => "plan",
        HowSure => "How sure this is",
        MadeOf => "What the doubt is made of",
        Unknown => "Unknown",
        Share => "Share of the variance",
        WillRead => "A count of it will read, 80\u{a0}% range,",
        AnyAdult => "any adult",
    }
}

crate::phrases! {
    /// Sentences about doubt and plan.
    PlanSays {
        Sessions => "What an earlier session measured does not take the place of what is predicted. Check that it is of this patient.",
        NoAdvice => "A plan for what is ordered, no advice on what to order. Nothing changes until a plan is used.",
        Used => "The plan is used: containers, fill mark and product to keep are set.",
        About => "About means within a tenth either way: our own judgement, as no source says what it means.",
        OneNumber => "Until the second number is there, nothing is planned, and the order counts as at least the first.",
        Describes => "These ranges are of what is truly in it; a count adds its own error.",
        Adult => "Taken for any adult, as the blood has no count.",
    }
}

/// An unknown, by its name.
impl Phrase for Unknown {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Unknown::NoCount => "the blood’s count: there is none",
            Unknown::BloodCount => "the blood’s count, by its age and its analyser",
            Unknown::Method => "how much of the platelets the method takes",
            Unknown::ProductVolume => "how closely the product volume is read",
        })
    }
}

/// The largest unknown, and what knowing it would narrow the platelets in product to: from, to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Narrows(pub Unknown, pub FromTo, pub FromTo);

impl Phrase for Narrows {
    fn english(&self) -> Cow<'static, str> {
        let Narrows(unknown, now, then) = self;
        let known = match unknown {
            Unknown::NoCount => "With a count at its middle",
            Unknown::BloodCount => "If today’s count said the same",
            Unknown::Method | Unknown::ProductVolume => "If it were known",
        };
        Cow::Owned(format!(
            "Largest unknown: {}. {known}, {} instead of {}\u{a0}×10⁹ in product.",
            unknown.english(),
            then.english(),
            now.english()
        ))
    }
}

/// An amount reckoned, in its own unit.
fn amount(what: OrderedAmount, value: f64, c: &Conventions) -> Written {
    let written = match what {
        OrderedAmount::Platelets => Cells::new(value).map(|v| unit::cells(v, c)),
        OrderedAmount::Concentration => CellCount::new(value).map(|v| unit::count(v, c)),
        OrderedAmount::Fold => Fold::new(value).map(|v| unit::fold(v, c)),
    };
    // What stands in a case is inside its domain.
    written.unwrap_or(Written { number: String::new(), unit: "" })
}

/// How the number of one amount is meant, as the head of a choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeantAs(pub OrderedAmount);

impl Phrase for MeantAs {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{}, meant as", OrderedName(self.0).english()))
    }
}

/// What the order asks of one amount: at least 5 ×10⁹ in each part.
#[derive(Debug, Clone, Copy)]
pub struct AskedFor<'a>(pub &'a OrderLine, pub &'a Conventions);

impl Phrase for AskedFor<'_> {
    fn english(&self) -> Cow<'static, str> {
        let AskedFor(line, c) = self;
        let first = unit::ordered(line.what, line.ordered, c);
        let text = match (line.sense, line.most) {
            (OrderSense::Between, Some(most)) => {
                OrderedText::Between(first.number, unit::ordered(line.what, most, c).to_string())
            }
            (OrderSense::Between, None) => OrderedText::SecondMissing(first.to_string()),
            (OrderSense::About, _) => OrderedText::About(first.to_string()),
            (OrderSense::AtLeast, _) => OrderedText::AtLeast(first.to_string()),
        };
        let text = text.english();
        Cow::Owned(match line.what {
            OrderedAmount::Platelets => {
                let given = if line.each_part { OrderedFor::EachPart } else { OrderedFor::InAll };
                format!("{text} {}", given.english())
            }
            OrderedAmount::Concentration | OrderedAmount::Fold => text.into_owned(),
        })
    }
}

/// What the order asks of one amount beside what is predicted.
#[derive(Debug, Clone, Copy)]
pub struct OrderedBeside<'a>(pub &'a OrderLine, pub &'a Conventions);

impl Phrase for OrderedBeside<'_> {
    fn english(&self) -> Cow<'static, str> {
        let OrderedBeside(line, c) = self;
        let what = OrderedName(line.what).english().to_lowercase();
        let mut words = format!("Ordered, {what}: {}.", AskedFor(line, c).english());
        if let Some(chance) = &line.chance {
            words.push_str(&format!(" As predicted: {}.", HowLikely(chance.likelihood).english()));
        }
        Cow::Owned(words)
    }
}

/// How likely all of several amounts ordered are met at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AllAtOnce(pub Likelihood);

impl Phrase for AllAtOnce {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("All of it at once, as predicted: {}.", HowLikely(self.0).english()))
    }
}

/// How likely an order is met, in a cell of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HowLikely(pub Likelihood);

impl Phrase for HowLikely {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Likelihood::VeryUnlikely => "very unlikely met",
            Likelihood::Unlikely => "less likely met than not",
            Likelihood::AsLikelyAsNot => "about as likely met as not",
            Likelihood::Likely => "more likely met than not",
            Likelihood::VeryLikely => "very likely met",
            Likelihood::OutOfTen(0) => "met in fewer than 1 of 10",
            Likelihood::OutOfTen(10..) => "met in nearly all of 10",
            Likelihood::OutOfTen(n) => return Cow::Owned(format!("met in about {n} of 10")),
        })
    }
}

/// Whether the order can be met, with how likely the way offered meets it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VerdictWords(pub Verdict, pub Option<Likelihood>);

impl Phrase for VerdictWords {
    fn english(&self) -> Cow<'static, str> {
        let likely = self.1.map(|l| l.english());
        Cow::Borrowed(match (self.0, likely) {
            (Verdict::Met, Some(likely)) => {
                return Cow::Owned(format!("It can be planned for: this way, {likely}."));
            }
            (Verdict::Met, None) => "It can be planned for.",
            (Verdict::OnlyAtTheMiddle, _) => {
                "Within the limits only the middle of what is expected meets the order: it may well not be met."
            }
            (Verdict::CannotMeet, _) => {
                "Within the limits the order is not expected to be met. Ask the prescriber."
            }
        })
    }
}

/// Why nothing is planned.
impl Phrase for Unplanned {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Unplanned::NoAmount => "The order names no amount to plan for.",
            Unplanned::NeedleIn => "The needle is in: the draw goes on as it was planned.",
            Unplanned::Unread(field) => {
                let label = Label(*field).english();
                return Cow::Owned(format!("Nothing is planned until this can be read: {label}."));
            }
            Unplanned::UpsideDown => {
                "Nothing is planned while the second number ordered is smaller than the first."
            }
            Unplanned::NoContainer => "To plan for this order, choose a container.",
            Unplanned::NoProtocol => "To plan for this order, choose a protocol.",
            Unplanned::NoExpectation => {
                "This protocol has no counts behind it, so nothing can be planned backwards from the order."
            }
            Unplanned::WhiteCells => {
                "The order and this protocol differ about white cells: nothing is planned for it."
            }
            Unplanned::Anticoagulant => {
                "To plan for this order, choose an anticoagulant of the process and how much of it."
            }
            Unplanned::NothingToGive => {
                "To plan for this order, enter the volume to give, its parts and what is added to it."
            }
            Unplanned::SecondNumber => "Nothing is planned until the second number ordered is there.",
            Unplanned::PartsDiffer => {
                "One dose is ordered in each part, and the parts differ so much in volume that no product fits all of \
                 them. Ask the prescriber."
            }
        })
    }
}

/// A way in one line: how many, their name if it is another container, the mark, the product.
#[derive(Debug, Clone, PartialEq)]
pub struct WayName {
    /// How many containers.
    pub containers: u8,
    /// Name of the container, where it is not the one chosen.
    pub other: Option<String>,
    /// Mark each is filled to.
    pub mark: Written,
    /// Product to keep, from all.
    pub product: Written,
}

impl Phrase for WayName {
    fn english(&self) -> Cow<'static, str> {
        let WayName { containers, other, mark, product } = self;
        let which = match other {
            Some(name) => format!("{containers} × {name}"),
            None if *containers == 1 => "1 container".to_owned(),
            None => format!("{containers} containers"),
        };
        Cow::Owned(format!("{which}, {mark} mark; keep {product}"))
    }
}

/// A share of the variance, to two figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareWords(pub f64, pub NumberStyle);

impl Phrase for ShareWords {
    fn english(&self) -> Cow<'static, str> {
        let percent = write::significant(100.0 * self.0, 2, self.1);
        Cow::Owned(write::with_unit(&percent, "%"))
    }
}

/// A sentence with what is written put in.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanLine {
    /// The way offered first: containers, anticoagulant with its name (none if it is inside when bought), mark,
    /// blood in all, product, left over.
    Way(u8, Option<(Written, String)>, Written, Written, Written, Written),
    /// What 5 mL more would buy: blood in all, platelets in product, how likely.
    FiveMore(Written, Option<FromTo>, Likelihood),
    /// A count before the draw: the value taken, whether there is none at all, range now, range if it said so.
    CountNow(Written, bool, Option<(FromTo, FromTo)>),
    /// What would then do: blood in all, and blood in all as planned now.
    CountedWay(Written, Option<Written>),
    /// The limit that binds.
    Binds(Limit),
    /// What could be ordered as "at least" and met.
    Reachable(OrderedAmount, f64, Conventions),
    /// What the expectation rests on.
    From(String),
    /// The picture in words: product kept, plan, its range, the order, the limit.
    Picture(Written, Written, FromTo, Option<String>, Option<Written>),
}

impl Phrase for PlanLine {
    fn english(&self) -> Cow<'static, str> {
        use PlanLine as L;
        Cow::Owned(match self {
            L::Way(n, agent, mark, blood, product, over) => {
                let each =
                    if *n == 1 { "the container".to_owned() } else { format!("each of {n} containers") };
                let draw = match agent {
                    Some((amount, name)) => {
                        format!("{amount} {name} in {each}, then blood to the {mark} mark")
                    }
                    None => format!("Blood to the {mark} mark in {each}"),
                };
                format!("{draw}: {blood} blood in all. Keep {product}; {over} of it is left over.")
            }
            L::FiveMore(blood, range, likely) => {
                let range = range.as_ref().map(|r| format!("{}\u{a0}×10⁹ in product; ", r.english()));
                format!(
                    "5\u{a0}mL more blood, {blood} in all: {}{}.",
                    range.unwrap_or_default(),
                    likely.english()
                )
            }
            L::CountNow(at, none, ranges) => {
                let why = match none {
                    true => format!("The blood has no count, so any adult’s is taken: {at}."),
                    false => format!("The count, {at}, is not today’s."),
                };
                let narrows = ranges.as_ref().map(|(now, then)| {
                    format!(
                        " If today’s count said the same: {} instead of {}\u{a0}×10⁹ in product.",
                        then.english(),
                        now.english()
                    )
                });
                format!("{why}{}", narrows.unwrap_or_default())
            }
            L::CountedWay(then, Some(now)) => format!("{then} of blood would then do instead of {now}."),
            L::CountedWay(then, None) => format!("The order could then be met, with {then} of blood."),
            L::Binds(limit) => format!("What binds: {}.", limit.english()),
            L::Reachable(what, at_least, c) => format!(
                "As surely as a plan asks for, this way reaches: {}, {}.",
                OrderedName(*what).english().to_lowercase(),
                amount(*what, *at_least, c)
            ),
            L::From(ground) => format!("Predicted, {ground}; each range holds 80 of 100."),
            L::Picture(product, blood, range, order, limit) => {
                let order = order.as_ref().map(|o| format!(" The order needs {o} in product."));
                let limit = limit.as_ref().map(|l| format!(" Limit on blood: {l}."));
                format!(
                    "Platelets in {product} of product by blood drawn, predicted with the 80\u{a0}% range. Plan: {blood} \
                     of blood, {}\u{a0}×10⁹.{}{}",
                    range.english(),
                    order.unwrap_or_default(),
                    limit.unwrap_or_default()
                )
            }
        })
    }
}

/// Why a way is offered.
impl Phrase for Why {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Why::Least => "fewest containers, then least blood",
            Why::Surest => "the surest within the limits",
            Why::Fuller => "as many containers, fuller: surer",
            Why::LessBloodInMore => "more containers, less blood in all",
            Why::MoreProduct => "more product, less concentrated",
            Why::OnlyAtTheMiddle => "less blood; only the middle of what is expected meets the order",
            Why::OtherContainer => "another container",
        })
    }
}

/// What stands in the way of an order.
impl Phrase for Limit {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Limit::Containers => "the number of containers",
            Limit::Blood(None) => {
                "weight, height, age, sex or haemoglobin not known: enter what is missing; no more blood is planned \
                 without"
            }
            Limit::Blood(Some(rule)) => match rule {
                LimitRule::PerKg | LimitRule::Share | LimitRule::Volume => "the limit on blood drawn today",
                LimitRule::EightWeeksPerKg | LimitRule::EightWeeksVolume => {
                    "the limit on blood drawn in 8 weeks"
                }
                LimitRule::HaemoglobinLow
                | LimitRule::HaemoglobinForVolume
                | LimitRule::HaemoglobinForPerKg => "the limit for this haemoglobin",
                LimitRule::LightWeight | LimitRule::SmallBloodVolume | LimitRule::FirstDraw => {
                    "the limit for a light patient, a small blood volume or a first draw"
                }
                LimitRule::Minor => "the limit for a patient under 18",
            },
            Limit::ProductKept => "the product volume planned to be kept",
            Limit::ProductVolume => "the product volumes that there is experience with",
            Limit::Count => "the count of the blood, missing or old",
            Limit::Method => "the method: what it takes is too little, or varies more than the order allows",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::product::OrderChance;
    use crate::quantity::{Share, Volume};
    use crate::working::{Worked, Working};

    fn line(sense: OrderSense, most: Option<f64>, likelihood: Option<Likelihood>) -> OrderLine {
        OrderLine {
            what: OrderedAmount::Platelets,
            sense,
            ordered: 5.0,
            most,
            each_part: false,
            counted: None,
            shared: None,
            expected: None,
            chance: likelihood.map(|likelihood| OrderChance {
                likelihood,
                chance: Worked { value: Share::new(0.3).unwrap(), working: Working::default() },
            }),
        }
    }

    #[test]
    fn an_order_is_said_as_it_is_meant() {
        let c = Conventions::default();
        let say = |line: &OrderLine| AskedFor(line, &c).english().replace('\u{a0}', " ");
        assert_eq!(say(&line(OrderSense::AtLeast, None, None)), "at least 5 ×10⁹ in all");
        assert_eq!(say(&line(OrderSense::Between, Some(6.0), None)), "5 to 6 ×10⁹ in all");
        assert_eq!(say(&line(OrderSense::Between, None, None)), "5 ×10⁹ to … (second number missing) in all");
        let each = OrderLine { each_part: true, ..line(OrderSense::About, None, None) };
        assert_eq!(say(&each), "about 5 ×10⁹ (within a tenth) in each part");
        let fold = OrderLine { what: OrderedAmount::Fold, ..line(OrderSense::AtLeast, None, None) };
        assert_eq!(say(&fold), "at least 5");
        let exact = OrderLine { ordered: 4.25, ..line(OrderSense::AtLeast, None, None) };
        assert_eq!(say(&exact), "at least 4.25 ×10⁹ in all");
        let likely = line(OrderSense::AtLeast, None, Some(Likelihood::Unlikely));
        assert_eq!(
            OrderedBeside(&likely, &c).english().replace('\u{a0}', " "),
            "Ordered, platelets to give: at least 5 ×10⁹ in all. As predicted: less likely met than not."
        );
    }

    #[test]
    fn a_chance_stands_in_figures_only_where_counts_allow_it() {
        let say = |likely| VerdictWords(Verdict::Met, Some(likely)).english();
        let figures = |words: &str| words.chars().any(|c| c.is_ascii_digit());
        assert!(!figures(&say(Likelihood::Likely)) && !figures(&say(Likelihood::VeryLikely)));
        assert!(say(Likelihood::OutOfTen(8)).contains("about 8 in 10"));
    }

    #[test]
    fn a_way_names_every_amount() {
        let ml = |v: f64| unit::volume(Volume::new(v).unwrap(), &Conventions::default());
        let way = |n, agent| PlanLine::Way(n, agent, ml(14.0), ml(36.6), ml(4.0), ml(0.5));
        let say = |line: PlanLine| line.english().replace('\u{a0}', " ");
        assert_eq!(
            say(way(3, Some((ml(1.8), "ACD-A".to_owned())))),
            "1.8 mL ACD-A in each of 3 containers, then blood to the 14 mL mark: 36.6 mL blood in all. Keep 4 mL; \
             0.5 mL of it is left over."
        );
        assert!(say(way(1, None)).starts_with("Blood to the 14 mL mark in the container: "));
    }
}
