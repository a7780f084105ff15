//! In-band radiance by numerical integration, for any spectral response: the outside answer that curves are held to.
//!
//! *Independence.* Nothing here knows the curve's form. The integrator (Simpson's rule on each piece of the response)
//! is not the one of the simulator (trapezoid), and the two are compared in a test. *Units.* µm, K, W m⁻² sr⁻¹ times
//! the unit of the response.

use oddheat_core::radiometry::{
    CalibrationPoint, Curve, Fit, FitError, FitOptions, SpectralBand, blackbody_settings, fit_curve,
};

/// 2hc² in W µm⁴ m⁻² sr⁻¹ (computed, radiometry notes 1.1; exact in the SI).
const C1_RADIANCE: f64 = 1.191_042_972_397_188_4e8;
/// hc/k in µm·K (computed, radiometry notes 1.1; exact in the SI).
const C2_UM_K: f64 = 14_387.768_775_039_337;

/// 0 °C in K (exact).
pub const ICE_POINT_K: f64 = 273.15;

/// A spectral response: straight pieces between points of wavelength and relative responsivity.
#[derive(Clone, Debug)]
pub struct Response {
    points: Vec<(f64, f64)>,
}

impl Response {
    /// 1 between two wavelengths, 0 outside; cut into 240 pieces, which brings the rule's error to 1e-12
    /// (against scipy's `quad`, computed). With 60 pieces it was 3e-10, and that moved C of an exact fit by 5e-5.
    #[must_use]
    pub fn flat(from_um: f64, to_um: f64) -> Self {
        Self::sampled(from_um, to_um, 240, |_| 1.0)
    }

    /// A band as lenses and filters make it: logistic edges at 8.0 and 13.5 µm, 0.15 µm wide, on a responsivity that
    /// falls by 2 % per µm (our choice, after the description in radiometry notes 2.3).
    #[must_use]
    pub fn soft_edged() -> Self {
        let edge = |distance: f64| 1.0 / (1.0 + libm::exp(-distance / 0.15));
        Self::sampled(6.0, 15.5, 400, |um| edge(um - 8.0) * edge(13.5 - um) * (1.0 - 0.02 * (um - 10.75)))
    }

    /// From the text of a file with one wavelength and one responsivity per line.
    ///
    /// # Panics
    /// If a line is anything else: the files are ours.
    #[must_use]
    pub fn parse(text: &str) -> Self {
        Self { points: pairs(text) }
    }

    fn sampled(from_um: f64, to_um: f64, pieces: u32, value: impl Fn(f64) -> f64) -> Self {
        let step = (to_um - from_um) / f64::from(pieces);
        let points = (0..=pieces).map(|i| from_um + step * f64::from(i)).map(|um| (um, value(um))).collect();
        Self { points }
    }

    /// Radiance of a blackbody at `kelvin` through this response.
    #[must_use]
    pub fn radiance(&self, kelvin: f64) -> f64 {
        self.integrate(|um| spectral(um, kelvin))
    }

    /// Slope of [`Response::radiance`] per kelvin.
    #[must_use]
    pub fn slope(&self, kelvin: f64) -> f64 {
        self.integrate(|um| {
            let x = C2_UM_K / (um * kelvin);
            let half = libm::sinh(x / 2.0);
            C1_RADIANCE / (um * um * um * um * um) * x / kelvin / (4.0 * half * half)
        })
    }

    /// Integral of the response itself; radiances per µm are divided by it.
    #[must_use]
    pub fn width_um(&self) -> f64 {
        self.integrate(|_| 1.0)
    }

    /// Mean wavelength and standard deviation about it, the start values of a fit.
    #[must_use]
    pub fn mean_and_deviation_um(&self) -> (f64, f64) {
        let width = self.width_um();
        let mean = self.integrate(|um| um) / width;
        (mean, libm::sqrt(self.integrate(|um| (um - mean) * (um - mean)) / width))
    }

    /// Simpson's rule on every piece.
    fn integrate(&self, spectral: impl Fn(f64) -> f64) -> f64 {
        let piece = |w: &[(f64, f64)]| {
            let ((from, r0), (to, r1)) = (w[0], w[1]);
            let middle = (from + to) / 2.0;
            let values = r0 * spectral(from) + 2.0 * (r0 + r1) * spectral(middle) + r1 * spectral(to);
            (to - from) / 6.0 * values
        };
        self.points.windows(2).map(piece).sum()
    }
}

