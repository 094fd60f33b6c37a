// Times: set right where a tap came late, taken back where it was a mistake, held against the plan; a spin that
// stopped; who amends, and on which day.
import { expect, test } from "../strawline.mjs";
import {
  checkAndGoIn, drawn, drawToTheMark, handedOver, PRESCRIBER, setUpBench, signed, spun, typeOrder, typeTheRest,
} from "../support/scenario.mjs";

const BALANCE = "Rotor balanced, lids closed";

const step = (page) => page.locator("button.next");

test("a time tapped late is set to when it happened, and what stood there stays @everywhere", async ({ app, page }) => {
  const sheet = await spun(app);
  await expect(page.locator(".label-preview")).toContainText("14:31");
  await sheet.unfold("Times, as entered");
  await sheet.type("time_needle_in", "10:20");
  await sheet.press("Correct: Needle in");
  const trace = "Needle in 10:31 corrected to 10:20, MO 11:16";
  await expect(page.locator("main")).toContainText(trace);
  await expect(page.locator(".paper .card")).toContainText(trace);
  // Everything that counts from it follows.
  await expect(page.locator(".label-preview")).toContainText("14:20");
  await app.draftSaved();
  await app.reload();
  await expect(page.locator(".paper .card")).toContainText(trace);
});

test("a time ahead of the clock, or no time, is refused beside its field", async ({ app, page }) => {
  const sheet = await spun(app);
  await sheet.unfold("Times, as entered");
  for (const [typed, why] of [["11:30", "lies ahead of this device’s clock"], ["soon", "no time of day"], ["1116", "stands there"]]) {
    await sheet.type("time_spin_end", typed);
    await sheet.press("Correct: Spin ended");
    await expect(sheet.reading("time_spin_end")).toContainText(why);
  }
  await expect(page.locator(".paper .card")).not.toContainText("corrected to");
});

test("a time is not corrected past what came before or after it", async ({ app }) => {
  const sheet = await spun(app);
  await sheet.stage("Spinning");
  await sheet.unfold("Times, as entered");
  await sheet.type("time_needle_out", "1020");
  await sheet.press("Correct: Needle out");
  await expect(sheet.reading("time_needle_out")).toContainText("At that time the step before it or after it had its turn");
  await sheet.type("time_needle_out", "10:36");
  await sheet.press("Correct: Needle out");
  await expect(sheet.reading("time_needle_out")).not.toContainText("At that time the step before it or after it had its turn");
});

test("needle out and spin ended can be taken back, and that too", async ({ app, page }) => {
  const sheet = await drawn(app);
  await sheet.take(sheet.button("Needle out was tapped by mistake"));
  await expect(step(page)).toContainText("Enter first that the needle is out");
  await sheet.press("Undo");
  await expect(step(page)).toContainText("Start the spin");
  await sheet.tick(BALANCE);
  await sheet.next("Start the spin");
  await expect(page.getByRole("button", { name: "Needle out was tapped by mistake" })).toHaveCount(0);
  await sheet.next("Stage 2 has begun");
  await sheet.tick(BALANCE);
  await sheet.next("Stage 3 has begun");
  await sheet.next("Spin ended");
  await sheet.press("Spin ended was tapped by mistake");
  await expect(step(page)).toContainText("Spin ended");
  await sheet.press("Undo");
  await expect(step(page)).toContainText("Go to Product");
});

test("steps tapped all in one minute are held against the plan", async ({ app, page }) => {
  const sheet = await drawn(app);
  await sheet.tick(BALANCE);
  await sheet.next("Start the spin");
  await sheet.next("Stage 2 has begun");
  await sheet.tick(BALANCE);
  await sheet.next("Stage 3 has begun");
  await sheet.next("Spin ended");
  const told = sheet.finding("the times entered leave");
  await expect(told).toHaveCount(2);
  await sheet.unfold("What really ran");
  await sheet.type("minutes_actual_1", "10");
  await expect(told).toHaveCount(1);
  await expect(page.locator("main")).toContainText("From stage 3 on");
});

test("a spin that stopped stands, is balanced again and run again; both starts stay", async ({ app, page }) => {
  const sheet = await drawn(app);
  await sheet.tick(BALANCE);
  await app.setTime("2026-03-12T10:50:00+01:00");
  await sheet.next("Start the spin");
  await app.setTime("2026-03-12T10:54:00+01:00");
  await sheet.trouble("Spin stopped midway");
  await sheet.backToWork();
  await expect(page.locator(".clock-large")).toContainText("stopped, since");
  await expect(page.getByRole("button", { name: "Take back", exact: true })).toHaveCount(0);
  const box = page.getByLabel(BALANCE);
  await expect(box).not.toBeChecked();
  await sheet.next("Run this stage again");
  await expect(box).toBeFocused();
  await expect(page.locator(".clock-large")).toContainText("stopped, since");
  await sheet.tick(BALANCE);
  await app.setTime("2026-03-12T11:05:00+01:00");
  await sheet.next("Run this stage again");
  const both = "begun 10:50, stopped 10:54, run again 11:05";
  await expect(page.locator("main")).toContainText(both);
  await expect(page.locator(".paper .card")).toContainText(both);
  await expect(step(page)).toContainText("Stage 2 has begun");
  await sheet.press("Take back");
  await expect(step(page)).toContainText("Run this stage again");
  await expect(page.locator("main")).not.toContainText(both);
});

