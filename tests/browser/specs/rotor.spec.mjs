// The rotor drawn: which radius is which as it runs, and how it is loaded.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { DOUBLE_SPIN, setUpBench, SWING_OUT, typeOrder } from "../support/scenario.mjs";

const radii = (page) => page.locator(".radii").filter({ visible: true });
const loaded = (page) => page.locator("#loaded");

test("radii are drawn to scale as they are entered, and told in words @everywhere", async ({ app, page }) => {
  await app.open();
  await app.place("Bench");
  await app.bench.openItem(SWING_OUT);
  await expect(radii(page)).toContainText("minimum radius not on record; mean radius not on record; maximum radius not on record");
  await expect(radii(page).locator("svg")).toBeHidden();
  await app.bench.enter(SWING_OUT, "Maximum radius", "155");
  await app.bench.enter(SWING_OUT, "Minimum radius", "75");
  const picture = radii(page).getByRole("img");
  await expect(picture).toHaveAttribute("aria-label", /stand out level.*minimum radius 75\smm.*mean radius 115\smm.*maximum radius 155\smm/);
  // Dimension lines from the axis, as long as the radii are to each other.
  const lengths = await picture.locator(".dim").evaluateAll((all) => all.map((line) => line.x2.baseVal.value - line.x1.baseVal.value));
  expect(lengths.map((one) => Math.round((155 * one) / lengths[2]))).toEqual([75, 115, 155]);
  await app.bench.entry(SWING_OUT, "Minimum radius").scrollIntoViewIfNeeded();
  expect(await axe(page)).toEqual([]);
  await app.bench.enter(SWING_OUT, "Minimum radius", "160");
  await expect(radii(page)).toContainText("The minimum radius is not below the maximum");
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
});

test("a rotor of fixed angle is drawn with an upright surface, and that its slant is an example is said", async ({ app, page }) => {
  await app.open();
  await app.place("Bench");
  const fixed = "Fixed-angle rotor (enter its radii)";
  await app.bench.openItem(fixed);
  await app.bench.enter(fixed, "Minimum radius", "60");
  await app.bench.enter(fixed, "Maximum radius", "110");
  await expect(radii(page)).toContainText("how far they slant is drawn as an example");
  await expect(radii(page).locator(".blood")).toHaveCount(1);
});

async function caseOn(app, places) {
  const sheet = await app.newCase();
  await typeOrder(sheet);
  if (places) await sheet.type("containers", places);
  await sheet.stage("Spinning");
  await sheet.pick("Rotor", SWING_OUT);
  return sheet;
}

async function withPlaces(app, places) {
  await app.open();
  await setUpBench(app);
  await app.place("Bench");
  await app.bench.openItem(SWING_OUT);
  await app.bench.enter(SWING_OUT, "Places that hold one container each", places);
  await app.place("Worksheet");
}

test("containers face each other, the odd one a counterweight, with water to begin from @everywhere", async ({ app, page }) => {
  await withPlaces(app, "8");
  const sheet = await caseOn(app, "3");
  const sign = await app.sign.textContent();
  await expect(loaded(page)).toContainText("Weigh each filled and closed container against what faces it");
  const picture = loaded(page).getByRole("img");
  await expect(picture).toHaveAttribute("aria-label", new RegExp(`Place 1, ${sign}\\s1 \\(15\\smL\\) faces place 5, ${sign}\\s2 \\(15\\smL\\)\\. Place 3, ${sign}\\s3 \\(15\\smL\\) faces place 7, a counterweight`));
  await expect(picture.locator("circle.place")).toHaveCount(7);
  await expect(picture.locator("rect.place")).toHaveCount(1);
  await expect(picture.locator(".empty")).toHaveCount(4);
  await expect(picture.getByText("weight")).toBeVisible();
  // 1.05 · 15 = 15.75 mL of water, open to how it came about.
  const water = sheet.opens("w-facing-3");
  await expect(water).toHaveText("15.75");
  await sheet.hand.press(water);
  await expect(sheet.working("w-facing-3")).toContainText("specific gravity of whole blood");
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
  expect(await axe(page)).toEqual([]);
});

