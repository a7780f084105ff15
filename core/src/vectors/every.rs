//! With the vectors that every x86-64 has.

use safe_arch::{
    bitor_m128i, cmp_eq_mask_i16_m128i, m128i, move_mask_i8_m128i, pack_i16_to_i8_m128i, prefetch_t0,
    set_splat_i16_m128i, sub_i16_m128i, sub_saturating_u16_m128i, zeroed_m128i,
};

/// A bit for each of up to 64 pixels above `hot`, and one for each below `cold`.
#[inline(always)]
pub(super) fn beyond<const N: usize>(pixels: &[u16; N], hot: u16, cold: u16) -> (u64, u64) {
    let all = |v: u16| set_splat_i16_m128i(v as i16);
    let (hot, cold, ordinary) = (all(hot), all(cold), all(hot.wrapping_sub(cold)));
    let above = |eight: &[u16; 8]| sub_saturating_u16_m128i(m128i::from(*eight), hot);
    let below = |eight: &[u16; 8]| sub_saturating_u16_m128i(cold, m128i::from(*eight));
    let eights = pixels.as_chunks::<8>().0;
    // Most chunks are all ordinary.
    let outside = |eight: &[u16; 8]| sub_saturating_u16_m128i(sub_i16_m128i(m128i::from(*eight), cold), ordinary);
    let any = eights.iter().fold(zeroed_m128i(), |any, eight| bitor_m128i(any, outside(eight)));
    if zeros(any, any) == u16::MAX {
        return (0, 0);
    }
    let (mut hot, mut cold) = (0, 0);
    for (i, [a, b]) in eights.as_chunks::<2>().0.iter().enumerate() {
        hot |= u64::from(!zeros(above(a), above(b))) << (16 * i);
        cold |= u64::from(!zeros(below(a), below(b))) << (16 * i);
    }
    (hot, cold)
}

/// A bit for each of sixteen lanes that is 0.
#[inline(always)]
fn zeros(low: m128i, high: m128i) -> u16 {
    let are_zero = |lanes| cmp_eq_mask_i16_m128i(lanes, zeroed_m128i());
    move_mask_i8_m128i(pack_i16_to_i8_m128i(are_zero(low), are_zero(high))) as u16
}

/// Counts in a line of the cache, as all processors of today have them (from memory).
const LINE: usize = 32;

/// Asks for counts before they are waited for.
#[inline(always)]
pub(crate) fn fetch(counts: &[u16]) {
    counts.iter().step_by(LINE).for_each(prefetch_t0);
}
