//! Whether a tap was meant: the step that follows often stands where the last one stood, and a finger taps twice.

use std::cell::Cell;
use web_sys::MouseEvent;

/// A step is not taken again sooner than this [ms]. Judgement: nobody has read the next one by then.
const AGAIN: f64 = 500.0;

thread_local! {
    static LAST: Cell<f64> = const { Cell::new(f64::NEG_INFINITY) };
}

/// Whether a tap on a step is one of its own, not the second half of a double tap. Ask once a tap.
pub fn meant(event: &MouseEvent) -> bool {
    let at = event.time_stamp();
    let since = at - LAST.get();
    let own = event.detail() <= 1 && !(0.0..AGAIN).contains(&since);
    if own {
        LAST.set(at);
    }
    own
}
