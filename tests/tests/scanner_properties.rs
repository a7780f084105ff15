//! What must hold for any image: mirror images, shifts, other signs, higher thresholds; worst cases in the memory that
//! is stated, and a table that is too small. That areas add up to the foreground is checked with every list of regions.

mod scanner;

use oddheat_core::regions::{Connectivity, Run, Scanner, Sign, Slot};
use proptest::prelude::*;
use scanner::{Frame, MOST, Numbers, generate, numbers};

const BOTH: [Connectivity; 2] = [Connectivity::Four, Connectivity::Eight];

/// Generated images of all kinds beyond those that other libraries saw, and small ones of few levels, which shrink.
fn frames() -> impl Strategy<Value = Frame> {
    let small = (1usize..40, 1usize..16, 0u32..100).prop_flat_map(|(width, height, share)| {
        let pixel = (0u32..100, 0u16..6).prop_map(move |(lot, level)| match level {
            _ if lot >= share => 700 + level,
            0..=3 => 1_001 + level * 7,
            _ => 490 + level,
        });
        let counts = proptest::collection::vec(pixel, width * height);
        counts.prop_map(move |counts| Frame { width, counts, hot: 1_000, cold: 500 })
    });
    prop_oneof![(2_000u32..1_000_000).prop_map(generate::frame), small]
}

fn connectivity() -> impl Strategy<Value = Connectivity> {
    prop::sample::select(&BOTH[..])
}

/// The frame read in another order: pixel (x, y) of the new one is pixel `from(x, y)` of the old one.
fn reordered(frame: &Frame, width: usize, height: usize, from: impl Fn(usize, usize) -> (usize, usize)) -> Frame {
    let pixels = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    let counts = pixels.map(|(x, y)| from(x, y)).map(|(x, y)| frame.counts[y * frame.width + x]);
    Frame { width, counts: counts.collect(), ..*frame }
}

