//! What may stand in a view.

use super::{Markup, Memo, Signal};
use leptos::prelude::RwSignal;
use leptos::reactive::traits::Get;
use std::borrow::Cow;

/// What may stand in a view: as a child or as the value of an attribute.
pub trait IntoView {
    /// Written down.
    fn into_view(self) -> Markup;
}

impl IntoView for Markup {
    fn into_view(self) -> Markup {
        self
    }
}

impl IntoView for () {
    fn into_view(self) -> Markup {
        Markup::None
    }
}

impl IntoView for bool {
    fn into_view(self) -> Markup {
        Markup::Bool(self)
    }
}

impl IntoView for &'static str {
    fn into_view(self) -> Markup {
        Markup::Text(Cow::Borrowed(self))
    }
}

impl IntoView for String {
    fn into_view(self) -> Markup {
        Markup::Text(Cow::Owned(self))
    }
}

impl IntoView for Cow<'static, str> {
    fn into_view(self) -> Markup {
        Markup::Text(self)
    }
}

macro_rules! numbers {
    ($($kind:ty),*) => {$(
        impl IntoView for $kind {
            fn into_view(self) -> Markup {
                Markup::Text(Cow::Owned(self.to_string()))
            }
        }
    )*};
}
numbers!(u8, i32, u32, usize);

impl IntoView for super::NodeRef {
    fn into_view(self) -> Markup {
        Markup::Reference(self)
    }
}

impl<V: IntoView> IntoView for Option<V> {
    fn into_view(self) -> Markup {
        self.map_or(Markup::None, V::into_view)
    }
}

impl<V: IntoView> IntoView for Vec<V> {
    fn into_view(self) -> Markup {
        self.collect_view()
    }
}

impl<V: IntoView, const N: usize> IntoView for [V; N] {
    fn into_view(self) -> Markup {
        self.collect_view()
    }
}

impl<A: IntoView, B: IntoView> IntoView for (A, B) {
    fn into_view(self) -> Markup {
        Markup::List(vec![self.0.into_view(), self.1.into_view()])
    }
}

impl<V: IntoView, F: FnMut() -> V + 'static> IntoView for F {
    fn into_view(self) -> Markup {
        Markup::Follows(Box::new(self))
    }
}

macro_rules! signals {
    ($($signal:ident),*) => {$(
        impl<V: IntoView + Clone + Send + Sync + 'static> IntoView for $signal<V> {
            fn into_view(self) -> Markup {
                Markup::Follows(Box::new(move || self.get()))
            }
        }
    )*};
}
signals!(Signal, Memo, RwSignal);

/// One view after the other.
pub trait Collect {
    /// As one.
    fn collect_view(self) -> Markup;
}

impl<V: IntoView, I: IntoIterator<Item = V>> Collect for I {
    fn collect_view(self) -> Markup {
        Markup::List(self.into_iter().map(V::into_view).collect())
    }
}
