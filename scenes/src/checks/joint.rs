//! Cases of the electrical joint check; the scene is [`crate::joint`].

use crate::case::{Decoy, Gate};
use crate::catalog::Check;
use crate::joint::heat::Cable;
use crate::joint::{Fault, Finish, Params, simulate};
use crate::recording::Recording;
use crate::stage::{Instruments, Stage};

/// Battery terminals and other joints under load.
pub static CHECK: Check = Check {
    key: "joint",
    section: "2.8",
    what: "battery terminals",
    air_c: (0.0, 35.0),
    instruments: Instruments::Any,
    faults: &["bad-joint", "overload"],
    gates: &[Gate::LoadOff, Gate::LoadShort, Gate::BareMetal, Gate::Sun, Gate::Wind, Gate::ColdInstrument],
    decoys: &[Decoy::WarmNeighbor, Decoy::SlidingReflection, Decoy::LabelEdge],
    simulate: scene,
};

fn scene(mut s: Stage) -> Recording {
    let full_current_a = s.between(60.0, 70.0);
    let mut params = Params {
        title: s.title.clone(),
        air_c: s.site.air_c,
        full_current_a,
        current_a: full_current_a * s.between(0.75, 0.9),
        load_time_s: s.between(240.0, 900.0),
        healthy_ohm: s.between(0.06e-3, 0.1e-3),
        conductance_w_per_k: s.between(0.22, 0.28),
        tau_s: s.between(120.0, 300.0),
        ..Params::default()
    };
    if s.has("bad-joint") {
        // Rise in K that the fault adds once steady; at low load the same contact as at an ordinary one.
        let added_k = s.size([(0.05, 0.2), (2.5, 3.2), (9.6, 12.0), (36.0, 45.0)]);
        let loaded_a = if s.gated(Gate::LoadOff) { 0.8 * full_current_a } else { params.current_a };
        let more_ohm = added_k * params.conductance_w_per_k / (loaded_a * loaded_a);
        params.fault = Fault::BadJoint { ohm: params.healthy_ohm + more_ohm };
    } else if s.has("overload") {
        // Rise of the cable in K at full current, as far as it has come. 20 is worth watching and 35 an overload
        // (vehicle.md
        // section 7); where the picture ends, a third may be missing, for the clamp cools the cable.
        let rise_k = s.size([(2.0, 5.0), (39.0, 46.0), (58.0, 68.0), (80.0, 100.0)]);
        params.fault = Fault::Overload { mm2: Cable::that_rises(rise_k, full_current_a, params.load_time_s).mm2 };
    }
    if s.gated(Gate::LoadOff) {
        params.current_a = full_current_a * s.between(0.0, 0.35);
    }
    if s.gated(Gate::LoadShort) {
        params.load_time_s = s.between(15.0, 100.0);
    }
    if s.gated(Gate::BareMetal) {
        params.finish = Finish::BareMetal;
    }
    // Beside the first joint; the twin is at 0.7 of the height.
    let (width, height) = (s.sensor.width as f64, s.sensor.height as f64);
    s.bait(None, (0.17 * width, 0.3 * height), 0.06 * width);
    s.weather(None);
    params.nuisance = s.nuisance;
    simulate(&params, &s.sensor, s.seed)
}
