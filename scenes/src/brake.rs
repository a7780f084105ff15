//! Brake, side to side: the two wheels of an axle after a drive, the left one first; or all four, around the vehicle.
//!
//! Physics in [`heat`]. The rotor is seen through the openings of a spoked wheel, so the placed ring also covers spokes
//! and the caliper; `truth.quantities` has the iron alone.

use std::collections::BTreeMap;

use crate::draw::Draw;
use crate::material::{Emissivity, LACQUER, OXIDIZED_ROTOR, PAINT, SWEPT_ROTOR};
use crate::nuisance::{Nuisance, When, covered};
use crate::place::{Hand, Place, Role, View};
use crate::recording::{FaultPlace, Recording, Script, Stated};
use crate::render::{Camera, times};
use crate::sensor::Sensor;
use crate::site::Site;

pub mod heat;
mod picture;

use heat::{Drive, Rises, Wheel};
use picture::Picture;

/// Least mean rise of the axle in K for a comparison, and least ratio of rises that is not ordinary (vehicle.md
/// section 2.3, P).
const LEAST_AXLE_RISE_K: f64 = 40.0;
const LEAST_RATIO: f64 = 1.25;
/// Least difference in K after a drive without braking: sound sides agree within 11–17 K (R24 in section 2.3, weak).
const LEAST_DIFFERENCE_K: f64 = 17.0;
/// Time without braking after which a drive counts as one with unused brakes, in s (vehicle.md section 2.3, CP).
const UNUSED_S: f64 = 300.0;
/// Time without braking up to which the duty still counts as just made, in s (proposal).
const USED_S: f64 = 60.0;
/// Stops that an operator calls repeated (proposal); whether they warmed enough is for the check to say.
const LEAST_STOPS: u32 = 2;
/// Share of the front axle in braking (vehicle.md section 4).
const FRONT_SHARE: f64 = 0.65;
/// Residual torque of sound brakes in N m (vehicle.md section 2.3: up to 4, R22).
const SOUND_DRAG_NM: (f64, f64) = (0.5, 3.0);
/// Rise of a tire after ordinary driving in K (vehicle.md section 4: 10–45 K for hard use; the low end here).
const TIRE_RISE_K: (f64, f64) = (8.0, 15.0);

/// Side of the vehicle, as seen by its driver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// Both brakes work and release. After a fast drive without braking, tolerated drag alone can still make the rises
    /// differ by more than a quarter.
    None,
    /// One brake does not release.
    Dragging {
        /// Which one.
        side: Side,
        /// Torque that stays, in N m, 5–50.
        torque_nm: f64,
    },
    /// One brake does not apply, or too little.
    NotApplying {
        /// Which one.
        side: Side,
        /// Share of its work that is missing, 0–1.
        missing: f64,
    },
}

/// The rear axle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rear {
    /// Not pictured.
    Unseen,
    /// Pictured and sound.
    Sound,
    /// Pictured; the fault is there, and the front axle is sound.
    Faulty,
}

/// Finish of the two rotors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    /// Both oxidized, emissivity near 0.8.
    Alike,
    /// The left one oxidized, the right one freshly swept, emissivity near 0.25. The operator states the difference,
    /// but not the emissivity.
    Mismatch,
}

/// A scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Params {
    /// Title of the recording.
    pub title: String,
    /// Air temperature in °C, −10–40.
    pub air_c: f64,
    /// What is wrong.
    pub fault: Fault,
    /// Mass of the vehicle in kg, 1200–3500.
    pub vehicle_kg: f64,
    /// Mass of each rotor in kg, 4–10.
    pub rotor_kg: f64,
    /// Stops from 50 km/h, 0–10.
    pub stops: u32,
    /// Time between them in s, 30–120.
    pub stop_every_s: f64,
    /// Time driven after the last stop without braking in s, 0–900. From 300 the brakes count as unused.
    pub unused_s: f64,
    /// Speed of that part in km/h, 60–100.
    pub cruise_km_per_h: f64,
    /// Time from the stop to the first frame in s, 15–120; up to 1800 for pictures that come too late.
    pub since_stop_s: f64,
    /// Time from the first frame of the left view to the first of the right view in s, 25–45.
    pub walk_s: f64,
    /// Finish of the rotors.
    pub finish: Finish,
    /// Whether the rear axle is pictured too, and whether the fault is there.
    pub rear: Rear,
    /// Frames of each view, at least 2.
    pub frames: usize,
    /// Time between frames in s.
    pub interval_s: f64,
    /// Error of the operator's placement in pixels, 0–1.5.
    pub hand_px: f64,
    /// What lies over the scene.
    pub nuisance: Nuisance,
}

