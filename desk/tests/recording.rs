//! The recording reader against files that these tests write, against one real frame, and against bad input.

#[path = "recording/bad_input.rs"]
mod bad_input;

use std::fs;
use std::path::{Path, PathBuf};

use oddheat_core::checks::{Condition, Role, View};
use oddheat_core::measure::Shape;
use oddheat_desk::recording::{
    Connectivity, Recording, RecordingError, RegionLimit, Scale, StatedScale, TemperatureUnit,
};
use tempfile::TempDir;
use tiff::encoder::{Compression, TiffEncoder, colortype};

const LINEAR: &str = "[scale.linear]\ncounts_per_kelvin = 40\nzero_c = -100\n";

/// A folder with these files.
fn folder(files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).expect("a written file");
    }
    folder
}

fn open(toml: &str, files: &[(&str, &[u8])]) -> Result<Recording, RecordingError> {
    let folder = folder(files);
    fs::write(folder.path().join("recording.toml"), toml).expect("a written file");
    Recording::open(folder.path())
}

fn opened(toml: &str, files: &[(&str, &[u8])]) -> Recording {
    open(toml, files).unwrap_or_else(|error| panic!("{:?}", miette::Report::new(error)))
}

/// An NPY file written by its format description, not by the crate that reads it.
fn npy(kind: &str, shape: &str, data: &[u8]) -> Vec<u8> {
    let literal = format!("{{'descr': '{kind}', 'fortran_order': False, 'shape': {shape}, }}");
    let padding = 64 - (10 + literal.len() + 1) % 64;
    let length = u16::try_from(literal.len() + padding + 1).expect("a short header");
    let mut file = b"\x93NUMPY\x01\x00".to_vec();
    file.extend(length.to_le_bytes());
    file.extend(literal.bytes());
    file.extend(std::iter::repeat_n(b' ', padding));
    file.push(b'\n');
    file.extend(data);
    file
}

fn little_endian(counts: &[u16]) -> Vec<u8> {
    counts.iter().flat_map(|count| count.to_le_bytes()).collect()
}

fn tiff_of<C: colortype::ColorType>(width: u32, height: u32, pages: &[&[C::Inner]], packing: Compression) -> Vec<u8>
where
    [C::Inner]: tiff::encoder::TiffValue,
{
    let mut file = std::io::Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut file).expect("an encoder").with_compression(packing);
    for page in pages {
        encoder.write_image::<C>(width, height, page).expect("a page");
    }
    file.into_inner()
}

fn all_counts(recording: &Recording) -> Vec<u16> {
    recording.frames.iter().flat_map(|frame| frame.counts.clone()).collect()
}

