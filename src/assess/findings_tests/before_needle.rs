//! Findings before the needle.

use super::*;
use crate::blood::anticoagulant::Agent;

#[test]
fn edta_and_heparin_wait_for_the_prescriber() {
    waits("agent_unsuitable.edta", HeldStep::Needle, |d| d.choices.agent = Some(Agent::Edta));
    waits("agent_unsuitable.heparin", HeldStep::Needle, |d| d.choices.agent = Some(Agent::Heparin));
}

#[test]
fn without_an_amount_there_is_no_plan() {
    let a = note("amount_unknown", |d| d.choices.agent = Some(Agent::AcdB));
    assert!(a.draw.plan.is_none());
    // The label's amount makes the plan.
    let mut d = quiet();
    d.choices.agent = Some(Agent::AcdB);
    d.write(Field::AnticoagulantPer100, "15");
    assert!(answer(&d).draw.plan.is_some());
}

#[test]
fn without_a_band_that_is_said() {
    let a = note("band_unknown", |d| d.choices.agent = Some(Agent::Cpd));
    assert_eq!(a.draw.plan.unwrap().rounded.value.in_band, None);
}

#[test]
fn rounding_down_is_told() {
    // 20 mL for 100 mL of blood is 2.5 mL in a fill of 15: up to 2.6 would leave the band, down to 2.4 does not.
    let a = note("rounded_down", |d| d.write(Field::AnticoagulantPer100, "20"));
    assert_eq!(a.draw.plan.unwrap().rounded.value.split.anticoagulant, ml(2.4));
}

#[test]
fn too_little_anticoagulant_is_a_caution() {
    // Planned for all, and found in one.
    caution("anticoagulant_low", |d| d.write(Field::AnticoagulantChosen, "1"));
    caution("anticoagulant_low.2", |d| d.write(Field::AnticoagulantActual(1), "1"));
}

#[test]
fn far_too_little_anticoagulant_waits_for_the_prescriber() {
    // None, and a tenth of what was meant: nothing that may go by unseen.
    for chosen in ["0", "0.2", "0.6"] {
        waits("anticoagulant_far_low", HeldStep::Needle, |d| d.write(Field::AnticoagulantChosen, chosen));
    }
    // Half of the band's edge is 5 mL for 100 mL of blood: 0.8 mL in 15 is more.
    caution("anticoagulant_low", |d| d.write(Field::AnticoagulantChosen, "0.8"));
    // Without a band, none at all is none all the same.
    let mut d = quiet();
    d.choices.agent = Some(crate::blood::anticoagulant::Agent::AcdB);
    d.write(Field::AnticoagulantPer100, "15");
    d.write(Field::AnticoagulantChosen, "0");
    assert!(answer(&d).holding(HeldStep::Needle).any(|f| f.kind.key() == "anticoagulant_far_low"));
    // Found in one container, its spin waits.
    waits("anticoagulant_far_low.2", HeldStep::Spin, |d| d.write(Field::AnticoagulantActual(1), "0.2"));
    // What is inside when bought is for its maker to have chosen.
    let mut tube = quiet();
    let agent = crate::blood::anticoagulant::Agent::AcdA;
    container(&mut tube).prefill = Some(crate::bench::Prefill { agent, volume: ml(0.4) });
    assert_eq!(keys(&answer(&tube)), ["anticoagulant_low"]);
}

#[test]
fn weight_and_height_that_do_not_go_together_are_asked_about() {
    use crate::quantity::read::{Reading, Why};
    let asked = |weight: &str, height: &str| {
        let mut d = quiet();
        d.write(Field::Weight, weight);
        d.write(Field::Height, height);
        let (case, readings) = crate::case::read(&d, Language::English);
        let offers = match readings.get(&Field::Weight) {
            Some(Reading::Ask { options }) => options.iter().map(|o| (o.why, o.text.clone())).collect(),
            _ => Vec::new(),
        };
        (case.patient.weight.map(Quantity::get), offers)
    };
    assert_eq!(asked("75", "175"), (Some(75.0), vec![]));
    // 165 lb, typed as kilograms: 53.9 kg/m².
    let (weight, offers) = asked("165", "175");
    assert_eq!(weight, None);
    let told: Vec<_> = offers.iter().map(|(why, text)| (*why, text.replace('\u{a0}', " "))).collect();
    assert_eq!(told, [(Why::AsTyped, "165 kg".to_owned()), (Why::OtherUnit("lb"), "165 lb".to_owned())]);
    for (_, text) in offers {
        assert!(asked(&text, "175").0.is_some(), "an offer is an answer");
    }
    // Where no other unit would do, the number itself is asked about.
    assert_eq!(asked("31", "185").1.len(), 1);
    assert_eq!(asked("165", "").0, Some(165.0), "nothing to hold it against");
}

