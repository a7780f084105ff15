//! Standby draw: a module behind a door's trim, or bare, at the first survey and half an hour later.
//!
//! Module and trim: a lump in a cavity, which gives part of its heat through an air gap to a sheet of trim (vehicle.md
//! section 4, "Module/parasitic").

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::air::{Stands, surface_w_per_m2_k};
use crate::heat::sheet::{Sheet, Stuff};
use crate::material::PLASTIC;
use crate::picture::Look;
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Parasitic draw of a sleeping vehicle.
pub static CHECK: Check = Check {
    key: "standby-draw",
    section: "2.13",
    what: "front door trim at rest",
    air_c: (5.0, 25.0),
    instruments: Instruments::Any,
    faults: &["draw-behind-trim", "draw-in-module"],
    gates: &[Gate::NoSoak, Gate::Sun, Gate::ShutterStep, Gate::SmallTarget, Gate::Wind, Gate::ColdInstrument],
    decoys: &[Decoy::BodyPrint, Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::LabelEdge],
    simulate: scene,
};

/// Cells of 10 mm: trim 460 mm wide and 340 mm high.
const CELL_M: f64 = 0.01;
const COLUMNS: usize = 46;
const ROWS: usize = 34;
/// Trim of 2.5 mm, k 0.2 (section 4), ρ 1100, c 1500 (R5 in section 4).
const TRIM: Stuff = Stuff { spread_w_per_k: 0.2 * 0.0025, capacity_j_per_m2_k: 1_100.0 * 1_500.0 * 0.0025 };
/// Behind the trim in W/(m² K): 4–6 (section 4).
const BEHIND: f64 = 5.0;
/// Half sizes of the module in m (100 × 80 mm, section 4), and radius of the trim that its heat reaches (500 cm²,
/// section 2.13).
const MODULE_HALF_M: (f64, f64) = (0.05, 0.04);
const SPREAD_M: f64 = 0.126;
/// Supply in V (section 2.13).
const SUPPLY_V: f64 = 12.6;
/// Share of the heat that enters the trim (section 2.13: 0.4 behind trim); a bare module gives all to the air it is
/// seen through. Area of a bare module in m² and its heat capacity in J/K (200 cm², 200 g, sections 2.13 and 3).
const THROUGH_TRIM: f64 = 0.4;
const BARE_M2: f64 = 0.02;
const MODULE_J_PER_K: f64 = 200.0;
/// Time from the first to the second survey in s (section 2.13: 30 min).
const BETWEEN_S: f64 = 1_800.0;
/// Least local difference in K (section 1.3, P: 0.3–0.5).
const LEAST_K: f64 = 0.45;

/// Trim rise after `seconds` of a draw, with the module's own delay.
///
/// The module's lump passes its heat on with its time constant; integrated together with the sheet in steps of 20 s.
fn trim(watts: f64, front: f64, seconds: f64, module_tau_s: f64) -> Sheet {
    let mut sheet = Sheet::new(COLUMNS, ROWS, CELL_M, TRIM, front + BEHIND);
    let (center_x, center_y) = (0.5 * COLUMNS as f64 * CELL_M, 0.5 * ROWS as f64 * CELL_M);
    let over = |x: f64, y: f64| {
        let (dx, dy) = (x - center_x, y - center_y);
        f64::from(u8::from(dx * dx + dy * dy < SPREAD_M * SPREAD_M))
    };
    let area = std::f64::consts::PI * SPREAD_M * SPREAD_M;
    let step_s = 20.0;
    let mut now = 0.0;
    while now < seconds {
        let grown = -libm::expm1(-(now + 0.5 * step_s) / module_tau_s);
        sheet.warm(|x, y| over(x, y) * watts * grown / area);
        sheet.run(step_s, step_s);
        now += step_s;
    }
    sheet
}

/// Rise of a bare module's surface after `seconds`.
fn module(watts: f64, h: f64, seconds: f64) -> f64 {
    let tau = MODULE_J_PER_K / (h * BARE_M2);
    -watts / (h * BARE_M2) * libm::expm1(-seconds / tau)
}

