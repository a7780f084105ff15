//! What a finding measured and which gates failed, in words for tables and lists.

use crate::words::{ENGLISH, Style, Words};
use oddheat_core::checks::{Role, View};
use oddheat_core::finding::{Effect, Evidence, FailedGate, Finding, Grade};
use oddheat_core::wording::{TemperatureUnit, Writer, limit_text};

/// A measured number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EvidenceWords {
    /// Name of the metric.
    pub what: String,
    /// Part and picture; empty if it belongs to no single place.
    pub place: String,
    /// Value with its expanded uncertainty and unit.
    pub value: String,
    /// Steps and source of the limit it was held against; empty if there is none.
    pub limit: String,
    /// Grade that it alone supports, from `possible` on.
    pub grade: Option<String>,
    /// Grade that the upper end of its interval reaches, if that is higher.
    pub reaches: Option<String>,
}

/// A part, and its picture if there are several.
pub(super) fn place(role: Role, view: View, words: &Words) -> String {
    let side = if view == View::Single { String::new() } else { format!(", {}", (words.language.view)(view)) };
    format!("{}{side}", (words.language.role)(role))
}

/// The numbers of a finding in English, the deciding one first.
#[must_use]
pub fn evidence(finding: &Finding, unit: TemperatureUnit) -> Vec<EvidenceWords> {
    evidence_in(finding, Style { unit, words: &ENGLISH })
}

/// The numbers of a finding, the deciding one first.
pub(super) fn evidence_in(finding: &Finding, Style { unit, words }: Style) -> Vec<EvidenceWords> {
    let limits = finding.check.definition().limits;
    let row = |e: &Evidence| {
        let place = e.role.zip(e.view).map_or_else(String::new, |(role, view)| place(role, view, words));
        let mut buffer = [0u8; 64];
        let mut writer = Writer::new(&mut buffer);
        writer.value(e, unit);
        let written = writer.written();
        let value = String::from_utf8_lossy(&buffer[..written]).into_owned();
        let limit = e.limit.and_then(|i| limits.get(usize::from(i))).map_or_else(String::new, |limit| {
            let mut text = vec![0; limit_text(words.language, limit, unit, &mut [])];
            limit_text(words.language, limit, unit, &mut text);
            String::from_utf8_lossy(&text).into_owned()
        });
        let grade = (e.grade > Grade::None).then(|| (words.grade)(e.grade).to_string());
        let reaches = (e.reaches > e.grade).then(|| (words.grade)(e.reaches).to_string());
        EvidenceWords { what: (words.language.metric)(e.metric).to_string(), place, value, limit, grade, reaches }
    };
    finding.evidence.iter().map(row).collect()
}

/// The gates that failed, in English, each with what it does to the finding.
#[must_use]
pub fn gates(finding: &Finding) -> Vec<[String; 2]> {
    gates_in(finding, &ENGLISH)
}

/// The gates that failed, each with what it does to the finding.
pub(super) fn gates_in(finding: &Finding, words: &Words) -> Vec<[String; 2]> {
    let row = |failed: &FailedGate| {
        let what = failed.condition.map_or_else(String::new, |c| format!(" ({})", (words.language.condition)(c)));
        let effect = if failed.effect == Effect::Stops { words.stops } else { words.weakens };
        [format!("{}{what}", (words.language.gate)(failed.gate)), effect.to_owned()]
    };
    finding.gates.iter().map(row).collect()
}
