//! `cargo xtask bench`: what a first visit weighs, then how fast the page is.

use crate::{build, build::kb, pack, test, tool};
use anyhow::{Result, bail};
use std::fs;

/// KB of 1000 bytes, brotli 11: all that a first visit downloads but fonts.
const BUDGET: f64 = 150.0;
/// KB of font files, fetched after the first paint.
const FONT_BUDGET: f64 = 60.0;

/// Builds, weighs and times.
///
/// # Errors
/// When a weight or a time is over its budget; both are measured all the same.
pub fn bench() -> Result<()> {
    build::build(false)?;
    let (mut page, mut fonts) = (0, 0);
    let mut names: Vec<_> = fs::read_dir(tool::dist())?
        .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
        .collect::<Result<_>>()?;
    names.sort();
    println!("{:>9} {:>9}  KB", "plain", "packed");
    for name in names.iter().filter(|name| !name.ends_with(".br")) {
        let bytes = fs::read(tool::dist().join(name))?;
        let is_font = name.ends_with(".woff2");
        let packed =
            if is_font || name.ends_with(".png") { bytes.len() } else { pack::brotli(&bytes)?.len() };
        println!("{:>9.2} {:>9.2}  {name}", kb(bytes.len()), kb(packed));
        if is_font {
            fonts += packed;
        } else if name != "strawline.html" && !name.ends_with(".txt") {
            // Those are for carrying away and for hosts: no visit downloads them.
            page += packed;
        }
    }
    println!("first visit {:.2} KB of {BUDGET}, fonts {:.2} KB of {FONT_BUDGET}", kb(page), kb(fonts));
    let mut node = tool::command("node", &["bench.mjs"]);
    node.env("STRAWLINE_TIMED", build::timed()?);
    tool::run(&mut tool::cargo(&["build", "--release", "--example", "spin"]))?;
    node.env("STRAWLINE_SPIN", tool::target().join("release/examples/spin"));
    test::with_browser(&mut node)?;
    let timed = tool::run(&mut node);
    against_others()?;
    if kb(page) > BUDGET || kb(fonts) > FONT_BUDGET {
        bail!("over the budget of weight");
    }
    timed
}

/// The column of a spin, timed against other people's solvers of the same equations.
fn against_others() -> Result<()> {
    let python = test::recompute_python()?;
    tool::run(&mut tool::command(&python, &["tests/recompute/bench_column.py"]))
}
