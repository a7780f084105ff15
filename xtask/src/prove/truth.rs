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
pub(super) fn evidence(recording: &Recording, finding: &Finding, readings: &[PlaceReading]) -> Vec<Compared> {
    let compared = |evidence: &Evidence| {
        let truth = match evidence.metric {
            Metric::SpotDepth | Metric::SpotHeight | Metric::SpotSize | Metric::Tail => {
                around_spot(recording, evidence.metric, readings)
            }
            _ => true_value(recording, evidence),
        }?;
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
        Metric::RiseRatio => quantity(&format!("{}ratio_of_rises", axle(evidence.view?))),
        // Of the side in whose view it is stated over the other one; of rotors as of one instant.
        Metric::SideDifference => {
            let left = matches!(evidence.view, Some(View::Left | View::RearLeft));
            if evidence.role == Some(Role::Rotor) {
                let name = format!("{}rotor_face_difference_k", axle(evidence.view?));
                return Some(quantity(&name)? * if left { 1.0 } else { -1.0 });
            }
            let other = match evidence.view? {
                View::Left => View::Right,
                View::RearLeft => View::RearRight,
                View::RearRight => View::RearLeft,
                _ => View::Left,
            };
            match evidence.role? {
                // As of one instant.
                Role::Tread => Some(quantity("left_over_right_k")? * if left { 1.0 } else { -1.0 }),
                // As of one instant.
                Role::HubCenter => Some(quantity("hub_side_difference_k")? * if left { 1.0 } else { -1.0 }),
                role => Some(here()? - true_c(recording, role, other)?),
            }
        }
        // Over what was noted, whatever the rise of a like drive really was.
        Metric::OverBaseline => {
            let side = if evidence.view == Some(View::Left) { "left" } else { "right" };
            let noted = number(recording, &format!("baseline-{side}"))?;
            Some(quantity(&format!("{side}_hub_rise_at_stop_k"))? - noted)
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
        // Likewise from above.
        Metric::LossAtMost => {
            let stated: f64 = evidence.value.to_num();
            recording.truth.place.is_some().then_some(stated.max(recording.truth.severity))
        }
        Metric::LikeDifference => over_twin(),
        Metric::ProjectedDifference => Some(over_twin()? * to_full()?),
        Metric::ProjectedRise | Metric::CableRise => Some((here()? - air_c()?) * to_full()?),
        Metric::CableDrop => Some(single(Role::CableNear)? - single(Role::CableFar)?),
        Metric::LoadShare => quantity("load_share"),
        _ => None,
    }
}

/// What the optics truly show of a spot that is one, under the shapes that the check placed on it; a shape on an eddy of
/// the tread has no true depth. A tail is the most that one of twelve parts of the surroundings has over their median.
fn around_spot(recording: &Recording, metric: Metric, readings: &[PlaceReading]) -> Option<f64> {
    recording.truth.place.as_ref()?;
    let place = |role: Role| readings.iter().map(|reading| reading.place).find(|place| place.role == role);
    let (suspect, surround) = (place(Role::Suspect)?, place(Role::Surround)?);
    let view = recording.seen.iter().map(|seen| seen.view).find(|view| key(view) == suspect.view.key())?;
    let kelvin = recording.through_optics(view)?;
    let width = recording.sensor.width;
    let mean = |holds: &dyn Fn(u16, u16) -> bool| {
        let inside = (0..kelvin.len()).filter(|i| holds((i % width) as u16, (i / width) as u16));
        let (sum, n) = inside.fold((0.0, 0.0), |(sum, n), i| (sum + kelvin[i], n + 1.0));
        sum / n
    };
    let level = mean(&|x, y| surround.shape.contains(x, y));
    let depth = level - mean(&|x, y| suspect.shape.contains(x, y));
    match metric {
        Metric::SpotDepth => Some(depth),
        Metric::SpotHeight => Some(-depth),
        // Diameter of the disc of the area that is half as deep as the deepest pixel or more.
        Metric::SpotSize => {
            let (x0, y0, x1, y1) = surround.shape.bounds();
            let pixels = || (y0.max(0)..=y1).flat_map(move |y| (x0.max(0)..=x1).map(move |x| (x as usize, y as usize)));
            let over = |(x, y): (usize, usize)| {
                kelvin.get(y * width + x).map_or(0.0, |kelvin| (level - kelvin) * depth.signum())
            };
            let most = pixels().map(over).fold(0.0, f64::max);
            let area = pixels().filter(|&at| 2.0 * over(at) >= most).count();
            let mm_per_px = recording.truth.quantities.get("mm_per_px")?;
            Some(libm::sqrt(area as f64 * 4.0 / std::f64::consts::PI) * mm_per_px)
        }
        _ => {
            let (x0, y0) = middle(surround.shape);
            let part_of = |x: u16, y: u16| {
                let turns = libm::atan2(f64::from(y) - y0, f64::from(x) - x0) / std::f64::consts::TAU;
                (turns.rem_euclid(1.0) * 12.0) as u8
            };
            let mut parts: Vec<f64> =
                (0..12).map(|part| mean(&|x, y| surround.shape.contains(x, y) && part_of(x, y) == part)).collect();
            parts.sort_by(f64::total_cmp);
            Some(if depth > 0.0 { parts[5] - parts[0] } else { parts[11] - parts[5] })
        }
    }
}

/// How the simulator names the quantities of the axle of this view.
fn axle(view: View) -> &'static str {
    if matches!(view, View::RearLeft | View::RearRight) { "rear_" } else { "" }
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
