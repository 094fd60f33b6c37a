// From an empty page to the printed card, every value typed: by what the screen is made for, and by the keyboard
// alone. Ten numbers and three sentences are held to what the scenario's own arithmetic gives.
import { expect, test } from "../strawline.mjs";
import { print } from "../support/paper.mjs";
import { checkAndGoIn, collectAndHandOver, drawToTheMark, setUpBench, spin, typeOrder, typeTheRest } from "../support/scenario.mjs";

for (const by of ["hand", "keys"]) {
  test.describe(`by ${by === "keys" ? "the keyboard alone" : "hand"}`, () => {
    test.use({ by });

    test(`from an empty page to the printed card @everywhere`, async ({ app, page }) => {
      test.setTimeout(120_000);
      await app.open();
      await setUpBench(app);
      const sheet = await app.newCase();
      await typeOrder(sheet);
      await typeTheRest(sheet);

      // 15 mL at 15 mL for 100 mL of blood: 15 × 0.15 / 1.15 = 1.957, up to the syringe's next 0.2.
      await expect(sheet.answer).toContainText("2 mL ACD-A first");
      await expect(sheet.answer).toContainText("15 mL mark");
      await expect(sheet.answer).toContainText("13 mL blood in each, 26 in all");
      // 26 mL of blood in 4 mL of product can give 6.5 times the count at most.
      await expect(sheet.row("Fold")).toContainText("(ceiling 6.5)");
      await expect(sheet.answer).toContainText("80 % range");
      await checkAndGoIn(sheet);
      await expect(page.locator(".needle-mark")).toContainText("15 mL mark");
      await drawToTheMark(sheet);

      // 180 ×g at 155 mm: √(180 / (1.118·10⁻⁵ × 15.5)) = 1019, set in steps of 10.
      await expect(sheet.opens("w-rpm-1")).toHaveText("1020");
      await expect(sheet.opens("w-rpm-3")).toHaveText("2280");
      await spin(app, sheet);
      await collectAndHandOver(app, sheet);

      // 924 counted over 210: 4.4 times. 924 × 4 mL: 3.7 ×10⁹, of 5.46 drawn: 0.68.
      await expect(sheet.opens("w-f")).toHaveText("4.4");
      await expect(sheet.opens("w-n")).toHaveText("3.7");
      await expect(sheet.opens("w-r")).toHaveText("0.68");
      await expect(sheet.ledger).toContainText("0.2 + 0.3 + 2 + 1 + 0.5 = 4 mL, closes");
      await expect(page.getByText("The count lies within the predicted range.")).toBeVisible();
      await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();

      await sheet.press("Print card");
      const card = await print(page, "A4");
      expect(card.pages).toBe(1);
      for (const words of [
        "Harbour Lane Joint Clinic",
        "HL-0417",
        "born 4 Aug 1982",
        "RIGHT patellar tendon",
        "2 + 13 = 15 mL",
        "924 ×10⁹/L",
        "AC-2291",
        "K-0058",
        "Code: quantities, lots as typed and times of this case",
      ]) {
        expect(card.text).toContain(words);
      }
    });
  });
}
