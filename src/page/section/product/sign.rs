//! Card, hand-over and signature; the label as it will print.

use crate::dom::prelude::*;
use crate::section::header::{go, lock_now, running, solid, until};
use crate::section::paper::{given, label, stock};
use crate::shell::copy::{Copied, copy};
use crate::shell::keep::NotSigned;
use crate::shell::{clock, focus, keep, print, tap, typing};
use crate::state::{Banner, Desk, Door, Paper, Sheet};
use crate::widget::chart_text::chart_text;
use crate::widget::{Confirm, Entry, Fold, NextStep, Who, needs};
use strawline::assess::given::tap_tells;
use strawline::assess::hand_over::{Need, needs_to_sign};
use strawline::assess::spin::Happening;
use strawline::draft::field::MAX_SITES;
use strawline::draft::{CheckKind, Draft, Field, Stage};
use strawline::export::card::{Told, since_hand_over};
use strawline::export::chart::chart;
use strawline::export::label::stock::refused;
use strawline::export::signed::{Listed, history, labels_now, stands};
use strawline::finding::HeldStep;
use strawline::record::changes;
use strawline::words::banner::BannerSays;
use strawline::words::card::CardWord;
use strawline::words::code::CodeWord;
use strawline::words::field::Label;
use strawline::words::header::Clock;
use strawline::words::label::LabelWord;
use strawline::words::out::OutWord;
use strawline::words::product::{DayAndTime, NeedSays, ProductLine, Sign as Words, SignRefused, SignSays};
use strawline::words::unit;

/// The section.
#[component]
pub fn Card() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let own = memo(move || sheet.draft.with(Draft::receives_own));
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Heading)}</h2>
            <Who/>
            <Entry field=Field::HandedTo/>
            <p class="wrong" role="status" hidden=move || !own.get()>{desk.say(NeedSays(Need::OtherReceiver))}</p>
            <Entry field=Field::WhoHandOver/>
            <Confirm kind=CheckKind::HandOver id="check_hand_over"/>
            <Entry field=Field::Notes long=true/>
            <HandedOver/>
            <Given/>
            <Without/>
            <Changed/>
            <Signed/>
            <div class="buttons">
                <PrintCard label=Words::Print/>
                <PrintCode/>
            </div>
            <PrintLabels/>
            <CopyChart/>
        </section>
    }
}

/// Prints the card of the case in view.
#[component]
pub fn PrintCard(label: Words) -> impl IntoView {
    let desk = Desk::here();
    let tap = move |_| {
        desk.paper.set(Paper::Card);
        print::print();
    };
    view! { <button type="button" class="button" on:click=tap>{desk.say(label)}</button> }
}

/// Prints the code of the case in view on a paper of its own.
#[component]
fn PrintCode() -> impl IntoView {
    let desk = Desk::here();
    let tap = move |_| {
        desk.paper.set(Paper::Code);
        print::print();
    };
    view! { <button type="button" class="button small" on:click=tap>{desk.say(CodeWord::Alone)}</button> }
}

/// Prints the labels of the case in view on stock of their own, and says which have no room on it.
#[component]
pub fn PrintLabels() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let size = memo(move || desk.bench.with(|b| b.clinic.labels.size));
    let refused = memo(move || stock::set(desk, sheet).map(|all| refused(&all)));
    let tap = move |_| {
        desk.paper.set(Paper::Labels);
        print::print();
    };
    move || {
        let Some(size) = size.get() else {
            return view! { <p class="second">{desk.say(LabelWord::Choose)}</p> };
        };
        let says = move || match refused.get() {
            None => view! { <p class="second">{desk.say(LabelWord::NoneNow)}</p> },
            Some(all) => all.into_iter().map(|line| view! { <p class="wrong">{line}</p> }).collect_view(),
        };
        view! {
            <div class="buttons">
                <button type="button" class="button" on:click=tap>
                    {desk.say(LabelWord::Print)} ", " {desk.say(size)}
                </button>
            </div>
            {says}
        }
    }
}

