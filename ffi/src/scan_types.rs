//! What crosses the border of scanning with a finished table.

use core::mem::{align_of, size_of};

/// Words of a finished table.
pub const TABLE_WORDS: usize = 389;
/// Bytes of the block that any scan takes.
pub const SCAN_MEM_HEAD: usize = 64;

/// A finished table from counts to object temperature: 256 pieces and a mark. Made by oddheat_table_build(), then only
/// read: its words are the same on every target of one byte order, so that it can be made elsewhere and be a constant in
/// the image.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct FinishedTable {
    /// As oddheat_table_build() wrote them.
    pub words: [u32; TABLE_WORDS],
}

const _: () = assert!(size_of::<FinishedTable>() == 1556 && align_of::<FinishedTable>() == 4);
