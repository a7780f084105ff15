//! Electrical joint: two like clamps on a battery or junction, each with a cable that runs across the picture.
//!
//! Physics in [`heat`]. The seen surfaces are tape patches on the clamps, insulation, the case and the bare clamp
//! bodies around the patches.

use crate::draw::Draw;
use crate::material::{BARE_CLAMP, Emissivity, PLASTIC, TAPE};
use crate::nuisance::{Nuisance, When, covered};
use crate::place::{Hand, Place, Role, View};
use crate::recording::{FaultPlace, Recording, Script, Stated};
use crate::render::{Camera, Surface, times};
use crate::sensor::Sensor;
use crate::site::{Site, quantities};

pub mod heat;

use heat::{Cable, Joint, Rises};

/// Half the side of a clamp body in mm (proposal).
const CLAMP_MM: f64 = 17.0;
/// Radius of the tape patch in mm (proposal: a patch that 5 pixels of any of the sensors fit on).
const PATCH_MM: f64 = 12.0;
/// Seen width of the cable with its insulation and loom in mm (proposal).
const CABLE_MM: f64 = 14.0;
/// Distance of the near cable spot from the edge of the patch in mm (vehicle.md section 2.8: 10–20 mm).
const NEAR_MM: f64 = 15.0;
/// How far the case is warmed around a joint in mm, and by which share of its rise (proposal).
const HALO_MM: f64 = 15.0;
const HALO_SHARE: f64 = 0.15;
/// Widest pixel in mm with which the cable still covers 7 pixels.
const WIDEST_PX_MM: f64 = CABLE_MM / 7.0;
/// Width of the scene in mm, as long as pixels stay small enough.
const SCENE_MM: f64 = 240.0;
/// Least share of the full current, and least load time in s, for a finding (vehicle.md sections 1.1 and 2.8).
const LEAST_LOAD_SHARE: f64 = 0.4;
const LEAST_LOAD_S: f64 = 180.0;
/// Least difference between like joints in K that means anything (vehicle.md section 2.8, R51).
const LEAST_DIFFERENCE_K: f64 = 1.0;
/// Least rise in K of a whole cable at full current that means anything (vehicle.md section 7: lead).
const LEAST_OVERLOAD_K: f64 = 20.0;

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// Both joints are healthy.
    None,
    /// The first joint has this contact resistance in ohm, 0.5e-3–20e-3; its twin is healthy.
    BadJoint {
        /// Contact resistance in ohm.
        ohm: f64,
    },
    /// Both joints are healthy, the cables too thin for the current: conductor area in mm², 2.5–10.
    Overload {
        /// Conductor area in mm².
        mm2: f64,
    },
}

/// What the camera looks at on the clamps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    /// A patch of tape.
    Taped,
    /// The bare metal of the clamp, emissivity 0.1–0.3.
    BareMetal,
}

/// A scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Params {
    /// Title of the recording.
    pub title: String,
    /// Air temperature in °C, −10–45.
    pub air_c: f64,
    /// What is wrong.
    pub fault: Fault,
    /// Current in A, 0–200.
    pub current_a: f64,
    /// Largest current in service in A, at least `current_a`.
    pub full_current_a: f64,
    /// Time the load has been on at the first frame in s, 10–1800.
    pub load_time_s: f64,
    /// Contact resistance of a healthy joint in ohm, 0.05e-3–0.3e-3 (proposal; section 4 starts at 0.1e-3).
    pub healthy_ohm: f64,
    /// Heat that leaves a joint in W/K, 0.2–0.3.
    pub conductance_w_per_k: f64,
    /// Time constant of a joint in s, 120–300.
    pub tau_s: f64,
    /// Finish of the clamps.
    pub finish: Finish,
    /// Frames, at least 2.
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
            title: "Battery terminals under lamp load".to_owned(),
            air_c: 21.0,
            fault: Fault::None,
            current_a: 45.0,
            full_current_a: 60.0,
            load_time_s: 300.0,
            healthy_ohm: 0.15e-3,
            conductance_w_per_k: 0.25,
            tau_s: 200.0,
            finish: Finish::Taped,
            frames: 16,
            interval_s: 1.0 / 3.0,
            hand_px: 0.8,
            nuisance: Nuisance::default(),
        }
    }
}

/// Places of the parts in the picture, in mm from its upper left corner.
#[derive(Clone, Copy, Debug)]
struct Layout {
    mm_per_px: f64,
    width_mm: f64,
    joint_mm: f64,
    rows_mm: [f64; 2],
    case_mm: f64,
}

impl Layout {
    fn of(sensor: &Sensor) -> Self {
        let mm_per_px = (SCENE_MM / sensor.width as f64).min(WIDEST_PX_MM);
        let (width_mm, height_mm) = (mm_per_px * sensor.width as f64, mm_per_px * sensor.height as f64);
        Self {
            mm_per_px,
            width_mm,
            joint_mm: 0.17 * width_mm,
            rows_mm: [0.3 * height_mm, 0.7 * height_mm],
            case_mm: 0.06 * height_mm,
        }
    }

