//! Two numbers fitted to the published rows: how many times as fast clumped red cells fall at 160 ×g, and the speed of a
//! platelet over that of a sphere. Everything else that the rows depend on keeps its prior and widens the rows instead
//! (to first order, as a normal would), so that what is not known of a paper is in the width of what is fitted.

use crate::rows::{CONVENTIONS, Convention, Or, Row, Unseen, What};
use strawline::spin::column::prior::{Assumed, PRIORS};

/// The two numbers before any row: how widely they are looked for. That of clumping is wide, because what was thought of
/// it beforehand came from one of the rows; that of the drag is what a platelet's shape may do (judgement).
pub const BEFORE: [(&str, f64, f64); 2] = [("clumping", 4.0, 2.0), ("platelet_drag", 1.0, 1.3)];

/// What a picture in one dimension, that knows nothing of the donors, may be off by itself, in shares (judgement).
const DISCREPANCY: f64 = 0.1;

/// Fitted numbers in standard deviations of [`BEFORE`], with their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    pub at: [f64; 2],
    pub covariance: [[f64; 2]; 2],
}

/// A number as fitted: median, and the factor of one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    pub value: f64,
    pub times: f64,
}

impl Fit {
    /// One of the two: its logarithm is normal.
    pub fn number(&self, index: usize) -> Fitted {
        let ((_, middle, times), log) = (BEFORE[index], BEFORE[index].2.ln());
        Fitted {
            value: middle * times.powf(self.at[index]),
            times: (log * self.covariance[index][index].sqrt()).exp(),
        }
    }

    pub fn correlation(&self) -> f64 {
        let c = self.covariance;
        c[0][1] / (c[0][0] * c[1][1]).sqrt()
    }
}

/// Either convention may hold, one as likely as the other: mean, and the spread between them added to that within.
pub fn pooled(fits: &[Fit]) -> Fit {
    let n = fits.len() as f64;
    let at = [0, 1].map(|i| fits.iter().map(|f| f.at[i]).sum::<f64>() / n);
    let covariance = [0, 1].map(|i| {
        [0, 1].map(|j| {
            fits.iter().map(|f| f.covariance[i][j] + (f.at[i] - at[i]) * (f.at[j] - at[j])).sum::<f64>() / n
        })
    });
    Fit { at, covariance }
}

/// Assumptions with the two numbers so many standard deviations of [`BEFORE`] off, and the others of their priors.
pub fn assumed(at: [f64; 2], mut others: impl FnMut(&str) -> f64) -> Assumed {
    let fitted = |key: &str| BEFORE.iter().any(|(name, ..)| *name == key);
    let mut assumed = Assumed::off_by(|key| if fitted(key) { 0.0 } else { others(key) });
    let [clumping, drag] = [0, 1].map(|i| BEFORE[i].1 * BEFORE[i].2.powf(at[i]));
    assumed.clumping = clumping;
    assumed.platelet_drag = drag;
    assumed
}

/// What the picture says of each row; rows of the same spins are one picture.
pub fn says(rows: &[&Row], convention: Convention, unseen: &Unseen, assumed: &Assumed) -> Or<Vec<f64>> {
    let mut found = Vec::with_capacity(rows.len());
    let mut last: Option<(&Row, _)> = None;
    for &row in rows {
        let same = matches!(&last, Some((before, _)) if row.is_of(before));
        if !same {
            last = Some((row, row.seen(convention, unseen, assumed)?));
        }
        if let Some((_, seen)) = &last {
            found.push(seen.value(row.what)?);
        }
    }
    Ok(found)
}

