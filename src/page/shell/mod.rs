//! Everything that touches the browser beside the view, one file an effect.

pub mod aside;
pub mod camera;
pub mod clock;
pub mod copy;
pub mod files;
pub mod focus;
pub mod hash;
pub mod keep;
pub mod look;
pub mod motion;
pub mod offline;
pub mod print;
pub mod quiet;
pub mod store;
pub mod tap;
pub mod typing;
