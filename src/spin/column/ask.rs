//! What is asked beside the page and answered there: texts both ways, so that it can be answered in another thread.
//! Fractions travel as whole thousandths and hundredths: what a picture shows needs no more.

use super::collect::FRONT;
use super::prior::Assumed;
use super::{
    ColumnError, Parting, Profile, Setup, Spin, Spun, TurningPoint, Unparted, banded, draws_more, picture,
    turning_point,
};
use crate::quantity::{Quantity, Rpm, Seconds};
use crate::spin::programme::{Programme, RatingBreach, Speed, Stage, asked, ratings};
use crate::stored;
use serde::{Deserialize, Serialize};

/// Moments at which the whole column is drawn, after the first.
const FRAMES: u32 = 30;
/// Rows of the map: shares of the programme's highest speed.
pub const ROWS: u8 = 24;
/// Places of a row: shares of the programme's time.
pub const PLACES: usize = 30;
/// The row and the place of the speed and time that the scales are shares of.
pub const OWN: (u8, usize) = (10, 14);
/// Cells of what is reckoned many times: 2 % of the column, see `what_an_update_takes`.
const COARSE: u16 = 50;

/// Cells lie from so much of what packs at no force on: at a soft force they come to that and no more (own judgement).
const AT_REST: f64 = 0.95;

/// What is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Question {
    /// The column of every spin.
    Column(Setup),
    /// How far it may be off.
    Bands(Setup),
    /// A row of the map of the first spin.
    Row(Setup, u8),
    /// Where the first spin turns to fewer platelets above the cells: as planned, or held at the speed of a row.
    Turning(Setup, Option<u8>),
    /// How much larger the share of platelets above the first spin’s line is in the first than in the second.
    More(Setup, Box<Setup>),
}

/// What is answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reply {
    /// Every spin.
    Column(Vec<Seen>),
    /// Every spin.
    Bands(Vec<Off>),
    /// A row: in which fifth, 0 to 4, the share of the platelets that are above the cells lies, time by time. One
    /// reckoning without a band says no more.
    Row(u8, Vec<u8>),
    /// Where it turns, as a band.
    Turning(TurningPoint),
    /// Ends of its band; none where too many draws have no such share.
    More(Option<[f64; 2]>),
    /// There is none.
    Refused(Refusal),
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Refusal {
    /// The column stands higher than 200 mm.
    TooHigh,
    /// The first spin leaves nothing above its line.
    NothingDrawn,
    /// A row of the map would pass a rating of rotor, bucket or container.
    Over,
    /// Speed, force, time or an amount lies outside what the picture reaches.
    Outside,
}

/// One moment of the course.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct At {
    /// Since the programme began [s].
    pub time: f64,
    /// Height of the top of the cells [mm].
    pub interface: f64,
    /// Fluid above them [mL].
    pub volume: f64,
    /// Share of the column's platelets in it.
    pub platelets: f64,
}

/// The whole column at one moment, from the top down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// Red cells, thousandths of the volume.
    pub red: Vec<u16>,
    /// Platelets over those before it turned, hundredths.
    pub platelets: Vec<u16>,
    /// Where they gather on the cells, from, to [mm]: how many lie there cannot be told.
    pub gathered: Option<[f64; 2]>,
}

/// One spin as it is shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Seen {
    /// Height of the column [mm].
    pub column: f64,
    /// Distance of its top from the axis [mm].
    pub top: f64,
    /// Heights of the middles of its layers above the bottom [mm], from the top down.
    pub heights: Vec<f64>,
    /// The course: two moments from each frame to the next.
    pub course: Vec<At>,
    /// The column, evenly over the programme.
    pub frames: Vec<Frame>,
    /// Above the line and below it [mL].
    pub parted: [f64; 2],
    /// Height of the line [mm].
    pub line: f64,
    /// Shares of the first tube's platelets above the line and below it, or why there are none.
    pub shares: Result<[f64; 2], Unparted>,
}

