//! Words of the drawings of a rotor: its radii, and how it is loaded.

use super::Phrase;
use super::unit;
use crate::assess::balance::{Facing, Filled, Loaded, NotLoaded, Pair, Side, Sides};
use crate::case::Weighed;
use crate::quantity::Grams;
use crate::quantity::unit::Conventions;
use crate::spin::SpinError;
use crate::spin::rcf::RadiusKind;
use crate::spin::rotor::{Rotor, RotorKind};
use std::borrow::Cow;

crate::phrases! {
    /// Heads and lines about a rotor's drawings.
    RotorWord {
        Axis => "axis",
        Loaded => "What faces what",
        Weight => "weight",
        Apart => "apart, a guess by volume:",
        ApartWeighed => "apart, by weight:",
        Add => "add water to the counterweight:",
        TakeOut => "the counterweight is the heavier; take water out:",
        Even => "as heavy as one another.",
        TooFarWeighed => "more than the rotor’s entry in Bench allows: do not start it.",
        NoTolerance => "How far two sides may differ is not on record (Bench): hold it against the centrifuge’s instructions.",
        Weights => "Weights, as the scale reads them",
        WeightsWhat => "Each filled container with its own closure, as it goes into the rotor; the counterweight likewise. Left open, what is said is a guess from volumes. Once every container has a weight, they are paired by weight.",
        OwnCounterweights => "Counterweights of their own",
        OwnCounterweightsWhat => "For containers that do not face one another: with a weight here, a container is drawn across from its own counterweight and held against it.",
        FirstSpin => "First spin",
        SecondSpin => "Second spin",
        SecondWhat => "Taken to be what stands above the cells of each container after the first spin, in one of its own. What was filled otherwise by hand is told by its weight.",
        TooFar => "more than the rotor’s instructions allow, by what Bench has on record: even it out.",
        Water => "water to begin from, in a container of the same kind:",
        TooMuch => "that is more water than a container of the same kind holds: use another counterweight.",
        Emptied => "The container comes with fluid in it: one that serves as a counterweight is emptied first.",
        NoIdentity => "A place is no identity: go by the sign on each container.",
        VolumeUnknown => "a volume is not known",
        WeighFirst => "Weigh each filled and closed container against what faces it, and even out before it turns. Until both sides have a weight below, what is said here follows from volumes alone and is a first guess.",
        Instructions => "The centrifuge’s instructions come first: which places may stay empty, whether every bucket has to hang, how far two sides may differ.",
        Counted => "Places are counted clockwise from the top; the rotor’s own numbers may stand otherwise.",
        PlacesUnknown => "How many places the rotor has is not on record (Bench): empty ones are not drawn.",
        Together => "Another patient’s containers in this rotor too:",
        TogetherWhat => "Each patient’s containers face each other. This changes the drawing alone, and the other case’s not.",
    }
}

/// Which radius is which on this rotor as it runs, or what is missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RadiiSaid<'a>(pub &'a Rotor, pub &'a Conventions);

impl Phrase for RadiiSaid<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Self(rotor, c) = *self;
        let mm = |kind| rotor.radius(kind).ok().map(|r| unit::radius(r.radius, c).to_string());
        let hang = match rotor.kind {
            RotorKind::SwingOut => "Running, the tubes stand out level from the axis",
            RotorKind::FixedAngle => {
                "The tubes keep their angle, and running, the surface of the fluid stands upright in them; how far they slant is drawn as an example"
            }
        };
        let found = [
            (
                RadiusKind::Minimum,
                "minimum radius",
                "to the surface of the fluid, where it is nearest to the axis",
            ),
            (RadiusKind::Mean, "mean radius", "half-way between the two"),
            (
                RadiusKind::Maximum,
                "maximum radius",
                "to the bottom of the tube, where it is farthest from the axis",
            ),
        ];
        if let Err(SpinError::RadiiReversed { .. }) = rotor.radius(RadiusKind::Maximum) {
            return Cow::Borrowed(
                "The minimum radius is not below the maximum: nothing is drawn, and no force follows.",
            );
        }
        let parts = found.map(|(kind, name, what)| match mm(kind) {
            Some(mm) => format!("{name} {mm}, {what}"),
            None => format!("{name} not on record"),
        });
        Cow::Owned(format!("{hang}: {}.", parts.join("; ")))
    }
}

