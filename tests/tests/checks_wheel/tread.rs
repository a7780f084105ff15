//! Treads: each band, gate and pattern, sectors.

use super::{Picture, judge, value};
use oddheat_core::checks::{Check, Condition, Conditions, Kind, Place, Role, Slot, State, View};
use oddheat_core::finding::{Cause, Caution, Effect, Finding, Gate, Grade, Metric, Note, Symptom};
use oddheat_core::measure::Shape;
use oddheat_tests::plain::{frame, gate, info, setup, stated, with, without};

const TREAD_CONDITIONS: [(Condition, f64); 7] = [
    (Condition::AirTemperature, 20.0),
    (Condition::DriveTime, 1_200.0),
    (Condition::SinceStop, 40.0),
    (Condition::Shaded, 1.0),
    (Condition::Dry, 1.0),
    (Condition::StillAir, 1.0),
    (Condition::InstrumentWarm, 1.0),
];

const INNER: Shape = Shape::Box { x0: 4, y0: 5, x1: 12, y1: 24 };
const CENTER: Shape = Shape::Box { x0: 15, y0: 5, x1: 23, y1: 24 };
const OUTER: Shape = Shape::Box { x0: 26, y0: 5, x1: 34, y1: 24 };

fn bands([inner, center, outer]: [f64; 3]) -> [(Role, Shape, f64); 3] {
    [(Role::TreadInner, INNER, inner), (Role::TreadCenter, CENTER, center), (Role::TreadOuter, OUTER, outer)]
}

fn judge_tread(conditions: &Conditions, tires: &[(View, [f64; 3])], steps: bool) -> Finding {
    let bands: Vec<_> = tires.iter().map(|&(_, celsius)| bands(celsius)).collect();
    let pictures: Vec<Picture<'_>> = tires
        .iter()
        .zip(&bands)
        .enumerate()
        .map(|(i, (&(view, _), bands))| (view, 20.0 * i as f64, steps && i > 0, bands.as_slice()))
        .collect();
    judge(Kind::Tread, conditions, 20.0, &pictures)
}

const EVEN: [f64; 3] = [45.0, 45.0, 45.0];

/// Vehicle notes 7: middle against edges from 3, 6 and 12 K; sign by R15.
#[test]
fn tread_middle_and_edges() {
    let conditions = stated(&TREAD_CONDITIONS);
    for (more, grade) in [(0.0, Grade::None), (4.5, Grade::Possible), (8.0, Grade::Probable), (14.0, Grade::Major)] {
        let over = judge_tread(&conditions, &[(View::Left, [45.0, 45.0 + more, 45.0]), (View::Right, EVEN)], false);
        assert_eq!(over.grade, grade, "{more} K: {over:?}");
        assert_eq!(over.gates.as_slice(), &[]);
        assert!((value(&over, Metric::CenterOverEdges).0 - more).abs() < 0.02);
        let soft = [45.0 + more, 45.0, 45.0 + more];
        let under = judge_tread(&conditions, &[(View::Left, EVEN), (View::Right, soft)], false);
        assert_eq!(under.grade, grade, "{more} K: {under:?}");
        if more > 0.0 {
            assert_eq!(over.symptom, Symptom::TreadCenterHotter);
            assert_eq!((over.causes[0], over.suspect), (Cause::Overinflation, Some((Role::TreadCenter, View::Left))));
            assert_eq!(over.evidence[0].metric, Metric::CenterOverEdges, "the number that decided leads");
            assert_eq!(under.symptom, Symptom::TreadEdgesHotter);
            assert_eq!(
                (under.causes[0], under.suspect),
                (Cause::Underinflation, Some((Role::TreadCenter, View::Right)))
            );
        } else {
            assert!(over.notes.contains(&Note::LittleTreadHeat) && over.notes.contains(&Note::NotTurned));
        }
    }
}

