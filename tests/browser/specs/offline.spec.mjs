// Without a network: after the first visit, in the middle of a case, with a copy thinned out, with a newer version.
import { expect, test } from "../strawline.mjs";
import { Touch } from "../support/hand.mjs";
import { Strawline } from "../pages/strawline.mjs";
import { breaks, setBroken } from "../support/tabs.mjs";

/** The page at the test's own host. */
async function at(app, host) {
  await app.open(host.url);
  await app.offlineReady();
}

const caches = (page) => page.evaluate(() => window.caches.keys());

for (const place of ["Worksheet", "Records", "Bench"]) {
  test(`${place} says when it is ready for use without a network, and nothing moves @everywhere`, async ({ app, page }) => {
    // The copy is made when the test says so, after a look at where everything stands.
    await page.addInitScript(() => {
      const { register } = ServiceWorkerContainer.prototype;
      ServiceWorkerContainer.prototype.register = async function later(...all) {
        await new Promise((go) => { window.go = go; });
        return register.apply(this, all);
      };
    });
    await app.open(`./#${place.toLowerCase()}`);
    await page.waitForFunction(() => window.go && document.documentElement.classList.contains("fonts"));
    const where = () => page.locator(".page > *").evaluateAll((all) => all.map((one) => JSON.stringify(one.getBoundingClientRect())));
    await page.waitForFunction(() => document.fonts.status === "loaded" && [...document.fonts].some((one) => one.status === "loaded"));
    const before = await where();
    await expect(app.offline).toBeHidden();
    await page.evaluate(() => window.go());
    await expect(app.offline).toBeVisible();
    expect(await caches(page)).toHaveLength(1);
    expect(await where()).toEqual(before);
    await expect(app.banner).toHaveCount(0);
  });
}

test("no banner comes by itself in the first seconds of a visit, first or second", async ({ app, page }) => {
  await page.addInitScript(() => {
    window.banners = [];
    addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
      for (const one of document.querySelectorAll(".banner")) window.banners.push(one.textContent);
    }).observe(document.body, { childList: true, subtree: true }));
  });
  for (const visit of ["first", "second"]) {
    if (visit === "first") await app.open();
    else await app.reload();
    await app.offlineReady();
    if (visit === "first") {
      await app.demo();
      await app.draftSaved();
    }
    await page.waitForTimeout(3000);
    expect(await page.evaluate(() => window.banners), visit).toEqual([]);
  }
});

test("once ready it asks its host for nothing but the worker's check", async ({ app, page, context, host }) => {
  await at(app, host);
  const devtools = await context.newCDPSession(page);
  await devtools.send("Network.clearBrowserCache");
  const before = host.asked.length;
  expect(host.asked).toContain("index.html");
  const sheet = await app.demo();
  for (const stage of ["Before the needle", "Spinning", "Product", "Later"]) await sheet.stage(stage);
  await app.place("Bench");
  await app.place("Records");
  await app.reload();
  await app.offlineReady();
  // The browser makes that check by itself, some time after a load.
  const since = () => host.asked.slice(before);
  await expect.poll(since, { timeout: 15_000 }).toContain("sw.js");
  // A browser may look for the page's icon behind the worker's back.
  expect(since().filter((name) => name !== "sw.js" && !name.startsWith("icon-"))).toEqual([]);
});

test("a second visit starts with the host gone", async ({ app, host }) => {
  await at(app, host);
  await host.stop();
  await app.open(`${host.url}?from=home#bench`);
  await expect(app.page.getByRole("heading", { level: 1, name: "Bench" })).toBeVisible();
  await app.offlineReady();
});

test("the network goes in mid-case: the case goes on, and a reload returns to it", async ({ app, host }) => {
  await at(app, host);
  const sheet = await app.demo();
  await sheet.type("site", "patellar tendon, distal");
  await host.stop();
  await sheet.type("blood_haematocrit", "0.4");
  await app.draftSaved();
  await app.reload();
  await expect(sheet.field("site")).toHaveValue("patellar tendon, distal");
  await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
});

test("the network switched off in mid-case changes nothing", async ({ app, context }) => {
  await app.open();
  await app.offlineReady();
  const sheet = await app.demo();
  await context.setOffline(true);
  await sheet.type("blood_haematocrit", "0.4");
  await app.draftSaved();
  await app.reload();
  await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
});

test("a copy the browser thinned out says incomplete, and mends itself when the host is back", async ({ app, page, context, host, watch }) => {
  watch.expectFault(/Failed to load resource/);
  await at(app, host);
  await page.evaluate(async () => {
    const cache = await caches.open((await caches.keys())[0]);
    const icon = (await cache.keys()).find((one) => one.url.includes("icon-512"));
    await cache.delete(icon);
  });
  const devtools = await context.newCDPSession(page);
  await devtools.send("Network.clearBrowserCache");
  await host.stop();
  await app.reload();
  await expect(app.banner).toContainText("Not ready for use without a network");
  await host.back();
  await app.reload();
  await app.offlineReady();
});

