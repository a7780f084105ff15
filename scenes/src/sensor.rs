//! Invented sensors: their size, noise, scale and optics.

use crate::planck::{Band, Response, ZERO_CELSIUS_K};

/// Temperature at which noise figures in kelvin are turned into radiance, in K.
///
/// 30 °C: the column of radiometry.md section 6 that gives the same noise at other temperatures refers to it.
pub const NOISE_REFERENCE_K: f64 = 30.0 + ZERO_CELSIUS_K;

/// A long-wave sensor with its lens and its counts. All fields are free to change; the constructors give examples.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensor {
    /// Plain descriptive name.
    pub name: &'static str,
    /// Pixels in a row, at least 40.
    pub width: usize,
    /// Rows, at least 30.
    pub height: usize,
    /// Frames per second the sensor can send; recordings may keep fewer.
    pub frames_per_second: f64,
    /// Temporal noise of one pixel at 30 °C, standard deviation in K. Range 0.03–0.1 (vehicle.md section 4).
    pub netd_k: f64,
    /// Fixed noise of each column, standard deviation in K at 30 °C. Range 0.02–0.06 (vehicle.md section 4).
    pub column_k: f64,
    /// Low-order shading, largest peak-to-peak in K at 30 °C; each run draws 0.2 K up to it. Range 0.2–1 (vehicle.md
    /// section 4).
    pub shading_k: f64,
    /// Angle of one pixel in mrad.
    pub ifov_mrad: f64,
    /// Counts per W m⁻² sr⁻¹ in band.
    pub gain_counts_per_radiance: f64,
    /// Counts at zero radiance.
    pub offset_counts: f64,
    /// Largest count that can be sent; it means "at least this".
    pub full_scale: u16,
    /// Spectral response.
    pub response: Response,
    /// Standard deviation of the optics' blur in pixels. Range 0.6–1.2 (vehicle.md section 4).
    pub blur_px: f64,
    /// Share of the light in a wide skirt, the size-of-source effect. Range 0.01–0.03 (vehicle.md section 4).
    pub skirt_share: f64,
    /// Standard deviation of that skirt in pixels (proposal: a tenth of the frame height).
    pub skirt_px: f64,
    /// Standard deviation of the absolute scale from one run to the next, in K at 30 °C.
    ///
    /// Vehicle.md section 1.3 gives ±2 to 5 K as common practice; 1 K is a standard deviation near its lower end.
    pub calibration_k: f64,
    /// What a maker would state for the standard uncertainty of the offset between two views, in K (proposal).
    pub drift_k: f64,
    /// Largest step of the offset at a shutter event in K, where it is worse than the stated drift lets one expect:
    /// 0.3–2 (vehicle.md section 1.3). None: as the stated drift says.
    pub shutter_step_k: Option<f64>,
    /// How far the offset is off at the first frame of an instrument that was just switched on, at most, in K: it creeps
    /// back over minutes, shutter or not, for the correction is good only at the sensor's own temperature (vehicle.md
    /// section 1.3, R7). None: warmed up.
    pub warms_up_k: Option<f64>,
    /// Standard deviation of the pixels' responsivity, as a share; 0 after the maker's correction.
    pub responsivity_spread: f64,
    /// Fixes patterns and bad pixels, so that several recordings are made with one and the same instrument; none: each
    /// recording's seed draws its own.
    pub serial: Option<u64>,
    /// Time from one shutter event to the next in s; none if the shutter is shut off. Range 30–180 (vehicle.md
    /// section 4).
    pub shutter_every_s: Option<f64>,
    /// Share of pixels that are dead or stuck. 0.001 in vehicle.md section 4.
    pub bad_share: f64,
    /// The instrument knows its bad pixels and sends the mean of their good neighbors instead, as handhelds do; a bare
    /// sensor sends them as they are.
    pub replaces_bad: bool,
}

