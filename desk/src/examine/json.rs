//! An examination as one JSON object, for other programs.

use super::{COVERAGE_FACTOR, Examination, PlaceReading, RegionRow, RingFound, ViewImage, variance_share};
use crate::recording::{Recording, Repaired};
use oddheat_core::checks::{Role, View};
use oddheat_core::finding::{Effect, Evidence, FailedGate, Finding, Metric, MetricUnit};
use oddheat_core::measure::{Contribution, Shape};
use oddheat_core::sensor::Defect;
use serde_json::{Map, Value, json};

/// One object: check, grade, evidence, gates, causes, next tests, cautions, notes, regions, what the repair of the sensor
/// did, and per placed shape temperature and uncertainty with the parts it is made of. Keys of the vocabularies are
/// those of the library; temperatures in °C,
/// differences and uncertainties in K, positions in pixels. Absent things are `null` or empty lists, never left out.
#[must_use]
pub fn to_json(recording: &Recording, examination: &Examination) -> Value {
    let mut object = Map::new();
    let mut put = |key: &str, value: Value| object.insert(key.to_owned(), value);
    put("recording", json!(recording.path.display().to_string()));
    put("title", json!(recording.title));
    put("width", json!(recording.width));
    put("height", json!(recording.height));
    put("frames", json!(recording.frames.len()));
    put("sensor", recording.repair.as_ref().map_or(Value::Null, sensor));
    put("check", json!(examination.kind.map(|kind| kind.key())));
    put("finding", examination.finding.as_ref().map_or(Value::Null, finding));
    put("readings", examination.readings.iter().map(reading).collect());
    put("rings", examination.rings.iter().map(ring).collect());
    put("views", examination.views.iter().map(view).collect());
    Value::Object(object)
}

fn finding(finding: &Finding) -> Value {
    let keys = |keys: Vec<&'static str>| json!(keys);
    json!({
        "grade": finding.grade.key(),
        "reaches": finding.reaches.key(),
        "symptom": finding.symptom.key(),
        "suspect": finding.suspect.map(|(role, view)| place(role, view)),
        "evidence": finding.evidence.iter().map(|e| evidence(finding, e)).collect::<Vec<_>>(),
        "gates": finding.gates.iter().map(gate).collect::<Vec<_>>(),
        "causes": keys(finding.causes.iter().map(|c| c.key()).collect()),
        "tests": keys(finding.tests.iter().map(|t| t.key()).collect()),
        "cautions": keys(finding.cautions.iter().map(|c| c.key()).collect()),
        "notes": keys(finding.notes.iter().map(|n| n.key()).collect()),
    })
}

fn place(role: Role, view: View) -> Value {
    json!({ "role": role.key(), "view": view.key() })
}

fn ring(ring: &RingFound) -> Value {
    let share = ring.place.map(|(_, confidence)| f64::from(confidence) / 1_000.0);
    json!({ "role": ring.role.key(), "view": ring.view.key(), "share_of_circumference": share })
}

fn unit(metric: Metric) -> &'static str {
    match metric.unit() {
        MetricUnit::Kelvin => "°C",
        MetricUnit::KelvinDifference => "K",
        MetricUnit::Seconds => "s",
        MetricUnit::Millimeters => "mm",
        MetricUnit::KilopascalsPerDay => "kPa/d",
        // A ratio, and whatever a newer library adds without a unit.
        _ => "1",
    }
}

fn evidence(finding: &Finding, evidence: &Evidence) -> Value {
    let zero = if evidence.metric.unit() == MetricUnit::Kelvin { 273.15 } else { 0.0 };
    let limits = finding.check.definition().limits;
    let limit = evidence.limit.and_then(|index| limits.get(usize::from(index)));
    json!({
        "metric": evidence.metric.key(),
        "role": evidence.role.map(Role::key),
        "view": evidence.view.map(View::key),
        "value": rounded(evidence.value.to_num::<f64>() - zero),
        "standard_uncertainty": rounded(evidence.uncertainty.to_num::<f64>()),
        "unit": unit(evidence.metric),
        "grade": evidence.grade.key(),
        "reaches": evidence.reaches.key(),
        "limit": limit.map(|limit| json!({
            "possible": limit.possible,
            "probable": limit.probable,
            "major": limit.major,
            "tag": limit.source.tag.words(),
            "source": limit.source.cite,
        })),
    })
}

fn gate(failed: &FailedGate) -> Value {
    json!({
        "gate": failed.gate.key(),
        "effect": if failed.effect == Effect::Stops { "not-assessable" } else { "possible-at-most" },
        "condition": failed.condition.map(|condition| condition.key()),
        "role": failed.role.map(Role::key),
        "view": failed.view.map(View::key),
    })
}

