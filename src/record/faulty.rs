//! A store that fails at a chosen operation, to prove that a lost write is noticed and never half done.

use super::journal::Cells;
use super::store::{Batch, Expected, Store, StoreError};
use std::cell::Cell;

/// What happens at the chosen operation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// It and those after it, so many in all, are refused; later ones work.
    Refuse(StoreError, u32),
    /// The page dies just before it: nothing works any more.
    CrashBefore,
    /// The page dies just after it, before hearing that it is done.
    CrashAfter,
}

/// Passes everything on to another store until the fault.
#[derive(Debug)]
pub struct Faulty<S> {
    inner: S,
    at: u32,
    fault: Fault,
    operations: Cell<u32>,
}

enum Next {
    Pass,
    Fail(StoreError),
    PassAndFail,
}

impl<S> Faulty<S> {
    /// Fails at operation `at`, counted from 1.
    pub fn new(inner: S, at: u32, fault: Fault) -> Self {
        Self { inner, at, fault, operations: Cell::new(0) }
    }

    /// How many operations were asked for.
    pub fn operations(&self) -> u32 {
        self.operations.get()
    }

    fn next(&self) -> Next {
        let n = self.operations.get().saturating_add(1);
        self.operations.set(n);
        match &self.fault {
            _ if n < self.at => Next::Pass,
            Fault::Refuse(error, times) if n - self.at < *times => Next::Fail(error.clone()),
            Fault::Refuse(..) => Next::Pass,
            Fault::CrashAfter if n == self.at => Next::PassAndFail,
            Fault::CrashBefore | Fault::CrashAfter => Next::Fail(StoreError::Unreachable),
        }
    }
}

/// Does what the next operation should.
macro_rules! operate {
    ($self:ident, $done:expr) => {
        match $self.next() {
            Next::Pass => $done,
            Next::Fail(error) => Err(error),
            Next::PassAndFail => $done.and(Err(StoreError::Unreachable)),
        }
    };
}

impl<S: Store> Store for Faulty<S> {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        operate!(self, self.inner.read_each(keys).await)
    }
    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        operate!(self, self.inner.read_all(prefix).await)
    }
    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        operate!(self, self.inner.keys(prefix).await)
    }
    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        operate!(self, self.inner.write_all(batch).await)
    }
    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        operate!(self, self.inner.write_all_where(expected, batch).await)
    }
}

impl<C: Cells> Cells for &Faulty<C> {
    fn get(&self, key: &str) -> Result<Option<String>, StoreError> {
        operate!(self, self.inner.get(key))
    }
    fn put(&self, key: &str, text: Option<&str>) -> Result<(), StoreError> {
        operate!(self, self.inner.put(key, text))
    }
    fn keys(&self) -> Result<Vec<String>, StoreError> {
        operate!(self, self.inner.keys())
    }
}
