//! A value over time in fixed memory, for fits of slope, time constant and knee.
//!
//! *What.* Values go into a lent list; when it is full, neighbors are merged in pairs and each entry stands for twice as
//! many frames, as the histogram does with its bins. *Why.* A time constant needs the course, and nobody knows beforehand
//! how long it will be watched. Entries always stand for equally many frames, so they have the same noise.

use crate::error::{Error, Result};

/// Mean of some frames.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Moment {
    time_ms: u32,
    value_q8: i32,
}

impl Moment {
    /// Nothing meant.
    pub const EMPTY: Self = Self { time_ms: 0, value_q8: 0 };
}

/// Fewest entries to lend: after a merge half of them are left, and a fit needs eight.
const LEAST: usize = 16;
/// Most frames in an entry.
const MOST_FRAMES: u32 = 1 << 16;

/// What a [`Trace`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct TraceState {
    used: u32,
    /// Frames in an entry, a power of two.
    each: u32,
    pending: u32,
    times: u64,
    values: i64,
    last_ms: u32,
}

impl TraceState {
    const EMPTY: Self = Self { used: 0, each: 1, pending: 0, times: 0, values: 0, last_ms: 0 };
}

/// A value over frames in lent memory. Entries stand for equally many frames; when the memory is full, neighbors are merged
/// and the number doubles.
#[derive(Debug)]
pub struct Trace<'m> {
    moments: &'m mut [Moment],
    state: TraceState,
}

impl<'m> Trace<'m> {
    /// An empty trace in lent memory of at least 16 entries.
    ///
    /// # Errors
    /// [`Error::TooSmall`] for fewer.
    pub fn new(moments: &'m mut [Moment]) -> Result<Self> {
        Self::resume(moments, TraceState::EMPTY)
    }

    /// Takes up a trace again from its state and the same memory.
    ///
    /// # Errors
    /// [`Error::TooSmall`] if the memory cannot be the same.
    pub fn resume(moments: &'m mut [Moment], state: TraceState) -> Result<Self> {
        if moments.len() < LEAST || moments.len() < state.used as usize {
            return Err(Error::TooSmall);
        }
        Ok(Self { moments, state })
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> TraceState {
        self.state
    }

    /// Adds the value of a frame, such as [`super::Tally::end_frame`] returns, in 1/256 of any unit.
    ///
    /// # Errors
    /// [`Error::TimeBackward`], [`Error::Full`] when entries stand for 65,536 frames and none is free.
    pub fn add(&mut self, time_ms: u32, value_q8: i32) -> Result<()> {
        let begun = self.state.used > 0 || self.state.pending > 0;
        if begun && time_ms < self.state.last_ms {
            return Err(Error::TimeBackward);
        }
        if self.state.pending + 1 == self.state.each && self.state.used as usize == self.moments.len() {
            self.merge()?;
        }
        let state = &mut self.state;
        state.last_ms = time_ms;
        state.pending += 1;
        state.times += u64::from(time_ms);
        state.values += i64::from(value_q8);
        if state.pending < state.each {
            return Ok(());
        }
        if let Some(free) = self.moments.get_mut(state.used as usize) {
            // A power of two: shifts, and the mean rounds down for either sign.
            let shift = state.each.trailing_zeros();
            *free = Moment { time_ms: (state.times >> shift) as u32, value_q8: (state.values >> shift) as i32 };
            state.used += 1;
        }
        (state.pending, state.times, state.values) = (0, 0, 0);
        Ok(())
    }

    /// Halves the entries. What is pending stays pending: it is then half of a new entry or less.
    fn merge(&mut self) -> Result<()> {
        if self.state.each >= MOST_FRAMES {
            return Err(Error::Full);
        }
        let pairs = self.state.used / 2;
        for to in 0..pairs as usize {
            if let (Some(&a), Some(&b)) = (self.moments.get(2 * to), self.moments.get(2 * to + 1))
                && let Some(into) = self.moments.get_mut(to)
            {
                let middle = |a: i64, b: i64| (a + b) >> 1;
                into.time_ms = middle(i64::from(a.time_ms), i64::from(b.time_ms)) as u32;
                into.value_q8 = middle(i64::from(a.value_q8), i64::from(b.value_q8)) as i32;
            }
        }
        // An odd one out, of odd memory, goes back to what is pending.
        if self.state.used % 2 == 1
            && let Some(last) = self.moments.get(2 * pairs as usize)
        {
            self.state.times += u64::from(last.time_ms) * u64::from(self.state.each);
            self.state.values += i64::from(last.value_q8) * i64::from(self.state.each);
            self.state.pending += self.state.each;
        }
        self.state.used = pairs;
        self.state.each *= 2;
        Ok(())
    }

    /// Frames that an entry stands for: for a fit, the noise of a value is that of a frame over its root.
    #[must_use]
    pub const fn frames_each(&self) -> u32 {
        self.state.each
    }

    /// Whole entries: seconds from the first entry's time zero (that of `time_ms`) and value. Ready for [`super::fit`].
    #[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per entry when a series is judged")]
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + Clone {
        let used = self.moments.iter().take(self.state.used as usize);
        used.map(|moment| (f64::from(moment.time_ms) / 1_000.0, f64::from(moment.value_q8) / 256.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    proptest! {
        #[test]
        fn a_ramp_stays_a_ramp(frames in 1u32..3_000, capacity in 16usize..70) {
            let mut memory = std::vec![Moment::default(); capacity];
            let mut trace = Trace::new(&mut memory).unwrap();
            for i in 0..frames {
                trace.add(1_000 * i, (i as i32 - 100) << 8).unwrap();
            }
            let each = trace.frames_each();
            let points: Vec<_> = trace.points().collect();
            prop_assert_eq!(points.len() as u32, frames / each);
            prop_assert!(frames < capacity as u32 || points.len() >= capacity / 2);
            for (i, (time, value)) in points.iter().enumerate() {
                let middle = f64::from(i as u32 * each) + f64::from(each - 1) / 2.0;
                // Each merge rounds by half a unit.
                prop_assert!((time - middle).abs() < 0.02, "{} {}", time, middle);
                prop_assert!((value - (middle - 100.0)).abs() < 0.05, "{} {}", value, middle);
            }
        }
    }

    #[test]
    fn refusals_leave_the_trace_as_it_was() {
        let mut memory = [Moment::default(); 16];
        assert_eq!(Trace::new(&mut memory[..15]).unwrap_err(), Error::TooSmall);
        let mut trace = Trace::new(&mut memory).unwrap();
        trace.add(5, 256).unwrap();
        assert_eq!(trace.add(4, 0), Err(Error::TimeBackward));
        assert_eq!(trace.points().collect::<Vec<_>>(), [(0.005, 1.0)]);
    }
}
