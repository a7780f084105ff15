//! Radiator face: tubes between two tanks, some perhaps blocked.
//!
//! Each tube is a heat exchanger of its own: coolant falls toward the air with NTU = UA/(ṁc) (vehicle.md section 4,
//! "Radiator"); flow is shared unevenly.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::material::PAINT;
use crate::picture::Look;
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Cooling system: blocked radiator tubes.
pub static CHECK: Check = Check {
    key: "radiator",
    section: "2.18",
    what: "radiator face",
    air_c: (5.0, 30.0),
    instruments: Instruments::Any,
    faults: &["blocked-tubes", "sludge"],
    gates: &[Gate::LoadOff, Gate::LoadShort, Gate::Wet, Gate::Sun],
    decoys: &[Decoy::Tolerance, Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::Water],
    simulate: scene,
};

/// Tubes, from top to bottom; they run across (20–60 in section 4).
const TUBES: usize = 32;
/// Core in mm, tanks' width (proposal).
const CORE_MM: (f64, f64) = (520.0, 384.0);
const TANK_MM: f64 = 45.0;
/// Heat capacity of coolant in J/(L K) (memory: half glycol).
const COOLANT_J_PER_L_K: f64 = 3_600.0;
/// What fins conduct from tube to tube, as a share of the difference per pitch (proposal).
const FIN_MIX: f64 = 0.18;
/// Stripe rule of section 7: 8 K below the neighbors; sludge from 15 % of the face.
const LEAST_K: f64 = 8.0;

/// Fall of the coolant through a radiator in K: Q = ṁ·c·ΔT.
#[must_use]
pub fn fall_k(watts: f64, liters_per_min: f64) -> f64 {
    watts / (liters_per_min / 60.0 * COOLANT_J_PER_L_K)
}

/// Rise of a tube over the air at a share of its length (0 at the inlet), with a share of the sound flow.
fn tube_k(inlet_k: f64, ntu: f64, flow: f64, share: f64) -> f64 {
    inlet_k * libm::exp(-ntu * share / flow.max(1e-3))
}

