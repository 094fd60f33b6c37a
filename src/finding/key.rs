//! The keys under which decisions are stored. They are a stored format: written out here, pinned by a test, and
//! never made from the names in the code.

use super::{FindingKind, LotOf, RunDiffers};
use crate::blood::anticoagulant::Agent;
use crate::blood::patient::LimitRule;
use crate::draft::{Screening, TroubleKind};
use crate::log::Checked;
use crate::product::order::OrderedAmount;
use crate::quantity::{Haematocrit, Quantity, RedCount};
use crate::spin::programme::Rating;

impl FindingKind {
    /// The kind alone, as it stands in the hazard list.
    pub fn name(&self) -> &'static str {
        use FindingKind as F;
        match self {
            F::AgentUnsuitable(_) => "agent_unsuitable",
            F::AmountUnknown(_) => "amount_unknown",
            F::BandUnknown(_) => "band_unknown",
            F::AnticoagulantLow { .. } => "anticoagulant_low",
            F::AnticoagulantFarLow { .. } => "anticoagulant_far_low",
            F::AnticoagulantHigh { .. } => "anticoagulant_high",
            F::RoundedDown => "rounded_down",
            F::ConventionUnsaid => "convention_unsaid",
            F::MarkMissing { .. } => "mark_missing",
            F::MarkBelowAnticoagulant { .. } => "mark_below_anticoagulant",
            F::AboveCapacity { .. } => "above_capacity",
            F::FillOutsideRange { .. } => "fill_outside_range",
            F::UnderFilledTube { .. } => "under_filled_tube",
            F::MoreThanOneContainer => "more_than_one_container",
            F::PartsDiffer { .. } => "parts_differ",
            F::Beyond { .. } => "beyond",
            F::Limit(_) => "limit",
            F::LimitUnknown { .. } => "limit_unknown",
            F::BloodUntold(_) => "blood_untold",
            F::PlateletsLow(_) => "platelets_low",
            F::HaemoglobinLow(_) => "haemoglobin_low",
            F::ScreeningYes(_) => "screening_yes",
            F::ScreeningOpen => "screening_open",
            F::SampleUnsaid => "sample_unsaid",
            F::WeakSample(..) => "weak_sample",
            F::NoCount => "no_count",
            F::HaematocritUnknown => "haematocrit_unknown",
            F::IdentityUnchecked => "identity_unchecked",
            F::IdentityDiffers => "identity_differs",
            F::SoundUnchecked { .. } => "sound_unchecked",
            F::Unsound(_) => "unsound",
            F::Expired { .. } => "expired",
            F::ExpiryDiffers { .. } => "expiry_differs",
            F::SameProduct { .. } => "same_product",
            F::ExpiryUnreadable(_) => "expiry_unreadable",
            F::OtherProduct { .. } => "other_product",
            F::WhiteCellsContradict => "white_cells_contradict",
            F::NothingToPredictFrom => "nothing_to_predict_from",
            F::LiteratureRange => "literature_range",
            F::ProductAboveBound { .. } => "product_above_bound",
            F::ProductOutsideRange { .. } => "product_outside_range",
            F::LedgerShort { .. } => "ledger_short",
            F::OverRating(_) => "over_rating",
            F::RanOverRating(_) => "ran_over_rating",
            F::OutOfBalance { .. } => "out_of_balance",
            F::RunDiffers { .. } => "run_differs",
            F::NoRating { .. } => "no_rating",
            F::NoRotor => "no_rotor",
            F::CentrifugeCheck { .. } => "centrifuge_check",
            F::RadiusUnknown => "radius_unknown",
            F::RatingUnchecked => "rating_unchecked",
            F::PastSpinBy(_) => "past_spin_by",
            F::PastUseBy(_) => "past_use_by",
            F::GivenPastUseBy { .. } => "given_past_use_by",
            F::UseByEarlier { .. } => "use_by_earlier",
            F::ClockWentBack => "clock_went_back",
            F::Trouble(_, _) => "trouble",
            F::SpinCutShort => "spin_cut_short",
            F::SetAside(_) => "set_aside",
            F::AboveCeiling { .. } => "above_ceiling",
            F::MixingUnsaid => "mixing_unsaid",
            F::NotMixed => "not_mixed",
            F::DilutionUnsaid => "dilution_unsaid",
            F::WhiteCellsNotCounted => "white_cells_not_counted",
            F::AdditionIncomplete => "addition_incomplete",
            F::CalciumAdded => "calcium_added",
            F::ProductNotCounted => "product_not_counted",
            F::BloodUnknown => "blood_unknown",
            F::Unread(_) => "unread",
            F::NoPlan => "no_plan",
            F::RebuiltInPart => "rebuilt_in_part",
            F::NothingLeft => "nothing_left",
            F::KeptAboveFill { .. } => "kept_above_fill",
            F::DrawnWithOther { .. } => "drawn_with_other",
            F::SiteChanged { .. } => "site_changed",
            F::SiteReworded { .. } => "site_reworded",
            F::OtherIdentifier { .. } => "other_identifier",
            F::OrderTakenOver { .. } => "order_taken_over",
            F::FoldUnlikely { .. } => "fold_below_one",
            F::SetAsideLate(_) => "set_aside_late",
            F::OrderUpsideDown { .. } => "order_upside_down",
            F::ProductTubeUnsaid => "product_tube_unsaid",
            F::CellsDilutionUnsaid => "cells_dilution_unsaid",
            F::ReadingNotLinear { .. } => "reading_not_linear",
            F::DifferentialOver { .. } => "differential_over",
            F::VolumesOpen { .. } => "volumes_open",
            F::PlateletsOver { .. } => "platelets_over",
        }
    }

    /// Stable key under which a decision is stored. Numbers that may move with typing are not part of it: they
    /// are what the decision is about, and decide whether it still holds. A container number is.
    pub fn key(&self) -> String {
        use FindingKind as F;
        let stem = self.name();
        match self {
            F::AnticoagulantLow { container: Some(i), .. }
            | F::AnticoagulantFarLow { container: Some(i), .. }
            | F::AnticoagulantHigh { container: Some(i), .. }
            | F::AboveCapacity { container: Some(i), .. }
            | F::MarkMissing { container: i }
            | F::MarkBelowAnticoagulant { container: i }
            | F::UnderFilledTube { container: i }
            | F::SetAside(i)
            | F::SetAsideLate(i) => format!("{stem}.{}", number(*i)),
            F::AgentUnsuitable(agent) => format!("{stem}.{}", agent_key(*agent)),
            F::ScreeningYes(what) => format!("{stem}.{}", screening(*what)),
            F::CentrifugeCheck { of: Checked::Speed, .. } => format!("{stem}.speed"),
            F::CentrifugeCheck { of: Checked::Timer, .. } => format!("{stem}.timer"),
            F::Unsound(of)
            | F::ExpiryUnreadable(of)
            | F::Expired { of, .. }
            | F::ExpiryDiffers { of, .. }
            | F::SameProduct { of: of @ LotOf::Addition(_), .. }
            | F::OtherProduct { of, .. } => {
                format!("{stem}.{}", lot(*of))
            }
            F::Limit(hit) => format!("{stem}.{}", rule(hit.rule)),
            F::Unread(field) => format!("{stem}.{field}"),
            F::OrderUpsideDown { what, .. } => format!("{stem}.{}", amount(*what)),
            F::RunDiffers { stage, what } => {
                let what = match what {
                    RunDiffers::Speed { .. } => "speed",
                    RunDiffers::Time { .. } => "time",
                    RunDiffers::Clock { .. } => "clock",
                };
                format!("{stem}.{}.{what}", number(*stage))
            }
            F::RanOverRating(breach) => format!("{stem}.{}", rating(breach.rating)),
            F::OutOfBalance { second: false, .. } => format!("{stem}.first"),
            F::OutOfBalance { second: true, .. } => format!("{stem}.second"),
            F::Trouble(kind, Some(i)) => format!("{stem}.{}.{}", trouble(*kind), number(*i)),
            F::Trouble(kind, None) => format!("{stem}.{}", trouble(*kind)),
            // What was decided of the stop is decided, ended there or not.
            F::SpinCutShort => F::Trouble(TroubleKind::SpinStopped, None).key(),
            F::Beyond { counted: true, range } if range.quantity == Haematocrit::NAME => {
                format!("{stem}.count.haematocrit")
            }
            F::Beyond { counted: true, range } if range.quantity == RedCount::NAME => {
                format!("{stem}.count.red_cells")
            }
            F::Beyond { counted: true, .. } => format!("{stem}.count"),
            F::Beyond { counted: false, .. } => format!("{stem}.prediction"),
            F::AnticoagulantLow { container: None, .. }
            | F::AnticoagulantFarLow { container: None, .. }
            | F::AnticoagulantHigh { container: None, .. }
            | F::AboveCapacity { container: None, .. }
            | F::AmountUnknown(_)
            | F::BandUnknown(_)
            | F::RoundedDown
            | F::ConventionUnsaid
            | F::FillOutsideRange { .. }
            | F::MoreThanOneContainer
            | F::PartsDiffer { .. }
            | F::LimitUnknown { .. }
            | F::BloodUntold(_)
            | F::OtherIdentifier { .. }
            | F::OrderTakenOver { .. }
            | F::NoPlan
            | F::RebuiltInPart
            | F::NothingLeft
            | F::KeptAboveFill { .. }
            | F::DrawnWithOther { .. }
            | F::SiteChanged { .. }
            | F::SiteReworded { .. }
            | F::FoldUnlikely { .. }
            | F::PlateletsLow(_)
            | F::HaemoglobinLow(_)
            | F::ScreeningOpen
            | F::SampleUnsaid
            | F::SameProduct { .. }
            | F::WeakSample(..)
            | F::NoCount
            | F::HaematocritUnknown
            | F::IdentityUnchecked
            | F::IdentityDiffers
            | F::SoundUnchecked { .. }
            | F::WhiteCellsContradict
            | F::NothingToPredictFrom
            | F::LiteratureRange
            | F::ProductAboveBound { .. }
            | F::ProductOutsideRange { .. }
            | F::LedgerShort { .. }
            | F::OverRating(_)
            | F::NoRating { .. }
            | F::NoRotor
            | F::RadiusUnknown
            | F::RatingUnchecked
            | F::PastSpinBy(_)
            | F::PastUseBy(_)
            | F::GivenPastUseBy { .. }
            | F::UseByEarlier { .. }
            | F::ClockWentBack
            | F::AboveCeiling { .. }
            | F::MixingUnsaid
            | F::NotMixed
            | F::DilutionUnsaid
            | F::WhiteCellsNotCounted
            | F::AdditionIncomplete
            | F::CalciumAdded
            | F::ProductNotCounted
            | F::ProductTubeUnsaid
            | F::CellsDilutionUnsaid
            | F::ReadingNotLinear { .. }
            | F::DifferentialOver { .. }
            | F::VolumesOpen { .. }
            | F::PlateletsOver { .. }
            | F::BloodUnknown => stem.to_owned(),
        }
    }
}

