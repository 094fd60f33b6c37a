//! How what was learned enters a case: the protocol copied into it carries an expectation from the clinic's counts.

use super::decided::Decisions;
use super::facts::Counted;
use super::learn::Predictive;
use super::learned::{Ground, History, learned_for};
use crate::bench::Protocol;
use crate::chance::{HIGH, normal, student};
use crate::evidence::SourceId;
use crate::product::kind::{Basis, Before, Expectation, Expected, Learned as Known, ProductKind};
use crate::quantity::{Fold, Quantity, Recovery};
use libm::{exp, expm1, sqrt};

/// The protocol of the Bench as a case begun now carries it: where own counts teach something, its expectation is
/// theirs; else it is as it stands. A product taken with its cells keeps the haematocrit that is expected of it, and
/// without one nothing is learned. `container` is the one that will be used: see [`learned_for`].
pub fn learned_protocol(
    protocol: &Protocol,
    container: Option<&str>,
    counts: &[Counted],
    decided: &Decisions,
) -> Protocol {
    let found = learned_for(protocol, container, counts, decided, History::Clinic);
    let Some(predictive) = found.predictive else { return protocol.clone() };
    let learned = known(&predictive);
    let basis = match found.ground {
        Ground::Counts { n } => Basis::ClinicCounts { n, learned: Some(learned) },
        Ground::LiteratureAndCounts { n } => {
            let rows = protocol.expectation.iter().flat_map(Expectation::sources).copied();
            let rows = rows.chain([SourceId::ProductMeasured]).collect();
            Basis::FewCounts { n, learned, before: Before::Literature(rows) }
        }
        Ground::EntryAndCounts { n } => Basis::FewCounts { n, learned, before: Before::ClinicEntry },
        Ground::Literature | Ground::ClinicEntry | Ground::Nothing { .. } => return protocol.clone(),
    };
    match expected(protocol, &predictive) {
        Some(expected) => {
            let expectation = Some(Expectation { expected, basis });
            Protocol { expectation, ..protocol.clone() }
        }
        None => protocol.clone(),
    }
}

/// What a product reckons with. It takes the counting variance out as it stands: so it is told what the simulated
/// clinics of this room have shown may be taken out, [`Predictive::true_content`], and no more.
fn known(predictive: &Predictive) -> Known {
    let Predictive { location, scale, freedom, .. } = *predictive;
    let truth = predictive.true_content().scale;
    Known { location, scale, freedom, counting_variance: (scale * scale - truth * truth).max(0.0) }
}

/// Mean and SD of the log-normal that has the median and the 80 % range of the true content.
fn expected(protocol: &Protocol, predictive: &Predictive) -> Option<Expected> {
    let truth = predictive.true_content();
    // σ = s·t₀.₉/z₀.₉, mean = e^(μ + σ²/2), SD = mean·√(e^σ² − 1)
    let sigma = truth.scale * student::deviate(HIGH, truth.freedom) / normal::deviate(HIGH);
    let mean = exp(truth.location + 0.5 * sigma * sigma);
    let sd = mean * sqrt(expm1(sigma * sigma));
    let recovery = |x| Recovery::new(x).ok();
    Some(match protocol.kind {
        ProductKind::OffTheTop => Expected::Fold { mean: Fold::new(mean).ok()?, sd: Fold::new(sd).ok()? },
        ProductKind::Concentrate => Expected::Recovery { mean: recovery(mean)?, sd: recovery(sd)? },
        ProductKind::WithCells => match protocol.expectation.as_ref()?.expected {
            Expected::RecoveryWithCells { haematocrit, .. } => {
                Expected::RecoveryWithCells { mean: recovery(mean)?, sd: recovery(sd)?, haematocrit }
            }
            Expected::Fold { .. } | Expected::Recovery { .. } => return None,
        },
    })
}

/// What an expectation in a case rests on.
pub fn ground_of(expectation: &Expectation) -> Ground {
    match expectation.basis {
        Basis::Literature(_) => Ground::Literature,
        Basis::ClinicEntry => Ground::ClinicEntry,
        Basis::ClinicCounts { n, .. } => Ground::Counts { n },
        Basis::FewCounts { n, before: Before::Literature(_), .. } => Ground::LiteratureAndCounts { n },
        Basis::FewCounts { n, before: Before::ClinicEntry, .. } => Ground::EntryAndCounts { n },
    }
}

/// Whether a case's protocol is the Bench's, but for what counts taught since: that is no change of the Bench.
pub fn same_but_for_counts(own: &Protocol, bench: &Protocol) -> bool {
    let from_counts = own.expectation.as_ref().is_some_and(|e| e.counts() > 0);
    let expectation = if from_counts { &own.expectation } else { &bench.expectation }.clone();
    // Whether its programme is edited says nothing of what it makes.
    *own == Protocol { expectation, programme_fixed: own.programme_fixed, ..bench.clone() }
}

#[cfg(test)]
mod tests {
    use super::super::tests::rooms::{counted, double_spin};
    use super::*;
    use crate::quantity::time::Instant;
    use crate::quantity::{CellCount, Haematocrit};

    fn counts(products: &[f64]) -> Vec<Counted> {
        let one = |(i, &c): (usize, &f64)| {
            let mut found = counted(&format!("c{i}"), Instant(i64::try_from(i).unwrap() * 86_400_000));
            found.product = CellCount::new(c).ok();
            found
        };
        products.iter().enumerate().map(one).collect()
    }

