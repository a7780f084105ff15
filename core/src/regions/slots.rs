//! The bounded table of regions a scanner works in.
//!
//! *What.* Every region that may still grow, and every finished one worth keeping, owns a [`SlotOf`]. Two regions that
//! turn out to be one are folded together; the emptied slot stays an alias of the other until the row ends, because
//! runs of the row above may still name it. *When full.* The weakest region gives way, or the new run if that is weaker
//! still; a region that touches what was dropped is marked incomplete, so one that is not marked is exact. A dropped
//! region that grows stronger comes back, marked. *Cost.* Constant per run; one pass over the table, and at worst over
//! the runs of two rows, for each region dropped.

use super::detail::{Detail, RunPixels};
use super::filter::Filter;
use super::region::Sign;
use super::scanner::Run;
use super::slot::{ALIAS, COLD, DROPPED, FREE, HOT, INCOMPLETE, Image, NO_SLOT, SlotOf};
use super::sums::Sums;
use crate::radiometry::Thresholds;
use core::ops::Range;

/// A run of one row with what was summed over it.
#[derive(Clone, Copy)]
pub(super) struct Piece {
    pub(super) sign: Sign,
    pub(super) start: u16,
    pub(super) end: u16,
    pub(super) y: u16,
    pub(super) sum: u32,
    pub(super) peak: u16,
    pub(super) strength: u16,
}

impl Piece {
    /// A run whose pixels are all hot, or all cold.
    #[inline]
    pub(super) fn new(columns: Range<usize>, y: u16, sums: &Sums, thresholds: Thresholds) -> Self {
        let (sign, peak, strength) = if sums.lowest > thresholds.hot() {
            (Sign::Hot, sums.highest, sums.highest.wrapping_sub(thresholds.hot()))
        } else {
            (Sign::Cold, sums.lowest, thresholds.cold().wrapping_sub(sums.lowest))
        };
        Self { sign, start: columns.start as u16, end: columns.end as u16, y, sum: sums.sum, peak, strength }
    }

    /// First column of the peak. Looked for only where it is kept.
    fn peak_x(&self, row: &[u16]) -> u16 {
        let run = row.get(usize::from(self.start)..usize::from(self.end)).unwrap_or(&[]);
        self.start.wrapping_add(run.iter().position(|&v| v == self.peak).unwrap_or(0) as u16)
    }
}

/// The runs of the row above and of this one.
pub(super) type Rows<'r> = (&'r mut [Run], &'r mut [Run]);

/// What the scanner keeps of its table between rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Book {
    /// First of the slots that were given back.
    free: u16,
    /// Slots taken at least once; those after it were not touched in this frame.
    used: u16,
    /// No region is weaker than this; regions only grow stronger, so a bound once found holds.
    floor: u16,
    /// Where the last search for the weakest ended.
    cursor: u16,
    pub(super) dropped: u32,
}

impl Book {
    /// Of a table in which nothing is taken, whatever its slots hold.
    pub(super) const EMPTY: Self = Self { free: NO_SLOT, used: 0, floor: 0, cursor: 0, dropped: 0 };
}

/// The table, borrowed for the length of a call.
pub(super) struct Slots<'s, D> {
    pub(super) slots: &'s mut [SlotOf<D>],
    pub(super) book: &'s mut Book,
}

