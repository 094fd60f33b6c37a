//! What takes too long for the way of a key is reckoned once typing rests and the last key is on the screen. Each
//! question has a number; an answer to any but the last is never shown.

use super::typing;
use crate::dom::prelude::*;
use std::sync::Arc;
use std::time::Duration;

/// How long nothing must change.
const REST: Duration = Duration::from_millis(120);
/// From when on it is said that an answer is still to come.
const LATE: Duration = Duration::from_millis(300);

/// An answer that follows what it rests on.
pub struct Quiet<T: Send + Sync + 'static> {
    /// The last answer; `None` before the first.
    pub answer: RwSignal<Option<T>>,
    /// It is older than it should be.
    pub late: RwSignal<bool>,
    asked: StoredValue<u64>,
    answered: StoredValue<u64>,
    reckon: StoredValue<Arc<dyn Fn() -> T + Send + Sync>>,
}

impl<T: Send + Sync + 'static> Clone for Quiet<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T: Send + Sync + 'static> Copy for Quiet<T> {}

/// Reckons anew whenever something changes that `rests_on` reads.
pub fn quiet<T: PartialEq + Send + Sync + 'static>(
    rests_on: impl Fn() + 'static,
    reckon: impl Fn() -> T + Send + Sync + 'static,
) -> Quiet<T> {
    let quiet = Quiet {
        answer: RwSignal::new(None),
        late: RwSignal::new(false),
        asked: StoredValue::new(0),
        answered: StoredValue::new(0),
        reckon: StoredValue::new(Arc::new(reckon)),
    };
    Effect::new(move |_| {
        rests_on();
        let number = quiet.asked.get_value() + 1;
        quiet.asked.set_value(number);
        let rest = if number == 1 { Duration::ZERO } else { REST };
        typing::after_paint(move || set_timeout(move || quiet.answer_to(number), rest));
        set_timeout(move || quiet.is_late(number), LATE);
    });
    quiet
}

impl<T: PartialEq + Send + Sync + 'static> Quiet<T> {
    /// Answers, unless something was asked since or its place in the page is gone.
    fn answer_to(self, number: u64) {
        if self.asked.try_get_value() != Some(number) || self.answered.try_get_value() == Some(number) {
            return;
        }
        let Some(reckon) = self.reckon.try_get_value() else { return };
        let answer = untrack(move || reckon());
        self.answered.set_value(number);
        if self.answer.with_untracked(|now| now.as_ref() != Some(&answer)) {
            self.answer.set(Some(answer));
        }
        if self.late.get_untracked() {
            self.late.set(false);
        }
    }

    fn is_late(self, number: u64) {
        if self.answered.try_get_value().is_some_and(|answered| answered < number) {
            self.late.set(true);
        }
    }

    /// The answer to what stands now, reckoned at once if it must be: a tap acts on nothing older.
    pub fn now(self) {
        self.answer_to(self.asked.get_value());
    }
}
