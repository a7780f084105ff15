//! Windows and air folded into one medium, against the same radiation summed up with the band integral, and the
//! coefficients against finite differences of it.
//!
//! Window figures: radiometry notes 5.4 (*computed* from published indices).

use oddheat_core::Error;
use oddheat_core::radiometry::{
    CalibrationPoint, Emissivity, FitOptions, MeasurementEquation, Medium, Scale, Scene, SpectralBand, Transmittance,
    blackbody_settings, fit_curve, medium_sensitivities,
};
use oddheat_core::units::celsius;
use oddheat_scenes::planck::{self, Band};
use oddheat_tests::band_integral::ICE_POINT_K;

#[track_caller]
fn near(got: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((got - wanted).abs() <= tolerance, "{what}: got {got}, wanted {wanted} ± {tolerance}");
}

/// One medium in °C: transmittance, reflectance, own and reflected temperature.
type Plain = [f64; 4];

fn radiance(t: f64) -> f64 {
    Band::of(planck::Response::Flat8To14).radiance(t + ICE_POINT_K)
}

/// What reaches the sensor from an object at `t`, written out medium by medium.
fn arriving(t: f64, (e, reflected): (f64, f64), media: &[Plain]) -> f64 {
    let surface = e * radiance(t) + (1.0 - e) * radiance(reflected);
    media.iter().fold(surface, |signal, [tau, rho, own, seen]| {
        tau * signal + (1.0 - tau - rho) * radiance(*own) + rho * radiance(*seen)
    })
}

fn medium([tau, rho, own, seen]: Plain) -> Medium {
    Medium::window(Transmittance::new(tau).unwrap(), rho, celsius(own), celsius(seen)).unwrap()
}

fn learned() -> Scale {
    let points = blackbody_settings(ICE_POINT_K - 20.0, ICE_POINT_K + 150.0).map(|(kelvin, time)| {
        CalibrationPoint::new(kelvin, radiance(kelvin - ICE_POINT_K)).uncertain(0.01 / libm::sqrt(time), 0.0)
    });
    Scale::Curve(*fit_curve(&points, &FitOptions::new(SpectralBand::flat(8.0, 14.0))).unwrap().curve())
}

fn scene((e, reflected): (f64, f64)) -> Scene {
    Scene::new(Emissivity::new(e).unwrap()).reflected(celsius(reflected))
}

/// Coated and uncoated germanium, polyethylene film, air on either side: the object temperature comes back within what
/// the curve leaves (1.4 mK), magnified by 1/(ε·τ).
#[test]
fn object_temperature_through_windows() {
    let air = [0.985, 0.0, 22.0, 22.0];
    let coated = [0.92, 0.05, 30.0, 35.0];
    let uncoated = [0.470, 0.530, 25.0, 28.0];
    let film = [0.88, 0.08, 24.0, 21.0];
    let surface = (0.90, 20.0);
    let cases: [&[Plain]; 6] = [&[coated], &[uncoated], &[air, coated], &[coated, air], &[film, air, uncoated], &[]];
    for media in cases {
        let folded: Vec<Medium> = media.iter().map(|m| medium(*m)).collect();
        let scene = scene(surface).behind(&learned(), &folded).unwrap();
        let equation = MeasurementEquation::new(&learned(), &scene).unwrap();
        let tau: f64 = media.iter().map(|m| m[0]).product();
        for t in [-5.0, 40.0, 90.0, 140.0] {
            let got = equation.object(arriving(t, surface, media)).unwrap() - ICE_POINT_K;
            near(got, t, 0.004 / (0.9 * tau), &format!("{media:?}"));
        }
    }
    // What ignoring a coated window costs, so that the case above cannot pass by doing nothing.
    let bare = MeasurementEquation::new(&learned(), &scene(surface)).unwrap();
    let ignored = bare.object(arriving(90.0, surface, &[coated])).unwrap() - ICE_POINT_K;
    assert!(ignored < 87.0, "{ignored}");
}

/// The medium a scene already has is the one next to the object.
#[test]
fn own_medium_comes_first() {
    let (air, window) = ([0.97, 0.0, 15.0, 15.0], [0.9, 0.06, 40.0, 45.0]);
    let through = scene((0.8, 30.0)).through(Transmittance::new(0.97).unwrap(), celsius(15.0));
    let one = through.behind(&learned(), &[medium(window)]).unwrap();
    let two = scene((0.8, 30.0)).behind(&learned(), &[medium(air), medium(window)]).unwrap();
    let object = |s: &Scene| MeasurementEquation::new(&learned(), s).unwrap().apparent(360.0).unwrap();
    near(object(&one), object(&two), 1e-4, "same stack");
}

/// Coefficients of every input of two media in a row, against the radiation with that input changed.
#[test]
fn coefficients_are_derivatives() {
    let surface = (0.85, 25.0);
    let media = [[0.97, 0.0, 18.0, 18.0], [0.80, 0.12, 35.0, 30.0], [0.99, 0.0, 22.0, 22.0]];
    let folded: Vec<Medium> = media.iter().map(|m| medium(*m)).collect();
    let (t, scale) = (110.0, learned());
    let stated = scene(surface).behind(&scale, &folded).unwrap();
    let equation = MeasurementEquation::new(&scale, &stated).unwrap();
    for index in 0..media.len() {
        let s = medium_sensitivities(&scale, &scene(surface), &folded, index, t + ICE_POINT_K).unwrap();
        let stated = [s.transmittance, s.reflectance, s.temperature, s.reflected];
        for (input, (coefficient, step)) in stated.into_iter().zip([1e-3, 1e-3, 0.5, 0.5]).enumerate() {
            // If the true input is lower by `step`, the stated one is higher: the result moves by coefficient·step.
            let measured = |by: f64| {
                let mut real = media;
                real[index][input] -= by;
                equation.object(arriving(t, surface, &real)).unwrap()
            };
            let difference = (measured(step) - measured(-step)) / (2.0 * step);
            near(coefficient, difference, 2e-3 * difference.abs() + 1e-9, &format!("medium {index}, input {input}"));
        }
    }
    let none = medium_sensitivities(&scale, &scene(surface), &folded, 3, 380.0);
    assert_eq!(none, Err(Error::WrongLength));
}

#[test]
fn equilibrium_and_refusals() {
    let even = scene((0.7, 30.0)).behind(&learned(), &[medium([0.6, 0.3, 30.0, 30.0])]).unwrap();
    let apparent = MeasurementEquation::new(&learned(), &even).unwrap().apparent(celsius(30.0).to_f64()).unwrap();
    near(apparent, celsius(30.0).to_f64(), 2e-5, "everything at one temperature");
    let window = |tau: f64, rho: f64| {
        Medium::window(Transmittance::new(tau).unwrap(), rho, celsius(20.0), celsius(20.0)).is_ok()
    };
    assert!(window(0.47, 0.53) && window(1.0, 0.0));
    assert!(!window(0.47, 0.54) && !window(0.5, -0.01) && !window(0.5, f64::NAN));
    let clear = scene((0.9, 20.0)).behind(&learned(), &[medium([1.0, 0.0, 20.0, 20.0])]).unwrap();
    assert_eq!(clear, scene((0.9, 20.0)), "nothing in the way changes nothing");
}
