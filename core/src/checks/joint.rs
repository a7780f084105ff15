//! Electrical joint under load: battery terminal, earth stud, splice.
//!
//! *Set-up.* A known load has been on for some minutes; the joint, its twin under the same current and two places on
//! its cable are seen on tape or insulation in one picture. *Judgement.* The difference to the twin is graded by the
//! like-with-like bands, the rise over air by the over-air bands, both projected to the full current of the circuit.
//! A drop along the cable away from the joint says that the heat is made in the joint; an evenly warm cable says that
//! the current is large, and its own rise is graded as that of a lead. *Source.* Vehicle notes 2.8, 2.12 and 7. The
//! bands are NETA table 100.18 (R51), written for building
//! and plant gear: a frame, not a law, for 12 V vehicles.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use};
use super::needs;
use super::observed::{Observed, in_view};
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Effect, Evidence, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source, Symptom, Tag,
};
use crate::measure::{Reading, Statistic};
use crate::units::root_sum_square;

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1-1.4, 2.8" };
const BANDS: Source = Source { tag: Tag::Read, cite: "R51: NETA table 100.18, plant equipment; a frame for 12 V" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

pub(super) static DEFINITION: Definition = Definition {
    kind: Kind::Joint,
    views: &[View::Single],
    further_views: &[],
    parts: &[
        Part { role: Role::Joint, usage: Use::Required(Statistic::Mean) },
        Part { role: Role::Twin, usage: Use::Optional(Statistic::Mean) },
        Part { role: Role::CableNear, usage: Use::Optional(Statistic::Mean) },
        Part { role: Role::CableFar, usage: Use::Optional(Statistic::Mean) },
    ],
    needs: &[
        needs::AIR,
        need(Condition::Current, Must::BeStated, Gate::ConditionMissing, Effect::Stops),
        need(Condition::FullCurrent, Must::BeStated, Gate::ConditionMissing, Effect::Stops),
        // Terminals follow a steady load with 2 to 5 min (derived, vehicle notes 3).
        need(Condition::LoadTime, Must::BeAtLeast(180_000), Gate::LoadTooShort, Effect::Stops),
        need(Condition::MatteSurface, Must::BeYes, Gate::BareMetal, Effect::Stops),
        needs::SHADED,
        needs::WIND_WEAKENS,
        needs::INSTRUMENT_WARM,
    ],
    limits: &[
        Limit {
            metric: Metric::ProjectedDifference,
            possible: Some(1.0),
            probable: Some(4.0),
            major: Some(15.0),
            rule: Rule::GuardBand,
            source: BANDS,
        },
        Limit {
            metric: Metric::ProjectedRise,
            possible: Some(1.0),
            probable: Some(11.0),
            major: Some(40.0),
            rule: Rule::GuardBand,
            source: BANDS,
        },
        Limit {
            metric: Metric::CableRise,
            possible: Some(20.0),
            probable: Some(35.0),
            // Major is the temperature class of the insulation less 20 K (memory), which is not stated here.
            major: None,
            rule: Rule::GuardBand,
            source: Source {
                tag: Tag::Proposal,
                cite: "vehicle notes 2.12 and 7: uniform lead 20 K watch, 35 K overload",
            },
        },
    ],
    watch: None,
    tests: &[NextTest::VoltageDrop, NextTest::CompareCurrents, NextTest::CleanAndRepeat],
    cautions: &[
        Caution::LocalRules,
        Caution::BatteryGas,
        Caution::Arcs,
        Caution::HighVoltage,
        Caution::MovingParts,
        Caution::HotParts,
    ],
};

/// Least share of the full current from which a rise may be projected: 40 % (R2; also NFPA 70B, memory).
const LEAST_SHARE: f64 = 0.4;
/// Rise grows with current to a power of 1.6 to 2.0 (R52), taken as rectangular.
const EXPONENT: f64 = 1.8;
const EXPONENT_U: f64 = 0.2 / 1.732_050_807_568_877_2;
/// Relative standard uncertainty of a clamp reading. Proposal.
const CURRENT_RELATIVE_U: f64 = 0.02;

/// Factor that projects a rise to full current, and its relative standard uncertainty.
struct Projection {
    factor: f64,
    relative_u: f64,
}

impl Projection {
    fn from_share(share: f64) -> Self {
        // A joint measured above its stated full current is judged as measured.
        let ratio = (1.0 / share).max(1.0);
        let by_exponent = libm::log(ratio) * EXPONENT_U;
        let by_current = if ratio > 1.0 { EXPONENT * CURRENT_RELATIVE_U } else { 0.0 };
        Self { factor: crate::units::power(ratio, EXPONENT), relative_u: root_sum_square(by_exponent, by_current) }
    }

    fn apply(&self, (value, uncertainty): (f64, f64)) -> (f64, f64) {
        let projected = value * self.factor;
        (projected, root_sum_square(uncertainty * self.factor, projected * self.relative_u))
    }
}

pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    let air = observed.stated(Condition::AirTemperature);
    let currents = (observed.stated(Condition::Current), observed.stated(Condition::FullCurrent));
    let (Some(air), (Some(current), Some(full))) = (air, currents) else { return };
    let share = if full > 0.0 { current / full } else { 0.0 };
    if share < LEAST_SHARE {
        observed.fail(Gate::LoadTooLow, Effect::Stops, finding);
        finding.state(Metric::LoadShare, None, share, share * CURRENT_RELATIVE_U);
        return;
    }
    let Some(joint) = observed.reading(Role::Joint, View::Single, finding) else { return };
    let projection = Projection::from_share(share);

    let twin = observed.reading(Role::Twin, View::Single, finding);
    // Of the two the hotter one is the suspect, whichever was called the twin.
    let (hotter, role) = match &twin {
        Some(twin) if twin.kelvin > joint.kelvin => (twin, Role::Twin),
        _ => (&joint, Role::Joint),
    };
    let place = Some((role, View::Single));
    if let Some(twin) = &twin {
        let cooler = if role == Role::Twin { &joint } else { twin };
        let difference = hotter.minus(cooler, in_view(hotter, cooler), observed.inputs());
        observed.grade(Metric::ProjectedDifference, place, projection.apply(difference), finding);
        finding.state(Metric::LikeDifference, place, difference.0, difference.1);
    }
    let rise = over_air(observed, hotter, air);
    grade_over_air(observed, place, projection.apply(rise), twin.is_some(), finding);
    let of_joint = finding.grade;
    let cable = observed.reading(Role::CableFar, View::Single, finding).map_or(Grade::None, |far| {
        let value = projection.apply(over_air(observed, &far, air));
        observed.grade(Metric::CableRise, Some((Role::CableFar, View::Single)), value, finding).grade
    });
    finding.state(Metric::Rise, place, rise.0, rise.1);
    finding.state(Metric::LoadShare, None, share, share * CURRENT_RELATIVE_U);
    for (role, reading) in [(Role::Joint, Some(&joint)), (Role::Twin, twin.as_ref())] {
        if let Some(reading) = reading {
            observed.state_temperature(role, View::Single, reading, finding);
        }
    }
    let drop = cable_drop(observed, finding);
    let _ = finding.notes.push(Note::PlantBands);
    if projection.factor > 1.0 {
        let _ = finding.notes.push(Note::Projected);
    }
    conclude(if cable > of_joint { Role::CableFar } else { role }, drop, finding);
}

