//! Belt drive just after the engine was stopped: two like idlers, the belt between, a driven pulley.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::{PLASTIC, RUBBER};
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Drive belt, pulleys, tensioner.
pub static CHECK: Check = Check {
    key: "belt-drive",
    section: "2.17",
    what: "belt drive after a run",
    air_c: (5.0, 35.0),
    instruments: Instruments::Any,
    faults: &["bad-idler", "slipping-pulley"],
    gates: &[Gate::TooLate, Gate::LoadShort, Gate::SmallTarget, Gate::FinishDiffers],
    decoys: &[Decoy::Tolerance, Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::LabelEdge],
    simulate: scene,
};

/// Nodes: idler hub and rim, like idler hub and rim, driven pulley hub and rim, belt.
const NODES: usize = 7;
const BELT: usize = 6;
/// Heat capacities in J/K of hub and rim (proposal: 0.3 kg of steel inside, 0.15 kg outside) and of the part of the belt
/// near its surface (proposal: 0.08 kg of 0.35 kg, chosen so that it cools within the 1–2 min of section 3).
const HUB_J_PER_K: f64 = 140.0;
const RIM_J_PER_K: f64 = 75.0;
const BELT_J_PER_K: f64 = 115.0;
/// Losses spinning in W/K: h 20–60 (drawn) over these areas in m²; standing, a third. Hub to rim in W/K (proposal).
const HUB_M2: f64 = 0.006;
const RIM_M2: f64 = 0.012;
const BELT_M2: f64 = 0.11;
const HUB_RIM: f64 = 0.25;
const RIM_BELT: f64 = 0.15;
/// Geometry in mm: centers and radii of idler, twin and driven pulley (proposal).
const IDLER: (f64, f64) = (-95.0, 55.0);
const TWIN: (f64, f64) = (95.0, 55.0);
const DRIVEN: (f64, f64) = (0.0, -65.0);
const IDLER_MM: f64 = 36.0;
const HUB_MM: f64 = 15.0;
const DRIVEN_MM: f64 = 48.0;
/// Least difference to a like pulley in K (section 7).
const LEAST_K: f64 = 8.0;

/// The drive after `run_s` and `stopped_s`; watts in the hubs of the idlers and the rim of the driven pulley.
fn drive(h: f64, hubs_w: [f64; 2], slip_w: f64, run_s: f64, stopped_s: f64) -> Vec<f64> {
    let mut nodes = Network::new(vec![
        HUB_J_PER_K,
        RIM_J_PER_K,
        HUB_J_PER_K,
        RIM_J_PER_K,
        2.0 * HUB_J_PER_K,
        2.0 * RIM_J_PER_K,
        BELT_J_PER_K,
    ]);
    for pulley in 0..3 {
        let size = if pulley == 2 { 2.0 } else { 1.0 };
        nodes.lose(2 * pulley, size * h * HUB_M2);
        nodes.lose(2 * pulley + 1, size * h * RIM_M2);
        nodes.link(2 * pulley, 2 * pulley + 1, size * HUB_RIM);
        nodes.link(2 * pulley + 1, BELT, size * RIM_BELT);
    }
    nodes.lose(BELT, h * BELT_M2);
    // Bending and ordinary creep warm the belt (proposal: 40 W).
    (nodes.heat_w[0], nodes.heat_w[2], nodes.heat_w[5], nodes.heat_w[BELT]) =
        (hubs_w[0], hubs_w[1], 0.7 * slip_w, 40.0 + 0.3 * slip_w);
    nodes.heat_w[4] = 6.0;
    nodes.run(run_s, 2.0);
    nodes.heat_w = vec![0.0; NODES];
    nodes.scale_losses(1.0 / 3.0);
    nodes.run(stopped_s, 1.0);
    nodes.rise_k
}

