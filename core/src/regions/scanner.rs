//! The region scanner: rows in, regions out.
//!
//! *What.* Each row is cut into runs of hot and of cold pixels. A run joins the regions of the runs of the same sign
//! that it touches in the row above, or opens a new one; then the pixels of the row's runs are added to their regions.
//! *Why runs.* Ordinary pixels are skipped with one comparison each (see `spans`), and the bookkeeping is per run, not
//! per pixel. Three short loops over the runs, because one for all needs more than a processor's registers; runs that repeat
//! those of the row above are connected first. Hot and cold are found in the same pass and never joined. Whole frames may go
//! another way to the same regions: `pairs`.
//! *Contract.* Equal to a labelling of the whole frame, as sets of pixels, except for regions
//! marked incomplete. *Memory.* Two runs per column (6 bytes each) and one [`Slot`] per region; no label image.
//! *Sources.* The run-based one-pass method is textbook; see Lee et al. 2021, doi 10.1109/ICIEVicIVPR52578.2021.9564149.

use super::detail::{Detail, RunPixels};
use super::filter::Filter;
use super::found::Found;
#[cfg(target_arch = "x86_64")]
use super::pairs::Pairs;
use super::region::Region;
use super::run::Run;
use super::slot::{DROPPED, Image, NO_SLOT, SlotOf};
use super::slots::{Book, Extreme, Slots};
use super::spans;
use crate::error::{Error, Quantity, Result};
use crate::log::log;
use crate::radiometry::Thresholds;
use crate::vectors::{Vectors, Work, widest_if};
use core::cell::Cell;

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
        let Settings { width, thresholds, .. } = self.settings;
        Image { last_x: width - 1, last_y: self.row.saturating_sub(1), thresholds }
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
        widest_if(width >= spans::WIDE, Row { state: self, runs, slots, row });
        Ok(())
    }

    /// Finds the regions of the runs `here` from those of the runs `above`.
    #[cfg_attr(any(target_arch = "x86_64", target_arch = "aarch64"), inline(always))]
    fn connect<D: Detail>(&mut self, slots: &mut [SlotOf<D>], row: &[u16], above: &[Cell<Run>], here: &[Cell<Run>]) {
        let (y, thresholds) = (self.row, self.settings.thresholds);
        // Columns beyond a run within which a run above touches it.
        let reach = u32::from(self.settings.connectivity == Connectivity::Eight);
        let mut slots = Slots { slots, book: &mut self.book, joined: false };
        // Runs above that have not passed: the others end left of whatever comes.
        let mut coming = above;
        // Runs of this row whose pixels are in the sums of their regions.
        let mut summed = 0;
        let mut next = 0;
        while next < here.len() {
            // A detail wants to know what is above a run.
            if !D::WANTED && here.len() - next >= REPEATING.0 {
                let same;
                (same, coming) = repeat(here.get(next..).unwrap_or(&[]), coming);
                next += same;
            }
            let end = here.len().min(next.saturating_add(REPEATING.1));
            for place in here.get(next..end).unwrap_or(&[]) {
                let run = place.get();
                let (start, to) = (u32::from(run.start), u32::from(run.end) + reach);
                while let [other, after @ ..] = coming
                    && u32::from(other.get().end) + reach <= start
                {
                    coming = after;
                }
                // An alias will do, once two regions became one.
                let mut region = DROPPED;
                let mut touches_dropped = false;
                let (mut contacts, mut overlap) = (0u32, 0u32);
                for other in coming.iter().map(Cell::get).take_while(|other| u32::from(other.start) < to) {
                    let number = other.number_if_like(run);
                    if number >= DROPPED {
                        touches_dropped |= number == DROPPED;
                        continue;
                    }
                    // A dropped run is no part of the region whose shape this is.
                    if D::WANTED {
                        let (left, right) = (run.start.max(other.start), run.end.min(other.end));
                        contacts += 1;
                        overlap += u32::from(right.saturating_sub(left));
                    }
                    if region == DROPPED {
                        region = number;
                    } else if region != number {
                        region = slots.join(region, number);
                    }
                }
                if region == DROPPED {
                    if slots.is_full() {
                        // What gives way is decided by what all regions have come to by now.
                        let before = here.get(..next).unwrap_or(&[]);
                        let rest = before.get(summed..).unwrap_or(&[]);
                        slots.renumber(rest);
                        slots.sum_up(rest, y, row, thresholds);
                        summed = next;
                        let strength = Extreme::of(run, u32::from(run.end - run.start), row, thresholds).strength;
                        slots.make_room(strength, y, touches_dropped, [above, before]);
                    }
                    region = slots.open(run, y, touches_dropped);
                } else if touches_dropped {
                    slots.mark_incomplete(region);
                }
                if D::WANTED {
                    slots.describe(region, &RunPixels::new(row, run, y, thresholds, contacts, overlap));
                }
                place.set(run.with_number(region));
                next += 1;
            }
        }
        if slots.joined {
            // From here on only this row's runs name regions, each by its root.
            slots.renumber(here);
            slots.release(above);
        }
        slots.sum_up(here.get(summed..).unwrap_or(&[]), y, row, thresholds);
    }
}

/// A row to take.
struct Row<'p, D> {
    state: &'p mut State,
    runs: &'p mut [Run],
    slots: &'p mut [SlotOf<D>],
    row: &'p [u16],
}