impl Sensor {
    /// 80 × 60 pixels, 14 bits, range to about 520 °C: a bare sensor, bad pixels and all.
    #[must_use]
    pub const fn small() -> Self {
        Self {
            name: "small",
            width: 80,
            height: 60,
            frames_per_second: 9.0,
            netd_k: 0.08,
            column_k: 0.05,
            shading_k: 0.6,
            ifov_mrad: 6.0,
            gain_counts_per_radiance: 13.0,
            offset_counts: 900.0,
            full_scale: 16_383,
            response: Response::Flat8To14,
            blur_px: 0.6,
            skirt_share: 0.03,
            skirt_px: 6.0,
            calibration_k: 1.0,
            drift_k: 0.4,
            shutter_step_k: None,
            warms_up_k: None,
            responsivity_spread: 0.0,
            serial: None,
            shutter_every_s: Some(90.0),
            bad_share: 0.001,
            replaces_bad: false,
        }
    }

    /// 160 × 120 pixels, 16 bits, range to about 540 °C.
    #[must_use]
    pub const fn medium() -> Self {
        Self {
            name: "medium",
            width: 160,
            height: 120,
            frames_per_second: 9.0,
            netd_k: 0.06,
            column_k: 0.03,
            shading_k: 0.5,
            ifov_mrad: 3.0,
            gain_counts_per_radiance: 50.0,
            offset_counts: 1_850.0,
            full_scale: 65_535,
            response: Response::Flat8To14,
            blur_px: 0.8,
            skirt_share: 0.02,
            skirt_px: 12.0,
            calibration_k: 1.0,
            drift_k: 0.3,
            shutter_step_k: None,
            warms_up_k: None,
            responsivity_spread: 0.0,
            serial: None,
            shutter_every_s: Some(120.0),
            bad_share: 0.001,
            replaces_bad: true,
        }
    }

    /// 256 × 192 pixels, 14 bits at high gain: fine steps, but full above about 175 °C.
    #[must_use]
    pub const fn large() -> Self {
        Self {
            name: "large",
            width: 256,
            height: 192,
            frames_per_second: 25.0,
            netd_k: 0.04,
            column_k: 0.02,
            shading_k: 0.4,
            ifov_mrad: 1.9,
            gain_counts_per_radiance: 55.0,
            offset_counts: 2_000.0,
            full_scale: 16_383,
            response: Response::Flat7p5To13,
            blur_px: 0.9,
            skirt_share: 0.015,
            skirt_px: 19.0,
            calibration_k: 1.0,
            drift_k: 0.3,
            shutter_step_k: None,
            warms_up_k: None,
            responsivity_spread: 0.0,
            serial: None,
            shutter_every_s: Some(150.0),
            bad_share: 0.001,
            replaces_bad: true,
        }
    }

    /// The same sensor without noise, pattern, drift or bad pixels; what is left is optics and rounding.
    #[must_use]
    pub const fn without_noise(mut self) -> Self {
        self.netd_k = 0.0;
        self.column_k = 0.0;
        self.shading_k = 0.0;
        self.calibration_k = 0.0;
        self.drift_k = 0.0;
        self.shutter_every_s = None;
        self.shutter_step_k = None;
        self.warms_up_k = None;
        self.responsivity_spread = 0.0;
        self.bad_share = 0.0;
        self
    }

    /// Pixels in a frame.
    #[must_use]
    pub const fn pixels(&self) -> usize {
        self.width * self.height
    }

    /// Radiance in W m⁻² sr⁻¹ of a small temperature difference `kelvin` at 30 °C.
    #[must_use]
    pub fn radiance_of_difference(&self, kelvin: f64) -> f64 {
        kelvin * Band::of(self.response).radiance_and_slope(NOISE_REFERENCE_K).1
    }

    /// Millimeters on the object that one pixel covers at `distance_m`.
    #[must_use]
    pub fn mm_per_px(&self, distance_m: f64) -> f64 {
        self.ifov_mrad * distance_m
    }
}
