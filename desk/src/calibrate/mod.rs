//! `oddheat calibrate`: from blackbody points to a curve, with everything needed to judge it.

mod plot;

use crate::output::Staged;
use clap::Args;
use miette::{IntoDiagnostic as _, Result, WrapErr as _, miette};
use oddheat_core::radiometry::{CalibrationPoint, Fit, FitOptions, Form, MAX_POINTS, SpectralBand, fit_curve};
use serde::{Deserialize, Serialize};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// What to fit.
#[derive(Debug, Args)]
pub(crate) struct CalibrateArgs {
    /// Points: a CSV file with the columns celsius, counts and, if known, counts_sd, celsius_sd
    #[arg(value_name = "POINTS.csv")]
    points: PathBuf,
    /// Spectral band in µm, for the start values
    #[arg(long, value_name = "FROM,TO", default_value = "8,14", value_parser = band)]
    band: SpectralBand,
    /// Known signal offset in counts
    #[arg(long, value_name = "COUNTS", default_value_t = 0.0, allow_negative_numbers = true)]
    offset: f64,
    /// Fit the signal offset too
    #[arg(long, conflicts_with = "offset")]
    free_offset: bool,
    /// Fit A, C and shape with B = 0 instead of A, B and C with shape 1
    #[arg(long)]
    free_shape: bool,
    /// Write the table, the curve block and a plot of the residuals into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

fn band(text: &str) -> Result<SpectralBand, String> {
    match crate::cli::numbers(text)?[..] {
        [from, to] if from > 0.0 && to > from && to <= 100.0 => Ok(SpectralBand::flat(from, to)),
        _ => Err(format!("expected two wavelengths in µm, the shorter first, found \"{text}\"")),
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    celsius: f64,
    counts: f64,
    #[serde(default)]
    counts_sd: f64,
    #[serde(default)]
    celsius_sd: f64,
}

/// The block of a recording that states the curve.
#[derive(Serialize)]
struct Block {
    scale: Scale,
}

#[derive(Serialize)]
struct Scale {
    curve: CurveBlock,
}

#[derive(Serialize)]
struct CurveBlock {
    a_um: f64,
    b_um_k: f64,
    c_counts: f64,
    offset_counts: f64,
    shape: f64,
}

/// Runs the command and returns what to print.
///
/// # Errors
/// A report that names the file and the row, or why no curve fits.
pub(crate) fn run(args: &CalibrateArgs) -> Result<String> {
    let points = read(&args.points)?;
    let mut options = FitOptions::new(args.band).with_offset(args.offset);
    if args.free_offset {
        options = options.with_free_offset();
    }
    if args.free_shape {
        options = options.with_form(Form::FreeShape);
    }
    let fit = fit_curve(&points, &options)
        .map_err(|error| miette!("{}: {error}; found {} points", args.points.display(), points.len()))?;
    let mut text = describe(&points, &fit, args);
    let block = block(&fit)?;
    let _ = write!(text, "\nFor recording.toml:\n\n{block}");
    if let Some(out) = &args.out {
        let staged = Staged::new(out)?;
        staged.write("calibration.txt", text.as_bytes())?;
        staged.write("curve.toml", block.as_bytes())?;
        staged.write("residuals.svg", plot::residuals(&points, &fit)?.as_bytes())?;
        staged.publish()?;
        let _ = write!(text, "\nWritten to {}\n", out.display());
    }
    Ok(text)
}

fn read(path: &Path) -> Result<Vec<CalibrationPoint>> {
    let place = |row: usize| format!("{}: row {}", path.display(), row + 1);
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .from_path(path)
        .into_diagnostic()
        .wrap_err_with(|| format!("{}: expected a readable CSV file", path.display()))?;
    let mut points = Vec::new();
    for (i, row) in reader.deserialize().enumerate() {
        let Row { celsius, counts, counts_sd, celsius_sd } = row.into_diagnostic().wrap_err_with(|| {
            format!("{}: expected the columns celsius, counts and, if known, counts_sd, celsius_sd", place(i))
        })?;
        if !(-273.15..=1_700.0).contains(&celsius) || !counts.is_finite() {
            return Err(miette!(
                "{}: expected a temperature in °C and finite counts, found {celsius} and {counts}",
                place(i)
            ));
        }
        if !(counts_sd >= 0.0 && celsius_sd >= 0.0) {
            return Err(miette!(
                "{}: expected standard deviations of 0 or more, found {counts_sd} and {celsius_sd}",
                place(i)
            ));
        }
        points.push(CalibrationPoint::new(celsius + 273.15, counts).uncertain(celsius_sd, counts_sd));
    }
    if points.len() > MAX_POINTS {
        return Err(miette!("{}: expected at most {MAX_POINTS} points, found {}", path.display(), points.len()));
    }
    Ok(points)
}

fn describe(points: &[CalibrationPoint], fit: &Fit, args: &CalibrateArgs) -> String {
    let curve = fit.curve();
    let names = if args.free_shape {
        ["A [µm]", "shape", "C [counts]", "offset [counts]"]
    } else {
        ["A [µm]", "B [µm K]", "C [counts]", "offset [counts]"]
    };
    let second = if args.free_shape { curve.shape() } else { curve.b_um_k() };
    let values = [curve.a_um(), second, curve.c_counts(), curve.offset()];
    let mut text = String::from("S(T) = offset + C / (exp(c2 / (A T + B)) - shape), T in K\n\n");
    // Writing to a string cannot fail.
    for (i, (name, value)) in names.iter().zip(values).enumerate() {
        let u = fit.covariance().map(|covariance| covariance[i][i].max(0.0).sqrt());
        let known = match u {
            Some(u) if u > 0.0 => format!(" ± {:.3e} (standard uncertainty)", u),
            Some(_) => " (stated)".to_owned(),
            None => String::new(),
        };
        let _ = writeln!(text, "{name:16} {value:.7}{known}");
    }
    let (low, high) = fit.range();
    let _ = writeln!(text, "good for         {:.2} to {:.2} °C", low - 273.15, high - 273.15);
    if let Some(chi_square) = fit.chi_square() {
        let _ = writeln!(text, "chi-square       {chi_square:.3} with {} degrees of freedom", fit.degrees_of_freedom());
    }
    let _ = writeln!(text, "\n{:>10} {:>12} {:>12} {:>14}", "°C", "counts", "residual K", "curve u K");
    for (point, residual) in points.iter().zip(fit.residuals()) {
        let u = fit.standard_uncertainty(point.kelvin).map_or_else(|| "–".to_owned(), |u| format!("{u:.4}"));
        let _ = writeln!(text, "{:10.3} {:12.2} {residual:+12.4} {u:>14}", point.kelvin - 273.15, point.counts);
    }
    if let Some(covariance) = fit.covariance() {
        let _ = writeln!(text, "\nCovariance of {}:", names.join(", "));
        for row in covariance {
            let _ = writeln!(text, "{}", row.map(|c| format!("{c:14.5e}")).join(""));
        }
    }
    text
}

fn block(fit: &Fit) -> Result<String> {
    let curve = fit.curve();
    let curve = CurveBlock {
        a_um: curve.a_um(),
        b_um_k: curve.b_um_k(),
        c_counts: curve.c_counts(),
        offset_counts: curve.offset(),
        shape: curve.shape(),
    };
    toml::to_string(&Block { scale: Scale { curve } }).into_diagnostic()
}
