//! Quantiles against sorting, brackets against exact medians, rules against their formulas.

mod local;

use super::*;
use crate::sensor::CountRange;
use crate::units::{Delta, celsius};
use proptest::prelude::*;
use std::vec;
use std::vec::Vec;

fn range() -> CountRange {
    CountRange::new(0, 16_383).unwrap()
}

/// Pseudo-random numbers in 0..1: the finalizer of MurmurHash3 (public domain; memory).
fn uniform(seed: u32, i: usize) -> f64 {
    let mut h = seed ^ (i as u32).wrapping_mul(0x9E37_79B9);
    h = (h ^ (h >> 16)).wrapping_mul(0x85EB_CA6B);
    h = (h ^ (h >> 13)).wrapping_mul(0xC2B2_AE35);
    f64::from(h ^ (h >> 16)) / 4_294_967_296.0
}

/// Normal noise of unit variance (Box and Muller 1958).
fn normal(seed: u32, i: usize) -> f64 {
    let (a, b) = (uniform(seed, 2 * i), uniform(seed ^ 0x5555, 2 * i + 1));
    libm::sqrt(-2.0 * libm::log(a.max(1e-12))) * libm::cos(core::f64::consts::TAU * b)
}

fn histogram<'m>(bins: &'m mut [u32], window: Window, counts: &[u16]) -> (Histogram<'m>, usize) {
    let mut histogram = Histogram::new(bins, window).unwrap();
    histogram.push(counts, range());
    let readings = histogram.readings() as usize;
    (histogram, readings)
}

proptest! {
    #[test]
    fn quantiles_equal_sorting_within_a_bin(
        mut counts in proptest::collection::vec(1u16..16_383, 1..400),
        thousandths in 0u16..=1_000,
        bins in prop_oneof![Just(64usize), Just(256), Just(1_024)],
    ) {
        let mut memory = vec![0; bins];
        let window = Window::of(range(), bins);
        let (histogram, _) = histogram(&mut memory, window, &counts);
        counts.sort_unstable();
        let got = i64::from(histogram.quantile_q8(thousandths).unwrap());
        let rank = counts.len() * usize::from(thousandths) / 1_000;
        let low = i64::from(counts[rank.saturating_sub(1)]) << 8;
        let high = i64::from(counts[rank.min(counts.len() - 1)]) << 8;
        let slack = i64::from(window.bin_width()) << 8;
        prop_assert!(low - slack <= got && got <= high + slack, "{low} {got} {high} ± {slack}");
    }

    #[test]
    fn deviations_equal_sorting_within_two_bins(
        mut counts in proptest::collection::vec(4_000u16..4_600, 1..300),
        bins in prop_oneof![Just(1_024usize), Just(128)],
    ) {
        let mut memory = vec![0; bins];
        let window = Window::over(4_000, 4_599, bins);
        let (histogram, readings) = histogram(&mut memory, window, &counts);
        prop_assert_eq!(readings, counts.len());
        counts.sort_unstable();
        // Of an even number both middle values, and all between them, are medians.
        let bounds = [counts[(counts.len() - 1) / 2], counts[counts.len() / 2]];
        let mads = bounds.map(|median| {
            let mut away: Vec<u16> = counts.iter().map(|c| c.abs_diff(median)).collect();
            away.sort_unstable();
            (away[(away.len() - 1) / 2], away[away.len() / 2])
        });
        let apart = i64::from(bounds[1] - bounds[0]) << 8;
        let slack = ((2 * i64::from(window.bin_width())) << 8) + apart;
        let got = i64::from(histogram.deviation_q8().unwrap());
        let low = mads.iter().map(|m| m.0).min().unwrap();
        let high = mads.iter().map(|m| m.1).max().unwrap();
        prop_assert!((i64::from(low) << 8) - slack <= got && got <= (i64::from(high) << 8) + slack, "{low} {got} {high}");
    }

    #[test]
    fn the_split_is_that_of_the_definition(
        a in proptest::collection::vec(100u16..160, 1..80),
        b in proptest::collection::vec(120u16..250, 0..80),
    ) {
        let counts: Vec<u16> = a.into_iter().chain(b).collect();
        let mut memory = vec![0; 256];
        let (histogram, _) = histogram(&mut memory, Window::new(0, 0), &counts);
        // Otsu's criterion by its definition, in f64.
        let variance = |threshold: u16| {
            let class = |upper: bool| {
                let of: Vec<f64> = counts.iter().filter(|&&c| (c > threshold) == upper).map(|&c| f64::from(c)).collect();
                (of.len() as f64, of.iter().sum::<f64>() / of.len() as f64)
            };
            let ((w0, m0), (w1, m1)) = (class(false), class(true));
            if w0 == 0.0 || w1 == 0.0 { 0.0 } else { w0 * w1 * (m0 - m1) * (m0 - m1) }
        };
        let best = (0..=255u16).map(variance).fold(0.0, f64::max);
        match histogram.split() {
            Some(split) => {
                prop_assert!(variance(split.threshold) >= best * (1.0 - 1e-3), "{split:?}");
                prop_assert_eq!(split.upper, counts.iter().filter(|&&c| c > split.threshold).count() as u64);
                let n = counts.len() as f64;
                let mean = counts.iter().map(|&c| f64::from(c)).sum::<f64>() / n;
                let total = counts.iter().map(|&c| (f64::from(c) - mean).powi(2)).sum::<f64>() * n;
                let wanted = 1_000.0 * variance(split.threshold) / total;
                prop_assert!((f64::from(split.separability) - wanted).abs() <= 2.0, "{split:?} {wanted}");
            }
            None => prop_assert_eq!(best, 0.0),
        }
    }
}

