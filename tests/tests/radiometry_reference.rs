//! Curve, measurement equation, sensitivities and table against values from outside.
//!
//! Each test is named after the table it holds on to. All of them are *computed* values: made for the project's
//! radiometry notes with numpy 2.4.6, scipy 1.17.1 and mpmath 1.4.1 (uncertainties 3.2.3 for section 7), independently
//! of this code. Section numbers are those of the notes.

use oddheat_core::radiometry::{
    Curve, Emissivity, LinearScale, MeasurementEquation, Scale, Scene, Table, TableOf, Transmittance, TwoRange,
};
use oddheat_core::units::{Kelvin, RowKelvin, celsius};

fn rounded_pair() -> Curve {
    Curve::sakuma_hattori(9.36, 178.0, 1.0).unwrap()
}

#[track_caller]
fn near(got: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((got - wanted).abs() <= tolerance, "{what}: got {got}, wanted {wanted} ± {tolerance}");
}

/// Section 2.2: S, dS/dT for A = 9.36 µm, B = 178 µm·K, C = 1; ten digits given.
#[test]
fn sakuma_hattori_worked_values() {
    let table = [
        (-20.0, 0.003537611752, 7.3669919e-5),
        (0.0, 0.005216046483, 9.4418232e-5),
        (20.0, 0.007322192489, 1.1634639e-4),
        (23.0, 0.007676263895, 1.1970348e-4),
        (37.0, 0.009462551739, 1.3551372e-4),
        (60.0, 0.01288042145, 1.6169936e-4),
        (80.0, 0.01634109348, 1.8431567e-4),
        (100.0, 0.02025011869, 2.0649499e-4),
        (150.0, 0.03190459244, 2.5884365e-4),
        (200.0, 0.04604089965, 3.0562222e-4),
        (300.0, 0.08059656031, 3.8177646e-4),
        (400.0, 0.1217349485, 4.3812822e-4),
        (500.0, 0.1677336859, 4.7978659e-4),
        (600.0, 0.2173441111, 5.1095945e-4),
        (650.0, 0.2432151472, 5.2359881e-4),
    ];
    let curve = rounded_pair();
    for (t, signal, slope) in table {
        let kelvin = t + 273.15;
        near(curve.signal(kelvin).unwrap() / signal, 1.0, 1e-9, "signal");
        near(curve.slope(kelvin).unwrap() / slope, 1.0, 1e-7, "slope");
        near(curve.temperature(curve.signal(kelvin).unwrap()).unwrap(), kelvin, 1e-9, "inverse");
    }
}

/// Section 2.3, last table: the four-parameter form with s0 = 2000, s1 = 400000, θ = 1400 K, q = 1.05. θ = c2/A.
#[test]
fn four_parameter_form_worked_values() {
    let table = [
        (-20.0, 3592.520861, 34.935666),
        (0.0, 4392.493730, 45.174713),
        (25.0, 5689.458762, 58.668759),
        (100.0, 11627.072247, 99.241673),
        (300.0, 40265.108467, 179.458111),
        (600.0, 104044.673739, 237.582501),
    ];
    let a = 14_387.768_775_039_337 / 1_400.0;
    let curve =
        Curve::sakuma_hattori(a, 0.0, 400_000.0).unwrap().with_offset(2_000.0).unwrap().with_shape(1.05).unwrap();
    for (t, signal, slope) in table {
        let kelvin = t + 273.15;
        near(curve.signal(kelvin).unwrap() / signal, 1.0, 1e-9, "signal");
        near(curve.slope(kelvin).unwrap() / slope, 1.0, 1e-7, "slope");
        near(curve.temperature(signal).unwrap(), kelvin, 1e-6, "inverse");
    }
    assert!(curve.temperature(2_000.0).is_err(), "no temperature at the offset");
    assert!(curve.temperature(1_000.0).is_err());
    assert!(curve.temperature(f64::NAN).is_err());
}

fn scene(emissivity: f64, reflected: f64, transmittance: f64, medium: f64) -> Scene {
    Scene::new(Emissivity::new(emissivity).unwrap())
        .reflected(celsius(reflected))
        .through(Transmittance::new(transmittance).unwrap(), celsius(medium))
}

fn equation(scene: Scene) -> MeasurementEquation {
    MeasurementEquation::new(&Scale::Curve(rounded_pair()), &scene).unwrap()
}

