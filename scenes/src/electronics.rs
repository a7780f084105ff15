//! From radiance to counts: noise, fixed patterns, drift, shutter events, bad pixels, rounding and saturation.

use crate::draw::Draw;
use crate::sensor::Sensor;

/// Drift of the offset in K per K of housing temperature: 4.0 K rms over 7.2 K (read; radiometry.md section 6).
const DRIFT_PER_HOUSING_K: f64 = 4.0 / 7.2;
/// Range of the housing's warming in K/min. Derived: with the figure above it gives the 0.1–0.5 K/min of vehicle.md
/// section 4.
const HOUSING_K_PER_MIN: (f64, f64) = (0.18, 0.9);
/// What a shutter event leaves, as a share of the drift that the maker states between two views. Two events leave √2
/// of this, so pairs of views with an event between them just meet the statement (proposal).
const SHUTTER_RESIDUE: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// Time constant in s of an instrument that warms up (vehicle.md section 1.4: the first 5 min or so; proposal: half of it).
const WARM_UP_TAU_S: f64 = 150.0;
/// Smallest peak-to-peak shading that a run draws, in K (vehicle.md section 4).
const LEAST_SHADING_K: f64 = 0.2;

/// A frame as sent, with what the instrument knows about it.
#[derive(Clone, Debug)]
pub struct Exposure {
    /// Counts in row order.
    pub counts: Vec<u16>,
    /// The shutter closed since the frame before.
    pub shutter: bool,
    /// Temperature of the housing in °C.
    pub housing_c: f64,
}

/// One instrument during one recording: its patterns stay, its offset wanders.
#[derive(Clone, Debug)]
pub struct Electronics {
    sensor: Sensor,
    pattern: Vec<f64>,
    responsivity: Vec<f64>,
    bad: Vec<(usize, u16)>,
    noise: Draw,
    wander: Draw,
    offset_k: f64,
    /// What is left of the offset with which it was switched on.
    warming_k: f64,
    housing_c: f64,
    housing_k_per_s: f64,
    next_shutter_s: f64,
    now_s: Option<f64>,
}

impl Electronics {
    /// An instrument as it happens to be on the day that `seed` stands for; `air_c` is the air around it.
    #[must_use]
    pub fn new(sensor: &Sensor, air_c: f64, seed: u64) -> Self {
        let of_instrument = sensor.serial.unwrap_or(seed);
        let mut wander = Draw::new(seed, "wander");
        // Inside a case an uncooled sensor settles several kelvin above the air (proposal: 6–12 K).
        let housing_c = air_c + wander.uniform(6.0, 12.0);
        let speed = wander.uniform(HOUSING_K_PER_MIN.0, HOUSING_K_PER_MIN.1) * wander.sign();
        let offset_k = wander.normal(sensor.drift_k * SHUTTER_RESIDUE);
        let next_shutter_s = sensor.shutter_every_s.map_or(f64::INFINITY, |every| wander.uniform(0.0, every));
        // At least half the largest, or it would hardly count as cold.
        let warming_k = sensor.warms_up_k.map_or(0.0, |most| wander.sign() * wander.uniform(0.5 * most, most));
        Self {
            pattern: pattern(sensor, of_instrument),
            responsivity: responsivity(sensor, of_instrument),
            bad: bad_pixels(sensor, of_instrument),
            noise: Draw::new(seed, "noise"),
            wander,
            offset_k,
            warming_k,
            housing_c,
            // An instrument that states no drift keeps its temperature.
            housing_k_per_s: if sensor.drift_k > 0.0 { speed / 60.0 } else { 0.0 },
            next_shutter_s,
            now_s: None,
            sensor: sensor.clone(),
        }
    }

    /// Index and stuck count of each bad pixel.
    #[must_use]
    pub fn bad(&self) -> &[(usize, u16)] {
        &self.bad
    }

