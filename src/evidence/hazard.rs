//! The hazard list (filled by `finding`).
