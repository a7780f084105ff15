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

/// Builds a program of the benches package for the default target or for this processor, and returns its path. All
/// are built one way: as the peers are, with one unit and link-time optimization, so that neither the split of the
/// crate nor what else is in the workspace moves a number. `arguments` go to cargo, too.
pub(crate) fn program(root: &Path, name: &str, native: bool, arguments: &[&str]) -> Result<PathBuf> {
    let folder = root.join("target/peers").join(if native { "ours-native" } else { "ours-default" });
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.current_dir(root).args(["build", "--quiet", "--release", "--package", "oddheat-benches", "--bin", name]);
    cargo.args(arguments).arg("--target-dir").arg(&folder);
    cargo.envs([("CARGO_PROFILE_RELEASE_LTO", "fat"), ("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "1")]);
    // Set, not only removed: a configuration file could bring flags of its own.
    cargo.env_remove("CARGO_ENCODED_RUSTFLAGS").env("RUSTFLAGS", if native { "-C target-cpu=native" } else { "" });
    let status = cargo.status()?;
    ensure!(status.success(), "{name} could not be built: {status}");
    Ok(folder.join("release").join(name))
}
