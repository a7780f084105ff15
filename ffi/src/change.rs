//! Behind the C functions for what changed between before and after, in safe Rust on borrowed parts.

use crate::block::Listed;
use crate::change_types::{CHANGE_MEM_HEAD, CHANGE_MEM_PER_BLOCK};
use crate::convert;
use crate::device::Outcome;
use crate::status::Status;
use crate::types::Config;
use oddheat_core::measure::{Block, Change, When};

/// Head of the block of a change.
#[derive(Debug)]
pub(crate) struct ChangeHead {
    change: Change,
    /// Dead and saturated counts.
    valid: (u16, u16),
}

impl Listed for ChangeHead {
    const MAGIC: u32 = 0x0DD4_C4A6;
    const HEAD_BYTES: usize = CHANGE_MEM_HEAD;
    const ENTRY_BYTES: usize = CHANGE_MEM_PER_BLOCK;
    type Entry = Block;
    const EMPTY: Block = Block::EMPTY;
}

impl ChangeHead {
    pub(crate) fn new(config: &Config, block_px: u32) -> Outcome<Self> {
        if !block_px.is_power_of_two() {
            return Err(Status::ErrRange);
        }
        let range = convert::readings(config.dead_at_or_below_counts, config.saturated_at_counts)?;
        // At most 31, and what is too much is refused there.
        let change = Change::new(config.width_px, config.height_px, block_px.trailing_zeros() as u8)?;
        Ok(Self { change, valid: (range.dead(), range.full_scale()) })
    }

    /// Blocks that it sums in.
    pub(crate) fn blocks(&self) -> Outcome<u32> {
        u32::try_from(self.change.blocks()).map_err(|_| Status::ErrRange)
    }

    pub(crate) fn row(&self, blocks: &mut [Block], after: u32, y: u32, row: &[u16]) -> Outcome<()> {
        let when = if convert::flag(after)? { When::After } else { When::Before };
        let y = u16::try_from(y).map_err(|_| Status::ErrSize)?;
        Ok(self.change.add_row(blocks, when, y, row, self.valid)?)
    }

    pub(crate) fn read(&self, blocks: &[Block], row: u32, fraction_bits: u32, out: &mut [u16]) -> Outcome<()> {
        let fraction = u8::try_from(fraction_bits).map_err(|_| Status::ErrRange)?;
        Ok(self.change.difference_row(blocks, row as usize, fraction, out)?)
    }
}