#[test]
fn a_unit_that_slipped_does_not_lift_a_limit() {
    // 12 containers and 450 mL before, of 75 kg: over both limits.
    let over = |previous: &str, weight: &str| {
        let mut d = quiet();
        d.write(Field::Containers, "12");
        d.write(Field::Height, "175");
        d.write(Field::PreviousBlood, previous);
        d.write(Field::Weight, weight);
        answer(&d)
    };
    let stops = |a: &Assessment| a.holding(HeldStep::Needle).map(|f| f.kind.key()).collect::<Vec<_>>();
    assert!(stops(&over("450", "75")).iter().all(|k| k.starts_with("limit.")));
    // Litres and pounds: both are asked about, and the needle waits for the answers.
    let slipped = stops(&over("0.45", "165"));
    for key in ["unread.weight", "unread.previous_blood"] {
        assert!(slipped.contains(&key.to_owned()), "{slipped:?}");
    }
    assert_eq!(stops(&over("0.45 L", "165 lb")), stops(&over("450", "75")));
}

#[test]
fn blood_told_here_counts_though_nobody_entered_it() {
    let told = |told: f64| {
        move |d: &mut Draft| {
            d.blood_told =
                Some(BloodTold { of: d.reference_told(), second: None, sum: ml(told), whole: true })
        }
    };
    let a = caution("blood_untold", told(26.0));
    assert_eq!(a.draw.patient.unwrap().eight_weeks.value, ml(52.0), "26 mL today");
    caution("blood_untold", |d| {
        d.write(Field::PreviousBlood, "25");
        told(26.0)(d);
    });
    let mut entered = quiet();
    entered.write(Field::PreviousBlood, "30");
    told(26.0)(&mut entered);
    assert_eq!(keys(&answer(&entered)), [""; 0], "draws elsewhere come to it");
    // Of a draw whose volume is not known that stays said, whatever is entered.
    caution("blood_untold", |d| {
        d.write(Field::PreviousBlood, "30");
        d.blood_told = Some(BloodTold { of: d.reference_told(), second: None, sum: ml(0.0), whole: false });
    });
    let mut nothing = quiet();
    told(0.0)(&mut nothing);
    assert_eq!(keys(&answer(&nothing)), [""; 0], "no blood came then");
    // Untapped it holds the needle where entered it would.
    let stops = |change: &dyn Fn(&mut Draft)| {
        let mut d = quiet();
        change(&mut d);
        let a = answer(&d);
        a.holding(HeldStep::Needle).map(|f| f.kind.key()).collect::<Vec<_>>()
    };
    let entered = stops(&|d| d.write(Field::PreviousBlood, "1500"));
    assert!(!entered.is_empty());
    assert_eq!(stops(&told(1500.0)), entered);
}

#[test]
fn a_short_fill_tells_the_share_and_the_mark() {
    let a = caution("anticoagulant_high.1", |d| d.write(Field::FillActual(0), "11"));
    let kind = a.findings.into_iter().map(|f| f.kind).find(|k| k.key() == "anticoagulant_high.1");
    let Some(FindingKind::AnticoagulantHigh { ratio, mark, .. }) = kind else { panic!("{kind:?}") };
    // 2 mL on 9 mL of blood; 10 mL of blood, the 12 mark, is the end of the band.
    assert!((ratio.get() - 2.0 / 9.0).abs() < 1e-12);
    assert!((mark.unwrap().get() - 12.0).abs() < 1e-9);
    caution("anticoagulant_high", |d| d.write(Field::AnticoagulantChosen, "3"));
}

#[test]
fn fill_mark_or_blood_is_asked() {
    let a = note("convention_unsaid", |d| d.choices.convention = None);
    assert!(a.draw.plan.is_none());
}

#[test]
fn a_fill_above_capacity_cannot_be_overridden() {
    stops("above_capacity", HeldStep::Needle, |d| d.write(Field::FillVolume, "18"));
    stops("above_capacity.2", HeldStep::Spin, |d| d.write(Field::FillActual(1), "18"));
    // Set aside, it takes no further part, however full it is.
    let mut d = quiet();
    d.write(Field::FillActual(1), "18");
    trouble(&mut d, TroubleKind::Dropped, Some(1), true);
    assert_eq!(keys(&answer(&d)), ["set_aside.2"]);
}

