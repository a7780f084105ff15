//! How far the image moved, and whether a region moved with it.

use super::*;
use crate::background::{Histogram, Window};

fn shift_between(before: &[u16], now: &[u16]) -> Shift {
    let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
    let mut profiles = Profiles::new(&mut slots, &mut reference, settings(Thresholds::NONE)).unwrap();
    before.chunks(W).for_each(|row| profiles.push(row).unwrap());
    let first = profiles.finish(Reference::Keep).unwrap();
    assert_eq!((first.x, first.y), (Err(Doubt::First), Err(Doubt::First)));
    now.chunks(W).for_each(|row| profiles.push(row).unwrap());
    profiles.finish(Reference::Keep).unwrap()
}

#[test]
fn shifts_are_found_to_a_part_of_a_pixel() {
    let (mut worst, mut outside, mut count, mut refused) = (0.0f64, 0, 0, 0);
    for seed in 0..7 {
        let scene = Scene::new(seed);
        let before = scene.frame(0.0, 0.0, 1.0, 5_000.0, 5.0, 1);
        for k in 0..6 {
            let d = |i: usize| 16.0 * (uniform(seed + 100, 10 * k + i) - 0.5);
            let (dx, dy) = (d(0), d(1));
            // Another gain and offset: neither may matter.
            let shift = shift_between(&before, &scene.frame(dx, dy, 1.3, 3_000.0, 5.0, 2 + k as u32));
            for (axis, truth) in [(shift.x, dx), (shift.y, dy)] {
                match axis {
                    Ok(axis) => {
                        let error = (f64::from(axis.sixteenths) / 16.0 - truth).abs();
                        count += 1;
                        worst = worst.max(error);
                        outside += usize::from(error * 16.0 > 2.0 * f64::from(axis.uncertainty) + 0.5);
                    }
                    Err(doubt) => {
                        refused += 1;
                        std::println!("refused: {doubt:?} at {truth:.2} in scene {seed}");
                    }
                }
            }
        }
    }
    std::println!("{count} shifts, {refused} refused, worst error {worst:.3}, {outside} beyond twice the uncertainty");
    assert!(count >= 80 && worst < 0.5 && outside * 20 <= count, "{count} {worst} {outside}");
}

/// Which frame is the reference only turns the sign.
#[test]
fn shifts_are_symmetric() {
    for seed in 0..4 {
        let scene = Scene::new(seed);
        let (a, b) = (
            scene.frame(0.0, 0.0, 1.0, 5_000.0, 2.0, 1),
            scene.frame(3.3 + f64::from(seed) / 7.0, -2.4, 1.0, 5_000.0, 2.0, 2),
        );
        let (forth, back) = (shift_between(&a, &b), shift_between(&b, &a));
        for (forth, back) in [(forth.x, back.x), (forth.y, back.y)] {
            assert_eq!(forth.map(|axis| axis.sixteenths), back.map(|axis| -axis.sixteenths));
        }
    }
}

#[test]
fn what_does_not_show_a_shift_is_refused() {
    let scene = Scene::new(3);
    let before = scene.frame(0.0, 0.0, 1.0, 5_000.0, 5.0, 1);
    let doubts = |now: &[u16], before: &[u16]| {
        let shift = shift_between(before, now);
        (shift.x.unwrap_err(), shift.y.unwrap_err())
    };
    // Nothing but noise; the same level everywhere.
    let (a, b) = ([1u32, 2]).map(|seed| Scene(vec![]).frame(0.0, 0.0, 1.0, 5_000.0, 5.0, seed)).into();
    let (x, y) = doubts(&a, &b);
    assert!([x, y].iter().all(|doubt| [Doubt::Changed, Doubt::Flat].contains(doubt)), "{x:?} {y:?}");
    assert_eq!(doubts(&[5_000; W * H], &[5_000; W * H]), (Doubt::Flat, Doubt::Flat));
    // Another scene altogether, and a move beyond the reach.
    let (x, y) = doubts(&Scene::new(77).frame(0.0, 0.0, 1.0, 5_000.0, 5.0, 2), &before);
    assert!(![x, y].contains(&Doubt::First), "{x:?} {y:?}");
    assert!(shift_between(&before, &scene.frame(25.0, 0.0, 1.0, 5_000.0, 5.0, 2)).x.is_err());
    // A comb fits itself again a pitch further.
    let comb = |moved: usize| -> Vec<u16> {
        (0..W * H)
            .map(|i| 5_000 + if (i % W + W - moved) % 8 < 4 { 300 } else { 0 } + (i / W % 40) as u16 * 7)
            .collect()
    };
    assert_eq!(shift_between(&comb(0), &comb(2)).x, Err(Doubt::Ambiguous));
}

