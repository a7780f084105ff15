//! The fixed-point table from counts to object temperature.
//!
//! *What.* 257 knots, equally spaced in counts over the part of the count range that means a temperature; 1 KiB.
//! *Why.* Building it costs 257 logarithms once; after that a pixel costs one multiplication. Rows are interpolated
//! linearly to 1/32 K; single values by Everett's third-order formula (memory; any text on finite differences) to
//! 15 µK. *Guarantee.* Both conversions are monotonic where the curve is, integer only, and identical on every target.
//! The errors against the curve are bounded by [`Table::row_error`] and [`Table::scalar_error`], found while building.

use super::MeasurementEquation;
use crate::error::{Error, Quantity, Result};
use crate::units::{Delta, Kelvin, RowKelvin};
use fixed::types::I16F16;

/// Intervals between knots.
const INTERVALS: usize = 256;

/// Object temperatures the table covers, K: −60 °C to 1,000 °C. A proposal: colder than any vehicle, hotter than any
/// exhaust part. Outside it a count has no temperature.
const COVERED_KELVIN: (f64, f64) = (213.15, 1_273.15);

/// Counts to object temperature for one [`MeasurementEquation`].
#[derive(Clone, Debug)]
pub struct Table {
    /// Temperature at each knot, kelvin in Q16.16.
    knots: [u32; INTERVALS + 1],
    /// First count with a temperature, also the first knot.
    first: u16,
    /// Last count with a temperature.
    last: u16,
    /// log2 of the counts between knots.
    shift: u8,
    row_error: Delta,
    scalar_error: Delta,
}

/// Count thresholds for the region scanner: a count above `hot` is hot, one below `cold` is cold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Thresholds {
    hot: u16,
    cold: u16,
}

impl Thresholds {
    /// Neither hot nor cold: nothing is found.
    pub const NONE: Self = Self { hot: u16::MAX, cold: 0 };

    /// Thresholds in counts.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if `cold` exceeds `hot`: a pixel cannot be both.
    pub const fn new(hot: u16, cold: u16) -> Result<Self> {
        if cold <= hot { Ok(Self { hot, cold }) } else { Err(Error::OutOfRange(Quantity::Thresholds)) }
    }

    /// Counts above this are hot.
    #[must_use]
    pub const fn hot(self) -> u16 {
        self.hot
    }

    /// Counts below this are cold.
    #[must_use]
    pub const fn cold(self) -> u16 {
        self.cold
    }
}

impl Table {
    /// A table in which no count has a temperature; the value a `static` starts from.
    pub const EMPTY: Self = Self {
        knots: [0; INTERVALS + 1],
        first: u16::MAX,
        last: 0,
        shift: 0,
        row_error: Delta(I16F16::ZERO),
        scalar_error: Delta(I16F16::ZERO),
    };

    /// Builds the table for counts 0 to `full_scale`.
    ///
    /// # Errors
    /// As [`Table::build`].
    pub fn new(equation: &MeasurementEquation, full_scale: u16) -> Result<Self> {
        let mut table = Self::EMPTY;
        table.build(equation, full_scale)?;
        Ok(table)
    }

    /// Builds the table in place, for callers whose stack is small; on error the table is unchanged.
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if fewer than two counts from 0 to `full_scale` mean a temperature.
    #[allow(clippy::float_arithmetic, reason = "set-up: the knots are evaluated once")]
    pub fn build(&mut self, equation: &MeasurementEquation, full_scale: u16) -> Result<()> {
        let full = f64::from(full_scale);
        // Where the object may not be that cold or hot (reflections lift the floor), the curve's own domain decides.
        let low = equation.counts(COVERED_KELVIN.0).unwrap_or(0.0);
        let high = equation.counts(COVERED_KELVIN.1).unwrap_or(full);
        let first = libm::ceil(low).clamp(0.0, full) as u16;
        let last = libm::floor(high).clamp(0.0, full) as u16;
        if first >= last || equation.object(f64::from(first)).is_err() || equation.object(f64::from(last)).is_err() {
            return Err(Error::NoTemperature);
        }
        let span = u32::from(last - first);
        let mut shift = 0u8;
        while (INTERVALS as u32) << shift < span {
            shift += 1;
        }
        // Knots beyond the last count only carry the interpolation; where the curve ends they go on in a straight line.
        let (mut before, mut step) = (0u32, 0u32);
        // From here on nothing can fail, so the table is written in place.
        for (i, knot) in self.knots.iter_mut().enumerate() {
            let counts = u32::from(first) + ((i as u32) << shift);
            *knot = match equation.object(f64::from(counts)) {
                Ok(kelvin) => libm::round(kelvin * 65_536.0) as u32,
                Err(_) => before.saturating_add(step),
            };
            step = knot.saturating_sub(before);
            before = *knot;
        }
        let used = (span >> shift) as usize + 2;
        let (row_error, scalar_error) = interpolation_errors(self.knots.get(..used).unwrap_or(&self.knots));
        (self.first, self.last, self.shift) = (first, last, shift);
        (self.row_error, self.scalar_error) = (row_error, scalar_error);
        self.probe_cold_end(equation);
        Ok(())
    }

