//! Quality charts: what the counts of signed records say. A view within Records.

mod against;
mod chart;
pub mod decide;
mod groups;
mod limits;
mod point;
pub mod process;
mod recall;
mod sight;
mod table;

use crate::dom::prelude::*;
use crate::place::bench::Undoing;
use crate::place::records::views;
use crate::section::foot::Foot;
use crate::section::header::{Banners, Header};
use crate::state::Desk;
use sight::View;
use strawline::words::charts::{ChartSays, ChartWord};
use strawline::words::page::Frame;
use strawline::words::records::RecordsWord;

/// The view.
#[component]
pub fn Quality() -> impl IntoView {
    let desk = Desk::here();
    let view = View::new(desk);
    let any = move || view.sight.with(|s| s.as_ref().is_some_and(|s| !s.rows.is_empty()));
    view! {
        <div class="page place">
            <Banners/>
            <Header/>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Frame::Records)}</h1>
                {views(desk)}
                <Undoing/>
                <section class="part-of" aria-label=desk.say(RecordsWord::QualityView)>
                    {filters(view)}
                    <p hidden=move || !view.demo.get()>
                        <span class="tag">{desk.say(ChartWord::DemoHistory)}</span>
                    </p>
                    <p class="second">{move || view.rests_on().map(|line| desk.say(line))}</p>
                    {chart::head(view)}
                    {move || {
                        if any() {
                            chart::body(view)
                        } else {
                            view! { <p class="waiting">{desk.say(ChartSays::NoCounts)}</p> }
                        }
                    }}
                    {fold(desk, ChartWord::AllRows, move || table::all(view))}
                    {table::left_out(view)}
                    {fold(desk, ChartWord::Groups, move || groups::groups(view))}
                    {fold(desk, ChartWord::Against, move || against::against(view))}
                    {fold(desk, ChartWord::Limits, move || limits::limits(view))}
                    {fold(desk, ChartWord::Rules, move || limits::rules(view))}
                </section>
                {recall::recall(desk)}
            </main>
            <Foot/>
        </div>
    }
}

/// Something of depth behind a tap, made when it is first looked at.
pub fn fold(desk: Desk, words: ChartWord, inside: impl Fn() -> Markup + Send + Sync + 'static) -> Markup {
    let opened = RwSignal::new(false);
    view! {
        <details class="item" on:toggle=move |_| opened.set(true)>
            <summary>
                <h3>{desk.say(words)}</h3>
            </summary>
            <div>{move || opened.get().then(&inside)}</div>
        </details>
    }
}

/// Which protocol, and whether the demo's history.
fn filters(view: View) -> Markup {
    let desk = view.desk;
    let options = move || {
        let own = view.protocol.get();
        view.names()
            .into_iter()
            .map(|(key, name)| {
                let chosen = key == own;
                view! { <option value=key prop:selected=chosen>{name}</option> }
            })
            .collect_view()
    };
    let containers = move || {
        let own = view.container.get();
        view.containers()
            .into_iter()
            .map(|(key, name)| {
                let chosen = key == own;
                view! { <option value=key prop:selected=chosen>{name}</option> }
            })
            .collect_view()
    };
    view! {
        <div class="filters">
            <div class="field">
                <div class="field-name">
                    <label for="chart-protocol">{desk.say(ChartWord::Protocol)}</label>
                </div>
                <div class="entry">
                    <select
                        id="chart-protocol"
                        class="words"
                        on:change=move |event| view.show_protocol(event_target_value(&event))
                    >
                        {options}
                    </select>
                </div>
            </div>
            <div class="field">
                <div class="field-name">
                    <label for="chart-container">{desk.say(ChartWord::Container)}</label>
                </div>
                <div class="entry">
                    <select
                        id="chart-container"
                        class="words"
                        on:change=move |event| view.show_container(event_target_value(&event))
                    >
                        <option value="" prop:selected=move || view.container.with(String::is_empty)>
                            {desk.say(ChartWord::AllContainers)}
                        </option>
                        {containers}
                    </select>
                </div>
            </div>
            <label class="check">
                <input
                    type="checkbox"
                    prop:checked=view.demo
                    on:change=move |event| view.show_demo(event_target_checked(&event))
                />
                <span>{desk.say(ChartWord::ShowDemo)}</span>
            </label>
        </div>
    }
}
