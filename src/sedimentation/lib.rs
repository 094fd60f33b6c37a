//! The equations of the column and the steps that carry them on. SI units throughout.
//!
//! Kinds of cell with volume fractions φ_k in a tube of cross-section A(r), no flow through its ends:
//! `∂(A·φ_k)/∂t + ∂(A·φ_k·v_k)/∂r = 0`, `v_k = slip_k − Σ_j φ_j·slip_j` (what sinks sends fluid up, and with it
//! whatever is slow), `slip_k = K_k·(ρ_k − ρ_s)·a·h(φ)`, `K_k = d_k²/(18µ)`, ρ_s the density of the *suspension*,
//! φ the sum of all φ_k (from memory; the example `spin` prints the source). For one kind alone this is Kynch's kinematic wave with
//! Richardson and Zaki's hindrance `(1 − φ)^n`.
//!
//! Finite volumes: what leaves a cell enters its neighbour. Limited slopes give second order where the answer is
//! smooth; at a face each kind is taken from where it comes from and slowed by the side it goes to, so that nothing
//! enters what is packed. Two stages a step. Steps are as long as what *carries* cells allows, not as short as the
//! fastest single cell asks for: no face lets more than half a cell's content out in a stage, so that the few ahead of
//! a front, or what has settled, hold nothing up and no fraction falls below nothing; nor more in than there is room
//! for, so that none rises above one.

#![expect(
    clippy::indexing_slicing,
    reason = "lists of one length, made together; kinds are counted by the compiler"
)]

/// Share of a cell that may cross a face in one stage at most; below one half nothing turns negative.
const HELD: f64 = 0.48;
/// Share of a cell that crosses a face in one stage, of what carries cells.
const COURANT: f64 = 0.32;
/// From this fraction on a kind's front is pushed together by what hinders it: what is ahead of it counts by how much
/// of it there is. Thinner, a quarter of what it began with still counts for all.
const CROWDED: f64 = 0.1;
/// A step is never longer than so many of those that the fastest single cell would ask for.
const MOST_AT_ONCE: f64 = 50.0;
/// A fraction that is none.
const VANISHED: f64 = 1e-60;
/// Entries of the table of hindrances.
const TABLE: usize = 4096;

/// A column cut into cells, from the top of the fluid to the bottom of the tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Distance of each face from the axis [m], both ends included.
    pub faces: Vec<f64>,
    /// What the speed squared is multiplied by to give the pull at each inner face [m].
    pub pull: Vec<f64>,
    /// Cross-section at each inner face [m²].
    pub area: Vec<f64>,
    /// Volume of each cell [m³].
    pub volume: Vec<f64>,
}

impl Grid {
    /// Most of a cell's volume that a speed of 1 m/s moves across one of its faces in a second.
    fn steep(&self) -> f64 {
        let of = |(i, volume): (usize, &f64)| {
            let below = self.area.get(i).copied().unwrap_or(0.0);
            let above = i.checked_sub(1).and_then(|i| self.area.get(i)).copied().unwrap_or(0.0);
            below.max(above) / volume
        };
        self.volume.iter().enumerate().map(of).fold(0.0, f64::max)
    }
}

/// One kind of cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    /// `d²/(18µ)` [m²/(Pa·s)], shape and drag included.
    pub drag: f64,
    /// Density above that of the fluid [kg/m³].
    pub over: f64,
}

/// How close cells pack: a fraction that grows with the logarithm of the pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Packing {
    /// At a pull of 1 m/s² on that line.
    pub at_one: f64,
    /// For each e-fold of the pull.
    pub slope: f64,
    /// Never less.
    pub low: f64,
    /// Never more.
    pub high: f64,
}

/// How red cells that hang together fall: `(1 + lag·extra·a^−fall)` times as fast as one alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clumping {
    /// At a pull of 1 m/s².
    pub extra: f64,
    /// How fast it is lost with the pull.
    pub fall: f64,
}

/// Speed and onset at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Angular speed [1/s].
    pub omega: f64,
    /// How much of the clumping has come about, 0 to 1.
    pub onset: f64,
}

/// The laws that hold in a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Law {
    /// `(1 − φ)^(n − 2)`, tabulated.
    table: Vec<f64>,
    /// How close cells pack.
    pub packing: Packing,
    /// How red cells hang together.
    pub clumping: Clumping,
}

impl Law {
    /// With Richardson and Zaki's exponent n, at least 2.
    pub fn new(exponent: f64, packing: Packing, clumping: Clumping) -> Self {
        let at = |i: usize| libm::pow((1.0 - i as f64 / TABLE as f64).max(0.0), exponent - 2.0);
        Self { table: (0..=TABLE).map(at).collect(), packing, clumping }
    }

