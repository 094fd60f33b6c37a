// Cases and records closed under a passphrase: what lies in the browser's storage tells nothing, and nothing is lost.
import { pathToFileURL } from "node:url";
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { kept, TELLING } from "../support/kept.mjs";
import { print } from "../support/paper.mjs";
import { checkAndGoIn, drawToTheMark, signed, spun } from "../support/scenario.mjs";
import { Strawline } from "../pages/strawline.mjs";
import { Touch } from "../support/hand.mjs";
import { deafen, secondTab } from "../support/tabs.mjs";

const PHRASE = "straw and garnet";
const FILE = pathToFileURL(process.env.STRAWLINE_FILE).href;

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
  await app.open();
  const sheet = await app.demo();
  await sheet.type("site", "patellar tendon, distal");
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  const key = await close(app);
  expect(key).toMatch(/^([0-9A-HJKMNP-TV-Z]{4}-){7}[0-9A-HJKMNP-TV-Z]{4}$/);
  await app.press("Print the recovery key");
  await expect.poll(async () => (await print(page, "A4")).text).toContain(key);
  const { text } = await print(page, "A4");
  expect(text).not.toMatch(TELLING);
  expect(text).toContain("Harbour Lane Joint Clinic");
  expect(text).toMatch(/Printed \d{1,2} [A-Z][a-z]{2} \d{4}\./);
  expect(text).toContain("It opens what is closed under the passphrase of this device");
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

test("loaded anew and locked, the use-by of a signed product is still told, and after the passphrase too", async ({ app, page }) => {
  await signed(app);
  const sign = (await app.sign.textContent()).trim();
  await app.place("Records");
  await app.hand.press(app.records.openCase(sign).getByRole("button", { name: "Close", exact: true }));
  await app.press("Close it all the same");
  await close(app);
  await app.press("It is kept safe");
  const stored = () => page.evaluate(() => localStorage.getItem("strawline.clocks"));
  await expect.poll(stored).toContain(sign);
  expect(await stored()).not.toMatch(TELLING);
  for (let n = 0; n < 2; n += 1) {
    await app.reload();
    await locked(app);
    await expect(page.locator(".clock")).toContainText(sign);
    await expect(page.locator(".clock")).toContainText(/use by\s+\d\d:\d\d/);
    await open(app);
    await app.draftSaved();
    await expect(page.locator(".clock").filter({ visible: true }).first()).toContainText(sign);
    expect(await stored()).toContain(sign);
  }
});

/** A page whose clock of its own can be set forward by a test, and does not stand on Date. */
async function withTicks(app) {
  await app.page.addInitScript(() => {
    const real = performance.now.bind(performance);
    window.later = 0;
    performance.now = () => real() + window.later;
  });
  await app.open();
  await app.demo();
  await close(app);
  await app.pick("The page is locked", "after 2 minutes without a touch");
  return (ms) => app.page.evaluate((ms) => { window.later += ms; }, ms);
}

test("left alone it locks itself, and a touch puts that off", async ({ app, page }) => {
  const later = await withTicks(app);
  await later(100_000);
  await page.keyboard.press("Shift");
  await later(100_000);
  await page.waitForTimeout(1200);
  await expect(page.getByRole("heading", { name: "Bench", exact: true })).toBeVisible();
  await later(30_000);
  await locked(app);
});

test("with the needle in it does not lock itself, and goes on by hand", async ({ app, page }) => {
  const later = await withTicks(app);
  await app.place("Worksheet");
  await checkAndGoIn(app.worksheet);
  await later(200_000);
  await page.waitForTimeout(1200);
  await expect(page.getByRole("heading", { name: "Locked" })).toHaveCount(0);
  await expect(app.worksheet.button("1 at the mark")).toBeVisible();
  // That stage has the whole page to itself; the lock is at the other places.
  await page.evaluate(() => { location.hash = "#bench"; });
  await app.press("Lock the page now");
  await locked(app);
  await open(app);
  await app.place("Worksheet");
  await drawToTheMark(app.worksheet);
  await later(130_000);
  await locked(app);
});

