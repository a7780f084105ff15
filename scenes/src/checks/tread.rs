//! Tire tread profile: three bands of the tread after a steady drive, on both sides of an axle, and both once more turned.
//!
//! Each band is a slab of rubber, heated at the belt below and cooled at the tread: a chain of cells (vehicle.md
//! section 4, "Tread profile"). Between drive and picture the skin cools within seconds, the depth within minutes.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::RUBBER;
use crate::picture::Look;
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Tire tread temperature profile.
pub static CHECK: Check = Check {
    key: "tread",
    section: "2.2",
    what: "rear tires after a drive",
    air_c: (0.0, 30.0),
    instruments: Instruments::Any,
    faults: &["overinflated", "underinflated", "camber", "belt-sector"],
    // No shutter step: bands are compared within one picture, and a step between two of them is in their intervals.
    gates: &[Gate::Sun, Gate::Wet, Gate::TooLate, Gate::LoadShort, Gate::ColdInstrument],
    decoys: &[Decoy::Tolerance, Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::Water],
    simulate: scene,
};

/// Tread: depth in m and cells of the slab (vehicle.md section 4: 8 mm), volumetric heat in J/(m³ K) and conductivity
/// (R5 in vehicle.md section 4: ρ 1150, c 1800, k 0.2).
const DEPTH_M: f64 = 0.008;
const CELLS: usize = 8;
const RUBBER_J_PER_M3_K: f64 = 1_150.0 * 1_800.0;
const RUBBER_W_PER_M_K: f64 = 0.2;
/// Tread to air in W/(m² K): moving 20–60, standing 10 (vehicle.md section 4).
const STANDING: f64 = 10.0;
/// Half of the tread's width in mm; grooves at these offsets, with half their width (proposal).
const HALF_TREAD_MM: f64 = 95.0;
const GROOVES_MM: [f64; 4] = [-57.0, -19.0, 19.0, 57.0];
const HALF_GROOVE_MM: f64 = 4.0;
const GROOVE_E: f64 = 0.98;
/// Deviation in mm of a hot sector along the circumference: a twelfth of it is about as long as the picture is high; and
/// its mean over a box of 100 mm, √(2π)·σ/100·(2Φ(50/σ) − 1).
const BUMP_MM: f64 = 120.0;
const MEAN_OF_BUMP: f64 = 0.972;
/// Limits of vehicle.md section 7: X, Y and sector, in K.
const LEAST_X_K: f64 = 3.0;
const LEAST_Y_K: f64 = 6.0;
const LEAST_SECTOR_K: f64 = 3.0;

/// Rise in K of skin and groove floor of a band after `drive_s` with `flux` W/m² into its belt, and `stand_s` standing.
#[must_use]
pub fn band(flux: f64, moving: f64, drive_s: f64, stand_s: f64) -> (f64, f64) {
    let mut slab = Network::chain(CELLS, RUBBER_J_PER_M3_K * DEPTH_M, RUBBER_W_PER_M_K / DEPTH_M);
    slab.lose(CELLS - 1, moving);
    slab.heat_w[0] = flux;
    slab.run(drive_s, 5.0);
    slab.heat_w[0] = 0.0;
    slab.scale_losses(STANDING / moving);
    slab.run(stand_s, 0.5);
    (slab.rise_k[CELLS - 1], slab.rise_k[CELLS / 2])
}

/// Skin and groove rises of the three bands: inner, center, outer.
type Bands = [(f64, f64); 3];

/// Third of the tread in mm. Boxes are put on a rib in each, 20 mm in from the shoulders and in the middle (R15: 25 mm);
/// half of a box lies within its rib.
const THIRD_MM: f64 = 2.0 * HALF_TREAD_MM / 3.0;
const RIBS_MM: [f64; 3] = [-75.0, 0.0, 75.0];
const HALF_BOX_MM: f64 = 13.0;

/// Mean of the block tops in each box: inner, center, outer. `bands` are the rises at the middles of the thirds.
fn block_tops(bands: [f64; 3]) -> [f64; 3] {
    std::array::from_fn(|i| {
        let middle = RIBS_MM[i];
        let steps = (0..200).map(|k| middle - HALF_BOX_MM + (f64::from(k) + 0.5) / 100.0 * HALF_BOX_MM);
        let tops: Vec<f64> = steps.filter(|&u| !is_groove(u)).map(|u| across(bands, u)).collect();
        tops.iter().sum::<f64>() / tops.len() as f64
    })
}

/// Middle over the mean of the edges, and inner over outer edge.
fn pattern([inner, center, outer]: [f64; 3]) -> (f64, f64) {
    (center - 0.5 * (inner + outer), inner - outer)
}

/// What is at `u` mm outward of the middle, linear between the middles of the thirds.
fn across([inner, center, outer]: [f64; 3], u: f64) -> f64 {
    let part = (u / THIRD_MM).clamp(-1.0, 1.0);
    center + if part < 0.0 { (center - inner) * part } else { (outer - center) * part }
}