#[test]
fn the_form_that_the_simulator_writes() {
    let toml = r#"
title = "Minibus 7, front axle, duty drive"
check = "brake"
[frames]
file = "frames.npy"
times_s = [0.0, 0.111, 30.5]
views = ["left", "left", "right"]
shutter = [false, true, false]
housing_c = [31.0, 31.5, 32.0]
[scale.curve]
a_um = 9.370228
b_um_k = 172.8692
c_counts = 2.5e6
offset_counts = 1850.0
shape = 1.0
[scene]
emissivity = 0.95
emissivity_u = 0.02
reflected_c = 21.0
[sensor]
netd_k = 0.06
calibration_k = 1.0
drift_k = 0.3
ifov_mrad = 3.0
saturated_at = 16383
[conditions]
shaded = true
dry = false
air-temperature = 21.0
since-stop = 90
[[place]]
role = "rotor"
view = "left"
emissivity = 0.8
emissivity_u = 0.05
ring = { center = [4, 4], inner = 2, outer = 4 }
[[place]]
role = "caliper"
view = "right"
spot = { at = [7, 2], size = 3 }
[[place]]
role = "rim"
view = "right"
box = { from = [0, 0], to = [9, 8] }
"#;
    let counts: Vec<u16> = (0..270).map(|i| 3000 + i * 7).collect();
    let frames = npy("<u2", "(3, 9, 10)", &little_endian(&counts));
    let recording = opened(toml, &[("frames.npy", &frames), ("truth.toml", b"fault = \"none\"\n")]);

    assert_eq!((recording.width, recording.height), (10, 9));
    assert_eq!(all_counts(&recording), counts);
    assert_eq!(recording.title, "Minibus 7, front axle, duty drive");
    assert_eq!(recording.check.as_deref(), Some("brake"));
    let facts: Vec<_> = recording.frames.iter().map(|f| (f.time_ms, f.view, f.shutter, f.housing_c)).collect();
    assert_eq!(
        facts,
        [
            (0, View::Left, false, Some(31.0)),
            (111, View::Left, true, Some(31.5)),
            (30_500, View::Right, false, Some(32.0)),
        ]
    );
    assert_eq!(
        recording.scale,
        Scale::Curve { a_um: 9.370228, b_um_k: 172.8692, c_counts: 2.5e6, offset_counts: 1850.0, shape: 1.0 }
    );
    let scene = recording.scene;
    assert_eq!((scene.emissivity, scene.emissivity_u, scene.reflected_c), (0.95, 0.02, Some(21.0)));
    assert_eq!((scene.reflected_u_k, scene.transmittance, scene.medium_c), (1.0, 1.0, None));
    let sensor = recording.sensor;
    assert_eq!((sensor.netd_k, sensor.calibration_k, sensor.drift_k), (0.06, 1.0, 0.3));
    assert_eq!((sensor.ifov_mrad, sensor.saturated_at, sensor.dead_at_or_below), (Some(3.0), 16383, 0));
    assert_eq!(
        recording.conditions,
        [
            (Condition::AirTemperature, 21.0),
            (Condition::Shaded, 1.0),
            (Condition::Dry, 0.0),
            (Condition::SinceStop, 90.0),
        ]
    );
    let places: Vec<_> =
        recording.places.iter().map(|p| (p.role, p.view, p.shape, p.emissivity, p.emissivity_u)).collect();
    assert_eq!(
        places,
        [
            (Role::Rotor, View::Left, Shape::Ring { x: 4, y: 4, inner: 2, outer: 4 }, 0.8, 0.05),
            (Role::Caliper, View::Right, Shape::Spot { x: 7, y: 2, size: 3 }, 0.95, 0.02),
            (Role::Rim, View::Right, Shape::Box { x0: 0, y0: 0, x1: 9, y1: 8 }, 0.95, 0.02),
        ]
    );
    assert_eq!(recording.regions, None);
}

/// The example of RECORDING.md is read as printed there.
#[test]
fn the_example_of_the_document() {
    let document = include_str!("../RECORDING.md");
    let example = document.split("```").nth(1).and_then(|block| block.strip_prefix("toml")).expect("an example");
    let frames = npy("<u2", "(2, 60, 80)", &little_endian(&[4000; 9600]));
    let recording = opened(example, &[("frames.npy", &frames)]);
    assert_eq!((recording.frames.len(), recording.places.len(), recording.conditions.len()), (2, 2, 4));
    assert_eq!(recording.note.as_deref(), Some("left side first"));
}

/// Every word of the vocabularies is printed in RECORDING.md.
#[test]
fn the_document_knows_every_word() {
    let document = include_str!("../RECORDING.md");
    let words = Role::ALL.iter().map(|role| role.key()).chain(View::ALL.iter().map(|view| view.key()));
    for word in words.chain(Condition::ALL.iter().map(|condition| condition.key())) {
        assert!(document.contains(&format!("`{word}`")), "`{word}` is not in RECORDING.md");
    }
}

#[test]
fn equal_times_do_not_run_backward() {
    let frames = npy("<u2", "(3, 1, 1)", &little_endian(&[1, 2, 3]));
    let toml = format!("[frames]\nfile = \"a.npy\"\ntimes_s = [0, 2.0004, 2.0004]\n{LINEAR}");
    let recording = opened(&toml, &[("a.npy", &frames)]);
    assert_eq!(recording.frames.iter().map(|frame| frame.time_ms).collect::<Vec<_>>(), [0, 2000, 2000]);
}

