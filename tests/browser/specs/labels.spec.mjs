// Labels on stock of their own: a roll's page is its label, a sheet is one page, no word of the strip is lost.
import { getDocumentProxy } from "unpdf";
import { expect, test } from "../strawline.mjs";
import { print } from "../support/paper.mjs";

/** Chooses the label stock, and prints it without the browser's own dialog. */
async function labels(app, size, paper) {
  await app.open();
  await app.place("Bench");
  await app.bench.openItem("Labels");
  await app.pick("Labels to print", size);
  await app.pick("Label paper", paper);
  await app.place("Worksheet");
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await sheet.press("Print labels");
}

const MM = 72 / 25.4;

for (const [size, wide, high] of [
  ["50 × 25 mm", 50, 25],
  ["57 × 32 mm", 57, 32],
]) {
  test(`a roll of ${size} is one label a page of that size`, async ({ app, page }) => {
    await labels(app, size, "roll, one label a page");
    const bytes = await page.pdf({ preferCSSPageSize: true });
    const document = await getDocumentProxy(new Uint8Array(bytes), { verbosity: 0 });
    // Product, platelet-poor plasma, two containers, the syringe.
    expect(document.numPages).toBe(5);
    for (let n = 1; n <= 5; n++) {
      const [, , right, top] = (await document.getPage(n)).view;
      expect(Math.abs(right - wide * MM)).toBeLessThan(1);
      expect(Math.abs(top - high * MM)).toBeLessThan(1);
    }
  });

  for (const format of ["A4", "Letter"]) {
    test(`a sheet of ${size} is one page of ${format} with every word of the strip`, async ({ app, page }) => {
      await labels(app, size, "sheet, many labels");
      const sheet = await print(page, format);
      expect(sheet.pages).toBe(1);
      for (const words of ["PRP", "HL-0417", "born 4 Aug 1982", "RIGHT patellar tendon", "Use by", "PPP", "This is not the product.",
        "Not for injection unless ordered.", "1 of 2", "2 of 2", "blood to the 15 mL mark", "ACD-A", "Not for intravenous use."]) {
        expect(sheet.text).toContain(words);
      }
    });
  }

  test(`on ${size} nothing stands out of its label`, async ({ app, page }) => {
    await labels(app, size, "sheet, many labels");
    await page.emulateMedia({ media: "print" });
    const out = await page.locator(".stuck").evaluateAll((all) =>
      all.flatMap((stuck) => {
        const edge = stuck.getBoundingClientRect();
        const inside = [...stuck.querySelectorAll(".label, p, header, .sign, .label-head")].map((e) => e.getBoundingClientRect());
        return inside.filter((b) => b.right > edge.right + 0.5 || b.bottom > edge.bottom + 0.5).map((b) => [edge.height, b.bottom - edge.top]);
      }),
    );
    expect(out).toEqual([]);
  });
}
