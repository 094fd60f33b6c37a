// The one invented case of docs and tests, and the way through it.
import { expect } from "@playwright/test";

export const CLINIC = "Harbour Lane Joint Clinic";
export const PRESCRIBER = "Dr A. Reyes-Lindqvist";
export const TUBE = "Tube, filled to 15 mL";
export const DOUBLE_SPIN = "Double-spin tube method";
export const SWING_OUT = "Swing-out rotor (enter its radii)";

/** The rotor's radius is the clinic's to enter: without it no speed follows. */
export async function setUpBench(app) {
  await app.place("Bench");
  await app.bench.openItem("Clinic");
  await app.bench.enter("Clinic", "Name", CLINIC);
  await app.bench.openItem(SWING_OUT);
  await app.bench.enter(SWING_OUT, "Maximum radius", "155");
  await app.place("Worksheet");
}

/** The order, typed as it stands on the prescriber's sheet. */
export async function typeOrder(sheet, { count = true } = {}) {
  await sheet.typeAll({ patient_reference: "HL-0417", second_identifier: "4 Aug 1982" });
  await sheet.choose("Side", "Right");
  await sheet.typeAll({ site: "patellar tendon", order_volume: "3" });
  await sheet.press("Divide among parts of the site");
  await sheet.typeAll({ part_name_1: "into the tendon", part_volume_1: "2", part_name_2: "beside it", part_volume_2: "1" });
  await sheet.pick("Container", TUBE);
  await sheet.type("containers", "2");
  await sheet.pick("Protocol", DOUBLE_SPIN);
  await sheet.typeAll({ fill_volume: "15", product_volume: "4" });
  if (count) {
    await sheet.choose("Is there a count of this blood?", "Counted today");
    await sheet.type("blood_count", "210");
    await sheet.pick("Counted from", "Laboratory EDTA tube");
    await sheet.type("blood_count_time", "09:10");
  } else {
    await sheet.choose("Is there a count of this blood?", "No count");
  }
  await sheet.type("blood_haematocrit", "0.42");
}

/** What is asked when it matters: screening, people, rotor, lots. */
export async function typeTheRest(sheet) {
  await sheet.unfold("Screening questions");
  for (const question of [
    "Unwell, feverish or with an infection now, also at the site?",
    "A known disorder of platelets, blood or clotting?",
    "Cancer, now or before?",
    "A medicine against clotting or platelets, aspirin included?",
  ]) {
    await sheet.choose(question, "No");
  }
  await sheet.choose("An anti-inflammatory pain medicine in the last days? Which, and when last?", "Yes");
  for (const question of [
    "A corticosteroid in the last weeks, by mouth or injected?",
    "Pregnant or breast-feeding?",
    "Fainted at a blood draw before?",
    "An allergy to anything that will be used?",
  ]) {
    await sheet.choose(question, "No");
  }
  await sheet.type("screening_note", "one tablet, five days ago");
  await sheet.unfold("Who ordered, who prepares");
  await sheet.typeAll({ prescriber: PRESCRIBER, technician: "MO" });
  await sheet.unfold("Rotor, lots and expiry");
  await sheet.pick("Rotor", SWING_OUT);
  await sheet.typeAll({
    anticoagulant_lot: "AC-2291",
    anticoagulant_expiry: "31 Aug 2027",
    container_lot: "K-0058",
    container_expiry: "30 Jun 2027",
  });
}

/** Identity, what is in hand, the second pair of eyes; then the needle. */
export async function checkAndGoIn(sheet) {
  await sheet.next("Before the needle");
  await sheet.on("Before the needle");
  await sheet.press("Both agree");
  await sheet.press("Clear, in date");
  await sheet.press("All sound");
  await sheet.type("second-person", PRESCRIBER);
  await sheet.press("Amount checked");
  await sheet.seen();
  await sheet.next("Needle in");
  await sheet.on("Needle in");
}

/** Both containers filled to the mark. */
export async function drawToTheMark(sheet) {
  await sheet.take(sheet.button("1 at the mark"));
  await expect(sheet.field("fill_actual_1")).toHaveValue("15");
  await sheet.take(sheet.button("Needle out, 2 at the mark"));
  await sheet.on("Spinning");
}

/** The whole programme, its minutes passing. */
export async function spin(app, sheet) {
  await sheet.tick("Rotor balanced, lids closed");
  await app.setTime("2026-03-12T10:50:00+01:00");
  await sheet.next("Start the spin");
  await app.setTime("2026-03-12T11:00:30+01:00");
  await sheet.next("Stage 2 has begun");
  await app.setTime("2026-03-12T11:06:00+01:00");
  // The rotor was opened: what goes in again is balanced again.
  await expect(sheet.field("check_balance")).not.toBeChecked();
  await sheet.tick("Rotor balanced, lids closed");
  await sheet.next("Stage 3 has begun");
  await app.setTime("2026-03-12T11:16:30+01:00");
  await sheet.next("Spin ended");
  await sheet.next("Go to Product");
  await sheet.on("Product");
}

/** Kept, counted, shared out, handed over and signed. */
export async function collectAndHandOver(app, sheet) {
  await app.setTime("2026-03-12T11:33:00+01:00");
  await sheet.typeAll({ product_actual: "4" });
  await sheet.press("Product collected");
  await sheet.typeAll({ count_sample: "0.2", reading_1: "924" });
  await sheet.choose("Sample before the analyser", "Undiluted");
  await sheet.choose("Well mixed, and no clumps seen?", "Yes");
  await sheet.typeAll({ needle_changes: "1", transfers: "2", part_given_1: "2", part_given_2: "1" });
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await app.tick();
  await sheet.next("Hand over");
  await sheet.next("Sign the record");
}

/** The demo case with its needle out, in the minute it was begun. */
export async function drawn(app) {
  await app.open();
  const sheet = await app.demo();
  await sheet.stage("Before the needle");
  await sheet.press("Both agree");
  await sheet.next("Needle in");
  await drawToTheMark(sheet);
  return sheet;
}

/** The demo case from the start, drawn and spun. */
export async function spun(app) {
  const sheet = await drawn(app);
  await spin(app, sheet);
  return sheet;
}

/** A demo case handed over with its count still to come; what is `shared` out is typed before. */
export async function handedOver(app, how = "Count later", shared = {}) {
  const sheet = await spun(app);
  await app.setTime("2026-03-12T11:33:00+01:00");
  await sheet.type("product_actual", "4");
  await sheet.press("Product collected");
  await sheet.choose("Platelets of the product", how);
  await sheet.typeAll(shared);
  await sheet.type("handed_to", PRESCRIBER);
  await sheet.tick("Both identifiers, side and site, and the check sign read back at hand-over");
  await app.setTime("2026-03-12T11:40:00+01:00");
  await sheet.next("Hand over");
  await expect(app.page.locator("button.next", { hasText: "Sign the record" })).toBeVisible();
  await sheet.rest();
  return sheet;
}

/** And signed. */
export async function signed(app, how) {
  const sheet = await handedOver(app, how);
  await sheet.next("Sign the record");
  await expect(app.page.getByText("Signed by MO, 12 Mar 2026, 11:40.")).toBeVisible();
  return sheet;
}
