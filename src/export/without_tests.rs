//! What went worst is recorded too: signed without a product, and signed with what is open kept open.

use super::card::plain;
use super::csv::{Dates, QualityTable, RecordTable};
use super::{chart, fhir, signed, trial};
use crate::assess::{Now, assess};
use crate::bench::Bench;
use crate::draft::{Draft, Field, SampleDilution, Trouble, TroubleKind};
use crate::finding::{FindingKind, Level};
use crate::quality::facts_of_record;
use crate::quantity::Quantity;
use crate::quantity::time::{Instant, Offset};
use crate::record::line::Line;
use crate::record::standing::RecordStanding;
use crate::record::{Counts, Record};
use crate::words::Language;

/// Both containers clotted after the draw, and the patient fainted.
fn clotted() -> Draft {
    let mut draft = trial::drawn();
    for container in [0, 1] {
        draft.troubles.push(Trouble {
            kind: TroubleKind::Clot,
            container: Some(container),
            at: trial::SIGNED,
            by: "MO".into(),
            set_aside: true,
            aside: None,
            collected: false,
            withdrawn: None,
        });
    }
    draft.write(Field::AdverseEvent, "fainted at the needle; prescriber told");
    draft.write(Field::ContainerLot, "K-0058");
    draft.write(Field::NoProduct, "both containers clotted");
    draft.ended_without = Some(trial::SIGNED);
    draft
}

/// The page's case does not know yet that it ends so when it is signed.
#[test]
fn what_is_kept_of_it_is_what_holds_of_a_case_that_ended() {
    let hours = 36_000_000;
    let mut ended = clotted();
    for at in [&mut ended.times.needle_in, &mut ended.times.needle_out] {
        *at = at.map(|at| Instant(at.0 - hours));
    }
    let open = Draft { ended_without: None, ..ended.clone() };
    let keys = |record: &Record| -> Vec<String> {
        record.latest_entry().findings.iter().flatten().map(|f| f.key.clone()).collect()
    };
    let live = trial::with(&open, None, |given| {
        let live: Vec<String> = given.answer.findings.iter().map(|f| f.kind.key()).collect();
        let draft = open.as_signed_at(trial::SIGNED);
        (live, signed::sign(super::card::Given { draft: &draft, ..given }, "MO", trial::SIGNED).unwrap())
    });
    assert_eq!(live.1, trial::signed(&ended));
    assert_ne!(live.0, keys(&live.1), "its clocks had run out, and nothing waits for them");
}

fn line(record: &Record) -> Line {
    Line::of(record, &record.to_json().unwrap(), None)
}

fn bundle(record: &Record) -> String {
    fhir::bundle(record, RecordStanding::of(record, false, false), Language::English)
}

fn procedure(record: &Record) -> serde_json::Value {
    let bundle: serde_json::Value = serde_json::from_str(&bundle(record)).unwrap();
    let entries = bundle["entry"].as_array().unwrap();
    let found = entries.iter().find(|e| e["resource"]["resourceType"] == "Procedure").unwrap();
    found["resource"].clone()
}

fn column(record: &Record, name: &str) -> String {
    let mut table = RecordTable::default();
    table.add(record, RecordStanding::of(record, false, false));
    let text = table.text();
    let (head, row) = text.split_once("\r\n").unwrap();
    let at = head.split(',').position(|n| n == name).unwrap();
    let mut quoted = false;
    // A comma inside quotes parts nothing.
    let mut cells = row.split(|c| {
        quoted ^= c == '"';
        c == ',' && !quoted
    });
    cells.nth(at).unwrap().to_owned()
}

