//! What one entry of a record changed against the one before.

use crate::arrange::gather;
use crate::draft::{Draft, Field};
use std::collections::BTreeSet;

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A typed entry; empty is "nothing typed".
    Typed {
        /// Which.
        field: Field,
        /// As it was.
        before: String,
        /// As it is.
        after: String,
    },
    /// Something in this part.
    Part(Part),
}

/// Parts of a case that are not typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Units and number style, which give typed figures their meaning.
    Conventions,
    /// Container, protocol, rotor, limits.
    Kit,
    /// What was chosen.
    Choices,
    /// When things happened.
    Times,
    /// What was confirmed.
    Checks,
    /// What went wrong.
    Troubles,
    /// What was thrown away.
    Discards,
    /// What was decided about findings.
    Decisions,
}

/// Differences in the order of [`Field`], then of [`Part`]. Stage in hand and open rows say nothing and are left
/// out; so is why something was changed before the signature, since an amendment has a reason of its own.
pub fn between(before: &Draft, after: &Draft) -> Vec<Change> {
    let fields: BTreeSet<Field> = gather(before.texts.keys().chain(after.texts.keys()).copied());
    let other = |field: &Field| before.text(*field) != after.text(*field) && *field != Field::WhyChanged;
    let typed = fields.into_iter().filter(other).map(|field| Change::Typed {
        field,
        before: before.text(field).to_owned(),
        after: after.text(field).to_owned(),
    });
    let parts = [
        (Part::Conventions, before.conventions != after.conventions),
        (Part::Kit, before.kit != after.kit),
        (Part::Choices, before.choices != after.choices),
        (Part::Times, before.times != after.times || before.corrections != after.corrections),
        (Part::Checks, looked_at(before) != looked_at(after)),
        (Part::Troubles, before.troubles != after.troubles),
        (Part::Discards, before.discards != after.discards),
        (Part::Decisions, before.decisions != after.decisions),
    ];
    typed
        .chain(parts.into_iter().filter(|(_, differs)| *differs).map(|(part, _)| Change::Part(part)))
        .collect()
}

/// What was looked at and what was found: checks, those that lapsed, codes that were scanned, lots corrected.
fn looked_at(draft: &Draft) -> impl PartialEq {
    (&draft.checks, &draft.lapsed, &draft.scans, &draft.corrected_lots)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::finding::LotOf;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    #[test]
    fn what_is_changed_after_the_signature_leaves_the_reason_before_it_alone() {
        let mut signed = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        signed.hand_over(Instant(5));
        let type_in =
            |d: &mut Draft, field, text: &str| d.edit(None, |d| d.type_in(field, text, Instant(6), None));
        type_in(&mut signed, Field::OrderVolume, "2");
        type_in(&mut signed, Field::WhyChanged, "asked again");
        let mut later = signed.clone();
        type_in(&mut later, Field::PartVolume(0), "1.5");
        let (before, after) = (signed.text(Field::PartVolume(0)).to_owned(), "1.5".to_owned());
        assert_eq!(later.text(Field::WhyChanged), "");
        assert_eq!(between(&signed, &later), [Change::Typed { field: Field::PartVolume(0), before, after }]);
    }

    #[test]
    fn a_code_that_changes_no_text_is_a_change() {
        let before = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let mut after = before.clone();
        let same = format!("(10){}", before.text(Field::ContainerLot));
        assert_eq!(after.scan(LotOf::Containers, &same, Instant(6)), Ok(true));
        assert_eq!(after.texts, before.texts);
        assert_eq!(between(&before, &after), [Change::Part(Part::Checks)]);
    }
}
