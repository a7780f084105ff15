//! From a surface to radiance on the sensor: supersampling, emission and reflection, optics.

use crate::electronics::{Electronics, Exposure};
use crate::place::View;
use crate::planck::Band;
use crate::sensor::Sensor;

/// Samples per axis and pixel; edges are mixed in radiance from 9 of them.
const SAMPLES: usize = 3;

/// What a sight line meets: an opaque, gray, diffuse surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Temperature in K.
    pub kelvin: f64,
    /// Emissivity, 0–1; the rest is reflected.
    pub emissivity: f64,
    /// Temperature of what it reflects, in K.
    pub reflected_k: f64,
}

/// A noise-free picture: what the truth is computed from, and what the sensor sees.
#[derive(Clone, Debug, PartialEq)]
pub struct Still {
    /// Mean surface temperature per pixel in K, before optics.
    pub kelvin: Vec<f64>,
    /// Mean emissivity per pixel, before optics.
    pub emissivity: Vec<f64>,
    /// Radiance per pixel in W m⁻² sr⁻¹.
    pub radiance: Vec<f64>,
}

/// Renders a surface before the optics: e·B(T) + (1 − e)·B(T_refl) averaged over each pixel.
///
/// `surface` gets pixel coordinates: x to the right, y down, centers of pixels at whole numbers.
pub fn still(sensor: &Sensor, surface: impl Fn(f64, f64) -> Surface) -> Still {
    let band = Band::of(sensor.response);
    let share = 1.0 / (SAMPLES * SAMPLES) as f64;
    let offset = |i: usize| (i as f64 + 0.5) / SAMPLES as f64 - 0.5;
    let mut kelvin = Vec::with_capacity(sensor.pixels());
    let mut emissivity = Vec::with_capacity(sensor.pixels());
    let mut radiance = Vec::with_capacity(sensor.pixels());
    for y in 0..sensor.height {
        for x in 0..sensor.width {
            let (mut t, mut e, mut l) = (0.0, 0.0, 0.0);
            for sample in 0..SAMPLES * SAMPLES {
                let seen = surface(x as f64 + offset(sample % SAMPLES), y as f64 + offset(sample / SAMPLES));
                t += seen.kelvin;
                e += seen.emissivity;
                l += seen.emissivity * band.radiance(seen.kelvin)
                    + (1.0 - seen.emissivity) * band.radiance(seen.reflected_k);
            }
            kelvin.push(t * share);
            emissivity.push(e * share);
            radiance.push(l * share);
        }
    }
    Still { kelvin, emissivity, radiance }
}

/// Blurs radiance as the lens does: a narrow Gaussian and a wide skirt (size-of-source effect).
#[must_use]
pub fn optics(sensor: &Sensor, radiance: &[f64]) -> Vec<f64> {
    let narrow = gaussian(radiance, sensor.width, sensor.blur_px);
    let wide = gaussian(radiance, sensor.width, sensor.skirt_px);
    let skirt = sensor.skirt_share;
    narrow.iter().zip(&wide).map(|(n, w)| (1.0 - skirt) * n + skirt * w).collect()
}

/// Separable Gaussian to three standard deviations; the picture goes on beyond its edge with the edge's values.
fn gaussian(picture: &[f64], width: usize, sigma: f64) -> Vec<f64> {
    if sigma <= 0.0 {
        return picture.to_vec();
    }
    let reach = libm::ceil(3.0 * sigma) as isize;
    let mut kernel: Vec<f64> = (-reach..=reach).map(|i| libm::exp(-0.5 * (i * i) as f64 / (sigma * sigma))).collect();
    let sum: f64 = kernel.iter().sum();
    kernel.iter_mut().for_each(|weight| *weight /= sum);
    let height = picture.len() / width;
    let mut middle = vec![0.0; picture.len()];
    for (out, row) in middle.chunks_exact_mut(width).zip(picture.chunks_exact(width)) {
        for (i, weight) in kernel.iter().enumerate() {
            let shift = i as isize - reach;
            for (x, value) in out.iter_mut().enumerate() {
                *value += weight * row[(x as isize + shift).clamp(0, width as isize - 1) as usize];
            }
        }
    }
    let mut blurred = vec![0.0; picture.len()];
    for (y, out) in blurred.chunks_exact_mut(width).enumerate() {
        for (i, weight) in kernel.iter().enumerate() {
            let from = (y as isize + i as isize - reach).clamp(0, height as isize - 1) as usize;
            for (value, source) in out.iter_mut().zip(&middle[from * width..(from + 1) * width]) {
                *value += weight * source;
            }
        }
    }
    blurred
}

/// The surface behind the frames of a view.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// The view.
    pub view: View,
    /// True temperature in K per pixel, mean over the frames.
    pub kelvin: Vec<f64>,
    /// True emissivity per pixel.
    pub emissivity: Vec<f64>,
}

/// Frames of a recording with the temperatures they were made from.
#[derive(Clone, Debug)]
pub struct Footage {
    /// Counts, one picture per frame.
    pub frames: Vec<Vec<u16>>,
    /// Time of each frame in s.
    pub times_s: Vec<f64>,
    /// View of each frame.
    pub views: Vec<View>,
    /// Shutter flag of each frame.
    pub shutter: Vec<bool>,
    /// Housing temperature of each frame in °C.
    pub housing_c: Vec<f64>,
    /// What was really there, one per view.
    pub seen: Vec<Seen>,
    /// Indices of dead and stuck pixels.
    pub bad: Vec<usize>,
}

/// An instrument that takes pictures of scenes.
#[derive(Debug)]
pub struct Camera {
    sensor: Sensor,
    electronics: Electronics,
    footage: Footage,
}

