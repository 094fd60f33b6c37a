//! Everything stored, as files, and a backup back.

use super::closing::{self, Paper};
use super::load::{self, Part};
use super::{as_signed, elsewhere, keeper, store};
use crate::dom::prelude::*;
use crate::shell::store::Stores;
use crate::shell::{clock, files, typing};
use crate::state::{Banner, CameBy, Desk};
use leptos::task::spawn_local;
use std::collections::BTreeMap;
use std::sync::Arc;
use strawline::arrange::{gather, sort_by_key};
use strawline::draft::Draft;
use strawline::export::csv::{Dates, QualityTable, RecordTable};
use strawline::quantity::time::Offset;
use strawline::record::archive::backup::{self, Closing, Restored};
use strawline::record::archive::purge::Purged;
use strawline::record::archive::{self, Stored};
use strawline::record::closed::{ClosedError, Key, Lock, With};
use strawline::record::line::Line;
use strawline::record::standing::RecordStanding;
use strawline::record::store::StoreError;
use strawline::record::{Reason, Record};
use strawline::words::out::OutWord;
use strawline::words::records::PurgedLine;
use strawline::words::unit;

const CSV: &str = "text/csv;charset=utf-8";

/// Saves every record as a table. Gives how many cannot be read and are not in it; none where no file was made.
pub async fn table(desk: Desk) -> Option<usize> {
    let mut table = RecordTable::default();
    let left_out = each(desk, |record, standing| table.add(record, standing)).await?;
    files::download(desk, &desk.say(OutWord::TableFile), CSV, &table.text());
    Some(left_out)
}

/// Saves what counts say of the process, without identifiers; likewise.
pub async fn quality(desk: Desk, dates: Dates) -> Option<usize> {
    let mut table = QualityTable::new(dates);
    let left_out = each(desk, |record, _| table.add(record)).await?;
    files::download(desk, &desk.say(OutWord::QualityFile), CSV, &table.text());
    Some(left_out)
}

/// Reads one record after the other. Gives how many cannot be read; none where the store itself failed, which is told.
async fn each(desk: Desk, take: impl FnMut(&Record, RecordStanding)) -> Option<usize> {
    let stores = keeper(|k| k.stores.clone())?;
    match read_each(desk, &stores, take).await {
        Ok(left_out) => Some(left_out),
        Err(error) => {
            desk.show(Banner::NotRead(error));
            None
        }
    }
}

async fn read_each(
    desk: Desk,
    stores: &Stores,
    mut take: impl FnMut(&Record, RecordStanding),
) -> Result<usize, StoreError> {
    let lines: BTreeMap<String, Arc<Line>> =
        desk.lines.with_untracked(|all| gather(all.iter().map(|l| (l.id.clone(), l.clone()))));
    // All that is stored, also what has no line yet, which comes last; else in the order of their first signatures.
    let mut ids = archive::record_ids(&stores.safe.records).await?;
    let signed = |id: &String| lines.get(id).map(|line| line.signed);
    sort_by_key(&mut ids, |id| (signed(id).is_none(), signed(id)));
    let mut left_out = 0;
    for id in ids {
        match archive::load_record(&stores.safe.records, &id).await? {
            Stored::Good(kept) => {
                let outside = lines.get(&id).is_some_and(|line| line.finds_changed(&kept.record));
                take(&kept.record, RecordStanding::of(&kept.record, kept.damaged.is_some(), outside));
            }
            Stored::Absent | Stored::Unreadable(_) => left_out += 1,
        }
    }
    Ok(left_out)
}

/// Saves everything that is kept.
pub fn backup(desk: Desk) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    // Under a lock the file is closed like everything here; while that is shut, none is made.
    let lock = match closing::on_paper(desk) {
        Some(Paper::Clear) => None,
        Some(Paper::Under(lock, key)) => Some((lock, key)),
        None => return,
    };
    spawn_local(async move {
        typing::settle();
        // What is signed from here on is in no backup yet, and what is being stored may not be.
        let at = clock::now().at;
        let signing = keeper(|k| !k.signing.is_empty());
        let stands = store(desk, &stores).await.all && !signing;
        let parts = js_sys::Array::new();
        let under = lock.as_ref().map(|(lock, key)| Closing { lock, key, chance: clock::secret });
        let written = backup::write(stores.shelves(), at, under, |piece| {
            parts.push(&piece.into());
        });
        match written.await {
            Ok(()) => {
                let name = desk.say(OutWord::BackupFile);
                if files::download_parts(desk, &name, "application/json", &parts) && stands {
                    desk.settings.update(|s| s.backed_up = Some(at));
                }
            }
            Err(error) => desk.show(Banner::NotRead(error)),
        }
    });
}

/// The lock that a backup asks for; none of one in clear, or closed with the key that is open here. Errors: it is none,
/// or of a newer version.
pub fn asks(desk: Desk, text: &str) -> Result<Option<Lock>, Reason> {
    let lock = backup::lock(text)?;
    let known = matches!(closing::on_paper(desk), Some(Paper::Under(_, key)) if backup::is_under(text, &key));
    Ok(lock.filter(|_| !known))
}

/// The key of the lock that a backup or a code carries. Takes a while, right or wrong. Errors: neither passphrase nor recovery key.
pub async fn open(lock: &Lock, typed: &str) -> Result<Key, ClosedError> {
    closing::painted().await;
    lock.open(With::Either(typed))
}

