//! The cases: one folder for each set of frames, with the list that all programs read.

use anyhow::{Context, Result};
use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

/// One set of rotating frames.
pub(super) struct Case {
    /// As in the lists, `rot_CONTENT_WIDTHxHEIGHT`.
    pub(super) name: String,
    /// Holds `rot.tsv` with this case alone, and its frames.
    pub(super) folder: PathBuf,
}

/// Splits the lists of the peers folder.
pub(super) fn split(peers: &Path) -> Result<Vec<Case>> {
    let mut cases = Vec::new();
    for list in ["rot.tsv", "rot_more.tsv"] {
        let path = peers.join("frames").join(list);
        for line in fs::read_to_string(&path).with_context(|| path.display().to_string())?.lines() {
            let name = line.split('\t').next().unwrap_or_default().to_owned();
            let folder = peers.join("cases").join(&name);
            fs::create_dir_all(&folder)?;
            fs::write(folder.join("rot.tsv"), format!("{line}\n"))?;
            let (file, link) = (format!("{name}.u16"), folder.join(format!("{name}.u16")));
            if !link.exists() {
                symlink(peers.join("frames").join(file), link)?;
            }
            cases.push(Case { name, folder });
        }
    }
    Ok(cases)
}

/// The content of a case and its width and height.
pub(super) fn parts(case: &str) -> Option<(&str, u64, u64)> {
    let (content, size) = case.strip_prefix("rot_").unwrap_or(case).rsplit_once('_')?;
    let (width, height) = size.split_once('x')?;
    Some((content, width.parse().ok()?, height.parse().ok()?))
}
