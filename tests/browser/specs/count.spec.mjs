// Count: the recipe before it, what belongs to it, what to check above 100 %, what others have published; and late.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { print } from "../support/paper.mjs";
import { signed } from "../support/scenario.mjs";

/** The demo case at Product, nothing entered there. */
async function product(app) {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Product");
  return sheet;
}

/** The demo's 26 mL of blood at 210 ×10⁹/L, 4 mL kept, counted undiluted from a dry tube. */
async function counted(sheet, ...readings) {
  await sheet.type("product_actual", "4");
  await sheet.choose("The count sample went into", "Dry tube or straight from the product");
  await sheet.choose("Sample before the analyser", "Undiluted");
  for (const [i, reading] of readings.entries()) {
    if (i > 0) await sheet.press("Add a reading");
    await sheet.type(`reading_${i + 1}`, reading);
  }
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
}

const number = async (locator) => Number(await locator.textContent());

test("the recipe says what goes together and what the analyser should read", async ({ app, page }) => {
  const sheet = await product(app);
  await expect(sheet.opens("w-reading")).toHaveCount(0);
  await sheet.choose("Sample before the analyser", "Undiluted");
  const plain = await number(sheet.opens("w-reading"));
  // No more than all 210 × 26 / 4 that were drawn.
  expect(plain).toBeGreaterThan(210);
  expect(plain).toBeLessThan(1365);
  await expect(page.getByText("undiluted, predicted;")).toBeVisible();
  await expect(sheet.opens("w-mix")).toHaveCount(0);
  await sheet.choose("Sample before the analyser", "Diluted");
  await sheet.type("dilution", "20");
  // 1 part in 20: 50 µL and nineteen times as much, by arithmetic.
  await expect(sheet.opens("w-mix")).toHaveText("50 µL of product into 950 µL of diluent");
  await expect(page.getByText("at 1 part in 20, predicted;")).toBeVisible();
  const diluted = await number(sheet.opens("w-reading"));
  expect(Math.abs(diluted * 20 / plain - 1)).toBeLessThan(0.05);
  // The laboratory's own factor of that tube: the analyser reads so much less.
  await sheet.choose("The count sample went into", "Liquid-citrate tube");
  await sheet.type("sample_factor", "1.25");
  await expect.poll(async () => (await number(sheet.opens("w-reading"))) * 1.25 * 20 / plain).toBeCloseTo(1, 1);
  await app.hand.press(sheet.opens("w-reading"));
  await expect(sheet.working("w-reading")).toContainText("r = c/(d·k)");
});

test("the tube is asked, and its note goes once it is said", async ({ app }) => {
  const sheet = await product(app);
  await sheet.typeAll({ product_actual: "4", reading_1: "924" });
  await expect(sheet.finding("not said what the counted sample went into")).toBeVisible();
  await sheet.choose("The count sample went into", "Dry tube or straight from the product");
  await expect(sheet.finding("not said what the counted sample went into")).toHaveCount(0);
});

test("replicates give their mean and their spread", async ({ app }) => {
  const sheet = await product(app);
  await counted(sheet, "900", "948");
  await expect(sheet.opens("w-c")).toHaveText("924");
  // SD 33.94 over 924, by arithmetic.
  await expect(sheet.opens("w-spread")).toHaveText("3.7");
});

test("above what was drawn, each check stands in order with what it would make of the number", async ({ app, page }) => {
  const sheet = await product(app);
  await counted(sheet, "924");
  await expect(page.locator("#slips")).toHaveCount(0);
  await sheet.type("reading_1", "1560");
  const checks = page.locator("#slips li");
  await expect(checks).toHaveCount(4);
  // 210 × (1 + 2/13) = 242; 1560 × 4 / (242.3 × 26) = 0.99. 210 × 26 / 4 = 1365. 210 × 26 / 1560 = 3.5.
  for (const [i, words] of [
    [0, "what the blood’s own count was taken from"],
    [0, "from the filled container, its own count is 242 ×10⁹/L and the recovery 0.99, which can be."],
    [1, "No dilution is reckoned in"],
    [2, "A mixed sample could have read 1365 ×10⁹/L at most."],
    [3, "there could be 3.5 mL of product at most."],
  ]) {
    await expect(checks.nth(i)).toContainText(words);
  }
  expect(await axe(page)).toEqual([]);
});

test("other cells follow the sample they were read from", async ({ app }) => {
  const sheet = await product(app);
  await counted(sheet, "46.2");
  await sheet.unfold("Other cells");
  await expect(sheet.page.getByRole("group", { name: "White and red cells were read from" })).toHaveCount(0);
  await sheet.choose("Sample before the analyser", "Diluted");
  await sheet.typeAll({ dilution: "20", product_white: "0.5", product_neutrophils: "40", blood_white: "5" });
  await expect(sheet.finding("whether white cells, red cells or haematocrit were read from the diluted sample")).toBeVisible();
  await sheet.choose("White and red cells were read from", "The diluted sample");
  // 0.5 × 20 = 10; 10 / 5 = 2; 10 × 0.40 = 4.
  await expect(sheet.opens("w-white")).toHaveText("10");
  await expect(sheet.opens("w-white-fold")).toHaveText("2");
  await expect(sheet.opens("w-neutrophils")).toHaveText("4");
});

