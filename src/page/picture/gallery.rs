//! Writes every picture into `target/gallery.html`, to be looked at: tests see numbers, not drawings.

use super::container::{ANSWER, ContainersView, Glass, NEEDLE, Tube};
use super::{column, container, defs, range, scales};
use strawline::product::kind::ProductKind;
use strawline::product::range::Range;
use strawline::quantity::unit::NumberStyle;
use strawline::quantity::{Millimetre, Quantity, Recovery, Volume, write};
use strawline::spin::tube::End;

fn ml(value: f64) -> Volume {
    Volume::new(value).unwrap()
}

fn mm(value: f64) -> Millimetre {
    Millimetre::new(value).unwrap()
}

/// A cone as high as it is wide.
fn cone(diameter: f64) -> End {
    End::Cone { height: mm(diameter), tip: mm(0.0) }
}

fn figure(value: f64) -> String {
    write::fixed(value, 3, NumberStyle::Point)
}

fn glass(capacity: f64, graduation: f64, diameter: f64, end: End) -> Glass {
    let tube = strawline::spin::tube::Tube { inner_diameter: mm(diameter), end, rated: None };
    Glass { capacity: ml(capacity), graduation: ml(graduation), tube }
}

fn containers(glass: Glass, mark: f64, agent: f64, tubes: &[(f64, bool, bool, &str)], widest: f64) -> String {
    let tube = |&(fill, done, set_aside, caption): &(f64, bool, bool, &str)| Tube {
        fill: ml(fill),
        done,
        set_aside,
        caption: caption.into(),
    };
    let tubes = tubes.iter().map(tube).collect();
    let view = ContainersView { glass, mark: ml(mark), agent: ml(agent), tubes, widest };
    let drawing = container::draw(&view, &figure);
    format!(
        "<div class=\"fill\" style=\"--mark:{};--agent:{}\"><svg class=\"picture containers\" preserveAspectRatio=\"none\" viewBox=\"{}\">{}</svg></div>",
        view.mark_fraction(),
        view.agent_fraction(),
        drawing.view_box(),
        drawing.body
    )
}

fn columns() -> String {
    let kinds = [ProductKind::OffTheTop, ProductKind::Concentrate, ProductKind::WithCells];
    let draw = |(kind, done)| {
        let view = column::ColumnView {
            glass: glass(17.0, 0.5, 15.0, End::Round),
            kind,
            fill: ml(15.0),
            cells: ml(7.8),
            product: ml(2.0),
            cells_in_product: ml(0.6),
            done,
            words: column::ColumnWords {
                product: "product, 2 mL".into(),
                plasma: "plasma left".into(),
                coat: "buffy coat".into(),
                cells: "cells".into(),
            },
        };
        let drawing = column::draw(&view);
        let size = super::svg::rem(drawing.width);
        format!(
            "<svg class=\"picture column\" width=\"{size}\" viewBox=\"{}\">{}</svg>",
            drawing.view_box(),
            drawing.body
        )
    };
    kinds.into_iter().zip([false, true, false]).map(draw).collect()
}

fn recovery(value: f64) -> Recovery {
    Recovery::new(value).unwrap()
}

fn scale_pictures() -> String {
    let predicted = Some(Range { median: recovery(0.71), low: recovery(0.55), high: recovery(0.85) });
    let rows =
        [("Recovery", 1.0), ("Fold", 6.5), ("Concentration, ×10⁹/L", 1365.0), ("In product, ×10⁹", 5.46)];
    let one = |counted: Option<f64>| {
        let view = scales::ScalesView {
            predicted,
            counted: counted.map(recovery),
            scales: rows.map(|(name, at_ceiling)| scales::Scale { name: name.into(), at_ceiling }).into(),
            predicted_word: "predicted".into(),
            counted_word: "counted".into(),
            ceiling_word: "ceiling".into(),
        };
        let height = view.height();
        let body = scales::draw(&view, &figure);
        format!(
            "<svg class=\"picture\" width=\"100%\" height=\"{height}em\" font-size=\"1.0625rem\">{body}</svg>"
        )
    };
    [Some(0.68), None, Some(1.1)].map(one).concat()
}

fn ranges() -> String {
    let frame = |height, body| {
        format!(
            "<svg class=\"picture\" width=\"100%\" height=\"{height}em\" font-size=\"1.0625rem\">{body}</svg>"
        )
    };
    let fold = range::Spread { low: 3.6, median: 4.5, high: 5.5, end: 6.5 };
    let rows = [150.0, 250.0, 350.0].map(|count: f64| {
        let at = |fold: f64| fold * count * 4.0 / 1000.0;
        let body = range::draw_row(&range::Spread { low: at(3.6), median: at(4.5), high: at(5.5), end: 8.0 });
        format!("<tr><th>{count}</th><td class=\"mini\">{}</td></tr>", frame("1.4", body))
    });
    let head = frame("1.4", range::draw_head(8.0, &figure));
    let table =
        format!("<table class=\"table\"><tr><th>Count</th><td>{head}</td></tr>{}</table>", rows.concat());
    frame("3.2", range::draw(&fold, &figure)) + &table
}

#[test]
fn gallery() {
    let tube = glass(17.0, 0.5, 15.0, End::Round);
    let fine = glass(17.0, 0.2, 15.0, End::Round);
    let conical = glass(11.5, 0.5, 14.0, cone(14.0));
    let chamber = glass(60.0, 1.0, 40.0, End::Flat);
    let plan = |mark| [(mark, false, false, ""); 2];
    let mut page = String::from(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><link rel=\"stylesheet\" href=\"gallery.css\"><body>",
    );
    page +=
        &format!("<svg class=\"defs\" aria-hidden=\"true\">{}</svg><div class=\"gallery\">", defs::PATTERNS);
    page += &containers(tube, 15.0, 2.0, &plan(15.0), ANSWER);
    page += &containers(fine, 15.0, 2.0, &plan(15.0)[..1], ANSWER);
    page += &containers(chamber, 50.0, 6.6, &plan(50.0)[..1], ANSWER);
    page += &containers(chamber, 50.0, 6.6, &plan(50.0), ANSWER);
    page += &containers(conical, 10.0, 1.4, &plan(10.0), ANSWER);
    page += &containers(glass(0.5, 0.05, 5.0, cone(5.0)), 0.4, 0.05, &plan(0.4), ANSWER);
    page += &containers(glass(500.0, 10.0, 80.0, End::Flat), 450.0, 60.0, &plan(450.0), ANSWER);
    page += &containers(glass(5.0, 0.5, 8.0, End::Round), 4.0, 0.5, &plan(4.0), ANSWER);
    let draw = [(15.0, true, false, "1 · at the mark"), (15.0, false, false, "2 · filling")];
    page += &containers(tube, 15.0, 2.0, &draw, NEEDLE);
    let short = [(11.0, true, false, "1 · short"), (15.0, true, true, "2 · set aside")];
    page += &containers(tube, 15.0, 2.0, &short, NEEDLE);
    page += &format!("<div class=\"across\">{}</div>", columns());
    page += &format!(
        "<div class=\"across desk\">{}</div><div class=\"across phone\">{}</div>",
        scale_pictures(),
        scale_pictures()
    );
    page += &format!("<div class=\"across phone\">{}</div></div>", ranges());
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let target = root.join(std::env::var_os("CARGO_TARGET_DIR").unwrap_or_else(|| "target".into()));
    std::fs::create_dir_all(&target).unwrap();
    std::fs::write(target.join("gallery.html"), &page).unwrap();
    assert!(page.matches("<svg class=\"picture").count() >= 20 && !page.contains("NaN"));
}