/// Section 3.3: full three-term cases, run both ways. Scene temperatures are I16F16, so 8 µK off at most.
#[test]
fn three_term_cases() {
    let table = [
        (100.0, 0.95, 20.0, 0.98, 25.0, 0.01937000624, 95.68849),
        (60.0, 0.90, 35.0, 0.95, 22.0, 0.01226402685, 56.13547),
        (300.0, 0.60, 40.0, 0.90, 30.0, 0.04793102994, 206.13096),
        (80.0, 0.30, 25.0, 1.00, 20.0, 0.0104448687, 44.04090),
        (-10.0, 0.95, 15.0, 0.97, 10.0, 0.00449943623, -7.94527),
        (450.0, 0.80, 60.0, 0.50, 25.0, 0.06293287371, 251.62768),
    ];
    for (t, e, reflected, tau, medium, signal, apparent) in table {
        let equation = equation(scene(e, reflected, tau, medium));
        near(equation.counts(t + 273.15).unwrap() / signal, 1.0, 1e-7, "signal");
        near(equation.apparent(t + 273.15).unwrap() - 273.15, apparent, 2e-5, "apparent");
        near(equation.object(signal).unwrap() - 273.15, t, 1e-4, "object");
    }
}

/// Section 3.3, last paragraph: identities and refusals.
#[test]
fn identities_and_refusals() {
    let black = equation(scene(1.0, -40.0, 1.0, 90.0));
    near(black.apparent(350.0).unwrap(), 350.0, 1e-9, "blackbody, clear path");
    for (e, tau) in [(0.05, 1.0), (0.5, 0.3), (0.95, 0.9)] {
        let even = equation(scene(e, 40.0, tau, 40.0));
        let kelvin = celsius(40.0).to_f64();
        near(even.apparent(kelvin).unwrap(), kelvin, 1e-9, "all at one temperature");
    }
    assert!(Emissivity::new(0.0).is_err() && Emissivity::new(1.5).is_err() && Emissivity::new(f64::NAN).is_err());
    // Below the reflected and path terms there is no object.
    let shiny = equation(scene(0.3, 25.0, 0.9, 25.0));
    let floor = (0.9 * 0.7 + 0.1) * rounded_pair().signal(298.15).unwrap();
    assert!(shiny.object(floor * 0.999).is_err());
    assert!(shiny.object(floor * 1.05).is_ok());
}

/// Section 7: sensitivity coefficients of the worked example and the further cases, to the digits given.
#[test]
fn gum_sensitivity_coefficients() {
    let at = |t: f64, s: Scene| equation(s).sensitivities(t + 273.15).unwrap();
    let s = at(100.0, scene(0.90, 23.0, 0.99, 23.0));
    near(s.apparent, 1.081939, 1e-6, "apparent");
    near(s.emissivity, -67.657571, 1e-5, "emissivity");
    near(s.reflected, -0.064410, 1e-6, "reflected");
    near(s.transmittance, -61.506883, 1e-5, "transmittance");
    near(s.medium, -0.006506, 1e-6, "medium");
    let parts =
        [(s.apparent, 0.5), (s.emissivity, 0.02), (s.reflected, 2.0), (s.transmittance, 0.005), (s.medium, 2.0)];
    let combined = parts.iter().map(|(c, u)| (c * u) * (c * u)).sum::<f64>().sqrt();
    near(combined, 1.494994, 2e-6, "combined standard uncertainty");
    let cases = [
        (100.0, 0.30, 23.0, 50.8493, 2.44200, -202.97271, -1.35261),
        (60.0, 0.95, 20.0, 58.2708, 1.03982, -36.18300, -0.03787),
        (300.0, 0.60, 25.0, 217.5118, 1.39959, -317.28272, -0.21295),
        (80.0, 0.10, 25.0, 31.6998, 7.02629, -456.99740, -5.95467),
    ];
    for (t, e, reflected, apparent, by_apparent, by_emissivity, by_reflected) in cases {
        let scene = scene(e, reflected, 1.0, 20.0);
        near(equation(scene).apparent(t + 273.15).unwrap() - 273.15, apparent, 6e-5, "apparent");
        let s = at(t, scene);
        near(s.apparent, by_apparent, 6e-6, "c(apparent)");
        near(s.emissivity, by_emissivity, 6e-5, "c(emissivity)");
        near(s.reflected, by_reflected, 6e-6, "c(reflected)");
    }
}

