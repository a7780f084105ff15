//! Level, noise, split and block medians on recorded frames against numpy, scipy and scikit-image
//! (`tests/oracle/frames.py`), and the local level in front of the scanner on the real frame.

use oddheat_core::background::{
    BandBins, DetectionRule, GridSettings, Histogram, LevelBlock, LocalLevel, NoiseMeter, Window,
};
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
use oddheat_core::sensor::CountRange;
use oddheat_tests::frames::{Plain, brake_small, building_night};
use serde_json::Value;

fn range() -> CountRange {
    CountRange::new(0, 16_383).unwrap()
}

/// The frames and what the libraries say of them.
fn frames() -> [(&'static str, Plain, Value); 2] {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/oracle/frames.json");
    let mut oracle: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let mut brake = brake_small();
    // Dead pixels would be left out here and counted there; as in the script, they become 1.
    brake.counts.iter_mut().for_each(|count| *count = (*count).max(1));
    [("night", building_night(), oracle["night"].take()), ("brake", brake, oracle["brake"].take())]
}

/// A histogram of the frame in bins of one count.
fn exact<'m>(bins: &'m mut Vec<u32>, frame: &Plain) -> Histogram<'m> {
    let (low, high) = (*frame.counts.iter().min().unwrap(), *frame.counts.iter().max().unwrap());
    bins.resize(usize::from(high - low) + 1, 0);
    let mut histogram = Histogram::new(bins, Window::new(low, 0)).unwrap();
    frame.rows().for_each(|row| histogram.push(row, range()));
    histogram
}

#[test]
fn quantiles_and_scatter_are_those_of_sorting() {
    for (name, frame, oracle) in frames() {
        let mut bins = Vec::new();
        let histogram = exact(&mut bins, &frame);
        assert_eq!(Some(histogram.readings()), oracle["pixels"].as_u64());
        for (thousandths, wanted) in oracle["quantiles"].as_object().unwrap() {
            let got = f64::from(histogram.quantile_q8(thousandths.parse().unwrap()).unwrap()) / 256.0;
            let wanted = wanted.as_f64().unwrap();
            println!("{name} {thousandths}: {got:.2} {wanted}");
            // Bins of one count: half a count to either side.
            assert!((got - wanted).abs() <= 0.51, "{name} {thousandths}: {got} {wanted}");
        }
        let got = f64::from(histogram.deviation_q8().unwrap()) / 256.0;
        let wanted = oracle["mad"].as_f64().unwrap();
        println!("{name} deviation: {got:.2} {wanted}");
        assert!((got - wanted).abs() <= 1.0, "{name}: {got} {wanted}");
    }
}

#[test]
fn noise_is_that_of_second_differences() {
    for (name, frame, oracle) in frames() {
        let mut bins = [0; 512];
        let mut noise = NoiseMeter::new(&mut bins, 0).unwrap();
        frame.rows().for_each(|row| noise.push(row, range()));
        let got = f64::from(noise.sigma_q8().unwrap()) / 256.0;
        let wanted = oracle["sigma"].as_f64().unwrap();
        println!("{name}: {got:.2} {wanted:.2}");
        // The library's median is a whole number of counts: half of one is 0.5·1.4826/√6.
        assert!((got - wanted).abs() <= 0.31, "{name}: {got} {wanted}");
    }
}

#[test]
fn the_split_is_that_of_scikit_image() {
    for (name, frame, oracle) in frames() {
        let mut bins = Vec::new();
        let split = exact(&mut bins, &frame).split().unwrap();
        println!("{name}: {split:?}");
        assert_eq!(Some(u64::from(split.threshold)), oracle["otsu"].as_u64(), "{name}");
        let upper = frame.counts.iter().filter(|&&count| count > split.threshold).count();
        assert_eq!(split.upper, upper as u64);
    }
}