    /// Differences between knots underrate the error where the curve bends ever more, at the cold end: there the table
    /// is compared with the equation itself.
    #[allow(clippy::float_arithmetic, reason = "set-up: a dozen points")]
    fn probe_cold_end(&mut self, equation: &MeasurementEquation) {
        let spacing = f64::from(1u32 << self.shift);
        for eighth in 1..24u32 {
            let offset = spacing * f64::from(eighth) / 8.0;
            let (i, f) = ((eighth / 8) as usize, f64::from(eighth % 8) / 8.0);
            let counts = f64::from(self.first) + offset;
            let (Ok(exact), Some(cubic)) =
                (equation.object(counts), self.temperature_q8(libm::round(counts * 256.0) as u32))
            else {
                continue;
            };
            let linear = (self.knot(i) as f64 * (1.0 - f) + self.knot(i + 1) as f64 * f) / 65_536.0;
            // A tenth more, as the largest error lies between the points.
            let off = |value: f64| Delta::from_f64(libm::fabs(value - exact) * 1.1);
            self.row_error = self.row_error.max(off(linear));
            self.scalar_error = self.scalar_error.max(off(cubic.to_f64()));
        }
    }

    /// First and last count that mean a temperature.
    #[must_use]
    pub const fn counts_covered(&self) -> (u16, u16) {
        (self.first, self.last)
    }

    /// Largest difference between a converted row and the curve, without the rounding to 1/32 K.
    #[must_use]
    pub const fn row_error(&self) -> Delta {
        self.row_error
    }

    /// Largest difference between a single converted value and the curve. Under 2 mK for a 14-bit sensor, more where
    /// 16 bits stretch over the whole range, since 256 intervals then lie wider apart.
    #[must_use]
    pub const fn scalar_error(&self) -> Delta {
        self.scalar_error
    }

    /// Object temperature of a count, or `None` below or above the range of the table. Off from the curve by
    /// [`Table::scalar_error`] at most.
    #[must_use]
    pub fn temperature(&self, counts: u16) -> Option<Kelvin> {
        self.temperature_q8(u32::from(counts) << 8)
    }

    /// The same for a count with eight fractional bits, such as a mean.
    ///
    /// *Scaling and overflow*: knots are below 2³¹, fractions below 2²⁴; products stay below 2⁵⁸ in `i64`.
    #[must_use]
    pub fn temperature_q8(&self, counts_q8: u32) -> Option<Kelvin> {
        if counts_q8 < u32::from(self.first) << 8 || counts_q8 > u32::from(self.last) << 8 {
            return None;
        }
        let offset = counts_q8 - (u32::from(self.first) << 8);
        let bits = u32::from(self.shift) + 8;
        let i = ((offset >> bits) as usize).min(INTERVALS - 1);
        // Fraction in Q24; the last count may sit exactly on the last knot.
        let f = i64::from(offset - ((i as u32) << bits)) << (24 - bits);
        let (k0, k1) = (self.knot(i), self.knot(i + 1));
        // The ends repeat the neighboring second difference.
        let d0 = self.bend(i.max(1));
        let d1 = self.bend((i + 1).min(INTERVALS - 1));
        let one = 1i64 << 24;
        let linear = k0 + (((k1 - k0) * f) >> 24);
        let weight = (f * (one - f)) >> 24;
        let bend = (d0 * (2 * one - f) + d1 * (one + f)) >> 24;
        let bits = linear - ((weight * bend) >> 24) / 6;
        i32::try_from(bits).ok().map(|bits| Kelvin(I16F16::from_bits(bits)))
    }

