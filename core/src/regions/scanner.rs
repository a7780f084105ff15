//! The region scanner: rows in, regions out.
//!
//! *What.* Each row is cut into runs of hot and of cold pixels. A run joins the regions of the runs of the same sign
//! that it touches in the row above, or opens a new one. *Why runs.* Ordinary pixels are skipped with one comparison
//! each (see `skip`), and the bookkeeping is per run, not per pixel. Hot and cold are found in the same pass and never
//! joined. *Contract.* Equal to a labelling of the whole frame, as sets of pixels, except for regions
//! marked incomplete. *Memory.* Two runs per column (6 bytes each) and one [`Slot`] per region; no label image.
//! *Sources.* The run-based one-pass method is textbook; see Lee et al. 2021, doi 10.1109/ICIEVicIVPR52578.2021.9564149.

use super::region::{Region, Sign};
use super::skip::ordinary_pixels;
use super::slots::{Book, DROPPED, NO_SLOT, Piece, Slot, Slots};
use crate::error::{Error, Quantity, Result};
use crate::log::log;
use crate::radiometry::Thresholds;

/// Working memory for one run of pixels; lend [`Run::EMPTY`]s to [`Scanner::new`].
#[derive(Clone, Copy, Debug)]
pub struct Run {
    start: u16,
    /// One past the last column, so 65,535 columns at most.
    end: u16,
    /// Region number, with [`COLD_BIT`] set in a cold run.
    tag: u16,
}

/// Beside the region number of a run; numbers therefore end at 32,766.
const COLD_BIT: u16 = 0x8000;

impl Run {
    /// A run that holds nothing.
    pub const EMPTY: Self = Self { start: 0, end: 0, tag: DROPPED };

    const fn new(piece: &Piece, number: u16) -> Self {
        Self { start: piece.start, end: piece.end, tag: number | Self::sign_bit(piece.sign) }
    }

    const fn sign_bit(sign: Sign) -> u16 {
        match sign {
            Sign::Hot => 0,
            Sign::Cold => COLD_BIT,
        }
    }

    /// Number of the region, or of an alias of it.
    pub(super) const fn number(self) -> u16 {
        self.tag & !COLD_BIT
    }

    pub(super) fn renumber(&mut self, number: u16) {
        self.tag = (self.tag & COLD_BIT) | number;
    }
}

/// Which neighbors of a pixel belong to its region.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Connectivity {
    /// The four that share an edge.
    Four,
    /// All eight.
    #[default]
    Eight,
}

/// What to look for.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Settings {
    /// Columns in a row, 1 to 65,535.
    pub width: u16,
    /// Count thresholds.
    pub thresholds: Thresholds,
    /// Neighborhood.
    pub connectivity: Connectivity,
    /// Regions with fewer pixels are not delivered; 0 and 1 deliver all.
    pub min_area: u32,
}

/// Everything a scanner knows beyond the lent memory; holds no references, so it can be kept beside that memory.
#[derive(Clone, Copy, Debug)]
pub struct State {
    settings: Settings,
    book: Book,
    /// Index of the next row.
    row: u16,
    /// Runs of the row above sit at `above..above + above_len`; the other half of the memory is for this row.
    above: u32,
    above_len: u32,
    finished: bool,
}

/// Finds hot and cold regions in rows of counts, in one pass. Equal to a labelling of the whole frame, as sets of
/// pixels, except for regions marked incomplete; memory grows with the width and the number of regions only.
#[derive(Debug)]
pub struct Scanner<'m> {
    runs: &'m mut [Run],
    slots: &'m mut [Slot],
    state: State,
}

/// What [`Scanner::finish`] found.
#[derive(Debug)]
pub struct Found<'s> {
    slots: &'s [Slot],
    dropped: u32,
}

impl<'s> Found<'s> {
    /// The regions, strongest first: by counts beyond the threshold, then by raster position of the peak.
    pub fn regions(&self) -> impl ExactSizeIterator<Item = Region> + use<'s> {
        self.slots.iter().map(|slot| slot.region().unwrap_or(NOTHING))
    }

    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.slots.len()
    }

    /// Whether there are none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.slots.is_empty()
    }

    /// At most this many regions were lost because the table was full; all of them weaker than those delivered.
    #[must_use]
    pub const fn dropped(&self) -> u32 {
        self.dropped
    }
}

