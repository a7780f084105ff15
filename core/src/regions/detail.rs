//! What a region is asked beyond area, box, peak and mean: shape, spread and contrast, for those who lend the memory.
//!
//! Everything is summed in integers while the rows go by, so a detail costs a few additions per run and, for spread and
//! centroid, a multiplication per pixel of a region. Ordinary pixels cost nothing more.

use super::region::Sign;
use super::run::Run;
use crate::radiometry::Thresholds;
use fixed::types::{U16F16, U24F8};

/// A run as a detail sees it.
#[derive(Clone, Copy, Debug)]
pub struct RunPixels<'r> {
    /// The whole row.
    pub row: &'r [u16],
    /// First column of the run.
    pub start: u16,
    /// One past its last column.
    pub end: u16,
    /// The row's number.
    pub y: u16,
    /// Threshold that the pixels lie beyond, counts.
    pub threshold: u16,
    /// Lowest and highest ordinary count.
    pub ordinary: (u16, u16),
    /// Runs of the region in the row above that this one touches.
    pub contacts: u32,
    /// Columns in which it lies below them.
    pub overlap: u32,
}

impl<'r> RunPixels<'r> {
    pub(super) fn new(row: &'r [u16], run: Run, y: u16, thresholds: Thresholds, contacts: u32, overlap: u32) -> Self {
        let ordinary = (thresholds.cold(), thresholds.hot());
        let threshold = if run.sign() == Sign::Hot { thresholds.hot() } else { thresholds.cold() };
        let Run { start, end, .. } = run;
        Self { row, start, end, y, threshold, ordinary, contacts, overlap }
    }
}

/// What is kept of each region beside the [`super::Region`]: nothing, which is `()`, or a [`Shape`].
pub trait Detail: Copy {
    /// Of no pixels.
    const EMPTY: Self;
    /// Whether contacts and overlaps are to be counted.
    const WANTED: bool;

    /// Adds a run.
    fn add_run(&mut self, run: &RunPixels<'_>);

    /// Adds another part of the same region.
    fn add(&mut self, other: &Self);

    /// What is told of a region.
    type Report;

    /// The report of a region of `area` pixels whose columns and rows add up to `sums`.
    fn report(&self, area: u32, sums: (u64, u64)) -> Self::Report;
}

impl Detail for () {
    const EMPTY: Self = ();
    const WANTED: bool = false;

    #[inline(always)]
    fn add_run(&mut self, _: &RunPixels<'_>) {}

    #[inline(always)]
    fn add(&mut self, (): &Self) {}

    type Report = ();

    #[inline(always)]
    fn report(&self, _: u32, _: (u64, u64)) {}
}

/// Sums from which shape, spread and contrast of a region follow; 80 bytes.
///
/// *Overflow*: for frames of 65,535 × 65,535 pixels of 65,535 counts all sums fit, but for the edges: those of a region
/// of more than 2³⁰ single pixels wrap.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    xx: u64,
    yy: u64,
    xy: u64,
    /// Counts beyond the threshold: sum, sum of squares, and weighted by column and row.
    beyond: u64,
    beyond_squared: u64,
    beyond_x: u64,
    beyond_y: u64,
    /// Ordinary pixels beside the runs.
    flank: u64,
    flank_pixels: u32,
    /// Pixel edges between the region and the rest.
    edges: u32,
    /// Runs less contacts.
    euler: i32,
}

/// Columns between a run and the ordinary pixels it is compared with (proposal): the halo of the optics lies in between.
const GAP: usize = 1;

impl Detail for Shape {
    const EMPTY: Self = Self {
        xx: 0,
        yy: 0,
        xy: 0,
        beyond: 0,
        beyond_squared: 0,
        beyond_x: 0,
        beyond_y: 0,
        flank: 0,
        flank_pixels: 0,
        edges: 0,
        euler: 0,
    };
    const WANTED: bool = true;

    fn add_run(&mut self, run: &RunPixels<'_>) {
        let (start, end, y) = (u64::from(run.start), u64::from(run.end), u64::from(run.y));
        let pixels = end - start;
        // 0² + … + (n − 1)² = (n − 1)·n·(2n − 1)/6; the product stays below 2⁵⁰.
        let squares_below = |n: u64| n.saturating_sub(1) * n * (2 * n).saturating_sub(1) / 6;
        let sum_x = pixels * (start + end - 1) / 2;
        self.xx = self.xx.wrapping_add(squares_below(end) - squares_below(start));
        self.yy = self.yy.wrapping_add(pixels * y * y);
        self.xy = self.xy.wrapping_add(sum_x * y);
        let (mut sum, mut squares, mut weighted) = (0u64, 0u64, 0u64);
        let (first, last) = (usize::from(run.start), usize::from(run.end));
        for (x, &v) in (start..end).zip(run.row.get(first..last).unwrap_or(&[])) {
            let beyond = u64::from(v.abs_diff(run.threshold));
            sum += beyond;
            squares += beyond * beyond;
            weighted += beyond * x;
        }
        self.beyond += sum;
        self.beyond_squared = self.beyond_squared.wrapping_add(squares);
        self.beyond_x += weighted;
        self.beyond_y += sum * y;
        let (cold, hot) = run.ordinary;
        for x in [first.wrapping_sub(GAP + 1), last + GAP] {
            if let Some(&v) = run.row.get(x)
                && (cold..=hot).contains(&v)
            {
                self.flank += u64::from(v);
                self.flank_pixels = self.flank_pixels.saturating_add(1);
            }
        }
        // A run by itself has an edge above and below each pixel and one at each end; where it lies below another run, an
        // edge of each goes.
        let edges = (2 * pixels as u32 + 2).wrapping_sub(2 * run.overlap);
        self.edges = self.edges.wrapping_add(edges);
        self.euler = self.euler.wrapping_add(1).wrapping_sub_unsigned(run.contacts);
    }

