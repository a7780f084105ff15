//! The sections `[scene]`, `[sensor]`, `[conditions]` and `[regions]`: single numbers with ranges and defaults.

use std::collections::BTreeMap;

use oddheat_core::checks::{Condition, Unit};
use oddheat_core::measure::InputUncertainty;
use toml::Spanned;

use super::document::Document;
use super::error::RecordingError;
use super::form::{RegionsForm, SceneForm, SensorForm, Stated};
use super::limits::{self, Limits};
use super::model::{Connectivity, RegionLimit, RegionRules, Scale, SceneStated, SensorFacts, StatedScale};
use super::places::one_of;

/// Nothing stated: no correction for the surface, nothing in between.
impl Default for SceneStated {
    fn default() -> Self {
        Self {
            emissivity: 1.0,
            emissivity_u: 0.0,
            reflected_c: None,
            reflected_u_k: limits::REFLECTED_U_K,
            transmittance: 1.0,
            transmittance_u: 0.0,
            medium_c: None,
            medium_u_k: 0.0,
        }
    }
}

/// Nothing stated: a common uncooled handheld, and no counts taken for dead or saturated but the very ends.
impl Default for SensorFacts {
    fn default() -> Self {
        Self {
            netd_k: limits::NETD_K,
            calibration_k: limits::CALIBRATION_K,
            slope_relative: InputUncertainty::HANDHELD.slope_relative,
            drift_k: limits::DRIFT_K,
            uniformity_k: InputUncertainty::HANDHELD.uniformity_k,
            ifov_mrad: None,
            saturated_at: u16::MAX,
            dead_at_or_below: 0,
        }
    }
}

/// The scene as stated. With a curve the emissivity must be stated: counts are radiation, and only the person at the
/// vehicle knows the surface. Linear counts and temperatures are apparent temperatures until told otherwise.
pub(super) fn scene(
    document: &Document,
    form: Option<&Spanned<SceneForm>>,
    scale: StatedScale,
) -> Result<SceneStated, RecordingError> {
    let (nothing, defaults) = (SceneForm::default(), SceneStated::default());
    let keys = form.map_or(&nothing, Spanned::get_ref);
    let number = |value: &Option<Spanned<f64>>, limits| document.optional(value.as_ref(), limits);
    let emissivity = number(&keys.emissivity, limits::EMISSIVITY)?;
    if emissivity.is_none() && matches!(scale, StatedScale::Counts(Scale::Curve { .. } | Scale::TwoRange { .. })) {
        let expected = format!("{}, because the scale is a curve", limits::EMISSIVITY);
        return Err(document.missing(form.map(Spanned::span), "scene.emissivity", expected));
    }
    let scene = SceneStated {
        emissivity: emissivity.unwrap_or(defaults.emissivity),
        emissivity_u: number(&keys.emissivity_u, limits::UNCERTAINTY_OF_SHARE)?.unwrap_or(defaults.emissivity_u),
        reflected_c: number(&keys.reflected_c, limits::TEMPERATURE_C)?,
        reflected_u_k: number(&keys.reflected_u_k, limits::UNCERTAINTY_K)?.unwrap_or(defaults.reflected_u_k),
        transmittance: number(&keys.transmittance, limits::TRANSMITTANCE)?.unwrap_or(defaults.transmittance),
        transmittance_u: number(&keys.transmittance_u, limits::UNCERTAINTY_OF_SHARE)?
            .unwrap_or(defaults.transmittance_u),
        medium_c: number(&keys.medium_c, limits::TEMPERATURE_C)?,
        medium_u_k: number(&keys.medium_u_k, limits::UNCERTAINTY_K)?.unwrap_or(defaults.medium_u_k),
    };
    if scene.transmittance < 1.0 && scene.medium_c.is_none() {
        let expected = format!("{}, because the transmittance is below 1", limits::TEMPERATURE_C);
        return Err(document.missing(form.map(Spanned::span), "scene.medium_c", expected));
    }
    Ok(scene)
}

/// Refuses a recording that has a surface which reflects, but does not say what it reflects.
pub(super) fn reflected_is_known(
    document: &Document,
    form: Option<&Spanned<SceneForm>>,
    scene: &SceneStated,
    place_that_reflects: Option<usize>,
) -> Result<(), RecordingError> {
    if scene.reflected_c.is_some() {
        return Ok(());
    }
    let reason = if scene.emissivity < 1.0 {
        "because the emissivity is below 1".to_owned()
    } else if let Some(index) = place_that_reflects {
        format!("because the emissivity of place[{index}] is below 1")
    } else {
        return Ok(());
    };
    let expected = format!("{}, {reason}", limits::TEMPERATURE_C);
    Err(document.missing(form.map(Spanned::span), "scene.reflected_c", expected))
}

