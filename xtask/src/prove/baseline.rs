//! The committed results of a check, and whether a sample falls behind them.

use super::stats::Share;
use super::tally::Tally;
use anyhow::{Context, Result};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::Path;

/// Chance of crying wolf over all lines of one check together, were nothing changed (Bonferroni's bound).
const LEVEL: f64 = 0.01;

/// Counts for which more is better.
#[derive(Serialize, Deserialize)]
struct Baseline {
    merits: BTreeMap<String, Share>,
}

/// Writes tables, plot and counts.
///
/// # Errors
/// If the file system refuses.
pub(super) fn write(folder: &Path, tally: &Tally, text: &str, svg: &str) -> Result<()> {
    std::fs::create_dir_all(folder)?;
    let counts = toml::to_string(&Baseline { merits: tally.merits() })?;
    for (ending, content) in [("md", text), ("svg", svg), ("toml", &counts)] {
        let path = folder.join(format!("{}.{ending}", tally.key));
        std::fs::write(&path, content).with_context(|| format!("writing {}", path.display()))?;
    }
    Ok(())
}

/// A line for every committed count from which the sample has dropped significantly.
///
/// # Errors
/// If the committed counts cannot be read.
pub(super) fn drops(folder: &Path, tally: &Tally) -> Result<Vec<String>> {
    let path = folder.join(format!("{}.toml", tally.key));
    let text = std::fs::read_to_string(&path)
        .with_context(|| format!("reading {}; `cargo xtask prove {}` makes it", path.display(), tally.key))?;
    let committed: Baseline = toml::from_str(&text).with_context(|| format!("reading {}", path.display()))?;
    Ok(compare(tally.key, &tally.merits(), &committed.merits))
}

/// A merit that is gone altogether has dropped too: its line is compared with nothing found.
fn compare(key: &str, sample: &BTreeMap<String, Share>, committed: &BTreeMap<String, Share>) -> Vec<String> {
    let level = LEVEL / committed.len().max(1) as f64;
    let line = |(name, before): (&String, &Share)| {
        let Some(now) = sample.get(name) else {
            return Some(format!("{key}: {name}: {}/{} before, gone now", before.hits, before.of));
        };
        let chance = now.chance_of_drop_from(*before);
        (chance < level).then(|| {
            let [a, b, c, d] = [before.hits, before.of, now.hits, now.of];
            format!("{key}: {name}: {a}/{b} before, {c}/{d} in the sample (chance {chance:.1e}, level {level:.1e})")
        })
    };
    committed.iter().filter_map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(hits: u32, of: u32) -> BTreeMap<String, Share> {
        BTreeMap::from([("fault: right".to_owned(), Share { hits, of })])
    }

    /// A real loss is seen in twelve recordings, chance is not called one, and a better sample never is.
    #[test]
    fn drops_are_told_from_chance() {
        assert_eq!(compare("x", &one(6, 12), &one(60, 60)).len(), 1);
        assert_eq!(compare("x", &one(11, 12), &one(60, 60)), Vec::<String>::new());
        assert_eq!(compare("x", &one(12, 12), &one(30, 60)), Vec::<String>::new());
        assert_eq!(compare("x", &BTreeMap::new(), &one(30, 60)).len(), 1);
    }
}
