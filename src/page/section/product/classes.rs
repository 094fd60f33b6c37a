//! Published classifications of the product as counted, one tap behind it.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::words::classification::{ABOUT, Classes as Words, PartWords};
use strawline::words::source::SourceLine;

/// One family as it is shown.
#[derive(Debug, Clone, PartialEq)]
struct Shown {
    family: String,
    code: Option<String>,
    parts: Vec<(String, String)>,
    sources: Vec<String>,
}

/// The fold.
#[component]
pub fn Classes() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let all = memo(move || {
        let c = sheet.conventions();
        let of_answer = |a: &strawline::assess::Assessment| -> Vec<Shown> {
            let one = |classified: &strawline::product::classification::Classified| Shown {
                family: desk.say(classified.family),
                code: classified.code(),
                parts: classified
                    .parts
                    .iter()
                    .map(|p| (desk.say(p.of), desk.say(PartWords(p, &c))))
                    .collect(),
                sources: classified.sources().into_iter().map(|s| desk.say(SourceLine(s))).collect(),
            };
            a.product.classified.iter().map(one).collect()
        };
        sheet.answer.with(of_answer)
    });
    let shown = move || {
        let all = all.get();
        if all.is_empty() {
            return view! { <p>{desk.say(Words::NotCounted)}</p> };
        }
        all.into_iter().map(family).collect_view()
    };
    view! {
        <Fold title=desk.say(Words::Heading) lazy=true>
            <p>{desk.say(Words::About)}</p>
            <p class="source">{desk.say(SourceLine(ABOUT))}</p>
            {shown}
        </Fold>
    }
}

fn family(shown: Shown) -> impl IntoView {
    let code = shown.code.map(|code| view! { ": " <b>{code}</b> });
    let rows = shown.parts.into_iter().map(|(of, is)| {
        view! {
            <tr>
                <th scope="row">{of}</th>
                <td>{is}</td>
            </tr>
        }
    });
    let sources = shown.sources.into_iter().map(|s| view! { <li>{s}</li> });
    view! {
        <table class="table classes">
            <caption><h3>{shown.family} {code}</h3></caption>
            <tbody>{rows.collect_view()}</tbody>
        </table>
        <ul class="source">{sources.collect_view()}</ul>
    }
}
