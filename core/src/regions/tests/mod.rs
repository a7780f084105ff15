//! The scanner against a flood fill over the whole frame, which is written for clarity and shares no code with it.

mod detail;
#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod pairs;

use super::*;
use crate::radiometry::Thresholds;
use proptest::prelude::*;
use std::vec;
use std::vec::Vec;

const THRESHOLDS: (u16, u16) = (1_000, 500);

fn settings(width: usize, connectivity: Connectivity) -> Settings {
    let thresholds = Thresholds::new(THRESHOLDS.0, THRESHOLDS.1).unwrap();
    Settings { width: width as u16, thresholds, connectivity, min_area: 1 }
}

fn scan(frame: &[u16], width: usize, connectivity: Connectivity, capacity: usize) -> (Vec<Region>, u32) {
    let mut runs = vec![Run::EMPTY; Scanner::runs(width as u16)];
    let mut slots = vec![Slot::EMPTY; capacity];
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings(width, connectivity)).unwrap();
    for row in frame.chunks(width) {
        scanner.push(row).unwrap();
    }
    let found = scanner.finish();
    assert_eq!(found.len(), found.regions().count());
    let (regions, dropped): (Vec<_>, u32) = (found.regions().collect(), found.dropped());
    let thresholds = settings(width, connectivity).thresholds;
    let at_once = scanner.frame(thresholds, frame, &Filter::min_area(1)).unwrap();
    assert_eq!((at_once.regions().collect::<Vec<_>>(), at_once.dropped()), (regions.clone(), dropped));
    (regions, dropped)
}

/// Every region by flood fill, strongest first.
fn by_flood_fill(frame: &[u16], width: usize, connectivity: Connectivity) -> Vec<Region> {
    let height = frame.len() / width;
    let sign_of = |v: u16| match v {
        v if v > THRESHOLDS.0 => Some(Sign::Hot),
        v if v < THRESHOLDS.1 => Some(Sign::Cold),
        _ => None,
    };
    let mut seen = vec![false; frame.len()];
    let mut regions = Vec::new();
    for start in 0..frame.len() {
        let Some(sign) = sign_of(frame[start]).filter(|_| !seen[start]) else { continue };
        let mut pixels = Vec::new();
        let mut stack = vec![start];
        seen[start] = true;
        while let Some(i) = stack.pop() {
            pixels.push(i);
            let (x, y) = ((i % width) as i64, (i / width) as i64);
            for (dx, dy) in [(-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1)] {
                let (nx, ny) = (x + dx, y + dy);
                let corner = dx != 0 && dy != 0;
                let outside = nx < 0 || ny < 0 || nx >= width as i64 || ny >= height as i64;
                if outside || (corner && connectivity == Connectivity::Four) {
                    continue;
                }
                let n = ny as usize * width + nx as usize;
                if !seen[n] && sign_of(frame[n]) == Some(sign) {
                    seen[n] = true;
                    stack.push(n);
                }
            }
        }
        regions.push(describe(frame, width, sign, pixels));
    }
    regions.sort_by_key(|r| (core::cmp::Reverse(r.strength), r.peak_y, r.peak_x, r.sign));
    regions
}

fn describe(frame: &[u16], width: usize, sign: Sign, mut pixels: Vec<usize>) -> Region {
    pixels.sort_unstable();
    let strength = |i: &usize| match sign {
        Sign::Hot => frame[*i] - THRESHOLDS.0,
        Sign::Cold => THRESHOLDS.1 - frame[*i],
    };
    let strongest = pixels.iter().map(strength).max().unwrap();
    let peak = pixels.iter().copied().find(|i| strength(i) == strongest).unwrap();
    let xs = || pixels.iter().map(|i| (i % width) as u64);
    let ys = || pixels.iter().map(|i| (i / width) as u64);
    let n = pixels.len() as u128;
    let mean = |sum: u64, bits: u32| ((u128::from(sum) << bits) / n) as u32;
    Region {
        sign,
        area: pixels.len() as u32,
        x0: xs().min().unwrap() as u16,
        y0: ys().min().unwrap() as u16,
        x1: xs().max().unwrap() as u16,
        y1: ys().max().unwrap() as u16,
        peak: frame[peak],
        peak_x: (peak % width) as u16,
        peak_y: (peak / width) as u16,
        centroid_x: fixed::types::U16F16::from_bits(mean(xs().sum(), 16)),
        centroid_y: fixed::types::U16F16::from_bits(mean(ys().sum(), 16)),
        mean: fixed::types::U24F8::from_bits(mean(pixels.iter().map(|&i| u64::from(frame[i])).sum(), 8)),
        strength: strongest,
        incomplete: false,
        touches_edge: pixels.iter().any(|i| {
            let (x, y) = (i % width, i / width);
            x == 0 || y == 0 || x == width - 1 || y == frame.len() / width - 1
        }),
    }
}

