//! Outcomes counted.

use super::stats::Share;
use super::trial::{Compared, Located, Outcome};
use oddheat_core::finding::Grade;
use oddheat_scenes::case::Case;
use std::collections::BTreeMap;

/// All outcomes of one check, in the order of its cases.
pub(super) struct Tally {
    pub(super) key: &'static str,
    pub(super) faults: &'static [&'static str],
    outcomes: Vec<Outcome>,
}

/// Errors of one quantity over the recordings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Errors {
    pub(super) of: u32,
    pub(super) mean: f64,
    /// Standard deviation about the mean.
    pub(super) spread: f64,
    /// Largest error, with its sign.
    pub(super) worst: f64,
    /// Mean stated standard uncertainty.
    pub(super) uncertainty: f64,
    /// Truth within two standard uncertainties.
    pub(super) covered: Share,
}

impl Tally {
    pub(super) const fn new(key: &'static str, faults: &'static [&'static str], outcomes: Vec<Outcome>) -> Self {
        Self { key, faults, outcomes }
    }

    pub(super) fn outcomes(&self) -> &[Outcome] {
        &self.outcomes
    }

    /// Cases without the sweeps, in their order.
    pub(super) fn cases(&self) -> Vec<Case> {
        let mut cases: Vec<Case> = self.outcomes.iter().map(|outcome| outcome.case).collect();
        cases.retain(|case| !matches!(case, Case::Sweep { .. }));
        // The further sound ones come last, but are of the first case.
        let mut seen = Vec::new();
        cases.retain(|case| {
            !seen.contains(case) && {
                seen.push(*case);
                true
            }
        });
        cases
    }

    /// How many outcomes of the chosen cases are so.
    pub(super) fn share(&self, of: impl Fn(Case) -> bool, so: impl Fn(&Outcome) -> bool) -> Share {
        let mut share = Share::default();
        self.outcomes.iter().filter(|outcome| of(outcome.case)).for_each(|outcome| share.add(so(outcome)));
        share
    }

    /// Detection against severity of a fault, from its graded cases and its sweep, and where it is the first fault from
    /// the unresolvable ones.
    pub(super) fn points(&self, fault: &str, so: impl Fn(&Outcome) -> bool) -> Vec<(f64, bool)> {
        let first = self.faults.first().is_some_and(|first| *first == fault);
        let has = |case: Case| match case {
            Case::Fault { fault: of, .. } | Case::Sweep { fault: of } => of == fault,
            Case::Unresolvable => first,
            _ => false,
        };
        self.outcomes.iter().filter(|o| has(o.case)).map(|o| (o.severity.0, so(o))).collect()
    }

    pub(super) fn unit(&self, fault: &str) -> &'static str {
        let of = |case: Case| matches!(case, Case::Fault { fault: f, .. } | Case::Sweep { fault: f } if f == fault);
        self.outcomes.iter().find(|o| of(o.case)).map_or("", |o| o.severity.1)
    }

    /// Errors by what was compared, over the chosen cases. One value a recording, the first: those of one recording share
    /// the instrument's error, so that only recordings are independent.
    pub(super) fn errors(
        &self,
        of: impl Fn(Case) -> bool,
        values: impl Fn(&Outcome) -> &[Compared],
    ) -> BTreeMap<String, Errors> {
        let mut by_name: BTreeMap<String, Vec<Compared>> = BTreeMap::new();
        for outcome in self.outcomes.iter().filter(|outcome| of(outcome.case)) {
            let mut seen: Vec<&str> = Vec::new();
            for value in values(outcome) {
                if !seen.contains(&value.what.as_str()) {
                    seen.push(&value.what);
                    by_name.entry(value.what.clone()).or_default().push(value.clone());
                }
            }
        }
        by_name.into_iter().map(|(name, values)| (name, Errors::of(&values))).collect()
    }

    /// Distances of suspects to faults in px, rising, and how many suspects were in another picture.
    pub(super) fn locations(&self) -> (Vec<f64>, Share) {
        let (mut distances, mut other) = (Vec::new(), Share::default());
        for located in self.outcomes.iter().filter(|o| o.seen() && !may_not_judge(o.case)).filter_map(|o| o.located) {
            other.add(located == Located::OtherView);
            if let Located::Near(px) = located {
                distances.push(px);
            }
        }
        distances.sort_by(f64::total_cmp);
        (distances, other)
    }

    /// Every share for which more is better, by name: what a later sample is held against.
    pub(super) fn merits(&self) -> BTreeMap<String, Share> {
        let mut merits = BTreeMap::new();
        let is_fault = |case: Case| matches!(case, Case::Fault { .. });
        let answered = |o: &Outcome| o.grade.is_some_and(|grade| grade != Grade::NotAssessable);
        for case in self.cases() {
            let mut put = |what: &str, share: Share| merits.insert(format!("{case}: {what}"), share);
            put("right", self.share(|c| c == case, |o| !o.is_wrong()));
            if is_fault(case) {
                put("probable or worse", self.share(|c| c == case, Outcome::called));
            }
            if case.is_sound() || is_fault(case) {
                put("answered", self.share(|c| c == case, answered));
            }
        }
        merits.insert("all faults: right".to_owned(), self.share(is_fault, |o| !o.is_wrong()));
        merits.insert("all faults: probable or worse".to_owned(), self.share(is_fault, Outcome::called));
        merits.insert("all sound: right".to_owned(), self.share(Case::is_sound, |o| !o.is_wrong()));
        merits.insert("all sound: answered".to_owned(), self.share(Case::is_sound, answered));
        for (what, errors) in self.errors(is_plain, |o| &o.temperatures) {
            merits.insert(format!("temperature of {what}: truth within 2 u"), errors.covered);
        }
        for (what, errors) in self.errors(is_plain, |o| &o.evidence) {
            merits.insert(format!("evidence {what}: truth within 2 u"), errors.covered);
        }
        merits
    }
}

/// Nothing in the picture that is not the part itself, and nothing that forbids a measurement.
pub(super) const fn is_plain(case: Case) -> bool {
    !matches!(case, Case::Decoy(_) | Case::Gated(_))
}

/// Gated and unresolvable.
pub(super) const fn may_not_judge(case: Case) -> bool {
    matches!(case, Case::Unresolvable | Case::Gated(_))
}

impl Errors {
    fn of(values: &[Compared]) -> Self {
        let n = values.len() as f64;
        let mean = values.iter().map(|v| v.error).sum::<f64>() / n;
        let variance = values.iter().map(|v| (v.error - mean) * (v.error - mean)).sum::<f64>() / (n - 1.0).max(1.0);
        let mut covered = Share::default();
        values.iter().for_each(|v| covered.add(v.error.abs() <= 2.0 * v.uncertainty));
        let uncertainty = values.iter().map(|v| v.uncertainty).sum::<f64>() / n;
        let worst = values.iter().map(|v| v.error).fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
        Self { of: values.len() as u32, mean, spread: libm::sqrt(variance), worst, uncertainty, covered }
    }
}
