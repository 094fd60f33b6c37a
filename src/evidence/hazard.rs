//! The hazard list: what can go wrong, whom it harms, what Strawline does about it, and the test that proves it.
//!
//! One entry for each kind of finding. Harms are those the trade knows; where a harm has a published figure,
//! the finding's own working names the source.

/// One hazard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hazard {
    /// The finding that meets it, by [`crate::finding::FindingKind::name`].
    pub finding: &'static str,
    /// How it comes about.
    pub cause: &'static str,
    /// What could follow if nobody noticed.
    pub harm: &'static str,
    /// What Strawline does.
    pub control: &'static str,
    /// The test that proves it, by function name.
    pub test: &'static str,
}

macro_rules! hazards {
    ($($finding:literal { $cause:literal, $harm:literal, $control:literal, $test:ident })*) => {
        /// Every hazard, in the order of the job.
        pub const HAZARDS: &[Hazard] = &[$(Hazard {
            finding: $finding,
            cause: $cause,
            harm: $harm,
            control: $control,
            test: stringify!($test),
        }),*];
    };
}

hazards! {
    "identity_unchecked" {
        "The needle is due and nobody has compared the identifiers.",
        "Blood of one patient is prepared or given as another’s.",
        "Holds needle, spin and hand-over until both identifiers are checked or the prescriber gives name and reason; amounts stay visible.",
        identity_unchecked_waits_and_shows_the_amounts
    }
    "identity_differs" {
        "The identifiers stated are not those of the order.",
        "The wrong patient is bled or injected.",
        "Stops every step; no decision lifts it.",
        identity_that_differs_cannot_be_overridden
    }
    "screening_yes" {
        "The patient answers yes to a screening question.",
        "A preparation goes on that the prescriber would not want.",
        "Shows a Caution that sends the answer to the prescriber; never advises on a medicine.",
        a_screening_answer_goes_to_the_prescriber
    }
    "screening_open" {
        "A screening question was not asked.",
        "A reason to ask the prescriber stays unknown.",
        "Says so; a question not asked never counts as a no.",
        a_question_not_asked_is_not_a_no
    }
    "white_cells_contradict" {
        "The order and the protocol say different things of white cells.",
        "The patient gets a product that was not ordered.",
        "Holds the needle until the prescriber decides.",
        white_cells_against_the_order_wait
    }
    "more_than_one_container" {
        "More containers are planned than the order names.",
        "More blood is drawn than was meant.",
        "Shows a Caution before the needle.",
        more_containers_than_ordered_are_a_caution
    }
    "parts_differ" {
        "The parts of the site do not come to the volume ordered.",
        "A site gets more or less than was meant.",
        "Shows a Caution with both sums.",
        parts_that_do_not_add_up_are_a_caution
    }
    "order_upside_down" {
        "The second number of an order is smaller than the first.",
        "A product is held against what nobody ordered.",
        "Shows a Caution with both numbers; holds nothing against this part of the order.",
        an_order_upside_down_is_held_against_nothing
    }
    "beyond" {
        "Figures typed in lead to an amount that cannot be.",
        "A prediction or a count is missing, and nobody knows why.",
        "Leaves it out and says what came out, and what is out of range.",
        what_is_out_of_range_is_told
    }
    "no_count" {
        "The blood was not counted.",
        "A dose is believed that nobody can know.",
        "Gives a table over plausible counts and no single figure.",
        without_a_count_there_is_a_table_and_no_figure
    }
    "sample_unsaid" {
        "The kind of blood sample was not chosen.",
        "A sample with anticoagulant in it is read as native blood, and every platelet figure is too low.",
        "Says what was assumed and asks for the kind.",
        an_unsaid_sample_is_told
    }
    "weak_sample" {
        "The count comes from a finger-prick or from an earlier day.",
        "Platelets are believed more exactly than they are known.",
        "Shows a Caution, and widens the range for an older count.",
        a_weak_sample_is_a_caution
    }
    "platelets_low" {
        "The blood’s own count is below 100 ×10⁹/L.",
        "A listed reason for caution is overlooked.",
        "Shows a Caution that sends it to the prescriber.",
        low_platelets_are_a_caution
    }
    "haemoglobin_low" {
        "Haemoglobin is below 10 g/dL.",
        "Blood is drawn from an anaemic patient unnoticed.",
        "Shows a Caution that sends it to the prescriber.",
        low_haemoglobin_is_a_caution
    }
    "nothing_to_predict_from" {
        "A protocol has neither counts nor literature behind it.",
        "An invented figure is taken for an expectation.",
        "Predicts nothing and says so.",
        no_expectation_no_prediction
    }
    "literature_range" {
        "The range is other people’s.",
        "The clinic’s own process performs otherwise, unnoticed.",
        "Says where the range comes from and asks for own counts.",
        a_literature_range_says_so
    }
    "agent_unsuitable" {
        "EDTA or heparin is chosen to keep the blood that goes back from clotting.",
        "A laboratory anticoagulant is injected.",
        "Holds the needle until the prescriber decides.",
        edta_and_heparin_wait_for_the_prescriber
    }
    "amount_unknown" {
        "No amount is known for the anticoagulant.",
        "An amount is guessed, and the blood clots or is diluted.",
        "Plans no draw until the label’s amount is entered.",
        without_an_amount_there_is_no_plan
    }
    "band_unknown" {
        "No range is known for the anticoagulant.",
        "An unusual amount passes unnoticed.",
        "Says that nothing was checked.",
        without_a_band_that_is_said
    }
    "rounded_down" {
        "Rounding up would leave the anticoagulant’s range.",
        "The technician expects the rule and measures more.",
        "Shows the amount rounded down and says why.",
        rounding_down_is_told
    }
    "anticoagulant_low" {
        "Less anticoagulant is inside than the range allows.",
        "The blood clots, and clots are spun or injected.",
        "Shows a Caution with the true share, planned or actual, for each container.",
        too_little_anticoagulant_is_a_caution
    }
    "anticoagulant_far_low" {
        "No anticoagulant is planned, or less than half of the lowest accepted amount; or so little is inside.",
        "The blood clots in the container, and is spun or injected.",
        "Holds the needle, or for one container the spin, until the prescriber gives name and reason; none at all inside is the Stop of anticoagulant forgotten, which nothing lifts.",
        far_too_little_anticoagulant_waits_for_the_prescriber
    }
    "anticoagulant_high" {
        "The draw stopped short, or too much was taken.",
        "More citrate goes into the product, and the fold is lower than believed.",
        "Shows a Caution with the true share and the mark that would come back into the range.",
        a_short_fill_tells_the_share_and_the_mark
    }
    "convention_unsaid" {
        "One volume is said for the fill mark and for the blood alone.",
        "The container is filled wrongly, and the anticoagulant share with it.",
        "Asks which is meant, and plans no draw before.",
        fill_mark_or_blood_is_asked
    }
    "mark_missing" {
        "The needle is out and nobody entered how far a container was filled.",
        "The plan passes for what was drawn, and every later figure for a measured one.",
        "Shows a Caution, takes the container out of every sum, and withholds what rests on all the blood.",
        a_mark_not_entered_is_not_taken_as_planned
    }
    "mark_below_anticoagulant" {
        "A mark is entered that lies below the anticoagulant.",
        "A negative blood volume goes into every later figure.",
        "Holds the spin until mark or amount is corrected or the prescriber decides; the container is in no sum.",
        a_mark_below_the_anticoagulant_is_not_reckoned
    }
    "unread" {
        "A text cannot be read, or two readings of it are possible.",
        "A default or the plan stands in the reckoning, unnoticed.",
        "Puts nothing in its place, withholds what rests on it, and holds the needle, the spin or hand-over.",
        an_unread_text_leaves_no_default_behind
    }
    "above_capacity" {
        "The fill is more than the container holds.",
        "It overflows, or bursts in the rotor.",
        "Stops every step; no decision lifts it.",
        a_fill_above_capacity_cannot_be_overridden
    }
    "fill_outside_range" {
        "The fill is outside what the container is used for.",
        "Separation differs from what the protocol was checked with.",
        "Shows a Caution and reckons as entered.",
        a_fill_outside_the_range_is_a_caution
    }
    "under_filled_tube" {
        "An evacuated tube was not filled to its line.",
        "The blood is diluted with anticoagulant meant for a full tube.",
        "Shows a Caution for that tube.",
        an_under_filled_tube_is_a_caution
    }
    "limit" {
        "More blood is drawn than the clinic’s limits allow this patient, or the patient is under age.",
        "Fainting, anaemia, harm to a child.",
        "Shows a Caution or holds the needle, by the limit passed; counts discards and eight weeks.",
        draw_limits_warn_and_then_wait
    }
    "limit_unknown" {
        "Weight, height, sex or age is missing for a large draw.",
        "A limit is passed unnoticed.",
        "Shows a Caution naming what is missing; holds the needle where even a light adult’s limit is passed without a weight.",
        a_large_draw_asks_for_the_patients_size
    }
    "blood_untold" {
        "More blood was drawn in eight weeks, by the cases on this device, than was entered.",
        "A limit is passed unnoticed.",
        "Shows a Caution with both amounts and holds the limits against the larger one.",
        blood_told_here_counts_though_nobody_entered_it
    }
    "no_plan" {
        "The needle is near, and no amounts are planned.",
        "Blood is drawn into an unknown amount of anticoagulant.",
        "Holds the needle until the amounts are entered or the prescriber decides.",
        without_a_draw_plan_the_needle_waits
    }
    "rebuilt_in_part" {
        "A case is rebuilt from a card’s code that holds no checks and not what Stops rest on.",
        "A product that was stopped is handed over and labelled as if nothing had been.",
        "Holds the hand-over until the prescriber decides, withholds the label, and prints.",
        what_is_rebuilt_in_part_waits_for_the_prescriber
    }
    "drawn_with_other" {
        "Anticoagulant or container is changed after blood was drawn.",
        "Card and label name what never touched the blood, beside the lot of what did.",
        "Holds the hand-over until the prescriber decides, withholds the label, and prints.",
        what_blood_was_drawn_with_is_not_changed_in_silence
    }
    "order_taken_over" {
        "A case is begun with the order of an earlier one.",
        "Side, site or volume of an earlier day are prepared though today’s order is another.",
        "Shows a Caution before the needle until somebody named held it against today’s, and prints where it comes from.",
        an_order_taken_over_is_held_against_todays
    }
    "other_identifier" {
        "Two people stand under one patient reference, or an identifier is mistyped.",
        "What another person gave and recovered enters this patient’s limits, or blood is drawn under a wrong name.",
        "Shows a Caution before the needle that names the other, and takes nothing of it as this patient’s.",
        another_second_identifier_under_the_same_reference_is_told
    }
    "site_changed" {
        "Side or site is changed after the needle was in.",
        "The product is given on the side that nobody ordered, under a label printed before.",
        "Shows it where it was changed and at every stage after, with both sides; holds the hand-over until the prescriber decides, withholds the label, and prints.",
        side_and_site_are_not_changed_in_silence_once_the_needle_was_in
    }
    "site_reworded" {
        "A site is written with other hyphens or punctuation after the needle was in.",
        "Label and card of one case differ, or a hyphen holds the hand-over for nothing.",
        "Shows a Caution with both spellings until somebody saw it, and prints; another letter, figure, word or side is a Stop.",
        a_site_spelt_otherwise_is_a_caution_and_another_is_the_prescribers
    }
    "sound_unchecked" {
        "Nobody looked at anticoagulant or containers.",
        "A cloudy agent or a cracked container is used.",
        "Shows one Caution before the needle, and prints it.",
        soundness_nobody_looked_at_is_a_caution
    }
    "unsound" {
        "The anticoagulant is cloudy or opened, or a container is cracked.",
        "Infection, or blood lost in the rotor.",
        "Stops every step; no decision lifts it.",
        unsound_material_cannot_be_overridden
    }
    "expired" {
        "The lot is past its last good day.",
        "Material is used that its maker no longer vouches for.",
        "Stops every step if it is used from the day after on; no decision lifts it.",
        expired_lots_cannot_be_overridden
    }
    "other_product" {
        "The code scanned is of another product than the Bench names.",
        "Another anticoagulant or container is used than was planned with.",
        "Holds every step until the right one is scanned, another lot is typed by hand, or the prescriber gives name and reason; the code stays in the record and on the card.",
        another_product_waits_for_the_right_one
    }
    "expiry_differs" {
        "The expiry entered is not the one of the code that was scanned.",
        "An expired lot passes under the date of another one.",
        "Holds every step until they agree or the prescriber gives name and reason; the card names both.",
        an_expiry_that_is_not_the_one_of_the_code_waits
    }
    "same_product" {
        "One product was scanned as anticoagulant and as container, or as an addition and as one of these.",
        "The lot of one of the two is not known when it is recalled.",
        "Shows a Caution that names the product, unless the anticoagulant is in the container when bought.",
        one_product_in_both_fields_is_a_caution
    }
    "expiry_unreadable" {
        "The expiry typed is no date.",
        "An expired lot passes unnoticed.",
        "Says that the date was not checked.",
        an_unreadable_expiry_is_told
    }
    "set_aside" {
        "A container takes no further part.",
        "Its blood is still counted into the product.",
        "Leaves it out of every later figure, and still counts it as drawn.",
        a_container_set_aside_leaves_the_sums
    }
    "set_aside_late" {
        "A container is set aside when its blood is in the product already.",
        "Clotted or doubtful blood is handed over, because setting it aside lifted the Stop.",
        "Shows a Caution that says so; what it was set aside for stays, and its blood stays in every sum.",
        a_container_set_aside_after_collection_lifts_nothing
    }
    "nothing_left" {
        "Every container is set aside.",
        "What was set aside is spun or handed over all the same.",
        "Stops spin and hand-over and prints no label; no decision lifts it, another container does.",
        with_every_container_set_aside_nothing_is_spun_or_handed_over
    }
    "over_rating" {
        "A stage asks more than rotor, bucket or container is rated for.",
        "A container or the rotor breaks at speed.",
        "Stops spin and hand-over; no decision lifts it.",
        a_rating_passed_cannot_be_overridden
    }
    "ran_over_rating" {
        "A stage really ran faster than rotor, bucket or container is rated for.",
        "A damaged rotor or container is used again.",
        "Shows a Caution: tell the lead, inspect before the next start.",
        a_rating_passed_when_run_is_told
    }
    "out_of_balance" {
        "Two sides of the rotor that face each other differ, as weighed, by more than its entry allows.",
        "The centrifuge shakes; a container breaks or the rotor is damaged.",
        "Stop until both weights are within it, again after a spin that stopped; a Caution once it has turned.",
        weights_out_of_tolerance_stop_the_spin
    }
    "run_differs" {
        "A stage ran at another speed or for another time than planned, as typed or by the times entered.",
        "The expected range is believed of a process it was not made for.",
        "Shows a Caution with both figures beyond a stated tolerance.",
        a_run_that_differs_from_its_stage_is_told
    }
    "no_rating" {
        "No rating of rotor or container is on record.",
        "Silence is taken for a check that was passed.",
        "Shows a Caution that nothing was checked.",
        a_speed_that_nothing_holds_against_a_rating_is_told
    }
    "no_rotor" {
        "The spin is started before a rotor is chosen.",
        "Not one rating was checked, and nobody was told.",
        "Shows a Caution until the rotor is chosen; what ran is still held against the plan where that needs no rotor.",
        a_spin_without_a_rotor_is_told
    }
    "centrifuge_check" {
        "Speed or timer of the centrifuge was not checked when the clinic meant it to be, or was found wrong.",
        "The spin is not the one that was planned, and nobody knows.",
        "Shows a Caution with the day, also of one that turns the rotor where no centrifuge is chosen; the day is the clinic’s own, and none is invented where it set none.",
        an_overdue_check_of_the_centrifuge_is_told
    }
    "rating_unchecked" {
        "A rating is on record, but the radius it needs is not.",
        "A rating is passed unnoticed.",
        "Holds the spin until the radius is entered or the prescriber decides.",
        a_rating_that_cannot_be_checked_waits
    }
    "radius_unknown" {
        "A stage is planned in ×g and the rotor’s radius is not on record.",
        "A speed is guessed, and the separation fails.",
        "Shows no speed for that stage and says why.",
        without_a_radius_there_is_no_speed
    }
    "past_spin_by" {
        "The blood stood too long before the spin.",
        "Platelets clump or are spent.",
        "Shows a Caution with the time that was set.",
        blood_past_its_spin_by_is_a_caution
    }
    "past_use_by" {
        "The product is older than the clinic’s policy allows.",
        "Germs or spent platelets are injected.",
        "Holds hand-over until the prescriber decides; never extends the time.",
        past_use_by_waits_at_hand_over
    }
    "given_past_use_by" {
        "A part was given after the use-by, and nobody said so.",
        "Germs or spent platelets were injected, and whoever follows the patient does not know.",
        "Shows a Caution with both times, on the card too; what was typed stays.",
        a_part_given_past_the_use_by_is_a_caution
    }
    "use_by_earlier" {
        "A time is corrected after the product was collected or handed over, and the use-by moves earlier.",
        "The product is given after its use-by, by a label printed before.",
        "Holds the hand-over until the prescriber decides, names both times, withholds the label, and prints; after a hand-over it stays to be decided.",
        a_use_by_that_moved_earlier_waits_for_the_prescriber
    }
    "clock_went_back" {
        "A time was entered late or by mistake, or the device’s clock was changed during the case.",
        "Use-by and spin times are wrong unnoticed.",
        "Shows a Caution; each time can be corrected, and what stood there stays on the card.",
        a_clock_set_back_is_told
    }
    "trouble" {
        "Something went wrong: clot, short draw, no anticoagulant, colour, clumps, spin, drop, label.",
        "A spoilt or doubtful product is used.",
        "Ten kinds, each at its level: what must stop, whom to ask, what is still reckoned, what the record keeps.",
        each_trouble_has_its_level
    }
    "spin_cut_short" {
        "A spin stopped before its time and was ended there.",
        "A product is given for what a whole spin would have made of it.",
        "Holds the hand-over until the prescriber decides, says that what is predicted was reckoned for the whole spin, withholds the label, and prints.",
        a_spin_ended_where_it_stopped_waits_for_the_prescriber
    }
    "haematocrit_unknown" {
        "The haematocrit that bounds the plasma is missing.",
        "More plasma is asked than stands above the cells, and cells come along.",
        "Says so, and holds the product against the whole fill alone.",
        without_a_haematocrit_the_bound_is_said_to_be_missing
    }
    "product_above_bound" {
        "More product is asked than can be had.",
        "Cells come along, or the volume ordered is not reached.",
        "Shows a Caution with the most that can be had.",
        more_product_than_there_is_is_a_caution
    }
    "kept_above_fill" {
        "More product is entered as kept than all containers were filled with.",
        "A total and a dose rest on a volume that cannot be.",
        "Holds hand-over until it is corrected or the prescriber decides.",
        more_kept_than_was_filled_waits_at_hand_over
    }
    "product_outside_range" {
        "The product is outside what the containers are used for.",
        "The process was never checked at this volume.",
        "Shows a Caution and reckons as entered.",
        a_product_outside_the_range_is_a_caution
    }
    "ledger_short" {
        "Sites, sample and losses need more than there is.",
        "The last site gets less than ordered, unnoticed.",
        "Shows a Caution with the millilitres missing; the ledger does not close.",
        a_ledger_that_does_not_close_says_by_how_much
    }
    "above_ceiling" {
        "The count gives more platelets than were drawn.",
        "A wrong dilution or sample makes a dose too high on paper.",
        "Shows a Caution with the order in which to check; doses stay predictions, and the reading is marked.",
        a_count_above_the_ceiling_is_a_caution
    }
    "fold_below_one" {
        "A concentrate counts hardly more platelets than the blood, or far fewer than expected.",
        "The blood or plasma left over was counted, or a unit or dilution slipped, and it passes as that of the product.",
        "Shows a Caution with what to check; until it is acknowledged the count is not confirmed and doses stay predictions.",
        a_concentrate_that_hardly_concentrates_is_not_confirmed_until_somebody_looked
    }
    "mixing_unsaid" {
        "Nobody confirmed that the counted sample was mixed and free of clumps.",
        "A wrong count is believed.",
        "Shows a Caution, keeps the count off the label, and counts no dose by it.",
        mixing_not_confirmed_is_a_caution
    }
    "not_mixed" {
        "The counted sample was not mixed, or held clumps.",
        "A dose is given that was never there, or clumps are injected.",
        "Holds hand-over until the prescriber decides, keeps the count off the label, and counts no dose by it.",
        an_unmixed_sample_waits_at_hand_over
    }
    "dilution_unsaid" {
        "A reading is typed, and not whether its sample was diluted.",
        "A count is wrong by the whole dilution.",
        "Shows a Caution that asks; calls nothing counted before it is said.",
        a_reading_without_its_dilution_is_no_count
    }
    "product_tube_unsaid" {
        "Nobody said what tube the product’s sample went into.",
        "A citrate tube’s liquid is overlooked, and the count stands a tenth too low.",
        "Says so, and corrects for a tube only once it is named.",
        a_tube_not_named_is_told_and_a_citrate_tube_is_corrected
    }
    "cells_dilution_unsaid" {
        "White or red cells are typed beside a diluted sample, and not whether they were read from it.",
        "White cells are believed that are wrong by the whole dilution.",
        "Shows a Caution that asks; says nothing of these cells before.",
        other_cells_wait_until_their_sample_is_said
    }
    "reading_not_linear" {
        "A reading lies outside what the clinic’s analyser counts in proportion.",
        "A count is believed that the analyser cannot give; the dose is larger than stated.",
        "Shows a Caution with a dilution to read again at, and keeps the count off the label.",
        a_reading_outside_the_analysers_range_is_a_caution
    }
    "differential_over" {
        "The shares of white cells come to more than all of them.",
        "A wrong share of neutrophils is believed.",
        "Shows a Caution that asks to look again.",
        a_differential_above_all_is_a_caution
    }
    "volumes_open" {
        "Product, plasma and cells do not come to what was filled.",
        "A volume was misread, and every total made of it is wrong; or something was lost unnoticed.",
        "Shows a Caution with both sums and what the scales can be off by.",
        volumes_after_the_spin_that_do_not_close_are_a_caution
    }
    "platelets_over" {
        "Product and plasma together hold more platelets than were drawn.",
        "A wrong count or volume is believed, and with it a wrong dose.",
        "Shows a Caution with what to check, in order.",
        more_platelets_in_product_and_plasma_than_drawn_are_a_caution
    }
    "white_cells_not_counted" {
        "The product’s white cells are not known.",
        "A product is called poor or rich in white cells without a count.",
        "Says that they were not counted, and nothing else about them.",
        white_cells_not_counted_are_told
    }
    "product_not_counted" {
        "The product was not counted.",
        "A prediction is taken for a measurement.",
        "Keeps every amount a prediction and says that it was not counted.",
        a_product_not_counted_stays_a_prediction
    }
    "blood_unknown" {
        "A product is counted, and a mark of the draw was never entered.",
        "A real count vanishes, and a prediction is handed on in its place; or a fold is made of blood that was only planned.",
        "Shows the count and the platelets in product, reckons neither fold nor recovery, and says why.",
        a_count_stands_without_a_single_mark
    }
    "addition_incomplete" {
        "An addition lacks its name, strength or volume.",
        "A wrong salt or strength is added, or the dilution is overlooked.",
        "Holds hand-over until it is entered or the prescriber decides; gives no volume, concentration or dose after it.",
        an_incomplete_addition_is_not_reckoned
    }
    "calcium_added" {
        "Calcium is added to the product.",
        "Too much of a concentrated irritant harms tissue.",
        "Shows a Caution, and the calcium beside the citrate by salt and strength.",
        calcium_is_a_caution_with_its_amount
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    /// The names of the kinds of finding.
    fn names() -> Vec<&'static str> {
        let kinds = crate::words::finding::tests::samples();
        let mut names: Vec<&str> = kinds.iter().map(crate::finding::FindingKind::name).collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    #[test]
    fn every_finding_has_one_hazard_and_every_hazard_a_finding() {
        let mut listed: Vec<&str> = HAZARDS.iter().map(|h| h.finding).collect();
        listed.sort_unstable();
        assert_eq!(listed, names());
    }

    #[test]
    fn every_hazard_says_all_it_should() {
        for h in HAZARDS {
            for text in [h.cause, h.harm, h.control] {
                assert!(text.ends_with('.') && text.len() > 15, "{}: {text}", h.finding);
                assert!(!text.contains(['"', '\'']), "{text}");
            }
        }
    }

    #[test]
    fn every_hazard_is_proved_by_a_test_of_its_own() {
        let mut files = Vec::new();
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        for folder in ["src", "tests"] {
            gather(&root.join(folder), &mut files);
        }
        let mut tests: Vec<&str> = HAZARDS.iter().map(|h| h.test).collect();
        for test in &tests {
            let declared = format!("#[test]\nfn {test}()");
            let titled = format!("\"{test}\"");
            assert!(
                files.iter().any(|(name, text)| text.contains(&declared)
                    || (!name.ends_with("rs") && text.contains(&titled))),
                "no test is called {test}"
            );
        }
        tests.sort_unstable();
        let all = tests.len();
        tests.dedup();
        assert_eq!(tests.len(), all, "two hazards share a test");
    }

    /// Every source file with its text; lines without their indentation.
    fn gather(folder: &Path, files: &mut Vec<(String, String)>) {
        let Ok(entries) = std::fs::read_dir(folder) else { return };
        for path in entries.flatten().map(|e| e.path()) {
            let name = path.to_string_lossy().into_owned();
            if path.is_dir() {
                gather(&path, files);
            } else if [".rs", ".ts", ".js", ".mjs"].iter().any(|end| name.ends_with(end)) {
                let text = std::fs::read_to_string(&path).unwrap_or_default();
                files.push((name, text.lines().map(str::trim).collect::<Vec<_>>().join("\n")));
            }
        }
    }
}