/// Copies the case in view as text for the chart.
#[component]
pub fn CopyChart() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let told = Copied::new(None);
    let sign = sheet.draft.with_untracked(|d| d.sign);
    let tap = move |_| {
        typing::settle();
        copy(untrack(|| given(desk, sheet, chart)), told);
    };
    view! {
        <div class="buttons">
            <button type="button" class="button" on:click=tap>{desk.say(OutWord::Copy)}</button>
        </div>
        {chart_text(desk, told, sign)}
    }
}

/// When it was handed over and to whom; taken back while the record is not signed.
#[component]
fn HandedOver() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let at = memo(move || sheet.draft.with(|d| d.times.handed_over));
    let signed = signature(desk, sheet);
    move || {
        let at = unit::clock(at.get()?, sheet.offset.get());
        let to = sheet.draft.with(|d| d.text(Field::HandedTo).trim().to_owned());
        let back = signed.with(Option::is_none).then(|| {
            view! {
                <button
                    type="button"
                    class="link"
                    on:click=move |_| {
                        let now = clock::now().at;
                        sheet.edit(|d| d.not_handed_over(now));
                    }
                >
                    {desk.say(Words::NotHandedOver)}
                </button>
            }
        });
        let lock =
            (desk.door.get() == Door::Open).then(|| view! { <div class="buttons">{lock_now(desk)}</div> });
        Some(view! {
            <p>{desk.say(ProductLine::HandedTo(to, at))} " " {back}</p>
            {lock}
        })
    }
}

/// When each part was given, and how the product was kept until then: known at the chair, told here or later.
#[component]
pub fn Given() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let parts = memo(move || sheet.draft.with(|d| d.rows.parts.clamp(1, MAX_SITES)));
    view! {
        <AllGiven/>
        <Fold title=desk.say(Words::GivenAndKept)>
            <For each=move || 0..parts.get() key=|row| *row let:row>
                <Entry field=Field::PartGivenAt(row)/>
            </For>
            <Entry field=Field::KeptUntilGiven/>
        </Fold>
    }
}

/// The use-by that runs on after the hand-over, and one tap for what ends it.
#[component]
fn AllGiven() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let clock = running(desk, sheet);
    let by = memo(move || clock.with(|c| c.use_by.filter(|_| c.now == Happening::HandedOver)));
    // How many parts nobody told of, and whether these are all.
    let untold = memo(move || {
        sheet.read.with(|(case, _)| {
            let untold = case.untold().len();
            (untold > 0).then_some(untold == case.order.parts.len())
        })
    });
    let asked = RwSignal::new(false);
    let tell = move |event, none: bool| {
        if !tap::meant(&event) {
            return;
        }
        typing::settle();
        let now = clock::now().at;
        asked.set(!none && sheet.answer.with_untracked(|a| !tap_tells(a, now)));
        if asked.get_untracked() {
            if let Some(part) = sheet.read.with_untracked(|(case, _)| case.untold().first().copied()) {
                focus::unfolded(&Field::PartGivenAt(part).key());
            }
            return;
        }
        let (parts, rest) = sheet.read.with_untracked(|(case, _)| {
            let untold = case.untold();
            let name = |row: &u8| {
                let name = case.order.parts.get(usize::from(*row))?.name.clone();
                Some(if name.is_empty() { desk.say(Label(Field::PartName(*row))) } else { name })
            };
            let rest = (untold.len() < case.order.parts.len())
                .then(|| untold.iter().filter_map(name).collect::<Vec<_>>());
            (untold, rest)
        });
        let field = move |part| if none { Field::PartGiven(part) } else { Field::PartGivenAt(part) };
        let fields: Vec<Field> = parts.iter().map(|part| field(*part)).collect();
        let of = |d: &Draft, field| (d.text(field).to_owned(), d.given_ahead.get(&field).cloned());
        let texts = |d: &Draft| fields.iter().map(|field| of(d, *field)).collect::<Vec<_>>();
        let before = sheet.draft.with_untracked(texts);
        sheet.edit(|d| match none {
            true => d.none_given(&parts),
            false => d.all_given(&parts, now),
        });
        let told = sheet.draft.with_untracked(texts);
        let at = unit::clock(now, sheet.offset.get_untracked());
        let said = desk.say(match (rest, none) {
            (None, true) => ProductLine::NoneGiven(at),
            (None, false) => ProductLine::AllGiven(at),
            (Some(parts), true) => ProductLine::NoneOfRest(parts, at),
            (Some(parts), false) => ProductLine::RestGiven(parts, at),
        });
        keep::offer_undo(desk, Some(sheet.id()), said, move || {
            sheet.edit(|d| {
                for (field, ((text, ahead), told)) in fields.iter().zip(before.iter().zip(&told)) {
                    // Corrected meanwhile, it is what a person said.
                    if of(d, *field) == *told {
                        d.write(*field, text.clone());
                        d.lies_ahead(*field, ahead.clone());
                    }
                }
            });
        });
    };
    move || {
        let (at, left) = until(desk, sheet, by.get()?);
        let buttons = untold.get().map(|all| {
            let (given, none) =
                if all { (Words::AllGiven, Words::NoneGiven) } else { (Words::RestGiven, Words::NoneOfRest) };
            view! {
                <div class="buttons">
                    <button type="button" class="button small" id="all_given" on:click=move |event| tell(event, false)>
                        {desk.say(given)}
                    </button>
                    <button type="button" class="button small" id="none_given" on:click=move |event| tell(event, true)>
                        {desk.say(none)}
                    </button>
                </div>
                <p class="wrong" role="status">{move || asked.get().then(|| desk.say(SignSays::WhenGiven))}</p>
            }
        });
        Some(view! {
            <p>{desk.say(Clock::UseBy)} " " <b>{at}</b> " " {left}</p>
            {buttons}
            <p class="second">{desk.say(SignSays::Watched)}</p>
        })
    }
}

