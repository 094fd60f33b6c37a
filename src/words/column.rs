//! Words of the picture of a spin. Every one of them is about a picture, none about what will be made.

use super::Phrase;
use super::spin::{NotCarriedWords, OverThere};
use crate::assess::column::{Knob, NoColumn, NotBeside, Shape};
use crate::quantity::unit::NumberStyle;
use crate::quantity::{Quantity, Volume, write};
use crate::spin::column::ask::{Part, Refusal};
use crate::spin::column::{TurningPoint, Unparted};
use crate::spin::programme::RatingBreach;
use std::borrow::Cow;

crate::phrases! {
    /// Headings, buttons and heads of tables.
    ColumnWord {
        Title => "Picture of the spin",
        Standing => "Picture for understanding, not a prediction",
        Standing2 => "It says nothing of dose, of whether the order is met, or of white or red cells in the product, and it recommends no speed and no time. Nothing of it enters the plan, the card or a label. Two of its numbers were fitted to published spins, of which only three independent ones tell what share of the platelets was recovered: reckoned from the other two, it showed 22 to 32 of 100 platelets too few for two of the three. It is for comparing, not for how many.",
        Outside => "Outside this picture",
        OutsideWhy => "A gel or a float moves between the layers and closes between them, at a fixed angle a cell’s path is across the tube, and a chamber or a bag has flows and walls of its own: none of that is in one column along the radius. Swirling while the speed changes, and gravity where nothing turns, are left out too.",
        Drawing => "drawing…",
        Unable => "This browser cannot draw it beside the page, and on the page it would hold up typing.",
        Speed => "Speed over time, as planned",
        SpeedRpm => "Speed, rpm",
        Minutes => "Time, min",
        Stage => "Stage",
        Minimum => "×g, minimum radius",
        Mean => "×g, mean radius",
        Maximum => "×g, maximum radius",
        Total => "∫RCF dt, ×g·min",
        ByHand => "by hand",
        AsTable => "As a table",
        Column => "The column",
        Here => "this case, as planned",
        HereRun => "this case, as run where that is entered",
        HereFilled => "this case, as filled",
        PlainTube => "drawn as a tube without gel or float",
        Beside => "beside it",
        CurveKey => "Solid line, shaded band: this case. Dashed line, dotted band: beside it.",
        Play => "Play",
        Pause => "Pause",
        Back => "One moment back",
        On => "One moment on",
        Moment => "Moment",
        Plasma => "plasma",
        Falling => "cells falling",
        Packed => "packed red cells",
        Pellet => "pellet",
        Line => "line",
        Gathers => "gathers here; how much cannot be told",
        Platelets => "platelets, times the start",
        RedShare => "red cells, share",
        Try => "What is tried",
        SecondTube => "Second spin in",
        LikeTheFirst => "a tube like the first",
        Bottom => "Bottom of the tube, in this picture only",
        AsOnRecord => "as on record",
        Another => "Another programme beside",
        NoOther => "None",
        PutTogether => "Put together here, from this case’s",
        AnotherWhat => "In the same tubes, parted at the same lines, for as many spins as both have; both columns at the same moment of each spin. It is drawn in this picture alone and kept nowhere.",
        TotalTime => "Time of the spin, min",
        TotalForce => "∫RCF dt, maximum radius, ×g·min",
        Reset => "Back to this case",
        SecondTooSmall => "This one holds less than the first spin’s line leaves above it: choose another.",
        Parted => "What the line leaves",
        TopOfCells => "Top of the cells, mm above the bottom",
        TooLow => "The cells of the second spin stand under 2\u{a0}mm where no number and no curve of their height is: lower than this picture can tell.",
        FluidAbove => "Fluid above the cells, mL",
        PlateletsAbove => "Platelets clear of the cells, % of this tube’s",
        ColumnHeight => "Height of the column, mm",
        AboveLine => "Above the line, mL",
        PlateletsAboveLine => "Platelets above the line, % of the first tube’s",
        PlateletsBelowLine => "Platelets below the line, % of the first tube’s",
        NoLine => "This protocol’s product is taken at the cells, where platelets gather in a layer thinner than this picture can part: it has no line where the protocol collects, and no shares.",
        Course => "Over time",
        Band => "Bands hold 80\u{a0}% of what is assumed of cells and fluid; what the picture leaves out is in no band. The column above is drawn with each assumption at its middle and has none.",
        BandLater => "Bands are being worked out… No share is shown without one.",
        NoBand => "A band could not be worked out: no share is shown without one.",
        Map => "First spin: other speeds and times",
        Clear => "Clear of the cells is what stands more than 2\u{a0}mm above them: platelets that gather on the cells lie in a layer thinner than this picture can part.",
        MapWhat => "Platelets clear of the cells, more than 2\u{a0}mm above them, in the first tube, in fifths of that tube’s, stronger for more; one hold, ramps left out. It is one reckoning with each assumption at its middle and has no band: where one fifth ends and the next begins may well lie elsewhere. It is no advice for a speed or a time.",
        MapTurning => "A bar at a speed holds where the picture turns to fewer platelets clear of the cells, in 80\u{a0}% of draws of everything that is assumed; one that is open at its end goes on beyond the map.",
        MapTurns => "Turns to fewer, min",
        TurningLater => "Where the picture turns to fewer platelets clear of the cells is being worked out…",
        NoTurning => "Where the picture turns to fewer platelets clear of the cells could not be worked out.",
        Turns => "turns",
        MapKey => "Platelets clear of the cells, of the first tube’s",
        MapMark => "The frame marks the programme’s one hold.",
        MapNoMark => "No place is marked: the programme is not one hold. Times are shares of all its stages together.",
        RowsMissing => "Rows that are empty cannot be drawn: their force, time or column lies outside this picture.",
        Share => "Speed, share of the programme’s highest",
        UsualCount => "The blood is not counted: adults’ mean count stands in. Shares do not follow it.",
        FirstSpin => "First spin",
        SecondSpin => "Second spin",
        NotOnRecord => "not on record",
    }
}

