// Quality charts, what a case learns from counts, lot recall, check of the process.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { multiply } from "../support/history.mjs";
import { print } from "../support/paper.mjs";
import { DOUBLE_SPIN, collectAndHandOver, spun } from "../support/scenario.mjs";
import { secondTab, stored } from "../support/tabs.mjs";

/** Twelve counts of the clinic, about a recovery of 0.68. */
const TWELVE = [924, 951, 890, 938, 902, 967, 915, 929, 880, 944, 936, 910];

/** A demo case, signed and counted; and so many of the clinic's own beside it. */
async function history(app, page, readings, change) {
  await collectAndHandOver(app, await spun(app));
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await multiply(page, readings, change);
  await app.setTime("2026-04-12T09:00:00+02:00");
  await app.reload();
}

async function charts(app) {
  await app.place("Records");
  await app.records.quality();
  return app.records;
}

test.describe("the demo history", () => {
  test("its last lot drifts, and that is told with what to look at @everywhere", async ({ app, page }) => {
    await app.open();
    const records = await charts(app);
    await expect(page.getByText("No count of this protocol enters yet.")).toBeVisible();
    await records.tick("Show the demo history");
    await expect(page.getByText("Demo history, kept out of the clinic’s statistics")).toBeVisible();
    await expect(page.getByRole("heading", { name: `Recovery, ${DOUBLE_SPIN}` })).toBeVisible();
    await expect(records.counted).toContainText("60 accepted counts, ");
    await expect(page.getByText("Limits from the first 20 accepted counts")).toBeVisible();
    const picture = page.getByRole("img", { name: /^Chart of 60 accepted counts; \d+ of them ask to investigate/ });
    await expect(picture).toBeVisible();
    // Three lots, the last of them from the 41st on.
    for (const lot of ["K-0031", "K-0044", "K-0058"]) await expect(picture.locator("text", { hasText: lot })).toHaveCount(1);
    const newest = page.locator(".signal-item").first();
    await expect(newest).toContainText(/No\. (4|5|6)\d, .*: recovery 0\.\d+/);
    await expect(newest).toContainText("low.");
    await expect(page.locator(".signal-item", { hasText: "running mean (EWMA) beyond its limits, low." })).not.toHaveCount(0);
    await expect(newest.locator("ol li").first()).toHaveText("what the blood’s own count was taken from");
    await expect(page.getByText("A signal asks to investigate. It says nothing about a patient’s product.")).toBeVisible();
    await expect(page.getByText("speak about 1.9 times in 100 preparations")).toBeVisible();
  });

  test("one lot alone, against the limits of all", async ({ app, page }) => {
    await app.open();
    const records = await charts(app);
    await records.tick("Show the demo history");
    await records.unfold("By lot, technician or rotor");
    await records.press("K-0058");
    await expect(records.counted).toContainText("20 accepted counts, ");
    await expect(page.getByText("Limits from the first 20 accepted counts")).toBeVisible();
    await records.press("Show all again");
    await expect(records.counted).toContainText("60 accepted counts, ");
  });

  test("further rules speak on request", async ({ app, page }) => {
    await app.open();
    const records = await charts(app);
    await records.tick("Show the demo history");
    await records.unfold("Which rules speak");
    await records.tick("10ₓ: ten in a row on one side");
    await expect(page.getByText("Investigate: 10ₓ: ten in a row on one side, low.").first()).toBeAttached();
    // What was measured for the usual rules is not said of others.
    await expect(page.getByText("times in 100 preparations")).toHaveCount(0);
  });

  for (const colorScheme of ["light", "dark"]) {
    test.describe(colorScheme, () => {
      test.use({ by: "keys", colorScheme });

      test("its tables are reached by the keyboard, and nothing hinders a reader", async ({ app, page }) => {
        await app.open();
        const records = await charts(app);
        await records.tick("Show the demo history");
        await records.count(52);
        await expect(records.point).toBeFocused();
        await expect(records.point).toContainText("No. 52, ");
        await expect(records.point).toContainText("Lot of the containers: K-0058");
        await records.unfold("Against haematocrit, count and volume");
        await expect(page.getByRole("img", { name: /^60 accepted counts against: Haematocrit of the blood/ })).toBeVisible();
        await records.unfold("The line as a table");
        await expect(page.getByRole("columnheader", { name: "80 % range" }).first()).toBeVisible();
        expect(await axe(page)).toEqual([]);
      });
    });
  }
});

