//! Published rows, and what the picture says of each: a setup with what the paper does not print taken, and how far
//! that may be off.

use std::collections::BTreeMap;
use strawline::quantity::{Millimetre, Quantity, Rcf, Seconds, Volume};
use strawline::spin::column::prior::Assumed;
use strawline::spin::column::{Blood, Line, Parting, Setup, Spin, Spun, assuming};
use strawline::spin::programme::{Programme, Speed, Stage};
use strawline::spin::rcf::RadiusKind;
use strawline::spin::rotor::{Rotor, RotorKind};
use strawline::spin::tube::{End, Tube};

/// What came out, or why not.
pub type Or<T> = Result<T, String>;

/// What a row measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// Volume drawn off the first spin, over the blood as printed.
    VolumeAbove,
    /// Share of the platelets drawn off the first spin.
    ShareAbove,
    /// Share of the platelets in what is kept at the bottom of the second spin.
    SharePellet,
    /// Their concentration in it, over that of the blood.
    FoldPellet,
    /// Platelets per fluid among the packed cells, over those above.
    Trapped,
    /// Packed fraction of red cells: a prior stands on it, so that it checks nothing.
    Packed,
    /// A bag, or no force: outside of the picture.
    Outside,
    /// What goes up or down, in words (`read`): no number.
    Direction,
}

/// One row of `tests/published/spins.csv`.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub id: String,
    /// Papers of the same donors have one key.
    pub paper: String,
    pub what: What,
    /// Published range: one SD either way, or as printed.
    pub low: f64,
    pub high: f64,
    /// Blood as printed, or reckoned from what was [mL].
    pub blood: Option<f64>,
    /// Force [×g] and time [min] of each spin.
    pub spins: Vec<(f64, f64)>,
    /// Used to calibrate.
    pub fit: bool,
    /// Where it stands.
    pub source: String,
    /// What was read.
    pub read: String,
}

impl Row {
    pub fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }
    /// Half of the range.
    pub fn spread(&self) -> f64 {
        0.5 * (self.high - self.low)
    }
}

/// Cells of a line of CSV, quotes as RFC 4180 has them.
fn cells(line: &str) -> Vec<String> {
    let (mut found, mut quoted) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => found.push(String::new()),
            c => {
                if let Some(last) = found.last_mut() {
                    last.push(c);
                }
            }
        }
    }
    found
}

/// Reads the rows. Errors: a row that is none.
pub fn read(text: &str) -> Or<Vec<Row>> {
    let mut lines = text.lines();
    let head = cells(lines.next().unwrap_or_default());
    let row = |line: &str| {
        let cells: BTreeMap<_, _> = head.iter().cloned().zip(cells(line)).collect();
        let text = |key: &str| cells.get(key).cloned().ok_or_else(|| format!("{line}: no {key}"));
        let number = |key: &str| {
            let text = text(key)?;
            if text.is_empty() {
                Ok(f64::NAN)
            } else {
                text.parse().map_err(|e| format!("{line}: {key}: {e}"))
            }
        };
        let what = match text("what")?.as_str() {
            "volume_above" => What::VolumeAbove,
            "share_above" => What::ShareAbove,
            "share_pellet" => What::SharePellet,
            "fold_pellet" => What::FoldPellet,
            "trapped" => What::Trapped,
            "packed" => What::Packed,
            "outside" => What::Outside,
            "direction" => What::Direction,
            other => return Err(format!("{line}: {other} is nothing that is measured")),
        };
        let blood = Some(number("blood_mL")?).filter(|ml| ml.is_finite());
        let spins =
            [(number("first_g")?, number("first_min")?), (number("second_g")?, number("second_min")?)];
        Ok(Row {
            id: text("id")?,
            paper: text("paper")?,
            what,
            low: number("low")?,
            high: number("high")?,
            blood,
            spins: spins.into_iter().filter(|(g, min)| g.is_finite() && min.is_finite()).collect(),
            fit: text("fit")? == "yes",
            source: text("source")?,
            read: text("read")?,
        })
    };
    lines.map(row).collect()
}

/// Whether the blood as printed holds its anticoagulant (and was counted with it), or has it added.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Convention {
    Included,
    Apart,
}

pub const CONVENTIONS: [Convention; 2] = [Convention::Included, Convention::Apart];

