//! The fixed-point table from counts to object temperature.
//!
//! *What.* Straight pieces, equally spaced over all counts of the sensor. *Why.* Building it costs a logarithm per
//! piece, once; after that a pixel costs one multiplication. Single values are interpolated by Everett's third-order
//! formula (memory; any text on finite differences). *Guarantee.* Integer only and identical on every target. The
//! errors against the curve are bounded by [`TableOf::row_error`] and [`TableOf::scalar_error`], found while building.
//!
//! *How many pieces.* The error falls with the square of their number, and depends on how many kelvin a sensor spreads
//! over its counts; `docs/accuracy.md` has the figures. 256 serve 14 bits over a couple of hundred kelvin, 512 a 14-bit
//! sensor in a range of several hundred, 2,048 a 16-bit sensor over everything.
//!
//! *Form of a piece.* Start and slope in units of 2⁻ᶠ steps of 1/32 K, where *f* is the largest of 16, 12, 8, 4 for
//! which all slopes fit in 16 bits: T = start + slope · count, modulo 2³². The start is that of the line at count 0, so
//! that a pixel needs no position within its piece, and the count is taken as a signed 16-bit number: two halves of a
//! word are multiplied as they are. No piece straddles the change of sign, and the start allows for it.

#[allow(clippy::float_arithmetic, reason = "set-up: the pieces are evaluated once")]
mod build;
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
mod lanes;
#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod picked;
mod rows;
mod single;
mod thresholds;

#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
pub(crate) use picked::Lines;
pub use thresholds::Thresholds;

use super::MeasurementEquation;
use crate::error::{Error, Result};
use crate::units::{Delta, Kelvin, RowKelvin};
use fixed::types::I16F16;

/// Fraction bits of a piece when slopes are small: below half a step, 16 mK, per count. Then a pixel of a row is the upper
/// half of the sum. Knots and single values always have this unit, 2⁻¹⁶ steps of 1/32 K.
const FINE: u32 = 16;
/// Fraction bits of pieces with slopes below 8 steps, 0.25 K, per count.
const COARSE: u32 = 12;
/// Knot units to the kelvin.
const UNITS: f64 = 2_097_152.0;

/// A table of 256 pieces, 1.5 KiB: for sensors of up to 14 bits over a couple of hundred kelvin.
pub type Table = TableOf<256>;

/// A table of 2,048 pieces, 12 KiB: for 16 bits over a wide range, where memory is no concern.
pub type WideTable = TableOf<2048>;

/// Counts to object temperature for one [`MeasurementEquation`], in `N` pieces (a power of two), 6 bytes each.
///
/// *Layout*: integers of 16 and 32 bits only, without gaps, in the order C would give them, so that a finished table can be
/// kept as bytes and used where it lies; [`TableOf::is_whole`] says whether they can be one.
#[repr(C)]
#[derive(Clone, Debug)]
pub struct TableOf<const N: usize> {
    head: Head,
    starts: [u32; N],
    slopes: [i16; N],
}

/// What a table knows beside its pieces.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
struct Head {
    /// First and one past the last piece that means temperatures.
    covered: [u16; 2],
    /// log2 of the counts in a piece.
    shift: u16,
    /// Fraction bits of the pieces.
    fraction: u16,
    row_error: Delta,
    scalar_error: Delta,
}

impl Head {
    const EMPTY: Self = {
        let none = Delta(I16F16::ZERO);
        Self { covered: [0, 0], shift: 0, fraction: FINE as u16, row_error: none, scalar_error: none }
    };
}

/// A table apart from its size, so that only the loop over a row is compiled once for each.
#[derive(Clone, Copy)]
struct View<'t> {
    head: &'t Head,
    starts: &'t [u32],
    slopes: &'t [i16],
}

