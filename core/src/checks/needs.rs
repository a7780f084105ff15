//! What several checks need alike, with the gate that fails otherwise.

use super::definition::{Must, Need};
use super::vocabulary::Condition;
use crate::finding::{Effect, Gate, Source, Tag};

const COMMON: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1-1.4" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: COMMON }
}

/// A rise needs the air it is over.
pub(super) const AIR: Need = need(Condition::AirTemperature, Must::BeStated, Gate::ConditionMissing, Effect::Stops);
/// Sun warms one side only.
pub(super) const SHADED: Need = need(Condition::Shaded, Must::BeYes, Gate::Sun, Effect::Stops);
/// What is wet is cold by evaporation.
pub(super) const DRY: Need = need(Condition::Dry, Must::BeYes, Gate::Wet, Effect::Stops);
/// Compared parts radiate alike.
pub(super) const SAME_FINISH: Need = need(Condition::SameFinish, Must::BeYes, Gate::FinishDiffers, Effect::Stops);
/// Wind makes every rise smaller: what is found is there, but is less than it would be.
pub(super) const WIND_WEAKENS: Need = need(Condition::StillAir, Must::BeYes, Gate::Wind, Effect::Weakens);
/// Where wind on one part only can make the finding.
pub(super) const WIND_STOPS: Need = need(Condition::StillAir, Must::BeYes, Gate::Wind, Effect::Stops);
/// Offsets creep while an instrument warms up.
pub(super) const INSTRUMENT_WARM: Need =
    need(Condition::InstrumentWarm, Must::BeYes, Gate::InstrumentCold, Effect::Stops);

/// Something that is used if it is known.
pub(super) const fn if_known(condition: Condition) -> Need {
    need(condition, Must::MayBeStated, Gate::ConditionMissing, Effect::Weakens)
}
