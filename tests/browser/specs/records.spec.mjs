// Signed records: kept, found again, added to by a late count and never changed.
import { readFile } from "node:fs/promises";
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { handedOver, signed, spun } from "../support/scenario.mjs";
import { print } from "../support/paper.mjs";
import { breaks, deafen, secondTab, setBroken, storedRecord } from "../support/tabs.mjs";

test("a signed case stands in Records, also after a reload", async ({ app }) => {
  await signed(app);
  await app.reload();
  await app.place("Records");
  await expect(app.records.signed).toHaveCount(1);
  await expect(app.records.signed).toContainText("HL-0417");
  await expect(app.records.signed).toContainText("RIGHT patellar tendon");
});

test("a case that waits for its count is on the list", async ({ app }) => {
  await signed(app);
  await app.place("Records");
  await expect(app.records.waiting).toHaveCount(1);
  await expect(app.records.waiting).toContainText("to be counted");
});

test("not counted is an end as good as any, and is on no list", async ({ app }) => {
  await signed(app, "Not counted");
  await app.place("Records");
  await expect(app.records.waiting).toHaveCount(0);
  await expect(app.records.signed).toContainText("not counted");
});

test("a late count amends the record with its reason", async ({ app }) => {
  const sheet = await signed(app);
  await app.setTime("2026-03-14T09:00:00+01:00");
  await app.place("Records");
  await app.press("Type the count");
  await sheet.on("Later");
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.type("reading_1", "924");
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sheet.type("amend_by", "JT");
  await sheet.type("amend_reason", "count came back from the laboratory");
  await sheet.next("Amend the record");
  await expect(sheet.page.getByText("Amended once.")).toBeVisible();
  // The next to amend says who that is.
  await expect(sheet.field("amend_by")).toHaveValue("");
  await app.place("Records");
  await expect(app.records.signed).toContainText("924 ×10⁹/L");
  await expect(app.records.signed).toContainText("amended");
  await expect(app.records.waiting).toHaveCount(0);
});

test("what was entered since the signature is told, and is on no signed card", async ({ app, page }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.type("adverse_event", "faint at 11:50");
  await app.draftSaved();
  await app.place("Records");
  const open = app.records.section("Open cases");
  await expect(open).toContainText("What was entered since the signature is not signed yet");
  await page.evaluate(() => { window.print = () => { window.asked = true; }; });
  await app.hand.press(app.records.signed.first().getByRole("button", { name: "Print card" }));
  await page.waitForFunction(() => window.asked);
  const card = (await print(page, "A4")).text;
  expect(card).toContain("Record check ");
  expect(card).not.toContain("the change is not signed yet");
  expect(card).not.toContain("faint at 11:50");
  await app.place("Records");
  await app.hand.press(open.getByRole("button", { name: "Discard" }));
  await expect(app.records.section("Discarded cases")).toContainText("the record itself stands");
});

test("the card of a signed row prints, and the case in view stays in view", async ({ app, page }) => {
  await signed(app);
  const printed = (await app.sign.textContent()).trim();
  await app.place("Records");
  await app.hand.press(app.records.openCase(printed).getByRole("button", { name: "Close", exact: true }));
  await app.press("Close it all the same");
  await app.press("New case");
  await app.worksheet.type("patient_reference", "HL-0500");
  await app.draftSaved();
  const mine = (await app.sign.textContent()).trim();
  await app.place("Records");
  await page.evaluate(() => { window.print = () => { window.asked = document.querySelector(".paper").textContent; }; });
  await app.hand.press(app.records.signed.first().getByRole("button", { name: "Print card" }));
  await page.waitForFunction(() => window.asked);
  expect(await page.evaluate(() => window.asked)).toContain("HL-0417");
  const card = (await print(page, "A4")).text;
  expect(card).toContain("HL-0417");
  expect(card).toContain("Record check ");
  await expect(app.sign).toHaveText(mine);
  await expect(app.records.openCase(printed)).toHaveCount(0);
  await app.place("Worksheet");
  await expect(app.worksheet.field("patient_reference")).toHaveValue("HL-0500");
  // Its own card is the paper again.
  expect((await print(page, "A4")).text).not.toContain("HL-0417");
});

