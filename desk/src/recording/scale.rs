//! How counts become temperatures, and how floating-point temperatures become counts.

use std::path::PathBuf;

use oddheat_core::radiometry::TwoRange;
use oddheat_core::units::ICE_POINT_K;
use toml::Spanned;

use super::document::Document;
use super::error::RecordingError;
use super::form::{CurveForm, ScaleForm, TwoRangeForm};
use super::limits::{self, Limits};
use super::model::{Scale, StatedCurve, StatedScale, TemperatureUnit};
use super::pixels::{Pixels, Stack};
use crate::setup;

/// Frames as counts, all of one size.
pub(super) struct Counted {
    pub(super) width: u16,
    pub(super) height: u16,
    pub(super) frames: Vec<Vec<u16>>,
}

const ONE_OF: &str = "exactly one of `curve`, `two_range`, `linear` and `temperatures`";

/// The scale as stated in `[scale]`.
pub(super) fn stated(document: &Document, form: Option<&Spanned<ScaleForm>>) -> Result<StatedScale, RecordingError> {
    let Some(form) = form else { return Err(document.missing(None, "scale", ONE_OF)) };
    let keys = form.get_ref();
    match (&keys.curve, &keys.two_range, &keys.linear, &keys.temperatures) {
        (None, Some(pair), None, None) => two_range(document, pair).map(StatedScale::Counts),
        (Some(curve), None, None, None) => Ok(StatedScale::Counts(Scale::Curve {
            a_um: document.number(&curve.a_um, limits::CURVE_A_UM)?,
            b_um_k: document.number(&curve.b_um_k, limits::CURVE_B_UM_K)?,
            c_counts: document.number(&curve.c_counts, limits::CURVE_C_COUNTS)?,
            offset_counts: document.number(&curve.offset_counts, limits::CURVE_OFFSET_COUNTS)?,
            shape: document.number(&curve.shape, limits::CURVE_SHAPE)?,
        })),
        (None, None, Some(linear), None) => Ok(StatedScale::Counts(Scale::Linear {
            counts_per_kelvin: document.number(&linear.counts_per_kelvin, limits::COUNTS_PER_KELVIN)?,
            zero_c: document.number(&linear.zero_c, limits::ZERO_C)?,
        })),
        (None, None, None, Some(unit)) => match unit.get_ref().as_str() {
            "celsius" => Ok(StatedScale::Temperatures(TemperatureUnit::Celsius)),
            "kelvin" => Ok(StatedScale::Temperatures(TemperatureUnit::Kelvin)),
            other => Err(document.refuse(unit.span(), "\"celsius\" or \"kelvin\"", format!("\"{other}\""))),
        },
        (None, None, None, None) => Err(document.refuse(form.span(), ONE_OF, "none of them")),
        _ => Err(document.refuse(form.span(), ONE_OF, "more than one")),
    }
}

fn two_range(document: &Document, form: &Spanned<TwoRangeForm>) -> Result<Scale, RecordingError> {
    let curve = |curve: &CurveForm| {
        Ok::<_, RecordingError>(StatedCurve {
            a_um: document.number(&curve.a_um, limits::CURVE_A_UM)?,
            b_um_k: document.number(&curve.b_um_k, limits::CURVE_B_UM_K)?,
            c_counts: document.number(&curve.c_counts, limits::CURVE_C_COUNTS)?,
            offset_counts: document.number(&curve.offset_counts, limits::CURVE_OFFSET_COUNTS)?,
            shape: document.number(&curve.shape, limits::CURVE_SHAPE)?,
        })
    };
    let keys = form.get_ref();
    let (low, high) = (curve(&keys.low)?, curve(&keys.high)?);
    let hand_over_c = document.number(&keys.hand_over_c, limits::TEMPERATURE_C)?;
    let tolerance_k = document.number(&keys.tolerance_k, limits::TOLERANCE_K)?;
    // Whether the two meet only the library can say.
    let refused = |error: &dyn std::fmt::Display| {
        Err(document.refuse(form.span(), "two curves that meet at the hand-over", error))
    };
    match (setup::curve(low), setup::curve(high)) {
        (Ok(first), Ok(second)) => match TwoRange::new(first, second, hand_over_c + ICE_POINT_K, tolerance_k) {
            Ok(_) => Ok(Scale::TwoRange { low, high, hand_over_c, tolerance_k }),
            Err(error) => refused(&error),
        },
        (Err(error), _) | (_, Err(error)) => refused(&error),
    }
}

/// Checks a scale that did not come from a file; on failure gives the key, what was expected and the number found.
pub(super) fn check(scale: &StatedScale) -> Result<(), (&'static str, Limits, f64)> {
    let numbers = match *scale {
        StatedScale::Counts(Scale::Curve { a_um, b_um_k, c_counts, offset_counts, shape }) => vec![
            ("a_um", limits::CURVE_A_UM, a_um),
            ("b_um_k", limits::CURVE_B_UM_K, b_um_k),
            ("c_counts", limits::CURVE_C_COUNTS, c_counts),
            ("offset_counts", limits::CURVE_OFFSET_COUNTS, offset_counts),
            ("shape", limits::CURVE_SHAPE, shape),
        ],
        StatedScale::Counts(Scale::Linear { counts_per_kelvin, zero_c }) => {
            vec![
                ("counts_per_kelvin", limits::COUNTS_PER_KELVIN, counts_per_kelvin),
                ("zero_c", limits::ZERO_C, zero_c),
            ]
        }
        // Only recordings state two curves, and they were checked on reading.
        StatedScale::Counts(Scale::TwoRange { .. }) | StatedScale::Temperatures(_) => Vec::new(),
    };
    numbers.into_iter().find(|(_, limits, number)| !limits.admit(*number)).map_or(Ok(()), Err)
}

