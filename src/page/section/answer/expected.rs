//! What to expect, always marked as predicted; without a count, over the counts that are plausible.

use super::sure::HowSure;
use crate::dom::prelude::*;
use crate::picture::range::{RangeAxis, RangeHead, RangeRow, Spread};
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Opens, RestsOn, WorkingTable};
use strawline::assess::Assessment;
use strawline::draft::Field;
use strawline::product::predict::Outcome;
use strawline::product::range::Range;
use strawline::quantity::unit::Conventions;
use strawline::quantity::{CellCount, Cells, Fold, Quantity, write};
use strawline::record::course;
use strawline::words::draw::{AnswerWords as Words, DrawLine};
use strawline::words::page::Common;
use strawline::words::plan::{AllAtOnce, OrderedBeside, PlanSays, PlanWord, SessionLine};
use strawline::words::unit::{self, FromTo, Written};
use strawline::working::{Worked, Working};

/// A row: the middle, its range, how it came about.
type Middle = Option<(Written, FromTo, Working)>;

fn middle<Q: Quantity>(
    worked: Option<&Worked<Range<Q>>>,
    write: fn(Q, &Conventions) -> Written,
    c: &Conventions,
) -> Middle {
    let worked = worked?;
    let r = worked.value;
    Some((write(r.median, c), FromTo(write(r.low, c), write(r.high, c)), worked.working.clone()))
}

/// Fold, platelets in product, dose in the volume given.
#[component]
pub fn Expected() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let of = move |f: fn(&Assessment, &Conventions) -> Middle| {
        memo(move || {
            let c = sheet.conventions();
            sheet.answer.with(|a| f(a, &c))
        })
    };
    let fold = of(|a, c| middle(a.product.prediction.as_ref()?.fold.as_ref(), unit::fold, c));
    let product = of(|a, c| middle(a.product.prediction.as_ref()?.in_product.as_ref(), unit::cells, c));
    let dose = of(|a, c| middle(a.product.dose_predicted.as_ref(), unit::cells, c));
    let written = move |f: fn(&Assessment, &Conventions) -> Option<DrawLine>| {
        memo(move || {
            let c = sheet.conventions();
            sheet.answer.with(|a| f(a, &c)).map(|line| desk.say(line)).unwrap_or_default()
        })
    };
    let when = written(|a, c| Some(DrawLine::ExpectedWhen(unit::volume(a.product.volume?, c))));
    let ceiling =
        written(|a, c| Some(DrawLine::Ceiling(unit::fold(a.product.prediction.as_ref()?.ceiling.value, c))));
    let given = written(|a, c| {
        let given = a.product.shares.iter().all(|s| s.given);
        Some(DrawLine::DoseIn(unit::volume(a.product.ledger.as_ref()?.sites.value, c), given))
    });
    let said = move |words: Words| memo(move || desk.say(words));
    let none = memo(String::new);
    let any = memo(move || fold.with(Option::is_some));
    let table = move || {
        any.get().then(|| {
            view! {
                <table class="table expected">
                    <thead>
                        <tr>
                            <th scope="col" colspan="3">{when}</th>
                            <th scope="col" class="num">{desk.say(Common::Range80)}</th>
                        </tr>
                    </thead>
                    <tbody>
                        <Row name=said(Words::Fold) second=ceiling value=fold id="w-fold"/>
                        <Row name=said(Words::InProduct) second=none value=product id="w-product"/>
                        <Row name=given second=none value=dose id="w-dose"/>
                    </tbody>
                </table>
            }
        })
    };
    view! {
        <Ordered/>
        {table}
        <div class="rests-on" hidden=move || !any.get()><RestsOn/></div>
        <Sessions/>
        <HowSure/>
        <Missing/>
        <WithoutCount/>
    }
}