    /// Where the cable is measured farthest from the joint.
    fn far_mm(&self) -> f64 {
        self.width_mm - 0.5 * CABLE_MM - 4.0 * self.mm_per_px
    }

    fn px(&self, mm: f64) -> f64 {
        mm / self.mm_per_px - 0.5
    }
}

/// True emissivities of one scene.
struct Finishes {
    patch: f64,
    clamp: f64,
    plastic: f64,
}

fn surface(layout: &Layout, site: &Site, finish: &Finishes, rises: &[Rises; 2], x: f64, y: f64) -> Surface {
    let (x, y) = ((x + 0.5) * layout.mm_per_px, (y + 0.5) * layout.mm_per_px);
    let seen = |rise_k: f64, emissivity: f64| Surface {
        kelvin: site.air_k() + rise_k,
        emissivity,
        reflected_k: site.reflected_k,
    };
    let dx = x - layout.joint_mm;
    let mut halo_k = 0.0;
    for (rises, row) in rises.iter().zip(layout.rows_mm) {
        let dy = y - row;
        let radius = libm::sqrt(dx * dx + dy * dy);
        if radius <= PATCH_MM {
            return seen(rises.joint_k, finish.patch);
        }
        let off_cable = libm::fabs(dy) / (0.5 * CABLE_MM);
        if off_cable <= 1.0 && dx > 0.0 {
            return seen(rises.along_cable_k((dx - PATCH_MM) * 1e-3), finish.plastic);
        }
        if libm::fabs(dx) <= CLAMP_MM && libm::fabs(dy) <= CLAMP_MM {
            return seen(rises.joint_k, finish.clamp);
        }
        halo_k += HALO_SHARE * rises.joint_k * libm::exp(-(radius - PATCH_MM) / HALO_MM);
    }
    // The case fills the picture but for a border through which the tray below is seen.
    let on_case =
        x > layout.case_mm && y > layout.case_mm && y < layout.rows_mm[0] + layout.rows_mm[1] - layout.case_mm;
    seen(if on_case { halo_k } else { 0.0 }, finish.plastic)
}

/// Simulates a scene; about 10 ms for the medium sensor in release.
///
/// The same seed gives the same bytes.
#[must_use]
pub fn simulate(params: &Params, sensor: &Sensor, seed: u64) -> Recording {
    let mut draw = Draw::new(seed, "joint");
    let site = Site::indoors(params.air_c, seed);
    let layout = Layout::of(sensor);
    let finish = Finishes {
        patch: match params.finish {
            Finish::Taped => TAPE.draw(&mut draw),
            Finish::BareMetal => BARE_CLAMP.draw(&mut draw),
        },
        clamp: BARE_CLAMP.draw(&mut draw),
        plastic: PLASTIC.draw(&mut draw),
    };
    let mm2 = if let Fault::Overload { mm2 } = params.fault { mm2 } else { 25.0 };
    let bad_ohm = if let Fault::BadJoint { ohm } = params.fault { ohm } else { params.healthy_ohm };
    // Two healthy joints differ by some percent in contact and in what they lose (proposal: 10 % and 4 %).
    let joint = |ohm: f64, draw: &mut Draw| Joint {
        ohm: ohm * (1.0 + draw.normal(0.1)).max(0.5),
        conductance_w_per_k: params.conductance_w_per_k * (1.0 + draw.normal(0.04)),
        tau_s: params.tau_s,
        cable: Cable { mm2 },
    };
    let joints = [joint(bad_ohm, &mut draw), joint(params.healthy_ohm, &mut draw)];
    let rises_at = |time: f64| joints.map(|joint| joint.rises(params.current_a, params.load_time_s + time));

    let mut camera = Camera::new(sensor, params.air_c, seed);
    let stamps = times(0.0, params.frames, params.interval_s);
    let things = params.nuisance.in_view(View::Single);
    camera.shoot(View::Single, &stamps, params.nuisance.keys(2, params.frames), |time| {
        let rises = rises_at(time);
        let (layout, site, finish, things) = (&layout, &site, &finish, &things);
        let (width, when) = (sensor.width as f64, When { recording_s: time, view_s: time });
        move |x, y| covered(things, surface(layout, site, finish, &rises, x, y), x, y, width, when)
    });

    let [bad, twin] = rises_at(0.0);
    let load_share = params.current_a / params.full_current_a;
    let assessable = load_share >= LEAST_LOAD_SHARE
        && params.load_time_s >= LEAST_LOAD_S
        && params.finish == Finish::Taped
        && !params.nuisance.gated;
    // Where the picture ends, which is as far as anyone sees; heat goes with the square of the current.
    let far_k = bad.along_cable_k((layout.far_mm() - layout.joint_mm - PATCH_MM) * 1e-3);
    let at_full_k = far_k / (load_share * load_share);
    let shows = match params.fault {
        Fault::None => true,
        Fault::BadJoint { .. } => bad.joint_k - twin.joint_k >= LEAST_DIFFERENCE_K,
        Fault::Overload { .. } => at_full_k >= LEAST_OVERLOAD_K,
    };
    let (fault, severity) = match params.fault {
        Fault::None => ("none", (0.0, "mohm")),
        Fault::BadJoint { .. } => ("bad-joint", (joints[0].ohm * 1e3, "mohm")),
        Fault::Overload { .. } => ("overload", (at_full_k, "K at full current")),
    };
    let joint_px = [layout.px(layout.joint_mm), layout.px(layout.rows_mm[0])];
    let script = Script {
        title: params.title.clone(),
        check: "joint",
        scene: site.statement(0.95),
        reflected_k: site.reflected_k,
        conditions: params.nuisance.stated_over(site.conditions(&[
            ("current", Stated::Number(params.current_a)),
            ("full-current", Stated::Number(params.full_current_a)),
            ("load-time", Stated::Number(params.load_time_s)),
            ("matte-surface", Stated::YesNo(params.finish == Finish::Taped)),
        ])),
        places: places(params, &layout, seed),
        seed,
        fault,
        severity,
        resolvable: assessable && shows,
        place: (fault == "bad-joint").then_some(FaultPlace { view: View::Single, at: joint_px }),
        quantities: quantities(&[
            ("joint_ohm", joints[0].ohm),
            ("twin_ohm", joints[1].ohm),
            ("joint_rise_k", bad.joint_k),
            ("twin_rise_k", twin.joint_k),
            ("cable_own_rise_k", bad.cable_k),
            ("cable_decay_m", bad.decay_m),
            ("load_share", load_share),
            ("patch_emissivity", finish.patch),
        ]),
    };
    Recording::new(script, sensor, camera.finish())
}

