//! What can go wrong at the chair, and what did.

use super::{Check, Times};
use crate::quantity::time::Instant;
use serde::{Deserialize, Serialize};

/// What can go wrong at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TroubleKind {
    /// A clot is seen.
    Clot,
    /// The draw stopped short.
    ShortDraw,
    /// Blood without its anticoagulant.
    AnticoagulantForgotten,
    /// Plasma is pink.
    PinkPlasma,
    /// Plasma is milky.
    MilkyPlasma,
    /// The spin stopped before its time.
    SpinStopped,
    /// Red cells in the product.
    RedCells,
    /// Clumps in the product.
    Clumps,
    /// A container fell, leaked or was opened.
    Dropped,
    /// A container has no label, or nobody is sure whose it is.
    Unlabelled,
}

impl TroubleKind {
    /// In the order offered.
    pub const ALL: [TroubleKind; 10] = [
        TroubleKind::ShortDraw,
        TroubleKind::Clot,
        TroubleKind::AnticoagulantForgotten,
        TroubleKind::Dropped,
        TroubleKind::Unlabelled,
        TroubleKind::SpinStopped,
        TroubleKind::PinkPlasma,
        TroubleKind::MilkyPlasma,
        TroubleKind::RedCells,
        TroubleKind::Clumps,
    ];
    /// Whether it concerns one container and leaves the others usable.
    pub fn of_one_container(self) -> bool {
        matches!(
            self,
            TroubleKind::Clot
                | TroubleKind::ShortDraw
                | TroubleKind::AnticoagulantForgotten
                | TroubleKind::Dropped
                | TroubleKind::Unlabelled
        )
    }
}

/// One thing that went wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trouble {
    /// What.
    pub kind: TroubleKind,
    /// Which container, from 0, when it concerns one.
    #[serde(default)]
    pub container: Option<u8>,
    /// When it was entered.
    pub at: Instant,
    /// Who entered it.
    #[serde(default)]
    pub by: String,
    /// The container was set aside.
    #[serde(default)]
    pub set_aside: bool,
    /// When that was, and who did it; nothing where a version before did not keep it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aside: Option<Check>,
    /// It was set aside when the product was collected already, so that its blood is in the product.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub collected: bool,
    /// Taken back as a mistake, by whom and when; it stays in the record and raises nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawn: Option<Check>,
}

impl Trouble {
    /// Not taken back.
    pub fn stands(&self) -> bool {
        self.withdrawn.is_none()
    }

    /// Whether its container takes no part in the product: set aside while the containers were still apart, that is
    /// before the product was collected. Afterwards its blood is in the pool, and nothing takes it out again.
    pub fn left_out(&self, times: &Times) -> bool {
        self.stands() && self.set_aside && !self.set_aside_late(times)
    }

    /// Whether it cannot be taken back any more: the product was collected without the container.
    pub fn fixed(&self, times: &Times) -> bool {
        self.left_out(times) && times.collected.is_some()
    }

    /// Whether its container was set aside only after the product was collected.
    pub fn set_aside_late(&self, times: &Times) -> bool {
        let entered_after = times.collected.is_some_and(|collected| self.at >= collected);
        self.stands() && self.set_aside && (self.collected || entered_after)
    }
}
