// The clinic's log: equipment and its checks, lots in use, the day, what was thrown away.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { kept } from "../support/kept.mjs";
import { checkAndGoIn, drawToTheMark, SWING_OUT } from "../support/scenario.mjs";

const TUBE = "Tube, filled to 15 mL";
const PASSED = { "check-of": { index: 1 }, "check-what": { label: "Speed" }, "check-result": { label: "in order" } };

async function log(app) {
  await app.place("Records");
  await app.records.log();
  await expect(app.page.getByRole("heading", { level: 1, name: "Log", exact: true })).toBeVisible();
}

/** Fills in one form and enters it. */
async function enter(app, form, entries, picks = {}) {
  const within = form ? app.page.locator(`#${form}`) : app.page;
  if (form && !(await within.evaluate((one) => one.open))) await app.hand.press(within.locator("> summary"));
  for (const [key, words] of Object.entries(picks)) await app.page.locator(`#${key}`).selectOption(words);
  await app.typeAll(entries);
  const button = form ? within.getByRole("button", { name: "Enter", exact: true }) : app.page.locator("section", { has: app.page.locator("#lot-lot") }).getByRole("button", { name: "Enter", exact: true });
  await app.hand.press(button);
}

async function centrifuge(app, name = "Centrifuge 1") {
  await enter(app, "log-equipment", { "equipment-name": name, "equipment-serial": "0417", "equipment-by": "MO" }, { "equipment-rotor": { label: SWING_OUT } });
  await expect(app.page.locator("b", { hasText: name }).first()).toBeVisible();
}

test("an overdue check is a caution of the case that spins there, until one is entered", async ({ app }) => {
  await app.open();
  await log(app);
  await centrifuge(app);
  await expect(app.page.locator("main")).toContainText("Speed: no check entered, no interval set");
  await enter(app, "log-check", { "check-on": "12 Sep 2025", "check-due": "11 Mar 2026", "check-found": "2000 set, 1990 measured", "check-by": "MO" }, PASSED);
  await expect(app.page.locator("main")).toContainText("Speed: check OVERDUE since 11 Mar 2026");
  expect(await axe(app.page)).toEqual([]);
  await app.reload();
  await app.place("Worksheet");
  const sheet = await app.demo();
  await sheet.unfold("Rotor, lots and expiry");
  await sheet.pick("Rotor", SWING_OUT);
  // Before blood waits for it, and where it is spun.
  for (const stage of ["Before the needle", "Spinning"]) {
    await sheet.stage(stage);
    await expect(sheet.finding("The check of the speed of a centrifuge of this rotor is overdue")).toBeVisible();
  }
  await sheet.press("It spins on Centrifuge 1, serial number 0417");
  await expect(sheet.finding("The check of the speed of this centrifuge is overdue")).toBeVisible();
  await log(app);
  await enter(app, "log-check", { "check-on": "12 Mar 2026", "check-due": "12 Mar 2027", "check-by": "MO" }, PASSED);
  await expect(app.page.locator("main")).toContainText("next due 12 Mar 2027");
  await app.place("Worksheet");
  await sheet.stage("Spinning");
  await expect(sheet.finding("overdue")).toHaveCount(0);
});

test("bad input is told at its field and keeps what was typed; a correction shows what stood before", async ({ app }) => {
  await app.open();
  await log(app);
  await centrifuge(app);
  await enter(app, "log-check", { "check-on": "10 Mar 2026", "check-by": "MO" });
  await expect(app.page.locator("#log-check")).toContainText("Choose one.");
  await enter(app, "log-check", { "check-on": "soon", "check-due": "11 Mar 2027", "check-by": "MO" }, PASSED);
  await expect(app.reading("check-on")).toContainText("No day can be read here");
  await expect(app.field("check-due")).toHaveValue("11 Mar 2027");
  await app.type("check-on", "10 Mar 2026");
  await app.hand.press(app.page.locator("#log-check").getByRole("button", { name: "Enter", exact: true }));
  const entries = app.page.locator("section", { has: app.page.getByRole("heading", { name: "All entries" }) });
  await expect(entries).toContainText("Speed of Centrifuge 1 checked on 10 Mar 2026: in order");
  await enter(app, "log-care", { "care-done": "wiped with disinfectant", "care-by": "JT" }, { "care-kind": { label: "Spilled" } });
  await expect(entries).toContainText("wiped with disinfectant");
  const row = entries.locator("li", { hasText: "checked on 10 Mar 2026" });
  await app.hand.press(row.locator("summary"));
  await app.hand.type(row.getByLabel("Why", { exact: true }).last(), "of another machine");
  await app.hand.type(row.getByLabel("Who enters it", { exact: true }).last(), "MO");
  await app.hand.press(row.getByRole("button", { name: "It should not have been entered" }));
  const struck = entries.locator("li", { hasText: "taken out" });
  await expect(struck).toContainText("of another machine");
  await expect(struck.locator("s")).toContainText("checked on 10 Mar 2026");
});

