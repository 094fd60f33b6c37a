// What the answer says while the order is typed: partial input, both meanings of a volume, no count.
import { expect, test } from "../strawline.mjs";
import { DOUBLE_SPIN, TUBE, typeOrder } from "../support/scenario.mjs";

test.beforeEach(async ({ app }) => {
  await app.open();
});

test("an empty case says what is still needed, never an error", async ({ app }) => {
  const sheet = await app.newCase();
  await expect(sheet.answer).toContainText(
    "For anticoagulant and fill mark, still needed: which container; how many; to which volume; protocol or anticoagulant.",
  );
});

test("a volume typed by hand waits until its meaning is said", async ({ app }) => {
  const sheet = await app.newCase();
  await sheet.pick("Protocol", DOUBLE_SPIN);
  await sheet.type("fill_volume", "15");
  await expect(sheet.page.getByText("Which is meant? The draw waits for it.")).toBeVisible();
  await sheet.pick("Container", TUBE);
  await expect(sheet.answer).toContainText("whether that volume is the fill mark or blood alone");
});

test("fill mark and blood alone stand written out beside each other", async ({ app, page }) => {
  const sheet = await app.demo();
  await expect(page.getByText("Chosen, the fill mark: 2 anticoagulant + 13 blood = 15 mL, the mark.")).toBeVisible();
  await expect(page.getByText("If it were blood alone: 2.4 anticoagulant + 15 blood = 17.4 mL, the mark.")).toBeVisible();
});

test("without a count: fold and ceiling first, then a table over plausible counts @everywhere", async ({ app }) => {
  const sheet = await app.newCase();
  await typeOrder(sheet, { count: false });
  await expect(sheet.row("Fold")).toContainText("(ceiling 6.5)");
  await expect(sheet.answer).toContainText("Ceiling 6.5: 26 mL blood ÷ 4 mL product");
  await expect(sheet.answer.getByRole("rowheader", { name: "250", exact: true })).toBeVisible();
  await expect(sheet.answer).toContainText("2 to 3 mL in an EDTA tube at the same needle, counted, turns this table into one row.");
});

test("a count that arrives turns the table into one row", async ({ app }) => {
  const sheet = await app.newCase();
  await typeOrder(sheet, { count: false });
  await expect(sheet.row("Platelets in product")).toHaveCount(0);
  await sheet.choose("Is there a count of this blood?", "Counted today");
  await sheet.type("blood_count", "210");
  await sheet.pick("Counted from", "Laboratory EDTA tube");
  await expect(sheet.row("Platelets in product")).toContainText("3.8");
  await expect(sheet.answer.getByText("If the count is")).toHaveCount(0);
});

test("every number of the answer opens to its formula, today's values and its source", async ({ app }) => {
  const sheet = await app.demo();
  await sheet.hand.press(sheet.opens("w-fold"));
  await expect(sheet.working("w-fold")).toContainText("fold = η·B/V");
  await expect(sheet.working("w-fold")).toContainText("· 26 / 4");
  await expect(sheet.working("w-fold").locator(".source li").first()).not.toBeEmpty();
});

test("what the order leaves open is a list for the prescriber", async ({ app, page }) => {
  await app.demo();
  await expect(page.locator("main").getByText("white cells; platelets to give")).toBeVisible();
});

test("screening answers are cautions for the prescriber, never advice about a medicine", async ({ app }) => {
  const sheet = await app.demo();
  const caution = sheet.finding("an anti-inflammatory pain medicine in the last days");
  await expect(caution).toContainText("Give no advice about the medicine: that is for the prescriber.");
});
