//! A temperature with the parts of its uncertainty kept apart.
//!
//! *What.* A [`Reading`] carries the object temperature, its sensitivity coefficients and its own noise. Combinations
//! of two readings (difference, ratio) add what is independent in quadrature and let what is shared cancel, as
//! JCGM 100:2008, 5.2 has it. *Why.* Handheld instruments are ±2 to 5 K absolute (common practice), yet two like
//! surfaces in one frame compare within a few tenths of a kelvin; only this bookkeeping shows it.

use super::normal_scatter::MEDIAN_SCATTER;
use super::tally::Tally;
use crate::codes::codes;
use crate::error::{Error, Quantity, Result};
use crate::radiometry::{MeasurementEquation, Sensitivities};
use crate::units::root_sum_square;

/// Which number stands for a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Statistic {
    /// Mean of all pixels, averaged over the frames.
    Mean,
    /// Median of all pixels of all frames.
    Median,
    /// Mean of all pixels of all frames but those that differ from most; see [`Tally::majority`].
    Majority,
    /// Median of the hotter half of all pixels of all frames: the 75 % quantile.
    UpperHalfMedian,
    /// Median of the surface of which up to two fifths may be covered by something warmer, of all pixels of all frames: the
    /// middle between the 30 % and the 50 % quantile, with what lies between them as uncertainty. Block tops of a tread
    /// with its grooves.
    CoolerMedian,
}

/// Standard uncertainties of what all readings of an instrument share.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct InputUncertainty {
    /// Noise equivalent temperature difference of one pixel in one frame, K.
    pub netd_k: f64,
    /// Absolute calibration, K of apparent temperature; the same error in every reading.
    pub calibration_k: f64,
    /// Calibration slope, relative; the same error in every reading, zero at 20 °C.
    pub slope_relative: f64,
    /// Offset drift between two views taken one after the other, K of apparent temperature.
    pub drift_k: f64,
    /// Non-uniformity between two places of one frame, K of apparent temperature.
    pub uniformity_k: f64,
    /// Reflected apparent temperature, K.
    pub reflected_k: f64,
    /// Transmittance of the medium.
    pub transmittance: f64,
    /// Temperature of the medium, K.
    pub medium_k: f64,
    /// Stated air temperature, K.
    pub air_k: f64,
}

impl InputUncertainty {
    /// Values for a handheld uncooled instrument: NETD 80 mK, calibration 2 K, slope 1 % (common practice: ±2 to 5 K
    /// or 2–5 %, taken as k = 2), drift 0.3 K, uniformity 0.15 K (derived: vehicle notes 1.3 give 0.3–0.5 K between
    /// like surfaces in one frame, taken as k = 2 of a difference), reflected 1 K and air 1 K (proposal).
    pub const HANDHELD: Self = Self {
        netd_k: 0.08,
        calibration_k: 2.0,
        slope_relative: 0.01,
        drift_k: 0.3,
        uniformity_k: 0.15,
        reflected_k: 1.0,
        transmittance: 0.0,
        medium_k: 0.0,
        air_k: 1.0,
    };

    /// The same values if each is finite and not negative.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] otherwise.
    pub fn checked(self) -> Result<Self> {
        let all = [
            self.netd_k,
            self.calibration_k,
            self.slope_relative,
            self.drift_k,
            self.uniformity_k,
            self.reflected_k,
            self.transmittance,
            self.medium_k,
            self.air_k,
        ];
        let sound = all.iter().all(|u| (0.0..=1_000.0).contains(u));
        if sound { Ok(self) } else { Err(Error::OutOfRange(Quantity::Uncertainty)) }
    }
}

codes! {
    /// A part of the uncertainty of a reading.
    pub enum Component {
        /// Noise of the pixels, averaged over the shape and the frames.
        Noise = 1, "noise";
        /// Non-uniformity between places of a frame.
        Uniformity = 2, "uniformity";
        /// Absolute calibration.
        Calibration = 3, "calibration";
        /// Slope of the calibration.
        Slope = 4, "slope";
        /// Offset drift.
        Drift = 5, "drift";
        /// Emissivity of the surface.
        Emissivity = 6, "emissivity";
        /// Reflected apparent temperature.
        Reflected = 7, "reflected";
        /// Transmittance of the medium.
        Transmittance = 8, "transmittance";
        /// Temperature of the medium.
        Medium = 9, "medium";
    }
}

/// One line of an uncertainty budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Which part.
    pub component: Component,
    /// Sensitivity coefficient: kelvin of object temperature per unit of the input.
    pub coefficient: f64,
    /// Standard uncertainty of the input, in its unit.
    pub input: f64,
}

