//! The tables.

use super::cases::parts;
use super::measure::{Results, Times};
use anyhow::Result;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

const OURS: &str = "oddheat_default";
const OURS_NATIVE: &str = "oddheat_native";
/// Least ratios of the design notes: default target, this processor.
const END_TO_END: (f64, f64) = (1.2, 2.0);
const CONVERSION: (f64, f64) = (1.0, 2.0);
/// One desktop core's hundredth of a frame at 60 frames/s.
const HUNDREDTH_NS: f64 = 1e9 / 60.0 / 100.0;

const INTRODUCTION: &str = "# Beside general-purpose libraries

Made by `cargo xtask peers`; do not edit. Ours and the peers ran in turns on the same frames, a different frame on every
call, pinned to one core, one thread; of each program the least time of the rounds is taken, for what disturbs a machine
from outside only ever adds to it. The peers' own loops for what they do not compute are part of their time, ours has
none; it takes whole frames, as they do. Both are built with one unit and link-time optimization; \"native\" is
`target-cpu=native`. In either build the fastest peers choose AVX-512 at run time where there is any, and ours the widest
vectors (feature `wide-vectors`). Times are processor time of the thread, so a busy machine takes caches and speed but no
time; ratios travel better still.
";

/// A program's least time, and how many times longer the fastest peer took.
struct Row<'r> {
    case: &'r str,
    ours: [f64; 2],
    ratios: [f64; 2],
    fastest: &'r str,
    fastest_ns: f64,
}

/// Least time of the rounds.
fn least(times: &Times) -> f64 {
    times.ns.iter().fold(f64::INFINITY, |least, &ns| least.min(ns))
}

/// Compares ours with every peer that `counts`; `None` if one side is missing.
fn row<'r>(
    case: &'r str,
    ours: &BTreeMap<String, Times>,
    peers: &'r BTreeMap<String, Times>,
    counts: impl Fn(&str) -> bool,
) -> Option<Row<'r>> {
    let peers: Vec<_> = peers.iter().filter(|(peer, _)| !peer.starts_with("oddheat") && counts(peer)).collect();
    let (fastest, times) = peers.iter().min_by(|a, b| least(a.1).total_cmp(&least(b.1)))?;
    let ours = [least(ours.get(OURS)?), least(ours.get(OURS_NATIVE)?)];
    Some(Row { case, ours, ratios: ours.map(|ns| least(times) / ns), fastest, fastest_ns: least(times) })
}

/// Mark of a ratio that misses its budget.
fn ratio(value: f64, least: f64) -> String {
    if value >= least { format!("{value:.2}") } else { format!("**{value:.2}**") }
}

fn table(text: &mut String, rows: &[Row], budget: Option<(f64, f64)>) -> Result<()> {
    let (default, native) = budget.unwrap_or_default();
    text.push_str("| frames | ours, default, µs | ours, native, µs | fastest peer, µs | which | ratio, default | ratio, native |\n|---|---:|---:|---:|---|---:|---:|\n");
    for Row { case, ours: [ours, ours_native], ratios: [first, second], fastest, fastest_ns } in rows {
        let us = |ns: &f64| format!("{:.*}", if *ns < 1e5 { 2 } else { 0 }, ns / 1e3);
        let case = case.trim_start_matches("rot_").replace('_', " ");
        writeln!(
            text,
            "| {case} | {} | {} | {} | {fastest} | {} | {} |",
            us(ours),
            us(ours_native),
            us(fastest_ns),
            ratio(*first, default),
            ratio(*second, native)
        )?;
    }
    if let Some((default, native)) = budget {
        let within = |least: f64, build: usize| rows.iter().filter(|row| row.ratios[build] >= least).count();
        writeln!(
            text,
            "\nBudget: at least {default} with the default target, reached in {} of {}; at least {native} native, reached in {} of {}. What misses is bold.",
            within(default, 0),
            rows.len(),
            within(native, 1),
            rows.len()
        )?;
    }
    Ok(())
}

fn machine() -> String {
    let processor = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let field =
        |name: &str| processor.lines().find(|line| line.starts_with(name)).and_then(|line| line.split(':').nth(1));
    let numbers = ["cpu family", "model\t"].map(|name| field(name).unwrap_or(" ?").trim().to_owned());
    let has = |flag: &str| field("flags").is_some_and(|flags| flags.split(' ').any(|known| known == flag));
    let vectors = ["avx2", "avx512bw"].into_iter().filter(|flag| has(flag)).collect::<Vec<_>>().join(" ");
    let compiler = Command::new("rustc")
        .arg("--version")
        .output()
        .map(|out| String::from_utf8_lossy(&out.stdout).trim().to_owned());
    format!("Machine: x86-64 family {} model {} ({vectors}); {}.", numbers[0], numbers[1], compiler.unwrap_or_default())
}

