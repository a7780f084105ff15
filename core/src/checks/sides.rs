//! One part on both sides of an axle, after a stop: pictures one after the other, corrected for cooling meanwhile.

use super::observed::Observed;
use super::vocabulary::{Condition, Role, View};
use crate::finding::{Decision, Effect, Finding, Gate, Grade, Metric};
use crate::measure::{InputUncertainty, Reading, Relation};
use crate::units::root_sum_square;

/// Parts of one kind on two wheels: each has a rust, a dirt and an emissivity of its own.
pub(super) const TWO_WHEELS: Relation = Relation { same_view: false, same_surface: false, adjacent: false };

/// Largest offset step of a shutter event, K (vehicle notes 1.3, common practice).
const LARGEST_SHUTTER_STEP_K: f64 = 2.0;

/// How a parked part cools.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cooling {
    /// Time constant, s.
    pub(super) seconds: f64,
    /// Its relative standard uncertainty.
    pub(super) relative_u: f64,
}

impl Cooling {
    /// A time constant in s and the half-width of the range it is known in, taken as rectangular.
    pub(super) const fn within(seconds: f64, half_width: f64) -> Self {
        Self { seconds, relative_u: half_width / seconds / 1.732_050_807_568_877_2 }
    }
}

/// A reading of one side and the factor that undoes its cooling since the first picture.
pub(super) struct Side {
    pub(super) view: View,
    pub(super) reading: Reading,
    pub(super) factor: f64,
    pub(super) factor_u: f64,
}

/// What was read on both sides. The readings stay where they were read, and what follows from them is worked out when it is
/// asked for: a controller's stack has no room for copies.
pub(super) struct Sides {
    role: Role,
    air: Option<f64>,
    left: Option<Side>,
    right: Option<Side>,
}

/// Both sides, if both have a temperature.
#[derive(Clone, Copy)]
pub(super) struct Pair<'s> {
    pub(super) role: Role,
    /// Stated temperature of the air, K.
    pub(super) air: f64,
    pub(super) hot: &'s Side,
    pub(super) cold: &'s Side,
}

impl Side {
    #[inline(never)]
    fn read(observed: &Observed<'_>, role: Role, view: View, cooling: Cooling, finding: &mut Finding) -> Option<Self> {
        let reading = observed.reading(role, view, finding)?;
        let waited = observed.seconds_to(view) / cooling.seconds;
        // d/dτ of exp(t/τ), relative: t/τ · u(τ)/τ.
        Some(Self { view, reading, factor: libm::exp(waited), factor_u: waited * cooling.relative_u })
    }

    /// Rise over air as of the first picture, K.
    pub(super) fn rise(&self, air: f64) -> f64 {
        (self.reading.kelvin - air) * self.factor
    }
}

impl Sides {
    /// Reads the part in both pictures.
    pub(super) fn read(
        observed: &Observed<'_>,
        role: Role,
        [left, right]: [View; 2],
        cooling: Cooling,
        finding: &mut Finding,
    ) -> Self {
        Self {
            role,
            air: observed.stated(Condition::AirTemperature),
            left: Side::read(observed, role, left, cooling, finding),
            right: Side::read(observed, role, right, cooling, finding),
        }
    }

    /// The hotter and the colder side; `None` if the air was not stated or a side has no temperature.
    pub(super) fn pair(&self) -> Option<Pair<'_>> {
        let (Some(air), Some(left), Some(right)) = (self.air, &self.left, &self.right) else { return None };
        let (hot, cold) = if left.rise(air) >= right.rise(air) { (left, right) } else { (right, left) };
        Some(Pair { role: self.role, air, hot, cold })
    }
}

impl Pair<'_> {
    /// The hotter side, as a place.
    pub(super) const fn hot_place(&self) -> (Role, View) {
        (self.role, self.hot.view)
    }

    /// Inputs for comparing the two pictures.
    pub(super) fn between(&self, observed: &Observed<'_>) -> InputUncertainty {
        observed.inputs_between(self.hot.view, self.cold.view)
    }

    /// Hot minus cold, both as of the first picture, K, and its standard uncertainty.
    #[inline(never)]
    pub(super) fn difference(&self, observed: &Observed<'_>) -> (f64, f64) {
        let (hot, cold, air, between) = (self.hot, self.cold, self.air, self.between(observed));
        let (_, instrument) = hot.reading.minus(&cold.reading, TWO_WHEELS, &between);
        let cooled = root_sum_square(hot.rise(air) * hot.factor_u, cold.rise(air) * cold.factor_u);
        // Air enters through the factors only, which differ by a few percent.
        let air_part = (hot.factor - cold.factor) * between.air_k;
        let uncertainty = root_sum_square(instrument * hot.factor.max(cold.factor), root_sum_square(cooled, air_part));
        (hot.rise(air) - cold.rise(air), uncertainty)
    }

    /// A shutter step between the pictures may have made, or hidden, a difference of this size; it matters only where
    /// this comparison reaches a grade.
    pub(super) fn try_shutter(&self, observed: &Observed<'_>, decision: Decision, finding: &mut Finding) {
        let hidden = self.hot.rise(self.air) - self.cold.rise(self.air) < 3.0 * LARGEST_SHUTTER_STEP_K;
        if hidden && decision.reaches > Grade::None && observed.shutter_between(self.hot.view, self.cold.view) {
            observed.fail(Gate::ShutterBetween, Effect::Stops, finding);
        }
    }

    /// States rise and temperature of both sides, as they were measured.
    #[inline(never)]
    pub(super) fn state(&self, observed: &Observed<'_>, finding: &mut Finding) {
        let between = self.between(observed);
        for side in [self.hot, self.cold] {
            let rise_u = root_sum_square(side.reading.standard_uncertainty(&between), between.air_k);
            finding.state(Metric::Rise, Some((self.role, side.view)), side.reading.kelvin - self.air, rise_u);
            observed.state_temperature(self.role, side.view, &side.reading, finding);
        }
    }
}

/// Fails if one of the pictures was taken later after the stop than the correction reaches.
pub(super) fn try_lateness(observed: &Observed<'_>, views: &[View], latest_s: f64, finding: &mut Finding) {
    let stopped = observed.stated(Condition::SinceStop).unwrap_or(0.0);
    // Said once, with the condition behind it, if the first picture was too late already.
    let said = finding.gates.iter().any(|failed| failed.gate == Gate::TooLate);
    if !said && views.iter().any(|&view| stopped + observed.seconds_to(view) > latest_s) {
        observed.fail(Gate::TooLate, Effect::Stops, finding);
    }
}
