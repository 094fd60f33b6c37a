// What holds on every screen: nothing runs out at the side, fingers find their targets, the fonts are the page's own.
import { expect, test } from "../strawline.mjs";

test("the page's own fonts come after the first paint", async ({ app, page }) => {
  await app.open();
  await expect(page.locator("html")).toHaveClass(/fonts/);
  await page.evaluate(() => document.fonts.ready);
  expect(await page.evaluate(() => [...document.fonts].filter((face) => face.status === "loaded").length)).toBeGreaterThan(0);
});

for (const stage of ["Order", "Before the needle", "Spinning", "Product", "Later"]) {
  test(`${stage}: nothing runs out at the side, and each control is 48 px high @everywhere`, async ({ app, page }) => {
    await app.open();
    const sheet = await app.demo();
    if (stage !== "Order") await sheet.stage(stage);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
    const controls = await page.locator(".page :is(.button, .step, .stage, input:not([type=radio], [type=checkbox]), select, .choice label, summary)")
      .filter({ visible: true })
      .evaluateAll((all) => all.map((one) => [`${one.className} ${one.textContent.trim()} ${one.id}`, one.getBoundingClientRect().height]));
    expect(controls.length).toBeGreaterThan(5);
    expect(controls.filter(([, height]) => height < 47.5)).toEqual([]);
  });
}

test("the places are one tap away @everywhere", async ({ app, page }) => {
  await app.open();
  await app.place("Records");
  await expect(page.getByRole("heading", { level: 1, name: "Records" })).toBeVisible();
});

test("intended use is told on the page at every stage", async ({ app, page }) => {
  await app.open();
  await app.demo();
  await expect(page.locator(".foot")).toContainText("Supports trained people");
});
