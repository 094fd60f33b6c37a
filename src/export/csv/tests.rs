//! Tables of signed records.

use super::cell::{FORMULA, cell};
use super::records::{AT_NEEDLE, record_row};
use super::*;
use crate::draft::{
    AdditionChoice, Check, CheckKind, CountStanding, Draft, Field, Rebuilt, Trouble, TroubleKind,
};
use crate::export::trial;
use crate::quantity::time::Instant;
use crate::quantity::{Quantity, Rpm, Seconds};
use crate::record::Record;
use crate::record::standing::RecordStanding;
use crate::spin::programme::{Speed, Stage};

fn table(record: &Record) -> String {
    let mut table = RecordTable::default();
    table.add(record, RecordStanding::of(record, false, false));
    table.text()
}

fn quality(record: &Record, dates: Dates) -> String {
    let mut table = QualityTable::new(dates);
    table.add(record);
    table.text()
}

/// Cells of a line; a quotation mark opens or closes what commas do not part.
fn cells(line: &str) -> Vec<String> {
    let (mut all, mut quoted) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => all.push(String::new()),
            c => all.last_mut().unwrap().push(c),
        }
    }
    all
}

/// Cell by column, of a table of one row.
fn at(table: &str, name: &str) -> String {
    let mut lines = table.split("\r\n");
    let (head, row) = (cells(lines.next().unwrap()), cells(lines.next().unwrap()));
    let n = head.iter().position(|h| h == name).unwrap_or_else(|| panic!("no {name} in {head:?}"));
    row[n].clone()
}

#[test]
fn cells_as_rfc_4180_writes_them_and_no_formula() {
    assert_eq!(cell("K-0058"), "K-0058");
    assert_eq!(cell("a,b"), "\"a,b\"");
    assert_eq!(cell("say \"b\""), "\"say \"\"b\"\"\"");
    assert_eq!(cell("one\ntwo"), "\"one\ntwo\"");
    assert_eq!(cell("a\u{0}b"), "ab");
    for begins in FORMULA {
        let guarded = cell(&format!("{begins}1"));
        assert!(guarded.trim_start_matches('"').starts_with('\''), "{guarded:?}");
    }
    assert_eq!(cell("=1,2"), "\"'=1,2\"");
    assert_eq!(cell("5-3"), "5-3");
}

#[test]
fn each_figure_stands_under_its_standing_alone() {
    let planned = table(&trial::planned());
    assert_eq!(at(&planned, "product_volume_planned_mL"), "4");
    assert_eq!(at(&planned, "product_volume_measured_mL"), "");
    assert_eq!(at(&planned, "platelets_in_product_counted_1e9"), "");
    let predicted: f64 = at(&planned, "platelets_in_product_predicted_1e9").parse().unwrap();
    let low: f64 = at(&planned, "platelets_in_product_predicted_low_1e9").parse().unwrap();
    assert!(low < predicted);
    let counted = table(&trial::counted());
    // 210·26/1000 = 5.46; 47·20 = 940; 940·4/1000 = 3.76
    for (name, is) in [
        ("product_volume_planned_mL", ""),
        ("product_volume_measured_mL", "4"),
        ("blood_in_all_measured_mL", "26"),
        ("platelets_drawn_counted_1e9", "5.46"),
        ("concentration_counted_1e9_per_L", "940"),
        ("platelets_in_product_counted_1e9", "3.76"),
        ("part_1_volume_given_mL", "2"),
        ("part_1_volume_ordered_mL", "2"),
        ("needle_in", "2026-11-25T10:40:00+01:00"),
        ("patient_reference", "HL-0417"),
        ("demo", "yes"),
    ] {
        assert_eq!(at(&counted, name), is, "{name}");
    }
}

#[test]
fn what_was_ordered_stays_beside_what_was_given() {
    let mut draft = trial::counted_draft();
    draft.write(Field::PartGiven(0), "2.5");
    let text = table(&trial::signed(&draft));
    assert_eq!(at(&text, "part_1_volume_ordered_mL"), "2");
    assert_eq!(at(&text, "part_1_volume_given_mL"), "2.5");
    let planned = table(&trial::planned());
    assert_eq!(at(&planned, "part_1_volume_ordered_mL"), "2");
    assert_eq!(at(&planned, "part_1_volume_given_mL"), "");
}

