//! Heater core: its two hoses at full heat.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::checks::radiator::fall_k;
use crate::material::RUBBER;
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Cooling system: heater core.
pub static CHECK: Check = Check {
    key: "heater-core",
    section: "2.18",
    what: "heater hoses at full heat",
    air_c: (-5.0, 20.0),
    instruments: Instruments::Any,
    faults: &["restricted"],
    gates: &[Gate::LoadOff, Gate::LoadShort, Gate::SmallTarget],
    decoys: &[Decoy::Tolerance, Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::LabelEdge],
    simulate: scene,
};

/// Share of the coolant's rise that a hose skin shows (derived: 5 mm of rubber, k 0.2, against h 10).
const SKIN_SHARE: f64 = 0.8;
/// Skin delay in s (vehicle.md section 3: 20–40).
const SKIN_TAU_S: f64 = 30.0;
/// Effectiveness of the core with ample flow, and the flow in L/min that halves it (proposal).
const CORE_W_PER_K: f64 = 90.0;
const COOLANT_W_PER_K_PER_L: f64 = 60.0;
/// Rule of section 2.18 in K: outlet colder by 20–25 at full heat.
const LEAST_K: f64 = 20.0;
/// Half width of a hose in mm and its rows.
const HOSE_MM: f64 = 11.0;
const ROWS_MM: (f64, f64) = (-30.0, 30.0);

/// Outlet's fall below the inlet in K, for an inlet `inlet_k` over the air and a flow in L/min.
#[must_use]
pub fn core_fall_k(inlet_k: f64, liters_per_min: f64) -> f64 {
    let capacity = COOLANT_W_PER_K_PER_L * liters_per_min;
    // Air is the larger stream at full blower: ε = 1 − exp(−UA/C).
    let watts = inlet_k * capacity * -libm::expm1(-CORE_W_PER_K / capacity);
    fall_k(watts, liters_per_min)
}

fn scene(mut s: Stage) -> Recording {
    let inlet_k = s.between(80.0, 90.0) - s.site.air_c;
    let mut flow = if s.decoy(Decoy::Tolerance) { s.between(8.0, 9.0) } else { s.between(11.0, 16.0) };
    if s.fault().is_some() {
        flow = s.size([(9.5, 10.5), (2.4, 3.0), (1.3, 1.8), (0.3, 0.7)]);
    }
    let on_s = if s.gated(Gate::LoadShort) { s.between(4.0, 12.0) } else { s.between(300.0, 600.0) };
    // Cold engine: nothing to be carried.
    let inlet_k = if s.gated(Gate::LoadOff) { s.between(5.0, 15.0) } else { inlet_k };
    let fall = core_fall_k(inlet_k, flow);
    let skin = |coolant_k: f64, time: f64| -SKIN_SHARE * coolant_k * libm::expm1(-(on_s + time) / SKIN_TAU_S);
    let pose = s.aim((200.0, 150.0), 2.0 * HOSE_MM);
    let (hose_e, other_e) = (RUBBER.draw(&mut s.draw), RUBBER.draw(&mut s.draw));
    s.bait(None, pose.px((20.0, ROWS_MM.1)), 10.0 / pose.mm_per_px());
    s.shoot(View::Single, &times(0.0, 10, 0.5), 2, |time| {
        let mut painting = Painting::on(Look { rise_k: 0.1 * inlet_k, emissivity: 0.93 });
        for (row, coolant_k, e) in [(ROWS_MM.0, inlet_k, hose_e), (ROWS_MM.1, inlet_k - fall, other_e)] {
            painting.paint(Outline::Bar((-150.0, row), (150.0, row), HOSE_MM), Fill::Even(skin(coolant_k, time)), e);
            // A spring clamp: a mirror across the hose.
            let clamp = Outline::Block((-62.0, row - HOSE_MM), (-54.0, row + HOSE_MM));
            painting.paint(clamp, Fill::Even(skin(coolant_k, time)), 0.25);
        }
        move |x, y| painting.look(pose.mm(x, y))
    });
    s.spot(Role::HeaterInlet, View::Single, RUBBER, &pose, (20.0, ROWS_MM.0), 1.4 * HOSE_MM);
    s.spot(Role::HeaterOutlet, View::Single, RUBBER, &pose, (20.0, ROWS_MM.1), 1.4 * HOSE_MM);
    let seen_k = skin(fall, 0.0);
    s.note("coolant_fall_k", fall);
    s.note("skin_difference_k", seen_k);
    s.note("flow_l_per_min", flow);
    s.state("load-time", on_s);
    s.affirm("engine-hot", !s.gated(Gate::LoadOff));
    let place = Some((View::Single, pose.px((20.0, ROWS_MM.1))));
    s.finish(Outcome { severity: (flow, "L/min"), shows: seen_k >= LEAST_K, place })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "5 kW at 10 L/min = 8 K; at 5 L/min = 16 K" (section 2.18, D); "both hot and within ~5–15 K = flow; outlet cold by
    /// more than 20–25 K = restricted".
    #[test]
    fn falls_of_vehicle_2_18() {
        assert!((fall_k(5e3, 10.0) - 8.0).abs() < 0.5 && (fall_k(5e3, 5.0) - 16.0).abs() < 1.0);
        assert!((5.0..15.0).contains(&core_fall_k(75.0, 12.0)), "{}", core_fall_k(75.0, 12.0));
        assert!(core_fall_k(75.0, 2.5) > 25.0, "{}", core_fall_k(75.0, 2.5));
    }
}
