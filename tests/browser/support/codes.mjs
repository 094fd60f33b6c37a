// Codes on paper: printed, rasterised at 150 dpi and read by decoders that know nothing of this program.
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { inflateRawSync } from "node:zlib";

const beside = (name) => fileURLToPath(new URL(name, import.meta.url));
const python = (program, what) =>
  execFileSync(process.env.STRAWLINE_PYTHON, [beside(program), what], { encoding: "utf8", maxBuffer: 1e9 });
const PRIMER = readFileSync(new URL("../../../src/export/code/primer_1.txt", import.meta.url));
const ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

/** What each of two readers makes of the codes on the page as it prints; the PDF is kept where `keep` says. */
export async function readBoth(page, format, keep) {
  writeFileSync(keep, await page.pdf({ format, printBackground: false, preferCSSPageSize: false }));
  return JSON.parse(python("decode.py", keep));
}

/** The codes on the page as it prints, which both read alike. */
export async function printedCodes(page, format, keep) {
  const { zxing, zbar } = await readBoth(page, format, keep);
  const texts = zxing.map((code) => code.text).sort().join("\n");
  if (zbar.sort().join("\n") !== texts) throw new Error(`zbar reads ${zbar}, zxing ${texts}`);
  return zxing;
}

/** Random stored cases, what of each a code in clear holds, and what none may tell. */
export const randomCases = (n) => python("cases.py", String(n)).trimEnd().split("\n").map((line) => JSON.parse(line));

/** Bytes of what stands in base45. */
function bytes(text) {
  const digits = [...text].map((letter) => ALPHABET.indexOf(letter));
  const all = [];
  for (let i = 0; i < digits.length; i += 3) {
    const some = digits.slice(i, i + 3);
    const number = some.reduceRight((n, digit) => n * 45 + digit, 0);
    all.push(...(some.length === 3 ? [number >> 8, number & 255] : [number]));
  }
  return Buffer.from(all);
}

/** What stands in codes in clear, taken apart as anybody can: by the guide, and without this program. */
export function inside(texts) {
  const all = Buffer.concat(texts.toSorted().map((text) => bytes(text.split(/^SL3:\d\d:/)[1].slice(0, -1))));
  if (all[0] !== 0) throw new Error("closed");
  return inflateRawSync(all.subarray(1, -4), { dictionary: PRIMER }).toString();
}

/** Types what a reader would into Records, and looks. */
export async function look(app, text) {
  const field = app.page.locator("#card-code");
  if (!(await field.isVisible())) await app.page.locator("summary", { hasText: "Read a card’s code" }).click();
  await field.fill(text);
  await app.press("Look what it holds");
  return app.page.locator("#card-code-read");
}