/// What a paper does not print, in standard deviations from what is taken. All of it judgement.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Unseen {
    /// Height of the column.
    pub column: f64,
    /// Haematocrit: 0.42 ± 0.03; Petrushenko's by 4.455 ×10¹²/L at an assumed 91.5 ± 2.5 fL, 0.408 ± 0.011.
    pub haematocrit: f64,
    /// Force at the maximum radius, times or divided by 1.1: the radius is not named.
    pub force: f64,
    /// Maximum radius: 150 ± 25 mm.
    pub radius: f64,
    /// Left behind above the cells of the first spin: 2 ± 1 mm.
    pub left_behind: f64,
    /// Anticoagulant: 0.10 ± 0.03 of what is in the tube.
    pub anticoagulant: f64,
}

impl Unseen {
    pub const COUNT: usize = 6;
    pub fn of(z: [f64; Self::COUNT]) -> Self {
        let [column, haematocrit, force, radius, left_behind, anticoagulant] = z;
        Self { column, haematocrit, force, radius, left_behind, anticoagulant }
    }
}

/// Blood taken where a paper does not print it [mL] (judgement). It decides little: the height of its column is taken too.
pub fn blood_taken(paper: &str) -> f64 {
    match paper {
        "amable" => 10.0,
        _ => 9.0,
    }
}

/// Height of the column taken for a volume of blood, and its SD [mm] (judgement).
pub fn column_height(blood: f64) -> (f64, f64) {
    match blood {
        ..5.0 => (45.0, 10.0),
        8.0..9.0 => (65.0, 12.0),
        9.0..9.5 => (55.0, 10.0),
        _ => (55.0, 15.0),
    }
}

/// Cells the column is cut into here.
const CELLS: u16 = 40;
/// Up and down of each spin [s].
const RAMPS: [f64; 2] = [30.0, 60.0];
/// Share of the first spin's plasma that Perez keeps; share of the blood that Amable's product is (recovery over fold).
const KEPT_PEREZ: f64 = 1.0 / 3.0;
const KEPT_AMABLE: f64 = 0.091;

fn q<Q: Quantity>(value: f64) -> Or<Q> {
    Q::new(value).map_err(|range| range.to_string())
}

fn programme(force: f64, minutes: f64) -> Or<Programme> {
    let g: Rcf = q(force)?;
    let speed = Speed::Rcf { g, at: RadiusKind::Maximum };
    let [up, down] = RAMPS;
    Ok(Programme(vec![
        Stage::Ramp { to: speed, time: q::<Seconds>(up)? },
        Stage::Hold { speed, time: q::<Seconds>(60.0 * minutes)? },
        Stage::Stop { time: Some(q::<Seconds>(down)?) },
    ]))
}

/// A spin of a row, or of what a sentence of a paper compares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bench<'a> {
    pub paper: &'a str,
    /// Blood as printed [mL].
    pub blood: f64,
    pub spins: &'a [(f64, f64)],
    pub convention: Convention,
}

/// What the picture says of a row's spins.
pub struct Seen {
    first: Spun,
    /// Share of the platelets kept at the bottom of the second, and the volume of it [mL].
    pellet: Option<(f64, f64)>,
    /// Blood as printed, and of it what a count of the blood refers to [mL].
    blood: f64,
    haematocrit: f64,
    fill: f64,
}

