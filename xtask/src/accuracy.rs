//! How far off the temperatures are: writes `docs/accuracy.md` from the same comparisons that the tests assert.

use crate::document;
use anyhow::{Error, Result};
use oddheat_core::radiometry::{
    CalibrationPoint, Curve, Emissivity, FitError, FitOptions, Form, MeasurementEquation, PathBand, PathLoss, Scale,
    Scene, SpectralBand, TableOf, Transmittance, TwoRange, fit_curve, vapor_density,
};
use oddheat_core::units::{RowKelvin, celsius};
use oddheat_tests::air_table::{DISTANCES, STANDARD, WATER_ONLY};
use oddheat_tests::band_integral::{self, ICE_POINT_K, RadiometerBand, Response, worst_error};
use std::fmt::Write as _;
use std::path::Path;

/// Writes the document, or compares it with the committed one.
pub(crate) fn run(root: &Path, check: bool) -> Result<()> {
    document::publish(root, "accuracy.md", &document()?, check)
}

fn document() -> Result<String> {
    let mut text = String::from(
        "# Accuracy\n\nMade by `cargo xtask accuracy`; do not edit. Largest errors in kelvin unless a column says \
         otherwise. They are errors of the arithmetic alone: what a sensor, its calibration and the stated emissivity \
         add is in the uncertainty of each reading, and is larger.\n",
    );
    fits(&mut text).map_err(Error::msg)?;
    two_ranges(&mut text).map_err(Error::msg)?;
    bands(&mut text).map_err(Error::msg)?;
    tables(&mut text).map_err(Error::msg)?;
    air(&mut text);
    Ok(text)
}

