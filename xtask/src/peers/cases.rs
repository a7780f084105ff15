//! The cases: one folder for each set of frames, with the list that all programs read.

use anyhow::{Context, Result};
use std::fmt::Write as _;
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
            // Anew each time: the folder may have been moved.
            let _ = fs::remove_file(&link);
            symlink(peers.join("frames").join(file), link)?;
            cases.push(Case { name, folder });
        }
    }
    Ok(cases)
}

/// Frames that are measured one by one, over and over, for peers that would take too long on all: fewer than there are.
const REPEATED: [&str; 6] =
    ["blobs_160x120", "blobs_640x512", "comb_160x120", "comb_640x512", "noise50_160x120", "noise50_640x512"];

/// A folder with [`REPEATED`] in both forms of list, and the peers' Python program beside its frames.
pub(super) fn repeated(peers: &Path) -> Result<PathBuf> {
    let (folder, all) = (peers.join("repeated"), peers.join("frames"));
    let frames = folder.join("frames");
    fs::create_dir_all(&frames)?;
    fs::copy(peers.join("peers.py"), folder.join("peers.py"))?;
    let (mut index, mut rotating) = (String::new(), String::new());
    for line in fs::read_to_string(all.join("index.tsv"))?.lines() {
        let words: Vec<&str> = line.split('\t').collect();
        let [name, width, height, hot, cold, ..] = words[..] else { continue };
        if REPEATED.contains(&name) {
            fs::copy(all.join(format!("{name}.u16")), frames.join(format!("{name}.u16")))?;
            writeln!(index, "{line}")?;
            writeln!(rotating, "{name}\t{width}\t{height}\t1\t{hot}\t{cold}")?;
        }
    }
    fs::write(frames.join("index.tsv"), index)?;
    fs::write(frames.join("rot.tsv"), rotating)?;
    Ok(folder)
}

/// The content of a case and its width and height.
pub(super) fn parts(case: &str) -> Option<(&str, u64, u64)> {
    let (content, size) = case.strip_prefix("rot_").unwrap_or(case).rsplit_once('_')?;
    let (width, height) = size.split_once('x')?;
    Some((content, width.parse().ok()?, height.parse().ok()?))
}
