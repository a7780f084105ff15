//! Whole frames: rows two by two.
//!
//! *What.* The columns in which either of two rows has a hot pixel fall into stretches that are connected each: where all
//! eight neighbors count, a pixel touches whatever lies in the next column, in its own row or in the other; where four do, a
//! stretch goes on where a row has a pixel in both columns, and no two stretches share a column, for pixels one above the
//! other touch. So one stretch stands for the runs of both rows, of which noise has two to three times as many. Two stretches,
//! one above the other, are connected where a pixel of the lower row of one touches one of the upper row of the other; that is
//! found for 64 columns at a time, from bits. Hot and cold pixels lie in each other's columns here, so each sign has its own
//! list.
//! *Why bits.* In noise nothing can be foreseen, and what takes the time is branches taken wrongly: there is no branch here
//! per pixel, and few per stretch.
//! *Contract.* The regions of [`super::ScannerOf::push`], in the same order. Which region gives way in a full table depends
//! on the order in which they open, so a frame that might fill the table is to be taken row by row, from its beginning; so is
//! one with more stretches of a sign in two rows than half the columns, which pixels that touch by their corners only can be.
//! *Memory.* The lent runs, and on the stack, which is no scarce thing here, some 4 KiB.

mod marks;
mod total;

use super::detail::Detail;
use super::region::Sign;
use super::run::Run;
use super::scanner::Settings;
use super::slot::{DROPPED, SlotOf, Top};
use super::slots::{Book, Slots, next_neighbors};
use super::sums::Beyond;
use crate::radiometry::Thresholds;
use crate::vectors::{Vectors, Work, fetch};
use core::cell::Cell;
use marks::{Marks, Row, Stretches};
use total::{FEW, PairTotal};

/// Counts up to which a frame is not asked for ahead (proposal): it may lie in the nearest cache, where asking costs more than
/// it saves.
const NEARBY: usize = 32_768;

/// A frame to scan, where all eight neighbors of a pixel belong to its region, or the four that share an edge. What comes out
/// is the book of its table, or nothing if the frame is to be taken row by row.
pub(super) struct Pairs<'f, D, const EIGHT: bool> {
    pub(super) settings: Settings,
    pub(super) runs: &'f mut [Run],
    pub(super) slots: &'f mut [SlotOf<D>],
    /// Rows, one behind the other.
    pub(super) counts: &'f [u16],
}

impl<D: Detail, const EIGHT: bool> Work for Pairs<'_, D, EIGHT> {
    type Output = Option<Book>;

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) -> Option<Book> {
        let Self { settings: Settings { width, thresholds, .. }, runs, slots, counts } = self;
        // With an even number of columns, no list of stretches that do not touch is longer than half a row.
        if D::WANTED || !V::COUNTS_BITS || !(total::LANES as u16..=marks::WIDEST).contains(&width) || width % 2 != 0 {
            return None;
        }
        let columns = usize::from(width);
        let words = columns.div_ceil(64);
        let mut book = Book::EMPTY;
        let [last, first, second] = &mut [Row::EMPTY, Row::EMPTY, Row::EMPTY];
        let (mut last, mut second) = (last, second);
        let mut lists = runs.chunks_exact_mut(columns / 2).map(Stretches::new);
        let mut next = || lists.next();
        let (mut above, mut here) = (&mut [next()?, next()?], &mut [next()?, next()?]);
        let ahead = if counts.len() > NEARBY { 2 * columns } else { counts.len() };
        let mut regions = 0;
        for (from, y) in (0..counts.len()).step_by(2 * columns).zip((0..).step_by(2)) {
            let rest = [from, from + columns].map(|from| counts.get(from..).unwrap_or(&[]));
            let soon = rest.map(|rest| rest.get(ahead..ahead + columns).unwrap_or(&[]));
            fetch(soon[0]);
            first.read(vectors, rest[0], columns, thresholds);
            fetch(soon[1]);
            second.read(vectors, rest[1], columns, thresholds);
            // So many regions may open, row by row, before any of them turn out to be part of others.
            let vacant = slots.len() - regions;
            if vacant < 2 * columns && vacant < first.newcomers::<EIGHT>(last) + second.newcomers::<EIGHT>(first) {
                return None;
            }
            // Behind an odd number of rows, any for one without marks.
            let upper = rest[0].get(..columns)?;
            let rows = [upper, rest[1].get(..columns).unwrap_or(upper)];
            let signs =
                [(Sign::Hot, &last.hot, &first.hot, &second.hot), (Sign::Cold, &last.cold, &first.cold, &second.cold)];
            for (((sign, last, first, second), above), here) in signs.into_iter().zip(&mut *above).zip(&mut *here) {
                let marks = [first, second];
                if !here.find::<EIGHT>(last, above, marks, words, sign) {
                    return None;
                }
                let pair = Pair { rows, marks, y, sign, thresholds };
                let mut slots = Slots { slots, book: &mut book, joined: false };
                let (opened, folded) = pair.connect::<EIGHT, _>(vectors, &mut slots, last, above, here);
                regions = regions + opened - folded;
            }
            core::mem::swap(&mut above, &mut here);
            core::mem::swap(&mut last, &mut second);
        }
        Some(book)
    }
}