impl Default for Params {
    fn default() -> Self {
        Self {
            title: "Front axle, braking duty".to_owned(),
            air_c: 18.0,
            fault: Fault::None,
            vehicle_kg: 2_600.0,
            rotor_kg: 8.0,
            stops: 8,
            stop_every_s: 50.0,
            unused_s: 0.0,
            cruise_km_per_h: 80.0,
            since_stop_s: 30.0,
            walk_s: 33.0,
            finish: Finish::Alike,
            rear: Rear::Unseen,
            frames: 8,
            interval_s: 0.25,
            hand_px: 0.8,
            nuisance: Nuisance::default(),
        }
    }
}

/// Rise of rim and hub from driving alone, as a share of the tire's (proposal; makes 6–10 K, and a sound hub has
/// 10–30 K by vehicle.md section 2.4, CP).
const FOLLOWS_TIRE: f64 = 0.7;

/// A wheel of the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Corner {
    side: Side,
    view: View,
    rear: bool,
}

/// The corners in the order of the walk; of one axle, or around the vehicle.
fn corners(rear: Rear) -> Vec<Corner> {
    let corner = |side, view, rear| Corner { side, view, rear };
    let (left, right) = (corner(Side::Left, View::Left, false), corner(Side::Right, View::Right, false));
    match rear {
        Rear::Unseen => vec![left, right],
        Rear::Sound | Rear::Faulty => {
            vec![left, corner(Side::Left, View::RearLeft, true), corner(Side::Right, View::RearRight, true), right]
        }
    }
}

/// Mass of a rear rotor over that of a front one (proposal).
const REAR_ROTOR: f64 = 0.7;

/// One wheel with ordinary scatter, and its part of the fault.
fn wheel(params: &Params, Corner { side, rear, .. }: Corner, draw: &mut Draw) -> Wheel {
    let axle_share = if rear { 1.0 - FRONT_SHARE } else { FRONT_SHARE };
    let own = axle_share / 2.0;
    let faulty_axle = rear == (params.rear == Rear::Faulty);
    let missing_share = if params.rear == Rear::Faulty { 1.0 - FRONT_SHARE } else { FRONT_SHARE } / 2.0;
    // Two sound brakes do not share the work evenly (proposal: 4 % each).
    let mut work_share = own * (1.0 + draw.normal(0.04));
    let mut drag_nm = draw.uniform(SOUND_DRAG_NM.0, SOUND_DRAG_NM.1);
    match params.fault {
        Fault::Dragging { side: faulty, torque_nm } if faulty == side && faulty_axle => drag_nm = torque_nm,
        Fault::NotApplying { side: faulty, missing } => {
            // The driver presses until the vehicle stops as before: the other three take over in proportion.
            let left = 1.0 - missing_share * missing;
            work_share *= if faulty == side && faulty_axle { (1.0 - missing) / left } else { 1.0 / left };
        }
        _ => {}
    }
    Wheel {
        rotor_kg: params.rotor_kg * if rear { REAR_ROTOR } else { 1.0 },
        parked_w_per_k: 2.2 * (1.0 + draw.normal(0.04)),
        moving_w_per_k: 9.6 * (1.0 + draw.normal(0.04)),
        hub_w_per_k: 1.2,
        rim_w_per_k: 0.7,
        drag_nm,
        work_share,
        radius_m: 0.31,
    }
}

