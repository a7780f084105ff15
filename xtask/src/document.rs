//! Generated documents that are committed: written, or compared with what is there.

use anyhow::{Context, Result, bail};
use std::path::Path;

/// Writes `text` to `docs/NAME` and prints it, or compares it with the committed document.
pub(crate) fn publish(root: &Path, name: &str, text: &str, check: bool) -> Result<()> {
    let path = root.join("docs").join(name);
    if !check {
        std::fs::create_dir_all(root.join("docs"))?;
        std::fs::write(&path, text).with_context(|| format!("writing {}", path.display()))?;
        print!("{text}");
        return Ok(());
    }
    let committed = std::fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
    if text != committed {
        let new: Vec<&str> = text.lines().filter(|line| !committed.lines().any(|old| old == *line)).collect();
        bail!("{} is out of date; lines that are new:\n{}", path.display(), new.join("\n"));
    }
    println!("{} is up to date", path.display());
    Ok(())
}
