//! Every stored layout: a text of the layout before is read and written again as today's, one of a newer layout is
//! called newer, and kept.

use crate::bench::{Bench, BenchError};
use crate::draft::{Draft, DraftError};
use crate::log;
use crate::quality::decided::Decisions;
use crate::record::archive::{
    LOG, RECORD, SaveError, drafts, load_bench, load_decisions, load_draft, load_record, load_settings,
    log_entries, save_bench, save_decisions, save_draft, save_entry, save_record, save_settings,
};
use crate::record::line::Line;
use crate::record::settings::Settings;
use crate::record::store::{Memory, Store};
use crate::record::trial::block_on;
use crate::record::{Reason, Record};

// Written by versions before, of the invented case.
const OLDER_DRAFTS: [&str; 4] = [
    include_str!("samples/draft_1.json"),
    include_str!("samples/draft_2.json"),
    include_str!("samples/draft_3.json"),
    include_str!("samples/draft_4.json"),
];
const OLD_DRAFT: &str = include_str!("samples/draft_5.json");
const OLDER_BENCH: &str = include_str!("samples/bench_1.json");
const OLD_BENCH: &str = include_str!("samples/bench_2.json");
const OLD_SETTINGS: &str = include_str!("samples/settings_1.json");
const OLD_DECISIONS: &str = include_str!("samples/decisions_1.json");
const OLD_RECORD: &str = include_str!("samples/record_2.json");
const OLD_LOG: [&str; 6] = [
    include_str!("samples/log_1_c.json"),
    include_str!("samples/log_1_k.json"),
    include_str!("samples/log_1_s.json"),
    include_str!("samples/log_1_l.json"),
    include_str!("samples/log_1_e.json"),
    include_str!("samples/log_1_x.json"),
];

fn schema(text: &str) -> u64 {
    serde_json::from_str::<serde_json::Value>(text).unwrap()["schema"].as_u64().unwrap()
}

/// A text as a version to come may write it: a number more, and something this one has never heard of.
fn newer(text: &str) -> (u32, String) {
    let mut tree: serde_json::Value = serde_json::from_str(text).unwrap();
    let next = u32::try_from(schema(text)).unwrap() + 1;
    tree["schema"] = next.into();
    tree["of_tomorrow"] = serde_json::json!({ "any": [1] });
    (next, tree.to_string())
}

fn decisions(text: &str) -> Decisions {
    Decisions::from_json(text).unwrap()
}

fn written(value: &impl serde::Serialize) -> String {
    super::write(value).unwrap()
}

#[test]
fn what_the_version_before_wrote_is_read_and_written_as_today() {
    for (n, old) in (1..).zip(OLDER_DRAFTS.into_iter().chain([OLD_DRAFT])) {
        let draft = Draft::from_json(old).unwrap();
        assert_eq!((schema(old), schema(&draft.to_json())), (n, 6));
        let then = draft.to_json().replacen("\"schema\":6", &format!("\"schema\":{n}"), 1);
        assert_eq!(then, old, "nothing else changed");
        assert_eq!(Draft::from_json(&draft.to_json()), Ok(draft));
    }
    for (n, old) in [(1, OLDER_BENCH), (2, OLD_BENCH)] {
        let bench = Bench::from_json(old).unwrap();
        assert_eq!((schema(old), schema(&bench.to_json())), (n, 3));
        assert_eq!((bench.keep_years, Bench::from_json(&bench.to_json())), (Some(10), Ok(bench.clone())));
    }
    // Blood told under a reference alone holds for that.
    let (case, _) = crate::case::read(&Draft::from_json(OLD_DRAFT).unwrap(), crate::words::Language::English);
    assert!(case.blood_untold.is_some());
    let settings = Settings::from_json(OLD_SETTINGS).unwrap();
    assert_eq!((schema(OLD_SETTINGS), schema(&written(&settings))), (1, 2));
    assert!(settings.backed_up.is_some());
    let decided = decisions(OLD_DECISIONS);
    assert_eq!((schema(OLD_DECISIONS), schema(&written(&decided))), (1, 2));
    assert_eq!((decided.exclusions.len(), decided.own.len(), decisions(&written(&decided))), (1, 1, decided));
    for old in OLD_LOG {
        let entry = log::Entry::from_json(old).unwrap();
        let new = entry.to_json().unwrap();
        assert_eq!((schema(old), schema(&new)), (1, 2));
        assert_eq!(new.replacen("\"schema\":2", "\"schema\":1", 1), old);
    }
    // Its entries stay the texts they were sealed as; what is amended is written as today.
    let record = Record::from_json(OLD_RECORD).unwrap();
    assert!(matches!(record.verify(), crate::record::chain::Chain::Sound { .. }));
    let new = record.to_json().unwrap();
    assert_eq!((schema(OLD_RECORD), schema(&new)), (2, 3));
    assert_eq!(new.replacen("\"schema\":3", "\"schema\":2", 1), OLD_RECORD);
    let mut amended = record.clone();
    let mut draft = record.latest().clone();
    draft.write(crate::draft::Field::Notes, "late");
    amended.amend(draft, "JT", record.latest_entry().at, vec![], "why").unwrap();
    let text = amended.to_json().unwrap();
    assert_eq!(text.matches("\"draft\":{\"schema\":1").count(), 1);
    assert_eq!(text.matches("\"draft\":{\"schema\":6").count(), 1);
}

