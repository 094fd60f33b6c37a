// What comes out of the printer.
import { extractText, getDocumentProxy } from "unpdf";

/** Prints the page and reads it back: how many pages, and the text of each. */
export async function print(page, format) {
  const bytes = await page.pdf({ format, printBackground: false, preferCSSPageSize: false });
  const document = await getDocumentProxy(new Uint8Array(bytes), { verbosity: 0 });
  const { totalPages, text } = await extractText(document, { mergePages: false });
  // Runs of white space, no-break spaces among them, are one space: where a line breaks is the printer's affair.
  return { pages: totalPages, text: text.map((one) => one.replace(/\s+/gu, " ")).join("\f") };
}