/// The facts of the sensor, with defaults for those not stated.
pub(super) fn sensor(
    document: &Document,
    form: &SensorForm,
    scale: StatedScale,
) -> Result<SensorFacts, RecordingError> {
    let defaults = SensorFacts::default();
    let number = |value: &Option<Spanned<f64>>, limits| document.optional(value.as_ref(), limits);
    let facts = SensorFacts {
        netd_k: number(&form.netd_k, limits::UNCERTAINTY_K)?.unwrap_or(defaults.netd_k),
        calibration_k: number(&form.calibration_k, limits::UNCERTAINTY_K)?.unwrap_or(defaults.calibration_k),
        slope_relative: number(&form.slope_relative, limits::UNCERTAINTY_OF_SHARE)?.unwrap_or(defaults.slope_relative),
        drift_k: number(&form.drift_k, limits::UNCERTAINTY_K)?.unwrap_or(defaults.drift_k),
        uniformity_k: number(&form.uniformity_k, limits::UNCERTAINTY_K)?.unwrap_or(defaults.uniformity_k),
        ifov_mrad: number(&form.ifov_mrad, limits::IFOV_MRAD)?,
        saturated_at: form.saturated_at.as_ref().map_or(defaults.saturated_at, |counts| *counts.get_ref()),
        dead_at_or_below: form.dead_at_or_below.as_ref().map_or(defaults.dead_at_or_below, |counts| *counts.get_ref()),
    };
    let Some(stated) = form.saturated_at.as_ref().or(form.dead_at_or_below.as_ref()) else { return Ok(facts) };
    if matches!(scale, StatedScale::Temperatures(_)) {
        // The counts are made while reading; whoever writes the file cannot know them.
        return Err(document.refuse(stated.span(), "no limit in counts with `scale.temperatures`", stated.get_ref()));
    }
    if facts.saturated_at <= facts.dead_at_or_below {
        let found = format!("{} and {}", facts.saturated_at, facts.dead_at_or_below);
        return Err(document.refuse(stated.span(), "`saturated_at` above `dead_at_or_below`", found));
    }
    Ok(facts)
}

/// The stated conditions in the order of their codes.
pub(super) fn conditions(
    document: &Document,
    stated: &BTreeMap<Spanned<String>, Spanned<Stated>>,
) -> Result<Vec<(Condition, f64)>, RecordingError> {
    let mut conditions = Vec::with_capacity(stated.len());
    for (key, value) in stated {
        let condition = Condition::from_key(key.get_ref()).ok_or_else(|| {
            let expected = one_of("condition", Condition::ALL.iter().map(|condition| condition.key()));
            document.refuse(key.span(), expected, format!("\"{}\"", key.get_ref()))
        })?;
        conditions.push((condition, condition_value(document, condition.unit(), value)?));
    }
    conditions.sort_unstable_by_key(|&(condition, _)| condition.code());
    Ok(conditions)
}

fn condition_value(document: &Document, unit: Unit, value: &Spanned<Stated>) -> Result<f64, RecordingError> {
    let limits = match unit {
        Unit::Temperature => limits::TEMPERATURE_C,
        _ => Limits::from(0.0, limits::STATED_MOST, unit.symbol()),
    };
    match (unit, *value.get_ref()) {
        (Unit::YesNo, Stated::YesNo(yes)) => Ok(f64::from(u8::from(yes))),
        (Unit::YesNo, Stated::Number(number)) => Err(document.refuse(value.span(), "true or false", number)),
        (_, Stated::YesNo(yes)) => Err(document.refuse(value.span(), limits, yes)),
        (_, Stated::Number(number)) => document.number(&Spanned::new(value.span(), number), limits),
    }
}

/// The rules for regions.
pub(super) fn regions(document: &Document, form: &Spanned<RegionsForm>) -> Result<RegionRules, RecordingError> {
    let keys = form.get_ref();
    let hot = region_limit(document, &keys.hot_above_median_k, &keys.hot_above_c)?;
    let cold = region_limit(document, &keys.cold_below_median_k, &keys.cold_below_c)?;
    match (hot, cold) {
        (None, None) => {
            let expected =
                "at least one of `hot_above_median_k`, `hot_above_c`, `cold_below_median_k` and `cold_below_c`";
            return Err(document.refuse(form.span(), expected, "none of them"));
        }
        (Some(RegionLimit::AtC(hot)), Some(RegionLimit::AtC(cold))) if cold > hot => {
            let found = format!("{cold} above {hot}");
            return Err(document.refuse(form.span(), "`cold_below_c` at most `hot_above_c`", found));
        }
        _ => {}
    }
    let connectivity = match keys.connectivity.as_ref() {
        None => Connectivity::Eight,
        Some(number) => match number.get_ref() {
            4 => Connectivity::Four,
            8 => Connectivity::Eight,
            other => return Err(document.refuse(number.span(), "4 or 8", other)),
        },
    };
    Ok(RegionRules {
        hot,
        cold,
        min_area: at_least_one(document, keys.min_area.as_ref(), 1)?,
        connectivity,
        capacity: at_least_one(document, keys.capacity.as_ref(), limits::CAPACITY)?,
    })
}

fn region_limit(
    document: &Document,
    from_median: &Option<Spanned<f64>>,
    at: &Option<Spanned<f64>>,
) -> Result<Option<RegionLimit>, RecordingError> {
    match (from_median, at) {
        (Some(_), Some(at)) => {
            Err(document.refuse(at.span(), "a limit from the median or one in °C", "both on the same side"))
        }
        (Some(k), None) => document.number(k, limits::DIFFERENCE_K).map(|k| Some(RegionLimit::FromMedianK(k))),
        (None, Some(c)) => document.number(c, limits::TEMPERATURE_C).map(|c| Some(RegionLimit::AtC(c))),
        (None, None) => Ok(None),
    }
}

fn at_least_one<T: Copy + PartialEq + From<u8> + std::fmt::Display>(
    document: &Document,
    stated: Option<&Spanned<T>>,
    default: T,
) -> Result<T, RecordingError> {
    match stated {
        None => Ok(default),
        Some(number) if *number.get_ref() == T::from(0) => Err(document.refuse(number.span(), "1 or more", 0)),
        Some(number) => Ok(*number.get_ref()),
    }
}
