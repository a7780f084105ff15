//! Whole recordings: same bytes for the same seed, truth that the counts hold, and the folder on disk.

use ndarray::Array3;
use ndarray_npy::read_npy;
use oddheat_scenes::brake::{self, Side};
use oddheat_scenes::depot;
use oddheat_scenes::joint;
use oddheat_scenes::place::{Role, Shape, View};
use oddheat_scenes::planck::{Band, ZERO_CELSIUS_K};
use oddheat_scenes::recording::Recording;
use oddheat_scenes::sensor::Sensor;
use oddheat_scenes::tire_leak;
use toml_edit::DocumentMut;

const GOLDEN: u64 = 0x505c_19ca_bf44_f02c;

/// One short recording of each kind on the small sensor.
fn samples(sensor: &Sensor, seed: u64) -> [Recording; 3] {
    let fault = brake::Fault::Dragging { side: Side::Right, torque_nm: 15.0 };
    let brake = brake::Params { fault, unused_s: 400.0, hand_px: 0.0, ..brake::Params::default() };
    let leak = tire_leak::Params { hole_mm: Some(0.1), frames: 4, ..tire_leak::Params::default() };
    let joint = joint::Params { fault: joint::Fault::BadJoint { ohm: 4e-3 }, hand_px: 0.0, ..joint::Params::default() };
    [
        brake::simulate(&brake, sensor, seed),
        tire_leak::simulate(&leak, sensor, seed),
        joint::simulate(&joint, sensor, seed),
    ]
}

