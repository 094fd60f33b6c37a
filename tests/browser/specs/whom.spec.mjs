// Who did each stage, and what of it the card left to the hand before: asked once, filled in by a person, on the paper.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { print } from "../support/paper.mjs";
import { PRESCRIBER, drawToTheMark, drawn, spin } from "../support/scenario.mjs";

test("each stage asks once who did it, offers those it may have been, and holds no step", async ({ app, page }) => {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await expect(sheet.field("who_before")).toHaveValue("");
  await expect(sheet.offers("who_before")).toHaveText(["MO"]);
  await sheet.hand.press(sheet.offers("who_before"));
  await expect(sheet.field("who_before")).toHaveValue("MO");
  await expect(sheet.offers("who_before")).toHaveCount(0);
  expect(await axe(page)).toEqual([]);
  await sheet.next("Needle in");
  await sheet.type("who_draw", "JT");
  const tooLong = `left arm, inner elbow, ${"x".repeat(60)}`;
  await sheet.type("draw_site", tooLong);
  await expect(page.locator("#draw_site-room")).toContainText("83 letters; there is room for 60. All of it is kept and printed");
  await expect(sheet.field("draw_site")).toHaveValue(tooLong);
  await sheet.type("draw_site", "left arm, inner elbow");
  await expect(page.locator("#draw_site-room")).toHaveText("");
  expect(await axe(page)).toEqual([]);
  await drawToTheMark(sheet);
  // Asked of what is done by hand once it has begun; of a spin above its balance, which whoever is named checks.
  await expect(sheet.field("who_spin_2")).toHaveCount(0);
  await expect(sheet.offers("who_spin_1")).toHaveText(["MO", "JT"]);
  await sheet.hand.press(sheet.offers("who_spin_1").last());
  await spin(app, sheet);
  await sheet.stage("Spinning");
  await expect(sheet.field("who_spin_1")).toHaveValue("JT");
  await expect(sheet.offers("who_spin_2")).toHaveText(["MO", "JT"]);
  await sheet.unfold("What really ran");
  await sheet.type("temperature_set_1", "72");
  await expect(page.locator("#temperature_set_1-reading")).not.toHaveText("");
  await sheet.type("temperature_set_1", "20.5");
  await sheet.pick("Brake set, stage 1", "brake off");
  expect(await axe(page)).toEqual([]);
  await sheet.stage("Product");
  await app.setTime("2026-03-12T11:33:00+01:00");
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Platelets of the product", "Count later");
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await sheet.next("Hand over");
  await sheet.hand.press(sheet.offers("who_hand_over").first());
  await sheet.unfold("When it was given, and how it was kept");
  await sheet.type("part_given_at_1", "soon");
  await expect(page.locator("#part_given_at_1-reading")).toContainText("No time can be read here");
  await sheet.type("part_given_at_1", "11:38");
  await expect(page.locator("#part_given_at_1-reading")).toContainText("before the hand-over at 11:40");
  await sheet.type("part_given_at_1", "11:40");
  await expect(page.locator("#part_given_at_1-reading")).toHaveText("Given 12 Mar 2026, 11:40.");
  await sheet.type("kept_until_given", "on the rocker");
  expect(await axe(page)).toEqual([]);
  const card = await print(page, "A4");
  for (const said of ["drawn from left arm, inner elbow", "20.5 °C, brake off", "kept until given: on the rocker", "11:40, by MO", "at 11:40", "balanced JT, ", "balanced MO, "]) {
    expect(card.text).toContain(said);
  }
  expect(card.pages).toBe(1);
  await sheet.next("Sign the record");
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
});

test("a side changed after the needle is told where it is changed and at every stage after, once", async ({ app, page }) => {
  const sheet = await drawn(app);
  const stop = sheet.stop("When the needle went in, side and site were: RIGHT patellar tendon. Now they are: LEFT patellar tendon.");
  await sheet.stage("Order");
  await expect(stop).toHaveCount(0);
  await sheet.choose("Side", "Left");
  await expect(stop).toHaveCount(1);
  await expect(stop).toBeVisible();
  for (const stage of ["Before the needle", "Spinning", "Product"]) {
    await sheet.stage(stage);
    await expect(stop, stage).toHaveCount(1);
    await expect(stop, stage).toBeVisible();
    // It is the hand-over that waits, and no step before it.
    if (stage === "Spinning") await expect(page.locator("button.next")).not.toContainText("side or site changed");
    if (stage === "Product") await expect(page.locator("button.next", { hasText: "Hand over" })).toContainText("side or site changed");
  }
  // Decided at one stage, it is decided at all; put right, nothing is left of it.
  await sheet.stage("Order");
  await sheet.decide("When the needle went in", PRESCRIBER, "left was meant");
  await sheet.stage("Product");
  await expect(stop).toContainText("left was meant");
  await sheet.stage("Order");
  await sheet.choose("Side", "Right");
  await expect(stop).toHaveCount(0);
});