impl Phrase for NoColumn {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::NoProgramme => {
                "No spin programme is on record: a process that sets its own speeds is outside this picture, since what it does to the tube is not known."
            }
            Self::Spins => {
                "More than two spins are outside this picture: the third tube would rest on two pictures."
            }
            Self::NoRotor => "Choose a rotor: the pull on a cell follows from its distance from the axis.",
            Self::NoRadius => {
                "A radius is missing. A speed in rpm says nothing of the force without one, and cannot be carried to another rotor: enter the rotor’s radii in Bench."
            }
            Self::RadiiReversed => {
                "The rotor’s minimum radius is not below its maximum: correct its radii in Bench."
            }
            Self::OutOfRange => {
                "A speed or force of the programme is none that this rotor can run: correct the programme or the rotor’s radii in Bench."
            }
            Self::FixedAngle => {
                "A fixed angle is outside this picture: the cells’ path is across the tube, and they slide down its wall."
            }
            Self::Gel => {
                "A container with a gel is outside this picture: the gel moves between the layers as they form and closes between them, and what it holds back or lets pass is in no column of blood alone."
            }
            Self::Float => {
                "A container with a float is outside this picture: the float moves with the layers, narrows the tube beside it and closes between them, and none of that is in a column of blood alone."
            }
            Self::Chamber => {
                "A chamber or a bag is outside this picture: it has flows and walls of its own, and no column of blood along the radius."
            }
            Self::FlatBottom => {
                "A container with a flat bottom is taken for a chamber, and a chamber is outside this picture: it has flows and walls of its own, and no column of blood along the radius. If it is an open tube or a syringe, say so in Bench."
            }
            Self::NoFill => "Choose a container and its fill: the height of the column decides the picture.",
            Self::NoHaematocrit => {
                "Enter the blood’s haematocrit: it decides how fast the cells fall and how high they stand, and no usual one may stand in its place."
            }
        })
    }
}

impl Phrase for Refusal {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::TooHigh => {
                "The column would stand higher than 200\u{a0}mm, or than the rotor’s radius has room for: outside this picture."
            }
            Self::NothingDrawn => {
                "Nothing is left above the line of the first spin, so there is no second one."
            }
            Self::Over => "A speed that would pass a rating of rotor, bucket or container is not drawn.",
            Self::Outside => {
                "Speed, force, time or an amount lies outside this picture: up to 5000\u{a0}×g and two hours a spin, 0.5 to 400\u{a0}mL of blood."
            }
        })
    }
}

