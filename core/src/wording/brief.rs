//! A check's definition as text: what to do before there is a picture.

use super::page::Page;
use super::writer::TemperatureUnit;
use super::{Language, Phrase};
use crate::checks::{Kind, Must, Need, Unit, View};
use crate::finding::Effect;

/// Writes what a check is for, how to set the scene up, which conditions to state, what to aim at, its limits if
/// wanted, and its cautions. Returns the bytes the whole text takes, as [`super::finding_text`] does.
pub fn brief_text(
    language: &Language,
    kind: Kind,
    unit: TemperatureUnit,
    with_limits: bool,
    buffer: &mut [u8],
) -> usize {
    let page = &mut Page::new(language, unit, buffer);
    let definition = kind.definition();
    page.words(language.kind, kind).text("\n").words(language.set_up, kind);
    page.list(Phrase::Cautions, definition.cautions, language.caution);
    page.heading(Phrase::Conditions, definition.needs.is_empty());
    for need in definition.needs {
        write_need(page, need);
    }
    page.text("\n").phrase(Phrase::Pictures);
    let mut between = " ";
    for &view in definition.views {
        page.text(between).words(language.view, view);
        between = ", ";
    }
    for (i, &view) in definition.further_views.iter().enumerate() {
        if i == 0 { page.phrase(Phrase::FurtherPictures) } else { page.text(", ") }.words(language.view, view);
    }
    if definition.views == [View::Single] {
        page.text(".");
    }
    page.heading(Phrase::AimAt, definition.parts.is_empty());
    for part in definition.parts {
        page.item().words(language.role, part.role).bracketed(part.role.key()).text(": ");
        page.phrase(Phrase::usage(part.usage));
    }
    if with_limits {
        page.heading(Phrase::Limits, definition.limits.is_empty());
        for limit in definition.limits {
            page.item().words(language.metric, limit.metric).text(": ").limit(limit);
        }
    }
    page.needed()
}

/// Writes what a condition must be, such as "at most 600 s", and returns the bytes the whole text takes, as
/// [`super::finding_text`] does.
pub fn demand_text(language: &Language, need: &Need, buffer: &mut [u8]) -> usize {
    let page = &mut Page::new(language, TemperatureUnit::Celsius, buffer);
    write_demand(page, need);
    page.needed()
}

fn write_need(page: &mut Page<'_, '_>, need: &Need) {
    page.item().condition(need.condition).text(": ");
    write_demand(page, need);
    match need.effect {
        _ if need.must == Must::MayBeStated => {}
        Effect::Stops => {
            page.phrase(Phrase::ElseNotAssessable);
        }
        Effect::Weakens => {
            page.phrase(Phrase::ElseWeaker);
        }
    }
    page.source(&need.source);
}

fn write_demand(page: &mut Page<'_, '_>, need: &Need) {
    let unit = need.condition.unit();
    let symbol = (page.language.unit)(unit);
    let (words, bound, other) = match need.must {
        Must::BeStated => (Phrase::Stated, None, None),
        Must::BeYes => (Phrase::MustBeYes, None, None),
        Must::BeNo => (Phrase::MustBeNo, None, None),
        Must::BeYesOrElse(other) => (Phrase::OrElse, None, Some(other)),
        Must::MayBeStated => (Phrase::IfKnown, None, None),
        Must::BeAtLeast(least) => (Phrase::AtLeast, Some(least), None),
        Must::BeAtLeastUnless(least, other) => (Phrase::AtLeast, Some(least), Some(other)),
        Must::BeAtMost(most) => (Phrase::AtMost, Some(most), None),
    };
    page.phrase(words);
    if let Some(thousandths) = bound {
        // Temperatures are stored as kelvin and stated in °C.
        let zero = if unit == Unit::Temperature { 273_150 } else { 0 };
        page.text(" ").whole((i64::from(thousandths) - zero) * 1000).text(" ").text(symbol);
    } else if need.must == Must::BeStated && !symbol.is_empty() {
        page.text(", ").text(symbol);
    }
    if let Some(other) = other {
        if bound.is_some() { page.phrase(Phrase::Unless) } else { page.text(" ") }.condition(other);
    }
}
