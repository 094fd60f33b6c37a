//! Pictures, drawn to scale. Pure geometry writes SVG text, thin components put it into the page.
//!
//! Hatched is planned, solid is what happened. A picture is never a control that changes anything and holds no words but those
//! given to it, and numbers. Text in and out of a picture passes [`svg::Svg`], which escapes it.

pub mod against;
mod axis;
pub mod column;
pub mod container;
pub mod control;
pub mod curve;
pub mod defs;
mod frame;
mod graduation;
pub mod ledger;
pub mod loaded;
pub mod map;
pub mod plan;
mod plot;
mod profile;
pub mod range;
pub mod rotor;
pub mod scales;
pub mod spun;
mod svg;

#[cfg(test)]
mod gallery;
