//! Pictures for a display: counts or kelvin rows to colors, the range they span, enlargement, marks.
//!
//! ```text
//! counts or kelvin rows ─► (Enlarger) ─► ToneScale ─► tones, 8 bits ─► Palette ─► RGB888
//!            │             bilinear        ▲                └────────► Palette565 ─► RGB565
//!            └─► Histogram ─► AutoRange ───┘
//! regions, shapes ─► marks on any display driver, with a legend         feature `embedded-graphics`
//! ```
//!
//! *Nothing is hidden.* Three of the 256 tones are kept for pixels below the range, above it, and without a reading;
//! palettes give them colors that their map does not contain. *Colors* are published scientific maps under open
//! licenses, of even steps to the eye: [`CIVIDIS`] (the default; reads the same with most color-vision deficiencies),
//! [`VIRIDIS`], [`GRAY`], and [`VIK`] for differences about a middle.
//!
//! ```
//! use oddheat_core::image::{CIVIDIS, Palette565, ToneScale};
//! use oddheat_core::sensor::CountRange;
//!
//! # fn main() -> Result<(), Box<dyn core::error::Error>> {
//! static COLORS: Palette565 = Palette565::of(&CIVIDIS); // 512 bytes of flash
//! let scale = ToneScale::new(5_000, 6_000, CountRange::new(0, 16_383)?)?;
//! let (mut tones, mut pixels) = ([0; 4], [0u8; 8]);
//! scale.row(&[4_999, 5_000, 6_000, 6_001], &mut tones)?;
//! COLORS.row(&tones, &mut pixels)?; // as most display controllers take it, high byte first
//! assert_eq!(pixels[..2], [0x07, 0xFF]); // below the range: cyan
//! # Ok(())
//! # }
//! ```

mod auto_range;
mod enlarge;
#[cfg(feature = "embedded-graphics")]
mod marks;
mod palette;
mod tables;
#[cfg(test)]
mod tests;
mod tone;

pub use auto_range::{AutoRange, AutoRangeSettings};
pub use enlarge::{Enlarger, repeat_row};
#[cfg(feature = "embedded-graphics")]
pub use marks::{Legend, View};
pub use palette::{CIVIDIS, ColorMap, GRAY, Palette, Palette565, VIK, VIRIDIS};
pub use tone::{ToneScale, tones};
