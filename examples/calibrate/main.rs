//! Fits the two numbers of the picture of a spin that published spins can teach: `cargo run --release --example
//! calibrate`. Reads `tests/published/spins.csv`; prints what is fitted with its width, under either convention of the
//! anticoagulant and pooled, and with each paper left out what the others say of it. The constants in
//! `src/spin/column/prior.rs` are what stands under "pooled"; `tests/spins.rs` holds them to it.

#![allow(clippy::indexing_slicing, reason = "a program for contributors, over lists of one length")]

mod fit;
#[allow(dead_code, reason = "shared with the test that prints the table")]
mod rows;

use fit::{Fit, LeftOut, fits, left_out, search};
use rows::{CONVENTIONS, Or, Row};
use std::process::ExitCode;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("calibrate: {why}");
            ExitCode::from(2)
        }
    }
}

fn print(what: &str, fit: &Fit) {
    let [clumping, drag] = [fit.number(0), fit.number(1)];
    println!(
        "{what:<28} clumping {:.3} ×/÷ {:.3}, platelet drag {:.3} ×/÷ {:.3}, correlation {:+.2}, off itself {:.3}",
        clumping.value,
        clumping.times,
        drag.value,
        drag.times,
        fit.correlation(),
        fit.discrepancy
    );
}

fn run() -> Or<()> {
    let all = rows::read(include_str!("../../tests/published/spins.csv"))?;
    let used: Vec<&Row> = all.iter().filter(|r| r.fit).collect();
    let searches = CONVENTIONS.iter().map(|c| search(&used, *c)).collect::<Or<Vec<_>>>()?;
    let (each, together) = fits(&used, &used, &searches)?;
    for (convention, fit) in CONVENTIONS.iter().zip(&each) {
        print(&format!("anticoagulant {convention:?}"), fit);
    }
    print("pooled", &together);
    for (paper, fit, said) in left_out(&used, &searches)? {
        print(&format!("without {paper}"), &fit);
        for LeftOut { id, convention, published, said } in said {
            println!(
                "  {id:<22} {convention:?}: published {:.3} ± {:.3}, said {:.3} ± {:.3}, off {:+.3}",
                published.0,
                published.1,
                said.0,
                said.1,
                said.0 - published.0
            );
        }
    }
    Ok(())
}
