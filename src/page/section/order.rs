//! Order: who, what and where, which containers, which count. Behind these, what is asked when it matters.

use super::amounts::Amounts;
use super::literature::Literature;
use super::paper::given;
use super::plan::Plan;
use crate::counts::teach;
use crate::dom::prelude::*;
use crate::shell::keep;
use crate::state::{Desk, Paper, Sheet};
use crate::widget::{Choice, Confirm, Entry, Findings, Fold, NoCamera, Stops, Tick};
use strawline::assess::split_under;
use strawline::bench::Bench;
use strawline::blood::anticoagulant::{Agent, Split, VolumeConvention};
use strawline::blood::baseline::SampleKind;
use strawline::blood::patient::Sex;
use strawline::draft::field::MAX_SITES;
use strawline::draft::{CheckKind, CountStanding, Draft, Field, Screening, Side, Stage, WhiteCellOrder};
use strawline::export::set_out;
use strawline::finding::HeldStep;
use strawline::quality::expect::same_but_for_counts;
use strawline::quantity::Quantity;
use strawline::quantity::read::{Reading, spell};
use strawline::words::choice::{
    AgentName, ConventionName, CountStandingName, SampleName, ScreeningQuestion, SexName, SideName,
    WhiteCellOrderName,
};
use strawline::words::order::{
    BloodBeforeLine, EnterSum, Meaning, MissingLine, OrderWords as Words, PrefilledLine, TakenOverLine, YesNo,
};
use strawline::words::set_out::{SetOutSays, SetOutWord};
use strawline::words::{Phrase, unit};

/// The order.
#[component]
pub fn Order() -> impl IntoView {
    view! {
        <Part title=Words::Who>
            <Entry field=Field::PatientReference/>
            <Entry field=Field::SecondIdentifier/>
        </Part>
        <Part title=Words::WhatWhere>
            <TakenOver/>
            <Where/>
        </Part>
        <Part title=Words::Vessels>
            <Vessels/>
        </Part>
        <Part title=Words::Count>
            <BloodCount/>
        </Part>
        <Part title=Words::LeavesOpen>
            <LeftOpen/>
        </Part>
        <More/>
        <SetOut/>
        <Plan/>
        <Stops step=HeldStep::Needle/>
        <Findings stages=vec![Stage::Order, Stage::BeforeNeedle]/>
    }
}

/// A section with its heading.
#[component]
pub fn Part<L: Phrase + Copy + Send + Sync + 'static>(
    /// Its heading.
    title: L,
    /// What stands in it.
    children: Children,
) -> impl IntoView {
    let desk = Desk::here();
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(title)}</h2>
            {children()}
        </section>
    }
}

/// From which case the order was taken over, until somebody held it against today's.
#[component]
fn TakenOver() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let from = memo(move || sheet.draft.with(|d| d.taken_over));
    let says = move |from: strawline::draft::TakenOver| {
        let day = unit::date(from.at, sheet.offset.get()).map(|day| desk.say(day)).unwrap_or_default();
        desk.say(TakenOverLine { sign: from.sign, day })
    };
    move || {
        from.get().map(|from| {
            view! {
                <p>{says(from)}</p>
                <Confirm kind=CheckKind::TodaysOrder id="check_todays_order"/>
            }
        })
    }
}

#[component]
fn Where() -> impl IntoView {
    view! {
        <Choice
            name="side"
            legend=Words::Side
            of=vec![Side::Left, Side::Right, Side::NoSide]
            words=SideName
            get=|d| d.choices.side
            set=|d, v| d.choices.side = v
        />
        <Entry field=Field::Site/>
        <Entry field=Field::OrderVolume step=0.5/>
        <Parts/>
        <Choice
            name="white-cells"
            legend=Words::WhiteCells
            of=vec![WhiteCellOrder::Wanted, WhiteCellOrder::NotWanted]
            words=WhiteCellOrderName
            get=|d| d.choices.white_cells
            set=|d, v| d.choices.white_cells = v
        />
    }
}

