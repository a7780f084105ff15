//! Behind the C functions for calibrating, for an operator's procedures and for budgets: everything from C is checked
//! here and handed to core.

use crate::convert::{scale, setup, sized};
use crate::device::Outcome;
use crate::metrology_types as types;
use crate::metrology_types::{
    EMISSIVITY_LOW, EMISSIVITY_NO_TEMPERATURE, EMISSIVITY_USABLE, FIT_FREE_SHAPE, FIT_HAS_CHI_SQUARE,
    FIT_HAS_COVARIANCE, FIT_HAS_FREE_OFFSET, FIT_HAS_FREE_SHAPE, FIT_PLANCKIAN, PATH_BAND_7P5_TO_13, PATH_BAND_8_TO_14,
    RELATION_ADJACENT, RELATION_SAME_SURFACE, RELATION_SAME_VIEW, SURFACE_BAND_LONGWAVE, SURFACE_BAND_THERMOMETER,
    SURFACE_BAND_TOTAL, SURFACE_TEXT_KEY, SURFACE_TEXT_NAME, SURFACE_TEXT_SOURCE, SURFACE_TEXT_TEMPERATURE,
};
use crate::status::Status;
use crate::types::Config;
use oddheat_core::checks::Setup;
use oddheat_core::measure::{Component, InputUncertainty, Reading, Relation};
use oddheat_core::radiometry::{
    CalibrationPoint, Curve, Emissivity, EmissivityBand, EmissivityGate, Estimate, Fit, FitOptions, Form,
    MeasurementEquation, Medium, Offset, PathBand, PathLoss, SURFACES, Scale, Sensitivities, SpectralBand, SpotVerdict,
    Surface, TRANSMITTANCE_UNCERTAINTY, Transmittance, TwoRange, curve_uncertainty, emissivity_by_contact,
    emissivity_by_patch, fit_curve_into, reflected_by_foil, spot_verdict,
};
use oddheat_core::units::Kelvin;

/// Largest coverage factor. A proposal: 3 is what is used, 10 certainly a mistake.
const COVERAGE_MAX: f64 = 10.0;
/// Most windows and paths in a row. A proposal: an enclosure's window, a filter and the air are three.
const MEDIA_MAX: usize = 8;
/// Largest distance, size and angle of a spot check; whatever is larger is a mistake of units (proposal).
const SPOT_MAX: f64 = 1e6;

/// Largest factor of a rise, and its uncertainty. A proposal: what cooled a thousandfold says nothing.
const FACTOR_MAX: f64 = 1_000.0;
/// Highest air temperature, K: as any temperature from C.
const AIR_MAX_K: f64 = 2_000.0;

impl From<types::CalibrationPoint> for CalibrationPoint {
    fn from(point: types::CalibrationPoint) -> Self {
        Self::new(point.kelvin, point.counts).uncertain(point.kelvin_sd, point.counts_sd)
    }
}