impl Phrase for Unparted {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::InDraws { unparted, draws } => {
                return Cow::Owned(format!(
                    "Where no share stands though the line drawn is clear of the cells: in {unparted} of {draws} draws of what is assumed the line lies among the cells, or in what gathers on them."
                ));
            }
            Self::Among => {
                "Where no share stands, the line lies below the top of the cells: more is taken than stands above them in this picture."
            }
            Self::Line => {
                "Where no share stands, the line lies within 2\u{a0}mm of the cells, where platelets gather in a layer thinner than this picture can part."
            }
            Self::Stirred => {
                "Where no share stands and the line is clear of the cells, the hand stirs down to about their top: how much it takes of the platelets that gather there, in a layer thinner than this picture can part, cannot be told."
            }
        })
    }
}

impl Phrase for Part {
    fn english(&self) -> Cow<'static, str> {
        match self {
            Self::Plasma => ColumnWord::Plasma,
            Self::Falling => ColumnWord::Falling,
            Self::Packed => ColumnWord::Packed,
            Self::Pellet => ColumnWord::Pellet,
        }
        .english()
    }
}

impl Phrase for Knob {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::LeftBehind => "Left behind above the cells",
            Self::Disturbed => "Stirred at the line, up and down",
            Self::Speed => "Beside: speed of the first spin",
            Self::Time => "Beside: time of the first spin",
            Self::Diameter => "Beside: inner diameter of the tube",
            Self::Haematocrit => "Beside: haematocrit of the blood",
            Self::ConeHeight => "Height of the cone",
            Self::ConeTip => "Width of its tip",
            Self::HubLength => "Length of the hub",
            Self::HubDiameter => "Inner diameter of the hub",
        })
    }
}

/// Where a knob stands, with its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnobValue(pub Knob, pub f64, pub NumberStyle);

impl Phrase for KnobValue {
    fn english(&self) -> Cow<'static, str> {
        let Self(knob, value, style) = *self;
        let with = |decimals, unit| write::with_unit(&write::fixed(value, decimals, style), unit);
        Cow::Owned(match knob {
            Knob::LeftBehind => with(1, "mL"),
            Knob::Disturbed
            | Knob::Diameter
            | Knob::ConeHeight
            | Knob::ConeTip
            | Knob::HubLength
            | Knob::HubDiameter => with(1, "mm"),
            Knob::Speed | Knob::Time => format!("×\u{a0}{}", write::fixed(value, 2, style)),
            Knob::Haematocrit => write::fixed(value, 2, style),
        })
    }
}

/// Where the first spin turns to fewer platelets clear of the cells, as a band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurningSaid(pub TurningPoint, pub NumberStyle);

impl Phrase for TurningSaid {
    fn english(&self) -> Cow<'static, str> {
        let Self(TurningPoint { ends: [low, _, high], turned, draws }, style) = *self;
        let min = |s: f64| write::fixed(s / 60.0, 0, style);
        let found = match (low, high) {
            (Some(low), Some(high)) => {
                format!(
                    "between {} and {}\u{a0}min, in 80\u{a0}% of {draws} draws of what is assumed",
                    min(low),
                    min(high)
                )
            }
            (Some(low), None) => format!(
                "from {}\u{a0}min on, or not before the first spin ends: it does in {turned} of {draws} draws of what is assumed",
                min(low)
            ),
            (None, _) => {
                format!("before the first spin ends in {turned} of {draws} draws of what is assumed")
            }
        };
        Cow::Owned(format!(
            "This picture turns to fewer platelets clear of the cells {found}. That is no advice for a time."
        ))
    }
}

/// What the case’s own column is called while its second spin is in a tube tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TriedIn<'a>(pub ColumnWord, pub &'a str);

impl Phrase for TriedIn<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{}, but the second spin in {}", self.0.english(), self.1))
    }
}

impl Phrase for Shape {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Flat => "flat",
            Self::Round => "round",
            Self::Cone => "a cone",
            Self::Hub => "the hub of a syringe",
        })
    }
}

