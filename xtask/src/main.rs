//! `cargo xtask`: builds, serves, tests and weighs Strawline.

mod bench;
mod build;
mod html;
mod pack;
mod serve;
mod test;
mod tool;

use anyhow::{Result, bail};
use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask build [--dev]                  write dist/ and dist/strawline.html
cargo xtask serve [--dev] [--port N] [--no-build]
                                           build, then serve dist/ on this machine
cargo xtask test [--long] [STAGE…]         everything CI checks, or the stages named
cargo xtask bench                          weigh a first visit, then time the page
--dev builds in seconds: larger, slower, nothing packed.";

fn main() -> ExitCode {
    match run(std::env::args().skip(1).collect()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(mut args: Vec<String>) -> Result<()> {
    let mut flag = |name: &str| {
        let before = args.len();
        args.retain(|arg| arg != name);
        args.len() < before
    };
    let (dev, no_build, long) = (flag("--dev"), flag("--no-build"), flag("--long"));
    let mut port = 8080;
    if let Some(at) = args.iter().position(|arg| arg == "--port") {
        args.remove(at);
        let given = if at < args.len() { args.remove(at) } else { String::new() };
        port = given
            .parse()
            .map_err(|_| anyhow::anyhow!("--port wants a number from 0 to 65535, got {given:?}"))?;
    }
    if let Some(unknown) = args.iter().find(|arg| arg.starts_with('-')) {
        bail!("unknown option {unknown}\n{USAGE}");
    }
    let verb = if args.is_empty() { String::new() } else { args.remove(0) };
    if verb != "test" && !args.is_empty() {
        bail!("{verb} takes no {:?}\n{USAGE}", args.join(" "));
    }
    match verb.as_str() {
        "build" => build::build(dev),
        "serve" => {
            if !no_build {
                build::build(dev)?;
            }
            serve::serve(port)
        }
        "test" => test::test(long, &args),
        "bench" => bench::bench(),
        _ => bail!("say what to do\n{USAGE}"),
    }
}