impl Contribution {
    /// Contribution in K, with the sign of the coefficient.
    #[must_use]
    pub fn kelvin(&self) -> f64 {
        self.coefficient * self.input
    }
}

/// How two readings are related, which decides what cancels between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Relation {
    /// Taken in the same frames: offset drift cancels.
    pub same_view: bool,
    /// Same finish: the error of the emissivity is the same in both.
    pub same_surface: bool,
    /// Within a few pixels of each other: a third of the non-uniformity remains (proposal; shading is of low order,
    /// the column pattern stays).
    pub adjacent: bool,
}

impl Relation {
    /// Whether the error of this part is the same in both readings.
    const fn shares(self, component: Component) -> bool {
        match component {
            Component::Noise | Component::Uniformity => false,
            Component::Drift => self.same_view,
            Component::Emissivity => self.same_surface,
            Component::Calibration
            | Component::Slope
            | Component::Reflected
            | Component::Transmittance
            | Component::Medium => true,
        }
    }
}

/// A measured object temperature with the parts of its uncertainty kept apart, so that what two readings share can
/// cancel in their difference or ratio (JCGM 100:2008, 5.2).
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// Object temperature, K.
    pub kelvin: f64,
    /// Standard uncertainty from noise alone, K.
    pub noise_k: f64,
    /// Emissivity it was worked out with.
    pub emissivity: f64,
    /// Standard uncertainty of the emissivity.
    pub emissivity_u: f64,
    /// Sensitivity coefficients at this temperature.
    pub sensitivities: Sensitivities,
    /// Apparent temperature, K.
    pub apparent_k: f64,
}

/// Apparent temperature at which an error of the calibration slope has no effect: 20 °C, where handhelds are adjusted
/// (proposal).
const SLOPE_PIVOT_K: f64 = 293.15;

/// Standard deviation of the upper quartile of normal values against that of their mean, √(p(1 − p))/φ(z), for many
/// values (computed).
const QUARTILE_SCATTER: f64 = 1.362_634_6;
/// The same of the 30 % quantile (computed).
const THIRTY_SCATTER: f64 = 1.318_018_3;
/// That of a mean of the values within three standard deviations, center and reach found from them too, against that of
/// the mean of as many: 1.015 for many values, 1.05 for 65 (computed by draws).
const CUT_SCATTER: f64 = 1.05;

/// How much more a quantile scatters than a mean of the same pixels: by `normal` if noise is all there is. Of a surface
/// that is spread itself, more: noise σ moves a quantile of n values that lie evenly, `density` of them per count, by
/// √(σ/(√π·n·`density`)). The density is that between the tenths beside the quantile.
fn quantile_scatter(tally: &Tally, percent: u16, normal: f64, noise_counts: f64) -> f64 {
    let at = |percent| tally.histogram.quantile_q8(percent, 100).map_or(0.0, |q8| f64::from(q8) / 256.0);
    let density = 0.2 / (at(percent + 10) - at(percent - 10));
    let spread2 = core::f64::consts::FRAC_2_SQRT_PI / 2.0 / (density * noise_counts);
    // Without noise, or without spread, the density says nothing.
    if spread2.is_finite() { normal.max(libm::sqrt(spread2)) } else { normal }
}

/// Middle between the quantiles that the median of the cooler part is between, and half of their distance, in counts.
#[inline(always)]
fn cooler_median(tally: &Tally) -> Option<(f64, f64)> {
    let (low, high) = (tally.histogram.quantile_q8(30, 100)?, tally.histogram.quantile_q8(50, 100)?);
    let (low, high) = (f64::from(low) / 256.0, f64::from(high) / 256.0);
    Some((0.5 * (low + high), 0.5 * (high - low)))
}

