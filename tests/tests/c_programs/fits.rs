//! `fits.c` against the core: profiles, a trace, and every fit on them.

use super::metrology::Lines;
use super::scene::{HEIGHT, INPUTS, WIDTH, exposed, scale, surface};
use super::{C11, C99, CPP11, output, program};
use oddheat_core::measure::fit::{
    self, Decay, Edge, Exponential, Fit, Knee, Line, Peak, Undetermined, gaussian_peak, parabola_peak,
};
use oddheat_core::measure::{Moment, Profile, Sample, Trace};
use oddheat_core::radiometry::{Estimate, MeasurementEquation};
use oddheat_tests::toolchain;
use std::fmt::Write as _;

type Points = Vec<(f64, f64)>;

fn print_points(lines: &mut Lines, points: &Points, averaged: u32) {
    writeln!(lines.0, "points {} {averaged}", points.len()).unwrap();
    for &(place, value) in points {
        lines.number("place", place);
        lines.number("value", value);
    }
}

/// The status that C gets.
fn status(reason: Undetermined) -> i32 {
    match reason {
        Undetermined::TooFewPoints => -64,
        Undetermined::NotFinite => -2,
        Undetermined::NotThisForm => -68,
        Undetermined::BelowNoise => -73,
        Undetermined::AtEnd => -74,
        Undetermined::TooShort => -75,
        Undetermined::AsStraight => -76,
        Undetermined::NotDecaying => -77,
        other => panic!("{other:?}"),
    }
}

fn fitted<T>(lines: &mut Lines, name: &str, fit: Fit<T>, print: impl FnOnce(&mut Lines, T)) {
    writeln!(lines.0, "{name} {}", fit.as_ref().err().map_or(0, |&reason| status(reason))).unwrap();
    if let Ok(found) = fit {
        print(lines, found);
    }
}

fn every_fit(lines: &mut Lines, points: &[(f64, f64)], noise: f64) {
    let base = points[points.len() - 1].1;
    let points = points.iter().copied();
    fitted(lines, "line", fit::line(points.clone(), noise), |lines, Line { center, level, slope, .. }| {
        lines.number("center", center);
        lines.estimate("level", level);
        lines.estimate("slope", slope);
    });
    let peak = |lines: &mut Lines, Peak { place, height, width }| {
        lines.estimate("place", place);
        lines.estimate("height", height);
        lines.estimate("width", width);
    };
    fitted(lines, "parabola", parabola_peak(points.clone(), noise), peak);
    fitted(lines, "gaussian", gaussian_peak(points.clone(), base, noise), peak);
    fitted(lines, "edge", fit::edge(points.clone(), noise), |lines, Edge { place, before, behind, width }| {
        lines.estimate("place", place);
        lines.estimate("before", before);
        lines.estimate("behind", behind);
        lines.number("blur", width);
    });
    fitted(lines, "exponential", fit::exponential(points.clone(), noise), |lines, found| {
        let Exponential { end, amplitude, constant } = found;
        lines.estimate("end", end);
        lines.estimate("amplitude", amplitude);
        lines.estimate("constant", constant);
    });
    let decay = fit::decay(points.clone(), Estimate::new(base, noise), noise);
    fitted(lines, "decay", decay, |lines, Decay { height, length }| {
        lines.estimate("height", height);
        lines.estimate("length", length);
    });
    fitted(lines, "knee", fit::knee(points, noise), |lines, Knee { place, value, before, after }| {
        lines.estimate("place", place);
        lines.estimate("value", value);
        lines.estimate("before", before);
        lines.estimate("after", after);
    });
}

fn to_kelvin(points: &Points) -> (Points, f64) {
    let equation = MeasurementEquation::new(&scale(), &surface(0.95)).unwrap();
    let kelvin: Points = points.iter().map(|&(place, counts)| (place, equation.object(counts).unwrap())).collect();
    let mean = kelvin.iter().map(|(_, value)| value).sum::<f64>() / kelvin.len() as f64;
    (kelvin, INPUTS.netd_k * equation.sensitivities(mean).unwrap().apparent)
}

