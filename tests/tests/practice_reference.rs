//! Emissivity, reflected apparent temperature, gates and the table of surfaces.
//!
//! Reference: radiometry notes 3.2 (*computed*) for the worked emissivity; everything else is simulated with the band
//! integral, measured with the library and compared with what was put in.

use oddheat_core::radiometry::{
    CalibrationPoint, Curve, Emissivity, EmissivityGate, Estimate, FitOptions, PracticeError, SURFACES, Scale,
    SpectralBand, SpotVerdict, blackbody_settings, emissivity_by_contact, emissivity_by_patch, fit_curve,
    pixel_spot_mm, reflected_by_foil, spot_verdict, surface,
};
use oddheat_scenes::draw::Draw;
use oddheat_scenes::planck::{self, Band};
use oddheat_tests::band_integral::ICE_POINT_K;
use std::collections::BTreeSet;

#[track_caller]
fn near(got: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((got - wanted).abs() <= tolerance, "{what}: got {got}, wanted {wanted} ± {tolerance}");
}

/// Degrees Celsius with an uncertainty, as kelvin.
const fn at(celsius: f64, u: f64) -> Estimate {
    Estimate::new(celsius + ICE_POINT_K, u)
}

fn band() -> &'static Band {
    Band::of(planck::Response::Flat8To14)
}

/// A scale learned from the band integral, so that no curve is used to test itself.
fn learned() -> Scale {
    let points = blackbody_settings(ICE_POINT_K - 20.0, ICE_POINT_K + 150.0).map(|(kelvin, time)| {
        CalibrationPoint::new(kelvin, band().radiance(kelvin)).uncertain(0.01 / libm::sqrt(time), 0.0)
    });
    Scale::Curve(*fit_curve(&points, &FitOptions::new(SpectralBand::flat(8.0, 14.0))).unwrap().curve())
}

/// What the sensor shows of a surface, K.
fn shown(emissivity: f64, kelvin: f64, reflected: f64) -> f64 {
    band().kelvin(emissivity * band().radiance(kelvin) + (1.0 - emissivity) * band().radiance(reflected))
}

/// Notes 3.2: object at 100 °C reads 70 °C, reflected 20 °C: 0.559189 with the 8–14 µm integral, 0.559410 with the
/// rounded pair 9.36/178; T⁴ would give 0.539900.
#[test]
fn worked_emissivity() {
    let by = |scale: &Scale| emissivity_by_contact(scale, at(100.0, 0.0), at(70.0, 0.0), at(20.0, 0.0)).unwrap();
    near(by(&learned()).value, 0.559189, 2e-5, "band integral");
    let rounded = Scale::Curve(Curve::sakuma_hattori(9.36, 178.0, 1.0).unwrap());
    near(by(&rounded).value, 0.559410, 5.1e-7, "rounded pair");
    near(by(&rounded).uncertainty, 0.0, 0.0, "nothing uncertain");
}

/// 4,000 simulated measurements each: the mean is the true value and the spread the stated uncertainty, within the
/// sampling error of 1.1 % times four (and the second-order terms that first-order propagation leaves out).
#[test]
fn stated_uncertainties_are_the_spread() {
    let scale = learned();
    let mut draw = Draw::new(3, "practice");
    let (object, reflected) = (ICE_POINT_K + 90.0, ICE_POINT_K + 22.0);
    let (true_patch, true_surface) = (0.95, 0.62);
    let (patch, bare) = (shown(true_patch, object, reflected), shown(true_surface, object, reflected));
    let foil = shown(0.05, ICE_POINT_K + 18.0, reflected);
    let (mut by_patch, mut by_contact, mut by_foil) = (Spread::default(), Spread::default(), Spread::default());
    for _ in 0..4_000 {
        let mut about = |value: f64, u: f64| Estimate::new(value + draw.normal(u), u);
        let reading = about(bare, 0.3);
        let surroundings = about(reflected, 1.0);
        let known = about(true_patch, 0.01);
        by_patch.add(emissivity_by_patch(&scale, known, about(patch, 0.3), reading, surroundings).unwrap());
        by_contact.add(emissivity_by_contact(&scale, about(object, 1.0), reading, surroundings).unwrap());
        let foil_emissivity = about(0.05, 0.01);
        let air = about(ICE_POINT_K + 18.0, 1.0);
        by_foil.add(reflected_by_foil(&scale, about(foil, 0.4), foil_emissivity, air).unwrap());
    }
    by_patch.judge(true_surface, "by patch");
    by_contact.judge(true_surface, "by contact");
    by_foil.judge(reflected, "by foil");
}

#[derive(Default)]
struct Spread(Vec<Estimate>);

impl Spread {
    fn add(&mut self, estimate: Estimate) {
        self.0.push(estimate);
    }

    #[track_caller]
    fn judge(&self, truth: f64, what: &str) {
        let n = self.0.len() as f64;
        let mean = self.0.iter().map(|e| e.value).sum::<f64>() / n;
        let deviation = libm::sqrt(self.0.iter().map(|e| (e.value - mean) * (e.value - mean)).sum::<f64>() / n);
        let stated = self.0.iter().map(|e| e.uncertainty).sum::<f64>() / n;
        println!("{what}: mean {mean:.4} of {truth:.4}, spread {deviation:.5}, stated {stated:.5}");
        near(mean, truth, 4.0 * deviation / libm::sqrt(n), what);
        near(deviation / stated, 1.0, 0.045, what);
    }
}

