//! `sensor.c` against the core: every count, flag and coefficient.

use super::{C11, C99, CPP11, output, program};
use oddheat_core::sensor::{
    Average, Chain, ChainMemory, ChainSettings, ChainState, Coefficient, ColumnSettings, ColumnSlot, CountRange,
    Criteria, Defect, DefectKind, Defects, Drift, DriftOrder, PixelSums, ShutterTarget, SoakPoint, Steps, TwoPoint,
    UNSMOOTHED, UniformRun, WarmUp, WatchSettings, WatchSlot, find_defects, netd_of_runs,
};
use oddheat_core::units::{Delta, Kelvin};
use oddheat_tests::toolchain;
use std::fmt::Write as _;

const WIDTH: usize = 40;
const HEIGHT: usize = 20;

/// The invented array of the C program.
struct Array {
    bits: u32,
    frame: Vec<u16>,
}

impl Array {
    fn draw(&mut self, below: u32) -> u32 {
        self.bits = self.bits.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.bits >> 8) % below
    }

    fn expose(&mut self, level: u32, drift: u32, stuck: bool) {
        self.frame.clear();
        for y in 0..HEIGHT as u32 {
            for x in 0..WIDTH as u32 {
                let (gain, offset) = (950 + (x * 37 + y * 61) % 101, (x * 13 + y * 7) % 200);
                let noise = self.draw(4) + self.draw(4) + self.draw(4);
                self.frame.push((1_000 + offset + level * gain / 1_000 + drift + noise) as u16);
            }
        }
        self.frame[5 * WIDTH + 7] = 0;
        if stuck {
            self.frame[12 * WIDTH + 30] = 5_000;
        }
    }

    fn run<'m>(&mut self, memory: &'m mut [PixelSums], range: CountRange, level: u32) -> UniformRun<'m> {
        let mut run = UniformRun::new(memory, WIDTH as u16, HEIGHT as u16, range).unwrap();
        for _ in 0..24 {
            self.expose(level, 0, false);
            self.frame.chunks(WIDTH).for_each(|row| run.push(row).unwrap());
        }
        run
    }

    fn hash(&self) -> u32 {
        let bytes = self.frame.iter().flat_map(|count| count.to_le_bytes());
        bytes.fold(2_166_136_261, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(16_777_619))
    }
}

/// Memory of the chain.
struct Bench {
    coefficients: Vec<Coefficient>,
    defects: Vec<Defect>,
    watch: Vec<WatchSlot>,
    columns: Vec<ColumnSlot>,
    smoothing: Vec<u32>,
    state: ChainState,
    settings: ChainSettings,
}

impl Bench {
    fn memory(&mut self) -> ChainMemory<'_> {
        ChainMemory {
            coefficients: &mut self.coefficients,
            defects: &mut self.defects,
            watch: &mut self.watch,
            columns: &mut self.columns,
            smoothing: &mut self.smoothing,
        }
    }

    fn with<T>(&mut self, work: impl FnOnce(&mut Chain<'_>) -> T) -> T {
        let state = self.state;
        let mut chain = Chain::resume(self.memory(), state);
        let done = work(&mut chain);
        let listed = chain.defects().len();
        self.state = chain.suspend().1;
        self.settings.listed = listed;
        done
    }

    fn rebuild(&mut self) {
        let settings = self.settings;
        self.state = Chain::new(self.memory(), settings).unwrap().suspend().1;
    }

    fn frames(&mut self, array: &mut Array, frames: std::ops::Range<u32>, lines: &mut String) {
        for t in frames {
            let warmer = t.saturating_sub(40);
            array.expose(3_000, warmer + if t >= 25 { 80 } else { 0 }, true);
            let housing = Kelvin::from_f64(f64::from(293_150 + warmer * 100) / 1_000.0);
            let frame = &mut array.frame;
            let flags = self.with(|chain| {
                chain.begin_frame(t * 100, Some(housing));
                frame.chunks_mut(WIDTH).for_each(|row| chain.push(row).unwrap());
                chain.end_frame().unwrap()
            });
            writeln!(lines, "frame {t} {:08x}", array.hash()).unwrap();
            let yes = u8::from;
            writeln!(
                lines,
                "flags {} {} {} {} {} {} {} {}",
                flags.pixels,
                flags.unread.dead,
                flags.unread.saturated,
                flags.found,
                yes(flags.warming_up),
                yes(flags.drift_unknown),
                yes(flags.stepped),
                flags.step_q4
            )
            .unwrap();
        }
    }
}

