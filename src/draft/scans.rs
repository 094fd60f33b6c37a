//! Lots that were scanned. What the reader sent is kept as it came; lot and expiry become the texts of their fields,
//! and from then on are what a person could have typed.

use super::{Draft, Field};
use crate::finding::LotOf;
use crate::quantity::time::{Instant, Offset};
use crate::scan::{self, Elements, Gtin, ScanError, same_lot};
use serde::{Deserialize, Serialize};

/// Most characters of a code, as many as its field takes.
const LONGEST: usize = 200;

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
    /// All.
    pub const ALL: [LotOf; 5] =
        [LotOf::Anticoagulant, LotOf::Containers, LotOf::Addition(0), LotOf::Addition(1), LotOf::Addition(2)];

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
            LotOf::Addition(row) => [Field::AdditionLot(row), Field::AdditionExpiry(row)],
        }
    }

    /// What a lot is entered of; `None` where the field is of no lot.
    pub fn of_lot(field: Field) -> Option<Self> {
        Self::ALL.into_iter().find(|of| of.lot() == field)
    }
}

/// What the codes of one lot say together, and the lot that then stood.
struct Label {
    read: Elements,
    lot: String,
    /// The last code adds to the ones before it.
    joined: bool,
}

impl Label {
    /// Whether the lot that stands is of this label. One that says nothing of a lot is of whatever lot is typed after
    /// it, until it is taken back.
    fn is_of(&self, lot: &str) -> bool {
        let of_any = self.lot.is_empty() && self.read.lot.is_none();
        of_any || same_lot(&self.lot, lot)
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

    /// Whether a text that a camera read is the code of a label and goes into the field of a lot. Anything else does not:
    /// what stands there was read by a person. One longer than the field takes is none.
    pub fn takes_code(&self, text: &str, at: Instant) -> bool {
        text.chars().count() <= LONGEST && matches!(self.read_code(text, at), Ok(Some(_)))
    }

    /// A text came into the field of a lot. If it is a bar code, lot and expiry become those of the code. What it does
    /// not name stays where it is of the same lot, and goes where it was of another lot or of the code of another
    /// product. Codes of one label add up. Returns whether it was one. Errors: why the code was refused; nothing is
    /// changed.
    pub fn scan(&mut self, of: LotOf, text: &str, at: Instant) -> Result<bool, ScanError> {
        let Some(read) = self.read_code(text, at)? else { return Ok(false) };
        let refused = self.refused_code(of).is_some();
        let was = of.fields().map(|field| self.text(field).to_owned());
        let [lot, expiry] = was.clone();
        let filled = self.codes(of).any(|(_, read)| read.expiry.is_some_and(|day| day.to_string() == expiry));
        self.scans.push(Scan { of, text: text.trim().to_owned(), at, was, taken_back: false });
        let Some(label) = self.label(of) else { return Ok(true) };
        // What a code filled in is of that code’s lot; what was typed is of the lot that was typed, or of none yet.
        let same = !refused && (lot.trim().is_empty() || same_lot(&lot, &label.lot));
        let stays = if filled { label.joined } else { same };
        let expiry = match read.expiry {
            Some(day) => day.to_string(),
            None if stays => expiry,
            None => String::new(),
        };
        for (field, text) in of.fields().into_iter().zip([label.lot, expiry]) {
            self.write(field, text);
        }
        Ok(true)
    }

    /// What was last scanned, if the lot entered is the one of the code, in small letters or large. Another one typed
    /// by hand is not.
    pub fn scanned(&self, of: LotOf) -> Option<Elements> {
        self.label(of).filter(|label| label.is_of(self.text(of.lot()))).map(|label| label.read)
    }

    /// Why the text that stands as a lot is a code that was refused; `None` where it is a lot.
    pub fn refused_code(&self, of: LotOf) -> Option<ScanError> {
        let text = self.text(of.lot());
        // A lot that a code names is one, whatever it looks like.
        let named = |read: Elements| read.lot.is_some_and(|lot| same_lot(&lot, text));
        self.read_code(text, self.begun).err().filter(|_| !self.scanned(of).is_some_and(named))
    }

    /// Whether a code was scanned where a person, a reference or a place is named.
    pub fn code_as_identifier(&self, field: Field) -> bool {
        let today = self.begun.local(self.offset.unwrap_or(Offset::UTC));
        Field::IDENTIFIERS.contains(&field)
            && today.is_some_and(|(today, _)| scan::is_code(self.text(field), today))
    }

    /// Product number that the Bench names. That of a protocol is of its own anticoagulant, and of none that is in the
    /// container when bought.
    pub fn named_product(&self, of: LotOf) -> Option<Gtin> {
        let container = self.kit.container.as_ref();
        match of {
            LotOf::Containers => container.and_then(|c| c.product_number),
            LotOf::Anticoagulant => {
                let own = |agent| self.choices.agent.is_none_or(|chosen| chosen == agent);
                let protocol = self.kit.protocol.as_ref().filter(|p| own(p.agent));
                protocol
                    .filter(|_| container.is_none_or(|c| c.prefill.is_none()))
                    .and_then(|p| p.agent_product)
            }
            LotOf::Addition(_) => None,
        }
    }

    /// Product numbers in codes that were scanned, taken back or not, which the Bench does not name; each once.
    pub fn other_products(&self, of: LotOf) -> Vec<Gtin> {
        let mut all = Vec::new();
        let Some(named) = self.named_product(of) else { return all };
        for scan in self.scans.iter().filter(|scan| scan.of == of) {
            let Ok(Some(Elements { product: Some(product), .. })) = self.read_code(&scan.text, scan.at)
            else {
                continue;
            };
            if product != named && !all.contains(&product) {
                all.push(product);
            }
        }
        all
    }

    /// A lot is typed by hand. An expiry that a code filled in is of that code’s lot and goes with it: a box in another
    /// hand may be out of date.
    pub(super) fn type_lot(&mut self, of: LotOf, text: String) {
        let [lot, expiry] = of.fields();
        let code = self.scanned(of);
        self.write(lot, text);
        let Some(code) = code.filter(|_| self.scanned(of).is_none()) else { return };
        if code.expiry.is_some_and(|day| day.to_string() == self.text(expiry)) {
            self.write(expiry, "");
        }
    }

    /// Takes the last code back: what stood there before stands there again, but for what was typed over it since.
    pub fn take_back_scan(&mut self, of: LotOf) {
        let label = self.label(of);
        let Some(scan) = self.scans.iter_mut().rev().find(|s| s.of == of && !s.taken_back) else { return };
        scan.taken_back = true;
        let [lot, expiry] = scan.was.clone();
        let Some(label) = label else { return };
        if label.is_of(self.text(of.lot())) {
            self.write(of.lot(), lot);
        }
        let [_, field] = of.fields();
        let filled = label.read.expiry.map(|day| day.to_string()).unwrap_or_default();
        if self.text(field) == filled {
            self.write(field, expiry);
        }
    }

    /// What a lot was of is no more: its codes are taken back, and lot and expiry go.
    pub fn clear_lot(&mut self, of: LotOf) {
        self.scans.iter_mut().filter(|scan| scan.of == of).for_each(|scan| scan.taken_back = true);
        of.fields().into_iter().for_each(|field| self.write(field, ""));
    }

    /// Every code that stands, oldest first.
    fn codes(&self, of: LotOf) -> impl Iterator<Item = (&Scan, Elements)> {
        let stand = self.scans.iter().filter(move |s| s.of == of && !s.taken_back);
        stand.filter_map(|scan| Some((scan, self.read_code(&scan.text, scan.at).ok()??)))
    }

    fn label(&self, of: LotOf) -> Option<Label> {
        let mut all: Option<Label> = None;
        for (scan, read) in self.codes(of) {
            let [was, _] = &scan.was;
            // Typed over by hand since, the codes before are of another lot.
            let before = all.filter(|label| label.is_of(was)).map(|label| label.read);
            let live = before.is_some();
            let of_another = before.as_ref().is_some_and(|before| before.of_another(&read));
            let same = was.trim().is_empty() || read.lot.as_ref().is_none_or(|lot| same_lot(lot, was));
            let joined = before.filter(|_| same).and_then(|before| before.join(&read));
            let lot = match &read.lot {
                Some(lot) => lot.clone(),
                // It names none: the one that stands is meant, unless that was of the other product or is none.
                None if of_another || (!live && self.read_code(was, scan.at).is_err()) => String::new(),
                None => was.clone(),
            };
            all = Some(match joined {
                Some(read) => Label { read, lot, joined: true },
                None => Label { read, lot, joined: false },
            });
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
        assert_eq!(case.draw.container_lot.code.unwrap().product, Gtin::read(PRODUCT));
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
        // Refused, it stands as it came, and the expiry of the box before goes; elsewhere it is a text like any other.
        d.type_in(Field::ContainerLot, "(17)271331(10)K-0059", AT, None);
        assert_eq!((lot(&d), d.scans.len()), (["(17)271331(10)K-0059", ""], 1));
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
    fn a_camera_takes_the_code_of_a_label_and_nothing_else() {
        let d = draft();
        assert!(d.takes_code("(17)270331(10)K-0058", AT));
        let long = format!("01{PRODUCT}10K-0058\u{1d}91{}", "A".repeat(90));
        assert!(d.takes_code(&long, AT), "{:?}", d.read_code(&long, AT));
        let longer = format!("{long}\u{1d}92{}", "A".repeat(90));
        assert!(matches!(d.read_code(&longer, AT), Ok(Some(_))) && !d.takes_code(&longer, AT));
        for other in
            ["K-0058", PRODUCT, "]E06291041500213", "https://example.org/", "(01)06291041500214(10)K"]
        {
            assert!(!d.takes_code(other, AT), "{other}");
        }
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
        // A code that names no lot is of the one that stands; the expiry was of the code before.
        assert_eq!((lot(&d), d.scanned(CONTAINERS).unwrap().expiry), (["K-0061", ""], None));
    }

    #[test]
    fn a_code_without_an_expiry_leaves_the_one_typed_of_the_same_lot() {
        const PAST: &str = "28 Feb 2026";
        let scan = |d: &mut Draft, code: &str| d.scan(CONTAINERS, code, AT).unwrap();
        let mut d = draft();
        scan(&mut d, "(10)K-0071");
        d.type_in(Field::ContainerExpiry, PAST, AT, None);
        // The second code of the same label, the first one again, its product typed in before.
        scan(&mut d, &format!("(01){PRODUCT}"));
        assert_eq!(lot(&d), ["K-0071", PAST]);
        scan(&mut d, "(10)K-0071");
        assert_eq!(
            (lot(&d), d.scanned(CONTAINERS).unwrap().product),
            (["K-0071", PAST], Gtin::read(PRODUCT))
        );
        // Lot and expiry typed by hand, or the expiry alone.
        for typed in ["k-0071", ""] {
            let mut d = draft();
            d.type_in(Field::ContainerLot, typed, AT, None);
            d.type_in(Field::ContainerExpiry, PAST, AT, None);
            scan(&mut d, &format!("(01){PRODUCT}"));
            assert_eq!(lot(&d), [typed, PAST]);
            assert_eq!(d.scanned(CONTAINERS).unwrap().product, Gtin::read(PRODUCT));
            scan(&mut d, "(10)K-0071");
            assert_eq!(lot(&d), ["K-0071", PAST]);
            assert_eq!(d.scanned(CONTAINERS).unwrap().product, Gtin::read(PRODUCT));
        }
        // That of another lot goes, however the field was emptied between.
        scan(&mut d, "(10)K-0072");
        assert_eq!(lot(&d), ["K-0072", ""]);
        scan(&mut d, "(17)270331(10)K-0073");
        d.type_in(Field::ContainerLot, "", AT, None);
        scan(&mut d, "(10)K-0074");
        assert_eq!(lot(&d), ["K-0074", ""]);
        d.type_in(Field::ContainerExpiry, PAST, AT, None);
        d.type_in(Field::ContainerLot, "(17)271331(10)K-0075", AT, None);
        scan(&mut d, &format!("(01){PRODUCT}"));
        assert_eq!(lot(&d), ["", ""], "what was refused is no lot");
    }

    #[test]
    fn what_the_code_of_another_product_filled_in_goes_with_its_lot() {
        // Product number of the check-digit page of gs1.se.
        const OTHER: &str = "07300011000017";
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), AT, Conventions::default());
        let expected = Gtin::read(PRODUCT);
        d.kit.container.as_mut().unwrap().product_number = expected;
        let mut typed = d.clone();
        d.scan(CONTAINERS, &format!("(01){OTHER}(17)270331(10)K-0071"), AT).unwrap();
        // The same lot in small letters is the same lot.
        d.type_in(Field::ContainerLot, "k-0071 ", AT, None);
        assert_eq!(d.scanned(CONTAINERS).unwrap().product, Gtin::read(OTHER));
        assert_eq!(d.text(Field::ContainerExpiry), "2027-03-31");
        let mut by_hand = d.clone();
        by_hand.type_in(Field::ContainerLot, "K-0072", AT, None);
        assert_eq!((lot(&by_hand), by_hand.scanned(CONTAINERS)), (["K-0072", ""], None));
        assert_eq!(by_hand.other_products(CONTAINERS), [Gtin::read(OTHER).unwrap()]);
        // The code of the right one, which names neither lot nor expiry.
        d.scan(CONTAINERS, &format!("(01){PRODUCT}"), AT).unwrap();
        assert_eq!((lot(&d), d.scanned(CONTAINERS).unwrap().product), (["", ""], expected));
        // What was typed stays; what a code filled in goes with its lot, also that of the right product.
        typed.scan(CONTAINERS, &format!("(01){OTHER}(10)K-0071"), AT).unwrap();
        typed.type_in(Field::ContainerExpiry, "28 Feb 2026", AT, None);
        typed.type_in(Field::ContainerLot, "K-0072", AT, None);
        assert_eq!(lot(&typed), ["K-0072", "28 Feb 2026"]);
        typed.scan(CONTAINERS, &format!("(01){PRODUCT}(17)270331(10)K-0073"), AT).unwrap();
        typed.type_in(Field::ContainerLot, "K-0074", AT, None);
        assert_eq!(lot(&typed), ["K-0074", ""]);
    }

    #[test]
    fn a_code_that_names_no_lot_is_of_the_lot_typed_after_it() {
        // Product number of the check-digit page of gs1.se.
        const OTHER: &str = "07300011000017";
        let mut d = draft();
        d.scan(CONTAINERS, &format!("(01){OTHER}"), AT).unwrap();
        d.type_in(Field::ContainerLot, "K-0099", AT, None);
        let product = |d: &Draft| d.scanned(CONTAINERS).and_then(|read| read.product);
        assert_eq!(product(&d), Gtin::read(OTHER), "nobody took the code back");
        // The code of the right box is of that box.
        let mut right = d.clone();
        right.scan(CONTAINERS, &format!("(01){PRODUCT}(10)K-0058"), AT).unwrap();
        assert_eq!((lot(&right), product(&right)), (["K-0058", ""], Gtin::read(PRODUCT)));
        d.take_back_scan(CONTAINERS);
        assert_eq!((lot(&d), product(&d)), (["", ""], None));
    }

    #[test]
    fn what_was_typed_over_a_code_stays_when_the_code_is_taken_back() {
        let mut d = draft();
        d.scan(CONTAINERS, "(10)K-0071", AT).unwrap();
        d.type_in(Field::ContainerExpiry, "28 Feb 2027", AT, None);
        d.take_back_scan(CONTAINERS);
        assert_eq!(lot(&d), ["", "28 Feb 2027"]);
        d.scan(CONTAINERS, "(17)270331(10)K-0072", AT).unwrap();
        d.type_in(Field::ContainerLot, "K-0073", AT, None);
        d.take_back_scan(CONTAINERS);
        assert_eq!(lot(&d), ["K-0073", ""]);
    }

    #[test]
    fn a_product_number_is_no_lot_unless_a_person_says_so() {
        let mut d = draft();
        d.type_in(Field::ContainerLot, "6291041500213", AT, None);
        assert_eq!(d.refused_code(CONTAINERS), Some(ScanError::ProductAlone));
        d.type_in(Field::ContainerLot, "(10)6291041500213", AT, None);
        assert_eq!((lot(&d), d.refused_code(CONTAINERS)), (["6291041500213", ""], None));
    }

    #[test]
    fn the_code_of_a_label_is_no_identifier() {
        let mut d = draft();
        for code in [format!("01{PRODUCT}1727033110K-0071"), "]C110K-0071".into(), "(10)K-0071".into()] {
            d.type_in(Field::PatientReference, code.as_str(), AT, None);
            assert!(d.code_as_identifier(Field::PatientReference), "{code}");
            assert_eq!((d.text(Field::PatientReference), d.scans.len()), (code.as_str(), 0));
            d.type_in(Field::Notes, code, AT, None);
            assert!(!d.code_as_identifier(Field::Notes));
        }
        // An identifier may be any number.
        let behind = format!("HL-041701{PRODUCT}1727033110K-0071");
        for code in ["HL-0417]C110K-0058", behind.as_str()] {
            d.type_in(Field::PatientReference, code, AT, None);
            assert!(d.code_as_identifier(Field::PatientReference), "{code}");
        }
        for own in ["HL-0417", "6291041500213", "", "12 Mar 1980", "(10) left knee"] {
            d.type_in(Field::PatientReference, own, AT, None);
            assert!(!d.code_as_identifier(Field::PatientReference), "{own}");
        }
    }
}
