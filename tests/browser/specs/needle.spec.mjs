// While the needle is in, and what goes otherwise than planned.
import { expect, test } from "../strawline.mjs";
import { PRESCRIBER } from "../support/scenario.mjs";

let sheet;
test.beforeEach(async ({ app }) => {
  await app.open();
  sheet = await app.demo();
});

async function needleIn() {
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await sheet.next("Needle in");
  await sheet.on("Needle in");
}

test("identity unchecked holds the needle, and the amounts stay in view @everywhere", async () => {
  await sheet.stage("Before the needle");
  await sheet.next("Needle in");
  await sheet.on("Before the needle");
  await expect(sheet.stop("The two identifiers have not been checked with the patient.")).toBeVisible();
  await expect(sheet.page.locator(".fill")).toContainText("15");
});

test("the prescriber's name and reason take the case past a Stop", async () => {
  await sheet.stage("Before the needle");
  await sheet.decide("The two identifiers have not been checked", PRESCRIBER, "known to me");
  await expect(sheet.stop("known to me")).toBeVisible();
  await sheet.next("Needle in");
  await sheet.on("Needle in");
});

test("identifiers that differ stop the case with no way past", async () => {
  await sheet.stage("Before the needle");
  await sheet.press("They differ");
  const halt = sheet.stop("What the patient stated does not agree with the order.");
  await expect(halt).toContainText("Stop. Do not go on.");
  await expect(halt.getByRole("button")).toHaveCount(0);
  await sheet.next("Needle in");
  await sheet.on("Before the needle");
});

test("the stages above the work do not step past a Stop", async ({ page }) => {
  await sheet.stage("Before the needle");
  const stages = page.getByRole("navigation", { name: "Stages" });
  await sheet.hand.press(stages.getByRole("button", { name: "Needle in", exact: true }));
  await expect(page.getByRole("button", { name: /^Needle out/ })).toHaveCount(0);
});

test("needle in shows one number, one line, one clock @everywhere", async ({ app, page }) => {
  await needleIn();
  await expect(page.locator(".needle-mark")).toHaveText("15 mL mark blood up to the line, in each of 2");
  await app.setTime("2026-03-12T10:32:48+01:00");
  await expect(page.getByRole("timer")).toHaveText("1:48");
  await expect(page.locator(".needle .places")).toHaveCount(0);
});

test("a short draw: planned and actual side by side, the share of anticoagulant and a way to top up", async () => {
  await needleIn();
  await sheet.type("fill_actual_1", "11");
  const row = sheet.row("Container 1");
  await expect(row).toContainText("2 + 13 = 15 mL");
  await expect(row).toContainText("2 + 9 = 11 mL");
  // 2 in 9: 22.2 in 100 mL of blood.
  await expect(row).toContainText("22.2 mL");
  await expect(row).toContainText("top up to at least");
});

test("a short draw carries through to what is expected", async () => {
  await needleIn();
  await sheet.type("fill_actual_1", "11");
  await sheet.take(sheet.button("Needle out, 2 at the mark"));
  await sheet.on("Spinning");
  await expect(sheet.ledger).toContainText("+ 22 blood");
  await expect(sheet.ledger).toContainText("26 mL in the containers");
});

const TROUBLES = [
  ["Draw stopped short", "Container 1", "The draw into container 1 stopped short of its mark.", "Caution"],
  ["Clot", "Container 1", "A clot is seen in container 1.", "Stop. Do not go on."],
  ["Anticoagulant forgotten", "Container 1", "Container 1 is without its anticoagulant.", "Stop. Do not go on."],
  ["Container dropped, leaking or opened", "Container 2", "Container 2 fell, leaked or was opened.", "Stop. Do not go on."],
  ["Container without label, or in doubt", "Container 2", "Container 2 has no label, or it is not certain whose it is.", "Stop. Do not go on."],
  ["Spin stopped midway", null, "The spin stopped before its time.", "Caution"],
  ["Pink plasma", null, "The plasma is pink.", "Caution"],
  ["Milky plasma", null, "The plasma is milky.", "Caution"],
  ["Red cells in the product", null, "The product is plainly red.", "Stop"],
  ["Clumps in the product", null, "The product has clumps in it.", "Stop"],
];
for (const [what, container, cause, level] of TROUBLES) {
  test(`trouble: ${what.toLowerCase()}`, async () => {
    await needleIn();
    const dialog = await sheet.trouble(what, container);
    for (const part of ["What must stop", "Whom to ask", "What can still be reckoned", "What is recorded"]) {
      await expect(dialog.getByText(part, { exact: true })).toBeVisible();
    }
    await sheet.backToWork();
    const stage = /Spin|plasma/.test(what) ? "Spinning" : /product/.test(what) ? "Product" : null;
    if (stage) {
      await sheet.take(sheet.button("Needle out"));
      if (stage === "Product") await sheet.stage("Product");
    }
    const finding = sheet.finding(cause).first();
    await expect(finding).toContainText(level);
    await expect(finding).toBeVisible();
  });
}

test("a container set aside leaves the others reckoned, and its blood still counts as drawn", async () => {
  await needleIn();
  const dialog = await sheet.trouble("Clot", "Container 1");
  await sheet.hand.press(dialog.getByRole("button", { name: "Set container 1 aside" }));
  await sheet.backToWork();
  await sheet.take(sheet.button("Needle out, 2 at the mark"));
  await sheet.on("Spinning");
  await expect(sheet.finding("Container 1 is set aside")).toContainText("still counts as drawn");
  await expect(sheet.ledger).toContainText("+ 13 blood");
});

