//! Makes entries of the clinic's log.

use super::load::{self, Part};
use super::{elsewhere, keeper};
use crate::dom::prelude::*;
use crate::shell::clock;
use crate::state::{Banner, Desk};
use leptos::task::spawn_local;
use strawline::log::What;
use strawline::record::archive;
use strawline::record::archive::unsaid::{self, Unsaid};
use strawline::words::log::{LogWord, UnsaidLine};

/// Makes an entry, stores it, and takes it into view once it stands. `done` is
/// called with whether it does. Errors: why not, in words; `done` is not called then.
pub fn enter(desk: Desk, by: &str, what: What, done: impl FnOnce(bool) + 'static) -> Result<(), String> {
    let (Some(stores), Some(log)) = (keeper(|k| k.stores.clone()), desk.log.get_untracked()) else {
        return Err(desk.say(LogWord::NotNow));
    };
    let now = clock::now();
    let Some((today, _)) = now.at.local(now.offset) else { return Err(desk.say(LogWord::NotNow)) };
    let entry =
        log.draw_up(clock::fresh_id(), by, now.at, today, what).map_err(|refused| desk.say(refused))?;
    spawn_local(async move {
        match archive::save_entry(&stores.safe.records, &entry).await {
            Ok(()) => {
                let mut log = desk.log.get_untracked().unwrap_or_default();
                log.take_up(vec![entry]);
                desk.log.set(Some(log));
                desk.hide(|b| matches!(b, Banner::NotStored(_)));
                done(true);
                elsewhere::tell_added(&stores, elsewhere::TO_LOG).await;
            }
            Err(error) => {
                desk.show(Banner::NotStored(error));
                done(false);
            }
        }
    });
    Ok(())
}

/// Removes the text of an entry that was taken out. `done` is called with what became of it. Errors: why not, in
/// words; `done` is not called then.
pub fn unsay(
    desk: Desk,
    id: &str,
    by: &str,
    why: &str,
    done: impl FnOnce(String) + 'static,
) -> Result<(), String> {
    let (Some(stores), Some(log)) = (keeper(|k| k.stores.clone()), desk.log.get_untracked()) else {
        return Err(desk.say(LogWord::NotNow));
    };
    let all = log.without_text(id, by, clock::now().at, why).map_err(|refused| desk.say(refused))?;
    spawn_local(async move {
        let became = unsaid::unsay(&stores.safe.records, &all).await;
        if matches!(became, Ok(Unsaid::Removed { .. })) {
            let mut log = desk.log.get_untracked().unwrap_or_default();
            log.take_up(all.into_iter().map(|(_, blank)| blank).collect());
            desk.log.set(Some(log));
        }
        done(desk.say(UnsaidLine(became)));
        elsewhere::tell_added(&stores, elsewhere::TO_LOG).await;
    });
    Ok(())
}

/// Looks what other tabs have entered since.
pub fn look_again(desk: Desk) {
    load::reread(desk, &[Part::Log]);
}