#[test]
fn a_hot_region_that_moves_by_itself_does_not_steer_the_estimate_when_left_out() {
    let scene = Scene::new(5);
    let hot = |frame: &mut [u16], x: usize| {
        (0..400).for_each(|i| frame[(40 + i / 20) * W + x + i % 20] = 12_000);
    };
    let (mut before, mut now) =
        (scene.frame(0.0, 0.0, 1.0, 5_000.0, 3.0, 1), scene.frame(4.0, 0.0, 1.0, 5_000.0, 3.0, 2));
    hot(&mut before, 80);
    hot(&mut now, 73);
    let found = |clip: Thresholds| {
        let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
        let mut profiles = Profiles::new(&mut slots, &mut reference, settings(clip)).unwrap();
        before.chunks(W).for_each(|row| profiles.push(row).unwrap());
        profiles.finish(Reference::Adopt).unwrap();
        now.chunks(W).for_each(|row| profiles.push(row).unwrap());
        profiles.finish(Reference::Adopt).unwrap().x.map(|axis| axis.sixteenths)
    };
    // The region went 7 pixels left, the part 4 right.
    let (steered, without) = (found(Thresholds::NONE), found(Thresholds::new(8_000, 1).unwrap()));
    std::println!("as it is {steered:?}, left out {without:?}, truth 64");
    assert!(steered.is_ok_and(|s| s < -100), "{steered:?}");
    assert!(without.is_ok_and(|s| (s - 64).abs() <= 6), "{without:?}");
}

#[test]
fn a_sweep_adds_up_no_more_errors_than_it_says() {
    let (mut worst, mut outside, mut count) = (0.0f64, 0, 0);
    for seed in 8..11 {
        let scene = Scene::new(seed);
        let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
        let mut profiles = Profiles::new(&mut slots, &mut reference, settings(Thresholds::NONE)).unwrap();
        let mut follower = PartFollower::NEW;
        for t in 0..60u32 {
            // 24 pixels there and back, and 6 up and down.
            let angle = f64::from(t) * core::f64::consts::TAU / 60.0;
            let (dx, dy) = (12.0 - 12.0 * libm::cos(angle), 6.0 * libm::sin(angle));
            scene.frame(dx, dy, 1.0, 5_000.0, 5.0, t).chunks(W).for_each(|row| profiles.push(row).unwrap());
            let here = follower.follow(&mut profiles).unwrap();
            assert_eq!(here.epoch, 1, "lost at {t}");

            for (got, truth) in [(here.x, dx), (here.y, dy)] {
                let error = (f64::from(got) - 16.0 * truth).abs();
                worst = worst.max(error / 16.0);
                outside += usize::from(error > 2.0 * f64::from(here.uncertainty) + 0.5);
                count += 1;
            }
        }
    }
    std::println!("{count} places, worst error {worst:.2} px, {outside} beyond twice the uncertainty");
    assert!(worst < 2.0 && outside * 20 <= count, "{worst} {outside}");
}