/// How far figures of a spin may be off, down and up, by what is assumed (80 %).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Off {
    /// Height of the column [mm]; `None` where it hangs on nothing assumed, as what was filled.
    pub column: Option<[f64; 2]>,
    /// Height of the top of the cells [mm].
    pub interface: Vec<[f64; 2]>,
    /// Fluid above the cells [mL].
    pub volume: Vec<[f64; 2]>,
    /// Share of the platelets above the cells.
    pub platelets: Vec<[f64; 2]>,
    /// Above the line [mL]; `None` likewise, as where so much is kept below it.
    pub parted: Option<[f64; 2]>,
    /// Shares of the first tube's platelets above the line and below it, or why they cannot be told though the middle of
    /// what is assumed has them.
    pub shares: Result<[[f64; 2]; 2], Unparted>,
}

/// Part of a column that has a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Above the cells.
    Plasma,
    /// Cells that have not come to lie.
    Falling,
    /// Red cells that lie: of the volume as much as packs at no force, within 5 %.
    Packed,
    /// What lies under plasma that was spun again.
    Pellet,
}

impl Seen {
    /// The time of a frame [s].
    pub fn time(&self, frame: usize) -> f64 {
        self.course.get(2 * frame).map_or(0.0, |at| at.time)
    }

    /// The frame nearest to a time [s]; of one after its end the last.
    pub fn frame_at(&self, seconds: f64) -> usize {
        let all = self.course.last().map_or(0.0, |at| at.time);
        let last = self.frames.len().saturating_sub(1);
        let nearer = |a: &usize, b: &usize| {
            (self.time(*a) - seconds).abs().total_cmp(&(self.time(*b) - seconds).abs())
        };
        if seconds >= all { last } else { (0..=last).min_by(nearer).unwrap_or(last) }
    }

    /// How long it takes [s].
    pub fn lasts(&self) -> f64 {
        self.course.last().map_or(0.0, |at| at.time)
    }

    /// Height of a cell of its grid [mm].
    fn cell(&self) -> f64 {
        self.heights.first().zip(self.heights.get(1)).map_or(0.0, |(a, b)| a - b)
    }

    /// Where platelets gather on the cells at a frame, as [`Profile::gathered`].
    pub fn gathered(&self, frame: usize) -> Option<[f64; 2]> {
        self.frames.get(frame)?.gathered
    }

    /// What is in the column at a frame, from the top down: height [mm], red cells [share], platelets [times the start],
    /// these only where they can be told.
    pub fn filled(&self, frame: usize) -> Vec<(f64, f64, Option<f64>)> {
        let Some(layers) = self.frames.get(frame) else { return Vec::new() };
        let told = |height: f64| super::told(layers.gathered, height);
        let numbers = layers.red.iter().zip(&layers.platelets);
        let one = |(height, (red, platelets)): (&f64, (&u16, &u16))| {
            let platelets = told(*height).then(|| f64::from(*platelets) / 100.0);
            (*height, f64::from(*red) / 1000.0, platelets)
        };
        self.heights.iter().zip(numbers).map(one).collect()
    }

    /// Most that platelets come to where it can be told, in any frame [times the start].
    pub fn most(&self) -> f64 {
        let all = (0..self.frames.len()).flat_map(|frame| self.filled(frame));
        // Low in a round bottom they come to many times what stands over them: the scale is that of the fluid.
        all.filter_map(|(_, _, platelets)| platelets).fold(1.0, f64::max).min(4.0)
    }

    /// What stands over what at a frame: heights from, to [mm], from the top down.
    pub fn parts(&self, frame: usize, again: bool) -> Vec<(Part, f64, f64)> {
        let interface = self.course.get(2 * frame).map_or(0.0, |at| at.interface);
        let mut parts = Vec::new();
        let mut add = |part, from: f64, to: f64| {
            if from - to > 0.2 {
                parts.push((part, from, to));
            }
        };
        add(Part::Plasma, self.column, interface);
        if again {
            add(Part::Pellet, interface, 0.0);
            return parts;
        }
        let red = self.frames.get(frame).map_or(&[][..], |f| &f.red);
        let at_rest = 1000.0 * AT_REST * Assumed::default().packed_least;
        // A front takes a few cells of the grid: so thin a layer over what lies is nothing that falls.
        let cell = self.cell();
        let packed = self
            .heights
            .iter()
            .zip(red)
            .find(|(_, red)| f64::from(**red) >= at_rest)
            .map_or(0.0, |(h, _)| *h);
        let packed =
            if packed > 0.0 && interface - packed < FRONT * cell { interface } else { packed.min(interface) };
        add(Part::Falling, interface, packed);
        add(Part::Packed, packed, 0.0);
        parts
    }
}