#[test]
fn a_fill_outside_the_range_is_a_caution() {
    caution("fill_outside_range", |d| d.write(Field::FillVolume, "6"));
}

#[test]
fn draw_limits_warn_and_then_wait() {
    // 26 mL and 200 mL discarded: 3.5 mL/kg at 65 kg, 5.4 at 42.
    caution("limit.per_kg", |d| {
        d.write(Field::Discard, "200");
        d.write(Field::Weight, "65");
    });
    waits("limit.per_kg", HeldStep::Needle, |d| {
        d.write(Field::Discard, "200");
        d.write(Field::Weight, "42");
    });
    waits("limit.eight_weeks_volume", HeldStep::Needle, |d| d.write(Field::PreviousBlood, "530"));
    waits("limit.minor", HeldStep::Needle, |d| d.write(Field::Age, "16"));
}

#[test]
fn a_large_draw_asks_for_the_patients_size() {
    let a = caution("limit_unknown", |d| {
        d.write(Field::Discard, "80");
        d.write(Field::Weight, "");
        d.write(Field::Height, "");
    });
    use crate::blood::patient::Missing;
    assert_eq!(a.draw.patient.unwrap().missing, [Missing::Weight, Missing::Height]);
    // 5 mL/kg today and 7 in eight weeks at 40 kg: 200 and 280 mL. 26 are drawn.
    for (field, most, more) in [(Field::Discard, "174", "175"), (Field::PreviousBlood, "254", "255")] {
        let drawn = |d: &mut Draft, text: &str| {
            d.write(field, text);
            d.write(Field::Weight, "");
        };
        caution("limit_unknown", |d| drawn(d, most));
        waits("limit_unknown", HeldStep::Needle, |d| drawn(d, more));
    }
    // With the weight it is known, and the clinic's own limit is what counts.
    caution("limit_unknown", |d| {
        d.write(Field::Discard, "190");
        d.write(Field::Height, "");
    });
    waits("limit_unknown", HeldStep::Needle, |d| {
        d.kit.limits.per_kg_stop = crate::quantity::VolumePerMass::new(3.0).unwrap();
        d.write(Field::Discard, "95");
        d.write(Field::Weight, "");
    });
}

#[test]
fn without_a_draw_plan_the_needle_waits() {
    for missing in [Field::Containers, Field::FillVolume] {
        let a = waits("no_plan", HeldStep::Needle, |d| d.write(missing, ""));
        assert!(a.draw.plan.is_none());
    }
    waits("no_plan", HeldStep::Needle, |d| d.kit.container = None);
    // Two identifiers and nothing else.
    let quiet = quiet();
    let mut d = Draft::new("case".into(), CheckSign::pick(1, &[]), now().at, Conventions::default());
    for field in [Field::PatientReference, Field::SecondIdentifier] {
        d.write(field, quiet.text(field));
    }
    assert!(!keys(&answer(&d)).contains(&"no_plan".to_owned()), "still at the order, nothing is asked yet");
    d.stage = Stage::BeforeNeedle;
    check(&mut d, CheckKind::Identity);
    let a = answer(&d);
    assert_eq!(a.holding(HeldStep::Needle).map(|f| f.kind.key()).collect::<Vec<_>>(), ["no_plan"]);
}

#[test]
fn unsound_material_cannot_be_overridden() {
    stops("unsound.anticoagulant", HeldStep::Needle, |d| check(d, CheckKind::AnticoagulantUnsound));
    stops("unsound.containers", HeldStep::Needle, |d| check(d, CheckKind::ContainersUnsound));
}

#[test]
fn expired_lots_cannot_be_overridden() {
    stops("expired.anticoagulant", HeldStep::Needle, |d| d.write(Field::AnticoagulantExpiry, "11 Mar 2026"));
    stops("expired.containers", HeldStep::Needle, |d| d.write(Field::ContainerExpiry, "11 Mar 2026"));
    let mut d = quiet();
    d.write(Field::AnticoagulantExpiry, "12 Mar 2026");
    assert_eq!(keys(&answer(&d)), [""; 0], "the last good day is good");
    // Used in time, it stays in time, however late the card is looked at.
    d.times.needle_in = hours_ago(24);
    d.write(Field::AnticoagulantExpiry, "11 Mar 2026");
    d.write(Field::ContainerExpiry, "10 Mar 2026");
    let found = keys(&answer(&d));
    assert!(!found.contains(&"expired.anticoagulant".to_owned()), "{found:?}");
    assert!(found.contains(&"expired.containers".to_owned()), "{found:?}");
}

