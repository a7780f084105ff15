//! Fuse and relay box, vehicle asleep or with stated circuits on: rows of like items that warm each other.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::PLASTIC;
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Fuses and relays.
pub static CHECK: Check = Check {
    key: "fuse-box",
    section: "2.11",
    what: "fuse box",
    air_c: (5.0, 30.0),
    instruments: Instruments::Fine,
    faults: &["load-asleep", "bad-clip", "energized-relay"],
    gates: &[Gate::NoSoak, Gate::LoadShort, Gate::Sun, Gate::SmallTarget],
    decoys: &[Decoy::Tolerance, Decoy::WarmNeighbor, Decoy::LabelEdge, Decoy::BodyPrint],
    simulate: scene,
};

/// Fuses in rows, relays below them.
const COLUMNS: usize = 6;
const ROWS: usize = 4;
const FUSES: usize = COLUMNS * ROWS;
const RELAYS: usize = 4;
/// Rating of every fuse in A, and its resistance in ohm: ~0.1/rating, 7.7 mohm at 10 A (vehicle.md sections 2.11, 4).
const RATED_A: f64 = 10.0;
const FUSE_OHM: f64 = 7.7e-3;
/// Losses in W/K: a fuse in its socket 10–30 mW/K (drawn), a relay 40–70 mW/K (drawn) (vehicle.md section 4).
/// Mutual conductance as a share of that, 5–20 % (section 4).
const MUTUAL: f64 = 0.1;
/// Heat capacities in J/K: a fuse with its part of the socket (derived: 1–2 min with 20 mW/K, section 3) and a relay
/// (section 3).
const FUSE_J_PER_K: f64 = 1.8;
const RELAY_J_PER_K: f64 = 14.0;
/// Pitch of fuses in mm, half sizes of a fuse top, pitch and half sizes of a relay (proposal; blade fuses, cube relays).
const PITCH_MM: (f64, f64) = (20.0, 24.0);
const FUSE_MM: (f64, f64) = (7.0, 8.0);
const RELAY_PITCH_MM: f64 = 32.0;
const RELAY_MM: f64 = 13.0;
/// Rules of section 7: a fuse against its like (5 K), a relay against idle ones (8 K).
const LEAST_FUSE_K: f64 = 5.0;
const LEAST_RELAY_K: f64 = 8.0;

/// The box: fuses row by row, then relays.
fn network(fuse_loss: f64, relay_loss: f64) -> Network {
    let mut capacity = vec![FUSE_J_PER_K; FUSES];
    capacity.extend([RELAY_J_PER_K; RELAYS]);
    let mut nodes = Network::new(capacity);
    for i in 0..FUSES {
        nodes.lose(i, fuse_loss);
        if i % COLUMNS > 0 {
            nodes.link(i - 1, i, MUTUAL * fuse_loss);
        }
        if i >= COLUMNS {
            nodes.link(i - COLUMNS, i, MUTUAL * fuse_loss);
        }
    }
    for i in FUSES..FUSES + RELAYS {
        nodes.lose(i, relay_loss);
        if i > FUSES {
            nodes.link(i - 1, i, MUTUAL * relay_loss);
        }
        nodes.link(FUSES - COLUMNS + (i - FUSES), i, MUTUAL * fuse_loss);
    }
    nodes
}

fn fuse_at(i: usize) -> (f64, f64) {
    let (column, row) = ((i % COLUMNS) as f64, (i / COLUMNS) as f64);
    ((column - 2.5) * PITCH_MM.0, (row - 1.5) * PITCH_MM.1 - 20.0)
}

fn relay_at(i: usize) -> (f64, f64) {
    ((i as f64 - 1.5) * RELAY_PITCH_MM, 52.0)
}

