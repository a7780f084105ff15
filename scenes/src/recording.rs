//! A recording with its ground truth, and the folder it is written to.

use std::collections::BTreeMap;
use std::path::Path;
use std::{fs, io};

use ndarray::ArrayView3;
use ndarray_npy::WriteNpyExt;
use serde::Serialize;
use toml_edit::{DocumentMut, Item};

use crate::place::{Place, Role, View};
use crate::planck::ZERO_CELSIUS_K;
use crate::render::{Footage, Seen, optics};
use crate::sensor::Sensor;

/// Name of the file with the frames.
const FRAMES: &str = "frames.npy";

/// A condition as stated by the operator: a number in its unit or yes/no.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Stated {
    /// A number in the unit of the condition.
    Number(f64),
    /// Yes or no.
    YesNo(bool),
}

/// Stated conditions by key.
pub type Conditions = BTreeMap<&'static str, Stated>;

/// What a recording says about its scene as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SceneStatement {
    /// Emissivity of every shape that states none.
    pub emissivity: f64,
    /// Reflected apparent temperature in °C.
    pub reflected_c: f64,
}

/// What is truly under a placed shape.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrueTemperature {
    /// Role of the shape.
    pub role: Role,
    /// View of the shape.
    pub view: View,
    /// Area mean of the true surface temperature over the shape as placed and over the view's frames, in °C.
    pub mean_c: f64,
    /// Area mean of the true emissivity.
    pub emissivity: f64,
}

/// Where the fault is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultPlace {
    /// View it is seen in.
    pub view: View,
    /// Pixel coordinates (x, y).
    pub at: [f64; 2],
}

/// Ground truth of a scenario.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Truth {
    /// Seed that made the recording.
    pub seed: u64,
    /// What the scene was meant to be, if it was drawn as a case.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub case: Option<String>,
    /// Fault id, or "none".
    pub fault: &'static str,
    /// Size of the fault in `severity_unit`; 0 without a fault.
    pub severity: f64,
    /// Unit of the severity.
    pub severity_unit: &'static str,
    /// False if the scene's physics or its conditions leave too little to see, whatever the instrument does.
    ///
    /// Scenes state their rule; a check must not be marked down for not finding such a fault.
    pub resolvable: bool,
    /// True reflected apparent temperature in °C.
    pub reflected_c: f64,
    /// Indices (x, y) of dead and stuck pixels, replaced or not.
    pub bad_pixels: Vec<[usize; 2]>,
    /// Where the fault is, if it has a place in a picture.
    #[serde(rename = "where", skip_serializing_if = "Option::is_none")]
    pub place: Option<FaultPlace>,
    /// Further numbers of the scene by name; the unit ends the name.
    pub quantities: BTreeMap<String, f64>,
    /// True temperatures under the placed shapes.
    pub temperature: Vec<TrueTemperature>,
}

