// What leaves the page: text for the chart, tables, FHIR, a backup and back. Nothing goes anywhere by itself, and no
// file's name tells of a patient.
import { readFile } from "node:fs/promises";
import { Strawline } from "../pages/strawline.mjs";
import { expect, test } from "../strawline.mjs";
import { Mouse } from "../support/hand.mjs";
import { multiply } from "../support/history.mjs";
import { handedOver, signed } from "../support/scenario.mjs";
import { setBroken } from "../support/tabs.mjs";

/** The file that a tap saves: its name and its text. */
async function saved(app, words) {
  const waits = app.page.waitForEvent("download");
  await app.press(words);
  const download = await waits;
  return { name: download.suggestedFilename(), text: await readFile(await download.path(), "utf8") };
}

async function openFiles(app) {
  await app.place("Records");
  await app.records.unfold("Records as files");
}

const nobody = (name) => expect(name).toMatch(/^strawline-[a-z-]+\.(csv|json)$/);

test("the case is copied for the chart, and the text is the record's", async ({ app, page, context, watch }) => {
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  const sheet = await handedOver(app);
  const sign = (await app.sign.textContent()).trim();
  const before = watch.requests.length;
  await app.press("Copy for the chart");
  await expect(page.getByText(`Copied: the text with check sign ${sign} at its head. Paste it into the chart, then check that it is the right patient’s.`)).toBeVisible();
  const unsigned = await page.evaluate(() => navigator.clipboard.readText());
  for (const words of ["Demo, not a patient\n", "HL-0417", "RIGHT patellar tendon", "Platelets drawn: ", "Platelets in product: ", "predicted, not counted", "Not signed."]) {
    expect(unsigned).toContain(words);
  }
  expect(unsigned).not.toContain("signature");
  await sheet.next("Sign the record");
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await app.place("Records");
  await app.records.signed.getByRole("button", { name: "Copy for the chart" }).click();
  await expect(page.getByText(`Copied: the text with check sign ${sign} at its head. Paste it into the chart`)).toBeVisible();
  const text = await page.evaluate(() => navigator.clipboard.readText());
  expect(text).toContain("Signed by MO, 12 Mar 2026, 11:40");
  expect(text).not.toContain("Not signed.");
  expect(text.replace(/\nSigned by .*|\nRecord check .*/g, "")).toContain("Platelets in product: ");
  // The browser fetches the icon of the page when it likes.
  const asked = watch.requests.slice(before).filter((url) => !/\/icon-[0-9a-f]+\.svg$/.test(url));
  expect(asked, "requests while copying").toEqual([]);
});

test("what became of a copy stands at the row that was tapped, and says when the browser refused", async ({ app, page, context }) => {
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  await signed(app);
  await multiply(page, [900, 910, 920]);
  await app.reload();
  await app.place("Records");
  await expect(app.records.signed).toHaveCount(4);
  const copy = (row) => app.hand.press(row.getByRole("button", { name: "Copy for the chart" }));
  const [first, last] = [app.records.signed.first(), app.records.signed.last()];
  await copy(first);
  await expect(first.getByText("Copied: ")).toBeVisible();
  await page.evaluate(() => { navigator.clipboard.writeText = () => Promise.reject(new Error("refused")); });
  await copy(last);
  await expect(last.getByText("Not copied: the browser does not let the page")).toBeInViewport();
  await expect(last.getByLabel("Text for the chart")).toHaveValue(/HL-0417/);
  await expect(first.getByText("Copied: ")).toHaveCount(0);
});

test("where the browser does not copy, the text can be copied by hand", async ({ app, page }) => {
  await page.addInitScript(() => Object.defineProperty(navigator, "clipboard", { value: undefined }));
  await handedOver(app);
  await app.press("Copy for the chart");
  await expect(page.getByText("Not copied: the browser does not let the page")).toBeVisible();
  const text = page.getByLabel("Text for the chart");
  await expect(text).toHaveValue(/HL-0417/);
  await text.focus();
  await page.keyboard.press("ControlOrMeta+a");
  expect(await text.evaluate((one) => one.selectionEnd - one.selectionStart)).toBeGreaterThan(500);
});