/// Frames of few levels, so that ties, touching signs and merges are common.
fn frames() -> impl Strategy<Value = (Vec<u16>, usize)> {
    (1usize..40, 1usize..20, 0u32..100).prop_flat_map(|(width, height, share)| {
        let pixel = (0u32..100, 0u16..6).prop_map(move |(lot, level)| match level {
            _ if lot >= share => 700 + level,
            0..=3 => 1_001 + level * 7,
            _ => 490 + level,
        });
        (proptest::collection::vec(pixel, width * height), Just(width))
    })
}

/// Rows of more than a word of bits; runs of a few pixels or of many.
fn wide_frames() -> impl Strategy<Value = (Vec<u16>, usize)> {
    let shape = (30usize..160, 1usize..9, 0u32..100, 1u32..40);
    shape.prop_flat_map(|(half, height, share, length)| {
        let run = (0u32..100, 0u16..6, 1..=length).prop_map(move |(lot, level, length)| {
            let v = match level {
                _ if lot >= share => 700,
                0..=3 => 1_001 + level * 7,
                _ => 490 + level,
            };
            (v, length as usize)
        });
        let pixels = 2 * half * height;
        let runs = proptest::collection::vec(run, pixels);
        let spread = move |runs: Vec<(u16, usize)>| {
            runs.into_iter().flat_map(|(v, length)| std::iter::repeat_n(v, length)).take(pixels).collect()
        };
        (runs.prop_map(spread), Just(2 * half))
    })
}

proptest! {
    #[test]
    fn equals_a_flood_fill_in_wide_frames((frame, width) in wide_frames()) {
        let (found, dropped) = scan(&frame, width, Connectivity::Eight, 3_000);
        prop_assert_eq!(found, by_flood_fill(&frame, width, Connectivity::Eight));
        prop_assert_eq!(dropped, 0);
    }

    #[test]
    fn equals_a_flood_fill((frame, width) in frames(), eight in any::<bool>()) {
        let connectivity = if eight { Connectivity::Eight } else { Connectivity::Four };
        let (found, dropped) = scan(&frame, width, connectivity, 900);
        prop_assert_eq!(found, by_flood_fill(&frame, width, connectivity));
        prop_assert_eq!(dropped, 0);
    }

    /// With a small table: unmarked regions are exact, and nothing stronger than the weakest delivered is missing.
    #[test]
    fn a_full_table_keeps_the_strongest((frame, width) in frames(), capacity in 1usize..12, eight in any::<bool>()) {
        let connectivity = if eight { Connectivity::Eight } else { Connectivity::Four };
        let all = by_flood_fill(&frame, width, connectivity);
        let (found, dropped) = scan(&frame, width, connectivity, capacity);
        prop_assert!(found.len() <= capacity);
        prop_assert!(found.len() + dropped as usize >= all.len());
        if all.len() > capacity {
            prop_assert!(dropped > 0);
        }
        for region in found.iter().filter(|region| !region.incomplete) {
            prop_assert!(all.contains(region), "{:?}", region);
        }
        let delivered = |r: &Region| found.iter().any(|f| f.sign == r.sign && (f.peak_x, f.peak_y) == (r.peak_x, r.peak_y));
        if let (Some(strongest), Some(first)) = (all.first(), found.first()) {
            prop_assert_eq!(strongest.strength, first.strength);
            prop_assert!(all.iter().filter(|r| r.strength == strongest.strength).any(delivered));
        }
    }

    #[test]
    fn areas_add_up_to_the_foreground((frame, width) in frames()) {
        let foreground = frame.iter().filter(|&&v| v > THRESHOLDS.0 || v < THRESHOLDS.1).count() as u32;
        let (found, _) = scan(&frame, width, Connectivity::Eight, 900);
        prop_assert_eq!(found.iter().map(|r| r.area).sum::<u32>(), foreground);
    }
}

/// A picture as text: `#` hot, `o` cold, the rest ordinary.
fn picture(text: &str) -> (Vec<u16>, usize) {
    let rows: Vec<&str> = text.split_whitespace().collect();
    let count = |c| match c {
        '#' => 1_010,
        'o' => 400,
        _ => 700,
    };
    (rows.concat().chars().map(count).collect(), rows[0].len())
}

#[test]
fn corners_join_with_eight_neighbors_only() {
    let (frame, width) = picture(".##.. ..#.. ...#. .#..#");
    let areas = |connectivity| scan(&frame, width, connectivity, 8).0.iter().map(|r| r.area).collect::<Vec<_>>();
    assert_eq!(areas(Connectivity::Eight), [5, 1]);
    assert_eq!(areas(Connectivity::Four), [3, 1, 1, 1]);
}

#[test]
fn hot_and_cold_that_touch_stay_apart() {
    let (frame, width) = picture("#o#o o#o# #o#o");
    let (found, _) = scan(&frame, width, Connectivity::Four, 16);
    assert_eq!(found.len(), 12);
    let (found, _) = scan(&frame, width, Connectivity::Eight, 16);
    assert_eq!(found.iter().map(|r| (r.sign, r.area)).collect::<Vec<_>>(), [(Sign::Cold, 6), (Sign::Hot, 6)]);
}