impl Reading {
    /// Turns a tally into a temperature.
    ///
    /// Always inlined, for the checks' sake: they call it at one place. Everything else takes it from
    /// [`super::Measurement::reading`].
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if nothing valid was summed or the counts have no object temperature.
    #[inline(always)]
    pub fn of(
        tally: &Tally,
        statistic: Statistic,
        equation: &MeasurementEquation,
        inputs: &InputUncertainty,
        emissivity_u: f64,
    ) -> Result<Self> {
        let series = tally.means();
        let cooler = if statistic == Statistic::CoolerMedian { cooler_median(tally) } else { None };
        let counts = match statistic {
            Statistic::Mean => series.mean_counts(),
            Statistic::Median => tally.histogram.quantile_q8(1, 2).map(|q8| f64::from(q8) / 256.0),
            Statistic::Majority => tally.majority().map(|majority| f64::from(majority.mean_q8) / 256.0),
            Statistic::UpperHalfMedian => tally.histogram.quantile_q8(3, 4).map(|q8| f64::from(q8) / 256.0),
            Statistic::CoolerMedian => cooler.map(|(middle, _)| middle),
        }
        .ok_or(Error::NoTemperature)?;
        let kelvin = equation.object(counts)?;
        let (sensitivities, apparent_k) = equation.sensitivities_and_apparent(kelvin)?;
        // White noise is the least a frame mean scatters; what was seen to scatter more counts in full.
        let white = inputs.netd_k * sensitivities.apparent / libm::sqrt(f64::from(tally.pixels().max(1)));
        let seen = series.scatter_counts().unwrap_or(0.0) * sensitivities.counts;
        let averaged = white.max(seen) / libm::sqrt(f64::from(series.frames().max(1)));
        let noise_counts = inputs.netd_k * sensitivities.apparent / sensitivities.counts;
        let bin = f64::from(tally.histogram.resolution_q8()) / 256.0;
        // A quantile may be off by a whole bin, either way: a rectangular distribution.
        let whole = bin / libm::sqrt(3.0);
        let (scatter, rounding) = match statistic {
            Statistic::Mean => (1.0, 0.0),
            Statistic::Median => (quantile_scatter(tally, 50, MEDIAN_SCATTER, noise_counts), whole),
            Statistic::UpperHalfMedian => (quantile_scatter(tally, 75, QUARTILE_SCATTER, noise_counts), whole),
            Statistic::CoolerMedian => (quantile_scatter(tally, 40, THIRTY_SCATTER, noise_counts), whole),
            Statistic::Majority => {
                let majority = tally.majority().ok_or(Error::NoTemperature)?;
                let all = f64::from(majority.kept) + f64::from(majority.left_out);
                // Bins of one count are exact. Of wider ones each that is used is off on its own, and not evenly: the first
                // count, like which most of them are, is where bins begin and end, half a bin from their middles. Half of
                // the pixels lie within a deviation either way.
                let used = (2.0 * f64::from(majority.deviation_q8) / (256.0 * bin)).max(1.0);
                let rounding = if bin > 1.0 { bin / 2.0 / libm::sqrt(used) } else { 0.0 };
                (CUT_SCATTER * libm::sqrt(all / f64::from(majority.kept.max(1))), rounding)
            }
        };
        let (averaged, rounding) = (averaged * scatter, rounding * sensitivities.counts);
        let spread = cooler.map_or(0.0, |(_, half)| half) * sensitivities.counts;
        Ok(Self {
            kelvin,
            noise_k: root_sum_square(root_sum_square(averaged, rounding), spread / libm::sqrt(3.0)),
            emissivity: equation.emissivity(),
            emissivity_u,
            sensitivities,
            apparent_k,
        })
    }

    /// The reading of one pixel in one frame.
    ///
    /// # Errors
    /// Those of the measurement equation.
    pub fn of_pixel(
        count: u16,
        equation: &MeasurementEquation,
        inputs: &InputUncertainty,
        emissivity_u: f64,
    ) -> Result<Self> {
        let kelvin = equation.object(f64::from(count))?;
        let noise_k = inputs.netd_k * equation.sensitivities(kelvin)?.apparent;
        Self::at(kelvin, noise_k, equation, emissivity_u)
    }

    /// The reading of an object at `kelvin` whose noise is already known, K; for budgets before anything is measured.
    ///
    /// # Errors
    /// Those of the measurement equation.
    pub fn at(kelvin: f64, noise_k: f64, equation: &MeasurementEquation, emissivity_u: f64) -> Result<Self> {
        let (sensitivities, apparent_k) = equation.sensitivities_and_apparent(kelvin)?;
        let emissivity = equation.emissivity();
        Ok(Self { kelvin, noise_k, emissivity, emissivity_u, sensitivities, apparent_k })
    }

    /// Whether the same emissivity was stated for both, so that its error is the same too.
    #[must_use]
    pub fn same_surface_as(&self, other: &Self) -> bool {
        self.emissivity.to_bits() == other.emissivity.to_bits()
            && self.emissivity_u.to_bits() == other.emissivity_u.to_bits()
    }

    /// One line of the budget.
    #[must_use]
    pub fn contribution(&self, component: Component, inputs: &InputUncertainty) -> Contribution {
        let s = &self.sensitivities;
        let (coefficient, input) = match component {
            Component::Noise => (1.0, self.noise_k),
            Component::Uniformity => (s.apparent, inputs.uniformity_k),
            Component::Calibration => (s.apparent, inputs.calibration_k),
            Component::Slope => (s.apparent * (self.apparent_k - SLOPE_PIVOT_K), inputs.slope_relative),
            Component::Drift => (s.apparent, inputs.drift_k),
            Component::Emissivity => (s.emissivity, self.emissivity_u),
            Component::Reflected => (s.reflected, inputs.reflected_k),
            Component::Transmittance => (s.transmittance, inputs.transmittance),
            Component::Medium => (s.medium, inputs.medium_k),
        };
        Contribution { component, coefficient, input }
    }

