//! `cargo xtask serve`: `dist/` on this machine, as a good host would send it.

use crate::{html, tool};
use anyhow::{Context, Result};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::time::Duration;

/// Serves until it is stopped.
///
/// # Errors
/// When the port is taken.
pub fn serve(port: u16) -> Result<()> {
    let (address, server) = start(port)?;
    println!("http://{address}/  (stop with Ctrl-C)");
    server.join().map_err(|_| anyhow::anyhow!("the server stopped"))
}

/// Serves from a thread of its own; port 0 takes a free one.
///
/// # Errors
/// When the port is taken.
pub fn start(port: u16) -> Result<(SocketAddr, std::thread::JoinHandle<()>)> {
    let listener = TcpListener::bind(("127.0.0.1", port))
        .with_context(|| format!("port {port} cannot be opened: choose another with --port"))?;
    let address = listener.local_addr()?;
    let server = std::thread::spawn(move || {
        for stream in listener.incoming().flatten() {
            // A caller that goes away is not our error.
            std::thread::spawn(move || drop(talk(stream)));
        }
    });
    Ok((address, server))
}

/// Answers requests on one connection until the other side closes it.
fn talk(stream: TcpStream) -> std::io::Result<()> {
    stream.set_read_timeout(Some(Duration::from_secs(30)))?;
    stream.set_nodelay(true)?;
    let mut writer = stream.try_clone()?;
    let mut reader = BufReader::new(stream);
    loop {
        let mut head = String::new();
        loop {
            let mut line = String::new();
            // No header of ours is long; a longer one is cut and then refused.
            if reader.by_ref().take(8192).read_line(&mut line)? == 0 {
                return Ok(());
            }
            if line.trim_end().is_empty() {
                break;
            }
            head.push_str(&line);
            if head.len() > 32_768 {
                return Ok(());
            }
        }
        let reply = answer(&head, &tool::dist());
        writer.write_all(&reply)?;
    }
}

/// The whole reply to a request's head.
fn answer(head: &str, dist: &Path) -> Vec<u8> {
    let mut words = head.split_ascii_whitespace();
    let (method, target) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
    if method != "GET" && method != "HEAD" {
        return reply("405 Method Not Allowed", "text/plain", "", b"GET or HEAD only\n", true);
    }
    let path = target.split(['?', '#']).next().unwrap_or("");
    let name = match path.strip_prefix('/') {
        Some("") => "index.html",
        Some(name) => name,
        None => return not_found(),
    };
    // dist/ has no folders, so a plain name is all there is to allow.
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    if name.starts_with('.') || !name.chars().all(plain) {
        return not_found();
    }
    let accepts_br = head.lines().any(|line| {
        line.split_once(':').is_some_and(|(key, value)| {
            key.eq_ignore_ascii_case("accept-encoding")
                && value.split(',').any(|one| one.split(';').next().unwrap_or("").trim() == "br")
        })
    });
    let packed = dist.join(format!("{name}.br"));
    let (file, coding) = if accepts_br && packed.is_file() {
        (packed, "Content-Encoding: br\r\n")
    } else {
        (dist.join(name), "")
    };
    let Ok(body) = std::fs::read(file) else {
        return not_found();
    };
    let fixed = ["index.html", "strawline.html", "sw.js", "headers.txt"];
    let age = if fixed.contains(&name) { "no-cache" } else { "public, max-age=31536000, immutable" };
    // The single file's own policy is another.
    let policy = if name == "strawline.html" {
        String::new()
    } else {
        format!("Content-Security-Policy: {}\r\nPermissions-Policy: {}\r\n", html::POLICY, html::PERMISSIONS)
    };
    let headers = format!("Cache-Control: {age}\r\nVary: Accept-Encoding\r\n{coding}{policy}");
    reply("200 OK", mime(name), &headers, &body, method == "GET")
}

fn not_found() -> Vec<u8> {
    reply("404 Not Found", "text/plain", "", b"not found\n", true)
}

fn reply(status: &str, mime: &str, headers: &str, body: &[u8], send_body: bool) -> Vec<u8> {
    let mut reply = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {mime}\r\nContent-Length: {}\r\n\
         X-Content-Type-Options: nosniff\r\n{headers}\r\n",
        body.len()
    )
    .into_bytes();
    if send_body {
        reply.extend_from_slice(body);
    }
    reply
}

fn mime(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or("") {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "txt" => "text/plain; charset=utf-8",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "woff2" => "font/woff2",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Made once: the tests run side by side.
    static FOLDER: std::sync::LazyLock<std::path::PathBuf> = std::sync::LazyLock::new(|| {
        let folder = std::env::temp_dir().join(format!("strawline-serve-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        std::fs::write(folder.join("a-1.js"), "plain").expect("a file");
        std::fs::write(folder.join("a-1.js.br"), "packed").expect("a file");
        folder
    });

    fn ask(head: &str) -> String {
        String::from_utf8(answer(head, &FOLDER)).expect("text")
    }

    #[test]
    fn sends_the_packed_copy_only_where_accepted() {
        let plain = ask("GET /a-1.js HTTP/1.1\r\nAccept-Encoding: gzip, brx\r\n");
        assert!(plain.starts_with("HTTP/1.1 200") && plain.ends_with("\r\n\r\nplain"), "{plain}");
        let packed = ask("GET /a-1.js HTTP/1.1\r\naccept-encoding: gzip, br;q=1\r\n");
        assert!(packed.contains("Content-Encoding: br\r\n") && packed.ends_with("\r\n\r\npacked"));
        assert!(packed.contains("Content-Type: text/javascript"), "{packed}");
        assert!(packed.contains("immutable"), "{packed}");
    }

    #[test]
    fn refuses_what_is_no_plain_name() {
        for target in ["/../Cargo.toml", "/%2e%2e/Cargo.toml", "/.git", "//etc/passwd", "a", ""] {
            let said = ask(&format!("GET {target} HTTP/1.1\r\n"));
            assert!(said.starts_with("HTTP/1.1 404"), "{target}: {said}");
        }
        assert!(ask("POST /a-1.js HTTP/1.1\r\n").starts_with("HTTP/1.1 405"));
    }

    #[test]
    fn head_sends_no_body() {
        let said = ask("HEAD /a-1.js HTTP/1.1\r\n");
        assert!(said.contains("Content-Length: 5\r\n") && said.ends_with("\r\n\r\n"), "{said}");
    }
}
