//! Copying, fetching and building: the peers by their own scripts, ours in two builds.

use crate::build::{self, Processor};
use anyhow::{Context, Result, ensure};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What is there to run.
pub(super) struct Programs {
    /// The writable copy of the peers folder.
    pub(super) folder: PathBuf,
    /// Our program, built for the default target.
    pub(super) ours: PathBuf,
    /// Our program, built for this processor.
    pub(super) ours_native: PathBuf,
}

/// Makes everything; what exists is kept, but our own programs are always built anew.
pub(super) fn all(root: &Path, from: &Path) -> Result<Programs> {
    let folder = root.join("target/peers");
    if !folder.join("gen.py").is_file() {
        copy(from, &folder).with_context(|| format!("copying {} (--from)", from.display()))?;
    }
    let scripts = root.join("xtask/src/peers");
    let status = Command::new("sh").arg(scripts.join("prepare.sh")).arg(&scripts).current_dir(&folder).status()?;
    ensure!(status.success(), "the peers could not be built: {status}");
    let ours = build::program(root, "frames", Processor::Asked)?;
    let ours_native = build::program(root, "frames", Processor::This)?;
    Ok(Programs { folder, ours, ours_native })
}

/// Copies a folder that may be read-only into one that is not.
fn copy(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let (entry, path) = entry.map(|entry| (to.join(entry.file_name()), entry.path()))?;
        if path.is_dir() {
            copy(&path, &entry)?;
        } else {
            // Contents only: the copy shall be writable.
            fs::write(&entry, fs::read(&path)?)?;
        }
    }
    Ok(())
}
