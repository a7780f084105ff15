//! English.

use super::{Headings, SensorWords, Words};
use crate::recording::Correction;
use oddheat_core::measure::Component;
use oddheat_core::regions::Sign;
use oddheat_core::sensor::DefectKind;
use oddheat_core::wording::{self, Text};

pub(crate) static ENGLISH: Words = Words {
    language: &wording::ENGLISH,
    headings: Headings {
        made_by: "Made by",
        preface: "± is the expanded uncertainty (k = 2, about 95 %). Thermography alone is not a diagnosis; a finding holds \
                  for the time and load of its pictures.",
        number: "No.",
        recording: "Recording",
        check: "Check",
        no_check: "No check",
        finding: "Finding",
        because: "Because",
        seen: "Seen",
        caution: "Caution",
        thermal_picture: "Thermal picture",
        measured: "Measured",
        what: "What",
        location: "Where",
        value: "Value",
        limit: "Limit [source]",
        gates: "Gates that failed",
        causes: "Suspected causes, most likely first",
        tests: "Test next",
        note: "Note",
        shapes: "Placed shapes",
        part: "Part",
        picture: "Picture",
        mean_temperature: "Mean temperature",
        emissivity: "Emissivity",
        pixels_frames: "Pixels × frames",
        budgets: "Uncertainty of each temperature by its parts",
        component: "Part",
        input: "Standard uncertainty of the input",
        coefficient: "Coefficient, K per unit",
        contribution: "Contribution",
        share: "Share",
        sensor: "Sensor",
        regions: "Regions, strongest first",
        sign: "Sign",
        pixels: "Pixels",
        columns_rows: "Columns, rows",
        centroid: "Centroid",
        peak: "Peak",
        mean: "Mean",
        conditions: "Stated conditions",
        report: "Report",
    },
    examination: "Examination",
    morning: "A morning at the depot",
    about: |kind| Text::plain(kind.about().trim_ascii()),
    grade: |grade| Text::plain(grade.key()),
    unjudged: "unjudged",
    no_check_asked: "no check was asked for",
    label: |role| Text::plain(role.key()),
    sign: Sign::key,
    component,
    no: "no",
    yes: "yes",
    none: "none",
    drift_unknown: "not assessable: drift unknown",
    combined: "combined, root of the sum of squares",
    expanded: "expanded, k = 2",
    stops: "not assessable",
    weakens: "possible at most",
    regions: |n| format!("{n} regions"),
    strongest_shown: |n| format!("; the strongest {n} are shown"),
    weaker_dropped: |n| format!("; up to {n} weaker ones dropped"),
    frames: |n| if n == 1 { "one frame".to_owned() } else { format!("mean of {n} frames") },
    scene_emissivity: ", with the scene's emissivity",
    one_scale: ", one scale for all views",
    at: |what, x, y| format!("{what} at {x}, {y}"),
    side: |view| format!(" ({view} side)"),
    ring_found: |part, percent| {
        format!("{part}: ring found, both edges seen along {percent:.0} % of the circumference")
    },
    ring_not_found: |part| format!("{part}: no ring found; place it by hand, or aim anew"),
    sensor: SensorWords {
        corrected,
        defect: DefectKind::key,
        none_replaced: "no bad pixel replaced",
        replaced: |n, names| format!("{n} bad pixels replaced: {names}"),
        more: |n| format!("{n} more"),
        found_by_watch: |n| format!("{n} of them found while watching these frames"),
        saturated: |percent| format!("up to {percent:.2} % of the pixels of a frame saturated"),
        in_frames: |what, frames, all| format!("{what} in {frames} of {all} frames"),
        drift_unknown: "drift not covered by the soak run, so temperatures not assessable,",
        stepped: "a step of the whole picture, taken for a shutter event,",
        warmth_contradicted: "stated to be warm, judged as not warm",
        housing_changing: "the temperature of the housing still changed",
        housing_not_known: "too short to tell whether the housing was steady",
        unwatched: |view| format!("too few frames to find bad pixels in view {}", view.key()),
        noise: |mk| format!("noise of one frame by the uniform runs: {mk:.0} mK"),
        drift_residual: |counts| format!("drift model leaves {counts:.2} counts rms of its soak run"),
    },
};

/// Name of a component's input.
fn component(component: Component) -> &'static str {
    match component {
        Component::Noise => "noise, averaged",
        Component::Uniformity => "non-uniformity in the frame",
        Component::Calibration => "absolute calibration",
        Component::Slope => "slope of the calibration",
        Component::Drift => "offset drift",
        Component::Emissivity => "emissivity",
        Component::Reflected => "reflected apparent temperature",
        Component::Transmittance => "transmittance",
        Component::Medium => "temperature of the medium",
        // A part that a newer library adds has at least its description.
        other => other.about(),
    }
}

fn corrected(correction: Correction) -> &'static str {
    match correction {
        Correction::None => "pixels not corrected",
        Correction::TwoPoint => "gain and offset of each pixel corrected",
        Correction::Offsets => "offset of each pixel corrected",
        Correction::TwoPointAndOffsets => "gain and offset of each pixel corrected, offsets renewed",
    }
}