    /// Converts a row of counts to kelvin in steps of 1/32 K. Below the table's range a pixel becomes
    /// `RowKelvin::ZERO`, above it `RowKelvin::MAX`: both mean "no temperature", and no temperature converts to them.
    /// Cost: one multiplication and two table reads per pixel.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the slices differ in length; `kelvin` is then untouched.
    pub fn kelvin_row(&self, counts: &[u16], kelvin: &mut [RowKelvin]) -> Result<()> {
        if counts.len() != kelvin.len() {
            return Err(Error::WrongLength);
        }
        let shift = u32::from(self.shift);
        let mask = (1u32 << shift) - 1;
        for (out, &count) in kelvin.iter_mut().zip(counts) {
            *out = if count < self.first {
                RowKelvin::ZERO
            } else if count > self.last {
                RowKelvin::MAX
            } else {
                let offset = u32::from(count - self.first);
                let i = (offset >> shift) as usize;
                let k0 = self.knots.get(i).copied().unwrap_or(0);
                // The last count may be the last knot, which has no successor and needs none.
                let k1 = self.knots.get(i + 1).copied().unwrap_or(k0);
                // A step between knots is below 2^23 and the fraction below 2^8: the product fits in 32 bits.
                let q16 = k0.wrapping_add((k1.wrapping_sub(k0)).wrapping_mul(offset & mask) >> shift);
                RowKelvin::from_bits((q16.wrapping_add(1 << 10) >> 11) as u16)
            };
        }
        Ok(())
    }

    /// The largest count whose temperature is at or below `temperature`; counts above it are hotter. `None` if the
    /// whole table is hotter. Sixteen steps of bisection, integer only.
    #[must_use]
    pub fn counts_at_or_below(&self, temperature: Kelvin) -> Option<u16> {
        let (mut low, mut high) = (self.first, self.last);
        if self.temperature(low)? > temperature {
            return None;
        }
        while low < high {
            let middle = low + (high - low).div_ceil(2);
            if self.temperature(middle)? <= temperature {
                low = middle;
            } else {
                high = middle - 1;
            }
        }
        Some(low)
    }

    /// Scanner thresholds from temperatures: hotter than `hot` is hot, colder than `cold` is cold. A limit outside the
    /// table finds nothing on its side.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if `cold` exceeds `hot`.
    pub fn thresholds(&self, hot: Kelvin, cold: Kelvin) -> Result<Thresholds> {
        let above = self.counts_at_or_below(hot).unwrap_or(u16::MAX);
        // Colder than `cold`: below the first count that is at or above it.
        let below = match self.counts_at_or_below(cold) {
            Some(count) if self.temperature(count) == Some(cold) => count,
            Some(count) => count.saturating_add(1),
            None => 0,
        };
        if cold > hot {
            return Err(Error::OutOfRange(Quantity::Thresholds));
        }
        // Between the two temperatures there may be no count at all; then they meet.
        Thresholds::new(above.max(below), below)
    }

    fn knot(&self, i: usize) -> i64 {
        self.knots.get(i).copied().map_or(0, i64::from)
    }

    /// Second difference at an inner knot.
    fn bend(&self, i: usize) -> i64 {
        self.knot(i - 1) - 2 * self.knot(i) + self.knot(i + 1)
    }
}

/// Bounds of the error of linear and of third-order interpolation in these knots, from their differences: an eighth of
/// the second, and 3/128 of the fourth; in the last interval, which repeats a second difference, 0.065 of the third
/// (largest value of f·(1−f)·(2−f)/6).
fn interpolation_errors(knots: &[u32]) -> (Delta, Delta) {
    let (mut second, mut third, mut fourth) = (0i64, 0i64, 0i64);
    let value = |k: u32| i64::from(k);
    let count = knots.len();
    for (i, w) in knots.windows(5).enumerate() {
        let [a, b, c, d, e] = *w else { continue };
        let (a, b, c, d, e) = (value(a), value(b), value(c), value(d), value(e));
        second = second.max((a - 2 * b + c).abs()).max((c - 2 * d + e).abs());
        fourth = fourth.max((a - 4 * b + 6 * c - 4 * d + e).abs());
        if i + 5 == count {
            third = third.max((e - 3 * d + 3 * c - b).abs());
        }
    }
    let bounded = |bits: i64| Delta(I16F16::from_bits(i32::try_from(bits).unwrap_or(i32::MAX)));
    // One step of rounding in the knots and one in the result.
    (bounded(second / 8 + 2), bounded((third * 65 / 1000).max(fourth * 3 / 128) + 2))
}
