//! Heat of one wheel: rotor, caliper, hub and rim as lumps, driven by stops and drag.
//!
//! Linear in temperature: radiation is contained in the conductances, which fit to about 250 K rise; beyond that real
//! rotors stay cooler than these.

use crate::material::IRON_J_PER_KG_K;

/// Share of braking work that goes into pads and caliper (vehicle.md section 4: 10–20 %).
const PAD_SHARE: f64 = 0.12;
/// Growth of the rotor's cooling with speed. Derived from 27 W/m²K at 342 and 78 at 1025 rpm (R98 in vehicle.md
/// section 4): ln(78/27)/ln(1025/342) = 0.97.
const SPEED_EXPONENT: f64 = 0.97;
/// Speed in m/s to which the moving conductance refers: the 100 km/h of vehicle.md section 2.3.
const REFERENCE_M_PER_S: f64 = 100.0 / 3.6;
/// Integration step in s; the fastest lump has a time constant of minutes.
const STEP_S: f64 = 0.5;
/// Caliper and pads: heat capacity in J/K and conductance to air in W/K. Derived: 4 kg, 20–40 min (vehicle.md 3).
const CALIPER: (f64, f64) = (2_000.0, 1.1);
/// Hub and knuckle, likewise: 8 kg, 15–30 min (vehicle.md section 3).
const HUB: (f64, f64) = (3_700.0, 2.6);
/// Rim of light alloy, likewise (proposal: 8 kg, a quarter of an hour).
const RIM: (f64, f64) = (7_200.0, 8.0);
/// How much better those three are cooled at the reference speed than at rest (proposal).
const OTHERS_MOVING: f64 = 3.0;
/// From rotor to caliper in W/K (proposal: radiation across the pads and their contact).
const ROTOR_TO_CALIPER: f64 = 0.4;

/// From hub to rim in W/K (proposal: bolted faces of a light-alloy wheel).
const HUB_TO_RIM: f64 = 3.0;

/// What one wheel is made of and how it loses heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wheel {
    /// Mass of the rotor in kg, 4–10.
    pub rotor_kg: f64,
    /// Rotor to air, parked, in W/K, 2–4 (vehicle.md section 4).
    pub parked_w_per_k: f64,
    /// Rotor to air at 100 km/h, in W/K, 8–12 (vehicle.md section 4).
    pub moving_w_per_k: f64,
    /// Rotor to hub in W/K, 1–3 (vehicle.md section 4).
    pub hub_w_per_k: f64,
    /// Rotor to rim in W/K, 0.5–1.5 (vehicle.md section 4).
    pub rim_w_per_k: f64,
    /// Torque that stays with the pedal released, in N m.
    pub drag_nm: f64,
    /// Share of the vehicle's kinetic energy that this wheel takes in a stop, 0–1.
    pub work_share: f64,
    /// Rolling radius in m.
    pub radius_m: f64,
}

/// Rises over air in K.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rises {
    /// Rotor.
    pub rotor_k: f64,
    /// Caliper.
    pub caliper_k: f64,
    /// Hub.
    pub hub_k: f64,
    /// Rim.
    pub rim_k: f64,
}

/// The drive before the pictures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// Mass of the vehicle in kg.
    pub vehicle_kg: f64,
    /// Stops made.
    pub stops: u32,
    /// Speed before each stop in m/s.
    pub stop_from_m_per_s: f64,
    /// Time from one stop to the next in s.
    pub stop_every_s: f64,
    /// Time driven after the last stop without touching the brakes, in s.
    pub unused_s: f64,
    /// Speed of that part in m/s.
    pub cruise_m_per_s: f64,
}

/// Kinetic energy in J of `kg` at `m_per_s`.
#[must_use]
pub fn kinetic_j(kg: f64, m_per_s: f64) -> f64 {
    0.5 * kg * m_per_s * m_per_s
}

/// Heat of a drag torque in W at a road speed.
#[must_use]
pub fn drag_w(torque_nm: f64, m_per_s: f64, radius_m: f64) -> f64 {
    torque_nm * m_per_s / radius_m
}

impl Wheel {
    /// Heat capacity of the rotor in J/K.
    #[must_use]
    pub fn rotor_j_per_k(&self) -> f64 {
        self.rotor_kg * IRON_J_PER_KG_K
    }

