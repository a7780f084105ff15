//! What a person reads when a recording is refused: file, key or position, what was expected, what was found.

use super::{LINEAR, assert_contains, building_night, folder, little_endian, npy, open, tiff_of};
use oddheat_desk::recording::{Recording, RecordingError, Scale, StatedScale};
use std::fs;
use tiff::encoder::{Compression, colortype};

/// A sound description with one part replaced.
fn description(part: &str, replacement: &str) -> String {
    let sound = r#"title = "Minibus 3"
[frames]
file = "f.npy"
times_s = [0.0, 1.0, 2.0]
[scale.curve]
a_um = 9.37
b_um_k = 172.9
c_counts = 2.5e6
offset_counts = 1850.0
shape = 1.0
[scene]
emissivity = 0.95
reflected_c = 21.0
[sensor]
netd_k = 0.06
[conditions]
air-temperature = 21.0
shaded = true
[regions]
hot_above_c = 60.0
[[place]]
role = "rotor"
spot = { at = [3, 3], size = 3 }
"#;
    assert!(sound.contains(part), "{part} is not in the sound description");
    sound.replacen(part, replacement, 1)
}

fn sound_frames() -> Vec<u8> {
    npy("<u2", "(3, 6, 8)", &little_endian(&[4000; 144]))
}

#[test]
fn the_description_that_the_bad_ones_are_made_from_is_sound() {
    open(&description("title", "title"), &[("f.npy", &sound_frames())]).expect("a recording");
}

