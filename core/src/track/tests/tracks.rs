//! Which region is which, how long it lives, and how it changes.

use super::*;
use proptest::prelude::*;

/// Regions of a frame of `W` × `H` with square blobs: place, side, counts above 5,000.
fn regions(blobs: &[(usize, usize, usize, u16)]) -> Vec<Region> {
    let mut frame = vec![5_000u16; W * H];
    for &(x, y, side, height) in blobs {
        for i in 0..side * side {
            let (px, py) = (x + i % side, y + i / side);
            if px < W && py < H {
                frame[py * W + px] = 5_000 + height;
            }
        }
    }
    scan(&frame)
}

#[test]
fn a_track_is_born_after_three_of_five_and_lost_after_five() {
    let mut tracks = [Track::EMPTY; 4];
    let mut tracker = Tracker::new(&mut tracks, TrackSettings::DEFAULT).unwrap();
    let seen = [1, 0, 1, 0, 1, 1, 0, 0, 0, 0, 0, 0];
    let mut log = Vec::new();
    for (t, &present) in seen.iter().enumerate() {
        let now = if present == 1 { regions(&[(20 + t, 30, 4, 500)]) } else { vec![] };
        let changes = tracker.follow(&now, 100 * t as u32, None).unwrap();
        let stage = tracker.tracks().next().map(Track::stage);
        log.push((changes.born, changes.lost, stage));
    }
    use Stage::{Confirmed, Missing, Tentative};
    let t = (0, 0, Some(Tentative));
    let missing = (0, 0, Some(Missing));
    let ends = (0, 1, None);
    assert_eq!(log[..4], [t, t, t, t]);
    assert_eq!(log[4..6], [(1, 0, Some(Confirmed)), (0, 0, Some(Confirmed))]);
    assert_eq!(log[6..], [missing, missing, missing, missing, missing, ends]);
    assert_eq!(tracker.follow(&[], 0, None), Err(crate::Error::TimeBackward));
}

#[test]
fn a_single_flash_is_never_born() {
    let mut tracks = [Track::EMPTY; 2];
    let mut tracker = Tracker::new(&mut tracks, TrackSettings::DEFAULT).unwrap();
    for t in 0..20 {
        let now = if t % 5 == 0 { regions(&[(20, 30, 4, 500)]) } else { vec![] };
        assert_eq!(tracker.follow(&now, t * 100, None).unwrap().born, 0);
    }
}

#[test]
fn a_full_table_keeps_confirmed_tracks_and_counts_what_it_drops() {
    let mut tracks = [Track::EMPTY; 2];
    let settings = TrackSettings { born_after: 2, ..TrackSettings::DEFAULT };
    let mut tracker = Tracker::new(&mut tracks, settings).unwrap();
    let weak = (20, 30, 4, 200);
    for t in 0..2 {
        tracker.follow(&regions(&[weak]), t, None).unwrap();
    }
    // A tentative one beside it, then a stronger and a weaker newcomer.
    tracker.follow(&regions(&[weak, (60, 30, 4, 300)]), 2, None).unwrap();
    let changes = tracker.follow(&regions(&[weak, (100, 80, 4, 900), (20, 90, 4, 250)]), 3, None).unwrap();
    assert_eq!(changes, Changes { born: 0, lost: 0, dropped: 2 });
    let mut kept: Vec<_> = tracker.tracks().map(|track| (track.stage(), track.region().unwrap().strength)).collect();
    kept.sort();
    assert_eq!(kept, [(Stage::Tentative, 800), (Stage::Confirmed, 100)]);
}

