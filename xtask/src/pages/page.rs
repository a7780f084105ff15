//! Fills the templates of a page and of the list of pages.

use super::shot::{Shot, UNIT, file_name};
use super::{INDEX, SEVERITY};
use anyhow::{Context, Result};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, Value, context};
use oddheat_core::checks::{Kind, Must, Need, Part, View};
use oddheat_core::finding::{Effect, Limit};
use oddheat_core::wording::{ENGLISH, Phrase, demand_text, limit_text};
use oddheat_scenes::case::Case;
use oddheat_scenes::catalog::Check;
use serde::Serialize;
use std::path::Path;

/// A condition that the check asks for, as a row.
#[derive(Serialize)]
struct NeedRow {
    condition: String,
    key: &'static str,
    demand: String,
    /// None if the condition need not be stated.
    gate: Option<String>,
    effect: &'static str,
    tag: String,
    cite: &'static str,
}

#[derive(Serialize)]
struct PartRow {
    role: String,
    key: &'static str,
    about: &'static str,
    usage: String,
}

#[derive(Serialize)]
struct LimitRow {
    metric: String,
    steps: String,
    tag: String,
    cite: &'static str,
}

/// Counts of the proving ground: what of how many.
#[derive(Serialize)]
struct Proven {
    what: String,
    hits: u64,
    of: u64,
}

/// The page of a check.
///
/// # Errors
/// If its hand-written text cannot be read or the template cannot be filled.
pub(super) fn of(root: &Path, kind: Kind, scene: &Check, shots: Vec<Shot>) -> Result<String> {
    let definition = kind.definition();
    let set_up = (ENGLISH.set_up)(kind).to_string();
    let (purpose, set_up) = set_up.split_once('\n').unwrap_or((&set_up, ""));
    let [mut sound, mut faults, mut slight, mut decoys, mut gated] = [const { Vec::new() }; 5];
    for (case, shot) in super::shown(scene).into_iter().zip(shots) {
        match case {
            Case::Normal => sound.push(shot),
            Case::Fault { .. } | Case::Sweep { .. } => faults.push(shot),
            Case::Unresolvable => slight.push(shot),
            Case::Decoy(_) => decoys.push(shot),
            Case::Gated(_) => gated.push(shot),
        }
    }
    let seen: &[View] = sound.first().map_or(&[], |shot| &shot.views);
    let name = |&view: &View| {
        let further = if definition.views.contains(&view) { "" } else { " (if wanted)" };
        format!("{}{further}", (ENGLISH.view)(view))
    };
    let views: Vec<String> = seen.iter().filter(|&&view| view != View::Single).map(name).collect();
    fill(
        "page",
        context! {
            key => kind.key(),
            title => (ENGLISH.kind)(kind).to_string(),
            index => INDEX,
            severity => SEVERITY.key(),
            purpose,
            set_up,
            views,
            physics => text(root, kind)?,
            aim => file_name(kind.key(), "aim"),
            needs => rows(definition.needs.iter().map(need)),
            parts => rows(definition.parts.iter().map(part)),
            limits => rows(definition.limits.iter().map(limit)),
            sound => rows(sound),
            faults => rows(faults),
            slight => rows(slight),
            decoys => rows(decoys),
            gated => rows(gated),
            proven => proven(root, kind)?.map(rows),
            tests => rows(definition.tests.iter().map(|&test| (ENGLISH.test)(test).to_string())),
            cautions => rows(definition.cautions.iter().map(|&caution| (ENGLISH.caution)(caution).to_string())),
        },
    )
}

/// The list of pages.
///
/// # Errors
/// If the template cannot be filled.
pub(super) fn index() -> Result<String> {
    let row = |&kind: &Kind| [kind.key().to_owned(), (ENGLISH.kind)(kind).to_string(), kind.about().trim().to_owned()];
    let checks: Vec<[String; 3]> = Kind::ALL.iter().map(row).collect();
    fill("index", context! { checks, index => INDEX })
}

