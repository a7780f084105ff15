//! Cases of the tire leak check; the scene is [`crate::tire_leak`].

use crate::case::{Case, Decoy, Gate, Severity};
use crate::catalog::Check;
use crate::recording::Recording;
use crate::stage::{Instruments, Stage};
use crate::tire_leak::{self, Params, Rim, Target, simulate};

/// Cold jet spot of a leaking tire.
pub static CHECK: Check = Check {
    key: "tire-leak",
    section: "2.1",
    what: "tire leak search",
    air_c: (2.0, 30.0),
    instruments: Instruments::Any,
    faults: &["leak", "warm-leak"],
    gates: &[Gate::NoSoak, Gate::BareMetal, Gate::SmallTarget, Gate::Wet, Gate::Sun, Gate::Wind, Gate::ColdInstrument],
    decoys: &[Decoy::Water, Decoy::Nail, Decoy::SlidingReflection, Decoy::BodyPrint],
    simulate: scene,
};

fn scene(mut s: Stage) -> Recording {
    // A bead ring has to be seen whole; only the large sensor then resolves a spot on it.
    let targets: &[Target] = if s.sensor.width >= 256 && !s.gated(Gate::BareMetal) {
        &[Target::Tread, Target::Valve, Target::Bead]
    } else {
        &[Target::Tread, Target::Valve]
    };
    let target = targets[s.draw.index(targets.len())];
    let near_m = match target {
        Target::Bead => 1.2,
        Target::Tread => s.between(0.3, 0.38),
        // A valve is small, so one goes nearer.
        Target::Valve => s.between(0.22, 0.3),
    };
    let mut params = Params {
        title: s.title.clone(),
        air_c: s.site.air_c,
        target,
        path_factor: s.between(0.8, 1.0),
        pressure_kpa: s.between(200.0, 380.0),
        volume_l: s.between(30.0, 55.0),
        spot_mm: s.between(6.0, 8.0),
        plume: s.draw.chance(0.6),
        onset_s: s.between(10.0, 60.0),
        soak_s: s.between(9_000.0, 40_000.0),
        since_inflation_s: s.between(900.0, 3_000.0),
        distance_m: near_m,
        released: s.draw.chance(0.5),
        notes_filling: s.draw.chance(0.5),
        ..Params::default()
    };
    if s.has("warm-leak") || s.case.is_sound() && s.draw.chance(0.2) {
        // Filled from a warm compressor a moment ago, and said so.
        params.since_inflation_s = s.between(60.0, 150.0);
        params.compressed_k = s.between(20.0, 40.0);
        params.states_warm_air = true;
        params.open_for_s = s.between(90.0, 180.0);
    }
    if s.fault().is_some() {
        // Diameter in mm; the smallest lose 2 to 10 kPa a day, and 7 make at best a spot of 0.17 K (vehicle.md section
        // 2.1).
        params.hole_mm = Some(s.size([(0.004, 0.009), (0.035, 0.045), (0.07, 0.12), (0.2, 0.4)]));
    }
    if let Case::Fault { severity: Severity::Clear | Severity::Grave, .. } = s.case {
        // Whoever sees a clear spot lets the pressure out, as the brief says.
        params.released = true;
    }
    match () {
        () if s.gated(Gate::NoSoak) => {
            params.soak_s = s.between(600.0, 3_600.0);
            params.since_inflation_s = s.between(60.0, 300.0);
        }
        () if s.gated(Gate::BareMetal) => (params.target, params.rim) = (Target::Valve, Rim::Bare),
        () if s.gated(Gate::SmallTarget) => {
            // Three pixels would be wider than the spot is at half depth.
            let far = params.spot_mm * 1.35 / (s.sensor.ifov_mrad * s.between(1.2, 2.6));
            params.distance_m = far.max(1.2);
        }
        () if s.decoy(Decoy::Water) => params.decoys = vec![tire_leak::Decoy::Water],
        () if s.decoy(Decoy::Nail) => params.decoys = vec![tire_leak::Decoy::Nail],
        () => {
            let (width, height) = (s.sensor.width as f64, s.sensor.height as f64);
            s.bait(None, (0.5 * width, 0.5 * height), 0.1 * height);
        }
    }
    s.weather(None);
    if s.gated(Gate::Wind) {
        // A spot of millimeters loses its cold into the rubber, hardly to the air: a film of 20 instead of 10 W/(m² K) on
        // a disc of 7 mm takes a tenth (derived: 4ka of vehicle.md section 2.1 against the film's area).
        s.nuisance.wind_leaves(0.9);
    }
    params.nuisance = s.nuisance;
    simulate(&params, &s.sensor, s.seed)
}
