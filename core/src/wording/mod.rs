//! Text for findings and briefs, apart from the logic.
//!
//! *What.* [`finding_text`] and [`brief_text`] write UTF-8 into a buffer of the caller, from codes and fixed-point
//! numbers; the same call serves Rust, C and the bench, so all say the same. *Languages* are tables ([`Language`]); a
//! device links only those it names and may bring its own. *No formatting machinery* of the standard library is used:
//! it would outweigh the tables. *Cost.* Linear in the text, about 2 KB.

mod brief;
mod en;
mod es;
mod finding;
#[cfg(test)]
mod tests;
mod writer;

pub use brief::{brief_text, demand_text};
pub use en::ENGLISH;
pub use es::SPANISH;
pub use finding::{finding_text, limit_text};
pub use writer::{TemperatureUnit, Writer};

use crate::checks::{Condition, Kind, Role, Unit, View};
use crate::finding::{Cause, Caution, Gate, Grade, Metric, NextTest, Note, Symptom, Tag};

/// The words of one language. Functions return phrases without a final period unless they are whole sentences.
#[derive(Clone, Copy, Debug)]
pub struct Language {
    /// ISO 639-1 code.
    pub key: &'static str,
    /// Name of a check.
    pub kind: fn(Kind) -> &'static str,
    /// What a check is for and how to set the scene up; sentences.
    pub set_up: fn(Kind) -> &'static str,
    /// A grade with what to do; sentences.
    pub grade: fn(Grade) -> &'static str,
    /// What was seen; a sentence.
    pub symptom: fn(Symptom) -> &'static str,
    /// Name of a part.
    pub role: fn(Role) -> &'static str,
    /// Name of a picture.
    pub view: fn(View) -> &'static str,
    /// Name of a condition.
    pub condition: fn(Condition) -> &'static str,
    /// Name of a metric.
    pub metric: fn(Metric) -> &'static str,
    /// A failed gate; a sentence.
    pub gate: fn(Gate) -> &'static str,
    /// A suspected cause.
    pub cause: fn(Cause) -> &'static str,
    /// A next test; a sentence.
    pub test: fn(NextTest) -> &'static str,
    /// A caution; sentences.
    pub caution: fn(Caution) -> &'static str,
    /// A note; sentences.
    pub note: fn(Note) -> &'static str,
    /// How far a source can be trusted.
    pub tag: fn(Tag) -> &'static str,
    /// Unit of a stated condition.
    pub unit: fn(Unit) -> &'static str,
    /// Headings and connecting words.
    pub phrases: Phrases,
}

/// Headings and connecting words of a language.
#[derive(Clone, Copy, Debug)]
#[allow(missing_docs, reason = "each field is the English heading it holds")]
pub struct Phrases {
    pub evidence: &'static str,
    pub gates: &'static str,
    pub causes: &'static str,
    pub tests: &'static str,
    pub cautions: &'static str,
    pub notes: &'static str,
    pub limits: &'static str,
    pub possible: &'static str,
    pub probable: &'static str,
    pub major: &'static str,
    pub conditions: &'static str,
    pub pictures: &'static str,
    pub further_pictures: &'static str,
    pub aim_at: &'static str,
    pub required: &'static str,
    pub optional: &'static str,
    pub searched: &'static str,
    pub at_least: &'static str,
    pub at_most: &'static str,
    pub must_be_yes: &'static str,
    pub must_be_no: &'static str,
    pub unless: &'static str,
    pub or_else: &'static str,
    pub if_known: &'static str,
    pub stated: &'static str,
    pub else_not_assessable: &'static str,
    pub else_weaker: &'static str,
}