/// Which container is drawn where they are not filled alike: its number from 0 and what is in it.
#[derive(Debug, Clone, PartialEq)]
pub struct OfContainer(pub String, pub u8, pub Volume, pub NumberStyle);

impl Phrase for OfContainer {
    fn english(&self) -> Cow<'static, str> {
        let Self(name, index, fill, style) = self;
        let fill = write::with_unit(&write::fixed(fill.get(), 1, *style), "mL");
        Cow::Owned(format!("{name}, container {}, {fill}, the fullest", u32::from(*index).saturating_add(1)))
    }
}

/// From which share of the programme’s speed on the map has no row, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapOver<'a>(pub f64, pub &'a RatingBreach, pub NumberStyle);

impl Phrase for MapOver<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Self(share, breach, style) = *self;
        let over = OverThere(breach, style).english();
        Cow::Owned(format!("Hatched from {} of the speed on: {over}.", write::fixed(share, 2, style)))
    }
}

/// The tube tried for the second spin would pass its rating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondOver<'a>(pub &'a RatingBreach, pub NumberStyle);

impl Phrase for SecondOver<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Choose another tube. This one is {}.", OverThere(self.0, self.1).english()))
    }
}

/// What a column is called while its tube has a bottom that is tried.
#[derive(Debug, Clone, PartialEq)]
pub struct TriedShape(pub String, pub Shape);

impl Phrase for TriedShape {
    fn english(&self) -> Cow<'static, str> {
        let bottom = match self.1 {
            Shape::Flat => "a flat bottom",
            Shape::Round => "a round bottom",
            Shape::Cone => "a cone at the bottom",
            Shape::Hub => "the hub of a syringe at the bottom",
        };
        Cow::Owned(format!("{}, but with {bottom}", self.0))
    }
}

/// What the column beside is called: by all that is otherwise in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BesideName<'a> {
    /// Another programme: of a protocol by its name, or one put together.
    pub programme: Option<Option<&'a str>>,
    /// Another rotor.
    pub rotor: Option<&'a str>,
    /// What is tried, and where it stands.
    pub tried: &'a [(Knob, f64)],
    /// How numbers are written.
    pub style: NumberStyle,
}

impl Phrase for BesideName<'_> {
    fn english(&self) -> Cow<'static, str> {
        let mut said = ColumnWord::Beside.english().into_owned();
        match self.programme {
            Some(Some(name)) => said.push_str(&format!(", the programme of {name}")),
            Some(None) => said.push_str(", the programme put together"),
            None => {}
        }
        if let Some(rotor) = self.rotor {
            said.push_str(&format!(", on {rotor}"));
            // Of a programme that is not the case’s, or a speed that is tried, there is none to be the same as.
            if self.programme.is_none() && self.tried.iter().all(|(knob, _)| *knob != Knob::Speed) {
                said.push_str(" with the same force");
            }
        }
        for (knob, value) in self.tried {
            let what = match knob {
                Knob::Speed => "speed of the first spin",
                Knob::Time => "time of the first spin",
                Knob::Diameter => "inner diameter",
                Knob::Haematocrit => "haematocrit",
                // Of both columns.
                _ => continue,
            };
            said.push_str(&format!(", {what} {}", KnobValue(*knob, *value, self.style).english()));
        }
        Cow::Owned(said)
    }
}

/// Which of two programmes draws more platelets off the first spin, in shares of the tube’s: ends of a band of what is
/// beside less what is here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawsMore(pub [f64; 2], pub NumberStyle);

impl Phrase for DrawsMore {
    fn english(&self) -> Cow<'static, str> {
        let Self([low, high], style) = *self;
        let of = |share: f64| write::fixed(100.0 * share.abs(), 0, style);
        let found = if low > 0.0 {
            format!("{} to {} of 100 platelets more than this case", of(low), of(high))
        } else if high < 0.0 {
            format!("{} to {} of 100 platelets fewer than this case", of(high), of(low))
        } else {
            format!(
                "between {} of 100 platelets fewer and {} more than this case: it does not tell which draws off more",
                of(low),
                of(high)
            )
        };
        Cow::Owned(format!(
            "In this picture what stands beside draws off {found}, above the first spin’s line, in 80\u{a0}% of draws of what is assumed, the same for both. That says nothing of which is better."
        ))
    }
}

