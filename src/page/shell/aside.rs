//! What takes too long for the page is reckoned aside: a second thread on the same module, started when it is first
//! asked. Each question has a number, and who asked may have asked again since.

use crate::dom::prelude::*;
use js_sys::{Array, Function, Reflect};
use std::cell::RefCell;
use std::collections::BTreeMap;
use strawline::spin::column::ask::{Question, Reply};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{MessageEvent, Worker};

/// What to do with an answer; `None`: there is none to be had.
trait Then {
    fn then(self: Box<Self>, reply: Option<Reply>);
}

impl<F: FnOnce(Option<Reply>)> Then for F {
    fn then(self: Box<Self>, reply: Option<Reply>) {
        self(reply);
    }
}

#[derive(Default)]
struct Aside {
    thread: Option<Worker>,
    /// It did not start, or broke down: it is not tried again.
    broken: bool,
    asked: u32,
    waiting: BTreeMap<u32, Box<dyn Then>>,
}

thread_local! {
    static ASIDE: RefCell<Aside> = RefCell::default();
}

/// Asks; the answer comes later, and never while this runs.
pub fn ask(question: &Question, then: impl FnOnce(Option<Reply>) + 'static) {
    let text = question.text();
    let refused = ASIDE.with_borrow_mut(|aside| {
        let thread = thread(aside)?;
        aside.asked = aside.asked.wrapping_add(1);
        let message = Array::of2(&aside.asked.into(), &text.ok()?.into());
        thread.post_message(&message).ok()?;
        Some(aside.asked)
    });
    match refused {
        Some(number) => ASIDE.with_borrow_mut(|aside| drop(aside.waiting.insert(number, Box::new(then)))),
        None => set_timeout(move || then(None), std::time::Duration::ZERO),
    }
}

fn thread(aside: &mut Aside) -> Option<Worker> {
    if aside.broken {
        return None;
    }
    if aside.thread.is_none() {
        match start() {
            Ok(thread) => aside.thread = Some(thread),
            Err(error) => {
                leptos::logging::warn!("{error:?}");
                aside.broken = true;
            }
        }
    }
    aside.thread.clone()
}

/// Errors: the browser has no threads, or lets none start.
fn start() -> Result<Worker, JsValue> {
    let make: Function = Reflect::get(&window(), &"strawlineThread".into())?.dyn_into()?;
    let thread: Worker = make.call0(&JsValue::UNDEFINED)?.dyn_into()?;
    let heard = Closure::<dyn FnMut(MessageEvent)>::new(|event: MessageEvent| hear(&event.data()));
    let broke = Closure::<dyn FnMut(JsValue)>::new(|error: JsValue| {
        leptos::logging::warn!("{error:?}");
        give_up();
    });
    thread.set_onmessage(Some(heard.as_ref().unchecked_ref()));
    thread.set_onerror(Some(broke.as_ref().unchecked_ref()));
    // It lives as long as the page.
    heard.forget();
    broke.forget();
    thread.post_message(&wasm_bindgen::module())?;
    Ok(thread)
}

fn hear(data: &JsValue) {
    let pair: &Array = data.unchecked_ref();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the number that was sent")]
    let number = pair.get(0).as_f64().unwrap_or(0.0) as u32;
    let reply = pair.get(1).as_string().and_then(|text| Reply::read(&text));
    let then = ASIDE.with_borrow_mut(|aside| aside.waiting.remove(&number));
    if let Some(then) = then {
        then.then(reply);
    }
}

fn give_up() {
    let waiting = ASIDE.with_borrow_mut(|aside| {
        aside.broken = true;
        aside.thread = None;
        std::mem::take(&mut aside.waiting)
    });
    for then in waiting.into_values() {
        then.then(None);
    }
}