#[test]
fn defaults_of_a_short_recording() {
    let toml = format!("[frames]\nfile = \"a.pgm\"\n{LINEAR}");
    let folder = folder(&[("a.pgm", b"P5 2 1 65535\n\x01\x02\xff\xff"), ("recording.toml", toml.as_bytes())]);
    let recording = Recording::open(folder.path()).expect("a recording");
    assert_eq!(recording.frames.len(), 1);
    let frame = &recording.frames[0];
    assert_eq!((frame.time_ms, frame.view, frame.shutter, frame.housing_c), (0, View::Single, false, None));
    assert_eq!(frame.counts, [0x0102, 0xffff]);
    assert_eq!(Some(recording.title.as_str()), folder.path().file_name().and_then(|name| name.to_str()));
    assert_eq!(recording.scene.emissivity, 1.0);
    let sensor = recording.sensor;
    assert_eq!((sensor.netd_k, sensor.calibration_k, sensor.drift_k), (0.08, 2.0, 0.3));
    assert_eq!((sensor.saturated_at, sensor.dead_at_or_below), (65535, 0));
    // The description file itself serves as a path as well.
    let again = Recording::open(&folder.path().join("recording.toml")).expect("a recording");
    assert_eq!(again.frames, recording.frames);
    assert_eq!(again.title, recording.title);
}

#[test]
fn lists_of_files_rates_and_regions() {
    let toml = r#"
[frames]
file = ["a.pgm", "b.npy", "c.npy"]
frames_per_second = 3
view = "left"
housing_c = 30
[scale.linear]
counts_per_kelvin = 40
zero_c = -100
[regions]
hot_above_median_k = 3
cold_below_c = -10.5
min_area = 9
connectivity = 4
"#;
    let (b, c) = (
        npy("<u2", "(2, 2)", &little_endian(&[5, 6, 7, 8])),
        npy(">u2", "(2, 2, 2)", &[0, 9, 1, 0, 0, 11, 0, 12, 0, 13, 0, 14, 0, 15, 0, 16]),
    );
    let recording =
        opened(toml, &[("a.pgm", b"P5\n# depot\n2 2\n255\n\x01\x02\x03\x04"), ("b.npy", &b), ("c.npy", &c)]);
    assert_eq!(all_counts(&recording), [1, 2, 3, 4, 5, 6, 7, 8, 9, 256, 11, 12, 13, 14, 15, 16]);
    let times: Vec<u32> = recording.frames.iter().map(|frame| frame.time_ms).collect();
    assert_eq!(times, [0, 333, 667, 1000]);
    assert!(recording.frames.iter().all(|frame| frame.view == View::Left && frame.housing_c == Some(30.0)));
    let regions = recording.regions.expect("regions");
    assert_eq!(regions.hot, Some(RegionLimit::FromMedianK(3.0)));
    assert_eq!(regions.cold, Some(RegionLimit::AtC(-10.5)));
    assert_eq!((regions.min_area, regions.connectivity, regions.capacity), (9, Connectivity::Four, 256));
}

#[test]
fn counts_of_a_14_bit_pgm_are_not_stretched() {
    let toml = format!("[frames]\nfile = \"a.pgm\"\n{LINEAR}");
    let recording = opened(&toml, &[("a.pgm", b"P5 3 1 16383\n\x00\x01\x10\x00\x3f\xff")]);
    assert_eq!(recording.frames[0].counts, [1, 4096, 16383]);
}

#[test]
fn counts_in_tiff_pages() {
    let (one, two): (Vec<u16>, Vec<u16>) =
        ((0..300).map(|i| i * 211).collect(), (0..300).map(|i| 65_535 - i).collect());
    for packing in
        [Compression::Uncompressed, Compression::Deflate(Default::default()), Compression::Lzw, Compression::Packbits]
    {
        let toml = format!("[frames]\nfile = \"a.tif\"\nframes_per_second = 9.0\n{LINEAR}");
        let recording = opened(&toml, &[("a.tif", &tiff_of::<colortype::Gray16>(20, 15, &[&one, &two], packing))]);
        assert_eq!((recording.width, recording.height, recording.frames.len()), (20, 15, 2));
        assert_eq!(recording.frames[0].counts, one);
        assert_eq!(recording.frames[1].counts, two);
    }
}

/// Temperatures in °C of a small frame, 20.0 to 59.75 in quarters.
fn quarters() -> Vec<f64> {
    (0..160).map(|i| 20.0 + f64::from(i) * 0.25).collect()
}

