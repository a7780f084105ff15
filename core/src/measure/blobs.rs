//! Finds a row of like items, evenly spaced, among the boxes of regions.
//!
//! *What.* Any two blobs of like size propose a step; the proposal that most others follow is the row, its places fitted to
//! all of them. Places of the row without a blob are reported: a fuse that is cold among warm ones is what one looks for.
//! *Cost.* n³ short steps for n blobs, at most 32.

use super::fit::line;
use crate::radiometry::Estimate;

/// Most blobs that are looked at; lend the strongest.
pub const MAX_BLOBS: usize = 32;
/// Most places in a row.
const MAX_PLACES: i32 = 32;
/// Part of the step by which a blob may lie off its place; a proposal.
const OFF: f64 = 0.2;
/// Standard uncertainty of a center because boxes are cut to pixels: a rectangular distribution of one pixel, 1/√12.
const CUT: f64 = 0.289;
/// Rows of as many items, as even as the one found, that scattered blobs may be expected to form; more, and it is no
/// finding. A proposal: by draws of 3 to 32 scattered blobs a row was found in at most one field of 50, and one that
/// was there
/// among as many others in 199 of 200.
const BY_CHANCE: f64 = 0.1;
/// Least part of the places that hold a blob, in 1/1,000; a proposal.
const LEAST_FILLED: u16 = 600;

/// Box of a region: center and size in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blob {
    /// Column of the center.
    pub x: f64,
    /// Row of the center.
    pub y: f64,
    /// Columns.
    pub width: u16,
    /// Rows.
    pub height: u16,
}

/// A row of items.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FoundRow {
    /// Center of the first place: column and row.
    pub first: (f64, f64),
    /// Step to the next place: columns and rows.
    pub step: (Estimate, Estimate),
    /// Places, the first and the last of which hold a blob.
    pub places: u8,
    /// A bit for each place that holds a blob, the lowest for the first.
    pub filled: u32,
    /// How sure, in 1/1,000: the part of the places that hold a blob, times the part of the even spacing that is kept: 1
    /// less the root mean square distance of the blobs from their places over a fifth of the step. At least 300, for a row
    /// of three 750.
    pub confidence: u16,
}

/// Least confidence that is given, in 1/1,000, and that of a row of three, which scattered blobs form easily; proposals.
const LEAST_CONFIDENCE: u16 = 300;
const LEAST_OF_THREE: u16 = 750;

impl Blob {
    /// Of a region's box, both corners included.
    #[must_use]
    pub fn of_box(x0: u16, y0: u16, x1: u16, y1: u16) -> Self {
        let middle = |a: u16, b: u16| (f64::from(a) + f64::from(b)) / 2.0;
        let size = |a: u16, b: u16| b.saturating_sub(a).saturating_add(1);
        Self { x: middle(x0, x1), y: middle(y0, y1), width: size(x0, x1), height: size(y0, y1) }
    }

    /// Neither side more than twice the other's.
    fn is_like(&self, other: &Self) -> bool {
        let alike = |a: u16, b: u16| u32::from(a) <= 2 * u32::from(b) && u32::from(b) <= 2 * u32::from(a);
        alike(self.width, other.width) && alike(self.height, other.height)
    }
}

/// A proposal: which blob is at which place.
#[derive(Clone, Copy)]
struct Chain<'b> {
    blobs: &'b [Blob],
    from: Blob,
    step: (f64, f64),
}

impl<'b> Chain<'b> {
    /// Blob nearest to a place of the image, within the tolerance for this step. By squares: this is the inner loop.
    fn near(&self, (x, y): (f64, f64), step: (f64, f64)) -> Option<&'b Blob> {
        let mut least = OFF * OFF * squared(step);
        let mut nearest = None;
        for blob in self.blobs.iter().filter(|blob| blob.is_like(&self.from)) {
            let distance = squared((blob.x - x, blob.y - y));
            if distance <= least {
                (least, nearest) = (distance, Some(blob));
            }
        }
        nearest
    }

    /// Places with their blobs either way from the one it starts at, which is place 0.
    fn row(self) -> impl Iterator<Item = (i32, &'b Blob)> + Clone {
        let back = Self { step: (-self.step.0, -self.step.1), ..self };
        self.places().chain(back.places().skip(1).map(|(place, blob)| (-place, blob)))
    }

    /// Places with their blobs one way, until two in a row are missing. The step is taken anew from each blob found,
    /// and the next
    /// place from the last blob: errors of the first two blobs do not grow with the distance.
    fn places(self) -> impl Iterator<Item = (i32, &'b Blob)> + Clone {
        let (mut place, mut last, mut at, mut step) = (-1, 0, (self.from.x, self.from.y), self.step);
        core::iter::from_fn(move || {
            while place + 1 < MAX_PLACES && place - last < 2 {
                place += 1;
                let ahead = f64::from(place - last);
                let expected = (at.0 + step.0 * ahead, at.1 + step.1 * ahead);
                if let Some(blob) = self.near(expected, step) {
                    (last, at) = (place, (blob.x, blob.y));
                    if place > 0 {
                        let n = f64::from(place);
                        step = ((blob.x - self.from.x) / n, (blob.y - self.from.y) / n);
                    }
                    return Some((place, blob));
                }
            }
            None
        })
    }
}

/// Square of a length.
fn squared((x, y): (f64, f64)) -> f64 {
    x * x + y * y
}

