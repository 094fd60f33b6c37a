//! What the card says of a case, by its words.

use super::*;
use crate::assess::assess;
use crate::bench::Bench;
use crate::case;
use crate::draft::{
    AdditionChoice, Brake, Changed, CheckSign, Decision, Screening, Side, TimeOf, Trouble, TroubleKind,
};
use crate::export::code::Code;
use crate::export::code::symbol::Symbol;
use crate::export::label::LabelKind;
use crate::export::question::questions;
use crate::product::order::OrderSense;
use crate::quantity::time::Offset;
use crate::quantity::{Recovery, Seconds};
use crate::spin::programme::Stage;

/// 25 Nov 2026, 12:00 UTC.
const NOON: i64 = 1_795_608_000_000;

fn at(minutes: i64) -> Instant {
    Instant(NOON + minutes * 60_000)
}

fn demo() -> Draft {
    Draft::demo("a".into(), CheckSign::pick(0, &[]), at(-120), Conventions::default())
}

fn check(draft: &mut Draft, kind: CheckKind, by: &str, minutes: i64) {
    draft.checks.insert(kind, Check { by: by.into(), at: at(minutes), of: String::new() });
}

fn checked() -> Draft {
    let mut d = demo();
    d.stage = crate::draft::Stage::BeforeNeedle;
    check(&mut d, CheckKind::Identity, "MO", -90);
    check(&mut d, CheckKind::Anticoagulant, "JT", -88);
    d
}

fn complete() -> Draft {
    let mut d = checked();
    d.stage = crate::draft::Stage::Product;
    d.times.needle_in = Some(at(-80));
    d.times.needle_out = Some(at(-76));
    d.times.stages = [(0, at(-70)), (1, at(-58)), (2, at(-50))].into();
    d.times.spin_end = Some(at(-40));
    d.times.collected = Some(at(-30));
    for (field, text) in [
        (Field::FillActual(0), "15"),
        (Field::FillActual(1), "15"),
        (Field::SpeedActual(0), "1020"),
        (Field::MinutesActual(0), "10"),
        (Field::ProductActual, "4"),
    ] {
        d.write(field, text);
    }
    d
}

fn counted() -> Draft {
    let mut d = complete();
    d.rows.readings = 2;
    d.choices.mixed_no_clumps = Some(true);
    d.write(Field::Dilution, "20");
    d.write(Field::Reading(0), "45.8");
    d.write(Field::Reading(1), "46.6");
    d
}