test("a locked page that is loaded anew tells what runs, and never that nothing does", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await app.press("It is kept safe");
  await app.reload();
  await locked(app);
  await expect(page.getByText("Clocks are closed too, until the page is opened")).toBeVisible();
  await open(app);
  await app.place("Worksheet");
  await checkAndGoIn(sheet);
  await drawToTheMark(sheet);
  await app.draftSaved();
  const sign = (await app.sign.textContent()).trim();
  const stored = () => page.evaluate(() => localStorage.getItem("strawline.clocks"));
  await expect.poll(stored).toContain(sign);
  expect(await stored()).not.toMatch(TELLING);
  await app.reload();
  await locked(app);
  await expect(page.locator(".clock")).toContainText(sign);
  await expect(page.locator(".clock")).toContainText(/spin by\s+\d\d:\d\d/);
  await expect(page.getByText("No clock running")).toHaveCount(0);
  expect(await page.locator("#app").innerText()).not.toMatch(TELLING);
  await open(app);
  await expect(page.locator(".clock").first()).toContainText("waiting to spin");
  await app.place("Bench");
  await app.unfold("Another passphrase, or none");
  await app.type("passphrase-now", PHRASE);
  await app.press("Leave everything open");
  await expect.poll(stored).toBe(null);
});

test("locked, half a reason is kept and shown to nobody, and who amends says the name anew", async ({ app, page }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.typeAll({ amend_by: "JT", amend_reason: "count came b" });
  await sheet.unfold("Times, as entered");
  await sheet.type("time_collected", "11:3");
  await close(app);
  await app.press("It is kept safe");
  await app.press("Lock the page now");
  await locked(app);
  expect(await page.content()).not.toContain("count came b");
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("amend_reason")).toHaveValue("count came b");
  await expect(sheet.field("time_collected")).toHaveValue("11:3");
  await expect(sheet.field("amend_by")).toHaveValue("");
});

test("locked, half a reason for a Stop is kept, and its name is said anew", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await app.press("It is kept safe");
  await app.place("Worksheet");
  await sheet.stage("Before the needle");
  const fields = () => ["Prescriber’s name", "Reason given"].map((label) => {
    return sheet.stop("The two identifiers have not been checked").first().getByLabel(label);
  });
  for (const [n, text] of ["Dr A. Reyes-Lindqvist", "known to m"].entries()) await app.hand.type(fields()[n], text);
  await app.place("Bench");
  await app.press("Lock the page now");
  await locked(app);
  expect(await page.content()).not.toContain("known to m");
  await open(app);
  await app.place("Worksheet");
  await expect(fields()[1]).toHaveValue("known to m");
  await expect(fields()[0]).toHaveValue("");
  // Once said it stands there no longer, to be said of something else.
  await sheet.decide("The two identifiers have not been checked", "Dr A. Reyes-Lindqvist", "known to me");
  await expect(sheet.stop("known to me")).toBeVisible();
});

test("the touch that comes too late meets a locked page", async ({ app, page }) => {
  const later = await withTicks(app);
  // Within one task: no second passes in between, as when a device wakes.
  const text = await page.evaluate(() => {
    window.later += 130_000;
    document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "Shift", bubbles: true }));
    return new Promise((done) => setTimeout(() => done(document.querySelector("h1").textContent), 50));
  });
  expect(text).toBe("Locked");
  await later(0);
});

test("a device that slept is locked by its date, when the page's own clock stood still", async ({ app }) => {
  await withTicks(app);
  await app.setTime("2026-11-27T09:00:00Z");
  await locked(app);
});

test("another tab is locked too, and writes nothing in clear meanwhile", async ({ app, page, context }) => {
  await app.open();
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
  // Taken off there, this tab goes on in clear, and nothing is called unreadable.
  await other.press("It is kept safe");
  await other.unfold("Another passphrase, or none");
  await other.type("passphrase-now", PHRASE);
  await other.press("Leave everything open");
  await expect(other.button("Close cases and records")).toBeVisible();
  await expect(sheet.field("site")).toHaveValue("patellar tendon, distal");
  await sheet.type("site", "patellar tendon, proximal");
  await app.draftSaved();
  expect(await kept(page)).toContain("patellar tendon, proximal");
  await expect(app.banner).toHaveCount(0);
});

