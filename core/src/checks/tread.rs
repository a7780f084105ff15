//! Tire treads of an axle: middle against edges, edge against edge, side against side, one part of the turn against
//! another.
//!
//! *Set-up.* Pressures set cold; 15 to 20 minutes of steady straight road; pictures within 90 s of the stop, then both
//! wheels turned by a third and once more, which leaves a third unseen. *Physics.* The tread is warmed at the belt below
//! and cooled at its skin. After the stop the skin goes on changing for a minute or two, by up to 0.6 of its rise, mostly
//! upward (derived: a slab of 8 mm, k 0.15–0.25, h 20–60 W/(m²·K)); so bands of one picture are compared first, and what is
//! compared between pictures carries that change as uncertainty. A belt that shifts or separates is *local in angle*, often
//! at a shoulder; pressure and alignment are the same all round. *Judgement.* Block tops only: grooves are warmer and are
//! left out as the warmest two fifths of a band. *Source.* Vehicle notes 2.2, 3, 4, 7; racing guidance for the pattern
//! (R15), the rest are proposals.

use super::Kind;
use super::definition::{Definition, Must, Need, Part, Use};
use super::needs;
use super::observed::Observed;
use super::sides::try_lateness;
use super::vocabulary::{Condition, Role, View};
use crate::finding::{
    Cause, Caution, Effect, Finding, Gate, Grade, Limit, Metric, NextTest, Note, Rule, Source, Symptom, Tag,
};
use crate::measure::{Reading, Relation, Statistic, WeightedSum};
use crate::units::root_sum_square;

const PRACTICE: Source = Source { tag: Tag::CommonPractice, cite: "vehicle notes 1.1, 1.4, 2.2" };

const fn need(condition: Condition, must: Must, gate: Gate, effect: Effect) -> Need {
    Need { condition, must, gate, effect, source: PRACTICE }
}

const fn limit(metric: Metric, [possible, probable, major]: [Option<f64>; 3], source: Source) -> Limit {
    Limit { metric, possible, probable, major, rule: Rule::GuardBand, source }
}

const PATTERN: Source =
    Source { tag: Tag::Proposal, cite: "vehicle notes 2.2 and 7; sign by R15: middle hot is too much pressure" };
const SOFT: Source = Source {
    tag: Tag::Proposal,
    cite: "steps of vehicle notes 7, held against the cooler edge, so that one hot edge is no soft tire",
};

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
        needs::AIR,
        need(Condition::DriveTime, Must::BeAtLeast(900_000), Gate::DriveTooShort, Effect::Stops),
        need(Condition::SinceStop, Must::BeAtMost(90_000), Gate::TooLate, Effect::Stops),
        needs::SHADED,
        needs::DRY,
        needs::WIND_WEAKENS,
        needs::INSTRUMENT_WARM,
    ],
    limits: &[
        limit(Metric::CenterOverEdges, [Some(3.0), Some(6.0), Some(12.0)], PATTERN),
        limit(Metric::EdgesOverCenter, [Some(3.0), Some(6.0), Some(12.0)], SOFT),
        limit(
            Metric::TiltDifference,
            [Some(6.0), Some(10.0), None],
            Source { tag: Tag::Proposal, cite: "vehicle notes 2.2: inner minus outer, sides of an axle compared" },
        ),
        Limit {
            // Whether there is any excess is the first question: shutter steps between four pictures make up most of its
            // uncertainty.
            rule: Rule::SignificantFirst(3),
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
        NextTest::DismountTire,
        NextTest::SpinWheels,
    ],
    cautions: &[Caution::LocalRules, Caution::DamagedTire, Caution::Inflation, Caution::Chock, Caution::HotParts],
};

/// Latest picture after the stop, s: time to walk round and to turn the wheels. Proposal.
const LATEST_S: f64 = 240.0;
/// Least rise of the warmer tire, K: below, the drive did not work the tires. Proposal.
const LEAST_RISE_K: f64 = 5.0;
/// Change of a skin since the stop, as a share of its rise: up to `SKIN_SHARE`·(1 − e^(−t/`SKIN_S`)), either way, with
/// t in s; the half-width of a rectangular distribution. Derived: fitted from above to slabs of 8 mm with k 0.15–0.25 and
/// h 20–60 W/(m²·K) while driving, 10 standing (vehicle notes 3 and 4).
const SKIN_SHARE: f64 = 0.62;
const SKIN_S: f64 = 50.0;
/// How unlike the two tires of an axle may be in that, as a share. Proposal.
const UNLIKE: f64 = 0.2;
/// The middle first.
const BANDS: [Role; 3] = [Role::TreadCenter, Role::TreadInner, Role::TreadOuter];

