//! One measured call on one fixed frame, for a tool that counts instructions (`cargo xtask baseline`).
//!
//! `counts WORK CONTENT WIDTH HEIGHT TIMES`: the same call `TIMES` times. The difference of two counts with `TIMES` one
//! apart is the call alone, without the start of the program or the making of the frame, whatever tool counts.

use oddheat_benches::calls::{self, MOST_REGIONS, Scan};
use oddheat_benches::{Content, frame};
use oddheat_core::measure::Shape;
use oddheat_core::regions::Connectivity;
use oddheat_core::units::RowKelvin;
use std::hint::black_box;

const USAGE: &str = "counts scan|four|full|convert|measure CONTENT WIDTH HEIGHT TIMES";
/// Regions of a small device's table, which `full` overfills.
const FEW: usize = 64;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [work, content, width, height, times] = &arguments[..] else { return Err(USAGE.into()) };
    let content = Content::ALL.into_iter().find(|known| known.key() == content).ok_or(USAGE)?;
    let (width, height, times) = (width.parse()?, height.parse()?, times.parse::<u32>()?);
    let frame = frame(content, (width, height), 1);
    let counts = frame.counts.as_slice();
    match work.as_str() {
        "scan" | "four" | "full" => {
            let regions = if work == "full" { FEW } else { MOST_REGIONS };
            let neighbors = if work == "four" { Connectivity::Four } else { Connectivity::Eight };
            let mut scan = Scan::new(width, neighbors, regions);
            for _ in 0..times {
                black_box(scan.frame(black_box(counts), frame.hot, frame.cold));
            }
        }
        "convert" => {
            let table = calls::table().map_err(|error| format!("{error:?}"))?;
            let mut kelvin = vec![RowKelvin::ZERO; counts.len()];
            for _ in 0..times {
                calls::convert(&table, black_box(counts), &mut kelvin);
            }
        }
        "measure" => {
            let side = width.min(height);
            let (x, y, outer) = (width / 2, height / 2, side / 2 - 2);
            let ring = Shape::Ring { x, y, inner: outer / 2, outer };
            for _ in 0..times {
                black_box(calls::tally(black_box(ring), black_box(counts), width));
            }
        }
        _ => return Err(USAGE.into()),
    }
    Ok(())
}