/// What a viewer sees who moves over a part with a hot mark on it, or with something mirrored in it.
///
/// `slip` 0 is a mark on the part, ½ a lamp mirrored from as far as the viewer, 1 the viewer's own heat. The pipeline is
/// the whole one: counts, profiles, scanner, tracker.
fn seen(slip: f64, sweep: f64, other: f64, stepped_aside: bool, seed: u32) -> SlipJudgement {
    let scene = Scene::new(seed);
    let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
    let mut profiles = Profiles::new(&mut slots, &mut reference, settings(Thresholds::NONE)).unwrap();
    let mut follower = PartFollower::NEW;
    let mut tracks = [Track::EMPTY; 16];
    let mut tracker = Tracker::new(&mut tracks, TrackSettings::DEFAULT).unwrap();
    let mut judgement = None;
    for t in 0..24u32 {
        let phase = f64::from(t) / 23.0;
        let (dx, dy) = (sweep * phase, 0.3 * sweep * phase);
        let mut frame = scene.frame(dx, dy, 1.0, 5_000.0, 4.0, t);
        // The mark lags behind by its slip, and sways by `other` across the part's motion.
        let sway = other * libm::sin(f64::from(t) * 1.3);
        let (x, y) = (70.0 + (1.0 - slip) * dx - 0.3 * sway, 50.0 + (1.0 - slip) * dy + sway);
        for (i, count) in frame.iter_mut().enumerate() {
            let (px, py) = ((i % W) as f64 - x, (i / W) as f64 - y);
            let heat = 3_000.0 * libm::exp(-(px * px + py * py) / (2.0 * 3.0 * 3.0));
            *count = libm::round((f64::from(*count) + heat).min(16_382.0)) as u16;
        }
        if t == 0 {
            // The mark with its skirt is less than a twentieth of the frame.
            let mut bins = [0; 1_024];
            let mut levels = Histogram::new(&mut bins, Window::over(4_500, 6_500, 1_024)).unwrap();
            levels.push(&frame, range());
            let at = |thousandths| (levels.quantile_q8(thousandths).unwrap() >> 8) as u16;
            profiles.set_clip(Thresholds::new(at(950), at(50)).unwrap());
        }
        frame.chunks(W).for_each(|row| profiles.push(row).unwrap());
        let part = follower.follow(&mut profiles).unwrap();
        let hot: Vec<Region> = scan_above(&frame, 6_500);
        tracker.follow(&hot, 111 * t, Some(&part)).unwrap();
        judgement = tracker.tracks().next().map(|track| track.slip(&SlipRule::DEFAULT, stepped_aside));
    }
    judgement.unwrap()
}

#[test]
fn marks_stay_and_reflections_slide() {
    let verdict = |slip: f64, sweep, other, aside, seed| {
        let judgement = seen(slip, sweep, other, aside, seed);
        std::println!("slip {slip} over {sweep} px, sway {other}: {judgement:?}");
        (judgement.verdict, judgement.cause)
    };
    for seed in 20..22 {
        assert_eq!(verdict(0.0, 20.0, 0.0, true, seed), (Verdict::Stays, Cause::Measured));
        assert_eq!(verdict(0.5, 20.0, 0.0, true, seed), (Verdict::Slides, Cause::Measured));
        assert_eq!(verdict(1.0, 20.0, 0.0, true, seed), (Verdict::Slides, Cause::Measured));
        // Sliding is seen without knowing how the viewer moved; staying proves nothing then.
        assert_eq!(verdict(0.5, 20.0, 0.0, false, seed).0, Verdict::Slides);
        assert_eq!(verdict(0.0, 20.0, 0.0, false, seed), (Verdict::Undecided, Cause::NoStepAside));
    }
    assert_eq!(verdict(0.0, 0.0, 0.0, true, 20), (Verdict::Undecided, Cause::LittleMotion));
    assert_eq!(verdict(0.5, 5.0, 0.0, true, 20), (Verdict::Undecided, Cause::LittleMotion));
    assert_eq!(verdict(0.22, 20.0, 0.0, true, 20), (Verdict::Undecided, Cause::Unclear));
    assert_eq!(verdict(0.0, 20.0, 6.0, true, 20), (Verdict::Undecided, Cause::OtherMotion));
}

