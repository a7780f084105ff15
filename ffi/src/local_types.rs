//! What crosses the border for the local level.

/// Bytes of the block of a local level that any such block takes.
pub const LOCAL_MEM_HEAD: usize = 64;
/// Bytes for each block of pixels.
pub const LOCAL_MEM_PER_BLOCK: usize = 4;
/// Bytes for each column of blocks.
pub const LOCAL_MEM_PER_BAND: usize = 36;
