//! Speed over the programme's time, and the force of each stage wherever the rotor has a radius.

use crate::dom::prelude::*;
use crate::picture::curve::{CurvePicture, CurveView};
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::assess::column::course;
use strawline::quantity::{Quantity, Rcf};
use strawline::spin::exposure::exposure;
use strawline::spin::rcf::RadiusKind;
use strawline::words::column::ColumnWord as Words;
use strawline::words::spin::StageTitle;
use strawline::words::unit;
use strawline::working::{Figure, Worked};

const RADII: [RadiusKind; 3] = [RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum];

/// The speed curve and its table.
#[component]
pub fn Speed() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let found = memo(move || {
        sheet.draft.with(|d| {
            let rated = d.kit.container.as_ref().and_then(|c| c.rated);
            course(&d.kit.protocol.as_ref()?.programme, d.kit.rotor.as_ref()?, rated)
        })
    });
    let view_of = Signal::derive(move || {
        found.with(|found| {
            let Some(found) = found else { return CurveView::default() };
            let called = |index: u8| {
                let whole = sheet.draft.with(|d| {
                    let stages = &d.kit.protocol.as_ref()?.programme.0;
                    let stage = stages.get(usize::from(index));
                    Some(desk.say(StageTitle { index, stage }))
                });
                [whole.unwrap_or_default(), u32::from(index).saturating_add(1).to_string()]
            };
            let end = found.corners.last().map_or(0.0, |c| c.minutes);
            let most = found.corners.iter().map(|c| c.rpm).fold(0.0, f64::max);
            CurveView {
                span: None,
                ends: (end, 1.1 * most),
                curves: vec![found.corners.iter().map(|c| (c.minutes, c.rpm)).collect()],
                bands: Vec::new(),
                marks: found.by_hand.iter().map(|at| (*at, desk.say(Words::ByHand))).collect(),
                named: found.stages.iter().map(|(i, from, to)| (*from, *to, called(*i))).collect(),
                words: [desk.say(Words::SpeedRpm), desk.say(Words::Minutes)],
            }
        })
    });
    let number = Callback::new(move |v: f64| unit::figure(&Figure::pure(v), &sheet.conventions()).number);
    let missing = move || desk.say(Words::NotOnRecord);
    let rows = move || {
        let c = sheet.conventions();
        let force = move |w: Option<&Worked<Rcf>>| w.map_or_else(missing, |w| unit::rcf(w.value, &c).number);
        sheet.draft.with(|d| {
            let stages = d.kit.protocol.as_ref().map_or(&[][..], |p| &p.programme.0);
            sheet.answer.with(|a| {
                let row = |((index, stage), result): ((u8, _), &strawline::assess::spin::StageResult)| {
                    let title = desk.say(StageTitle { index, stage: Some(stage) });
                    let cells = match &result.planned {
                        Some(f) => [
                            unit::rpm(f.rpm.value, &c).number,
                            force(f.minimum.as_ref()),
                            force(f.mean.as_ref()),
                            force(f.maximum.as_ref()),
                        ],
                        None => std::array::from_fn(|_| "–".to_owned()),
                    };
                    line(title, cells.into())
                };
                (0u8..).zip(stages).zip(&a.spin.stages).map(row).collect_view()
            })
        })
    };
    let total = move || {
        let c = sheet.conventions();
        sheet.draft.with(|d| {
            let (programme, rotor) = (&d.kit.protocol.as_ref()?.programme, d.kit.rotor.as_ref()?);
            let rated = d.kit.container.as_ref().and_then(|c| c.rated);
            let at = |kind| match exposure(programme, rotor, kind, rated) {
                Ok(found) => unit::figure(&Figure::pure(found.value.get() / 60.0), &c).number,
                Err(_) => missing(),
            };
            let cells = std::iter::once(String::new()).chain(RADII.map(at)).collect();
            Some(line(desk.say(Words::Total), cells))
        })
    };
    let (rows, total) = (StoredValue::new_local(rows), StoredValue::new_local(total));
    let head = move |words: Words| view! { <th scope="col" class="num">{desk.say(words)}</th> };
    view! {
        <div hidden=move || found.with(Option::is_none)>
            <h3>{desk.say(Words::Speed)}</h3>
            <CurvePicture view=view_of label=Signal::derive(move || desk.say(Words::Speed)) number/>
            <Fold title=desk.say(Words::AsTable) lazy=true>
                <div class="scroll" tabindex="0" role="group" aria-label=desk.say(Words::Speed)>
                    <table class="table">
                        <thead>
                            <tr>
                                <th scope="col">{desk.say(Words::Stage)}</th>
                                {head(Words::SpeedRpm)}
                                {head(Words::Minimum)}
                                {head(Words::Mean)}
                                {head(Words::Maximum)}
                            </tr>
                        </thead>
                        <tbody>{move || rows.with_value(|r| r())}{move || total.with_value(|t| t())}</tbody>
                    </table>
                </div>
            </Fold>
        </div>
    }
}

/// A row of a table.
pub fn line(head: String, cells: Vec<String>) -> Markup {
    let cells = cells.into_iter().map(|c| view! { <td class="num">{c}</td> }).collect_view();
    view! { <tr><th scope="row">{head}</th>{cells}</tr> }
}
