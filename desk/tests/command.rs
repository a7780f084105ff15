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

/// Words, headings and the page's language; JSON stays as it is, for programs read it.
#[test]
fn a_finding_and_its_report_come_in_spanish() {
    let folder = tempfile::tempdir().unwrap();
    let (recording, out) = (folder.path().join("recording"), folder.path().join("out"));
    write(&recording, SOUND, 8);
    let path = recording.to_str().unwrap();
    let output = oddheat(&["examine", path, "--language", "es", "--out", out.to_str().unwrap()]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    for part in ["Grabación", "DEFICIENCIA PROBABLE", "diferencia entre las dos conexiones", "8.00 ± ", "Informe: "] {
        assert!(text.contains(part), "{part} not in {text}");
    }
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    assert!(page.contains("<html lang=\"es\">"), "{page}");
    for part in ["Precaución", "Medido", "Zonas colocadas", "conexión gemela", "Condiciones indicadas", "<td>sí</td>"]
    {
        assert!(page.contains(part), "{part} not in {page}");
    }
    // What a reader sees: no tags, no style, no keys and sources in brackets.
    let mut seen = page.split_once("<body>").unwrap().1.to_owned();
    for (from, to) in [('<', '>'), ('[', ']')] {
        seen = seen
            .split(from)
            .map(|part| part.rsplit_once(to).map_or(part, |(_, rest)| rest))
            .collect::<Vec<_>>()
            .join(" ");
    }
    let seen = seen.replace("Minibus 2, starter cable", "");
    let lower = seen.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphabetic());
    let english =
        ["the", "of", "and", "is", "with", "one", "none", "picture", "value", "part", "joint", "mean", "frames"];
    let left: Vec<&str> = words.filter(|word| english.contains(word)).collect();
    assert_eq!(left, Vec::<&str>::new(), "{seen}");

    let json = |language| oddheat(&["examine", path, "--json", "--language", language]).stdout;
    assert_eq!(json("es"), json("en"));
    let refused = oddheat(&["examine", path, "--language", "fr"]);
    let message = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(!refused.status.success() && message.contains("en, es"), "{message}");
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
        let text = printed(&format!("brief {check} --limits --language es"));
        for part in ["Precaución:", "Indicar, y ver que se cumpla:", "Apuntar y colocar:", "Límites:", "posible > "] {
            assert!(text.contains(part), "{check}: {part}");
        }
    }
}

/// Radiometry notes 7, worked example (computed there; `uncertainties` 3.2.3 gives the same).
#[test]
fn budget_prints_the_worked_example() {
    let arguments = "budget --object 100 --emissivity 0.9 --emissivity-u 0.02 --reflected 23 --reflected-u 2 \
        --transmittance 0.99 --transmittance-u 0.005 --medium 23 --medium-u 2 --netd 0 --calibration-u 0.5 --slope-u 0 \
        --drift-u 0 --uniformity-u 0 --curve 9.36,178,1,0";
    let output = oddheat(&arguments.split_whitespace().collect::<Vec<_>>());
    let text = String::from_utf8(output.stdout).unwrap();
    for part in ["93.24 °C", "1.081939", "0.540970", "-0.128820", "-0.307534", "u = 1.494994 K", "U = 2.989989 K"] {
        assert!(text.contains(part), "{part} not in\n{text}");
    }
    let refused = oddheat(&["budget", "--object", "100", "--emissivity", "1.5", "--reflected", "20"]);
    assert!(String::from_utf8_lossy(&refused.stderr).contains("emissivity must be above 0 and at most 1"));
}