fn calibrated(array: &mut Array, lines: &mut String) -> Bench {
    let range = CountRange::new(0, 16_383).unwrap();
    let (mut low, mut high) = (vec![PixelSums::EMPTY; WIDTH * HEIGHT], vec![PixelSums::EMPTY; WIDTH * HEIGHT]);
    let low = array.run(&mut low, range, 2_000);
    let high = array.run(&mut high, range, 4_000);
    let mut slots = vec![Defect::EMPTY; 8];
    let mut coefficients = vec![Coefficient::NEUTRAL; WIDTH * HEIGHT];
    let mut defects = Defects::new(&mut slots);
    let found = find_defects(&low, &high, &Criteria::default(), &mut defects).unwrap();
    writeln!(lines, "figures {} {} {} {}", found.response_q8, found.noise_q8, found.good, found.pixels).unwrap();
    let two_point = TwoPoint::calibrate(&low, &high, range, WIDTH as u16, &mut defects, &mut coefficients).unwrap();
    let noise = netd_of_runs(&low, &high, 25.0, &defects).unwrap();
    writeln!(lines, "noise {:.9} {:.9} {:.9}", noise.kelvin, noise.signal, noise.noise).unwrap();
    let soak: Vec<SoakPoint> = (0..9)
        .map(f64::from)
        .map(|i| SoakPoint { housing: Kelvin::from_f64(293.15 + i), counts: 3_000.0 + 10.0 * i })
        .collect();
    let drift = Drift::fit(&soak, DriftOrder::First, Kelvin::from_f64(293.15)).unwrap();
    defects.insert(0, 19, DefectKind::Listed).unwrap();
    let limit = Delta::from_f64(0.1);
    let settings = ChainSettings {
        width: WIDTH as u16,
        height: HEIGHT as u16,
        range,
        two_point,
        listed: defects.len(),
        drift: Some(drift),
        watch: WatchSettings::default(),
        columns: ColumnSettings { columns: 2, limit: 12, slowness: 5 },
        smoothing_shift: 2,
        warm_up: Some(WarmUp::new(limit, 2_000).unwrap()),
        steps: Some(Steps::new(20, range).unwrap()),
    };
    let (mut watch, mut columns) = (vec![WatchSlot::EMPTY; 12], vec![ColumnSlot::EMPTY; WIDTH]);
    let mut smoothing = vec![UNSMOOTHED; WIDTH * HEIGHT];
    let memory = ChainMemory {
        coefficients: &mut coefficients,
        defects: &mut slots,
        watch: &mut watch,
        columns: &mut columns,
        smoothing: &mut smoothing,
    };
    let state = Chain::new(memory, settings).unwrap().suspend().1;
    Bench { coefficients, defects: slots, watch, columns, smoothing, state, settings }
}

fn wanted() -> String {
    let (mut lines, mut array) = (String::new(), Array { bits: 1, frame: Vec::new() });
    let mut bench = calibrated(&mut array, &mut lines);
    bench.frames(&mut array, 0..30, &mut lines);
    bench.frames(&mut array, 30..60, &mut lines);

    let mut sums = vec![0; WIDTH * HEIGHT];
    let mut average = Average::new(&mut sums, WIDTH as u16, HEIGHT as u16, bench.settings.range).unwrap();
    for _ in 0..4 {
        array.expose(2_500, 100, false);
        bench.with(|chain| {
            chain.begin_frame(6_000, Some(Kelvin::from_f64(296.15)));
            for row in array.frame.chunks_mut(WIDTH) {
                chain.push_shutter(row).unwrap();
                average.push(row).unwrap();
            }
        });
    }
    let means = average.means().unwrap();
    let left = bench.with(|chain| chain.update_offsets(&means, ShutterTarget::Counts(3_500)).unwrap());
    writeln!(lines, "left {left}").unwrap();
    bench.frames(&mut array, 60..64, &mut lines);
    for bad in &bench.defects[..bench.settings.listed] {
        writeln!(lines, "bad {} {} {}", bad.x(), bad.y(), bad.kind().code()).unwrap();
    }
    for coefficient in bench.coefficients.iter().step_by(97) {
        writeln!(lines, "pixel {} {}", coefficient.gain_q14(), coefficient.offset_q4()).unwrap();
    }
    bench.rebuild();
    bench.frames(&mut array, 64..66, &mut lines);
    writeln!(lines, "pivot {}", bench.settings.two_point.pivot()).unwrap();
    lines
}

#[test]
fn sensor_program_repairs_what_the_core_repairs() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let wanted = wanted();
    // The repair must have had work: a dead pixel found, a stuck one found while running, a step seen, a drift covered.
    let step = "flags 800 1 0 0 0 0 1 12";
    for part in ["bad 7 5 2", "bad 30 12 3", "bad 0 19 1", "flags 800 1 0 1 ", step, "flags 800 1 0 0 1 0 "] {
        assert!(wanted.contains(part), "{part} not in\n{wanted}");
    }
    for (dialect, variant) in [(C99, "sensor-c99"), (C11, "sensor-c11"), (CPP11, "sensor-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["sensor.c"], variant)), wanted, "{variant}");
    }
}