/// Signing a case whose product is not handed over, while the needle was in and nobody did hand it over.
#[component]
fn Without() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let none =
        memo(move || sheet.draft.with(|d| d.times.needle_in.is_some() && d.times.handed_over.is_none()));
    let signed = signature(desk, sheet);
    let said = RwSignal::new(None::<String>);
    until_decided(desk, sheet, said);
    let tap = move |event| {
        if tap::meant(&event) {
            sign_now(desk, sheet, said);
        }
    };
    view! {
        <div hidden=move || !none.get()>
            <h3 class="heading">{desk.say(Words::Without)}</h3>
            <p class="second">{desk.say(SignSays::Without)}</p>
            <Entry field=Field::NoProduct long=true/>
            <p class="second" role="status">{said}</p>
            <div class="buttons" hidden=move || signed.with(Option::is_some)>
                <button type="button" class="button" id="sign_without" on:click=tap>{desk.say(Words::SignWithout)}</button>
            </div>
        </div>
    }
}

/// Signs what stands, as soon as it says who signs and why it is as it is; else says what is missing.
fn sign_now(desk: Desk, sheet: Sheet, said: RwSignal<Option<String>>) {
    typing::settle();
    let open = sheet.draft.with_untracked(|d| sheet.read.with_untracked(|(case, _)| needs_to_sign(d, case)));
    let open = open.first().copied();
    said.set(open.map(|need| desk.say(NeedSays(need))));
    match open {
        Some(need) => {
            if let Some(field) = place(need) {
                focus::first(field);
            }
        }
        None => said.set(refusal(desk, keep::sign(desk, sheet))),
    }
}

