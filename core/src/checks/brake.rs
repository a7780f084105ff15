//! Brakes of an axle, side to side; of both axles if the rear one was pictured too.
//!
//! *Set-up.* Pictures of left and right within a minute of the stop, same distance and angle. After a *duty* drive
//! (repeated stops) the rises of the two rotors are compared as a ratio; after a *drag* drive (brakes unused) the hot
//! side is the suspect and the difference counts. *Physics.* A parked rotor cools with a time constant of about 16 min
//! (10–26 for 4–10 kg, derived), so the side that was pictured later is corrected. Permitted drag alone can make 20 to
//! 40 K of difference after a fast road (derived), so a small difference proves nothing. The front axle does 60 to 70 %
//! of the braking (R25, weak), so axles are not compared with each other. *Source.* Vehicle notes 2.3, 3, 7; no published
//! standard gives pass/fail temperatures.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use};
use super::needs;
use super::observed::Observed;
use super::sides::{Cooling, Pair, Sides, TWO_WHEELS, try_lateness};
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Decision, Effect, FailedGate, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source,
    Symptom, Tag,
};
use crate::measure::{Reading, Statistic};

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1, 1.4, 2.3" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

pub(super) static DEFINITION: Definition = Definition {
    kind: Kind::Brake,
    views: &[View::Left, View::Right],
    further_views: &[View::RearLeft, View::RearRight],
    parts: &[
        Part { role: Role::Rotor, usage: Use::Required(Statistic::UpperHalfMedian) },
        Part { role: Role::Rim, usage: Use::Optional(Statistic::Mean) },
        Part { role: Role::Caliper, usage: Use::Optional(Statistic::Mean) },
    ],
    needs: &[
        needs::AIR,
        // Ten minutes: beyond that the cooling correction itself is uncertain by a fifth (derived).
        need(Condition::SinceStop, Must::BeAtMost(600_000), Gate::TooLate, Effect::Stops),
        need(Condition::BrakesUsed, Must::BeYesOrElse(Condition::BrakesUnused), Gate::BrakeUseUnclear, Effect::Stops),
        needs::SAME_FINISH,
        needs::SHADED,
        needs::DRY,
        // One side may stand in the wind: the ratio of the rises is then that of the drafts as well.
        needs::WIND_STOPS,
        needs::INSTRUMENT_WARM,
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
                tag: Tag::Derived,
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
/// Parked rotor: 16 min, 10 to 26 min for rotors of 4 to 10 kg (derived, vehicle notes 3).
const COOLING: Cooling = Cooling::within(960.0, (1_560.0 - 600.0) / 2.0);

/// The two pictures of an axle.
type Axle = [View; 2];
const FRONT: Axle = [View::Left, View::Right];
const REAR: Axle = [View::RearLeft, View::RearRight];

/// What comparing an axle came to.
struct Compared {
    axle: Axle,
    hot: View,
    decision: Decision,
    difference_k: f64,
}

/// What became of an axle.
enum Outcome {
    Compared(Compared),
    TooCool,
    /// A side has no temperature; a gate says why.
    NotRead,
}

/// Axles have frames of their own, one after the other, so that their readings do not share the stack.
pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    // Exactly one of the two is stated, or the gate above stops the check.
    let drag_test = observed.yes(Condition::BrakesUnused) == Some(true);
    let both = REAR.iter().any(|&view| observed.fed(view));
    if let Some(&missing) = REAR.iter().find(|&&view| both && !observed.fed(view)) {
        let (gate, effect, condition) = (Gate::ShapeMissing, Effect::Stops, None);
        finding.fail(FailedGate { gate, effect, condition, role: Some(Role::Rotor), view: Some(missing) });
    }
    let front = compare_rotors(observed, FRONT, (drag_test, both), finding);
    let rear = if both { compare_rotors(observed, REAR, (drag_test, both), finding) } else { Outcome::NotRead };
    let order = |compared: &Compared| (compared.decision.grade, compared.decision.reaches);
    let worst = match (front, rear) {
        (Outcome::Compared(front), Outcome::Compared(rear)) => {
            let rear_first =
                order(&rear) > order(&front) || order(&rear) == order(&front) && rear.difference_k > front.difference_k;
            if rear_first { rear } else { front }
        }
        // An axle that is too cool says nothing; that the other one is warm enough does not change.
        (Outcome::Compared(one), Outcome::TooCool) | (Outcome::TooCool, Outcome::Compared(one)) => {
            let _ = finding.notes.push(Note::AxleTooCool);
            one
        }
        (Outcome::Compared(one), Outcome::NotRead) | (Outcome::NotRead, Outcome::Compared(one)) => one,
        (Outcome::TooCool, _) | (_, Outcome::TooCool) => {
            observed.fail(Gate::RiseTooSmall, Effect::Stops, finding);
            return;
        }
        (Outcome::NotRead, Outcome::NotRead) => return,
    };
    finding.lead_with(if drag_test { Metric::SideDifference } else { Metric::RiseRatio }, Some(worst.hot));
    supporting_parts(observed, &worst, finding);
    conclude(drag_test, &worst, both, finding);
}

/// Grades the rotors of an axle.
#[inline(never)]
fn compare_rotors(
    observed: &Observed<'_>,
    axle: Axle,
    (drag_test, one_of_two): (bool, bool),
    finding: &mut Finding,
) -> Outcome {
    let sides = Sides::read(observed, Role::Rotor, axle, COOLING, finding);
    let Some(sides) = sides.pair() else { return Outcome::NotRead };
    try_lateness(observed, &axle, LATEST_S, finding);
    let difference = sides.difference(observed);
    let place = Some(sides.hot_place());
    let decision = if drag_test {
        observed.grade(Metric::SideDifference, place, difference, finding)
    } else if sides.hot.rise(sides.air) < LEAST_RISE_K {
        return Outcome::TooCool;
    } else {
        let decision = grade_ratio(observed, sides, finding);
        finding.state(Metric::SideDifference, place, difference.0, difference.1);
        decision
    };
    sides.try_shutter(observed, decision, finding);
    if one_of_two {
        // Rises of four rotors would not leave room for what decides.
        for side in [sides.hot, sides.cold] {
            observed.state_temperature(Role::Rotor, side.view, &side.reading, finding);
        }
    } else {
        sides.state(observed, finding);
    }
    Outcome::Compared(Compared { axle, hot: sides.hot.view, decision, difference_k: difference.0 })
}

/// Grades the ratio by how sure it is that the *cold* side is warmer than the limit allows: for a cold side near air
/// temperature the ratio's own uncertainty explodes, although the finding only gets clearer. So the inverse ratio,
/// which stays well behaved, is held against the inverse steps through an equivalent relative uncertainty.
#[inline(never)]
fn grade_ratio(observed: &Observed<'_>, sides: Pair<'_>, finding: &mut Finding) -> Decision {
    let Pair { hot, cold, air, .. } = sides;
    // A side that stayed at air temperature has no ratio worth a number; a rise of 1 K stands in for less, as the air
    // temperature is not known any better.
    let floor = Reading { kelvin: cold.reading.kelvin.max(air + 1.0), ..cold.reading };
    let factors = [(hot.factor, hot.factor_u), (cold.factor, cold.factor_u)];
    let (ratio, ratio_u) = hot.reading.rise_ratio(&floor, air, factors, TWO_WHEELS, &sides.between(observed));
    let inverse = 1.0 / ratio;
    let inverse_u = ratio_u * inverse * inverse;
    // The ratio at the near end of the inverse interval, as a one-sided uncertainty of the ratio at k = 2.
    let near = 1.0 / (inverse + 2.0 * inverse_u);
    observed.grade(Metric::RiseRatio, Some(sides.hot_place()), (ratio, (ratio - near) / 2.0), finding)
}

/// Rim and caliper differences as further evidence; rims that are clearly the other way round contradict the rotors.
#[inline(never)]
fn supporting_parts(observed: &Observed<'_>, worst: &Compared, finding: &mut Finding) {
    let (hot, [left, right]) = (worst.hot, worst.axle);
    let cold = if hot == left { right } else { left };
    let between = observed.inputs_between(hot, cold);
    for role in [Role::Rim, Role::Caliper] {
        let (Some(a), Some(b)) = (observed.reading(role, hot, finding), observed.reading(role, cold, finding)) else {
            continue;
        };
        let (difference, uncertainty) = a.minus(&b, TWO_WHEELS, &between);
        finding.state(Metric::SideDifference, Some((role, hot)), difference, uncertainty);
        if role != Role::Rim {
            continue;
        }
        let _ = finding.notes.push(Note::RimTakesHeat);
        // A rim is lacquered and warmed by the rotor for minutes: if it is certainly colder on the hot side, the
        // rotors probably differ in emissivity, not in temperature.
        if difference < -2.0 * uncertainty && finding.grade > Grade::None {
            let (gate, effect, condition) = (Gate::RimContradicts, Effect::Stops, None);
            finding.fail(FailedGate { gate, effect, condition, role: Some(role), view: Some(hot) });
        }
    }
}

fn conclude(drag_test: bool, worst: &Compared, both: bool, finding: &mut Finding) {
    let mut note = |note| {
        let _ = finding.notes.push(note);
    };
    note(if drag_test { Note::DragTolerance } else { Note::Regeneration });
    if both {
        note(Note::FrontAxleHotter);
    }
    if finding.grade > Grade::None {
        finding.symptom = Symptom::SideHotter;
        if !drag_test {
            let _ = finding.notes.push(Note::EitherSide);
        }
        finding.suspect = drag_test.then_some((Role::Rotor, worst.hot));
        let causes: &[Cause] = match (drag_test, worst.axle == REAR) {
            // The parking brake is at the rear axle.
            (true, true) => &[Cause::ParkingBrakeBinds, Cause::BrakeDrags, Cause::WheelBearing, Cause::UnevenParts],
            (true, false) => &[Cause::BrakeDrags, Cause::ParkingBrakeBinds, Cause::WheelBearing, Cause::UnevenParts],
            (false, _) => &[Cause::BrakeWeak, Cause::BrakeDrags, Cause::UnevenParts, Cause::WheelBearing],
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
