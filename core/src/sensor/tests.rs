//! Two-point correction and shutter update: properties over the whole range of counts.

use super::*;
use crate::error::Error;
use proptest::prelude::*;
use std::vec;
use std::vec::Vec;

fn range() -> CountRange {
    CountRange::new(0, 16_383).unwrap()
}

fn full() -> CountRange {
    CountRange::new(0, u16::MAX).unwrap()
}

struct Exact(Vec<u16>);

impl PixelMeans for Exact {
    fn pixels(&self) -> usize {
        self.0.len()
    }
    fn mean_q8(&self, index: usize) -> Option<u32> {
        self.0.get(index).filter(|&&count| count > 0).map(|&count| u32::from(count) << 8)
    }
}

fn calibrated(cold: &[u16], hot: &[u16], range: CountRange) -> (TwoPoint, Vec<Coefficient>, Vec<Defect>) {
    let mut slots = vec![Defect::EMPTY; cold.len()];
    let mut defects = Defects::new(&mut slots);
    let mut coefficients = vec![Coefficient::NEUTRAL; cold.len()];
    let (cold, hot) = (Exact(cold.to_vec()), Exact(hot.to_vec()));
    let two_point = TwoPoint::calibrate(&cold, &hot, range, 1, &mut defects, &mut coefficients).unwrap();
    let found = defects.as_slice().to_vec();
    (two_point, coefficients, found)
}

#[test]
fn saturated_stays_saturated_and_dead_stays_dead() {
    let (two_point, coefficients, _) = calibrated(&[1_000; 6], &[3_000, 3_200, 2_900, 3_000, 3_000, 3_000], range());
    let mut row = [16_383, 16_383, 0, 0, 20_000, 5_000];
    let unread = two_point.correct_row(&coefficients, -3_200, &mut row).unwrap();
    assert_eq!(row[..5], [16_383, 16_383, 0, 0, 20_000]);
    assert_eq!((unread, row[5] != 5_000), (Unread { dead: 2, saturated: 3 }, true));
    // Lifted beyond full scale by its gain: no reading either, and not one count below.
    let (two_point, coefficients, _) = calibrated(&[1_000, 1_000, 1_000], &[3_000, 3_000, 2_500], range());
    let mut row = [2_000, 2_000, 16_000];
    two_point.correct_row(&coefficients, 0, &mut row).unwrap();
    assert!(row[2] > 16_383, "{row:?}");
    let mut row = [100, 60_000, 16_000];
    assert_eq!(two_point.correct_row(&coefficients[..2], 0, &mut row), Err(Error::WrongLength));
    assert_eq!(row, [100, 60_000, 16_000]);
}

#[test]
fn what_cannot_be_corrected_becomes_a_defect() {
    // Half the response; none; backward; an offset beyond 2,048 counts; never a reading.
    let cold = [1_000, 1_000, 1_000, 1_000, 9_000, 0, 1_000, 1_000, 1_000];
    let hot = [3_000, 1_400, 1_000, 900, 11_000, 0, 3_000, 3_000, 3_000];
    let (_, coefficients, found) = calibrated(&cold, &hot, range());
    let kinds: Vec<_> = found.iter().map(|d| (d.y(), d.kind())).collect();
    use DefectKind::{Dead, Uncorrectable};
    assert_eq!(kinds, [(1, Dead), (2, Dead), (3, Dead), (4, Uncorrectable), (5, Dead)]);
    assert!(found.iter().all(|d| coefficients[usize::from(d.y())] == Coefficient::NEUTRAL));
}

#[test]
fn refuses_without_touching_anything() {
    let mut slots = [Defect::EMPTY; 1];
    let mut defects = Defects::new(&mut slots);
    let mut coefficients = [Coefficient::new(1, 1).unwrap(); 4];
    let (cold, flat, bad) = (vec![1_000; 4], vec![1_000; 4], vec![3_000, 3_000, 1_000, 1_000]);
    let (cold, flat, bad) = (Exact(cold), Exact(flat), Exact(bad));
    let mut run = |hot: &Exact, width| {
        TwoPoint::calibrate(&cold, hot, range(), width, &mut defects, &mut coefficients).unwrap_err()
    };
    assert_eq!(run(&flat, 2), SetupError::NoSignal);
    assert_eq!(run(&bad, 2), SetupError::ListFull);
    assert_eq!(run(&bad, 3), SetupError::Memory);
    assert_eq!(run(&bad, 0), SetupError::Memory);
    assert!(defects.is_empty());
    assert_eq!(coefficients, [Coefficient::new(1, 1).unwrap(); 4]);
}

#[test]
fn shutter_update_makes_the_shutter_uniform_and_keeps_the_gain() {
    let (two_point, mut coefficients, _) =
        calibrated(&[1_000, 1_040, 980, 1_010], &[3_000, 3_200, 2_880, 3_050], range());
    // The pattern has drifted by these counts since.
    let drifted = |counts: [u16; 4]| [counts[0] + 7, counts[1] - 9, counts[2] + 30, counts[3]];
    let mut sums = [0; 4];
    let mut average = Average::new(&mut sums, 4, 1, range()).unwrap();
    let shutter = drifted([2_000, 2_100, 1_930, 2_020]);
    let mut row = shutter;
    two_point.correct_row(&coefficients, 0, &mut row).unwrap();
    average.push(&row).unwrap();
    let before = coefficients.clone();
    let means = average.means().unwrap();
    assert_eq!(two_point.update_offsets(&means, ShutterTarget::Counts(2_010), &mut coefficients), Ok(0));
    let mut row = shutter;
    two_point.correct_row(&coefficients, 0, &mut row).unwrap();
    assert_eq!(row, [2_010; 4]);
    assert!(before.iter().zip(&coefficients).all(|(a, b)| a.gain_q14() == b.gain_q14()));
    // An offset cannot pass its limit.
    assert_eq!(two_point.update_offsets(&means, ShutterTarget::Counts(9_000), &mut coefficients), Ok(4));
    assert!(coefficients.iter().all(|c| c.offset_q4() == i16::MAX));
}

