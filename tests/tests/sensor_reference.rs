//! The sensor corrections against the worked values of the radiometry notes, section 6, and against a small array of
//! known faults, simulated here.

use oddheat_core::measure::{Shape, Tally};
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
use oddheat_core::sensor::{
    Average, Chain, ChainMemory, ChainSettings, Coefficient, ColumnSettings, ColumnSlot, CountRange, Criteria, Defect,
    DefectKind, Defects, Drift, DriftOrder, PixelSums, ShutterTarget, SoakPoint, Steps, TwoPoint, UniformRun, WarmUp,
    WatchSettings, WatchSlot, find_defects, netd, netd_of_mean, netd_of_runs,
};
use oddheat_core::units::{Delta, celsius};

const FULL_SCALE: u16 = 16_383;

fn range() -> CountRange {
    CountRange::new(0, FULL_SCALE).unwrap()
}

#[track_caller]
fn near(got: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((got - wanted).abs() <= tolerance, "{what}: got {got}, wanted {wanted} ± {tolerance}");
}

/// A run in which every frame is the same.
fn constant_run<'m>(memory: &'m mut [PixelSums], frame: &[[u16; 2]; 2]) -> UniformRun<'m> {
    let mut run = UniformRun::new(memory, 2, 2, range()).unwrap();
    for _ in 0..2 {
        frame.iter().for_each(|row| run.push(row).unwrap());
    }
    run
}

/// Section 6, two-point correction (computed): gains, offsets at raw = 0, and a corrected frame.
#[test]
fn two_point_worked_values() {
    let (raw_1, raw_2) = ([[1_000, 1_040], [980, 1_010]], [[3_000, 3_200], [2_880, 3_050]]);
    let (mut low, mut high) = ([PixelSums::EMPTY; 4], [PixelSums::EMPTY; 4]);
    let (cold, hot) = (constant_run(&mut low, &raw_1), constant_run(&mut high, &raw_2));
    let (mut list, mut coefficients) = ([Defect::EMPTY; 4], [Coefficient::NEUTRAL; 4]);
    let mut defects = Defects::new(&mut list);
    let two_point = TwoPoint::calibrate(&cold, &hot, range(), 2, &mut defects, &mut coefficients).unwrap();
    assert!(defects.is_empty());

    let gains = [1.0125, 0.9375, 1.06578947, 0.99264706];
    let offsets = [-5.0, 32.5, -36.973684, 4.926471];
    let pivot = f64::from(two_point.pivot());
    for (i, coefficient) in coefficients.iter().enumerate() {
        // Half a step of Q2.14.
        near(f64::from(coefficient.gain_q14()) / 16_384.0, gains[i], 0.5 / 16_384.0, "gain");
        // The offset at raw = 0 from that at the pivot: half a step of Q12.4, and the gain's half step times the pivot.
        let at_zero = f64::from(two_point.corrected_q14(*coefficient, 0, 0)) / 16_384.0;
        near(at_zero, offsets[i], 1.0 / 32.0 + pivot * 0.5 / 16_384.0, "offset");
    }

    // Near the pivot the gain's step hardly counts, so the frame comes out to half a step of the offset and the means.
    let wanted = [2_020.0, 2_048.125, 1_988.026316, 2_039.852941];
    for (i, raw) in [2_000, 2_150, 1_900, 2_050].into_iter().enumerate() {
        let got = f64::from(two_point.corrected_q14(coefficients[i], 0, raw)) / 16_384.0;
        let tolerance = 1.0 / 32.0 + (f64::from(raw) - pivot).abs() * 0.5 / 16_384.0 + 1.0 / 256.0;
        near(got, wanted[i], tolerance, "corrected");
    }
    let mut frame = [2_000, 2_150, 1_900, 2_050];
    two_point.correct_row(&coefficients, 0, &mut frame).unwrap();
    assert_eq!(frame, [2_020, 2_048, 1_988, 2_040]);

    // Both runs map to their means, 1007.5 and 3032.5, within what the format allows: 1/32 and half of 2000·2⁻¹⁵.
    for (raw, mean) in [(raw_1, 1_007.5), (raw_2, 3_032.5)] {
        for (i, raw) in raw.into_iter().flatten().enumerate() {
            let got = f64::from(two_point.corrected_q14(coefficients[i], 0, raw)) / 16_384.0;
            near(got, mean, 1.0 / 32.0 + 1_100.0 / 32_768.0, "mean");
        }
    }
}