    /// Takes a frame of `radiance` (W m⁻² sr⁻¹ per pixel, after the optics) at `time_s`, which must not go back.
    pub fn expose(&mut self, radiance: &[f64], time_s: f64) -> Exposure {
        let step_s = time_s - self.now_s.unwrap_or(time_s);
        self.now_s = Some(time_s);
        self.housing_c += self.housing_k_per_s * step_s;
        self.offset_k += self.housing_k_per_s * step_s * DRIFT_PER_HOUSING_K;
        let mut shutter = false;
        while time_s >= self.next_shutter_s {
            shutter = true;
            self.offset_k = match self.sensor.shutter_step_k {
                // At least half the largest step, or the event would hardly be one.
                Some(most) => self.offset_k + self.wander.sign() * self.wander.uniform(0.5 * most, most),
                None => self.wander.normal(self.sensor.drift_k * SHUTTER_RESIDUE),
            };
            self.next_shutter_s += self.sensor.shutter_every_s.unwrap_or(f64::INFINITY);
        }
        self.warming_k *= libm::exp(-step_s / WARM_UP_TAU_S);
        let offset = self.sensor.radiance_of_difference(self.offset_k + self.warming_k);
        let sigma = self.sensor.radiance_of_difference(self.sensor.netd_k);
        let full = f64::from(self.sensor.full_scale);
        let mut counts: Vec<u16> = radiance
            .iter()
            .zip(self.responsivity.iter().zip(&self.pattern))
            .map(|(radiance, (responsivity, pattern))| {
                let seen = radiance * responsivity + pattern + offset + self.noise.normal(sigma);
                let counts = self.sensor.offset_counts + self.sensor.gain_counts_per_radiance * seen;
                libm::round(counts).clamp(0.0, full) as u16
            })
            .collect();
        for &(index, stuck) in &self.bad {
            counts[index] = self.replacement(&counts, index).unwrap_or(stuck);
        }
        Exposure { counts, shutter, housing_c: self.housing_c }
    }
}

impl Electronics {
    /// Mean of the good ones among the eight neighbors, if the instrument replaces bad pixels and there are any.
    fn replacement(&self, counts: &[u16], index: usize) -> Option<u16> {
        if !self.sensor.replaces_bad {
            return None;
        }
        let (width, height) = (self.sensor.width, self.sensor.height);
        let (x, y) = (index % width, index / width);
        let (mut sum, mut good) = (0, 0);
        for row in y.saturating_sub(1)..=(y + 1).min(height - 1) {
            for column in x.saturating_sub(1)..=(x + 1).min(width - 1) {
                let neighbor = row * width + column;
                if self.bad.binary_search_by_key(&neighbor, |bad| bad.0).is_err() {
                    sum += u32::from(counts[neighbor]);
                    good += 1;
                }
            }
        }
        (good > 0).then(|| ((sum + good / 2) / good) as u16)
    }
}

/// Scale error, column noise and shading of one run, in radiance per pixel.
fn pattern(sensor: &Sensor, seed: u64) -> Vec<f64> {
    let mut draw = Draw::new(seed, "pattern");
    let scale_k = draw.normal(sensor.calibration_k);
    let columns: Vec<f64> = (0..sensor.width).map(|_| draw.normal(sensor.column_k)).collect();
    let shading_k = if sensor.shading_k > LEAST_SHADING_K {
        draw.uniform(LEAST_SHADING_K, sensor.shading_k)
    } else {
        sensor.shading_k
    };
    // Corners against center plus a tilt; each part spans half of the peak-to-peak value.
    let bowl = 0.5 * shading_k * draw.sign();
    let (sine, cosine) = libm::sincos(draw.uniform(0.0, std::f64::consts::TAU));
    let (half_w, half_h) = (0.5 * (sensor.width - 1) as f64, 0.5 * (sensor.height - 1) as f64);
    let mut pattern = Vec::with_capacity(sensor.pixels());
    for y in 0..sensor.height {
        let v = (y as f64 - half_h) / half_h;
        for (x, column) in columns.iter().enumerate() {
            let u = (x as f64 - half_w) / half_w;
            let radial = bowl * (0.5 * (u * u + v * v) - 0.5);
            let tilt = 0.25 * shading_k * (u * cosine + v * sine) * std::f64::consts::FRAC_1_SQRT_2;
            pattern.push(sensor.radiance_of_difference(scale_k + column + radial + tilt));
        }
    }
    pattern
}

/// Share of the nominal signal that each pixel gives.
fn responsivity(sensor: &Sensor, seed: u64) -> Vec<f64> {
    let mut draw = Draw::new(seed, "responsivity");
    (0..sensor.pixels()).map(|_| 1.0 + draw.normal(sensor.responsivity_spread)).collect()
}

