//! Finding the suspected spot in a searched area from the regions of a frame.
//!
//! *Why apart from measuring.* The coldest of many noisy pixels is colder than the surface by chance. So the spot is
//! chosen in one picture and measured in the frames fed after that; the choice does not flatter the measurement.

use super::definition::Use;
use super::engine::{Check, Place};
use super::vocabulary::{Role, View};
use crate::error::{Error, Result};
use crate::measure::{Excursion, LinePart, Shape, Unwrapped};
use crate::regions::{Region, Sign};
use crate::sensor::CountRange;

/// What a search came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Search {
    NotMade,
    Nothing,
    /// Something was seen so near the border that its surround does not fit into the image.
    AtBorder,
    /// The area searched and the width of the region found there, in 1/256 pixel.
    Found {
        area: Role,
        width_q8: u32,
    },
}

/// Result of [`Check::locate`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Located {
    /// No region of the wanted sign peaks inside the searched area.
    Nothing,
    /// The suspect and its surround were placed around this pixel.
    At {
        /// Column of the spot.
        x: u16,
        /// Row of the spot.
        y: u16,
    },
}

/// Pixels between the edge of the region and the surround: optics blur the edge over one or two (vehicle notes 4:
/// Gaussian of 0.6–1.2 px).
const GAP: u16 = 3;
/// Width of the surround in pixels; a proposal.
const SURROUND: u16 = 4;
/// Parts of a circle on either side that make the neighborhood of a place along a ring: an eighth, far wider than a spot
/// and narrower than what the air of a bay does to a wheel. A proposal.
const NEIGHBORHOOD: usize = 8;
/// Standard deviations of the line by which a place has to stand out: five, as for the depth (vehicle notes 2.1).
const DEVIATIONS: i32 = 5;

