//! Scanning with a finished table: for images that need neither checks nor uncertainties, and have no room for the
//! arithmetic that makes a table of a curve. The table is not copied; it may lie in flash.

use crate::convert;
use crate::device::Outcome;
use crate::scan_types::FinishedTable;
use crate::status::Status;
use crate::types::{self, Config};
use core::mem::{align_of, size_of};
use oddheat_core::radiometry::{Table, Thresholds};
use oddheat_core::regions::{self, Run, Scanner, Slot};

/// First word of a finished table; also the byte order and the layout.
const TABLE_MAGIC: u32 = 0x0DD4_7AB1;
/// Marks a block that was initialized.
pub(crate) const SCAN_MAGIC: u32 = 0x0DD4_5CA0;

/// What the words of a [`FinishedTable`] are.
#[repr(C)]
#[derive(Debug)]
pub(crate) struct Stored {
    magic: u32,
    table: Table,
}

const _: () =
    assert!(size_of::<Stored>() == size_of::<FinishedTable>() && align_of::<Stored>() == align_of::<FinishedTable>());

impl Stored {
    /// The table, if it is one.
    pub(crate) fn table(&self) -> Outcome<&Table> {
        let whole = self.magic == TABLE_MAGIC && self.table.is_whole();
        if whole { Ok(&self.table) } else { Err(Status::ErrBadState) }
    }

    /// Makes the table of a config, or leaves the words as they are.
    pub(crate) fn build(&mut self, config: &Config) -> Outcome<()> {
        let setup = convert::setup(config)?;
        convert::build_table(&mut self.table, &setup, config.full_scale_counts)?;
        self.magic = TABLE_MAGIC;
        Ok(())
    }
}

/// Start of the caller's block. No pointers: the block may be moved between calls.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct ScanHead {
    pub(crate) magic: u32,
    pub(crate) runs: u32,
    pub(crate) regions: u32,
    pub(crate) state: regions::State,
}

/// A scan: the parts of a block, borrowed for a call.
pub(crate) struct Scan<'m> {
    pub(crate) head: &'m mut ScanHead,
    pub(crate) runs: &'m mut [Run],
    pub(crate) regions: &'m mut [Slot],
}

impl Scan<'_> {
    pub(crate) fn start(&mut self, hot_above_counts: u16, cold_below_counts: u16) -> Outcome<()> {
        let thresholds = Thresholds::new(hot_above_counts, cold_below_counts)?;
        let mut scanner = Scanner::resume(self.runs, self.regions, self.head.state)?;
        scanner.start(thresholds);
        self.head.state = scanner.suspend();
        Ok(())
    }

    pub(crate) fn row(&mut self, counts: &[u16]) -> Outcome<()> {
        Ok(self.head.state.push(self.runs, self.regions, counts)?)
    }

    /// Hands out the regions of the rows since the start, and ends the frame.
    pub(crate) fn regions(
        &mut self,
        table: Option<&Table>,
        each: impl FnMut(usize, types::Region),
    ) -> Outcome<(u32, u32)> {
        convert::regions(&mut self.head.state, (self.runs, self.regions), table, each)
    }
}
