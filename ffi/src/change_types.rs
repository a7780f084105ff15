//! What crosses the border for before and after.

use oddheat_core::measure::Change;

/// Bytes of the block of a change that any change takes.
pub const CHANGE_MEM_HEAD: usize = 32;
/// Bytes for each block of pixels.
pub const CHANGE_MEM_PER_BLOCK: usize = 12;
/// Count that stands for no change in a row that oddheat_change_read() writes.
pub const CHANGE_ZERO: u16 = 0x8000;

const _: () = assert!(CHANGE_ZERO == Change::ZERO);
