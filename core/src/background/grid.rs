//! The local level: medians of blocks, interpolated between their centers.
//!
//! *What.* The frame is cut into even blocks of about `side` × `side` pixels. Each block keeps a median and a bracket of
//! 16 bins around it, in which the pixels of the next frame are counted; a median found inside narrows the bracket
//! eightfold, one found outside moves and widens it. *Why.* That is the true median of the block, to the finest bin
//! asked for, from 36 bytes per block of one band; a hot part up to half a block in size does not move it. *How to
//! begin.* A bracket over all 14-bit counts reaches bins of one count in five frames; or push the first frame five
//! times. [`LocalLevel::correct_row`] refuses until then. *Order in use*: correct a row, then push the row as it came.
//! The grid is updated as bands end, so nodes above a row are of this frame and those below of the one before.
//!
//! *Limit.* A hot or cold part larger than half a block is taken for background: `side` must be at least half as large
//! again as what is sought, in either direction (derived: 1/2 of the area is 1/√2 of the side). A bracket follows a
//! change of 8 bins per frame at once; a larger one takes it some frames, six if it is 500 counts (tests), during which
//! the level is off and passes for settled all the same.
//!
//! *Memory.* 4 bytes a block and 36 a block of one band: at 160 × 120 and side 16, 70 blocks and 10 of a band, 640
//! bytes. *Cost*, measured on thumbv7em: 21 instructions a pixel to push, 24 to correct.
//!
//! *Scaling and overflow*: nodes are Q6 counts, below 2²², so that with eight bits more they stay below 2³⁰; products
//! with a position go through `i64`.

use super::histogram::check_length;
use crate::error::{Error, Result};
use crate::sensor::{CountRange, SetupError};

/// Bins of a bracket.
const BINS: usize = 16;
/// log2 of how much a bracket narrows or widens: its new width is then two old bins.
const ZOOM: u8 = 3;
/// Fraction bits of a position along a row, in blocks. 4,096 steps of it are wrong by 1/64 block at most.
const POSITION_BITS: u32 = 18;
/// The part of a position within a block.
const FRACTION: i32 = (1 << POSITION_BITS) - 1;
/// Widest row and highest frame of a [`LocalLevel`]; at that, positions of rows stay below 2³⁰.
const EXTENT_MAX: u16 = 4_096;

/// Median of a block and its bracket, 4 bytes; lend [`LevelBlock::EMPTY`]s.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LevelBlock {
    median: u16,
    /// log2 of the bin width.
    shift: u8,
    status: Status,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Status {
    /// Never had enough readings; the median is a neighbor's.
    Blank,
    /// The bracket has not been at its finest yet.
    Searching,
    Settled,
}

impl LevelBlock {
    /// A block nothing is known of.
    pub const EMPTY: Self = Self { median: 0, shift: 0, status: Status::Blank };

    /// The median in counts, once [`LocalLevel::is_settled`].
    #[must_use]
    pub const fn median(&self) -> u16 {
        self.median
    }
}

/// The bracket of a block of the current band, 36 bytes; lend [`BandBins::EMPTY`]s.
#[derive(Clone, Copy, Debug)]
pub struct BandBins {
    bins: [u16; BINS],
    below: u16,
    above: u16,
}

impl BandBins {
    /// Nothing counted.
    pub const EMPTY: Self = Self { bins: [0; BINS], below: 0, above: 0 };

    fn add(&mut self, row: &[u16], block: LevelBlock, range: CountRange) {
        let (low, shift) = (bracket_low(block), block.shift);
        let (mut below, mut above) = (0u16, 0u16);
        for &count in row {
            let offset = i32::from(count).wrapping_sub(low);
            if !range.holds(count) {
                core::hint::cold_path();
            } else if let Some(bin) = self.bins.get_mut((offset >> shift) as u32 as usize) {
                *bin = bin.wrapping_add(1);
            } else if offset < 0 {
                below = below.wrapping_add(1);
            } else {
                above = above.wrapping_add(1);
            }
        }
        self.below = self.below.wrapping_add(below);
        self.above = self.above.wrapping_add(above);
    }
}

/// First count of the bracket; may be negative.
fn bracket_low(block: LevelBlock) -> i32 {
    i32::from(block.median) - ((BINS as i32 / 2) << block.shift)
}

/// How the frame is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct GridSettings {
    /// Columns, 1 to 4,096.
    pub width: u16,
    /// Rows, 1 to 4,096.
    pub height: u16,
    /// Side of a block in pixels, 4 to 128; blocks are stretched so that they fill the frame evenly.
    pub side: u16,
    /// log2 of the finest bin in counts; 0 to 8. Far below the noise is wasted.
    pub finest: u8,
}

impl GridSettings {
    const fn columns(&self) -> u16 {
        let columns = self.width / if self.side == 0 { 1 } else { self.side };
        if columns == 0 { 1 } else { columns }
    }

    const fn rows(&self) -> u16 {
        let rows = self.height / if self.side == 0 { 1 } else { self.side };
        if rows == 0 { 1 } else { rows }
    }

