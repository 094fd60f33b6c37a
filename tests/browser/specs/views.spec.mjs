// What the view layer promises: what is gone is gone, and what stays is not made anew.
import { expect, test } from "../strawline.mjs";

/** Nodes and listeners that the browser still holds for the page. */
async function held(page) {
  const browser = await page.context().newCDPSession(page);
  await browser.send("Performance.enable");
  await browser.send("HeapProfiler.collectGarbage");
  const { metrics } = await browser.send("Performance.getMetrics");
  await browser.detach();
  const of = (name) => metrics.find((m) => m.name === name).value;
  return { nodes: of("Nodes"), listeners: of("JSEventListeners") };
}

test("a stage that was left leaves no node and no listener behind", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  const there = async () => {
    await sheet.stage("Product");
    await sheet.stage("Order");
  };
  await there();
  await there();
  // What is reckoned once typing rests stands there too before anything is counted.
  await page.waitForTimeout(1000);
  const before = await held(page);
  for (let i = 0; i < 6; i += 1) await there();
  await page.waitForTimeout(1000);
  // One stage is some hundred nodes and some dozen listeners. When the browser lets go of what is gone is its affair.
  const more = (what) => async () => (await held(page))[what] - before[what];
  await expect.poll(more("nodes")).toBeLessThan(60);
  await expect.poll(more("listeners")).toBeLessThan(6);
});

test("one tap after many changes of stage does a thing once", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  for (let i = 0; i < 3; i += 1) {
    await sheet.stage("Product");
    await sheet.stage("Order");
  }
  const rows = page.locator("input[id^=part_name]");
  const many = await rows.count();
  await app.hand.press(page.getByRole("button", { name: /^(Add a part|Divide among parts of the site)$/ }));
  await expect(rows).toHaveCount(many === 0 ? 2 : many + 1);
});

test("a field that is typed into stays the same element", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.field("blood_count").evaluate((input) => {
    window.kept = input;
  });
  await sheet.type("blood_count", "198");
  await expect(sheet.field("blood_count")).toHaveValue("198");
  expect(await sheet.field("blood_count").evaluate((input) => input === window.kept)).toBe(true);
  await expect(sheet.field("blood_count")).toBeFocused();
});
