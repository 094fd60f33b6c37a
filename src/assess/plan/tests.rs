use super::*;
use crate::draft::{CheckSign, CountStanding, Draft};
use crate::product::order::OrderSense;
use crate::product::plan::{Limit, Verdict};
use crate::quantity::time::{Instant, Offset};
use crate::words::Language;

type Change = fn(&mut Draft);

const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

fn demo(change: impl FnOnce(&mut Draft)) -> Case {
    let mut draft = Draft::demo("d".into(), CheckSign::pick(0, &[]), NOW.at, Default::default());
    change(&mut draft);
    crate::case::read(&draft, Language::English).0
}

fn planned(change: impl FnOnce(&mut Draft)) -> Plan {
    plan(&demo(change), NOW).unwrap()
}

#[test]
fn an_order_that_names_no_amount_has_no_plan_and_each_other_reason_is_told() {
    use Unplanned as U;
    let why = |case: &Case| plan_among(case, &assess(case, NOW), &[]).err();
    assert_eq!((why(&demo(|_| ())), plan(&demo(|_| ()), NOW)), (Some(U::NoAmount), None));
    assert_eq!(why(&demo(|d| d.write(Field::Weight, "some"))), Some(U::NoAmount));
    let order = |d: &mut Draft| d.write(Field::OrderPlatelets, "2");
    assert!(plan(&demo(order), NOW).is_some());
    let changes: [(Change, Unplanned); 13] = [
        (|d| d.write(Field::OrderPlatelets, "a lot"), U::Unread(Field::OrderPlatelets)),
        (|d| d.write(Field::ProductVolume, "some"), U::Unread(Field::ProductVolume)),
        (|d| d.times.needle_in = Some(NOW.at), U::NeedleIn),
        (|d| d.kit.container = None, U::NoContainer),
        (|d| d.kit.protocol = None, U::NoProtocol),
        (|d| d.kit.protocol.as_mut().unwrap().expectation = None, U::NoExpectation),
        (
            |d| {
                d.choices.white_cells = Some(WhiteCellOrder::NotWanted);
                d.kit.protocol.as_mut().unwrap().white_cells = WhiteCells::Kept;
            },
            U::WhiteCells,
        ),
        (|d| d.choices.agent = Some(crate::blood::anticoagulant::Agent::Edta), U::Anticoagulant),
        // 0 lies outside the range of the field, and is told there.
        (|d| d.write(Field::BloodCount, "0"), U::Unread(Field::BloodCount)),
        (
            |d| {
                for field in [Field::OrderVolume, Field::PartVolume(0), Field::PartVolume(1)] {
                    d.write(field, "");
                }
            },
            U::NothingToGive,
        ),
        (
            |d| {
                d.choices.order_sense.insert(OrderedAmount::Platelets, OrderSense::Between);
                d.write(Field::OrderPlateletsMost, "1");
            },
            U::UpsideDown,
        ),
        (
            |d| {
                d.choices.order_sense.insert(OrderedAmount::Platelets, OrderSense::Between);
            },
            U::SecondNumber,
        ),
        // in parts of 2 and 1 mL: 1.8 in 1 mL is more than 2.2 in 2 mL
        (
            |d| {
                d.choices.order_sense.insert(OrderedAmount::Platelets, OrderSense::About);
                d.choices.each_part = true;
            },
            U::PartsDiffer,
        ),
    ];
    for (change, wanted) in changes {
        let case = demo(|d| {
            order(d);
            change(d);
        });
        assert_eq!(why(&case), Some(wanted));
    }
}

#[test]
fn a_way_that_is_used_is_what_the_draft_then_plans() {
    let bench = crate::bench::Bench::default();
    let mut draft = Draft::demo("d".into(), CheckSign::pick(0, &[]), NOW.at, Default::default());
    draft.write(Field::OrderPlatelets, "4");
    draft.write(Field::AnticoagulantChosen, "2.4");
    let read = |draft: &Draft| crate::case::read(draft, Language::English).0;
    let (case, before) = (read(&draft), draft.clone());
    let found = plan_among(&case, &assess(&case, NOW), &bench.containers).unwrap();
    let ways: Vec<Way> = found.way.into_iter().chain(found.others).collect();
    assert!(ways.len() >= 2 && ways.iter().any(|w| w.container != "tube-15"), "{ways:?}");
    for way in ways {
        assert!(!is_set(&case, &assess(&case, NOW), &way));
        let replaced = draft.use_plan(&way, &bench).unwrap();
        let used = read(&draft);
        let answer = assess(&used, NOW);
        assert!(is_set(&used, &answer, &way), "{way:?}");
        let set = answer.draw.plan.as_ref().unwrap();
        assert_eq!(set.containers, way.containers);
        assert!((set.rounded.value.split.blood.get() - way.each.value.split.blood.get()).abs() < 0.005);
        draft.put_back(replaced);
        assert_eq!(draft, before);
    }
}