/** Takes the lock out of the storage as another document of this address can: this page then hears of it. */
const takeOut = (page, both) => page.evaluate(async (both) => {
  if (both) {
    await new Promise((done, fail) => {
      const open = indexedDB.open("strawline");
      open.onerror = () => fail(open.error);
      open.onsuccess = () => {
        const change = open.result.transaction("texts", "readwrite");
        change.objectStore("texts").delete("strawline.lock");
        change.oncomplete = done;
      };
    });
  }
  const frame = document.createElement("iframe");
  document.body.append(frame);
  frame.contentWindow.localStorage.removeItem("strawline.lock");
}, both);

test("a lock taken out of one place opens nothing, and is put back", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await app.press("Lock the page now");
  await takeOut(page, false);
  await page.waitForTimeout(500);
  await locked(app);
  expect(await page.locator("#app").textContent()).not.toMatch(TELLING);
  expect(await kept(page)).not.toMatch(TELLING);
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("patient_reference")).toHaveValue("HL-0417");
  await expect.poll(() => page.evaluate(() => localStorage.getItem("strawline.lock"))).toContain("passphrase");
  // Nor while the page is open: it asks again.
  await takeOut(page, false);
  await locked(app);
  await open(app);
  await sheet.type("site", "patellar tendon, distal");
  await app.draftSaved();
  expect(await kept(page)).not.toMatch(TELLING);
});

test("a lock taken out of both places opens nothing, and is put back by a page that knew it", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await app.press("Lock the page now");
  await takeOut(page, true);
  await expect.poll(() => page.evaluate(() => localStorage.getItem("strawline.lock"))).toContain("passphrase");
  await locked(app);
  expect(await page.locator("#app").textContent()).not.toMatch(TELLING);
  await app.reload();
  await locked(app);
  expect(await kept(page)).not.toMatch(TELLING);
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("patient_reference")).toHaveValue("HL-0417");
});

test("where no page knew it, a missing lock is not taken for none", async ({ app, page }) => {
  await app.open();
  await app.demo();
  await close(app);
  await app.press("Lock the page now");
  // In this task nobody hears of it; the page that then comes never saw the lock.
  await page.evaluate(() => localStorage.removeItem("strawline.lock"));
  await page.evaluate(() => new Promise((done) => {
    const open = indexedDB.open("strawline");
    open.onsuccess = () => {
      const change = open.result.transaction("texts", "readwrite");
      change.objectStore("texts").delete("strawline.lock");
      change.oncomplete = done;
    };
  }));
  await app.reload();
  await expect(page.getByText("what opens them is missing")).toBeVisible();
  await app.press("Load the page anew");
  await locked(app);
  await expect(page.getByText("what opens them is missing")).toBeVisible();
  expect(await page.locator("#app").textContent()).not.toMatch(TELLING);
  expect(await kept(page)).not.toMatch(TELLING);
});

test("a page that asks for the passphrase does not open itself when another takes the lock off", async ({ app, page, context }) => {
  await app.open();
  await app.demo();
  await close(app);
  await app.press("It is kept safe");
  await app.press("Lock the page now");
  const other = await secondTab(context);
  await open(other);
  await other.place("Bench");
  await other.unfold("Another passphrase, or none");
  await other.type("passphrase-now", PHRASE);
  await other.press("Leave everything open");
  await expect(other.button("Close cases and records")).toBeVisible();
  const gone = page.getByText("The passphrase was taken off in another tab or from outside.");
  await expect(gone).toBeVisible();
  // Whatever the other then does to Bench and settings, and whatever is tried again here.
  await other.bench.openItem("Clinic");
  await other.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  await other.draftSaved();
  await expect.poll(() => page.evaluate(() => localStorage.getItem("strawline.bench"))).toContain("Harbour Lane");
  await page.waitForTimeout(700);
  await expect(gone).toBeVisible();
  expect(await page.locator("#app").textContent()).not.toMatch(TELLING);
  // A person who loads it anew goes on.
  await app.press("Load the page anew");
  await app.place("Worksheet");
  await expect(app.field("patient_reference")).toHaveValue("HL-0417");
});

