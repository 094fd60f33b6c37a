// What every test starts from: a watch over the browser, a hand, and the page.
import { test as base, expect } from "@playwright/test";
import { Host } from "./support/host.mjs";
import { Keys, Mouse, Touch } from "./support/hand.mjs";
import { Watch } from "./support/watch.mjs";
import { Strawline } from "./pages/strawline.mjs";

export { expect };

/** The scenario's day, and the minute the case is begun. */
export const DAY = "2026-03-12T10:31:00+01:00";

export const test = base.extend({
  /** "hand" is what the screen is made for; "keys" the keyboard alone. */
  by: ["hand", { option: true }],

  watch: [
    async ({ context, baseURL }, use) => {
      const watch = new Watch([new URL(baseURL).origin]);
      await watch.over(context);
      await use(watch);
      expect(watch.faults, "errors, breaches of the policy and foreign requests").toEqual([]);
    },
    { auto: true },
  ],

  hand: async ({ page, by, hasTouch }, use) => {
    await use(by === "keys" ? new Keys(page) : hasTouch ? new Touch(page) : new Mouse(page));
  },

  /** The page, its clock at the scenario's minute; each test opens it. */
  app: async ({ page, hand }, use) => {
    await page.clock.setFixedTime(new Date(DAY));
    // The browser's own print would go on beside the test's.
    await page.addInitScript(() => { window.print = () => {}; });
    await use(new Strawline(page, hand));
  },

  /** A host that a test may stop and update. */
  host: async ({ watch }, use, testInfo) => {
    const host = await Host.start(testInfo.outputPath("host"));
    watch.origins.push(new URL(host.url).origin);
    await use(host);
    await host.stop().catch(() => {});
  },
});
