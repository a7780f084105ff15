//! What a check says: a grade, the evidence for it, the gates that failed, causes, next tests and cautions.
//!
//! Everything is a code or a fixed-point number; text is made by [`crate::wording`]. Symptom (what was seen), suspected
//! causes (ranked), confirming tests and cautions are kept apart, so that a report cannot pass a suspicion off as a
//! diagnosis.

mod decision;
mod vocabulary;

pub use decision::{Decision, Limit, Rule, Source, Tag, decide};
pub use vocabulary::{Cause, Caution, Gate, Grade, Metric, MetricUnit, NextTest, Note, Symptom};

use crate::checks::{Condition, Kind, Role, View};
use crate::units::i16f16;
use fixed::types::I16F16;
use heapless::Vec;

/// One measured number and what it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// What was measured.
    pub metric: Metric,
    /// Where, if at one place.
    pub role: Option<Role>,
    /// In which picture, if in one.
    pub view: Option<View>,
    /// Value in the unit of the metric.
    pub value: I16F16,
    /// Standard uncertainty in the same unit; multiply by the coverage factor 2 for the expanded one.
    pub uncertainty: I16F16,
    /// Index into the limits of the check, if the value was held against one.
    pub limit: Option<u8>,
    /// Grade that the value alone supports.
    pub grade: Grade,
    /// Grade that the upper end of its interval reaches.
    pub reaches: Grade,
}

/// How much a failed gate takes away.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Effect {
    /// The finding stands, but is graded `possible` at most.
    Weakens,
    /// Nothing can be concluded: `not assessable`.
    Stops,
}

/// A gate that failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FailedGate {
    /// Which.
    pub gate: Gate,
    /// What it does to the finding.
    pub effect: Effect,
    /// The stated (or missing) condition behind it.
    pub condition: Option<Condition>,
    /// The shape behind it.
    pub role: Option<Role>,
    /// The picture behind it.
    pub view: Option<View>,
}

/// The outcome of a check. Lists are bounded; what does not fit is left out from the end, and no check fills them.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Finding {
    /// Which check.
    pub check: Kind,
    /// The grade.
    pub grade: Grade,
    /// The grade that the intervals reach; above [`Finding::grade`] if the measurement cannot decide.
    pub reaches: Grade,
    /// What was seen.
    pub symptom: Symptom,
    /// Where the suspected fault is, if it has a place.
    pub suspect: Option<(Role, View)>,
    /// Numbers, the deciding one first.
    pub evidence: Vec<Evidence, 12>,
    /// Gates that failed, in the order they were tried.
    pub gates: Vec<FailedGate, 12>,
    /// Suspected causes, most likely first.
    pub causes: Vec<Cause, 6>,
    /// What to test next, in order.
    pub tests: Vec<NextTest, 6>,
    /// What can hurt.
    pub cautions: Vec<Caution, 8>,
    /// What has to be said along with it.
    pub notes: Vec<Note, 8>,
}

#[cfg(feature = "defmt")]
impl defmt::Format for Evidence {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(
            f,
            "{} {}/65536 ± {}/65536 {}",
            self.metric,
            self.value.to_bits(),
            self.uncertainty.to_bits(),
            self.grade
        );
    }
}

impl Finding {
    /// An empty finding: nothing seen, nothing measured.
    #[must_use]
    pub const fn new(check: Kind) -> Self {
        Self {
            check,
            grade: Grade::None,
            reaches: Grade::None,
            symptom: Symptom::NothingSeen,
            suspect: None,
            evidence: Vec::new(),
            gates: Vec::new(),
            causes: Vec::new(),
            tests: Vec::new(),
            cautions: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Adds a number that is not held against a limit. Not inlined: every check calls it many times.
    #[inline(never)]
    pub(crate) fn state(&mut self, metric: Metric, place: Option<(Role, View)>, value: f64, uncertainty: f64) {
        self.push_evidence(metric, place, (value, uncertainty), None, Decision::NOTHING);
    }

    /// Adds a number, grades it against a limit of the check, and raises the finding's grade accordingly.
    pub(crate) fn grade_by(
        &mut self,
        metric: Metric,
        place: Option<(Role, View)>,
        (value, uncertainty): (f64, f64),
        (index, limit): (u8, &Limit),
    ) -> Decision {
        let decision = decide(value, uncertainty, limit);
        self.push_evidence(metric, place, (value, uncertainty), Some(index), decision);
        self.grade = self.grade.max(decision.grade);
        self.reaches = self.reaches.max(decision.reaches);
        decision
    }

    #[inline(never)]
    fn push_evidence(
        &mut self,
        metric: Metric,
        place: Option<(Role, View)>,
        (value, uncertainty): (f64, f64),
        limit: Option<u8>,
        decision: Decision,
    ) {
        let (value, uncertainty) = (i16f16(value), i16f16(uncertainty));
        let (role, view) = place.unzip();
        let Decision { grade, reaches } = decision;
        // Bounded list; see the type.
        let _ = self.evidence.push(Evidence { metric, role, view, value, uncertainty, limit, grade, reaches });
    }

    /// Puts the number with this metric, of this view if one is given, first: it decided.
    pub(crate) fn lead_with(&mut self, metric: Metric, view: Option<View>) {
        let decided = |e: &Evidence| e.metric == metric && (view.is_none() || e.view == view);
        self.lead(self.evidence.iter().position(decided));
    }

    /// Puts the number stated last first: it decided.
    pub(crate) fn lead_with_last(&mut self) {
        self.lead(self.evidence.len().checked_sub(1));
    }

    fn lead(&mut self, position: Option<usize>) {
        // The first one is where it belongs already: equal indices are an error.
        if let Some(position) = position
            && let Ok([first, deciding]) = self.evidence.get_disjoint_mut([0, position])
        {
            core::mem::swap(first, deciding);
        }
    }

    /// Notes a failed gate, not inlined as above; the same gate for the same reason is noted once.
    #[inline(never)]
    pub(crate) fn fail(&mut self, failed: FailedGate) {
        if !self.gates.contains(&failed) {
            let _ = self.gates.push(failed);
        }
    }

    /// Grades no higher than this, whatever the numbers say.
    pub(crate) fn cap(&mut self, highest: Grade) {
        (self.grade, self.reaches) = (self.grade.min(highest), self.reaches.min(highest));
    }

    /// Lets the failed gates act on the grade: last step of every judgement.
    pub(crate) fn apply_gates(&mut self) {
        match self.gates.iter().map(|failed| failed.effect).max() {
            Some(Effect::Stops) => {
                (self.grade, self.reaches) = (Grade::NotAssessable, Grade::NotAssessable);
                self.symptom = Symptom::NotAssessable;
                self.suspect = None;
                self.causes.clear();
                self.tests.clear();
                let _ = self.tests.push(NextTest::RepeatProperly);
            }
            Some(Effect::Weakens) => {
                self.cap(Grade::Possible);
                let _ = self.tests.push(NextTest::RepeatProperly);
            }
            None => {}
        }
    }
}
