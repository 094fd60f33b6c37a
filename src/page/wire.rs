//! Reactive closures behind one type each, so that the machinery under them is compiled once and not once a
//! closure: the weight of the page depends on it.

use leptos::prelude::*;
use leptos::tachys::reactive_graph::SharedReactiveFunction;
use std::sync::{Arc, Mutex};

/// A part of the view that follows what it reads.
pub fn dynamic<V: IntoView + 'static>(
    mut view: impl FnMut() -> V + Send + 'static,
) -> SharedReactiveFunction<AnyView> {
    Arc::new(Mutex::new(move || view().into_any()))
}

/// An attribute, class or property that follows what it reads.
pub fn dy<T: Send + Sync + 'static>(value: impl Fn() -> T + Send + Sync + 'static) -> Signal<T> {
    Signal::derive(value)
}

/// A value reckoned once for all who read it, anew only when what it reads has changed.
pub fn memo<T: PartialEq + Send + Sync + 'static>(value: impl Fn() -> T + Send + Sync + 'static) -> Memo<T> {
    let value: Box<dyn Fn() -> T + Send + Sync> = Box::new(value);
    Memo::new(move |_| value())
}
