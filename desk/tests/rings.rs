//! A rotor that is found instead of placed, in simulated axles: where it is, and what the check then says.

use oddheat_core::checks::Role;
use oddheat_core::finding::{Gate, Grade};
use oddheat_core::measure::Shape;
use oddheat_desk::examine::examine;
use oddheat_desk::recording::Recording;
use oddheat_scenes::case::{Case, SeedSet, Severity};
use oddheat_scenes::catalog::{CHECKS, Check};
use std::path::Path;

/// Writes a case and has its rotors found instead of placed; gives both recordings.
fn both(folder: &Path, case: Case, index: u32) -> (Recording, Recording) {
    let brake = CHECKS.into_iter().find(|check| check.key == "brake").unwrap();
    brake.draw(case, SeedSet::Tuning.seed(index), None).write(folder).unwrap();
    let placed = Recording::open(folder).unwrap();
    let file = folder.join("recording.toml");
    let mut document: toml::Table = std::fs::read_to_string(&file).unwrap().parse().unwrap();
    // What somebody who lets the rim fill the picture knows: the rotor is larger than the hub and smaller than the rim.
    let radii = [0.13, 0.31].map(|share| toml::Value::from((share * f64::from(placed.height)) as i64));
    for place in document["place"].as_array_mut().unwrap() {
        let place = place.as_table_mut().unwrap();
        if place["role"].as_str() == Some("rotor") {
            place.remove("ring").unwrap();
            let wanted = toml::Table::from_iter([("radii".to_owned(), toml::Value::from(radii.to_vec()))]);
            place.insert("find_ring".to_owned(), toml::Value::from(wanted));
        }
    }
    std::fs::write(&file, document.to_string()).unwrap();
    (placed, Recording::open(folder).unwrap())
}

/// Goal of the wheel end: location within 2 px or 10 % of the ring. What is not found must not be guessed.
#[test]
fn rotors_are_found_where_they_are() {
    let fault = |fault| Case::Fault { fault, severity: Severity::Clear };
    let (mut searched, mut found, mut graded) = (0, 0, 0);
    for case in [Case::Normal, fault("dragging-brake"), fault("brake-not-applying")] {
        for index in 40..48 {
            let folder = tempfile::tempdir().unwrap();
            let (placed, asked) = both(folder.path(), case, index);
            let (by_hand, by_search) = (examine(&placed).unwrap(), examine(&asked).unwrap());
            assert_eq!(by_search.rings.len(), placed.places.len() / 3);
            for ring in &by_search.rings {
                searched += 1;
                let Some((place, _)) = ring.place else { continue };
                found += 1;
                let truth = placed.places.iter().find(|p| p.role == Role::Rotor && p.view == ring.view).unwrap();
                let (Shape::Ring { x, y, outer, .. }, Shape::Ring { x: fx, y: fy, outer: fo, .. }) =
                    (truth.shape, place.shape)
                else {
                    panic!("a rotor is a ring")
                };
                let off = f64::hypot(f64::from(x) - f64::from(fx), f64::from(y) - f64::from(fy));
                let allowed = (0.1 * f64::from(outer)).max(2.0);
                assert!(off <= allowed && fo.abs_diff(outer) <= 2, "{case} {index}: {place:?} for {truth:?}");
            }
            let (by_hand, by_search) = (by_hand.finding.unwrap(), by_search.finding.unwrap());
            if by_hand.grade == by_search.grade {
                graded += 1;
            } else {
                let missing = by_search.gates.iter().any(|failed| failed.gate == Gate::ShapeMissing);
                assert!(missing && by_search.grade == Grade::NotAssessable, "{case} {index}: {by_search:?}");
            }
        }
    }
    // Measured: 70 of 74 found, 21 of 24 recordings graded alike; of front axles alone it was 59 of 60. Sound rear rotors
    // are the coolest.
    assert!(found * 10 >= searched * 9 && graded >= 20, "{found} of {searched}, {graded}");
}

/// Where no ring is, none is placed, and the check says that its shape is missing.
#[test]
fn no_ring_is_made_up() {
    let folder = tempfile::tempdir().unwrap();
    let (_, mut asked) = both(folder.path(), Case::Normal, 40);
    for frame in &mut asked.frames {
        frame.counts.fill(8_000);
    }
    let examination = examine(&asked).unwrap();
    assert!(examination.rings.iter().all(|ring| ring.place.is_none()));
    let finding = examination.finding.unwrap();
    assert_eq!(finding.grade, Grade::NotAssessable);
    assert!(finding.gates.iter().any(|failed| failed.gate == Gate::ShapeMissing && failed.role == Some(Role::Rotor)));
}

/// Hub and hat of a wheel are placed around its rotor, and the check says what it says of shapes that were placed by hand.
#[test]
fn hub_and_hat_follow_the_rotor() {
    let hub = CHECKS.into_iter().find(|check| check.key == "hub").unwrap();
    // With a sound brake its face stands out of the wheel by little, and in half of the pictures it is not found.
    let fault = |fault| Case::Fault { fault, severity: Severity::Clear };
    for (case, least) in [(fault("dragging-brake"), 8), (fault("bad-bearing"), 3)] {
        let (found, graded) = hubs_by_search(hub, case);
        assert!(found >= least && graded + 1 >= found, "{case}: {found} of 10 found, {graded} graded alike");
    }
}

/// Of ten wheels: in how many all is found, and how many of these are graded as by hand. The others are not assessable.
fn hubs_by_search(hub: &'static Check, case: Case) -> (u32, u32) {
    let (mut found, mut graded) = (0, 0);
    for index in 40..50 {
        let folder = tempfile::tempdir().unwrap();
        hub.draw(case, SeedSet::Tuning.seed(index), None).write(folder.path()).unwrap();
        let placed = Recording::open(folder.path()).unwrap();
        let file = folder.path().join("recording.toml");
        let mut document: toml::Table = std::fs::read_to_string(&file).unwrap().parse().unwrap();
        for place in document["place"].as_array_mut().unwrap() {
            let place = place.as_table_mut().unwrap();
            let (role, height) = (place["role"].as_str().unwrap().to_owned(), f64::from(placed.height));
            place.remove("ring");
            place.remove("spot");
            // A rotor of 130 mm radius has a hat from 51 to 72 mm and a nut recess of 29 mm.
            let (key, wanted) = match role.as_str() {
                "rotor" => ("find_ring", format!("radii = [{}, {}]", (0.14 * height) as u32, (0.36 * height) as u32)),
                "rotor-hat" => ("around", "ring = \"rotor\"\ninner = 0.39\nouter = 0.55".to_owned()),
                _ => ("around", "ring = \"rotor\"\ninner = 0.0\nouter = 0.2".to_owned()),
            };
            place.insert(key.to_owned(), toml::Value::Table(wanted.parse().unwrap()));
        }
        std::fs::write(&file, document.to_string()).unwrap();
        let by_search = examine(&Recording::open(folder.path()).unwrap()).unwrap();
        assert_eq!(by_search.rings.len(), 6);
        let all = by_search.rings.iter().all(|ring| ring.place.is_some());
        found += u32::from(all);
        let (by_hand, by_search) = (examine(&placed).unwrap().finding.unwrap(), by_search.finding.unwrap());
        graded += u32::from(all && by_hand.grade == by_search.grade && by_hand.suspect == by_search.suspect);
        assert!(all || by_search.grade == Grade::NotAssessable, "{index}: {by_search:?}");
    }
    (found, graded)
}
