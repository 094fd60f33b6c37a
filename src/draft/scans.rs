//! Lots that were scanned. What the reader sent is kept as it came; lot and expiry become the texts of their fields,
//! and from then on are what a person could have typed.

use super::{Draft, Field};
use crate::finding::LotOf;
use crate::quantity::time::{Instant, Offset};
use crate::scan::{self, Elements, ScanError};
use serde::{Deserialize, Serialize};

/// A bar code that lot and expiry were read from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scan {
    /// Of what.
    pub of: LotOf,
    /// As the reader sent it.
    pub text: String,
    /// When.
    pub at: Instant,
    /// Lot and expiry that stood there before.
    pub was: [String; 2],
    /// Taken back by whoever scanned it; it stays in the record.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub taken_back: bool,
}

impl LotOf {
    /// Both.
    pub const ALL: [LotOf; 2] = [LotOf::Anticoagulant, LotOf::Containers];

    /// Where its lot is entered.
    pub fn lot(self) -> Field {
        let [lot, _] = self.fields();
        lot
    }

    /// Where its lot and its expiry are entered.
    pub fn fields(self) -> [Field; 2] {
        match self {
            LotOf::Anticoagulant => [Field::AnticoagulantLot, Field::AnticoagulantExpiry],
            LotOf::Containers => [Field::ContainerLot, Field::ContainerExpiry],
        }
    }

    /// What a lot is entered of; `None` where the field is of no lot.
    pub fn of_lot(field: Field) -> Option<Self> {
        Self::ALL.into_iter().find(|of| of.lot() == field)
    }
}

impl Draft {
    /// Reads a text as a bar code on the day of `at`. `None` where it is an ordinary lot. Errors: why it was refused.
    fn read_code(&self, text: &str, at: Instant) -> Result<Option<Elements>, ScanError> {
        match at.local(self.offset.unwrap_or(Offset::UTC)) {
            Some((today, _)) => scan::read(text, today),
            None => Ok(None),
        }
    }

    /// A text came into the field of a lot. If it is a bar code, lot and expiry become those of the code and what it
    /// does not name is emptied: it was of another lot. Two codes of one label add up. Returns whether it was one.
    /// Errors: why the code was refused; nothing is changed.
    pub fn scan(&mut self, of: LotOf, text: &str, at: Instant) -> Result<bool, ScanError> {
        if self.read_code(text, at)?.is_none() {
            return Ok(false);
        }
        let was = of.fields().map(|field| self.text(field).to_owned());
        self.scans.push(Scan { of, text: text.trim().to_owned(), at, was, taken_back: false });
        let read = self.last_code(of).unwrap_or_default();
        let expiry = read.expiry.map(|day| day.to_string());
        let texts = [read.lot, expiry].map(Option::unwrap_or_default);
        for (field, text) in of.fields().into_iter().zip(texts) {
            self.write(field, text);
        }
        Ok(true)
    }

    /// What was last scanned, if the lot entered is the one of the code. One typed by hand instead is not.
    pub fn scanned(&self, of: LotOf) -> Option<Elements> {
        self.last_code(of)
            .filter(|read| read.lot.as_deref().unwrap_or_default() == self.text(of.lot()).trim())
    }

    /// Why the text that stands as a lot is a code that was refused; `None` where it is a lot.
    pub fn refused_code(&self, of: LotOf) -> Option<ScanError> {
        self.read_code(self.text(of.lot()), self.begun).err()
    }

    /// Takes the last code back: what stood there before stands there again.
    pub fn take_back_scan(&mut self, of: LotOf) {
        let Some(scan) = self.scans.iter_mut().rev().find(|s| s.of == of && !s.taken_back) else { return };
        scan.taken_back = true;
        for (field, text) in of.fields().into_iter().zip(scan.was.clone()) {
            self.write(field, text);
        }
    }

