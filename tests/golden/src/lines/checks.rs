//! Every check over made-up pictures, with good conditions and with each condition broken: findings and their text.

use super::frames::{HEIGHT, Pictures, WIDTH};
use super::print::{Hash, Lines};
use super::random::XorShift;
use oddheat_core::Result;
use oddheat_core::checks::{
    Check, Condition, Conditions, FrameInfo, Kind, Must, Need, Setup, Slot, State, Unit, Use, View,
};
use oddheat_core::finding::{Effect, Evidence, FailedGate, Finding};
use oddheat_core::measure::InputUncertainty;
use oddheat_core::radiometry::{Curve, Emissivity, LinearScale, Scale, Scene, Thresholds, Transmittance};
use oddheat_core::regions::{self, Connectivity, Run, Scanner, Settings};
use oddheat_core::units::celsius;
use oddheat_core::wording::{ENGLISH, TemperatureUnit, brief_text, finding_text};

/// Cases with good conditions; after them comes one for each need of the check, in which that one is not met.
const GOOD_CASES: usize = 24;
/// Frames of each view.
const FRAMES: u32 = 6;
/// Most shapes of a check; one that places more is refused, and that is a line.
const SHAPES: usize = 8;
/// Bytes of the longest text; a longer one is hashed up to here, and its full length is in the line.
const TEXT: usize = 4_096;
const UNITS: [(&str, TemperatureUnit); 2] =
    [("celsius", TemperatureUnit::Celsius), ("fahrenheit", TemperatureUnit::Fahrenheit)];

pub(super) fn run(lines: &mut Lines<'_>) {
    for &kind in Kind::ALL {
        for case in 0..GOOD_CASES + kind.definition().needs.len() {
            one(kind, case, lines);
        }
        for (word, unit) in UNITS {
            for with_limits in [false, true] {
                let (length, hash) = text(|buffer| brief_text(&ENGLISH, kind, unit, with_limits, buffer));
                lines.begin("brief").word(kind.key()).word(word).word(if with_limits { "limits" } else { "short" });
                lines.number(length).hash(&hash).end();
            }
        }
    }
}

fn one(kind: Kind, case: usize, lines: &mut Lines<'_>) {
    match judge(kind, case) {
        Ok(finding) => write(&finding, case, lines),
        Err(error) => lines.refused(error),
    }
}

/// A scale, its counts at about 20 °C, and counts to a kelvin there, about: what is drawn is in counts.
fn instrument(number: usize) -> Result<(Scale, (i32, i32))> {
    Ok(match number % 3 {
        0 => (Scale::Linear(LinearScale::new(100.0, -273.15)?), (29_315, 100)),
        1 => (Scale::Curve(Curve::sakuma_hattori(9.37, 172.2, 410_000.0)?.with_offset(1_850.0)?), (4_838, 48)),
        _ => {
            let curve = Curve::sakuma_hattori(10.06, 0.0, 395_000.0)?.with_offset(1_204.0)?;
            (Scale::Curve(curve.with_shape(1.3)?), (4_260, 51))
        }
    })
}

