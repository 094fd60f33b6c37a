//! Bundles of signed records.

use super::*;
use crate::draft::{AdditionChoice, Draft, Trouble, TroubleKind};
use crate::export::trial;
use crate::quantity::Quantity;
use crate::spin::programme::Stage;

/// Of a record of which nothing is known but what it tells itself.
fn alone(record: &Record) -> String {
    bundle(record, RecordStanding::of(record, false, false), Language::English)
}

fn read(record: &Record) -> Vec<Value> {
    resources(&alone(record))
}

fn resources(text: &str) -> Vec<Value> {
    let bundle: Value = serde_json::from_str(text).unwrap();
    assert_eq!(bundle["type"], "collection");
    bundle["entry"].as_array().unwrap().iter().map(|e| e["resource"].clone()).collect()
}

fn of<'a>(all: &'a [Value], kind: &str) -> Vec<&'a Value> {
    all.iter().filter(|r| r["resourceType"] == kind).collect()
}

fn value<'a>(all: &'a [Value], code: &str) -> Option<&'a Value> {
    let found = of(all, "Observation").into_iter().find(|o| o["code"]["coding"][0]["code"] == code)?;
    Some(&found["valueQuantity"])
}

fn observation<'a>(all: &'a [Value], code: &str) -> &'a Value {
    let found = of(all, "Observation").into_iter().find(|o| o["code"]["coding"][0]["code"] == code);
    found.unwrap_or_else(|| panic!("no {code}"))
}

#[test]
fn counted_numbers_are_observations_with_their_units() {
    let all = read(&trial::counted());
    // 210·26/1000; 47·20; 940·4/1000; 940·2/1000
    for (code, is, unit) in [
        ("777-3", 210.0, "10*9/L"),
        ("4544-3", 42.0, "%"),
        ("platelets-drawn", 5.46, "10*9"),
        ("product-platelets", 940.0, "10*9/L"),
        ("platelets-in-product", 3.76, "10*9"),
        ("volume-given", 2.0, "mL"),
        ("dose-of-part", 1.88, "10*9"),
    ] {
        let found = value(&all, code).unwrap_or_else(|| panic!("no {code}"));
        assert_eq!((found["value"].as_f64(), found["code"].as_str()), (Some(is), Some(unit)), "{code}");
    }
    assert_eq!(of(&all, "Specimen").len(), 2);
    assert_eq!(of(&all, "Device").len(), 2);
    assert_eq!(of(&all, "Procedure")[0]["status"], "completed");
}

#[test]
fn a_count_is_called_automated_where_an_analyser_or_no_method_is_named() {
    let mut draft = trial::counted_draft();
    for (method, code) in [
        ("", "777-3"),
        ("Analyser 2", "777-3"),
        ("automated, laboratory", "777-3"),
        ("counting chamber", "26515-7"),
        ("chamber, analyser out of order", "26515-7"),
        ("not by analyser", "26515-7"),
        ("laboratory", "26515-7"),
    ] {
        draft.write(Field::BloodCountMethod, method);
        let all = read(&trial::signed(&draft));
        let other = if code == "777-3" { "26515-7" } else { "777-3" };
        assert_eq!(value(&all, code).and_then(|v| v["value"].as_f64()), Some(210.0), "{method}");
        assert_eq!(value(&all, other), None, "{method}");
        let found = of(&all, "Observation").into_iter().find(|o| o["code"]["coding"][0]["code"] == code);
        assert_eq!(found.unwrap()["method"]["text"].as_str().unwrap_or_default(), method);
    }
}

