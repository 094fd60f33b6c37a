//! A text that cannot be read, or still asks, leaves no default behind.

use super::*;

fn with(field: Field, text: &str) -> Assessment {
    let mut d = quiet();
    d.rows.readings = 2;
    for (field, text) in [(Field::ProductActual, "4"), (Field::ProductWhite, "0.2")] {
        d.write(field, text);
    }
    d.write(Field::Reading(0), "924");
    d.write(Field::Reading(1), "930");
    d.choices.mixed_no_clumps = Some(true);
    d.choices.dilution = Some(SampleDilution::Undiluted);
    d.write(field, text);
    answer(&d)
}

#[test]
fn an_unread_text_leaves_no_default_behind() {
    use Field as F;
    let whole = with(F::Notes, "");
    assert!(whole.product.dose_counted.is_some() && whole.product.ledger.is_some());
    type Withheld = fn(&Assessment) -> bool;
    let plan: Withheld = |a| a.draw.plan.is_none() && a.draw.now.is_none();
    let container: Withheld = |a| a.draw.now.as_ref().is_some_and(|t| t.unknown == [0]);
    let volume: Withheld = |a| a.product.volume.is_none() && a.product.dose_counted.is_none();
    let ledger: Withheld = |a| a.product.ledger.is_none() && a.product.dose_counted.is_none();
    let count: Withheld = |a| a.product.measured.is_none() && a.product.dose_counted.is_none();
    let native: Withheld = |a| a.product.native.is_none() && a.product.table.is_none();
    let patient: Withheld = |a| a.draw.patient.is_none();
    for (field, held, withheld) in [
        (F::Containers, HeldStep::Needle, plan),
        (F::FillVolume, HeldStep::Needle, plan),
        (F::AnticoagulantChosen, HeldStep::Needle, plan),
        (F::AnticoagulantPer100, HeldStep::Needle, plan),
        (F::AnticoagulantPerContainer, HeldStep::Needle, plan),
        (F::Discard, HeldStep::Needle, patient),
        (F::PreviousBlood, HeldStep::Needle, patient),
        (F::FillActual(0), HeldStep::Spin, container),
        (F::AnticoagulantActual(0), HeldStep::Spin, container),
        (F::BloodCount, HeldStep::HandOver, native),
        (F::ProductActual, HeldStep::HandOver, volume),
        (F::CountSample, HeldStep::HandOver, ledger),
        (F::NeedleChanges, HeldStep::HandOver, ledger),
        (F::Transfers, HeldStep::HandOver, ledger),
        (F::PartVolume(0), HeldStep::HandOver, ledger),
        (F::PartGiven(0), HeldStep::HandOver, ledger),
        (F::Reading(1), HeldStep::HandOver, count),
        (F::Dilution, HeldStep::HandOver, count),
    ] {
        let key = format!("unread.{field}");
        waits(&key, held, |d| {
            d.rows.readings = 2;
            d.write(field, "about so much");
        });
        let a = with(field, "about so much");
        assert!(withheld(&a), "{field} left something behind");
        assert_eq!(keys(&a).iter().filter(|k| **k == key).count(), 1);
    }
    // Kept as planned: the typed volume, not the protocol's.
    let mut d = quiet();
    protocol(&mut d).product = Some(ml(3.0));
    d.write(Field::ProductVolume, "");
    assert_eq!(answer(&d).product.volume, Some(ml(3.0)));
    d.write(Field::ProductVolume, "about four");
    assert_eq!(answer(&d).product.volume, None);
}

#[test]
fn a_text_on_which_nothing_rests_is_a_caution() {
    caution("unread.poor_plasma", |d| d.write(Field::PoorPlasma, "some"));
    caution("unread.order_fold", |d| d.write(Field::OrderFold, "a lot"));
    // Put out of use by a choice, it may say anything.
    let mut d = quiet();
    d.write(Field::CitrateFactor, "usual");
    d.write(Field::CountAge, "old");
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn what_still_asks_is_not_read() {
    // 2.1 ×10⁹/L is seldom meant: it is asked, and nothing is reckoned from it.
    let a = waits("unread.blood_count", HeldStep::HandOver, |d| d.write(Field::BloodCount, "2.1"));
    assert!(a.product.native.is_none() && !keys(&a).contains(&"no_count".to_owned()));
}

#[test]
fn a_code_that_was_refused_is_no_lot() {
    for of in LotOf::ALL {
        let key = format!("unread.{}", of.lot());
        let a = caution(&key, |d| d.type_in(of.lot(), "]C10106291041500214", now().at, None));
        assert!(a.findings.iter().all(|f| f.kind.settled_in_room()));
    }
}
