// A host of its own for the tests that take the host away or put a newer version there. It serves a copy of
// dist/ in a folder of the test.
import { createHash } from "node:crypto";
import { once } from "node:events";
import { appendFile, cp, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { createServer } from "node:http";
import { dirname, extname, join } from "node:path";

const DIST = dirname(process.env.STRAWLINE_FILE ?? "");
const MIME = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".svg": "image/svg+xml",
  ".png": "image/png",
  ".wasm": "application/wasm",
  ".woff2": "font/woff2",
  ".webmanifest": "application/manifest+json",
};

export class Host {
  /** The names of all files it was asked for. */
  asked = [];

  /** Copies dist/ into `folder` and serves it. */
  static async start(folder) {
    await cp(DIST, folder, { recursive: true });
    const host = new Host();
    host.folder = folder;
    await host.open(0);
    return host;
  }

  async open(port) {
    this.server = createServer(async (request, response) => {
      const name = new URL(request.url, "http://host").pathname.slice(1) || "index.html";
      this.asked.push(name);
      try {
        const body = await readFile(join(this.folder, name));
        const fixed = ["index.html", "sw.js", "strawline.html"].includes(name);
        response.writeHead(200, {
          "content-type": MIME[extname(name)] ?? "text/plain",
          "cache-control": fixed ? "no-cache" : "public, max-age=31536000, immutable",
        });
        response.end(body);
      } catch {
        response.writeHead(404).end("not found");
      }
    });
    this.server.listen(port, "127.0.0.1");
    await once(this.server, "listening");
    this.port = this.server.address().port;
    this.url = `http://127.0.0.1:${this.port}/`;
  }

  /** The network is gone: nothing listens any more. */
  async stop() {
    this.server.closeAllConnections();
    await new Promise((resolve) => this.server.close(resolve));
  }

  /** It is back, at the same address, once whoever took that meanwhile has left it. */
  async back() {
    for (let tries = 1; ; tries += 1) {
      try {
        return await this.open(this.port);
      } catch (error) {
        if (error.code !== "EADDRINUSE" || tries === 20) throw error;
        await new Promise((over) => setTimeout(over, 100));
      }
    }
  }

  /** A file that is not the one its version lists. */
  async spoil(name) {
    await appendFile(join(this.folder, name), "<!-- -->");
  }

  async remove(pattern) {
    for (const name of await readdir(this.folder)) if (pattern.test(name)) await rm(join(this.folder, name));
  }

  /** Puts a newer version there, told from the old by its title, with the worker that a build would write. */
  async publish(title) {
    const page = join(this.folder, "index.html");
    const worker = join(this.folder, "sw.js");
    const integrity = (bytes) => `sha256-${createHash("sha256").update(bytes).digest("base64")}`;
    const before = await readFile(page, "utf8");
    const after = before.replace(/<title>.*<\/title>/, `<title>${title}</title>`);
    let script = await readFile(worker, "utf8");
    const [was, is] = [integrity(before), integrity(after)];
    if (!script.includes(was)) throw new Error("sw.js does not hold the page's integrity");
    script = script.replaceAll(was, is).replace(/const VERSION = ".*"/, `const VERSION = "${title.replace(/\W/g, "")}"`);
    await writeFile(page, after);
    await writeFile(worker, script);
  }
}
