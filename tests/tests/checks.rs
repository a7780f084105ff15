//! Checks on plain frames: each gate, each band, each refusal. What they find in realistic scenes is tested against the
//! simulator (`desk/tests/depot.rs`).

use oddheat_core::Error;
use oddheat_core::checks::{Check, Condition, Conditions, FrameInfo, Kind, Place, Role, Slot, State, View};
use oddheat_core::finding::{Effect, Finding, Gate, Grade, Metric, NextTest, Note, Symptom};
use oddheat_core::measure::Shape;
use oddheat_tests::plain::{BRAKE_CONDITIONS, HEIGHT, counts, frame, gate, info, setup, stated, with, without};

const JOINT: Shape = Shape::Spot { x: 8, y: 10, size: 5 };
const TWIN: Shape = Shape::Spot { x: 30, y: 10, size: 5 };
const NEAR: Shape = Shape::Spot { x: 8, y: 17, size: 5 };
const FAR: Shape = Shape::Spot { x: 8, y: 25, size: 5 };

const JOINT_CONDITIONS: [(Condition, f64); 8] = [
    (Condition::AirTemperature, 20.0),
    (Condition::Current, 60.0),
    (Condition::FullCurrent, 60.0),
    (Condition::LoadTime, 240.0),
    (Condition::MatteSurface, 1.0),
    (Condition::Shaded, 1.0),
    (Condition::StillAir, 1.0),
    (Condition::InstrumentWarm, 1.0),
];

fn judge_joint(conditions: &Conditions, joint: f64, twin: f64, cable: (f64, f64)) -> Finding {
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 4]);
    let mut check = Check::begin(&mut state, &mut slots, Kind::Joint, &setup(), conditions).unwrap();
    let shapes = [(Role::Joint, JOINT), (Role::Twin, TWIN), (Role::CableNear, NEAR), (Role::CableFar, FAR)];
    for (role, shape) in shapes {
        check.place(Place { role, view: View::Single, shape, emissivity: None }).unwrap();
    }
    let pixels = frame(20.0, &[(JOINT, joint), (TWIN, twin), (NEAR, cable.0), (FAR, cable.1)]);
    for i in 0..4 {
        check.feed(info(View::Single, f64::from(i)), &pixels).unwrap();
    }
    check.judge().unwrap()
}

/// NETA table 100.18 as read in R51: 1–3 K possible, 4–15 K probable, above 15 K major between like joints.
#[test]
fn joint_is_graded_by_the_like_with_like_bands() {
    let conditions = stated(&JOINT_CONDITIONS);
    for (difference, grade) in
        [(0.0, Grade::None), (2.0, Grade::Possible), (6.0, Grade::Probable), (18.0, Grade::Major)]
    {
        let finding = judge_joint(&conditions, 22.0 + difference, 22.0, (22.0, 21.0));
        assert_eq!(finding.grade, grade, "{difference} K: {finding:?}");
        assert_eq!(finding.gates.as_slice(), &[]);
        let value = finding.evidence[0].value.to_num::<f64>();
        assert_eq!(finding.evidence[0].metric, Metric::ProjectedDifference);
        assert!((value - difference).abs() < 0.01, "{value}");
    }
    // Four kelvin with this uncertainty may be either side of the step, and the finding says so.
    let finding = judge_joint(&conditions, 26.0, 22.0, (22.0, 21.0));
    assert_eq!((finding.grade, finding.reaches), (Grade::Possible, Grade::Probable));
    assert!(finding.notes.contains(&Note::Undecided));
}

/// Vehicle notes 2.8: at half load the rise is to be multiplied by 3.0 (exponent 1.6) to 4.0 (exponent 2).
#[test]
fn joint_projects_half_load_to_full() {
    let finding = judge_joint(&with(&JOINT_CONDITIONS, Condition::Current, 30.0), 24.0, 22.0, (22.0, 21.0));
    let projected = finding.evidence.iter().find(|e| e.metric == Metric::ProjectedDifference).unwrap();
    let (value, expanded) = (projected.value.to_num::<f64>(), 2.0 * projected.uncertainty.to_num::<f64>());
    assert!((6.0..8.0).contains(&value), "{value}");
    assert!(value - expanded < 6.0 && value + expanded > 8.0, "{value} ± {expanded}");
    assert!(finding.notes.contains(&Note::Projected));
}

