// How a person reaches a control: a finger, or the keyboard alone. Page objects know no other way.
import { expect } from "@playwright/test";

/** A finger: taps, and types what the screen's keyboard would. */
export class Touch {
  constructor(page) {
    this.page = page;
  }
  async press(control) {
    await this.#tap(control);
  }
  async choose(radio) {
    // The finger meets the part's words; the round button itself is not drawn.
    await this.#tap(radio.locator("xpath=ancestor::label"));
  }
  async enter(input) {
    await this.#tap(input);
  }

  /** Two taps in one place within a third of a second are a double tap to the browser; no finger means that. */
  async #tap(control) {
    const box = await placed(control);
    // A tap meets the middle.
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const near = this.last && Math.hypot(x - this.last.x, y - this.last.y) < 60;
    if (near) await this.page.waitForTimeout(Math.max(0, this.last.at + 400 - Date.now()));
    await control.tap();
    this.last = { x, y, at: Date.now() };
  }
}

/** A mouse, on screens without touch. */
export class Mouse {
  constructor(page) {
    this.page = page;
  }
  async press(control) {
    await control.click();
  }
  async choose(radio) {
    await radio.locator("xpath=ancestor::label").click();
  }
  async enter(input) {
    await input.click();
  }
}

/** The keyboard: Tab until the control has it, then Enter, Space or arrows. Never a script's focus(). */
export class Keys {
  constructor(page) {
    this.page = page;
  }

  /** Tabs to a control, forwards or backwards by where it stands. */
  async reach(control) {
    await control.waitFor();
    const way = () => control.evaluate((wanted) => {
      const here = document.activeElement;
      if (here === wanted) return "here";
      if (!here || here === document.body) return "Tab";
      return here.compareDocumentPosition(wanted) & Node.DOCUMENT_POSITION_PRECEDING ? "Shift+Tab" : "Tab";
    });
    for (let steps = 0; steps < 400; steps += 1) {
      const key = await way();
      if (key === "here") return;
      await this.page.keyboard.press(key);
    }
    throw new Error(`the keyboard cannot reach ${control}`);
  }

  async press(control) {
    await this.reach(control);
    // A box is ticked and a button pressed by Space; a link and a summary follow Enter.
    const key = await control.evaluate((element) => (element.matches("a, summary") ? "Enter" : "Space"));
    await this.page.keyboard.press(key);
  }

  async choose(radio) {
    // The keyboard enters a group at its chosen part, or its first, and moves within it by arrows.
    const group = await radio.evaluate((wanted) => {
      const all = [...document.querySelectorAll(`input[type=radio][name="${wanted.name}"]`)];
      const entry = all.findIndex((one) => one.checked);
      return { entry: Math.max(entry, 0), wanted: all.indexOf(wanted), chosen: entry >= 0 };
    });
    const name = await radio.getAttribute("name");
    const all = this.page.locator(`input[type=radio][name="${name}"]`);
    await this.reach(all.nth(group.entry));
    const key = group.wanted > group.entry ? "ArrowDown" : "ArrowUp";
    for (let at = group.entry; at !== group.wanted; at += Math.sign(group.wanted - group.entry)) {
      await this.page.keyboard.press(key);
    }
    if (!group.chosen && group.wanted === group.entry) await this.page.keyboard.press("Space");
  }

  async enter(input) {
    await this.reach(input);
  }
}

for (const Hand of [Touch, Mouse, Keys]) {
  /** Replaces what stands in an input, key by key. */
  Hand.prototype.type = async function type(input, text) {
    await this.enter(input);
    await expect(input).toBeFocused();
    if (await input.inputValue()) await this.page.keyboard.press("Control+A");
    await this.page.keyboard.type(text);
    await expect(input).toHaveValue(text);
  };
  /** Chooses from a list by its words. */
  Hand.prototype.pick = async function pick(select, words) {
    if (this instanceof Keys) {
      await this.reach(select);
      await this.page.keyboard.type(words);
    } else {
      await select.selectOption({ label: words });
    }
    await expect(select.locator("option:checked")).toHaveText(words);
  };
}

/** Where a control stands, in view. A view drawn anew meanwhile is looked for again, as an eye would. */
async function placed(control) {
  for (let tries = 0; tries < 5; tries += 1) {
    try {
      await control.scrollIntoViewIfNeeded();
      const box = await control.boundingBox();
      if (box) return box;
    } catch (error) {
      if (!/not attached/.test(error.message)) throw error;
    }
  }
  throw new Error("the control does not stay in the page");
}
