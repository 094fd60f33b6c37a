// A check speaks of what was there when it was made, and of a person who made it.
import { expect, test } from "../strawline.mjs";
import { print } from "../support/paper.mjs";
import { drawToTheMark } from "../support/scenario.mjs";

const BALANCE = "Rotor balanced, lids closed";

async function demoIn(app) {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  return sheet;
}

test("no spin begins before the needle is out @everywhere", async ({ app }) => {
  const sheet = await demoIn(app);
  await sheet.stage("Spinning");
  await sheet.next("Enter first when the needle went in");
  await sheet.on("Before the needle");
  await sheet.next("Needle in");
  await sheet.press("Back to before the needle");
  await sheet.stage("Spinning");
  await sheet.tick(BALANCE);
  await sheet.next("Enter first that the needle is out");
  await sheet.on("Needle in");
  await drawToTheMark(sheet);
  await sheet.next("Start the spin");
  await expect(sheet.page.getByText("Stage 1", { exact: false }).first()).toBeVisible();
});

test("a rotor that was opened is balanced again before it turns", async ({ app, page }) => {
  const sheet = await demoIn(app);
  await sheet.next("Needle in");
  await drawToTheMark(sheet);
  const box = page.getByLabel(BALANCE);
  await sheet.tick(BALANCE);
  await app.setTime("2026-03-12T10:50:00+01:00");
  await sheet.next("Start the spin");
  await app.setTime("2026-03-12T11:00:30+01:00");
  await sheet.next("Stage 2 has begun");
  await expect(box).not.toBeChecked();
  await sheet.next("Stage 3 has begun");
  await expect(box).toBeFocused();
  await expect(page.locator("button.next")).toContainText("Stage 3 has begun");
  await sheet.tick(BALANCE);
  await sheet.next("Stage 3 has begun");
  await expect(page.locator("button.next")).toContainText("Spin ended");
});

test("a rotor that is loaded otherwise is balanced again before it turns", async ({ app, page }) => {
  const sheet = await demoIn(app);
  await sheet.next("Needle in");
  await drawToTheMark(sheet);
  const box = page.getByLabel(BALANCE);
  await sheet.tick(BALANCE);
  const dialog = await sheet.trouble("Clot", "Container 1");
  await sheet.hand.press(dialog.getByRole("button", { name: "Set container 1 aside" }));
  await sheet.backToWork();
  await expect(box).not.toBeChecked();
  const why = page.getByText(/^Rotor balanced, lids closed: MO, \d\d:\d\d, before what goes into the rotor changed$/);
  await expect(why).toBeVisible();
  await sheet.next("Start the spin");
  await expect(box).toBeFocused();
  await sheet.tick(BALANCE);
  await expect(why).toHaveCount(0);
  await sheet.hand.press(page.locator("#loaded summary", { hasText: "Weights, as the scale reads them" }));
  await sheet.type("filled_weight_2", "31.2");
  await expect(box).not.toBeChecked();
  await sheet.tick(BALANCE);
  await sheet.next("Start the spin");
  await expect(page.locator("button.next")).toContainText("Stage 2 has begun");
  // What is known late was so all along.
  await sheet.type("filled_weight_2", "31.4");
  await expect(box).toBeChecked();
});

test("what ends the work is in sight the moment it is entered @everywhere", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("They differ");
  const stop = page.locator(".stops .halt, .bar.halted").filter({ visible: true });
  await expect(stop.first()).toContainText("What the patient stated does not agree with the order.");
  const seen = await stop.evaluateAll((all) =>
    all.some((one) => {
      const { x, y, width, height } = one.getBoundingClientRect();
      return one.contains(document.elementFromPoint(x + width / 2, y + height / 2));
    }),
  );
  expect(seen).toBe(true);
  // No amount to draw is told at the foot of a phone any more.
  await expect(page.locator(".bar:not(.halted)")).toHaveCount(0);
});

test("the second half of a double tap takes no step @everywhere", async ({ app, page }) => {
  const sheet = await demoIn(app);
  await sheet.next("Needle in");
  const mark = page.getByRole("button", { name: "1 at the mark" });
  const box = await mark.boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  // The step before was a tap too.
  await page.waitForTimeout(600);
  // In the page, so that no more lies between the two.
  await page.evaluate(async ([x, y]) => {
    const tap = () => document.elementFromPoint(x, y).closest("button").click();
    tap();
    await new Promise((over) => setTimeout(over, 120));
    tap();
  }, [x, y]);
  await expect(sheet.field("fill_actual_1")).toHaveValue("15");
  await expect(sheet.field("fill_actual_2")).toHaveValue("");
  await page.waitForTimeout(600);
  await page.mouse.click(x, y);
  await expect(sheet.field("fill_actual_2")).toHaveValue("15");
});

test("the technician is not the prescriber", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.decide("The two identifiers have not been checked", "mo", "busy");
  await expect(page.getByText("Whoever prepares cannot decide this.")).toBeVisible();
  await sheet.next("Needle in");
  await sheet.on("Before the needle");
});

test("that the identifiers differed is not wiped out by a tap", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("They differ");
  await sheet.press("Undo the identity check");
  await sheet.press("Both agree");
  expect((await print(page, "A4")).text).toContain("taken back");
});

test("a Bench entry changed since is one tap away, and only that tap takes it", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await app.place("Bench");
  await app.bench.openItem("Tube, filled to 15 mL");
  await app.bench.enter("Tube, filled to 15 mL", "Capacity", "18");
  await app.place("Worksheet");
  const take = page.getByRole("button", { name: "Take it as it stands in Bench" }).filter({ visible: true });
  await expect(take).toHaveCount(1);
  await sheet.hand.press(take);
  await expect(take).toHaveCount(0);
});

test("a check by nobody is none: the name is asked first", async ({ app, page }) => {
  await app.open();
  const sheet = await app.newCase();
  await sheet.typeAll({ patient_reference: "HL-0417", second_identifier: "4 Aug 1982" });
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await expect(sheet.field("technician")).toBeFocused();
  await expect(page.getByRole("button", { name: "Both agree" })).toBeVisible();
  await sheet.type("technician", "MO");
  await sheet.press("Both agree");
  await expect(page.getByRole("button", { name: "Both agree" })).toHaveCount(0);
});

test("another lot is looked at again, and both looks stay on the card", async ({ app, page }) => {
  const sheet = await demoIn(app);
  await sheet.press("Clear, in date");
  await sheet.type("anticoagulant_lot", "AC-2292");
  await expect(page.getByRole("button", { name: "Clear, in date" })).toBeVisible();
  expect((await print(page, "A4")).text).toContain("before the anticoagulant or its lot changed");
});

test("a container more than planned counts, and stands as extra", async ({ app, page }) => {
  const sheet = await demoIn(app);
  await sheet.next("Needle in");
  const rows = page.locator(".needle .table tbody tr");
  await expect(rows).toHaveCount(2);
  await sheet.press("One more container");
  await expect(rows.nth(2)).toContainText("extra");
  await sheet.type("fill_actual_3", "15");
  await expect(page.getByRole("button", { name: "Leave the last one out again" })).toBeHidden();
  await sheet.take(sheet.button("Needle out, 1 and 2 at the mark"));
  await expect(sheet.answer).toBeVisible();
  await sheet.stage("Product");
  await expect(sheet.ledger).toContainText("39");
});