#[test]
fn every_bad_key_is_named_with_what_was_expected_and_found() {
    let cases: &[(&str, &str, &[&str])] = &[
        // Missing keys.
        ("file = \"f.npy\"\n", "", &["`frames`", "missing field `file`"]),
        ("times_s = [0.0, 1.0, 2.0]\n", "", &["`frames.times_s`", "frames_per_second", "3 frames", "missing"]),
        ("emissivity = 0.95\n", "", &["`scene.emissivity`", "above 0 and at most 1", "curve", "missing"]),
        ("reflected_c = 21.0\n", "", &["`scene.reflected_c`", "°C", "emissivity is below 1", "missing"]),
        (
            "emissivity = 0.95\nreflected_c = 21.0",
            "emissivity = 1.0\ntransmittance = 0.9",
            &["`scene.medium_c`", "°C", "missing"],
        ),
        ("c_counts = 2.5e6\n", "", &["`scale.curve`", "missing field `c_counts`"]),
        ("role = \"rotor\"\n", "", &["`place[0]`", "missing field `role`"]),
        (
            "spot = { at = [3, 3], size = 3 }",
            "",
            &["`place[0]`", "exactly one of `spot`, `box`, `ring`, `find_ring` and `around`", "none"],
        ),
        (
            "spot = { at = [3, 3], size = 3 }",
            "around = { ring = \"rim\", inner = 0.2, outer = 0.4 }",
            &["`place[0]`", "a `find_ring` for \"rim\" in the view", "none"],
        ),
        (
            "spot = { at = [3, 3], size = 3 }",
            "around = { ring = \"rotor\", inner = 0.4, outer = 0.4 }",
            &["`place[0].around`", "`inner` less than `outer`", "0.4 and 0.4"],
        ),
        // Wrong types and unknown keys.
        ("emissivity = 0.95", "emissivity = \"high\"", &["`scene.emissivity`", "string \"high\"", "expected a number"]),
        ("file = \"f.npy\"", "file = 7", &["`frames.file`", "integer `7`", "a string or a list of strings"]),
        ("[3, 3]", "[3, -1]", &["`place[0].spot.at[1]`", "-1", "whole number from 0 to 65535"]),
        ("[3, 3]", "[3.5, 3]", &["`place[0].spot.at[0]`", "3.5", "whole number from 0 to 65535"]),
        ("[3, 3]", "[3]", &["`place[0].spot.at`", "length 1", "length 2"]),
        ("netd_k", "netd", &["`sensor.netd`", "unknown field", "`netd_k`", "`saturated_at`"]),
        ("title", "titel", &["`titel`", "unknown field", "`title`", "`note`"]),
        ("title = ", "title ", &["line 1, column 7", "expected"]),
        // Numbers out of range.
        ("emissivity = 0.95", "emissivity = 0", &["`scene.emissivity`", "above 0 and at most 1", "found 0"]),
        ("emissivity = 0.95", "emissivity = 1.5", &["`scene.emissivity`", "above 0 and at most 1", "found 1.5"]),
        ("emissivity = 0.95", "emissivity = nan", &["`scene.emissivity`", "above 0 and at most 1", "found NaN"]),
        ("reflected_c = 21.0", "reflected_c = -274", &["`scene.reflected_c`", "-273.15", "°C", "found -274"]),
        ("netd_k = 0.06", "netd_k = inf", &["`sensor.netd_k`", "from 0 to 1000 K", "found inf"]),
        (
            "netd_k = 0.06",
            "saturated_at = 9\ndead_at_or_below = 9",
            &["`sensor.saturated_at`", "above `dead_at_or_below`", "9 and 9"],
        ),
        ("a_um = 9.37", "a_um = 0.5", &["`scale.curve.a_um`", "1 to 100 µm", "found 0.5"]),
        (
            "role = \"rotor\"",
            "role = \"rotor\"\nemissivity = -1",
            &["`place[0].emissivity`", "above 0 and at most 1", "found -1"],
        ),
        (
            "emissivity = 0.95\nreflected_c = 21.0",
            "emissivity = 1\n[[place]]\nrole = \"rim\"\nspot = { at = [3, 3], size = 1 }\nemissivity = 0.9",
            &["`scene.reflected_c`", "°C", "emissivity of place[0] is below 1", "missing"],
        ),
        // Times, lists and views.
        ("[0.0, 1.0, 2.0]", "[0.0, 2.0, 1.0]", &["`frames.times_s[2]`", "not before 2 s", "found 1"]),
        ("[0.0, 1.0, 2.0]", "[-1.0, 1.0, 2.0]", &["`frames.times_s[0]`", "from 0", "found -1"]),
        ("[0.0, 1.0, 2.0]", "[0.0, 1.0]", &["`frames.times_s`", "each of the 3 frames", "2 entries"]),
        ("[frames]", "[frames]\nviews = [\"left\"]", &["`frames.views`", "each of the 3 frames", "1 entries"]),
        ("[frames]", "[frames]\nshutter = []", &["`frames.shutter`", "each of the 3 frames", "0 entries"]),
        ("[frames]", "[frames]\nhousing_c = [30, 31]", &["`frames.housing_c`", "each of the 3 frames", "2 entries"]),
        (
            "[frames]",
            "[frames]\nhousing_c = \"warm\"",
            &["`frames.housing_c`", "a number or a list of numbers", "\"warm\""],
        ),
        (
            "[frames]",
            "[frames]\nviews = [\"left\", \"left\", \"top\"]",
            &["`frames.views[2]`", "single, left, right", "\"top\""],
        ),
        ("[frames]", "[frames]\nview = \"left\"\nviews = []", &["`frames.view`", "either `views` or `view`", "both"]),
        ("[frames]", "[frames]\nframes_per_second = 9", &["`frames.frames_per_second`", "either", "both"]),
        ("times_s = [0.0, 1.0, 2.0]", "frames_per_second = 0", &["`frames.frames_per_second`", "above 0", "found 0"]),
        (
            "times_s = [0.0, 1.0, 2.0]",
            "frames_per_second = 1e-9",
            &["`frames.frames_per_second`", "last frame", "4294967 s"],
        ),
        ("[frames]", "[frames]\nview = \"left\"", &["`place[0]", "view that a frame has", "\"single\" (the default)"]),
        (
            "role = \"rotor\"",
            "role = \"rotor\"\nview = \"right\"",
            &["`place[0].view`", "view that a frame has", "\"right\""],
        ),
        // Roles, shapes, conditions.
        ("role = \"rotor\"", "role = \"disc\"", &["`place[0].role`", "rotor, caliper", "\"disc\""]),
        ("[3, 3]", "[7, 3]", &["`place[0].spot`", "inside the image", "8 × 6", "columns 6 to 8"]),
        ("size = 3", "size = 2", &["`place[0].spot`", "inside the image", "size 2, which is not odd"]),
        (
            "spot = { at = [3, 3], size = 3 }",
            "ring = { center = [3, 3], inner = 3, outer = 2 }",
            &["`place[0].ring`", "inner radius 3"],
        ),
        (
            "spot = {",
            "box = { from = [0, 0], to = [1, 1] }\nspot = {",
            &["`place[0]`", "exactly one of", "more than one"],
        ),
        ("shaded = true", "shaded = 1", &["`conditions.shaded`", "true or false", "found 1"]),
        ("shaded = true", "shade = true", &["`conditions.shade`", "air-temperature", "\"shade\""]),
        ("shaded = true", "soak-time = -5", &["`conditions.soak-time`", "from 0 to 2147483 s", "found -5"]),
        ("shaded = true", "distance = true", &["`conditions.distance`", " m", "found true"]),
        ("shaded = true", "distance = nan", &["`conditions.distance`", " m", "found NaN"]),
        ("= 21.0\nshaded", "= 1701\nshaded", &["`conditions.air-temperature`", "at most 1700 °C", "found 1701"]),
        // Regions.
        ("hot_above_c = 60.0", "min_area = 4", &["`regions`", "at least one of", "none of them"]),
        ("hot_above_c = 60.0", "hot_above_c = 60\nconnectivity = 6", &["`regions.connectivity`", "4 or 8", "found 6"]),
        ("hot_above_c = 60.0", "hot_above_c = 60\nhot_above_median_k = 3", &["`regions.hot_above_c`", "both"]),
        (
            "hot_above_c = 60.0",
            "hot_above_c = 60\ncold_below_c = 61",
            &["`regions`", "at most `hot_above_c`", "61 above 60"],
        ),
        ("hot_above_c = 60.0", "hot_above_c = 60\ncapacity = 0", &["`regions.capacity`", "1 or more", "found 0"]),
        // Files and scales.
        ("file = \"f.npy\"", "file = \"g.npy\"", &["`frames.file`", "name of a file beside", "\"g.npy\""]),
        (
            "file = \"f.npy\"",
            "file = [\"f.npy\", \"g.npy\"]",
            &["`frames.file[1]`", "name of a file beside", "\"g.npy\""],
        ),
        ("file = \"f.npy\"", "file = []", &["`frames.file`", "at least one file", "empty list"]),
        ("file = \"f.npy\"", "file = \"../f.npy\"", &["`frames.file`", "inside the folder", "\"../f.npy\""]),
        (
            "[scale.curve]",
            "[scale.linear]\ncounts_per_kelvin = 40\nzero_c = 0\n[scale.curve]",
            &["`scale", "exactly one of", "more than one"],
        ),
    ];
    for &(part, replacement, expected) in cases {
        let error = open(&description(part, replacement), &[("f.npy", &sound_frames())]).expect_err(replacement);
        let message = error.to_string();
        assert_contains(&message, &["recording.toml"]);
        assert_contains(&message, expected);
        assert!(matches!(error, RecordingError::Key(_)), "{error:?}");
    }
}

