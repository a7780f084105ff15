//! The same check straight through the core, reported in the format of `tests/c/brake.c`.
//!
//! *Why.* The C programs, hosted and in the emulator, must print these very bytes: what differs is then the border, the
//! compiler or the machine.

use crate::embed::Embedded;
use oddheat::{SCALE_CURVE, SHAPE_BOX, SHAPE_SPOT};
use oddheat_core::checks::{self, Check, Conditions, FrameInfo, Role, Setup, Slot, State, View};
use oddheat_core::finding::{Effect, Finding};
use oddheat_core::measure::{InputUncertainty, Shape};
use oddheat_core::radiometry::{Curve, Emissivity, LinearScale, Scale, Scene, Transmittance};
use oddheat_core::units::Kelvin;
use oddheat_core::wording::{ENGLISH, SPANISH, TemperatureUnit, finding_text};
use oddheat_core::{Error, Quantity};
use std::fmt::Write as _;

fn share(q15: u16) -> f64 {
    f64::from(q15) / 32_768.0
}

fn kelvin(mk: i32) -> Kelvin {
    // 20 °C is the border's default.
    Kelvin::from_f64(f64::from(if mk == 0 { 293_150 } else { mk }) / 1_000.0)
}

fn code<T>(from_code: impl Fn(i32) -> Option<T>, code: u32) -> Result<T, Error> {
    i32::try_from(code).ok().and_then(from_code).ok_or(Error::NotInThisCheck)
}

fn setup(embedded: &Embedded) -> Result<Setup, Error> {
    let c = &embedded.config;
    let milli = |value: u32| f64::from(value) / 1_000.0;
    let scale = if c.scale == SCALE_CURVE {
        let curve = Curve::sakuma_hattori(c.curve_a_um, c.curve_b_um_k, c.curve_c_counts)?;
        Scale::Curve(curve.with_offset(c.curve_offset_counts)?.with_shape(c.curve_shape)?)
    } else {
        Scale::Linear(LinearScale::new(c.linear_counts_per_kelvin, c.linear_zero_celsius)?)
    };
    Ok(Setup {
        width: c.width_px,
        height: c.height_px,
        scale,
        scene: Scene::new(Emissivity::new(share(c.emissivity_q15))?)
            .reflected(kelvin(c.reflected_mk))
            .through(Transmittance::new(share(c.transmittance_q15))?, kelvin(c.medium_mk)),
        emissivity_u: share(c.emissivity_u_q15),
        inputs: InputUncertainty {
            netd_k: milli(c.netd_mk),
            calibration_k: milli(c.calibration_u_mk),
            drift_k: milli(c.drift_u_mk),
            reflected_k: milli(c.reflected_u_mk),
            transmittance: share(c.transmittance_u_q15),
            medium_k: f64::from(c.medium_u_centikelvin) / 100.0,
            ..InputUncertainty::HANDHELD
        },
        dead_at_or_below: c.dead_at_or_below_counts,
        saturated_at: c.saturated_at_counts,
        ifov_mrad: (c.ifov_urad > 0).then(|| f64::from(c.ifov_urad) / 1_000.0),
    })
}

fn place(p: &oddheat::Place) -> Result<checks::Place, Error> {
    let (x, y) = (p.x_px, p.y_px);
    let shape = match p.shape {
        SHAPE_SPOT => Shape::Spot { x, y, size: p.a_px },
        SHAPE_BOX => Shape::Box { x0: x, y0: y, x1: p.a_px, y1: p.b_px },
        _ => Shape::Ring { x, y, inner: p.a_px, outer: p.b_px },
    };
    let emissivity = Some((Emissivity::new(share(p.emissivity_q15))?, share(p.emissivity_u_q15)));
    Ok(checks::Place { role: code(Role::from_code, p.role)?, view: code(View::from_code, p.view)?, shape, emissivity })
}

/// Runs the check of an embedded recording in the core.
///
/// # Errors
/// What the core refuses.
pub fn judge(embedded: &Embedded) -> Result<Finding, Error> {
    let mut conditions = Conditions::new();
    for stated in &embedded.conditions {
        conditions.set(code(checks::Condition::from_code, stated.condition)?, stated.thousandths)?;
    }
    let (mut state, mut slots) = (State::IDLE, vec![Slot::EMPTY; embedded.places.len()]);
    let mut check = Check::begin(&mut state, &mut slots, embedded.kind, &setup(embedded)?, &conditions)?;
    for p in &embedded.places {
        check.place(place(p)?)?;
    }
    for (info, counts) in &embedded.frames {
        let info = FrameInfo {
            view: code(View::from_code, info.view)?,
            time_ms: info.time_ms,
            shutter: info.shutter == 1,
            housing_mk: (info.housing_mk > 0).then_some(info.housing_mk),
        };
        check.feed(info, counts)?;
    }
    check.judge()
}

/// Every code and number of a finding, then its text in each language.
///
/// # Errors
/// If a text does not fit the 8192 bytes that the C program has for it.
pub fn report(finding: &Finding) -> Result<String, Error> {
    let (role, view) = finding.suspect.unzip();
    let role_code = |role: Option<Role>| role.map_or(0, Role::code);
    let view_code = |view: Option<View>| view.map_or(0, View::code);
    let mut report = String::new();
    let mut line = |name: &str, values: &[i64]| {
        report.push_str(name);
        for value in values {
            // A String takes everything.
            let _ = write!(report, " {value}");
        }
        report.push('\n');
    };
    line(
        "finding",
        &[
            finding.check.code(),
            finding.grade.code(),
            finding.reaches.code(),
            finding.symptom.code(),
            role_code(role),
            view_code(view),
        ]
        .map(i64::from),
    );
    for e in &finding.evidence {
        let [metric, role, view] = [e.metric.code(), role_code(e.role), view_code(e.view)].map(i64::from);
        let [grade, reaches] = [e.grade.code(), e.reaches.code()].map(i64::from);
        let [value, uncertainty] = [e.value.to_bits(), e.uncertainty.to_bits()].map(i64::from);
        let limit = e.limit.map_or(0, |index| i64::from(index) + 1);
        line("evidence", &[metric, role, view, value, uncertainty, limit, grade, reaches]);
    }
    for g in &finding.gates {
        let condition = g.condition.map_or(0, checks::Condition::code);
        let stops = u8::from(g.effect == Effect::Stops);
        line("gate", &[g.gate.code(), stops, condition, role_code(g.role), view_code(g.view)].map(i64::from));
    }
    finding.causes.iter().for_each(|c| line("cause", &[i64::from(c.code())]));
    finding.tests.iter().for_each(|t| line("test", &[i64::from(t.code())]));
    finding.cautions.iter().for_each(|c| line("caution", &[i64::from(c.code())]));
    finding.notes.iter().for_each(|n| line("note", &[i64::from(n.code())]));
    for language in [&ENGLISH, &SPANISH] {
        let mut text = [0; 8192];
        let needed = finding_text(language, finding, TemperatureUnit::Celsius, &mut text[..8191]);
        let text = text.get(..needed).ok_or(Error::TooSmall)?;
        report.push_str(std::str::from_utf8(text).map_err(|_| Error::OutOfRange(Quantity::Condition))?);
        report.push('\n');
    }
    Ok(report)
}