#[test]
fn another_product_waits_for_the_right_one() {
    // Product numbers of the check-digit pages of gs1.org and gs1.se.
    let (right, wrong) = ("06291041500213", "07300011000017");
    for of in [LotOf::Anticoagulant, LotOf::Containers] {
        let name = match of {
            LotOf::Anticoagulant => "other_product.anticoagulant",
            LotOf::Containers | LotOf::Addition(_) => "other_product.containers",
        };
        let scan = |d: &mut Draft, product: &str| {
            let code = format!("]C101{product}1727033110K-0058");
            assert_eq!(d.scan(of, &code, now().at), Ok(true));
        };
        let bench = |d: &mut Draft| {
            protocol(d).agent_product = Gtin::read(right);
            container(d).product_number = Gtin::read(right);
        };
        waits(name, HeldStep::Needle, |d| {
            bench(d);
            scan(d, wrong);
        });
        let mut d = quiet();
        scan(&mut d, wrong);
        assert_eq!(keys(&answer(&d)), [""; 0], "nothing to hold it against");
        bench(&mut d);
        assert_eq!(keys(&answer(&d)), [name]);
        // The right one scanned, or the lot typed by hand; both codes stay.
        let mut typed = d.clone();
        typed.type_in(of.lot(), "k-0058", now().at, None);
        assert_eq!(keys(&answer(&typed)), [name], "the same lot in small letters");
        typed.type_in(of.lot(), "K-0059", now().at, None);
        assert_eq!((keys(&answer(&typed)), typed.scans.len()), (vec![], 1));
        scan(&mut d, right);
        assert_eq!((keys(&answer(&d)), d.scans.len()), (vec![], 2));
        // What has expired is a final Stop, however it was entered.
        assert_eq!(d.scan(of, &format!("(01){right}(17)260311(10)K-0058"), now().at), Ok(true));
        let a = answer(&d);
        assert_eq!(a.findings.iter().map(|f| f.level).collect::<Vec<_>>(), [Level::StopFinal]);
        let other = LotOf::ALL.into_iter().find(|other| *other != of).unwrap();
        assert_eq!([of, other].map(|of| a.stop_of_lot(of).map(|f| f.level)), [Some(Level::StopFinal), None]);
    }
    // The protocol's number is of its own anticoagulant, and of none that is in the container when bought.
    let mut d = quiet();
    protocol(&mut d).agent_product = Gtin::read(right);
    d.scan(LotOf::Anticoagulant, &format!("(01){wrong}(10)A"), now().at).unwrap();
    d.choices.agent = Some(Agent::AcdB);
    assert!(!keys(&answer(&d)).contains(&"other_product.anticoagulant".to_owned()));
}

#[test]
fn an_expiry_that_is_not_the_one_of_the_code_waits() {
    // Product number of the check-digit page of gs1.org.
    let expired = "]C101062910415002131726022810K-0071";
    for of in [LotOf::Anticoagulant, LotOf::Containers, LotOf::Addition(0)] {
        let [lot, expiry] = of.fields();
        let (name, step) = match of {
            LotOf::Anticoagulant => {
                (["expired.anticoagulant", "expiry_differs.anticoagulant"], HeldStep::Needle)
            }
            LotOf::Containers => (["expired.containers", "expiry_differs.containers"], HeldStep::Needle),
            LotOf::Addition(_) => (["expired.addition_1", "expiry_differs.addition_1"], HeldStep::HandOver),
        };
        let quiet = || {
            let mut d = quiet();
            if let LotOf::Addition(_) = of {
                add_buffer(&mut d);
            }
            d
        };
        let given = |d: &mut Draft| *d = quiet();
        stops(name[0], step, |d| {
            given(d);
            d.type_in(lot, expired, now().at, None);
        });
        // Another day, none, and none that can be read.
        for typed in ["28 Feb 2027", "", "K-0072"] {
            waits(name[1], step, |d| {
                given(d);
                d.type_in(lot, expired, now().at, None);
                d.type_in(expiry, typed, now().at, None);
            });
        }
        // The same day in other words is the same; of another lot, the code says nothing.
        let mut d = quiet();
        d.type_in(lot, expired, now().at, None);
        d.type_in(expiry, "28 Feb 2026", now().at, None);
        assert_eq!(keys(&answer(&d)), [name[0]]);
        d.type_in(lot, "K-0072", now().at, None);
        d.type_in(expiry, "28 Feb 2027", now().at, None);
        assert_eq!(keys(&answer(&d)), [""; 0]);
        // The second code of a label names no expiry: the one typed stays, and so does the Stop.
        let mut d = quiet();
        d.type_in(lot, "(10)K-0071", now().at, None);
        d.type_in(expiry, "28 Feb 2026", now().at, None);
        d.type_in(lot, "(01)06291041500213", now().at, None);
        assert_eq!(keys(&answer(&d)), [name[0]]);
    }
}

