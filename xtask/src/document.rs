//! Generated documents that are committed: written, or compared with what is there.

use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

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

/// Writes files to a folder that holds nothing else, by their names relative to it, and removes what is there besides;
/// or compares them with the committed ones.
pub(crate) fn publish_folder(folder: &Path, files: &BTreeMap<String, Vec<u8>>, check: bool) -> Result<()> {
    let wanted: BTreeMap<PathBuf, &Vec<u8>> = files.iter().map(|(name, bytes)| (folder.join(name), bytes)).collect();
    let stray: Vec<PathBuf> = files_in(folder)?.into_iter().filter(|path| !wanted.contains_key(path)).collect();
    if check {
        let differs = wanted.iter().filter(|(path, bytes)| std::fs::read(path).ok().as_ref() != Some(**bytes));
        let wrong: Vec<String> =
            differs.map(|(path, _)| path).chain(&stray).map(|path| path.display().to_string()).collect();
        if !wrong.is_empty() {
            bail!("out of date, missing or not wanted:\n{}", wrong.join("\n"));
        }
        println!("{}: {} files are up to date", folder.display(), wanted.len());
        return Ok(());
    }
    for (path, bytes) in &wanted {
        path.parent().map_or(Ok(()), std::fs::create_dir_all)?;
        std::fs::write(path, bytes).with_context(|| format!("writing {}", path.display()))?;
    }
    for path in &stray {
        std::fs::remove_file(path).with_context(|| format!("removing {}", path.display()))?;
    }
    println!("{}: {} files written, {} removed", folder.display(), wanted.len(), stray.len());
    Ok(())
}

/// Files in a folder and those below it; none if there is no such folder.
fn files_in(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    if folder.is_dir() {
        for entry in std::fs::read_dir(folder).with_context(|| format!("reading {}", folder.display()))? {
            let path = entry?.path();
            if path.is_dir() {
                files.extend(files_in(&path)?);
            } else {
                files.push(path);
            }
        }
    }
    Ok(files)
}
