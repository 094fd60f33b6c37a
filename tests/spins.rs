//! The picture of a spin against published spins: `published/spins.csv` and the directions that papers state. The two
//! fitted constants are what `examples/calibrate` gives; how near the picture comes is printed, not passed:
//! `cargo test --test spins -- --nocapture`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test"
)]

#[path = "../examples/calibrate/fit.rs"]
mod fit;
#[path = "../examples/calibrate/rows.rs"]
mod rows;

use fit::{FITTED, Fit, LeftOut, Search, assumed, fits, foretold, left_out, says, search};
use rows::{Bench, CONVENTIONS, Convention, Or, Row, Seen, Unseen, What, column_height};
use std::sync::OnceLock;
use strawline::quantity::{Quantity, Seconds};
use strawline::spin::column::prior::{Assumed, PRIORS, Width};
use strawline::spin::column::{Line, Setup, assuming};
use strawline::spin::programme::{Programme, Speed, Stage};
use strawline::spin::rcf::RadiusKind;
use strawline::words::Phrase;
use strawline::words::column::ColumnWord;

/// Observations that share no donors: the papers fitted to, of which each has one share of platelets.
const INDEPENDENT: usize = 3;
/// Standard deviations to either side of the middle that hold 80 %.
const EIGHTY: f64 = 1.2816;

fn all() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| rows::read(include_str!("published/spins.csv")).unwrap())
}

fn used() -> Vec<&'static Row> {
    all().iter().filter(|r| r.fit).collect()
}

/// The search under both conventions, drawn once.
fn searches() -> &'static [Search] {
    static FOUND: OnceLock<Vec<Search>> = OnceLock::new();
    FOUND.get_or_init(|| CONVENTIONS.iter().map(|c| search(&used(), *c).unwrap()).collect())
}

fn fitted() -> &'static (Vec<Fit>, Fit) {
    static FOUND: OnceLock<(Vec<Fit>, Fit)> = OnceLock::new();
    FOUND.get_or_init(|| fits(&used(), &used(), searches()).unwrap())
}

/// Each paper left out.
fn left() -> &'static [(String, Fit, Vec<LeftOut>)] {
    static FOUND: OnceLock<Vec<(String, Fit, Vec<LeftOut>)>> = OnceLock::new();
    FOUND.get_or_init(|| left_out(&used(), searches()).unwrap())
}

/// Value and factor of a constant as it stands.
fn constant(key: &str) -> (f64, f64) {
    let prior = PRIORS.iter().find(|p| p.key == key).expect("an assumption");
    let Width::Times(times) = prior.width else { panic!("{key} is not a factor") };
    (prior.value, times)
}

fn near(found: f64, wanted: f64) -> bool {
    (found / wanted - 1.0).abs() <= 0.02
}

/// Value and width, to 2 %; without one of the papers they would be others.
#[test]
fn the_constants_are_what_the_program_gives() {
    let (each, together) = fitted();
    for (convention, fit) in CONVENTIONS.iter().zip(each) {
        println!("{convention:?}: {:?} {:?}", fit.number(0), fit.number(1));
    }
    let agrees = |fit: &Fit| {
        FITTED.iter().enumerate().all(|(i, key)| {
            let (number, (value, times)) = (fit.number(i), constant(key));
            println!("{key}: {number:?}, as it stands {value} ×/÷ {times}");
            near(number.value, value) && near(number.times, times)
        })
    };
    assert!(agrees(together));
    assert!(left().iter().any(|(_, without, _)| !agrees(without)));
    // The bands take them as saying nothing of one another.
    assert!(together.correlation().abs() < 0.2, "{}", together.correlation());
}

