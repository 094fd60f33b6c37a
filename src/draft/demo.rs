//! The demo case: invented, marked wherever it shows, never in the clinic's statistics.

use super::{CheckSign, Choices, CountStanding, Draft, Field, Kit, Screening, Side};
use crate::arrange::gather;
use crate::bench::{self, Bench};
use crate::blood::anticoagulant::VolumeConvention;
use crate::blood::baseline::SampleKind;
use crate::log::Centrifuges;
use crate::quantity::time::Instant;
use crate::quantity::unit::Conventions;

/// Name of the invented clinic.
pub const CLINIC: &str = "Harbour Lane Joint Clinic";

impl Draft {
    /// The demo case, at the order.
    pub fn demo(id: String, sign: CheckSign, begun: Instant, conventions: Conventions) -> Self {
        // The demo rests on what ships, whatever the clinic has made of its own Bench since.
        let shipped = Bench::default();
        let mut draft = Draft::new(id, sign, begun, conventions);
        draft.demo = true;
        draft.kit = Kit {
            container: shipped.container("tube-15").cloned(),
            protocol: shipped.protocol("double-spin").cloned(),
            rotor: Some(bench::demo_rotor()),
            centrifuge: None,
            centrifuges: Centrifuges::default(),
            limits: shipped.limits,
            clock: shipped.clock,
            analyser: shipped.analyser,
        };
        draft.choices = Choices {
            side: Some(Side::Right),
            count: Some(CountStanding::Today),
            sample: Some(SampleKind::LaboratoryEdta),
            convention: Some(VolumeConvention::FillMark),
            screening: gather(Screening::ALL.into_iter().map(|s| (s, s == Screening::AntiInflammatory))),
            ..Choices::default()
        };
        draft.rows.parts = 2;
        let texts = [
            (Field::PatientReference, "HL-0417"),
            (Field::SecondIdentifier, "4 Aug 1982"),
            (Field::Technician, "MO"),
            (Field::Prescriber, "Dr A. Reyes-Lindqvist"),
            (Field::Site, "patellar tendon"),
            (Field::OrderVolume, "3"),
            (Field::PartName(0), "into the tendon"),
            (Field::PartVolume(0), "2"),
            (Field::PartName(1), "beside it"),
            (Field::PartVolume(1), "1"),
            (Field::Age, "43"),
            (Field::BloodCount, "210"),
            (Field::BloodHaematocrit, "0.42"),
            (Field::Containers, "2"),
            (Field::FillVolume, "15"),
            (Field::ProductVolume, "4"),
            (Field::AnticoagulantLot, "AC-2291"),
            (Field::ContainerLot, "K-0058"),
            (Field::NeedleChanges, "1"),
            (Field::Transfers, "2"),
        ];
        for (field, text) in texts {
            draft.write(field, text);
        }
        draft
    }
}
