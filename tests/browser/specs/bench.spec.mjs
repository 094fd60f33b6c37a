// Bench: what the clinic sets up, kept, refused when it contradicts itself, carried as a file.
import { readFile } from "node:fs/promises";
import { expect, test } from "../strawline.mjs";
import { SWING_OUT, TUBE } from "../support/scenario.mjs";

test.beforeEach(async ({ app }) => {
  await app.open();
  await app.place("Bench");
});

test("a rotor's radius turns force into speed in a new case", async ({ app }) => {
  await app.bench.openItem(SWING_OUT);
  await app.bench.enter(SWING_OUT, "Maximum radius", "155");
  await app.place("Worksheet");
  const sheet = await app.newCase();
  await sheet.pick("Protocol", "Double-spin tube method");
  await sheet.stage("Spinning");
  await sheet.pick("Rotor", SWING_OUT);
  await expect(sheet.opens("w-rpm-1")).toHaveText("1020");
});

test("what contradicts itself is refused, and the value before still holds", async ({ app, page }) => {
  await app.bench.openItem(TUBE);
  await app.bench.enter(TUBE, "Lowest fill used", "16");
  await expect(page.getByText("The lowest fill, the highest fill and the capacity must rise in this order. The value before still holds.")).toBeVisible();
});

test("a limit looser than shipped wants a lead's name first", async ({ app, page }) => {
  await app.bench.openItem("Limits on a draw");
  await app.bench.enter("Limits on a draw", "Stop above, per kilogram", "8");
  await expect(page.getByText("This is looser than shipped. Enter the lead’s name first; the value before still holds.")).toBeVisible();
});

test("the analyser's range is refused upside down, and tells a new case to dilute", async ({ app, page }) => {
  await app.bench.openItem("Analyser");
  await app.bench.enter("Analyser", "Highest reading in proportion", "600");
  await app.bench.enter("Analyser", "Lowest reading in proportion", "700");
  await expect(page.getByText("the lowest reading it counts in proportion must be below the highest. The value before still holds.")).toBeVisible();
  await app.bench.enter("Analyser", "Lowest reading in proportion", "10");
  await app.bench.enter("Analyser", "Product taken for a dilution", "0.1");
  await app.reload();
  await app.place("Worksheet");
  // The demo rests on what ships, until a tap takes the clinic's own.
  const sheet = await app.demo();
  await sheet.stage("Product");
  await sheet.choose("Sample before the analyser", "Undiluted");
  await expect(page.getByText("in proportion there is not known: enter its range in Bench.")).toBeVisible();
  await sheet.press("Take it as it stands in Bench");
  await expect(page.getByText("The reading will lie above what the analyser counts in proportion. At 1 part in 2 it would be inside.")).toBeVisible();
  await sheet.choose("Sample before the analyser", "Diluted");
  await sheet.type("dilution", "20");
  await expect(page.getByText("The analyser counts in proportion there.")).toBeVisible();
  await expect(sheet.opens("w-mix")).toHaveText("100 µL of product into 1900 µL of diluent");
});

test("an open case keeps what it was begun with", async ({ app }) => {
  await app.place("Worksheet");
  const sheet = await app.demo();
  await app.place("Bench");
  await app.bench.openItem(TUBE);
  await app.bench.enter(TUBE, "Step for the anticoagulant", "0.5");
  await app.place("Worksheet");
  await expect(sheet.answer).toContainText("in each, by 0.2 mL steps");
});

test("it is carried to another device as a file", async ({ app, page }) => {
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", "Harbour Lane Joint Clinic");
  const waits = page.waitForEvent("download");
  await app.press("Export the Bench");
  const file = await (await waits).path();
  expect(JSON.parse(await readFile(file, "utf8")).clinic.name).toBe("Harbour Lane Joint Clinic");
});

test("the theme chosen here outranks the device's", async ({ app, page }) => {
  await app.bench.theme("Dark");
  await expect(page.locator("html")).toHaveAttribute("data-theme", "dark");
  await expect(page.locator("html")).toHaveCSS("background-color", "rgb(21, 22, 27)");
});

test("a Bench that was taken is taken back as a whole, and not over what was changed since", async ({ app, page }) => {
  const waits = page.waitForEvent("download");
  await app.press("Export the Bench");
  const bench = JSON.parse(await readFile(await (await waits).path(), "utf8"));
  bench.clinic.name = "Harbour Lane Joint Clinic";
  const file = { name: "bench.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(bench)) };
  await app.bench.openItem("Clinic");
  const name = app.bench.entry("Clinic", "Name");
  const before = await name.inputValue();
  const take = async () => {
    await page.locator("#bench-file").setInputFiles(file);
    await app.press("Take all of it");
    await expect(name).toHaveValue("Harbour Lane Joint Clinic");
  };
  await take();
  await app.press("Undo");
  await expect(name).toHaveValue(before);
  await take();
  await app.bench.enter("Clinic", "Second line", "2nd floor");
  await app.press("Undo");
  await expect(page.getByText("Not taken back: the Bench was changed since.", { exact: false })).toBeVisible();
  await expect(name).toHaveValue("Harbour Lane Joint Clinic");
  await expect(app.bench.entry("Clinic", "Second line")).toHaveValue("2nd floor");
});