/// Fits a curve. Core takes the points as C has them: copied, they would take half a kilobyte of stack.
pub(crate) fn fit(points: &[types::CalibrationPoint], wanted: &types::FitOptions, out: &mut types::Fit) -> Outcome<()> {
    sized::<types::FitOptions>(wanted.struct_size)?;
    sized::<types::Fit>(out.struct_size)?;
    if wanted.reserved != 0 {
        return Err(Status::ErrUnsupported);
    }
    let band = match (wanted.band_from_um, wanted.band_to_um) {
        (0.0, 0.0) => SpectralBand::flat(8.0, 14.0),
        (from, to) => SpectralBand::flat(from, to),
    };
    let options = FitOptions::new(band);
    let options = match wanted.free_offset {
        0 => options.with_offset(wanted.offset_counts),
        1 => options.with_free_offset(),
        _ => return Err(Status::ErrRange),
    };
    let options = match wanted.form {
        FIT_PLANCKIAN => options,
        FIT_FREE_SHAPE => options.with_form(Form::FreeShape),
        _ => return Err(Status::ErrRange),
    };
    let mut fit = Fit::EMPTY;
    fit_curve_into(points, &options, &mut fit)?;
    let curve = fit.curve();
    let (low_kelvin, high_kelvin) = fit.range();
    let covariance = fit.covariance().map(|rows| rows.as_flattened());
    let mut known = if covariance.is_some() { FIT_HAS_COVARIANCE } else { 0 };
    known |= if fit.chi_square().is_some() { FIT_HAS_CHI_SQUARE } else { 0 };
    known |= if options.form == Form::FreeShape { FIT_HAS_FREE_SHAPE } else { 0 };
    known |= if options.offset == Offset::Free { FIT_HAS_FREE_OFFSET } else { 0 };
    // Field by field: as a whole it would stand on the stack first.
    (out.points_count, out.degrees_of_freedom, out.known) =
        (points.len() as u32, fit.degrees_of_freedom() as u32, known);
    (out.curve_a_um, out.curve_b_um_k, out.curve_c_counts) = (curve.a_um(), curve.b_um_k(), curve.c_counts());
    (out.curve_offset_counts, out.curve_shape) = (curve.offset(), curve.shape());
    (out.low_kelvin, out.high_kelvin) = (low_kelvin, high_kelvin);
    out.chi_square = fit.chi_square().unwrap_or(0.0);
    out.covariance.fill(0.0);
    out.residuals_k.fill(0.0);
    out.curve_u_k.fill(0.0);
    for (to, &from) in out.covariance.iter_mut().zip(covariance.unwrap_or(&[])) {
        *to = from;
    }
    for (to, &from) in out.residuals_k.iter_mut().zip(fit.residuals()) {
        *to = from;
    }
    for (to, point) in out.curve_u_k.iter_mut().zip(points) {
        *to = fit.standard_uncertainty(point.kelvin).unwrap_or(0.0);
    }
    Ok(())
}

/// What a fit says of its curve at any temperature, from what C keeps of it.
pub(crate) fn fit_uncertainty(from: &types::Fit, kelvin: f64) -> Outcome<f64> {
    sized::<types::Fit>(from.struct_size)?;
    let has = |flag: u32| from.known & flag != 0;
    if from.known & !(FIT_HAS_COVARIANCE | FIT_HAS_CHI_SQUARE | FIT_HAS_FREE_SHAPE | FIT_HAS_FREE_OFFSET) != 0 {
        return Err(Status::ErrUnsupported);
    }
    if !has(FIT_HAS_COVARIANCE) {
        return Err(Status::ErrTooFew);
    }
    let (form, fixed) = match has(FIT_HAS_FREE_SHAPE) {
        true => (Form::FreeShape, from.curve_b_um_k == 0.0),
        false => (Form::Planckian, from.curve_shape == 1.0),
    };
    let (rows, _) = from.covariance.as_chunks::<4>();
    let (Some(covariance), true) = (rows.first_chunk::<4>(), fixed) else { return Err(Status::ErrRange) };
    // Far beyond any covariance, and far from where its products would overflow.
    if from.covariance.iter().any(|value| !(-1e60..=1e60).contains(value)) {
        return Err(Status::ErrRange);
    }
    let curve = Curve::sakuma_hattori(from.curve_a_um, from.curve_b_um_k, from.curve_c_counts)?
        .with_offset(from.curve_offset_counts)?
        .with_shape(from.curve_shape)?;
    curve_uncertainty(&curve, form, has(FIT_HAS_FREE_OFFSET), covariance, kelvin).ok_or(Status::ErrNoTemperature)
}

/// A config with, perhaps, the high range of two.
#[derive(Clone, Copy)]
pub(crate) struct Ranges<'a> {
    pub(crate) config: &'a Config,
    pub(crate) high: Option<&'a types::TwoRange>,
}

impl Ranges<'_> {
    fn join(&self, scale: &mut Scale) -> Outcome<()> {
        self.high.map_or(Ok(()), |high| join(scale, high))
    }

    fn scale(&self) -> Outcome<Scale> {
        let mut scale = scale(self.config)?;
        self.join(&mut scale)?;
        Ok(scale)
    }

    /// Always inlined: a setup handed on stands on the stack twice.
    #[inline(always)]
    pub(crate) fn setup(&self) -> Outcome<Setup> {
        let mut setup = setup(self.config)?;
        self.join(&mut setup.scale)?;
        Ok(setup)
    }
}