/// Change of each row for one standard deviation of each prior but the two, and of what each paper does not print.
fn nuisances(rows: &[&Row], convention: Convention, at: [f64; 2]) -> Or<Vec<Vec<f64>>> {
    let mut found = Vec::new();
    let mut add = |side: &dyn Fn(f64) -> Or<Vec<f64>>| -> Or<()> {
        let (down, up) = (side(-1.0)?, side(1.0)?);
        found.push(up.iter().zip(&down).map(|(u, d)| 0.5 * (u - d)).collect());
        Ok(())
    };
    for prior in PRIORS.iter().filter(|p| BEFORE.iter().all(|(name, ..)| *name != p.key)) {
        // White cells are none of the rows'.
        if prior.key.starts_with("mononuclear") || prior.key.starts_with("granulocyte") {
            continue;
        }
        add(&|z| {
            let assumed = assumed(at, |key| if key == prior.key { z } else { 0.0 });
            says(rows, convention, &Unseen::default(), &assumed)
        })?;
    }
    let mut papers: Vec<&str> = rows.iter().map(|r| r.paper.as_str()).collect();
    papers.dedup();
    for paper in papers {
        let there = |row: &Row| row.paper == paper;
        for i in 0..Unseen::COUNT {
            add(&|z| {
                let mut off = [0.0; Unseen::COUNT];
                off[i] = z;
                let (unseen, assumed) = (Unseen::of(off), assumed(at, |_| 0.0));
                let its: Vec<&Row> = rows.iter().copied().filter(|r| there(r)).collect();
                let mut says = says(&its, convention, &unseen, &assumed)?.into_iter();
                Ok(rows.iter().map(|r| if there(r) { says.next().unwrap_or(0.0) } else { 0.0 }).collect())
            })?;
        }
    }
    Ok(found)
}

fn discrepancy(row: &Row) -> f64 {
    // Of a fold, as much as of the share it comes from.
    if row.what == What::FoldPellet { DISCREPANCY * row.middle() / 0.75 } else { DISCREPANCY }
}

/// Covariance of the rows: their own spread, the picture's discrepancy, what is not known.
fn covariance(rows: &[&Row], nuisances: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let own = |i: usize| rows[i].spread().powi(2) + discrepancy(rows[i]).powi(2);
    let of = |i: usize, j: usize| {
        nuisances.iter().map(|n| n[i] * n[j]).sum::<f64>() + if i == j { own(i) } else { 0.0 }
    };
    (0..rows.len()).map(|i| (0..rows.len()).map(|j| of(i, j)).collect()).collect()
}

