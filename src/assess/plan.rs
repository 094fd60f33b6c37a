//! The plan of a case: the problem put together from order, kit and patient. Apart from [`super::assess`]: not
//! reckoned at every key.

use super::against::asked;
use super::draw::chosen_amount;
use super::product::giving_of;
use super::{Assessment, Now, assess};
use crate::bench::{Container, WhiteCells};
use crate::blood::anticoagulant::{self, Band, Dosing, Rounded, VolumeConvention};
use crate::blood::patient::{DrawDemand, LimitLevel, PatientCheck, check};
use crate::case::Case;
use crate::draft::field::MAX_CONTAINERS;
use crate::draft::{Field, WhiteCellOrder};
use crate::product::kind::ProductKind;
use crate::product::order::OrderedAmount;
use crate::product::plan::{self, Aim, BloodLimit, Plan, Plasma, Problem, Vessel, Way};
use crate::product::predict::NativeCount;
use crate::quantity::{Quantity, Volume};
use crate::working::Worked;

/// More than any draw [mL].
const FAR: f64 = 2000.0;

/// Why nothing can be planned, the first that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unplanned {
    /// The order names no amount.
    NoAmount,
    /// The needle is in: what is planned is drawn.
    NeedleIn,
    /// This cannot be read.
    Unread(Field),
    /// Of two numbers ordered the second is the smaller.
    UpsideDown,
    /// No container is chosen.
    NoContainer,
    /// No protocol is chosen.
    NoProtocol,
    /// The protocol has no counts behind it.
    NoExpectation,
    /// White cells are ordered otherwise than the protocol leaves them.
    WhiteCells,
    /// No anticoagulant that suits the process, or its amount is not known.
    Anticoagulant,
    /// What is given, or what is added to it, is not known in full.
    NothingToGive,
}

/// What to draw so that the order is met, in the container chosen. `None` while nothing can be planned.
pub fn plan(case: &Case, now: Now) -> Option<Plan> {
    plan_among(case, &assess(case, now), &[]).ok()
}

/// The same from its assessment, beside other containers that the protocol is used with. Errors: why nothing can be
/// planned.
pub fn plan_among(case: &Case, answer: &Assessment, shelf: &[Container]) -> Result<Plan, Unplanned> {
    let problem = problem(case, answer)?;
    let own = case.draw.container.as_ref().ok_or(Unplanned::NoContainer)?;
    // The same case in each other container.
    let others: Vec<Case> = shelf
        .iter()
        .filter(|c| c.id != own.id)
        .filter_map(|container| {
            let mut other = case.clone();
            match (&own.prefill, &container.prefill) {
                (_, Some(p)) if case.draw.agent == Some(p.agent) => {
                    other.draw.dosing = Some(Dosing::PerContainer(p.volume));
                }
                (None, None) => {}
                _ => return None,
            }
            other.draw.container = Some(container.clone());
            Some(other)
        })
        .collect();
    let shelf: Vec<Problem<'_>> =
        others.iter().filter_map(|other| self::problem(other, answer).ok()).collect();
    Ok(plan::plan(&problem, &shelf))
}

/// Whether the draft's own plan is this way already.
pub fn is_set(case: &Case, answer: &Assessment, way: &Way) -> bool {
    let own = case.draw.container.as_ref().is_some_and(|c| c.id == way.container);
    let drawn = answer.draw.plan.as_ref().is_some_and(|p| {
        let (set, planned) = (p.rounded.value.split, way.each.value.split);
        let same = |a: Volume, b: Volume| (a.get() - b.get()).abs() < 0.005;
        p.containers == way.containers
            && same(set.fill, planned.fill)
            && same(set.anticoagulant, planned.anticoagulant)
    });
    own && drawn && case.collect.planned.is_some_and(|v| (v.get() - way.product.get()).abs() < 0.005)
}

