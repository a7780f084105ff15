//! Exact intervals, the exact test for a drop, and the curve of detection against severity.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::gamma_ur;
use statrs::stats_tests::Alternative;
use statrs::stats_tests::fisher::fishers_exact;

/// Some of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub(super) struct Share {
    /// How many were so.
    pub(super) hits: u32,
    /// Out of how many.
    pub(super) of: u32,
}

impl Share {
    pub(super) fn add(&mut self, hit: bool) {
        self.hits += u32::from(hit);
        self.of += 1;
    }

    /// The share itself; 0 of nothing.
    pub(super) fn value(self) -> f64 {
        if self.of == 0 { 0.0 } else { f64::from(self.hits) / f64::from(self.of) }
    }

    /// Two-sided exact 95 % interval (Clopper and Pearson 1934): the shares under which as many hits or more, and as
    /// many or fewer, each have a chance of 2.5 %.
    pub(super) fn interval(self) -> (f64, f64) {
        let (hits, misses) = (f64::from(self.hits), f64::from(self.of - self.hits));
        let lower = if self.hits == 0 { 0.0 } else { beta_quantile(hits, misses + 1.0, 0.025) };
        let upper = if self.hits == self.of { 1.0 } else { beta_quantile(hits + 1.0, misses, 0.975) };
        (lower, upper)
    }

    /// Chance of a share at most this small, were the true share that of `before` (one-sided Fisher exact test).
    pub(super) fn chance_of_drop_from(self, before: Self) -> f64 {
        let misses = |share: Self| u64::from(share.of - share.hits);
        let table = [u64::from(self.hits), misses(self), u64::from(before.hits), misses(before)];
        fishers_exact(&table, Alternative::Less).unwrap_or(1.0)
    }
}

