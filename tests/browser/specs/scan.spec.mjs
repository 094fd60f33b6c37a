// Lots by scanner: a reader that types like a keyboard, fast and with Enter behind.
import { expect, test } from "../strawline.mjs";
import { DOUBLE_SPIN, PRESCRIBER, TUBE } from "../support/scenario.mjs";
import { print } from "../support/paper.mjs";

// Product numbers of the check-digit pages of gs1.org and gs1.se.
const PRODUCT = "06291041500213";
const OTHER = "07300011000017";

let sheet;
test.beforeEach(async ({ app }) => {
  await app.open();
});

async function demoBeforeNeedle(app) {
  sheet = await app.demo();
  await sheet.stage("Before the needle");
}

/** What a reader sends; `\x1d` comes as the key that gives it on a terminal. */
async function scan(key, code, end = "Enter") {
  await sheet.hand.enter(sheet.field(key));
  await expect(sheet.field(key)).toBeFocused();
  await sheet.page.keyboard.press("Control+A");
  const parts = code.split("\x1d");
  for (const [at, part] of parts.entries()) {
    if (at > 0) await sheet.page.keyboard.press("Control+]");
    await sheet.page.keyboard.type(part);
  }
  if (end) await sheet.page.keyboard.press(end);
}

const lot = () => sheet.field("container_lot");
const expiry = () => sheet.field("container_expiry");
const said = () => sheet.reading("container_lot");
const back = () => sheet.button("Take the code back");

test("a code fills lot and expiry, says so, and one tap takes it back @everywhere", async ({ app, page }) => {
  await demoBeforeNeedle(app);
  const before = [await lot().inputValue(), await expiry().inputValue()];
  await scan("container_lot", `]d201${PRODUCT}17270331210007\x1d10K-0071`);
  await expect(lot()).toHaveValue("K-0071");
  await expect(expiry()).toHaveValue("2027-03-31");
  await expect(said()).toHaveText(`From the code: lot K-0071, expiry 31 Mar 2027, serial number 0007, product number ${PRODUCT}.`);
  // A line may end in the middle of the day.
  expect((await print(page, "A4")).text).toMatch(/lot K-0071 \(scanned\); expiry 2027- ?03- ?31 \(scanned\)/);
  await sheet.hand.press(back());
  await expect(lot()).toHaveValue(before[0]);
  await expect(expiry()).toHaveValue(before[1]);
  await expect(said()).toHaveText("");
  await expect(back()).toHaveCount(0);
});

test("the next code takes the place of the one before without a tap", async ({ app, page }) => {
  await demoBeforeNeedle(app);
  await scan("container_lot", "(17)270331(10)K-0071");
  await expect(lot()).toHaveValue("K-0071");
  await page.keyboard.type("(17)270630(10)K-0072");
  await page.keyboard.press("Enter");
  await expect(lot()).toHaveValue("K-0072");
  await expect(expiry()).toHaveValue("2027-06-30");
  // Without Enter the code is read once the reader has finished, or when the field is left.
  await page.keyboard.type("(17)270731(10)K-0073");
  await expect(lot()).toHaveValue("K-0073");
  await page.keyboard.type("(17)270831(10)K-0074");
  await page.keyboard.press("Tab");
  await expect(lot()).toHaveValue("K-0074");
  await app.draftSaved();
  await app.reload();
  await expect(lot()).toHaveValue("K-0074");
  await expect(said()).toContainText("From the code: lot K-0074");
});

test("what has expired stops the case, scanned or typed", async ({ app }) => {
  await demoBeforeNeedle(app);
  await scan("container_lot", "(17)260311(10)K-0071");
  const halt = sheet.stop("The containers are past their expiry: lot K-0071, last good day");
  await expect(halt).toContainText("Stop. Do not go on.");
  await sheet.next("Needle in");
  await sheet.on("Before the needle");
  await scan("container_lot", "(17)260300(10)K-0071");
  await expect(expiry()).toHaveValue("2026-03-31");
  await expect(halt).toHaveCount(0);
});

test("an expiry typed stays with its lot, and one that is not the code's waits", async ({ app, page }) => {
  await demoBeforeNeedle(app);
  const halt = sheet.stop("The containers are past their expiry: lot K-0071");
  await scan("container_lot", "(10)K-0071");
  await sheet.type("container_expiry", "28 Feb 2026");
  await expect(halt).toBeVisible();
  // The second code of the same label.
  await scan("container_lot", `(01)${PRODUCT}`);
  await expect(lot()).toHaveValue("K-0071");
  await expect(expiry()).toHaveValue("28 Feb 2026");
  await expect(halt).toBeVisible();
  await scan("container_lot", `]C101${PRODUCT}1726022810K-0071`);
  await expect(halt).toBeVisible();
  await sheet.type("container_expiry", "28 Feb 2027");
  await expect(halt).toHaveCount(0);
  const differs = sheet.stop("The code scanned for the containers says expiry");
  await expect(differs.getByLabel("Prescriber’s name")).toBeVisible();
  expect((await print(page, "A4")).text).toContain("lot K-0071 (scanned); expiry 28 Feb 2027 (typed; 28 Feb 2026 in the code)");
});

