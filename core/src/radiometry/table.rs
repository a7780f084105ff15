//! The fixed-point table from counts to object temperature.
//!
//! *What.* Straight pieces, equally spaced over all counts of the sensor; 256 of them (2 KiB) unless more are asked for.
//! *Why.* Building it costs a logarithm per piece, once; after that a pixel costs one multiplication. A piece is a
//! temperature and a slope side by side, so that a row needs one address per pixel; single values are interpolated by
//! Everett's third-order formula (memory; any text on finite differences) to 15 µK. *Guarantee.* Integer only and
//! identical on every target. The errors against the curve are bounded by [`TableOf::row_error`] and
//! [`TableOf::scalar_error`], found while building.

use super::MeasurementEquation;
use crate::error::{Error, Quantity, Result};
use crate::log::log;
use crate::units::{Delta, Kelvin, RowKelvin};
use fixed::types::I16F16;

/// Object temperatures the table covers, K: −60 °C to 1,000 °C. A proposal: colder than any vehicle, hotter than any
/// exhaust part. Outside it a count has no temperature.
const COVERED_KELVIN: (f64, f64) = (213.15, 1_273.15);

/// A straight piece in units of 2⁻²¹ K: slope per count, and temperature at its first count plus half a step of a row,
/// lifted so that the piece is off by the same amount in its middle and at its ends.
///
/// 2²¹ units to a kelvin fill 32 bits up to 2,048 K, and the upper half of the sum is the pixel of a converted row.
#[derive(Clone, Copy, Debug)]
struct Piece {
    start: u32,
    slope: u32,
}

/// Half a step of a converted row, which rounds it to nearest when its lower half is cut off.
const HALF_STEP: u32 = 1 << 15;
const BELOW: Piece = Piece { start: 0, slope: 0 };
const ABOVE: Piece = Piece { start: u32::MAX, slope: 0 };

/// A table of 256 pieces, 2 KiB: for sensors of up to 14 bits, or a short range of temperatures.
pub type Table = TableOf<256>;

/// A table of 1,024 pieces, 8 KiB: for 16 bits over a wide range, where memory is no concern.
pub type WideTable = TableOf<1024>;

/// Counts to object temperature for one [`MeasurementEquation`], in `N` pieces (a power of two).
#[derive(Clone, Debug)]
pub struct TableOf<const N: usize> {
    pieces: [Piece; N],
    /// First and one past the last piece that means temperatures.
    covered: (u16, u16),
    /// log2 of the counts in a piece.
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

impl<const N: usize> TableOf<N> {
    /// A table in which no count has a temperature; the value a `static` starts from.
    pub const EMPTY: Self = {
        assert!(N.is_power_of_two() && N >= 8 && N <= 16_384);
        let (row_error, scalar_error) = (Delta(I16F16::ZERO), Delta(I16F16::ZERO));
        Self { pieces: [BELOW; N], covered: (0, 0), shift: 0, row_error, scalar_error }
    };

    /// Builds the table for counts 0 to `full_scale`.
    ///
    /// # Errors
    /// As [`TableOf::build`].
    pub fn new(equation: &MeasurementEquation, full_scale: u16) -> Result<Self> {
        let mut table = Self::EMPTY;
        table.build(equation, full_scale)?;
        Ok(table)
    }

    /// Builds the table in place, for callers whose stack is small; on error the table is unchanged.
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if the counts from 0 to `full_scale` that mean a temperature do not fill four pieces.
    #[allow(clippy::float_arithmetic, reason = "set-up: the pieces are evaluated once")]
    pub fn build(&mut self, equation: &MeasurementEquation, full_scale: u16) -> Result<()> {
        let mut shift = 0u8;
        while N << shift <= usize::from(full_scale) {
            shift += 1;
        }
        let counts_of = |piece: usize| f64::from((piece as u32) << shift);
        // Where the object may not be that cold or hot (reflections lift the floor), the curve's own domain decides.
        let low = equation.counts(COVERED_KELVIN.0).unwrap_or(0.0);
        let high = equation.counts(COVERED_KELVIN.1).unwrap_or(f64::from(full_scale)).min(f64::from(full_scale));
        let first = (0..N).position(|piece| counts_of(piece) >= low && equation.object(counts_of(piece)).is_ok());
        let end = (0..N)
            .rev()
            .find(|&piece| counts_of(piece + 1) <= high + 1.0 && equation.object(counts_of(piece + 1)).is_ok());
        let (Some(first), Some(end)) = (first, end.map(|last| last + 1)) else { return Err(Error::NoTemperature) };
        if first + 4 > end {
            return Err(Error::NoTemperature);
        }
        // From here on nothing can fail, so the table is written in place.
        let units = |piece: usize| equation.object(counts_of(piece)).map_or(0.0, |kelvin| libm::round(kelvin * UNITS));
        let mut start = units(first);
        for (i, piece) in self.pieces.iter_mut().enumerate() {
            *piece = if i < first {
                BELOW
            } else if i >= end {
                ABOVE
            } else {
                let next = units(i + 1);
                let slope = libm::round((next - start) / f64::from(1u32 << shift));
                let here = Piece { start: start as u32 + HALF_STEP, slope: slope as u32 };
                start = next;
                here
            };
        }
        (self.covered, self.shift) = ((first as u16, end as u16), shift);
        for i in first..end {
            let lift = self.lift(i as i64);
            if let Some(piece) = self.pieces.get_mut(i) {
                piece.start = piece.start.wrapping_add_signed(lift as i32);
            }
        }
        self.find_errors(equation);
        log!("table: pieces {} to {}, row error {}, scalar error {}", first, end, self.row_error, self.scalar_error);
        Ok(())
    }