fn fill(template: &str, content: Value) -> Result<String> {
    let mut environment = Environment::new();
    let mut syntax = SyntaxConfig::builder();
    syntax.trim_blocks(true).lstrip_blocks(true);
    environment.set_syntax(syntax.build()?);
    // A bar would end a cell, and so would a line's end.
    environment.add_filter("cell", |text: String| text.replace('|', "\\|").replace('\n', " "));
    environment.add_template("page", include_str!("templates/page.md"))?;
    environment.add_template("index", include_str!("templates/index.md"))?;
    let text = environment.get_template(template)?.render(content)?;
    // Parts that are left out leave their empty lines.
    let mut lines: Vec<&str> = text.trim().lines().map(str::trim_end).collect();
    lines.dedup_by(|line, before| line.is_empty() && before.is_empty());
    Ok(lines.join("\n") + "\n")
}

fn rows<T: Serialize>(rows: impl IntoIterator<Item = T>) -> Value {
    Value::from(Serde(rows.into_iter().collect::<Vec<T>>()))
}

/// The hand-written part.
fn text(root: &Path, kind: Kind) -> Result<String> {
    let path = root.join("xtask/src/pages/texts").join(format!("{}.md", kind.key()));
    let text = std::fs::read_to_string(&path);
    let text =
        text.with_context(|| format!("reading {}; xtask/src/pages/README.md says what it is", path.display()))?;
    Ok(text.trim().to_owned())
}

fn need(need: &Need) -> NeedRow {
    let judged = need.must != Must::MayBeStated;
    NeedRow {
        condition: (ENGLISH.condition)(need.condition).to_string(),
        key: need.condition.key(),
        demand: written(|buffer| demand_text(&ENGLISH, need, buffer)),
        gate: judged.then(|| (ENGLISH.gate)(need.gate).to_string()),
        effect: match need.effect {
            _ if !judged => "",
            Effect::Stops => "not assessable",
            Effect::Weakens => "possible at most",
        },
        tag: (ENGLISH.tag)(need.source.tag).to_string(),
        cite: need.source.cite,
    }
}

fn part(part: &Part) -> PartRow {
    PartRow {
        role: (ENGLISH.role)(part.role).to_string(),
        key: part.role.key(),
        about: part.role.about().trim(),
        usage: (ENGLISH.phrase)(Phrase::usage(part.usage)).to_string(),
    }
}

fn limit(limit: &Limit) -> LimitRow {
    let text = written(|buffer| limit_text(&ENGLISH, limit, UNIT, buffer));
    // The source has columns of its own.
    let steps = text.split(" [").next().unwrap_or_default().to_owned();
    let metric = (ENGLISH.metric)(limit.metric).to_string();
    LimitRow { metric, steps, tag: (ENGLISH.tag)(limit.source.tag).to_string(), cite: limit.source.cite }
}

/// A text of the library, which writes into a lent buffer and says how much it needs.
fn written(write: impl Fn(&mut [u8]) -> usize) -> String {
    let mut text = vec![0; write(&mut [])];
    write(&mut text);
    String::from_utf8_lossy(&text).into_owned()
}

/// The totals of the last full run of the proving ground, if there was one for this check.
fn proven(root: &Path, kind: Kind) -> Result<Option<Vec<Proven>>> {
    let path = root.join("tests/proving").join(format!("{}.toml", kind.key()));
    if !path.is_file() || !path.with_extension("md").is_file() {
        return Ok(None);
    }
    let text = std::fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
    let table: toml::Table = text.parse().with_context(|| format!("reading {}", path.display()))?;
    let merits = table.get("merits").and_then(toml::Value::as_table).context("expected a table of merits")?;
    let totals = merits.iter().filter_map(|(name, share)| {
        let count = |key| share.get(key).and_then(toml::Value::as_integer).and_then(|n| u64::try_from(n).ok());
        Some(Proven { what: name.strip_prefix("all ")?.to_owned(), hits: count("hits")?, of: count("of")? })
    });
    Ok(Some(totals.collect()))
}
