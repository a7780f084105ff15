//! The `[frames]` section: files, times, views, shutter and housing temperature.

use std::fmt::Display;
use std::ops::Range;
use std::path::{Component, Path, PathBuf};

use oddheat_core::checks::View;
use toml::Spanned;

use super::document::Document;
use super::error::RecordingError;
use super::form::{FramesForm, OneOrMany};
use super::limits;
use super::model::Frame;
use super::places::view_of;
use super::scale::Counted;

/// The frame files in order, each inside the folder of the recording.
pub(super) fn files(
    document: &Document,
    stated: &Spanned<OneOrMany<String>>,
    folder: &Path,
) -> Result<Vec<PathBuf>, RecordingError> {
    let names = match stated.get_ref() {
        OneOrMany::One(name) => vec![(name, stated.span())],
        OneOrMany::Many(names) => names.iter().map(|name| (name.get_ref(), name.span())).collect(),
    };
    if names.is_empty() {
        return Err(document.refuse(stated.span(), "at least one file name", "an empty list"));
    }
    names.into_iter().map(|(name, span)| inside(document, name, span, folder)).collect()
}

/// A file that `recording.toml` names, inside the folder of the recording.
pub(super) fn inside(
    document: &Document,
    name: &str,
    span: Range<usize>,
    folder: &Path,
) -> Result<PathBuf, RecordingError> {
    let file = folder.join(name);
    if name.is_empty() || !Path::new(name).components().all(|part| matches!(part, Component::Normal(_))) {
        // A recording is handed on as a folder; a file elsewhere would be left behind.
        Err(document.refuse(span, "a path inside the folder of the recording", format!("\"{name}\"")))
    } else if !file.is_file() {
        let found = format!("\"{name}\", which is no file in {}", folder.display());
        Err(document.refuse(span, "the name of a file beside recording.toml", found))
    } else {
        Ok(file)
    }
}

/// Frames with all that `[frames]` says about them.
pub(super) fn frames(
    document: &Document,
    form: &Spanned<FramesForm>,
    pixels: Counted,
) -> Result<Vec<Frame>, RecordingError> {
    let number = pixels.frames.len();
    let times = times_ms(document, form, number)?;
    let views = views(document, form.get_ref(), number)?;
    let shutter = shutter(document, form.get_ref(), number)?;
    let housing = housing_c(document, form.get_ref(), number)?;
    let stated = times.into_iter().zip(views).zip(shutter).zip(housing);
    Ok(pixels
        .frames
        .into_iter()
        .zip(stated)
        .map(|(counts, (((time_ms, view), shutter), housing_c))| Frame { counts, time_ms, view, shutter, housing_c })
        .collect())
}

/// The one frame of a bare image.
pub(super) fn single(path: &Path, pixels: Counted) -> Result<Vec<Frame>, RecordingError> {
    let number = pixels.frames.len();
    if number != 1 {
        return Err(RecordingError::frame(
            path,
            "frames",
            "one frame, or a `recording.toml` with `frames.times_s` or `frames.frames_per_second`",
            format!("{number} frames without times"),
        ));
    }
    let frame = |counts| Frame { counts, time_ms: 0, view: View::Single, shutter: false, housing_c: None };
    Ok(pixels.frames.into_iter().map(frame).collect())
}

fn one_each<T>(
    document: &Document,
    list: &Spanned<Vec<T>>,
    number: usize,
    what: impl Display,
) -> Result<(), RecordingError> {
    let found = list.get_ref().len();
    if found == number {
        return Ok(());
    }
    Err(document.refuse(list.span(), format!("{what} for each of the {number} frames"), format!("{found} entries")))
}

fn times_ms(document: &Document, form: &Spanned<FramesForm>, number: usize) -> Result<Vec<u32>, RecordingError> {
    const EITHER: &str = "either `times_s` or `frames_per_second`";
    match (&form.get_ref().times_s, &form.get_ref().frames_per_second) {
        (Some(_), Some(rate)) => Err(document.refuse(rate.span(), EITHER, "both")),
        (Some(times), None) => {
            one_each(document, times, number, "one time in s")?;
            let mut before = f64::NEG_INFINITY;
            times
                .get_ref()
                .iter()
                .map(|time| {
                    let now = document.number(time, limits::TIME_S)?;
                    if now < before {
                        return Err(document.refuse(time.span(), format!("a time not before {before} s"), now));
                    }
                    before = now;
                    Ok(milliseconds(now))
                })
                .collect()
        }
        (None, Some(rate)) => {
            let per_second = document.number(rate, limits::FRAMES_PER_SECOND)?;
            let times: Vec<f64> = (0..number).map(|index| index as f64 / per_second).collect();
            match times.last() {
                Some(&last) if !limits::TIME_S.admit(last) => {
                    let expected = format!("a rate that puts the last frame at {}", limits::TIME_S);
                    Err(document.refuse(rate.span(), expected, format!("{per_second}, which puts it at {last} s")))
                }
                _ => Ok(times.into_iter().map(milliseconds).collect()),
            }
        }
        (None, None) if number == 1 => Ok(vec![0]),
        (None, None) => {
            let expected = format!("it or `frames.frames_per_second`, because there are {number} frames");
            Err(document.missing(Some(form.span()), "frames.times_s", expected))
        }
    }
}

/// The time has passed [`limits::TIME_S`], so it fits.
fn milliseconds(seconds: f64) -> u32 {
    libm::round(seconds * 1000.0) as u32
}

fn views(document: &Document, form: &FramesForm, number: usize) -> Result<Vec<View>, RecordingError> {
    match (&form.views, &form.view) {
        (Some(_), Some(view)) => Err(document.refuse(view.span(), "either `views` or `view`", "both")),
        (Some(views), None) => {
            one_each(document, views, number, "one view")?;
            views.get_ref().iter().map(|view| view_of(document, view)).collect()
        }
        (None, Some(view)) => Ok(vec![view_of(document, view)?; number]),
        (None, None) => Ok(vec![View::Single; number]),
    }
}

fn shutter(document: &Document, form: &FramesForm, number: usize) -> Result<Vec<bool>, RecordingError> {
    let Some(list) = &form.shutter else { return Ok(vec![false; number]) };
    one_each(document, list, number, "true or false")?;
    Ok(list.get_ref().clone())
}

fn housing_c(document: &Document, form: &FramesForm, number: usize) -> Result<Vec<Option<f64>>, RecordingError> {
    let limits = limits::TEMPERATURE_C;
    let Some(stated) = &form.housing_c else { return Ok(vec![None; number]) };
    match stated.get_ref() {
        OneOrMany::One(one) => {
            document.number(&Spanned::new(stated.span(), *one), limits).map(|one| vec![Some(one); number])
        }
        OneOrMany::Many(list) if list.len() == number => {
            list.iter().map(|one| document.number(one, limits).map(Some)).collect()
        }
        OneOrMany::Many(list) => {
            let expected = format!("one temperature in °C, or one for each of the {number} frames");
            Err(document.refuse(stated.span(), expected, format!("{} entries", list.len())))
        }
    }
}
