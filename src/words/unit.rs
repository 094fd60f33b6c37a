//! Quantities as a person reads them. Views get a written quantity here and nowhere else.
//!
//! How many figures stand:
//! - *Predicted* amounts and every dose: two significant figures ([`cells`], [`fold`], [`recovery`],
//!   [`count_predicted`]).
//! - *Counts as read*: whole from 100 ×10⁹/L up, one decimal from 10, two below, so that a count of 924 and
//!   white cells of 6.35 stand as the analyser showed them ([`count`]).
//! - *Volumes*: to 0.01 mL, finer below 0.1 mL, whole from a litre up, so that a ledger adds up as printed.
//! - What is read off an instrument: as finely as it is read (haematocrit to 0.1 %, haemoglobin to 1 g/L, speed
//!   whole, ×g whole from 10 up).
//!
//! A comparison with a limit never rounds the one onto the other: where both would read the same, see [`apart`].

use super::{Language, Phrase};
use crate::product::order::OrderedAmount;
use crate::quantity::time::{Date, Instant, Offset, Span, clock_text};
use crate::quantity::unit::{
    Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
use crate::quantity::write::{self, NO_BREAK};
use crate::quantity::{
    AcRatio, CellCount, Cells, Cv, Factor, Fold, Grams, Haematocrit, Haemoglobin, Height, Mass, Quantity,
    Radius, Rcf, Recovery, RedCount, Rpm, Seconds, Share, Strength, Temperature, Volume, VolumePerMass,
};
use crate::working::{Figure, Step};
use std::borrow::Cow;
use std::fmt;

/// A number and its unit, apart, because the number is set heavier. Displays as one, joined by a no-break space.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The number in the reader's style.
    pub number: String,
    /// The unit as printed; empty for a pure number.
    pub unit: &'static str,
}

impl Written {
    fn new(number: String, unit: &'static str) -> Self {
        Self { number, unit }
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&write::with_unit(&self.number, self.unit))
    }
}

/// A volume [mL].
pub fn volume(volume: Volume, c: &Conventions) -> Written {
    let v = volume.get();
    let decimals = if v >= 1000.0 {
        0
    } else if v < 0.1 {
        3
    } else {
        2
    };
    Written::new(write::fixed(v, decimals, c.numbers), "mL")
}

/// A small volume in microlitres, whole from 10 up [µL].
pub fn microlitres(volume: Volume, c: &Conventions) -> Written {
    let v = 1000.0 * volume.get();
    Written::new(write::fixed(v, u8::from(v < 10.0), c.numbers), "µL")
}

/// A count as it was read, of platelets or white cells, in the reader's unit.
pub fn count(count: CellCount, c: &Conventions) -> Written {
    let v = c.count.from_core(count.get());
    let decimals = if v >= 100.0 {
        0
    } else if v >= 10.0 {
        1
    } else {
        2
    };
    Written::new(write::fixed(v, decimals, c.numbers), c.count.symbol())
}

/// Red cells as they were read [10¹²/L].
pub fn red_count(count: RedCount, c: &Conventions) -> Written {
    let decimals = if count.get() < 0.1 { 4 } else { 2 };
    Written::new(write::fixed(count.get(), decimals, c.numbers), "×10¹²/L")
}

/// A predicted concentration, in the reader's unit.
pub fn count_predicted(count: CellCount, c: &Conventions) -> Written {
    Written::new(write::significant(c.count.from_core(count.get()), 2, c.numbers), c.count.symbol())
}

/// A number of platelets: drawn, in product, or a dose [×10⁹].
pub fn cells(cells: Cells, c: &Conventions) -> Written {
    Written::new(write::significant(cells.get(), 2, c.numbers), "×10⁹")
}

/// An amount ordered, in its own unit: as exact as it was ordered, to four figures.
pub fn ordered(what: OrderedAmount, value: f64, c: &Conventions) -> Written {
    let (value, unit) = match what {
        OrderedAmount::Platelets => (value, "×10⁹"),
        OrderedAmount::Concentration => (c.count.from_core(value), c.count.symbol()),
        OrderedAmount::Fold => (value, ""),
    };
    Written::new(write::significant(value, 4, c.numbers), unit)
}

