// A clinic's history: signed records as the page stored them before they had seals, one a day; and very many of them,
// each with its line, as the page stores them today.
import { storedRecord } from "./tabs.mjs";

const DAY = 86_400_000;

/**
 * Makes further records of the one that is signed: each with a key, a day, a reading and a lot of its own. They are
 * put where the page keeps its records; the page reads them at its next start.
 */
export async function multiply(page, readings, change = () => ({})) {
  const first = await storedRecord(page);
  const records = readings.map((reading, i) => {
    const text = JSON.stringify(first).replaceAll(first.id, `${first.id}-${i}`);
    // A day later each: every moment moves along, and nothing else is so large a number.
    const { seals, ...record } = JSON.parse(text, (_, one) => (typeof one === "number" && one > 1e12 ? one + (i + 1) * DAY : one));
    record.schema = 1;
    delete record.signed.findings;
    delete record.signed.card;
    const { draft } = record.signed;
    // The clinic's own: a demo teaches nothing.
    draft.demo = false;
    draft.texts.reading_1 = String(reading);
    draft.choices.product_tube = "plain";
    for (const { texts } of [draft, ...(draft.hand_overs ?? [])]) Object.assign(texts, change(i));
    return [`strawline.record.${record.id}`, JSON.stringify(record)];
  });
  await page.evaluate((records) => new Promise((done, fail) => {
    const open = indexedDB.open("strawline");
    open.onerror = () => fail(open.error);
    open.onsuccess = () => {
      const write = open.result.transaction("texts", "readwrite");
      for (const [key, text] of records) write.objectStore("texts").put(text, key);
      write.oncomplete = () => {
        open.result.close();
        done();
      };
      write.onerror = () => fail(write.error);
    };
  }), records);
  return records.length;
}

/**
 * Puts `n` copies of the one signed record beside it, each with a key and a patient reference of its own, the state
 * before it and its line; every hundredth has the lot K-0099. Gives the letters that one takes in store.
 */
export function fill(page, n) {
  return page.evaluate((n) => new Promise((done, fail) => {
    const open = indexedDB.open("strawline");
    open.onerror = () => fail(open.error);
    open.onsuccess = async () => {
      const database = open.result;
      const one = (prefix) => new Promise((found) => {
        const range = IDBKeyRange.bound(prefix, `${prefix}\uffff`);
        const all = database.transaction("texts").objectStore("texts").getAll(range);
        all.onsuccess = () => found(all.result[0]);
      });
      const [record, line] = [await one("strawline.record."), await one("strawline.line.")];
      const { id, of, signed, use_by } = JSON.parse(line);
      const [seal] = JSON.parse(record).seals;
      const digest = async (text) => {
        const bytes = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
        return [...new Uint8Array(bytes)].map((b) => b.toString(16).padStart(2, "0")).join("");
      };
      let letters = 0;
      for (let from = 0; from < n; from += 250) {
        const some = [];
        for (let i = from; i < Math.min(n, from + 250); i += 1) {
          const mine = (text) => {
            const own = text.replaceAll(id, `${id}-${i}`).replaceAll("HL-0417", `HL-${10000 + i}`);
            return i % 100 === 0 ? own.replaceAll("K-0058", "K-0099") : own;
          };
          // Sealed as the page seals: over a line feed and the entry as it stands.
          const unsealed = mine(record);
          const entry = unsealed.slice(unsealed.indexOf('"signed":') + 9, unsealed.lastIndexOf(',"amendments":[]'));
          const sealed = await digest(`\n${entry}`);
          const text = unsealed.replace(seal, sealed);
          const hash = await digest(`\n${text}`);
          // An hour before the one before: of so many of one day each would still be on the page's clocks.
          const earlier = i * 3_600_000;
          const own = mine(line).replace(of, hash).replace(seal, sealed)
            .replace(`"signed":${signed}`, `"signed":${signed - earlier}`).replace(`"use_by":${use_by}`, `"use_by":${use_by - earlier}`);
          letters = 2 * text.length + own.length;
          some.push([`strawline.record.${id}-${i}`, text], [`strawline.before.${id}-${i}`, text], [`strawline.line.${id}-${i}`, own]);
        }
        const write = database.transaction("texts", "readwrite");
        for (const [key, text] of some) write.objectStore("texts").put(text, key);
        await new Promise((over) => { write.oncomplete = over; });
      }
      database.close();
      done(letters);
    };
  }), n);
}