impl<const N: usize> TableOf<N> {
    /// A table in which no count has a temperature; the value a `static` starts from.
    pub const EMPTY: Self = {
        assert!(N.is_power_of_two() && N >= 8 && N <= 16_384);
        Self { head: Head::EMPTY, starts: [0; N], slopes: [0; N] }
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
    /// [`Error::NoTemperature`] if the counts from 0 to `full_scale` that mean a temperature do not fill four pieces, or
    /// if a count is more than 64 K.
    pub fn build(&mut self, equation: &MeasurementEquation, full_scale: u16) -> Result<()> {
        self.head = build::build(equation, full_scale, &mut self.starts, &mut self.slopes)?;
        Ok(())
    }

    /// Whether what it says of its pieces agrees, as it does once it is built; [`TableOf::EMPTY`] has none. For bytes that
    /// came from elsewhere: no proof that they are what was built.
    #[must_use]
    pub const fn is_whole(&self) -> bool {
        let Head { covered: [first, end], shift, fraction, .. } = self.head;
        let counts = (N as u64) << (shift & 31);
        let fits = shift <= 16 && counts <= 1 << 16 && first < end && end as usize <= N;
        fits && matches!(fraction as u32, FINE | COARSE | 8 | 4)
    }

    const fn view(&self) -> View<'_> {
        View { head: &self.head, starts: &self.starts, slopes: &self.slopes }
    }

    /// First and last count that mean a temperature.
    #[must_use]
    pub const fn counts_covered(&self) -> (u16, u16) {
        self.view().counts_covered()
    }

    /// Largest difference between a converted row and the curve, without the rounding to 1/32 K.
    #[must_use]
    pub const fn row_error(&self) -> Delta {
        self.head.row_error
    }

    /// Largest difference between a single converted value and the curve.
    #[must_use]
    pub const fn scalar_error(&self) -> Delta {
        self.head.scalar_error
    }

    /// Object temperature of a count, or `None` below or above the range of the table. Off from the curve by
    /// [`TableOf::scalar_error`] at most.
    #[must_use]
    pub fn temperature(&self, counts: u16) -> Option<Kelvin> {
        self.view().temperature_q8(u32::from(counts) << 8)
    }

    /// The same for a count with eight fractional bits, such as a mean.
    #[must_use]
    pub fn temperature_q8(&self, counts_q8: u32) -> Option<Kelvin> {
        self.view().temperature_q8(counts_q8)
    }

    /// The largest count whose temperature is at or below `temperature`; counts above it are hotter. `None` if the
    /// whole table is hotter. Sixteen steps of bisection, integer only. Two curves with a step repeat temperatures, or
    /// leave some out; for those, any count beside the hand-over may come out.
    #[must_use]
    pub fn counts_at_or_below(&self, temperature: Kelvin) -> Option<u16> {
        self.view().counts_at_or_below(temperature)
    }

    /// Scanner thresholds from temperatures: hotter than `hot` is hot, colder than `cold` is cold. Where the table ends,
    /// temperatures beyond are neither known to be hotter nor colder than a limit beyond: with `hot` above the table
    /// nothing is hot, with `cold` below it nothing is cold; with `hot` below or `cold` above it all counts of the table
    /// are. If no count lies between `hot` and `cold`, the one count that is both hotter and colder is cold.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if `cold` exceeds `hot`.
    // Always inlined, here and in the view: a second caller would cost every image that scans 76 bytes.
    #[inline(always)]
    pub fn thresholds(&self, hot: Kelvin, cold: Kelvin) -> Result<Thresholds> {
        self.view().thresholds(hot, cold)
    }

    /// Writes what every count converts to, for machines where 128 KiB of memory cost less than a multiplication per pixel:
    /// a row is then `kelvin[count]` for each of its counts, with the same bytes: faster than [`TableOf::kelvin_row`] where
    /// neighbors differ much, slower where they do not and vectors are wide (`docs/peers.md`).
    pub fn write_lookup(&self, kelvin: &mut [RowKelvin; 65_536]) {
        for (counts, part) in (0u32..).step_by(256).zip(kelvin.as_chunks_mut::<256>().0) {
            let counts: [u16; 256] = core::array::from_fn(|i| (counts + i as u32) as u16);
            rows::convert(self, &counts, part);
        }
    }

