//! Every case of every check: what it is meant to be, it is; what must not be judged is stated; what is in the truth is
//! in the picture.

use std::collections::BTreeSet;

use oddheat_scenes::case::{Case, Gate, SeedSet, Severity};
use oddheat_scenes::catalog::{CHECKS, Check, cases, check, draw};
use oddheat_scenes::place::{Role, Shape, View};
use oddheat_scenes::recording::{Recording, Stated};
use oddheat_scenes::sensor::Sensor;
use oddheat_scenes::stage::Instruments;

/// The smallest instrument that a check is done with: what can be seen with it can be seen with the others.
fn smallest(check: &Check) -> Sensor {
    if check.instruments == Instruments::Fine { Sensor::medium() } else { Sensor::small() }
}

fn number(recording: &Recording, key: &str) -> Option<f64> {
    match recording.conditions.get(key) {
        Some(Stated::Number(value)) => Some(*value),
        _ => None,
    }
}

fn yes(recording: &Recording, key: &str) -> Option<bool> {
    match recording.conditions.get(key) {
        Some(Stated::YesNo(value)) => Some(*value),
        _ => None,
    }
}

/// True if what the operator and the instrument know says that the gate applies.
fn stated(recording: &Recording, gate: Gate) -> bool {
    let below = |key: &str, least: f64| number(recording, key).is_some_and(|value| value < least);
    let above = |key: &str, most: f64| number(recording, key).is_some_and(|value| value > most);
    let denied = |key: &str| yes(recording, key) == Some(false);
    match gate {
        Gate::Sun => denied("shaded"),
        Gate::Wet => denied("dry"),
        Gate::FinishDiffers => denied("same-finish"),
        Gate::Wind => denied("still-air"),
        Gate::ColdInstrument => denied("instrument-warm"),
        Gate::Grazing => denied("straight-on"),
        Gate::BareMetal => denied("matte-surface") || yes(recording, "bare-metal") == Some(true),
        Gate::NoSoak => below("soak-time", 7_200.0) || below("since-inflation", 600.0),
        Gate::TooLate => above("since-stop", 180.0) || above("since-start", 180.0),
        Gate::LoadShort => {
            below("load-time", 180.0)
                || below("drive-time", 600.0)
                || below("run-time", 300.0)
                || below("since-start", 120.0)
                || denied("engine-hot")
                || below("load-time", 1_200.0) && recording.check == "battery"
                || recording.times_s.last().is_some_and(|last| *last < 300.0) && recording.check == "thermostat"
        }
        Gate::LoadOff => {
            let share =
                number(recording, "current").zip(number(recording, "full-current")).map(|(now, full)| now / full);
            denied("load-on")
                || denied("engine-hot")
                || denied("engine-fast-idle")
                || share.is_some_and(|share| share < 0.4)
                || below("current", 1.0)
                // Brakes: the picture shows the rise (section 2.3: 40 K), whichever rotor one takes.
                || ["left_rotor_rise_k", "right_rotor_rise_k"].iter().all(|name| {
                    recording.truth.quantities.get(*name).is_some_and(|rise| *rise < 40.0)
                })
        }
        // From stated distance and sensor; the truth has the width.
        Gate::SmallTarget => ["feature_px", "spot_width_px"]
            .iter()
            .any(|name| recording.truth.quantities.get(*name).is_some_and(|width| *width < 3.0)),
        Gate::ShutterStep => {
            let first = recording.views[0];
            let later = |i: usize| recording.views[i] != first || recording.check == "thermostat";
            (0..recording.frames.len()).any(|i| later(i) && recording.shutter[i])
        }
    }
}

fn inside(recording: &Recording) -> bool {
    let (width, height) = (recording.sensor.width as i32, recording.sensor.height as i32);
    let within = |[x, y]: [i32; 2], reach: i32| x >= reach && y >= reach && x + reach < width && y + reach < height;
    recording.places.iter().all(|place| match place.shape {
        Shape::Ring { center, inner, outer } => within(center, outer) && inner < outer,
        Shape::Spot { at, size } => within(at, size / 2) && size % 2 == 1,
        Shape::Box { from, to } => within(from, 0) && within(to, 0) && from[0] <= to[0] && from[1] <= to[1],
    })
}