fn is_groove(u: f64) -> bool {
    GROOVES_MM.iter().any(|at| libm::fabs(u - at) < HALF_GROOVE_MM)
}

fn scene(mut s: Stage) -> Recording {
    let moving = s.between(25.0, 55.0);
    let drive_s = if s.gated(Gate::LoadShort) { s.between(60.0, 180.0) } else { s.between(900.0, 1_500.0) };
    let since_s = if s.gated(Gate::TooLate) { s.between(300.0, 900.0) } else { s.between(15.0, 60.0) };
    let walk_s = s.between(20.0, 30.0);
    let base = s.between(12.0, 22.0) * moving;
    // Ordinary scatter: the inner shoulder works harder; sides differ a little (proposal).
    let inner_k = if s.decoy(Decoy::Tolerance) { s.between(3.5, 5.0) } else { s.between(0.5, 2.5) };
    let sides = [1.0 + s.draw.normal(0.03), 1.0 + s.draw.normal(0.03)];
    // The skin has this share of the belt's steady rise when it is seen: a unit run gives it.
    let seen = band(moving, moving, drive_s, since_s).0;
    let mut faulty_k = [0.0; 3];
    let mut sector_k = 0.0;
    let bad_side = s.draw.index(2);
    // A sector is in either picture of its tire; every third one at a shoulder only (vehicle.md section 2.2: "often").
    let sector_turned = s.draw.chance(0.5);
    let sector_at = if s.draw.chance(0.35) { Some(if s.draw.chance(0.5) { 0 } else { 2 }) } else { None };
    // Sizes are those of the pattern that the boxes show, so the fault at the middles of the thirds is as much larger as
    // needed.
    let shaped = |shape: [f64; 3], size: f64, shown: f64| shape.map(|part| part * size / shown);
    if s.has("overinflated") {
        let shape = [0.0, 1.0, 0.0];
        let size = s.size([(0.1, 0.5), (4.5, 6.0), (8.0, 10.0), (14.0, 18.0)]);
        faulty_k = shaped(shape, size, pattern(block_tops(shape)).0);
    } else if s.has("underinflated") {
        // The middle of a soft tire works harder too, by less.
        let shape = [1.0, 0.4, 1.0];
        let size = s.size([(0.1, 0.5), (4.5, 6.0), (8.0, 10.0), (14.0, 18.0)]);
        faulty_k = shaped(shape, size, -pattern(block_tops(shape)).0);
    } else if s.has("camber") {
        let shape = [1.0, 0.0, 0.0];
        let size = s.size([(0.1, 0.5), (7.5, 9.5), (12.0, 15.0), (20.0, 25.0)]);
        faulty_k = shaped(shape, size, pattern(block_tops(shape)).1);
    } else if s.has("belt-sector") {
        sector_k = s.size([(0.1, 0.5), (4.0, 5.5), (7.0, 9.0), (12.0, 16.0)]);
    }
    let rises = |side: usize, faulty: bool, stand_s: f64| -> Bands {
        std::array::from_fn(|i| {
            let inner = if i == 0 { inner_k } else { 0.0 };
            let extra = if faulty { faulty_k[i] } else { 0.0 } / seen.max(0.05);
            band((base + (inner + extra) * moving) * sides[side], moving, drive_s, stand_s)
        })
    };

    let pose = s.aim((2.3 * HALF_TREAD_MM, 1.7 * HALF_TREAD_MM), 2.0 * HALF_BOX_MM);
    let rubber_e = RUBBER.draw(&mut s.draw);
    let center = pose.px((-30.0, 20.0));
    s.bait(Some(if bad_side == 0 { View::Left } else { View::Right }), center, 15.0 / pose.mm_per_px());
    s.weather(Some(View::Left));
    let first = rises(bad_side, true, since_s);
    let mate = rises(1 - bad_side, false, since_s);
    // Both tires, then both turned by a third.
    let views = [
        ("left", View::Left, 0, false),
        ("right", View::Right, 1, false),
        ("left-turned", View::LeftTurned, 0, true),
        ("right-turned", View::RightTurned, 1, true),
    ];
    for (order, (key, view, side, turned)) in views.into_iter().enumerate() {
        let from_s = walk_s * order as f64;
        // The inner shoulder is toward the vehicle's middle: seen from behind, right on the left tire.
        let mirror = if side == 0 { -1.0 } else { 1.0 };
        let bump = if side == bad_side && turned == sector_turned { sector_k } else { 0.0 };
        let bumps: [f64; 3] = std::array::from_fn(|i| if sector_at.is_none_or(|at| at == i) { bump } else { 0.0 });
        s.shoot(view, &times(from_s, 8, 0.25), 2, |time| {
            let bands = rises(side, side == bad_side, since_s + time);
            move |x, y| look(&bands, bumps, rubber_e, mirror, pose.mm(x, y))
        });
        let tops = block_tops(rises(side, side == bad_side, since_s + from_s + 1.0).map(|band| band.0));
        let bump_tops = block_tops(bumps);
        let thirds = [(Role::TreadInner, "inner"), (Role::TreadCenter, "center"), (Role::TreadOuter, "outer")];
        for (i, (role, third)) in thirds.into_iter().enumerate() {
            let middle = mirror * RIBS_MM[i];
            s.block(role, view, RUBBER, &pose, (middle - HALF_BOX_MM, -50.0), (middle + HALF_BOX_MM, 50.0));
            s.note(&format!("{key}_{third}_rise_k"), tops[i] + bump_tops[i] * MEAN_OF_BUMP);
        }
    }
    let tops = block_tops(first.map(|band| band.0));
    let mate_tops = block_tops(mate.map(|band| band.0));
    let mean = |tops: [f64; 3]| tops.iter().sum::<f64>() / 3.0;
    let (x_k, y_k) = pattern(tops);
    let hollow_k = tops[0].min(tops[2]) - tops[1];
    let sound_y_k = pattern(mate_tops).1;
    // As of the first picture; what a sector adds to a picture of the first round is in it.
    let of_sector: [f64; 3] = std::array::from_fn(|i| if sector_at.is_none_or(|at| at == i) { sector_k } else { 0.0 });
    let in_first = if sector_turned { 0.0 } else { mean(block_tops(of_sector)) * MEAN_OF_BUMP };
    let bad_over_mate = mean(tops) + in_first - mean(mate_tops);
    let numbers = [
        ("left_over_right_k", if bad_side == 0 { bad_over_mate } else { -bad_over_mate }),
        ("sector_k", block_tops(of_sector).into_iter().fold(0.0, f64::max) * MEAN_OF_BUMP),
    ];
    for (name, value) in numbers {
        s.note(name, value);
    }
    s.note("mean_rise_k", tops.iter().sum::<f64>() / 3.0);
    s.state("since-stop", since_s);
    s.state("drive-time", drive_s);
    let (size, shows) = match s.fault() {
        Some("camber") => (y_k - sound_y_k, y_k - sound_y_k >= LEAST_Y_K),
        Some("belt-sector") => (sector_k, sector_k >= LEAST_SECTOR_K),
        Some("underinflated") => (hollow_k, hollow_k >= LEAST_X_K),
        _ => (x_k, x_k >= LEAST_X_K),
    };
    // Where it shows: the band and the picture that a finding would name.
    let band = match s.fault() {
        Some("camber") => 0,
        Some("belt-sector") => sector_at.unwrap_or(1),
        _ => 1,
    };
    let turned = s.has("belt-sector") && sector_turned;
    let view = match (bad_side, turned) {
        (0, false) => View::Left,
        (0, true) => View::LeftTurned,
        (_, false) => View::Right,
        (_, true) => View::RightTurned,
    };
    let mirror = if bad_side == 0 { -1.0 } else { 1.0 };
    s.finish(Outcome { severity: (size, "K"), shows, place: Some((view, pose.px((mirror * RIBS_MM[band], 0.0)))) })
}

