// Nothing typed is lost: reload, a page that is taken away, storage that is blocked, a page that dies.
import { chromium } from "@playwright/test";
import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { expect, test } from "../strawline.mjs";
import { Touch } from "../support/hand.mjs";
import { Strawline } from "../pages/strawline.mjs";
import { breaks, deafen, secondTab, setBroken, stored } from "../support/tabs.mjs";
import { Watch } from "../support/watch.mjs";

test("a reload in mid-case returns to the same stage with the same text", async ({ app }) => {
  await app.open();
  const sheet = await app.demo();
  const sign = await app.sign.textContent();
  await sheet.stage("Before the needle");
  await sheet.type("container_lot", "K-0059");
  await app.draftSaved();
  await app.reload();
  await sheet.on("Before the needle");
  await expect(sheet.field("container_lot")).toHaveValue("K-0059");
  await expect(app.sign).toHaveText(sign);
});

test("a reload in mid-case returns to the same field", async ({ app }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.type("blood_haematocrit", "0.4");
  await app.draftSaved();
  await app.reload();
  await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
  await expect(sheet.field("blood_haematocrit")).toBeFocused();
});

test("a page closed in the middle of a word keeps the word", async ({ app, page, context }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.type("site", "patellar ten");
  await page.close({ runBeforeUnload: true });
  const again = await context.newPage();
  const next = new Strawline(again, new Touch(again));
  await next.open();
  await expect(next.worksheet.field("site")).toHaveValue("patellar ten");
});

test("the header says when the draft was saved", async ({ app }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.type("site", "patellar tendon, distal");
  await expect(sheet.saved).toHaveText("Draft saved 10:31");
});

test("a change in another tab is never written over unseen", async ({ app, context }) => {
  await app.open();
  const sheet = await app.demo();
  await app.draftSaved();
  const page = await context.newPage();
  const other = new Strawline(page, new Touch(page));
  await other.open();
  await other.worksheet.type("site", "patellar tendon, proximal");
  await expect(sheet.field("site")).toHaveValue("patellar tendon, proximal");
});

test("what another page of this address clears is stored again", async ({ app, page }) => {
  await app.open();
  await app.demo();
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  await app.place("Worksheet");
  await app.worksheet.type("site", "patellar tendon, distal");
  await app.draftSaved();
  await page.evaluate(() => {
    const frame = document.createElement("iframe");
    document.body.append(frame);
    frame.contentWindow.localStorage.clear();
  });
  const all = () => page.evaluate(() => JSON.stringify({ ...localStorage }));
  await expect.poll(all).toContain("patellar tendon, distal");
  await expect.poll(all).toContain("Harbour Lane Joint Clinic");
});

test("a case that another tab has changed is not discarded over it", async ({ app, page, context }) => {
  await deafen(page);
  await app.open();
  await app.demo();
  await app.draftSaved();
  const sign = await app.sign.textContent();
  const other = await secondTab(context);
  await other.worksheet.type("site", "patellar tendon, proximal");
  await other.draftSaved();
  await page.bringToFront();
  await app.place("Records");
  await app.hand.press(app.records.openCase(sign).getByRole("button", { name: "Discard" }));
  await expect(app.banner).toContainText("was changed in another tab and here");
  await expect(app.records.openCase(sign)).toHaveCount(1);
  await app.press("Take the other tab’s");
  await expect(app.records.openCase(sign)).toContainText("patellar tendon, proximal");
});

test("what another tab discarded since it asked is gone here too, where the other tab’s is taken", async ({ app, page, context }) => {
  await deafen(page);
  await app.open();
  await app.demo();
  await app.draftSaved();
  const sign = await app.sign.textContent();
  const other = await secondTab(context);
  await other.worksheet.type("site", "patellar tendon, proximal");
  await other.draftSaved();
  await page.bringToFront();
  await app.worksheet.type("site", "patellar tendon, distal");
  await expect(app.banner).toContainText("was changed in another tab and here");
  await other.page.bringToFront();
  await other.place("Records");
  await other.hand.press(other.records.openCase(sign).getByRole("button", { name: "Discard" }));
  await expect(other.records.openCase(sign)).toHaveCount(0);
  await page.bringToFront();
  await app.press("Take the other tab’s");
  await expect(app.records.openCase(sign)).toHaveCount(0);
  await page.waitForTimeout(500);
  expect(await page.evaluate(() => Object.keys(localStorage).filter((key) => key.startsWith("strawline.draft.")))).toEqual([]);
});