/// Adds what a backup holds and is not here, and takes it into view; one that is closed otherwise than what is here, with
/// its key. Errors: it is none, of a newer version, or damaged.
pub async fn restore(desk: Desk, text: &str, key: Option<&Key>) -> Result<Restored, Reason> {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return Ok(Restored::default()) };
    typing::settle();
    store(desk, &stores).await;
    let here = match closing::on_paper(desk) {
        Some(Paper::Under(_, key)) => Some(key),
        _ => None,
    };
    let mut done = backup::restore(stores.shelves(), text, key.or(here.as_ref())).await?;
    // The cards of that device may hold more than its backup.
    key.cloned().into_iter().for_each(closing::keep_other);
    if !done.lines.is_empty() {
        // They were signed before the last backup, perhaps, and are in none of this device.
        desk.settings.update(|s| s.backed_up = None);
    }
    if let Some(bench) = done.bench.take() {
        desk.carried.set(Some(Ok((bench, CameBy::Backup))));
    }
    keeper(|k| k.brought.extend(std::mem::take(&mut done.brought)));
    desk.know_lines(std::mem::take(&mut done.lines));
    elsewhere::tell_added(&stores, elsewhere::RESTORED).await;
    // Records at hand may have grown here as in the other tabs.
    elsewhere::added_elsewhere(desk, elsewhere::RESTORED);
    // Of these the browser itself tells the others.
    load::reread(desk, &[Part::Shelf, Part::Decisions, Part::Drafts]);
    Ok(done)
}

/// Removes records and discarded cases for good, one after the other, and takes them out of view, here and in other tabs.
/// Says of each what became of it.
pub async fn purge(
    desk: Desk,
    lines: Vec<Arc<Line>>,
    discarded: Vec<Draft>,
    offset: Offset,
) -> Vec<PurgedLine> {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return Vec::new() };
    typing::settle();
    store(desk, &stores).await;
    let day = |at| unit::date(at, offset).map(|day| desk.say(day)).unwrap_or_default();
    let mut done = Vec::new();
    let mut gone = Vec::new();
    for line in lines {
        let became = if put_away(desk, &line.id) {
            archive::purge::purge(&stores.safe.records, &stores.safe.drafts, &line).await
        } else {
            Ok(Purged::Open)
        };
        if matches!(became, Ok(Purged::Removed { .. })) {
            gone.push(line.id.clone());
        }
        done.push(PurgedLine {
            line: (line.sign.to_string(), became),
            day: day(line.last_signed()),
            discarded: false,
        });
    }
    for draft in discarded {
        let became =
            archive::purge::purge_discarded(&stores.safe.records, &stores.safe.drafts, &draft.id).await;
        if matches!(became, Ok(Purged::Removed { .. })) {
            gone.push(draft.id.clone());
        }
        done.push(PurgedLine {
            line: (draft.sign.to_string(), became),
            day: day(draft.begun),
            discarded: true,
        });
    }
    take_out(desk, &gone);
    if !gone.is_empty() {
        // The ids name nobody.
        elsewhere::tell(&stores, PURGED, gone.join("\n")).await;
    }
    load::reread(desk, &[Part::Decisions, Part::Aside, Part::Lines]);
    done
}

/// Key under which other tabs hear for a moment which records were removed for good.
pub const PURGED: &str = "strawline.purged";

/// Closes a record that is only looked at; false where something was typed since, or is being signed.
fn put_away(desk: Desk, id: &str) -> bool {
    if keeper(|k| k.signing.contains(id)) {
        return false;
    }
    if let Some(sheet) = elsewhere::find(desk, id) {
        if !sheet.draft.with_untracked(|draft| as_signed(desk, draft)) {
            return false;
        }
        let in_view = desk.current.get_untracked().as_deref() == Some(id);
        desk.close(id);
        // No other patient's worksheet steps into its place unasked.
        if in_view {
            crate::shell::hash::go(crate::state::Place::Records);
        }
    }
    keeper(|k| {
        k.drafts.remove(id);
        k.reading.remove(id);
    });
    true
}

/// Another tab removed records for good. What was typed into one here since stays in view; it cannot be signed.
pub fn purged_elsewhere(desk: Desk, ids: &str) {
    typing::settle();
    let gone: Vec<String> = ids.lines().filter(|id| put_away(desk, id)).map(str::to_owned).collect();
    take_out(desk, &gone);
    // Of what was aside something may be gone too.
    load::reread(desk, &[Part::Aside]);
}

/// Takes removed records out of view, and ends a look through the records that may still know their lines.
fn take_out(desk: Desk, gone: &[String]) {
    if gone.is_empty() {
        return;
    }
    keeper(|k| k.turn = k.turn.wrapping_add(1));
    let is_gone = |id: &str| gone.iter().any(|g| g == id);
    desk.records.update(|all| all.retain(|r| !is_gone(r.id())));
    desk.discarded.update(|all| all.retain(|d| !is_gone(&d.id)));
    desk.unreadable.update(|all| all.retain(|u| !gone.iter().any(|id| u.key.ends_with(id.as_str()))));
    desk.lines.update(|all| all.retain(|line| !is_gone(&line.id)));
    // What can be taken back may be of one of them.
    desk.undo.set(None);
}