#[test]
fn the_demo_needs_two_tubes_for_two_and_is_not_asked_for_more_blood_than_that() {
    let found = planned(|d| d.write(Field::OrderPlatelets, "2"));
    let way = found.way.unwrap();
    assert_eq!((found.verdict, way.containers), (Verdict::Met, 2));
    assert!(way.chance.value.get() >= 0.8);
    // one mark less in each is not enough
    let less = planned(|d| {
        d.write(Field::OrderPlatelets, "2");
        let container = d.kit.container.as_mut().unwrap();
        container.fill_high = Volume::new(way.each.value.split.fill.get() - 1.0).unwrap();
    });
    assert!(less.way.unwrap().containers > 2);
    // of 4 mL, 0.2 are counted and 0.3 lost on the way, 3 are given
    assert!((way.left_over.value.get() - 0.5).abs() < 1e-9);
    assert!(found.five_more.unwrap().chance.value > way.chance.value);
    assert!(found.count_now.is_none());
}

#[test]
fn a_count_is_offered_before_more_blood() {
    let found = planned(|d| {
        d.write(Field::OrderPlatelets, "2");
        d.choices.count = Some(CountStanding::NoCount);
    });
    let count = found.count_now.unwrap();
    let (now, counted) = (count.now.unwrap(), count.counted.unwrap());
    assert!(count.uncounted && counted.low > now.low && counted.high < now.high);
    let (with, without) = (count.way.unwrap(), found.way.unwrap());
    assert!(with.blood.value < without.blood.value, "{:?} {:?}", with.blood.value, without.blood.value);
}

#[test]
fn what_cannot_be_met_says_what_binds_and_what_could_be_ordered() {
    let found = planned(|d| {
        d.write(Field::OrderPlatelets, "2");
        d.choices.one_container = true;
    });
    assert_eq!((found.verdict, found.binds), (Verdict::CannotMeet, Some(Limit::Containers)));
    let more = found.relaxed.iter().find(|r| r.limit == Limit::Containers).unwrap();
    assert!(more.met && more.way.containers == 2);
    let [(OrderedAmount::Platelets, reachable)] = found.reachable[..] else { panic!("one amount") };
    let lower = planned(|d| {
        d.write(Field::OrderPlatelets, format!("{:.2}", reachable - 0.01));
        d.choices.one_container = true;
    });
    assert_eq!(lower.verdict, Verdict::Met);
    // 12 tubes would be needed; 100 mL may be drawn while nobody says how heavy the patient is
    let blood = planned(|d| d.write(Field::OrderPlatelets, "12"));
    assert_eq!(blood.binds, Some(Limit::Blood(None)));
    assert!(blood.way.unwrap().blood.value.get() <= 100.0);
}

#[test]
fn an_order_for_each_part_is_met_in_the_smallest() {
    let all = planned(|d| d.write(Field::OrderPlatelets, "1.5"));
    let each = planned(|d| {
        d.write(Field::OrderPlatelets, "0.5");
        d.choices.each_part = true;
    });
    // parts of 2 and 1 mL: 0.5 in the smaller asks for 1.5 in all
    assert_eq!(all.way.as_ref().map(|w| w.blood.value), each.way.as_ref().map(|w| w.blood.value));
}

#[test]
fn another_container_of_the_shelf_is_offered_beside() {
    let case = demo(|d| d.write(Field::OrderPlatelets, "2"));
    let bench = crate::bench::Bench::default();
    let shelf = bench.alike(case.draw.container.as_ref().unwrap());
    assert!(shelf.iter().all(|c| c.id != "chamber-50"), "a tube's method is not planned in a chamber");
    let found = plan_among(&case, &assess(&case, NOW), &shelf).unwrap();
    assert!(found.others.iter().any(|w| w.container != "tube-15"), "{:?}", found.others);
    assert!(found.others.len() <= 3);
}

#[test]
fn an_amount_of_anticoagulant_for_one_container_is_not_put_into_another() {
    let bench = crate::bench::Bench::default();
    let others = |change: fn(&mut Draft)| {
        let case = demo(|d| {
            d.write(Field::OrderPlatelets, "2");
            change(d);
        });
        let found = plan_among(&case, &assess(&case, NOW), &bench.containers).unwrap();
        found.others.into_iter().filter(|w| w.container != "tube-15").collect::<Vec<_>>()
    };
    // 15 mL of anticoagulant for 100 mL of blood goes with any container, 2 mL with the tube it was typed for.
    assert_ne!(others(|_| ()), []);
    assert_eq!(others(|d| d.write(Field::AnticoagulantPerContainer, "2")), []);
    assert_eq!(
        others(|d| {
            let protocol = d.kit.protocol.as_mut().unwrap();
            protocol.dosing = Some(Dosing::PerContainer(Volume::new(2.0).unwrap()));
        }),
        []
    );
}