/// How many rows are shown: none while the site is one.
fn open_parts(d: &Draft) -> u8 {
    let first = !d.text(Field::PartName(0)).is_empty() || !d.text(Field::PartVolume(0)).is_empty();
    if d.rows.parts > 1 || first { d.rows.parts.min(MAX_SITES) } else { 0 }
}

#[component]
fn Parts() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let open = memo(move || sheet.draft.with(open_parts));
    let add = move |_| {
        sheet.edit(|d| d.rows.parts = if open_parts(d) == 0 { 2 } else { d.rows.parts.saturating_add(1) })
    };
    let remove = move |_| sheet.edit(Draft::one_part_less);
    view! {
        <For each=move || 0..open.get() key=|i| *i let:i>
            <div class="pair">
                <Entry field=Field::PartName(i)/>
                <Entry field=Field::PartVolume(i) step=0.5/>
            </div>
        </For>
        <div class="buttons">
            <button type="button" class="button" on:click=add hidden=move || open.get() == MAX_SITES>
                {move || desk.say(if open.get() == 0 { Words::Divide } else { Words::AddPart })}
            </button>
            <button type="button" class="button" on:click=remove hidden=move || open.get() == 0>
                {desk.say(Words::RemovePart)}
            </button>
        </div>
    }
}

/// A choice from a list of the Bench; the empty value is "not chosen".
#[component]
fn Pick(
    /// Its id in the page.
    id: &'static str,
    /// What is chosen.
    label: Words,
    /// What stands for nothing chosen.
    #[prop(default = Words::NotChosen)]
    none: Words,
    /// Keys and names.
    of: Memo<Vec<(String, String)>>,
    /// Key of what is chosen; empty for none.
    chosen: Memo<String>,
    /// Chooses.
    set: fn(&mut Draft, &Bench, &str),
    /// What follows from the choice.
    #[prop(default = |_, _| ())]
    then: fn(Desk, &mut Draft),
    /// A second line.
    #[prop(into, default = Signal::stored(None))]
    hint: Signal<Option<String>>,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let pick = move |event| {
        let key = event_target_value(&event);
        desk.bench.with_untracked(|bench| {
            let before = sheet.draft.with_untracked(Draft::to_put_back);
            sheet.edit(|d| {
                set(d, bench, &key);
                then(desk, d);
            });
            if sheet.draft.with_untracked(|d| before.lost_lots(d)) {
                let before = sheet.draft.with_untracked(|d| before.left(d));
                let back = move || sheet.edit(|d| d.put_back(before.clone()));
                keep::offer_undo(desk, Some(sheet.id()), desk.say(Words::LotsCleared), back);
            }
        });
    };
    let options = move || {
        of.get()
            .into_iter()
            .map(|(key, name)| {
                let own = key.clone();
                let is = move || chosen.with(|c| *c == own);
                view! { <option value=key prop:selected=is>{name}</option> }
            })
            .collect_view()
    };
    view! {
        <div class="field text">
            <div class="field-name">
                <label for=id>{desk.say(label)}</label>
                <p class="second">{hint}</p>
            </div>
            <div class="entry">
                <select id=id class="words" on:change=pick>
                    <option value="" prop:selected=move || chosen.with(String::is_empty)>
                        {desk.say(none)}
                    </option>
                    {options}
                </select>
            </div>
        </div>
    }
}

/// The entries of the Bench, and the one in the case when the Bench no longer has it.
fn with_own(mut list: Vec<(String, String)>, own: Option<(String, String)>) -> Vec<(String, String)> {
    if let Some(own) = own
        && list.iter().all(|(key, _)| *key != own.0)
    {
        list.push(own);
    }
    list
}

