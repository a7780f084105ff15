//! Which of the regions found are delivered.

use crate::radiometry::Thresholds;

/// What a region must be to be delivered. Decided by integer comparisons when a frame, or a region, has ended; a region
/// that is not delivered has taken up room in the table all the same.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Filter {
    /// Fewest pixels; 0 and 1 deliver all.
    pub min_area: u32,
    /// Most pixels.
    pub max_area: u32,
    /// Second, stronger thresholds: a region counts only if it holds a pixel above this `hot`, or below this `cold`
    /// (hysteresis). Weak pixels then outline what strong ones found.
    pub strong: Option<Thresholds>,
    /// Least share of the bounding box that the region fills, in 1/256; 0 delivers all.
    pub min_fill_q8: u16,
    /// Largest ratio of the longer to the shorter side of the bounding box; `u16::MAX` delivers all.
    pub max_aspect: u16,
    /// Whether regions that reach the border of the image are left out: their size is not known.
    pub whole_only: bool,
}

impl Filter {
    /// Delivers every region.
    pub const ALL: Self =
        Self { min_area: 0, max_area: u32::MAX, strong: None, min_fill_q8: 0, max_aspect: u16::MAX, whole_only: false };

    /// Delivers regions of at least so many pixels.
    #[must_use]
    pub const fn min_area(pixels: u32) -> Self {
        Self { min_area: pixels, ..Self::ALL }
    }
}
