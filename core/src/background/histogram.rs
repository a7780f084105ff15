//! A histogram of counts over a window, in lent bins.
//!
//! *What.* Quantiles, scatter about the median, and the best split into two classes, from one pass over rows. *Why a
//! window.* Bins of one count over all counts of a sensor would take 64 KiB; a window of a few hundred bins, put by
//! [`Histogram::next_window`] where the last frame lay, resolves the same. What lies outside is counted, so a quantile
//! that falls there is refused, not guessed. *Limit.* Within a bin the counts are taken as evenly spread: a quantile is
//! off by the bin width at most, and exact to half a count for bins of one count.
//!
//! *Memory.* Four bytes a bin. *Cost.* 17 instructions a pixel (measured, thumbv7em), so push every second or fourth
//! row; of
//! 256 bins, a quantile takes 2,100 and the scatter 24,000.
//!
//! *Scaling and overflow*: bins hold 2³² − 1, sums of them stay below 2⁴⁸; values are Q8 counts below 2²⁵.

use crate::error::Result;
use crate::sensor::{CountRange, SetupError};

/// Most bins: one for each count there is.
const BINS_MAX: usize = 65_536;
/// 1/Φ⁻¹(3/4) = 1.482602 in Q16: standard deviation of a normal distribution from its median absolute deviation
/// (computed).
const SIGMA_PER_MAD_Q16: u64 = 97_164;

/// The counts that bins stand for: `first` and upward, 2^`shift` to a bin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Window {
    first: u16,
    shift: u8,
}

impl Window {
    /// `bins` bins of 2^`shift` counts (shift 0 to 15) from `first` on.
    #[must_use]
    pub const fn new(first: u16, shift: u8) -> Self {
        Self { first, shift: if shift > 15 { 15 } else { shift } }
    }

    /// The finest window of so many bins that holds all readings.
    #[must_use]
    pub const fn of(range: CountRange, bins: usize) -> Self {
        Self::over(range.dead() + 1, range.full_scale() - 1, bins)
    }

    /// The finest window of so many bins that holds `low` to `high`, which lies in its middle.
    #[must_use]
    pub const fn over(low: u16, high: u16, bins: usize) -> Self {
        let span = high.saturating_sub(low) as usize + 1;
        let mut shift = 0;
        while shift < 15 && bins << shift < span {
            shift += 1;
        }
        let spare = (bins << shift).saturating_sub(span) / 2;
        let first = if spare > low as usize { 0 } else { low - spare as u16 };
        Self { first, shift }
    }

    /// First count of the first bin.
    #[must_use]
    pub const fn first(self) -> u16 {
        self.first
    }

    /// Counts in a bin.
    #[must_use]
    pub const fn bin_width(self) -> u16 {
        1 << self.shift
    }
}

/// What a [`Histogram`] knows beyond its bins.
#[derive(Clone, Copy, Debug)]
pub struct HistogramState {
    window: Window,
    /// Readings before the first bin and after the last.
    below: u32,
    above: u32,
}

/// A split of the counts into two classes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Split {
    /// Counts above this belong to the upper class; as the `hot` of [`crate::radiometry::Thresholds`].
    pub threshold: u16,
    /// Readings in the upper class.
    pub upper: u64,
    /// Between-class over total variance, in thousandths. One normal distribution gives 637, an even one 750 (derived:
    /// 2/π, 3/4), so only clearly more than that speaks for two classes.
    pub separability: u16,
}

/// A histogram of counts over a [`Window`], in lent bins: median, scatter about it, percentiles, and the best split into
/// two classes. What lies outside the window is counted, and a quantile there is `None`. Off by a bin width at most, by
/// half a count for bins of one count. Four bytes a bin, 17 instructions a pixel.
#[derive(Debug)]
pub struct Histogram<'m> {
    bins: &'m mut [u32],
    state: HistogramState,
}

impl<'m> Histogram<'m> {
    /// An empty histogram in lent bins.
    ///
    /// # Errors
    /// [`SetupError::Memory`] for fewer than 2 or more than 65,536 bins.
    pub fn new(bins: &'m mut [u32], window: Window) -> core::result::Result<Self, SetupError> {
        if !(2..=BINS_MAX).contains(&bins.len()) {
            return Err(SetupError::Memory);
        }
        bins.fill(0);
        Ok(Self { bins, state: HistogramState { window, below: 0, above: 0 } })
    }