/// Section 6, one-point update: o ← o + (mean of shutter − out).
#[test]
fn shutter_update_follows_its_formula() {
    let two_point = TwoPoint::with_pivot(2_000, range());
    let before = [(16_000, 40), (16_384, -16), (17_000, 0), (16_384, 7)];
    let mut coefficients = before.map(|(gain, offset)| Coefficient::new(gain, offset).unwrap());
    let out = [2_010u16, 1_990, 2_003, 2_001];
    let mut sums = [0; 4];
    let mut average = Average::new(&mut sums, 4, 1, range()).unwrap();
    average.push(&out).unwrap();
    assert_eq!(two_point.update_offsets(&average.means().unwrap(), ShutterTarget::ArrayMean, &mut coefficients), Ok(0));
    for (i, coefficient) in coefficients.iter().enumerate() {
        let wanted = f64::from(before[i].1) / 16.0 + (2_001.0 - f64::from(out[i]));
        near(f64::from(coefficient.offset_q4()) / 16.0, wanted, 1.0 / 32.0, "offset");
        assert_eq!(coefficient.gain_q14(), before[i].0);
    }
}

/// Section 6, NETD by ASTM E1543 (computed): 5 K, 500 counts, 6.2 counts rms → 0.062 K; mean of 16 frames 0.0155 K.
#[test]
fn netd_worked_values() {
    let one = netd(5.0, 500.0, 6.2).unwrap();
    near(one, 0.062, 1e-12, "one frame");
    near(netd_of_mean(one, 16).unwrap(), 0.0155, 1e-12, "mean of 16");
}

const W: usize = 64;
const H: usize = 48;
/// Counts per kelvin of scene, and of housing.
const SIGNAL: f64 = 80.0;
const DRIFT: f64 = 55.0;
const NOISE: f64 = 5.0;
const STUCK: (usize, usize) = (30, 20);
const DEAD: (usize, usize) = (7, 5);

/// An array with a fixed pattern, a drift, noise, and a dead pixel.
struct Array {
    seed: u32,
}

impl Array {
    /// Normal to the eye: twelve uniform values less six (Irwin–Hall; textbook), each of 32 bits from the finalizer of
    /// MurmurHash3 (public domain; memory).
    fn normal(&mut self) -> f64 {
        (0..12).fold(-6.0, |sum, _| {
            self.seed = self.seed.wrapping_add(0x9E37_79B9);
            let mut h = self.seed;
            h = (h ^ (h >> 16)).wrapping_mul(0x85EB_CA6B);
            h = (h ^ (h >> 13)).wrapping_mul(0xC2B2_AE35);
            sum + f64::from(h ^ (h >> 16)) / 4_294_967_296.0
        })
    }

    /// Gain with 4 % and offset with 150 counts of scatter, the same for each call.
    fn pattern() -> Vec<(f64, f64)> {
        let mut array = Self { seed: 77 };
        (0..W * H).map(|_| (1.0 + 0.04 * array.normal(), 150.0 * array.normal())).collect()
    }

