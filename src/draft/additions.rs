//! What is added to the product: which kind stands in a row, and a row taken out and brought back.

use super::{AdditionChoice, Draft, Field, Scan};
use crate::finding::LotOf;
use crate::log::LotEntry;
use crate::scan::same_lot;
use crate::words::Language;
use crate::words::choice::AdditionName;

/// What went of a row of additions, when it was taken out or its box went.
#[derive(Debug, Clone, PartialEq)]
pub struct AdditionTaken {
    row: u8,
    what: Option<AdditionChoice>,
    /// What was then said of it instead.
    left: Option<AdditionChoice>,
    texts: Vec<(Field, String)>,
    scans: Vec<Scan>,
}

impl Draft {
    /// Whether a lot may stand in a row: there is such an addition, and it comes out of a box.
    pub fn has_addition_lot(&self, row: u8) -> bool {
        let own = self.choices.additions.get(&row) == Some(&AdditionChoice::AutologousThrombin);
        row < self.rows.additions && !own
    }

    /// Says what an addition is; `None`: nothing. What was entered of the box of another kind, or of any box where none
    /// is opened, goes; after the hand-over nothing does, for it was given from that box. Gives what went, where
    /// something did.
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
        let taken = self.gone(stood);
        (!taken.texts.is_empty()).then_some(taken)
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
            left: None,
            texts: fields.map(|field| (field, self.text(field).to_owned())).into(),
            scans: self.scans.iter().filter(|scan| scan.of == of && !scan.taken_back).cloned().collect(),
        }
    }

    /// Of a row as it stood, what is gone by now.
    fn gone(&self, mut stood: AdditionTaken) -> AdditionTaken {
        stood.left = self.choices.additions.get(&stood.row).copied();
        stood.texts.retain(|(field, text)| !text.is_empty() && self.text(*field).is_empty());
        stood
    }

    /// Takes the last addition out, with the codes of its box; `None` where there is none.
    pub fn take_addition(&mut self) -> Option<AdditionTaken> {
        let row = self.rows.additions.checked_sub(1)?;
        let stood = self.addition(row);
        self.clear_lot(LotOf::Addition(row));
        stood.texts.iter().for_each(|(field, _)| self.write(*field, ""));
        self.choices.additions.remove(&row);
        self.rows.additions = row;
        Some(self.gone(stood))
    }

    /// Brings back what went, where nothing stands by now; a box with what its codes said. What was said or typed since
    /// stays: under another kind nothing of this one comes back, and a box that was entered since keeps its kind.
    pub fn restore_addition(&mut self, taken: &AdditionTaken) {
        let of = LotOf::Addition(taken.row);
        let no_box = of.fields().into_iter().all(|field| self.text(field).trim().is_empty());
        let now = self.choices.additions.get(&taken.row).copied();
        if now != taken.what && (now != taken.left || !no_box) {
            return;
        }
        self.rows.additions = self.rows.additions.max(taken.row.saturating_add(1));
        self.choices.additions.remove(&taken.row);
        self.choices.additions.extend(taken.what.map(|what| (taken.row, what)));
        let of_box = |field: Field| of.fields().contains(&field);
        for (field, text) in &taken.texts {
            // Lot and expiry are of one box.
            let free = if of_box(*field) { no_box } else { self.text(*field).trim().is_empty() };
            if free {
                self.write(*field, text.clone());
            }
        }
        let boxed = !taken.scans.is_empty() || taken.texts.iter().any(|(field, _)| of_box(*field));
        for scan in self.scans.iter_mut().filter(|scan| scan.of == of && no_box && boxed) {
            scan.taken_back = !taken.scans.iter().any(|was| was.at == scan.at && was.text == scan.text);
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
        // Entered before anybody said what it is of, it is of nothing again, and not of what has no box.
        let mut unsaid = scanned();
        unsaid.choices.additions.clear();
        let stood = unsaid.clone();
        let taken = unsaid.choose_addition(0, Some(AdditionChoice::AutologousThrombin)).unwrap();
        unsaid.restore_addition(&taken);
        assert_eq!(unsaid, stood);
    }

    #[test]
    fn what_was_typed_of_a_row_since_is_not_written_over() {
        let texts = |d: &Draft| {
            let fields = [Field::AdditionStrength(0), Field::AdditionVolume(0), Field::AdditionLot(0)];
            fields.map(|field| d.text(field).to_owned())
        };
        let mut stood = scanned();
        stood.write(Field::AdditionStrength(0), "10");
        stood.write(Field::AdditionVolume(0), "0.5");
        // Another kind, and its strength corrected: the kind and its box come back, the strength stays.
        let mut d = stood.clone();
        let taken = d.choose_addition(0, Some(AdditionChoice::CalciumChloride)).unwrap();
        d.write(Field::AdditionStrength(0), "5");
        d.write(Field::AdditionVolume(0), "");
        let mut typed = d.clone();
        d.restore_addition(&taken);
        assert_eq!(texts(&d), ["5", "", "AC-2291"], "the volume did not go with the kind");
        assert_eq!(d.choices.additions.get(&0), Some(&AdditionChoice::CalciumGluconate));
        // A box entered under that other kind is of it: both stay.
        typed.write(Field::AdditionLot(0), "CC-0009");
        let before = typed.clone();
        typed.restore_addition(&taken);
        assert_eq!(typed, before);
        // Taken out, and begun again: what stands in the new row stays, and under another kind all of it.
        let mut d = stood.clone();
        let taken = d.take_addition().unwrap();
        d.rows.additions = 1;
        d.write(Field::AdditionStrength(0), "5");
        let mut other = d.clone();
        d.restore_addition(&taken);
        assert_eq!(texts(&d), ["5", "0.5", "AC-2291"]);
        assert_eq!(d.scanned(OF), stood.scanned(OF));
        other.choose_addition(0, Some(AdditionChoice::CalciumChloride));
        let before = other.clone();
        other.restore_addition(&taken);
        assert_eq!(other, before);
        // A box that was scanned since is not mixed with the one that went.
        let mut d = stood.clone();
        let taken = d.take_addition().unwrap();
        d.rows.additions = 1;
        d.choose_addition(0, Some(AdditionChoice::CalciumGluconate));
        d.scan(OF, "(10)K-0060", Instant(AT.0 + 1)).unwrap();
        d.restore_addition(&taken);
        assert_eq!(texts(&d), ["10", "0.5", "K-0060"]);
        assert_eq!(d.text(Field::AdditionExpiry(0)), "");
        assert_eq!(d.scanned(OF).unwrap().lot.as_deref(), Some("K-0060"));
    }
}
