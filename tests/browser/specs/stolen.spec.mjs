// What lies in the browser's own files when the device is taken away: its whole profile, read byte by byte after the
// browser has ended. Control: without a passphrase the same search finds the patient.
import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "@playwright/test";
import { expect, test } from "../strawline.mjs";
import { Touch } from "../support/hand.mjs";
import { signed } from "../support/scenario.mjs";
import { Strawline } from "../pages/strawline.mjs";

const FILE = pathToFileURL(process.env.STRAWLINE_FILE).href;
const PHRASE = "straw and garnet";
/** Patient, site, prescriber, birth date; nothing that the page itself holds. */
const PATIENT = ["HL-77310", "distal third", "5 Sep 1983"];

function* files(folder) {
  for (const name of readdirSync(folder)) {
    const path = join(folder, name);
    const is = statSync(path, { throwIfNoEntry: false });
    if (is?.isDirectory()) yield* files(path);
    else if (is?.isFile()) yield path;
  }
}

/** Where in a profile a text of the patient lies, as UTF-8 or UTF-16. */
function found(profile) {
  const wanted = PATIENT.flatMap((text) => [Buffer.from(text, "utf8"), Buffer.from(text, "utf16le")]);
  return [...files(profile)].filter((path) => {
    const bytes = readFileSync(path);
    return wanted.some((text) => bytes.includes(text));
  }).map((path) => path.slice(profile.length));
}

/** The scenario, with a patient whom the page's own demo does not name. */
async function made(app) {
  const demo = app.demo.bind(app);
  app.demo = async () => {
    const sheet = await demo();
    await sheet.typeAll({ patient_reference: "HL-77310", second_identifier: "5 Sep 1983", site: "patellar tendon, distal third" });
    return sheet;
  };
  await signed(app);
  await app.place("Records");
  await app.press("New case");
  await app.worksheet.type("site", "patellar tendon, distal third");
  await app.draftSaved();
}

/** A browser with a profile on disk that does something and ends. */
async function lived(profile, act) {
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: process.env.CHROMIUM,
    args: ["--disable-gpu", "--disable-background-networking"],
    viewport: { width: 1180, height: 820 },
    hasTouch: true,
    timezoneId: "Europe/Madrid",
    locale: "en-GB",
  });
  const page = context.pages()[0] ?? (await context.newPage());
  await page.clock.setFixedTime(new Date("2026-03-12T10:31:00+01:00"));
  await act(new Strawline(page, new Touch(page)), page);
  await context.close();
}

async function close(app, page) {
  await app.place("Bench");
  await app.typeAll({ passphrase: PHRASE, "passphrase-again": PHRASE });
  await app.press("Close cases and records");
  await expect(page.locator(".note b.id")).toBeVisible();
}

for (const [place, address] of [["a host", process.env.STRAWLINE_URL], ["the single file", FILE]]) {
  test(`from ${place}: closed before the first patient, the profile tells nothing of any`, async ({}, info) => {
    test.setTimeout(180_000);
    const profile = info.outputPath("closed");
    await lived(profile, async (app, page) => {
      await app.open(address);
      await close(app, page);
      // The scenario's minutes pass unattended: each time the page locks itself.
      const setTime = app.setTime.bind(app);
      app.setTime = async (time) => {
        await setTime(time);
        // A touch that comes too late locks it at once.
        await page.keyboard.press("Shift");
        if (!(await page.getByRole("heading", { name: "Locked" }).isVisible())) return;
        await app.type("unlock", PHRASE);
        await app.press("Open");
        await expect(page.getByRole("heading", { name: "Locked" })).toBeHidden();
        await app.place("Worksheet");
      };
      app.open = () => app.place("Worksheet");
      await made(app);
    });
    expect(found(profile)).toEqual([]);
  });
}

test("control: without a passphrase the same search finds the patient", async ({}, info) => {
  test.setTimeout(180_000);
  const profile = info.outputPath("clear");
  await lived(profile, async (app) => {
    await app.open(process.env.STRAWLINE_URL);
    await made(app);
  });
  expect(found(profile)).not.toEqual([]);
});

test("closed later: what was stored before may stay in the browser's files, and the page says so first", async ({}, info) => {
  test.setTimeout(180_000);
  const profile = info.outputPath("later");
  await lived(profile, async (app, page) => {
    await app.open(process.env.STRAWLINE_URL);
    await made(app);
    await app.place("Bench");
    await expect(page.getByText("What was stored in clear before may stay in the browser’s own files until it tidies them.")).toBeVisible();
    await close(app, page);
  });
  console.log(`closed later, files that still hold a text of before: ${found(profile).join(", ") || "none"}`);
});
