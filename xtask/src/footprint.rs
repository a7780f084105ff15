//! Weighs the linked library and writes `docs/footprint.md`: flash per target and choice of functions, memory of a
//! device, stack and instructions of each entry point, all against the budgets of the design notes.
//!
//! *Why linked.* The archive says nothing: an image holds what its calls reach, soft floats included.

use crate::document;
use crate::firmware::require;
use anyhow::{Context, Error, Result};
use oddheat::{MEM_HEAD, MEM_PER_COLUMN, MEM_PER_REGION};
use oddheat_tests::image::{self, Cost, EVERYTHING, Sections};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// What an image may use, and the groups of [`EVERYTHING`] it then has.
const CHOICES: [(&str, &[usize]); 9] = [
    ("scanning and temperatures, table made elsewhere", &[7]),
    ("scanning and temperatures, table made of a curve", &[7, 8]),
    ("scanning and temperatures, ready for checks", &[0]),
    ("and checks", &[0, 1]),
    ("and wording, English", &[0, 1, 2, 3]),
    ("and wording, Spanish", &[0, 1, 2, 4]),
    ("and wording, both languages", &[0, 1, 2, 3, 4]),
    ("every function but checks and wording", &[0, 5, 6, 7, 8]),
    ("every function but wording", &[0, 1, 5, 6, 7, 8]),
];

/// Budgets of the design notes, as in their table.
const SCANNING_BYTES: u64 = 16 * 1024;
const WITHOUT_WORDING_BYTES: u64 = 64 * 1024;
const WORDING_BYTES: u64 = 24 * 1024;
const STACK_BYTES: u64 = 2 * 1024;
/// Name in `tests/firmware/main.c`, and most instructions per pixel.
const PER_PIXEL: [(&str, u64); 3] = [("push_row_3_percent", 6), ("kelvin_row", 7), ("repair_rows_14_bits", 12)];
/// Most instructions of one judgement beyond scanning, on Armv7E-M.
const JUDGE_INSTRUCTIONS: u64 = 1_500_000;
/// Most instructions of setting a device with a curve up, on Armv7E-M and on Armv6-M.
const INIT_INSTRUCTIONS: u64 = 1_500_000;
const SMALL_INIT_INSTRUCTIONS: u64 = 6_000_000;
/// Width, height, regions, and most bytes.
const MEMORY: [(usize, usize, usize, usize); 2] = [(160, 120, 64, 8 * 1024), (640, 512, 256, 28 * 1024)];

fn verdict<T: PartialOrd>(value: T, budget: T) -> &'static str {
    if value <= budget { "within" } else { "**missed**" }
}

/// Writes the table, or compares it with the committed one.
pub(crate) fn run(root: &Path, check: bool) -> Result<()> {
    require(&image::TARGETS)?;
    document::publish(root, "footprint.md", &table()?, check)
}