impl<D: Detail> Slots<'_, D> {
    /// The slots that were taken in this frame.
    fn used(&mut self) -> &mut [SlotOf<D>] {
        self.slots.get_mut(..usize::from(self.book.used)).unwrap_or(&mut [])
    }

    /// The slot a run's region number stands for now.
    pub(super) fn root(&self, mut number: u16) -> u16 {
        while let Some(slot) = self.slots.get(usize::from(number)) {
            if slot.state != ALIAS {
                return number;
            }
            number = slot.link;
        }
        DROPPED
    }

    /// A new region for a run that touches none; its number, or [`DROPPED`] if the table is full of stronger ones.
    /// `again` says that the run touches a dropped one, so its region is counted already and will be incomplete.
    #[inline(never)]
    pub(super) fn open(&mut self, piece: &Piece, row: &[u16], again: bool, rows: Rows<'_>) -> u16 {
        let full = self.book.free == NO_SLOT && usize::from(self.book.used) == self.slots.len();
        if full && !self.make_room(piece, again, rows) {
            return DROPPED;
        }
        let number = if self.book.free == NO_SLOT { self.book.used } else { self.book.free };
        let Some(slot) = self.slots.get_mut(usize::from(number)) else { return DROPPED };
        if self.book.free == NO_SLOT {
            self.book.used = number.wrapping_add(1);
        } else {
            self.book.free = slot.link;
        }
        self.book.floor = self.book.floor.min(piece.strength);
        let sign = if piece.sign == Sign::Hot { HOT } else { COLD };
        let state = if again { sign | INCOMPLETE } else { sign };
        *slot = SlotOf { state, x0: piece.start, x1: piece.start, y0: piece.y, ..SlotOf::EMPTY };
        self.extend(number, piece, row);
        number
    }

    /// Adds a run to a region.
    #[inline]
    pub(super) fn extend(&mut self, number: u16, piece: &Piece, row: &[u16]) {
        let Some(slot) = self.slots.get_mut(usize::from(number)) else { return };
        let pixels = u32::from(piece.end - piece.start);
        slot.area += pixels;
        slot.sum += u64::from(piece.sum);
        // start + … + (end − 1); the product is even.
        slot.sum_x += u64::from(pixels) * (u64::from(piece.start) + u64::from(piece.end) - 1) / 2;
        slot.sum_y += u64::from(pixels) * u64::from(piece.y);
        slot.x0 = slot.x0.min(piece.start);
        slot.x1 = slot.x1.max(piece.end - 1);
        slot.y1 = piece.y;
        if slot.area == pixels || piece.strength > slot.strength {
            (slot.peak, slot.strength) = (piece.peak, piece.strength);
            (slot.peak_x, slot.peak_y) = (piece.peak_x(row), piece.y);
        }
    }

    /// Adds a run to the detail of a region.
    pub(super) fn describe(&mut self, number: u16, run: &RunPixels<'_>) {
        if let Some(slot) = self.slots.get_mut(usize::from(number)) {
            slot.detail.add_run(run);
        }
    }

    /// Notes that a piece of the region is gone.
    pub(super) fn mark_incomplete(&mut self, number: u16) {
        if let Some(slot) = self.slots.get_mut(usize::from(number)) {
            slot.state |= INCOMPLETE;
        }
    }

    /// Folds the region `from` into `into`; `from` becomes an alias until [`Slots::release`].
    pub(super) fn join(&mut self, into: u16, from: u16) {
        let Some(&gone) = self.slots.get(usize::from(from)) else { return };
        let Some(kept) = self.slots.get_mut(usize::from(into)) else { return };
        kept.area += gone.area;
        kept.sum += gone.sum;
        kept.sum_x += gone.sum_x;
        kept.sum_y += gone.sum_y;
        kept.x0 = kept.x0.min(gone.x0);
        kept.x1 = kept.x1.max(gone.x1);
        kept.y0 = kept.y0.min(gone.y0);
        kept.y1 = kept.y1.max(gone.y1);
        kept.detail.add(&gone.detail);
        kept.state |= gone.state & INCOMPLETE;
        if gone.rank() > kept.rank() {
            (kept.peak, kept.strength) = (gone.peak, gone.strength);
            (kept.peak_x, kept.peak_y) = (gone.peak_x, gone.peak_y);
        }
        if let Some(slot) = self.slots.get_mut(usize::from(from)) {
            *slot = SlotOf { state: ALIAS, link: into, ..SlotOf::EMPTY };
        }
    }

    /// Frees an alias that no run names any more.
    pub(super) fn release(&mut self, number: u16) {
        if let Some(slot) = self.slots.get_mut(usize::from(number))
            && slot.state == ALIAS
        {
            self.free_slot(number);
        }
    }

    pub(super) fn free_slot(&mut self, number: u16) {
        if let Some(slot) = self.slots.get_mut(usize::from(number)) {
            (slot.state, slot.link) = (FREE, self.book.free);
            self.book.free = number;
        }
    }

    /// Frees the weakest region if it is weaker than `piece`; false if the piece is the weakest of all.
    fn make_room(&mut self, piece: &Piece, again: bool, (above, here): Rows<'_>) -> bool {
        // Most pieces are weaker than all; the bound tells without a look at the table.
        let victim = if piece.strength > self.book.floor { self.weakest_below(piece.strength) } else { None };
        // An old region goes, or a new one that was not counted before.
        let counts = victim.is_some() || !again;
        self.book.dropped = self.book.dropped.saturating_add(u32::from(counts));
        let Some((victim, last_row)) = victim else { return false };
        if last_row.saturating_add(1) >= piece.y {
            // Still growing: runs of this row and the one above name it, some through aliases.
            for run in above.iter_mut().chain(here) {
                let root = self.root(run.number());
                run.renumber(if root == victim { DROPPED } else { root });
            }
            for number in 0..self.book.used {
                self.release(number);
            }
        }
        self.free_slot(victim);
        true
    }

    /// A weakest region, if it is weaker than `strength`: its number, and the last row it has a run in. Goes on where the
    /// last search ended, and ends with the first that is no stronger than the bound, so that a table of many equally
    /// weak regions is not searched anew for each of them.
    fn weakest_below(&mut self, strength: u16) -> Option<(u16, u16)> {
        let (used, from, floor) = (self.book.used, self.book.cursor, self.book.floor);
        let mut weakest: Option<(u16, u16, u16)> = None;
        for number in (from..used).chain(0..from.min(used)) {
            let Some(slot) = self.slots.get(usize::from(number)).filter(|slot| slot.holds_region()) else { continue };
            if weakest.is_none_or(|(_, least, _)| slot.strength < least) {
                weakest = Some((number, slot.strength, slot.y1));
                if slot.strength <= floor {
                    break;
                }
            }
        }
        let (number, least, last_row) = weakest?;
        (self.book.floor, self.book.cursor) = (least, number);
        (least < strength).then_some((number, last_row))
    }

    /// Sorts the regions that are wanted to the front, strongest first, and returns how many they are.
    ///
    /// Heapsort: in place, no recursion, worst case n·log n, and no comparison that could panic.
    pub(super) fn deliver(&mut self, filter: &Filter, image: Image) -> usize {
        let used = self.used();
        let mut count = 0;
        for i in 0..used.len() {
            if used.get(i).is_some_and(|slot| slot.passes(filter, image)) {
                // Equal indices are an error and need no swap.
                if let Ok([place, slot]) = used.get_disjoint_mut([count, i]) {
                    core::mem::swap(place, slot);
                }
                count += 1;
            }
        }
        let precedes = |a: &SlotOf<D>, b: &SlotOf<D>| a.rank() > b.rank();
        let mut heap = used.get_mut(..count).unwrap_or(&mut []);
        for root in (0..count / 2).rev() {
            sift(heap, root, precedes);
        }
        // The top changes places with the slot behind the shrinking heap; a split, unlike an index, cannot be outside.
        while let Some((end, rest)) = heap.split_last_mut() {
            if let Some(top) = rest.first_mut() {
                core::mem::swap(top, end);
            }
            sift(rest, 0, precedes);
            heap = rest;
        }
        // What was delivered can be delivered again.
        self.book.used = count as u16;
        count
    }
}

/// Restores the heap below `root`: no slot precedes its children, so the last in order is on top.
fn sift<D>(slots: &mut [SlotOf<D>], mut root: usize, precedes: impl Fn(&SlotOf<D>, &SlotOf<D>) -> bool) {
    loop {
        let left = 2 * root + 1;
        let mut last = root;
        for child in [left, left + 1] {
            if let (Some(a), Some(b)) = (slots.get(last), slots.get(child))
                && precedes(a, b)
            {
                last = child;
            }
        }
        // Equal indices are an error too: the heap is in order.
        let Ok([parent, child]) = slots.get_disjoint_mut([root, last]) else { return };
        core::mem::swap(parent, child);
        root = last;
    }
}