#[test]
fn what_lies_outside_the_window_is_refused_and_found_next_time() {
    let mut memory = [0; 64];
    let counts: Vec<u16> = (0..2_000).map(|i| 5_000 + (i % 40) as u16).collect();
    let (mut found, _) = histogram(&mut memory, Window::new(100, 0), &counts);
    assert_eq!((found.quantile_q8(500), found.deviation_q8(), found.outside()), (None, None, (0, 2_000)));
    // Over everything, then around what bins of 256 counts saw, then around what bins of 8 saw.
    for _ in 0..3 {
        let window = found.next_window(range());
        found.start(window);
        found.push(&counts, range());
    }
    assert_eq!((found.window().bin_width(), found.outside()), (2, (0, 0)), "{:?}", found.window());
    assert!(found.quantile_q8(500).unwrap().abs_diff((5_019 << 8) + 128) <= 256);
}

#[test]
fn no_readings_give_no_answer() {
    let mut memory = [0; 16];
    let (empty, _) = histogram(&mut memory, Window::of(range(), 16), &[0, 16_383, u16::MAX]);
    assert_eq!(empty.readings(), 0);
    assert_eq!((empty.quantile_q8(500), empty.deviation_q8(), empty.split()), (None, None, None));
    assert!(Histogram::new(&mut [0; 1], Window::new(0, 0)).is_err());
}

/// 40,000 normal counts: the median absolute deviation and the second difference both find their σ.
#[test]
fn noise_is_found_whatever_the_scene() {
    for sigma in [1.0, 3.0, 8.0] {
        let (mut flat_bins, mut scene_bins, mut level_bins) = ([0; 512], [0; 512], [0; 256]);
        let mut flat = NoiseMeter::new(&mut flat_bins, 0).unwrap();
        let mut scene = NoiseMeter::new(&mut scene_bins, 0).unwrap();
        let mut level = Histogram::new(&mut level_bins, Window::over(4_900, 5_100, 256)).unwrap();
        for y in 0..200 {
            let noise = |x: usize| sigma * normal(7, y * 200 + x);
            let row: Vec<u16> = (0..200).map(|x| libm::round(5_000.0 + noise(x)) as u16).collect();
            flat.push(&row, range());
            level.push(&row, range());
            // A slope, a bright band with edges, and a dead pixel.
            let busy = |x: usize| 12.0 * x as f64 + if (60..90).contains(&x) { 2_000.0 } else { 0.0 };
            let mut row: Vec<u16> = (0..200).map(|x| libm::round(3_000.0 + busy(x) + noise(x)) as u16).collect();
            row[y / 2] = 0;
            scene.push(&row, range());
        }
        // 40,000 values leave 1 % of scatter, the edges of the scene another.
        let second = binned_sigma(libm::sqrt(6.0 * sigma * sigma + 0.5)) / libm::sqrt(6.0);
        for (what, got, wanted) in [
            ("level", level.sigma_q8(), binned_sigma(sigma)),
            ("flat", flat.sigma_q8(), second),
            ("scene", scene.sigma_q8(), second),
        ] {
            let got = f64::from(got.unwrap()) / 256.0;
            std::println!("{what}: {got:.3} for {sigma:.3}, predicted {wanted:.3}");
            assert!((got / wanted - 1.0).abs() < 0.025, "{what} {sigma}: {got} for {wanted}");
        }
    }
}

