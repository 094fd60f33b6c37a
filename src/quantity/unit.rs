//! The units a clinic may choose to type and see. The core reckons in one unit a quantity and never in these.

use super::write::decimal::{Decimal, Scale};
use serde::{Deserialize, Serialize};

/// Which sign parts whole from fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NumberStyle {
    /// 0.5
    #[default]
    Point,
    /// 0,5
    Comma,
}

impl NumberStyle {
    /// The decimal mark.
    pub const fn mark(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident { $($(#[$each:meta])* $variant:ident $symbol:literal $scale:expr;)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$each])* $variant),* }

        impl $name {
            /// Every choice, in the order shown.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// The unit as printed.
            pub const fn symbol(self) -> &'static str {
                match self { $(Self::$variant => $symbol),* }
            }
            pub(in crate::quantity) const fn scale(self) -> Scale {
                match self { $(Self::$variant => $scale),* }
            }
            /// A number in this unit, in the core unit. What is not finite stays so.
            pub fn to_core(self, shown: f64) -> f64 {
                Decimal::of(shown).map_or(shown, |d| self.scale().to_core(&d))
            }
            /// A number in the core unit, in this unit. What is not finite stays so.
            pub fn from_core(self, core: f64) -> f64 {
                self.scale().undo(core)
            }
        }
    )*};
}

/// 10⁻⁴ mmol/L of haemoglobin monomer (one iron) in 1 g/dL: 0.6206. From memory, about 16 114 g/mol.
pub const HAEMOGLOBIN_MMOL_PER_GRAM_DL_E4: u32 = 6206;

units! {
    /// Cells per volume; the core reckons in 10⁹/L. Both give the same figure.
    CountUnit {
        /// 10⁹ per litre.
        #[default] PerLitre "×10⁹/L" Scale::ONE;
        /// 10³ per microlitre.
        PerMicrolitre "×10³/µL" Scale::ONE;
    }
    /// Red-cell share; the core reckons in L/L.
    HaematocritUnit {
        /// Hundredths.
        Percent "%" Scale::tens(-2);
        /// Litre per litre.
        #[default] Ratio "L/L" Scale::ONE;
    }
    /// Haemoglobin; the core reckons in g/dL.
    HaemoglobinUnit {
        /// Gram per decilitre.
        GramPerDecilitre "g/dL" Scale::ONE;
        /// Gram per litre.
        #[default] GramPerLitre "g/L" Scale::tens(-1);
        /// Millimole of monomer per litre, see [`HAEMOGLOBIN_MMOL_PER_GRAM_DL_E4`].
        MillimolePerLitre "mmol/L" Scale::Per { per: HAEMOGLOBIN_MMOL_PER_GRAM_DL_E4, shift: 4 };
    }
    /// Body weight; the core reckons in kg.
    MassUnit {
        /// Kilogram.
        #[default] Kilogram "kg" Scale::ONE;
        /// International pound, 0.45359237 kg by definition.
        Pound "lb" Scale::Exact { times: 45_359_237, shift: -8 };
    }
    /// Body height; the core reckons in cm.
    HeightUnit {
        /// Centimetre.
        #[default] Centimetre "cm" Scale::ONE;
        /// Feet and inches, typed as 5'11" and reckoned here in inches of 2.54 cm by definition.
        FeetInches "in" Scale::Exact { times: 254, shift: -2 };
    }
}

/// How a clinic writes numbers. Changing it changes no stored value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Conventions {
    /// Decimal mark.
    pub numbers: NumberStyle,
    /// Platelets and white cells.
    pub count: CountUnit,
    /// Haematocrit of blood and of product.
    pub haematocrit: HaematocritUnit,
    /// Haemoglobin.
    pub haemoglobin: HaemoglobinUnit,
    /// Body weight.
    pub mass: MassUnit,
    /// Body height.
    pub height: HeightUnit,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conversions() {
        for (got, want) in [
            (HaematocritUnit::Percent.to_core(42.3), 0.423),
            (HaematocritUnit::Percent.from_core(0.423), 42.3),
            (HaematocritUnit::Ratio.to_core(0.42), 0.42),
            (HaemoglobinUnit::GramPerLitre.to_core(143.0), 14.3),
            (HaemoglobinUnit::GramPerLitre.from_core(14.3), 143.0),
            (MassUnit::Pound.to_core(1.0), 0.453_592_37),
            (MassUnit::Pound.to_core(180.0), 81.646_626_6),
            (HeightUnit::FeetInches.to_core(71.0), 180.34),
            (CountUnit::PerMicrolitre.to_core(210.0), 210.0),
            (HaemoglobinUnit::GramPerDecilitre.to_core(14.3), 14.3),
        ] {
            assert_eq!(got, want);
        }
        // 14 g/dL is 8.69 mmol/L of monomer.
        assert_eq!(HaemoglobinUnit::MillimolePerLitre.from_core(14.0), 8.6884);
        assert_eq!(HaemoglobinUnit::MillimolePerLitre.to_core(8.6884), 14.0);
        assert!((MassUnit::Pound.from_core(70.0) - 154.323_583_529_414_3).abs() < 1e-12);
        assert!(MassUnit::Pound.to_core(f64::NAN).is_nan());
    }

    #[test]
    fn conventions_survive_storage_and_older_files() {
        let c = Conventions { mass: MassUnit::Pound, numbers: NumberStyle::Comma, ..Conventions::default() };
        let text = serde_json::to_string(&c).unwrap();
        assert!(text.contains("\"mass\":\"pound\""), "{text}");
        assert_eq!(serde_json::from_str::<Conventions>(&text).unwrap(), c);
        assert_eq!(serde_json::from_str::<Conventions>("{}").unwrap(), Conventions::default());
    }
}