/// Answers a question, whatever it is: what cannot be read is refused.
pub fn answer(question: &str) -> String {
    let reply = match stored::parse::<Question>(question) {
        Ok(Question::Column(setup)) => column(setup),
        Ok(Question::Bands(setup)) => bands(setup),
        Ok(Question::Row(setup, row)) => self::row(&setup, row),
        Ok(Question::Turning(setup, row)) => turning(setup, row),
        Ok(Question::More(of, than)) => more(of, *than),
        Err(_) => Reply::Refused(Refusal::Outside),
    };
    stored::write(&reply).unwrap_or_default()
}

impl Question {
    /// As it is sent. Errors: it has no text.
    pub fn text(&self) -> Result<String, String> {
        stored::write(self)
    }
}

impl Reply {
    /// As it came back; `None` where it is none.
    pub fn read(text: &str) -> Option<Self> {
        stored::parse(text).ok()
    }
}

fn refusal(error: &ColumnError) -> Reply {
    Reply::Refused(match error {
        ColumnError::TooHigh { .. } => Refusal::TooHigh,
        // Its top would lie nearer to the axis than a radius may.
        ColumnError::Outside { field, .. } if field == "rotor.maximum" => Refusal::TooHigh,
        ColumnError::NothingDrawn => Refusal::NothingDrawn,
        _ => Refusal::Outside,
    })
}

fn column(mut setup: Setup) -> Reply {
    for spin in &mut setup.spins {
        let time: f64 = spin.programme.0.iter().filter_map(Stage::time).map(Quantity::get).sum();
        let at = |i: u32| Seconds::new(time * f64::from(i) / f64::from(FRAMES)).ok();
        spin.profiles_at = (0..FRAMES).filter_map(at).collect();
    }
    match picture(&setup) {
        Ok(found) => Reply::Column(found.spins.iter().map(seen).collect()),
        Err(error) => refusal(&error),
    }
}

/// A number times so much, as a whole one.
fn whole(value: f64, times: f64) -> u16 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held between 0 and 65535")]
    let number = libm::round(value * times).clamp(0.0, 65_535.0) as u16;
    number
}

fn seen(spun: &Spun) -> Seen {
    let cut = |value: f64| libm::round(1e4 * value) / 1e4;
    let at = |moment: &super::Moment| At {
        time: cut(moment.time.get()),
        interface: cut(moment.above.interface),
        volume: cut(moment.above.volume),
        platelets: cut(moment.above.clear),
    };
    let frame = |p: &Profile| Frame {
        red: p.layers.iter().map(|l| whole(l.red, 1000.0)).collect(),
        platelets: p.layers.iter().map(|l| whole(l.platelets, 100.0)).collect(),
        gathered: p.gathered.map(|ends| ends.map(cut)),
    };
    let c = spun.collection;
    Seen {
        column: spun.column,
        top: spun.top.get(),
        heights: spun
            .profiles
            .first()
            .map_or_else(Vec::new, |p| p.layers.iter().map(|l| cut(l.height)).collect()),
        course: spun.series.iter().map(at).collect(),
        frames: spun.profiles.iter().map(frame).collect(),
        parted: [c.above.get(), c.below.get()],
        line: c.line,
        shares: c.shares(),
    }
}

fn bands(setup: Setup) -> Reply {
    match banded(&Setup { cells: COARSE, ..setup }) {
        Ok(found) => {
            let off = |b: &super::Band| [b.low - b.value, b.high - b.value];
            let hangs = |b: &super::Band| b.hangs().then(|| off(b));
            let of = |b: &super::SpunBands| Off {
                column: hangs(&b.column),
                interface: b.interface.iter().map(off).collect(),
                volume: b.volume.iter().map(off).collect(),
                platelets: b.platelets.iter().map(off).collect(),
                parted: hangs(&b.above),
                shares: b.shares().map(|both| both.map(off)),
            };
            Reply::Bands(found.bands.iter().map(of).collect())
        }
        Err(error) => refusal(&error),
    }
}

/// Share of the programme's highest speed in a row: 0.5 to 1.65.
pub fn speed_share(row: u8) -> f64 {
    0.5 + 0.05 * f64::from(row)
}