#[test]
fn an_older_count_says_how_old_it_is_and_one_of_today_when_it_was_sampled() {
    let told = |draft: &Draft, code: &str| {
        let all = read(&trial::signed(draft));
        let found = observation(&all, code);
        let notes = found["note"].as_array().unwrap().iter();
        let notes: Vec<String> = notes.map(|n| n["text"].as_str().unwrap().to_owned()).collect();
        (found["effectiveDateTime"].as_str().map(str::to_owned), notes)
    };
    let mut draft = trial::counted_draft();
    draft.write(Field::BloodCountTime, "08:30");
    let (day, sample) = (Some("2026-11-25".to_owned()), "Sample: Laboratory EDTA tube".to_owned());
    assert_eq!(told(&draft, "777-3"), (day.clone(), vec![sample.clone(), "Sampled at: 08:30".into()]));
    assert_eq!(told(&draft, "4544-3"), (day, vec![sample.clone()]), "it may be of another sample");
    draft.choices.count = Some(crate::draft::CountStanding::Older);
    assert_eq!(told(&draft, "777-3"), (None, vec![sample.clone(), "Older count".into()]));
    draft.write(Field::CountAge, "45");
    for code in ["777-3", "4544-3"] {
        let old = "Older count: 45 days old".to_owned();
        assert_eq!(told(&draft, code), (None, vec![sample.clone(), old]), "{code}");
    }
}

#[test]
fn fold_and_recovery_over_an_older_count_say_so_and_nothing_else_does() {
    let notes = |draft: &Draft, code: &str| {
        let all = read(&trial::signed(draft));
        observation(&all, code).get("note").map(|note| note[0]["text"].as_str().unwrap().to_owned())
    };
    let mut draft = trial::counted_draft();
    for code in ["fold", "recovery", "product-platelets"] {
        assert_eq!(notes(&draft, code), None, "{code}");
    }
    draft.choices.count = Some(crate::draft::CountStanding::Older);
    draft.write(Field::CountAge, "45");
    for code in ["fold", "recovery"] {
        assert_eq!(notes(&draft, code).as_deref(), Some("over a blood count 45 days old"), "{code}");
    }
    assert_eq!(notes(&draft, "product-platelets"), None);
}

#[test]
fn the_use_by_is_a_note_of_the_procedure_and_says_whether_it_is_the_latest() {
    let told = |draft: &Draft| {
        let notes = of(&read(&trial::signed(draft)), "Procedure")[0]["note"].as_array().unwrap().clone();
        let texts = notes.iter().map(|n| n["text"].as_str().unwrap().replace('\u{a0}', " "));
        texts.filter(|text| text.starts_with("use by")).collect::<Vec<_>>()
    };
    // Needle in 10:40 and 4 hours; spin end 11:15, collected 11:20, and an hour.
    let day = "2026-11-25T";
    let mut draft = trial::counted_draft();
    assert_eq!(told(&draft), [format!("use by {day}14:40:00+01:00, set by 4 h from needle in")]);
    draft.kit.clock.product_window = Quantity::new(3600.0).ok();
    assert_eq!(told(&draft), [format!("use by {day}12:15:00+01:00, set by 1 h from the end of the spin")]);
    draft.times.spin_end = None;
    let latest = format!("use by {day}12:20:00+01:00 at the latest, set by 1 h from when it was collected");
    assert!(told(&draft)[0].starts_with(&latest), "{:?}", told(&draft));
    draft.times.collected = None;
    draft.times.handed_over = None;
    let latest = format!("use by {day}14:40:00+01:00 at the latest, set by 4 h from needle in");
    assert!(told(&draft)[0].starts_with(&latest), "{:?}", told(&draft));
    draft.times.needle_in = None;
    assert_eq!(told(&draft), [""; 0]);
}

#[test]
fn the_dose_in_all_is_of_the_times_of_its_parts_and_of_no_specimen() {
    let when = |given_at: [&str; 2], second: &str, dose: f64| {
        let mut draft = trial::counted_draft();
        draft.write(Field::PartGiven(1), second);
        draft.write(Field::PartGivenAt(0), given_at[0]);
        draft.write(Field::PartGivenAt(1), given_at[1]);
        let all = read(&trial::signed(&draft));
        // 940·(2 + 1)/1000
        assert_eq!(value(&all, "dose-in-all").unwrap()["value"].as_f64(), Some(dose));
        let found = observation(&all, "dose-in-all");
        assert!(found.get("specimen").is_none());
        (found["effectiveDateTime"].clone(), found["effectivePeriod"].clone())
    };
    let at = |minute: &str| Value::from(format!("2026-11-25T{minute}:00+01:00"));
    let over = serde_json::json!({ "start": at("11:50"), "end": at("12:05") });
    for (given_at, is) in [
        (["", ""], (Value::Null, Value::Null)),
        (["11:50", ""], (Value::Null, Value::Null)),
        (["11:50", "at once"], (Value::Null, Value::Null)),
        (["11:50", "11:50"], (at("11:50"), Value::Null)),
        (["12:05", "11:50"], (Value::Null, over)),
    ] {
        assert_eq!(when(given_at, "1", 2.82), is, "{given_at:?}");
    }
    assert_eq!(when(["11:50", ""], "0", 1.88), (at("11:50"), Value::Null), "of the other nothing was given");
    // What is in the product is of it still.
    let all = read(&trial::counted());
    let product = observation(&all, "platelets-in-product");
    assert!(product.get("specimen").is_some() && product.get("effectiveDateTime").is_some());
}

