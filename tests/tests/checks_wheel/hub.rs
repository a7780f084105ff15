//! Hubs: sides, own temperature, own baseline, where the heat comes from.

use super::{judge, value};
use oddheat_core::checks::{Condition, Conditions, Kind, Role, View};
use oddheat_core::finding::{Cause, Caution, Effect, Finding, Gate, Grade, Metric, Note, Symptom};
use oddheat_core::measure::Shape;
use oddheat_tests::plain::{gate, stated, with, without};

const HUB_CONDITIONS: [(Condition, f64); 9] = [
    (Condition::AirTemperature, 20.0),
    (Condition::DriveTime, 1_500.0),
    (Condition::SinceStop, 40.0),
    (Condition::BrakesUnused, 1.0),
    (Condition::SameFinish, 1.0),
    (Condition::Shaded, 1.0),
    (Condition::Dry, 1.0),
    (Condition::StillAir, 1.0),
    (Condition::InstrumentWarm, 1.0),
];

const HUB: Shape = Shape::Spot { x: 20, y: 15, size: 5 };
const HAT: Shape = Shape::Ring { x: 20, y: 15, inner: 5, outer: 8 };

fn judge_hub(conditions: &Conditions, [left, right]: [(f64, f64); 2]) -> Finding {
    let wheel = |(hub, hat): (f64, f64)| [(Role::RotorHat, HAT, hat), (Role::HubCenter, HUB, hub)];
    let (left, right) = (wheel(left), wheel(right));
    judge(Kind::Hub, conditions, 22.0, &[(View::Left, 0.0, false, &left), (View::Right, 30.0, false, &right)])
}

/// Vehicle notes 2.4: 5, 10 and 25 K between the sides where the middle is hotter than the hat.
#[test]
fn hub_sides_and_where_the_heat_comes_from() {
    let conditions = stated(&HUB_CONDITIONS);
    for (more, grade) in [(2.0, Grade::None), (8.0, Grade::Possible), (15.0, Grade::Probable), (32.0, Grade::Major)] {
        let finding = judge_hub(&conditions, [(40.0, 35.0), (40.0 + more, 35.0 + more / 2.0)]);
        assert_eq!(finding.grade, grade, "{more} K: {finding:?}");
        assert!(finding.notes.contains(&Note::BearingNotExcluded));
        // What the later picture lost in 30 s of 22 min is put back: 2.2 % of its rise.
        let (difference, expanded) = value(&finding, Metric::SideDifference);
        let put_back = (20.0 + more) * ((30.0_f64 / 1_350.0).exp() - 1.0);
        assert!((difference - more - put_back).abs() < 0.05, "{difference} ± {expanded}");
        if grade > Grade::None {
            assert_eq!((finding.symptom, finding.causes[0]), (Symptom::SideHotter, Cause::WheelBearing));
            assert_eq!(finding.suspect, Some((Role::HubCenter, View::Right)));
        }
        assert_eq!(finding.cautions.contains(&Caution::DoNotDrive), grade == Grade::Major);
    }
    // The same hub beside a hat that is hotter still: a brake's heat, a hub to look at, no verdict on its bearing.
    let brake = judge_hub(&conditions, [(40.0, 40.0), (55.0, 75.0)]);
    assert_eq!((brake.grade, brake.causes[0]), (Grade::Possible, Cause::BrakeDrags), "{brake:?}");
    assert!(brake.notes.contains(&Note::HubWarmedByBrake));
    let unclear = judge_hub(&conditions, [(40.0, 40.0), (55.0, 55.0)]);
    assert_eq!(unclear.grade, Grade::Possible, "{unclear:?}");
    assert!(unclear.causes.contains(&Cause::WheelBearing) && unclear.causes.contains(&Cause::BrakeDrags));
}

/// R32 (industrial): alert from 93 °C; vehicle notes 2.4: act above 110 °C, whatever heats the hub and on both sides alike.
#[test]
fn hub_temperature_itself() {
    let conditions = stated(&HUB_CONDITIONS);
    let both = |celsius: f64| judge_hub(&conditions, [(celsius, celsius - 8.0), (celsius, celsius - 8.0)]);
    assert_eq!(both(80.0).grade, Grade::None);
    let alert = both(102.0);
    assert_eq!((alert.grade, alert.symptom), (Grade::Possible, Symptom::HubHot), "{alert:?}");
    let act = both(120.0);
    assert_eq!((act.grade, act.symptom), (Grade::Major, Symptom::HubHot));
    let by_brake = judge_hub(&conditions, [(120.0, 180.0), (118.0, 180.0)]);
    assert_eq!(by_brake.grade, Grade::Major, "{by_brake:?}");
}