test("the clinic orders the parts of the text", async ({ app, page }) => {
  await page.addInitScript(() => Object.defineProperty(navigator, "clipboard", { value: undefined }));
  await signed(app);
  await app.place("Bench");
  await app.bench.openItem("Order of the text for the chart");
  const notes = page.getByRole("button", { name: "Earlier: Dose by part of the site" });
  for (let n = 0; n < 4; n += 1) await app.hand.press(notes);
  await expect(notes).toBeDisabled();
  await app.draftSaved();
  await app.reload();
  await app.place("Records");
  await app.records.signed.getByRole("button", { name: "Copy for the chart" }).click();
  const text = await page.getByLabel("Text for the chart").inputValue();
  expect(text.indexOf("Dose by part of the site")).toBeLessThan(text.indexOf("HL-0417"));
  expect(text.startsWith("Demo, not a patient")).toBe(true);
});

test("records are saved as tables and as a FHIR file", async ({ app, page }) => {
  await signed(app);
  await openFiles(app);
  const table = await saved(app, "Records as a table (CSV)");
  const [head, row, end] = table.text.split("\r\n");
  expect(head.split(",")).toContain("platelets_in_product_counted_1e9");
  expect(row).toContain("HL-0417");
  expect(end).toBe("");
  const quality = await saved(app, "Quality data without identifiers (CSV)");
  expect(quality.text.split("\r\n"), "a demo is left out").toHaveLength(2);
  expect(quality.text).not.toContain("HL-0417");
  await page.getByLabel("Dates in quality data").selectOption("none");
  const waits = page.waitForEvent("download");
  await app.records.signed.getByRole("button", { name: "FHIR file" }).click();
  const download = await waits;
  const bundle = JSON.parse(await readFile(await download.path(), "utf8"));
  expect(bundle.resourceType).toBe("Bundle");
  expect(JSON.stringify(bundle), "a demo names nobody").not.toContain("HL-0417");
  for (const name of [table.name, quality.name, download.suggestedFilename()]) nobody(name);
});

test("tables wait until all records are read, and say so", async ({ app, page }) => {
  await page.addInitScript(() => {
    const works = IDBObjectStore.prototype.getAll;
    IDBObjectStore.prototype.getAll = function may(range, ...more) {
      const lines = range?.lower === "strawline.line.";
      if (lines && sessionStorage.getItem("broken")) throw new DOMException("not now", "UnknownError");
      return works.call(this, range, ...more);
    };
  });
  await signed(app);
  await setBroken(page, true);
  await app.reload();
  await openFiles(app);
  const tables = ["Records as a table (CSV)", "Quality data without identifiers (CSV)"];
  const waits = page.getByText("Not all records of this device are read yet.");
  await expect(waits).toBeVisible();
  for (const words of tables) await expect(app.button(words)).toBeDisabled();
  await expect(app.button("Back up everything")).toBeEnabled();
  await setBroken(page, false);
  await app.press("Try again");
  await expect(waits).toHaveCount(0);
  for (const words of tables) await expect(app.button(words)).toBeEnabled();
  expect((await saved(app, tables[0])).text).toContain("HL-0417");
});

test("a backup counts only where the browser took the file", async ({ app, page }) => {
  await page.addInitScript(() => {
    const make = URL.createObjectURL;
    URL.createObjectURL = (blob) => {
      if (window.broken) throw new Error("no more of these");
      return make.call(URL, blob);
    };
  });
  await signed(app);
  await openFiles(app);
  await page.evaluate(() => { window.broken = true; });
  await app.press("Back up everything");
  await expect(app.banner).toContainText("no more of these");
  await expect(page.getByText("No backup was made on this device")).toBeVisible();
  await page.evaluate(() => { window.broken = false; });
  await saved(app, "Back up everything");
  await expect(page.getByText("Last backup 12 Mar 2026")).toBeVisible();
});