/// Feeds one case and judges it. A frame of its own, so that text does not lie on the stack above all this.
#[inline(never)]
fn judge(kind: Kind, case: usize) -> Result<Finding> {
    let definition = kind.definition();
    let mut random = XorShift::new(1_000 * u32::from(kind.code()) + case as u32);
    let (scale, (ground, per_kelvin)) = instrument(case)?;
    // Kelvin between ground and the warmest shape: from alike to as hot as a brake.
    let span = [2, 30, 120, 250][case / 3 % 4];
    let pictures = Pictures::new(definition, (ground, per_kelvin), span * per_kelvin, &mut random);
    let scene = if random.one_in(2) {
        Scene::new(Emissivity::new(0.94)?).reflected(celsius(18.5)).through(Transmittance::new(0.97)?, celsius(22.0))
    } else {
        Scene::BLACKBODY
    };
    let setup = Setup {
        width: WIDTH,
        height: HEIGHT,
        scale,
        scene,
        emissivity_u: 0.02,
        // Half of the cases with an instrument fit to decide what a usual one cannot.
        inputs: if case.is_multiple_of(2) { InputUncertainty::HANDHELD } else { FINE },
        dead_at_or_below: 0,
        saturated_at: u16::MAX,
        ifov_mrad: random.one_in(2).then_some(1.7),
    };
    let broken = definition.needs.get(case.wrapping_sub(GOOD_CASES));
    let conditions = conditions(definition.needs, broken, &mut random)?;
    // Not as one tuple, which the compiler would build elsewhere on the stack first.
    let mut state = State::IDLE;
    let mut slots = [Slot::EMPTY; SHAPES];
    let mut check = Check::begin(&mut state, &mut slots, kind, &setup, &conditions)?;
    for &view in definition.views {
        pictures.places(view).try_for_each(|place| check.place(place))?;
    }
    let (mut time_ms, apart_ms) = (random.between(0, 9_000) as u32, random.between(3_500, 7_000) as u32);
    for &view in definition.views {
        locate(&mut check, &pictures, view, per_kelvin, &mut random)?;
        for number in 0..FRAMES {
            let shutter = random.one_in(12);
            let housing_mk = random.one_in(2).then_some(303_150 + number as i32);
            check.start_frame(FrameInfo { view, time_ms, shutter, housing_mk })?;
            let mut row = [0; WIDTH as usize];
            for y in 0..HEIGHT {
                pictures.row(view, number, y, &mut row, &mut random);
                check.push_row(&row)?;
            }
            time_ms += apart_ms;
        }
        time_ms += random.between(0, 60_000) as u32;
    }
    check.judge()
}

/// A reference instrument (proposal).
const FINE: InputUncertainty = InputUncertainty {
    netd_k: 0.02,
    calibration_k: 0.1,
    slope_relative: 0.000_5,
    drift_k: 0.02,
    uniformity_k: 0.01,
    reflected_k: 0.2,
    transmittance: 0.001,
    medium_k: 0.2,
    air_k: 0.1,
};

/// Lets the check search its areas in a picture that is not fed; a check without such areas has nothing to search.
#[inline(never)]
fn locate(
    check: &mut Check<'_>,
    pictures: &Pictures,
    view: View,
    per_kelvin: i32,
    random: &mut XorShift,
) -> Result<()> {
    let areas = check.definition().parts.iter().filter(|part| matches!(part.usage, Use::Searched(_)));
    // One of the areas, and sometimes none.
    let chosen = random.between(0, 3) as usize;
    let Some(area) = areas.clone().nth(chosen) else { return Ok(()) };
    let mut runs = [Run::EMPTY; Scanner::runs(WIDTH)];
    let mut slots = [regions::Slot::EMPTY; 12];
    // The ground is the first pixel: no shape reaches the corner.
    let mut row = [0; WIDTH as usize];
    pictures.row(view, 0, 0, &mut row, random);
    let margin = (per_kelvin / 5) as u16;
    let thresholds = Thresholds::new(row[0].saturating_add(margin), row[0].saturating_sub(margin))?;
    let settings = Settings { width: WIDTH, thresholds, connectivity: Connectivity::Eight, min_area: 3 };
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings)?;
    for y in 0..HEIGHT {
        pictures.row(view, 0, y, &mut row, random);
        scanner.push(&row)?;
    }
    check.locate(area.role, view, scanner.finish().regions())?;
    Ok(())
}

