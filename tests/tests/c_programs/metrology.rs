//! `metrology.c` against the core, to the last bit of every double.

use super::{C11, C99, CPP11, output, program};
use oddheat::{RELATION_ADJACENT, RELATION_SAME_SURFACE, RELATION_SAME_VIEW};
use oddheat_core::measure::{InputUncertainty, Reading, Relation, Shape, Statistic, Tally};
use oddheat_core::radiometry::{
    CalibrationPoint, Curve, Emissivity, EmissivityBand, EmissivityGate, Estimate, Fit, FitOptions, Form,
    MeasurementEquation, Medium, PathBand, PathLoss, SURFACES, Scale, Scene, SpectralBand, SpotVerdict,
    TRANSMITTANCE_UNCERTAINTY, Table, Transmittance, TwoRange, emissivity_by_contact, emissivity_by_patch, fit_curve,
    reflected_by_foil, spot_verdict,
};
use oddheat_core::sensor::netd;
use oddheat_core::units::Kelvin;
use oddheat_tests::toolchain;
use std::fmt::{Display, Write as _};

/// Lines as the C program prints them.
#[derive(Default)]
pub(super) struct Lines(pub(super) String);

impl Lines {
    pub(super) fn number(&mut self, name: &str, value: f64) {
        writeln!(self.0, "{name} {:016x}", value.to_bits()).unwrap();
    }

    fn whole(&mut self, name: &str, value: impl Display) {
        writeln!(self.0, "{name} {value}").unwrap();
    }

    pub(super) fn estimate(&mut self, name: &str, of: Estimate) {
        self.number(name, of.value);
        self.number(name, of.uncertainty);
    }
}

fn fit(lines: &mut Lines, form: Form, free_offset: bool) -> Curve {
    let kelvin = [253.15, 293.15, 333.15, 373.15, 423.15];
    let counts = [3537.611752, 7322.192489, 12880.42145, 20250.11869, 31904.59244];
    let points = [0, 1, 2, 3, 4].map(|i| CalibrationPoint::new(kelvin[i], counts[i]).uncertain(0.02, 0.5));
    let mut options = FitOptions::new(SpectralBand::flat(8.0, 14.0)).with_form(form);
    if free_offset {
        options = options.with_free_offset();
    }
    let fit: Fit = fit_curve(&points, &options).unwrap();
    lines.whole("points", 5);
    lines.whole("freedom", fit.degrees_of_freedom());
    lines.whole("known", 3 + if form == Form::FreeShape { 4 } else { 0 } + if free_offset { 8 } else { 0 });
    let curve = fit.curve();
    lines.number("a", curve.a_um());
    lines.number("b", curve.b_um_k());
    lines.number("c", curve.c_counts());
    lines.number("offset", curve.offset());
    lines.number("shape", curve.shape());
    lines.number("low", fit.range().0);
    lines.number("high", fit.range().1);
    lines.number("chi-square", fit.chi_square().unwrap());
    fit.covariance().unwrap().as_flattened().iter().for_each(|&c| lines.number("covariance", c));
    for (point, &residual) in points.iter().zip(fit.residuals()) {
        lines.number("residual", residual);
        lines.number("u", fit.standard_uncertainty(point.kelvin).unwrap());
    }
    for kelvin in (240..=560).step_by(40) {
        lines.number("u", fit.standard_uncertainty(f64::from(kelvin)).unwrap());
    }
    *curve
}

fn procedures(lines: &mut Lines, scale: &Scale) {
    let about = Estimate::new;
    let (surface, reflected) = (about(345.0, 0.3), about(295.15, 1.0));
    let by_patch = emissivity_by_patch(scale, about(0.95, 0.01), about(381.0, 0.3), surface, reflected);
    lines.estimate("by-patch", by_patch.unwrap());
    lines.estimate("by-contact", emissivity_by_contact(scale, about(383.15, 1.0), surface, reflected).unwrap());
    for seen in [reflected, about(403.15, 1.0)] {
        lines.estimate("by-foil", reflected_by_foil(scale, seen, about(0.05, 0.02), about(291.15, 1.0)).unwrap());
    }
    for emissivity in [0.3, 0.31, 0.5, 0.95] {
        lines.whole(
            "gate",
            match EmissivityGate::of(Emissivity::new(emissivity).unwrap()) {
                EmissivityGate::Usable => 1,
                EmissivityGate::Low => 2,
                EmissivityGate::NoTemperature => 3,
            },
        );
    }
    for mm in [8.0, 9.0, 10.0] {
        lines.whole("measured", u8::from(spot_verdict(mm, 1.0, 3.0) == SpotVerdict::Measured));
    }
}

