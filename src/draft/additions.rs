//! What is added to the product: which kind stands in a row, and a row taken out and brought back.

use super::{AdditionChoice, Draft, Field, Scan};
use crate::finding::LotOf;
use crate::log::LotEntry;
use crate::scan::same_lot;
use crate::words::Language;
use crate::words::choice::AdditionName;

/// A row of additions as it stood before it was taken out, or before its box went.
#[derive(Debug, Clone, PartialEq)]
pub struct AdditionTaken {
    row: u8,
    what: Option<AdditionChoice>,
    texts: [(Field, String); 5],
    scans: Vec<Scan>,
}

impl Draft {
    /// Whether a lot may stand in a row: there is such an addition, and it comes out of a box.
    pub fn has_addition_lot(&self, row: u8) -> bool {
        let own = self.choices.additions.get(&row) == Some(&AdditionChoice::AutologousThrombin);
        row < self.rows.additions && !own
    }

    /// Says what an addition is; `None`: nothing. What was entered of the box of another kind, or of any box where none
    /// is opened, goes; after the hand-over nothing does, for it was given from that box. Gives the row as it stood
    /// where something went.
    pub fn choose_addition(&mut self, row: u8, what: Option<AdditionChoice>) -> Option<AdditionTaken> {
        let stood = self.addition(row);
        let before = match what {
            Some(what) => self.choices.additions.insert(row, what),
            None => self.choices.additions.remove(&row),
        };
        let other = (before.is_some() && before != what) || !self.has_addition_lot(row);
        if !other || self.times.handed_over.is_some() {
            return None;
        }
        self.clear_lot(LotOf::Addition(row));
        let lost = |(field, text): &(Field, String)| !text.is_empty() && self.text(*field).is_empty();
        stood.texts.iter().any(lost).then_some(stood)
    }

    /// A row of additions as it stands, with the codes of its box.
    fn addition(&self, row: u8) -> AdditionTaken {
        let fields = [
            Field::AdditionName(row),
            Field::AdditionStrength(row),
            Field::AdditionVolume(row),
            Field::AdditionLot(row),
            Field::AdditionExpiry(row),
        ];
        let of = LotOf::Addition(row);
        AdditionTaken {
            row,
            what: self.choices.additions.get(&row).copied(),
            texts: fields.map(|field| (field, self.text(field).to_owned())),
            scans: self.scans.iter().filter(|scan| scan.of == of && !scan.taken_back).cloned().collect(),
        }
    }

    /// Takes the last addition out, with the codes of its box; `None` where there is none.
    pub fn take_addition(&mut self) -> Option<AdditionTaken> {
        let row = self.rows.additions.checked_sub(1)?;
        let taken = self.addition(row);
        self.clear_lot(LotOf::Addition(row));
        taken.texts.iter().for_each(|(field, _)| self.write(*field, ""));
        self.choices.additions.remove(&row);
        self.rows.additions = row;
        Some(taken)
    }

    /// Brings an addition back as it was, with what its codes said.
    pub fn restore_addition(&mut self, taken: &AdditionTaken) {
        self.clear_lot(LotOf::Addition(taken.row));
        self.rows.additions = self.rows.additions.max(taken.row.saturating_add(1));
        self.choices.additions.extend(taken.what.map(|what| (taken.row, what)));
        taken.texts.iter().for_each(|(field, text)| self.write(*field, text.clone()));
        for scan in &mut self.scans {
            let stood = |was: &Scan| was.of == scan.of && was.at == scan.at && was.text == scan.text;
            if taken.scans.iter().any(stood) {
                scan.taken_back = false;
            }
        }
    }

