//! A check's definition as text: what to do before there is a picture.

use super::finding::{heading, list, write_limit};
use super::writer::{TemperatureUnit, Writer};
use super::{Language, Phrases};
use crate::checks::{Kind, Must, Need, Unit, Use, View};
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
    let mut out = Writer::new(buffer);
    let definition = kind.definition();
    let phrases = &language.phrases;
    out.text((language.kind)(kind)).text("\n").text((language.set_up)(kind));
    list(&mut out, phrases.cautions, definition.cautions, language.caution);
    heading(&mut out, phrases.conditions, definition.needs.is_empty());
    for need in definition.needs {
        write_need(language, need, &mut out);
    }
    out.text("\n").text(phrases.pictures);
    for (i, &view) in definition.views.iter().enumerate() {
        out.text(if i == 0 { " " } else { ", " }).text((language.view)(view));
    }
    for (i, &view) in definition.further_views.iter().enumerate() {
        out.text(if i == 0 { phrases.further_pictures } else { ", " }).text((language.view)(view));
    }
    if definition.views == [View::Single] {
        out.text(".");
    }
    heading(&mut out, phrases.aim_at, definition.parts.is_empty());
    for part in definition.parts {
        out.text("\n- ").text((language.role)(part.role)).text(" [").text(part.role.key()).text("]: ");
        out.text(phrases.usage(part.usage));
    }
    if with_limits {
        heading(&mut out, phrases.limits, definition.limits.is_empty());
        for limit in definition.limits {
            out.text("\n- ").text((language.metric)(limit.metric)).text(": ");
            write_limit(language, limit, unit, &mut out);
        }
    }
    out.needed()
}

impl Phrases {
    /// What a shape is for.
    #[must_use]
    pub const fn usage(&self, usage: Use) -> &'static str {
        match usage {
            Use::Required(_) => self.required,
            Use::Optional(_) => self.optional,
            Use::Searched(_) => self.searched,
        }
    }
}

/// Writes what a condition must be, such as "at most 600 s", and returns the bytes the whole text takes, as
/// [`super::finding_text`] does.
pub fn demand_text(language: &Language, need: &Need, buffer: &mut [u8]) -> usize {
    let mut out = Writer::new(buffer);
    write_demand(language, need, &mut out);
    out.needed()
}

fn write_need(language: &Language, need: &Need, out: &mut Writer<'_>) {
    let phrases = &language.phrases;
    out.text("\n- ").text((language.condition)(need.condition)).text(" [").text(need.condition.key()).text("]: ");
    write_demand(language, need, out);
    out.text(match need.effect {
        _ if need.must == Must::MayBeStated => "",
        Effect::Stops => phrases.else_not_assessable,
        Effect::Weakens => phrases.else_weaker,
    });
    out.text(" [").text((language.tag)(need.source.tag)).text(": ").text(need.source.cite).text("]");
}

fn write_demand(language: &Language, need: &Need, out: &mut Writer<'_>) {
    let phrases = &language.phrases;
    let unit = (language.unit)(need.condition.unit());
    match need.must {
        Must::BeStated => out.text(phrases.stated).text(if unit.is_empty() { "" } else { ", " }).text(unit),
        Must::BeYes => out.text(phrases.must_be_yes),
        Must::BeNo => out.text(phrases.must_be_no),
        Must::BeYesOrElse(other) => {
            out.text(phrases.or_else).text(" ").text((language.condition)(other)).text(" [").text(other.key()).text("]")
        }
        Must::MayBeStated => out.text(phrases.if_known),
        Must::BeAtLeast(least) => bound(phrases.at_least, least, need.condition.unit(), unit, out),
        Must::BeAtLeastUnless(least, other) => bound(phrases.at_least, least, need.condition.unit(), unit, out)
            .text(phrases.unless)
            .text((language.condition)(other))
            .text(" [")
            .text(other.key())
            .text("]"),
        Must::BeAtMost(most) => bound(phrases.at_most, most, need.condition.unit(), unit, out),
    };
}

fn bound<'w, 'b>(words: &str, thousandths: i32, kind: Unit, unit: &str, out: &'w mut Writer<'b>) -> &'w mut Writer<'b> {
    // Temperatures are stored as kelvin and stated in °C.
    let zero = if kind == Unit::Temperature { 273_150 } else { 0 };
    out.text(words).text(" ").decimal((i64::from(thousandths) - zero) * 1000, 0).text(" ").text(unit)
}
