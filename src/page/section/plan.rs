//! Backwards from the order: what to draw and keep so that it is met, other ways beside it, and what stands in the
//! way. Reckoned once typing rests; used only at a tap.

mod beside;
mod sketch;

use crate::dom::prelude::*;
use crate::shell::keep;
use crate::shell::quiet::{Quiet, quiet};
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Fold, Opens, WorkingTable};
use beside::{Beside, Relaxing};
use sketch::Sketch;
use strawline::assess::{Unplanned, is_set, plan_among};
use strawline::product::order::OrderedAmount;
use strawline::product::plan::{AimOutcome, Plan as Found, Way};
use strawline::product::range::Range;
use strawline::quality::expect::ground_of;
use strawline::quantity::Cells;
use strawline::quantity::unit::Conventions;
use strawline::words::choice::AgentName;
use strawline::words::plan::{HowLikely, PlanLine, PlanSays, PlanWord as Words, VerdictWords, WayName};
use strawline::words::product::OrderedName;
use strawline::words::unit::{self, FromTo};

/// What was found, or why nothing was.
type Answer = Result<Found, Unplanned>;

/// The two ends of a range of platelets.
fn ends(range: Range<Cells>, c: &Conventions) -> FromTo {
    FromTo(unit::cells(range.low, c), unit::cells(range.high, c))
}

/// Every way offered, the first first.
fn ways(found: &Found) -> impl Iterator<Item = &Way> {
    found.way.iter().chain(&found.others)
}

/// The plan for what the order names; nothing while it names no amount.
#[component]
pub fn Plan() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let plan = quiet(
        move || {
            sheet.read.track();
            sheet.answer.track();
            desk.bench.track();
        },
        move || {
            sheet.read.with(|(case, _)| {
                let own = case.draw.container.as_ref();
                let shelf = desk.bench.with(|b| own.map(|own| b.alike(own)).unwrap_or_default());
                sheet.answer.with(|a| plan_among(case, a, &shelf))
            })
        },
    );
    let there = memo(move || {
        plan.answer.with(|a| {
            let nothing = matches!(a, None | Some(Err(Unplanned::NoAmount | Unplanned::NeedleIn)));
            !nothing
        })
    });
    let verdict = move || {
        plan.answer.with(|a| {
            Some(match a.as_ref()? {
                Ok(found) => {
                    let likely = found.way.as_ref().map(|w| w.likelihood);
                    desk.say(VerdictWords(found.verdict, likely))
                }
                Err(why) => desk.say(*why),
            })
        })
    };
    let ground = move || {
        sheet.read.with(|(case, _)| {
            let expectation = case.protocol.as_ref().and_then(|p| p.expectation.as_ref())?;
            Some(desk.say(PlanLine::From(desk.say(ground_of(expectation)))))
        })
    };
    let planned = memo(move || plan.answer.with(|a| matches!(a, Some(Ok(_)))));
    view! {
        <section class="part-of plan" hidden=move || !there.get()>
            <h2 class="heading">{desk.say(Words::Title)}</h2>
            <p aria-live="polite">
                <b>{verdict}</b>
                " "
                <span class="second" hidden=move || !plan.late.get()>{desk.say(Words::Planning)}</span>
            </p>
            <div hidden=move || !planned.get()>
                <Says plan of=way_line/>
                <Ways plan/>
                <Says plan of=binding/>
                <Relaxing plan/>
                <CountFirst plan/>
                <Says plan of=five_more/>
                <Sketch plan/>
                <Fold title=desk.say(Words::Workings)>
                    <Working plan label=Words::AgentEach id="w-plan-agent" of=agent/>
                    <Working plan label=Words::BloodInAll id="w-plan-blood" of=blood/>
                    <Working plan label=Words::InProduct id="w-plan-product" of=product/>
                </Fold>
                <p class="second">{ground} " " {desk.say(PlanSays::NoAdvice)}</p>
            </div>
        </section>
    }
}

/// Sentences of the plan; each a paragraph, none while there is nothing to say.
#[component]
fn Says(plan: Quiet<Answer>, of: fn(Desk, Sheet, &Found) -> Vec<String>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let says = memo(move || {
        sheet.conventions();
        plan.answer.with(|a| match a {
            Some(Ok(found)) => of(desk, sheet, found),
            _ => Vec::new(),
        })
    });
    move || says.get().into_iter().map(|words| view! { <p>{words}</p> }).collect_view()
}

