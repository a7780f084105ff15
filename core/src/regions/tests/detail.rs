//! Details, filters and early delivery, against what is worked out from the pixels by hand.

use super::*;

/// Details of a region from its pixels, in floating point and by counting.
struct Expected {
    deviation: f64,
    weighted: (f64, f64),
    moments: [f64; 3],
    perimeter: u32,
    holes: u32,
    flank: Option<f64>,
}

fn detail_by_hand(
    frame: &[u16],
    width: usize,
    region: &[(i64, i64)],
    hot: bool,
    connectivity: Connectivity,
) -> Expected {
    let height = (frame.len() / width) as i64;
    let at = |(x, y): (i64, i64)| {
        ((0..width as i64).contains(&x) && (0..height).contains(&y)).then(|| frame[y as usize * width + x as usize])
    };
    let threshold = f64::from(if hot { THRESHOLDS.0 } else { THRESHOLDS.1 });
    let n = region.len() as f64;
    let values: Vec<f64> = region.iter().map(|&p| f64::from(at(p).unwrap())).collect();
    let mean = values.iter().sum::<f64>() / n;
    let beyond: Vec<f64> = values.iter().map(|v| (v - threshold).abs()).collect();
    let total: f64 = beyond.iter().sum();
    let (mx, my) =
        (region.iter().map(|p| p.0 as f64).sum::<f64>() / n, region.iter().map(|p| p.1 as f64).sum::<f64>() / n);
    let moment =
        |f: &dyn Fn(f64, f64) -> f64| region.iter().map(|p| f(p.0 as f64 - mx, p.1 as f64 - my)).sum::<f64>() / n;
    let inside = |p: (i64, i64)| region.contains(&p);
    let four = [(1, 0), (-1, 0), (0, 1), (0, -1)];
    let perimeter =
        region.iter().flat_map(|p| four.map(|d| !inside((p.0 + d.0, p.1 + d.1)))).filter(|&out| out).count();
    // Holes: components of the rest of a framed image, in the other connectivity, less the outside.
    let (w, h) = (width as i64 + 2, height + 2);
    let mut seen: Vec<bool> = (0..w * h).map(|i| inside((i % w - 1, i / w - 1))).collect();
    let mut components = 0;
    for start in 0..w * h {
        if seen[start as usize] {
            continue;
        }
        components += 1;
        let mut stack = vec![(start % w, start / w)];
        seen[start as usize] = true;
        while let Some((x, y)) = stack.pop() {
            for (dx, dy) in [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)] {
                let corner = dx != 0 && dy != 0;
                let (nx, ny) = (x + dx, y + dy);
                if corner && connectivity == Connectivity::Eight || nx < 0 || ny < 0 || nx >= w || ny >= h {
                    continue;
                }
                if !seen[(ny * w + nx) as usize] {
                    seen[(ny * w + nx) as usize] = true;
                    stack.push((nx, ny));
                }
            }
        }
    }
    let same_sign = |p| at(p).is_some_and(|v| if hot { v > THRESHOLDS.0 } else { v < THRESHOLDS.1 });
    let ordinary = |p| at(p).filter(|v| (THRESHOLDS.1..=THRESHOLDS.0).contains(v)).map(f64::from);
    let flanks: Vec<f64> = region
        .iter()
        .flat_map(|&(x, y)| {
            let left = (!same_sign((x - 1, y))).then(|| ordinary((x - 2, y))).flatten();
            let right = (!same_sign((x + 1, y))).then(|| ordinary((x + 2, y))).flatten();
            [left, right]
        })
        .flatten()
        .collect();
    Expected {
        deviation: (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt(),
        weighted: (
            region.iter().zip(&beyond).map(|(p, b)| p.0 as f64 * b).sum::<f64>() / total,
            region.iter().zip(&beyond).map(|(p, b)| p.1 as f64 * b).sum::<f64>() / total,
        ),
        moments: [moment(&|x, _| x * x), moment(&|_, y| y * y), moment(&|x, y| x * y)],
        perimeter: perimeter as u32,
        holes: components - 1,
        flank: (!flanks.is_empty()).then(|| flanks.iter().sum::<f64>() / flanks.len() as f64),
    }
}