    /// Takes up again from a state and the same bins.
    pub const fn resume(bins: &'m mut [u32], state: HistogramState) -> Self {
        Self { bins, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> HistogramState {
        self.state
    }

    /// Empties the bins and looks at this window from now on.
    pub fn start(&mut self, window: Window) {
        self.bins.fill(0);
        self.state = HistogramState { window, below: 0, above: 0 };
    }

    /// The window in use.
    #[must_use]
    pub const fn window(&self) -> Window {
        self.state.window
    }

    /// Adds the readings of a row; what is no reading is left out. Every second or fourth row of a frame does as well
    /// and costs as much less.
    pub fn push(&mut self, row: &[u16], range: CountRange) {
        self.add_each(row.iter().filter(|&&count| range.holds(count)).copied());
    }

    /// Adds counts. The window is taken out of the loop, which an optimizer that is told to save space does not do.
    #[inline]
    pub(super) fn add_each(&mut self, counts: impl Iterator<Item = u16>) {
        let HistogramState { window: Window { first, shift }, .. } = self.state;
        let (mut below, mut above) = (0u32, 0u32);
        for count in counts {
            let offset = u32::from(count).wrapping_sub(u32::from(first));
            if let Some(bin) = self.bins.get_mut((offset >> shift) as usize) {
                *bin = bin.saturating_add(1);
            } else if (offset as i32) < 0 {
                below += 1;
            } else {
                above += 1;
            }
        }
        self.state.below = self.state.below.saturating_add(below);
        self.state.above = self.state.above.saturating_add(above);
    }

    /// Readings so far, those outside the window included.
    #[must_use]
    pub fn readings(&self) -> u64 {
        self.inside() + u64::from(self.state.below) + u64::from(self.state.above)
    }

    /// Readings below and above the window.
    #[must_use]
    pub const fn outside(&self) -> (u32, u32) {
        (self.state.below, self.state.above)
    }

    fn inside(&self) -> u64 {
        self.bins.iter().map(|&bin| u64::from(bin)).sum()
    }

    /// The count below which so many thousandths of the readings lie, with eight fractional bits. 500 is the median.
    /// `None` if there are no readings, or if the quantile lies outside the window.
    #[must_use]
    pub fn quantile_q8(&self, thousandths: u16) -> Option<u32> {
        let wanted = ((self.readings() << 8) * u64::from(thousandths.min(1_000))) / 1_000;
        let mut below = u64::from(self.state.below) << 8;
        if wanted < below {
            return None;
        }
        for (i, &bin) in self.bins.iter().enumerate() {
            let inside = u64::from(bin) << 8;
            if bin > 0 && below + inside >= wanted {
                let within = (((wanted - below) << 8).checked_div(inside).unwrap_or(0)) << self.state.window.shift;
                let start = (i64::from(self.state.window.first) << 8) + ((i as i64) << (8 + self.state.window.shift));
                // A bin of integers a…b is the interval from a − ½ to b + ½.
                return Some((start + within as i64 - 128).max(0) as u32);
            }
            below += inside;
        }
        None
    }

    /// Median absolute deviation about the median, in 1/256 count; `None` where the window does not hold it.
    #[must_use]
    pub fn deviation_q8(&self) -> Option<u32> {
        let median = i64::from(self.quantile_q8(500)?);
        let half = self.readings() << 7;
        let enough =
            |d: i64| self.mass_below_q8(median + d).saturating_sub(self.mass_below_q8(median - d)) >= half.max(1);
        // Bisection over all distances a 16-bit count can have.
        let (mut low, mut high) = (0i64, 1 << 24);
        if !enough(high) {
            return None;
        }
        while low < high {
            let middle = (low + high) / 2;
            if enough(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        Some(high as u32)
    }

    /// Standard deviation of the normal distribution with this [median absolute deviation](Self::deviation_q8): the
    /// scatter of the bulk, which a few hot or cold pixels do not move. A σ of one bin reads 10 % high, one of two bins
    /// 1 % (derived, from bins taken as evenly filled).
    #[must_use]
    pub fn sigma_q8(&self) -> Option<u32> {
        self.deviation_q8().map(|mad| ((u64::from(mad) * SIGMA_PER_MAD_Q16 + 0x8000) >> 16) as u32)
    }

    /// Readings below a value, with eight fractional bits, a bin's being spread evenly over it.
    fn mass_below_q8(&self, value_q8: i64) -> u64 {
        let shift = u32::from(self.state.window.shift);
        let offset = value_q8 + 128 - (i64::from(self.state.window.first) << 8);
        let below = u64::from(self.state.below) << 8;
        if offset <= 0 {
            return below;
        }
        let whole = (offset >> (8 + shift)) as usize;
        let part = (offset & ((1 << (8 + shift)) - 1)) as u64;
        let sum: u64 = self.bins.iter().take(whole).map(|&bin| u64::from(bin)).sum();
        let cut = self.bins.get(whole).map_or(0, |&bin| (u64::from(bin) * part) >> shift);
        below + (sum << 8) + cut
    }

    /// A window for the next frame: around the middle 99 % of this one with a quarter to spare on either side, and over
    /// all readings again when that part did not lie in the window. The margins are a proposal.
    #[must_use]
    pub fn next_window(&self, range: CountRange) -> Window {
        let (Some(low), Some(high)) = (self.quantile_q8(5), self.quantile_q8(995)) else {
            return Window::of(range, self.bins.len());
        };
        let (low, high) = (low >> 8, (high >> 8) + 1);
        let spare = (high - low) / 4 + 8;
        let first = low.saturating_sub(spare).max(u32::from(range.dead()) + 1);
        let last = (high + spare).min(u32::from(range.full_scale()) - 1);
        Window::over(first as u16, last as u16, self.bins.len())
    }

    /// The threshold that splits the readings in the window into the two classes of least variance within (Otsu, IEEE
    /// Trans. SMC 9(1), 1979: largest variance between); the first such if several are as good. `None` if all lie in
    /// one bin.
    ///
    /// *Scaling and overflow*: means are bins in Q12, below 2²⁸, so a squared difference stays below 2⁵⁶ and the product
    /// with both weights below 2¹²⁰.
    #[must_use]
    pub fn split(&self) -> Option<Split> {
        let total = self.inside();
        let (mut moment, mut square) = (0u64, 0u128);
        for (i, &bin) in self.bins.iter().enumerate() {
            let weighted = u64::from(bin) * i as u64;
            moment += weighted;
            square += u128::from(weighted) * i as u128;
        }
        let (mut lower, mut lower_moment) = (0u64, 0u64);
        let mut best: Option<(u128, usize, u64)> = None;
        for (i, &bin) in self.bins.iter().enumerate() {
            lower += u64::from(bin);
            lower_moment += u64::from(bin) * i as u64;
            let upper = total - lower;
            let (Some(mean_0), Some(mean_1)) =
                ((lower_moment << 12).checked_div(lower), ((moment - lower_moment) << 12).checked_div(upper))
            else {
                continue;
            };
            let apart = u128::from(mean_1.abs_diff(mean_0));
            let between = u128::from(lower) * u128::from(upper) * (apart * apart);
            if best.is_none_or(|(most, ..)| between > most) {
                best = Some((between, i, upper));
            }
        }
        let (between, bin, upper) = best?;
        // N²·variance on both sides; the one between carries the 24 bits of the squared means.
        let all = u128::from(total) * square - u128::from(moment) * u128::from(moment);
        let shift = u128::BITS.saturating_sub((all | (between >> 24)).leading_zeros()).saturating_sub(50);
        let (between, all) = ((between >> 24 >> shift) as u64, (all >> shift) as u64);
        let last = (i64::from(self.state.window.first) + (((bin + 1) as i64) << self.state.window.shift) - 1).max(0);
        Some(Split {
            threshold: last.min(0xFFFF) as u16,
            upper,
            separability: (between * 1_000 + all / 2).checked_div(all).unwrap_or(0).min(1_000) as u16,
        })
    }
}

/// A row-length check shared by the takers of rows.
pub(super) fn check_length(row: &[u16], width: u16) -> Result<()> {
    if row.len() == usize::from(width) { Ok(()) } else { Err(crate::Error::WrongLength) }
}
