//! The invented scene of `scene.h`.

use oddheat_core::measure::InputUncertainty;
use oddheat_core::radiometry::{Curve, Emissivity, Scale, Scene};
use oddheat_core::units::Kelvin;

pub(super) const WIDTH: usize = 48;
pub(super) const HEIGHT: usize = 32;

/// Frame `t`, rows from the top.
pub(super) fn exposed(t: u32) -> Vec<u16> {
    let mut bits = t + 1;
    let mut frame = Vec::new();
    for y in 0..HEIGHT as i32 {
        for x in 0..WIDTH as i32 {
            let (dx, dy) = (x - 24, y - 16);
            bits = bits.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let warmer = if dx * dx + dy * dy < 60 { 2_400 } else { 0 };
            frame.push((7_000 + 10 * x + 4 * y + warmer) as u16 + (bits >> 30) as u16);
        }
    }
    frame[16 * WIDTH + 20] = 0;
    frame[17 * WIDTH + 21] = 16_383;
    frame
}

pub(super) fn scale() -> Scale {
    Scale::Curve(Curve::sakuma_hattori(9.36, 178.0, 1e6).unwrap())
}

/// A share as `ODDHEAT_Q15` rounds it.
pub(super) fn share(value: f64) -> f64 {
    (value * 32_768.0 + 0.5).floor() / 32_768.0
}

/// The surface of the config, with another emissivity perhaps.
pub(super) fn surface(emissivity: f64) -> Scene {
    Scene::new(Emissivity::new(share(emissivity)).unwrap()).reflected(Kelvin::from_f64(295.15))
}

/// What the config states beside it: nothing, so the usual values.
pub(super) const INPUTS: InputUncertainty = InputUncertainty { medium_k: 0.0, ..InputUncertainty::HANDHELD };