#[test]
fn joint_tells_a_bad_joint_from_an_overload() {
    let conditions = stated(&JOINT_CONDITIONS);
    let bad = judge_joint(&conditions, 50.0, 24.0, (40.0, 26.0));
    assert_eq!((bad.symptom, bad.suspect), (Symptom::JointHotter, Some((Role::Joint, View::Single))));
    assert_eq!(bad.causes[0].key(), "joint-resistance");
    let overload = judge_joint(&conditions, 55.0, 55.0, (56.0, 56.0));
    assert_eq!(overload.symptom, Symptom::EvenlyWarm);
    assert_eq!(overload.causes[0].key(), "overload");
    assert!(overload.grade >= Grade::Probable, "{overload:?}");
    // Of two joints the hotter is the suspect, whichever was called the twin.
    let twin = judge_joint(&conditions, 24.0, 50.0, (24.0, 23.0));
    assert_eq!((twin.symptom, twin.suspect), (Symptom::JointHotter, Some((Role::Twin, View::Single))), "{twin:?}");
    assert_eq!((twin.grade, twin.causes[0].key()), (Grade::Major, "joint-resistance"));
    // A cable hotter than both joints: vehicle notes 7, lead, 35 K.
    let lead = judge_joint(&conditions, 26.0, 26.0, (40.0, 70.0));
    assert_eq!((lead.grade, lead.symptom), (Grade::Probable, Symptom::EvenlyWarm), "{lead:?}");
    assert_eq!(lead.evidence[0].metric, Metric::CableRise);
    assert_eq!((lead.causes[0].key(), lead.suspect), ("overload", Some((Role::CableFar, View::Single))));
}

#[test]
fn joint_gates() {
    let cases = [
        (with(&JOINT_CONDITIONS, Condition::Current, 20.0), Gate::LoadTooLow, Effect::Stops),
        (with(&JOINT_CONDITIONS, Condition::LoadTime, 60.0), Gate::LoadTooShort, Effect::Stops),
        (with(&JOINT_CONDITIONS, Condition::MatteSurface, 0.0), Gate::BareMetal, Effect::Stops),
        (with(&JOINT_CONDITIONS, Condition::Shaded, 0.0), Gate::Sun, Effect::Stops),
        (with(&JOINT_CONDITIONS, Condition::StillAir, 0.0), Gate::Wind, Effect::Weakens),
        (without(&JOINT_CONDITIONS, Condition::Current), Gate::ConditionMissing, Effect::Stops),
    ];
    for (conditions, expected, effect) in cases {
        let finding = judge_joint(&conditions, 50.0, 22.0, (22.0, 21.0));
        assert_eq!(gate(&finding), Some((expected, effect)));
        let grade = if effect == Effect::Stops { Grade::NotAssessable } else { Grade::Possible };
        assert_eq!(finding.grade, grade);
        assert!(finding.tests.contains(&NextTest::RepeatProperly));
        assert!(!finding.cautions.is_empty());
    }
}

const ROTOR: Shape = Shape::Ring { x: 20, y: 15, inner: 6, outer: 10 };
const RIM: Shape = Shape::Ring { x: 20, y: 15, inner: 12, outer: 14 };

/// Judges rotors (and rims) at these temperatures; the right side is pictured `later` seconds after the left.
fn judge_brake(conditions: &Conditions, rotors: (f64, f64), rims: (f64, f64), later: f64, shutter: bool) -> Finding {
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 4]);
    let mut check = Check::begin(&mut state, &mut slots, Kind::Brake, &setup(), conditions).unwrap();
    for view in [View::Left, View::Right] {
        for (role, shape) in [(Role::Rotor, ROTOR), (Role::Rim, RIM)] {
            check.place(Place { role, view, shape, emissivity: None }).unwrap();
        }
    }
    for (view, rotor, rim, start) in
        [(View::Left, rotors.0, rims.0, 0.0), (View::Right, rotors.1, rims.1, later.max(1.0))]
    {
        let pixels = frame(20.0, &[(ROTOR, rotor), (RIM, rim)]);
        for i in 0..4 {
            let info = FrameInfo {
                shutter: shutter && view == View::Right && i == 0,
                ..info(view, start + f64::from(i) * 0.25)
            };
            check.feed(info, &pixels).unwrap();
        }
    }
    check.judge().unwrap()
}

