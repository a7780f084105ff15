//! Tread, bead and valve as seen from close by, with what lies on them.

use crate::draw::Draw;
use crate::material::{LACQUER, PLASTIC, RUBBER, WATER, WORN_STEEL};
use crate::place::{Hand, Role, Shape};
use crate::render::Surface;
use crate::sensor::Sensor;
use crate::site::Site;
use crate::tire_leak::jet::spot_share;
use crate::tire_leak::{Decoy, Params, Rim, Target};

/// Width of the tread in mm and its grooves: circumferential (width, pitch) and across (width, pitch) (proposal).
const TREAD_MM: f64 = 190.0;
const GROOVES_MM: (f64, f64) = (8.0, 38.0);
const CROSS_MM: (f64, f64) = (4.0, 32.0);
/// Grooves are cavities, so their emissivity is nearer to 1 (proposal; makes at most 0.15 K indoors).
const GROOVE_E: f64 = 0.98;
/// Bead seat: outer edge of the rim flange, the gap behind it, and the search ring, as radii in mm (proposal, 14 inch).
const FLANGE_MM: (f64, f64) = (178.0, 190.0);
const GAP_MM: f64 = 1.5;
const BEAD_SEARCH_MM: (f64, f64) = (186.0, 204.0);
/// Valve: radius of the rubber base, of the stem's metal with the cap off, and outer radius of the search ring, in mm.
const VALVE_BASE_MM: f64 = 11.0;
const VALVE_CORE_MM: f64 = 3.5;
const VALVE_SEARCH_MM: f64 = 22.0;
/// What metal leaves of a spot: it spreads heat hundreds of times better than rubber (vehicle.md section 2.1; value
/// proposed).
const ON_METAL: f64 = 0.05;
/// Emissivity of a bare rim or valve stem (read: 0.09–0.31 in radiometry.md section 4).
const BARE_E: f64 = 0.15;
/// Plume: length in mm, its widening, and its depth as a share of the spot (proposal; "plume-shaped tail" in 2.1).
const PLUME_MM: f64 = 12.0;
const PLUME_WIDENS: f64 = 0.25;
const PLUME_SHARE: f64 = 0.6;
/// Beyond this distance in mm a spot is not computed: less than 1/1000 of it is left.
const SPOT_REACH_MM: f64 = 70.0;

/// Material that a sight line meets.
struct Part {
    emissivity: f64,
    metal: bool,
}

/// Something that is not a leak.
#[derive(Clone, Copy, Debug)]
struct Thing {
    at: (f64, f64),
    radii: (f64, f64),
    cooler_k: f64,
    emissivity: f64,
    mirrors_cooler_k: f64,
}

/// The scene in mm; the origin is the middle of the picture.
#[derive(Clone, Debug)]
pub(super) struct Picture {
    mm_per_px: f64,
    half_mm: (f64, f64),
    target: Target,
    rim: Rim,
    rubber_e: f64,
    lacquer_e: f64,
    dark_e: f64,
    gradient_k: [f64; 3],
    things: Vec<Thing>,
    /// Center of the leak in mm.
    pub(super) leak: (f64, f64),
    spot_mm: f64,
    plume: Option<(f64, f64)>,
}

impl Picture {
    pub(super) fn new(params: &Params, sensor: &Sensor, draw: &mut Draw) -> Self {
        let mm_per_px = sensor.mm_per_px(params.distance_m);
        let half_mm = (0.5 * mm_per_px * sensor.width as f64, 0.5 * mm_per_px * sensor.height as f64);
        let mut picture = Self {
            mm_per_px,
            half_mm,
            target: params.target,
            rim: params.rim,
            rubber_e: RUBBER.draw(draw),
            lacquer_e: LACQUER.draw(draw),
            dark_e: PLASTIC.draw(draw),
            gradient_k: [0.2, 0.2, 0.1].map(|k| draw.uniform(-k, k)),
            things: Vec::new(),
            leak: (0.0, 0.0),
            spot_mm: 0.5 * params.spot_mm,
            plume: None,
        };
        picture.leak = picture.somewhere(draw);
        if params.plume {
            let (sine, cosine) = libm::sincos(draw.uniform(0.0, std::f64::consts::TAU));
            picture.plume = Some((cosine, sine));
        }
        for decoy in &params.decoys {
            // Far enough from the leak that each is judged for itself.
            let mut at = picture.somewhere(draw);
            for _ in 0..50 {
                if distance(at, picture.leak) > 25.0 {
                    break;
                }
                at = picture.somewhere(draw);
            }
            picture.things.push(thing(*decoy, at, draw));
        }
        picture
    }