/// Section 3.2, 8–14 µm: change of object temperature for +0.01 in emissivity, T_refl 20 °C, against the flat-band
/// integral. The curve stands in for the integral, so 0.1 %.
#[test]
fn effect_of_emissivity_8_to_14() {
    let table = [
        (60.0, [-0.3617, -0.3818, -0.4295, -0.6872, -1.1453]),
        (100.0, [-0.6585, -0.6951, -0.7820, -1.2511, -2.0852]),
        (300.0, [-2.0187, -2.1308, -2.3972, -3.8355, -6.3925]),
        (500.0, [-3.5195, -3.7150, -4.1794, -6.6870, -11.145]),
    ];
    for (t, cells) in table {
        for (e, cell) in [0.95, 0.90, 0.80, 0.50, 0.30].into_iter().zip(cells) {
            let scale = Scale::Curve(Curve::nominal_longwave());
            let equation = MeasurementEquation::new(&scale, &scene(e, 20.0, 1.0, 20.0)).unwrap();
            let got = equation.sensitivities(t + 273.15).unwrap().emissivity * 0.01;
            near(got / cell, 1.0, 1e-3, "dT/dε");
        }
    }
}

/// A linear scale with emissivity 1 is the plain formula: counts/40 − 100 °C, as inferred for the open recordings.
#[test]
fn linear_scale_is_the_plain_formula() {
    let scale = Scale::Linear(LinearScale::new(40.0, -100.0).unwrap());
    let equation = MeasurementEquation::new(&scale, &Scene::BLACKBODY).unwrap();
    for counts in [3_000.0, 3_906.0, 4_417.0] {
        near(equation.object(counts).unwrap() - 273.15, counts / 40.0 - 100.0, 1e-9, "object");
    }
    let table = Table::new(&equation, u16::MAX).unwrap();
    for counts in (3_000..4_500).step_by(7) {
        near(table.temperature(counts).unwrap().to_celsius(), f64::from(counts) / 40.0 - 100.0, 4e-5, "table");
    }
}

/// Eleven pairs of sensor and scene, and how many pieces each sensor takes: 14 bits in high and low gain, 16 bits on one
/// curve and on two, and a linear scale.
fn sensors() -> Vec<(MeasurementEquation, u16, usize)> {
    let curve =
        |a: f64, b: f64, c: f64, offset: f64| Curve::sakuma_hattori(a, b, c).unwrap().with_offset(offset).unwrap();
    let nominal = |c, offset| Scale::Curve(curve(9.370_228, 172.869_2, c, offset));
    // Two curves of different shape that meet at 150 °C.
    let (low, high) = (curve(9.370_228, 172.869_2, 240_000.0, 0.0), curve(9.45, 165.0, 237_400.0, 0.0));
    let high = high.with_offset(low.signal(423.15).unwrap() - high.signal(423.15).unwrap()).unwrap();
    let two = Scale::TwoRange(TwoRange::new(low, high, 423.15, 0.001).unwrap());
    let linear = Scale::Linear(LinearScale::new(60.0, -60.0).unwrap());
    let scenes = [Scene::BLACKBODY, scene(0.95, 21.0, 1.0, 20.0), scene(0.8, 35.0, 0.95, 20.0)];
    let curves = [
        (nominal(410_000.0, 1_850.0), 16_383, 256),
        (nominal(160_000.0, 500.0), 16_383, 512),
        (nominal(240_000.0, 0.0), 65_535, 2_048),
    ];
    let with = |scale: &Scale, scene: &Scene| MeasurementEquation::new(scale, scene).unwrap();
    let mut all: Vec<_> = curves
        .iter()
        .flat_map(|&(scale, full, pieces)| scenes.iter().map(move |scene| (with(&scale, scene), full, pieces)))
        .collect();
    all.extend([(with(&two, &scenes[0]), 65_535, 2_048), (with(&linear, &scenes[1]), 65_535, 1_024)]);
    all
}

