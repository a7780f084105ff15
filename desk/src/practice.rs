//! What an operator measures or looks up before measuring: emissivity, reflected temperature, spot size, air, surfaces.
//!
//! The arithmetic is the library's; here are the questions and the answers in words. Temperatures on the command line
//! are in °C, uncertainties are standard ones.

use crate::recording::Scale as Stated;
use crate::setup;
use clap::{Args, ValueEnum};
use miette::{Result, miette};
use oddheat_core::radiometry::{
    Curve, Emissivity, EmissivityBand, EmissivityGate, Estimate, PathBand, PathLoss, SURFACES, Scale, SpotVerdict,
    Surface, TRANSMITTANCE_UNCERTAINTY, emissivity_by_contact, emissivity_by_patch, pixel_spot_mm, reflected_by_foil,
    spot_verdict,
};
use oddheat_core::units::ICE_POINT_K;
use std::fmt::Write as _;

/// Said along with every procedure that puts something on a part. Vehicle notes 1.2.
const CAUTION: &str = "Caution: put tape, foil or a probe only on parts that are cold, stopped and free of voltage, never \
     on friction faces or belts; work on energized parts belongs to licensed people under local rules.";

/// The scale in whose signal temperatures mix.
#[derive(Debug, Args)]
pub(crate) struct ScaleArgs {
    /// Calibration curve as A [µm], B [µm K], C, offset and, if not 1, shape; without one, 8–14 µm
    #[arg(long, value_name = "A,B,C,OFFSET[,SHAPE]", value_parser = crate::cli::curve, allow_hyphen_values = true)]
    curve: Option<Stated>,
}

impl ScaleArgs {
    fn scale(&self, command: &str) -> Result<Scale> {
        match &self.curve {
            Some(stated) => setup::scale(stated).map_err(|error| miette!("{command}: --curve: {error}")),
            None => Ok(Scale::Curve(Curve::nominal_longwave())),
        }
    }
}

/// Emissivity by comparison with something known.
#[derive(Debug, Args)]
pub(crate) struct EmissivityArgs {
    /// Apparent temperature of the surface (read with emissivity 1) in °C and its standard uncertainty in K
    #[arg(long, value_name = "°C,U", value_parser = estimate, allow_hyphen_values = true)]
    surface: Estimate,
    /// Reflected apparent temperature in °C and its standard uncertainty in K
    #[arg(long, value_name = "°C,U", value_parser = estimate, allow_hyphen_values = true)]
    reflected: Estimate,
    /// Apparent temperature of a patch of known emissivity on the part, at the same temperature
    #[arg(long, value_name = "°C,U", value_parser = estimate, allow_hyphen_values = true, requires = "patch_emissivity", conflicts_with = "contact", required_unless_present = "contact")]
    patch: Option<Estimate>,
    /// Emissivity of the patch and its standard uncertainty
    #[arg(long, value_name = "E,U", value_parser = estimate)]
    patch_emissivity: Option<Estimate>,
    /// Temperature of the part by a contact thermometer instead of a patch
    #[arg(long, value_name = "°C,U", value_parser = estimate, allow_hyphen_values = true)]
    contact: Option<Estimate>,
    #[command(flatten)]
    scale: ScaleArgs,
}

/// Reflected apparent temperature by the reflector method.
#[derive(Debug, Args)]
pub(crate) struct ReflectedArgs {
    /// Apparent temperature of the crumpled foil in front of the part (read with emissivity 1)
    #[arg(long, value_name = "°C,U", value_parser = estimate, allow_hyphen_values = true)]
    reading: Estimate,
    /// The foil's own temperature, usually the air's
    #[arg(long, value_name = "°C,U", value_parser = estimate, allow_hyphen_values = true)]
    foil: Estimate,
    /// The foil's emissivity; aluminum foil has about 0.05 ± 0.02
    #[arg(long, value_name = "E,U", value_parser = estimate, default_value = "0.05,0.02")]
    foil_emissivity: Estimate,
    #[command(flatten)]
    scale: ScaleArgs,
}

