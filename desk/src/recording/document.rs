//! `recording.toml` as text with positions: parses it, and turns a position back into the key that stands there.

use std::ops::Range;
use std::path::Path;

use miette::NamedSource;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::{KeyProblem, RecordingError};
use super::form::Form;
use super::limits::Limits;

/// The text of one `recording.toml` and the name to report it under.
pub(super) struct Document {
    file: String,
    text: String,
}

impl Document {
    pub(super) fn new(path: &Path, text: String) -> Self {
        Self { file: path.display().to_string(), text }
    }

    pub(super) fn parse(&self) -> Result<Form, RecordingError> {
        toml::from_str(&self.text).map_err(|error| {
            let span = error.span();
            let at = match (DeTable::parse(&self.text), &span) {
                (Ok(_), Some(span)) => self.key_at(span),
                (Ok(_), None) => TOP_LEVEL.to_owned(),
                (Err(_), _) => self.line_and_column(span.as_ref().map_or(0, |s| s.start)),
            };
            self.problem(at, in_plain_words(error.message()), span)
        })
    }

    /// An error about the value (or key) at this position.
    pub(super) fn refuse(
        &self,
        span: Range<usize>,
        expected: impl std::fmt::Display,
        found: impl std::fmt::Display,
    ) -> RecordingError {
        let at = self.key_at(&span);
        self.problem(at, format!("expected {expected}, found {found}"), Some(span))
    }

    /// An error about a key that is not there; `near` is the table it belongs into, if that is there.
    pub(super) fn missing(
        &self,
        near: Option<Range<usize>>,
        key: &str,
        expected: impl std::fmt::Display,
    ) -> RecordingError {
        self.problem(format!("`{key}`"), format!("expected {expected}, found that the key is missing"), near)
    }

    /// The number at a key, if it lies within its limits.
    pub(super) fn number(&self, value: &Spanned<f64>, limits: Limits) -> Result<f64, RecordingError> {
        let number = *value.get_ref();
        if limits.admit(number) { Ok(number) } else { Err(self.refuse(value.span(), limits, number)) }
    }

    /// As [`Document::number`], for a key that may be left out.
    pub(super) fn optional(&self, value: Option<&Spanned<f64>>, limits: Limits) -> Result<Option<f64>, RecordingError> {
        value.map(|value| self.number(value, limits)).transpose()
    }

    fn problem(&self, at: String, trouble: String, span: Option<Range<usize>>) -> RecordingError {
        RecordingError::Key(Box::new(KeyProblem {
            file: self.file.clone(),
            at,
            trouble,
            text: NamedSource::new(&self.file, self.text.clone()).with_language("toml"),
            span: span.filter(|span| self.can_be_shown(span)).map(Into::into),
        }))
    }

    /// Whether the lines around the position are short enough to print. A list with an entry for each of thousands of
    /// frames would fill the screen, and the message names the entry anyway.
    fn can_be_shown(&self, span: &Range<usize>) -> bool {
        let (Some(before), Some(after)) = (self.text.get(..span.start), self.text.get(span.end..)) else {
            return false;
        };
        let lines_before = before.rsplit('\n').take(1 + LINES_AROUND).map(str::len).sum::<usize>();
        let lines_after = after.split('\n').take(1 + LINES_AROUND).map(str::len).sum::<usize>();
        lines_before + span.len() + lines_after <= MOST_SHOWN
    }

    /// The path of the innermost key whose name or value covers the position.
    ///
    /// Looked up only when there is something to report, so the happy path carries no key names around.
    fn key_at(&self, span: &Range<usize>) -> String {
        let Ok(root) = DeTable::parse(&self.text) else { return TOP_LEVEL.to_owned() };
        let mut best = (usize::MAX, String::new());
        innermost_in_table(root.get_ref(), "", span, &mut best);
        if best.1.is_empty() { TOP_LEVEL.to_owned() } else { format!("`{}`", best.1) }
    }

    fn line_and_column(&self, offset: usize) -> String {
        let before = self.text.get(..offset).unwrap_or(&self.text);
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|&c| c != '\n').count() + 1;
        format!("line {line}, column {column}")
    }
}

/// Lines printed before and after the one that an error is about (the default of the diagnostics library).
const LINES_AROUND: usize = 1;
/// Most bytes of text printed with an error (P): some twenty rows of a terminal.
const MOST_SHOWN: usize = 2000;
const TOP_LEVEL: &str = "top level";

fn innermost_in_table(table: &DeTable<'_>, path: &str, span: &Range<usize>, best: &mut (usize, String)) {
    for (key, value) in table {
        let name = key.get_ref();
        let path = if path.is_empty() { name.to_string() } else { format!("{path}.{name}") };
        consider(&key.span(), &path, span, best);
        innermost_in_value(value, &path, span, best);
    }
}

fn innermost_in_value(value: &Spanned<DeValue<'_>>, path: &str, span: &Range<usize>, best: &mut (usize, String)) {
    consider(&value.span(), path, span, best);
    match value.get_ref() {
        DeValue::Table(table) => innermost_in_table(table, path, span, best),
        DeValue::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                innermost_in_value(item, &format!("{path}[{index}]"), span, best);
            }
        }
        _ => {}
    }
}

/// Keeps the shortest covering span; of equal ones the later, which is the deeper.
fn consider(candidate: &Range<usize>, path: &str, span: &Range<usize>, best: &mut (usize, String)) {
    if candidate.start <= span.start && span.end <= candidate.end && candidate.len() <= best.0 {
        *best = (candidate.len(), path.to_owned());
    }
}

/// The parser names Rust types; the person who wrote the file need not know them.
fn in_plain_words(message: &str) -> String {
    [
        ("expected f64", "expected a number"),
        ("expected u16", "expected a whole number from 0 to 65535"),
        ("expected u32", "expected a whole number from 0 to 4294967295"),
        ("expected u8", "expected a whole number from 0 to 255"),
        ("expected struct ", "expected a table with the keys of "),
    ]
    .iter()
    .fold(message.to_owned(), |text, (from, to)| text.replace(from, to))
}
