//! Runs the embedded library over a recording.
//!
//! The road is the one a device takes: shapes are placed, frames are fed row by row, the check judges. Two things a
//! desktop can do that a device does in other ways: frames are averaged for pictures, regions and the search for a
//! spot, and a median is taken from all pixels.

mod json;
mod readings;
mod regions;
mod rings;
mod sensor;

pub use json::to_json;
pub use readings::PlaceReading;
pub use regions::{RegionRow, ViewRegions};
pub use rings::RingFound;
pub(crate) use rings::ring_lines;
pub(crate) use sensor::repair_lines;

use crate::recording::{Frame, Recording};
use crate::setup;
use miette::{Result, miette};
use oddheat_core::checks::{self, Check, FrameInfo, Kind, Place, Role, Slot, State, Use, View};
use oddheat_core::finding::Finding;
use oddheat_core::measure::{Contribution, LinePart, Shape, Unwrapped};
use oddheat_core::radiometry::MeasurementEquation;

/// Frames averaged for the search for a spot, at most; a quarter of the recording if that is less.
const SEARCH_FRAMES: usize = 8;

/// k of every expanded uncertainty: about 95 % (JCGM 100, 6.3.3).
pub(crate) const COVERAGE_FACTOR: f64 = 2.0;

/// Share of a part in the square of the combined standard uncertainty; 0 if that is 0.
pub(crate) fn variance_share(part: &Contribution, combined: f64) -> f64 {
    let share = part.kelvin() / combined;
    if share.is_finite() { share * share } else { 0.0 }
}

/// What came out.
#[derive(Clone, Debug)]
pub struct Examination {
    /// The check that ran, if the recording names one.
    pub kind: Option<Kind>,
    /// What the check found.
    pub finding: Option<Finding>,
    /// One averaged picture per view, in the order of their first frames.
    pub views: Vec<ViewImage>,
    /// Temperatures of the placed shapes, also of those that were located.
    pub readings: Vec<PlaceReading>,
    /// Rings that were to be found.
    pub rings: Vec<RingFound>,
}

/// The average of a view's frames, and the regions in it.
#[derive(Clone, Debug)]
pub struct ViewImage {
    /// Which picture.
    pub view: View,
    /// Frames averaged.
    pub frames: usize,
    /// Mean counts, rounded to nearest; row by row.
    pub counts: Vec<u16>,
    /// Hot and cold regions, if the recording or the command line asks for them.
    pub regions: Option<ViewRegions>,
    /// Counts to temperature, with the scene's emissivity.
    pub equation: MeasurementEquation,
}

/// Examines a recording.
///
/// # Errors
/// A report that names the recording: an unknown check, a shape the check does not take, a view it does not know.
pub fn examine(recording: &Recording) -> Result<Examination> {
    let kind = recording.check.as_deref().map(|key| named_check(recording, key)).transpose()?;
    let in_recording = setup::in_recording(recording);
    let setup = setup::setup(recording).map_err(&in_recording)?;
    let mut places = setup::places(recording).map_err(&in_recording)?;
    let found = rings::find(recording, &setup).map_err(&in_recording)?;
    places.extend(found.iter().filter_map(|ring| ring.place.map(|(place, _)| place)));
    let finding = match kind {
        Some(kind) => Some(run_check(recording, kind, &setup, &mut places)?),
        None => None,
    };
    let mut views: Vec<ViewImage> = Vec::new();
    for frame in &recording.frames {
        if views.iter().any(|image| image.view == frame.view) {
            continue;
        }
        let of_view: Vec<&Frame> = recording.frames.iter().filter(|other| other.view == frame.view).collect();
        let counts = average(&of_view);
        let equation = setup::equation(&setup, None).map_err(&in_recording)?;
        let regions = match &recording.regions {
            Some(rules) => Some(regions::find(&counts, recording.width, rules, &equation).map_err(&in_recording)?),
            None => None,
        };
        views.push(ViewImage { view: frame.view, frames: of_view.len(), counts, regions, equation });
    }
    let readings = readings::measure(recording, &setup, &places).map_err(&in_recording)?;
    Ok(Examination { kind, finding, views, readings, rings: found })
}

