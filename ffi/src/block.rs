//! Blocks that hold a head and one array behind it: measuring tools, a profile, a trace.

/// What such a block is made of; implemented by what its head holds beside the two numbers of [`Block`].
pub(crate) trait Listed {
    /// Marks a block of this kind that was initialized.
    const MAGIC: u32;
    /// Bytes of the head, a multiple of 8, as in the header.
    const HEAD_BYTES: usize;
    /// Bytes for an entry, as in the header; the entries may be smaller.
    const ENTRY_BYTES: usize;
    /// What the array holds.
    type Entry: Copy;
    /// An entry in which nothing is set.
    const EMPTY: Self::Entry;
}

/// Start of the caller's block. No pointers: the block may be moved between calls.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct Block<H> {
    pub(crate) magic: u32,
    /// Entries behind the head.
    pub(crate) count: u32,
    pub(crate) head: H,
}

/// Bytes of a block with so many entries, a multiple of 8; more than any memory on a machine that could not hold it.
pub(crate) const fn bytes<H: Listed>(count: u32) -> usize {
    let entries = (count as usize).saturating_mul(H::ENTRY_BYTES);
    match H::HEAD_BYTES.saturating_add(entries).checked_next_multiple_of(8) {
        Some(bytes) => bytes,
        None => usize::MAX,
    }
}
