// The artefact that ships, driven as a person would. `cargo xtask test browser` serves dist/ and sets
// STRAWLINE_URL (dist/ over http), STRAWLINE_FILE (the single file) and CHROMIUM.
import { defineConfig } from "@playwright/test";

const { STRAWLINE_URL, CHROMIUM, STRAWLINE_LONG } = process.env;
if (!STRAWLINE_URL || !CHROMIUM) throw new Error("run the browser tests by `cargo xtask test browser`");

// Every test runs on the tablet; those tagged @everywhere on the other screens too. The long run takes all everywhere.
const elsewhere = STRAWLINE_LONG ? /(?:)/ : /@everywhere/;

export default defineConfig({
  testDir: "specs",
  outputDir: "../../target/browser",
  fullyParallel: true,
  workers: 2,
  retries: 0,
  forbidOnly: true,
  timeout: 60_000,
  expect: { timeout: 5_000 },
  reporter: [["list"]],
  use: {
    baseURL: STRAWLINE_URL,
    actionTimeout: 8_000,
    locale: "en-GB",
    // An hour or two from UTC: a time shown in UTC would be noticed.
    timezoneId: "Europe/Madrid",
    screenshot: "only-on-failure",
    launchOptions: { executablePath: CHROMIUM, args: ["--disable-gpu", "--disable-background-networking"] },
  },
  projects: [
    { name: "tablet", use: { viewport: { width: 1180, height: 820 }, hasTouch: true } },
    {
      name: "phone",
      grep: elsewhere,
      use: { viewport: { width: 360, height: 800 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2 },
    },
    { name: "desktop", grep: elsewhere, use: { viewport: { width: 1440, height: 900 } } },
  ],
});