fn surfaces(lines: &mut Lines) {
    for s in &SURFACES {
        let band = match s.band {
            EmissivityBand::Total => 1,
            EmissivityBand::Longwave => 2,
            EmissivityBand::Thermometer => 3,
        };
        writeln!(lines.0, "{}|{}|{}|{}|{band}|{}", s.key, s.name, s.temperature, s.source, u8::from(s.read)).unwrap();
        lines.number("low", s.low);
        lines.number("typical", s.typical);
        lines.number("high", s.high);
    }
}

fn kelvin(value: f64) -> Kelvin {
    Kelvin::from_f64(value)
}

/// The scene behind air and a window, with the medium as it stands in a config.
fn path(lines: &mut Lines, scale: &Scale, scene: Scene) -> Scene {
    let mut air = None;
    for band in [PathBand::From7p5To13, PathBand::From8To14] {
        let transmittance = PathLoss::new(band, 3.0, 23.0, 0.5).unwrap().transmittance();
        lines.estimate("air", Estimate::new(transmittance.get(), TRANSMITTANCE_UNCERTAINTY));
        air = Some(transmittance);
    }
    let window = Transmittance::new(0.90).unwrap();
    let media = [
        Medium::air(air.unwrap(), kelvin(296.15)),
        Medium::window(window, 0.04, kelvin(298.15), kelvin(385.15)).unwrap(),
    ];
    let (transmittance, medium) = scene.behind(scale, &media).unwrap().medium();
    let (q15, mk) = ((transmittance.get() * 32_768.0).round(), medium.millikelvin());
    lines.whole("transmittance", q15);
    lines.whole("medium", mk);
    scene.through(Transmittance::new(q15 / 32_768.0).unwrap(), kelvin(f64::from(mk) / 1_000.0))
}

fn inputs() -> InputUncertainty {
    InputUncertainty {
        reflected_k: 2.0,
        calibration_k: 0.5,
        transmittance: 164.0 / 32_768.0,
        medium_k: 2.0,
        ..InputUncertainty::HANDHELD
    }
}

fn budgets(lines: &mut Lines, scale: &Scale, scene: &Scene) {
    let (equation, inputs) = (MeasurementEquation::new(scale, scene).unwrap(), inputs());
    let u = 655.0 / 32_768.0;
    let hot = Reading::at(423.15, 0.02, &equation, u).unwrap();
    let cool = Reading::at(341.15, 0.03, &equation, u).unwrap();
    lines.number("apparent", hot.apparent_k);
    let combined = hot.standard_uncertainty(&inputs);
    for value in [hot.kelvin, combined, 2.0 * combined] {
        lines.number("budget", value);
    }
    let share = |part: f64, of: f64| (part / of) * (part / of);
    for part in hot.budget(&inputs) {
        lines.whole("part", part.component.code());
        lines.number("kelvin", part.kelvin());
        lines.number("share", share(part.kelvin(), combined));
    }
    for relation in 0..8 {
        let relation = Relation {
            same_view: relation & RELATION_SAME_VIEW != 0,
            same_surface: relation & RELATION_SAME_SURFACE != 0,
            adjacent: relation & RELATION_ADJACENT != 0,
        };
        let (value, combined) = hot.minus(&cool, relation, &inputs);
        for value in [value, combined, 3.0 * combined] {
            lines.number("difference", value);
        }
        // What is left of each part, written out as JCGM 100, 5.2 has it: what is shared is subtracted before squaring.
        for (a, b) in hot.budget(&inputs).zip(cool.budget(&inputs)) {
            use oddheat_core::measure::Component as Part;
            let left = match a.component {
                Part::Noise => libm::hypot(a.kelvin(), b.kelvin()),
                Part::Uniformity if relation.adjacent => libm::hypot(a.kelvin(), b.kelvin()) / 3.0,
                Part::Uniformity => libm::hypot(a.kelvin(), b.kelvin()),
                Part::Drift if !relation.same_view => libm::hypot(a.kelvin(), b.kelvin()),
                Part::Emissivity if !relation.same_surface => libm::hypot(a.kelvin(), b.kelvin()),
                _ => (a.kelvin() - b.kelvin()).abs(),
            };
            lines.whole("part", a.component.code());
            lines.number("kelvin", left);
            lines.number("share", share(left, combined));
        }
        for factors in [[(1.0, 0.0); 2], [(1.1, 0.02 / 1.1), (1.0, 0.01)]] {
            let (ratio, u) = hot.rise_ratio(&cool, 296.15, factors, relation, &inputs);
            lines.estimate("ratio", Estimate::new(ratio, u));
        }
    }
}

