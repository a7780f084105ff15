//! In-band radiance of a blackbody: the numerical integral of Planck's law over a spectral response.
//!
//! Temperatures are in K, radiances in W m⁻² sr⁻¹. Nothing here is an interpolation formula for thermometers: the
//! point of the crate is to be independent of the curve that the library under test inverts.

use std::sync::OnceLock;

/// First radiation constant for radiance, 2hc², in W µm⁴ m⁻² sr⁻¹ (computed; radiometry.md section 1.1).
const C1_RADIANCE: f64 = 1.191_042_972_397_188_4e8;
/// Second radiation constant hc/k, in µm K (computed; radiometry.md section 1.1).
const C2_UM_K: f64 = 14_387.768_775_039_337;

/// 0 °C in K (exact by definition of the Celsius scale).
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Steps of the trapezoid rule. Derived: its error h²/12·(f'(b)−f'(a)) stays below 3e-7 of the integral from
/// −20 to 650 °C, so the table of radiometry.md section 1.3 is met to 1e-6.
const STEPS: u32 = 1200;

/// Limits and step of the lookup table in K. Proposal: from any cold sky to above every brake; outside is clamped.
const TABLE_FROM_K: f64 = 180.0;
const TABLE_TO_K: f64 = 1200.0;
const TABLE_STEP_K: f64 = 2.0;

/// Spectral response of a sensor together with its lens: 1 inside the band, 0 outside, for energy (not photons).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Response {
    /// Flat from 8 to 14 µm.
    Flat8To14,
    /// Flat from 7.5 to 13 µm.
    Flat7p5To13,
}

/// Coefficients of the Planckian Sakuma–Hattori form S = C/(exp(c2/(A·T + B)) − 1) with S in W m⁻² sr⁻¹.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SakumaHattori {
    /// A in µm.
    pub a_um: f64,
    /// B in µm K.
    pub b_um_k: f64,
    /// C in W m⁻² sr⁻¹.
    pub c_radiance: f64,
}

impl Response {
    /// Band limits in µm.
    #[must_use]
    pub const fn limits_um(self) -> (f64, f64) {
        match self {
            Self::Flat8To14 => (8.0, 14.0),
            Self::Flat7p5To13 => (7.5, 13.0),
        }
    }

    /// What the maker of such an instrument would state: the minimax fit over −20 to 650 °C (computed; radiometry.md
    /// section 2.3, worst error 0.043 K and 0.037 K). Written into recordings, never used to make them.
    #[must_use]
    pub const fn sakuma_hattori(self) -> SakumaHattori {
        match self {
            Self::Flat8To14 => SakumaHattori { a_um: 9.370228, b_um_k: 172.8692, c_radiance: 6766.88 },
            Self::Flat7p5To13 => SakumaHattori { a_um: 8.771629, b_um_k: 168.8805, c_radiance: 8716.281 },
        }
    }
}

/// Band integral of Planck's law at `kelvin` (> 0) and its derivative by temperature, in W m⁻² sr⁻¹ and per K.
///
/// Costs about 1200 exponentials; scenes use [`Band`] instead.
#[must_use]
pub fn band_radiance(response: Response, kelvin: f64) -> (f64, f64) {
    let (from, to) = response.limits_um();
    let step = (to - from) / f64::from(STEPS);
    let mut radiance = 0.0;
    let mut slope = 0.0;
    for i in 0..=STEPS {
        let um = from + step * f64::from(i);
        let exponent = C2_UM_K / (um * kelvin);
        let less_one = libm::expm1(exponent);
        let spectral = C1_RADIANCE / (um * um * um * um * um * less_one);
        let by_kelvin = spectral * exponent / kelvin * (less_one + 1.0) / less_one;
        let weight = if i == 0 || i == STEPS { 0.5 } else { 1.0 };
        radiance += weight * spectral;
        slope += weight * by_kelvin;
    }
    (radiance * step, slope * step)
}

/// Lookup of the band integral over temperature, with its inverse.
#[derive(Debug)]
pub struct Band {
    nodes: Vec<(f64, f64)>,
}

