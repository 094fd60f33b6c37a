//! Decimal numbers as people write them. Powers of ten and rounding are done on the digits, so that 42.3 %
//! is exactly the number 0.423 and 2.675 rounds to 2.68, which binary arithmetic gets wrong.

/// ± digits × 10^exponent. Digits are 0 to 9, without zeros at either end; none at all is zero.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::quantity) struct Decimal {
    pub negative: bool,
    pub digits: Vec<u8>,
    /// Power of ten of the last digit.
    pub exponent: i32,
}

impl Decimal {
    /// The number with these digits; anything above 9 counts as 9.
    pub fn new(negative: bool, digits: Vec<u8>, exponent: i32) -> Self {
        let mut d = Self { negative, digits, exponent };
        let zeros = d.digits.iter().take_while(|&&x| x == 0).count();
        d.digits.drain(..zeros);
        while d.digits.last() == Some(&0) {
            d.digits.pop();
            d.exponent = d.exponent.saturating_add(1);
        }
        if d.digits.is_empty() {
            d.negative = false;
            d.exponent = 0;
        }
        d
    }

    /// The shortest decimal that reads back as `value`; none if it is not finite.
    pub fn of(value: f64) -> Option<Self> {
        if !value.is_finite() {
            return None;
        }
        let text = format!("{:e}", value.abs());
        let (mantissa, exponent) = text.split_once('e')?;
        let exponent: i32 = exponent.parse().ok()?;
        let digits: Vec<u8> = mantissa.bytes().filter(u8::is_ascii_digit).map(|b| b - b'0').collect();
        let after = i32::try_from(digits.len()).ok()?.saturating_sub(1);
        Some(Self::new(value < 0.0, digits, exponent.saturating_sub(after)))
    }

    /// The nearest floating-point number; infinite if there is none.
    pub fn value(&self) -> f64 {
        let digits: String = self.digits.iter().map(|&d| char::from(b'0' + d.min(9))).collect();
        let text = format!("{}0{digits}e{}", if self.negative { "-" } else { "" }, self.exponent);
        text.parse().unwrap_or(f64::NAN)
    }

    /// The same digits, `places` powers of ten higher.
    pub fn shift(mut self, places: i32) -> Self {
        if !self.digits.is_empty() {
            self.exponent = self.exponent.saturating_add(places);
        }
        self
    }

    /// The exact product.
    pub fn times(&self, factor: u32) -> Self {
        let mut out = Vec::with_capacity(self.digits.len() + 10);
        let mut carry: u64 = 0;
        for &d in self.digits.iter().rev() {
            let x = u64::from(d) * u64::from(factor) + carry;
            out.push(x % 10);
            carry = x / 10;
        }
        while carry > 0 {
            out.push(carry % 10);
            carry /= 10;
        }
        let digits = out.iter().rev().map(|&x| u8::try_from(x).unwrap_or(9)).collect();
        Self::new(self.negative, digits, self.exponent)
    }

    /// Power of ten of the first digit; 0 for zero.
    pub fn lead(&self) -> i32 {
        let len = i32::try_from(self.digits.len()).unwrap_or(i32::MAX);
        self.exponent.saturating_add(len).saturating_sub(1).max(if len == 0 { 0 } else { i32::MIN })
    }

    /// Rounded so that 10^place is the last place; a half goes away from zero.
    pub fn round_at(&self, place: i32) -> Self {
        let drop = i64::from(place) - i64::from(self.exponent);
        let Ok(drop) = usize::try_from(drop) else { return self.clone() };
        let Some(keep) = self.digits.len().checked_sub(drop) else {
            return Self::new(false, Vec::new(), 0);
        };
        let up = self.digits.get(keep).is_some_and(|&d| d >= 5);
        let mut digits = self.digits.clone();
        digits.truncate(keep);
        if up {
            let nines = digits.iter().rev().take_while(|&&d| d == 9).count();
            let len = digits.len();
            digits.iter_mut().skip(len - nines).for_each(|d| *d = 0);
            match len.checked_sub(nines + 1).and_then(|i| digits.get_mut(i)) {
                Some(d) => *d += 1,
                None => digits.insert(0, 1),
            }
        }
        Self::new(self.negative, digits, place)
    }

