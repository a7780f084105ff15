//! Shifts of windows of a real frame, whose truth is exact, beside scikit-image's phase correlation
//! (`tests/oracle/frames.py`), and the verdict on what moves over it.

use oddheat_core::background::{Histogram, Window};
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
use oddheat_core::sensor::CountRange;
use oddheat_core::track::{
    PartFollower, ProfileSettings, ProfileSlot, Profiles, Reference, Shift, SlipRule, Stage, Track, TrackSettings,
    Tracker, Verdict,
};
use oddheat_tests::frames::{Plain, building_night};
use serde_json::Value;

const W: usize = 320;
const H: usize = 256;

fn shift(before: &Plain, now: &Plain) -> Shift {
    let length = before.width + before.height();
    let settings = ProfileSettings {
        width: before.width as u16,
        height: before.height() as u16,
        reach: 16,
        clip: Thresholds::NONE,
        range: CountRange::new(0, 16_383).unwrap(),
    };
    let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; length], vec![0; length]);
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

/// The same scene on a sensor of a quarter of the resolution: means of 4 × 4 pixels of windows cut at every offset of 0 to
/// 15 pixels, so that the truth is exact in quarters of a pixel.
#[test]
fn quarters_of_a_pixel_are_found_on_a_real_frame() {
    let frame = building_night();
    let binned = |x: usize, y: usize| {
        let window = frame.window(x, y, 608, 480);
        let mean = |i: usize| {
            let (bx, by) = (i % 152 * 4, i / 152 * 4);
            let sum: u32 = (0..16).map(|k| u32::from(window.counts[(by + k / 4) * 608 + bx + k % 4])).sum();
            // Four counts to one of the frame's, so that rounding does not matter.
            (sum / 4) as u16
        };
        Plain { width: 152, counts: (0..152 * 120).map(mean).collect() }
    };
    let before = binned(16, 16);
    let (mut sum, mut worst, mut outside, mut count) = (0.0f64, 0.0f64, 0, 0);
    for k in 0..16 {
        let found = shift(&before, &binned(16 - k, 16 + 15 - k));
        for (axis, truth) in [(found.x, k as f64 / 4.0), (found.y, (k as f64 - 15.0) / 4.0)] {
            let axis = axis.unwrap();
            let error = f64::from(axis.sixteenths) / 16.0 - truth;
            (sum, worst) = (sum + error * error, worst.max(error.abs()));
            outside += usize::from(error.abs() * 16.0 > 2.0 * f64::from(axis.uncertainty) + 0.5);
            count += 1;
        }
    }
    let rms = libm::sqrt(sum / f64::from(count));
    println!("{count} shifts: rms error {rms:.3} px, worst {worst:.3}, {outside} beyond twice the uncertainty");
    assert!(rms < 0.1 && worst < 0.25 && outside <= 2, "{rms} {worst} {outside}");
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

/// A viewer steps aside before the real facade: the window moves over it, a pixel a frame and a third of one up. A warm
/// spot is either on the wall, or mirrored from a lamp as far off as the viewer, or the viewer's own. Kinder than life in
/// one way: the frame's noise moves along with the wall.
#[test]
fn on_a_real_frame_a_mark_stays_and_a_reflection_slides() {
    let frame = building_night();
    let range = CountRange::new(0, 16_383).unwrap();
    for (slip, wanted) in [(0.0, Verdict::Stays), (0.5, Verdict::Slides), (1.0, Verdict::Slides)] {
        let mut clip = Thresholds::NONE;
        let settings = ProfileSettings { width: W as u16, height: H as u16, reach: 16, clip, range };
        let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
        let mut profiles = Profiles::new(&mut slots, &mut reference, settings).unwrap();
        let mut follower = PartFollower::NEW;
        let mut tracks = [Track::EMPTY; 8];
        let mut tracker = Tracker::new(&mut tracks, TrackSettings::DEFAULT).unwrap();
        for t in 0..24u32 {
            let (dx, dy) = (t as usize, t as usize / 3);
            let mut window = frame.window(180 - dx, 100 + dy, W, H);
            let lag = 1.0 - slip;
            let (x, y) = (150.0 + lag * dx as f64, 170.0 - lag * dy as f64);
            for (i, count) in window.counts.iter_mut().enumerate() {
                let (px, py) = ((i % W) as f64 - x, (i / W) as f64 - y);
                *count += libm::round(400.0 * libm::exp(-(px * px + py * py) / 18.0)) as u16;
            }
            if t == 0 {
                let mut bins = vec![0; 1_024];
                let mut levels = Histogram::new(&mut bins, Window::over(3_300, 4_300, 1_024)).unwrap();
                window.rows().for_each(|row| levels.push(row, range));
                let at = |thousandths| (levels.quantile_q8(thousandths).unwrap() >> 8) as u16;
                clip = Thresholds::new(at(950), at(50)).unwrap();
                profiles.set_clip(clip);
            }
            window.rows().for_each(|row| profiles.push(row).unwrap());
            let part = follower.follow(&mut profiles).unwrap();
            let thresholds = Thresholds::new(4_100, 1).unwrap();
            let settings = Settings { width: W as u16, thresholds, connectivity: Connectivity::Eight, min_area: 5 };
            let (mut runs, mut found) = (vec![Run::EMPTY; Scanner::runs(W as u16)], vec![Slot::EMPTY; 16]);
            let mut scanner = Scanner::new(&mut runs, &mut found, settings).unwrap();
            window.rows().for_each(|row| scanner.push(row).unwrap());
            let regions: Vec<_> = scanner.finish().regions().collect();
            tracker.follow(&regions, 111 * t, Some(&part)).unwrap();
        }
        let track = tracker.tracks().max_by_key(|track| track.region().map(|region| region.strength)).unwrap();
        let judgement = track.slip(&SlipRule::DEFAULT, true);
        println!("slip {slip}: {judgement:?}");
        assert_eq!(judgement.verdict, wanted);
        let error = f64::from(judgement.slip) - 1_000.0 * slip;
        assert!(error.abs() <= 2.0 * f64::from(judgement.uncertainty) + 1.0, "{judgement:?}");
        assert_eq!((track.stage(), judgement.sightings), (Stage::Confirmed, 24));
    }
}
