//! Noise-equivalent temperature difference from two uniform runs.
//!
//! *Definition.* NETD = ΔT/(signal/noise), with the peak-to-peak target signal and the rms noise of the background:
//! ASTM E1543 (scope, significance and abstract read). The standard's background is 295 K, and figures from other
//! backgrounds or bands do not compare. *Difference to the standard.* It takes the noise of a background beside a
//! target; here it is the temporal noise of each pixel in the colder run, averaged over the good pixels. Fixed pattern
//! is left out: the correction is for that.

use super::average::PixelMeans;
use super::defects::Defects;
use super::range::SetupError;
use super::two_point::place;
use super::uniform::UniformRun;

/// A noise figure and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct NoiseFigure {
    /// NETD of one frame, K.
    pub kelvin: f64,
    /// Signal between the runs, counts.
    pub signal: f64,
    /// Temporal noise of one frame, rms counts.
    pub noise: f64,
}

/// NETD in kelvin of a target `delta` kelvin above the background that gives `signal` counts, in noise of `noise` rms
/// counts.
///
/// # Errors
/// [`SetupError::NoSignal`] unless `delta` and `signal` are above 0, [`SetupError::Setting`] for a noise below 0 or any
/// value that is not finite.
#[allow(clippy::float_arithmetic, reason = "set-up: once per run")]
pub fn netd(delta: f64, signal: f64, noise: f64) -> Result<f64, SetupError> {
    if !(delta.is_finite() && signal.is_finite() && noise.is_finite() && noise >= 0.0) {
        return Err(SetupError::Setting);
    }
    if delta <= 0.0 || signal <= 0.0 {
        return Err(SetupError::NoSignal);
    }
    Ok(delta / (signal / noise))
}

/// NETD of the mean of `frames` frames: white noise only. Drift and fixed pattern do not average away.
///
/// # Errors
/// [`SetupError::TooFewFrames`] for 0.
#[allow(clippy::float_arithmetic, reason = "set-up: once per run")]
pub fn netd_of_mean(netd: f64, frames: u16) -> Result<f64, SetupError> {
    if frames == 0 { Err(SetupError::TooFewFrames) } else { Ok(netd / libm::sqrt(f64::from(frames))) }
}

/// NETD of the array from two uniform runs whose blackbodies differ by `delta` kelvin; listed pixels are left out.
///
/// The noise is the root of the mean variance, in steps of 1/256 count and without the 1/12 count² that whole counts
/// add (derived): with a true noise below half a count the figure is not to be trusted.
///
/// # Errors
/// [`SetupError::Memory`] if the sizes differ, [`SetupError::TooFewFrames`] without a
/// pixel that was a reading throughout two frames, and those of [`netd`].
#[allow(clippy::float_arithmetic, reason = "set-up: once per run")]
pub fn netd_of_runs(
    cold: &UniformRun,
    hot: &UniformRun,
    delta: f64,
    defects: &Defects,
) -> Result<NoiseFigure, SetupError> {
    if cold.pixels() != hot.pixels() || cold.width() != hot.width() {
        return Err(SetupError::Memory);
    }
    let (mut signal_q8, mut variance_q16, mut count) = (0i64, 0u64, 0u32);
    // Fewer than 2³² pixels of less than 2²⁴; variances stop at the largest sum.
    for index in 0..cold.pixels() {
        if let (Some(low), Some(high), Some(noise)) = (cold.mean_q8(index), hot.mean_q8(index), cold.noise_q8(index))
            && place(index, cold.width()).is_some_and(|(x, y)| !defects.contains(x, y))
        {
            signal_q8 += i64::from(high) - i64::from(low);
            variance_q16 = variance_q16.saturating_add(u64::from(noise).pow(2));
            count += 1;
        }
    }
    if count == 0 {
        return Err(SetupError::TooFewFrames);
    }
    let signal = signal_q8 as f64 / f64::from(count) / 256.0;
    let variance = variance_q16 as f64 / f64::from(count) / 65_536.0 - 1.0 / 12.0;
    let noise = libm::sqrt(variance.max(0.0));
    Ok(NoiseFigure { kelvin: netd(delta, signal, noise)?, signal, noise })
}

#[cfg(test)]
mod tests {
    use super::super::defects::{Defect, DefectKind};
    use super::super::range::CountRange;
    use super::super::uniform::PixelSums;
    use super::*;

    /// ±4 counts on every pixel, 50 counts of signal for 2 K; one pixel is wild.
    #[test]
    fn listed_pixels_are_left_out_and_the_steps_of_whole_counts_too() {
        let range = CountRange::new(0, 16_383).unwrap();
        let (mut low, mut high) = ([PixelSums::EMPTY; 4], [PixelSums::EMPTY; 4]);
        let mut cold = UniformRun::new(&mut low, 4, 1, range).unwrap();
        let mut hot = UniformRun::new(&mut high, 4, 1, range).unwrap();
        for t in 0..100u16 {
            let noise = if t % 2 == 0 { 0 } else { 8 };
            cold.push(&[1_000 + noise, 1_100 + noise, 900 + noise, 10 * t + 1]).unwrap();
            hot.push(&[1_050 + noise, 1_150 + noise, 950 + noise, 500]).unwrap();
        }
        let mut slots = [Defect::EMPTY; 1];
        let mut defects = Defects::new(&mut slots);
        let wild = netd_of_runs(&cold, &hot, 2.0, &defects).unwrap();
        defects.insert(3, 0, DefectKind::Noisy).unwrap();
        let figure = netd_of_runs(&cold, &hot, 2.0, &defects).unwrap();
        let noise = libm::sqrt(16.0 * 100.0 / 99.0 - 1.0 / 12.0);
        assert!((figure.signal - 50.0).abs() < 1e-9, "{figure:?}");
        // Steps of 1/256 in the noise of a pixel.
        assert!((figure.noise - noise).abs() < 1.0 / 256.0, "{figure:?}");
        assert!((figure.kelvin - 2.0 * noise / 50.0).abs() < 2.0 / 256.0 / 50.0, "{figure:?}");
        assert!(wild.noise > 10.0 * figure.noise);
        assert_eq!(netd_of_runs(&hot, &cold, 2.0, &defects), Err(SetupError::NoSignal));
    }

    #[test]
    fn refuses_what_is_no_figure() {
        assert_eq!(netd(0.0, 500.0, 6.2), Err(SetupError::NoSignal));
        assert_eq!(netd(5.0, -1.0, 6.2), Err(SetupError::NoSignal));
        assert_eq!(netd(5.0, 500.0, f64::NAN), Err(SetupError::Setting));
        assert_eq!(netd_of_mean(0.062, 0), Err(SetupError::TooFewFrames));
    }
}
