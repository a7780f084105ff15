//! A real frame of an uncooled long-wave sensor, committed with its license in `tests/data/building_night`.
//!
//! The regions were made by others' code: scipy.ndimage.label over median ± 120 counts, 8-connected, nine pixels or
//! more. `cargo run -p oddheat-desk -- examine FILE... --scale 40,-100 --hot 3 --cold 3 --min-area 9` does the same for
//! any of the six frames of the set.

use oddheat_desk::examine::{examine, to_json};
use oddheat_desk::recording::{Recording, Scale, StatedScale};
use std::path::Path;
use std::process::Command;

const FRAME: &str = "../tests/data/building_night/22-18-41-880.tif";
const REFERENCE: &str = include_str!("../../tests/data/building_night/reference_regions.csv");

#[derive(Debug, PartialEq, PartialOrd)]
struct Row {
    sign: String,
    limit: u64,
    whole: Vec<u64>,
    centroid: [f64; 2],
    mean: f64,
}

fn expected() -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(REFERENCE.as_bytes());
    let rows = reader.records().map(|record| {
        let record = record.unwrap();
        let number = |i: usize| record[i].parse::<f64>().unwrap();
        Row {
            sign: record[1].split(':').next().unwrap().to_owned(),
            limit: number(2) as u64,
            whole: (3..=10).map(|i| number(i) as u64).collect(),
            centroid: [number(11), number(12)],
            mean: number(13),
        }
    });
    let mut rows: Vec<Row> = rows.collect();
    rows.sort_by(|a, b| a.partial_cmp(b).unwrap());
    rows
}

fn found(object: &serde_json::Value) -> Vec<Row> {
    let view = &object["views"][0];
    let rows = view["regions"].as_array().unwrap().iter().map(|region| {
        let sign = region["sign"].as_str().unwrap();
        let limit = &view[if sign == "hot" { "hot_from_counts" } else { "cold_to_counts" }];
        let whole = [&region["area_px"]].into_iter().chain(region["box"].as_array().unwrap());
        let whole = whole.chain([&region["peak_counts"]]).chain(region["peak_at"].as_array().unwrap());
        Row {
            sign: sign.to_owned(),
            limit: limit.as_u64().unwrap(),
            whole: whole.map(|value| value.as_u64().unwrap()).collect(),
            centroid: [0, 1].map(|i| region["centroid"][i].as_f64().unwrap()),
            mean: region["mean_counts"].as_f64().unwrap(),
        }
    });
    let mut rows: Vec<Row> = rows.collect();
    rows.sort_by(|a, b| a.partial_cmp(b).unwrap());
    rows
}

fn assert_equal(found: &[Row], expected: &[Row]) {
    assert_eq!(found.len(), expected.len());
    for (found, expected) in found.iter().zip(expected) {
        assert_eq!((&found.sign, found.limit, &found.whole), (&expected.sign, expected.limit, &expected.whole));
        // The reference is rounded to 0.001 pixel and 0.0001 count, ours cut to 1/65,536 pixel and 1/256 count.
        for axis in 0..2 {
            assert!((found.centroid[axis] - expected.centroid[axis]).abs() < 0.0006, "{found:?}");
        }
        assert!((found.mean - expected.mean).abs() < 1.0 / 256.0 + 1e-3, "{found:?}");
    }
}

#[test]
fn regions_equal_those_of_scipy() {
    let scale = StatedScale::Counts(Scale::Linear { counts_per_kelvin: 40.0, zero_c: -100.0 });
    let mut recording = Recording::from_image(Path::new(FRAME), scale).unwrap();
    recording.regions = oddheat_desk::recording::RegionRules::about_median(3.0, 3.0, 9);
    let examination = examine(&recording).unwrap();
    assert_equal(&found(&to_json(&recording, &examination)), &expected());
}

#[test]
fn the_command_prints_the_same_as_one_json_object() {
    let output = Command::new(env!("CARGO_BIN_EXE_oddheat"))
        .args(["examine", FRAME, "--scale", "40,-100", "--hot", "3", "--cold", "3", "--min-area", "9", "--json"])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.lines().count(), 1);
    assert_equal(&found(&serde_json::from_str(&text).unwrap()), &expected());
}
