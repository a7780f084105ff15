//! What a definition judges by: readings by role and view, stated conditions, times.

use super::definition::Definition;
use super::engine::{AROUND, Slot, State};
use super::locate::Search;
use super::vocabulary::{Condition, Role, Unit, View};
use crate::finding::{Decision, Effect, FailedGate, Finding, Gate, Limit, Metric};
use crate::measure::{Excursion, InputUncertainty, Reading, Relation, Series, Shape};
use crate::radiometry::MeasurementEquation;
use crate::units::root_sum_square;

/// Read access to a check that was fed. All temperatures in kelvin.
#[derive(Debug)]
pub struct Observed<'c> {
    state: &'c State,
    slots: &'c [Slot],
}

impl<'c> Observed<'c> {
    pub(super) fn new(state: &'c State, slots: &'c [Slot]) -> Self {
        Self { state, slots }
    }

    /// The definition being judged.
    #[must_use]
    pub fn definition(&self) -> &'static Definition {
        self.state.kind.definition()
    }

    /// Standard uncertainties of the instrument and the surroundings.
    #[must_use]
    pub fn inputs(&self) -> &InputUncertainty {
        &self.state.setup.inputs
    }

    /// A stated number: K for temperatures and differences, otherwise s, A, kPa, m, L.
    #[must_use]
    pub fn stated(&self, condition: Condition) -> Option<f64> {
        debug_assert!(condition.unit() != Unit::YesNo);
        self.state.conditions.get(condition).map(|thousandths| f64::from(thousandths) / 1000.0)
    }

    /// A stated yes/no.
    #[must_use]
    pub fn yes(&self, condition: Condition) -> Option<bool> {
        self.state.conditions.yes(condition)
    }

    /// Whether air warmer than the part is stated.
    #[must_use]
    pub fn air_is_warm(&self) -> bool {
        self.state.conditions.air_is_warm()
    }

    /// The limit of this metric. Every metric a check grades by is in its list; a missing one grades nothing.
    #[must_use]
    pub fn limit(&self, metric: Metric) -> Option<(u8, &'static Limit)> {
        self.definition().limit(metric)
    }

    /// The shape placed in this role and view.
    #[must_use]
    pub fn shape(&self, role: Role, view: View) -> Option<Shape> {
        self.slot(role, view).and_then(|slot| slot.place).map(|place| place.shape)
    }

    /// The reading of a shape, or `None` if it was not placed or not fed, or if it is further evidence that is off the
    /// scale.
    ///
    /// A shape that was fed but whose counts mean no temperature fails a gate.
    pub fn reading(&self, role: Role, view: View, finding: &mut Finding) -> Option<Reading> {
        let slot = self.slot(role, view)?;
        let place = slot.place?;
        if slot.tally.pixels() == 0 {
            return None;
        }
        let setup = &self.state.setup;
        let part = self.definition().part(role)?;
        if part.is_optional() && slot.is_off_scale() {
            return None;
        }
        let (emissivity, emissivity_u) = place.emissivity.unwrap_or((setup.scene.emissivity, setup.emissivity_u));
        let statistic = part.usage.statistic();
        // By reference, so that the stack holds one equation.
        let reading = match &MeasurementEquation::new(&setup.scale, &setup.scene.with_emissivity(emissivity)) {
            Ok(equation) => Reading::of(&slot.tally, statistic, equation, &setup.inputs, emissivity_u),
            Err(error) => Err(*error),
        };
        if reading.is_err() {
            let (condition, role, view) = (None, Some(role), Some(view));
            finding.fail(FailedGate { gate: Gate::NoTemperature, effect: Effect::Stops, condition, role, view });
        }
        reading.ok()
    }

    /// States the temperature of a reading, with its full uncertainty, as evidence.
    #[inline(never)]
    pub fn state_temperature(&self, role: Role, view: View, reading: &Reading, finding: &mut Finding) {
        let uncertainty = reading.standard_uncertainty(self.inputs());
        finding.state(Metric::Temperature, Some((role, view)), reading.kelvin, uncertainty);
    }

    /// Grades a metric by its limit in the definition and adds it to the evidence.
    #[inline(never)]
    pub fn grade(
        &self,
        metric: Metric,
        place: Option<(Role, View)>,
        value: (f64, f64),
        finding: &mut Finding,
    ) -> Decision {
        match self.limit(metric) {
            Some(limit) => finding.grade_by(metric, place, value, limit),
            None => {
                finding.state(metric, place, value.0, value.1);
                Decision::NOTHING
            }
        }
    }

    /// Fails a gate that has no condition or shape behind it.
    pub fn fail(&self, gate: Gate, effect: Effect, finding: &mut Finding) {
        finding.fail(FailedGate { gate, effect, condition: None, role: None, view: None });
    }

    /// Instrument inputs for comparing two views: if the shutter closed between them, its step joins the drift.
    #[must_use]
    pub fn inputs_between(&self, a: View, b: View) -> InputUncertainty {
        let drift_k = if self.shutter_between(a, b) {
            root_sum_square(self.inputs().drift_k, SHUTTER_STEP_K)
        } else {
            self.inputs().drift_k
        };
        InputUncertainty { drift_k, ..*self.inputs() }
    }

    /// Standard uncertainty in K of a weighted sum over views from the offset steps of the shutter: views between the same
    /// two closings share an offset, which cancels as far as their weights do; one in which it closed has its own.
    #[must_use]
    pub fn step_u(&self, weights: &[(f64, View)]) -> f64 {
        let steady = |view: View| {
            let (first, last) = self.state.times(view).shutters;
            (first == last).then_some(first)
        };
        let square = |&(weight, view): &(f64, View)| {
            // Its own weight times the sum over its group: summed over all, the squares of the sums of the groups.
            let group = |&&(_, other): &&(f64, View)| {
                other == view || steady(view).is_some_and(|closings| steady(other) == Some(closings))
            };
            weight * weights.iter().filter(group).map(|&(w, _)| w).sum::<f64>()
        };
        SHUTTER_STEP_K * libm::sqrt(weights.iter().map(square).sum::<f64>().max(0.0))
    }

    /// Whether the shutter closed after the first frame of the earlier view and up to the last of the later one.
    #[must_use]
    pub fn shutter_between(&self, a: View, b: View) -> bool {
        let closings = |view: View| self.state.times(view).shutters;
        let ((first_a, last_a), (first_b, last_b)) = (closings(a), closings(b));
        first_a.min(first_b) != last_a.max(last_b)
    }

    /// Whether frames of this view were fed.
    #[must_use]
    pub fn fed(&self, view: View) -> bool {
        self.state.times(view).frames > 0
    }

    /// Seconds from the first frame of all to the middle of this view.
    #[must_use]
    pub fn seconds_to(&self, view: View) -> f64 {
        let fed = || self.state.views.iter().filter(|v| v.frames > 0);
        let start = fed().map(|v| v.first_ms).min().unwrap_or(0);
        let of_view = self.state.times(view);
        (f64::from(of_view.first_ms) + f64::from(of_view.last_ms)) / 2000.0 - f64::from(start) / 1000.0
    }

    /// The watched contrast over the frames.
    #[must_use]
    pub fn watched(&self) -> &Series {
        &self.state.watched
    }

    /// What stands out around the watched shape, in the direction that the watch follows: one side on which the
    /// surroundings have something of the spot. `None` unless they are a ring.
    #[must_use]
    pub fn one_sided(&self) -> Option<Excursion> {
        let sign = self.definition().watch?.sign.flipped_if(self.air_is_warm());
        let mut excess = [0; AROUND];
        let side = Excursion::strongest(&self.state.around, &mut excess, AROUND / 2, sign)?;
        // What stands out on both sides is a longish spot.
        let opposite = (5..=7).filter_map(|steps| excess.get((side.part + steps) % AROUND)).max()?;
        (2 * opposite < side.excess_q8).then_some(side)
    }

    /// Whether an area was searched by [`super::Check::locate`], nothing was found, and frames were fed.
    #[must_use]
    pub fn searched_in_vain(&self) -> bool {
        self.state.search == Search::Nothing && self.state.views.iter().any(|view| view.frames > 0)
    }

    /// Whether a search found something too near the border to be compared with its surroundings.
    #[must_use]
    pub fn found_at_border(&self) -> bool {
        self.state.search == Search::AtBorder
    }

    /// Area in which the spot was found and the width of the spot in pixels, if it was located automatically.
    #[must_use]
    pub fn located(&self) -> Option<(Role, f64)> {
        match self.state.search {
            Search::Found { area, width_q8 } => Some((area, f64::from(width_q8) / 256.0)),
            Search::NotMade | Search::Nothing | Search::AtBorder => None,
        }
    }

    /// Size of a pixel on the part in mm, from the stated distance and the instrument's angle per pixel.
    #[must_use]
    pub fn millimeters_per_pixel(&self) -> Option<f64> {
        // m · mrad = mm
        Some(self.stated(Condition::Distance)? * self.state.setup.ifov_mrad?)
    }

    fn slot(&self, role: Role, view: View) -> Option<&'c Slot> {
        self.slots.iter().find(|slot| slot.place.is_some_and(|place| place.role == role && place.view == view))
    }
}

/// Standard uncertainty of the offset step at a shutter event, K: steps of 0.2–1.5 K (vehicle notes 1.3 and 4, common
/// practice), 1.5 K taken as the half-width of a rectangular distribution.
const SHUTTER_STEP_K: f64 = 1.5 / 1.732_050_807_568_877_2;

/// How two readings of one picture are related.
pub(super) fn in_view(a: &Reading, b: &Reading) -> Relation {
    Relation { same_view: true, same_surface: a.same_surface_as(b), adjacent: false }
}