#[test]
fn a_slip_without_enough_sightings_or_in_a_new_epoch_is_undecided() {
    let mut sums = slip::SlipSums::EMPTY;
    let at = |x: i32, epoch: u16| Placement { x, y: 0, uncertainty: 1, epoch };
    assert_eq!(sums.judge(&SlipRule::DEFAULT, true).cause, Cause::FewSightings);
    (0..7).for_each(|t| sums.add((64 * t, 0), &at(64 * t, 1)));
    assert_eq!(sums.judge(&SlipRule::DEFAULT, true).cause, Cause::FewSightings);
    sums.add((448, 0), &at(448, 1));
    let judgement = sums.judge(&SlipRule::DEFAULT, true);
    assert_eq!((judgement.verdict, judgement.slip, judgement.sightings), (Verdict::Stays, 0, 8));
    sums.add((448, 0), &at(0, 2));
    assert_eq!(sums.judge(&SlipRule::DEFAULT, true).sightings, 1);
    // Many sightings make the slip certain, but not what sways across into a mark.
    let mut sums = slip::SlipSums::EMPTY;
    (0..400).for_each(|t| sums.add((2 * t, if t % 2 == 0 { 60 } else { -60 }), &at(2 * t, 1)));
    let judgement = sums.judge(&SlipRule::DEFAULT, true);
    assert!(judgement.uncertainty < 30 && judgement.slip.abs() < 30, "{judgement:?}");
    assert_eq!((judgement.verdict, judgement.cause), (Verdict::Undecided, Cause::OtherMotion));
    // After 4,096 sightings counting begins again.
    (400..4_096).for_each(|t| sums.add((t, 0), &at(t, 1)));
    assert_eq!(sums.judge(&SlipRule::DEFAULT, true).sightings, 4_096);
    sums.add((0, 0), &at(0, 1));
    assert_eq!(sums.judge(&SlipRule::DEFAULT, true).sightings, 1);
    // The largest offsets there are neither overflow nor mislead.
    (0..4_000).for_each(|t| {
        let end = if t % 2 == 0 { i32::MAX } else { i32::MIN };
        sums.add((-end.saturating_add(1), end), &at(end, 2));
    });
    assert_ne!(sums.judge(&SlipRule::DEFAULT, true).verdict, Verdict::Stays);
}

#[test]
fn the_documented_limit_is_real_a_fixed_pattern_of_columns_looks_like_a_scene_at_rest() {
    let scene = Scene::new(4);
    // The scene at a tenth of its contrast, on columns that differ by up to 60 counts.
    let frame = |dx: f64, seed: u32| -> Vec<u16> {
        let frame = scene.frame(dx, 0.0, 0.1, 5_000.0, 2.0, seed);
        frame.iter().enumerate().map(|(i, &count)| count + (60.0 * uniform(99, i % W)) as u16).collect()
    };
    let found = shift_between(&frame(0.0, 1), &frame(6.0, 2)).x;
    std::println!("{found:?} for 96");
    assert!(found.is_ok_and(|axis| axis.sixteenths.abs() <= 4), "{found:?}");
}

#[test]
fn profiles_and_tracks_go_on_from_their_states_and_errors_change_nothing() {
    let scene = Scene::new(6);
    let frames: Vec<_> = (0..4).map(|t| scene.frame(2.0 * f64::from(t), 0.0, 1.0, 5_000.0, 4.0, t as u32)).collect();
    let run = |interrupted: bool| {
        let (mut slots, mut reference) = (vec![ProfileSlot::EMPTY; W + H], vec![0; W + H]);
        let mut tracks = [Track::EMPTY; 8];
        let mut profiles = Profiles::new(&mut slots, &mut reference, settings(Thresholds::NONE)).unwrap();
        let mut tracker = Tracker::new(&mut tracks, TrackSettings::DEFAULT).unwrap();
        let mut follower = PartFollower::NEW;
        let mut log = Vec::new();
        for (t, frame) in frames.iter().enumerate() {
            for row in frame.chunks(W) {
                if interrupted {
                    assert_eq!(profiles.finish(Reference::Adopt), Err(crate::Error::WrongOrder));
                    assert_eq!(profiles.push(&row[1..]), Err(crate::Error::WrongLength));
                    let state = profiles.suspend();
                    profiles = Profiles::resume(&mut slots, &mut reference, state);
                }
                profiles.push(row).unwrap();
            }
            assert_eq!(profiles.push(&frame[..W]), Err(crate::Error::WrongLength), "a row too many");
            let part = follower.follow(&mut profiles).unwrap();
            if interrupted {
                let state = tracker.suspend();
                tracker = Tracker::resume(&mut tracks, state);
            }
            let changes = tracker.follow(&scan_above(frame, 5_250), t as u32, Some(&part)).unwrap();
            let ids: Vec<_> =
                tracker.tracks().map(|track| (track.id(), track.stage(), track.region().copied())).collect();
            log.push((part, changes, ids));
        }
        log
    };
    let log = run(false);
    assert!(log.iter().any(|(.., ids)| !ids.is_empty()));
    assert_eq!(log, run(true));
}
