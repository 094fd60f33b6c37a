// What is typed wrongly: refused beside the field with its range, and the likely slips one tap away.
import { expect, test } from "../strawline.mjs";
import { TUBE } from "../support/scenario.mjs";

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

test.describe("on a narrow screen", () => {
  test.use({ viewport: { width: 360, height: 800 } });

  test("what is pressed is what is let go, though what was typed before it moves the page", async ({ app, page }) => {
    await app.place("Records");
    await app.newCase();
    await sheet.type("patient_reference", "HL-0417");
    const right = page.getByRole("radio", { name: "Right", exact: true });
    const top = async () => (await right.locator("xpath=ancestor::label").boundingBox()).y;
    // Where the page is too busy to press before it has moved, once more.
    await expect(async () => {
      await sheet.field("second_identifier").fill("4");
      await page.waitForTimeout(300);
      const box = await right.locator("xpath=ancestor::label").boundingBox();
      await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
      await sheet.field("second_identifier").fill("4 Aug 1982");
      await page.mouse.down();
      const pressed = await top();
      await page.waitForTimeout(200);
      const held = await top();
      await page.mouse.up();
      expect(pressed).toBe(box.y);
      expect(held).toBe(box.y);
      await expect.poll(async () => Math.abs((await top()) - box.y)).toBeGreaterThan(10);
    }).toPass();
    await expect(right).toBeChecked();
  });

  test("a setting of the Bench is entered once the press that left it is over", async ({ app, page }) => {
    await app.place("Bench");
    await app.bench.openItem(TUBE);
    const entry = app.bench.entry(TUBE, "Lowest fill used");
    await entry.fill("16");
    const below = app.bench.entry(TUBE, "Highest fill used");
    const before = await below.boundingBox();
    await page.mouse.move(before.x + before.width / 2, before.y + before.height / 2);
    await page.mouse.down();
    await page.waitForTimeout(200);
    await expect(page.getByText("The value before still holds.")).toHaveCount(0);
    await page.mouse.up();
    await expect(below).toBeFocused();
    await expect(page.getByText("The value before still holds.")).toBeVisible();
  });
});
