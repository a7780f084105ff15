//! Behind the C functions that follow regions from frame to frame, in safe Rust on borrowed parts.

use crate::convert::{self, or, sized};
use crate::device::Outcome;
use crate::status::Status;
use crate::track_types::{self as types, TrackerConfig};
use crate::types::{Config, Region as RegionOut};
use fixed::types::{U16F16, U24F8};
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Region, Sign};
use oddheat_core::track::{
    PartFollower, Placement, ProfileSettings, ProfileSlot, ProfileState, Profiles, SlipRule, Track, TrackSettings,
    Tracker, TrackerState,
};

/// Marks a block that was initialized.
pub(crate) const TRACKER_MAGIC: u32 = 0x0DD4_F011;

/// What the block holds besides the head.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TrackerSizes {
    pub(crate) tracks: u32,
    pub(crate) regions: u32,
    /// Columns and rows.
    pub(crate) lines: u32,
}

/// Start of the caller's block. No pointers: the block may be moved between calls.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct TrackerHead {
    pub(crate) magic: u32,
    pub(crate) sizes: TrackerSizes,
    pub(crate) states: States,
}

/// What is kept from call to call.
#[derive(Clone, Copy, Debug)]
pub(crate) struct States {
    profiles: ProfileState,
    part: PartFollower,
    tracker: TrackerState,
    /// Rows taken of the frame under way.
    rows: u16,
    /// Columns and rows of the image.
    image: (u16, u16),
}

/// A tracker: the parts of a block, borrowed for a call.
pub(crate) struct Following<'m> {
    pub(crate) states: &'m mut States,
    pub(crate) memory: Memory<'m>,
}

/// The arrays behind the head.
pub(crate) struct Memory<'m> {
    pub(crate) tracks: &'m mut [Track],
    pub(crate) regions: &'m mut [Region],
    pub(crate) lines: &'m mut [ProfileSlot],
    pub(crate) reference: &'m mut [i16],
}

/// Told of a part whose place is not known.
const NOWHERE: Placement = Placement { x: 0, y: 0, uncertainty: 0, epoch: 0 };

/// What a tracker of these settings needs.
pub(crate) fn sizes(config: &Config, settings: &TrackerConfig) -> Outcome<TrackerSizes> {
    sized::<TrackerConfig>(settings.struct_size)?;
    let (tracks, regions) = (or(settings.tracks_max, 16), or(config.regions_max, 32));
    if tracks > 32_766 {
        return Err(Status::ErrRange);
    }
    let (tracks, regions) = (u32::from(tracks), u32::from(regions));
    Ok(TrackerSizes { tracks, regions, lines: u32::from(config.width_px) + u32::from(config.height_px) })
}

impl States {
    /// A tracker that has seen nothing.
    pub(crate) fn new(config: &Config, settings: &TrackerConfig, memory: Memory<'_>) -> Outcome<Self> {
        let byte = |value: u16, default: u8| match value {
            0 => Ok(default),
            value => u8::try_from(value).map_err(|_| Status::ErrRange),
        };
        let usual = TrackSettings::DEFAULT;
        let rules = TrackSettings {
            gate: or(settings.gate_px, usual.gate),
            born_after: byte(settings.born_after, usual.born_after)?,
            born_within: byte(settings.born_within, usual.born_within)?,
            lost_after: if settings.lost_after == 255 { 0 } else { byte(settings.lost_after, usual.lost_after)? },
        };
        let (width, height) = (config.width_px, config.height_px);
        let reach = or(settings.reach_px, 8.min(width.min(height) / 4));
        let range = convert::readings(config.dead_at_or_below_counts, config.saturated_at_counts)?;
        let frames = ProfileSettings { width, height, reach, clip: Thresholds::NONE, range };
        Ok(Self {
            profiles: Profiles::new(memory.lines, memory.reference, frames)?.suspend(),
            part: PartFollower::NEW,
            tracker: Tracker::new(memory.tracks, rules)?.suspend(),
            rows: 0,
            image: (width, height),
        })
    }
}