fn scene(mut s: Stage) -> Recording {
    let (fuse_loss, relay_loss) = (s.between(0.01, 0.03), s.between(0.04, 0.07));
    let seconds = if s.gated(Gate::LoadShort) { s.between(10.0, 40.0) } else { s.between(1_200.0, 3_600.0) };
    let mut nodes = network(fuse_loss, relay_loss);
    // Sleeping modules: some milliamperes each. A circuit left on by duty is an ordinary warm fuse.
    for i in 0..FUSES {
        let amperes = s.between(0.0, 0.02);
        nodes.heat_w[i] = amperes * amperes * FUSE_OHM;
    }
    let (fuse, relay) = (s.draw.index(FUSES), s.draw.index(RELAYS));
    let mut asleep = true;
    if s.decoy(Decoy::Tolerance) {
        // Awake on purpose: three circuits at half of their rating, warm by right, and of similar duty.
        asleep = false;
        for i in [fuse, (fuse + 7) % FUSES, (fuse + 13) % FUSES] {
            nodes.heat_w[i] = RATED_A * RATED_A * 0.25 * FUSE_OHM;
        }
    }
    let mut severity = (0.0, "A");
    if s.has("load-asleep") {
        // A; below about 1 A a fuse shows nothing (section 2.11).
        let amperes = s.size([(0.05, 0.5), (5.0, 5.5), (6.0, 7.0), (8.0, 9.5)]);
        // At least so much that the draw's fuse loss does not decide whether it shows.
        nodes.heat_w[fuse] = amperes * amperes * FUSE_OHM;
        severity.0 = amperes;
    } else if s.has("bad-clip") {
        asleep = false;
        let target = s.size([(0.1, 0.3), (8.0, 11.0), (16.0, 22.0), (32.0, 45.0)]);
        for i in [fuse, (fuse + 5) % FUSES, (fuse + 11) % FUSES] {
            nodes.heat_w[i] = 16.0 * FUSE_OHM;
        }
        nodes.heat_w[fuse] += target * fuse_loss * 1.3;
        severity = (target * fuse_loss * 1.3 / 16.0 * 1e3, "mohm");
    } else if s.has("energized-relay") {
        // Coil 1.5–2.2 W (section 2.11), or a latched load with a weaker holding current.
        let watts = s.size([(0.01, 0.03), (0.9, 1.1), (1.5, 1.8), (1.9, 2.2)]);
        nodes.heat_w[FUSES + relay] = watts;
        severity = (watts, "W");
    }
    if s.gated(Gate::NoSoak) {
        let warm = s.between(4.0, 12.0);
        for (i, rise) in nodes.rise_k.iter_mut().enumerate() {
            // The engine warmed one side more; the box keeps that for an hour.
            *rise = warm * (0.5 + (i % COLUMNS) as f64 / 6.0);
        }
        nodes.run(60.0, 5.0);
    } else {
        nodes.run(seconds, 5.0);
    }
    let pose = s.aim((170.0, 150.0), 2.0 * FUSE_MM.0);
    let plastic_e = PLASTIC.draw(&mut s.draw);
    let bait_at = s.draw.index(FUSES);
    s.bait(None, pose.px(fuse_at(bait_at)), 9.0 / pose.mm_per_px());
    s.weather(None);
    let painting = painted(&nodes.rise_k, plastic_e);
    // Minutes or hours after a change nothing moves within the seconds of a recording.
    s.shoot(View::Single, &times(0.0, 12, 0.5), 2, |_| {
        let painting = &painting;
        move |x, y| painting.look(pose.mm(x, y))
    });
    for i in 0..FUSES {
        s.spot(Role::Fuse, View::Single, PLASTIC, &pose, fuse_at(i), 1.5 * FUSE_MM.0);
    }
    for i in 0..RELAYS {
        s.spot(Role::Relay, View::Single, PLASTIC, &pose, relay_at(i), 1.5 * RELAY_MM);
    }
    let mut fuses = nodes.rise_k[..FUSES].to_vec();
    let own = fuses[fuse];
    fuses.sort_by(f64::total_cmp);
    let over_median_k = own - fuses[FUSES / 2];
    let idle = nodes.rise_k[FUSES + (relay + 2) % RELAYS];
    let over_idle_k = nodes.rise_k[FUSES + relay] - idle;
    s.note("fuse_over_median_k", over_median_k);
    s.note("relay_over_idle_k", over_idle_k);
    s.affirm("asleep", asleep);
    s.state("load-time", seconds);
    s.state("soak-time", if s.gated(Gate::NoSoak) { 300.0 } else { 10_800.0 });
    let at = if s.has("energized-relay") { relay_at(relay) } else { fuse_at(fuse) };
    let shows = if s.has("energized-relay") { over_idle_k >= LEAST_RELAY_K } else { over_median_k >= LEAST_FUSE_K };
    s.finish(Outcome { severity, shows, place: Some((View::Single, pose.px(at))) })
}

fn painted(rises: &[f64], plastic_e: f64) -> Painting {
    let mean = rises.iter().sum::<f64>() / rises.len() as f64;
    let mut painting = Painting::on(Look { rise_k: 0.3 * mean, emissivity: plastic_e });
    let block =
        |(u, v): (f64, f64), half: (f64, f64)| Outline::Block((u - half.0, v - half.1), (u + half.0, v + half.1));
    for (i, rise) in rises.iter().enumerate() {
        let outline =
            if i < FUSES { block(fuse_at(i), FUSE_MM) } else { block(relay_at(i - FUSES), (RELAY_MM, RELAY_MM)) };
        painting.paint(outline, Fill::Even(*rise), plastic_e);
    }
    painting
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "a free 10 A fuse (5 mW/K): 50 mA 0.02 mW; 0.1 A 0.08 mW = 0.015 K; 0.5 A 1.9 mW = 0.4 K; 1 A 8 mW = 1.5 K;
    /// 2 A 31 mW = 6 K" (section 2.11, D).
    #[test]
    fn fuse_table_of_vehicle_2_11() {
        for (amperes, milliwatts, rise) in [(0.1, 0.08, 0.015), (0.5, 1.9, 0.4), (1.0, 8.0, 1.5), (2.0, 31.0, 6.0)] {
            let watts = amperes * amperes * FUSE_OHM;
            assert!((watts * 1e3 / milliwatts - 1.0).abs() < 0.05, "{amperes}: {watts}");
            let mut free = Network::new(vec![FUSE_J_PER_K]);
            free.lose(0, 5e-3);
            free.heat_w[0] = watts;
            free.run(20_000.0, 50.0);
            assert!((free.rise_k[0] / rise - 1.0).abs() < 0.08, "{amperes}: {}", free.rise_k[0]);
        }
    }

    /// Energized relay 10–35 K beside an idle one at 0–2 K; about 5 min (sections 2.11 and 3).
    #[test]
    fn relay_of_vehicle_2_11() {
        for (watts, loss) in [(1.5, 0.06), (1.9, 0.05), (2.2, 0.07)] {
            let mut nodes = network(0.02, loss);
            nodes.heat_w[FUSES] = watts;
            nodes.run(300.0, 5.0);
            let early = nodes.rise_k[FUSES];
            nodes.run(6_000.0, 20.0);
            let (rise, idle) = (nodes.rise_k[FUSES], nodes.rise_k[FUSES + 2]);
            assert!((10.0..=35.0).contains(&rise) && idle < 2.0, "{watts}: {rise} {idle}");
            assert!((0.55..0.85).contains(&(early / rise)), "{}", early / rise);
        }
    }
}
