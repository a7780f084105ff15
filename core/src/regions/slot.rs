//! What is kept of one region while the rows go by, and what follows from it at the end.

use super::detail::Detail;
use super::filter::Filter;
use super::region::{Region, Sign};
use crate::radiometry::Thresholds;
use fixed::types::{U16F16, U24F8};

/// Working memory for one region; lend [`SlotOf::EMPTY`]s to [`super::ScannerOf::new`].
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct SlotOf<D> {
    pub(super) sum: u64,
    pub(super) sum_x: u64,
    pub(super) sum_y: u64,
    pub(super) top: Top,
    pub(super) area: u32,
    pub(super) x0: u16,
    pub(super) x1: u16,
    pub(super) y0: u16,
    pub(super) y1: u16,
    /// Free: next free slot. Alias: the slot it was folded into.
    pub(super) link: u16,
    pub(super) state: u8,
    pub(super) detail: D,
}

/// The most extreme pixel of a region in one number, so that the stronger one, or of equally strong ones the first in
/// raster order, is the greater: counts beyond the threshold, complement of the row, complement of the column. No two
/// regions of a frame have the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Top(u64);

impl Top {
    /// Of no pixel.
    pub(super) const NONE: Self = Self(0);

    pub(super) const fn new(strength: u16, x: u16, y: u16) -> Self {
        Self((strength as u64) << 48 | (!y as u64) << 32 | (!x as u64) << 16)
    }

    pub(super) const fn strength(self) -> u16 {
        (self.0 >> 48) as u16
    }

    const fn x(self) -> u16 {
        !(self.0 >> 16) as u16
    }

    const fn y(self) -> u16 {
        !(self.0 >> 32) as u16
    }
}

/// A slot for area, box, centroid, peak and mean: 48 bytes.
pub type Slot = SlotOf<()>;

pub(super) const FREE: u8 = 0;
pub(super) const ALIAS: u8 = 1;
pub(super) const HOT: u8 = 2;
pub(super) const COLD: u8 = 3;
/// Flag beside HOT or COLD: a piece was dropped.
pub(super) const INCOMPLETE: u8 = 4;

/// Link of the last free slot.
pub(super) const NO_SLOT: u16 = 0x7FFF;
/// Region number of a run whose region was dropped.
pub(super) const DROPPED: u16 = 0x7FFF;

impl<D: Detail> SlotOf<D> {
    /// A slot that holds nothing.
    pub const EMPTY: Self = Self {
        sum: 0,
        sum_x: 0,
        sum_y: 0,
        area: 0,
        x0: 0,
        x1: 0,
        y0: 0,
        y1: 0,
        top: Top::NONE,
        link: NO_SLOT,
        state: FREE,
        detail: D::EMPTY,
    };

    pub(super) fn holds_region(&self) -> bool {
        self.state & !INCOMPLETE >= HOT
    }

    /// Whether it holds a region that the filter lets pass.
    pub(super) fn passes(&self, filter: &Filter, image: Image) -> bool {
        let (width, height) = (u64::from(self.x1 - self.x0) + 1, u64::from(self.y1 - self.y0) + 1);
        let strong = filter.strong.is_none_or(|strong| match self.sign() {
            Sign::Hot => self.peak(image) > strong.hot(),
            Sign::Cold => self.peak(image) < strong.cold(),
        });
        self.holds_region()
            && strong
            && (filter.min_area..=filter.max_area).contains(&self.area)
            && u64::from(self.area) << 8 >= u64::from(filter.min_fill_q8) * width * height
            && width.max(height) <= u64::from(filter.max_aspect) * width.min(height)
            && !(filter.whole_only && self.touches_edge(image))
    }

    fn sign(&self) -> Sign {
        if self.state & !INCOMPLETE == HOT { Sign::Hot } else { Sign::Cold }
    }

    /// The most extreme count.
    fn peak(&self, image: Image) -> u16 {
        match self.sign() {
            Sign::Hot => image.thresholds.hot().wrapping_add(self.top.strength()),
            Sign::Cold => image.thresholds.cold().wrapping_sub(self.top.strength()),
        }
    }

    fn touches_edge(&self, image: Image) -> bool {
        self.x0 == 0 || self.y0 == 0 || self.x1 >= image.last_x || self.y1 >= image.last_y
    }

    pub(super) fn region(&self, image: Image) -> Option<Region> {
        if !self.holds_region() {
            return None;
        }
        let area = u64::from(self.area.max(1));
        // No sum reaches 2^48. From the side of the box, because numbers of 32 bits, as those of small regions then are, are
        // divided in a fraction of the time.
        let centroid = |sum: u64, side: u16| {
            let side = u64::from(side);
            U16F16::from_bits(((side << 16) + ((sum - side * area) << 16) / area) as u32)
        };
        Some(Region {
            sign: self.sign(),
            area: self.area,
            x0: self.x0,
            y0: self.y0,
            x1: self.x1,
            y1: self.y1,
            peak: self.peak(image),
            peak_x: self.top.x(),
            peak_y: self.top.y(),
            centroid_x: centroid(self.sum_x, self.x0),
            centroid_y: centroid(self.sum_y, self.y0),
            mean: U24F8::from_bits(((self.sum << 8) / area) as u32),
            strength: self.top.strength(),
            incomplete: self.state & INCOMPLETE != 0,
            touches_edge: self.touches_edge(image),
        })
    }

    pub(super) fn report(&self) -> D::Report {
        self.detail.report(self.area, (self.sum_x, self.sum_y))
    }

    /// Whether it holds a region without a run in row `y`.
    pub(super) fn ended_before(&self, y: u16) -> bool {
        self.holds_region() && self.y1 < y
    }
}

/// Last column and row of the image so far, and what its regions lie beyond.
#[derive(Clone, Copy, Debug)]
pub(super) struct Image {
    pub(super) last_x: u16,
    pub(super) last_y: u16,
    pub(super) thresholds: Thresholds,
}
