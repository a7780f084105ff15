//! Frames to measure with: blobs on uneven ground, noise, a comb. Sizes as real sensors have them.

use rand_core::{RngCore as _, SeedableRng as _};
use rand_pcg::Pcg64Mcg;

/// Width and height in pixels.
pub const SIZES: [(u16, u16); 6] = [(32, 24), (80, 60), (160, 120), (256, 192), (320, 240), (640, 512)];

/// What a frame shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// Round hot and cold spots, about 3 % of the pixels.
    Blobs,
    /// Every second pixel at random.
    Noise,
    /// Every second column, joined at the bottom.
    Comb,
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
        Content::Blobs => blobs(&mut counts, (width, height), &mut random),
        Content::Noise => counts.iter_mut().for_each(|v| *v += 2_000 * (random.next_u32() % 2) as u16),
        Content::Comb => {
            for (i, v) in counts.iter_mut().enumerate() {
                let (x, last_row) = (i % usize::from(width), i >= pixels - usize::from(width));
                *v += if x % 2 == 0 || last_row { 2_000 } else { 0 };
            }
        }
    }
    Frame { width, counts, hot: 9_400, cold: 8_700 }
}

/// Thirty spots that cover about 3 %: two of three hot, rising by 700 counts toward the middle.
fn blobs(counts: &mut [u16], (width, height): (u16, u16), random: &mut Pcg64Mcg) {
    let radius = ((counts.len() as u64 / 3_000).isqrt() as i64).max(1);
    for spot in 0..30 {
        let center =
            (i64::from(random.next_u32() % u32::from(width)), i64::from(random.next_u32() % u32::from(height)));
        for dy in -radius..=radius {
            for dx in -radius..=radius {
                let (x, y, d2) = (center.0 + dx, center.1 + dy, dx * dx + dy * dy);
                let inside =
                    d2 <= radius * radius && (0..i64::from(width)).contains(&x) && (0..i64::from(height)).contains(&y);
                if inside {
                    let rise = 500 + 700 * (radius * radius - d2) / (radius * radius);
                    let v = &mut counts[y as usize * usize::from(width) + x as usize];
                    *v = if spot % 3 == 2 { 9_000 - rise as u16 } else { 9_000 + rise as u16 };
                }
            }
        }
    }
}
