//! The ledger strip: what went in above what came out, and where the product went, to its own scale.

use crate::dom::prelude::*;
use strawline::export::strip::{Ground, Part, Strip};
use strawline::quantity::Quantity;

/// A part of the bar that is at least this share of it has room for its name.
const ROOM: f64 = 0.2;

/// The class its ground is drawn by.
fn class_of(ground: Ground) -> &'static str {
    match ground {
        Ground::Agent => "agent",
        Ground::Blood => "blood",
        Ground::BloodDone => "blood done",
        Ground::Left => "left",
        Ground::Product => "product",
        Ground::Sample => "sample",
        Ground::Over => "over",
        Ground::Gap => "",
    }
}

/// Splits words at `*` into plain and heavy, in turn.
pub fn heavy(words: &str) -> Vec<(bool, String)> {
    let parts = words.split('*').zip([false, true].into_iter().cycle());
    parts.filter(|(text, _)| !text.is_empty()).map(|(text, heavy)| (heavy, text.to_owned())).collect()
}

/// Where the label of each part of the product stands.
#[derive(Debug, PartialEq)]
struct Placed<'a> {
    /// Inside the parts: for each whether it is named there.
    named: Vec<bool>,
    above: Vec<&'a str>,
    below: Vec<&'a str>,
}

fn place(parts: &[Part]) -> Placed<'_> {
    let total: f64 = parts.iter().map(|p| p.volume.get()).sum();
    let mut placed = Placed { named: Vec::new(), above: Vec::new(), below: Vec::new() };
    for part in parts {
        let named = part.name.is_some() && part.volume.get() >= ROOM * total;
        placed.named.push(named);
        match part.ground {
            _ if named || part.label.is_empty() => {}
            Ground::Left | Ground::Gap => placed.below.push(&part.label),
            _ => placed.above.push(&part.label),
        }
    }
    placed
}

fn rich(words: &str) -> Markup {
    let pieces = heavy(words).into_iter();
    let pieces = pieces.map(|(heavy, text)| {
        if heavy {
            view! { <b>{text}</b> }
        } else {
            text.into_view()
        }
    });
    view! { <span>{pieces.collect_view()}</span> }
}

fn line<'a>(words: impl IntoIterator<Item = &'a str>) -> Markup {
    let words: Vec<_> = words.into_iter().map(rich).collect();
    view! { <p class="ledger-words">{words}</p> }
}

fn labels(parts: &[Part]) -> impl Iterator<Item = &str> {
    parts.iter().map(|p| p.label.as_str()).filter(|label| !label.is_empty())
}

fn bar(parts: &[Part], named: &[bool], class: &'static str) -> Markup {
    let named = named.iter().copied().chain(std::iter::repeat(false));
    // A part of nothing would still be drawn as thin as a part can be.
    let parts = parts.iter().zip(named).filter(|(p, _)| p.volume.get() > 0.0).map(|(part, named)| {
        let gap = part.ground == Ground::Gap;
        let class = if gap { "part gap" } else if named { "part named" } else { "part" };
        let name = part.name.clone().filter(|_| named);
        view! {
            <div class=class style:flex-grow=part.volume.get().to_string()>
                {(!gap).then(|| view! { <svg class="ground" aria-hidden="true"><rect class=class_of(part.ground)></rect></svg> })}
                {name.map(|(amount, name)| view! { <p><b>{amount}</b><span>{name}</span></p> })}
            </div>
        }
    });
    view! { <div class=class>{parts.collect_view()}</div> }
}

/// The strip, in the page and on the card.
#[component]
pub fn LedgerStrip(
    /// What to draw.
    #[prop(into)]
    view: Signal<Strip>,
    /// Its name for a screen reader.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let view = memo(move || view.get());
    let whole = move || {
        let view = view.read();
        let kept = (!view.kept.is_empty()).then(|| (bar(&view.kept, &[], "parts"), line(labels(&view.kept))));
        view! {
            <div class="ledger-whole">
                {line(labels(&view.filled))}
                {bar(&view.filled, &[], "parts")}
                {kept}
            </div>
        }
    };
    let product = move || {
        let view = view.read();
        (!view.shared.is_empty()).then(|| {
            let placed = place(&view.shared);
            let below = placed.below.iter().copied().chain([view.sum.as_str()]);
            view! {
                <svg class="fan" viewBox="0 0 10 100" preserveAspectRatio="none" aria-hidden="true">
                    <path d="M0 58L10 26M0 75H10"></path>
                </svg>
                <div class="ledger-product">
                    {line(placed.above.iter().copied())}
                    {bar(&view.shared, &placed.named, "parts tall")}
                    {line(below)}
                </div>
            }
        })
    };
    view! {
        <section class="ledger" class:broken=move || view.read().broken aria-label=move || label.get()>
            {whole}
            {product}
        </section>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use strawline::quantity::Volume;

    fn part(volume: f64, ground: Ground, label: &str, named: bool) -> Part {
        let volume = Volume::new(volume).unwrap();
        Part {
            volume,
            ground,
            label: label.into(),
            name: named.then(|| ("2 mL".into(), "into the tendon".into())),
        }
    }

    #[test]
    fn a_name_stands_in_its_part_only_from_a_fifth_of_the_bar() {
        let parts = [
            part(0.2, Ground::Sample, "sample", false),
            part(0.3, Ground::Left, "losses", false),
            part(2.5, Ground::Product, "big", true),
            part(0.5, Ground::Product, "small", true),
            part(0.5, Ground::Over, "over", false),
            part(0.3, Ground::Gap, "missing", false),
        ];
        let want = Placed {
            named: vec![false, false, true, false, false, false],
            above: vec!["sample", "small", "over"],
            below: vec!["losses", "missing"],
        };
        assert_eq!(place(&parts), want);
    }

    #[test]
    fn stars_make_heavy() {
        let got = heavy("+ *26* blood = *30 mL*");
        let want = [(false, "+ "), (true, "26"), (false, " blood = "), (true, "30 mL")];
        assert_eq!(got, want.map(|(h, t)| (h, t.to_owned())));
    }
}