/// Frames in counts with the scale that belongs to them.
pub(super) fn counts(stacks: Vec<(PathBuf, Stack)>, stated: StatedScale) -> Result<(Counted, Scale), RecordingError> {
    let (width, height) = stacks.first().map_or((0, 0), |(_, stack)| (stack.width, stack.height));
    match stated {
        StatedScale::Counts(scale) => {
            let mut frames = Vec::new();
            for (path, stack) in stacks {
                match stack.pixels {
                    Pixels::Counts(counts) => frames.extend(counts),
                    Pixels::Temperatures(_) => {
                        return Err(RecordingError::frame(
                            &path,
                            "pixels",
                            "unsigned whole counts, as `scale.curve` and `scale.linear` need",
                            "floating-point or CSV numbers, which need `scale.temperatures`",
                        ));
                    }
                }
            }
            Ok((Counted { width, height, frames }, scale))
        }
        StatedScale::Temperatures(unit) => {
            let mut celsius = Vec::new();
            for (path, stack) in stacks {
                match stack.pixels {
                    Pixels::Temperatures(frames) => {
                        for (index, mut frame) in frames.into_iter().enumerate() {
                            to_celsius(&mut frame, unit).map_err(|(at, limits, found)| {
                                let (row, column) = (at / usize::from(width), at % usize::from(width));
                                let at = format!("frame {index}, row {row}, column {column}");
                                RecordingError::frame(&path, at, limits.to_string(), found.to_string())
                            })?;
                            celsius.push(frame);
                        }
                    }
                    Pixels::Counts(_) => {
                        return Err(RecordingError::frame(
                            &path,
                            "pixels",
                            "floating-point numbers, as `scale.temperatures` needs",
                            "whole counts, which need `scale.curve` or `scale.linear`",
                        ));
                    }
                }
            }
            let (frames, scale) = quantize(&celsius);
            Ok((Counted { width, height, frames }, scale))
        }
    }
}

/// Converts in place; on failure gives the index of the first pixel that is no temperature.
fn to_celsius(frame: &mut [f64], unit: TemperatureUnit) -> Result<(), (usize, Limits, f64)> {
    let (limits, shift) = match unit {
        TemperatureUnit::Celsius => (limits::TEMPERATURE_C, 0.0),
        TemperatureUnit::Kelvin => (limits::TEMPERATURE_K, limits::ZERO_KELVIN_C),
    };
    for (index, pixel) in frame.iter_mut().enumerate() {
        if !limits.admit(*pixel) {
            return Err((index, limits, *pixel));
        }
        *pixel += shift;
    }
    Ok(())
}

/// Most counts per kelvin for converted temperatures: 1 mK steps, far below the noise of any array (P).
const FINEST: f64 = 1024.0;
/// Counts 1 to 65,534: the ends stay free, because by default they mean dead and saturated (D).
const LOWEST: f64 = 1.0;
const HIGHEST: f64 = 65_534.0;

/// Temperatures in °C as counts of one linear scale, the finest power of two that fits all frames.
///
/// The temperatures have passed [`limits::TEMPERATURE_C`], so they span less than 1,974 K and 32 counts per kelvin
/// always fit: the step is 1/1024 to 1/32 K, the error at most half of it, its standard uncertainty step/√12.
fn quantize(celsius: &[Vec<f64>]) -> (Vec<Vec<u16>>, Scale) {
    let (low, high) =
        celsius.iter().flatten().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &t| (low.min(t), high.max(t)));
    let mut counts_per_kelvin = FINEST;
    while (high - low) * counts_per_kelvin > HIGHEST - LOWEST {
        counts_per_kelvin /= 2.0;
    }
    let count = |&t: &f64| (libm::round((t - low) * counts_per_kelvin) + LOWEST) as u16;
    let frames = celsius.iter().map(|frame| frame.iter().map(count).collect()).collect();
    (frames, Scale::Linear { counts_per_kelvin, zero_c: low - LOWEST / counts_per_kelvin })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps_of(celsius: &[f64]) -> (Vec<u16>, f64, f64) {
        let (frames, scale) = quantize(&[celsius.to_vec()]);
        let Scale::Linear { counts_per_kelvin, zero_c } = scale else { panic!("not linear: {scale:?}") };
        (frames[0].clone(), counts_per_kelvin, zero_c)
    }

    #[test]
    fn every_temperature_comes_back_within_half_a_step() {
        // The widest range allowed, one just inside and one just outside a power of two, and a flat frame.
        for (low, high, expected) in [
            (-273.149, 1700.0, 32.0),
            (0.0, 65_533.0 / 1024.0, 1024.0),
            (0.0, 65_533.5 / 1024.0, 512.0),
            (21.5, 21.5, 1024.0),
        ] {
            let celsius: Vec<f64> = (0..=1000).map(|i| low + (high - low) * f64::from(i) / 1000.0).collect();
            let (counts, per_kelvin, zero_c) = steps_of(&celsius);
            assert_eq!(per_kelvin, expected, "{low} to {high}");
            assert_eq!(counts.iter().min(), Some(&1));
            assert!(counts.iter().max() <= Some(&65_534));
            for (count, t) in counts.iter().zip(&celsius) {
                let back = f64::from(*count) / per_kelvin + zero_c;
                assert!((back - t).abs() <= 0.5 / per_kelvin + 1e-9, "{t} came back as {back}");
            }
        }
    }
}