/// Share of the programme's time at a place of a row: 1/15 to 2.
pub fn time_share(place: usize) -> f64 {
    (place as f64 + 1.0) / 15.0
}

/// What the scales of the map are shares of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scales {
    /// Highest speed of the first spin.
    pub speed: Rpm,
    /// How long its one hold takes, or all its stages.
    pub time: Seconds,
    /// It has one hold, at that speed: only that has a place on the map.
    pub one_hold: bool,
}

/// The scales of the map; `None` where nothing turns. Ramps and stops are in neither of them where there is one hold.
pub fn scales(setup: &Setup) -> Option<Scales> {
    let stages = &setup.spins.first()?.programme;
    let (_, speed) = stages.peak(&setup.rotor).ok().flatten()?;
    let mut holds = stages.0.iter().filter(|stage| matches!(stage, Stage::Hold { .. }));
    let held = match (holds.next(), holds.next()) {
        (Some(Stage::Hold { speed: held, time }), None) => {
            asked(*held, &setup.rotor).is_ok_and(|held| held.value == speed).then_some(*time)
        }
        _ => None,
    };
    let all = || Seconds::new(stages.0.iter().filter_map(Stage::time).map(Quantity::get).sum()).ok();
    let time = held.or_else(all)?;
    (speed.get() > 0.0 && time.get() > 0.0).then_some(Scales { speed, time, one_hold: held.is_some() })
}

/// One hold at a share of the speed, for twice the time: its course answers every shorter time too. Ramps left out.
fn row(setup: &Setup, row: u8) -> Reply {
    match shares(setup, row) {
        Ok(shares) => Reply::Row(row, shares.into_iter().map(fifth).collect()),
        Err(refused) => refused,
    }
}

/// Fifth of the whole in which a share lies: 0 to 4.
fn fifth(share: f64) -> u8 {
    [0.2, 0.4, 0.6, 0.8].into_iter().map(|from| u8::from(share >= from)).sum()
}

/// The first spin as one hold at a row’s share of the speed, for twice the time; `None` where nothing turns.
fn held(setup: &Setup, row: u8) -> Option<Setup> {
    let Scales { speed, time, .. } = scales(setup)?;
    let rpm = Rpm::new(speed.get() * speed_share(row.min(ROWS))).ok()?;
    let time = Seconds::new(2.0 * time.get()).ok()?;
    let tube = setup.spins.first()?.tube;
    let programme = Programme(vec![Stage::Hold { speed: Speed::Rpm(rpm), time }]);
    let spins = vec![Spin { tube, programme, parting: Parting::NOWHERE, profiles_at: Vec::new() }];
    Some(Setup { spins, cells: COARSE, ..setup.clone() })
}

/// The first rating that a row of the map would pass: it is not reckoned.
pub fn over(setup: &Setup, row: u8) -> Option<RatingBreach> {
    let Spin { programme, tube, .. } = held(setup, row)?.spins.pop()?;
    ratings(&programme, &setup.rotor, tube.rated).breaches.first().copied()
}

/// Shares of the platelets above the cells, time by time. Errors: what is answered instead.
fn shares(setup: &Setup, row: u8) -> Result<Vec<f64>, Reply> {
    if over(setup, row).is_some() {
        return Err(Reply::Refused(Refusal::Over));
    }
    match held(setup, row).as_ref().map(picture) {
        Some(Ok(found)) => {
            let course = found.spins.first().map_or(&[][..], |s| &s.series);
            Ok(course.iter().skip(2).step_by(2).map(|m| m.above.clear).collect())
        }
        Some(Err(error)) => Err(refusal(&error)),
        None => Err(Reply::Refused(Refusal::Outside)),
    }
}

fn more(of: Setup, than: Setup) -> Reply {
    match draws_more(&Setup { cells: COARSE, ..of }, &Setup { cells: COARSE, ..than }) {
        Ok(ends) => Reply::More(ends),
        Err(error) => refusal(&error),
    }
}

fn turning(setup: Setup, row: Option<u8>) -> Reply {
    let of = match row {
        Some(row) if over(&setup, row).is_some() => return Reply::Refused(Refusal::Over),
        Some(row) => held(&setup, row),
        None => Some(Setup { cells: COARSE, ..setup }),
    };
    match of.as_ref().map(turning_point) {
        Some(Ok(found)) => Reply::Turning(found),
        Some(Err(error)) => refusal(&error),
        None => Reply::Refused(Refusal::Outside),
    }
}

