//! Current-carrying lead with a splice, beside a parallel lead of the same size.

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::{COPPER_OHM_MM2_PER_M, COPPER_W_PER_M_K, PLASTIC};
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Current-carrying leads.
pub static CHECK: Check = Check {
    key: "lead",
    section: "2.12",
    what: "harness under load",
    air_c: (0.0, 35.0),
    instruments: Instruments::Any,
    faults: &["bad-splice", "overload"],
    gates: &[Gate::LoadOff, Gate::LoadShort, Gate::SmallTarget, Gate::Sun, Gate::Wind],
    decoys: &[Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::LabelEdge, Decoy::BodyPrint],
    simulate: scene,
};

/// Length of the modeled lead in m and its cells; the picture shows the middle.
const LENGTH_M: f64 = 0.6;
const CELLS: usize = 75;
/// Length that the picture shows in mm, and the rows of the two leads.
const SHOWN_MM: f64 = 240.0;
const ROWS_MM: (f64, f64) = (-32.0, 32.0);
/// Volumetric heat capacity of copper in J/(m³ K) (memory), and of the lead with insulation against copper alone
/// (derived: 2.5 mm² in 3 min, vehicle.md section 3).
const COPPER_J_PER_M3_K: f64 = 3.45e6;
const WITH_INSULATION: f64 = 3.3;
/// Temperature coefficient of copper is left out: ranges here stay below 80 K of rise.
/// Limits of vehicle.md section 7 in K: step and rise.
const LEAST_STEP_K: f64 = 4.0;
const LEAST_RISE_K: f64 = 35.0;

/// Outer diameter in m and heat given per length and kelvin in W/(m K).
///
/// Derived from the rises of section 2.12 (1.0 mm²: 10 A 13 K; 2.5 mm²: 20 A 19 K; 6 mm²: 60 A 47 K).
fn loss_w_per_m_k(mm2: f64) -> f64 {
    0.1326 * libm::pow(mm2, 0.24)
}

fn outer_mm(mm2: f64) -> f64 {
    1.6 * libm::sqrt(mm2) + 1.1
}

/// Rises along a lead after `seconds`; `bundle` (1–2.5) is how much worse than alone it gives its heat away.
fn along(mm2: f64, amperes: f64, splice_ohm: f64, bundle: f64, seconds: f64) -> Vec<f64> {
    let area = mm2 * 1e-6;
    let capacity = COPPER_J_PER_M3_K * WITH_INSULATION * area * LENGTH_M;
    let mut lead = Network::chain(CELLS, capacity, COPPER_W_PER_M_K * area / LENGTH_M);
    let cell_m = LENGTH_M / CELLS as f64;
    for i in 0..CELLS {
        lead.lose(i, loss_w_per_m_k(mm2) / bundle * cell_m);
        lead.heat_w[i] = amperes * amperes * COPPER_OHM_MM2_PER_M / mm2 * cell_m;
    }
    lead.heat_w[CELLS / 2] += amperes * amperes * splice_ohm;
    lead.run(seconds, 10.0);
    lead.rise_k
}