fn high() -> oddheat::TwoRange {
    oddheat::TwoRange {
        struct_size: size_of::<oddheat::TwoRange>() as u32,
        reserved: 0,
        curve_a_um: 9.36,
        curve_b_um_k: 178.0,
        curve_c_counts: 2e6,
        curve_offset_counts: -20_250.0,
        curve_shape: 1.0,
        hand_over_kelvin: 373.15,
        tolerance_k: 0.5,
    }
}

/// [`high`] on a low curve.
fn pair(low: Curve) -> Scale {
    let high = Curve::sakuma_hattori(9.36, 178.0, 2e6).unwrap().with_offset(-20_250.0).unwrap();
    Scale::TwoRange(TwoRange::new(low, high, 373.15, 0.5).unwrap())
}

/// As `two_ranges` of the C program.
fn two_ranges(lines: &mut Lines, low: Curve, scene: Scene) {
    let scale = pair(low);
    procedures(lines, &scale);
    let scene = path(lines, &scale, scene);
    budgets(lines, &scale, &scene);
    let table = Table::new(&MeasurementEquation::new(&scale, &scene).unwrap(), u16::MAX).unwrap();
    for counts in (0..=u16::MAX).step_by(251) {
        let mk = table.temperature(counts).map_or(0, Kelvin::millikelvin);
        writeln!(lines.0, "at {counts} {mk}").unwrap();
    }
}

fn wanted() -> String {
    let mut lines = Lines::default();
    fit(&mut lines, Form::FreeShape, false);
    fit(&mut lines, Form::Planckian, true);
    let curve = fit(&mut lines, Form::Planckian, false);
    let scale = Scale::Curve(curve);
    procedures(&mut lines, &scale);
    surfaces(&mut lines);
    let scene = Scene::new(Emissivity::new(29_491.0 / 32_768.0).unwrap()).reflected(kelvin(296.15));
    let behind = path(&mut lines, &scale, scene);
    budgets(&mut lines, &scale, &behind);
    two_ranges(&mut lines, curve, scene);
    lines.number("netd", netd(5.0, 500.0, 6.2).unwrap());
    lines.0
}

/// Whether two lines are the same, or differ by rounding where the test adds up in another order than the core: parts
/// left of a difference, and their shares.
fn same(got: &str, wanted: &str) -> bool {
    if got == wanted {
        return true;
    }
    let number = |line: &str| {
        let (name, bits) = line.split_once(' ')?;
        ["kelvin", "share"].contains(&name).then(|| u64::from_str_radix(bits, 16).map(f64::from_bits).ok())?
    };
    // 1e-12 K lies six orders below what anybody reads; differences of nearly equal parts lose that many digits.
    number(got).zip(number(wanted)).is_some_and(|(a, b)| (a - b).abs() <= 1e-12)
}

#[test]
fn metrology_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let wanted = wanted();
    assert!(wanted.lines().count() > 500);
    for (dialect, variant) in [(C99, "metrology-c99"), (C11, "metrology-c11"), (CPP11, "metrology-cpp11")] {
        let printed = output(&program(dialect, &[], &["metrology.c"], variant));
        let differs = printed.lines().zip(wanted.lines()).find(|(got, wanted)| !same(got, wanted));
        assert_eq!(differs, None, "{variant}");
        assert_eq!(printed.lines().count(), wanted.lines().count(), "{variant}");
    }
}

