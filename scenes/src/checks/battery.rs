//! Battery under charge: six cells in a row, seen on the long side of the case.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::PLASTIC;
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Battery internal fault.
pub static CHECK: Check = Check {
    key: "battery",
    section: "2.9",
    what: "battery on charge",
    air_c: (5.0, 30.0),
    instruments: Instruments::Any,
    faults: &["warm-cell", "cold-cell"],
    gates: &[Gate::NoSoak, Gate::LoadShort, Gate::LoadOff, Gate::Sun, Gate::Wet],
    decoys: &[Decoy::WarmNeighbor, Decoy::LabelEdge, Decoy::SlidingReflection, Decoy::Water],
    simulate: scene,
};

/// Cells.
const CELLS: usize = 6;
/// Heat capacity of a cell in J/K: 16 kg at 0.95 kJ/(kg K) (vehicle.md section 4).
const CELL_J_PER_K: f64 = 16.0 / 6.0 * 950.0;
/// Extra area of the end cells, as a share (derived: an end face of 17 × 17 cm beside 3 × 4.3 × 17 cm of an inner cell).
const END_SHARE: f64 = 1.3;
/// Overvoltage that turns into heat once a cell is full, V − 2.23 (vehicle.md section 4), and a cell's resistance in ohm
/// (proposal).
const OVER_V: f64 = 0.17;
const CELL_OHM: f64 = 2e-3;
/// Case in mm (proposal) and the band of acid-filled height.
const CASE_MM: (f64, f64) = (260.0, 170.0);
/// Least difference of a mirror pair in K (vehicle.md section 7).
const LEAST_PAIR_K: f64 = 2.0;

/// The row of cells: `loss` in W/K per inner cell, `link` in W/K between cells.
fn row(loss: f64, link: f64) -> Network {
    let mut cells = Network::new(vec![CELL_J_PER_K; CELLS]);
    for i in 0..CELLS {
        let end = i == 0 || i == CELLS - 1;
        cells.lose(i, loss * if end { 1.0 + END_SHARE } else { 1.0 });
        if i > 0 {
            cells.link(i - 1, i, link);
        }
    }
    cells
}

/// Rises after `seconds` from even warmth `start_k`, with watts in each cell.
fn warmed(loss: f64, link: f64, start_k: &[f64; CELLS], watts: &[f64; CELLS], seconds: f64) -> Vec<f64> {
    let mut cells = row(loss, link);
    cells.rise_k.copy_from_slice(start_k);
    cells.heat_w.copy_from_slice(watts);
    cells.run(seconds, 20.0);
    cells.rise_k
}

fn scene(mut s: Stage) -> Recording {
    let (loss, link) = (s.between(0.25, 0.4), s.between(1.0, 2.0));
    let seconds = if s.gated(Gate::LoadShort) { s.between(120.0, 600.0) } else { s.between(2_700.0, 3_600.0) };
    let amperes = if s.gated(Gate::LoadOff) { 0.0 } else { s.between(12.0, 20.0) };
    let mut watts: [f64; CELLS] =
        std::array::from_fn(|_| amperes * (amperes * CELL_OHM + OVER_V) * (1.0 + s.draw.normal(0.03)));
    let mut start_k = [0.0; CELLS];
    if s.gated(Gate::NoSoak) {
        // Engine heat on one end: gone only after hours (τ ~2.3 h, vehicle.md section 3).
        let (warm, tilt) = (s.between(6.0, 15.0), s.between(3.0, 8.0) * s.draw.sign());
        start_k = std::array::from_fn(|i| warm + tilt * (i as f64 / 2.5 - 1.0));
    }
    let cell = s.draw.index(CELLS);
    let mut unit = [0.0; CELLS];
    unit[cell] = 1.0;
    let per_watt = {
        let rises = warmed(loss, link, &[0.0; CELLS], &unit, seconds);
        rises[cell] - rises[CELLS - 1 - cell]
    };
    let target = s.size([(0.1, 0.3), (2.5, 3.8), (5.5, 8.0), (10.5, 14.0)]);
    if s.has("warm-cell") {
        watts[cell] += target / per_watt;
    } else if s.has("cold-cell") {
        // A shorted cell takes nothing; the others take its voltage, gas and warm.
        let of_others = 1.3 * target / per_watt;
        for (i, watts) in watts.iter_mut().enumerate() {
            *watts = if i == cell { 0.0 } else { of_others * (1.0 + 0.02 * i as f64) };
        }
    }
    let rises_at = |time: f64| warmed(loss, link, &start_k, &watts, seconds + time);
    let pose = s.aim((1.15 * CASE_MM.0, 1.25 * CASE_MM.1), 0.6 * CASE_MM.0 / CELLS as f64);
    let (case_e, dark_e) = (PLASTIC.draw(&mut s.draw), PLASTIC.draw(&mut s.draw));
    let middle = |i: usize| ((i as f64 - 2.5) * CASE_MM.0 / CELLS as f64, 10.0);
    let bait = s.draw.index(CELLS);
    s.bait(None, pose.px(middle(bait)), 22.0 / pose.mm_per_px());
    s.weather(None);
    s.shoot(View::Single, &times(0.0, 12, 1.0), 2, |time| {
        let painting = painted(rises_at(time), case_e, dark_e);
        move |x, y| painting.look(pose.mm(x, y))
    });
    for i in 0..CELLS {
        let (u, v) = middle(i);
        let half = 0.32 * CASE_MM.0 / CELLS as f64;
        s.block(Role::Cell, View::Single, PLASTIC, &pose, (u - half, v - 40.0), (u + half, v + 40.0));
    }
    let rises = rises_at(0.0);
    let pair_k = libm::fabs(rises[cell] - rises[CELLS - 1 - cell]);
    s.note("pair_difference_k", pair_k);
    s.note("cell", (cell + 1) as f64);
    s.note("hottest_c", rises.iter().copied().fold(0.0, f64::max) + s.site.air_c);
    s.state("current", amperes);
    s.state("load-time", seconds);
    s.state("soak-time", if s.gated(Gate::NoSoak) { 1_800.0 } else { 30_000.0 });
    let place = Some((View::Single, pose.px(middle(cell))));
    s.finish(Outcome { severity: (pair_k, "K"), shows: pair_k >= LEAST_PAIR_K, place })
}