proptest! {
    #[test]
    fn both_runs_come_out_at_their_means(
        pixels in proptest::collection::vec((100u16..20_000, 8_000u16..30_000), 1..40),
    ) {
        let cold: Vec<_> = pixels.iter().map(|p| p.0).collect();
        let hot: Vec<_> = pixels.iter().map(|p| p.0 + p.1).collect();
        let (two_point, coefficients, found) = calibrated(&cold, &hot, full());
        for run in [&cold, &hot] {
            // The means in halves: the nearest counts to a mean between two counts are both right.
            let sum: u64 = run.iter().map(|&c| u64::from(c)).sum();
            let n = run.len() as u64;
            let mut row = run.clone();
            two_point.correct_row(&coefficients, 0, &mut row).unwrap();
            for (y, &count) in row.iter().enumerate() {
                if found.iter().any(|d| usize::from(d.y()) == y) { continue; }
                let off = (u64::from(count) * n).abs_diff(sum) as f64 / n as f64;
                // Half a count of rounding, and what the module states for gain, offset and the means' 1/256.
                let span = f64::from(hot[y] - cold[y]);
                prop_assert!(off <= 0.5 + span / 65_536.0 + 1.0 / 32.0 + 1.0 / 256.0, "{off} at {span}");
            }
        }
    }

    #[test]
    fn every_pixel_of_a_long_row_is_handled_alone(
        row in proptest::collection::vec(prop_oneof![1u16..16_383, Just(0), Just(16_383), Just(60_000)], 0..80),
    ) {
        let two_point = TwoPoint::with_pivot(4_000, range());
        let coefficients: Vec<_> =
            (0..row.len()).map(|x| Coefficient::new(16_000 + 20 * x as u16, 100 - x as i16).unwrap()).collect();
        let mut whole = row.clone();
        let unread = two_point.correct_row(&coefficients, 37, &mut whole).unwrap();
        let mut wanted = Unread::default();
        for (x, &raw) in row.iter().enumerate() {
            let q14 = two_point.corrected_q14(coefficients[x], 37, raw);
            let corrected = ((q14 + 8_192) >> 14).clamp(0, 65_535) as u16;
            wanted.dead += u32::from(raw == 0);
            wanted.saturated += u32::from(raw >= 16_383);
            prop_assert_eq!(whole[x], if range().holds(raw) { corrected } else { raw });
        }
        prop_assert_eq!(unread, wanted);
    }

    #[test]
    fn words_and_single_pixels_agree(
        (dead, full) in (0u16..300, prop_oneof![Just(16_383u16), Just(0x7FFF), Just(0x8000), Just(0x8001), 400u16..]),
        pivot in any::<u16>(), common in -20_000i32..20_000, start in 0usize..2,
        row in proptest::collection::vec((any::<u16>(), 0u8..40), 1..120),
    ) {
        let range = CountRange::new(dead, full).unwrap();
        let two_point = TwoPoint::with_pivot(pivot % full, range);
        // One in forty is any count at all, the others are readings.
        let raw: Vec<u16> = row
            .iter()
            .map(|&(count, kind)| if kind == 0 { count } else { dead + 1 + count % (full - dead - 1) })
            .collect();
        let coefficients: Vec<_> =
            raw.iter().map(|&count| Coefficient::new(count % 31_745, count.rotate_left(5) as i16).unwrap()).collect();
        let mut memory = vec![0; raw.len() + 1];
        let corrected = &mut memory[start..start + raw.len()];
        corrected.copy_from_slice(&raw);
        two_point.correct_row(&coefficients, common, corrected).unwrap();
        for ((&raw, &coefficient), &out) in raw.iter().zip(&coefficients).zip(corrected.iter()) {
            let alone = ((two_point.corrected_q14(coefficient, common, raw) + 8_192) >> 14).clamp(0, 65_535) as u16;
            prop_assert_eq!(out, if range.holds(raw) { alone } else { raw });
        }
    }

    #[test]
    fn the_sum_never_wraps(
        pivot in any::<u16>(), full in 2u16.., raw in any::<u16>(), gain in 0u16..=31_744, offset in any::<i16>(),
        common in any::<i32>(),
    ) {
        let range = CountRange::new(0, full).unwrap();
        let two_point = TwoPoint::with_pivot(pivot.min(full), range);
        let raw = raw.min(full);
        let coefficient = Coefficient::new(gain, offset).unwrap();
        let room = (131_071 - 2_048 - i64::from(full) * 31 / 16) * 16;
        let wide = (i64::from(raw) - i64::from(two_point.pivot())) * i64::from(gain)
            + (i64::from(two_point.pivot()) << 14)
            + (i64::from(common).clamp(-room, room) << 10)
            + (i64::from(offset) << 10)
            + i64::from(gain >> 6);
        prop_assert_eq!(i64::from(two_point.corrected_q14(coefficient, common, raw)), wide);
        prop_assert!(wide + 8_192 <= i64::from(i32::MAX));
        let mut row = [raw; 39];
        two_point.correct_row(&[coefficient; 39], common, &mut row).unwrap();
        let wanted = if range.holds(raw) { ((wide + 8_192) >> 14).clamp(0, 65_535) as u16 } else { raw };
        prop_assert_eq!(row, [wanted; 39]);
    }
}