#[test]
fn what_a_stop_forbids_is_no_relaxation_while_the_weight_is_unknown() {
    let case = demo(|d| {
        d.write(Field::Weight, "");
        d.write(Field::OrderPlatelets, "12");
    });
    let answer = assess(&case, NOW);
    let asked = problem(&case, &answer).unwrap();
    // 5 mL/kg of the lightest adult, 40 kg
    assert!((asked.blood_to_stop.unwrap().most.get() - 200.0).abs() < 1e-6, "{:?}", asked.blood_to_stop);
    let found = plan_among(&case, &answer, &[]).unwrap();
    assert_eq!(found.binds, Some(Limit::Blood(None)));
    assert!(
        found.relaxed.iter().all(|r| !matches!(r.limit, Limit::Blood(None))),
        "enter the weight: no volume"
    );
    for relaxed in &found.relaxed {
        assert!(relaxed.way.blood.value.get() <= 100.0 + 1e-9, "{relaxed:?}");
    }
}

#[test]
fn a_draw_that_cannot_be_judged_is_not_allowed() {
    let mut case = demo(|d| d.write(Field::OrderPlatelets, "2"));
    case.discard = Some(Volume::new(Volume::MAX).unwrap());
    case.previous = case.discard;
    let asked = problem(&case, &assess(&case, NOW)).unwrap();
    assert_eq!(asked.blood.unwrap().most, Volume::ZERO);
    assert_eq!(asked.blood_to_stop.unwrap().most, Volume::ZERO);
    let found = plan(&case, NOW).unwrap();
    assert_eq!((found.way, found.binds), (None, Some(Limit::Blood(None))));
}

#[test]
fn a_second_number_that_is_missing_is_asked_for() {
    let case = demo(|d| {
        d.write(Field::OrderPlatelets, "2");
        d.choices.order_sense.insert(OrderedAmount::Platelets, OrderSense::Between);
    });
    let answer = assess(&case, NOW);
    assert!(answer.questions.contains(&super::super::Question::SecondNumber));
    let line = &answer.product.order[0];
    assert_eq!((line.sense, line.most), (OrderSense::Between, None));
    let whole = demo(|d| d.write(Field::OrderPlatelets, "2"));
    assert!(!assess(&whole, NOW).questions.contains(&super::super::Question::SecondNumber));
}

/// Prints what an answer and a plan take; `cargo test --release --lib what_an_answer -- --nocapture`.
#[test]
fn what_an_answer_and_a_plan_take() {
    use crate::product::kind::{Basis, Learned};
    let learned = Learned { location: -0.4, scale: 0.16, freedom: 18.0, counting_variance: 0.0018 };
    for learned in [None, Some(learned)] {
        let mut case = demo(|d| d.write(Field::OrderPlatelets, "2"));
        if learned.is_some() {
            let expectation = case.protocol.as_mut().unwrap().expectation.as_mut().unwrap();
            expectation.basis = Basis::ClinicCounts { n: 12, learned };
        }
        let mut short = case.clone();
        short.order.one_container = true;
        let time = |run: &dyn Fn()| {
            let mut each: Vec<f64> = (0..100)
                .map(|_| {
                    let began = std::time::Instant::now();
                    run();
                    began.elapsed().as_secs_f64() * 1e3
                })
                .collect();
            each.sort_by(f64::total_cmp);
            (each[50], each[98])
        };
        let (median, slow) = time(&|| assert!(assess(&case, NOW).product.prediction.is_some()));
        println!("answer, learned {}: {median:.3} ms, 98 of 100 within {slow:.3}", learned.is_some());
        let answer = assess(&case, NOW);
        let (median, slow) = time(&|| assert!(plan_among(&case, &answer, &[]).is_ok()));
        println!("plan that meets the order: {median:.2} ms, 98 of 100 within {slow:.2}");
        let (median, slow) = time(&|| assert!(plan_among(&short, &answer, &[]).is_ok()));
        println!("plan that cannot: {median:.2} ms, 98 of 100 within {slow:.2}");
    }
}

#[test]
fn a_volume_to_keep_that_was_entered_is_told_as_what_it_is() {
    let binds = |low: Option<f64>, high: Option<f64>, keep: &str| {
        let plan = planned(|d| {
            d.write(Field::OrderPlatelets, "2");
            d.write(Field::ProductVolume, keep);
            let container = d.kit.container.as_mut().unwrap();
            container.product_low = low.map(|v| Volume::new(v).unwrap());
            container.product_high = high.map(|v| Volume::new(v).unwrap());
        });
        let relaxed: Vec<Limit> = plan.relaxed.iter().map(|r| r.limit).collect();
        assert!(plan.binds.is_none_or(|limit| relaxed.contains(&limit)), "{relaxed:?}");
        plan.binds
    };
    // 3 mL ordered: 1 mL kept is too little for it, and nothing else stands in the way.
    assert_eq!(binds(None, None, "1"), Some(Limit::ProductKept));
    assert_eq!(binds(Some(3.0), None, "2"), Some(Limit::ProductKept));
    // Where the container says from what to what, that counts, and not what was entered.
    assert_eq!(binds(Some(3.0), Some(6.0), "1"), Some(Limit::ProductVolume));
    assert_eq!(binds(None, None, "4"), None);
}
