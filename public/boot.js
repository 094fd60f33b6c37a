// Follows the glue in the same file: starts the module, shows its death, keeps
// the offline copy. A worker runs the file too and wants only the glue.
if (typeof document === "object") {
  const script = document.currentScript;
  const show = (id) => { document.getElementById(id).hidden = false; };

  // The page says `<html data-draft="saved">` while its last change is stored.
  const fault = () => {
    show("fault");
    show(document.documentElement.dataset.draft === "saved" ? "fault-saved" : "fault-unsaved");
  };
  // The panic hook reports itself; a trap without a panic (a full stack) only throws.
  const trapped = (error) => { if (error instanceof WebAssembly.RuntimeError) fault(); };
  window.addEventListener("strawline-fault", fault);
  window.addEventListener("error", (event) => trapped(event.error));
  window.addEventListener("unhandledrejection", (event) => trapped(event.reason));

  // dist/ names a file; the single file carries its module, packed, in the page.
  const source = () => {
    const packed = document.getElementById("module");
    if (!packed) return script.dataset.module;
    const bytes = Uint8Array.from(atob(packed.textContent), (c) => c.charCodeAt(0));
    packed.remove();
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).arrayBuffer();
  };

  // States: ready, incomplete, update (a newer copy waits). Also left on <html>,
  // since the page may start to listen after the first is said.
  const say = (state) => {
    // An update stays one until this tab loads it, whichever tab lets it take over.
    const said = document.documentElement.dataset.offline;
    if (said === state || said === "update") return;
    document.documentElement.dataset.offline = state;
    window.dispatchEvent(new CustomEvent("strawline-offline", { detail: state }));
  };

  const keepOffline = async () => {
    const container = navigator.serviceWorker;
    // Browsers keep copies only of pages that come by https or from this device.
    if (!container) return say("incomplete");
    let registration;
    try {
      registration = await container.register("sw.js");
    } catch (error) {
      console.warn(error);
      return say("incomplete");
    }
    container.addEventListener("message", (event) => say(event.data));
    const watch = (worker) => worker.addEventListener("statechange", () => {
      if (worker.state === "installed" && registration.active) say("update");
      if (worker.state === "activated") worker.postMessage("complete?");
      // A failed update leaves the copy in use untouched.
      if (worker.state === "redundant" && !registration.active) say("incomplete");
    });
    registration.addEventListener("updatefound", () => watch(registration.installing));
    if (registration.installing) watch(registration.installing);
    if (registration.waiting && registration.active) say("update");
    else if (registration.active) registration.active.postMessage("complete?");

    // Only the tab that asked reloads: another may be in the middle of a case.
    window.addEventListener("strawline-take-over", () => {
      if (!registration.waiting) return location.reload();
      container.addEventListener("controllerchange", () => location.reload(), { once: true });
      registration.waiting.postMessage("take-over");
    });
  };

  const start = async () => {
    try {
      await wasm_bindgen({ module_or_path: await source() });
    } catch (error) {
      console.error(error);
      trapped(error);
      if (document.getElementById("fault").hidden) show("unable");
    }
    if (script.dataset.offline !== undefined && location.protocol.startsWith("http")) keepOffline();
  };
  start();

  // Another thread on this same script, from disk too; it is sent the module by whoever starts it.
  window.strawlineThread = () => {
    const text = script.src ? `importScripts(${JSON.stringify(script.src)})` : script.textContent;
    return new Worker(URL.createObjectURL(new Blob([text], { type: "text/javascript" })));
  };
} else {
  let ready;
  self.addEventListener("message", async ({ data }) => {
    if (data instanceof WebAssembly.Module) {
      ready = wasm_bindgen({ module_or_path: data });
      ready.catch(() => {}); // told to whoever asks
      return;
    }
    const [number, question] = data;
    let answer = null;
    try {
      await ready;
      answer = wasm_bindgen.strawline_answer(question);
    } catch (error) {
      console.warn(error);
      // A module that trapped may be half-way through anything: it is not asked again.
      ready = Promise.reject(error);
      ready.catch(() => {});
    }
    self.postMessage([number, answer]);
  });
}