/// Quantile of the beta distribution by bisection of its distribution function: 60 halvings, 1e-18 wide. The library's
/// own inverse (algorithm AS 64) trades accuracy at the ends for speed.
fn beta_quantile(a: f64, b: f64, probability: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if beta_reg(a, b, middle) < probability { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Detection against severity: p = 1 / (1 + exp(−(intercept + slope·x))), x the logarithm of the severity where all are
/// above 0, else the severity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Logistic {
    intercept: f64,
    slope: f64,
    logarithmic: bool,
    /// Covariance of intercept and slope: variances, then their covariance.
    covariance: [f64; 3],
    range: (f64, f64),
}

impl Logistic {
    /// Fits by maximum likelihood with the penalty of Firth (1993), which keeps the slope finite when found and not
    /// found do not overlap. None if all severities are alike or all outcomes are.
    pub(super) fn fit(points: &[(f64, bool)]) -> Option<Self> {
        let logarithmic = points.iter().all(|(severity, _)| *severity > 0.0);
        let scale = |severity: f64| if logarithmic { libm::log(severity) } else { severity };
        let low = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        let found = points.iter().filter(|p| p.1).count();
        if high <= low || found == 0 || found == points.len() {
            return None;
        }
        // Centered and scaled to one, so that the iteration has no scale.
        let (middle, half) = (0.5 * (scale(low) + scale(high)), 0.5 * (scale(high) - scale(low)));
        let unit: Vec<(f64, f64)> =
            points.iter().map(|&(s, hit)| ((scale(s) - middle) / half, f64::from(u8::from(hit)))).collect();
        let (mut b0, mut b1) = (0.0, 0.0);
        let mut inverse = [0.0; 3];
        for _ in 0..200 {
            let chance = |x: f64| 1.0 / (1.0 + libm::exp(-(b0 + b1 * x)));
            let (mut i00, mut i11, mut i01) = (0.0, 0.0, 0.0);
            for (x, _) in &unit {
                let weight = chance(*x) * (1.0 - chance(*x));
                i00 += weight;
                i11 += weight * x * x;
                i01 += weight * x;
            }
            let determinant = i00 * i11 - i01 * i01;
            if determinant <= 0.0 {
                return None;
            }
            inverse = [i11 / determinant, i00 / determinant, -i01 / determinant];
            let (mut s0, mut s1) = (0.0, 0.0);
            for (x, y) in &unit {
                let p = chance(*x);
                let leverage = p * (1.0 - p) * (inverse[0] + 2.0 * x * inverse[2] + x * x * inverse[1]);
                let residual = y - p + leverage * (0.5 - p);
                s0 += residual;
                s1 += residual * x;
            }
            let (d0, d1) = (inverse[0] * s0 + inverse[2] * s1, inverse[2] * s0 + inverse[1] * s1);
            // Half steps at most: far from the solution the curvature is that of a flat tail.
            let limit = (2.0 / d0.abs().max(d1.abs())).min(1.0);
            b0 += limit * d0;
            b1 += limit * d1;
            if d0.abs().max(d1.abs()) < 1e-10 {
                break;
            }
        }
        // Back to the severity's own scale: intercept = b0 − b1·middle/half, slope = b1/half.
        let m = middle / half;
        let variance0 = inverse[0] - 2.0 * m * inverse[2] + m * m * inverse[1];
        let covariance = [variance0, inverse[1] / (half * half), (inverse[2] - m * inverse[1]) / half];
        Some(Self { intercept: b0 - b1 * m, slope: b1 / half, logarithmic, covariance, range: (low, high) })
    }

    /// True if more of the severity is seen more often.
    pub(super) fn rises(&self) -> bool {
        self.slope > 0.0
    }

    /// Chance of shares as far from the curve as those of [`PARTS`] parts of the points, were the curve true (Hosmer and
    /// Lemeshow 1980: chi-squared with two degrees of freedom fewer than parts).
    pub(super) fn chance_of_misfit(&self, points: &[(f64, bool)]) -> f64 {
        let misfit = |part: &[(f64, bool)]| {
            let expected: f64 = part.iter().map(|(severity, _)| self.chance(*severity)).sum();
            let spread: f64 = part.iter().map(|(s, _)| self.chance(*s) * (1.0 - self.chance(*s))).sum();
            let off = part.iter().filter(|(_, hit)| *hit).count() as f64 - expected;
            // Where the curve is all but 0 or 1, a single stray outcome is worth at most its own surprise.
            off * off / spread.max(0.5)
        };
        let sum: f64 = parts(points).iter().map(|part| misfit(part)).sum();
        let freedom = PARTS as f64 - 2.0;
        // The upper tail of chi-squared is a regularized upper incomplete gamma function.
        gamma_ur(0.5 * freedom, 0.5 * sum.max(1e-12))
    }

    /// Chance of detection at a severity.
    pub(super) fn chance(&self, severity: f64) -> f64 {
        let x = if self.logarithmic { libm::log(severity) } else { severity };
        1.0 / (1.0 + libm::exp(-(self.intercept + self.slope * x)))
    }

    /// Severity with this chance of detection and its 95 % interval (delta method); none where it lies outside the
    /// severities that were tried, for the curve says nothing there.
    pub(super) fn severity(&self, chance: f64) -> Option<(f64, f64, f64)> {
        let logit = libm::log(chance / (1.0 - chance));
        let x = (logit - self.intercept) / self.slope;
        let [v0, v1, v01] = self.covariance;
        let spread = 1.96 * libm::sqrt((v0 + 2.0 * x * v01 + x * x * v1).max(0.0)) / self.slope.abs();
        let back = |x: f64| if self.logarithmic { libm::exp(x) } else { x };
        let at = back(x);
        (self.range.0 <= at && at <= self.range.1).then(|| (at, back(x - spread), back(x + spread)))
    }
}

/// Parts into which points are cut for plots and for the test of the curve.
pub(super) const PARTS: usize = 6;

/// Fewest points from a severity of the monotone fit on: with fewer, 95 % cannot be told from 90.
const LEAST_BEYOND: usize = 20;

/// Points by severity, cut into [`PARTS`] parts of about the same number.
pub(super) fn parts(points: &[(f64, bool)]) -> Vec<Vec<(f64, bool)>> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    sorted.chunks(sorted.len().div_ceil(PARTS).max(1)).map(<[_]>::to_vec).collect()
}

