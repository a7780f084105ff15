//! The sensor repaired before anything else sees the frames: one stuck pixel amid a spot must not make a sound joint
//! look faulty, whether it is listed, found in uniform runs, or found by watching.

use oddheat_core::checks::Condition;
use oddheat_desk::examine::{examine, to_json};
use oddheat_desk::recording::{Housing, Recording, RecordingError};
use oddheat_scenes::calibration;
use oddheat_scenes::joint::{Params, simulate};
use oddheat_scenes::recording::Recording as Simulated;
use oddheat_scenes::sensor::Sensor;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

/// A count in the middle of the range: neither dead nor saturated, well above the joint.
const STUCK: u16 = 10_000;

/// A sensor without bad pixels of its own; the only one is ours.
fn sensor() -> Sensor {
    Sensor { bad_share: 0.0, ..Sensor::medium() }
}

/// A sound joint, seen in so many frames.
fn sound(sensor: &Sensor, frames: usize) -> Simulated {
    simulate(&Params { frames, ..Params::default() }, sensor, 5)
}

/// The middle of the joint's spot as the recording places it.
fn middle_of_joint(simulated: &Simulated) -> [usize; 2] {
    let folder = tempfile::tempdir().unwrap();
    simulated.write(folder.path()).unwrap();
    let recording = Recording::open(folder.path()).unwrap();
    let joint = recording.places.iter().find(|place| place.role.key() == "joint").unwrap();
    let (x0, y0, x1, y1) = joint.shape.bounds();
    [(x0 + x1) / 2, (y0 + y1) / 2].map(|middle| usize::try_from(middle).unwrap())
}

/// Sticks the pixel in every frame.
fn stick(simulated: &mut Simulated, [x, y]: [usize; 2]) {
    let width = simulated.sensor.width;
    simulated.frames.iter_mut().for_each(|frame| frame[y * width + x] = STUCK);
}

/// Writes a recording without the list of bad pixels that came with its sensor, and appends to its description.
fn written(simulated: &Simulated, more: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    simulated.write(folder.path()).unwrap();
    let of_list = |line: &str| line == "[sensor.repair]" || line.starts_with("bad_pixels = ");
    describe(folder.path(), |text| {
        let bare: String = text.lines().filter(|line| !of_list(line)).map(|line| format!("{line}\n")).collect();
        format!("{bare}\n{more}\n")
    });
    folder
}

fn describe(folder: &Path, change: impl Fn(&str) -> String) {
    let file = folder.join("recording.toml");
    fs::write(&file, change(&fs::read_to_string(&file).unwrap())).unwrap();
}

fn examined(folder: &Path) -> Value {
    let recording = Recording::open(folder).unwrap_or_else(|error| panic!("{:?}", miette::Report::new(error)));
    to_json(&recording, &examine(&recording).unwrap())
}

fn grade(examined: &Value) -> &str {
    examined["finding"]["grade"].as_str().unwrap()
}

#[test]
fn listed_pixel_no_longer_makes_a_sound_joint_probable() {
    let mut simulated = sound(&sensor(), 16);
    let clean = examined(written(&simulated, "").path());
    assert_eq!((grade(&clean), &clean["sensor"]), ("none", &Value::Null));
    let at = middle_of_joint(&simulated);
    stick(&mut simulated, at);
    let spoiled = examined(written(&simulated, "").path());
    assert_eq!(grade(&spoiled), "probable", "the test must have something to repair: {spoiled}");

    let repaired = examined(written(&simulated, &format!("[sensor.repair]\nbad_pixels = [{at:?}]")).path());
    assert_eq!(grade(&repaired), "none");
    assert_eq!(repaired["sensor"]["bad_pixels"], json!([{ "x": at[0], "y": at[1], "kind": "listed" }]));
    // Replaced by a neighbor's count, the spot reads what it read without the fault, to a tenth of the noise of a pixel.
    let joint = |examined: &Value| examined["readings"][0]["temperature_c"].as_f64().unwrap();
    assert!((joint(&repaired) - joint(&clean)).abs() < 0.006, "{} {}", joint(&repaired), joint(&clean));

    let folder = written(&simulated, "[sensor.repair]\nbad_pixels = \"bad.csv\"");
    fs::write(folder.path().join("bad.csv"), format!("# from the maker\nx, y\n{}, {}\n", at[0], at[1])).unwrap();
    assert_eq!(examined(folder.path())["finding"], repaired["finding"]);
}

#[test]
fn watch_finds_the_pixel_and_spoils_no_frame() {
    let mut simulated = sound(&sensor(), 40);
    let at = middle_of_joint(&simulated);
    stick(&mut simulated, at);
    let watched = examined(written(&simulated, "[sensor.repair.watch]").path());
    assert_eq!(watched["sensor"]["bad_pixels"], json!([{ "x": at[0], "y": at[1], "kind": "stuck" }]));
    assert_eq!((&watched["sensor"]["found_by_watch"], grade(&watched)), (&json!(1), "none"));
    // The same numbers as with the pixel listed: it was replaced from the first frame on.
    let listed = examined(written(&simulated, &format!("[sensor.repair]\nbad_pixels = [{at:?}]")).path());
    assert_eq!((&watched["finding"], &watched["readings"]), (&listed["finding"], &listed["readings"]));

    let short = sound(&sensor(), 16);
    let short = examined(written(&short, "[sensor.repair.watch]").path());
    assert_eq!(short["sensor"]["views_too_short_to_watch"], json!(["single"]));
}