fn way_line(desk: Desk, sheet: Sheet, found: &Found) -> Vec<String> {
    let c = sheet.conventions();
    let Some(way) = &found.way else { return Vec::new() };
    let split = way.each.value.split;
    let name = sheet.answer.with(|a| a.draw.agent).map(|a| desk.say(AgentName(a, c.numbers)));
    let inside = sheet.draft.with(|d| d.kit.container.as_ref().is_some_and(|k| k.prefill.is_some()));
    let agent = name.filter(|_| !inside).map(|name| (unit::volume(split.anticoagulant, &c), name));
    let volume = |v| unit::volume(v, &c);
    let (blood, over) = (volume(way.blood.value), volume(way.left_over.value));
    let line = PlanLine::Way(way.containers, agent, volume(split.fill), blood, volume(way.product), over);
    vec![desk.say(line)]
}

fn five_more(desk: Desk, sheet: Sheet, found: &Found) -> Vec<String> {
    let c = sheet.conventions();
    let more = found.five_more.as_ref();
    let line = more.map(|m| {
        let range = m.in_product.as_ref().map(|r| ends(r.value, &c));
        desk.say(PlanLine::FiveMore(unit::volume(m.blood, &c), range, m.likelihood))
    });
    line.into_iter().collect()
}

/// What binds, and what is reached all the same.
fn binding(desk: Desk, sheet: Sheet, found: &Found) -> Vec<String> {
    let Some(limit) = found.binds else { return Vec::new() };
    let c = sheet.conventions();
    let reachable =
        found.reachable.iter().map(|(what, least)| desk.say(PlanLine::Reachable(*what, *least, c)));
    std::iter::once(desk.say(PlanLine::Binds(limit))).chain(reachable).collect()
}

fn count_now(desk: Desk, sheet: Sheet, found: &Found) -> Vec<String> {
    let c = sheet.conventions();
    let Some(count) = &found.count_now else { return Vec::new() };
    let ranges = count.now.zip(count.counted).map(|(now, then)| (ends(now, &c), ends(then, &c)));
    let mut says = vec![desk.say(PlanLine::CountNow(unit::count(count.at, &c), count.uncounted, ranges))];
    if let Some(then) = &count.way {
        let now = found.way.as_ref().filter(|_| found.binds.is_none()).map(|w| w.blood.value);
        let less = now.is_none_or(|now| then.blood.value < now);
        let line = PlanLine::CountedWay(unit::volume(then.blood.value, &c), now.map(|v| unit::volume(v, &c)));
        says.extend(less.then(|| desk.say(line)));
    }
    says
}

/// A count is offered before more blood is.
#[component]
fn CountFirst(plan: Quiet<Answer>) -> impl IntoView {
    let desk = Desk::here();
    let there = memo(move || {
        plan.answer.with(|a| a.as_ref().is_some_and(|a| a.as_ref().is_ok_and(|f| f.count_now.is_some())))
    });
    view! {
        <div class="well" hidden=move || !there.get()>
            <p><b>{desk.say(Words::CountFirst)}</b></p>
            <Says plan of=count_now/>
        </div>
    }
}

/// A row of the table of ways.
#[derive(Debug, Clone, PartialEq)]
struct Row {
    way: Way,
    name: String,
    why: String,
    blood: String,
    median: String,
    range: String,
    /// What is ordered and is no amount of platelets, each with its own range.
    ordered: String,
}

/// A way in one line.
fn name_of(desk: Desk, way: &Way, own: Option<&str>, c: &Conventions) -> String {
    desk.say(WayName {
        containers: way.containers,
        other: Some(way.container_name.clone()).filter(|_| own != Some(way.container.as_str())),
        mark: unit::volume(way.each.value.split.fill, c),
        product: unit::volume(way.product, c),
    })
}