/// A tilt that both tires have is how the axle is made; one tire alone points to alignment (6 and 10 K).
#[test]
fn tread_tilt_is_held_against_the_axle_mate() {
    let conditions = stated(&TREAD_CONDITIONS);
    let tilted = |by: f64| [45.0 + by, 45.0 + by / 2.0, 45.0];
    let both = judge_tread(&conditions, &[(View::Left, tilted(9.0)), (View::Right, tilted(9.0))], false);
    assert_eq!((both.grade, both.reaches), (Grade::None, Grade::None), "{both:?}");
    for (by, grade) in [(5.0, Grade::None), (8.0, Grade::Possible), (13.0, Grade::Probable)] {
        let one = judge_tread(&conditions, &[(View::Left, tilted(2.0)), (View::Right, tilted(2.0 + by))], false);
        assert_eq!(one.grade, grade, "{by} K: {one:?}");
        // One hot edge is not two.
        let hollow = one.evidence.iter().find(|e| e.metric == Metric::EdgesOverCenter);
        assert!(hollow.is_none_or(|e| e.value < 0.1), "{one:?}");
        if by > 5.0 {
            assert_eq!((one.symptom, one.causes[0]), (Symptom::TreadTilted, Cause::Misalignment));
            assert_eq!(one.suspect, Some((Role::TreadInner, View::Right)));
        }
    }
}

/// 5 and 10 K over the mate; two pictures 20 s apart leave some kelvin of doubt.
#[test]
fn tread_whole_tire_against_its_mate() {
    let conditions = stated(&TREAD_CONDITIONS);
    let all = |by: f64| [45.0 + by; 3];
    for (by, grade) in [(3.0, Grade::None), (9.0, Grade::Possible), (18.0, Grade::Probable)] {
        let finding = judge_tread(&conditions, &[(View::Left, EVEN), (View::Right, all(by))], false);
        assert_eq!(finding.grade, grade, "{by} K: {finding:?}");
    }
    let hot = judge_tread(&conditions, &[(View::Left, EVEN), (View::Right, all(18.0))], false);
    assert_eq!((hot.symptom, hot.suspect), (Symptom::SideHotter, Some((Role::Tread, View::Right))));
}

/// A hot sector is found in whichever of the four pictures it is; what waiting did to both tires is not taken for one.
#[test]
fn tread_sector_by_double_difference() {
    let conditions = stated(&TREAD_CONDITIONS);
    let views = [View::Left, View::Right, View::LeftTurned, View::RightTurned];
    let with_sector = |hot: Option<View>, by: f64| {
        let tires = views.map(|view| {
            // Both cool by 2 K until they are turned.
            let turned = matches!(view, View::LeftTurned | View::RightTurned);
            let here = if hot == Some(view) { by } else { 0.0 };
            (view, [45.0 + here - if turned { 2.0 } else { 0.0 }; 3])
        });
        judge_tread(&conditions, &tires, false)
    };
    let sound = with_sector(None, 0.0);
    assert_eq!((sound.grade, value(&sound, Metric::SectorExcess).0), (Grade::None, 0.0), "{sound:?}");
    assert!(!sound.notes.contains(&Note::NotTurned));
    for view in views {
        let finding = with_sector(Some(view), 11.0);
        assert_eq!((finding.grade, finding.symptom), (Grade::Probable, Symptom::TreadSectorHotter), "{finding:?}");
        assert_eq!(finding.suspect.map(|(_, view)| view), Some(view));
        assert_eq!(finding.causes[0], Cause::BeltSeparation);
        assert!(finding.cautions.contains(&Caution::DoNotDrive));
        assert!((value(&finding, Metric::SectorExcess).0 - 11.0).abs() < 0.02);
    }
    assert_eq!(with_sector(Some(View::Left), 16.0).grade, Grade::Major);
}

/// A shutter step between the wheels and one between the two rounds: views that share an offset cancel it.
#[test]
fn tread_sector_counts_shutter_steps_that_do_not_cancel() {
    let conditions = stated(&TREAD_CONDITIONS);
    let views = [View::Left, View::Right, View::LeftTurned, View::RightTurned];
    let expanded = |closes_before: &[View]| {
        let bands = bands(EVEN);
        let pictures: Vec<Picture<'_>> = views
            .iter()
            .enumerate()
            .map(|(i, &view)| (view, 20.0 * i as f64, closes_before.contains(&view), bands.as_slice()))
            .collect();
        value(&judge(Kind::Tread, &conditions, 20.0, &pictures), Metric::SectorExcess).1
    };
    let none = expanded(&[]);
    // Left and right share the first offset, the turned ones the second: plus and minus of each cancel. The closing falls
    // into the first turned picture's first frame and is counted before it.
    assert!((expanded(&[View::LeftTurned]) - none).abs() < 1e-3);
    // Left alone before the step: its weight and that of the three others are one each, 0.866 K times root two.
    let one = expanded(&[View::Right]);
    let step = 1.5 / 3f64.sqrt();
    assert!((one - (none * none + 4.0 * 2.0 * step * step).sqrt()).abs() < 0.01, "{one} {none}");
    let all = expanded(&views[1..]);
    assert!((all - (none * none + 4.0 * 4.0 * step * step).sqrt()).abs() < 0.01, "{all} {none}");
}