    #[test]
    fn without_counts_the_literature_holds() {
        let bench = double_spin();
        let none = Decisions::default();
        assert_eq!(learned_protocol(&bench, None, &[], &none), bench);
        // a demo teaches nothing
        let mut demo = counts(&[900.0, 950.0, 800.0]);
        demo.iter_mut().for_each(|c| c.demo = true);
        assert_eq!(learned_protocol(&bench, None, &demo, &none), bench);
    }

    #[test]
    fn counts_replace_it_with_their_own_median_and_range() {
        let bench = double_spin();
        let facts = counts(&[700.0, 720.0, 690.0, 750.0, 705.0]);
        let mut decided = Decisions::default();
        let taught = learned_protocol(&bench, None, &facts, &decided);
        let expectation = taught.expectation.clone().unwrap();
        assert_eq!(expectation.counts(), 5);
        assert_eq!(ground_of(&expectation), Ground::LiteratureAndCounts { n: 5 });
        assert!(expectation.literature().is_some(), "five counts do not end the literature's caution");
        let ten = learned_protocol(&bench, None, &counts(&[700.0; 10]), &decided).expectation.unwrap();
        assert_eq!((ground_of(&ten), ten.literature()), (Ground::Counts { n: 10 }, None));
        let Expected::Recovery { mean, sd } = expectation.expected else { panic!("{expectation:?}") };
        let truth = learned_for(&bench, None, &facts, &decided, History::Clinic).predictive.unwrap();
        // the product takes out of the spread what may be taken out, and no more
        let found = expectation.learned().unwrap();
        let scale = sqrt(found.scale * found.scale - found.counting_variance);
        assert!((scale - truth.true_content().scale).abs() < 1e-12 && found.location == truth.location);
        let truth = truth.true_content().range();
        let spread = libm::log1p((sd.get() / mean.get()) * (sd.get() / mean.get()));
        let median = mean.get() * exp(-0.5 * spread);
        assert!((median - truth.median).abs() < 1e-9, "{median} {truth:?}");
        let high = median * exp(sqrt(spread) * 1.281_551_565_544_600_4);
        assert!((high - truth.high).abs() < 1e-9, "{high} {truth:?}");
        assert!(same_but_for_counts(&taught, &bench) && !same_but_for_counts(&bench, &taught));
        for own in [&bench, &taught] {
            let fixed = Protocol { programme_fixed: !own.programme_fixed, ..own.clone() };
            assert!(same_but_for_counts(&fixed, &bench));
            assert!(!same_but_for_counts(&Protocol { name: "another".into(), ..fixed }, &bench));
        }
        let renamed = Protocol { name: "another".into(), ..bench.clone() };
        assert!(!same_but_for_counts(&taught, &renamed));
        // one left out by hand is not learned from
        decided.exclude("c3", "MO", Instant(9), "clotted tube").unwrap();
        let less = learned_protocol(&bench, None, &facts, &decided);
        assert_eq!(less.expectation.unwrap().counts(), 4);
    }

    #[test]
    fn a_container_has_its_own_from_ten_counts_on() {
        let bench = double_spin();
        let none = Decisions::default();
        // twelve of one container about a third lower than nine of another
        let mut facts =
            counts(&[620.0, 640.0, 610.0, 650.0, 630.0, 600.0, 640.0, 620.0, 660.0, 630.0, 615.0, 625.0]);
        let mut others = counts(&[930.0, 960.0, 915.0, 975.0, 945.0, 900.0, 960.0, 930.0, 990.0]);
        others.iter_mut().for_each(|c| {
            c.id.insert(0, 'x');
            c.container = Some("tube-10".to_owned());
        });
        facts.extend(others);
        let taught = |container| learned_protocol(&bench, container, &facts, &none).expectation.unwrap();
        let (own, all, few) = (taught(Some("tube-15")), taught(None), taught(Some("tube-10")));
        assert_eq!((own.counts(), all.counts()), (12, 21));
        // nine are too few: all together speak
        assert_eq!(few, all);
        let at = |e: &Expectation| e.learned().unwrap().location;
        assert!(at(&own) < at(&all) - 0.1, "{} {}", at(&own), at(&all));
        assert!(own.learned().unwrap().scale < all.learned().unwrap().scale);
    }

    #[test]
    fn with_the_cells_it_needs_the_haematocrit_it_had() {
        let none = Protocol { kind: ProductKind::WithCells, expectation: None, ..double_spin() };
        let mut facts = counts(&[700.0, 720.0, 690.0]);
        facts.iter_mut().for_each(|c| c.kind = Some(ProductKind::WithCells));
        assert_eq!(learned_protocol(&none, None, &facts, &Decisions::default()), none);
        let haematocrit = Haematocrit::new(0.1).unwrap();
        let half = Recovery::new(0.5).unwrap();
        let expected =
            Expected::RecoveryWithCells { mean: half, sd: Recovery::new(0.1).unwrap(), haematocrit };
        let expectation = Some(Expectation { expected, basis: Basis::ClinicEntry });
        let own = Protocol { expectation, ..none };
        let taught = learned_protocol(&own, None, &facts, &Decisions::default()).expectation.unwrap();
        let Expected::RecoveryWithCells { mean, haematocrit: kept, .. } = taught.expected else { panic!() };
        assert!(mean > half && kept == haematocrit);
    }
}
