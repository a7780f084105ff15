//! The C calls that fit, prepare and budget, with any numbers: nothing panics, refused outputs stay, and whatever is
//! handed out is finite and makes sense as the input of the next call.
#![no_main]

mod zeroed;

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use oddheat::*;
use std::mem::{MaybeUninit, size_of};
use std::ptr;
use zeroed::zeroed;

/// A number that is often sensible: few bit patterns of a double are a temperature.
#[derive(Arbitrary, Clone, Copy, Debug)]
enum Number {
    Thousandths(i32),
    Any(f64),
}

impl Number {
    fn get(self) -> f64 {
        match self {
            Self::Thousandths(value) => f64::from(value) / 1_000.0,
            Self::Any(value) => value,
        }
    }
}

/// Five coefficients.
type Coefficients = [Number; 5];

#[derive(Arbitrary, Debug)]
struct Input {
    /// Points off a sound curve by some counts; beside them any others: temperature, counts and their deviations.
    seen: Vec<(u8, i8)>,
    points: Vec<[Number; 4]>,
    /// Band and offset, if not those of the sound curve.
    options: Option<[Number; 3]>,
    form: u8,
    free_offset: u8,
    /// What a config has if nothing could be fitted; a sound curve if this is left out.
    curve: Option<Coefficients>,
    linear: Option<[Number; 2]>,
    high: Option<(Option<Coefficients>, [Number; 2])>,
    shares: [u16; 5],
    estimates: [[Number; 2]; 4],
    media: Vec<[Number; 4]>,
    /// Temperature, noise, counts and scatter of readings, air, coverage factor.
    numbers: [Number; 6],
    pixels: [u32; 2],
    relation: u8,
    /// Changes one double of a fit, a reading or the inputs, as a caller may.
    spoil: Option<(u8, f64)>,
}

/// A, B, C, offset and shape of an 8 to 14 micrometer sensor.
const SOUND: [f64; 5] = [9.36, 178.0, 1e6, 0.0, 1.0];

/// A value that no call hands out.
const UNTOUCHED: f64 = -77.5e77;

/// Checks one answer: finite and written, or refused and untouched.
fn answered(status: Status, values: &[f64]) -> bool {
    let ok = status == Status::Ok;
    let sound = |value: &f64| if ok { value.is_finite() } else { *value == UNTOUCHED };
    assert!(values.iter().all(sound), "{status:?} {values:?}");
    ok
}

fn fitted(input: &Input) -> Option<Fit> {
    let points: Vec<CalibrationPoint> = input
        .seen
        .iter()
        .map(|&(at, off)| {
            let kelvin = 250.0 + 2.0 * f64::from(at);
            let counts = 1e6 / ((14_387.769 / (9.36 * kelvin + 178.0)).exp() - 1.0) + f64::from(off);
            [kelvin, counts, 0.05, 0.0]
        })
        .chain(input.points.iter().map(|point| point.map(Number::get)))
        .map(|[kelvin, counts, kelvin_sd, counts_sd]| CalibrationPoint { kelvin, counts, kelvin_sd, counts_sd })
        .collect();
    let [band_from_um, band_to_um, offset_counts] = input.options.map_or([0.0; 3], |all| all.map(Number::get));
    let options = FitOptions {
        struct_size: size_of::<FitOptions>() as u32,
        form: u32::from(input.form % 3),
        free_offset: u32::from(input.free_offset % 3),
        reserved: 0,
        band_from_um,
        band_to_um,
        offset_counts,
    };
    let mut fit = Fit { struct_size: size_of::<Fit>() as u32, curve_a_um: UNTOUCHED, ..zeroed() };
    // SAFETY: good pointers, here and below: locals of the stated sizes.
    let status = unsafe { oddheat_fit_curve(points.as_ptr(), points.len(), &options, &mut fit) };
    let ok = answered(status, &[fit.curve_a_um]);
    if ok {
        let all = [&fit.covariance[..], &fit.residuals_k, &[fit.curve_b_um_k, fit.curve_c_counts, fit.curve_shape]];
        assert!(all.concat().iter().all(|value| value.is_finite()), "{fit:?}");
    }
    if let Some((index, value)) = input.spoil {
        fit.covariance[usize::from(index % 16)] = value;
    }
    let mut u = UNTOUCHED;
    let status = unsafe { oddheat_fit_uncertainty(&fit, input.numbers[0].get(), &mut u) };
    assert!(!answered(status, &[u]) || u >= 0.0);
    ok.then_some(fit)
}

