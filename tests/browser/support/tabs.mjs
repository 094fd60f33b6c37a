// Two tabs of one browser, and storage that fails.
import { Strawline } from "../pages/strawline.mjs";
import { Touch } from "./hand.mjs";

/** A second tab, open at the same address. */
export async function secondTab(context) {
  const page = await context.newPage();
  const app = new Strawline(page, new Touch(page));
  await app.open();
  return app;
}

/** The same in a window of its own: a browser draws a tab behind another once a second. */
export async function secondWindow(page) {
  const open = () => void window.open(location.href, "_blank", "popup,noopener");
  const [other] = await Promise.all([page.context().waitForEvent("page"), page.evaluate(open)]);
  const app = new Strawline(other, new Touch(other));
  await app.ready();
  return app;
}

/** From its next load on a tab hears nothing of the others, as one that sleeps in the background. */
export function deafen(page) {
  return page.addInitScript(() => addEventListener("storage", (event) => event.stopImmediatePropagation(), true));
}

/** From its next load on the browser's storage fails in a method while `window.broken` says so. */
export function breaks(page, type, method, key = "") {
  return page.addInitScript(([type, method, key]) => {
    const works = window[type].prototype[method];
    window.calls = 0;
    window.broken ??= sessionStorage.getItem("broken") !== null;
    window[type].prototype[method] = function may(...all) {
      window.calls += 1;
      const meant = key === "" || all[0] === key;
      if (window.broken && meant) throw new DOMException("no room", "QuotaExceededError");
      return works.apply(this, all);
    };
  }, [type, method, key]);
}

/** Whether it fails, now and after a reload. */
export function setBroken(page, broken) {
  return page.evaluate((broken) => {
    if (broken) sessionStorage.setItem("broken", "yes");
    else sessionStorage.removeItem("broken");
    window.broken = broken;
  }, broken);
}

/** What stands under a key of localStorage. */
export const stored = (page, key) => page.evaluate((key) => JSON.parse(localStorage.getItem(key)), key);

/** The one signed record. */
export function storedRecord(page) {
  return page.evaluate(() => new Promise((done, fail) => {
    const open = indexedDB.open("strawline");
    open.onerror = () => fail(open.error);
    open.onsuccess = () => {
      const range = IDBKeyRange.bound("strawline.record.", "strawline.record.\uffff");
      const all = open.result.transaction("texts").objectStore("texts").getAll(range);
      all.onsuccess = () => done(all.result.map(JSON.parse)[0]);
    };
  }));
}
