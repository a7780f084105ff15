//! Where the part lies, over many frames.
//!
//! *What.* The shift of each frame against a reference that is kept as long as it serves, so that errors do not add up
//! frame by frame; when the part has moved half the reach, or looks different, the frame at hand becomes the reference
//! and its own shift is carried on. Uncertainties of successive references are added, not their squares: a sweep in one
//! direction moves each of them the same way (seen in the tests). A frame whose shift is in doubt ends the *epoch*: what
//! was known of positions before it no longer connects with what comes after.

use super::projection::{Profiles, Reference};
use super::shift::AxisShift;
use crate::error::Result;

/// Least correlation, in thousandths, for which the reference is kept. A proposal; 700 would be doubt.
const ALIKE: u16 = 800;

/// Position of the part in the image, against where it was when the epoch began, in 1/16 pixel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Placement {
    /// Along rows; positive if the part moved right.
    pub x: i32,
    /// Along columns; positive if the part moved down.
    pub y: i32,
    /// Standard uncertainty of each, in 1/16 pixel.
    pub uncertainty: u16,
    /// Counts the epochs; placements of different epochs do not compare.
    pub epoch: u16,
}

/// Where the part lies, over many frames: shifts against a reference that is kept while it serves, carried on when it is
/// renewed. A shift in doubt begins a new epoch.
#[derive(Clone, Copy, Debug)]
pub struct PartFollower {
    /// Placement of the reference frame.
    base: Placement,
}

impl PartFollower {
    /// Before the first frame.
    pub const NEW: Self = Self { base: Placement { x: 0, y: 0, uncertainty: 0, epoch: 0 } };

    /// Ends the frame in `profiles` and says where the part lies in it. A new epoch begins at 0.
    ///
    /// # Errors
    /// [`crate::Error::WrongOrder`] before the frame is whole.
    pub fn follow(&mut self, profiles: &mut Profiles<'_>) -> Result<Placement> {
        let reach = i32::from(profiles.settings().reach);
        let mut renew = true;
        let mut placement = None;
        profiles.finish_with(|shift| {
            let (Ok(x), Ok(y)) = (shift.x, shift.y) else { return Reference::Adopt };
            let far = |axis: AxisShift| i32::from(axis.sixteenths).abs() > 8 * reach;
            renew = [x, y].into_iter().any(|axis| far(axis) || axis.correlation < ALIKE);
            placement = Some((x.sixteenths, y.sixteenths, x.uncertainty.max(y.uncertainty)));
            if renew { Reference::Adopt } else { Reference::Keep }
        })?;
        let Some((x, y, uncertainty)) = placement else {
            self.base = Placement { x: 0, y: 0, uncertainty: 0, epoch: self.base.epoch.wrapping_add(1) };
            return Ok(self.base);
        };
        let here = Placement {
            x: self.base.x.saturating_add(i32::from(x)),
            y: self.base.y.saturating_add(i32::from(y)),
            uncertainty: self.base.uncertainty.saturating_add(uncertainty),
            epoch: self.base.epoch,
        };
        if renew {
            self.base = here;
        }
        Ok(here)
    }
}