    /// Differences between pieces bound the errors inside; where the curve bends ever more, at the cold end, they fall
    /// short, and the table is compared with the equation itself.
    #[allow(clippy::float_arithmetic, reason = "set-up: two dozen points")]
    fn find_errors(&mut self, equation: &MeasurementEquation) {
        (self.row_error, self.scalar_error) = self.interpolation_errors();
        let start = f64::from(u32::from(self.covered.0) << self.shift);
        for eighth in 1..24u32 {
            let counts = start + f64::from(1u32 << self.shift) * f64::from(eighth) / 8.0;
            let q8 = libm::round(counts * 256.0) as u32;
            let (Ok(exact), Some(cubic)) = (equation.object(counts), self.temperature_q8(q8)) else { continue };
            let linear = self.linear_q8(q8) / UNITS;
            // A tenth more, as the largest error lies between the points, and two steps of rounding.
            let off = |value: f64| Delta::from_f64(libm::fabs(value - exact) * 1.1 + 2.0 / 65_536.0);
            self.row_error = self.row_error.max(off(linear));
            self.scalar_error = self.scalar_error.max(off(cubic.to_f64()));
        }
    }

    /// Temperature on the straight piece, in units, without the half step.
    #[allow(clippy::float_arithmetic, reason = "set-up: two dozen points")]
    fn linear_q8(&self, counts_q8: u32) -> f64 {
        let bits = u32::from(self.shift) + 8;
        let piece = self.pieces.get((counts_q8 >> bits) as usize).copied().unwrap_or(BELOW);
        let within = f64::from(counts_q8 & ((1 << bits) - 1)) / 256.0;
        f64::from(piece.start) - f64::from(HALF_STEP) + f64::from(piece.slope) * within
    }

    /// First and last count that mean a temperature.
    #[must_use]
    pub const fn counts_covered(&self) -> (u16, u16) {
        let (first, end) = (self.covered.0 as u32, self.covered.1 as u32);
        // A table that covers nothing gives a first count after the last.
        if end == 0 {
            return (u16::MAX, 0);
        }
        ((first << self.shift) as u16, ((end << self.shift) - 1) as u16)
    }

    /// Largest difference between a converted row and the curve, without the rounding to 1/32 K.
    #[must_use]
    pub const fn row_error(&self) -> Delta {
        self.row_error
    }

    /// Largest difference between a single converted value and the curve. Under 2 mK for a 14-bit sensor above −20 °C;
    /// where 16 bits stretch over the whole range, 256 pieces are too long for that, and 1,024 are not.
    #[must_use]
    pub const fn scalar_error(&self) -> Delta {
        self.scalar_error
    }

    /// Object temperature of a count, or `None` below or above the range of the table. Off from the curve by
    /// [`TableOf::scalar_error`] at most.
    #[must_use]
    pub fn temperature(&self, counts: u16) -> Option<Kelvin> {
        self.temperature_q8(u32::from(counts) << 8)
    }

    /// The same for a count with eight fractional bits, such as a mean.
    ///
    /// *Scaling and overflow*: temperatures are below 2³² units, fractions below 2²⁴; products stay below 2⁵⁸ in `i64`.
    #[must_use]
    pub fn temperature_q8(&self, counts_q8: u32) -> Option<Kelvin> {
        let (first, end) = (i64::from(self.covered.0), i64::from(self.covered.1));
        let bits = u32::from(self.shift) + 8;
        let i = i64::from(counts_q8 >> bits);
        if i < first || i >= end {
            return None;
        }
        let f = i64::from(counts_q8 & ((1 << bits) - 1)) << (24 - bits);
        let (k0, k1) = (self.knot(i), self.knot(i + 1));
        // The ends repeat the neighboring second difference.
        let d0 = self.bend(i.max(first + 1));
        let d1 = self.bend((i + 1).min(end - 1));
        let one = 1i64 << 24;
        let linear = k0 + (((k1 - k0) * f) >> 24);
        let weight = (f * (one - f)) >> 24;
        let bend = (d0 * (2 * one - f) + d1 * (one + f)) >> 24;
        // From units of 2^-21 K to Q16.16, rounded.
        let q16 = (linear - ((weight * bend) >> 24) / 6 + 16) >> 5;
        i32::try_from(q16).ok().map(|bits| Kelvin(I16F16::from_bits(bits)))
    }

