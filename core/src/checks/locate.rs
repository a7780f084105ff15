//! Finding the suspected spot in a searched area from the regions of a frame.
//!
//! *Why apart from measuring.* The coldest of many noisy pixels is colder than the surface by chance. So the spot is
//! chosen in one picture and measured in the frames fed after that; the choice does not flatter the measurement.

use super::definition::Use;
use super::engine::{Check, Place};
use super::vocabulary::{Role, View};
use crate::error::{Error, Result};
use crate::measure::Shape;
use crate::regions::{Region, Sign};

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
        let sign = self.searched_sign(area).ok_or(Error::NotInThisCheck)?;
        let placed = |role| self.places().any(|place| place.role == role && place.view == view);
        let wanted = [Role::Suspect, Role::Surround].iter().filter(|&&role| !placed(role)).count();
        if self.slots.iter().filter(|slot| slot.place.is_none()).count() < wanted {
            return Err(Error::Full);
        }
        let mut at_border = false;
        let searched = self.places().find(|place| place.role == area && place.view == view).ok_or(Error::WrongOrder)?;
        for region in regions.filter(|region| region.sign == sign) {
            let nearest = |q16: u32| (q16.saturating_add(0x8000) >> 16) as u16;
            let (x, y) = (nearest(region.centroid_x.to_bits()), nearest(region.centroid_y.to_bits()));
            if !searched.shape.contains(region.peak_x, region.peak_y) {
                continue;
            }
            let size = u32::from(region.x1 - region.x0).max(u32::from(region.y1 - region.y0)) as u16 + 1;
            let inner = size / 2 + GAP;
            let spot = Shape::Spot { x, y, size: 3 };
            let ring = Shape::Ring { x, y, inner, outer: inner.saturating_add(SURROUND) };
            // A spot at the very edge has no surround to compare with; the next region may.
            let (width, height) = (self.state.setup.width, self.state.setup.height);
            if spot.placed_in(width, height).is_err() || ring.placed_in(width, height).is_err() {
                at_border = true;
                continue;
            }
            self.place(Place { role: Role::Suspect, shape: spot, ..searched })?;
            self.place(Place { role: Role::Surround, shape: ring, ..searched })?;
            // Diameter of the disc of the same area, d = √(4·a/π), with 4/π = 1.2732 as 83,443/65,536.
            let width_q8 = (u64::from(region.area) * 83_443).isqrt() as u32;
            self.state.search = Search::Found { area, width_q8 };
            return Ok(Located::At { x, y });
        }
        if !matches!(self.state.search, Search::Found { .. }) {
            self.state.search = if at_border { Search::AtBorder } else { Search::Nothing };
        }
        Ok(Located::Nothing)
    }
}
