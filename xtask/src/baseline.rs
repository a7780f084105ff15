//! Instruction counts against a committed baseline: on this machine's kind of processor by callgrind, and on a Cortex-M4
//! in the emulator. Counts, unlike times, are the same on a busy machine, so a slowdown of a few percent shows.
//!
//! *Host counts* are differences of two runs of `benches/src/bin/counts.rs` that make the measured call once and twice:
//! what starts the program and makes the frame cancels. The builds are for the default target, `pairs` with an instruction
//! that counts bits, and without the choice of wider vectors, which depends on the processor; `asked` with it, for the
//! processor that callgrind shows to a program, which has AVX2 where the machine has and never more. The C library's copies
//! choose their code by processor, too, which is the only part that may differ between machines.

use crate::build::{self, Processor};
use crate::firmware::require;
use anyhow::{Context, Error, Result, bail, ensure};
use oddheat_tests::image;
use oddheat_tests::toolchain::available;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

/// More than this is a regression (issue: +3 %).
const MOST_PERCENT: f64 = 3.0;
/// Least and most instructions per pixel, as parts of those of the largest frame (issue: ±20 %).
const GROWTH: std::ops::RangeInclusive<f64> = 0.8..=1.2;
const SIZES: [(u64, u64); 6] = [(32, 24), (80, 60), (160, 120), (256, 192), (320, 240), (640, 512)];
const CONTENTS: [&str; 5] = ["blobs", "noise", "granular", "comb", "spiral"];
const HEAD: &str = "case,instructions,pixels";

/// Instructions and pixels of a case; 0 pixels if it has none.
type Counts = BTreeMap<String, (u64, u64)>;

/// Counts; then writes the baselines, or with `check` compares and fails on a regression.
pub(crate) fn run(root: &Path, check: bool) -> Result<()> {
    require(&[image::TARGET])?;
    ensure!(available(&["valgrind", "nm"], &[]), "install valgrind and binutils, then try again");
    ensure!(has_avx2() || !cfg!(target_arch = "x86_64"), "the committed counts are of a processor with AVX2");
    let host = host(root)?;
    let mut worse = growth(&host);
    for (name, counts) in [("host.csv", host), ("cortex-m4.csv", emulator()?)] {
        let path = root.join("tests/baselines").join(name);
        let before = std::fs::read_to_string(&path).unwrap_or_default();
        let before = parse(&before).with_context(|| path.display().to_string())?;
        println!("\n{name}");
        worse.extend(compare(&before, &counts));
        if !check {
            std::fs::write(&path, csv(&counts)?).with_context(|| path.display().to_string())?;
        }
    }
    if !check {
        println!("\nwritten to tests/baselines");
        return Ok(());
    }
    if !worse.is_empty() {
        bail!("{}\nIf this is the price of something better, run `cargo xtask baseline` and commit", worse.join("\n"));
    }
    println!("\nno case costs over {MOST_PERCENT} % more than its baseline");
    Ok(())
}

/// Instructions of the whole program under callgrind.
fn callgrind(program: &Path, arguments: &[&str]) -> Result<u64> {
    let mut valgrind = Command::new("valgrind");
    valgrind.args(["--tool=callgrind", "--callgrind-out-file=/dev/null"]).arg(program).args(arguments);
    let output = valgrind.output()?;
    let text = String::from_utf8_lossy(&output.stderr);
    ensure!(output.status.success(), "{valgrind:?}: {text}");
    let collected = text.lines().find_map(|line| line.split_once("Collected : ")).map(|(_, number)| number.trim());
    Ok(collected.with_context(|| format!("{valgrind:?}: no count in {text}"))?.parse()?)
}

fn host(root: &Path) -> Result<Counts> {
    let program = |processor| build::program(root, "counts", processor);
    let (rows, pairs) = (program(Processor::Any)?, program(Processor::CountsBits)?);
    let asked = program(Processor::Asked)?;
    no_calls(&asked)?;
    let mut counts = Counts::new();
    let mut count = |work: &str, content: &str, (width, height): (u64, u64)| -> Result<()> {
        let [w, h] = [width, height].map(|extent| extent.to_string());
        // The scanner takes frames by pairs of rows, where it can.
        let (program, task) = match work.split_once(' ') {
            Some(("asked", task)) => (&asked, task),
            _ if work == "pairs" => (&pairs, "scan"),
            _ => (&rows, work),
        };
        let times = |times| callgrind(program, &[task, content, &w, &h, times]);
        // Side by side, as counting takes long and instructions do not know of each other.
        let (once, twice) = std::thread::scope(|scope| {
            let once = scope.spawn(|| times("1"));
            let twice = times("2");
            (once.join(), twice)
        });
        let once = once.map_err(|_| Error::msg("counting panicked"))??;
        let instructions = twice?.checked_sub(once).context("two calls cost less than one")?;
        counts.insert(format!("{work} {content} {w}x{h}"), (instructions, width * height));
        Ok(())
    };
    for size in SIZES {
        count("scan", "sparse", size)?;
    }
    for work in ["scan", "pairs"] {
        for content in CONTENTS {
            for size in [(32, 24), (160, 120), (640, 512)] {
                count(work, content, size)?;
            }
        }
    }
    if has_avx2() {
        for content in CONTENTS {
            count("asked scan", content, (160, 120))?;
            count("asked four", content, (160, 120))?;
        }
        count("asked convert", "blobs", (160, 120))?;
    }
    for content in ["noise", "rising"] {
        count("full", content, (160, 120))?;
    }
    for work in ["convert", "measure"] {
        count(work, "blobs", (160, 120))?;
    }
    Ok(counts)
}