    /// Converts a row of counts, or a frame of them, to kelvin in steps of 1/32 K. Below the table's range a pixel becomes
    /// `RowKelvin::ZERO`, above it `RowKelvin::MAX`: both mean "no temperature", and no temperature converts to them.
    /// Cost: one multiplication and two table reads per pixel; 14- and 16-bit sensors with slopes below a quarter of a
    /// kelvin per count go 16 pixels at a time. On a desktop, 16 neighbors in up to four pieces that follow one another
    /// need no reads, nor do 32 neighbors in any of 16 such pieces with AVX2, or of 32 with AVX-512, so frames with little
    /// contrast take a part of the time (`docs/peers.md`).
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the slices differ in length; `kelvin` is then untouched.
    pub fn kelvin_row(&self, counts: &[u16], kelvin: &mut [RowKelvin]) -> Result<()> {
        if counts.len() != kelvin.len() {
            return Err(Error::WrongLength);
        }
        rows::convert(self, counts, kelvin);
        Ok(())
    }
}

impl View<'_> {
    const fn counts_covered(self) -> (u16, u16) {
        let (first, end) = (self.head.covered[0] as u32, self.head.covered[1] as u32);
        // A table that covers nothing gives a first count after the last.
        if end == 0 {
            return (u16::MAX, 0);
        }
        ((first << self.head.shift) as u16, ((end << self.head.shift) - 1) as u16)
    }

    fn slope(self, i: i64) -> i16 {
        self.slopes.get(i as usize).copied().unwrap_or(0)
    }

    /// The line of piece `i` at its first count, as a row has it: lifted, and half a step up. In knot units.
    fn line_start(self, i: i64) -> i64 {
        let first_count = (i << self.head.shift) as i16;
        let product = i32::from(self.slope(i)).wrapping_mul(i32::from(first_count));
        let sum = self.starts.get(i as usize).map_or(0, |start| start.wrapping_add_signed(product));
        i64::from(sum) << self.dropped()
    }

    /// What piece `i` gains over its counts, knot units.
    fn rise(self, i: i64) -> i64 {
        i64::from(self.slope(i)) << (u32::from(self.head.shift) + self.dropped())
    }

    /// Knot units by which a piece is lifted, so that it is off by the same amount in its middle and at its ends: half
    /// its sagitta, which is an eighth of the second difference. Depends on the slopes alone, so that it can be taken
    /// off again.
    fn lift(self, i: i64) -> i64 {
        // The last piece repeats the bend before it.
        let i = i.min(i64::from(self.head.covered[1]) - 2);
        -(self.rise(i + 1) - self.rise(i)) / 16
    }

    /// Temperature at the first count of a piece, knot units; the piece after the last covered one ends that.
    fn knot(self, i: i64) -> i64 {
        let last = i64::from(self.head.covered[1]) - 1;
        let whole = |units: i64| (units >> self.dropped()) << self.dropped();
        let piece = i.min(last);
        let start = self.line_start(piece) - HALF_STEP - whole(self.lift(piece));
        if i <= last { start } else { start + self.rise(piece) }
    }

    /// Bits of a knot unit that a piece does not have.
    const fn dropped(self) -> u32 {
        FINE - self.head.fraction as u32
    }

    /// Second difference at an inner knot.
    fn bend(self, i: i64) -> i64 {
        self.knot(i - 1) - 2 * self.knot(i) + self.knot(i + 1)
    }
}

/// Half a step of a converted row, which rounds it to nearest when what is below a step is cut off.
const HALF_STEP: i64 = 1 << (FINE - 1);

#[cfg(test)]
mod tests {
    use super::{Head, Table};
    use crate::radiometry::{LinearScale, MeasurementEquation, Scale, Scene};

    #[test]
    fn only_what_was_built_is_whole() {
        let scale = Scale::Linear(LinearScale::new(100.0, -273.15).unwrap());
        let built = Table::new(&MeasurementEquation::new(&scale, &Scene::BLACKBODY).unwrap(), u16::MAX).unwrap();
        assert!(built.is_whole() && !Table::EMPTY.is_whole());
        let [first, end] = built.head.covered;
        let broken = [
            Head { covered: [end, first], ..built.head },
            Head { covered: [first, 257], ..built.head },
            Head { shift: built.head.shift + 1, ..built.head },
            Head { shift: built.head.shift + 32, ..built.head },
            Head { fraction: built.head.fraction + 1, ..built.head },
        ];
        for head in broken {
            assert!(!Table { head, ..built.clone() }.is_whole(), "{head:?}");
        }
    }
}