/// What does not depend on the direction of reading: without the place of the extreme, which is the first of equals, and
/// without centroids, which are truncated toward the origin.
fn undirected(list: Vec<Numbers>) -> Vec<[u32; 8]> {
    let mut list: Vec<[u32; 8]> = list.iter().map(|numbers| numbers[..8].try_into().unwrap()).collect();
    list.sort_unstable();
    list
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn mirrored_frames_have_mirrored_regions(frame in frames(), connectivity in connectivity()) {
        let (w, h) = (frame.width, frame.counts.len() / frame.width);
        let mirrored = reordered(&frame, w, h, |x, y| (w - 1 - x, y)).regions(connectivity);
        let back = mirrored.iter().map(|r| {
            let mut r = *r;
            (r[2], r[4]) = (w as u32 - 1 - r[4], w as u32 - 1 - r[2]);
            r
        });
        prop_assert_eq!(undirected(back.collect()), undirected(frame.regions(connectivity)));
        let turned = reordered(&frame, w, h, |x, y| (x, h - 1 - y)).regions(connectivity);
        let back = turned.iter().map(|r| {
            let mut r = *r;
            (r[3], r[5]) = (h as u32 - 1 - r[5], h as u32 - 1 - r[3]);
            r
        });
        prop_assert_eq!(undirected(back.collect()), undirected(frame.regions(connectivity)));
    }

    /// Centroids of a frame and of its mirror image add up to the width, but for two truncations.
    #[test]
    fn mirrored_centroids_add_up(frame in frames()) {
        let (w, h) = (frame.width, frame.counts.len() / frame.width);
        // One region, whatever the frame: all of it hot.
        let frame = Frame { counts: frame.counts.iter().map(|&v| v.max(1)).collect(), hot: 0, cold: 0, ..frame };
        let mirrored = reordered(&frame, w, h, |x, y| (w - 1 - x, h - 1 - y));
        let (a, b) = (frame.regions(Connectivity::Four)[0], mirrored.regions(Connectivity::Four)[0]);
        for (at, extent) in [(10, w), (11, h)] {
            let missing = ((extent as u32 - 1) << 16) - (a[at] + b[at]);
            prop_assert!(missing <= 1, "{missing}");
        }
    }

    #[test]
    fn transposed_frames_have_transposed_regions(frame in frames(), connectivity in connectivity()) {
        let (w, h) = (frame.width, frame.counts.len() / frame.width);
        let transposed = reordered(&frame, h, w, |x, y| (y, x)).regions(connectivity);
        let back = transposed.iter().map(|&[sign, area, x0, y0, x1, y1, mean, peak, px, py, cx, cy]| {
            [sign, area, y0, x0, y1, x1, mean, peak, py, px, cy, cx]
        });
        prop_assert_eq!(undirected(back.collect()), undirected(frame.regions(connectivity)));
    }

    #[test]
    fn an_offset_of_counts_moves_counts_only(frame in frames(), offset in 0u16..=30_000, connectivity in connectivity()) {
        let fits = frame.counts.iter().chain([&frame.hot]).all(|&v| v <= u16::MAX - offset);
        prop_assume!(fits);
        let counts = frame.counts.iter().map(|&v| v + offset).collect();
        let moved = Frame { counts, hot: frame.hot + offset, cold: frame.cold + offset, ..frame };
        let mut wanted = frame.regions(connectivity);
        for r in &mut wanted {
            r[6] += u32::from(offset) << 8;
            r[7] += u32::from(offset);
        }
        prop_assert_eq!(moved.regions(connectivity), wanted);
    }

    /// Counts read downward: hot becomes cold, and nothing else changes.
    #[test]
    fn hot_and_cold_are_treated_alike(frame in frames(), connectivity in connectivity()) {
        let counts = frame.counts.iter().map(|&v| u16::MAX - v).collect();
        let opposite = Frame { counts, hot: u16::MAX - frame.cold, cold: u16::MAX - frame.hot, ..frame };
        let without_mean = |frame: &Frame, swap: bool| {
            let list = frame.regions(connectivity);
            let mut list: Vec<Numbers> = list.into_iter().map(|mut r| {
                (r[0], r[7]) = if swap { (3 - r[0], 65_535 - r[7]) } else { (r[0], r[7]) };
                r[6] = 0;
                r
            }).collect();
            list.sort_unstable();
            list
        };
        prop_assert_eq!(without_mean(&opposite, true), without_mean(&frame, false));
    }

    /// Ordinary columns put before a frame shift where in a word or vector every pixel is looked at.
    #[test]
    fn the_place_within_a_row_does_not_matter(frame in frames(), before in 1usize..140, connectivity in connectivity()) {
        let ordinary = frame.hot;
        let rows = frame.counts.chunks_exact(frame.width);
        let counts = rows.flat_map(|row| std::iter::repeat_n(ordinary, before).chain(row.iter().copied())).collect();
        let padded = Frame { width: frame.width + before, counts, ..frame };
        let mut wanted = frame.regions(connectivity);
        for r in &mut wanted {
            for at in [2, 4, 8] {
                r[at] += before as u32;
            }
            r[10] += (before as u32) << 16;
        }
        prop_assert_eq!(padded.regions(connectivity), wanted);
    }

    /// A scanner that is put away between any two rows, and one that has seen another frame, find the same.
    #[test]
    fn interruptions_and_earlier_frames_do_not_matter(frame in frames(), other in frames(), at in 0usize..40) {
        for connectivity in BOTH {
            let settings = frame.settings(connectivity);
            let mut runs = vec![Run::EMPTY; Scanner::runs(settings.width)];
            let mut slots = vec![Slot::EMPTY; MOST];
            let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
            // Half a frame of something else.
            for row in other.counts.chunks_exact(frame.width).take(7) {
                scanner.push(row).unwrap();
            }
            scanner.start(settings.thresholds);
            let rows: Vec<&[u16]> = frame.counts.chunks_exact(frame.width).collect();
            let (first, second) = rows.split_at(at.min(rows.len()));
            first.iter().for_each(|row| scanner.push(row).unwrap());
            let state = scanner.suspend();
            let mut scanner = Scanner::resume(&mut runs, &mut slots, state).unwrap();
            second.iter().for_each(|row| scanner.push(row).unwrap());
            let mut found: Vec<Numbers> = scanner.finish().regions().map(|region| numbers(&region)).collect();
            found.sort_unstable();
            prop_assert_eq!(found, frame.regions(connectivity));
        }
    }

    /// A higher hot threshold only takes away: each region left lies within one there was, and what is left of an old
    /// region with its extreme above the threshold keeps that extreme.
    #[test]
    fn a_higher_threshold_only_takes_away(frame in frames(), step in 1u16..400, connectivity in connectivity()) {
        prop_assume!(frame.hot <= u16::MAX - step);
        let higher = Frame { hot: frame.hot + step, ..frame.clone() };
        let (before, after) = (frame.regions(connectivity), higher.regions(connectivity));
        let hot = |list: &[Numbers]| list.iter().copied().filter(|r| r[0] == 1).collect::<Vec<_>>();
        let cold = |list: &[Numbers]| list.iter().copied().filter(|r| r[0] == 2).collect::<Vec<_>>();
        prop_assert_eq!(cold(&before), cold(&after));
        let (before, after) = (hot(&before), hot(&after));
        let within = |inner: &Numbers, outer: &Numbers| {
            inner[1] <= outer[1] && inner[2] >= outer[2] && inner[3] >= outer[3]
                && inner[4] <= outer[4] && inner[5] <= outer[5] && inner[7] <= outer[7]
        };
        for region in &after {
            prop_assert!(before.iter().any(|old| within(region, old)), "{region:?}");
        }
        for old in before.iter().filter(|old| old[7] > u32::from(higher.hot)) {
            // Extreme, column, row.
            let kept = after.iter().filter(|region| region[7..10] == old[7..10]).count();
            prop_assert_eq!(kept, 1, "{:?}", old);
        }
        prop_assert!(higher.foreground() <= frame.foreground());
    }

    /// Eight neighbors join what four do, and more.
    #[test]
    fn eight_neighbors_join_more_than_four(frame in frames()) {
        let (four, eight) = (frame.regions(Connectivity::Four), frame.regions(Connectivity::Eight));
        prop_assert!(eight.len() <= four.len());
        for sign in [1, 2] {
            let area = |list: &[Numbers]| list.iter().filter(|r| r[0] == sign).map(|r| r[1]).sum::<u32>();
            prop_assert_eq!(area(&four), area(&eight));
        }
    }

    /// Regions are delivered strongest first: by counts beyond the threshold, then by the place of the extreme.
    #[test]
    fn order_of_delivery(frame in frames(), capacity in 1usize..200) {
        let (found, _) = frame.scan(Connectivity::Eight, capacity);
        let key = |r: &oddheat_core::regions::Region| (std::cmp::Reverse(r.strength), r.peak_y, r.peak_x);
        prop_assert!(found.is_sorted_by_key(key));
        for r in &found {
            let beyond = if r.sign == Sign::Hot { r.peak - frame.hot } else { frame.cold - r.peak };
            prop_assert_eq!(r.strength, beyond);
        }
    }

    /// Spots that never meet, each of another strength: a full table keeps exactly the strongest and counts the rest.
    #[test]
    fn a_full_table_keeps_exactly_the_strongest_spots(
        order in Just((0u16..60).collect::<Vec<_>>()).prop_shuffle(),
        capacity in 1usize..70,
    ) {
        let mut frame = Frame { width: 40, counts: vec![700; 40 * 12], hot: 1_000, cold: 500 };
        for (place, &strength) in order.iter().enumerate() {
            let at = (place / 10 * 2) * 40 + place % 10 * 4;
            frame.counts[at] = if strength % 3 == 0 { 499 - strength } else { 1_001 + strength };
            frame.counts[at + 1] = frame.counts[at];
        }
        let (found, dropped) = frame.scan(Connectivity::Eight, capacity);
        let strengths: Vec<u16> = found.iter().map(|r| r.strength).collect();
        let wanted: Vec<u16> = (1..=60).rev().take(capacity).collect();
        prop_assert_eq!(strengths, wanted);
        prop_assert_eq!(dropped as usize, 60usize.saturating_sub(capacity));
        prop_assert!(found.iter().all(|r| r.area == 2 && !r.incomplete));
    }

    /// Whatever the table, what it delivers unmarked is exact, the strongest is there, and nothing vanishes uncounted.
    #[test]
    fn a_full_table_never_corrupts_a_kept_region(frame in frames(), capacity in 1usize..30, connectivity in connectivity()) {
        let all = frame.regions(connectivity);
        let (found, dropped) = frame.scan(connectivity, capacity);
        prop_assert!(found.len() <= capacity);
        prop_assert!(found.len() + dropped as usize >= all.len(), "{} + {dropped} of {}", found.len(), all.len());
        for region in found.iter().filter(|region| !region.incomplete) {
            prop_assert!(all.binary_search(&numbers(region)).is_ok(), "{region:?}");
        }
        let strength = |r: &Numbers| if r[0] == 1 { r[7] - u32::from(frame.hot) } else { u32::from(frame.cold) - r[7] };
        let strongest = all.iter().map(strength).max();
        prop_assert_eq!(found.first().map(|r| u32::from(r.strength)), strongest);
    }
}

