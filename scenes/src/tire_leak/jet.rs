//! Flow and cooling of a small air leak, and the cold spot it makes on rubber.

use crate::material::RUBBER_W_PER_M_K;

/// Discharge coefficient of the hole (vehicle.md section 2.1).
const DISCHARGE: f64 = 0.7;
/// Gas constant of dry air in J/(kg K) (memory: ISO 2533).
const AIR_J_PER_KG_K: f64 = 287.05;
/// Heat capacity of air at constant pressure in J/(kg K) (memory).
const AIR_CP: f64 = 1_005.0;
/// Ratio of heat capacities of air (memory).
const GAMMA: f64 = 1.4;
/// Density of free air at 20 °C in kg/m³ (computed from 101.325 kPa).
const FREE_AIR_KG_PER_M3: f64 = 1.204;
/// Standard atmosphere in kPa (memory: ISO 2533).
const ATMOSPHERE_KPA: f64 = 101.325;
/// How much colder than the tire the jet leaves a short hole, in K: the unrecovered part of the choked expansion
/// (vehicle.md section 2.1, upper bound).
pub const JET_K: f64 = 6.0;
/// Depth scale in m over which surface heat exchange ends the spot's tail: k/h with h 10 W/m²K (derived).
const TAIL_M: f64 = 0.02;

/// A leak in a tire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leak {
    /// Diameter of the hole in mm, 0.005–0.5.
    pub hole_mm: f64,
    /// How much of the jet's cold reaches the outer surface: 1 for a short straight hole, 0.1 for a long crooked one.
    pub path_factor: f64,
    /// Gauge pressure in kPa, 180–400. From 95 kPa the flow is choked; below, these formulas do not hold.
    pub pressure_kpa: f64,
    /// Temperature of the tire and its air in K.
    pub tire_k: f64,
    /// How much warmer than the tire its air is, in K; 0 after a soak.
    pub warm_air_k: f64,
    /// Radius of the wetted disc on the surface in m, 0.001–0.0075.
    pub spot_m: f64,
}

impl Leak {
    /// Mass flow in kg/s: choked orifice, C_d·G·p₀·A.
    #[must_use]
    pub fn kg_per_s(&self) -> f64 {
        let area = std::f64::consts::FRAC_PI_4 * self.hole_mm * self.hole_mm * 1e-6;
        // For γ = 1.4 the exponent (γ+1)/(2(γ−1)) is 3, so G = √(γ/RT)·(2/(γ+1))³.
        let throat = 2.0 / (GAMMA + 1.0);
        let g = libm::sqrt(GAMMA / (AIR_J_PER_KG_K * self.tire_k)) * throat * throat * throat;
        DISCHARGE * g * (self.pressure_kpa + ATMOSPHERE_KPA) * 1e3 * area
    }

    /// Flow of free air in L/min.
    #[must_use]
    pub fn liters_per_min(&self) -> f64 {
        self.kg_per_s() / FREE_AIR_KG_PER_M3 * 60e3
    }

    /// Initial pressure loss in kPa per day of a tire of `volume_l`.
    #[must_use]
    pub fn kpa_per_day(&self, volume_l: f64) -> f64 {
        self.kg_per_s() * AIR_J_PER_KG_K * self.tire_k / volume_l * 86_400.0
    }

    /// Cooling in W that the surface could get at most.
    #[must_use]
    pub fn available_w(&self) -> f64 {
        self.kg_per_s() * AIR_CP * JET_K * self.path_factor
    }

    /// Depth in K of the steady spot, positive if cold.
    ///
    /// Jet and rubber share the difference: G/(G + 4ka) of what the jet arrives with. For small flows this is the
    /// available cooling over 4ka; for large ones no surface gets colder than the jet, which is where the simple
    /// quotient would go wrong by orders of magnitude.
    #[must_use]
    pub fn spot_k(&self) -> f64 {
        let jet = self.kg_per_s() * AIR_CP;
        let rubber = disc_w_per_k(self.spot_m);
        jet / (jet + rubber) * self.path_factor * (JET_K - self.warm_air_k)
    }
}

/// Conductance in W/K from an isothermal disc of `radius_m` into a half space of rubber: 4ka.
#[must_use]
pub fn disc_w_per_k(radius_m: f64) -> f64 {
    4.0 * RUBBER_W_PER_M_K * radius_m
}

