//! Words of the count beyond its platelets: recipe, analyser's range, the spin closed by measurement, slips.

use super::Phrase;
use super::choice::SampleName;
use super::unit::{self, Written};
use crate::product::closing::Closes;
use crate::product::measured::Bound;
use crate::product::recipe::Linear;
use crate::product::slip::IfSo;
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Volume};
use std::borrow::Cow;

crate::phrases! {
    /// Headings and names.
    Counting {
        Recipe => "How to count",
        Mix => "For the dilution",
        Tube => "The count sample went into",
        OtherCells => "Other cells",
        OfBlood => "In the blood, by the laboratory",
        CellsFrom => "White and red cells were read from",
        Differential => "Differential",
        White => "White cells, counted",
        WhiteFold => "White cells over the blood’s",
        Neutrophils => "Neutrophils, counted",
        Red => "Red cells, counted",
        Haematocrit => "Haematocrit, counted",
        Closing => "The spin, closed by measurement",
        FoundVolumes => "Product, plasma and cells",
        Tolerance => "What the scales cannot tell",
        Elsewhere => "With the cells, lost, or never there",
        InPlasma => "Platelets in the poor plasma",
    }
}

/// What goes together for a dilution: 50 µL of product into 950 µL of diluent.
#[derive(Debug, Clone, PartialEq)]
pub struct MixWords {
    /// Product taken.
    pub product: Volume,
    /// Diluent.
    pub diluent: Volume,
    /// Number style of the reader.
    pub conventions: Conventions,
}

impl Phrase for MixWords {
    fn english(&self) -> Cow<'static, str> {
        let c = &self.conventions;
        let (product, diluent) = (unit::microlitres(self.product, c), unit::microlitres(self.diluent, c));
        Cow::Owned(format!("{product} of product into {diluent} of diluent"))
    }
}

/// Where the reading to expect lies, with the dilution that would be inside.
#[derive(Debug, Clone, PartialEq)]
pub struct LinearWords(pub Linear, pub Option<Written>);

impl Phrase for LinearWords {
    fn english(&self) -> Cow<'static, str> {
        let base = match self.0 {
            Linear::NotKnown => {
                "Whether the analyser counts in proportion there is not known: enter its range in Bench."
            }
            Linear::Inside => "The analyser counts in proportion there.",
            Linear::PartlyAbove => "The reading may lie above what the analyser counts in proportion.",
            Linear::PartlyBelow => "The reading may lie below what the analyser counts in proportion.",
            Linear::Above => "The reading will lie above what the analyser counts in proportion.",
            Linear::Below => "The reading will lie below what the analyser counts in proportion.",
        };
        match &self.1 {
            Some(d) if d.number == "1" => Cow::Owned(format!("{base} Undiluted it would be inside.")),
            Some(d) => Cow::Owned(format!("{base} At 1 part in {} it would be inside.", d.number)),
            None => Cow::Borrowed(base),
        }
    }
}

impl Phrase for Closes {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Closes::Within => "The volumes close within what the scales can tell.",
            Closes::TooLittle => "Less came out than was filled.",
            Closes::TooMuch => "More came out than was filled.",
        })
    }
}

/// What a slip would make of the number, after the name of the check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlipWords<'a>(pub &'a IfSo, pub &'a Conventions);

impl Phrase for SlipWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let SlipWords(if_so, c) = *self;
        let stands = |bound: &Bound| match bound {
            Bound::Within | Bound::Unknown => "which can be",
            Bound::AboveWithinError => "which counting error explains",
            Bound::Above => "which is still too much",
        };
        Cow::Owned(match if_so {
            IfSo::Sampled { kind, native, recovery, bound } => format!(
                "If the blood’s sample was this: {}, its own count is {} and the recovery {}, {}.",
                SampleName(*kind).english().to_lowercase(),
                unit::count(native.value, c),
                unit::recovery(recovery.value, c),
                stands(bound)
            ),
            IfSo::NotDiluted { recovery, bound } => format!(
                "If the sample was not diluted, the recovery is {}, {}.",
                unit::recovery(recovery.value, c),
                stands(bound)
            ),
            IfSo::NoDilution => {
                return "No dilution is reckoned in, so none can have made the number too high.".into();
            }
            IfSo::ReadAtMost(most) => {
                format!("A mixed sample could have read {} at most.", unit::count(most.value, c))
            }
            IfSo::ProductAtMost(most) => {
                format!(
                    "At this concentration there could be {} of product at most.",
                    unit::volume(most.value, c)
                )
            }
        })
    }
}

/// Where the platelets drawn are: product, plasma, elsewhere, in per cent of what was drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharesWords<'a>(pub &'a [crate::quantity::Share; 3], pub &'a Conventions);

impl Phrase for SharesWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let SharesWords([product, plasma, rest], c) = *self;
        // Two figures are all that two counts can tell.
        let percent = |s: crate::quantity::Share| {
            crate::quantity::write::with_unit(
                &crate::quantity::write::fixed(100.0 * s.get(), 0, c.numbers),
                "%",
            )
        };
        Cow::Owned(format!(
            "Of the platelets drawn, {} are in the product, {} in the poor plasma, {} with the cells, lost, or never there.",
            percent(*product),
            percent(*plasma),
            percent(*rest)
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::q;

    #[test]
    fn a_dilution_is_told_in_microlitres() {
        let words = MixWords { product: q(0.05), diluent: q(0.95), conventions: Conventions::default() };
        assert_eq!(words.english().replace('\u{a0}', " "), "50 µL of product into 950 µL of diluent");
    }

    #[test]
    fn a_range_that_is_not_known_says_so() {
        assert!(LinearWords(Linear::NotKnown, None).english().contains("not known"));
        let d = Written { number: "5".into(), unit: "" };
        assert!(
            LinearWords(Linear::PartlyAbove, Some(d))
                .english()
                .ends_with("At 1 part in 5 it would be inside.")
        );
    }
}
