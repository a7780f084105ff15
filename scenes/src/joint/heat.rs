//! Heat of an electrical joint and its cable: a lumped joint with the cable as a fin.

use crate::material::{COPPER_OHM_MM2_PER_M, COPPER_W_PER_M_K};

/// Surface conductance of a 25 mm² cable per length in W/(m K). Derived: with the conductivity of copper it gives the
/// 19 cm decay length of vehicle.md section 2.8.
const CABLE_25_W_PER_M_K: f64 = 0.27;
/// Its growth with conductor area. Derived from the two decay lengths of section 2.8 (19 cm at 25, 8 cm at 2.5 mm²).
const CONDUCTANCE_EXPONENT: f64 = 0.25;
/// Time constant of a 25 mm² cable in s (vehicle.md section 3: 8 min).
const CABLE_25_TAU_S: f64 = 480.0;
/// Its growth with conductor area. Derived from section 3 (8 min at 25, 3 min at 2.5 mm²).
const TAU_EXPONENT: f64 = 0.426;

/// An insulated copper cable in still air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// Conductor area in mm², 2.5–50.
    pub mm2: f64,
}

impl Cable {
    /// Heat given to the air per length and kelvin, in W/(m K).
    #[must_use]
    pub fn conductance_w_per_m_k(self) -> f64 {
        CABLE_25_W_PER_M_K * libm::pow(self.mm2 / 25.0, CONDUCTANCE_EXPONENT)
    }

    /// Length in m over which a rise at the end of the cable falls to 1/e: √(kA/hP).
    #[must_use]
    pub fn decay_m(self) -> f64 {
        libm::sqrt(COPPER_W_PER_M_K * self.mm2 * 1e-6 / self.conductance_w_per_m_k())
    }

    /// Heat that the cable takes from its end per kelvin, in W/K: √(kA·hP).
    #[must_use]
    pub fn fin_w_per_k(self) -> f64 {
        libm::sqrt(COPPER_W_PER_M_K * self.mm2 * 1e-6 * self.conductance_w_per_m_k())
    }

    /// Rise in K far from any joint, once steady: I²R' over the surface.
    #[must_use]
    pub fn own_rise_k(self, current_a: f64) -> f64 {
        current_a * current_a * COPPER_OHM_MM2_PER_M / self.mm2 / self.conductance_w_per_m_k()
    }

    /// The cable of 1 to 50 mm² that has risen by `rise_k` after `seconds` with a current, far from any joint.
    #[must_use]
    pub fn that_rises(rise_k: f64, current_a: f64, seconds: f64) -> Self {
        let (mut thin, mut thick) = (1.0, 50.0);
        // A thicker cable rises less, and later.
        for _ in 0..50 {
            let middle = Self { mm2: 0.5 * (thin + thick) };
            let risen = -middle.own_rise_k(current_a) * libm::expm1(-seconds / middle.tau_s());
            if risen > rise_k { thin = middle.mm2 } else { thick = middle.mm2 }
        }
        Self { mm2: 0.5 * (thin + thick) }
    }

    /// Time constant of that rise in s.
    #[must_use]
    pub fn tau_s(self) -> f64 {
        CABLE_25_TAU_S * libm::pow(self.mm2 / 25.0, TAU_EXPONENT)
    }
}

/// Rises over air of a joint and its cable at one instant, in K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rises {
    /// The joint.
    pub joint_k: f64,
    /// The cable far from the joint.
    pub cable_k: f64,
    /// Decay length of the cable in m.
    pub decay_m: f64,
}

impl Rises {
    /// Rise of the cable at a distance from the joint in m.
    #[must_use]
    pub fn along_cable_k(&self, distance_m: f64) -> f64 {
        self.cable_k + (self.joint_k - self.cable_k) * libm::exp(-distance_m.max(0.0) / self.decay_m)
    }
}

