//! `cargo xtask prove`: what the checks find in simulated recordings, and what they should not.
//!
//! ```text
//! case, seed ─► recording ─► folder ─► bench: read, examine ─► finding ┐
//!                  └──────────────────────────────────────► truth ─────┴─► outcome ─► tally ─► tables, plot, baseline
//! ```
//!
//! A recording goes through a folder, as an operator's does, so that reading and setting up are tried too. A check is
//! tried as soon as the library knows its key.

mod baseline;
mod plot;
mod report;
mod stats;
mod tally;
mod trial;
mod truth;

use crate::build;
use anyhow::{Result, bail, ensure};
use clap::Args;
use indicatif::{ParallelProgressIterator as _, ProgressBar, ProgressStyle};
use oddheat_core::checks::Kind;
use oddheat_scenes::case::Case;
use oddheat_scenes::catalog::{CHECKS, Check};
use rayon::prelude::*;
use std::path::Path;
use std::time::Instant;
use tally::Tally;
use trial::Trial;

/// Recordings of each case of the full run, so that 80 of 80 bound a share from below at 95 %; a sweep has twice as many.
const FULL: u32 = 80;
/// And five times as many sound ones with nothing odd: none of 400 wrong bounds false alarms at 1 %.
const NORMAL: u32 = 5;
/// First seed of the full run: indices below 6,100 were looked at while checks were written or changed.
const FULL_FROM: u32 = 9_000;
/// The sample that CI runs, on seeds of its own.
const SAMPLE: u32 = 12;
const SAMPLE_FROM: u32 = 6_000;

/// What to prove.
#[derive(Args)]
pub(crate) struct ProveArgs {
    /// Keys of checks; all that the library has otherwise
    checks: Vec<String>,
    /// Recordings of each case; other numbers than the full run's are printed, not written
    #[arg(long)]
    n: Option<u32>,
    /// Index of the first seed; as with --n
    #[arg(long)]
    seed: Option<u32>,
    /// The small sample that CI runs, printed
    #[arg(long)]
    sample: bool,
    /// The small sample, compared with the committed counts; fails if something became worse
    #[arg(long, conflicts_with_all = ["n", "seed", "sample"])]
    check: bool,
}

/// Runs the trials; prints tables and times; the full run writes `tests/proving`.
///
/// # Errors
/// If there is no such check, a file cannot be written, or `--check` finds a drop.
pub(crate) fn run(root: &Path, args: &ProveArgs) -> Result<()> {
    if cfg!(debug_assertions) {
        return build::again_optimized(root);
    }
    let small = args.sample || args.check;
    let n = args.n.unwrap_or(if small { SAMPLE } else { FULL });
    let first = args.seed.unwrap_or(if small { SAMPLE_FROM } else { FULL_FROM });
    ensure!(
        n > 0 && n.checked_mul(NORMAL + 1).is_some_and(|all| first.checked_add(all).is_some()),
        "--n, --seed: expected at least one recording, found {n}"
    );
    let folder = root.join("tests/proving");
    let (mut worse, mut judged) = (Vec::new(), 0);
    for check in chosen(&args.checks)? {
        let started = Instant::now();
        let tally = try_out(check, n, first, !small)?;
        let took = started.elapsed().as_secs_f64();
        if args.check {
            judged += 1;
            worse.extend(baseline::drops(&folder, &tally)?);
        } else {
            let text = report::text(&tally, &seeds(n, first, !small));
            println!("{text}");
            if !small && (n, first) == (FULL, FULL_FROM) {
                baseline::write(&folder, &tally, &text, &plot::svg(&tally)?)?;
            }
        }
        times(&tally, took);
    }
    if !worse.is_empty() {
        bail!("worse than the committed counts:\n{}", worse.join("\n"));
    }
    if args.check {
        println!("{judged} checks are no worse than the committed counts");
    } else {
        let (draw, examine) = trial::sixty_frames()?;
        println!(
            "60 frames of 160 x 120 on one thread: {draw:.2} s to simulate, {examine:.2} s to write, read and examine"
        );
    }
    Ok(())
}

fn chosen(keys: &[String]) -> Result<Vec<&'static Check>> {
    let known: Vec<&'static Check> = CHECKS.into_iter().filter(|check| Kind::from_key(check.key).is_some()).collect();
    if keys.is_empty() {
        return Ok(known);
    }
    let find = |key: &String| {
        let found = known.iter().copied().find(|check| check.key == key);
        found.ok_or_else(|| {
            let keys: Vec<&str> = known.iter().map(|check| check.key).collect();
            anyhow::anyhow!("expected checks out of {}, found \"{key}\"", keys.join(", "))
        })
    };
    keys.iter().map(find).collect()
}

fn seeds(n: u32, first: u32, sweeps: bool) -> String {
    let last = first + n - 1;
    let of_sweeps = if sweeps {
        let (sweep, normal) = (first + 2 * n - 1, first + (NORMAL + 1) * n - 1);
        format!(", of each sweep {first} to {sweep}, of sound ones with nothing odd also {} to {normal}", sweep + 1)
    } else {
        ", no sweeps".to_owned()
    };
    format!(
        "Seeds: of the reporting set, which nothing is tuned on; of each case the indices {first} to {last}{of_sweeps}."
    )
}

/// Runs every trial of a check, on all processors; the order of the outcomes does not depend on who was first.
fn try_out(check: &'static Check, n: u32, first: u32, sweeps: bool) -> Result<Tally> {
    let all = |cases: Vec<Case>, n: u32| {
        cases.into_iter().flat_map(move |case| (first..first + n).map(move |index| Trial { check, case, index }))
    };
    let mut trials: Vec<Trial> = all(check.cases(), n).collect();
    if sweeps {
        // On indices beyond those of the cases and the sweeps.
        trials.extend((first + 2 * n..first + (NORMAL + 1) * n).map(|index| Trial {
            check,
            case: Case::Normal,
            index,
        }));
        trials.extend(all(check.sweeps(), 2 * n));
    }
    let style = ProgressStyle::with_template("{prefix:18} {wide_bar} {pos}/{len} {eta}")?;
    let bar = ProgressBar::new(trials.len() as u64).with_style(style).with_prefix(check.key);
    let outcomes = trials.par_iter().progress_with(bar.clone()).map(Trial::run).collect::<Result<Vec<_>>>()?;
    bar.finish_and_clear();
    Ok(Tally::new(check.key, check.faults, outcomes))
}

fn times(tally: &Tally, took: f64) {
    let slowest = tally.outcomes().iter().map(|o| o.took.0 + o.took.1).fold(0.0, f64::max);
    println!(
        "{}: {} recordings in {took:.1} s on {} threads, the slowest {slowest:.2} s\n",
        tally.key,
        tally.outcomes().len(),
        rayon::current_num_threads()
    );
}
