// The whole tool as one file, opened from a disk.
import { pathToFileURL } from "node:url";
import { expect, test } from "../strawline.mjs";
import { kept, TELLING } from "../support/kept.mjs";
import { print } from "../support/paper.mjs";

const FILE = pathToFileURL(process.env.STRAWLINE_FILE).href;

test.beforeEach(async ({ app }) => {
  await app.open(FILE);
});

test("it plans, from disk as from a host", async ({ app }) => {
  const sheet = await app.demo();
  await expect(sheet.answer).toContainText("2 mL ACD-A first");
  await expect(sheet.row("Platelets in product")).toContainText("3.8");
});

test("it says that cases are kept only until it is closed", async ({ app }) => {
  await expect(app.banner).toContainText("Opened from a disk: other pages there could read what this one stores");
});

test("it leaves no patient and no case in the storage all such pages share", async ({ app, page }) => {
  const sheet = await app.demo();
  await sheet.type("site", "patellar tendon, distal");
  await page.waitForTimeout(500);
  expect(await kept(page)).not.toMatch(TELLING);
});

test("what the clinic sets up in Bench is kept", async ({ app, page }) => {
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  await page.waitForTimeout(300);
  await app.reload();
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await expect(app.bench.entry("Clinic", "Name")).toHaveValue("Harbour Lane Joint Clinic");
});

test("the picture of the spin and its map come from a thread of its own there too", async ({ app, page }) => {
  const threads = [];
  page.on("worker", (worker) => threads.push(worker.url()));
  const sheet = await app.demo();
  await sheet.stage("Spinning");
  await sheet.unfold("Picture of the spin");
  await expect(page.locator(".spun-said")).toContainText("First spin, 10 min", { timeout: 15_000 });
  await sheet.unfold("First spin: other speeds and times");
  await expect.poll(() => page.locator(".map-picture .shade").count(), { timeout: 30_000 }).toBe(24 * 30);
  await expect(page.locator(".spun-turning tbody tr")).toHaveCount(5, { timeout: 30_000 });
  expect(threads).toEqual([expect.stringMatching(/^blob:/)]);
});

test("it asks nobody for anything", async ({ app, page, watch }) => {
  watch.expectFault(/connect-src|Content Security Policy|Refused to connect|Fetch API cannot load|Failed to fetch/);
  const sheet = await app.demo();
  await sheet.stage("Product");
  expect(watch.requests.filter((url) => url !== FILE && !url.startsWith("data:") && !url.startsWith("blob:"))).toEqual([]);
  // Without "no-cors" a page from disk would be refused with no policy at all.
  const refusal = await page.evaluate(async (host) => {
    const breach = new Promise((tell) => addEventListener("securitypolicyviolation", (e) => tell(e.effectiveDirective)));
    return fetch(host, { mode: "no-cors" }).then(() => "reached", () => breach);
  }, process.env.STRAWLINE_URL);
  expect(refusal).toBe("connect-src");
});

test("its card is the same one page", async ({ app, page }) => {
  await app.demo();
  const card = await print(page, "A4");
  expect(card.pages).toBe(1);
  expect(card.text).toContain("HL-0417");
});