/// Bands of one picture.
const ONE_PICTURE: Relation = Relation { same_view: true, same_surface: true, adjacent: false };
/// Tires of one axle, which are of one make.
const TWO_PICTURES: Relation = Relation { same_view: false, same_surface: true, adjacent: false };

/// One picture of a tread: what its bands came to, K, with standard uncertainties.
struct Tread {
    /// Middle minus mean of the edges.
    bulge: (f64, f64),
    /// Middle minus hotter edge.
    crest: (f64, f64),
    /// Cooler edge minus middle: one hot edge is a tilt, not a soft tire.
    hollow: (f64, f64),
    /// Inner minus outer edge.
    tilt: (f64, f64),
    whole: Whole,
}

/// Mean of the three bands, K, and its noise.
#[derive(Clone, Copy)]
struct Whole {
    kelvin: f64,
    noise_k: f64,
}

impl Tread {
    /// Apart from where the bands are read, so that the stack does not hold both at once.
    #[inline(never)]
    fn of(observed: &Observed<'_>, [inner, center, outer]: [&Reading; 3]) -> Self {
        let sum =
            |[a, b, c]: [f64; 3]| Reading::sum(&[(a, inner), (b, center), (c, outer)], ONE_PICTURE, observed.inputs());
        let (bulge, tilt) = (sum([-0.5, 1.0, -0.5]), sum([1.0, 0.0, -1.0]));
        let (crest, hollow) = if tilt.0 < 0.0 {
            (sum([0.0, 1.0, -1.0]), sum([1.0, -1.0, 0.0]))
        } else {
            (sum([-1.0, 1.0, 0.0]), sum([0.0, -1.0, 1.0]))
        };
        let noise_k = root_sum_square(inner.noise_k, root_sum_square(center.noise_k, outer.noise_k)) / 3.0;
        let whole = Whole { kelvin: (inner.kelvin + center.kelvin + outer.kelvin) / 3.0, noise_k };
        Self { bulge, crest, hollow, tilt, whole }
    }
}

impl Whole {
    /// As a reading: sensitivities are those of the middle band.
    #[inline(never)]
    fn reading(self, observed: &Observed<'_>, view: View, finding: &mut Finding) -> Option<Reading> {
        let mut reading = observed.reading(Role::TreadCenter, view, finding);
        if let Some(reading) = &mut reading {
            (reading.kelvin, reading.noise_k) = (self.kelvin, self.noise_k);
        }
        reading
    }
}

/// Comparisons have frames of their own, one after the other, so that their readings do not share the stack.
pub(super) fn judge(observed: &Observed<'_>, finding: &mut Finding) {
    let Some(air) = observed.stated(Condition::AirTemperature) else { return };
    try_lateness(observed, DEFINITION.views, LATEST_S, finding);
    let mut seen = Seen { grade: Grade::None, symptom: Symptom::NothingSeen, place: None, sector: Grade::None };
    let Some(wholes) = seen.in_one_picture(observed, finding) else { return };
    seen.sector(observed, air, finding);
    if seen.sides(observed, wholes, air, finding).is_some() {
        seen.conclude(finding);
    }
}

/// The most serious of what was seen.
struct Seen {
    grade: Grade,
    symptom: Symptom,
    place: Option<(Role, View)>,
    /// Grade of the sector, whatever else was seen.
    sector: Grade,
}

impl Seen {
    /// Grades one number and keeps what it means if nothing more serious was seen before.
    #[inline(never)]
    fn grade(
        &mut self,
        observed: &Observed<'_>,
        (metric, symptom): (Metric, Symptom),
        place: Option<(Role, View)>,
        value: (f64, f64),
        finding: &mut Finding,
    ) -> Grade {
        let decision = observed.grade(metric, place, value, finding);
        if decision.grade > self.grade {
            (self.grade, self.symptom, self.place) = (decision.grade, symptom, place);
            finding.lead_with_last();
        }
        decision.grade
    }

    /// Patterns of each tire, and of one against the other's pattern; gives the means of both.
    #[inline(never)]
    fn in_one_picture(&mut self, observed: &Observed<'_>, finding: &mut Finding) -> Option<[Whole; 2]> {
        let (left_tilt, left) = self.one_tire(observed, View::Left, finding)?;
        let (right_tilt, right) = self.one_tire(observed, View::Right, finding)?;
        self.tilt(observed, [left_tilt, right_tilt], finding);
        for (tilt, view) in [(left_tilt, View::Left), (right_tilt, View::Right)] {
            finding.state(Metric::Tilt, Some((Role::TreadInner, view)), tilt.0, tilt.1);
        }
        Some([left, right])
    }