fn reading(reading: &PlaceReading) -> Value {
    let (temperature, uncertainty) = reading.temperature.unzip();
    json!({
        "role": reading.place.role.key(),
        "view": reading.place.view.key(),
        "shape": shape(reading.place.shape),
        "emissivity": reading.place.emissivity.map(|(emissivity, _)| emissivity.get()),
        "pixels": reading.pixels,
        "frames": reading.frames,
        "drift_unknown": reading.drift_unknown,
        "temperature_c": temperature.map(rounded),
        "standard_uncertainty_k": uncertainty.map(rounded),
        "coverage_factor": COVERAGE_FACTOR,
        "expanded_uncertainty_k": uncertainty.map(|u| rounded(COVERAGE_FACTOR * u)),
        "budget": reading.budget.iter().map(|part| contribution(part, uncertainty)).collect::<Vec<_>>(),
    })
}

/// A part of the budget: what the input is uncertain by, by how much the temperature follows it, and the share of the
/// variance. Six decimals, so that the sum can be checked.
fn contribution(part: &Contribution, combined: Option<f64>) -> Value {
    // Adding 0 turns −0 into 0.
    let fine = |value: f64| (value * 1e6).round() / 1e6 + 0.0;
    json!({
        "component": part.component.key(),
        "input_uncertainty": fine(part.input),
        "coefficient": fine(part.coefficient),
        "contribution_k": fine(part.kelvin()),
        "share": combined.map(|combined| rounded(variance_share(part, combined))),
    })
}

/// What the repair did. Indices of frames start at 0; flags of a monitor that was not asked for are empty.
fn sensor(repaired: &Repaired) -> Value {
    let pixel = |d: &Defect| json!({ "x": d.x(), "y": d.y(), "kind": d.kind().key() });
    let saturated = repaired.flags.iter().map(|flags| flags.unread.saturated).max();
    json!({
        "correction": repaired.correction.key(),
        "bad_pixels": repaired.bad.iter().map(pixel).collect::<Vec<_>>(),
        "found_by_watch": repaired.found_by_watch,
        "views_too_short_to_watch": repaired.unwatched.iter().map(|view| view.key()).collect::<Vec<_>>(),
        "saturated_pixels_most": saturated,
        "saturated_share_most": rounded(repaired.most_saturated()),
        "housing": repaired.housing.key(),
        "frames_warming_up": repaired.frames_with(|flags| flags.warming_up),
        "frames_drift_unknown": repaired.frames_with(|flags| flags.drift_unknown),
        "frames_stepped": repaired.frames_with(|flags| flags.stepped),
        "netd_k": repaired.netd_k.map(rounded),
        "drift_residual_counts": repaired.drift_residual_counts.map(rounded),
    })
}

fn shape(shape: Shape) -> Value {
    match shape {
        Shape::Spot { x, y, size } => json!({ "spot": { "at": [x, y], "size": size } }),
        Shape::Box { x0, y0, x1, y1 } => json!({ "box": { "from": [x0, y0], "to": [x1, y1] } }),
        Shape::Ring { x, y, inner, outer } => json!({ "ring": { "center": [x, y], "inner": inner, "outer": outer } }),
        // Shapes the library may learn later have bounds too.
        other => json!({ "bounds": other.bounds() }),
    }
}

fn view(image: &ViewImage) -> Value {
    let regions = image.regions.as_ref();
    json!({
        "view": image.view.key(),
        "frames_averaged": image.frames,
        "median_counts": regions.map(|regions| regions.median_counts),
        "hot_from_counts": regions.filter(|r| r.thresholds.hot() < u16::MAX).map(|r| r.thresholds.hot() + 1),
        "cold_to_counts": regions.filter(|r| r.thresholds.cold() > 0).map(|r| r.thresholds.cold() - 1),
        "regions_dropped": regions.map(|regions| regions.dropped),
        "regions": regions.map_or_else(Vec::new, |regions| regions.rows.iter().map(region).collect()),
    })
}

fn region(row: &RegionRow) -> Value {
    let r = &row.region;
    json!({
        "sign": r.sign.key(),
        "area_px": r.area,
        "box": [r.x0, r.y0, r.x1, r.y1],
        "centroid": [rounded(r.centroid_x.to_num()), rounded(r.centroid_y.to_num())],
        "peak_counts": r.peak,
        "peak_at": [r.peak_x, r.peak_y],
        "peak_c": row.peak_c.map(rounded),
        "mean_counts": rounded(r.mean.to_num()),
        "mean_c": row.mean_c.map(rounded),
        "incomplete": r.incomplete,
    })
}

/// Four decimals: below every resolution here, and short to read.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
