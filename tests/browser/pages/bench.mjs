// Bench: what the clinic owns and has decided.
import { expect } from "@playwright/test";
import { Screen } from "./screen.mjs";

export class Bench extends Screen {
  /** Opens a group of which there is one, or an entry of a list, by its name. */
  async openItem(name) {
    await this.unfold(name);
  }

  /** An entry by its label, within the opened item. */
  entry(item, label) {
    return this.page.locator("details.item", { has: this.page.locator("summary", { hasText: item }) })
      .getByLabel(label, { exact: true });
  }

  /** Types into an entry; it is read when it is left. */
  async enter(item, label, text) {
    const input = this.entry(item, label);
    await this.hand.type(input, text);
    await this.page.keyboard.press("Tab");
    await expect(input).not.toBeFocused();
  }

  async language(words) {
    await this.pick("Language", words);
  }

  async theme(words) {
    await this.pick("Light or dark", words);
  }
}