test.describe("the Bench in two tabs", () => {
  async function name(app, text) {
    await app.place("Bench");
    await app.bench.openItem("Clinic");
    await app.bench.enter("Clinic", "Name", text);
  }

  test("untouched here, it follows the other", async ({ app, context }) => {
    await app.open();
    await app.place("Bench");
    await app.bench.openItem("Clinic");
    await name(await secondTab(context), "Harbour Lane Joint Clinic");
    await expect(app.bench.entry("Clinic", "Name")).toHaveValue("Harbour Lane Joint Clinic");
    await expect(app.banner).toHaveCount(0);
  });

  for (const [words, stays] of [["Take the other tab’s", "Harbour Lane Joint Clinic"], ["Keep what is here", "Harbour Lane"]]) {
    test(`changed in both, a person decides: ${words}`, async ({ app, page, context }) => {
      await deafen(page);
      await app.open();
      const other = await secondTab(context);
      await name(other, "Harbour Lane Joint Clinic");
      await other.draftSaved();
      await page.bringToFront();
      await name(app, "Harbour Lane");
      await expect(app.banner).toContainText("The Bench was changed in another tab and here.");
      expect((await stored(page, "strawline.bench")).clinic.name).toBe("Harbour Lane Joint Clinic");
      await app.press(words);
      await expect(app.banner).toHaveCount(0);
      await expect(app.bench.entry("Clinic", "Name")).toHaveValue(stays);
      await expect.poll(async () => (await stored(page, "strawline.bench")).clinic.name).toBe(stays);
    });
  }
});

test.describe("what cannot be read at the start", () => {
  test("records: it is told until they are read, and hides no case", async ({ app, page }) => {
    await breaks(page, "IDBObjectStore", "getAll");
    await app.open();
    const sheet = await app.demo();
    await app.draftSaved();
    await setBroken(page, true);
    await app.reload();
    await expect(app.banner).toContainText("Some of what is stored could not be read");
    await sheet.type("blood_haematocrit", "0.4");
    await app.draftSaved();
    await expect(app.banner).toContainText("Some of what is stored could not be read");
    await setBroken(page, false);
    await app.press("Try again");
    await expect(app.banner).toHaveCount(0);
    await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
  });

  test("the Bench: what ships is never written over it", async ({ app, page }) => {
    await breaks(page, "Storage", "getItem", "strawline.bench");
    await app.open();
    await app.place("Bench");
    await app.bench.openItem("Clinic");
    await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
    await app.draftSaved();
    await setBroken(page, true);
    await app.reload();
    await expect(app.banner).toContainText("Some of what is stored could not be read");
    await app.bench.openItem("Clinic");
    await app.bench.enter("Clinic", "Second line", "2nd floor");
    await setBroken(page, false);
    await page.waitForTimeout(500);
    expect((await stored(page, "strawline.bench")).clinic.name).toBe("Harbour Lane Joint Clinic");
    await app.press("Try again");
    await expect(app.banner).toContainText("The Bench was changed in another tab and here.");
    await app.press("Take the other tab’s");
    await expect(app.bench.entry("Clinic", "Name")).toHaveValue("Harbour Lane Joint Clinic");
    await expect(app.bench.entry("Clinic", "Second line")).toHaveValue("");
  });
});

test.describe("with storage blocked by the browser", () => {
  // A profile of its own whose settings let no site keep anything, as a clinic's policy may.
  const blocked = test.extend({
    inBlocked: async ({ launchOptions, baseURL, viewport }, use, testInfo) => {
      const profile = testInfo.outputPath("profile");
      await mkdir(join(profile, "Default"), { recursive: true });
      await writeFile(
        join(profile, "Default", "Preferences"),
        JSON.stringify({ profile: { default_content_setting_values: { cookies: 2 } } }),
      );
      const context = await chromium.launchPersistentContext(profile, { ...launchOptions, baseURL, viewport, hasTouch: true });
      const watch = new Watch([new URL(baseURL).origin]);
      await watch.over(context);
      const page = await context.newPage();
      await use(new Strawline(page, new Touch(page)));
      await context.close();
      expect(watch.faults).toEqual([]);
    },
  });

  blocked("a banner says that nothing outlasts the page", async ({ inBlocked: app }) => {
    await app.open();
    expect(await app.page.evaluate(() => { try { return localStorage.length; } catch (error) { return error.name; } })).toBe("SecurityError");
    await expect(app.banner).toContainText("Nothing outlasts this page: this browser blocks its storage.");
  });

  blocked("a case is worked as ever, and nothing typed is lost", async ({ inBlocked: app }) => {
    await app.open();
    const sheet = await app.demo();
    await sheet.type("site", "patellar tendon, distal");
    await sheet.stage("Before the needle");
    await sheet.stage("Order");
    await expect(sheet.field("site")).toHaveValue("patellar tendon, distal");
    await expect(sheet.answer).toContainText("15 mL mark");
  });
});