    fn last_code(&self, of: LotOf) -> Option<Elements> {
        let mut all: Option<Elements> = None;
        for scan in self.scans.iter().filter(|s| s.of == of && !s.taken_back) {
            let Ok(Some(read)) = self.read_code(&scan.text, scan.at) else { continue };
            let [lot, _] = &scan.was;
            let label = all.filter(|before| before.lot.as_deref().unwrap_or_default() == lot.trim());
            all = label.and_then(|before| before.join(&read)).or(Some(read));
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::unit::Conventions;
    use crate::scan::Gtin;

    /// 12 March 2026, 14:24 UTC.
    const AT: Instant = Instant(1_773_325_440_000);
    const CONTAINERS: LotOf = LotOf::Containers;
    const PRODUCT: &str = "06291041500213";

    fn draft() -> Draft {
        Draft::new("d".into(), CheckSign::pick(0, &[]), AT, Conventions::default())
    }

    fn lot(d: &Draft) -> [&str; 2] {
        CONTAINERS.fields().map(|field| d.text(field))
    }

    #[test]
    fn a_code_fills_lot_and_expiry_and_is_kept_as_it_came() {
        let mut d = draft();
        d.write(Field::ContainerLot, "K-0044");
        d.write(Field::ContainerExpiry, "Jan 2026");
        let code = format!("]d201{PRODUCT}17270300210007\u{1d}10K-0058");
        assert_eq!(d.scan(CONTAINERS, &code, AT), Ok(true));
        assert_eq!(lot(&d), ["K-0058", "2027-03-31"]);
        let back = Draft::from_json(&d.to_json()).unwrap();
        assert_eq!((&back, back.scans[0].text.as_str()), (&d, code.as_str()));
        assert_eq!(d.scanned(CONTAINERS).unwrap().serial.as_deref(), Some("0007"));
        assert_eq!(d.scanned(LotOf::Anticoagulant), None);
        // The expiry is read like one that was typed.
        let (case, _) = crate::case::read(&d, crate::words::Language::English);
        let expiry = crate::quantity::time::Date::new(2027, 3, 31).unwrap();
        assert_eq!(case.draw.container_expiry, crate::case::Expiry::Last(expiry));
        assert_eq!(case.draw.container_product, Gtin::read(PRODUCT));
        d.take_back_scan(CONTAINERS);
        assert_eq!((lot(&d), d.scans.len()), (["K-0044", "Jan 2026"], 1));
        assert_eq!(d.scanned(CONTAINERS), None);
        d.take_back_scan(CONTAINERS);
        assert_eq!(lot(&d), ["K-0044", "Jan 2026"], "nothing is left to take back");
    }

    #[test]
    fn a_reader_types_like_a_person() {
        let mut d = draft();
        d.type_in(Field::ContainerLot, "(17)270331(10)K-0058", AT, None);
        assert_eq!(lot(&d), ["K-0058", "2027-03-31"]);
        // Refused, it stands as it came; elsewhere it is a text like any other.
        d.type_in(Field::ContainerLot, "(17)271331(10)K-0059", AT, None);
        assert_eq!((lot(&d), d.scans.len()), (["(17)271331(10)K-0059", "2027-03-31"], 1));
        assert_eq!(d.refused_code(CONTAINERS), Some(ScanError::NoDate { ai: "17".to_owned() }));
        d.type_in(Field::Notes, "(17)270331(10)K-0058", AT, None);
        assert_eq!((d.text(Field::Notes), d.scans.len()), ("(17)270331(10)K-0058", 1));
    }

    #[test]
    fn what_is_no_code_and_what_is_refused_changes_nothing() {
        let mut d = draft();
        d.write(Field::ContainerExpiry, "Jan 2027");
        let before = d.clone();
        assert_eq!(d.scan(CONTAINERS, "K-0058", AT), Ok(false));
        assert_eq!(d.scan(CONTAINERS, "]C10106291041500214", AT), Err(ScanError::CheckDigit));
        assert_eq!(d, before);
        assert!(!d.to_json().contains("scans"));
    }

    #[test]
    fn two_codes_of_one_label_add_up_and_those_of_two_do_not() {
        let mut d = draft();
        d.scan(CONTAINERS, &format!("01{PRODUCT}"), AT).unwrap();
        d.scan(CONTAINERS, "1727033110K-0058", AT).unwrap();
        let read = d.scanned(CONTAINERS).unwrap();
        assert_eq!((read.product, read.lot.as_deref()), (Gtin::read(PRODUCT), Some("K-0058")));
        // Another box, scanned without its product number: nothing says that it is the same product.
        d.scan(CONTAINERS, "1727063010K-0059", AT).unwrap();
        assert_eq!((lot(&d), d.scanned(CONTAINERS).unwrap().product), (["K-0059", "2027-06-30"], None));
        // A code without an expiry leaves none of another lot behind.
        d.scan(CONTAINERS, "(10)K-0060", AT).unwrap();
        assert_eq!(lot(&d), ["K-0060", ""]);
        d.take_back_scan(CONTAINERS);
        assert_eq!(lot(&d), ["K-0059", "2027-06-30"]);
        // Typed over by hand, a lot is no longer the one of the code.
        d.write(Field::ContainerLot, "K-0061");
        assert_eq!(d.scanned(CONTAINERS), None);
        d.scan(CONTAINERS, &format!("01{PRODUCT}"), AT).unwrap();
        assert_eq!((lot(&d), d.scanned(CONTAINERS).unwrap().expiry), (["", ""], None));
    }
}