/// Two rows, as far as one sign is concerned.
struct Pair<'f> {
    rows: [&'f [u16]; 2],
    marks: [&'f Marks; 2],
    /// Number of the upper row.
    y: u16,
    sign: Sign,
    thresholds: Thresholds,
}

impl Pair<'_> {
    /// Finds the regions of the stretches `here` from those of the stretches `above`, in whose lower row the `last` marks
    /// are, and adds the pixels. Returns how many regions opened, and how many became part of others.
    #[inline(always)]
    fn connect<const EIGHT: bool, D: Detail>(
        &self,
        vectors: impl Vectors,
        slots: &mut Slots<'_, D>,
        last: &Marks,
        above: &mut Stretches<'_>,
        here: &mut Stretches<'_>,
    ) -> (usize, usize) {
        let (narrow, repeated, all_repeated) = (here.are_narrow(), here.repeated(), here.are_repeated());
        let ((before, above), (places, here)) = (above.parts(), here.parts());
        if places.is_empty() {
            return (0, 0);
        }
        let beyond = Beyond::of(self.thresholds, self.sign);
        if all_repeated {
            vectors.run(Repeated(SumUp { pair: self, slots, stretches: places, beyond }));
            return (0, 0);
        }
        let (mut opened, mut folded) = (0, 0);
        let words = self.rows[0].len().div_ceil(64);
        marks::contacts::<EIGHT>(last, above, self.marks[0], here, repeated, words, |upper, lower| {
            let (Some(upper), Some(lower)) = (before.get(upper), places.get(lower)) else { return };
            let (number, known) = (upper.get().number(), lower.get().number());
            lower.set(lower.get().with_number(if known == DROPPED { number } else { known }));
            if known != DROPPED && known != number {
                slots.join(known, number);
            }
        });
        for place in places {
            if place.get().number() == DROPPED {
                place.set(place.get().with_number(slots.open(place.get(), self.y, false)));
                opened += 1;
            }
        }
        if slots.joined {
            slots.renumber(places);
            folded = slots.release(before);
        }
        let sum_up = SumUp { pair: self, slots, stretches: places, beyond };
        if narrow {
            vectors.run(Any::<_, true>(sum_up))
        } else {
            vectors.run(Any::<_, false>(sum_up))
        }
        (opened, folded)
    }

    /// Adds the pixels of stretches to the region they are numbered with; `span` goes from the first to the last of them.
    #[inline(always)]
    fn add<D: Detail>(&self, slot: &mut SlotOf<D>, span: Run, total: &PairTotal) {
        let [first, second] = self.numbers();
        // One that has just been opened may begin in the lower row.
        let y0 = if slot.area == 0 { u16::MAX } else { slot.y0 };
        slot.y0 = y0.min(if total.pixels[0] == 0 { second } else { first });
        slot.x0 = slot.x0.min(span.start);
        slot.x1 = slot.x1.max(span.end - 1);
        self.add_within(slot, total);
    }

    /// The same for pixels that lie in columns of the region, and below its first row.
    #[inline(always)]
    fn add_within<D: Detail>(&self, slot: &mut SlotOf<D>, total: &PairTotal) {
        let [first, second] = self.numbers();
        let [upper, lower] = total.pixels;
        slot.area += upper + lower;
        slot.sum += u64::from(total.sum);
        slot.sum_x += u64::from(total.sum_x);
        slot.sum_y += u64::from((upper + lower) * u32::from(first) + lower);
        slot.y1 = slot.y1.max(if lower == 0 { first } else { second });
        let (strength, x, in_upper) = total.top;
        slot.top = slot.top.max(Top::new(strength, x, if in_upper { first } else { second }));
    }

    /// The rows; the lower empty if it has no marks.
    const fn rows_with_marks(&self) -> [&[u16]; 2] {
        let [upper, lower] = self.rows;
        [upper, if self.marks[1].any() { lower } else { &[] }]
    }

    /// Those of the rows.
    const fn numbers(&self) -> [u16; 2] {
        [self.y, self.y.saturating_add(1)]
    }
}

/// Stretches whose pixels are to be added to the regions they are numbered with.
struct SumUp<'s, 't, D> {
    pair: &'s Pair<'s>,
    slots: &'s mut Slots<'t, D>,
    stretches: &'s [Cell<Run>],
    beyond: Beyond,
}

/// Where all are a column wide and touch a stretch above that starts there: in regions that know the column.
struct Repeated<'s, 't, D>(SumUp<'s, 't, D>);

impl<D: Detail> Work for Repeated<'_, '_, D> {
    type Output = ();

    #[inline(always)]
    fn run<V: Vectors>(self, _: V) {
        let SumUp { pair, slots, stretches, beyond } = self.0;
        let rows = pair.rows_with_marks();
        for run in stretches.iter().map(Cell::get) {
            let Some(slot) = slots.slots.get_mut(usize::from(run.number())) else { continue };
            pair.add_within(slot, &PairTotal::of_column(rows, run.start, beyond));
        }
    }
}

/// Any others; `NARROW` if nearly all are a column wide, for only then is it foreseen which are.
struct Any<'s, 't, D, const NARROW: bool>(SumUp<'s, 't, D>);

impl<D: Detail, const NARROW: bool> Work for Any<'_, '_, D, NARROW> {
    type Output = ();

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) {
        let SumUp { pair, slots, mut stretches, beyond } = self.0;
        let rows = pair.rows_with_marks();
        while let Some((span, _, after)) = next_neighbors(stretches) {
            stretches = after;
            let Some(slot) = slots.slots.get_mut(usize::from(span.number())) else { continue };
            let total = if NARROW && span.end - span.start == 1 {
                PairTotal::of_column(rows, span.start, beyond)
            } else if usize::from(span.end - span.start) <= FEW {
                PairTotal::of_few(vectors, pair.rows, pair.marks, span, beyond)
            } else {
                PairTotal::of(pair.rows, pair.marks, span, beyond)
            };
            pair.add(slot, span, &total);
        }
    }
}
