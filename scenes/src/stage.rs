//! What every drawn scene needs: an instrument, a place, an operator's hand, frames, statements and the truth.

use std::collections::BTreeMap;

use crate::case::{Case, Decoy, Gate, Severity};
use crate::catalog::Check;
use crate::draw::Draw;
use crate::material::Emissivity;
use crate::nuisance::{Nuisance, Thing, When, covered};
use crate::picture::{Look, Pose};
use crate::place::{Hand, Place, Role, Shape, View};
use crate::recording::{FaultPlace, Recording, Script, Stated};
use crate::render::{Camera, Surface};
use crate::sensor::Sensor;
use crate::site::Site;

/// Least width of a feature in pixels (vehicle.md section 1.4).
const LEAST_WIDTH_PX: f64 = 3.0;
/// Offset steps of a poor shutter in K (vehicle.md section 1.3: 0.3–2) and their interval in s, shorter than any pair of
/// compared views is apart.
const STEP_K: f64 = 2.0;
const STEP_EVERY_S: f64 = 15.0;
/// Offset of an instrument just switched on in K (proposal: within the 2 to 5 K of vehicle.md section 1.3).
const WARMS_UP_K: f64 = 4.0;
/// Error of the operator's hand in px (proposal).
const HAND_PX: f64 = 0.8;

/// Which instruments a check is done with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instruments {
    /// Any of the three.
    Any,
    /// Those with 160 × 120 pixels or more: the pattern is too fine for the small one.
    Fine,
    /// Those that reach above 500 °C.
    Hot,
}

/// What a scene has come to.
#[derive(Clone, Copy, Debug)]
pub struct Outcome {
    /// Size of the fault with its unit; not used without a fault.
    pub severity: (f64, &'static str),
    /// The fault, if there is one, shows by the scene's rule.
    pub shows: bool,
    /// Where the fault is: view and pixel.
    pub place: Option<(View, (f64, f64))>,
}

/// A scene being made.
#[derive(Debug)]
pub struct Stage {
    /// What it is meant to be.
    pub case: Case,
    /// Its seed.
    pub seed: u64,
    /// Title; says nothing about the case.
    pub title: String,
    /// The instrument.
    pub sensor: Sensor,
    /// The scene's own draws.
    pub draw: Draw,
    /// The bay.
    pub site: Site,
    /// Decoys and gates in the picture.
    pub nuisance: Nuisance,
    check: &'static Check,
    fault: Option<&'static str>,
    hand: Hand,
    camera: Camera,
    places: Vec<Place>,
    stated: Vec<(&'static str, Stated)>,
    numbers: BTreeMap<String, f64>,
    smallest_px: f64,
    began_s: Option<f64>,
}

impl Stage {
    /// A stage for a case of a check. `sensor` replaces the drawn instrument.
    #[must_use]
    pub fn new(check: &'static Check, case: Case, seed: u64, sensor: Option<&Sensor>) -> Self {
        // Different cases of one seed are different scenes, not one scene with and without something.
        let seed_of_case = seed ^ Draw::new(seed, &format!("{} {case}", check.key)).word();
        let mut draw = Draw::new(seed_of_case, "stage");
        let all = [Sensor::small(), Sensor::medium(), Sensor::large()];
        let choice = match check.instruments {
            Instruments::Any => draw.index(3),
            Instruments::Fine => 1 + draw.index(2),
            Instruments::Hot => draw.index(2),
        };
        let mut sensor = sensor.unwrap_or(&all[choice]).clone();
        if case == Case::Gated(Gate::ShutterStep) {
            sensor.shutter_every_s = Some(STEP_EVERY_S);
            sensor.shutter_step_k = Some(STEP_K);
        }
        let mut nuisance = Nuisance { gated: matches!(case, Case::Gated(_)), ..Nuisance::default() };
        if case == Case::Gated(Gate::ColdInstrument) {
            sensor.warms_up_k = Some(WARMS_UP_K);
            nuisance.state("instrument-warm", Stated::YesNo(false));
        }
        let air_c = libm::round(draw.uniform(check.air_c.0, check.air_c.1) * 10.0) / 10.0;
        let fault = match case {
            Case::Fault { fault, .. } | Case::Sweep { fault } => Some(fault),
            Case::Unresolvable => Some(check.faults[0]),
            Case::Gated(_) => draw.chance(0.5).then_some(check.faults[0]),
            Case::Normal | Case::Decoy(_) => None,
        };
        let title = format!("Minibus {}, {}", 1 + draw.index(30), check.what);
        Self {
            case,
            seed: seed_of_case,
            title,
            site: Site::indoors(air_c, seed_of_case),
            nuisance,
            check,
            fault,
            hand: Hand::new(seed_of_case, HAND_PX),
            camera: Camera::new(&sensor, air_c, seed_of_case),
            places: Vec::new(),
            stated: Vec::new(),
            numbers: BTreeMap::new(),
            smallest_px: f64::INFINITY,
            began_s: None,
            sensor,
            draw,
        }
    }

