//! A morning in an invented depot that maintains municipal minibuses: the demonstration.
//!
//! Twelve recordings with mixed instruments: faults, sound parts, one that the conditions do not allow to judge, and one
//! leak too slow to be seen.

use crate::brake::{self, Side};
use crate::case::{Case, Severity};
use crate::catalog::Check;
use crate::checks::{hub, tread};
use crate::draw::Draw;
use crate::joint;
use crate::recording::Recording;
use crate::sensor::Sensor;
use crate::tire_leak::{self, Decoy, Target};

/// What is examined; one variant per kind of scene.
enum Job {
    Brake(brake::Params),
    TireLeak(tire_leak::Params),
    Joint(joint::Params),
    /// As the catalog draws it, in air of its own: these vehicles came in from the road.
    Drawn(&'static Check, Case),
}

/// The recordings of one morning, in the order in which they were taken. Air warms from one to the next.
///
/// Costs about half a second in release. The same seed gives the same bytes; the faults are the same for every seed,
/// their surroundings and everything random are not.
#[must_use]
pub fn morning(seed: u64) -> Vec<Recording> {
    let mut draw = Draw::new(seed, "morning");
    let first_air_c = draw.uniform(14.0, 19.0);
    jobs()
        .into_iter()
        .enumerate()
        .map(|(i, (job, sensor))| {
            // An hour or two of work warms the bay by some kelvin; read to a tenth, as a thermometer would be.
            let air_c = libm::round((first_air_c + 0.3 * i as f64) * 10.0) / 10.0;
            let seed = seed.wrapping_mul(1_000).wrapping_add(i as u64);
            match job {
                Job::Brake(params) => brake::simulate(&brake::Params { air_c, ..params }, &sensor, seed),
                Job::TireLeak(params) => tire_leak::simulate(&tire_leak::Params { air_c, ..params }, &sensor, seed),
                Job::Joint(params) => joint::simulate(&joint::Params { air_c, ..params }, &sensor, seed),
                Job::Drawn(check, case) => check.draw(case, seed, Some(&sensor)),
            }
        })
        .collect()
}

fn jobs() -> Vec<(Job, Sensor)> {
    let mut jobs = soaked_tires();
    jobs.extend(brakes());
    jobs.extend(joints());
    let fault = |fault, severity| Case::Fault { fault, severity };
    jobs.push((Job::Drawn(&tread::CHECK, fault("overinflated", Severity::Clear)), Sensor::medium()));
    // Worse than clear: with a shutter step between the sides a clear one may be left undecided.
    jobs.push((Job::Drawn(&hub::CHECK, fault("bad-bearing", Severity::Grave)), Sensor::medium()));
    jobs
}

/// Tires come first: they have stood overnight.
fn soaked_tires() -> Vec<(Job, Sensor)> {
    let night = tire_leak::Params { soak_s: 36_000.0, ..tire_leak::Params::default() };
    let job = |params, sensor| (Job::TireLeak(params), sensor);
    vec![
        job(
            tire_leak::Params {
                title: "Minibus 3, left rear tire, tread".to_owned(),
                hole_mm: Some(0.09),
                spot_mm: 5.0,
                decoys: vec![Decoy::Water],
                released: true,
                ..night.clone()
            },
            Sensor::large(),
        ),
        job(
            tire_leak::Params {
                title: "Minibus 8, right front tire, tread".to_owned(),
                decoys: vec![Decoy::Nail],
                released: true,
                ..night.clone()
            },
            Sensor::medium(),
        ),
        // About 10 kPa a day: flat within a month, and nothing to see.
        job(
            tire_leak::Params {
                title: "Minibus 14, left front tire, bead".to_owned(),
                target: Target::Bead,
                distance_m: 1.25,
                spot_mm: 6.0,
                hole_mm: Some(0.0115),
                path_factor: 0.2,
                plume: false,
                ..night
            },
            Sensor::large(),
        ),
    ]
}

fn brakes() -> Vec<(Job, Sensor)> {
    let duty = brake::Params::default();
    let job = |params, sensor| (Job::Brake(params), sensor);
    vec![
        job(
            brake::Params {
                title: "Minibus 7, front axle, drag drive".to_owned(),
                fault: brake::Fault::Dragging { side: Side::Left, torque_nm: 20.0 },
                unused_s: 420.0,
                ..duty.clone()
            },
            Sensor::medium(),
        ),
        job(
            brake::Params {
                title: "Minibus 11, front axle, braking duty".to_owned(),
                fault: brake::Fault::NotApplying { side: Side::Right, missing: 0.95 },
                walk_s: 41.0,
                ..duty.clone()
            },
            Sensor::small(),
        ),
        job(
            brake::Params {
                title: "Minibus 3, front axle, braking duty".to_owned(),
                since_stop_s: 40.0,
                ..duty.clone()
            },
            Sensor::medium(),
        ),
        // Two stops do not warm heavy rotors enough for a comparison.
        job(
            brake::Params {
                title: "Minibus 5, front axle, after two stops".to_owned(),
                stops: 2,
                rotor_kg: 10.0,
                since_stop_s: 60.0,
                ..duty
            },
            Sensor::medium(),
        ),
    ]
}

fn joints() -> Vec<(Job, Sensor)> {
    let lamps = joint::Params::default();
    let job = |params, sensor| (Job::Joint(params), sensor);
    vec![
        job(
            joint::Params {
                title: "Minibus 9, battery terminals".to_owned(),
                fault: joint::Fault::BadJoint { ohm: 2.5e-3 },
                ..lamps.clone()
            },
            Sensor::medium(),
        ),
        job(
            joint::Params { title: "Minibus 11, battery terminals".to_owned(), load_time_s: 420.0, ..lamps.clone() },
            Sensor::large(),
        ),
        // The same kind of fault as on minibus 9, at a third of the load: not to be judged.
        job(
            joint::Params {
                title: "Minibus 14, battery terminals at low load".to_owned(),
                fault: joint::Fault::BadJoint { ohm: 2.5e-3 },
                current_a: 18.0,
                ..lamps
            },
            Sensor::small(),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn the_morning_holds_what_it_promises() {
        let recordings = morning(1);
        let count = |fault: &str, resolvable: bool| {
            recordings.iter().filter(|r| r.truth.fault == fault && r.truth.resolvable == resolvable).count()
        };
        assert_eq!(recordings.len(), 12);
        assert_eq!((count("overinflated", true), count("bad-bearing", true)), (1, 1));
        assert_eq!(count("dragging-brake", true), 1);
        assert_eq!(count("brake-not-applying", true), 1);
        assert_eq!((count("leak", true), count("leak", false)), (1, 1));
        assert_eq!((count("bad-joint", true), count("bad-joint", false)), (1, 1));
        assert_eq!((count("none", true), count("none", false)), (3, 1));
        let slugs: BTreeSet<String> = recordings.iter().map(Recording::slug).collect();
        assert_eq!(slugs.len(), recordings.len());
        let sensors: BTreeSet<&str> = recordings.iter().map(|r| r.sensor.name).collect();
        assert_eq!(sensors.len(), 3);
    }
}