#[test]
fn a_case_without_a_product_is_signed_and_says_so() {
    let record = trial::signed(&clotted());
    let entry = record.latest_entry();
    let findings = entry.findings.as_ref().unwrap();
    assert!(findings.iter().any(|f| f.level == Level::StopFinal && f.open), "nothing can be spun");
    let card = entry.card.as_ref().unwrap();
    assert_eq!(card.amended.first().unwrap(), "No product was handed over: both containers clotted");
    assert!(card.findings.iter().any(|f| f.level == Level::StopFinal));
    assert!(card.troubles.iter().any(|t| t.contains("fainted")));
    assert_eq!(card.sign_off.len(), 2, "nobody receives it");
    let text = chart::chart_of(
        &record,
        RecordStanding::Sound,
        &Bench::default().clinic,
        Language::English,
        Offset::UTC,
    );
    assert!(text.contains("No product was handed over: both containers clotted"), "{text}");
    let procedure = procedure(&record);
    assert_eq!(procedure["status"], "stopped");
    assert!(procedure["statusReason"]["text"].as_str().unwrap().contains("both containers clotted"));
    assert_eq!(column(&record, "no_product_because"), "both containers clotted");
    // Its blood counts, and it waits for no count.
    let line = line(&record);
    let drawn = |line: &Line| line.drawn_today().map(|d| (d.volume.get(), d.planned));
    assert_eq!((drawn(&line), line.counts), (Some((26.0, false)), Counts::NoProduct));
    assert!(line.container_lot == "K-0058" && line.facts.is_none());
    // Set aside without a mark it counts as planned, and says so.
    let mut unmarked = clotted();
    [0, 1].into_iter().for_each(|i| unmarked.write(Field::FillActual(i), ""));
    assert_eq!(drawn(&self::line(&trial::signed(&unmarked))), Some((26.0, true)));
}

/// Findings of a case, days after it was signed.
fn found(draft: &Draft) -> Vec<FindingKind> {
    let (case, _) = crate::case::read(draft, Language::English);
    let now = Now { at: Instant(trial::SIGNED.0 + 3 * 24 * 3_600_000), offset: Offset::UTC };
    assess(&case, now).findings.into_iter().map(|finding| finding.kind).collect()
}

#[test]
fn what_ended_without_a_product_is_neither_to_be_spun_nor_to_be_given() {
    let late = |draft: &Draft| {
        let all = found(draft);
        let has = |is: fn(&FindingKind) -> bool| all.iter().any(is);
        [has(|f| matches!(f, FindingKind::PastSpinBy(_))), has(|f| matches!(f, FindingKind::PastUseBy(_)))]
    };
    let mut draft = clotted();
    assert_eq!(late(&Draft { ended_without: None, ..draft.clone() }), [true, true]);
    assert_eq!(late(&draft), [false, false]);
    // One that was spun too late was.
    draft.begin_stage(0, Instant(trial::SIGNED.0 + 24 * 3_600_000));
    assert_eq!(late(&draft), [true, false]);
}

#[test]
fn an_amendment_by_who_has_not_heard_of_the_end_keeps_it() {
    let record = trial::signed(&clotted());
    let mut elsewhere = Draft { ended_without: None, ..clotted() };
    elsewhere.write(Field::Notes, "both tubes kept for the prescriber");
    let amend = |draft: &Draft| {
        let at = Instant(trial::SIGNED.0 + 60_000);
        trial::with(draft, Some(&record), |given| signed::amend(&record, given, "JT", at, "said later"))
            .unwrap()
    };
    let amended = amend(&elsewhere);
    let latest = amended.latest_entry();
    assert_eq!(latest.draft.ended_without, Some(trial::SIGNED));
    assert_eq!(latest.draft.text(Field::Notes), "both tubes kept for the prescriber");
    assert_eq!(
        latest,
        amend(&Draft { ended_without: Some(trial::SIGNED), ..elsewhere.clone() }).latest_entry()
    );
    let card = latest.card.as_ref().unwrap();
    assert!(
        card.amended.iter().any(|said| said.contains("No product was handed over")),
        "{:?}",
        card.amended
    );
    assert_eq!(procedure(&amended)["status"], "stopped");
    // A product that was handed over is one.
    let handed = trial::counted();
    let mut later = trial::counted_draft();
    later.write(Field::Notes, "late");
    let at = Instant(trial::SIGNED.0 + 60_000);
    let amended =
        trial::with(&later, Some(&handed), |given| signed::amend(&handed, given, "JT", at, "late")).unwrap();
    assert_eq!(amended.latest().ended_without, None);
}

