//! Chooses the letters and fragments with which core packs the phrases of a language, and writes
//! `core/src/wording/fragments.rs`.
//!
//! *How.* Byte pair encoding (Gage 1994, from memory) over letters: the most frequent pair of neighbors becomes a
//! fragment, again and again, until all codes are in use. A rare letter is better spelled in bytes, which leaves its
//! code to a fragment; where that begins is tried out with core's own packing.
//!
//! *The committed choice need not be the newest*: any phrase can be packed with it. It should be close, though.

use crate::build;
use anyhow::{Context, Result, bail};
use oddheat_core::wording::{ENGLISH, Language, SPANISH, fragments, packed_size};
use std::collections::{BTreeMap, HashSet};
use std::fmt::Write as _;
use std::path::Path;

/// Codes but for the escape, the end of a phrase among them.
const CODES: usize = 255;
/// The end of a phrase.
const END: char = '\0';
/// Letters with fewer uses are spelled in bytes; each is tried.
const FEWEST_USES: [usize; 7] = [0, 4, 6, 8, 10, 12, 14];
/// For [`packed_size`].
const ROOM: usize = 1 << 16;
/// The committed choice may need this many percent more than a new one.
const PERCENT_MORE: usize = 1;

struct Tongue {
    name: &'static str,
    language: &'static Language,
    committed: &'static [&'static str],
}

/// Writes the fragments, or sees whether the committed ones are still good.
pub(crate) fn run(root: &Path, check: bool) -> Result<()> {
    if cfg!(debug_assertions) {
        return build::again_optimized(root);
    }
    let mut text = String::from(
        "//! Letters and frequent fragments of each language, shorter ones first. Made by `cargo xtask fragments`; do \
         not edit.\n",
    );
    for Tongue { name, language, committed } in [
        Tongue { name: "ENGLISH", language: &ENGLISH, committed: fragments::ENGLISH },
        Tongue { name: "SPANISH", language: &SPANISH, committed: fragments::SPANISH },
    ] {
        let mut phrases = Vec::new();
        language.each_phrase(|_, phrase| phrases.push(phrase.to_string()));
        let phrases: Vec<&str> = phrases.iter().map(String::as_str).collect();
        let chosen = choose(&phrases);
        let size = |fragments: &[&str]| packed_size::<ROOM>(&phrases, fragments);
        let plain: usize = phrases.iter().map(|phrase| phrase.len()).sum();
        let new = size(&chosen.iter().map(String::as_str).collect::<Vec<_>>());
        let old = size(committed);
        println!("{name}: {plain} bytes of phrases, packed {old} with the committed fragments, {new} with new ones");
        if check && old * 100 > new * (100 + PERCENT_MORE) {
            bail!("the phrases have changed; run `cargo xtask fragments` and commit core/src/wording/fragments.rs");
        }
        write!(text, "\n/// For the phrases of [`{name}`](super::{name}).\n{}", array(name, &chosen))?;
    }
    if check {
        return Ok(());
    }
    let path = root.join("core/src/wording/fragments.rs");
    std::fs::write(&path, text).with_context(|| format!("writing {}", path.display()))
}

/// The choice with which these phrases take the fewest bytes.
fn choose(phrases: &[&str]) -> Vec<String> {
    let choices = FEWEST_USES.map(|uses| frequent(phrases, uses));
    let size =
        |choice: &Vec<String>| packed_size::<ROOM>(phrases, &choice.iter().map(String::as_str).collect::<Vec<_>>());
    choices.into_iter().min_by_key(size).unwrap_or_default()
}

/// Letters with as many uses, and frequent fragments of them; shorter ones first.
fn frequent(phrases: &[&str], fewest_uses: usize) -> Vec<String> {
    let mut uses = BTreeMap::<char, usize>::new();
    for letter in phrases.iter().flat_map(|phrase| phrase.chars()) {
        *uses.entry(letter).or_default() += 1;
    }
    // Letters of more than two bytes have no codes.
    let letters = uses.into_iter().filter(|(letter, uses)| *uses >= fewest_uses && letter.len_utf8() <= 2);
    let mut chosen: Vec<String> = letters.map(|(letter, _)| letter.to_string()).collect();
    chosen.push(END.to_string());
    let mut known: HashSet<String> = chosen.iter().cloned().collect();
    let mut texts: Vec<Vec<String>> =
        phrases.iter().map(|phrase| phrase.chars().chain([END]).map(String::from).collect()).collect();
    while chosen.len() < CODES {
        let Some((left, right)) = most_frequent(&texts, &known) else { break };
        let fragment = format!("{left}{right}");
        for text in &mut texts {
            join(text, &left, &right);
        }
        if known.insert(fragment.clone()) {
            chosen.push(fragment);
        }
    }
    chosen.sort_by_key(String::len);
    chosen
}

/// The most frequent pair of neighbors that both have codes, if one comes twice.
fn most_frequent(texts: &[Vec<String>], known: &HashSet<String>) -> Option<(String, String)> {
    let mut pairs = BTreeMap::<(&str, &str), usize>::new();
    for pair in texts.iter().flat_map(|text| text.windows(2)) {
        if let [left, right] = pair
            && known.contains(left)
            && known.contains(right)
        {
            *pairs.entry((left, right)).or_default() += 1;
        }
    }
    let ((left, right), uses) = pairs.into_iter().max_by_key(|&(_, uses)| uses)?;
    (uses > 1).then(|| (left.to_owned(), right.to_owned()))
}

fn join(text: &mut Vec<String>, left: &str, right: &str) {
    let mut joined: Vec<String> = Vec::with_capacity(text.len());
    let mut open = false;
    for part in text.drain(..) {
        match joined.last_mut() {
            Some(last) if open && last == left && part == right => {
                last.push_str(&part);
                open = false;
            }
            _ => {
                joined.push(part);
                open = true;
            }
        }
    }
    *text = joined;
}

/// As a Rust constant.
fn array(name: &str, fragments: &[String]) -> String {
    let mut text = format!("#[rustfmt::skip]\npub const {name}: &[&str] = &[");
    let mut column = usize::MAX;
    for fragment in fragments {
        let literal = if fragment.ends_with(END) {
            format!("\"{}\\0\",", fragment.trim_end_matches(END).escape_debug())
        } else {
            format!("{fragment:?},")
        };
        let width = literal.chars().count() + 1;
        if column.saturating_add(width) > 120 {
            text.push_str("\n   ");
            column = 3;
        }
        column += width;
        text.push(' ');
        text.push_str(&literal);
    }
    text.push_str("\n];\n");
    text
}