/// Place on the map of a time, in places from the left end of the first; `None` without a time.
pub fn place_of(time: Seconds, of: Seconds) -> Option<f64> {
    // time_share(place) = (place + 1)/15, drawn at the middle of its place
    (of.get() > 0.0).then(|| (15.0 * time.get() / of.get() - 0.5).clamp(0.0, PLACES as f64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spin::column::too_low;

    fn demo() -> Setup {
        Setup::from_json(include_str!("../../../tests/shell/demo_spin.json")).unwrap()
    }

    fn ask(question: &Question) -> Reply {
        Reply::read(&answer(&question.text().unwrap())).unwrap()
    }

    /// The texts hold what the picture says: the same course, frames at every second moment of it.
    #[test]
    fn what_comes_back_is_the_picture() {
        let Reply::Column(seen) = ask(&Question::Column(demo())) else { panic!() };
        let picture = picture(&demo()).unwrap();
        assert_eq!(seen.len(), 2);
        for (seen, spun) in seen.iter().zip(&picture.spins) {
            assert_eq!((seen.course.len(), seen.frames.len()), (61, 31));
            for (at, moment) in seen.course.iter().zip(&spun.series) {
                assert!((at.interface - moment.above.interface).abs() < 0.05, "{at:?} {moment:?}");
                assert!((at.platelets - moment.above.clear).abs() < 0.01);
            }
            assert!((seen.shares.unwrap()[0] - spun.collection.platelets_above).abs() < 0.01);
            let last = spun.profiles.last().unwrap();
            let frame = seen.frames.last().unwrap();
            for (red, layer) in frame.red.iter().zip(&last.layers) {
                assert!((f64::from(*red) / 1000.0 - layer.red).abs() < 0.02);
            }
        }
    }

    /// A line among platelets that gather on the cells parts nothing that can be shown; 2 mm above them it does.
    #[test]
    fn no_share_where_platelets_gather() {
        let with = |left_behind: f64| {
            let mut setup = demo();
            let line =
                crate::spin::column::Line::AboveCells { left_behind: Quantity::new(left_behind).unwrap() };
            setup.spins[0].parting.line = line;
            let Reply::Column(seen) = ask(&Question::Column(setup)) else { panic!() };
            seen[0].shares.is_ok()
        };
        // In a tube of 15 mm, 2 mm are 0.35 mL.
        assert_eq!([0.0, 0.3, 0.4, 0.5].map(with), [false, false, true, true]);
    }

    /// Nor where the hand stirs down to them: 0.5 mL stand 2.8 mm above the cells. Stirred well into them it takes the
    /// whole layer, whatever its thickness.
    #[test]
    fn no_share_where_the_hand_stirs_into_what_gathers() {
        let with = |stirred: f64| {
            let mut setup = demo();
            setup.spins[0].parting.disturbed = Quantity::new(stirred).unwrap();
            let Reply::Column(seen) = ask(&Question::Column(setup)) else { panic!() };
            (seen[0].line - seen[0].course.last().unwrap().interface, seen[0].shares)
        };
        let (above, _) = with(0.0);
        assert!((above - 2.83).abs() < 0.1, "{above}");
        for (stirred, shown) in [(0.0, true), (2.0, true), (2.5, false), (4.0, false), (5.5, true)] {
            let (_, shares) = with(stirred);
            assert_eq!(shares.is_ok(), shown, "{stirred}");
            assert!(shown || shares == Err(Unparted::Stirred));
        }
    }

    /// Of a first line that parts nothing no share of the second is told either.
    #[test]
    fn what_the_first_line_hides_stays_hidden() {
        let mut setup = demo();
        setup.spins[0].parting.disturbed = Quantity::new(2.5).unwrap();
        let Reply::Column(seen) = ask(&Question::Column(setup)) else { panic!() };
        assert_eq!(seen.iter().map(|s| s.shares).collect::<Vec<_>>(), [Err(Unparted::Stirred); 2]);
    }

    /// The second spin's pellet of few cells is lower than 2 mm, and how low is nobody's to say.
    #[test]
    fn a_thin_pellet_has_no_height() {
        let Reply::Column(seen) = ask(&Question::Column(demo())) else { panic!() };
        assert!(seen[1].course.iter().all(|at| too_low(true, at.interface)));
        assert!(seen[0].course.iter().all(|at| !too_low(false, at.interface)));
    }

    /// What gathers on the cells is 2.6 to 6.8 times the start with 50 to 400 cells: no such number is left to draw, and
    /// the scale of what is follows no grid.
    #[test]
    fn what_gathers_on_the_cells_is_not_drawn() {
        let of = |cells: u16| {
            let Reply::Column(seen) = ask(&Question::Column(Setup { cells, ..demo() })) else { panic!() };
            let most = seen[0].frames.iter().flat_map(|f| &f.platelets).copied().max().unwrap();
            println!("{cells}: {most} in hundredths, {:.2} and {:.2} drawn", seen[0].most(), seen[1].most());
            (f64::from(most) / 100.0, seen[0].most(), seen[1].most())
        };
        let (all, fine) = ([50, 100, 200].map(of), of(400));
        assert!(fine.0 > 2.0 * all[0].0);
        for (_, first, second) in all {
            assert!((first / fine.1 - 1.0).abs() < 0.05 && (second / fine.2 - 1.0).abs() < 0.05);
        }
        let Reply::Column(seen) = ask(&Question::Column(demo())) else { panic!() };
        assert_eq!(seen[0].gathered(0), None);
        let [from, to] = seen[0].gathered(30).unwrap();
        let top = seen[0].course.last().unwrap().interface;
        assert!((from - top - 2.0).abs() < 1e-9 && to < top - 2.0, "{from} {top} {to}");
        assert_eq!(seen[1].gathered(30).unwrap()[1], 0.0);
    }

    /// At a force too soft to pack them more than at none, cells that have come to lie are not called falling.
    #[test]
    fn a_bed_at_rest_is_packed_at_soft_force() {
        let mut setup = demo();
        setup.spins.truncate(1);
        let g = Speed::Rcf { g: Quantity::new(45.0).unwrap(), at: crate::spin::rcf::RadiusKind::Maximum };
        setup.spins[0].programme.0 = vec![Stage::Hold { speed: g, time: Seconds::new(3600.0).unwrap() }];
        setup.spins[0].profiles_at.clear();
        let Reply::Column(seen) = ask(&Question::Column(setup)) else { panic!() };
        let names = |frame| seen[0].parts(frame, false).iter().map(|p| p.0).collect::<Vec<_>>();
        assert_eq!(names(30), [Part::Plasma, Part::Packed], "{:?}", seen[0].parts(30, false));
        assert!(names(3).contains(&Part::Falling));
    }

    /// From the top down, without a gap, and nothing but plasma over cells.
    #[test]
    fn parts_fill_the_column() {
        let Reply::Column(seen) = ask(&Question::Column(demo())) else { panic!() };
        let begun = seen[0].parts(0, false);
        assert_eq!(begun.iter().map(|p| p.0).collect::<Vec<_>>(), [Part::Falling]);
        let ended = seen[0].parts(30, false);
        assert_eq!(ended[0].0, Part::Plasma);
        assert_eq!(ended.last().unwrap().0, Part::Packed);
        assert_eq!((ended[0].1, ended.last().unwrap().2), (seen[0].column, 0.0));
        assert!(ended.windows(2).all(|p| p[0].2 - p[1].1 < 0.3), "{ended:?}");
        assert_eq!(seen[1].parts(30, true).last().unwrap().0, Part::Pellet);
    }

    /// The row of the programme's own speed, at its own time, against one hold reckoned by itself.
    #[test]
    fn a_row_answers_every_time() {
        let (row, place) = OWN;
        assert!((speed_share(row) - 1.0).abs() < 1e-12 && (time_share(place) - 1.0).abs() < 1e-12);
        let shares = shares(&demo(), row).unwrap();
        assert_eq!(shares.len(), PLACES);
        let Scales { speed: rpm, time, .. } = scales(&demo()).unwrap();
        let mut alone = Setup { cells: COARSE, ..demo() };
        alone.spins.truncate(1);
        alone.spins[0].profiles_at.clear();
        alone.spins[0].programme = Programme(vec![Stage::Hold { speed: Speed::Rpm(rpm), time }]);
        let spun = picture(&alone).unwrap().spins.swap_remove(0);
        let wanted = spun.series.last().unwrap().above.clear;
        assert!((shares[place] - wanted).abs() < 0.005, "{} {wanted}", shares[place]);
    }

    /// Rated for 1100 rpm, of 1020 asked for: rows from 1.1 times the speed on are not to be run. Nor is their turn told.
    #[test]
    fn a_row_over_a_rating_is_refused() {
        let mut setup = demo();
        assert!((0..ROWS).all(|row| over(&setup, row).is_none()));
        setup.rotor.rated_rpm = Some(Quantity::new(1100.0).unwrap());
        let first = (0..ROWS).find(|row| over(&setup, *row).is_some()).unwrap();
        assert!((speed_share(first) - 1.1).abs() < 1e-9, "{}", speed_share(first));
        let refused = Reply::Refused(Refusal::Over);
        assert_eq!(ask(&Question::Row(setup.clone(), first)), refused);
        assert_eq!(ask(&Question::Turning(setup.clone(), Some(first))), refused);
        assert!(matches!(ask(&Question::Row(setup.clone(), first - 1)), Reply::Row(..)));
        setup.rotor.rated_rpm = None;
        setup.spins[0].tube.rated = Some(Quantity::new(90.0).unwrap());
        assert_eq!(over(&setup, OWN.0).unwrap().rating, crate::spin::programme::Rating::Container);
    }

    /// 180 ×g at 155 mm is 1019 rpm. Only one hold has a place on the map, and the time of it alone.
    #[test]
    fn one_hold_alone_has_its_place_on_the_map() {
        let of = |change: fn(&mut Vec<Stage>)| {
            let mut setup = demo();
            change(&mut setup.spins[0].programme.0);
            let found = scales(&setup).unwrap();
            (found.speed.get().round(), found.time.get(), found.one_hold)
        };
        // 30 s up and 60 s down are not of the hold.
        assert_eq!(of(|_| ()), (1019.0, 600.0, true));
        // Two holds, none, or a ramp that goes beyond the hold: 690 s in all, and more.
        assert_eq!(of(|stages| stages.push(stages[1].clone())), (1019.0, 1290.0, false));
        assert_eq!(of(|stages| drop(stages.remove(1))), (1019.0, 90.0, false));
        let beyond = of(|stages| {
            if let Stage::Ramp { to, .. } = &mut stages[0] {
                *to = Speed::Rpm(Quantity::new(2000.0).unwrap());
            }
        });
        assert_eq!(beyond, (2000.0, 690.0, false));
    }

    /// A row is one reckoning without a band: no number finer than a fifth leaves it, and no place of it is named.
    #[test]
    fn the_map_says_no_more_than_fifths() {
        assert_eq!([0.0, 0.199, 0.2, 0.5, 0.79, 0.8, 1.0].map(fifth), [0, 0, 1, 2, 3, 4, 4]);
        let text = answer(&Question::Row(demo(), OWN.0).text().unwrap());
        let Some(Reply::Row(_, fifths)) = Reply::read(&text) else { panic!("{text}") };
        assert_eq!(fifths, shares(&demo(), OWN.0).unwrap().into_iter().map(fifth).collect::<Vec<_>>());
        assert!(
            !text.contains('.') && fifths.iter().all(|f| *f < 5) && fifths.windows(2).any(|w| w[0] != w[1])
        );
    }

    /// A programme draws as much off as itself, and the other sign the other way; a shorter one draws off less.
    #[test]
    fn the_same_draws_tell_two_programmes_apart() {
        let (own, mut brief) = (demo(), demo());
        brief.spins[0].profiles_at.clear();
        for stage in &mut brief.spins[0].programme.0 {
            stage.take(Some(Quantity::new(100.0).unwrap()));
        }
        assert_eq!(ask(&Question::More(own.clone(), Box::new(own.clone()))), Reply::More(Some([0.0; 2])));
        let Reply::More(Some([low, high])) = ask(&Question::More(brief.clone(), Box::new(own.clone())))
        else {
            panic!()
        };
        let Reply::More(Some(back)) = ask(&Question::More(own, Box::new(brief))) else { panic!() };
        assert!(low <= high && high < 0.0, "{low} {high}");
        assert!((back[0] + high).abs() < 1e-9 && (back[1] + low).abs() < 1e-9);
    }

    /// 6 mL off the top of the demo’s 15: about 52 mm above the bottom, clear of the cells in the middle of what is assumed,
    /// among them where they stand higher. No share is told of it, and not which of two draws off more.
    #[test]
    fn no_share_where_the_line_lies_in_the_cells_in_many_draws() {
        let mut off = demo();
        off.spins.truncate(1);
        off.spins[0].parting.line =
            crate::spin::column::Line::AboveBottom { kept: Quantity::new(9.0).unwrap() };
        let found = banded(&Setup { cells: COARSE, ..off.clone() }).unwrap();
        let bands = &found.bands[0];
        let top = bands.interface[60];
        println!("line {:?}, top {top:?}, {} unparted", bands.line, bands.unparted);
        assert!(top.low < bands.line.value && bands.line.value < top.high);
        let untold = Unparted::InDraws { unparted: bands.unparted, draws: 48 };
        assert!(bands.unparted > 4 && bands.shares() == Err(untold));
        let Reply::Bands(all) = ask(&Question::Bands(off.clone())) else { panic!() };
        assert_eq!(all[0].shares, Err(untold));
        assert_eq!(ask(&Question::More(off, Box::new(demo()))), Reply::More(None));
        // The demo’s own line goes with the top of the cells.
        let Reply::Bands(own) = ask(&Question::Bands(demo())) else { panic!() };
        assert!(own.iter().all(|o| o.shares.is_ok()));
    }

    /// Frames are thirtieths of a spin; what is over stays as it ended.
    #[test]
    fn a_moment_is_the_frame_nearest_to_its_time() {
        let Reply::Column(seen) = ask(&Question::Column(demo())) else { panic!() };
        let first = &seen[0];
        let third = first.lasts() / 3.0;
        assert_eq!([0.0, third, third + 1.0, 1e6].map(|s| first.frame_at(s)), [0, 10, 10, 30]);
    }

    #[test]
    fn bands_lie_about_the_figures() {
        let Reply::Bands(off) = ask(&Question::Bands(demo())) else { panic!() };
        assert_eq!(off.len(), 2);
        let all = off.iter().flat_map(|o| {
            let moments = o.interface.iter().chain(&o.platelets).chain(&o.volume);
            moments.chain(o.shares.iter().flatten()).chain(&o.column).chain(&o.parted)
        });
        assert!(all.clone().all(|[low, high]| *low <= 0.0 && *high >= 0.0));
        assert!(all.clone().any(|[low, high]| *low < 0.0 && *high > 0.0));
        // The first column is what was filled; the second what the first leaves, as far off as that.
        assert_eq!((off[0].column, off[0].parted.is_some()), (None, true));
        for ends in [off[0].parted, off[1].column, Some(off[0].volume[30])].map(Option::unwrap) {
            assert!(ends[0] < -0.05 && ends[1] > 0.05, "{ends:?}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert_eq!(Reply::read(&answer("nonsense")), Some(Reply::Refused(Refusal::Outside)));
        let mut high = demo();
        high.spins[0].tube.inner_diameter = Quantity::new(5.0).unwrap();
        assert_eq!(ask(&Question::Column(high)), Reply::Refused(Refusal::TooHigh));
        assert_eq!(Reply::read("{}"), None);
    }

    /// A band on a row is that of one hold for twice the time; what cannot be reckoned is refused.
    #[test]
    fn a_row_says_where_it_turns() {
        let Reply::Turning(found) = ask(&Question::Turning(demo(), Some(OWN.0))) else { panic!() };
        println!("own speed, held 20 min: {found:?}");
        assert_eq!(found, turning_point(&held(&demo(), OWN.0).unwrap()).unwrap());
        let Reply::Turning(planned) = ask(&Question::Turning(demo(), None)) else { panic!() };
        println!("as planned: {planned:?}");
        assert!(planned.turned <= found.turned);
        let mut still = demo();
        still.spins[0].programme.0.clear();
        assert!(matches!(ask(&Question::Turning(still, Some(0))), Reply::Refused(_)));
        // The programme’s own time is in the middle of its place.
        let time = |s: f64| Seconds::new(s).unwrap();
        assert_eq!(place_of(time(600.0), time(600.0)), Some(OWN.1 as f64 + 0.5));
        assert_eq!(place_of(time(1.0), time(0.0)), None);
    }
}