/// A fold: a pure number.
pub fn fold(fold: Fold, c: &Conventions) -> Written {
    Written::new(write::significant(fold.get(), 2, c.numbers), "")
}

/// A recovery: a pure number, 1 for all.
pub fn recovery(recovery: Recovery, c: &Conventions) -> Written {
    Written::new(write::significant(recovery.get(), 2, c.numbers), "")
}

/// A haematocrit in the reader's unit. As a share of one it is a pure number, as on laboratory reports.
pub fn haematocrit(haematocrit: Haematocrit, c: &Conventions) -> Written {
    let (decimals, unit) = match c.haematocrit {
        HaematocritUnit::Ratio => (3, ""),
        HaematocritUnit::Percent => (1, "%"),
    };
    Written::new(write::fixed(c.haematocrit.from_core(haematocrit.get()), decimals, c.numbers), unit)
}

/// A haemoglobin in the reader's unit.
pub fn haemoglobin(haemoglobin: Haemoglobin, c: &Conventions) -> Written {
    let decimals = match c.haemoglobin {
        HaemoglobinUnit::GramPerLitre => 0,
        HaemoglobinUnit::GramPerDecilitre | HaemoglobinUnit::MillimolePerLitre => 1,
    };
    Written::new(
        write::fixed(c.haemoglobin.from_core(haemoglobin.get()), decimals, c.numbers),
        c.haemoglobin.symbol(),
    )
}

/// A body weight in the reader's unit.
pub fn mass(mass: Mass, c: &Conventions) -> Written {
    Written::new(write::fixed(c.mass.from_core(mass.get()), 1, c.numbers), c.mass.symbol())
}

/// A body height: 180 cm, or 5 ft 11 in.
pub fn height(height: Height, c: &Conventions) -> Written {
    match c.height {
        HeightUnit::Centimetre => Written::new(write::fixed(height.get(), 1, c.numbers), "cm"),
        HeightUnit::FeetInches => {
            // Rounded before it is split, so that 71.96 in is 6 ft and never 5 ft 12 in.
            let inches = write::round_to(c.height.from_core(height.get()), 1);
            let feet = (inches / 12.0).floor();
            let rest = write::round_to(inches - 12.0 * feet, 1);
            let feet = write::with_unit(&write::fixed(feet, 0, c.numbers), "ft");
            Written::new(format!("{feet}{NO_BREAK}{}", write::fixed(rest, 1, c.numbers)), "in")
        }
    }
}

/// Anticoagulant for each 100 mL of blood [mL]; the words around it say of what.
pub fn per_100(ratio: AcRatio, c: &Conventions) -> Written {
    Written::new(write::fixed(100.0 * ratio.get(), 1, c.numbers), "mL")
}

/// A share as a percentage, to 0.1 %.
pub fn percent(share: Share, c: &Conventions) -> Written {
    Written::new(write::fixed(100.0 * share.get(), 1, c.numbers), "%")
}

/// A factor: a pure number.
pub fn factor(factor: Factor, c: &Conventions) -> Written {
    Written::new(write::fixed(factor.get(), 2, c.numbers), "")
}

/// A strength [% w/v].
pub fn strength(strength: Strength, c: &Conventions) -> Written {
    Written::new(write::fixed(strength.get(), 2, c.numbers), "%")
}

/// A relative spread as a percentage, two figures.
pub fn cv(cv: Cv, c: &Conventions) -> Written {
    Written::new(write::significant(100.0 * cv.get(), 2, c.numbers), "%")
}

/// Blood drawn per weight [mL/kg].
pub fn volume_per_mass(value: VolumePerMass, c: &Conventions) -> Written {
    Written::new(write::fixed(value.get(), 1, c.numbers), "mL/kg")
}