/// What a standard deviation of either's prior moves a figure by, which is what the draws of a band are made of, is what
/// the fitted width moves it by, to a tenth: the share below the line of a short second spin, which both decide.
#[test]
fn the_width_is_carried_into_the_priors() {
    let mut setup = Setup::from_json(include_str!("shell/demo_spin.json")).unwrap();
    let force = Speed::Rcf { g: Quantity::new(300.0).unwrap(), at: RadiusKind::Maximum };
    let time = |s: f64| Seconds::new(s).unwrap();
    setup.spins[1].programme = Programme(vec![
        Stage::Ramp { to: force, time: time(30.0) },
        Stage::Hold { speed: force, time: time(180.0) },
    ]);
    setup.spins[1].parting.line = Line::AboveBottom { kept: Quantity::new(1.0).unwrap() };
    setup.cells = 40;
    let below = |assumed: &Assumed| assuming(&setup, assumed).unwrap().spins[1].collection.platelets_below;
    let half = |side: &dyn Fn(f64) -> Assumed| 0.5 * (below(&side(1.0)) - below(&side(-1.0)));
    for (i, key) in FITTED.iter().enumerate() {
        let carried = half(&|z| Assumed::but(key, z)).abs();
        let number = fitted().1.number(i);
        let moved = |wider: f64| {
            let side = |z: f64| {
                let mut at = fitted().1.at;
                at[1 - i] = constant(FITTED[1 - i]).0.ln();
                at[i] += wider * z * number.times.ln();
                assumed(at, |_| 0.0)
            };
            half(&side).abs()
        };
        let near = |moved: f64| (moved / carried - 1.0).abs() <= 0.1;
        println!("{key}: {:.4}, by its prior {carried:.4}", moved(1.0));
        assert!(near(moved(1.0)), "{key}: {} {carried}", moved(1.0));
        // A width that is off by a quarter would be noticed.
        assert!(!near(moved(1.25)) && !near(moved(0.75)), "{key}");
    }
}

/// Every published row that has settings: what the picture says with its 80 % band, beside what was published; the same
/// with the column a standard deviation lower and higher than taken, and under either convention of the anticoagulant.
/// What is the same under both counts once.
#[test]
fn the_table_of_published_spins() {
    let pictured: Vec<&Row> = all().iter().filter(|r| r.pictured()).collect();
    let (_, together) = fitted();
    println!("80 % bands; columns as taken, lower, higher; anticoagulant a tenth of what is in the tube");
    println!("the picture itself is off by {:.3}", together.discrepancy);
    let said = CONVENTIONS.map(|c| foretold(&pictured, c, together).unwrap());
    let same = |i: usize| (said[0][i].0 - said[1][i].0).abs() < 5e-4;
    let (mut hit, mut lines) = ([0, 0], [0, 0]);
    for (of, convention) in CONVENTIONS.iter().enumerate() {
        let column = |z: f64| {
            let unseen = Unseen { column: z, ..Unseen::default() };
            says(&pictured, *convention, &unseen, &assumed(together.at, |_| 0.0)).unwrap()
        };
        let (low, high) = (column(-1.0), column(1.0));
        for (i, row) in pictured.iter().enumerate() {
            if of == 1 && same(i) {
                println!("{:<22} Apart: the same", row.id);
                continue;
            }
            let (middle, sd) = said[of][i];
            let (height, off) = column_height(row.filled());
            let band = (middle - EIGHTY * sd, middle + EIGHTY * sd);
            let meets = band.0 <= row.high && row.low <= band.1;
            println!(
                "{:<22} {convention:?}: published {:.3} to {:.3} (width {:.3}); picture {middle:.3}, {:.3} to {:.3} (width {:.3}), off {:+.3}; \
                 column {height} mm, {} mm {:.3}, {} mm {:.3}; {}{}",
                row.id,
                row.low,
                row.high,
                row.high - row.low,
                band.0,
                band.1,
                band.1 - band.0,
                middle - row.middle(),
                height - off,
                low[i],
                height + off,
                high[i],
                if meets { "they meet" } else { "apart" },
                if row.fit { ", fitted" } else { "" }
            );
            assert!(sd.is_finite() && sd > together.discrepancy * 0.99);
            let fitted = usize::from(row.fit);
            (hit[fitted], lines[fitted]) = (hit[fitted] + usize::from(meets), lines[fitted] + 1);
        }
    }
    for row in all().iter().filter(|r| !r.pictured()) {
        match row.what {
            What::Packed => println!("{:<22} a prior stands on it", row.id),
            What::Outside => println!("{:<22} outside of the picture", row.id),
            _ => {}
        }
    }
    println!("of rows not fitted, and fitted: {hit:?} of {lines:?} meet");
    // As the guide reports it: no mark to pass.
    assert_eq!((hit, lines), ([1, 8], [3, 8]), "the guide says otherwise");
    let numbers = all().iter().filter(|r| r.what != What::Direction).count();
    assert_eq!((used().len(), pictured.len(), numbers), (5, 7, 11));
}

