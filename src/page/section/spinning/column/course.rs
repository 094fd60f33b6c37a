//! What the line leaves on either side, and how it came to that over time; another programme, tube or blood beside.

use super::speed::line;
use super::{Bands, Came, Shown, Turns};
use crate::dom::prelude::*;
use crate::picture::curve::{CurvePicture, CurveView};
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::assess::column::{Sum, sums};
use strawline::spin::column::ask::{At, Off, Seen};
use strawline::spin::column::{Unparted, too_low};
use strawline::words::column::{ColumnWord as Words, DrawsMore, OnlyWithBand, TopOf, TurningSaid, WithBand};
use strawline::words::unit;
use strawline::working::Figure;

/// The spins that came.
fn spins(came: RwSignal<Came>) -> Vec<Seen> {
    came.with(|came| if let Came::Seen(spins) = came { spins.clone() } else { Vec::new() })
}

/// Times so much, at both ends.
fn percent(off: [f64; 2]) -> [f64; 2] {
    off.map(|o| 100.0 * o)
}

/// What the line leaves, this case and beside it.
#[component]
pub fn Parted() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let two = memo(move || shown.there.with(|t| matches!(t, Came::Seen(_))));
    let rows = move || {
        let style = sheet.conventions().numbers;
        let (here, there, [off, off_beside]) = (spins(shown.here), spins(shown.there), shown.off.get());
        let with = move |value: f64, decimals, off| WithBand { value, off, decimals, style };
        let mut all = Vec::new();
        let sums = [
            shown.pictured.with(|p| sums(&p.as_ref().ok()?.setup)),
            shown.beside.with(|b| sums(b.as_ref()?)),
        ];
        for (i, seen) in here.iter().enumerate() {
            let beside = there.get(i);
            let columns = [(Some(seen), off.of(i)), (beside, off_beside.of(i))];
            let columns = columns.into_iter().take(if two.get() { 2 } else { 1 });
            let name = desk.say(if i == 0 { Words::FirstSpin } else { Words::SecondSpin });
            if two.get() {
                let both = [(Words::TotalTime, false), (Words::TotalForce, true)];
                for (words, force) in both {
                    let of = |sum: &Sum| if force { sum.force } else { sum.minutes };
                    let cell = |sums: &Option<Vec<Sum>>| {
                        let sum = sums.as_ref().and_then(|s| s.get(i)).map(of);
                        sum.map(|v| desk.say(with(v, u8::from(!force), None))).unwrap_or_default()
                    };
                    all.push(line(format!("{name}: {}", desk.say(words)), sums.iter().map(cell).collect()));
                }
            }
            let mut row = |words: Words, cell: &dyn Fn(&Seen, Option<&Off>) -> String| {
                let cells = columns.clone().map(|(seen, off)| seen.map(|s| cell(s, off)).unwrap_or_default());
                all.push(line(format!("{name}: {}", desk.say(words)), cells.collect()));
            };
            row(Words::ColumnHeight, &|s, off| desk.say(with(s.column, 0, off.and_then(|o| o.column))));
            row(Words::TopOfCells, &|s, off| {
                let end = off.and_then(|o| o.interface.last().copied());
                let top = s.course.last().map_or(0.0, |at| at.interface);
                desk.say(TopOf((!too_low(i > 0, top)).then(|| with(top, 1, end))))
            });
            if !shown.lined() {
                continue;
            }
            row(Words::AboveLine, &|s, off| desk.say(with(s.parted[0], 1, off.and_then(|o| o.parted))));
            let share = |s: &Seen,
                         off: Option<&Off>,
                         side: fn(&[f64; 2]) -> f64,
                         band: fn(&[[f64; 2]; 2]) -> [f64; 2]| {
                match (s.shares, off.map(|o| o.shares).transpose()) {
                    (Ok(shares), Ok(off)) => {
                        let off = off.as_ref().map(|o| percent(band(o)));
                        desk.say(OnlyWithBand(with(100.0 * side(&shares), 0, off)))
                    }
                    _ => "–".to_owned(),
                }
            };
            row(Words::PlateletsAboveLine, &|s, off| share(s, off, |s| s[0], |o| o[0]));
            row(Words::PlateletsBelowLine, &|s, off| share(s, off, |s| s[1], |o| o[1]));
        }
        all.into_iter().collect_view()
    };
    // Which draws off more is said where both have a share above the first spin’s line.
    let parted_both = move || {
        let first = |came| spins(came).first().is_some_and(|seen| seen.shares.is_ok());
        shown.lined() && first(shown.here) && first(shown.there)
    };
    // Each reason once.
    let reasons = memo(move || {
        if !shown.lined() {
            return vec![desk.say(Words::NoLine)];
        }
        let off = shown.off.get();
        let mut all: Vec<Unparted> = Vec::new();
        for (came, off) in [shown.here, shown.there].into_iter().zip(&off) {
            for (i, seen) in spins(came).iter().enumerate() {
                let banded = off.of(i).map_or(Ok(()), |o| o.shares.map(drop));
                let why = seen.shares.map(drop).and(banded).err();
                if let Some(why) = why.filter(|why| !all.contains(why)) {
                    all.push(why);
                }
            }
        }
        all.into_iter().map(|why| desk.say(why)).collect()
    });
    view! {
        <h3>{desk.say(Words::Parted)}</h3>
        <table class="table spun-parted">
            <thead>
                <tr>
                    <td></td>
                    <th scope="col" class="num">{move || shown.name(desk, 0)}</th>
                    {move || two.get().then(|| view! { <th scope="col" class="num">{move || shown.name(desk, 1)}</th> })}
                </tr>
            </thead>
            <tbody>{rows}</tbody>
        </table>
        {move || {
            let said = shown.more.get().filter(|_| parted_both())?;
            let said = desk.say(DrawsMore(said, sheet.conventions().numbers));
            Some(view! { <p class="second" id="draws-more">{said}</p> })
        }}
        {move || reasons.get().into_iter().map(|why| view! { <p class="second">{why}</p> }).collect_view()}
        <p class="second">
            {move || {
                let two = two.get();
                shown.off.with(|off| {
                    let mut wanted = off.iter().take(if two { 2 } else { 1 });
                    desk.say(if wanted.clone().any(|o| *o == Bands::None) {
                        Words::NoBand
                    } else if wanted.any(|o| *o == Bands::Awaited) {
                        Words::BandLater
                    } else {
                        Words::Band
                    })
                })
            }}
        </p>
    }
}

