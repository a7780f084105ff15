//! `cargo xtask pages`: an illustrated page about every check that the library knows.
//!
//! ```text
//! definition ─► wording ────────────────────────────────┐
//! case, seed ─► recording ─► bench ─► picture, finding ─┼─► template ─► CHECK.md, pictures/CHECK/*.png
//! texts/CHECK.md, the only hand-written part ───────────┘
//! ```
//!
//! Which recording is shown follows a rule, so that none is chosen for its looks: of every case the tuning seed with
//! the index of the contact sheets, on the instrument of the contact sheets.

mod page;
mod png;
mod shot;

use crate::{build, document};
use anyhow::{Context, Result, ensure};
use oddheat_core::checks::Kind;
use oddheat_scenes::case::{Case, Severity};
use oddheat_scenes::catalog::{self, Check};
use rayon::prelude::*;
use shot::{File, Shot};
use std::collections::BTreeMap;
use std::path::Path;

/// Index of the tuning seed.
const INDEX: u32 = 1;
/// Severity of the faults shown: of the three the middle one.
const SEVERITY: Severity = Severity::Clear;
/// All pictures of a page together, in bytes, at most.
const MOST_BYTES: usize = 400_000;

/// Draws all pictures and writes `docs/checks`, or compares it.
///
/// # Errors
/// If a check has no scene or no text, its pictures are too large, a file cannot be written, or the pages differ.
pub(crate) fn run(root: &Path, check: bool) -> Result<()> {
    if cfg!(debug_assertions) {
        return build::again_optimized(root);
    }
    let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    for &kind in Kind::ALL {
        let scene =
            catalog::check(kind.key()).with_context(|| format!("{} has no scene in the catalog", kind.key()))?;
        let (shots, pictures): (Vec<Shot>, Vec<Vec<File>>) = shown(scene)
            .into_par_iter()
            .map(|case| shot::take(scene, case))
            .collect::<Result<Vec<_>>>()?
            .into_iter()
            .unzip();
        let pictures: Vec<File> = pictures.into_iter().flatten().collect();
        let bytes: usize = pictures.iter().map(|(_, bytes)| bytes.len()).sum();
        println!("{}: {} pictures, {} KB", kind.key(), pictures.len(), bytes.div_ceil(1_000));
        ensure!(bytes <= MOST_BYTES, "{}: expected pictures of {MOST_BYTES} bytes at most together", kind.key());
        files.extend(pictures);
        files.insert(format!("{}.md", kind.key()), page::of(root, kind, scene, shots)?.into_bytes());
    }
    files.insert("README.md".to_owned(), page::index()?.into_bytes());
    document::publish_folder(&root.join("docs/checks"), &files, check)
}

/// Every case of a check, faults of one severity only: the three differ in degree.
fn shown(scene: &Check) -> Vec<Case> {
    let other = |case: &Case| matches!(case, Case::Fault { severity, .. } if *severity != SEVERITY);
    scene.cases().into_iter().filter(|case| !other(case)).collect()
}
