/** Whoever and whatever the scenario names, in words long enough, or with a letter, that closed texts never hold by chance. */
export const TELLING = /HL-0417|patellar|Reyes-|Aug 1982|blood_count|into the tendon/;

/** Everything that this page has stored, as one text. */
export const kept = (page) =>
  page.evaluate(async () => {
    const all = { ...localStorage };
    for (const { name } of await indexedDB.databases()) {
      const database = await new Promise((done, fail) => {
        const open = indexedDB.open(name);
        open.onsuccess = () => done(open.result);
        open.onerror = () => fail(open.error);
      });
      for (const store of database.objectStoreNames) {
        all[`${name}.${store}`] = await new Promise((done) => {
          const get = database.transaction(store).objectStore(store).getAll();
          get.onsuccess = () => done(get.result);
        });
      }
      database.close();
    }
    return JSON.stringify(all);
  });