fn drag_conditions() -> Conditions {
    with(&BRAKE_CONDITIONS, Condition::BrakesUsed, 0.0).with(Condition::BrakesUnused, 1.0).unwrap()
}

/// Vehicle notes 7: ratio of rises 1.25, 1.5, 2.0, with a rise of 40 K or more.
#[test]
fn brake_duty_test_is_graded_by_the_ratio_of_rises() {
    let conditions = stated(&BRAKE_CONDITIONS);
    for (left, right, grade) in [
        (120.0, 120.0, Grade::None),
        (120.0, 93.0, Grade::Possible),
        (120.0, 78.0, Grade::Probable),
        (60.0, 120.0, Grade::Major),
        // A side that stayed cold is the clearest finding of all, although its ratio is the least certain.
        (21.0, 120.0, Grade::Major),
    ] {
        let finding = judge_brake(&conditions, (left, right), (25.0, 25.0), 0.0, false);
        assert_eq!(finding.grade, grade, "{left} and {right}: {finding:?}");
        if grade > Grade::None {
            assert_eq!(finding.suspect, None, "after braking either side may be at fault");
            assert!(finding.notes.contains(&Note::EitherSide));
            // Nobody is sent for a drive in a vehicle that must not be driven.
            assert_eq!(finding.tests.contains(&NextTest::RepeatUnbraked), grade < Grade::Major);
        }
    }
    let cool = judge_brake(&conditions, (55.0, 21.0), (25.0, 25.0), 0.0, false);
    assert_eq!((cool.grade, gate(&cool)), (Grade::NotAssessable, Some((Gate::RiseTooSmall, Effect::Stops))));
}

/// R24 and the drag tolerances of vehicle notes 2.3: 17 K, 40 K, 55 K; the hot side is the suspect.
#[test]
fn brake_drag_test_is_graded_by_the_difference() {
    for (left, right, grade) in [
        (45.0, 40.0, Grade::None),
        (70.0, 45.0, Grade::Possible),
        (90.0, 45.0, Grade::Probable),
        (130.0, 45.0, Grade::Major),
    ] {
        let finding = judge_brake(&drag_conditions(), (left, right), (25.0, 25.0), 0.0, false);
        assert_eq!(finding.grade, grade, "{left} and {right}: {finding:?}");
        if grade > Grade::None {
            assert_eq!(finding.suspect, Some((Role::Rotor, View::Left)));
        }
    }
}

/// Vehicle notes 2.3: four corners photographed over 90 s lose about 9 % of the rise at a time constant of 16 min.
#[test]
fn brake_corrects_the_side_pictured_later() {
    let cooled = 20.0 + 100.0 * f64::exp(-90.0 / 960.0);
    let finding = judge_brake(&drag_conditions(), (120.0, cooled), (25.0, 25.0), 90.0, false);
    let difference = finding.evidence.iter().find(|e| e.metric == Metric::SideDifference).unwrap();
    assert!(difference.value.to_num::<f64>().abs() < 0.2, "{difference:?}");
    assert_eq!(finding.grade, Grade::None);
}

#[test]
fn brake_gates() {
    let unclear = [
        with(&BRAKE_CONDITIONS, Condition::BrakesUnused, 1.0),
        without(&BRAKE_CONDITIONS, Condition::BrakesUsed),
        with(&BRAKE_CONDITIONS, Condition::BrakesUsed, 0.0),
    ];
    for conditions in unclear {
        let finding = judge_brake(&conditions, (120.0, 50.0), (25.0, 25.0), 0.0, false);
        assert_eq!(gate(&finding), Some((Gate::BrakeUseUnclear, Effect::Stops)));
    }
    let finish =
        judge_brake(&with(&BRAKE_CONDITIONS, Condition::SameFinish, 0.0), (120.0, 50.0), (25.0, 25.0), 0.0, false);
    assert_eq!(gate(&finish), Some((Gate::FinishDiffers, Effect::Stops)));
    // Rims that are clearly the other way round: probably emissivity.
    let rims = judge_brake(&stated(&BRAKE_CONDITIONS), (120.0, 60.0), (24.0, 40.0), 0.0, false);
    assert_eq!((rims.grade, gate(&rims)), (Grade::NotAssessable, Some((Gate::RimContradicts, Effect::Stops))));
    let late =
        judge_brake(&with(&BRAKE_CONDITIONS, Condition::SinceStop, 900.0), (120.0, 60.0), (25.0, 25.0), 0.0, false);
    assert_eq!(gate(&late), Some((Gate::TooLate, Effect::Stops)));
}

