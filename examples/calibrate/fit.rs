//! Two numbers fitted to the published rows: how many times as fast clumped red cells fall at 160 ×g, and the speed of a
//! platelet over that of a sphere; with them how far the picture itself is off. Everything else that the rows depend on
//! keeps its prior and widens the rows instead (to first order, as a normal would), so that what is not known of a paper
//! is in the width of what is fitted.

use crate::rows::{CONVENTIONS, Convention, Or, Row, Unseen, What};
use strawline::spin::column::prior::{Assumed, PRIORS};

/// The two numbers, in the order fitted.
pub const FITTED: [&str; 2] = ["clumping", "platelet_drag"];
/// Clumping before any row: any factor between these as likely, in its logarithm (judgement). What was thought of it came
/// from one of the rows, so that nothing narrower is free of them.
pub const CLUMPING: [f64; 2] = [1.0, 32.0];
/// Drag before any row: 1, times or divided by so much, for what a platelet's shape may do (judgement). It is looked for
/// within three such factors.
pub const DRAG: f64 = 1.3;
/// What a picture in one dimension, that knows nothing of the donors, is off by itself, in shares, before any row: any
/// factor between these as likely, in its logarithm (judgement). A share of which nothing is known has 0.29.
pub const DISCREPANCY: [f64; 2] = [0.02, 0.5];

/// The two numbers' natural logarithms with their covariance, and what the picture is off by itself (root mean square).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    pub at: [f64; 2],
    pub covariance: [[f64; 2]; 2],
    pub discrepancy: f64,
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
        Fitted { value: self.at[index].exp(), times: self.covariance[index][index].sqrt().exp() }
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
    let discrepancy = (fits.iter().map(|f| f.discrepancy * f.discrepancy).sum::<f64>() / n).sqrt();
    Fit { at, covariance, discrepancy }
}

/// Assumptions with the two numbers of these logarithms, and the others so many standard deviations of their priors off.
pub fn assumed(at: [f64; 2], mut others: impl FnMut(&str) -> f64) -> Assumed {
    let mut assumed = Assumed::off_by(|key| if FITTED.contains(&key) { 0.0 } else { others(key) });
    [assumed.clumping, assumed.platelet_drag] = at.map(f64::exp);
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
    for prior in PRIORS.iter().filter(|p| !FITTED.contains(&p.key)) {
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

/// What the picture is off by itself at a row. Of a fold, as much as of the share it comes from.
fn off_itself(row: &Row, discrepancy: f64) -> f64 {
    if row.what == What::FoldPellet { discrepancy * row.middle() / 0.75 } else { discrepancy }
}

/// Covariance of the rows: their own spread, the picture's discrepancy, what is not known.
fn covariance(rows: &[&Row], nuisances: &[Vec<f64>], discrepancy: f64) -> Vec<Vec<f64>> {
    let own = |i: usize| rows[i].spread().powi(2) + off_itself(rows[i], discrepancy).powi(2);
    let of = |i: usize, j: usize| {
        nuisances.iter().map(|n| n[i] * n[j]).sum::<f64>() + if i == j { own(i) } else { 0.0 }
    };
    (0..rows.len()).map(|i| (0..rows.len()).map(|j| of(i, j)).collect()).collect()
}

/// Twice the negative logarithm of a normal's density with this covariance, but for a constant: ln|C| + xᵀC⁻¹x, by
/// elimination.
fn unlikely(covariance: &[Vec<f64>], off: &[f64]) -> f64 {
    let (mut c, mut x) = (covariance.to_vec(), off.to_vec());
    let mut sum = 0.0;
    for i in 0..x.len() {
        sum += c[i][i].ln() + x[i] * x[i] / c[i][i];
        for j in i + 1..x.len() {
            let times = c[j][i] / c[i][i];
            let above = c[i].clone();
            c[j].iter_mut().zip(&above).skip(i).for_each(|(to, from)| *to -= times * from);
            x[j] -= times * x[i];
        }
    }
    sum
}

/// So many places from one end to the other, evenly in the logarithm: their logarithms.
fn places([low, high]: [f64; 2], count: u32) -> impl Iterator<Item = f64> {
    let (low, high): (f64, f64) = (low.ln(), high.ln());
    (0..count).map(move |i| low + (high - low) * f64::from(i) / f64::from(count - 1))
}

/// What the picture says of each row at each place of the search.
pub struct Search {
    convention: Convention,
    says: Vec<([f64; 2], Vec<f64>)>,
}

/// Draws every picture of the search, once for all fits to these rows or some of them.
pub fn search(rows: &[&Row], convention: Convention) -> Or<Search> {
    let mut says_of = Vec::new();
    for clumping in places(CLUMPING, 26) {
        for drag in places([DRAG.powi(-3), DRAG.powi(3)], 14) {
            let at = [clumping, drag];
            says_of.push((at, says(rows, convention, &Unseen::default(), &assumed(at, |_| 0.0))?));
        }
    }
    Ok(Search { convention, says: says_of })
}

/// The two numbers and the discrepancy: means over the search of what the rows leave likely, after Bayes. What is not
/// known of a row is reckoned at the mean, and the mean again with that, three times over.
pub fn fit(rows: &[&Row], all: &[&Row], search: &Search) -> Or<Fit> {
    let of: Vec<usize> = rows
        .iter()
        .map(|r| all.iter().position(|a| a.id == r.id).ok_or("no such row"))
        .collect::<Result<_, _>>()?;
    // Where nothing is known yet: the middle of what is looked for.
    let mut found =
        Fit { at: [0.5 * CLUMPING[1].ln(), 0.0], covariance: [[1.0, 0.0], [0.0, 1.0]], discrepancy: 0.0 };
    for _ in 0..3 {
        let unknown = nuisances(rows, search.convention, found.at)?;
        let mut likely = Vec::new();
        for discrepancy in places(DISCREPANCY, 15).map(f64::exp) {
            let spread = covariance(rows, &unknown, discrepancy);
            for (at, says) in &search.says {
                let off: Vec<f64> = rows.iter().zip(&of).map(|(r, i)| r.middle() - says[*i]).collect();
                let before = (at[1] / DRAG.ln()).powi(2);
                likely.push((*at, discrepancy, (-0.5 * (unlikely(&spread, &off) + before)).exp()));
            }
        }
        let all: f64 = likely.iter().map(|(.., weight)| weight).sum();
        let mean = |of: &dyn Fn(&[f64; 2], f64) -> f64| {
            likely.iter().map(|(at, discrepancy, weight)| weight * of(at, *discrepancy)).sum::<f64>() / all
        };
        let at = [0, 1].map(|i| mean(&|at, _| at[i]));
        let covariance = [0, 1].map(|i| [0, 1].map(|j| mean(&|x, _| (x[i] - at[i]) * (x[j] - at[j]))));
        found = Fit { at, covariance, discrepancy: mean(&|_, d| d * d).sqrt() };
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

/// What is said of rows with fitted numbers: middle, and one standard deviation of all that is not known, and of what the
/// picture is off by itself.
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
    let sd = |i: usize| {
        let itself = off_itself(rows[i], fit.discrepancy);
        (others.iter().map(|o| o[i] * o[i]).sum::<f64>() + itself * itself).sqrt()
    };
    Ok(middle.into_iter().enumerate().map(|(i, m)| (m, sd(i))).collect())
}