#[test]
fn a_comb_closed_at_the_bottom_is_one_region() {
    let (frame, width) = picture("#.#.#.#.# #.#.#.#.# #########");
    let (found, _) = scan(&frame, width, Connectivity::Four, 5);
    assert_eq!(found.iter().map(|r| (r.area, r.x0, r.x1, r.y1)).collect::<Vec<_>>(), [(19, 0, 8, 2)]);
}

/// The region test image of the radiometry notes, section 8 (computed there with scikit-image and OpenCV).
#[test]
fn region_test_image_of_the_notes() {
    let (width, height) = (10, 8);
    let mut frame = vec![0u16; width * height];
    let mut set = |rows: std::ops::RangeInclusive<usize>, columns: std::ops::RangeInclusive<usize>, value| {
        for y in rows {
            for x in columns.clone() {
                frame[y * width + x] = value;
            }
        }
    };
    set(1..=2, 1..=3, 500);
    set(3..=3, 4..=4, 600);
    set(5..=7, 6..=8, 800);
    set(6..=6, 7..=7, 900);
    set(0..=0, 9..=9, 700);
    let count = |connectivity| {
        let mut runs = vec![Run::EMPTY; Scanner::runs(10)];
        let mut slots = [Slot::EMPTY; 8];
        let thresholds = Thresholds::new(0, 0).unwrap();
        let settings = Settings { width: 10, thresholds, connectivity, min_area: 1 };
        let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
        frame.chunks(width).for_each(|row| scanner.push(row).unwrap());
        scanner.finish().regions().collect::<Vec<_>>()
    };
    assert_eq!(count(Connectivity::Four).len(), 4);
    let eight = count(Connectivity::Eight);
    assert_eq!(eight.len(), 3);
    let joined = eight.iter().find(|r| r.area == 7).unwrap();
    assert_eq!((joined.x0, joined.y0, joined.x1, joined.y1, joined.peak), (1, 1, 4, 3, 600));
    assert!((joined.centroid_y.to_num::<f64>() - 1.7143).abs() < 5e-5);
    assert!((joined.centroid_x.to_num::<f64>() - 2.2857).abs() < 5e-5);
    assert!((joined.mean.to_num::<f64>() - 514.2857).abs() < 4e-3);
    let block = eight.iter().find(|r| r.area == 9).unwrap();
    assert_eq!((block.peak_x, block.peak_y), (7, 6));
    // The 500 block has no highest pixel: the first in raster order is ours to define.
    let four = count(Connectivity::Four);
    let tied = four.iter().find(|r| r.area == 6).unwrap();
    assert_eq!((tied.peak_x, tied.peak_y), (1, 1));
}

#[test]
fn pushing_after_finish_begins_a_new_frame() {
    let mut runs = [Run::EMPTY; Scanner::runs(3)];
    let mut slots = [Slot::EMPTY; 2];
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings(3, Connectivity::Eight)).unwrap();
    for _ in 0..3 {
        scanner.push(&[700, 1_200, 700]).unwrap();
        scanner.push(&[700, 1_300, 700]).unwrap();
        let regions: Vec<_> = scanner.finish().regions().collect();
        assert_eq!(scanner.finish().regions().collect::<Vec<_>>(), regions);
        assert_eq!((regions.len(), regions[0].area, regions[0].peak_y), (1, 2, 1));
    }
    assert_eq!(scanner.push(&[0; 4]), Err(crate::Error::WrongLength));
}

#[test]
fn the_widest_row_and_its_extremes_fit() {
    let width = usize::from(u16::MAX);
    let row: Vec<u16> = (0..width).map(|x| if x % 2 == 0 { u16::MAX } else { 0 }).collect();
    let mut runs = vec![Run::EMPTY; Scanner::runs(u16::MAX)];
    let mut slots = vec![Slot::EMPTY; 4];
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings(width, Connectivity::Eight)).unwrap();
    for _ in 0..3 {
        scanner.push(&row).unwrap();
    }
    let found = scanner.finish();
    // Without corners every column is a region of its own; the table holds the first four of the strongest.
    assert_eq!(found.len(), 4);
    assert!(found.dropped() > 0);
}

#[test]
fn a_frame_of_other_than_whole_rows_is_refused() {
    let (mut runs, mut slots) = ([Run::EMPTY; Scanner::runs(4)], [Slot::EMPTY; 4]);
    let settings = settings(4, Connectivity::Eight);
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
    scanner.push(&[700, 1_001, 700, 700]).unwrap();
    for counts in [vec![1_001; 7], vec![700; 4 * 65_536]] {
        assert_eq!(scanner.frame(settings.thresholds, &counts, &Filter::ALL).unwrap_err(), crate::Error::WrongLength);
    }
    assert_eq!((scanner.rows(), scanner.finish().len()), (1, 1));
    assert_eq!(scanner.frame(settings.thresholds, &[], &Filter::ALL).unwrap().len(), 0);
}
