//! Does a region stay on the part, or slide over it as a reflection does?
//!
//! *What.* While the viewer steps aside, the part moves through the image by D and the region by R. The slip s is the
//! least-squares part of D that the region lags behind: R − D = −s·D + rest. A mark on the part has s = 0. A source that
//! stands Z_s behind a flat mirror-like surface seen from Z is mirrored at Z + Z_s and has s = Z_s/(Z + Z_s) (derived,
//! similar triangles): ½ for a lamp as far off as the viewer, 1 for what walks along with the viewer, and the viewer.
//!
//! *What it cannot tell.* Turning the instrument moves part and reflection alike, so without a stated step aside a region
//! that stays proves nothing. On a strongly curved surface a reflection stays near one place: "stays" excludes only what
//! slides. A slip may also be a part that moves by itself, or one that stands in front of the part: "slides" means that
//! it does not move as the part does.
//!
//! *Uncertainty.* Statistical from the rest, plus that of the placements, taken as one error that grows along the way: it
//! then scatters by 1/√12 of its end (derived), and weighs as that over the scatter of D. *Scaling and overflow*:
//! offsets are in 1/16 pixel, cut to 2¹⁸ (16,384 pixels); at most 4,096 sightings, so sums
//! stay below 2³¹ and 2⁵⁰, and products with n below 2⁶².

use super::part::Placement;
use super::ratio::scaled;
use crate::codes::codes;

const SIGHTINGS_MAX: i64 = 4_096;
const OFFSET_MAX: i32 = 1 << 18;

codes! {
    /// How a region moves beside the part it is seen on.
    pub enum Verdict {
        /// With the part.
        Stays = 1, "stays";
        /// Otherwise than the part, as a reflection does.
        Slides = 2, "slides";
        /// Not known; the cause says why.
        Undecided = 3, "undecided";
    }
}

codes! {
    /// What a verdict rests on, or why there is none.
    pub enum Cause {
        /// The slip and twice its uncertainty lie within the limit.
        Measured = 1, "measured";
        /// Too few sightings with the part's placement known.
        FewSightings = 2, "few-sightings";
        /// The part hardly moved in the image.
        LittleMotion = 3, "little-motion";
        /// The slip, or its uncertainty, lies between the limits.
        Unclear = 4, "unclear";
        /// The region moved, but not along the part's motion.
        OtherMotion = 5, "other-motion";
        /// It stays, but the viewer is not known to have stepped aside.
        NoStepAside = 6, "no-step-aside";
    }
}

/// Limits of the verdict. All are proposals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SlipRule {
    /// Fewest sightings.
    pub sightings: u16,
    /// Least scatter (standard deviation) of the part's placements, in 1/16 pixel.
    pub motion: u16,
    /// Largest slip, with twice its uncertainty, of what stays; thousandths.
    pub stays: u16,
    /// Least slip, less twice its uncertainty, of what slides; thousandths.
    pub slides: u16,
    /// Largest scatter of the rest of what stays, in 1/16 pixel.
    pub rest: u16,
}

impl SlipRule {
    /// 8 sightings; 2 pixels of scatter, which a steady sweep over 7 gives; stays up to 0.15, as a source 0.18 of the
    /// viewing distance behind the surface has; slides from 0.3, as one at 0.43 of it; 1 pixel.
    pub const DEFAULT: Self = Self { sightings: 8, motion: 32, stays: 150, slides: 300, rest: 16 };
}

/// A verdict with its numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SlipJudgement {
    /// The verdict.
    pub verdict: Verdict,
    /// What it rests on.
    pub cause: Cause,
    /// Slip in thousandths of the part's motion; 0 if there was none.
    pub slip: i32,
    /// Its standard uncertainty in thousandths.
    pub uncertainty: u32,
    /// Scatter of the part's placements, 1/16 pixel.
    pub motion: u32,
    /// Scatter of the rest, 1/16 pixel.
    pub rest: u32,
    /// Sightings it rests on.
    pub sightings: u16,
}

/// Running sums of D, and of E = R − D.
#[derive(Clone, Copy, Debug)]
pub(super) struct SlipSums {
    epoch: u16,
    /// Region and part at the first sighting of the epoch.
    region: (i32, i32),
    part: (i32, i32),
    placement_uncertainty: u16,
    n: i64,
    d: (i64, i64),
    e: (i64, i64),
    dd: i64,
    de: i64,
    ee: i64,
}