/// Copies a container of the Bench into the case, and fills in what it settles where nothing is typed yet.
fn choose_container(d: &mut Draft, bench: &Bench, key: &str) {
    // The one already in the case stays as it was copied.
    if d.kit.container.as_ref().is_some_and(|c| c.id == key) {
        return;
    }
    d.kit.container = bench.container(key).cloned();
    let Some((high, prefilled)) = d.kit.container.as_ref().map(|c| (c.fill_high, c.prefill.is_some())) else {
        return;
    };
    if d.text(Field::Containers).is_empty() {
        d.write(Field::Containers, "1");
    }
    if !prefilled
        && d.text(Field::FillVolume).is_empty()
        && let Some(kind) = Field::FillVolume.kind()
    {
        let text = spell(high.get(), kind, &d.conventions);
        d.write(Field::FillVolume, text);
        // The Bench names how far it is filled: that is a mark. A volume typed by hand is asked about.
        d.choices.convention = Some(VolumeConvention::FillMark);
    }
}

/// A container may have a series of its own. Once blood is in it, the case keeps what it was begun with.
fn teach_of_container(desk: Desk, d: &mut Draft) {
    if d.times.needle_in.is_none() {
        teach(desk, d);
    }
}

#[component]
fn Vessels() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let own_container =
        move || sheet.draft.with(|d| d.kit.container.as_ref().map(|c| (c.id.clone(), c.name.clone())));
    let own_protocol =
        move || sheet.draft.with(|d| d.kit.protocol.as_ref().map(|p| (p.id.clone(), p.name.clone())));
    let containers = memo(move || {
        let list = desk.bench.with(|b| b.containers.iter().map(|c| (c.id.clone(), c.name.clone())).collect());
        with_own(list, own_container())
    });
    let protocols = memo(move || {
        let list = desk.bench.with(|b| b.protocols.iter().map(|p| (p.id.clone(), p.name.clone())).collect());
        with_own(list, own_protocol())
    });
    let container = memo(move || own_container().map(|c| c.0).unwrap_or_default());
    let protocol = memo(move || own_protocol().map(|p| p.0).unwrap_or_default());
    let prefilled = memo(move || {
        let c = sheet.conventions();
        sheet.draft.with(|d| {
            let prefill = d.kit.container.as_ref()?.prefill.clone()?;
            let agent = desk.say(AgentName(prefill.agent, c.numbers));
            Some(desk.say(PrefilledLine { agent: &agent, volume: prefill.volume, conventions: &c }))
        })
    });
    let usual = memo(move || {
        let c = sheet.conventions();
        let product = sheet.draft.with(|d| d.kit.protocol.as_ref().and_then(|p| p.product));
        product.map(|v| unit::volume(v, &c).number).unwrap_or_default()
    });
    let full = memo(move || {
        let c = sheet.conventions();
        let volume = sheet.read.with(|(case, _)| case.draw.volume);
        volume.map(|v| unit::volume(v, &c).number).unwrap_or_default()
    });
    view! {
        <Pick id="container" label=Words::Container of=containers chosen=container set=choose_container hint=prefilled then=teach_of_container/>
        <Newer
            differs=container_differs
            copy=|d, b| d.kit.container = d.kit.container.take().map(|own| b.container(&own.id).cloned().unwrap_or(own))
        />
        <Entry field=Field::Containers step=1.0/>
        <Tick
            label=Words::OneContainer
            get=|d| d.choices.one_container
            set=|d, v| d.choices.one_container = v
        />
        <Pick
            id="protocol"
            label=Words::Protocol
            of=protocols
            chosen=protocol
            set=|d, bench, key| {
                if d.kit.protocol.as_ref().is_none_or(|p| p.id != key) {
                    d.kit.protocol = bench.protocol(key).cloned();
                }
            }
            then=teach
        />
        <Newer
            differs=protocol_differs
            copy=|d, b| d.kit.protocol = d.kit.protocol.take().map(|own| b.protocol(&own.id).cloned().unwrap_or(own))
            then=teach
        />
        <Entry field=Field::FillVolume step=1.0 standing=full/>
        {move || prefilled.with(Option::is_none).then(|| view! { <Convention/> })}
        <Entry field=Field::ProductVolume step=0.5 standing=usual/>
    }
}

