//! The correction of a row: the loops that run for every pixel.
//!
//! *How.* Where counts have 15 bits or fewer, two lie in a word: whether eight pixels are all readings is seen in the
//! upper bits of sums of words, and a word's halves are multiplied with the lower half of a coefficient as they are.
//! Wider counts, and turns with a pixel that is no reading, go pixel by pixel. *Cost*: see [`super::super::Chain`].

use super::{Coefficient, GAIN_BITS, TwoPoint, Unread};
use crate::error::{Error, Result};

/// Counts below this leave the upper bit of their half of a word to the sums.
const HALF: u16 = 0x8000;
/// The upper bits of both halves.
const UPPER: u32 = 0x8000_8000;

/// Exchanges the halves of a word where the target has the first pixel in the upper one.
const fn first_below(word: u32) -> u32 {
    if cfg!(target_endian = "big") { word.rotate_left(16) } else { word }
}

impl TwoPoint {
    /// Corrects a row in place. `common_q4` (1/16 count) is added to every pixel: the drift of the frame. What is no
    /// reading stays as it is; a result outside 0 to 65,535 saturates.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the lengths differ; the row is then untouched.
    pub fn correct_row(&self, coefficients: &[Coefficient], common_q4: i32, row: &mut [u16]) -> Result<Unread> {
        if coefficients.len() != row.len() {
            return Err(Error::WrongLength);
        }
        let base = self.base(common_q4).wrapping_add(1 << (GAIN_BITS - 1));
        let mut unread = Unread::default();
        let (mut coefficients, mut row) = (coefficients, row);
        while !row.is_empty() {
            let mut slow = row.len();
            if self.range.full_scale() <= HALF && self.pivot <= HALF {
                let (before, words, _) = bytemuck::pod_align_to_mut::<u16, u32>(row);
                slow = before.len();
                if slow == 0 {
                    let done = self.correct_words(
                        coefficients.as_chunks().0.as_chunks().0,
                        base,
                        words.as_chunks_mut().0.as_chunks_mut().0,
                    ) * 8;
                    coefficients = coefficients.get(done..).unwrap_or(&[]);
                    row = row.get_mut(done..).unwrap_or(&mut []);
                    if row.is_empty() {
                        break;
                    }
                    slow = row.len().min(8);
                }
            }
            let (Some((these, coefficients_after)), Some((counts, after))) =
                (coefficients.split_at_checked(slow), row.split_at_mut_checked(slow))
            else {
                break;
            };
            self.correct_each(these, base, counts, &mut unread);
            (coefficients, row) = (coefficients_after, after);
        }
        Ok(unread)
    }

    /// Sixteen pixels in a turn, eight of them at a time in words, which a small core holds in registers; returns the
    /// number of eights before the first with a pixel that is no reading. Needs a full scale and a pivot of at most
    /// [`HALF`].
    #[inline(never)]
    fn correct_words(self, coefficients: &[[[Coefficient; 8]; 2]], base: i32, turns: &mut [[[u32; 4]; 2]]) -> usize {
        let both = |count: u16| u32::from(count) * 0x1_0001;
        // A half reaches its upper bit with `to_full` if it is saturated, and with `to_dead` if it is not dead. One that
        // is beyond 15 bits fails one of the two, even where its sum runs over into the other half.
        let (to_full, to_dead) = (both(HALF - self.range.full_scale()), both(HALF - 1 - self.range.dead()));
        // Adds to a half without running over, and turns it into the difference from the pivot in two's complement.
        let to_pivot = both(HALF - self.pivot);
        let corrected = |coefficient: &Coefficient, difference: u16| {
            let product = i32::from(difference as i16) * i32::from(coefficient.0 as i16);
            let sum = product.wrapping_add(base).wrapping_add(coefficient.0 as i32 >> 6);
            (sum >> GAIN_BITS).clamp(0, 0xFFFF) as u32
        };
        let pair = |word: u32, low: &Coefficient, high: &Coefficient| {
            let differences = first_below(word.wrapping_add(to_pivot) ^ UPPER);
            first_below(corrected(low, differences as u16) | corrected(high, (differences >> 16) as u16) << 16)
        };
        // Written out: an optimizer that goes for size would roll it up.
        let all_readings = |[o, p, q, r]: [u32; 4]| {
            let (full, dead) = (|w: u32| w.wrapping_add(to_full), |w: u32| w.wrapping_add(to_dead));
            let (full, alive) = (full(o) | full(p) | full(q) | full(r), dead(o) & dead(p) & dead(q) & dead(r));
            (full | !alive) & UPPER == 0
        };
        let total = 2 * turns.len();
        let mut k = coefficients.iter();
        for [first, second] in turns.iter_mut() {
            let Some([[ka, kb, kc, kd, ke, kf, kg, kh], [ki, kj, kl, km, kn, ko, kp, kq]]) = k.next() else { break };
            if !all_readings(*first) {
                return total - 2 * k.len() - 2;
            }
            let [o, p, q, r] = *first;
            *first = [pair(o, ka, kb), pair(p, kc, kd), pair(q, ke, kf), pair(r, kg, kh)];
            if !all_readings(*second) {
                return total - 2 * k.len() - 1;
            }
            let [o, p, q, r] = *second;
            *second = [pair(o, ki, kj), pair(p, kl, km), pair(q, kn, ko), pair(r, kp, kq)];
        }
        total
    }