test("what is cleared from outside is closed and stored again once the lock is opened", async ({ app, page }) => {
  await app.open();
  await app.demo();
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  await close(app);
  await app.place("Worksheet");
  await app.worksheet.type("site", "patellar tendon, distal");
  await app.draftSaved();
  await page.evaluate(() => {
    const frame = document.createElement("iframe");
    document.body.append(frame);
    frame.contentWindow.localStorage.clear();
  });
  await locked(app);
  await open(app);
  await expect.poll(() => page.evaluate(() => Object.keys(localStorage).join(" "))).toMatch(/strawline\.draft\..*/);
  await app.draftSaved();
  const keys = await page.evaluate(() => Object.keys(localStorage).join(" "));
  expect(keys).toContain("strawline.bench");
  expect(await kept(page)).not.toMatch(TELLING);
  await app.reload();
  await open(app);
  await app.place("Worksheet");
  await expect(app.field("site")).toHaveValue("patellar tendon, distal");
});

test("a look that comes to an end late does not lock a page opened meanwhile", async ({ app, page }) => {
  await page.addInitScript(() => {
    const ends = Object.getOwnPropertyDescriptor(IDBTransaction.prototype, "oncomplete");
    Object.defineProperty(IDBTransaction.prototype, "oncomplete", {
      ...ends,
      set(done) {
        const late = window.late ?? 0;
        window.met ||= late > 0 && Boolean(done);
        ends.set.call(this, late && done ? (event) => setTimeout(() => done(event), late) : done);
      },
    });
  });
  await app.open();
  await app.demo();
  await close(app);
  await app.press("It is kept safe");
  await app.press("Lock the page now");
  await page.evaluate(() => { window.late = 3000; });
  await takeOut(page, false);
  await expect.poll(() => page.evaluate(() => window.met)).toBe(true);
  await page.evaluate(() => { window.late = 0; });
  await open(app);
  const bench = page.getByRole("heading", { name: "Bench", exact: true });
  await expect(bench).toBeVisible();
  await page.waitForTimeout(4000);
  await expect(bench).toBeVisible();
  await app.place("Worksheet");
  await expect(app.field("patient_reference")).toHaveValue("HL-0417");
});

test("nothing is closed where a lock would not last", async ({ app, page }) => {
  await page.addInitScript(() => {
    IDBFactory.prototype.open = () => { throw new DOMException("blocked", "SecurityError"); };
  });
  await app.open();
  await app.demo();
  await app.draftSaved();
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": PHRASE });
  await app.press("Close cases and records");
  await expect(page.getByText("a lock would be lost and everything under it")).toBeVisible();
  expect(await page.evaluate(() => JSON.stringify(localStorage))).not.toMatch(/closed-1 |strawline\.lock/);
});

test("a closing that half fails says so, shows the recovery key, and is finished", async ({ app, page }) => {
  await page.addInitScript(() => {
    const set = Storage.prototype.setItem;
    Storage.prototype.setItem = function setItem(key, text) {
      if (window.full && text.startsWith("closed-1 ")) throw new DOMException("full", "QuotaExceededError");
      return set.call(this, key, text);
    };
  });
  await app.open();
  const sheet = await app.demo();
  await app.draftSaved();
  await page.evaluate(() => { window.full = true; });
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": PHRASE });
  await app.press("Close cases and records");
  const key = page.locator(".note b.id");
  await expect(key).toBeVisible();
  await expect(app.banner).toContainText("Not everything is encrypted yet: this browser’s storage is full.");
  await expect(page.getByText("Cases and records on this device are encrypted.")).toHaveCount(0);
  expect(await kept(page)).toMatch(TELLING);
  await page.evaluate(() => { window.full = false; });
  await app.press("Try again");
  await expect(page.getByText("Cases and records on this device are encrypted.")).toBeVisible();
  await expect(app.banner).toHaveCount(0);
  expect(await kept(page)).not.toMatch(TELLING);
  await app.reload();
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("patient_reference")).toHaveValue("HL-0417");
});

test("records that cannot be read hide no open case once the lock is opened, and are tried again", async ({ app, page }) => {
  await page.addInitScript(() => {
    const begin = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function transaction(...rest) {
      if (sessionStorage.getItem("broken")) throw new DOMException("no", "SecurityError");
      return begin.apply(this, rest);
    };
  });
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await page.evaluate(() => sessionStorage.setItem("broken", "yes"));
  await app.reload();
  await locked(app);
  expect(await page.locator("#app").textContent()).not.toMatch(TELLING);
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("patient_reference")).toHaveValue("HL-0417");
  await expect(app.banner.filter({ hasText: "could not be read" })).toHaveCount(1);
  await page.evaluate(() => sessionStorage.removeItem("broken"));
  await expect(async () => {
    const again = app.button("Try again").first();
    if (await again.isVisible()) await again.click();
    await expect(app.banner).toHaveCount(0, { timeout: 1000 });
  }).toPass();
});

