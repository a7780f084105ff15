//! The repair of a small sensor over some frames, and the fit of a calibration: set-up in floats, rows in integers.

use super::print::{Hash, Lines};
use super::random::XorShift;
use oddheat_core::radiometry::{CalibrationPoint, FitOptions, Form, SpectralBand, fit_curve};
use oddheat_core::sensor::{
    Average, Chain, ChainMemory, ChainSettings, Coefficient, ColumnSettings, ColumnSlot, CountRange, Defect,
    DefectKind, Defects, Drift, DriftOrder, SetupError, SoakPoint, Steps, TwoPoint, UNSMOOTHED, WarmUp, WatchSettings,
    WatchSlot,
};
use oddheat_core::units::{Delta, celsius};

const WIDTH: usize = 33;
const HEIGHT: usize = 8;
const PIXELS: usize = WIDTH * HEIGHT;
/// Frames of a uniform run.
const RUN: u32 = 4;
/// Frames that go through the chain.
const FRAMES: u32 = 24;

pub(super) fn run(lines: &mut Lines<'_>) {
    // 14 bits, where two counts share a word, and 16, where they do not.
    for full_scale in [16_383, 65_535] {
        if let Err(error) = repair(full_scale, lines) {
            lines.refused(error);
        }
    }
    fits(lines);
}

/// What a pixel delivers of a signal: its own gain, offset and noise; one in forty is dead, saturated or stuck.
fn delivered(index: usize, signal: i32, full_scale: u16, random: &mut XorShift) -> u16 {
    let mut own = XorShift::new(index as u32 + 77);
    let (gain, offset, kind) = (own.between(900, 1_100), own.between(-150, 150), own.between(0, 39));
    let count = signal * gain / 1_000 + offset + random.between(-3, 3);
    match kind {
        0 => 0,
        1 => full_scale,
        2 => 7_000,
        _ => count.clamp(1, i32::from(full_scale) - 1) as u16,
    }
}

#[inline(never)]
fn calibrated(
    range: CountRange,
    defects: &mut Defects,
    coefficients: &mut [Coefficient],
    random: &mut XorShift,
) -> Result<TwoPoint, SetupError> {
    let (mut cold, mut hot) = ([0u32; PIXELS], [0u32; PIXELS]);
    let mut cold = Average::new(&mut cold, WIDTH as u16, HEIGHT as u16, range)?;
    let mut hot = Average::new(&mut hot, WIDTH as u16, HEIGHT as u16, range)?;
    for _ in 0..RUN {
        for (average, signal) in [(&mut cold, 5_000), (&mut hot, 9_000)] {
            for y in 0..HEIGHT {
                let row: [u16; WIDTH] =
                    core::array::from_fn(|x| delivered(y * WIDTH + x, signal, range.full_scale(), random));
                average.push(&row).map_err(|_| SetupError::Memory)?;
            }
        }
    }
    let (Some(cold), Some(hot)) = (cold.means(), hot.means()) else { return Err(SetupError::TooFewFrames) };
    TwoPoint::calibrate(&cold, &hot, range, WIDTH as u16, defects, coefficients)
}

