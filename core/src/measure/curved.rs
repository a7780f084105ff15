//! Integer geometry of the shapes with curved or slanted edges: rotated ellipses and sectors.
//!
//! Every test is an inequality between integers, so a shape covers the same pixels on every machine.

/// Longest semi-axis of an ellipse in pixels. With it every product below stays under 2⁶².
const LONGEST: u64 = 1_023;

/// Sine of a quarter turn in steps of 1/256 turn, times 16,384 (computed; `sines_are_the_nearest` checks them).
#[rustfmt::skip]
const SINES: [i16; 65] = [
    0, 402, 804, 1_205, 1_606, 2_006, 2_404, 2_801, 3_196, 3_590, 3_981, 4_370, 4_756, 5_139, 5_520, 5_897, 6_270,
    6_639, 7_005, 7_366, 7_723, 8_076, 8_423, 8_765, 9_102, 9_434, 9_760, 10_080, 10_394, 10_702, 11_003, 11_297,
    11_585, 11_866, 12_140, 12_406, 12_665, 12_916, 13_160, 13_395, 13_623, 13_842, 14_053, 14_256, 14_449, 14_635,
    14_811, 14_978, 15_137, 15_286, 15_426, 15_557, 15_679, 15_791, 15_893, 15_986, 16_069, 16_143, 16_207, 16_261,
    16_305, 16_340, 16_364, 16_379, 16_384,
];

/// Half-width and half-height in pixels of the box around an ellipse with the semi-axis (`ax`, `ay`) and the semi-axis
/// `across` at a right angle to it; `None` if an axis is too short or too long.
pub(super) const fn ellipse_reach(ax: i16, ay: i16, across: u16) -> Option<(i32, i32)> {
    let (ax2, ay2) =
        (ax.unsigned_abs() as u64 * ax.unsigned_abs() as u64, ay.unsigned_abs() as u64 * ay.unsigned_abs() as u64);
    let (length2, across2) = (ax2 + ay2, across as u64 * across as u64);
    if length2 > LONGEST * LONGEST || across2 > LONGEST * LONGEST || across2 == 0 {
        return None;
    }
    // Half-width² = ax² + across²·ay²/length², and the other way round; the root of the whole part has the same whole
    // part. The division fails for an axis of length 0.
    let (Some(x2), Some(y2)) = ((across2 * ay2).checked_div(length2), (across2 * ax2).checked_div(length2)) else {
        return None;
    };
    // Sums below 2²¹: the root of 32 bits is in every image already, that of 64 is not.
    Some((((ax2 + x2) as u32).isqrt() as i32, ((ay2 + y2) as u32).isqrt() as i32))
}

/// First and last column, from the center, of the ellipse in the row `dy` from the center; `None` where it has none.
pub(super) fn ellipse_span(dy: i32, ax: i16, ay: i16, across: u16) -> Option<(i32, i32)> {
    let (reach_x, reach_y) = ellipse_reach(ax, ay, across)?;
    if dy.abs() > reach_y {
        return None;
    }
    let (ax, ay, dy, across2) = (i64::from(ax), i64::from(ay), i64::from(dy), i64::from(across) * i64::from(across));
    let length2 = ax * ax + ay * ay;
    // With p and q the offsets along and across the axis, times its length: p²/length⁴ + q²/(length²·across²) ≤ 1.
    let inside = |dx: i32| {
        let (p, q) = (i64::from(dx) * ax + dy * ay, i64::from(dx) * ay - dy * ax);
        p * p * across2 + q * q * length2 <= length2 * length2 * across2
    };
    // Middle of the chord, where the form is least: if its nearest column is outside, the row has none.
    let curvature = ax * ax * across2 + ay * ay * length2;
    let twice = (2 * dy * ax * ay).checked_mul(length2 - across2)?.checked_add(curvature)?;
    let middle = (twice.checked_div_euclid(2 * curvature)? as i32).max(-reach_x).min(reach_x);
    if !inside(middle) {
        return None;
    }
    let farthest = |sign: i32| {
        let (mut within, mut beyond) = (0, reach_x + 1 - sign * middle);
        while beyond - within > 1 {
            let try_at = within + (beyond - within) / 2;
            if inside(middle + sign * try_at) { within = try_at } else { beyond = try_at }
        }
        middle + sign * within
    };
    Some((farthest(-1), farthest(1)))
}

/// Direction of `index`/`of` turns, clockwise on the image from three o'clock, times 16,384. Good to 1/6,000.
fn direction(index: u8, of: u8) -> (i32, i32) {
    let turn = ((u32::from(index) << 16) + u32::from(of / 2)).checked_div(u32::from(of)).unwrap_or(0);
    let sine = |turn: u32| {
        let (quarter, rest) = ((turn >> 14) & 3, turn & 0x3fff);
        let rest = if quarter & 1 == 1 { 0x4000 - rest } else { rest };
        let at = |i: u32| SINES.get(i as usize).map_or(0, |&sine| i32::from(sine));
        let (low, high) = (at(rest >> 8), at((rest >> 8) + 1));
        // At the top of the table there is no next entry and nothing to interpolate.
        let value = if rest == 0x4000 { low } else { low + (((high - low) * (rest & 0xff) as i32 + 128) >> 8) };
        if quarter >= 2 { -value } else { value }
    };
    (sine(turn + 0x4000), sine(turn))
}

/// First and last column, from the center, that the sector covers in the row `dy` from the center; last before first
/// if none. Columns are limited to ±2¹⁶.
pub(super) fn sector_range(dy: i32, index: u8, of: u8) -> (i32, i32) {
    const FAR: i32 = 1 << 16;
    let (mut first, mut last) = (-FAR, FAR);
    // On or clockwise of the first line: fx·dy − fy·dx ≥ 0. At most 2¹⁴·2¹⁶, which fits.
    let (fx, fy) = direction(index, of);
    let side = fx.saturating_mul(dy);
    if let Some(limit) = side.checked_div_euclid(fy) {
        // Euclid rounds toward the side of the positive remainder: down for a positive divisor, up for a negative one.
        if fy > 0 { last = limit } else { first = limit }
    } else if side < 0 {
        return (0, -1);
    }
    // Before the last line: tx·dy − ty·dx < 0.
    let (tx, ty) = direction(index.saturating_add(1), of);
    let side = tx.saturating_mul(dy);
    if let Some(limit) = side.checked_div_euclid(ty) {
        if ty > 0 { first = first.max(limit + 1) } else { last = last.min(limit - 1) }
    } else if side >= 0 {
        return (0, -1);
    }
    (first, last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sines_are_the_nearest() {
        for (i, &sine) in SINES.iter().enumerate() {
            let exact = libm::sin(i as f64 * core::f64::consts::FRAC_PI_2 / 64.0) * 16_384.0;
            assert!((f64::from(sine) - exact).abs() <= 0.5, "{i}");
        }
    }

    #[test]
    fn directions_are_good_to_an_six_thousandth() {
        for of in 3..=64u8 {
            for index in 0..=of {
                let (x, y) = direction(index, of);
                let (sin, cos) = libm::sincos(core::f64::consts::TAU * f64::from(index) / f64::from(of));
                let error = libm::hypot(f64::from(x) / 16_384.0 - cos, f64::from(y) / 16_384.0 - sin);
                assert!(error < 1.0 / 6_000.0, "{index}/{of}: {error}");
            }
        }
    }
}
