// Every stage, place and special state of the page, and how to come to it from an open demo case.
import { SWING_OUT, TUBE, DOUBLE_SPIN } from "./scenario.mjs";

async function to(app, stage) {
  if (stage !== "Order") await app.worksheet.stage(stage);
  return app.worksheet;
}

/** Opens every fold of the work that is in view and still closed; one within another after it. */
export async function unfoldAll(page, press) {
  for (const folded of await page.locator("main details").all()) {
    const summary = folded.locator("> summary");
    if ((await summary.isVisible()) && !(await folded.evaluate((one) => one.open))) await press(summary);
  }
}

async function needleIn(app) {
  const sheet = await to(app, "Before the needle");
  await sheet.press("Both agree");
  await sheet.next("Needle in");
  await sheet.on("Needle in");
  return sheet;
}

export const VIEWS = {
  Order: async (app) => {
    await to(app, "Order");
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  "Order, refused and asked": async (app) => {
    const sheet = await to(app, "Order");
    await sheet.typeAll({ order_volume: "900", blood_count: "2.1" });
  },
  "Order without a count": async (app) => {
    const sheet = await to(app, "Order");
    await sheet.choose("Is there a count of this blood?", "No count");
  },
  "Order with a plan, no count": async (app) => {
    const sheet = await to(app, "Order");
    await sheet.unfold("Other amounts the order names");
    await sheet.type("order_platelets", "3");
    await sheet.choose("Platelets to give, meant as", "Between");
    await sheet.type("order_platelets_most", "6");
    await sheet.choose("Is there a count of this blood?", "No count");
    await app.page.locator("section.plan table.ways tbody tr").first().waitFor();
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  "Order that cannot be met": async (app) => {
    const sheet = await to(app, "Order");
    await sheet.unfold("Other amounts the order names");
    await sheet.type("order_platelets", "12");
    await app.page.locator("section.plan table.relaxing tbody tr").first().waitFor();
  },
  "Before the needle, a working open": async (app) => {
    const sheet = await to(app, "Before the needle");
    await app.hand.press(sheet.opens("w-agent"));
    await app.hand.press(sheet.opens("w-fold"));
  },
  "Before the needle, stopped": async (app) => {
    const sheet = await to(app, "Before the needle");
    await sheet.press("They differ");
  },
  "Needle in": needleIn,
  "What went wrong": async (app) => {
    const sheet = await needleIn(app);
    await sheet.trouble("Clot", "Container 1");
  },
  "Needle in, with a clot": async (app) => {
    const sheet = await needleIn(app);
    await sheet.trouble("Clot", "Container 1");
    await sheet.backToWork();
  },
  Spinning: async (app) => {
    await needleIn(app);
    await app.worksheet.take(app.worksheet.button("Needle out, all at the mark"));
    await app.worksheet.tick("Rotor balanced, lids closed");
    await app.worksheet.next("Start the spin");
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  "Picture of a spin": async (app) => {
    const sheet = await to(app, "Spinning");
    await sheet.unfold("Picture of the spin");
    await app.page.locator("#spin-picture").waitFor();
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  "Product, counted": async (app) => {
    const sheet = await to(app, "Product");
    await sheet.choose("Sample before the analyser", "Undiluted");
    await sheet.typeAll({ product_actual: "4", reading_1: "924" });
    await sheet.press("Product collected");
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  "Product, more platelets than were drawn": async (app) => {
    const sheet = await to(app, "Product");
    await sheet.choose("Sample before the analyser", "Undiluted");
    await sheet.typeAll({ product_actual: "4", reading_1: "2100" });
  },
  Later: async (app) => {
    const sheet = await to(app, "Later");
    await sheet.choose("Sample before the analyser", "Diluted");
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  Records: async (app) => {
    await app.place("Records");
  },
  "Log and lots": async (app) => {
    await app.place("Records");
    await app.records.log();
    await unfoldAll(app.page, (summary) => app.hand.press(summary));
  },
  "Quality charts": async (app) => {
    await app.place("Records");
    await app.records.quality();
    await app.records.tick("Show the demo history");
    await app.records.type("recall-lot", "AC-2291");
    for (const fold of ["All counts on the chart", "By lot, technician or rotor", "Against haematocrit", "Where the limits", "Which rules"]) {
      await app.records.unfold(fold);
    }
    for (const table of await app.page.locator("main details details > summary").all()) await app.hand.press(table);
    await app.records.count(52);
  },
  Bench: async (app) => {
    await app.place("Bench");
    for (const name of ["Clinic", "Limits on a draw", "Analyser", TUBE, SWING_OUT, DOUBLE_SPIN]) await app.bench.openItem(name);
  },
};
