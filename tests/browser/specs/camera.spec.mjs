// Lots by camera, where the browser reads codes. Chromium on this system has no detector: one that finds what the
// test says stands in; the camera is Chromium's own false one.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";

// The product number of a check-digit page of gs1.org.
const PRODUCT = "06291041500213";
const CODE = `\x1d01${PRODUCT}17270331210007\x1d10K-0071`;

test.use({
  launchOptions: {
    executablePath: process.env.CHROMIUM,
    args: ["--disable-gpu", "--disable-background-networking", "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"],
  },
});

/** A detector that finds what `window.inSight` holds, and an eye on every camera that is opened. */
function detector(page, formats = ["data_matrix", "code_128", "ean_13"]) {
  return page.addInitScript((formats) => {
    Object.assign(window, { inSight: [], looks: 0, asked: null, tracks: [] });
    window.BarcodeDetector = class {
      static async getSupportedFormats() { return formats; }
      constructor(asked) { window.asked = asked; }
      async detect(video) {
        window.looks += 1;
        return video.videoWidth > 0 ? window.inSight.map((rawValue) => ({ rawValue })) : [];
      }
    };
    const opens = MediaDevices.prototype.getUserMedia;
    MediaDevices.prototype.getUserMedia = async function get(wanted) {
      window.wanted = wanted;
      if (window.refuses) throw new DOMException("refused", window.refuses);
      const stream = await opens.call(this, { video: true });
      window.tracks.push(...stream.getTracks());
      return stream;
    };
  }, formats);
}

async function beforeNeedle(app) {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  return sheet;
}

const opens = (page, label = "Container lot") => page.getByRole("button", { name: `Read by camera: ${label}` });
const closes = (page) => page.getByRole("button", { name: /^Close the camera/ });
const preview = (page) => page.locator(".camera video").filter({ visible: true });
const show = (page, codes) => page.evaluate((codes) => { window.inSight = codes; }, codes);
const looks = (page) => page.evaluate(() => window.looks);
const running = (page) => page.evaluate(() => window.tracks.filter((t) => t.readyState === "live").length);
const looking = (page) => expect.poll(() => looks(page)).toBeGreaterThan(1);

/** It is off, and nothing is looked at any more. */
async function off(page) {
  await expect(preview(page)).toHaveCount(0);
  await expect.poll(() => running(page)).toBe(0);
  const before = await looks(page);
  await page.waitForTimeout(700);
  expect(await looks(page)).toBe(before);
}

test("a code held before the camera fills lot and expiry as a scanner would @everywhere", async ({ app, page, hand }) => {
  await detector(page);
  const sheet = await beforeNeedle(app);
  await hand.press(opens(page));
  await expect(preview(page)).toHaveCount(1);
  await looking(page);
  await expect(page.getByText("Hold the code into the picture. No picture is kept.")).toBeVisible();
  expect(await axe(page)).toEqual([]);
  expect(await page.evaluate(() => window.asked.formats)).toEqual(["data_matrix", "code_128"]);
  expect(await page.evaluate(() => window.wanted)).toEqual({ video: { facingMode: "environment" }, audio: false });
  await show(page, [CODE, "6291041500213"]);
  await expect(page.getByText("More than one code is in the picture: bring one alone into it.")).toBeVisible();
  await show(page, [CODE, CODE]);
  await expect(sheet.field("container_lot")).toHaveValue("K-0071");
  await expect(sheet.field("container_lot")).toBeFocused();
  await expect(sheet.field("container_expiry")).toHaveValue("2027-03-31");
  await expect(sheet.reading("container_lot")).toHaveText(`From the code: lot K-0071, expiry 31 Mar 2027, serial number 0007, product number ${PRODUCT}.`);
  await off(page);
});

test("what has expired stops the case, and what cannot be relied on is refused", async ({ app, page, hand }) => {
  await detector(page);
  const sheet = await beforeNeedle(app);
  await show(page, ["(17)260311(10)K-0071"]);
  await hand.press(opens(page));
  await expect(sheet.stop("The containers are past their expiry: lot K-0071")).toBeVisible();
  await off(page);
  const refused = `(01)06291041500214(10)${"K".repeat(4000)}`;
  await show(page, [refused]);
  await hand.press(opens(page));
  await expect(sheet.reading("container_lot")).toContainText("The check digit of the product number does not hold.");
  await off(page);
});

test("it is let go at a tap, on leaving, and when another is opened", async ({ app, page, hand }) => {
  await detector(page);
  const sheet = await beforeNeedle(app);
  await hand.press(opens(page));
  await looking(page);
  expect(await running(page)).toBe(1);
  await hand.press(closes(page));
  await off(page);
  await hand.press(opens(page));
  await expect.poll(() => running(page)).toBe(1);
  await hand.press(opens(page, "Anticoagulant lot"));
  await expect(closes(page)).toHaveCount(1);
  await expect.poll(() => running(page)).toBe(1);
  await sheet.stage("Order");
  await off(page);
  await sheet.stage("Before the needle");
  await hand.press(opens(page));
  await expect.poll(() => running(page)).toBe(1);
  await app.place("Records");
  await off(page);
});

test("after a minute without a code it is closed and says so", async ({ app, page, hand }) => {
  await detector(page);
  // The page's rest between two looks, made short.
  await page.addInitScript(() => {
    const slow = window.setTimeout;
    window.setTimeout = (call, rest, ...more) => slow(call, rest === 200 ? 1 : rest, ...more);
  });
  await beforeNeedle(app);
  await hand.press(opens(page));
  await expect(page.getByText("No code was read in a minute; the camera is closed.")).toBeVisible({ timeout: 20_000 });
  expect(await looks(page)).toBe(300);
  await off(page);
});

for (const [refuses, said] of [
  ["NotAllowedError", "The browser was not allowed the camera."],
  ["NotFoundError", "No camera was found."],
  ["AbortError", "The camera could not be started."],
]) {
  test(`${refuses} is told, and the lot is typed as ever`, async ({ app, page, hand }) => {
    await detector(page);
    const sheet = await beforeNeedle(app);
    await page.evaluate((name) => { window.refuses = name; }, refuses);
    await hand.press(opens(page));
    await expect(page.getByText(said)).toBeVisible();
    await off(page);
    await sheet.type("container_lot", "K-0072");
  });
}

test("a detector that knows no code of a label opens no camera", async ({ app, page, hand }) => {
  await detector(page, ["ean_13"]);
  await beforeNeedle(app);
  await hand.press(opens(page));
  await expect(page.getByText("This browser reads none of the codes that labels carry.")).toBeVisible();
  expect(await page.evaluate(() => window.tracks.length)).toBe(0);
});

test("without a detector, or at an address that is not secure, there is no button and the field says what does", async ({ app, page }) => {
  await page.addInitScript(() => {
    delete window.BarcodeDetector;
    if (location.hash === "#open") Object.defineProperty(window, "isSecureContext", { value: false });
  });
  await beforeNeedle(app);
  await expect(opens(page)).toHaveCount(0);
  const line = page.getByText("Typed, or scanned by a reader that types: both count the same.");
  await expect(line.first()).toBeVisible();
  await expect(line.first()).not.toContainText("https");
  await page.goto("./?#open");
  await app.ready();
  await app.worksheet.stage("Before the needle");
  await expect(opens(page)).toHaveCount(0);
  await expect(line.first()).toContainText("Browsers give a camera only to pages that come by https or from this device.");
});
