//! `cargo xtask test`: all that CI checks, stage by stage.

use crate::{build, serve, tool};
use anyhow::{Context, Result, bail};
use std::fs;
use std::path::Path;
use std::time::Instant;

type Stage = (&'static str, fn(bool) -> Result<Ran>);

/// In this order, the quick ones first.
const STAGES: [Stage; 7] = [
    ("fmt", |_| cargo(&["fmt", "--all", "--check"], false)),
    ("clippy", |_| cargo(&["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"], false)),
    ("core", |long| cargo(&["test", "--workspace"], long)),
    ("recompute", recompute),
    ("files", files),
    ("build", |_| build::build(false).map(|()| Ran::Yes)),
    ("browser", browser),
];

/// Whether a stage had anything to do.
enum Ran {
    Yes,
    NotYet,
}

/// Runs the stages, or those named, up to the first that fails.
///
/// # Errors
/// When one fails or has no such name.
pub fn test(long: bool, only: &[String]) -> Result<()> {
    if let Some(unknown) = only.iter().find(|name| STAGES.iter().all(|(stage, _)| stage != name)) {
        let names: Vec<_> = STAGES.iter().map(|(name, _)| *name).collect();
        bail!("no stage {unknown:?}; there are: {}", names.join(", "));
    }
    let mut summary = Vec::new();
    let (mut passed, mut failure) = (0, None);
    for (name, stage) in STAGES {
        if !only.is_empty() && !only.iter().any(|wanted| wanted == name) {
            continue;
        }
        println!("\n== {name}");
        let start = Instant::now();
        let result = stage(long);
        let word = match &result {
            Ok(Ran::Yes) => "passed",
            Ok(Ran::NotYet) => "not here yet",
            Err(_) => "FAILED",
        };
        let line = format!("{name:<10} {:>7.1} s  {word}", start.elapsed().as_secs_f64());
        println!("== {line}");
        summary.push(line);
        match result {
            Ok(Ran::Yes) => passed += 1,
            Ok(Ran::NotYet) => {}
            Err(error) => {
                failure = Some(error.context(format!("stage {name}")));
                break;
            }
        }
    }
    println!("\n{}", summary.join("\n"));
    println!("{passed} passed, {} failed", u8::from(failure.is_some()));
    failure.map_or(Ok(()), Err)
}

fn cargo(args: &[&str], long: bool) -> Result<Ran> {
    let mut command = tool::cargo(args);
    if long {
        command.env("STRAWLINE_LONG", "1");
    }
    tool::run(&mut command).map(|()| Ran::Yes)
}

/// Whether a folder of tests is here. Once git knows it, its absence is an error.
fn here(folder: &str) -> Result<bool> {
    if tool::root().join(folder).is_dir() {
        return Ok(true);
    }
    if !tool::read(&mut tool::command("git", &["ls-files", folder]))?.is_empty() {
        bail!("{folder}/ is in git but not here");
    }
    Ok(false)
}

/// A list of packages, which its folder must have.
fn read(file: &Path) -> Result<Vec<u8>> {
    fs::read(file).with_context(|| file.display().to_string())
}

/// The same numbers computed again in Python, in an environment of our own.
fn recompute(long: bool) -> Result<Ran> {
    if here(RECOMPUTE)? {
        recompute_python()?;
    }
    pytest(RECOMPUTE, RECOMPUTE_VENV, long)
}

const RECOMPUTE: &str = "tests/recompute";
const RECOMPUTE_VENV: &str = "venv";

/// Python with the packages that reckon again, one of which is compiled as it is installed.
///
/// # Errors
/// When there is no Fortran compiler, or a package cannot be installed.
pub fn recompute_python() -> Result<String> {
    tool::program(&["gfortran"], "gfortran")?;
    python(RECOMPUTE, RECOMPUTE_VENV)
}

/// What leaves the page, read by others' readers in Python and Node.
fn files(long: bool) -> Result<Ran> {
    const FOLDER: &str = "tests/files";
    if here(FOLDER)? {
        npm_packages(&tool::root().join(FOLDER))?;
    }
    if long {
        // A spreadsheet weighs as much as all else that tests install.
        tool::program(&["soffice"], "libreoffice-calc-nogui")?;
    }
    pytest(FOLDER, "venv-files", long)
}

/// The Python tests of a folder, in an environment with the packages it asks for.
fn pytest(folder: &str, venv: &str, long: bool) -> Result<Ran> {
    if !here(folder)? {
        return Ok(Ran::NotYet);
    }
    let python = python(folder, venv)?;
    let mut pytest = tool::command(&python, &["-m", "pytest", "-q", folder]);
    if long {
        pytest.env("STRAWLINE_LONG", "1");
    }
    tool::run(&mut pytest).map(|()| Ran::Yes)
}

/// Python in an environment with the packages that a folder asks for.
fn python(folder: &str, venv: &str) -> Result<String> {
    let venv = tool::target().join(venv);
    let python = venv.join("bin/python").display().to_string();
    let wanted = tool::root().join(folder).join("requirements.txt");
    let done = venv.join("requirements.txt");
    if read(&wanted)? != fs::read(&done).unwrap_or_default() {
        tool::run(&mut tool::command("python3", &["-m", "venv", &venv.display().to_string()]))?;
        let wanted_name = wanted.display().to_string();
        let install = ["-m", "pip", "install", "-q", "--disable-pip-version-check", "-r"];
        tool::run(tool::command(&python, &install).arg(wanted_name))?;
        fs::copy(&wanted, &done)?;
    }
    Ok(python)
}

/// The npm packages of a folder, as its lock file has them.
fn npm_packages(folder: &Path) -> Result<()> {
    let wanted = folder.join("package-lock.json");
    let done = folder.join("node_modules/.installed");
    if read(&wanted)? != fs::read(&done).unwrap_or_default() {
        let mut npm = tool::command("npm", &["ci", "--no-audit", "--no-fund"]);
        // The browser is the system's; Playwright must not fetch its own.
        tool::run(npm.current_dir(folder).env("PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD", "1"))?;
        fs::copy(&wanted, &done)?;
    }
    Ok(())
}

/// Playwright against the built page: over http and from disk.
fn browser(long: bool) -> Result<Ran> {
    const FOLDER: &str = "tests/browser";
    if !here(FOLDER)? {
        return Ok(Ran::NotYet);
    }
    let mut npx = tool::command("npx", &["playwright", "test"]);
    with_browser(&mut npx)?;
    // Two programs read printed codes.
    npx.env("STRAWLINE_PYTHON", python(FOLDER, "venv-browser")?);
    npx.env("ZBARIMG", tool::program(&["zbarimg"], "zbar-tools")?);
    if long {
        npx.env("STRAWLINE_LONG", "1");
    }
    tool::run(&mut npx).map(|()| Ran::Yes)
}

/// Makes a command of `tests/browser/` ready to run: its packages installed, the
/// page served, and where both lie in `STRAWLINE_URL`, `STRAWLINE_FILE` and `CHROMIUM`.
///
/// # Errors
/// When there is no Chromium, no build, or a package cannot be installed.
pub fn with_browser(command: &mut std::process::Command) -> Result<()> {
    let folder = tool::root().join("tests/browser");
    let single = tool::dist().join("strawline.html");
    if !single.is_file() {
        bail!("nothing is built: run `cargo xtask build` first");
    }
    npm_packages(&folder)?;
    let (address, _server) = serve::start(0)?;
    command
        .current_dir(&folder)
        .env("STRAWLINE_URL", format!("http://{address}/"))
        .env("STRAWLINE_FILE", single)
        .env("CHROMIUM", tool::chromium()?);
    Ok(())
}