/// R33 (weak): 10 to 15 K over its own baseline; R32 (industrial): 28 K. Two days do not share their errors.
#[test]
fn hub_against_its_own_baseline() {
    let known = stated(&HUB_CONDITIONS).with(Condition::BaselineLeft, 15.0).unwrap();
    let known = known.with(Condition::BaselineRight, 15.0).unwrap();
    let rise = |kelvin: f64| judge_hub(&known, [(20.0 + kelvin, 15.0 + kelvin), (20.0 + kelvin, 15.0 + kelvin)]);
    assert_eq!(rise(16.0).grade, Grade::None);
    let risen = rise(35.0);
    assert_eq!((risen.grade, risen.symptom), (Grade::Possible, Symptom::HubHot), "{risen:?}");
    // The right hub was pictured 70 s after the stop; its rise is put back to the stop.
    let put_back = 35.0 * ((70.0_f64 / 1_350.0).exp() - 1.0);
    assert!((value(&risen, Metric::OverBaseline).0 - 20.0 - put_back).abs() < 0.05, "{risen:?}");
    assert_eq!(rise(55.0).grade, Grade::Probable);
}

/// The wheel that its own baseline accuses is the suspect, and its own hat says where its heat comes from.
#[test]
fn hub_baseline_of_one_side_names_that_side() {
    let known = with(&HUB_CONDITIONS, Condition::BaselineRight, 15.0);
    let finding = judge_hub(&known, [(78.0, 70.0), (75.0, 60.0)]);
    assert_eq!(finding.grade, Grade::Probable, "{finding:?}");
    assert_eq!(finding.suspect, Some((Role::HubCenter, View::Right)));
    assert_eq!((finding.causes[0], finding.evidence[0].metric), (Cause::WheelBearing, Metric::OverBaseline));
    // The other wheel's hot hat takes nothing from it.
    let beside_brake = judge_hub(&known, [(78.0, 95.0), (75.0, 60.0)]);
    assert_eq!((beside_brake.grade, beside_brake.suspect), (finding.grade, finding.suspect), "{beside_brake:?}");
    let by_brake = judge_hub(&known, [(78.0, 70.0), (75.0, 95.0)]);
    assert_eq!((by_brake.grade, by_brake.causes[0]), (Grade::Possible, Cause::BrakeDrags), "{by_brake:?}");
}

/// A hub that may be beyond 110 °C is said to be, whatever heats it.
#[test]
fn hub_doubt_is_kept() {
    let finding = judge_hub(&stated(&HUB_CONDITIONS), [(112.0, 112.0), (112.0, 112.0)]);
    assert_eq!((finding.grade, finding.reaches), (Grade::Possible, Grade::Major), "{finding:?}");
    assert!(finding.notes.contains(&Note::Undecided));
    let cool = judge_hub(&stated(&HUB_CONDITIONS), [(21.0, 21.0), (20.5, 20.5)]);
    assert_eq!(gate(&cool), Some((Gate::HubTooCool, Effect::Stops)));
}

#[test]
fn hub_gates() {
    let wheels = [(40.0, 35.0), (60.0, 45.0)];
    for (conditions, failed) in [
        (with(&HUB_CONDITIONS, Condition::DriveTime, 300.0), (Gate::DriveTooShort, Effect::Stops)),
        (with(&HUB_CONDITIONS, Condition::SinceStop, 900.0), (Gate::TooLate, Effect::Stops)),
        (with(&HUB_CONDITIONS, Condition::BrakesUnused, 0.0), (Gate::BrakeUseUnclear, Effect::Weakens)),
        (with(&HUB_CONDITIONS, Condition::SameFinish, 0.0), (Gate::FinishDiffers, Effect::Stops)),
        (with(&HUB_CONDITIONS, Condition::Shaded, 0.0), (Gate::Sun, Effect::Stops)),
        (without(&HUB_CONDITIONS, Condition::AirTemperature), (Gate::ConditionMissing, Effect::Stops)),
    ] {
        let finding = judge_hub(&conditions, wheels);
        assert_eq!(gate(&finding), Some(failed), "{finding:?}");
        assert_eq!(finding.gates.len(), 1, "{finding:?}");
        let highest = if failed.1 == Effect::Stops { Grade::NotAssessable } else { Grade::Possible };
        assert_eq!(finding.grade, highest);
    }
}
