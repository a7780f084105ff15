//! What happens behind the C functions, in safe Rust: a device made of borrowed parts.

use crate::convert;
use crate::status::Status;
use crate::types::{self, Config};
use oddheat_core::checks::{self, Check, Conditions, FrameInfo, Kind, Located, Role, Setup, View};
use oddheat_core::finding::Finding;
use oddheat_core::radiometry::{Table, Thresholds};
use oddheat_core::regions::{self, Run, Scanner};
use oddheat_core::units::RowKelvin;

/// Result with the status to return on failure.
pub(crate) type Outcome<T> = Result<T, Status>;

/// Marks a block that was initialized; also the byte order and the layout.
pub(crate) const MAGIC: u32 = 0x0DD4_EA70;

/// Start of the caller's block. No pointers: the block may be moved between calls.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct Head {
    pub(crate) magic: u32,
    pub(crate) sizes: Sizes,
    pub(crate) thresholds: Thresholds,
    pub(crate) scanner: Option<regions::State>,
    /// Rows taken of the frame under way; equal to the height when it is complete.
    pub(crate) rows: u16,
    pub(crate) setup: Setup,
    /// Built when the block is set up; until then all zeros, which is a table of nothing.
    pub(crate) table: Table,
    pub(crate) check: checks::State,
}

/// What the rest of the block holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Sizes {
    pub(crate) runs: u32,
    pub(crate) regions: u32,
    pub(crate) shapes: u32,
}

/// A device: the parts of a block, borrowed for a call.
pub(crate) struct Device<'m> {
    pub(crate) head: &'m mut Head,
    pub(crate) runs: &'m mut [Run],
    pub(crate) regions: &'m mut [regions::Slot],
    pub(crate) shapes: &'m mut [checks::Slot],
}

impl Device<'_> {
    /// Sets a fresh block up that has its setup. The memory past the head is already filled with empty slots.
    pub(crate) fn set_up(&mut self, config: &Config) -> Outcome<()> {
        convert::build_table(&mut self.head.table, &self.head.setup, config.full_scale_counts)?;
        let scanner = Scanner::new(self.runs, self.regions, convert::scanning(config)?)?;
        self.head.scanner = Some(scanner.suspend());
        self.head.rows = self.head.setup.height;
        Ok(())
    }

    pub(crate) fn set_thresholds(&mut self, hot_above_mk: i32, cold_below_mk: i32) -> Outcome<()> {
        self.head.thresholds = convert::thresholds(&self.head.table, hot_above_mk, cold_below_mk)?;
        Ok(())
    }

    fn check(&mut self) -> Outcome<Check<'_>> {
        Check::resume(&mut self.head.check, self.shapes).ok_or(Status::ErrOrder)
    }

    fn scanner(&mut self) -> Outcome<Scanner<'_>> {
        let state = self.head.scanner.ok_or(Status::ErrBadState)?;
        Ok(Scanner::resume(self.runs, self.regions, state)?)
    }

    /// Starts a frame; `info` only matters to a check.
    pub(crate) fn start_frame(&mut self, info: Option<FrameInfo>) -> Outcome<()> {
        if self.head.rows != self.head.setup.height {
            return Err(Status::ErrOrder);
        }
        match (self.check(), info) {
            (Ok(mut check), Some(info)) => check.start_frame(info)?,
            // With a check under way every frame says what it shows.
            (Ok(_), None) => return Err(Status::ErrNull),
            (Err(_), _) => {}
        }
        let thresholds = self.head.thresholds;
        let mut scanner = self.scanner()?;
        scanner.start(thresholds);
        self.head.scanner = Some(scanner.suspend());
        self.head.rows = 0;
        Ok(())
    }

    pub(crate) fn push_row(&mut self, row: &[u16]) -> Outcome<()> {
        if row.len() != usize::from(self.head.setup.width) {
            return Err(Status::ErrSize);
        }
        if self.head.rows == self.head.setup.height {
            if Check::resume(&mut self.head.check, self.shapes).is_some() {
                return Err(Status::ErrOrder);
            }
            self.start_frame(None)?;
        }
        // Not resumed: the state stays where it is.
        self.head.scanner.as_mut().ok_or(Status::ErrBadState)?.push(self.runs, self.regions, row)?;
        // A check begun in the middle of a frame waits for the next one.
        if let Some(mut check) = Check::resume(&mut self.head.check, self.shapes).filter(Check::in_frame) {
            check.push_row(row)?;
        }
        self.head.rows += 1;
        Ok(())
    }

    /// Hands out the regions of the frame that was completed last.
    pub(crate) fn regions(&mut self, each: impl FnMut(usize, types::Region)) -> Outcome<(u32, u32)> {
        if self.head.rows != self.head.setup.height {
            return Err(Status::ErrOrder);
        }
        let state = self.head.scanner.as_mut().ok_or(Status::ErrBadState)?;
        convert::regions(state, (self.runs, self.regions), Some(&self.head.table), each)
    }

    pub(crate) fn temperature(&self, counts_q8: u32) -> Outcome<i32> {
        convert::temperature(&self.head.table, counts_q8)
    }

    pub(crate) fn kelvin_row(&self, counts: &[u16], kelvin: &mut [RowKelvin]) -> Outcome<()> {
        Ok(self.head.table.kelvin_row(counts, kelvin)?)
    }

    pub(crate) fn begin_check(&mut self, kind: Kind, conditions: &Conditions) -> Outcome<()> {
        Check::begin(&mut self.head.check, self.shapes, kind, &self.head.setup, conditions)?;
        Ok(())
    }

    pub(crate) fn place(&mut self, place: checks::Place) -> Outcome<()> {
        Ok(self.check()?.place(place)?)
    }

    pub(crate) fn locate(&mut self, area: Role, view: View) -> Outcome<Located> {
        if self.head.rows != self.head.setup.height {
            return Err(Status::ErrOrder);
        }
        let state = self.head.scanner.ok_or(Status::ErrBadState)?;
        let mut scanner = Scanner::resume(self.runs, self.regions, state)?;
        let mut check = Check::resume(&mut self.head.check, self.shapes).ok_or(Status::ErrOrder)?;
        let located = check.locate(area, view, scanner.finish().regions())?;
        self.head.scanner = Some(scanner.suspend());
        Ok(located)
    }

    pub(crate) fn judge(&mut self, finding: &mut Finding) -> Outcome<()> {
        Ok(self.check()?.judge_into(finding)?)
    }
}
