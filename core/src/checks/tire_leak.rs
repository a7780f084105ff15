//! Tire air leak: a cold spot where the air leaves.
//!
//! *Set-up.* The tire has stood for hours in the air of the bay, shaded, dry, without draft; pictures come before soap.
//! *Physics.* Air leaving through a short hole arrives a few kelvin below its own temperature; on rubber a loss of
//! 100 kPa a day cools a 3 mm spot by 2.4 K at best, one of 7 kPa a day by 0.17 K, which is noise (derived). So a
//! cold spot is a reason to look, and its absence excludes nothing. *Judgement.* A spot at least 0.5 K and five
//! standard uncertainties deep, 2 to 15 mm wide, that stays for 20 s is a possible leak; from 1 K on, and gone after
//! the pressure was let out, a probable one. A tail on one side adds to the evidence only. *Source.* Vehicle notes 2.1 and 7.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use, Watch};
use super::needs;
use super::observed::Observed;
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Decision, Effect, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source, Symptom, Tag,
};
use crate::measure::{Reading, Relation, Statistic};
use crate::regions::Sign;
use crate::units::root_sum_square;

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.2-1.4, 2.1" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

/// Least depth of a spot, K. Derived, vehicle notes 2.1.
const LEAST_DEPTH_K: f64 = 0.5;

const fn depth_limit(metric: Metric) -> Limit {
    Limit {
        metric,
        possible: Some(LEAST_DEPTH_K),
        probable: Some(1.0),
        major: None,
        rule: Rule::Significant(5),
        source: Source { tag: Tag::Derived, cite: "vehicle notes 2.1 and 7: 0.5 K and 5 sigma over 20 s; 1 K" },
    }
}

pub(super) static DEFINITION: Definition = Definition {
    kind: Kind::TireLeak,
    views: &[View::Single],
    further_views: &[],
    parts: &[
        Part { role: Role::Tread, usage: Use::Searched(Sign::Cold) },
        Part { role: Role::Sidewall, usage: Use::Searched(Sign::Cold) },
        Part { role: Role::Bead, usage: Use::Searched(Sign::Cold) },
        Part { role: Role::Valve, usage: Use::Searched(Sign::Cold) },
        Part { role: Role::Suspect, usage: Use::Optional(Statistic::Mean) },
        Part { role: Role::Surround, usage: Use::Optional(Statistic::Mean) },
    ],
    needs: &[
        need(Condition::SoakTime, Must::BeAtLeast(7_200_000), Gate::SoakTooShort, Effect::Stops),
        need(
            Condition::SinceInflation,
            Must::BeAtLeastUnless(600_000, Condition::WarmAir),
            Gate::JustInflated,
            Effect::Stops,
        ),
        // Below about one atmosphere of gauge pressure the jet is no longer choked (derived: 0.9 bar for air).
        need(Condition::Pressure, Must::BeAtLeast(90_000), Gate::PressureTooLow, Effect::Stops),
        needs::SHADED,
        needs::DRY,
        needs::WIND_STOPS,
        need(Condition::BareMetal, Must::BeNo, Gate::BareMetal, Effect::Stops),
        needs::INSTRUMENT_WARM,
        needs::if_known(Condition::Distance),
        needs::if_known(Condition::GoneAfterRelease),
        needs::if_known(Condition::TireVolume),
        needs::if_known(Condition::FilledPressure),
        needs::if_known(Condition::AirTemperature),
    ],
    limits: &[depth_limit(Metric::SpotDepth), depth_limit(Metric::SpotHeight)],
    watch: Some(Watch {
        subject: Role::Suspect,
        against: Role::Surround,
        sign: Sign::Cold,
        // Half of the least depth: a spot at the limit must not seem to come and go with the noise (proposal).
        least_kelvin: LEAST_DEPTH_K / 2.0,
    }),
    tests: &[
        NextTest::ReleasePressure,
        NextTest::GaugeDrop,
        NextTest::SoapSolution,
        NextTest::Immersion,
        NextTest::DismountTire,
    ],
    cautions: &[Caution::LocalRules, Caution::Inflation, Caution::DamagedTire, Caution::Lifting],
};

