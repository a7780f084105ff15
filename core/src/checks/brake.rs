//! Brakes of one axle, side to side.
//!
//! *Set-up.* Two pictures, left and right, within a minute of the stop, same distance and angle. After a *duty* drive
//! (repeated stops) the rises of the two rotors are compared as a ratio; after a *drag* drive (brakes unused) the hot
//! side is the suspect and the difference counts. *Physics.* A parked rotor cools with a time constant of about 16 min
//! (10–26 for 4–10 kg, derived), so the side that was pictured later is corrected. Permitted drag alone can make 20 to
//! 40 K of difference after a fast road (derived), so a small difference proves nothing. *Source.* Vehicle notes 2.3,
//! 3, 7; no published standard gives pass/fail temperatures.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use};
use super::observed::Observed;
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Effect, FailedGate, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source, Symptom, Tag,
};
use crate::measure::{InputUncertainty, Reading, Relation, Statistic};

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1, 1.4, 2.3" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

pub(super) static DEFINITION: Definition = Definition {
    kind: Kind::Brake,
    views: &[View::Left, View::Right],
    parts: &[
        Part { role: Role::Rotor, usage: Use::Required(Statistic::UpperHalfMedian) },
        Part { role: Role::Rim, usage: Use::Optional(Statistic::Mean) },
        Part { role: Role::Caliper, usage: Use::Optional(Statistic::Mean) },
    ],
    needs: &[
        need(Condition::AirTemperature, Must::BeStated, Gate::ConditionMissing, Effect::Stops),
        // Ten minutes: beyond that the cooling correction itself is uncertain by a fifth (derived).
        need(Condition::SinceStop, Must::BeAtMost(600_000), Gate::TooLate, Effect::Stops),
        need(Condition::BrakesUsed, Must::BeYesOrElse(Condition::BrakesUnused), Gate::BrakeUseUnclear, Effect::Stops),
        need(Condition::SameFinish, Must::BeYes, Gate::FinishDiffers, Effect::Stops),
        need(Condition::Shaded, Must::BeYes, Gate::Sun, Effect::Stops),
        need(Condition::Dry, Must::BeYes, Gate::Wet, Effect::Stops),
        need(Condition::StillAir, Must::BeYes, Gate::Wind, Effect::Weakens),
        need(Condition::InstrumentWarm, Must::BeYes, Gate::InstrumentCold, Effect::Stops),
    ],
    limits: &[
        Limit {
            metric: Metric::RiseRatio,
            possible: Some(1.25),
            probable: Some(1.5),
            major: Some(2.0),
            rule: Rule::GuardBand,
            source: Source { tag: Tag::Proposal, cite: "vehicle notes 7: ratio of rises with a rise of 40 K or more" },
        },
        Limit {
            metric: Metric::SideDifference,
            possible: Some(17.0),
            probable: Some(40.0),
            major: Some(55.0),
            rule: Rule::GuardBand,
            source: Source {
                tag: Tag::Read,
                cite: "R24 (weak): sides agree within 11-17 K, 55 K hotter is drag; 40 K derived from drag tolerances",
            },
        },
    ],
    watch: None,
    tests: &[
        NextTest::RepeatUnbraked,
        NextTest::SpinWheels,
        NextTest::OpenBleeder,
        NextTest::InspectCaliper,
        NextTest::RollerTest,
    ],
    cautions: &[Caution::LocalRules, Caution::HotParts, Caution::NoWaterOnRotors, Caution::BrakeDust, Caution::Lifting],
};

/// Least rise of the hotter rotor for a ratio to mean something, K. Proposal, vehicle notes 7.
const LEAST_RISE_K: f64 = 40.0;
/// Latest picture after the stop, s: beyond it the cooling correction itself is uncertain by a fifth (derived).
const LATEST_S: f64 = 600.0;
/// Time constant of a parked rotor, s: 16 min, 10 to 26 min for rotors of 4 to 10 kg (derived, vehicle notes 3), the
/// range taken as rectangular.
const COOLING_S: f64 = 960.0;
const COOLING_RELATIVE_U: f64 = (1_560.0 - 600.0) / 2.0 / COOLING_S / 1.732_050_807_568_877_2;
/// Largest offset step of a shutter event, K (vehicle notes 1.3, common practice).
const LARGEST_SHUTTER_STEP_K: f64 = 2.0;