/// Each paper left out, and what the others say of it: the page tells of it, in whole platelets of a hundred.
#[test]
fn what_the_others_say_of_a_paper_left_out() {
    let mut squares = Vec::new();
    let mut too_few: Vec<f64> = Vec::new();
    for (paper, fit, said) in left() {
        println!(
            "without {paper}: {:?} {:?}, off itself {:.3}",
            fit.number(0),
            fit.number(1),
            fit.discrepancy
        );
        let off = |row: &LeftOut| row.said.0 - row.published.0;
        for row in said {
            println!(
                "  {:<22} {:?}: published {:.3}, said {:.3} ± {:.3}, off {:+.3}",
                row.id,
                row.convention,
                row.published.0,
                row.said.0,
                row.said.1,
                off(row)
            );
        }
        // One observation, whatever the convention.
        let shares: Vec<f64> = said.iter().filter(|r| r.id.ends_with("recovery")).map(off).collect();
        assert_eq!(shares.len(), CONVENTIONS.len());
        squares.push(shares.iter().map(|o| o * o).sum::<f64>() / shares.len() as f64);
        too_few.extend(shares.iter().map(|off| -100.0 * off).filter(|few| *few > 5.0));
    }
    assert_eq!((squares.len(), too_few.len()), (INDEPENDENT, 4));
    let mean = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    println!("shares of platelets of papers left out: root mean square {mean:.3}");
    let (least, most) = too_few.iter().fold((f64::INFINITY, 0.0_f64), |(l, m), s| (l.min(*s), m.max(*s)));
    let said = format!("{least:.0} to {most:.0} of 100 platelets too few");
    assert!(Phrase::english(&ColumnWord::Standing2).contains(&said), "{said}");
    // What the fit says the picture is off by itself is what is seen where it was not fitted.
    assert!((fitted().1.discrepancy / mean - 1.0).abs() < 0.3, "{} {mean}", fitted().1.discrepancy);
}

/// Random numbers by Marsaglia's xorshift, normal by Box and Muller.
struct Chance(u64);

impl Chance {
    fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform().max(1e-300), self.uniform());
        ((-2.0 * a.ln()).sqrt() * (2.0 * std::f64::consts::PI * b).cos()).clamp(-3.0, 3.0)
    }
}

/// One world in which the priors and what is not printed are drawn.
struct Draw {
    assumed: Assumed,
    unseen: Unseen,
    convention: Convention,
}

impl Draw {
    fn seen(&self, blood: f64, spins: &[(f64, f64)]) -> Seen {
        let bench = Bench { paper: "perez", blood, spins, convention: self.convention };
        bench.seen(&self.unseen, &self.assumed).unwrap()
    }
    fn first(&self, g: f64, minutes: f64) -> Seen {
        self.seen(9.02, &[(g, minutes)])
    }
    /// Platelets of 8 fL drawn off over those of 4 fL: what moves the mean volume.
    fn large_over_small(&self, g: f64) -> f64 {
        let of = |volume: f64| {
            let assumed = Assumed { platelet_volume: volume, platelet_spread: 0.0, ..self.assumed };
            Self { assumed, ..*self }.first(g, 10.0).share_above()
        };
        of(8.0) / of(4.0)
    }
    fn pellet(&self, blood: f64) -> f64 {
        self.seen(blood, &[(100.0, 10.0), (400.0, 10.0)]).value(What::SharePellet).unwrap()
    }
}