/// σ from the median absolute deviation of normal counts in bins of one count, each taken as evenly filled.
fn binned_sigma(sigma: f64) -> f64 {
    let within = |d: f64| libm::erf(d / (sigma * core::f64::consts::SQRT_2));
    let bin = (0..).map(|i| f64::from(i) + 0.5).find(|&edge| within(edge) >= 0.5).unwrap();
    let before = if bin > 0.5 { within(bin - 1.0) } else { 0.0 };
    let start = (bin - 1.0).max(0.0);
    (start + (bin - start) * (0.5 - before) / (within(bin) - before)) * 1.482_602
}

#[test]
fn the_rule_takes_the_largest_of_its_terms() {
    let k = |value: f64| Delta::from_f64(value);
    let rule = DetectionRule::DEFAULT;
    let close = |got: (Delta, Term), value: f64, by: Term| {
        assert!((got.0.to_f64() - value).abs() < 1e-3 && got.1 == by, "{got:?}, wanted {value} by {by:?}");
    };
    // 3·0.06 = 0.18 K is below the floor, 3·0.15 is not; 16 frames bring it back.
    close(rule.least_difference(k(0.06), k(0.0)), 0.3, Term::Floor);
    close(rule.least_difference(k(0.15), k(0.0)), 0.45, Term::Noise);
    close(DetectionRule { frames: 16, ..rule }.least_difference(k(0.6), k(0.0)), 0.45, Term::Noise);
    // 2 % of emissivity at 40 K from the reflected temperature: 0.02·40·0.9 = 0.72 K, on either side of it.
    let shiny = DetectionRule { emissivity_thousandths: 20, ..rule };
    close(shiny.least_difference(k(0.06), k(40.0)), 0.72, Term::Emissivity);
    close(shiny.least_difference(k(0.06), k(-40.0)), 0.72, Term::Emissivity);
    // The largest numbers there are saturate.
    let worst = DetectionRule {
        sigmas: 255,
        frames: 0,
        floor: Delta(fixed::types::I16F16::MAX),
        emissivity_thousandths: u16::MAX,
    };
    assert_eq!(worst.least_difference(k(1e9), k(-1e9)).0, Delta(fixed::types::I16F16::MAX));
}

#[test]
fn thresholds_lie_at_their_temperatures() {
    use crate::radiometry::{Curve, Emissivity, MeasurementEquation, Scale, Scene, Table};
    let curve = Curve::sakuma_hattori(9.37, 172.2, 410_000.0).unwrap().with_offset(1_850.0).unwrap();
    let scene = Scene::new(Emissivity::new(0.95).unwrap()).reflected(celsius(21.0));
    let table = Table::new(&MeasurementEquation::new(&Scale::Curve(curve), &scene).unwrap(), 16_383).unwrap();
    let level = table.counts_at_or_below(celsius(25.0)).unwrap();
    let rule = DetectionRule { floor: Delta::from_f64(2.0), ..DetectionRule::DEFAULT };
    let found = rule.thresholds(&table, u32::from(level) << 8, 2 << 8, celsius(21.0)).unwrap();
    assert_eq!((found.difference, found.by), (Delta::from_f64(2.0), Term::Floor));
    let at = |count: u16| table.temperature(count).unwrap().to_celsius();
    let center = at(level);
    assert!(at(found.thresholds.hot()) <= center + 2.0 && at(found.thresholds.hot() + 1) > center + 2.0);
    assert!(at(found.thresholds.cold()) >= center - 2.0 && at(found.thresholds.cold() - 1) < center - 2.0);
    // With much noise: 3·40 counts at this slope.
    let noisy = rule.thresholds(&table, u32::from(level) << 8, 40 << 8, celsius(21.0)).unwrap();
    let slope = (at(level + 1) - at(level - 1)) / 2.0;
    assert_eq!(noisy.by, Term::Noise);
    assert!((noisy.difference.to_f64() - 120.0 * slope).abs() < 0.01, "{noisy:?} {slope}");
    assert_eq!(rule.thresholds(&table, 0, 2 << 8, celsius(21.0)), Err(crate::Error::NoTemperature));
    // At either end of the table there is a slope to one side only; it is no flatter for that.
    let last = (0..=16_383).rfind(|&count| table.temperature(count).is_some()).unwrap();
    let first = (0..=16_383).find(|&count| table.temperature(count).is_some()).unwrap();
    let ends = [(first, at(first + 1) - at(first)), (last, at(last) - at(last - 1))];
    for (end, slope) in ends {
        let found = DetectionRule { floor: Delta::from_f64(0.0), ..rule };
        let wanted = found.least_difference(Delta::from_f64(2.0 * slope), Delta::from_f64(0.0)).0.to_f64();
        let got = found.thresholds(&table, u32::from(end) << 8, 2 << 8, celsius(21.0)).unwrap().difference.to_f64();
        assert!((got - wanted).abs() <= 0.02 * wanted, "{end}: {got} for {wanted}");
    }
}