/// How long air from a compressor may be warm, s (vehicle notes 2.1: wait 10 to 15 min). Common practice.
const WARM_FOR_S: f64 = 900.0;
/// Least time a spot must stay, s. Proposal, vehicle notes 2.1.
const LEAST_TIME_S: f64 = 20.0;
/// Share of the frames in which a lasting spot must show. Proposal.
const LEAST_SHARE: f64 = 0.9;
/// Width of a leak's cold spot, mm. Proposal, vehicle notes 2.1.
const WIDTH_MM: (f64, f64) = (2.0, 15.0);
/// Largest pixel on the part with which a spot can be judged, mm: three of them (vehicle notes 1.3) fill half the width
/// of the widest spot. Derived.
const LARGEST_PIXEL_MM: f64 = WIDTH_MM.1 / 2.0 / 3.0;
/// Fewest pixels across a spot for its depth to be measured and not only seen (vehicle notes 1.3, common practice).
const LEAST_WIDTH_PIXELS: f64 = 3.0;
/// Standard uncertainty of a width from whole pixels: each edge is off by up to half of one, evenly. Derived.
const WIDTH_PIXELS_U: f64 = 0.41;
/// By what share of itself a width changes with the level at which it is taken, for each share of the depth by which that
/// level is off. Derived at half depth from (2/π)·asin(a/r): π/2.
const WIDTH_PER_LEVEL: f64 = core::f64::consts::FRAC_PI_2;

/// How far below the rubber's temperature a jet arrives at most, K: 6 of a choked expansion and up to 1 of throttling, at
/// 0.25 K/bar (vehicle notes 2.1, the latter from memory). Derived.
const JET_K: f64 = 7.0;
/// Least conductivity of tire rubber, W/(m·K) (vehicle notes 4).
const RUBBER_W_PER_M_K: f64 = 0.15;
/// Heat capacity and gas constant of air, J/(kg·K) (memory: ISO 2533).
const AIR_J_PER_KG_K: f64 = 1_005.0;
const GAS_J_PER_KG_K: f64 = 287.05;
/// Width at half depth of what a cooled disc makes of a half space, over the disc's radius. Derived from (2/π)·asin(a/r),
/// which is a half at r = √2·a, and a little less deep by the loss to the air.
const HALF_DEPTH_WIDTH: f64 = 2.7;
/// Loss in kPa·L a day for each kelvin of the air and each millimeter of a disc's width at half depth that a spot half as
/// deep as the jet is cold stands for: 4k over the width's radii, c_p and R; W to kW of a day, m to mm (derived).
const LOSS_KPA_L_PER_DAY_K_MM: f64 = 4.0 * RUBBER_W_PER_M_K / HALF_DEPTH_WIDTH / AIR_J_PER_KG_K * GAS_J_PER_KG_K * 86.4;
/// Widest blur of the optics at half height in pixels: 2.355 times a deviation of 1.2 (vehicle notes 4).
const BLUR_PIXELS: f64 = 2.826;
/// By how much two readings of one gauge differ, kPa: its permitted error up to 400 kPa (memory: EN 12645).
const GAUGE_KPA: f64 = 8.0;
/// By what share the pressure of a closed tire drifts with the 3 K that it may be off its soaked temperature. Derived.
const DRIFT_SHARE: f64 = 0.01;
/// Standard atmosphere, kPa (memory: ISO 2533).
const ATMOSPHERE_KPA: f64 = 101.325;
/// Standard deviations by which one side of the surroundings has to stand out. Proposal.
const TAIL_DEVIATIONS: i32 = 5;
/// Air that was not stated, K: −30 °C, since a loss goes with it.
const COLDEST_K: f64 = 243.15;

const BESIDE: Relation = Relation { same_view: true, same_surface: true, adjacent: true };

pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    let _ = finding.notes.push(Note::LeakNotExcluded);
    if observed.millimeters_per_pixel().is_some_and(|mm| mm > LARGEST_PIXEL_MM) {
        observed.fail(Gate::TooSmall, Effect::Stops, finding);
    }
    if observed.located().is_some_and(|(_, pixels)| pixels < LEAST_WIDTH_PIXELS) {
        observed.fail(Gate::TooSmall, Effect::Weakens, finding);
    }
    // Also where nothing was found: only warm spots were searched for then.
    let warm = observed.air_is_warm();
    if warm && observed.stated(Condition::SinceInflation).is_none_or(|seconds| seconds >= WARM_FOR_S) {
        observed.fail(Gate::WarmAirUnclear, Effect::Stops, finding);
    }
    let spot = observed.reading(Role::Suspect, View::Single, finding);
    let surround = observed.reading(Role::Surround, View::Single, finding);
    let (Some(spot), Some(surround)) = (spot, surround) else {
        let stopped_already = finding.gates.iter().any(|failed| failed.gate == Gate::NoTemperature);
        if observed.located().is_some() {
            observed.fail(Gate::TooShort, Effect::Stops, finding);
        } else if observed.found_at_border() {
            observed.fail(Gate::AtBorder, Effect::Stops, finding);
        } else if !observed.searched_in_vain() && !stopped_already {
            observed.fail(Gate::NotSearched, Effect::Stops, finding);
        }
        let _ = finding.tests.extend_from_slice(&[NextTest::GaugeDrop, NextTest::SoapSolution, NextTest::Immersion]);
        return;
    };
    let (difference, uncertainty) = surround.minus(&spot, BESIDE, observed.inputs());
    let depth = if warm { -difference } else { difference };
    let place = Some((Role::Suspect, View::Single));
    let watched = observed.watched();
    let lasted = f64::from(watched.beyond_ms()) / 1000.0;
    let share = f64::from(watched.beyond) / f64::from(watched.frames().max(1));
    let lasting = lasted >= LEAST_TIME_S && share >= LEAST_SHARE;
    if f64::from(watched.span_ms()) / 1000.0 < LEAST_TIME_S {
        observed.fail(Gate::TooShort, Effect::Stops, finding);
    }
    let metric = if warm { Metric::SpotHeight } else { Metric::SpotDepth };
    let decision = grade_depth(observed, metric, (depth, uncertainty), lasting, finding);
    finding.state(Metric::Persistence, place, lasted, 0.0);
    let width = observed.located().zip(observed.millimeters_per_pixel());
    let width = width.map(|((_, pixels), mm)| {
        // Off by the pixels, and by the level at which it was taken.
        let level_u = WIDTH_PER_LEVEL * pixels * uncertainty / depth.max(uncertainty);
        (pixels * mm, root_sum_square(WIDTH_PIXELS_U, level_u) * mm)
    });
    if let Some((width, width_u)) = width {
        finding.state(Metric::SpotSize, place, width, width_u);
    }
    let mut plausible = true;
    if decision.grade > Grade::None {
        // Warm air leaves no known excess behind to conclude a loss from.
        plausible = state_loss(observed, (depth, uncertainty), width.filter(|_| !warm), finding);
        state_tail(observed, &surround, finding);
    }
    // What is not five standard uncertainties deep is not graded, whatever its depth.
    finding.state(Metric::SmallestDetectable, None, (5.0 * uncertainty).max(LEAST_DEPTH_K), 0.0);
    observed.state_temperature(Role::Suspect, View::Single, &spot, finding);
    observed.state_temperature(Role::Surround, View::Single, &surround, finding);
    // Much wider or narrower than a leak can be, deeper than a jet is cold, or more than the gauge allows: something else
    // comes first.
    let wide = |(mm, u): (f64, f64)| mm + 2.0 * u >= WIDTH_MM.0 && mm - 2.0 * u <= WIDTH_MM.1;
    let leak_like = width.is_none_or(wide) && plausible && (warm || depth <= JET_K);
    conclude(observed, decision, (lasting, leak_like), finding);
}

/// A spot that does not stay is not graded; one whose cause is not confirmed is graded `possible` at most.
fn grade_depth(
    observed: &Observed<'_>,
    metric: Metric,
    depth: (f64, f64),
    lasting: bool,
    finding: &mut Finding,
) -> Decision {
    let place = Some((Role::Suspect, View::Single));
    let Some((index, limit)) = observed.limit(metric) else { return Decision::NOTHING };
    let confirmed = observed.yes(Condition::GoneAfterRelease);
    let limit = match (lasting, confirmed) {
        (true, Some(true)) => *limit,
        (true, None) => Limit { probable: None, ..*limit },
        // It stayed when the pressure went, or it did not stay at all: not a leak that heat can show.
        (_, _) => Limit { possible: None, probable: None, ..*limit },
    };
    finding.grade_by(metric, place, depth, (index, &limit))
}