    /// A point at which a leak of this target may be.
    fn somewhere(&self, draw: &mut Draw) -> (f64, f64) {
        match self.target {
            Target::Tread => {
                (draw.uniform(-0.4, 0.4) * TREAD_MM.min(2.0 * self.half_mm.0), draw.uniform(-0.7, 0.7) * self.half_mm.1)
            }
            Target::Bead => {
                let (sine, cosine) = libm::sincos(draw.uniform(0.0, std::f64::consts::TAU));
                let radius = FLANGE_MM.1 + GAP_MM;
                (radius * cosine, radius * sine)
            }
            Target::Valve => {
                let (sine, cosine) = libm::sincos(draw.uniform(0.0, std::f64::consts::TAU));
                let radius = 0.8 * VALVE_BASE_MM;
                (radius * cosine, radius * sine)
            }
        }
    }

    /// Pixel coordinates of a point in mm.
    pub(super) fn px(&self, (x, y): (f64, f64)) -> (f64, f64) {
        ((x + self.half_mm.0) / self.mm_per_px - 0.5, (y + self.half_mm.1) / self.mm_per_px - 0.5)
    }

    /// Pixel coordinates of the decoys.
    pub(super) fn decoys_px(&self) -> Vec<(f64, f64)> {
        self.things.iter().map(|thing| self.px(thing.at)).collect()
    }

    /// Millimeters of a pixel.
    pub(super) const fn mm_per_px(&self) -> f64 {
        self.mm_per_px
    }

    /// Largest departure of the background from the tire's mean, in K.
    pub(super) fn unevenness_k(&self) -> f64 {
        self.gradient_k.iter().map(|k| libm::fabs(*k)).sum()
    }

    /// The area an operator would search.
    pub(super) fn search(&self, sensor: &Sensor, hand: &mut Hand) -> (Role, Shape) {
        let last = [sensor.width as i32 - 1, sensor.height as i32 - 1];
        let inside = |[x, y]: [i32; 2]| [x.clamp(0, last[0]), y.clamp(0, last[1])];
        let mut corners = |half: (f64, f64)| {
            let (from, to) = (self.px((-half.0, -half.1)), self.px(half));
            Shape::Box { from: inside(hand.point(from.0, from.1)), to: inside(hand.point(to.0, to.1)) }
        };
        match self.target {
            // Inside the shoulders and off the picture's border.
            Target::Tread => (Role::Tread, corners((0.46 * TREAD_MM, self.half_mm.1 - 6.0 * self.mm_per_px))),
            // Around the stem, which is bare metal; a pixel keeps its blurred edge out.
            Target::Valve => (Role::Valve, self.ring((VALVE_CORE_MM + self.mm_per_px, VALVE_SEARCH_MM), hand)),
            Target::Bead => (Role::Bead, self.ring(BEAD_SEARCH_MM, hand)),
        }
    }

    /// A ring around the middle of the picture, radii in mm.
    fn ring(&self, (inner, outer): (f64, f64), hand: &mut Hand) -> Shape {
        let (x, y) = self.px((0.0, 0.0));
        hand.ring(x, y, inner / self.mm_per_px, outer / self.mm_per_px)
    }

