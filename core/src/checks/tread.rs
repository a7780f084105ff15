//! Tire treads of an axle: middle against edges, edge against edge, side against side, one part of the turn against
//! another.
//!
//! *Set-up.* Pressures set cold; 15 to 20 minutes of steady straight road; pictures within 90 s of the stop, then both
//! wheels turned by a third and once more. *Physics.* The tread is warmed at the belt below and cooled at its skin. The
//! skin changes by up to a tenth in half a minute after the stop, and not always downward (derived: a slab of 8 mm); so
//! bands of one picture are compared first, and what is compared between pictures carries that change as uncertainty.
//! A belt that shifts or separates is *local in angle*; pressure and alignment are the same all round. *Judgement.* Block
//! tops only: grooves are warmer and are left out as the warmest two fifths of a band. *Source.* Vehicle notes 2.2, 3, 4, 7; racing
//! guidance for the pattern (R15), the rest are proposals.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use};
use super::observed::Observed;
use super::sides::try_lateness;
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Effect, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source, Symptom, Tag,
};
use crate::measure::{Reading, Relation, Statistic};

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1, 1.4, 2.2" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

const fn limit(metric: Metric, [possible, probable, major]: [Option<f64>; 3], source: Source) -> Limit {
    Limit { metric, possible, probable, major, rule: Rule::GuardBand, source }
}

const PATTERN: Source =
    Source { tag: Tag::Proposal, cite: "vehicle notes 2.2 and 7; sign by R15: middle hot is too much pressure" };

pub(super) static DEFINITION: Definition = Definition {
    kind: Kind::Tread,
    views: &[View::Left, View::Right],
    further_views: &[View::LeftTurned, View::RightTurned],
    parts: &[
        Part { role: Role::TreadInner, usage: Use::Required(Statistic::CoolerMedian) },
        Part { role: Role::TreadCenter, usage: Use::Required(Statistic::CoolerMedian) },
        Part { role: Role::TreadOuter, usage: Use::Required(Statistic::CoolerMedian) },
    ],
    needs: &[
        need(Condition::AirTemperature, Must::BeStated, Gate::ConditionMissing, Effect::Stops),
        need(Condition::DriveTime, Must::BeAtLeast(900_000), Gate::DriveTooShort, Effect::Stops),
        need(Condition::SinceStop, Must::BeAtMost(90_000), Gate::TooLate, Effect::Stops),
        need(Condition::Shaded, Must::BeYes, Gate::Sun, Effect::Stops),
        need(Condition::Dry, Must::BeYes, Gate::Wet, Effect::Stops),
        need(Condition::StillAir, Must::BeYes, Gate::Wind, Effect::Weakens),
        need(Condition::InstrumentWarm, Must::BeYes, Gate::InstrumentCold, Effect::Stops),
    ],
    limits: &[
        limit(Metric::CenterOverEdges, [Some(3.0), Some(6.0), Some(12.0)], PATTERN),
        limit(Metric::EdgesOverCenter, [Some(3.0), Some(6.0), Some(12.0)], PATTERN),
        limit(
            Metric::TiltDifference,
            [Some(6.0), Some(10.0), None],
            Source { tag: Tag::Proposal, cite: "vehicle notes 2.2: inner minus outer, sides of an axle compared" },
        ),
        Limit {
            // Whether there is any excess is the question: shutter steps between four pictures make up most of it.
            rule: Rule::Significant(3),
            ..limit(
                Metric::SectorExcess,
                [Some(3.0), Some(6.0), Some(10.0)],
                Source { tag: Tag::Proposal, cite: "vehicle notes 2.2 and 7: one sector against the rest; 3 sigma" },
            )
        },
        limit(
            Metric::SideDifference,
            [Some(5.0), Some(10.0), None],
            Source { tag: Tag::Proposal, cite: "vehicle notes 2.2: rise of the whole tire against its axle mate" },
        ),
    ],
    watch: None,
    tests: &[
        NextTest::GaugePressure,
        NextTest::TreadDepth,
        NextTest::TurnAndRepeat,
        NextTest::Alignment,
        NextTest::Runout,
        NextTest::SpinWheels,
    ],
    cautions: &[Caution::LocalRules, Caution::DamagedTire, Caution::Inflation, Caution::Chock, Caution::HotParts],
};

