//! `cargo xtask VERB`: what CI does, each step runnable by hand.

mod accuracy;
mod baseline;
mod bench;
mod build;
mod contact_sheet;
mod document;
mod firmware;
mod footprint;
mod fragments;
mod header;
mod pages;
mod peers;
mod prove;

use anyhow::Result;
use clap::{Parser, Subcommand};
use std::path::{Path, PathBuf};

#[derive(Parser)]
#[command(name = "cargo xtask", about = "Everything that is not `cargo test`")]
struct Cli {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Write include/oddheat.h from the ffi crate and the vocabularies of core.
    Header {
        /// Only compare with the committed header; fail if it differs.
        #[arg(long)]
        check: bool,
    },
    /// Build the firmware image of the tests, run it in the emulator, print its finding, costs and sizes.
    Firmware,
    /// Compare temperatures with what they should be and write docs/accuracy.md.
    Accuracy {
        /// Only compare with the committed document; fail if it differs.
        #[arg(long)]
        check: bool,
    },
    /// Draw one frame of every family of simulated cases and write docs/scenes.
    ContactSheet {
        /// Index of the tuning seed.
        #[arg(long, default_value_t = 1)]
        seed: u32,
    },
    /// Write an illustrated page about every check, docs/checks.
    Pages {
        /// Only compare with the committed pages and pictures; fail if they differ.
        #[arg(long)]
        check: bool,
    },
    /// Try the checks on simulated recordings and write tests/proving.
    Prove(prove::ProveArgs),
    /// Choose the letters and fragments with which the phrases of a language are packed and write them to core.
    Fragments {
        /// Only compare with the committed ones; fail if phrases take over 1 % more with them.
        #[arg(long)]
        check: bool,
    },
    /// Weigh the linked library and write docs/footprint.md.
    Footprint {
        /// Only compare with the committed table; fail if it differs.
        #[arg(long)]
        check: bool,
    },
    /// Count instructions and write tests/baselines.
    Baseline {
        /// Only compare with the committed counts; fail if a case costs over 3 % more.
        #[arg(long)]
        check: bool,
    },
    /// Measure beside general-purpose libraries on the same frames and write docs/peers.md (15 minutes at first).
    Peers(peers::Options),
}

/// Root of the repository.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(PathBuf::new, Path::to_path_buf)
}

fn main() -> Result<()> {
    match Cli::parse().verb {
        Verb::Header { check } => header::run(&root(), check),
        Verb::Firmware => firmware::run(),
        Verb::Accuracy { check } => accuracy::run(&root(), check),
        Verb::ContactSheet { seed } => contact_sheet::run(&root(), seed),
        Verb::Pages { check } => pages::run(&root(), check),
        Verb::Prove(args) => prove::run(&root(), &args),
        Verb::Fragments { check } => fragments::run(&root(), check),
        Verb::Footprint { check } => footprint::run(&root(), check),
        Verb::Baseline { check } => baseline::run(&root(), check),
        Verb::Peers(options) => peers::run(&root(), &options),
    }
}
