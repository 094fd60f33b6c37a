//! The patient's size and what may be drawn: blood volume, the clinic's limits, published limits beside them.

mod check;
mod findings;
mod limits;
mod literature;
mod volume;

pub use check::{DrawDemand, LimitHit, LimitLevel, LimitRule, Missing, Note, Patient, PatientCheck, check};
pub use limits::{LimitEntry, Limits, Loosened};
pub use literature::{
    child_blood_volume, child_limit, donor_limit, donor_share_limit, functional_blood_volume, literature,
    research_limit, research_limit_other,
};
pub use volume::{blood_volume, body_mass_index, body_surface, icsh, lemmens, nadler};

use serde::{Deserialize, Serialize};

/// Sex, as the blood-volume formulas and the haemoglobin limits use it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sex {
    /// Female.
    Female,
    /// Male.
    Male,
}
