//! A spin in, the column it makes out: `cargo run --example spin < spin.json > picture.json`.
//!
//! In: rotor, blood with its anticoagulant, one spin or two with tube, programme and where the column is parted. Out:
//! the course of the top of the cells, the column at chosen moments, what stands above the cells, what the line leaves
//! on either side; 80 % bands of what is assumed, each assumption with its width and source; null with the reason where
//! the picture cannot tell. Everything in it is a
//! picture for understanding and labelled so: no prediction of a product, no recommendation. `--no-bands` leaves the
//! bands out and is fifty times as fast; `--time` does so too, draws the picture 20 times and adds the least time it
//! took; `--as-reckoned` leaves numbers in layers where they cannot be told, for another solver to be held against. Unusable input ends with code 2 and a sentence that names field and range.

use serde_json::{Value, json};
use std::io::{Read, Write};
use std::process::ExitCode;
use strawline::evidence::SourceId;
use strawline::quantity::Quantity;
use strawline::spin::SpinError;
use strawline::spin::column::prior::{self, PRIORS, Prior, Width};
use strawline::spin::column::{
    Band, Banded, ColumnError, Layer, Picture, Setup, Spin, Spun, SpunBands, banded, changes, picture,
    too_low,
};
use strawline::spin::exposure::exposure;
use strawline::spin::rcf::RadiusKind;
use strawline::words::Phrase;
use strawline::words::column::ColumnWord;

/// What every figure of the picture is.
const STANDING: &str = "picture, not a prediction";

/// Assumptions that `examples/calibrate` fitted.
const FITTED: [&str; 2] = ["clumping", "platelet_drag"];

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            eprintln!("spin: {sentence}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), String> {
    let (mut bands, mut timed, mut reckoned) = (true, false, false);
    for option in std::env::args().skip(1) {
        match option.as_str() {
            "--no-bands" => bands = false,
            "--time" => (bands, timed) = (false, true),
            "--as-reckoned" => reckoned = true,
            other => {
                return Err(format!("{other} is not an option; --no-bands, --time and --as-reckoned are"));
            }
        }
    }
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes).map_err(|e| format!("cannot read standard input: {e}"))?;
    let text = std::str::from_utf8(&bytes).map_err(|e| format!("the spin is not UTF-8 text: {e}"))?;
    let setup = Setup::from_json(text).map_err(|e| sentence(&e))?;
    let found = if bands {
        banded(&setup).map_err(|e| sentence(&e))?
    } else {
        let picture = picture(&setup).map_err(|e| sentence(&e))?;
        Banded { picture, bands: Vec::new() }
    };
    let mut out = answer(&setup, &found, reckoned)?;
    if timed && let Some(check) = out.get_mut("check").and_then(Value::as_object_mut) {
        check.insert("least_of_20_s".to_owned(), json!(least_time(&setup)));
    }
    let out = serde_json::to_string_pretty(&out).map_err(|e| e.to_string())?;
    match writeln!(std::io::stdout(), "{out}") {
        // A closed pipe downstream is not this program's error.
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(e.to_string()),
        _ => Ok(()),
    }
}

/// Least time of 20 that drawing the picture takes [s], reading and writing apart.
fn least_time(setup: &Setup) -> f64 {
    let time = |_| {
        let begun = std::time::Instant::now();
        let _done = std::hint::black_box(picture(std::hint::black_box(setup)));
        begun.elapsed().as_secs_f64()
    };
    (0..20).map(time).fold(f64::INFINITY, f64::min)
}

fn sentence(error: &ColumnError) -> String {
    match error {
        ColumnError::Unreadable(why) => format!("this is not a spin: {why}"),
        ColumnError::Outside { field, range } => format!("{field}: {range}"),
        ColumnError::FixedAngle => {
            "rotor.kind: the picture is of a rotor that swings out; at a fixed angle a cell’s path is across the tube"
                .to_owned()
        }
        ColumnError::TooHigh { spin } => {
            format!("spins.{spin}.tube: the fill stands higher than 200 mm in it; 0 to 200 mm")
        }
        ColumnError::NothingDrawn => {
            "spins.0.parting: nothing is left above the line to spin again; at least 0.05 mL".to_owned()
        }
        ColumnError::Spin(SpinError::RadiusMissing { kind, .. }) => {
            format!("rotor.{}: no such radius on record; 10 to 500 mm", name(kind))
        }
        ColumnError::Spin(SpinError::RadiiReversed { .. }) => {
            "rotor.minimum: not below the maximum radius; 10 mm to less than the maximum".to_owned()
        }
        ColumnError::Spin(SpinError::OutOfRange(range)) => format!("programme: {range}"),
    }
}

/// The stored name of a choice.
fn name(choice: &impl serde::Serialize) -> String {
    json!(choice).as_str().unwrap_or_default().to_owned()
}