    /// Raw counts of a scene in kelvin above 20 °C, the housing at `housing` °C.
    fn frame(&mut self, pattern: &[(f64, f64)], housing: f64, scene: impl Fn(usize, usize) -> f64) -> Vec<u16> {
        let mut counts = Vec::with_capacity(W * H);
        for (i, &(gain, offset)) in pattern.iter().enumerate() {
            let (x, y) = (i % W, i / W);
            // The housing radiates onto the pixels, so its drift goes through their gains.
            let signal = SIGNAL * scene(x, y) + DRIFT * (housing - 25.0);
            let count = 5_000.0 + offset + gain * signal + NOISE * self.normal();
            counts.push(libm::round(count).clamp(0.0, f64::from(FULL_SCALE)) as u16);
        }
        counts[DEAD.1 * W + DEAD.0] = 0;
        counts
    }
}

fn uniform_run<'m>(
    memory: &'m mut [PixelSums],
    array: &mut Array,
    pattern: &[(f64, f64)],
    kelvin: f64,
) -> UniformRun<'m> {
    let mut run = UniformRun::new(memory, W as u16, H as u16, range()).unwrap();
    for _ in 0..32 {
        let frame = array.frame(pattern, 25.0, |_, _| kelvin);
        frame.chunks(W).for_each(|row| run.push(row).unwrap());
    }
    run
}

/// Memory of a calibrated chain.
struct Bench {
    coefficients: Vec<Coefficient>,
    defects: Vec<Defect>,
    listed: usize,
    two_point: TwoPoint,
    drift: Drift,
    watch: Vec<WatchSlot>,
    columns: Vec<ColumnSlot>,
    smoothing: Vec<u32>,
}

impl Bench {
    fn calibrated() -> Self {
        let (mut array, pattern) = (Array { seed: 1 }, Array::pattern());
        let (mut low, mut high) = (vec![PixelSums::EMPTY; W * H], vec![PixelSums::EMPTY; W * H]);
        let cold = uniform_run(&mut low, &mut array, &pattern, 0.0);
        let hot = uniform_run(&mut high, &mut array, &pattern, 40.0);
        let (mut slots, mut coefficients) = (vec![Defect::EMPTY; 64], vec![Coefficient::NEUTRAL; W * H]);
        let mut defects = Defects::new(&mut slots);
        let figures = find_defects(&cold, &hot, &Criteria::default(), &mut defects).unwrap();
        let kinds: Vec<_> = defects.as_slice().iter().map(|d| (d.x(), d.y(), d.kind())).collect();
        assert_eq!(kinds, [(7, 5, DefectKind::Dead)]);
        assert_eq!(figures.good + 1, figures.pixels);
        // The true figure: 5 counts of noise over 80 counts/K. 3,000 pixels of 32 frames know it to 0.3 %.
        let figure = netd_of_runs(&cold, &hot, 40.0, &defects).unwrap();
        near(figure.kelvin, NOISE / SIGNAL, 0.01 * NOISE / SIGNAL, "NETD of the array");
        let two_point = TwoPoint::calibrate(&cold, &hot, range(), W as u16, &mut defects, &mut coefficients).unwrap();
        let listed = defects.len();
        // Soak run: corrected frames of one wall. Their means are known to 0.1 count (5 counts over 3,000 pixels).
        let soak = (0..=30).map(|i| {
            let housing = 20.0 + 0.5 * f64::from(i);
            let mut frame = array.frame(&pattern, housing, |_, _| 10.0);
            two_point.correct_row(&coefficients, 0, &mut frame).unwrap();
            SoakPoint { housing: celsius(housing), counts: scatter(&frame, |i| i != DEAD.1 * W + DEAD.0).0 }
        });
        let soak: Vec<_> = soak.collect();
        let drift = Drift::fit(&soak, DriftOrder::First, celsius(25.0)).unwrap();
        near(f64::from(drift.residual_q8()) / 256.0, 0.1, 0.05, "residual");
        Self {
            coefficients,
            defects: slots,
            listed,
            two_point,
            drift,
            watch: vec![WatchSlot::EMPTY; 16],
            columns: vec![ColumnSlot::EMPTY; W],
            smoothing: vec![0; W * H],
        }
    }

