//! Values that follow others, behind one type each: Leptos' own machinery for them is compiled once, for a value of
//! any type, and not once for each type of value.

use leptos::prelude::{self as reactive, RwSignal};
use leptos::prelude::{Get, GetUntracked};
use std::any::Any;
use std::marker::PhantomData;
use std::sync::Arc;

/// A value of any type, and how two of that type compare.
#[derive(Clone)]
struct Erased {
    value: Arc<dyn Any + Send + Sync>,
    same: fn(&dyn Any, &dyn Any) -> bool,
}

impl PartialEq for Erased {
    fn eq(&self, other: &Self) -> bool {
        (self.same)(&*self.value, &*other.value)
    }
}

impl Erased {
    fn of<T: Send + Sync + 'static>(value: T, same: fn(&dyn Any, &dyn Any) -> bool) -> Self {
        Erased { value: Arc::new(value), same }
    }

    fn into<T: Send + Sync + 'static>(self) -> Arc<T> {
        // Put there as this type: see the type parameter of what holds it.
        self.value.downcast().unwrap_or_else(|_| std::process::abort())
    }
}

fn same<T: PartialEq + 'static>(a: &dyn Any, b: &dyn Any) -> bool {
    a.downcast_ref::<T>() == b.downcast_ref::<T>()
}

/// Signals are not compared.
fn unlike(_: &dyn Any, _: &dyn Any) -> bool {
    false
}

/// A value reckoned once for all who read it, anew only when what it reads has changed.
pub struct Memo<T>(reactive::Memo<Erased>, PhantomData<fn() -> T>);

/// A value that follows what it reads, reckoned by each who reads it.
pub struct Signal<T>(reactive::Signal<Erased>, PhantomData<fn() -> T>);

/// A closure that reckons a value, without the code to be called by value.
trait Reckon: Send + Sync {
    fn reckon(&self) -> Erased;
}

/// Compared with what it was before.
struct Compared<F>(F);

/// Never the same as before.
struct Derived<F>(F);

impl<T: PartialEq + Send + Sync + 'static, F: Fn() -> T + Send + Sync> Reckon for Compared<F> {
    fn reckon(&self) -> Erased {
        Erased::of((self.0)(), same::<T>)
    }
}

impl<T: Send + Sync + 'static, F: Fn() -> T + Send + Sync> Reckon for Derived<F> {
    fn reckon(&self) -> Erased {
        Erased::of((self.0)(), unlike)
    }
}

/// A value reckoned once for all who read it, anew only when what it reads has changed.
pub fn memo<T: PartialEq + Send + Sync + 'static>(value: impl Fn() -> T + Send + Sync + 'static) -> Memo<T> {
    Memo(erased_memo(Box::new(Compared(value))), PhantomData)
}

#[inline(never)]
fn erased_memo(value: Box<dyn Reckon>) -> reactive::Memo<Erased> {
    reactive::Memo::new(move |_| value.reckon())
}

#[inline(never)]
fn erased_signal(value: Box<dyn Reckon>) -> reactive::Signal<Erased> {
    reactive::Signal::derive(move || value.reckon())
}

impl<T: Send + Sync + 'static> Signal<T> {
    /// Follows what it reads.
    pub fn derive(value: impl Fn() -> T + Send + Sync + 'static) -> Self {
        Signal(erased_signal(Box::new(Derived(value))), PhantomData)
    }

    /// Always the same.
    pub fn stored(value: T) -> Self {
        Signal(reactive::Signal::stored(Erased::of(value, unlike)), PhantomData)
    }
}

macro_rules! reads {
    ($($kind:ident),*) => {$(
        impl<T> Clone for $kind<T> {
            fn clone(&self) -> Self {
                *self
            }
        }

        impl<T> Copy for $kind<T> {}

        #[allow(dead_code, reason = "both alike")]
        impl<T: Send + Sync + 'static> $kind<T> {
            /// The value, followed.
            pub fn read(self) -> Arc<T> {
                self.0.get().into()
            }

            /// The value as it stands.
            pub fn read_untracked(self) -> Arc<T> {
                self.0.get_untracked().into()
            }

            /// Looks at the value, followed.
            pub fn with<R>(self, look: impl FnOnce(&T) -> R) -> R {
                look(&self.read())
            }

            /// Looks at the value as it stands.
            pub fn with_untracked<R>(self, look: impl FnOnce(&T) -> R) -> R {
                look(&self.read_untracked())
            }

            /// Follows it without looking. It is read all the same: one that nobody ever read follows nothing itself.
            pub fn track(self) {
                drop(self.read());
            }
        }

        impl<T: Clone + Send + Sync + 'static> $kind<T> {
            /// The value, followed.
            pub fn get(self) -> T {
                T::clone(&self.read())
            }

            /// The value as it stands.
            pub fn get_untracked(self) -> T {
                T::clone(&self.read_untracked())
            }
        }
    )*};
}
reads!(Memo, Signal);

impl<T> From<Memo<T>> for Signal<T> {
    fn from(memo: Memo<T>) -> Self {
        Signal(memo.0.into(), PhantomData)
    }
}

impl<T: Clone + Send + Sync + 'static> From<RwSignal<T>> for Signal<T> {
    fn from(signal: RwSignal<T>) -> Self {
        Signal::derive(move || signal.get())
    }
}

impl<T: Send + Sync + 'static> From<T> for Signal<T> {
    fn from(value: T) -> Self {
        Signal::stored(value)
    }
}
