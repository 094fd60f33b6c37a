//! Other programs, and where things lie.

use anyhow::{Context, Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The repository's folder.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}

/// Where a build is written.
pub fn dist() -> PathBuf {
    root().join("dist")
}

/// Where cargo puts its work.
pub fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from)
}

/// A command that starts in the repository's folder.
pub fn command(program: &str, args: &[&str]) -> Command {
    let mut command = Command::new(program);
    command.args(args).current_dir(root());
    command
}

/// The cargo that started us.
pub fn cargo(args: &[&str]) -> Command {
    command(&std::env::var("CARGO").unwrap_or_else(|_| "cargo".into()), args)
}

/// Runs a command, its output shown.
///
/// # Errors
/// When it cannot start or does not exit with 0.
pub fn run(command: &mut Command) -> Result<()> {
    let said = said(command);
    let status = command.status().with_context(|| format!("cannot start `{said}`: is it installed?"))?;
    if !status.success() {
        bail!("`{said}` failed ({status})");
    }
    Ok(())
}

/// Runs a command and returns what it printed.
///
/// # Errors
/// When it cannot start or does not exit with 0.
pub fn read(command: &mut Command) -> Result<String> {
    let said = said(command);
    let output = command.output().with_context(|| format!("cannot start `{said}`: is it installed?"))?;
    if !output.status.success() {
        bail!("`{said}` failed: {}", String::from_utf8_lossy(&output.stderr).trim());
    }
    Ok(String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

fn said(command: &Command) -> String {
    let mut words = vec![command.get_program().to_string_lossy().into_owned()];
    words.extend(command.get_args().map(|arg| arg.to_string_lossy().into_owned()));
    words.join(" ")
}

/// The first of these programs that the search path holds.
pub fn find(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .flat_map(|folder| names.iter().map(move |name| folder.join(name)))
        .find(|file| file.is_file())
}

/// The browser, installed by Debian's packages where that may be done; `CHROMIUM` names another.
///
/// # Errors
/// When there is none; says what to install.
pub fn chromium() -> Result<PathBuf> {
    match std::env::var_os("CHROMIUM") {
        Some(given) => Ok(given.into()),
        None => program(&["chromium", "chromium-browser", "google-chrome"], "chromium"),
    }
}

/// A program by one of its names, installed by Debian's package where that may be done.
///
/// # Errors
/// When there is none; says what to install.
pub fn program(names: &[&str], package: &str) -> Result<PathBuf> {
    if let Some(found) = find(names) {
        return Ok(found);
    }
    let may_install = find(&["apt-get"]).is_some() && read(&mut command("id", &["-u"]))? == "0";
    if may_install {
        run(&mut command("apt-get", &["update", "-qq"]))?;
        let install = ["install", "-y", "-qq", "--no-install-recommends", package];
        run(command("apt-get", &install).env("DEBIAN_FRONTEND", "noninteractive"))?;
    }
    find(names).with_context(|| format!("no {package}: install it (Debian: apt-get install {package})"))
}
