// Product: what counts as a count, what a hand-over needs, and the label that prints.
import { expect, test } from "../strawline.mjs";
import { PRESCRIBER, spun } from "../support/scenario.mjs";

/** The label on the screen and the first on the paper, line by line, when the paper has followed. */
async function sameLabel(page, words) {
  const lines = (of) => page.locator(of).first().evaluate((label) => [...label.children].map((line) => line.textContent));
  await expect(page.locator(".label-preview > .label")).toContainText(words);
  await expect(page.locator(".paper .labels .label").first()).toContainText(words);
  expect(await lines(".label-preview > .label")).toEqual(await lines(".paper .labels .label"));
}

test("the label on the screen is the label that prints, line by line", async ({ app, page }) => {
  const sheet = await spun(app);
  await sameLabel(page, "platelets not counted; in ACD-A");
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.type("reading_1", "924");
  await sameLabel(page, "concentration not confirmed");
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sameLabel(page, "924 ×10⁹/L, counted; in ACD-A");
  await sheet.choose("Well mixed, and no clumps seen?", "No");
  await sameLabel(page, "No product label");
  await expect(sheet.stop("was not mixed")).toBeVisible();
});

test("a Stop without a way past leaves no label on screen or paper", async ({ app, page }) => {
  const sheet = await spun(app);
  await sheet.trouble("Container without label, or in doubt", "Container 1");
  await sheet.backToWork();
  await expect(page.locator(".label-preview")).toContainText("No label prints");
  await expect(page.locator(".label-preview > .label")).toHaveCount(0);
  await expect(page.locator(".paper .label")).toHaveCount(0);
});

test("a reading is a count when its dilution is said, and a total when the volume is", async ({ app }) => {
  const sheet = await spun(app);
  await sheet.type("reading_1", "924");
  await expect(sheet.finding("not said whether the counted sample was diluted")).toBeVisible();
  await expect(sheet.opens("w-c")).toHaveCount(0);
  await sheet.choose("Sample before the analyser", "Diluted");
  await sheet.typeAll({ dilution: "20", reading_1: "46.2" });
  await expect(sheet.opens("w-c")).toHaveText("924");
  await expect(sheet.opens("w-n")).toHaveCount(0);
  await expect(sheet.page.getByText("Enter the product kept: without it")).toBeVisible();
  await sheet.type("product_actual", "4");
  // Until its mixing is confirmed it is a reading and no total.
  await expect(sheet.page.getByText("The count is not confirmed")).toBeVisible();
  await expect(sheet.opens("w-n")).toHaveCount(0);
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await expect(sheet.opens("w-n")).toHaveText("3.7");
  // Undiluted takes the factor away, so that it cannot stand unseen.
  await sheet.choose("Sample before the analyser", "Undiluted");
  await expect(sheet.field("dilution")).toHaveCount(0);
  await expect(sheet.opens("w-c")).toHaveText("46.2");
});

test("a hand-over says what it still needs, and is not taken before", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await sheet.stage("Product");
  const open = page.locator("button.next .open");
  await expect(open).toContainText("needle in, end of the spin, product collected, product kept, who receives it, read-back");
  await sheet.next("Hand over");
  await expect(page.getByText("Needle in is not entered.")).toBeVisible();
  await app.reload();
  await expect(page.getByText(/Handed over \d/)).toHaveCount(0);
});

test("the read-back is needed, and a site changed after it asks for it again", async ({ app, page }) => {
  const sheet = await spun(app);
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Platelets of the product", "Not counted");
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.next("Hand over");
  await expect(page.getByText("Read both identifiers, side and site, and the check sign back at hand-over, and confirm")).toBeVisible();
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await sheet.stage("Order");
  await sheet.choose("Side", "Left");
  await sheet.stage("Product");
  await expect(page.getByRole("checkbox", { name: "Both identifiers, side and site, and the check sign" })).not.toBeChecked();
  await expect(page.locator(".paper .card-who")).toContainText("before site or side changed");
  // What the needle went in for stays told, and the hand-over waits for the prescriber.
  const stop = "When the needle went in, side and site were: RIGHT patellar tendon. Now they are: LEFT patellar tendon.";
  await expect(sheet.stop(stop)).toBeVisible();
  await expect(page.locator(".paper .card")).toContainText(stop);
  await expect(page.getByText("take back every one, destroy it, and print anew").first()).toBeVisible();
});

test("identifiers changed after the needle ask for both checks again and keep the old line", async ({ app, page }) => {
  const sheet = await spun(app);
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await sheet.stage("Order");
  await sheet.type("patient_reference", "HL-0471");
  await sheet.stage("Product");
  await expect(sheet.stop("The two identifiers have not been checked with the patient.")).toBeVisible();
  await expect(page.getByRole("checkbox", { name: "Both identifiers, side and site, and the check sign" })).not.toBeChecked();
  await expect(page.locator(".paper .card-who")).toContainText("MO, ");
  await expect(page.locator(".paper .card-who")).toContainText("before the identifiers changed");
});
