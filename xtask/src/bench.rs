//! A simulated recording on the road that an operator's takes: written to a folder, read and examined by the bench.

use anyhow::{Context, Result};
use oddheat_desk::examine::{Examination, examine};
use oddheat_desk::recording::Recording as Read;
use oddheat_scenes::recording::Recording;

/// What the bench read and found, or why it refused: that is a result too.
///
/// # Errors
/// If the temporary folder cannot be written.
pub(crate) fn examined(drawn: &Recording) -> Result<Result<(Read, Examination), String>> {
    let folder = tempfile::tempdir().context("making a temporary folder")?;
    drawn.write(folder.path()).context("writing a recording")?;
    let found = Read::open(folder.path()).map_err(|error| error.to_string()).and_then(|read| {
        let examination = examine(&read).map_err(|error| error.to_string())?;
        Ok((read, examination))
    });
    // The path of the temporary folder would differ from run to run.
    Ok(found.map_err(|refusal| refusal.replace(&folder.path().display().to_string(), "…")))
}