/// Every count of a sensor: both conversions stay within what the table states, rows with half a step on top. Returns
/// the largest errors of scalars and rows above −20 °C, where such sensors are specified.
fn compare<const N: usize>(equation: &MeasurementEquation, full_scale: u16) -> (f64, f64) {
    let table = TableOf::<N>::new(equation, full_scale).unwrap();
    let (first, last) = table.counts_covered();
    let counts: Vec<u16> = (0..=full_scale).collect();
    let mut row = vec![RowKelvin::ZERO; counts.len()];
    table.kelvin_row(&counts, &mut row).unwrap();
    let mut before = Kelvin::default();
    let mut worst = (0.0f64, 0.0f64);
    for (&count, &pixel) in counts.iter().zip(&row) {
        let scalar = table.temperature(count);
        if count < first || count > last {
            assert_eq!(scalar, None);
            assert_eq!(pixel, if count < first { RowKelvin::ZERO } else { RowKelvin::MAX });
            continue;
        }
        let scalar = scalar.unwrap();
        assert!(scalar > before, "monotonic at {count}");
        before = scalar;
        let exact = equation.object(f64::from(count)).unwrap();
        let (scalar_off, row_off) = ((scalar.to_f64() - exact).abs(), (pixel.to_num::<f64>() - exact).abs());
        assert!(
            scalar_off <= table.scalar_error().to_f64(),
            "scalar at {count} of {first}–{last}: {scalar_off} > {:?}",
            table.scalar_error().to_f64()
        );
        assert!(row_off <= table.row_error().to_f64() + 1.0 / 64.0, "row at {count}: {row_off}");
        if exact > 253.15 {
            worst = (worst.0.max(scalar_off), worst.1.max(row_off));
        }
    }
    let stated = (table.scalar_error().to_f64(), table.row_error().to_f64());
    println!(
        "{N} pieces, counts {first}–{last}: above −20 °C scalar {:.5} K, row {:.4} K; stated for all {:.5} K, {:.4} K",
        worst.0, worst.1, stated.0, stated.1
    );
    worst
}

/// All counts of eleven sensors and scenes, above −20 °C: scalars within 2 mK of the closed form and rows within one
/// step of 1/32 K, half of which is rounding, with the pieces that suit the sensor; and every number of pieces within
/// what it states.
#[test]
fn table_against_closed_form_over_all_counts() {
    for (equation, full_scale, pieces) in sensors() {
        let worst = [
            (256, compare::<256>(&equation, full_scale)),
            (512, compare::<512>(&equation, full_scale)),
            (1_024, compare::<1024>(&equation, full_scale)),
            (2_048, compare::<2048>(&equation, full_scale)),
        ];
        let (_, (scalar, row)) = worst.into_iter().find(|&(n, _)| n == pieces).unwrap();
        assert!(scalar <= 0.002 && row <= 1.0 / 32.0, "{pieces} pieces: {scalar} K, {row} K");
    }
}

/// Two curves that do not meet: the stated errors hold the step, wherever the scene moves it to in counts.
#[test]
fn a_step_between_two_curves_is_in_the_stated_errors() {
    let curve = |c: f64| Curve::sakuma_hattori(9.4, 172.0, c).unwrap();
    for (share, seen) in
        [(1.03, scene(0.9, 20.0, 1.0, 20.0)), (0.995, scene(0.6, 35.0, 0.9, 25.0)), (1.004, Scene::BLACKBODY)]
    {
        let two = TwoRange::new(curve(120_000.0), curve(120_000.0 * share), 373.15, 3.0).unwrap();
        let equation = MeasurementEquation::new(&Scale::TwoRange(two), &seen).unwrap();
        let table = Table::new(&equation, 16_383).unwrap();
        let (first, last) = table.counts_covered();
        for count in first..=last {
            let mut row = [RowKelvin::ZERO];
            table.kelvin_row(&[count], &mut row).unwrap();
            let exact = equation.object(f64::from(count)).unwrap();
            let (scalar, row) = (table.temperature(count).unwrap().to_f64() - exact, row[0].to_num::<f64>() - exact);
            assert!(scalar.abs() <= table.scalar_error().to_f64(), "scalar at {count}: {scalar}");
            assert!(row.abs() <= table.row_error().to_f64() + 1.0 / 64.0, "row at {count}: {row}");
        }
    }
}

/// Limits beyond the table: nothing is hotter than one above it or colder than one below it; everything the other way.
#[test]
fn thresholds_beyond_the_table() {
    let scale = Scale::Linear(LinearScale::new(60.0, -60.0).unwrap());
    let table = Table::new(&MeasurementEquation::new(&scale, &Scene::BLACKBODY).unwrap(), u16::MAX).unwrap();
    let (first, last) = table.counts_covered();
    let of = |hot, cold| table.thresholds(celsius(hot), celsius(cold)).unwrap();
    assert_eq!((of(1_500.0, -200.0).hot(), of(1_500.0, -200.0).cold()), (u16::MAX, 0));
    assert_eq!(of(-100.0, -200.0).hot(), first - 1);
    assert_eq!(of(1_600.0, 1_500.0).cold(), last + 1);
}