/// A Bench entry that was changed after it was copied into the case, and the tap that copies it anew. Its case keeps
/// what it was begun with until then.
#[component]
pub fn Newer(
    /// Whether the entry of the case differs from the Bench's.
    differs: fn(&Draft, &Bench) -> bool,
    /// Copies it.
    copy: fn(&mut Draft, &Bench),
    /// What is said of it, if not that an entry of a list has changed.
    #[prop(optional)]
    says: Option<String>,
    /// What follows from that.
    #[prop(default = |_, _| ())]
    then: fn(Desk, &mut Draft),
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let newer = memo(move || desk.bench.with(|b| sheet.draft.with(|d| differs(d, b))));
    let tap = move |_| {
        desk.bench.with_untracked(|b| {
            sheet.edit(|d| {
                copy(d, b);
                then(desk, d);
            });
        });
    };
    view! {
        <div class="field" hidden=move || !newer.get()>
            <p class="second">{says.unwrap_or_else(|| desk.say(Words::BenchChanged))}</p>
            <div class="entry">
                <button type="button" class="button" on:click=tap>{desk.say(Words::TakeFromBench)}</button>
            </div>
        </div>
    }
}

/// The container of the case, unlike the Bench's of the same key. Once blood is in it, it stays what it is.
fn container_differs(d: &Draft, b: &Bench) -> bool {
    let own = d.kit.container.as_ref().filter(|_| d.times.needle_in.is_none());
    own.is_some_and(|own| b.container(&own.id).is_some_and(|theirs| theirs != own))
}

fn protocol_differs(d: &Draft, b: &Bench) -> bool {
    let own = d.kit.protocol.as_ref().filter(|_| d.times.stages.is_empty());
    own.is_some_and(|own| b.protocol(&own.id).is_some_and(|theirs| !same_but_for_counts(own, theirs)))
}

fn rotor_differs(d: &Draft, b: &Bench) -> bool {
    d.kit.rotor.as_ref().is_some_and(|own| b.rotor(&own.id).is_some_and(|theirs| theirs != own))
}

/// Fill mark or blood alone: asked while it is not said, and both readings stand written out.
#[component]
fn Convention() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let chosen = memo(move || sheet.read.with(|(case, _)| case.draw.convention));
    let unsaid =
        memo(move || chosen.get().is_none() && sheet.read.with(|(case, _)| case.draw.volume.is_some()));
    let split = move |convention| -> Option<Split> {
        if chosen.get() == Some(convention) {
            return sheet.answer.with(|a| a.draw.plan.as_ref().map(|p| p.rounded.value.split));
        }
        sheet.read.with(|(case, _)| split_under(case, convention))
    };
    let line = move |convention| {
        let split = memo(move || split(convention));
        move || {
            let c = sheet.conventions();
            let chosen = chosen.get().map(|c| c == convention);
            split.with(|s| {
                s.as_ref().map(|split| desk.say(Meaning { convention, split, chosen, conventions: &c }))
            })
        }
    };
    view! {
        <Choice
            name="convention"
            legend=Words::Convention
            of=vec![VolumeConvention::FillMark, VolumeConvention::AddedBlood]
            words=ConventionName
            get=|d| d.choices.convention
            set=|d, v| d.choices.convention = v
        />
        <p class="second" class:wrong=unsaid aria-live="polite">
            {move || unsaid.get().then(|| view! { <b>{desk.say(Words::WhichMeant)}</b> " " })}
            {line(VolumeConvention::FillMark)}
            " "
            {line(VolumeConvention::AddedBlood)}
        </p>
    }
}

#[component]
fn BloodCount() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let standing = memo(move || sheet.draft.with(|d| d.choices.count));
    let citrate = memo(move || sheet.draft.with(|d| d.choices.sample == Some(SampleKind::LiquidCitrate)));
    let counted = move || standing.get().is_some_and(|s| s != CountStanding::NoCount);
    view! {
        <Choice
            name="count"
            legend=Words::IsCounted
            of=vec![CountStanding::Today, CountStanding::Older, CountStanding::NoCount]
            words=CountStandingName
            get=|d| d.choices.count
            set=|d, v| d.choices.count = v
        />
        {move || counted().then(|| view! { <Entry field=Field::BloodCount/> <Sample/> })}
        {move || citrate.get().then(|| view! { <Entry field=Field::CitrateFactor/> })}
        {move || match standing.get() {
            Some(CountStanding::Older) => view! { <Entry field=Field::CountAge/> },
            Some(CountStanding::Today) => view! { <Entry field=Field::BloodCountTime/> },
            _ => Markup::None,
        }}
        {move || counted().then(|| view! { <Entry field=Field::BloodCountMethod/> })}
        <Entry field=Field::BloodHaematocrit/>
        <Entry field=Field::BloodWhite/>
        <p class="unseen">{move || standing.get().map(|s| desk.say(CountStandingName(s)))}</p>
    }
}