    /// Grades the pressure pattern of one tire; gives its tilt and the mean of its bands.
    #[inline(never)]
    fn one_tire(&mut self, observed: &Observed<'_>, view: View, finding: &mut Finding) -> Option<((f64, f64), Whole)> {
        let inner = observed.reading(Role::TreadInner, view, finding);
        let center = observed.reading(Role::TreadCenter, view, finding);
        let outer = observed.reading(Role::TreadOuter, view, finding);
        let (Some(inner), Some(center), Some(outer)) = (&inner, &center, &outer) else { return None };
        Some(self.pressure(observed, view, [inner, center, outer], finding))
    }

    #[inline(never)]
    fn pressure(
        &mut self,
        observed: &Observed<'_>,
        view: View,
        bands: [&Reading; 3],
        finding: &mut Finding,
    ) -> ((f64, f64), Whole) {
        let tread = Tread::of(observed, bands);
        let place = Some((Role::TreadCenter, view));
        if tread.bulge.0 < 0.0 {
            let what = (Metric::EdgesOverCenter, Symptom::TreadEdgesHotter);
            self.grade(observed, what, place, tread.hollow, finding);
        } else if tread.crest.0 > 2.0 * tread.crest.1 {
            let what = (Metric::CenterOverEdges, Symptom::TreadCenterHotter);
            self.grade(observed, what, place, tread.bulge, finding);
        } else {
            // An edge may be as hot as the middle: the mean of the edges says nothing about pressure then.
            finding.state(Metric::CenterOverEdges, place, tread.bulge.0, tread.bulge.1);
        }
        (tread.tilt, tread.whole)
    }

    /// Both tires of an axle have some tilt by design, the inner edge the hotter one, so they are held against each other.
    /// Named is the one that is hotter outside, or else the one that tilts more.
    fn tilt(&mut self, observed: &Observed<'_>, [left, right]: [(f64, f64); 2], finding: &mut Finding) {
        let left_is_odd = if left.0 * right.0 < 0.0 { left.0 < 0.0 } else { libm::fabs(left.0) >= libm::fabs(right.0) };
        let (odd, view) = if left_is_odd { (left, View::Left) } else { (right, View::Right) };
        let role = if odd.0 >= 0.0 { Role::TreadInner } else { Role::TreadOuter };
        let what = (Metric::TiltDifference, Symptom::TreadTilted);
        let value = (libm::fabs(left.0 - right.0), root_sum_square(left.1, right.1));
        self.grade(observed, what, Some((role, view)), value, finding);
    }

    /// A hot sector, often at one shoulder only: the band whose excess is the largest.
    #[inline(never)]
    fn sector(&mut self, observed: &Observed<'_>, air: f64, finding: &mut Finding) {
        let stopped = observed.stated(Condition::SinceStop).unwrap_or(0.0);
        let usable = |&view: &View| observed.fed(view) && stopped + observed.seconds_to(view) <= LATEST_S;
        let mut largest: Option<Excess> = None;
        if DEFINITION.further_views.iter().all(usable) {
            for role in BANDS {
                let found = excess(observed, role, air, finding);
                // The middle stands for a belt that is loose across its width, unless a shoulder clearly has more.
                let least = largest.as_ref().map_or(f64::NEG_INFINITY, |held| held.value.0 + held.value.1);
                if found.as_ref().is_some_and(|found| found.value.0 > least) {
                    largest = found;
                }
            }
        }
        let Some(Excess { role, view, value }) = largest else {
            let _ = finding.notes.push(Note::NotTurned);
            return;
        };
        let _ = finding.notes.push(Note::PartOfTurnOnly);
        let what = (Metric::SectorExcess, Symptom::TreadSectorHotter);
        self.sector = self.grade(observed, what, view.map(|view| (role, view)), value, finding);
    }

