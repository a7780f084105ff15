//! What every scene shares: the bay it stands in and what the operator states about it.

use std::collections::BTreeMap;

use crate::draw::Draw;
use crate::planck::ZERO_CELSIUS_K;
use crate::recording::{Conditions, SceneStatement, Stated};

/// Reflected temperature against air indoors in K (vehicle.md section 4).
const INDOOR_REFLECTION_K: f64 = 2.0;
/// Standard deviation of the operator's reading of the reflected temperature in K (proposal).
const REFLECTION_READING_K: f64 = 0.5;

/// A bay: its air, what is mirrored in surfaces there, and what the operator read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    /// Air temperature in °C.
    pub air_c: f64,
    /// True reflected apparent temperature in K.
    pub reflected_k: f64,
    /// Reflected apparent temperature that the operator states, in °C.
    pub stated_reflected_c: f64,
}

impl Site {
    /// A closed, shaded bay.
    #[must_use]
    pub fn indoors(air_c: f64, seed: u64) -> Self {
        let mut draw = Draw::new(seed, "site");
        let reflected_c = air_c + draw.uniform(-INDOOR_REFLECTION_K, INDOOR_REFLECTION_K);
        let read = reflected_c + draw.normal(REFLECTION_READING_K);
        Self { air_c, reflected_k: reflected_c + ZERO_CELSIUS_K, stated_reflected_c: libm::round(read * 10.0) / 10.0 }
    }

    /// Air temperature in K.
    #[must_use]
    pub fn air_k(&self) -> f64 {
        self.air_c + ZERO_CELSIUS_K
    }

    /// Statement about the scene as a whole; `emissivity` is the default for places.
    #[must_use]
    pub const fn statement(&self, emissivity: f64) -> SceneStatement {
        SceneStatement { emissivity, reflected_c: self.stated_reflected_c }
    }

    /// The conditions that every check asks for, all met, and the further ones of a scene.
    #[must_use]
    pub fn conditions(&self, further: &[(&'static str, Stated)]) -> Conditions {
        let mut conditions = BTreeMap::from([
            ("air-temperature", Stated::Number(self.air_c)),
            ("shaded", Stated::YesNo(true)),
            ("still-air", Stated::YesNo(true)),
            ("instrument-warm", Stated::YesNo(true)),
        ]);
        conditions.extend(further.iter().copied());
        conditions
    }
}

/// Numbers of a scene's truth by name.
#[must_use]
pub fn quantities(pairs: &[(&str, f64)]) -> BTreeMap<String, f64> {
    pairs.iter().map(|(name, value)| ((*name).to_owned(), *value)).collect()
}
