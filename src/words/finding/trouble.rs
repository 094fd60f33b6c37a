//! What to do when something went wrong: what must stop, whom to ask, what can still be reckoned, what the
//! record keeps.

use super::super::Phrase;
use crate::draft::TroubleKind;
use std::borrow::Cow;

/// One of the four things to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TroublePart {
    /// What must stop; or that nothing must.
    MustStop,
    /// Whom to ask or tell.
    Ask,
    /// What can still be reckoned.
    Reckoned,
    /// What goes into the record.
    Record,
}

impl TroublePart {
    /// All four, in the order read out.
    pub const ALL: [TroublePart; 4] =
        [TroublePart::MustStop, TroublePart::Ask, TroublePart::Reckoned, TroublePart::Record];
}

/// One of the four, for one trouble.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TroubleWords {
    /// What went wrong.
    pub kind: TroubleKind,
    /// Which of the four.
    pub part: TroublePart,
}

impl Phrase for TroubleWords {
    fn english(&self) -> Cow<'static, str> {
        use TroubleKind as T;
        Cow::Borrowed(match self.part {
            TroublePart::MustStop => match self.kind {
                T::ShortDraw => {
                    "Nothing has to stop: go on with what is there, or top up while the needle is in."
                }
                T::Clot => "Do not spin this container, and do not use its blood.",
                T::AnticoagulantForgotten => {
                    "Do not spin this container. Anticoagulant added now does not undo clotting that has begun."
                }
                T::Dropped => {
                    "Do not use what is in it, and treat a spill as the clinic’s rules for blood say."
                }
                T::Unlabelled => "Do not use it, and do not label it from memory.",
                T::SpinStopped => {
                    "Let the rotor come to rest, and find out why it stopped before it starts again."
                }
                T::PinkPlasma => {
                    "Nothing has to stop for a pink tinge. If the product itself is red, enter red cells in the product."
                }
                T::MilkyPlasma => {
                    "Nothing has to stop yet; do not hand the product over before it has been seen."
                }
                T::RedCells => "Do not hand it over before the prescriber has decided.",
                T::Clumps => {
                    "Do not hand it over before the prescriber has decided, and do not rely on a count of it."
                }
            },
            TroublePart::Ask => match self.kind {
                T::ShortDraw => {
                    "Ask the prescriber if the anticoagulant is above its range or the volume ordered cannot be reached."
                }
                T::Clot | T::AnticoagulantForgotten => {
                    "Tell the prescriber, who decides whether blood is drawn again."
                }
                T::Dropped => {
                    "Tell the prescriber. A container that broke in the rotor is also a matter for its keeper."
                }
                T::Unlabelled => {
                    "Tell the prescriber at once, also for every other case that was open in the room."
                }
                T::SpinStopped => "Ask the prescriber whether the spin is run again or blood is drawn again.",
                T::PinkPlasma => {
                    "Show it to the prescriber before hand-over; the red cells may have burst or been stirred up."
                }
                T::MilkyPlasma => "Show it to the prescriber, who decides whether it is used.",
                T::RedCells => {
                    "Show it to the prescriber, who decides whether it is used and gives a reason."
                }
                T::Clumps => "Show it to the prescriber, who decides whether it is used and gives a reason.",
            },
            TroublePart::Reckoned => match self.kind {
                T::ShortDraw => {
                    "Enter the mark reached; the anticoagulant share and everything after it follow."
                }
                T::Clot | T::AnticoagulantForgotten | T::Dropped => {
                    "Set the container aside before the product is collected, and the others are reckoned without it; its blood still counts as drawn. Afterwards its blood is in the product, and this Stop stays."
                }
                T::Unlabelled => {
                    "Set the container aside before the product is collected, and those that are certain are reckoned without it; its blood still counts as drawn. Afterwards its blood is in the product, and this Stop stays."
                }
                T::SpinStopped => {
                    "Volumes and anticoagulant stand. The expected range was made for the whole programme: count the product before relying on it."
                }
                T::PinkPlasma => "Volumes, counts and doses are reckoned as before.",
                T::MilkyPlasma => {
                    "Volumes stand. An analyser can misread milky plasma, so say so to whoever counts."
                }
                T::RedCells => {
                    "Volumes stand. White cells and red cells are not known unless they are counted."
                }
                T::Clumps => {
                    "Volumes stand. Platelets in product and doses stay predictions, because clumps make a count read low."
                }
            },
            TroublePart::Record => match self.kind {
                T::ShortDraw => "The record keeps the mark reached and the time.",
                T::Clot => "The record keeps the clot, the container, the lots and the time.",
                T::AnticoagulantForgotten => {
                    "The record keeps that it was forgotten, in which container and when it was noticed."
                }
                T::Dropped => "The record keeps what happened, to which container and when.",
                T::Unlabelled => "The record keeps which container, when it was noticed and by whom.",
                T::SpinStopped => {
                    "Enter the speed and the time really run; the record keeps them with the reason."
                }
                T::PinkPlasma | T::MilkyPlasma => "The record and the card keep what the plasma looked like.",
                T::RedCells => "The record and the card keep it, with the prescriber’s name and reason.",
                T::Clumps => "The record and the card keep it, with the prescriber’s name and reason.",
            },
        })
    }
}

/// What was seen, in which container.
pub(super) fn cause(kind: TroubleKind, container: Option<u8>) -> Cow<'static, str> {
    use TroubleKind as T;
    let number = container.map(|i| u32::from(i) + 1);
    let (one, any) = match kind {
        T::ShortDraw => {
            ("The draw into container {} stopped short of its mark.", "The draw stopped short of its mark.")
        }
        T::Clot => ("A clot is seen in container {}.", "A clot is seen."),
        T::AnticoagulantForgotten => {
            ("Container {} is without its anticoagulant.", "Blood was drawn without its anticoagulant.")
        }
        T::Dropped => ("Container {} fell, leaked or was opened.", "A container fell, leaked or was opened."),
        T::Unlabelled => (
            "Container {} has no label, or it is not certain whose it is.",
            "A container has no label, or it is not certain whose it is.",
        ),
        T::SpinStopped => {
            ("The spin of container {} stopped before its time.", "The spin stopped before its time.")
        }
        T::PinkPlasma => ("The plasma in container {} is pink.", "The plasma is pink."),
        T::MilkyPlasma => ("The plasma in container {} is milky.", "The plasma is milky."),
        T::RedCells => ("The product from container {} is plainly red.", "The product is plainly red."),
        T::Clumps => ("The product from container {} has clumps in it.", "The product has clumps in it."),
    };
    match number {
        Some(n) => Cow::Owned(one.replace("{}", &n.to_string())),
        None => Cow::Borrowed(any),
    }
}

/// The four parts as one text.
pub(super) fn action(kind: TroubleKind) -> Cow<'static, str> {
    let parts = TroublePart::ALL.map(|part| TroubleWords { kind, part }.english());
    Cow::Owned(parts.join(" "))
}