test("the use-by is watched after the hand-over until it is told that all was given", async ({ app, page }) => {
  const sheet = await handedOver(app, "Count later", { part_given_1: "2", part_given_2: "1" });
  await app.setTime("2026-03-12T11:52:00+01:00");
  await app.tick();
  await expect(sheet.clocks).toContainText(/handed over\s+use by\s+\d\d:\d\d/);
  expect(await axe(page)).toEqual([]);
  await sheet.press("All given");
  for (const part of [1, 2]) await expect(sheet.field(`part_given_at_${part}`)).toHaveValue("11:52");
  await expect(page.locator(".clock").filter({ visible: true })).toHaveCount(0);
  await expect(sheet.button("All given")).toHaveCount(0);
  await app.press("Undo");
  await expect(sheet.clocks).toContainText("use by");
  await expect(sheet.field("part_given_at_1")).toHaveValue("");
});

test("a time typed ahead tells nothing when it has come, and that none was given ends the watch", async ({ app, page }) => {
  const sheet = await handedOver(app, "Count later");
  await app.setTime("2026-03-12T11:45:00+01:00");
  await sheet.unfold("When it was given, and how it was kept");
  const reading = page.locator("#part_given_at_1-reading");
  await sheet.type("part_given_at_1", "12:15");
  await expect(reading).toContainText("lies ahead of this device’s clock");
  await app.setTime("2026-03-12T12:20:00+01:00");
  await app.tick();
  await expect(reading).toContainText("typed before that time had come");
  // How much, without a time, does not end it either.
  await sheet.typeAll({ part_given_1: "2" });
  await expect(sheet.clocks).toContainText("use by");
  await sheet.press("None of it given");
  for (const part of [1, 2]) await expect(sheet.field(`part_given_${part}`)).toHaveValue("0");
  await expect(page.locator(".clock").filter({ visible: true })).toHaveCount(0);
  await app.press("Undo");
  await expect(sheet.field("part_given_1")).toHaveValue("2");
  // Taken back, a time that lay ahead still does not tell. So soon after the last it would be a double tap.
  await page.waitForTimeout(600);
  await sheet.press("All given");
  await expect(sheet.field("part_given_at_1")).toHaveValue("12:20");
  await app.press("Undo");
  await expect(sheet.field("part_given_at_1")).toHaveValue("12:15");
  await expect(reading).toContainText("typed before that time had come");
  await expect(sheet.clocks).toContainText("use by");
  await sheet.type("part_given_at_1", "12:14");
  await expect(reading).toHaveText("Given 12 Mar 2026, 12:14.");
  // What is told of the rest names it.
  await page.waitForTimeout(600);
  await sheet.press("None of the rest given");
  await expect(page.getByText("Not given, entered 12:20: beside it.", { exact: false })).toBeVisible();
  await expect(page.locator(".clock").filter({ visible: true })).toHaveCount(0);
});

test("on a narrow screen the clocks of other cases tell their use-by @everywhere", async ({ app, page }) => {
  const sheet = await handedOver(app, "Count later");
  const sign = (await app.sign.textContent()).trim();
  const clock = page.locator(".clock").filter({ hasText: sign, visible: true });
  await app.place("Records");
  await expect(clock.getByText("use by", { exact: false })).toBeVisible();
  await app.newCase();
  await expect(clock.getByText("use by", { exact: false })).toBeVisible();
  await app.setTime("2026-03-12T14:40:00+01:00");
  await app.tick();
  await expect(clock).toContainText(/use by\s+14:31/);
  await expect(sheet.clocks).toContainText("past");
});