test.describe("when the page dies", () => {
  const dies = /RuntimeError|RangeError|unreachable|out of bounds|panicked|TypeError|memory|recursively|decode|Utf/i;

  /** Overwrites the module's memory through what it exports, and types on: a trap from within. */
  async function trap(page) {
    await page.evaluate(async () => {
      const module = await wasm_bindgen();
      new Uint8Array(module.memory.buffer).fill(0xff);
    });
    await page.keyboard.type("7");
  }

  test("a banner says so, and that the draft is saved", async ({ app, page, watch }) => {
    watch.expectFault(dies);
    await app.open();
    const sheet = await app.demo();
    await sheet.type("blood_haematocrit", "0.4");
    await app.draftSaved();
    await trap(page);
    await expect(page.getByText("Strawline has stopped.")).toBeVisible();
    await expect(page.getByText("Reload the page: your draft is saved.")).toBeVisible();
  });

  test("what was typed before is there after the reload the banner asks for", async ({ app, page, watch }) => {
    watch.expectFault(dies);
    await app.open();
    const sheet = await app.demo();
    await sheet.type("blood_haematocrit", "0.4");
    await app.draftSaved();
    await trap(page);
    await expect(page.getByText("Strawline has stopped.")).toBeVisible();
    await app.reload();
    await expect(sheet.field("blood_haematocrit")).toHaveValue("0.4");
  });

  test("a panic tells the page itself, by its hook", async ({ app, page, watch }) => {
    watch.expectFault(dies);
    await app.open();
    const sheet = await app.demo();
    await app.draftSaved();
    // The view machinery takes it that a browser can make elements. With the page's own ears for traps shut, only
    // the module's hook can tell.
    const said = page.waitForEvent("console", { predicate: (m) => /panicked at/.test(m.text()) });
    await page.evaluate(() => {
      for (const what of ["error", "unhandledrejection"]) {
        addEventListener(what, (event) => event.stopImmediatePropagation(), { capture: true });
      }
      const broken = () => { throw new TypeError("no more elements"); };
      Document.prototype.createElement = broken;
      Node.prototype.cloneNode = broken;
    });
    await sheet.stage("Product").catch(() => {});
    await said;
    await expect(page.getByText("Reload the page: your draft is saved.")).toBeVisible();
  });

  test("with an unsaved change the banner says to write it down first", async ({ app, page }) => {
    await app.open();
    await app.demo();
    await app.draftSaved();
    await page.evaluate(() => {
      delete document.documentElement.dataset.draft;
      dispatchEvent(new Event("strawline-fault"));
    });
    await expect(page.getByText("Write down what you need from this page, then reload it")).toBeVisible();
  });
});

test("a second person’s check that comes with another tab’s case holds for the amount it was made of", async ({ app, page, context }) => {
  await deafen(page);
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await app.draftSaved();
  const other = await secondTab(context);
  await other.worksheet.on("Before the needle");
  await other.worksheet.typeAll({ anticoagulant_chosen: "2.4", "second-person": "JT" });
  await other.worksheet.press("Amount checked");
  await expect(other.page.getByText(/anticoagulant amount checked, .*JT/).first()).toBeVisible();
  await other.draftSaved();
  await page.bringToFront();
  await sheet.type("container_lot", "K-0059");
  await expect(app.banner).toContainText("was changed in another tab and here");
  await app.press("Take the other tab’s");
  await expect(sheet.field("anticoagulant_chosen")).toHaveValue("2.4");
  await expect(page.getByText(/anticoagulant amount checked, .*JT/).first()).toBeVisible();
  await app.draftSaved();
  const kept = () => page.evaluate(() => {
    const [key] = Object.keys(localStorage).filter((key) => key.startsWith("strawline.draft."));
    const { checks, lapsed } = JSON.parse(localStorage.getItem(key));
    return [checks.anticoagulant?.by ?? "nobody", lapsed?.length ?? 0];
  });
  expect(await kept()).toEqual(["JT", 0]);
  // Changed here, it is of another amount.
  await sheet.type("anticoagulant_chosen", "2.2");
  await expect(sheet.field("second-person")).toBeVisible();
  await expect.poll(kept).toEqual(["nobody", 1]);
});