    /// Rise in K of a rotor that takes `work_j` at once, pads taking their share.
    #[must_use]
    pub fn stop_rise_k(&self, work_j: f64) -> f64 {
        work_j * (1.0 - PAD_SHARE) / self.rotor_j_per_k()
    }

    /// Rises at the end of a drive that began with everything at air temperature.
    #[must_use]
    pub fn drive(&self, drive: &Drive) -> Rises {
        let mut rises = Rises::default();
        let work_j = kinetic_j(drive.vehicle_kg, drive.stop_from_m_per_s) * self.work_share;
        for _ in 0..drive.stops {
            let drag = drag_w(self.drag_nm, drive.stop_from_m_per_s, self.radius_m);
            rises = self.advance(rises, drive.stop_every_s, drive.stop_from_m_per_s, drag);
            rises.rotor_k += self.stop_rise_k(work_j);
            rises.caliper_k += work_j * PAD_SHARE / CALIPER.0;
        }
        let drag = drag_w(self.drag_nm, drive.cruise_m_per_s, self.radius_m);
        self.advance(rises, drive.unused_s, drive.cruise_m_per_s, drag)
    }

    /// Rises after standing for `seconds`.
    #[must_use]
    pub fn park(&self, rises: Rises, seconds: f64) -> Rises {
        self.advance(rises, seconds, 0.0, 0.0)
    }

