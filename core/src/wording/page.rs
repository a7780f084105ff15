//! What findings and briefs have in common.

use super::writer::{TemperatureUnit, Writer};
use super::{Language, Phrase, Text};
use crate::checks::{Condition, Role, View};
use crate::finding::{Limit, Metric, Source};
use crate::units::i16f16;
use fixed::types::I16F16;

/// A text that is being written, and how.
pub(super) struct Page<'l, 'b> {
    pub(super) language: &'l Language,
    pub(super) unit: TemperatureUnit,
    out: Writer<'b>,
}

impl<'l, 'b> Page<'l, 'b> {
    pub(super) fn new(language: &'l Language, unit: TemperatureUnit, buffer: &'b mut [u8]) -> Self {
        Self { language, unit, out: Writer::new(buffer) }
    }

    /// Bytes the whole text takes.
    pub(super) const fn needed(&self) -> usize {
        self.out.needed()
    }

    #[inline(never)]
    pub(super) fn text(&mut self, text: &str) -> &mut Self {
        self.out.text(text);
        self
    }

    /// What a language says of a code.
    #[inline(never)]
    pub(super) fn words<T>(&mut self, words: fn(T) -> Text, code: T) -> &mut Self {
        self.out.phrase(words(code));
        self
    }

    #[inline(never)]
    pub(super) fn phrase(&mut self, phrase: Phrase) -> &mut Self {
        self.words(self.language.phrase, phrase)
    }

    pub(super) fn whole(&mut self, millionths: i64) -> &mut Self {
        self.out.decimal(millionths, 0);
        self
    }

    pub(super) fn quantity(&mut self, metric: Metric, value: I16F16, uncertainty: I16F16) -> &mut Self {
        self.out.quantity(metric, value, uncertainty, self.unit);
        self
    }

    /// A line of its own, if there is something to stand below it.
    #[inline(never)]
    pub(super) fn heading(&mut self, heading: Phrase, empty: bool) {
        if !empty {
            self.text("\n").phrase(heading);
        }
    }

    /// Begins a line below a heading.
    pub(super) fn item(&mut self) -> &mut Self {
        self.text("\n- ")
    }

    pub(super) fn list<T: Copy>(&mut self, heading: Phrase, items: &[T], words: fn(T) -> Text) {
        self.heading(heading, items.is_empty());
        for &item in items {
            self.item().words(words, item);
        }
    }

    /// A key or the like.
    #[inline(never)]
    pub(super) fn bracketed(&mut self, key: &str) -> &mut Self {
        self.text(" [").text(key).text("]")
    }

    #[inline(never)]
    pub(super) fn condition(&mut self, condition: Condition) -> &mut Self {
        self.words(self.language.condition, condition).bracketed(condition.key())
    }

    #[inline(never)]
    pub(super) fn place(&mut self, (role, view): (Role, View)) -> &mut Self {
        let language = self.language;
        self.words(language.role, role);
        if view != View::Single {
            self.text(", ").words(language.view, view);
        }
        self
    }

    pub(super) fn source(&mut self, source: &Source) {
        let language = self.language;
        self.text(" [").words(language.tag, source.tag).text(": ").text(source.cite).text("]");
    }

    /// The steps of a limit and where they come from.
    #[inline(never)]
    pub(super) fn limit(&mut self, limit: &Limit) {
        let mut between = "";
        self.step(limit.metric, limit.possible, Phrase::Possible, &mut between);
        self.step(limit.metric, limit.probable, Phrase::Probable, &mut between);
        self.step(limit.metric, limit.major, Phrase::Major, &mut between);
        self.source(&limit.source);
    }

    #[inline(never)]
    fn step(&mut self, metric: Metric, step: Option<f64>, word: Phrase, between: &mut &str) {
        if let Some(step) = step {
            self.text(between).phrase(word).text(" > ").quantity(metric, i16f16(step), I16F16::ZERO);
            *between = ", ";
        }
    }
}