/// Latest picture after the stop, s: twice the latest first one, for walking round and turning the wheels. Proposal.
const LATEST_S: f64 = 240.0;
/// Least rise of the warmer tire, K: below, the drive did not work the tires. Proposal.
const LEAST_RISE_K: f64 = 5.0;
/// Change of a tread's skin between two pictures, relative to its rise: a tenth in 30 s either way, and no more than a
/// quarter however long it takes, as half-widths of rectangular distributions. Derived from a slab of 8 mm.
const CHANGE_PER_S: f64 = 0.1 / 30.0;
const CHANGE_MOST: f64 = 0.25;
/// What of that is left when the change of the axle mate over the same time is taken off. Proposal.
const CHANGE_LEFT: f64 = 0.3;

/// Bands of one picture.
const ONE_PICTURE: Relation = Relation { same_view: true, same_surface: true, adjacent: false };
/// Tires of one axle, which are of one make.
const TWO_PICTURES: Relation = Relation { same_view: false, same_surface: true, adjacent: false };

/// One picture of a tread: what its bands came to.
struct Tread {
    view: View,
    /// Middle minus mean of the edges, K, and standard uncertainty.
    bulge: (f64, f64),
    /// Cooler edge minus middle: one hot edge is a tilt, not a soft tire.
    hollow: (f64, f64),
    /// Inner minus outer edge.
    tilt: (f64, f64),
}

impl Tread {
    #[inline(never)]
    fn read(observed: &Observed<'_>, view: View, finding: &mut Finding) -> Option<Self> {
        let inner = observed.reading(Role::TreadInner, view, finding);
        let center = observed.reading(Role::TreadCenter, view, finding);
        let outer = observed.reading(Role::TreadOuter, view, finding);
        let (Some(inner), Some(center), Some(outer)) = (&inner, &center, &outer) else { return None };
        let sum =
            |[a, b, c]: [f64; 3]| Reading::sum(&[(a, inner), (b, center), (c, outer)], ONE_PICTURE, observed.inputs());
        let (bulge, tilt) = (sum([-0.5, 1.0, -0.5]), sum([1.0, 0.0, -1.0]));
        let hollow = if tilt.0 < 0.0 { sum([1.0, -1.0, 0.0]) } else { sum([0.0, -1.0, 1.0]) };
        Some(Self { view, bulge, hollow, tilt })
    }
}

/// Temperature of a band and its noise, K.
#[inline(never)]
fn value(observed: &Observed<'_>, role: Role, view: View, finding: &mut Finding) -> Option<(f64, f64)> {
    observed.reading(role, view, finding).map(|reading| (reading.kelvin, reading.noise_k))
}

/// The three bands of a picture as one reading.
#[inline(never)]
fn whole(observed: &Observed<'_>, view: View, finding: &mut Finding) -> Option<Reading> {
    let (mut kelvin, mut noise_k) = (0.0, 0.0);
    for role in [Role::TreadInner, Role::TreadOuter] {
        let (edge, noise) = value(observed, role, view, finding)?;
        (kelvin, noise_k) = (kelvin + edge, libm::hypot(noise_k, noise));
    }
    let mut whole = observed.reading(Role::TreadCenter, view, finding);
    if let Some(whole) = &mut whole {
        whole.kelvin = (kelvin + whole.kelvin) / 3.0;
        whole.noise_k = libm::hypot(noise_k, whole.noise_k) / 3.0;
    }
    whole
}

/// Both tires stay where they were read, and each comparison has a frame of its own: see the budget of the stack.
pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    let Some(air) = observed.stated(Condition::AirTemperature) else { return };
    try_lateness(observed, DEFINITION.views, LATEST_S, finding);
    let mut seen = Seen { grade: Grade::None, symptom: Symptom::NothingSeen, place: None };
    if seen.in_one_picture(observed, finding).is_some() && seen.between_pictures(observed, air, finding).is_some() {
        seen.conclude(finding);
    }
}

/// The most serious of what was seen.
struct Seen {
    grade: Grade,
    symptom: Symptom,
    place: Option<(Role, View)>,
}