/// Conditions that meet every need but the broken one, which is stated wrongly, or left out where nothing is wrong.
fn conditions(needs: &[Need], broken: Option<&Need>, random: &mut XorShift) -> Result<Conditions> {
    let mut conditions = Conditions::new();
    for need in needs {
        let spoil = broken.is_some_and(|broken| broken.condition == need.condition);
        let value = match need.must {
            Must::BeYes => i32::from(!spoil),
            Must::BeNo => i32::from(spoil),
            Must::BeAtLeast(least) | Must::BeAtLeastUnless(least, _) => {
                if spoil {
                    least - 1
                } else {
                    least + random.between(0, 90_000)
                }
            }
            Must::BeAtMost(most) => {
                if spoil {
                    most + 1
                } else {
                    random.between(0, most)
                }
            }
            Must::BeYesOrElse(other) => {
                let this = random.one_in(2);
                conditions.set(other, i32::from(!this || spoil))?;
                i32::from(this || spoil)
            }
            Must::BeStated if spoil => continue,
            Must::MayBeStated if spoil || random.one_in(3) => continue,
            Must::BeStated | Must::MayBeStated => any(need.condition, random),
        };
        conditions.set(need.condition, value)?;
    }
    Ok(conditions)
}

/// A usual value in thousandths of the unit.
fn any(condition: Condition, random: &mut XorShift) -> i32 {
    match condition.unit() {
        Unit::Temperature => random.between(291_150, 294_150),
        Unit::Amperes => random.between(20_000, 100_000),
        Unit::Meters => random.between(300, 2_500),
        Unit::YesNo => random.between(0, 1),
        _ => random.between(0, 1_000_000),
    }
}

/// All of a finding.
fn write(finding: &Finding, case: usize, lines: &mut Lines<'_>) {
    // Named one by one, so that a new field is a compiler error here.
    let Finding { check, grade, reaches, symptom, suspect, evidence, gates, causes, tests, cautions, notes } = finding;
    lines.begin("finding").word(check.key()).number(case as u32).word(grade.key()).word(reaches.key());
    lines.word(symptom.key()).maybe(suspect.map(|(role, _)| role.key())).maybe(suspect.map(|(_, view)| view.key()));
    lines.end();
    for &Evidence { metric, role, view, value, uncertainty, limit, grade, reaches } in evidence {
        lines.begin("- evidence").word(metric.key()).maybe(role.map(|role| role.key()));
        lines.maybe(view.map(|view| view.key())).number(value.to_bits()).number(uncertainty.to_bits());
        lines.number(limit.map_or(-1, i64::from)).word(grade.key()).word(reaches.key()).end();
    }
    for &FailedGate { gate, effect, condition, role, view } in gates {
        lines.begin("- gate").word(gate.key()).word(if effect == Effect::Stops { "stops" } else { "weakens" });
        lines.maybe(condition.map(|condition| condition.key())).maybe(role.map(|role| role.key()));
        lines.maybe(view.map(|view| view.key())).end();
    }
    lists(lines, "- causes", causes.iter().map(|cause| cause.key()));
    lists(lines, "- tests", tests.iter().map(|test| test.key()));
    lists(lines, "- cautions", cautions.iter().map(|caution| caution.key()));
    lists(lines, "- notes", notes.iter().map(|note| note.key()));
    for (word, unit) in UNITS {
        let (length, hash) = text(|buffer| finding_text(&ENGLISH, finding, unit, buffer));
        lines.begin("- text").word(word).number(length).hash(&hash).end();
    }
}

fn lists<'k>(lines: &mut Lines<'_>, name: &str, keys: impl Iterator<Item = &'k str>) {
    lines.begin(name);
    keys.for_each(|key| {
        lines.word(key);
    });
    lines.end();
}

/// Length and hash of a text.
#[inline(never)]
fn text(write: impl FnOnce(&mut [u8]) -> usize) -> (u32, Hash) {
    let mut buffer = [0; TEXT];
    let needed = write(&mut buffer);
    let mut hash = Hash::EMPTY;
    hash.bytes(&buffer[..needed.min(TEXT)]);
    (needed as u32, hash)
}