/// Mean counts, scatter and size of a tally, given to C, make the reading that the core makes of the tally itself: with
/// one curve, and below and above the hand-over of two.
#[test]
fn reading_of_counts_is_the_one_of_the_tally() {
    let (shape, curve, high) = (Shape::Spot { x: 4, y: 4, size: 7 }, direct_curve(), high());
    let mut seen = Vec::new();
    for (level, high) in [(15_000, None), (15_000, Some(&high)), (25_000, None), (25_000, Some(&high))] {
        let mut tally = Tally::EMPTY;
        for t in 0..12u32 {
            for y in 0..9u16 {
                let row: Vec<u16> = (0..9).map(|x| level + 7 * x + 3 * y + (t * t % 23) as u16).collect();
                tally.add_row(shape, y, &row, 0, u16::MAX);
            }
            tally.end_frame(t * 40);
        }
        let series = tally.means();
        let (mean, scatter) = (series.mean_counts().unwrap(), series.scatter_counts().unwrap());
        for netd_mk in [60, 5_000] {
            let config = oddheat::Config { netd_mk, ..direct_config() };
            let scene = Scene::new(Emissivity::new(29_491.0 / 32_768.0).unwrap()).reflected(kelvin(293.15));
            let scale = high.map_or(Scale::Curve(curve), |_| pair(curve));
            let equation = MeasurementEquation::new(&scale, &scene).unwrap();
            let inputs = InputUncertainty { netd_k: f64::from(netd_mk) / 1_000.0, ..InputUncertainty::HANDHELD };
            let wanted = Reading::of(&tally, Statistic::Mean, &equation, &inputs, 0.0).unwrap();
            let mut got = oddheat::Reading { struct_size: size_of::<oddheat::Reading>() as u32, ..empty() };
            let high = high.map_or(std::ptr::null(), std::ptr::from_ref);
            let (pixels, frames) = (tally.pixels(), series.frames());
            // SAFETY: all are locals, or NULL.
            let status = unsafe { oddheat::oddheat_reading_of(&config, high, mean, pixels, frames, scatter, &mut got) };
            assert_eq!(status, oddheat::Status::Ok);
            assert_eq!((got.kelvin, got.noise_k), (wanted.kelvin, wanted.noise_k));
            assert!(wanted.noise_k > 0.0);
            seen.push(wanted.kelvin);
        }
    }
    // Below the hand-over the second curve must not matter, above it must.
    let [below, below_two, above, above_two] = [0, 2, 4, 6].map(|i| seen[i]);
    assert!(below == below_two && above - above_two > 5.0, "{seen:?}");
}

fn direct_curve() -> Curve {
    Curve::sakuma_hattori(9.36, 178.0, 1e6).unwrap()
}

fn direct_config() -> oddheat::Config {
    let mut config = std::mem::MaybeUninit::uninit();
    let size = size_of::<oddheat::Config>() as u32;
    // SAFETY: the pointer is good; the config is initialized by the call.
    let mut config = unsafe {
        let made = oddheat::oddheat_config_init_sized(config.as_mut_ptr(), size, oddheat::ABI_VERSION, 9, 9);
        assert_eq!(made, oddheat::Status::Ok);
        config.assume_init()
    };
    (config.curve_a_um, config.curve_b_um_k, config.curve_c_counts) = (9.36, 178.0, 1e6);
    config.emissivity_q15 = 29_491;
    config
}

fn empty() -> oddheat::Reading {
    oddheat::Reading {
        struct_size: 0,
        reserved: 0,
        kelvin: 0.0,
        noise_k: 0.0,
        emissivity: 0.0,
        emissivity_u: 0.0,
        apparent_k: 0.0,
        by_apparent: 0.0,
        by_emissivity: 0.0,
        by_reflected: 0.0,
        by_transmittance: 0.0,
        by_medium: 0.0,
        by_counts: 0.0,
    }
}