    /// Pixel by pixel, counting what is no reading.
    fn correct_each(self, coefficients: &[Coefficient], base: i32, row: &mut [u16], unread: &mut Unread) {
        let mut x = 0;
        loop {
            let (counts, coefficients) = (row.get_mut(x..).unwrap_or(&mut []), coefficients.get(x..).unwrap_or(&[]));
            let done = self.correct_readings(coefficients, base, counts);
            let Some(&count) = counts.get(done) else { return };
            let counter = if self.range.is_saturated(count) { &mut unread.saturated } else { &mut unread.dead };
            *counter = counter.wrapping_add(1);
            x += done + 1;
        }
    }

    /// Corrects up to the first pixel that is no reading, and returns how many that were. A function of its own, left
    /// by that pixel, so that the loop has the registers to itself and no jump around what is rare. Sixteen pixels in a
    /// turn, written out: a turn costs 9 to 16 instructions beside them, and a compiler that goes for size would roll
    /// an inner loop up again. Two iterators and not their zip: its index made the addresses costlier.
    #[inline(never)]
    fn correct_readings(self, coefficients: &[Coefficient], base: i32, row: &mut [u16]) -> usize {
        let (turns, rest) = row.as_chunks_mut::<16>();
        let (coefficient_turns, coefficient_rest) = coefficients.as_chunks::<16>();
        let mut k = coefficient_turns.iter();
        for [a, b, c, d, e, f, g, h, i, j, l, m, n, o, p, q] in turns {
            let Some([ka, kb, kc, kd, ke, kf, kg, kh, ki, kj, kl, km, kn, ko, kp, kq]) = k.next() else { break };
            macro_rules! in_turn {
                ($($place:literal $count:ident $k:ident),+) => {
                    $(if !self.correct(*$k, base, $count) {
                        return (coefficient_turns.len() - k.len() - 1) * 16 + $place;
                    })+
                };
            }
            in_turn!(0 a ka, 1 b kb, 2 c kc, 3 d kd, 4 e ke, 5 f kf, 6 g kg, 7 h kh);
            in_turn!(8 i ki, 9 j kj, 10 l kl, 11 m km, 12 n kn, 13 o ko, 14 p kp, 15 q kq);
        }
        let mut done = coefficient_turns.len() * 16;
        for (count, k) in rest.iter_mut().zip(coefficient_rest) {
            if !self.correct(*k, base, count) {
                break;
            }
            done += 1;
        }
        done
    }

    /// Returns whether the pixel was a reading.
    #[inline(always)]
    fn correct(self, coefficient: Coefficient, base: i32, count: &mut u16) -> bool {
        if !self.range.holds(*count) {
            return false;
        }
        *count = (self.sum(coefficient, base, *count) >> GAIN_BITS).clamp(0, 0xFFFF) as u16;
        true
    }
}
