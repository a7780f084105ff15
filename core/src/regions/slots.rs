//! The bounded table of regions a scanner works in.
//!
//! *What.* Every region that may still grow, and every finished one worth keeping, owns a [`SlotOf`]. Two regions that
//! turn out to be one are folded together; the emptied slot stays an alias of the other until the row ends, because
//! runs of the row above may still name it. *When full.* The weakest region gives way, or the new run if that is weaker
//! still; a region that touches what was dropped is marked incomplete, so one that is not marked is exact. A dropped
//! region that grows stronger comes back, marked. *Cost.* Constant per run; one pass over the table for each region
//! dropped, and one over the runs of two rows between its sides, if it was still growing.

use super::detail::{Detail, RunPixels};
use super::filter::Filter;
use super::region::Sign;
use super::run::Run;
use super::slot::{ALIAS, COLD, DROPPED, FREE, HOT, INCOMPLETE, Image, NO_SLOT, SlotOf, Top};
use super::sums::{Beyond, Sums};
use crate::radiometry::Thresholds;
use core::cell::Cell;

/// What the pixels of a run come to, or of several.
pub(super) struct Extreme {
    sums: Sums,
    flip: u16,
    /// Counts by which the most extreme lies beyond its threshold.
    pub(super) strength: u16,
}

impl Extreme {
    /// Of the `pixels` of a run, or of several of one region with ordinary pixels between them, of which `span` goes from
    /// the start of the first to the end of the last.
    #[inline(always)]
    pub(super) fn of(span: Run, pixels: u32, row: &[u16], thresholds: Thresholds) -> Self {
        let beyond = Beyond::of(thresholds, span.sign());
        let from = row.get(usize::from(span.start)..).unwrap_or(&[]);
        let sums = Sums::of(from, usize::from(span.end - span.start), beyond, pixels);
        Self { sums, flip: beyond.flip, strength: sums.top.wrapping_sub(beyond.threshold) }
    }
}

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
    /// Whether two regions became one in this row: only then is a number not that of its region.
    pub(super) joined: bool,
}

