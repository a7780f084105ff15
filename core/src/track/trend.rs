//! Slopes over time, from running sums.
//!
//! *What.* The least-squares line through all sightings of a track since they began to be counted; at 4,096 sightings or
//! 4.6 hours counting begins again. *Scaling and overflow*: times are below 2²⁴ ms, values below 2²⁴ (a larger area
//! counts as that), so products of 4,096 of them stay below 2⁶⁰ in `i64`, and the closing products in `i128`.

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
    /// Counts per second, Q8, of the peak.
    pub peak_q8: i64,
    /// Counts per second, Q8, of what the peak lies beyond its threshold.
    pub contrast_q8: i64,
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
    /// Sums of value and of time·value.
    values: [(i64, i64); 3],
}

impl TrendSums {
    pub(super) const EMPTY: Self = Self { began_ms: 0, last_ms: 0, n: 0, t: 0, tt: 0, values: [(0, 0); 3] };

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
            sums.0 += value;
            sums.1 += t * value;
        }
    }

    /// `None` before the third sighting, or if all have one time.
    pub(super) fn trend(&self) -> Option<Trend> {
        let (n, t) = (i128::from(self.n), i128::from(self.t));
        let spread = n * i128::from(self.tt) - t * t;
        let slope = |(v, tv): (i64, i64)| scaled(n * i128::from(tv) - t * i128::from(v), spread, 256_000);
        let [area, peak, contrast] = self.values;
        if self.n < SIGHTINGS_MIN {
            return None;
        }
        Some(Trend {
            area_q8: slope(area)?,
            peak_q8: slope(peak)?,
            contrast_q8: slope(contrast)?,
            sightings: self.n,
            span_ms: self.last_ms.wrapping_sub(self.began_ms),
        })
    }
}
