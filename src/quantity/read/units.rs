//! The units that may be typed after a number, and the spellings under which they are known.

use crate::quantity::unit::HaemoglobinUnit;
use crate::quantity::write::decimal::Scale;

/// A unit of one kind of number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unit {
    /// As printed. Its [`normal`] form is one of `names`.
    pub symbol: &'static str,
    pub scale: Scale,
    /// Spellings in [`normal`] form.
    pub names: &'static [&'static str],
}

impl Unit {
    /// Whether the number typed is one of single cells, as in 210 000 /µL.
    pub fn counts_single_cells(&self) -> bool {
        self.symbol.starts_with('/')
    }
}

const fn unit(symbol: &'static str, scale: Scale, names: &'static [&'static str]) -> Unit {
    Unit { symbol, scale, names }
}

const ONE: Scale = Scale::ONE;
const fn tens(shift: i32) -> Scale {
    Scale::tens(shift)
}
const fn inches(times: u32, shift: i32) -> Scale {
    Scale::Exact { times, shift }
}

pub(super) const NONE: Unit = unit("", ONE, &[]);
pub(super) const PERCENT: Unit = unit("%", tens(-2), &["%", "vol%", "pct"]);
pub(super) const TIMES: Unit = unit("×", ONE, &["x", "fold", "-fold"]);

pub(super) const VOLUME: &[Unit] = &[
    unit("mL", ONE, &["ml", "mls", "cc", "ccm", "cm3", "cm^3"]),
    unit("µL", tens(-3), &["ul", "mm3", "mm^3"]),
    unit("L", tens(3), &["l"]),
];

// A small k or m cannot be told from a capital one in haste, so that M/µL (mega) is not read at all.
pub(super) const COUNT: &[Unit] = &[
    unit("×10⁹/L", ONE, &["10^9/l", "g/l", "gpt/l", "10^9"]),
    unit("×10³/µL", ONE, &["10^3/ul", "1000/ul", "k/ul", "10^3/mm3", "10^3/mm^3", "10^6/ml"]),
    unit("/µL", tens(-3), &["/ul", "/mm3", "/mm^3", "/cmm"]),
    unit("×10¹²/L", tens(3), &["10^12/l", "t/l", "10^6/ul", "10^9/ml"]),
    unit("/mL", tens(-6), &["/ml"]),
    unit("/L", tens(-9), &["/l"]),
];

pub(super) const RED_COUNT: &[Unit] = &[
    unit("×10¹²/L", ONE, &["10^12/l", "t/l", "10^12"]),
    unit("×10⁶/µL", ONE, &["10^6/ul", "10^6/mm3", "10^6/mm^3"]),
    unit("×10⁹/L", tens(-3), &["10^9/l", "g/l"]),
    unit("×10³/µL", tens(-3), &["10^3/ul", "k/ul"]),
    unit("/µL", tens(-6), &["/ul", "/mm3", "/mm^3", "/cmm"]),
];

pub(super) const CELLS: &[Unit] = &[unit("×10⁹", ONE, &["10^9"]), unit("×10⁶", tens(-3), &["10^6"])];

pub(super) const SHARE: &[Unit] = &[PERCENT, unit("L/L", ONE, &["l/l"])];
pub(super) const RATIO: &[Unit] = &[PERCENT];
pub(super) const FOLD: &[Unit] = &[TIMES];

pub(super) const HAEMOGLOBIN: &[Unit] = &[
    unit("g/dL", ONE, &["g/dl", "g/100ml"]),
    unit("g/L", tens(-1), &["g/l"]),
    unit("mmol/L", HaemoglobinUnit::MillimolePerLitre.scale(), &["mmol/l"]),
];

pub(super) const MASS: &[Unit] =
    &[unit("kg", ONE, &["kg", "kgs"]), unit("lb", inches(45_359_237, -8), &["lb", "lbs"])];

pub(super) const GRAMS: &[Unit] = &[unit("g", ONE, &["g", "gram", "grams"]), unit("kg", tens(3), &["kg"])];

pub(super) const LENGTH_CM: &[Unit] = &[
    unit("cm", ONE, &["cm"]),
    unit("m", tens(2), &["m"]),
    unit("mm", tens(-1), &["mm"]),
    unit("in", inches(254, -2), &["in", "inch", "inches", "\"", "″", "”"]),
    unit("ft", inches(3048, -2), &["ft", "feet", "foot", "'", "′", "’"]),
];

pub(super) const LENGTH_MM: &[Unit] = &[
    unit("mm", ONE, &["mm"]),
    unit("cm", tens(1), &["cm"]),
    unit("m", tens(3), &["m"]),
    unit("in", inches(254, -1), &["in", "inch", "inches", "\""]),
];

pub(super) const YEARS: &[Unit] = &[unit("y", ONE, &["y", "yr", "yrs", "year", "years", "a"])];
pub(super) const SPEED: &[Unit] =
    &[unit("rpm", ONE, &["rpm", "/min", "1/min", "r/min", "u/min", "min-1", "min^-1"])];
pub(super) const CELSIUS: &[Unit] = &[unit("°C", ONE, &["°c", "c", "degc", "celsius"])];
pub(super) const RCF: &[Unit] = &[unit("×g", ONE, &["xg", "g", "*g"])];

pub(super) const TIME: &[Unit] = &[
    unit("s", ONE, &["s", "sec", "secs", "second", "seconds"]),
    unit("min", inches(60, 0), &["min", "mins", "minute", "minutes", "m"]),
    unit("h", inches(3600, 0), &["h", "hr", "hrs", "hour", "hours"]),
];

pub(super) const PER_100: &[Unit] = &[
    unit("mL/100 mL", tens(-2), &["ml/100ml", "/100ml", "/100", "ml/dl", "ml"]),
    unit("mL/mL", ONE, &["ml/ml"]),
];

/// One form for the many spellings: lower case, no spaces, µ as u, powers as 10^9, no sign before them.
pub(super) fn normal(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut raised = false;
    for c in text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase) {
        let superior = superior(c);
        if superior.is_some() && !raised {
            out.push('^');
        }
        raised = superior.is_some();
        out.push(match superior {
            Some(c) => c,
            None => match c {
                '×' => 'x',
                '·' | '∙' | '⋅' => '*',
                'µ' | 'μ' => 'u',
                '\u{2212}' | '–' => '-',
                '∕' | '⁄' => '/',
                c => c,
            },
        });
    }
    let bare = out.strip_prefix(['x', '*']).filter(|rest| rest.starts_with("10"));
    let Some(power) = bare.unwrap_or(&out).strip_prefix("10") else { return out };
    for sign in ["**", "^", "*", "e"] {
        if let Some(rest) = power.strip_prefix(sign) {
            return format!("10^{rest}");
        }
    }
    bare.map(String::from).unwrap_or(out)
}

fn superior(c: char) -> Option<char> {
    Some(match c {
        '⁰' => '0',
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        '⁴' => '4',
        '⁵' => '5',
        '⁶' => '6',
        '⁷' => '7',
        '⁸' => '8',
        '⁹' => '9',
        '⁻' => '-',
        _ => return None,
    })
}