/// First severity, from the harmless end on, at which the monotone fit (pool adjacent violators, Ayer et al. 1955)
/// reaches a chance; none if it never does.
pub(super) fn monotone(points: &[(f64, bool)], rises: bool, chance: f64) -> Option<f64> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| if rises { a.0.total_cmp(&b.0) } else { b.0.total_cmp(&a.0) });
    // Blocks: first severity and share.
    let mut blocks: Vec<(f64, Share)> = Vec::new();
    for (severity, hit) in sorted {
        let mut block = (severity, Share { hits: u32::from(hit), of: 1 });
        while let Some((first, before)) = blocks.last().copied() {
            if before.value() < block.1.value() {
                break;
            }
            block = (first, Share { hits: before.hits + block.1.hits, of: before.of + block.1.of });
            blocks.pop();
        }
        blocks.push(block);
    }
    // A last few hits in a row are no plateau at 1.
    let mut left = points.len();
    let enough = blocks.into_iter().map(|(severity, share)| {
        left -= share.of as usize;
        (severity, share, left + share.of as usize >= LEAST_BEYOND)
    });
    enough.filter(|(.., enough)| *enough).find(|(_, share, _)| share.value() >= chance).map(|(severity, ..)| severity)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms at the ends, the rest from `scipy.stats.beta.ppf` (SciPy 1.17.1).
    #[test]
    fn intervals_are_exact() {
        let (low, high) = Share { hits: 0, of: 60 }.interval();
        assert!(low == 0.0 && (high - (1.0 - libm::pow(0.025, 1.0 / 60.0))).abs() < 1e-12);
        let (low, high) = Share { hits: 7, of: 7 }.interval();
        assert!(high == 1.0 && (low - libm::pow(0.025, 1.0 / 7.0)).abs() < 1e-12);
        for (hits, of, from, to) in [
            (1, 12, 0.002_107_593_231_860_226_4, 0.384_796_165_150_944_06),
            (37, 60, 0.482_114_951_431_161_45, 0.739_292_941_974_000_8),
            (59, 60, 0.910_600_949_942_513, 0.999_578_125_547_658),
            (100, 400, 0.208_301_506_681_963_4, 0.295_441_718_635_316_8),
        ] {
            let (low, high) = Share { hits, of }.interval();
            assert!((low - from).abs() < 1e-9 && (high - to).abs() < 1e-9, "{hits}/{of}: {low} {high}");
        }
    }

    /// Both tails by summing the binomial distribution, which is the definition of the interval.
    #[test]
    fn an_interval_leaves_its_tails_outside() {
        let tail = |p: f64, hits: u32, of: u32, upper: bool| -> f64 {
            let chance = |k: u32| {
                let ways: f64 = (0..k).map(|i| f64::from(of - i) / f64::from(k - i)).product();
                ways * libm::pow(p, f64::from(k)) * libm::pow(1.0 - p, f64::from(of - k))
            };
            if upper { (hits..=of).map(chance).sum() } else { (0..=hits).map(chance).sum() }
        };
        for (hits, of) in [(1, 12), (37, 60), (59, 60), (100, 400)] {
            let (low, high) = Share { hits, of }.interval();
            assert!((tail(low, hits, of, true) - 0.025).abs() < 1e-9, "{hits}/{of}");
            assert!((tail(high, hits, of, false) - 0.025).abs() < 1e-9, "{hits}/{of}");
        }
    }

    /// The tea-tasting table: one-sided 17/70 and 1/70 (Fisher 1935).
    #[test]
    fn a_drop_is_tested_exactly() {
        let share = |hits| Share { hits, of: 4 };
        assert!((share(1).chance_of_drop_from(share(3)) - 17.0 / 70.0).abs() < 1e-9);
        assert!((share(0).chance_of_drop_from(share(4)) - 1.0 / 70.0).abs() < 1e-9);
        assert!((share(4).chance_of_drop_from(share(4)) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_curve_is_recovered_from_its_own_draws() {
        let mut draw = oddheat_scenes::draw::Draw::new(3, "curve");
        let points: Vec<(f64, bool)> = (0..4_000)
            .map(|_| {
                let severity = libm::exp(draw.uniform(0.0, 4.0));
                let chance = 1.0 / (1.0 + libm::exp(-3.0 * (libm::log(severity) - 2.0)));
                (severity, draw.chance(chance))
            })
            .collect();
        let fit = Logistic::fit(&points).unwrap();
        for (chance, truth) in [(0.5, libm::exp(2.0)), (0.95, libm::exp(2.0 + libm::log(19.0) / 3.0))] {
            let (at, low, high) = fit.severity(chance).unwrap();
            // Twice the half width: a miss in 10,000.
            let (low, high) = (at - 2.0 * (at - low), at + 2.0 * (high - at));
            assert!(low < truth && truth < high, "{at} {low}…{high} for {truth}");
            assert!((fit.chance(at) - chance).abs() < 1e-9);
            assert!(high / low < 1.5);
            let free = monotone(&points, true, chance).unwrap();
            assert!((free / truth - 1.0).abs() < 0.2, "{free} for {truth}");
        }
        assert!(fit.rises() && fit.chance_of_misfit(&points) > 0.01, "{}", fit.chance_of_misfit(&points));
    }

    /// A curve that stops rising at 60 % is not a logistic one, and never reaches 95 %.
    #[test]
    fn a_plateau_is_told_from_a_curve() {
        let mut draw = oddheat_scenes::draw::Draw::new(3, "plateau");
        let points: Vec<(f64, bool)> = (0..600)
            .map(|_| {
                let severity = libm::exp(draw.uniform(0.0, 8.0));
                (severity, severity > 20.0 && draw.chance(0.6))
            })
            .collect();
        let fit = Logistic::fit(&points).unwrap();
        assert!(fit.chance_of_misfit(&points) < 0.01);
        let half = monotone(&points, true, 0.5).unwrap();
        assert!(half > 15.0 && half < 60.0, "{half}");
        assert_eq!(monotone(&points, true, 0.95), None);
        assert_eq!(monotone(&[], true, 0.5), None);
    }

    /// Pool adjacent violators by hand: 0 | 1 0 0 | 1 1 pools the middle to a third.
    #[test]
    fn violators_are_pooled() {
        let hits = [false, true, false, false, true, true];
        let mut points: Vec<(f64, bool)> = (1..).zip(hits).map(|(i, hit)| (f64::from(i), hit)).collect();
        assert_eq!(monotone(&points, true, 0.3), None);
        points.extend((7..27).map(|i| (f64::from(i), true)));
        assert_eq!(monotone(&points, true, 0.3), Some(2.0));
        assert_eq!(monotone(&points, true, 0.5), Some(5.0));
        let falling: Vec<(f64, bool)> = points.iter().map(|(s, hit)| (-s, *hit)).collect();
        assert_eq!(monotone(&falling, false, 0.5), Some(-5.0));
    }

    /// Where found and not found do not overlap the limit lies between them; fewer severities than two say nothing.
    #[test]
    fn separated_and_empty_data_are_taken() {
        let points: Vec<(f64, bool)> = (1..=40).map(|i| (f64::from(i), i > 20)).collect();
        let (at, ..) = Logistic::fit(&points).unwrap().severity(0.5).unwrap();
        assert!(at > 19.0 && at < 22.0, "{at}");
        assert_eq!(Logistic::fit(&[(1.0, true), (1.0, false)]), None);
        assert_eq!(Logistic::fit(&[(1.0, true), (2.0, true)]), None);
        // Less is worse: a falling curve.
        let falling: Vec<(f64, bool)> = (1..=40).map(|i| (f64::from(i), i < 20)).collect();
        assert!(Logistic::fit(&falling).unwrap().chance(2.0) > 0.9);
    }
}
