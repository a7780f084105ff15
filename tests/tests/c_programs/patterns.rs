//! `patterns.c` against the core: lines, rows of items, twins, before/after, the local level.

use super::metrology::Lines;
use super::{C11, C99, CPP11, output, program};
use oddheat_core::background::{BandBins, GridSettings, LevelBlock, LocalLevel};
use oddheat_core::measure::{Blob, Block, Change, Lengthwise, Shape, When, find_row};
use oddheat_core::sensor::CountRange;
use oddheat_tests::{placed, toolchain};
use std::fmt::Write as _;

const WIDTH: usize = 96;
const HEIGHT: usize = 72;
const SIDE: u16 = 12;

/// As in the program.
fn scene(x: i32, y: i32, with_spots: bool) -> u16 {
    let along = (32 * y + x) / 32;
    let line = along % 9 < 3 && (9..63).contains(&along) && along / 9 != 3;
    let round = |cx: i32, cy: i32| (x - cx) * (x - cx) + 2 * (y - cy) * (y - cy) < 150;
    let shown = if with_spots { round(20, 30) || round(77, 29) } else { line };
    (7_000 + x + 2 * y + (x * 7 + y * 5) % 11 + if shown { 300 } else { 0 }) as u16
}

fn frame(of: impl Fn(i32, i32) -> u16) -> Vec<u16> {
    (0..HEIGHT as i32).flat_map(|y| (0..WIDTH as i32).map(move |x| (x, y))).map(|(x, y)| of(x, y)).collect()
}

fn combs(lines: &mut Lines, frame: &[u16], x1: u16, lengthwise: Lengthwise) -> usize {
    let area = Shape::Box { x0: 4, y0: 4, x1, y1: 67 };
    let found = placed::find_comb(frame, WIDTH as u16, area, lengthwise).unwrap();
    lines.estimate("pitch", found.pitch);
    lines.estimate("slant", found.slant);
    writeln!(lines.0, "comb {} {}", found.confidence, found.lines.len()).unwrap();
    for line in &found.lines {
        lines.number("place", line.place);
        lines.number("contrast", line.contrast);
        writeln!(lines.0, "present {}", u8::from(line.present)).unwrap();
    }
    found.lines.iter().filter(|line| !line.present).count()
}

fn items(lines: &mut Lines) {
    let blobs: Vec<Blob> = (0..6u16)
        .map(|i| {
            let x0 = 5 + 12 * if i < 3 { i } else { i + 1 } + i % 2;
            Blob::of_box(x0, 30 + i, x0 + 4, 36 + i)
        })
        .collect();
    let row = find_row(&blobs).unwrap();
    assert_eq!((row.places, row.filled), (7, 0b111_0111));
    lines.number("first x", row.first.0);
    lines.number("first y", row.first.1);
    lines.estimate("step x", row.step.0);
    lines.estimate("step y", row.step.1);
    writeln!(lines.0, "items {} {} {}", row.places, row.filled, row.confidence).unwrap();
}

fn differences(lines: &mut Lines) {
    let change = Change::new(WIDTH as u16, HEIGHT as u16, 2).unwrap();
    let mut blocks = vec![Block::EMPTY; change.blocks()];
    for when in [When::Before, When::After] {
        let after = |x: i32| if when == When::After && x >= 50 { x as u16 / 3 } else { 0 };
        let frame = frame(|x, y| scene(x, y, false) + after(x));
        for (y, row) in placed::rows(&frame, WIDTH as u16) {
            change.add_row(&mut blocks, when, y, row, (0, u16::MAX)).unwrap();
        }
    }
    let mut row = vec![0; change.columns()];
    for y in (0..change.rows()).step_by(5) {
        change.difference_row(&blocks, y, 3, &mut row).unwrap();
        row.iter().for_each(|counts| writeln!(lines.0, "change {counts}").unwrap());
    }
}

fn local_level(lines: &mut Lines, frame: &[u16]) {
    let settings = GridSettings { width: WIDTH as u16, height: HEIGHT as u16, side: SIDE, finest: 0 };
    let mut blocks = vec![LevelBlock::EMPTY; settings.blocks()];
    let mut bands = vec![BandBins::EMPTY; settings.bands()];
    let range = CountRange::new(0, u16::MAX).unwrap();
    let mut local = LocalLevel::new(&mut blocks, &mut bands, range, settings).unwrap();
    for _ in 0..9 {
        placed::rows(frame, WIDTH as u16).for_each(|(_, row)| local.push(row).unwrap());
        writeln!(lines.0, "settled {}", u8::from(local.is_settled())).unwrap();
    }
    for (y, row) in placed::rows(frame, WIDTH as u16).step_by(9) {
        let mut row = row.to_vec();
        local.correct_row(y, 7_000, &mut row).unwrap();
        row.iter().step_by(7).for_each(|counts| writeln!(lines.0, "corrected {counts}").unwrap());
    }
}

#[test]
fn patterns_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let mut lines = Lines::default();
    let (along, upright) = (frame(|x, y| scene(x, y, false)), frame(|x, y| scene(y, x, false)));
    let spots = frame(|x, y| scene(x, y, true));
    // The cold line is told, whichever way the lines run.
    assert_eq!(combs(&mut lines, &along, 91, Lengthwise::Rows), 1);
    assert_eq!(combs(&mut lines, &upright, 71, Lengthwise::Columns), 1);
    items(&mut lines);
    let boxes = [(4, 37), (58, 91)].map(|(x0, x1)| Shape::Box { x0, y0: 14, x1, y1: 47 });
    let found = placed::register(&spots, WIDTH as u16, boxes, true, 6).unwrap().unwrap();
    writeln!(lines.0, "shift {} {} {}", found.dx_q8, found.dy_q8, found.confidence).unwrap();
    differences(&mut lines);
    local_level(&mut lines, &upright);
    assert!(lines.0.contains("settled 0\n") && lines.0.contains("settled 1\n"), "both states are seen");
    for (dialect, variant) in [(C99, "patterns-c99"), (C11, "patterns-c11"), (CPP11, "patterns-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["patterns.c"], variant)), lines.0, "{variant}");
    }
}