    /// Converts a row of counts to kelvin in steps of 1/32 K. Below the table's range a pixel becomes
    /// `RowKelvin::ZERO`, above it `RowKelvin::MAX`: both mean "no temperature", and no temperature converts to them.
    /// Cost: one multiplication and two table reads, side by side, per pixel.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the slices differ in length; `kelvin` is then untouched.
    pub fn kelvin_row(&self, counts: &[u16], kelvin: &mut [RowKelvin]) -> Result<()> {
        if counts.len() != kelvin.len() {
            return Err(Error::WrongLength);
        }
        let shift = u32::from(self.shift);
        let mask = (1u32 << shift) - 1;
        let convert = |count: u16| {
            let count = u32::from(count);
            // Counts beyond the full scale have no piece.
            let piece = self.pieces.get((count >> shift) as usize).unwrap_or(&ABOVE);
            let sum = piece.start.wrapping_add(piece.slope.wrapping_mul(count & mask));
            RowKelvin::from_bits((sum >> 16) as u16)
        };
        // Written out fourfold, because an optimizer that is told to save space does not unroll.
        let (fours, rest) = counts.as_chunks::<4>();
        let (fours_out, rest_out) = kelvin.as_chunks_mut::<4>();
        for (out, &[a, b, c, d]) in fours_out.iter_mut().zip(fours) {
            *out = [convert(a), convert(b), convert(c), convert(d)];
        }
        for (out, &count) in rest_out.iter_mut().zip(rest) {
            *out = convert(count);
        }
        Ok(())
    }

    /// The largest count whose temperature is at or below `temperature`; counts above it are hotter. `None` if the
    /// whole table is hotter. Sixteen steps of bisection, integer only.
    #[must_use]
    pub fn counts_at_or_below(&self, temperature: Kelvin) -> Option<u16> {
        let (mut low, mut high) = self.counts_covered();
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

    fn piece(&self, i: i64) -> Piece {
        self.pieces.get(i as usize).copied().unwrap_or(BELOW)
    }

    /// Units by which a piece is lifted: half its sagitta, which is an eighth of the second difference. Depends on the
    /// slopes alone, so that it can be taken off again.
    fn lift(&self, i: i64) -> i64 {
        // The last piece repeats the bend before it.
        let i = i.min(i64::from(self.covered.1) - 2);
        let bend = (i64::from(self.piece(i + 1).slope) - i64::from(self.piece(i).slope)) << self.shift;
        -bend / 16
    }

    /// Temperature at the first count of a piece, in units; the piece after the last covered one ends that.
    fn knot(&self, i: i64) -> i64 {
        let last = i64::from(self.covered.1) - 1;
        let piece = self.piece(i.min(last));
        let start = i64::from(piece.start) - i64::from(HALF_STEP) - self.lift(i.min(last));
        if i <= last { start } else { start + (i64::from(piece.slope) << self.shift) }
    }

    /// Second difference at an inner knot.
    fn bend(&self, i: i64) -> i64 {
        self.knot(i - 1) - 2 * self.knot(i) + self.knot(i + 1)
    }

    /// Bounds of the error of the lifted pieces and of third-order interpolation, from differences between knots: a
    /// sixteenth of the second, and 1/32 of the fourth (3/128, and a third more as it grows within a piece); in the last
    /// piece, which repeats a second difference, 0.065 of the third (largest value of f·(1−f)·(2−f)/6).
    fn interpolation_errors(&self) -> (Delta, Delta) {
        let (mut second, mut third, mut fourth) = (0i64, 0i64, 0i64);
        let (first, end) = (i64::from(self.covered.0), i64::from(self.covered.1));
        let (mut before, mut change_before) = (self.bend(first + 1), 0);
        for i in first + 2..end {
            let bend = self.bend(i);
            let change = bend - before;
            second = second.max(bend.abs()).max(before.abs());
            third = change.abs();
            if i > first + 2 {
                fourth = fourth.max((change - change_before).abs());
            }
            (before, change_before) = (bend, change);
        }
        // From units to Q16.16, with four steps for the rounding in pieces and result. A lift follows the bend at the end
        // of its piece, so the change of the bend adds to the error.
        let bounded = |units: i64| Delta(I16F16::from_bits(i32::try_from((units >> 5) + 4).unwrap_or(i32::MAX)));
        (bounded(second / 16 + fourth / 8), bounded((third * 65 / 1000).max(fourth / 32)))
    }
}

/// Units of a piece to the kelvin.
const UNITS: f64 = 2_097_152.0;