#[test]
fn what_was_changed_after_the_hand_over_keeps_what_stood_there_and_why() {
    let mut draft = trial::counted_draft();
    draft.hand_over(trial::SIGNED);
    let type_in = |draft: &mut Draft, field, text: &str| {
        draft.edit(None, |d| d.type_in(field, text, trial::SIGNED, None));
    };
    type_in(&mut draft, Field::ProductActual, "3.6");
    type_in(&mut draft, Field::WhyChanged, "misread, twice");
    type_in(&mut draft, Field::PartGiven(1), "0.8");
    draft.edit(None, |d| d.kit.rotor.as_mut().unwrap().name = "Rotor B".into());
    type_in(&mut draft, Field::WhyChanged, "not all given");
    let record = trial::signed(&draft);
    // What an amendment changes is its own to say.
    draft.write(Field::HandedTo, "somebody else");
    let later = trial::SIGNED;
    let record = trial::with(&draft, Some(&record), |given| {
        crate::export::signed::amend(&record, given, "JT", later, "wrong name")
    });
    let text = table(&record.unwrap());
    let listed = |name: &str| {
        let cell = at(&text, &format!("changed_after_hand_over{name}"));
        cell.split('\n').map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(listed(""), ["product_actual", "part_given_2", "rotor"]);
    let rotor = trial::counted_draft().kit.rotor.unwrap().name;
    assert_eq!(listed("_before"), ["4", "1", rotor.as_str()]);
    assert_eq!(listed("_now"), ["3.6", "0.8", "Rotor B"]);
    assert_eq!(listed("_why"), ["misread, twice", "not all given", "not all given"]);
    assert_eq!(at(&table(&trial::counted()), "changed_after_hand_over_why"), "");
}

#[test]
fn what_an_amendment_changed_is_told_line_by_line_with_who_and_why() {
    let record = trial::counted();
    let mut draft = record.latest().clone();
    let amend = |record: &Record, draft: &Draft, later: i64, why: &str| {
        let at = Instant(trial::SIGNED.0 + later);
        let amended = trial::with(draft, Some(record), |given| {
            crate::export::signed::amend(record, given, "JT", at, why)
        });
        amended.unwrap()
    };
    draft.write(Field::ProductActual, "3.8");
    draft.choices.side = Some(crate::draft::Side::Left);
    draft.times.collected = draft.times.spin_end;
    let record = amend(&record, &draft, 60_000, "misread, twice");
    draft.write(Field::WhoDraw, "=KL");
    let record = amend(&record, &draft, 120_000, "nobody was named");
    let text = table(&record);
    let listed =
        |name: &str| at(&text, &format!("amended{name}")).split('\n').map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(listed(""), ["product_actual", "side", "collected", "who_draw"]);
    // The needle went in at 10:40; the product was taken 40 minutes later, the spin had ended 5 minutes before.
    assert_eq!(listed("_before"), ["4", "RIGHT", "2026-11-25T11:20:00+01:00", ""]);
    assert_eq!(listed("_now"), ["3.8", "LEFT", "2026-11-25T11:15:00+01:00", "=KL"]);
    let twice = "misread, twice";
    assert_eq!(listed("_why"), [twice, twice, twice, "nobody was named"]);
    assert_eq!(listed("_by"), ["JT"; 4]);
    let [first, second] = ["2026-11-25T11:41:00+01:00", "2026-11-25T11:42:00+01:00"];
    assert_eq!(listed("_at"), [first, first, first, second]);
    assert_eq!(at(&table(&trial::counted()), "amended"), "");
}

#[test]
fn an_amendment_names_each_time_and_each_check_it_changed() {
    let mut draft = trial::counted_draft();
    let check = |by: &str, at: i64| Check { by: by.into(), at: Instant(at), of: String::new() };
    draft.checks.insert(CheckKind::Identity, check("MO", 1_795_599_000_000));
    let record = trial::signed(&draft);
    draft.checks.remove(&CheckKind::Identity);
    draft.checks.insert(CheckKind::Balance, check("", 1_795_599_960_000));
    draft.times.stages.insert(0, Instant(1_795_600_200_000));
    draft.times.needle_out = None;
    let amended = trial::with(&draft, Some(&record), |given| {
        crate::export::signed::amend(&record, given, "JT", trial::SIGNED, "ticked on paper")
    });
    let text = table(&amended.unwrap());
    let listed = |name: &str| {
        let cell = at(&text, &format!("amended{name}"));
        cell.split('\n').map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(listed(""), ["needle_out", "stage_1", "check_identity", "check_balance"]);
    // The needle went in at 10:40: 10 minutes before it, 5, 10 and 6 after it.
    assert_eq!(listed("_before"), ["2026-11-25T10:45:00+01:00", "", "MO, 2026-11-25T10:30:00+01:00", ""]);
    assert_eq!(listed("_now"), ["", "2026-11-25T10:50:00+01:00", "", "2026-11-25T10:46:00+01:00"]);
}

#[test]
fn the_use_by_stands_with_what_set_it_and_never_as_settled_before_it_is() {
    let told = |draft: &Draft| {
        let text = table(&trial::signed(draft));
        ["use_by", "use_by_at_the_latest", "use_by_set_by"].map(|name| at(&text, name))
    };
    let stands = |settled: &str, latest: &str, by: &str| {
        let day = |clock: &str| match clock {
            "" => String::new(),
            clock => format!("2026-11-25T{clock}:00+01:00"),
        };
        [day(settled), day(latest), by.to_owned()]
    };
    // Needle in 10:40 and 4 hours, spin end 11:15, collected 11:20.
    let mut draft = trial::counted_draft();
    assert_eq!(told(&draft), stands("14:40", "", "needle_in"));
    draft.kit.clock.product_window = Seconds::new(3600.0).ok();
    assert_eq!(told(&draft), stands("12:15", "", "spin_end"));
    draft.times.spin_end = None;
    assert_eq!(told(&draft), stands("", "12:20", "collected"));
    let mut drawn = trial::drawn();
    drawn.kit.clock = draft.kit.clock;
    assert_eq!(told(&drawn), stands("", "14:40", "needle_in"));
    drawn.times.needle_in = None;
    assert_eq!(told(&drawn), stands("", "", ""));
}

#[test]
fn what_was_planned_of_a_stage_stands_beside_what_ran() {
    let mut draft = trial::counted_draft();
    for (field, text) in [(Field::SpeedActual(0), "1010"), (Field::WhoSpin(1), "MO")] {
        draft.write(field, text);
    }
    let listed = |draft: &Draft, name: &str| {
        let text = table(&trial::signed(draft));
        at(&text, name).split('\n').map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(listed(&draft, "spin_rpm"), ["1010", ""]);
    // 180 ×g at 155 mm, set in steps of 10: √(180/(1.118e-5·15.5)) = 1019.2. By hand there is neither speed nor time.
    let rpm = (180.0_f64 / (1.118e-5 * 15.5)).sqrt();
    let set = (rpm / 10.0).round() * 10.0;
    assert_eq!(listed(&draft, "spin_planned_rpm"), [set.to_string(), String::new()]);
    assert_eq!(listed(&draft, "spin_planned_min"), ["10", ""]);
    // Without a rotor the speed is what the programme names.
    draft.kit.rotor = None;
    assert_eq!(listed(&draft, "spin_planned_rpm"), ["", ""]);
    let speed = Speed::Rpm(Rpm::new(1234.0).unwrap());
    let time = Seconds::new(450.0).unwrap();
    draft.kit.protocol.as_mut().unwrap().programme.0[0] = Stage::Hold { speed, time };
    assert_eq!(listed(&draft, "spin_planned_rpm"), ["1234", ""]);
    assert_eq!(listed(&draft, "spin_planned_min"), ["7.5", ""]);
}

#[test]
fn who_did_each_stage_and_what_was_set_are_told_line_by_line() {
    let mut draft = trial::counted_draft();
    let typed = [
        (Field::WhoBefore, "MO"),
        (Field::WhoDraw, "JT"),
        (Field::WhoSpin(0), "MO"),
        (Field::TemperatureSet(0), "20.5"),
        (Field::WhoSpin(1), "JT"),
        (Field::WhoHandOver, "JT"),
        (Field::DrawSite, "left arm"),
        (Field::KeptUntilGiven, "on the rocker"),
        (Field::PartGivenAt(0), "11:50"),
        (Field::PartGivenAt(1), "at once"),
    ];
    typed.into_iter().for_each(|(field, text)| draft.write(field, text));
    draft.choices.brakes.insert(2, crate::draft::Brake::On);
    let text = table(&trial::signed(&draft));
    for (name, is) in [
        ("made_ready_by", "MO"),
        ("drawn_by", "JT"),
        ("product_made_by", ""),
        ("handed_over_by", "JT"),
        ("drawn_from", "left arm"),
        ("kept_until_given", "on the rocker"),
        ("spin_stage", "1\n2\n3"),
        ("spin_by", "MO\nJT\n"),
        ("spin_temperature_C", "20.5\n\n"),
        ("spin_brake", "\n\non"),
        ("part_1_given_at", "2026-11-25T11:50:00+01:00"),
        ("part_1_given_at_as_typed", "11:50"),
        ("part_2_given_at", ""),
        ("part_2_given_at_as_typed", "at once"),
    ] {
        assert_eq!(at(&text, name), is, "{name}");
    }
    assert_eq!(at(&table(&trial::counted()), "spin_stage"), "");
}

#[test]
fn how_old_a_count_is_and_when_blood_was_sampled_are_told_as_they_stand() {
    let mut draft = trial::counted_draft();
    draft.demo = false;
    draft.write(Field::BloodCountTime, "08:30");
    draft.write(Field::CountAge, "45");
    for (standing, is, age, sampled) in [
        (CountStanding::Today, "today", "", "08:30"),
        (CountStanding::Older, "older", "45", ""),
        (CountStanding::NoCount, "no_count", "", ""),
    ] {
        draft.choices.count = Some(standing);
        let record = trial::signed(&draft);
        for text in [table(&record), quality(&record, Dates::Day)] {
            assert_eq!(at(&text, "blood_count_standing"), is);
            assert_eq!(at(&text, "blood_count_age_days"), age);
        }
        assert_eq!(at(&table(&record), "blood_sampled_as_typed"), sampled);
        assert!(!quality(&record, Dates::Day).contains("08:30"));
    }
}

#[test]
fn what_ran_what_was_asked_and_what_the_product_went_through_are_told() {
    let mut draft = trial::counted_draft();
    draft.rows.additions = 2;
    draft.choices.additions = [(0, AdditionChoice::CalciumGluconate), (1, AdditionChoice::Other)].into();
    let typed = [
        (Field::SpeedActual(0), "1030"),
        (Field::MinutesActual(0), "9.5"),
        (Field::MinutesActual(2), "4"),
        // The programme has three stages.
        (Field::SpeedActual(3), "2000"),
        (Field::PoorPlasma, "8.5"),
        (Field::AdditionStrength(0), "10"),
        (Field::AdditionVolume(0), "0.3"),
        (Field::AdditionVolume(1), "0.2"),
    ];
    typed.into_iter().for_each(|(field, text)| draft.write(field, text));
    let text = table(&trial::signed(&draft));
    for (name, is) in [
        ("spin_stage", "1\n3"),
        ("spin_began", "\n"),
        ("spin_rpm", "1030\n"),
        ("spin_min", "9.5\n4"),
        ("poor_plasma_mL", "8.5"),
        ("transfers", "2"),
        ("needle_changes", "1"),
        ("addition_1_strength_g_per_dL", "10"),
        ("addition_1_volume_mL", "0.3"),
        ("addition_2_volume_mL", ""),
    ] {
        assert_eq!(at(&text, name), is, "{name}");
    }
    let listed = |name: &str| at(&text, name).split('\n').map(str::to_owned).collect::<Vec<_>>();
    let (asked, answers) = (listed("screening"), listed("screening_answer"));
    assert_eq!((asked.len(), answers.len()), (9, 9));
    let yes: Vec<_> = asked.iter().zip(&answers).filter(|(_, answer)| *answer == "yes").collect();
    assert_eq!(yes, [(&"anti_inflammatory".to_owned(), &"yes".to_owned())]);
    let before = table(&trial::counted());
    for name in ["spin_rpm", "spin_min", "poor_plasma_mL", "addition_1_volume_mL"] {
        assert_eq!(at(&before, name), "", "{name}");
    }
}

#[test]
fn a_scanned_product_number_names_container_and_anticoagulant() {
    let text = table(&trial::signed(&trial::scanned()));
    assert_eq!(at(&text, "container_product_number"), "06291041500213");
    assert_eq!(at(&text, "anticoagulant_product_number"), "04012345678901");
    assert_eq!(at(&text, "container_lot"), "K-0058");
    assert_eq!(at(&table(&trial::counted()), "container_product_number"), "");
}

#[test]
fn what_the_scale_read_stands_with_its_spin() {
    let mut draft = trial::counted_draft();
    draft.write(Field::FilledWeight(1), "31.9");
    draft.write(Field::FilledWeightSecond(0), "22.5");
    draft.write(Field::OwnCounterweightSecond(0), "22.4");
    let text = table(&trial::signed(&draft));
    assert_eq!(at(&text, "weighed_first_spin_g"), "2 31.9");
    assert_eq!(at(&text, "weighed_second_spin_g"), "1 22.5\ncounterweight 1 22.4");
    assert_eq!(at(&table(&trial::counted()), "weighed_first_spin_g"), "");
}

#[test]
fn a_run_that_stopped_stands_with_its_times_and_what_was_weighed_for_it() {
    let mut draft = trial::counted_draft();
    draft.write(Field::Counterweight, "31.2");
    trial::run_again(&mut draft);
    let text = table(&trial::signed(&draft));
    for (name, is) in [
        ("spin_stopped_stage", "1"),
        ("spin_stopped_began", "2026-11-25T10:50:00+01:00"),
        ("spin_stopped_at", "2026-11-25T10:54:00+01:00"),
        ("spin_stopped_run_again", "2026-11-25T11:05:00+01:00"),
        ("spin_stopped_weighed_g", "1 31.2, counterweight 31.2"),
        ("weighed_first_spin_g", "1 30.9\ncounterweight 31.2"),
    ] {
        assert_eq!(at(&text, name), is, "{name}");
    }
    assert_eq!(at(&text, "spin_began").split('\n').next(), Some("2026-11-25T11:05:00+01:00"));
    assert_eq!(at(&table(&trial::counted()), "spin_stopped_stage"), "");
}

#[test]
fn a_lot_corrected_after_the_needle_stands_beside_the_one_before() {
    let mut draft = trial::counted_draft();
    draft.write(Field::AnticoagulantExpiry, "2027-04");
    draft.change(|d| d.write(Field::ContainerLot, "K-0099"));
    draft.change(|d| d.write(Field::AnticoagulantExpiry, "2027-05"));
    let text = table(&trial::signed(&draft));
    assert_eq!(at(&text, "container_lot"), "K-0099");
    assert_eq!(at(&text, "container_lot_at_needle"), "K-0058");
    assert_eq!(at(&text, "anticoagulant_expiry_at_needle_as_typed"), "2027-04");
    for (name, _) in AT_NEEDLE {
        assert_eq!(at(&table(&trial::counted()), name), "", "nothing was corrected");
    }
}

#[test]
fn what_went_wrong_and_what_was_confirmed_are_told_with_who_and_when() {
    let mut draft = trial::counted_draft();
    let clot = Trouble {
        kind: TroubleKind::Clot,
        container: Some(1),
        at: draft.times.needle_in.unwrap(),
        by: "MO".into(),
        set_aside: true,
        aside: None,
        collected: false,
        withdrawn: None,
    };
    let mistaken = Check { by: "JT".into(), at: clot.at, of: String::new() };
    draft.checks.insert(CheckKind::Identity, mistaken.clone());
    draft.troubles.push(Trouble { withdrawn: Some(mistaken), set_aside: false, aside: None, ..clot.clone() });
    draft.troubles.push(clot);
    let text = table(&trial::signed(&draft));
    let listed = |name: &str| {
        let cell = at(&text, name);
        cell.trim_matches('"').split('\n').map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(listed("went_wrong"), ["clot", "clot"]);
    assert_eq!(listed("went_wrong_container"), ["2", "2"]);
    assert_eq!(listed("went_wrong_set_aside"), ["no", "yes"]);
    assert_eq!(listed("went_wrong_taken_back_by"), ["JT", ""]);
    let confirmed: Vec<_> = draft.checks.keys().map(|kind| key(kind).unwrap()).collect();
    assert!(confirmed.contains(&"identity".to_owned()), "{confirmed:?}");
    assert_eq!(listed("confirmed"), confirmed);
    assert_eq!(listed("confirmed_by").len(), confirmed.len());
    assert!(listed("confirmed_by").contains(&"JT".to_owned()));
    assert_eq!(at(&table(&trial::counted()), "went_wrong"), "");
}

#[test]
fn a_rebuilt_record_says_so() {
    for (whole, is) in [(true, "whole"), (false, "in_part")] {
        let mut draft = trial::counted_draft();
        draft.demo = false;
        let (at_read, printed) = (Instant(1_795_602_960_000), Some(Instant(1_795_602_930_000)));
        draft.rebuilt = Some(Rebuilt { at: at_read, whole, signed: None, check: None, printed });
        let record = trial::signed(&draft);
        let text = table(&record);
        assert_eq!(at(&text, "rebuilt_from_code"), is);
        assert_eq!(at(&text, "rebuilt"), "2026-11-25T11:36:00+01:00");
        assert_eq!(at(&text, "code_printed"), "2026-11-25T11:35:30+01:00");
        assert_eq!(at(&quality(&record, Dates::Day), "rebuilt_from_code"), "yes");
    }
    assert_eq!(at(&table(&trial::counted()), "rebuilt_from_code"), "");
    assert_eq!(at(&table(&trial::counted()), "rebuilt"), "");
}

#[test]
fn how_each_record_stands_to_what_was_signed_is_told() {
    let sound = trial::counted();
    let text = sound.to_json().unwrap();
    let spoilt = text.replacen("\"product_actual\":\"4\"", "\"product_actual\":\"9\"", 1);
    assert_ne!(spoilt, text);
    let changed = Record::from_json(&spoilt).unwrap();
    let unsealed = Record::from_json(include_str!("../../record/samples/signed_1.json")).unwrap();
    for (record, is) in [(&sound, "sound"), (&changed, "changed_outside"), (&unsealed, "unsealed")] {
        assert_eq!(at(&table(record), "standing"), is);
    }
    // What only store and line tell; the line takes an entry that cannot be read for one that was taken out.
    for (record, damaged, outside, is) in [
        (&sound, false, true, "changed_outside"),
        (&sound, true, false, "state_before_the_newest"),
        (&sound, true, true, "state_before_the_newest"),
        (&changed, true, false, "changed_outside"),
        (&unsealed, false, true, "changed_outside"),
        (&unsealed, true, false, "state_before_the_newest"),
    ] {
        let mut table = RecordTable::default();
        table.add(record, RecordStanding::of(record, damaged, outside));
        assert_eq!(at(&table.text(), "standing"), is, "{damaged} {outside}");
    }
}

#[test]
fn every_column_of_the_guide_is_there_and_no_other() {
    let guide = include_str!("../../../DEVELOPERS.md");
    let both = [record_row(None, None).head, QualityTable::new(Dates::Day).row(None).head];
    for name in both.iter().flatten() {
        let digits = |c: char| c.is_ascii_digit();
        let counted = name.starts_with("part_") || name.starts_with("addition_");
        let stem = if counted { name.replacen(digits, "N", 1) } else { name.clone() };
        let stem = stem.replace("_low_", "_").replace("_high_", "_");
        assert!(guide.contains(&format!("`{stem}`")), "{stem} is not in the guide");
    }
}

#[test]
fn quality_data_name_nobody() {
    let mut draft = trial::counted_draft();
    draft.demo = false;
    draft.id = "key-of-the-case".into();
    for field in Field::all().into_iter().filter(|f| f.kind().is_none()) {
        draft.write(field, format!("told {field}"));
    }
    let record = trial::signed(&draft);
    for dates in Dates::ALL {
        let text = quality(&record, dates);
        assert!(!text.contains("told") && !text.contains(record.id()), "{text}");
        let day = at(&text, "prepared");
        assert_eq!(day, ["2026-11-25", "2026-11", ""][Dates::ALL.iter().position(|d| *d == dates).unwrap()]);
        assert!(!text.contains(":40"), "{text}");
        assert_eq!(at(&text, "container_lot"), "1");
        assert_eq!(at(&text, "recovery_counted_ratio"), "0.6886446886");
    }
    assert_eq!(quality(&trial::counted(), Dates::Day).lines().count(), 1, "a demo is left out");
}
