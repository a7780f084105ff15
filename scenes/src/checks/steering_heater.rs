//! Steering wheel heater: the rim before switching on and some minutes after.
//!
//! The rim is a ring of sectors (vehicle.md section 4, "Wheel"): heat along it, loss at h 10–12 W/(m² K).

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::heat::Network;
use crate::material::{LEATHER, PLASTIC};
use crate::picture::{Fill, Look, Outline, Painting};
use crate::place::{Role, View};
use crate::recording::Recording;
use crate::render::times;
use crate::stage::{Instruments, Outcome, Stage};

/// Steering wheel heater.
pub static CHECK: Check = Check {
    key: "steering-heater",
    section: "2.6",
    what: "steering wheel heater",
    air_c: (5.0, 25.0),
    instruments: Instruments::Any,
    faults: &["open-arc", "no-heat", "hot-arc"],
    gates: &[Gate::LoadOff, Gate::LoadShort, Gate::Sun, Gate::SmallTarget, Gate::ShutterStep, Gate::ColdInstrument],
    decoys: &[Decoy::BodyPrint, Decoy::Tolerance, Decoy::SlidingReflection],
    simulate: scene,
};

/// Sectors of the rim.
const SECTORS: usize = 48;
/// Radius of the rim and half its thickness in mm (proposal; 380 mm over all).
const RIM_MM: f64 = 175.0;
const HALF_MM: f64 = 15.0;
/// Heat capacity of the heated skin in J/(m² K) (derived: 2–5 min at 11 W/(m² K), vehicle.md section 3).
const SKIN_J_PER_M2_K: f64 = 2_200.0;
/// Area of the whole rim in m²: 2πR · 2πr.
const AREA_M2: f64 = 39.478_417_604_357_43 * RIM_MM * HALF_MM * 1e-6;
/// Conduction around the rim between neighboring sectors in W/K (derived: magnesium core, k 100, 1 cm², 23 mm apart,
/// through its foam: a tenth of that).
const ALONG: f64 = 0.04;
/// No heat below this rise in K, over-temperature above this in °C (vehicle.md section 2.6).
const NO_HEAT_K: f64 = 3.0;
const HOT_C: f64 = 45.0;

/// Rises of the sectors after `seconds` with these watts and a loss of `h` W/(m² K).
fn rim(watts: &[f64], h: f64, seconds: f64) -> Vec<f64> {
    let area = AREA_M2 / SECTORS as f64;
    let mut ring = Network::new(vec![SKIN_J_PER_M2_K * area; SECTORS]);
    for i in 0..SECTORS {
        ring.lose(i, h * area);
        ring.link(i, (i + 1) % SECTORS, ALONG);
    }
    ring.heat_w.copy_from_slice(watts);
    ring.run(seconds, 2.0);
    ring.rise_k
}