/// What was changed after the hand-over, and why; once signed, an amendment says it. A reason given stands under what it
/// is for, and the field is for what is changed since.
#[component]
fn Changed() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let signed = signature(desk, sheet);
    let told = memo(move || match signed.with(Option::is_some) {
        true => Vec::new(),
        false => sheet.draft.with(|d| since_hand_over(d, desk.language())),
    });
    let typed = memo(move || sheet.draft.with(|d| d.text(Field::WhyChanged).trim().to_owned()));
    // Of the field is what has no reason yet, and what has the one that stands in it.
    let in_hand = move |told: &Told| told.why.as_ref().is_none_or(|why| typed.with(|typed| typed == why));
    let settled = move |told: Told| {
        let why = told.why?;
        let anew = why.clone();
        Some(view! {
            {told.lines.into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}
            <p class="second">
                {why}
                " "
                <button type="button" class="link" on:click=move |_| sheet.edit(|d| d.take_back_reason(&anew))>
                    {desk.say(Words::ReasonAnew)}
                </button>
            </p>
        })
    };
    let given =
        move || told.get().into_iter().filter(|told| !in_hand(told)).filter_map(settled).collect_view();
    let lines = memo(move || {
        told.get().into_iter().filter(|told| in_hand(told)).flat_map(|told| told.lines).collect::<Vec<_>>()
    });
    view! {
        {given}
        <div hidden=move || lines.with(Vec::is_empty)>
            {move || lines.get().into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}
            <Entry field=Field::WhyChanged/>
        </div>
    }
}

/// The last signature of this case: who and when, and how often it was amended.
pub fn signature(desk: Desk, sheet: Sheet) -> Memo<Option<(String, String, usize)>> {
    let id = sheet.id();
    memo(move || {
        let offset = sheet.offset.get();
        desk.records.with(|all| {
            let record = all.iter().find(|r| r.id() == id)?;
            let first = record.first_signed();
            Some((first.by.clone(), desk.say(DayAndTime(first.at, offset)), record.amendments().len()))
        })
    })
}

/// Who signed, and that from then on the record is only added to.
#[component]
pub fn Signed(
    /// What is not signed yet is listed beside it.
    #[prop(optional)]
    listed: bool,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let signed = signature(desk, sheet);
    let id = sheet.id();
    let changed = memo(move || {
        !listed
            && desk.records.with(|all| {
                let record = all.iter().find(|r| r.id() == id);
                record.is_some_and(|r| sheet.draft.with(|d| !changes::between(r.latest(), d).is_empty()))
            })
    });
    move || {
        signed.get().map(|(by, at, amended)| {
            let unsigned =
                changed.get().then(|| view! { <p class="wrong">{desk.say(CardWord::Unsigned)}</p> });
            let times = (amended > 0).then(|| desk.say(ProductLine::AmendedTimes(amended)));
            view! {
                <p role="status"><b>{desk.say(ProductLine::SignedBy(by, at))}</b> " " {times}</p>
                {unsigned}
                <p class="second">{desk.say(SignSays::AmendOnly)}</p>
                {entries(desk, sheet)}
            }
        })
    }
}

/// Every entry of the record with its check and a print of its card as it was; above them what is to be said of the
/// record's seals.
fn entries(desk: Desk, sheet: Sheet) -> Markup {
    let id = sheet.id();
    let known = memo(move || {
        let (language, offset) = (desk.language(), sheet.offset.get());
        desk.records.with(|all| {
            let record = all.iter().find(|r| r.id() == id)?;
            Some((stands(record, desk.standing(record), language, offset), history(record, language, offset)))
        })
    });
    let row = move |(n, listed): (usize, Listed)| {
        let tap = move |_| {
            desk.paper.set(Paper::Signed(n));
            print::print();
        };
        view! {
            <li class="field">
                <div class="field-name">
                    <p>{listed.said}</p>
                    {listed.changed.into_iter().map(|line| view! { <p class="second">{line}</p> }).collect_view()}
                    <p class="second">{listed.check}</p>
                </div>
                <div class="entry">
                    <button type="button" class="button small" on:click=tap>{desk.say(Words::PrintThen)}</button>
                </div>
            </li>
        }
    };
    let all = move || {
        let (standing, listed) = known.get()?;
        let standing = standing.map(|(changed, said)| {
            let class = if changed { "wrong" } else { "second" };
            view! { <p class=class role="status">{said}</p> }
        });
        Some(view! {
            {standing}
            <ol aria-label=desk.say(Words::Entries)>{listed.into_iter().enumerate().map(row).collect_view()}</ol>
        })
    };
    all.into_view()
}