/// Makes the curve of a config the low one of two.
fn join(scale: &mut Scale, high: &types::TwoRange) -> Outcome<()> {
    sized::<types::TwoRange>(high.struct_size)?;
    if high.reserved != 0 {
        return Err(Status::ErrUnsupported);
    }
    let Scale::Curve(low) = *scale else { return Err(Status::ErrRange) };
    let curve = Curve::sakuma_hattori(high.curve_a_um, high.curve_b_um_k, high.curve_c_counts)?
        .with_offset(high.curve_offset_counts)?
        .with_shape(high.curve_shape)?;
    *scale = Scale::TwoRange(TwoRange::new(low, curve, high.hand_over_kelvin, high.tolerance_k)?);
    Ok(())
}

/// Puts the high range of two into a setup whose scale is the curve of the low one.
pub(crate) fn two_range(setup: &mut Setup, high: &types::TwoRange) -> Outcome<()> {
    join(&mut setup.scale, high)
}

pub(crate) const fn estimate(from: &types::Estimate) -> Estimate {
    Estimate::new(from.value, from.uncertainty)
}

pub(crate) const fn estimated(from: Estimate) -> types::Estimate {
    types::Estimate { value: from.value, uncertainty: from.uncertainty }
}

pub(crate) fn by_patch(
    ranges: Ranges<'_>,
    patch_emissivity: &types::Estimate,
    [patch, surface, reflected]: [&types::Estimate; 3],
) -> Outcome<types::Estimate> {
    let (patch, surface, reflected) = (estimate(patch), estimate(surface), estimate(reflected));
    let found = emissivity_by_patch(&ranges.scale()?, estimate(patch_emissivity), patch, surface, reflected)?;
    Ok(estimated(found))
}

pub(crate) fn by_contact(
    ranges: Ranges<'_>,
    [contact, surface, reflected]: [&types::Estimate; 3],
) -> Outcome<types::Estimate> {
    let found = emissivity_by_contact(&ranges.scale()?, estimate(contact), estimate(surface), estimate(reflected))?;
    Ok(estimated(found))
}

pub(crate) fn by_foil(
    ranges: Ranges<'_>,
    [reading, foil_emissivity, foil]: [&types::Estimate; 3],
) -> Outcome<types::Estimate> {
    let found = reflected_by_foil(&ranges.scale()?, estimate(reading), estimate(foil_emissivity), estimate(foil))?;
    Ok(estimated(found))
}

pub(crate) fn gate(emissivity: f64) -> Outcome<u32> {
    Ok(match EmissivityGate::of(Emissivity::new(emissivity)?) {
        EmissivityGate::Usable => EMISSIVITY_USABLE,
        EmissivityGate::Low => EMISSIVITY_LOW,
        EmissivityGate::NoTemperature => EMISSIVITY_NO_TEMPERATURE,
    })
}

pub(crate) fn spot(size_mm: f64, distance_m: f64, ifov_mrad: f64) -> Outcome<u32> {
    let sound = |value: &f64| *value > 0.0 && *value <= SPOT_MAX;
    if ![size_mm, distance_m, ifov_mrad].iter().all(sound) {
        return Err(Status::ErrRange);
    }
    Ok(u32::from(spot_verdict(size_mm, distance_m, ifov_mrad) == SpotVerdict::Measured))
}

pub(crate) fn path(band: u32, distance_m: f64, air_celsius: f64, humidity: f64) -> Outcome<types::Estimate> {
    let band = match band {
        PATH_BAND_8_TO_14 => PathBand::From8To14,
        PATH_BAND_7P5_TO_13 => PathBand::From7p5To13,
        _ => return Err(Status::ErrRange),
    };
    let loss = PathLoss::new(band, distance_m, air_celsius, humidity).map_err(|_| Status::ErrRange)?;
    Ok(types::Estimate { value: loss.transmittance().get(), uncertainty: TRANSMITTANCE_UNCERTAINTY })
}

