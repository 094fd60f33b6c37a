//! Where the limits come from, and which rules speak.

use super::chart::limits_line;
use super::decide::{Deciding, decide, line};
use super::sight::View;
use crate::dom::prelude::*;
use std::sync::Arc;
use strawline::arrange::sort_by_key;
use strawline::quality::chart::in_period;
use strawline::quality::decided::{ChosenBaseline, Decisions, Refused};
use strawline::quality::rules::Rule;
use strawline::quantity::time::Instant;
use strawline::words::charts::{ChartLine, ChartSays, ChartWord as Word};
use strawline::words::quality::QualitySays;
use strawline::words::source::SourceLine;

/// The limits as they are, and how to take them from another period.
pub fn limits(view: View) -> Markup {
    let desk = view.desk;
    let now = move || view.sight.with(|s| s.as_ref().map(|s| desk.say(limits_line(view, s))));
    let short = move || {
        let found = view.sight.with(|s| s.as_ref().and_then(|s| s.chosen_baseline.clone().zip(s.short)));
        found.map(|(chosen, n)| desk.say(ChartLine::PeriodShort(chosen.name, n)))
    };
    let chosen = move || view.sight.with(|s| s.as_ref().is_some_and(|s| s.chosen_baseline.is_some()));
    let form = move || match (view.demo.get(), chosen()) {
        (true, _) => view! { <p class="second">{desk.say(ChartSays::DemoNotDecided)}</p> },
        (false, true) => view! { {take_back(view)} {choose(view)} },
        (false, false) => choose(view),
    };
    view! {
        <p>{now} " " {short}</p>
        <p class="second">{desk.say(QualitySays::NotYet)}</p>
        {form}
    }
}

fn take_back(view: View) -> Markup {
    let Some(of) = untrack(|| view.sight.with(|s| s.as_ref().map(|s| s.of.clone()))) else {
        return Markup::None;
    };
    let what = Deciding {
        id: "first-twenty".to_owned(),
        button: Word::FirstTwenty,
        who: Word::Who,
        reason: false,
        done: ChartSays::Decided,
    };
    let again = of.clone();
    let back = move |d: &mut Decisions, by: &str, at: Instant| d.last_chosen_again(&again, by, at);
    decide(view.desk, what, move |d, by, at, _| d.first_twenty_again(&of, by, at), Some(Arc::new(back)))
}

/// Accepted counts of a period.
fn within(view: View, from: Instant, until: Instant) -> usize {
    view.all.with_untracked(|all| all.as_ref().map_or(0, |all| in_period(&all.observed(), from, until)))
}

/// A period from one count to another, with a name.
fn choose(view: View) -> Markup {
    let desk = view.desk;
    let (name, from, until) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(String::new()));
    let Some(of) = untrack(|| view.sight.with(|s| s.as_ref().map(|s| s.of.clone()))) else {
        return Markup::None;
    };
    let what = Deciding {
        id: "period".to_owned(),
        button: Word::TakePeriod,
        who: Word::Who,
        reason: false,
        done: ChartSays::Decided,
    };
    let series = of.clone();
    let act = move |d: &mut Decisions, by: &str, at: Instant, _: &str| {
        let moment = |text: RwSignal<String>| {
            let number = text.get_untracked().trim().parse().ok()?;
            view.all.with_untracked(|all| all.as_ref()?.moment(number))
        };
        let (from, until) = (moment(from), moment(until));
        let (from, until) = from.zip(until).ok_or(Refused::NoPeriod)?;
        let n = within(view, from, until);
        let (name, by) = (name.get_untracked().trim().to_owned(), by.to_owned());
        d.choose_baseline(ChosenBaseline { of: series.clone(), name, from, until, by, at, back: None }, n)
    };
    let back = move |d: &mut Decisions, by: &str, at: Instant| d.choose_again(&of, by, at);
    view! {
        {line(desk, "period-name", Word::PeriodName, name)}
        {line(desk, "period-from", Word::FromNumber, from)}
        {line(desk, "period-until", Word::UntilNumber, until)}
        {decide(desk, what, act, Some(Arc::new(back)))}
    }
}

/// The rules there are, each with its source.
pub fn rules(view: View) -> Markup {
    let desk = view.desk;
    let one = |rule: Rule| {
        let tick = move |event| {
            let on = event_target_checked(&event);
            view.rules.update(|all| {
                all.retain(|r| *r != rule);
                if on {
                    all.push(rule);
                }
                sort_by_key(all, |r| Rule::ALL.iter().position(|a| a == r));
            });
        };
        view! {
            <label class="check">
                <input
                    type="checkbox"
                    prop:checked=move || view.rules.with(|all| all.contains(&rule))
                    on:change=tick
                />
                <span>{desk.say(rule)} <span class="second">{desk.say(SourceLine(rule.source()))}</span></span>
            </label>
        }
    };
    view! {
        <p class="second">{desk.say(ChartSays::RulesHold)} " " {desk.say(QualitySays::NotMaterial)}</p>
        {Rule::ALL.map(one).collect_view()}
    }
}