/// A row that opens to its working; nothing where there is no number.
#[component]
fn Row(name: Memo<String>, second: Memo<String>, value: Memo<Middle>, id: &'static str) -> impl IntoView {
    let desk = Desk::here();
    let open = RwSignal::new(false);
    let there = memo(move || value.with(Option::is_some));
    // The unit has a column of its own.
    let bare: Signal<Explained> = Signal::derive(move || {
        value.with(|v| {
            let (written, _, working) = v.as_ref()?;
            Some((Written { number: written.number.clone(), unit: "" }, working.clone()))
        })
    });
    let unit = move || value.with(|v| v.as_ref().map(|(written, ..)| written.unit));
    let range = move || value.with(|v| v.as_ref().map(|(_, range, _)| desk.say(range.clone())));
    // Kept while there is no number: a count half typed would make it anew with each key.
    let empty = Signal::derive(move || !there.get());
    let opened = move || {
        (open.get() && there.get()).then(|| {
            view! {
                <tr class="opened">
                    <td colspan="4"><WorkingTable value=bare open id/></td>
                </tr>
            }
        })
    };
    view! {
        <tr hidden=empty>
            <th scope="row">{name} " " <span class="second">{second}</span></th>
            <td class="num predicted"><Opens value=bare open id/></td>
            <td class="unit">{unit}</td>
            <td class="num range">{range}</td>
        </tr>
        {opened}
    }
}

/// What earlier sessions of this course measured.
#[component]
fn Sessions() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let told = [Field::PatientReference, Field::Session, Field::Site].map(|field| sheet.field(field));
    let chosen = memo(move || {
        sheet
            .draft
            .with(|d| (d.times.needle_in, d.choices.side, d.kit.protocol.as_ref().map(|p| p.id.clone())))
    });
    let sessions = memo(move || {
        told.iter().for_each(Track::track);
        chosen.with(|_| ());
        let now = desk.minute.get().at;
        desk.lines.with(|lines| {
            desk.decisions.with(|decided| {
                sheet.draft.with_untracked(|d| course::measured_before(lines, decided, d, now))
            })
        })
    });
    let line = move |one: course::Session| {
        let c = sheet.conventions();
        desk.say(SessionLine {
            sign: one.sign,
            number: one.number,
            day: unit::date(one.at, sheet.offset.get()).map(|day| desk.say(day)).unwrap_or_default(),
            recovery: unit::recovery(one.recovery, &c).to_string(),
            same_protocol: one.same_protocol,
        })
    };
    move || {
        let all = sessions.get();
        (!all.is_empty()).then(|| {
            view! {
                <div class="sessions">
                    {all.into_iter().map(|one| view! { <p>{line(one)}</p> }).collect_view()}
                    <p class="second">{desk.say(PlanSays::Sessions)}</p>
                </div>
            }
        })
    }
}

/// Why nothing is predicted.
#[component]
fn Missing() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let why = memo(move || {
        sheet.answer.with(|a| {
            a.draw.plan.as_ref()?;
            let Some(prediction) = &a.product.prediction else {
                return a.product.volume.is_none().then_some(Words::NoProduct);
            };
            match prediction.outcome {
                Outcome::Predicted => None,
                Outcome::CutAway => Some(Words::CutAway),
                Outcome::NoExpectation | Outcome::OtherKind => Some(Words::NoExpectation),
            }
        })
    });
    let ceiling = move || {
        let c = sheet.conventions();
        why.get()?;
        sheet.answer.with(|a| {
            let ceiling = a.product.prediction.as_ref()?.ceiling.value;
            Some(desk.say(ceiling_of(a, ceiling, &c)?))
        })
    };
    move || why.get().map(|words| view! { <p class="second">{desk.say(words)} " " {ceiling}</p> })
}

fn ceiling_of(a: &Assessment, ceiling: Fold, c: &Conventions) -> Option<DrawLine> {
    let blood = a.draw.now.as_ref()?.blood.value;
    Some(DrawLine::CeilingOf(
        unit::fold(ceiling, c),
        unit::volume(blood, c),
        unit::volume(a.product.volume?, c),
    ))
}

/// One line of the table over plausible counts; the last is for any adult.
#[derive(Debug, Clone, PartialEq)]
struct Plausible {
    count: Option<CellCount>,
    range: Range<Cells>,
}

