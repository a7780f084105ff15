//! The command line: what it refuses, and that a refusal leaves nothing behind.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn oddheat(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_oddheat")).args(arguments).output().unwrap()
}

/// A sound recording of the electrical joint, 12 × 8 pixels, two frames.
const SOUND: &str = r#"
title = "Minibus 2, starter cable"
check = "joint"
[frames]
file = ["a.pgm", "b.pgm"]
times_s = [0.0, 1.0]
[scale.linear]
counts_per_kelvin = 100.0
zero_c = -100.0
[conditions]
air-temperature = 20.0
current = 60.0
full-current = 60.0
load-time = 240.0
matte-surface = true
shaded = true
still-air = true
instrument-warm = true
[[place]]
role = "joint"
spot = { at = [3, 3], size = 3 }
[[place]]
role = "twin"
spot = { at = [8, 3], size = 3 }
"#;

/// Writes a recording whose joint is `kelvin` warmer than its twin at 25 °C.
fn write(folder: &Path, description: &str, kelvin: u16) {
    fs::create_dir_all(folder).unwrap();
    let mut pixels = Vec::new();
    for y in 0..8u16 {
        for x in 0..12u16 {
            let joint = x.abs_diff(3) <= 1 && y.abs_diff(3) <= 1;
            let count: u16 = if joint { 12_500 + 100 * kelvin } else { 12_500 };
            pixels.extend(count.to_be_bytes());
        }
    }
    for name in ["a.pgm", "b.pgm"] {
        fs::write(folder.join(name), [b"P5\n12 8\n65535\n".as_slice(), &pixels].concat()).unwrap();
    }
    fs::write(folder.join("recording.toml"), description).unwrap();
}

#[test]
fn a_sound_recording_is_graded_and_reported() {
    let folder = tempfile::tempdir().unwrap();
    let (recording, out) = (folder.path().join("recording"), folder.path().join("out"));
    write(&recording, SOUND, 8);
    let output = oddheat(&["examine", recording.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success() && text.contains("probable") && text.contains("8.00 ± "), "{text}");
    for name in ["report.html", "findings.json", "pictures/01-single.png"] {
        assert!(out.join(name).is_file(), "{name}");
    }
    // Written by the program, so replaced; anything else is not touched.
    assert!(oddheat(&["examine", recording.to_str().unwrap(), "--out", out.to_str().unwrap()]).status.success());
    let other = folder.path().join("other");
    fs::create_dir(&other).unwrap();
    fs::write(other.join("notes.txt"), "mine").unwrap();
    let refused = oddheat(&["examine", recording.to_str().unwrap(), "--out", other.to_str().unwrap()]);
    assert!(!refused.status.success());
    assert!(String::from_utf8_lossy(&refused.stderr).contains("expected a new or empty folder"));
    assert_eq!(fs::read_dir(&other).unwrap().count(), 1);
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let cases: &[(&str, &str, &[&str])] = &[
        ("times_s = [0.0, 1.0]", "times_s = [1.0, 0.5]", &["recording.toml", "times_s[1]"]),
        ("air-temperature = 20.0", "air-temperature = -300.0", &["recording.toml", "air-temperature"]),
        ("counts_per_kelvin = 100.0", "", &["recording.toml", "counts_per_kelvin"]),
        ("role = \"twin\"", "role = \"rotor\"", &["place[1]", "joint, twin, cable-near, cable-far", "found rotor"]),
        ("role = \"twin\"", "role = \"wing\"", &["recording.toml", "wing"]),
        ("size = 3 }\n[[place]]", "size = 4 }\n[[place]]", &["recording.toml", "place[0]"]),
        ("at = [8, 3]", "at = [11, 3]", &["recording.toml", "place[1]"]),
        ("check = \"joint\"", "check = \"gearbox\"", &["expected one of tire-leak, brake, joint", "gearbox"]),
        ("\"b.pgm\"", "\"c.pgm\"", &["c.pgm"]),
        ("current = 60.0", "current = nan", &["recording.toml", "current"]),
        ("matte-surface = true", "matte-surface = 3", &["recording.toml", "matte-surface"]),
        ("[conditions]", "[scene]\nemissivity = 1.5\n[conditions]", &["recording.toml", "emissivity"]),
    ];
    for (from, to, wanted) in cases {
        let folder = tempfile::tempdir().unwrap();
        let (recording, out) = (folder.path().join("recording"), folder.path().join("out"));
        assert!(SOUND.contains(from), "{from}");
        write(&recording, &SOUND.replacen(from, to, 1), 0);
        let output = oddheat(&["examine", recording.to_str().unwrap(), "--json", "--out", out.to_str().unwrap()]);
        let message = String::from_utf8_lossy(&output.stderr).replace("\n", " ");
        assert!(!output.status.success(), "{to}");
        assert!(output.stdout.is_empty() && !out.exists(), "{to}");
        // Long lines are wrapped by the error printer; compare without its margin.
        let flat: String = message.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        for part in *wanted {
            assert!(flat.contains(part), "{to}: {part} not in {flat}");
        }
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "{to}");
    }
}

#[test]
fn options_are_checked() {
    for (arguments, wanted) in [
        (vec!["examine", "x.tif", "--scale", "40"], "expected 2 numbers, found 1"),
        (vec!["examine", "x.tif", "--scale", "40,low"], "expected a number, found \"low\""),
        (vec!["examine", "x.tif", "--scale", "40,-100", "--hot", "-3"], "expected kelvin above 0"),
        (vec!["examine", "x.tif", "--scale", "40,-100", "--connectivity", "6"], "expected 4 or 8"),
        (vec!["examine", "nowhere"], "nowhere"),
        (vec!["examine"], "RECORDING"),
        (vec!["brief", "gearbox"], "expected one of tire-leak, brake, joint"),
    ] {
        let output = oddheat(&arguments);
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(!output.status.success() && message.contains(wanted), "{arguments:?}: {message}");
    }
}

#[test]
fn briefs_name_conditions_limits_and_sources() {
    for check in ["tire-leak", "brake", "joint"] {
        let output = oddheat(&["brief", check, "--limits"]);
        let text = String::from_utf8(output.stdout).unwrap();
        assert!(output.status.success(), "{check}");
        for part in ["Caution:", "State, and see that it holds:", "Aim at and place:", "Limits:", "possible > "] {
            assert!(text.contains(part), "{check}: {part}");
        }
    }
}
