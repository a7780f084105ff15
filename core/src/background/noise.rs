//! Noise of a pixel, from the rows of any scene.
//!
//! *What.* The second difference of three neighbors, a − 2b + c, is zero wherever the scene is flat or sloping; what is
//! left is noise, with √6 times the standard deviation of one pixel. Its median absolute deviation ignores the few
//! places that hold edges. *Limit.* It sees what differs between neighbors of a row: temporal noise and pixel-to-pixel
//! pattern together, which is what the region scanner sees too. Blur of the optics or of a filter that smooths across
//! pixels hides noise from it. Counts are integers, so below 0.3 counts it says little.
//!
//! *Memory.* Four bytes a bin; 128 bins of one count measure up to 30 counts of noise. *Cost.* 37 instructions a pixel
//! (measured, thumbv7em); every fourth row is enough, and costs a quarter.

use super::histogram::{Histogram, HistogramState, Window};
use crate::sensor::{CountRange, SetupError};

/// Where the difference 0 lies in the histogram.
const ZERO: i32 = 0x8000;
/// 1.482602/√6 in Q16 (computed).
const SIGMA_PER_MAD_Q16: u64 = 39_667;

/// The noise of a pixel, from the second differences a − 2b + c along the rows of any scene: temporal noise and
/// pixel-to-pixel pattern together. Blur across pixels hides noise from it, and below 0.3 counts it says little. 128 bins
/// of one count measure up to 30 counts. 37 instructions a pixel; every fourth row is enough.
#[derive(Debug)]
pub struct NoiseMeter<'m>(Histogram<'m>);

impl<'m> NoiseMeter<'m> {
    /// With lent bins of 2^`shift` counts each; see [`Histogram::new`].
    ///
    /// # Errors
    /// [`SetupError::Memory`] for fewer than 2 or more than 65,536 bins.
    pub fn new(bins: &'m mut [u32], shift: u8) -> Result<Self, SetupError> {
        let window = Self::window(bins.len(), shift);
        Ok(Self(Histogram::new(bins, window)?))
    }

    /// A window with the difference 0 in its middle.
    fn window(bins: usize, shift: u8) -> Window {
        let shift = shift.min(15);
        Window::new((ZERO as usize).saturating_sub((bins / 2) << shift) as u16, shift)
    }

    /// Takes up again from a state and the same bins.
    pub const fn resume(bins: &'m mut [u32], state: HistogramState) -> Self {
        Self(Histogram::resume(bins, state))
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> HistogramState {
        self.0.suspend()
    }

    /// Begins again.
    pub fn start(&mut self) {
        self.0.start(self.0.window());
    }

    /// Adds a row. Triples that hold something that is no reading are left out.
    pub fn push(&mut self, row: &[u16], range: CountRange) {
        // Readings in a row so far; a difference needs three.
        let (mut a, mut b, mut readings) = (0i32, 0i32, 0u32);
        self.0.add_each(row.iter().filter_map(|&count| {
            let c = i32::from(count);
            readings = if range.holds(count) { readings.wrapping_add(1) } else { 0 };
            let difference = a - 2 * b + c + ZERO;
            (a, b) = (b, c);
            (readings >= 3).then_some(difference.clamp(0, 0xFFFF) as u16)
        }));
    }

    /// Standard deviation of a pixel in 1/256 count; `None` before the first three pixels, and where half of the
    /// differences lie outside the bins: then lend more or wider ones.
    #[must_use]
    pub fn sigma_q8(&self) -> Option<u32> {
        self.0.deviation_q8().map(|mad| ((u64::from(mad) * SIGMA_PER_MAD_Q16 + 0x8000) >> 16) as u32)
    }
}
