//! Text for findings and briefs, apart from the logic.
//!
//! *What.* [`finding_text`] and [`brief_text`] write UTF-8 into a buffer of the caller, from codes and fixed-point
//! numbers; the same call serves Rust, C and the bench, so all say the same. *Languages* are tables ([`Language`]); a
//! device links only those it names and may bring its own, of [`Text::plain`] phrases. Ours lie packed ([`Text`]) and
//! are unpacked while they are written. *No formatting machinery* of the standard library is used: it would outweigh the
//! tables. *Cost.* Linear in the text, about 2 KB.

mod brief;
mod en;
mod es;
mod finding;
pub mod fragments;
#[allow(clippy::indexing_slicing, reason = "runs in the compiler, and in the program that chooses fragments")]
mod packing;
mod page;
mod phrase;
#[cfg(test)]
mod tests;
mod text;
mod writer;

pub use brief::{brief_text, demand_text};
pub use en::ENGLISH;
pub use es::SPANISH;
pub use finding::{finding_text, limit_text};
pub use packing::packed_size;
pub use phrase::Phrase;
pub use text::Text;
pub use writer::{TemperatureUnit, Writer};

use crate::checks::{Condition, Kind, Role, Unit, View};
use crate::finding::{Cause, Caution, Gate, Grade, Metric, NextTest, Note, Symptom, Tag};

/// The words of one language. Functions return phrases without a final period unless they are whole sentences.
#[derive(Clone, Copy, Debug)]
pub struct Language {
    /// ISO 639-1 code.
    pub key: &'static str,
    /// Name of a check.
    pub kind: fn(Kind) -> Text,
    /// What a check is for and how to set the scene up; sentences.
    pub set_up: fn(Kind) -> Text,
    /// A grade with what to do; sentences.
    pub grade: fn(Grade) -> Text,
    /// What was seen; a sentence.
    pub symptom: fn(Symptom) -> Text,
    /// Name of a part.
    pub role: fn(Role) -> Text,
    /// Name of a picture.
    pub view: fn(View) -> Text,
    /// Name of a condition.
    pub condition: fn(Condition) -> Text,
    /// Name of a metric.
    pub metric: fn(Metric) -> Text,
    /// A failed gate; a sentence.
    pub gate: fn(Gate) -> Text,
    /// A suspected cause.
    pub cause: fn(Cause) -> Text,
    /// A next test; a sentence.
    pub test: fn(NextTest) -> Text,
    /// A caution; sentences.
    pub caution: fn(Caution) -> Text,
    /// A note; sentences.
    pub note: fn(Note) -> Text,
    /// How far a source can be trusted.
    pub tag: fn(Tag) -> Text,
    /// Unit of a stated condition.
    pub unit: fn(Unit) -> &'static str,
    /// Headings and connecting words.
    pub phrase: fn(Phrase) -> Text,
}

const TAGS: &[Tag] = &[Tag::Read, Tag::Memory, Tag::CommonPractice, Tag::Derived, Tag::Proposal];

impl Language {
    /// Gives every phrase, with the key of what it says.
    pub fn each_phrase(&self, mut visit: impl FnMut(&'static str, Text)) {
        fn all<T: Copy>(
            items: &[T],
            key: fn(T) -> &'static str,
            words: fn(T) -> Text,
            visit: &mut impl FnMut(&'static str, Text),
        ) {
            for &item in items {
                visit(key(item), words(item));
            }
        }
        // A field that is missing here does not compile.
        let &Self {
            key: _,
            kind,
            set_up,
            grade,
            symptom,
            role,
            view,
            condition,
            metric,
            gate,
            cause,
            test,
            caution,
            note,
            tag,
            unit: _,
            phrase,
        } = self;
        let visit = &mut visit;
        all(Kind::ALL, Kind::key, kind, visit);
        all(Kind::ALL, Kind::key, set_up, visit);
        all(Grade::ALL, Grade::key, grade, visit);
        all(Symptom::ALL, Symptom::key, symptom, visit);
        all(Role::ALL, Role::key, role, visit);
        all(View::ALL, View::key, view, visit);
        all(Condition::ALL, Condition::key, condition, visit);
        all(Metric::ALL, Metric::key, metric, visit);
        all(Gate::ALL, Gate::key, gate, visit);
        all(Cause::ALL, Cause::key, cause, visit);
        all(NextTest::ALL, NextTest::key, test, visit);
        all(Caution::ALL, Caution::key, caution, visit);
        all(Note::ALL, Note::key, note, visit);
        all(TAGS, Tag::words, tag, visit);
        all(Phrase::ALL, Phrase::key, phrase, visit);
    }
}