fn answer(setup: &Setup, found: &Banded, reckoned: bool) -> Result<Value, String> {
    let mut spins = Vec::new();
    for (i, spun) in found.picture.spins.iter().enumerate() {
        let Spin { programme, tube, .. } = setup.spins.get(i).ok_or("a spin too many")?;
        let over_time = exposure(programme, &setup.rotor, RadiusKind::Maximum, tube.rated);
        let over_time = over_time.map_err(|e| sentence(&ColumnError::Spin(e)))?.value.get();
        spins.push(spin(spun, found.bands.get(i), over_time, i > 0, reckoned));
    }
    let alone = if found.bands.is_empty() { Vec::new() } else { changes(setup).map_err(|e| sentence(&e))? };
    let one = |(key, half): &(&str, f64)| json!({"assumption": key, "half_of_what_it_changes": half});
    let told = found.picture.spins.first().map_or(Ok([0.0; 2]), |s| s.collection.shares());
    let banded = found.bands.first().map(SpunBands::shares).transpose();
    let changes = match told.and(banded.map(drop)) {
        Ok(()) => json!({"standing": STANDING, "assumptions": alone.iter().map(one).collect::<Vec<_>>()}),
        Err(why) => json!({"standing": STANDING, "assumptions": null, "why": why.english()}),
    };
    Ok(json!({
        "standing": STANDING,
        "says_nothing_of": "dose, whether an order is met, white or red cells of a product, a speed or a time to use",
        "fitted_to_published_spins": FITTED,
        "spins": spins,
        "first_share_above_the_line_changes_with": changes,
        "assumptions": PRIORS.iter().map(assumption).collect::<Vec<_>>(),
        "check": check(&found.picture),
        "sources": sources(),
    }))
}

fn spin(spun: &Spun, bands: Option<&SpunBands>, over_time: f64, again: bool, reckoned: bool) -> Value {
    let moments = spun.series.iter().enumerate().map(|(i, moment)| {
        let of = |pick: fn(&SpunBands) -> &Vec<Band>| bands.and_then(|b| pick(b).get(i));
        json!({
            "time_s": moment.time,
            "interface_height_mm": match too_low(again, moment.above.interface) {
                true => untold(&ColumnWord::TooLow),
                false => figure(moment.above.interface, of(|b| &b.interface)),
            },
            "fluid_above_mL": figure(moment.above.volume, of(|b| &b.volume)),
            "share_of_platelets_more_than_2_mm_above": figure(moment.above.clear, of(|b| &b.platelets)),
        })
    });
    let profiles = spun.profiles.iter().map(|profile| {
        let layers: Vec<Value> =
            profile.layers.iter().map(|l| layer(l, reckoned || profile.told(l.height))).collect();
        json!({"standing": STANDING, "time_s": profile.time, "layers": layers})
    });
    let collection = &spun.collection;
    let share = |side: usize| match (collection.shares(), bands.map(SpunBands::shares).transpose()) {
        (Ok(shares), Ok(bands)) => {
            let band = bands.and_then(|both| both.get(side).copied());
            figure(shares.get(side).copied().unwrap_or_default(), band)
        }
        (Err(why), _) | (_, Err(why)) => untold(&why),
    };
    json!({
        "column_height_mm": figure(spun.column, bands.map(|b| &b.column)),
        "radius_at_the_top_mm": figure(spun.top.get(), bands.map(|b| &b.top)),
        "force_over_time_at_the_maximum_radius_g_s": over_time,
        "series": {"standing": STANDING, "moments": moments.collect::<Vec<_>>()},
        "profiles": profiles.collect::<Vec<_>>(),
        "collection": {
            "standing": STANDING,
            "line_height_mm": figure(collection.line, bands.map(|b| &b.line)),
            "above_mL": figure(collection.above.get(), bands.map(|b| &b.above)),
            "below_mL": figure(collection.below.get(), bands.map(|b| &b.below)),
            "share_of_first_tube_platelets_above": share(0),
            "share_of_first_tube_platelets_below": share(1),
        },
    })
}

/// A figure with the ends of its 80 % band, where it hangs on anything assumed.
fn figure(value: f64, band: Option<&Band>) -> Value {
    match band.filter(|band| band.hangs()) {
        Some(band) => json!({"value": value, "low": band.low, "high": band.high}),
        None => json!({"value": value}),
    }
}

/// A figure that the picture cannot tell, and why.
fn untold(why: &impl Phrase) -> Value {
    json!({"value": null, "why": why.english()})
}

/// A layer; of platelets and white cells that gather on the cells there is no number.
fn layer(layer: &Layer, told: bool) -> Value {
    if !told {
        return json!({
            "height_mm": layer.height,
            "red_cell_fraction": layer.red,
            "platelets_over_start": null,
            "white_cells_over_start": null,
            "why": ColumnWord::Gathers.english(),
        });
    }
    json!({
        "height_mm": layer.height,
        "red_cell_fraction": layer.red,
        "platelets_over_start": layer.platelets,
        "white_cells_over_start": layer.white,
    })
}

fn assumption(prior: &Prior) -> Value {
    let width = match prior.width {
        Width::Plus(sd) => json!({"plus_or_minus": sd}),
        Width::Times(factor) => json!({"times_or_divided_by": factor}),
    };
    json!({
        "key": prior.key, "value": prior.value, "unit": prior.unit, "one_sd": width,
        "source": prior.source.source().key,
    })
}

/// What the reckoning itself did.
fn check(picture: &Picture) -> Value {
    let error = picture.spins.iter().map(|s| s.mass_error).fold(0.0, f64::max);
    json!({
        "mass_error": error,
        "steps": picture.spins.iter().map(|s| s.steps).sum::<u64>(),
        "cell_updates": picture.spins.iter().map(|s| s.updates).sum::<u64>(),
    })
}

/// Citations by key.
fn sources() -> Value {
    let mut ids = vec![prior::WAVE_SOURCE, prior::SLIP_SOURCE, prior::CORNER_SOURCE, SourceId::RcfFormula];
    ids.extend(PRIORS.iter().map(|p| p.source));
    let cited = |id: SourceId| {
        let source = id.source();
        (source.key.to_owned(), json!({"citation": source.citation, "standing": source.standing.english()}))
    };
    Value::Object(ids.into_iter().map(cited).collect())
}