fn problem<'a>(case: &'a Case, answer: &Assessment) -> Result<Problem<'a>, Unplanned> {
    let orders = asked(&case.order);
    let unread = || case.unread.keys().copied();
    if orders.is_empty() && !unread().any(names_an_amount) {
        return Err(Unplanned::NoAmount);
    }
    if case.times.needle_in.is_some() {
        return Err(Unplanned::NeedleIn);
    }
    if let Some(field) = unread().find(|f| rests_on(*f)) {
        return Err(Unplanned::Unread(field));
    }
    let aims: Vec<Aim> = orders
        .into_iter()
        .map(|a| Some(Aim { what: a.what, bounds: a.bounds?, each_part: a.each_part }))
        .collect::<Option<_>>()
        .ok_or(Unplanned::UpsideDown)?;
    let protocol = case.protocol.as_ref().ok_or(Unplanned::NoProtocol)?;
    let container = case.draw.container.as_ref().ok_or(Unplanned::NoContainer)?;
    let expectation = protocol.expectation.as_ref().filter(|e| e.kind() == protocol.kind);
    let expectation = expectation.ok_or(Unplanned::NoExpectation)?;
    let against = matches!(
        (case.order.white_cells, protocol.white_cells),
        (Some(WhiteCellOrder::NotWanted), WhiteCells::Kept)
            | (Some(WhiteCellOrder::Wanted), WhiteCells::LeftBehind)
    );
    if against {
        return Err(Unplanned::WhiteCells);
    }
    let suits = case.draw.agent.is_some_and(|a| a.suits_process());
    let dosing = case.draw.dosing.filter(|_| suits).ok_or(Unplanned::Anticoagulant)?;
    let giving = giving_of(case).ok_or(Unplanned::NothingToGive)?;
    if giving.smallest == Volume::ZERO && aims.iter().any(|a| a.what == OrderedAmount::Platelets) {
        return Err(Unplanned::NothingToGive);
    }
    let counted = answer.product.native.as_ref();
    let native =
        counted.map_or(NativeCount::ADULTS, |n| NativeCount { value: n.count.value, cv: n.cv.value });
    if native.value.get() == 0.0 {
        return Err(Unplanned::Unread(Field::BloodCount));
    }
    let haematocrit = case.baseline.haematocrit.filter(|_| protocol.kind == ProductKind::OffTheTop);
    let plasma = haematocrit.map(|haematocrit| Plasma {
        haematocrit,
        packing: protocol.packing,
        left_behind: protocol.left_behind,
    });
    let vessel = vessel(container, dosing, answer.draw.band);
    Ok(Problem {
        kind: protocol.kind,
        expectation,
        native,
        counted: counted.is_some(),
        aims,
        giving,
        vessel,
        usual: case.collect.planned.filter(|v| v.get() > 0.0),
        plasma,
        blood: most_blood(case, |before, after| {
            after.missing.iter().all(|m| before.missing.contains(m))
                && after
                    .hits
                    .iter()
                    .all(|h| before.hits.iter().any(|b| b.rule == h.rule && b.level == h.level))
        }),
        blood_to_stop: most_blood(case, |before, after| {
            let stops = after.hits.iter().filter(|h| h.level == LimitLevel::Stop);
            stops.into_iter().all(|h| before.hits.iter().any(|b| b.rule == h.rule && b.level == h.level))
        }),
        most_containers: if case.order.one_container { 1 } else { MAX_CONTAINERS },
    })
}

/// An amount that an order may name.
fn names_an_amount(field: Field) -> bool {
    matches!(field, Field::OrderPlatelets | Field::OrderConcentration | Field::OrderFold)
}

/// What a plan cannot do without, once somebody typed it.
fn rests_on(field: Field) -> bool {
    use Field as E;
    matches!(
        field,
        E::OrderVolume
            | E::OrderPlatelets
            | E::OrderPlateletsMost
            | E::OrderConcentration
            | E::OrderConcentrationMost
            | E::OrderFold
            | E::OrderFoldMost
            | E::PartVolume(_)
            | E::BloodCount
            | E::CountAge
            | E::CitrateFactor
            | E::BloodHaematocrit
            | E::BloodHaemoglobin
            | E::AnticoagulantPer100
            | E::AnticoagulantPerContainer
            | E::ProductVolume
            | E::CountSample
            | E::Weight
            | E::Height
            | E::Age
            | E::Discard
            | E::PreviousBlood
    )
}