    /// Rises after `seconds` at a speed, with `heat_w` of friction.
    fn advance(&self, mut now: Rises, seconds: f64, m_per_s: f64, heat_w: f64) -> Rises {
        let steps = libm::ceil(seconds / STEP_S).max(1.0);
        let step_s = seconds / steps;
        let speed = libm::pow(m_per_s / REFERENCE_M_PER_S, SPEED_EXPONENT);
        let rotor_air = self.parked_w_per_k + (self.moving_w_per_k - self.parked_w_per_k) * speed;
        let others = 1.0 + (OTHERS_MOVING - 1.0) * speed;
        for _ in 0..steps as u32 {
            let to_caliper = ROTOR_TO_CALIPER * (now.rotor_k - now.caliper_k);
            let to_hub = self.hub_w_per_k * (now.rotor_k - now.hub_k);
            let to_rim = self.rim_w_per_k * (now.rotor_k - now.rim_k);
            let rotor_w = heat_w * (1.0 - PAD_SHARE) - rotor_air * now.rotor_k - to_caliper - to_hub - to_rim;
            let hub_to_rim = HUB_TO_RIM * (now.hub_k - now.rim_k);
            let caliper_w = heat_w * PAD_SHARE + to_caliper - CALIPER.1 * others * now.caliper_k;
            now.rotor_k += rotor_w * step_s / self.rotor_j_per_k();
            now.caliper_k += caliper_w * step_s / CALIPER.0;
            now.hub_k += (to_hub - hub_to_rim - HUB.1 * others * now.hub_k) * step_s / HUB.0;
            now.rim_k += (to_rim + hub_to_rim - RIM.1 * others * now.rim_k) * step_s / RIM.0;
        }
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHEEL: Wheel = Wheel {
        rotor_kg: 6.0,
        parked_w_per_k: 2.0,
        moving_w_per_k: 9.6,
        hub_w_per_k: 1.0,
        rim_w_per_k: 0.5,
        drag_nm: 0.0,
        work_share: 0.65 / 2.0,
        radius_m: 0.31,
    };

    /// "1500 kg from 50 km/h = 145 kJ; ~42 kJ per front rotor, ~15 K per stop in 6 kg of iron".
    #[test]
    fn stop_energy_of_vehicle_2_3() {
        let energy = kinetic_j(1500.0, 50.0 / 3.6);
        assert!((energy - 145e3).abs() < 0.5e3, "{energy}");
        let rotor_j = energy * WHEEL.work_share * (1.0 - PAD_SHARE);
        assert!((rotor_j - 42e3).abs() < 1e3, "{rotor_j}");
        let rise = WHEEL.stop_rise_k(energy * WHEEL.work_share);
        assert!((rise - 15.0).abs() < 0.5, "{rise}");
    }

    /// "At 100 km/h 4 N.m is ~360 W and ~37 K steady rise with 9.6 W/K cooling; 10 N.m ~90 K; 40 N.m ~370 K".
    #[test]
    fn drag_of_vehicle_2_3() {
        for (torque, watts, rise) in [(4.0, 360.0, 37.0), (10.0, 900.0, 90.0), (40.0, 3600.0, 370.0)] {
            let heat = drag_w(torque, 100.0 / 3.6, WHEEL.radius_m);
            assert!((heat / watts - 1.0).abs() < 0.03, "{heat}");
            assert!((heat / WHEEL.moving_w_per_k / rise - 1.0).abs() < 0.05);
            // The whole network gives less, for hub, rim and pads take some, but not less than half.
            let wheel = Wheel { drag_nm: torque, ..WHEEL };
            let long = Drive {
                vehicle_kg: 1500.0,
                stops: 0,
                stop_from_m_per_s: 0.0,
                stop_every_s: 0.0,
                unused_s: 7200.0,
                cruise_m_per_s: 100.0 / 3.6,
            };
            let network = wheel.drive(&long).rotor_k;
            assert!(network < rise && network > 0.5 * rise, "{torque}: {network}");
        }
    }

    /// Section 3: parked rotor 10–26 min for 4–10 kg; 90 s of walking lose about 9 % (section 2.3).
    #[test]
    fn parked_cooling_of_vehicle_3() {
        let drive = Drive {
            vehicle_kg: 1500.0,
            stops: 8,
            stop_from_m_per_s: 50.0 / 3.6,
            stop_every_s: 60.0,
            unused_s: 0.0,
            cruise_m_per_s: 0.0,
        };
        for (rotor_kg, low, high) in [(4.0, 8.0, 13.0), (6.0, 11.0, 18.0), (10.0, 18.0, 27.0)] {
            let wheel = Wheel { rotor_kg, ..WHEEL };
            let hot = wheel.drive(&drive);
            let later = wheel.park(hot, 90.0);
            let tau_min = 1.5 / libm::log(hot.rotor_k / later.rotor_k);
            assert!(tau_min > low && tau_min < high, "{rotor_kg}: {tau_min}");
        }
    }

    /// What braking puts in is stored or goes to the air, to 1 % as the task asks: an hour of drag, then half an hour
    /// parked, with the losses added up from outside in steps of a second.
    #[test]
    fn energy_balance_closes_over_a_drive_and_a_stop() {
        let stored =
            |r: &Rises| r.rotor_k * WHEEL.rotor_j_per_k() + r.caliper_k * CALIPER.0 + r.hub_k * HUB.0 + r.rim_k * RIM.0;
        let heat_w = drag_w(20.0, REFERENCE_M_PER_S, WHEEL.radius_m);
        let mut now = Rises { rotor_k: 0.0, caliper_k: 0.0, hub_k: 0.0, rim_k: 0.0 };
        let (mut put_in, mut lost) = (0.0, 0.0);
        for second in 0..5_400 {
            let moving = second < 3_600;
            let (speed, heat) = if moving { (REFERENCE_M_PER_S, heat_w) } else { (0.0, 0.0) };
            let next = WHEEL.advance(now, 1.0, speed, heat);
            let (rotor_air, others) =
                if moving { (WHEEL.moving_w_per_k, OTHERS_MOVING) } else { (WHEEL.parked_w_per_k, 1.0) };
            let mean = |a: f64, b: f64| 0.5 * (a + b);
            lost += rotor_air * mean(now.rotor_k, next.rotor_k)
                + others
                    * (CALIPER.1 * mean(now.caliper_k, next.caliper_k)
                        + HUB.1 * mean(now.hub_k, next.hub_k)
                        + RIM.1 * mean(now.rim_k, next.rim_k));
            put_in += heat;
            now = next;
        }
        assert!(((stored(&now) + lost) / put_in - 1.0).abs() < 0.01, "{} {lost} {put_in}", stored(&now));
        assert!(stored(&now) > 0.01 * put_in && now.rotor_k > 5.0, "{now:?}");
    }

    #[test]
    fn integration_has_converged() {
        // One long call against two hundred short ones: same equations, other steps.
        let hot = Rises { rotor_k: 150.0, caliper_k: 40.0, hub_k: 20.0, rim_k: 10.0 };
        let coarse = WHEEL.park(hot, 100.0);
        let mut fine = hot;
        for _ in 0..1000 {
            fine = WHEEL.park(fine, 0.1);
        }
        assert!((coarse.rotor_k - fine.rotor_k).abs() < 0.01, "{} {}", coarse.rotor_k, fine.rotor_k);
    }
}
