//! What happens to a whole case: signed, amended, discarded, brought back, begun again.

use super::load;
use super::{elsewhere, flush, keeper, offer_undo, persist};
use crate::dom::prelude::*;
use crate::section::paper::given;
use crate::shell::store::AnyStore;
use crate::shell::{clock, offline};
use crate::state::{Banner, Desk, Sheet};
use leptos::task::spawn_local;
use strawline::draft::{CheckSign, Draft, Field};
use strawline::export::card::Given;
use strawline::export::signed;
use strawline::record::archive::{self, SaveError, Seen, Stored};
use strawline::record::closed::safe::Safe;
use strawline::record::closed::store::Closed;
use strawline::record::earlier;
use strawline::record::line::Line;
use strawline::record::store::StoreError;
use strawline::record::{Record, SignError};
use strawline::words::records::Discarded;

/// Signs the case: what was typed and shown becomes a record. Errors: nobody named as technician, a figure that is
/// no number, [`SignError::NoReason`] for a case signed before, and while a banner asks what holds. Storing it follows; if that fails, a banner says
/// so and the case stays open. A second tap while it is stored signs nothing.
pub fn sign(desk: Desk, sheet: Sheet) -> Result<(), NotSigned> {
    if elsewhere::undecided(desk, &sheet.id()) {
        return Err(NotSigned::Undecided);
    }
    if record_of(desk, sheet).is_some() {
        return Err(SignError::NoReason.into());
    }
    let by = sheet.draft.with_untracked(|d| d.text(Field::Technician).to_owned());
    let at = clock::now().at;
    let draft = sheet.draft.with_untracked(|d| d.as_signed_at(at));
    let record =
        before_the_signer(desk, sheet, |given| signed::sign(Given { draft: &draft, ..given }, &by, at))?;
    keep_record(desk, record, || ());
    Ok(())
}

/// Why a case was not signed, or its record not amended.
pub enum NotSigned {
    /// Another tab's case or record stands against what is typed here, and what holds is not decided yet.
    Undecided,
    /// The signature was refused.
    Refused(SignError),
}

impl From<SignError> for NotSigned {
    fn from(error: SignError) -> Self {
        Self::Refused(error)
    }
}

/// Adds an amendment to the case's record, signed by whoever amends: not always who made the product. Errors:
/// nobody named, no reason, nothing changed, not signed before, those of [`sign`], and while a banner asks what holds.
/// `kept` is called once it is stored.
pub fn amend(
    desk: Desk,
    sheet: Sheet,
    by: &str,
    reason: &str,
    kept: impl FnOnce() + 'static,
) -> Result<(), NotSigned> {
    if elsewhere::undecided(desk, &sheet.id()) {
        return Err(NotSigned::Undecided);
    }
    let record = record_of(desk, sheet).ok_or(SignError::OtherCase)?;
    let at = clock::now().at;
    let record = before_the_signer(desk, sheet, |given| signed::amend(&record, given, by, at, reason))?;
    keep_record(desk, record, kept);
    Ok(())
}

fn record_of(desk: Desk, sheet: Sheet) -> Option<Record> {
    let id = sheet.id();
    desk.records.with_untracked(|all| all.iter().find(|r| r.id() == id).cloned())
}

