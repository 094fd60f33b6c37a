// What is printed: one page on both papers, marked as what it is, predicted never as measured.
import { expect, test } from "../strawline.mjs";
import { print } from "../support/paper.mjs";
import { collectAndHandOver, spun } from "../support/scenario.mjs";

async function made(app) {
  const sheet = await spun(app);
  await collectAndHandOver(app, sheet);
  return sheet;
}

for (const format of ["A4", "Letter"]) {
  test(`the card of a finished case is one page of ${format}, with its numbers`, async ({ app, page }) => {
    await made(app);
    const card = await print(page, format);
    expect(card.pages).toBe(1);
    for (const words of [
      "Preparation card, platelet-rich plasma",
      "Demo, not a patient",
      "HL-0417",
      "born 4 Aug 1982",
      "RIGHT patellar tendon",
      "ordered by Dr A. Reyes-Lindqvist",
      "made by MO",
      "2 + 13 = 15 mL",
      "210 ×10⁹/L",
      "924 ×10⁹/L",
      "4.4",
      "closes",
      "use by",
      "AC-2291",
      "PRP",
      "PPP",
      "This is not the product.",
      "No dose is recommended.",
      "Not reviewed by a licensed person.",
      "cut here",
    ]) {
      expect(card.text).toContain(words);
    }
  });

  test(`the blank worksheet is one page of ${format}`, async ({ app, page }) => {
    await app.open();
    const sheet = await print(page, format);
    expect(sheet.pages).toBe(1);
    expect(sheet.text).toContain("Worksheet by hand, platelet-rich plasma");
    expect(sheet.text).not.toContain("HL-0417");
  });

  test(`a card before the draw is one page of ${format}, and names nothing as counted`, async ({ app, page }) => {
    await app.open();
    await app.demo();
    const card = await print(page, format);
    expect(card.pages).toBe(1);
    expect(card.text).toContain("platelets not counted");
    expect(card.text).toContain("What to expect");
  });
}

test("the sign on the card is the sign on the screen", async ({ app, page }) => {
  await app.open();
  await app.demo();
  const sign = await app.sign.textContent();
  expect((await print(page, "A4")).text).toContain(sign);
});

test("an open Stop takes the label away", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("They differ");
  const card = await print(page, "A4");
  expect(card.text).toContain("What the patient stated does not agree with the order.");
  expect(card.text).not.toContain("cut here");
});

test("the question list prints what the order leaves open", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.press("Print the question list");
  const list = await print(page, "A4");
  expect(list.pages).toBe(1);
  expect(list.text).toContain("Questions for the prescriber");
  expect(list.text).toContain("Are white cells wanted in the product or not?");
});

test("what to lay out is listed from the plan, follows it, and prints @everywhere", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.unfold("What to lay out");
  const lines = page.locator("ul.set-out li");
  await expect(lines.filter({ hasText: "2 containers: Tube, filled to 15 mL" })).toBeVisible();
  await expect(lines.filter({ hasText: "ACD-A: 4 mL in all, 2 mL into each container" })).toBeVisible();
  await sheet.type("containers", "3");
  await expect(lines.filter({ hasText: "A counterweight" })).toBeVisible();
  await sheet.press("Print the list");
  const list = await print(page, "A4");
  expect(list.pages).toBe(1);
  expect(list.text).toContain("ACD-A: 6 mL in all");
  expect(list.text).toContain("Demo, not a patient");
});

test("the screen's own parts do not print", async ({ app, page }) => {
  await app.open();
  await app.demo();
  expect((await print(page, "A4")).text).not.toMatch(/Skip to the work|Something went wrong|Print card/);
});
