//! Wheel bearings of an axle, side to side.
//!
//! *Set-up.* Twenty to thirty minutes of steady road, no braking for the last five kilometers, coast to a stop, picture
//! both hubs at once. *Physics.* A bearing warms the wheel from its middle and a brake from the face of its rotor, so the
//! sign of hub minus hat tells where the heat comes from (derived). Hub and knuckle follow with 15 to 30 min (derived), so
//! the pictures may wait some minutes. *Judgement.* The hotter hub is graded by the difference between the sides, by its
//! own temperature and, where one is stated, by its rise when it was sound. Heat that does not come from the middle says
//! that a hub is hot, not that its bearing is bad: `possible` at most. *Limit.* Spalling is heard long before it warms
//! anything; no picture clears a noisy bearing. *Source.* Vehicle notes 2.4, 3, 7; no standard for cars.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use};
use super::needs;
use super::observed::Observed;
use super::sides::{Cooling, Pair, Side, Sides, try_lateness};
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Decision, Effect, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source, Symptom, Tag,
};
use crate::measure::{Relation, Statistic};
use crate::units::ICE_POINT_K;
use crate::units::root_sum_square;

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1, 1.4, 2.4" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

pub(super) static DEFINITION: Definition = Definition {
    kind: Kind::Hub,
    views: &[View::Left, View::Right],
    further_views: &[],
    parts: &[
        Part { role: Role::HubCenter, usage: Use::Required(Statistic::Mean) },
        Part { role: Role::RotorHat, usage: Use::Required(Statistic::Median) },
        Part { role: Role::Rotor, usage: Use::Optional(Statistic::Median) },
    ],
    needs: &[
        needs::AIR,
        // Half of the way to the steady rise at the least: hub and knuckle take 15 to 30 min (derived).
        need(Condition::DriveTime, Must::BeAtLeast(1_200_000), Gate::DriveTooShort, Effect::Stops),
        need(Condition::SinceStop, Must::BeAtMost(600_000), Gate::TooLate, Effect::Stops),
        need(Condition::BrakesUnused, Must::BeYes, Gate::BrakeUseUnclear, Effect::Weakens),
        needs::SAME_FINISH,
        needs::SHADED,
        needs::DRY,
        needs::WIND_WEAKENS,
        needs::INSTRUMENT_WARM,
        needs::if_known(Condition::BaselineLeft),
        needs::if_known(Condition::BaselineRight),
    ],
    limits: &[
        Limit {
            metric: Metric::SideDifference,
            possible: Some(5.0),
            probable: Some(10.0),
            major: Some(25.0),
            rule: Rule::GuardBand,
            source: Source { tag: Tag::Proposal, cite: "vehicle notes 2.4 and 7: sides of an axle, center above hat" },
        },
        Limit {
            metric: Metric::Temperature,
            possible: Some(ICE_POINT_K + 93.0),
            probable: None,
            major: Some(ICE_POINT_K + 110.0),
            rule: Rule::GuardBand,
            source: Source {
                tag: Tag::Proposal,
                cite: "vehicle notes 2.4: act at 110 °C; alert from 93 °C by R32 (industrial, weak for cars)",
            },
        },
        Limit {
            metric: Metric::OverBaseline,
            possible: Some(10.0),
            probable: Some(28.0),
            major: None,
            rule: Rule::GuardBand,
            source: Source {
                tag: Tag::Read,
                cite: "R33 (weak): 10-15 K over its own baseline; R32 (industrial): 28 K",
            },
        },
    ],
    watch: None,
    tests: &[NextTest::ListenUnderLoad, NextTest::RockWheel, NextTest::SpinWheels, NextTest::InspectCaliper],
    cautions: &[Caution::LocalRules, Caution::HotParts, Caution::Lifting, Caution::DrivenWheel, Caution::BrakeDust],
};

/// Least rise of the hotter hub, K: a sound one has 10 to 30 (common practice, vehicle notes 2.4). Proposal.
const LEAST_RISE_K: f64 = 3.0;
/// Latest picture after the stop, s: two thirds of the shortest time constant. Proposal.
const LATEST_S: f64 = 600.0;
/// Hub and knuckle parked: 15 to 30 min (derived, vehicle notes 3).
const COOLING: Cooling = Cooling::within(1_350.0, 450.0);

/// Share of a neighbor's difference that optics add to a small part: 1 to 3 % in a wide skirt beside the blur of the edge
/// (vehicle notes 4), taken as a standard uncertainty. Derived.
const BLUR_SHARE: f64 = 0.03;

/// Hub and hat of one wheel: same frames, two surfaces.
const ONE_WHEEL: Relation = Relation { same_view: true, same_surface: false, adjacent: false };

/// Where the heat of the hotter hub comes from, as far as hub and hat tell.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Heat {
    FromHub,
    FromRotor,
    Unclear,
}

/// What one wheel came to.
#[derive(Clone, Copy)]
struct Wheel {
    view: View,
    heat: Heat,
    decision: Decision,
}

pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    let _ = finding.notes.push(Note::BearingNotExcluded);
    let sides = Sides::read(observed, Role::HubCenter, [View::Left, View::Right], COOLING, finding);
    let Some(sides) = sides.pair() else { return };
    try_lateness(observed, DEFINITION.views, LATEST_S, finding);
    if sides.hot.rise(sides.air) < LEAST_RISE_K {
        observed.fail(Gate::HubTooCool, Effect::Stops, finding);
    }
    let (difference, uncertainty) = sides.difference(observed);
    let blurred = root_sum_square(blurred_k(observed, sides.hot, finding), blurred_k(observed, sides.cold, finding));
    let value = (difference, root_sum_square(uncertainty, blurred));
    let between = observed.grade(Metric::SideDifference, Some(sides.hot_place()), value, finding);
    let hot = wheel(observed, sides, sides.hot, between, finding);
    let cold = wheel(observed, sides, sides.cold, Decision::NOTHING, finding);
    // The wheel that is graded higher is the suspect; with both alike, the hotter one.
    let worst = if cold.decision.grade > hot.decision.grade { cold } else { hot };
    finding.grade = worst.decision.grade;
    finding.reaches = hot.decision.reaches.max(cold.decision.reaches);
    conclude(worst, between.grade > Grade::None && worst.view == hot.view, finding);
}