    /// Digits before and after the decimal mark, without sign, grouping or mark.
    pub fn parts(&self) -> (String, String) {
        let digits: String = self.digits.iter().map(|&d| char::from(b'0' + d.min(9))).collect();
        if self.exponent >= 0 {
            let zeros = usize::try_from(self.exponent).unwrap_or(0).min(400);
            let whole = format!("{digits}{}", "0".repeat(zeros));
            return (if digits.is_empty() { "0".into() } else { whole }, String::new());
        }
        let places = usize::try_from(self.exponent.unsigned_abs()).unwrap_or(0);
        match digits.len().checked_sub(places) {
            Some(at) if at > 0 => {
                let (whole, rest) = digits.split_at(at);
                (whole.into(), rest.into())
            }
            _ => {
                let zeros = places.saturating_sub(digits.len()).min(400);
                ("0".into(), format!("{}{digits}", "0".repeat(zeros)))
            }
        }
    }
}

/// How a typed number becomes the core unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::quantity) enum Scale {
    /// × times × 10^shift, exact in decimal and rounded once.
    Exact { times: u32, shift: i32 },
    /// × 10^shift, divided by this whole number.
    Per { per: u32, shift: i32 },
}

impl Scale {
    pub const ONE: Self = Self::tens(0);

    pub const fn tens(shift: i32) -> Self {
        Self::Exact { times: 1, shift }
    }

    /// The typed number in the core unit.
    pub fn to_core(self, typed: &Decimal) -> f64 {
        match self {
            Self::Exact { times, shift } => typed.times(times).shift(shift).value(),
            Self::Per { per, shift } => typed.clone().shift(shift).value() / f64::from(per.max(1)),
        }
    }

    /// The core value in this unit. Exact for powers of ten, else to the last bit or so.
    pub fn undo(self, core: f64) -> f64 {
        let Some(d) = Decimal::of(core) else { return core };
        match self {
            Self::Exact { times: 1, shift } => d.shift(shift.saturating_neg()).value(),
            Self::Exact { times, shift } => d.shift(shift.saturating_neg()).value() / f64::from(times.max(1)),
            Self::Per { per, shift } => d.times(per).shift(shift.saturating_neg()).value(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_the_decimal_and_not_the_binary() {
        for (x, place, want) in [
            (2.675, -2, 2.68),
            (1.005, -2, 1.01),
            (0.05, -1, 0.1),
            (0.04, -1, 0.0),
            (9.99, -1, 10.0),
            (-2.5, 0, -3.0),
            (999.5, 0, 1000.0),
            (1234.0, 2, 1200.0),
            (5.0, 1, 10.0),
            (4.0, 1, 0.0),
            (4.0, 3, 0.0),
            (1e-300, -2, 0.0),
        ] {
            assert_eq!(Decimal::of(x).unwrap().round_at(place).value(), want, "{x} at {place}");
        }
    }

    #[test]
    fn parts_are_positional() {
        for (x, whole, rest) in [
            (0.0, "0", ""),
            (12.5, "12", "5"),
            (0.004, "0", "004"),
            (1200.0, "1200", ""),
            (0.423, "0", "423"),
        ] {
            assert_eq!(Decimal::of(x).unwrap().parts(), (whole.into(), rest.into()));
        }
    }

    #[test]
    fn products_are_exact() {
        let pounds = Decimal::of(154.3).unwrap().times(45_359_237).shift(-8);
        assert_eq!(pounds.parts(), ("69".into(), "989302691".into()));
        assert_eq!(Decimal::of(0.0).unwrap().times(7).value(), 0.0);
    }

    #[test]
    fn a_shift_is_the_nearest_number_where_binary_division_is_not() {
        let percent = Scale::tens(-2);
        let off = (1..=1000_u32)
            .map(|n| f64::from(n) / 10.0)
            .filter(|x| percent.to_core(&Decimal::of(*x).unwrap()) != x * 0.01)
            .count();
        assert!(off > 0, "binary multiplication would have done");
        assert_eq!(percent.to_core(&Decimal::of(42.3).unwrap()), 0.423);
        assert_eq!(percent.undo(0.423), 42.3);
    }
}