/// Cases in the order of content, then size.
fn cases<'r>(results: &'r Results, task: &str) -> Vec<&'r str> {
    let mut cases: Vec<&str> = results
        .keys()
        .filter(|(case, of)| of == task && case.starts_with("rot_"))
        .map(|(case, _)| case.as_str())
        .collect();
    let order = |case: &str| {
        let (content, width, _) = parts(case).unwrap_or_default();
        let rank = ["blobs", "noise50", "comb", "spiral"].iter().position(|&known| known == content).unwrap_or(4);
        (rank, content.to_owned(), width)
    };
    cases.sort_by_key(|case| order(case));
    cases
}

/// Regions of the first frame, as all counted them: a fast answer that is wrong is none.
fn agreement(results: &Results) -> (usize, Vec<String>) {
    let (mut agree, mut differ) = (0, Vec::new());
    for ((case, task), programs) in results {
        // Labels alone: one of the peers counts the background there, another does not say.
        if !task.starts_with("end_to_end") && !task.starts_with("label_stats") {
            continue;
        }
        let Some(Times { found: Some(ours), dropped, .. }) = programs.get(OURS) else { continue };
        if *dropped > 0 {
            differ
                .push(format!("{case} {task}: more regions than our table can number; {ours} kept, not the same work"));
            continue;
        }
        for (program, found) in programs.iter().filter_map(|(program, times)| Some((program, times.found?))) {
            if found == *ours {
                agree += 1;
            } else {
                differ.push(format!("{case} {task}: {program} {found}, ours {ours}"));
            }
        }
    }
    (agree, differ)
}

/// The document.
pub(super) fn text(folder: &Path, results: &Results, rounds: u32) -> Result<String> {
    let mut text = format!("{INTRODUCTION}\n{} Rounds: {rounds}.\n", machine());
    let (agree, differ) = agreement(results);
    writeln!(text, "\nCounts of regions in first frames: {agree} agree with ours, {} remarks.\n", differ.len())?;
    differ.iter().try_for_each(|line| writeln!(text, "- {line}"))?;
    for (task, title, budget) in [
        (
            "end_to_end_8",
            "End to end, 8-connected: two thresholds, hot and cold regions apart, area, box, centroid, extremes, mean",
            Some(END_TO_END),
        ),
        ("end_to_end_4", "End to end, 4-connected", Some(END_TO_END)),
        (
            "label_stats_8",
            "Labels, area, box, centroid of a mask, 8-connected; ours from counts of 16 bits, with everything above",
            None,
        ),
        (
            "label_only_8",
            "Labels of a mask only, 8-connected; ours again with everything above, since it has no lesser mode",
            None,
        ),
    ] {
        let rows = cases(results, task).into_iter().filter_map(|case| {
            let programs = results.get(&(case.to_owned(), task.to_owned()))?;
            row(case, programs, programs, |_| true)
        });
        let rows: Vec<Row> = rows.collect();
        if !rows.is_empty() {
            writeln!(text, "\n## {title}\n")?;
            table(&mut text, &rows, budget)?;
        }
        if let Some(sparse) = rows.iter().find(|row| task == "end_to_end_8" && row.case == "rot_blobs_640x512") {
            let share = sparse.ours.map(|ns| ns / HUNDREDTH_NS);
            writeln!(
                text,
                "\n60 frames/s at 640 × 512, sparse: {:.2} % of this core with the default target, {:.2} % native (goal 1 %).",
                share[0], share[1]
            )?;
        }
    }
    single(&mut text, results)?;
    repeated(&mut text, results)?;
    versions(&mut text, folder)?;
    Ok(text)
}

