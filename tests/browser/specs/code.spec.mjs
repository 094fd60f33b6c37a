// The code on the printed card: another's decoder reads it off the paper, and another device rebuilds the case from it.
import { isDeepStrictEqual } from "node:util";
import { expect, test } from "../strawline.mjs";
import { Strawline } from "../pages/strawline.mjs";
import { Mouse } from "../support/hand.mjs";
import { inside, look, printedCodes, randomCases, readBoth } from "../support/codes.mjs";
import { TELLING } from "../support/kept.mjs";
import { collectAndHandOver, spun } from "../support/scenario.mjs";
import { stored } from "../support/tabs.mjs";

const CASES = process.env.STRAWLINE_LONG ? 100 : 7;
const PHRASE = "straw and garnet";

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

/** Puts a lock on this device. */
async function close(app) {
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": PHRASE });
  await app.press("Close cases and records");
  await app.press("It is kept safe");
}

/** A page opens that finds this one case stored, or none: put there from an address where Strawline does not run. */
async function startsWith(app, at, draft) {
  const { page } = app;
  const empty = { contentType: "text/html", body: '<link rel="icon" href="data:,">' };
  await page.route("**/aside", (route) => route.fulfill(empty), { times: 1 });
  await page.goto("./aside");
  await page.evaluate((draft) => {
    const cases = /^strawline\.(draft|discarded|current|focus)/;
    for (const key of Object.keys(localStorage)) if (cases.test(key)) localStorage.removeItem(key);
    if (!draft) return;
    localStorage.setItem(`strawline.draft.${draft.id}`, JSON.stringify(draft));
    localStorage.setItem("strawline.current", draft.id);
  }, draft);
  await app.open(at);
}

/**
 * A stored case without what one may leave out: nothing, empty, how it was rebuilt and by which version it was written,
 * and what a page notes by its own clock.
 */
function plainly(value) {
  if (Array.isArray(value)) return value.map(plainly);
  if (typeof value !== "object" || value === null) return value;
  const entries = Object.entries(value).map(([key, one]) => [key, plainly(one)]);
  const empty = (one) => one === null || one === "" || (typeof one === "object" && Object.keys(one).length === 0);
  return Object.fromEntries(entries.filter(([key, one]) => !["rebuilt", "schema", "given_ahead"].includes(key) && !empty(one)));
}

/** The same without names for what it was made with, which a code in clear leaves out and the page then gives. */
function unnamed(draft) {
  const { kit, ...rest } = plainly(draft);
  for (const one of [kit.container, kit.protocol, kit.rotor]) {
    delete one?.name;
    delete one?.id;
  }
  for (const { handling } of kit.protocol?.programme ?? []) if (handling) delete handling.what;
  return { ...rest, kit: plainly(kit) };
}

// Three in ten in clear, two more with the reference, which the clinic then calls a coded one, the others closed.
test(`codes of ${CASES} random cases are read off the paper by two readers and rebuilt elsewhere`, async ({ app, page, browser, baseURL, watch }, info) => {
  test.setTimeout(60_000 + CASES * 12_000);
  const cases = randomCases(CASES);
  const other = await elsewhere(browser, baseURL, watch);
  await app.open();
  const [coded, closed] = [Math.floor(CASES * 0.3), Math.floor(CASES * 0.5)];
  const counts = { tried: 0, alone: 0, zbar: 0, zxing: 0, rebuilt: 0, parts: 0, widest: 0, level: new Set() };
  for (const [n, { case: draft, clear, telling }] of cases.entries()) {
    if (n === coded) {
      await app.place("Bench");
      await app.bench.openItem("Labels");
      await app.pick("Patient reference in the card’s code", "yes, ours is a coded one");
    }
    if (n === closed) await close(app);
    await startsWith(app, "./", draft);
    if (n >= closed) {
      await app.type("unlock", PHRASE);
      await app.press("Open");
    }
    await expect(page.locator(".head > .sign")).toContainText(draft.sign);
    counts.tried += 1;
    const card = () => readBoth(page, n % 2 ? "Letter" : "A4", info.outputPath(`card-${n}.pdf`));
    let { zxing, zbar, words } = await card();
    if (zxing.length + zbar.length === 0) {
      // A card too full for it says so; it is then on a paper of its own.
      expect(words, draft.id).toContain("The code has no room on this card; it can be printed alone.");
      await app.worksheet.stage("Product");
      clear.stage = draft.stage = "product";
      await app.press("Print the code alone");
      counts.alone += 1;
      ({ zxing, zbar } = await card());
    }
    const parts = Number(zxing[0]?.text[5]);
    counts.zxing += zxing.length === parts;
    counts.zbar += zbar.length === parts;
    counts.parts += parts;
    for (const { level, mm } of zxing) {
      counts.level.add(level);
      counts.widest = Math.max(counts.widest, mm);
    }
    const texts = zxing.map((code) => code.text);
    expect(zbar.toSorted(), draft.id).toEqual(texts.toSorted());
    // What stands on the paper, before any page of ours has looked at it.
    const allowed = n < coded ? [] : [draft.texts.patient_reference];
    if (n < closed) {
      const found = inside(texts);
      for (const word of telling.filter((word) => !allowed.includes(word))) expect(found, draft.id).not.toContain(word);
      if (n >= coded) [clear.texts.patient_reference] = allowed;
      expect.soft(plainly(JSON.parse(found)), draft.id).toEqual(unnamed(clear));
    }
    await startsWith(other, "./#records");
    const read = await look(other, texts.join("\n"));
    if (n >= closed) {
      await other.type("code-passphrase", PHRASE);
      await other.press("Open it");
    }
    await other.press("Add it as a case");
    await expect(read).toContainText("Added to the open cases.");
    await other.draftSaved();
    const rebuilt = await stored(other.page, `strawline.draft.${draft.id}`);
    expect(rebuilt.rebuilt.whole, draft.id).toBe(n >= closed);
    const [came, meant] = n < closed ? [unnamed(rebuilt), unnamed(clear)] : [plainly(rebuilt), plainly(draft)];
    expect.soft(came, draft.id).toEqual(meant);
    counts.rebuilt += isDeepStrictEqual(came, meant);
  }
  const level = [...counts.level].join(" ");
  console.log(
    `codes of random cases: tried ${counts.tried} (${closed} in clear, ${coded} of them without the reference), ` +
    `read by zbar ${counts.zbar}, by zxing ${counts.zxing}, rebuilt equal ${counts.rebuilt}; ` +
    `${counts.alone} alone, for want of room on the card; ${counts.parts} codes, widest ${counts.widest.toFixed(1)} mm, level ${level}`,
  );
  expect([counts.zbar, counts.zxing, counts.rebuilt, level]).toEqual([CASES, CASES, CASES, "M"]);
  expect(counts.widest).toBeLessThan(60);
  // What was added is marked, and a second reading adds nothing.
  await expect(other.page.getByText("rebuilt from the card’s code")).toHaveCount(1);
  const again = await printedCodes(page, "A4", info.outputPath("again.pdf"));
  const read = await look(other, again.map((code) => code.text).join("\n"));
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
  await close(app);
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
  await other.type("code-passphrase", PHRASE);
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
