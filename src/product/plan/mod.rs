//! What to draw.
