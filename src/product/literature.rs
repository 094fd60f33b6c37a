//! What others have published of platelet doses, and beside it the trials that found nothing. Literature, never a
//! recommendation; the sentences are in `words::literature`.

use crate::evidence::SourceId;
use crate::working::Figure;

/// On which side a report stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// A range or an effect reported.
    Reported,
    /// No difference found, or caution advised.
    Null,
}

/// A published statement, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportId {
    /// A working definition of concentration and volume.
    WorkingDefinition,
    /// Best concentration in vitro.
    InVitroBest,
    /// Concentrations reported before.
    Historic,
    /// Doses across products.
    AcrossProducts,
    /// Concentrations of one clinic.
    ClinicSeries,
    /// A trial against hyaluronic acid.
    AgainstHyaluronicAcid,
    /// Doses of positive against negative arms.
    PositiveArms,
    /// A review that suggests a dose.
    SuggestedDose,
    /// A comparison with corticosteroid.
    AgainstCorticosteroid,
    /// An agreement of experts.
    Experts,
    /// Knee, against saline.
    KneeSaline,
    /// Achilles tendinopathy.
    Achilles,
    /// Ankle osteoarthritis.
    Ankle,
    /// Achilles rupture.
    AchillesRupture,
    /// Trials of sports injuries.
    SportsInjuries,
    /// Guidelines for the knee.
    Guidelines,
}

/// A published statement with its figures, in the order its sentence names them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Report {
    /// Which.
    pub id: ReportId,
    /// On which side it stands.
    pub side: Side,
    /// Its figures.
    pub figures: &'static [Figure],
    /// Where it was published.
    pub source: SourceId,
}

const fn cells(value: f64) -> Figure {
    Figure { value, unit: "×10⁹" }
}
const fn count(value: f64) -> Figure {
    Figure { value, unit: "×10⁹/L" }
}
const fn ml(value: f64) -> Figure {
    Figure { value, unit: "mL" }
}
const fn number(value: f64) -> Figure {
    Figure { value, unit: "" }
}
const fn percent(value: f64) -> Figure {
    Figure { value, unit: "%" }
}

const fn reported(id: ReportId, figures: &'static [Figure], source: SourceId) -> Report {
    Report { id, side: Side::Reported, figures, source }
}
const fn null(id: ReportId, figures: &'static [Figure], source: SourceId) -> Report {
    Report { id, side: Side::Null, figures, source }
}

/// Every report, those of a side together. Neither side is shown without the other.
pub const REPORTS: &[Report] = &[
    reported(ReportId::WorkingDefinition, &[count(1000.0), ml(5.0), cells(5.0)], SourceId::Marx2001),
    reported(ReportId::InVitroBest, &[count(1500.0)], SourceId::Giusti2009),
    reported(
        ReportId::Historic,
        &[count(2000.0), count(10_000.0), ml(20.0), ml(100.0)],
        SourceId::Bansal2021,
    ),
    reported(ReportId::AcrossProducts, &[cells(0.21), cells(5.43)], SourceId::Depa2016),
    reported(ReportId::ClinicSeries, &[number(686.0), count(378.0), count(222.0)], SourceId::Series686),
    reported(ReportId::AgainstHyaluronicAcid, &[cells(10.0), number(150.0)], SourceId::Bansal2021),
    reported(
        ReportId::PositiveArms,
        &[number(28.0), cells(5.5), number(3.0), cells(2.302)],
        SourceId::Berrigan2024,
    ),
    reported(ReportId::SuggestedDose, &[cells(10.0)], SourceId::BerriganMeta2024),
    reported(ReportId::AgainstCorticosteroid, &[number(8.0), number(648.0)], SourceId::SteroidComparison),
    reported(ReportId::Experts, &[], SourceId::FrenchExperts2021),
    null(
        ReportId::KneeSaline,
        &[number(288.0), number(-2.1), number(-1.8), percent(-1.4), percent(-1.2)],
        SourceId::Restore2021,
    ),
    null(ReportId::Achilles, &[number(240.0), number(54.4), number(53.4)], SourceId::Achilles2021),
    null(ReportId::Ankle, &[number(100.0)], SourceId::AnkleOa2021),
    null(ReportId::AchillesRupture, &[number(230.0)], SourceId::AchillesRupture2019),
    null(ReportId::SportsInjuries, &[number(13.0)], SourceId::SportsTrials13),
    null(ReportId::Guidelines, &[], SourceId::KneeGuidelines),
];

/// The reports of one side.
pub fn of(side: Side) -> impl Iterator<Item = &'static Report> {
    REPORTS.iter().filter(move |r| r.side == side)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_sides_are_there_and_no_report_twice() {
        assert!(of(Side::Reported).count() >= 5 && of(Side::Null).count() >= 5);
        for (i, report) in REPORTS.iter().enumerate() {
            assert!(REPORTS[..i].iter().all(|r| r.id != report.id), "{:?}", report.id);
        }
    }
}