/// Kinds of sample offered; an older result is said by the choice above.
const SAMPLES: [SampleKind; 4] = [
    SampleKind::LaboratoryEdta,
    SampleKind::FilledContainer,
    SampleKind::LiquidCitrate,
    SampleKind::FingerPrick,
];

/// The entry of a fixed list that a key names, its place from 0.
fn nth<T: Copy>(of: &[T], key: &str) -> Option<T> {
    key.parse::<usize>().ok().and_then(|i| of.get(i)).copied()
}

/// The key of an entry of a fixed list; empty for none.
fn key_of<T: PartialEq>(of: &[T], what: Option<T>) -> String {
    what.and_then(|w| of.iter().position(|o| *o == w)).map(|i| i.to_string()).unwrap_or_default()
}

#[component]
fn Sample() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let of = memo(move || {
        SAMPLES.iter().enumerate().map(|(i, s)| (i.to_string(), desk.say(SampleName(*s)))).collect()
    });
    let chosen = memo(move || sheet.draft.with(|d| key_of(&SAMPLES, d.choices.sample)));
    view! {
        <Pick
            id="sample"
            label=Words::Sample
            none=Words::SampleUnsaid
            of=of
            chosen=chosen
            set=|d, _, key| d.choices.sample = nth(&SAMPLES, key)
        />
    }
}

/// What the order does not say, ready to be printed for the prescriber.
#[component]
fn LeftOpen() -> impl IntoView {
    let desk = Desk::here();
    view! {
        <p>{move || open_questions().unwrap_or_else(|| desk.say(Words::NothingOpen))}</p>
        <PrintQuestions/>
    }
}

/// The open questions in one line; `None` when the order answers all.
pub fn open_questions() -> Option<String> {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let open: Vec<String> = sheet.answer.with(|a| a.questions.iter().map(|q| desk.say(*q)).collect());
    (!open.is_empty()).then(|| open.join("; "))
}

/// Prints them.
#[component]
pub fn PrintQuestions() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let any = memo(move || sheet.answer.with(|a| !a.questions.is_empty()));
    let print = move |_| {
        desk.paper.set(Paper::Questions);
        crate::shell::print::print();
    };
    view! {
        <div class="buttons" hidden=move || !any.get()>
            <button type="button" class="button" on:click=print>{desk.say(Words::PrintQuestions)}</button>
        </div>
    }
}

/// What to lay out, one tap away.
#[component]
fn SetOut() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let list = memo(move || {
        sheet.answer.track();
        sheet.draft.track();
        untrack(|| given(desk, sheet, set_out::lines))
    });
    let print = move |_| {
        desk.paper.set(Paper::SetOut);
        crate::shell::print::print();
    };
    view! {
        <Fold title=desk.say(SetOutWord::Title) lazy=true>
            <div class="prose">
                <ul class="set-out">
                    {move || list.get().into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}
                </ul>
            </div>
            <p class="second">{desk.say(SetOutSays::What)}</p>
            <div class="buttons" hidden=move || list.with(Vec::is_empty)>
                <button type="button" class="button" on:click=print>{desk.say(SetOutWord::Print)}</button>
            </div>
        </Fold>
    }
}