fn table() -> Result<String> {
    let mut text = String::from(
        "# Footprint\n\nMade by `cargo xtask footprint`; do not edit. Budgets: the design notes' table. Sizes are of the \
         linked library with all it needs, soft floats included, built with profile `firmware` (size first, fat LTO); \
         the link fails if a panic is reachable or anything is left undefined. An image holds what its calls reach: the \
         last two choices name every function that there is, which no device calls.\n\n\
         ## Flash\n\n| target | functions linked | text | data | bss |\n|---|---|---:|---:|---:|\n",
    );
    let mut of_budget_target = [0; CHOICES.len()];
    for triple in image::TARGETS {
        for ((choice, groups), bytes) in CHOICES.iter().zip(&mut of_budget_target) {
            let functions: Vec<&str> = groups.iter().flat_map(|&group| EVERYTHING[group]).copied().collect();
            let linked = image::link_library(triple, &functions, "footprint").map_err(Error::msg)?;
            let Sections { text: code, data, bss } = image::sections(&linked).map_err(Error::msg)?;
            writeln!(text, "| {triple} | {choice} | {code} | {data} | {bss} |")?;
            if triple == image::TARGET {
                *bytes = code;
            }
        }
    }
    let [finished, own, scanning, checks, english, spanish, _, measuring, all] = of_budget_target;
    writeln!(text, "\n| budget, {} | bytes | at most | |\n|---|---:|---:|---|", image::TARGET)?;
    for (what, bytes, most) in [
        (CHOICES[0].0, finished, SCANNING_BYTES),
        (CHOICES[1].0, own, SCANNING_BYTES),
        (CHOICES[2].0, scanning, SCANNING_BYTES),
        ("radiometry, sensor, regions and measuring: every function", measuring, SCANNING_BYTES),
        ("scanning, temperatures and checks", checks, WITHOUT_WORDING_BYTES),
        ("everything without wording: every function", all, WITHOUT_WORDING_BYTES),
        ("wording, English", english.saturating_sub(checks), WORDING_BYTES),
        ("wording, Spanish", spanish.saturating_sub(checks), WORDING_BYTES),
    ] {
        writeln!(text, "| {what} | {bytes} | {most} | {} |", verdict(bytes, most))?;
    }
    text.push_str("\n## Memory of a device\n\n`ODDHEAT_MEM_SIZE`, without shapes.\n\n| sensor | regions | bytes | at most | |\n|---|---:|---:|---:|---|\n");
    for (width, height, regions, most) in MEMORY {
        let bytes = (MEM_HEAD + regions * MEM_PER_REGION + width * MEM_PER_COLUMN).next_multiple_of(8);
        writeln!(text, "| {width} × {height} | {regions} | {bytes} | {most} | {} |", verdict(bytes, most))?;
    }
    let counted = |built: Result<PathBuf, String>| {
        let printed = image::emulate(&built.map_err(Error::msg)?).map_err(Error::msg)?;
        Ok::<_, Error>(printed.costs)
    };
    let small = counted(image::build_small("footprint-image-small"))?;
    costs(&mut text, &counted(image::build("footprint-image"))?, &small)?;
    Ok(text)
}

fn costs(text: &mut String, costs: &[Cost], small: &[Cost]) -> Result<()> {
    text.push_str(
        "\n## Stack and instructions\n\nArmv7E-M without a floating-point unit, in QEMU (`mps2-an386`); stack by \
         painting, instructions by counting in steps of 40, the few of the measuring function included. Instructions \
         are not cycles. Per call, but for rows of counts: per frame, and per pixel beside it. The last column counts the \
         same calls made of Armv6-M instructions only, run on the same core.\n\n\
         | entry point | instructions | per pixel | stack, at most 2048 bytes | | instructions, Armv6-M |\n\
         |---|---:|---:|---:|---|---:|\n",
    );
    for (Cost { name, instructions, stack, pixels }, on_small) in costs.iter().zip(small) {
        // Tenths in whole numbers, so that the table is the same everywhere.
        let tenths = (instructions * 10 + pixels / 2).checked_div(*pixels);
        let per_pixel = tenths.map_or_else(String::new, |tenths| format!("{}.{}", tenths / 10, tenths % 10));
        let (verdict, on_small) = (verdict(*stack, STACK_BYTES), on_small.instructions);
        writeln!(text, "| {name} | {instructions} | {per_pixel} | {stack} | {verdict} | {on_small} |")?;
    }
    text.push_str("\n| budget | instructions per pixel, at most | |\n|---|---:|---|\n");
    for (name, most) in PER_PIXEL {
        let cost = costs.iter().find(|cost| cost.name == name).with_context(|| format!("{name} was not measured"))?;
        writeln!(text, "| {name} | {most} | {} |", verdict(cost.instructions, most * cost.pixels))?;
    }
    text.push_str("\n| budget of a judgement, Armv7E-M | instructions, at most | |\n|---|---:|---|\n");
    for cost in costs.iter().filter(|cost| cost.name.starts_with("check_judge_")) {
        writeln!(
            text,
            "| {} | {JUDGE_INSTRUCTIONS} | {} |",
            cost.name,
            verdict(cost.instructions, JUDGE_INSTRUCTIONS)
        )?;
    }
    text.push_str("\n| budget of setting a curve up | instructions, at most | |\n|---|---:|---|\n");
    for (name, costs, most) in [("Armv7E-M", costs, INIT_INSTRUCTIONS), ("Armv6-M", small, SMALL_INIT_INSTRUCTIONS)] {
        let cost = costs.iter().find(|cost| cost.name == "init_curve").context("init_curve was not measured")?;
        writeln!(text, "| {name} | {most} | {} |", verdict(cost.instructions, most))?;
    }
    Ok(())
}
