//! What is assumed, drawn: every prior at once, so that what follows from it in no straight line is met too.

use super::prior::{Assumed, PRIORS};
use crate::arrange::sort_by;
use crate::chance::normal::deviate;

/// Draws of all priors.
pub const DRAWS: u16 = 48;

/// Times the shuffles are told apart: more change no correlation by a hundredth.
const PASSES: u8 = 4;

/// Draws of all priors at once: each prior’s middle of every one of [`DRAWS`] slices of like chance, the slices of each
/// shuffled for themselves and then told apart. Always the same ones, so that two programmes differ by what they are.
pub(super) fn draws() -> Vec<Assumed> {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    // A generator of 64 bits (splitmix): a counter, stirred.
    let mut next = move || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    };
    let mut slices: Vec<Vec<f64>> = PRIORS
        .iter()
        .map(|_| {
            let mut order: Vec<(u64, u16)> = (0..DRAWS).map(|slice| (next(), slice)).collect();
            sort_by(&mut order, |a, b| a.0.cmp(&b.0));
            let middle = |slice: u16| deviate((f64::from(slice) + 0.5) / f64::from(DRAWS));
            order.into_iter().map(|(_, slice)| middle(slice)).collect()
        })
        .collect();
    tell_apart(&mut slices);
    let one = |draw: usize| {
        let mut off = slices.iter().filter_map(|of| of.get(draw).copied());
        Assumed::off_by(|_| off.next().unwrap_or(0.0))
    };
    (0..usize::from(DRAWS)).map(one).collect()
}

/// Takes out what so few shuffles happen to say of each other, which would make every band that two priors share too wide
/// or too narrow: of each what those before it say of it is taken off, and its slices are put back in the order of what
/// is left; forwards and backwards by turns (Gram and Schmidt on ranks).
fn tell_apart(columns: &mut [Vec<f64>]) {
    let times = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    for _ in 0..PASSES {
        for i in 0..columns.len() {
            let Some((before, [column, ..])) = columns.split_at_mut_checked(i) else { continue };
            let mut rest = column.clone();
            for other in before {
                let part = times(&rest, other) / times(other, other);
                rest.iter_mut().zip(other).for_each(|(x, y)| *x -= part * *y);
            }
            let mut order: Vec<(f64, usize)> = rest.into_iter().zip(0..).collect();
            sort_by(&mut order, |a, b| a.0.total_cmp(&b.0));
            sort_by(column, f64::total_cmp);
            // The lowest slice to where the least is left, and so on.
            let mut put: Vec<(usize, f64)> =
                order.into_iter().map(|(_, at)| at).zip(column.drain(..)).collect();
            sort_by(&mut put, |a, b| a.0.cmp(&b.0));
            column.extend(put.into_iter().map(|(_, slice)| slice));
        }
        columns.reverse();
    }
}

