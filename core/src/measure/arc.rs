//! Edge pixels near two circles, and the center that fits both: the last step of finding a ring.

use super::squared;

/// A steep pixel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) x: i32,
    pub(super) y: i32,
    pub(super) gx: i32,
    pub(super) gy: i32,
    /// Root of gx² + gy².
    pub(super) steepness: i32,
}

/// Least cosine of the angle between the steepest direction and that of the center, in tenths: within 26° (proposal).
const ALIGNED_TENTHS: i64 = 9;
/// Pixels that an edge may lie off its circle to count for the center; a proposal.
const NEAR: i64 = 3;
/// Determinant over the square of the trace below which arcs do not fix a center: a quarter all around, and a twentieth is
/// a short arc (proposal).
const SHORT_ARC: f64 = 0.05;

impl Edge {
    /// An edge as seen from a center: offset and distance in 1/256 pixel, and whether it is hotter outward. `None`
    /// unless it
    /// points at the center.
    pub(super) fn seen_from(&self, (x_q8, y_q8): (u32, u32)) -> Option<((i32, i32), i64, bool)> {
        let (dx, dy) = ((self.x << 8) - x_q8 as i32, (self.y << 8) - y_q8 as i32);
        let distance = (squared(dx) + squared(dy)).isqrt() as i64;
        let along = i64::from(self.gx) * i64::from(dx) + i64::from(self.gy) * i64::from(dy);
        let aligned = along.abs() * 10 >= i64::from(self.steepness) * distance * ALIGNED_TENTHS;
        aligned.then_some(((dx, dy), distance, along > 0))
    }
}

/// Sums for moving the center: over edge pixels near a circle, of the directions c, s from the center (in 1/256) and
/// how far
/// outside e (1/256 pixel) they lie. A shift of the center by (dx, dy) makes e = dx·c + dy·s + constant.
///
/// *Scaling and overflow*: terms below 2¹⁸ each, sums of at most 2³² of them.
#[derive(Clone, Copy)]
pub(super) struct Arc {
    n: i64,
    c: i64,
    s: i64,
    e: i64,
    cc: i64,
    cs: i64,
    ss: i64,
    ec: i64,
    es: i64,
}

impl Arc {
    pub(super) const EMPTY: Self = Self { n: 0, c: 0, s: 0, e: 0, cc: 0, cs: 0, ss: 0, ec: 0, es: 0 };

    /// Adds an edge pixel of the right kind near the circle.
    pub(super) fn add(&mut self, edge: Edge, center: (u32, u32), radius_q8: u32, rising: bool) {
        let Some(((dx, dy), distance, rises)) = edge.seen_from(center) else { return };
        let off = distance - i64::from(radius_q8);
        if off.abs() > NEAR << 8 || rises != rising {
            return;
        }
        let unit = |d: i32| (i64::from(d) << 8).checked_div(distance).unwrap_or(0);
        let (c, s) = (unit(dx), unit(dy));
        self.n += 1;
        (self.c, self.s, self.e) = (self.c + c, self.s + s, self.e + off);
        (self.cc, self.cs, self.ss) = (self.cc + c * c, self.cs + c * s, self.ss + s * s);
        (self.ec, self.es) = (self.ec + off * c, self.es + off * s);
    }
}

/// The center moved to where both circles fit best, each with its own radius; `None` if their arcs do not say.
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: twice per search")]
pub(super) fn moved((x_q8, y_q8): (u32, u32), arcs: &[Arc]) -> Option<(u32, u32)> {
    let (mut cc, mut cs, mut ss, mut ec, mut es) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for arc in arcs.iter().filter(|arc| arc.n > 0) {
        // About the means of the arc, so that its radius does not matter.
        let centered = |product: i64, a: i64, b: i64| product as f64 - a as f64 * b as f64 / arc.n as f64;
        cc += centered(arc.cc, arc.c, arc.c);
        cs += centered(arc.cs, arc.c, arc.s);
        ss += centered(arc.ss, arc.s, arc.s);
        ec += centered(arc.ec, arc.e, arc.c);
        es += centered(arc.es, arc.e, arc.s);
    }
    let determinant = cc * ss - cs * cs;
    if determinant <= SHORT_ARC * (cc + ss) * (cc + ss) {
        return None;
    }
    let step = |value: f64| libm::round(256.0 * value / determinant) as i32;
    let (dx, dy) = (step(ec * ss - es * cs), step(es * cc - ec * cs));
    Some((x_q8.checked_add_signed(dx)?, y_q8.checked_add_signed(dy)?))
}
