// Records: open cases, those waiting for counts, signed ones.
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

  get waiting() {
    return this.section("Waiting for counts").locator(".field");
  }
}