    fn chain(&mut self) -> Chain<'_> {
        let settings = ChainSettings {
            width: W as u16,
            height: H as u16,
            range: range(),
            two_point: self.two_point,
            listed: self.listed,
            drift: Some(self.drift),
            watch: WatchSettings::default(),
            columns: ColumnSettings { columns: 2, limit: 20, slowness: 4 },
            smoothing_shift: 2,
            warm_up: Some(WarmUp::new(Delta::from_f64(0.1), 60_000).unwrap()),
            steps: Some(Steps::new(24, range()).unwrap()),
        };
        let memory = ChainMemory {
            coefficients: &mut self.coefficients,
            defects: &mut self.defects,
            watch: &mut self.watch,
            columns: &mut self.columns,
            smoothing: &mut self.smoothing,
        };
        Chain::new(memory, settings).unwrap()
    }
}

/// Mean and scatter of what lies around a value that is known.
fn scatter(frame: &[u16], mut keep: impl FnMut(usize) -> bool) -> (f64, f64) {
    let kept: Vec<f64> = (0..frame.len()).filter(|&i| keep(i)).map(|i| f64::from(frame[i])).collect();
    let mean = kept.iter().sum::<f64>() / kept.len() as f64;
    (mean, libm::sqrt(kept.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / kept.len() as f64))
}

/// A warm wall, 12 K above 20 °C, while the housing warms by 8 K. Uncorrected, the pattern is 150 counts and the drift
/// 440; what is left must be the noise that the smoothing leaves, and a few counts of drift.
#[test]
fn chain_leaves_the_scene() {
    let (mut bench, pattern, mut array) = (Bench::calibrated(), Array::pattern(), Array { seed: 2 });
    let mut chain = bench.chain();
    let (mut first, mut last) = (None, Vec::new());
    for t in 0..60u32 {
        let housing = 25.0 + 8.0 * f64::from(t) / 59.0;
        let mut frame = array.frame(&pattern, housing, |_, _| 12.0);
        if t == 59 {
            let raw = scatter(&frame, |_| true);
            assert!(raw.1 > 140.0, "the test must have something to correct: {raw:?}");
        }
        chain.begin_frame(t * 1_000, Some(celsius(housing)));
        frame.chunks_mut(W).for_each(|row| chain.push(row).unwrap());
        let flags = chain.end_frame().unwrap();
        assert!(flags.warming_up && !flags.stepped && !flags.drift_unknown, "{t}: {flags:?}");
        let mean = scatter(&frame, |_| true).0;
        // The noise of a mean over 3,000 pixels is 0.1 count; the slope of the fit is known to 0.1/(4.5·√31) counts/K.
        near(mean, *first.get_or_insert(mean), 0.5, "mean over the warm-up");
        last = frame;
    }
    // √(2·2² − 1) = 2.65 less temporal noise; 5·√(2/32) = 1.3 of pattern left by runs of 32 frames at most.
    let (_, left) = scatter(&last, |_| true);
    assert!((1.5..2.6).contains(&left), "{left}");
    assert!(chain.defects().len() == 1, "{:?}", chain.defects());
}

