//! Rows of like items and bands: equal boxes along a line, and each item against the others.
//!
//! *What.* Fuses, relays, cells, ports, thirds of a tread. An item is compared with the median of the **others**, and
//! the scatter is their median absolute deviation: one faulty item among healthy ones shifts neither. Fewer than eight
//! others
//! have no such deviation worth the name; there a faulty one among them hides what is less faulty than it. *Cost.* n² steps
//! for a median, without memory; n is at most 64.

use super::normal_scatter::{DEVIATION_PER_MAD, MEDIAN_SCATTER};
use super::reading::{InputUncertainty, Reading};
use super::shape::Shape;
use crate::units::root_sum_square;

/// Most items in a row.
pub const MAX_ITEMS: usize = 64;
/// Fewest others from which a median and a scatter are taken; a proposal.
const LEAST_OTHERS: usize = 3;
/// Others from which a median absolute deviation says enough. Of three it is the lesser of two gaps, near zero by chance:
/// a healthy item would have to be allowed 200 of them (computed by draws); fewer than this, the root mean square about
/// their median is taken.
const ROBUST_OTHERS: usize = 8;
/// For so many others or more, how many of their scatters a healthy item may be called one of, so that one normal item in
/// 370 has a score beyond 3 either way, as a normal value has (computed by 500,000 draws and more).
const ALLOWED: [(usize, f64); 11] = [
    (3, 6.88),
    (4, 3.33),
    (5, 2.33),
    (6, 1.94),
    (7, 1.71),
    // From here on in standard deviations by the median absolute deviation.
    (8, 2.93),
    (10, 2.32),
    (12, 2.00),
    (16, 1.66),
    (24, 1.41),
    (32, 1.28),
];

/// Which way a box is cut or a row runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Lengthwise {
    /// Side by side: bands are next to each other in x.
    Columns,
    /// One above the other.
    Rows,
}

/// Value of an item and the standard uncertainty that it does not share with the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Item {
    /// Value, in any unit.
    pub value: f64,
    /// Standard uncertainty of its own (noise and what differs from place to place), same unit.
    pub noise: f64,
}

/// An item against the others of its row.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Likeness {
    /// Value less the median of the others.
    pub difference: f64,
    /// Standard uncertainty of that difference, from noise and from the scatter of the others.
    pub uncertainty: f64,
    /// Scatter of the others: standard deviation as by their median absolute deviation; of fewer than eight, their root
    /// mean
    /// square about the median, so that one faulty item among them makes it larger.
    pub scatter: f64,
    /// Difference in units of what a healthy item would differ, by its noise or by the scatter of the others, whichever is
    /// more. The fewer others, the more their scatter may be too small by chance: it is taken larger, so that 0.3 % of
    /// healthy normal items have a score beyond 3 either way, as for a normal value.
    pub score: f64,
    /// How many others there were.
    pub others: u8,
}

impl Item {
    /// Of a reading in kelvin, taken in one frame with the others and near them: a third of the non-uniformity counts,
    /// as in [`super::Relation::adjacent`].
    #[must_use]
    pub fn of(reading: &Reading, inputs: &InputUncertainty) -> Self {
        let place = reading.sensitivities.apparent * inputs.uniformity_k / 3.0;
        Self { value: reading.kelvin, noise: root_sum_square(reading.noise_k, place) }
    }
}

/// Median, the mean of the two middle values for an even number; `None` if empty. NaN counts as equal to nothing and
/// may give `None`.
pub fn median(values: impl Iterator<Item = f64> + Clone) -> Option<f64> {
    let count = values.clone().count();
    let ranked = |rank: usize| {
        values.clone().find(|&value| {
            let less = values.clone().filter(|&other| other < value).count();
            let equal = values.clone().filter(|&other| other <= value).count();
            (less..equal).contains(&rank)
        })
    };
    let upper = ranked(count / 2)?;
    if count % 2 == 1 { Some(upper) } else { Some((ranked(count / 2 - 1)? + upper) / 2.0) }
}

