// Records past the clinic's time of keeping, removed for good: nothing of them comes back.
import { expect, test } from "../strawline.mjs";
import { kept } from "../support/kept.mjs";
import { signed } from "../support/scenario.mjs";
import { secondTab } from "../support/tabs.mjs";

/** A record a year and a day old, in a clinic that keeps records for a year. */
async function past(app) {
  await signed(app);
  await app.place("Bench");
  await app.bench.openItem("How long records are kept");
  await app.bench.enter("How long records are kept", "Years after the last signature", "1");
  await app.setTime("2027-03-13T12:00:00+01:00");
  await app.reload();
}

async function remove(app, page) {
  await app.place("Records");
  await page.locator("#past-keeping summary").click();
  await page.getByLabel("Remove them without a backup").check();
  await app.press("Remove these records");
  await app.press("Remove for good");
  await expect(page.locator("#purged li")).toContainText("removed, ");
}

test("a record that was looked at before is removed, and its patient stands nowhere any more", async ({ app, page }) => {
  await past(app);
  await app.place("Records");
  await app.hand.press(app.records.signed.getByRole("button").first());
  await expect(page.getByText("Amend the record").first()).toBeAttached();
  expect(await kept(page)).toContain("HL-0417");
  await remove(app, page);
  await expect(app.records.signed).toHaveCount(0);
  expect(await kept(page)).not.toContain("HL-0417");
  await app.reload();
  await app.place("Records");
  await expect(app.records.signed).toHaveCount(0);
  await page.waitForTimeout(1000);
  expect(await kept(page)).not.toContain("HL-0417");
});

test("another tab that looks at the record follows, and brings nothing back", async ({ app, page, context }) => {
  await past(app);
  const other = await secondTab(context);
  await other.setTime("2027-03-13T12:00:00+01:00");
  await other.place("Records");
  await other.hand.press(other.records.signed.getByRole("button").first());
  await page.bringToFront();
  await remove(app, page);
  await other.page.bringToFront();
  await other.place("Records");
  await expect(other.records.signed).toHaveCount(0);
  await expect(other.banner).toHaveCount(0);
  await other.reload();
  await page.waitForTimeout(1000);
  expect(await kept(page)).not.toContain("HL-0417");
});
