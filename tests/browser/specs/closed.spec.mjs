// Cases and records closed under a passphrase: what lies in the browser's storage tells nothing, and nothing is lost.
import { pathToFileURL } from "node:url";
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { kept } from "../support/kept.mjs";
import { print } from "../support/paper.mjs";
import { signed, spun } from "../support/scenario.mjs";
import { secondTab } from "../support/tabs.mjs";

const PHRASE = "straw and garnet";
const FILE = pathToFileURL(process.env.STRAWLINE_FILE).href;
/** Whoever and whatever the scenario names. */
const TELLING = /HL-0417|patellar|Reyes|1982|blood_count/;

/** Closes everything, and gives the recovery key. */
async function close(app) {
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": PHRASE });
  await app.press("Close cases and records");
  const key = app.page.locator(".note b.id");
  await expect(key).toBeVisible();
  await expect.poll(async () => TELLING.test(await kept(app.page))).toBe(false);
  return key.textContent();
}

const locked = (app) => expect(app.page.getByRole("heading", { name: "Locked" })).toBeVisible();

async function open(app, phrase = PHRASE) {
  await app.type("unlock", phrase);
  await app.press("Open");
}

test("closed, the storage tells nothing of a patient; opened, everything is there", async ({ app, page }) => {
  await signed(app);
  await app.place("Records");
  await app.press("New case");
  await app.worksheet.type("site", "patellar tendon, second case");
  await app.draftSaved();
  expect(await kept(page)).toMatch(TELLING);
  await close(app);
  expect(await kept(page)).toContain("closed-1 ");
  await app.reload();
  await locked(app);
  expect(await page.locator("body").textContent()).not.toMatch(TELLING);
  await open(app, "straw and garnets");
  await expect(page.getByText("That does not open the records.")).toBeVisible();
  await open(app);
  await app.place("Worksheet");
  await expect(app.field("site")).toHaveValue("patellar tendon, second case");
  await app.worksheet.type("site", "patellar tendon, third");
  await app.draftSaved();
  expect(await kept(page)).not.toMatch(TELLING);
  await app.place("Records");
  await expect(app.records.signed).toHaveCount(1);
  await expect(app.records.signed).toContainText("HL-0417");
});

test("the recovery key opens what the passphrase would, and is printed alone", async ({ app, page }) => {
  const sheet = await app.demo();
  await sheet.type("site", "patellar tendon, distal");
  const key = await close(app);
  expect(key).toMatch(/^([0-9A-HJKMNP-TV-Z]{4}-){7}[0-9A-HJKMNP-TV-Z]{4}$/);
  await page.evaluate(() => { window.print = () => {}; });
  await app.press("Print the recovery key");
  await expect.poll(async () => (await print(page, "A4")).text).toContain(key);
  expect((await print(page, "A4")).text).not.toMatch(TELLING);
  await app.press("It is kept safe");
  await expect(page.getByText(key)).toHaveCount(0);
  await app.reload();
  await app.press("Use the recovery key");
  await open(app, "0000");
  await expect(page.getByText("A recovery key has 32 letters and figures")).toBeVisible();
  await open(app, key.toLowerCase().replaceAll("-", " "));
  await app.place("Worksheet");
  await expect(app.field("site")).toHaveValue("patellar tendon, distal");
});

test("a locked page shows sign, clock and use-by, and nothing else of a case @everywhere", async ({ app, page }) => {
  const sheet = await spun(app);
  const sign = await app.sign.textContent();
  await close(app);
  await app.press("It is kept safe");
  await app.press("Lock the page now");
  await locked(app);
  const text = await page.locator("#app").innerText();
  expect(text).toContain(sign.trim());
  expect(text).toMatch(/use by\s+\d\d:\d\d/i);
  expect(text).not.toMatch(TELLING);
  expect((await print(page, "A4")).text).not.toMatch(TELLING);
  await open(app);
  await app.place("Worksheet");
  await sheet.on("Product");
});