#[test]
fn calibrate_gives_back_the_curve_it_was_fed_from() {
    let folder = tempfile::tempdir().unwrap();
    let points = folder.path().join("points.csv");
    // S(T) of A = 9.36 µm, B = 178 µm K, C = 10^6 counts: radiometry notes 2.2, times 10^6.
    let text = "celsius,counts\n-20,3537.611752\n20,7322.192489\n60,12880.42145\n100,20250.11869\n150,31904.59244\n";
    fs::write(&points, text).unwrap();
    let out = folder.path().join("out");
    let output = oddheat(&["calibrate", points.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let curve: toml::Table = fs::read_to_string(out.join("curve.toml")).unwrap().parse().unwrap();
    for (key, wanted, tolerance) in [("a_um", 9.36, 1e-4), ("b_um_k", 178.0, 2e-2), ("c_counts", 1e6, 20.0)] {
        let got = curve["scale"]["curve"][key].as_float().unwrap();
        assert!((got - wanted).abs() < tolerance, "{key}: {got}");
    }
    assert!(fs::read_to_string(out.join("residuals.svg")).unwrap().starts_with("<svg"));

    for (bad, wanted) in [
        ("celsius,counts\n20,7000\n60,6000\n100,9000\n", "counts must rise with temperature"),
        ("celsius,counts\n20,7000\n60,12000\n", "fewer calibration points"),
        ("celsius,counts\n20,warm\n", "row 1: expected the columns celsius, counts"),
        ("celsius,counts\n-400,7000\n", "row 1: expected a temperature"),
        ("temperature,counts\n20,7000\n", "expected the columns celsius, counts"),
    ] {
        fs::write(&points, bad).unwrap();
        let elsewhere = folder.path().join("elsewhere");
        let output = oddheat(&["calibrate", points.to_str().unwrap(), "--out", elsewhere.to_str().unwrap()]);
        let message = String::from_utf8_lossy(&output.stderr);
        let flat = message.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(!output.status.success() && flat.contains(wanted) && !elsewhere.exists(), "{bad}: {flat}");
    }
}

fn printed(arguments: &str) -> String {
    let output = oddheat(&arguments.split_whitespace().collect::<Vec<_>>());
    assert!(output.status.success(), "{arguments}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn practice_commands_answer_with_uncertainty_and_caution() {
    // Radiometry notes 3.2: an object at 100 °C reads 70 °C before 20 °C; 0.559410 with the pair 9.36, 178 (computed).
    let text = printed("emissivity --surface 70,0.1 --reflected 20,1 --contact 100,1 --curve 9.36,178,1,0");
    assert!(
        text.contains("emissivity 0.5594, ") && text.contains("may be reported") && text.contains("Caution"),
        "{text}"
    );
    let patch = printed("emissivity --surface 28,0.1 --reflected 20,1 --patch 58,0.1 --patch-emissivity 0.95,0.01");
    assert!(patch.contains("no temperature is to be reported"), "{patch}");
    // A foil that reflects everything shows what it reflects.
    let text = printed("reflected --reading 22,0.5 --foil 18,1 --foil-emissivity 0,0");
    assert!(text.contains("22.000 °C, standard uncertainty 0.500 K, expanded 1.000 K (k = 2)"), "{text}");
    // Three pixels of 3 mm: 9 mm are enough, 8.9 mm are not.
    assert!(printed("spot --size 9 --distance 1 --ifov 3").contains("3.0 pixels across: measured"));
    assert!(printed("spot --size 8.9 --distance 1 --ifov 3").contains("detected, not measured"));
    // Radiometry notes 5.1 (computed): 5 m of the US standard atmosphere, 15 °C and 5.9 g/m³, which is 46 %: 0.9913.
    // The formula holds it within 0.0004, and both are printed to 0.0001.
    let air = printed("air --distance 5 --air 15 --humidity 0.46");
    let transmittance: f64 = air.split_whitespace().nth(1).unwrap().trim_end_matches(',').parse().unwrap();
    assert!((transmittance - 0.9913).abs() < 0.00056, "{air}");
    let all = printed("surfaces");
    for surface in &oddheat_core::radiometry::SURFACES {
        assert!(all.contains(surface.key) && all.contains(surface.source), "{}", surface.key);
    }
    assert!(printed("surfaces tire").contains("tire-rubber") && !printed("surfaces tire").contains("glass"));
    for (arguments, wanted) in [
        ("emissivity --surface 25,0.1 --reflected 20,1 --contact 26,1", "must differ by 10 K"),
        ("emissivity --surface 70,0.1 --reflected 20,1", "--patch"),
        ("reflected --reading 22 --foil 18,1", "a value and its standard uncertainty"),
        ("spot --size 0 --distance 1 --ifov 3", "--size: expected a number above 0"),
        ("air --distance 50 --air 20 --humidity 0.5", "the distance must be from 0 to 10 m"),
        ("surfaces unobtainium", "expected a word of a surface's name"),
    ] {
        let output = oddheat(&arguments.split_whitespace().collect::<Vec<_>>());
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(!output.status.success() && message.contains(wanted), "{arguments}: {message}");
    }
}