    /// The whole budget, in the order of [`Component::ALL`]. The combined standard uncertainty is the root of the sum of
    /// the squares: the parts are independent of each other.
    pub fn budget(&self, inputs: &InputUncertainty) -> impl Iterator<Item = Contribution> {
        Component::ALL.iter().map(|&component| self.contribution(component, inputs))
    }

    /// Combined standard uncertainty of the temperature, K.
    #[must_use]
    pub fn standard_uncertainty(&self, inputs: &InputUncertainty) -> f64 {
        let alone = Relation { same_view: true, same_surface: true, adjacent: false };
        combined(&[(1.0, self)], alone, inputs)
    }

    /// Difference to `other` in K, and its standard uncertainty.
    #[must_use]
    pub fn minus(&self, other: &Self, relation: Relation, inputs: &InputUncertainty) -> (f64, f64) {
        Self::sum(&[(1.0, self), (-1.0, other)], relation, inputs)
    }

    /// Sum of readings, each times its weight, in K, and its standard uncertainty. The relation holds between any two.
    #[must_use]
    pub fn sum(terms: &[(f64, &Self)], relation: Relation, inputs: &InputUncertainty) -> (f64, f64) {
        (terms.iter().map(|&(weight, reading)| weight * reading.kelvin).sum(), combined(terms, relation, inputs))
    }

    /// Ratio of the rises of two readings over an air temperature in K, and its standard uncertainty. Each rise is
    /// multiplied by its own factor first (cooling since the stop), whose relative standard uncertainties are given.
    #[must_use]
    pub fn rise_ratio(
        &self,
        other: &Self,
        air_kelvin: f64,
        factors: [(f64, f64); 2],
        relation: Relation,
        inputs: &InputUncertainty,
    ) -> (f64, f64) {
        let [(factor, factor_u), (other_factor, other_factor_u)] = factors;
        let rise = (self.kelvin - air_kelvin) * factor;
        let other_rise = (other.kelvin - air_kelvin) * other_factor;
        let ratio = rise / other_rise;
        let (by_self, by_other) = (factor / other_rise, -ratio * other_factor / other_rise);
        let instrument = combined(&[(by_self, self), (by_other, other)], relation, inputs);
        let air = (by_self + by_other) * inputs.air_k;
        let cooling = ratio * root_sum_square(factor_u, other_factor_u);
        (ratio, root_sum_square(instrument, root_sum_square(air, cooling)))
    }
}

/// Standard uncertainty of the sum of readings, each times its weight.
fn combined(terms: &[(f64, &Reading)], relation: Relation, inputs: &InputUncertainty) -> f64 {
    let mut sum = WeightedSum::new(relation);
    for &(weight, reading) in terms {
        sum.add(weight, reading, inputs);
    }
    sum.value_and_uncertainty().1
}

/// A sum of readings, each times its weight, that holds none of them: for stacks that have no room for several.
#[derive(Clone, Copy, Debug)]
pub struct WeightedSum {
    relation: Relation,
    kelvin: f64,
    /// Per component: the signed sum of what is the same in all readings, which is squared in the end, or the sum of the
    /// squares of what is not.
    parts: [f64; Component::ALL.len()],
}

impl WeightedSum {
    /// Nothing added. The relation holds between any two of the readings.
    #[must_use]
    pub const fn new(relation: Relation) -> Self {
        Self { relation, kelvin: 0.0, parts: [0.0; Component::ALL.len()] }
    }

    /// Adds a reading times its weight.
    pub fn add(&mut self, weight: f64, reading: &Reading, inputs: &InputUncertainty) {
        self.kelvin += weight * reading.kelvin;
        for (part, &component) in self.parts.iter_mut().zip(Component::ALL) {
            // Two places within a few pixels share most of the shading.
            let share = if component == Component::Uniformity && self.relation.adjacent { 1.0 / 3.0 } else { 1.0 };
            let kelvin = weight * reading.contribution(component, inputs).kelvin() * share;
            *part += if self.relation.shares(component) { kelvin } else { kelvin * kelvin };
        }
    }

    /// The sum in K and its standard uncertainty.
    #[must_use]
    pub fn value_and_uncertainty(&self) -> (f64, f64) {
        let square = |(&part, &component)| if self.relation.shares(component) { part * part } else { part };
        (self.kelvin, libm::sqrt(self.parts.iter().zip(Component::ALL).map(square).sum()))
    }
}
