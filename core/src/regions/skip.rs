//! Passing over ordinary pixels: the one loop of the scanner that sees every pixel.
//!
//! A pixel is ordinary if `cold ≤ v ≤ hot`, which is one subtraction and one comparison: `v − cold ≤ hot − cold` in
//! wrapping arithmetic. How it is written depends on what the processor is good at; the result does not.

/// Pixels at the start of `row` that are ordinary. `ordinary` is `hot − cold`.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
#[inline]
pub(super) fn ordinary_pixels(row: &[u16], cold: u16, ordinary: u16) -> usize {
    // Sixteen comparisons become a vector of flags, a byte each; the first flag set is found by counting zero bits.
    let (chunks, tail) = row.as_chunks::<16>();
    let outside = |v: u16| u8::from(v.wrapping_sub(cold) > ordinary);
    for (i, chunk) in chunks.iter().enumerate() {
        let flags = u128::from_le_bytes(chunk.map(outside));
        if flags != 0 {
            return 16 * i + flags.trailing_zeros() as usize / 8;
        }
    }
    let in_tail = tail.iter().position(|&v| outside(v) != 0).unwrap_or(tail.len());
    16 * chunks.len() + in_tail
}

/// Pixels at the start of `row` that are ordinary. `ordinary` is `hot − cold`.
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
#[inline]
pub(super) fn ordinary_pixels(row: &[u16], cold: u16, ordinary: u16) -> usize {
    // In 32 bits the subtraction needs no masking: load, subtract, compare, branch.
    let (cold, ordinary) = (u32::from(cold), u32::from(ordinary));
    let outside = |v: u16| u32::from(v).wrapping_sub(cold) > ordinary;
    let (chunks, tail) = row.as_chunks::<8>();
    for (i, chunk) in chunks.iter().enumerate() {
        if let Some(first) = chunk.iter().position(|&v| outside(v)) {
            return 8 * i + first;
        }
    }
    8 * chunks.len() + tail.iter().position(|&v| outside(v)).unwrap_or(tail.len())
}

#[cfg(test)]
mod tests {
    use super::ordinary_pixels;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn stops_at_the_first_pixel_outside(
            mut row in proptest::collection::vec(100u16..=200, 0..70),
            at in 0usize..70,
            value in any::<u16>(),
        ) {
            if let Some(pixel) = row.get_mut(at) {
                *pixel = value;
            }
            let expected = row.iter().position(|v| !(100..=200).contains(v)).unwrap_or(row.len());
            prop_assert_eq!(ordinary_pixels(&row, 100, 100), expected);
        }
    }

    #[test]
    fn whole_range_is_ordinary() {
        assert_eq!(ordinary_pixels(&[0, 1, u16::MAX], 0, u16::MAX), 3);
    }
}
