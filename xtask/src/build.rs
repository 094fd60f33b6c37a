//! `cargo xtask build`: from sources to `dist/`.

use crate::{html, pack, tool};
use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;
use wasm_bindgen_cli_support::Bindgen;

const TARGET: &str = "wasm32-unknown-unknown";

/// One file of `dist/`, which has no folders.
struct File {
    name: String,
    bytes: Vec<u8>,
    /// Part of the offline copy.
    kept: bool,
}

/// Builds `dist/`; `dev` for speed: not optimised, not packed.
///
/// # Errors
/// When a source is missing or a step fails.
pub fn build(dev: bool) -> Result<()> {
    let start = Instant::now();
    ensure_target()?;
    let module = compile(dev)?;
    let (glue, wasm) = bind(&module, dev)?;
    let files = assemble(&glue, &wasm)?;
    write(&files, dev)?;
    let kept: usize = files.iter().filter(|file| file.kept).map(|file| file.bytes.len()).sum();
    println!(
        "dist/: {} files, offline copy {:.1} KB unpacked, {:.1} s",
        files.len(),
        kb(kept),
        start.elapsed().as_secs_f64()
    );
    Ok(())
}

/// Bytes as KB of 1000.
pub fn kb(bytes: usize) -> f64 {
    f64::from(u32::try_from(bytes).unwrap_or(u32::MAX)) / 1000.0
}

/// Rust's WebAssembly target, added if it is missing.
fn ensure_target() -> Result<()> {
    let sysroot = tool::read(&mut tool::command("rustc", &["--print", "sysroot"]))?;
    if Path::new(&sysroot).join("lib/rustlib").join(TARGET).is_dir() {
        return Ok(());
    }
    tool::run(&mut tool::command("rustup", &["target", "add", TARGET])).with_context(|| {
        format!(
            "Rust cannot yet build for browsers. With a network: `rustup target add {TARGET}`; \
             without rustup: install your system's rust-std for {TARGET}"
        )
    })
}

/// The core alone as `tests/timed` calls it, built as the page is.
///
/// # Errors
/// When it does not build.
pub fn timed() -> Result<PathBuf> {
    ensure_target()?;
    let args = ["build", "--profile", "page", "--target", TARGET, "--package", "strawline-timed"];
    tool::run(&mut tool::cargo(&args))?;
    Ok(tool::target().join(TARGET).join("page/timed.wasm"))
}

fn compile(dev: bool) -> Result<PathBuf> {
    let profile = if dev { "dev" } else { "page" };
    let args = ["build", "--profile", profile, "--target", TARGET, "--package", "strawline-page"];
    tool::run(&mut tool::cargo(&args))?;
    let folder = if dev { "debug" } else { "page" };
    Ok(tool::target().join(TARGET).join(folder).join("strawline-page.wasm"))
}

/// The JavaScript glue and the module that belongs to it.
fn bind(module: &Path, dev: bool) -> Result<(String, Vec<u8>)> {
    let mut output = Bindgen::new()
        .input_path(module)
        // One script of the old kind boots from a host, from disk and in a worker; a
        // crate that needs JavaScript modules of its own is refused here.
        .no_modules(true)?
        .omit_default_module_path(true)
        .typescript(false)
        .debug(false)
        .remove_name_section(!dev)
        .remove_producers_section(true)
        .generate_output()
        .context("wasm-bindgen could not read the module")?;
    let wasm = output.wasm_mut().emit_wasm();
    Ok((output.js().to_owned(), wasm))
}