/// What is asked when it matters, one tap away.
#[component]
fn More() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let missing = memo(move || {
        let missing = sheet.answer.with(|a| a.draw.patient.as_ref().map(|p| p.missing.clone()));
        missing.filter(|m| !m.is_empty()).map(|m| desk.say(MissingLine(&m)))
    });
    // Blood that the records tell of is in sight until it is entered.
    let before = sheet.drawn_before(desk);
    let blood = sheet.field(Field::PreviousBlood);
    let untold = move || before.with(Option::is_some) && blood.with(|shown| shown.text.trim().is_empty());
    let wanted = Signal::derive(move || missing.with(Option::is_some) || untold());
    view! {
        <Fold title=desk.say(Words::Patient) wanted>
            <p class="reading" class:wrong=move || missing.with(Option::is_some) aria-live="polite">{missing}</p>
            <Patient/>
        </Fold>
        <Fold title=desk.say(Words::Screening)>
            <p class="second">{desk.say(Words::ScreeningFor)}</p>
            {Screening::ALL.into_iter().map(|what| view! { <Question what/> }).collect_view()}
            <Entry field=Field::ScreeningNote long=true/>
        </Fold>
        <Fold title=desk.say(Words::People)>
            <Entry field=Field::Prescriber/>
            <Entry field=Field::Technician/>
            <Entry field=Field::ReadyBy/>
            <Entry field=Field::OrderNote long=true/>
            <Entry field=Field::Session/>
        </Fold>
        <Fold title=desk.say(Words::Amounts)>
            <p class="second">{desk.say(Words::AmountsOf)}</p>
            <Amounts/>
            <Literature/>
        </Fold>
        <Fold title=desk.say(Words::AnticoagulantAnother)>
            <Anticoagulant/>
        </Fold>
        <Fold title=desk.say(Words::Machine)>
            <RotorPick/>
            <Lots/>
        </Fold>
    }
}

#[component]
fn Patient() -> impl IntoView {
    view! {
        <Entry field=Field::Weight/>
        <Entry field=Field::Height/>
        <Entry field=Field::Age/>
        <Choice
            name="sex"
            legend=Words::Sex
            of=vec![Sex::Female, Sex::Male]
            words=SexName
            get=|d| d.choices.sex
            set=|d, v| d.choices.sex = v
        />
        <Choice
            name="first-draw"
            legend=Words::FirstDraw
            of=vec![true, false]
            words=YesNo
            get=|d| d.choices.first_draw
            set=|d, v| d.choices.first_draw = v
        />
        <Entry field=Field::BloodHaemoglobin/>
        <Entry field=Field::Discard/>
        <Entry field=Field::PreviousBlood/>
        <BloodBefore/>
    }
}

/// Draws before by the cases on this device, and their sum to enter at a tap.
#[component]
pub fn BloodBefore() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let before = sheet.drawn_before(desk);
    let conventions = move || sheet.draft.with_untracked(|d| d.conventions);
    let line = move || {
        let before = before.get()?;
        let (c, offset) = (conventions(), sheet.offset.get());
        let day = |at| unit::date(at, offset).map(|day| desk.say(day)).unwrap_or_default();
        let written = |volume| unit::volume(volume, &c).to_string();
        let draws = before.draws.iter().map(|(at, v)| (day(*at), v.map(|d| (written(d.volume), d.planned))));
        Some(desk.say(BloodBeforeLine {
            reference: sheet.draft.with_untracked(|d| d.text(Field::PatientReference).trim().to_owned()),
            draws: draws.collect(),
            sum: before.known().map(written),
            whole: before.is_whole(),
        }))
    };
    let typed = sheet.field(Field::PreviousBlood);
    // A larger amount that was typed counts draws elsewhere too; a sum that lacks a draw is none.
    let sum = memo(move || {
        let sum = before.with(|b| b.as_ref().filter(|b| b.is_whole()).map(|b| b.sum))?;
        let text = spell(sum.get(), Field::PreviousBlood.kind()?, &conventions());
        let less = typed.with(|shown| {
            let value = shown.reading.as_ref().and_then(Reading::value);
            shown.text.trim().is_empty() || value.is_some_and(|value| value < sum.get())
        });
        less.then_some((text, unit::volume(sum, &conventions()).to_string()))
    });
    let enter = move |_| {
        if let Some((text, _)) = sum.get_untracked() {
            sheet.write(Field::PreviousBlood, text);
        }
    };
    view! {
        <p class="second" hidden=move || before.with(Option::is_none)>{line}</p>
        <div class="buttons" hidden=move || sum.with(Option::is_none)>
            <button type="button" class="button" on:click=enter>
                {move || sum.get().map(|(_, written)| desk.say(EnterSum(written)))}
            </button>
        </div>
    }
}