#[test]
fn the_line_is_shown() {
    let error = open(&description("0.95", "1.5"), &[("f.npy", &sound_frames())]).expect_err("an error");
    let report = format!("{:?}", miette::Report::new(error));
    assert_contains(&report, &["recording.toml", "emissivity = 1.5", "here"]);
    // But not a line with thousands of entries; the message names the entry.
    let times = format!("{:?}", vec![1; 3000]);
    let error = open(&description("[0.0, 1.0, 2.0]", &times), &[("f.npy", &sound_frames())]).expect_err("an error");
    let report = format!("{:?}", miette::Report::new(error));
    assert_contains(&report, &["`frames.times_s`", "each of the 3 frames", "3000 entries"]);
    assert!(report.len() < 500, "{} bytes", report.len());
}

#[test]
fn a_missing_scale_and_a_scale_of_the_wrong_kind() {
    let none = "[frames]\nfile = \"f.npy\"\nframes_per_second = 1\n";
    let message = |toml: &str, name: &str, file: &[u8]| open(toml, &[(name, file)]).expect_err(toml).to_string();
    let parts =
        ["recording.toml", "`scale`", "exactly one of `curve`, `two_range`, `linear` and `temperatures`", "missing"];
    assert_contains(&message(none, "f.npy", &sound_frames()), &parts);
    let unit = format!("scale.temperatures = \"fahrenheit\"\n{none}");
    assert_contains(&message(&unit, "f.npy", &sound_frames()), &["`scale.temperatures`", "\"celsius\" or \"kelvin\""]);
    let celsius = format!("scale.temperatures = \"celsius\"\n{none}");
    assert_contains(&message(&celsius, "f.npy", &sound_frames()), &["f.npy", "floating-point", "`scale.linear`"]);
    let limit = format!("{celsius}[sensor]\nsaturated_at = 9\n");
    assert_contains(&message(&limit, "f.npy", &npy("<f4", "(1, 1)", &[0; 4])), &["`sensor.saturated_at`", "found 9"]);
    let counts = "[frames]\nfile = \"f.csv\"\n".to_owned() + LINEAR;
    assert_contains(&message(&counts, "f.csv", b"1,2\n"), &["f.csv", "unsigned whole counts", "`scale.temperatures`"]);
}

