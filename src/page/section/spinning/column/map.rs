//! Other speeds and times of the first spin: asked for row by row, so that what is shown grows and a new question never
//! waits for an old map.

use super::Shown;
use super::speed::line;
use crate::dom::prelude::*;
use crate::picture::map::{MapPicture, MapView};
use crate::shell::aside;
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use std::time::Duration;
use strawline::quantity::{Quantity, Seconds, write};
use strawline::spin::column::Setup;
use strawline::spin::column::ask::{
    OWN, PLACES, Question, ROWS, Reply, most_at, own, speed_share, time_share,
};
use strawline::words::column::ColumnWord as Words;

/// How long nothing must change.
const REST: Duration = Duration::from_millis(500);

#[derive(Clone, Copy)]
struct Rows {
    shares: RwSignal<Vec<Option<Vec<u16>>>>,
    asked: StoredValue<u64>,
}

impl Rows {
    fn ask(self, number: u64, setup: Setup, row: u8) {
        if row >= ROWS || self.asked.try_get_value() != Some(number) {
            return;
        }
        aside::ask(&Question::Row(setup.clone(), row), move |reply| {
            if self.asked.try_get_value() != Some(number) {
                return;
            }
            if let Some(Reply::Row(row, shares)) = reply {
                self.shares.update(|all| {
                    if let Some(slot) = all.get_mut(usize::from(row)) {
                        *slot = Some(shares);
                    }
                });
            }
            self.ask(number, setup, row.saturating_add(1));
        });
    }
}

/// The map, once it is opened.
#[component]
pub fn Map() -> impl IntoView {
    let desk = Desk::here();
    view! {
        <Fold title=desk.say(Words::Map) lazy=true>
            <Opened/>
        </Fold>
    }
}

#[component]
fn Opened() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let empty = || vec![None; usize::from(ROWS)];
    let rows = Rows { shares: RwSignal::new(empty()), asked: StoredValue::new(0) };
    // What the line does is not in the map: only the first spin's tube, blood and programme are.
    let setup = memo(move || {
        shown.pictured.with(|p| {
            let mut setup = p.as_ref().ok()?.setup.clone();
            setup.spins.truncate(1);
            setup
                .spins
                .iter_mut()
                .for_each(|s| s.parting.disturbed = Quantity::new(0.0).unwrap_or(s.parting.disturbed));
            Some(setup)
        })
    });
    Effect::new(move |_| {
        let setup = setup.get();
        let number = rows.asked.get_value() + 1;
        rows.asked.set_value(number);
        let Some(setup) = setup else { return };
        let rest = if number == 1 { Duration::ZERO } else { REST };
        set_timeout(
            move || {
                if rows.asked.try_get_value() == Some(number) {
                    rows.shares.set(empty());
                    rows.ask(number, setup, 0);
                }
            },
            rest,
        );
    });
    let time =
        memo(move || setup.with(|s| s.as_ref().and_then(own)).map(|(_, t): (_, Seconds)| t.get() / 60.0));
    let fixed = move |value: f64, decimals| write::fixed(value, decimals, sheet.conventions().numbers);
    let view_of = Signal::derive(move || {
        let minutes = time.get().unwrap_or(0.0);
        rows.shares.with(|all| MapView {
            rows: all
                .iter()
                .map(|row| row.as_ref().map(|r| r.iter().map(|s| f64::from(*s) / 1000.0).collect()))
                .collect(),
            places: PLACES,
            rings: all.iter().map(|row| row.as_ref().and_then(|r| most_at(r))).collect(),
            own: (usize::from(OWN.0), OWN.1),
            up: (0..ROWS).step_by(5).map(|r| (usize::from(r), fixed(speed_share(r), 2))).collect(),
            along: [4, 9, 14, 19, 24, 29].map(|p| (p, fixed(minutes * time_share(p), 1))).into(),
            words: [desk.say(Words::Share), desk.say(Words::Minutes)],
        })
    });
    let table = move || {
        let minutes = time.get().unwrap_or(0.0);
        rows.shares.with(|all| {
            let row = |(row, shares): (u8, &Option<Vec<u16>>)| {
                let shares = shares.as_ref()?;
                let at =
                    most_at(shares).map_or_else(|| "–".to_owned(), |p| fixed(minutes * time_share(p), 1));
                let share = |s: Option<&u16>| s.map_or_else(String::new, |s| fixed(f64::from(*s) / 10.0, 0));
                let cells = [4, 9, 14, 19, 24, 29].map(|p| share(shares.get(p)));
                let cells = cells.into_iter().chain([at, share(shares.iter().max())]).collect();
                Some(line(fixed(speed_share(row), 2), cells))
            };
            (0..ROWS).zip(all).filter_map(row).collect_view()
        })
    };
    let table = StoredValue::new_local(table);
    let head = move || {
        let minutes = time.get().unwrap_or(0.0);
        let times = [4, 9, 14, 19, 24, 29].map(|p| {
            let words = write::with_unit(&fixed(minutes * time_share(p), 1), "min");
            view! { <th scope="col" class="num">{words}</th> }
        });
        times.into_iter().collect_view()
    };
    let head = StoredValue::new_local(head);
    let done = move || rows.shares.with(|all| all.iter().all(Option::is_some));
    view! {
        <p class="second">{desk.say(Words::MapWhat)}</p>
        <MapPicture view=view_of label=Signal::derive(move || desk.say(Words::MapWhat))/>
        <p class="second" role="status">{move || (!done()).then(|| desk.say(Words::Drawing))}</p>
        <Fold title=desk.say(Words::AsTable) lazy=true>
            <div class="scroll" tabindex="0" role="group" aria-label=desk.say(Words::Map)>
                <table class="table spun-map">
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Share)}</th>
                            {move || head.with_value(|h| h())}
                            <th scope="col" class="num">{desk.say(Words::Turns)}</th>
                            <th scope="col" class="num">{desk.say(Words::Most)}</th>
                        </tr>
                    </thead>
                    <tbody>{move || table.with_value(|t| t())}</tbody>
                </table>
            </div>
        </Fold>
    }
}