fn celsius(recording: &Recording) -> Vec<f64> {
    let Scale::Linear { counts_per_kelvin, zero_c } = recording.scale else { panic!("{:?}", recording.scale) };
    all_counts(recording).into_iter().map(|count| f64::from(count) / counts_per_kelvin + zero_c).collect()
}

#[test]
fn temperatures_of_every_format_come_back() {
    let celsius_64 = quarters();
    let celsius_32: Vec<f32> = celsius_64.iter().map(|&t| t as f32).collect();
    let kelvin_64: Vec<f64> = celsius_64.iter().map(|t| t + 273.15).collect();
    let bytes_64 = |values: &[f64]| values.iter().flat_map(|t| t.to_le_bytes()).collect::<Vec<u8>>();
    let bytes_32: Vec<u8> = celsius_32.iter().flat_map(|t| t.to_be_bytes()).collect();
    let lines: Vec<String> =
        celsius_64.chunks(16).map(|row| row.iter().map(|t| format!("{t:.2}")).collect::<Vec<_>>().join(", ")).collect();
    let plain = Compression::Uncompressed;
    for (name, unit, file) in [
        ("a.tif", "celsius", tiff_of::<colortype::Gray32Float>(16, 10, &[&celsius_32], plain)),
        ("a.tif", "kelvin", tiff_of::<colortype::Gray64Float>(16, 10, &[&kelvin_64], plain)),
        ("a.npy", "celsius", npy("<f8", "(10, 16)", &bytes_64(&celsius_64))),
        ("a.npy", "kelvin", npy("<f8", "(1, 10, 16)", &bytes_64(&kelvin_64))),
        ("a.npy", "celsius", npy(">f4", "(10, 16)", &bytes_32)),
        ("a.csv", "celsius", lines.join("\n").into_bytes()),
        ("a.CSV", "celsius", (lines.join("\r\n") + "\r\n").into_bytes()),
    ] {
        let toml = format!("scale.temperatures = \"{unit}\"\n[frames]\nfile = \"{name}\"\n");
        let recording = opened(&toml, &[(name, &file)]);
        assert_eq!((recording.width, recording.height), (16, 10), "{name} {unit}");
        let Scale::Linear { counts_per_kelvin, .. } = recording.scale else { panic!("{name}") };
        // 39.75 K fit 1,024 times into 65,533, so the step is 1/1024 K and the error at most half of it.
        assert_eq!(counts_per_kelvin, 1024.0, "{name} {unit}");
        for (read, written) in celsius(&recording).iter().zip(&celsius_64) {
            assert!((read - written).abs() <= 0.5 / 1024.0, "{name} {unit}: {written} came back as {read}");
        }
    }
}

#[test]
fn one_linear_scale_serves_all_files_of_temperatures() {
    let toml = "[frames]\nfile = [\"a.csv\", \"b.csv\"]\nframes_per_second = 1\n[scale]\ntemperatures = \"celsius\"\n";
    let recording = opened(toml, &[("a.csv", b"20.5,21\n"), ("b.csv", b"-40,600\n")]);
    let Scale::Linear { counts_per_kelvin, .. } = recording.scale else { panic!() };
    // 640 K · 64 = 40,960 fits below 65,534; 640 K · 128 does not.
    assert_eq!(counts_per_kelvin, 64.0);
    assert_eq!(celsius(&recording), [20.5, 21.0, -40.0, 600.0]);
}

fn building_night() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/data/building_night/22-18-41-880.tif")
}

/// Expected numbers: numpy 2.4.6 with tifffile 2026.3.3, and Pillow 13.0.0, which agree on every pixel.
#[test]
fn a_real_frame_reads_as_other_readers_read_it() {
    let scale = StatedScale::Counts(Scale::Linear { counts_per_kelvin: 40.0, zero_c: -100.0 });
    let recording = Recording::from_image(&building_night(), scale).expect("the real frame");
    assert_eq!((recording.width, recording.height, recording.frames.len()), (640, 512, 1));
    assert_eq!(recording.title, "22-18-41-880.tif");
    let counts = &recording.frames[0].counts;
    let at = |row: usize, column: usize| counts[row * 640 + column];
    assert_eq!((counts.iter().min(), counts.iter().max()), (Some(&3323), Some(&4060)));
    assert_eq!((at(3, 348), at(309, 616)), (3323, 4060));
    assert_eq!((at(0, 0), at(100, 200), at(511, 639)), (3916, 3908, 3921));
    assert_eq!(counts.iter().map(|&count| u64::from(count)).sum::<u64>(), 1_281_481_035);
}

