//! Counts by lot, technician or rotor.

use super::sight::View;
use crate::dom::prelude::*;
use strawline::quality::group::{Group, GroupBy, groups as groups_of};
use strawline::words::charts::ChartWord as Word;

/// A table of the groups; a group's name shows it alone on the chart.
pub fn groups(view: View) -> Markup {
    let desk = view.desk;
    let by = RwSignal::new(GroupBy::ContainerLot);
    let found = memo(move || {
        let by = by.get();
        view.all.with(|all| all.as_ref().map_or_else(Vec::new, |all| groups_of(&all.observed(), by)))
    });
    let row = move |g: Group| {
        let by = by.get_untracked();
        let shown = match view.group_name(by, &g.name) {
            name if name.is_empty() => desk.say(Word::NotSaid),
            name => name,
        };
        let name = g.name.clone();
        view! {
            <tr>
                <th scope="row">
                    <button
                        type="button"
                        class="link"
                        on:click=move |_| view.show_only(Some((by, name.clone())))
                    >
                        {shown}
                    </button>
                </th>
                <td class="num">{g.n.to_string()}</td>
                <td class="num"><b>{view.value(g.middle)}</b></td>
                <td class="num range">
                    {desk.say(view.range(g.low, g.high))}
                </td>
                <td class="num">{view.day(g.from)} " – " {view.day(g.until)}</td>
            </tr>
        }
    };
    let pick = move |event| {
        let chosen = event_target_value(&event).parse::<usize>().ok();
        if let Some(chosen) = chosen.and_then(|i| GroupBy::ALL.get(i)) {
            by.set(*chosen);
        }
    };
    let options = GroupBy::ALL
        .into_iter()
        .enumerate()
        .map(|(i, one)| view! { <option value=i selected=i == 0>{desk.say(one)}</option> })
        .collect_view();
    view! {
        <div class="field">
            <div class="field-name">
                <label for="told-apart">{desk.say(Word::ToldApart)}</label>
            </div>
            <div class="entry">
                <select id="told-apart" class="words" on:change=pick>{options}</select>
            </div>
        </div>
        <div class="wide" tabindex="0" role="region" aria-label=desk.say(Word::Groups)>
            <table class="table">
                <thead>
                    <tr>
                        <th scope="col">{move || desk.say(by.get())}</th>
                        <th scope="col" class="num">{desk.say(Word::Count)}</th>
                        <th scope="col" class="num">{desk.say(Word::Middle)}</th>
                        <th scope="col" class="num">{desk.say(Word::LeastToMost)}</th>
                        <th scope="col" class="num">{desk.say(Word::FirstToLast)}</th>
                    </tr>
                </thead>
                <tbody>{move || found.get().into_iter().map(row).collect_view()}</tbody>
            </table>
        </div>
    }
}
