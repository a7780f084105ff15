//! Slopes over time, from running sums.
//!
//! *What.* The least-squares line through all sightings of a track since they began to be counted; at 4,096 sightings or
//! 4.6 hours counting begins again. *Scaling and overflow*: times are below 2²⁴ ms, values below 2²⁴ (a larger area
//! counts as that), so products of 4,096 of them stay below 2⁶⁰ in `i64`, and the closing products in `i128`.
//!
//! *Uncertainty.* From the scatter about the line, over n − 2 (derived: least squares). It holds for scatter that differs
//! from sighting to sighting; about a curve it says how badly a line fits, and drift of the sensor is not in it. With few
//! sightings the scatter itself is poorly known: 95 % lie within 12.7 of it at three sightings, 2.6 at seven, 2.0 at many
//! (Student).

use super::ratio::scaled;

/// Sightings before counting begins again.
const SIGHTINGS_MAX: u32 = 4_096;
const TIME_MAX: u32 = 1 << 24;
/// Fewest sightings for a slope.
const SIGHTINGS_MIN: u32 = 3;

/// How a region changes, in 1/256 of its unit per second. Who gives 1,000 times the frame number for a time gets it per
/// frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Trend {
    /// Pixels per second, Q8.
    pub area_q8: i64,
    /// Its standard uncertainty, from the scatter about the line, with n − 2 degrees of freedom; likewise below.
    pub area_uncertainty_q8: i64,
    /// Counts per second, Q8, of the peak.
    pub peak_q8: i64,
    /// Standard uncertainty of that.
    pub peak_uncertainty_q8: i64,
    /// Counts per second, Q8, of what the peak lies beyond its threshold.
    pub contrast_q8: i64,
    /// Standard uncertainty of that.
    pub contrast_uncertainty_q8: i64,
    /// Sightings it rests on.
    pub sightings: u32,
    /// Time from the first of them to the last, ms.
    pub span_ms: u32,
}

/// Running sums of time and three values.
#[derive(Clone, Copy, Debug)]
pub(super) struct TrendSums {
    began_ms: u32,
    last_ms: u32,
    n: u32,
    t: i64,
    tt: i64,
    values: [ValueSums; 3],
}

/// Running sums of a value.
#[derive(Clone, Copy, Debug)]
struct ValueSums {
    v: i64,
    /// Of time·value.
    tv: i64,
    /// Of squares.
    vv: i64,
}

impl ValueSums {
    const EMPTY: Self = Self { v: 0, tv: 0, vv: 0 };
}

impl TrendSums {
    pub(super) const EMPTY: Self = Self { began_ms: 0, last_ms: 0, n: 0, t: 0, tt: 0, values: [ValueSums::EMPTY; 3] };

    pub(super) fn add(&mut self, time_ms: u32, values: [u32; 3]) {
        if self.n == SIGHTINGS_MAX || time_ms.wrapping_sub(self.began_ms) >= TIME_MAX {
            *self = Self::EMPTY;
        }
        if self.n == 0 {
            self.began_ms = time_ms;
        }
        let t = i64::from(time_ms.wrapping_sub(self.began_ms));
        self.last_ms = time_ms;
        self.n += 1;
        self.t += t;
        self.tt += t * t;
        for (sums, value) in self.values.iter_mut().zip(values) {
            let value = i64::from(value.min((1 << 24) - 1));
            sums.v += value;
            sums.tv += t * value;
            sums.vv += value * value;
        }
    }

    /// `None` before the third sighting, or if all have one time.
    pub(super) fn trend(&self) -> Option<Trend> {
        let (n, t) = (i128::from(self.n), i128::from(self.t));
        let spread = n * i128::from(self.tt) - t * t;
        let slope = |sums: ValueSums| {
            let v = i128::from(sums.v);
            let across = n * i128::from(sums.tv) - t * v;
            let slope = scaled(across, spread, 256_000)?;
            let scatter = n * i128::from(sums.vv) - v * v;
            // Rounded up, so that a line that fits to the last count is not known without limit.
            let uncertainty = scaled(residual(spread, scatter, across, self.n)?, spread, 256_000)?.saturating_add(1);
            Some((slope, uncertainty))
        };
        let [area, peak, contrast] = self.values;
        if self.n < SIGHTINGS_MIN {
            return None;
        }
        let ((area_q8, area_uncertainty_q8), (peak_q8, peak_uncertainty_q8)) = (slope(area)?, slope(peak)?);
        let (contrast_q8, contrast_uncertainty_q8) = slope(contrast)?;
        Some(Trend {
            area_q8,
            area_uncertainty_q8,
            peak_q8,
            peak_uncertainty_q8,
            contrast_q8,
            contrast_uncertainty_q8,
            sightings: self.n,
            span_ms: self.last_ms.wrapping_sub(self.began_ms),
        })
    }
}

/// √((tt·vv − tv²)/(n − 2)) of n-fold centered sums, rounded up: over tt, that is the standard uncertainty of the slope.
///
/// *Scaling and overflow*: the sums are below 2⁷²; each is brought to 62 bits, so that products have 124. A residual
/// below 2⁻³⁰ of the scatter is then lost, and one in counts never is that small.
fn residual(tt: i128, vv: i128, tv: i128, n: u32) -> Option<i128> {
    let halves = |of: i128| (i128::BITS - of.leading_zeros()).saturating_sub(62).div_ceil(2);
    let (a, b) = (halves(tt), halves(vv));
    let tv = tv >> (a + b);
    let product = ((tt >> (2 * a)) * (vv >> (2 * b)) - tv * tv).max(0);
    let c = (i128::BITS - product.leading_zeros()).saturating_sub(62).div_ceil(2);
    let root = ((product >> (2 * c)) as u64).checked_div(u64::from(n.checked_sub(2)?))?.isqrt() + 1;
    Some(i128::from(root) << (a + b + c))
}