#[test]
fn the_same_real_frame_in_a_recording() {
    let toml = format!("[frames]\nfile = \"night.tif\"\n{LINEAR}");
    let file = fs::read(building_night()).expect("the real frame");
    let recording = opened(&toml, &[("night.tif", &file)]);
    let image = Recording::from_image(&building_night(), StatedScale::Counts(recording.scale)).expect("the real frame");
    assert_eq!(recording.frames, image.frames);
}

#[test]
fn a_bare_image_needs_a_sound_scale_and_one_frame() {
    let flat = npy("<u2", "(2, 1, 1)", &[1, 0, 2, 0]);
    let folder = folder(&[("two.npy", &flat), ("t.csv", b"1.5\n")]);
    let two = folder.path().join("two.npy");
    let message = |scale| Recording::from_image(&two, scale).expect_err("an error").to_string();
    let linear = |counts_per_kelvin| StatedScale::Counts(Scale::Linear { counts_per_kelvin, zero_c: 0.0 });
    assert_contains(&message(linear(10.0)), &["two.npy", "frames.times_s", "one frame", "2 frames"]);
    assert_contains(&message(linear(f64::NAN)), &["two.npy", "counts_per_kelvin", "above 0", "NaN"]);
    assert_contains(&message(StatedScale::Temperatures(TemperatureUnit::Kelvin)), &["two.npy", "floating-point"]);
    let csv = Recording::from_image(&folder.path().join("t.csv"), StatedScale::Temperatures(TemperatureUnit::Celsius));
    assert_eq!(celsius(&csv.expect("a frame")), [1.5]);
}

fn assert_contains(message: &str, parts: &[&str]) {
    for part in parts {
        assert!(message.contains(part), "no \"{part}\" in: {message}");
    }
}

/// A high curve that is the low one again changes nothing; one that is steeper does from the hand-over on; one that does
/// not meet the low one is refused.
#[test]
fn two_curves_meet_at_the_hand_over_or_are_refused() {
    let curve = |c: f64, offset: f64| {
        format!("{{ a_um = 9.36, b_um_k = 178.0, c_counts = {c}, offset_counts = {offset}, shape = 1.0 }}")
    };
    let toml = |high: &str| {
        format!(
            "[frames]\nfile = \"f.npy\"\n[scene]\nemissivity = 1.0\n[regions]\nhot_above_c = 10.0\n[scale.two_range]\nlow = {}\nhigh = \
             {high}\nhand_over_c = 100.0\ntolerance_k = 0.5\n",
            curve(1e6, 0.0)
        )
    };
    // 20, 60 and 150 °C on the low curve: radiometry notes 2.2, times 10^6.
    let file = npy("<u2", "(1, 3)", &little_endian(&[7_322, 12_880, 31_905]));
    let peak = |high: &str| {
        let recording = opened(&toml(high), &[("f.npy", &file)]);
        let examined = oddheat_desk::examine::examine(&recording).expect("an examination");
        let regions = oddheat_desk::examine::to_json(&recording, &examined)["views"][0]["regions"].clone();
        regions[0]["peak_c"].as_f64().expect("a peak")
    };
    let same = peak(&curve(1e6, 0.0));
    assert!((same - 150.0).abs() < 0.01, "{same}");
    // 20,250 counts at 100 °C also come from twice the gain less 20,250; at 31,905 counts that is (31,905 + 20,250)/2 on
    // the low curve, 126.8 °C.
    let steeper = peak(&curve(2e6, -20_250.118_69));
    assert!((126.0..127.6).contains(&steeper), "{steeper}");
    let error = open(&toml(&curve(1e6, 500.0)), &[("f.npy", &file)]).expect_err("curves that do not meet");
    assert!(error.to_string().contains("`scale.two_range`") && error.to_string().contains("differ"), "{error}");
}