/// How many rows as good as this scattered blobs of as many would form: pairs that propose one, times the chance for each
/// further item that one of the others lies as near to its place, times the choices of places that stay empty. Never inlined,
/// like [`longest`].
#[inline(never)]
fn by_chance(blobs: &[Blob], chain: &Chain<'_>, found: usize, places: i32, rms: f64) -> f64 {
    let like = || blobs.iter().filter(|blob| blob.is_like(&chain.from));
    let (mut low, mut high) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
    for blob in like() {
        low = (low.0.min(blob.x), low.1.min(blob.y));
        high = (high.0.max(blob.x), high.1.max(blob.y));
    }
    let (wide, tall) = (high.0 - low.0, high.1 - low.1);
    // The box of a row alone has no area; a row lies in a field at least half as wide as it is long.
    let long = wide.max(tall);
    let area = wide.max(long / 2.0) * tall.max(long / 2.0);
    // Twice the scatter that is seen, and a pixel that even boxes are off.
    let near = (2.0 * rms + 1.0).min(OFF * libm::sqrt(squared(chain.step)));
    let count = like().count() as f64;
    let one = ((count - 2.0) * core::f64::consts::PI * near * near / area).min(1.0);
    let mut expected = count * (count - 1.0) / 2.0;
    for item in 2..found {
        // Places between are chosen one by one: (places − 2 over found − 2).
        let left = f64::from(places) - item as f64;
        expected *= one * (left / (found - item) as f64).max(1.0);
    }
    expected
}

/// The proposal of a row with the most items, and how many; nothing if another in another direction has as many. Never
/// inlined, so that what it takes of the stack is gone before the row is fitted.
#[inline(never)]
fn longest(blobs: &[Blob]) -> Option<(usize, Chain<'_>)> {
    let mut best: Option<(usize, f64, Chain<'_>)> = None;
    let mut rival = false;
    for from in blobs {
        for to in blobs {
            let (step, like) = ((to.x - from.x, to.y - from.y), from.is_like(to));
            let length = libm::hypot(step.0, step.1);
            // One of the two directions of a row: to the right, or nearly upright and downward.
            let forward = step.0 > libm::fabs(step.1) * 0.01 || (step.1 > 0.0 && libm::fabs(step.0) <= step.1 * 0.01);
            if !like || !forward || length < 2.0 {
                continue;
            }
            let chain = Chain { blobs, from: *from, step };
            let found = chain.row().count();
            let better = |(most, shortest, _): (usize, f64, Chain<'_>)| {
                // Two proposals of one row differ in length by their noise only; the step must be clearly shorter.
                found > most || (found == most && length < shortest * 0.75)
            };
            let across = |chain: &Chain<'_>| {
                let cross = libm::fabs(step.0 * chain.step.1 - step.1 * chain.step.0);
                cross > 0.3 * length * libm::hypot(chain.step.0, chain.step.1)
            };
            match best {
                Some(known) if !better(known) => rival |= found == known.0 && across(&known.2),
                _ => {
                    rival = best.is_some_and(|known| found == known.0 && across(&known.2));
                    best = Some((found, length, chain));
                }
            }
        }
    }
    let (found, _, chain) = best.filter(|&(found, ..)| found >= 3 && !rival)?;
    Some((found, chain))
}

/// Finds the row with the most items; of equals the one with the shorter step, read from left to right or downward. At
/// least three items.
///
/// `None` if there is no such row, fewer than 0.6 of its places hold a blob, they lie too unevenly, as many scattered blobs
/// form one like it by chance too often (so a short row needs to be even among many others), or another row in
/// another direction has as many items: of a field of items, say which row is meant by passing its blobs only.
#[must_use]
pub fn find_row(blobs: &[Blob]) -> Option<FoundRow> {
    let blobs = blobs.get(..blobs.len().min(MAX_BLOBS))?;
    let sound = |blob: &Blob| blob.x.is_finite() && blob.y.is_finite();
    if !blobs.iter().all(sound) {
        return None;
    }
    let (found, chain) = longest(blobs)?;
    fitted(blobs, &chain, found)
}

/// The row of a proposal, if it is sure. Never inlined, like [`longest`].
#[inline(never)]
fn fitted(blobs: &[Blob], chain: &Chain<'_>, found: usize) -> Option<FoundRow> {
    // No more than there are blobs, as one lies at one place only.
    let mut row = heapless::Vec::<_, MAX_BLOBS>::new();
    for item in chain.row() {
        row.push(item).ok()?;
    }
    let numbered = |of: fn(&Blob) -> f64| row.iter().map(move |&(place, blob)| (f64::from(place), of(blob)));
    let x = line(numbered(|blob| blob.x), CUT).ok()?;
    let y = line(numbered(|blob| blob.y), CUT).ok()?;
    let ends = |(low, high): (i32, i32), &(place, _): &(i32, &Blob)| (low.min(place), high.max(place));
    let (lowest, highest) = row.iter().fold((0, 0), ends);
    let places = highest - lowest + 1;
    if places > MAX_PLACES {
        return None;
    }
    let filled = row.iter().fold(0u32, |bits, (place, _)| bits | 1 << (place - lowest));
    let rms = libm::sqrt((x.squares + y.squares) / found as f64);
    let even = 1.0 - rms / (OFF * libm::hypot(x.slope.value, y.slope.value));
    let share = found as f64 / f64::from(places);
    let confidence = libm::round(share * even.max(0.0) * 1_000.0) as u16;
    if by_chance(blobs, chain, found, places, rms) > BY_CHANCE {
        return None;
    }
    let least = if found == 3 { LEAST_OF_THREE } else { LEAST_CONFIDENCE };
    let sure = share * 1_000.0 >= f64::from(LEAST_FILLED) && confidence >= least;
    sure.then_some(FoundRow {
        first: (x.at(f64::from(lowest)).value, y.at(f64::from(lowest)).value),
        step: (x.slope, y.slope),
        places: places as u8,
        filled,
        confidence,
    })
}