test("after a short draw no mark is entered by itself, and what was not entered is not reckoned", async ({ page }) => {
  await needleIn();
  await expect(page.getByRole("button", { name: /^Needle out/ })).toHaveText(["Needle out", "Needle out, all at the mark"]);
  await sheet.trouble("Draw stopped short", "Container 1");
  await sheet.backToWork();
  await expect(page.getByRole("button", { name: /^Needle out/ })).toHaveText(["Needle out"]);
  await sheet.type("fill_actual_1", "11");
  await sheet.take(sheet.button("Needle out"));
  await sheet.on("Spinning");
  await expect(sheet.finding("no mark is entered for container 2")).toBeVisible();
  await expect(sheet.ledger).toContainText("+ 9 blood (planned 2 × 13; 1 container not known)");
  await sheet.stage("Needle in");
  await expect(sheet.field("fill_actual_2")).toHaveValue("");
  await expect(sheet.row("Container 2")).toContainText("not known");
});

test("needle in is taken back with undo while nothing was drawn, and not after", async ({ page }) => {
  await needleIn();
  await sheet.press("Needle in was tapped by mistake");
  await sheet.on("Before the needle");
  await expect(sheet.saved).toContainText("Needle in taken back.");
  await sheet.press("Undo");
  await sheet.stage("Needle in");
  await sheet.type("fill_actual_1", "11");
  await expect(page.getByRole("button", { name: "Needle in was tapped by mistake" })).toHaveCount(0);
  await expect(page.getByText("Needle in cannot be taken back any more")).toBeVisible();
});

test("a trouble taken back stays as a struck line", async () => {
  await needleIn();
  const dialog = await sheet.trouble("Clot", "Container 1");
  await sheet.hand.press(dialog.getByRole("button", { name: "Take back: clot, container 1" }));
  await expect(dialog.locator("s")).toHaveText("Clot, container 1");
  await expect(dialog.getByText(/taken back .*\d\d:\d\d/)).toBeVisible();
  await sheet.backToWork();
  await expect(sheet.stop("A clot is seen")).toHaveCount(0);
});

test("a Stop leaves the mark in view on a phone, and the caption whole", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 800 });
  await needleIn();
  const box = async (selector) => page.locator(selector).filter({ visible: true }).first().boundingBox();
  const within = async (selector) => {
    const [part, bar] = [await box(selector), await box(".needle-bar")];
    expect(part.y, `${selector} begins`).toBeGreaterThanOrEqual(0);
    expect(part.y + part.height, `${selector} ends above the bar`).toBeLessThanOrEqual(bar.y);
  };
  await within(".needle-fill .picture");
  await sheet.trouble("Clot", "Container 1");
  await sheet.backToWork();
  await expect(sheet.stop("A clot is seen in container 1.")).toBeVisible();
  await page.waitForTimeout(200);
  await within(".needle-fill .picture");
  await within(".needle-mark .vast");
  await within(".stops .level");
});

test("the spin starts when its balance was checked", async ({ page }) => {
  await needleIn();
  await sheet.take(sheet.button("Needle out, all at the mark"));
  await sheet.on("Spinning");
  const start = page.locator("button.next", { hasText: "Start the spin" });
  await expect(start).toContainText("still open: rotor balanced, lids closed");
  await sheet.next("Start the spin");
  await expect(start).toBeVisible();
  await sheet.tick("Rotor balanced, lids closed");
  await sheet.next("Start the spin");
  await expect(start).toHaveCount(0);
});

test("half a number raises no Stop, the whole one does, and a clotted container is filled no more", async ({ page }) => {
  await needleIn();
  const stops = page.locator(".stops .finding");
  await expect(stops).toHaveCount(0);
  await page.evaluate(() => {
    window.stopsSeen = 0;
    new MutationObserver(() => (window.stopsSeen += document.querySelectorAll(".stops .finding").length)).observe(
      document.querySelector(".needle-work"),
      { childList: true, subtree: true },
    );
  });
  // In the page, so that no more lies between the two keys.
  await sheet.field("fill_actual_1").evaluate(async (field) => {
    for (const text of ["1", "15"]) {
      field.value = text;
      field.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((over) => setTimeout(over, 100));
    }
  });
  await expect(page.locator("text=15 mL").first()).toBeVisible();
  await page.waitForTimeout(900);
  expect(await page.evaluate(() => window.stopsSeen)).toBe(0);
  await sheet.type("fill_actual_1", "1");
  await expect(stops.first()).toBeVisible();
  await sheet.field("fill_actual_1").fill("");
  await expect(stops).toHaveCount(0);
  await sheet.trouble("Clot", "Container 1");
  await sheet.backToWork();
  await expect(page.getByRole("button", { name: "2 at the mark", exact: true })).toBeVisible();
  await expect(page.getByRole("button", { name: "1 at the mark", exact: true })).toHaveCount(0);
});

test("of four containers the page says how many there are, how many are filled, and what a tap fills @everywhere", async ({ page }) => {
  await sheet.type("containers", "4");
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await sheet.next("Needle in");
  await expect(page.locator(".needle-mark")).toHaveText("15 mL mark blood up to the line, in each of 4");
  await expect(sheet.button("Needle out, all at the mark")).toBeVisible();
  await sheet.take(sheet.button("1 at the mark"));
  await sheet.take(sheet.button("2 at the mark"));
  await expect(page.locator(".needle-mark")).toHaveText("15 mL mark blood up to the line, in each of 4; 2 filled");
  await expect(sheet.button("Needle out, 3 and 4 at the mark")).toBeVisible();
});
