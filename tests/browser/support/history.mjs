// A clinic's history: signed records as the page itself would have stored them, one a day.
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
    const record = JSON.parse(text);
    const { draft } = record.signed;
    // A day later each: what has a time moves along.
    const later = (i + 1) * DAY;
    for (const [key, at] of Object.entries(draft.times)) if (typeof at === "number") draft.times[key] = at + later;
    draft.begun += later;
    record.signed.at += later;
    // The clinic's own: a demo teaches nothing.
    draft.demo = false;
    draft.texts.reading_1 = String(reading);
    draft.choices.product_tube = "plain";
    Object.assign(draft.texts, change(i));
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
