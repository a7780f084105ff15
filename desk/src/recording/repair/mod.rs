//! The `[sensor.repair]` section: runs the library's sensor chain over the frames before anything else sees them.
//!
//! *Two passes.* A device finds a bad pixel while it goes on, and the frames before are spoiled. A recording can be gone
//! through twice: first the watch alone, then everything with what it found. *Views.* Each view has a chain of its own,
//! because smoothing, watching and steps compare frames of one scene; the list of bad pixels is common to all.

mod chain;
mod runs;

use std::cell::Cell;
use std::path::Path;

use oddheat_core::sensor::{
    Chain, ChainMemory, Coefficient, ColumnSettings, CountRange, Defect, DefectKind, Defects, SetupError,
    ShutterTarget, Steps, WarmUp, WatchSettings,
};
use oddheat_core::units::Delta;
use toml::Spanned;

use super::document::Document;
use super::error::RecordingError;
use super::form::{PixelsForm, RepairForm};
use super::limits;
use super::model::{Correction, Frame, Housing, Repaired, SensorFacts, StatedScale};
use chain::Plan;

/// Where a repair is stated and what it is for.
pub(super) struct Place<'a> {
    pub(super) document: &'a Document,
    pub(super) folder: &'a Path,
    /// Columns and rows of the frames.
    pub(super) size: (u16, u16),
    /// Pixels that may still be read, after those of the frames.
    pub(super) budget: Cell<u64>,
}

impl Place<'_> {
    /// A refusal of the library, at the key that it is about.
    fn refused<T>(&self, at: &Spanned<T>, what: &str) -> impl Fn(SetupError) -> RecordingError {
        move |error| self.document.refuse(at.span(), what, error)
    }
}

/// Repairs the frames in place as stated.
///
/// # Errors
/// [`RecordingError`] at the key that cannot stay as it is, or for a file that it names.
pub(super) fn repair(
    place: &Place<'_>,
    form: &Spanned<RepairForm>,
    scale: StatedScale,
    facts: &SensorFacts,
    frames: &mut [Frame],
) -> Result<Repaired, RecordingError> {
    if matches!(scale, StatedScale::Temperatures(_)) {
        return Err(place.document.refuse(
            form.span(),
            "no repair with `scale.temperatures`",
            "one; it works on counts",
        ));
    }
    let plan = plan(place, form, facts, frames)?;
    plan.run(frames).map_err(place.refused(form, "a repair that the library can make"))
}

fn plan(
    place: &Place<'_>,
    form: &Spanned<RepairForm>,
    facts: &SensorFacts,
    frames: &[Frame],
) -> Result<Plan, RecordingError> {
    let (document, keys) = (place.document, form.get_ref());
    let (width, height) = place.size;
    let pixels = usize::from(width) * usize::from(height);
    let range = CountRange::new(facts.dead_at_or_below, facts.saturated_at)
        .map_err(place.refused(form, "counts between dead and saturated"))?;
    let mut plan = Plan::new(place.size, range, pixels / limits::BAD_SHARE + limits::BAD_LEAST);
    if let Some(stated) = &keys.bad_pixels {
        for [x, y] in bad_pixels(place, stated)? {
            if x >= width || y >= height {
                let expected = format!("pixels inside {width} × {height}");
                return Err(document.refuse(stated.span(), expected, format!("[{x}, {y}]")));
            }
            plan.list(x, y, DefectKind::Listed).map_err(place.refused(stated, "fewer bad pixels"))?;
        }
    }
    if let Some(uniform) = &keys.uniform {
        runs::uniform(place, uniform, &mut plan)?;
    }
    if let Some(flat) = &keys.flat {
        runs::flat(place, flat, &mut plan)?;
    }
    if let Some(drift) = &keys.drift {
        if frames.iter().all(|frame| frame.housing_c.is_none()) {
            let expected = "`frames.housing_c`, which the drift depends on";
            return Err(document.refuse(drift.span(), expected, "that no frame states it"));
        }
        plan.drift = Some(runs::drift(place, drift)?);
    }
    if let Some(stated) = &keys.watch {
        let (watch, usual) = (stated.get_ref(), WatchSettings::default());
        let or = |value: &Option<Spanned<u16>>, default| value.as_ref().map_or(default, |value| *value.get_ref());
        let settings = WatchSettings {
            frames: or(&watch.frames, usual.frames),
            excursion: or(&watch.excursion, usual.excursion),
            ..usual
        };
        plan.watch = Some((settings, usize::from(or(&watch.slots, limits::WATCHED).max(1))));
    }
    plan.columns = keys.column_noise.as_ref().map(|stated| {
        let columns = stated.get_ref();
        let or = |value: &Option<Spanned<u8>>, default| value.as_ref().map_or(default, |value| *value.get_ref());
        ColumnSettings {
            columns: or(&columns.columns, limits::COLUMN_REACH),
            limit: *columns.limit.get_ref(),
            slowness: or(&columns.slowness, limits::COLUMN_SLOWNESS),
        }
    });
    plan.smoothing = keys.smoothing_shift.as_ref().map(|shift| *shift.get_ref());
    if let Some(stated) = &keys.warm_up {
        let warm_up = stated.get_ref();
        let slope = document.optional(warm_up.limit_k_per_minute.as_ref(), limits::WARM_UP_K_PER_MINUTE)?;
        let window = document.optional(warm_up.window_s.as_ref(), limits::WARM_UP_WINDOW_S)?;
        let window_ms = libm::round(window.unwrap_or(limits::STEADY_WINDOW_S) * 1_000.0) as u32;
        let slope = Delta::from_f64(slope.unwrap_or(limits::STEADY_K_PER_MINUTE));
        plan.warm_up = Some(WarmUp::new(slope, window_ms).map_err(place.refused(stated, "a slope and a window"))?);
    }
    if let Some(stated) = &keys.step_counts {
        plan.steps = Some(Steps::new(*stated.get_ref(), range).map_err(place.refused(stated, "1 count or more"))?);
    }
    Ok(plan)
}

fn bad_pixels(place: &Place<'_>, stated: &Spanned<PixelsForm>) -> Result<Vec<[u16; 2]>, RecordingError> {
    match stated.get_ref() {
        PixelsForm::List(list) => Ok(list.clone()),
        PixelsForm::File(name) => {
            let file = super::frames::inside(place.document, name, stated.span(), place.folder)?;
            Ok(runs::rows::<runs::Pixel>(&file, "x, y")?.into_iter().map(|pixel| [pixel.x, pixel.y]).collect())
        }
    }
}
