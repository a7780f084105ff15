//! Frames to measure with, in sizes as real sensors have them, and the calls that are measured on them.
//!
//! Three users: `benches/frames.rs` for people, `bin/counts.rs` for instruction counts, `bin/frames.rs` beside the
//! general-purpose libraries (`cargo xtask peers`).

pub mod calls;

use rand_core::{RngCore as _, SeedableRng as _};
use rand_pcg::Pcg64Mcg;

/// Width and height in pixels.
pub const SIZES: [(u16, u16); 6] = [(32, 24), (80, 60), (160, 120), (256, 192), (320, 240), (640, 512)];

/// What a frame shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// Thirty round hot and cold spots, about 3 % of the pixels and a fifth of the smallest frame's: few regions, whose
    /// size grows with the frame.
    Blobs,
    /// A spot of five pixels somewhere in each block of 16 × 12, 2.6 % of the pixels: regions of one size whose number
    /// grows with the frame, for growth laws.
    Sparse,
    /// Every second pixel at random.
    Noise,
    /// Blocks of 4 × 4 pixels, every second one at random.
    Granular,
    /// A pixel in every second column of every second row, each stronger than the one before up to a limit: for a full
    /// table, the worst order there is.
    Rising,
    /// Every second column, joined at the bottom.
    Comb,
    /// Square rings, each open at one pixel toward the next: one winding arm with long straight runs.
    Spiral,
}

impl Content {
    /// All there are.
    pub const ALL: [Self; 7] =
        [Self::Blobs, Self::Sparse, Self::Rising, Self::Noise, Self::Granular, Self::Comb, Self::Spiral];

    /// Name in lists and commands.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Blobs => "blobs",
            Self::Sparse => "sparse",
            Self::Rising => "rising",
            Self::Noise => "noise",
            Self::Granular => "granular",
            Self::Comb => "comb",
            Self::Spiral => "spiral",
        }
    }
}

/// A frame and the thresholds that its content is made for.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Columns.
    pub width: u16,
    /// Counts, row by row.
    pub counts: Vec<u16>,
    /// Counts above this are hot.
    pub hot: u16,
    /// Counts below this are cold.
    pub cold: u16,
}

/// Makes a frame; the same seed gives the same frame.
#[must_use]
pub fn frame(content: Content, (width, height): (u16, u16), seed: u64) -> Frame {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let pixels = usize::from(width) * usize::from(height);
    let mut counts: Vec<u16> = (0..pixels).map(|_| 9_000 + (random.next_u32() % 12) as u16).collect();
    match content {
        Content::Blobs => {
            let radius = ((pixels as u64 / 3_000).isqrt() as i64).max(1);
            for number in 0..30 {
                let [x, y] = [width, height].map(|extent| i64::from(random.next_u32() % u32::from(extent)));
                spot(&mut counts, (width, height), (x, y), radius, number % 3 == 2);
            }
        }
        Content::Sparse => {
            for (top, left) in blocks((width, height)) {
                let center =
                    (left + 1 + i64::from(random.next_u32() % 14), top + 1 + i64::from(random.next_u32() % 10));
                spot(&mut counts, (width, height), center, 1, random.next_u32() % 3 == 2);
            }
        }
        Content::Rising => {
            let mut rise = 0;
            for (i, v) in counts.iter_mut().enumerate() {
                if i % usize::from(width) % 2 == 0 && i / usize::from(width) % 2 == 0 {
                    rise = (rise + 1).min(50_000);
                    *v = 9_400 + rise;
                }
            }
        }
        Content::Noise => counts.iter_mut().for_each(|v| *v += 2_000 * (random.next_u32() % 2) as u16),
        Content::Granular => {
            let columns = usize::from(width).div_ceil(4);
            let blocks = columns * usize::from(height).div_ceil(4);
            let hot: Vec<u16> = (0..blocks).map(|_| 2_000 * (random.next_u32() % 2) as u16).collect();
            for (i, v) in counts.iter_mut().enumerate() {
                let (x, y) = (i % usize::from(width), i / usize::from(width));
                *v += hot[y / 4 * columns + x / 4];
            }
        }
        Content::Spiral => {
            for (i, v) in counts.iter_mut().enumerate() {
                let at = (i % usize::from(width), i / usize::from(width));
                *v += if on_spiral(at, (usize::from(width), usize::from(height))) { 2_000 } else { 0 };
            }
        }
        Content::Comb => {
            for (i, v) in counts.iter_mut().enumerate() {
                let (x, last_row) = (i % usize::from(width), i >= pixels - usize::from(width));
                *v += if x % 2 == 0 || last_row { 2_000 } else { 0 };
            }
        }
    }
    Frame { width, counts, hot: 9_400, cold: 8_700 }
}

/// Whether a pixel lies on the arm: an even distance from the edge, but for one pixel below each ring's first corner,
/// which gives way to the passage inward.
fn on_spiral((x, y): (usize, usize), (width, height): (usize, usize)) -> bool {
    let ring = x.min(y).min(width - 1 - x).min(height - 1 - y);
    if ring % 2 == 0 { !(x == ring && y == ring + 1) } else { x == ring && y == ring + 1 }
}

/// First row and column of the whole blocks of 16 × 12.
fn blocks((width, height): (u16, u16)) -> impl Iterator<Item = (i64, i64)> {
    let lefts = (0..i64::from(width / 16)).map(|column| 16 * column);
    (0..i64::from(height / 12)).flat_map(move |row| lefts.clone().map(move |left| (12 * row, left)))
}

/// A round spot, as far as it lies in the frame, rising or falling by 700 counts toward the middle.
fn spot(counts: &mut [u16], (width, height): (u16, u16), (cx, cy): (i64, i64), radius: i64, cold: bool) {
    for dy in -radius..=radius {
        for dx in -radius..=radius {
            let (x, y, d2) = (cx + dx, cy + dy, dx * dx + dy * dy);
            let inside =
                d2 <= radius * radius && (0..i64::from(width)).contains(&x) && (0..i64::from(height)).contains(&y);
            if inside {
                let rise = 500 + 700 * (radius * radius - d2) / (radius * radius);
                let v = &mut counts[y as usize * usize::from(width) + x as usize];
                *v = if cold { 9_000 - rise as u16 } else { 9_000 + rise as u16 };
            }
        }
    }
}
