//! The local level: exact medians, interpolation, and what it does to a frame.

use super::*;

proptest! {
    #[test]
    fn blocks_settle_on_their_exact_medians(
        seed in any::<u32>(),
        width in 4u16..70,
        height in 4u16..50,
        side in 4u16..20,
    ) {
        let settings = GridSettings { width, height, side, finest: 0 };
        let frame: Vec<u16> = (0..usize::from(width) * usize::from(height))
            .map(|i| 1 + (uniform(seed, i) * 16_382.0) as u16)
            .collect();
        let (mut blocks, mut bands) = (vec![LevelBlock::EMPTY; settings.blocks()], vec![BandBins::EMPTY; settings.bands()]);
        let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
        for pass in 0..5 {
            prop_assert!(!local.is_settled(), "pass {}", pass);
            frame.chunks(usize::from(width)).for_each(|row| local.push(row).unwrap());
        }
        prop_assert!(local.is_settled());
        let (columns, w) = (settings.bands(), usize::from(width));
        let rows = settings.blocks() / columns;
        for (i, block) in local.blocks().iter().enumerate() {
            let (bx, by) = (i % columns, i / columns);
            let mut of = Vec::new();
            for y in (by * usize::from(height)).div_ceil(rows)..((by + 1) * usize::from(height)).div_ceil(rows) {
                let x0 = bx * w / columns;
                of.extend_from_slice(&frame[y * w + x0..y * w + (bx + 1) * w / columns]);
            }
            of.sort_unstable();
            prop_assert_eq!(block.median(), of[(of.len() - 1) / 2], "block {} of {} x {}", i, columns, rows);
        }
    }

    /// The corrected row against bilinear interpolation between the blocks' centers in f64.
    #[test]
    fn the_local_level_is_interpolated_between_centers(
        seed in any::<u32>(), width in 8u16..90, height in 8u16..60, side in 4u16..16,
    ) {
        let settings = GridSettings { width, height, side, finest: 0 };
        // Every block of one count, so that medians are known; blocks differ by thousands.
        let (columns, rows) = (settings.bands(), settings.blocks() / settings.bands());
        let value = |bx: usize, by: usize| 2_000 + (uniform(seed, by * columns + bx) * 8_000.0) as u16;
        let (w, h) = (usize::from(width), usize::from(height));
        let block_of = |y: usize| (0..rows).rev().find(|by| (by * h).div_ceil(rows) <= y).unwrap();
        let column_of = |x: usize| (0..columns).rev().find(|bx| bx * w / columns <= x).unwrap();
        let (mut blocks, mut bands) = (vec![LevelBlock::EMPTY; settings.blocks()], vec![BandBins::EMPTY; columns]);
        let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
        for _ in 0..5 {
            for y in 0..h {
                let row: Vec<u16> = (0..w).map(|x| value(column_of(x), block_of(y))).collect();
                local.push(&row).unwrap();
            }
        }
        let node = |i: f64, j: f64| f64::from(value(i as usize, j as usize));
        for y in 0..h {
            let mut row = vec![12_000; w];
            local.correct_row(y as u16, 2_000, &mut row).unwrap();
            for (x, &got) in row.iter().enumerate() {
                let at = |p: usize, n: usize, size: usize| {
                    ((p as f64 + 0.5) * n as f64 / size as f64 - 0.5).clamp(0.0, (n - 1) as f64)
                };
                let (gx, gy) = (at(x, columns, w), at(y, rows, h));
                let (i, j) = (libm::floor(gx), libm::floor(gy));
                let (i1, j1) = ((i + 1.0).min((columns - 1) as f64), (j + 1.0).min((rows - 1) as f64));
                let (fx, fy) = (gx - i, gy - j);
                let top = node(i, j) * (1.0 - fx) + node(i1, j) * fx;
                let bottom = node(i, j1) * (1.0 - fx) + node(i1, j1) * fx;
                let exact = 14_000.0 - (top * (1.0 - fy) + bottom * fy);
                // A row's position is cut to 1/256 of a block, of up to 8,000 counts: 31.
                prop_assert!((f64::from(got) - exact).abs() <= 33.0, "({x}, {y}): {got} for {exact}");
            }
        }
    }
}