/// The step that is next: hand over, sign, go on to what comes later.
#[component]
pub fn Step() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let over = memo(move || sheet.draft.with(|d| d.times.handed_over.is_some()));
    let signed = signature(desk, sheet);
    let is_signed = memo(move || signed.with(Option::is_some));
    let said = RwSignal::new(None::<String>);
    until_decided(desk, sheet, said);
    let complete = move || {
        let open = untrack(|| needs(sheet)).first().copied();
        said.set(open.map(|need| desk.say(NeedSays(need))));
        if let Some(field) = open.and_then(place) {
            focus::first(field);
        }
        open.is_none()
    };
    let hand_over = move || {
        if complete() {
            let at = clock::now().at;
            sheet.edit(|d| d.hand_over(at));
        }
    };
    let sign = move || sign_now(desk, sheet, said);
    view! {
        <p class="second" role="status">{said}</p>
        {move || match (over.get(), is_signed.get()) {
            (_, true) => {
                view! { <NextStep label=Words::ToLater go=move || go(sheet, Stage::Later)/> }
            }
            (true, false) => {
                view! { <NextStep label=Words::Sign go=sign/> }
            }
            (false, false) => {
                view! { <NextStep label=HeldStep::HandOver step=HeldStep::HandOver go=hand_over/> }
            }
        }}
    }
}

/// Where a need of the hand-over is met, if that is in view.
fn place(need: Need) -> Option<&'static str> {
    match need {
        Need::NeedleIn | Need::Marks => None,
        // Said beside Collect until then, and asked for among the times once it is collected.
        Need::SpinEnd => Some("#spin_end_missing, #time_spin_end"),
        Need::Collected => Some("#collected"),
        Need::ProductKept => Some("#product_actual"),
        Need::Receiver | Need::OtherReceiver => Some("#handed_to"),
        Need::ReadBack => Some("#check_hand_over"),
        Need::WhyChanged => Some("#why_changed"),
        Need::Technician => Some("#technician"),
        Need::WhyNone | Need::NotBoth => Some("#no_product"),
    }
}

/// Why a signature was refused, as a sentence; `None` when it was given.
pub fn refusal(desk: Desk, result: Result<(), NotSigned>) -> Option<String> {
    result.err().map(|why| match why {
        NotSigned::Undecided => desk.say(BannerSays::DecideFirst),
        NotSigned::Refused(error) => desk.say(SignRefused(&error)),
    })
}

/// That something is to be decided first is said no longer than that: it may be decided in another tab.
pub fn until_decided(desk: Desk, sheet: Sheet, said: RwSignal<Option<String>>) {
    let (id, first) = (sheet.id(), desk.say(BannerSays::DecideFirst));
    Effect::new(move |_| {
        let asks = |b: &Banner| match b {
            Banner::ChangedElsewhere { id: of, .. } | Banner::AmendedElsewhere { id: of, .. } => *of == id,
            _ => false,
        };
        let asked = desk.banners.with(|all| all.iter().any(asks));
        if !asked && said.with_untracked(|said| said.as_ref() == Some(&first)) {
            said.set(None);
        }
    });
}

/// The product label, made by what prints it.
#[component]
pub fn LabelPreview() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let labels = memo(move || given(desk, sheet, labels_now));
    let shown = move || {
        labels.with(|labels| match labels.as_ref().and_then(|l| l.large.first()) {
            Some(product) => label(product, solid(desk, sheet)),
            None => {
                let without = labels.is_some();
                let words = if without { Words::NoLabelWithout } else { Words::NoLabel };
                view! { <p>{desk.say(words)}</p> }
            }
        })
    };
    view! {
        <section class="label-preview" aria-label=desk.say(Words::Preview)>
            <p class="second">{desk.say(Words::Preview)}</p>
            {shown}
        </section>
    }
}