/// As a person counts, from 1.
fn number(index: u8) -> u32 {
    u32::from(index) + 1
}

fn agent_key(agent: Agent) -> &'static str {
    match agent {
        Agent::AcdA => "acd_a",
        Agent::AcdB => "acd_b",
        Agent::SodiumCitrate32 => "sodium_citrate32",
        Agent::SodiumCitrate38 => "sodium_citrate38",
        Agent::Cpd => "cpd",
        Agent::ClinicOwn => "clinic_own",
        Agent::Edta => "edta",
        Agent::Heparin => "heparin",
    }
}

fn screening(what: Screening) -> &'static str {
    match what {
        Screening::Infection => "infection",
        Screening::BloodDisorder => "blood_disorder",
        Screening::Cancer => "cancer",
        Screening::AntithromboticMedicine => "antithrombotic_medicine",
        Screening::AntiInflammatory => "anti_inflammatory",
        Screening::Corticosteroid => "corticosteroid",
        Screening::Pregnancy => "pregnancy",
        Screening::Fainted => "fainted",
        Screening::Allergy => "allergy",
    }
}

fn lot(of: LotOf) -> &'static str {
    match of {
        LotOf::Anticoagulant => "anticoagulant",
        LotOf::Containers => "containers",
        LotOf::Addition(0) => "addition_1",
        LotOf::Addition(1) => "addition_2",
        LotOf::Addition(_) => "addition_3",
    }
}

