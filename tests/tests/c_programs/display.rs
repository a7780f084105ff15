//! `display.c` against the core: every byte of every picture.

use super::metrology::Lines;
use super::scene::{WIDTH, exposed, scale, surface};
use super::{C11, C99, CPP11, output, program};
use oddheat_core::background::{Histogram, Window};
use oddheat_core::image::{
    AutoRange, AutoRangeSettings, CIVIDIS, Enlarger, GRAY, Palette, Palette565, ToneScale, VIK, VIRIDIS, repeat_row,
};
use oddheat_core::radiometry::MeasurementEquation;
use oddheat_core::sensor::CountRange;
use oddheat_tests::toolchain;
use std::collections::HashSet;
use std::fmt::Write as _;

const ZOOM: u16 = 3;
const WIDE: usize = WIDTH * ZOOM as usize;

/// Pixels of a wide row of counts; format 0 is tones, 1 RGB565, 2 RGB888.
fn painted(wide: &[u16], scale: &ToneScale, palette: &Palette, format: u32) -> Vec<u8> {
    let mut tones = vec![0; WIDE];
    scale.row(wide, &mut tones).unwrap();
    let mut pixels = vec![0; WIDE * (format as usize + 1)];
    match format {
        0 => return tones,
        1 => Palette565::of(palette).row(&tones, &mut pixels).unwrap(),
        _ => palette.row(&tones, &mut pixels).unwrap(),
    }
    pixels
}

fn print_row(lines: &mut Lines, pixels: &[u8]) {
    let hash = pixels.iter().fold(2_166_136_261u32, |hash, &byte| (hash ^ u32::from(byte)).wrapping_mul(16_777_619));
    writeln!(lines.0, "row {hash:08x}").unwrap();
}

fn shown(lines: &mut Lines, smooth: bool) {
    let range = CountRange::new(0, 16_383).unwrap();
    let mut tones = ToneScale::new(1, 16_382, range).unwrap();
    let settings = AutoRangeSettings { thousandths: (20, 980), least_span: 100, slowness: 1 };
    let mut auto = AutoRange::new(range, settings).unwrap();
    let mut bins = [0; 128];
    let window = Window::of(range, bins.len());
    let mut histogram = Histogram::new(&mut bins, window).unwrap();
    let (mut before, mut enlarged) = ([0; WIDTH], [0; WIDE]);
    let mut enlarger = Enlarger::new(&mut before, &mut enlarged, ZOOM, range).unwrap();
    for t in 0..12 {
        if t == 5 {
            tones = ToneScale::new(7_100, 9_800, range).unwrap();
        } else if t == 8 {
            auto.start();
        }
        let palette = [&CIVIDIS, &VIRIDIS, &GRAY, &VIK][t % 4];
        let paint = |wide: &[u16]| painted(wide, &tones, palette, t as u32 % 3);
        for (y, row) in exposed(t as u32).chunks(WIDTH).enumerate() {
            if smooth {
                enlarger.push(row, |wide| print_row(lines, &paint(wide))).unwrap();
            } else {
                let mut wide = [0; WIDE];
                repeat_row(row, ZOOM, &mut wide).unwrap();
                (0..ZOOM).for_each(|_| print_row(lines, &paint(&wide)));
            }
            if y % 2 == 0 {
                histogram.push(row, range);
            }
        }
        if smooth {
            enlarger.finish(|wide| print_row(lines, &paint(wide)));
        }
        if !(5..8).contains(&t) {
            tones = auto.follow(&histogram).unwrap();
        }
        histogram.start(histogram.next_window(range));
        let (low, high) = tones.ends();
        writeln!(lines.0, "range {low} {high}").unwrap();
    }
}

#[test]
fn display_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let mut lines = Lines::default();
    shown(&mut lines, false);
    shown(&mut lines, true);
    for tone in (0..=255).step_by(51) {
        let [r, g, b] = VIK.rgb888(tone);
        writeln!(lines.0, "color {r:02x}{g:02x}{b:02x}").unwrap();
    }
    let equation = MeasurementEquation::new(&scale(), &surface(0.95)).unwrap();
    for celsius in (-20..120).step_by(20) {
        lines.number("counts", equation.counts(f64::from(celsius) + 273.15).unwrap());
    }
    // 24 pictures of 96 rows, in which there is something to be seen.
    let rows: Vec<&str> = lines.0.lines().filter(|line| line.starts_with("row")).collect();
    assert_eq!(rows.len(), 24 * 96);
    assert!(rows.iter().collect::<HashSet<_>>().len() > 1_000);
    for (dialect, variant) in [(C99, "display-c99"), (C11, "display-c11"), (CPP11, "display-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["display.c"], variant)), lines.0, "{variant}");
    }
}