fn single(text: &mut String, results: &Results) -> Result<()> {
    let of = |task: &str| results.get(&("640x512".to_owned(), task.to_owned()));
    let (Some(ours), Some(lookup), Some(sums)) = (of("convert_u16"), of("convert_u16_lookup"), of("mean and median"))
    else {
        return Ok(());
    };
    let tasks = ["convert_u16", "convert_q16", "convert_f32"];
    // A gain and an offset are no curve.
    let curves = |peer: &str| !peer.contains("linear");
    let rows: Vec<Row> = tasks.iter().filter_map(|task| row(task, ours, of(task)?, curves)).collect();
    text.push_str("\n## Counts to kelvin, 640 × 512\n\nOurs: 16-bit kelvin rows in steps of 1/32 K from a table of 1.5 KiB. Peers by what they give: 16-bit, Q16.16 (twice the bytes), `f32`; most look up a table of 65,536 entries, of which the frame uses 4,000.\n\n");
    table(text, &rows, Some(CONVERSION))?;
    let rows: Vec<Row> = tasks.iter().filter_map(|task| row(task, lookup, of(task)?, curves)).collect();
    text.push_str("\nThe same rows from a lookup of 128 KiB, which `TableOf::write_lookup` fills:\n\n");
    table(text, &rows, Some(CONVERSION))?;
    let copies = ["memcpy_2B_out", "memcpy_4B_out"].iter().filter_map(|task| row(task, ours, of(task)?, |_| true));
    text.push_str("\nFor scale, copying the bytes:\n\n");
    table(text, &copies.collect::<Vec<_>>(), None)?;
    text.push_str("\n## Statistics, 640 × 512\n\nOurs in one pass: mean and a histogram of 128 bins, from which the median comes. The peers' histogram and median are exact to a count.\n\n");
    let rows =
        ["hist65536", "hist256", "median", "minmaxmean"].iter().filter_map(|task| row(task, sums, of(task)?, |_| true));
    table(text, &rows.collect::<Vec<_>>(), None)
}

/// How many times longer than ours every peer takes, end to end, on one frame over and over.
fn repeated(text: &mut String, results: &Results) -> Result<()> {
    const TASK: &str = "end_to_end_8";
    let cases: Vec<(&str, &BTreeMap<String, Times>)> = results
        .iter()
        .filter(|((case, task), _)| task == TASK && !case.starts_with("rot_"))
        .map(|((case, _), programs)| (case.as_str(), programs))
        .collect();
    let Some((_, first)) = cases.first() else { return Ok(()) };
    text.push_str("\n## Array libraries and others, end to end, 8-connected, one frame over and over\n\nTimes as long as ours, default target; one round. A processor learns a frame that is repeated, so small frames flatter all.\n\n| program |");
    cases.iter().for_each(|(case, _)| text.push_str(&format!(" {} |", case.replace('_', " "))));
    text.push_str(&format!("\n|---|{}\n", "---:|".repeat(cases.len())));
    let times_as_long = |program: &str| -> Vec<Option<f64>> {
        let ratio =
            |programs: &BTreeMap<String, Times>| Some(least(programs.get(program)?) / least(programs.get(OURS)?));
        cases.iter().map(|(_, programs)| ratio(programs)).collect()
    };
    let mut rows: Vec<(&String, Vec<Option<f64>>)> =
        first.keys().map(|program| (program, times_as_long(program))).collect();
    rows.sort_by(|a, b| a.1.first().partial_cmp(&b.1.first()).unwrap_or(std::cmp::Ordering::Equal));
    for (program, ratios) in rows {
        write!(text, "| {program} |")?;
        for ratio in ratios {
            match ratio {
                Some(ratio) => write!(text, " {ratio:.*} |", if ratio < 10.0 { 2 } else { 0 })?,
                None => text.push_str(" - |"),
            }
        }
        text.push('\n');
    }
    Ok(())
}

fn versions(text: &mut String, folder: &Path) -> Result<()> {
    let lock = std::fs::read_to_string(folder.join("peers_rs/Cargo.lock"))?;
    let version = |name: &str| {
        let at = lock.lines().skip_while(|line| *line != format!("name = \"{name}\"")).nth(1);
        at.map(|line| format!("{name} {}", line.trim_start_matches("version = ").trim_matches('"')))
    };
    let crates = ["locus-core", "kornia-imgproc", "imageproc", "fovea", "numeris", "lutz"]
        .iter()
        .filter_map(|name| version(name))
        .collect::<Vec<_>>();
    let list = Command::new(folder.join("venv/bin/python")).args(["-m", "pip", "list", "--format=freeze"]).output()?;
    let list = String::from_utf8_lossy(&list.stdout).into_owned();
    let wanted = ["numpy=", "scipy=", "scikit-image=", "opencv-python", "connected-comp", "numba=", "bottleneck="];
    let python = list.lines().filter(|line| wanted.iter().any(|name| line.to_lowercase().starts_with(name)));
    let python: Vec<String> = python.map(|line| line.replace("==", " ")).collect();
    let (crates, python) = (crates.join(", "), python.join(", "));
    writeln!(text, "\nPeers: {crates}; OpenCV 4.6 in C++ (Spaghetti labelling); C loops of gcc; {python}.")?;
    Ok(())
}
