//! A finding as text.

use super::page::Page;
use super::writer::TemperatureUnit;
use super::{Language, Phrase};
use crate::finding::{Evidence, Finding, Grade, Limit};

/// Writes a finding as lines of text and returns the bytes the whole text takes; if that is more than the buffer
/// holds, the buffer has its beginning. One line per statement, no trailing newline.
pub fn finding_text(language: &Language, finding: &Finding, unit: TemperatureUnit, buffer: &mut [u8]) -> usize {
    let page = &mut Page::new(language, unit, buffer);
    page.words(language.kind, finding.check).text(": ").words(language.grade, finding.grade);
    page.text("\n").words(language.symptom, finding.symptom);
    if let Some(place) = finding.suspect {
        page.text(" (").place(place).text(")");
    }
    page.heading(Phrase::Evidence, finding.evidence.is_empty());
    for evidence in &finding.evidence {
        write_evidence(page, evidence, finding.check.definition().limits);
    }
    page.heading(Phrase::Gates, finding.gates.is_empty());
    for failed in &finding.gates {
        page.item().words(language.gate, failed.gate);
        match (failed.condition, failed.role.zip(failed.view)) {
            (Some(condition), _) => {
                page.text(" (").words(language.condition, condition).text(")");
            }
            (None, Some(place)) => {
                page.text(" (").place(place).text(")");
            }
            (None, None) => {}
        }
    }
    page.list(Phrase::Causes, &finding.causes, language.cause);
    page.list(Phrase::Tests, &finding.tests, language.test);
    page.list(Phrase::Cautions, &finding.cautions, language.caution);
    page.list(Phrase::Notes, &finding.notes, language.note);
    page.needed()
}

fn write_evidence(page: &mut Page<'_, '_>, evidence: &Evidence, limits: &'static [Limit]) {
    let language = page.language;
    page.item().words(language.metric, evidence.metric);
    if let Some(place) = evidence.role.zip(evidence.view) {
        page.text(", ").place(place);
    }
    page.text(": ").quantity(evidence.metric, evidence.value, evidence.uncertainty);
    if let Some(limit) = evidence.limit.and_then(|index| limits.get(usize::from(index))) {
        page.text("; ").limit(limit);
        if evidence.grade > Grade::None || evidence.reaches > Grade::None {
            page.text(" → ");
            write_grade(page, evidence.grade);
            if evidence.reaches > evidence.grade {
                page.text("…");
                write_grade(page, evidence.reaches);
            }
        }
    }
}

/// The short word of a grade; a dash for none.
fn write_grade(page: &mut Page<'_, '_>, grade: Grade) {
    match grade {
        Grade::Possible => page.phrase(Phrase::Possible),
        Grade::Probable => page.phrase(Phrase::Probable),
        Grade::Major => page.phrase(Phrase::Major),
        Grade::None | Grade::NotAssessable => page.text("–"),
    };
}

/// Writes the steps of a limit and where they come from, and returns the bytes the whole text takes.
pub fn limit_text(language: &Language, limit: &Limit, unit: TemperatureUnit, buffer: &mut [u8]) -> usize {
    let page = &mut Page::new(language, unit, buffer);
    page.limit(limit);
    page.needed()
}