impl Bench<'_> {
    pub fn seen(&self, unseen: &Unseen, assumed: &Assumed) -> Or<Seen> {
        let share = (0.10 + 0.03 * unseen.anticoagulant).clamp(0.01, 0.4);
        let fill = match self.convention {
            Convention::Included => self.blood,
            Convention::Apart => self.blood / (1.0 - share),
        };
        // Petrushenko counted red cells; by the convention, in the mixture.
        let native = match (self.paper, self.convention) {
            ("petrushenko", Convention::Included) => (0.408 + 0.011 * unseen.haematocrit) / (1.0 - share),
            ("petrushenko", Convention::Apart) => 0.408 + 0.011 * unseen.haematocrit,
            _ => 0.42 + 0.03 * unseen.haematocrit,
        };
        let (column, sd) = column_height(self.blood);
        let maximum = 150.0 + 25.0 * unseen.radius;
        // Not within 20 mm of the axis: no rotor is filled to there.
        let height = (column + sd * unseen.column).max(15.0).min(maximum - 20.0);
        // d = √(4V/(π·h)), a flat end
        let diameter = (4.0 * 1000.0 * fill / (std::f64::consts::PI * height)).sqrt();
        let tube = Tube { inner_diameter: q::<Millimetre>(diameter)?, end: End::Flat, rated: None };
        let left = (2.0 + unseen.left_behind).max(0.0) * fill / height;
        let rotor = Rotor {
            id: "row".to_owned(),
            name: "row".to_owned(),
            kind: RotorKind::SwingOut,
            minimum: None,
            maximum: Some(q(maximum)?),
            rated_rpm: None,
            rated_bucket: None,
            speed_step: None,
            places: None,
            tolerance: None,
        };
        let times = 1.1_f64.powf(unseen.force);
        let above = Line::AboveCells { left_behind: q::<Volume>(left)? };
        let spin = |(g, minutes): (f64, f64), line| {
            Ok::<_, String>(Spin {
                tube,
                programme: programme(g * times, minutes)?,
                parting: Parting { line, disturbed: q(0.0)? },
                profiles_at: Vec::new(),
            })
        };
        let blood = Blood {
            blood: q(fill * (1.0 - share))?,
            anticoagulant: q(fill * share)?,
            haematocrit: q(native.clamp(0.05, 0.7))?,
            platelets: q(250.0)?,
            white_cells: None,
        };
        let run = |spins: Vec<Spin>| {
            let setup = Setup { rotor: rotor.clone(), blood, spins, cells: CELLS };
            assuming(&setup, assumed).map(|p| p.spins).map_err(|e| format!("{}: {e:?}", self.paper))
        };
        let first = self.spins.first().copied().ok_or("no spin")?;
        let mut spun = run(vec![spin(first, above)?])?;
        let mut pellet = None;
        if let Some(second) = self.spins.get(1) {
            let drawn = spun.first().map_or(0.0, |s| s.collection.above.get());
            let kept = if self.paper == "perez" {
                KEPT_PEREZ * drawn
            } else {
                (KEPT_AMABLE * self.blood).min(drawn)
            };
            let line = Line::AboveBottom { kept: q::<Volume>(kept)? };
            spun = run(vec![spin(first, above)?, spin(*second, line)?])?;
            pellet = spun.pop().map(|s| (s.collection.platelets_below, kept));
        }
        let first = spun.pop().ok_or("no spin")?;
        let blood = self.blood;
        Ok(Seen { first, pellet, blood, haematocrit: native * (1.0 - share), fill })
    }
}

impl Seen {
    pub fn share_above(&self) -> f64 {
        self.first.collection.platelets_above
    }
    /// Concentration of platelets in what is drawn off, over that of what was spun.
    pub fn fold_above(&self) -> f64 {
        self.share_above() / (self.first.collection.above.get() / self.fill)
    }
    pub fn value(&self, what: What) -> Or<f64> {
        let pellet = || self.pellet.ok_or("no second spin");
        Ok(match what {
            What::VolumeAbove => self.first.collection.above.get() / self.blood,
            What::ShareAbove => self.share_above(),
            What::SharePellet => pellet()?.0,
            What::FoldPellet => pellet().map(|(share, kept)| share / (kept / self.blood))?,
            What::Trapped => {
                // Below the top of the cells: what is no red cell is fluid.
                let end = self.first.series.last().ok_or("no moment")?.above;
                let fluid = self.fill - end.volume - self.haematocrit * self.fill;
                ((1.0 - end.platelets) / fluid) / (end.platelets / end.volume)
            }
            What::Packed | What::Outside | What::Direction => return Err("outside of the picture".to_owned()),
        })
    }
}

impl Row {
    /// Blood as printed, or as taken [mL].
    pub fn filled(&self) -> f64 {
        self.blood.unwrap_or_else(|| blood_taken(&self.paper))
    }
    pub fn seen(&self, convention: Convention, unseen: &Unseen, assumed: &Assumed) -> Or<Seen> {
        Bench { paper: &self.paper, blood: self.filled(), spins: &self.spins, convention }
            .seen(unseen, assumed)
    }
    /// Of the same spins as another.
    pub fn is_of(&self, other: &Self) -> bool {
        (&self.paper, self.filled(), &self.spins) == (&other.paper, other.filled(), &other.spins)
    }
    /// Whether the picture says a number of it that a prior does not say already.
    pub fn pictured(&self) -> bool {
        !matches!(self.what, What::Packed | What::Outside | What::Direction)
    }
}