#[test]
fn count_thresholds_stand_off_by_at_least_what_was_asked() {
    let rule = DetectionRule::DEFAULT;
    let thresholds = rule.thresholds_in_counts((5_000 << 8) + 128, 10 << 8, 0).unwrap();
    assert_eq!((thresholds.hot(), thresholds.cold()), (5_030, 4_971));
    let thresholds = rule.thresholds_in_counts(100 << 8, 60 << 8, 12).unwrap();
    assert_eq!((thresholds.hot(), thresholds.cold()), (280, 0));
    let thresholds = rule.thresholds_in_counts(u32::MAX, u32::MAX, u16::MAX).unwrap();
    assert_eq!((thresholds.hot(), thresholds.cold()), (65_535, 0));
}

#[test]
fn all_go_on_from_their_states_and_errors_change_nothing() {
    let settings = GridSettings { width: 40, height: 24, side: 8, finest: 0 };
    let rows: Vec<Vec<u16>> =
        (0..24).map(|y| (0..40).map(|x| (4_000.0 + 900.0 * uniform(5, y * 40 + x)) as u16).collect()).collect();
    let run = |interrupted: bool| {
        let (mut bins, mut signed) = ([0; 256], [0; 4_096]);
        let (mut blocks, mut bands) = ([LevelBlock::EMPTY; 15], [BandBins::EMPTY; 5]);
        let mut level = Histogram::new(&mut bins, Window::over(4_000, 5_000, 256)).unwrap();
        let mut noise = NoiseMeter::new(&mut signed, 0).unwrap();
        let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
        for row in core::iter::repeat_n(&rows, 5).flatten() {
            if interrupted {
                assert_eq!(local.push(&row[1..]), Err(crate::Error::WrongLength));
                let states = (level.suspend(), noise.suspend(), local.suspend());
                level = Histogram::resume(&mut bins, states.0);
                noise = NoiseMeter::resume(&mut signed, states.1);
                local = LocalLevel::resume(&mut blocks, &mut bands, states.2);
            }
            level.push(row, range());
            noise.push(row, range());
            local.push(row).unwrap();
        }
        let mut corrected = rows[7].clone();
        assert_eq!(local.correct_row(24, 5_000, &mut corrected), Err(crate::Error::WrongLength));
        assert_eq!(local.correct_row(7, 5_000, &mut corrected[1..]), Err(crate::Error::WrongLength));
        assert_eq!(corrected, rows[7]);
        local.correct_row(7, 5_000, &mut corrected).unwrap();
        (level.quantile_q8(500), level.deviation_q8(), noise.sigma_q8(), corrected)
    };
    assert_eq!(run(false), run(true));
}

#[test]
fn of_equally_good_splits_the_first_is_taken() {
    let mut memory = [0; 64];
    let (found, _) = histogram(&mut memory, Window::new(100, 0), &[110, 110, 140, 140]);
    assert_eq!(found.split(), Some(Split { threshold: 110, upper: 2, separability: 1_000 }));
}