fn finish_of(params: &Params, side: Side) -> Emissivity {
    if params.finish == Finish::Mismatch && side == Side::Right { SWEPT_ROTOR } else { OXIDIZED_ROTOR }
}

/// Simulates a scene; about 20 ms for the medium sensor in release. The same seed gives the same bytes.
#[must_use]
pub fn simulate(params: &Params, sensor: &Sensor, seed: u64) -> Recording {
    let mut draw = Draw::new(seed, "brake");
    let site = Site::indoors(params.air_c, seed);
    let drive = Drive {
        vehicle_kg: params.vehicle_kg,
        stops: params.stops,
        stop_from_m_per_s: 50.0 / 3.6,
        stop_every_s: params.stop_every_s,
        unused_s: params.unused_s,
        cruise_m_per_s: params.cruise_km_per_h / 3.6,
    };
    let tire_rise_k = draw.uniform(TIRE_RISE_K.0, TIRE_RISE_K.1);
    let mut hand = Hand::new(seed, params.hand_px);
    let mut camera = Camera::new(sensor, params.air_c, seed);
    let mut places = Vec::new();
    let mut shown = Vec::new();
    let corners = corners(params.rear);
    for (step, &corner) in corners.iter().enumerate() {
        let Corner { side, view, .. } = corner;
        let wheel = wheel(params, corner, &mut draw);
        // Calipers sit behind the axle: to the right in the left view, to the left in the right view.
        let caliper_rad = if side == Side::Left { 0.0 } else { std::f64::consts::PI };
        let tilt = draw.uniform(-0.15, 0.15);
        let picture = Picture::new(sensor, finish_of(params, side), caliper_rad + tilt, tire_rise_k, &mut draw);
        let hot = wheel.drive(&drive);
        let standing = |time: f64| {
            let cooled = wheel.park(hot, params.since_stop_s + time);
            let driven_k = FOLLOWS_TIRE * tire_rise_k;
            Rises { rim_k: cooled.rim_k + driven_k, hub_k: cooled.hub_k + driven_k, ..cooled }
        };
        // Around the vehicle it is half as far from one wheel to the next as across it (proposal).
        let from_s = params.walk_s * step as f64 * if corners.len() > 2 { 0.6 } else { 1.0 };
        let stamps = times(from_s, params.frames, params.interval_s);
        let things = params.nuisance.in_view(view);
        camera.shoot(view, &stamps, params.nuisance.keys(2, params.frames), |time| {
            let rises = standing(time);
            let (picture, site, things) = (&picture, &site, &things);
            let (width, when) = (sensor.width as f64, When { recording_s: time, view_s: time - from_s });
            move |x, y| covered(things, picture.surface(site, &rises, x, y), x, y, width, when)
        });
        places.extend(place(&picture, view, &mut hand));
        let face_k = standing(from_s).rotor_k * picture::FACE_SHARE;
        shown.push(Shown { corner, picture, wheel, rises: standing(0.0), face_k });
    }

    let axle = |rear: bool| -> Vec<Rises> {
        shown.iter().filter(|shown| shown.corner.rear == rear).map(|shown| shown.rises).collect()
    };
    let rises = axle(params.rear == Rear::Faulty);
    let (fault, severity, faulty) = match params.fault {
        Fault::None => ("none", (0.0, "N m"), None),
        Fault::Dragging { side, torque_nm } => ("dragging-brake", (torque_nm, "N m"), Some(side)),
        Fault::NotApplying { side, missing } => ("brake-not-applying", (missing, "share of work"), Some(side)),
    };
    let at_fault = |corner: Corner| Some(corner.side) == faulty && corner.rear == (params.rear == Rear::Faulty);
    let place = shown
        .iter()
        .find(|shown| at_fault(shown.corner))
        .map(|shown| FaultPlace { view: shown.corner.view, at: [shown.picture.center.0, shown.picture.center.1] });
    let mut numbers = BTreeMap::new();
    for (name, rear) in [("", false), ("rear_", true)] {
        let rises = axle(rear);
        if rises.len() == 2 {
            numbers.insert(format!("{name}ratio_of_rises"), ratio(&rises));
            numbers.insert(format!("{name}axle_rise_k"), 0.5 * (rises[0].rotor_k + rises[1].rotor_k));
            let difference_k = picture::FACE_SHARE * (rises[0].rotor_k - rises[1].rotor_k);
            numbers.insert(format!("{name}rotor_face_difference_k"), difference_k);
        }
    }
    for Shown { corner, picture, wheel, rises, face_k } in &shown {
        let name = match corner.view {
            View::RearLeft => "rear-left",
            View::RearRight => "rear-right",
            View::Left => "left",
            _ => "right",
        };
        // Rises are those of one instant, the first frame, so that sides can be compared.
        numbers.insert(format!("{name}_rotor_rise_k"), rises.rotor_k);
        // Mean over the face, when its own view was taken: what a picture can show.
        numbers.insert(format!("{name}_rotor_face_rise_k"), *face_k);
        numbers.insert(format!("{name}_caliper_rise_k"), rises.caliper_k);
        numbers.insert(format!("{name}_rim_rise_k"), rises.rim_k);
        numbers.insert(format!("{name}_drag_nm"), wheel.drag_nm);
        numbers.insert(format!("{name}_rotor_emissivity"), picture.rotor_e());
    }
    let script = Script {
        title: params.title.clone(),
        check: "brake",
        scene: site.statement(0.95),
        reflected_k: site.reflected_k,
        conditions: params.nuisance.stated_over(site.conditions(&[
            ("since-stop", Stated::Number(params.since_stop_s)),
            ("brakes-used", Stated::YesNo(params.stops >= LEAST_STOPS && params.unused_s <= USED_S)),
            ("brakes-unused", Stated::YesNo(params.unused_s >= UNUSED_S)),
            ("same-finish", Stated::YesNo(params.finish == Finish::Alike)),
            ("dry", Stated::YesNo(true)),
        ])),
        places,
        seed,
        fault,
        severity,
        resolvable: resolvable(params, &rises),
        place,
        quantities: numbers,
    };
    Recording::new(script, sensor, camera.finish())
}

