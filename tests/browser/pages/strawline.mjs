// The page as a whole: opening it, its places, the first screen.
import { expect } from "@playwright/test";
import { Bench } from "./bench.mjs";
import { Records } from "./records.mjs";
import { Screen } from "./screen.mjs";
import { Worksheet } from "./worksheet.mjs";

export class Strawline extends Screen {
  constructor(page, hand) {
    super(page, hand);
    this.worksheet = new Worksheet(page, hand);
    this.bench = new Bench(page, hand);
    this.records = new Records(page, hand);
  }

  /** Where the page is opened, but for a test that names an address. */
  home = "./";

  async open(address = this.home) {
    await this.page.goto(address);
    await this.ready();
  }

  async reload() {
    await this.page.reload();
    await this.ready();
  }

  /** The static shell has given way to the page. */
  async ready() {
    await expect(this.page.locator("#app .page")).toBeVisible();
  }

  /** Goes to a place by its name in the header, or at the foot on a phone. */
  async place(name) {
    const link = this.page.getByRole("navigation", { name: "Places" }).getByRole("link", { name, exact: true });
    await this.hand.press(link.filter({ visible: true }).first());
  }

  async newCase() {
    await this.press("New case");
    await this.worksheet.on("Order");
    return this.worksheet;
  }

  async demo() {
    await this.press("Open the demo");
    await this.worksheet.on("Order");
    return this.worksheet;
  }

  /** Until the browser holds a complete copy. */
  async offlineReady() {
    await expect(this.page.locator("html")).toHaveAttribute("data-offline", "ready", { timeout: 15_000 });
  }

  /** Until the last change is stored. */
  async draftSaved() {
    await expect(this.page.locator("html")).toHaveAttribute("data-draft", "saved");
  }

  async setTime(time) {
    await this.page.clock.setFixedTime(new Date(time));
  }

  /** Until the page's own second has passed, and what hangs on the time has followed. */
  async tick() {
    await this.page.waitForTimeout(1_100);
  }
}
