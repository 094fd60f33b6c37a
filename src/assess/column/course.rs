//! The course of a whole programme: speed over time, and where the hand is at it.

use crate::quantity::{Quantity, Rcf};
use crate::spin::exposure::stretches;
use crate::spin::programme::{Programme, Stage};
use crate::spin::rotor::Rotor;

/// A moment of the course of a programme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turning {
    /// Since it began [min].
    pub minutes: f64,
    /// Speed [rpm].
    pub rpm: f64,
}

/// The course of a whole programme: speed over time, and when somebody does something by hand [min].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Course {
    /// Corners of the speed.
    pub corners: Vec<Turning>,
    /// By hand.
    pub by_hand: Vec<f64>,
    /// Stages that take time: number from 0, from and to [min].
    pub stages: Vec<(u8, f64, f64)>,
}

/// The course of a case’s programme in a container rated for so much; `None` without a rotor that can run it. What a
/// person ends takes no time.
pub fn course(programme: &Programme, rotor: &Rotor, rated: Option<Rcf>) -> Option<Course> {
    let mut found = Course::default();
    let mut now = 0.0;
    for (index, stage) in programme.0.iter().enumerate() {
        if matches!(stage, Stage::Handling { .. }) {
            found.by_hand.push(now);
        }
        let until = programme.0.get(..=index)?;
        let last = stretches(&Programme(until.to_vec()), rotor, rated).ok()?;
        let Some(stretch) = last.last().filter(|_| stage.time().is_some()) else { continue };
        found.corners.push(Turning { minutes: now, rpm: stretch.from.get() });
        let began = now;
        now += stretch.time.get() / 60.0;
        found.stages.extend(u8::try_from(index).ok().map(|index| (index, began, now)));
        found.corners.push(Turning { minutes: now, rpm: stretch.to.get() });
    }
    (now > 0.0).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::demo;
    use super::*;

    /// 180 ×g at 155 mm is 1020 rpm (set in tens), 900 ×g 2280; ten minutes each, and the hand between.
    #[test]
    fn the_course_of_a_programme() {
        let (case, _) = demo(|_| ());
        let (protocol, rotor) = (case.protocol.unwrap(), case.spin.rotor.unwrap());
        let found = course(&protocol.programme, &rotor, None).unwrap();
        let at: Vec<(f64, f64)> = found.corners.iter().map(|c| (c.minutes, c.rpm)).collect();
        assert_eq!(at, [(0.0, 1020.0), (10.0, 1020.0), (10.0, 2280.0), (20.0, 2280.0)]);
        assert_eq!(found.by_hand, [10.0]);
        assert_eq!(found.stages, [(0, 0.0, 10.0), (2, 10.0, 20.0)]);
        assert_eq!(course(&Programme::default(), &rotor, None), None);
    }
}