/// Share of the spot's depth at a distance from its center, 1 on the disc.
///
/// Beyond the disc the exact surface solution of the half space, (2/π)·asin(a/r), ended by surface heat exchange.
#[must_use]
pub fn spot_share(distance_m: f64, radius_m: f64) -> f64 {
    if distance_m <= radius_m {
        return 1.0;
    }
    std::f64::consts::FRAC_2_PI * libm::asin(radius_m / distance_m) * libm::exp(-(distance_m - radius_m) / TAIL_M)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEAK: Leak =
        Leak { hole_mm: 0.1, path_factor: 1.0, pressure_kpa: 220.0, tire_k: 293.15, warm_air_k: 0.0, spot_m: 0.0015 };
    /// Volume of the tire in the tables, in L.
    const VOLUME_L: f64 = 35.0;

    /// Flow, pressure loss and cooling per hole: first table of vehicle.md section 2.1, printed to two digits.
    #[test]
    fn hole_table_of_vehicle_2_1() {
        for (hole_mm, flow, kpa_per_min, watts) in
            [(0.1, 0.21, 0.6, 0.025), (0.2, 0.83, 2.4, 0.10), (0.3, 1.9, 5.4, 0.23), (0.5, 5.2, 15.0, 0.63)]
        {
            let leak = Leak { hole_mm, ..LEAK };
            let close = |value: f64, table: f64| (value / table - 1.0).abs() < 0.04;
            assert!(close(leak.liters_per_min(), flow), "{hole_mm}: {}", leak.liters_per_min());
            let per_min = leak.kpa_per_day(VOLUME_L) / 1440.0;
            assert!(close(per_min, kpa_per_min), "{hole_mm}: {per_min}");
            assert!(close(leak.available_w(), watts), "{hole_mm}: {}", leak.available_w());
        }
        let smallest = Leak { hole_mm: 0.05, ..LEAK }.kpa_per_day(VOLUME_L);
        assert!((smallest - 220.0).abs() < 10.0, "{smallest}");
    }

    /// Spot per loss rate: second table. It divides the available cooling by 4ka, so it is an upper bound of ours.
    #[test]
    fn spot_table_of_vehicle_2_1() {
        assert!((disc_w_per_k(0.0015) - 1.2e-3).abs() < 1e-9);
        let of_table = Leak { hole_mm: 0.05, ..LEAK };
        for (kpa_per_day, spot) in [(7.0, 0.17), (20.0, 0.5), (100.0, 2.4)] {
            // Flow goes with the square of the hole.
            let hole_mm = 0.05 * libm::sqrt(kpa_per_day / of_table.kpa_per_day(VOLUME_L));
            let leak = Leak { hole_mm, ..LEAK };
            let bound = leak.available_w() / disc_w_per_k(leak.spot_m);
            assert!((bound / spot - 1.0).abs() < 0.05, "{kpa_per_day}: {bound}");
            let shared = leak.spot_k();
            // Sharing turns x into x/(1 + x/6 K).
            assert!((shared - bound / (1.0 + bound / JET_K)).abs() < 1e-9, "{shared}");
        }
        assert!(Leak { hole_mm: 0.5, ..LEAK }.spot_k() < JET_K);
    }

    #[test]
    fn air_warmer_than_the_jets_cold_makes_a_warm_spot() {
        let warm = Leak { warm_air_k: 9.0, ..LEAK };
        assert!(warm.spot_k() < 0.0 && LEAK.spot_k() > 0.0);
    }

    /// The scene's rule for the width of a feature takes 2.7 radii as the width at half depth.
    #[test]
    fn width_at_half_depth() {
        for radius in [0.001, 0.002, 0.004] {
            let share = spot_share(0.5 * crate::tire_leak::HALF_DEPTH_WIDTH * radius, radius);
            assert!((share - 0.5).abs() < 0.03, "{radius}: {share}");
        }
    }

    #[test]
    fn the_tail_leaves_the_disc_without_a_step_and_falls() {
        assert!((spot_share(0.001501, 0.0015) - 1.0).abs() < 0.03);
        assert!(spot_share(0.003, 0.0015) < 0.34 && spot_share(0.003, 0.0015) > 0.29);
        assert!(spot_share(0.05, 0.0015) < 0.003);
    }
}
