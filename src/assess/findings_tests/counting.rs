//! Findings about the count with all that belongs to it, and what follows from it.

use super::product::counted;
use super::*;
use crate::draft::{AdditionChoice, ProductTube};
use crate::product::classification::{Family, Needed, Outcome, PartOf};
use crate::product::closing::Closes;
use crate::product::measured::{Bound, Check as Checked};
use crate::product::recipe::{Analyser, Linear};
use crate::product::slip::IfSo;
use crate::quantity::{CellCount, Factor};

fn count(value: f64) -> CellCount {
    CellCount::new(value).unwrap()
}

/// A count of which everything was said is no finding.
#[track_caller]
fn silent(change: impl FnOnce(&mut Draft)) -> Assessment {
    let mut d = quiet();
    counted(&mut d);
    change(&mut d);
    let a = answer(&d);
    assert_eq!(keys(&a), [""; 0]);
    a
}

fn analyser(draft: &mut Draft, low: f64, high: f64) {
    draft.kit.analyser = Analyser { low: Some(count(low)), high: Some(count(high)), pipetted: None };
}

fn diluted(draft: &mut Draft, factor: &str, reading: &str) {
    draft.choices.dilution = Some(SampleDilution::Diluted);
    draft.choices.cells_dilution = Some(SampleDilution::Undiluted);
    draft.write(Field::Dilution, factor);
    draft.write(Field::Reading(0), reading);
}

#[test]
fn a_tube_not_named_is_told_and_a_citrate_tube_is_corrected() {
    let a = note("product_tube_unsaid", |d| {
        counted(d);
        d.choices.product_tube = None;
    });
    assert_eq!(a.product.measured.unwrap().concentration.value.get(), 924.0);
    let citrate = |own: &'static str| {
        silent(|d| {
            d.choices.product_tube = Some(ProductTube::LiquidCitrate);
            d.write(Field::Reading(0), "840");
            d.write(Field::SampleFactor, own);
        })
        .product
    };
    // × 1.1, CAP Today, December 2023; or the laboratory's own
    let p = citrate("");
    let c = p.measured.unwrap().concentration;
    assert!((c.value.get() - 924.0).abs() < 1e-9);
    assert!(c.working.sources.contains(&crate::evidence::SourceId::CitrateTube));
    // white cells go by the same tube: 0.2 × 1.1
    assert!((p.other.white.unwrap().value.get() - 0.22).abs() < 1e-12);
    assert!((citrate("1.05").measured.unwrap().concentration.value.get() - 882.0).abs() < 1e-9);
    let mut unread = quiet();
    counted(&mut unread);
    unread.choices.product_tube = Some(ProductTube::LiquidCitrate);
    unread.write(Field::SampleFactor, "7");
    assert!(answer(&unread).product.measured.is_none(), "nothing stands in for a factor that cannot be read");
}

#[test]
fn other_cells_wait_until_their_sample_is_said() {
    let a = caution("cells_dilution_unsaid", |d| {
        counted(d);
        diluted(d, "20", "46.2");
        d.choices.cells_dilution = None;
    });
    assert!(a.product.other.white.is_none() && a.product.measured.is_some());
    let white = |from| {
        let a = silent(|d| {
            diluted(d, "20", "46.2");
            d.choices.cells_dilution = Some(from);
            d.write(Field::BloodWhite, "5");
        });
        (a.product.other.white.unwrap().value.get(), a.product.other.white_fold.unwrap().value.get())
    };
    assert_eq!(white(SampleDilution::Undiluted), (0.2, 0.04));
    assert_eq!(white(SampleDilution::Diluted), (4.0, 0.8));
}

