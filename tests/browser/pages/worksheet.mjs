// The worksheet of one case, stage by stage.
import { expect } from "@playwright/test";
import { Screen } from "./screen.mjs";

export class Worksheet extends Screen {
  /** Goes to a stage by its name above the work. */
  async stage(name) {
    const button = this.page.getByRole("navigation", { name: "Stages" }).getByRole("button", { name, exact: true });
    await this.hand.press(button.first());
    await this.on(name);
  }

  async on(stage) {
    await expect(this.page.getByRole("heading", { level: 1, name: stage, exact: true })).toBeAttached();
  }

  get answer() {
    return this.page.getByRole("region", { name: "Answer", exact: true });
  }

  get ledger() {
    return this.page.getByRole("region", { name: "Where every millilitre went" });
  }

  get clocks() {
    return this.page.locator(".clocks");
  }

  get saved() {
    return this.page.locator(".stages .saved");
  }

  /** Takes the step that is next; it says what is still open and goes nowhere while a Stop holds it. */
  async next(step) {
    await this.take(this.page.locator("button.next", { hasText: step }));
  }

  /** Until what came of the last step was read: nobody does within half a second, and the page takes a tap sooner for
   * the second half of the last one. */
  async rest() {
    await this.page.waitForTimeout(Math.max(0, (this.stepped ?? 0) + 600 - Date.now()));
  }

  /** Takes a step by its button, once it was read. */
  async take(button) {
    await this.rest();
    await this.hand.press(button.first());
    this.stepped = Date.now();
  }

  stop(words) {
    return this.page.locator(".stops .finding", { hasText: words });
  }

  /** Acknowledges the cautions of a stage, all at once. */
  async seen() {
    await this.press("Seen");
  }

  /** The prescriber decides a Stop and says why. */
  async decide(words, by, reason) {
    const stop = this.stop(words).first();
    const [name, why] = [stop.getByLabel("Prescriber’s name"), stop.getByLabel("Reason given")];
    await this.hand.type(name, by);
    await this.hand.type(why, reason);
    await this.hand.press(stop.getByRole("button", { name: "Go on, as decided" }));
  }

  /** The row of a table by its head. */
  row(head) {
    return this.page.locator(".page tr", { has: this.page.getByRole("rowheader", { name: head }) });
  }

  /** What went wrong, in which container; leaves the dialog open at what to do now. */
  async trouble(what, container) {
    const dialog = this.page.getByRole("dialog");
    await this.hand.press(this.page.getByRole("button", { name: /other trouble|Something went wrong/ }).first());
    await this.hand.press(dialog.getByRole("button", { name: what, exact: true }));
    if (container) await this.hand.press(dialog.getByRole("button", { name: container, exact: true }));
    return dialog;
  }

  async backToWork() {
    await this.hand.press(this.page.getByRole("dialog").getByRole("button", { name: "Back to the work" }));
    await expect(this.page.getByRole("dialog")).toBeHidden();
  }
}