/// A centrifugal force [×g].
pub fn rcf(rcf: Rcf, c: &Conventions) -> Written {
    let decimals = u8::from(rcf.get() < 10.0);
    Written::new(write::fixed(rcf.get(), decimals, c.numbers), "×g")
}

/// A speed [rpm].
pub fn rpm(rpm: Rpm, c: &Conventions) -> Written {
    Written::new(write::fixed(rpm.get(), 0, c.numbers), "rpm")
}

/// A temperature as set [°C].
pub fn temperature(temperature: Temperature, c: &Conventions) -> Written {
    Written::new(write::fixed(temperature.get(), 1, c.numbers), "°C")
}

/// A radius, in running position [mm].
pub fn radius(radius: Radius, c: &Conventions) -> Written {
    Written::new(write::fixed(radius.get(), 1, c.numbers), "mm")
}

/// A difference in weight [g].
pub fn grams(grams: Grams, c: &Conventions) -> Written {
    Written::new(write::fixed(grams.get(), if grams.get() < 1.0 { 2 } else { 1 }, c.numbers), "g")
}

/// A planned time in minutes.
pub fn minutes(time: Seconds, c: &Conventions) -> Written {
    Written::new(write::fixed(time.get() / 60.0, 1, c.numbers), "min")
}

/// Time that has passed or is left: 2 h 38 min, 9 min; below a minute 40 s. Cut down to the whole, so that no
/// more is promised than is left.
pub fn span(span: Span, c: &Conventions) -> String {
    let style = c.numbers;
    let seconds = span.0.unsigned_abs() / 1000;
    let whole = |n: u64, unit: &str| write::with_unit(&write::integer(n, style), unit);
    match (seconds / 3600, seconds / 60 % 60) {
        (0, 0) => whole(seconds, "s"),
        (0, m) => whole(m, "min"),
        (h, 0) => whole(h, "h"),
        (h, m) => format!("{}{NO_BREAK}{}", whole(h, "h"), whole(m, "min")),
    }
}

/// Hours and minutes on the 24-hour clock: 14:24.
pub fn clock(at: Instant, offset: Offset) -> String {
    clock_text(at, offset)
}

/// A day, its month as a word: 12 Mar 2026.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Day(pub Date);

impl Phrase for Day {
    fn english(&self) -> Cow<'static, str> {
        let at = usize::from(self.0.month()).wrapping_sub(1);
        let month = Language::English.months().get(at).copied().unwrap_or_default();
        Cow::Owned(format!("{}{NO_BREAK}{month}{NO_BREAK}{}", self.0.day(), self.0.year()))
    }
}

/// The day a moment falls on; `None` outside the calendar.
pub fn date(at: Instant, offset: Offset) -> Option<Day> {
    at.local(offset).map(|(date, _)| Day(date))
}

/// The two ends of a range, without a unit: 3.6 to 5.5.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FromTo(pub Written, pub Written);

impl Phrase for FromTo {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{} to {}", self.0.number, self.1.number))
    }
}

/// A value and a limit it passed, written with as many further decimals as it takes to stand on its own side:
/// 5.004 mL/kg against 5, never 5 against 5.
pub fn apart(value: f64, limit: f64, decimals: u8, style: NumberStyle) -> (String, String) {
    let shown_limit = write::round_to(limit, decimals.saturating_add(2));
    let value = (decimals..=decimals.saturating_add(6))
        .map(|d| write::round_to(value, d))
        .find(|shown| shown.partial_cmp(&shown_limit) == value.partial_cmp(&limit))
        .unwrap_or(value);
    (write::full(value, style), write::full(shown_limit, style))
}

/// A number of a working, in its core unit: four significant figures, whole from 1000 up.
pub fn figure(figure: &Figure, c: &Conventions) -> Written {
    let number = if figure.value.abs() >= 1000.0 {
        write::fixed(figure.value, 0, c.numbers)
    } else {
        write::significant(figure.value, 4, c.numbers)
    };
    Written::new(number, figure.unit)
}

