//! The region scanner: rows in, regions out.
//!
//! *What.* Each row is cut into runs of hot and of cold pixels. A run joins the regions of the runs of the same sign
//! that it touches in the row above, or opens a new one. *Why runs.* Ordinary pixels are skipped with one comparison
//! each (see `spans`), and the bookkeeping is per run, not per pixel. Hot and cold are found in the same pass and never
//! joined. *Contract.* Equal to a labelling of the whole frame, as sets of pixels, except for regions
//! marked incomplete. *Memory.* Two runs per column (6 bytes each) and one [`Slot`] per region; no label image.
//! *Sources.* The run-based one-pass method is textbook; see Lee et al. 2021, doi 10.1109/ICIEVicIVPR52578.2021.9564149.

use super::detail::{Detail, RunPixels};
use super::filter::Filter;
use super::region::{Region, Sign};
use super::slot::{DROPPED, Image, NO_SLOT, SlotOf};
use super::slots::{Book, Piece, Slots};
use super::spans::Spans;
use super::sums::Sums;
use crate::error::{Error, Quantity, Result};
use crate::log::log;
use crate::radiometry::Thresholds;
use core::ops::Range;

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
    /// Runs of the row before that, until the next row takes their place.
    before_len: u32,
    finished: bool,
}

impl State {
    const fn new(settings: Settings) -> Self {
        Self { settings, book: Book::EMPTY, row: 0, above: 0, above_len: 0, before_len: 0, finished: false }
    }

    const fn image(&self) -> Image {
        Image { last_x: self.settings.width - 1, last_y: self.row.saturating_sub(1) }
    }

    /// [`ScannerOf::push`] for whoever keeps state and memory side by side, without moving the state out and back for each
    /// row. The memory is the one the scanner was made in.
    ///
    /// # Errors
    /// As [`ScannerOf::push`].
    pub fn push<D: Detail>(&mut self, runs: &mut [Run], slots: &mut [SlotOf<D>], row: &[u16]) -> Result<()> {
        let width = usize::from(self.settings.width);
        if row.len() != width || (self.row == u16::MAX && !self.finished) {
            return Err(Error::WrongLength);
        }
        if self.finished {
            *self = Self::new(self.settings);
        }
        let state = self;
        let (y, thresholds) = (state.row, state.settings.thresholds);
        // Columns beyond a run within which a run above touches it.
        let reach = u16::from(state.settings.connectivity == Connectivity::Eight);
        let (lower, upper) = runs.split_at_mut_checked(width).unwrap_or_default();
        let (above, here) = if state.above == 0 { (lower, upper) } else { (upper, lower) };
        let above = above.get_mut(..state.above_len as usize).unwrap_or(&mut []);
        let mut next = 0;
        // Runs above that have passed: they end left of whatever comes.
        let mut passed = 0;
        let mut slots = Slots { slots, book: &mut state.book };
        // Whether two regions became one in this row: only then is a number not that of its region.
        let mut joined = false;
        let mut spans = Spans::new(row, thresholds);
        // What is left of a span that is partly hot and partly cold.
        let mut mixed = 0..0;
        loop {
            let (columns, sums) = if mixed.is_empty() {
                let Some(span) = spans.next() else { break };
                span
            } else {
                split_sign(row, &mut mixed, thresholds)
            };
            // As a rule all of a span is hot, or all is cold.
            if Spans::MIXED && sums.lowest <= thresholds.hot() && sums.highest >= thresholds.cold() {
                mixed = columns;
                continue;
            }
            let piece = Piece::new(columns, y, &sums, thresholds);

            // Runs above that end left of this one's reach will not touch any later run either.
            let (from, to) = (piece.start.saturating_sub(reach), piece.end.saturating_add(reach));
            let mut candidates = above.get(passed..).unwrap_or(&[]);
            while let [run, rest @ ..] = candidates
                && run.end <= from
            {
                (candidates, passed) = (rest, passed + 1);
            }
            let sign = Run::sign_bit(piece.sign);
            let mut region = DROPPED;
            let mut touches_dropped = false;
            let (mut contacts, mut overlap) = (0u32, 0u32);
            for run in candidates.iter().take_while(|run| run.start < to) {
                if run.tag & COLD_BIT != sign {
                    continue;
                }
                let root = if joined { slots.root(run.number()) } else { run.number() };
                // A dropped run is no part of the region whose shape this is.
                if D::WANTED && root != DROPPED {
                    let (left, right) = (piece.start.max(run.start), piece.end.min(run.end));
                    contacts += 1;
                    overlap += u32::from(right.saturating_sub(left));
                }
                if root == DROPPED {
                    touches_dropped = true;
                } else if region == DROPPED {
                    region = root;
                } else if region != root {
                    slots.join(region, root);
                    joined = true;
                }
            }
            if region == DROPPED {
                region = slots.open(&piece, row, touches_dropped, (&mut *above, &mut *here));
            } else {
                slots.extend(region, &piece, row);
                if touches_dropped {
                    slots.mark_incomplete(region);
                }
            }
            if D::WANTED {
                slots.describe(region, &RunPixels::new(row, &piece, thresholds, contacts, overlap));
            }
            if let Some(run) = here.get_mut(next) {
                *run = Run::new(&piece, region);
                next += 1;
            }
        }
        if joined {
            // From here on only this row's runs name regions, each by its root.
            for run in here.get_mut(..next).unwrap_or(&mut []) {
                run.renumber(slots.root(run.number()));
            }
            for run in above.iter() {
                slots.release(run.number());
            }
        }
        state.before_len = state.above_len;
        state.above = if state.above == 0 { u32::from(state.settings.width) } else { 0 };
        state.above_len = next as u32;
        state.row = y + 1;
        Ok(())
    }
}

