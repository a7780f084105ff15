//! What a recording holds once it has been read and checked.

use std::path::PathBuf;

use oddheat_core::checks::{Condition, Role, View};
use oddheat_core::measure::Shape;
use oddheat_core::sensor::{Defect, FrameFlags};

/// A sequence of thermal frames with all that is needed to turn them into temperatures and findings.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Recording {
    /// The folder, or the image file, as it was given.
    pub path: PathBuf,
    /// Title; the name of the folder or file if none was given.
    pub title: String,
    /// Key of the check to run, if one was given. Not compared with the list of checks here.
    pub check: Option<String>,
    /// Free text of the person who recorded.
    pub note: Option<String>,
    /// Columns of every frame, 1 to 65,535.
    pub width: u16,
    /// Rows of every frame, 1 to 65,535.
    pub height: u16,
    /// At least one frame, in order of time.
    pub frames: Vec<Frame>,
    /// How counts become temperatures.
    pub scale: Scale,
    /// Radiometric circumstances of the scene.
    pub scene: SceneStated,
    /// What the instrument can do.
    pub sensor: SensorFacts,
    /// What the repair of the sensor did to the frames; `None` if none was asked for, and they are as they were sent.
    pub repair: Option<Repaired>,
    /// Stated conditions in the unit of [`Condition::unit`] (°C, s, A, kPa, m), yes as 1 and no as 0; in the order of
    /// their codes, each at most once.
    pub conditions: Vec<(Condition, f64)>,
    /// Placed shapes, in the order of the file. Each lies wholly inside the image, in a view that some frame has.
    pub places: Vec<Place>,
    /// Rings that are to be found in their view, in the order of the file.
    pub rings: Vec<RingToFind>,
    /// How to look for hot and cold regions, if stated.
    pub regions: Option<RegionRules>,
}

/// One thermal frame.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Frame {
    /// `width` × `height` counts, rows from the top, columns from the left.
    pub counts: Vec<u16>,
    /// Time in ms; does not run backward from frame to frame.
    pub time_ms: u32,
    /// Which picture of the check the frame belongs to.
    pub view: View,
    /// Whether the shutter closed since the frame before.
    pub shutter: bool,
    /// Temperature of the instrument's housing in °C, if stated.
    pub housing_c: Option<f64>,
}

/// How counts become temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// counts(T) = offset + c / (exp(c2 / (a·T + b)) − shape), T in K and c2 the second radiation constant; with
    /// shape 1 the Planckian Sakuma–Hattori form.
    Curve {
        /// Coefficient a, 1 to 100 µm.
        a_um: f64,
        /// Coefficient b, 0 to 10,000 µm·K.
        b_um_k: f64,
        /// Coefficient c, above 0, counts.
        c_counts: f64,
        /// Counts without radiation.
        offset_counts: f64,
        /// Shape, above −1, at most 10.
        shape: f64,
    },
    /// Two curves on one count axis: below the count that `low` has at the hand-over that curve, from it on `high`.
    TwoRange {
        /// The curve for low counts.
        low: StatedCurve,
        /// The curve for high counts.
        high: StatedCurve,
        /// Temperature at which they meet, °C.
        hand_over_c: f64,
        /// By how much they may differ there, K, above 0.
        tolerance_k: f64,
    },
    /// Temperature in °C = counts / `counts_per_kelvin` + `zero_c`.
    Linear {
        /// Counts per kelvin, above 0, at most 65,535.
        counts_per_kelvin: f64,
        /// Temperature at zero counts in °C; may lie below 0 K.
        zero_c: f64,
    },
}

/// Coefficients of one of two curves, with the ranges of [`Scale::Curve`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StatedCurve {
    /// Coefficient a, µm.
    pub a_um: f64,
    /// Coefficient b, µm·K.
    pub b_um_k: f64,
    /// Coefficient c, counts.
    pub c_counts: f64,
    /// Counts without radiation.
    pub offset_counts: f64,
    /// Shape.
    pub shape: f64,
}

