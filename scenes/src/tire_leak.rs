//! Tire air leak: a cold spot on a soaked tire, and what looks like one.
//!
//! Physics in [`jet`]. Slow leaks are made too; their truth says that they cannot be resolved.

use crate::draw::Draw;
use crate::material::RUBBER;
use crate::nuisance::{Nuisance, When, covered};
use crate::place::{Hand, Place, View};
use crate::recording::{FaultPlace, Recording, Script, Stated};
use crate::render::{Camera, times};
use crate::sensor::Sensor;
use crate::site::{Site, quantities};

pub mod jet;
mod picture;

use jet::Leak;
use picture::Picture;

/// Least depth in K and least soak and wait after inflation in s for a candidate (vehicle.md section 2.1).
const LEAST_SPOT_K: f64 = 0.5;
const LEAST_SOAK_S: f64 = 7_200.0;
const LEAST_WAIT_S: f64 = 600.0;
/// Least width of a feature in pixels (vehicle.md section 1.4). The width is taken at half depth, which on a half
/// space is 2.7 times the disc's radius (derived from its profile).
const LEAST_WIDTH_PX: f64 = 3.0;
const HALF_DEPTH_WIDTH: f64 = 2.7;
/// How the tire and its air lose the warmth of driving and of compression: start in K, time constants in s. Proposal,
/// fitted to "2–3 h" and "10–15 min" in vehicle.md section 2.1.
const DRIVEN_WARMTH: (f64, f64) = (15.0, 2_400.0);
const COMPRESSED_S: f64 = 300.0;

/// Greatest pressure on a sidewall, kPa (proposal; of a minibus).
const MARKED_KPA: f64 = 475.0;

/// Which part is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// Tread with grooves; rubber.
    Tread,
    /// Where the tire's bead sits on the rim; half of the spot is on metal.
    Bead,
    /// Valve with its rubber base, cap off.
    Valve,
}

/// Finish of the rim where a bead or valve is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rim {
    /// Lacquered, emissivity near 0.9.
    Lacquered,
    /// Bare metal, emissivity near 0.15; stated as such.
    Bare,
}

/// Something cold-looking that is not a leak.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decoy {
    /// A drop of water: really cold, but for another reason.
    Water,
    /// Head of a nail without a leak: not cold, mirrors something cold.
    Nail,
}

/// A scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Params {
    /// Title of the recording.
    pub title: String,
    /// Air temperature in °C, 0–35.
    pub air_c: f64,
    /// Which part is searched.
    pub target: Target,
    /// Diameter of the hole in mm: none, or 0.005–0.5.
    pub hole_mm: Option<f64>,
    /// Share of the jet's cold that reaches the surface, 0.1–1.
    pub path_factor: f64,
    /// Gauge pressure in kPa, 180–400.
    pub pressure_kpa: f64,
    /// Volume of the tire in L, 25–60.
    pub volume_l: f64,
    /// Diameter of the cooled disc in mm, 2–15.
    pub spot_mm: f64,
    /// The spot has a plume-shaped tail.
    pub plume: bool,
    /// Time the leak has been open at the first frame, in s.
    pub open_for_s: f64,
    /// Time constant with which the spot grows, in s, 10–60.
    pub onset_s: f64,
    /// Decoys on the searched part.
    pub decoys: Vec<Decoy>,
    /// Finish of the rim.
    pub rim: Rim,
    /// Time the tire has stood, in s.
    pub soak_s: f64,
    /// Time since air was put in, in s.
    pub since_inflation_s: f64,
    /// How much warmer than the tire that air was, in K: 9, or 20 to 40 from a warm compressor (proposal).
    pub compressed_k: f64,
    /// The operator states that the air is warm.
    pub states_warm_air: bool,
    /// Distance in m: 0.3–0.6 for tread and valve; for the bead 1.2–1.4, so that the ring is all in the
    /// picture, which costs small spots. Up to 3 for pictures from too far away.
    pub distance_m: f64,
    /// The operator let the pressure out afterward and looked again.
    pub released: bool,
    /// The operator noted the pressure right after filling.
    pub notes_filling: bool,
    /// Frames, one per second, at least 2.
    pub frames: usize,
    /// Error of the operator's placement in pixels, 0–1.5.
    pub hand_px: f64,
    /// What lies over the scene.
    pub nuisance: Nuisance,
}

impl Default for Params {
    fn default() -> Self {
        Self {
            title: "Tread leak search".to_owned(),
            air_c: 19.0,
            target: Target::Tread,
            hole_mm: None,
            path_factor: 0.8,
            pressure_kpa: 240.0,
            volume_l: 40.0,
            spot_mm: 4.0,
            plume: true,
            open_for_s: 900.0,
            onset_s: 30.0,
            decoys: Vec::new(),
            rim: Rim::Lacquered,
            soak_s: 10_800.0,
            since_inflation_s: 1_200.0,
            compressed_k: 9.0,
            states_warm_air: false,
            distance_m: 0.4,
            released: false,
            notes_filling: false,
            frames: 40,
            hand_px: 0.8,
            nuisance: Nuisance::default(),
        }
    }
}

