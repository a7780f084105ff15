//! `oddheat budget`: the uncertainty of a temperature before anything is measured.

use crate::recording::Scale as Stated;
use crate::setup;
use crate::words::ENGLISH;
use clap::Args;
use miette::{Result, miette};
use oddheat_core::measure::{Component, InputUncertainty, Reading};
use oddheat_core::radiometry::{Curve, Emissivity, MeasurementEquation, Scale, Scene, Transmittance};
use oddheat_core::units::celsius;
use std::fmt::Write as _;

/// The stated scene.
#[derive(Debug, Args)]
pub(crate) struct BudgetArgs {
    /// Temperature of the object in °C
    #[arg(long, value_name = "°C", allow_negative_numbers = true)]
    object: f64,
    /// Emissivity of its surface
    #[arg(long)]
    emissivity: f64,
    /// Standard uncertainty of the emissivity
    #[arg(long, default_value_t = 0.02)]
    emissivity_u: f64,
    /// Reflected apparent temperature in °C
    #[arg(long, value_name = "°C", allow_negative_numbers = true)]
    reflected: f64,
    /// Standard uncertainty of the reflected apparent temperature, K
    #[arg(long, default_value_t = 1.0)]
    reflected_u: f64,
    /// Transmittance of a window or the air
    #[arg(long, default_value_t = 1.0)]
    transmittance: f64,
    /// Standard uncertainty of the transmittance
    #[arg(long, default_value_t = 0.0)]
    transmittance_u: f64,
    /// Temperature of the window or the air in °C
    #[arg(long, value_name = "°C", default_value_t = 20.0, allow_negative_numbers = true)]
    medium: f64,
    /// Standard uncertainty of the temperature of the window or the air, K
    #[arg(long, default_value_t = 0.0)]
    medium_u: f64,
    /// Noise equivalent temperature difference of a pixel, K
    #[arg(long, default_value_t = InputUncertainty::HANDHELD.netd_k)]
    netd: f64,
    /// Pixels averaged
    #[arg(long, default_value_t = 9)]
    pixels: u32,
    /// Frames averaged
    #[arg(long, default_value_t = 1)]
    frames: u32,
    /// Standard uncertainty of the absolute calibration, K
    #[arg(long, default_value_t = InputUncertainty::HANDHELD.calibration_k)]
    calibration_u: f64,
    /// Standard uncertainty of the slope of the calibration, relative
    #[arg(long, default_value_t = InputUncertainty::HANDHELD.slope_relative)]
    slope_u: f64,
    /// Standard uncertainty of the offset drift, K
    #[arg(long, default_value_t = InputUncertainty::HANDHELD.drift_k)]
    drift_u: f64,
    /// Standard uncertainty from non-uniformity, K
    #[arg(long, default_value_t = InputUncertainty::HANDHELD.uniformity_k)]
    uniformity_u: f64,
    /// Calibration curve as A [µm], B [µm K], C, offset and, if not 1, shape; without one, 8–14 µm
    #[arg(long, value_name = "A,B,C,OFFSET[,SHAPE]", value_parser = crate::cli::curve, allow_hyphen_values = true)]
    curve: Option<Stated>,
}

/// Runs the command and returns what to print.
///
/// # Errors
/// A report that names what is out of range.
pub(crate) fn run(args: &BudgetArgs) -> Result<String> {
    let reading = reading(args).map_err(|error| miette!("budget: {error}"))?;
    let inputs = inputs(args);
    let mut text = format!(
        "Object at {:.2} °C, which appears to be at {:.2} °C\n\n{:<36} {:>12} {:>16} {:>14}\n",
        args.object,
        reading.apparent_k - 273.15,
        "Input",
        "u(input)",
        "coefficient",
        "contribution K"
    );
    for part in reading.budget(&inputs) {
        let (name, unit) = ((ENGLISH.component)(part.component), input_unit(part.component));
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "{name:<36} {:>12} {:>16.6} {:>14.6}",
            format!("{} {unit}", part.input).trim_end(),
            part.coefficient,
            part.kelvin()
        );
    }
    let combined = reading.standard_uncertainty(&inputs);
    let _ = writeln!(
        text,
        "\ncombined standard uncertainty u = {combined:.6} K\nexpanded uncertainty U = {:.6} K (k = 2, about 95 %)",
        2.0 * combined
    );
    Ok(text)
}

/// Unit of a component's input.
pub(crate) fn input_unit(component: Component) -> &'static str {
    match component {
        Component::Noise
        | Component::Uniformity
        | Component::Calibration
        | Component::Drift
        | Component::Reflected
        | Component::Medium => "K",
        _ => "",
    }
}

fn inputs(args: &BudgetArgs) -> InputUncertainty {
    InputUncertainty {
        netd_k: args.netd,
        calibration_k: args.calibration_u,
        slope_relative: args.slope_u,
        drift_k: args.drift_u,
        uniformity_k: args.uniformity_u,
        reflected_k: args.reflected_u,
        transmittance: args.transmittance_u,
        medium_k: args.medium_u,
        air_k: 0.0,
    }
}

fn reading(args: &BudgetArgs) -> oddheat_core::Result<Reading> {
    let scale = match &args.curve {
        Some(stated) => setup::scale(stated)?,
        None => Scale::Curve(Curve::nominal_longwave()),
    };
    let scene = Scene::new(Emissivity::new(args.emissivity)?)
        .reflected(celsius(args.reflected))
        .through(Transmittance::new(args.transmittance)?, celsius(args.medium));
    let equation = MeasurementEquation::new(&scale, &scene)?;
    inputs(args).checked()?;
    let averaged = f64::from(args.pixels.max(1)) * f64::from(args.frames.max(1));
    let kelvin = args.object + 273.15;
    let noise = args.netd * equation.sensitivities(kelvin)?.apparent / averaged.sqrt();
    Reading::at(kelvin, noise, &equation, args.emissivity_u)
}
