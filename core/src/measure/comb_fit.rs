//! The fit of a comb: places of all lines in all strips by one pitch, one slant and one offset.

use super::comb::{Comb, CombLine, MAX_LINES, STRIPS};
use super::fit::{Normal, Undetermined, peak_place};
use super::like::median;
use crate::radiometry::Estimate;

/// Rounds of the fit. The start is good to half a pixel and a slant of half a pixel per strip; the second round picks the
/// lines by the first one's result, the third has the residuals of the second (proposal).
const ROUNDS: usize = 3;
/// Contrast below this part of the median marks a line as missing (vehicle notes 2.7, a proposal there: open below 0.3).
const MISSING_BELOW: f64 = 0.3;
/// Part of the pitch by which lines may lie off the fit in the mean square; a proposal.
const OFF: f64 = 0.125;

/// Lines in order, missing ones included.
pub(super) type List = heapless::Vec<CombLine, MAX_LINES>;

/// Where the lines of a comb lie: at `first` + `pitch`·line + `slant`·place along, pixels from the border of the box.
pub(super) struct Lines<'c, 'm> {
    pub(super) comb: &'c Comb<'m>,
    pub(super) first: f64,
    pub(super) pitch: f64,
    pub(super) slant: f64,
}

impl Lines<'_, '_> {
    /// Fits from here, and gives pitch and slant, and in `lines` those from the first to the last that are present. The list
    /// is the caller's, as it would be most of the stack. Never inlined: what is found before it takes stack of its own.
    #[inline(never)]
    pub(super) fn fit(mut self, lines: &mut List) -> Result<(Estimate, Estimate), Undetermined> {
        let mut fitted = None;
        for _ in 0..ROUNDS {
            let mut normal = Normal::default();
            let (mut used, mut squares) = (0usize, 0.0);
            // Where a line is missing, the highest of the noise is not its place.
            self.list(lines)?;
            for strip in 0..STRIPS {
                let along = self.comb.middle(strip);
                for (line, _) in lines.iter().enumerate().filter(|(_, line)| line.present) {
                    let expected = self.first + self.pitch * line as f64 + self.slant * along;
                    if let Some(place) = self.line_near(strip, expected) {
                        let off = place - expected;
                        normal.add([1.0, line as f64, along], off, 1.0);
                        (used, squares) = (used + 1, squares + off * off);
                    }
                }
            }
            // Three lines in more than half of the strips: two always have a pitch.
            if used < 3 * (STRIPS / 2 + 1) {
                return Err(Undetermined::TooFewPoints);
            }
            let solution = normal.solve().ok_or(Undetermined::TooFewPoints)?;
            let [first, pitch, slant] = solution.parameters;
            (self.first, self.pitch, self.slant) = (self.first + first, self.pitch + pitch, self.slant + slant);
            if !(self.pitch >= 2.0 && self.pitch.is_finite()) {
                return Err(Undetermined::NotThisForm);
            }
            // Residuals of the start: an upper bound of those of the result, equal to them at the last round.
            fitted = Some((solution, squares, used));
        }
        let (solution, squares, used) = fitted.ok_or(Undetermined::TooFewPoints)?;
        let variance = squares / (used.saturating_sub(3)).max(1) as f64;
        if libm::sqrt(variance) > OFF * self.pitch {
            return Err(Undetermined::NotThisForm);
        }
        // The first line inside: the offset may have drifted out by a line.
        self.first -= libm::floor(self.first / self.pitch) * self.pitch;
        self.list(lines)?;
        // Lines that never were, beyond the first and the last that are.
        for _ in 0..2 {
            while lines.last().is_some_and(|line| !line.present) {
                let _ = lines.pop();
            }
            lines.reverse();
        }
        if lines.iter().filter(|line| line.present).count() < 3 {
            return Err(Undetermined::TooFewPoints);
        }
        let [_, pitch_u, slant_u] = solution.variances.map(|part| libm::sqrt(part * variance));
        Ok((Estimate::new(self.pitch, pitch_u), Estimate::new(self.slant, slant_u)))
    }

    /// Lists all lines inside, with their contrasts. Missing is told against the median contrast of all, so half of them
    /// must be there. Refused if there are more than the list holds: cut off, it would say nothing of the lines beyond.
    fn list(&self, lines: &mut List) -> Result<(), Undetermined> {
        lines.clear();
        let more = libm::floor((f64::from(self.comb.across) - 1.0 - self.first) / self.pitch);
        // A saturating cast: below zero none.
        for line in 0..(more + 1.0) as usize {
            let place = self.first + self.pitch * line as f64;
            let contrast = self.contrast(place).unwrap_or(0.0);
            lines.push(CombLine { place, contrast, present: true }).map_err(|_| Undetermined::NotThisForm)?;
        }
        let typical = median(lines.iter().map(|line| line.contrast)).unwrap_or(0.0);
        for line in lines {
            line.present = line.contrast >= MISSING_BELOW * typical && typical > 0.0;
        }
        Ok(())
    }

    /// Peak within a third of a pitch of where it is expected.
    fn line_near(&self, strip: usize, expected: f64) -> Option<f64> {
        let reach = libm::ceil(self.pitch / 3.0).max(2.0) as i32;
        let middle = libm::round(expected) as i32;
        let points =
            (middle - reach..=middle + reach).filter_map(|at| Some((f64::from(at), self.comb.mean(strip, at)?)));
        let place = peak_place(points).ok()?;
        (libm::fabs(place - expected) <= self.pitch / 3.0).then_some(place)
    }

    /// Mean on the line less the mean of the two gaps beside it, over all strips; `None` if no strip holds it with a gap.
    fn contrast(&self, place: f64) -> Option<f64> {
        let (mut sum, mut count) = (0.0, 0.0);
        for strip in 0..STRIPS {
            let middle = place + self.slant * self.comb.middle(strip);
            let at = |offset: f64| self.comb.mean(strip, libm::round(middle + offset) as i32);
            let Some(line) = at(0.0) else { continue };
            let (before, after) = (at(-self.pitch / 2.0), at(self.pitch / 2.0));
            let gap = match (before, after) {
                (Some(before), Some(after)) => (before + after) / 2.0,
                (Some(gap), None) | (None, Some(gap)) => gap,
                (None, None) => continue,
            };
            (sum, count) = (sum + line - gap, count + 1.0);
        }
        (count > 0.0).then(|| sum / count)
    }
}