    /// Whole tires against each other.
    #[inline(never)]
    fn sides(
        &mut self,
        observed: &Observed<'_>,
        [left, right]: [Whole; 2],
        air: f64,
        finding: &mut Finding,
    ) -> Option<()> {
        let left = left.reading(observed, View::Left, finding);
        let right = right.reading(observed, View::Right, finding);
        let (Some(left), Some(right)) = (&left, &right) else { return None };
        let (hot, cold, view) =
            if left.kelvin >= right.kelvin { (left, right, View::Left) } else { (right, left, View::Right) };
        if hot.kelvin - air < LEAST_RISE_K {
            observed.fail(Gate::TreadTooCool, Effect::Stops, finding);
        }
        let inputs = observed.inputs_between(View::Left, View::Right);
        let (difference, instrument) = hot.minus(cold, TWO_PICTURES, &inputs);
        let changed = libm::fabs(skin_share(observed, View::Left) - skin_share(observed, View::Right));
        let changed = changed * (hot.kelvin - air) / libm::sqrt(3.0);
        let what = (Metric::SideDifference, Symptom::SideHotter);
        self.grade(
            observed,
            what,
            Some((Role::Tread, view)),
            (difference, root_sum_square(instrument, changed)),
            finding,
        );
        for (whole, view) in [(left, View::Left), (right, View::Right)] {
            let rise_u = root_sum_square(whole.standard_uncertainty(observed.inputs()), observed.inputs().air_k);
            finding.state(Metric::Rise, Some((Role::Tread, view)), whole.kelvin - air, rise_u);
        }
        Some(())
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
        if self.sector > Grade::None && self.symptom != Symptom::TreadSectorHotter {
            let _ = finding.causes.push(Cause::BeltSeparation);
            let _ = finding.tests.push(NextTest::Runout);
        }
        // A belt that comes off takes the tire with it.
        if self.sector >= Grade::Probable || self.grade == Grade::Major {
            let _ = finding.cautions.push(Caution::DoNotDrive);
        }
    }
}

/// What one part of a band's turn has over another, K, with standard uncertainty, and the picture that it is in, if that is
/// clear.
struct Excess {
    role: Role,
    view: Option<View>,
    value: (f64, f64),
}

/// A hot sector is in one of four pictures. What a side changed by between its two pictures, less what its mate changed by,
/// is its excess; the side that changed more has it.
#[inline(never)]
fn excess(observed: &Observed<'_>, role: Role, air: f64, finding: &mut Finding) -> Option<Excess> {
    let mut sum = WeightedSum::new(TWO_PICTURES);
    let mut kelvin = [0.0; 4];
    for ((weight, view), kelvin) in ROUNDS.iter().zip(&mut kelvin) {
        let reading = observed.reading(role, *view, finding)?;
        sum.add(*weight, &reading, observed.inputs());
        *kelvin = reading.kelvin;
    }
    Some(locate(observed, role, sum.value_and_uncertainty(), (kelvin, air)))
}

/// The pictures of a double difference with their weights.
const ROUNDS: [(f64, View); 4] =
    [(1.0, View::Left), (-1.0, View::LeftTurned), (-1.0, View::Right), (1.0, View::RightTurned)];

#[inline(never)]
fn locate(
    observed: &Observed<'_>,
    role: Role,
    (value, instrument): (f64, f64),
    (kelvin, air): ([f64; 4], f64),
) -> Excess {
    let [left, left_turned, right, right_turned] = kelvin;
    let stepped = observed.step_u(&ROUNDS);
    // Both skins change alike, but not over the same time, and not quite alike.
    let on_left = skin_share(observed, View::LeftTurned) - skin_share(observed, View::Left);
    let on_right = skin_share(observed, View::RightTurned) - skin_share(observed, View::Right);
    let unlike = UNLIKE * root_sum_square(on_left, on_right);
    let rise = left.max(left_turned).max(right).max(right_turned) - air;
    let changed = rise.max(0.0) * root_sum_square(on_left - on_right, unlike) / libm::sqrt(3.0);
    let (left_by, right_by) = (left - left_turned, right - right_turned);
    let view = if libm::fabs(libm::fabs(left_by) - libm::fabs(right_by)) < 2.0 * changed {
        None
    } else if libm::fabs(left_by) > libm::fabs(right_by) {
        Some(if left_by > 0.0 { View::Left } else { View::LeftTurned })
    } else {
        Some(if right_by > 0.0 { View::Right } else { View::RightTurned })
    };
    Excess { role, view, value: (libm::fabs(value), root_sum_square(root_sum_square(instrument, stepped), changed)) }
}

/// Largest change of a skin since the stop when a view was taken, as a share of its rise.
fn skin_share(observed: &Observed<'_>, view: View) -> f64 {
    let seconds = observed.stated(Condition::SinceStop).unwrap_or(0.0) + observed.seconds_to(view);
    SKIN_SHARE * (1.0 - libm::exp(-seconds / SKIN_S))
}
