//! A code as it prints: a QR code (ISO/IEC 18004), error correction level M.

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};
use std::fmt::Write as _;

/// Widest that a code may print, its margin included [mm].
pub const WIDEST: f64 = 60.0;
/// One module, unless the code would be wider than [`WIDEST`] [mm].
pub const MODULE: f64 = 0.5;
/// Never less [mm].
pub const LEAST: f64 = 0.4;
/// Modules left white around it, as the standard asks.
const MARGIN: i32 = 4;
/// The largest that is taken: 117 modules, of 0.48 mm.
const LARGEST: u8 = 25;

/// One code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// Modules from edge to edge, margin included.
    pub modules: i32,
    /// Its dark modules as the path of a drawing, one unit a module.
    pub path: String,
}

impl Symbol {
    /// The code of a text in the characters of base45; `None` where it holds others or is too long.
    pub fn of(text: &str) -> Option<Symbol> {
        if !QrSegment::is_alphanumeric(text) {
            return None;
        }
        let segment = QrSegment::make_alphanumeric(text);
        let (level, largest) = (QrCodeEcc::Medium, Version::new(LARGEST));
        let code =
            QrCode::encode_segments_advanced(&[segment], level, Version::MIN, largest, None, false).ok()?;
        Some(Symbol { modules: code.size() + 2 * MARGIN, path: path(&code) })
    }

    /// How wide and high it prints, margin included [mm].
    pub fn side(&self) -> f64 {
        (f64::from(self.modules) * MODULE).min(WIDEST)
    }
}

/// Each row's dark stretches as rectangles.
fn path(code: &QrCode) -> String {
    let mut path = String::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let long = (x..code.size()).take_while(|x| code.get_module(*x, y)).fold(0, |n, _| n + 1);
            if long > 0 {
                // Writing to a text does not fail.
                let _ = write!(path, "M{},{}h{long}v1h-{long}z", x + MARGIN, y + MARGIN);
            }
            x += long + 1;
        }
    }
    path
}