impl Seen {
    /// Grades one number and keeps what it means if nothing more serious was seen before.
    #[inline(never)]
    fn grade(
        &mut self,
        observed: &Observed<'_>,
        (metric, symptom): (Metric, Symptom),
        place: (Role, View),
        value: (f64, f64),
        finding: &mut Finding,
    ) {
        let decision = observed.grade(metric, Some(place), value, finding);
        if decision.grade > self.grade {
            *self = Self { grade: decision.grade, symptom, place: Some(place) };
            finding.lead_with_last();
        }
    }

    fn bulge(&mut self, observed: &Observed<'_>, tread: &Tread, finding: &mut Finding) {
        let (what, value) = if tread.bulge.0 >= 0.0 {
            ((Metric::CenterOverEdges, Symptom::TreadCenterHotter), tread.bulge)
        } else {
            ((Metric::EdgesOverCenter, Symptom::TreadEdgesHotter), tread.hollow)
        };
        let place = (Role::TreadCenter, tread.view);
        self.grade(observed, what, place, value, finding);
    }

    /// Both tires of an axle have some tilt by design, so they are held against each other; the one that tilts more is
    /// named.
    fn tilt(&mut self, observed: &Observed<'_>, [left, right]: [&Tread; 2], finding: &mut Finding) {
        let difference = libm::fabs(left.tilt.0 - right.tilt.0);
        let uncertainty = libm::hypot(left.tilt.1, right.tilt.1);
        let more = if libm::fabs(left.tilt.0) >= libm::fabs(right.tilt.0) { left } else { right };
        let role = if more.tilt.0 >= 0.0 { Role::TreadInner } else { Role::TreadOuter };
        let what = (Metric::TiltDifference, Symptom::TreadTilted);
        self.grade(observed, what, (role, more.view), (difference, uncertainty), finding);
    }

    /// Patterns of each tire, and of one against the other's pattern.
    #[inline(never)]
    fn in_one_picture(&mut self, observed: &Observed<'_>, finding: &mut Finding) -> Option<()> {
        let left = Tread::read(observed, View::Left, finding)?;
        let right = Tread::read(observed, View::Right, finding)?;
        for tread in [&left, &right] {
            self.bulge(observed, tread, finding);
        }
        self.tilt(observed, [&left, &right], finding);
        for tread in [&left, &right] {
            finding.state(Metric::Tilt, Some((Role::TreadInner, tread.view)), tread.tilt.0, tread.tilt.1);
        }
        Some(())
    }

    /// Whole tires against each other and, if they were turned, one part of the circumference against another.
    #[inline(never)]
    fn between_pictures(&mut self, observed: &Observed<'_>, air: f64, finding: &mut Finding) -> Option<()> {
        let left = whole(observed, View::Left, finding);
        let right = whole(observed, View::Right, finding);
        let (Some(left), Some(right)) = (&left, &right) else { return None };
        if left.kelvin.max(right.kelvin) - air < LEAST_RISE_K {
            observed.fail(Gate::TreadTooCool, Effect::Stops, finding);
        }
        self.sector(observed, [left, right], air, finding);
        self.sides(observed, [left, right], air, finding);
        for (whole, view) in [(left, View::Left), (right, View::Right)] {
            let rise_u = libm::hypot(whole.standard_uncertainty(observed.inputs()), observed.inputs().air_k);
            finding.state(Metric::Rise, Some((Role::Tread, view)), whole.kelvin - air, rise_u);
        }
        Some(())
    }

    /// A hot sector is in one of four pictures. What a side changed by between its two pictures, less what its mate
    /// changed by, is its excess; the warmer of the two tires that it could be in has it.
    #[inline(never)]
    fn sector(&mut self, observed: &Observed<'_>, [left, right]: [&Reading; 2], air: f64, finding: &mut Finding) {
        let left_turned = whole(observed, View::LeftTurned, finding);
        let right_turned = whole(observed, View::RightTurned, finding);
        let (Some(left_turned), Some(right_turned)) = (&left_turned, &right_turned) else {
            let _ = finding.notes.push(Note::NotTurned);
            return;
        };
        try_lateness(observed, DEFINITION.further_views, LATEST_S, finding);
        let (value, view) = excess(observed, [left, right, left_turned, right_turned], air);
        let what = (Metric::SectorExcess, Symptom::TreadSectorHotter);
        self.grade(observed, what, (Role::TreadCenter, view), value, finding);
    }

