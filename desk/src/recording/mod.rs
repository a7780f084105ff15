//! Reads recordings: a folder with `recording.toml` and frame files, or a bare image file with a stated scale.
//!
//! `desk/RECORDING.md` describes the form: every key, unit and default. The road through this module:
//! `document` parses the text and keeps positions, `form` is its shape, `pixels` reads frame files, `scale`,
//! `frames`, `circumstances` and `places` check one section each, and `repair` runs the library's sensor chain over the
//! frames. Whatever is wrong is reported with the file, the key or position, what was expected and what was found;
//! nothing is guessed.
//!
//! *Cost.* Time and memory are linear in the frame files. Sizes that a file claims are compared with its length
//! before memory is taken for them.

mod circumstances;
mod document;
mod error;
mod form;
mod frames;
mod limits;
mod model;
mod pixels;
mod places;
mod repair;
mod scale;

use std::fs;
use std::path::{Path, PathBuf};

pub use error::{FrameProblem, KeyProblem, RecordingError};
pub use model::{
    Connectivity, Correction, Frame, Housing, Place, Recording, RegionLimit, RegionRules, Repaired, RingBy, RingToFind,
    Scale, SceneStated, SensorFacts, StatedCurve, StatedScale, TemperatureUnit,
};

use document::Document;

/// Name of the file that describes a recording.
pub const FILE_NAME: &str = "recording.toml";

impl Recording {
    /// Reads the recording in a folder; the path of its `recording.toml` serves as well.
    ///
    /// # Errors
    /// [`RecordingError`] if anything is missing, unreadable, out of range or contradictory.
    pub fn open(path: &Path) -> Result<Self, RecordingError> {
        let (folder, file) = locate(path)?;
        let document = Document::new(&file, read_text(&file)?);
        let form = document.parse()?;

        let stated = scale::stated(&document, form.scale.as_ref())?;
        let frame_files = frames::files(&document, &form.frames.get_ref().file, &folder)?;
        let mut budget = limits::MOST_PIXELS;
        let (pixels, scale) = scale::counts(pixels::read_all(&frame_files, &mut budget)?, stated)?;
        let (width, height) = (pixels.width, pixels.height);
        let mut frames = frames::frames(&document, &form.frames, pixels)?;
        let sensor = circumstances::sensor(&document, &form.sensor, stated)?;
        let repair = match &form.sensor.repair {
            Some(wanted) => {
                let place = repair::Place {
                    document: &document,
                    folder: &folder,
                    size: (width, height),
                    budget: budget.into(),
                };
                Some(repair::repair(&place, wanted, stated, &sensor, &mut frames)?)
            }
            None => None,
        };

        let scene_form = form.scene.as_ref();
        let scene = circumstances::scene(&document, scene_form, stated)?;
        let places = places::places(&document, &form.places, &scene, (width, height), &frames)?;
        circumstances::reflected_is_known(&document, scene_form, &scene, places.reflects)?;
        Ok(Self {
            title: form.title.unwrap_or_else(|| name_of(&folder)),
            path: path.to_owned(),
            check: form.check,
            note: form.note,
            width,
            height,
            frames,
            scale,
            scene,
            sensor,
            repair,
            conditions: circumstances::conditions(&document, &form.conditions)?,
            places: places.shapes,
            rings: places.rings,
            regions: form.regions.map(|regions| circumstances::regions(&document, &regions)).transpose()?,
        })
    }

    /// Reads one image file without a `recording.toml`, as one frame at time 0 in view `single`.
    ///
    /// Nothing is known about the surface, so the emissivity is 1 and temperatures are apparent temperatures; facts of
    /// the sensor take their defaults.
    ///
    /// # Errors
    /// [`RecordingError`] if the file cannot be read, holds more than one frame (their times would be unknown), does
    /// not fit the scale, or if a number of the scale is out of range.
    pub fn from_image(path: &Path, scale: StatedScale) -> Result<Self, RecordingError> {
        scale::check(&scale).map_err(|(key, expected, found)| {
            RecordingError::path(path, format!("`{key}` of the stated scale to be {expected}"), found.to_string())
        })?;
        let mut budget = limits::MOST_PIXELS;
        let (pixels, counts_scale) = scale::counts(pixels::read_all(&[path.to_owned()], &mut budget)?, scale)?;
        let (width, height) = (pixels.width, pixels.height);
        Ok(Self {
            path: path.to_owned(),
            title: name_of(path),
            check: None,
            note: None,
            width,
            height,
            frames: frames::single(path, pixels)?,
            scale: counts_scale,
            scene: SceneStated::default(),
            sensor: SensorFacts::default(),
            repair: None,
            conditions: Vec::new(),
            places: Vec::new(),
            rings: Vec::new(),
            regions: None,
        })
    }
}

/// The folder of a recording and its description file.
fn locate(path: &Path) -> Result<(PathBuf, PathBuf), RecordingError> {
    let expected = format!("a folder with a `{FILE_NAME}`");
    let Ok(facts) = fs::metadata(path) else {
        return Err(RecordingError::path(path, expected, "nothing there that can be opened"));
    };
    if facts.is_dir() {
        let file = path.join(FILE_NAME);
        if file.is_file() {
            return Ok((path.to_owned(), file));
        }
        let empty = fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_none());
        let found = if empty { "an empty folder" } else { "a folder without one" };
        return Err(RecordingError::path(path, expected, found));
    }
    if path.extension().is_some_and(|extension| extension == "toml") && facts.is_file() {
        // A bare file name has an empty parent, which no system call takes for the current folder.
        let parent = path.parent().filter(|parent| *parent != Path::new("")).unwrap_or(Path::new("."));
        return Ok((parent.to_owned(), path.to_owned()));
    }
    Err(RecordingError::path(path, expected, "a file; a bare image needs its scale stated beside it"))
}

fn read_text(file: &Path) -> Result<String, RecordingError> {
    let length = fs::metadata(file).map_err(|error| RecordingError::unreadable(file, error))?.len();
    if length > limits::MOST_TEXT {
        return Err(RecordingError::path(
            file,
            format!("at most {} bytes of text", limits::MOST_TEXT),
            format!("{length} bytes"),
        ));
    }
    let bytes = fs::read(file).map_err(|error| RecordingError::unreadable(file, error))?;
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        RecordingError::path(file, "text in UTF-8", format!("byte {at} that is none"))
    })
}

/// The last part of the path, as a title. `.` and `..` are resolved first, so that a title is never empty for them.
fn name_of(path: &Path) -> String {
    let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    whole.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}
