//! A draft in other units: every text rewritten, nothing that was meant changed.

use super::{Draft, Field};
use crate::case::weight_asked;
use crate::quantity::read::{AsRead, Reading, read, spell};
use crate::quantity::unit::Conventions;

impl Draft {
    /// The same draft with its texts typed under other conventions: the [`crate::case::Case`] read from it is
    /// identical. A text stays as it is where it says the same number under both, or has a unit of its own.
    /// What could not be read, or waits for an answer, stays as typed and is read anew.
    pub fn in_conventions(&self, to: Conventions) -> Draft {
        let mut draft = self.clone();
        draft.conventions = to;
        let asked = weight_asked(self).map(|_| Field::Weight);
        let then = draft.hand_overs.iter_mut().flat_map(|h| {
            h.texts.iter_mut().chain(h.reasons.iter_mut().flat_map(|reason| &mut reason.texts))
        });
        let weighed = draft.times.stops.iter_mut().flat_map(|stop| &mut stop.weighed);
        let texts = draft.texts.iter_mut().chain(then).chain(weighed);
        for (field, text) in texts.filter(|(field, _)| Some(**field) != asked) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::MassUnit;

    #[test]
    fn a_weight_that_is_asked_about_is_not_answered_by_another_unit() {
        let pounds = Conventions { mass: MassUnit::Pound, ..Conventions::default() };
        let weight = |typed: &str| {
            let sign = CheckSign::pick(0, &[]);
            let mut d = Draft::demo("d".into(), sign, Instant(0), Conventions::default());
            d.write(Field::Height, "150");
            d.write(Field::Weight, typed);
            d.in_conventions(pounds).text(Field::Weight).replace('\u{a0}', " ")
        };
        assert_eq!(weight("75"), "75 kg");
        assert_eq!(weight("130"), "130", "57.8 kg/m²: still a question, and typed as it was");
        assert_eq!(weight("130 kg"), "130 kg", "answered");
    }
}