impl Check<'_> {
    /// Sign of the regions that are searched for in an area: that of the definition, or the other one if air warmer than
    /// the part is stated. `None` for a part that is not searched.
    #[must_use]
    pub fn searched_sign(&self, area: Role) -> Option<Sign> {
        let Some(Use::Searched(sign)) = self.definition().part(area).map(|part| part.usage) else { return None };
        Some(sign.flipped_if(self.state.conditions.air_is_warm()))
    }

    /// Searches the area with this role for the strongest region of the sign the check looks for, and places
    /// [`Role::Suspect`] and [`Role::Surround`] on it. `regions` come from a [`crate::regions::Scanner`], strongest
    /// first; feed other frames afterwards.
    ///
    /// # Errors
    /// [`Error::NotInThisCheck`] if the role is not a searched one, [`Error::WrongOrder`] if it is not placed, and
    /// those of [`Check::place`].
    pub fn locate(&mut self, area: Role, view: View, regions: impl Iterator<Item = Region>) -> Result<Located> {
        let (searched, sign) = self.searched(area, view)?;
        let mut at_border = false;
        for region in regions.filter(|region| region.sign == sign) {
            let nearest = |q16: u32| (q16.saturating_add(0x8000) >> 16) as u16;
            let (x, y) = (nearest(region.centroid_x.to_bits()), nearest(region.centroid_y.to_bits()));
            if !searched.shape.contains(region.peak_x, region.peak_y) {
                continue;
            }
            let size = u32::from(region.x1 - region.x0).max(u32::from(region.y1 - region.y0)) as u16 + 1;
            let width_q8 = diameter_q8(region.area);
            // A spot at the very edge has no surround to compare with; the next region may.
            if self.place_around(searched, (x, y), size, width_q8)? {
                return Ok(Located::At { x, y });
            }
            at_border = true;
        }
        self.found_nothing(at_border);
        Ok(Located::Nothing)
    }

    /// Searches a ring-shaped area, such as the seat of a bead, unwrapped to a line: what is narrow along it and stands out
    /// of its neighborhood is the spot, whatever changes slowly around the ring. Places [`Role::Suspect`] and
    /// [`Role::Surround`] on it. `frame` has width × height counts in raster order, best the mean of several frames; feed
    /// other frames afterwards. `line` and `excess` are lent, [`Unwrapped::parts_of`] the ring of each.
    ///
    /// # Errors
    /// As [`Check::locate`]; [`Error::ShapeOutside`] if the area is no ring, [`Error::WrongLength`] for another frame,
    /// [`Error::TooSmall`] for too little memory. Nothing is then placed.
    pub fn locate_along(
        &mut self,
        area: Role,
        view: View,
        frame: &[u16],
        line: &mut [LinePart],
        excess: &mut [i32],
    ) -> Result<Located> {
        let (searched, sign) = self.searched(area, view)?;
        let setup = &self.state.setup;
        let (width, height) = (usize::from(setup.width), usize::from(setup.height));
        if frame.len() != width * height {
            return Err(Error::WrongLength);
        }
        let parts = Unwrapped::parts_of(searched.shape);
        let unwrapped = Unwrapped::new(searched.shape, parts)?;
        let line = line.get_mut(..parts).ok_or(Error::TooSmall)?;
        let excess = excess.get_mut(..parts).ok_or(Error::TooSmall)?;
        let range = CountRange::between(setup.dead_at_or_below, setup.saturated_at);
        line.fill(LinePart::EMPTY);
        let rows = || (0..setup.height).zip(frame.chunks_exact(width.max(1)));
        rows().for_each(|(y, row)| unwrapped.add_row(line, y, row, range));
        let found = Excursion::strongest(line, excess, parts / NEIGHBORHOOD, sign);
        // Half of what the watch follows: a spot fills about half of the ring's width.
        let least_q8 = self.state.watch.map_or(0, |(_, least_q8)| least_q8 / 2);
        let found = found.filter(|found| found.excess_q8 >= least_q8.max(DEVIATIONS.saturating_mul(found.scatter_q8)));
        let spot = found.and_then(|found| {
            // The median around the ring at that direction is the level; pixels beyond half the excess are the spot.
            let toward_level = if sign == Sign::Hot { -found.excess_q8 } else { found.excess_q8 };
            let level = line.get(found.part)?.mean_q8()? + toward_level;
            unwrapped.center_of(rows(), found, (level, sign), range)
        });
        let Some((x, y, pixels)) = spot else {
            self.found_nothing(false);
            return Ok(Located::Nothing);
        };
        let width_q8 = diameter_q8(pixels);
        if self.place_around(searched, (x, y), (width_q8 >> 8) as u16 + 1, width_q8)? {
            return Ok(Located::At { x, y });
        }
        self.found_nothing(true);
        Ok(Located::Nothing)
    }

    /// The area to be searched and the sign to look for, if there is room for what will be placed.
    fn searched(&self, area: Role, view: View) -> Result<(Place, Sign)> {
        let sign = self.searched_sign(area).ok_or(Error::NotInThisCheck)?;
        let placed = |role| self.places().any(|place| place.role == role && place.view == view);
        let wanted = [Role::Suspect, Role::Surround].iter().filter(|&&role| !placed(role)).count();
        if self.slots.iter().filter(|slot| slot.place.is_none()).count() < wanted {
            return Err(Error::Full);
        }
        let searched = self.places().find(|place| place.role == area && place.view == view).ok_or(Error::WrongOrder)?;
        Ok((searched, sign))
    }

    /// Places the suspect and its surround on a spot of this size; false if they do not fit into the image.
    #[inline(never)]
    fn place_around(&mut self, searched: Place, (x, y): (u16, u16), size: u16, width_q8: u32) -> Result<bool> {
        let inner = size / 2 + GAP;
        let spot = Shape::Spot { x, y, size: 3 };
        let ring = Shape::Ring { x, y, inner, outer: inner.saturating_add(SURROUND) };
        // The ring is the larger one.
        match self.place(Place { role: Role::Surround, shape: ring, ..searched }) {
            Err(Error::ShapeOutside) => return Ok(false),
            placed => placed?,
        }
        self.place(Place { role: Role::Suspect, shape: spot, ..searched })?;
        self.state.search = Search::Found { area: searched.role, width_q8 };
        Ok(true)
    }

    /// A search in vain does not undo an earlier one that found something.
    fn found_nothing(&mut self, at_border: bool) {
        if !matches!(self.state.search, Search::Found { .. }) {
            self.state.search = if at_border { Search::AtBorder } else { Search::Nothing };
        }
    }
}

/// Diameter of the disc of this area in pixels, 1/256 pixel in steps of 1/16: d = √(4·a/π), with 4/π as 326/256.
///
/// In 32 bits, whose root every image has; an area of 13 million pixels and more counts as that.
fn diameter_q8(area: u32) -> u32 {
    area.saturating_mul(326).isqrt() << 4
}