/// A direction by its row, whether it is true of the picture, and what it says of one draw.
type Claim = (&'static str, bool, fn(&Draw) -> bool);

/// What papers say goes up or down. Times that were not seen are taken as 10 min.
const CLAIMS: [Claim; 7] = [
    ("perez-larger-tube", false, |d| d.pellet(8.5) < d.pellet(3.5)),
    ("single-spin-modes", true, |d| d.first(110.0, 5.0).fold_above() > d.first(190.0, 15.0).fold_above()),
    ("femia-volume", true, |d| d.large_over_small(300.0) < d.large_over_small(150.0)),
    ("soderstrom-yield", false, |d| d.first(250.0, 10.0).share_above() > d.first(100.0, 10.0).share_above()),
    ("soderstrom-volume", true, |d| d.large_over_small(250.0) < d.large_over_small(100.0)),
    ("soderstrom-hard", true, |d| d.first(2000.0, 10.0).fold_above() < d.first(250.0, 10.0).fold_above()),
    ("machado-single", true, |d| d.first(1600.0, 10.0).fold_above() < d.first(600.0, 10.0).fold_above()),
];

/// Directions that this picture says nothing of, and why.
const NOT_PICTURED: [(&str, &str); 8] = [
    ("perez-softer-first", "the forces compared were not read"),
    ("femia-red-cells", "red cells left in the plasma are not pictured"),
    ("soderstrom-again", "what is stirred up at the end of a spin is not pictured"),
    ("machado-double-300", "times, and volumes kept, which decide the fold, were not read"),
    ("machado-double-600", "times, and volumes kept, which decide the fold, were not read"),
    ("machado-closed", "the blood stays in one tube that is turned over"),
    ("araki-plasma", "what counted as best was not read"),
    ("araki-white-cells", "of white cells in the plasma nothing is said"),
];

/// Every direction of the table is judged or left, once.
#[test]
fn every_direction_has_its_row() {
    let mut here: Vec<&str> = CLAIMS.iter().map(|c| c.0).chain(NOT_PICTURED.iter().map(|n| n.0)).collect();
    let directions = || all().iter().filter(|r| r.what == What::Direction);
    let mut rows: Vec<&str> = directions().map(|r| r.id.as_str()).collect();
    here.sort_unstable();
    rows.sort_unstable();
    assert_eq!(here, rows);
    assert!(directions().all(|r| !r.source.is_empty() && !r.read.is_empty() && !r.fit));
}

/// A direction counts as true where nine of ten draws have it, and as not true where no more than eight have it: each
/// stands on the side that is said of it.
#[test]
fn the_directions_that_papers_state() {
    let draws = if std::env::var_os("STRAWLINE_LONG").is_some() { 1000 } else { 100 };
    let mut chance = Chance(20_140_176);
    let mut held = [0; CLAIMS.len()];
    for i in 0..draws {
        let assumed = Assumed::off_by(|_| chance.normal());
        let unseen = Unseen::of(std::array::from_fn(|_| chance.normal()));
        let draw = Draw { assumed, unseen, convention: CONVENTIONS[i % 2] };
        for (held, (.., holds)) in held.iter_mut().zip(CLAIMS) {
            *held += usize::from(holds(&draw));
        }
    }
    let row = |id: &str| all().iter().find(|r| r.id == id).unwrap();
    let mut wrong = Vec::new();
    for (held, (id, side, _)) in held.iter().zip(CLAIMS) {
        let row = row(id);
        println!("{id}: {held} of {draws} draws; {} ({})", row.read, row.source);
        let stands = if side { 10 * held >= 9 * draws } else { 10 * held <= 8 * draws };
        if !stands {
            wrong.push((id, *held));
        }
    }
    for (id, why) in NOT_PICTURED {
        println!("{id}: not pictured, {why}; {} ({})", row(id).read, row(id).source);
    }
    assert!(wrong.is_empty(), "the guide says otherwise: {wrong:?}");
    assert_eq!(CLAIMS.iter().filter(|c| c.1).count(), 5, "the guide says otherwise");
}

/// A row that is none is refused, and says why.
#[test]
fn rows_are_read_or_refused() {
    let of = |line: &str| {
        rows::read(&format!(
            "id,paper,what,low,high,blood_mL,first_g,first_min,second_g,second_min,fit,source,read\n{line}"
        ))
    };
    let found = of("a,b,share_above,0.1,0.3,9,160,10,,,yes,\"x, y\",z").unwrap();
    assert_eq!((found[0].middle(), found[0].spins.clone()), (0.2, vec![(160.0, 10.0)]));
    assert_eq!(of("a,amable,direction,,,,,,,,no,x,z").unwrap()[0].filled(), 10.0, "taken");
    assert!(of("a,b,nothing,0.1,0.3,9,160,10,,,yes,x,z").is_err());
    assert!(of("a,b,share_above,x,0.3,9,160,10,,,yes,x,z").is_err());
    assert_eq!((found[0].filled(), found[0].source.as_str()), (9.0, "x, y"));
    let other: Or<f64> = found[0]
        .seen(Convention::Apart, &Unseen::default(), &Assumed::default())
        .and_then(|s| s.value(What::SharePellet));
    assert!(other.is_err());
}