test("the scale comes before volumes, of either spin, and what is too far apart stops it", async ({ app, page }) => {
  await withPlaces(app, "8");
  await app.place("Bench");
  await app.bench.openItem(SWING_OUT);
  await app.bench.enter(SWING_OUT, "Opposite places may differ by", "1");
  await app.place("Worksheet");
  const sheet = await caseOn(app, "3");
  const weights = (of) => of.locator("summary", { hasText: "Weights, as the scale reads them" });
  await app.hand.press(weights(loaded(page)));
  await sheet.type("filled_weight_1", "31.2");
  await expect(loaded(page)).toContainText("Container 2 has no weight yet: what is said is still a guess.");
  await sheet.type("filled_weight_2", "heavy");
  await expect(page.locator("#filled_weight_2-reading")).toHaveClass(/wrong/);
  await sheet.type("filled_weight_2", "32.4");
  await expect(loaded(page)).toContainText("apart, by weight: 1.2 g");
  await expect(loaded(page)).toContainText("more than the rotor’s entry in Bench allows");
  await expect(page.getByText("By weight, container 1 and container 2 of the first spin differ by 1.2 g; the rotor’s entry allows 1 g.").first()).toBeVisible();
  await sheet.type("filled_weight_2", "31.5");
  await expect(loaded(page)).not.toContainText("more than the rotor’s entry in Bench allows");
  await sheet.type("filled_weight_3", "31");
  await sheet.type("counterweight", "29.5");
  // Weighed, those nearest to each other face each other: 31.2 and 31, so that 31.5 faces the counterweight.
  await expect(loaded(page)).toContainText(/add water to the counterweight: 2\smL/);
  const second = page.locator("#loaded-second");
  await expect(second).toContainText("in one of its own");
  await app.hand.press(weights(second));
  await sheet.type("filled_weight_second_1", "22.5");
  await expect(second).toContainText("Container 2 has no weight yet");
  await expect(loaded(page)).not.toContainText("22.5");
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
  expect(await axe(page)).toEqual([]);
});

test("two that are too far apart each face a counterweight of their own, and are held against it", async ({ app, page }) => {
  await withPlaces(app, "4");
  await app.place("Bench");
  await app.bench.openItem(SWING_OUT);
  await app.bench.enter(SWING_OUT, "Opposite places may differ by", "1");
  await app.place("Worksheet");
  const sheet = await caseOn(app);
  const sign = await app.sign.textContent();
  await app.hand.press(loaded(page).locator("summary", { hasText: "Weights, as the scale reads them" }));
  await sheet.type("filled_weight_1", "31.2");
  await sheet.type("filled_weight_2", "32.4");
  const stop = page.getByText("type what the scale reads of each under Counterweights of their own");
  await expect(stop.first()).toBeVisible();
  await app.hand.press(loaded(page).locator("summary", { hasText: "Counterweights of their own" }));
  await sheet.type("own_counterweight_1", "31");
  // The one that is left is the odd one.
  await expect(page.locator("#counterweight")).toBeVisible();
  await sheet.type("own_counterweight_2", "31");
  await expect(page.locator("#counterweight")).toBeHidden();
  await expect(page.getByText("By weight, container 2 and its counterweight of the first spin differ by 1.4 g; the rotor’s entry allows 1 g.").first()).toBeVisible();
  await sheet.type("own_counterweight_2", "32");
  await expect(page.getByText(/By weight, container/)).toHaveCount(0);
  const picture = loaded(page).getByRole("img");
  await expect(picture).toHaveAttribute("aria-label", new RegExp(`${sign}\\s1 \\(.*31\\.2\\sg\\) faces place 3, a counterweight \\(31\\sg\\)\\. .*${sign}\\s2 \\(.*32\\.4\\sg\\) faces place 4, a counterweight \\(32\\sg\\)`));
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
  expect(await axe(page)).toEqual([]);
});

test("a rotor without places on record is drawn with those in use; one that cannot be loaded says why", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Spinning");
  await expect(loaded(page)).toContainText("How many places the rotor has is not on record");
  await expect(loaded(page).locator("circle.place")).toHaveCount(2);
  await app.place("Bench");
  await app.bench.openItem(SWING_OUT);
  await app.bench.enter(SWING_OUT, "Places that hold one container each", "5");
  await app.place("Worksheet");
  await sheet.pick("Rotor", SWING_OUT);
  await expect(loaded(page)).toContainText("With 5 places none has one across from it");
  await expect(loaded(page).locator("svg")).toBeHidden();
});

