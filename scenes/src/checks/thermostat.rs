//! Thermostat: block and upper hose while the engine warms, ten minutes with a frame every ten seconds.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::{PAINT, RUBBER};
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Cooling system: thermostat.
pub static CHECK: Check = Check {
    key: "thermostat",
    section: "2.18",
    what: "engine warm-up, upper hose",
    air_c: (5.0, 30.0),
    instruments: Instruments::Any,
    faults: &["opens-early", "stuck-open", "stuck-closed"],
    gates: &[Gate::NoSoak, Gate::LoadShort, Gate::SmallTarget, Gate::ShutterStep],
    decoys: &[Decoy::Tolerance, Decoy::SlidingReflection, Decoy::WarmNeighbor, Decoy::LabelEdge],
    simulate: scene,
};

/// Nodes: block with its coolant, radiator with its coolant, hose inside, hose skin.
const BLOCK: usize = 0;
const RADIATOR: usize = 1;
const SKIN: usize = 3;
/// Radiator with coolant in J/K; hose wall in J/K per half and conductance through it in W/K: 5 mm of rubber, 20–40 s of
/// delay (vehicle.md section 3).
const RADIATOR_J_PER_K: f64 = 16e3;
const HOSE_J_PER_K: f64 = 120.0;
const HOSE_W_PER_K: f64 = 3.6;
/// Coolant flow with the valve open, as W/K between block and radiator, and as W/K into the hose's wall.
const OPEN_W_PER_K: f64 = 900.0;
const INTO_HOSE: f64 = 25.0;
/// What a closed valve lets through, as a share (proposal: its vent hole).
const LEAK: f64 = 0.004;
/// Losses in W/K: block, radiator without a fan, hose skin.
const BLOCK_LOSS: f64 = 9.0;
const RADIATOR_LOSS: f64 = 45.0;
const SKIN_LOSS: f64 = 0.5;
/// Integration step in s.
const STEP_S: f64 = 2.0;
/// Rule of section 7: opening off by more than 6 K.
const LEAST_OFF_K: f64 = 6.0;

/// What a thermostat does.
#[derive(Clone, Copy, Debug)]
struct Valve {
    opens_c: f64,
    ramp_k: f64,
    stuck: Option<f64>,
}

impl Valve {
    fn open(&self, celsius: f64) -> f64 {
        self.stuck.unwrap_or(((celsius - self.opens_c) / self.ramp_k).clamp(0.0, 1.0)).max(LEAK)
    }
}

/// Rises of block and hose skin at each of `times_s`, from an even `start_k`.
fn warm_up(air_c: f64, watts: f64, block_j_per_k: f64, valve: Valve, start_k: f64, times_s: &[f64]) -> Vec<(f64, f64)> {
    let mut nodes = Network::new(vec![block_j_per_k, RADIATOR_J_PER_K, HOSE_J_PER_K, HOSE_J_PER_K]);
    nodes.rise_k.fill(start_k);
    nodes.lose(BLOCK, BLOCK_LOSS);
    nodes.lose(RADIATOR, RADIATOR_LOSS);
    nodes.lose(SKIN, SKIN_LOSS);
    nodes.link(2, SKIN, HOSE_W_PER_K);
    nodes.heat_w[BLOCK] = watts;
    let mut now = 0.0;
    let mut seen = Vec::new();
    for time in times_s {
        while now < *time {
            let open = valve.open(nodes.rise_k[BLOCK] + air_c);
            let mut step = nodes.clone();
            step.link(BLOCK, RADIATOR, OPEN_W_PER_K * open);
            step.link(BLOCK, 2, INTO_HOSE * open);
            step.run(STEP_S, STEP_S);
            nodes.rise_k = step.rise_k;
            now += STEP_S;
        }
        seen.push((nodes.rise_k[BLOCK], nodes.rise_k[SKIN]));
    }
    seen
}

