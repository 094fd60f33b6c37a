// Backwards from the order: what to draw so that it is met, what stands in the way, and that planning waits for typing.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";

/** The demo with the amounts an order may name in view. */
async function amounts(app) {
  await app.open();
  const sheet = await app.demo();
  await sheet.unfold("Other amounts the order names");
  return sheet;
}

const plan = (page) => page.locator("main section.plan");
const ways = (page) => plan(page).locator("table.ways tbody tr");

test("an order of at least so many platelets shows a plan and other ways beside it @everywhere", async ({ app, page }) => {
  const sheet = await amounts(app);
  await expect(plan(page)).toBeHidden();
  await sheet.type("order_platelets", "5");
  await expect(plan(page)).toBeVisible();
  // From literature, no chance stands in figures.
  await expect(plan(page)).toContainText("It can be planned for: this way, the order is more likely to be met than not.");
  await expect(plan(page)).not.toContainText(/\d in 10|of 10\b/);
  await expect(plan(page)).toContainText(/ACD-A in each of \d containers, then blood to the \d+\smL mark: [\d.]+\smL blood in all\. Keep 4\smL;/);
  await expect(ways(page).first()).toContainText("fewest containers, then least blood");
  expect(await ways(page).count()).toBeGreaterThan(1);
  expect(await ways(page).count()).toBeLessThanOrEqual(4);
  await expect(plan(page)).toContainText(/5\smL more blood, [\d.]+\smL in all/);
  expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
});

test("the order stands with its sense where it is held against the prediction", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "5");
  await expect(sheet.answer).toContainText("Ordered, platelets to give: at least 5 ×10⁹ in all. As predicted: very unlikely met.");
  await sheet.choose("Platelets to give, meant as", "About");
  await expect(page.getByText("About means within a tenth either way: our own judgement").first()).toBeVisible();
  await expect(sheet.answer).toContainText("about 5 ×10⁹ (within a tenth) in all");
  await sheet.choose("Platelets to give are ordered", "in each part");
  await expect(sheet.answer).toContainText("about 5 ×10⁹ (within a tenth) in each part");
});

test("between two numbers that stand upside down says so beside the field", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "3");
  await sheet.choose("Platelets to give, meant as", "Between");
  await expect(page.getByText("Until the second number is there, nothing is planned, and the order counts as at least the first.").first()).toBeVisible();
  await sheet.type("order_platelets_most", "2");
  const beside = page.locator("#order_platelets_most").locator("xpath=ancestor::div[contains(@class,'field')]/following-sibling::p[contains(@class,'wrong')]");
  await expect(beside).toContainText("no less than 3 ×10⁹ and no more than 2 ×10⁹. The second number is the smaller.");
  await expect(plan(page)).toContainText("Nothing is planned while the second number ordered is smaller than the first.");
  await sheet.type("order_platelets_most", "4");
  await expect(beside).toHaveCount(0);
  await expect(sheet.answer).toContainText("3 to 4 ×10⁹ in all");
  await expect(ways(page).first()).toBeVisible();
});

test("an order that cannot be met shows the best that can, what binds and what each limit would buy", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "12");
  await expect(plan(page)).toContainText("Within the limits the order is not expected to be met. Ask the prescriber.");
  await expect(plan(page)).toContainText("What binds: weight, height, age, sex or haemoglobin not known: enter what is missing; no more blood is planned without.");
  await expect(plan(page)).toContainText(/As surely as a plan asks for, this way reaches: platelets to give, [\d.]+\s×10⁹\./);
  await expect(ways(page).first()).toContainText("the surest within the limits");
  const relaxing = plan(page).locator("table.relaxing tbody tr");
  expect(await relaxing.count()).toBeGreaterThan(0);
  // What is not known is to be entered: no volume is told for it.
  await expect(relaxing.filter({ hasText: "weight, height" })).toHaveCount(0);
  // None of these is within the limits, so none can be used.
  await expect(relaxing.getByRole("button")).toHaveCount(0);
});

test("a plan is used at a tap, never by itself, and can be taken back", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "5");
  await expect(ways(page).first()).toBeVisible();
  await expect(sheet.field("containers")).toHaveValue("2");
  const name = await ways(page).first().getByRole("rowheader").textContent();
  const [, containers, mark] = name.match(/(\d+) containers?, ([\d.]+)\smL mark/);
  expect(containers).not.toBe("2");
  await sheet.hand.press(ways(page).first().getByRole("button"));
  await expect(sheet.field("containers")).toHaveValue(containers);
  await expect(sheet.field("fill_volume")).toHaveValue(mark);
  await expect(sheet.field("product_volume")).toHaveValue("4");
  await expect(ways(page).first()).toContainText("as set now");
  await expect(sheet.answer).toContainText(`In each of ${containers} containers`);
  await expect(sheet.answer).toContainText("As predicted: more likely met than not.");
  await sheet.press("Undo");
  await expect(sheet.field("containers")).toHaveValue("2");
  await expect(sheet.field("fill_volume")).toHaveValue("15");
});

