//! `tools.c` against the core: every statistic, area, reading and like item.

use super::metrology::Lines;
use super::scene::{HEIGHT, INPUTS, WIDTH, exposed, scale, share, surface};
use super::{C11, C99, CPP11, output, program};
use oddheat_core::measure::{Above, Item, Measurement, Polygon, Reading, Shape, Statistic, against_others};
use oddheat_core::radiometry::{Estimate, MeasurementEquation};
use oddheat_core::units::{Delta, Kelvin};
use oddheat_tests::toolchain;
use std::fmt::Write as _;

const SATURATED: u16 = 16_383;
const VERTICES: [(u16, u16); 5] = [(4, 4), (30, 2), (40, 20), (20, 30), (2, 24)];

/// A tool of the C program: its shape (the polygon where there is none), emissivity, temperature of the area.
struct Tool {
    shape: Option<Shape>,
    equation: MeasurementEquation,
    emissivity_u: f64,
    limits: Option<[u16; 3]>,
    measurement: Measurement,
    above: Option<Above>,
    frame_mean: u32,
}

impl Tool {
    fn new(shape: Option<Shape>, emissivity: (f64, f64), above_u: Option<Option<f64>>) -> Self {
        let equation = MeasurementEquation::new(&scale(), &surface(emissivity.0)).unwrap();
        let emissivity_u = share(emissivity.1);
        let limits = above_u.map(|stated| {
            let kelvin = Kelvin::from_f64(305.15).to_f64();
            let at = || Reading::at(kelvin, 0.0, &equation, emissivity_u).unwrap().standard_uncertainty(&INPUTS);
            let u = stated.unwrap_or_else(at);
            [kelvin - u, kelvin, kelvin + u].map(|kelvin| equation.counts(kelvin).unwrap().floor() as u16)
        });
        let above = None;
        Self { shape, equation, emissivity_u, limits, measurement: Measurement::EMPTY, above, frame_mean: 0 }
    }

    fn frame(&mut self, t: u32) {
        let polygon = Polygon::placed_in(&VERTICES, WIDTH as u16, HEIGHT as u16).unwrap();
        self.above = self.limits.map(|[perhaps, at, surely]| Above::new(perhaps, at, surely).unwrap());
        for (y, row) in exposed(t).chunks(WIDTH).enumerate() {
            let y = y as u16;
            match self.shape {
                Some(shape) => {
                    self.measurement.add_row(shape, y, row, 0, SATURATED);
                    self.above.iter_mut().for_each(|above| above.add_row(shape, y, row));
                }
                None => {
                    self.measurement.add_spans(&polygon.spans(y), row, 0, SATURATED);
                    self.above.iter_mut().for_each(|above| above.add_spans(|y| polygon.spans(y), y, row));
                }
            }
        }
        self.frame_mean = self.measurement.end_frame(100 * t).unwrap();
    }

    fn print(&self, index: usize, lines: &mut Lines) {
        let m = &self.measurement;
        let summary = m.summary(&self.equation, &INPUTS, self.emissivity_u).unwrap();
        let (frames, rejected) = (m.tally().means().frames(), m.tally().rejected());
        writeln!(lines.0, "tool {index} {frames} {} {rejected}", summary.count).unwrap();
        let q16 = |kelvin: f64| Delta::from_f64(kelvin).0.to_bits();
        let mut kelvin = String::new();
        for reading in [&summary.mean, &summary.median, &summary.minimum, &summary.maximum] {
            write!(kelvin, " {} {}", q16(reading.kelvin), q16(reading.standard_uncertainty(&INPUTS))).unwrap();
        }
        writeln!(lines.0, "kelvin{kelvin} {}", q16(summary.deviation_k)).unwrap();
        match self.above.map(|above| above.area()) {
            None => writeln!(lines.0, "area 0 0 0").unwrap(),
            Some(area) => {
                let u = (area.uncertainty() * 256.0).round() as u32;
                writeln!(lines.0, "area {} {} {u}", if area.at_border { 2 } else { 1 }, area.pixels).unwrap();
            }
        }
        writeln!(lines.0, "frame {}", self.frame_mean).unwrap();
    }
}

