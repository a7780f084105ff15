//! What the simulator knows about each number that the bench states.
//!
//! A metric that is not listed here is not compared: a new check adds its lines.

use super::trial::{Compared, Located};
use oddheat_core::checks::{Role, View};
use oddheat_core::finding::{Evidence, Finding, Metric, MetricUnit};
use oddheat_core::measure::Shape;
use oddheat_desk::examine::PlaceReading;
use oddheat_scenes::recording::{Recording, Stated};
use serde::Serialize;

/// What a value of this metric has to be reduced by to be in the unit in which it is shown.
pub(super) fn zero(metric: Metric) -> f64 {
    if metric.unit() == MetricUnit::Kelvin { 273.15 } else { 0.0 }
}

/// Key of a word of the simulator's vocabulary; the keys are shared with the library, the types are not.
fn key(word: &impl Serialize) -> String {
    toml::Value::try_from(word).ok().and_then(|value| value.as_str().map(str::to_owned)).unwrap_or_default()
}

/// Temperatures of the placed shapes against the mean true temperature under them.
pub(super) fn temperatures(recording: &Recording, readings: &[PlaceReading]) -> Vec<Compared> {
    let pairs = readings.iter().zip(&recording.truth.temperature);
    pairs
        // Placed in the order of the file; what the check located itself comes after and has no truth of its own.
        .filter(|(reading, truth)| {
            reading.place.role.key() == key(&truth.role) && reading.place.view.key() == key(&truth.view)
        })
        .filter_map(|(reading, truth)| {
            let (celsius, uncertainty) = reading.temperature?;
            Some(Compared { what: reading.place.role.key().to_owned(), error: celsius - truth.mean_c, uncertainty })
        })
        .collect()
}

/// Numbers of the evidence against the truth.
pub(super) fn evidence(recording: &Recording, finding: &Finding) -> Vec<Compared> {
    let compared = |evidence: &Evidence| {
        let truth = true_value(recording, evidence)?;
        let (value, uncertainty) = (evidence.value.to_num::<f64>(), evidence.uncertainty.to_num());
        let what = match evidence.role {
            Some(role) if matches!(evidence.metric, Metric::Temperature | Metric::SideDifference | Metric::Rise) => {
                format!("{} of {}", evidence.metric.key(), role.key())
            }
            _ => evidence.metric.key().to_owned(),
        };
        Some(Compared { what, error: value - zero(evidence.metric) - truth, uncertainty })
    };
    finding.evidence.iter().filter_map(compared).collect()
}

fn number(recording: &Recording, key: &str) -> Option<f64> {
    match recording.conditions.get(key) {
        Some(Stated::Number(value)) => Some(*value),
        _ => None,
    }
}