#[test]
fn a_reading_outside_the_analysers_range_is_a_caution() {
    let a = caution("reading_not_linear", |d| {
        counted(d);
        analyser(d, 10.0, 600.0);
    });
    assert_eq!(a.product.linear, Some(Linear::Above));
    let rather = a.findings.iter().find_map(|f| match f.kind {
        FindingKind::ReadingNotLinear { rather, above, .. } => Some((rather, above)),
        _ => None,
    });
    assert_eq!(rather, Some((Factor::new(2.0).ok(), true)));
    let a = caution("reading_not_linear", |d| {
        counted(d);
        analyser(d, 50.0, 600.0);
        diluted(d, "20", "46.2");
    });
    assert_eq!(a.product.linear, Some(Linear::Below));
    let inside = silent(|d| {
        analyser(d, 10.0, 600.0);
        diluted(d, "20", "46.2");
    });
    assert_eq!(inside.product.linear, Some(Linear::Inside));
    assert_eq!(silent(|_| ()).product.linear, Some(Linear::NotKnown));
}

#[test]
fn a_differential_above_all_is_a_caution() {
    caution("differential_over", |d| {
        counted(d);
        for (field, share) in [
            (Field::ProductNeutrophils, "60"),
            (Field::ProductLymphocytes, "35"),
            (Field::ProductMonocytes, "8"),
        ] {
            d.write(field, share);
        }
    });
    let a = silent(|d| {
        d.write(Field::ProductNeutrophils, "60");
        d.write(Field::ProductLymphocytes, "35");
    });
    assert!((a.product.other.neutrophils.unwrap().value.get() - 0.12).abs() < 1e-12);
}

fn after_spin(draft: &mut Draft, plasma: &str, cells: &str) {
    draft.write(Field::PoorPlasma, plasma);
    draft.write(Field::CellsVolume, cells);
}

#[test]
fn volumes_after_the_spin_that_do_not_close_are_a_caution() {
    let closes = |plasma: &'static str| {
        let a = caution("volumes_open", |d| {
            counted(d);
            after_spin(d, plasma, "15");
        });
        a.product.volumes.unwrap().closes
    };
    // 30 mL filled, 4 kept, 15 of cells: 11 of plasma close
    assert_eq!(closes("13"), Closes::TooMuch);
    assert_eq!(closes("8"), Closes::TooLittle);
    let a = silent(|d| after_spin(d, "11", "15"));
    assert_eq!(a.product.volumes.unwrap().closes, Closes::Within);
    assert!(silent(|d| d.write(Field::PoorPlasma, "11")).product.volumes.is_none());
}

#[test]
fn more_platelets_in_product_and_plasma_than_drawn_are_a_caution() {
    // 5.46 ×10⁹ drawn, 3.696 in product; 300 ×10⁹/L in 11 mL are 3.3
    let a = caution("platelets_over", |d| {
        counted(d);
        after_spin(d, "11", "15");
        d.write(Field::PlasmaReading, "300");
    });
    assert_eq!(a.product.balance.unwrap().bound, Bound::Above);
    let a = silent(|d| {
        after_spin(d, "11", "15");
        d.write(Field::PlasmaReading, "60");
    });
    let balance = a.product.balance.unwrap();
    assert!((balance.elsewhere.unwrap().value.get() - (5.46 - 3.696 - 0.66)).abs() < 1e-9);
}

#[test]
fn above_all_each_slip_says_what_it_would_make() {
    let a = caution("above_ceiling", |d| {
        counted(d);
        diluted(d, "20", "78");
    });
    let order: Vec<Checked> = a.product.slips.iter().map(|s| s.check).collect();
    use Checked::{BaselineKind, Dilution, Mixing, Volume};
    assert_eq!(order, [BaselineKind, BaselineKind, Dilution, Mixing, Volume]);
    // 1560·4/5460 = 1.143; over 1 + 2/13 it is 0.990
    let first = a.product.slips.iter().find_map(|s| match &s.if_so {
        IfSo::Sampled { recovery, .. } => Some(recovery.value.get()),
        _ => None,
    });
    assert!((first.unwrap() - 1560.0 * 4.0 / 5460.0 / (1.0 + 2.0 / 13.0)).abs() < 1e-9);
    assert_eq!(silent(|_| ()).product.slips, []);
}

