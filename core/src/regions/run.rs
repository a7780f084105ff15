//! A run: neighboring pixels of one row and one sign.

use super::region::Sign;
use super::slot::DROPPED;

/// Working memory for one run of pixels; lend [`Run::EMPTY`]s to [`super::Scanner::new`].
#[derive(Clone, Copy, Debug)]
#[cfg_attr(test, derive(PartialEq, Eq))]
pub struct Run {
    pub(super) start: u16,
    /// One past the last column, so 65,535 columns at most.
    pub(super) end: u16,
    /// Region number, with [`COLD_BIT`] set in a cold run.
    tag: u16,
}

/// Beside the region number of a run; numbers therefore end at 32,766.
const COLD_BIT: u16 = 0x8000;

impl Run {
    /// A run that holds nothing.
    pub const EMPTY: Self = Self { start: 0, end: 0, tag: DROPPED };

    /// A run whose region is not known yet.
    pub(super) const fn new(start: usize, end: usize, cold: bool) -> Self {
        Self { start: start as u16, end: end as u16, tag: (cold as u16) << 15 | DROPPED }
    }

    pub(super) const fn sign(self) -> Sign {
        if self.tag & COLD_BIT == 0 { Sign::Hot } else { Sign::Cold }
    }

    /// Number of the region, or of an alias of it.
    pub(super) const fn number(self) -> u16 {
        self.tag & !COLD_BIT
    }

    /// The number of a run of the same sign, else none that is in use.
    pub(super) const fn number_if_like(self, other: Self) -> u16 {
        self.tag ^ (other.tag & COLD_BIT)
    }

    /// Whether it has a region, and columns and sign of the other.
    pub(super) const fn is_alike(self, other: Self) -> bool {
        self.start == other.start && self.end == other.end && self.number_if_like(other) < DROPPED
    }

    /// Whether number and sign are those of the other.
    pub(super) const fn is_of_the_region_of(self, other: Self) -> bool {
        self.tag == other.tag
    }

    /// Of the same region, only its first column.
    #[cfg(target_arch = "x86_64")]
    pub(super) const fn first_column(self) -> Self {
        Self { end: self.start + 1, ..self }
    }

    pub(super) const fn with_number(self, number: u16) -> Self {
        Self { tag: (self.tag & COLD_BIT) | number, ..self }
    }
}