fn scene(mut s: Stage) -> Recording {
    let sizes: [(f64, f64); 3] = [(2.5, 16.0), (4.0, 22.0), (6.0, 30.0)];
    let (mm2, full_a) = sizes[s.draw.index(3)];
    let load_s = if s.gated(Gate::LoadShort) { s.between(10.0, 45.0) } else { s.between(600.0, 900.0) };
    let share = if s.gated(Gate::LoadOff) { s.between(0.02, 0.2) } else { s.between(0.75, 0.95) };
    let mut amperes = full_a * share;
    let bundle = s.between(1.0, 1.3);
    let mut splice_ohm = s.between(0.05e-3, 0.2e-3);
    let mut severity = (0.0, "mohm");
    // Shared with the twin: an overload is the circuit's, not the splice's.
    let unit = along(mm2, full_a * 0.8, 1e-3, bundle, 700.0)[CELLS / 2]
        - along(mm2, full_a * 0.8, 0.0, bundle, 700.0)[CELLS / 2];
    if s.has("bad-splice") {
        let target = s.size([(0.2, 0.6), (7.0, 9.0), (11.0, 14.0), (22.0, 30.0)]);
        splice_ohm += target / unit * 1e-3;
        severity = (splice_ohm * 1e3, "mohm");
    } else if s.has("overload") {
        let rise = s.size([(5.0, 8.0), (39.0, 42.0), (46.0, 55.0), (60.0, 75.0)]);
        let own = along(mm2, 1.0, 0.0, bundle, load_s)[2];
        amperes = libm::sqrt(rise / own);
        severity = (rise, "K");
    }
    let rises_at = |time: f64, ohm: f64| along(mm2, amperes, ohm, bundle, load_s + time);
    let half_mm = 0.5 * outer_mm(mm2);
    // Four pixels or more over the lead, as an operator would go near; the picture then shows less of its length.
    let near = (2.0 * half_mm / 4.5 * s.sensor.width as f64).min(SHOWN_MM);
    let shown = near.max(60.0);
    let pose = s.aim((shown, 0.0), 2.0 * half_mm);
    let plastic_e = PLASTIC.draw(&mut s.draw);
    let gap = (0.22 * pose.mm_per_px() * s.sensor.height as f64).min(ROWS_MM.1);
    let reach = 0.36 * pose.mm_per_px() * s.sensor.width as f64;
    s.bait(None, pose.px((0.5 * reach, -gap)), 8.0 / pose.mm_per_px());
    s.weather(None);
    s.shoot(View::Single, &times(0.0, 12, 0.5), 2, |time| {
        let mut painting = Painting::on(Look { rise_k: 0.0, emissivity: plastic_e });
        for (row, ohm) in [(-gap, splice_ohm), (gap, 0.1e-3)] {
            let (from, to) = ((-500.0 * LENGTH_M, row), (500.0 * LENGTH_M, row));
            let fill = Fill::Line(from, to, rises_at(time, ohm));
            painting.paint(Outline::Bar(from, to, half_mm), fill.clone(), plastic_e);
            painting.paint(Outline::Bar((-7.0, row), (7.0, row), 1.4 * half_mm), fill, plastic_e);
        }
        move |x, y| painting.look(pose.mm(x, y))
    });
    s.spot(Role::Splice, View::Single, PLASTIC, &pose, (0.0, -gap), 2.2 * half_mm);
    s.spot(Role::Lead, View::Single, PLASTIC, &pose, (-reach, -gap), 1.6 * half_mm);
    s.spot(Role::LeadTwin, View::Single, PLASTIC, &pose, (0.0, gap), 2.2 * half_mm);
    let rises = rises_at(0.0, splice_ohm);
    let far = rises[((0.5 - reach * 1e-3 / LENGTH_M) * CELLS as f64) as usize];
    let step_k = rises[CELLS / 2] - far;
    s.note("splice_over_lead_k", step_k);
    s.note("splice_over_twin_k", rises[CELLS / 2] - rises_at(0.0, 0.1e-3)[CELLS / 2]);
    s.note("lead_rise_k", rises[2]);
    s.note("conductor_mm2", mm2);
    s.state("current", amperes);
    s.state("full-current", if s.has("overload") { amperes } else { full_a });
    s.state("load-time", load_s);
    let over_twin = rises[CELLS / 2] - rises_at(0.0, 0.1e-3)[CELLS / 2];
    let shows = if s.has("overload") { rises[2] >= LEAST_RISE_K } else { over_twin >= LEAST_STEP_K };
    s.finish(Outcome { severity, shows, place: Some((View::Single, pose.px((0.0, -gap)))) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "1.0 mm²: 5 A 3 K, 10 A 13 K, 20 A 53 K; 2.5 mm²: 10 A 5 K, 20 A 19 K, 30 A 42 K; 6 mm²: 30 A 12 K, 60 A 47 K"
    /// (section 2.12, D). One power law for the surface meets all eight rows within 12 % and the rounding of the table;
    /// the rows of 2.5 mm² come out 10 % low, those of 6 mm² 10 % high.
    #[test]
    fn rises_of_vehicle_2_12() {
        let table = [
            (1.0, 5.0, 3.0),
            (1.0, 10.0, 13.0),
            (1.0, 20.0, 53.0),
            (2.5, 10.0, 5.0),
            (2.5, 20.0, 19.0),
            (2.5, 30.0, 42.0),
            (6.0, 30.0, 12.0),
            (6.0, 60.0, 47.0),
        ];
        for (mm2, amperes, rise) in table {
            let mine = along(mm2, amperes, 0.0, 1.0, 20_000.0)[0];
            assert!((mine - rise).abs() < 0.12 * rise + 0.5, "{mm2} {amperes}: {mine}");
        }
    }

    /// Section 3: 2.5 mm² in 3 min; the insulation's share was chosen for it, so this guards the code, not the figure.
    #[test]
    fn time_constant_of_vehicle_3() {
        let share = along(2.5, 20.0, 0.0, 1.0, 180.0)[0] / along(2.5, 20.0, 0.0, 1.0, 20_000.0)[0];
        assert!((share - 0.632).abs() < 0.1, "{share}");
    }
}
