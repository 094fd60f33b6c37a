// Very many records: listed, searched, recalled and added to as if they were few. Milliseconds are printed; only what
// is far beyond the aim fails, for a machine may be busy. 10,000 with STRAWLINE_LONG=1.
import { stat } from "node:fs/promises";
import { expect, test } from "../strawline.mjs";
import { fill } from "../support/history.mjs";
import { collectAndHandOver, signed, spun } from "../support/scenario.mjs";

const MANY = process.env.STRAWLINE_LONG ? 10_000 : 400;
/** So many are carried to another device, and closed. */
const MOVED = process.env.STRAWLINE_LONG ? 3_000 : 150;
/** A busy machine takes so many times as long. */
const SLACK = 8;

/** What a promise gives in a world beside the page's own, where the clock is no stand-in. */
async function beside(page, body) {
  const session = await page.context().newCDPSession(page);
  const { frameTree } = await session.send("Page.getFrameTree");
  const { executionContextId } = await session.send("Page.createIsolatedWorld", { frameId: frameTree.frame.id });
  const { result, exceptionDetails } = await session.send("Runtime.evaluate", {
    expression: `new Promise((done, fail) => {${body}})`, contextId: executionContextId, awaitPromise: true, returnByValue: true,
  });
  await session.detach();
  if (exceptionDetails) throw new Error(`${body}: ${JSON.stringify(exceptionDetails)}`);
  return result.value;
}

/** Milliseconds from an act in the page until a frame has been drawn in which something holds. */
function timed(page, act, holds, what = []) {
  return beside(page, `
    const what = ${JSON.stringify(what)};
    const start = performance.now();
    ${act};
    const look = () => {
      const took = performance.now() - start;
      if (${holds}) done(took);
      else if (took > 60000) fail(new Error("never"));
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  `);
}

/**
 * From its next load on the page counts on its root the changes of a record that its store has completed. The listener
 * stands before the page's own: what the page does once it has heard is no part of that time.
 */
function countsKept(page) {
  return page.addInitScript(() => {
    const { transaction } = IDBDatabase.prototype;
    const { put } = IDBObjectStore.prototype;
    const changes = new WeakSet();
    let kept = 0;
    IDBDatabase.prototype.transaction = function begins(...what) {
      const begun = transaction.apply(this, what);
      const complete = () => { if (changes.has(begun)) document.documentElement.dataset.kept = String((kept += 1)); };
      begun.addEventListener("complete", complete);
      return begun;
    };
    IDBObjectStore.prototype.put = function puts(text, key) {
      if (key.startsWith("strawline.record.")) changes.add(this.transaction);
      return put.call(this, text, key);
    };
  });
}

/** Milliseconds from the tap that amends until the store has completed it, and until a frame says so. */
function amends(page, says) {
  return beside(page, `
    let kept;
    const start = performance.now();
    const mark = () => { kept ??= performance.now() - start; };
    new MutationObserver(mark).observe(document.documentElement, { attributeFilter: ["data-kept"] });
    [...document.querySelectorAll("button.next")].find((one) => one.textContent.includes("Amend the record")).click();
    const asked = performance.now() - start;
    const look = () => {
      const painted = performance.now() - start;
      if (kept && document.querySelector("#work").textContent.includes("${says}")) done({ asked, kept, painted });
      else if (painted > 60000) fail(new Error("never"));
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  `);
}

const middle = (all) => all.toSorted((a, b) => a - b)[Math.floor(all.length / 2)];

function told(what, all, aim) {
  const took = middle(all);
  console.log(`${MANY} records, ${what}: ${took.toFixed(1)} ms (${all.map((ms) => ms.toFixed(0)).join(", ")}); aim ${aim}`);
  expect(took, what).toBeLessThan(aim * SLACK);
}

/** A page that has just started looks through its records: so long it is left alone before the next start. */
const REST = process.env.STRAWLINE_LONG ? 3_000 : 100;

/** Milliseconds from a reload until the worksheet can be used. */
async function starts(app) {
  const all = [];
  for (let i = 0; i < 9; i += 1) {
    await app.page.waitForTimeout(REST);
    const before = performance.now();
    await app.reload();
    all.push(performance.now() - before);
  }
  return middle(all);
}

const TYPE = `const box = document.querySelector(what[0]); box.value = what[1]; box.dispatchEvent(new Event("input", { bubbles: true }))`;

