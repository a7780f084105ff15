//! A wheel as seen from its side: tire, rim, spokes, and through the openings the rotor and the caliper.

use crate::brake::heat::Rises;
use crate::draw::Draw;
use crate::material::{Emissivity, LACQUER, PAINT, PLASTIC, RUBBER};
use crate::render::Surface;
use crate::sensor::Sensor;
use crate::site::Site;

/// Radii as shares of the tire's outer radius (proposal; a 280 mm rotor in a 400 mm rim in a 640 mm tire).
pub(super) const ROTOR: (f64, f64) = (0.26, 0.44);
/// Outer ring of the rim, front face.
pub(super) const RIM: (f64, f64) = (0.555, 0.645);
const HUB: f64 = 0.13;
const SPOKE_ROOT: f64 = 0.20;
/// Caliper block: radii and half of its angle in rad.
pub(super) const CALIPER: (f64, f64) = (0.30, 0.50);
const CALIPER_HALF_RAD: f64 = 0.38;
/// Spokes, and half of the angle of each in rad.
const SPOKES: f64 = 5.0;
const SPOKE_HALF_RAD: f64 = 0.22;
/// The tire's outer radius as a share of the frame height: the rim fills the frame, the tire is cut off.
const FILL: f64 = 0.62;
/// Share of the rotor's rise by which the inside of the wheel is warmed (proposal).
const WELL_SHARE: f64 = 0.08;
/// Rise of the inner edge of the face as a share of the outer one: heat enters outside (proposal).
const INNER_SHARE: f64 = 0.95;
/// Mean rise of the face as a share of that of its outer edge: over a ring from a to b, what grows straight outward has
/// its area mean (2b + a)/(3(a + b)) of the way.
pub(super) const FACE_SHARE: f64 =
    INNER_SHARE + (1.0 - INNER_SHARE) * (2.0 * ROTOR.1 + ROTOR.0) / (3.0 * (ROTOR.0 + ROTOR.1));

/// One side of the axle in the picture.
#[derive(Clone, Copy, Debug)]
pub(super) struct Picture {
    /// Center of the wheel in px.
    pub(super) center: (f64, f64),
    /// Outer radius of the tire in px.
    pub(super) radius: f64,
    /// Angle of the caliper in rad: 0 to the right, π to the left.
    pub(super) caliper_rad: f64,
    rotor_e: f64,
    rim_e: f64,
    caliper_e: f64,
    rubber_e: f64,
    dark_e: f64,
    tire_k: f64,
}

impl Picture {
    /// The wheel of one side; `rotor` is the finish of its rotor, `caliper_rad` where the caliper is.
    pub(super) fn new(sensor: &Sensor, rotor: Emissivity, caliper_rad: f64, tire_rise_k: f64, draw: &mut Draw) -> Self {
        let jitter = 0.02 * sensor.height as f64;
        Self {
            center: (
                0.5 * (sensor.width - 1) as f64 + draw.uniform(-jitter, jitter),
                0.5 * (sensor.height - 1) as f64 + draw.uniform(-jitter, jitter),
            ),
            radius: FILL * sensor.height as f64 * draw.uniform(0.98, 1.02),
            caliper_rad,
            rotor_e: rotor.draw(draw),
            rim_e: LACQUER.draw(draw),
            caliper_e: PAINT.draw(draw),
            rubber_e: RUBBER.draw(draw),
            dark_e: PLASTIC.draw(draw),
            tire_k: tire_rise_k,
        }
    }

    /// True emissivity of the rotor.
    pub(super) const fn rotor_e(&self) -> f64 {
        self.rotor_e
    }

    /// Pixel at a radius (share of the tire's) in the direction of the caliper.
    pub(super) fn at_caliper(&self, share: f64) -> (f64, f64) {
        let (sine, cosine) = libm::sincos(self.caliper_rad);
        let radius = share * self.radius;
        (self.center.0 + radius * cosine, self.center.1 + radius * sine)
    }

    /// What is seen at a point.
    pub(super) fn surface(&self, site: &Site, rises: &Rises, x: f64, y: f64) -> Surface {
        let (dx, dy) = (x - self.center.0, y - self.center.1);
        let share = libm::sqrt(dx * dx + dy * dy) / self.radius;
        let (rise_k, emissivity) = self.part(rises, share, || libm::atan2(dy, dx));
        Surface { kelvin: site.air_k() + rise_k, emissivity, reflected_k: site.reflected_k }
    }

    /// Rise and emissivity at a radius and angle; the angle is only asked for where it matters.
    fn part(&self, rises: &Rises, share: f64, angle: impl FnOnce() -> f64) -> (f64, f64) {
        if share > 1.0 {
            return (0.0, self.dark_e);
        }
        if share > RIM.1 {
            return (self.tire_k, self.rubber_e);
        }
        if share > RIM.0 {
            return (rises.rim_k, self.rim_e);
        }
        if share < HUB {
            return (rises.hub_k, self.dark_e);
        }
        let from_caliper = wrapped(angle() - self.caliper_rad);
        if share < SPOKE_ROOT || spoke(from_caliper) {
            return (rises.rim_k, self.rim_e);
        }
        if share > CALIPER.0 && share < CALIPER.1 && libm::fabs(from_caliper) < CALIPER_HALF_RAD {
            return (rises.caliper_k, self.caliper_e);
        }
        if share > ROTOR.0 && share < ROTOR.1 {
            let outward = (share - ROTOR.0) / (ROTOR.1 - ROTOR.0);
            return (rises.rotor_k * (INNER_SHARE + (1.0 - INNER_SHARE) * outward), self.rotor_e);
        }
        (WELL_SHARE * rises.rotor_k + (1.0 - WELL_SHARE) * rises.rim_k, self.dark_e)
    }
}

/// True on a spoke; an opening is centered on the caliper, as the operator turns the wheel for it.
fn spoke(from_caliper: f64) -> bool {
    let pitch = std::f64::consts::TAU / SPOKES;
    let in_pitch = from_caliper - pitch * libm::floor(from_caliper / pitch);
    libm::fabs(in_pitch - 0.5 * pitch) < SPOKE_HALF_RAD
}

/// Angle in −π…π.
fn wrapped(angle: f64) -> f64 {
    angle - std::f64::consts::TAU * libm::round(angle / std::f64::consts::TAU)
}
