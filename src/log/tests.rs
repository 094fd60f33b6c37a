use super::*;
use crate::record::trial::at;

fn day(m: u8, d: u8) -> Date {
    Date::new(2026, m, d).unwrap()
}

fn entry(log: &Log, id: &str, minutes: i64, what: What) -> Result<Entry, Refused> {
    log.draw_up(id.to_owned(), " MO ", at(minutes), day(3, 12), what)
}

fn add(log: &mut Log, id: &str, minutes: i64, what: What) {
    let new = entry(log, id, minutes, what).unwrap();
    log.take_up(vec![new]);
}

fn centrifuge(every: Option<u16>) -> What {
    let every = every.into_iter().map(|months| (Checked::Speed, months)).collect();
    What::Equipment(Equipment {
        name: " Centrifuge 1 ".into(),
        serial: "0417".into(),
        rotor: Some("swing-out-155".into()),
        every,
    })
}

fn check(on: Date, passed: bool, due: Option<Date>) -> What {
    let (of, found) = ("c".to_owned(), String::new());
    What::Check(Checking { of, what: Checked::Speed, on, passed, found, due })
}

fn lot(of: Good, lot: &str, expiry: Option<Date>) -> What {
    let name = if of == Good::Addition { "calcium gluconate".to_owned() } else { String::new() };
    let (lot, product_is, opened) = (lot.to_owned(), None, Some(day(3, 1)));
    What::Lot(LotEntry { of, name, lot, product_is, expiry, product: None, opened })
}

fn correct(of: &str, why: &str, now: Option<What>) -> What {
    What::Correction(Correction { of: of.into(), why: why.into(), now: now.map(Box::new) })
}

#[test]
fn an_entry_is_stored_and_read_back_and_a_newer_or_misspelt_one_is_refused() {
    let mut log = Log::default();
    add(&mut log, "c", 0, centrifuge(Some(12)));
    add(&mut log, "k", 1, check(day(3, 1), true, Some(day(9, 1))));
    let care = Care {
        kind: CareKind::Spill,
        of: Some("c".into()),
        when: at(1),
        done: "wiped, disinfectant 10 min".into(),
    };
    add(&mut log, "s", 2, What::Care(care));
    add(&mut log, "l", 3, lot(Good::Containers, "K-0058", Some(day(12, 31))));
    add(&mut log, "e", 4, What::Ended(Ended { of: "l".into(), why: "used up".into() }));
    add(&mut log, "x", 5, correct("k", "wrong day", Some(check(day(3, 2), true, None))));
    for entry in log.entries() {
        let text = entry.to_json().unwrap();
        assert_eq!(Entry::from_json(&text), Ok(entry.clone()));
        assert!(Entry::from_json(&text.replacen("\"by\"", "\"bye\"", 1)).is_err());
        let newer = text.replacen("\"schema\":2", "\"schema\":3", 1);
        assert_eq!(Entry::from_json(&newer), Err(Reason::Newer { found: 3 }));
    }
    let machine = &log.entries()[0];
    assert_eq!(
        (machine.by.as_str(), &machine.what),
        ("MO", &{
            let mut what = centrifuge(Some(12));
            trim(&mut what);
            what
        })
    );
    // Whatever order they come in, and however often.
    let mut again: Vec<Entry> = log.entries().iter().rev().cloned().collect();
    again.extend(log.entries().to_vec());
    assert_eq!(Log::new(again), log);
}

#[test]
fn a_check_is_due_when_it_says_else_by_the_interval_the_clinic_set_else_never() {
    let due = |every, checks: &[What]| {
        let mut log = Log::default();
        add(&mut log, "c", 0, centrifuge(every));
        for (n, what) in (1..).zip(checks) {
            add(&mut log, &format!("k{n}"), n, what.clone());
        }
        log.machines()[0].centrifuge.speed
    };
    // No interval is invented.
    assert_eq!(due(None, &[]), LastCheck::default());
    assert_eq!(due(None, &[check(day(1, 5), true, None)]).due, None);
    assert_eq!(due(Some(6), &[check(day(1, 5), true, None)]).due, Some(day(7, 5)));
    assert_eq!(due(Some(6), &[check(day(1, 5), true, Some(day(2, 1)))]).due, Some(day(2, 1)));
    assert!(due(Some(6), &[]).never);
    // The latest day counts, whichever was entered last.
    let two = [check(day(3, 1), true, None), check(day(1, 5), false, None)];
    assert_eq!(due(Some(6), &two).on_day(day(3, 12)), None);
    let overdue = due(None, &[check(day(1, 5), true, Some(day(3, 11)))]);
    assert_eq!(overdue.on_day(day(3, 11)), None, "due that day is not overdue");
    assert_eq!(overdue.on_day(day(3, 12)), Some(CheckState::Overdue(day(3, 11))));
    let failed = due(None, &[check(day(3, 1), false, None)]);
    assert_eq!(failed.on_day(day(3, 12)), Some(CheckState::Failed(day(3, 1))));
    assert_eq!(due(Some(1), &[]).on_day(day(3, 12)), Some(CheckState::Never));
}

