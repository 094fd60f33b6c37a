//! Time and chance, taken from the browser here and nowhere else.

use leptos::prelude::{set_interval, window};
use std::time::Duration;
use strawline::assess::Now;
use strawline::quantity::time::{Instant, Offset};
use strawline::record::closed::ClosedError;

/// The moment by this device's clock.
pub fn now() -> Now {
    let date = js_sys::Date::new_0();
    // Whole milliseconds far inside the range of an i64; minutes far inside that of an i32.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the browser's clock is a whole number within ±8.64e15"
    )]
    let (at, minutes) = (date.get_time() as i64, -date.get_timezone_offset() as i32);
    Now { at: Instant(at), offset: Offset::new(minutes).unwrap_or(Offset::UTC) }
}

/// The same moment at the last full minute.
pub fn to_the_minute(now: Now) -> Now {
    Now { at: Instant(now.at.0 - now.at.0.rem_euclid(60_000)), ..now }
}

/// Time since the page began [ms]: no clock that is set moves it.
pub fn moment() -> f64 {
    window().performance().map_or(f64::INFINITY, |p| p.now())
}

/// Calls once a second. The timer of a page out of sight is slowed by the browser; each call asks the clock.
pub fn every_second(call: impl Fn() + 'static) {
    set_interval(call, Duration::from_secs(1));
}

/// A number by chance, for keys and check signs: to tell things apart, not to keep a secret.
pub fn chance() -> u64 {
    let high = js_sys::Math::random() * 4_294_967_296.0;
    let low = js_sys::Math::random() * 4_294_967_296.0;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 2³², as random() promises"
    )]
    let (high, low) = (high as u64, low as u64);
    (high << 32) | low
}

/// Fills bytes by chance that nobody can guess. Errors: the browser has none.
pub fn secret(bytes: &mut [u8]) -> Result<(), ClosedError> {
    let crypto =
        web_sys::window().ok_or(ClosedError::NoChance)?.crypto().map_err(|_| ClosedError::NoChance)?;
    crypto.get_random_values_with_u8_array(bytes).map(drop).map_err(|_| ClosedError::NoChance)
}

/// A fresh key for a case.
pub fn fresh_id() -> String {
    format!("{:016x}", chance())
}
