//! Views: what `view!` writes down, and how it becomes nodes of the page.
//!
//! A view is a [`Markup`]: one type, whatever stands in it, so that the code that turns it into nodes and follows what
//! it reads is compiled once and not once an element and closure: the weight of the page depends on it. Signals,
//! memos, owners and effects are Leptos'.

mod build;
mod hole;
mod into;
mod memo;
mod rows;

pub mod event;

pub use into::{Collect, IntoView};
pub use memo::{Memo, Signal, memo};
pub use rows::each;

use leptos::prelude::{Owner, untrack};
use leptos::reactive::effect::RenderEffect;
use leptos::reactive::owner::{LocalStorage, StoredValue};
use leptos::reactive::traits::{GetValue, SetValue};
use std::borrow::Cow;
use std::rc::Rc;
use wasm_bindgen::JsCast;

/// What every file with a view in it needs.
pub mod prelude {
    pub use super::{Children, ChildrenFn, Collect, IntoView, Markup, Memo, NodeRef, Signal, memo};
    pub use leptos::leptos_dom::helpers::*;
    pub use leptos::prelude::{
        ArcRwSignal, Callable, Callback, Effect, Owner, RwSignal, StoredValue, expect_context, on_cleanup,
        provide_context, untrack,
    };
    pub use leptos::reactive::prelude::*;
    pub use strawline_view::{component, view};
}

/// A part of the page, written down.
#[derive(Default)]
pub enum Markup {
    /// Nothing: no node, no attribute.
    #[default]
    None,
    /// Whether a class, a property or an attribute without a value stands there; nothing among nodes.
    Bool(bool),
    /// Words.
    Text(Cow<'static, str>),
    /// Elements of a template, and the values of its holes in their order.
    Template(&'static str, Box<[Markup]>),
    /// One after the other.
    List(Vec<Markup>),
    /// Follows what it reads.
    Follows(Box<dyn Follow>),
    /// Rows known by a key, each kept while its key is there.
    Rows(Box<dyn rows::List>),
    /// What an event does.
    Event(Box<dyn event::Act>),
    /// Where the element is to be put.
    Reference(NodeRef),
}

/// A closure whose view is made again whenever what it read has changed. Not a `dyn FnMut`: that would carry the code
/// to be called by value too, once a closure.
pub trait Follow {
    /// The view as it is now.
    fn view(&mut self) -> Markup;
}

impl<V: IntoView, F: FnMut() -> V> Follow for F {
    fn view(&mut self) -> Markup {
        self().into_view()
    }
}

impl Markup {
    /// What `view!` writes.
    pub fn template(text: &'static str, holes: Box<[Markup]>) -> Self {
        Markup::Template(text, holes)
    }
}

/// What stands between the tags of a component.
pub type Children = Box<dyn FnOnce() -> Markup>;

/// The same, made more than once.
pub type ChildrenFn = Rc<dyn Fn() -> Markup>;

/// The body of a component. What it reads is not followed; only what its view reads is.
pub fn component<V: IntoView>(body: impl FnOnce() -> V) -> Markup {
    untrack(|| body().into_view())
}

/// Shows something while a condition holds; it is made anew only when that changes.
pub fn show(when: impl Fn() -> bool + Send + Sync + 'static, view: impl Fn() -> Markup + 'static) -> Markup {
    let when = memo(when);
    Markup::Follows(Box::new(move || if when.get() { view() } else { Markup::None }))
}

/// Runs now and whenever what it read has changed, until the owner it was made under is cleaned up.
fn effect(mut run: Box<dyn FnMut()>) {
    StoredValue::<_, LocalStorage>::new_local(RenderEffect::new(move |_| run()));
}

/// Shows a view in an element, for as long as the page lives.
pub fn mount(root: &web_sys::Node, view: fn() -> Markup) {
    // Refused only when it was done before.
    drop(any_spawner::Executor::init_wasm_bindgen());
    let owner = Owner::new();
    owner.with(|| {
        let hole = hole::Hole::child(root, None);
        hole::fill(&hole, view());
        // Kept: what is shown lives in it.
        std::mem::forget(hole);
    });
    std::mem::forget(owner);
}

/// An element of a view, once it is made.
#[derive(Clone, Copy)]
pub struct NodeRef(StoredValue<Option<web_sys::Element>, LocalStorage>);

impl NodeRef {
    /// None yet.
    pub fn new() -> Self {
        NodeRef(StoredValue::new_local(None))
    }

    /// The element, as what it is.
    pub fn get<T: JsCast>(self) -> Option<T> {
        self.0.get_value()?.dyn_into().ok()
    }

    fn set(self, element: web_sys::Element) {
        self.0.set_value(Some(element));
    }
}
