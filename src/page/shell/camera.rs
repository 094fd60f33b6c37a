//! The camera, to read the code of a label: one picture after another is asked for codes by the browser's own
//! detector; none is kept. It is let go when the code of a label was read, at a tap, after a minute, and when its preview is out
//! of sight for whatever reason.

use super::{clock, focus, typing};
use crate::dom::prelude::*;
use crate::state::Sheet;
use js_sys::{Array, Function, Object, Promise, Reflect};
use leptos::task::spawn_local;
use std::cell::{Cell, RefCell};
use std::time::Duration;
use strawline::draft::Field;
use strawline::words::scan::CameraSays;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::HtmlElement;

/// The symbols that labels carry lot and expiry in.
const SYMBOLS: [&str; 3] = ["data_matrix", "code_128", "qr_code"];
/// Between two looks.
const EVERY: Duration = Duration::from_millis(200);
/// Time after which it is closed [ms]: a minute.
const LONGEST: f64 = 60_000.0;

/// Whether it is open, and what is said of it.
pub type Seen = RwSignal<(bool, Option<CameraSays>)>;

thread_local! {
    /// Number of the last opening; what began under an older one goes no further.
    static OPENING: Cell<u32> = const { Cell::new(0) };
    static OPEN: RefCell<Option<(Seen, Option<JsValue>)>> = const { RefCell::new(None) };
}

/// Whether this browser can read codes from a camera at this address; otherwise what is said instead.
pub fn here() -> Result<(), CameraSays> {
    let has = |of: &JsValue, name: &str| Reflect::get(of, &name.into()).is_ok_and(|v| !v.is_undefined());
    if !window().is_secure_context() {
        return Err(CameraSays::Insecure);
    }
    let both = has(&window(), "BarcodeDetector") && has(&window().navigator(), "mediaDevices");
    if both { Ok(()) } else { Err(CameraSays::Absent) }
}

/// Opens it for a field; what it reads goes the way of a scanner's keys. One that is open elsewhere is closed.
pub fn open(sheet: Sheet, field: Field, seen: Seen, preview: NodeRef) {
    end(None);
    let number = OPENING.get();
    OPEN.set(Some((seen, None)));
    seen.set((true, Some(CameraSays::Opening)));
    spawn_local(async move {
        let read = match preview.get::<HtmlElement>() {
            Some(video) => look(number, &video, seen, sheet).await,
            None => Err(JsValue::NULL),
        };
        if OPENING.get() != number {
            return;
        }
        match read {
            Ok(Some(text)) => {
                end(None);
                typing::typed(sheet, field, text);
                typing::settle();
                focus::first(&format!("#{field}"));
            }
            Ok(None) => {}
            Err(error) => {
                let name = Reflect::get(&error, &"name".into()).ok().and_then(|n| n.as_string());
                end(Some(match name.as_deref() {
                    Some("NotAllowedError" | "SecurityError") => CameraSays::Denied,
                    Some("NotFoundError" | "OverconstrainedError") => CameraSays::None,
                    Some("NotSupportedError") => CameraSays::NoSymbols,
                    _ => {
                        leptos::logging::warn!("{error:?}");
                        CameraSays::Failed
                    }
                }));
            }
        }
    });
}

/// Closes it where it is open for this field.
pub fn close(of: Seen) {
    if OPEN.with_borrow(|open| open.as_ref().is_some_and(|(seen, _)| *seen == of)) {
        end(None);
    }
}

/// Closes it, wherever it is open, and says why, or nothing.
fn end(said: Option<CameraSays>) {
    OPENING.set(OPENING.get().wrapping_add(1));
    if let Some((seen, stream)) = OPEN.take() {
        if let Some(stream) = stream {
            stop(&stream);
        }
        // The view that showed it may be gone.
        let _gone = seen.try_set((false, said));
    }
}

/// Closes it after its time, and when its preview is out of sight: another stage, another place, another window, a
/// locked page. It has a timer of its own: neither the camera nor the detector need ever answer.
fn watch(number: u32, video: HtmlElement, until: f64) {
    if OPENING.get() != number {
        return;
    }
    if document().hidden() || video.get_client_rects().length() == 0 {
        return end(None);
    }
    if clock::moment() >= until {
        return end(Some(CameraSays::Nothing));
    }
    set_timeout(move || watch(number, video, until), EVERY);
}