fn drawn(width: usize, height: usize, hot: impl Fn(usize, usize) -> bool) -> Frame {
    let pixels = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    let counts = pixels.map(|(x, y)| if hot(x, y) { 1_001 + ((x * 7 + y) % 5) as u16 } else { 700 }).collect();
    Frame { width, counts, hot: 1_000, cold: 500 }
}

/// Number of regions with a table of exactly `capacity`, of which nothing may be lost.
fn in_exactly(frame: &Frame, connectivity: Connectivity, capacity: usize) -> usize {
    let (found, dropped) = frame.scan(connectivity, capacity);
    assert_eq!(dropped, 0);
    assert!(found.iter().all(|region| !region.incomplete));
    assert_eq!(found.iter().map(|r| r.area as usize).sum::<usize>(), frame.foreground());
    found.len()
}

#[test]
fn checkerboards() {
    let frame = drawn(64, 48, |x, y| (x + y) % 2 == 0);
    assert_eq!(in_exactly(&frame, Connectivity::Four, 64 * 48 / 2), 64 * 48 / 2);
    // A row opens half as many regions as it has columns, and the next one joins them.
    assert_eq!(in_exactly(&frame, Connectivity::Eight, 32), 1);
    // Both signs: every pixel is a run.
    let counts = frame.counts.iter().map(|&v| if v > 1_000 { v } else { 400 }).collect();
    let both = Frame { counts, ..frame };
    assert_eq!(in_exactly(&both, Connectivity::Eight, 64), 2);
    assert_eq!(in_exactly(&both, Connectivity::Four, 64 * 48), 64 * 48);
}

