//! What is summed over the pixels of a run.

/// Sum and highest count of some pixels; of cold ones, the highest complement.
///
/// *Overflow*: a run has at most 65,535 pixels of at most 65,535 counts, so the sum fits in 32 bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sums {
    pub(super) sum: u32,
    pub(super) top: u16,
}

impl Sums {
    const NOTHING: Self = Self { sum: 0, top: 0 };

    /// Over all these pixels, one by one. `flip` is 0, or `u16::MAX` for complements.
    #[inline]
    fn one_by_one(pixels: &[u16], flip: u16) -> Self {
        pixels
            .iter()
            .fold(Self::NOTHING, |all, &v| Self { sum: all.sum.wrapping_add(u32::from(v)), top: all.top.max(v ^ flip) })
    }

    /// Over the first `length` pixels of `from`, which go on to the end of the row.
    #[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
    #[inline(always)]
    pub(super) fn of(from: &[u16], length: usize, flip: u16) -> Self {
        Self::one_by_one(from.get(..length).unwrap_or(from), flip)
    }

    /// Over the first `length` pixels of `from`, which go on to the end of the row.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    pub(super) fn of(from: &[u16], length: usize, flip: u16) -> Self {
        // Combs and outlines are all runs of one pixel.
        if length == 1
            && let Some(&v) = from.first()
        {
            return Self { sum: u32::from(v), top: v ^ flip };
        }
        // Lengths vary from run to run, and a loop that ends at a length that cannot be foreseen costs more than a few
        // pixels too many: they are masked away.
        if length <= 4
            && let Some(four) = from.first_chunk::<4>()
        {
            return Self::of_four(four, length, flip);
        }
        Self::of_many(from, length, flip)
    }

    /// Over the first 1 to 4 pixels, in one word.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn of_four(four: &[u16; 4], length: usize, flip: u16) -> Self {
        const EVEN: u64 = 0xFFFF_0000_FFFF;
        let word = |[a, b, c, d]: [u16; 4]| u64::from(a) | u64::from(b) << 16 | u64::from(c) << 32 | u64::from(d) << 48;
        let mask = u64::MAX >> ((64 - 16 * length as u32) % 64);
        let counts = word(*four) & mask;
        let pairs = (counts & EVEN) + (counts >> 16 & EVEN);
        let flipped = counts ^ (word([flip; 4]) & mask);
        let pixel = |i: u32| (flipped >> (16 * i)) as u16;
        let top = pixel(0).max(pixel(1)).max(pixel(2).max(pixel(3)));
        Self { sum: (pairs as u32).wrapping_add((pairs >> 32) as u32), top }
    }

    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(never)]
    fn of_many(from: &[u16], length: usize, flip: u16) -> Self {
        let mut all = Self::NOTHING;
        let run = from.get(..length).unwrap_or(from);
        let (eights, rest) = run.as_chunks::<8>();
        let (mut sum, mut top) = ([0u32; 8], [0u16; 8]);
        for eight in eights {
            for ((s, t), &v) in sum.iter_mut().zip(&mut top).zip(eight) {
                (*s, *t) = (s.wrapping_add(u32::from(v)), (*t).max(v ^ flip));
            }
        }
        if !eights.is_empty() {
            all.sum = sum.iter().fold(0, |a, &b| a.wrapping_add(b));
            all.top = top.iter().fold(0, |a, &b| a.max(b));
        }
        if rest.is_empty() {
            return all;
        }
        if let Some(last) = run.last_chunk::<8>() {
            all.add_selected(last, 8 - rest.len(), 8, flip);
        } else if let Some(first) = from.first_chunk::<8>() {
            all.add_selected(first, 0, length, flip);
        } else {
            return Self::one_by_one(rest, flip);
        }
        all
    }

    /// Adds the pixels `from..to` of a few.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn add_selected<const N: usize>(&mut self, pixels: &[u16; N], from: usize, to: usize, flip: u16) {
        for (i, &v) in pixels.iter().enumerate() {
            let selected = i >= from && i < to;
            self.sum = self.sum.wrapping_add(if selected { u32::from(v) } else { 0 });
            self.top = self.top.max(if selected { v ^ flip } else { 0 });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Sums;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equals_one_by_one(
            row in proptest::collection::vec(any::<u16>(), 1..90),
            length in 1usize..90,
            cold in any::<bool>(),
        ) {
            let length = length.min(row.len());
            let run = &row[..length];
            let sum = run.iter().map(|&v| u32::from(v)).sum();
            let (flip, top) = if cold {
                (u16::MAX, !*run.iter().min().unwrap())
            } else {
                (0, *run.iter().max().unwrap())
            };
            prop_assert_eq!(Sums::of(&row, length, flip), Sums { sum, top });
        }
    }
}