/// The lookup holds what rows convert to.
#[test]
fn lookup_and_rows_agree() {
    for (equation, full_scale, _) in sensors() {
        let table = Table::new(&equation, full_scale).unwrap();
        let mut lookup: Box<[RowKelvin; 65_536]> = vec![RowKelvin::ZERO; 65_536].try_into().unwrap();
        table.write_lookup(&mut lookup);
        let counts: Vec<u16> = (0..=u16::MAX).collect();
        let mut row = vec![RowKelvin::ZERO; 65_536];
        table.kelvin_row(&counts, &mut row).unwrap();
        assert!(lookup.iter().eq(&row));
    }
}

/// A row converts to what its pixels convert to one by one, however they follow one another: all counts in order, and walks
/// of steps that keep neighbors in one piece of the table, in a few, or in none in common, across either end of the counts.
#[test]
fn rows_and_single_pixels_agree() {
    fn compare<const N: usize>(equation: &MeasurementEquation, full_scale: u16, rows: &[Vec<u16>]) {
        let table = TableOf::<N>::new(equation, full_scale).unwrap();
        let single = |count: u16| {
            let mut one = [RowKelvin::ZERO];
            table.kelvin_row(&[count], &mut one).unwrap();
            one[0]
        };
        let singles: Vec<RowKelvin> = (0..=u16::MAX).map(single).collect();
        for counts in rows {
            let mut row = vec![RowKelvin::ZERO; counts.len()];
            table.kelvin_row(counts, &mut row).unwrap();
            for (at, (&count, &pixel)) in counts.iter().zip(&row).enumerate() {
                assert_eq!(pixel, singles[usize::from(count)], "{count} at {at}, {N} pieces to {full_scale}");
            }
        }
    }
    let mut rows: Vec<Vec<u16>> = vec![(0..=u16::MAX).collect(), (0..=u16::MAX).rev().collect()];
    let mut lot = 1u32;
    for most in [1u32, 4, 15, 60, 250, 1_000, 4_000, 60_000] {
        for width in [640, 641, 20_000] {
            let mut count = 0u16;
            rows.push(
                (0..width)
                    .map(|_| {
                        // Numerical Recipes' generator, of which the upper bits are good.
                        lot = lot.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                        count = count.wrapping_add(((lot >> 8) % (2 * most + 1)) as u16).wrapping_sub(most as u16);
                        count
                    })
                    .collect(),
            );
        }
    }
    for (equation, full_scale, _) in sensors() {
        compare::<256>(&equation, full_scale, &rows);
        compare::<512>(&equation, full_scale, &rows);
        compare::<2_048>(&equation, full_scale, &rows);
    }
}

/// Pixels beyond the sensor's bits are above range wherever they stand in a row, and whatever the row's alignment.
#[test]
fn counts_beyond_the_full_scale_are_above_range() {
    for (equation, full_scale, _) in sensors() {
        let table = Table::new(&equation, full_scale).unwrap();
        let expected = |count: u16| {
            let mut one = [RowKelvin::ZERO];
            table.kelvin_row(&[count], &mut one).unwrap();
            one[0]
        };
        for width in [1usize, 2, 15, 16, 17, 33, 80, 161] {
            for at in 0..width {
                let mut counts: Vec<u16> = (0..width as u16).map(|x| full_scale / 2 + x).collect();
                counts[at] = u16::MAX;
                let mut row = vec![RowKelvin::ZERO; width + 1];
                for start in [0, 1] {
                    table.kelvin_row(&counts, &mut row[start..start + width]).unwrap();
                    for (&count, &pixel) in counts.iter().zip(&row[start..]) {
                        assert_eq!(pixel, expected(count), "{count} in {width} from {start}");
                    }
                    assert!(full_scale == u16::MAX || row[start + at] == RowKelvin::MAX);
                }
            }
        }
    }
}

/// Thresholds split the counts exactly where the table's temperature passes the limit.
#[test]
fn thresholds_split_at_the_temperature() {
    for (equation, full_scale, _) in sensors() {
        let table = Table::new(&equation, full_scale).unwrap();
        for (hot, cold) in [(40.0, 10.0), (60.0, 20.0), (21.0, 20.0)] {
            let (hot, cold) = (celsius(hot), celsius(cold));
            let thresholds = table.thresholds(hot, cold).unwrap();
            let (first, last) = table.counts_covered();
            for count in first..=last {
                let t = table.temperature(count).unwrap();
                assert_eq!(count > thresholds.hot(), t > hot, "hot at {count}");
                assert_eq!(count < thresholds.cold(), t < cold, "cold at {count}");
            }
        }
        assert!(table.thresholds(celsius(10.0), celsius(20.0)).is_err());
    }
}
