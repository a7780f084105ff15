//! Between C's integers and core's types; everything from C is checked here.

use crate::device::Outcome;
use crate::status::Status;
use crate::types::{self, Config, SCALE_CURVE, SCALE_LINEAR, SHAPE_BOX, SHAPE_RING, SHAPE_SPOT};
use core::mem::size_of;
use fixed::types::I16F16;
use oddheat_core::checks::{Conditions, FrameInfo, Kind, Place, Role, Setup, View};
use oddheat_core::finding::{Effect, Evidence, FailedGate, Finding, Grade};
use oddheat_core::measure::{InputUncertainty, Lengthwise, Shape};
use oddheat_core::radiometry::{
    Curve, Emissivity, LinearScale, MeasurementEquation, Scale, Scene, Table, Thresholds, Transmittance,
};
use oddheat_core::regions::{self, Connectivity, Region, Run, Scanner, Settings, Slot};
use oddheat_core::sensor::CountRange;
use oddheat_core::units::Kelvin;

/// Millikelvin to kelvin; `None` unless above 0 and at most 2,000 K.
#[inline(never)]
pub(crate) fn kelvin(mk: i32) -> Option<Kelvin> {
    // (mK · 65,536 + 500) / 1,000 stays below 2^31 up to 32 kK.
    let bits = (i64::from(mk) * 65_536 + 500) / 1_000;
    ((1..=2_000_000).contains(&mk)).then(|| Kelvin(I16F16::from_bits(bits as i32)))
}

fn share(q15: u16) -> f64 {
    f64::from(q15) / 32_768.0
}

/// A number given in thousandths, or what 0 stands for. Never inlined, as a config has many.
#[inline(never)]
fn milli(thousandths: u32, default: f64) -> f64 {
    if thousandths == 0 { default } else { f64::from(thousandths) / 1_000.0 }
}

/// How the counts of a config become apparent temperatures.
///
/// Always inlined: the procedures need it too, and a function of its own costs every image that only scans 100 bytes.
#[inline(always)]
pub(crate) fn scale(config: &Config) -> Outcome<Scale> {
    match config.scale {
        SCALE_CURVE => Ok(Scale::Curve(
            Curve::sakuma_hattori(config.curve_a_um, config.curve_b_um_k, config.curve_c_counts)?
                .with_offset(config.curve_offset_counts)?
                .with_shape(config.curve_shape)?,
        )),
        SCALE_LINEAR => {
            Ok(Scale::Linear(LinearScale::new(config.linear_counts_per_kelvin, config.linear_zero_celsius)?))
        }
        _ => Err(Status::ErrRange),
    }
}

/// Checks a config and turns it into a setup. Never inlined, as its frame is large.
#[inline(never)]
pub(crate) fn setup(config: &Config) -> Outcome<Setup> {
    connectivity(config)?;
    let scale = scale(config)?;
    let share_or = |value: u16, default: f64| if value == 0 { default } else { share(value) };
    let temperature = |mk: i32| kelvin(if mk == 0 { 293_150 } else { mk }).ok_or(Status::ErrRange);
    let scene = Scene::new(Emissivity::new(share_or(config.emissivity_q15, 1.0))?)
        .reflected(temperature(config.reflected_mk)?)
        .through(Transmittance::new(share_or(config.transmittance_q15, 1.0))?, temperature(config.medium_mk)?);
    let usual = InputUncertainty::HANDHELD;
    let inputs = InputUncertainty {
        netd_k: milli(config.netd_mk, usual.netd_k),
        calibration_k: milli(config.calibration_u_mk, usual.calibration_k),
        slope_relative: milli(config.slope_u_ppm, usual.slope_relative * 1_000.0) / 1_000.0,
        drift_k: milli(config.drift_u_mk, usual.drift_k),
        uniformity_k: milli(config.uniformity_u_mk, usual.uniformity_k),
        reflected_k: milli(config.reflected_u_mk, usual.reflected_k),
        transmittance: share(config.transmittance_u_q15),
        medium_k: f64::from(config.medium_u_centikelvin) / 100.0,
        air_k: milli(config.air_u_mk, usual.air_k),
    };
    Ok(Setup {
        width: config.width_px,
        height: config.height_px,
        scale,
        scene,
        emissivity_u: share(config.emissivity_u_q15),
        inputs: inputs.checked()?,
        dead_at_or_below: config.dead_at_or_below_counts,
        saturated_at: or(config.saturated_at_counts, u16::MAX),
        ifov_mrad: (config.ifov_urad > 0).then(|| f64::from(config.ifov_urad) / 1_000.0),
    })
}