/// Draws every case of a check once and looks at it.
fn examine(key: &str) {
    let check = check(key).unwrap();
    let sensor = smallest(check);
    for case in check.cases() {
        let recording = check.draw(case, SeedSet::Tuning.seed(5), Some(&sensor));
        let truth = &recording.truth;
        let label = format!("{key} {case}");
        let judged = !matches!(case, Case::Gated(_) | Case::Unresolvable);
        assert_eq!(truth.resolvable, judged, "{label}: {truth:?}");
        match case {
            Case::Normal | Case::Decoy(_) => assert_eq!(truth.fault, "none", "{label}"),
            Case::Fault { fault, .. } => assert_eq!(truth.fault, fault, "{label}"),
            Case::Sweep { .. } => unreachable!("not among the cases"),
            Case::Unresolvable => assert_eq!(truth.fault, check.faults[0], "{label}"),
            Case::Gated(gate) => {
                assert!(truth.fault == "none" || truth.fault == check.faults[0], "{label}");
                assert!(stated(&recording, gate), "{label}: {:?} {:?}", recording.conditions, truth.quantities);
            }
        }
        assert_eq!(truth.temperature.len(), recording.places.len(), "{label}");
        assert!(inside(&recording), "{label}: {:?}", recording.places);
        assert!(recording.times_s.windows(2).all(|pair| pair[0] < pair[1]), "{label}");
        // Truth stays out of what the operator writes.
        let text = recording.statement().unwrap();
        // "leak" is no secret in the name of a search for leaks.
        let secret = check.faults.iter().filter(|fault| !fault.ends_with("leak"));
        for word in ["fault", "severity", "resolvable", "decoy", "gated", "seed"].iter().chain(secret) {
            assert!(!text.contains(*word), "{label}: {word}");
        }
    }
}

/// Each step of the scale is a worse fault than the one before.
fn grades(key: &str) {
    let check = check(key).unwrap();
    let sensor = smallest(check);
    for fault in check.faults {
        let severities = Severity::ALL.map(|severity| {
            let recording = check.draw(Case::Fault { fault, severity }, SeedSet::Tuning.seed(8), Some(&sensor));
            recording.truth.severity
        });
        let rising = severities[0] < severities[1] && severities[1] < severities[2];
        // Of a flow or a share that is left, less is worse.
        let falling = severities[0] > severities[1] && severities[1] > severities[2];
        // An open zone is open: it has no degree.
        assert!(rising || falling || *fault == "open-zone", "{key} {fault}: {severities:?}");
    }
}

