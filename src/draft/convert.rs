//! A draft in other units: every text rewritten, nothing that was meant changed.

use super::{Draft, Field};
use crate::quantity::read::{AsRead, Reading, read, spell};
use crate::quantity::unit::Conventions;

impl Draft {
    /// The same draft with its texts typed under other conventions: the [`crate::case::Case`] read from it is
    /// identical. A text stays as it is where it says the same number under both, or has a unit of its own.
    /// What could not be read, or waits for an answer, stays as typed and is read anew.
    pub fn in_conventions(&self, to: Conventions) -> Draft {
        let mut draft = self.clone();
        draft.conventions = to;
        for (field, text) in &mut draft.texts {
            rewrite(*field, text, &self.conventions, &to);
        }
        draft
    }
}

fn rewrite(field: Field, text: &mut String, from: &Conventions, to: &Conventions) {
    let Some(kind) = field.kind() else { return };
    let before = read(text, kind, from);
    let Reading::Value { value, .. } = before else { return };
    let after = read(text, kind, to);
    if after == before || after == (Reading::Value { value, as_read: AsRead::AsTyped }) {
        return;
    }
    *text = spell(value, kind, to);
}