proptest! {
    #[test]
    fn details_equal_those_by_hand((frame, width) in frames(), eight in any::<bool>()) {
        let connectivity = if eight { Connectivity::Eight } else { Connectivity::Four };
        let mut runs = vec![Run::EMPTY; Scanner::runs(width as u16)];
        let mut slots = vec![SlotOf::<Shape>::EMPTY; 900];
        let mut scanner = ScannerOf::new(&mut runs, &mut slots, settings(width, connectivity)).unwrap();
        frame.chunks(width).for_each(|row| scanner.push(row).unwrap());
        let sign = |i: usize| (frame[i] > THRESHOLDS.0 || frame[i] < THRESHOLDS.1).then(|| frame[i] > THRESHOLDS.0);
        for (region, shape) in scanner.finish().detailed() {
            // The pixels of the region, from its peak.
            let first = usize::from(region.peak_y) * width + usize::from(region.peak_x);
            let (mut pixels, mut stack) = (vec![first], vec![first]);
            while let Some(i) = stack.pop() {
                let (x, y) = ((i % width) as i64, (i / width) as i64);
                for (dx, dy) in [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)] {
                    let (nx, ny) = (x + dx, y + dy);
                    let inside = (0..width as i64).contains(&nx) && (0..(frame.len() / width) as i64).contains(&ny);
                    if !inside || (!eight && dx != 0 && dy != 0) { continue; }
                    let n = ny as usize * width + nx as usize;
                    if sign(n) == sign(first) && !pixels.contains(&n) {
                        pixels.push(n);
                        stack.push(n);
                    }
                }
            }
            prop_assert_eq!(pixels.len() as u32, region.area);
            let places: Vec<_> = pixels.iter().map(|i| ((i % width) as i64, (i / width) as i64)).collect();
            let expected = detail_by_hand(&frame, width, &places, region.sign == Sign::Hot, connectivity);
            prop_assert_eq!((shape.perimeter, shape.holes), (expected.perimeter, expected.holes));
            let near = |a: f64, b: f64, within: f64| (a - b).abs() <= within;
            let deviation = shape.standard_deviation.to_num::<f64>();
            prop_assert!(near(deviation, expected.deviation, 1.0 / 256.0), "{deviation} {}", expected.deviation);
            let pixel = 1.0 / 65_536.0 + 1e-9;
            prop_assert!(near(shape.weighted_x.to_num(), expected.weighted.0, pixel));
            prop_assert!(near(shape.weighted_y.to_num(), expected.weighted.1, pixel));
            for (got, wanted) in [shape.moment_xx, shape.moment_yy, shape.moment_xy].into_iter().zip(expected.moments) {
                prop_assert!(near(got as f64 / 65_536.0, wanted, pixel), "{got} {wanted}");
            }
            prop_assert_eq!(shape.flank_mean.is_some(), expected.flank.is_some());
            if let (Some(got), Some(wanted)) = (shape.flank_mean, expected.flank) {
                prop_assert!(near(got.to_num(), wanted, 1.0 / 256.0));
            }
        }
    }

    /// What is taken while rows go by, and the rest at the end, are the regions of the frame; and few slots serve.
    #[test]
    fn final_regions_can_be_taken_early((frame, width) in frames(), eight in any::<bool>(), min_area in 0u32..4) {
        let connectivity = if eight { Connectivity::Eight } else { Connectivity::Four };
        let mut all = scan(&frame, width, connectivity, 900).0;
        all.retain(|region| region.area >= min_area);
        let filter = Filter::min_area(min_area);
        let mut runs = vec![Run::EMPTY; Scanner::runs(width as u16)];
        // As many as can grow at a time: a row of alternating signs in this row and the one above.
        let mut slots = vec![Slot::EMPTY; 2 * width];
        let mut scanner = Scanner::new(&mut runs, &mut slots, settings(width, connectivity)).unwrap();
        let mut taken = Vec::new();
        for row in frame.chunks(width) {
            scanner.push(row).unwrap();
            scanner.take_final(&filter, |region, ()| taken.push(region));
        }
        let found = scanner.finish_with(&filter);
        prop_assert_eq!(found.dropped(), 0);
        taken.extend(found.regions());
        // A region taken early has not seen the last row, which it does not touch; the key is the flood fill's.
        taken.sort_by_key(|r| (core::cmp::Reverse(r.strength), r.peak_y, r.peak_x, r.sign));
        prop_assert_eq!(taken, all);
    }

    #[test]
    fn filters_keep_what_they_say(
        (frame, width) in frames(),
        (low, high) in (1u32..6, 1u32..40),
        (strong_hot, strong_cold) in (1_000u16..1_030, 488u16..=500),
        (fill, aspect, whole_only) in (0u16..256, 1u16..9, any::<bool>()),
    ) {
        let all = scan(&frame, width, Connectivity::Eight, 900).0;
        let strong = Some(Thresholds::new(strong_hot, strong_cold).unwrap());
        let filter = Filter { min_area: low, max_area: low + high, strong, min_fill_q8: fill, max_aspect: aspect, whole_only };
        let mut runs = vec![Run::EMPTY; Scanner::runs(width as u16)];
        let mut slots = vec![Slot::EMPTY; 900];
        let mut scanner = Scanner::new(&mut runs, &mut slots, settings(width, Connectivity::Eight)).unwrap();
        frame.chunks(width).for_each(|row| scanner.push(row).unwrap());
        let kept: Vec<_> = scanner.finish_with(&filter).regions().collect();
        let expected: Vec<_> = all
            .into_iter()
            .filter(|r| {
                let (w, h) = (f64::from(r.x1 - r.x0 + 1), f64::from(r.y1 - r.y0 + 1));
                let holds_strong = if r.sign == Sign::Hot { r.peak > strong_hot } else { r.peak < strong_cold };
                holds_strong
                    && (low..=low + high).contains(&r.area)
                    && f64::from(r.area) / (w * h) >= f64::from(fill) / 256.0
                    && w.max(h) / w.min(h) <= f64::from(aspect)
                    && !(whole_only && r.touches_edge)
            })
            .collect();
        prop_assert_eq!(kept, expected);
    }
}

