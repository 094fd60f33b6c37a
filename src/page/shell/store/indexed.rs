//! IndexedDB, one table of texts by key.
//!
//! A transaction ends by itself as soon as the page waits for anything else: each method asks for all it needs in
//! one burst, or asks on where an answer arrives, then waits for the transaction.

use super::fault;
use js_sys::{Array, Function, Object, Promise, Reflect};
use std::cell::RefCell;
use std::rc::Rc;
use strawline::record::store::{Batch, Expected, Store, StoreError};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{IdbDatabase, IdbKeyRange, IdbObjectStore, IdbRequest, IdbTransaction};

const DATABASE: &str = "strawline";
const VERSION: u32 = 1;
const TABLE: &str = "texts";

/// The open database. A clone is the same.
#[derive(Debug, Clone)]
pub struct Indexed(Rc<RefCell<IdbDatabase>>);

impl Indexed {
    /// Opens it, and makes it the first time. Errors: blocked, or made by a newer version.
    pub async fn open() -> Result<Self, StoreError> {
        Ok(Self(Rc::new(RefCell::new(connect().await?))))
    }

    /// Begins a transaction. A browser may drop the connection of a page left in the background: then it is
    /// opened anew.
    async fn begin(&self, mode: &str) -> Result<(IdbTransaction, IdbObjectStore), StoreError> {
        let database = self.0.borrow().clone();
        if let Ok(begun) = transaction(&database, mode) {
            return Ok(begun);
        }
        let database = connect().await?;
        self.0.replace(database.clone());
        transaction(&database, mode).map_err(|thrown| fault(&thrown))
    }
}

impl Store for Indexed {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        let (transaction, table) = self.begin("readonly").await?;
        let asked: Result<Vec<IdbRequest>, JsValue> =
            keys.iter().map(|&key| table.get(&key.into())).collect();
        let asked = asked.map_err(|thrown| fault(&thrown))?;
        end(&transaction).await?;
        let found = |request: &IdbRequest| {
            let found = request.result().map_err(|thrown| fault(&thrown))?;
            Ok((!found.is_undefined()).then(|| text(&found)))
        };
        asked.iter().map(found).collect()
    }

    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        let (transaction, table) = self.begin("readonly").await?;
        let ask = || {
            let range = range(prefix)?;
            Ok((table.get_all_keys_with_key(&range)?, table.get_all_with_key(&range)?))
        };
        let (keys, texts) = ask().map_err(|thrown: JsValue| fault(&thrown))?;
        end(&transaction).await?;
        let keys = Array::from(&keys.result().map_err(|thrown| fault(&thrown))?);
        let texts = Array::from(&texts.result().map_err(|thrown| fault(&thrown))?);
        Ok(keys.iter().map(|key| text(&key)).zip(texts.iter().map(|found| text(&found))).collect())
    }

    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        let (transaction, table) = self.begin("readonly").await?;
        let keys =
            range(prefix).and_then(|r| table.get_all_keys_with_key(&r)).map_err(|thrown| fault(&thrown))?;
        end(&transaction).await?;
        let keys = Array::from(&keys.result().map_err(|thrown| fault(&thrown))?);
        Ok(keys.iter().map(|key| text(&key)).collect())
    }

    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        let (transaction, table) = self.begin("readwrite").await?;
        if let Err(thrown) = put(&table, &batch) {
            // What was asked for before would be kept without the rest.
            transaction.abort().map_err(|thrown| fault(&thrown))?;
            return Err(fault(&thrown));
        }
        end(&transaction).await
    }

    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        let (transaction, table) = self.begin("readwrite").await?;
        let ask =
            |&(key, text): &(&str, Option<&str>)| Ok((table.get(&key.into())?, text.map(str::to_owned)));
        let asked: Result<Vec<(IdbRequest, Option<String>)>, JsValue> = expected.iter().map(ask).collect();
        let asked = asked.map_err(|thrown| fault(&thrown))?;
        // They are answered in the order they were asked for.
        let Some(last) = asked.last().map(|(request, _)| request.clone()) else {
            return self.write_all(batch).await.map(|()| true);
        };
        let outcome = Rc::new(RefCell::new(Ok(false)));
        let act = {
            let (transaction, outcome) = (transaction.clone(), outcome.clone());
            let act = move || {
                for (request, expected) in &asked {
                    let found = request.result()?;
                    let same = match expected {
                        None => found.is_undefined(),
                        Some(text) => found.as_string().as_ref() == Some(text),
                    };
                    if !same {
                        return Ok(false);
                    }
                }
                put(&table, &batch)?;
                Ok(true)
            };
            Closure::once(move || {
                let done: Result<bool, JsValue> = act();
                if done.is_err() {
                    // Nothing may be kept; if even this throws, the browser has ended it already.
                    transaction.abort().unwrap_or_default();
                }
                *outcome.borrow_mut() = done;
            })
        };
        last.set_onsuccess(Some(act.as_ref().unchecked_ref()));
        let ended = end(&transaction).await;
        let done = outcome.replace(Ok(false)).map_err(|thrown| fault(&thrown))?;
        ended.map(|()| done)
    }
}

