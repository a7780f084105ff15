//! How every check runs: shapes are placed, rows are summed, and in the end the definition judges.
//!
//! *Memory.* One [`Slot`] per placed shape, lent by the caller, and a [`State`] without references; nothing grows with
//! the image or the number of frames. *Cost.* Per row: the pixels under the shapes. Integers only until
//! [`Check::judge`]. *Errors* leave the check as it was.

use super::definition::{Definition, Part, Use, Watch};
use super::locate::Search;
use super::observed::Observed;
use super::vocabulary::{Condition, Role, View};
use super::{Conditions, Kind};
use crate::error::{Error, Result};
use crate::finding::{Effect, FailedGate, Finding, Gate, Grade, Note};
use crate::log::log;
use crate::measure::{InputUncertainty, LinePart, Series, Shape, Tally, Unwrapped};
use crate::radiometry::{Curve, Emissivity, MeasurementEquation, Scale, Scene};
use crate::regions::Sign;
use crate::sensor::CountRange;

/// The instrument and the scene a check is made with.
#[derive(Clone, Copy, Debug)]
pub struct Setup {
    /// Image width in pixels.
    pub width: u16,
    /// Image height in pixels.
    pub height: u16,
    /// Counts to apparent temperature.
    pub scale: Scale,
    /// Surface and surroundings; a place may state another emissivity.
    pub scene: Scene,
    /// Standard uncertainty of the scene's emissivity.
    pub emissivity_u: f64,
    /// Standard uncertainties of the instrument and the surroundings.
    pub inputs: InputUncertainty,
    /// Counts at or below this are dead pixels.
    pub dead_at_or_below: u16,
    /// Counts at or above this are saturated.
    pub saturated_at: u16,
    /// Angle of one pixel in mrad, if known; needed for sizes in millimeters.
    pub ifov_mrad: Option<f64>,
}

impl Setup {
    /// No image, a blackbody scene and a usual handheld instrument; the value a `static` starts from.
    pub const EMPTY: Self = Self {
        width: 0,
        height: 0,
        scale: Scale::Curve(Curve::nominal_longwave()),
        scene: Scene::BLACKBODY,
        emissivity_u: 0.0,
        inputs: InputUncertainty::HANDHELD,
        dead_at_or_below: 0,
        saturated_at: u16::MAX,
        ifov_mrad: None,
    };
}

/// Where a shape goes.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Place {
    /// What it covers.
    pub role: Role,
    /// In which picture.
    pub view: View,
    /// Which pixels.
    pub shape: Shape,
    /// Emissivity of this surface and its standard uncertainty, if not the scene's.
    pub emissivity: Option<(Emissivity, f64)>,
}

/// When and how a frame was taken.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FrameInfo {
    /// Which picture it belongs to.
    pub view: View,
    /// Time since any fixed moment, ms; must not run backward.
    pub time_ms: u32,
    /// Whether the shutter closed since the frame before.
    pub shutter: bool,
    /// Housing temperature in mK, if known.
    pub housing_mk: Option<i32>,
}

/// Working memory for one shape; lend [`Slot::EMPTY`]s to [`Check::begin`].
#[derive(Clone, Copy, Debug)]
pub struct Slot {
    pub(super) place: Option<Place>,
    pub(super) tally: Tally,
    /// Mean of the frame just ended, Q24.8 counts.
    last_mean_q8: Option<u32>,
}

impl Slot {
    /// A slot that holds nothing.
    pub const EMPTY: Self = Self { place: None, tally: Tally::EMPTY, last_mean_q8: None };

    /// Whether more than one pixel in ten was dead or saturated: a stray bad pixel is left out of the sums, so many say
    /// that the part is off the scale.
    pub(super) fn is_off_scale(&self) -> bool {
        let seen = u64::from(self.tally.pixels()) * u64::from(self.tally.means().frames().max(1));
        let rejected = u64::from(self.tally.rejected());
        rejected * 10 > seen + rejected
    }
}

/// Everything a check knows beyond its slots; holds no references, so it can be kept beside that memory.
#[derive(Clone, Copy, Debug)]
pub struct State {
    begun: bool,
    pub(super) kind: Kind,
    pub(super) setup: Setup,
    pub(super) conditions: Conditions,
    pub(super) watched: Series,
    /// What the watch compares with, unwrapped around the watched shape if it is a ring.
    pub(super) around: [LinePart; AROUND],
    pub(super) search: Search,
    /// The watch of the definition and the contrast in Q24.8 counts from which a frame counts. Kept here, like the views
    /// below, so that an image that only feeds does not link the definitions.
    pub(super) watch: Option<(Watch, i32)>,
    /// Views the check takes, a bit for each code.
    takes: u8,
    /// Per view, indexed by its code.
    pub(super) views: [ViewTimes; VIEWS],
    frame: Option<FrameInfo>,
    row: u16,
    last_ms: Option<u32>,
    /// Frames with the shutter flag so far; tells whether it closed between two views.
    shutters: u16,
}