fn of<T>(draft: &Draft, record: Option<&Record>, write: impl FnOnce(Given<'_>) -> T) -> T {
    let (case, _) = case::read(draft, Language::English);
    let now = Now { at: at(0), offset: Offset::UTC };
    let answer = assess(&case, now);
    let clinic = Bench::default().clinic;
    write(Given {
        draft,
        case: &case,
        answer: &answer,
        clinic: &clinic,
        language: Language::English,
        now,
        record,
        standing: RecordStanding::Sound,
        sessions: &[],
    })
}

fn made(draft: &Draft) -> Card {
    of(draft, None, card)
}

fn say(text: &Text) -> String {
    plain(text).replace('\u{a0}', " ")
}

fn rows(table: &Table) -> Vec<String> {
    table.rows.iter().map(|r| r.cells.iter().map(say).collect::<Vec<_>>().join(" | ")).collect()
}

fn labels(card: &Card) -> Vec<(LabelKind, String)> {
    let all = card.labels.iter().flat_map(|l| l.large.iter().chain(&l.small));
    let words = |l: &crate::export::label::Label| {
        let lines = l.lines.iter().map(|(_, t)| say(t));
        std::iter::once(say(&l.head)).chain(lines).collect::<Vec<_>>().join(" / ")
    };
    all.map(|l| (l.kind, words(l))).collect()
}

fn has(lines: &[String], part: &str) {
    assert!(lines.iter().any(|l| l.contains(part)), "no {part:?} in {lines:#?}");
}

#[test]
fn what_is_ordered_prints_as_it_was_ordered() {
    let mut d = demo();
    d.write(Field::OrderPlatelets, "4.25");
    d.write(Field::OrderFold, "4.75");
    let who: Vec<String> = made(&d).who.iter().flat_map(|b| b.small.iter().map(say)).collect();
    has(&who, "Platelets to give at least 4.25 ×10⁹ in all");
    has(&who, "Fold ordered at least 4.75");
    d.choices.order_sense.insert(OrderedAmount::Platelets, OrderSense::Between);
    let who: Vec<String> = made(&d).who.iter().flat_map(|b| b.small.iter().map(say)).collect();
    has(&who, "4.25 ×10⁹ to … (second number missing)");
}

#[test]
fn each_amount_ordered_says_whether_the_count_meets_it() {
    let small = |d: &Draft| made(d).who[1].small.iter().map(say).collect::<Vec<_>>();
    let order = |mut d: Draft| {
        d.write(Field::OrderPlatelets, "9");
        d.write(Field::OrderConcentration, "500");
        d.choices.order_sense.insert(OrderedAmount::Fold, OrderSense::About);
        d.write(Field::OrderFold, "4.84");
        d
    };
    // 924·3/1000 = 2.8 of 9; 924 of 500; 924/210 = 4.4, a tenth below 4.84 is 4.356
    let d = order(counted());
    let said = small(&d);
    has(&said, "Platelets to give at least 9 ×10⁹ in all; planned volume, by the count not met");
    has(&said, "Concentration ordered at least 500 ×10⁹/L; by the count met");
    has(
        &said,
        "Fold ordered about 4.84 (within a tenth); by the count too close to tell: within counting error",
    );
    let card = made(&d);
    assert!(fit::height(&card) <= fit::ROOM, "{}", fit::height(&card));
    assert!(
        of(&d, None, crate::export::chart::chart).contains("in all; planned volume, by the count not met\n")
    );
    // Only what was given is met by the count alone.
    let mut given = d.clone();
    given.write(Field::OrderPlatelets, "2");
    has(&small(&given), "Platelets to give at least 2 ×10⁹ in all; planned volume, by the count met");
    given.write(Field::PartGiven(0), "2");
    has(&small(&given), "at least 2 ×10⁹ in all; planned volume, by the count met");
    given.hand_over(at(70));
    given.all_given(&[0], at(71));
    has(&small(&given), "at least 2 ×10⁹ in all; volume planned in part, by the count met");
    given.choices.each_part = true;
    given.write(Field::OrderPlatelets, "0.5");
    has(&small(&given), "each part; volume planned in part, by the count met");
    given.write(Field::PartGiven(1), "1");
    has(&small(&given), "each part; by the count met");
    // Neither before a count nor by one that nobody vouches for.
    let mut unsure = order(counted());
    unsure.choices.mixed_no_clumps = Some(false);
    for d in [order(complete()), unsure] {
        let said = small(&d);
        has(&said, "Platelets to give at least 9 ×10⁹ in all");
        assert!(!said.iter().any(|l| l.contains("by the count")), "{said:?}");
    }
}

#[test]
fn planned_and_done_stand_side_by_side() {
    let done = rows(&made(&counted()).done);
    has(
        &done,
        "Blood count |  | 210 ×10⁹/L | today |  | Laboratory EDTA tube; corrected 210 ×10⁹/L; haematocrit 0.42",
    );
    has(
        &done,
        "ACD-A in each of 2 | 2 mL | 2 mL | 10:32 | ____ | lot AC-2291; checked by a second person, JT, 10:32",
    );
    has(&done, "| 2 + 13 = 15 mL | 1 to 2: 2 + 13 = 15 mL each | 10:40 to 10:44 |");
    has(&done, "Blood used |  | 26 mL |");
    has(
        &done,
        "Spin 1 | 1020 rpm, 180 ×g, 10 min | 1020 rpm, 180 ×g, 10 min | 10:50 to 11:02 | ____ | at the maximum radius, 155 mm",
    );
    has(&done, "| 4 mL | 4 mL | 11:30 | ____ | use by 14:40, set by 4 h from needle in");
}

#[test]
fn an_older_count_prints_how_old_it_is_and_no_time_of_before() {
    let mut d = counted();
    d.write(Field::BloodCountTime, "08:30");
    has(&rows(&made(&d).done), "Blood count |  | 210 ×10⁹/L | 08:30 |");
    d.choices.count = Some(crate::draft::CountStanding::Older);
    has(&rows(&made(&d).done), "Blood count |  | 210 ×10⁹/L | Older count |");
    d.write(Field::CountAge, "45");
    has(&rows(&made(&d).done), "Blood count |  | 210 ×10⁹/L | 45 days old |");
    let chart = of(&d, None, crate::export::chart::chart);
    assert!(chart.contains("45 days old") && !chart.contains("08:30"), "{chart}");
}

#[test]
fn counted_fold_and_recovery_over_an_older_count_say_so() {
    let mut d = counted();
    let over = "counted, over a blood count 45 days old";
    let saying = |d: &Draft| {
        let rows = rows(&made(d).made).into_iter().filter(|row| row.contains("over a blood count"));
        let named = rows.map(|row| (row.split([',', ' ']).next().unwrap().to_owned(), row.contains(over)));
        named.collect::<Vec<_>>()
    };
    assert_eq!(saying(&d), []);
    d.choices.count = Some(crate::draft::CountStanding::Older);
    d.write(Field::CountAge, "45");
    assert_eq!(saying(&d), [("Fold".to_owned(), true), ("Recovery".to_owned(), true)]);
    let chart = of(&d, None, crate::export::chart::chart);
    assert_eq!(chart.matches(over).count(), 2, "{chart}");
    // What is only predicted is not counted over anything.
    let mut planned = complete();
    planned.choices = d.choices.clone();
    assert_eq!(saying(&planned), []);
}

#[test]
fn without_a_rotor_the_speed_that_ran_is_printed_all_the_same() {
    let mut d = complete();
    d.kit.rotor = None;
    has(&rows(&made(&d).done), "Spin 1 | 180 ×g, 10 min | 1020 rpm, 10 min |");
}

#[test]
fn a_use_by_that_the_end_of_the_spin_may_bring_forward_is_on_no_label() {
    let product = |d: &Draft| {
        let all = labels(&made(d));
        all.into_iter().find(|(kind, _)| *kind == LabelKind::Product).unwrap().1
    };
    let mut d = complete();
    d.kit.clock.product_window = Some(Seconds::constant(3600.0));
    // Needle in 10:40, the spin ended 11:20.
    assert!(product(&d).contains("Use by 12:20 25 Nov 2026"), "{}", product(&d));
    has(&rows(&made(&d).done), "use by 12:20, set by 1 h from the end of the spin");
    d.times.spin_end = None;
    assert!(product(&d).contains("Use by ____"), "{}", product(&d));
    // Collected 11:30: no later than an hour from there.
    has(
        &rows(&made(&d).done),
        "use by 12:30 at the latest, set by 1 h from when it was collected; 1 h from the end of the spin, once that is entered",
    );
    let mut spinning = d.clone();
    spinning.times.collected = None;
    has(
        &rows(&made(&spinning).done),
        "use by 14:40 at the latest, set by 4 h from needle in; 1 h from the end of the spin, if that is earlier",
    );
    // Without such a window, or where nothing is to be spun, it stands.
    let mut unspun = d.clone();
    unspun.kit.protocol.as_mut().unwrap().programme.0.clear();
    unspun.times.stages.clear();
    d.kit.clock.product_window = None;
    for settled in [&d, &unspun] {
        assert!(product(settled).contains("Use by 14:40 25 Nov 2026"), "{}", product(settled));
        has(&rows(&made(settled).done), "use by 14:40, set by 4 h from needle in");
    }
}

#[test]
fn a_second_persons_check_names_the_amount_it_was_for() {
    let mut d = complete();
    d.checks.get_mut(&CheckKind::Anticoagulant).unwrap().of = "2\u{a0}mL".into();
    has(&rows(&made(&d).done), "2 mL checked by a second person, JT, 10:32");
    d.times.needle_in = None;
    d.lapse(Changed::Amount);
    let small: Vec<String> = made(&d).who[0].small.iter().map(say).collect();
    has(&small, "2 mL: JT, 10:32, before the amount changed");
}

#[test]
fn before_the_draw_nothing_stands_as_done() {
    let card = made(&checked());
    for row in &card.done.rows[1..] {
        assert_eq!(plain(&row.cells[2]), "", "{row:?}");
    }
    has(&rows(&card.made), "predicted, not counted");
    assert_eq!(card.made.heading, "What to expect");
    let labels = labels(&card);
    let kinds: Vec<_> = labels.iter().map(|l| l.0).collect();
    use LabelKind::{Container, Poor, Product, Syringe};
    assert_eq!(kinds, [Product, Poor, Container, Container, Syringe]);
    assert!(labels[0].1.starts_with("PRP ____") && labels[0].1.contains("Use by ____"), "{}", labels[0].1);
    assert_eq!(labels[2].1, "1 of 2 Demo / HL-0417, born 4 Aug 1982 / ACD-A 2 mL / blood to the 15 mL mark");
    assert!(
        labels[4].1.contains("2 mL for each of 2 containers")
            && labels[4].1.contains("Not for intravenous use.")
    );
}

#[test]
fn each_amount_says_whether_it_was_counted() {
    let predicted = made(&complete());
    for row in rows(&predicted.doses) {
        assert!(row.contains("predicted, not counted") && !row.contains("known"), "{row}");
    }
    let card = made(&counted());
    let doses = rows(&card.doses);
    assert_eq!(doses[0], "into the tendon | 2 mL | 1.8 ×10⁹ planned volume, by the count");
    assert_eq!(doses[2], "in all | 3 mL | 2.8 ×10⁹ planned volume, by the count");
    let mut given = counted();
    given.write(Field::PartGiven(0), "2");
    assert_eq!(rows(&made(&given).doses)[0], doses[0], "before the hand-over nothing is given");
    given.hand_over(at(70));
    assert_eq!(rows(&made(&given).doses)[0], doses[0], "typed before it, it is what is to be given");
    given.all_given(&[0], at(71));
    let doses = rows(&made(&given).doses);
    assert_eq!(doses[0], "into the tendon | 2 mL given, at 13:11 | 1.8 ×10⁹ counted");
    assert!(doses[1].ends_with(" ×10⁹ planned volume, by the count"), "{doses:?}");
    assert_eq!(doses[2], "in all | 3 mL | 2.8 ×10⁹ volume planned in part, by the count");
    given.write(Field::PartGiven(1), "1");
    assert_eq!(rows(&made(&given).doses)[2], "in all | 3 mL | 2.8 ×10⁹ counted");
    let table = rows(&card.made);
    has(&table, "Platelets drawn | 5.5 ×10⁹ from the blood’s count");
    has(&table, "Concentration | 924 ×10⁹/L counted | ");
    has(&table, "Platelets in product | 3.7 ×10⁹ counted | ");
    has(&table, "Fold, ceiling 6.5 | 4.4 counted | ");
    for row in &card.made.rows {
        let last = row.cells.last().map(|c| plain(c)).unwrap_or_default();
        assert!(last.is_empty() || last.ends_with("predicted, not counted"), "{last}");
    }
}

#[test]
fn a_full_count_takes_a_line_each_and_the_card_stays_one_page() {
    let mut d = counted();
    d.rows.readings = 5;
    for (field, text) in [
        (Field::Reading(2), "46.1"),
        (Field::Reading(3), "45.9"),
        (Field::Reading(4), "46.3"),
        (Field::BloodWhite, "5"),
        (Field::ProductWhite, "0.4"),
        (Field::ProductHaematocrit, "0.2 %"),
        (Field::ProductRed, "0.02"),
    ] {
        d.write(field, text);
    }
    d.choices.cells_dilution = Some(crate::draft::SampleDilution::Undiluted);
    let card = made(&d);
    let table = rows(&card.made);
    has(&table, "White cells | 0.4 ×10⁹/L counted; 0.08 of the blood’s");
    has(&table, "Haematocrit | 0.002 counted");
    has(
        &rows(&card.done),
        "product read as 45.8, 46.6, 46.1, 45.9, 46.3 (spread 0.7 %), diluted 1 part in 20",
    );
    assert!(fit::height(&card) <= fit::ROOM, "{}", fit::height(&card));
    // of which sample the white cells were read is not said: none is printed
    d.choices.cells_dilution = None;
    has(&rows(&made(&d).made), "White cells | not counted");
}

#[test]
fn a_reading_outside_the_analysers_range_stands_on_no_label() {
    let mut d = counted();
    let high = crate::quantity::CellCount::constant(40.0);
    d.kit.analyser.high = Some(high);
    let l = labels(&made(&d))[0].1.clone();
    assert!(l.contains("concentration not confirmed") && !l.contains("10⁹"), "{l}");
}

#[test]
fn the_product_label_says_what_is_known_and_no_more() {
    let plain_label = |d: &Draft| labels(&made(d))[0].1.clone();
    let l = plain_label(&counted());
    for part in
        ["PRP 3.8 mL", "HL-0417, born 4 Aug 1982", "RIGHT patellar tendon", "924 ×10⁹/L, counted; in ACD-A"]
    {
        assert!(l.contains(part), "{l}");
    }
    for part in ["made 25 Nov 2026, 11:30, MO", "Use by 14:40 25 Nov 2026", "for this patient only", "Demo"] {
        assert!(l.contains(part), "{l}");
    }
    assert!(plain_label(&complete()).contains("platelets not counted; in ACD-A"));
    let mut not = complete();
    not.rows.readings = 0;
    for d in [complete(), not] {
        assert!(plain_label(&d).starts_with("PRP 4 mL /"), "no sample was taken: {}", plain_label(&d));
    }
    // Neither a count that nobody vouches for nor one above what can be.
    let unsure: [fn(&mut Draft); 2] = [
        |d| d.choices.mixed_no_clumps = None,
        |d| {
            d.write(Field::Reading(0), "91.6");
            d.write(Field::Reading(1), "93.2");
        },
    ];
    for change in unsure {
        let mut d = counted();
        change(&mut d);
        let l = plain_label(&d);
        assert!(l.contains("concentration not confirmed; in ACD-A") && !l.contains("10⁹"), "{l}");
    }
    let mut unsaid = counted();
    unsaid.write(Field::Dilution, "");
    assert!(plain_label(&unsaid).contains("platelets not counted; in ACD-A"));
    let poor = labels(&made(&counted()))[1].1.clone();
    assert!(poor.contains("This is not the product.") && poor.contains("unless ordered"), "{poor}");
}

#[test]
fn a_count_that_may_not_be_relied_on_is_marked_wherever_it_prints() {
    let mut d = counted();
    d.write(Field::ProductWhite, "0.2");
    d.choices.cells_dilution = Some(crate::draft::SampleDilution::Undiluted);
    d.troubles.push(Trouble {
        kind: TroubleKind::Clumps,
        container: None,
        at: at(-25),
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    let card = made(&d);
    has(&rows(&card.done), "Product count |  | 924 ×10⁹/L not confirmed |");
    let table = rows(&card.made);
    has(&table, "Concentration | 924 ×10⁹/L not confirmed");
    has(&table, "White cells | 0.2 ×10⁹/L not confirmed");
    for row in table.iter().chain(&rows(&card.doses)) {
        assert!(!row.contains("counted") || row.contains("predicted, not counted"), "{row}");
    }
}

#[test]
fn an_open_stop_withholds_the_product_label() {
    let mut d = demo();
    d.stage = crate::draft::Stage::BeforeNeedle;
    let kinds: Vec<_> = labels(&made(&d)).into_iter().map(|l| l.0).collect();
    assert!(kinds.contains(&LabelKind::Withheld) && !kinds.contains(&LabelKind::Product), "{kinds:?}");
    let key = crate::finding::FindingKind::IdentityUnchecked.key();
    let decision = Decision::new("Dr A. Reyes-Lindqvist", "known to me", at(0));
    d.decisions.insert(key, decision);
    let card = made(&d);
    assert_eq!(labels(&card)[0].0, LabelKind::Product);
    let said: Vec<String> = card.findings.iter().filter_map(|f| f.said.clone()).collect();
    has(&said, "Decided: Dr A. Reyes-Lindqvist, 12:00: known to me");
    check(&mut d, CheckKind::IdentityDiffers, "MO", 0);
    assert_eq!(made(&d).labels, None);
}

#[test]
fn a_label_printed_after_the_hand_over_says_that_it_is_a_copy() {
    let mut d = counted();
    let large = |d: &Draft| labels(&made(d)).into_iter().filter(|l| l.0 != LabelKind::Container);
    assert!(large(&d).all(|(_, words)| !words.contains("Copy")));
    d.times.handed_over = Some(at(70));
    let copies: Vec<String> = large(&d).map(|(_, words)| words).collect();
    assert_eq!(copies.len(), 2, "product and plasma: {copies:?}");
    for words in &copies {
        assert!(words.starts_with("Copy: "), "{words}");
        assert!(words.contains("for the chart only: handed over 13:10"), "{words}");
    }
    let card = made(&d);
    let lines = card.labels.iter().flat_map(|l| &l.large).flat_map(|l| &l.lines);
    assert!(
        lines.into_iter().all(|(kind, _)| *kind != crate::export::label::LineKind::UseBy),
        "none is large"
    );
}

#[test]
fn a_label_leaves_the_volume_open_while_an_addition_is() {
    let mut d = counted();
    d.rows.additions = 1;
    d.choices.additions.insert(0, AdditionChoice::CalciumGluconate);
    d.write(Field::AdditionStrength(0), "10");
    assert_eq!(labels(&made(&d))[0].0, LabelKind::Withheld);
    let decision = Decision::new("Dr A. Reyes-Lindqvist", "added at the site", at(0));
    d.decisions.insert(crate::finding::FindingKind::AdditionIncomplete.key(), decision);
    let l = labels(&made(&d))[0].1.clone();
    assert!(l.starts_with("PRP ____ /") && l.contains("concentration not confirmed"), "{l}");
    d.write(Field::AdditionVolume(0), "0.2");
    let l = labels(&made(&d))[0].1.clone();
    assert!(l.starts_with("PRP 4 mL /") && l.contains("878 ×10⁹/L, counted"), "{l}");
}

#[test]
fn a_check_made_before_the_identifiers_changed_prints_as_such() {
    let mut d = complete();
    check(&mut d, CheckKind::HandOver, "JT", -5);
    d.lapse(Changed::Identifiers);
    let small: Vec<String> = made(&d).who[0].small.iter().map(say).collect();
    has(&small, "Patient stated both identifiers, and they agree: MO, 10:30, before the identifiers changed");
    has(&small, "read back at hand-over: JT, 11:55, before the identifiers changed");
}

#[test]
fn whose_order_it_was_and_what_was_read_back_with_it_print() {
    use crate::draft::TakenOver;
    let mut d = complete();
    d.taken_over = Some(TakenOver { sign: d.sign, at: at(-60 * 24 * 30) });
    let who = |d: &Draft| made(d).who[2].lines.iter().map(say).collect::<Vec<_>>();
    let from = format!("order taken over from {}, ", d.sign);
    has(&who(&d), &from);
    has(&who(&d), "; not held against today’s");
    check(&mut d, CheckKind::TodaysOrder, "JT", -5);
    has(&who(&d), "; held against today’s: JT, 11:55");
    check(&mut d, CheckKind::HandOver, "JT", -5);
    has(&made(&d).sign_off, "identifiers read back, JT, 11:55");
    let of = d.place_read_back();
    d.checks.get_mut(&CheckKind::HandOver).unwrap().of = of;
    has(&made(&d).sign_off, "identifiers, side and site read back, JT, 11:55");
    d.lapse(Changed::Site);
    let small: Vec<String> = made(&d).who[0].small.iter().map(say).collect();
    has(&small, "read back at hand-over, right patellar tendon: JT, 11:55, before site or side changed");
}

#[test]
fn a_balance_check_stands_beside_the_spin_it_was_made_for() {
    let mut d = checked();
    d.times.needle_in = Some(at(-80));
    check(&mut d, CheckKind::Balance, "MO", -71);
    d.begin_stage(0, at(-70));
    d.begin_stage(1, at(-58));
    check(&mut d, CheckKind::Balance, "JT", -51);
    d.begin_stage(2, at(-50));
    check(&mut d, CheckKind::HandOver, "JT", -5);
    d.write(Field::HandedTo, "Dr A. Reyes-Lindqvist");
    d.times.handed_over = Some(at(-4));
    let card = made(&d);
    let done = rows(&card.done);
    let spin = |n: &str| done.iter().find(|r| r.starts_with(n)).unwrap().clone();
    let (one, two) = (spin("Spin 1"), spin("Spin 2"));
    assert!(one.ends_with("; balanced MO, 10:49") && two.ends_with("; balanced JT, 11:09"), "{one}\n{two}");
    let small: Vec<String> = card.who[0].small.iter().map(say).collect();
    assert_eq!(small, ["both stated by the patient: MO, 10:30"]);
    has(
        &card.sign_off,
        "identifiers read back, JT, 11:55; handed to Dr A. Reyes-Lindqvist, 11:56; signature",
    );
    // What was weighed stands with the spin it was weighed for.
    d.write(Field::FilledWeight(0), "31.2");
    d.write(Field::FilledWeight(1), "31.9");
    let done = rows(&made(&d).done);
    let weighed =
        |n: &str| done.iter().any(|r| r.starts_with(n) && r.contains("weighed: 1 and 2 0.7 g apart"));
    assert!(weighed("Spin 1") && !weighed("Spin 2"), "{done:?}");
    // Weighed anew after a stop, both are told.
    let mut again = d.clone();
    let (began, stopped) = (at(-90), at(-85));
    again.times.interrupted.push(crate::draft::Interrupted { stage: 0, began, stopped });
    let weighed = [(Field::FilledWeight(0), "32.5".to_owned())].into();
    again.times.stops.push(crate::draft::StopOf { at: stopped, stage: 0, run: 0, weighed });
    has(
        &rows(&made(&again).done),
        "begun 10:30 (weighed: container 1 32.5 g), stopped 10:35, run again 10:50",
    );
    // Without a start it stands with the spin that comes next; a card of it all fits its page.
    d.times.stages.remove(&2);
    let card = made(&d);
    has(&rows(&card.done), "balanced JT, 11:09");
    assert!(fit::height(&card) <= 263.0);
}

#[test]
fn a_balance_check_stands_beside_its_spin_where_only_its_first_stage_was_entered() {
    let mut d = checked();
    ramps(&mut d);
    d.times.needle_in = Some(at(-80));
    check(&mut d, CheckKind::Balance, "MO", -71);
    d.begin_stage(0, at(-70));
    d.begin_stage(3, at(-58));
    check(&mut d, CheckKind::Balance, "JT", -51);
    let turning = |d: &Draft| {
        let done = rows(&made(d).done);
        let of = |who: &str| done.iter().position(|row| row.contains(&format!("balanced {who}")));
        let spin = |n: u8| done.iter().position(|row| row.starts_with(&format!("Spin {n} ")));
        ([of("MO"), of("JT")], [1, 2, 3, 4].map(spin))
    };
    // Ramp, hold; ramp, hold: the second is made for the ramp, tapped or not yet, and not for the first hold.
    let found = turning(&d);
    assert_eq!(found.0, [found.1[0], found.1[2]]);
    d.begin_stage(4, at(-50));
    d.times.spin_end = Some(at(-40));
    assert_eq!(turning(&d), found);
    // Run again at a hold that was entered, it is of that.
    let mut again = d.clone();
    again.times.stages = [(0, at(-70)), (1, at(-50))].into();
    assert_eq!(turning(&again).0, [found.1[0], found.1[1]]);
    // "By hand" not entered: the next start tells.
    d.times.stages.remove(&3);
    assert_eq!(turning(&d), found);
}

/// Ramp, hold, stop, by hand, ramp, hold.
fn ramps(d: &mut Draft) {
    let protocol = d.kit.protocol.as_mut().unwrap();
    let [first, hand, second] = <[Stage; 3]>::try_from(protocol.programme.0.clone()).unwrap();
    let minute = Seconds::constant(60.0);
    let ramp = |hold: &Stage| Stage::Ramp { to: hold.speed().unwrap(), time: minute };
    let stages = [ramp(&first), first, Stage::Stop { time: Some(minute) }, hand, ramp(&second), second];
    protocol.programme.0 = stages.into();
}

#[test]
fn a_container_set_aside_is_named_and_keeps_its_number() {
    let mut d = complete();
    let kind = TroubleKind::Clot;
    d.troubles.push(Trouble {
        kind,
        container: Some(0),
        at: at(-75),
        by: "MO".into(),
        set_aside: true,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    let card = made(&d);
    has(&rows(&card.done), "1: 2 + 13 = 15 mL, set aside; 2: 2 + 13 = 15 mL");
    has(&card.troubles, "10:45, Clot, container 1, set aside, MO");
    let aside = |by: &str, minutes| Some(Check { by: by.into(), at: at(minutes), of: String::new() });
    for (who, minutes, said) in [
        ("MO", -75, "10:45, Clot, container 1, set aside, MO"),
        ("MO", -62, "10:45, Clot, container 1, set aside 10:58, MO"),
        ("JT", -62, "10:45, Clot, container 1, set aside 10:58 JT, MO"),
    ] {
        let mut later = d.clone();
        later.troubles[0].aside = aside(who, minutes);
        has(&made(&later).troubles, said);
    }
}

#[test]
fn what_was_set_aside_alone_or_too_late_gets_no_label() {
    let clot = |set_aside: &[u8], minutes: i64| {
        let mut d = counted();
        for &i in set_aside {
            let (kind, container, at, by) = (TroubleKind::Clot, Some(i), at(minutes), "MO".into());
            d.troubles.push(Trouble {
                kind,
                container,
                at,
                by,
                set_aside: true,
                aside: None,
                collected: false,
                withdrawn: None,
            });
        }
        d
    };
    // The product was collected at −30.
    assert!(made(&clot(&[0], -75)).labels.is_some());
    assert_eq!(made(&clot(&[0, 1], -75)).labels, None);
    let late = made(&clot(&[0], -20));
    assert_eq!(late.labels, None);
    has(&late.troubles, "11:40, Clot, container 1, set aside after collection, MO");
    has(&rows(&late.done), "1 to 2: 2 + 13 = 15 mL each");
}

#[test]
fn a_mark_not_entered_is_said_and_its_container_is_in_no_sum() {
    let mut d = complete();
    d.write(Field::FillActual(1), "");
    let card = made(&d);
    let done = rows(&card.done);
    has(&done, "| 2 + 13 = 15 mL | 1: 2 + 13 = 15 mL; 2: mark not entered |");
    has(&done, "Blood used |  | 13 mL |  |  | without container 2, whose content is not known");
    assert!(!done.iter().any(|r| r.contains("drawn today")), "{done:?}");
    assert!(!rows(&card.made).iter().any(|r| r.contains("Platelets drawn")));
    assert_eq!(card.ledger, None);
    d.write(Field::BloodCount, "2.1");
    has(&rows(&made(&d).done), "Blood count |  | typed, not read");
}

#[test]
fn while_the_needle_is_in_only_what_a_mark_was_entered_for_was_drawn() {
    let mut d = complete();
    d.times.needle_out = None;
    d.write(Field::FillActual(1), "");
    let done = rows(&made(&d).done);
    has(&done, "no mark yet for container 2: as planned, not drawn");
    assert!(!done.iter().any(|r| r.contains("drawn today")), "{done:?}");
    d.write(Field::FillActual(1), "15");
    let done = rows(&made(&d).done);
    has(&done, "drawn today");
    assert!(!done.iter().any(|r| r.contains("blood volume") || r.contains("eight weeks")), "{done:?}");
    // Where the patient's size is known, what share that is; where blood was drawn before, the sum.
    for (field, text) in [(Field::Weight, "80"), (Field::Height, "180"), (Field::PreviousBlood, "40")] {
        d.write(field, text);
    }
    d.choices.sex = Some(crate::blood::patient::Sex::Male);
    // 5319 mL by the card of a man of 80 kg and 1.80 m.
    has(
        &rows(&made(&d).done),
        "26 mL drawn today; 0.5 % of the estimated blood volume; 66 mL drawn in eight weeks",
    );
}

#[test]
fn what_was_taken_back_or_no_longer_holds_still_prints() {
    let mut d = complete();
    let kind = TroubleKind::Clot;
    let withdrawn = Some(Check { by: "JT".into(), at: at(-74), of: String::new() });
    d.troubles.push(Trouble {
        kind,
        container: Some(0),
        at: at(-75),
        by: "MO".into(),
        set_aside: true,
        aside: None,
        collected: false,
        withdrawn,
    });
    let about = Some(crate::draft::About { grave: 0.01, ..Default::default() });
    let found = "Container 2 holds much.".to_owned();
    let said = Decision { about, found, ..Decision::new("MO", "", at(-73)) };
    d.decisions.insert("anticoagulant_high.2".into(), said);
    d.write(Field::FillActual(1), "11");
    let card = made(&d);
    has(&card.troubles, "10:45, Clot, container 1, set aside, MO, taken back JT, 10:46");
    has(&rows(&card.done), "1: 2 + 13 = 15 mL; 2: 2 + 9 = 11 mL");
    let said: Vec<String> = card.findings.iter().filter_map(|f| f.said.clone()).collect();
    has(&said, "No longer holds: MO, 10:47. On: Container 2 holds much.");
}

#[test]
fn notes_go_first_then_predictions_and_what_matters_stays() {
    let mut d = counted();
    for what in Screening::ALL {
        d.choices.screening.insert(what, true);
    }
    d.write(Field::FillActual(1), "11");
    d.write(
        Field::OrderNote,
        "slow injection, patient seated, local anaesthetic beforehand in the skin only".repeat(2),
    );
    d.rows.additions = 3;
    for i in 0..3 {
        d.choices.additions.insert(i, AdditionChoice::CalciumGluconate);
        d.write(Field::AdditionStrength(i), "10");
        d.write(Field::AdditionVolume(i), "0.1");
    }
    d.troubles.push(Trouble {
        kind: TroubleKind::PinkPlasma,
        container: None,
        at: at(-40),
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    let card = made(&d);
    assert!(card.findings.iter().all(|f| f.level > Level::Note), "notes left: {:#?}", card.findings);
    assert!(card.findings.iter().filter(|f| f.level == Level::Caution).count() >= 10);
    assert!(card.made.rows.iter().all(|r| r.cells.len() < 3), "predictions left");
    assert_eq!(card.doses.rows.len(), 3);
    assert!(card.done.rows.len() >= 10);
    assert!(
        made(&counted()).made.rows.iter().any(|r| r.cells.len() == 3),
        "an ordinary card keeps its predictions"
    );
}

#[test]
fn a_card_that_predicts_nothing_has_room_for_its_strip() {
    let mut d = counted();
    assert!(made(&d).ledger.is_some());
    d.kit.protocol.as_mut().unwrap().expectation = None;
    let card = made(&d);
    assert!(card.made.rows.iter().all(|r| r.cells.get(2).is_none_or(Vec::is_empty)), "nothing predicted");
    // Each row ends in its second column, which takes all the room there is.
    assert!(card.ledger.is_some(), "{}", fit::height(&card));
}

#[test]
fn a_time_that_was_corrected_says_so_in_one_line_and_the_card_still_fits() {
    let mut d = complete();
    assert_eq!(made(&d).corrected, [""; 0]);
    let before = fit::height(&made(&d));
    d.correct(TimeOf::NeedleIn, at(-94), "MO".into(), at(-58));
    let card = made(&d);
    assert_eq!(card.corrected, ["Needle in 10:40 corrected to 10:26, MO 11:02"]);
    has(&rows(&card.done), "| 10:26 to 10:44 |");
    assert!(fit::height(&card) > before);
    // Corrected again and days later, it stays one line, which names the day.
    d.correct(TimeOf::NeedleIn, at(-95), "JT".into(), at(2 * 1440));
    let day = "27\u{a0}Nov\u{a0}2026, 12:00";
    let line = format!("Needle in 10:40 corrected to 10:25 (2 times), JT {day}");
    assert_eq!(made(&d).corrected, [line]);
    for what in d.times.entered() {
        let was = d.times.get(what).unwrap();
        d.correct(what, Instant(was.0 - 60_000), "MO".into(), at(-5));
    }
    let full = made(&d);
    assert_eq!(full.corrected.len(), d.times.entered().len());
    assert!(fit::height(&full) <= fit::ROOM, "{}", fit::height(&full));
}

#[test]
fn a_spin_that_was_run_again_prints_both_starts() {
    let mut d = complete();
    d.times.spin_end = None;
    let (kind, stop) = (TroubleKind::SpinStopped, at(-46));
    d.went_wrong(Trouble {
        kind,
        container: None,
        at: stop,
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    d.run_again(at(-35));
    d.times.spin_end = Some(at(-25));
    let card = made(&d);
    let again = "begun 11:10, stopped 11:14, run again 11:25";
    let done = rows(&card.done);
    assert!(
        done.iter()
            .any(|r| r.starts_with("Spin 2 |") && r.contains("| 11:25 to 11:35 |") && r.ends_with(again)),
        "{done:#?}"
    );
    has(&card.troubles, "11:14, Spin stopped midway, MO");
}

#[test]
fn a_late_count_names_its_day_and_that_it_is_when_it_was_entered() {
    let mut d = counted();
    d.times.counted = Some(at(10));
    has(&rows(&made(&d).done), "| 924 ×10⁹/L | entered 12:10 |");
    d.times.counted = Some(at(2 * 1440));
    has(&rows(&made(&d).done), "| 924 ×10⁹/L | entered 27 Nov 2026, 12:00 |");
    d.correct(TimeOf::Counted, at(1440), "MO".into(), at(2 * 1440));
    has(&rows(&made(&d).done), "| 924 ×10⁹/L | 26 Nov 2026, 12:00 |");
}

#[test]
fn an_amended_card_says_so_with_reason_and_change() {
    let mut record = Record::sign(complete(), "MO", at(0), vec![]).unwrap();
    assert_eq!(of(&complete(), Some(&record), card).amended, Vec::<String>::new());
    record.amend(counted(), "JT", at(30), vec![], "count came back").unwrap();
    let card = of(&counted(), Some(&record), card);
    assert_eq!(card.title, "Amended preparation card, platelet-rich plasma");
    let amended: Vec<String> = card.amended.iter().map(|l| l.replace('\u{a0}', " ")).collect();
    has(&amended, "Amended by JT, 25 Nov 2026, 12:30: count came back");
    has(&amended, "Reading 1 now “45.8”, nothing before");
    has(&amended, "First signed by MO, 25 Nov 2026, 12:00.");
    has(&card.who[2].lines.iter().map(say).collect::<Vec<_>>(), "made by MO");
    let mut changed = counted();
    changed.write(Field::Notes, "later");
    has(&of(&changed, Some(&record), super::card).amended, "not signed yet");
}

#[test]
fn what_was_changed_after_the_hand_over_prints_with_its_reason() {
    let mut d = complete();
    d.hand_over(at(30));
    let kept = d.text(Field::ProductActual).to_owned();
    let why = |d: &mut Draft, text: &str| d.edit(None, |d| d.type_in(Field::WhyChanged, text, at(35), None));
    d.edit(None, |d| d.write(Field::ProductActual, "3.6"));
    why(&mut d, "misread the syringe");
    // Each reason stands after what it was given for, and what has none yet stands last.
    d.edit(None, |d| d.choices.side = Some(Side::Left));
    d.edit(None, |d| d.kit.rotor.as_mut().unwrap().name = "Rotor B".into());
    why(&mut d, "wrong column");
    d.edit(None, |d| d.kit.protocol.as_mut().unwrap().programme.0.clear());
    let told = |d: &Draft| of(d, None, card).corrected;
    let kept = format!("Changed after hand-over: Product kept now “3.6”, “{kept}” before");
    let all = told(&d);
    assert!(all[0].starts_with("Changed after hand-over: now LEFT"), "{all:?}");
    assert!(all[1].starts_with("Changed after hand-over: Rotor now “Rotor B”, “"), "{all:?}");
    let anew = "Changed after hand-over: Protocol “Double-spin tube method” taken from the Bench anew";
    assert_eq!(all[2..], ["wrong column", kept.as_str(), "misread the syringe", anew]);
    let said = told(&d).join("; ");
    // What an amendment changes is its own to say.
    let mut record = Record::sign(d.clone(), "MO", at(40), vec![]).unwrap();
    d.write(Field::HandedTo, "somebody else");
    record.amend(d.clone(), "JT", at(50), vec![], "wrong name").unwrap();
    let later = of(&d, Some(&record), card);
    assert_eq!(later.corrected.join("; "), said);
    has(&later.amended, "somebody else");
}

#[test]
fn the_question_list_asks_what_is_open_and_leaves_out_what_the_room_settles() {
    let q = of(&demo(), None, questions);
    assert!(q.asks);
    has(&q.open, "white cells");
    let found: Vec<&str> = q.cautions.iter().map(|(_, text)| text.as_str()).collect();
    let [screening] = found[..] else { panic!("{found:?}") };
    assert!(screening.contains("anti-inflammatory"));
    let on_page = of(&demo(), None, |g| g.answer.findings.iter().map(|f| f.kind.key()).collect::<Vec<_>>());
    assert!(on_page.iter().any(|k| k == "no_rating"), "{on_page:?}");
}

#[test]
fn demo_stands_on_every_paper_and_label() {
    let card = made(&checked());
    assert_eq!(card.tag.as_deref(), Some("Demo, not a patient"));
    for (kind, words) in labels(&card) {
        assert!(words.contains("Demo"), "{kind:?}: {words}");
    }
    let mut real = checked();
    real.demo = false;
    assert!(labels(&made(&real)).iter().all(|(_, words)| !words.contains("Demo")));
}

#[test]
fn the_blank_sheet_holds_no_value() {
    let sheet = blank(&Bench::default().clinic, Language::English);
    assert!(sheet.blank && sheet.sign.as_deref() == Some("") && sheet.tag.is_none());
    let ruled = |r: &Row| r.cells.iter().any(|c| plain(c).contains("____"));
    assert!(sheet.done.rows.iter().chain(&sheet.made.rows).chain(&sheet.doses.rows).all(ruled));
    assert_eq!(sheet.labels.map(|l| l.large.len()), Some(2));
}

#[test]
fn a_lot_prints_with_where_it_and_its_expiry_come_from() {
    let with =
        |d: &Draft| rows(&made(d).done).into_iter().find(|row| row.starts_with("In each container")).unwrap();
    let with = |d: &Draft| with(d).to_lowercase();
    let mut d = complete();
    d.times = Default::default();
    d.kit.container.as_mut().unwrap().product_number = crate::scan::Gtin::read("06291041500213");
    let scan = |d: &mut Draft, code: &str| d.type_in(Field::ContainerLot, code, at(-100), None);
    let expiry = |d: &mut Draft, typed: &str| d.type_in(Field::ContainerExpiry, typed, at(-99), None);
    scan(&mut d, "(01)06291041500213(17)260228(10)K-0071");
    has(&[with(&d)], "lot k-0071 (scanned); expiry 2026-02-28 (scanned)");
    expiry(&mut d, "28 Feb 2027");
    has(&[with(&d)], "lot k-0071 (scanned); expiry 28 feb 2027 (typed; 28 feb 2026 in the code)");
    expiry(&mut d, "28 Feb 2026");
    has(&[with(&d)], "lot k-0071 (scanned); expiry 28 feb 2026");
    assert!(!with(&d).contains("code"), "{}", with(&d));
    expiry(&mut d, "");
    has(&[with(&d)], "lot k-0071 (scanned); expiry not entered (28 feb 2026 in the code)");
    // Of another product, and typed by hand since.
    scan(&mut d, "(01)07300011000017(17)270228(10)K-0072");
    scan(&mut d, "K-0073");
    has(&[with(&d)], "lot k-0073; a code of another product was scanned, 07300011000017");
}

#[test]
fn a_lot_corrected_after_the_needle_prints_with_the_one_before() {
    let mut d = complete();
    check(&mut d, CheckKind::ContainersSound, "MO", -90);
    d.write(Field::ContainerLot, "K-0071");
    d.write(Field::ContainerExpiry, "2027-03-31");
    d.change(|d| d.type_in(Field::ContainerLot, "(17)270630(10)K-0099", at(-20), None));
    let all = rows(&made(&d).done);
    has(
        &all,
        "lot K-0099 (scanned); expiry 2027-06-30 (scanned); lot corrected after the needle, K-0071 before",
    );
    has(&all, "expiry corrected after the needle, 2027-03-31 before");
    has(&all, "sealed, in date and labelled: looked at lot K-0071");
}

#[test]
fn session_and_adverse_event_print() {
    let mut d = complete();
    d.write(Field::Session, "2 of 3");
    d.write(Field::AdverseEvent, "fainted at the needle, 10:12, prescriber told");
    let card = made(&d);
    let small: Vec<String> = card.who.iter().flat_map(|b| b.small.iter().map(say)).collect();
    has(&small, "session 2 of 3");
    has(&card.troubles, "Adverse event: fainted at the needle, 10:12, prescriber told");
}

/// A code of so many characters, as it stands on a card.
fn coded(draft: &Draft, characters: usize) -> CardCode {
    let symbols = vec![Symbol::of(&"A".repeat(characters)).unwrap()];
    CardCode::new(Ok(Code { symbols, closed: true, reference: false }), draft, Language::English)
}

#[test]
fn a_code_fits_beside_the_foot_and_takes_no_word_from_the_card() {
    let mut handed = counted();
    handed.write(Field::HandedTo, "Dr A. Reyes-Lindqvist");
    handed.times.handed_over = Some(at(-4));
    for d in [demo(), checked(), complete(), counted(), handed] {
        for characters in [250, 640, 1400] {
            let plain = made(&d);
            let card = of(&d, None, |given| super::card_with(given, Some(coded(&d, characters))));
            assert!(fit::height(&card) <= fit::ROOM, "{}", fit::height(&card));
            let findings = |card: &Card| {
                card.findings.iter().filter(|f| f.level > Level::Note).cloned().collect::<Vec<_>>()
            };
            assert_eq!((&card.done, &card.doses), (&plain.done, &plain.doses));
            assert_eq!((&card.made, findings(&card)), (&plain.made, findings(&plain)));
            let code = card.code.as_ref().unwrap();
            // Left out it says so; copies of labels give way to it, labels still needed do not.
            assert!(!code.symbols.is_empty() || code.says.contains("no room"), "{}", code.says);
            assert!(card.labels.is_some() || d.times.handed_over.is_some());
        }
    }
}

#[test]
fn a_rebuilt_case_says_so_on_its_card() {
    let mut d = counted();
    d.rebuilt = Some(crate::draft::Rebuilt {
        at: at(-3),
        whole: false,
        signed: Some(at(-60)),
        check: Some("0a1b2c3d".into()),
        printed: None,
    });
    let said = |d: &Draft| made(d).amended[0].replace('\u{a0}', " ");
    assert_eq!(
        said(&d),
        "Rebuilt from quantities, lots and times in the code on a card, 25 Nov 2026, 11:57; it names a signature of 25 Nov 2026, 11:00, record check 0a1b2c3d, which nothing here confirms."
    );
    d.rebuilt.iter_mut().for_each(|r| (r.printed, r.whole) = (Some(at(-30)), true));
    assert_eq!(
        said(&d),
        "Rebuilt from the code on a card, 25 Nov 2026, 11:57; its code printed 25 Nov 2026, 11:30, and what was entered later is not in it; that record was signed 25 Nov 2026, 11:00, record check 0a1b2c3d."
    );
}

#[test]
fn who_did_each_stage_stands_beside_its_times_and_a_line_where_nobody_is_named() {
    let mut d = counted();
    d.write(Field::HandedTo, "Dr A. Reyes-Lindqvist");
    d.times.handed_over = Some(at(0));
    let blank = made(&d);
    let by = |card: &Card, name: &str| {
        let row = card.done.rows.iter().find(|r| say(&r.cells[0]).starts_with(name)).unwrap();
        row.cells[4].clone()
    };
    let rows = ["ACD-A", "In each container", "Spin 1", "By hand", "Spin 2", "Product kept"];
    for name in rows {
        assert_eq!(by(&blank, name), [Run::Rule], "{name}");
    }
    for nobody in ["Blood count", "Blood used"] {
        assert_eq!(by(&blank, nobody), [], "{nobody}");
    }
    let who = [
        (Field::WhoBefore, "MO"),
        (Field::WhoDraw, "JT"),
        (Field::WhoSpin(0), "MO"),
        (Field::WhoSpin(1), "JT"),
        (Field::WhoSpin(2), "KL"),
        (Field::WhoProduct, "MO"),
        (Field::WhoHandOver, "JT"),
    ];
    who.into_iter().for_each(|(field, initials)| d.write(field, initials));
    let card = made(&d);
    for (name, initials) in rows.into_iter().zip(["MO", "JT", "MO", "JT", "KL", "MO"]) {
        assert_eq!(say(&by(&card, name)), initials, "{name}");
    }
    assert_eq!(by(&card, "Blood count"), [], "a laboratory's, it may be: who made ready did not count it");
    has(&card.sign_off, "handed to Dr A. Reyes-Lindqvist, 12:00, by JT; signature");
    assert_eq!(say(&by(&card_of_paper(), "Spin 2")), "____", "by hand too");
    let chart = of(&d, None, crate::export::chart::chart);
    assert!(chart.contains("; by JT; with"), "{chart}");
    assert!(!of(&counted(), None, crate::export::chart::chart).contains("____"));
}

fn card_of_paper() -> Card {
    blank(&Bench::default().clinic, Language::English)
}

#[test]
fn what_was_entered_is_not_left_to_the_hand() {
    let mut d = counted();
    let all = "by hand: site of the draw; spin temperature and brake as set; given at; stored at; notes";
    assert_eq!(made(&d).notes, all);
    let typed = [
        (Field::DrawSite, "left arm, inner elbow"),
        (Field::TemperatureSet(0), "20.5"),
        (Field::TemperatureSet(2), "68"),
        (Field::PartGivenAt(0), "12:05"),
        (Field::KeptUntilGiven, "on the rocker, 22 °C"),
    ];
    typed.into_iter().for_each(|(field, text)| d.write(field, text));
    d.choices.brakes = [(0, Brake::Off), (2, Brake::On)].into();
    let card = made(&d);
    assert_eq!(card.notes, "by hand: given at; notes", "of one part it is not known");
    let done = rows(&card.done);
    has(&done, "drawn from left arm, inner elbow; Tube, filled to 15 mL");
    has(&done, "20.5 °C, brake off");
    has(&done, "68, brake on");
    has(&done, "kept until given: on the rocker, 22 °C");
    let doses = rows(&card.doses);
    has(&doses, "2 mL planned, at 12:05 |");
    let mut over = d.clone();
    over.times.handed_over = over.times.spin_end;
    has(&rows(&made(&over).doses), "2 mL planned, given at 12:05, how much is not told |");
    has(&doses, "1 mL planned |");
    d.write(Field::PartGivenAt(1), "at once");
    assert_eq!(made(&d).notes, "by hand: notes");
    has(&rows(&made(&d).doses), "1 mL planned, at at once |");
    assert!(fit::height(&made(&d)) <= fit::ROOM);
}

#[test]
fn a_text_without_room_stands_whole_on_one_page() {
    let mut d = counted();
    let long = "left arm, inner elbow, ".repeat(12);
    for field in [Field::DrawSite, Field::KeptUntilGiven] {
        d.write(field, long.clone());
        assert!(field.too_long(&long).is_some());
    }
    let card = made(&d);
    let done = rows(&card.done);
    has(&done, &format!("drawn from {}", long.trim()));
    has(&done, &format!("kept until given: {}", long.trim()));
    assert!(fit::height(&card) <= fit::ROOM);
}

#[test]
fn what_earlier_sessions_measured_stands_under_the_session() {
    let mut d = counted();
    d.write(Field::Session, "2 of 3");
    let before = Session {
        sign: CheckSign::pick(1, &[]),
        number: (1, 3),
        at: at(-30 * 1440),
        recovery: Recovery::new(0.69).unwrap(),
        same_protocol: true,
    };
    let line = format!("Measured in session 1 of 3 on 26 Oct 2026, record {}: recovery 0.69.", before.sign);
    let sessions = [before];
    let card = of(&d, None, |given| card(Given { sessions: &sessions, ..given }));
    let small: Vec<String> = card.who[1].small.iter().map(say).collect();
    let at = small.iter().position(|l| l == "session 2 of 3").unwrap();
    assert_eq!(small[at + 1], line);
    assert!(fit::height(&card) <= fit::ROOM);
    let none = made(&d).who[1].small.iter().map(say).any(|l| l.contains("Measured in session"));
    assert!(!none);
    assert_eq!(card.made, made(&d).made, "it takes the place of nothing that is predicted or counted");
}

#[test]
fn a_date_with_hyphens_stays_on_one_line() {
    let all = pieces("lot K-0058; expiry 2026-12-31; second-hand, well-known -5 to");
    let whole: Vec<&str> = all.iter().filter(|(_, whole)| *whole).map(|(word, _)| *word).collect();
    assert_eq!(whole, ["K-0058;", "2026-12-31;"]);
    for text in ["", "a", "2026-12-31", " 2026-12-31 ", "born 1991-04-09, HL-0417", &"9-".repeat(30)] {
        assert_eq!(pieces(text).iter().map(|(word, _)| *word).collect::<String>(), text);
    }
    assert_eq!(pieces(&"9-9".repeat(30)).len(), 1, "what is longer than a line's end breaks where it may");
}