impl<D: Detail> Work for Row<'_, D> {
    type Output = ();

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) {
        let Self { state, runs, slots, row } = self;
        let Settings { width, thresholds, .. } = state.settings;
        let (lower, upper) = runs.split_at_mut_checked(usize::from(width)).unwrap_or_default();
        let (above, here) = if state.above == 0 { (lower, upper) } else { (upper, lower) };
        let count = spans::find(vectors, row, thresholds, here);
        if count != 0 {
            state.connect(slots, row, cells(above, state.above_len as usize), cells(here, count));
        }
        (state.before_len, state.above_len) = (state.above_len, count as u32);
        state.above = u32::from(width) - state.above;
        state.row += 1;
    }
}

/// Rows to take, one behind the other: all of a frame, so that what lies above the next is no longer known after it.
struct Rows<'p, D> {
    state: &'p mut State,
    runs: &'p mut [Run],
    slots: &'p mut [SlotOf<D>],
    counts: &'p [u16],
}

impl<D: Detail> Work for Rows<'_, D> {
    type Output = ();

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) {
        let Self { state, runs, slots, counts } = self;
        let Settings { width, thresholds, .. } = state.settings;
        let width = usize::from(width.max(1));
        // Halves of one length, so that only their places change.
        let halves = runs.get_mut(..2 * width).and_then(|runs| runs.split_at_mut_checked(width));
        let (mut above, mut here) = halves.unwrap_or_default();
        let mut above_len = 0;
        for (row, y) in counts.chunks_exact(width).zip(0..) {
            state.row = y;
            let count = spans::find(vectors, row, thresholds, here);
            if count != 0 {
                state.connect(slots, row, cells(above, above_len), cells(here, count));
            }
            core::mem::swap(&mut above, &mut here);
            above_len = count;
        }
    }
}

/// The first `length` of some runs, as cells.
#[inline(always)]
fn cells(runs: &mut [Run], length: usize) -> &[Cell<Run>] {
    Cell::from_mut(runs).as_slice_of_cells().get(..length).unwrap_or(&[])
}

/// Least number of runs to come for a look whether they repeat those of the row above, and runs from one look to the next:
/// in rows of few runs, and in noise, looking costs more than it finds. Small processors have no flash for it.
const REPEATING: (usize, usize) =
    if cfg!(any(target_arch = "x86_64", target_arch = "aarch64")) { (8, 16) } else { (usize::MAX, usize::MAX) };

/// Gives runs that have the columns and the sign of runs above the regions of those, up to the first that has not, and
/// returns how many they are and the runs above that have not passed. Long shapes repeat their runs from row to row, and
/// no other run of the sign touches one below its like, for there is a column between runs of a sign.
#[inline(always)]
fn repeat<'a>(here: &[Cell<Run>], mut coming: &'a [Cell<Run>]) -> (usize, &'a [Cell<Run>]) {
    let Some(first) = here.first().map(Cell::get) else { return (0, coming) };
    while let [other, after @ ..] = coming
        && other.get().end < first.start
    {
        coming = after;
    }
    let mut same = 0;
    for (run, other) in here.iter().zip(coming) {
        if !other.get().is_alike(run.get()) {
            break;
        }
        run.set(other.get());
        same += 1;
    }
    (same, coming.get(same..).unwrap_or(&[]))
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

    /// Takes a whole frame, its rows one behind the other, and gives its regions: those that [`ScannerOf::start`],
    /// [`ScannerOf::push`] for every row and [`ScannerOf::finish_with`] would give. On x86-64, rows are taken two at a time
    /// if no detail is kept, the columns are an even number from 16 to 1,984, and bits are counted by an instruction (feature
    /// `wide-vectors` on a processor that has it, or a build for such). *Cost*: `pairs` beside `scan` in
    /// `tests/baselines/host.csv`; where the table fills up, as much again for the part before, which is done anew, and so
    /// where four neighbors count and more than half the columns of two rows begin with pixels that touch by corners only.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if these are no whole rows, or more than 65,535; the frame before stays as it was.
    pub fn frame(&mut self, thresholds: Thresholds, counts: &[u16], filter: &Filter) -> Result<Found<'_, D>> {
        let columns = usize::from(self.state.settings.width);
        let rows = counts.len().checked_div(columns).and_then(|rows| u16::try_from(rows).ok());
        let whole = rows.filter(|&rows| usize::from(rows) * columns == counts.len());
        let Some(height) = whole else { return Err(Error::WrongLength) };
        self.start(thresholds);
        #[cfg(target_arch = "x86_64")]
        {
            let (settings, runs, slots) = (self.state.settings, &mut *self.runs, &mut *self.slots);
            let book = match settings.connectivity {
                Connectivity::Eight => widest_if(true, Pairs::<_, true> { settings, runs, slots, counts }),
                Connectivity::Four => widest_if(true, Pairs::<_, false> { settings, runs, slots, counts }),
            };
            if let Some(book) = book {
                (self.state.book, self.state.row) = (book, height);
                return Ok(self.finish_with(filter));
            }
        }
        let rows = Rows { state: &mut self.state, runs: self.runs, slots: self.slots, counts };
        widest_if(columns >= spans::WIDE, rows);
        self.state.row = height;
        Ok(self.finish_with(filter))
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
        let mut slots = Slots { slots: self.slots, book: &mut state.book, joined: false };
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
        let count = Slots { slots: self.slots, book: &mut state.book, joined: false }.deliver(filter, image);
        state.finished = true;
        log!("frame of {} rows: {} regions, {} dropped", state.row, count, state.book.dropped);
        Found { slots: self.slots.get(..count).unwrap_or(&[]), image, dropped: state.book.dropped }
    }
}