for (const colorScheme of ["light", "dark"]) {
  test(`the locked page is accessible, ${colorScheme}`, async ({ app, page }) => {
    await page.emulateMedia({ colorScheme });
    await spun(app);
    await close(app);
    expect(await axe(page)).toEqual([]);
    await app.press("Lock the page now");
    await locked(app);
    expect(await axe(page)).toEqual([]);
    await expect(page.locator("#unlock")).toBeVisible();
  });
}

test("left alone it locks itself, and a touch puts that off", async ({ app, page }) => {
  await page.addInitScript(() => {
    const real = performance.now.bind(performance);
    window.later = 0;
    performance.now = () => real() + window.later;
  });
  await app.reload();
  await app.demo();
  await close(app);
  await app.pick("The page is locked", "after 2 minutes without a touch");
  await page.evaluate(() => { window.later += 100_000; });
  await page.keyboard.press("Shift");
  await page.evaluate(() => { window.later += 100_000; });
  await app.tick();
  await expect(page.getByRole("heading", { name: "Bench" })).toBeVisible();
  await page.evaluate(() => { window.later += 30_000; });
  await locked(app);
});

test("another tab is locked too, and writes nothing in clear meanwhile", async ({ app, page, context }) => {
  const sheet = await app.demo();
  await app.draftSaved();
  const other = await secondTab(context);
  await close(other);
  await locked(app);
  await page.waitForTimeout(400);
  expect(await kept(page)).not.toMatch(TELLING);
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("patient_reference")).toHaveValue("HL-0417");
  await sheet.type("site", "patellar tendon, distal");
  await app.draftSaved();
  expect(await kept(page)).not.toMatch(TELLING);
});

test("another passphrase, and none at all", async ({ app, page }) => {
  await app.demo();
  await close(app);
  await app.press("It is kept safe");
  await app.unfold("Another passphrase, or none");
  await app.typeAll({ "passphrase-now": "not the one", "passphrase-new": "a quite other one" });
  await app.press("Change the passphrase");
  await expect(page.getByText("That does not open the records.")).toBeVisible();
  await app.typeAll({ "passphrase-now": PHRASE, "passphrase-new": "short" });
  await app.press("Change the passphrase");
  await expect(page.getByText("Too short: a passphrase has at least 10 characters.")).toBeVisible();
  await app.typeAll({ "passphrase-now": PHRASE, "passphrase-new": "a quite other one" });
  await app.press("Change the passphrase");
  await expect(page.getByText("From now on the new passphrase opens the records")).toBeVisible();
  await app.reload();
  await open(app);
  await expect(page.getByText("That does not open the records.")).toBeVisible();
  await open(app, "a quite other one");
  await app.place("Bench");
  await app.unfold("Another passphrase, or none");
  await app.type("passphrase-now", "a quite other one");
  await app.press("Leave everything open");
  await expect(app.button("Close cases and records")).toBeVisible();
  expect(await kept(page)).toMatch(/HL-0417/);
  await app.reload();
  await app.place("Worksheet");
  await expect(app.field("patient_reference")).toHaveValue("HL-0417");
});

test("two passphrases that differ close nothing", async ({ app, page }) => {
  await app.demo();
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": `${PHRASE}s` });
  await app.press("Close cases and records");
  await expect(page.getByText("The two are not the same.")).toBeVisible();
  expect(await kept(page)).not.toContain("closed-1 ");
});

test("opened from a disk, cases outlast the page once they are closed", async ({ app, page }) => {
  await app.open(FILE);
  const sheet = await app.demo();
  await sheet.type("site", "patellar tendon, distal");
  await close(app);
  await expect(app.banner).toHaveCount(0);
  await app.reload();
  await locked(app);
  await open(app);
  await app.place("Worksheet");
  await expect(app.field("site")).toHaveValue("patellar tendon, distal");
  expect(await kept(page)).not.toMatch(TELLING);
});