#[test]
fn refusals_of_the_procedures() {
    let scale = learned();
    let patch = |e: f64, patch: f64, surface: f64, u: f64| {
        emissivity_by_patch(&scale, Estimate::new(e, 0.01), at(patch, u), at(surface, u), at(20.0, 0.5))
    };
    assert!(patch(0.95, 80.0, 60.0, 0.2).is_ok());
    assert_eq!(patch(0.95, 28.0, 24.0, 0.2), Err(PracticeError::TooLittleContrast));
    assert_eq!(patch(0.95, 80.0, 100.0, 0.2), Err(PracticeError::Contradiction), "more than a blackbody");
    assert_eq!(patch(0.95, 80.0, 15.0, 0.2), Err(PracticeError::Contradiction), "colder than what it reflects");
    assert_eq!(patch(0.97, 80.0, 82.5, 1.0).unwrap().value, 1.0, "above 1 within its uncertainty");
    for e in [0.0, 1.01, f64::NAN] {
        assert_eq!(patch(e, 80.0, 60.0, 0.2), Err(PracticeError::OutsideDomain));
    }
    assert_eq!(patch(0.95, f64::NAN, 60.0, 0.2), Err(PracticeError::OutsideDomain));
    assert_eq!(patch(0.95, 80.0, 60.0, -0.2), Err(PracticeError::OutsideDomain));
    let foil = |e: f64| reflected_by_foil(&scale, at(22.0, 0.3), Estimate::new(e, 0.01), at(20.0, 1.0));
    assert!(foil(0.05).is_ok());
    assert_eq!(foil(0.5), Err(PracticeError::OutsideDomain), "that is no reflector");
}

#[test]
fn mean_of_readings() {
    // By hand: mean 21, squares 4 + 1 + 1 + 4 + 0 = 10, over 5·4.
    let mean = Estimate::mean_of(&[19.0, 20.0, 22.0, 23.0, 21.0]).unwrap();
    near(mean.value, 21.0, 1e-14, "mean");
    near(mean.uncertainty, libm::sqrt(0.5), 1e-14, "standard uncertainty of the mean");
    assert_eq!((Estimate::mean_of(&[21.0]), Estimate::mean_of(&[])), (None, None));
}

#[test]
fn emissivity_gate() {
    let gate = |e: f64| EmissivityGate::of(Emissivity::new(e).unwrap());
    assert_eq!((gate(0.05), gate(0.30)), (EmissivityGate::NoTemperature, EmissivityGate::NoTemperature));
    assert_eq!((gate(0.301), gate(0.499)), (EmissivityGate::Low, EmissivityGate::Low));
    assert_eq!((gate(0.5), gate(0.95)), (EmissivityGate::Usable, EmissivityGate::Usable));
}

/// Notes 6: pitch 17 µm, f = 10 mm: 1.7 mrad; at 1 m 1.7 mm, three pixels 5.1 mm; 15.3 mm at 3 m.
#[test]
fn spot_size() {
    near(pixel_spot_mm(1.0, 1.7), 1.7, 1e-12, "pixel");
    assert_eq!(spot_verdict(5.2, 1.0, 1.7), SpotVerdict::Measured);
    assert_eq!(spot_verdict(5.0, 1.0, 1.7), SpotVerdict::DetectedNotMeasured);
    assert_eq!(spot_verdict(15.4, 3.0, 1.7), SpotVerdict::Measured);
    assert_eq!(spot_verdict(15.2, 3.0, 1.7), SpotVerdict::DetectedNotMeasured);
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(spot_verdict(10.0, bad, 1.7), SpotVerdict::DetectedNotMeasured);
        assert_eq!(spot_verdict(f64::NAN, 1.0, 1.7), SpotVerdict::DetectedNotMeasured);
    }
}

/// Every row is sound, found by its key, and none is there twice.
#[test]
fn table_of_surfaces() {
    let mut seen = BTreeSet::new();
    let mut names = BTreeSet::new();
    for row in &SURFACES {
        assert!(row.low > 0.0 && row.low <= row.typical && row.typical <= row.high && row.high <= 1.0, "{row:?}");
        assert!(seen.insert(row.key) && names.insert(row.name), "twice: {row:?}");
        assert!(row.key.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-'), "{row:?}");
        assert!(!row.source.is_empty() && !row.name.is_empty(), "{row:?}");
        assert_eq!(surface(row.key), Some(row));
    }
    assert_eq!((surface(""), surface("unobtainium")), (None, None));
    // Spot checks against the notes' table: one row of each band and label.
    let values = |key: &str| surface(key).map(|s| (s.low, s.typical, s.high, s.read)).unwrap();
    assert_eq!(values("tire-rubber"), (0.92, 0.94, 0.96, false));
    assert_eq!(values("cast-iron-machined"), (0.20, 0.21, 0.25, true));
    assert_eq!(values("plastic-black"), (0.937, 0.937, 0.937, true));
    assert_eq!(values("skin"), (0.96, 0.972, 0.99, true));
}