fn profile(lines: &mut Lines, from: (u32, u32), to: (u32, u32), width: u8) {
    let profile = Profile::new(from, to, width, WIDTH as u16, HEIGHT as u16).unwrap();
    let mut samples = vec![Sample::EMPTY; profile.samples()];
    for t in 0..2 {
        for (y, row) in exposed(t).chunks(WIDTH).enumerate() {
            profile.add_row(&mut samples, y as u16, row, 0, 16_383).unwrap();
        }
    }
    let points: Points = profile.points(&samples).collect();
    let pixels = 2 * u32::from(width);
    print_points(lines, &points, pixels);
    every_fit(lines, &points, 1.0);
    let (kelvin, noise) = to_kelvin(&points);
    print_points(lines, &kelvin, pixels);
    lines.number("noise", noise);
    every_fit(lines, &kelvin, noise);
}

fn course(t: u32) -> i32 {
    let value = (0..t).fold(12_000 * 256, |value, _| value - value / 40);
    12_000 * 256 - value + (t * t % 7) as i32 * 16
}

fn trace(lines: &mut Lines) {
    let mut memory = [Moment::EMPTY; 16];
    let mut trace = Trace::new(&mut memory).unwrap();
    (0..90).for_each(|t| trace.add(500 * t, course(t)).unwrap());
    let points: Points = trace.points().collect();
    print_points(lines, &points, trace.frames_each());
    every_fit(lines, &points, 0.2);
    every_fit(lines, &points[..points.len() / 2], 0.0);
    let (kelvin, noise) = to_kelvin(&points);
    lines.number("noise", noise);
    print_points(lines, &kelvin, trace.frames_each());
}

fn drawn(lines: &mut Lines) {
    let points =
        |count: u32, value: &dyn Fn(u32) -> f64| -> Points { (0..count).map(|i| (f64::from(i), value(i))).collect() };
    let bell = [0.0, 1.0, 11.0, 61.0, 135.0, 61.0, 11.0, 1.0, 0.0];
    every_fit(lines, &points(9, &|i| bell[i as usize]), 0.5);
    every_fit(
        lines,
        &points(16, &|i| {
            if i < 7 {
                10.0
            } else if i == 7 {
                14.0
            } else {
                30.0
            }
        }),
        0.1,
    );
    let knee = |i: u32| if i < 9 { 2.0 * f64::from(i) } else { 16.0 - 1.5 * (f64::from(i) - 8.0) };
    every_fit(lines, &points(16, &knee), 0.1);
    let mut decay = points(16, &|i| (0..i).fold(64.0, |value, _| value * 0.75));
    every_fit(lines, &decay, 0.1);
    decay[15].1 = 0.0;
    every_fit(lines, &decay, 0.1);
}

#[test]
fn fits_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let mut lines = Lines::default();
    profile(&mut lines, (2 << 8, 16 << 8), (45 << 8, 16 << 8), 3);
    profile(&mut lines, (1_000, 700), (6_200, 7_300), 1);
    profile(&mut lines, (24 << 8, 3 << 8), (24 << 8, 15 << 8), 5);
    trace(&mut lines);
    drawn(&mut lines);
    // Every fit says yes at least once, and no.
    for name in ["line", "parabola", "gaussian", "edge", "exponential", "decay", "knee"] {
        assert!(lines.0.contains(&format!("\n{name} 0\n")), "{name} {}", lines.0);
        assert!(name == "line" || lines.0.contains(&format!("\n{name} -")), "{name}");
    }
    for (dialect, variant) in [(C99, "fits-c99"), (C11, "fits-c11"), (CPP11, "fits-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["fits.c"], variant)), lines.0, "{variant}");
    }
}
