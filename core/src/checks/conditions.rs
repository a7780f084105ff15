//! What the person at the vehicle states.

use super::vocabulary::{Condition, Unit};
use crate::error::{Error, Quantity, Result};

/// Room for every condition number.
const CAPACITY: usize = 40;

/// Stated conditions; what is not stated is unknown, which is not the same as "no".
///
/// Values are kept in thousandths of the unit (millikelvin, ms, mA, Pa, mm, mL) and yes/no as 1 or 0, as in the C header.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Conditions {
    values: [i32; CAPACITY],
    stated: u64,
}

impl Default for Conditions {
    fn default() -> Self {
        Self::new()
    }
}

impl Conditions {
    /// Nothing stated.
    #[must_use]
    pub const fn new() -> Self {
        Self { values: [0; CAPACITY], stated: 0 }
    }

    /// States a condition in thousandths of its unit: mK (absolute, or a difference), ms, mA, Pa, mm, mL; 1 or 0 for
    /// yes/no.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a yes/no that is neither, a temperature not above 0 K or above 2,000 K, or any other
    /// negative value; nothing is then stated.
    pub fn set(&mut self, condition: Condition, thousandths: i32) -> Result<()> {
        let sound = match condition.unit() {
            Unit::YesNo => matches!(thousandths, 0 | 1),
            Unit::Temperature => (1..=2_000_000).contains(&thousandths),
            Unit::KelvinDifference
            | Unit::Seconds
            | Unit::Amperes
            | Unit::Kilopascals
            | Unit::Meters
            | Unit::Liters => thousandths >= 0,
        };
        let index = usize::from(condition.code());
        match self.values.get_mut(index) {
            Some(value) if sound => {
                *value = thousandths;
                self.stated |= 1 << index;
                Ok(())
            }
            _ => Err(Error::OutOfRange(Quantity::Condition)),
        }
    }

    /// States a condition in the unit of [`Condition::unit`]: °C, K, s, A, kPa, m, L; 1 or 0 for yes/no. Set-up only.
    ///
    /// # Errors
    /// As [`Conditions::set`]; also for a value that is not finite.
    #[allow(clippy::float_arithmetic, reason = "set-up")]
    pub fn state(&mut self, condition: Condition, value: f64) -> Result<()> {
        let thousandths = match condition.unit() {
            Unit::YesNo => value,
            Unit::Temperature => (value + crate::units::ICE_POINT_K) * 1000.0,
            Unit::KelvinDifference
            | Unit::Seconds
            | Unit::Amperes
            | Unit::Kilopascals
            | Unit::Meters
            | Unit::Liters => value * 1000.0,
        };
        if (-2_147_483_648.0..=2_147_483_647.0).contains(&thousandths) {
            self.set(condition, libm::round(thousandths) as i32)
        } else {
            Err(Error::OutOfRange(Quantity::Condition))
        }
    }

    /// The same conditions and one more; for building a set in one expression.
    ///
    /// # Errors
    /// As [`Conditions::state`].
    pub fn with(mut self, condition: Condition, value: f64) -> Result<Self> {
        self.state(condition, value)?;
        Ok(self)
    }

    /// The stated value in thousandths of the unit, or `None` if it was not stated.
    #[must_use]
    pub fn get(&self, condition: Condition) -> Option<i32> {
        let index = usize::from(condition.code());
        self.values.get(index).copied().filter(|_| self.stated & (1 << index) != 0)
    }

    /// Whether air warmer than the part is stated, which turns the sign of what is searched for.
    pub(super) fn air_is_warm(&self) -> bool {
        self.yes(Condition::WarmAir) == Some(true)
    }

    /// The stated yes/no, or `None` if it was not stated.
    #[must_use]
    pub fn yes(&self, condition: Condition) -> Option<bool> {
        self.get(condition).map(|value| value != 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_condition_has_room_and_keeps_its_value() {
        for &condition in Condition::ALL {
            let mut conditions = Conditions::new();
            assert_eq!(conditions.get(condition), None);
            conditions.set(condition, 1).unwrap();
            assert_eq!(conditions.get(condition), Some(1), "{}", condition.key());
            assert_eq!(conditions.stated.count_ones(), 1);
        }
    }

    #[test]
    fn impossible_values_are_refused_and_change_nothing() {
        let mut conditions = Conditions::new();
        for (condition, value) in [
            (Condition::AirTemperature, -274.0),
            (Condition::AirTemperature, f64::NAN),
            (Condition::Current, -1.0),
            (Condition::Shaded, 2.0),
            (Condition::SoakTime, 1e12),
        ] {
            assert_eq!(conditions.state(condition, value), Err(Error::OutOfRange(Quantity::Condition)));
        }
        assert_eq!(conditions, Conditions::new());
        conditions.state(Condition::AirTemperature, 21.0).unwrap();
        assert_eq!(conditions.get(Condition::AirTemperature), Some(294_150));
    }
}