/// What a scene knows before the frames are taken.
#[derive(Clone, Debug)]
pub struct Script {
    /// Title of the recording.
    pub title: String,
    /// Key of the check.
    pub check: &'static str,
    /// Statement about the whole scene.
    pub scene: SceneStatement,
    /// True reflected apparent temperature in K.
    pub reflected_k: f64,
    /// Stated conditions.
    pub conditions: Conditions,
    /// Placed shapes.
    pub places: Vec<Place>,
    /// Seed.
    pub seed: u64,
    /// Fault id, or "none".
    pub fault: &'static str,
    /// Severity and its unit.
    pub severity: (f64, &'static str),
    /// See [`Truth::resolvable`].
    pub resolvable: bool,
    /// See [`Truth::place`].
    pub place: Option<FaultPlace>,
    /// See [`Truth::quantities`].
    pub quantities: BTreeMap<String, f64>,
}

/// Frames, statements and truth.
#[derive(Clone, Debug)]
pub struct Recording {
    /// Title; made of words and numbers, so that a folder name can be made of it.
    pub title: String,
    /// Key of the check.
    pub check: &'static str,
    /// The instrument.
    pub sensor: Sensor,
    /// Counts in row order, one picture per frame.
    pub frames: Vec<Vec<u16>>,
    /// Time of each frame in s, rising.
    pub times_s: Vec<f64>,
    /// View of each frame.
    pub views: Vec<View>,
    /// The shutter closed since the frame before.
    pub shutter: Vec<bool>,
    /// Housing temperature of each frame in °C.
    pub housing_c: Vec<f64>,
    /// Statement about the whole scene.
    pub scene: SceneStatement,
    /// Stated conditions.
    pub conditions: Conditions,
    /// Placed shapes.
    pub places: Vec<Place>,
    /// Ground truth.
    pub truth: Truth,
    /// What was really there, one per view; not written.
    pub seen: Vec<Seen>,
}

impl Recording {
    /// Joins a script and its footage; computes the true temperature under each placed shape.
    #[must_use]
    pub fn new(script: Script, sensor: &Sensor, footage: Footage) -> Self {
        let temperature = script
            .places
            .iter()
            .filter_map(|place| {
                let seen = footage.seen.iter().find(|seen| seen.view == place.view)?;
                Some(TrueTemperature {
                    role: place.role,
                    view: place.view,
                    mean_c: place.shape.mean(&seen.kelvin, sensor.width)? - ZERO_CELSIUS_K,
                    emissivity: place.shape.mean(&seen.emissivity, sensor.width)?,
                })
            })
            .collect();
        let truth = Truth {
            seed: script.seed,
            case: None,
            fault: script.fault,
            severity: script.severity.0,
            severity_unit: script.severity.1,
            resolvable: script.resolvable,
            reflected_c: script.reflected_k - ZERO_CELSIUS_K,
            bad_pixels: footage.bad.iter().map(|i| [i % sensor.width, i / sensor.width]).collect(),
            place: script.place,
            quantities: script.quantities,
            temperature,
        };
        Self {
            title: script.title,
            check: script.check,
            sensor: sensor.clone(),
            frames: footage.frames,
            times_s: footage.times_s,
            views: footage.views,
            shutter: footage.shutter,
            housing_c: footage.housing_c,
            scene: script.scene,
            conditions: script.conditions,
            places: script.places,
            truth,
            seen: footage.seen,
        }
    }

    /// True mean temperature in °C under the shape of a role in a view.
    #[must_use]
    pub fn true_c(&self, role: Role, view: View) -> Option<f64> {
        self.truth.temperature.iter().find(|t| t.role == role && t.view == view).map(|t| t.mean_c)
    }

    /// True surface temperature in K per pixel of a view, mean over its frames, as blurred as the optics show it.
    ///
    /// Optics mix radiance; that they mix temperature alike holds for the few kelvin around a spot, not for a rotor.
    #[must_use]
    pub fn through_optics(&self, view: View) -> Option<Vec<f64>> {
        let seen = self.seen.iter().find(|seen| seen.view == view)?;
        Some(optics(&self.sensor, &seen.kelvin))
    }

    /// Title as a folder name: lower case, everything but letters and digits turned into single hyphens.
    #[must_use]
    pub fn slug(&self) -> String {
        let words: Vec<&str> =
            self.title.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
        words.join("-").to_ascii_lowercase()
    }