#[test]
fn a_hot_part_on_uneven_ground_is_found_after_correction() {
    const W: usize = 160;
    const H: usize = 120;
    let settings = GridSettings { width: W as u16, height: H as u16, side: 16, finest: 0 };
    let spot = |x: usize, y: usize| if (70..75).contains(&x) && (50..55).contains(&y) { 40.0 } else { 0.0 };
    // A slope of 600 counts and a bowl of 200: far more than the spot's 40.
    let pixel = |x: usize, y: usize| {
        let (dx, dy) = (x as f64 - 80.0, y as f64 - 60.0);
        let ground = 5_000.0 + 600.0 * x as f64 / W as f64 + 200.0 * (dx * dx + dy * dy) / 10_000.0;
        libm::round(ground + spot(x, y) + 3.0 * normal(3, y * W + x)) as u16
    };
    let (mut blocks, mut bands) = ([LevelBlock::EMPTY; 70], [BandBins::EMPTY; 10]);
    assert_eq!((settings.blocks(), settings.bands()), (70, 10));
    let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
    let frame: Vec<Vec<u16>> = (0..H).map(|y| (0..W).map(|x| pixel(x, y)).collect()).collect();
    assert_eq!(local.correct_row(0, 5_000, &mut frame[0].clone()), Err(crate::Error::WrongOrder));
    for _ in 0..5 {
        frame.iter().for_each(|row| local.push(row).unwrap());
    }
    let (mut found, mut worst) = (Vec::new(), 0.0f64);
    for (y, row) in frame.iter().enumerate() {
        let mut row = row.clone();
        row[3] = 16_383;
        local.correct_row(y as u16, 5_000, &mut row).unwrap();
        assert_eq!(row[3], 16_383, "what is no reading stays");
        for (x, &count) in row.iter().enumerate().filter(|&(x, _)| x != 3) {
            if count > 5_020 {
                found.push((x, y));
            } else if (8..W - 8).contains(&x) && (8..H - 8).contains(&y) && spot(x, y) == 0.0 {
                worst = worst.max((f64::from(count) - 5_000.0).abs());
            }
        }
    }
    std::println!("{} pixels above, ground within {worst}", found.len());
    let inside = found.iter().filter(|&&(x, y)| spot(x, y) > 0.0).count();
    // Edges keep the slope over half a block, 30 counts, for lack of a block beyond them.
    let stray = found.iter().filter(|&&(x, y)| (8..W - 8).contains(&x) && (8..H - 8).contains(&y)).count() - inside;
    assert!(inside == 25 && stray == 0 && worst < 18.0, "{inside} {stray} {worst}");
}

#[test]
fn a_part_up_to_nearly_half_a_block_does_not_move_the_level() {
    let settings = GridSettings { width: 32, height: 32, side: 16, finest: 0 };
    let (mut blocks, mut bands) = ([LevelBlock::EMPTY; 4], [BandBins::EMPTY; 2]);
    let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
    for _ in 0..5 {
        for y in 0..32 {
            // 11 of 16 in both directions: 47 % of the block.
            let row: Vec<u16> = (0..32).map(|x| if x < 11 && y < 11 { 9_000 } else { 5_000 }).collect();
            local.push(&row).unwrap();
        }
    }
    assert!(local.blocks().iter().all(|block| block.median() == 5_000));
}

#[test]
fn a_change_of_level_is_followed_and_blank_blocks_borrow() {
    let settings = GridSettings { width: 24, height: 8, side: 8, finest: 0 };
    let (mut blocks, mut bands) = ([LevelBlock::EMPTY; 3], [BandBins::EMPTY; 3]);
    let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
    let mut frames = |level: u16, count: usize| -> Vec<u16> {
        for _ in 0..count * 8 {
            let row: Vec<u16> = (0..24).map(|x| if x < 8 { 0 } else { level + x / 8 }).collect();
            local.push(&row).unwrap();
        }
        assert!(local.is_settled());
        local.blocks().iter().map(LevelBlock::median).collect()
    };
    assert_eq!(frames(5_000, 5), [5_001, 5_001, 5_002]);
    assert_eq!(frames(5_005, 1), [5_006, 5_006, 5_007]);
    // 500 counts away: three frames to widen, two to narrow again.
    assert_eq!(frames(5_505, 6), [5_506, 5_506, 5_507]);
}

/// Positions of rows are products of the height and the rows of blocks; a higher frame than this overflowed them.
#[test]
fn the_highest_frame_is_corrected_and_a_higher_one_refused() {
    let settings = GridSettings { width: 4, height: 4_096, side: 4, finest: 0 };
    let (mut blocks, mut bands) = (vec![LevelBlock::EMPTY; 4_097], vec![BandBins::EMPTY; 1]);
    for height in [4_097, 16_384, u16::MAX] {
        let high = LocalLevel::new(&mut blocks, &mut bands, range(), GridSettings { height, side: 128, ..settings });
        assert!(matches!(high, Err(crate::sensor::SetupError::Setting)), "{height}");
    }
    let mut local = LocalLevel::new(&mut blocks, &mut bands, range(), settings).unwrap();
    for y in (0..5).flat_map(|_| 0..4_096u16) {
        local.push(&[1_000 + y; 4]).unwrap();
    }
    for y in [2, 2_048, 4_093] {
        let mut row = [1_000 + y; 4];
        local.correct_row(y, 5_000, &mut row).unwrap();
        assert!(row.iter().all(|count| count.abs_diff(5_000) <= 1), "{y}: {row:?}");
    }
}