impl Following<'_> {
    pub(crate) fn clip(&mut self, hot_above_counts: u16, cold_below_counts: u16) -> Outcome<()> {
        if self.states.rows != 0 {
            return Err(Status::ErrOrder);
        }
        let clip = Thresholds::new(hot_above_counts, cold_below_counts)?;
        let mut profiles = Profiles::resume(self.memory.lines, self.memory.reference, self.states.profiles);
        profiles.set_clip(clip);
        self.states.profiles = profiles.suspend();
        Ok(())
    }

    pub(crate) fn row(&mut self, counts: &[u16]) -> Outcome<()> {
        let mut profiles = Profiles::resume(self.memory.lines, self.memory.reference, self.states.profiles);
        profiles.push(counts)?;
        self.states.profiles = profiles.suspend();
        self.states.rows += 1;
        Ok(())
    }

    /// Ends a frame: all of its rows have come, or none.
    pub(crate) fn frame(&mut self, given: &[RegionOut], time_ms: u32) -> Outcome<types::Tracked> {
        let (width, height) = self.states.image;
        if self.states.rows != 0 && self.states.rows != height {
            return Err(Status::ErrOrder);
        }
        let regions = self.memory.regions.get_mut(..given.len()).ok_or(Status::ErrSize)?;
        for (region, given) in regions.iter_mut().zip(given) {
            *region = taken(given, width, height)?;
        }
        // Copies, so that an error leaves all as it was.
        let (mut part, mut place) = (self.states.part, None);
        let mut tracker = Tracker::resume(self.memory.tracks, self.states.tracker);
        // Time is looked at first: a frame that comes too late is refused before anything changes.
        tracker.admits(time_ms)?;
        if self.states.rows != 0 {
            let mut profiles = Profiles::resume(self.memory.lines, self.memory.reference, self.states.profiles);
            place = Some(part.follow(&mut profiles)?);
            self.states.profiles = profiles.suspend();
        }
        let changes = tracker.follow(regions, time_ms, place.as_ref())?;
        (self.states.tracker, self.states.part, self.states.rows) = (tracker.suspend(), part, 0);
        let Placement { x, y, uncertainty, epoch } = place.unwrap_or(NOWHERE);
        Ok(types::Tracked {
            born: u32::from(changes.born),
            lost: u32::from(changes.lost),
            dropped: u32::from(changes.dropped),
            part_x_q4: x,
            part_y_q4: y,
            part_u_q4: u32::from(uncertainty),
            epoch: u32::from(epoch),
            part_known: u32::from(place.is_some()),
        })
    }

    /// Hands out the tracks and returns how many there are.
    pub(crate) fn tracks(&mut self, stepped_aside: bool, mut each: impl FnMut(usize, types::Track)) -> u32 {
        let mut found = 0;
        for track in Tracker::resume(self.memory.tracks, self.states.tracker).tracks() {
            each(found as usize, told(track, stepped_aside));
            found += 1;
        }
        found
    }
}

/// A region that C hands back.
fn taken(region: &RegionOut, width: u16, height: u16) -> Outcome<Region> {
    let ordered = region.x0_px <= region.x1_px && region.y0_px <= region.y1_px;
    if !ordered || region.x1_px >= width || region.y1_px >= height {
        return Err(Status::ErrRange);
    }
    let edge = region.x0_px == 0 || region.y0_px == 0 || region.x1_px == width - 1 || region.y1_px == height - 1;
    Ok(Region {
        sign: convert::code(Sign::from_code, u32::from(region.sign))?,
        area: region.area_px,
        x0: region.x0_px,
        y0: region.y0_px,
        x1: region.x1_px,
        y1: region.y1_px,
        peak: region.peak_counts,
        peak_x: region.peak_x_px,
        peak_y: region.peak_y_px,
        centroid_x: U16F16::from_bits(region.centroid_x_q16),
        centroid_y: U16F16::from_bits(region.centroid_y_q16),
        mean: U24F8::from_bits(region.mean_counts_q8),
        strength: region.strength_counts,
        incomplete: region.incomplete != 0,
        touches_edge: edge,
    })
}

fn told(track: &Track, stepped_aside: bool) -> types::Track {
    let trend = track.trend();
    let rate = |of: fn(&oddheat_core::track::Trend) -> i64| {
        trend.as_ref().map_or(0, |trend| of(trend).clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32)
    };
    let slip = track.slip(&SlipRule::DEFAULT, stepped_aside);
    types::Track {
        id: track.id(),
        stage: u16::from(track.stage().code()),
        missed: u16::from(track.missed()),
        region: convert::region(track.region().unwrap_or(&Region::EMPTY), 0),
        area_rate_q8: rate(|trend| trend.area_q8),
        area_rate_u_q8: rate(|trend| trend.area_uncertainty_q8),
        peak_rate_q8: rate(|trend| trend.peak_q8),
        peak_rate_u_q8: rate(|trend| trend.peak_uncertainty_q8),
        contrast_rate_q8: rate(|trend| trend.contrast_q8),
        contrast_rate_u_q8: rate(|trend| trend.contrast_uncertainty_q8),
        trend_sightings: trend.map_or(0, |trend| trend.sightings),
        trend_span_ms: trend.map_or(0, |trend| trend.span_ms),
        verdict: u16::from(slip.verdict.code()),
        cause: u16::from(slip.cause.code()),
        slip_per_mille: slip.slip,
        slip_u_per_mille: slip.uncertainty,
        motion_q4: slip.motion,
        rest_q4: slip.rest,
        slip_sightings: u32::from(slip.sightings),
    }
}
