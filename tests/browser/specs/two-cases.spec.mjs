// Two cases at once: signs that cannot be taken for one another, and all clocks in one strip.
import { expect, test } from "../strawline.mjs";

test.beforeEach(async ({ app }) => {
  await app.open();
  await app.demo();
});

async function second(app) {
  const first = await app.sign.textContent();
  await app.place("Records");
  await app.press("New case");
  await app.worksheet.on("Order");
  return { first, second: await app.sign.textContent() };
}

test("the signs of two open cases share no character", async ({ app }) => {
  const signs = await second(app);
  expect(signs.first).toMatch(/^[34679][ACDEFGHJKMNPQRTUVWXY]$/);
  expect(signs.second).toMatch(/^[34679][ACDEFGHJKMNPQRTUVWXY]$/);
  expect([...signs.second].filter((c) => signs.first.includes(c))).toEqual([]);
});

test("the second sign is solid, so that the two differ by ground", async ({ app }) => {
  await second(app);
  await expect(app.sign).toHaveClass(/solid/);
});

test("both cases stand in the clock strip, and a tap goes to one", async ({ app }) => {
  const signs = await second(app);
  await expect(app.worksheet.clocks.getByRole("listitem")).toHaveCount(2);
  await app.hand.press(app.worksheet.clocks.getByRole("button", { name: new RegExp(signs.first.split("").join(" ")) }));
  await expect(app.sign).toHaveText(signs.first);
  await expect(app.worksheet.field("patient_reference")).toHaveValue("HL-0417");
});

test("what is typed into one case stays out of the other", async ({ app }) => {
  const signs = await second(app);
  await app.worksheet.type("patient_reference", "HL-0418");
  await app.hand.press(app.worksheet.clocks.getByRole("button", { name: new RegExp(signs.first.split("").join(" ")) }));
  await expect(app.worksheet.field("patient_reference")).toHaveValue("HL-0417");
});

test("a discarded case comes back in one tap", async ({ app }) => {
  const signs = await second(app);
  await app.place("Records");
  await app.hand.press(app.records.openCase(signs.second).getByRole("button", { name: "Discard" }));
  await expect(app.records.openCase(signs.second)).toHaveCount(0);
  await app.press("Undo");
  await expect(app.records.openCase(signs.second)).toHaveCount(1);
});

test("at the needle the sign of the case in hand touches no other's @everywhere", async ({ app, page }) => {
  const first = await app.sign.textContent();
  await app.worksheet.stage("Before the needle");
  await app.worksheet.press("Both agree");
  await app.worksheet.next("Needle in");
  await app.worksheet.on("Needle in");
  await app.worksheet.take(app.worksheet.button("Needle out, all at the mark"));
  await app.worksheet.on("Spinning");
  await app.place("Records");
  await app.press("Open the demo case");
  await app.worksheet.stage("Before the needle");
  await app.worksheet.press("Both agree");
  await app.worksheet.next("Needle in");
  await app.worksheet.on("Needle in");
  const signs = page.locator(".head .sign").filter({ visible: true });
  await expect(signs).toHaveCount(2);
  const boxes = await signs.evaluateAll((all) => all.map((one) => [one.textContent, one.getBoundingClientRect().toJSON()]));
  expect(boxes.map(([text]) => text)).toContain(first);
  const [[, a], [, b]] = boxes;
  expect(a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top).toBe(true);
});

test("what is typed beside a Stop of one case never stands beside the same Stop of another", async ({ app, page }) => {
  const sheet = app.worksheet;
  await sheet.stage("Before the needle");
  const first = await app.sign.textContent();
  await app.place("Records");
  await app.press("Open the demo case");
  await sheet.stage("Before the needle");
  await page.getByLabel("Prescriber’s name").fill("Dr A. Reyes-Lindqvist");
  await page.getByLabel("Reason given").fill("known to me");
  await app.hand.press(sheet.clocks.getByRole("button", { name: new RegExp(first.split("").join(" ")) }));
  await expect(app.sign).toHaveText(first);
  await sheet.on("Before the needle");
  await expect(page.getByLabel("Prescriber’s name")).toHaveValue("");
  await expect(page.getByLabel("Reason given")).toHaveValue("");
});