#[test]
fn what_a_newer_version_wrote_is_called_newer() {
    let new = |text: &str| newer(text);
    let (found, text) = new(&Draft::from_json(OLD_DRAFT).unwrap().to_json());
    assert_eq!(Draft::from_json(&text), Err(DraftError::Newer { found }));
    let (found, text) = new(&Bench::default().to_json());
    assert_eq!(Bench::from_json(&text), Err(BenchError::Newer { found }));
    let (found, text) = new(&written(&Settings::default()));
    assert_eq!(Settings::from_json(&text), Err(Reason::Newer { found }));
    let (found, text) = new(&written(&decisions(OLD_DECISIONS)));
    assert_eq!(Decisions::from_json(&text), Err(Reason::Newer { found }));
    let entry = log::Entry::from_json(OLD_LOG[0]).unwrap();
    let (found, text) = new(&entry.to_json().unwrap());
    assert_eq!(log::Entry::from_json(&text), Err(Reason::Newer { found }));
    let record = Record::from_json(OLD_RECORD).unwrap();
    let (found, text) = new(&record.to_json().unwrap());
    assert_eq!(Record::from_json(&text), Err(Reason::Newer { found }));
    let line = Line::of(&record, OLD_RECORD, None);
    let (found, text) = new(&line.to_json());
    assert_eq!(Line::from_json(&text), Err(Reason::Newer { found }));
}

#[test]
fn what_a_newer_version_wrote_is_left_as_it_is() {
    block_on(async {
        let store = Memory::default();
        let draft = Draft::from_json(OLD_DRAFT).unwrap();
        let record = Record::from_json(OLD_RECORD).unwrap();
        let entry = log::Entry::from_json(OLD_LOG[0]).unwrap();
        let texts = [
            (format!("strawline.draft.{}", draft.id), draft.to_json()),
            ("strawline.bench".to_owned(), Bench::default().to_json()),
            ("strawline.settings".to_owned(), written(&Settings::default())),
            ("strawline.quality".to_owned(), written(&decisions(OLD_DECISIONS))),
            (format!("{LOG}{}", entry.id), entry.to_json().unwrap()),
            (format!("{RECORD}{}", record.id()), record.to_json().unwrap()),
        ];
        for (key, text) in texts {
            store.write(&key, newer(&text).1).await.unwrap();
        }
        let before = store.texts();
        let told = |said: String| assert!(said.contains("Newer"), "{said}");
        told(format!("{:?}", drafts(&store).await.unwrap().unreadable));
        told(format!("{:?}", load_draft(&store, &draft.id).await.unwrap()));
        told(format!("{:?}", load_bench(&store).await.unwrap()));
        told(format!("{:?}", load_settings(&store).await.unwrap()));
        told(format!("{:?}", load_decisions(&store).await.unwrap()));
        told(format!("{:?}", log_entries(&store).await.unwrap().unreadable));
        told(format!("{:?}", load_record(&store, record.id()).await.unwrap()));
        assert_eq!(store.texts(), before, "looking changes nothing");
        // A page that goes on all the same leaves every one of them standing.
        let kept = |done: Result<(), SaveError>| {
            let newer = matches!(&done, Err(SaveError::Occupied(item)) if matches!(item.reason, Reason::Newer { .. }));
            assert!(newer, "{done:?}");
        };
        let none = Decisions::default();
        kept(save_draft(&store, &draft, None).await.map(drop));
        kept(save_bench(&store, &Bench::default(), &Bench::default()).await);
        kept(save_settings(&store, &Settings::default(), &Settings::default()).await);
        kept(save_decisions(&store, &none, &none).await);
        kept(save_entry(&store, &entry).await);
        kept(save_record(&store, &record).await.map(drop));
        assert_eq!(store.texts(), before);
    });
}