/// Rise over air and its standard uncertainty.
fn over_air(observed: &Observed<'_>, reading: &Reading, air: f64) -> (f64, f64) {
    (reading.kelvin - air, root_sum_square(reading.standard_uncertainty(observed.inputs()), observed.inputs().air_k))
}

/// The first over-air band begins at 1 K, which every loaded joint passes and no handheld can tell from its own
/// calibration. Beside a twin only the bands from `probable` on add something.
fn grade_over_air(
    observed: &Observed<'_>,
    place: Option<(Role, View)>,
    rise: (f64, f64),
    has_twin: bool,
    finding: &mut Finding,
) {
    match observed.limit(Metric::ProjectedRise) {
        Some((index, limit)) if has_twin => {
            let limit = Limit { possible: None, ..*limit };
            finding.grade_by(Metric::ProjectedRise, place, rise, (index, &limit));
        }
        _ => {
            observed.grade(Metric::ProjectedRise, place, rise, finding);
        }
    }
}

/// Drop along the cable and its standard uncertainty, if both places were measured.
fn cable_drop(observed: &Observed<'_>, finding: &mut Finding) -> Option<(f64, f64)> {
    let near = observed.reading(Role::CableNear, View::Single, finding)?;
    let far = observed.reading(Role::CableFar, View::Single, finding)?;
    let drop = near.minus(&far, in_view(&near, &far), observed.inputs());
    finding.state(Metric::CableDrop, Some((Role::CableNear, View::Single)), drop.0, drop.1);
    Some(drop)
}

/// Names symptom, causes and tests. `suspect` is the hotter joint, or the cable if its own rise decided the grade.
fn conclude(suspect: Role, drop: Option<(f64, f64)>, finding: &mut Finding) {
    let by_cable = suspect == Role::CableFar;
    if finding.grade == Grade::None {
        return;
    }
    let differs = |e: &Evidence| e.metric == Metric::ProjectedDifference && e.grade > Grade::None;
    let hotter_than_twin = finding.evidence.iter().any(differs);
    // Heat made in the joint flows away along the cable; a cable as warm far away is warmed by its own current.
    let falls = drop.is_some_and(|(drop, uncertainty)| drop > 2.0 * uncertainty);
    let evenly = drop.is_some() && !falls && !hotter_than_twin;
    let (symptom, causes): (_, &[Cause]) = if by_cable || evenly {
        (Symptom::EvenlyWarm, &[Cause::Overload, Cause::NeighborHeat, Cause::JointResistance])
    } else if hotter_than_twin {
        (Symptom::JointHotter, &[Cause::JointResistance, Cause::UnequalLoad, Cause::NeighborHeat])
    } else {
        (Symptom::JointHotter, &[Cause::JointResistance, Cause::NeighborHeat, Cause::Overload])
    };
    if by_cable {
        finding.lead_with(Metric::CableRise, None);
    }
    finding.symptom = symptom;
    finding.suspect = Some((suspect, View::Single));
    let _ = finding.causes.extend_from_slice(causes);
    let _ = finding.tests.extend_from_slice(DEFINITION.tests);
}
