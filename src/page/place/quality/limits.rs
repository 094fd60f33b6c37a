//! Where the limits come from, and which rules speak.

use super::chart::limits_line;
use super::decide::{Deciding, decide, line};
use super::sight::View;
use crate::dom::prelude::*;
use std::sync::Arc;
use strawline::quality::decided::{ChosenBaseline, Decisions};
use strawline::quality::rules::Rule;
use strawline::quantity::time::Instant;
use strawline::words::charts::{ChartSays, ChartWord as Word};
use strawline::words::quality::QualitySays;
use strawline::words::source::SourceLine;

/// The limits as they are, and how to take them from another period.
pub fn limits(view: View) -> Markup {
    let desk = view.desk;
    let now = move || view.sight.with(|s| s.as_ref().map(|s| desk.say(limits_line(view, s))));
    let chosen = move || view.sight.with(|s| s.as_ref().is_some_and(|s| s.chosen_baseline.is_some()));
    let form = move || match (view.demo.get(), chosen()) {
        (true, _) => view! { <p class="second">{desk.say(ChartSays::DemoNotDecided)}</p> },
        (false, true) => view! { {take_back(view)} {choose(view)} },
        (false, false) => choose(view),
    };
    view! {
        <p>{now}</p>
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
    let before = view.sight.with_untracked(|s| s.as_ref().and_then(|s| s.chosen_baseline.clone()));
    let back = move |d: &mut Decisions, by: &str, at: Instant| match before.clone() {
        Some(old) => d.choose_baseline(ChosenBaseline { by: by.to_owned(), at, ..old }),
        None => Ok(()),
    };
    decide(view.desk, what, move |d, by, at, _| d.first_twenty_again(&of, by, at), Some(Arc::new(back)))
}

/// A period from one count to another, with a name.
fn choose(view: View) -> Markup {
    let desk = view.desk;
    let (name, from, until) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(String::new()));
    let said = RwSignal::new(None::<String>);
    let by = RwSignal::new(String::new());
    let tap = move |_| {
        let at = |text: RwSignal<String>| {
            let number: usize = text.get_untracked().trim().parse().ok()?;
            view.sight.with_untracked(|s| {
                s.as_ref()?.rows.iter().find(|r| r.number == number).map(|r| r.counted.at)
            })
        };
        let of = view.sight.with_untracked(|s| s.as_ref().map(|s| s.of.clone()));
        let (Some(of), Some(from), Some(until)) = (of, at(from), at(until)) else {
            return said.set(Some(desk.say(ChartSays::NumbersWanted)));
        };
        let name = name.get_untracked().trim().to_owned();
        if name.is_empty() {
            return said.set(Some(desk.say(ChartSays::NameWanted)));
        }
        let now = crate::shell::clock::now().at;
        let chosen =
            ChosenBaseline { of: of.clone(), name, from, until, by: by.get_untracked(), at: now, back: None };
        let decided = super::decide::change(desk, |d| d.choose_baseline(chosen));
        said.try_set(decided.err());
    };
    view! {
        {line(desk, "period-name", Word::PeriodName, name)}
        {line(desk, "period-from", Word::FromNumber, from)}
        {line(desk, "period-until", Word::UntilNumber, until)}
        {line(desk, "period-who", Word::Who, by)}
        {move || said.get().map(|why| view! { <p class="wrong" role="alert">{why}</p> })}
        <div class="buttons">
            <button type="button" class="button" on:click=tap>{desk.say(Word::TakePeriod)}</button>
        </div>
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
                all.sort_by_key(|r| Rule::ALL.iter().position(|a| a == r));
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