impl Camera {
    /// An instrument in air of `air_c` °C.
    #[must_use]
    pub fn new(sensor: &Sensor, air_c: f64, seed: u64) -> Self {
        let electronics = Electronics::new(sensor, air_c, seed);
        let footage = Footage {
            frames: Vec::new(),
            times_s: Vec::new(),
            views: Vec::new(),
            shutter: Vec::new(),
            housing_c: Vec::new(),
            seen: Vec::new(),
            bad: electronics.bad().iter().map(|bad| bad.0).collect(),
        };
        Self { sensor: sensor.clone(), electronics, footage }
    }

    /// Takes frames of a view at rising `times_s`, the scene being rendered at `keys` (at least 2) of them.
    ///
    /// Between the rendered instants radiance runs straight: for a change that decays with time constant τ this errs by
    /// at most (step/τ)²/8 of the change, so a scene chooses `keys` by its fastest part. `at` gives the surface at a time.
    pub fn shoot<S: Fn(f64, f64) -> Surface>(
        &mut self,
        view: View,
        times_s: &[f64],
        keys: usize,
        at: impl Fn(f64) -> S,
    ) {
        let (Some(&first), Some(&last)) = (times_s.first(), times_s.last()) else {
            return;
        };
        let intervals = keys.max(2) - 1;
        let step = (last - first) / intervals as f64;
        let stills: Vec<Still> = (0..=intervals)
            .map(|i| {
                let mut still = still(&self.sensor, at(first + step * i as f64));
                still.radiance = optics(&self.sensor, &still.radiance);
                still
            })
            .collect();
        let mut kelvin = vec![0.0; self.sensor.pixels()];
        let share = 1.0 / times_s.len() as f64;
        for &time in times_s {
            let position = if step > 0.0 { (time - first) / step } else { 0.0 };
            let i = (position as usize).min(intervals - 1);
            let part = position - i as f64;
            let between =
                |a: &[f64], b: &[f64]| -> Vec<f64> { a.iter().zip(b).map(|(a, b)| a + (b - a) * part).collect() };
            let radiance = between(&stills[i].radiance, &stills[i + 1].radiance);
            for (sum, now) in kelvin.iter_mut().zip(between(&stills[i].kelvin, &stills[i + 1].kelvin)) {
                *sum += now * share;
            }
            let Exposure { counts, shutter, housing_c } = self.electronics.expose(&radiance, time);
            self.footage.frames.push(counts);
            self.footage.times_s.push(time);
            self.footage.views.push(view);
            self.footage.shutter.push(shutter);
            self.footage.housing_c.push(housing_c);
        }
        let emissivity = stills[0].emissivity.clone();
        self.footage.seen.push(Seen { view, kelvin, emissivity });
    }

    /// The frames taken.
    #[must_use]
    pub fn finish(self) -> Footage {
        self.footage
    }
}

/// `count` times from `from_s`, `interval_s` apart, rounded to ms as an instrument would stamp them.
#[must_use]
pub fn times(from_s: f64, count: usize, interval_s: f64) -> Vec<f64> {
    (0..count).map(|i| libm::round((from_s + interval_s * i as f64) * 1000.0) / 1000.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Apparent temperatures of vehicle.md section 1.2 (e 1 set, 22 °C around, flat 8–14 µm), printed to 1 °C.
    #[test]
    fn emission_and_reflection_mix_as_vehicle_1_2_says() {
        let sensor = Sensor { width: 40, height: 30, ..Sensor::small() };
        for (celsius, emissivity, apparent) in
            [(40.0, 0.1, 24.0), (60.0, 0.5, 42.0), (100.0, 0.2, 42.0), (200.0, 0.8, 174.0), (200.0, 0.1, 51.0)]
        {
            let surface = Surface { kelvin: celsius + 273.15, emissivity, reflected_k: 22.0 + 273.15 };
            let still = still(&sensor, |_, _| surface);
            let seen = Band::of(sensor.response).kelvin(still.radiance[0]) - 273.15;
            assert!((seen - apparent).abs() < 0.51, "{celsius} {emissivity}: {seen}");
        }
    }

    #[test]
    fn an_edge_is_mixed_by_area_and_optics_keep_the_light() {
        let sensor = Sensor { width: 60, height: 40, ..Sensor::small() };
        let cold = Surface { kelvin: 290.0, emissivity: 1.0, reflected_k: 290.0 };
        let hot = Surface { kelvin: 400.0, ..cold };
        // The edge passes pixel column 30 at one third of its width.
        let still = still(&sensor, |x, _| if x < 30.0 - 1.0 / 6.0 { cold } else { hot });
        let band = Band::of(sensor.response);
        let mixed = band.radiance(290.0) / 3.0 + band.radiance(400.0) * 2.0 / 3.0;
        assert!((still.radiance[20 * 60 + 30] - mixed).abs() < 1e-9);
        let blurred = optics(&sensor, &still.radiance);
        // Constant continuation at the borders makes the mean of a straight edge stand only near the middle; there the
        // two sides lose and gain the same.
        let before: f64 = still.radiance[20 * 60 + 6..20 * 60 + 54].iter().sum();
        let after: f64 = blurred[20 * 60 + 6..20 * 60 + 54].iter().sum();
        assert!((after / before - 1.0).abs() < 2e-3, "{before} {after}");
        // A skirt of 3 % must lift the cold side some pixels from the edge, but by less than 3 % of the step.
        let lift = (blurred[20 * 60 + 25] - band.radiance(290.0)) / (band.radiance(400.0) - band.radiance(290.0));
        assert!(lift > 0.002 && lift < 0.03, "{lift}");
    }
}
