//! What is summed over the pixels of a run.

/// Sum, lowest and highest count of some pixels.
///
/// *Overflow*: a run has at most 65,535 pixels of at most 65,535 counts, so the sum fits in 32 bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sums {
    pub(super) sum: u32,
    pub(super) lowest: u16,
    pub(super) highest: u16,
}

impl Sums {
    const NOTHING: Self = Self { sum: 0, lowest: u16::MAX, highest: 0 };

    /// Over all these pixels, one by one.
    #[inline]
    pub(super) fn one_by_one(pixels: &[u16]) -> Self {
        pixels.iter().fold(Self::NOTHING, |all, &v| Self {
            sum: all.sum.wrapping_add(u32::from(v)),
            lowest: all.lowest.min(v),
            highest: all.highest.max(v),
        })
    }

    /// Over the first `length` pixels of `from`, which go on to the end of the row.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    pub(super) fn of(from: &[u16], length: usize) -> Self {
        // Combs and outlines are all runs of one pixel.
        if length == 1
            && let Some(&v) = from.first()
        {
            return Self { sum: u32::from(v), lowest: v, highest: v };
        }
        // Lengths vary from run to run, and a loop that ends at a length that cannot be foreseen costs more than a few
        // pixels too many: they are selected away.
        if length <= 4
            && let Some(four) = from.first_chunk::<4>()
        {
            let mut all = Self::NOTHING;
            all.add_selected(four, 0, length);
            return all;
        }
        Self::of_many(from, length)
    }

    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    fn of_many(from: &[u16], length: usize) -> Self {
        let mut all = Self::NOTHING;
        let run = from.get(..length).unwrap_or(from);
        let (eights, rest) = run.as_chunks::<8>();
        let (mut sum, mut lowest, mut highest) = ([0u32; 8], [u16::MAX; 8], [0u16; 8]);
        for eight in eights {
            for (i, &v) in eight.iter().enumerate() {
                if let (Some(s), Some(l), Some(h)) = (sum.get_mut(i), lowest.get_mut(i), highest.get_mut(i)) {
                    (*s, *l, *h) = (s.wrapping_add(u32::from(v)), (*l).min(v), (*h).max(v));
                }
            }
        }
        if !eights.is_empty() {
            all.sum = sum.iter().fold(0, |a, &b| a.wrapping_add(b));
            all.lowest = lowest.iter().fold(u16::MAX, |a, &b| a.min(b));
            all.highest = highest.iter().fold(0, |a, &b| a.max(b));
        }
        if rest.is_empty() {
            return all;
        }
        if let Some(last) = run.last_chunk::<8>() {
            all.add_selected(last, 8 - rest.len(), 8);
        } else if let Some(first) = from.first_chunk::<8>() {
            all.add_selected(first, 0, length);
        } else {
            return Self::one_by_one(rest);
        }
        all
    }

    /// Adds the pixels `from..to` of a few.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn add_selected<const N: usize>(&mut self, pixels: &[u16; N], from: usize, to: usize) {
        for (i, &v) in pixels.iter().enumerate() {
            let selected = i >= from && i < to;
            self.sum = self.sum.wrapping_add(if selected { u32::from(v) } else { 0 });
            self.lowest = self.lowest.min(if selected { v } else { u16::MAX });
            self.highest = self.highest.max(if selected { v } else { 0 });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Sums;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equals_one_by_one(row in proptest::collection::vec(any::<u16>(), 1..90), length in 1usize..90) {
            let length = length.min(row.len());
            let run = &row[..length];
            let expected = Sums {
                sum: run.iter().map(|&v| u32::from(v)).sum(),
                lowest: *run.iter().min().unwrap(),
                highest: *run.iter().max().unwrap(),
            };
            prop_assert_eq!(Sums::of(&row, length), expected);
        }
    }
}
