//! `cargo xtask peers`: ours and the general-purpose libraries on the same frames in one go, and the table of ratios.
//!
//! *Why like this.* A machine that does something else meanwhile spoils a time but hardly a ratio, if both sides run
//! within the same second: every frame set is a case of its own, and within a case our two builds and the peers' programs
//! take turns. A ratio is formed within a round, and the median over the rounds is what is written.

mod cases;
mod measure;
mod prepare;
mod report;

use crate::document;
use anyhow::Result;
use clap::Args;
use std::path::{Path, PathBuf};

/// What to run.
#[derive(Args)]
pub(crate) struct Options {
    /// Folder of the peers; copied to target/peers once.
    #[arg(long, default_value = "../shared/peers")]
    from: PathBuf,
    /// Times that every case is measured.
    #[arg(long, default_value_t = 5)]
    rounds: u32,
    /// Only cases whose name contains this; the table is printed and not written.
    #[arg(long)]
    only: Option<String>,
}

/// Prepares, measures, writes docs/peers.md.
pub(crate) fn run(root: &Path, options: &Options) -> Result<()> {
    let programs = prepare::all(root, &root.join(&options.from))?;
    let wanted = |name: &str| options.only.as_ref().is_none_or(|only| name.contains(only.as_str()));
    let results = measure::all(&programs, options.rounds, wanted)?;
    let text = report::text(&programs.folder, &results, options.rounds)?;
    if options.only.is_some() {
        print!("{text}");
        return Ok(());
    }
    document::publish(root, "peers.md", &text, false)
}