#[test]
fn every_bad_frame_file_is_named_with_the_position() {
    let u16s = little_endian(&[1, 2, 3, 4]);
    let plain = Compression::Uncompressed;
    let two_sizes = {
        let mut file = std::io::Cursor::new(Vec::new());
        let mut encoder = tiff::encoder::TiffEncoder::new(&mut file).expect("an encoder");
        encoder.write_image::<colortype::Gray16>(2, 2, &[0; 4]).expect("a page");
        encoder.write_image::<colortype::Gray16>(4, 1, &[0; 4]).expect("a page");
        file.into_inner()
    };
    let mut white_is_zero = tiff_of::<colortype::Gray16>(2, 2, &[&[0; 4]], plain);
    let photometric = white_is_zero.windows(4).position(|bytes| bytes == [6, 1, 3, 0]).expect("tag 262");
    white_is_zero[photometric + 8] = 0;
    let fortran = {
        let file = npy("<u2", "(2, 2)", &u16s);
        let flag = file.windows(5).position(|bytes| bytes == b"False").expect("the flag");
        [&file[..flag], b"True ", &file[flag + 5..]].concat()
    };
    let cases: &[(&str, Vec<u8>, &[&str])] = &[
        ("a.npy", fortran, &["header", "C order", "Fortran order"]),
        ("a.npy", npy("<u2", "(4,)", &u16s), &["header", "[rows, columns]", "1 dimensions"]),
        ("a.npy", npy("<u2", "(1, 1, 2, 2)", &u16s), &["header", "[frames, rows, columns]", "4 dimensions"]),
        ("a.npy", npy("<u2", "(0, 2, 2)", &u16s), &["header", "at least one frame", "none"]),
        ("a.npy", npy("<u2", "(2, 0)", &u16s), &["header", "1 to 65535 pixels", "0 × 2"]),
        ("a.npy", npy("<u2", "(1, 65536)", &[0; 131_072]), &["header", "1 to 65535 pixels", "65536 × 1"]),
        ("a.npy", npy("<u2", "(2, 3)", &u16s[..4]), &["header", "12 bytes of pixels", "cut short", "found 4 bytes"]),
        ("a.npy", npy("<u2", "(1, 3)", &u16s), &["header", "6 bytes of pixels", "found 8"]),
        ("a.npy", npy("<u2", "(60000, 60000, 60000)", &u16s), &["header", "432000000000000 bytes", "cut short"]),
        ("a.npy", npy("<u2", "(9223372036854775807, 4)", &u16s), &["header", "at most 17 digits", "21 digits"]),
        ("a.npy", npy("<u2", "(9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9)", &u16s), &["header", "16 dimensions"]),
        ("a.npy", npy("<i2", "(2, 2)", &u16s), &["header", "16-bit unsigned counts (u2)", "<i2"]),
        ("a.npy", npy("|u1", "(2, 2)", &[0; 4]), &["header", "16-bit unsigned counts (u2)", "|u1"]),
        ("a.npy", npy("<u2", "(2, 2", &u16s), &["header", "a readable NPY header"]),
        (
            "a.npy",
            b"\x93NUMPY\x02\x00\xff\xff\xff\xff{}".to_vec(),
            &["byte 8", "at most 512 bytes", "4294967295 bytes"],
        ),
        ("a.npy", b"\x93NUMPY\x01\x00".to_vec(), &["header", "12 bytes or more"]),
        ("a.pgm", b"P5 2 2 255\n\x01\x02".to_vec(), &["pixels", "exactly 4 bytes", "only 2"]),
        ("a.pgm", b"P5 2 1 255\n\x01\x02\x03".to_vec(), &["pixels", "exactly 2 bytes", "more"]),
        ("a.pgm", b"P5 65535 65535 65535\n\x01\x02".to_vec(), &["header", "8589672450 bytes", "cut short"]),
        ("a.pgm", b"P5 0 2 255\n".to_vec(), &["header", "1 to 65535 pixels", "0 × 2"]),
        (
            "a.pgm",
            b"P5 2 1 1000\n\x00\x01\xff\xff".to_vec(),
            &["row 0, column 1", "maximum of the header, 1000", "65535"],
        ),
        ("a.pgm", b"P2 1 1 255\n7".to_vec(), &["byte 0", "binary grayscale PGM (P5)", "Graymap"]),
        ("a.pgm", b"P5 x 2 255\n".to_vec(), &["header", "width, height and maximum"]),
        (
            "a.tif",
            tiff_of::<colortype::Gray8>(2, 2, &[&[0; 4]], plain),
            &["page 0", "16-bit unsigned counts", "8-bit gray"],
        ),
        ("a.tif", tiff_of::<colortype::RGB8>(2, 1, &[&[0; 6]], plain), &["page 0", "grayscale", "8-bit RGB"]),
        ("a.tif", tiff_of::<colortype::GrayI16>(2, 1, &[&[0; 2]], plain), &["page 0", "unsigned", "16-bit signed"]),
        (
            "a.tif",
            tiff_of::<colortype::Gray32>(2, 1, &[&[0; 2]], plain),
            &["page 0", "16-bit unsigned", "more than 16 bits"],
        ),
        ("a.tif", two_sizes, &["page 1", "2 × 2 pixels as on page 0", "4 × 1"]),
        ("a.tif", white_is_zero, &["page 0", "black is zero", "white is zero"]),
        ("a.tif", b"II*\x00\x08\x00".to_vec(), &["page 0", "readable TIFF page"]),
        ("a.csv", b"1,2\n3\n".to_vec(), &["row 1", "2 numbers", "found 1"]),
        ("a.csv", b"1,2\n3,hot\n".to_vec(), &["row 1, column 1", "decimal point", "\"hot\""]),
        ("a.csv", b"1,2\n3,nan\n".to_vec(), &["frame 0, row 1, column 1", "-273.15", "NaN"]),
        ("a.csv", b"1,-300\n".to_vec(), &["frame 0, row 0, column 1", "-273.15", "found -300"]),
        ("a.csv", b"1,\xff\n".to_vec(), &["text in UTF-8"]),
        ("a.csv", b"\n".to_vec(), &["size", "1 to 65535 pixels", "0 × 0"]),
        ("a.dat", b"what".to_vec(), &["byte 0", "grayscale TIFF", "another kind"]),
        ("a.dat", Vec::new(), &["byte 0", "grayscale TIFF", "an empty file"]),
    ];
    for (name, file, expected) in cases {
        let scale = if name.ends_with("csv") { "[scale]\ntemperatures = \"celsius\"\n" } else { LINEAR };
        let toml = format!("[frames]\nfile = \"{name}\"\nframes_per_second = 1\n{scale}");
        let error = open(&toml, &[(name, file)]).expect_err(name);
        let message = error.to_string();
        assert_contains(&message, &[name, "expected", "found"]);
        assert_contains(&message, expected);
        assert!(matches!(error, RecordingError::Frame(_)), "{error:?}");
    }
}

