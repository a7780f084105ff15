//! Any rows through a scanner with a table of any size: nothing panics, areas add up, unmarked regions are plausible, and the
//! whole frame at once gives the same.
#![no_main]

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Connectivity, Filter, Region, Run, Scanner, Settings, Slot};

#[derive(Arbitrary, Debug)]
struct Input {
    width: u8,
    slots: u8,
    eight: bool,
    hot: u8,
    cold: u8,
    pixels: Vec<u8>,
}

fuzz_target!(|input: Input| {
    let width = usize::from(input.width).max(1);
    let (hot, cold) = (u16::from(input.hot.max(input.cold)), u16::from(input.hot.min(input.cold)));
    let thresholds = Thresholds::new(hot, cold).expect("ordered");
    let mut runs = vec![Run::EMPTY; Scanner::runs(width as u16)];
    let mut slots = vec![Slot::EMPTY; usize::from(input.slots).max(1)];
    let connectivity = if input.eight { Connectivity::Eight } else { Connectivity::Four };
    let settings = Settings { width: width as u16, thresholds, connectivity, min_area: 1 };
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).expect("large enough");
    let counts: Vec<u16> = input.pixels.chunks_exact(width).flatten().map(|&v| u16::from(v)).collect();
    let foreground = counts.iter().filter(|&&v| v > hot || v < cold).count() as u32;
    for row in counts.chunks_exact(width) {
        scanner.push(row).expect("of the stated width");
    }
    let found = scanner.finish();
    let area: u32 = found.regions().map(|region| region.area).sum();
    assert!(area <= foreground);
    if found.dropped() == 0 {
        assert_eq!(area, foreground);
    }
    let strengths: Vec<u16> = found.regions().map(|region| region.strength).collect();
    assert!(strengths.is_sorted_by(|a, b| a >= b));
    let (regions, dropped): (Vec<Region>, u32) = (found.regions().collect(), found.dropped());
    let at_once = scanner.frame(thresholds, &counts, &Filter::min_area(1)).expect("whole rows");
    assert_eq!(at_once.regions().collect::<Vec<_>>(), regions);
    assert_eq!(at_once.dropped(), dropped);
});
