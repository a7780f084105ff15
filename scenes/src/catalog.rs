//! Every check with the cases it is tried with, and the drawing of one.

use crate::case::{Case, Decoy, Gate, Severity};
use crate::checks;
use crate::recording::Recording;
use crate::sensor::Sensor;
use crate::stage::{Instruments, Stage};

/// What can be drawn for a check.
#[derive(Debug)]
pub struct Check {
    /// Key, as in recordings.
    pub key: &'static str,
    /// Section of vehicle.md.
    pub section: &'static str,
    /// What the operator writes into the title.
    pub what: &'static str,
    /// Range of the air temperature in °C.
    pub air_c: (f64, f64),
    /// Instruments it is done with.
    pub instruments: Instruments,
    /// Fault ids; the first is the one of unresolvable and gated scenes.
    pub faults: &'static [&'static str],
    /// Gates that apply.
    pub gates: &'static [Gate],
    /// Decoys that apply; at least one, so that half of the sound scenes or more have one.
    pub decoys: &'static [Decoy],
    /// Makes the recording.
    pub(crate) simulate: fn(Stage) -> Recording,
}

/// All checks: the five that were needed first, then in the order of vehicle.md section 2.
pub static CHECKS: [&Check; 21] = [
    &checks::brake::CHECK,
    &checks::tire_leak::CHECK,
    &checks::joint::CHECK,
    &checks::tread::CHECK,
    &checks::hub::CHECK,
    &checks::seat_heater::CHECK,
    &checks::steering_heater::CHECK,
    &checks::defroster::CHECK,
    &checks::battery::CHECK,
    &checks::charging::CHECK,
    &checks::fuse_box::CHECK,
    &checks::lead::CHECK,
    &checks::standby_draw::CHECK,
    &checks::exhaust_leak::CHECK,
    &checks::ports::CHECK,
    &checks::catalyst::CHECK,
    &checks::belt_drive::CHECK,
    &checks::radiator::CHECK,
    &checks::thermostat::CHECK,
    &checks::heater_core::CHECK,
    &checks::air_conditioning::CHECK,
];

/// The check with a key.
#[must_use]
pub fn check(key: &str) -> Option<&'static Check> {
    CHECKS.iter().copied().find(|check| check.key == key)
}

impl Check {
    /// Every case of this check, each once.
    #[must_use]
    pub fn cases(&self) -> Vec<Case> {
        let faults = self.faults.iter().flat_map(|fault| Severity::ALL.map(|severity| Case::Fault { fault, severity }));
        [Case::Normal]
            .into_iter()
            .chain(self.decoys.iter().map(|decoy| Case::Decoy(*decoy)))
            .chain(faults)
            .chain([Case::Unresolvable])
            .chain(self.gates.iter().map(|gate| Case::Gated(*gate)))
            .collect()
    }

    /// A sweep of each fault, see [`Case::Sweep`].
    #[must_use]
    pub fn sweeps(&self) -> Vec<Case> {
        self.faults.iter().map(|fault| Case::Sweep { fault }).collect()
    }

    /// Draws a case or a sweep, with `sensor` instead of a drawn instrument if one is given.
    ///
    /// # Panics
    /// If the check has no such case.
    #[must_use]
    pub fn draw(&'static self, case: Case, seed: u64, sensor: Option<&Sensor>) -> Recording {
        let known = self.cases().contains(&case) || self.sweeps().contains(&case);
        assert!(known, "check {} has no case {case}", self.key);
        let mut recording = (self.simulate)(Stage::new(self, case, seed, sensor));
        // What was asked for, so that the recording can be drawn again; the scene's own seed follows from both.
        recording.truth.case = Some(case.to_string());
        recording.truth.seed = seed;
        recording
    }
}

/// Every case of a check; none if there is no such check.
#[must_use]
pub fn cases(check: &str) -> Vec<Case> {
    self::check(check).map(Check::cases).unwrap_or_default()
}

/// Draws a recording of a case of a check. Costs below two seconds in release; the same arguments give the same bytes.
///
/// Take seeds from [`crate::case::SeedSet`], so that what is tuned is not reported on.
///
/// # Panics
/// If there is no such check, or if it has no such case: see [`cases`].
#[must_use]
pub fn draw(check: &str, case: Case, seed: u64) -> Recording {
    let Some(found) = self::check(check) else { panic!("no check {check}") };
    found.draw(case, seed, None)
}
