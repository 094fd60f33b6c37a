// The offline copy: one cache a version, filled whole or not at all.
const VERSION = "{{version}}";
// [address, integrity]: a file of another version is refused, not mixed in.
const FILES = {{files}};

// The scope is in the name, so that two copies on one host leave each other alone.
const PREFIX = `strawline-${new URL("./", self.location).pathname} `;
const CACHE = PREFIX + VERSION;
const address = (path) => new URL(path, self.location).href;
const KNOWN = new Set(FILES.map(([path]) => address(path)));

// All names but the page's own carry their content's hash, so only that one can be stale.
const request = ([path, integrity]) =>
  new Request(address(path), { integrity, cache: path === "./" ? "no-cache" : "default" });

const stored = (url) => caches.match(url, { cacheName: CACHE, ignoreVary: true });

async function fill() {
  const here = await Promise.all(FILES.map(([path]) => stored(address(path))));
  const missing = FILES.filter((_, i) => !here[i]);
  if (missing.length > 0) await (await caches.open(CACHE)).addAll(missing.map(request));
}

self.addEventListener("install", (event) => {
  event.waitUntil(fill().catch(async (error) => {
    await caches.delete(CACHE);
    throw error;
  }));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
  })());
});

self.addEventListener("message", (event) => {
  // A new version waits until a person says so: a case may be under way.
  if (event.data === "take-over") self.skipWaiting();
  // Asked at each start; mends a copy that the browser has thinned out.
  if (event.data === "complete?") {
    event.waitUntil(fill().then(() => "ready", () => "incomplete")
      .then((state) => event.source.postMessage(state)));
  }
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  url.hash = "";
  if (event.request.mode === "navigate") {
    url.search = "";
    if (url.href === address("index.html")) url.pathname = new URL("./", url).pathname;
  }
  if (event.request.method !== "GET" || !KNOWN.has(url.href)) return;
  event.respondWith(stored(url.href).then((hit) => hit ?? fetch(event.request)));
});