/// One screening question. Its answer is for the prescriber; tapped again it is open.
#[component]
fn Question(what: Screening) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let answer = memo(move || sheet.draft.with(|d| d.choices.screening.get(&what).copied()));
    let name = format!("ask-{what:?}");
    let parts = [true, false]
        .into_iter()
        .map(|yes| {
            let tap = move |_| {
                let again = answer.get_untracked() == Some(yes);
                sheet.edit(|d| {
                    if again {
                        d.choices.screening.remove(&what);
                    } else {
                        d.choices.screening.insert(what, yes);
                    }
                });
            };
            view! {
                <label>
                    <input
                        type="radio"
                        name=name.clone()
                        prop:checked=move || answer.get() == Some(yes)
                        on:click=tap
                    />
                    <span>{desk.say(YesNo(yes))}</span>
                </label>
            }
        })
        .collect_view();
    view! {
        <fieldset class="choice">
            <legend>{desk.say(ScreeningQuestion(what))}</legend>
            <div class="choices">{parts}</div>
        </fieldset>
    }
}

#[component]
fn Anticoagulant() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let of = memo(move || {
        let style = sheet.conventions().numbers;
        Agent::ALL.iter().enumerate().map(|(i, a)| (i.to_string(), desk.say(AgentName(*a, style)))).collect()
    });
    let chosen = memo(move || sheet.draft.with(|d| key_of(&Agent::ALL, d.choices.agent)));
    let own = memo(move || sheet.draft.with(|d| d.choices.agent == Some(Agent::ClinicOwn)));
    view! {
        <Pick
            id="agent"
            label=Words::Agent
            none=Words::AgentOfProtocol
            of=of
            chosen=chosen
            set=|d, _, key| d.choices.agent = nth(&Agent::ALL, key)
        />
        {move || own.get().then(|| view! { <Entry field=Field::OwnAgent/> })}
        <Entry field=Field::AnticoagulantPer100/>
        <Entry field=Field::AnticoagulantPerContainer/>
        <p class="second">{desk.say(Words::OneAmount)}</p>
    }
}

/// The rotor, chosen from Bench and copied into the case.
#[component]
pub fn RotorPick(
    /// A second line.
    #[prop(into, default = Signal::stored(None))]
    hint: Signal<Option<String>>,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let own = move || sheet.draft.with(|d| d.kit.rotor.as_ref().map(|r| (r.id.clone(), r.name.clone())));
    let of = memo(move || {
        let list = desk.bench.with(|b| b.rotors.iter().map(|r| (r.id.clone(), r.name.clone())).collect());
        with_own(list, own())
    });
    let chosen = memo(move || own().map(|r| r.0).unwrap_or_default());
    view! {
        <Pick
            id="rotor"
            label=Words::Rotor
            of=of
            chosen=chosen
            hint
            set=|d, bench, key| {
                if d.kit.rotor.as_ref().is_none_or(|r| r.id != key) {
                    d.kit.rotor = bench.rotor(key).cloned();
                }
            }
        />
        <Newer
            differs=rotor_differs
            copy=|d, b| d.kit.rotor = d.kit.rotor.take().map(|own| b.rotor(&own.id).cloned().unwrap_or(own))
        />
    }
}

/// Lots and expiry of anticoagulant and containers.
#[component]
pub fn Lots() -> impl IntoView {
    view! {
        <NoCamera/>
        <Entry field=Field::AnticoagulantLot/>
        <Entry field=Field::AnticoagulantExpiry/>
        <Entry field=Field::ContainerLot/>
        <Entry field=Field::ContainerExpiry/>
    }
}
