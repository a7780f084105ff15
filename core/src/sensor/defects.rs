//! The list of bad pixels.
//!
//! *Sources.* GB/T 17444-2013 (existence read, definitions memory) names dead and over-noisy pixels; a study of
//! long-term stability (Gross, Hierl, Schulz; abstract read) weak, flickering and drifting ones. The kinds here are
//! those that a run can tell apart.

use super::range::SetupError;
use crate::codes::codes;

codes! {
    /// Why a pixel is not used.
    pub enum DefectKind {
        /// Listed by the maker or the user.
        Listed = 1, "listed";
        /// Hardly follows the signal.
        Dead = 2, "dead";
        /// Puts out the same count whatever its neighbors do.
        Stuck = 3, "stuck";
        /// Noise far above that of the array.
        Noisy = 4, "noisy";
        /// Jumps between levels.
        Blinking = 5, "blinking";
        /// Gain or offset beyond what the correction can hold.
        Uncorrectable = 6, "uncorrectable";
    }
}

/// One bad pixel, and what replacing it needs to remember from the row above. Lend [`Defect::EMPTY`]s.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Defect {
    x: u16,
    y: u16,
    /// Count of the good pixel right above, or 0: count 0 is never a reading.
    pub(super) above: u16,
    kind: DefectKind,
}

impl Defect {
    /// Unused memory.
    pub const EMPTY: Self = Self { x: u16::MAX, y: u16::MAX, above: 0, kind: DefectKind::Listed };

    /// Column.
    #[must_use]
    pub const fn x(&self) -> u16 {
        self.x
    }

    /// Row.
    #[must_use]
    pub const fn y(&self) -> u16 {
        self.y
    }

    /// Why it is bad.
    #[must_use]
    pub const fn kind(&self) -> DefectKind {
        self.kind
    }

    const fn place(&self) -> (u16, u16) {
        (self.y, self.x)
    }
}

/// Bad pixels in raster order, in lent memory of 8 bytes each.
///
/// *Cost*: looking up is a bisection; adding moves what lies behind. Both are for set-up and for the rare find.
#[derive(Debug)]
pub struct Defects<'m> {
    slots: &'m mut [Defect],
    len: usize,
}

impl<'m> Defects<'m> {
    /// An empty list.
    pub fn new(slots: &'m mut [Defect]) -> Self {
        Self { slots, len: 0 }
    }

    /// Takes up a list again: the same memory, and [`Defects::len`] from before. More than the memory holds is cut.
    pub fn resume(slots: &'m mut [Defect], len: usize) -> Self {
        let len = len.min(slots.len());
        Self { slots, len }
    }

    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.len
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// How many more fit.
    #[must_use]
    pub const fn free(&self) -> usize {
        self.slots.len().saturating_sub(self.len)
    }

    /// Forgets all.
    pub const fn clear(&mut self) {
        self.len = 0;
    }

    /// The list in raster order.
    #[must_use]
    pub fn as_slice(&self) -> &[Defect] {
        self.slots.get(..self.len).unwrap_or(&[])
    }

    /// Whether the pixel is listed.
    #[must_use]
    pub fn contains(&self, x: u16, y: u16) -> bool {
        listed(self.as_slice(), x, y)
    }

    /// Adds a pixel; one already listed keeps its first kind. Returns whether it is new.
    ///
    /// # Errors
    /// [`SetupError::ListFull`] if it is new and the memory is used up.
    pub fn insert(&mut self, x: u16, y: u16, kind: DefectKind) -> Result<bool, SetupError> {
        if self.contains(x, y) {
            return Ok(false);
        }
        let at = self.as_slice().partition_point(|defect| defect.place() < (y, x));
        let Some(behind) = self.slots.get_mut(at..=self.len) else { return Err(SetupError::ListFull) };
        let mut carried = Defect { x, y, above: 0, kind };
        for slot in behind {
            core::mem::swap(slot, &mut carried);
        }
        self.len += 1;
        Ok(true)
    }

    /// Takes a pixel off the list, for one found online that proved sound. Returns whether it was listed.
    pub fn remove(&mut self, x: u16, y: u16) -> bool {
        if !self.contains(x, y) {
            return false;
        }
        let at = self.as_slice().partition_point(|defect| defect.place() < (y, x));
        let mut carried = Defect::EMPTY;
        for slot in self.slots.get_mut(at..self.len).unwrap_or(&mut []).iter_mut().rev() {
            core::mem::swap(slot, &mut carried);
        }
        self.len -= 1;
        true
    }

    /// The defects of one row, and those of the row below it.
    pub(super) fn rows(&mut self, y: u16) -> (&mut [Defect], &mut [Defect]) {
        let list = self.slots.get_mut(..self.len).unwrap_or(&mut []);
        let start = list.partition_point(|defect| defect.y < y);
        let Some(rest) = list.get_mut(start..) else { return (&mut [], &mut []) };
        // Few or none: counted, not bisected.
        let own = rest.iter().take_while(|defect| defect.y == y).count();
        let Some((here, rest)) = rest.split_at_mut_checked(own) else { return (&mut [], &mut []) };
        let next = rest.iter().take_while(|defect| u32::from(defect.y) == u32::from(y) + 1).count();
        (here, rest.get_mut(..next).unwrap_or(&mut []))
    }
}

/// Whether a list in raster order holds the pixel.
pub(super) fn listed(defects: &[Defect], x: u16, y: u16) -> bool {
    defects.binary_search_by_key(&(y, x), Defect::place).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;
    use std::vec::Vec;

    #[test]
    fn a_full_list_refuses_and_stays() {
        let mut slots = [Defect::EMPTY; 2];
        let mut list = Defects::new(&mut slots);
        assert_eq!(list.insert(5, 1, DefectKind::Dead), Ok(true));
        assert_eq!(list.insert(1, 5, DefectKind::Stuck), Ok(true));
        assert_eq!(list.insert(5, 1, DefectKind::Noisy), Ok(false));
        assert_eq!(list.insert(0, 0, DefectKind::Noisy), Err(SetupError::ListFull));
        let kinds: Vec<_> = list.as_slice().iter().map(Defect::kind).collect();
        assert_eq!(kinds, [DefectKind::Dead, DefectKind::Stuck]);
        assert_eq!((list.free(), list.len()), (0, 2));
    }

    proptest! {
        #[test]
        fn behaves_like_an_ordered_set(
            steps in proptest::collection::vec((any::<bool>(), 0u16..6, 0u16..6), 0..80),
        ) {
            let mut slots = [Defect::EMPTY; 36];
            let mut list = Defects::new(&mut slots);
            let mut model = BTreeSet::new();
            for (add, x, y) in steps {
                if add {
                    prop_assert_eq!(list.insert(x, y, DefectKind::Listed), Ok(model.insert((y, x))));
                } else {
                    prop_assert_eq!(list.remove(x, y), model.remove(&(y, x)));
                }
                let places: Vec<_> = list.as_slice().iter().map(|d| (d.y(), d.x())).collect();
                prop_assert_eq!(places, model.iter().copied().collect::<Vec<_>>());
            }
            for row in 0..6 {
                let (here, below) = list.rows(row);
                prop_assert!(here.iter().all(|d| d.y == row) && below.iter().all(|d| d.y == row + 1));
                prop_assert_eq!(here.len(), model.iter().filter(|p| p.0 == row).count());
                prop_assert_eq!(below.len(), model.iter().filter(|p| p.0 == row + 1).count());
            }
        }
    }
}