/// The item at `index` against the others; an item that could not be measured is `None`. No result if the item itself
/// could not be measured, for fewer than three others, or if neither a noise nor a scatter says what is much.
///
/// *Limit.* Of four in two pairs each lies away from the others' median; look at all before one is called odd.
#[must_use]
pub fn against_others(items: &[Option<Item>], index: usize) -> Option<Likeness> {
    let items = items.get(..items.len().min(MAX_ITEMS))?;
    let own = (*items.get(index)?)?;
    let others = items.iter().enumerate().filter(|&(i, _)| i != index).filter_map(|(_, item)| *item);
    let count = others.clone().count();
    if count < LEAST_OTHERS {
        return None;
    }
    let center = median(others.clone().map(|item| item.value))?;
    let deviations = others.clone().map(|item| libm::fabs(item.value - center));
    let scatter = if count < ROBUST_OTHERS {
        libm::sqrt(deviations.map(|deviation| deviation * deviation).sum::<f64>() / (count - 1) as f64)
    } else {
        DEVIATION_PER_MAD * median(deviations)?
    };
    let allowed = ALLOWED.iter().rev().find(|&&(least, _)| least <= count).map(|&(_, allowed)| allowed * scatter)?;
    // With few others the scatter may come out small by chance; their own noise is the least it can be.
    let noise2 = others.clone().map(|item| item.noise * item.noise).sum::<f64>() / count as f64;
    let of_median2 = MEDIAN_SCATTER * MEDIAN_SCATTER / count as f64 * (scatter * scatter).max(noise2);
    let own2 = own.noise * own.noise;
    let difference = own.value - center;
    let expected = allowed.max(libm::sqrt(own2 + of_median2));
    if expected <= 0.0 {
        return None;
    }
    Some(Likeness {
        difference,
        uncertainty: libm::sqrt(own2 + of_median2),
        scatter,
        score: difference / expected,
        others: count as u8,
    })
}

impl Shape {
    /// Cuts a box into `count` bands of equal width (to a pixel); nothing if the shape is no box or has fewer columns or
    /// rows than bands. The bands cover the box without overlap.
    pub fn bands(self, count: u8, lengthwise: Lengthwise) -> impl Iterator<Item = Self> {
        let (x0, y0, x1, y1) = match self {
            Self::Box { x0, y0, x1, y1 } => (x0, y0, x1, y1),
            _ => (1, 1, 0, 0),
        };
        let (from, to) = if lengthwise == Lengthwise::Columns { (x0, x1) } else { (y0, y1) };
        let size = (u32::from(to) + 1).saturating_sub(u32::from(from));
        let count = if size >= u32::from(count) { u32::from(count) } else { 0 };
        (0..count).filter_map(move |band| {
            let cut = |i: u32| Some((u32::from(from) + (size * i).checked_div(count)?) as u16);
            let (first, last) = (cut(band)?, cut(band + 1)?.wrapping_sub(1));
            Some(match lengthwise {
                Lengthwise::Columns => Self::Box { x0: first, y0, x1: last, y1 },
                Lengthwise::Rows => Self::Box { x0, y0: first, x1, y1: last },
            })
        })
    }