/// The middle is hot only where no edge is; of two tires the one that is hotter outside is the odd one.
#[test]
fn tread_patterns_that_are_not_pressure() {
    let conditions = stated(&TREAD_CONDITIONS);
    let both = |bands: [f64; 3]| judge_tread(&conditions, &[(View::Left, bands), (View::Right, bands)], false);
    let tilted = both([52.0, 52.0, 36.0]);
    assert_eq!((tilted.grade, tilted.symptom), (Grade::None, Symptom::NothingSeen), "{tilted:?}");
    let tires = [(View::Left, [50.0, 47.5, 45.0]), (View::Right, [45.0, 47.0, 49.0])];
    let opposite = judge_tread(&conditions, &tires, false);
    assert_eq!(opposite.suspect, Some((Role::TreadOuter, View::Right)), "{opposite:?}");
}

/// A sector at one shoulder counts in full, is named on the tire that changed, and is not hidden by what else is seen.
#[test]
fn tread_sector_at_a_shoulder() {
    let conditions = stated(&TREAD_CONDITIONS);
    let tires = |hot: View, by: f64| {
        [View::Left, View::Right, View::LeftTurned, View::RightTurned]
            .map(|view| (view, [45.0, 45.0, if view == hot { 45.0 + by } else { 45.0 }]))
    };
    let turned = judge_tread(&conditions, &tires(View::LeftTurned, 13.0), false);
    assert!((value(&turned, Metric::SectorExcess).0 - 13.0).abs() < 0.02);
    assert_eq!(turned.suspect, Some((Role::TreadOuter, View::LeftTurned)), "{turned:?}");
    assert!(turned.grade >= Grade::Probable && turned.notes.contains(&Note::PartOfTurnOnly));
    let seen_first = judge_tread(&conditions, &tires(View::Left, 13.0), false);
    assert!(seen_first.causes.contains(&Cause::BeltSeparation), "{seen_first:?}");
    assert!(seen_first.cautions.contains(&Caution::DoNotDrive));
    // A side that is warmer as a whole is not taken for the one that changed.
    let warmer = [(View::Left, 53.0), (View::Right, 50.0), (View::LeftTurned, 45.0), (View::RightTurned, 50.0)];
    let finding = judge_tread(&conditions, &warmer.map(|(view, celsius)| (view, [celsius; 3])), false);
    assert_eq!(finding.suspect.map(|(_, view)| view), Some(View::Left), "{finding:?}");
}

/// Skins of two like tires as a slab of 8 mm has them after hard driving (h 60, k 0.2), seen 20 s apart from 5 s on.
#[test]
fn tread_waiting_is_no_sector() {
    let conditions = with(&TREAD_CONDITIONS, Condition::SinceStop, 5.0);
    let rises = [(View::Left, 29.7), (View::Right, 35.3), (View::LeftTurned, 38.4), (View::RightTurned, 40.5)];
    let finding = judge_tread(&conditions, &rises.map(|(view, rise)| (view, [20.0 + rise; 3])), false);
    assert_eq!(finding.grade, Grade::None, "{finding:?}");
}

/// Turned pictures that come too late are left out; what the others show stands.
#[test]
fn tread_late_turned_pictures_are_left_out() {
    let all = bands([45.0, 60.0, 45.0]);
    let pictures: [Picture<'_>; 4] = [
        (View::Left, 0.0, false, &all),
        (View::Right, 20.0, false, &all),
        (View::LeftTurned, 250.0, false, &all),
        (View::RightTurned, 270.0, false, &all),
    ];
    let finding = judge(Kind::Tread, &stated(&TREAD_CONDITIONS), 20.0, &pictures);
    assert_eq!((finding.grade, finding.gates.len()), (Grade::Major, 0), "{finding:?}");
    assert!(finding.notes.contains(&Note::NotTurned));
}