    /// The text of `recording.toml`: what an operator and an instrument would know.
    ///
    /// # Errors
    /// If a value cannot be written as TOML.
    pub fn statement(&self) -> io::Result<String> {
        let curve = self.sensor.response.sakuma_hattori();
        let form = RecordingForm {
            title: &self.title,
            check: self.check,
            frames: FramesForm {
                file: FRAMES,
                times_s: &self.times_s,
                views: &self.views,
                shutter: &self.shutter,
                housing_c: self.housing_c.iter().map(|c| libm::round(c * 100.0) / 100.0).collect(),
            },
            scale: ScaleForm {
                curve: CurveForm {
                    a_um: curve.a_um,
                    b_um_k: curve.b_um_k,
                    c_counts: curve.c_radiance * self.sensor.gain_counts_per_radiance,
                    offset_counts: self.sensor.offset_counts,
                    shape: 1.0,
                },
            },
            scene: self.scene,
            sensor: SensorForm {
                netd_k: self.sensor.netd_k,
                calibration_k: self.sensor.calibration_k,
                drift_k: self.sensor.drift_k,
                ifov_mrad: self.sensor.ifov_mrad,
                saturated_at: self.sensor.full_scale,
                repair: (!self.sensor.replaces_bad).then_some(RepairForm { bad_pixels: &self.truth.bad_pixels }),
            },
            conditions: &self.conditions,
            place: &self.places,
        };
        Ok(document(&form)?.to_string())
    }

    /// The text of `truth.toml`.
    ///
    /// # Errors
    /// If a value cannot be written as TOML.
    pub fn truth_text(&self) -> io::Result<String> {
        Ok(document(&self.truth)?.to_string())
    }

    /// Writes `frames.npy`, `recording.toml` and `truth.toml` into `dir`, which is made if needed.
    ///
    /// # Errors
    /// What the file system refuses.
    pub fn write(&self, dir: &Path) -> io::Result<()> {
        fs::create_dir_all(dir)?;
        let flat = self.frames.concat();
        let shape = (self.frames.len(), self.sensor.height, self.sensor.width);
        let frames = ArrayView3::from_shape(shape, &flat).map_err(io::Error::other)?;
        let mut npy = Vec::new();
        frames.write_npy(&mut npy).map_err(io::Error::other)?;
        fs::write(dir.join(FRAMES), npy)?;
        fs::write(dir.join("recording.toml"), self.statement()?)?;
        fs::write(dir.join("truth.toml"), self.truth_text()?)
    }
}

/// Serializes with one line per value: tables at the top two levels, everything below inline.
///
/// The crate's compact form would put a whole recording on a few lines, its pretty form one time stamp on each.
fn document(form: &impl Serialize) -> io::Result<DocumentMut> {
    let mut document = toml_edit::ser::to_document(form).map_err(io::Error::other)?;
    for (_, item) in document.iter_mut() {
        spread(item);
        if let Some(table) = item.as_table_mut() {
            table.iter_mut().for_each(|(_, inner)| spread(inner));
            table.set_implicit(true);
        }
    }
    Ok(document)
}

/// Turns an inline table, or a list of them, into tables with headers.
fn spread(item: &mut Item) {
    *item = match std::mem::take(item).into_table() {
        Ok(table) => Item::Table(table),
        Err(other) => other.into_array_of_tables().map_or_else(|other| other, Item::ArrayOfTables),
    };
}

#[derive(Serialize)]
struct RecordingForm<'a> {
    title: &'a str,
    check: &'a str,
    frames: FramesForm<'a>,
    scale: ScaleForm,
    scene: SceneStatement,
    sensor: SensorForm<'a>,
    conditions: &'a Conditions,
    place: &'a [Place],
}

#[derive(Serialize)]
struct FramesForm<'a> {
    file: &'a str,
    times_s: &'a [f64],
    views: &'a [View],
    shutter: &'a [bool],
    housing_c: Vec<f64>,
}

#[derive(Serialize)]
struct ScaleForm {
    curve: CurveForm,
}

#[derive(Serialize)]
struct CurveForm {
    a_um: f64,
    b_um_k: f64,
    c_counts: f64,
    offset_counts: f64,
    shape: f64,
}

#[derive(Serialize)]
struct SensorForm<'a> {
    netd_k: f64,
    calibration_k: f64,
    drift_k: f64,
    ifov_mrad: f64,
    saturated_at: u16,
    /// The list that a maker delivers with a sensor that sends its bad pixels.
    #[serde(skip_serializing_if = "Option::is_none")]
    repair: Option<RepairForm<'a>>,
}

#[derive(Serialize)]
struct RepairForm<'a> {
    bad_pixels: &'a [[usize; 2]],
}