test("a backup comes back on another device, once, and is reported line by line", async ({ app, page, browser, baseURL }) => {
  await signed(app);
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  await openFiles(app);
  const backup = await saved(app, "Back up everything");
  nobody(backup.name);
  expect(JSON.parse(backup.text).kind).toBe("strawline_backup");
  const other = await (await browser.newContext({ baseURL })).newPage();
  await other.goto("./#records");
  const file = { name: "strawline-backup.json", mimeType: "application/json", buffer: Buffer.from(backup.text) };
  await other.locator("summary", { hasText: "Records as files" }).click();
  const bring = (buffer) => other.getByLabel("Restore from a backup").setInputFiles({ ...file, buffer });
  await bring(file.buffer);
  const report = other.locator("#restored li");
  await expect(report.filter({ hasText: /^Record [0-9][A-Z]: added\.$/ })).toHaveCount(1);
  await expect(report.filter({ hasText: "Bench: added." })).toHaveCount(1);
  const rows = other.locator("section", { has: other.getByRole("heading", { name: "Signed records" }) }).locator("tbody tr");
  await expect(rows).toHaveCount(1);
  await bring(file.buffer);
  await expect(report.filter({ hasText: "already here." }).first()).toBeVisible();
  await expect(report.filter({ hasText: "added." })).toHaveCount(0);
  await other.reload();
  await expect(rows).toHaveCount(1);
  await expect(rows).toContainText("HL-0417");
  await other.locator("summary", { hasText: "Records as files" }).click();
  await bring(Buffer.from(backup.text.slice(0, 300)));
  await expect(report.first()).toHaveText("This is no backup of Strawline, or it is damaged; nothing was changed.");
  await expect(rows).toHaveCount(1);
  await other.context().close();
});

/** Another device, at its Records: a browser of its own, where a text is not copied but shown. */
async function device(browser, baseURL) {
  const page = await (await browser.newContext({ baseURL })).newPage();
  await page.clock.setFixedTime(new Date("2026-03-12T12:00:00+01:00"));
  await page.addInitScript(() => Object.defineProperty(navigator, "clipboard", { value: undefined }));
  const app = new Strawline(page, new Mouse(page));
  await app.open("./#records");
  await app.records.unfold("Records as files");
  return app;
}

/** Restores a backup, until the report has a line of these words. */
async function restore(app, text, says) {
  const file = { name: "strawline-backup.json", mimeType: "application/json", buffer: Buffer.from(text) };
  await app.page.getByLabel("Restore from a backup").setInputFiles(file);
  await expect(app.page.locator("#restored li").filter({ hasText: says })).toHaveCount(1);
}

test("a record that was looked at is told as a restore leaves it", async ({ app, page, browser, baseURL }) => {
  const sheet = await signed(app);
  await openFiles(app);
  const before = await saved(app, "Back up everything");
  await app.place("Worksheet");
  await sheet.stage("Later");
  await sheet.typeAll({ adverse_event: "faint at 11:50", amend_by: "JT", amend_reason: "seen after the injection" });
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await openFiles(app);
  const after = await saved(app, "Back up everything");
  const other = await device(browser, baseURL);
  const copy = () => other.hand.press(other.records.signed.getByRole("button", { name: "Copy for the chart" }));
  const text = other.page.getByLabel("Text for the chart");
  await restore(other, before.text, /^Record [0-9][A-Z]: added\.$/);
  await copy();
  await expect(text).toHaveValue(/HL-0417/);
  await expect(text).not.toHaveValue(/seen after the injection/);
  await restore(other, after.text, /^Record [0-9][A-Z]: 1 amendment added\.$/);
  await expect(other.records.signed).toContainText("amended");
  // The record is read anew a moment after the report.
  await expect(async () => {
    await copy();
    await expect(text).toHaveValue(/seen after the injection/, { timeout: 500 });
  }).toPass({ timeout: 10_000 });
  await other.page.context().close();
});

test("an amendment in progress that a backup brings stands over its record at once", async ({ app, browser, baseURL }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.type("adverse_event", "faint at 11:50");
  await app.draftSaved();
  await openFiles(app);
  const backup = await saved(app, "Back up everything");
  const other = await device(browser, baseURL);
  await restore(other, backup.text, /^Open case [0-9][A-Z]: added\.$/);
  const since = "What was entered since the signature is not signed yet";
  await expect(other.records.section("Open cases")).toContainText(since);
  await expect(other.page.getByText("apart from what is typed here")).toHaveCount(0);
  await other.place("Worksheet");
  await other.worksheet.stage("Later");
  await expect(other.worksheet.field("adverse_event")).toHaveValue("faint at 11:50");
  await expect(other.page.locator("button.next", { hasText: "Amend the record" })).toBeVisible();
  await other.page.context().close();
});