fn bands_of_sensors() -> [(&'static str, Response); 3] {
    let soft = "soft edges near 8 and 13.5 µm";
    [
        ("flat 8–14 µm", Response::flat(8.0, 14.0)),
        ("flat 7.5–13 µm", Response::flat(7.5, 13.0)),
        (soft, Response::soft_edged()),
    ]
}

/// Fit to 16 settings, evenly spaced and weighted.
fn even_fit(response: &Response, low: f64, high: f64, form: Form, offset: bool) -> Result<Curve, FitError> {
    let (mean_um, deviation_um) = response.mean_and_deviation_um();
    let kelvin = |i: u32| low + (high - low) * f64::from(i) / 15.0;
    let points: Vec<_> = (0..16).map(kelvin).map(|k| CalibrationPoint::new(k, response.radiance(k))).collect();
    let options = FitOptions::new(SpectralBand { mean_um, deviation_um }).with_form(form);
    let options = if offset { options.with_free_offset() } else { options };
    Ok(*fit_curve(&points, &options)?.curve())
}

fn fits(text: &mut String) -> Result<(), FitError> {
    text.push_str(
        "\n## Curve against the band integral\n\nCurves fitted by `fit_curve` to noise-free points of the integral of \
         Planck's law over the band. \"Four settings\": `blackbody_settings`, the inner two measured twice as long; \
         \"16 even\": evenly spaced and weighted. Smallest possible for A, B, C: 0.0013 K and 0.043 K (8–14 µm), \
         0.0025 K and 0.037 K (7.5–13 µm), radiometry notes 2.3.\n\n\
         | band | range, °C | A, B, C: four settings | A, B, C: 16 even | with offset: 16 even | A, C, shape, offset: 16 \
         even |\n|---|---|---:|---:|---:|---:|\n",
    );
    for (name, response) in bands_of_sensors() {
        for (low, high) in [(-20.0, 150.0), (0.0, 650.0), (-20.0, 650.0)] {
            let (from, to) = (low + ICE_POINT_K, high + ICE_POINT_K);
            let worst = |curve: &Curve| worst_error(curve, &response, from, to);
            let four = worst(band_integral::fit(&response, from, to)?.curve());
            let plain = worst(&even_fit(&response, from, to, Form::Planckian, false)?);
            let offset = worst(&even_fit(&response, from, to, Form::Planckian, true)?);
            let shape = worst(&even_fit(&response, from, to, Form::FreeShape, true)?);
            let _ = writeln!(text, "| {name} | {low}…{high} | {four:.4} | {plain:.4} | {offset:.4} | {shape:.4} |");
        }
    }
    Ok(())
}

fn two_ranges(text: &mut String) -> Result<(), String> {
    text.push_str(
        "\n## Two curves, hand-over at 150 °C\n\nOver −20…650 °C; the step is what the temperature jumps at the \
         hand-over count.\n\n| band | form | error | step |\n|---|---|---:|---:|\n",
    );
    let (low, middle, high) = (ICE_POINT_K - 20.0, ICE_POINT_K + 150.0, ICE_POINT_K + 650.0);
    for (name, response) in bands_of_sensors() {
        let four = |from, to| band_integral::fit(&response, from, to).map(|fit| *fit.curve());
        let shape = |from, to| even_fit(&response, from, to, Form::FreeShape, true);
        let pairs = [
            ("A, B, C", four(low, middle), four(middle, high)),
            ("A, C, shape, offset", shape(low, middle), shape(middle, high)),
        ];
        for (form, cold, hot) in pairs {
            let words = |error: FitError| error.to_string();
            let (cold, hot) = (cold.map_err(words)?, hot.map_err(words)?);
            let pair = TwoRange::new(cold, hot, middle, 0.1).map_err(|error| error.to_string())?;
            let worst = worst_error(&cold, &response, low, middle).max(worst_error(&hot, &response, middle, high));
            let _ = writeln!(text, "| {name} | {form} | {worst:.4} | {:.4} |", pair.step());
        }
    }
    Ok(())
}

fn bands(text: &mut String) -> Result<(), FitError> {
    text.push_str(
        "\n## Published radiance tables\n\nFour real radiometer bands (`tests/data/band_radiance_lut`): our integral over \
         the measured response against the table, and a curve fitted to four of its rows.\n\n\
         | band | integral, 200…350 K | integral, 350…373 K | stated by the data set | curve, 250…373 K |\n\
         |---|---:|---:|---:|---:|\n",
    );
    for band in RadiometerBand::all() {
        let (lower, upper) = (band.integral_error(200.0, 350.0), band.integral_error(350.0, 373.0));
        let (name, stated, curve) = (band.name, band.agreement, band.fit_error()?);
        let _ = writeln!(text, "| {name} | {lower:.4} | {upper:.4} | {stated} | {curve:.5} |");
    }
    Ok(())
}

/// Scale, full scale and name of a sensor; coefficients A and B of the 8–14 µm band over −20…650 °C (radiometry notes
/// 2.3), C and offset as two common gains have them (a proposal).
fn sensors() -> oddheat_core::Result<[(&'static str, Scale, u16); 3]> {
    let scale = |c: f64, offset: f64| -> oddheat_core::Result<Scale> {
        Ok(Scale::Curve(Curve::sakuma_hattori(9.370_228, 172.869_2, c)?.with_offset(offset)?))
    };
    Ok([
        ("14 bits, high gain", scale(410_000.0, 1_850.0)?, 16_383),
        ("14 bits, low gain", scale(160_000.0, 500.0)?, 16_383),
        ("16 bits", scale(240_000.0, 0.0)?, 65_535),
    ])
}

fn tables(text: &mut String) -> oddheat_core::Result<()> {
    text.push_str(
        "\n## Table against the closed form\n\nEvery count of a sensor from −20 °C on, for a blackbody and for two \
         scenes; scalars are single values, rows are in steps of 1/32 K, half of which is rounding. Stated: \
         `scalar_error` and `row_error` plus that half step, for all counts.\n\n\
         | sensor | scene | pieces | scalar, mK | stated | row, mK | stated |\n|---|---|---:|---:|---:|---:|---:|\n",
    );
    let seen = |e: f64, reflected: f64, tau: f64| -> oddheat_core::Result<Scene> {
        let scene = Scene::new(Emissivity::new(e)?).reflected(celsius(reflected));
        Ok(scene.through(Transmittance::new(tau)?, celsius(20.0)))
    };
    let scenes = [
        ("blackbody", Scene::BLACKBODY),
        ("ε 0.95, 21 °C", seen(0.95, 21.0, 1.0)?),
        ("ε 0.80, 35 °C, τ 0.95", seen(0.8, 35.0, 0.95)?),
    ];
    for (sensor, scale, full_scale) in sensors()? {
        for (name, scene) in &scenes {
            let equation = MeasurementEquation::new(&scale, scene)?;
            let head = format!("| {sensor} | {name} ");
            let _ = writeln!(text, "{head}| 256 {}", errors::<256>(&equation, full_scale)?);
            let _ = writeln!(text, "{head}| 512 {}", errors::<512>(&equation, full_scale)?);
            if full_scale > 16_383 {
                let _ = writeln!(text, "{head}| 1024 {}", errors::<1024>(&equation, full_scale)?);
                let _ = writeln!(text, "{head}| 2048 {}", errors::<2048>(&equation, full_scale)?);
            }
        }
    }
    Ok(())
}

/// The last four cells of a row.
fn errors<const N: usize>(equation: &MeasurementEquation, full_scale: u16) -> oddheat_core::Result<String> {
    let table = TableOf::<N>::new(equation, full_scale)?;
    let counts: Vec<u16> = (0..=full_scale).collect();
    let mut row = vec![RowKelvin::ZERO; counts.len()];
    table.kelvin_row(&counts, &mut row)?;
    let (mut scalar, mut pixel) = (0.0f64, 0.0f64);
    for (&count, converted) in counts.iter().zip(&row) {
        let (Some(value), Ok(exact)) = (table.temperature(count), equation.object(f64::from(count))) else { continue };
        if exact >= ICE_POINT_K - 20.0 {
            scalar = scalar.max((value.to_f64() - exact).abs());
            pixel = pixel.max((converted.to_num::<f64>() - exact).abs());
        }
    }
    let (stated_scalar, stated_row) = (table.scalar_error().to_f64(), table.row_error().to_f64() + 1.0 / 64.0);
    let cells = [scalar, stated_scalar, pixel, stated_row].map(|kelvin| format!("{:.2}", kelvin * 1_000.0));
    Ok(format!("| {} |", cells.join(" | ")))
}

fn air(text: &mut String) {
    text.push_str(
        "\n## Transmittance of air against LOWTRAN7\n\nThe path formula against the table of radiometry notes 5.1, as \
         differences of transmittance. The atmospheres of water vapor only are compared with the formula's vapor term.\n\n\
         | band | standard, 0.3…5 m | standard, 10 m | water vapor only, 0.3…5 m |\n|---|---:|---:|---:|\n",
    );
    for (name, band, second) in [("8–14 µm", PathBand::From8To14, false), ("7.5–13 µm", PathBand::From7p5To13, true)]
    {
        let (mut near, mut far, mut vapor_only) = (0.0f64, 0.0f64, 0.0f64);
        for (air, vapor, long, short) in STANDARD {
            let humidity = vapor / vapor_density(air, 1.0);
            for (distance, wanted) in DISTANCES.into_iter().zip(if second { short } else { long }) {
                let loss = PathLoss::new(band, distance, air, humidity);
                let off = loss.map_or(f64::INFINITY, |loss| (loss.transmittance().get() - wanted).abs());
                let worst = if distance > 5.0 { &mut far } else { &mut near };
                *worst = worst.max(off);
            }
        }
        for (air, humidity, distance, long, short) in WATER_ONLY {
            let wanted = if second { short } else { long };
            let loss = PathLoss::new(band, distance, air, humidity);
            let off = loss.map_or(f64::INFINITY, |loss| (libm::exp(-loss.water_vapor) - wanted).abs());
            vapor_only = vapor_only.max(off);
        }
        let _ = writeln!(text, "| {name} | {near:.5} | {far:.5} | {vapor_only:.5} |");
    }
}
