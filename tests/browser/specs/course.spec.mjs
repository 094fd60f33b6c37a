// A course goes on: what its earlier session measured stands beside the plan of the next, and predicts nothing.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { print } from "../support/paper.mjs";
import { collectAndHandOver, spun } from "../support/scenario.mjs";
import { unfoldAll } from "../support/views.mjs";

test("the recovery of session 1 stands beside the plan of session 2 as measured", async ({ app, page }) => {
  const sheet = await spun(app);
  await sheet.stage("Order");
  await unfoldAll(page, (summary) => summary.click());
  await sheet.type("session", "1 of 3");
  await sheet.stage("Product");
  await collectAndHandOver(app, sheet);
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  const line = page.locator(".sessions").getByText(/^Measured in session 1 of 3 on 12\sMar\s2026, record \S+: recovery 0\.68\.$/);
  await expect(line).toHaveCount(0);
  await app.setTime("2026-04-09T10:00:00+02:00");
  await app.place("Records");
  await app.press("Duplicate");
  await sheet.on("Order");
  await unfoldAll(page, (summary) => summary.click());
  await expect(sheet.field("session")).toHaveValue("2 of 3");
  await expect(line).toBeVisible();
  await expect(page.locator(".sessions")).toContainText("does not take the place of what is predicted");
  await expect(page.locator("table.expected .predicted").filter({ hasText: "0.68" })).toHaveCount(0);
  expect(await axe(page)).toEqual([]);
  const card = await print(page, "A4");
  expect(card.text.replace(/\s+/g, " ")).toMatch(/Measured in session 1 of 3 on 12 Mar 2026, record \S+: recovery 0\.68\./);
  await sheet.type("patient_reference", "HL-0418");
  await expect(line).toHaveCount(0);
});