/// The reason for the watch: one stuck pixel amid a 7 × 7 spot on a sound joint reads hot. Found and replaced, neither
/// the spot's mean nor a region's peak knows of it.
#[test]
fn stuck_pixel_makes_no_hot_spot() {
    let (mut bench, pattern, mut array) = (Bench::calibrated(), Array::pattern(), Array { seed: 3 });
    let mut chain = bench.chain();
    let joint = |x: usize, y: usize| if x.abs_diff(30) <= 5 && y.abs_diff(20) <= 5 { 10.0 } else { 5.0 };
    let spot = Shape::Spot { x: 30, y: 20, size: 7 };
    let mut found_at = None;
    let mut means = Vec::new();
    for t in 0..90u32 {
        let mut frame = array.frame(&pattern, 25.0, joint);
        frame[STUCK.1 * W + STUCK.0] = 9_000;
        chain.begin_frame(t * 100, Some(celsius(25.0)));
        frame.chunks_mut(W).for_each(|row| chain.push(row).unwrap());
        if chain.end_frame().unwrap().found > 0 {
            assert_eq!(found_at.replace(t), None);
        }
        let mut tally = Tally::EMPTY;
        for (y, row) in frame.chunks(W).enumerate() {
            tally.add_row(spot, y as u16, row, 0, FULL_SCALE);
        }
        means.push(f64::from(tally.end_frame(t * 100).unwrap()) / 256.0);
        let peak = hottest(&frame);
        if t == 20 {
            assert_eq!(peak, (30, 20), "unfound, it is the peak");
        }
        if t == 89 {
            assert_ne!(peak, (30, 20));
        }
    }
    let found_at = found_at.unwrap();
    assert!(found_at <= 40, "{found_at}");
    let places: Vec<_> = chain.defects().iter().map(|d| (d.x(), d.y(), d.kind())).collect();
    assert_eq!(places, [(7, 5, DefectKind::Dead), (30, 20, DefectKind::Stuck)]);
    // 3,200 counts in one of 49 pixels are 65 counts or 0.8 K of mean; without it the joint is 10 K · 80 counts/K
    // above the 20 °C run, whose mean a wall of 5 K tells.
    let (before, after) = (means[20], means[89]);
    assert!(before - after > 50.0, "{before} {after}");
    let wall = 5.0 * SIGNAL;
    let reference = means_of_wall(&mut array, &pattern, &mut bench);
    near(after - reference, wall, 3.0, "joint above wall");
}

/// Column and row of the peak of the strongest hot region.
fn hottest(frame: &[u16]) -> (u16, u16) {
    let (mut runs, mut slots) = ([Run::EMPTY; Scanner::runs(W as u16)], [Slot::EMPTY; 16]);
    let thresholds = Thresholds::new(5_600, 0).unwrap();
    let settings = Settings { width: W as u16, thresholds, connectivity: Connectivity::Eight, min_area: 1 };
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
    frame.chunks(W).for_each(|row| scanner.push(row).unwrap());
    let found = scanner.finish();
    let region = found.regions().next().unwrap();
    (region.peak_x, region.peak_y)
}

/// Mean corrected counts of a wall 5 K above the first run.
fn means_of_wall(array: &mut Array, pattern: &[(f64, f64)], bench: &mut Bench) -> f64 {
    let mut chain = bench.chain();
    let mut mean = 0.0;
    for t in 0..20 {
        let mut frame = array.frame(pattern, 25.0, |_, _| 5.0);
        chain.begin_frame(t, Some(celsius(25.0)));
        frame.chunks_mut(W).for_each(|row| chain.push(row).unwrap());
        mean = scatter(&frame, |i| i != STUCK.1 * W + STUCK.0).0;
    }
    mean
}

/// A shutter event: the pattern has drifted, a few frames of the shutter take it off again, and the step is flagged.
#[test]
fn shutter_takes_a_drifted_pattern_off() {
    let (mut bench, pattern, mut array) = (Bench::calibrated(), Array::pattern(), Array { seed: 4 });
    let drifted: Vec<_> = pattern.iter().map(|&(gain, offset)| (gain, offset + 12.0 * array.normal() - 60.0)).collect();
    let mut sums = vec![0; W * H];
    let mut chain = bench.chain();
    let mut frame_of = |chain: &mut Chain<'_>, t: u32| {
        let mut frame = array.frame(&drifted, 25.0, |_, _| 5.0);
        chain.begin_frame(t, Some(celsius(25.0)));
        frame.chunks_mut(W).for_each(|row| chain.push(row).unwrap());
        (chain.end_frame().unwrap(), scatter(&frame, |_| true))
    };
    let (_, before) = (0..12).map(|t| frame_of(&mut chain, t)).last().unwrap();
    let mut average = Average::new(&mut sums, W as u16, H as u16, range()).unwrap();
    let mut shutter = Array { seed: 5 };
    for t in 0..32 {
        let mut frame = shutter.frame(&drifted, 25.0, |_, _| 0.0);
        chain.begin_frame(20 + t, Some(celsius(25.0)));
        for row in frame.chunks_mut(W) {
            chain.push_shutter(row).unwrap();
            average.push(row).unwrap();
        }
    }
    // Its temperature is known: 20 °C, the colder of the two runs, whose corrected counts are 5,000.
    let left = chain.update_offsets(&average.means().unwrap(), ShutterTarget::Counts(5_000)).unwrap();
    assert_eq!(left, 1, "the dead pixel has no mean");
    let (flags, _) = frame_of(&mut chain, 60);
    assert!(flags.stepped && (flags.step_q4 - 60 * 16).abs() < 5 * 16, "{flags:?}");
    let (flags, after) = (61..80).map(|t| frame_of(&mut chain, t)).last().unwrap();
    assert!(!flags.stepped);
    assert!(before.1 > 11.0 && after.1 < 3.0, "{before:?} {after:?}");
    near(after.0, 5_000.0 + 5.0 * SIGNAL, 4.0, "wall");
}