fn look(bands: &Bands, bumps_k: [f64; 3], rubber_e: f64, mirror: f64, (u, v): (f64, f64)) -> Look {
    if libm::fabs(u) > HALF_TREAD_MM {
        return Look { rise_k: 0.0, emissivity: 0.93 };
    }
    let outward = mirror * u;
    let groove = is_groove(u);
    let rise = across(bands.map(|band| if groove { band.1 } else { band.0 }), outward);
    let sector = across(bumps_k, outward) * libm::exp(-v * v / (2.0 * BUMP_MM * BUMP_MM));
    Look { rise_k: rise + sector, emissivity: if groove { GROOVE_E } else { rubber_e } }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "q 200–1500 W/m², h 20–60 moving: 10–45 K rise" (vehicle.md section 4).
    #[test]
    fn steady_rises_of_vehicle_4() {
        for (flux, h) in [(400.0, 40.0), (1_500.0, 40.0), (900.0, 20.0)] {
            let rise = band(flux, h, 20_000.0, 0.0).0;
            // One half cell lies between the last node and the skin's loss; the chain's last node is the skin.
            assert!((rise - flux / h).abs() < 0.01 * flux / h && (9.9..46.0).contains(&rise), "{flux} {h}: {rise}");
        }
    }

    /// Section 3: the depth of the tread (8 mm) follows within about 10 min. "63 % at τ".
    #[test]
    fn time_constant_of_vehicle_3() {
        let steady = band(400.0, 40.0, 20_000.0, 0.0).1;
        let early = band(400.0, 40.0, 600.0, 0.0).1;
        assert!((early / steady - 0.632).abs() < 0.05, "{}", early / steady);
    }
}