#[test]
fn float_pixels_that_are_no_temperatures_are_found_in_their_frame() {
    let mut numbers = [300.0_f64; 12];
    for (bad, found) in [(f64::NAN, "NaN"), (f64::INFINITY, "inf"), (0.0, "found 0"), (1e9, "1000000000")] {
        numbers[9] = bad;
        let data: Vec<u8> = numbers.iter().flat_map(|t| t.to_le_bytes()).collect();
        let toml = "[frames]\nfile = \"k.npy\"\nframes_per_second = 1\n[scale]\ntemperatures = \"kelvin\"\n";
        let error = open(toml, &[("k.npy", &npy("<f8", "(2, 2, 3)", &data))]).expect_err(found);
        assert_contains(&error.to_string(), &["k.npy", "frame 1, row 1, column 0", "above 0", "K", found]);
    }
}

#[test]
fn files_of_different_sizes_do_not_make_one_recording() {
    let toml = "[frames]\nfile = [\"a.pgm\", \"b.pgm\"]\nframes_per_second = 1\n".to_owned() + LINEAR;
    let files: [(&str, &[u8]); 2] = [("a.pgm", b"P5 2 1 255\n\x01\x02"), ("b.pgm", b"P5 1 2 255\n\x01\x02")];
    let message = open(&toml, &files).expect_err("an error").to_string();
    assert_contains(&message, &["b.pgm", "size", "2 × 1 pixels as in", "a.pgm", "1 × 2 pixels"]);
}