/// Why nothing stands beside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotBesideWords<'a>(pub &'a NotBeside, pub NumberStyle);

impl Phrase for NotBesideWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let why = match self.0 {
            NotBeside::Carried(why) => NotCarriedWords(why).english(),
            NotBeside::Over(breach) => OverThere(breach, self.1).english(),
            NotBeside::Unfinished => {
                return Cow::Borrowed(
                    "The other programme has a stage without a speed or a time: fill it in.",
                );
            }
            NotBeside::Programme(why) => {
                return Cow::Owned(format!("The other programme is not drawn. {}", why.english()));
            }
            NotBeside::OverHere(breach) => {
                let over = OverThere(breach, self.1).english();
                return Cow::Owned(format!("The other programme is not drawn: {over}."));
            }
            NotBeside::OverTried(breach) => {
                let over = OverThere(breach, self.1).english();
                return Cow::Owned(format!("What is tried beside is not drawn: {over}."));
            }
        };
        Cow::Owned(format!("On the other rotor: {why}."))
    }
}

/// The same at a speed of the map, which goes to a time [min].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurnsAt(pub TurningPoint, pub f64, pub NumberStyle);

impl Phrase for TurnsAt {
    fn english(&self) -> Cow<'static, str> {
        let Self(TurningPoint { ends: [low, _, high], .. }, until, style) = *self;
        let min = |m: f64| write::fixed(m, 0, style);
        Cow::Owned(match (low, high) {
            (Some(low), Some(high)) => format!("{} to {}", min(low / 60.0), min(high / 60.0)),
            (Some(low), None) => format!("from {} to beyond {}", min(low / 60.0), min(until)),
            (None, _) => format!("beyond {}", min(until)),
        })
    }
}

/// In which fifth of the whole a share lies, 0 to 4.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fifth(pub u8);

impl Phrase for Fifth {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            0 => "under 1/5",
            1 => "1/5 to 2/5",
            2 => "2/5 to 3/5",
            3 => "3/5 to 4/5",
            _ => "over 4/5",
        })
    }
}

/// What a curve shows, and what its scale goes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale(pub ColumnWord, pub f64, pub NumberStyle);

impl Phrase for Scale {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{}: 0 to {}", self.0.english(), write::fixed(self.1, 1, self.2)))
    }
}

/// A number with its band, or alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithBand {
    /// The number.
    pub value: f64,
    /// What to add for the ends of its band, if that is worked out.
    pub off: Option<[f64; 2]>,
    /// Decimals.
    pub decimals: u8,
    /// How numbers are written.
    pub style: NumberStyle,
}

impl Phrase for WithBand {
    fn english(&self) -> Cow<'static, str> {
        let write = |v: f64| write::fixed(v, self.decimals, self.style);
        let alone = write(self.value);
        Cow::Owned(match self.off {
            // What hangs on nothing assumed has no band.
            Some([low, high]) if high - low > 1e-9 => {
                format!("{alone} ({} to {})", write((self.value + low).max(0.0)), write(self.value + high))
            }
            _ => alone,
        })
    }
}

/// Height of the top of the cells [mm]; `None` where it is lower than the picture can tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TopOf(pub Option<WithBand>);

impl Phrase for TopOf {
    fn english(&self) -> Cow<'static, str> {
        self.0.map_or(Cow::Borrowed("under 2"), |with| with.english())
    }
}

/// A share with its band; without one it is not shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnlyWithBand(pub WithBand);

impl Phrase for OnlyWithBand {
    fn english(&self) -> Cow<'static, str> {
        if self.0.off.is_some() { self.0.english() } else { Cow::Borrowed("…") }
    }
}

/// What a moment of the picture shows: spin, time, height of the top of the cells, what stands above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MomentLine {
    /// The second spin.
    pub second: bool,
    /// Since its programme began [min].
    pub minutes: f64,
    /// Top of the cells [mm] and what to add for the ends of its band, once that is worked out; `None` where it is lower
    /// than the picture can tell.
    pub interface: Option<(f64, Option<[f64; 2]>)>,
    /// Share of the tube’s platelets above them and what to add for the ends of its band; without a band it is not said.
    pub platelets: Option<(f64, [f64; 2])>,
    /// How numbers are written.
    pub style: NumberStyle,
}