impl SlipSums {
    pub(super) const EMPTY: Self = Self {
        epoch: 0,
        region: (0, 0),
        part: (0, 0),
        placement_uncertainty: 0,
        n: 0,
        d: (0, 0),
        e: (0, 0),
        dd: 0,
        de: 0,
        ee: 0,
    };

    /// Adds a sighting: the region's position and the part's, both in 1/16 pixel. Another epoch begins anew, and so do
    /// more than 4,096 sightings.
    pub(super) fn add(&mut self, region: (i32, i32), part: &Placement) {
        if self.n == 0 || part.epoch != self.epoch || self.n == SIGHTINGS_MAX {
            *self = Self { epoch: part.epoch, region, part: (part.x, part.y), ..Self::EMPTY };
        }
        let off = |now: i32, then: i32| i64::from(now.saturating_sub(then).clamp(-OFFSET_MAX, OFFSET_MAX));
        let d = (off(part.x, self.part.0), off(part.y, self.part.1));
        let e = (off(region.0, self.region.0) - d.0, off(region.1, self.region.1) - d.1);
        self.placement_uncertainty = self.placement_uncertainty.max(part.uncertainty);
        self.n += 1;
        (self.d.0, self.d.1) = (self.d.0 + d.0, self.d.1 + d.1);
        (self.e.0, self.e.1) = (self.e.0 + e.0, self.e.1 + e.1);
        self.dd += d.0 * d.0 + d.1 * d.1;
        self.de += d.0 * e.0 + d.1 * e.1;
        self.ee += e.0 * e.0 + e.1 * e.1;
    }

    pub(super) fn judge(&self, rule: &SlipRule, stepped_aside: bool) -> SlipJudgement {
        let n = i128::from(self.n);
        let product =
            |a: (i64, i64), b: (i64, i64)| i128::from(a.0) * i128::from(b.0) + i128::from(a.1) * i128::from(b.1);
        // n² times variance of D, covariance, variance of E.
        let var_d = n * i128::from(self.dd) - product(self.d, self.d);
        let cov = n * i128::from(self.de) - product(self.d, self.e);
        let var_e = n * i128::from(self.ee) - product(self.e, self.e);
        let scatter = |squared: i128| {
            let root = u64::try_from(squared).unwrap_or(0).isqrt();
            root.checked_div(self.n as u64).unwrap_or(0).min(0xFFFF_FFFF) as u32
        };
        let motion = scatter(var_d);
        let slip_q15 = scaled(-cov, var_d, 1 << 15).unwrap_or(0);
        // What the slip leaves: var(E) − cov²/var(D).
        let rest_squared = (var_e + ((cov * i128::from(slip_q15)) >> 15)).max(0);
        let rest = scatter(rest_squared);
        // u² of the slip: rest over var(D) and over 2n − 3 degrees of freedom.
        let freedom = (2 * self.n - 3).max(1);
        let statistical =
            scaled(rest_squared, var_d, 1_000_000 >> 3).unwrap_or(0).checked_div(freedom).unwrap_or(0) as u64 * 8;
        // 1,000/√12.
        let common = u64::from(u32::from(self.placement_uncertainty) * 289)
            .checked_div(u64::from(motion))
            .unwrap_or(0)
            .min(0xFFFF);
        let uncertainty = (statistical + common * common).isqrt().min(0xFFFF) as u32;
        let slip = ((slip_q15 * 1_000) >> 15).clamp(-0xFFFF, 0xFFFF) as i32;
        let (within, guard) = (slip.abs() + 2 * uncertainty as i32, slip - 2 * uncertainty as i32);
        let (verdict, cause) = if self.n < i64::from(rule.sightings.max(2)) {
            (Verdict::Undecided, Cause::FewSightings)
        } else if motion < u32::from(rule.motion.max(1)) {
            (Verdict::Undecided, Cause::LittleMotion)
        } else if within <= i32::from(rule.stays) && rest <= u32::from(rule.rest) {
            if stepped_aside { (Verdict::Stays, Cause::Measured) } else { (Verdict::Undecided, Cause::NoStepAside) }
        } else if u64::from(rest) * 2_000 > u64::from(slip.unsigned_abs()) * u64::from(motion)
            && rest > u32::from(rule.rest)
        {
            // The slip explains less than the rest does twice over.
            (Verdict::Undecided, Cause::OtherMotion)
        } else if guard >= i32::from(rule.slides) {
            (Verdict::Slides, Cause::Measured)
        } else {
            (Verdict::Undecided, Cause::Unclear)
        };
        SlipJudgement { verdict, cause, slip, uncertainty, motion, rest, sightings: self.n as u16 }
    }
}