/// Both files are sparse: they claim and have the length, but take no room, and are refused before they are read.
#[test]
fn what_is_too_large_is_refused_before_it_is_read() {
    let toml = "[frames]\nfile = \"a.npy\"\nframes_per_second = 1\n".to_owned() + LINEAR;
    let header = npy("<u2", "(513, 1024, 1024)", &[]);
    let folder = folder(&[("a.npy", &header), ("recording.toml", toml.as_bytes())]);
    let stretch = |name: &str, length: u64| {
        let file = fs::File::options().write(true).open(folder.path().join(name)).expect("the file");
        file.set_len(length).expect("a sparse file");
    };
    let refused = || Recording::open(folder.path()).expect_err("too large").to_string();
    stretch("a.npy", header.len() as u64 + 513 * 1024 * 1024 * 2);
    assert_contains(&refused(), &["a.npy", "header", "at most 536870912 pixels", "537919488"]);
    stretch("recording.toml", (4 << 20) + 1);
    assert_contains(&refused(), &["recording.toml", "at most 4194304 bytes", "found 4194305 bytes"]);
}

/// A run that fits alone, and not beside the one pixel of the recording; sparse as above.
#[test]
fn runs_count_with_the_frames() {
    let toml = "[frames]\nfile = \"a.npy\"\nframes_per_second = 1\n".to_owned() + LINEAR;
    let toml = toml + "[sensor.repair]\nflat = \"flat.npy\"\n";
    let header = npy("<u2", "(536870912, 1, 1)", &[]);
    let pixel = npy("<u2", "(1, 1, 1)", &[1, 2]);
    let folder = folder(&[("a.npy", &pixel), ("flat.npy", &header), ("recording.toml", toml.as_bytes())]);
    let file = fs::File::options().write(true).open(folder.path().join("flat.npy")).expect("the file");
    file.set_len(header.len() as u64 + (1 << 30)).expect("a sparse file");
    let message = Recording::open(folder.path()).expect_err("too large").to_string();
    assert_contains(
        &message,
        &["flat.npy", "header", "at most 536870912 pixels", "found 536870912 with 536870911 left"],
    );
}

#[test]
fn places_that_are_no_recording() {
    let empty = folder(&[]);
    let other = folder(&[("f.npy", b"")]);
    let latin = folder(&[("recording.toml", b"title = \"caf\xe9\"\n")]);
    for (path, expected) in [
        (empty.path().to_owned(), ["a folder with a `recording.toml`", "an empty folder"]),
        (other.path().to_owned(), ["a folder with a `recording.toml`", "a folder without one"]),
        (empty.path().join("absent"), ["a folder with a `recording.toml`", "nothing there"]),
        (other.path().join("f.npy"), ["a folder with a `recording.toml`", "scale"]),
        (latin.path().to_owned(), ["text in UTF-8", "byte 12"]),
    ] {
        let message = Recording::open(&path).expect_err("an error").to_string();
        assert_contains(&message, &[path.to_str().expect("a plain path")]);
        assert_contains(&message, &expected);
    }
}

/// Every prefix of small files, and the real frame with bytes changed by a fixed generator: an answer, never a panic.
#[test]
fn damaged_files_are_answered() {
    let scale = StatedScale::Counts(Scale::Linear { counts_per_kelvin: 40.0, zero_c: -100.0 });
    let deflated = tiff_of::<colortype::Gray16>(5, 4, &[&[7; 20]], Compression::Deflate(Default::default()));
    let folder = folder(&[]);
    let path = folder.path().join("damaged");
    let answer = |bytes: &[u8]| {
        fs::write(&path, bytes).expect("a written file");
        match Recording::from_image(&path, scale) {
            Ok(recording) => {
                let pixels = usize::from(recording.width) * usize::from(recording.height);
                assert!(recording.frames.iter().all(|frame| frame.counts.len() == pixels));
                true
            }
            Err(error) => {
                assert_contains(&error.to_string(), &["damaged", "expected", "found"]);
                false
            }
        }
    };
    for file in [npy("<u2", "(4, 5)", &[7; 40]), b"P5 5 4 65535\n".iter().copied().chain([7; 40]).collect(), deflated] {
        assert!(answer(&file));
        for length in 0..file.len() {
            answer(&file[..length]);
        }
        for index in 0..file.len() {
            for change in [0x01, 0x80, 0xff] {
                let mut bytes = file.clone();
                bytes[index] ^= change;
                answer(&bytes);
            }
        }
    }
    let real = fs::read(building_night()).expect("the real frame");
    let mut state = 7_u64;
    for _ in 0..40 {
        let mut bytes = real.clone();
        for _ in 0..3 {
            // Knuth's 64-bit linear congruential generator (M); any would do.
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let index = (state >> 33) as usize % bytes.len();
            bytes[index] ^= (state >> 25) as u8 | 1;
        }
        answer(&bytes);
    }
}