/// Solves `a·x = b` for a symmetric positive a, by elimination.
fn solve(a: &[Vec<f64>], b: &[f64]) -> Vec<f64> {
    let n = b.len();
    let (mut a, mut x) = (a.to_vec(), b.to_vec());
    for i in 0..n {
        for j in i + 1..n {
            let times = a[j][i] / a[i][i];
            let above = a[i].clone();
            a[j].iter_mut().zip(&above).skip(i).for_each(|(to, from)| *to -= times * from);
            x[j] -= times * x[i];
        }
    }
    for i in (0..n).rev() {
        for j in i + 1..n {
            x[i] -= a[i][j] * x[j];
        }
        x[i] /= a[i][i];
    }
    x
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Where the two numbers are looked for, in standard deviations of [`BEFORE`]: clumping 1 to 32, drag 0.5 to 2.2.
const CLUMPING: (i32, i32, f64) = (-10, 15, 0.2);
const DRAG: (i32, i32, f64) = (-6, 7, 0.45);

/// What the picture says of each row at each place of the search.
pub struct Search {
    convention: Convention,
    says: Vec<([f64; 2], Vec<f64>)>,
}

/// Draws every picture of the search, once for all fits to these rows or some of them.
pub fn search(rows: &[&Row], convention: Convention) -> Or<Search> {
    let mut says_of = Vec::new();
    for i in CLUMPING.0..=CLUMPING.1 {
        for j in DRAG.0..=DRAG.1 {
            let at = [f64::from(i) * CLUMPING.2, f64::from(j) * DRAG.2];
            says_of.push((at, says(rows, convention, &Unseen::default(), &assumed(at, |_| 0.0))?));
        }
    }
    Ok(Search { convention, says: says_of })
}

/// The two numbers: mean and covariance over the search of what the rows leave likely, after Bayes. What is not known of
/// a row is reckoned at the mean, and the mean again with that, three times over.
pub fn fit(rows: &[&Row], all: &[&Row], search: &Search) -> Or<Fit> {
    let places: Vec<usize> = rows
        .iter()
        .map(|r| all.iter().position(|a| a.id == r.id).ok_or("no such row"))
        .collect::<Result<_, _>>()?;
    let mut found = Fit { at: [0.0; 2], covariance: [[1.0, 0.0], [0.0, 1.0]] };
    for _ in 0..3 {
        let spread = covariance(rows, &nuisances(rows, search.convention, found.at)?);
        let weights: Vec<f64> = search
            .says
            .iter()
            .map(|(at, says)| {
                let off: Vec<f64> = rows.iter().zip(&places).map(|(r, i)| r.middle() - says[*i]).collect();
                (-0.5 * (dot(&off, &solve(&spread, &off)) + dot(at, at))).exp()
            })
            .collect();
        let all: f64 = weights.iter().sum();
        let mean = |of: &dyn Fn(&[f64; 2]) -> f64| {
            search.says.iter().zip(&weights).map(|((at, _), w)| w * of(at)).sum::<f64>() / all
        };
        let at = [0, 1].map(|i| mean(&|at| at[i]));
        let covariance = [0, 1].map(|i| [0, 1].map(|j| mean(&|x| (x[i] - at[i]) * (x[j] - at[j]))));
        found = Fit { at, covariance };
    }
    Ok(found)
}

/// Fits under both conventions, and pooled.
pub fn fits(rows: &[&Row], all: &[&Row], searches: &[Search]) -> Or<(Vec<Fit>, Fit)> {
    let each: Vec<Fit> = searches.iter().map(|s| fit(rows, all, s)).collect::<Or<_>>()?;
    let together = pooled(&each);
    Ok((each, together))
}

/// One row as the other papers foretell it.
pub struct LeftOut {
    pub id: String,
    pub convention: Convention,
    pub published: (f64, f64),
    pub said: (f64, f64),
}

/// Each paper left out: the numbers without it, and what they say of it.
pub fn left_out(all: &[&Row], searches: &[Search]) -> Or<Vec<(String, Fit, Vec<LeftOut>)>> {
    let mut papers: Vec<&str> = all.iter().map(|r| r.paper.as_str()).collect();
    papers.dedup();
    let without = |paper: &str| {
        let (out, rest): (Vec<&Row>, Vec<&Row>) = all.iter().partition(|r| r.paper == paper);
        let (_, together) = fits(&rest, all, searches)?;
        let mut said = Vec::new();
        for convention in CONVENTIONS {
            for (row, said_of) in out.iter().zip(foretold(&out, convention, &together)?) {
                let published = (row.middle(), row.spread());
                said.push(LeftOut { id: row.id.clone(), convention, published, said: said_of });
            }
        }
        Ok((paper.to_owned(), together, said))
    };
    papers.into_iter().map(without).collect()
}

/// What is said of rows with fitted numbers: middle, and one standard deviation of all that is not known.
pub fn foretold(rows: &[&Row], convention: Convention, fit: &Fit) -> Or<Vec<(f64, f64)>> {
    let middle = says(rows, convention, &Unseen::default(), &assumed(fit.at, |_| 0.0))?;
    let mut others = nuisances(rows, convention, fit.at)?;
    // Along the two axes of the fit's covariance.
    let [[a, b], [_, d]] = fit.covariance;
    let first = [a.sqrt(), b / a.sqrt()];
    let second = [0.0, (d - first[1] * first[1]).max(0.0).sqrt()];
    for axis in [first, second] {
        let side = |z: f64| {
            let at = [fit.at[0] + z * axis[0], fit.at[1] + z * axis[1]];
            says(rows, convention, &Unseen::default(), &assumed(at, |_| 0.0))
        };
        let (down, up) = (side(-1.0)?, side(1.0)?);
        others.push(up.iter().zip(&down).map(|(u, d)| 0.5 * (u - d)).collect());
    }
    let sd = |i: usize| others.iter().map(|o| o[i] * o[i]).sum::<f64>().sqrt();
    Ok(middle.into_iter().enumerate().map(|(i, m)| (m, sd(i))).collect())
}