/// The right-hand side of a working's line with its numbers put in, without units. A line without places for
/// its numbers names the sign that stands between them.
pub fn substituted(step: &Step, c: &Conventions) -> String {
    let numbers: Vec<String> = step.numbers.iter().map(|n| figure(n, c).number).collect();
    if !step.substituted.contains("{}") {
        let sign = step.substituted;
        return if numbers.is_empty() { sign.to_owned() } else { numbers.join(&format!(" {sign} ")) };
    }
    let mut numbers = numbers.into_iter();
    let mut out = String::new();
    for (i, piece) in step.substituted.split("{}").enumerate() {
        if i > 0 {
            out.push_str(&numbers.next().unwrap_or_default());
        }
        out.push_str(piece);
    }
    out
}

/// A unit with its name, for the settings.
macro_rules! unit_names {
    ($($unit:ident { $($variant:ident => $english:literal,)* })*) => {$(
        impl Phrase for $unit {
            fn english(&self) -> Cow<'static, str> {
                Cow::Borrowed(match self { $($unit::$variant => $english),* })
            }
        }
    )*};
}

unit_names! {
    CountUnit {
        PerLitre => "×10⁹/L",
        PerMicrolitre => "×10³/µL",
    }
    HaematocritUnit {
        Percent => "per cent",
        Ratio => "share of one",
    }
    HaemoglobinUnit {
        GramPerDecilitre => "g/dL",
        GramPerLitre => "g/L",
        MillimolePerLitre => "mmol/L",
    }
    MassUnit {
        Kilogram => "kilograms",
        Pound => "pounds",
    }
    HeightUnit {
        Centimetre => "centimetres",
        FeetInches => "feet and inches",
    }
    NumberStyle {
        Point => "decimal point",
        Comma => "decimal comma",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c() -> Conventions {
        Conventions::default()
    }

    fn v(x: f64) -> String {
        volume(Volume::new(x).unwrap(), &c()).to_string()
    }

    fn n(x: f64) -> String {
        count(CellCount::new(x).unwrap(), &c()).to_string()
    }

    #[test]
    fn numbers_and_units() {
        for (got, want) in [
            (v(4.0), "4 mL"),
            (v(0.5), "0.5 mL"),
            (v(1.9565), "1.96 mL"),
            (v(0.0125), "0.013 mL"),
            (v(0.1), "0.1 mL"),
            (v(4871.4), "4871 mL"),
            (n(924.4), "924 ×10⁹/L"),
            (n(46.24), "46.2 ×10⁹/L"),
            (n(6.35), "6.35 ×10⁹/L"),
            (count_predicted(CellCount::new(967.0).unwrap(), &c()).to_string(), "970 ×10⁹/L"),
            (cells(Cells::new(3.849).unwrap(), &c()).to_string(), "3.8 ×10⁹"),
            (cells(Cells::new(0.918).unwrap(), &c()).to_string(), "0.92 ×10⁹"),
            (fold(Fold::new(4.5).unwrap(), &c()).to_string(), "4.5"),
            (recovery(Recovery::new(0.7).unwrap(), &c()).to_string(), "0.7"),
            (haematocrit(Haematocrit::new(0.42).unwrap(), &c()).to_string(), "0.42"),
            (haemoglobin(Haemoglobin::new(14.3).unwrap(), &c()).to_string(), "143 g/L"),
            (mass(Mass::new(81.0).unwrap(), &c()).to_string(), "81 kg"),
            (height(Height::new(180.0).unwrap(), &c()).to_string(), "180 cm"),
            (per_100(AcRatio::new(2.0 / 13.0).unwrap(), &c()).to_string(), "15.4 mL"),
            (rcf(Rcf::new(180.3).unwrap(), &c()).to_string(), "180 ×g"),
            (rcf(Rcf::new(4.26).unwrap(), &c()).to_string(), "4.3 ×g"),
            (rpm(Rpm::new(1019.4).unwrap(), &c()).to_string(), "1019 rpm"),
            (minutes(Seconds::new(630.0).unwrap(), &c()).to_string(), "10.5 min"),
        ] {
            assert_eq!(got.replace(NO_BREAK, " "), want);
            assert!(!got.contains(' '), "breaks: {got}");
        }
    }

    #[test]
    fn the_readers_units() {
        let us = Conventions {
            numbers: NumberStyle::Comma,
            count: CountUnit::PerMicrolitre,
            haematocrit: HaematocritUnit::Percent,
            haemoglobin: HaemoglobinUnit::GramPerDecilitre,
            mass: MassUnit::Pound,
            height: HeightUnit::FeetInches,
        };
        let tall = |cm: f64| height(Height::new(cm).unwrap(), &us).to_string();
        for (got, want) in [
            (haematocrit(Haematocrit::new(0.423).unwrap(), &us).to_string(), "42,3 %"),
            (haemoglobin(Haemoglobin::new(14.3).unwrap(), &us).to_string(), "14,3 g/dL"),
            (mass(Mass::new(81.646_626_6).unwrap(), &us).to_string(), "180 lb"),
            (count(CellCount::new(210.0).unwrap(), &us).to_string(), "210 ×10³/µL"),
            (tall(180.34), "5 ft 11 in"),
            (tall(182.87), "6 ft 0 in"),
            (tall(181.61), "5 ft 11,5 in"),
        ] {
            assert_eq!(got.replace(NO_BREAK, " "), want);
        }
    }

    #[test]
    fn times_and_days() {
        let at = Instant::of_local(
            Date::new(2026, 3, 12).unwrap(),
            crate::quantity::time::TimeOfDay::new(14, 24, 0).unwrap(),
            Offset::UTC,
        );
        assert_eq!(clock(at, Offset::UTC), "14:24");
        let day = date(at, Offset::UTC).unwrap().english().replace(NO_BREAK, " ");
        assert_eq!(day, "12 Mar 2026");
        for (ms, want) in [
            (9_480_000, "2 h 38 min"),
            (40_000, "40 s"),
            (599_999, "9 min"),
            (7_200_000, "2 h"),
            (-60_000, "1 min"),
        ] {
            assert_eq!(span(Span(ms), &c()).replace(NO_BREAK, " "), want);
        }
    }

    #[test]
    fn a_limit_passed_by_little_reads_as_passed() {
        assert_eq!(apart(5.004, 5.0, 1, NumberStyle::Point), ("5.004".to_owned(), "5".to_owned()));
        assert_eq!(apart(5.31, 5.0, 1, NumberStyle::Point), ("5.3".to_owned(), "5".to_owned()));
        assert_eq!(apart(7.6, 7.5, 1, NumberStyle::Comma), ("7,6".to_owned(), "7,5".to_owned()));
        // Rounded to one decimal it would stand above the limit it lies below.
        assert_eq!(apart(5.36, 5.38, 1, NumberStyle::Point), ("5.36".to_owned(), "5.38".to_owned()));
    }

    #[test]
    fn a_working_is_written_with_the_readers_mark() {
        let step = Step {
            what: crate::working::StepName::AnticoagulantExact,
            formula: "A = F·a/(1+a)",
            substituted: "{}·{}/(1+{})",
            numbers: vec![Figure { value: 15.0, unit: "mL" }, Figure::pure(0.15), Figure::pure(0.15)],
            result: Figure { value: 1.956_521_7, unit: "mL" },
        };
        let comma = Conventions { numbers: NumberStyle::Comma, ..c() };
        assert_eq!(substituted(&step, &comma), "15·0,15/(1+0,15)");
        assert_eq!(figure(&step.result, &comma).number, "1,957");
        let sum = Step { substituted: "+", numbers: vec![Figure::pure(13.0), Figure::pure(9.0)], ..step };
        assert_eq!(substituted(&sum, &c()), "13 + 9");
    }
}
