//! Limits, where they come from, and the rule that holds a value against one.
//!
//! *Rule.* A value is graded by the highest step that it exceeds by more than its expanded uncertainty (k = 2): a
//! guard band as wide as the uncertainty, after JCGM 106:2012, 8.3 (memory for the clause). If the value plus its
//! expanded uncertainty reaches a higher step, the decision says so instead of guessing.

use super::{Grade, Metric};

/// How far a value or fact can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Tag {
    /// Read in the named source.
    Read,
    /// The source is named, the value is from memory.
    Memory,
    /// Common practice in the trade, no single source.
    CommonPractice,
    /// Follows from stated inputs by ordinary heat transfer.
    Derived,
    /// Our own starting value, to be tuned on real data; not a published limit.
    Proposal,
}

impl Tag {
    /// The tag in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "memory",
            Self::CommonPractice => "common practice",
            Self::Derived => "derived",
            Self::Proposal => "proposal",
        }
    }
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Source {
    /// How far it can be trusted.
    pub tag: Tag,
    /// The source, in one line.
    pub cite: &'static str,
}

/// How the uncertainty enters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Rule {
    /// A step counts when it is exceeded by the expanded uncertainty, k = 2.
    GuardBand,
    /// A step counts when it is reached and the value is at least this many standard uncertainties above zero.
    Significant(u8),
    /// The first step counts as with [`Rule::Significant`], the higher ones as with [`Rule::GuardBand`]: whether there is
    /// anything comes first, how bad it is has to be sure.
    SignificantFirst(u8),
}

/// Steps against which a metric is graded. Steps are in the metric's unit; a step of `None` is never reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// What is graded.
    pub metric: Metric,
    /// Above this: possible deficiency.
    pub possible: Option<f64>,
    /// Above this: probable deficiency.
    pub probable: Option<f64>,
    /// Above this: major deficiency.
    pub major: Option<f64>,
    /// How the uncertainty enters.
    pub rule: Rule,
    /// Where the steps come from.
    pub source: Source,
}

/// What a value says about a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Decision {
    /// The grade that is certain at the chosen level.
    pub grade: Grade,
    /// The highest grade that cannot be excluded.
    pub reaches: Grade,
}

impl Decision {
    /// No step reached, none in doubt.
    pub const NOTHING: Self = Self { grade: Grade::None, reaches: Grade::None };
}

/// Holds `value` with standard uncertainty `uncertainty` against a limit. A value that is not a number decides nothing.
#[must_use]
#[allow(clippy::float_arithmetic, reason = "closing arithmetic")]
pub fn decide(value: f64, uncertainty: f64, limit: &Limit) -> Decision {
    let expanded = 2.0 * uncertainty;
    let steps = [(limit.possible, Grade::Possible), (limit.probable, Grade::Probable), (limit.major, Grade::Major)];
    let mut decision = Decision::NOTHING;
    for (step, grade) in steps {
        let Some(step) = step else { continue };
        let significant = |sigmas: u8| value >= step && value >= f64::from(sigmas) * uncertainty;
        let certain = match (limit.rule, grade) {
            (Rule::Significant(sigmas), _) | (Rule::SignificantFirst(sigmas), Grade::Possible) => significant(sigmas),
            (Rule::GuardBand | Rule::SignificantFirst(_), _) => value - expanded > step,
        };
        if certain {
            decision.grade = grade;
        }
        if value + expanded > step {
            decision.reaches = grade;
        }
    }
    decision
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMIT: Limit = Limit {
        metric: Metric::LikeDifference,
        possible: Some(1.0),
        probable: Some(4.0),
        major: None,
        rule: Rule::GuardBand,
        source: Source { tag: Tag::Proposal, cite: "test" },
    };

    #[test]
    fn a_value_inside_the_guard_band_is_not_decided() {
        assert_eq!(decide(5.0, 0.4, &LIMIT), Decision { grade: Grade::Probable, reaches: Grade::Probable });
        assert_eq!(decide(4.5, 0.4, &LIMIT), Decision { grade: Grade::Possible, reaches: Grade::Probable });
        assert_eq!(decide(0.5, 0.4, &LIMIT), Decision { grade: Grade::None, reaches: Grade::Possible });
        assert_eq!(decide(-3.0, 0.4, &LIMIT), Decision::NOTHING);
        assert_eq!(decide(f64::NAN, 0.4, &LIMIT), Decision::NOTHING);
        assert_eq!(decide(9.0, f64::NAN, &LIMIT).grade, Grade::None);
    }

    #[test]
    fn significance_needs_both_size_and_sigmas() {
        let limit = Limit { rule: Rule::Significant(5), ..LIMIT };
        assert_eq!(decide(1.1, 0.2, &limit).grade, Grade::Possible);
        assert_eq!(decide(1.1, 0.3, &limit).grade, Grade::None);
        assert_eq!(decide(0.9, 0.01, &limit).grade, Grade::None);
        let first = Limit { rule: Rule::SignificantFirst(3), ..LIMIT };
        assert_eq!(decide(6.0, 1.9, &first), Decision { grade: Grade::Possible, reaches: Grade::Probable });
        assert_eq!(decide(6.0, 2.1, &first).grade, Grade::None);
        assert_eq!(decide(8.0, 1.9, &first).grade, Grade::Probable);
    }
}
