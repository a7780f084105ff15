//! From what a recording states to the types of the embedded library.

use crate::recording::{Housing, Recording, Repaired, Scale as Stated, StatedCurve};
use oddheat_core::checks::{Condition, Conditions, Place, Setup};
use oddheat_core::measure::InputUncertainty;
use oddheat_core::radiometry::{
    Curve, Emissivity, LinearScale, MeasurementEquation, Scale, Scene, Transmittance, TwoRange,
};
use oddheat_core::units::{ICE_POINT_K, celsius};
use oddheat_core::{Error, Result};

/// A curve in the library's own type.
pub(crate) fn curve(c: StatedCurve) -> Result<Curve> {
    Curve::sakuma_hattori(c.a_um, c.b_um_k, c.c_counts)?.with_offset(c.offset_counts)?.with_shape(c.shape)
}

/// The scale in the library's own type. Two curves that do not meet, which a reader refuses, give no temperature.
pub(crate) fn scale(stated: &Stated) -> Result<Scale> {
    Ok(match *stated {
        Stated::Curve { a_um, b_um_k, c_counts, offset_counts, shape } => {
            Scale::Curve(curve(StatedCurve { a_um, b_um_k, c_counts, offset_counts, shape })?)
        }
        Stated::TwoRange { low, high, hand_over_c, tolerance_k } => {
            let pair = TwoRange::new(curve(low)?, curve(high)?, hand_over_c + ICE_POINT_K, tolerance_k);
            Scale::TwoRange(pair.map_err(|_| Error::NoTemperature)?)
        }
        Stated::Linear { counts_per_kelvin, zero_c } => Scale::Linear(LinearScale::new(counts_per_kelvin, zero_c)?),
    })
}

/// The instrument and the scene. A recording that was read has no value outside the ranges of the library; should one
/// slip through, the library refuses it here.
pub(crate) fn setup(recording: &Recording) -> Result<Setup> {
    let stated = &recording.scene;
    // Absent temperatures are those that no equation needs: nothing reflects, nothing attenuates.
    let reflected = celsius(stated.reflected_c.unwrap_or(20.0));
    let medium = celsius(stated.medium_c.unwrap_or(20.0));
    let scene = Scene::new(Emissivity::new(stated.emissivity)?)
        .reflected(reflected)
        .through(Transmittance::new(stated.transmittance)?, medium);
    let sensor = &recording.sensor;
    Ok(Setup {
        width: recording.width,
        height: recording.height,
        scale: scale(&recording.scale)?,
        scene,
        emissivity_u: stated.emissivity_u,
        inputs: InputUncertainty {
            netd_k: sensor.netd_k,
            calibration_k: sensor.calibration_k,
            slope_relative: sensor.slope_relative,
            drift_k: sensor.drift_k,
            uniformity_k: sensor.uniformity_k,
            reflected_k: stated.reflected_u_k,
            transmittance: stated.transmittance_u,
            medium_k: stated.medium_u_k,
            ..InputUncertainty::HANDHELD
        },
        dead_at_or_below: sensor.dead_at_or_below,
        saturated_at: sensor.saturated_at,
        ifov_mrad: sensor.ifov_mrad,
    })
}

/// The stated conditions. A statement that the instrument was warm does not hold against its own housing temperature.
pub(crate) fn conditions(recording: &Recording) -> Result<Conditions> {
    let contradicted = warmth_contradicted(recording);
    recording.conditions.iter().try_fold(Conditions::new(), |all, &(condition, value)| {
        let cold = contradicted && condition == Condition::InstrumentWarm;
        all.with(condition, if cold { 0.0 } else { value })
    })
}

/// Whether somebody stated a warm instrument while the monitor of its housing saw it change, or the drift model did not
/// cover the housing of some frame: what a warm instrument is stated for, a known offset, is then not had. A recording
/// too short for a slope contradicts nobody.
pub(crate) fn warmth_contradicted(recording: &Recording) -> bool {
    let stated = recording.conditions.iter().any(|&(c, value)| c == Condition::InstrumentWarm && value != 0.0);
    let unsteady = |repaired: &Repaired| repaired.housing == Housing::Changing || repaired.drift_unknown();
    stated && recording.repair.as_ref().is_some_and(unsteady)
}

/// The placed shapes.
pub(crate) fn places(recording: &Recording) -> Result<Vec<Place>> {
    recording
        .places
        .iter()
        .map(|place| {
            let emissivity = Some((Emissivity::new(place.emissivity)?, place.emissivity_u));
            Ok(Place { role: place.role, view: place.view, shape: place.shape, emissivity })
        })
        .collect()
}

/// The measurement equation of a surface with this emissivity.
pub(crate) fn equation(setup: &Setup, emissivity: Option<Emissivity>) -> Result<MeasurementEquation> {
    let scene = emissivity.map_or(setup.scene, |emissivity| setup.scene.with_emissivity(emissivity));
    MeasurementEquation::new(&setup.scale, &scene)
}

/// Names the recording in an error of the library.
pub(crate) fn in_recording(recording: &Recording) -> impl Fn(Error) -> miette::Report + '_ {
    |error| miette::miette!("{}: {error}", recording.path.display())
}