impl<D: Detail> Slots<'_, D> {
    /// The slots that were taken in this frame.
    fn used(&mut self) -> &mut [SlotOf<D>] {
        self.slots.get_mut(..usize::from(self.book.used)).unwrap_or(&mut [])
    }

    /// The slot that a number stands for now. Aliases of aliases are made aliases of it, so that they do not become long
    /// chains: in noise, every other run makes two regions one.
    fn root(&mut self, number: u16) -> u16 {
        let alias_of = |slots: &[SlotOf<D>], number: u16| {
            slots.get(usize::from(number)).filter(|slot| slot.state == ALIAS).map(|slot| slot.link)
        };
        let mut root = number;
        while let Some(next) = alias_of(self.slots, root) {
            root = next;
        }
        let mut passed = number;
        while let Some(next) = alias_of(self.slots, passed).filter(|&next| next != root) {
            if let Some(slot) = self.slots.get_mut(usize::from(passed)) {
                slot.link = root;
            }
            passed = next;
        }
        root
    }

    pub(super) fn is_full(&self) -> bool {
        self.book.free == NO_SLOT && usize::from(self.book.used) == self.slots.len()
    }

    /// A new region for a run that touches none; its number, or [`DROPPED`] if the table is full.
    /// `again` says that the run touches a dropped one, so its region is counted already and will be incomplete.
    pub(super) fn open(&mut self, run: Run, y: u16, again: bool) -> u16 {
        let number = if self.book.free == NO_SLOT { self.book.used } else { self.book.free };
        let Some(slot) = self.slots.get_mut(usize::from(number)) else { return DROPPED };
        if self.book.free == NO_SLOT {
            self.book.used = number.wrapping_add(1);
        } else {
            self.book.free = slot.link;
        }
        let sign = if run.sign() == Sign::Hot { HOT } else { COLD };
        let state = if again { sign | INCOMPLETE } else { sign };
        *slot = SlotOf { state, x0: run.start, y0: y, y1: y, ..SlotOf::EMPTY };
        number
    }

    /// Names each run's region by the root.
    #[cfg_attr(any(target_arch = "x86_64", target_arch = "aarch64"), inline(always))]
    pub(super) fn renumber(&mut self, runs: &[Cell<Run>]) {
        for run in runs {
            run.set(run.get().with_number(self.root(run.get().number())));
        }
    }

    /// Adds the pixels of runs of row `y` to the regions they are numbered with.
    #[cfg_attr(any(target_arch = "x86_64", target_arch = "aarch64"), inline(always))]
    pub(super) fn sum_up(&mut self, mut runs: &[Cell<Run>], y: u16, row: &[u16], thresholds: Thresholds) {
        while let Some((span, Total { pixels, twice_x }, after)) = next_neighbors(runs) {
            runs = after;
            // None for a dropped run.
            let Some(slot) = self.slots.get_mut(usize::from(span.number())) else { continue };
            let Extreme { sums, flip, strength } = Extreme::of(span, pixels, row, thresholds);
            slot.area += pixels;
            slot.sum += u64::from(sums.sum);
            slot.sum_x += u64::from(twice_x / 2);
            slot.sum_y += u64::from(pixels * u32::from(y));
            slot.x0 = slot.x0.min(span.start);
            slot.x1 = slot.x1.max(span.end - 1);
            slot.y1 = y;
            if strength > slot.top.strength() {
                // No pixel outside the thresholds has none, so the slot is new.
                if slot.top == Top::NONE {
                    self.book.floor = self.book.floor.min(strength);
                }
                let peak = sums.top ^ flip;
                let pixels = row.get(usize::from(span.start)..usize::from(span.end)).unwrap_or(&[]);
                let before = pixels.iter().position(|&v| v == peak).unwrap_or(0);
                slot.top = Top::new(strength, span.start.wrapping_add(before as u16), y);
            }
        }
    }

    /// Adds a run to the detail of a region, which an alias may stand for.
    pub(super) fn describe(&mut self, number: u16, run: &RunPixels<'_>) {
        let root = self.root(number);
        if let Some(slot) = self.slots.get_mut(usize::from(root)) {
            slot.detail.add_run(run);
        }
    }

    /// Notes that a piece of the region, which an alias may stand for, is gone.
    #[cold]
    pub(super) fn mark_incomplete(&mut self, number: u16) {
        let root = self.root(number);
        if let Some(slot) = self.slots.get_mut(usize::from(root)) {
            slot.state |= INCOMPLETE;
        }
    }

    /// Makes one of the regions that these numbers stand for and returns its number; that of the second becomes an alias
    /// until [`Slots::release`].
    #[inline(never)]
    pub(super) fn join(&mut self, into: u16, from: u16) -> u16 {
        let (into, from) = if self.joined { (self.root(into), self.root(from)) } else { (into, from) };
        // Equal indices are an error: they are one already.
        let Ok([kept, gone]) = self.slots.get_disjoint_mut([usize::from(into), usize::from(from)]) else { return into };
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
        kept.top = kept.top.max(gone.top);
        (gone.state, gone.link) = (ALIAS, into);
        self.joined = true;
        into
    }

    /// Frees the aliases that these runs name, and no other any more; returns how many they were.
    #[cfg_attr(any(target_arch = "x86_64", target_arch = "aarch64"), inline(always))]
    pub(super) fn release(&mut self, runs: &[Cell<Run>]) -> usize {
        runs.iter().filter(|run| self.free_alias(run.get().number())).count()
    }

    /// Frees a slot if it is an alias, and says whether it was.
    fn free_alias(&mut self, number: u16) -> bool {
        let is_alias = self.slots.get(usize::from(number)).is_some_and(|slot| slot.state == ALIAS);
        if is_alias {
            self.free_slot(number);
        }
        is_alias
    }

    pub(super) fn free_slot(&mut self, number: u16) {
        if let Some(slot) = self.slots.get_mut(usize::from(number)) {
            (slot.state, slot.link) = (FREE, self.book.free);
            self.book.free = number;
        }
    }

    /// Frees the weakest region if it is weaker than the run; else the run is the weakest of all. `rows` are the runs of
    /// the row above and those of this row that are in the sums.
    #[inline(never)]
    pub(super) fn make_room(&mut self, strength: u16, y: u16, again: bool, rows: [&[Cell<Run>]; 2]) {
        // Most runs are weaker than all; the bound tells without a look at the table.
        let victim = if strength > self.book.floor { self.weakest_below(strength) } else { None };
        // An old region goes, or a new one that was not counted before.
        let counts = victim.is_some() || !again;
        self.book.dropped = self.book.dropped.saturating_add(u32::from(counts));
        let Some(victim) = victim else { return };
        let Some(&SlotOf { x0, x1, y1, .. }) = self.slots.get(usize::from(victim)) else { return };
        if y1.saturating_add(1) >= y {
            // Still growing: runs of this row and the one above, between its sides, name it; through no alias any more.
            if self.joined {
                rows.into_iter().for_each(|runs| self.renumber(runs));
                for number in 0..self.book.used {
                    self.free_alias(number);
                }
                self.joined = false;
            }
            for runs in rows {
                let from = runs.partition_point(|run| run.get().end <= x0);
                let runs = runs.get(from..).unwrap_or(&[]).iter();
                for run in runs.take_while(|run| run.get().start <= x1) {
                    if run.get().number() == victim {
                        run.set(run.get().with_number(DROPPED));
                    }
                }
            }
        }
        self.free_slot(victim);
    }

    /// A weakest region, if it is weaker than `strength`. Goes on where the last search ended, and ends with the first that is
    /// no stronger than the bound, so that a table of many equally weak regions is not searched anew for each of them.
    fn weakest_below(&mut self, strength: u16) -> Option<u16> {
        let (from, floor) = (self.book.cursor.min(self.book.used), self.book.floor);
        let (before, after) = self.used().split_at_checked(usize::from(from)).unwrap_or_default();
        let mut weakest = None;
        // No strength; so that the first has less.
        let mut least = u32::MAX;
        'search: for (first, slots) in [(from, after), (0, before)] {
            for (number, slot) in (first..).zip(slots) {
                let strength = slot.top.strength();
                if u32::from(strength) < least && slot.holds_region() {
                    least = u32::from(strength);
                    weakest = Some((number, strength));
                    if strength <= floor {
                        break 'search;
                    }
                }
            }
        }
        let (number, least) = weakest?;
        (self.book.floor, self.book.cursor) = (least, number);
        (least < strength).then_some(number)
    }

    /// Moves the regions that are wanted to the front, strongest first, and returns how many they are.
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
        sort(used.get_mut(..count).unwrap_or(&mut []));
        // What was delivered can be delivered again.
        self.book.used = count as u16;
        count
    }
}

