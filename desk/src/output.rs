//! A folder of results, whole or not at all.
//!
//! Everything is written beside the target first and moved into place at the end, so that a failure leaves what was
//! there. Only a folder that this program made before is replaced.

use miette::{IntoDiagnostic as _, Result, WrapErr as _, miette};
use std::fs;
use std::path::{Path, PathBuf};

/// Names the folders this program may replace.
const STAMP: &str = ".made-by-oddheat";

/// Results on their way to a folder.
#[derive(Debug)]
pub(crate) struct Staged {
    target: PathBuf,
    staging: PathBuf,
}

impl Staged {
    /// Prepares a folder; nothing appears at `target` before [`Staged::publish`].
    ///
    /// # Errors
    /// If `target` exists and was not made by this program, or the file system refuses.
    pub(crate) fn new(target: &Path) -> Result<Self> {
        let taken = fs::read_dir(target).is_ok_and(|mut entries| entries.next().is_some());
        if target.exists() && (!target.is_dir() || (taken && !target.join(STAMP).is_file())) {
            return Err(miette!(
                "{}: expected a new or empty folder, or one written by this program; found something else there",
                target.display()
            ));
        }
        let name = target.file_name().unwrap_or_default().to_string_lossy();
        let parent = target.parent().filter(|parent| *parent != Path::new("")).unwrap_or(Path::new("."));
        let staging = parent.join(format!(".{name}.{}", std::process::id()));
        let staged = Self { target: target.to_owned(), staging };
        fs::create_dir_all(&staged.staging)
            .into_diagnostic()
            .wrap_err_with(|| format!("{}: making a folder", staged.staging.display()))?;
        staged.write(STAMP, b"This folder is replaced as a whole when it is written again.\n")?;
        Ok(staged)
    }

    /// Where a file of this name is to be written now.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.staging.join(name)
    }

    /// Writes a file, making the folders it needs.
    ///
    /// # Errors
    /// If the file system refuses.
    pub(crate) fn write(&self, name: &str, bytes: &[u8]) -> Result<()> {
        let path = self.path(name);
        let written = path.parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| fs::write(&path, bytes));
        written.into_diagnostic().wrap_err_with(|| format!("{}: writing", path.display()))
    }

    /// Moves everything to the target, replacing what this program wrote there before.
    ///
    /// # Errors
    /// If the file system refuses; the old folder is then still there.
    pub(crate) fn publish(self) -> Result<()> {
        let old = self.staging.with_extension("old");
        let moved = (|| {
            if self.target.exists() {
                fs::rename(&self.target, &old)?;
            }
            fs::rename(&self.staging, &self.target).inspect_err(|_| {
                // Back to where it was; if that fails too, the old folder is still beside it under its other name.
                let _ = fs::rename(&old, &self.target);
            })
        })();
        moved.into_diagnostic().wrap_err_with(|| format!("{}: moving the results there", self.target.display()))?;
        if old.exists() {
            fs::remove_dir_all(&old).into_diagnostic().wrap_err("removing the results before these")?;
        }
        Ok(())
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        // After publishing there is nothing left here; after a failure nothing must stay.
        let _ = fs::remove_dir_all(&self.staging);
    }
}
