//! Our side of `cargo xtask peers`: times frames and prints a JSON line per case, as the peers' own programs do.
//!
//! `frames rot FOLDER TAG` takes the rotating frames that `FOLDER/rot.tsv` lists, a different one on every call, so that
//! a processor cannot learn a frame; `frames single FILE TAG` converts and sums up one 640 × 512 frame.

use oddheat_benches::calls::{self, MOST_REGIONS, Scan};
use oddheat_core::measure::Shape;
use oddheat_core::regions::Connectivity;
use oddheat_core::units::RowKelvin;
use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

/// As the peers' programs measure: batches of 20 µs or more, for 120 ms or nine batches, at most 400.
const BATCH_NS: f64 = 20_000.0;
const BUDGET: Duration = Duration::from_millis(120);
const BATCHES: std::ops::Range<usize> = 9..400;

type Fallible<T> = Result<T, Box<dyn std::error::Error>>;

struct Rotating {
    name: String,
    width: u16,
    pixels: usize,
    counts: Vec<u16>,
    thresholds: Vec<(u16, u16)>,
}

impl Rotating {
    /// A line of the list: name, width, height, frames, and two thresholds per frame.
    fn load(folder: &Path, line: &str) -> Fallible<Self> {
        let mut words = line.split('\t');
        let name = words.next().unwrap_or_default().to_owned();
        let numbers = words.map(|word| word.trim().parse::<u16>()).collect::<Result<Vec<_>, _>>()?;
        let [width, height, many, ref rest @ ..] = numbers[..] else { return Err(format!("{line}: too short").into()) };
        let thresholds: Vec<(u16, u16)> = rest.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect();
        let counts = read(&folder.join(format!("{name}.u16")))?;
        let pixels = usize::from(width) * usize::from(height);
        if thresholds.len() != usize::from(many) || counts.len() != pixels * thresholds.len() {
            return Err(format!("{name}: not as listed").into());
        }
        Ok(Self { name, width, pixels, counts, thresholds })
    }

    /// The same regions without sign, as a mask would give them: 11,000 where a frame is hot or cold, 9,000 elsewhere.
    fn masked(&self) -> Self {
        let frames = self.counts.chunks_exact(self.pixels).zip(&self.thresholds);
        let counts = frames.flat_map(|(frame, &(hot, cold))| {
            frame.iter().map(move |&v| if v > hot || v < cold { 11_000 } else { 9_000 })
        });
        let thresholds = vec![(10_000, 0); self.thresholds.len()];
        Self { counts: counts.collect(), thresholds, name: self.name.clone(), ..*self }
    }
}

fn read(path: &Path) -> Fallible<Vec<u16>> {
    let bytes = std::fs::read(path).map_err(|error| format!("{}: {error}", path.display()))?;
    Ok(bytes.chunks_exact(2).map(|pair| u16::from_le_bytes([pair[0], pair[1]])).collect())
}

/// Median time of a call in ns, and what its first call returned.
fn median<T>(mut call: impl FnMut() -> T) -> (f64, T) {
    let first = call();
    black_box(call());
    let once = Instant::now();
    black_box(call());
    let batch = ((BATCH_NS / once.elapsed().as_nanos().max(1) as f64) as u32).max(1);
    let (mut times, begun) = (Vec::new(), Instant::now());
    while (begun.elapsed() < BUDGET || times.len() < BATCHES.start) && times.len() < BATCHES.end {
        let from = Instant::now();
        for _ in 0..batch {
            black_box(call());
        }
        times.push(from.elapsed().as_nanos() as f64 / f64::from(batch));
    }
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], first)
}

fn print(case: &str, task: &str, tag: &str, (ns, (found, dropped)): (f64, (usize, u32))) {
    println!(
        "{{\"case\":\"{case}\",\"task\":\"{task}\",\"peer\":\"oddheat_{tag}\",\"ns\":{ns:.0},\"n\":{found},\"dropped\":{dropped}}}"
    );
}

fn scan(frames: &Rotating, connectivity: Connectivity) -> (f64, (usize, u32)) {
    let mut scan = Scan::new(frames.width, connectivity, MOST_REGIONS);
    let mut turn = frames.counts.chunks_exact(frames.pixels).zip(&frames.thresholds).cycle();
    median(|| turn.next().map_or((0, 0), |(counts, &(hot, cold))| scan.frame(black_box(counts), hot, cold)))
}

fn rotating(folder: &Path, tag: &str) -> Fallible<()> {
    for line in std::fs::read_to_string(folder.join("rot.tsv"))?.lines() {
        let frames = Rotating::load(folder, line)?;
        let masked = frames.masked();
        for (neighbors, connectivity) in [(8, Connectivity::Eight), (4, Connectivity::Four)] {
            print(&frames.name, &format!("end_to_end_{neighbors}"), tag, scan(&frames, connectivity));
            // There is no lesser way to use the scanner: labels alone would cost the same.
            let masked = scan(&masked, connectivity);
            print(&frames.name, &format!("label_stats_{neighbors}"), tag, masked);
            print(&frames.name, &format!("label_only_{neighbors}"), tag, masked);
        }
    }
    Ok(())
}

fn single(file: &Path, tag: &str) -> Fallible<()> {
    const CASE: &str = "640x512";
    let (width, counts) = (640, read(file)?);
    let table = calls::table().map_err(|error| format!("{error:?}"))?;
    let mut kelvin = vec![RowKelvin::ZERO; counts.len()];
    let time = median(|| {
        calls::convert(&table, black_box(&counts), &mut kelvin);
        (black_box(&kelvin).len(), 0)
    });
    print(CASE, "convert_u16", tag, time);
    let lookup = calls::lookup(&table);
    let time = median(|| {
        calls::look_up(&lookup, black_box(&counts), &mut kelvin);
        (black_box(&kelvin).len(), 0)
    });
    print(CASE, "convert_u16_lookup", tag, time);
    let whole = Shape::Box { x0: 0, y0: 0, x1: width - 1, y1: 511 };
    let time = median(|| (usize::from(calls::tally(whole, black_box(&counts), width).is_some()), 0));
    print(CASE, "mean and median", tag, time);
    Ok(())
}

fn main() -> Fallible<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["rot", folder, tag] => rotating(Path::new(folder), tag),
        ["single", file, tag] => single(Path::new(file), tag),
        _ => Err("frames rot FOLDER TAG | frames single FILE TAG".into()),
    }
}
