// What every screen of the page has in common: fields, choices, buttons, findings. All go through the hand.
import { expect } from "@playwright/test";

/** Words that must match from their beginning: a button may go on to say what is still open. */
const from = (words) => new RegExp(`^${words.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")}`);

export class Screen {
  constructor(page, hand) {
    this.page = page;
    this.hand = hand;
  }

  /** An entry by its key. */
  field(key) {
    return this.page.locator(`#${key}`);
  }

  async type(key, text) {
    await this.hand.type(this.field(key), text);
  }

  async typeAll(entries) {
    for (const [key, text] of Object.entries(entries)) await this.type(key, text);
  }

  /** What is said under an entry: how it was read, or why it was refused. */
  reading(key) {
    return this.page.locator(`#${key}-reading`);
  }

  /** What may have been meant, each one tap. */
  offers(key) {
    return this.page.locator(".field", { has: this.field(key) }).locator(".offer");
  }

  button(words) {
    return this.page.getByRole("button", { name: from(words) });
  }

  async press(words) {
    await this.hand.press(this.button(words).first());
  }

  /** Presses − or + beside an entry, by its label. */
  async step(label, way) {
    await this.hand.press(this.page.getByRole("button", { name: `${label}: ${way}`, exact: true }));
  }

  choice(group, part) {
    return this.page.getByRole("group", { name: group, exact: true }).getByRole("radio", { name: part, exact: true });
  }

  async choose(group, part) {
    const radio = this.choice(group, part);
    await this.hand.choose(radio);
    await expect(radio).toBeChecked();
  }

  async pick(label, words) {
    await this.hand.pick(this.page.getByRole("combobox", { name: label, exact: true }), words);
  }

  async tick(words) {
    const box = this.page.getByRole("checkbox", { name: from(words) });
    await this.hand.press(box);
    await expect(box).toBeChecked();
  }

  /** Opens what is folded away. */
  async unfold(words) {
    const summary = this.page.locator("summary", { hasText: words }).first();
    if (!(await summary.evaluate((element) => element.parentElement.open))) await this.hand.press(summary);
  }

  /** A number that opens, by the key of its working; and the working. */
  opens(key) {
    return this.page.locator(`[aria-controls="${key}"]`);
  }

  working(key) {
    return this.page.locator(`section#${key}`);
  }

  finding(words) {
    return this.page.locator(".page .finding", { hasText: words });
  }

  get banner() {
    return this.page.locator(".banner");
  }

  /** The quiet word at the foot, once the browser holds a complete copy. */
  get offline() {
    return this.page.locator(".foot").getByText("Ready for use without a network.");
  }

  get sign() {
    return this.page.locator(".head > .sign");
  }
}
