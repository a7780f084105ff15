//! Files beside the frames that a repair is made from: uniform runs, a flat run, a soak run, a list of pixels.

use std::path::Path;

use oddheat_core::sensor::{
    Coefficient, Criteria, DefectKind, Drift, DriftOrder, PixelMeans, PixelSums, SoakPoint, TwoPoint, UniformRun,
    find_defects, netd_of_runs,
};
use oddheat_core::units::celsius;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use toml::Spanned;

use super::super::error::RecordingError;
use super::super::form::{DriftForm, OneOrMany, UniformForm};
use super::super::pixels::{self, Pixels};
use super::super::{frames, limits};
use super::chain::Plan;
use super::{Correction, Place};

/// A line of a list of bad pixels.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Pixel {
    pub(super) x: u16,
    pub(super) y: u16,
}

/// A line of a soak run.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Soak {
    housing_c: f64,
    counts: f64,
}

/// Frames of raw counts of the size of the recording, from all the files of a key.
fn raw(place: &Place<'_>, stated: &Spanned<OneOrMany<String>>) -> Result<Vec<Vec<u16>>, RecordingError> {
    let files = frames::files(place.document, stated, place.folder)?;
    let mut budget = place.budget.get();
    let stacks = pixels::read_all(&files, &mut budget)?;
    place.budget.set(budget);
    let mut raw = Vec::new();
    for (path, stack) in stacks {
        let (width, height) = place.size;
        if (stack.width, stack.height) != place.size {
            let expected = format!("{width} × {height} pixels as the frames have");
            let found = format!("{} × {} pixels", stack.width, stack.height);
            return Err(RecordingError::frame(&path, "size", expected, found));
        }
        match stack.pixels {
            Pixels::Counts(counts) => raw.extend(counts),
            Pixels::Temperatures(_) => {
                return Err(RecordingError::frame(&path, "pixels", "unsigned whole counts", "floating-point numbers"));
            }
        }
    }
    Ok(raw)
}

/// A run of frames, summed up pixel by pixel in lent memory.
fn summed<'m, T>(
    place: &Place<'_>,
    at: &Spanned<T>,
    frames: &[Vec<u16>],
    plan: &Plan,
    memory: &'m mut Vec<PixelSums>,
) -> Result<UniformRun<'m>, RecordingError> {
    let (width, height) = place.size;
    memory.resize(usize::from(width) * usize::from(height), PixelSums::EMPTY);
    let mut run = UniformRun::new(memory, width, height, plan.range).map_err(place.refused(at, "a run of frames"))?;
    for row in frames.iter().flat_map(|frame| frame.chunks_exact(usize::from(width))) {
        run.push(row).map_err(|error| place.document.refuse(at.span(), "at most 32767 frames", error))?;
    }
    Ok(run)
}

/// Bad pixels, coefficients and the noise figure from two uniform runs.
pub(super) fn uniform(place: &Place<'_>, stated: &Spanned<UniformForm>, plan: &mut Plan) -> Result<(), RecordingError> {
    let keys = stated.get_ref();
    let (mut low_memory, mut high_memory) = (Vec::new(), Vec::new());
    let low = summed(place, &keys.low, &raw(place, &keys.low)?, plan, &mut low_memory)?;
    let high = summed(place, &keys.high, &raw(place, &keys.high)?, plan, &mut high_memory)?;
    if keys.find.unwrap_or(true) {
        let found = plan.with_defects(|defects, _| find_defects(&low, &high, &Criteria::default(), defects));
        found.map_err(place.refused(stated, "two uniform runs that bad pixels can be found in"))?;
    }
    if keys.correct.unwrap_or(true) {
        let (range, (width, height)) = (plan.range, place.size);
        let calibrated = plan.with_defects(|defects, coefficients| {
            coefficients.resize(usize::from(width) * usize::from(height), Coefficient::NEUTRAL);
            TwoPoint::calibrate(&low, &high, range, width, defects, coefficients)
        });
        plan.two_point = calibrated.map_err(place.refused(stated, "two uniform runs to correct from"))?;
        plan.correction = Correction::TwoPoint;
    }
    if let Some(difference) = &keys.difference_k {
        let kelvin = place.document.number(difference, limits::UNIFORM_K)?;
        let figure = plan.with_defects(|defects, _| netd_of_runs(&low, &high, kelvin, defects));
        plan.netd_k = Some(figure.map_err(place.refused(difference, "runs that tell the noise"))?.kelvin);
    }
    Ok(())
}

