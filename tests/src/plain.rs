//! Plain frames for the tests of checks: one temperature for each shape, no noise, no optics.

use oddheat_core::checks::{Condition, Conditions, FrameInfo, Setup, View};
use oddheat_core::finding::{Effect, Finding, Gate};
use oddheat_core::measure::Shape;
use oddheat_core::radiometry::{LinearScale, Scale};

/// Width of the frames, pixels.
pub const WIDTH: u16 = 40;
/// Height of the frames, pixels.
pub const HEIGHT: u16 = 30;
/// Counts per kelvin; count 0 is 0 °C.
pub const PER_KELVIN: f64 = 100.0;

/// A linear instrument of 100 counts per kelvin and a blackbody scene.
#[must_use]
pub fn setup() -> Setup {
    Setup {
        width: WIDTH,
        height: HEIGHT,
        scale: Scale::Linear(LinearScale::new(PER_KELVIN, 0.0).unwrap()),
        saturated_at: 60_000,
        ..Setup::EMPTY
    }
}

/// Counts at a temperature in °C.
#[must_use]
pub fn counts(celsius: f64) -> u16 {
    (celsius * PER_KELVIN).round() as u16
}

/// A frame at `ground` °C with shapes at given temperatures.
#[must_use]
pub fn frame(ground: f64, squares: &[(Shape, f64)]) -> Vec<u16> {
    let mut pixels = vec![counts(ground); usize::from(WIDTH) * usize::from(HEIGHT)];
    for &(shape, celsius) in squares {
        for y in 0..HEIGHT {
            for (start, end) in shape.spans(y) {
                let row = usize::from(y) * usize::from(WIDTH);
                pixels[row + usize::from(start)..row + usize::from(end)].fill(counts(celsius));
            }
        }
    }
    pixels
}

/// A frame of a view at a time in s, without a shutter event.
#[must_use]
pub fn info(view: View, seconds: f64) -> FrameInfo {
    FrameInfo { view, time_ms: (seconds * 1000.0) as u32, shutter: false, housing_mk: None }
}

/// Conditions as listed.
#[must_use]
pub fn stated(list: &[(Condition, f64)]) -> Conditions {
    list.iter().fold(Conditions::new(), |all, &(condition, value)| all.with(condition, value).unwrap())
}

/// The same and one more, or another value for one.
#[must_use]
pub fn with(list: &[(Condition, f64)], condition: Condition, value: f64) -> Conditions {
    stated(list).with(condition, value).unwrap()
}

/// The same without one.
#[must_use]
pub fn without(list: &[(Condition, f64)], left_out: Condition) -> Conditions {
    stated(&list.iter().copied().filter(|&(condition, _)| condition != left_out).collect::<Vec<_>>())
}

/// The first gate that failed, and what it did.
#[must_use]
pub fn gate(finding: &Finding) -> Option<(Gate, Effect)> {
    finding.gates.first().map(|failed| (failed.gate, failed.effect))
}

/// A duty drive of an axle, pictured 40 s after the stop, all needs met.
pub const BRAKE_CONDITIONS: [(Condition, f64); 8] = [
    (Condition::AirTemperature, 20.0),
    (Condition::SinceStop, 40.0),
    (Condition::BrakesUsed, 1.0),
    (Condition::SameFinish, 1.0),
    (Condition::Shaded, 1.0),
    (Condition::Dry, 1.0),
    (Condition::StillAir, 1.0),
    (Condition::InstrumentWarm, 1.0),
];