fn scene(mut s: Stage) -> Recording {
    let heated_s = if s.gated(Gate::LoadShort) { s.between(15.0, 45.0) } else { s.between(300.0, 420.0) };
    let h = s.between(10.0, 12.0);
    // Up to what the regulator holds: 28–40 °C (vehicle.md section 2.6, R41–R43).
    let wanted_k = (38.0 - s.site.air_c).clamp(9.0, 18.0);
    let mut per_sector = wanted_k * h * AREA_M2 / SECTORS as f64;
    if s.gated(Gate::LoadOff) {
        per_sector = 0.0;
    }
    let mut watts = vec![per_sector; SECTORS];
    if s.decoy(Decoy::Tolerance) {
        // Heated from nine over twelve to three o'clock and a little beyond: the lower part is cold by design.
        watts[15..33].fill(0.0);
    }
    let from = s.draw.index(SECTORS);
    let mut severity = (0.0, "°");
    let sectors = |from: usize, count: usize| (from..from + count).map(|i| i % SECTORS);
    if s.has("open-arc") {
        let degrees = s.size([(3.0, 7.0), (45.0, 60.0), (75.0, 120.0), (150.0, 180.0)]);
        let count = libm::round(degrees / 360.0 * SECTORS as f64) as usize;
        sectors(from, count).for_each(|i| watts[i] = 0.0);
        severity = (count as f64 * 360.0 / SECTORS as f64, "°");
    } else if s.has("no-heat") {
        let left = s.size([(0.9, 1.0), (0.1, 0.15), (0.04, 0.08), (0.0, 0.02)]);
        watts.iter_mut().for_each(|w| *w *= left);
        severity = (1.0 - left, "share of power missing");
    } else if s.has("hot-arc") {
        let target = s.size([(1.0, 2.0), (48.0, 50.0), (52.0, 55.0), (58.0, 64.0)]) - s.site.air_c;
        // A quarter of the rim; its ends cool the middle little.
        sectors(from, SECTORS / 4).for_each(|i| watts[i] *= target / wanted_k * 1.3);
        severity = (target + s.site.air_c, "°C");
    }
    let extent = 2.3 * (RIM_MM + HALF_MM);
    let pose = s.aim((extent, extent), 2.0 * HALF_MM);
    let (leather_e, dark_e) = (LEATHER.draw(&mut s.draw), PLASTIC.draw(&mut s.draw));
    let angle = std::f64::consts::TAU * s.draw.unit();
    let bait = pose.px((RIM_MM * libm::sin(angle), -RIM_MM * libm::cos(angle)));
    s.bait(None, bait, 30.0 / pose.mm_per_px());
    s.weather(Some(View::After));
    let warm = rim(&watts, h, heated_s);
    for (view, from_s) in [(View::Before, 0.0), (View::After, heated_s)] {
        s.shoot(view, &times(from_s, 6, 2.0), 2, |time| {
            let rises = if view == View::Before { vec![0.0; SECTORS] } else { rim(&watts, h, time) };
            let painting = painted(rises, leather_e, dark_e);
            move |x, y| painting.look(pose.mm(x, y))
        });
        // Eight sectors, clockwise from the top.
        for i in 0..8 {
            let (sine, cosine) = libm::sincos(f64::from(i) * std::f64::consts::FRAC_PI_4);
            s.spot(Role::WheelRim, view, LEATHER, &pose, (RIM_MM * sine, -RIM_MM * cosine), 1.4 * HALF_MM);
        }
    }
    let mut sorted = warm.clone();
    sorted.sort_by(f64::total_cmp);
    let (coldest, median, hottest) = (sorted[1], sorted[SECTORS / 2], sorted[SECTORS - 1]);
    for (name, value) in [("coldest_rise_k", coldest), ("median_rise_k", median), ("hottest_rise_k", hottest)] {
        s.note(name, value);
    }
    s.state("load-time", heated_s);
    s.affirm("load-on", !s.gated(Gate::LoadOff));
    let shows = match s.fault() {
        Some("no-heat") => hottest < NO_HEAT_K,
        Some("hot-arc") => hottest + s.site.air_c > HOT_C,
        _ => sorted[SECTORS - 1] - coldest > 0.6 * hottest,
    };
    let turn = (from as f64 + severity.0 / 360.0 * SECTORS as f64 * 0.5) / SECTORS as f64 * std::f64::consts::TAU;
    let at = pose.px((RIM_MM * libm::sin(turn), -RIM_MM * libm::cos(turn)));
    s.finish(Outcome { severity, shows, place: (severity.1 != "share of power missing").then_some((View::After, at)) })
}

fn painted(rises: Vec<f64>, leather_e: f64, dark_e: f64) -> Painting {
    let mut painting = Painting::on(Look { rise_k: 0.0, emissivity: dark_e });
    // Three spokes and the horn pad, not heated.
    for (x, y) in [(-RIM_MM, 0.0), (RIM_MM, 0.0), (0.0, RIM_MM)] {
        painting.paint(Outline::Bar((0.0, 0.0), (x, y), 16.0), Fill::Even(0.3), dark_e);
    }
    painting.paint(Outline::Disc((0.0, 0.0), 55.0), Fill::Even(0.2), dark_e);
    let ring = Outline::Ring((0.0, 0.0), RIM_MM - HALF_MM, RIM_MM + HALF_MM);
    painting.paint(ring, Fill::Turn((0.0, 0.0), rises), leather_e);
    painting
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Section 3: 2–5 min. Section 4 has 30–100 W and 5–18 K in one row; the whole rim at h 11 needs 6–21 W for that, so
    /// those watts are what is installed and the rise is what the regulator lets through, as in these scenes.
    #[test]
    fn rise_and_time_of_vehicle_4() {
        for (watts, rise) in [(6.0, 5.3), (20.5, 18.0), (30.0, 26.3)] {
            let mine = rim(&[watts / SECTORS as f64; SECTORS], 11.0, 5_000.0)[0];
            assert!((mine - rise).abs() < 0.1, "{watts}: {mine}");
        }
        let early = rim(&[1.0; SECTORS], 11.0, 200.0)[0] / rim(&[1.0; SECTORS], 11.0, 9_000.0)[0];
        assert!((early - 0.632).abs() < 0.01, "{early}");
    }
}
