//! The demo case end to end through the core: what the page must show for it.

use strawline::assess::{Assessment, Now, assess};
use strawline::case;
use strawline::draft::{AdditionChoice, CheckSign, Draft, Field, SampleDilution};
use strawline::quantity::Quantity;
use strawline::quantity::time::{Instant, Offset};
use strawline::quantity::unit::Conventions;
use strawline::words::Language;

/// 25 Nov 2026, 09:00 UTC.
const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

fn demo() -> Draft {
    let sign = CheckSign::pick(0, &[]);
    Draft::demo("demo".into(), sign, NOW.at, Conventions::default())
}

fn answer(draft: &Draft) -> Assessment {
    let (case, _) = case::read(draft, Language::English);
    assert!(case.unread.is_empty());
    assess(&case, NOW)
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{a} is not {b}");
}

#[test]
fn two_and_thirteen_make_fifteen() {
    let a = answer(&demo());
    let plan = a.draw.plan.as_ref().expect("a plan");
    near(plan.exact.value.anticoagulant.get(), 15.0 * 0.15 / 1.15);
    near(plan.rounded.value.split.anticoagulant.get(), 2.0);
    near(plan.rounded.value.split.blood.get(), 13.0);
    near(plan.rounded.value.split.fill.get(), 15.0);
    let now = a.draw.now.as_ref().expect("totals");
    near(now.blood.value.get(), 26.0);
    let p = a.product.prediction.as_ref().expect("a prediction");
    near(p.ceiling.value.get(), 6.5);
    let fold = p.fold.as_ref().expect("a fold").value;
    assert!(fold.low < fold.median && fold.median < fold.high && fold.high.get() < 6.5);
    assert!((4.3..4.7).contains(&fold.median.get()), "{}", fold.median.get());
    near(p.drawn.as_ref().expect("a count").value.get(), 5.46);
    let ledger = a.product.ledger.as_ref().expect("a ledger");
    near(ledger.losses.value.get(), 0.3);
    near(ledger.left_over.value.get(), 0.5);
}

#[test]
fn a_short_draw_moves_everything_below_it() {
    let mut draft = demo();
    draft.write(Field::FillActual(0), "15");
    draft.write(Field::FillActual(1), "11");
    let a = answer(&draft);
    let now = a.draw.now.as_ref().expect("totals");
    near(now.blood.value.get(), 22.0);
    let second = a.draw.containers.get(1).expect("a second container");
    near(second.ratio.expect("blood in it").get(), 2.0 / 9.0);
    near(second.top_up.as_ref().expect("above the band").value.fill.get(), 12.0);
    assert!(a.findings.iter().any(|f| f.kind.key() == "anticoagulant_high.2"));
    near(a.product.prediction.as_ref().expect("a prediction").ceiling.value.get(), 5.5);
}

#[test]
fn a_count_of_the_product_is_compared_with_what_was_drawn() {
    let mut draft = demo();
    draft.write(Field::ProductActual, "4");
    draft.write(Field::Dilution, "20");
    draft.rows.readings = 2;
    draft.write(Field::Reading(0), "45.8");
    draft.write(Field::Reading(1), "46.6");
    draft.choices.mixed_no_clumps = Some(true);
    let a = answer(&draft);
    let m = a.product.measured.as_ref().expect("counted");
    near(m.concentration.value.get(), 924.0);
    near(m.in_product.as_ref().expect("a volume").value.get(), 3.696);
    near(m.fold.as_ref().expect("a fold").value.get(), 4.4);
    near(m.recovery.as_ref().expect("a recovery").value.get(), 3.696 / 5.46);
    near(a.product.dose_counted.as_ref().expect("a dose").value.get(), 2.772);
}

