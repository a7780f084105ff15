//! Programs built by this one: itself optimized, and our measured programs.

use anyhow::{Result, ensure};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Runs the same command line optimized: to simulate many recordings, or to choose fragments, would take many times as
/// long otherwise.
pub(crate) fn again_optimized(root: &Path) -> Result<()> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.current_dir(root).args(["run", "--quiet", "--release", "--package", "xtask", "--"]);
    let status = command.args(std::env::args_os().skip(1)).status()?;
    ensure!(status.success(), "the optimized run failed, see above");
    Ok(())
}

/// What a measured program may expect of a processor.
#[derive(Clone, Copy)]
pub(crate) enum Processor {
    /// What every one of the target has.
    Any,
    /// An instruction that counts the bits of a word, with which the scanner takes whole frames by pairs of rows.
    CountsBits,
    /// The widest vectors of the one that it runs on, for which it asks then.
    Asked,
    /// All that this one has, and the widest vectors, too.
    This,
}

/// Builds a program of the benches package and returns its path. All are built one way: as the peers are, with one unit
/// and link-time optimization, so that neither the split of the crate nor what else is in the workspace moves a number.
pub(crate) fn program(root: &Path, name: &str, processor: Processor) -> Result<PathBuf> {
    let (folder, flags) = match processor {
        Processor::Any => ("ours-any", ""),
        // Elsewhere frames go row by row all the same.
        Processor::CountsBits if cfg!(target_arch = "x86_64") => ("ours-counting", "-C target-feature=+popcnt"),
        Processor::CountsBits => ("ours-counting", ""),
        Processor::Asked => ("ours-default", ""),
        Processor::This => ("ours-native", "-C target-cpu=native"),
    };
    let folder = root.join("target/peers").join(folder);
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.current_dir(root).args(["build", "--quiet", "--release", "--package", "oddheat-benches", "--bin", name]);
    if let Processor::Any | Processor::CountsBits = processor {
        cargo.arg("--no-default-features");
    }
    cargo.arg("--target-dir").arg(&folder);
    cargo.envs([("CARGO_PROFILE_RELEASE_LTO", "fat"), ("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "1")]);
    // Set, not only removed: a configuration file could bring flags of its own.
    cargo.env_remove("CARGO_ENCODED_RUSTFLAGS").env("RUSTFLAGS", flags);
    let status = cargo.status()?;
    ensure!(status.success(), "{name} could not be built: {status}");
    Ok(folder.join("release").join(name))
}
