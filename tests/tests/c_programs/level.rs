//! `level.c` against the core: level, noise, split, quantiles and thresholds.

use super::metrology::Lines;
use super::scene::{HEIGHT, WIDTH, exposed, scale, surface};
use super::{C11, C99, CPP11, output, program};
use oddheat_core::background::{Detection, DetectionRule, Histogram, NoiseMeter, Window};
use oddheat_core::radiometry::{MeasurementEquation, Table, Thresholds};
use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
use oddheat_core::sensor::CountRange;
use oddheat_core::units::{Delta, Kelvin};
use oddheat_tests::toolchain;
use std::collections::HashSet;
use std::fmt::Write as _;

fn print_figures(lines: &mut Lines, level: &Histogram<'_>, noise: &NoiseMeter<'_>) -> (u32, u32) {
    let (median, deviation, sigma) = (level.quantile_q8(500), level.deviation_q8(), level.sigma_q8());
    let (noise, split) = (noise.sigma_q8(), level.split());
    let known = u8::from(median.is_some())
        + 2 * u8::from(sigma.is_some())
        + 4 * u8::from(noise.is_some())
        + 8 * u8::from(split.is_some());
    let (below, above) = level.outside();
    let or = Option::unwrap_or_default;
    let (upper, threshold, separability) =
        split.map_or((0, 0, 0), |split| (split.upper, split.threshold, split.separability));
    writeln!(
        lines.0,
        "figures {known} {} {below} {above} {} {} {} {} {upper} {threshold} {separability}",
        level.readings(),
        or(median),
        or(deviation),
        or(sigma),
        or(noise),
    )
    .unwrap();
    for thousandths in (0..=1_000).step_by(125) {
        match level.quantile_q8(thousandths) {
            Some(counts) => writeln!(lines.0, "quantile 0 {counts}").unwrap(),
            None => writeln!(lines.0, "quantile -69 0").unwrap(),
        }
    }
    (or(median), or(noise))
}

fn regions(lines: &mut Lines, frame: &[u16], thresholds: Thresholds) {
    let (mut runs, mut slots) = (vec![Run::EMPTY; Scanner::runs(WIDTH as u16)], [Slot::EMPTY; 4]);
    let settings = Settings { width: WIDTH as u16, thresholds, connectivity: Connectivity::Eight, min_area: 0 };
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
    frame.chunks(WIDTH).for_each(|row| scanner.push(row).unwrap());
    let found = scanner.finish();
    let first = found.regions().next().unwrap();
    writeln!(lines.0, "regions {} {} {}", found.len(), first.area, first.strength).unwrap();
}

#[test]
fn level_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let mut lines = Lines::default();
    let range = CountRange::new(0, 16_383).unwrap();
    let (mut bins, mut noise_bins) = ([0; 64], [0; 32]);
    let window = Window::of(range, bins.len());
    let mut level = Histogram::new(&mut bins, window).unwrap();
    let mut noise = NoiseMeter::new(&mut noise_bins, 0).unwrap();
    let table = Table::new(&MeasurementEquation::new(&scale(), &surface(0.95)).unwrap(), u16::MAX).unwrap();
    let milli = |mk: f64| Delta::from_f64(mk / 1_000.0);
    let usual = DetectionRule::DEFAULT;
    let rules = [
        (usual, 0.0),
        (DetectionRule { sigmas: 20, frames: 4, floor: milli(1.0), ..usual }, 0.0),
        (DetectionRule { floor: milli(100.0), emissivity_thousandths: 200, ..usual }, 280.15),
    ];
    let (mut last, mut terms) = (Thresholds::NONE, HashSet::new());
    for t in 0..4 {
        for y in (0..HEIGHT).step_by(2) {
            let frame = exposed(t);
            let row = &frame[y * WIDTH..(y + 1) * WIDTH];
            level.push(row, range);
            noise.push(row, range);
        }
        let (median, sigma) = print_figures(&mut lines, &level, &noise);
        for (rule, reflected) in rules {
            let found = rule.thresholds(&table, median, sigma, Kelvin::from_f64(reflected)).unwrap();
            let Detection { thresholds, difference, by } = found;
            let (bits, hot, cold) = (difference.0.to_bits(), thresholds.hot(), thresholds.cold());
            writeln!(lines.0, "detection {bits} {} {hot} {cold}", by.code()).unwrap();
            last = thresholds;
            terms.insert(by.code());
        }
        level.start(level.next_window(range));
        noise.start();
    }
    regions(&mut lines, &exposed(3), last);
    assert!(terms.len() == 3 && lines.0.contains("figures 15 "), "each part of the rule decides once: {terms:?}");
    for (dialect, variant) in [(C99, "level-c99"), (C11, "level-c11"), (CPP11, "level-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["level.c"], variant)), lines.0, "{variant}");
    }
}