/// A corner as it was pictured.
struct Shown {
    corner: Corner,
    picture: Picture,
    wheel: Wheel,
    /// At the first frame of all.
    rises: Rises,
    /// Mean of the face, when its own view was taken.
    face_k: f64,
}

fn ratio(rises: &[Rises]) -> f64 {
    let (a, b) = (rises[0].rotor_k, rises[1].rotor_k);
    a.max(b) / a.min(b)
}

fn resolvable(params: &Params, rises: &[Rises]) -> bool {
    // With the brakes left unused the difference counts, however cool a sound axle has become; else the ratio, which
    // means nothing on cool rotors.
    let unused = params.unused_s >= UNUSED_S;
    let difference = libm::fabs(rises[0].rotor_k - rises[1].rotor_k);
    let warm = unused || 0.5 * (rises[0].rotor_k + rises[1].rotor_k) >= LEAST_AXLE_RISE_K;
    let large = !unused || difference >= LEAST_DIFFERENCE_K;
    let stands_out = params.fault == Fault::None || (ratio(rises) >= LEAST_RATIO && large);
    warm && stands_out && params.finish == Finish::Alike && !params.nuisance.gated
}

/// The shapes that an operator puts on a wheel. Every rotor is stated as oxidized: emissivity cannot be seen.
fn place(picture: &Picture, view: View, hand: &mut Hand) -> [Place; 3] {
    let (x, y) = picture.center;
    let r = picture.radius;
    // A pixel inside the edges, so that an ordinary error of the hand stays on the part.
    let rotor = hand.ring(x, y, picture::ROTOR.0 * r + 1.0, picture::ROTOR.1 * r - 1.0);
    let middle = 0.5 * (picture::RIM.0 + picture::RIM.1);
    let half = 0.3 * (picture::RIM.1 - picture::RIM.0);
    let rim = hand.ring(x, y, (middle - half) * r, (middle + half) * r);
    let (x, y) = picture.at_caliper(0.5 * (picture::CALIPER.0 + picture::CALIPER.1));
    let size = ((0.5 * (picture::CALIPER.1 - picture::CALIPER.0) * r) as i32 - 1) | 1;
    [
        Place::on(Role::Rotor, view, OXIDIZED_ROTOR, rotor),
        Place::on(Role::Rim, view, LACQUER, rim),
        Place::on(Role::Caliper, view, PAINT, hand.spot(x, y, size)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drag(torque_nm: f64) -> Params {
        Params {
            fault: Fault::Dragging { side: Side::Left, torque_nm },
            unused_s: 480.0,
            hand_px: 0.0,
            ..Params::default()
        }
    }

    #[test]
    fn faults_show_on_their_side_and_cool_between_the_views() {
        let sensor = Sensor::small();
        let q = simulate(&drag(20.0), &sensor, 1).truth.quantities;
        assert!(q["left_rotor_rise_k"] > 1.5 * q["right_rotor_rise_k"], "{q:?}");
        let fault = Fault::NotApplying { side: Side::Right, missing: 1.0 };
        let cold = simulate(&Params { fault, hand_px: 0.0, ..Params::default() }, &sensor, 1);
        let q = &cold.truth.quantities;
        assert!(q["right_rotor_rise_k"] < 0.4 * q["left_rotor_rise_k"], "{q:?}");
        assert!(cold.truth.resolvable);
        assert_eq!(cold.truth.place.as_ref().map(|p| p.view), Some(View::Right));
    }

    /// The rear axle does the smaller part of the work on lighter rotors, and a fault there leaves the front one sound.
    #[test]
    fn a_rear_fault_is_at_the_rear() {
        let sensor = Sensor::small();
        let sound = simulate(&Params { rear: Rear::Sound, hand_px: 0.0, ..Params::default() }, &sensor, 1);
        let q = &sound.truth.quantities;
        assert!(q["rear_axle_rise_k"] < q["axle_rise_k"], "{q:?}");
        let faulty = simulate(&Params { rear: Rear::Faulty, ..drag(20.0) }, &sensor, 1);
        let q = &faulty.truth.quantities;
        assert!(q["rear_ratio_of_rises"] > 1.5 && q["ratio_of_rises"] < 1.5, "{q:?}");
        assert_eq!(faulty.truth.place.as_ref().map(|p| p.view), Some(View::RearLeft));
        assert_eq!(faulty.places.len(), 12);
    }

    #[test]
    fn shapes_cover_rim_and_caliper_and_most_of_the_ring_is_rotor() {
        for sensor in [Sensor::small(), Sensor::medium()] {
            let recording = simulate(&Params { hand_px: 0.0, ..Params::default() }, &sensor, 7);
            let q = &recording.truth.quantities;
            let rise = |role| recording.true_c(role, View::Left).unwrap() - 18.0;
            assert!((rise(Role::Rim) - q["left_rim_rise_k"]).abs() < 0.5);
            assert!((rise(Role::Caliper) - q["left_caliper_rise_k"]).abs() < 0.5);
            // Spokes cover 5 × 0.44 of 2π, the caliper part of an opening.
            let share = rise(Role::Rotor) / q["left_rotor_rise_k"];
            assert!(share > 0.5 && share < 0.8, "{share}");
        }
    }

    #[test]
    fn sound_brakes_stay_below_the_rule_and_broken_conditions_are_marked() {
        let sensor = Sensor::small();
        let sound = simulate(&Params { hand_px: 0.0, ..Params::default() }, &sensor, 3);
        assert!(sound.truth.quantities["ratio_of_rises"] < LEAST_RATIO && sound.truth.resolvable);
        let short = Params { stops: 2, rotor_kg: 10.0, ..Params::default() };
        assert!(!simulate(&short, &sensor, 3).truth.resolvable);
        let mixed = Params { finish: Finish::Mismatch, ..Params::default() };
        assert!(!simulate(&mixed, &sensor, 3).truth.resolvable);
    }
}