/// Transmittance times 32,768 and temperature in mK of the medium that a config and further media make together.
pub(crate) fn behind(ranges: Ranges<'_>, media: &[types::Medium]) -> Outcome<(u16, i32)> {
    let setup = ranges.setup()?;
    let kelvin = |value: f64| match value > 0.0 && value <= 2_000.0 {
        true => Ok(Kelvin::from_f64(value)),
        false => Err(Status::ErrRange),
    };
    let mut row = heapless::Vec::<Medium, MEDIA_MAX>::new();
    for medium in media {
        let (transmittance, temperature) = (Transmittance::new(medium.transmittance)?, kelvin(medium.kelvin)?);
        let medium = match medium.reflectance {
            0.0 => Medium::air(transmittance, temperature),
            reflectance => Medium::window(transmittance, reflectance, temperature, kelvin(medium.reflected_kelvin)?)?,
        };
        row.push(medium).map_err(|_| Status::ErrTooMany)?;
    }
    let (transmittance, temperature) = setup.scene.behind(&setup.scale, &row)?.medium();
    let q15 = libm::round(transmittance.get() * 32_768.0);
    // 0 would mean 1 in a config.
    if q15 < 1.0 { Err(Status::ErrRange) } else { Ok((q15 as u16, temperature.millikelvin())) }
}

fn surface_at(index: u32) -> Outcome<&'static Surface> {
    SURFACES.get(index as usize).ok_or(Status::ErrRange)
}

pub(crate) fn surfaces() -> u32 {
    SURFACES.len() as u32
}

pub(crate) fn surface(index: u32) -> Outcome<types::Surface> {
    let from = surface_at(index)?;
    let band = match from.band {
        EmissivityBand::Total => SURFACE_BAND_TOTAL,
        EmissivityBand::Longwave => SURFACE_BAND_LONGWAVE,
        EmissivityBand::Thermometer => SURFACE_BAND_THERMOMETER,
    };
    Ok(types::Surface { low: from.low, typical: from.typical, high: from.high, band, read: u32::from(from.read) })
}

/// A text of a surface.
pub(crate) fn surface_text(index: u32, which: u32) -> Outcome<&'static str> {
    let from = surface_at(index)?;
    Ok(match which {
        SURFACE_TEXT_KEY => from.key,
        SURFACE_TEXT_NAME => from.name,
        SURFACE_TEXT_TEMPERATURE => from.temperature,
        SURFACE_TEXT_SOURCE => from.source,
        _ => return Err(Status::ErrRange),
    })
}

pub(crate) fn surface_index(key: &[u8]) -> Outcome<u32> {
    let index = SURFACES.iter().position(|surface| surface.key.as_bytes() == key).ok_or(Status::ErrRange)?;
    Ok(index as u32)
}

pub(crate) fn inputs_of(config: &Config) -> Outcome<types::Inputs> {
    let setup = setup(config)?;
    let u = setup.inputs;
    Ok(types::Inputs {
        struct_size: size_of::<types::Inputs>() as u32,
        reserved: 0,
        netd_k: u.netd_k,
        calibration_k: u.calibration_k,
        slope_relative: u.slope_relative,
        drift_k: u.drift_k,
        uniformity_k: u.uniformity_k,
        reflected_k: u.reflected_k,
        transmittance: u.transmittance,
        medium_k: u.medium_k,
        air_k: u.air_k,
    })
}

pub(crate) fn inputs(from: &types::Inputs) -> Outcome<InputUncertainty> {
    sized::<types::Inputs>(from.struct_size)?;
    if from.reserved != 0 {
        return Err(Status::ErrUnsupported);
    }
    let inputs = InputUncertainty {
        netd_k: from.netd_k,
        calibration_k: from.calibration_k,
        slope_relative: from.slope_relative,
        drift_k: from.drift_k,
        uniformity_k: from.uniformity_k,
        reflected_k: from.reflected_k,
        transmittance: from.transmittance,
        medium_k: from.medium_k,
        air_k: from.air_k,
    };
    Ok(inputs.checked()?)
}

/// A reading of an object at `kelvin` with its noise known.
pub(crate) fn reading_at(ranges: Ranges<'_>, kelvin: f64, noise_k: f64, out: &mut types::Reading) -> Outcome<()> {
    sized::<types::Reading>(out.struct_size)?;
    if !(0.0..=1_000.0).contains(&noise_k) {
        return Err(Status::ErrRange);
    }
    let setup = ranges.setup()?;
    let equation = MeasurementEquation::new(&setup.scale, &setup.scene)?;
    *out = reading_from(&Reading::at(kelvin, noise_k, &equation, setup.emissivity_u)?, out.struct_size);
    Ok(())
}