/// Offsets from frames of one uniform surface, such as a closed shutter. A pixel without a reading in one of them is
/// dead.
pub(super) fn flat(
    place: &Place<'_>,
    stated: &Spanned<OneOrMany<String>>,
    plan: &mut Plan,
) -> Result<(), RecordingError> {
    let mut frames = raw(place, stated)?;
    let (width, height) = place.size;
    if plan.correction == Correction::TwoPoint {
        // The offsets are corrected ones, so the run has to pass the gains first.
        for row in frames.iter_mut().flat_map(|frame| frame.chunks_exact_mut(usize::from(width)).enumerate()) {
            let (y, row) = row;
            let from = y * usize::from(width);
            let coefficients = plan.coefficients.get(from..from + row.len()).unwrap_or(&[]);
            let corrected = plan.two_point.correct_row(coefficients, 0, row);
            corrected.map_err(|error| place.document.refuse(stated.span(), "rows of the frames' width", error))?;
        }
    } else {
        plan.coefficients = vec![Coefficient::NEUTRAL; usize::from(width) * usize::from(height)];
    }
    let mut memory = Vec::new();
    let run = summed(place, stated, &frames, plan, &mut memory)?;
    let refused = place.refused(stated, "frames of one uniform surface, two or more");
    for index in (0..run.pixels()).filter(|&index| run.mean_q8(index).is_none()) {
        let (x, y) = (index % usize::from(width), index / usize::from(width));
        plan.list(x as u16, y as u16, DefectKind::Dead).map_err(&refused)?;
    }
    plan.flatten(&run).map_err(&refused)?;
    plan.correction = match plan.correction {
        Correction::TwoPoint => Correction::TwoPointAndOffsets,
        _ => Correction::Offsets,
    };
    Ok(())
}

/// The drift model of a soak run.
pub(super) fn drift(place: &Place<'_>, stated: &Spanned<DriftForm>) -> Result<Drift, RecordingError> {
    let (document, keys) = (place.document, stated.get_ref());
    let order = match keys.order.as_ref().map_or(1, |order| *order.get_ref()) {
        1 => DriftOrder::First,
        2 => DriftOrder::Second,
        other => {
            let span = keys.order.as_ref().map_or(stated.span(), Spanned::span);
            return Err(document.refuse(span, "1 or 2", other));
        }
    };
    let reference = document.number(&keys.reference_c, limits::TEMPERATURE_C)?;
    let file = frames::inside(document, keys.soak.get_ref(), keys.soak.span(), place.folder)?;
    let mut points = Vec::new();
    for Soak { housing_c, counts } in rows(&file, "housing_c, counts")? {
        if !limits::TEMPERATURE_C.admit(housing_c) || !counts.is_finite() {
            let expected = format!("{} and finite counts", limits::TEMPERATURE_C);
            let row = format!("row {}", points.len() + 1);
            return Err(RecordingError::frame(&file, row, expected, format!("{housing_c} and {counts}")));
        }
        points.push(SoakPoint { housing: celsius(housing_c), counts });
    }
    Drift::fit(&points, order, celsius(reference)).map_err(place.refused(stated, "a soak run that a drift fits"))
}

/// Lines of a CSV file with a header.
pub(super) fn rows<T: DeserializeOwned>(file: &Path, columns: &str) -> Result<Vec<T>, RecordingError> {
    let refused = |at: String, error: csv::Error| {
        RecordingError::frame(file, at, format!("the columns {columns}"), error.to_string())
    };
    let length = std::fs::metadata(file).map_err(|error| RecordingError::unreadable(file, error))?.len();
    if length > limits::MOST_TEXT {
        let expected = format!("at most {} bytes of text", limits::MOST_TEXT);
        return Err(RecordingError::path(file, expected, format!("{length} bytes")));
    }
    let reader = csv::ReaderBuilder::new().trim(csv::Trim::All).comment(Some(b'#')).from_path(file);
    let mut reader = reader.map_err(|error| refused("text".to_owned(), error))?;
    let lines = reader.deserialize().enumerate();
    lines.map(|(i, line)| line.map_err(|error| refused(format!("row {}", i + 1), error))).collect()
}