/// A radius at its dimension line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RadiusMark<'a>(pub RadiusKind, pub crate::quantity::Radius, pub &'a Conventions);

impl Phrase for RadiusMark<'_> {
    fn english(&self) -> Cow<'static, str> {
        let name = match self.0 {
            RadiusKind::Minimum => "minimum",
            RadiusKind::Mean => "mean",
            RadiusKind::Maximum => "maximum",
        };
        Cow::Owned(format!("{name} {}", unit::radius(self.1, self.2)))
    }
}

impl Phrase for NotLoaded {
    fn english(&self) -> Cow<'static, str> {
        match *self {
            Self::Nothing => Cow::Borrowed("How the rotor is loaded is drawn once containers are known."),
            Self::NoRotor => Cow::Borrowed("Choose a rotor: then it is drawn how it is loaded."),
            Self::Still => Cow::Borrowed("Nothing in the programme on record turns: no loading is drawn."),
            Self::Turns => {
                Cow::Borrowed("It turns or has turned: nothing is drawn. Go by the sign on each container.")
            }
            Self::Parted => Cow::Borrowed(
                "A case chosen with this one has begun to turn, or no longer has this rotor, this programme or a sign of its own. Nothing is drawn: go by the sign on each container, or take the case out below.",
            ),
            Self::Opened => Cow::Borrowed(
                "What turns after the second spin is not on record: weigh each container against what faces it.",
            ),
            Self::OddPlaces(places) => Cow::Owned(format!(
                "With {places} places none has one across from it: load the rotor as its instructions say."
            )),
            Self::TooFew { places, wanted } => Cow::Owned(format!(
                "This drawing puts one container in a place; these with their counterweights want {wanted} places, the rotor has {places} on record (Bench)."
            )),
            Self::TooMany(places) => {
                Cow::Owned(format!("{places} places cannot be drawn apart: check the number in Bench."))
            }
        }
    }
}

/// What faces what, in a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairSaid<'a> {
    /// The two places.
    pub pair: &'a Pair,
    /// Whether places have numbers.
    pub numbered: bool,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for PairSaid<'_> {
    fn english(&self) -> Cow<'static, str> {
        let container = |f: &Filled| {
            let volume = f.volume.map(|v| unit::volume(v, self.conventions).to_string());
            let weight = f.weight.map(|w| unit::grams(w, self.conventions).to_string());
            let known: Vec<String> = volume.into_iter().chain(weight).collect();
            let known = if known.is_empty() { String::new() } else { format!(" ({})", known.join(", ")) };
            format!("{}\u{a0}{}{known}", f.sign, f.number)
        };
        let [first, second] = self.pair.places;
        let place = |n: u8| if self.numbered { format!("place {n}, ") } else { String::new() };
        let other = match &self.pair.facing {
            Facing::Container { other, .. } => container(other),
            Facing::Counterweight { .. } => match self.pair.container.against {
                Some(weight) => format!("a counterweight ({})", unit::grams(weight, self.conventions)),
                None => "a counterweight".to_owned(),
            },
        };
        let words =
            format!("{}{} faces {}{other}", place(first), container(&self.pair.container), place(second));
        let mut letters = words.chars();
        let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
        Cow::Owned(first + letters.as_str())
    }
}

/// Which of two sides was not weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotWeighed(pub Side);

impl Phrase for NotWeighed {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self.0 {
            Side::Container(number) => {
                format!("Container {number} has no weight yet: what is said is still a guess.")
            }
            Side::Counterweight => {
                "The counterweight has no weight yet: what is said is still a guess.".to_owned()
            }
        })
    }
}

/// What the scale read before a spin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeighedSaid<'a>(pub &'a Weighed, pub &'a Conventions);