test("what stands stopped is drawn and weighed anew, and what it was weighed with before stays", async ({ app, page }) => {
  const sheet = await drawn(app);
  const loaded = page.locator("#loaded");
  await sheet.hand.press(loaded.locator("summary", { hasText: "Weights, as the scale reads them" }));
  await sheet.type("filled_weight_1", "31.2");
  await sheet.tick(BALANCE);
  await app.setTime("2026-03-12T10:50:00+01:00");
  await sheet.next("Start the spin");
  await expect(loaded.locator("svg")).toBeHidden();
  await app.setTime("2026-03-12T10:54:00+01:00");
  await sheet.trouble("Spin stopped midway");
  await sheet.backToWork();
  await expect(loaded.locator("svg")).toBeVisible();
  await sheet.type("filled_weight_1", "30.9");
  await sheet.tick(BALANCE);
  await app.setTime("2026-03-12T11:05:00+01:00");
  await sheet.next("Run this stage again");
  await expect(loaded.locator("svg")).toBeHidden();
  const both = /begun 10:50 \(weighed: container 1 31\.2\sg\), stopped 10:54, run again 11:05/;
  await expect(page.locator("main")).toContainText(both);
  await expect(page.locator(".paper .card")).toContainText(both);
});

test("an amendment carries the name of who amends, and a late count its day", async ({ app, page }) => {
  const sheet = await spun(app);
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Platelets of the product", "Count later");
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await sheet.next("Hand over");
  await sheet.next("Sign the record");
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await app.setTime("2026-03-14T09:00:00+01:00");
  await sheet.stage("Later");
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.type("reading_1", "924");
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sheet.type("amend_reason", "count came back from the laboratory");
  await sheet.next("Amend the record");
  await expect(page.getByText("Enter who amends the record", { exact: false })).toBeVisible();
  await expect(sheet.field("amend_by")).toBeFocused();
  await sheet.type("amend_by", "JT");
  await sheet.next("Amend the record");
  await expect(page.getByText("Amended once.")).toBeVisible();
  const card = page.locator(".paper .card");
  for (const words of ["Amended by JT, 14 Mar 2026, 09:00", "made by MO", "entered 14 Mar 2026, 09:00"]) {
    await expect(card).toContainText(words);
  }
  // What is corrected here is corrected by whoever amends, who is asked anew.
  await sheet.type("amend_by", "JT");
  await sheet.unfold("Times, as entered");
  await sheet.type("time_counted", "8:30");
  await sheet.press("Correct: Product count");
  await expect(page.locator("main")).toContainText("corrected to 14 Mar 2026, 08:30, JT 14 Mar 2026, 09:00");
});

