//! Lines without pixels, short profiles, settings at their ends.

use super::*;

/// Shifts of frames of any size against the first of them, of which `clip` says what is left out.
fn shift_of(width: usize, frames: [&[u16]; 2], reach: u16, clip: Thresholds) -> Shift {
    let length = width + frames[0].len() / width;
    let settings =
        ProfileSettings { width: width as u16, height: (length - width) as u16, reach, clip, range: range() };
    let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; length], vec![0; length]);
    let mut profiles = Profiles::new(&mut slots, &mut reference, settings).unwrap();
    let mut shift = None;
    for frame in frames {
        frame.chunks(width).for_each(|row| profiles.push(row).unwrap());
        shift = Some(profiles.finish(Reference::Keep).unwrap());
    }
    shift.unwrap()
}

/// A line of which nothing is left would be an edge that stands still with the sensor, wherever it lies.
#[test]
fn lines_without_pixels_do_not_hold_the_image_still() {
    let scene = Scene::new(9);
    // The first columns hot over the upper part of the frame; a row and a column dead.
    const NONE: usize = usize::MAX;
    let cases = [
        ("nothing", 0, 0, NONE, NONE),
        ("hot over the whole height", 3, H, NONE, NONE),
        ("hot over four fifths", 3, H * 4 / 5, NONE, NONE),
        ("first row dead", 0, 0, 0, NONE),
        ("first column dead", 0, 0, NONE, 0),
        ("row and column dead within", 0, 0, 57, 83),
    ];
    for (name, columns, rows, dead_row, dead_column) in cases {
        let [before, now] = [0.0, 5.0].map(|moved| {
            let mut frame = scene.frame(moved, moved, 1.0, 5_000.0, 5.0, 1 + moved as u32);
            for (i, count) in frame.iter_mut().enumerate() {
                let (x, y) = (i % W, i / W);
                if x < columns && y < rows {
                    *count = 9_000;
                }
                if dead_row == y || dead_column == x {
                    *count = 0;
                }
            }
            frame
        });
        let shift = shift_of(W, [&before, &now], 16, Thresholds::new(8_000, 1).unwrap());
        std::println!("{name}: {shift:?}");
        for axis in [shift.x.unwrap(), shift.y.unwrap()] {
            let error = (axis.sixteenths - 80).unsigned_abs();
            assert!(error <= 2 * axis.uncertainty + 1 && error <= 8, "{name}: {axis:?}");
        }
    }
}

/// Independent noise in both frames: no axis is known, or so rarely that it is within what [`shift`] says.
#[test]
fn noise_does_not_show_a_shift_however_short_the_profile() {
    for (width, height, reach) in [(8, 8, 2), (16, 12, 3), (22, 22, 4), (32, 24, 4), (32, 24, 6), (48, 36, 8)] {
        let mut known = 0;
        for seed in 0..1_000 {
            let [before, now] = [0, 1].map(|frame| -> Vec<u16> {
                let pixel = |i| libm::round(5_000.0 + 10.0 * noise(2 * seed + frame, i)) as u16;
                (0..width * height).map(pixel).collect()
            });
            let shift = shift_of(width, [&before, &now], reach, Thresholds::NONE);
            known += u32::from(shift.x.is_ok()) + u32::from(shift.y.is_ok());
        }
        std::println!("{width} × {height}, reach {reach}: {known} of 2,000 axes known");
        assert!(known <= 6, "{width} × {height}: {known} of 2,000");
    }
}

/// What was missed is counted up to 255, so a track that may miss 255 would never end.
#[test]
fn a_track_that_could_never_end_is_refused() {
    let mut tracks = [Track::EMPTY; 2];
    let with = |lost_after| TrackSettings { lost_after, born_after: 1, ..TrackSettings::DEFAULT };
    assert!(matches!(Tracker::new(&mut tracks, with(255)), Err(crate::sensor::SetupError::Setting)));
    let mut tracker = Tracker::new(&mut tracks, with(254)).unwrap();
    let mut frame = vec![5_000; W * H];
    (0..9).for_each(|i| frame[(40 + i / 3) * W + 40 + i % 3] = 6_000);
    tracker.follow(&scan(&frame), 0, None).unwrap();
    for t in 1..=254 {
        assert_eq!(tracker.follow(&[], t, None), Ok(Changes::default()));
    }
    assert_eq!(tracker.follow(&[], 255, None), Ok(Changes { lost: 1, ..Changes::default() }));
}

/// The stated uncertainty of a slope is the scatter of slopes over many draws of noise.
#[test]
fn slopes_scatter_as_much_as_they_say() {
    for (sightings, sigma) in [(12, 2.0), (40, 8.0), (300, 8.0)] {
        let (mut sum, mut beyond) = (0.0, 0);
        for draw in 0..400 {
            let mut sums = trend::TrendSums::EMPTY;
            for t in 0..sightings {
                // 30 counts a second, nine times a second.
                let peak = 7_000.0 + 30.0 * 0.111 * f64::from(t) + sigma * noise(1_000 + draw, t as usize);
                sums.add(111 * t, [9, libm::round(peak) as u32, 0]);
            }
            let trend = sums.trend().unwrap();
            let off = (trend.peak_q8 as f64 - 30.0 * 256.0) / trend.peak_uncertainty_q8 as f64;
            sum += off * off;
            beyond += u32::from(off.abs() > 2.0);
            // What does not change is known to the last place.
            assert!(trend.area_q8 == 0 && trend.area_uncertainty_q8 <= 2, "{trend:?}");
        }
        let rms = libm::sqrt(sum / 400.0);
        std::println!("{sightings} sightings: errors {rms:.2} of the uncertainty, {beyond} of 400 beyond twice");
        // Of Student's t with ν degrees of freedom the variance is ν/(ν − 2): 1.12 at 12 sightings.
        assert!((0.9..1.2).contains(&rms) && beyond <= 40, "{rms} {beyond}");
    }
}