    fn add(&mut self, other: &Self) {
        let sum = u64::wrapping_add;
        *self = Self {
            xx: sum(self.xx, other.xx),
            yy: sum(self.yy, other.yy),
            xy: sum(self.xy, other.xy),
            beyond: sum(self.beyond, other.beyond),
            beyond_squared: sum(self.beyond_squared, other.beyond_squared),
            beyond_x: sum(self.beyond_x, other.beyond_x),
            beyond_y: sum(self.beyond_y, other.beyond_y),
            flank: sum(self.flank, other.flank),
            flank_pixels: self.flank_pixels.saturating_add(other.flank_pixels),
            edges: self.edges.wrapping_add(other.edges),
            euler: self.euler.wrapping_add(other.euler),
        };
    }

    type Report = ShapeReport;

    fn report(&self, area: u32, sums: (u64, u64)) -> ShapeReport {
        Self::report(self, area, sums)
    }
}

impl Shape {
    /// What follows from the sums.
    fn report(&self, area: u32, (sum_x, sum_y): (u64, u64)) -> ShapeReport {
        let n = i128::from(area.max(1));
        let moment = |sum: u64, a: u64, b: u64| {
            let central = n * i128::from(sum) - i128::from(a) * i128::from(b);
            (central << 16).checked_div(n * n).unwrap_or(0) as i64
        };
        let weighted = |sum: u64| {
            let bits = (u128::from(sum) << 16).checked_div(u128::from(self.beyond)).unwrap_or(0);
            U16F16::from_bits(bits as u32)
        };
        let (pixels, sum, squares) = (n as u128, u128::from(self.beyond), u128::from(self.beyond_squared));
        // n²·variance in Q16; its root is n·deviation in Q8.
        let spread = (pixels * squares).saturating_sub(sum * sum) << 16;
        let flank = self.flank.checked_mul(256).and_then(|sum| sum.checked_div(u64::from(self.flank_pixels)));
        ShapeReport {
            standard_deviation: U24F8::from_bits(spread.isqrt().checked_div(pixels).unwrap_or(0) as u32),
            weighted_x: weighted(self.beyond_x),
            weighted_y: weighted(self.beyond_y),
            moment_xx: moment(self.xx, sum_x, sum_x),
            moment_yy: moment(self.yy, sum_y, sum_y),
            moment_xy: moment(self.xy, sum_x, sum_y),
            perimeter: self.edges,
            holes: 1i32.saturating_sub(self.euler).unsigned_abs(),
            flank_mean: flank.and_then(|bits| u32::try_from(bits).ok()).map(U24F8::from_bits),
        }
    }
}

/// Shape, spread and contrast of a region; of one marked incomplete, those of what was kept of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShapeReport {
    /// Standard deviation of the region's own counts, truncated to 1/256 count.
    pub standard_deviation: U24F8,
    /// Column of the centroid weighted by the counts beyond the threshold, truncated to 1/65,536 pixel: where the heat
    /// is, rather than where the outline is.
    pub weighted_x: U16F16,
    /// Row of it.
    pub weighted_y: U16F16,
    /// Central second moment along x, 1/65,536 pixel²: of pixel centers, so a column of pixels has 0.
    pub moment_xx: i64,
    /// Along y.
    pub moment_yy: i64,
    /// Mixed.
    pub moment_xy: i64,
    /// Pixel edges between the region and what is not the region, around holes too: 4 for a single pixel.
    pub perimeter: u32,
    /// Holes: one less the Euler number, in the region's connectivity.
    pub holes: u32,
    /// Mean of the ordinary pixels left and right of the region's runs, one column away, truncated to 1/256 count;
    /// `None` if there are none. What the region's mean or peak differs by is its contrast with its surroundings.
    pub flank_mean: Option<U24F8>,
}

impl ShapeReport {
    /// Longer over shorter axis, the root of the ratio of the principal moments, in 1/256: 256 is round, 65,535 is 256 or
    /// more.
    #[must_use]
    pub fn elongation_q8(&self) -> u16 {
        let (xx, yy, xy) = (i128::from(self.moment_xx), i128::from(self.moment_yy), i128::from(self.moment_xy));
        // Eigenvalues are half of sum ± root; a pixel's own extent, 1/12 pixel², keeps a line's smaller one from 0.
        let root = ((xx - yy) * (xx - yy) + 4 * xy * xy).unsigned_abs().isqrt();
        let sum = (xx + yy + 2 * 65_536 / 12).unsigned_abs();
        let ratio_q16 = ((sum + root) << 16).checked_div(sum.saturating_sub(root)).unwrap_or(u128::MAX);
        u16::try_from(ratio_q16.isqrt()).unwrap_or(u16::MAX)
    }

    /// Direction of the long axis in degrees from the x axis toward y (downward), −90 to 90; for display only: it is half
    /// of an arc tangent by `micromath`, which is off by 0.162° at most (read: its documentation), and a round region
    /// has no direction at all.
    #[must_use]
    #[allow(clippy::float_arithmetic, reason = "for display only, never in a temperature or a decision")]
    pub fn orientation_degrees(&self) -> f32 {
        let (y, x) = (2.0 * self.moment_xy as f32, (self.moment_xx - self.moment_yy) as f32);
        micromath::F32Ext::atan2(y, x) * (90.0 / core::f32::consts::PI)
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for ShapeReport {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(
            f,
            "deviation {}/256, elongation {}/256, perimeter {}, holes {}",
            self.standard_deviation.to_bits(),
            self.elongation_q8(),
            self.perimeter,
            self.holes
        );
    }
}