fn row(desk: Desk, way: &Way, own: Option<&str>, c: &Conventions) -> Row {
    let range = way.prediction.in_product.as_ref().map(|w| w.value);
    Row {
        name: name_of(desk, way, own, c),
        why: format!("{}; {}", desk.say(way.why), desk.say(HowLikely(way.likelihood))),
        blood: unit::volume(way.blood.value, c).number,
        median: range.map(|r| unit::cells(r.median, c).number).unwrap_or_default(),
        range: range.map(|r| desk.say(ends(r, c))).unwrap_or_default(),
        ordered: ordered(desk, way, c),
        way: way.clone(),
    }
}

/// Concentration and fold, where the order names them.
fn ordered(desk: Desk, way: &Way, c: &Conventions) -> String {
    let of = |aim: &AimOutcome| {
        let (median, ends) = match aim.aim.what {
            OrderedAmount::Platelets => return None,
            OrderedAmount::Concentration => {
                let r = way.prediction.concentration.as_ref()?.value;
                (unit::count(r.median, c), FromTo(unit::count(r.low, c), unit::count(r.high, c)))
            }
            OrderedAmount::Fold => {
                let r = way.prediction.fold.as_ref()?.value;
                (unit::fold(r.median, c), FromTo(unit::fold(r.low, c), unit::fold(r.high, c)))
            }
        };
        Some(format!("{} {median} ({})", desk.say(OrderedName(aim.aim.what)), desk.say(ends)))
    };
    way.aims.iter().filter_map(of).collect::<Vec<_>>().join("; ")
}

/// Key of the container in the case.
fn own(sheet: Sheet) -> Option<String> {
    sheet.draft.with(|d| d.kit.container.as_ref().map(|c| c.id.clone()))
}

/// All ways side by side, each with its button.
#[component]
fn Ways(plan: Quiet<Answer>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = memo(move || {
        let (c, own) = (sheet.conventions(), own(sheet));
        plan.answer.with(|a| match a {
            Some(Ok(found)) => ways(found).map(|w| row(desk, w, own.as_deref(), &c)).collect(),
            _ => Vec::new(),
        })
    });
    let set = memo(move || {
        sheet.read.with(|(case, _)| {
            sheet.answer.with(|a| rows.with(|all| all.iter().position(|r| is_set(case, a, &r.way))))
        })
    });
    let take = move |way: &Way| {
        plan.now();
        // What is no longer offered was tapped under what was typed since: the new plan is shown instead.
        let offered = plan.answer.with_untracked(|a| match a {
            Some(Ok(found)) => ways(found).any(|w| w == way),
            _ => false,
        });
        let mut replaced = None;
        if offered {
            desk.bench.with_untracked(|bench| sheet.edit(|d| replaced = d.use_plan(way, bench)));
        }
        if let Some(replaced) = replaced {
            let back = move || sheet.edit(|d| d.put_back(replaced.clone()));
            keep::offer_undo(desk, Some(sheet.id()), desk.say(PlanSays::Used), back);
        }
    };
    view! { <Beside rows set take=Callback::new(move |way: Way| take(&way))/> }
}

/// A number of the way offered first, with how it came about.
type Shows = fn(&Way, &Conventions) -> Explained;

fn agent(way: &Way, c: &Conventions) -> Explained {
    Some((unit::volume(way.each.value.split.anticoagulant, c), way.each.working.clone()))
}

fn blood(way: &Way, c: &Conventions) -> Explained {
    Some((unit::volume(way.blood.value, c), way.blood.working.clone()))
}

fn product(way: &Way, c: &Conventions) -> Explained {
    let worked = way.prediction.in_product.as_ref()?;
    Some((unit::cells(worked.value.median, c), worked.working.clone()))
}

#[component]
fn Working(plan: Quiet<Answer>, label: Words, id: &'static str, of: Shows) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let open = RwSignal::new(false);
    let value = Signal::derive(move || {
        let c = sheet.conventions();
        plan.answer.with(|a| match a {
            Some(Ok(found)) => found.way.as_ref().and_then(|way| of(way, &c)),
            _ => None,
        })
    });
    view! {
        <div class="field" hidden=move || value.with(Option::is_none)>
            <div class="field-name">{desk.say(label)}</div>
            <div class="entry predicted"><Opens value open id/></div>
            <WorkingTable value open id/>
        </div>
    }
}