test("without a count, counting is offered before more blood, and one wide range stands beside the table", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "2");
  await expect(plan(page).getByText("Count the blood before drawing more")).toBeHidden();
  await sheet.choose("Is there a count of this blood?", "No count");
  await expect(plan(page).getByText("Count the blood before drawing more")).toBeVisible();
  await expect(plan(page)).toContainText("The blood has no count, so any adult’s is taken: 236 ×10⁹/L.");
  await expect(plan(page)).toContainText(/[\d.]+\smL of blood would then do instead of [\d.]+\smL\./);
  await expect(sheet.answer.getByRole("rowheader", { name: "any adult" })).toBeVisible();
  await expect(sheet.answer).toContainText("Largest unknown: the blood’s count: there is none.");
});

test("the largest unknown is told in words, its share behind a tap", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await expect(sheet.answer).toContainText("Largest unknown: how much of the platelets the method takes. If it were known,");
  const fold = sheet.answer.locator("details", { hasText: "How sure this is" });
  await expect(fold.locator("table")).toBeHidden();
  await sheet.hand.press(fold.locator("summary"));
  await expect(fold.getByRole("row", { name: /how much of the platelets the method takes \d+\s%/ })).toBeVisible();
  await expect(fold).toContainText(/A count of it will read, 80\s% range, \d+ to \d+\s×10⁹\/L/);
  await expect(page.getByText("These ranges are of what is truly in it; a count adds its own error.")).toBeVisible();
});

test("the plan is in reach before the needle and gone once the needle is in", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "5");
  await sheet.stage("Before the needle");
  await expect(ways(page).first()).toBeVisible();
  await sheet.press("Both agree");
  await sheet.next("Needle in");
  await sheet.on("Needle in");
  await sheet.press("Back to before the needle");
  await sheet.on("Before the needle");
  await expect(plan(page)).toBeHidden();
});

test("typing is not held up by planning, and only the last answer is shown", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "5");
  await expect(ways(page).first()).toBeVisible();
  // What is shown for the number typed below, where it comes in one go.
  const shown = () => plan(page).locator("table.ways tbody").textContent();
  const first = await shown();
  await sheet.field("order_platelets").fill("4.25");
  await expect.poll(shown).not.toBe(first);
  const wanted = await shown();
  await sheet.field("order_platelets").fill("5");
  await expect.poll(shown).toBe(first);
  await sheet.hand.enter(sheet.field("order_platelets"));
  await page.keyboard.press("Control+A");
  const typed = ["4", "4.", "4.2", "4.25"];
  for (const [i, key] of ["4", ".", "2", "5"].entries()) {
    await page.keyboard.press(key, { delay: 0 });
    expect(await sheet.field("order_platelets").inputValue()).toBe(typed[i]);
  }
  await expect(sheet.answer).toContainText("at least 4.25 ×10⁹ in all");
  await expect.poll(shown).toBe(wanted);
  // Four numbers, each in the case before the next comes, do not make four plans. Each has a plan of its own.
  await page.evaluate(async () => {
    const field = document.querySelector("#order_platelets");
    const body = document.querySelector("section.plan table.ways tbody");
    window.shown = [body.textContent];
    const look = () => {
      if (body.textContent !== window.shown.at(-1)) window.shown.push(body.textContent);
      requestAnimationFrame(look);
    };
    look();
    for (const number of ["3", "3.5", "4", "4.5"]) {
      field.value = number;
      for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));
      await new Promise((over) => setTimeout(over, 60));
    }
  });
  await expect(sheet.answer).toContainText("at least 4.5 ×10⁹ in all");
  await expect.poll(() => page.evaluate(() => window.shown.length)).toBeGreaterThan(1);
  expect(await page.evaluate(() => window.shown.length), "the plan before, and one").toBe(2);
});

test("the picture has its table behind it, and nothing of the plan trips a reader", async ({ app, page }) => {
  const sheet = await amounts(app);
  await sheet.type("order_platelets", "5");
  const picture = plan(page).getByRole("img", { name: /Platelets in 4 mL of product by blood drawn/ });
  await expect(picture).toBeVisible();
  await expect(picture).toHaveAccessibleName(/The order needs [\d.]+ in product\. Limit on blood: 100\smL\./);
  await sheet.unfold("The picture as a table");
  const rows = plan(page).locator(".plan-sketch tbody tr");
  await expect(rows.first()).toBeVisible();
  expect(await rows.count()).toBeGreaterThan(10);
  await sheet.unfold("How the plan is worked out");
  await sheet.hand.press(sheet.opens("w-plan-blood"));
  await expect(sheet.working("w-plan-blood")).toContainText("B = n·B₁");
  expect(await axe(page)).toEqual([]);
});

test.describe("by keyboard, in the dark", () => {
  test.use({ by: "keys", colorScheme: "dark" });

  test("an order that cannot be met is planned and read by keyboard alone", async ({ app, page }) => {
    const sheet = await amounts(app);
    await sheet.type("order_platelets", "12");
    await expect(ways(page).first()).toBeVisible();
    await sheet.unfold("The picture as a table");
    await expect(plan(page).locator(".plan-sketch tbody tr").first()).toBeVisible();
    await sheet.hand.press(ways(page).first().getByRole("button"));
    await expect(ways(page).first()).toContainText("as set now");
    expect(await axe(page)).toEqual([]);
  });
});
