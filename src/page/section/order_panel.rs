//! The order at a glance, beside the work; one line where there is no room for more.

use super::order::{PrintQuestions, open_questions};
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::draft::{Field, Stage};
use strawline::export::sampled::sampled;
use strawline::words::choice::{AgentName, CountStandingName, SampleName, SiteLine};
use strawline::words::order::{ContainersLine, GiveLine, Glance};
use strawline::words::unit;

/// The order at a glance.
#[component]
pub fn OrderPanel() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let typed = move |field| sheet.draft.with(|d| d.text(field).trim().to_owned());
    let reference = move || Some(typed(Field::PatientReference)).filter(|r| !r.is_empty());
    let ordering = memo(move || sheet.draft.with(|d| d.stage == Stage::Order));
    view! {
        <aside class="order" tabindex="0" aria-label=desk.say(strawline::words::page::Frame::Order)>
            <div class="order-who">
                <b class="id">{move || reference().unwrap_or_else(|| desk.say(Glance::NoReference))}</b>
                " "
                <span>{move || typed(Field::SecondIdentifier)}</span>
            </div>
            <div class="order-what">
                <b class="site">{site_line}</b>
                " "
                <span>{give_line}</span>
            </div>
            <dl class="facts">
                <Fact name=Glance::DoesNotSay value=Signal::derive(open_questions)/>
                {move || (!ordering.get()).then(|| view! { <div><dd><PrintQuestions/></dd></div> })}
                <Fact name=Glance::BloodCount value=Signal::derive(blood_count)/>
                <Fact name=Glance::Haematocrit value=Signal::derive(haematocrit)/>
                <Fact name=Glance::Containers value=Signal::derive(containers)/>
                <Fact name=Glance::Method value=Signal::derive(method)/>
                <Fact name=Glance::Lots value=Signal::derive(lots)/>
                <Fact name=Glance::People value=Signal::derive(people)/>
            </dl>
        </aside>
    }
}

/// RIGHT patellar tendon.
pub fn site_line() -> String {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    sheet.draft.with(|d| desk.say(SiteLine { side: d.choices.side, site: d.text(Field::Site).trim() }))
}

fn give_line() -> String {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let c = sheet.conventions();
    sheet.read.with(|(case, _)| {
        let parts: Vec<_> =
            case.order.parts.iter().filter_map(|p| Some((p.planned?, p.name.clone()))).collect();
        desk.say(GiveLine { volume: case.order.volume, parts: &parts, conventions: &c })
    })
}

/// A line of the order: its name, and what is said there; nothing where nothing is.
#[component]
fn Fact(name: Glance, value: Signal<Option<String>>) -> impl IntoView {
    let desk = Desk::here();
    view! {
        <div hidden=move || value.with(Option::is_none)>
            <dt>{desk.say(name)}</dt>
            <dd>{value}</dd>
        </div>
    }
}

fn blood_count() -> Option<String> {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let c = sheet.conventions();
    sheet.read.with(|(case, _)| {
        let b = &case.baseline;
        let Some(reading) = b.reading else { return b.standing.map(|s| desk.say(CountStandingName(s))) };
        let mut parts = vec![unit::count(reading, &c).to_string()];
        parts.extend(b.standing.map(|s| desk.say(CountStandingName(s)).to_lowercase()));
        parts.extend(sheet.draft.with(|d| sampled(d, case).map(|s| s.said(desk.language()))));
        parts.extend(b.sample.map(|s| desk.say(SampleName(s))));
        Some(parts.join(", "))
    })
}

fn haematocrit() -> Option<String> {
    let sheet = Sheet::here();
    let c = sheet.conventions();
    sheet.read.with(|(case, _)| case.baseline.haematocrit.map(|h| unit::haematocrit(h, &c).to_string()))
}

fn containers() -> Option<String> {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let c = sheet.conventions();
    let mark = sheet.answer.with(|a| a.draw.plan.as_ref().map(|p| p.rounded.value.split.fill));
    sheet.read.with(|(case, _)| {
        let (container, number) = (case.draw.container.as_ref()?, case.draw.planned?);
        Some(desk.say(ContainersLine { number, name: &container.name, mark, conventions: &c }))
    })
}

fn method() -> Option<String> {
    let sheet = Sheet::here();
    sheet.draft.with(|d| d.kit.protocol.as_ref().map(|p| p.name.clone()))
}

fn lots() -> Option<String> {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let style = sheet.conventions().numbers;
    let agent = sheet.answer.with(|a| a.draw.agent).map(|a| desk.say(AgentName(a, style)));
    sheet.draft.with(|d| {
        let lot = |name: Option<String>, field| {
            let lot = d.text(field).trim();
            (!lot.is_empty()).then(|| match name {
                Some(name) => format!("{name} {lot}"),
                None => lot.to_owned(),
            })
        };
        let both: Vec<String> = [
            lot(agent, Field::AnticoagulantLot),
            lot(Some(desk.say(Glance::Containers)), Field::ContainerLot),
        ]
        .into_iter()
        .flatten()
        .collect();
        (!both.is_empty()).then(|| both.join(", "))
    })
}

fn people() -> Option<String> {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    sheet.draft.with(|d| {
        let name = |field| {
            let name = d.text(field).trim();
            if name.is_empty() { desk.say(Glance::NotSaid) } else { name.to_owned() }
        };
        Some(format!("{} / {}", name(Field::Prescriber), name(Field::Technician)))
    })
}