impl Phrase for MomentLine {
    fn english(&self) -> Cow<'static, str> {
        let spin = if self.second { ColumnWord::SecondSpin } else { ColumnWord::FirstSpin }.english();
        let write = |v: f64, d: u8| write::fixed(v, d, self.style);
        let with = |(value, off)| WithBand { value, off, decimals: 1, style: self.style }.english();
        let at = self.interface.map_or_else(|| "under 2".to_owned(), |top| format!("at {}", with(top)));
        let top = format!(
            "{spin}, {}\u{a0}min: in this picture the top of the cells stands {at}\u{a0}mm",
            write(self.minutes, 1),
        );
        let Some((share, [low, high])) = self.platelets else { return Cow::Owned(top + ".") };
        let percent = |share: f64| write(100.0 * share.clamp(0.0, 1.0), 0);
        Cow::Owned(format!(
            "{top}, with {} to {}\u{a0}% of the tube’s platelets clear of it.",
            percent(share + low),
            percent(share + high)
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spin::programme::Rating;
    use crate::working::Figure;

    #[test]
    fn numbers_stand_with_units_and_bands() {
        let say = |knob, value| KnobValue(knob, value, NumberStyle::Point).english().into_owned();
        assert_eq!(say(Knob::LeftBehind, 0.5), "0.5\u{a0}mL");
        assert_eq!(say(Knob::Speed, 1.1), "×\u{a0}1.1");
        let band = WithBand { value: 50.2, off: Some([-60.0, 4.0]), decimals: 1, style: NumberStyle::Point };
        assert_eq!(band.english(), "50.2 (0 to 54.2)");
        let of = OfContainer("this case, as filled".into(), 0, Volume::constant(15.0), NumberStyle::Point);
        assert_eq!(of.english(), "this case, as filled, container 1, 15\u{a0}mL, the fullest");
        let scale = Scale(ColumnWord::Platelets, 1.6, NumberStyle::Point);
        assert_eq!(scale.english(), "platelets, times the start: 0 to 1.6");
        assert_eq!(WithBand { off: None, ..band }.english(), "50.2");
        assert_eq!(OnlyWithBand(band).english(), "50.2 (0 to 54.2)");
        assert_eq!(WithBand { off: Some([0.0; 2]), ..band }.english(), "50.2");
        assert_eq!([Some(band), None].map(|b| TopOf(b).english()), ["50.2 (0 to 54.2)", "under 2"]);
        assert_eq!(OnlyWithBand(WithBand { off: None, ..band }).english(), "…");
        assert_eq!([0, 2, 4].map(|f| Fifth(f).english()), ["under 1/5", "2/5 to 3/5", "over 4/5"]);
    }

    #[test]
    fn a_turning_point_is_a_band_or_beyond() {
        let point = |ends, turned| TurningPoint { ends, turned, draws: 48 };
        let say = |point| TurningSaid(point, NumberStyle::Point).english().into_owned();
        let at = |point| TurnsAt(point, 20.0, NumberStyle::Point).english().into_owned();
        let whole = point([Some(1120.0), Some(1470.0), Some(2320.0)], 48);
        assert_eq!(
            say(whole),
            "This picture turns to fewer platelets clear of the cells between 19 and 39\u{a0}min, in 80\u{a0}% of 48 draws of what is assumed. That is no advice for a time."
        );
        assert_eq!(at(whole), "19 to 39");
        let open = point([Some(1000.0), None, None], 16);
        assert!(
            say(open).contains("from 17\u{a0}min on, or not before the first spin ends: it does in 16 of 48")
        );
        assert_eq!(at(open), "from 17 to beyond 20");
        let none = point([None; 3], 0);
        assert!(say(none).contains("before the first spin ends in 0 of 48 draws"));
        assert_eq!(at(none), "beyond 20");
    }

    #[test]
    fn a_tube_that_is_tried_is_named() {
        let said = TriedIn(ColumnWord::Here, "Tube 15 mL").english().into_owned();
        assert_eq!(said, "this case, as planned, but the second spin in Tube 15 mL");
        let said = TriedShape("this case, as planned".into(), Shape::Hub).english().into_owned();
        assert_eq!(said, "this case, as planned, but with the hub of a syringe at the bottom");
    }

    #[test]
    fn another_rotor_is_named_and_why_there_is_none() {
        let (style, speed) = (NumberStyle::Point, (Knob::Speed, 1.4));
        let name = |programme, rotor, tried: &[(Knob, f64)]| {
            BesideName { programme, rotor, tried, style }.english().into_owned()
        };
        let on = Some("Rotor B");
        assert_eq!(name(None, on, &[]), "beside it, on Rotor B with the same force");
        let changed = "beside it, on Rotor B, speed of the first spin ×\u{a0}1.4";
        assert_eq!(name(None, on, &[speed]), changed);
        // Nothing that is tried is left out of a name, whatever else stands beside.
        let both = [speed, (Knob::Haematocrit, 0.43)];
        assert_eq!(
            name(Some(Some("X")), None, &both),
            "beside it, the programme of X, speed of the first spin ×\u{a0}1.4, haematocrit 0.43"
        );
        let all = [(Knob::Time, 0.5), (Knob::Diameter, 14.0)];
        assert_eq!(
            name(Some(None), on, &all),
            "beside it, the programme put together, on Rotor B, time of the first spin ×\u{a0}0.5, inner diameter 14\u{a0}mm"
        );
        assert_eq!(name(None, None, &[]), "beside it");
        let not = NotBeside::Carried(crate::spin::transfer::NotCarried::FixedAngle);
        let said = NotBesideWords(&not, NumberStyle::Point).english().into_owned();
        assert!(said.starts_with("On the other rotor: at a fixed angle nothing follows"), "{said}");
        let figure = |value, unit| Figure { value, unit };
        let (rating, stage) = (Rating::Bucket, 0);
        let breach = RatingBreach { stage, rating, value: figure(900.0, "×g"), limit: figure(800.0, "×g") };
        let over = "not to be run: it would take the bucket to 900\u{a0}×g; its limit is 800.";
        let said = NotBesideWords(&NotBeside::OverTried(breach), style).english().into_owned();
        assert_eq!(said, format!("What is tried beside is not drawn: {over}"));
        assert_eq!(
            MapOver(1.1, &breach, style).english(),
            format!("Hatched from 1.1 of the speed on: {over}")
        );
        assert_eq!(SecondOver(&breach, style).english(), format!("Choose another tube. This one is {over}"));
    }

    #[test]
    fn which_draws_off_more_is_a_band_and_no_advice() {
        let say = |ends| DrawsMore(ends, NumberStyle::Point).english().into_owned();
        assert!(say([0.04, 0.12]).contains("draws off 4 to 12 of 100 platelets more than this case"));
        assert!(say([-0.12, -0.04]).contains("draws off 4 to 12 of 100 platelets fewer than this case"));
        let open = say([-0.03, 0.05]);
        assert!(
            open.contains("between 3 of 100 platelets fewer and 5 more")
                && open.contains("does not tell which")
        );
        assert!(open.ends_with("That says nothing of which is better."));
    }

    /// What is said first is that it is no prediction.
    #[test]
    fn it_is_called_a_picture() {
        let at = MomentLine {
            second: true,
            minutes: 3.0,
            interface: Some((50.0, None)),
            platelets: Some((0.5, [-0.1, 0.7])),
            style: NumberStyle::Point,
        };
        let top = "Second spin, 3\u{a0}min: in this picture the top of the cells stands at 50\u{a0}mm";
        assert_eq!(
            at.english(),
            format!("{top}, with 40 to 100\u{a0}% of the tube’s platelets clear of it.")
        );
        let banded = MomentLine { interface: Some((50.0, Some([-2.0, 3.5]))), ..at }.english().into_owned();
        assert!(banded.contains("stands at 50 (48 to 53.5)\u{a0}mm"), "{banded}");
        let low = MomentLine { interface: None, ..at }.english().into_owned();
        assert!(low.contains("the top of the cells stands under 2\u{a0}mm, with 40 to 100"), "{low}");
        // No share without its band.
        assert_eq!(MomentLine { platelets: None, ..at }.english(), format!("{top}."));
        assert!(ColumnWord::Standing.english().contains("not a prediction"));
    }
}