#[test]
fn quality_data_leave_out_what_had_no_product() {
    let rows = |draft: &Draft| {
        let mut table = QualityTable::new(Dates::Day);
        table.add(&trial::signed(draft));
        table.text().lines().count() - 1
    };
    let mut draft = Draft { demo: false, ..trial::counted_draft() };
    assert_eq!(rows(&draft), 1);
    draft.times.handed_over = None;
    draft.write(Field::NoProduct, "dropped before it was given");
    assert_eq!(rows(&draft), 1, "not handed over yet");
    draft.ended_without = Some(trial::SIGNED);
    assert_eq!(rows(&draft), 0);
}

#[test]
fn a_product_that_was_counted_and_thrown_away_teaches_nothing() {
    let mut draft = trial::counted_draft();
    let (signed, facts) = (trial::signed(&draft), |r: &Record| facts_of_record(r).is_some());
    assert!(facts(&signed) && line(&signed).recovery.is_some());
    draft.times.handed_over = None;
    draft.write(Field::NoProduct, "dropped before it was given");
    draft.ended_without = Some(trial::SIGNED);
    let without = trial::signed(&draft);
    assert!(!facts(&without) && line(&without).recovery.is_none());
    let card = without.latest_entry().card.as_ref().unwrap();
    assert!(card.labels.as_ref().unwrap().large.is_empty());
    // Amounts typed before it was dropped were to be given, and nobody got them.
    let told = |r: &Record| {
        let doses = &r.latest_entry().card.as_ref().unwrap().doses;
        let cells = doses.rows.iter().flat_map(|row| &row.cells).map(|cell| plain(cell));
        let given = cells.filter(|cell| cell.contains("given")).count();
        let bundle = bundle(r);
        let observed =
            ["volume-given", "dose-of-part"].map(|code| bundle.matches(&format!("\"{code}\"")).count());
        (given, observed, column(r, "part_1_volume_given_mL"), column(r, "dose_counted_1e9").is_empty())
    };
    assert_eq!(told(&signed), (2, [2, 2], "2".to_owned(), false));
    assert_eq!(told(&without), (0, [0, 0], String::new(), true));
    assert_eq!(column(&without, "part_1_volume_ordered_mL"), "2");
    // Typed and not signed so, it is only not handed over yet.
    draft.ended_without = None;
    assert!(facts(&trial::signed(&draft)));
    draft.choices.dilution = Some(SampleDilution::Undiluted);
    assert_eq!(procedure(&trial::signed(&draft))["status"], "in-progress");
}

#[test]
fn a_stop_entered_after_the_hand_over_is_signed_as_open_and_stands_on_the_card() {
    let mut draft = trial::counted_draft();
    draft.hand_over(Instant(1_795_602_900_000));
    draft.troubles.push(Trouble {
        kind: TroubleKind::Clumps,
        container: None,
        at: trial::SIGNED,
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: true,
        withdrawn: None,
    });
    let (case, _) = crate::case::read(&draft, Language::English);
    assert_eq!(crate::assess::hand_over::needs_to_sign(&draft, &case), []);
    let record = trial::signed(&draft);
    let entry = record.latest_entry();
    let open = entry.findings.iter().flatten().find(|f| f.key == "trouble.clumps").unwrap();
    assert!(open.open && open.level == Level::StopClinician && open.decision.is_none());
    let card = entry.card.as_ref().unwrap();
    let shown = card.findings.iter().find(|f| f.text == open.cause).unwrap();
    assert!(shown.said.as_ref().unwrap().contains("Open"), "{shown:?}");
    assert_eq!(procedure(&record)["status"], "completed");
    assert!(!card.who.iter().any(|b| plain(&b.head).contains("No product")));
}

#[test]
fn how_the_blood_was_counted_is_told_where_the_count_is() {
    let mut draft = trial::counted_draft();
    draft.write(Field::BloodCountMethod, "counting chamber");
    let record = trial::signed(&draft);
    assert_eq!(column(&record, "blood_counted_by"), "counting chamber");
    let told = bundle(&record);
    assert_eq!(told.matches("\"method\":{\"text\":\"counting chamber\"}").count(), 1);
    let card = record.latest_entry().card.as_ref().unwrap();
    let cells = || card.done.rows.iter().flat_map(|row| &row.cells).map(|cell| plain(cell));
    assert!(cells().any(|cell| cell.contains("counted by counting chamber")));
    let plain_case = bundle(&trial::counted());
    assert!(!plain_case.contains("\"method\""));
}