test("what is changed after the hand-over wants its own reason, each time", async ({ app, page }) => {
  const sheet = await handedOver(app);
  // Its time is corrected, which leaves a trace, and not taken back.
  await expect(sheet.button("Not collected yet")).toHaveCount(0);
  await sheet.type("product_actual", "3.6");
  const main = page.locator("main");
  await expect(main).toContainText("Changed after hand-over: Product kept now “3.6”, “4” before");
  await sheet.next("Sign the record");
  await expect(sheet.field("why_changed")).toBeFocused();
  await sheet.type("why_changed", "misread the syringe");
  await sheet.type("handed_to", "JT");
  await expect(sheet.field("why_changed")).toHaveValue("");
  await expect(main).toContainText("misread the syringe");
  await sheet.next("Sign the record");
  await expect(page.getByText("Say why it was changed after the product was handed over", { exact: false })).toBeVisible();
  await sheet.type("why_changed", "another came for it");
  const card = page.locator(".paper .card");
  for (const words of ["misread the syringe", "another came for it"]) await expect(card).toContainText(words);
  // A reason that was wrong is given anew, and the other stays.
  await sheet.press("Give another reason");
  await expect(main).not.toContainText("misread the syringe");
  await sheet.next("Sign the record");
  await sheet.type("why_changed", "misread the mark");
  await expect(main).toContainText("another came for it");
  await sheet.next("Sign the record");
  await expect(page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  await expect(card).toContainText("misread the mark");
});

test("of a signed case whoever amends is named first, and what is corrected, entered or ticked at any stage is theirs", async ({ app, page }) => {
  const sheet = await signed(app);
  const first = page.getByText("keeps the name of who amends: enter it first", { exact: false }).filter({ visible: true });
  await sheet.stage("Spinning");
  await sheet.unfold("Times, as entered");
  await expect(first.first()).toBeVisible();
  await sheet.type("time_needle_out", "10:36");
  await sheet.press("Correct: Needle out");
  await sheet.on("Spinning");
  await expect(sheet.field("amender_times")).toBeFocused();
  await sheet.stage("Product");
  // A tick is not taken back by nobody.
  await sheet.hand.press(page.locator("#check_hand_over"));
  await expect(page.locator("#check_hand_over")).toBeChecked();
  await sheet.on("Product");
  await expect(sheet.field("amender_stage")).toBeFocused();
  await sheet.type("amender_stage", "JT");
  // Once asked, it stays while it is typed; another stage does not ask again.
  await expect(sheet.field("amender_stage")).toHaveValue("JT");
  await sheet.stage("Spinning");
  await expect(first).toHaveCount(0);
  await sheet.unfold("Times, as entered");
  // What was typed there waits.
  await expect(sheet.field("time_needle_out")).toHaveValue("10:36");
  await sheet.press("Correct: Needle out");
  await expect(page.locator("main")).toContainText("corrected to 10:36, JT 11:40");
  await sheet.stage("Product");
  const dialog = await sheet.trouble("Pink plasma");
  await sheet.hand.press(dialog.getByRole("button", { name: "Take back: pink plasma" }));
  await expect(dialog.getByText("taken back JT, 11:40", { exact: false })).toBeVisible();
  await sheet.backToWork();
  await sheet.unfold("Discarded");
  await sheet.typeAll({ "discard-count": "1", "discard-lot": "K-0077", "discard-why": "seal torn" });
  await sheet.press("Enter");
  await expect(page.locator("main li", { hasText: "K-0077" })).toContainText("seal torn, JT");
  const box = page.locator("#check_hand_over");
  const line = page.locator("label.check", { has: box });
  await expect(line).toContainText("MO 11:33");
  await sheet.hand.press(box);
  await expect(box).not.toBeChecked();
  await sheet.hand.press(box);
  await expect(line).toContainText("JT 11:40");
});

test("an end of the spin that was forgotten is entered after the collection, with the time when it was", async ({ app, page }) => {
  test.setTimeout(120_000);
  await app.open();
  await setUpBench(app);
  await app.place("Bench");
  await app.bench.openItem("Spin-by and use-by");
  await app.bench.enter("Spin-by and use-by", "Use by, after the last spin ended", "60");
  await app.place("Worksheet");
  const sheet = await app.newCase();
  await typeOrder(sheet);
  await typeTheRest(sheet);
  await checkAndGoIn(sheet);
  await drawToTheMark(sheet);
  await sheet.tick(BALANCE);
  await app.setTime("2026-03-12T10:50:00+01:00");
  await sheet.next("Start the spin");
  await app.setTime("2026-03-12T11:00:30+01:00");
  await sheet.next("Stage 2 has begun");
  await app.setTime("2026-03-12T11:06:00+01:00");
  await sheet.tick(BALANCE);
  await sheet.next("Stage 3 has begun");
  await expect(sheet.answer).toContainText(/Use by 1\sh after the spin’s end, at the latest\s*14:31/);
  await app.setTime("2026-03-12T11:33:00+01:00");
  await sheet.stage("Product");
  const before = page.getByText("Collected now, it can be entered under Spinning with its time.", { exact: false });
  await expect(before).toBeVisible();
  await expect(sheet.field("time_spin_end")).toHaveCount(0);
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await expect(before).toHaveCount(0);
  await expect(sheet.field("time_spin_end")).toBeVisible();
  // An hour after it was collected, and no later.
  await expect(sheet.clocks).toContainText("12:33");
  await sheet.stage("Spinning");
  await sheet.press("Enter when the spin ended");
  await expect(sheet.field("time_spin_end")).toBeFocused();
  await sheet.stage("Product");
  await sheet.choose("Platelets of the product", "Count later");
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await sheet.next("Hand over");
  await expect(page.getByText("enter it under Spinning, with the time when it was", { exact: false })).toBeAttached();
  await expect(sheet.field("time_spin_end")).toBeFocused();
  await expect(sheet.field("time_spin_end")).toBeInViewport();
  await sheet.type("time_spin_end", "11:34");
  await sheet.press("Enter: Spin ended");
  await expect(sheet.reading("time_spin_end")).toContainText("At that time the step before it or after it had its turn");
  await sheet.type("time_spin_end", "11:16");
  await sheet.press("Enter: Spin ended");
  await expect(sheet.button("Correct: Spin ended")).toBeVisible();
  await expect(sheet.clocks).toContainText("12:16");
  await expect(page.locator(".label-preview")).toContainText("12:16");
  await expect(page.locator(".paper .card")).not.toContainText("corrected to");
  await sheet.next("Hand over");
  await expect(page.locator("button.next", { hasText: "Sign the record" })).toBeVisible();
});
