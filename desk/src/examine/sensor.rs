//! What the repair of the sensor did, in words.

use crate::recording::{Correction, Housing, Recording, Repaired};
use crate::setup;
use oddheat_core::sensor::{Defect, FrameFlags};

/// Bad pixels named one by one, at most; the JSON has them all.
const NAMED: usize = 12;

/// One line for each thing that is to be known; none if the recording asks for no repair.
pub(crate) fn repair_lines(recording: &Recording) -> Vec<String> {
    let Some(repaired) = &recording.repair else { return Vec::new() };
    let mut lines = vec![corrected(repaired), replaced(repaired)];
    if repaired.found_by_watch > 0 {
        lines.push(format!("{} of them found while watching these frames", repaired.found_by_watch));
    }
    let most = repaired.most_saturated();
    if most > 0.0 {
        lines.push(format!("up to {:.2} % of the pixels of a frame saturated", 100.0 * most));
    }
    let all = repaired.flags.len();
    let mut flagged = |what: &str, flag: fn(&FrameFlags) -> bool| {
        let frames = repaired.frames_with(flag).len();
        if frames > 0 {
            lines.push(format!("{what} in {frames} of {all} frames"));
        }
    };
    flagged("drift not covered by the soak run, so temperatures not assessable,", |flags| flags.drift_unknown);
    flagged("a step of the whole picture, taken for a shutter event,", |flags| flags.stepped);
    if setup::warmth_contradicted(recording) {
        lines.push("stated to be warm, judged as not warm".to_owned());
    }
    match repaired.housing {
        Housing::Changing => lines.push("the temperature of the housing still changed".to_owned()),
        Housing::NotKnown => lines.push("too short to tell whether the housing was steady".to_owned()),
        Housing::Steady | Housing::NotMonitored => {}
    }
    for view in &repaired.unwatched {
        lines.push(format!("too few frames to find bad pixels in view {}", view.key()));
    }
    if let Some(netd) = repaired.netd_k {
        lines.push(format!("noise of one frame by the uniform runs: {:.0} mK", netd * 1e3));
    }
    if let Some(residual) = repaired.drift_residual_counts {
        lines.push(format!("drift model leaves {residual:.2} counts rms of its soak run"));
    }
    lines
}

fn corrected(repaired: &Repaired) -> String {
    match repaired.correction {
        Correction::None => "pixels not corrected",
        Correction::TwoPoint => "gain and offset of each pixel corrected",
        Correction::Offsets => "offset of each pixel corrected",
        Correction::TwoPointAndOffsets => "gain and offset of each pixel corrected, offsets renewed",
    }
    .to_owned()
}

fn replaced(repaired: &Repaired) -> String {
    let name = |defect: &Defect| format!("{} at {}, {}", defect.kind().key(), defect.x(), defect.y());
    let mut names: Vec<String> = repaired.bad.iter().take(NAMED).map(name).collect();
    if repaired.bad.len() > NAMED {
        names.push(format!("{} more", repaired.bad.len() - NAMED));
    }
    match names.len() {
        0 => "no bad pixel replaced".to_owned(),
        _ => format!("{} bad pixels replaced: {}", repaired.bad.len(), names.join("; ")),
    }
}