test("where nobody could look for a lock nothing is shown, and it is tried again", async ({ app, page }) => {
  await page.addInitScript(() => {
    const get = Storage.prototype.getItem;
    Storage.prototype.getItem = function getItem(key) {
      if (sessionStorage.broken && key === "strawline.lock") throw new DOMException("no", "SecurityError");
      return get.call(this, key);
    };
  });
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await page.evaluate(() => { sessionStorage.broken = "yes"; });
  await app.reload();
  await locked(app);
  await expect(page.locator("#unlock")).toHaveCount(0);
  expect(await page.locator("#app").textContent()).not.toMatch(TELLING);
  await page.evaluate(() => { delete sessionStorage.broken; });
  await app.press("Try again");
  await open(app);
  await app.place("Worksheet");
  await expect(sheet.field("patient_reference")).toHaveValue("HL-0417");
});

test("a conflict between tabs is not decided on a locked page", async ({ app, page, context }) => {
  await app.open();
  const sheet = await app.demo();
  await close(app);
  await app.place("Worksheet");
  await app.draftSaved();
  const other = await secondTab(context);
  await open(other);
  await other.place("Worksheet");
  await deafen(page);
  await app.reload();
  await open(app);
  await app.place("Worksheet");
  await other.worksheet.type("site", "theirs");
  await other.draftSaved();
  await sheet.type("site", "mine");
  await expect(app.button("Take the other tab’s")).toBeVisible();
  await app.place("Bench");
  await app.press("Lock the page now");
  await locked(app);
  await expect(app.banner).toBeVisible();
  for (const name of ["Take the other tab’s", "Keep what is here"]) await expect(app.button(name)).toHaveCount(0);
  await open(app);
  await app.place("Worksheet");
  await expect(app.button("Keep what is here")).toBeVisible();
});

test("whoever lost the passphrase sets a new one with the recovery key", async ({ app, page }) => {
  await app.open();
  await app.demo();
  const key = await close(app);
  await app.press("It is kept safe");
  await app.unfold("Another passphrase, or none");
  await app.typeAll({ "passphrase-now": key, "passphrase-new": "a quite other one" });
  await app.press("Change the passphrase");
  await expect(page.getByText("From now on the new passphrase opens the records")).toBeVisible();
  await app.reload();
  await open(app, "a quite other one");
  await app.place("Bench");
  await expect(page.getByText("Cases and records on this device are encrypted.")).toBeVisible();
});

test("another passphrase, and none at all", async ({ app, page }) => {
  await app.open();
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
  await app.open();
  await app.demo();
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": `${PHRASE}s` });
  await app.press("Close cases and records");
  await expect(page.getByText("The two are not the same.")).toBeVisible();
  expect(await kept(page)).not.toContain("closed-1 ");
});

test("of two pages opened from a disk the second takes over what it held, once the lock of the first is opened", async ({ app, page, context }) => {
  await app.open(FILE);
  await app.demo();
  await app.worksheet.type("site", "patellar tendon, first");
  const second = await context.newPage();
  const other = new Strawline(second, new Touch(second));
  await other.open(FILE);
  await other.demo();
  await other.worksheet.type("site", "patellar tendon, second");
  await close(app);
  await locked(other);
  await expect(second.locator("html")).not.toHaveAttribute("data-draft", "saved");
  await open(other);
  await other.draftSaved();
  await expect(other.banner).toHaveCount(0);
  await other.place("Worksheet");
  await expect(other.field("site")).toHaveValue("patellar tendon, second");
  await other.reload();
  await open(other);
  await other.place("Records");
  for (const site of ["first", "second"]) {
    await expect(second.getByRole("main").getByText(`patellar tendon, ${site}`).first()).toBeVisible();
  }
  expect(await kept(page)).not.toMatch(TELLING);
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
  // There is no way back into the clear here: other pages share the storage.
  await app.place("Bench");
  await app.unfold("Another passphrase, or none");
  await expect(app.button("Change the passphrase")).toBeVisible();
  await expect(app.button("Leave everything open")).toHaveCount(0);
});
