//! Passing over ordinary pixels: the one loop of the scanner that sees every pixel.
//!
//! A pixel is ordinary if `cold ≤ v ≤ hot`, which is one subtraction and one comparison: `v − cold ≤ hot − cold` in
//! wrapping arithmetic. How it is written depends on what the processor is good at; the result does not.

/// Pixels at the start of `row` that are ordinary. `ordinary` is `hot − cold`.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
#[inline]
pub(super) fn ordinary_pixels(row: &[u16], cold: u16, ordinary: u16) -> usize {
    // Where regions are dense, gaps are short: the first few pixels one by one, before the vectors get going.
    let outside = |v: u16| v.wrapping_sub(cold) > ordinary;
    let near = row.len().min(4);
    if let Some(first) = row.iter().take(near).position(|&v| outside(v)) {
        return first;
    }
    // Thirty-two comparisons ORed into one flag are a handful of vector instructions.
    let any = |pixels: &[u16]| pixels.iter().fold(0u16, |any, &v| any | if outside(v) { u16::MAX } else { 0 }) != 0;
    let (chunks, _) = row.get(near..).unwrap_or(&[]).as_chunks::<32>();
    let mut at = near + 32 * chunks.iter().take_while(|chunk| !any(chunk.as_slice())).count();
    // The chunk that is not all ordinary, or the tail, in steps of eight.
    let (steps, _) = row.get(at..).unwrap_or(&[]).as_chunks::<8>();
    at += 8 * steps.iter().take_while(|step| !any(step.as_slice())).count();
    at + row.get(at..).unwrap_or(&[]).iter().take_while(|&&v| !outside(v)).count()
}

/// Pixels at the start of `row` that are ordinary. `ordinary` is `hot − cold`.
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
#[inline]
pub(super) fn ordinary_pixels(row: &[u16], cold: u16, ordinary: u16) -> usize {
    // In 32 bits the subtraction needs no masking: load, subtract, compare, branch. Written out eightfold, because an
    // optimizer that is told to save space does not unroll.
    let (cold, ordinary) = (u32::from(cold), u32::from(ordinary));
    let inside = |v: u16| u32::from(v).wrapping_sub(cold) <= ordinary;
    let (chunks, _) = row.as_chunks::<8>();
    let whole = |&&[a, b, c, d, e, f, g, h]: &&[u16; 8]| {
        inside(a) && inside(b) && inside(c) && inside(d) && inside(e) && inside(f) && inside(g) && inside(h)
    };
    let at = 8 * chunks.iter().take_while(whole).count();
    at + row.get(at..).unwrap_or(&[]).iter().take_while(|&&v| inside(v)).count()
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
