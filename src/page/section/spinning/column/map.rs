//! Other speeds and times of the first spin: asked for row by row, so that what is shown grows and a new question never
//! waits for an old map.

use super::speed::line;
use super::{Shown, Turns};
use crate::dom::prelude::*;
use crate::picture::map::{MapPicture, MapView, shade};
use crate::shell::aside;
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use std::time::Duration;
use strawline::quantity::{Quantity, Seconds, write};
use strawline::spin::column::ask::{
    OWN, PLACES, Question, ROWS, Reply, over, place_of, scales, speed_share, time_share,
};
use strawline::spin::column::{Parting, Setup, TurningPoint};
use strawline::words::column::{ColumnWord as Words, Fifth, MapOver, TurnsAt};

/// How long nothing must change.
const REST: Duration = Duration::from_millis(500);

/// From one row that says where it turns to the next: those that have their speed beside them.
const EVERY: u8 = 5;

#[derive(Clone, Copy)]
struct Rows {
    /// The row that is asked for; past the last once all were.
    row: RwSignal<u8>,
    shares: RwSignal<Vec<Option<Vec<u8>>>>,
    /// Where the picture turns, at every fifth row.
    turns: RwSignal<Vec<(u8, TurningPoint)>>,
    asked: StoredValue<u64>,
}