/// Half of the bad pixels are dead and send 0, the others are stuck anywhere in the range.
fn bad_pixels(sensor: &Sensor, seed: u64) -> Vec<(usize, u16)> {
    let mut draw = Draw::new(seed, "bad pixels");
    let count = libm::round(sensor.bad_share * sensor.pixels() as f64) as usize;
    let mut bad: Vec<(usize, u16)> = (0..count)
        .map(|i| {
            let stuck = draw.uniform(0.0, f64::from(sensor.full_scale)) as u16;
            (draw.index(sensor.pixels()), if i % 2 == 0 { 0 } else { stuck })
        })
        .collect();
    bad.sort_unstable();
    bad.dedup_by_key(|pixel| pixel.0);
    bad
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planck::Band;
    use crate::sensor::NOISE_REFERENCE_K;

    fn flat(sensor: &Sensor, kelvin: f64) -> Vec<f64> {
        vec![Band::of(sensor.response).radiance(kelvin); sensor.pixels()]
    }

    /// The spread of a pixel over frames of a 30 °C scene is the stated NETD; at 100 °C it is 0.61686 of that for the
    /// 8–14 µm band (radiometry.md section 6).
    #[test]
    fn noise_is_the_stated_netd_and_shrinks_as_radiometry_6_says() {
        let mut sensor = Sensor::small();
        // Fine counts, so that rounding (1/12 count²) does not hide in the figure.
        sensor.gain_counts_per_radiance = 90.0;
        sensor.drift_k = 0.0;
        sensor.shutter_every_s = None;
        sensor.bad_share = 0.0;
        let mut camera = Electronics::new(&sensor, 20.0, 11);
        for (kelvin, share) in [(NOISE_REFERENCE_K, 1.0), (373.15, 0.61686)] {
            let scene = flat(&sensor, kelvin);
            let slope = Band::of(sensor.response).radiance_and_slope(kelvin).1;
            let frames: Vec<_> = (0..9).map(|_| camera.expose(&scene, 0.0).counts).collect();
            let n = frames.len() as f64;
            let mut variance = 0.0;
            for i in 0..sensor.pixels() {
                let mean = frames.iter().map(|f| f64::from(f[i])).sum::<f64>() / n;
                let square = |f: &Vec<u16>| (f64::from(f[i]) - mean) * (f64::from(f[i]) - mean);
                variance += frames.iter().map(square).sum::<f64>() / (n - 1.0);
            }
            let counts = libm::sqrt(variance / sensor.pixels() as f64 - 1.0 / 12.0);
            let kelvin_rms = counts / sensor.gain_counts_per_radiance / slope;
            // 38,400 degrees of freedom: standard error 0.36 %; four of them.
            assert!((kelvin_rms / (sensor.netd_k * share) - 1.0).abs() < 0.015, "{kelvin} {kelvin_rms}");
        }
    }

    #[test]
    fn shutter_events_come_at_their_interval_and_are_flagged_once() {
        let sensor = Sensor::small();
        let mut camera = Electronics::new(&sensor, 20.0, 3);
        let scene = flat(&sensor, 300.0);
        let events: Vec<bool> = (0..40).map(|i| camera.expose(&scene, f64::from(i) * 10.0).shutter).collect();
        let count = events.iter().filter(|e| **e).count();
        // 390 s at one event per 90 s.
        assert!(count == 4 || count == 5, "{count}");
    }

    #[test]
    fn saturation_and_dead_pixels_are_sent_as_limits() {
        let sensor = Sensor { replaces_bad: false, ..Sensor::large() };
        let mut camera = Electronics::new(&sensor, 20.0, 3);
        let hot = camera.expose(&flat(&sensor, 600.0), 0.0).counts;
        let bad = camera.bad().to_vec();
        assert!(bad.len() > 40 && bad.iter().any(|b| b.1 == 0));
        for (i, counts) in hot.iter().enumerate() {
            let expected = bad.iter().find(|b| b.0 == i).map_or(sensor.full_scale, |b| b.1);
            assert_eq!(*counts, expected);
        }
    }

    #[test]
    fn replaced_pixels_are_like_their_neighbors() {
        let sensor = Sensor { column_k: 0.0, shading_k: 0.0, ..Sensor::large() };
        let mut camera = Electronics::new(&sensor, 20.0, 3);
        let counts = camera.expose(&flat(&sensor, 300.0), 0.0).counts;
        let mean = counts.iter().map(|c| f64::from(*c)).sum::<f64>() / counts.len() as f64;
        let sigma = sensor.radiance_of_difference(sensor.netd_k) * sensor.gain_counts_per_radiance;
        for (index, _) in camera.bad() {
            assert!((f64::from(counts[*index]) - mean).abs() < 5.0 * sigma + 1.0, "{index}: {}", counts[*index]);
        }
    }
}