/// A reading from mean counts, with the noise that so many pixels and frames leave: as [`Reading::of`] has it.
pub(crate) fn reading_of(
    ranges: Ranges<'_>,
    counts: f64,
    (pixels, frames): (u32, u32),
    scatter_counts: f64,
    out: &mut types::Reading,
) -> Outcome<()> {
    sized::<types::Reading>(out.struct_size)?;
    if pixels == 0 || frames == 0 || !(0.0..=65_535.0).contains(&scatter_counts) {
        return Err(Status::ErrRange);
    }
    let setup = ranges.setup()?;
    let equation = MeasurementEquation::new(&setup.scale, &setup.scene)?;
    let kelvin = equation.object(counts)?;
    let s = equation.sensitivities(kelvin)?;
    let white = setup.inputs.netd_k * s.apparent / libm::sqrt(f64::from(pixels));
    let noise = libm::fmax(white, scatter_counts * s.counts) / libm::sqrt(f64::from(frames));
    *out = reading_from(&Reading::at(kelvin, noise, &equation, setup.emissivity_u)?, out.struct_size);
    Ok(())
}

pub(crate) const fn reading_from(from: &Reading, struct_size: u32) -> types::Reading {
    types::Reading {
        struct_size,
        reserved: 0,
        kelvin: from.kelvin,
        noise_k: from.noise_k,
        emissivity: from.emissivity,
        emissivity_u: from.emissivity_u,
        apparent_k: from.apparent_k,
        by_apparent: from.sensitivities.apparent,
        by_emissivity: from.sensitivities.emissivity,
        by_reflected: from.sensitivities.reflected,
        by_transmittance: from.sensitivities.transmittance,
        by_medium: from.sensitivities.medium,
        by_counts: from.sensitivities.counts,
    }
}

pub(crate) fn reading(from: &types::Reading) -> Outcome<Reading> {
    sized::<types::Reading>(from.struct_size)?;
    if from.reserved != 0 {
        return Err(Status::ErrUnsupported);
    }
    let sensitivities = Sensitivities {
        apparent: from.by_apparent,
        emissivity: from.by_emissivity,
        reflected: from.by_reflected,
        transmittance: from.by_transmittance,
        medium: from.by_medium,
        counts: from.by_counts,
    };
    let s = &sensitivities;
    let finite = [s.apparent, s.emissivity, s.reflected, s.transmittance, s.medium, s.counts, from.kelvin];
    let shares = [from.noise_k, from.emissivity, from.emissivity_u, from.apparent_k];
    if finite.iter().any(|value| !value.is_finite()) || shares.iter().any(|value| !(0.0..=1e6).contains(value)) {
        return Err(Status::ErrRange);
    }
    Ok(Reading {
        kelvin: from.kelvin,
        noise_k: from.noise_k,
        emissivity: from.emissivity,
        emissivity_u: from.emissivity_u,
        sensitivities,
        apparent_k: from.apparent_k,
    })
}

/// Fills a budget: the parts as they are, then their sum, its expansion and the shares.
fn fill(
    out: &mut types::Budget,
    (value_k, standard_k, coverage_factor): (f64, f64, f64),
    parts: impl Iterator<Item = types::Contribution>,
) -> Outcome<()> {
    sized::<types::Budget>(out.struct_size)?;
    if !(coverage_factor > 0.0 && coverage_factor <= COVERAGE_MAX) {
        return Err(Status::ErrRange);
    }
    (out.value_k, out.standard_k) = (value_k, standard_k);
    (out.coverage_factor, out.expanded_k) = (coverage_factor, coverage_factor * standard_k);
    out.parts = [types::Contribution::default(); types::BUDGET_PARTS_MAX];
    out.parts_count = 0;
    for (to, part) in out.parts.iter_mut().zip(parts) {
        let ratio = part.kelvin / standard_k;
        *to = types::Contribution { share: if standard_k > 0.0 { ratio * ratio } else { 0.0 }, ..part };
        out.parts_count += 1;
    }
    Ok(())
}

pub(crate) fn budget(
    from: &types::Reading,
    shared: &types::Inputs,
    coverage_factor: f64,
    out: &mut types::Budget,
) -> Outcome<()> {
    let (reading, inputs) = (reading(from)?, inputs(shared)?);
    let parts = reading.budget(&inputs).map(|part| types::Contribution {
        component: u32::from(part.component.code()),
        coefficient: part.coefficient,
        input: part.input,
        kelvin: part.kelvin(),
        ..types::Contribution::default()
    });
    fill(out, (reading.kelvin, reading.standard_uncertainty(&inputs), coverage_factor), parts)
}