#[test]
fn one_product_in_both_fields_is_a_caution() {
    // Product number of the check-digit page of gs1.org.
    let both = |d: &mut Draft| {
        for of in [LotOf::Anticoagulant, LotOf::Containers] {
            d.type_in(of.lot(), "]C101062910415002131727033110K-0071", now().at, None);
        }
    };
    let a = caution("same_product", both);
    assert!(a.findings.iter().all(|f| f.kind.settled_in_room()));
    let mut d = quiet();
    both(&mut d);
    d.type_in(Field::AnticoagulantLot, "]C101073000110000171727033110AC-2292", now().at, None);
    assert_eq!(keys(&answer(&d)), [""; 0]);
    // What is inside when bought has the lot of its tube.
    let mut d = quiet();
    both(&mut d);
    container(&mut d).prefill = Some(crate::bench::Prefill { agent: Agent::AcdA, volume: ml(2.0) });
    assert!(!keys(&answer(&d)).contains(&"same_product".to_owned()));
    // An addition is neither of the two; two of one product are two boxes of it.
    for of in [LotOf::Anticoagulant, LotOf::Containers] {
        let a = caution("same_product.addition_1", |d| {
            d.type_in(of.lot(), "]C101062910415002131727033110K-0071", now().at, None);
            add_buffer(d);
            let code = "]C101062910415002131727033110AC-2292";
            d.type_in(Field::AdditionLot(0), code, now().at, None);
        });
        let found = a.findings.iter().find(|f| f.kind.key() == "same_product.addition_1").unwrap();
        assert_eq!(found.kind.stage(), crate::draft::Stage::Product);
    }
}

#[test]
fn an_unreadable_expiry_is_told() {
    caution("expiry_unreadable.anticoagulant", |d| d.write(Field::AnticoagulantExpiry, "next spring"));
    // Day or month first: not guessed.
    caution("expiry_unreadable.containers", |d| d.write(Field::ContainerExpiry, "4/5/2027"));
    caution("expiry_unreadable.addition_1", |d| {
        add_buffer(d);
        d.write(Field::AdditionExpiry(0), "next spring");
    });
}

/// An addition that raises no finding of its own.
fn add_buffer(d: &mut Draft) {
    d.rows.additions = 1;
    d.choices.additions.insert(0, crate::draft::AdditionChoice::Other);
    d.write(Field::AdditionName(0), "buffer");
    d.write(Field::AdditionVolume(0), "0.1");
}

#[test]
fn what_is_made_of_the_patients_own_blood_has_no_lot() {
    let mut d = quiet();
    add_buffer(&mut d);
    d.write(Field::AdditionExpiry(0), "28 Feb 2026");
    assert_eq!(keys(&answer(&d)), ["expired.addition_1"]);
    d.choices.additions.insert(0, crate::draft::AdditionChoice::AutologousThrombin);
    assert_eq!(keys(&answer(&d)), [""; 0]);
    // A row taken away takes lot, expiry and code along.
    d.type_in(Field::AdditionLot(0), "(17)260228(10)AC-2291", now().at, None);
    d.clear_lot(LotOf::Addition(0));
    d.rows.additions = 0;
    assert_eq!((d.text(Field::AdditionLot(0)), d.scanned(LotOf::Addition(0))), ("", None));
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn soundness_nobody_looked_at_is_a_caution() {
    for left in
        [&[CheckKind::AnticoagulantSound, CheckKind::ContainersSound][..], &[CheckKind::ContainersSound]]
    {
        caution("sound_unchecked", |d| d.checks.retain(|kind, _| !left.contains(kind)));
    }
    // Looked at and found wanting is another finding; at the order nobody has had occasion to look.
    let mut d = quiet();
    d.checks.clear();
    d.stage = Stage::Order;
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn another_second_identifier_under_the_same_reference_is_told() {
    use crate::draft::Namesake;
    let sign = CheckSign::pick(7, &[]);
    let told = |d: &mut Draft| {
        let of = [d.reference_told(), d.second_told()];
        d.namesake = Some(Namesake { of, sign, at: now().at, others: 0 });
    };
    caution("other_identifier", told);
    // Of other identifiers than those it was told for it says nothing.
    let mut other = quiet();
    told(&mut other);
    other.write(Field::SecondIdentifier, "5 Sep 1991");
    assert!(!keys(&answer(&other)).contains(&"other_identifier".to_owned()));
}