/// Variance between classes over total: 2/π for one normal distribution, 3/4 for an even one (Otsu 1979; derived).
#[test]
fn separability_of_one_class_is_the_derived_one() {
    let of = |weight: &dyn Fn(f64) -> f64| {
        let mut bins: Vec<u32> = (0..=1_000).map(|i| weight(f64::from(i) / 1_000.0).round() as u32).collect();
        let counts: Vec<u16> =
            bins.iter().enumerate().flat_map(|(i, &n)| std::iter::repeat_n(i as u16 + 1, n as usize)).collect();
        let mut histogram = Histogram::new(&mut bins, Window::new(1, 0)).unwrap();
        histogram.push(&counts, range());
        histogram.split().unwrap()
    };
    let normal = of(&|x| 5_000.0 * libm::exp(-(x - 0.5) * (x - 0.5) / (2.0 * 0.08 * 0.08)));
    let even = of(&|_| 100.0);
    println!("{normal:?} {even:?}");
    assert!(normal.separability.abs_diff(637) <= 1 && normal.threshold.abs_diff(500) <= 1);
    assert!(even.separability.abs_diff(750) <= 1 && even.threshold.abs_diff(500) <= 1);
}

#[test]
fn block_medians_are_those_of_sorting() {
    for (name, frame, oracle) in frames() {
        let settings = GridSettings { width: frame.width as u16, height: frame.height() as u16, side: 32, finest: 0 };
        let (mut blocks, mut bands) =
            (vec![LevelBlock::EMPTY; settings.blocks()], vec![BandBins::EMPTY; settings.bands()]);
        let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
        for _ in 0..5 {
            frame.rows().for_each(|row| local.push(row).unwrap());
        }
        assert!(local.is_settled());
        let got: Vec<u64> = local.blocks().iter().map(|block| block.median().into()).collect();
        let wanted: Vec<u64> = oracle["blocks"].as_array().unwrap().iter().map(|v| v.as_u64().unwrap()).collect();
        assert_eq!(got, wanted, "{name}");
    }
}

/// On the real facade, small warm spots of 30 counts (0.75 K) are put on walls and sky of different levels. One pair of
/// thresholds over the whole frame finds the facade instead; on the local level it finds them.
#[test]
fn spots_fainter_than_the_scene_is_uneven_are_found_on_the_local_level() {
    let mut frame = building_night();
    let spots: Vec<(usize, usize)> = (0..6).map(|i| (60 + 100 * i, 40 + 70 * i)).collect();
    for &(x, y) in &spots {
        for i in 0..49 {
            frame.counts[(y + i / 7) * 640 + x + i % 7] += 30;
        }
    }
    let settings = GridSettings { width: 640, height: 512, side: 16, finest: 0 };
    let (mut blocks, mut bands) = (vec![LevelBlock::EMPTY; settings.blocks()], vec![BandBins::EMPTY; settings.bands()]);
    let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
    for _ in 0..5 {
        frame.rows().for_each(|row| local.push(row).unwrap());
    }
    let mut bins = [0; 128];
    let mut noise = NoiseMeter::new(&mut bins, 0).unwrap();
    frame.rows().for_each(|row| noise.push(row, range()));
    let sigma = noise.sigma_q8().unwrap();
    let level = 4_000;
    let thresholds = DetectionRule { sigmas: 5, ..DetectionRule::DEFAULT }
        .thresholds_in_counts(u32::from(level) << 8, sigma, 12)
        .unwrap();
    let found = |correct: bool, thresholds: Thresholds| {
        let (mut runs, mut slots) = (vec![Run::EMPTY; Scanner::runs(640)], vec![Slot::EMPTY; 4_000]);
        let settings = Settings { width: 640, thresholds, connectivity: Connectivity::Eight, min_area: 20 };
        let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
        for (y, row) in frame.rows().enumerate() {
            let mut row = row.to_vec();
            if correct {
                local.correct_row(y as u16, level, &mut row).unwrap();
            }
            scanner.push(&row).unwrap();
        }
        let regions: Vec<_> = scanner.finish().regions().collect();
        // A spot counts as found if a hot region is on it and not much larger.
        let hit = |&&(x, y): &&(usize, usize)| {
            regions.iter().any(|r| r.box_contains(x as u16 + 3, y as u16 + 3) && (20..200).contains(&r.area))
        };
        spots.iter().filter(hit).count()
    };
    let mut level_bins = Vec::new();
    let median = exact(&mut level_bins, &frame).quantile_q8(500).unwrap();
    let plain = DetectionRule { sigmas: 5, ..DetectionRule::DEFAULT }.thresholds_in_counts(median, sigma, 12).unwrap();
    let (global, on_local) = (found(false, plain), found(true, thresholds));
    println!(
        "of {} spots: {global} on one level, {on_local} on the local level; noise {:.2}",
        spots.len(),
        f64::from(sigma) / 256.0
    );
    assert!(on_local >= 5 && on_local > global, "{global} {on_local}");
}