#[inline(never)]
fn repair(full_scale: u16, lines: &mut Lines<'_>) -> Result<(), SetupError> {
    let mut random = XorShift::new(u32::from(full_scale));
    let range = CountRange::new(0, full_scale)?;
    let (mut coefficients, mut slots) = ([Coefficient::NEUTRAL; PIXELS], [Defect::EMPTY; 48]);
    let mut defects = Defects::new(&mut slots);
    let two_point = calibrated(range, &mut defects, &mut coefficients, &mut random)?;
    // What neither run shows: a pixel that sticks within the range.
    defects.insert(5, 3, DefectKind::Stuck)?;
    let listed = defects.len();
    let soak = [(20.0, 5_000.0), (25.0, 5_021.0), (30.0, 5_048.5), (38.0, 5_101.0)]
        .map(|(housing, counts)| SoakPoint { housing: celsius(housing), counts });
    let drift = Drift::fit(&soak, DriftOrder::Second, celsius(25.0))?;

    let (mut watch, mut columns, mut smoothing) =
        ([WatchSlot::EMPTY; 4], [ColumnSlot::EMPTY; WIDTH], [UNSMOOTHED; PIXELS]);
    let memory = ChainMemory {
        coefficients: &mut coefficients,
        defects: &mut slots,
        watch: &mut watch,
        columns: &mut columns,
        smoothing: &mut smoothing,
    };
    let settings = ChainSettings {
        width: WIDTH as u16,
        height: HEIGHT as u16,
        range,
        two_point,
        listed,
        drift: Some(drift),
        watch: WatchSettings { frames: 8, ..WatchSettings::default() },
        columns: ColumnSettings { columns: 2, limit: 20, slowness: 3 },
        smoothing_shift: 2,
        warm_up: Some(WarmUp::new(Delta::from_f64(0.5), 400)?),
        steps: Some(Steps::new(8, range)?),
    };
    let mut chain = Chain::new(memory, settings)?;
    let (mut rows, mut flags) = (Hash::EMPTY, Hash::EMPTY);
    for frame in 0..FRAMES {
        let housing = celsius(24.0 + f64::from(frame) / 8.0);
        chain.begin_frame(frame * 100, (frame % 5 != 4).then_some(housing));
        // A step of all pixels in the middle, as a shutter makes one.
        let signal = 6_500 + if frame >= FRAMES / 2 { 40 } else { 0 };
        for y in 0..HEIGHT {
            let mut row: [u16; WIDTH] =
                core::array::from_fn(|x| delivered(y * WIDTH + x, signal + 10 * x as i32, full_scale, &mut random));
            chain.push(&mut row).map_err(|_| SetupError::Memory)?;
            row.iter().for_each(|count| rows.bytes(&count.to_le_bytes()));
        }
        let seen = chain.end_frame().map_err(|_| SetupError::Memory)?;
        for word in [seen.unread.dead, seen.unread.saturated, seen.found, seen.step_q4 as u32] {
            flags.word(word);
        }
        flags.bytes(&[u8::from(seen.warming_up), u8::from(seen.drift_unknown), u8::from(seen.stepped)]);
    }
    lines.begin("repair").number(full_scale).word("defects").number(chain.defects().len() as u32);
    lines.word("rows").hash(&rows).word("flags").hash(&flags).end();
    Ok(())
}

/// Settings of a blackbody seen by an 8–14 µm sensor: the example of `fit_curve`.
const POINTS: [(f64, f64); 4] = [(253.15, 3_279.5), (296.15, 4_955.8), (373.15, 10_056.6), (423.15, 14_790.4)];

#[inline(never)]
fn fits(lines: &mut Lines<'_>) {
    let points = POINTS.map(|(kelvin, counts)| CalibrationPoint::new(kelvin, counts).uncertain(0.05, 1.2));
    let band = FitOptions::new(SpectralBand::flat(8.0, 14.0));
    for (name, options) in [
        ("planckian", band.with_offset(1_850.0)),
        ("planckian-free-offset", band.with_free_offset()),
        ("free-shape", band.with_form(Form::FreeShape).with_free_offset()),
    ] {
        lines.begin("fit").word(name);
        match fit_curve(&points, &options) {
            Ok(fit) => {
                let (curve, mut hash) = (fit.curve(), Hash::EMPTY);
                for value in [curve.a_um(), curve.b_um_k(), curve.c_counts(), curve.offset(), curve.shape()] {
                    hash.float(value);
                }
                fit.residuals().iter().for_each(|&kelvin| hash.float(kelvin));
                fit.covariance().into_iter().flatten().flatten().for_each(|&value| hash.float(value));
                lines.hash(&hash).end();
            }
            Err(_) => {
                lines.word("refused").end();
            }
        }
    }
}