/// True value in the unit in which the metric is shown; none if the truth does not have it.
fn true_value(recording: &Recording, evidence: &Evidence) -> Option<f64> {
    let quantity = |name: &str| recording.truth.quantities.get(name).copied();
    // The air is as stated: scenes draw it and state what they drew.
    let air_c = || number(recording, "air-temperature");
    let here = || true_c(recording, evidence.role?, evidence.view?);
    let single = |role: Role| true_c(recording, role, View::Single);
    // In the simulator the heat of a joint goes with the square of the current.
    let to_full = || number(recording, "full-current").zip(number(recording, "current")).map(|(f, i)| f * f / (i * i));
    let over_twin = || {
        let other = if evidence.role == Some(Role::Twin) { Role::Joint } else { Role::Twin };
        Some(here()? - single(other)?)
    };
    // What a box on a tread sees: inner, center, outer.
    let thirds = |view: View| {
        let of = |third: &str| quantity(&format!("{}_{third}_rise_k", view.key()));
        Some([of("inner")?, of("center")?, of("outer")?])
    };
    let tilt = |view: View| thirds(view).map(|[inner, _, outer]| inner - outer);
    match evidence.metric {
        Metric::Temperature => here(),
        Metric::Rise if evidence.role == Some(Role::Tread) => {
            thirds(evidence.view?).map(|thirds| thirds.iter().sum::<f64>() / 3.0)
        }
        Metric::Rise => Some(here()? - air_c()?),
        Metric::RiseRatio => quantity("ratio_of_rises"),
        // Of the side in whose view it is stated over the other one; of rotors as of one instant.
        Metric::SideDifference => {
            let left = evidence.view == Some(View::Left);
            if evidence.role == Some(Role::Rotor) {
                return Some(quantity("rotor_face_difference_k")? * if left { 1.0 } else { -1.0 });
            }
            let other = if left { View::Right } else { View::Left };
            match evidence.role? {
                // As of one instant.
                Role::Tread => Some(quantity("left_over_right_k")? * if left { 1.0 } else { -1.0 }),
                // As of one instant.
                Role::HubCenter => Some(quantity("hub_side_difference_k")? * if left { 1.0 } else { -1.0 }),
                role => Some(here()? - true_c(recording, role, other)?),
            }
        }
        Metric::HubOverHat => Some(here()? - true_c(recording, Role::RotorHat, evidence.view?)?),
        Metric::CenterOverEdges => thirds(evidence.view?).map(|[inner, center, outer]| center - 0.5 * (inner + outer)),
        Metric::EdgesOverCenter => thirds(evidence.view?).map(|[inner, center, outer]| inner.min(outer) - center),
        Metric::Tilt => tilt(evidence.view?),
        Metric::TiltDifference => Some(libm::fabs(tilt(View::Left)? - tilt(View::Right)?)),
        // A range that the true loss must not lie below: what it is short of is the error.
        Metric::LossAtLeast => {
            let stated: f64 = evidence.value.to_num();
            recording.truth.place.is_some().then_some(stated.min(recording.truth.severity))
        }
        Metric::SectorExcess => quantity("sector_k"),
        // Only of a spot that is one: a shape on an eddy of the tread has no true depth.
        Metric::SpotDepth => quantity("spot_k").filter(|_| recording.truth.place.is_some()),
        Metric::SpotHeight => quantity("spot_k").map(|k| -k).filter(|_| recording.truth.place.is_some()),
        Metric::SpotSize => {
            let width = quantity("spot_width_px")? * quantity("mm_per_px")?;
            recording.truth.place.is_some().then_some(width)
        }
        Metric::LikeDifference => over_twin(),
        Metric::ProjectedDifference => Some(over_twin()? * to_full()?),
        Metric::ProjectedRise | Metric::CableRise => Some((here()? - air_c()?) * to_full()?),
        Metric::CableDrop => Some(single(Role::CableNear)? - single(Role::CableFar)?),
        Metric::LoadShare => quantity("load_share"),
        _ => None,
    }
}

/// True mean temperature under the only shape of this role in this view. A rotor is seen through the openings of the
/// wheel, and the check reads its hot half: the truth of that is the face of the iron alone, when its view was taken.
fn true_c(recording: &Recording, role: Role, view: View) -> Option<f64> {
    if role == Role::Rotor {
        let rise = recording.truth.quantities.get(&format!("{}_rotor_face_rise_k", view.key()))?;
        return Some(rise + number(recording, "air-temperature")?);
    }
    let mut shapes =
        recording.truth.temperature.iter().filter(|t| key(&t.role) == role.key() && key(&t.view) == view.key());
    let first = shapes.next()?;
    shapes.next().is_none().then_some(first.mean_c)
}

/// Distance from the middle of the suspected shape to the fault, if both have a place.
pub(super) fn located(recording: &Recording, finding: &Finding, readings: &[PlaceReading]) -> Option<Located> {
    let (fault, (role, view)) = (recording.truth.place.as_ref()?, finding.suspect?);
    if key(&fault.view) != view.key() {
        return Some(Located::OtherView);
    }
    let place = readings.iter().map(|reading| reading.place).find(|p| p.role == role && p.view == view)?;
    let (x, y) = middle(place.shape);
    Some(Located::Near(libm::hypot(x - fault.at[0], y - fault.at[1])))
}

fn middle(shape: Shape) -> (f64, f64) {
    let (x0, y0, x1, y1) = shape.bounds();
    let half = |a: i32, b: i32| 0.5 * f64::from(a + b);
    (half(x0, x1), half(y0, y1))
}