/// Room for every view number.
const VIEWS: usize = 8;
/// Parts into which the surroundings of a spot are unwrapped: 30° each, a little more than a jet widens by (proposal).
pub(super) const AROUND: usize = 12;

/// Bit of a view in [`State::takes`].
const fn view_bit(view: View) -> u8 {
    1 << (view.code() % VIEWS as u8)
}

/// Times of the frames of one view.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ViewTimes {
    pub(super) frames: u32,
    pub(super) first_ms: u32,
    pub(super) last_ms: u32,
    /// Shutter closings before its first and until its last frame.
    pub(super) shutters: (u16, u16),
}

impl State {
    /// Times of the frames of a view.
    pub(super) fn times(&self, view: View) -> ViewTimes {
        self.views.get(usize::from(view.code())).copied().unwrap_or_default()
    }

    /// No check under way; the value a `static` starts from.
    pub const IDLE: Self = Self {
        begun: false,
        kind: Kind::TireLeak,
        setup: Setup::EMPTY,
        conditions: Conditions::new(),
        watched: Series::EMPTY,
        around: [LinePart::EMPTY; AROUND],
        search: Search::NotMade,
        watch: None,
        takes: 0,
        views: [ViewTimes { frames: 0, first_ms: 0, last_ms: 0, shutters: (0, 0) }; VIEWS],
        frame: None,
        row: 0,
        last_ms: None,
        shutters: 0,
    };
}

/// A check under way: shapes are placed, rows are summed, and in the end the definition judges. Integers only until
/// [`Check::judge`]; per row the cost is the pixels under the shapes.
#[derive(Debug)]
pub struct Check<'m> {
    pub(super) state: &'m mut State,
    pub(super) slots: &'m mut [Slot],
}

impl<'m> Check<'m> {
    /// Begins a check in lent memory: a state, and one slot for each shape that will be placed.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if an uncertainty, the image size or the scene is; [`Error::TooSmall`] without a slot.
    pub fn begin(
        state: &'m mut State,
        slots: &'m mut [Slot],
        kind: Kind,
        setup: &Setup,
        conditions: &Conditions,
    ) -> Result<Self> {
        if slots.is_empty() {
            return Err(Error::TooSmall);
        }
        if setup.width == 0 || setup.height == 0 {
            return Err(Error::OutOfRange(crate::error::Quantity::ImageSize));
        }
        setup.inputs.checked()?;
        InputUncertainty { netd_k: setup.emissivity_u, ..setup.inputs }.checked()?;
        let equation = MeasurementEquation::new(&setup.scale, &setup.scene)?;
        let definition = kind.definition();
        let warm = conditions.air_is_warm();
        let watch = definition.watch.map(|watch| Watch { sign: watch.sign.flipped_if(warm), ..watch });
        *state = State {
            begun: true,
            kind,
            setup: *setup,
            conditions: *conditions,
            watch: watch.map(|watch| (watch, watch_counts_q8(&watch, &equation, conditions))),
            takes: View::ALL
                .iter()
                .filter(|&&view| definition.takes(view))
                .fold(0, |bits, &view| bits | view_bit(view)),
            ..State::IDLE
        };
        slots.fill(Slot::EMPTY);
        log!("check begun: {}, room for {} shapes", kind, slots.len());
        Ok(Self { state, slots })
    }

    /// Goes on with the check that was begun in this memory; `None` if none was.
    #[must_use]
    pub fn resume(state: &'m mut State, slots: &'m mut [Slot]) -> Option<Self> {
        state.begun.then_some(Self { state, slots })
    }

    /// Whether a frame has begun and still wants rows.
    #[must_use]
    pub const fn in_frame(&self) -> bool {
        self.state.frame.is_some()
    }