#[test]
fn a_correction_holds_and_what_it_corrects_stays_to_be_read() {
    let mut log = Log::default();
    add(&mut log, "c", 0, centrifuge(None));
    add(&mut log, "k", 1, check(day(1, 5), true, Some(day(2, 5))));
    let before = log.entries().to_vec();
    add(&mut log, "x", 2, correct("k", "wrong year read", Some(check(day(1, 6), true, Some(day(9, 5))))));
    assert_eq!(log.machines()[0].centrifuge.speed.due, Some(day(9, 5)));
    add(&mut log, "y", 3, correct("k", "of another machine", None));
    assert_eq!(log.machines()[0].centrifuge.speed, LastCheck::default());
    assert!(before.iter().all(|e| log.entries().contains(e)), "nothing is altered");
    let held = log.held();
    assert_eq!((held.len(), held[1].now), (2, None));
    let said: Vec<_> = held[1].corrections().map(|(e, c)| (e.id.as_str(), c.why.as_str())).collect();
    assert_eq!(said, [("x", "wrong year read"), ("y", "of another machine")]);
    assert_eq!(held[1].versions().len(), 3);
    assert_eq!(held[1].versions()[0], Some(&before[1].what));
    // What is taken out cannot be corrected again, nor a correction itself.
    assert_eq!(entry(&log, "z", 4, correct("k", "again", None)), Err(Refused::NotThere));
    assert_eq!(entry(&log, "z", 4, correct("x", "again", None)), Err(Refused::NotThere));
}

#[test]
fn a_correction_holds_also_where_the_clock_was_set_back() {
    let mut log = Log::default();
    add(&mut log, "c", 0, centrifuge(None));
    add(&mut log, "k", 10, check(day(1, 5), true, None));
    add(&mut log, "z", 11, correct("k", "misread", Some(check(day(1, 6), true, None))));
    // An hour back, and with a key that comes before the other.
    add(&mut log, "a", -60, correct("k", "misread again", Some(check(day(1, 7), true, None))));
    assert_eq!(log.machines()[0].centrifuge.speed.on, Some(day(1, 7)));
    let last = log.entries().last().unwrap();
    assert_eq!((last.id.as_str(), last.at), ("a", Instant(at(11).0 + 1)));
    assert_eq!(Log::new(log.entries().to_vec()), log);
}

#[test]
fn two_products_may_have_one_lot_and_older_entries_say_no_product() {
    let of = |product_is: Option<ProductIs>| match lot(Good::Containers, "K-0058", None) {
        What::Lot(lot) => What::Lot(LotEntry { product_is, ..lot }),
        other => other,
    };
    let tube = |id: &str| Some(ProductIs::Container { id: id.into(), name: "Tube".into() });
    let mut log = Log::default();
    add(&mut log, "l", 0, of(tube("tube-15")));
    add(&mut log, "m", 1, of(tube("syringe-15")));
    for again in [tube("tube-15"), None] {
        assert_eq!(entry(&log, "n", 2, of(again)), Err(Refused::Listed));
    }
    let text = log.entries()[0].to_json().unwrap();
    assert_eq!(Entry::from_json(&text), Ok(log.entries()[0].clone()));
    let bare = Entry { what: of(None), ..log.entries()[0].clone() };
    let text = bare.to_json().unwrap();
    assert!(!text.contains("product_is"), "as it was stored before");
    assert_eq!(Entry::from_json(&text), Ok(bare));
}

#[test]
fn a_check_of_a_machine_that_was_ended_can_still_be_corrected() {
    let mut log = Log::default();
    add(&mut log, "c", 0, centrifuge(None));
    add(&mut log, "d", 1, centrifuge(None));
    add(&mut log, "k", 2, check(day(1, 5), true, None));
    add(&mut log, "e", 3, What::Ended(Ended { of: "c".into(), why: "sold".into() }));
    let ids = |own| log.to_choose(own).into_iter().map(|m| m.centrifuge.id).collect::<Vec<_>>();
    assert_eq!((ids(None), ids(Some("c"))), (vec!["d".to_owned()], vec!["c".to_owned(), "d".to_owned()]));
    assert!(entry(&log, "x", 4, correct("k", "misread", Some(check(day(1, 6), true, None)))).is_ok());
}