    /// Whether a local level can be made with these.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a setting outside its range.
    pub fn check(&self) -> core::result::Result<(), SetupError> {
        let extent = 1..=EXTENT_MAX;
        let sound = extent.contains(&self.width) && extent.contains(&self.height);
        if sound && (4..=128).contains(&self.side) && self.finest <= 8 { Ok(()) } else { Err(SetupError::Setting) }
    }

    /// Blocks to lend.
    #[must_use]
    pub const fn blocks(&self) -> usize {
        self.columns() as usize * self.rows() as usize
    }

    /// Bins to lend.
    #[must_use]
    pub const fn bands(&self) -> usize {
        self.columns() as usize
    }
}

/// What a [`LocalLevel`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct LocalState {
    settings: GridSettings,
    range: CountRange,
    /// Shift of a bracket over all readings.
    widest: u8,
    row: u16,
    band: u16,
    settled: bool,
}

/// The local level of a frame: true medians of blocks, found by brackets that narrow from frame to frame, interpolated
/// between the blocks' centers. [`LocalLevel::correct_row`] first, then [`LocalLevel::push`] the row as it came. A part
/// larger than half a block is taken for background: make the side half as large again as what is sought. 4 bytes a
/// block and 36 a block of one band; 21 instructions a pixel to push, 24 to correct.
#[derive(Debug)]
pub struct LocalLevel<'m> {
    blocks: &'m mut [LevelBlock],
    bands: &'m mut [BandBins],
    state: LocalState,
}

impl<'m> LocalLevel<'m> {
    /// In lent memory of [`GridSettings::blocks`] and [`GridSettings::bands`].
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a setting outside its range, [`SetupError::Memory`] for too little memory.
    pub fn new(
        blocks: &'m mut [LevelBlock],
        bands: &'m mut [BandBins],
        range: CountRange,
        settings: GridSettings,
    ) -> core::result::Result<Self, SetupError> {
        settings.check()?;
        if blocks.len() < settings.blocks() || bands.len() < settings.bands() {
            return Err(SetupError::Memory);
        }
        let span = u32::from(range.full_scale() - range.dead());
        let mut widest = settings.finest;
        while (BINS as u32) << widest < span {
            widest += 1;
        }
        let median = range.dead() + (range.full_scale() - range.dead()) / 2;
        blocks.fill(LevelBlock { median, shift: widest, status: Status::Blank });
        bands.fill(BandBins::EMPTY);
        Ok(Self { blocks, bands, state: LocalState { settings, range, widest, row: 0, band: 0, settled: false } })
    }