fn related(relation: u32) -> Outcome<Relation> {
    if relation & !(RELATION_SAME_VIEW | RELATION_SAME_SURFACE | RELATION_ADJACENT) != 0 {
        return Err(Status::ErrUnsupported);
    }
    Ok(Relation {
        same_view: relation & RELATION_SAME_VIEW != 0,
        same_surface: relation & RELATION_SAME_SURFACE != 0,
        adjacent: relation & RELATION_ADJACENT != 0,
    })
}

pub(crate) fn difference(
    [a, b]: [&types::Reading; 2],
    relation: u32,
    shared: &types::Inputs,
    coverage_factor: f64,
    out: &mut types::Budget,
) -> Outcome<()> {
    let relation = related(relation)?;
    let (a, b, inputs) = (reading(a)?, reading(b)?, inputs(shared)?);
    let (value_k, standard_k) = a.minus(&b, relation, &inputs);
    let parts = Component::ALL.iter().map(|&component| {
        // What is left when this part is the only one that is uncertain.
        let (_, kelvin) = only(&a, component).minus(&only(&b, component), relation, &only_input(&inputs, component));
        types::Contribution { component: u32::from(component.code()), kelvin, ..types::Contribution::default() }
    });
    fill(out, (value_k, standard_k, coverage_factor), parts)
}

/// Ratio of the rises of two readings over the air, each times its factor.
pub(crate) fn rise_ratio(
    [a, b]: [&types::Reading; 2],
    air_kelvin: f64,
    factors: &[types::Estimate],
    relation: u32,
    shared: &types::Inputs,
) -> Outcome<types::Estimate> {
    let relation = related(relation)?;
    let (a, b, inputs) = (reading(a)?, reading(b)?, inputs(shared)?);
    let factors = match *factors {
        [first, second] => [first, second],
        _ => [types::Estimate { value: 1.0, uncertainty: 0.0 }; 2],
    };
    let sound = |factor: &types::Estimate| {
        factor.value > 0.0 && factor.value <= FACTOR_MAX && (0.0..=FACTOR_MAX).contains(&factor.uncertainty)
    };
    if !(air_kelvin > 0.0 && air_kelvin <= AIR_MAX_K && factors.iter().all(sound)) {
        return Err(Status::ErrRange);
    }
    let factors = factors.map(|factor| (factor.value, factor.uncertainty / factor.value));
    let (value, uncertainty) = a.rise_ratio(&b, air_kelvin, factors, relation, &inputs);
    match value.is_finite() && uncertainty.is_finite() {
        true => Ok(types::Estimate { value, uncertainty }),
        false => Err(Status::ErrNoSignal),
    }
}

/// The reading with no uncertainty of its own but that of one part.
fn only(reading: &Reading, component: Component) -> Reading {
    let mut alone = *reading;
    if component != Component::Noise {
        alone.noise_k = 0.0;
    }
    if component != Component::Emissivity {
        alone.emissivity_u = 0.0;
    }
    alone
}

/// The inputs with only one that is uncertain.
fn only_input(from: &InputUncertainty, component: Component) -> InputUncertainty {
    let none = InputUncertainty {
        netd_k: 0.0,
        calibration_k: 0.0,
        slope_relative: 0.0,
        drift_k: 0.0,
        uniformity_k: 0.0,
        reflected_k: 0.0,
        transmittance: 0.0,
        medium_k: 0.0,
        air_k: 0.0,
    };
    match component {
        Component::Uniformity => InputUncertainty { uniformity_k: from.uniformity_k, ..none },
        Component::Calibration => InputUncertainty { calibration_k: from.calibration_k, ..none },
        Component::Slope => InputUncertainty { slope_relative: from.slope_relative, ..none },
        Component::Drift => InputUncertainty { drift_k: from.drift_k, ..none },
        Component::Reflected => InputUncertainty { reflected_k: from.reflected_k, ..none },
        Component::Transmittance => InputUncertainty { transmittance: from.transmittance, ..none },
        Component::Medium => InputUncertainty { medium_k: from.medium_k, ..none },
        // Noise and emissivity belong to the readings.
        _ => none,
    }
}
