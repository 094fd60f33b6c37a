// One Bundle a line in; for each that is no valid FHIR R4, a line with its number and why. Code 1 if there was one.
import { createInterface } from "node:readline";
import fhir from "fhir";

const validator = new fhir.Fhir();
const check = (resource) => validator.validate(resource, { errorOnUnexpected: true });
let line = 0;
let invalid = 0;
for await (const text of createInterface({ input: process.stdin })) {
  const bundle = JSON.parse(text);
  const found = [check(bundle), ...bundle.entry.map((e) => check(e.resource))];
  const messages = found.flatMap((f) => f.messages.filter((m) => m.severity === "error" || m.severity === "fatal"));
  if (messages.length > 0 || found.some((f) => !f.valid)) {
    invalid += 1;
    console.log(line, JSON.stringify(messages.slice(0, 5)));
  }
  line += 1;
}
console.log(`${line} bundles, ${invalid} invalid`);
process.exitCode = invalid > 0 ? 1 : 0;