test("a first visit with a file missing works, and says that the copy is incomplete", async ({ app, host, watch }) => {
  watch.expectFault(/Failed to load resource/);
  await host.remove(/^icon-512/);
  await app.open(host.url);
  await expect(app.banner).toContainText("Not ready for use without a network");
  const sheet = await app.demo();
  await expect(sheet.answer).toContainText("15 mL mark");
});

test("without its module the shell stays and says so", async ({ page, host, watch }) => {
  watch.expectFault(/Failed to load|404|WebAssembly|wasm|thrown/);
  await host.remove(/\.wasm/);
  await page.goto(host.url);
  await expect(page.getByText("Strawline could not start.")).toBeVisible();
  await expect(page.getByText("local policy and law come first")).toBeVisible();
  await expect(page.getByText("Strawline has stopped.")).toBeHidden();
});

test.describe("without JavaScript", () => {
  test.use({ javaScriptEnabled: false });
  test("the shell says what it needs", async ({ page }) => {
    await page.goto("./");
    const shell = await page.locator("body").innerText();
    expect(shell).toContain("Strawline computes in your browser and needs JavaScript: please allow it for this page.");
    expect(shell).not.toMatch(/has stopped|could not start/);
  });
});

test.describe("a newer version", () => {
  test("waits, and never loads itself in mid-case", async ({ app, page, host }) => {
    await at(app, host);
    const sheet = await app.demo();
    await page.evaluate(() => { window.mark = "this page"; });
    await host.publish("Strawline two");
    await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update());
    await expect(app.banner).toContainText("A newer version of Strawline is ready.");
    await sheet.type("blood_haematocrit", "0.4");
    await sheet.stage("Before the needle");
    await page.waitForTimeout(1500);
    expect(await page.evaluate(() => window.mark)).toBe("this page");
    await expect(page).toHaveTitle("Strawline");
  });

  test("still waits after a reload", async ({ app, page, host }) => {
    await at(app, host);
    await app.demo();
    await host.publish("Strawline two");
    await app.reload();
    await expect(app.banner).toContainText("A newer version of Strawline is ready.");
    await app.reload();
    await expect(page).toHaveTitle("Strawline");
    await expect(app.banner).toContainText("A newer version of Strawline is ready.");
  });

  test("asks once more while a case is open, then loads with the case as it was", async ({ app, page, host }) => {
    await at(app, host);
    const sheet = await app.demo();
    await sheet.type("blood_haematocrit", "0.4");
    await host.publish("Strawline two");
    await app.reload();
    await app.press("Load the new version");
    await expect(app.banner).toContainText("A case is open.");
    await expect(page).toHaveTitle("Strawline");
    await app.press("Load it now");
    await expect(page).toHaveTitle("Strawline two");
    await app.ready();
    await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
  });

  test("is not loaded while what was typed cannot be stored", async ({ app, page, host }) => {
    await breaks(page, "Storage", "setItem");
    await at(app, host);
    const sheet = await app.demo();
    await app.draftSaved();
    await host.publish("Strawline two");
    await app.reload();
    await setBroken(page, true);
    await sheet.type("blood_haematocrit", "0.4");
    await app.press("Load the new version");
    await app.press("Load it now");
    await expect(app.banner).toContainText("Not saved: this browser’s storage is full.");
    await page.waitForTimeout(1500);
    await expect(page).toHaveTitle("Strawline");
    await setBroken(page, false);
    await app.press("Load it now");
    await expect(page).toHaveTitle("Strawline two");
    await app.ready();
    await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
  });

  test("loaded in one tab leaves the other alone", async ({ app, context, host, page }) => {
    await at(app, host);
    const second = await context.newPage();
    const other = new Strawline(second, new Touch(second));
    await other.open(host.url);
    await second.evaluate(() => { window.mark = "this page"; });
    await host.publish("Strawline two");
    await app.reload();
    await app.press("Load the new version");
    await expect(page).toHaveTitle("Strawline two");
    await second.waitForTimeout(1000);
    expect(await second.evaluate(() => window.mark)).toBe("this page");
    await expect(other.banner).toContainText("A newer version of Strawline is ready.");
  });

  test("taken over leaves one cache of its own, and another page's alone", async ({ app, page, host }) => {
    await at(app, host);
    await page.evaluate(() => Promise.all([caches.open("other"), caches.open("strawline-/elsewhere/ 1")]));
    await host.publish("Strawline two");
    await app.reload();
    await app.press("Load the new version");
    await expect(page).toHaveTitle("Strawline two");
    await app.offlineReady();
    const names = await caches(page);
    expect(names.filter((name) => name.startsWith("strawline-/ "))).toHaveLength(1);
    expect(names).toEqual(expect.arrayContaining(["other", "strawline-/elsewhere/ 1"]));
  });

  test("half deployed is not taken", async ({ app, page, host, watch }) => {
    watch.expectFault(/Failed to load resource|integrity|ServiceWorker/);
    await at(app, host);
    await host.publish("Strawline two");
    await host.spoil("index.html");
    await app.reload();
    await page.waitForTimeout(1500);
    await expect(page).toHaveTitle("Strawline");
    await expect(page.getByText("newer version")).toHaveCount(0);
  });
});