    fn hindrance(&self, solids: f64) -> f64 {
        let x = solids.clamp(0.0, 1.0) * TABLE as f64;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 4096")]
        let i = (x as usize).min(TABLE - 1);
        let part = x - i as f64;
        let [low, high] = [self.table[i], self.table[i + 1]];
        low + part * (high - low)
    }
}

/// What fills the column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its cells.
    pub grid: Grid,
    /// Red cells first; the others do not clump.
    pub kinds: Vec<Kind>,
    /// Volume fraction of each kind, cell after cell, kind after kind.
    pub filled: Vec<f64>,
}

impl Column {
    /// Volume fraction of one kind, cell by cell.
    pub fn of(&self, kind: usize) -> &[f64] {
        let n = self.grid.volume.len();
        self.filled.get(kind * n..(kind + 1) * n).unwrap_or_default()
    }

    /// Volume of one kind in all [m³].
    pub fn amount(&self, kind: usize) -> f64 {
        self.of(kind).iter().zip(&self.grid.volume).map(|(f, v)| f * v).sum()
    }

    /// Volume fraction of all kinds together, cell by cell.
    pub fn solids(&self) -> Vec<f64> {
        let mut sum = vec![0.0; self.grid.volume.len()];
        for kind in 0..self.kinds.len() {
            sum.iter_mut().zip(self.of(kind)).for_each(|(s, f)| *s += f);
        }
        sum
    }
}

/// What a face is, apart from what stands on its sides.
#[derive(Debug, Clone, Copy)]
struct Face {
    pull: f64,
    /// Logarithm of the pull in m/s² at a speed of 1/s.
    log_pull: f64,
    /// What the pull makes of clumping.
    clumping: f64,
    area: f64,
    /// What of the smaller cell beside it a speed of 1 m/s moves across it in a second; and one over it.
    steep: f64,
    per_steep: f64,
}

/// Carries a column on: six kinds of cell, or eight with white cells. Its own copy lies cell after cell, so that what a
/// face needs is met at once; [`Solver::show`] gives it back.
pub enum Solver<'a> {
    /// Up to six kinds.
    Six(Carried<'a, 6>),
    /// Up to eight.
    Eight(Carried<'a, 8>),
}

impl<'a> Solver<'a> {
    /// Takes a column; kinds past the eighth are left as they are.
    pub fn new(column: &Column, law: &'a Law) -> Self {
        if column.kinds.len() <= 6 {
            Self::Six(Carried::new(column, law))
        } else {
            Self::Eight(Carried::new(column, law))
        }
    }

    /// Writes what it has come to into the column it was made from.
    pub fn show(&self, column: &mut Column) {
        match self {
            Self::Six(carried) => carried.show(column),
            Self::Eight(carried) => carried.show(column),
        }
    }

    /// Longest step at a drive [s]; infinite where nothing moves.
    pub fn longest(&self, drive: Drive) -> f64 {
        match self {
            Self::Six(carried) => carried.longest(drive),
            Self::Eight(carried) => carried.longest(drive),
        }
    }

    /// One step of `dt` [s], from one drive to the other.
    pub fn step(&mut self, dt: f64, from: Drive, to: Drive) {
        match self {
            Self::Six(carried) => carried.step(dt, from, to),
            Self::Eight(carried) => carried.step(dt, from, to),
        }
    }
}

/// A column of up to K kinds, carried on.
pub struct Carried<'a, const K: usize> {
    law: &'a Law,
    kinds: [Kind; K],
    faces: Vec<Face>,
    volume: Vec<f64>,
    per_volume: Vec<f64>,
    steep: f64,
    furthest: f64,
    /// One over the fraction from which on a kind counts for all.
    per_start: [f64; K],
    /// What carries cells, as a share of what the fastest single cell would.
    carrying: f64,
    filled: Vec<[f64; K]>,
    before: Vec<[f64; K]>,
}

