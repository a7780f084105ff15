//! Exhaust ports after a cold start: a row of like runners, one perhaps not firing.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::material::OXIDIZED_STEEL;
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Exhaust-port comparison.
pub static CHECK: Check = Check {
    key: "ports",
    section: "2.15",
    what: "exhaust manifold after cold start",
    air_c: (0.0, 30.0),
    instruments: Instruments::Hot,
    faults: &["dead-port", "weak-port"],
    gates: &[Gate::TooLate, Gate::NoSoak, Gate::FinishDiffers, Gate::SmallTarget],
    decoys: &[Decoy::Tolerance, Decoy::SlidingReflection, Decoy::LabelEdge, Decoy::WarmNeighbor],
    simulate: scene,
};

/// Cylinders.
const PORTS: usize = 4;
/// Volumetric heat capacity of cast iron in J/(m³ K): 7200 × 450 (R5 in vehicle.md section 4).
const IRON_J_PER_M3_K: f64 = 7_200.0 * 450.0;
/// Loss of the outside in W/(m² K) (proposal).
const OUTSIDE: f64 = 15.0;
/// Runner width, length and pitch in mm (proposal).
const RUNNER: (f64, f64) = (42.0, 90.0);
const PITCH_MM: f64 = 88.0;
/// Least difference of slopes that counts: below half of the median (section 2.15, P); a weak one is seen from 0.75 of
/// it (proposal).
const LEAST_SHARE: f64 = 0.75;

/// Rise of a wall of `wall_mm` after `seconds` with gas `gas_k` over air at `h` W/(m² K).
fn wall(gas_k: f64, h: f64, wall_mm: f64, seconds: f64) -> f64 {
    let capacity = IRON_J_PER_M3_K * wall_mm * 1e-3;
    -gas_k * h / (h + OUTSIDE) * libm::expm1(-seconds * (h + OUTSIDE) / capacity)
}

fn scene(mut s: Stage) -> Recording {
    let wall_mm = s.between(3.0, 5.0);
    // Firing: h 40–100, gas 300–550 °C; dead: h 20–40, gas 80–150 °C (section 4).
    let (h, gas_c) = (s.between(60.0, 95.0), s.between(380.0, 500.0));
    let (dead_h, dead_c) = (s.between(20.0, 35.0), s.between(80.0, 120.0));
    let air_c = s.site.air_c;
    let since_s = if s.gated(Gate::TooLate) { s.between(1_200.0, 1_800.0) } else { s.between(45.0, 75.0) };
    let port = 1 + s.draw.index(PORTS - 2);
    // How much of the cylinder's work is missing: of the difference between firing and dead.
    let missing = match s.fault() {
        Some("weak-port") => s.size([(0.02, 0.08), (0.35, 0.4), (0.4, 0.45), (0.45, 0.5)]),
        Some(_) => s.size([(0.01, 0.05), (0.55, 0.65), (0.75, 0.9), (0.97, 1.0)]),
        None => 0.0,
    };
    let left_k = if s.gated(Gate::NoSoak) { s.between(60.0, 140.0) } else { 0.0 };
    let scatter = if s.decoy(Decoy::Tolerance) { 0.05 } else { 0.02 };
    let own: [f64; PORTS] = std::array::from_fn(|i| {
        // End ports run cooler.
        let end = if i == 0 || i == PORTS - 1 { 0.94 } else { 1.0 };
        end * (1.0 + s.draw.normal(scatter).clamp(-0.09, 0.09))
    });
    let rises = |time: f64| -> [f64; PORTS] {
        std::array::from_fn(|i| {
            let lost = if i == port { missing } else { 0.0 };
            let of_h = h + (dead_h - h) * lost;
            let gas = gas_c + (dead_c - gas_c) * lost;
            left_k + wall((gas - air_c) * own[i], of_h, wall_mm, time)
        })
    };
    let pose = s.aim((PORTS as f64 * PITCH_MM, 240.0), RUNNER.0);
    let odd = s.gated(Gate::FinishDiffers).then_some(1 + s.draw.index(2));
    let e: [f64; PORTS] = std::array::from_fn(|i| {
        // A new or painted runner among rusty ones.
        if odd == Some(i) { s.draw.uniform(0.3, 0.5) } else { OXIDIZED_STEEL.draw(&mut s.draw) }
    });
    let at = |i: usize| ((i as f64 - 1.5) * PITCH_MM, -25.0);
    let bait = s.draw.index(PORTS);
    s.bait(None, pose.px(at(bait)), 15.0 / pose.mm_per_px());
    // One frame a second (section 3, sampling advice), so that the slope can be read as well.
    s.shoot(View::Single, &times(since_s - 20.0_f64.min(since_s), 20, 1.0), 8, |time| {
        let now = rises(time);
        let mut painting = Painting::on(Look { rise_k: 2.0 + 0.3 * left_k, emissivity: 0.9 });
        let mean = now.iter().sum::<f64>() / PORTS as f64;
        let log = Outline::Bar((-1.7 * PITCH_MM, 60.0), (1.7 * PITCH_MM, 60.0), 24.0);
        painting.paint(log, Fill::Even(0.8 * mean), e[0]);
        for i in 0..PORTS {
            let (u, v) = at(i);
            let from = (u - 0.5 * RUNNER.0, v - 0.5 * RUNNER.1);
            let to = (u + 0.5 * RUNNER.0, v + 0.5 * RUNNER.1 + 25.0);
            // Cooler toward the head.
            let fill = Fill::Line(from, (from.0, to.1), vec![0.85 * now[i], now[i], 0.97 * now[i]]);
            painting.paint(Outline::Block(from, to), fill, e[i]);
        }
        move |x, y| painting.look(pose.mm(x, y))
    });
    for i in 0..PORTS {
        s.spot(Role::Port, View::Single, OXIDIZED_STEEL, &pose, at(i), 0.7 * RUNNER.0);
    }
    let now = rises(since_s);
    let slopes: Vec<f64> = now.iter().zip(rises(since_s - 10.0)).map(|(b, a)| (b - a) / 10.0).collect();
    let mut sorted = now;
    sorted.sort_by(f64::total_cmp);
    let median = 0.5 * (sorted[1] + sorted[2]) - left_k;
    let share = (now[port] - left_k) / median;
    s.note("deficit_k", median - (now[port] - left_k));
    s.note("share_of_median", share);
    s.note("slope_k_per_s", slopes[port]);
    s.note("port", (port + 1) as f64);
    s.state("since-start", since_s);
    s.state("soak-time", if s.gated(Gate::NoSoak) { 1_200.0 } else { 30_000.0 });
    s.affirm("same-finish", odd.is_none());
    let place = Some((View::Single, pose.px(at(port))));
    s.finish(Outcome { severity: (missing, "share of heat missing"), shows: share <= LEAST_SHARE, place })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "4 mm cast iron firing ~2.4 K/s, dead ~0.25 K/s" (section 2.15, D); slopes 1.6–4.8 and 0.16–0.5 K/s (section 4).
    #[test]
    fn slopes_of_vehicle_2_15() {
        let slope = |gas_k, h| wall(gas_k, h, 4.0, 2.0) / 2.0;
        let (firing, dead) = (slope(430.0, 75.0), slope(110.0, 30.0));
        assert!((firing / 2.4 - 1.0).abs() < 0.1 && (dead / 0.25 - 1.0).abs() < 0.1, "{firing} {dead}");
    }
}
