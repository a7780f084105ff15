//! Catalytic converter, hot: pipe before and behind the can, same oxidized metal.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::{BRIGHT_STAINLESS, OXIDIZED_STEEL};
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Catalytic converter.
pub static CHECK: Check = Check {
    key: "catalyst",
    section: "2.16",
    what: "catalytic converter at fast idle",
    air_c: (0.0, 30.0),
    instruments: Instruments::Hot,
    faults: &["overload", "plugged"],
    gates: &[Gate::LoadShort, Gate::LoadOff, Gate::FinishDiffers, Gate::Wet],
    decoys: &[Decoy::Tolerance, Decoy::SlidingReflection, Decoy::LabelEdge, Decoy::WarmNeighbor],
    simulate: scene,
};

/// Nodes: skin before, bed, skin behind.
const INLET: usize = 0;
const BED: usize = 1;
const OUTLET: usize = 2;
/// Heat capacities in J/K and skin losses in W/K (proposal; with the gas they make the 1–3 min of section 3 and, without
/// it, 10–20 min).
const CAPACITY: [f64; 3] = [450.0, 900.0, 450.0];
const LOSS: [f64; 3] = [0.6, 1.0, 0.6];
/// Gas to each node in W/K.
const GAS: f64 = 6.0;
/// From node to node through the metal in W/K.
const LINK: f64 = 0.4;
/// Limits of section 7 in K.
const OVERLOAD_K: f64 = 110.0;
const PLUGGED_K: f64 = -50.0;

/// Skin rises after `seconds` with gas `gas_k` over air, `exotherm_k` made in the bed, and a share of the flow.
fn skins(gas_k: f64, exotherm_k: f64, flow: f64, seconds: f64) -> Vec<f64> {
    let mut nodes = Network::new(CAPACITY.to_vec());
    // Gas takes what it gives to the skin from what arrives behind; a quarter of the drop for a sound flow.
    let behind = gas_k + exotherm_k - 0.04 * gas_k / flow;
    for (node, temperature) in [(INLET, gas_k), (BED, gas_k + exotherm_k), (OUTLET, behind)] {
        let exchange = GAS * if node == INLET { 1.0 } else { flow };
        nodes.lose(node, LOSS[node] + exchange);
        nodes.heat_w[node] = exchange * temperature;
    }
    nodes.link(INLET, BED, LINK);
    nodes.link(BED, OUTLET, LINK);
    nodes.run(seconds, 2.0);
    nodes.rise_k
}

fn scene(mut s: Stage) -> Recording {
    let hot_s = if s.gated(Gate::LoadShort) { s.between(20.0, 60.0) } else { s.between(400.0, 700.0) };
    // At idle the bed is hardly lit: almost no difference (R83).
    let gas_k = if s.gated(Gate::LoadOff) { s.between(120.0, 180.0) } else { s.between(250.0, 330.0) };
    // Healthy 0–60 K of exotherm; some modern engines leave almost none.
    let ordinary = if s.decoy(Decoy::Tolerance) { (70.0, 95.0) } else { (25.0, 60.0) };
    let mut exotherm_k = if s.gated(Gate::LoadOff) { s.between(0.0, 5.0) } else { s.between(ordinary.0, ordinary.1) };
    let mut flow = 1.0;
    let mut severity = (0.0, "K");
    if s.has("overload") {
        exotherm_k = s.size([(62.0, 80.0), (150.0, 165.0), (175.0, 190.0), (195.0, 205.0)]);
        severity.0 = exotherm_k;
    } else if s.has("plugged") {
        flow = s.size([(0.8, 0.9), (0.12, 0.16), (0.08, 0.11), (0.05, 0.07)]);
        exotherm_k = 5.0;
        severity = (1.0 - flow, "share of flow missing");
    }
    let rises_at = |time: f64| skins(gas_k, exotherm_k, flow, hot_s + time);
    let pose = s.aim((640.0, 360.0), 50.0);
    let second = if s.gated(Gate::FinishDiffers) { BRIGHT_STAINLESS } else { OXIDIZED_STEEL };
    let e = [OXIDIZED_STEEL.draw(&mut s.draw), OXIDIZED_STEEL.draw(&mut s.draw), second.draw(&mut s.draw)];
    let ends = [(-215.0, 0.0), (215.0, 0.0)];
    let bait = s.draw.index(2);
    s.bait(None, pose.px(ends[bait]), 22.0 / pose.mm_per_px());
    s.weather(None);
    s.shoot(View::Single, &times(0.0, 10, 0.5), 2, |time| {
        let now = rises_at(time);
        let mut painting = Painting::on(Look { rise_k: 8.0, emissivity: 0.9 });
        let (from, to) = ((-400.0, 0.0), (400.0, 0.0));
        painting.paint(Outline::Bar(from, (0.0, 0.0), 27.0), Fill::Even(now[INLET]), e[INLET]);
        painting.paint(Outline::Bar((0.0, 0.0), to, 27.0), Fill::Even(now[OUTLET]), e[OUTLET]);
        // The can's skin lies over a mat: cooler than bed and pipes (section 2.16: 100–200 K below the gas).
        let along = vec![0.75 * now[INLET], 0.8 * now[BED], 0.75 * now[OUTLET]];
        let can = Outline::Bar((-90.0, 0.0), (90.0, 0.0), 62.0);
        painting.paint(can, Fill::Line((-150.0, 0.0), (150.0, 0.0), along), e[BED]);
        move |x, y| painting.look(pose.mm(x, y))
    });
    s.spot(Role::CatInlet, View::Single, OXIDIZED_STEEL, &pose, ends[0], 34.0);
    s.spot(Role::CatOutlet, View::Single, OXIDIZED_STEEL, &pose, ends[1], 34.0);
    let now = rises_at(0.0);
    let difference_k = now[OUTLET] - now[INLET];
    s.note("outlet_minus_inlet_k", difference_k);
    s.note("inlet_c", now[INLET] + s.site.air_c);
    s.state("since-start", hot_s);
    s.affirm("engine-fast-idle", !s.gated(Gate::LoadOff));
    s.affirm("same-finish", !s.gated(Gate::FinishDiffers));
    let shows = if s.has("plugged") { difference_k < PLUGGED_K } else { difference_k > OVERLOAD_K };
    s.finish(Outcome { severity, shows, place: Some((View::Single, pose.px(ends[1]))) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Inlet 200–450 °C, outlet −20…+60 K against it for 0–60 K of exotherm (section 4); 1–3 min (section 3).
    #[test]
    fn differences_and_time_of_vehicle_4() {
        for exotherm in [0.0, 30.0, 60.0] {
            let skins = skins(300.0, exotherm, 1.0, 3_000.0);
            let difference = skins[OUTLET] - skins[INLET];
            assert!((-20.0..60.0).contains(&difference) && skins[INLET] > 200.0, "{exotherm}: {difference}");
        }
        let outlet = |seconds| skins(300.0, 40.0, 1.0, seconds)[OUTLET];
        assert!(outlet(60.0) < 0.632 * outlet(9_000.0) && outlet(180.0) > 0.632 * outlet(9_000.0));
    }
}