/// Without a count: the fold on its axis, then platelets for the counts that are plausible.
#[component]
fn WithoutCount() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let fold = memo(move || {
        sheet.answer.with(|a| {
            a.product.table.as_ref()?;
            let p = a.product.prediction.as_ref()?;
            let fold = p.fold.as_ref()?.value;
            let end = p.ceiling.value.get();
            Some(Spread { low: fold.low.get(), median: fold.median.get(), high: fold.high.get(), end })
        })
    });
    let rows = memo(move || {
        sheet.answer.with(|a| {
            let table = a.product.table.as_ref().map(|t| t.value.as_slice()).unwrap_or_default();
            let row = |r: &strawline::product::predict::Row| {
                Some(Plausible { count: Some(r.count), range: r.prediction.in_product.as_ref()?.value })
            };
            let any = a.product.any_adult.as_ref().and_then(|p| p.in_product.as_ref());
            let any = any.map(|worked| Plausible { count: None, range: worked.value });
            table.iter().filter_map(row).chain(any).collect::<Vec<_>>()
        })
    });
    let there = memo(move || fold.with(Option::is_some));
    let number = Callback::new(move |value: f64| write::significant(value, 3, sheet.conventions().numbers));
    let line = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let ceiling = a.product.prediction.as_ref()?.ceiling.value;
            Some(desk.say(ceiling_of(a, ceiling, &c)?))
        })
    };
    move || {
        there.get().then(|| {
            let axis = Signal::derive(move || {
                fold.get().unwrap_or(Spread { low: 0.0, median: 0.0, high: 0.0, end: 1.0 })
            });
            let label = Signal::derive(move || line().unwrap_or_default());
            view! {
                <p>{desk.say(Words::TimesCount)}</p>
                <RangeAxis view=axis label number/>
                <p class="second">{line}</p>
                <PlausibleTable rows number/>
                <p class="second">{desk.say(Words::TakeSample)}</p>
            }
        })
    }
}

#[component]
fn PlausibleTable(rows: Memo<Vec<Plausible>>, number: Callback<f64, String>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // One scale for all rows.
    let end = memo(move || rows.with(|all| all.iter().map(|r| r.range.high.get()).fold(0.1, f64::max)));
    let body = move || {
        let c = sheet.conventions();
        rows.with(|all| {
            all.iter()
                .map(|row| {
                    let Range { median, low, high } = row.range;
                    let spread =
                        Spread { low: low.get(), median: median.get(), high: high.get(), end: end.get() };
                    let name = match row.count {
                        Some(count) => unit::count(count, &c).number,
                        None => desk.say(PlanWord::AnyAdult),
                    };
                    let range = desk.say(FromTo(unit::cells(low, &c), unit::cells(high, &c)));
                    view! {
                        <tr class:sum=row.count.is_none()>
                            <th scope="row">{name}</th>
                            <td class="num predicted">{unit::cells(median, &c).number}</td>
                            <td class="num range">{range}</td>
                            <td class="mini"><RangeRow view=Signal::derive(move || spread)/></td>
                        </tr>
                    }
                })
                .collect_view()
        })
    };
    let count_unit = move || desk.say(DrawLine::IfCount(sheet.conventions().count.symbol()));
    view! {
        <table class="table expected">
            <thead>
                <tr>
                    <th scope="col">{count_unit}</th>
                    <th scope="col" class="num">{desk.say(Words::InProductUnit)}</th>
                    <th scope="col" class="num">{desk.say(Common::Range80)}</th>
                    <td class="mini"><RangeHead end number/></td>
                </tr>
            </thead>
            <tbody>{body}</tbody>
        </table>
    }
}

/// What the order names beside what is expected.
#[component]
fn Ordered() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let lines = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let mut says: Vec<String> =
                a.product.order.iter().map(|line| desk.say(OrderedBeside(line, &c))).collect();
            says.extend(a.product.order_at_once.as_ref().map(|c| desk.say(AllAtOnce(c.likelihood))));
            let adult = a.product.native.is_none() && a.product.order.iter().any(|l| l.chance.is_some());
            says.extend(adult.then(|| desk.say(PlanSays::Adult)));
            says
        })
    });
    move || lines.get().into_iter().map(|words| view! { <p class="ordered">{words}</p> }).collect_view()
}
