//! Whole frames by pairs of rows, with every width of vectors that this processor has, against row by row.

use super::super::pairs::Pairs;
use super::super::slot::Image;
use super::super::slots::Slots;
use super::*;
use crate::vectors::{Vectors, Work, on_every_level};
use std::iter::repeat_n;

/// The regions of a frame by pairs of rows; none if it is not taken like this.
struct ByPairs<'f> {
    frame: &'f [u16],
    width: usize,
    connectivity: Connectivity,
    capacity: usize,
}

impl Work for ByPairs<'_> {
    type Output = Option<Vec<Region>>;

    fn run<V: Vectors>(self, vectors: V) -> Option<Vec<Region>> {
        let Self { frame, width, connectivity, capacity } = self;
        let settings = settings(width, connectivity);
        let (mut runs, mut slots) = (vec![Run::EMPTY; Scanner::runs(width as u16)], vec![Slot::EMPTY; capacity]);
        let (lent, table) = (&mut runs[..], &mut slots[..]);
        let mut book = match connectivity {
            Connectivity::Eight => Pairs::<_, true> { settings, runs: lent, slots: table, counts: frame }.run(vectors),
            Connectivity::Four => Pairs::<_, false> { settings, runs: lent, slots: table, counts: frame }.run(vectors),
        }?;
        let last_y = (frame.len() / width).saturating_sub(1) as u16;
        let image = Image { last_x: width as u16 - 1, last_y, thresholds: settings.thresholds };
        let mut slots_of_frame = Slots { slots: &mut slots, book: &mut book, joined: false };
        let count = slots_of_frame.deliver(&Filter::min_area(1), image);
        slots[..count].iter().map(|slot| slot.region(image)).collect()
    }
}

/// Compares; returns on how many levels the frame was taken by pairs of rows.
fn levels_that_agree(frame: &[u16], width: usize, connectivity: Connectivity, capacity: usize) -> usize {
    let (expected, _) = scan(frame, width, connectivity, capacity);
    let levels = on_every_level(|| ByPairs { frame, width, connectivity, capacity });
    let by_pairs: Vec<_> = levels.into_iter().flatten().collect();
    for regions in &by_pairs {
        assert_eq!(regions, &expected);
    }
    by_pairs.len()
}

/// Compares with four and with eight neighbors; returns the lesser number of levels.
fn both_agree(frame: &[u16], width: usize, capacity: usize) -> usize {
    let levels = |connectivity| levels_that_agree(frame, width, connectivity, capacity);
    levels(Connectivity::Four).min(levels(Connectivity::Eight))
}

/// Columns that go on from row to row, now and then with pixels changed: what long shapes, and repeats of them, are.
fn long_shapes() -> impl Strategy<Value = (Vec<u16>, usize)> {
    let line = (0u32..100, 1usize..4, 0u16..6);
    let changes = proptest::collection::vec((0u32..100, 0usize..1_000, 0u16..3), 2..24);
    (32usize..180, proptest::collection::vec(line, 1..200), changes).prop_map(|(half, lines, changes)| {
        let width = 2 * half;
        let level = |level: u16| if level < 4 { 1_001 + level } else { 490 + level };
        let pattern = lines.into_iter().cycle().flat_map(|(gap, thick, strength)| {
            // Mostly a column wide and a column apart.
            let (gap, thick) = if gap < 80 { (1, 1) } else { (gap as usize % 70, thick) };
            repeat_n(700, gap).chain(repeat_n(level(strength), thick))
        });
        // A line of no columns and no gap would not end, but a line is one column wide at least.
        let mut row: Vec<u16> = pattern.take(width).collect();
        let mut frame = Vec::new();
        for (often, at, what) in changes {
            if often < 25 {
                row[at % width] = [700, 1_003, 495][usize::from(what)];
            }
            frame.extend_from_slice(&row);
        }
        (frame, width)
    })
}

proptest! {
    #[test]
    fn runs_of_any_length((frame, width) in wide_frames()) {
        both_agree(&frame, width, 3_000);
    }

    #[test]
    fn lines_that_go_on((frame, width) in long_shapes()) {
        both_agree(&frame, width, 3_000);
    }

    /// Whether pairs give up is their own business; what they give is right.
    #[test]
    fn tables_that_are_nearly_full((frame, width) in long_shapes(), capacity in 1usize..200) {
        both_agree(&frame, width, capacity);
    }
}

#[test]
fn levels_with_vectors_take_pairs() {
    let levels =
        on_every_level(|| ByPairs { frame: &[700; 640], width: 64, connectivity: Connectivity::Four, capacity: 4 })
            .len();
    let frame: Vec<u16> = (0..64 * 9).map(|i| if i % 64 % 6 == 3 { 1_100 } else { 700 }).collect();
    assert!(levels > 1 || !std::is_x86_feature_detected!("avx2"));
    // The first level is that of the build, which may count bits or not.
    assert!(both_agree(&frame, 64, 900) + 1 >= levels);
    // Lines that go on need no more slots than they have, beyond those that the first rows might open.
    assert!(both_agree(&frame, 64, 11) + 1 >= levels);
}

#[test]
fn widths_at_the_limits() {
    for width in [16, 18, 62, 64, 66, 1_982, 1_984, 1_986, 1_985] {
        let frame: Vec<u16> = (0..width * 7)
            .map(|i| if (i * 7 + i / width * 3) % 11 < 4 { 1_001 + (i % 90) as u16 } else { 499 - (i % 3) as u16 })
            .collect();
        both_agree(&frame, width, 32_000);
    }
}

#[test]
fn the_tallest_frame() {
    let frame: Vec<u16> =
        (0..16 * 65_535u32).map(|i| if i % 16 == 5 || i % 4_099 == 0 { 1_100 } else { 700 }).collect();
    both_agree(&frame, 16, 32_000);
}

/// With four neighbors, every pixel of a board is a region, and every column a stretch; half of them are hot.
#[test]
fn boards_are_taken_row_by_row_if_their_stretches_are_too_many() {
    let board = |every: usize| -> Vec<u16> {
        let hot = |x: usize, y: usize| (x + y).is_multiple_of(2) && x.is_multiple_of(every);
        (0..64 * 9).map(|i| if hot(i % 64, i / 64) { 1_100 } else { 700 }).collect()
    };
    assert_eq!(levels_that_agree(&board(1), 64, Connectivity::Four, 900), 0);
    assert!(levels_that_agree(&board(1), 64, Connectivity::Eight, 900) > 0 || !std::is_x86_feature_detected!("popcnt"));
    assert_eq!(both_agree(&board(3), 64, 900), both_agree(&[700; 64 * 9], 64, 900));
}