proptest! {
    /// The matching is the greedy one over all pairs by distance, in whatever order regions come.
    #[test]
    fn the_closest_pairs_match_first(
        before in proptest::collection::vec((0usize..70, 0usize..50, 2usize..5), 1..9),
        after in proptest::collection::vec((0usize..70, 0usize..50, 2usize..5), 1..9),
    ) {
        let blobs = |list: &[(usize, usize, usize)]| {
            let all: Vec<_> =
                list.iter().enumerate().map(|(i, &(x, y, side))| (x, y, side, 200 + 10 * i as u16)).collect();
            regions(&all)
        };
        let (before, after) = (blobs(&before), blobs(&after));
        let mut tracks = [Track::EMPTY; 32];
        let settings = TrackSettings { born_after: 1, ..TrackSettings::DEFAULT };
        let mut tracker = Tracker::new(&mut tracks, settings).unwrap();
        tracker.follow(&before, 0, None).unwrap();
        tracker.follow(&after, 1, None).unwrap();

        let place = |r: &Region| ((r.centroid_x.to_bits() >> 12) as i64, (r.centroid_y.to_bits() >> 12) as i64);
        let overlap = |a: &Region, b: &Region| a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1;
        let mut pairs = Vec::new();
        for (i, a) in before.iter().enumerate() {
            for (j, b) in after.iter().enumerate() {
                let (p, q) = (place(a), place(b));
                let d2 = (p.0 - q.0).pow(2) + (p.1 - q.1).pow(2);
                if d2 <= 128 * 128 || overlap(a, b) {
                    pairs.push((d2, j, i));
                }
            }
        }
        pairs.sort_unstable();
        let (mut used_before, mut used_after) = (vec![None; before.len()], vec![false; after.len()]);
        for (_, j, i) in pairs {
            if used_before[i].is_none() && !used_after[j] {
                (used_before[i], used_after[j]) = (Some(j), true);
            }
        }
        // Tracks are numbered in the order of the first frame's regions.
        for track in tracker.tracks() {
            let id = track.id() as usize;
            if id <= before.len() {
                match used_before[id - 1] {
                    Some(j) => prop_assert_eq!(track.region(), Some(&after[j])),
                    None => prop_assert_eq!(track.stage(), Stage::Missing),
                }
            } else {
                let own = after.iter().position(|region| Some(region) == track.region()).unwrap();
                prop_assert!(!used_after[own]);
            }
        }
    }

    #[test]
    fn slopes_are_those_of_least_squares(
        values in proptest::collection::vec((1u32..500, 0u32..2_000_000, 0u32..65_536, 0u32..65_536), 3..60),
    ) {
        let mut sums = trend::TrendSums::EMPTY;
        let mut time = 1_000_000;
        let mut points = Vec::new();
        for &(step, area, peak, contrast) in &values {
            time += step;
            sums.add(time, [area, peak, contrast]);
            points.push((f64::from(time), [f64::from(area), f64::from(peak), f64::from(contrast)]));
        }
        let got = sums.trend().unwrap();
        let n = points.len() as f64;
        let mean_t = points.iter().map(|p| p.0).sum::<f64>() / n;
        let slopes = [
            (got.area_q8, got.area_uncertainty_q8),
            (got.peak_q8, got.peak_uncertainty_q8),
            (got.contrast_q8, got.contrast_uncertainty_q8),
        ];
        for (k, (slope, uncertainty)) in slopes.into_iter().enumerate() {
            let mean = points.iter().map(|p| p.1[k]).sum::<f64>() / n;
            let tv = points.iter().map(|p| (p.0 - mean_t) * (p.1[k] - mean)).sum::<f64>();
            let tt = points.iter().map(|p| (p.0 - mean_t) * (p.0 - mean_t)).sum::<f64>();
            let exact = 256_000.0 * tv / tt;
            prop_assert!((slope as f64 - exact).abs() <= 1.0 + exact.abs() * 1e-6, "{slope} for {exact}");
            let off = |p: &(f64, [f64; 3])| p.1[k] - mean - tv / tt * (p.0 - mean_t);
            let scatter = points.iter().map(|p| off(p) * off(p)).sum::<f64>();
            let exact = 256_000.0 * libm::sqrt(scatter / (n - 2.0) / tt);
            let low = exact * (1.0 - 1e-6) - 0.01;
            prop_assert!((low..=exact * 1.000_1 + 300.0).contains(&(uncertainty as f64)), "{uncertainty} for {exact}");
        }
    }
}

#[test]
fn slopes_need_three_sightings_and_time() {
    let mut sums = trend::TrendSums::EMPTY;
    sums.add(5, [1, 1, 1]);
    sums.add(5, [2, 1, 1]);
    assert_eq!(sums.trend(), None);
    sums.add(5, [3, 1, 1]);
    assert_eq!(sums.trend(), None);
    // The largest values there are.
    (0..5_000).for_each(|i| sums.add(5 + i * 3_355, [u32::MAX; 3]));
    assert_eq!(sums.trend().map(|trend| trend.area_q8), Some(0));
}

/// Two pixels wide and six pixels a frame: beyond the gate of three, so only the part's motion connects the sightings,
/// also over three frames in which the region is not seen.
#[test]
fn tracks_move_along_with_the_part() {
    let ids = |known: bool| {
        let mut tracks = [Track::EMPTY; 16];
        let settings = TrackSettings { gate: 3, ..TrackSettings::DEFAULT };
        let mut tracker = Tracker::new(&mut tracks, settings).unwrap();
        for t in 0..14usize {
            let part = Placement { x: 96 * t as i32, y: -16 * t as i32, uncertainty: 1, epoch: 1 };
            let seen = if (6..9).contains(&t) { vec![] } else { regions(&[(10 + 6 * t, 60 - t, 2, 500)]) };
            tracker.follow(&seen, t as u32, known.then_some(&part)).unwrap();
        }
        tracker.tracks().map(|track| (track.id(), track.stage())).max()
    };
    assert_eq!(ids(true), Some((1, Stage::Confirmed)));
    assert!(ids(false).is_some_and(|(id, stage)| id > 5 && stage == Stage::Tentative));
}

/// A box that grows to one side: its centroid leaves the gate, its box still overlaps. Beside it, a pixel apart, is
/// another.
#[test]
fn overlapping_boxes_are_the_same_region_at_any_distance() {
    for beside in [(57, 40), (35, 40), (40, 57), (40, 35)] {
        let mut tracks = [Track::EMPTY; 4];
        let settings = TrackSettings { gate: 1, ..TrackSettings::DEFAULT };
        let mut tracker = Tracker::new(&mut tracks, settings).unwrap();
        tracker.follow(&regions(&[(40, 40, 4, 500)]), 0, None).unwrap();
        tracker.follow(&regions(&[(40, 40, 16, 500)]), 1, None).unwrap();
        tracker.follow(&regions(&[(beside.0, beside.1, 4, 500)]), 2, None).unwrap();
        let ids: Vec<_> = tracker.tracks().map(|track| (track.id(), track.missed())).collect();
        assert_eq!(ids, [(1, 1), (2, 0)], "{beside:?}");
    }
}

#[test]
fn a_tentative_track_goes_as_soon_as_it_cannot_be_born_from_what_was_seen() {
    let mut tracks = [Track::EMPTY; 4];
    let settings = TrackSettings { born_after: 2, born_within: 3, lost_after: 20, ..TrackSettings::DEFAULT };
    let mut tracker = Tracker::new(&mut tracks, settings).unwrap();
    tracker.follow(&regions(&[(40, 40, 4, 500)]), 0, None).unwrap();
    let left: Vec<_> = (1..5u32)
        .map(|t| {
            tracker.follow(&[], t, None).unwrap();
            tracker.tracks().count()
        })
        .collect();
    assert_eq!(left, [1, 1, 0, 0]);
}