impl Rows {
    fn ask(self, number: u64, setup: Setup, row: u8) {
        if self.asked.try_get_value() != Some(number) {
            return;
        }
        self.row.set(row);
        if row >= ROWS {
            self.ask_turning(number, setup, 0);
            return;
        }
        if over(&setup, row).is_some() {
            return self.ask(number, setup, row.saturating_add(1));
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

    /// They take longest and come last.
    fn ask_turning(self, number: u64, setup: Setup, row: u8) {
        if row >= ROWS || self.asked.try_get_value() != Some(number) {
            return;
        }
        if over(&setup, row).is_some() {
            return;
        }
        aside::ask(&Question::Turning(setup.clone(), Some(row)), move |reply| {
            if self.asked.try_get_value() != Some(number) {
                return;
            }
            if let Turns::At(point) = Turns::of(reply) {
                self.turns.update(|all| all.push((row, point)));
            }
            self.ask_turning(number, setup, row.saturating_add(EVERY));
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

/// The middle of a fifth.
fn middle(fifth: u8) -> f64 {
    0.1 + 0.2 * f64::from(fifth)
}

#[component]
fn Opened() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let empty = || vec![None; usize::from(ROWS)];
    let rows = Rows {
        row: RwSignal::new(0),
        shares: RwSignal::new(empty()),
        turns: RwSignal::new(Vec::new()),
        asked: StoredValue::new(0),
    };
    // What the line does is not in the map: only the first spin's tube, blood and programme are.
    let setup = memo(move || {
        shown.pictured.with(|p| {
            let mut setup = p.as_ref().ok()?.setup.clone();
            setup.spins.truncate(1);
            setup.spins.iter_mut().for_each(|s| s.parting = Parting::NOWHERE);
            Some(setup)
        })
    });
    Effect::new(move |_| {
        let setup = setup.get();
        let number = rows.asked.get_value() + 1;
        rows.asked.set_value(number);
        // What stands is of another question: it goes at once.
        rows.shares.set(empty());
        rows.turns.set(Vec::new());
        rows.row.set(0);
        let Some(setup) = setup else { return };
        let rest = if number == 1 { Duration::ZERO } else { REST };
        set_timeout(
            move || {
                if rows.asked.try_get_value() == Some(number) {
                    rows.ask(number, setup, 0);
                }
            },
            rest,
        );
    });
    let scale = memo(move || setup.with(|s| s.as_ref().and_then(scales)));
    let time = memo(move || scale.get().map(|s| s.time.get() / 60.0));
    let one_hold = memo(move || scale.get().is_some_and(|s| s.one_hold));
    // The rows that would pass a rating, and which the first of them would.
    let passes = memo(move || {
        setup.with(|s| {
            let all = (0..ROWS).filter_map(|row| Some((row, over(s.as_ref()?, row)?)));
            all.collect::<Vec<_>>()
        })
    });
    let fixed = move |value: f64, decimals| write::fixed(value, decimals, sheet.conventions().numbers);
    let bars = move || {
        let of = scale.get().map(|s| s.time);
        let place = |s: Option<f64>| place_of(Seconds::new(s?).ok()?, of?);
        rows.turns.with(|all| {
            let bar = |(row, point): &(u8, TurningPoint)| {
                Some((usize::from(*row), place(point.ends[0])?, place(point.ends[2])))
            };
            all.iter().filter_map(bar).collect()
        })
    };
    let turning = move || {
        let until = time.get().unwrap_or(0.0) * time_share(PLACES - 1);
        let style = sheet.conventions().numbers;
        let all = rows.turns.get();
        (!all.is_empty()).then(|| {
            let row = |(row, point): (u8, TurningPoint)| {
                line(fixed(speed_share(row), 2), vec![desk.say(TurnsAt(point, until, style))])
            };
            view! {
                <p class="second">{desk.say(Words::MapTurning)}</p>
                <table class="table spun-turning">
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Share)}</th>
                            <th scope="col" class="num">{desk.say(Words::MapTurns)}</th>
                        </tr>
                    </thead>
                    <tbody>{all.into_iter().map(row).collect_view()}</tbody>
                </table>
            }
        })
    };
    let view_of = Signal::derive(move || {
        let minutes = time.get().unwrap_or(0.0);
        rows.shares.with(|all| MapView {
            rows: all
                .iter()
                .map(|row| row.as_ref().map(|r| r.iter().map(|f| middle(*f)).collect()))
                .collect(),
            places: PLACES,
            over: passes.with(|all| all.iter().map(|(row, _)| usize::from(*row)).collect()),
            own: one_hold.get().then_some((usize::from(OWN.0), OWN.1)),
            bars: bars(),
            up: (0..ROWS).step_by(5).map(|r| (usize::from(r), fixed(speed_share(r), 2))).collect(),
            along: [4, 9, 14, 19, 24, 29].map(|p| (p, fixed(minutes * time_share(p), 1))).into(),
            words: [desk.say(Words::Share), desk.say(Words::Minutes)],
        })
    });
    let table = move || {
        rows.shares.with(|all| {
            let row = |(row, shares): (u8, &Option<Vec<u8>>)| {
                let shares = shares.as_ref()?;
                let cells = [4, 9, 14, 19, 24, 29].map(|p| shares.get(p).map(|f| desk.say(Fifth(*f))));
                Some(line(fixed(speed_share(row), 2), cells.map(Option::unwrap_or_default).into()))
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
    let standing = move || {
        if rows.row.get() < ROWS {
            return Some(desk.say(Words::Drawing));
        }
        let told = |row: usize| passes.with(|all| all.iter().any(|(over, _)| usize::from(*over) == row));
        let missing = |all: &Vec<Option<_>>| {
            all.iter()
                .enumerate()
                .any(|(row, shares): (usize, &Option<Vec<u8>>)| shares.is_none() && !told(row))
        };
        rows.shares.with(missing).then(|| desk.say(Words::RowsMissing))
    };
    let hatched = move || {
        let style = sheet.conventions().numbers;
        passes.with(|all| all.first().map(|(row, why)| desk.say(MapOver(speed_share(*row), why, style))))
    };
    let key = |fifth: u8| {
        view! {
            <li>
                <svg width="1.25em" height="1em" aria-hidden="true">
                    <rect class=shade(middle(fifth)) width="100%" height="100%"></rect>
                    <rect class="key-edge" width="100%" height="100%"></rect>
                </svg>
                " "
                {desk.say(Fifth(fifth))}
            </li>
        }
    };
    view! {
        <p class="second">
            {desk.say(Words::MapWhat)} " "
            {move || desk.say(if one_hold.get() { Words::MapMark } else { Words::MapNoMark })}
        </p>
        <p class="second">{desk.say(Words::MapKey)}</p>
        <ul class="map-key">{[0, 1, 2, 3, 4].map(key).into_iter().collect_view()}</ul>
        <MapPicture view=view_of label=Signal::derive(move || desk.say(Words::MapWhat))/>
        <p class="second" role="status">{standing}</p>
        <p class="second" hidden=move || passes.with(Vec::is_empty)>{hatched}</p>
        {turning}
        <Fold title=desk.say(Words::AsTable) lazy=true>
            <div class="scroll" tabindex="0" role="group" aria-label=desk.say(Words::Map)>
                <table class="table spun-map">
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Share)}</th>
                            {move || head.with_value(|h| h())}
                        </tr>
                    </thead>
                    <tbody>{move || table.with_value(|t| t())}</tbody>
                </table>
            </div>
        </Fold>
    }
}
