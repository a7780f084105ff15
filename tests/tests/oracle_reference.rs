//! The library against values of other libraries: `tests/oracle/golden.json`, written by `tests/oracle/oracle.py`.
//!
//! The script names the libraries and their versions; run it with `--check` to see that the file is theirs.

use oddheat_core::radiometry::{
    CalibrationPoint, Curve, Emissivity, Estimate, Fit, FitOptions, Form, MeasurementEquation, PathBand, PathLoss,
    Scale, Scene, SpectralBand, Transmittance, emissivity_by_patch, fit_curve, reflected_by_foil,
};
use oddheat_core::units::{C2_UM_K, celsius};
use oddheat_tests::band_integral::{self, ICE_POINT_K, Response, spectral};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
struct Golden {
    constants: BTreeMap<String, f64>,
    /// µm, K, W m⁻² sr⁻¹ µm⁻¹.
    spectral: Vec<[f64; 3]>,
    /// K, radiance, slope.
    band: BTreeMap<String, Vec<[f64; 3]>>,
    /// Band, object °C, emissivity, reflected, transmittance, medium, radiance.
    three_terms: Vec<(String, f64, f64, f64, f64, f64, f64)>,
    budgets: Vec<[f64; 11]>,
    emissivities: Vec<[f64; 10]>,
    foils: Vec<[f64; 8]>,
    fits: Vec<GoldenFit>,
    air: BTreeMap<String, GoldenAir>,
}

#[derive(Deserialize)]
struct GoldenFit {
    form: String,
    free_offset: bool,
    /// K, counts, standard uncertainty in K.
    points: Vec<[f64; 3]>,
    coefficients: Vec<f64>,
    residuals_k: Vec<f64>,
    chi_square: f64,
    standard_uncertainties: Vec<f64>,
}

#[derive(Deserialize)]
struct GoldenAir {
    worst: f64,
    /// °C, relative humidity, m, transmittance.
    at: Vec<[f64; 4]>,
}

fn golden() -> Golden {
    serde_json::from_str(include_str!("../oracle/golden.json")).expect("the committed file")
}

#[track_caller]
fn near(got: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((got - wanted).abs() <= tolerance, "{what}: got {got}, wanted {wanted} ± {tolerance}");
}

fn response(name: &str) -> Response {
    match name {
        "8-14" => Response::flat(8.0, 14.0),
        "7.5-13" => Response::flat(7.5, 13.0),
        "soft" => Response::soft_edged(),
        other => panic!("no band {other}"),
    }
}

/// astropy, colour-science and ht for Planck's law; scipy's `quad` for the bands. The soft-edged response is made of 400
/// straight pieces here and smooth there, which is 1e-5.
#[test]
fn planck_and_band_integrals() {
    let golden = golden();
    near(C2_UM_K / golden.constants["c2"], 1.0, 1e-11, "c2");
    for [um, kelvin, value] in golden.spectral {
        near(spectral(um, kelvin) / value, 1.0, 1e-11, "spectral radiance");
    }
    assert_eq!(golden.band.len(), 3);
    for (name, rows) in golden.band {
        let (response, tolerance) = (response(&name), if name == "soft" { 1e-5 } else { 1e-10 });
        for [kelvin, radiance, slope] in rows {
            near(response.radiance(kelvin) / radiance, 1.0, tolerance, "radiance");
            near(response.slope(kelvin) / slope, 1.0, tolerance, "slope");
        }
    }
}

/// Radiance summed up by scipy, measured by the library with a curve it learned: the object comes back within what the
/// curve leaves over −20…150 °C, magnified by 1/(ε·τ).
#[test]
fn measurement_equation() {
    for (band, t, e, reflected, tau, medium, radiance) in golden().three_terms {
        let fit = band_integral::fit(&response(&band), ICE_POINT_K - 20.0, ICE_POINT_K + 150.0).unwrap();
        let scene = Scene::new(Emissivity::new(e).unwrap())
            .reflected(celsius(reflected))
            .through(Transmittance::new(tau).unwrap(), celsius(medium));
        let equation = MeasurementEquation::new(&Scale::Curve(*fit.curve()), &scene).unwrap();
        near(equation.object(radiance).unwrap() - ICE_POINT_K, t, 0.005 / (e * tau), &band);
    }
}

fn rounded_pair() -> Scale {
    Scale::Curve(Curve::sakuma_hattori(9.36, 178.0, 1.0).unwrap())
}

