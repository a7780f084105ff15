//! Behind the C functions for the local level, in safe Rust on borrowed parts.

use crate::convert;
use crate::device::Outcome;
use crate::status::Status;
use crate::types::Config;
use oddheat_core::background::{BandBins, GridSettings, LevelBlock, LocalLevel, LocalState};
use oddheat_core::sensor::CountRange;

/// Marks a block that was initialized.
pub(crate) const LOCAL_MAGIC: u32 = 0x0DD4_10CA;

/// Start of the caller's block. No pointers: the block may be moved between calls.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct LocalHead {
    pub(crate) magic: u32,
    pub(crate) sizes: LocalSizes,
    pub(crate) state: LocalState,
}

/// What the rest of the block holds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LocalSizes {
    pub(crate) blocks: u32,
    pub(crate) bands: u32,
}

/// The arrays of a block.
pub(crate) struct LocalMemory<'m> {
    pub(crate) blocks: &'m mut [LevelBlock],
    pub(crate) bands: &'m mut [BandBins],
}

/// A local level: the parts of a block, borrowed for a call.
pub(crate) struct Local<'m> {
    pub(crate) state: &'m mut LocalState,
    pub(crate) memory: LocalMemory<'m>,
}

fn readings(config: &Config) -> Outcome<CountRange> {
    convert::readings(config.dead_at_or_below_counts, config.saturated_at_counts)
}

/// How a frame of this config is cut into blocks, and what they take.
pub(crate) fn grid(config: &Config, side_px: u32) -> Outcome<(GridSettings, LocalSizes)> {
    let side = u16::try_from(side_px).map_err(|_| Status::ErrRange)?;
    let settings = GridSettings { width: config.width_px, height: config.height_px, side, finest: 0 };
    settings.check()?;
    readings(config)?;
    let number = |count: usize| u32::try_from(count).map_err(|_| Status::ErrRange);
    Ok((settings, LocalSizes { blocks: number(settings.blocks())?, bands: number(settings.bands())? }))
}

/// A fresh state in this memory.
pub(crate) fn state(config: &Config, settings: GridSettings, memory: LocalMemory<'_>) -> Outcome<LocalState> {
    Ok(LocalLevel::new(memory.blocks, memory.bands, readings(config)?, settings)?.suspend())
}

impl Local<'_> {
    fn level(&mut self) -> LocalLevel<'_> {
        LocalLevel::resume(self.memory.blocks, self.memory.bands, *self.state)
    }

    pub(crate) fn row(&mut self, row: &[u16]) -> Outcome<()> {
        let mut level = self.level();
        level.push(row)?;
        *self.state = level.suspend();
        Ok(())
    }

    pub(crate) fn is_settled(&mut self) -> bool {
        self.level().is_settled()
    }

    pub(crate) fn correct(&mut self, y: u32, level_counts: u32, row: &mut [u16]) -> Outcome<()> {
        let y = u16::try_from(y).map_err(|_| Status::ErrSize)?;
        let counts = u16::try_from(level_counts).map_err(|_| Status::ErrRange)?;
        Ok(self.level().correct_row(y, counts, row)?)
    }
}