/// Whether this processor has the vectors for which `asked` counts.
fn has_avx2() -> bool {
    #[cfg(target_arch = "x86_64")]
    return std::is_x86_feature_detected!("avx2");
    #[cfg(not(target_arch = "x86_64"))]
    false
}

/// Fails if an instruction that the code names was built as a function, to be called for each vector: no result would
/// show it, only the time. One that is asked for once, when the program starts, may be.
fn no_calls(program: &Path) -> Result<()> {
    let output = Command::new("nm").arg("--demangle").arg(program).output().context("nm, to look for calls")?;
    ensure!(output.status.success(), "nm: {}", String::from_utf8_lossy(&output.stderr));
    let names = String::from_utf8_lossy(&output.stdout).into_owned();
    let calls: Vec<&str> =
        names.lines().filter(|line| line.contains("core_arch::") && !line.ends_with("::_xgetbv")).collect();
    ensure!(calls.is_empty(), "instructions that are called as functions:\n{}", calls.join("\n"));
    Ok(())
}

fn emulator() -> Result<Counts> {
    let firmware = image::build("baseline").map_err(Error::msg)?;
    let costs = image::emulate(&firmware).map_err(Error::msg)?.costs;
    Ok(costs.into_iter().map(|cost| (cost.name, (cost.instructions, cost.pixels))).collect())
}

fn per_pixel(&(instructions, pixels): &(u64, u64)) -> f64 {
    instructions as f64 / pixels.max(1) as f64
}

/// Whether a sparse frame's pixel costs the same in all sizes: prints it, and returns a sentence for each size in which it
/// does not.
fn growth(host: &Counts) -> Vec<String> {
    let at = |(w, h): (u64, u64)| host.get(&format!("scan sparse {w}x{h}")).map(per_pixel);
    let mut missed = Vec::new();
    let Some(largest) = SIZES.last().copied().and_then(at) else { return missed };
    println!("growth, sparse frames, instructions per pixel (goal: within 20 % of 640x512)");
    for size in SIZES {
        let Some(own) = at(size) else { continue };
        let within = GROWTH.contains(&(own / largest));
        let verdict = if within { "within" } else { "missed" };
        println!("{:>4}x{:<4} {own:8.3} {:6.2} {verdict}", size.0, size.1, own / largest);
        if !within {
            missed.push(format!(
                "growth: a pixel of {}x{} costs {:.2} of one of 640x512",
                size.0,
                size.1,
                own / largest
            ));
        }
    }
    missed
}

/// Prints before and after; returns a sentence for each regression, each case that is new and each that is gone.
fn compare(before: &Counts, after: &Counts) -> Vec<String> {
    let mut worse = Vec::new();
    println!("{:36} {:>12} {:>12} {:>8} {:>10}", "case", "before", "after", "change", "per pixel");
    for (case, counts) in after {
        let each = if counts.1 > 0 { format!("{:.2}", per_pixel(counts)) } else { String::new() };
        let Some(&(old, _)) = before.get(case) else {
            println!("{case:36} {:>12} {:>12} {:>8} {each:>10}", "-", counts.0, "new");
            worse.push(format!("{case} has no baseline"));
            continue;
        };
        let percent = (counts.0 as f64 / old.max(1) as f64 - 1.0) * 100.0;
        println!("{case:36} {old:>12} {:>12} {percent:>+7.1}% {each:>10}", counts.0);
        // The emulator counts in steps of 40, which is over 3 % of a short call.
        if percent > MOST_PERCENT && counts.0 > old + 2 * STEP {
            worse.push(format!("{case}: {percent:+.1} % ({old} to {})", counts.0));
        }
    }
    worse.extend(before.keys().filter(|case| !after.contains_key(*case)).map(|case| format!("{case} is gone")));
    worse
}

/// Resolution of the emulator's counter, instructions (`tests/firmware/board.h`).
const STEP: u64 = 40;

fn csv(counts: &Counts) -> Result<String> {
    let mut text = format!("{HEAD}\n");
    for (case, (instructions, pixels)) in counts {
        writeln!(text, "{case},{instructions},{pixels}")?;
    }
    Ok(text)
}

fn parse(text: &str) -> Result<Counts> {
    let numbers = |line: &str| {
        let mut words = line.split(',');
        Some((words.next()?.to_owned(), (words.next()?.parse().ok()?, words.next()?.parse().ok()?)))
    };
    text.lines().skip(1).map(|line| numbers(line).with_context(|| format!("not understood: {line}"))).collect()
}
