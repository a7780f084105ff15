//! Pseudo-random integers.

/// Marsaglia's xorshift with 32 bits and shifts 13, 17, 5 (Journal of Statistical Software 8(14), 2003: memory).
#[derive(Clone, Copy, Debug)]
pub(super) struct XorShift(u32);

impl XorShift {
    /// A sequence of its own for each seed.
    pub(super) fn new(seed: u32) -> Self {
        // The multiplier is odd, so that different seeds stay different; 0 is the one state that xorshift never leaves.
        let mut random = Self(seed.wrapping_mul(0x9E37_79B9).max(1));
        // Neighboring seeds resemble each other at first.
        for _ in 0..8 {
            random.next();
        }
        random
    }

    /// The next 32 bits, never all zero.
    pub(super) fn next(&mut self) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        self.0
    }

    /// An integer from `low` to `high`, both included; slightly uneven, which does not matter here.
    pub(super) fn between(&mut self, low: i32, high: i32) -> i32 {
        let choices = high.abs_diff(low).saturating_add(1);
        // The upper bits are the better ones.
        low.saturating_add_unsigned((self.next() >> 8) % choices)
    }

    /// True in one of `n` cases.
    pub(super) fn one_in(&mut self, n: i32) -> bool {
        self.between(1, n) == 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers after 1, as published in many places (memory).
    #[test]
    fn sequence_is_the_known_one() {
        let mut random = XorShift(1);
        assert_eq!([(); 3].map(|()| random.next()), [270_369, 67_634_689, 2_647_435_461]);
    }

    #[test]
    fn both_ends_of_a_range_occur_and_nothing_beyond() {
        let mut random = XorShift::new(7);
        let mut seen = [false; 7];
        for _ in 0..1_000 {
            seen[(random.between(-3, 3) + 3) as usize] = true;
        }
        assert_eq!(seen, [true; 7]);
    }
}
