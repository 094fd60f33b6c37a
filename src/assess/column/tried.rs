//! What a person tries in the picture: a step at a time, and the shape of a tube.

use crate::quantity::{Millimetre, Quantity};
use crate::spin::tube::End;

/// What a person moves to see what it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knob {
    /// Left above the cells of the first spin [mL], of both pictures.
    LeftBehind,
    /// How far the hand stirs at the line [mm], of both pictures.
    Disturbed,
    /// Speed of the first spin beside, as a share of that of the case.
    Speed,
    /// Time of the first spin beside, as a share.
    Time,
    /// Inner diameter beside [mm]: a narrower tube is a higher column.
    Diameter,
    /// Haematocrit of the blood beside.
    Haematocrit,
    /// Height of the cone that is tried [mm], of both pictures; the three after it likewise.
    ConeHeight,
    /// Width of its tip [mm].
    ConeTip,
    /// Length of the hub that is tried [mm].
    HubLength,
    /// Its inner diameter [mm].
    HubDiameter,
}

/// Shape of a tube’s closed end that is tried in the picture, for both columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A cylinder to the last.
    Flat,
    /// Half a sphere.
    Round,
    /// A cone, cut off where its tip is wide.
    Cone,
    /// A syringe: the hub below a flat shoulder.
    Hub,
}

impl Shape {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Flat, Self::Round, Self::Cone, Self::Hub];

    /// Key of a choice.
    pub fn key(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Round => "round",
            Self::Cone => "cone",
            Self::Hub => "hub",
        }
    }
}

impl Knob {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::LeftBehind,
        Self::Disturbed,
        Self::ConeHeight,
        Self::ConeTip,
        Self::HubLength,
        Self::HubDiameter,
        Self::Speed,
        Self::Time,
        Self::Diameter,
        Self::Haematocrit,
    ];

    /// Those that make another picture beside.
    pub fn beside(self) -> bool {
        matches!(self, Self::Speed | Self::Time | Self::Diameter | Self::Haematocrit)
    }

    /// The shape that it is of.
    pub(super) fn of(self) -> Option<Shape> {
        match self {
            Self::ConeHeight | Self::ConeTip => Some(Shape::Cone),
            Self::HubLength | Self::HubDiameter => Some(Shape::Hub),
            _ => None,
        }
    }

    /// Whether it is a width that stays under that of the tube.
    fn narrower(self) -> bool {
        matches!(self, Self::ConeTip | Self::HubDiameter)
    }

    /// Step, least and most.
    fn reach(self) -> (f64, f64, f64) {
        match self {
            Self::LeftBehind => (0.1, 0.0, 5.0),
            Self::Disturbed => (0.5, 0.0, 10.0),
            Self::Speed => (0.05, 0.5, 2.0),
            Self::Time => (0.1, 0.1, 3.0),
            Self::Diameter => (1.0, 5.0, 60.0),
            Self::Haematocrit => (0.01, 0.2, 0.65),
            Self::ConeHeight => (1.0, 1.0, 80.0),
            Self::ConeTip => (0.5, 0.0, 50.0),
            Self::HubLength => (1.0, 1.0, 50.0),
            Self::HubDiameter => (0.5, 0.5, 50.0),
        }
    }
}

/// Steps taken from where each knob stands by itself, and the shape of tube that is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Turned {
    steps: [i16; 10],
    /// Shape of the tube; `None`: as on record.
    pub shape: Option<Shape>,
}

impl Turned {
    fn steps(&self, knob: Knob) -> i16 {
        Knob::ALL.iter().position(|k| *k == knob).and_then(|i| self.steps.get(i)).copied().unwrap_or(0)
    }

    /// What beside is otherwise, and where each of it stands.
    pub fn tried_beside(&self, from: &Stands) -> Vec<(Knob, f64)> {
        let turned = Knob::ALL.into_iter().filter(|k| k.beside() && self.steps(*k) != 0);
        turned.map(|knob| (knob, self.value(knob, from))).collect()
    }

    /// Whether anything beside is otherwise.
    pub fn beside(&self) -> bool {
        Knob::ALL.into_iter().any(|k| k.beside() && self.steps(k) != 0)
    }

    /// Steps of a knob after one on or back; `None` where it would leave its reach, or go on from outside of it away.
    fn next(&self, knob: Knob, up: bool, from: &Stands) -> Option<i16> {
        let (step, least, most) = knob.reach();
        let most = if knob.narrower() { most.min(NARROWER * from.diameter) } else { most };
        let next = self.steps(knob) + if up { 1 } else { -1 };
        let value = from.of(knob) + step * f64::from(next);
        let closer = next.abs() < self.steps(knob).abs();
        let within = if up { value <= most + 1e-9 } else { value >= least - 1e-9 };
        (closer || within).then_some(next)
    }

    /// Whether a knob has a step on or back.
    pub fn turns(&self, knob: Knob, up: bool, from: &Stands) -> bool {
        self.next(knob, up, from).is_some()
    }

    /// One step on or back, within its reach or towards it.
    pub fn turn(&mut self, knob: Knob, up: bool, from: &Stands) {
        let next = self.next(knob, up, from);
        if let Some(slot) = Knob::ALL.iter().position(|k| *k == knob).and_then(|i| self.steps.get_mut(i))
            && let Some(next) = next
        {
            *slot = next;
        }
    }