/// One curve over time: what it is of, and how far it may be off.
struct Of {
    words: Words,
    value: fn(&At) -> f64,
    off: fn(&Off) -> Vec<[f64; 2]>,
    decimals: u8,
    /// Upper end of a share.
    upper: Option<f64>,
}

const INTERFACE: Of = Of {
    words: Words::TopOfCells,
    value: |at| at.interface,
    off: |off| off.interface.clone(),
    decimals: 1,
    upper: None,
};

const PLATELETS: Of = Of {
    words: Words::PlateletsAbove,
    value: |at| 100.0 * at.platelets,
    off: |off| off.platelets.iter().map(|o| percent(*o)).collect(),
    decimals: 0,
    upper: Some(100.0),
};

fn curve(desk: Desk, shown: Shown, of: &Of) -> CurveView {
    let spin = shown.at().0;
    let (here, there) = (spins(shown.here), spins(shown.there));
    let points =
        |seen: &Seen| seen.course.iter().map(|at| (at.time / 60.0, (of.value)(at))).collect::<Vec<_>>();
    let mut curves: Vec<Vec<(f64, f64)>> =
        here.get(spin).into_iter().chain(there.get(spin)).map(points).collect();
    let mut bands: Vec<Vec<(f64, f64)>> = shown.off.with(|off| {
        let about = |(curve, bands): (&Vec<(f64, f64)>, &Bands)| {
            let off = bands.of(spin).map(of.off).unwrap_or_default();
            curve.iter().zip(&off).map(|((_, y), [low, high])| (y + low, y + high)).collect()
        };
        curves.iter().zip(off).map(about).collect()
    });
    let end = curves.iter().flatten().map(|p| p.0).fold(0.0, f64::max);
    let highest = here.get(spin).into_iter().chain(there.get(spin)).map(|s| s.column).fold(0.0, f64::max);
    // Shares are drawn once their bands are there.
    if of.upper.is_some() {
        let bare = curves.iter_mut().zip(&bands).filter(|(_, band)| band.is_empty());
        bare.for_each(|(curve, _)| curve.clear());
    }
    // Nothing is drawn where the top of the cells is lower than the picture can tell.
    if of.upper.is_none() {
        for (i, curve) in curves.iter_mut().enumerate() {
            let told: Vec<bool> = curve.iter().map(|(_, y)| !too_low(spin > 0, *y)).collect();
            let keep = |all: &mut Vec<(f64, f64)>| {
                let mut told = told.iter();
                all.retain(|_| told.next().copied().unwrap_or(false));
            };
            keep(curve);
            bands.get_mut(i).into_iter().for_each(keep);
        }
    }
    CurveView {
        ends: (end, of.upper.unwrap_or(highest)),
        curves,
        bands,
        marks: Vec::new(),
        named: Vec::new(),
        span: turned(desk, shown).filter(|_| of.upper.is_some() && spin == 0),
        words: [desk.say(of.words), desk.say(Words::Minutes)],
    }
}