#[test]
fn what_makes_no_sense_is_refused_and_says_why() {
    let mut log = Log::default();
    add(&mut log, "c", 0, centrifuge(None));
    add(&mut log, "l", 1, lot(Good::Containers, "K-0058", None));
    let care = |of: Option<&str>, when, done: &str| {
        What::Care(Care { kind: CareKind::Cleaning, of: of.map(str::to_owned), when, done: done.into() })
    };
    let end = |of: &str, why: &str| What::Ended(Ended { of: of.into(), why: why.into() });
    let nameless = What::Equipment(Equipment::default());
    let other = Checking { of: "l".into(), ..of_check(check(day(3, 1), true, None)) };
    for (what, why) in [
        (nameless, Refused::NoEquipmentName),
        (centrifuge(Some(0)), Refused::Interval),
        (centrifuge(Some(121)), Refused::Interval),
        (check(day(3, 13), true, None), Refused::Ahead),
        (check(day(3, 1), true, Some(day(3, 1))), Refused::DueBefore),
        (What::Check(other), Refused::NotThere),
        (care(None, at(2), " "), Refused::NothingDone),
        (care(Some("nobody"), at(2), "wiped"), Refused::NotThere),
        (care(None, at(9), "wiped"), Refused::Ahead),
        (lot(Good::Containers, "", None), Refused::NoLot),
        (lot(Good::Containers, "k-0058 ", None), Refused::Listed),
        (end("l", ""), Refused::NoReason),
        (end("nobody", "gone"), Refused::NotThere),
        (correct("l", " ", None), Refused::NoReason),
        (correct("l", "slip", Some(centrifuge(None))), Refused::OtherKind),
    ] {
        assert_eq!(entry(&log, "n", 5, what.clone()), Err(why), "{what:?}");
    }
    let mut unnamed = lot(Good::Addition, "G-1", None);
    if let What::Lot(lot) = &mut unnamed {
        lot.name.clear();
    }
    assert_eq!(entry(&log, "n", 5, unnamed), Err(Refused::NoAdditionName));
    let nobody = log.draw_up("n".into(), " ", at(5), day(3, 12), centrifuge(None));
    assert_eq!(nobody, Err(Refused::NoName));
    // Its own entry does not stand in the way of a correction.
    let corrected =
        correct("l", "expiry read again", Some(lot(Good::Containers, "K-0058", Some(day(9, 30)))));
    add(&mut log, "x", 6, corrected);
    assert_eq!(log.shelf(Good::Containers)[0].lot.expiry, Some(day(9, 30)));
    add(&mut log, "e", 7, end("l", "used up"));
    assert_eq!(entry(&log, "n", 8, end("l", "again")), Err(Refused::NotThere));
    assert_eq!(log.shelf(Good::Containers), []);
    assert_eq!(log.lots()[0].ended.as_deref(), Some("used up"));
    add(&mut log, "m", 9, lot(Good::Containers, "K-0058", None));
}

fn of_check(what: What) -> Checking {
    match what {
        What::Check(c) => c,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_lot_is_good_on_its_last_day_and_recent_records_propose_theirs() {
    let mut log = Log::default();
    add(&mut log, "l", 0, lot(Good::Containers, "K-0058", Some(day(3, 12))));
    let on = |d| log.shelf(Good::Containers)[0].expired(day(3, d));
    assert_eq!((on(12), on(13)), (false, true));
    let line = |id: &str, containers: &str, demo: bool| {
        let mut draft = crate::record::trial::case(id);
        draft.demo = demo;
        draft.write(crate::draft::Field::ContainerLot, containers);
        let record = crate::record::Record::sign(draft, "MO", at(0), vec![]).unwrap();
        std::sync::Arc::new(Line::of(&record, "", None))
    };
    let lines = [
        line("a", "K-0044", false),
        line("b", "K-0051", false),
        line("c", "k-0058", false),
        line("d", "K-0051 ", false),
        line("e", "", false),
        line("f", "K-9999", true),
    ];
    assert_eq!(proposed(&log, &lines, LotOf::Containers), ["K-0051", "K-0044"]);
    assert_eq!(proposed(&log, &lines, LotOf::Anticoagulant), Vec::<String>::new());
}

use crate::finding::LotOf;
use crate::record::line::Line;
