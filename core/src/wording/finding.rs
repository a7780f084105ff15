//! A finding as text.

use super::writer::{TemperatureUnit, Writer};
use super::{Language, Phrases};
use crate::checks::{Role, View};
use crate::finding::{Evidence, Finding, Grade, Limit};

/// Writes a finding as lines of text and returns the bytes the whole text takes; if that is more than the buffer
/// holds, the buffer has its beginning. One line per statement, no trailing newline.
pub fn finding_text(language: &Language, finding: &Finding, unit: TemperatureUnit, buffer: &mut [u8]) -> usize {
    let mut out = Writer::new(buffer);
    let phrases = &language.phrases;
    out.text((language.kind)(finding.check)).text(": ").text((language.grade)(finding.grade));
    out.text("\n").text((language.symptom)(finding.symptom));
    if let Some(place) = finding.suspect {
        out.text(" (");
        write_place(language, place, &mut out);
        out.text(")");
    }
    heading(&mut out, phrases.evidence, finding.evidence.is_empty());
    for evidence in &finding.evidence {
        write_evidence(language, evidence, finding.check.definition().limits, unit, &mut out);
    }
    heading(&mut out, phrases.gates, finding.gates.is_empty());
    for failed in &finding.gates {
        out.text("\n- ").text((language.gate)(failed.gate));
        match (failed.condition, failed.role.zip(failed.view)) {
            (Some(condition), _) => {
                out.text(" (").text((language.condition)(condition)).text(")");
            }
            (None, Some(place)) => {
                out.text(" (");
                write_place(language, place, &mut out);
                out.text(")");
            }
            (None, None) => {}
        }
    }
    list(&mut out, phrases.causes, &finding.causes, language.cause);
    list(&mut out, phrases.tests, &finding.tests, language.test);
    list(&mut out, phrases.cautions, &finding.cautions, language.caution);
    list(&mut out, phrases.notes, &finding.notes, language.note);
    out.needed()
}

pub(super) fn heading(out: &mut Writer<'_>, heading: &str, empty: bool) {
    if !empty {
        out.text("\n").text(heading);
    }
}

pub(super) fn list<T: Copy>(out: &mut Writer<'_>, title: &str, items: &[T], words: fn(T) -> &'static str) {
    heading(out, title, items.is_empty());
    for &item in items {
        out.text("\n- ").text(words(item));
    }
}

fn write_place(language: &Language, (role, view): (Role, View), out: &mut Writer<'_>) {
    out.text((language.role)(role));
    if view != View::Single {
        out.text(", ").text((language.view)(view));
    }
}

fn write_evidence(
    language: &Language,
    evidence: &Evidence,
    limits: &'static [Limit],
    unit: TemperatureUnit,
    out: &mut Writer<'_>,
) {
    out.text("\n- ").text((language.metric)(evidence.metric));
    if let Some(place) = evidence.role.zip(evidence.view) {
        out.text(", ");
        write_place(language, place, out);
    }
    out.text(": ").value(evidence, unit);
    if let Some(limit) = evidence.limit.and_then(|index| limits.get(usize::from(index))) {
        out.text("; ");
        write_limit(language, limit, unit, out);
        if evidence.grade > Grade::None || evidence.reaches > Grade::None {
            out.text(" → ").text(grade_word(&language.phrases, evidence.grade));
            if evidence.reaches > evidence.grade {
                out.text("…").text(grade_word(&language.phrases, evidence.reaches));
            }
        }
    }
}

/// The short word of a grade; a dash for none.
fn grade_word(phrases: &Phrases, grade: Grade) -> &'static str {
    match grade {
        Grade::Possible => phrases.possible,
        Grade::Probable => phrases.probable,
        Grade::Major => phrases.major,
        Grade::None | Grade::NotAssessable => "–",
    }
}

/// Writes the steps of a limit and where they come from, and returns the bytes the whole text takes.
pub fn limit_text(language: &Language, limit: &Limit, unit: TemperatureUnit, buffer: &mut [u8]) -> usize {
    let mut out = Writer::new(buffer);
    write_limit(language, limit, unit, &mut out);
    out.needed()
}

pub(super) fn write_limit(language: &Language, limit: &Limit, unit: TemperatureUnit, out: &mut Writer<'_>) {
    let phrases = &language.phrases;
    let steps = [(limit.possible, phrases.possible), (limit.probable, phrases.probable), (limit.major, phrases.major)];
    let mut first = true;
    for (step, word) in steps {
        let Some(step) = step else { continue };
        out.text(if first { "" } else { ", " }).text(word).text(" > ");
        first = false;
        // A step is a value without uncertainty.
        let step = crate::units::i16f16(step);
        let (metric, zero) = (limit.metric, fixed::types::I16F16::ZERO);
        let (grade, reaches) = (Grade::None, Grade::None);
        out.value(
            &Evidence { metric, role: None, view: None, value: step, uncertainty: zero, limit: None, grade, reaches },
            unit,
        );
    }
    out.text(" [").text((language.tag)(limit.source.tag)).text(": ").text(limit.source.cite).text("]");
}
