//! What happens to a whole case: signed, amended, discarded, brought back, begun again.

use super::{flush, keeper, offer_undo, persist};
use crate::shell::clock;
use crate::state::{Banner, Desk, Sheet};
use leptos::prelude::*;
use leptos::task::spawn_local;
use strawline::draft::{Draft, Field};
use strawline::export::report;
use strawline::record::archive::{self, SaveError, Stored};
use strawline::record::store::StoreError;
use strawline::record::{Record, SignError};
use strawline::words::records::Discarded;

/// Signs the case: what was typed and shown becomes a record. Errors: nobody named as technician, a figure that is
/// no number, [`SignError::NoReason`] for a case signed before. Storing it follows; if that fails, a banner says
/// so and the case stays open.
pub fn sign(desk: Desk, sheet: Sheet) -> Result<(), SignError> {
    if record_of(desk, sheet).is_some() {
        return Err(SignError::NoReason);
    }
    let (draft, by, shown) = before_the_signer(sheet);
    keep_record(desk, Record::sign(draft, &by, clock::now().at, shown)?);
    Ok(())
}

/// Adds an amendment to the case's record. Errors: no reason, nothing changed, not signed before, and those of
/// [`sign`].
pub fn amend(desk: Desk, sheet: Sheet, reason: &str) -> Result<(), SignError> {
    let mut record = record_of(desk, sheet).ok_or(SignError::OtherCase)?;
    let (draft, by, shown) = before_the_signer(sheet);
    record.amend(draft, &by, clock::now().at, shown, reason)?;
    keep_record(desk, record);
    Ok(())
}

fn record_of(desk: Desk, sheet: Sheet) -> Option<Record> {
    let id = sheet.id();
    desk.records.with_untracked(|all| all.iter().find(|r| r.id() == id).cloned())
}

fn before_the_signer(sheet: Sheet) -> (Draft, String, Vec<strawline::record::shown::ShownFigure>) {
    let draft = sheet.draft.get_untracked();
    let by = draft.text(Field::Technician).to_owned();
    (draft, by, sheet.answer.with_untracked(report::shown))
}

fn keep_record(desk: Desk, record: Record) {
    spawn_local(async move {
        let sign = record.check_sign();
        match try_keep(&record).await {
            Ok(()) => {
                desk.hide(|b| matches!(b, Banner::NotSigned { sign: s, .. } if *s == sign));
                keeper(|k| k.drafts.remove(record.id()));
                desk.records.update(|all| match all.iter_mut().find(|r| r.id() == record.id()) {
                    Some(old) => *old = record,
                    None => all.push(record),
                });
                persist(desk);
                // What was typed while the record was written is not part of it.
                flush(desk);
            }
            Err(error) => desk.show(Banner::NotSigned { sign, error }),
        }
    });
}

async fn try_keep(record: &Record) -> Result<(), SaveError> {
    let stores = keeper(|k| k.stores.clone()).ok_or(StoreError::Unreachable)?;
    let done = archive::sign_off(&stores.drafts, &stores.records, record).await;
    match archive::load_record(&stores.records, record.id()).await {
        // The draft could not be taken away; the next start passes over it.
        Ok(Stored::Good(kept)) if kept == *record => Ok(()),
        _ => done,
    }
}

/// Takes a case from the open ones; `desk.undo` brings it back.
pub fn discard(desk: Desk, id: &str) {
    let sheet = desk.open.with_untracked(|open| open.iter().copied().find(|s| s.id() == id));
    let Some(sheet) = sheet else { return };
    let draft = sheet.draft.get_untracked();
    desk.close(id);
    keeper(|k| k.drafts.remove(id));
    let done = desk.say(Discarded(draft.sign));
    let (id, text) = (id.to_owned(), draft.clone());
    desk.discarded.update(|all| all.push(draft));
    to_drafts(desk, async move |drafts| {
        // As it stands on the screen, not as it was last stored.
        archive::save_draft(&drafts, &text).await?;
        archive::discard_draft(&drafts, &text.id).await?;
        Ok(())
    });
    offer_undo(desk, done, move || undo_discard(desk, &id));
}

/// Brings a discarded case back.
pub fn undo_discard(desk: Desk, id: &str) {
    let found = desk.discarded.with_untracked(|all| all.iter().find(|d| d.id == id).cloned());
    let Some(draft) = found else { return };
    desk.discarded.update(|all| all.retain(|d| d.id != id));
    desk.open(draft.clone());
    to_drafts(desk, async move |drafts| {
        archive::save_draft(&drafts, &draft).await?;
        archive::forget_discarded(&drafts, &draft.id).await?;
        keeper(|k| k.drafts.insert(draft.id.clone(), draft));
        Ok(())
    });
}

/// Removes a discarded case for good.
pub fn forget(desk: Desk, id: &str) {
    desk.discarded.update(|all| all.retain(|d| d.id != id));
    let id = id.to_owned();
    to_drafts(desk, async move |drafts| Ok(archive::forget_discarded(&drafts, &id).await?));
}

/// Opens a new case with the order, kit and choices of this one; counts, times, checks and decisions are its own.
pub fn duplicate(desk: Desk, draft: &Draft) {
    desk.open(draft.again(clock::fresh_id(), desk.fresh_sign(), clock::now().at));
}

/// Changes the stored drafts; says so when that fails.
fn to_drafts<A>(desk: Desk, act: A)
where
    A: AsyncFnOnce(crate::shell::store::AnyStore) -> Result<(), SaveError> + 'static,
{
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    spawn_local(async move {
        if let Err(error) = act(stores.drafts).await {
            desk.show(Banner::NotStored(error));
        }
    });
}