#[test]
fn an_addition_dilutes_what_is_left_after_the_sample() {
    let mut draft = demo();
    for (field, text) in
        [(Field::ProductActual, "4"), (Field::Reading(0), "924"), (Field::AdditionVolume(0), "0.2")]
    {
        draft.write(field, text);
    }
    draft.choices.dilution = Some(SampleDilution::Undiluted);
    draft.choices.mixed_no_clumps = Some(true);
    draft.rows.additions = 1;
    draft.choices.additions.insert(0, AdditionChoice::AutologousThrombin);
    let a = answer(&draft);
    let mixed = a.product.mixed.as_ref().expect("an addition");
    near(mixed.volume.value.get(), 4.0);
    near(mixed.counted.as_ref().expect("counted").value.get(), 924.0 * 3.8 / 4.0);
    near(a.product.dose_counted.as_ref().expect("a dose").value.get(), 924.0 * 3.8 / 4.0 * 3.0 / 1000.0);
}

#[test]
fn what_is_planned_leaves_as_planned() {
    use strawline::record::shown::ShownStanding as S;
    let of = |draft: &Draft| -> std::collections::BTreeMap<String, S> {
        strawline::export::report::shown(&answer(draft)).into_iter().map(|f| (f.what, f.standing)).collect()
    };
    // Before the needle nothing but the blood is counted, and nothing is measured.
    let mut draft = demo();
    let before = of(&draft);
    let counted: Vec<_> = before.iter().filter(|(_, s)| **s == S::Counted).map(|(what, _)| what).collect();
    assert_eq!(counted, ["blood_count"]);
    assert!(!before.values().any(|s| *s == S::Measured), "{before:?}");
    let says = |all: &std::collections::BTreeMap<String, S>, standing: S, names: &[&str]| {
        for name in names {
            assert_eq!(all.get(*name), Some(&standing), "{name}");
        }
    };
    says(&before, S::Planned, &["blood_in_all", "platelets_drawn", "drawn_today", "fill_in_all", "ceiling"]);
    says(&before, S::Assumed, &["blood_count_cv", "losses"]);
    says(&before, S::Ordered, &["part_1_volume", "part_2_volume", "given_in_all"]);
    // Drawn, kept and counted: what was entered is measured, what was ordered is still ordered.
    for (field, text) in [
        (Field::FillActual(0), "15"),
        (Field::FillActual(1), "15"),
        (Field::ProductActual, "4"),
        (Field::Reading(0), "924"),
    ] {
        draft.write(field, text);
    }
    draft.choices.mixed_no_clumps = Some(true);
    draft.choices.dilution = Some(SampleDilution::Undiluted);
    let made = of(&draft);
    says(&made, S::Counted, &["platelets_drawn", "platelets_in_product_counted", "recovery_counted"]);
    says(&made, S::Measured, &["blood_in_all", "drawn_today", "fill_in_all", "left_behind", "ceiling"]);
    says(&made, S::Assumed, &["blood_count_cv", "losses"]);
    says(&made, S::Planned, &["part_1_dose_counted", "dose_counted", "left_over"]);
    for i in 0..2 {
        draft.write(Field::PartGiven(i), "1.5");
    }
    // Until the hand-over that is what is to be given.
    says(&of(&draft), S::Planned, &["part_1_dose_counted", "dose_counted", "left_over"]);
    draft.hand_over(draft.begun);
    says(&of(&draft), S::Planned, &["part_1_dose_counted", "dose_counted"]);
    draft.all_given(&[0, 1], draft.begun);
    let given = of(&draft);
    says(&given, S::Counted, &["part_1_dose_counted", "dose_counted"]);
    says(&given, S::Measured, &["part_1_volume", "given_in_all"]);
    says(&given, S::Assumed, &["left_over"]);
}

#[test]
fn an_expiry_may_be_a_month() {
    for (text, expired) in [("10/2026", true), ("2026-10", true), ("Nov 2026", false), ("11/2026", false)] {
        let mut draft = demo();
        draft.write(Field::AnticoagulantExpiry, text);
        let found = answer(&draft).findings.iter().any(|f| f.kind.key() == "expired.anticoagulant");
        assert_eq!(found, expired, "{text}");
    }
}