fn tools() -> [Tool; 6] {
    let usual = (0.95, 0.02);
    let (x, y) = (24, 16);
    [
        Tool::new(Some(Shape::Spot { x: 40, y: 20, size: 5 }), usual, None),
        Tool::new(Some(Shape::Box { x0: 2, y0: 3, x1: 45, y1: 28 }), usual, Some(None)),
        Tool::new(Some(Shape::Ring { x, y, inner: 5, outer: 12 }), (0.8, 0.05), None),
        Tool::new(Some(Shape::Sector { x, y, inner: 3, outer: 14, index: 2, of: 7 }), usual, Some(Some(1.5))),
        Tool::new(Some(Shape::Ellipse { x, y, axis_x: 12, axis_y: -5, across: 7 }), usual, None),
        Tool::new(None, usual, Some(None)),
    ]
}

fn readings(tools: &[Tool], lines: &mut Lines) {
    let ring = &tools[2];
    let of = |tool: &Tool, statistic| {
        Reading::of(tool.measurement.tally(), statistic, &tool.equation, &INPUTS, tool.emissivity_u).unwrap()
    };
    let summary = ring.measurement.summary(&ring.equation, &INPUTS, ring.emissivity_u).unwrap();
    for reading in [
        of(ring, Statistic::Mean),
        of(ring, Statistic::Median),
        summary.minimum,
        summary.maximum,
        of(ring, Statistic::Majority),
        of(ring, Statistic::UpperHalfMedian),
        of(ring, Statistic::CoolerMedian),
    ] {
        lines.number("kelvin", reading.kelvin);
        lines.number("noise", reading.noise_k);
        lines.number("by-emissivity", reading.sensitivities.emissivity);
        lines.number("emissivity-u", reading.emissivity_u);
    }
    let items: Vec<Option<Item>> =
        tools.iter().take(5).map(|tool| Some(Item::of(&of(tool, Statistic::Mean), &INPUTS))).collect();
    for item in items.iter().flatten() {
        lines.estimate("item", Estimate::new(item.value, item.noise));
    }
    let likeness = against_others(&items, 1).unwrap();
    lines.number("difference", likeness.difference);
    lines.number("uncertainty", likeness.uncertainty);
    lines.number("scatter", likeness.scatter);
    lines.number("score", likeness.score);
    let area = tools[1].above.unwrap().area();
    lines.estimate("mm2", area.square_mm(Estimate::new(1.5, 0.05), Estimate::new(3.0, 0.1)).unwrap());
}

#[test]
fn tools_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let mut lines = Lines::default();
    let mut sets = [tools(), tools()];
    let [first, second] = &mut sets;
    for (index, tool) in first.iter_mut().enumerate() {
        (0..2).for_each(|t| tool.frame(t));
        tool.print(index, &mut lines);
    }
    for (index, tool) in first.iter_mut().enumerate() {
        (2..6).for_each(|t| tool.frame(t));
        tool.print(index, &mut lines);
    }
    readings(first, &mut lines);
    for (index, tool) in second.iter_mut().enumerate() {
        tool.frame(0);
        tool.print(index, &mut lines);
    }
    // A hot disc on a slope: areas that are something, whole and cut off by their shape, and pixels that are rejected.
    for part in ["area 1 ", "area 2 ", "area 0 0 0"] {
        assert!(lines.0.contains(part), "{}", lines.0);
    }
    assert!(first[1].measurement.tally().rejected() == 12 && first[0].measurement.tally().rejected() == 0);
    for (dialect, variant) in [(C99, "tools-c99"), (C11, "tools-c11"), (CPP11, "tools-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["tools.c"], variant)), lines.0, "{variant}");
    }
}