/// What the pixels of a frame file are: counts with a scale, or temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StatedScale {
    /// Unsigned whole counts.
    Counts(Scale),
    /// Floating-point temperatures in this unit.
    Temperatures(TemperatureUnit),
}

/// Unit of floating-point pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TemperatureUnit {
    /// °C.
    Celsius,
    /// K.
    Kelvin,
}

/// Radiometric circumstances as stated.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct SceneStated {
    /// Emissivity where a place states no other; above 0, at most 1. With 1, temperatures are apparent temperatures.
    pub emissivity: f64,
    /// Its standard uncertainty, 0 to 1.
    pub emissivity_u: f64,
    /// Reflected apparent temperature in °C; present whenever an emissivity below 1 needs it.
    pub reflected_c: Option<f64>,
    /// Its standard uncertainty in K.
    pub reflected_u_k: f64,
    /// Transmittance of the medium between part and instrument; above 0, at most 1.
    pub transmittance: f64,
    /// Its standard uncertainty, 0 to 1.
    pub transmittance_u: f64,
    /// Temperature of that medium in °C; present whenever the transmittance is below 1.
    pub medium_c: Option<f64>,
    /// Its standard uncertainty in K.
    pub medium_u_k: f64,
}

/// What the instrument can do, as stated or assumed.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct SensorFacts {
    /// Noise equivalent temperature difference of one frame in K.
    pub netd_k: f64,
    /// Standard uncertainty of the absolute scale in K.
    pub calibration_k: f64,
    /// Standard uncertainty of the slope of the scale, relative.
    pub slope_relative: f64,
    /// Standard uncertainty of the offset drift between two views in K.
    pub drift_k: f64,
    /// Standard uncertainty from non-uniformity between two places of a frame in K.
    pub uniformity_k: f64,
    /// Angle one pixel sees, in mrad, if stated.
    pub ifov_mrad: Option<f64>,
    /// Counts at and above are not temperatures; above `dead_at_or_below`.
    pub saturated_at: u16,
    /// Counts at and below are not temperatures.
    pub dead_at_or_below: u16,
}

/// What [`oddheat_core::sensor::Chain`] did to the frames of a recording before anything else saw them.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Repaired {
    /// How the pixels were made alike.
    pub correction: Correction,
    /// Pixels that were replaced, listed and found, in raster order.
    pub bad: Vec<Defect>,
    /// How many of them were found by watching these frames. The bench then begins again, so that they are replaced
    /// from the first frame on.
    pub found_by_watch: u32,
    /// Views with fewer frames than a watch takes: in them nothing can be found.
    pub unwatched: Vec<View>,
    /// Whether the housing was steady.
    pub housing: Housing,
    /// Flags of each frame, in the order of the frames.
    pub flags: Vec<FrameFlags>,
    /// Noise equivalent temperature difference of one frame, K, from the uniform runs if their difference was stated.
    pub netd_k: Option<f64>,
    /// Root mean square of what the drift model leaves of its soak run, counts.
    pub drift_residual_counts: Option<f64>,
}

impl Repaired {
    /// Largest share of saturated pixels in a frame, before correction.
    #[must_use]
    pub fn most_saturated(&self) -> f64 {
        self.flags.iter().map(|flags| f64::from(flags.saturated_q16()) / 65_536.0).fold(0.0, f64::max)
    }

    /// Whether the drift of some frame is not covered by the soak run, or its housing temperature is not stated. False
    /// without a drift model.
    #[must_use]
    pub fn drift_unknown(&self) -> bool {
        self.flags.iter().any(|flags| flags.drift_unknown)
    }

    /// Frames with a flag.
    #[must_use]
    pub fn frames_with(&self, flag: impl Fn(&FrameFlags) -> bool) -> Vec<usize> {
        let flagged = self.flags.iter().enumerate().filter(|(_, flags)| flag(flags));
        flagged.map(|(index, _)| index).collect()
    }
}

/// What the monitor of the housing temperature saw over all frames.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Housing {
    /// Nobody asked.
    NotMonitored,
    /// The frames state no temperatures, or span less time than a slope needs.
    NotKnown,
    /// Steady wherever the slope is known.
    Steady,
    /// Its slope was above the limit in some frame.
    Changing,
}