fn scene(mut s: Stage) -> Recording {
    let h = s.between(30.0, 50.0);
    let run_s = if s.gated(Gate::LoadShort) { s.between(20.0, 60.0) } else { s.between(600.0, 900.0) };
    let since_s = if s.gated(Gate::TooLate) { s.between(240.0, 600.0) } else { s.between(8.0, 18.0) };
    // Bearings 5–20 W healthy (section 4).
    let base = s.between(5.0, 9.0);
    let mut hubs = [base * (1.0 + s.draw.normal(0.05)), base * (1.0 + s.draw.normal(0.05))];
    let mut slip_w = 0.0;
    let unit = drive(h, [1.0, 0.0], 0.0, 700.0, 12.0)[0] - drive(h, [0.0, 0.0], 0.0, 700.0, 12.0)[0];
    let mut severity = (0.0, "W");
    if s.has("bad-idler") {
        let target = s.size([(0.2, 1.0), (10.5, 13.0), (19.0, 25.0), (34.0, 50.0)]);
        hubs[0] += target / unit;
        severity.0 = hubs[0];
    } else if s.has("slipping-pulley") {
        slip_w = s.size([(1.0, 5.0), (60.0, 90.0), (120.0, 200.0), (250.0, 300.0)]);
        severity.0 = slip_w;
    } else if s.decoy(Decoy::Tolerance) {
        hubs[0] += s.between(3.0, 5.0) / unit;
    }
    // Bay warmth: everything is over the air of the hall by this much (section 4: 10–40 K over bay).
    let bay_k = s.between(15.0, 35.0);
    let state = |time: f64| drive(h, hubs, slip_w, run_s, since_s + time);
    let pose = s.aim((330.0, 260.0), 2.0 * HUB_MM);
    let (dark_e, rubber_e) = (PLASTIC.draw(&mut s.draw), RUBBER.draw(&mut s.draw));
    let twin_e = if s.gated(Gate::FinishDiffers) { s.between(0.3, 0.5) } else { dark_e };
    s.bait(None, pose.px(IDLER), 16.0 / pose.mm_per_px());
    s.shoot(View::Single, &times(0.0, 10, 0.5), 2, |time| {
        let painting = painted(&state(time), bay_k, dark_e, twin_e, rubber_e);
        move |x, y| painting.look(pose.mm(x, y))
    });
    s.spot(Role::PulleyHub, View::Single, PLASTIC, &pose, IDLER, 1.2 * HUB_MM);
    s.spot(Role::PulleyTwin, View::Single, PLASTIC, &pose, TWIN, 1.2 * HUB_MM);
    let rim = (0.5 * (HUB_MM + IDLER_MM) + 3.0, IDLER_MM - 3.0);
    s.ring(Role::PulleyRim, View::Single, PLASTIC, &pose, IDLER, rim);
    s.spot(Role::PulleyHub, View::Single, PLASTIC, &pose, DRIVEN, 1.6 * HUB_MM);
    let rim = (0.5 * (HUB_MM + DRIVEN_MM) + 4.0, DRIVEN_MM - 3.0);
    s.ring(Role::PulleyRim, View::Single, PLASTIC, &pose, DRIVEN, rim);
    s.spot(Role::Belt, View::Single, RUBBER, &pose, (0.0, 96.0), 10.0);
    let now = state(0.0);
    let like_k = now[0] - now[2];
    let driven_k = now[5] - now[4];
    s.note("idler_over_twin_k", like_k);
    s.note("driven_rim_minus_hub_k", driven_k);
    s.note("belt_over_bay_k", now[BELT]);
    s.state("since-stop", since_s);
    s.state("run-time", run_s);
    s.affirm("same-finish", !s.gated(Gate::FinishDiffers));
    let (shows, at) = match s.fault() {
        Some("slipping-pulley") => (driven_k >= LEAST_K, DRIVEN),
        _ => (like_k >= LEAST_K, IDLER),
    };
    s.finish(Outcome { severity, shows, place: Some((View::Single, pose.px(at))) })
}

fn painted(rises: &[f64], bay_k: f64, dark_e: f64, twin_e: f64, rubber_e: f64) -> Painting {
    let mut painting = Painting::on(Look { rise_k: bay_k, emissivity: 0.92 });
    let belt = Fill::Even(bay_k + rises[BELT]);
    for (from, to) in [
        ((IDLER.0 - 36.0, IDLER.1), (DRIVEN.0 - 48.0, DRIVEN.1)),
        ((TWIN.0 + 36.0, TWIN.1), (DRIVEN.0 + 48.0, DRIVEN.1)),
        ((IDLER.0, 96.0), (TWIN.0, 96.0)),
    ] {
        painting.paint(Outline::Bar(from, to, 6.0), belt.clone(), rubber_e);
    }
    for (i, (at, radius, e)) in
        [(IDLER, IDLER_MM, dark_e), (TWIN, IDLER_MM, twin_e), (DRIVEN, DRIVEN_MM, dark_e)].into_iter().enumerate()
    {
        let (hub, rim) = (bay_k + rises[2 * i], bay_k + rises[2 * i + 1]);
        painting.paint(Outline::Disc(at, radius), Fill::Even(rim), e);
        painting.paint(Outline::Disc(at, 0.5 * (HUB_MM + radius)), Fill::Even(0.5 * (hub + rim)), e);
        painting.paint(Outline::Disc(at, HUB_MM * if i == 2 { 1.6 } else { 1.0 }), Fill::Even(hub), e);
    }
    painting
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "bearing 5–20 W (bad 50–200): 10–40 K over bay" (section 4): of the hub; "belts cool in 1–2 min" (section 3).
    #[test]
    fn rises_and_cooling_of_vehicle_2_17() {
        let sound = drive(40.0, [8.0, 8.0], 0.0, 900.0, 0.0);
        assert!(sound[0] > 8.0 && sound[0] < 40.0 && sound[BELT] > 3.0, "{sound:?}");
        let hot = drive(40.0, [8.0, 8.0], 100.0, 900.0, 0.0);
        // Toward the pulleys, which stay warm for longer: what it loses within ten minutes is the whole.
        let at = |seconds| drive(40.0, [8.0, 8.0], 100.0, 900.0, seconds)[BELT];
        let left = |seconds| (at(seconds) - at(600.0)) / (hot[BELT] - at(600.0));
        assert!(left(60.0) > 0.368 && left(120.0) < 0.368, "{} {}", left(60.0), left(120.0));
        // Rim minus hub separates slip from bearing.
        let bearing = drive(40.0, [80.0, 8.0], 0.0, 900.0, 12.0);
        assert!(hot[5] > hot[4] && bearing[0] > bearing[1]);
    }
}