/// A joint at the end of a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Contact resistance in ohm.
    pub ohm: f64,
    /// All the heat that leaves the joint per kelvin (own surface, cable, post), in W/K: 0.2–0.3 in section 2.8.
    pub conductance_w_per_k: f64,
    /// Time constant in s: 2–5 min in section 3.
    pub tau_s: f64,
    /// Its cable.
    pub cable: Cable,
}

impl Joint {
    /// Rises after the load has been on for `load_time_s`.
    ///
    /// Joint and cable each follow their own exponential; the cable's heat enters the joint through the fin.
    #[must_use]
    pub fn rises(&self, current_a: f64, load_time_s: f64) -> Rises {
        let grown = |tau_s: f64| -libm::expm1(-load_time_s / tau_s);
        let cable_k = self.cable.own_rise_k(current_a) * grown(self.cable.tau_s());
        let own_k = current_a * current_a * self.ohm / self.conductance_w_per_k * grown(self.tau_s);
        let from_cable_k = cable_k * self.cable.fin_w_per_k() / self.conductance_w_per_k;
        Rises { joint_k: own_k + from_cable_k, cable_k, decay_m: self.cable.decay_m() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CABLE: Cable = Cable { mm2: 25.0 };

    #[test]
    fn cable_decay_and_fin_are_those_of_vehicle_2_8() {
        assert!((CABLE.decay_m() - 0.19).abs() < 0.005, "{}", CABLE.decay_m());
        assert!((Cable { mm2: 2.5 }.decay_m() - 0.08).abs() < 0.005);
        // "cable fin ~0.05 W/K".
        assert!((CABLE.fin_w_per_k() - 0.05).abs() < 0.005, "{}", CABLE.fin_w_per_k());
        // Section 3: 8 min and 3 min.
        assert!((CABLE.tau_s() - 480.0).abs() < 1.0 && (Cable { mm2: 2.5 }.tau_s() - 180.0).abs() < 2.0);
    }

    #[test]
    fn a_cable_for_a_rise_rises_so() {
        for (rise_k, current_a, seconds) in [(30.0, 60.0, 240.0), (80.0, 70.0, 900.0)] {
            let cable = Cable::that_rises(rise_k, current_a, seconds);
            let joint = Joint { ohm: 0.0, conductance_w_per_k: 0.25, tau_s: 200.0, cable };
            assert!((joint.rises(current_a, seconds).cable_k - rise_k).abs() < 1e-6, "{cable:?}");
        }
    }

    /// "10 K at 30 A = 2-3 W = ~2.2-3.3 mohm".
    #[test]
    fn watts_and_ohms_of_vehicle_2_8() {
        for (conductance, ohm) in [(0.2, 2.2e-3), (0.3, 3.3e-3)] {
            let joint = Joint { ohm, conductance_w_per_k: conductance, tau_s: 200.0, cable: CABLE };
            let without = Joint { ohm: 0.0, ..joint };
            let rise = joint.rises(30.0, 1e5).joint_k - without.rises(30.0, 1e5).joint_k;
            assert!((rise - 10.0).abs() < 0.2, "{rise}");
            let watts = 30.0 * 30.0 * ohm;
            assert!((watts - 10.0 * conductance).abs() < 0.05, "{watts}");
            // 63 % of it after one time constant.
            let grown = joint.rises(30.0, 200.0).joint_k - without.rises(30.0, 200.0).joint_k;
            assert!((grown / rise - 0.632).abs() < 0.001);
        }
    }

    /// "Cranking 200 A with 0.5 V drop = 100 W for 3 s = 300 J into ~30-60 J/K = 5-10 K flash".
    #[test]
    fn starter_flash_of_vehicle_2_8() {
        for (heat_capacity, expected) in [(30.0, 10.0), (60.0, 5.0)] {
            let joint = Joint {
                ohm: 0.5 / 200.0,
                conductance_w_per_k: 0.25,
                tau_s: heat_capacity / 0.25,
                cable: Cable { mm2: 50.0 },
            };
            let rise = joint.rises(200.0, 3.0).joint_k;
            assert!((rise / expected - 1.0).abs() < 0.05, "{rise}");
        }
    }
}
