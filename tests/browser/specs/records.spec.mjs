// Signed records: kept, found again, added to by a late count and never changed.
import { expect, test } from "../strawline.mjs";
import { PRESCRIBER, drawToTheMark, spin } from "../support/scenario.mjs";

/** A demo case handed over with its count still to come, and signed. */
async function signed(app, how = "Count later") {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await sheet.next("Needle in");
  await drawToTheMark(sheet);
  await spin(app, sheet);
  await app.setTime("2026-03-12T11:33:00+01:00");
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Platelets of the product", how);
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await sheet.next("Hand over");
  await sheet.next("Sign the record");
  await expect(app.page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  return sheet;
}

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
  await sheet.type("amend_reason", "count came back from the laboratory");
  await sheet.next("Amend the record");
  await expect(sheet.page.getByText("Amended once.")).toBeVisible();
  await app.place("Records");
  await expect(app.records.signed).toContainText("924 ×10⁹/L");
  await expect(app.records.signed).toContainText("amended");
  await expect(app.records.waiting).toHaveCount(0);
});

test("an amendment without a reason is refused", async ({ app }) => {
  const sheet = await signed(app);
  await sheet.stage("Later");
  await sheet.type("reading_1", "924");
  await sheet.next("Amend the record");
  await expect(sheet.page.getByText("Enter why the record is amended.")).toBeVisible();
});