impl Housing {
    /// Key for programs.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::NotMonitored => "not-monitored",
            Self::NotKnown => "not-known",
            Self::Steady => "steady",
            Self::Changing => "changing",
        }
    }
}

/// How the pixels of a sensor were made alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// Not at all.
    None,
    /// Gain and offset of each pixel, from two uniform runs.
    TwoPoint,
    /// Offset of each pixel, from one run.
    Offsets,
    /// Gain and offset, then offsets anew.
    TwoPointAndOffsets,
}

impl Correction {
    /// Key for programs.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::TwoPoint => "two-point",
            Self::Offsets => "offsets",
            Self::TwoPointAndOffsets => "two-point-and-offsets",
        }
    }
}

/// A shape that the operator placed on a part.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Place {
    /// What the shape covers.
    pub role: Role,
    /// In which picture it lies.
    pub view: View,
    /// The shape, wholly inside the image.
    pub shape: Shape,
    /// Emissivity of the covered surface: its own, or else that of the scene.
    pub emissivity: f64,
    /// Its standard uncertainty: its own, or else that of the scene.
    pub emissivity_u: f64,
}

/// A ring-shaped part that is to be found in its picture.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct RingToFind {
    /// What it is.
    pub role: Role,
    /// In which picture.
    pub view: View,
    /// By what it is found.
    pub by: RingBy,
    /// As for a [`Place`].
    pub emissivity: f64,
    /// As for a [`Place`].
    pub emissivity_u: f64,
}

/// How a ring-shaped part is found.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum RingBy {
    /// By its own two edges.
    Edges {
        /// Least inner and greatest outer radius in pixels, 4 to 1,023.
        radii: (u16, u16),
        /// Pixels left out at either edge, which optics blur.
        margin: u16,
    },
    /// By another part of the same picture that is found by its edges: around its center.
    Around {
        /// That part.
        ring: Role,
        /// Inner and outer radius as shares of that part's outer edge, 0 to 4.
        shares: (f64, f64),
    },
}

/// How to look for hot and cold regions. At least one limit is present, at most one for hot and one for cold.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct RegionRules {
    /// What counts as hot.
    pub hot: Option<RegionLimit>,
    /// What counts as cold.
    pub cold: Option<RegionLimit>,
    /// Smallest region reported, in pixels, 1 or more.
    pub min_area: u32,
    /// Which neighbors belong together.
    pub connectivity: Connectivity,
    /// How many regions are kept per frame, 1 or more.
    pub capacity: u16,
}

impl RegionRules {
    /// Hot from `hot_k` kelvin above the median of the picture on, cold from `cold_k` below it; 8 neighbors. `None`
    /// unless both are above 0 and finite.
    #[must_use]
    pub fn about_median(hot_k: f64, cold_k: f64, min_area: u32) -> Option<Self> {
        let sound = |k: f64| k > 0.0 && k.is_finite();
        let (hot, cold) = (Some(RegionLimit::FromMedianK(hot_k)), Some(RegionLimit::FromMedianK(cold_k)));
        let rules = Self::new(hot, cold, min_area, Connectivity::Eight, 32_766);
        (sound(hot_k) && sound(cold_k)).then_some(rules)
    }

    /// Rules that the reader of recordings would accept: at least one limit, area and capacity 1 or more.
    pub(crate) const fn new(
        hot: Option<RegionLimit>,
        cold: Option<RegionLimit>,
        min_area: u32,
        connectivity: Connectivity,
        capacity: u16,
    ) -> Self {
        Self { hot, cold, min_area, connectivity, capacity }
    }
}

/// A limit for regions: hot is at it or above, cold is at it or below.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RegionLimit {
    /// This many K away from the median of the frame, above 0; upward for hot, downward for cold.
    FromMedianK(f64),
    /// This temperature in °C.
    AtC(f64),
}

/// Which neighbors of a pixel belong to the same region.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Connectivity {
    /// Those that share an edge.
    Four,
    /// Those that share an edge or a corner.
    Eight,
}