/// Stands in for a slot without a region, which [`Found`] never holds.
const NOTHING: Region = Region {
    sign: Sign::Hot,
    area: 0,
    x0: 0,
    y0: 0,
    x1: 0,
    y1: 0,
    peak: 0,
    peak_x: 0,
    peak_y: 0,
    centroid_x: fixed::types::U16F16::ZERO,
    centroid_y: fixed::types::U16F16::ZERO,
    mean: fixed::types::U24F8::ZERO,
    strength: 0,
    incomplete: false,
};

impl Scanner<'_> {
    /// Runs to lend for this width: a row of alternating hot and cold pixels fills half of them.
    #[must_use]
    pub const fn runs(width: u16) -> usize {
        2 * width as usize
    }
}

impl<'m> Scanner<'m> {
    /// A scanner in lent memory: [`Scanner::runs`] runs, and as many slots as regions to keep (1 to 32,766).
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a width of 0, [`Error::TooSmall`] for too few runs or no slot.
    pub fn new(runs: &'m mut [Run], slots: &'m mut [Slot], settings: Settings) -> Result<Self> {
        if settings.width == 0 {
            return Err(Error::OutOfRange(Quantity::ImageSize));
        }
        if runs.len() < Scanner::runs(settings.width) || slots.is_empty() || slots.len() >= usize::from(NO_SLOT) {
            return Err(Error::TooSmall);
        }
        let state = State { settings, book: Book::EMPTY, row: 0, above: 0, above_len: 0, finished: false };
        Ok(Self { runs, slots, state })
    }

