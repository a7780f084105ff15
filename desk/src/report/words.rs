//! What a finding measured and which gates failed, in words for tables and lists.

use oddheat_core::checks::View;
use oddheat_core::finding::{Effect, Evidence, FailedGate, Finding, Grade};
use oddheat_core::wording::{ENGLISH, TemperatureUnit, Writer, limit_text};

/// A measured number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EvidenceWords {
    /// Name of the metric.
    pub what: &'static str,
    /// Part and picture; empty if it belongs to no single place.
    pub place: String,
    /// Value with its expanded uncertainty and unit.
    pub value: String,
    /// Steps and source of the limit it was held against; empty if there is none.
    pub limit: String,
    /// Grade that it alone supports, from `possible` on.
    pub grade: Option<&'static str>,
    /// Grade that the upper end of its interval reaches, if that is higher.
    pub reaches: Option<&'static str>,
}

/// The numbers of a finding, the deciding one first.
#[must_use]
pub fn evidence(finding: &Finding, unit: TemperatureUnit) -> Vec<EvidenceWords> {
    let limits = finding.check.definition().limits;
    let words = |e: &Evidence| {
        let place = e.role.zip(e.view).map_or_else(String::new, |(role, view)| {
            let side = if view == View::Single { String::new() } else { format!(", {}", (ENGLISH.view)(view)) };
            format!("{}{side}", (ENGLISH.role)(role))
        });
        let mut buffer = [0u8; 64];
        let mut writer = Writer::new(&mut buffer);
        writer.value(e, unit);
        let written = writer.written();
        let value = String::from_utf8_lossy(&buffer[..written]).into_owned();
        let limit = e.limit.and_then(|i| limits.get(usize::from(i))).map_or_else(String::new, |limit| {
            let mut text = vec![0; limit_text(&ENGLISH, limit, unit, &mut [])];
            limit_text(&ENGLISH, limit, unit, &mut text);
            String::from_utf8_lossy(&text).into_owned()
        });
        let grade = (e.grade > Grade::None).then(|| e.grade.key());
        let reaches = (e.reaches > e.grade).then(|| e.reaches.key());
        EvidenceWords { what: (ENGLISH.metric)(e.metric), place, value, limit, grade, reaches }
    };
    finding.evidence.iter().map(words).collect()
}

/// The gates that failed, each with what it does to the finding.
#[must_use]
pub fn gates(finding: &Finding) -> Vec<[String; 2]> {
    let words = |failed: &FailedGate| {
        let what = failed.condition.map_or_else(String::new, |c| format!(" ({})", (ENGLISH.condition)(c)));
        let effect = if failed.effect == Effect::Stops { "not assessable" } else { "possible at most" };
        [format!("{}{what}", (ENGLISH.gate)(failed.gate)), effect.to_owned()]
    };
    finding.gates.iter().map(words).collect()
}