/// Simulates a scene; about 0.1 s for the large sensor in release. The same seed gives the same bytes.
#[must_use]
pub fn simulate(params: &Params, sensor: &Sensor, seed: u64) -> Recording {
    let mut draw = Draw::new(seed, "tire leak");
    let site = Site::indoors(params.air_c, seed);
    let picture = Picture::new(params, sensor, &mut draw);
    let decay = |(start, tau): (f64, f64), seconds: f64| start * libm::exp(-seconds / tau);
    let tire_k = site.air_k() + decay(DRIVEN_WARMTH, params.soak_s);
    let leak = params.hole_mm.map(|hole_mm| Leak {
        hole_mm,
        path_factor: params.path_factor,
        pressure_kpa: params.pressure_kpa,
        tire_k,
        warm_air_k: decay((params.compressed_k, COMPRESSED_S), params.since_inflation_s),
        spot_m: 0.5e-3 * params.spot_mm,
    });
    let steady_k = leak.map_or(0.0, |leak| leak.spot_k());
    let spot_k = |time: f64| -steady_k * libm::expm1(-(params.open_for_s + time) / params.onset_s);

    let mut camera = Camera::new(sensor, params.air_c, seed);
    let stamps = times(0.0, params.frames, 1.0);
    // Nothing moves once the spot has grown; while it grows, ten instants keep the step near a tenth of its constant.
    let keys = if params.open_for_s > 8.0 * params.onset_s { 2 } else { 10 };
    let things = params.nuisance.in_view(View::Single);
    camera.shoot(View::Single, &stamps, params.nuisance.keys(keys, params.frames), |time| {
        let (picture, site, things) = (&picture, &site, &things);
        let (spot_k, width) = (spot_k(time), sensor.width as f64);
        let when = When { recording_s: time, view_s: time };
        move |x, y| covered(things, picture.surface(site, tire_k, spot_k, x, y), x, y, width, when)
    });

    let width_px = HALF_DEPTH_WIDTH * 0.5 * params.spot_mm / picture.mm_per_px();
    let assessable = params.soak_s >= LEAST_SOAK_S
        && (params.since_inflation_s >= LEAST_WAIT_S || params.states_warm_air)
        && (params.target == Target::Tread || params.rim == Rim::Lacquered)
        && !params.nuisance.gated;
    let sign = if params.states_warm_air { -1.0 } else { 1.0 };
    let shows = leak.is_none() || (sign * spot_k(0.0) >= LEAST_SPOT_K && width_px >= LEAST_WIDTH_PX);
    let mut hand = Hand::new(seed, params.hand_px);
    let (role, shape) = picture.search(sensor, &mut hand);
    let mut numbers = quantities(&[
        ("spot_k", spot_k(0.0)),
        ("spot_width_px", width_px),
        ("mm_per_px", picture.mm_per_px()),
        ("background_unevenness_k", picture.unevenness_k()),
        ("tire_over_air_k", tire_k - site.air_k()),
    ]);
    if let Some(leak) = leak {
        numbers.extend(quantities(&[
            ("hole_mm", leak.hole_mm),
            ("flow_liters_per_min", leak.liters_per_min()),
            ("cooling_available_w", leak.available_w()),
            ("warm_air_k", leak.warm_air_k),
        ]));
    }
    for (i, (x, y)) in picture.decoys_px().into_iter().enumerate() {
        numbers.insert(format!("decoy_{i}_x_px"), x);
        numbers.insert(format!("decoy_{i}_y_px"), y);
    }
    let loss = leak.map_or(0.0, |leak| leak.kpa_per_day(params.volume_l));
    let (x, y) = picture.px(picture.leak);
    let mut further = vec![
        ("soak-time", Stated::Number(params.soak_s)),
        ("since-inflation", Stated::Number(params.since_inflation_s)),
        ("pressure", Stated::Number(params.pressure_kpa)),
        ("distance", Stated::Number(params.distance_m)),
        ("tire-volume", Stated::Number(params.volume_l)),
        ("warm-air", Stated::YesNo(params.states_warm_air)),
        ("dry", Stated::YesNo(true)),
        ("bare-metal", Stated::YesNo(params.target != Target::Tread && params.rim == Rim::Bare)),
    ];
    if params.notes_filling {
        // What it has lost since at this rate, read to 1 kPa; nobody fills beyond the marking, so a grave leak was filled
        // again and again.
        let filled_kpa = params.pressure_kpa + loss * params.since_inflation_s / 86_400.0;
        if filled_kpa <= MARKED_KPA {
            further.push(("filled-pressure", Stated::Number(libm::round(filled_kpa))));
        }
    }
    if params.released {
        // Only what the pressure makes goes away with it.
        further.push(("gone-after-release", Stated::YesNo(leak.is_some() && shows)));
    }
    let script = Script {
        title: params.title.clone(),
        check: "tire-leak",
        scene: site.statement(RUBBER.nominal),
        reflected_k: site.reflected_k,
        conditions: params.nuisance.stated_over(site.conditions(&further)),
        places: vec![Place::on(role, View::Single, RUBBER, shape)],
        seed,
        fault: match (leak.is_some(), params.states_warm_air) {
            (false, _) => "none",
            (true, false) => "leak",
            (true, true) => "warm-leak",
        },
        severity: (loss, "kPa/day"),
        resolvable: assessable && shows,
        place: leak.map(|_| FaultPlace { view: View::Single, at: [x, y] }),
        quantities: numbers,
    };
    Recording::new(script, sensor, camera.finish())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planck::Band;

    fn quick(params: Params) -> Params {
        Params { frames: 3, hand_px: 0.0, ..params }
    }

    /// The coldest pixel of a noise-free picture is at the leak, about as deep as the truth says once optics have
    /// spread it.
    #[test]
    fn the_spot_is_where_and_as_deep_as_the_truth_says() {
        let sensor = Sensor { blur_px: 0.3, skirt_share: 0.0, ..Sensor::medium().without_noise() };
        for seed in [1, 2, 3] {
            let params = quick(Params { hole_mm: Some(0.1), plume: false, spot_mm: 8.0, ..Params::default() });
            let recording = simulate(&params, &sensor, seed);
            let frame = &recording.frames[0];
            let coldest = (0..frame.len()).min_by_key(|i| frame[*i]).unwrap();
            let (x, y) = ((coldest % sensor.width) as f64, (coldest / sensor.width) as f64);
            let [tx, ty] = recording.truth.place.as_ref().unwrap().at;
            assert!((x - tx).abs() < 4.0 && (y - ty).abs() < 4.0, "{seed}: {x} {y} for {tx} {ty}");
            let mut sorted = frame.clone();
            sorted.sort_unstable();
            let apparent = |counts: u16| {
                Band::of(sensor.response)
                    .kelvin((f64::from(counts) - sensor.offset_counts) / sensor.gain_counts_per_radiance)
            };
            let kelvin = apparent(sorted[sorted.len() / 2]) - apparent(frame[coldest]);
            // Rubber shows its emissivity's share of a difference.
            let truth = recording.truth.quantities["spot_k"] * RUBBER.nominal;
            let slack = recording.truth.quantities["background_unevenness_k"] + 0.02 * truth;
            assert!((kelvin - truth).abs() < slack, "{seed}: {kelvin} {truth}");
        }
    }

    #[test]
    fn slow_leaks_and_broken_conditions_are_marked() {
        let sensor = Sensor::large();
        let leak = Params { hole_mm: Some(0.1), spot_mm: 5.0, ..Params::default() };
        let resolvable = |params: Params| simulate(&quick(params), &sensor, 1).truth.resolvable;
        assert!(resolvable(leak.clone()));
        assert!(!resolvable(Params { hole_mm: Some(0.01), ..leak.clone() }));
        assert!(!resolvable(Params { since_inflation_s: 60.0, ..leak.clone() }));
        assert!(!resolvable(Params { spot_mm: 1.0, ..leak.clone() }));
        assert!(!resolvable(Params { target: Target::Valve, rim: Rim::Bare, ..leak }));
    }

    #[test]
    fn decoys_look_cold_without_a_leak() {
        let sensor = Sensor::medium().without_noise();
        for decoy in [Decoy::Water, Decoy::Nail] {
            let params = quick(Params { decoys: vec![decoy], ..Params::default() });
            let recording = simulate(&params, &sensor, 4);
            assert_eq!(recording.truth.fault, "none");
            let q = &recording.truth.quantities;
            let at = q["decoy_0_y_px"].round() as usize * sensor.width + q["decoy_0_x_px"].round() as usize;
            let frame = &recording.frames[0];
            let mut sorted = frame.clone();
            sorted.sort_unstable();
            let counts = f64::from(sorted[sorted.len() / 2]) - f64::from(frame[at]);
            let kelvin = counts / sensor.gain_counts_per_radiance / sensor.radiance_of_difference(1.0);
            assert!(kelvin > 0.5, "{decoy:?}: {kelvin}");
        }
    }

    #[test]
    fn every_target_has_its_leak_inside_its_search_area() {
        for (target, distance_m) in [(Target::Tread, 0.4), (Target::Bead, 1.25), (Target::Valve, 0.4)] {
            for seed in 0..4 {
                let params = quick(Params { target, distance_m, hole_mm: Some(0.1), ..Params::default() });
                let recording = simulate(&params, &Sensor::medium(), seed);
                let [x, y] = recording.truth.place.as_ref().unwrap().at;
                let shape = recording.places[0].shape;
                assert!(shape.contains(x.round() as i32, y.round() as i32), "{target:?} {x} {y} {shape:?}");
            }
        }
    }
}
