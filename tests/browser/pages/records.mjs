// Records: open cases, those waiting for counts, signed ones.
import { expect } from "@playwright/test";
import { Screen } from "./screen.mjs";

export class Records extends Screen {
  section(heading) {
    return this.page.locator("section", { has: this.page.getByRole("heading", { level: 2, name: heading }) });
  }

  /** The row of an open case by its check sign. */
  openCase(sign) {
    return this.section("Open cases").locator(".field", { hasText: sign });
  }

  get signed() {
    return this.section("Signed records").locator("tbody tr");
  }

  /** The other view of Records. */
  async quality() {
    await this.hand.press(this.page.getByRole("link", { name: "Quality charts", exact: true }));
    await expect(this.page.locator("#recall-lot")).toBeVisible();
  }

  /** What happened to equipment and lots. */
  async log() {
    await this.hand.press(this.page.getByRole("link", { name: "Log and lots", exact: true }));
    await expect(this.page.locator("#log-care")).toBeVisible();
  }

  /** The line that says how many counts are charted. */
  get counted() {
    return this.page.getByText(/^\d+ accepted counts?, /);
  }

  /** Chooses a count by its number in the table of all. */
  async count(number) {
    await this.unfold("All counts on the chart, as a table");
    const table = this.page.getByRole("region", { name: "All counts on the chart, as a table" });
    await this.hand.press(table.getByRole("button", { name: String(number), exact: true }));
  }

  /** The count chosen. */
  get point() {
    return this.page.getByRole("region", { name: "The count chosen" });
  }

  get waiting() {
    return this.section("Waiting for counts").locator(".field");
  }
}