/// A bare sensor: gains that scatter by 3 %, column offsets of 0.4 K, and the stuck pixel. Uniform runs mend all of it.
#[test]
fn uniform_runs_correct_a_bare_sensor_and_find_the_pixel() {
    let serial = 7;
    let mut joint = sound(&calibration::bare(&sensor(), serial), 16);
    let at = middle_of_joint(&joint);
    let [mut low, mut high, soak] = calibration::runs(&sensor(), serial);
    [&mut joint, &mut low, &mut high].into_iter().for_each(|simulated| stick(simulated, at));
    let repair = "[sensor.repair]\nuniform = { low = \"low.npy\", high = \"high.npy\", difference_k = 25.0 }\n";
    let add_runs = |folder: &Path| {
        for (name, run) in [("low.npy", &low), ("high.npy", &high), ("soak.npy", &soak)] {
            let written = written(run, "");
            fs::copy(written.path().join("frames.npy"), folder.join(name)).unwrap();
        }
    };
    let folder = written(&joint, repair);
    add_runs(folder.path());
    let corrected = examined(folder.path());
    let sensor = &corrected["sensor"];
    assert_eq!((grade(&corrected), &sensor["correction"]), ("none", &json!("two-point")), "{corrected}");
    assert_eq!(sensor["bad_pixels"], json!([{ "x": at[0], "y": at[1], "kind": "stuck" }]));
    // 60 mK at 30 °C; the colder run is at 20 °C, where the same radiance is more kelvin.
    let netd = sensor["netd_k"].as_f64().unwrap();
    assert!((0.055..0.075).contains(&netd), "{netd}");

    // One run alone: the pattern of the offsets goes, and the stuck pixel is not found by it.
    let folder = written(&joint, &format!("[sensor.repair]\nflat = \"low.npy\"\nbad_pixels = [{at:?}]"));
    add_runs(folder.path());
    let flat = examined(folder.path());
    assert_eq!(flat["sensor"]["correction"], json!("offsets"));
    assert_eq!(grade(&flat), "none");

    // Both: the gains of the uniform runs, the offsets of another.
    let both = "[sensor.repair]\nflat = \"soak.npy\"\nuniform = { low = \"low.npy\", high = \"high.npy\" }";
    let folder = written(&joint, both);
    add_runs(folder.path());
    assert_eq!(examined(folder.path())["sensor"]["correction"], json!("two-point-and-offsets"));
}

/// The soak of a bare instrument gives the drift; taken off, a soak of the same instrument stands still.
#[test]
fn soak_run_takes_the_drift_off() {
    let [.., soak] = calibration::runs(&Sensor { bad_share: 0.0, ..Sensor::small() }, 3);
    let mean = |frame: &[u16]| frame.iter().map(|&c| f64::from(c)).sum::<f64>() / frame.len() as f64;
    let mut points = String::from("housing_c, counts\n");
    for (frame, housing) in soak.frames.iter().zip(&soak.housing_c) {
        points += &format!("{housing}, {}\n", mean(frame));
    }
    let reference = soak.housing_c[0];
    let repair = format!("[sensor.repair]\ndrift = {{ soak = \"soak.csv\", order = 2, reference_c = {reference} }}\n");
    let more = format!("{repair}warm_up = {{ limit_k_per_minute = 0.05 }}");
    let folder = written(&soak, &more);
    // Its check has a key that no check of the bench has, and its one place a role.
    describe(folder.path(), |text| {
        let without: Vec<&str> = text.lines().filter(|line| !line.starts_with("check = ")).collect();
        let without = without.join("\n");
        let (before, place) = without.split_once("[[place]]").unwrap();
        let before = before.replace("reference-temperature", "# reference-temperature");
        format!("{before}{}", &place[place.find("[sensor.repair]").unwrap()..])
    });
    fs::write(folder.path().join("soak.csv"), &points).unwrap();
    let recording = Recording::open(folder.path()).unwrap_or_else(|error| panic!("{:?}", miette::Report::new(error)));
    let raw_span = mean(soak.frames.last().unwrap()) - mean(&soak.frames[0]);
    let left = mean(&recording.frames.last().unwrap().counts) - mean(&recording.frames[0].counts);
    assert!(raw_span.abs() > 20.0 && left.abs() < 1.0, "{raw_span} {left}");
    let repair = recording.repair.as_ref().unwrap();
    // Housing temperatures are written to a hundredth, so an end of the soak may lie a trifle outside.
    assert!(repair.frames_with(|flags| flags.drift_unknown).len() <= 2);
    // It was stated to be warm, and was not.
    assert_eq!(repair.housing, Housing::Changing);
    assert!(recording.conditions.contains(&(Condition::InstrumentWarm, 1.0)));
}

