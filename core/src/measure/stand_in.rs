//! What is summed in place of a count that is no reading, so that a line of pixels keeps its number of them.

use crate::sensor::CountRange;

/// The last reading, for one walk over rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct StandIn {
    /// 0 before the first reading.
    last: u16,
}

impl StandIn {
    /// Nothing read yet.
    pub(super) const NONE: Self = Self { last: 0 };

    /// Each count of a row that is a reading, or else the reading before it. Before the first reading of all, the first of
    /// its row; 0 in rows without any until then.
    pub(super) fn fill<'a>(&'a mut self, row: &'a [u16], range: CountRange) -> impl Iterator<Item = u32> + 'a {
        if self.last == 0 {
            self.last = row.iter().copied().find(|&count| range.holds(count)).unwrap_or(0);
        }
        row.iter().map(move |&count| {
            if range.holds(count) {
                self.last = count;
            }
            u32::from(self.last)
        })
    }
}