fn named_check(recording: &Recording, key: &str) -> Result<Kind> {
    Kind::from_key(key).ok_or_else(|| {
        let known: Vec<&str> = Kind::ALL.iter().map(|kind| kind.key()).collect();
        miette!("{}: `check`: expected one of {}, found \"{key}\"", recording.path.display(), known.join(", "))
    })
}

fn run_check(recording: &Recording, kind: Kind, setup: &checks::Setup, places: &mut Vec<Place>) -> Result<Finding> {
    let path = recording.path.display();
    let conditions = setup::conditions(recording).map_err(setup::in_recording(recording))?;
    let definition = kind.definition();
    let mut state = State::IDLE;
    // Two more for a spot and its surround, should they be located.
    let mut slots = vec![Slot::EMPTY; places.len() + 2];
    let mut check =
        Check::begin(&mut state, &mut slots, kind, setup, &conditions).map_err(setup::in_recording(recording))?;
    for (i, place) in places.iter().enumerate() {
        check.place(*place).map_err(|error| {
            let roles: Vec<&str> = definition.parts.iter().map(|part| part.role.key()).collect();
            let views = taken_views(definition);
            miette!(
                "{path}: `place[{i}]`: {error}; {} takes the roles {} in the views {}, found {} in {}",
                kind.key(),
                roles.join(", "),
                views.join(", "),
                place.role.key(),
                place.view.key()
            )
        })?;
    }
    let searched = search(recording, setup, &mut check)?;
    for (i, frame) in recording.frames.iter().enumerate().skip(searched) {
        let info = FrameInfo {
            view: frame.view,
            time_ms: frame.time_ms,
            shutter: frame.shutter,
            housing_mk: frame.housing_c.map(|c| libm::round((c + 273.15) * 1000.0) as i32),
        };
        check.feed(info, &frame.counts).map_err(|error| {
            let views = taken_views(definition);
            miette!("{path}: frame {i}: {error}; {} takes the views {}", kind.key(), views.join(", "))
        })?;
    }
    *places = check.places().collect();
    check.judge().map_err(setup::in_recording(recording))
}

fn taken_views(definition: &checks::Definition) -> Vec<&'static str> {
    definition.views.iter().chain(definition.further_views).map(|view| view.key()).collect()
}

/// Lets the check look for a spot in every placed area that it searches, unless one was placed by hand. Returns the
/// frames used up: what was searched in must not be measured again.
fn search(recording: &Recording, setup: &checks::Setup, check: &mut Check<'_>) -> Result<usize> {
    let parts = check.definition().parts;
    let areas: Vec<Place> = check
        .places()
        .filter(|place| parts.iter().any(|part| part.role == place.role && matches!(part.usage, Use::Searched(_))))
        .collect();
    if areas.is_empty() || check.places().any(|place| place.role == Role::Suspect) {
        return Ok(0);
    }
    let used = SEARCH_FRAMES.min(recording.frames.len() / 4).max(1);
    let frames: Vec<&Frame> = recording.frames.iter().take(used).collect();
    let counts = average(&frames);
    for area in areas {
        let located = if area.role == Role::Bead && matches!(area.shape, Shape::Ring { .. }) {
            let parts = Unwrapped::parts_of(area.shape);
            let (mut line, mut excess) = (vec![LinePart::EMPTY; parts], vec![0; parts]);
            check.locate_along(area.role, area.view, &counts, &mut line, &mut excess).map(|_| ())
        } else {
            regions::locate(&counts, recording.width, setup, area, check)
        };
        located.map_err(setup::in_recording(recording))?;
    }
    Ok(used)
}

/// Mean of frames of one size, rounded to nearest.
fn average(frames: &[&Frame]) -> Vec<u16> {
    let Some(first) = frames.first() else { return Vec::new() };
    let mut sums = vec![0u64; first.counts.len()];
    for frame in frames {
        for (sum, &count) in sums.iter_mut().zip(&frame.counts) {
            *sum += u64::from(count);
        }
    }
    let n = frames.len() as u64;
    sums.iter().map(|sum| ((sum + n / 2) / n) as u16).collect()
}