impl Band {
    /// The table of a response; built at first use (about half a million exponentials), then shared.
    #[must_use]
    pub fn of(response: Response) -> &'static Self {
        static LONG: OnceLock<Band> = OnceLock::new();
        static SHORT: OnceLock<Band> = OnceLock::new();
        let slot = match response {
            Response::Flat8To14 => &LONG,
            Response::Flat7p5To13 => &SHORT,
        };
        slot.get_or_init(|| Self::build(response))
    }

    fn build(response: Response) -> Self {
        let count = ((TABLE_TO_K - TABLE_FROM_K) / TABLE_STEP_K) as u32;
        let nodes = (0..=count).map(|i| band_radiance(response, TABLE_FROM_K + TABLE_STEP_K * f64::from(i))).collect();
        Self { nodes }
    }

    /// Radiance and its derivative at `kelvin`, clamped to 180…1200 K.
    ///
    /// Cubic Hermite interpolation: within 1e-8 of [`band_radiance`] (checked by a test).
    #[must_use]
    pub fn radiance_and_slope(&self, kelvin: f64) -> (f64, f64) {
        let position = (kelvin.clamp(TABLE_FROM_K, TABLE_TO_K) - TABLE_FROM_K) / TABLE_STEP_K;
        let i = (position as usize).min(self.nodes.len() - 2);
        let t = position - i as f64;
        let (y0, d0) = self.nodes[i];
        let (y1, d1) = self.nodes[i + 1];
        let (d0, d1) = (d0 * TABLE_STEP_K, d1 * TABLE_STEP_K);
        let c2 = 3.0 * (y1 - y0) - 2.0 * d0 - d1;
        let c3 = 2.0 * (y0 - y1) + d0 + d1;
        (y0 + t * (d0 + t * (c2 + t * c3)), (d0 + t * (2.0 * c2 + t * 3.0 * c3)) / TABLE_STEP_K)
    }

    /// Radiance in W m⁻² sr⁻¹ at `kelvin`.
    #[must_use]
    pub fn radiance(&self, kelvin: f64) -> f64 {
        self.radiance_and_slope(kelvin).0
    }

    /// Temperature in K of a blackbody with this radiance, clamped to 180…1200 K.
    ///
    /// Bisection to the table cell, then Newton steps; exact to about 1e-9 K.
    #[must_use]
    pub fn kelvin(&self, radiance: f64) -> f64 {
        let cell = self.nodes.partition_point(|node| node.0 < radiance).clamp(1, self.nodes.len() - 1);
        let mut kelvin = TABLE_FROM_K + TABLE_STEP_K * (cell as f64 - 0.5);
        for _ in 0..4 {
            let (value, slope) = self.radiance_and_slope(kelvin);
            kelvin = (kelvin + (radiance - value) / slope).clamp(TABLE_FROM_K, TABLE_TO_K);
        }
        kelvin
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// (°C, L 8–14, dL/dT 8–14, L 7.5–13, dL/dT 7.5–13), radiometry.md section 1.3.
    const RADIOMETRY_1_3: [(f64, f64, f64, f64, f64); 10] = [
        (-20.0, 23.824685, 0.49705036, 21.2156583, 0.46978189),
        (0.0, 35.151962, 0.63735404, 32.0570098, 0.61674501),
        (23.0, 51.7643097, 0.808514, 48.3326896, 0.80073954),
        (30.0, 57.6104927, 0.86189404, 54.14146, 0.85905531),
        (60.0, 86.9320366, 1.0931752, 83.7483319, 1.1162436),
        (100.0, 136.778339, 1.3972259, 135.366436, 1.4641992),
        (200.0, 311.429399, 2.0707111, 323.117067, 2.2677708),
        (350.0, 680.268272, 2.7931046, 735.633973, 3.1713581),
        (500.0, 1136.11549, 3.2502969, 1258.84703, 3.7624558),
        (650.0, 1647.2886, 3.5447105, 1854.27671, 4.1503335),
    ];

    fn relative(value: f64, truth: f64) -> f64 {
        ((value - truth) / truth).abs()
    }

    #[test]
    fn band_integral_meets_radiometry_1_3() {
        for (celsius, long, long_slope, short, short_slope) in RADIOMETRY_1_3 {
            for (response, l, d) in
                [(Response::Flat8To14, long, long_slope), (Response::Flat7p5To13, short, short_slope)]
            {
                let (radiance, slope) = band_radiance(response, celsius + ZERO_CELSIUS_K);
                assert!(relative(radiance, l) < 1e-6, "{celsius} {response:?} {radiance} {l}");
                assert!(relative(slope, d) < 1e-6, "{celsius} {response:?} {slope} {d}");
            }
        }
    }

    #[test]
    fn table_follows_the_integral_between_its_nodes() {
        for response in [Response::Flat8To14, Response::Flat7p5To13] {
            let band = Band::of(response);
            for kelvin in [181.0, 251.3, 303.15, 376.9, 641.0, 1101.0] {
                let (radiance, slope) = band_radiance(response, kelvin);
                let (read, read_slope) = band.radiance_and_slope(kelvin);
                assert!(relative(read, radiance) < 1e-8, "{kelvin}: {read} {radiance}");
                assert!(relative(read_slope, slope) < 1e-6, "{kelvin}: {read_slope} {slope}");
                assert!((band.kelvin(radiance) - kelvin).abs() < 1e-5);
            }
        }
    }

    /// Stated curve against the integral: the worst errors that radiometry.md section 2.3 gives for the minimax fits.
    #[test]
    fn stated_curve_is_as_far_from_the_integral_as_radiometry_2_3_says() {
        for (response, limit) in [(Response::Flat8To14, 0.043), (Response::Flat7p5To13, 0.037)] {
            let SakumaHattori { a_um, b_um_k, c_radiance } = response.sakuma_hattori();
            let mut worst: f64 = 0.0;
            for celsius in (-20..=650).step_by(5) {
                let kelvin = f64::from(celsius) + ZERO_CELSIUS_K;
                let (radiance, slope) = band_radiance(response, kelvin);
                let stated = c_radiance / libm::expm1(C2_UM_K / (a_um * kelvin + b_um_k));
                worst = worst.max(((stated - radiance) / slope).abs());
            }
            assert!(worst < limit + 0.001 && worst > limit - 0.003, "{response:?} {worst}");
        }
    }
}