/// Every mark of a container with the anticoagulant that goes with it, by rising blood. One whose anticoagulant
/// cannot be measured within its range is left out.
fn vessel(container: &Container, dosing: Dosing, band: Option<Band>) -> Vessel {
    let fill = |fill: f64| -> Option<Worked<Rounded>> {
        let (fill, mark) = (Volume::new(fill).ok()?, VolumeConvention::FillMark);
        let exact = anticoagulant::split(dosing, mark, fill).ok()?;
        let step = container.anticoagulant_graduation;
        match &container.prefill {
            Some(p) => chosen_amount(p.volume, mark, fill, band).ok(),
            None => anticoagulant::round_up(&exact.value, mark, fill, step, band).ok(),
        }
        .filter(|r| r.value.in_band != Some(false) && r.value.split.blood.get() > 0.0)
    };
    let (low, high) = (container.fill_low.get(), container.fill_high.get());
    let step = container.graduation.get().max(0.05);
    let marks =
        (0_u16..2000).map(|i| low_mark(low, step) + f64::from(i) * step).take_while(|f| *f < high - 1e-9);
    // A tube with anticoagulant inside is filled to its line.
    let marks: Vec<f64> =
        if container.prefill.is_some() { vec![high] } else { marks.chain([high]).collect() };
    let mut fills: Vec<_> = marks.into_iter().filter_map(fill).collect();
    fills.sort_by(|a, b| a.value.split.blood.get().total_cmp(&b.value.split.blood.get()));
    Vessel {
        id: container.id.clone(),
        name: container.name.clone(),
        fills,
        graduation: container.anticoagulant_graduation,
        product_low: container.product_low,
        product_high: container.product_high,
    }
}

/// The lowest mark that is not below the range.
fn low_mark(low: f64, step: f64) -> f64 {
    libm::ceil(low / step - 1e-9) * step
}

/// Most blood for which what is found is no worse than without it; `None` where nothing stands in the way.
fn most_blood(case: &Case, as_good: impl Fn(&PatientCheck, &PatientCheck) -> bool) -> Option<BloodLimit> {
    let judge = |blood: f64| {
        let demand = DrawDemand {
            today: Volume::new(blood).ok()?,
            discards: case.discard.unwrap_or(Volume::ZERO),
            previous_eight_weeks: case.previous.unwrap_or(Volume::ZERO),
        };
        check(&case.limits, &case.patient, &demand).ok()
    };
    let before = judge(0.0)?;
    let good = |blood: f64| judge(blood).is_some_and(|after| as_good(&before, &after));
    if good(FAR) {
        return None;
    }
    let (mut low, mut high) = (0.0, FAR);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if good(middle) { low = middle } else { high = middle }
    }
    let past = judge(high);
    let new = past.iter().flat_map(|p| &p.hits);
    let rule = new
        .map(|h| (h.rule, h.level))
        .find(|(rule, level)| !before.hits.iter().any(|b| b.rule == *rule && b.level == *level));
    let asked = past.is_some_and(|p| p.missing.iter().any(|m| !before.missing.contains(m)));
    Some(BloodLimit { most: Volume::new(low).ok()?, rule: rule.map(|(r, _)| r).filter(|_| !asked) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{CheckSign, CountStanding, Draft};
    use crate::product::order::OrderSense;
    use crate::product::plan::{Limit, Verdict};
    use crate::quantity::time::{Instant, Offset};
    use crate::words::Language;

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
        type Change = fn(&mut Draft);
        let changes: [(Change, Unplanned); 11] = [
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
        assert!(way.chance.get() >= 0.8);
        // one mark less in each is not enough
        let less = planned(|d| {
            d.write(Field::OrderPlatelets, "2");
            let container = d.kit.container.as_mut().unwrap();
            container.fill_high = Volume::new(way.each.value.split.fill.get() - 1.0).unwrap();
        });
        assert!(less.way.unwrap().containers > 2);
        // of 4 mL, 0.2 are counted and 0.3 lost on the way, 3 are given
        assert!((way.left_over.get() - 0.5).abs() < 1e-9);
        assert!(found.five_more.unwrap().chance > way.chance);
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
}
