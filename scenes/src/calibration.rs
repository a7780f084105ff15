//! Recordings for setting an instrument up: two uniform blackbodies and a soak while the housing changes.
//!
//! For the correction of pixels (radiometry.md section 6: two uniform runs), for noise figures, bad pixels and the drift
//! with housing temperature. The instrument is a bare one: pixels differ in responsivity and offset, bad pixels are sent
//! as they are, and it is the same instrument in every recording that has its serial number.

use crate::place::{Place, Role, Shape, View};
use crate::planck::ZERO_CELSIUS_K;
use crate::recording::{Conditions, Recording, SceneStatement, Script, Stated};
use crate::render::{Camera, Surface, times};
use crate::sensor::Sensor;
use crate::site::quantities;

/// Key of these recordings in place of a check's.
pub const KEY: &str = "calibration";
/// The two uniform runs in °C (proposal: around what vehicles have, and far enough apart for a gain).
pub const UNIFORM_C: [f64; 2] = [20.0, 45.0];
/// Spread of the responsivity of bare pixels, and their column offsets in K (proposal: some percent before correction).
const SPREAD: f64 = 0.03;
const COLUMN_K: f64 = 0.4;
/// Air during all of it in °C.
const AIR_C: f64 = 21.0;
/// Frames of a uniform run, at most nine a second, and of the soak, one every half minute: 20 min, in which the housing
/// changes by 4–18 K.
const UNIFORM_FRAMES: usize = 32;
const SOAK_FRAMES: usize = 41;
const SOAK_EVERY_S: f64 = 30.0;

/// The sensor as it is before any correction, with a serial number that fixes its pixels.
#[must_use]
pub fn bare(sensor: &Sensor, serial: u64) -> Sensor {
    Sensor {
        responsivity_spread: SPREAD,
        column_k: COLUMN_K,
        replaces_bad: false,
        serial: Some(serial),
        ..sensor.clone()
    }
}

/// Two uniform runs and a soak of the bare sensor, in this order; some tenths of a second in release.
///
/// Each has its true blackbody temperature stated as `reference-temperature`, and one place of role `reference` over
/// the whole frame. The soak has no shutter events: what its mean does is the drift.
#[must_use]
pub fn runs(sensor: &Sensor, serial: u64) -> [Recording; 3] {
    let bare = bare(sensor, serial);
    let interval_s = 1.0 / sensor.frames_per_second.min(9.0);
    let uniform = times(0.0, UNIFORM_FRAMES, interval_s);
    let closed = Sensor { shutter_every_s: None, ..bare.clone() };
    let soak = times(0.0, SOAK_FRAMES, SOAK_EVERY_S);
    [
        run(&bare, "uniform low", UNIFORM_C[0], &uniform, serial.wrapping_mul(4)),
        run(&bare, "uniform high", UNIFORM_C[1], &uniform, serial.wrapping_mul(4).wrapping_add(1)),
        run(&closed, "soak", UNIFORM_C[0], &soak, serial.wrapping_mul(4).wrapping_add(2)),
    ]
}

fn run(sensor: &Sensor, what: &str, celsius: f64, times_s: &[f64], seed: u64) -> Recording {
    let mut camera = Camera::new(sensor, AIR_C, seed);
    let kelvin = celsius + ZERO_CELSIUS_K;
    camera.shoot(View::Single, times_s, 2, |_| move |_, _| Surface { kelvin, emissivity: 1.0, reflected_k: kelvin });
    let shape = Shape::Box { from: [0, 0], to: [sensor.width as i32 - 1, sensor.height as i32 - 1] };
    let place = Place { role: Role::Reference, view: View::Single, emissivity: None, emissivity_u: None, shape };
    let conditions = Conditions::from([
        ("air-temperature", Stated::Number(AIR_C)),
        ("reference-temperature", Stated::Number(celsius)),
        ("instrument-warm", Stated::YesNo(true)),
    ]);
    let script = Script {
        title: format!("{} instrument, {what}", sensor.name),
        check: KEY,
        scene: SceneStatement { emissivity: 1.0, reflected_c: celsius },
        reflected_k: kelvin,
        conditions,
        places: vec![place],
        seed,
        fault: "none",
        severity: (0.0, ""),
        resolvable: true,
        place: None,
        quantities: quantities(&[("reference_c", celsius), ("responsivity_spread", sensor.responsivity_spread)]),
    };
    Recording::new(script, sensor, camera.finish())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn means(recording: &Recording) -> Vec<f64> {
        let n = recording.frames.len() as f64;
        (0..recording.sensor.pixels())
            .map(|i| recording.frames.iter().map(|frame| f64::from(frame[i])).sum::<f64>() / n)
            .collect()
    }

    /// The two-point formula of radiometry.md section 6 on the two runs flattens a third scene of the same instrument:
    /// responsivities that were drawn come back as gains.
    #[test]
    fn two_runs_hold_what_the_two_point_correction_needs() {
        let sensor = Sensor { bad_share: 0.0, drift_k: 0.0, shutter_every_s: None, ..Sensor::small() };
        let [low, high, _] = runs(&sensor, 7);
        let (low, high) = (means(&low), means(&high));
        let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
        let (from, to) = (mean(&low), mean(&high));
        let third = means(&run(&bare(&sensor, 7), "third", 33.0, &times(0.0, 32, 0.2), 99));
        let corrected: Vec<f64> =
            (0..low.len()).map(|i| from + (third[i] - low[i]) * (to - from) / (high[i] - low[i])).collect();
        let spread = |of: &[f64]| {
            let m = mean(of);
            (of.iter().map(|v| (v - m) * (v - m)).sum::<f64>() / of.len() as f64).sqrt()
        };
        assert!(spread(&third) > 15.0 * spread(&corrected), "{} {}", spread(&third), spread(&corrected));
    }

    /// 4.0 K over 7.2 K of housing temperature (radiometry.md section 6): slope of the soak's mean.
    #[test]
    fn the_soak_drifts_as_radiometry_6_says() {
        let sensor = Sensor { bad_share: 0.0, ..Sensor::small() };
        let [.., soak] = runs(&sensor, 3);
        let mean = |frame: &[u16]| frame.iter().map(|c| f64::from(*c)).sum::<f64>() / frame.len() as f64;
        let counts = mean(soak.frames.last().unwrap()) - mean(&soak.frames[0]);
        let housing = soak.housing_c.last().unwrap() - soak.housing_c[0];
        let kelvin = counts / sensor.gain_counts_per_radiance / sensor.radiance_of_difference(1.0);
        assert!((kelvin / housing / (4.0 / 7.2) - 1.0).abs() < 0.02, "{kelvin} {housing}");
        assert!(soak.shutter.iter().all(|closed| !closed) && housing.abs() > 3.0);
    }
}
