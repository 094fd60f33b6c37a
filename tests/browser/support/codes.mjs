// Codes on paper: printed, rasterised at 150 dpi and read by a decoder that knows nothing of this program.
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

const DECODE = fileURLToPath(new URL("decode.py", import.meta.url));

/** The codes on the page as it prints, and its PDF where `keep` says. */
export async function printedCodes(page, format, keep) {
  writeFileSync(keep, await page.pdf({ format, printBackground: false, preferCSSPageSize: false }));
  return JSON.parse(execFileSync(process.env.STRAWLINE_PYTHON, [DECODE, keep], { encoding: "utf8" }));
}

/** Types what a reader would into Records, and looks. */
export async function look(app, text) {
  const field = app.page.locator("#card-code");
  if (!(await field.isVisible())) await app.page.locator("summary", { hasText: "Read a card’s code" }).click();
  await field.fill(text);
  await app.press("Look what it holds");
  return app.page.locator("#card-code-read");
}