/// What the signer looks at, as it stands on the paper.
fn before_the_signer<T>(desk: Desk, sheet: Sheet, sign: impl FnOnce(Given<'_>) -> T) -> T {
    untrack(|| given(desk, sheet, sign))
}

/// Stores a signed or amended record; one of a case at a time.
fn keep_record(desk: Desk, record: Record, kept: impl FnOnce() + 'static) {
    let id = record.id().to_owned();
    if !keeper(|k| k.signing.insert(id.clone())) {
        return;
    }
    let sign = record.check_sign();
    spawn_local(async move {
        let seen = keeper(|k| k.drafts.get(&id).cloned());
        let known = desk.lines.with_untracked(|all| all.iter().find(|line| line.id == id).cloned());
        let done = try_keep(&record, seen.as_ref(), known.as_deref()).await;
        let over = keeper(|k| {
            k.signing.remove(&id);
            std::mem::take(&mut k.load_new)
        });
        match done {
            Ok(line) => {
                desk.hide(|b| matches!(b, Banner::NotSigned { sign: s, .. } if *s == sign));
                // What was typed and stored while the record was written is not part of it, and stays.
                keeper(|k| {
                    k.drafts.retain(|of, now| {
                        *of != id || (now.draft != *record.latest() && Some(&*now) != seen.as_ref())
                    });
                });
                if desk.settings.with_untracked(|s| s.backup_is_ahead_of(record.latest_entry().at)) {
                    desk.settings.update(|s| s.backed_up = None);
                }
                desk.know(record);
                // Without one the next look at the record makes it.
                desk.know_lines(line.into_iter().collect());
                persist(desk);
                kept();
                flush(desk);
                if let Some(stores) = keeper(|k| k.stores.clone()) {
                    elsewhere::tell(&stores, elsewhere::SIGNED, id).await;
                }
                if over {
                    offline::take_over(desk);
                }
            }
            Err(error) => {
                if error == SaveError::Conflict {
                    load::reread_record(desk, &id);
                }
                desk.show(Banner::NotSigned { sign, error });
            }
        }
    });
}

async fn try_keep(
    record: &Record,
    seen: Option<&Seen>,
    known: Option<&Line>,
) -> Result<Option<Line>, SaveError> {
    let stores = keeper(|k| k.stores.clone()).ok_or(StoreError::Unreachable)?;
    let Safe { drafts, records, .. } = &stores.safe;
    let error = match archive::sign_off(drafts, records, record, seen, known).await {
        Ok(line) => return Ok(Some(line)),
        Err(error) => error,
    };
    match archive::load_record(&stores.safe.records, record.id()).await {
        // The draft could not be taken away; the next start passes over it.
        Ok(Stored::Good(kept)) if kept.record == *record => Ok(None),
        _ => Err(error),
    }
}

/// Takes a case from the open ones once that is stored; `desk.undo` brings it back. What another tab typed into it
/// meanwhile is not discarded unseen.
pub fn discard(desk: Desk, id: &str) {
    let Some(sheet) = elsewhere::find(desk, id) else { return };
    let draft = sheet.draft.get_untracked();
    // As it stands on the screen, not as it was last stored.
    let (text, sign) = (draft.clone(), draft.sign);
    let act = async move |drafts| {
        let seen = keeper(|k| k.drafts.get(&text.id).cloned());
        archive::discard_draft(&drafts, &text, seen.as_ref()).await
    };
    to_drafts(desk, draft.clone(), act, move |()| {
        let id = draft.id.clone();
        desk.close(&id);
        keeper(|k| k.drafts.remove(&id));
        elsewhere::decided(desk, &id);
        desk.discarded.update(|all| all.push(draft));
        offer_undo(desk, None, desk.say(Discarded(sign)), move || undo_discard(desk, &id));
    });
}

/// Brings a discarded case back.
pub fn undo_discard(desk: Desk, id: &str) {
    let Some(draft) = discarded(desk, id) else { return };
    let text = draft.clone();
    let act = async move |drafts| archive::restore_draft(&drafts, &text).await;
    to_drafts(desk, draft.clone(), act, move |seen| {
        keeper(|k| k.drafts.insert(draft.id.clone(), seen));
        desk.discarded.update(|all| all.retain(|d| d.id != draft.id));
        undo_is_over(desk, draft.sign);
        let id = draft.id.clone();
        desk.open(draft);
        // It may amend a record, and that may have grown since.
        load::with_record(desk, &id, move |record| elsewhere::meet_again(desk, &record));
    });
}

/// That it was discarded is no longer said once it is back, or gone.
fn undo_is_over(desk: Desk, sign: CheckSign) {
    let said = desk.say(Discarded(sign));
    desk.undo.update(|undo| {
        undo.take_if(|undo| undo.done == said);
    });
}

/// Removes a discarded case for good; not one that alone tells of a draw.
pub fn forget(desk: Desk, id: &str) {
    let Some(draft) = discarded(desk, id) else { return };
    if desk.lines.with_untracked(|lines| earlier::only_trace(lines, &draft)) {
        return;
    }
    let sign = draft.sign;
    let id = draft.id.clone();
    let act = {
        let draft = draft.clone();
        async move |drafts| archive::forget_discarded(&drafts, &draft).await
    };
    to_drafts(desk, draft, act, move |()| {
        desk.discarded.update(|all| all.retain(|d| d.id != id));
        undo_is_over(desk, sign);
    });
}

fn discarded(desk: Desk, id: &str) -> Option<Draft> {
    desk.discarded.with_untracked(|all| all.iter().find(|d| d.id == id).cloned())
}

/// Opens a new case with the order, kit and choices of this one, under today's limits; counts, times, checks and
/// decisions are its own.
pub fn duplicate(desk: Desk, draft: &Draft) {
    let now = clock::now();
    let mut again =
        desk.bench.with_untracked(|b| draft.again(clock::fresh_id(), desk.fresh_sign(), now.at, b));
    crate::counts::teach(desk, &mut again);
    desk.open(Draft { offset: Some(now.offset), ..again });
}

/// Changes the stored drafts, then the page; says so when that fails, and leaves the page as it is.
fn to_drafts<T, A>(desk: Desk, of: Draft, act: A, then: impl FnOnce(T) + 'static)
where
    A: AsyncFnOnce(Closed<AnyStore>) -> Result<T, SaveError> + 'static,
{
    let stores = keeper(|k| k.stores.clone());
    spawn_local(async move {
        let done = match stores {
            Some(stores) => act(stores.safe.drafts).await,
            None => Err(StoreError::Unreachable.into()),
        };
        match done {
            Ok(done) => then(done),
            Err(SaveError::Conflict) => desk.show(Banner::ChangedElsewhere { id: of.id, sign: of.sign }),
            Err(error) => desk.show(Banner::NotStored(error)),
        }
    });
}