    /// `count` boxes of `width` × `height` pixels, their centers evenly spaced from `first` to `last` (column, row),
    /// rounded to the nearest pixel; with an even size the center is the pixel right of or below the middle. Boxes that
    /// would begin outside the image are left out, so check the number; nothing for a size of 0.
    pub fn row_of(
        first: (u16, u16),
        last: (u16, u16),
        count: u8,
        (width, height): (u16, u16),
    ) -> impl Iterator<Item = Self> {
        let along = move |from: u16, to: u16, i: i32| {
            let gaps = i32::from(count).saturating_sub(1).max(1);
            // Nearest: a half added, rounded down. At most 2¹⁶·2⁸·2.
            let twice = 2 * (i32::from(to) - i32::from(from)) * i + gaps;
            Some(i32::from(from) + twice.checked_div_euclid(2 * gaps)?)
        };
        (0..i32::from(count)).filter_map(move |i| {
            let begin = |center: i32, size: u16| u16::try_from(center - i32::from(size / 2)).ok();
            let x0 = begin(along(first.0, last.0, i)?, width)?;
            let y0 = begin(along(first.1, last.1, i)?, height)?;
            let end = |start: u16, size: u16| size.checked_sub(1).and_then(|size| start.checked_add(size));
            Some(Self::Box { x0, y0, x1: end(x0, width)?, y1: end(y0, height)? })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Tally;
    use proptest::prelude::*;
    use std::vec::Vec;

    proptest! {
        #[test]
        fn median_is_the_middle(mut values in proptest::collection::vec(-9i32..9, 1..40)) {
            let got = median(values.iter().map(|&v| f64::from(v))).unwrap();
            values.sort_unstable();
            let n = values.len();
            prop_assert_eq!(got, f64::from(values[n / 2] + values[(n - 1) / 2]) / 2.0);
        }

        #[test]
        fn one_odd_item_does_not_shift_the_others(odd in 0usize..8, excess in -500.0f64..500.0) {
            let value = |i: usize| Item { value: 300.0 + (i % 3) as f64 * 0.1, noise: 0.02 };
            let sound: Vec<_> = (0..8).map(|i| Some(value(i))).collect();
            let mut items = sound.clone();
            items[odd] = Some(Item { value: value(odd).value + excess, noise: 0.02 });
            for i in (0..8).filter(|&i| i != odd) {
                let (with, without) = (against_others(&items, i).unwrap(), against_others(&sound, i).unwrap());
                prop_assert!((with.difference - without.difference).abs() <= 0.101);
            }
            let got = against_others(&items, odd).unwrap();
            let clean = against_others(&sound, odd).unwrap();
            prop_assert!((got.difference - clean.difference - excess).abs() < 1e-9);
        }

        #[test]
        fn bands_cover_the_box(x0 in 0u16..50, w in 0u16..50, count in 1u8..12) {
            let shape = Shape::Box { x0, y0: 3, x1: x0 + w, y1: 9 };
            let bands: Vec<_> = shape.bands(count, Lengthwise::Columns).collect();
            if u16::from(count) > w + 1 {
                prop_assert!(bands.is_empty());
            } else {
                prop_assert_eq!(bands.len(), usize::from(count));
                prop_assert_eq!(bands.iter().map(|band| band.area()).sum::<u32>(), shape.area());
                let widths: Vec<_> = bands.iter().map(|band| band.area() / 7).collect();
                prop_assert!(widths.iter().max().unwrap() - widths.iter().min().unwrap() <= 1);
            }
        }
    }

    #[test]
    fn too_few_or_unmeasured_items_give_nothing() {
        let item = Some(Item { value: 1.0, noise: 0.1 });
        assert_eq!(against_others(&[item; 3], 0), None);
        assert_eq!(against_others(&[item, item, item, None], 0), None);
        assert_eq!(against_others(&[None, item, item, item], 0), None);
        assert!(against_others(&[item; 4], 0).is_some());
        assert_eq!(against_others(&[item; 4], 4), None);
    }

    #[test]
    fn rows_of_boxes_are_evenly_spaced() {
        let boxes: Vec<_> = Shape::row_of((10, 20), (40, 26), 4, (5, 3)).collect();
        let expected = [(8, 19), (18, 21), (28, 23), (38, 25)];
        assert_eq!(boxes, expected.map(|(x0, y0)| Shape::Box { x0, y0, x1: x0 + 4, y1: y0 + 2 }));
        assert_eq!(Shape::row_of((1, 20), (40, 26), 4, (5, 3)).count(), 3);
        assert_eq!(Shape::row_of((9, 9), (9, 9), 1, (1, 1)).count(), 1);
    }

    /// Block tops at 1,000 ± noise with grooves a third as wide, warmer and colder ones: the majority is the tops.
    #[test]
    fn grooves_are_left_out_of_a_band() {
        for groove in [880u16, 1_150] {
            let row: Vec<u16> = (0..96u16).map(|x| if x % 12 < 3 { groove } else { 996 + (x * 7) % 9 }).collect();
            let mut tally = Tally::EMPTY;
            for y in 0..20 {
                tally.add_row(Shape::Box { x0: 0, y0: 0, x1: 95, y1: 19 }, y, &row, 0, u16::MAX);
            }
            let majority = tally.majority().unwrap();
            assert_eq!((majority.kept, majority.left_out), (72 * 20, 24 * 20));
            assert!(majority.mean_q8.abs_diff(1_000 << 8) < 256, "{majority:?}");
        }
    }

    #[test]
    fn even_halves_have_no_majority() {
        let row: Vec<u16> = (0..96u16).map(|x| if x % 2 == 0 { 800 } else { 1_000 + x % 3 }).collect();
        let mut tally = Tally::EMPTY;
        tally.add_row(Shape::Box { x0: 0, y0: 0, x1: 95, y1: 0 }, 0, &row, 0, u16::MAX);
        assert_eq!(tally.majority(), None);
    }
}