/// The text of the first code in sight that is one of a label; `None` where nobody waits for it any more. Errors: what
/// the browser threw.
async fn look(number: u32, video: &HtmlElement, seen: Seen, sheet: Sheet) -> Result<Option<String>, JsValue> {
    let over = || OPENING.get() != number;
    let detector = detector().await?;
    let wanted = object(&[("facingMode", "environment".into())])?;
    let wanted = object(&[("video", wanted), ("audio", false.into())])?;
    let devices = Reflect::get(&window().navigator(), &"mediaDevices".into())?;
    if over() {
        return Ok(None);
    }
    let stream = answer(call(&devices, "getUserMedia", Some(&wanted))?).await?;
    if over() {
        stop(&stream);
        return Ok(None);
    }
    OPEN.set(Some((seen, Some(stream.clone()))));
    watch(number, video.clone(), clock::moment() + LONGEST);
    if over() {
        return Ok(None);
    }
    Reflect::set(video, &"srcObject".into(), &stream)?;
    answer(call(video, "play", None)?).await?;
    if over() {
        return Ok(None);
    }
    let say = |said| {
        let _gone = seen.try_set((true, Some(said)));
    };
    say(CameraSays::Looking);
    loop {
        let found = answer(call(&detector, "detect", Some(video))?).await?;
        let texts: Vec<String> = Array::from(&found)
            .iter()
            .filter_map(|code| Reflect::get(&code, &"rawValue".into()).ok()?.as_string())
            .filter(|text| !text.trim().is_empty())
            .collect();
        if over() {
            return Ok(None);
        }
        // One code may be found twice.
        match texts.first() {
            Some(text) if texts.iter().any(|other| other != text) => say(CameraSays::Several),
            Some(text) => {
                let at = clock::now().at;
                match sheet.draft.try_with_untracked(|d| d.takes_code(text, at)) {
                    Some(true) => return Ok(Some(text.clone())),
                    Some(false) => say(CameraSays::NoLot),
                    None => return Ok(None),
                }
            }
            None => {}
        }
        pause().await?;
        if over() {
            return Ok(None);
        }
    }
}

/// A detector of the symbols that both know. Errors: it knows none, or cannot be made.
async fn detector() -> Result<JsValue, JsValue> {
    let class: Function = Reflect::get(&window(), &"BarcodeDetector".into())?.dyn_into()?;
    let known = Array::from(&answer(call(&class, "getSupportedFormats", None)?).await?);
    let both: Array = SYMBOLS.iter().map(|s| JsValue::from(*s)).filter(|s| known.includes(s, 0)).collect();
    if both.length() == 0 {
        return object(&[("name", "NotSupportedError".into())]).and_then(Err);
    }
    Reflect::construct(&class, &Array::of1(&object(&[("formats", both.into())])?))
}

fn object(entries: &[(&str, JsValue)]) -> Result<JsValue, JsValue> {
    let made = Object::new();
    for (name, value) in entries {
        Reflect::set(&made, &(*name).into(), value)?;
    }
    Ok(made.into())
}

fn call(of: &JsValue, name: &str, with: Option<&JsValue>) -> Result<JsValue, JsValue> {
    let method: Function = Reflect::get(of, &name.into())?.dyn_into()?;
    match with {
        Some(with) => method.call1(of, with),
        None => method.call0(of),
    }
}

/// What a promise came to; anything else as it is.
async fn answer(promise: JsValue) -> Result<JsValue, JsValue> {
    JsFuture::from(Promise::resolve(&promise)).await
}

async fn pause() -> Result<JsValue, JsValue> {
    let done = Promise::new(&mut |resolve, _| {
        set_timeout(move || drop(resolve.call0(&JsValue::NULL)), EVERY);
    });
    JsFuture::from(done).await
}

/// Lets the camera go; its light goes out.
fn stop(stream: &JsValue) {
    let Ok(tracks) = call(stream, "getTracks", None) else { return };
    for track in Array::from(&tracks).iter() {
        drop(call(&track, "stop", None));
    }
}
