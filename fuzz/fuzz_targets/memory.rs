//! Memory for the blocks of C handles.

/// Whole words, so that the block is aligned; a word more shows who wrote beyond.
pub struct Memory {
    words: Vec<u64>,
    /// Bytes that were asked for.
    pub bytes: usize,
}

impl Memory {
    const GUARD: u64 = 0x0123_4567_89AB_CDEF;

    pub fn new(bytes: usize) -> Self {
        Self { words: vec![Self::GUARD; bytes.div_ceil(8) + 1], bytes }
    }

    pub fn start<T>(&mut self) -> *mut T {
        self.words.as_mut_ptr().cast()
    }
}

impl Drop for Memory {
    fn drop(&mut self) {
        assert_eq!(self.words.last(), Some(&Self::GUARD));
    }
}