test("signed, closed and loaded anew, a product nobody says was given keeps its clock", async ({ app, page }) => {
  const sheet = await signed(app);
  const sign = (await app.sign.textContent()).trim();
  const clock = page.locator(".clock").filter({ hasText: sign, visible: true });
  const close = () => app.hand.press(app.records.openCase(sign).getByRole("button", { name: "Close", exact: true }));
  await app.place("Records");
  await close();
  await expect(page.getByText(`${sign}: it is not told of each part that it was given.`, { exact: false })).toBeVisible();
  await app.press("Keep it open");
  await close();
  await app.press("Close it all the same");
  await expect(app.records.openCase(sign)).toHaveCount(0);
  await expect(clock).toContainText(/handed over\s+use by\s+\d\d:\d\d/);
  expect(await axe(page)).toEqual([]);
  await app.reload();
  await expect(clock).toContainText("use by");
  await app.hand.press(clock.getByRole("button"));
  await sheet.on("Later");
  await app.setTime("2026-03-12T11:52:00+01:00");
  await sheet.press("All given");
  await sheet.typeAll({ amend_by: "JT", amend_reason: "told by the prescriber" });
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await app.place("Records");
  await close();
  await expect(app.records.openCase(sign)).toHaveCount(0);
  await expect(clock).toHaveCount(0);
  await app.reload();
  await app.place("Records");
  await expect(app.records.signed).toHaveCount(1);
  await expect(clock).toHaveCount(0);
});

test("an amendment without a reason is refused", async ({ app }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.type("reading_1", "924");
  await sheet.type("amend_by", "JT");
  await sheet.next("Amend the record");
  await expect(sheet.page.getByText("Enter why the record is amended.")).toBeVisible();
});

/** Two taps before the browser has stored anything. */
const twice = (app, words) => app.page.locator("button.next", { hasText: words }).evaluate((button) => { button.click(); button.click(); });

