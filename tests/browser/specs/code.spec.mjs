// The code on the printed card: another's decoder reads it off the paper, and another device rebuilds the case from it.
import { expect, test } from "../strawline.mjs";
import { Strawline } from "../pages/strawline.mjs";
import { Mouse } from "../support/hand.mjs";
import { look, printedCodes } from "../support/codes.mjs";
import { TELLING } from "../support/kept.mjs";
import { collectAndHandOver, spun } from "../support/scenario.mjs";

const CASES = process.env.STRAWLINE_LONG ? 100 : 10;

/** The page on another device. */
async function elsewhere(browser, baseURL, watch) {
  const context = await browser.newContext({ baseURL, timezoneId: "Europe/Madrid", locale: "en-GB" });
  await watch.over(context);
  const page = await context.newPage();
  const app = new Strawline(page, new Mouse(page));
  await app.open("./#records");
  await app.place("Records");
  return app;
}

test(`codes of ${CASES} cases are read off the paper and rebuilt elsewhere`, async ({ app, page, browser, baseURL, watch }, info) => {
  test.setTimeout(60_000 + CASES * 12_000);
  await app.open();
  const other = await elsewhere(browser, baseURL, watch);
  let chance = 20_260_312;
  const pick = (least, most) => {
    chance = (chance * 1_103_515_245 + 12_345) % 2_147_483_648;
    return least + (chance % (most - least + 1));
  };
  for (let n = 0; n < CASES; n++) {
    if (n > 0) {
      // A hundred open cases are nobody's desk.
      await app.place("Records");
      await app.press("Discard");
      await other.press("Discard");
    }
    const sheet = await app.demo();
    await sheet.unfold("Rotor, lots and expiry");
    const typed = { blood_count: `${pick(120, 400)}`, container_lot: `K-${pick(1000, 9999)}`, anticoagulant_lot: `AC-${pick(1000, 9999)}` };
    await sheet.typeAll(typed);
    const codes = await printedCodes(page, n % 2 ? "Letter" : "A4", info.outputPath(`card-${n}.pdf`));
    expect(codes.length).toBe(1);
    expect(codes[0].level).toBe("M");
    expect(codes[0].mm).toBeLessThan(60);
    const read = await look(other, codes[0].text);
    for (const text of Object.values(typed)) await expect(read).toContainText(text);
    await expect(read).not.toContainText(TELLING);
    await other.press("Add it as a case");
    await expect(read).toContainText("Added to the open cases.");
  }
  // What was added is marked, and a second reading adds nothing.
  await expect(other.page.getByText("rebuilt from the card’s code")).toHaveCount(1);
  const again = await printedCodes(page, "A4", info.outputPath("again.pdf"));
  const read = await look(other, again[0].text);
  await expect(read).toContainText("This case is here already.");
  await expect(other.page.getByRole("button", { name: "Add it as a case" })).toHaveCount(0);
  await other.page.context().close();
});

test("a finished case comes back with its quantities, lots and times, and says where it comes from", async ({ app, page, browser, baseURL, watch }, info) => {
  const sheet = await spun(app);
  await collectAndHandOver(app, sheet);
  const [code] = await printedCodes(page, "Letter", info.outputPath("card.pdf"));
  const other = await elsewhere(browser, baseURL, watch);
  const read = await look(other, code.text.toLowerCase());
  for (const text of ["AC-2291", "K-0058", "Product collected", "Handed over"]) await expect(read).toContainText(text);
  await expect(read).not.toContainText(TELLING);
  await other.press("Add it as a case");
  await other.place("Worksheet");
  const pages = await printedCodes(other.page, "A4", info.outputPath("rebuilt.pdf"));
  expect(pages.length).toBe(1);
  await expect(other.page.locator(".paper .card-amended")).toContainText("Rebuilt from quantities, lots and times");
  await other.page.context().close();
});

test("under a lock the code is closed: another device asks for its passphrase, this one reads the whole case", async ({ app, page, browser, baseURL, watch }, info) => {
  await app.open();
  await app.demo();
  await app.place("Bench");
  await app.typeAll({ passphrase: "straw and garnet", "passphrase-again": "straw and garnet" });
  await app.press("Close cases and records");
  await app.press("It is kept safe");
  await app.place("Worksheet");
  const [code] = await printedCodes(page, "A4", info.outputPath("card.pdf"));
  const other = await elsewhere(browser, baseURL, watch);
  const there = await look(other, code.text);
  await expect(there).toContainText("Type the one that held when it printed");
  await expect(there).not.toContainText("HL-0417");
  await other.type("code-passphrase", "straw and sapphire");
  await other.press("Open it");
  await expect(there).toContainText("That does not open the code.", { timeout: 30_000 });
  // The tablet is lost, the passphrase is not: the whole case comes back where there is another lock or none.
  await other.type("code-passphrase", "straw and garnet");
  await other.press("Open it");
  await expect(there).toContainText("HL-0417", { timeout: 30_000 });
  await other.press("Add it as a case");
  await expect(there).toContainText("Added to the open cases.");
  await other.page.context().close();
  await app.place("Records");
  const read = await look(app, code.text);
  await expect(read).toContainText("HL-0417");
  await expect(read).toContainText("This case is here already.");
});

for (const typed of ["hello", "SL3:11:AAA:", "SL1:11:AAA:", "SL9:11:BB8:", "<img src=x onerror=alert(1)>", "SL3:12:BB8:"]) {
  test(`what is no code is refused in words: ${typed}`, async ({ app }) => {
    await app.open();
    await app.place("Records");
    const read = await look(app, typed);
    await expect(read).toContainText(/\.$/);
    await expect(app.page.getByRole("button", { name: "Add it as a case" })).toHaveCount(0);
  });
}