fn scene(mut s: Stage) -> Recording {
    let inlet_c = s.between(84.0, 94.0);
    // Warming up, the thermostat still closed: nothing flows.
    let inlet_k = (inlet_c - s.site.air_c) * if s.gated(Gate::LoadOff) { 0.12 } else { 1.0 };
    // Not yet proven hot: the inlet side has just begun to warm.
    let reach = if s.gated(Gate::LoadShort) { s.between(0.15, 0.3) } else { 1.0 };
    let ntu = s.between(0.1, 0.3);
    let spread = if s.decoy(Decoy::Tolerance) { 0.16 } else { 0.08 };
    // Flow per tube: lognormal 10 % (section 4).
    let mut flows: Vec<f64> = (0..TUBES).map(|_| libm::exp(s.draw.normal(spread).clamp(-0.3, 0.3))).collect();
    let first = 6 + s.draw.index(14);
    let (mut count, mut severity) = (0, (0.0, "% of face"));
    if s.has("blocked-tubes") || s.has("sludge") {
        // Blocked 5–40 % of tubes; the unresolvable one is a single tube with most of its flow.
        let part = s.size([(0.03, 0.031), (0.10, 0.13), (0.2, 0.25), (0.33, 0.4)]);
        count = libm::ceil(part * TUBES as f64) as usize;
        let bottom = s.has("sludge");
        let left = if s.case == crate::case::Case::Unresolvable { 0.7 } else { s.between(0.02, 0.06) };
        for i in 0..count {
            let tube = if bottom { TUBES - 1 - i } else { first + i };
            // Sludge thins out upward.
            flows[tube % TUBES] *= if bottom { left + 0.1 * i as f64 / count as f64 } else { left };
        }
        severity.0 = count as f64 / TUBES as f64 * 100.0;
    }
    let faulty_tube = if s.has("sludge") { TUBES - 1 - count / 2 } else { first + count / 2 };
    let size = (CORE_MM.0 + 2.0 * TANK_MM, CORE_MM.1);
    let pose = s.aim((size.0 * 1.04, size.1 * 1.06), CORE_MM.1 / TUBES as f64 * count.max(3) as f64);
    let (core_e, tank_e) = (PAINT.draw(&mut s.draw), PAINT.draw(&mut s.draw));
    let own = |tube: usize, share: f64| tube_k(inlet_k, ntu, flows[tube.min(TUBES - 1)], share / reach);
    let mixed = |tube: usize, share: f64| {
        let here = own(tube, share);
        let beside = 0.5 * (own(tube.saturating_sub(1), share) + own(tube + 1, share));
        here + FIN_MIX * (beside - here)
    };
    let outlet_k = (0..TUBES).map(|tube| own(tube, 1.0) * flows[tube]).sum::<f64>() / flows.iter().sum::<f64>();
    s.bait(None, pose.px((60.0, 0.0)), 30.0 / pose.mm_per_px());
    s.weather(None);
    s.shoot(View::Single, &times(0.0, 12, 0.5), 2, |_| {
        move |x, y| {
            let (u, v) = pose.mm(x, y);
            if libm::fabs(v) > 0.5 * CORE_MM.1 || libm::fabs(u) > 0.5 * size.0 {
                return Look { rise_k: 4.0, emissivity: tank_e };
            }
            if libm::fabs(u) > 0.5 * CORE_MM.0 {
                return Look { rise_k: if u < 0.0 { inlet_k } else { outlet_k }, emissivity: tank_e };
            }
            let row = (v / CORE_MM.1 + 0.5) * TUBES as f64;
            let share = u / CORE_MM.0 + 0.5;
            Look { rise_k: mixed(row as usize, share), emissivity: core_e }
        }
    });
    let (half_w, half_h) = (0.5 * CORE_MM.0 - 12.0, 0.5 * CORE_MM.1 - 12.0);
    s.block(Role::Core, View::Single, PAINT, &pose, (-half_w, -half_h), (half_w, half_h));
    let tank = 0.5 * CORE_MM.0 + 0.5 * TANK_MM;
    s.spot(Role::InletTank, View::Single, PAINT, &pose, (-tank, -60.0), 30.0);
    s.spot(Role::OutletTank, View::Single, PAINT, &pose, (tank, 60.0), 30.0);
    let sound = tube_k(inlet_k, ntu, 1.0, 0.5 / reach);
    let below_k = sound - mixed(faulty_tube, 0.5);
    s.note("stripe_below_k", below_k);
    s.note("inlet_minus_outlet_k", inlet_k - outlet_k);
    s.affirm("engine-hot", !s.gated(Gate::LoadOff) && !s.gated(Gate::LoadShort));
    let row = (faulty_tube as f64 + 0.5) / TUBES as f64 - 0.5;
    let place = Some((View::Single, pose.px((0.0, row * CORE_MM.1))));
    s.finish(Outcome { severity, shows: below_k >= LEAST_K && count >= 3, place })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "5 kW at 20 L/min = 4 K; same at 5 L/min = 16 K; 20 kW at 60 L/min = 5 K" (section 2.18, D).
    #[test]
    fn falls_of_vehicle_2_18() {
        for (watts, flow, fall) in [(5e3, 20.0, 4.0), (5e3, 5.0, 16.0), (20e3, 60.0, 5.0)] {
            assert!((fall_k(watts, flow) / fall - 1.0).abs() < 0.12, "{}", fall_k(watts, flow));
        }
    }

    /// A tube with hardly any flow is at air temperature along its whole length; "90 → 60–85 °C across".
    #[test]
    fn tubes_of_vehicle_4() {
        assert!(tube_k(70.0, 0.2, 0.03, 0.5) < 5.0);
        for ntu in [0.1, 0.3] {
            let outlet_c = 20.0 + tube_k(70.0, ntu, 1.0, 1.0);
            assert!((60.0..=85.0).contains(&outlet_c), "{outlet_c}");
        }
    }
}
