//! What others have published of doses, in sentences; see [`crate::product::literature`].

use super::Phrase;
use super::unit;
use crate::product::literature::{Report, ReportId, Side};
use crate::quantity::unit::Conventions;
use std::borrow::Cow;

crate::phrases! {
    /// Heading and what always stands with it.
    Literature {
        Heading => "Published doses, and the trials that found nothing",
        Describes => "Published dose ranges describe studies; they do not predict an individual’s benefit, and none is a target.",
        Confounded => "Contrasts between studies are confounded, the arms without effect are few, and several trials that found nothing did not measure a dose.",
    }
}

impl Phrase for Side {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Side::Reported => "Reported",
            Side::Null => "No difference found, or caution advised",
        })
    }
}

/// The sentence of one report.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReportWords<'a>(pub &'a Report, pub &'a Conventions);

impl Phrase for ReportWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let ReportWords(report, c) = *self;
        let mut figures = report.figures.iter();
        let mut out = String::new();
        for (i, piece) in template(report.id).split("{}").enumerate() {
            if i > 0
                && let Some(figure) = figures.next()
            {
                out.push_str(&unit::figure(figure, c).to_string());
            }
            out.push_str(piece);
        }
        Cow::Owned(out)
    }
}

/// The sentence with a place for each figure.
fn template(id: ReportId) -> &'static str {
    match id {
        ReportId::WorkingDefinition => "A working definition: {} in {}, which is {} platelets.",
        ReportId::InVitroBest => "In vitro, vessels grew best at {}; lower and higher did less.",
        ReportId::Historic => "Earlier reports: {} to {} from {} to {} of blood.",
        ReportId::AcrossProducts => "Across the products of one comparison: {} to {}.",
        ReportId::ClinicSeries => "In a series of {} patients the product held {}, the blood {}.",
        ReportId::AgainstHyaluronicAcid => {
            "Knee: {} gave better scores at one year than hyaluronic acid, in {} patients; no other dose was tried."
        }
        ReportId::PositiveArms => {
            "Knee: the {} trial arms with an effect gave {} on average, the {} without gave {}."
        }
        ReportId::SuggestedDose => {
            "A review suggests more than {}, for function more than for pain; other sites stay unclear."
        }
        ReportId::AgainstCorticosteroid => {
            "{} studies with {} patients: better than corticosteroid at 3 to 9 months."
        }
        ReportId::Experts => {
            "French-speaking experts: effective in mild to moderate knee osteoarthritis, in relative agreement."
        }
        ReportId::KneeSaline => {
            "Knee, {} patients, three weekly injections against saline: pain {} against {} at 12 months, cartilage {} against {}; neither differs significantly."
        }
        ReportId::Achilles => {
            "Achilles tendinopathy, {} patients: a score of {} against {} at 6 months, not significantly different."
        }
        ReportId::Ankle => {
            "Ankle osteoarthritis, {} patients, two injections: no significant benefit over 26 weeks."
        }
        ReportId::AchillesRupture => "Acute Achilles rupture, {} patients: no benefit at 24 weeks.",
        ReportId::SportsInjuries => "{} trials of sports injuries: no better in pain or function.",
        ReportId::Guidelines => {
            "Two guidelines recommend against platelet-rich plasma in knee osteoarthritis."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::product::literature::REPORTS;

    #[test]
    fn every_figure_has_its_place() {
        for report in REPORTS {
            assert_eq!(template(report.id).matches("{}").count(), report.figures.len(), "{:?}", report.id);
        }
        let said = ReportWords(&REPORTS[0], &Conventions::default()).english().replace('\u{a0}', " ");
        assert_eq!(said, "A working definition: 1000 ×10⁹/L in 5 mL, which is 5 ×10⁹ platelets.");
    }
}