fn painted(rises: Vec<f64>, case_e: f64, dark_e: f64) -> Painting {
    let mut painting = Painting::on(Look { rise_k: 0.0, emissivity: dark_e });
    let (half_w, half_h) = (0.5 * CASE_MM.0, 0.5 * CASE_MM.1);
    let pitch = CASE_MM.0 / CELLS as f64;
    // Above the acid the case is cooler; so are the ribs between cells.
    let mean = rises.iter().sum::<f64>() / CELLS as f64;
    painting.paint(Outline::Block((-half_w, -half_h), (half_w, half_h)), Fill::Even(0.5 * mean), case_e);
    let line = Fill::Line((0.5 * pitch - half_w, 0.0), (half_w - 0.5 * pitch, 0.0), rises);
    painting.paint(Outline::Block((-half_w, -half_h + 35.0), (half_w, half_h)), line, case_e);
    painting
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Section 3: τ ~2.3 h, of the whole battery; 15 kJ/K over 1.8 W/K.
    #[test]
    fn time_constant_of_vehicle_3() {
        let share = |hours: f64| {
            let even = |seconds| warmed(0.25, 1.0, &[0.0; CELLS], &[1.0; CELLS], seconds)[2];
            even(hours * 3_600.0) / even(2e5)
        };
        assert!(share(1.8) < 0.632 && share(2.8) > 0.632, "{} {}", share(1.8), share(2.8));
    }

    /// Section 2.9 (D) derives "0.5 A leak in one cell = ~1 W = roughly 2–3 K local after 4–6 h". With the 1–3 W/K
    /// between cells of its own section 4 that cannot be: a cell would have to be nearly alone. This model, at the low
    /// end of those links, gives 0.8–0.9 K; rest faults are therefore not among the cases.
    #[test]
    fn a_rest_leak_is_smaller_than_vehicle_2_9_says() {
        let mut one = [0.0; CELLS];
        one[2] = 1.0;
        let at = |link| warmed(0.3, link, &[0.0; CELLS], &one, 5.0 * 3_600.0)[2];
        assert!((0.8..0.95).contains(&at(1.0)), "{}", at(1.0));
        assert!(at(0.1) > 2.0, "{}", at(0.1));
    }

    /// "1–15 K" (section 4). Its "end cells −1 K" is not reached: with 1–3 W/K between cells it is some tenths.
    #[test]
    fn charge_rise_of_vehicle_4() {
        let watts = [16.0 * (16.0 * CELL_OHM + OVER_V); CELLS];
        let rises = warmed(0.3, 1.5, &[0.0; CELLS], &watts, 3_000.0);
        assert!(rises[2] > 1.0 && rises[2] < 15.0 && rises[2] - rises[0] > 0.2, "{rises:?}");
    }
}