    /// The fault, if there is one.
    #[must_use]
    pub const fn fault(&self) -> Option<&'static str> {
        self.fault
    }

    /// True if the scene has this fault.
    #[must_use]
    pub fn has(&self, fault: &str) -> bool {
        self.fault == Some(fault)
    }

    /// True under this gate.
    #[must_use]
    pub fn gated(&self, gate: Gate) -> bool {
        self.case == Case::Gated(gate)
    }

    /// True with this decoy.
    #[must_use]
    pub fn decoy(&self, decoy: Decoy) -> bool {
        self.case == Case::Decoy(decoy)
    }

    /// A draw from a range.
    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        self.draw.uniform(from, to)
    }

    /// Size of the fault by the case: `[unresolvable, slight, clear, grave]` ranges. Gated faults are clear ones; a sweep
    /// runs straight from the middle of each range to that of the next, as often between each two.
    pub fn size(&mut self, ranges: [(f64, f64); 4]) -> f64 {
        if let Case::Sweep { .. } = self.case {
            let middle = |(from, to): (f64, f64)| 0.5 * (from + to);
            let step = self.draw.index(3);
            return self.draw.uniform(middle(ranges[step]), middle(ranges[step + 1]));
        }
        let (from, to) = match self.case {
            Case::Unresolvable => ranges[0],
            Case::Fault { severity: Severity::Slight, .. } => ranges[1],
            Case::Fault { severity: Severity::Grave, .. } => ranges[3],
            _ => ranges[2],
        };
        self.draw.uniform(from, to)
    }

    /// Aim at an object: `scene_mm` wide, its finest feature `feature_mm` wide. Far too distant under
    /// [`Gate::SmallTarget`].
    pub fn aim(&mut self, scene_mm: (f64, f64), feature_mm: f64) -> Pose {
        let fit = (scene_mm.0 / self.sensor.width as f64).max(scene_mm.1 / self.sensor.height as f64);
        let mm_per_px =
            if self.gated(Gate::SmallTarget) { (feature_mm / self.draw.uniform(1.2, 2.6)).max(fit) } else { fit };
        let pose = Pose::draw(self.sensor.width, self.sensor.height, mm_per_px, &mut self.draw);
        self.smallest_px = self.smallest_px.min(feature_mm / pose.mm_per_px());
        let distance = pose.mm_per_px() / self.sensor.ifov_mrad;
        self.state("distance", libm::round(distance * 100.0) / 100.0);
        pose
    }

    /// States a number.
    pub fn state(&mut self, key: &'static str, value: f64) {
        self.stated.push((key, Stated::Number(value)));
    }

    /// States yes or no.
    pub fn affirm(&mut self, key: &'static str, value: bool) {
        self.stated.push((key, Stated::YesNo(value)));
    }

    /// Notes a number for the truth.
    pub fn note(&mut self, name: &str, value: f64) {
        self.numbers.insert(name.to_owned(), value);
    }

    /// Puts the decoy of the case near a pixel of the tested part, about `radius` px in size. Does nothing for other
    /// cases.
    pub fn bait(&mut self, view: Option<View>, at: (f64, f64), radius: f64) {
        let Case::Decoy(decoy) = self.case else { return };
        let (sine, cosine) = libm::sincos(self.draw.uniform(0.0, std::f64::consts::TAU));
        let off = radius * self.draw.uniform(0.2, 1.2);
        let at = (at.0 + off * cosine, at.1 + off * sine);
        let thing = Thing::decoy(decoy, view, at, radius.max(2.0), self.sensor.width as f64, &mut self.draw);
        self.nuisance.things.extend(thing);
    }

    /// Puts the sun, the water or the wind of the case's gate into a view, or into all.
    pub fn weather(&mut self, view: Option<View>) {
        let Case::Gated(gate) = self.case else { return };
        let (width, height) = (self.sensor.width as f64, self.sensor.height as f64);
        let thing = Thing::gate(gate, view, (width, height), self.site.air_k(), &mut self.draw);
        self.nuisance.things.extend(thing);
        match gate {
            Gate::Sun => self.nuisance.state("shaded", Stated::YesNo(false)),
            Gate::Wet => self.nuisance.state("dry", Stated::YesNo(false)),
            Gate::Wind => self.nuisance.state("still-air", Stated::YesNo(false)),
            Gate::Grazing => self.nuisance.state("straight-on", Stated::YesNo(false)),
            _ => {}
        }
    }

