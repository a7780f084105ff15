//! What the repair of the sensor did, in words.

use crate::recording::{Housing, Recording, Repaired};
use crate::setup;
use crate::words::Words;
use oddheat_core::sensor::{Defect, FrameFlags};

/// Bad pixels named one by one, at most; the JSON has them all.
const NAMED: usize = 12;

/// One line for each thing that is to be known; none if the recording asks for no repair.
pub(crate) fn repair_lines(recording: &Recording, words: &Words) -> Vec<String> {
    let Some(repaired) = &recording.repair else { return Vec::new() };
    let sensor = &words.sensor;
    let mut lines = vec![(sensor.corrected)(repaired.correction).to_owned(), replaced(repaired, words)];
    if repaired.found_by_watch > 0 {
        lines.push((sensor.found_by_watch)(repaired.found_by_watch));
    }
    let most = repaired.most_saturated();
    if most > 0.0 {
        lines.push((sensor.saturated)(100.0 * most));
    }
    let all = repaired.flags.len();
    let mut flagged = |what: &str, flag: fn(&FrameFlags) -> bool| {
        let frames = repaired.frames_with(flag).len();
        if frames > 0 {
            lines.push((sensor.in_frames)(what, frames, all));
        }
    };
    flagged(sensor.drift_unknown, |flags| flags.drift_unknown);
    flagged(sensor.stepped, |flags| flags.stepped);
    if setup::warmth_contradicted(recording) {
        lines.push(sensor.warmth_contradicted.to_owned());
    }
    match repaired.housing {
        Housing::Changing => lines.push(sensor.housing_changing.to_owned()),
        Housing::NotKnown => lines.push(sensor.housing_not_known.to_owned()),
        Housing::Steady | Housing::NotMonitored => {}
    }
    lines.extend(repaired.unwatched.iter().map(|&view| (sensor.unwatched)(view)));
    lines.extend(repaired.netd_k.map(|netd| (sensor.noise)(netd * 1e3)));
    lines.extend(repaired.drift_residual_counts.map(sensor.drift_residual));
    lines
}

fn replaced(repaired: &Repaired, words: &Words) -> String {
    let sensor = &words.sensor;
    let name = |defect: &Defect| (words.at)((sensor.defect)(defect.kind()), defect.x(), defect.y());
    let mut names: Vec<String> = repaired.bad.iter().take(NAMED).map(name).collect();
    if repaired.bad.len() > NAMED {
        names.push((sensor.more)(repaired.bad.len() - NAMED));
    }
    match names.len() {
        0 => sensor.none_replaced.to_owned(),
        _ => (sensor.replaced)(repaired.bad.len(), &names.join("; ")),
    }
}