fn scene(mut s: Stage) -> Recording {
    let air_c = s.site.air_c;
    let watts = s.between(11_500.0, 14_500.0);
    let capacity = s.between(60e3, 75e3);
    // As marked on the part: 82–96 °C (section 4).
    let marked_c = libm::round(s.between(83.0, 90.0));
    let off = if s.decoy(Decoy::Tolerance) { s.between(-4.0, 3.0) } else { s.between(-1.5, 1.5) };
    let mut valve = Valve { opens_c: marked_c + off, ramp_k: s.between(8.0, 15.0), stuck: None };
    let mut severity = (0.0, "K");
    if s.has("opens-early") {
        let early = s.size([(2.0, 4.5), (9.0, 11.0), (15.0, 20.0), (24.0, 30.0)]);
        valve.opens_c = marked_c - early;
        severity.0 = early;
    } else if s.has("stuck-open") {
        let opening = s.size([(0.0, 0.0), (0.3, 0.4), (0.6, 0.7), (0.95, 1.0)]);
        valve.stuck = Some(opening);
        severity = (opening, "of full travel");
    } else if s.has("stuck-closed") {
        let opening = s.size([(1.0, 1.0), (0.014, 0.018), (0.008, 0.011), (0.0, 0.004)]);
        valve.stuck = Some(opening);
        severity = (1.0 - opening, "of full travel missing");
    }
    let length_s = if s.gated(Gate::LoadShort) { 150.0 } else { 720.0 };
    let stamps = times(0.0, 60, length_s / 60.0);
    // A warm start has had its knee already.
    let start_k = if s.gated(Gate::NoSoak) { s.between(45.0, 60.0) } else { 0.0 };
    let seen = warm_up(air_c, watts, capacity, valve, start_k, &stamps);
    let pose = s.aim((420.0, 300.0), 40.0);
    let (block_e, hose_e) = (PAINT.draw(&mut s.draw), RUBBER.draw(&mut s.draw));
    let hose = [(-60.0, -40.0), (150.0, -70.0)];
    s.bait(None, pose.px((20.0, -50.0)), 18.0 / pose.mm_per_px());
    let step = length_s / 60.0;
    s.shoot(View::Single, &stamps, 30, |time| {
        let i = ((time / step) as usize).min(seen.len() - 1);
        let next = (i + 1).min(seen.len() - 1);
        let part = (time / step - i as f64).clamp(0.0, 1.0);
        let between = |a: f64, b: f64| a + (b - a) * part;
        let now = (between(seen[i].0, seen[next].0), between(seen[i].1, seen[next].1));
        let mut painting = Painting::on(Look { rise_k: 0.05 * now.0, emissivity: 0.92 });
        painting.paint(Outline::Block((-260.0, -110.0), (-60.0, 140.0)), Fill::Even(now.0), block_e);
        painting.paint(Outline::Bar(hose[0], hose[1], 22.0), Fill::Even(now.1), hose_e);
        move |x, y| painting.look(pose.mm(x, y))
    });
    s.spot(Role::UpperHose, View::Single, RUBBER, &pose, (45.0, -55.0), 26.0);
    s.spot(Role::Block, View::Single, PAINT, &pose, (-140.0, 40.0), 40.0);
    let hottest = seen.last().map_or(0.0, |last| last.0) + air_c;
    let knee = seen.windows(2).find(|pair| (pair[1].1 - pair[0].1) / step > 0.2).map(|pair| pair[0].0 + air_c);
    let fastest = seen.windows(2).map(|pair| (pair[1].1 - pair[0].1) / step).fold(0.0, f64::max);
    s.note("block_end_c", hottest);
    s.note("hose_fastest_k_per_s", fastest);
    s.note("block_at_knee_c", knee.unwrap_or(0.0));
    s.state("opens-at", marked_c);
    s.state("soak-time", if s.gated(Gate::NoSoak) { 3_000.0 } else { 30_000.0 });
    let reached = hottest >= marked_c;
    let shows = match s.fault() {
        Some("stuck-closed") => reached && knee.is_none(),
        Some("stuck-open") => knee.is_none_or(|knee| knee < marked_c - LEAST_OFF_K),
        _ => knee.is_some_and(|knee| knee < marked_c - LEAST_OFF_K),
    };
    s.finish(Outcome { severity, shows, place: Some((View::Single, pose.px((45.0, -55.0)))) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Section 3: 5 mm of hose rubber, "~20–40 s delay to surface": time until the skin has 63 % of its final rise after
    /// the coolant has stepped.
    #[test]
    fn hose_delay_of_vehicle_3() {
        let mut hose = Network::new(vec![HOSE_J_PER_K, HOSE_J_PER_K]);
        hose.link(0, 1, HOSE_W_PER_K);
        hose.lose(1, SKIN_LOSS);
        // Coolant at 60 K over air, flowing fully.
        hose.lose(0, INTO_HOSE);
        hose.heat_w[0] = 60.0 * INTO_HOSE;
        let mut steady = hose.clone();
        steady.settle();
        let mut seconds = 0.0;
        while hose.rise_k[1] < 0.632 * steady.rise_k[1] {
            hose.run(1.0, 0.5);
            seconds += 1.0;
        }
        assert!((20.0..=40.0).contains(&seconds), "{seconds}");
    }

    /// "hose stays cool, then a knee with > 0.5 K/s" (section 2.18); 5–15 kW into 60–120 kJ/K (section 4).
    #[test]
    fn knee_of_vehicle_2_18() {
        let stamps = times(0.0, 120, 6.0);
        let valve = Valve { opens_c: 86.0, ramp_k: 8.0, stuck: None };
        let seen = warm_up(20.0, 11_000.0, 65e3, valve, 0.0, &stamps);
        let before = seen.iter().rfind(|now| now.0 + 20.0 < 85.0).unwrap();
        assert!(before.1 < 20.0, "{before:?}");
        let fastest = seen.windows(2).map(|pair| (pair[1].1 - pair[0].1) / 6.0).fold(0.0, f64::max);
        assert!(fastest > 0.5, "{fastest}");
        let open = warm_up(20.0, 11_000.0, 65e3, Valve { stuck: Some(1.0), ..valve }, 0.0, &stamps);
        // Stuck open: hose with the block from the start.
        assert!(open[30].1 > 0.6 * open[30].0, "{:?}", open[30]);
    }
}
