//! Quotients of large integers, without 128-bit division.

/// `numerator`·`scale`/`denominator`, truncated toward zero; `None` if the denominator is not positive or vanishes
/// beside the numerator. Relative error below 2⁻⁴⁰ where nothing vanishes.
///
/// *Scaling and overflow*: both are shifted until the numerator has 44 bits, so a scale of 18 bits fits.
pub(super) fn scaled(numerator: i128, denominator: i128, scale: u32) -> Option<i64> {
    if denominator <= 0 {
        return None;
    }
    let bits = i128::BITS - numerator.unsigned_abs().leading_zeros();
    let shift = bits.saturating_sub(44).max((i128::BITS - denominator.leading_zeros()).saturating_sub(62));
    let (numerator, denominator) = ((numerator >> shift) as i64, (denominator >> shift) as i64);
    (numerator * i64::from(scale & 0x3_FFFF)).checked_div(denominator)
}
