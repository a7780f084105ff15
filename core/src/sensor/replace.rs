//! Replacing bad pixels, row by row and without delay.
//!
//! *What.* A bad pixel takes a value from the nearest good pixels to the left and right in its row and from the good
//! pixel right above: the median of three, the mean of two, or the one there is. *Why the median.* It is one of the
//! neighbors' counts, exact on a slope along either axis, and a step in the scene stays a step. *Guarantee.* The value
//! lies between the lowest and highest of the neighbors used, so no region or shape owes its peak to a replaced pixel:
//! a good neighbor is at least as extreme. *Honesty.* A saturated neighbor makes the pixel saturated, and one without
//! a neighbor in reach becomes dead: both are left out by everything that follows.
//!
//! Replacement keeps areas and outlines whole. It adds no information: a feature of the width of the gap is not seen.

use super::defects::{Defect, Defects, listed};
use super::range::CountRange;

/// Columns to either side in which a neighbor may lie. A proposal: two, so that a bad pixel in the middle of a gap of
/// more than three columns and rows is not assessable, as the smallest feature that may be measured has three
/// (vehicle notes 1.3).
pub const REACH: u16 = 2;

/// Replaces the listed pixels of row `y` in place, and notes what the defects of the row below need. To be called for
/// every row of a frame in turn; a row that was left out leaves the counts of the frame before.
///
/// Cost: one bisection per row and some 500 instructions per bad pixel, nothing per good one.
pub fn replace_row(defects: &mut Defects, y: u16, range: CountRange, row: &mut [u16]) {
    let (here, below) = defects.rows(y);
    for defect in here.iter() {
        let x = defect.x();
        let right = (1..=REACH).find_map(|step| good(here, range, row, x.checked_add(step)?, y));
        let left = (1..=REACH).find_map(|step| good(here, range, row, x.checked_sub(step)?, y));
        let above = Some(defect.above).filter(|&count| count > range.dead());
        if let Some(count) = row.get_mut(usize::from(x)) {
            *count = estimate([left, right, above], range);
        }
    }
    for defect in below {
        defect.above = good(here, range, row, defect.x(), y).unwrap_or(0);
    }
}

/// Count of the pixel unless it is listed, dead or outside. A saturated pixel is good: it says something.
fn good(here: &[Defect], range: CountRange, row: &[u16], x: u16, y: u16) -> Option<u16> {
    let count = *row.get(usize::from(x))?;
    (count > range.dead() && !listed(here, x, y)).then_some(count)
}

fn estimate(neighbors: [Option<u16>; 3], range: CountRange) -> u16 {
    let readings = neighbors.iter().flatten();
    if let Some(&saturated) = readings.clone().find(|&&count| range.is_saturated(count)) {
        return saturated;
    }
    let (low, high) = (readings.clone().min(), readings.clone().max());
    let (Some(&low), Some(&high)) = (low, high) else { return range.dead() };
    // Two readings are their own ends; of three, the one that is neither end. Sums stay below 2¹⁸.
    let sum: u32 = readings.clone().map(|&count| u32::from(count)).sum();
    let ends = u32::from(low) + u32::from(high);
    match readings.count() {
        3 => (sum - ends) as u16,
        2 => (sum / 2) as u16,
        _ => low,
    }
}

#[cfg(test)]
mod tests {
    use super::super::defects::DefectKind;
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    fn range() -> CountRange {
        CountRange::new(10, 1_000).unwrap()
    }

    fn replaced<const W: usize>(mut frame: Vec<[u16; W]>, bad: &[(u16, u16)]) -> Vec<[u16; W]> {
        let mut slots = [Defect::EMPTY; 64];
        let mut list = Defects::new(&mut slots);
        for &(x, y) in bad {
            list.insert(x, y, DefectKind::Listed).unwrap();
        }
        for (y, row) in frame.iter_mut().enumerate() {
            replace_row(&mut list, y as u16, range(), row);
        }
        frame
    }

    #[test]
    fn a_slope_along_either_axis_is_restored() {
        let across = replaced(Vec::from([[100, 110, 120], [100, 999, 120]]), &[(1, 1)]);
        assert_eq!(across[1], [100, 110, 120]);
        let down = replaced(Vec::from([[100, 100, 100], [110, 11, 110]]), &[(1, 1)]);
        assert_eq!(down[1], [110, 110, 110]);
    }

    #[test]
    fn corners_and_gaps_use_what_is_left() {
        assert_eq!(replaced(Vec::from([[999, 120, 140]]), &[(0, 0)])[0], [120, 120, 140]);
        assert_eq!(replaced(Vec::from([[100, 999, 999, 140]]), &[(1, 0), (2, 0)])[0], [100, 120, 120, 140]);
        assert_eq!(replaced(Vec::from([[100, 200], [0, 0]]), &[(0, 1), (1, 1)])[1], [100, 200]);
    }

    #[test]
    fn what_has_no_good_neighbor_in_reach_is_dead() {
        let five = [(1, 0), (2, 0), (3, 0), (4, 0), (5, 0)];
        assert_eq!(replaced(Vec::from([[100, 7, 7, 7, 7, 7, 100]]), &five)[0], [100, 100, 100, 10, 100, 100, 100]);
        assert_eq!(replaced(Vec::from([[10, 500, 3]]), &[(1, 0)])[0], [10, 10, 3]);
    }

    #[test]
    fn saturation_spreads_instead_of_being_averaged_away() {
        assert_eq!(replaced(Vec::from([[100, 500, 1_000]]), &[(1, 0)])[0], [100, 1_000, 1_000]);
    }

    proptest! {
        #[test]
        fn a_replaced_pixel_is_never_beyond_its_good_neighbors(
            frame in proptest::collection::vec(proptest::array::uniform7(0u16..1_100), 6),
            bad in proptest::collection::btree_set((0u16..7, 0u16..6), 0..20),
        ) {
            let places: Vec<_> = bad.iter().copied().collect();
            let after = replaced(frame.clone(), &places);
            for (y, row) in after.iter().enumerate() {
                for (x, &count) in row.iter().enumerate() {
                    let is_bad = |x: usize, y: usize| bad.contains(&(x as u16, y as u16));
                    if !is_bad(x, y) {
                        prop_assert_eq!(count, frame[y][x]);
                        continue;
                    }
                    // Any good pixel to the left or right in reach, or right above.
                    let near = (x.saturating_sub(2)..=(x + 2).min(6)).map(|nx| (nx, y));
                    let above = y.checked_sub(1).map(|ny| (x, ny));
                    let good: Vec<u16> = near
                        .chain(above)
                        .filter(|&(nx, ny)| !is_bad(nx, ny) && frame[ny][nx] > 10)
                        .map(|(nx, ny)| frame[ny][nx])
                        .collect();
                    match (good.iter().min(), good.iter().max()) {
                        (Some(&low), Some(&high)) => prop_assert!(low <= count && count <= high),
                        _ => prop_assert_eq!(count, 10),
                    }
                }
            }
        }
    }
}
