// Strings laden with script in every field of the page: none runs, none is asked for, and the page goes on.
import { expect, test } from "../strawline.mjs";
import { print } from "../support/paper.mjs";
import { drawToTheMark, PRESCRIBER, signed, spin, spun } from "../support/scenario.mjs";
import { unfoldAll } from "../support/views.mjs";

const LADEN = [
  `<img src=x onerror="window.__hit=1">`,
  `"><script>window.__hit=1</script>`,
  `'" autofocus onfocus=window.__hit=1 x="`,
  `javascript:window.__hit=1`,
  `<svg onload=window.__hit=1><a xlink:href="https://example.org/">x</a>`,
  `</style><style>@import 'https://example.org/x.css';</style>`,
  `=HYPERLINK("https://example.org/","x")`,
  `@SUM(1+1)*cmd|' /C calc'!A0`,
  `‮gnp.exe‬ ⁦x⁩ ﻿`,
  `{{constructor.constructor('window.__hit=1')()}} \${window.__hit=1}`,
  "x".repeat(5000),
];

test.beforeEach(async ({ page }) => {
  page.on("dialog", async (dialog) => {
    await page.evaluate(() => { window.__hit = "dialog"; });
    await dialog.dismiss();
  });
});

/** Types into every field of text in sight, each another string; says how many then hold something. */
async function fillAll(app, from, only = "input, textarea") {
  await unfoldAll(app.page, (summary) => summary.click());
  const keys = await app.page.locator("main").locator(only).evaluateAll((all) => {
    const text = (one) => one.matches("textarea") || ["text", "search", "", null].includes(one.getAttribute("type"));
    const shown = all.filter((one) => text(one) && one.checkVisibility() && !one.disabled && !one.readOnly);
    return shown.map((one, n) => (one.dataset.hostile = `h${n}`));
  });
  let full = 0;
  for (const [n, key] of keys.entries()) {
    const field = app.page.locator(`[data-hostile="${key}"]`);
    // One may have gone with what another one says.
    if (!(await field.isVisible())) continue;
    await field.fill(LADEN[(from + n) % LADEN.length]);
    if ((await field.inputValue()) !== "") full += 1;
    await app.page.keyboard.press("Tab");
  }
  await sound(app.page);
  await app.page.locator("[data-hostile]").evaluateAll((all) => all.forEach((one) => delete one.dataset.hostile));
  return full;
}

/** Nothing ran, nothing of it became an element, and the page did not stop. */
async function sound(page) {
  expect(await page.evaluate(() => window.__hit)).toBeUndefined();
  expect(await page.locator("img[src=x], #app script, #app style, #app a[href^='javascript:'], #app [onerror], #app [onload], #app [onfocus]").count()).toBe(0);
  await expect(page.locator("#fault")).toBeHidden();
}

test("every field of the worksheet, stage by stage, and what is printed of it", async ({ app, page }) => {
  test.setTimeout(180_000);
  const sheet = await spun(app);
  let filled = 0;
  for (const [n, stage] of ["Order", "Before the needle", "Spinning", "Product", "Later"].entries()) {
    await sheet.stage(stage);
    filled += await fillAll(app, n);
  }
  expect(filled).toBeGreaterThan(60);
  await sheet.stage("Order");
  expect((await print(page, "A4")).pages).toBeGreaterThan(0);
  await app.draftSaved();
  await app.reload();
  await sound(page);
});

test("words typed into a record stay words on card, list, search, recall and chart", async ({ app, page }) => {
  test.setTimeout(180_000);
  await page.addInitScript(() => Object.defineProperty(navigator, "clipboard", { value: undefined }));
  const [laden, lot] = [LADEN[0], `"><img src=x onerror="window.__hit=2">`];
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Order");
  await sheet.type("site", laden);
  await sheet.stage("Before the needle");
  await sheet.type("container_lot", lot);
  await sheet.press("Both agree");
  await sheet.press("All sound");
  await sheet.next("Needle in");
  await drawToTheMark(sheet);
  await spin(app, sheet);
  await app.setTime("2026-03-12T11:33:00+01:00");
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Platelets of the product", "Count later");
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await sheet.next("Hand over");
  expect((await print(page, "A4")).text).toContain("onerror=");
  await sheet.next("Sign the record");
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await sound(page);
  // As it was typed, wherever it is shown.
  await app.place("Records");
  await app.type("record-search", "window.__hit=1");
  await expect(app.records.signed).toHaveCount(1);
  await expect(app.records.signed.first()).toContainText(laden);
  await app.records.signed.getByRole("button", { name: "Copy for the chart" }).click();
  await expect(page.getByLabel("Text for the chart")).toHaveValue(new RegExp(laden.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")));
  await sound(page);
  await app.records.quality();
  await app.type("recall-lot", lot);
  await expect(page.getByText(lot, { exact: false }).first()).toBeVisible();
  await sound(page);
});

test("Bench, log, search and recall", async ({ app, page }) => {
  test.setTimeout(180_000);
  await signed(app);
  await app.place("Bench");
  let filled = await fillAll(app, 3);
  await app.place("Records");
  filled += await fillAll(app, 5);
  await app.records.log();
  filled += await fillAll(app, 7);
  for (const button of await page.locator("main").getByRole("button", { name: "Enter", exact: true }).all()) {
    if (await button.isVisible()) await button.click();
  }
  await sound(page);
  // One that is taken.
  await app.typeAll({ "care-day": "12 Mar 2026", "care-time": "09:00", "care-done": LADEN[4], "care-by": LADEN[1] });
  await app.hand.press(page.locator("#log-care").getByRole("button", { name: "Enter", exact: true }));
  await expect(page.locator(".log-entries li").first()).toContainText(LADEN[4]);
  await expect(page.locator(".log-entries li").first()).toContainText(LADEN[1]);
  await sound(page);
  await app.place("Records");
  await app.records.quality();
  filled += await fillAll(app, 0);
  expect(filled).toBeGreaterThan(40);
  await app.reload();
  await sound(page);
  await app.place("Worksheet");
  await print(page, "A4");
  await sound(page);
});
