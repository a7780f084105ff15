//! The fit of a comb: places of all lines in all strips by one pitch, one slant and one offset.

use super::comb::{CombLine, FoundComb, MAX_LINES, mark_missing};
use super::fit::{Normal, Undetermined, peak_place};
use crate::radiometry::Estimate;

/// Rounds of the fit. The start is good to half a pixel and a slant of half a pixel per strip; the second round picks the
/// lines by the first one's result.
const ROUNDS: usize = 3;

/// Fits from a start; places of the lines are given `offset` pixels on, where the box begins. `middle` gives a strip's place along, `mean` its mean count at a place across.
#[allow(clippy::too_many_arguments, reason = "the start of one fit, taken apart by its only caller")]
pub(super) fn fit(
    mut first: f64,
    mut pitch: f64,
    mut slant: f64,
    likeness: f64,
    (offset, across): (u16, i32),
    strips: usize,
    middle: &dyn Fn(usize) -> f64,
    mean: &dyn Fn(usize, i32) -> Option<f64>,
) -> Result<FoundComb, Undetermined> {
    let mut fitted = None;
    // One list for all rounds: it is most of the stack.
    let mut lines = heapless::Vec::new();
    for _ in 0..ROUNDS {
        let mut normal = Normal::default();
        let (mut used, mut squares) = (0usize, 0.0);
        // A list that is cut off would say nothing of the lines beyond.
        if lines_within(first, pitch, across) > MAX_LINES {
            return Err(Undetermined::NotThisForm);
        }
        // Where a line is missing, the highest of the noise is not its place.
        list(&mut lines, first, pitch, slant, across, strips, middle, mean);
        for strip in 0..strips {
            for (line, _) in lines.iter().enumerate().filter(|(_, line)| line.present) {
                let expected = first + pitch * line as f64 + slant * middle(strip);
                if let Some(place) = line_near(expected, pitch, &|at| mean(strip, at)) {
                    let off = place - expected;
                    normal.add([1.0, line as f64, middle(strip)], off, 1.0);
                    (used, squares) = (used + 1, squares + off * off);
                }
            }
        }
        // Three lines in more than half of the strips: two always have a pitch.
        if used < 3 * (strips / 2 + 1) {
            return Err(Undetermined::TooFewPoints);
        }
        let solution = normal.solve().ok_or(Undetermined::TooFewPoints)?;
        let [d_first, d_pitch, d_slant] = solution.parameters;
        (first, pitch, slant) = (first + d_first, pitch + d_pitch, slant + d_slant);
        if !(pitch >= 2.0 && pitch.is_finite()) {
            return Err(Undetermined::NotThisForm);
        }
        // Residuals of the start: an upper bound of those of the result, equal to them at the last round.
        fitted = Some((solution, squares, used));
    }
    let (solution, squares, used) = fitted.ok_or(Undetermined::TooFewPoints)?;
    let variance = squares / (used.saturating_sub(3)).max(1) as f64;
    if libm::sqrt(variance) > pitch / 8.0 {
        return Err(Undetermined::NotThisForm);
    }
    // The first line inside: the offset may have drifted out by a line.
    first -= libm::floor(first / pitch) * pitch;
    if lines_within(first, pitch, across) > MAX_LINES {
        return Err(Undetermined::NotThisForm);
    }
    list(&mut lines, first, pitch, slant, across, strips, middle, mean);
    // Lines that never were, beyond the first and the last that are.
    while lines.last().is_some_and(|line| !line.present) {
        let _ = lines.pop();
    }
    lines.reverse();
    while lines.last().is_some_and(|line| !line.present) {
        let _ = lines.pop();
    }
    lines.reverse();
    if lines.iter().filter(|line| line.present).count() < 3 {
        return Err(Undetermined::TooFewPoints);
    }
    lines.iter_mut().for_each(|line| line.place += f64::from(offset));
    let [_, pitch_u, slant_u] = solution.variances.map(|part| libm::sqrt(part * variance));
    Ok(FoundComb {
        pitch: Estimate::new(pitch, pitch_u),
        slant: Estimate::new(slant, slant_u),
        confidence: libm::round(likeness * 1_000.0) as u16,
        lines,
    })
}

/// Lists all lines inside, with their contrasts.
#[allow(clippy::too_many_arguments, reason = "the state of one fit, taken apart by its only caller")]
fn list(
    lines: &mut heapless::Vec<CombLine, MAX_LINES>,
    first: f64,
    pitch: f64,
    slant: f64,
    across: i32,
    strips: usize,
    middle: &dyn Fn(usize) -> f64,
    mean: &dyn Fn(usize, i32) -> Option<f64>,
) {
    lines.clear();
    for line in 0..lines_within(first, pitch, across) {
        let place = first + pitch * line as f64;
        let contrast = contrast(place, pitch, slant, strips, middle, mean).unwrap_or(0.0);
        // Within the capacity: the fit refuses more lines.
        let _ = lines.push(CombLine { place, contrast, present: true });
    }
    mark_missing(lines);
}

/// Lines from the first on whose place lies inside.
fn lines_within(first: f64, pitch: f64, across: i32) -> usize {
    let more = libm::floor((f64::from(across - 1) - first) / pitch);
    // A saturating cast: below zero none.
    (more + 1.0) as usize
}

/// Peak within a third of a pitch of where it is expected.
fn line_near(expected: f64, pitch: f64, mean: &dyn Fn(i32) -> Option<f64>) -> Option<f64> {
    let reach = libm::ceil(pitch / 3.0).max(2.0) as i32;
    let middle = libm::round(expected) as i32;
    let points = (middle - reach..=middle + reach).filter_map(|at| Some((f64::from(at), mean(at)?)));
    let place = peak_place(points).ok()?;
    (libm::fabs(place - expected) <= pitch / 3.0).then_some(place)
}

/// Mean on the line less the mean of the two gaps beside it, over all strips; `None` if no strip holds it with a gap.
fn contrast(
    place: f64,
    pitch: f64,
    slant: f64,
    strips: usize,
    middle: &dyn Fn(usize) -> f64,
    mean: &dyn Fn(usize, i32) -> Option<f64>,
) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0.0);
    for strip in 0..strips {
        let at = |offset: f64| mean(strip, libm::round(place + slant * middle(strip) + offset) as i32);
        let Some(line) = at(0.0) else { continue };
        let (before, after) = (at(-pitch / 2.0), at(pitch / 2.0));
        let gap = match (before, after) {
            (Some(before), Some(after)) => (before + after) / 2.0,
            (Some(gap), None) | (None, Some(gap)) => gap,
            (None, None) => continue,
        };
        (sum, count) = (sum + line - gap, count + 1.0);
    }
    (count > 0.0).then(|| sum / count)
}