/// Neighbors that belong to a region.
#[inline(always)]
pub(crate) fn connectivity(config: &Config) -> Outcome<Connectivity> {
    match config.connectivity {
        4 => Ok(Connectivity::Four),
        0 | 8 => Ok(Connectivity::Eight),
        _ => Err(Status::ErrRange),
    }
}

/// What a config says of scanning; nothing is found until thresholds are set.
#[inline(always)]
pub(crate) fn scanning(config: &Config) -> Outcome<Settings> {
    let (width, min_area) = (config.width_px, config.min_area_px);
    Ok(Settings { width, thresholds: Thresholds::NONE, connectivity: connectivity(config)?, min_area })
}

/// Hands out the regions of the rows so far with the temperatures of a table, ends the frame, and says how many there are
/// and how many were dropped.
#[inline(always)]
pub(crate) fn regions(
    state: &mut regions::State,
    (runs, slots): (&mut [Run], &mut [Slot]),
    table: Option<&Table>,
    mut each: impl FnMut(usize, types::Region),
) -> Outcome<(u32, u32)> {
    let mut scanner = Scanner::resume(runs, slots, *state)?;
    let found = scanner.finish();
    for (i, found) in found.regions().enumerate() {
        let peak = table.and_then(|table| table.temperature(found.peak));
        each(i, region(&found, peak.map_or(0, Kelvin::millikelvin)));
    }
    let counts = (found.len() as u32, found.dropped());
    *state = scanner.suspend();
    Ok(counts)
}

/// 0 or 1.
pub(crate) fn flag(value: u32) -> Outcome<bool> {
    if value <= 1 { Ok(value == 1) } else { Err(Status::ErrRange) }
}

/// Which way things follow one another: 1 from left to right, 0 from top to bottom.
pub(crate) fn lengthwise(side_by_side: u32) -> Outcome<Lengthwise> {
    flag(side_by_side).map(|columns| if columns { Lengthwise::Columns } else { Lengthwise::Rows })
}

/// A value, or its default for 0.
#[inline(always)]
pub(crate) const fn or(value: u16, default: u16) -> u16 {
    if value == 0 { default } else { value }
}

/// Which counts are readings, from the two numbers of a config.
pub(crate) fn readings(dead_at_or_below: u16, saturated_at: u16) -> Outcome<CountRange> {
    Ok(CountRange::new(dead_at_or_below, or(saturated_at, u16::MAX))?)
}

/// Fills a table with what counts mean in a setup, or leaves it as it is. Never inlined: its frame would add to that of
/// reading the config.
#[inline(never)]
pub(crate) fn build_table(table: &mut Table, setup: &Setup, full_scale_counts: u16) -> Outcome<()> {
    let equation = MeasurementEquation::new(&setup.scale, &setup.scene)?;
    Ok(table.build(&equation, or(full_scale_counts, u16::MAX))?)
}

/// Count thresholds from temperatures in mK, of which 0 finds nothing. Always inlined, as in core.
#[inline(always)]
pub(crate) fn thresholds(table: &Table, hot_above_mk: i32, cold_below_mk: i32) -> Outcome<Thresholds> {
    let kelvin = |mk| kelvin(mk).ok_or(Status::ErrRange);
    let (no_hot, no_cold) = (hot_above_mk == 0, cold_below_mk == 0);
    let hot = if no_hot { Kelvin(I16F16::MAX) } else { kelvin(hot_above_mk)? };
    let cold = if no_cold { Kelvin(I16F16::ZERO) } else { kelvin(cold_below_mk)? };
    let found = table.thresholds(hot, cold)?;
    // A limit above the whole table finds nothing on its side; the table's last count is still a temperature.
    Ok(Thresholds::new(if no_hot { u16::MAX } else { found.hot() }, found.cold())?)
}

/// Temperature of counts with eight fractional bits, mK.
pub(crate) fn temperature(table: &Table, counts_q8: u32) -> Outcome<i32> {
    table.temperature_q8(counts_q8).map(Kelvin::millikelvin).ok_or(Status::ErrNoTemperature)
}

/// A code from C, or `ErrRange`.
pub(crate) fn code<T>(from_code: impl Fn(i32) -> Option<T>, value: u32) -> Outcome<T> {
    i32::try_from(value).ok().and_then(from_code).ok_or(Status::ErrRange)
}