#[test]
fn combs_need_a_slot_per_tooth() {
    for (width, height) in [(641, 32), (33, 200), (3, 5)] {
        let comb = drawn(width, height, |x, y| x % 2 == 0 || y == height - 1);
        for connectivity in BOTH {
            assert_eq!(in_exactly(&comb, connectivity, width.div_ceil(2)), 1);
        }
    }
}

#[test]
fn spirals_need_a_slot_per_arm() {
    for (width, height) in [(65, 65), (160, 120), (31, 200)] {
        let depth = |x: usize, y: usize| x.min(y).min(width - 1 - x).min(height - 1 - y);
        let arm = |x, y| (depth(x, y) % 2 == 0) != (x == depth(x, y) && y == x + 1);
        for connectivity in BOTH {
            assert_eq!(in_exactly(&drawn(width, height, arm), connectivity, width.div_ceil(2)), 1);
        }
    }
}

#[test]
fn whole_frames_single_rows_columns_and_pixels() {
    for (width, height) in [(1, 1), (1, 700), (700, 1), (1, 65_535), (65_535, 1), (640, 512)] {
        let whole = drawn(width, height, |_, _| true);
        for connectivity in BOTH {
            assert_eq!(in_exactly(&whole, connectivity, 1), 1);
        }
        let region = whole.scan(Connectivity::Eight, 1).0[0];
        let (right, bottom) = (width as u16 - 1, height as u16 - 1);
        assert_eq!((region.x0, region.y0, region.x1, region.y1), (0, 0, right, bottom));
        // Half-way between the first and the last, truncated.
        assert_eq!(region.centroid_x.to_bits(), u32::from(right) << 15);
        assert_eq!(region.centroid_y.to_bits(), u32::from(bottom) << 15);
        let nothing = drawn(width, height, |_, _| false);
        assert_eq!(in_exactly(&nothing, Connectivity::Eight, 1), 0);
    }
}