/// Grades one wheel by itself, and with it what comparing the two has to say of it. Heat that does not come from the hub
/// leaves of both no more than `possible`; a hub as hot as no hub may be is acted upon whatever heats it.
#[inline(never)]
fn wheel(observed: &Observed<'_>, sides: Pair<'_>, side: &Side, between: Decision, finding: &mut Finding) -> Wheel {
    let blurred = blurred_k(observed, side, finding);
    let uncertainty = root_sum_square(side.reading.standard_uncertainty(observed.inputs()), blurred);
    let value = (side.reading.kelvin, uncertainty);
    let own = observed.grade(Metric::Temperature, Some((Role::HubCenter, side.view)), value, finding);
    let over = over_baseline(observed, sides.air, side, finding);
    let heat = heat(observed, side, finding);
    let most = if heat == Heat::FromHub { Grade::Major } else { Grade::Possible };
    let grade = own.grade.max(between.grade.max(over.grade).min(most));
    let reaches = own.reaches.max(between.reaches.max(over.reaches).min(most));
    Wheel { view: side.view, heat, decision: Decision { grade, reaches } }
}

/// What optics bring from the hat into the small middle of the hub: standard uncertainty in K.
#[inline(never)]
fn blurred_k(observed: &Observed<'_>, side: &Side, finding: &mut Finding) -> f64 {
    let hat = observed.reading(Role::RotorHat, side.view, finding);
    hat.map_or(0.0, |hat| BLUR_SHARE * libm::fabs(hat.kelvin - side.reading.kelvin))
}

/// Holds the rise of one hub, as of the stop, against the one that was stated for it. Both were read with instruments of
/// this kind, on different days: calibration and air are in both, and do not cancel.
fn over_baseline(observed: &Observed<'_>, air: f64, side: &Side, finding: &mut Finding) -> Decision {
    let condition = if side.view == View::Left { Condition::BaselineLeft } else { Condition::BaselineRight };
    let Some(baseline) = observed.stated(condition) else { return Decision::NOTHING };
    let stood = observed.stated(Condition::SinceStop).unwrap_or(0.0) / COOLING.seconds;
    let to_stop = libm::exp(stood);
    let rise = side.rise(air) * to_stop;
    let now = root_sum_square(side.reading.standard_uncertainty(observed.inputs()), observed.inputs().air_k);
    let cooled = rise * (side.factor_u + stood * COOLING.relative_u);
    let uncertainty = core::f64::consts::SQRT_2 * root_sum_square(now * side.factor * to_stop, cooled);
    let place = Some((Role::HubCenter, side.view));
    observed.grade(Metric::OverBaseline, place, (rise - baseline, uncertainty), finding)
}

/// Hub minus hat of a wheel, and what it says.
#[inline(never)]
fn heat(observed: &Observed<'_>, side: &Side, finding: &mut Finding) -> Heat {
    let view = side.view;
    let Some(hat) = observed.reading(Role::RotorHat, view, finding) else { return Heat::Unclear };
    let (over, uncertainty) = side.reading.minus(&hat, ONE_WHEEL, observed.inputs());
    finding.state(Metric::HubOverHat, Some((Role::HubCenter, view)), over, uncertainty);
    observed.state_temperature(Role::RotorHat, view, &hat, finding);
    if let Some(rotor) = observed.reading(Role::Rotor, view, finding) {
        observed.state_temperature(Role::Rotor, view, &rotor, finding);
    }
    if over > 2.0 * uncertainty {
        Heat::FromHub
    } else if over < -2.0 * uncertainty {
        Heat::FromRotor
    } else {
        Heat::Unclear
    }
}

fn conclude(worst: Wheel, sides_differ: bool, finding: &mut Finding) {
    if finding.grade == Grade::None {
        let _ = finding.tests.extend_from_slice(&[NextTest::ListenUnderLoad, NextTest::RockWheel]);
        return;
    }
    finding.symptom = if sides_differ { Symptom::SideHotter } else { Symptom::HubHot };
    finding.suspect = Some((Role::HubCenter, worst.view));
    let deciding = finding.evidence.iter().filter(|e| e.view == Some(worst.view)).max_by_key(|e| e.grade);
    if let Some((metric, view)) = deciding.map(|e| (e.metric, e.view)) {
        finding.lead_with(metric, view);
    }
    let (causes, notes): (&[Cause], &[Note]) = match worst.heat {
        Heat::FromHub => (&[Cause::WheelBearing, Cause::BrakeDrags], &[Note::NewBearing]),
        Heat::FromRotor => {
            (&[Cause::BrakeDrags, Cause::ParkingBrakeBinds, Cause::WheelBearing], &[Note::HubWarmedByBrake])
        }
        Heat::Unclear => {
            (&[Cause::BrakeDrags, Cause::WheelBearing, Cause::UnevenParts], &[Note::HubWarmedByBrake, Note::NewBearing])
        }
    };
    let _ = finding.causes.extend_from_slice(causes);
    let _ = finding.notes.extend_from_slice(notes);
    let _ = finding.tests.extend_from_slice(DEFINITION.tests);
    if finding.grade == Grade::Major {
        let _ = finding.cautions.push(Caution::DoNotDrive);
    }
}