/// A view from C; 0 is the only picture of a check.
fn view(value: u32) -> Outcome<View> {
    if value == 0 { Ok(View::Single) } else { code(View::from_code, value) }
}

/// The size a caller gave for a struct that may grow must cover what this library knows.
pub(crate) fn sized<T>(struct_size: u32) -> Outcome<()> {
    // A smaller one comes from an older header, which does not exist yet; a larger one from a newer.
    if struct_size as usize == size_of::<T>() { Ok(()) } else { Err(Status::ErrUnsupported) }
}

pub(crate) fn frame(info: &types::Frame) -> Outcome<FrameInfo> {
    sized::<types::Frame>(info.struct_size)?;
    if info.shutter > 1 || info.housing_mk < 0 {
        return Err(Status::ErrRange);
    }
    Ok(FrameInfo {
        view: view(info.view)?,
        time_ms: info.time_ms,
        shutter: info.shutter == 1,
        housing_mk: (info.housing_mk > 0).then_some(info.housing_mk),
    })
}

pub(crate) fn place(place: &types::Place) -> Outcome<Place> {
    sized::<types::Place>(place.struct_size)?;
    let (x, y) = (place.x_px, place.y_px);
    let shape = match place.shape {
        SHAPE_SPOT => Shape::Spot { x, y, size: place.a_px },
        SHAPE_BOX => Shape::Box { x0: x, y0: y, x1: place.a_px, y1: place.b_px },
        SHAPE_RING => Shape::Ring { x, y, inner: place.a_px, outer: place.b_px },
        _ => return Err(Status::ErrRange),
    };
    let emissivity = match place.emissivity_q15 {
        0 => None,
        q15 => Some((Emissivity::new(share(q15))?, share(place.emissivity_u_q15))),
    };
    Ok(Place { role: code(Role::from_code, place.role)?, view: view(place.view)?, shape, emissivity })
}

pub(crate) fn conditions(stated: &[types::Condition]) -> Outcome<Conditions> {
    let mut conditions = Conditions::new();
    for one in stated {
        let which = code(oddheat_core::checks::Condition::from_code, one.condition)?;
        conditions.set(which, one.thousandths)?;
    }
    Ok(conditions)
}

/// A region with the temperature of its peak in mK, or 0.
pub(crate) fn region(region: &Region, peak_mk: i32) -> types::Region {
    types::Region {
        area_px: region.area,
        centroid_x_q16: region.centroid_x.to_bits(),
        centroid_y_q16: region.centroid_y.to_bits(),
        mean_counts_q8: region.mean.to_bits(),
        peak_mk,
        x0_px: region.x0,
        y0_px: region.y0,
        x1_px: region.x1,
        y1_px: region.y1,
        peak_counts: region.peak,
        peak_x_px: region.peak_x,
        peak_y_px: region.peak_y,
        strength_counts: region.strength,
        sign: u16::from(region.sign.code()),
        incomplete: u16::from(region.incomplete),
    }
}

fn fill<const N: usize, T: Copy>(to: &mut [u16; N], from: &[T], code: impl Fn(T) -> u8) -> u32 {
    for (to, &from) in to.iter_mut().zip(from) {
        *to = u16::from(code(from));
    }
    from.len().min(N) as u32
}

fn or_zero<T>(value: Option<T>, code: impl Fn(T) -> u8) -> u16 {
    value.map_or(0, |value| u16::from(code(value)))
}

