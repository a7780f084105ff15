//! What the tests of the scanner share: scanning in exactly the memory that is stated, and regions as plain numbers.

pub(crate) mod generate;

use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Connectivity, Filter, Region, Run, Scanner, Settings, Sign, Slot};

/// Most regions that a table can hold.
pub(crate) const MOST: usize = 32_766;

/// An image with the thresholds it is meant for.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    pub(crate) width: usize,
    pub(crate) counts: Vec<u16>,
    pub(crate) hot: u16,
    pub(crate) cold: u16,
}

/// Sign (1 hot, 2 cold), area, x0, y0, x1, y1, mean in 1/256, extreme, its column and row, centroid in 1/65,536: the
/// order of `tests/oracle/regions.py`.
pub(crate) type Numbers = [u32; 12];

pub(crate) fn numbers(region: &Region) -> Numbers {
    let sign = if region.sign == Sign::Hot { 1 } else { 2 };
    let [x0, y0, x1, y1, peak, peak_x, peak_y] =
        [region.x0, region.y0, region.x1, region.y1, region.peak, region.peak_x, region.peak_y].map(u32::from);
    let (cx, cy) = (region.centroid_x.to_bits(), region.centroid_y.to_bits());
    [sign, region.area, x0, y0, x1, y1, region.mean.to_bits(), peak, peak_x, peak_y, cx, cy]
}

impl Frame {
    pub(crate) fn settings(&self, connectivity: Connectivity) -> Settings {
        let thresholds = Thresholds::new(self.hot, self.cold).unwrap();
        Settings { width: u16::try_from(self.width).unwrap(), thresholds, connectivity, min_area: 1 }
    }

    /// Regions in the order of delivery, and how many were dropped: row by row, and the same from the whole frame at once.
    pub(crate) fn scan(&self, connectivity: Connectivity, capacity: usize) -> (Vec<Region>, u32) {
        let settings = self.settings(connectivity);
        let mut runs = vec![Run::EMPTY; Scanner::runs(settings.width)];
        let mut slots = vec![Slot::EMPTY; capacity];
        let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
        for row in self.counts.chunks_exact(self.width) {
            scanner.push(row).unwrap();
        }
        let found = scanner.finish();
        let (regions, dropped) = (found.regions().collect::<Vec<_>>(), found.dropped());
        let at_once = scanner.frame(settings.thresholds, &self.counts, &Filter::min_area(1)).unwrap();
        assert_eq!(at_once.dropped(), dropped, "row by row, and the frame at once");
        assert!(at_once.regions().eq(regions.iter().copied()), "row by row, and the frame at once");
        (regions, dropped)
    }

    /// All regions as a sorted list of numbers.
    pub(crate) fn regions(&self, connectivity: Connectivity) -> Vec<Numbers> {
        let (found, dropped) = self.scan(connectivity, self.counts.len().min(MOST));
        assert_eq!(dropped, 0, "the largest table was too small");
        assert!(found.iter().all(|region| !region.incomplete));
        let mut list: Vec<Numbers> = found.iter().map(numbers).collect();
        list.sort_unstable();
        let area: usize = list.iter().map(|region| region[1] as usize).sum();
        assert_eq!(area, self.foreground(), "pixels were lost or counted twice");
        list
    }

    /// Pixels beyond a threshold.
    pub(crate) fn foreground(&self) -> usize {
        self.counts.iter().filter(|&&v| v > self.hot || v < self.cold).count()
    }
}
