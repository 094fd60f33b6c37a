// What is typed wrongly: refused beside the field with its range, and the likely slips one tap away.
import { expect, test } from "../strawline.mjs";

let sheet;
test.beforeEach(async ({ app }) => {
  await app.open();
  sheet = await app.demo();
});

test("a number out of range is refused beside its field, with the range", async () => {
  await sheet.type("order_volume", "900");
  await expect(sheet.reading("order_volume")).toContainText("900 mL is outside 0.05 mL to 100 mL.");
  await expect(sheet.field("order_volume")).toHaveAttribute("aria-invalid", "true");
});

test("words where a number belongs are refused", async () => {
  await sheet.type("product_volume", "abc");
  await expect(sheet.reading("product_volume")).toContainText("There is no number here. Type one from 0.05 mL to 200 mL.");
});

test("a refused number takes nothing else with it", async () => {
  await sheet.type("product_volume", "abc");
  await expect(sheet.answer).toContainText("15 mL mark");
  await expect(sheet.field("blood_count")).toHaveValue("210");
});

test("a count per microlitre is read as such and says so", async () => {
  await sheet.type("blood_count", "210000");
  await expect(sheet.reading("blood_count")).toHaveText("Read as 210 ×10⁹/L: 210000 taken per µL.");
  await expect(sheet.row("Platelets in product")).toContainText("3.8");
});

test("a likely slip is asked about and mended in one tap", async () => {
  await sheet.type("blood_count", "2.1");
  await expect(sheet.offers("blood_count").first()).toBeVisible();
  await sheet.hand.press(sheet.offers("blood_count").filter({ hasText: "210" }).first());
  await expect(sheet.reading("blood_count")).toContainText("Read as 210 ×10⁹/L");
  await expect(sheet.offers("blood_count")).toHaveCount(0);
});

test("a decimal comma is understood", async () => {
  await sheet.type("order_volume", "3,5");
  await expect(sheet.page.locator(".order")).toContainText("give 3.5 mL");
});

test("an entry keeps its text to the letter while it is refused", async ({ app }) => {
  await sheet.type("product_volume", "4 mk");
  await app.draftSaved();
  await app.reload();
  await expect(sheet.field("product_volume")).toHaveValue("4 mk");
});

test("the steppers move by whole steps and never below zero", async () => {
  await sheet.type("order_volume", "0.5");
  await sheet.step("Volume to give", "less");
  await expect(sheet.field("order_volume")).toHaveValue("0.5");
  await sheet.step("Volume to give", "more");
  await expect(sheet.field("order_volume")).toHaveValue("1");
});

test("typing does not take the keyboard away from the field", async ({ page }) => {
  await sheet.hand.enter(sheet.field("fill_volume"));
  await page.keyboard.press("Control+A");
  for (const key of "12.5") {
    await page.keyboard.press(key);
    await expect(sheet.field("fill_volume")).toBeFocused();
  }
  await expect(sheet.answer).toContainText("12.5");
});