    /// The closed end that is tried in a tube so wide.
    pub(super) fn end(&self, from: &Stands, wide: Millimetre) -> Option<End> {
        let mm = |knob| {
            let value = self.value(knob, from);
            let most = if knob.narrower() { NARROWER * wide.get() } else { value };
            Millimetre::new(value.min(most)).unwrap_or(wide)
        };
        Some(match self.shape? {
            Shape::Flat => End::Flat,
            Shape::Round => End::Round,
            Shape::Cone => End::Cone { height: mm(Knob::ConeHeight), tip: mm(Knob::ConeTip) },
            Shape::Hub => End::Hub { length: mm(Knob::HubLength), diameter: mm(Knob::HubDiameter) },
        })
    }

    /// Where a knob stands.
    pub fn value(&self, knob: Knob, from: &Stands) -> f64 {
        (from.of(knob) + knob.reach().0 * f64::from(self.steps(knob))).max(0.0)
    }
}

/// Tip and hub are no wider than this share of the tube.
const NARROWER: f64 = 0.9;

/// Where the knobs stand by themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stands {
    pub(super) left_behind: f64,
    pub(super) diameter: f64,
    pub(super) haematocrit: f64,
}

impl Stands {
    fn of(&self, knob: Knob) -> f64 {
        match knob {
            Knob::LeftBehind => self.left_behind,
            Knob::Disturbed => 1.0,
            Knob::Speed | Knob::Time => 1.0,
            Knob::Diameter => self.diameter,
            Knob::Haematocrit => self.haematocrit,
            // A cone as high as it is wide, as of a container; a hub as of common syringes, no source.
            Knob::ConeHeight => self.diameter,
            Knob::ConeTip => 0.0,
            Knob::HubLength => 10.0,
            Knob::HubDiameter => 4.0_f64.min(0.5 * self.diameter),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::demo;
    use super::super::{beside, pictured};
    use super::*;
    use crate::spin::column::{Setup, picture};

    /// What is tried holds for both columns, in a tube like the first only, and the knobs of a shape come with it.
    #[test]
    fn another_shape_of_tube_is_tried_in_the_picture_only() {
        let (case, answer) = demo(|_| ());
        let own = pictured(&case, &answer, &Turned::default(), None).unwrap();
        let (cone, hub) = ([Knob::ConeHeight, Knob::ConeTip], [Knob::HubLength, Knob::HubDiameter]);
        assert!(!cone.iter().chain(&hub).any(|k| own.offers(*k)));
        let mut turned = Turned { shape: Some(Shape::Cone), ..Turned::default() };
        turned.turn(Knob::ConeHeight, true, &own.stands);
        turned.turn(Knob::ConeTip, true, &own.stands);
        let found = pictured(&case, &answer, &turned, None).unwrap();
        let mm = |value| Quantity::new(value).unwrap();
        let ends = |setup: &Setup| setup.spins.iter().map(|s| s.tube.end).collect::<Vec<_>>();
        let tried = End::Cone { height: mm(16.0), tip: mm(0.5) };
        assert_eq!(ends(&found.setup), [tried, tried]);
        assert!(cone.iter().all(|k| found.offers(*k)) && !hub.iter().any(|k| found.offers(*k)));
        assert!(!turned.beside() && picture(&found.setup).is_ok());
        let second = case.draw.container.as_ref();
        let found = pictured(&case, &answer, &turned, second).unwrap();
        assert_eq!(ends(&found.setup), [tried, End::Round]);
        // A hub stays narrower than its barrel, beside too.
        let mut turned = Turned { shape: Some(Shape::Hub), ..Turned::default() };
        for _ in 0..100 {
            turned.turn(Knob::HubDiameter, true, &own.stands);
            turned.turn(Knob::Diameter, false, &own.stands);
        }
        let found = pictured(&case, &answer, &turned, None).unwrap();
        assert_eq!(ends(&found.setup)[0], End::Hub { length: mm(10.0), diameter: mm(13.5) });
        let narrow = beside(&found, &turned, None).unwrap();
        assert_eq!(ends(&narrow)[0], End::Hub { length: mm(10.0), diameter: mm(4.5) });
    }

    /// Thin blood, a narrow tube and much left behind begin outside of what is tried: towards it there are steps, away
    /// from it none.
    #[test]
    fn a_knob_outside_of_its_reach_turns_towards_it() {
        let stands = Stands { left_behind: 6.0, diameter: 4.0, haematocrit: 0.15 };
        let mut turned = Turned::default();
        for (knob, up) in [(Knob::Haematocrit, true), (Knob::Diameter, true), (Knob::LeftBehind, false)] {
            assert!(turned.turns(knob, up, &stands) && !turned.turns(knob, !up, &stands), "{knob:?}");
            let before = turned.value(knob, &stands);
            turned.turn(knob, !up, &stands);
            assert_eq!(turned.value(knob, &stands), before);
            (0..9).for_each(|_| turned.turn(knob, up, &stands));
            assert!((turned.value(knob, &stands) - before).abs() > 8.9 * knob.reach().0, "{knob:?}");
            turned.turn(knob, !up, &stands);
        }
        assert!((turned.value(Knob::Haematocrit, &stands) - 0.23).abs() < 1e-9);
        // Within it the ends hold.
        let most = Stands { haematocrit: 0.65, ..stands };
        assert!(!Turned::default().turns(Knob::Haematocrit, true, &most));
        assert!(Turned::default().turns(Knob::Haematocrit, false, &most));
    }
}