/// FNV-1a over the counts of all frames.
fn checksum(recordings: &[Recording]) -> u64 {
    let counts = recordings.iter().flat_map(|recording| recording.frames.iter().flatten());
    counts
        .flat_map(|counts| counts.to_le_bytes())
        .fold(0xcbf2_9ce4_8422_2325, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// A changed value means that recordings made before cannot be compared with recordings made now: change it only on
/// purpose. The same value on every target and at every optimization level is what makes the golden files of others
/// possible.
#[test]
fn the_same_seed_gives_the_same_bytes_everywhere() {
    let once = samples(&Sensor::small(), 5);
    let again = samples(&Sensor::small(), 5);
    for (once, again) in once.iter().zip(&again) {
        assert_eq!(once.statement().unwrap(), again.statement().unwrap());
        assert_eq!(once.truth_text().unwrap(), again.truth_text().unwrap());
    }
    assert_eq!(checksum(&once), checksum(&again));
    assert_ne!(checksum(&once), checksum(&samples(&Sensor::small(), 6)));
    assert_eq!(checksum(&once), GOLDEN, "{:#018x}", checksum(&once));
}

/// Without noise and blur, a placed shape on one material gives back the true temperature: counts to radiance,
/// reflection taken off with the true values, band integral inverted. Rounding to counts leaves at most half a step.
#[test]
fn truth_is_in_the_counts() {
    let sensor = Sensor {
        blur_px: 0.0,
        skirt_share: 0.0,
        gain_counts_per_radiance: 40.0,
        full_scale: 65_535,
        ..Sensor::small()
    }
    .without_noise();
    let band = Band::of(sensor.response);
    let [brake, _, joint] = samples(&sensor, 9);
    let cases = [
        (&brake, Role::Caliper, View::Left),
        (&brake, Role::Caliper, View::Right),
        (&joint, Role::Joint, View::Single),
        (&joint, Role::Twin, View::Single),
        (&joint, Role::CableNear, View::Single),
    ];
    for (recording, role, view) in cases {
        let truth = recording.truth.temperature.iter().find(|t| t.role == role && t.view == view).unwrap();
        let place = recording.places.iter().find(|p| p.role == role && p.view == view).unwrap();
        let reflected = band.radiance(recording.truth.reflected_c + ZERO_CELSIUS_K);
        let (mut sum, mut frames) = (0.0, 0.0);
        for (frame, _) in recording.frames.iter().zip(&recording.views).filter(|(_, of)| **of == view) {
            let kelvin: Vec<f64> = frame
                .iter()
                .map(|counts| {
                    let seen = (f64::from(*counts) - sensor.offset_counts) / sensor.gain_counts_per_radiance;
                    band.kelvin((seen - (1.0 - truth.emissivity) * reflected) / truth.emissivity)
                })
                .collect();
            sum += place.shape.mean(&kelvin, sensor.width).unwrap();
            frames += 1.0;
        }
        let half_step = sensor.radiance_of_difference(1.0).recip() * 0.5 / sensor.gain_counts_per_radiance;
        let error = sum / frames - ZERO_CELSIUS_K - truth.mean_c;
        assert!(error.abs() < 1.2 * half_step, "{role:?} {view:?}: {error} of {half_step}");
    }
}

/// Frame-to-frame spread in a whole recording of the medium sensor: the stated NETD at the scene's temperature.
#[test]
fn netd_is_realized_in_recorded_frames() {
    let sensor = Sensor { drift_k: 0.0, shutter_every_s: None, bad_share: 0.0, ..Sensor::medium() };
    let params = tire_leak::Params { frames: 8, air_c: 29.8, ..tire_leak::Params::default() };
    let recording = tire_leak::simulate(&params, &sensor, 2);
    let n = recording.frames.len() as f64;
    let mut variance = 0.0;
    for i in 0..sensor.pixels() {
        let values = recording.frames.iter().map(|frame| f64::from(frame[i]));
        let mean = values.clone().sum::<f64>() / n;
        variance += values.map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0);
    }
    // Sheppard's correction for rounding to whole counts.
    let counts = (variance / sensor.pixels() as f64 - 1.0 / 12.0).sqrt();
    let netd = counts / sensor.gain_counts_per_radiance / sensor.radiance_of_difference(1.0);
    // 134,400 degrees of freedom: standard error 0.2 %.
    assert!((netd / sensor.netd_k - 1.0).abs() < 0.01, "{netd}");
}

#[test]
fn a_written_folder_reads_back() {
    let folder = tempfile::tempdir().unwrap();
    let recording = &samples(&Sensor::small(), 3)[0];
    recording.write(folder.path()).unwrap();
    let frames: Array3<u16> = read_npy(folder.path().join("frames.npy")).unwrap();
    assert_eq!(frames.shape(), [16, 60, 80]);
    assert!(frames.iter().eq(recording.frames.iter().flatten()));

    let text = std::fs::read_to_string(folder.path().join("recording.toml")).unwrap();
    let statement: DocumentMut = text.parse().unwrap();
    assert_eq!(statement["check"].as_str(), Some("brake"));
    for list in ["times_s", "views", "shutter", "housing_c"] {
        assert_eq!(statement["frames"][list].as_array().map(toml_edit::Array::len), Some(16), "{list}");
    }
    assert_eq!(statement["scale"]["curve"]["c_counts"].as_float(), Some(6766.88 * 13.0));
    assert_eq!(statement["sensor"]["saturated_at"].as_integer(), Some(16_383));
    assert_eq!(statement["conditions"]["brakes-unused"].as_bool(), Some(true));
    let places = statement["place"].as_array_of_tables().unwrap();
    assert_eq!(places.len(), 6);
    assert!(text.contains("\nring = { center = ["), "{text}");

    let truth: DocumentMut = std::fs::read_to_string(folder.path().join("truth.toml")).unwrap().parse().unwrap();
    assert_eq!(truth["fault"].as_str(), Some("dragging-brake"));
    assert_eq!(truth["where"]["view"].as_str(), Some("right"));
    assert_eq!(truth["temperature"].as_array_of_tables().map(toml_edit::ArrayOfTables::len), Some(6));
}

/// First and last column and row of a shape.
fn corners(shape: Shape) -> ([i32; 2], [i32; 2]) {
    let around = |[x, y]: [i32; 2], reach: i32| ([x - reach, y - reach], [x + reach, y + reach]);
    match shape {
        Shape::Ring { center, outer, .. } => around(center, outer),
        Shape::Spot { at, size } => around(at, size / 2),
        Shape::Box { from, to } => (from, to),
    }
}

/// Truth stays apart from what an operator would know: no statement may name the fault. Shapes lie inside the picture.
#[test]
fn statements_do_not_give_the_truth_away() {
    for recording in depot::morning(2) {
        let text = recording.statement().unwrap();
        for word in ["fault", "severity", "dragging", "not-applying", "bad-joint", "resolvable", "seed"] {
            assert!(!text.contains(word), "{}: {word}", recording.title);
        }
        assert!(recording.times_s.windows(2).all(|pair| pair[0] < pair[1]));
        assert_eq!(recording.truth.temperature.len(), recording.places.len());
        let (width, height) = (recording.sensor.width as i32, recording.sensor.height as i32);
        for place in &recording.places {
            let ([left, top], [right, bottom]) = corners(place.shape);
            assert!(left >= 0 && top >= 0 && right < width && bottom < height, "{:?}", place);
        }
    }
}