test("a Stop that a code brings about comes into sight @everywhere", async ({ app }) => {
  await demoBeforeNeedle(app);
  await scan("container_lot", "(17)260228(10)K-0071");
  const lead = sheet.stop("The containers are past their expiry: lot K-0071").getByRole("heading");
  await expect(lead).toBeInViewport();
  const covered = () => lead.evaluate((one) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    return !one.contains(document.elementFromPoint(x + width / 2, y + height / 2));
  });
  await expect.poll(covered).toBe(false);
});

test("a code scanned where a person is named is refused beside the field", async ({ app }) => {
  sheet = await app.demo();
  const code = `01${PRODUCT}1727033110K-0071`;
  await scan("patient_reference", code);
  await expect(sheet.field("patient_reference")).toHaveValue(code);
  await expect(sheet.reading("patient_reference")).toContainText("This is the code of a label and no identifier.");
  await sheet.type("patient_reference", "HL-0417");
  await expect(sheet.reading("patient_reference")).toHaveText("");
});

test("another product than the Bench names waits for the right one, or for the lot typed by hand", async ({ app }) => {
  await app.place("Bench");
  await app.bench.openItem(TUBE);
  await app.bench.enter(TUBE, "Product number", "06291041500214");
  await expect(app.page.getByText("This value cannot be kept; the one before still holds.")).toBeVisible();
  await app.bench.enter(TUBE, "Product number", PRODUCT);
  await app.bench.openItem(DOUBLE_SPIN);
  await app.bench.enter(DOUBLE_SPIN, "Product number of the anticoagulant", OTHER);
  await app.place("Worksheet");
  sheet = await app.newCase();
  await sheet.pick("Container", TUBE);
  await sheet.pick("Protocol", DOUBLE_SPIN);
  await sheet.stage("Before the needle");
  const stop = () => sheet.stop(`The code scanned for the containers is of product ${OTHER}; the Bench names ${PRODUCT}.`);
  await scan("container_lot", `]C101${OTHER}1727033110K-0071`);
  await expect(stop()).toBeVisible();
  await expect(stop().getByLabel("Prescriber’s name")).toBeVisible();
  await scan("container_lot", `]C101${PRODUCT}1727033110K-0072`);
  await expect(stop()).toHaveCount(0);
  await scan("container_lot", `]C101${OTHER}1727033110K-0071`);
  await expect(stop()).toBeVisible();
  // The same lot in small letters is the same lot.
  await sheet.type("container_lot", "k-0071");
  await expect(lot()).toHaveValue("k-0071");
  await expect(stop()).toBeVisible();
  await sheet.type("container_lot", "K-0073");
  await expect(stop()).toHaveCount(0);
  await expect(expiry()).toHaveValue("");
  expect((await print(app.page, "A4")).text).toContain(`a code of another product was scanned, ${OTHER}`);
  await expect(said()).toHaveText("");
  // The anticoagulant has a number of its own.
  await scan("anticoagulant_lot", `]C101${PRODUCT}1727033110AC-2292`);
  await expect(sheet.stop(`is of product ${PRODUCT}; the Bench names ${OTHER}.`)).toBeVisible();
  await sheet.decide("The code scanned for the anticoagulant", PRESCRIBER, "outer packing");
  await expect(sheet.stop("outer packing")).toBeVisible();
});

test("a code that cannot be relied on is refused beside the field and stays as it came", async ({ app }) => {
  await demoBeforeNeedle(app);
  const before = await expiry().inputValue();
  for (const [code, why] of [
    [`01${PRODUCT}10K-007117270331`, "Where the lot ends is not certain: the reader drops the separator behind it."],
    ["]C10106291041500214", "The check digit of the product number does not hold."],
    ["6291041500213", "This is a product number, not a lot."],
    ["https://example.org/10/K-0071", "This code is the address of a page and is not read here."],
    ["(17)271331(10)K-0071", "In the code the expiry is no day of the calendar."],
  ]) {
    await scan("container_lot", code);
    await expect(said()).toContainText(why);
    await expect(lot()).toHaveValue(code);
    await expect(expiry()).toHaveValue(before);
    await expect(back()).toHaveCount(0);
  }
  const caution = sheet.finding("What is typed at “Container lot” cannot be read");
  await expect(caution).toHaveCount(1);
  await sheet.type("container_lot", "K-0071");
  await expect(said()).toHaveText("");
  await expect(caution).toHaveCount(0);
});

test("an ordinary lot is typed as ever @everywhere", async ({ app, page }) => {
  await demoBeforeNeedle(app);
  const before = await expiry().inputValue();
  for (const typed of ["K-0071", "101234", "17270331"]) {
    await sheet.type("container_lot", typed);
    await page.keyboard.press("Enter");
    await expect(lot()).toHaveValue(typed);
    await expect(expiry()).toHaveValue(before);
    await expect(said()).toHaveText("");
  }
  expect((await print(page, "A4")).text).not.toContain("scanned");
});