fn rule(rule: LimitRule) -> &'static str {
    match rule {
        LimitRule::PerKg => "per_kg",
        LimitRule::Share => "share",
        LimitRule::Volume => "volume",
        LimitRule::EightWeeksPerKg => "eight_weeks_per_kg",
        LimitRule::EightWeeksVolume => "eight_weeks_volume",
        LimitRule::HaemoglobinLow => "haemoglobin_low",
        LimitRule::HaemoglobinForVolume => "haemoglobin_for_volume",
        LimitRule::HaemoglobinForPerKg => "haemoglobin_for_per_kg",
        LimitRule::LightWeight => "light_weight",
        LimitRule::SmallBloodVolume => "small_blood_volume",
        LimitRule::FirstDraw => "first_draw",
        LimitRule::Minor => "minor",
    }
}

fn trouble(kind: TroubleKind) -> &'static str {
    match kind {
        TroubleKind::Clot => "clot",
        TroubleKind::ShortDraw => "short_draw",
        TroubleKind::AnticoagulantForgotten => "anticoagulant_forgotten",
        TroubleKind::PinkPlasma => "pink_plasma",
        TroubleKind::MilkyPlasma => "milky_plasma",
        TroubleKind::SpinStopped => "spin_stopped",
        TroubleKind::RedCells => "red_cells",
        TroubleKind::Clumps => "clumps",
        TroubleKind::Dropped => "dropped",
        TroubleKind::Unlabelled => "unlabelled",
    }
}

