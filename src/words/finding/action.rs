//! What to do about a finding, whom to ask, and what can still be reckoned.

use super::super::unit;
use super::trouble;
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{LimitHit, LimitLevel, LimitRule};
use crate::draft::Screening;
use crate::finding::{FindingKind, Level, LotOf, RunDiffers};
use crate::log::CheckState;
use crate::quantity::unit::Conventions;
use crate::spin::programme::Rating;
use std::borrow::Cow;

pub(super) fn action(kind: &FindingKind, c: &Conventions) -> Cow<'static, str> {
    use FindingKind as F;
    Cow::Borrowed(match kind {
        F::AgentUnsuitable(_) => {
            "Choose the anticoagulant that the protocol or the container’s instructions name. Going on with this one needs the prescriber’s name and reason."
        }
        F::AmountUnknown(_) => {
            "Read its label and enter the amount, for 100\u{a0}mL of blood or for a filled container. Until then no draw is planned."
        }
        F::BandUnknown(_) => "Compare the amount with the label.",
        F::AnticoagulantLow { container: None, .. } => {
            "Take more anticoagulant or less blood, or ask the prescriber."
        }
        F::AnticoagulantLow { container: Some(_), .. } => {
            "Turn the container gently and look for clots before the spin. Ask the prescriber whether it is used; everything after it follows what is really inside."
        }
        F::AnticoagulantFarLow { container: None, .. } => {
            "Take more anticoagulant: without enough of it the blood clots. Going on without needs the prescriber’s name and reason."
        }
        F::AnticoagulantFarLow { container: Some(_), .. } => {
            "Do not spin this container before the prescriber has decided and given a reason. Turn it gently, look for clots, and enter what was really inside if the entry is wrong."
        }
        F::AnticoagulantHigh { container: None, .. } => {
            "Take less anticoagulant or more blood, or ask the prescriber."
        }
        F::AnticoagulantHigh { container: Some(_), mark: Some(mark), .. } => {
            return Cow::Owned(format!(
                "Go on, top up to at least the {} mark while the needle is in, or ask the prescriber. Everything after it follows what is really inside.",
                unit::volume(*mark, c)
            ));
        }
        F::AnticoagulantHigh { container: Some(_), mark: None, .. } => {
            "Go on, top up while the needle is in, or ask the prescriber. Everything after it follows what is really inside."
        }
        F::RoundedDown => "Measure the amount shown.",
        F::ConventionUnsaid => {
            "Say which is meant; ask the prescriber if the order does not tell. Until then no draw is planned."
        }
        F::MarkBelowAnticoagulant { .. } => {
            "Read both again: the mark counts anticoagulant and blood together. Until then this container is not reckoned; going on needs the prescriber’s name and reason."
        }
        F::MarkMissing { .. } => {
            "Read its mark and enter it under Needle in. It is not taken as filled: until then it is in no sum, and what rests on all the blood is not shown."
        }
        F::AboveCapacity { container: Some(_), .. } => {
            "Do not spin it as it stands. Read the mark again and correct it; if the container did overflow, set it aside under what went wrong."
        }
        F::AboveCapacity { container: None, .. } => {
            "Do not fill to it. Plan less in each, a larger container, or more containers."
        }
        F::FillOutsideRange { .. } => {
            "Change the volume or the container, or ask whoever keeps Bench. Everything is reckoned as entered."
        }
        F::UnderFilledTube { .. } => {
            "Draw another tube, go on, or ask the prescriber. Enter the mark reached, and everything after it follows."
        }
        F::PartsDiffer { .. } => {
            "Correct whichever was typed wrongly, or ask the prescriber which holds. Doses follow the parts."
        }
        F::OrderUpsideDown { .. } => {
            "Correct whichever was typed wrongly, or ask the prescriber. Until then nothing is held against this part of the order."
        }
        F::Beyond { counted: false, .. } => {
            "Nothing is predicted. Look again at the blood count, the volumes and the protocol’s own figures."
        }
        F::Beyond { counted: true, .. } => {
            "It is left out. Look again at the readings, the dilution and the blood count; do not rely on this count."
        }
        F::MoreThanOneContainer => "Plan one container, or ask the prescriber whether more are meant.",
        F::Limit(hit) => limit(hit),
        F::LimitUnknown { level: LimitLevel::Stop, .. } => {
            "Enter the weight, or draw less. Going on without needs the prescriber’s name and reason."
        }
        F::BloodUntold(told) if !told.whole => {
            "Limits are held against what is known. Ask how much was drawn then, check that those draws are of this patient, and enter the sum with what was drawn elsewhere."
        }
        F::BloodUntold(_) => {
            "Limits are held against the larger amount. Check that those draws are of this patient, and enter the sum with what was drawn elsewhere."
        }
        F::NoPlan => {
            "Enter container, volume and anticoagulant under Order: until then there is nothing to draw to. Going on without needs the prescriber’s name and reason."
        }
        F::LimitUnknown { level: LimitLevel::Caution, .. } => {
            "Enter what is asked for beside the draw. Volumes are reckoned, but not every limit is checked until then."
        }
        F::RebuiltInPart => {
            "Hold it against the card and enter what is missing, the checks too. Handing over from it needs the prescriber’s name and reason."
        }
        F::PlateletsLow(_) => "Tell the prescriber before the needle. The reckoning goes on with this count.",
        F::HaemoglobinLow(_) => "Tell the prescriber before the needle.",
        F::ScreeningYes(what) => match what {
            Screening::AntithromboticMedicine | Screening::AntiInflammatory | Screening::Corticosteroid => {
                "Write down which and when last, and ask the prescriber before the needle. Give no advice about the medicine: that is for the prescriber."
            }
            Screening::Fainted => "Tell whoever draws the blood, and ask the prescriber before the needle.",
            Screening::Allergy => {
                "Write down to what, keep it away from this preparation, and ask the prescriber before the needle."
            }
            Screening::Infection | Screening::BloodDisorder | Screening::Cancer | Screening::Pregnancy => {
                "Write down what the patient said, and ask the prescriber before the needle."
            }
        },
        F::ScreeningOpen => "Ask the rest, or leave them: they print as not asked.",
        F::SampleUnsaid => {
            "Say what it was taken from. A sample with anticoagulant in it reads lower than the blood, and is corrected only then."
        }
        F::WeakSample(kind, _) => match kind {
            SampleKind::FingerPrick => {
                "A count from a vein is surer. Everything is reckoned from this one until another is entered."
            }
            SampleKind::OlderResult => {
                "A count of today is surer. Everything is reckoned from this one, with a wider range for its age."
            }
            SampleKind::LaboratoryEdta | SampleKind::FilledContainer | SampleKind::LiquidCitrate => {
                "Everything is reckoned from this one until another is entered."
            }
        },
        F::NoCount => {
            "Volumes and fold are reckoned. Platelets are shown for several plausible counts; 2 to 3\u{a0}mL taken at the same needle would tell which."
        }
        F::HaematocritUnknown => "Enter it. Until then the product is held against the whole fill alone.",
        F::IdentityUnchecked => {
            "Have the patient state both, and compare them with the order. Going on without needs the prescriber’s name and reason; the amounts stay in view."
        }
        F::IdentityDiffers => {
            "Do not draw, and give nothing that was drawn to anybody. Tell the prescriber, and begin again when both identifiers agree."
        }
        F::DrawnWithOther { .. } => {
            "Enter again what is really in hand. If what stood there before was wrong, look at lot and expiry anew, and tell the prescriber: card and label follow what is entered now."
        }
        F::OrderTakenOver { .. } => {
            "Read the order that was given for today: side, site, volume, additions, prescriber. Correct what differs, and confirm it under Order."
        }
        F::OtherIdentifier { .. } => {
            "Read both identifiers off the patient’s own papers: one of the two is mistaken, or two people have one reference. What was drawn and counted there is not taken as this patient’s; enter what was drawn in eight weeks by hand if it is the same person."
        }
        F::SiteChanged { .. } => {
            "Ask the prescriber which is meant before anything is given. Labels and cards printed before no longer fit: take back every one, destroy it, and print anew. If the change was a slip, enter again what stood there."
        }
        F::SiteReworded { .. } => {
            "Hold it against the order. Labels and cards printed before have the other spelling: take them back and print anew."
        }
        F::SoundUnchecked { .. } => {
            "Look: clear, whole, sealed, in date; and say what was found. Use nothing that is not."
        }
        F::Unsound(LotOf::Anticoagulant) => {
            "Do not use it. Take another, enter its lot, and tell whoever keeps the stock."
        }
        F::Unsound(LotOf::Containers | LotOf::Addition(_)) => {
            "Do not use it. Take another, enter its lot, and tell whoever keeps the stock. If blood is in it already, report it under what went wrong."
        }
        F::Expired { .. } => {
            "Do not use it. Take another lot and enter it, and tell whoever keeps the stock."
        }
        F::OtherProduct { .. } => {
            "Read the label: is it what the plan says? Scan the right one, or, once it is certain, take the code back and type its lot by hand; outer packing may have a number of its own. Otherwise the prescriber decides."
        }
        F::ExpiryDiffers { .. } => {
            "Read the label. If the code is right, scan it again. If the label says otherwise, or the two are of different things, use another lot; otherwise the prescriber decides."
        }
        F::SameProduct { of: LotOf::Addition(_), .. } => {
            "Look at both boxes: which of them is it? Take back the code that is wrong and scan the right one."
        }
        F::SameProduct { .. } => {
            "Look at both: is the code of the container in the field of the anticoagulant, or the other way round? Take back the one that is wrong and scan the right one."
        }
        F::ExpiryUnreadable(_) => {
            "Write day, month and year, the month as a word. Until then read the label yourself."
        }
        F::WhiteCellsContradict => {
            "Ask the prescriber which holds: another protocol, or this one with the prescriber’s name and reason."
        }
        F::NothingToPredictFrom => {
            "Volumes, limits and clocks are reckoned. Count the product: accepted counts give this protocol a range of its own."
        }
        F::LiteratureRange => "Check your process with your own counts before relying on ranges.",
        F::ProductAboveBound { .. } => {
            "Keep less, or ask the prescriber. Taken beyond it, the product brings cells along."
        }
        F::KeptAboveFill { .. } => {
            "Read both volumes again and correct the wrong one. Handing it over as it is entered needs the prescriber’s name and reason."
        }
        F::ProductOutsideRange { .. } => {
            "Change the volume, or ask whoever keeps Bench. Everything is reckoned as entered."
        }
        F::LedgerShort { .. } => {
            "Take a smaller sample or keep more product, or ask the prescriber which site gets less. Until then the ledger does not close."
        }
        F::OverRating(breach) => match breach.rating {
            Rating::RotorSpeed => {
                "Do not start it. Lower the speed or take another rotor, and tell whoever keeps the centrifuge."
            }
            Rating::Bucket => {
                "Do not start it. Lower the speed or take other buckets, and tell whoever keeps the centrifuge."
            }
            Rating::Container => {
                "Do not start it. Lower the speed or take other containers, and tell whoever keeps the protocol."
            }
        },
        F::OutOfBalance { turned: true, .. } => {
            "Tell whoever keeps the centrifuge, and look at every container for cracks and leaks. If a weight was typed wrongly, correct it."
        }
        F::OutOfBalance { other: None, .. } => {
            "Do not start it. Even the counterweight out with water, close it, weigh again, and type what the scale reads."
        }
        F::OutOfBalance { .. } => {
            "Do not start it. Check both weights; where they are right, put each across from a counterweight of its own, as the centrifuge’s instructions say, and type what the scale reads of each under Counterweights of their own."
        }
        F::RanOverRating(breach) => match breach.rating {
            Rating::RotorSpeed | Rating::Bucket => {
                "Tell the lead, and do not start this rotor again before it was inspected as its instructions say. Look at every container for cracks and leaks."
            }
            Rating::Container => {
                "Tell the lead, and look at every container for cracks and leaks. What its instructions say of such a container comes first."
            }
        },
        F::RunDiffers { what: RunDiffers::Clock { .. }, .. } => {
            "Correct the times under Times, as entered, or say under What really ran how long it ran. If it ran so, tell the prescriber: the expected range was made for the programme as planned."
        }
        F::RunDiffers { .. } => {
            "If that is a slip of typing, correct it. If it ran so, tell the prescriber: the expected range was made for the programme as planned, and only a count tells."
        }
        F::NoRating { .. } => {
            "Read it from the part or its instructions, hold the speed against it yourself, and have it entered in Bench. Until then nothing is checked here."
        }
        F::CentrifugeCheck { chosen: false, .. } => {
            "Choose the centrifuge it spins on, below the rotor. If it may be this one, ask whoever looks after it whether it may be used."
        }
        F::CentrifugeCheck { state: CheckState::Failed(_), .. } => {
            "Ask whoever looks after the centrifuge before it is used; spin on another one if you can. A speed or a time that is not what it says changes what the spin makes."
        }
        F::CentrifugeCheck { .. } => {
            "Ask whoever looks after the centrifuge whether it may be used, and have the check made and entered in the log. What is reckoned takes its speed and its timer for right."
        }
        F::NoRotor => {
            "Choose the rotor the containers are in. Until then no speed and no force is shown, and none is held against a rating."
        }
        F::RatingUnchecked => {
            "Have the missing radius entered in Bench, or take another rotor. Going on without needs the prescriber’s name and reason."
        }
        F::RadiusUnknown => {
            "Have its radius entered in Bench, or take another rotor. Until then no speed is shown for that stage."
        }
        F::PastSpinBy(_) => {
            "Tell the prescriber, who decides whether the blood is still used. The delay goes into the record."
        }
        F::PastUseBy(_) => {
            "Do not hand it over before the prescriber has decided and given a reason. The use-by is never extended here."
        }
        F::GivenPastUseBy { .. } => {
            "Look whether that time is right; if it is, tell the prescriber. The use-by is never extended here."
        }
        F::ClockWentBack => {
            "Correct the time that is wrong under Times, as entered. If none is, compare this device with another clock: spin-by and use-by may be wrong."
        }
        F::UseByEarlier { .. } => {
            "Every label and card printed before is to be taken back and printed anew, and whoever received the product is to be told. Ask the prescriber whether it is still given. If the correction was a slip, correct it back."
        }
        F::Trouble(kind, _) => return trouble::action(*kind),
        F::SpinCutShort => {
            "Ask the prescriber whether the product is used or blood is drawn again. Do not rely on the platelets and the dose predicted: volumes and anticoagulant stand, and a count tells what is in it. Enter the speed and the time really run."
        }
        F::SetAside(_) => "The others are reckoned without it. What was drawn into it still counts as drawn.",
        F::SetAsideLate(_) => {
            "Setting it aside lifts nothing any more, and its blood is reckoned as part of the product. Tell the prescriber what happened to it."
        }
        F::NothingLeft => {
            "Do not spin or hand over what was set aside. Tell the prescriber, who decides whether blood is drawn again; another container is entered under Needle in."
        }
        F::AboveCeiling { .. } => {
            "Check in this order: kind of the blood sample, dilution, mixing, product volume. Do not rely on the count until it is explained."
        }
        F::FoldUnlikely { .. } => {
            "Check that it is the product that was counted, not the blood or the plasma left over; then units, dilution and mixing. Until that is seen to, nothing of this product is called counted. Tell the prescriber before hand-over if it stays so."
        }
        F::MixingUnsaid => {
            "Confirm it, or mix and count again. Do not rely on this count; the label does not state it."
        }
        F::NotMixed => {
            "Mix and count again, or ask the prescriber. Handing over on this count needs the prescriber’s name and reason; the label does not state it."
        }
        F::DilutionUnsaid => "Say it under Count. Until then nothing of this product is called counted.",
        F::ProductTubeUnsaid => {
            "Say what it was. A liquid-citrate tube makes the analyser read less, and is corrected only then."
        }
        F::CellsDilutionUnsaid => "Say it under Count. Until then nothing is said of these cells.",
        F::ReadingNotLinear { above: true, rather, .. } => {
            return match rather {
                Some(d) => Cow::Owned(format!(
                    "Dilute 1 part in {} or more, read again, and enter the new reading. Do not rely on this one; the label does not state it.",
                    unit::factor(*d, c).number
                )),
                None => "Dilute, read again, and enter the new reading. Do not rely on this one; the label does not state it.".into(),
            };
        }
        F::ReadingNotLinear { above: false, .. } => {
            "Dilute less, read again, and enter the new reading. Do not rely on this one; the label does not state it."
        }
        F::DifferentialOver { .. } => "Look at the three again: each is per cent of the white cells.",
        F::VolumesOpen { .. } => {
            "Read the marks of fill, plasma and cells and the product kept again. If they hold, ask where the rest went: spilled, left in a container, or not written down."
        }
        F::PlateletsOver { .. } => {
            "Check in this order: kind of the blood sample, dilution, mixing, volumes. Do not rely on the counts until it is explained."
        }
        F::WhiteCellsNotCounted => "Nothing is said about white cells. The card prints them as not counted.",
        F::AdditionIncomplete => {
            "Enter all three as ordered. Until then no volume, concentration or dose after it is given; handing over without needs the prescriber’s name and reason."
        }
        F::CalciumAdded => {
            "Have a second person read salt, strength and volume against the order. Where the citrate is known, the calcium stands beside it."
        }
        F::Unread(_) if kind.level() == Level::Caution => {
            "Correct it, or choose a reading under it. Until then it is not known, and nothing stands in its place."
        }
        F::Unread(_) => {
            "Correct it, or choose a reading under it. Until then what rests on it is not reckoned; going on needs the prescriber’s name and reason."
        }
        F::BloodUnknown => {
            "Enter every mark under Needle in. Until then the count stands alone: no fold and no recovery are reckoned from it."
        }
        F::ProductNotCounted => {
            "Platelets in product and dose stay predictions. The card prints: platelets not counted."
        }
    })
}