fn scene(mut s: Stage) -> Recording {
    let bare = s.has("draw-in-module");
    // mA: 50–100 behind trim and 10–20 on a bare module are just resolvable (section 2.13).
    let milliamperes = if bare {
        s.size([(0.5, 2.0), (20.0, 35.0), (60.0, 120.0), (200.0, 400.0)])
    } else {
        s.size([(1.0, 10.0), (130.0, 170.0), (220.0, 350.0), (500.0, 900.0)])
    };
    let watts = if s.fault().is_some() { milliamperes * 1e-3 * SUPPLY_V } else { s.between(0.0, 0.02) };
    // Slept for a while at the first survey.
    let since_sleep_s = s.between(2_400.0, 4_800.0);
    let module_tau_s = s.between(900.0, 1_500.0);
    let front = surface_w_per_m2_k(Stands::Upright, 0.34, 1.0, s.site.air_k(), PLASTIC.nominal);
    // Residual warmth of the sun on one side of the trim; what is left after the soak decays with hours.
    let (left_k, decay_s) =
        if s.gated(Gate::NoSoak) { (s.between(4.0, 9.0), s.between(3_600.0, 9_000.0)) } else { (0.0, 3_600.0) };
    let warm_corner = (s.between(0.2, 0.8), s.between(0.1, 0.5));
    let of_residual = |x: f64, y: f64| {
        let (dx, dy) = ((x - warm_corner.0) / 0.25, (y - warm_corner.1) / 0.25);
        left_k * (0.4 + 0.6 * libm::exp(-0.5 * (dx * dx + dy * dy)))
    };
    let surveys = [0.0, BETWEEN_S].map(|later| {
        let seconds = since_sleep_s + later;
        let sheet = trim(if bare { 0.0 } else { THROUGH_TRIM * watts }, front, seconds, module_tau_s);
        let on_module = if bare { module(watts, 9.0, seconds) } else { 0.0 };
        (sheet, on_module, libm::exp(-later / decay_s))
    });
    let feature = if bare { 2.0 * MODULE_HALF_M.0 } else { 2.0 * SPREAD_M } * 1e3;
    let size = (COLUMNS as f64 * CELL_M * 1e3, ROWS as f64 * CELL_M * 1e3);
    let pose = s.aim((1.08 * size.0, 1.08 * size.1), feature);
    let emissivity = PLASTIC.draw(&mut s.draw);
    let near = pose.px((-70.0, 40.0));
    s.bait(None, near, 35.0 / pose.mm_per_px());
    s.weather(None);
    for ((view, from_s), survey) in [(View::Before, 0.0), (View::After, BETWEEN_S)].into_iter().zip(&surveys) {
        let (sheet, on_module, left) = survey;
        s.shoot(view, &times(from_s, 12, 1.0), 2, |_| {
            move |x, y| {
                let (u, v) = pose.mm(x, y);
                let (x_m, y_m) = ((u + 0.5 * size.0) * 1e-3, (v + 0.5 * size.1) * 1e-3);
                let mut rise_k = sheet.at(x_m, y_m) + left * of_residual(x_m / (size.0 * 1e-3), y_m / (size.1 * 1e-3));
                if libm::fabs(u) < MODULE_HALF_M.0 * 1e3 && libm::fabs(v) < MODULE_HALF_M.1 * 1e3 {
                    rise_k += on_module;
                }
                Look { rise_k, emissivity }
            }
        });
        s.spot(Role::Module, view, PLASTIC, &pose, (0.0, 0.0), 70.0);
        s.ring(Role::Surround, view, PLASTIC, &pose, (0.0, 0.0), (142.0, 160.0));
    }
    let local = |(sheet, on_module, _): &(Sheet, f64, f64)| {
        let (x, y) = (0.5 * size.0 * 1e-3, 0.5 * size.1 * 1e-3);
        sheet.at(x, y) + on_module - sheet.at(x + 0.151, y)
    };
    let (first_k, second_k) = (local(&surveys[0]), local(&surveys[1]));
    s.note("first_survey_k", first_k);
    s.note("second_survey_k", second_k);
    s.note("power_w", watts);
    s.affirm("asleep", true);
    s.state("soak-time", if s.gated(Gate::NoSoak) { since_sleep_s } else { since_sleep_s + 28_800.0 });
    s.state("sleep-time", since_sleep_s);
    s.finish(Outcome {
        severity: (milliamperes, "mA"),
        shows: second_k >= LEAST_K,
        place: Some((View::After, pose.px((0.0, 0.0)))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "module behind door trim (40 % of heat, spread over 500 cm²), 50/100/300 mA: 0.5/1.0/3 K"; "bare 200 cm² module,
    /// 20/50/100 mA: 1.3/3/6 K" (section 2.13, D; stated to a factor of 2).
    #[test]
    fn drain_current_against_rise_of_vehicle_2_13() {
        for (milliamperes, rise) in [(50.0, 0.5), (100.0, 1.0), (300.0, 3.0)] {
            let watts = THROUGH_TRIM * milliamperes * 1e-3 * SUPPLY_V;
            let sheet = trim(watts, 7.0, 20_000.0, 600.0);
            let mine = sheet.at(0.23, 0.17);
            assert!(mine > rise / 2.0 && mine < rise * 2.0, "{milliamperes}: {mine}");
        }
        for (milliamperes, rise) in [(20.0, 1.3), (50.0, 3.0), (100.0, 6.0)] {
            let mine = module(milliamperes * 1e-3 * SUPPLY_V, 9.6, 50_000.0);
            assert!((mine / rise - 1.0).abs() < 0.15, "{milliamperes}: {mine}");
        }
    }

    /// Section 3: module of 200 g and 200 cm² ~18 min, trim front 3–6 min.
    #[test]
    fn time_constants_of_vehicle_3() {
        let tau_min = MODULE_J_PER_K / (9.3 * BARE_M2) / 60.0;
        assert!((tau_min - 18.0).abs() < 1.0, "{tau_min}");
        let rise = |seconds| trim(1.0, 7.0, seconds, 1.0).at(0.23, 0.17);
        assert!(rise(180.0) < 0.632 * rise(20_000.0) && rise(360.0) > 0.632 * rise(20_000.0));
    }
}
