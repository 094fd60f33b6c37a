//! The order of the parts of a text for the patient's chart. A clinic orders them; it leaves none out.

use serde::{Deserialize, Serialize};

/// A part of the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChartPart {
    /// Identifiers and how they were checked.
    Patient,
    /// Site and what was ordered.
    Order,
    /// Day, prescriber, who made it.
    People,
    /// Planned and done, step by step.
    Done,
    /// What was made, or is expected.
    Made,
    /// Dose by part of the site.
    Doses,
    /// Findings and who decided.
    Findings,
    /// What went wrong, times that were corrected.
    Troubles,
    /// Handed over, signed.
    Signed,
    /// Notes as typed.
    Notes,
    /// Program, model, the clinic's own wording.
    Foot,
}

impl ChartPart {
    /// In the order that ships: who, what was given, how it was made, what was found.
    pub const ALL: [ChartPart; 11] = [
        ChartPart::Patient,
        ChartPart::People,
        ChartPart::Order,
        ChartPart::Made,
        ChartPart::Doses,
        ChartPart::Done,
        ChartPart::Findings,
        ChartPart::Troubles,
        ChartPart::Signed,
        ChartPart::Notes,
        ChartPart::Foot,
    ];
}

/// The clinic's order: whatever was stored, every part stands in it once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "Vec<ChartPart>", into = "Vec<ChartPart>")]
pub struct ChartOrder(Vec<ChartPart>);

impl Default for ChartOrder {
    fn default() -> Self {
        Self(ChartPart::ALL.to_vec())
    }
}

impl From<Vec<ChartPart>> for ChartOrder {
    fn from(parts: Vec<ChartPart>) -> Self {
        let mut order = Vec::with_capacity(ChartPart::ALL.len());
        for part in parts.into_iter().chain(ChartPart::ALL) {
            if !order.contains(&part) {
                order.push(part);
            }
        }
        Self(order)
    }
}

impl From<ChartOrder> for Vec<ChartPart> {
    fn from(order: ChartOrder) -> Self {
        order.0
    }
}

impl ChartOrder {
    /// The parts, first to last.
    pub fn parts(&self) -> &[ChartPart] {
        &self.0
    }
    /// Moves a part one place forward; the first stays.
    pub fn earlier(&mut self, part: ChartPart) {
        if let Some(at) = self.0.iter().position(|p| *p == part).filter(|at| *at > 0) {
            self.0.swap(at, at.saturating_sub(1));
        }
    }
    /// Whether it need not be stored.
    pub fn is_shipped(&self) -> bool {
        *self == Self::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Bench;

    #[test]
    fn every_part_stands_once_whatever_was_stored() {
        let stored: ChartOrder = serde_json::from_str(r#"["notes","doses","notes"]"#).unwrap();
        assert_eq!(stored.parts().len(), ChartPart::ALL.len());
        assert_eq!(stored.parts()[..2], [ChartPart::Notes, ChartPart::Doses]);
        let mut sorted = stored.parts().to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(sorted.len(), ChartPart::ALL.len());
    }

    #[test]
    fn a_part_moves_forward_and_the_first_stays() {
        let mut order = ChartOrder::default();
        order.earlier(ChartPart::Order);
        assert_eq!(order.parts()[1], ChartPart::Order);
        order.earlier(ChartPart::Patient);
        assert_eq!(order.parts()[0], ChartPart::Patient);
    }

    #[test]
    fn a_bench_keeps_it_and_one_stored_before_reads_as_shipped() {
        let mut bench = Bench::default();
        assert!(!bench.to_json().contains("chart"));
        bench.clinic.chart.earlier(ChartPart::Foot);
        assert_eq!(Bench::from_json(&bench.to_json()), Ok(bench));
    }
}