    #[inline(never)]
    fn sides(&mut self, observed: &Observed<'_>, [left, right]: [&Reading; 2], air: f64, finding: &mut Finding) {
        let (hot, cold, view) =
            if left.kelvin >= right.kelvin { (left, right, View::Left) } else { (right, left, View::Right) };
        let inputs = observed.inputs_between(View::Left, View::Right);
        let (difference, instrument) = hot.minus(cold, TWO_PICTURES, &inputs);
        let changed = change_u(observed, [View::Left, View::Right], hot.kelvin - air);
        let what = (Metric::SideDifference, Symptom::SideHotter);
        let value = (difference, libm::hypot(instrument, changed));
        self.grade(observed, what, (Role::Tread, view), value, finding);
    }

    fn conclude(&self, finding: &mut Finding) {
        let _ = finding.notes.push(Note::LittleTreadHeat);
        if self.grade == Grade::None {
            let _ = finding.tests.extend_from_slice(&[NextTest::GaugePressure, NextTest::TreadDepth]);
            return;
        }
        finding.symptom = self.symptom;
        finding.suspect = self.place;
        let (causes, tests): (&[Cause], &[NextTest]) = match self.symptom {
            Symptom::TreadCenterHotter => {
                (&[Cause::Overinflation, Cause::UnevenWork], &[NextTest::GaugePressure, NextTest::TreadDepth])
            }
            Symptom::TreadEdgesHotter => {
                (&[Cause::Underinflation, Cause::UnevenWork], &[NextTest::GaugePressure, NextTest::TreadDepth])
            }
            Symptom::TreadTilted => (
                &[Cause::Misalignment, Cause::UnevenWork],
                &[NextTest::TreadDepth, NextTest::Alignment, NextTest::GaugePressure],
            ),
            Symptom::TreadSectorHotter => {
                (&[Cause::BeltSeparation], &[NextTest::Runout, NextTest::DismountTire, NextTest::TurnAndRepeat])
            }
            _ => (
                &[Cause::Underinflation, Cause::BrakeDrags, Cause::UnevenWork, Cause::WheelBearing],
                &[NextTest::GaugePressure, NextTest::SpinWheels, NextTest::TreadDepth],
            ),
        };
        let _ = finding.causes.extend_from_slice(causes);
        let _ = finding.tests.extend_from_slice(tests);
        // A belt that comes off takes the tire with it.
        let belt = self.symptom == Symptom::TreadSectorHotter && self.grade >= Grade::Probable;
        if belt || self.grade == Grade::Major {
            let _ = finding.cautions.push(Caution::DoNotDrive);
        }
    }
}

/// Excess of a sector in K with its standard uncertainty, and the picture that it is in. Readings in the order of the
/// pictures.
#[inline(never)]
fn excess(observed: &Observed<'_>, readings: [&Reading; 4], air: f64) -> ((f64, f64), View) {
    let [left, right, left_turned, right_turned] = readings;
    let terms = [(1.0, left), (-1.0, right), (-1.0, left_turned), (1.0, right_turned)];
    let (value, instrument) = Reading::sum(&terms, TWO_PICTURES, observed.inputs());
    let stepped =
        observed.step_u(&[(1.0, View::Left), (-1.0, View::Right), (-1.0, View::LeftTurned), (1.0, View::RightTurned)]);
    let rise = left.kelvin.max(left_turned.kelvin) - air;
    let changed = CHANGE_LEFT * change_u(observed, [View::Left, View::LeftTurned], rise);
    let on_left = left.kelvin + left_turned.kelvin >= right.kelvin + right_turned.kelvin;
    let view = match (value >= 0.0, on_left) {
        (true, true) => View::Left,
        (true, false) => View::RightTurned,
        (false, true) => View::LeftTurned,
        (false, false) => View::Right,
    };
    ((libm::fabs(value), libm::hypot(libm::hypot(instrument, stepped), changed)), view)
}

/// Standard uncertainty in K of a difference between two pictures of a rise, from what skins change by in the time between
/// them.
fn change_u(observed: &Observed<'_>, [a, b]: [View; 2], rise: f64) -> f64 {
    let seconds = libm::fabs(observed.seconds_to(a) - observed.seconds_to(b));
    let half_width = (CHANGE_PER_S * seconds).min(CHANGE_MOST) * rise.max(0.0);
    half_width / 1.732_050_807_568_877_2
}
