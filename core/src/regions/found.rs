//! The regions of a frame.

use super::detail::Detail;
use super::region::Region;
use super::slot::{Image, SlotOf};

/// What [`super::ScannerOf::finish`] or [`super::ScannerOf::frame`] found.
#[derive(Debug)]
pub struct Found<'s, D = ()> {
    pub(super) slots: &'s [SlotOf<D>],
    pub(super) image: Image,
    pub(super) dropped: u32,
}

impl<'s, D: Detail> Found<'s, D> {
    /// The regions, strongest first: by counts beyond the threshold, then by raster position of the peak.
    pub fn regions(&self) -> impl ExactSizeIterator<Item = Region> + use<'s, D> {
        let image = self.image;
        // No slot here is without one.
        self.slots.iter().map(move |slot| slot.region(image).unwrap_or(Region::EMPTY))
    }

    /// The regions with their details, in the same order.
    pub fn detailed(&self) -> impl ExactSizeIterator<Item = (Region, D::Report)> + use<'s, D> {
        let image = self.image;
        self.slots.iter().map(move |slot| (slot.region(image).unwrap_or(Region::EMPTY), slot.report()))
    }

    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.slots.len()
    }

    /// Whether there are none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.slots.is_empty()
    }

    /// At most this many regions were lost because the table was full. None was stronger than any region in the table
    /// when it was dropped; slots that came free later may hold weaker ones.
    #[must_use]
    pub const fn dropped(&self) -> u32 {
        self.dropped
    }
}