/// A reading of one side and the factor that undoes its cooling since the first picture.
struct Side {
    view: View,
    reading: Reading,
    factor: f64,
    factor_u: f64,
}

fn side(observed: &Observed<'_>, role: Role, view: View, finding: &mut Finding) -> Option<Side> {
    let reading = observed.reading(role, view, finding)?;
    let waited = observed.seconds_to(view) / COOLING_S;
    // d/dτ of exp(t/τ), relative: t/τ · u(τ)/τ.
    Some(Side { view, reading, factor: libm::exp(waited), factor_u: waited * COOLING_RELATIVE_U })
}

/// Parts of one kind on two wheels: each has a rust, a dirt and an emissivity of its own.
const RELATION: Relation = Relation { same_view: false, same_surface: false, adjacent: false };

/// The halves have frames of their own, one after the other, so that their readings do not share the stack.
#[inline(never)]
pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    if let Some((drag_test, hot)) = compare_rotors(observed, finding) {
        supporting_parts(observed, hot, finding);
        conclude(drag_test, hot, finding);
    }
}

/// Grades the rotors; gives whether it was a drag test and the view of the hotter one, if they can be compared.
#[inline(never)]
fn compare_rotors(observed: &Observed<'_>, finding: &mut Finding) -> Option<(bool, View)> {
    // Exactly one of the two is stated, or the gate above stops the check.
    let drag_test = observed.yes(Condition::BrakesUnused) == Some(true);
    let air = observed.stated(Condition::AirTemperature)?;
    let left = side(observed, Role::Rotor, View::Left, finding);
    let right = side(observed, Role::Rotor, View::Right, finding);
    // By reference: the stack holds each side once.
    let (Some(left), Some(right)) = (&left, &right) else { return None };

    let stopped = observed.stated(Condition::SinceStop).unwrap_or(0.0);
    if [View::Left, View::Right].iter().any(|&view| stopped + observed.seconds_to(view) > LATEST_S) {
        observed.fail(Gate::TooLate, Effect::Stops, finding);
    }

    let rise = |side: &Side| (side.reading.kelvin - air) * side.factor;
    let (hot, cold) = if rise(left) >= rise(right) { (left, right) } else { (right, left) };
    let between = observed.inputs_between(View::Left, View::Right);

    let difference = rise(hot) - rise(cold);
    let difference_u = {
        let (_, instrument) = hot.reading.minus(&cold.reading, RELATION, &between);
        let cooling = libm::hypot(rise(hot) * hot.factor_u, rise(cold) * cold.factor_u);
        // Air enters through the factors only, which differ by a few percent.
        let air_part = (hot.factor - cold.factor) * between.air_k;
        libm::hypot(instrument * hot.factor.max(cold.factor), libm::hypot(cooling, air_part))
    };
    if drag_test {
        observed.grade(Metric::SideDifference, Some((Role::Rotor, hot.view)), (difference, difference_u), finding);
    } else if rise(hot) < LEAST_RISE_K {
        observed.fail(Gate::RiseTooSmall, Effect::Stops, finding);
    } else {
        // A side that stayed at air temperature has no ratio worth a number; a rise of 1 K stands in for less, as the
        // air temperature is not known any better.
        let floor = Reading { kelvin: cold.reading.kelvin.max(air + 1.0), ..cold.reading };
        let factors = [(hot.factor, hot.factor_u), (cold.factor, cold.factor_u)];
        let ratio = hot.reading.rise_ratio(&floor, air, factors, RELATION, &between);
        grade_ratio(observed, hot, ratio, finding);
        finding.state(Metric::SideDifference, Some((Role::Rotor, hot.view)), difference, difference_u);
    }
    if observed.shutter_between(View::Left, View::Right) && difference < 3.0 * LARGEST_SHUTTER_STEP_K {
        // The step may have made, or hidden, a difference of this size; it matters only where that could be graded.
        if finding.reaches > Grade::None {
            observed.fail(Gate::ShutterBetween, Effect::Stops, finding);
        }
    }
    for side in [hot, cold] {
        state_rise(observed, side, air, &between, finding);
    }
    Some((drag_test, hot.view))
}