    /// Places a square spot of about `size_mm` at a point.
    pub fn spot(&mut self, role: Role, view: View, material: Emissivity, pose: &Pose, at: (f64, f64), size_mm: f64) {
        let half = (libm::floor(0.5 * size_mm / pose.mm_per_px() - 0.5) as i32).clamp(1, 12);
        let (x, y) = pose.px(at);
        let [x, y] = self.hand.point(x, y);
        let x = x.clamp(half, self.sensor.width as i32 - 1 - half);
        let y = y.clamp(half, self.sensor.height as i32 - 1 - half);
        self.places.push(Place::on(role, view, material, Shape::Spot { at: [x, y], size: 2 * half + 1 }));
    }

    /// Places a box with these corners in mm.
    pub fn block(
        &mut self,
        role: Role,
        view: View,
        material: Emissivity,
        pose: &Pose,
        from: (f64, f64),
        to: (f64, f64),
    ) {
        let (a, b) = (pose.px(from), pose.px(to));
        // One error of the hand for the whole box: its size is kept.
        let [x, y] = self.hand.point(a.0, a.1);
        let limit = |value: i32, most: usize| value.clamp(0, most as i32 - 1);
        let (x, y) = (limit(x, self.sensor.width), limit(y, self.sensor.height));
        let to = [
            limit(x + (libm::round(b.0 - a.0) as i32).max(1), self.sensor.width),
            limit(y + (libm::round(b.1 - a.1) as i32).max(1), self.sensor.height),
        ];
        self.places.push(Place::on(role, view, material, Shape::Box { from: [x, y], to }));
    }

    /// Places a ring with these radii in mm, at least a pixel wide. It must fit into the frame.
    pub fn ring(
        &mut self,
        role: Role,
        view: View,
        material: Emissivity,
        pose: &Pose,
        at: (f64, f64),
        radii: (f64, f64),
    ) {
        let (x, y) = pose.px(at);
        let inner = libm::round(radii.0 / pose.mm_per_px());
        let shape = self.hand.ring(x, y, inner, (radii.1 / pose.mm_per_px()).max(inner + 1.0));
        self.places.push(Place::on(role, view, material, shape));
    }

    /// Takes the frames of a view; `at` gives, for a time in s, what is seen at a pixel.
    pub fn shoot<S: Fn(f64, f64) -> Look>(&mut self, view: View, times_s: &[f64], keys: usize, at: impl Fn(f64) -> S) {
        let things = self.nuisance.in_view(view);
        let keys = self.nuisance.keys(keys, times_s.len());
        let (air_k, reflected_k) = (self.site.air_k(), self.site.reflected_k);
        let width = self.sensor.width as f64;
        let first = times_s.first().copied().unwrap_or(0.0);
        let began_s = *self.began_s.get_or_insert(first);
        self.camera.shoot(view, times_s, keys, |time| {
            let (look, things) = (at(time), &things);
            let when = When { recording_s: time - began_s, view_s: time - first };
            move |x, y| {
                let Look { rise_k, emissivity } = look(x, y);
                let bare = Surface { kelvin: air_k + rise_k, emissivity, reflected_k };
                covered(things, bare, x, y, width, when)
            }
        });
    }

    /// The recording.
    #[must_use]
    pub fn finish(self, outcome: Outcome) -> Recording {
        let mut numbers = self.numbers;
        if self.smallest_px.is_finite() {
            numbers.insert("feature_px".to_owned(), self.smallest_px);
        }
        let mut further = vec![("dry", Stated::YesNo(true))];
        further.extend(self.stated);
        let conditions = self.nuisance.stated_over(self.site.conditions(&further));
        let wide = self.smallest_px >= LEAST_WIDTH_PX;
        let script = Script {
            title: self.title,
            check: self.check.key,
            scene: self.site.statement(0.95),
            reflected_k: self.site.reflected_k,
            conditions,
            places: self.places,
            seed: self.seed,
            fault: self.fault.unwrap_or("none"),
            severity: if self.fault.is_some() { outcome.severity } else { (0.0, outcome.severity.1) },
            resolvable: !self.nuisance.gated && wide && (self.fault.is_none() || outcome.shows),
            place: outcome.place.filter(|_| self.fault.is_some()).map(|(view, (x, y))| FaultPlace { view, at: [x, y] }),
            quantities: numbers,
        };
        Recording::new(script, &self.sensor, self.camera.finish())
    }
}