test("counts teach a new case, one left out does not, and that can be undone", async ({ app, page }) => {
  test.setTimeout(90_000);
  await history(app, page, TWELVE);
  const records = await charts(app);
  // The demo case is signed too, and is not among them.
  await expect(records.counted).toContainText("12 accepted counts, ");
  await expect(page.getByText("from 12 of your counts.")).toBeVisible();
  await expect(page.getByText("8 more accepted counts until there are limits.")).toBeVisible();
  await records.count(3);
  await expect(records.point).toContainText("No. 3, 15 Mar 2026: recovery 0.65");
  await records.unfold("Leave this count out");
  await records.press("Leave it out");
  await expect(page.getByText("Say who decides it.")).toBeVisible();
  await records.type("leave-out-who", "MO");
  await records.press("Leave it out");
  await expect(page.getByText("Leaving out a count needs a reason; it stays beside the count.")).toBeVisible();
  await records.type("leave-out-why", "clotted tube");
  await records.press("Leave it out");
  await expect(records.counted).toContainText("11 accepted counts, ");
  await expect(page.getByText("from 11 of your counts.")).toBeVisible();
  await expect(page.getByText("Count left out.")).toBeVisible();
  await records.press("Undo");
  await expect(records.counted).toContainText("12 accepted counts, ");

  // Once more, and it holds after a reload; what was decided and taken back stays to be read.
  await records.count(3);
  await records.unfold("Leave this count out");
  await records.type("leave-out-who", "MO");
  await records.type("leave-out-why", "clotted tube");
  await records.press("Leave it out");
  await expect(records.counted).toContainText("11 accepted counts, ");
  await app.draftSaved();
  await app.reload();
  await expect(records.counted).toContainText("11 accepted counts, ");
  expect((await stored(page, "strawline.quality")).exclusions.map((e) => e.back === null)).toEqual([false, true]);
  await records.unfold("Counts that do not enter");
  await expect(page.getByText("Left out by MO on 12 Apr 2026: clotted tube.")).toBeVisible();
  await expect(page.getByText("Demo: invented, never in the clinic’s statistics.")).toBeVisible();

  // A case begun now carries what eleven counts taught.
  await app.place("Worksheet");
  await app.place("Records");
  await app.press("New case");
  const sheet = app.worksheet;
  await sheet.on("Order");
  await sheet.pick("Container", "Tube, filled to 15 mL");
  await sheet.pick("Protocol", DOUBLE_SPIN);
  await sheet.type("product_volume", "4");
  await expect(sheet.answer).toContainText("Recovery from 11 of your counts");
  await sheet.unfold("Recovery from 11 of your counts");
  await expect(sheet.answer).toContainText("one more count is expected to make it about");
  await expect(sheet.finding("The range comes from published work")).toHaveCount(0);
});

test("what is decided in one tab holds in the other", async ({ app, page, context }) => {
  test.setTimeout(90_000);
  await history(app, page, TWELVE.slice(0, 4));
  const records = await charts(app);
  const other = await secondTab(context);
  await other.place("Records");
  await other.records.quality();
  await expect(other.records.counted).toContainText("4 accepted counts, ");
  await page.bringToFront();
  await records.count(2);
  await records.unfold("Leave this count out");
  await records.type("leave-out-who", "MO");
  await records.type("leave-out-why", "clotted tube");
  await records.press("Leave it out");
  await expect(records.counted).toContainText("3 accepted counts, ");
  await expect(other.records.counted).toContainText("3 accepted counts, ");
});

test("which preparations used a lot", async ({ app, page }) => {
  test.setTimeout(90_000);
  const change = (i) => (i < 2 ? { anticoagulant_lot: "ac 2291x" } : { anticoagulant_lot: "AC-2291" });
  await history(app, page, TWELVE.slice(0, 5), change);
  const records = await charts(app);
  await records.type("recall-lot", "ac-2291 ");
  // Three of the five, and the demo case.
  await expect(page.getByText("4 preparations used it.")).toBeVisible();
  const found = page.getByRole("region", { name: "Which preparations used lot …" });
  await expect(found.locator("tbody tr")).toHaveCount(4);
  await expect(found).toContainText("HL-0417");
  await records.type("recall-lot", "AC-9999");
  await expect(page.getByText("No preparation on this device names this lot by exactly this spelling.")).toBeVisible();
});

test("a check of the process: ten counts, a report, the protocol’s own", async ({ app, page }) => {
  test.setTimeout(120_000);
  await collectAndHandOver(app, await spun(app));
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await app.place("Bench");
  await app.bench.openItem(DOUBLE_SPIN);
  const part = page.locator(".process");
  await expect(part).toContainText("from literature");
  await app.bench.type("process-double-spin-begin-who", "MO");
  await app.bench.press("Begin a check of ten");
  await expect(part).toContainText("0 of 10 accepted counts");
  await app.draftSaved();

  await multiply(page, TWELVE.slice(0, 4));
  await app.setTime("2026-04-12T09:00:00+02:00");
  await app.reload();
  await app.bench.openItem(DOUBLE_SPIN);
  await expect(part).toContainText("4 of 10 accepted counts");
  await expect(part).toContainText("6 more accepted counts wanted.");
  await expect(part.getByRole("progressbar")).toHaveAttribute("value", "4");
  await expect(part.getByRole("row", { name: "Lots of anticoagulant" })).toContainText("AC-2291");

  await multiply(page, TWELVE);
  await app.reload();
  await app.bench.openItem(DOUBLE_SPIN);
  await expect(part).toContainText("10 of 10 accepted counts");
  await app.bench.press("Print the report");
  const report = await print(page, "A4");
  expect(report.pages).toBe(1);
  expect(report.text).toContain(`Check of the process: ${DOUBLE_SPIN}`);
  expect(report.text).toContain("10 of 10 accepted counts");
  await app.bench.type("process-double-spin-adopt-who", "MO");
  await app.bench.press("Make it this protocol’s own");
  await expect(part).toContainText("Ten counts are this protocol’s own since 12 Apr 2026, decided by MO.");
  // Two further counts than the ten are learned beside them.
  await expect(part).toContainText("from 12 of your counts");
  await app.bench.type("process-double-spin-back-who", "MO");
  await app.bench.press("Back to what held before");
  await expect(part).not.toContainText("Ten counts are this protocol’s own");
});
