//! What a check is made of.

use super::observed::Observed;
use super::vocabulary::{Condition, Role, View};
use super::{Conditions, Kind};
use crate::finding::{Caution, Effect, FailedGate, Finding, Gate, Limit, Metric, NextTest, Source};
use crate::measure::Statistic;
use crate::regions::Sign;

/// A check, as data.
#[derive(Debug)]
pub struct Definition {
    /// Which check.
    pub kind: Kind,
    /// The pictures it needs, in order.
    pub views: &'static [View],
    /// Pictures that it takes beside them; in one that was fed, the required shapes are required too.
    pub further_views: &'static [View],
    /// The shapes it takes; each may be placed once in every view.
    pub parts: &'static [Part],
    /// The conditions it asks for.
    pub needs: &'static [Need],
    /// The limits it grades by.
    pub limits: &'static [Limit],
    /// A contrast to follow from frame to frame.
    pub watch: Option<Watch>,
    /// What to test after it, in order; a judgement picks from these.
    pub tests: &'static [NextTest],
    /// What can hurt while doing it.
    pub cautions: &'static [Caution],
}

/// Judges what was observed; called with every gate of `needs` and `parts` already tried. Apart from the data, so that
/// an image that only reads a definition does not link the judging.
pub(super) type Judge = fn(&Observed<'_>, &mut Finding);

/// A shape that a check takes.
#[derive(Clone, Copy, Debug)]
pub struct Part {
    /// Its role.
    pub role: Role,
    /// What it is for.
    pub usage: Use,
}

/// What a shape is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// Measured; without it the check is not assessable.
    Required(Statistic),
    /// Measured if placed.
    Optional(Statistic),
    /// Searched for regions of this sign by [`super::Check::locate`]; one such shape is enough.
    Searched(Sign),
}

impl Use {
    /// The statistic of a measured shape.
    #[must_use]
    pub const fn statistic(self) -> Statistic {
        match self {
            Self::Required(statistic) | Self::Optional(statistic) => statistic,
            Self::Searched(_) => Statistic::Mean,
        }
    }
}

impl Part {
    /// Whether the check can judge without it.
    #[must_use]
    pub const fn is_optional(&self) -> bool {
        matches!(self.usage, Use::Optional(_))
    }
}

/// A condition that a check asks for.
#[derive(Clone, Copy, Debug)]
pub struct Need {
    /// Which condition.
    pub condition: Condition,
    /// What it must be.
    pub must: Must,
    /// The gate that fails otherwise.
    pub gate: Gate,
    /// What the failed gate, or a condition that was not stated, does.
    pub effect: Effect,
    /// Where the demand comes from.
    pub source: Source,
}

/// What a condition must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Must {
    /// Stated, whatever it is.
    BeStated,
    /// Yes.
    BeYes,
    /// No.
    BeNo,
    /// At least this, in thousandths of the unit.
    BeAtLeast(i32),
    /// At least this, in thousandths of the unit, unless this other one is yes.
    BeAtLeastUnless(i32, Condition),
    /// At most this, in thousandths of the unit.
    BeAtMost(i32),
    /// Yes, or else this other one is; not both and not neither.
    BeYesOrElse(Condition),
    /// Anything, also not stated: it is used if it is known.
    MayBeStated,
}

impl Need {
    /// The gate that fails under these conditions, or `None` if all is well.
    #[must_use]
    pub fn failed(&self, conditions: &Conditions) -> Option<FailedGate> {
        let yes = |condition| conditions.yes(condition) == Some(true);
        let stated = conditions.get(self.condition);
        let gate = match (self.must, stated) {
            (Must::MayBeStated, _) => return None,
            (Must::BeYesOrElse(other), _) => (yes(self.condition) == yes(other)).then_some(self.gate),
            (Must::BeAtLeastUnless(_, other), _) if yes(other) => None,
            (_, None) => Some(Gate::ConditionMissing),
            (Must::BeStated, Some(_)) => None,
            (Must::BeYes, Some(value)) => (value != 1).then_some(self.gate),
            (Must::BeNo, Some(value)) => (value != 0).then_some(self.gate),
            (Must::BeAtLeast(least) | Must::BeAtLeastUnless(least, _), Some(value)) => {
                (value < least).then_some(self.gate)
            }
            (Must::BeAtMost(most), Some(value)) => (value > most).then_some(self.gate),
        };
        let (effect, condition) = (self.effect, Some(self.condition));
        gate.map(|gate| FailedGate { gate, effect, condition, role: None, view: None })
    }
}

/// A contrast between two shapes of one view, followed over the frames.
#[derive(Clone, Copy, Debug)]
pub struct Watch {
    /// The shape watched.
    pub subject: Role,
    /// The shape it is compared with.
    pub against: Role,
    /// Whether the subject is expected to be hotter or colder.
    pub sign: Sign,
    /// Contrast in kelvin from which a frame counts.
    pub least_kelvin: f64,
}

impl Definition {
    /// Whether the check takes this picture.
    #[must_use]
    pub fn takes(&self, view: View) -> bool {
        self.views.contains(&view) || self.further_views.contains(&view)
    }

    /// The part with this role.
    #[must_use]
    pub fn part(&self, role: Role) -> Option<&'static Part> {
        self.parts.iter().find(|part| part.role == role)
    }

    /// The limit for this metric and its index.
    #[must_use]
    pub fn limit(&self, metric: Metric) -> Option<(u8, &'static Limit)> {
        let found = self.limits.iter().enumerate().find(|(_, limit)| limit.metric == metric);
        found.map(|(index, limit)| (index as u8, limit))
    }
}
