//! The placed tools on the simulator's scenes, whose truth is known: the lines of a rear window, the rim of a steering
//! wheel, a rotor behind spokes. The simulator shares no code with the library.

use oddheat_core::measure::{FoundRing, Lengthwise, Measurement, Shape};
use oddheat_scenes::case::{Case, Severity};
use oddheat_scenes::catalog::check;
use oddheat_scenes::place::{self, Role, View};
use oddheat_scenes::recording::Recording;
use oddheat_scenes::sensor::Sensor;
use oddheat_tests::placed::{find_comb, find_ring, rows};

fn draw(key: &str, fault: Option<(&'static str, Severity)>, seed: u64) -> Recording {
    let case = fault.map_or(Case::Normal, |(fault, severity)| Case::Fault { fault, severity });
    check(key).unwrap().draw(case, seed, Some(&Sensor::medium()))
}

/// Pixel means over the frames of a view, as counts.
fn averaged(recording: &Recording, view: View) -> Vec<u16> {
    let frames: Vec<_> = recording.frames.iter().zip(&recording.views).filter(|(_, of)| **of == view).collect();
    let mean = |i: usize| frames.iter().map(|(frame, _)| f64::from(frame[i])).sum::<f64>() / frames.len() as f64;
    (0..recording.sensor.pixels()).map(|i| mean(i).round() as u16).collect()
}

/// Left ends of the grid lines in the view after: column, row. The operator's boxes begin there, 2.5 mm above the middle
/// of the line, a quarter of a pixel; a line that is not level leaves its box, so only this corner is true.
fn true_lines(recording: &Recording) -> Vec<(f64, f64)> {
    let after = recording.places.iter().filter(|place| place.role == Role::GridLine && place.view == View::After);
    let end = |shape| match shape {
        place::Shape::Box { from, .. } => Some((f64::from(from[0]), f64::from(from[1]) + 0.25)),
        _ => None,
    };
    after.filter_map(|place| end(place.shape)).collect()
}

/// Eleven lines at their places, and the weak one with the contrast that the glass has there.
#[test]
fn defroster_lines_and_their_contrasts() {
    let (mut worst_place, mut worst_share) = (0.0f64, 0.0f64);
    for seed in 0..12 {
        let fault = (seed % 3 != 0).then_some(("weak-line", Severity::ALL[seed as usize % 3]));
        let recording = draw("defroster", fault, seed);
        let frame = averaged(&recording, View::After);
        let (width, height) = (recording.sensor.width as u16, recording.sensor.height as u16);
        let shape = Shape::Box { x0: 16, y0: 0, x1: width - 17, y1: height - 1 };
        let found = find_comb(&frame, width, shape, Lengthwise::Rows).unwrap();
        let ends = true_lines(&recording);
        assert_eq!(found.lines.len(), ends.len(), "{seed}: {found:?}");
        let middle = f64::from(width) / 2.0;
        for (line, (x, y)) in found.lines.iter().zip(&ends) {
            worst_place = worst_place.max((line.place + found.slant.value * (x - middle) - y).abs());
        }
        // The scene notes the contrasts of a line (the weak one, if any) and of the middle one.
        let truth = &recording.truth.quantities;
        let number = truth["line"] as usize - 1;
        let mut contrasts: Vec<f64> = found.lines.iter().map(|line| line.contrast).collect();
        let own = contrasts[number];
        contrasts.sort_by(f64::total_cmp);
        assert!(fault.is_none() || own == contrasts[0], "{seed}: the weak line is the weakest");
        assert!(fault.is_some() || found.lines.iter().all(|line| line.present), "{seed}: {found:?}");
        let share = own / contrasts[contrasts.len() / 2];
        worst_share = worst_share.max((share - truth["line_contrast_k"] / truth["median_contrast_k"]).abs());
    }
    println!("12 panes: lines off by at most {worst_place:.2} px, share of contrast by {worst_share:.3}");
    // The operator's hand is good to a pixel or two; counts are not linear in kelvin and the frames span some time.
    assert!(worst_place < 2.0 && worst_share < 0.06, "{worst_place} {worst_share}");
}

fn ring(recording: &Recording, frame: &[u16]) -> Option<FoundRing> {
    find_ring(frame, recording.sensor.width as u16, (14, 58), edge(frame)).unwrap()
}

fn of(ring: &FoundRing) -> [f64; 4] {
    [ring.x_q8, ring.y_q8, ring.inner_q8, ring.outer_q8].map(|q8| f64::from(q8) / 256.0)
}

/// Edges of a sixth of the picture's range.
fn edge(frame: &[u16]) -> u16 {
    (frame.iter().max().unwrap() - frame.iter().min().unwrap()) / 6
}

/// A rim warm all around is found and its eight sectors are alike; one that is cold over half of its turn is found with
/// little confidence or not at all.
#[test]
fn steering_wheel_rims() {
    for seed in 0..8 {
        let recording = draw("steering-heater", None, seed);
        let (frame, width) = (averaged(&recording, View::After), recording.sensor.width as u16);
        let found = ring(&recording, &frame).unwrap();
        let [x, y, inner, outer] = of(&found);
        // Eight spots around the rim, by hand: their mean is the center, their distance the middle of the rim.
        let after = recording.places.iter().filter(|place| place.view == View::After && place.role == Role::WheelRim);
        let spot = |shape| match shape {
            place::Shape::Spot { at, .. } => Some(at.map(f64::from)),
            _ => None,
        };
        let spots: Vec<_> = after.filter_map(|place| spot(place.shape)).collect();
        assert_eq!(spots.len(), 8);
        let mean = |axis: usize| spots.iter().map(|at| at[axis]).sum::<f64>() / 8.0;
        assert!((x - mean(0)).hypot(y - mean(1)) < 1.5, "{seed}: {found:?} {spots:?}");
        let radius = spots.iter().map(|at| (at[0] - mean(0)).hypot(at[1] - mean(1))).sum::<f64>() / 8.0;
        assert!(((inner + outer) / 2.0 - radius).abs() < 1.5, "{seed}: {found:?} {radius}");
        assert!(found.hotter && found.confidence >= 950, "{seed}: {found:?}");
        let background = f64::from(*frame.iter().min().unwrap());
        let means: Vec<f64> = found
            .shape(2)
            .unwrap()
            .sectors(8)
            .map(|sector| {
                let mut measurement = Measurement::EMPTY;
                rows(&frame, width).for_each(|(y, row)| measurement.add_row(sector, y, row, 0, u16::MAX));
                measurement.sums().statistics().unwrap().mean - background
            })
            .collect();
        let (low, high) = means.iter().fold((f64::MAX, 0.0f64), |(low, high), mean| (low.min(*mean), high.max(*mean)));
        assert!(low > 0.8 * high, "{seed}: {means:?}");
        let fault = check("steering-heater").unwrap().faults[0];
        let half = draw("steering-heater", Some((fault, Severity::Grave)), seed);
        let frame = averaged(&half, View::After);
        let found = ring(&half, &frame);
        assert!(found.is_none_or(|found| found.confidence < 750), "{seed}: {found:?}");
    }
}

/// Rotors seen through five windows between spokes, a caliper in front: half of the circumference is hidden. What is
/// found is the rotor; where too little of it is seen, nothing is.
#[test]
fn rotors_behind_spokes() {
    let (mut found, mut worst) = (0, [0.0f64; 3]);
    for seed in 0..8 {
        for (fault, view) in [(None, View::Left), (Some(("dragging-brake", Severity::Grave)), View::Right)] {
            let recording = draw("brake", fault, seed);
            let frame = averaged(&recording, view);
            let Some(ring) = ring(&recording, &frame) else { continue };
            found += 1;
            let rotor = recording.places.iter().find(|place| place.view == view && place.role == Role::Rotor).unwrap();
            let place::Shape::Ring { center, inner, outer } = rotor.shape else { panic!("{rotor:?}") };
            let [x, y, from, to] = of(&ring);
            let off = (x - f64::from(center[0])).hypot(y - f64::from(center[1]));
            let edges = [off, (from - f64::from(inner)).abs(), (to - f64::from(outer)).abs()];
            worst.iter_mut().zip(edges).for_each(|(worst, off)| *worst = worst.max(off));
        }
    }
    println!("{found} of 16 rotors; center, inner and outer edge off the operator's ring by at most {worst:.2?} px");
    // The operator's ring lies within a pixel or two, and inside the edges.
    assert!(found >= 8 && worst.iter().all(|off| *off < 2.5), "{found} {worst:?}");
}