fn amount(what: OrderedAmount) -> &'static str {
    match what {
        OrderedAmount::Platelets => "platelets",
        OrderedAmount::Concentration => "concentration",
        OrderedAmount::Fold => "fold",
    }
}

fn rating(rating: Rating) -> &'static str {
    match rating {
        Rating::RotorSpeed => "rotor_speed",
        Rating::Bucket => "bucket",
        Rating::Container => "container",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::finding::tests::samples;

    /// Every key but those of unread texts, as stored by every version so far. Changing one loses decisions.
    const PINNED: &[&str] = &[
        "above_capacity",
        "above_capacity.2",
        "above_ceiling",
        "addition_incomplete",
        "agent_unsuitable.acd_a",
        "agent_unsuitable.acd_b",
        "agent_unsuitable.clinic_own",
        "agent_unsuitable.cpd",
        "agent_unsuitable.edta",
        "agent_unsuitable.heparin",
        "agent_unsuitable.sodium_citrate32",
        "agent_unsuitable.sodium_citrate38",
        "amount_unknown",
        "anticoagulant_far_low",
        "anticoagulant_far_low.1",
        "anticoagulant_high",
        "anticoagulant_high.1",
        "anticoagulant_low",
        "anticoagulant_low.1",
        "band_unknown",
        "beyond.count",
        "beyond.count.haematocrit",
        "beyond.count.red_cells",
        "beyond.prediction",
        "blood_unknown",
        "blood_untold",
        "calcium_added",
        "cells_dilution_unsaid",
        "centrifuge_check.speed",
        "centrifuge_check.timer",
        "clock_went_back",
        "convention_unsaid",
        "differential_over",
        "dilution_unsaid",
        "drawn_with_other",
        "expired.addition_1",
        "expired.addition_2",
        "expired.addition_3",
        "expired.anticoagulant",
        "expired.containers",
        "expiry_differs.addition_1",
        "expiry_differs.addition_2",
        "expiry_differs.addition_3",
        "expiry_differs.anticoagulant",
        "expiry_differs.containers",
        "expiry_unreadable.addition_1",
        "expiry_unreadable.addition_2",
        "expiry_unreadable.addition_3",
        "expiry_unreadable.anticoagulant",
        "expiry_unreadable.containers",
        "fill_outside_range",
        "fold_below_one",
        "given_past_use_by",
        "haematocrit_unknown",
        "haemoglobin_low",
        "identity_differs",
        "identity_unchecked",
        "kept_above_fill",
        "ledger_short",
        "limit.eight_weeks_per_kg",
        "limit.eight_weeks_volume",
        "limit.first_draw",
        "limit.haemoglobin_for_per_kg",
        "limit.haemoglobin_for_volume",
        "limit.haemoglobin_low",
        "limit.light_weight",
        "limit.minor",
        "limit.per_kg",
        "limit.share",
        "limit.small_blood_volume",
        "limit.volume",
        "limit_unknown",
        "literature_range",
        "mark_below_anticoagulant.1",
        "mark_missing.2",
        "mixing_unsaid",
        "more_than_one_container",
        "no_count",
        "no_plan",
        "no_rating",
        "no_rotor",
        "not_mixed",
        "nothing_left",
        "nothing_to_predict_from",
        "order_taken_over",
        "order_upside_down.fold",
        "order_upside_down.platelets",
        "other_identifier",
        "other_product.anticoagulant",
        "other_product.containers",
        "out_of_balance.first",
        "out_of_balance.second",
        "over_rating",
        "parts_differ",
        "past_spin_by",
        "past_use_by",
        "platelets_low",
        "platelets_over",
        "product_above_bound",
        "product_not_counted",
        "product_outside_range",
        "product_tube_unsaid",
        "radius_unknown",
        "ran_over_rating.container",
        "ran_over_rating.rotor_speed",
        "rating_unchecked",
        "reading_not_linear",
        "rebuilt_in_part",
        "rounded_down",
        "run_differs.3.clock",
        "run_differs.3.speed",
        "run_differs.3.time",
        "same_product",
        "same_product.addition_1",
        "same_product.addition_2",
        "same_product.addition_3",
        "sample_unsaid",
        "screening_open",
        "screening_yes.allergy",
        "screening_yes.anti_inflammatory",
        "screening_yes.antithrombotic_medicine",
        "screening_yes.blood_disorder",
        "screening_yes.cancer",
        "screening_yes.corticosteroid",
        "screening_yes.fainted",
        "screening_yes.infection",
        "screening_yes.pregnancy",
        "set_aside.1",
        "set_aside_late.1",
        "site_changed",
        "site_reworded",
        "sound_unchecked",
        "trouble.anticoagulant_forgotten",
        "trouble.anticoagulant_forgotten.2",
        "trouble.clot",
        "trouble.clot.2",
        "trouble.clumps",
        "trouble.clumps.2",
        "trouble.dropped",
        "trouble.dropped.2",
        "trouble.milky_plasma",
        "trouble.milky_plasma.2",
        "trouble.pink_plasma",
        "trouble.pink_plasma.2",
        "trouble.red_cells",
        "trouble.red_cells.2",
        "trouble.short_draw",
        "trouble.short_draw.2",
        "trouble.spin_stopped",
        "trouble.spin_stopped.2",
        "trouble.unlabelled",
        "trouble.unlabelled.2",
        "under_filled_tube.2",
        "unsound.anticoagulant",
        "unsound.containers",
        "use_by_earlier",
        "volumes_open",
        "weak_sample",
        "white_cells_contradict",
        "white_cells_not_counted",
    ];

    #[test]
    fn keys_are_what_was_stored_under_them() {
        let (unread, others): (Vec<_>, Vec<_>) =
            samples().into_iter().partition(|k| matches!(k, FindingKind::Unread(_)));
        let mut keys: Vec<String> = others.iter().map(FindingKind::key).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys, PINNED);
        assert!(unread.iter().any(|k| k.key() == "unread.fill_actual_1"));
    }

    #[test]
    fn no_two_kinds_have_one_name() {
        let names: std::collections::BTreeSet<_> = samples().iter().map(FindingKind::name).collect();
        assert_eq!(names.len(), crate::words::finding::tests::variants().len());
    }
}