/// Two minutes of a joint while the housing warms by 6 K: whoever stated a warm instrument is not believed.
#[test]
fn changing_housing_stops_a_statement_of_a_warm_instrument() {
    let mut simulated = sound(&sensor(), 16);
    for (i, (time, housing)) in simulated.times_s.iter_mut().zip(&mut simulated.housing_c).enumerate() {
        (*time, *housing) = (i as f64 * 8.0, 25.0 + 0.4 * i as f64);
    }
    let gates = |more: &str| examined(written(&simulated, more).path())["finding"]["gates"].to_string();
    let (believed, contradicted) = (gates("[sensor.repair]"), gates("[sensor.repair]\nwarm_up = {}"));
    assert!(!believed.contains("instrument-warm") && contradicted.contains("instrument-warm"), "{contradicted}");
    let lenient = gates("[sensor.repair]\nwarm_up = { limit_k_per_minute = 5.0 }");
    assert!(!lenient.contains("instrument-warm"), "{lenient}");
}

/// A soak run from 20 to 30 °C says nothing of a housing at 31 °C: not of a temperature, and no instrument is called warm.
#[test]
fn drift_beyond_the_soak_run_leaves_nothing_absolute() {
    let mut simulated = sound(&sensor(), 16);
    simulated.housing_c.fill(25.0);
    let repair = "[sensor.repair]\ndrift = { soak = \"soak.csv\", order = 1, reference_c = 25.0 }";
    let examined = |simulated: &Simulated| {
        let folder = written(simulated, repair);
        let points = (20..=30).map(|celsius| format!("{celsius}.0, {}.0\n", 9_000 + 12 * celsius));
        fs::write(folder.path().join("soak.csv"), format!("housing_c, counts\n{}", points.collect::<String>()))
            .unwrap();
        examined(folder.path())
    };
    let covered = examined(&simulated);
    assert!(
        covered["readings"][0]["temperature_c"].is_number() && covered["readings"][0]["drift_unknown"] == json!(false)
    );
    assert!(!covered["finding"]["gates"].to_string().contains("instrument-warm"), "{covered}");
    assert_eq!(covered["sensor"]["frames_drift_unknown"], json!([]));

    simulated.housing_c[3] = 31.0;
    let beyond = examined(&simulated);
    assert_eq!(beyond["sensor"]["frames_drift_unknown"], json!([3]));
    for reading in beyond["readings"].as_array().unwrap() {
        assert_eq!((&reading["temperature_c"], &reading["drift_unknown"]), (&Value::Null, &json!(true)));
    }
    let gates = beyond["finding"]["gates"].to_string();
    assert!(gates.contains("instrument-cold") && gates.contains("instrument-warm"), "{gates}");
}

#[test]
fn command_says_what_was_repaired() {
    let mut simulated = sound(&sensor(), 16);
    let at = middle_of_joint(&simulated);
    stick(&mut simulated, at);
    let more = format!("[sensor.repair]\nbad_pixels = [{at:?}]\nsmoothing_shift = 2\nstep_counts = 20\nwarm_up = {{}}");
    let folder = written(&simulated, &more);
    let out = folder.path().join("out");
    let output = Command::new(env!("CARGO_BIN_EXE_oddheat"))
        .args(["examine", folder.path().to_str().unwrap(), "--out", out.to_str().unwrap()])
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let report = fs::read_to_string(out.join("report.html")).unwrap();
    for part in [
        format!("1 bad pixels replaced: listed at {}, {}", at[0], at[1]),
        "too short to tell whether the housing was steady".to_owned(),
    ] {
        assert!(text.contains(&part) && report.contains(&part), "{part} not in\n{text}");
    }
    assert!(report.contains("expanded, k = 2"));
}

#[test]
fn what_cannot_be_repaired_is_refused_at_its_key() {
    let simulated = sound(&sensor(), 2);
    for (more, wanted) in [
        ("bad_pixels = [[160, 0]]", "`sensor.repair.bad_pixels`: expected pixels inside 160 × 120, found [160, 0]"),
        ("bad_pixels = \"none.csv\"", "found \"none.csv\", which is no file"),
        ("bad_pixels = 3", "a list of [x, y] pairs or the name of a CSV file"),
        ("flat = \"frames.npy\"\nsmoothing_shift = 40", "a repair that the library can make"),
        ("uniform = { low = \"frames.npy\", high = \"frames.npy\" }", "too few whole frames"),
        ("uniform = { low = \"frames.npy\", high = \"frames.npy\", find = false }", "must be brighter"),
        (
            "drift = { soak = \"frames.npy\", order = 3, reference_c = 30 }",
            "`sensor.repair.drift.order`: expected 1 or 2",
        ),
        ("drift = { soak = \"frames.npy\", reference_c = 30 }", "the columns housing_c, counts"),
        ("watch = { frames = 2 }", "outside its documented range"),
        ("column_noise = {}", "limit"),
        ("colum_noise = {}", "colum_noise"),
    ] {
        let folder = written(&simulated, &format!("[sensor.repair]\n{more}"));
        let error: RecordingError = Recording::open(folder.path()).unwrap_err();
        assert!(error.to_string().contains(wanted), "{more}: {error}");
    }
}