    /// Takes up again from a state and the same memory.
    pub const fn resume(blocks: &'m mut [LevelBlock], bands: &'m mut [BandBins], state: LocalState) -> Self {
        Self { blocks, bands, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> LocalState {
        self.state
    }

    /// Whether every block that has readings has been known to the finest bin, so that rows can be corrected.
    #[must_use]
    pub const fn is_settled(&self) -> bool {
        self.state.settled
    }

    /// The blocks of the grid, row by row.
    #[must_use]
    pub fn blocks(&self) -> &[LevelBlock] {
        self.blocks.get(..self.state.settings.blocks()).unwrap_or(&[])
    }

    /// Takes the next row into the medians; the last row of a frame ends it.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width.
    pub fn push(&mut self, row: &[u16]) -> Result<()> {
        let Self { blocks, bands, state } = self;
        check_length(row, state.settings.width)?;
        let (columns, rows) = (usize::from(state.settings.columns()), u32::from(state.settings.rows()));
        let band_blocks = blocks.get_mut(usize::from(state.band) * columns..).unwrap_or(&mut []);
        // Block i ends before column (i + 1)·width/columns; the remainders are carried along.
        let (length, remainder) =
            (row.len().checked_div(columns).unwrap_or(0), row.len().checked_rem(columns).unwrap_or(0));
        let (mut rest, mut carried) = (row, 0);
        for (bins, block) in bands.iter_mut().zip(band_blocks.iter()).take(columns) {
            carried += remainder;
            let extra = usize::from(carried >= columns);
            carried -= extra * columns;
            let Some((own, after)) = rest.split_at_checked(length + extra) else { break };
            bins.add(own, *block, state.range);
            rest = after;
        }
        state.row += 1;
        let (done, height) = (u32::from(state.row), u32::from(state.settings.height));
        if done * rows >= (u32::from(state.band) + 1) * height {
            let pixels = (u32::from(state.settings.width) * height).checked_div(columns as u32 * rows).unwrap_or(0);
            for (bins, block) in bands.iter_mut().zip(band_blocks).take(columns) {
                bracket(block, bins, pixels / 4, state);
                *bins = BandBins::EMPTY;
            }
            state.band += 1;
        }
        if done == height {
            (state.row, state.band) = (0, 0);
            self.end_frame();
        }
        Ok(())
    }

    /// Blocks without readings take the median of the block before them, the first ones that of the first known.
    fn end_frame(&mut self) {
        let count = self.state.settings.blocks();
        let blocks = self.blocks.get_mut(..count).unwrap_or(&mut []);
        let known = |block: &&LevelBlock| block.status != Status::Blank;
        let Some(mut last) = blocks.iter().find(known).map(|block| block.median) else { return };
        for block in blocks.iter_mut() {
            match block.status {
                Status::Blank => block.median = last,
                _ => last = block.median,
            }
        }
        self.state.settled = blocks.iter().all(|block| block.status != Status::Searching);
    }

    /// Takes the local level off row `y` and puts `level` in its place: count − local level + `level`, kept within the
    /// readings. What is no reading stays as it is.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] until [`LocalLevel::is_settled`], [`Error::WrongLength`] for another width or a row that
    /// the frame does not have.
    pub fn correct_row(&self, y: u16, level: u16, row: &mut [u16]) -> Result<()> {
        let state = &self.state;
        check_length(row, state.settings.width)?;
        if y >= state.settings.height {
            return Err(Error::WrongLength);
        }
        if !state.settled {
            return Err(Error::WrongOrder);
        }
        let (columns, rows) = (i32::from(state.settings.columns()), u32::from(state.settings.rows()));
        // Position among the rows of centers, in 1/256 block.
        let doubled = (2 * u32::from(y) + 1) * rows * 128;
        let at = (doubled.checked_div(u32::from(state.settings.height)).unwrap_or(0) as i32 - 128).max(0);
        let (above, weight) = if at >> 8 >= rows as i32 - 1 { (rows as i32 - 1, 0) } else { (at >> 8, at & 255) };
        let line = |j: i32| self.blocks.get((j * columns) as usize..).unwrap_or(&[]);
        let (upper, lower) = (line(above), line(above + i32::from(weight > 0)));
        // Q6 counts; before the first center and after the last, the level is that there.
        let node = |i: i32| {
            let i = i.max(0).min(columns - 1) as usize;
            let [a, b] = [upper, lower].map(|line| line.get(i).map_or(0, |block| i32::from(block.median)));
            (a * (256 - weight) + b * weight) >> 2
        };
        let (lowest, highest) = (i32::from(state.range.dead()) + 1, i32::from(state.range.full_scale()) - 1);
        let step = ((columns as u32) << POSITION_BITS).checked_div(u32::from(state.settings.width)).unwrap_or(0) as i32;
        let mut position = step / 2 - (1 << (POSITION_BITS - 1));
        let mut rest = row;
        let mut next = node(0);
        while !rest.is_empty() {
            // The pixels up to the next center.
            let cell = position >> POSITION_BITS;
            let to_center = ((cell + 1) << POSITION_BITS) - position;
            let pixels = (to_center + step - 1).checked_div(step).unwrap_or(0);
            let end = if cell < columns - 1 { rest.len().min(pixels as usize) } else { rest.len() };
            let Some(own) = rest.split_off_mut(..end.max(1)) else { break };
            // Level less local level in Q14 and its change from pixel to pixel; half a count rounds.
            let here = next;
            next = node(cell + 1);
            let across = next - here;
            let part = |of: i32| ((i64::from(across) * i64::from(of)) >> (POSITION_BITS - 8)) as i32;
            let mut lift = (i32::from(level) << 14) + (1 << 13) - (here << 8) - part(position & FRACTION);
            let slope = part(step);
            for count in own {
                if state.range.holds(*count) {
                    *count = (i32::from(*count) + (lift >> 14)).max(lowest).min(highest) as u16;
                }
                lift = lift.wrapping_sub(slope);
            }
            position += pixels * step;
        }
        Ok(())
    }
}

/// Finds the median in the bracket and draws the next one around it. With too few readings nothing changes.
fn bracket(block: &mut LevelBlock, bins: &BandBins, least: u32, state: &LocalState) {
    let inside: u32 = bins.bins.iter().map(|&bin| u32::from(bin)).sum();
    let readings = inside + u32::from(bins.below) + u32::from(bins.above);
    if readings == 0 || readings < least {
        return;
    }
    if block.status == Status::Blank {
        block.status = Status::Searching;
    }
    let low = bracket_low(*block);
    // The median is the reading of this rank; of an even number, the lower of the middle two.
    let wanted = readings.div_ceil(2);
    let mut below = u32::from(bins.below);
    let mut found = low;
    let mut hit = false;
    if below < wanted {
        found = low + ((BINS as i32) << block.shift);
        for (i, &bin) in bins.bins.iter().enumerate() {
            let bin = u32::from(bin);
            if below + bin >= wanted {
                let within = ((wanted - below - 1) << block.shift).checked_div(bin).unwrap_or(0);
                found = low + ((i as i32) << block.shift) + within as i32;
                hit = true;
                break;
            }
            below += bin;
        }
    }
    if hit {
        if block.shift == state.settings.finest {
            block.status = Status::Settled;
        }
        block.shift = block.shift.saturating_sub(ZOOM).max(state.settings.finest);
    } else {
        block.shift = (block.shift + ZOOM).min(state.widest);
    }
    block.median = found.clamp(0, 0xFFFF) as u16;
}
