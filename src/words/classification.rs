//! Words of the published classifications.

use super::Phrase;
use super::unit;
use crate::evidence::{SourceId, Standing};
use crate::product::classification::{
    Activator, Class, Classified, Family, Needed, Outcome, Part, PartOf, Unassigned,
};
use crate::quantity::unit::Conventions;
use std::borrow::Cow;

/// What is said of all of them together: a review found that none had been validated.
pub const ABOUT: SourceId = SourceId::NoneValidated;

crate::phrases! {
    /// Heading and what stands under it.
    Classes {
        Heading => "Published classifications",
        About => "They describe a product in its authors’ terms. None had been validated when they were reviewed, and none says what a product is good for.",
        NotCounted => "Nothing is classified before the product is counted.",
    }
}

impl Phrase for Family {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Family::Paw => "PAW",
            Family::Mishra => "Mishra",
            Family::Plra => "PLRA",
            Family::Depa => "DEPA",
            Family::DohanEhrenfest => "Dohan Ehrenfest",
        })
    }
}

/// What a part speaks of; where the whole of a share is not printed, which one stands here.
impl Phrase for PartOf {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            PartOf::Platelets => "platelets",
            PartOf::Activation => "activation",
            PartOf::WhiteCells => "white cells against the blood",
            PartOf::Neutrophils => "neutrophils against the blood",
            PartOf::WhiteShare => "leukocytes, as white cells among all cells counted",
            PartOf::NeutrophilShare => "leukocytes, as neutrophils among white cells",
            PartOf::RedCells => "red cells, by volume",
            PartOf::Fold => "fold over the blood",
            PartOf::Dose => "dose",
            PartOf::Efficiency => "efficiency, the recovery",
            PartOf::Purity => "purity, platelets among all cells",
            PartOf::Type => "type",
        })
    }
}

impl Phrase for Needed {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Needed::BloodCount => "the baseline count",
            Needed::ProductCount => "the product’s count",
            Needed::ReliableCount => "a count of the product that may be relied on",
            Needed::BloodDrawn => "the blood drawn into every container",
            Needed::Recovery => "the recovery",
            Needed::VolumeGiven => "the volume given",
            Needed::BloodWhite => "the blood’s white cells",
            Needed::ProductWhite => "the product’s white cells",
            Needed::BloodNeutrophils => "the blood’s neutrophils",
            Needed::ProductNeutrophils => "the product’s neutrophils",
            Needed::RedCells => "the product’s red cells",
            Needed::ProductHaematocrit => "the product’s haematocrit",
            Needed::WhatIsAdded => "knowing whether what is added activates",
            Needed::Protocol => "what the protocol does with white cells",
            Needed::Anticoagulant => "the anticoagulant in all containers",
        })
    }
}

impl Phrase for Activator {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Activator::CalciumChloride => "calcium chloride",
            Activator::CalciumGluconate => "calcium gluconate",
            Activator::AutologousThrombin => "autologous thrombin",
        })
    }
}

/// The outcome of one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutcomeWords<'a>(pub &'a Outcome, pub &'a Conventions);

impl Phrase for OutcomeWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let OutcomeWords(outcome, c) = *self;
        Cow::Owned(match outcome {
            Outcome::Is(Class::Code("")) => return "none written".into(),
            Outcome::Is(Class::Code(code)) => (*code).to_owned(),
            Outcome::Is(Class::Amount { count, volume }) => {
                format!("{} in {}", unit::count(*count, c), unit::volume(*volume, c))
            }
            Outcome::Is(Class::Activators(found)) if found.is_empty() => return "none".into(),
            Outcome::Is(Class::Activators(found)) => listed(found),
            Outcome::Undefined(Unassigned::Edge { one, other }) => {
                format!("undefined: on the edge of {one} and {other}")
            }
            Outcome::Undefined(Unassigned::MinimalHasNoNumber) => {
                return "undefined: fewer white cells than the blood, and “minimal” has no number".into();
            }
            Outcome::Without(needed) => format!("not determinable without {}", listed(&needed.all())),
        })
    }
}

/// The outcome of one part, marked where its table was recalled and not read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartWords<'a>(pub &'a Part, pub &'a Conventions);

impl Phrase for PartWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let PartWords(part, c) = *self;
        let outcome = OutcomeWords(&part.outcome, c).english();
        match part.outcome {
            Outcome::Is(_) | Outcome::Undefined(_) if part.from_memory() => {
                Cow::Owned(format!("{outcome} ({})", Standing::FromMemory.english()))
            }
            _ => outcome,
        }
    }
}

/// a, b and c.
fn listed(what: &[impl Phrase]) -> String {
    let mut words: Vec<String> = what.iter().map(|w| w.english().into_owned()).collect();
    match words.pop() {
        Some(last) if words.is_empty() => last,
        Some(last) => format!("{} and {last}", words.join(", ")),
        None => String::new(),
    }
}

/// A whole class in one line: its code, else part by part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassLine<'a>(pub &'a Classified, pub &'a Conventions);

impl Phrase for ClassLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let ClassLine(classified, c) = *self;
        let family = classified.family.english();
        if let Some(code) = classified.code() {
            return Cow::Owned(format!("{family}: {code}"));
        }
        let parts =
            classified.parts.iter().map(|p| format!("{}: {}", p.of.english(), PartWords(p, c).english()));
        Cow::Owned(format!("{family}: {}", parts.collect::<Vec<_>>().join("; ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::q;
    use crate::product::classification::{Inputs, classify};

    #[test]
    fn what_is_missing_is_named_once_each() {
        let said = |family, of| {
            let found = classify(&Inputs { native: None, activators: Some(vec![]), ..Inputs::default() });
            let found = found.iter().find(|c| c.family == family).and_then(|c| c.part(of)).cloned();
            OutcomeWords(&found.unwrap(), &Conventions::default()).english().into_owned()
        };
        assert_eq!(
            said(Family::Plra, PartOf::RedCells),
            "not determinable without the product’s haematocrit"
        );
        assert_eq!(
            said(Family::Depa, PartOf::Purity),
            "not determinable without the product’s count, the product’s red cells and the product’s white cells"
        );
    }

    #[test]
    fn a_line_holds_the_code_or_every_part() {
        let c = Conventions::default();
        let inputs = Inputs {
            given_count: Some(q(1200.0)),
            given: Some(q(4.0)),
            activators: Some(vec![]),
            haematocrit: Some(q(0.005)),
            ..Inputs::default()
        };
        let lines: Vec<String> =
            classify(&inputs).iter().map(|x| ClassLine(x, &c).english().replace('\u{a0}', " ")).collect();
        assert!(lines[2].starts_with("PLRA: platelets: 1200 ×10⁹/L in 4 mL; "), "{}", lines[2]);
        assert!(lines[2].contains("red cells, by volume: −; activation: −"), "{}", lines[2]);
        let dose = Inputs { dose: Some(q(4.2)), ..Inputs::default() };
        let depa = classify(&dose).remove(3);
        assert!(
            ClassLine(&depa, &c).english().starts_with("DEPA: dose: B (from memory, verify); efficiency")
        );
        assert!(
            lines[0]
                .contains("platelets: not determinable without the baseline count and the product’s count")
        );
    }
}