fn places(params: &Params, layout: &Layout, seed: u64) -> Vec<Place> {
    let mut hand = Hand::new(seed, params.hand_px);
    // Half of the cable's width, odd, at least 5: the shape stays on the cable with an error of a pixel.
    let size = (((0.5 * CABLE_MM / layout.mm_per_px) as i32) | 1).max(5);
    let patch = match params.finish {
        Finish::Taped => TAPE,
        Finish::BareMetal => BARE_CLAMP,
    };
    let mut place = |role: Role, material: Emissivity, x_mm: f64, row: usize| {
        let shape = hand.spot(layout.px(x_mm), layout.px(layout.rows_mm[row]), size);
        Place::on(role, View::Single, material, shape)
    };
    let near = layout.joint_mm + PATCH_MM + NEAR_MM;
    vec![
        place(Role::Joint, patch, layout.joint_mm, 0),
        place(Role::Twin, patch, layout.joint_mm, 1),
        place(Role::CableNear, PLASTIC, near, 0),
        place(Role::CableFar, PLASTIC, layout.far_mm(), 0),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bad() -> Params {
        Params { fault: Fault::BadJoint { ohm: 3e-3 }, hand_px: 0.0, ..Params::default() }
    }

    #[test]
    fn placed_shapes_cover_the_parts_they_name() {
        for sensor in [Sensor::small(), Sensor::medium()] {
            let recording = simulate(&bad(), &sensor, 1);
            let c = |role| recording.true_c(role, View::Single).unwrap();
            let q = &recording.truth.quantities;
            // The shapes at rest: within the growth over the 5 s of the recording (0.6 % of the rise).
            assert!((c(Role::Joint) - 21.0 - q["joint_rise_k"]).abs() < 0.01 * q["joint_rise_k"]);
            assert!((c(Role::Twin) - 21.0 - q["twin_rise_k"]).abs() < 0.02 * q["twin_rise_k"]);
            let share =
                (c(Role::CableNear) - 21.0 - q["cable_own_rise_k"]) / (q["joint_rise_k"] - q["cable_own_rise_k"]);
            assert!((share - libm::exp(-NEAR_MM * 1e-3 / q["cable_decay_m"])).abs() < 0.01, "{share}");
            assert!(c(Role::CableFar) < c(Role::CableNear));
        }
    }

    #[test]
    fn gated_scenes_are_marked_as_not_resolvable() {
        let sensor = Sensor::small();
        assert!(simulate(&bad(), &sensor, 1).truth.resolvable);
        for gated in [
            Params { current_a: 20.0, ..bad() },
            Params { load_time_s: 30.0, ..bad() },
            Params { finish: Finish::BareMetal, ..bad() },
            Params { fault: Fault::BadJoint { ohm: 0.2e-3 }, ..bad() },
        ] {
            assert!(!simulate(&gated, &sensor, 1).truth.resolvable, "{gated:?}");
        }
    }

    #[test]
    fn an_overload_warms_both_sides_alike() {
        let params =
            Params { fault: Fault::Overload { mm2: 6.0 }, current_a: 60.0, load_time_s: 900.0, hand_px: 0.0, ..bad() };
        let recording = simulate(&params, &Sensor::small(), 2);
        let c = |role| recording.true_c(role, View::Single).unwrap();
        assert!((c(Role::Joint) - c(Role::Twin)).abs() < 1.0);
        assert!(c(Role::CableFar) - 21.0 > 20.0, "{}", c(Role::CableFar));
    }
}
