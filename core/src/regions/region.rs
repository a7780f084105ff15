//! What is known of a region once a frame has gone by.

use crate::codes::codes;
use fixed::types::{U16F16, U24F8};

codes! {
    /// Which side of the thresholds a region lies on.
    pub enum Sign {
        /// Hotter than the hot threshold.
        Hot = 1, "hot";
        /// Colder than the cold threshold.
        Cold = 2, "cold";
    }
}

impl Sign {
    /// The other sign if `flip`, otherwise the same.
    #[must_use]
    pub const fn flipped_if(self, flip: bool) -> Self {
        match (self, flip) {
            (Self::Hot, false) | (Self::Cold, true) => Self::Hot,
            (Self::Cold, false) | (Self::Hot, true) => Self::Cold,
        }
    }
}

/// One connected region. Coordinates are pixels; x to the right, y downward; boxes include both corners.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Region {
    /// Hot or cold.
    pub sign: Sign,
    /// Number of pixels.
    pub area: u32,
    /// First column.
    pub x0: u16,
    /// First row.
    pub y0: u16,
    /// Last column.
    pub x1: u16,
    /// Last row.
    pub y1: u16,
    /// Most extreme count: the highest of a hot region, the lowest of a cold one.
    pub peak: u16,
    /// Column of the first pixel, in raster order, that has the peak count.
    pub peak_x: u16,
    /// Row of that pixel.
    pub peak_y: u16,
    /// Mean column, truncated to 1/65,536 pixel.
    pub centroid_x: U16F16,
    /// Mean row, truncated to 1/65,536 pixel.
    pub centroid_y: U16F16,
    /// Mean count, truncated to 1/256 count.
    pub mean: U24F8,
    /// Counts by which the peak lies beyond its threshold; what "strongest" compares.
    pub strength: u16,
    /// True if a piece of the region was dropped because the table was full: area and box are then lower bounds.
    pub incomplete: bool,
    /// True if it reaches the border of the image: what is seen of it may be a part.
    pub touches_edge: bool,
}

impl Region {
    /// Of no pixels: what stands where there is none.
    pub const EMPTY: Self = Self {
        sign: Sign::Hot,
        area: 0,
        x0: 0,
        y0: 0,
        x1: 0,
        y1: 0,
        peak: 0,
        peak_x: 0,
        peak_y: 0,
        centroid_x: U16F16::ZERO,
        centroid_y: U16F16::ZERO,
        mean: U24F8::ZERO,
        strength: 0,
        incomplete: false,
        touches_edge: false,
    };

    /// Whether the pixel lies in the bounding box.
    #[must_use]
    pub const fn box_contains(&self, x: u16, y: u16) -> bool {
        self.x0 <= x && x <= self.x1 && self.y0 <= y && y <= self.y1
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for Region {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(
            f,
            "{} area {} box {}..{} x {}..{} peak {} at {},{}",
            self.sign,
            self.area,
            self.x0,
            self.x1,
            self.y0,
            self.y1,
            self.peak,
            self.peak_x,
            self.peak_y
        );
    }
}
