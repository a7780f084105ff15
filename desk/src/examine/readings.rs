//! Temperatures of the placed shapes.

use crate::recording::Recording;
use crate::setup;
use oddheat_core::checks::{Place, Setup};
use oddheat_core::measure::{Contribution, Reading, Statistic, Tally};
use oddheat_core::{Error, Result};

/// What a shape reads over the frames of its view.
#[derive(Clone, Debug)]
pub struct PlaceReading {
    /// The shape.
    pub place: Place,
    /// Valid pixels in a frame.
    pub pixels: u32,
    /// Frames.
    pub frames: u32,
    /// Whether the soak run does not cover the drift of some frame of the view: no temperature is then assessable, for
    /// nothing says by how much the offset is wrong.
    pub drift_unknown: bool,
    /// Mean object temperature in °C and its standard uncertainty in K, if the counts mean one and the drift is known.
    pub temperature: Option<(f64, f64)>,
    /// The parts that the standard uncertainty is made of, in the order of the library's components; empty without a
    /// temperature. Their squares add up to its square.
    pub budget: Vec<Contribution>,
}

/// Measures every place over all frames of its view.
///
/// # Errors
/// If the scene has no signal on the scale.
pub(crate) fn measure(recording: &Recording, setup: &Setup, places: &[Place]) -> Result<Vec<PlaceReading>> {
    places.iter().map(|&place| one(recording, setup, place)).collect()
}

fn one(recording: &Recording, setup: &Setup, place: Place) -> Result<PlaceReading> {
    let mut tally = Tally::EMPTY;
    for frame in recording.frames.iter().filter(|frame| frame.view == place.view) {
        for (y, row) in frame.counts.chunks_exact(usize::from(recording.width)).enumerate() {
            tally.add_row(place.shape, y as u16, row, setup.dead_at_or_below, setup.saturated_at);
        }
        tally.end_frame(frame.time_ms);
    }
    let (emissivity, emissivity_u) = place.emissivity.unzip();
    let equation = setup::equation(setup, emissivity)?;
    let reading = Reading::of(&tally, Statistic::Mean, &equation, &setup.inputs, emissivity_u.unwrap_or(0.0));
    let flags = recording.repair.iter().flat_map(|repaired| &repaired.flags);
    let mut of_view = recording.frames.iter().zip(flags).filter(|(frame, _)| frame.view == place.view);
    let drift_unknown = of_view.any(|(_, flags)| flags.drift_unknown);
    let (temperature, budget) = match reading {
        Ok(_) if drift_unknown => (None, Vec::new()),
        Ok(reading) => {
            let temperature = (reading.kelvin - 273.15, reading.standard_uncertainty(&setup.inputs));
            (Some(temperature), reading.budget(&setup.inputs).collect())
        }
        Err(Error::NoTemperature) => (None, Vec::new()),
        Err(error) => return Err(error),
    };
    let (pixels, frames) = (tally.pixels(), tally.means().frames());
    Ok(PlaceReading { place, pixels, frames, drift_unknown, temperature, budget })
}