/// The widest row there can be, full of runs: 32,766 regions at once in the largest table, and two too many.
#[test]
fn the_widest_rows() {
    let dots = |many: usize| drawn(65_535, 3, move |x, y| y == 1 && x % 2 == 0 && x / 2 < many);
    assert_eq!(in_exactly(&dots(MOST), Connectivity::Eight, MOST), MOST);
    let (found, dropped) = dots(MOST + 2).scan(Connectivity::Eight, MOST);
    assert_eq!((found.len(), dropped), (MOST, 2));
    // A run in every column, hot and cold of one strength in turn: twice the regions that any table holds.
    let counts = (0..3 * 65_535u32).map(|i| if i % 65_535 % 2 == 0 { 1_500 } else { 0 }).collect();
    let full = Frame { width: 65_535, counts, hot: 1_000, cold: 500 };
    let (found, dropped) = full.scan(Connectivity::Four, MOST);
    assert_eq!(found.len(), MOST);
    assert!(found.len() + dropped as usize >= 65_535);
    assert!(found.iter().all(|r| !r.incomplete && r.area == 3 && r.x0 == r.x1 && (r.y0, r.y1) == (0, 2)));
    let stripes = drawn(65_535, 4, |_, y| y % 2 == 0);
    assert_eq!(in_exactly(&stripes, Connectivity::Eight, 2), 2);
    let ends = drawn(65_535, 2, |x, _| x == 0 || x == 65_534);
    assert_eq!(in_exactly(&ends, Connectivity::Eight, 2), 2);
}

/// Bytes that a scanner is lent: linear in the width and the regions, and no height anywhere. The sizes are those of
/// this machine; those of devices are in docs/footprint.md.
#[test]
fn memory_does_not_depend_on_the_height() {
    const fn bytes(width: u16, regions: usize) -> usize {
        Scanner::runs(width) * size_of::<Run>() + regions * size_of::<Slot>()
    }
    const BYTES: [usize; 2] = [bytes(160, 64), bytes(640, 256)];
    // The design notes' budgets for scanner and table together.
    const _: () = assert!(BYTES[0] <= 8 * 1024 && BYTES[1] <= 28 * 1024);
    for width in [1u16, 2, 160, 640, 65_535] {
        assert!(Scanner::runs(width) <= 2 * usize::from(width) + 2);
    }
    // As tall as a frame can be, in the memory of a frame of one row.
    let tall = drawn(5, 65_535, |x, y| x == 0 || x == 3 + y % 2);
    assert_eq!(in_exactly(&tall, Connectivity::Eight, 2), 2);
}

#[test]
fn rows_end_where_their_numbers_do() {
    let frame = drawn(1, 65_535, |_, _| true);
    let settings = frame.settings(Connectivity::Eight);
    let (mut runs, mut slots) = ([Run::EMPTY; Scanner::runs(1)], [Slot::EMPTY; 1]);
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
    frame.counts.chunks_exact(1).for_each(|row| scanner.push(row).unwrap());
    assert!(scanner.push(&[1_001]).is_err());
    let found: Vec<Numbers> = scanner.finish().regions().map(|region| numbers(&region)).collect();
    assert_eq!(found, frame.regions(Connectivity::Eight), "a refused row changes nothing");
}