test("ten thousand records open, are searched, recalled and added to", async ({ app, page }) => {
  test.setTimeout(600_000);
  await countsKept(page);
  const sheet = await signed(app);
  const few = await starts(app);
  const used = () => page.evaluate(async () => (await navigator.storage.estimate()).usageDetails.indexedDB);
  const before = await used();
  const letters = await fill(page, MANY);
  const bytes = (await used()) - before;
  console.log(`${MANY} records: ${letters} letters of store each, the state before and the line in it; ${Math.round(bytes / MANY)} bytes of disk`);
  await app.reload();
  const many = await starts(app);
  console.log(`${MANY} records, started: ${many.toFixed(0)} ms, with one record ${few.toFixed(0)} ms; aim 5 % longer at most`);
  expect(many / few, "started").toBeLessThan(1.05 * SLACK);
  const rows = `document.querySelectorAll("#work tbody tr").length === 50`;
  const open = () => timed(page, `location.hash = "#records"`, rows);
  // At once after the start, while lines are still being read.
  console.log(`${MANY} records, opened right after the start: ${(await open()).toFixed(1)} ms`);
  await expect(app.records.section("Signed records").getByText(`1 to 50 of ${MANY + 1}`)).toBeVisible();
  const opened = [];
  for (let i = 0; i < 5; i += 1) {
    await app.place("Bench");
    await expect(app.records.signed).toHaveCount(0);
    opened.push(await open());
  }
  told("Records opened", opened, 300);
  const searched = [];
  for (const i of [7, 123, 301, 77, 399]) {
    const patient = `HL-${10000 + i}`;
    const found = `document.querySelectorAll("#work tbody tr").length === 1 && document.querySelector("#work tbody").textContent.includes(what[1])`;
    searched.push(await timed(page, TYPE, found, ["#record-search", patient]));
  }
  told("search", searched, 50);
  await app.records.quality();
  const recalled = [];
  for (const lot of ["k-0099", "K- 0099", "K-0099"]) {
    await timed(page, TYPE, `!document.querySelector("#work").textContent.includes("K-0099")`, ["#recall-lot", ""]);
    recalled.push(await timed(page, TYPE, `document.querySelectorAll("#work tbody tr").length >= ${MANY / 100}`, ["#recall-lot", lot]));
  }
  told("lot recall", recalled, 50);
  // One of the many, opened and amended.
  await app.place("Records");
  await page.locator("#record-search").fill("HL-10123");
  await app.hand.press(app.records.signed.first().getByRole("button").first());
  await sheet.on("Later");
  const saved = [];
  for (let n = 1; n <= 9; n += 1) {
    await sheet.typeAll({ reading_1: String(900 + n), amend_by: "JT", amend_reason: `count ${n}` });
    await app.draftSaved();
    saved.push(await amends(page, n === 1 ? "Amended once." : `Amended ${n} times.`));
  }
  told("of that the page's own part", saved.map((one) => one.asked), 20);
  told("amended, until it is in the store", saved.map((one) => one.kept), 20);
  told("amended, until a frame says so", saved.map((one) => one.painted), 30);
});

/** The texts of the records' store that tell of a patient, and how many stand there. */
const inClear = (page) => page.evaluate(() => new Promise((found) => {
  const open = indexedDB.open("strawline");
  open.onsuccess = () => {
    const all = open.result.transaction("texts").objectStore("texts").getAll(IDBKeyRange.bound("strawline.line.", "strawline.line.\uffff"));
    all.onsuccess = () => {
      open.result.close();
      found([all.result.filter((text) => !text.startsWith("closed-")).length, all.result.length]);
    };
  };
}));

/** Seconds that an act takes until something holds. */
async function seconds(what, act, holds) {
  const start = performance.now();
  await act();
  await holds();
  const took = (performance.now() - start) / 1000;
  console.log(`${MOVED} records, ${what}: ${took.toFixed(1)} s`);
}

test("very many records leave as one file, come back on another device, are closed and opened", async ({ app, page, browser, baseURL, watch }, info) => {
  test.setTimeout(1_800_000);
  const patient = { timeout: 900_000 };
  await signed(app);
  await fill(page, MOVED);
  await app.reload();
  await app.place("Records");
  const list = `1 to 50 of ${MOVED + 1}`;
  await expect(app.records.section("Signed records").getByText(list)).toBeVisible(patient);
  await app.records.unfold("Records as files");
  const path = info.outputPath("backup.json");
  await seconds("backed up", async () => {
    const waits = page.waitForEvent("download", patient);
    await app.press("Back up everything");
    await (await waits).saveAs(path);
  }, () => {});
  console.log(`${MOVED} records, backup: ${((await stat(path)).size / 1e6).toFixed(1)} MB`);
  const elsewhere = await (await browser.newContext({ baseURL })).newPage();
  await elsewhere.goto("./#records");
  await elsewhere.locator("summary", { hasText: "Records as files" }).click();
  const report = elsewhere.locator("#restored li").filter({ hasText: /^Record [0-9][A-Z]: added\.$/ });
  await seconds("restored", () => elsewhere.getByLabel("Restore from a backup").setInputFiles(path), () => expect(report).toHaveCount(MOVED + 1, patient));
  await elsewhere.reload();
  await expect(elsewhere.getByText(list).first()).toBeVisible(patient);
  await elsewhere.context().close();
  await app.place("Bench");
  await app.typeAll({ passphrase: "straw and garnet", "passphrase-again": "straw and garnet" });
  const closed = () => expect.poll(async () => (await inClear(page))[0], patient).toBe(0);
  await seconds("closed for the first time", () => app.press("Close cases and records"), closed);
  expect((await inClear(page))[1]).toBe(MOVED + 1);
  await app.press("It is kept safe");
  await app.reload();
  await app.type("unlock", "straw and garnet");
  await seconds("opened, until all lines are read", async () => {
    await app.press("Open");
    await app.place("Records");
  }, () => expect(app.records.section("Signed records").getByText(list)).toBeVisible(patient));
});
