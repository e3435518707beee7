//! The typeface of pictures and pages that must not depend on what a machine has installed: DejaVu Sans
//! Condensed, as subsets with Latin, Greek, Cyrillic and the signs of the trade.
//!
//! `tests/scripts/subset_fonts.py` made them; their licence is `src/render/fonts/LICENSE`. TrueType, without
//! hinting and shaping tables.

/// The regular face, as a TrueType file.
pub const REGULAR: &[u8] = include_bytes!("DejaVuSansCondensed.ttf");
/// The bold face, as a TrueType file.
pub const BOLD: &[u8] = include_bytes!("DejaVuSansCondensed-Bold.ttf");