    /// Takes up a scanner again from its state and the same memory, untouched since [`Scanner::suspend`].
    ///
    /// # Errors
    /// [`Error::TooSmall`] if the memory cannot be the same.
    pub fn resume(runs: &'m mut [Run], slots: &'m mut [Slot], state: State) -> Result<Self> {
        if runs.len() < Scanner::runs(state.settings.width) || slots.is_empty() {
            return Err(Error::TooSmall);
        }
        Ok(Self { runs, slots, state })
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> State {
        self.state
    }

    /// Begins a frame with these thresholds; forgets the one before.
    pub fn start(&mut self, thresholds: Thresholds) {
        let settings = Settings { thresholds, ..self.state.settings };
        self.state = State { settings, book: Book::EMPTY, row: 0, above: 0, above_len: 0, finished: false };
    }

    /// Rows taken since the start of the frame.
    #[must_use]
    pub const fn rows(&self) -> u16 {
        self.state.row
    }

    /// Takes the next row.
    ///
    /// *Overflow*: a region's sums stay below 2⁴⁸ for a 65,535 × 65,535 frame, its area below 2³².
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the row has another width, or if it is the 65,536th.
    pub fn push(&mut self, row: &[u16]) -> Result<()> {
        let width = usize::from(self.state.settings.width);
        if row.len() != width || (self.state.row == u16::MAX && !self.state.finished) {
            return Err(Error::WrongLength);
        }
        if self.state.finished {
            self.start(self.state.settings.thresholds);
        }
        let state = &mut self.state;
        let y = state.row;
        let reach = u16::from(state.settings.connectivity == Connectivity::Eight);
        let (hot, cold) = (state.settings.thresholds.hot(), state.settings.thresholds.cold());
        let above = state.above as usize..(state.above + state.above_len) as usize;
        let here = if above.start == 0 { width } else { 0 };
        let mut next = here;
        let mut oldest = above.start;
        let mut slots = Slots { slots: self.slots, book: &mut state.book };
        let ordinary = hot.wrapping_sub(cold);
        let mut rest = row;
        loop {
            let skipped = ordinary_pixels(rest, cold, ordinary);
            let Some(from_run) = rest.get(skipped..).filter(|from_run| !from_run.is_empty()) else { break };
            let start = (width - from_run.len()) as u16;
            let piece = take_run(from_run, start, y, hot, cold);
            rest = row.get(usize::from(piece.end)..).unwrap_or(&[]);

            // Runs above that end left of this one's reach will not touch any later run either.
            let (from, to) = (piece.start.saturating_sub(reach), piece.end.saturating_add(reach));
            while oldest < above.end && self.runs.get(oldest).is_some_and(|run| run.end <= from) {
                oldest += 1;
            }
            let mut region = None;
            let mut touches_dropped = false;
            let mut i = oldest;
            while let Some(run) = self.runs.get(i).filter(|run| i < above.end && run.start < to) {
                i += 1;
                if run.tag & COLD_BIT != Run::sign_bit(piece.sign) {
                    continue;
                }
                let root = slots.root(run.number());
                match region {
                    _ if root == DROPPED => touches_dropped = true,
                    None => region = Some(root),
                    Some(own) if own != root => slots.join(own, root),
                    Some(_) => {}
                }
            }
            let number = match region {
                Some(number) => {
                    slots.extend(number, &piece);
                    if touches_dropped {
                        slots.mark_incomplete(number);
                    }
                    number
                }
                None => slots.open(&piece, touches_dropped, self.runs),
            };
            if let Some(run) = self.runs.get_mut(next) {
                *run = Run::new(&piece, number);
                next += 1;
            }
        }
        // From here on only this row's runs name regions, each by its root.
        for run in self.runs.get_mut(here..next).unwrap_or(&mut []) {
            run.renumber(slots.root(run.number()));
        }
        for run in self.runs.get(above).unwrap_or(&[]) {
            slots.release(run.number());
        }
        state.above = here as u32;
        state.above_len = (next - here) as u32;
        state.row = y + 1;
        Ok(())
    }

    /// Ends the frame and gives its regions. A scanner that is not started again after this gives the same regions
    /// again, until the next row is pushed; that begins a new frame with the same thresholds.
    pub fn finish(&mut self) -> Found<'_> {
        let state = &mut self.state;
        let count = Slots { slots: self.slots, book: &mut state.book }.deliver(state.settings.min_area);
        state.finished = true;
        log!("frame of {} rows: {} regions, {} dropped", state.row, count, state.book.dropped);
        Found { slots: self.slots.get(..count).unwrap_or(&[]), dropped: state.book.dropped }
    }
}

/// The run that starts at the first pixel of `rest`, which is not ordinary and lies at column `start` of row `y`.
///
/// *Overflow*: a run has at most 65,535 pixels of at most 65,535 counts, so the sum fits in 32 bits.
fn take_run(rest: &[u16], start: u16, y: u16, hot: u16, cold: u16) -> Piece {
    let is_hot = rest.first().is_some_and(|&first| first > hot);
    let (pixels, sum, peak, peak_at) = if is_hot {
        sum_run(rest, |v| v > hot, |v, peak| v > peak)
    } else {
        sum_run(rest, |v| v < cold, |v, peak| v < peak)
    };
    let (sign, strength) =
        if is_hot { (Sign::Hot, peak.wrapping_sub(hot)) } else { (Sign::Cold, cold.wrapping_sub(peak)) };
    let (end, peak_x) = (start.wrapping_add(pixels), start.wrapping_add(peak_at));
    Piece { sign, start, end, y, sum, peak, peak_x, strength }
}

/// Pixels at the start of `rest` that are inside, their sum, the most extreme count and its position.
#[inline(always)]
fn sum_run(rest: &[u16], inside: impl Fn(u16) -> bool, exceeds: impl Fn(u16, u16) -> bool) -> (u16, u32, u16, u16) {
    let (mut sum, mut pixels) = (0u32, 0u16);
    let (mut peak, mut peak_at) = (rest.first().copied().unwrap_or(0), 0u16);
    for &v in rest.iter().take_while(|&&v| inside(v)) {
        if exceeds(v, peak) {
            (peak, peak_at) = (v, pixels);
        }
        sum = sum.wrapping_add(u32::from(v));
        pixels = pixels.wrapping_add(1);
    }
    (pixels, sum, peak, peak_at)
}
