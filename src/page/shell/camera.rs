//! The camera, to read the code of a label: one picture after another is asked for codes by the browser's own
//! detector; none is kept. It is let go when a code was read, at a tap, after a minute, and when its preview is out
//! of sight for whatever reason.

use super::{focus, typing};
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
/// Looks after which it is closed: a minute.
const LOOKS: u32 = 300;
/// Letters of a code at most, as many as its field takes.
const LONGEST: usize = 200;

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
    close(None);
    let number = OPENING.get();
    OPEN.set(Some((seen, None)));
    seen.set((true, Some(CameraSays::Opening)));
    spawn_local(async move {
        let Some(video) = preview.get::<HtmlElement>() else { return };
        let said = match look(number, &video, seen).await {
            Ok(Some(text)) => {
                close(None);
                typing::typed(sheet, field, text);
                typing::settle();
                focus::first(&format!("#{field}"));
                return;
            }
            Ok(None) => CameraSays::Nothing,
            Err(error) => {
                let name = Reflect::get(&error, &"name".into()).ok().and_then(|n| n.as_string());
                match name.as_deref() {
                    Some("NotAllowedError" | "SecurityError") => CameraSays::Denied,
                    Some("NotFoundError" | "OverconstrainedError") => CameraSays::None,
                    Some("NotSupportedError") => CameraSays::NoSymbols,
                    _ => {
                        leptos::logging::warn!("{error:?}");
                        CameraSays::Failed
                    }
                }
            }
        };
        if OPENING.get() == number {
            close(Some(said));
        }
    });
}

/// Closes it and says why, or nothing.
pub fn close(said: Option<CameraSays>) {
    OPENING.set(OPENING.get().wrapping_add(1));
    if let Some((seen, stream)) = OPEN.take() {
        if let Some(stream) = stream {
            stop(&stream);
        }
        // The view that showed it may be gone.
        let _gone = seen.try_set((false, said));
    }
}

/// The text of the first code in sight; `None` where none came in a minute, or nobody waits for it any more. Errors:
/// what the browser threw.
async fn look(number: u32, video: &HtmlElement, seen: Seen) -> Result<Option<String>, JsValue> {
    let detector = detector().await?;
    let wanted = object(&[("facingMode", "environment".into())])?;
    let wanted = object(&[("video", wanted), ("audio", false.into())])?;
    let devices = Reflect::get(&window().navigator(), &"mediaDevices".into())?;
    let stream = answer(call(&devices, "getUserMedia", Some(&wanted))?).await?;
    if OPENING.get() != number {
        stop(&stream);
        return Ok(None);
    }
    OPEN.set(Some((seen, Some(stream.clone()))));
    Reflect::set(video, &"srcObject".into(), &stream)?;
    answer(call(video, "play", None)?).await?;
    seen.set((true, Some(CameraSays::Looking)));
    for _ in 0..LOOKS {
        // Out of sight: another stage, another place, another window, a locked page.
        if OPENING.get() != number || document().hidden() || video.get_client_rects().length() == 0 {
            if OPENING.get() == number {
                close(None);
            }
            return Ok(None);
        }
        let found = answer(call(&detector, "detect", Some(video))?).await?;
        let texts: Vec<String> = Array::from(&found)
            .iter()
            .filter_map(|code| Reflect::get(&code, &"rawValue".into()).ok()?.as_string())
            .filter(|text| !text.trim().is_empty())
            .collect();
        if OPENING.get() != number {
            return Ok(None);
        }
        if let Some(text) = texts.first() {
            // One code may be found twice.
            if texts.iter().all(|other| other == text) {
                return Ok(Some(text.chars().take(LONGEST).collect()));
            }
            let _gone = seen.try_set((true, Some(CameraSays::Several)));
        }
        pause().await?;
    }
    Ok(None)
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