/// Reads the sources beside the Rust ones and makes every file of `dist/`.
fn assemble(glue: &str, wasm: &[u8]) -> Result<Vec<File>> {
    let public = tool::root().join("public");
    let text = |name: &str| read_text(&public.join(name));
    let template = read_text(&tool::root().join("index.html"))?;
    let script = format!("{glue}\n{}", text("boot.js")?);
    if script.contains("</script") {
        bail!("the script holds </script, which would end it inside the single file");
    }

    let mut files = Vec::new();
    let mut keep = |name: &str, bytes: Vec<u8>| {
        let name = pack::hashed_name(name, &bytes);
        files.push(File { name: name.clone(), bytes, kept: true });
        name
    };

    let wasm_name = keep("strawline.wasm", wasm.to_vec());
    let script_name = keep("strawline.js", script.clone().into_bytes());
    // The single file carries its fonts within: set in others the card would not keep to one page.
    let (mut fonts, mut within) = (BTreeMap::new(), BTreeMap::new());
    for (name, bytes) in list(&public.join("fonts"), "woff2")? {
        within.insert(name.clone(), format!("data:font/woff2;base64,{}", pack::base64(&bytes)));
        fonts.insert(name.clone(), keep(&name, bytes));
    }
    let style = style()?;
    let style_name = keep("strawline.css", html::point_urls(&style, &fonts)?.into_bytes());

    let mut manifest = text("manifest.webmanifest")?;
    let icon = text("icon.svg")?;
    let icon_name = keep("icon.svg", icon.clone().into_bytes());
    manifest = manifest.replace("icon.svg", &icon_name);
    let mut touch_icon = String::new();
    for name in ["icon-512.png", "icon-192.png"] {
        let bytes = fs::read(public.join(name)).with_context(|| format!("public/{name}"))?;
        touch_icon = keep(name, bytes);
        manifest = manifest.replace(name, &touch_icon);
    }
    let manifest_name = keep("manifest.webmanifest", manifest.into_bytes());

    let head = format!(
        r#"<link rel="preload" href="{wasm_name}" as="fetch" type="application/wasm" crossorigin>
<script defer src="{script_name}" data-module="{wasm_name}" data-offline></script>
<link rel="stylesheet" href="{style_name}">
<link rel="manifest" href="{manifest_name}">
<link rel="icon" href="{icon_name}" type="image/svg+xml">
<link rel="apple-touch-icon" href="{touch_icon}">"#
    );
    let values = [("policy", html::POLICY), ("head", &head), ("foot", "")];
    let index = html::fill(&template, &values)?;

    let worker = worker(&text("sw.js")?, &files, index.as_bytes())?;
    let headers =
        html::fill(&text("headers.txt")?, &[("policy", html::POLICY), ("permissions", html::PERMISSIONS)])?;
    let single = single(&template, &script, &html::point_urls(&style, &within)?, &icon, wasm)?;
    files.push(File { name: "index.html".into(), bytes: index.into_bytes(), kept: true });
    let mut add = |name: &str, bytes| files.push(File { name: name.into(), bytes, kept: false });
    add("sw.js", worker.into_bytes());
    add("headers.txt", headers.into_bytes());
    add("strawline.html", single.into_bytes());
    // A font's licence goes where the font goes.
    for (name, bytes) in list(&public.join("fonts"), "txt")? {
        add(&name, bytes);
    }
    Ok(files)
}

/// The page in one file, for a disk or a stick.
fn single(template: &str, script: &str, style: &str, icon: &str, wasm: &[u8]) -> Result<String> {
    let icon = pack::base64(icon.as_bytes());
    let head =
        format!("<style>{style}</style>\n<link rel=\"icon\" href=\"data:image/svg+xml;base64,{icon}\">");
    let foot = format!(
        "<script type=\"application/octet-stream\" id=\"module\">{}</script>\n<script>{script}</script>",
        pack::gzip_base64(wasm)?
    );
    let policy = html::single_policy(script, style);
    html::fill(template, &[("policy", &policy), ("head", &head), ("foot", &foot)])
}

/// The service worker with its list and a version that changes with any of it.
fn worker(template: &str, kept: &[File], index: &[u8]) -> Result<String> {
    let mut list = vec![["./".to_owned(), pack::integrity(index)]];
    list.extend(kept.iter().map(|file| [file.name.clone(), pack::integrity(&file.bytes)]));
    let list = serde_json::to_string_pretty(&list)?;
    let version = pack::short_hash(format!("{template}{list}").as_bytes());
    html::fill(template, &[("version", &version), ("files", &list)])
}

/// All style sheets in one: `tokens.css`, which also orders the cascade layers,
/// then the others by name; the layers make any further order immaterial.
fn style() -> Result<String> {
    let mut sheets = list(&tool::root().join("style"), "css")?;
    sheets.sort_by_key(|(name, _)| (name != "tokens.css", name.clone()));
    let mut style = String::new();
    for (name, bytes) in sheets {
        let text = String::from_utf8(bytes).with_context(|| format!("style/{name}"))?;
        style.push_str(&html::slim(&text));
        style.push('\n');
    }
    Ok(style)
}

/// The files of a folder with this extension, by name. A missing folder has none.
fn list(folder: &Path, extension: &str) -> Result<Vec<(String, Vec<u8>)>> {
    let mut found = Vec::new();
    if !folder.is_dir() {
        return Ok(found);
    }
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == extension) {
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            found.push((name, fs::read(&path)?));
        }
    }
    found.sort();
    Ok(found)
}

fn read_text(path: &Path) -> Result<String> {
    let text = fs::read_to_string(path).with_context(|| path.display().to_string())?;
    // A browser turns \r\n into \n before it hashes an inline script or style.
    Ok(text.replace("\r\n", "\n"))
}

/// Writes `dist/` anew, with packed copies beside what packs well.
fn write(files: &[File], dev: bool) -> Result<()> {
    let dist = tool::dist();
    if dist.exists() {
        fs::remove_dir_all(&dist)?;
    }
    fs::create_dir_all(&dist)?;
    for file in files {
        fs::write(dist.join(&file.name), &file.bytes)?;
        let packs = !file.name.ends_with(".png") && !file.name.ends_with(".woff2");
        if packs && !dev {
            fs::write(dist.join(format!("{}.br", file.name)), pack::brotli(&file.bytes)?)?;
        }
    }
    Ok(())
}