/// States from which pressure loss on a spot can be this deep and wide, if the volume is stated, and up to which one the
/// gauge readings since filling allow it, if they are. False if they contradict each other.
///
/// A jet of heat capacity rate G that arrives D below the rubber's temperature cools a disc of radius a on a half space by
/// s = D·G/(G + 4ka), so G = 4ka·s/(D − s) and the loss is G/c_p·R·T/V (derived, vehicle notes 2.1 and 4). The least comes
/// from the largest D, the least conductivity and the narrowest disc; optics make a spot shallower than it is. Its heat
/// gives no upper bound: a jet that hardly arrives colder than its spot may lose any amount.
#[inline(never)]
fn state_loss(observed: &Observed<'_>, depth: (f64, f64), width: Option<(f64, f64)>, finding: &mut Finding) -> bool {
    let place = Some((Role::Suspect, View::Single));
    let mut least = 0.0;
    let (volume, pixel) = (observed.stated(Condition::TireVolume), observed.millimeters_per_pixel());
    if let (Some((width, width_u)), Some(liters), Some(mm)) = (width, volume, pixel) {
        let air_k = observed.stated(Condition::AirTemperature).unwrap_or(COLDEST_K);
        let (narrow, blur_mm) = (width - 2.0 * width_u, BLUR_PIXELS * mm);
        let shallow = depth.0 - 2.0 * depth.1;
        if narrow > blur_mm && shallow > 0.0 && shallow < JET_K && liters > 0.0 {
            let disc_mm = libm::sqrt((narrow - blur_mm) * (narrow + blur_mm));
            least = LOSS_KPA_L_PER_DAY_K_MM * air_k * disc_mm * shallow / ((JET_K - shallow) * liters);
            finding.state(Metric::LossAtLeast, place, least, 0.0);
        }
    }
    let gauge = (observed.stated(Condition::FilledPressure), observed.stated(Condition::Pressure));
    let (Some(filled), Some(now), Some(seconds)) = (gauge.0, gauge.1, observed.stated(Condition::SinceInflation))
    else {
        return true;
    };
    let lost = (filled - now).max(0.0) + GAUGE_KPA + DRIFT_SHARE * (filled + ATMOSPHERE_KPA);
    let most = lost * 86_400.0 / seconds.max(1.0);
    finding.state(Metric::LossAtMost, place, most, 0.0);
    least <= most
}

/// States what one side of the surroundings has of the spot, if one side stands out.
#[inline(never)]
fn state_tail(observed: &Observed<'_>, surround: &Reading, finding: &mut Finding) {
    let Some(side) = observed.one_sided() else { return };
    if side.excess_q8 >= TAIL_DEVIATIONS.saturating_mul(side.scatter_q8) {
        let kelvin = |counts_q8: i32| f64::from(counts_q8) / 256.0 * libm::fabs(surround.sensitivities.counts);
        // Grooves and ribs, rubber and lacquer: one side need not have the emissivity of another.
        let uneven = surround.sensitivities.emissivity * surround.emissivity_u;
        let place = Some((Role::Surround, View::Single));
        finding.state(Metric::Tail, place, kelvin(side.excess_q8), root_sum_square(kelvin(side.scatter_q8), uneven));
    }
}

fn conclude(observed: &Observed<'_>, decision: Decision, (lasting, leak_like): (bool, bool), finding: &mut Finding) {
    let deep = finding.evidence.first().is_some_and(|e| e.value.to_num::<f64>() >= LEAST_DEPTH_K);
    if decision.grade == Grade::None {
        let stayed = observed.yes(Condition::GoneAfterRelease) == Some(false);
        finding.symptom = match (deep, lasting) {
            (true, true) if stayed => Symptom::SpotWithoutPressure,
            (true, false) => Symptom::FleetingSpot,
            // Too shallow, or not deep enough against its uncertainty.
            (_, _) => Symptom::NothingSeen,
        };
        let _ = finding.tests.extend_from_slice(&[NextTest::GaugeDrop, NextTest::SoapSolution, NextTest::Immersion]);
        return;
    }
    let warm = observed.air_is_warm();
    finding.symptom = if warm { Symptom::WarmSpot } else { Symptom::ColdSpot };
    finding.suspect = Some((Role::Suspect, View::Single));
    if !leak_like {
        finding.cap(Grade::Possible);
    }
    let leak = match observed.located().map(|(area, _)| area) {
        Some(Role::Bead) => Cause::LeakBead,
        Some(Role::Valve) => Cause::LeakValve,
        _ => Cause::LeakTread,
    };
    let other = if warm { Cause::WarmthOrReflection } else { Cause::WaterOrReflection };
    let causes = if leak_like { [leak, other] } else { [other, leak] };
    let _ = finding.causes.extend_from_slice(&causes);
    if observed.yes(Condition::GoneAfterRelease) != Some(true) {
        let _ = finding.notes.push(if warm { Note::WarmSpotUnconfirmed } else { Note::SpotUnconfirmed });
    }
    let tests = if observed.yes(Condition::GoneAfterRelease) == Some(true) {
        DEFINITION.tests.get(1..)
    } else {
        Some(DEFINITION.tests)
    };
    let _ = finding.tests.extend_from_slice(tests.unwrap_or(&[]));
}