    fn part(&self, x: f64, y: f64) -> Part {
        let rubber = Part { emissivity: self.rubber_e, metal: false };
        let hollow = Part { emissivity: GROOVE_E, metal: false };
        let metal = match self.rim {
            Rim::Lacquered => Part { emissivity: self.lacquer_e, metal: true },
            Rim::Bare => Part { emissivity: BARE_E, metal: true },
        };
        match self.target {
            Target::Tread => {
                if libm::fabs(x) > 0.5 * TREAD_MM {
                    return Part { emissivity: self.dark_e, metal: false };
                }
                let groove = 0.5 * GROOVES_MM.1 - libm::fabs(libm::fabs(x) % GROOVES_MM.1 - 0.5 * GROOVES_MM.1);
                let rib = libm::floor((x + 0.5 * TREAD_MM) / GROOVES_MM.1);
                // Blocks of neighboring ribs are staggered.
                let across = (y + 10.0 * CROSS_MM.1 + 0.4 * rib * CROSS_MM.1) % CROSS_MM.1;
                if groove < 0.5 * GROOVES_MM.0 || across < CROSS_MM.0 { hollow } else { rubber }
            }
            Target::Bead => {
                let radius = distance((x, y), (0.0, 0.0));
                if radius < FLANGE_MM.0 {
                    Part { emissivity: self.lacquer_e, metal: true }
                } else if radius < FLANGE_MM.1 {
                    metal
                } else if radius < FLANGE_MM.1 + GAP_MM {
                    hollow
                } else {
                    rubber
                }
            }
            Target::Valve => {
                let radius = distance((x, y), (0.0, 0.0));
                if radius < VALVE_CORE_MM {
                    Part { emissivity: BARE_E, metal: true }
                } else if radius < VALVE_BASE_MM {
                    rubber
                } else {
                    metal
                }
            }
        }
    }

    /// Share of the leak's depth at a point.
    fn cold_share(&self, x: f64, y: f64) -> f64 {
        let (dx, dy) = (x - self.leak.0, y - self.leak.1);
        let radius = libm::sqrt(dx * dx + dy * dy);
        if radius > SPOT_REACH_MM {
            return 0.0;
        }
        let spot = spot_share(radius * 1e-3, self.spot_mm * 1e-3);
        let Some((cosine, sine)) = self.plume else {
            return spot;
        };
        let along = dx * cosine + dy * sine;
        if along < 0.0 {
            return spot;
        }
        let off = (dy * cosine - dx * sine) / (self.spot_mm + PLUME_WIDENS * along);
        spot.max(PLUME_SHARE * libm::exp(-along / PLUME_MM - off * off))
    }

    /// What is seen at a pixel while the leak's spot is `spot_k` deep on a tire at `tire_k`.
    pub(super) fn surface(&self, site: &Site, tire_k: f64, spot_k: f64, px: f64, py: f64) -> Surface {
        let x = (px + 0.5) * self.mm_per_px - self.half_mm.0;
        let y = (py + 0.5) * self.mm_per_px - self.half_mm.1;
        let (u, v) = (x / self.half_mm.0, y / self.half_mm.1);
        let [a, b, c] = self.gradient_k;
        let part = self.part(x, y);
        let share = if spot_k == 0.0 { 0.0 } else { self.cold_share(x, y) };
        let damped = if part.metal { ON_METAL } else { 1.0 };
        let kelvin = tire_k + a * u + b * v + c * u * v - spot_k * share * damped;
        for thing in &self.things {
            let (dx, dy) = ((x - thing.at.0) / thing.radii.0, (y - thing.at.1) / thing.radii.1);
            if dx * dx + dy * dy <= 1.0 {
                return Surface {
                    kelvin: kelvin - thing.cooler_k,
                    emissivity: thing.emissivity,
                    reflected_k: site.reflected_k - thing.mirrors_cooler_k,
                };
            }
        }
        Surface { kelvin, emissivity: part.emissivity, reflected_k: site.reflected_k }
    }
}

/// A decoy of ordinary size (proposal for all ranges).
fn thing(decoy: Decoy, at: (f64, f64), draw: &mut Draw) -> Thing {
    let radius = draw.uniform(2.0, 4.5);
    match decoy {
        // Evaporation: a drop stays some kelvin below the air, above the wet-bulb temperature.
        Decoy::Water => Thing {
            at,
            radii: (radius, radius * draw.uniform(0.6, 1.6)),
            cooler_k: draw.uniform(0.8, 3.0),
            emissivity: WATER.draw(draw),
            mirrors_cooler_k: 0.0,
        },
        // At tire temperature, but a mirror for a floor or door that is colder than the bay on average.
        Decoy::Nail => Thing {
            at,
            radii: (radius, radius),
            cooler_k: 0.0,
            emissivity: WORN_STEEL.draw(draw),
            mirrors_cooler_k: draw.uniform(2.0, 8.0),
        },
    }
}

fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    let (dx, dy) = (a.0 - b.0, a.1 - b.1);
    libm::sqrt(dx * dx + dy * dy)
}
