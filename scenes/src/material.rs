//! Emissivities and material constants of the scenes.
//!
//! An [`Emissivity`] has what an operator reads in a table and the range in which a real part lies.

use crate::draw::Draw;

/// Table value of a surface and the spread of real parts around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Emissivity {
    /// What a table says, 0–1.
    pub nominal: f64,
    /// Standard deviation of real parts.
    pub spread: f64,
    /// Limits of real parts.
    pub limits: (f64, f64),
}

/// Least standard uncertainty that an operator with a table would state (proposal: tables differ by about this much).
const LEAST_STATED_U: f64 = 0.02;

impl Emissivity {
    /// Standard uncertainty that the operator states with the nominal value.
    #[must_use]
    pub const fn stated_u(&self) -> f64 {
        self.spread.max(LEAST_STATED_U)
    }

    /// The emissivity of one real part.
    pub fn draw(&self, draw: &mut Draw) -> f64 {
        (self.nominal + draw.normal(self.spread)).clamp(self.limits.0, self.limits.1)
    }
}

/// Tire rubber, 0.92–0.96 (memory; radiometry.md section 4).
pub const RUBBER: Emissivity = Emissivity { nominal: 0.94, spread: 0.01, limits: (0.92, 0.96) };
/// Painted caliper, general paint 0.80–0.95 (read; radiometry.md section 4), black or gray organic.
pub const PAINT: Emissivity = Emissivity { nominal: 0.93, spread: 0.015, limits: (0.88, 0.95) };
/// Lacquered alloy wheel, 0.6–0.95 by lacquer thickness (common practice; vehicle.md section 1.2).
pub const LACQUER: Emissivity = Emissivity { nominal: 0.90, spread: 0.02, limits: (0.82, 0.95) };
/// Rotor face with an even oxide film, 0.6–0.9 (common practice; vehicle.md section 1.2).
pub const OXIDIZED_ROTOR: Emissivity = Emissivity { nominal: 0.80, spread: 0.03, limits: (0.70, 0.90) };
/// Freshly swept bright rotor face, 0.20–0.25 (read; radiometry.md section 4).
pub const SWEPT_ROTOR: Emissivity = Emissivity { nominal: 0.25, spread: 0.02, limits: (0.20, 0.35) };
/// Black vinyl tape, 0.95–0.97 (memory; radiometry.md section 4).
pub const TAPE: Emissivity = Emissivity { nominal: 0.95, spread: 0.008, limits: (0.93, 0.97) };
/// Cable insulation and battery case, 0.90–0.95 (memory; radiometry.md section 4).
pub const PLASTIC: Emissivity = Emissivity { nominal: 0.93, spread: 0.01, limits: (0.90, 0.95) };
/// Bare lead or brass clamp in use, between bright and gray oxide: 0.1–0.3 (memory; radiometry.md section 4).
pub const BARE_CLAMP: Emissivity = Emissivity { nominal: 0.20, spread: 0.04, limits: (0.10, 0.30) };
/// Head of a nail or screw worn bright by the road, 0.05–0.3 (memory; polished and worn steel in radiometry.md 4).
pub const WORN_STEEL: Emissivity = Emissivity { nominal: 0.20, spread: 0.05, limits: (0.05, 0.30) };
/// Water film or drop, 0.95–0.963 (read; radiometry.md section 4).
pub const WATER: Emissivity = Emissivity { nominal: 0.96, spread: 0.003, limits: (0.95, 0.963) };
/// Cotton or polyester seat cloth, 0.80–0.90 (read; radiometry.md section 4).
pub const CLOTH: Emissivity = Emissivity { nominal: 0.87, spread: 0.02, limits: (0.80, 0.92) };
/// Leather, 0.75–0.98 quoted, tables disagree (memory; radiometry.md section 4).
pub const LEATHER: Emissivity = Emissivity { nominal: 0.95, spread: 0.015, limits: (0.88, 0.98) };
/// Window glass, 0.90–0.95 (read; radiometry.md section 4).
pub const GLASS: Emissivity = Emissivity { nominal: 0.91, spread: 0.01, limits: (0.88, 0.94) };
/// Oxidized steel or cast iron of exhausts, 0.7–0.9 (common practice; vehicle.md section 1.2).
pub const OXIDIZED_STEEL: Emissivity = Emissivity { nominal: 0.80, spread: 0.03, limits: (0.70, 0.90) };
/// Bright stainless exhaust, 0.15–0.3 (common practice; vehicle.md section 1.2).
pub const BRIGHT_STAINLESS: Emissivity = Emissivity { nominal: 0.22, spread: 0.03, limits: (0.15, 0.30) };
/// Cast aluminum housing, 0.2–0.5 (memory; radiometry.md section 4).
pub const CAST_ALUMINUM: Emissivity = Emissivity { nominal: 0.35, spread: 0.05, limits: (0.20, 0.50) };

/// Heat capacity of cast iron in J/(kg K), 420–460 (R5 in vehicle.md section 4).
pub const IRON_J_PER_KG_K: f64 = 460.0;
/// Heat conductivity of tire rubber in W/(m K), 0.15–0.25 (R5 in vehicle.md section 4).
pub const RUBBER_W_PER_M_K: f64 = 0.2;
/// Heat conductivity of copper in W/(m K) (R5 in vehicle.md section 4).
pub const COPPER_W_PER_M_K: f64 = 390.0;
/// Resistivity of copper at cable temperatures in ohm mm²/m (memory: 0.0172 at 20 °C, +0.39 %/K).
pub const COPPER_OHM_MM2_PER_M: f64 = 0.0175;
