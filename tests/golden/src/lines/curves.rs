//! Counts to temperatures: the floats of the measurement equation to the last bit, and every count through the tables.

use super::print::{Hash, Lines};
use oddheat_core::Result;
use oddheat_core::radiometry::{
    Curve, Emissivity, LinearScale, MeasurementEquation, Scale, Scene, TableOf, Transmittance,
};
use oddheat_core::units::{Kelvin, RowKelvin, celsius};

/// Name, scale, scene and highest count.
type Instrument = (&'static str, Scale, Scene, u16);

/// All counts there are.
const COUNTS: u32 = 65_536;

pub(super) fn run(lines: &mut Lines<'_>) {
    match instruments() {
        Ok(instruments) => instruments.iter().for_each(|instrument| one(instrument, lines)),
        Err(error) => lines.refused(error),
    }
}

/// Ten instruments: raw counts and linear ones, 12 to 16 bits, both forms of the curve with every coefficient varied,
/// blackbodies and gray surfaces, clear paths and windows. The numbers are ours (proposal), of the size that the curve
/// of the core's front page has.
fn instruments() -> Result<[Instrument; 10]> {
    let curve = |a, b, c, offset, shape| -> Result<Scale> {
        Ok(Scale::Curve(Curve::sakuma_hattori(a, b, c)?.with_offset(offset)?.with_shape(shape)?))
    };
    let linear = |per_kelvin, zero| -> Result<Scale> { Ok(Scale::Linear(LinearScale::new(per_kelvin, zero)?)) };
    let gray = |emissivity, reflected| -> Result<Scene> {
        Ok(Scene::new(Emissivity::new(emissivity)?).reflected(celsius(reflected)))
    };
    let window = |emissivity, reflected, transmittance, medium| -> Result<Scene> {
        Ok(gray(emissivity, reflected)?.through(Transmittance::new(transmittance)?, celsius(medium)))
    };
    let planckian = curve(9.37, 172.2, 410_000.0, 1_850.0, 1.0)?;
    Ok([
        ("planckian", planckian, Scene::BLACKBODY, 16_383),
        ("planckian-gray", planckian, gray(0.95, 21.0)?, 16_383),
        ("planckian-window", planckian, window(0.62, -8.5, 0.81, 33.0)?, 16_383),
        ("planckian-16-bit", curve(9.1, 205.4, 2_950_000.0, -3_120.25, 1.0)?, gray(0.88, 19.0)?, 65_535),
        ("planckian-12-bit", curve(9.9, 96.3, 88_000.0, 310.5, 1.0)?, window(1.0, 20.0, 0.9, 24.0)?, 4_095),
        ("midwave", curve(4.15, 61.7, 9.6e8, 420.0, 1.0)?, gray(0.93, 27.5)?, 65_535),
        ("four-parameter", curve(10.06, 0.0, 1_610_000.0, -4_125.0, 1.73)?, Scene::BLACKBODY, 65_535),
        ("four-parameter-window", curve(9.72, 0.0, 395_000.0, 1_204.0, 0.41)?, window(0.9, 15.0, 0.94, 5.0)?, 16_383),
        ("linear-kelvin", linear(100.0, -273.15)?, Scene::BLACKBODY, 65_535),
        ("linear-window", linear(24.0, -41.3)?, window(0.71, 31.0, 0.87, 40.0)?, 16_383),
    ])
}

fn one((name, scale, scene, full_scale): &Instrument, lines: &mut Lines<'_>) {
    let equation = match MeasurementEquation::new(scale, scene) {
        Ok(equation) => equation,
        Err(error) => return lines.refused(error),
    };
    lines.begin("equation").word(name).hash(&floats(&equation)).end();
    table::<256>("table", name, &equation, *full_scale, lines);
    table::<1024>("wide-table", name, &equation, *full_scale, lines);
}

/// The floats behind the tables, where a difference in the last bit has not been rounded away yet.
fn floats(equation: &MeasurementEquation) -> Hash {
    let mut hash = Hash::EMPTY;
    // A prime step, so that the points fall on all kinds of counts; 129 of them.
    for counts in (0..COUNTS).step_by(509) {
        let object = equation.object(f64::from(counts) + 0.25);
        hash.maybe(object.ok().map(|_| counts));
        let Ok(kelvin) = object else { continue };
        hash.float(kelvin);
        for value in [equation.apparent(kelvin), equation.counts(kelvin)] {
            hash.float(value.unwrap_or(-1.0));
        }
        if let Ok(s) = equation.sensitivities(kelvin) {
            for value in [s.apparent, s.emissivity, s.reflected, s.transmittance, s.medium, s.counts] {
                hash.float(value);
            }
        }
    }
    hash
}

/// Every count through a table. Its own frame, so that the two kinds of table do not share the stack.
#[inline(never)]
fn table<const N: usize>(
    kind: &str,
    name: &str,
    equation: &MeasurementEquation,
    full_scale: u16,
    lines: &mut Lines<'_>,
) {
    let mut table = TableOf::<N>::EMPTY;
    if let Err(error) = table.build(equation, full_scale) {
        return lines.refused(error);
    }
    let (first, last) = table.counts_covered();
    lines.begin(kind).word(name).word("covers").number(first).number(last);
    for (word, error) in [("row-error", table.row_error()), ("scalar-error", table.scalar_error())] {
        lines.word(word).number(error.0.to_bits());
    }
    // One value in the open, for the eye: Q16.16 kelvin.
    let middle = table.temperature(first / 2 + last / 2);
    lines.word("middle").number(middle.map_or(0, |kelvin| kelvin.0.to_bits())).end();

    // An eighth of the counts at a time says where a difference is.
    lines.begin(kind).word(name).word("temperatures");
    for eighth in 0..8 {
        lines.hash(&temperatures(&table, eighth * COUNTS / 8));
    }
    lines.end();
    lines.begin(kind).word(name).word("rows");
    for eighth in 0..8 {
        lines.hash(&rows(&table, eighth * COUNTS / 8));
    }
    lines.end();
    lines.begin(kind).word(name).word("thresholds").hash(&thresholds(&table)).end();
}

fn temperatures<const N: usize>(table: &TableOf<N>, from: u32) -> Hash {
    let mut hash = Hash::EMPTY;
    let bits = |kelvin: Kelvin| kelvin.0.to_bits() as u32;
    for count in from..from + COUNTS / 8 {
        hash.maybe(table.temperature(count as u16).map(bits));
        // Now and then between two counts.
        if count % 16 == 7 {
            hash.maybe(table.temperature_q8((count << 8) + (count >> 4) % 256).map(bits));
        }
    }
    hash
}

/// Rows of 253 pixels, which is no multiple of four, and a shorter last one.
fn rows<const N: usize>(table: &TableOf<N>, from: u32) -> Hash {
    let mut hash = Hash::EMPTY;
    let (mut counts, mut kelvin) = ([0u16; 253], [RowKelvin::ZERO; 253]);
    let mut next = from;
    while next < from + COUNTS / 8 {
        let width = (from + COUNTS / 8 - next).min(253) as usize;
        let (counts, kelvin) = (&mut counts[..width], &mut kelvin[..width]);
        for (count, value) in counts.iter_mut().zip(next..) {
            *count = value as u16;
        }
        if table.kelvin_row(counts, kelvin).is_err() {
            // Hashed, so that a refusal shows.
            hash.maybe(None);
        }
        kelvin.iter().for_each(|pixel| hash.bytes(&pixel.to_bits().to_le_bytes()));
        next += width as u32;
    }
    hash
}

/// Temperatures to counts, from 150 K to 1,350 K: below and above what a table covers, too.
fn thresholds<const N: usize>(table: &TableOf<N>) -> Hash {
    let mut hash = Hash::EMPTY;
    for tenths in (1_500..13_500).step_by(37) {
        let kelvin = Kelvin::from_f64(f64::from(tenths) / 10.0);
        hash.maybe(table.counts_at_or_below(kelvin).map(u32::from));
        if let Ok(found) = table.thresholds(kelvin, Kelvin::from_f64(f64::from(tenths) / 11.0)) {
            hash.word(u32::from(found.hot()) << 16 | u32::from(found.cold()));
        }
    }
    hash
}