/// Every key that begins so: none goes on with the last character there is.
fn range(prefix: &str) -> Result<IdbKeyRange, JsValue> {
    IdbKeyRange::bound(&prefix.into(), &format!("{prefix}\u{ffff}").into())
}

/// Asks for all changes of a batch.
fn put(table: &IdbObjectStore, batch: &Batch) -> Result<(), JsValue> {
    batch.iter().try_for_each(|(key, text)| {
        match text {
            Some(text) => table.put_with_key(&text.into(), &key.into())?,
            None => table.delete(&key.into())?,
        };
        Ok(())
    })
}

/// Anything but a text was not written here; as an empty text it is listed as unreadable.
fn text(value: &JsValue) -> String {
    value.as_string().unwrap_or_default()
}

/// Through [`Reflect`]: the bindings call the third argument unstable. `strict` has the browser wait for the disk.
fn transaction(database: &IdbDatabase, mode: &str) -> Result<(IdbTransaction, IdbObjectStore), JsValue> {
    let options = Object::new();
    Reflect::set(&options, &"durability".into(), &"strict".into())?;
    let begin: Function = Reflect::get(database, &"transaction".into())?.dyn_into()?;
    let transaction: IdbTransaction =
        begin.call3(database, &TABLE.into(), &mode.into(), &options)?.dyn_into()?;
    let table = transaction.object_store(TABLE)?;
    Ok((transaction, table))
}

/// Waits until all that was asked for is on the disk, or none of it.
async fn end(transaction: &IdbTransaction) -> Result<(), StoreError> {
    let ended = Promise::new(&mut |resolve, reject| {
        transaction.set_oncomplete(Some(&resolve));
        transaction.set_onabort(Some(&reject));
    });
    match ended.await {
        Ok(_) => Ok(()),
        Err(_) => Err(transaction.error().map_or(StoreError::Unreachable, |error| fault(&error))),
    }
}

async fn connect() -> Result<IdbDatabase, StoreError> {
    let window = web_sys::window().ok_or(StoreError::Unreachable)?;
    let factory = window.indexed_db().map_err(|thrown| fault(&thrown))?.ok_or(StoreError::Unreachable)?;
    let request = factory.open_with_u32(DATABASE, VERSION).map_err(|thrown| fault(&thrown))?;
    let database = {
        let request = request.clone();
        move || request.result()?.dyn_into::<IdbDatabase>()
    };
    let make = {
        let database = database.clone();
        // A throw in here ends the opening with an error.
        Closure::once(move || database()?.create_object_store(TABLE).map(drop))
    };
    request.set_onupgradeneeded(Some(make.as_ref().unchecked_ref()));
    let opened = Promise::new(&mut |resolve, reject| {
        request.set_onsuccess(Some(&resolve));
        request.set_onerror(Some(&reject));
        request.set_onblocked(Some(&reject));
    });
    if opened.await.is_err() {
        // Blocked by another tab, it has no error yet.
        let error = request.error().ok().flatten();
        return Err(error.map_or(StoreError::Unreachable, |error| fault(&error)));
    }
    let database = database().map_err(|thrown| fault(&thrown))?;
    // Gives way to a newer version in another tab.
    let give_way = {
        let database = database.clone();
        Closure::<dyn Fn()>::new(move || database.close())
    };
    database.set_onversionchange(Some(give_way.as_ref().unchecked_ref()));
    give_way.forget();
    Ok(database)
}