#[inline(never)]
fn state_rise(observed: &Observed<'_>, side: &Side, air: f64, inputs: &InputUncertainty, finding: &mut Finding) {
    let rise_u = libm::hypot(side.reading.standard_uncertainty(inputs), inputs.air_k);
    finding.state(Metric::Rise, Some((Role::Rotor, side.view)), side.reading.kelvin - air, rise_u);
    observed.state_temperature(Role::Rotor, side.view, &side.reading, finding);
}

/// Grades the ratio by how sure it is that the *cold* side is warmer than the limit allows: for a cold side near air
/// temperature the ratio's own uncertainty explodes, although the finding only gets clearer. So the inverse ratio,
/// which stays well behaved, is held against the inverse steps through an equivalent relative uncertainty.
fn grade_ratio(observed: &Observed<'_>, hot: &Side, (ratio, ratio_u): (f64, f64), finding: &mut Finding) {
    let inverse = 1.0 / ratio;
    let inverse_u = ratio_u * inverse * inverse;
    // The ratio at the near end of the inverse interval, as a one-sided uncertainty of the ratio at k = 2.
    let near = 1.0 / (inverse + 2.0 * inverse_u);
    observed.grade(Metric::RiseRatio, Some((Role::Rotor, hot.view)), (ratio, (ratio - near) / 2.0), finding);
}

/// Rim and caliper differences as further evidence; rims that are clearly the other way round contradict the rotors.
#[inline(never)]
fn supporting_parts(observed: &Observed<'_>, hot: View, finding: &mut Finding) {
    let cold = if hot == View::Left { View::Right } else { View::Left };
    let between = observed.inputs_between(hot, cold);
    for role in [Role::Rim, Role::Caliper] {
        let (Some(a), Some(b)) = (observed.reading(role, hot, finding), observed.reading(role, cold, finding)) else {
            continue;
        };
        let (difference, uncertainty) = a.minus(&b, RELATION, &between);
        finding.state(Metric::SideDifference, Some((role, hot)), difference, uncertainty);
        // A rim is lacquered and warmed by the rotor for minutes: if it is certainly colder on the hot side, the
        // rotors probably differ in emissivity, not in temperature.
        if role == Role::Rim && difference < -2.0 * uncertainty && finding.grade > Grade::None {
            let (gate, effect, condition) = (Gate::RimContradicts, Effect::Stops, None);
            finding.fail(FailedGate { gate, effect, condition, role: Some(role), view: Some(hot) });
        }
    }
}

fn conclude(drag_test: bool, hot: View, finding: &mut Finding) {
    let mut note = |note| {
        let _ = finding.notes.push(note);
    };
    note(if drag_test { Note::DragTolerance } else { Note::Regeneration });
    if finding.grade > Grade::None {
        finding.symptom = Symptom::SideHotter;
        if !drag_test {
            let _ = finding.notes.push(Note::EitherSide);
        }
        finding.suspect = drag_test.then_some((Role::Rotor, hot));
        let causes: &[Cause] = if drag_test {
            &[Cause::BrakeDrags, Cause::ParkingBrakeBinds, Cause::WheelBearing, Cause::UnevenParts]
        } else {
            &[Cause::BrakeWeak, Cause::BrakeDrags, Cause::UnevenParts, Cause::WheelBearing]
        };
        let _ = finding.causes.extend_from_slice(causes);
        // After braking either side may be at fault, so the drive without braking comes first, unless the vehicle
        // must not be driven.
        let drive = !drag_test && finding.grade < Grade::Major;
        let tests = if drive { Some(DEFINITION.tests) } else { DEFINITION.tests.get(1..) };
        let _ = finding.tests.extend_from_slice(tests.unwrap_or(&[]));
        if finding.grade == Grade::Major {
            let _ = finding.cautions.push(Caution::DoNotDrive);
        }
    }
}