/// Combined standard uncertainties, by the automatic differentiation of `uncertainties`. Scene temperatures are I16F16,
/// which moves these by up to 2e-6 of themselves.
#[test]
fn combined_uncertainties() {
    for [t, e, reflected, tau, medium, u_app, u_e, u_refl, u_tau, u_med, combined] in golden().budgets {
        let scene = Scene::new(Emissivity::new(e).unwrap())
            .reflected(celsius(reflected))
            .through(Transmittance::new(tau).unwrap(), celsius(medium));
        let s = MeasurementEquation::new(&rounded_pair(), &scene).unwrap().sensitivities(t + ICE_POINT_K).unwrap();
        let parts =
            [s.apparent * u_app, s.emissivity * u_e, s.reflected * u_refl, s.transmittance * u_tau, s.medium * u_med];
        let got = libm::sqrt(parts.iter().map(|part| part * part).sum::<f64>());
        near(got / combined, 1.0, 2e-6, "combined standard uncertainty");
    }
}

#[test]
fn emissivity_measurements() {
    for [patch_e, patch, surface, reflected, u_e, u_patch, u_surface, u_reflected, e, u] in golden().emissivities {
        let at = |celsius: f64, u: f64| Estimate::new(celsius + ICE_POINT_K, u);
        let got = emissivity_by_patch(
            &rounded_pair(),
            Estimate::new(patch_e, u_e),
            at(patch, u_patch),
            at(surface, u_surface),
            at(reflected, u_reflected),
        )
        .unwrap();
        near(got.value, e, 1e-11, "emissivity");
        near(got.uncertainty, u, 1e-11, "its uncertainty");
    }
}

#[test]
fn reflected_temperatures() {
    for [reading, e, foil, u_reading, u_e, u_foil, kelvin, u] in golden().foils {
        let at = |celsius: f64, u: f64| Estimate::new(celsius + ICE_POINT_K, u);
        let got = reflected_by_foil(&rounded_pair(), at(reading, u_reading), Estimate::new(e, u_e), at(foil, u_foil))
            .unwrap();
        near(got.value, kelvin, 1e-9, "reflected temperature");
        near(got.uncertainty, u, 1e-10, "its uncertainty");
    }
}

fn fitted(golden: &GoldenFit) -> Fit {
    let points: Vec<_> =
        golden.points.iter().map(|[k, s, u]| CalibrationPoint::new(*k, *s).uncertain(*u, 0.0)).collect();
    let options = FitOptions::new(SpectralBand::flat(8.0, 14.0)).with_offset(1_850.0);
    let options = if golden.free_offset { options.with_free_offset() } else { options };
    let form = if golden.form == "planckian" { Form::Planckian } else { Form::FreeShape };
    fit_curve(&points, &options.with_form(form)).unwrap()
}

/// scipy's `least_squares` on the same noisy points, from another start: coefficients, residuals, chi-square, and the
/// standard uncertainties from its numerical Jacobian.
#[test]
fn weighted_fits() {
    let golden = golden();
    assert_eq!(golden.fits.len(), 3);
    for wanted in golden.fits {
        let fit = fitted(&wanted);
        let curve = fit.curve();
        let bend = if wanted.form == "planckian" { curve.b_um_k() } else { curve.shape() };
        let coefficients = [curve.a_um(), bend, curve.c_counts(), curve.offset()];
        // Far less than the data determine: a millionth of the standard uncertainty.
        let covariance = fit.covariance().unwrap();
        for (i, u) in wanted.standard_uncertainties.iter().enumerate() {
            near(coefficients[i], wanted.coefficients[i], 1e-5 * u, "coefficient");
            near(libm::sqrt(covariance[i][i]) / u, 1.0, 1e-4, "standard uncertainty");
        }
        for (got, wanted) in fit.residuals().iter().zip(&wanted.residuals_k) {
            near(*got, *wanted, 1e-7, "residual");
        }
        near(fit.chi_square().unwrap() / wanted.chi_square, 1.0, 1e-9, "chi-square");
        assert_eq!(fit.degrees_of_freedom(), wanted.points.len() - wanted.standard_uncertainties.len());
    }
}

/// The coefficients in the library are those of the oracle's fit to the LOWTRAN table, rounded.
#[test]
fn air_coefficients() {
    for (name, air) in golden().air {
        let band = if name == "8-14" { PathBand::From8To14 } else { PathBand::From7p5To13 };
        assert!(air.worst <= 0.0004, "what the documentation says of the fit: {}", air.worst);
        for [t, humidity, distance, tau] in air.at {
            let got = PathLoss::new(band, distance, t, humidity).unwrap().transmittance().get();
            near(got, tau, 5e-6, "transmittance");
        }
    }
}
