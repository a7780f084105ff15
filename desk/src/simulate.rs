//! `oddheat simulate`: recordings with ground truth, to try checks on.

use crate::output::Staged;
use clap::Args;
use miette::{IntoDiagnostic as _, Result, miette};
use oddheat_scenes::case::{Case, SeedSet};
use oddheat_scenes::catalog::{self, CHECKS, Check};
use std::fmt::Write as _;
use std::path::PathBuf;

/// What to simulate.
#[derive(Debug, Args)]
pub(crate) struct SimulateArgs {
    /// Key of the check's scenes; without one, all are listed
    check: Option<String>,
    /// Only cases whose name begins like this, such as "fault" or "decoy water"; all cases otherwise
    #[arg(long, value_name = "CASE", default_value = "")]
    case: String,
    /// Recordings of each case
    #[arg(long, default_value_t = 1)]
    n: u32,
    /// Index of the first seed
    #[arg(long, default_value_t = 0)]
    seed: u32,
    /// Draw from the seeds that results are reported from, which nothing may be tuned on
    #[arg(long)]
    reporting: bool,
    /// Folder for the recordings
    #[arg(long, value_name = "DIR", default_value = "out/simulated")]
    out: PathBuf,
}

/// Runs the command and returns what to print.
///
/// # Errors
/// If there is no such check or case, or the file system refuses; nothing is then written.
pub(crate) fn run(args: &SimulateArgs) -> Result<String> {
    let Some(key) = &args.check else {
        let line = |check: &&Check| format!("{:18} {}\n", check.key, check.what);
        return Ok(CHECKS.iter().map(line).collect());
    };
    let check = catalog::check(key).ok_or_else(|| {
        let known: Vec<&str> = CHECKS.iter().map(|check| check.key).collect();
        miette!("simulate: expected one of {}, found \"{key}\"", known.join(", "))
    })?;
    let all = check.cases();
    let cases: Vec<Case> = all.iter().copied().filter(|case| case.to_string().starts_with(&args.case)).collect();
    if cases.is_empty() {
        let known: Vec<String> = all.iter().map(Case::to_string).collect();
        return Err(miette!("--case: expected the beginning of one of {}, found \"{}\"", known.join(", "), args.case));
    }
    let seeds = if args.reporting { SeedSet::Reporting } else { SeedSet::Tuning };
    let staged = Staged::new(&args.out)?;
    let mut text = String::new();
    for case in cases {
        let slug = case.to_string().replace(' ', "-");
        for index in args.seed..args.seed.saturating_add(args.n) {
            let name = format!("{slug}-{index}");
            check.draw(case, seeds.seed(index), None).write(&staged.path(&name)).into_diagnostic()?;
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{}", args.out.join(name).display());
        }
    }
    staged.publish()?;
    Ok(text)
}
