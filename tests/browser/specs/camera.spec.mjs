// Lots by camera, where the browser reads codes. Chromium on this system has no detector: one that finds what the
// test says stands in; the camera is Chromium's own false one. A film of a label goes the whole way, read by a decoder
// that is not the browser's.
import { execFileSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { DAY, expect, test } from "../strawline.mjs";
import { Strawline } from "../pages/strawline.mjs";
import { axe } from "../support/axe.mjs";
import { Mouse } from "../support/hand.mjs";

// The product number of a check-digit page of gs1.org.
const PRODUCT = "06291041500213";
const CODE = `\x1d01${PRODUCT}17270331210007\x1d10K-0071`;

const LAUNCH = {
  executablePath: process.env.CHROMIUM,
  args: ["--disable-gpu", "--disable-background-networking", "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"],
};
test.use({ launchOptions: LAUNCH });

/** Films of labels, and what another's decoder reads in a picture. */
const label = (what, options) =>
  execFileSync(process.env.STRAWLINE_PYTHON, [fileURLToPath(new URL("../support/label.py", import.meta.url)), ...what], options);

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

for (const [symbol, elements, product] of [
  ["data_matrix", `(01)${PRODUCT}(17)270331(10)K-0071(21)0007`, `, product number ${PRODUCT}`],
  ["code_128", "(17)270331(10)K-0071(21)0007", ""],
]) {
  test(`a filmed label with a GS1 ${symbol} fills lot and expiry, the separator with it`, async ({ playwright, baseURL, watch }, info) => {
    const film = info.outputPath("label.y4m");
    label(["film", film, symbol, elements]);
    const browser = await playwright.chromium.launch({ ...LAUNCH, args: [...LAUNCH.args, `--use-file-for-fake-video-capture=${film}`] });
    const page = await browser.newPage({ baseURL });
    await watch.over(page.context());
    await page.clock.setFixedTime(new Date(DAY));
    await page.exposeFunction("decode", (picture) => JSON.parse(label(["read"], { input: Buffer.from(picture, "base64") })));
    await page.addInitScript(() => {
      window.BarcodeDetector = class {
        static async getSupportedFormats() { return ["data_matrix", "code_128"]; }
        async detect(video) {
          const [width, height] = [video.videoWidth, video.videoHeight];
          const canvas = Object.assign(document.createElement("canvas"), { width, height });
          canvas.getContext("2d").drawImage(video, 0, 0);
          return window.decode(canvas.toDataURL("image/png").split(",")[1]);
        }
      };
    });
    const app = new Strawline(page, new Mouse(page));
    const sheet = await beforeNeedle(app);
    await app.hand.press(opens(page));
    await expect(sheet.field("container_lot")).toHaveValue("K-0071", { timeout: 20_000 });
    await expect(sheet.field("container_expiry")).toHaveValue("2027-03-31");
    await expect(sheet.reading("container_lot")).toHaveText(`From the code: lot K-0071, expiry 31 Mar 2027, serial number 0007${product}.`);
    await expect(preview(page)).toHaveCount(0);
    await browser.close();
  });
}

test("what has expired stops the case", async ({ app, page, hand }) => {
  await detector(page);
  const sheet = await beforeNeedle(app);
  await show(page, ["(17)260311(10)K-0071"]);
  await hand.press(opens(page));
  await expect(sheet.stop("The containers are past their expiry: lot K-0071")).toBeVisible();
  await off(page);
});

test("what is no code of a label leaves the lot typed before, and the camera goes on looking", async ({ app, page, hand }) => {
  await detector(page);
  const sheet = await beforeNeedle(app);
  await sheet.type("container_lot", "K-0072");
  await hand.press(opens(page));
  await looking(page);
  const long = `01${PRODUCT}10K-0071\x1d91${"A".repeat(90)}\x1d92${"A".repeat(90)}`;
  for (const other of ["SHELF 7", "https://example.org/", PRODUCT, "(01)06291041500214(10)K-0071", long]) {
    await show(page, [other]);
    await expect(page.getByText("This code names no lot that can be relied on.")).toBeVisible();
    const before = await looks(page);
    await expect.poll(() => looks(page)).toBeGreaterThan(before + 1);
    await expect(sheet.field("container_lot")).toHaveValue("K-0072");
    expect(await running(page)).toBe(1);
  }
  await show(page, [CODE]);
  await expect(sheet.field("container_lot")).toHaveValue("K-0071");
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

for (const hangs of [false, true]) {
  test(`after a minute it is closed and says so${hangs ? ", also where the detector never answers" : ""}`, async ({ app, page, hand }) => {
    await detector(page);
    // A minute of the page, made a second from the first look on.
    await page.addInitScript((hangs) => {
      const now = performance.now.bind(performance);
      const from = () => (window.fastFrom ??= now());
      performance.now = () => (window.fast ? from() + (now() - from()) * 60 : now());
      window.hangs = hangs;
      const detect = window.BarcodeDetector.prototype.detect;
      window.BarcodeDetector.prototype.detect = function looks(video) {
        const found = detect.call(this, video);
        return window.hangs ? new Promise(() => {}) : found;
      };
    }, hangs);
    await beforeNeedle(app);
    await hand.press(opens(page));
    await expect.poll(() => looks(page)).toBeGreaterThan(0);
    await expect.poll(() => running(page)).toBe(1);
    await page.evaluate(() => { window.fast = true; });
    await expect(page.getByText("No code of a label was read in a minute; the camera is closed.")).toBeVisible({ timeout: 20_000 });
    await off(page);
  });
}

test("closed while it is being opened, it stays closed", async ({ app, page, hand }) => {
  await detector(page);
  await page.addInitScript(() => {
    const plays = HTMLMediaElement.prototype.play;
    HTMLMediaElement.prototype.play = async function play() {
      await plays.call(this);
      await new Promise((done) => { window.goOn = done; });
    };
  });
  await beforeNeedle(app);
  await hand.press(opens(page));
  await expect.poll(() => page.evaluate(() => typeof window.goOn)).toBe("function");
  await hand.press(closes(page));
  await page.evaluate(() => window.goOn());
  await off(page);
  await expect(page.getByText("Hold the code into the picture.")).toHaveCount(0);
  expect(await looks(page)).toBe(0);
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
  await expect(line).toHaveCount(1);
  await expect(line).toBeVisible();
  await expect(line.first()).not.toContainText("https");
  await page.goto("./?#open");
  await app.ready();
  await app.worksheet.stage("Before the needle");
  await expect(opens(page)).toHaveCount(0);
  await expect(line.first()).toContainText("Browsers give a camera only to pages that come by https or from this device.");
});