fn limit(hit: &LimitHit) -> &'static str {
    use LimitRule as R;
    match (hit.level, hit.rule) {
        (_, R::Minor) => "Ask the prescriber, who gives name and reason if the draw goes on.",
        (LimitLevel::Caution, R::PerKg | R::Share | R::Volume | R::EightWeeksPerKg | R::EightWeeksVolume) => {
            "Draw less, or tell the prescriber before the needle."
        }
        (LimitLevel::Caution, R::HaemoglobinLow | R::HaemoglobinForVolume | R::HaemoglobinForPerKg) => {
            "Tell the prescriber before the needle."
        }
        (LimitLevel::Caution, R::LightWeight | R::SmallBloodVolume | R::FirstDraw) => {
            "Draw less, or tell the prescriber before the needle. Keep the patient in sight during the draw and after it."
        }
        (
            LimitLevel::Stop,
            R::PerKg
            | R::Share
            | R::Volume
            | R::EightWeeksPerKg
            | R::EightWeeksVolume
            | R::HaemoglobinLow
            | R::HaemoglobinForVolume
            | R::HaemoglobinForPerKg
            | R::LightWeight
            | R::SmallBloodVolume
            | R::FirstDraw,
        ) => "Draw less. Going on as planned needs the prescriber’s name and reason.",
    }
}