test("a lot of the list fills lot and expiry at a tap; one out of date is told and not offered", async ({ app }) => {
  await app.open();
  await log(app);
  await enter(app, null, { "lot-lot": "K-0058", "lot-expiry": "30 Jun 2027", "lot-by": "MO" }, { "lot-container": { label: TUBE } });
  await expect(app.page.locator("main")).toContainText(`${TUBE}, lot K-0058, expiry 30 Jun 2027`);
  await enter(app, null, { "lot-lot": "K-0044", "lot-expiry": "Jan 2026", "lot-by": "MO" }, { "lot-container": { label: TUBE } });
  await expect(app.page.locator("main")).toContainText("OUT OF DATE");
  await app.place("Worksheet");
  const sheet = await app.demo();
  await sheet.unfold("Rotor, lots and expiry");
  const list = sheet.page.locator(".field", { has: sheet.field("container_lot") }).getByRole("group", { name: "Lots in use" });
  await expect(list).toContainText("lot K-0044: OUT OF DATE since 31 Jan 2026.");
  await expect(list.getByRole("button")).toHaveCount(1);
  await app.hand.press(list.getByRole("button", { name: "lot K-0058" }));
  await expect(sheet.field("container_lot")).toHaveValue("K-0058");
  await expect(sheet.field("container_expiry")).toHaveValue("2027-06-30");
});

test("the day tells ready-by, the latest needle and who has the centrifuge", async ({ app }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.unfold("Who ordered, who prepares");
  await sheet.type("ready_by", "soon");
  await expect(sheet.reading("ready_by")).toContainText("No time can be read here");
  await sheet.type("ready_by", "12:30");
  await expect(sheet.reading("ready_by")).toContainText("Ready by 12 Mar 2026, 12:30.");
  await app.place("Records");
  const day = app.page.locator("#day");
  await expect(day.locator("tbody tr")).toContainText("HL-0417");
  await expect(day.locator("tbody tr")).toContainText("12:30");
  // The handling between the spins has no planned time.
  await expect(day.locator("tbody tr")).toContainText("not told: a stage has no planned time");
  expect(await axe(app.page)).toEqual([]);
  await app.place("Worksheet");
  await checkAndGoIn(sheet);
  await drawToTheMark(sheet);
  await sheet.tick("Rotor balanced, lids closed");
  await sheet.next("Start the spin");
  await app.place("Records");
  await expect(day).toContainText("turns until 10:41");
});

test("what was thrown away stands in the case with lot and reason, and is found by its lot", async ({ app }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Product");
  await sheet.unfold("Discarded");
  await sheet.typeAll({ "discard-count": "1", "discard-lot": "K-0077" });
  await sheet.press("Enter");
  await expect(sheet.page.getByText("Say why, or how it was disposed of.")).toBeVisible();
  await sheet.type("discard-why", "seal torn");
  await sheet.press("Enter");
  await expect(sheet.page.locator("main li", { hasText: "K-0077" })).toContainText("Opened, not used: 1 container, lot K-0077, seal torn, MO");
  expect(await axe(app.page)).toEqual([]);
  await app.place("Records");
  await app.records.quality();
  await app.type("recall-lot", "K-0077");
  await expect(app.page.locator("main")).toContainText("K-0077");
});

test("what an entry that was taken out said is removed for good, at a tap that was asked about", async ({ app, page }) => {
  await app.open();
  await log(app);
  await enter(app, "log-care", { "care-done": "wiped, of HL-0417", "care-by": "MO" });
  const entries = page.locator(".log-entries");
  const row = entries.locator("li").first();
  await expect(row).toContainText("HL-0417");
  await expect(row.getByText("Remove its text for good")).toHaveCount(0);
  await app.hand.press(row.locator("summary", { hasText: "Correct" }));
  await row.getByLabel("Why").last().fill("names a patient");
  await row.getByLabel("Who enters it").last().fill("MO");
  await app.hand.press(row.getByRole("button", { name: "It should not have been entered" }));
  await expect(row).toContainText("taken out");
  await app.hand.press(row.locator("summary", { hasText: "Remove its text for good" }));
  const press = (words) => app.hand.press(row.getByRole("button", { name: words, exact: true }));
  await press("Remove its text for good");
  await press("Remove for good");
  await expect(row.locator("[role=status]").last()).not.toHaveText("");
  await row.getByLabel("Why").last().fill("a name");
  await row.getByLabel("Who enters it").last().fill("JT");
  expect(await axe(page)).toEqual([]);
  expect(await kept(page)).toContain("HL-0417");
  await press("Remove its text for good");
  await expect(row.getByRole("alert")).toContainText("It is final");
  await expect(row.getByRole("button", { name: "Cancel", exact: true })).toBeFocused();
  await page.keyboard.press("Enter");
  await expect(row.getByRole("button", { name: "Remove its text for good", exact: true })).toBeFocused();
  await page.keyboard.press("Enter");
  await press("Remove for good");
  await expect(page.locator("#unsaid")).toBeFocused();
  await expect(page.locator("#unsaid")).toContainText("Removed: 2 stored texts.");
  await expect(row).toContainText("Text removed, JT, 12 Mar 2026");
  await expect(row).not.toContainText("HL-0417");
  expect(await kept(page)).not.toContain("HL-0417");
  await app.reload();
  await log(app);
  await expect(entries.locator("li").first()).toContainText("Text removed, JT");
});