/// A real radiometer band from outside the project; see `tests/data/band_radiance_lut/README.txt`.
#[derive(Clone, Debug)]
pub struct RadiometerBand {
    /// Label of the data set.
    pub name: &'static str,
    /// Measured spectral response.
    pub response: Response,
    /// Published table: K, and radiance in W m⁻² sr⁻¹ µm⁻¹.
    pub table: Vec<(f64, f64)>,
    /// How closely an independent integral meets the table, K, as the data set's note states.
    pub agreement: f64,
}

impl RadiometerBand {
    /// The four bands of the data set.
    #[must_use]
    pub fn all() -> Vec<Self> {
        macro_rules! band {
            ($name:literal, $agreement:expr) => {
                Self {
                    name: $name,
                    response: Response::parse(include_str!(concat!(
                        "../data/band_radiance_lut/",
                        $name,
                        "_response.txt"
                    ))),
                    table: pairs(include_str!(concat!("../data/band_radiance_lut/", $name, "_radiance.txt"))),
                    agreement: $agreement,
                }
            };
        }
        vec![band!("L4", 0.003), band!("L5", 0.003), band!("L8", 0.003), band!("L7", 0.11)]
    }

    /// Largest difference in K between integral and table over these temperatures.
    #[must_use]
    pub fn integral_error(&self, from_kelvin: f64, to_kelvin: f64) -> f64 {
        let width = self.response.width_um();
        let rows = self.table.iter().filter(|(kelvin, _)| (from_kelvin..=to_kelvin).contains(kelvin));
        let off = |(kelvin, radiance): &(f64, f64)| {
            libm::fabs((self.response.radiance(*kelvin) - radiance * width) / self.response.slope(*kelvin))
        };
        rows.map(off).fold(0.0, f64::max)
    }

    /// Largest difference in K, 250 to 373 K, between the table and a curve fitted to the four of its rows that are next
    /// above the recommended settings.
    ///
    /// # Errors
    /// As of the fit.
    pub fn fit_error(&self) -> Result<f64, FitError> {
        let (mean_um, deviation_um) = self.response.mean_and_deviation_um();
        let row = |kelvin: f64| self.table.iter().find(|(t, _)| *t >= kelvin).copied().unwrap_or_default();
        let points = blackbody_settings(250.0, 373.0).map(|(kelvin, time)| {
            let (kelvin, radiance) = row(kelvin);
            CalibrationPoint::new(kelvin, radiance).uncertain(0.01 / libm::sqrt(time), 0.0)
        });
        let fit = fit_curve(&points, &FitOptions::new(SpectralBand { mean_um, deviation_um }))?;
        let off = |(kelvin, radiance): &(f64, f64)| {
            fit.curve().temperature(*radiance).map_or(f64::INFINITY, |t| libm::fabs(t - kelvin))
        };
        Ok(self.table.iter().filter(|(kelvin, _)| *kelvin >= 250.0).map(off).fold(0.0, f64::max))
    }
}

/// Planck's law: radiance per µm at a wavelength in µm and a temperature in K.
#[must_use]
pub fn spectral(um: f64, kelvin: f64) -> f64 {
    C1_RADIANCE / (um * um * um * um * um * libm::expm1(C2_UM_K / (um * kelvin)))
}

/// Pairs of numbers, one pair per line.
///
/// # Panics
/// If a line is anything else.
#[must_use]
pub fn pairs(text: &str) -> Vec<(f64, f64)> {
    let number = |word: Option<&str>| word.and_then(|w| w.parse().ok()).expect("two numbers per line");
    text.lines()
        .filter(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .map(|line| {
            let mut words = line.split_whitespace();
            (number(words.next()), number(words.next()))
        })
        .collect()
}

/// Fits A, B and C to the response at the four recommended settings.
///
/// # Errors
/// As of the fit.
pub fn fit(response: &Response, low: f64, high: f64) -> Result<Fit, FitError> {
    let (mean_um, deviation_um) = response.mean_and_deviation_um();
    let point = |(kelvin, time): (f64, f64)| {
        CalibrationPoint::new(kelvin, response.radiance(kelvin)).uncertain(0.01 / libm::sqrt(time), 0.0)
    };
    let points = blackbody_settings(low, high).map(point);
    fit_curve(&points, &FitOptions::new(SpectralBand { mean_um, deviation_um }))
}

/// Largest difference in K between a curve and the response over a range, at 301 temperatures; infinite where the
/// curve has none.
#[must_use]
pub fn worst_error(curve: &Curve, response: &Response, low: f64, high: f64) -> f64 {
    let at = |i: u32| low + (high - low) * f64::from(i) / 300.0;
    let off = |kelvin: f64| curve.temperature(response.radiance(kelvin)).map_or(f64::INFINITY, |t| (t - kelvin).abs());
    (0..=300).map(|i| off(at(i))).fold(0.0, f64::max)
}
