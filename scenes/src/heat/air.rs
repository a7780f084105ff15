//! What still air and radiation take from a surface, in W/(m² K).

/// Stefan–Boltzmann constant in W/(m² K⁴) (exact since the SI of 2019).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Air near 30 °C: conductivity in W/(m K), kinematic viscosity in m²/s, Prandtl number (memory: usual tables).
const AIR_W_PER_M_K: f64 = 0.0264;
const AIR_M2_PER_S: f64 = 1.6e-5;
const AIR_PRANDTL: f64 = 0.71;
const GRAVITY: f64 = 9.806_65;

/// Nusselt number of a vertical plate in still fluid: Churchill and Chu (1975), for every Rayleigh number
/// (memory; checked against the `ht` values of radiometry.md section 8).
#[must_use]
pub fn nusselt_vertical(prandtl: f64, grashof: f64) -> f64 {
    let denominator = libm::pow(1.0 + libm::pow(0.492 / prandtl, 9.0 / 16.0), 8.0 / 27.0);
    let root = 0.825 + 0.387 * libm::pow(prandtl * grashof, 1.0 / 6.0) / denominator;
    root * root
}

/// Nusselt number of a horizontal plate, hot side up: McAdams, laminar below Ra 10⁷ (memory; turbulent branch checked
/// against the `ht` value of radiometry.md section 8).
#[must_use]
pub fn nusselt_horizontal(prandtl: f64, grashof: f64) -> f64 {
    let rayleigh = prandtl * grashof;
    if rayleigh < 1e7 { 0.54 * libm::pow(rayleigh, 0.25) } else { 0.15 * libm::cbrt(rayleigh) }
}

/// How a surface stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// Upright; the length is its height.
    Upright,
    /// Flat, warm side up; the length is its area over its perimeter.
    Flat,
}

/// Free convection and radiation together in W/(m² K), for a surface of `length_m` that is `rise_k` (> 0) warmer than
/// air and walls at `air_k`.
///
/// Linear in rises only near the one it is asked for: scenes ask for the middle of what they expect.
#[must_use]
pub fn surface_w_per_m2_k(stands: Stands, length_m: f64, rise_k: f64, air_k: f64, emissivity: f64) -> f64 {
    let film = air_k + 0.5 * rise_k;
    let grashof = GRAVITY * rise_k * length_m * length_m * length_m / (film * AIR_M2_PER_S * AIR_M2_PER_S);
    let nusselt = match stands {
        Stands::Upright => nusselt_vertical(AIR_PRANDTL, grashof),
        Stands::Flat => nusselt_horizontal(AIR_PRANDTL, grashof),
    };
    nusselt * AIR_W_PER_M_K / length_m + 4.0 * emissivity * STEFAN_BOLTZMANN * film * film * film
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `ht` 1.2.0 values of radiometry.md section 8.
    #[test]
    fn nusselt_numbers_of_radiometry_8() {
        for (value, expected) in [
            (nusselt_vertical(0.7, 1e8), 54.819_822_879_613_504),
            (nusselt_vertical(0.69, 2.63e9), 147.161_852_237_706_03),
            (nusselt_horizontal(5.54, 3.21e8), 181.731_212_743_844_57),
        ] {
            assert!((value / expected - 1.0).abs() < 1e-12, "{value} {expected}");
        }
    }

    /// "8.2 (5 cm, 1 K), 9.6 (5 cm, 5 K), 11.7 (2 cm, 10 K)" of vehicle.md section 2.13, from a rougher formula with
    /// ±20 % stated.
    #[test]
    fn surface_coefficient_of_vehicle_2_13() {
        for (length, rise, expected) in [(0.05, 1.0, 8.2), (0.05, 5.0, 9.6), (0.02, 10.0, 11.7)] {
            let h = surface_w_per_m2_k(Stands::Upright, length, rise, 293.15, 0.95);
            assert!((h / expected - 1.0).abs() < 0.2, "{length} {rise}: {h}");
        }
    }
}
