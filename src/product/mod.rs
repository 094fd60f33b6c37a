//! What comes of the blood: the three kinds of product, how sure a prediction is, and where every mL goes.
//!
//! [`kind`] the identities and what each kind keeps stable · [`predict`] what to expect, with its [`range`] · `amount`
//! the amount of the product and `spread` its distribution, which both reckon with · [`doubt`] how sure · [`order`] what is asked of it · [`plan`] what to draw for it · [`measured`] what was made ·
//! [`ledger`] and [`share`] where it goes · [`addition`] what is added · [`clock`] until when it may be used ·
//! [`recipe`] how it is counted, [`cells`] its other cells, [`closing`] the spin closed by measurement, [`slip`] what
//! to check above 100 % · [`classification`] and [`literature`] what others have published.

pub mod addition;
mod amount;
pub mod cells;
pub mod classification;
pub mod clock;
pub mod closing;
pub mod doubt;
pub mod kind;
pub mod ledger;
pub mod literature;
pub mod measured;
pub mod order;
pub mod plan;
pub mod predict;
pub mod range;
pub mod recipe;
pub mod share;
pub mod slip;
mod spread;

/// The most containers one case can hold.
pub const MAX_CONTAINERS: u8 = 12;
