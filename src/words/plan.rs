//! What is said of doubt and plan.

use super::Phrase;
use crate::blood::patient::LimitRule;
use crate::product::doubt::Unknown;
use crate::product::plan::{Limit, Verdict, Why};
use std::borrow::Cow;

/// The largest unknown, as the start of a sentence about what knowing it would change.
impl Phrase for Unknown {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Unknown::NoCount => "The blood has no count",
            Unknown::BloodCount => "The blood count is not today’s, or only as sure as an analyser",
            Unknown::Method => "How much of the platelets the method takes",
            Unknown::ProductVolume => "How closely the product volume is read",
        })
    }
}

/// Whether the order can be met.
impl Phrase for Verdict {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Verdict::Met => "Planned so that the order is met in about 8 of 10 such preparations or more.",
            Verdict::OnlyAtTheMiddle => {
                "Within the limits only the middle of what is expected meets the order: it may well not be met."
            }
            Verdict::CannotMeet => {
                "Within the limits the order is not expected to be met. Ask the prescriber."
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
                "weight, height, age, sex or haemoglobin not known: no more blood is planned without"
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
            Limit::ProductVolume => "the product volumes that there is experience with",
            Limit::Count => "the count of the blood is missing or old",
            Limit::Method => "the method: what it takes is too little, or varies more than the order allows",
        })
    }
}
