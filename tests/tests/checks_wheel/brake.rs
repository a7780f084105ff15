//! Brakes of both axles.

use super::{Picture, judge};
use oddheat_core::checks::{Condition, Conditions, Kind, Role, View};
use oddheat_core::finding::{Cause, Effect, Finding, Gate, Grade, Metric, NextTest, Note, Symptom};
use oddheat_core::measure::Shape;
use oddheat_tests::plain::{BRAKE_CONDITIONS, gate, stated, with};

const ROTOR: Shape = Shape::Ring { x: 20, y: 15, inner: 5, outer: 8 };

fn judge_corners(conditions: &Conditions, corners: [f64; 4]) -> Finding {
    let rotor = |celsius: f64| [(Role::Rotor, ROTOR, celsius)];
    let shapes = corners.map(rotor);
    let views = [View::Left, View::Right, View::RearLeft, View::RearRight];
    let pictures: Vec<Picture<'_>> =
        views.iter().zip(&shapes).enumerate().map(|(i, (&v, s))| (v, 25.0 * i as f64, false, s.as_slice())).collect();
    judge(Kind::Brake, conditions, 20.0, &pictures)
}

/// Vehicle notes 2.3: four corners in 75 s; each axle is compared within itself, each side corrected by its own time.
#[test]
fn brake_both_axles() {
    let duty = stated(&BRAKE_CONDITIONS);
    // Rises as of the stop: 100 and 100 in front, 60 and 60 behind, cooled by their times at 16 min.
    let cooled = |rise: f64, seconds: f64| 20.0 + rise * (-seconds / 960.0).exp();
    let even = judge_corners(&duty, [120.0, cooled(100.0, 25.0), cooled(60.0, 50.0), cooled(60.0, 75.0)]);
    assert_eq!((even.grade, even.symptom), (Grade::None, Symptom::NothingSeen), "{even:?}");
    assert!(even.notes.contains(&Note::FrontAxleHotter) && even.notes.contains(&Note::Regeneration));
    let ratios: Vec<f64> =
        even.evidence.iter().filter(|e| e.metric == Metric::RiseRatio).map(|e| e.value.to_num()).collect();
    assert_eq!(ratios.len(), 2);
    assert!(ratios.iter().all(|ratio| (ratio - 1.0).abs() < 0.005), "{ratios:?}");
    // The rear axle decides, and its number leads.
    let rear = judge_corners(&duty, [120.0, 118.0, 120.0, 50.0]);
    assert!(rear.grade >= Grade::Probable, "{rear:?}");
    assert_eq!((rear.evidence[0].metric, rear.evidence[0].view), (Metric::RiseRatio, Some(View::RearLeft)));
    assert_eq!(rear.suspect, None, "after braking either side may be at fault");
    let drag = with(&BRAKE_CONDITIONS, Condition::BrakesUsed, 0.0).with(Condition::BrakesUnused, 1.0).unwrap();
    let binds = judge_corners(&drag, [60.0, 60.0, 60.0, 160.0]);
    assert_eq!(binds.grade, Grade::Major, "{binds:?}");
    assert_eq!(binds.suspect, Some((Role::Rotor, View::RearRight)));
    assert_eq!(binds.causes[0], Cause::ParkingBrakeBinds, "the parking brake is at the rear axle");
    assert!(binds.tests.contains(&NextTest::SpinWheels));
    let front = judge_corners(&drag, [160.0, 60.0, 60.0, 60.0]);
    assert_eq!((front.suspect, front.causes[0]), (Some((Role::Rotor, View::Left)), Cause::BrakeDrags));
    // Every note is kept, the last one too.
    assert!(binds.notes.contains(&Note::NotADiagnosis));
}

/// A rear axle with one picture is not compared and not called cool; a shutter step between sound rear pictures takes
/// nothing from the front.
#[test]
fn brake_one_rear_side_and_a_step_at_the_rear() {
    let drag = with(&BRAKE_CONDITIONS, Condition::BrakesUsed, 0.0).with(Condition::BrakesUnused, 1.0).unwrap();
    let rotor = |celsius: f64| [(Role::Rotor, ROTOR, celsius)];
    let (front, sound, hot) = ([rotor(160.0), rotor(60.0)], [rotor(60.0), rotor(58.0)], rotor(300.0));
    let with_rear: [Picture<'_>; 4] = [
        (View::Left, 0.0, false, &front[0]),
        (View::Right, 25.0, false, &front[1]),
        (View::RearLeft, 50.0, false, &sound[0]),
        (View::RearRight, 75.0, true, &sound[1]),
    ];
    let stepped = judge(Kind::Brake, &drag, 20.0, &with_rear);
    assert_eq!((stepped.grade, stepped.suspect), (Grade::Major, Some((Role::Rotor, View::Left))), "{stepped:?}");
    let one: [Picture<'_>; 3] = [
        (View::Left, 0.0, false, &sound[0]),
        (View::Right, 25.0, false, &sound[1]),
        (View::RearLeft, 50.0, false, &hot),
    ];
    let missing = judge(Kind::Brake, &drag, 20.0, &one);
    assert_eq!(gate(&missing), Some((Gate::ShapeMissing, Effect::Stops)), "{missing:?}");
    assert_eq!(missing.gates[0].view, Some(View::RearRight));
    assert!(!missing.notes.contains(&Note::AxleTooCool));
}

/// An axle that is too cool is left out and said to be; two of them are not assessable.
#[test]
fn brake_axle_too_cool() {
    let duty = stated(&BRAKE_CONDITIONS);
    let rear_cool = judge_corners(&duty, [120.0, 60.0, 40.0, 38.0]);
    assert!(rear_cool.grade >= Grade::Probable && rear_cool.gates.is_empty(), "{rear_cool:?}");
    assert!(rear_cool.notes.contains(&Note::AxleTooCool));
    let cool = judge_corners(&duty, [45.0, 30.0, 40.0, 38.0]);
    assert_eq!(gate(&cool), Some((Gate::RiseTooSmall, Effect::Stops)));
    assert_eq!(cool.gates.len(), 1);
    assert!(!cool.notes.contains(&Note::AxleTooCool));
}
