//! What the tests of this room share.

use super::shown::{ShownFigure, ShownStanding};
use super::store::{Batch, Expected, Memory, Store, StoreError};
use crate::draft::{CheckSign, Draft, Field};
use crate::quantity::time::Instant;
use crate::quantity::unit::Conventions;
use std::cell::RefCell;
use std::task::{Context, Poll, Waker};

/// Runs what never has to wait.
pub fn block_on<T>(future: impl Future<Output = T>) -> T {
    match std::pin::pin!(future).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(value) => value,
        Poll::Pending => panic!("a store in memory had to wait"),
    }
}

/// So many minutes into 12 March 2026.
pub fn at(minutes: i64) -> Instant {
    Instant(1_773_270_000_000 + minutes * 60_000)
}

/// A case with something typed.
pub fn case(id: &str) -> Draft {
    let sign = CheckSign::try_from("7K".to_owned()).unwrap();
    let mut draft = Draft::new(id.to_owned(), sign, at(0), Conventions::default());
    draft.write(Field::PatientReference, "HL-0417");
    draft.write(Field::BloodCount, "210");
    draft
}

/// A predicted figure.
pub fn figure(what: &str, value: f64) -> ShownFigure {
    ShownFigure {
        what: what.to_owned(),
        value,
        low: None,
        high: None,
        unit: String::new(),
        standing: ShownStanding::Predicted,
        sources: vec!["conservation".to_owned()],
    }
}

/// A store in which another tab writes once, just before this one's next change.
pub struct Raced<'a>(pub &'a Memory, pub RefCell<Option<Batch>>);

impl Store for Raced<'_> {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        self.0.read_each(keys).await
    }
    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        self.0.read_all(prefix).await
    }
    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        self.0.keys(prefix).await
    }
    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        if let Some(theirs) = self.1.take() {
            self.0.write_all(theirs).await?;
        }
        self.0.write_all(batch).await
    }
    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        if let Some(theirs) = self.1.take() {
            self.0.write_all(theirs).await?;
        }
        self.0.write_all_where(expected, batch).await
    }
}