/// Whether a part is large enough.
#[derive(Debug, Args)]
pub(crate) struct SpotArgs {
    /// Smallest width of the part in mm
    #[arg(long, value_name = "MM")]
    size: f64,
    /// Distance in m
    #[arg(long, value_name = "M")]
    distance: f64,
    /// Angle of one pixel in mrad
    #[arg(long, value_name = "MRAD")]
    ifov: f64,
}

/// The air between part and instrument.
#[derive(Debug, Args)]
pub(crate) struct AirArgs {
    /// Distance in m, 0 to 10
    #[arg(long, value_name = "M")]
    distance: f64,
    /// Air temperature in °C, −6 to 35
    #[arg(long, value_name = "°C", allow_negative_numbers = true)]
    air: f64,
    /// Relative humidity, 0 to 1
    #[arg(long, value_name = "SHARE")]
    humidity: f64,
    /// Spectral band
    #[arg(long, value_enum, default_value_t = AirBand::From8To14)]
    band: AirBand,
}

/// Spectral bands the path loss is known for.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum AirBand {
    /// 8 to 14 µm
    #[value(name = "8-14")]
    From8To14,
    /// 7.5 to 13 µm
    #[value(name = "7.5-13")]
    From7p5To13,
}

fn estimate(text: &str) -> Result<Estimate, String> {
    match crate::cli::numbers(text)?[..] {
        [value, uncertainty] if uncertainty >= 0.0 => Ok(Estimate::new(value, uncertainty)),
        _ => Err(format!("expected a value and its standard uncertainty of 0 or more, found \"{text}\"")),
    }
}

fn kelvin(celsius: Estimate) -> Estimate {
    Estimate::new(celsius.value + ICE_POINT_K, celsius.uncertainty)
}

/// `oddheat emissivity`.
///
/// # Errors
/// Why the readings give none.
pub(crate) fn emissivity(args: &EmissivityArgs) -> Result<String> {
    let scale = args.scale.scale("emissivity")?;
    let (surface, reflected) = (kelvin(args.surface), kelvin(args.reflected));
    let result = match (args.contact, args.patch.zip(args.patch_emissivity)) {
        (Some(contact), _) => emissivity_by_contact(&scale, kelvin(contact), surface, reflected),
        (None, Some((patch, known))) => emissivity_by_patch(&scale, known, kelvin(patch), surface, reflected),
        (None, None) => return Err(miette!("emissivity: expected a patch with its emissivity, or a contact reading")),
    };
    let result = result.map_err(|error| miette!("emissivity: {error}"))?;
    let gate = Emissivity::new(result.value).map_err(|error| miette!("emissivity: {error}"))?;
    Ok(format!(
        "emissivity {:.4}, standard uncertainty {:.4}, expanded {:.4} (k = 2)\n{}\n\nFor recording.toml: emissivity = \
         {:.4}, emissivity_u = {:.4}\n{CAUTION}\n",
        result.value,
        result.uncertainty,
        2.0 * result.uncertainty,
        gate_words(EmissivityGate::of(gate)),
        result.value,
        result.uncertainty
    ))
}

fn gate_words(gate: EmissivityGate) -> &'static str {
    match gate {
        EmissivityGate::Usable => "A temperature may be reported.",
        EmissivityGate::Low => "Low: a temperature may be reported with a warning; errors are magnified about twice.",
        EmissivityGate::NoTemperature => {
            "Too low: no temperature is to be reported. Aim at a patch, a cavity or a painted neighbor."
        }
    }
}