/// A closed shutter between the views adds its step to the uncertainty of what is compared.
#[test]
fn brake_shutter_between_views_widens_the_interval() {
    let u = |shutter| {
        let finding = judge_brake(&drag_conditions(), (70.0, 45.0), (25.0, 25.0), 30.0, shutter);
        finding.evidence[0].uncertainty.to_num::<f64>()
    };
    assert!(u(true) > u(false) + 0.3, "{} {}", u(true), u(false));
}

#[test]
fn shapes_that_cannot_be_measured_stop_a_check() {
    let conditions = stated(&JOINT_CONDITIONS);
    let judge = |shape: Shape, joint: f64| {
        let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 2]);
        let mut check = Check::begin(&mut state, &mut slots, Kind::Joint, &setup(), &conditions).unwrap();
        check.place(Place { role: Role::Joint, view: View::Single, shape, emissivity: None }).unwrap();
        check.feed(info(View::Single, 0.0), &frame(20.0, &[(JOINT, joint)])).unwrap();
        check.judge().unwrap()
    };
    assert_eq!(gate(&judge(Shape::Spot { x: 8, y: 10, size: 1 }, 40.0)), Some((Gate::TooSmall, Effect::Stops)));
    let saturated = judge(JOINT, 650.0);
    assert_eq!(gate(&saturated), Some((Gate::InvalidPixels, Effect::Stops)));
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 2]);
    let check = Check::begin(&mut state, &mut slots, Kind::Joint, &setup(), &conditions).unwrap();
    assert_eq!(gate(&check.judge().unwrap()), Some((Gate::ShapeMissing, Effect::Stops)));
}

#[test]
fn wrong_calls_are_refused_and_change_nothing() {
    let conditions = stated(&JOINT_CONDITIONS);
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 1]);
    assert!(Check::resume(&mut state, &mut slots).is_none());
    assert_eq!(Check::begin(&mut state, &mut [], Kind::Joint, &setup(), &conditions).err(), Some(Error::TooSmall));
    let mut check = Check::begin(&mut state, &mut slots, Kind::Joint, &setup(), &conditions).unwrap();
    let place = |role, view, shape| Place { role, view, shape, emissivity: None };
    assert_eq!(check.place(place(Role::Rotor, View::Single, JOINT)), Err(Error::NotInThisCheck));
    assert_eq!(check.place(place(Role::Joint, View::Left, JOINT)), Err(Error::NotInThisCheck));
    let outside = Shape::Spot { x: 0, y: 0, size: 3 };
    assert_eq!(check.place(place(Role::Joint, View::Single, outside)), Err(Error::ShapeOutside));
    check.place(place(Role::Joint, View::Single, JOINT)).unwrap();
    assert_eq!(check.place(place(Role::Twin, View::Single, TWIN)), Err(Error::Full));
    assert_eq!(check.push_row(&[0; 40]), Err(Error::WrongOrder));
    check.start_frame(info(View::Single, 5.0)).unwrap();
    assert_eq!(check.start_frame(info(View::Single, 6.0)), Err(Error::WrongOrder));
    assert_eq!(check.push_row(&[0; 39]), Err(Error::WrongLength));
    assert_eq!(check.judge().err(), Some(Error::WrongOrder));
    for _ in 0..HEIGHT {
        check.push_row(&[counts(25.0); 40]).unwrap();
    }
    assert_eq!(check.start_frame(info(View::Single, 4.0)), Err(Error::TimeBackward));
    assert_eq!(check.feed(info(View::Single, 6.0), &[0; 7]), Err(Error::WrongLength));
    let finding = check.judge().unwrap();
    let temperature = finding.evidence.iter().find(|e| e.metric == Metric::Temperature).unwrap();
    assert!((temperature.value.to_num::<f64>() - 298.15).abs() < 1e-3);
}

/// The second side comes too late for any cooling correction.
#[test]
fn brake_second_side_has_a_time_limit() {
    let finding = judge_brake(&drag_conditions(), (220.0, 100.0), (25.0, 25.0), 1_800.0, false);
    assert_eq!((finding.grade, gate(&finding)), (Grade::NotAssessable, Some((Gate::TooLate, Effect::Stops))));
}