impl<'a, const K: usize> Carried<'a, K> {
    fn new(column: &Column, law: &'a Law) -> Self {
        let Grid { pull, area, volume, .. } = &column.grid;
        let kind = |k: usize| column.kinds.get(k).copied().unwrap_or(Kind { drag: 0.0, over: 0.0 });
        let at = |k: usize, i: usize| column.of(k).get(i).copied().unwrap_or(0.0);
        let filled: Vec<[f64; K]> = (0..volume.len()).map(|i| std::array::from_fn(|k| at(k, i))).collect();
        let face = |((pull, area), (above, below)): ((&f64, &f64), (&f64, &f64))| Face {
            pull: *pull,
            log_pull: libm::log(*pull),
            clumping: libm::pow(*pull, -law.clumping.fall),
            area: *area,
            steep: area / lower(*above, *below),
            per_steep: lower(*above, *below) / area,
        };
        let start = |k: usize| {
            let most = column.of(k).iter().copied().fold(VANISHED, f64::max);
            if most > CROWDED { most } else { 0.25 * most }
        };
        let beside = volume.iter().zip(volume.iter().skip(1));
        Self {
            law,
            kinds: std::array::from_fn(kind),
            faces: pull.iter().zip(area).zip(beside).map(face).collect(),
            per_volume: volume.iter().map(|v| 1.0 / v).collect(),
            volume: volume.clone(),
            per_start: std::array::from_fn(|k| 1.0 / start(k)),
            carrying: 1.0,
            steep: column.grid.steep(),
            furthest: pull.iter().copied().fold(0.0, f64::max),
            before: filled.clone(),
            filled,
        }
    }

    fn show(&self, column: &mut Column) {
        let n = self.filled.len();
        for (k, kind) in column.filled.chunks_mut(n.max(1)).take(K).enumerate() {
            kind.iter_mut().zip(&self.filled).for_each(|(to, from)| *to = from[k]);
        }
    }

    fn longest(&self, drive: Drive) -> f64 {
        let rate = self.carrying * self.fastest(drive);
        if rate > 0.0 { COURANT / rate } else { f64::INFINITY }
    }

    /// How many cells a second the fastest single cell would cross.
    fn fastest(&self, drive: Drive) -> f64 {
        let a = drive.omega * drive.omega * self.furthest;
        let clumped = a + self.clumped(drive) * libm::pow(self.furthest, 1.0 - self.law.clumping.fall);
        let heaviest = self.kinds.iter().map(|k| k.over).fold(0.0, f64::max);
        let (mut down, mut up) = (0.0_f64, 0.0_f64);
        for (i, kind) in self.kinds.iter().enumerate() {
            let a = if i == 0 { clumped } else { a };
            down = down.max(kind.drag * kind.over * a);
            // Rises only where the suspension is the denser, and that is where it is crowded.
            let crowded = if heaviest > 0.0 { (kind.over / heaviest).clamp(0.0, 1.0) } else { 0.0 };
            up = up.max(kind.drag * (heaviest - kind.over) * a * self.law.hindrance(crowded));
        }
        self.steep * (down + up)
    }

    fn clumped(&self, drive: Drive) -> f64 {
        let Clumping { extra, fall } = self.law.clumping;
        drive.onset * extra * libm::pow(drive.omega, 2.0 * (1.0 - fall))
    }

    fn step(&mut self, dt: f64, from: Drive, to: Drive) {
        self.before.copy_from_slice(&self.filled);
        self.stage::<false>(dt, from);
        let carried = self.stage::<true>(dt, to);
        let fastest = self.fastest(to);
        if fastest > 0.0 {
            self.carrying = (carried / fastest).clamp(1.0 / MOST_AT_ONCE, 1.0);
        }
        for (now, before) in self.filled.iter_mut().zip(&self.before) {
            for k in 0..K {
                let mean = 0.5 * (now[k] + before[k]);
                // What is left of a clearing front would linger below what a processor reckons fast with.
                now[k] = if mean < VANISHED { 0.0 } else { mean };
            }
        }
    }