#[test]
fn a_predicted_number_is_no_observation() {
    let all = read(&trial::planned());
    for code in
        ["product-platelets", "platelets-in-product", "fold", "recovery", "dose-of-part", "volume-given"]
    {
        assert_eq!(value(&all, code), None, "{code}");
    }
    let note = of(&all, "Procedure")[0]["note"][0]["text"].as_str().unwrap();
    assert!(note.starts_with("Predicted, not measured") && note.contains("Platelets in product"), "{note}");
    // An unconfirmed count is none either.
    let mut draft = trial::counted_draft();
    draft.choices.mixed_no_clumps = Some(false);
    let all = read(&trial::signed(&draft));
    assert_eq!((value(&all, "product-platelets"), value(&all, "dose-of-part")), (None, None));
    let notes = of(&all, "Procedure")[0]["note"].to_string();
    assert!(notes.contains("not confirmed: 940"), "{notes}");
}

#[test]
fn a_demo_names_nobody_and_a_patient_only_by_what_is_stored() {
    let demo = read(&trial::counted());
    assert!(!demo.iter().any(|r| r.to_string().contains("HL-0417")));
    assert_eq!(of(&demo, "Patient")[0]["meta"]["tag"][0]["code"], "HTEST");
    let mut draft = trial::counted_draft();
    draft.demo = false;
    let all = read(&trial::signed(&draft));
    let patient = of(&all, "Patient")[0];
    assert_eq!(patient["identifier"][0]["value"], "HL-0417");
    assert!(patient.get("name").is_none() && patient.get("birthDate").is_none());
}

