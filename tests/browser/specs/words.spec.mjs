// Every sentence comes from the tables of words: in the made-up language, whatever stays plain English is hard-wired.
import { expect, test } from "../strawline.mjs";
import { unfoldAll, VIEWS } from "../support/views.mjs";

/** What a person typed, the clinic's own names as shipped, symbols and signs: they are the same in every language. */
const SAME = [
  "Strawline",
  "Harbour Lane Joint Clinic",
  "Tube, filled to 15 mL", "Tube, filled to 10 mL", "Chamber of an automatic process, 50 mL",
  "Swing-out rotor (enter its radii)", "Fixed-angle rotor (enter its radii)", "Swing-out rotor, 155 mm",
  "Double-spin tube method", "Plasma off the top, single soft spin", "Single spin, cell layer kept",
  "Automatic chamber process, settings fixed by its maker",
  "move plasma above the cells to a new container", "the maker’s programme",
  "Own blood, for this patient only. Not tested for infection.",
  "HL-0417", "4 Aug 1982", "patellar tendon", "into the tendon", "beside it", "Dr A. Reyes-Lindqvist", "MO",
  "AC-2291", "K-0058", "AC-2207", "K-0031", "K-0044",
];
const SYMBOL = /(?<![\p{L}])(?:mL|L|µL|dL|g|kg|lb|cm|mm|ft|in|rpm|min|h|s|mmol|kcal|%|x|×g|w\/v|[34679][ACDEFGHJKMNPQRTUVWXY])(?![\p{L}])/gu;

/** Texts of the page, seen, spoken or printed, with letters left when all that is the same in every language is gone. */
function plain(page) {
  return page.evaluate(({ same, symbol, flags }) => {
    const left = (text) => {
      let rest = text.replace(/⟦[^⟦⟧]*(?:⟦[^⟦⟧]*⟧[^⟦⟧]*)*⟧/g, " ");
      for (const one of same) rest = rest.replaceAll(one, " ");
      rest = rest.replace(new RegExp(symbol, flags), " ");
      // A sentence set in two weights stands in several nodes; its pieces are told by their vowels.
      const words = rest.match(/\p{L}+/gu) ?? [];
      return words.every((word) => /[áëïøü]/.test(word)) ? "" : text.trim();
    };
    const found = new Set();
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    while (walk.nextNode()) {
      const node = walk.currentNode;
      if (node.nodeType === Node.TEXT_NODE) {
        // Letters in a formula are symbols; the static banners stand ready for a page that cannot speak any more.
        if (node.parentElement.closest("script, style, .letter, .steps td, #fault, #unable, textarea, .working .source")) continue;
        if (left(node.data)) found.add(left(node.data));
      } else {
        for (const name of ["aria-label", "placeholder", "title", "alt"]) {
          const text = node.getAttribute(name);
          if (text && left(text)) found.add(`${name}: ${left(text)}`);
        }
      }
    }
    return [...found];
  }, { same: SAME, symbol: SYMBOL.source, flags: SYMBOL.flags });
}

/** Goes to Bench and back by the address, whatever its words are now. */
async function speak(page, language) {
  const place = await page.evaluate(() => location.hash);
  await page.evaluate(() => { location.hash = "#bench"; });
  await page.locator("select#language").selectOption({ index: language === "strange" ? 1 : 0 });
  await page.evaluate((hash) => { location.hash = hash || "#worksheet"; }, place);
  await expect(page.locator("html")).toHaveAttribute("lang", language === "strange" ? /pseudo/ : "en");
}

test("the test itself finds a plain word", async ({ app, page }) => {
  await app.open();
  expect((await plain(page)).length).toBeGreaterThan(5);
});

test("the first screen", async ({ app, page }) => {
  await app.open();
  await speak(page, "strange");
  // The paper is drawn a moment after the last change.
  await expect.poll(() => plain(page)).toEqual([]);
});

for (const [name, come] of Object.entries(VIEWS)) {
  if (name === "What went wrong") continue; // a dialog would stand above Bench; its own test is below
  test(name, async ({ app, page }) => {
    await app.open();
    await app.demo();
    await come(app);
    await speak(page, "strange");
    // Changing the language draws the page anew: what was folded away is opened again.
    await unfoldAll(page, (summary) => summary.tap());
    await expect.poll(() => plain(page)).toEqual([]);
  });
}

test("Quality charts, the demo history", async ({ app, page }) => {
  await app.open();
  await speak(page, "strange");
  await page.evaluate(() => { location.hash = "#quality"; });
  await page.locator(".filters .check").tap();
  await expect(page.locator(".chart svg").first()).toBeVisible();
  for (const folded of await page.locator("main details").all()) {
    if (!(await folded.evaluate((one) => one.open))) await folded.locator("> summary").tap();
  }
  await page.locator(".chart").first().tap();
  await expect(page.locator("#point")).toBeVisible();
  await page.locator("#recall-lot").fill("AC-2291");
  await expect.poll(() => plain(page)).toEqual([]);
});

test("What went wrong", async ({ app, page }) => {
  await app.open();
  await app.demo();
  await VIEWS["Needle in"](app);
  await speak(page, "strange");
  await page.locator(".needle-bar > .buttons > .button").nth(1).tap();
  const rows = page.locator("dialog .menu").first().getByRole("button");
  await expect.poll(() => plain(page)).toEqual([]);
  await rows.nth(1).tap();
  await expect.poll(() => plain(page)).toEqual([]);
  await rows.first().tap();
  await expect.poll(() => plain(page)).toEqual([]);
});