    /// Adds `dt` times what flows in, face by face from the top: what has been changed is not looked at again. Answers
    /// how many cells a second what carries cells crosses, if that is measured: each kind counts by how much of it there is, up to what it
    /// began with.
    fn stage<const MEASURED: bool>(&mut self, dt: f64, drive: Drive) -> f64 {
        let n = self.filled.len();
        let law = self.law;
        let squared = drive.omega * drive.omega;
        let log_squared = libm::log(squared.max(f64::MIN_POSITIVE));
        let clumped = if squared > 0.0 { self.clumped(drive) / squared } else { 0.0 };
        let (faces, volume, filled) = (&self.faces[..n - 1], &self.volume[..n], &mut self.filled[..n]);
        let (per_volume, per_dt) = (&self.per_volume[..n], 1.0 / dt);
        let per_start = self.per_start;
        let drag = self.kinds.map(|kind| kind.drag);
        let over = self.kinds.map(|kind| kind.over);
        let there = self.kinds.iter().filter(|kind| kind.drag > 0.0);
        let lightest = there.map(|kind| kind.over).fold(f64::INFINITY, f64::min);
        let (mut slope_here, mut inflow) = ([0.0; K], [0.0; K]);
        let mut carried = [0.0; K];
        // Room on either side of a face, of which each of a cell's two may take half in a stage.
        let room =
            |filled: &[f64; K], volume: f64| (1.0 - product(&[1.0; K], filled)) * volume * (0.5 * per_dt);
        let mut room_here = room(&filled[0], volume[0]);
        for j in 0..n - 1 {
            let (here, next) = (&filled[j], &filled[j + 1]);
            let slope_next = if j + 2 < n { limited(here, next, &filled[j + 2]) } else { [0.0; K] };
            let (mut left, mut right) = ([0.0; K], [0.0; K]);
            for k in 0..K {
                left[k] = here[k] + slope_here[k];
                right[k] = next[k] - slope_next[k];
            }
            let (solids_left, solids_right) = (product(&[1.0; K], &left), product(&[1.0; K], &right));
            let (over_left, over_right) = (product(&over, &left), product(&over, &right));
            let face = faces[j];
            let packing = law.packing;
            let most = packing.at_one + packing.slope * (log_squared + face.log_pull);
            let per_most = 1.0 / lower(higher(most, packing.low), packing.high);
            let ease = |solids: f64| law.hindrance(solids) * open(solids * per_most);
            let a = squared * face.pull;
            let mut slip = [0.0; K];
            let down = a * ease(solids_right);
            for k in 0..K {
                slip[k] = drag[k] * higher(over[k] - over_right, 0.0) * down;
            }
            // Only what is lighter than the suspension rises.
            if over_left > lightest {
                let up = a * ease(solids_left);
                for k in 0..K {
                    slip[k] += drag[k] * lower(over[k] - over_left, 0.0) * up;
                }
            }
            // Red cells hang together.
            slip[0] *= 1.0 + clumped * face.clumping;
            let back = product(&slip, &left);
            let most_speed = HELD * per_dt * face.per_steep;
            let mut flux = [0.0; K];
            let (mut down, mut up) = (0.0, 0.0);
            for k in 0..K {
                let v = slip[k] - back;
                let held = lower(higher(v, -most_speed), most_speed);
                let (falls, rises) = (higher(held, 0.0) * left[k], lower(held, 0.0) * right[k]);
                if MEASURED {
                    let there = if v > 0.0 { left[k] } else { right[k] };
                    carried[k] = higher(carried[k], face.steep * v.abs() * lower(there * per_start[k], 1.0));
                }
                flux[k] = face.area * (falls + rises);
                down += falls;
                up -= rises;
            }
            (down, up) = (face.area * down, face.area * up);
            let room_next = room(next, volume[j + 1]);
            if down > room_next || up > room_here {
                let fits = |flow: f64, room: f64| if flow > room { higher(room, 0.0) / flow } else { 1.0 };
                let share = lower(fits(down, room_next), fits(up, room_here));
                flux.iter_mut().for_each(|f| *f *= share);
            }
            room_here = room_next;
            let step = dt * per_volume[j];
            for k in 0..K {
                filled[j][k] += step * (inflow[k] - flux[k]);
            }
            inflow = flux;
            slope_here = slope_next;
        }
        let step = dt * per_volume[n - 1];
        for k in 0..K {
            filled[n - 1][k] += step * inflow[k];
        }
        carried.into_iter().fold(0.0, higher)
    }
}

/// What is left of a slip where cells fill this share of what they can: nothing once they are packed. The power only
/// says how sharp the corner is (our own judgement).
fn open(share: f64) -> f64 {
    let squared = share * share;
    let fourth = squared * squared;
    higher(1.0 - fourth * fourth, 0.0)
}

/// What a cell’s slopes come to at its faces, so that they make no new peak: half of monotonised central differences.
fn limited<const K: usize>(before: &[f64; K], here: &[f64; K], after: &[f64; K]) -> [f64; K] {
    let mut slopes = [0.0; K];
    for k in 0..K {
        let (up, down) = (here[k] - before[k], after[k] - here[k]);
        let steepest = lower(up.abs(), down.abs());
        let central = 0.25 * (up + down);
        let slope = lower(higher(central, -steepest), steepest);
        slopes[k] = if up * down > 0.0 { slope } else { 0.0 };
    }
    slopes
}

/// Sum of products, even and odd kinds apart, so that two are reckoned at once.
fn product<const K: usize>(a: &[f64; K], b: &[f64; K]) -> f64 {
    let mut halves = [0.0; 2];
    for k in (0..K - K % 2).step_by(2) {
        halves[0] += a[k] * b[k];
        halves[1] += a[k + 1] * b[k + 1];
    }
    let odd = if K % 2 == 1 { a[K - 1] * b[K - 1] } else { 0.0 };
    halves[0] + halves[1] + odd
}

/// The higher of two numbers that are numbers: `f64::max` also asks whether they are.
fn higher(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The lower of two numbers that are numbers.
fn lower(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

#[cfg(test)]
#[path = "exact_tests.rs"]
mod tests;