    /// What the check needs and how it judges.
    #[must_use]
    pub fn definition(&self) -> &'static Definition {
        self.state.kind.definition()
    }

    /// Places a shape, or moves one that is already placed in this role and view; moving forgets what it summed.
    ///
    /// # Errors
    /// [`Error::NotInThisCheck`], [`Error::ShapeOutside`], [`Error::OutOfRange`] for the emissivity's uncertainty,
    /// [`Error::WrongOrder`] inside a frame, [`Error::Full`] if every slot is taken.
    pub fn place(&mut self, place: Place) -> Result<()> {
        let definition = self.definition();
        if self.state.frame.is_some() {
            return Err(Error::WrongOrder);
        }
        if definition.part(place.role).is_none() || !definition.takes(place.view) {
            return Err(Error::NotInThisCheck);
        }
        place.shape.placed_in(self.state.setup.width, self.state.setup.height)?;
        if let Some((_, uncertainty)) = place.emissivity {
            InputUncertainty { netd_k: uncertainty, ..self.state.setup.inputs }.checked()?;
        }
        let same = |slot: &Slot| slot.place.is_some_and(|old| old.role == place.role && old.view == place.view);
        let position = self.slots.iter().position(same).or_else(|| self.slots.iter().position(|s| s.place.is_none()));
        let slot = position.and_then(|i| self.slots.get_mut(i)).ok_or(Error::Full)?;
        *slot = Slot { place: Some(place), ..Slot::EMPTY };
        if let Some((watch, _)) = self.state.watch
            && (watch.subject == place.role || watch.against == place.role)
        {
            // What was followed, and where it was found, was another place.
            (self.state.watched, self.state.search) = (Series::EMPTY, Search::NotMade);
            self.state.around = [LinePart::EMPTY; AROUND];
        }
        Ok(())
    }

    /// The placed shapes.
    pub fn places(&self) -> impl Iterator<Item = Place> + '_ {
        self.slots.iter().filter_map(|slot| slot.place)
    }

    /// Starts a frame.
    ///
    /// # Errors
    /// [`Error::NotInThisCheck`] for a view the check does not take, [`Error::TimeBackward`], [`Error::WrongOrder`] if
    /// the frame before is not finished.
    pub fn start_frame(&mut self, info: FrameInfo) -> Result<()> {
        if self.state.frame.is_some() {
            return Err(Error::WrongOrder);
        }
        if self.state.takes & view_bit(info.view) == 0 {
            return Err(Error::NotInThisCheck);
        }
        if self.state.last_ms.is_some_and(|last| info.time_ms < last) {
            return Err(Error::TimeBackward);
        }
        self.state.frame = Some(info);
        self.state.row = 0;
        Ok(())
    }

    /// Takes the next row of the frame; after the last one the frame is complete.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] outside a frame, [`Error::WrongLength`] for another width.
    pub fn push_row(&mut self, row: &[u16]) -> Result<()> {
        let Some(info) = self.state.frame else { return Err(Error::WrongOrder) };
        let setup = &self.state.setup;
        if row.len() != usize::from(setup.width) {
            return Err(Error::WrongLength);
        }
        let y = self.state.row;
        for slot in self.slots.iter_mut() {
            if let Some(place) = slot.place.filter(|place| place.view == info.view) {
                slot.tally.add_row(place.shape, y, row, setup.dead_at_or_below, setup.saturated_at);
                if self.state.watch.is_some_and(|(watch, _)| watch.against == place.role)
                    && let Ok(unwrapped) = Unwrapped::new(place.shape, AROUND)
                {
                    let range = CountRange::between(setup.dead_at_or_below, setup.saturated_at);
                    unwrapped.add_row(&mut self.state.around, y, row, range);
                }
            }
        }
        self.state.row = y.saturating_add(1);
        if self.state.row == setup.height {
            self.end_frame(info);
        }
        Ok(())
    }

    /// Feeds a whole frame.
    ///
    /// # Errors
    /// As [`Check::start_frame`], and [`Error::WrongLength`] unless `counts` has width × height pixels.
    pub fn feed(&mut self, info: FrameInfo, counts: &[u16]) -> Result<()> {
        let (width, height) = (usize::from(self.state.setup.width), usize::from(self.state.setup.height));
        if counts.len() != width * height {
            return Err(Error::WrongLength);
        }
        self.start_frame(info)?;
        for row in counts.chunks_exact(width.max(1)) {
            self.push_row(row)?;
        }
        Ok(())
    }

    fn end_frame(&mut self, info: FrameInfo) {
        for slot in self.slots.iter_mut() {
            if slot.place.is_some_and(|place| place.view == info.view) {
                slot.last_mean_q8 = slot.tally.end_frame(info.time_ms);
            }
        }
        let state = &mut *self.state;
        state.shutters = state.shutters.saturating_add(u16::from(info.shutter));
        if let Some(view) = state.views.get_mut(usize::from(info.view.code())) {
            if view.frames == 0 {
                (view.first_ms, view.shutters.0) = (info.time_ms, state.shutters);
            }
            view.frames = view.frames.saturating_add(1);
            (view.last_ms, view.shutters.1) = (info.time_ms, state.shutters);
        }
        state.last_ms = Some(info.time_ms);
        state.frame = None;
        log!("frame fed: {} at {} ms", info.view, info.time_ms);
        if let Some((watch, least_q8)) = self.state.watch {
            self.follow(&watch, least_q8, info);
        }
    }

    fn follow(&mut self, watch: &Watch, least_q8: i32, info: FrameInfo) {
        let mean = |role| {
            let here = |slot: &&Slot| slot.place.is_some_and(|place| place.role == role && place.view == info.view);
            self.slots.iter().find(here).and_then(|slot| slot.last_mean_q8)
        };
        if let (Some(subject), Some(against)) = (mean(watch.subject), mean(watch.against)) {
            // Means are below 2^24, so the difference fits.
            let hotter = subject as i32 - against as i32;
            let contrast = if watch.sign == Sign::Hot { hotter } else { -hotter };
            self.state.watched.add(contrast, info.time_ms, contrast >= least_q8);
        }
    }

    /// Judges what was fed. The check can go on afterwards.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] inside a frame.
    pub fn judge(&self) -> Result<Finding> {
        let mut finding = Finding::new(self.state.kind);
        self.judge_into(&mut finding)?;
        Ok(finding)
    }

    /// The same, into a finding the caller owns, for callers whose stack is small.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] inside a frame; `finding` is then untouched.
    pub fn judge_into(&self, finding: &mut Finding) -> Result<()> {
        if self.state.frame.is_some() {
            return Err(Error::WrongOrder);
        }
        *finding = Finding::new(self.state.kind);
        let definition = self.definition();
        for need in definition.needs {
            if let Some(failed) = need.failed(&self.state.conditions) {
                finding.fail(failed);
            }
        }
        self.try_shapes(definition, finding);
        self.state.kind.judge()(&Observed::new(self.state, self.slots), finding);
        finding.apply_gates();
        if finding.reaches > finding.grade && finding.grade != Grade::NotAssessable {
            let _ = finding.notes.push(Note::Undecided);
        }
        let _ = finding.notes.push(Note::NotADiagnosis);
        for &caution in definition.cautions {
            let _ = finding.cautions.push(caution);
        }
        log!("judged {}: {}, {} gates failed", finding.check, finding.grade, finding.gates.len());
        Ok(())
    }

    /// Gates that concern the shapes: missing, too small, invalid pixels.
    fn try_shapes(&self, definition: &Definition, finding: &mut Finding) {
        let mut fail = |gate, effect, role, view| {
            finding.fail(FailedGate { gate, effect, condition: None, role: Some(role), view: Some(view) });
        };
        for part in definition.parts {
            let Use::Required(_) = part.usage else { continue };
            let fed = |view: &&View| self.state.times(**view).frames > 0;
            for &view in definition.views.iter().chain(definition.further_views.iter().filter(fed)) {
                let found = self.slots.iter().find(|s| s.place.is_some_and(|p| p.role == part.role && p.view == view));
                if found.is_none_or(|slot| slot.tally.pixels() == 0 && slot.tally.rejected() == 0) {
                    fail(Gate::ShapeMissing, Effect::Stops, part.role, view);
                }
            }
        }
        for slot in self.slots.iter() {
            let Some(place) = slot.place else { continue };
            let part = definition.part(place.role);
            let measured = part.is_some_and(|part| !matches!(part.usage, Use::Searched(_)));
            if measured && place.shape.least_extent() < 3 {
                fail(Gate::TooSmall, Effect::Stops, place.role, place.view);
            }
            // What is only further evidence is left out by itself: see Observed::reading.
            if measured && slot.is_off_scale() && !part.is_some_and(Part::is_optional) {
                fail(Gate::InvalidPixels, Effect::Stops, place.role, place.view);
            }
        }
    }
}

/// The watched contrast in Q24.8 counts at the stated air temperature (20 °C if none was stated).
#[allow(clippy::float_arithmetic, reason = "set-up: once per check")]
fn watch_counts_q8(watch: &Watch, equation: &MeasurementEquation, conditions: &Conditions) -> i32 {
    let air = conditions.get(Condition::AirTemperature).map_or(293.15, |mk| f64::from(mk) / 1000.0);
    let sign = if watch.sign == Sign::Hot { 1.0 } else { -1.0 };
    match (equation.counts(air), equation.counts(air + sign * watch.least_kelvin)) {
        (Ok(level), Ok(limit)) => (libm::fabs(limit - level) * 256.0 + 0.5) as i32,
        // No such temperature on this scale: no frame ever counts.
        _ => i32::MAX,
    }
}