/// Grooves are warmer; up to two fifths of a box do not move its band by more than its uncertainty says.
#[test]
fn tread_grooves_are_left_out() {
    let conditions = stated(&TREAD_CONDITIONS);
    let (mut state, mut slots) = (State::IDLE, [Slot::EMPTY; 16]);
    let mut check = Check::begin(&mut state, &mut slots, Kind::Tread, &setup(), &conditions).unwrap();
    for view in [View::Left, View::Right] {
        for (role, shape, _) in bands(EVEN) {
            check.place(Place { role, view, shape, emissivity: None }).unwrap();
        }
    }
    // Three of nine columns of the middle box.
    let groove = Shape::Box { x0: 18, y0: 0, x1: 20, y1: 29 };
    for (view, start) in [(View::Left, 0.0), (View::Right, 20.0)] {
        let pixels = frame(45.0, &[(groove, 57.0)]);
        for i in 0..4 {
            check.feed(info(view, start + f64::from(i) * 0.25), &pixels).unwrap();
        }
    }
    let finding = check.judge().unwrap();
    assert_eq!(finding.grade, Grade::None, "{finding:?}");
    assert!(value(&finding, Metric::CenterOverEdges).0 < 0.1, "{finding:?}");
}

#[test]
fn tread_gates() {
    let pair = [(View::Left, EVEN), (View::Right, EVEN)];
    for (conditions, failed) in [
        (with(&TREAD_CONDITIONS, Condition::DriveTime, 300.0), (Gate::DriveTooShort, Effect::Stops)),
        (with(&TREAD_CONDITIONS, Condition::SinceStop, 200.0), (Gate::TooLate, Effect::Stops)),
        (with(&TREAD_CONDITIONS, Condition::Shaded, 0.0), (Gate::Sun, Effect::Stops)),
        (with(&TREAD_CONDITIONS, Condition::Dry, 0.0), (Gate::Wet, Effect::Stops)),
        (with(&TREAD_CONDITIONS, Condition::StillAir, 0.0), (Gate::Wind, Effect::Weakens)),
        (with(&TREAD_CONDITIONS, Condition::InstrumentWarm, 0.0), (Gate::InstrumentCold, Effect::Stops)),
        (without(&TREAD_CONDITIONS, Condition::DriveTime), (Gate::ConditionMissing, Effect::Stops)),
    ] {
        let finding = judge_tread(&conditions, &pair, false);
        assert_eq!(gate(&finding), Some(failed), "{finding:?}");
        assert_eq!(finding.gates.len(), 1, "{finding:?}");
    }
    let cool = judge_tread(&stated(&TREAD_CONDITIONS), &[(View::Left, [23.0; 3]), (View::Right, [24.0; 3])], false);
    assert_eq!(gate(&cool), Some((Gate::TreadTooCool, Effect::Stops)));
    // A turned picture without its shapes is not silently left out.
    let mut shapes = bands(EVEN).to_vec();
    shapes.pop();
    let all = bands(EVEN);
    let pictures: [Picture<'_>; 3] =
        [(View::Left, 0.0, false, &all), (View::Right, 20.0, false, &all), (View::LeftTurned, 40.0, false, &shapes)];
    let missing = judge(Kind::Tread, &stated(&TREAD_CONDITIONS), 20.0, &pictures);
    assert_eq!(gate(&missing), Some((Gate::ShapeMissing, Effect::Stops)));
    assert_eq!(missing.gates[0].role.zip(missing.gates[0].view), Some((Role::TreadOuter, View::LeftTurned)));
    // The pictures are late one after the other.
    let late = with(&TREAD_CONDITIONS, Condition::SinceStop, 85.0);
    let pictures: [Picture<'_>; 2] = [(View::Left, 0.0, false, &all), (View::Right, 200.0, false, &all)];
    assert_eq!(gate(&judge(Kind::Tread, &late, 20.0, &pictures)), Some((Gate::TooLate, Effect::Stops)));
}
