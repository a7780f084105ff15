//! Shifts of windows of a real frame, whose truth is exact, beside scikit-image's phase correlation
//! (`tests/oracle/frames.py`).

use oddheat_core::radiometry::Thresholds;
use oddheat_core::sensor::CountRange;
use oddheat_core::track::{ProfileSettings, ProfileSlot, Profiles, Reference, Shift};
use oddheat_tests::frames::{Plain, building_night};
use serde_json::Value;

const W: usize = 320;
const H: usize = 256;

fn shift(before: &Plain, now: &Plain) -> Shift {
    let settings = ProfileSettings {
        width: W as u16,
        height: H as u16,
        reach: 16,
        clip: Thresholds::NONE,
        range: CountRange::new(0, 16_383).unwrap(),
    };
    let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
    let mut profiles = Profiles::new(&mut slots, &mut reference, settings).unwrap();
    before.rows().for_each(|row| profiles.push(row).unwrap());
    profiles.finish(Reference::Adopt).unwrap();
    now.rows().for_each(|row| profiles.push(row).unwrap());
    profiles.finish(Reference::Keep).unwrap()
}

#[test]
fn windows_of_a_real_frame_are_found_where_they_were_cut() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/oracle/frames.json");
    let oracle: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let frame = building_night();
    let before = frame.window(160, 128, W, H);
    for case in oracle["shifts"].as_array().unwrap() {
        let number = |key: &str, i: usize| case[key][i].as_f64().unwrap();
        let now = frame.window(number("window", 0) as usize, number("window", 1) as usize, W, H);
        let found = shift(&before, &now);
        for (i, axis) in [found.x, found.y].into_iter().enumerate() {
            let (truth, phase) = (number("truth", i), number("phase", i));
            let axis = axis.unwrap_or_else(|doubt| panic!("{doubt:?} at {truth}"));
            let got = f64::from(axis.sixteenths) / 16.0;
            println!("truth {truth}, here {got:.3} ± {}/16, phase correlation {phase}", axis.uncertainty);
            assert!((got - truth).abs() <= 0.5, "{got} {truth}");
            assert!((got - truth).abs() * 16.0 <= 3.0 * f64::from(axis.uncertainty), "{got} {truth} {axis:?}");
        }
    }
}

/// A window against one of another gain and offset, and with its columns' halves at different shading.
#[test]
fn gain_offset_and_shading_do_not_matter() {
    let frame = building_night();
    let (before, mut now) = (frame.window(160, 128, W, H), frame.window(155, 131, W, H));
    for (i, count) in now.counts.iter_mut().enumerate() {
        let shading = (i % W) as u16 / 8 + (i / W) as u16 / 4;
        *count = (*count - 3_000) * 2 + 500 + shading;
    }
    let found = shift(&before, &now);
    for (axis, truth) in [(found.x, 5.0), (found.y, -3.0)] {
        let axis = axis.unwrap();
        let got = f64::from(axis.sixteenths) / 16.0;
        println!("truth {truth}, here {got:.3}, {axis:?}");
        assert!((got - truth).abs() <= 0.5, "{got} {truth}");
    }
}
