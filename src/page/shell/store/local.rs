//! localStorage. It changes one key at a time; the core's journal makes a store of it.

use super::fault;
use gloo_storage::Storage as _;
use strawline::record::journal::Cells;
use strawline::record::store::StoreError;

/// The browser's localStorage, reached once and held: reaching it again might throw.
#[derive(Debug, Clone)]
pub struct Local(web_sys::Storage);

impl Local {
    /// Reaches it. Errors: blocked, or there is none.
    pub fn reach() -> Result<Self, StoreError> {
        // gloo panics where reaching throws, so try without it first. Only its raw storage is used: its own `get`
        // and `set` read and write JSON, but a text that is none must come back as it is, to be shown to a person.
        let window = web_sys::window().ok_or(StoreError::Unreachable)?;
        let probe =
            window.local_storage().map_err(|thrown| fault(&thrown))?.ok_or(StoreError::Unreachable)?;
        probe.length().map_err(|thrown| fault(&thrown))?;
        Ok(Self(gloo_storage::LocalStorage::raw()))
    }
}

impl Cells for Local {
    fn get(&self, key: &str) -> Result<Option<String>, StoreError> {
        self.0.get_item(key).map_err(|thrown| fault(&thrown))
    }

    fn put(&self, key: &str, text: Option<&str>) -> Result<(), StoreError> {
        match text {
            Some(text) => self.0.set_item(key, text),
            None => self.0.remove_item(key),
        }
        .map_err(|thrown| fault(&thrown))
    }

    fn keys(&self) -> Result<Vec<String>, StoreError> {
        let length = self.0.length().map_err(|thrown| fault(&thrown))?;
        let keys = (0..length).filter_map(|n| self.0.key(n).transpose());
        keys.collect::<Result<_, _>>().map_err(|thrown| fault(&thrown))
    }
}