fn config(input: &Input, fit: Option<Fit>) -> Config {
    let mut config = MaybeUninit::<Config>::uninit();
    let size = size_of::<Config>() as u32;
    let mut config = unsafe {
        assert_eq!(oddheat_config_init_sized(config.as_mut_ptr(), size, ABI_VERSION, 8, 8), Status::Ok);
        config.assume_init()
    };
    let [a, b, c, offset, shape] = input.curve.map_or(SOUND, |all| all.map(Number::get));
    (config.curve_a_um, config.curve_b_um_k, config.curve_c_counts) = (a, b, c);
    (config.curve_offset_counts, config.curve_shape) = (offset, shape);
    if let Some(fit) = fit {
        (config.curve_a_um, config.curve_b_um_k, config.curve_c_counts) =
            (fit.curve_a_um, fit.curve_b_um_k, fit.curve_c_counts);
        (config.curve_offset_counts, config.curve_shape) = (fit.curve_offset_counts, fit.curve_shape);
    }
    if let Some(linear) = input.linear {
        config.scale = SCALE_LINEAR;
        [config.linear_counts_per_kelvin, config.linear_zero_celsius] = linear.map(Number::get);
    }
    let [emissivity, transmittance, u, transmittance_u, medium_u] = input.shares;
    (config.emissivity_q15, config.transmittance_q15, config.emissivity_u_q15) = (emissivity, transmittance, u);
    (config.transmittance_u_q15, config.medium_u_centikelvin) = (transmittance_u, medium_u);
    config
}

fuzz_target!(|input: Input| {
    let mut config = config(&input, fitted(&input));
    let pair = input.high.map(|(curve, [hand_over, tolerance])| {
        let [a, b, c, offset, shape] = curve.map_or(SOUND, |all| all.map(Number::get));
        TwoRange {
            struct_size: size_of::<TwoRange>() as u32,
            reserved: 0,
            curve_a_um: a,
            curve_b_um_k: b,
            curve_c_counts: c,
            curve_offset_counts: offset,
            curve_shape: shape,
            hand_over_kelvin: hand_over.get(),
            tolerance_k: tolerance.get(),
        }
    });
    let high = pair.as_ref().map_or(ptr::null(), ptr::from_ref);
    let [e0, e1, e2, e3] = input.estimates.map(|[value, u]| Estimate { value: value.get(), uncertainty: u.get() });
    let unanswered = Estimate { value: UNTOUCHED, uncertainty: UNTOUCHED };
    for which in 0..3 {
        let mut out = unanswered;
        let status = unsafe {
            match which {
                0 => oddheat_emissivity_by_patch(&config, high, &e0, &e1, &e2, &e3, &mut out),
                1 => oddheat_emissivity_by_contact(&config, high, &e1, &e2, &e3, &mut out),
                _ => oddheat_reflected_by_foil(&config, high, &e1, &e0, &e2, &mut out),
            }
        };
        answered(status, &[out.value, out.uncertainty]);
    }
    let media: Vec<Medium> = input
        .media
        .iter()
        .map(|medium| medium.map(Number::get))
        .map(|[transmittance, reflectance, kelvin, reflected_kelvin]| Medium {
            transmittance,
            reflectance,
            kelvin,
            reflected_kelvin,
        })
        .collect();
    let before = (config.transmittance_q15, config.medium_mk);
    if unsafe { oddheat_config_behind(&mut config, high, media.as_ptr(), media.len()) } == Status::Ok {
        assert!((1..=32_768).contains(&config.transmittance_q15) && config.medium_mk > 0);
    } else {
        assert_eq!((config.transmittance_q15, config.medium_mk), before);
    }

    let mut inputs = MaybeUninit::<Inputs>::zeroed();
    if unsafe { oddheat_inputs_init(&config, inputs.as_mut_ptr()) } != Status::Ok {
        return;
    }
    let mut inputs = unsafe { inputs.assume_init() };
    let empty = Reading { struct_size: size_of::<Reading>() as u32, kelvin: UNTOUCHED, ..zeroed() };
    let [kelvin, noise, counts, scatter, air, coverage] = input.numbers.map(Number::get);
    let (mut first, mut second) = (empty, empty);
    let [pixels, frames] = input.pixels;
    let known = unsafe {
        [
            answered(oddheat_reading_at(&config, high, kelvin, noise, &mut first), &[first.kelvin]),
            answered(oddheat_reading_of(&config, high, counts, pixels, frames, scatter, &mut second), &[second.kelvin]),
        ]
    };
    match known {
        [true, true] => {}
        [true, false] => second = first,
        [false, true] => first = second,
        [false, false] => return,
    }
    match input.spoil {
        Some((0, value)) => second.by_apparent = value,
        Some((1, value)) => second.noise_k = value,
        Some((2, value)) => second.kelvin = value,
        Some((3, value)) => inputs.drift_k = value,
        _ => {}
    }
    let mut budget = Budget { struct_size: size_of::<Budget>() as u32, standard_k: UNTOUCHED, ..zeroed() };
    for difference in [false, true] {
        budget.standard_k = UNTOUCHED;
        let status = unsafe {
            if difference {
                oddheat_difference(&first, &second, u32::from(input.relation % 9), &inputs, coverage, &mut budget)
            } else {
                oddheat_budget_of(&second, &inputs, coverage, &mut budget)
            }
        };
        if status == Status::Ok {
            // Finite inputs may be too large to be squared, and then say so.
            assert!(budget.standard_k >= 0.0 && budget.parts_count <= 12, "{budget:?}");
        } else {
            assert_eq!(budget.standard_k, UNTOUCHED);
        }
    }
    let mut out = unanswered;
    let factors = [e0, e1];
    let factors = if input.relation > 127 { ptr::null() } else { factors.as_ptr() };
    let status =
        unsafe { oddheat_rise_ratio(&first, &second, air, factors, u32::from(input.relation % 9), &inputs, &mut out) };
    answered(status, &[out.value, out.uncertainty]);
});