test("two taps sign once, and amend once", async ({ app, page }) => {
  await breaks(page, "IDBObjectStore", "put");
  const sheet = await handedOver(app);
  await twice(app, "Sign the record");
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await page.waitForTimeout(300);
  // The record, the state before it and its line, in one change.
  expect(await page.evaluate(() => window.calls)).toBe(3);
  await sheet.stage("Later");
  await sheet.type("reading_1", "924");
  await sheet.type("amend_by", "JT");
  await sheet.type("amend_reason", "count came back from the laboratory");
  await twice(app, "Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await page.waitForTimeout(300);
  expect(await page.evaluate(() => window.calls)).toBe(6);
  expect((await storedRecord(page)).amendments).toHaveLength(1);
  await expect(app.banner).toHaveCount(0);
});

test("a key typed while the signature is stored is kept, and is not signed", async ({ app, page }) => {
  const sheet = await handedOver(app);
  await page.evaluate(() => {
    [...document.querySelectorAll("button.next")].find((one) => one.textContent.includes("Sign the record")).click();
    const notes = document.querySelector("#notes");
    notes.value = "typed since";
    notes.dispatchEvent(new Event("input", { bubbles: true }));
  });
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await app.draftSaved();
  expect((await storedRecord(page)).signed.draft.texts).not.toHaveProperty("notes");
  await app.reload();
  await expect(sheet.field("notes")).toHaveValue("typed since");
  expect((await storedRecord(page)).signed.draft.texts).not.toHaveProperty("notes");
});

test("amended is said once it is stored, and not before", async ({ app, page }) => {
  await breaks(page, "IDBObjectStore", "put");
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.type("reading_1", "924");
  await sheet.type("amend_by", "JT");
  await sheet.type("amend_reason", "count came back from the laboratory");
  await setBroken(page, true);
  await sheet.next("Amend the record");
  await expect(app.banner).toContainText("is not recorded: this browser’s storage is full.");
  await expect(page.getByText("Record amended")).toHaveCount(0);
  await expect(sheet.field("amend_reason")).toHaveValue("count came back from the laboratory");
  await setBroken(page, false);
  await sheet.next("Amend the record");
  await expect(page.getByText("Record amended")).toBeVisible();
  await expect(sheet.field("amend_reason")).toHaveValue("");
  await expect(app.banner).toHaveCount(0);
});

/** Types the late count on the stage Later and amends. */
async function amendCount(tab, count, by, reason) {
  const sheet = tab.worksheet;
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.type("reading_1", count);
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sheet.typeAll({ amend_by: by, amend_reason: reason });
  await sheet.next("Amend the record");
}

/** A second tab with the signed case open, in which nothing was typed. */
async function signedInSecond(context) {
  const other = await secondTab(context);
  await other.place("Records");
  await other.press("Type the count");
  await other.worksheet.on("Later");
  return other;
}

const APART = "its record was signed or amended apart from what is typed here";
const entered = (record, field) => record.amendments.map((one) => one.entry.draft.texts[field] ?? "");

test("a signed case open in a second tab, untouched, follows what the first amends, and takes nothing of it out", async ({ app, page, context }) => {
  const sheet = await signed(app);
  const other = await signedInSecond(context);
  await page.bringToFront();
  await sheet.stage("Later");
  await amendCount(app, "924", "JT", "count came back from the laboratory");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await other.page.bringToFront();
  await expect(other.page.getByText("Amended once.")).toBeVisible();
  await expect(other.worksheet.field("reading_1")).toHaveValue("924");
  await expect(other.page.getByText("Changed since it was signed")).toHaveCount(0);
  await expect(other.banner).toHaveCount(0);
  await other.worksheet.typeAll({ adverse_event: "faint at 11:50", amend_by: "RK", amend_reason: "seen after the injection" });
  await other.worksheet.next("Amend the record");
  await expect(other.page.getByText("Amended 2 times.")).toBeVisible();
  const record = await storedRecord(page);
  expect(entered(record, "reading_1")).toEqual(["924", "924"]);
  expect(entered(record, "adverse_event")).toEqual(["", "faint at 11:50"]);
});

for (const [button, left] of [["Take the record as it stands", "924"], ["Keep what is here", "942"]]) {
  test(`of two tabs that amend one record the first holds, and the second decides: ${button}`, async ({ app, page, context }) => {
    await deafen(page);
    const sheet = await signed(app);
    const other = await signedInSecond(context);
    await amendCount(other, "924", "RK", "count came back from the laboratory");
    await expect(other.page.getByText("Amended once.")).toBeVisible();
    await page.bringToFront();
    await sheet.stage("Later");
    await amendCount(app, "942", "JT", "read from the printout");
    await expect(app.banner).toContainText(APART);
    // The record now stands here too; another tap does not write over it.
    await expect(page.getByText("Amended once.")).toBeVisible();
    await sheet.next("Amend the record");
    await expect(page.getByText("Not signed: first decide", { exact: false })).toBeVisible();
    await page.waitForTimeout(300);
    expect(entered(await storedRecord(page), "reading_1")).toEqual(["924"]);
    await expect(sheet.field("reading_1")).toHaveValue("942");
    await sheet.rest();
    await app.press(button);
    await expect(app.banner).toHaveCount(0);
    await expect(sheet.field("reading_1")).toHaveValue(left);
    await sheet.type("adverse_event", "faint at 11:50");
    await sheet.next("Amend the record");
    await expect(page.getByText("Amended 2 times.")).toBeVisible();
    expect(entered(await storedRecord(page), "reading_1")).toEqual(["924", left]);
  });
}

test("what a deaf tab enters beside a count amended elsewhere does not take the count out", async ({ app, page, context }) => {
  await deafen(page);
  const sheet = await signed(app);
  const other = await signedInSecond(context);
  await amendCount(other, "924", "RK", "count came back from the laboratory");
  await expect(other.page.getByText("Amended once.")).toBeVisible();
  await page.bringToFront();
  await sheet.stage("Later");
  await sheet.typeAll({ adverse_event: "faint at 11:50", amend_by: "JT", amend_reason: "seen after the injection" });
  await sheet.next("Amend the record");
  await expect(app.banner).toContainText("another tab has signed or amended the same case");
  // What both typed stands here now, and nothing of it is signed unseen.
  await expect(sheet.field("reading_1")).toHaveValue("924");
  await expect(sheet.field("adverse_event")).toHaveValue("faint at 11:50");
  expect(entered(await storedRecord(page), "reading_1")).toEqual(["924"]);
  expect(await axe(page)).toEqual([]);
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended 2 times.")).toBeVisible();
  await expect(app.banner).toHaveCount(0);
  const record = await storedRecord(page);
  expect(entered(record, "reading_1")).toEqual(["924", "924"]);
  expect(entered(record, "adverse_event")).toEqual(["", "faint at 11:50"]);
});

test("of two tabs that type into one record neither amends before it is decided which stays", async ({ app, page, context }) => {
  const sheet = await signed(app);
  const other = await signedInSecond(context);
  await other.worksheet.type("adverse_event", "warm to the touch");
  await other.draftSaved();
  await page.bringToFront();
  await sheet.stage("Later");
  await sheet.typeAll({ adverse_event: "faint at 11:50", amend_by: "JT", amend_reason: "seen after the injection" });
  await expect(app.banner).toContainText("Only one of the two can stay");
  await sheet.next("Amend the record");
  await expect(page.getByText("Not signed: first decide", { exact: false })).toBeVisible();
  await page.waitForTimeout(300);
  expect((await storedRecord(page)).amendments).toEqual([]);
  await sheet.rest();
  await app.press("Keep what is here");
  await expect(app.banner).toHaveCount(0);
  await expect(page.getByText("Not signed: first decide", { exact: false })).toHaveCount(0);
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await expect(other.page.getByText("Amended once.")).toBeVisible();
  await expect(other.worksheet.field("adverse_event")).toHaveValue("faint at 11:50");
  await expect(other.banner).toHaveCount(0);
});

test("an amendment whose typed text was stored nowhere is told to the other tab", async ({ app, page, context, watch }) => {
  watch.expectFault(/no room/);
  const sheet = await signed(app);
  const other = await signedInSecond(context);
  const { id } = await storedRecord(page);
  await breaks(page, "Storage", "setItem", `strawline.draft.${id}`);
  await app.reload();
  await page.bringToFront();
  await app.place("Records");
  await app.press("Type the count");
  await sheet.on("Later");
  await setBroken(page, true);
  await amendCount(app, "924", "JT", "count came back from the laboratory");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await other.page.bringToFront();
  await expect(other.page.getByText("Amended once.")).toBeVisible();
  await expect(other.worksheet.field("reading_1")).toHaveValue("924");
});

test("an amendment typed before the record grew is asked about after a reload", async ({ app, page, context }) => {
  await deafen(page);
  const sheet = await signed(app);
  const other = await signedInSecond(context);
  await amendCount(other, "924", "RK", "count came back from the laboratory");
  await expect(other.page.getByText("Amended once.")).toBeVisible();
  await page.bringToFront();
  await sheet.stage("Later");
  await sheet.type("adverse_event", "faint at 11:50");
  await app.draftSaved();
  await app.reload();
  await sheet.on("Later");
  await expect(app.banner).toContainText(APART);
  await expect(sheet.field("adverse_event")).toHaveValue("faint at 11:50");
  await sheet.typeAll({ amend_by: "JT", amend_reason: "seen after the injection" });
  await sheet.next("Amend the record");
  await expect(page.getByText("Not signed: first decide", { exact: false })).toBeVisible();
  await sheet.rest();
  await app.press("Take the record as it stands");
  await expect(app.banner).toHaveCount(0);
  await expect(sheet.field("reading_1")).toHaveValue("924");
  await expect(sheet.field("adverse_event")).toHaveValue("");
  expect(entered(await storedRecord(page), "reading_1")).toEqual(["924"]);
});

test("a side changed after the hand-over wants its reason before anything is signed", async ({ app, page }) => {
  const sheet = await handedOver(app);
  await sheet.stage("Order");
  await sheet.choose("Side", "Left");
  await sheet.stage("Product");
  await sheet.next("Sign the record");
  await expect(sheet.field("why_changed")).toBeFocused();
  await expect(page.getByText("Signed by MO", { exact: false })).toHaveCount(0);
  await app.place("Records");
  await expect(app.records.signed).toHaveCount(0);
});

test("paper and record bear the same check, and each entry prints its card as it was", async ({ app, page }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.type("reading_1", "924");
  await sheet.type("amend_by", "JT");
  await sheet.type("amend_reason", "count came back from the laboratory");
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  const record = await storedRecord(page);
  const entries = page.getByRole("list", { name: "Entries of this record" }).getByRole("listitem");
  await expect(entries).toHaveCount(2);
  await expect(entries.nth(1)).toContainText("count came back from the laboratory");
  await expect(entries.nth(1)).toContainText("now “924”, nothing before");
  for (const [n, seal] of record.seals.entries()) {
    await expect(entries.nth(n)).toContainText(`Record check ${seal.slice(0, 8)}.`);
    await app.hand.press(entries.nth(n).getByRole("button"));
    const card = await print(page, "A4");
    expect(card.pages).toBe(1);
    expect(card.text).toContain(`Record check ${seal.slice(0, 8)}.`);
    expect(card.text.includes("Amended preparation card")).toBe(n === 1);
    expect(card.text.includes("924 ×10⁹/L")).toBe(n === 1);
  }
});

/** Changes the stored record behind the page's back. */
const rewrite = (page, prefix, from, to) => page.evaluate(([prefix, from, to]) => new Promise((done, fail) => {
  const open = indexedDB.open("strawline");
  open.onsuccess = () => {
    const table = open.result.transaction("texts", "readwrite").objectStore("texts");
    const at = table.openCursor(IDBKeyRange.bound(prefix, `${prefix}\uffff`));
    at.onsuccess = () => {
      if (!at.result.value.includes(from)) fail(new Error("nothing to change"));
      at.result.update(at.result.value.replace(from, to));
    };
    table.transaction.oncomplete = () => { open.result.close(); done(); };
  };
}), [prefix, from, to]);

test("a record changed outside is shown, and says so on screen and paper", async ({ app, page }) => {
  const sheet = await signed(app);
  await rewrite(page, "strawline.record.", "HL-0417", "HL-0418");
  await app.reload();
  await app.place("Records");
  await expect(app.records.signed).toContainText("changed outside Strawline");
  await app.hand.press(app.records.signed.getByRole("button").first());
  await sheet.on("Later");
  await expect(page.getByText("Changed outside Strawline since MO signed it, 12 Mar 2026, 11:40").first()).toBeVisible();
  const card = await print(page, "A4");
  expect(card.pages).toBe(1);
  expect(card.text).toContain("Changed outside Strawline since MO signed it");
});

test("a damaged record gives way to the state before it, and is offered for download", async ({ app, page }) => {
  await signed(app);
  await rewrite(page, "strawline.record.", '"signed"', '"sig');
  await app.reload();
  await expect(app.banner).toContainText("One stored item cannot be read.");
  await app.place("Records");
  await expect(app.records.signed).toContainText("HL-0417");
  await expect(app.records.signed).toContainText("this is the state before");
  await expect(app.records.section("Stored, but not readable").getByRole("button", { name: "Download" })).toBeVisible();
});

test("the table of records marks a state before the newest, and what is missing in it is said", async ({ app, page }) => {
  await signed(app);
  await rewrite(page, "strawline.record.", '"signed"', '"sig');
  await app.reload();
  await app.place("Records");
  await app.records.unfold("Records as files");
  const table = async () => {
    const waits = page.waitForEvent("download");
    await app.press("Records as a table (CSV)");
    return (await readFile(await (await waits).path(), "utf8")).split("\r\n");
  };
  const missing = page.getByText("One record cannot be read and is not in the file.");
  const [head, row] = await table();
  // No cell before it holds a comma.
  expect(row.split(",")[head.split(",").indexOf("standing")]).toBe("state_before_the_newest");
  await expect(missing).toHaveCount(0);
  await rewrite(page, "strawline.before.", '"signed"', '"sig');
  expect(await table()).toEqual([head, ""]);
  await expect(missing).toBeVisible();
});

test("blood of the eight weeks before adds up from the records, entered at a tap @everywhere", async ({ app, page }) => {
  const first = await signed(app, "Not counted");
  await expect(page.getByText("last eight weeks")).toHaveCount(0);
  await app.setTime("2026-04-09T09:00:00+02:00");
  await app.place("Records");
  await first.hand.press(app.records.signed.getByRole("button", { name: "Duplicate" }));
  const sheet = app.worksheet;
  const told = page.getByText("Cases of HL-0417 on this device, last eight weeks: 26 mL on 12 Mar 2026; 26 mL in all.");
  await expect(told).toBeVisible();
  await sheet.press("Enter 26 mL");
  await expect(sheet.field("previous_blood")).toHaveValue("26");
  await expect(sheet.button("Enter 26 mL")).toBeHidden();
  await sheet.stage("Before the needle");
  await expect(page.getByText("52 mL").first()).toBeVisible();
});

test("an adverse event is added to a signed record and prints; the next session takes the order over", async ({ app, page }) => {
  const sheet = await handedOver(app, "Not counted");
  await sheet.stage("Order");
  await sheet.unfold("Who ordered, who prepares");
  await sheet.type("session", "2 of 3");
  await sheet.stage("Product");
  await sheet.next("Sign the record");
  await sheet.stage("Later");
  await sheet.type("adverse_event", "faint, 11:50, prescriber told");
  await sheet.type("amend_by", "JT");
  await sheet.type("amend_reason", "seen after the injection");
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  const card = await print(page, "A4");
  expect(card.text).toContain("Adverse event: faint, 11:50, prescriber told");
  expect(card.text).toContain("session 2 of 3");
  await app.place("Records");
  await sheet.hand.press(app.records.signed.getByRole("button", { name: "Duplicate" }));
  await sheet.unfold("Who ordered, who prepares");
  await expect(sheet.field("session")).toHaveValue("3 of 3");
  await expect(page.getByText(/Order taken over from \w\w, 12.Mar.2026: hold it against today’s order\./)).toBeVisible();
  await sheet.type("technician", "MO");
  const caution = page.getByText("nobody has held it against today’s", { exact: false });
  await expect(caution.first()).toBeVisible();
  await sheet.tick("Order taken over held against today’s order, and they agree");
  await expect(caution).toHaveCount(0);
  // What was held against today's was that order, and no other.
  await sheet.choose("Side", "Left");
  await expect(caution.first()).toBeVisible();
  await expect(page.getByRole("checkbox", { name: "Order taken over held against" })).not.toBeChecked();
  await expect(sheet.field("adverse_event")).toHaveCount(0);
});

test("what came to nothing is signed without a product, says why, and is not deleted unsigned", async ({ app, page }) => {
  const sheet = await spun(app);
  await expect(page.getByRole("heading", { name: "No product to hand over" })).toBeVisible();
  await sheet.take(sheet.button("Sign without a product"));
  await expect(page.getByText("Say why no product is handed over, under Card.")).toBeVisible();
  await expect(sheet.field("no_product")).toBeFocused();
  await sheet.type("no_product", "both containers clotted");
  expect(await axe(page)).toEqual([]);
  await sheet.take(sheet.button("Sign without a product"));
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:16.")).toBeVisible();
  await expect(page.locator(".paper .card")).toContainText("No product was handed over: both containers clotted");
  await sheet.stage("Later");
  await expect(page.getByText("The record says that no product came of the draw.", { exact: false })).toBeVisible();
  await expect(page.getByText("The record holds a count.", { exact: false })).toHaveCount(0);
  await app.place("Records");
  await expect(page.getByText("Later: ended without a product, signed")).toBeVisible();
});

test("a case with blood drawn is discarded only when that was asked about", async ({ app, page }) => {
  await spun(app);
  const sign = (await app.sign.textContent()).trim();
  await app.place("Records");
  await app.press("Discard");
  await expect(page.getByText(`${sign}: blood was drawn (spun).`, { exact: false })).toBeVisible();
  await app.press("Keep it open");
  await expect(app.records.openCase(sign)).toHaveCount(1);
  await app.press("Discard");
  await app.press("Discard it all the same");
  await expect(app.records.openCase(sign)).toHaveCount(0);
});

test("a case without a product keeps label and clock until its record is stored", async ({ app, page }) => {
  await breaks(page, "IDBObjectStore", "put");
  const sheet = await spun(app);
  await sheet.type("no_product", "both containers clotted");
  await setBroken(page, true);
  await sheet.take(sheet.button("Sign without a product"));
  await expect(app.banner).toContainText("is not recorded: this browser’s storage is full.");
  // The use-by still runs, and a reload finds the case open.
  await expect(sheet.clocks).toContainText("use by");
  await expect(page.locator(".label-preview")).not.toContainText("No product, no label of it.");
  await app.draftSaved();
  await app.reload();
  await expect(sheet.clocks).toContainText("use by");
  await setBroken(page, false);
  await sheet.take(sheet.button("Sign without a product"));
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:16.")).toBeVisible();
  await expect(page.locator(".paper .card")).toContainText("No product was handed over: both containers clotted");
  expect((await storedRecord(page)).signed.draft.ended_without).toBeGreaterThan(0);
});

test("a discarded case is deleted only when that was asked about", async ({ app, page }) => {
  await app.open();
  await app.demo();
  await app.place("Records");
  await app.press("Discard");
  await app.press("Delete for good");
  await app.press("Leave it");
  await expect(page.getByRole("button", { name: "Bring back" })).toBeVisible();
  await app.press("Delete for good");
  await app.press("Delete it");
  await expect(page.getByRole("button", { name: "Bring back" })).toHaveCount(0);
  await expect(page.getByText("discarded.")).toHaveCount(0);
});

test("the trouble dialog of a signed case keeps its choice while whoever amends is named in it", async ({ app }) => {
  const sheet = await signed(app);
  const dialog = await sheet.trouble("Clot", "Container 2");
  await sheet.on("Product");
  await expect(sheet.field("amender_trouble")).toBeFocused();
  await expect(dialog.getByRole("heading", { name: "In which container?" })).toBeVisible();
  await sheet.type("amender_trouble", "JT");
  await sheet.hand.press(dialog.getByRole("button", { name: "Container 2", exact: true }));
  await expect(dialog.getByRole("heading", { name: "What to do now" })).toBeVisible();
  await expect(sheet.field("amender_trouble")).toHaveValue("JT");
  await sheet.backToWork();
  await sheet.stage("Later");
  await expect(sheet.field("amend_by")).toHaveValue("JT");
});

test("what an amendment will sign is listed before, with the Stops that stand and what is typed and not entered", async ({ app, page }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  const list = page.getByRole("list", { name: "To be signed now" });
  const typed = page.getByText("Typed and not entered yet: Needle in.");
  await expect(list).toHaveCount(0);
  await sheet.type("adverse_event", "faint at 11:50");
  await expect(list.getByRole("listitem")).toHaveCount(1);
  await expect(list).toContainText("faint at 11:50");
  await sheet.type("amend_by", "JT");
  await sheet.unfold("Times, as entered");
  await sheet.type("time_needle_in", "10:20");
  await expect(typed).toBeVisible();
  await sheet.press("Correct: Needle in");
  await expect(typed).toBeHidden();
  await expect(page.getByText(/^Still open: .*earlier use-by/)).toBeVisible();
  expect(await axe(page)).toEqual([]);
  const before = await list.getByRole("listitem").allTextContents();
  expect(before.length).toBeGreaterThan(1);
  await sheet.type("amend_reason", "told by the prescriber");
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  await expect(list).toHaveCount(0);
  // Afterwards the entry says the same.
  for (const line of before) await expect(page.locator("ol li").filter({ hasText: "Amended by JT" })).toContainText(line);
});

test("all given, tapped once the use-by is past, asks when and writes no time", async ({ app, page }) => {
  const sheet = await handedOver(app, "Count later");
  await app.setTime("2026-03-12T14:40:00+01:00");
  await app.tick();
  await sheet.press("All given");
  await expect(page.getByText("When was it given? Enter the time at each part, below.")).toBeVisible();
  await expect(sheet.field("part_given_at_1")).toBeFocused();
  for (const part of [1, 2]) await expect(sheet.field(`part_given_at_${part}`)).toHaveValue("");
  await sheet.typeAll({ part_given_at_1: "11:50", part_given_at_2: "11:52" });
  await expect(sheet.button("All given")).toHaveCount(0);
  await expect(page.locator(".clock").filter({ visible: true })).toHaveCount(0);
});