macro_rules! for_each_check {
    ($($name:ident $key:literal),+ $(,)?) => {
        mod every_case_of {
            $(#[test] fn $name() { super::examine($key); })+
        }
        mod grades_of {
            $(#[test] fn $name() { super::grades($key); })+
        }
        const TESTED: &[&str] = &[$($key),+];
    };
}

for_each_check! {
    brake "brake", tire_leak "tire-leak", joint "joint", tread "tread", hub "hub", seat_heater "seat-heater",
    steering_heater "steering-heater", defroster "defroster", battery "battery", charging "charging",
    fuse_box "fuse-box", lead "lead", standby_draw "standby-draw", exhaust_leak "exhaust-leak", ports "ports",
    catalyst "catalyst", belt_drive "belt-drive", radiator "radiator", thermostat "thermostat",
    heater_core "heater-core", air_conditioning "air-conditioning",
}

/// Sections 2.1 to 2.19 of vehicle.md, every key once, and at least half of the sound cases with a decoy.
#[test]
fn the_catalog_covers_vehicle_2() {
    let keys: Vec<&str> = CHECKS.iter().map(|check| check.key).collect();
    assert_eq!(keys, TESTED);
    assert_eq!(keys.iter().collect::<BTreeSet<_>>().len(), keys.len());
    let sections: BTreeSet<String> = CHECKS.iter().map(|check| check.section.to_owned()).collect();
    let wanted: BTreeSet<String> = (1..=19).map(|i| format!("2.{i}")).collect();
    assert_eq!(sections, wanted);
    for check in CHECKS {
        let cases = check.cases();
        let sound = cases.iter().filter(|case| case.is_sound()).count();
        let decoys = cases.iter().filter(|case| matches!(case, Case::Decoy(_))).count();
        assert!(2 * decoys >= sound && !check.gates.is_empty(), "{}", check.key);
        assert_eq!(cases.iter().collect::<std::collections::HashSet<_>>().len(), cases.len(), "{}", check.key);
    }
    assert!(cases("no such check").is_empty());
}

/// Tuning and reporting seeds cannot meet: parity tells them apart, over the whole range of the index.
#[test]
fn seed_sets_are_disjoint() {
    for index in [0, 1, 2, 77, u32::MAX - 1, u32::MAX] {
        assert_eq!(SeedSet::Tuning.seed(index) % 2, 0);
        assert_eq!(SeedSet::Reporting.seed(index) % 2, 1);
    }
    assert_ne!(SeedSet::Tuning.seed(1), SeedSet::Tuning.seed(2));
}

/// Difference of true means under two shapes, in K.
fn difference(recording: &Recording, (a, of_a): (Role, View), (b, of_b): (Role, View)) -> f64 {
    recording.true_c(a, of_a).unwrap() - recording.true_c(b, of_b).unwrap()
}

/// True means under all shapes of a role in a view, sorted.
fn row(recording: &Recording, role: Role, view: View) -> Vec<f64> {
    let of = recording.truth.temperature.iter().filter(|t| t.role == role && t.view == view);
    let mut row: Vec<f64> = of.map(|t| t.mean_c).collect();
    row.sort_by(f64::total_cmp);
    row
}

/// What the placed shapes truly show of a check's first fault, in K (steering wheel: as a share), and a limit that tells
/// it from sound parts: that of vehicle.md section 7 or of the check's own section where its quantity is what the shapes
/// give; for steering-heater, standby-draw, exhaust-leak and ports a proposal of this test.
fn evidence(recording: &Recording) -> Option<(f64, f64)> {
    let single = View::Single;
    let pair = |a: Role, b: Role| difference(recording, (a, single), (b, single));
    let spread = |role: Role, view: View| {
        let row = row(recording, role, view);
        (row[0], row[row.len() / 2], row[row.len() - 1])
    };
    Some(match recording.check {
        "hub" => {
            let hub = difference(recording, (Role::HubCenter, View::Left), (Role::HubCenter, View::Right));
            (hub.abs(), 5.0)
        }
        "tread" => {
            // Of the tire that has more: the fault is on either.
            let bulge = |view| {
                let c = |role| recording.true_c(role, view).unwrap();
                c(Role::TreadCenter) - 0.5 * (c(Role::TreadInner) + c(Role::TreadOuter))
            };
            (bulge(View::Left).max(bulge(View::Right)), 3.0)
        }
        "steering-heater" => {
            let (coldest, median, _) = spread(Role::WheelRim, View::After);
            ((median - coldest) / (median - recording.true_c(Role::WheelRim, View::Before).unwrap()), 0.6)
        }
        "battery" => {
            let cells: Vec<f64> =
                recording.truth.temperature.iter().filter(|t| t.role == Role::Cell).map(|t| t.mean_c).collect();
            ((0..3).map(|i| (cells[i] - cells[5 - i]).abs()).fold(0.0, f64::max), 2.0)
        }
        "charging" => (pair(Role::Stud, Role::CableFar), 10.0),
        "fuse-box" => {
            let (_, median, hottest) = spread(Role::Fuse, single);
            (hottest - median, 5.0)
        }
        "lead" => (pair(Role::Splice, Role::LeadTwin), 4.0),
        "standby-draw" => (difference(recording, (Role::Module, View::After), (Role::Surround, View::After)), 0.45),
        // A mean over a box is less than the 25 K of its hottest point.
        "exhaust-leak" => (pair(Role::Flange, Role::FlangeTwin), 8.0),
        "ports" => {
            let (coldest, median, _) = spread(Role::Port, single);
            (median - coldest, 30.0)
        }
        "catalyst" => (pair(Role::CatOutlet, Role::CatInlet), 110.0),
        "belt-drive" => (pair(Role::PulleyHub, Role::PulleyTwin), 8.0),
        "heater-core" => (pair(Role::HeaterInlet, Role::HeaterOutlet), 20.0),
        "air-conditioning" => {
            let air_c = number(recording, "air-temperature").unwrap();
            let vents = 0.5
                * (recording.true_c(Role::VentLeft, single).unwrap()
                    + recording.true_c(Role::VentRight, single).unwrap());
            // Missing drop against that of a sound system at this humidity.
            (14.0 - 0.3 * (number(recording, "humidity").unwrap() - 55.0) - (air_c - vents), 4.0)
        }
        _ => return None,
    })
}

/// The rendered surface under the operator's shapes has the first fault, and sound vehicles do not.
#[test]
fn pictures_hold_what_the_truth_says() {
    let mut tried = 0;
    for check in CHECKS {
        let sensor = smallest(check);
        let clear = Case::Fault { fault: check.faults[0], severity: Severity::Clear };
        for (case, found) in [(Case::Normal, false), (clear, true), (Case::Unresolvable, false)] {
            let recording = check.draw(case, SeedSet::Tuning.seed(11), Some(&sensor));
            if let Some((value, limit)) = evidence(&recording) {
                assert_eq!(value > limit, found, "{} {case}: {value} against {limit}", check.key);
                tried += 1;
            }
        }
    }
    assert_eq!(tried, 14 * 3);
}

const GOLDEN: u64 = 0x882d_5bcc_9138_7316;

/// One clear fault of every check, FNV-1a over all counts. The same in debug and release and on every machine; a changed
/// value makes earlier recordings incomparable, so it is changed only on purpose.
#[test]
fn the_same_seed_gives_the_same_bytes_everywhere() {
    let mut sum = 0xcbf2_9ce4_8422_2325_u64;
    for check in CHECKS {
        let case = Case::Fault { fault: check.faults[0], severity: Severity::Clear };
        let recording = check.draw(case, SeedSet::Reporting.seed(3), Some(&Sensor::small()));
        for counts in recording.frames.iter().flatten() {
            for byte in counts.to_le_bytes() {
                sum = (sum ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }
    assert_eq!(sum, GOLDEN, "{sum:#018x}");
}

/// Cases and seeds give other scenes; the drawn instrument is part of the scene.
#[test]
fn seeds_and_cases_matter() {
    let one = draw("heater-core", Case::Normal, 2);
    assert_eq!(one.frames, draw("heater-core", Case::Normal, 2).frames);
    assert_ne!(one.frames, draw("heater-core", Case::Normal, 4).frames);
    assert_ne!(one.frames, draw("heater-core", Case::Unresolvable, 2).frames);
}

#[test]
#[should_panic(expected = "no case")]
fn a_case_that_a_check_does_not_have_is_refused() {
    let _ = draw("brake", Case::Gated(Gate::NoSoak), 2);
}

/// KEYS.md names every check with the views, roles and conditions that its recordings have.
#[test]
fn keys_md_names_every_key() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/KEYS.md")).unwrap();
    let common = ["air-temperature", "shaded", "still-air", "instrument-warm", "dry", "distance"];
    for check in CHECKS {
        let start = format!("| `{}` ({})", check.key, check.section);
        let line = page.lines().find(|line| line.starts_with(&start)).unwrap_or_else(|| panic!("no row {start}"));
        let recording = check.draw(Case::Normal, SeedSet::Tuning.seed(1), Some(&smallest(check)));
        let text = recording.statement().unwrap().parse::<toml_edit::DocumentMut>().unwrap();
        let mut keys: BTreeSet<String> =
            recording.conditions.keys().filter(|key| !common.contains(*key)).map(|key| (*key).to_owned()).collect();
        for place in text["place"].as_array_of_tables().unwrap() {
            keys.extend(["role", "view"].map(|key| place[key].as_str().unwrap().to_owned()));
        }
        for key in keys {
            assert!(line.contains(&format!("`{key}`")), "{}: {key}", check.key);
        }
    }
}