/// Same seed, same bytes, on every machine and in every build; and a chain that is suspended after each row is the same
/// chain. The sum is FNV-1a with 64 bits (public domain; memory).
#[test]
fn chain_is_deterministic() {
    let run = |suspend: bool| {
        let (mut bench, pattern, mut array) = (Bench::calibrated(), Array::pattern(), Array { seed: 6 });
        let mut chain = bench.chain();
        let mut hash = 0xCBF2_9CE4_8422_2325u64;
        for t in 0..50u32 {
            let housing = 25.0 + 0.1 * f64::from(t);
            let mut frame = array.frame(&pattern, housing, |x, y| if x > 20 && y > 30 { 25.0 } else { 5.0 });
            frame[STUCK.1 * W + STUCK.0] = 9_000;
            chain.begin_frame(t * 40, (t % 3 > 0).then(|| celsius(housing)));
            for row in frame.chunks_mut(W) {
                chain.push(row).unwrap();
                if suspend {
                    let (memory, state) = chain.suspend();
                    chain = Chain::resume(memory, state);
                }
                for byte in row.iter().flat_map(|count| count.to_le_bytes()) {
                    hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01B3);
                }
            }
            let flags = chain.end_frame().unwrap();
            assert_eq!(flags.drift_unknown, t % 3 == 0);
        }
        hash
    };
    let hash = run(false);
    assert_eq!(hash, run(true));
    assert_eq!(hash, 0x8557_389E_4062_FBA4, "{hash:#018X}");
}

/// Order and length are checked before anything is touched.
#[test]
fn chain_refuses_what_is_out_of_order() {
    use oddheat_core::Error;
    use oddheat_core::sensor::SetupError;
    let mut bench = Bench::calibrated();
    let mut chain = bench.chain();
    let mut row = [5_000; W];
    assert_eq!(chain.push(&mut row), Err(Error::WrongOrder));
    assert_eq!(chain.push(&mut row[1..]), Err(Error::WrongLength));
    chain.begin_frame(0, None);
    assert_eq!(chain.end_frame(), Err(Error::WrongOrder));
    assert_eq!(row, [5_000; W]);
    for _ in 0..H {
        row = [5_000; W];
        row[3] = FULL_SCALE;
        chain.push(&mut row).unwrap();
    }
    row = [5_000; W];
    assert_eq!(chain.push(&mut row), Err(Error::WrongOrder));
    assert_eq!(row, [5_000; W]);
    let flags = chain.end_frame().unwrap();
    assert_eq!((flags.unread.saturated, flags.saturated_q16()), (48, 65_536 / 64));
    assert!(flags.drift_unknown && flags.warming_up);
    assert_eq!(chain.list_defect(W as u16, 0, DefectKind::Listed), Err(SetupError::Setting));
    assert_eq!(chain.list_defect(1, 1, DefectKind::Listed), Ok(true));
}