    /// Whether a lot of the list is of the addition in a row: by its name, where the case has one. `Err` where the names
    /// leave it open; whether the case has yet to say.
    pub(super) fn is_addition(&self, row: u8, lot: &LotEntry, language: Language) -> Result<bool, bool> {
        let begins = |what: AdditionChoice| {
            let kind = language.say(AdditionName(what)).to_lowercase();
            let kind = kind.split(',').next().unwrap_or_default().to_owned();
            lot.name.trim().to_lowercase().starts_with(&kind)
        };
        let typed = self.text(Field::AdditionName(row));
        match self.choices.additions.get(&row) {
            None => Err(true),
            Some(AdditionChoice::Other) if typed.trim().is_empty() => Err(true),
            Some(AdditionChoice::Other) => Ok(same_lot(typed, &lot.name)),
            Some(AdditionChoice::AutologousThrombin) => Ok(false),
            Some(own) if begins(*own) => Ok(true),
            Some(_) if AdditionChoice::ALL.into_iter().any(begins) => Ok(false),
            Some(_) => Err(false),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    /// 12 March 2026, 14:24 UTC.
    const AT: Instant = Instant(1_773_325_440_000);
    const OF: LotOf = LotOf::Addition(0);
    // Product number of a check-digit page of gs1.org.
    const CODE: &str = "(01)06291041500213(17)270331(10)AC-2291";

    fn scanned() -> Draft {
        let mut d = Draft::new("d".into(), CheckSign::pick(0, &[]), AT, Conventions::default());
        d.rows.additions = 1;
        d.choose_addition(0, Some(AdditionChoice::CalciumGluconate));
        d.scan(OF, CODE, AT).unwrap();
        d
    }

    #[test]
    fn no_lot_stands_under_another_drug_than_it_was_entered_of() {
        for what in [Some(AdditionChoice::CalciumChloride), Some(AdditionChoice::AutologousThrombin), None] {
            let mut d = scanned();
            d.choose_addition(0, what);
            assert_eq!(OF.fields().map(|field| d.text(field)), ["", ""], "{what:?}");
            assert_eq!((d.scanned(OF), d.scans.len()), (None, 1), "{what:?}");
        }
        let mut d = scanned();
        d.choose_addition(0, Some(AdditionChoice::CalciumGluconate));
        assert_eq!(d, scanned(), "the same kind again");
        // Entered before anybody said what it is of.
        let mut d = scanned();
        d.choices.additions.clear();
        d.choose_addition(0, Some(AdditionChoice::Other));
        assert_eq!(d.text(Field::AdditionLot(0)), "AC-2291");
    }

    #[test]
    fn an_addition_brought_back_has_its_codes_again() {
        let mut d = scanned();
        // One that was taken back by hand stays taken back.
        d.take_back_scan(OF);
        d.scan(OF, &CODE.replace("AC-2291", "K-0058"), Instant(AT.0 + 1)).unwrap();
        let before = d.clone();
        let taken = d.take_addition().unwrap();
        assert_eq!((d.rows.additions, d.scanned(OF), d.take_addition()), (0, None, None));
        d.restore_addition(&taken);
        assert_eq!(d, before);
        assert_eq!(d.scanned(OF).and_then(|read| read.product), crate::scan::Gtin::read("06291041500213"));
    }

    #[test]
    fn after_the_hand_over_another_kind_leaves_the_lot_that_was_given() {
        let mut d = scanned();
        d.times.handed_over = Some(AT);
        assert_eq!(d.choose_addition(0, Some(AdditionChoice::CalciumChloride)), None);
        assert_eq!(d.text(Field::AdditionLot(0)), "AC-2291");
    }

    #[test]
    fn a_lot_that_went_with_its_kind_comes_back() {
        let mut d = scanned();
        let stood = d.clone();
        let taken = d.choose_addition(0, Some(AdditionChoice::CalciumChloride)).unwrap();
        assert_eq!(d.text(Field::AdditionLot(0)), "");
        d.restore_addition(&taken);
        assert_eq!(d, stood);
        // Nothing stood there: nothing is to be brought back.
        let mut empty = scanned();
        empty.clear_lot(OF);
        assert_eq!(empty.choose_addition(0, Some(AdditionChoice::CalciumChloride)), None);
    }
}
