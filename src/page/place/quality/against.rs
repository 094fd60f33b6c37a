//! Fold or recovery against haematocrit, the blood's own count, the volume kept.

use super::sight::View;
use crate::dom::prelude::*;
use crate::picture::against::{AgainstPicture, AgainstView};
use std::collections::BTreeMap;
use strawline::arrange::gather;
use strawline::quality::against::against as against_of;
use strawline::quality::line::{Covariate, Slope};
use strawline::quantity::unit::Conventions;
use strawline::quantity::write;
use strawline::words::charts::{ChartLine, ChartSays, ChartWord as Word, StableName};

/// What is drawn, and what its tables hold.
#[derive(Debug, Clone, PartialEq, Default)]
struct Seen {
    picture: AgainstView,
    slope: Option<Slope>,
    /// Number, place and value of each count.
    marks: Vec<(usize, f64, f64)>,
}

/// A picture a covariate, each with its tables.
pub fn against(view: View) -> Markup {
    let all = Covariate::ALL.map(|covariate| one(view, covariate)).collect_view();
    view! {
        <p class="second">{view.desk.say(ChartSays::LineOnly)}</p>
        <div class="beside">{all}</div>
    }
}

/// A covariate in the clinic's unit.
fn place(covariate: Covariate, x: f64, c: &Conventions) -> String {
    let (x, figures) = match covariate {
        Covariate::Haematocrit => (c.haematocrit.from_core(x), 3),
        Covariate::Baseline => (c.count.from_core(x), 3),
        Covariate::VolumeKept => (x, 3),
    };
    write::significant(x, figures, c.numbers)
}

fn unit(covariate: Covariate, c: &Conventions) -> &'static str {
    match covariate {
        Covariate::Haematocrit => c.haematocrit.symbol(),
        Covariate::Baseline => c.count.symbol(),
        Covariate::VolumeKept => "mL",
    }
}

fn one(view: View, covariate: Covariate) -> Markup {
    let desk = view.desk;
    let conventions = move || desk.bench.with(|b| b.clinic.conventions);
    let name = move || {
        let unit = unit(covariate, &conventions());
        let name = desk.say(covariate);
        if unit.is_empty() { name } else { format!("{name}, {unit}") }
    };
    let seen = memo(move || {
        view.all.with(|all| {
            let Some(all) = all else { return Seen::default() };
            let accepted = all.observed();
            let drawn = against_of(&accepted, covariate, all.prior);
            let numbers: BTreeMap<&str, usize> =
                gather(accepted.iter().zip(1..).map(|(o, n)| (o.counted.id.as_str(), n)));
            let number = |id: &str| numbers.get(id).copied().unwrap_or_default();
            let marks: Vec<_> =
                drawn.marks.iter().map(|m| (number(&m.observed.counted.id), m.x, m.observed.value)).collect();
            let picture = AgainstView {
                marks: drawn.marks.iter().map(|m| (m.x, m.observed.value)).collect(),
                line: drawn.line.iter().map(|p| [p.x, p.low, p.median, p.high]).collect(),
                foot: name(),
            };
            Seen { picture, slope: drawn.slope, marks }
        })
    });
    let picture = Signal::derive(move || seen.with(|s| s.picture.clone()));
    let label = Signal::derive(move || {
        desk.say(ChartLine::AgainstPicture(desk.say(covariate), seen.with(|s| s.marks.len())))
    });
    let value = Callback::new(move |x: f64| view.value(x));
    let at = Callback::new(move |x: f64| place(covariate, x, &conventions()));
    let slope = move || {
        let slope = seen.with(|s| s.slope).filter(|_| covariate == Covariate::Baseline)?;
        let [middle, low, high] = [slope.middle, slope.low, slope.high].map(|x| view.value(x));
        Some(desk.say(ChartLine::Proportion(middle, low, high)))
    };
    let key = move || {
        let there = seen.with(|s| !s.picture.line.is_empty());
        desk.say(if there { ChartSays::KeyAgainst } else { ChartSays::NoLine })
    };
    let stable = move || view.sight.with(|s| s.as_ref().map(|s| desk.say(StableName(s.kind()))));
    let line = move || {
        let rows = seen.with(|s| s.picture.line.iter().step_by(5).copied().collect::<Vec<_>>());
        let row = |[x, low, middle, high]: [f64; 4]| {
            let range = view.range(low, high);
            view! {
                <tr>
                    <th scope="row">{at.run(x)}</th>
                    <td class="num predicted">{view.value(middle)}</td>
                    <td class="num range">{desk.say(range)}</td>
                </tr>
            }
        };
        rows.into_iter().map(row).collect_view()
    };
    let marks = move || {
        let row = |(number, x, y): (usize, f64, f64)| {
            view! {
                <tr>
                    <th scope="row">{number.to_string()}</th>
                    <td class="num">{at.run(x)}</td>
                    <td class="num"><b>{view.value(y)}</b></td>
                </tr>
            }
        };
        seen.with(|s| s.marks.clone()).into_iter().rev().map(row).collect_view()
    };
    let line_table = move || {
        view! {
            <table class="table">
                <thead>
                    <tr>
                        <th scope="col">{name}</th>
                        <th scope="col" class="num">{stable}</th>
                        <th scope="col" class="num">{desk.say(strawline::words::page::Common::Range80)}</th>
                    </tr>
                </thead>
                <tbody>{line}</tbody>
            </table>
        }
    };
    let marks_table = move || {
        view! {
            <table class="table">
                <thead>
                    <tr>
                        <th scope="col">{desk.say(Word::Number)}</th>
                        <th scope="col" class="num">{name}</th>
                        <th scope="col" class="num">{stable}</th>
                    </tr>
                </thead>
                <tbody>{marks}</tbody>
            </table>
        }
    };
    view! {
        <div>
            <h4 class="subheading">{desk.say(covariate)}</h4>
            <div class="chart"><AgainstPicture view=picture label value place=at/></div>
            <p class="second">{key} " " {slope}</p>
            {super::fold(desk, Word::LineTable, line_table)}
            {super::fold(desk, Word::MarksTable, marks_table)}
        </div>
    }
}
