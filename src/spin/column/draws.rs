//! What is assumed, drawn: every prior at once, so that what follows from it in no straight line is met too.

use super::prior::{Assumed, PRIORS};
use crate::arrange::sort_by;
use crate::chance::normal::deviate;

/// Draws of all priors.
pub const DRAWS: u16 = 48;

/// Draws of all priors at once: each prior’s middle of every one of [`DRAWS`] slices of like chance, the slices of each
/// shuffled for themselves. Always the same ones, so that two programmes differ by what they are.
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
    let slices: Vec<Vec<f64>> = PRIORS
        .iter()
        .map(|_| {
            let mut order: Vec<(u64, u16)> = (0..DRAWS).map(|slice| (next(), slice)).collect();
            sort_by(&mut order, |a, b| a.0.cmp(&b.0));
            let middle = |slice: u16| deviate((f64::from(slice) + 0.5) / f64::from(DRAWS));
            order.into_iter().map(|(_, slice)| middle(slice)).collect()
        })
        .collect();
    let one = |draw: usize| {
        let mut off = slices.iter().filter_map(|of| of.get(draw).copied());
        Assumed::off_by(|_| off.next().unwrap_or(0.0))
    };
    (0..usize::from(DRAWS)).map(one).collect()
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
        // Two priors say nothing of each other.
        let both: f64 = hindrance.iter().zip(&drag).map(|(a, b)| a * b).sum();
        assert!((both / n).abs() < 0.35, "{both}");
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