/// Finds hot and cold regions in rows of counts, in one pass. Equal to a labelling of the whole frame, as sets of
/// pixels, except for regions marked incomplete; memory grows with the width and the number of regions only.
///
/// `D` is what is kept of each region beside the [`Region`]: see [`Detail`].
#[derive(Debug)]
pub struct ScannerOf<'m, D> {
    runs: &'m mut [Run],
    slots: &'m mut [SlotOf<D>],
    state: State,
}

/// A scanner for area, box, centroid, peak and mean.
pub type Scanner<'m> = ScannerOf<'m, ()>;

/// What [`ScannerOf::finish`] found.
#[derive(Debug)]
pub struct Found<'s, D = ()> {
    slots: &'s [SlotOf<D>],
    image: Image,
    dropped: u32,
}

impl<'s, D: Detail> Found<'s, D> {
    /// The regions, strongest first: by counts beyond the threshold, then by raster position of the peak.
    pub fn regions(&self) -> impl ExactSizeIterator<Item = Region> + use<'s, D> {
        let image = self.image;
        self.slots.iter().map(move |slot| slot.region(image).unwrap_or(NOTHING))
    }

    /// The regions with their details, in the same order.
    pub fn detailed(&self) -> impl ExactSizeIterator<Item = (Region, D::Report)> + use<'s, D> {
        let image = self.image;
        self.slots.iter().map(move |slot| (slot.region(image).unwrap_or(NOTHING), slot.report()))
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

    /// At most this many regions were lost because the table was full. None was stronger than any region in the table
    /// when it was dropped; slots that came free later may hold weaker ones.
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
    touches_edge: false,
};

impl Scanner<'_> {
    /// Runs to lend for this width: a row of alternating hot and cold pixels fills half of them.
    #[must_use]
    pub const fn runs(width: u16) -> usize {
        2 * width as usize
    }
}

impl<'m, D: Detail> ScannerOf<'m, D> {
    /// A scanner in lent memory: [`Scanner::runs`] runs, and as many slots as regions to keep (1 to 32,766).
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a width of 0, [`Error::TooSmall`] for too few runs, no slot, or more slots than numbers.
    pub fn new(runs: &'m mut [Run], slots: &'m mut [SlotOf<D>], settings: Settings) -> Result<Self> {
        if settings.width == 0 {
            return Err(Error::OutOfRange(Quantity::ImageSize));
        }
        Self::resume(runs, slots, State::new(settings))
    }

    /// Takes up a scanner again from its state and the same memory, untouched since [`ScannerOf::suspend`].
    ///
    /// # Errors
    /// [`Error::TooSmall`] if the memory cannot be the same.
    pub fn resume(runs: &'m mut [Run], slots: &'m mut [SlotOf<D>], state: State) -> Result<Self> {
        if runs.len() < Scanner::runs(state.settings.width) || slots.is_empty() || slots.len() >= usize::from(NO_SLOT) {
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
        self.state = State::new(Settings { thresholds, ..self.state.settings });
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
        self.state.push(self.runs, self.slots, row)
    }

    /// Hands over the regions that are final, because the last row pushed has no run of theirs, and frees their slots,
    /// so that a frame of many regions needs no more slots than grow at a time. In order of the columns where they
    /// ended. Call it after every row; what it misses, [`ScannerOf::finish`] delivers. Cost: a look at each run of the row
    /// before.
    pub fn take_final(&mut self, filter: &Filter, mut take: impl FnMut(Region, D::Report)) {
        let state = &mut self.state;
        let image = Image { last_y: u16::MAX, ..state.image() };
        let Some(y) = state.row.checked_sub(1).filter(|_| !state.finished) else { return };
        let before = if state.above == 0 { usize::from(state.settings.width) } else { 0 };
        let mut slots = Slots { slots: self.slots, book: &mut state.book };
        for run in self.runs.get(before..before + state.before_len as usize).unwrap_or(&[]) {
            let number = run.number();
            let Some(slot) = slots.slots.get(usize::from(number)).filter(|slot| slot.ended_before(y)) else { continue };
            if let Some(region) = slot.region(image).filter(|_| slot.passes(filter, image)) {
                take(region, slot.report());
            }
            slots.free_slot(number);
        }
        state.before_len = 0;
    }

    /// Ends the frame and gives its regions. A scanner that is not started again after this gives the same regions
    /// again, until the next row is pushed; that begins a new frame with the same thresholds.
    pub fn finish(&mut self) -> Found<'_, D> {
        self.finish_with(&Filter::min_area(self.state.settings.min_area))
    }

    /// The same with a filter in place of the smallest area of the settings. Regions that one filter left out do not
    /// come back with another.
    pub fn finish_with(&mut self, filter: &Filter) -> Found<'_, D> {
        let state = &mut self.state;
        let image = state.image();
        let count = Slots { slots: self.slots, book: &mut state.book }.deliver(filter, image);
        state.finished = true;
        log!("frame of {} rows: {} regions, {} dropped", state.row, count, state.book.dropped);
        Found { slots: self.slots.get(..count).unwrap_or(&[]), image, dropped: state.book.dropped }
    }
}

/// Takes the run at the start of a mixed span off it.
#[cold]
fn split_sign(row: &[u16], mixed: &mut Range<usize>, thresholds: Thresholds) -> (Range<usize>, Sums) {
    let rest = row.get(mixed.clone()).unwrap_or(&[]);
    let is_hot = rest.first().is_some_and(|&first| first > thresholds.hot());
    // At least the first, whatever the thresholds.
    let length = rest.iter().take_while(|&&v| (v > thresholds.hot()) == is_hot).count().max(1);
    let run = mixed.start..mixed.start + length;
    mixed.start = run.end;
    (run, Sums::one_by_one(rest.get(..length).unwrap_or(rest)))
}