test("the spin is closed by volume and by platelets", async ({ app, page }) => {
  const sheet = await product(app);
  await counted(sheet, "924");
  await sheet.unfold("The spin, closed by measurement");
  await sheet.typeAll({ poor_plasma: "8", cells_volume: "17.5" });
  // 4 + 8 + 17.5 of two fills of 15.
  await expect(sheet.opens("w-found")).toHaveText("29.5");
  await expect(page.getByText("The volumes close within what the scales can tell.")).toBeVisible();
  await sheet.type("cells_volume", "12");
  await expect(page.getByText("Less came out than was filled.")).toBeVisible();
  await expect(sheet.finding("Product, plasma and cells come to 24 mL; filled were 30 mL.")).toBeVisible();
  await sheet.type("plasma_reading", "50");
  // 8 × 50 = 0.4 ×10⁹ of 5.46 drawn; 3.696 in the product.
  await expect(sheet.opens("w-in-plasma")).toHaveText("0.4");
  await expect(page.getByText("68 % are in the product, 7 % in the poor plasma, 25 % with the cells")).toBeVisible();
});

test("published classes stand behind a tap and name what they lack", async ({ app, page }) => {
  const sheet = await product(app);
  await sheet.unfold("Published classifications");
  await expect(page.getByText("Nothing is classified before the product is counted.")).toBeVisible();
  await counted(sheet, "924");
  await expect(page.getByText("None had been validated when they were reviewed")).toBeVisible();
  const paw = page.getByRole("table", { name: "PAW" });
  await expect(paw).toContainText("not determinable without the product’s white cells and the blood’s white cells");
  for (const family of ["Mishra", "PLRA", "DEPA", "Dohan Ehrenfest"]) {
    await expect(page.getByRole("table", { name: family })).toBeVisible();
  }
  await expect(page.getByRole("table", { name: "DEPA" }).locator("+ ul")).toContainText("from memory, verify");
});

for (const [stage, fold] of [["Product", null], ["Order", "Other amounts the order names"]]) {
  test(`dose literature shows both sides together, under ${stage}`, async ({ app, page }) => {
    await app.open();
    const sheet = await app.demo();
    if (stage !== "Order") await sheet.stage(stage);
    if (fold) await sheet.unfold(fold);
    const [reported, none] = ["Reported", "No difference found, or caution advised"].map((name) => page.getByRole("heading", { name, exact: true }));
    await expect(reported).toHaveCount(0);
    await sheet.unfold("Published doses, and the trials that found nothing");
    await expect(reported).toBeVisible();
    await expect(none).toBeVisible();
    await expect(page.getByText("none is a target")).toBeVisible();
    await expect(page.getByText("Knee, 288 patients, three weekly injections against saline")).toBeVisible();
    expect(await axe(page)).toEqual([]);
  });
}

test("the plain late count is five taps, a number and a name, and amends the card", async ({ app, page }) => {
  const sheet = await signed(app);
  await app.setTime("2026-03-14T09:00:00+01:00");
  await app.place("Records");
  await app.press("Type the count");
  await sheet.on("Later");
  await sheet.choose("The count sample went into", "Dry tube or straight from the product");
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.type("reading_1", "924");
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sheet.type("amend_by", "MO");
  await sheet.press("count came back from the laboratory");
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  const card = await print(page, "A4");
  expect(card.pages).toBe(1);
  expect(card.text).toContain("Amended preparation card");
  expect(card.text).toContain("count came back from the laboratory");
  expect(card.text).toContain("924 ×10⁹/L");
});

test("a full late count amends the card with all that was counted", async ({ app, page }) => {
  const sheet = await signed(app);
  await app.setTime("2026-03-14T09:00:00+01:00");
  await sheet.stage("Later");
  await sheet.choose("The count sample went into", "Dry tube or straight from the product");
  await sheet.choose("Sample before the analyser", "Diluted");
  await sheet.type("dilution", "20");
  await sheet.type("reading_1", "45");
  await sheet.press("Add a reading");
  await sheet.type("reading_2", "47.4");
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sheet.unfold("Other cells");
  await sheet.choose("White and red cells were read from", "The product itself");
  await sheet.typeAll({ product_white: "1.2", product_haematocrit: "0.01" });
  await sheet.unfold("The spin, closed by measurement");
  await sheet.typeAll({ poor_plasma: "8", plasma_reading: "50" });
  await expect(sheet.opens("w-in-plasma")).toHaveText("0.4");
  await sheet.type("amend_by", "MO");
  await sheet.press("count came back from the laboratory");
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  const card = await print(page, "A4");
  expect(card.pages).toBe(1);
  for (const words of ["Amended preparation card", "924 ×10⁹/L", "spread 3.7 %", "1.2 ×10⁹/L"]) expect(card.text).toContain(words);
  await app.reload();
  await app.place("Records");
  await expect(app.records.signed).toContainText("924 ×10⁹/L");
});

test("a reading brought back leaves what was typed of the others since", async ({ app }) => {
  const sheet = await product(app);
  await counted(sheet, "924", "931");
  await sheet.press("Remove the last reading");
  await expect(sheet.field("reading_2")).toHaveCount(0);
  await sheet.type("reading_1", "942");
  await sheet.press("Undo");
  await expect(sheet.field("reading_2")).toHaveValue("931");
  await expect(sheet.field("reading_1")).toHaveValue("942");
});