/// Most ordinary columns between runs of one region that are summed as one (proposal): two vectors of pixels, against what
/// another run costs. Small processors, which have no vectors, take runs one by one.
const NEAR: Option<u16> = if cfg!(any(target_arch = "x86_64", target_arch = "aarch64")) { Some(16) } else { None };

/// What runs of one row add to a region.
pub(super) struct Total {
    pixels: u32,
    /// Twice the sum of the columns: for a run, start + … + (end − 1). Of a whole row below 2³².
    twice_x: u32,
}

impl Total {
    #[inline(always)]
    fn of(run: Run) -> Self {
        let (start, end) = (u32::from(run.start), u32::from(run.end));
        Self { pixels: end - start, twice_x: (end - start) * (start + end - 1) }
    }
}

/// The first run, with those after it that are of the same region and near: as one run that spans them, their total, and
/// the runs after them.
#[inline(always)]
pub(super) fn next_neighbors(runs: &[Cell<Run>]) -> Option<(Run, Total, &[Cell<Run>])> {
    let (first, mut after) = runs.split_first()?;
    let mut span = first.get();
    let mut total = Total::of(span);
    while let [next, rest @ ..] = after
        && let Some(near) = NEAR
        && next.get().is_of_the_region_of(span)
        && next.get().start - span.end <= near
    {
        let Total { pixels, twice_x } = Total::of(next.get());
        total.pixels += pixels;
        total.twice_x += twice_x;
        span.end = next.get().end;
        after = rest;
    }
    Some((span, total, after))
}

/// Sorts by descending rank, in place.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
fn sort<D: Detail>(slots: &mut [SlotOf<D>]) {
    slots.sort_unstable_by_key(|slot| core::cmp::Reverse(slot.top));
}

/// Sorts by descending rank, in place: heapsort, because it is short, and no comparison could panic.
#[cfg(any(not(any(target_arch = "x86_64", target_arch = "aarch64")), test))]
#[cfg_attr(any(target_arch = "x86_64", target_arch = "aarch64"), allow(dead_code, reason = "compiled for its tests"))]
fn heapsort<D: Detail>(mut heap: &mut [SlotOf<D>]) {
    for root in (0..heap.len() / 2).rev() {
        sift(heap, root);
    }
    // The top changes places with the slot behind the shrinking heap; a split, unlike an index, cannot be outside.
    while let Some((end, rest)) = heap.split_last_mut() {
        if let Some(top) = rest.first_mut() {
            core::mem::swap(top, end);
        }
        sift(rest, 0);
        heap = rest;
    }
}
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
use heapsort as sort;

/// Restores the heap below `root`: no slot precedes its children, so the last in order is on top.
#[cfg(any(not(any(target_arch = "x86_64", target_arch = "aarch64")), test))]
fn sift<D: Detail>(slots: &mut [SlotOf<D>], mut root: usize) {
    loop {
        let left = 2 * root + 1;
        let mut last = root;
        for child in [left, left + 1] {
            if let (Some(a), Some(b)) = (slots.get(last), slots.get(child))
                && a.top > b.top
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

#[cfg(test)]
mod tests {
    use super::{heapsort, sort};
    use crate::regions::Slot;
    use crate::regions::slot::Top;
    use proptest::prelude::*;
    use std::vec::Vec;

    proptest! {
        #[test]
        fn both_sorts_agree(ranks in proptest::collection::vec((any::<u16>(), 0u16..4, 0u16..4), 0..200)) {
            let slot =
                |&(strength, y, x): &(u16, u16, u16)| Slot { top: Top::new(strength, x, y), ..Slot::EMPTY };
            let mut slots: Vec<Slot> = ranks.iter().map(slot).collect();
            let mut again = slots.clone();
            sort(&mut slots);
            heapsort(&mut again);
            let order = |slots: &[Slot]| slots.iter().map(|slot| slot.top).collect::<Vec<_>>();
            prop_assert!(slots.is_sorted_by(|a, b| a.top >= b.top));
            prop_assert_eq!(order(&slots), order(&again));
        }
    }
}