#[test]
fn a_change_after_the_hand_over_is_told_with_what_stood_there_and_why() {
    let mut draft = trial::counted_draft();
    draft.hand_over(trial::SIGNED);
    draft.write(Field::ProductActual, "3.6");
    draft.write(Field::PatientReference, "HL-0471");
    let rotor = draft.kit.rotor.as_mut().unwrap();
    (rotor.id, rotor.name) = ("b".into(), "Rotor B".into());
    draft.type_in(Field::WhyChanged, "misread the syringe", trial::SIGNED, None);
    let notes = |draft: &Draft| {
        let all = read(&trial::signed(draft));
        let notes = of(&all, "Procedure")[0]["note"].as_array().unwrap().clone();
        notes.iter().map(|n| n["text"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    let demo = notes(&draft);
    let said = "Changed after hand-over: Product kept now “3.6”, “4” before".to_owned();
    assert!(demo.contains(&said) && demo.contains(&"misread the syringe".to_owned()), "{demo:?}");
    assert!(!demo.iter().any(|n| n.contains("HL-0417")), "a demo names nobody: {demo:?}");
    assert!(demo.contains(&"Changed after hand-over: Rotor changed".to_owned()), "{demo:?}");
    assert!(!demo.iter().any(|n| n.contains("Rotor B")), "without the clinic’s name: {demo:?}");
    // The only change, it has its reason too.
    let mut rotor_alone = trial::counted_draft();
    rotor_alone.hand_over(trial::SIGNED);
    let rotor = rotor_alone.kit.rotor.as_mut().unwrap();
    (rotor.id, rotor.name) = ("b".into(), "Rotor B".into());
    rotor_alone.type_in(Field::WhyChanged, "the other centrifuge was free", trial::SIGNED, None);
    let told = notes(&rotor_alone);
    assert!(told.contains(&"the other centrifuge was free".to_owned()), "{told:?}");
    draft.demo = false;
    assert!(notes(&draft).iter().any(|n| n.contains("now “HL-0471”, “HL-0417” before")));
    assert!(!notes(&trial::counted_draft()).iter().any(|n| n.contains("after hand-over")));
}

#[test]
fn what_went_wrong_lots_corrected_after_the_needle_and_a_rebuilt_case_are_told() {
    let notes = |draft: &Draft| {
        let all = read(&trial::signed(draft));
        let procedure = of(&all, "Procedure")[0].clone();
        let notes = procedure["note"].as_array().unwrap();
        let notes = notes.iter().map(|n| n["text"].as_str().unwrap().to_owned()).collect::<Vec<_>>();
        (notes, procedure["meta"]["tag"][0]["code"].as_str().map(str::to_owned))
    };
    let mut draft = trial::counted_draft();
    draft.troubles.push(Trouble {
        kind: TroubleKind::Clot,
        container: Some(0),
        at: trial::SIGNED,
        by: "MO".into(),
        set_aside: true,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    assert!(
        notes(&draft).0.iter().any(|n| n.contains("Clot, container 1, set aside")),
        "{:?}",
        notes(&draft)
    );
    draft.change(|d| d.write(Field::ContainerLot, "K-0099"));
    let said = "Container lot: K-0099; lot corrected after the needle, K-0058 before".to_owned();
    let (told, tag) = notes(&draft);
    assert!(told.contains(&said) && tag.is_none(), "{told:?}");
    let printed = Some(Instant(1_795_602_930_000));
    let at = Instant(1_795_602_960_000);
    let rebuilt = crate::draft::Rebuilt { at, whole: true, signed: None, check: None, printed };
    draft.rebuilt = Some(rebuilt);
    let (told, tag) = notes(&draft);
    let said = "Rebuilt from the code on a card, 2026-11-25T11:36:00+01:00; its code printed 2026-11-25T11:35:30+01:00, and what was entered later is not in it; not signed when the card printed.";
    assert!(told.contains(&said.to_owned()), "{told:?}");
    assert_eq!(tag.as_deref(), Some("rebuilt-from-code"));
    let (told, _) = notes(&trial::counted_draft());
    assert!(!told.iter().any(|n| n.contains("corrected after") || n.contains("Rebuilt")), "{told:?}");
}

#[test]
fn who_did_each_stage_where_blood_was_drawn_and_when_it_was_given_are_told() {
    let mut draft = trial::counted_draft();
    let typed = [
        (Field::WhoDraw, "JT"),
        (Field::WhoSpin(0), "KL"),
        (Field::TemperatureSet(0), "20.5"),
        (Field::DrawSite, "left arm"),
        (Field::KeptUntilGiven, "on the rocker"),
        (Field::PartGivenAt(0), "11:50"),
        (Field::PartGivenAt(1), "at once"),
    ];
    typed.into_iter().for_each(|(field, text)| draft.write(field, text));
    draft.choices.brakes.insert(0, crate::draft::Brake::Off);
    draft.times.stages.insert(0, Instant(1_795_600_200_000));
    let all = read(&trial::signed(&draft));
    let collection = &of(&all, "Specimen")[0]["collection"];
    assert_eq!(
        (&collection["collector"]["display"], &collection["bodySite"]["text"]),
        (&"JT".into(), &"left arm".into())
    );
    let performer = of(&all, "Procedure")[0]["performer"].as_array().unwrap().clone();
    let who = |p: &Value| (p["function"]["text"].clone(), p["actor"]["display"].clone());
    let told: Vec<_> = performer.iter().map(who).collect();
    assert_eq!(told[1..], [("Drawn by".into(), "JT".into()), ("By whom, stage 1".into(), "KL".into())]);
    let derived = of(&all, "BiologicallyDerivedProduct")[0];
    assert_eq!(derived["collection"]["collector"]["display"], "JT");
    assert_eq!(derived["storage"][0]["description"], "on the rocker");
    let step = derived["processing"][0]["description"].as_str().unwrap().replace('\u{a0}', " ");
    assert!(step.ends_with("; 20.5 °C; brake off; by KL"), "{step}");
    let given = |name: &str| {
        let all = of(&all, "Observation");
        let of_part = all.iter().filter(|o| o["code"]["coding"][0]["code"] == name);
        let told = |o: &&Value| (o["effectiveDateTime"].clone(), o["note"][0]["text"].clone());
        of_part.copied().map(|o| told(&o)).collect::<Vec<_>>()
    };
    // Of the second part no time can be read: what was typed is told, and not the hand-over as its time.
    let times = [
        ("2026-11-25T11:50:00+01:00".into(), Value::Null),
        (Value::Null, "Given at, as typed: at once".into()),
    ];
    assert_eq!((given("volume-given"), given("dose-of-part")), (times.clone().into(), times.into()));
    // When, and nobody said how much.
    let mut untold = draft;
    untold.write(Field::PartGiven(0), "");
    let all = read(&trial::signed(&untold));
    let volume =
        of(&all, "Observation").into_iter().find(|o| o["code"]["coding"][0]["code"] == "volume-given");
    let volume = volume.unwrap();
    assert_eq!(volume["effectiveDateTime"], "2026-11-25T11:50:00+01:00");
    assert_eq!(volume["dataAbsentReason"]["coding"][0]["code"], "unknown");
    assert!(volume.get("valueQuantity").is_none());
    let before = read(&trial::counted());
    let volumes =
        of(&before, "Observation").into_iter().filter(|o| o["code"]["coding"][0]["code"] == "volume-given");
    assert!(
        volumes.clone().count() > 0
            && volumes.into_iter().all(|o| o.get("effectiveDateTime").is_none() && o.get("note").is_none())
    );
    assert_eq!(of(&before, "Procedure")[0]["performer"].as_array().unwrap().len(), 1);
    assert!(of(&before, "BiologicallyDerivedProduct")[0].get("storage").is_none());
}

#[test]
fn a_scanned_product_number_is_told() {
    let all = read(&trial::signed(&trial::scanned()));
    let devices = of(&all, "Device");
    let code = devices.iter().find_map(|d| d["udiCarrier"].as_array()).unwrap();
    assert_eq!(code[0]["deviceIdentifier"], "06291041500213");
    let additive = of(&all, "Specimen")[0]["container"][0]["additiveCodeableConcept"]["text"].to_string();
    assert!(additive.contains("lot AC-2291, product number 04012345678901"), "{additive}");
    assert!(of(&read(&trial::counted()), "Device").iter().all(|d| d.get("udiCarrier").is_none()));
}

#[test]
fn what_the_scale_read_is_told_with_its_spin() {
    let mut draft = trial::counted_draft();
    let begun = draft.times.needle_out.unwrap();
    draft.times.stages = [(0, begun), (2, begun)].into();
    draft.write(Field::FilledWeight(0), "31.2");
    draft.write(Field::Counterweight, "30");
    draft.write(Field::OwnCounterweight(0), "31");
    let all = read(&trial::signed(&draft));
    let said = |kind: &str, stage: usize| {
        let text =
            of(&all, kind)[usize::from(kind == "Specimen")]["processing"][stage]["description"].to_string();
        text.contains("weighed: container 1 31.2\u{a0}g, counterweight 30\u{a0}g, counterweight of container 1 31\u{a0}g")
    };
    for kind in ["Specimen", "BiologicallyDerivedProduct"] {
        assert!(said(kind, 0) && !said(kind, 1), "{kind}");
    }
}

#[test]
fn a_run_that_stopped_is_a_step_of_its_own_with_what_was_weighed_for_it() {
    let mut draft = trial::counted_draft();
    trial::run_again(&mut draft);
    let all = read(&trial::signed(&draft));
    for resource in [&of(&all, "BiologicallyDerivedProduct")[0], &of(&all, "Specimen")[1]] {
        let steps = resource["processing"].as_array().unwrap();
        let said = |i: usize| steps[i]["description"].as_str().unwrap().replace('\u{a0}', " ");
        assert!(said(0).ends_with("; Spin stopped midway; weighed: container 1 31.2 g"), "{}", said(0));
        let period = serde_json::json!({
            "start": "2026-11-25T10:50:00+01:00",
            "end": "2026-11-25T10:54:00+01:00",
        });
        assert_eq!(steps[0]["timePeriod"], period);
        assert_eq!(steps[1]["timePeriod"]["start"], "2026-11-25T11:05:00+01:00");
        assert!(
            said(1).contains("weighed: container 1 30.9 g") && !said(1).contains("stopped"),
            "{}",
            said(1)
        );
    }
}

#[test]
fn a_stage_that_ran_without_a_tap_is_told_without_a_time() {
    let mut draft = trial::counted_draft();
    let protocol = draft.kit.protocol.as_mut().unwrap();
    let [first, hand, second] = <[Stage; 3]>::try_from(protocol.programme.0.clone()).unwrap();
    let minute = crate::quantity::Seconds::constant(60.0);
    let ramp = |hold: &Stage| Stage::Ramp { to: hold.speed().unwrap(), time: minute };
    let stages = [ramp(&first), first, Stage::Stop { time: Some(minute) }, hand, ramp(&second), second];
    protocol.programme.0 = stages.into();
    let begun = draft.times.needle_out.unwrap();
    draft.times.stages = [(0, begun), (3, begun), (4, begun)].into();
    draft.write(Field::SpeedActual(1), "1030");
    draft.write(Field::TemperatureSet(1), "20.5");
    let steps = |draft: &Draft| {
        let all = read(&trial::signed(draft));
        let steps = of(&all, "BiologicallyDerivedProduct")[0]["processing"].as_array().unwrap().clone();
        let said = |step: &Value| step["description"].as_str().unwrap().replace('\u{a0}', " ");
        steps.iter().map(|s| (said(s), s.get("timePeriod").is_some())).collect::<Vec<_>>()
    };
    let told = steps(&draft);
    let timed: Vec<bool> = told.iter().map(|(_, timed)| *timed).collect();
    assert_eq!(timed, [true, false, false, true, true, false], "{told:?}");
    let hold = &told[1].0;
    assert!(hold.contains("180 ×g") && hold.contains("1030 rpm") && hold.ends_with("; 20.5 °C"), "{hold}");
    // It stopped in the last run, or nobody said that it ended: what came after its start is not known to have run.
    let mut open = draft.clone();
    open.times.spin_end = None;
    assert_eq!(steps(&open).len(), 5);
    draft.troubles.push(crate::draft::Trouble {
        kind: crate::draft::TroubleKind::SpinStopped,
        container: None,
        at: Instant(begun.0 + 1),
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    assert_eq!(steps(&draft).len(), 5);
    // What was noted of it as run is told all the same.
    draft.write(Field::MinutesActual(5), "4");
    assert_eq!(steps(&draft).len(), 6);
    draft.times.stages.clear();
    assert_eq!(steps(&draft).len(), 2, "of two something was noted");
}

#[test]
fn the_centrifuge_and_what_was_thrown_away_are_told() {
    use crate::draft::{Discard, DiscardKind};
    use crate::log::{Centrifuge, LastCheck};
    use crate::quantity::time::Date;
    let mut draft = trial::counted_draft();
    let on = Date::new(2026, 11, 2);
    draft.kit.centrifuge = Some(Centrifuge {
        id: "c".into(),
        name: "By the window".into(),
        serial: "0007".into(),
        speed: LastCheck { on, ..LastCheck::default() },
        ..Centrifuge::default()
    });
    let line = |kind, why: &str| Discard {
        kind,
        count: Some(1),
        volume: crate::quantity::Volume::new(1.0).ok(),
        what: "plasma".into(),
        lot: "K-0058".into(),
        why: why.into(),
        at: trial::SIGNED,
        by: "MO".into(),
        withdrawn: None,
    };
    draft.throw_away(line(DiscardKind::OpenedUnused, "cap cracked")).unwrap();
    draft.throw_away(line(DiscardKind::LeftOver, "clinical waste")).unwrap();
    draft.throw_away(line(DiscardKind::Container, "a slip")).unwrap();
    let back = crate::draft::Check { by: "MO".into(), at: trial::SIGNED, of: String::new() };
    draft.discards[2].withdrawn = Some(back);
    let all = read(&trial::signed(&draft));
    let devices = of(&all, "Device");
    assert!(devices.iter().any(|d| d["serialNumber"] == "0007" && d["type"]["text"] == "Centrifuge"));
    let told = devices.iter().filter_map(|d| d["note"][0]["text"].as_str());
    let told: Vec<String> = told.map(|t| t.replace('\u{a0}', " ")).collect();
    assert!(told.iter().any(|t| t.contains("2 Nov 2026") && t.contains("speed")), "{told:?}");
    assert!(!devices.iter().any(|d| d.to_string().contains("window")), "the clinic's own name stays here");
    let out: Vec<&&Value> = devices.iter().filter(|d| d["status"] == "inactive").collect();
    assert_eq!((out.len(), &out[0]["lotNumber"]), (1, &"K-0058".into()));
    assert!(
        out[0]["note"][0]["text"]
            .as_str()
            .unwrap()
            .contains("Opened, not used: 1 container, lot K-0058, cap cracked, MO")
    );
    let procedure = of(&all, "Procedure")[0];
    assert!(procedure["note"].to_string().contains("Left over: plasma, 1"), "{procedure}");
    assert!(!procedure.to_string().contains("a slip"));
    let used = procedure["usedReference"].as_array().unwrap();
    assert_eq!(used.len(), devices.len() - 1, "what was not used is not among what was");
}

#[test]
fn what_was_added_is_a_substance_with_its_lot_and_expiry() {
    let mut draft = trial::counted_draft();
    draft.rows.additions = 1;
    draft.choices.additions.insert(0, crate::draft::AdditionChoice::CalciumGluconate);
    for (field, text) in [
        (Field::AdditionStrength(0), "10"),
        (Field::AdditionVolume(0), "0.3"),
        (Field::AdditionLot(0), "AC-2291"),
        (Field::AdditionExpiry(0), "31 Mar 2028"),
    ] {
        draft.write(field, text);
    }
    let all = read(&trial::signed(&draft));
    let [added] = of(&all, "Substance")[..] else { panic!() };
    assert_eq!(added["instance"][0]["identifier"]["value"], "AC-2291");
    assert_eq!(added["instance"][0]["expiry"], "2028-03-31");
    let steps = of(&all, "BiologicallyDerivedProduct")[0]["processing"].to_string();
    assert!(steps.contains(added["id"].as_str().unwrap()) && steps.contains("0.3"), "{steps}");
    assert_eq!(of(&read(&trial::counted()), "Substance").len(), 0);
    // It is said to have been added only where the product was handed over.
    let told = |draft: &Draft| {
        let all = read(&trial::signed(draft));
        let steps = of(&all, "BiologicallyDerivedProduct")[0]["processing"].to_string();
        (steps, of(&all, "Substance").first().map(|s| s.to_string()))
    };
    let moment = draft.times.collected;
    draft.times.handed_over = None;
    let (before, _) = told(&draft);
    assert!(before.contains("To be added, as entered: Calcium gluconate"), "{before}");
    draft.times.handed_over = moment;
    let (after, _) = told(&draft);
    assert!(after.contains("Added to the product: Calcium gluconate"), "{after}");
    // Not whole, its box is told all the same; with neither lot nor expiry there is nothing to tell.
    draft.write(Field::AdditionVolume(0), "");
    let (steps, substance) = told(&draft);
    assert!(steps.contains("Calcium gluconate, amount not entered"), "{steps}");
    assert!(substance.unwrap().contains("AC-2291"));
    draft.clear_lot(crate::finding::LotOf::Addition(0));
    assert_eq!(told(&draft).1, None);
    // What comes from the patient's own blood has no box, whatever a text of before says.
    draft.write(Field::AdditionVolume(0), "0.3");
    draft.choices.additions.insert(0, AdditionChoice::AutologousThrombin);
    draft.write(Field::AdditionLot(0), "AC-2291");
    assert!(!told(&draft).1.unwrap().contains("AC-2291"));
}

#[test]
fn a_record_that_is_not_as_it_was_signed_says_so_first() {
    let first = |text: &str| {
        let note = of(&resources(text), "Procedure")[0]["note"][0]["text"].clone();
        note.as_str().unwrap_or_default().replace('\u{a0}', " ")
    };
    let sound = trial::counted();
    let text = sound.to_json().unwrap();
    let spoilt = text.replacen("\"product_actual\":\"4\"", "\"product_actual\":\"9\"", 1);
    assert_ne!(spoilt, text);
    let changed = Record::from_json(&spoilt).unwrap();
    let said = first(&alone(&changed));
    assert!(said.starts_with("Changed outside Strawline since MO signed it"), "{said}");
    let unsealed = Record::from_json(include_str!("../../record/samples/signed_1.json")).unwrap();
    let said = first(&alone(&unsealed));
    assert!(said.starts_with("Signed before records carried a check"), "{said}");
    // What only store and line tell.
    for (damaged, outside, says) in [
        (true, false, "The newest state of this record cannot be read"),
        (false, true, "Changed outside Strawline: what stands here is not what was signed."),
    ] {
        for record in [&sound, &unsealed] {
            let standing = RecordStanding::of(record, damaged, outside);
            let said = first(&bundle(record, standing, Language::English));
            assert!(said.starts_with(says), "{said}");
        }
    }
    let text = alone(&sound);
    for says in ["Changed outside", "carried a check", "newest state"] {
        assert!(!text.contains(says), "{says}");
    }
}

#[test]
fn what_an_amendment_changed_is_the_text_of_its_provenance() {
    let mut draft = trial::counted_draft();
    draft.kit.rotor.as_mut().unwrap().name = "By the window".into();
    let record = trial::signed(&draft);
    let mut later = draft.clone();
    later.write(Field::ProductActual, "3.8");
    later.write(Field::Notes, "a < b & \"c\"");
    later.write(Field::PatientReference, "HL-0471");
    later.kit.rotor.as_mut().unwrap().name = "At the door".into();
    // Collected five minutes earlier than at 11:20.
    later.times.collected = draft.times.collected.map(|at| Instant(at.0 - 300_000));
    let at = Instant(trial::SIGNED.0 + 60_000);
    let amended = trial::with(&later, Some(&record), |given| {
        crate::export::signed::amend(&record, given, "JT", at, "misread the syringe")
    });
    let all = read(&amended.unwrap());
    let [first, second] = of(&all, "Provenance")[..] else { panic!() };
    assert!(first.get("text").is_none());
    assert_eq!(second["text"]["status"], "generated");
    let div = second["text"]["div"].as_str().unwrap();
    assert!(
        div.starts_with("<div xmlns=\"http://www.w3.org/1999/xhtml\"><p>") && div.ends_with("</p></div>")
    );
    assert!(div.contains("<p>Product kept now “3.8”, “4” before</p>"), "{div}");
    let time = "<p>Product collected now “25 Nov 2026, 11:15”, “25 Nov 2026, 11:20” before</p>";
    assert!(div.replace('\u{a0}', " ").contains(time), "{div}");
    assert!(div.contains("a &lt; b &amp; \"c\""), "{div}");
    assert!(div.contains("<p>Rotor changed</p>") && !div.contains("the door"), "{div}");
    assert!(!div.contains("HL-04"), "a demo names nobody: {div}");
}

#[test]
fn every_reference_leads_to_an_entry_and_each_signature_is_told() {
    let record = trial::amended();
    let text = alone(&record);
    assert_eq!(text, alone(&record));
    let whole: Value = serde_json::from_str(&text).unwrap();
    let urls: Vec<&str> =
        whole["entry"].as_array().unwrap().iter().map(|e| e["fullUrl"].as_str().unwrap()).collect();
    let mut unlike = urls.clone();
    unlike.sort_unstable();
    unlike.dedup();
    assert_eq!(unlike.len(), urls.len());
    let mut seen = 0;
    for part in text.split("\"reference\":\"").skip(1) {
        assert!(urls.contains(&part.split('"').next().unwrap()));
        seen += 1;
    }
    assert!(seen > 20);
    let all = read(&record);
    let told = of(&all, "Provenance");
    assert_eq!((told.len(), &told[1]["reason"][0]["text"]), (2, &"misread the syringe".into()));
    assert_eq!(told[0]["recorded"], "2026-11-25T11:40:00+01:00");
    assert!(text.contains("Strawline"));
}