/// Writes a finding into the caller's struct, field by field.
pub(crate) fn finding(from: &Finding, to: &mut types::Finding) {
    to.check = u32::from(from.check.code());
    to.grade = u32::from(from.grade.code());
    to.reaches = u32::from(from.reaches.code());
    to.symptom = u32::from(from.symptom.code());
    let (role, view) = from.suspect.unzip();
    to.suspect_role = u32::from(or_zero(role, Role::code));
    to.suspect_view = u32::from(or_zero(view, View::code));
    to.evidence = [types::Evidence::default(); 12];
    to.gates = [types::FailedGate::default(); 12];
    (to.causes, to.tests, to.cautions, to.notes) = ([0; 6], [0; 6], [0; 8], [0; 8]);
    to.evidence_count = from.evidence.len() as u32;
    for (to, from) in to.evidence.iter_mut().zip(&from.evidence) {
        *to = types::Evidence {
            value_q16: from.value.to_bits(),
            uncertainty_q16: from.uncertainty.to_bits(),
            metric: u16::from(from.metric.code()),
            role: or_zero(from.role, Role::code),
            view: or_zero(from.view, View::code),
            limit: from.limit.map_or(0, |index| u16::from(index) + 1),
            grade: u16::from(from.grade.code()),
            reaches: u16::from(from.reaches.code()),
        };
    }
    to.gates_count = from.gates.len() as u32;
    for (to, from) in to.gates.iter_mut().zip(&from.gates) {
        *to = types::FailedGate {
            gate: u16::from(from.gate.code()),
            stops: u16::from(from.effect == Effect::Stops),
            condition: or_zero(from.condition, oddheat_core::checks::Condition::code),
            role: or_zero(from.role, Role::code),
            view: or_zero(from.view, View::code),
        };
    }
    to.causes_count = fill(&mut to.causes, &from.causes, oddheat_core::finding::Cause::code);
    to.tests_count = fill(&mut to.tests, &from.tests, oddheat_core::finding::NextTest::code);
    to.cautions_count = fill(&mut to.cautions, &from.cautions, oddheat_core::finding::Caution::code);
    to.notes_count = fill(&mut to.notes, &from.notes, oddheat_core::finding::Note::code);
}

fn optional<T>(from_code: impl Fn(i32) -> Option<T>, value: u16) -> Outcome<Option<T>> {
    if value == 0 { Ok(None) } else { code(from_code, u32::from(value)).map(Some) }
}

/// Appends the first `count` codes of a list from C.
fn take<const M: usize, T>(
    to: &mut heapless::Vec<T, M>,
    from: &[u16],
    count: u32,
    from_code: impl Fn(i32) -> Option<T>,
) -> Outcome<()> {
    for &value in from.get(..count as usize).ok_or(Status::ErrRange)? {
        to.push(code(&from_code, u32::from(value))?).map_err(|_| Status::ErrRange)?;
    }
    Ok(())
}

/// Reads a finding back from the caller's struct, for wording.
pub(crate) fn finding_from(from: &types::Finding, to: &mut Finding) -> Outcome<()> {
    sized::<types::Finding>(from.struct_size)?;
    *to = Finding::new(code(Kind::from_code, from.check)?);
    to.grade = code(Grade::from_code, from.grade)?;
    to.reaches = code(Grade::from_code, from.reaches)?;
    to.symptom = code(oddheat_core::finding::Symptom::from_code, from.symptom)?;
    if from.suspect_role != 0 {
        to.suspect = Some((code(Role::from_code, from.suspect_role)?, code(View::from_code, from.suspect_view)?));
    }
    for e in from.evidence.get(..from.evidence_count as usize).ok_or(Status::ErrRange)? {
        let evidence = Evidence {
            metric: code(oddheat_core::finding::Metric::from_code, u32::from(e.metric))?,
            role: optional(Role::from_code, e.role)?,
            view: optional(View::from_code, e.view)?,
            value: I16F16::from_bits(e.value_q16),
            uncertainty: I16F16::from_bits(e.uncertainty_q16),
            limit: e.limit.checked_sub(1).map(u8::try_from).transpose().map_err(|_| Status::ErrRange)?,
            grade: code(Grade::from_code, u32::from(e.grade))?,
            reaches: code(Grade::from_code, u32::from(e.reaches))?,
        };
        to.evidence.push(evidence).map_err(|_| Status::ErrRange)?;
    }
    for g in from.gates.get(..from.gates_count as usize).ok_or(Status::ErrRange)? {
        let failed = FailedGate {
            gate: code(oddheat_core::finding::Gate::from_code, u32::from(g.gate))?,
            effect: if g.stops == 0 { Effect::Weakens } else { Effect::Stops },
            condition: optional(oddheat_core::checks::Condition::from_code, g.condition)?,
            role: optional(Role::from_code, g.role)?,
            view: optional(View::from_code, g.view)?,
        };
        to.gates.push(failed).map_err(|_| Status::ErrRange)?;
    }
    take(&mut to.causes, &from.causes, from.causes_count, oddheat_core::finding::Cause::from_code)?;
    take(&mut to.tests, &from.tests, from.tests_count, oddheat_core::finding::NextTest::from_code)?;
    take(&mut to.cautions, &from.cautions, from.cautions_count, oddheat_core::finding::Caution::from_code)?;
    take(&mut to.notes, &from.notes, from.notes_count, oddheat_core::finding::Note::from_code)
}