/// Round, long and slanted regions: what elongation and direction say.
#[test]
fn elongation_and_direction() {
    let report = |text: &str| {
        let (frame, width) = picture(text);
        let mut runs = vec![Run::EMPTY; Scanner::runs(width as u16)];
        let mut slots = [SlotOf::<Shape>::EMPTY; 2];
        let mut scanner = ScannerOf::new(&mut runs, &mut slots, settings(width, Connectivity::Eight)).unwrap();
        frame.chunks(width).for_each(|row| scanner.push(row).unwrap());
        scanner.finish().detailed().next().unwrap().1
    };
    let square = report("#### #### #### ####");
    assert!(square.elongation_q8().abs_diff(256) <= 1);
    // 8 × 1 pixels: moments 63/12 and 0, with the pixels' own extent 64/12 and 1/12, so the axes are as 8 to 1.
    let line = report("########");
    assert!(line.elongation_q8().abs_diff(8 * 256) <= 8, "{}", line.elongation_q8());
    assert!(line.orientation_degrees().abs() < 0.5);
    assert!((report("# # # #").orientation_degrees().abs() - 90.0).abs() < 0.5);
    assert!((report("#... .#.. ..#. ...#").orientation_degrees() - 45.0).abs() < 0.5);
    assert!((report("...# ..#. .#.. #...").orientation_degrees() + 45.0).abs() < 0.5);
    assert_eq!((report("### #.# ###").holes, report("### #.# ###").perimeter), (1, 16));
}

/// The shape of an incomplete region is that of what was kept: a bar below one that was dropped has no hole.
#[test]
fn a_dropped_run_is_no_part_of_a_shape() {
    let (hot, warm) = (1_020, 1_005);
    let rows = [[warm, warm, warm, 700, 1_010], [hot, hot, hot, 700, 700]];
    let mut runs = vec![Run::EMPTY; Scanner::runs(5)];
    let mut slots = [SlotOf::<Shape>::EMPTY; 1];
    let mut scanner = ScannerOf::new(&mut runs, &mut slots, settings(5, Connectivity::Eight)).unwrap();
    rows.iter().for_each(|row| scanner.push(row).unwrap());
    let (region, shape) = scanner.finish().detailed().next().unwrap();
    assert!(region.incomplete && region.area == 3);
    assert_eq!((shape.holes, shape.perimeter), (0, 8));
}