impl Phrase for WeighedSaid<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Self(weighed, c) = *self;
        let one = |(i, w): (&u8, &Grams)| format!("container {} {}", u32::from(*i) + 1, unit::grams(*w, c));
        let against = weighed.counterweight.map(|w| format!("counterweight {}", unit::grams(w, c)));
        let own = weighed
            .own
            .iter()
            .map(|(i, w)| format!("counterweight of container {} {}", u32::from(*i) + 1, unit::grams(*w, c)));
        let all: Vec<String> = weighed.containers.iter().map(one).chain(against).chain(own).collect();
        Cow::Owned(format!("weighed: {}", all.join(", ")))
    }
}

/// Sides that were weighed before a spin, as on the card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SidesWeighed<'a>(pub &'a [Sides], pub &'a Conventions);

impl Phrase for SidesWeighed<'_> {
    fn english(&self) -> Cow<'static, str> {
        let one = |sides: &Sides| {
            let other = sides.other.map_or_else(|| "counterweight".to_owned(), |n| n.to_string());
            format!("{} and {other} {} apart", sides.container, unit::grams(sides.apart, self.1))
        };
        let all: Vec<String> = self.0.iter().map(one).collect();
        Cow::Owned(format!("weighed: {}", all.join(", ")))
    }
}

/// The loaded rotor in words.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadedSaid<'a>(pub &'a Loaded, pub &'a Conventions);

impl Phrase for LoadedSaid<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Self(loaded, conventions) = *self;
        let one = |pair| PairSaid { pair, numbered: loaded.numbered, conventions }.english().into_owned();
        let all: Vec<String> = loaded.pairs.iter().map(one).collect();
        Cow::Owned(format!("The loaded rotor from above. {}.", all.join(". ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::balance::loaded;
    use crate::bench::demo_rotor;
    use crate::blood::testing::q;

    fn rotor(minimum: Option<f64>, kind: RotorKind) -> Rotor {
        Rotor { minimum: minimum.map(q), kind, places: Some(4), ..demo_rotor() }
    }

    #[test]
    fn radii_are_told_as_they_run() {
        let c = Conventions::default();
        let say = |r: &Rotor| RadiiSaid(r, &c).english().into_owned();
        assert_eq!(
            say(&rotor(Some(75.0), RotorKind::SwingOut)),
            "Running, the tubes stand out level from the axis: minimum radius 75\u{a0}mm, to the surface of the fluid, where it is nearest to the axis; mean radius 115\u{a0}mm, half-way between the two; maximum radius 155\u{a0}mm, to the bottom of the tube, where it is farthest from the axis."
        );
        let one = say(&rotor(None, RotorKind::FixedAngle));
        assert!(
            one.contains("stands upright in them")
                && one
                    .contains("minimum radius not on record; mean radius not on record; maximum radius 155"),
            "{one}"
        );
        assert!(say(&rotor(Some(155.0), RotorKind::SwingOut)).contains("not below the maximum"));
    }

    #[test]
    fn a_pair_is_told_with_its_places() {
        let c = Conventions::default();
        let sign: crate::draft::CheckSign = "7K".to_owned().try_into().unwrap();
        let one = |number| Filled {
            sign,
            number,
            volume: Some(q(15.0)),
            room: None,
            prefilled: false,
            fluid: crate::assess::balance::Fluid::Blood,
            weight: None,
            against: None,
            alone: false,
        };
        let all: Vec<Filled> = (1..=3).map(one).collect();
        let found = loaded(&rotor(None, RotorKind::SwingOut), &all).unwrap();
        assert_eq!(
            LoadedSaid(&found, &c).english(),
            "The loaded rotor from above. Place 1, 7K\u{a0}1 (15\u{a0}mL) faces place 3, 7K\u{a0}2 (15\u{a0}mL). Place 2, 7K\u{a0}3 (15\u{a0}mL) faces place 4, a counterweight."
        );
        let bare = loaded(&Rotor { places: None, ..demo_rotor() }, &all[..1]).unwrap();
        assert!(LoadedSaid(&bare, &c).english().ends_with("7K\u{a0}1 (15\u{a0}mL) faces a counterweight."));
    }
}