/// Where the first spin turns, from and to [min], with its word.
fn turned(desk: Desk, shown: Shown) -> Option<(f64, Option<f64>, String)> {
    // It is the case’s alone.
    let Turns::At(point) = shown.turns.get() else { return None };
    if shown.beside.with(Option::is_some) {
        return None;
    }
    let [low, _, high] = point.ends.map(|s| s.map(|s| s / 60.0));
    Some((low?, high, desk.say(Words::Turns)))
}

/// Curves of the spin in view, with a table of every sixth moment.
#[component]
pub fn Course() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let number = Callback::new(move |v: f64| unit::figure(&Figure::pure(v), &sheet.conventions()).number);
    let picture = move |of: &'static Of| {
        let view = Signal::derive(move || curve(desk, shown, of));
        view! { <CurvePicture view label=Signal::derive(move || desk.say(of.words)) number/> }
    };
    let rows = move || {
        let style = sheet.conventions().numbers;
        let spin = shown.at().0;
        let here = spins(shown.here);
        let off = shown.off.with(|[off, _]| off.of(spin).cloned());
        let course = here.get(spin).map_or(&[][..], |s| &s.course);
        let row = |(i, at): (usize, &At)| {
            let cell = |of: &Of| {
                if of.upper.is_none() && too_low(spin > 0, at.interface) {
                    return desk.say(TopOf(None));
                }
                let off = off.as_ref().and_then(|o| (of.off)(o).get(i).copied());
                let with = WithBand { value: (of.value)(at), off, decimals: of.decimals, style };
                if of.upper.is_some() { desk.say(OnlyWithBand(with)) } else { desk.say(with) }
            };
            let say = |value: f64| desk.say(WithBand { value, off: None, decimals: 1, style });
            let volume = off.as_ref().and_then(|o| o.volume.get(i).copied());
            let volume = desk.say(WithBand { value: at.volume, off: volume, decimals: 1, style });
            line(say(at.time / 60.0), vec![cell(&INTERFACE), volume, cell(&PLATELETS)])
        };
        course.iter().enumerate().step_by(6).map(row).collect_view()
    };
    let rows = StoredValue::new_local(rows);
    let low = memo(move || {
        let spin = shown.at().0;
        let low = |seen: &Seen| seen.course.iter().any(|at| too_low(spin > 0, at.interface));
        [shown.here, shown.there].into_iter().any(|came| spins(came).get(spin).is_some_and(low))
    });
    let turns = move || match shown.turns.get() {
        Turns::At(point) => desk.say(TurningSaid(point, sheet.conventions().numbers)),
        Turns::Awaited => desk.say(Words::TurningLater),
        Turns::None => desk.say(Words::NoTurning),
    };
    let name = move || desk.say(if shown.at().0 == 0 { Words::FirstSpin } else { Words::SecondSpin });
    let head = move |words: Words| view! { <th scope="col" class="num">{desk.say(words)}</th> };
    view! {
        <h3>{desk.say(Words::Course)} ": " {name}</h3>
        {picture(&INTERFACE)}
        <p class="second" hidden=move || !low.get()>{desk.say(Words::TooLow)}</p>
        {picture(&PLATELETS)}
        <p class="second" hidden=move || shown.beside.with(Option::is_none)>{desk.say(Words::CurveKey)}</p>
        <p class="second">{desk.say(Words::Clear)}</p>
        <p class="second spun-turns" hidden=move || shown.at().0 != 0 || shown.beside.with(Option::is_some)>{turns}</p>
        <Fold title=desk.say(Words::AsTable) lazy=true>
            <div class="scroll" tabindex="0" role="group" aria-label=desk.say(Words::Course)>
                <table class="table spun-course">
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Minutes)}</th>
                            {head(Words::TopOfCells)}
                            {head(Words::FluidAbove)}
                            {head(Words::PlateletsAbove)}
                        </tr>
                    </thead>
                    <tbody>{move || rows.with_value(|r| r())}</tbody>
                </table>
            </div>
        </Fold>
    }
}