test("another patient’s containers stand in it by choice, told apart by check sign and ground", async ({ app, page }) => {
  await withPlaces(app, "8");
  await caseOn(app);
  const first = await app.sign.textContent();
  await app.place("Records");
  await caseOn(app, "1");
  const second = await app.sign.textContent();
  const picture = loaded(page).locator("svg");
  await expect(picture).not.toHaveAttribute("aria-label", new RegExp(first));
  const box = loaded(page).getByRole("checkbox", { name: `Check sign ${first[0]} ${first[1]}` });
  await app.hand.press(box);
  await expect(box).toBeChecked();
  await expect(picture).toHaveAttribute("aria-label", new RegExp(`${first}\\s1 .* faces place \\d, ${first}\\s2`));
  await expect(picture).toHaveAttribute("aria-label", new RegExp(`${second}\\s1 .*faces place \\d, a counterweight`));
  await expect(loaded(page)).toContainText("A place is no identity: go by the sign on each container.");
  // The second case's sign stands on ink, as everywhere.
  await expect(picture.locator("circle.solid")).toHaveCount(1);
  await expect(picture.locator("text.on-solid").first()).toHaveText(second);
  await app.hand.press(box);
  await expect(picture).not.toHaveAttribute("aria-label", new RegExp(first));
});

test("a programme fixed in the machine is shown and not edited, and that is kept", async ({ app, page }) => {
  await app.open();
  await app.place("Bench");
  await app.bench.openItem(DOUBLE_SPIN);
  const item = page.locator("details.item", { has: page.locator("summary", { hasText: DOUBLE_SPIN }) });
  const add = item.getByRole("button", { name: "Add a stage" });
  await expect(add).toBeVisible();
  await app.hand.pick(item.getByLabel("The machine’s programme", { exact: true }), "fixed in the machine: shown, not edited");
  await expect(add).toBeHidden();
  await expect(item).toContainText(/Stage 1, hold: 180\s×g at the maximum radius, 10\smin/);
  await page.waitForTimeout(300);
  await app.reload();
  await app.place("Bench");
  await app.bench.openItem(DOUBLE_SPIN);
  await expect(add).toBeHidden();
  await app.hand.pick(item.getByLabel("The machine’s programme", { exact: true }), "entered here");
  await expect(add).toBeVisible();
});

test("stages of a protocol are turned into others, moved, removed and taken back", async ({ app, page }) => {
  await app.open();
  await app.place("Bench");
  await app.bench.openItem(DOUBLE_SPIN);
  const item = page.locator("details.item", { has: page.locator("summary", { hasText: DOUBLE_SPIN }) });
  const kinds = item.getByLabel("Stage", { exact: true });
  const said = () => kinds.evaluateAll((all) => all.map((one) => one.selectedOptions[0].textContent));
  const times = item.getByLabel("Time", { exact: true });
  const empty = async () => {
    await app.hand.enter(times.first());
    for (const key of ["Control+A", "Delete", "Tab"]) await page.keyboard.press(key);
  };
  await expect(kinds).toHaveCount(3);
  const before = await said();
  // The first goes after the second, and the keyboard with it.
  await app.hand.press(item.getByRole("button", { name: "Later", exact: true }).first());
  await expect(kinds.nth(1)).toBeFocused();
  expect(await said()).toEqual([before[1], before[0], before[2]]);
  await app.hand.press(item.getByRole("button", { name: "Earlier", exact: true }).first());
  expect(await said()).toEqual(before);
  // A hold wants a time; by hand it may be left open, and what is done has words.
  await empty();
  await expect(item.locator(".reading.wrong")).toHaveCount(1);
  await app.hand.pick(kinds.first(), before[1]);
  await expect(item.getByLabel("What is done", { exact: true })).toHaveCount(2);
  await empty();
  await expect(item.locator(".reading.wrong")).toHaveCount(0);
  await app.hand.press(item.getByRole("button", { name: "Remove this stage" }).first());
  await expect(kinds).toHaveCount(2);
  await app.press("Undo");
  await expect(kinds).toHaveCount(3);
});

test("a stage brought back leaves what was changed of the others since", async ({ app, page }) => {
  await app.open();
  await app.place("Bench");
  await app.bench.openItem(DOUBLE_SPIN);
  const item = page.locator("details.item", { has: page.locator("summary", { hasText: DOUBLE_SPIN }) });
  const kinds = item.getByLabel("Stage", { exact: true });
  const time = item.getByLabel("Time", { exact: true }).first();
  await expect(kinds).toHaveCount(3);
  const before = await time.inputValue();
  await app.hand.press(item.getByRole("button", { name: "Remove this stage" }).last());
  await expect(kinds).toHaveCount(2);
  await app.hand.type(time, "7");
  await page.keyboard.press("Tab");
  const typed = await time.inputValue();
  expect(typed).not.toBe(before);
  await app.press("Undo");
  await expect(kinds).toHaveCount(3);
  await expect(time).toHaveValue(typed);
});