/// `oddheat reflected`.
///
/// # Errors
/// Why the readings give none.
pub(crate) fn reflected(args: &ReflectedArgs) -> Result<String> {
    let scale = args.scale.scale("reflected")?;
    let result = reflected_by_foil(&scale, kelvin(args.reading), args.foil_emissivity, kelvin(args.foil))
        .map_err(|error| miette!("reflected: {error}"))?;
    let celsius = result.value - ICE_POINT_K;
    Ok(format!(
        "reflected apparent temperature {celsius:.3} °C, standard uncertainty {:.3} K, expanded {:.3} K (k = 2)\n\nFor \
         recording.toml: reflected_c = {celsius:.3}, reflected_u_k = {:.3}\n{CAUTION}\n",
        result.uncertainty,
        2.0 * result.uncertainty,
        result.uncertainty
    ))
}

/// `oddheat spot`.
///
/// # Errors
/// If a number is not above 0 and finite.
pub(crate) fn spot(args: &SpotArgs) -> Result<String> {
    for (name, value) in [("size", args.size), ("distance", args.distance), ("ifov", args.ifov)] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(miette!("--{name}: expected a number above 0, found {value}"));
        }
    }
    let pixel = pixel_spot_mm(args.distance, args.ifov);
    let verdict = match spot_verdict(args.size, args.distance, args.ifov) {
        SpotVerdict::Measured => "measured: three pixels or more across",
        SpotVerdict::DetectedNotMeasured => "detected, not measured: fewer than three pixels across; go nearer",
    };
    Ok(format!("one pixel sees {pixel:.2} mm; {:.1} pixels across: {verdict}\n", args.size / pixel))
}

/// `oddheat air`.
///
/// # Errors
/// Which input is outside the range of the model.
pub(crate) fn air(args: &AirArgs) -> Result<String> {
    let band = match args.band {
        AirBand::From8To14 => PathBand::From8To14,
        AirBand::From7p5To13 => PathBand::From7p5To13,
    };
    let loss = PathLoss::new(band, args.distance, args.air, args.humidity).map_err(|error| miette!("air: {error}"))?;
    let transmittance = loss.transmittance().get();
    Ok(format!(
        "transmittance {transmittance:.4}, standard uncertainty {TRANSMITTANCE_UNCERTAINTY:.4}; clean air only, no steam, \
         smoke or exhaust\n\nFor recording.toml: transmittance = {transmittance:.4}, medium_c = {}\n",
        args.air
    ))
}

/// `oddheat surfaces`: those whose key or name has the word, or all.
///
/// # Errors
/// If no surface has it.
pub(crate) fn surfaces(word: Option<&str>) -> Result<String> {
    let word = word.unwrap_or_default().to_lowercase();
    let has = |surface: &&Surface| surface.key.contains(&word) || surface.name.to_lowercase().contains(&word);
    let chosen: Vec<&Surface> = SURFACES.iter().filter(has).collect();
    if chosen.is_empty() {
        return Err(miette!("surfaces: expected a word of a surface's name, found \"{word}\""));
    }
    let mut text =
        format!("{:28} {:>6} {:>6} {:>6}  name [band; temperature; source, label]\n", "key", "low", "start", "high");
    for s in chosen {
        let band = match s.band {
            EmissivityBand::Total => "total",
            EmissivityBand::Longwave => "long-wave",
            EmissivityBand::Thermometer => "infrared thermometer",
        };
        let at = if s.temperature.is_empty() { "temperature not stated" } else { s.temperature };
        let label = if s.read { "read" } else { "memory" };
        let warning = match Emissivity::new(s.typical).map(EmissivityGate::of) {
            Ok(EmissivityGate::NoTemperature) => " – no temperature",
            Ok(EmissivityGate::Low) => " – warn",
            _ => "",
        };
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "{:28} {:6.3} {:6.3} {:6.3}  {} [{band}; {at}; {}, {label}]{warning}",
            s.key, s.low, s.typical, s.high, s.name, s.source
        );
    }
    text.push_str(
        "\nRanges and values to start from, never a calibration: measure what matters (oddheat emissivity).\n",
    );
    Ok(text)
}