#[test]
fn the_recipe_comes_before_the_count() {
    let recipe = |change: fn(&mut Draft)| {
        let mut d = quiet();
        change(&mut d);
        let case = crate::case::read(&d, Language::English).0;
        assess(&case, now()).product.recipe(&case).unwrap()
    };
    let unsaid = recipe(|_| ());
    assert_eq!((unsaid.sample.map(Volume::get), unsaid.dilution, unsaid.reading), (Some(0.2), None, None));
    let diluted = recipe(|d| {
        d.choices.dilution = Some(SampleDilution::Diluted);
        d.write(Field::Dilution, "20");
        analyser(d, 10.0, 600.0);
    });
    let mix = diluted.mix.unwrap();
    assert!((mix.product.get() - 0.05).abs() < 1e-12 && (mix.diluent.value.get() - 0.95).abs() < 1e-12);
    assert_eq!((diluted.linear, diluted.rather), (Some(Linear::Inside), None));
    let plain = recipe(|d| {
        d.choices.dilution = Some(SampleDilution::Undiluted);
        analyser(d, 10.0, 600.0);
    });
    assert_eq!((plain.linear, plain.rather), (Some(Linear::Above), Factor::new(2.0).ok()));
    let reading = plain.reading.unwrap().value;
    assert!(reading.low.get() > 600.0 && reading.high.get() / 2.0 <= 600.0, "{reading:?}");
}

#[test]
fn classes_follow_from_what_was_counted_and_given_and_from_nothing_else() {
    let of = |a: &Assessment, family| {
        a.product.classified.iter().find(|c| c.family == family).cloned().expect("a class")
    };
    assert!(answer(&quiet()).product.classified.is_empty(), "nothing is classified before it is counted");
    let a = silent(|_| ());
    let without = |family, part| match of(&a, family).part(part) {
        Some(Outcome::Without(needed)) => needed.all(),
        other => panic!("{other:?}"),
    };
    assert_eq!(without(Family::Paw, PartOf::WhiteCells), [Needed::BloodWhite]);
    assert_eq!(without(Family::Depa, PartOf::Dose), [Needed::VolumeGiven]);
    assert_eq!(without(Family::DohanEhrenfest, PartOf::Type), [Needed::Protocol]);
    let a = silent(|d| {
        for (field, text) in [
            (Field::BloodWhite, "5"),
            (Field::BloodNeutrophils, "60"),
            (Field::ProductNeutrophils, "20"),
            (Field::ProductRed, "0.02"),
            (Field::ProductHaematocrit, "0.2 %"),
            (Field::PartGiven(0), "2"),
            (Field::PartGiven(1), "1"),
        ] {
            d.write(field, text);
        }
        d.hand_over(now().at);
        d.all_given(&[0, 1], now().at);
    });
    assert_eq!(of(&a, Family::Paw).code().as_deref(), Some("P3-Bβ"));
    let depa = of(&a, Family::Depa);
    let is = |part| match depa.part(part) {
        Some(Outcome::Is(crate::product::classification::Class::Code(code))) => *code,
        other => panic!("{other:?}"),
    };
    // 924·3/1000 = 2.772 given; 0.677 recovered; 924/(924 + 20 + 0.2) = 0.979
    assert_eq!([PartOf::Dose, PartOf::Efficiency, PartOf::Purity].map(is), ["C", "C", "A"]);
    // what is not to be relied on has no class, and never ends in nothing: here the sample was not said to be mixed
    let mut d = quiet();
    counted(&mut d);
    d.choices.mixed_no_clumps = None;
    let a = answer(&d);
    for classified in &a.product.classified {
        for part in &classified.parts {
            let told =
                matches!(&part.outcome, Outcome::Without(n) if n.all().contains(&Needed::ReliableCount));
            let of_the_sample = part.of != PartOf::Activation && classified.family != Family::DohanEhrenfest;
            assert!(told || !of_the_sample, "{part:?}");
        }
    }
    let mut d = quiet();
    counted(&mut d);
    d.rows.additions = 1;
    d.choices.additions.insert(0, AdditionChoice::CalciumChloride);
    d.write(Field::AdditionStrength(0), "10");
    d.write(Field::AdditionVolume(0), "0.2");
    let a = answer(&d);
    let paw = of(&a, Family::Paw);
    assert_eq!(
        paw.part(PartOf::Activation),
        Some(&Outcome::Is(crate::product::classification::Class::Code("x")))
    );
}