/// What so large a share of sorted numbers lies below: the k-th of n stands at (k + ½)/n, and between two the line that
/// joins them. `None` beyond the first and the last.
pub(super) fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let place = share * sorted.len() as f64 - 0.5;
    let (low, part) = (libm::floor(place), place - libm::floor(place));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to the number of draws")]
    let low = low.max(0.0) as usize;
    let (a, b) = (*sorted.get(low)?, *sorted.get(low + 1)?);
    Some(if part > 0.0 { a + part * (b - a) } else { a })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spin::column::prior::Width;

    /// How many standard deviations a draw is off, by what the priors say.
    fn off(key: &str, drawn: f64) -> f64 {
        let prior = PRIORS.iter().find(|p| p.key == key).unwrap();
        match prior.width {
            Width::Plus(sd) => (drawn - prior.value) / sd,
            Width::Times(factor) => (drawn / prior.value).ln() / factor.ln(),
        }
    }

    /// Means and standard deviations of the draws are those of the priors.
    #[test]
    fn draws_are_as_wide_as_the_priors() {
        let all = draws();
        let n = f64::from(DRAWS);
        let hindrance: Vec<f64> = all.iter().map(|a| off("hindrance", a.hindrance)).collect();
        let drag: Vec<f64> = all.iter().map(|a| off("platelet_drag", a.platelet_drag)).collect();
        for z in [&hindrance, &drag] {
            let sd = (z.iter().map(|z| z * z).sum::<f64>() / n).sqrt();
            assert!((z.iter().sum::<f64>() / n).abs() < 1e-9 && (sd - 1.0).abs() < 0.03, "{sd}");
        }
    }

    /// No two priors say anything of each other.
    #[test]
    fn draws_of_two_priors_are_not_tied() {
        let all = draws();
        // As each draw writes itself: its fields in the order of the priors.
        let numbers = |a: &Assumed| {
            let text = format!("{a:?}");
            let fields = text.split([',', '}']).filter_map(|field| field.split(": ").last());
            fields.filter_map(|v| v.trim().parse::<f64>().ok()).collect::<Vec<_>>()
        };
        let drawn: Vec<Vec<f64>> = all.iter().map(numbers).collect();
        assert!(drawn.iter().all(|d| d.len() == PRIORS.len()));
        let column = |(i, p): (usize, &crate::spin::column::prior::Prior)| {
            drawn.iter().map(|d| off(p.key, d[i])).collect::<Vec<_>>()
        };
        let columns: Vec<Vec<f64>> = PRIORS.iter().enumerate().map(column).collect();
        let times = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mut worst = (0.0, "", "");
        for (i, a) in columns.iter().enumerate() {
            for (j, b) in columns.iter().enumerate().take(i) {
                let r = times(a, b) / (times(a, a) * times(b, b)).sqrt();
                if r.abs() > f64::abs(worst.0) {
                    worst = (r, PRIORS[i].key, PRIORS[j].key);
                }
            }
        }
        println!("{worst:?}");
        assert!(worst.0.abs() < 0.03, "{worst:?}");
    }

    /// The speed of a platelet in plasma is drag·(ρ − ρ_plasma)·V^⅔/µ: the square of the width of its logarithm is the
    /// sum of their squares, to first order, and 80 % of it lie within 1.2816 of them to either side.
    #[test]
    fn a_product_of_priors_is_as_wide_as_its_parts_make_it() {
        let speed = |a: &Assumed| {
            a.platelet_drag * (a.platelet_density - a.plasma_density) * a.platelet_volume.powf(2.0 / 3.0)
                / a.plasma_viscosity
        };
        let mut all: Vec<f64> = draws().iter().map(|a| speed(a).ln()).collect();
        sort_by(&mut all, f64::total_cmp);
        let width = quantile(&all, 0.9).unwrap() - quantile(&all, 0.1).unwrap();
        let heavier = (4.0_f64.powi(2) + 1.0) / (1064.0_f64 - 1026.0).powi(2);
        let larger = (2.0 / 3.0 * 0.46 / 5.17_f64).powi(2);
        let wanted =
            2.0 * 1.2816 * (1.25_f64.ln().powi(2) + heavier + larger + (0.05 / 1.6_f64).powi(2)).sqrt();
        println!("{width:.3} of {wanted:.3}");
        assert!((width / wanted - 1.0).abs() < 0.08, "{width} {wanted}");
    }

    /// Of 48 numbers in a row the ends of the middle 80 % stand a tenth from either end.
    #[test]
    fn a_quantile_stands_between_two_draws() {
        let row: Vec<f64> = (0..48).map(f64::from).collect();
        let near = |share: f64, wanted: f64| assert!((quantile(&row, share).unwrap() - wanted).abs() < 1e-9);
        near(0.1, 4.3);
        near(0.5, 23.5);
        near(0.9, 42.7);
        assert_eq!(quantile(&row, 1.0), None);
        assert_eq!(quantile(&[], 0.5), None);
    }
}
