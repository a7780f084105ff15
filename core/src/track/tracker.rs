//! The same region from frame to frame.
//!
//! *What.* Regions of a frame are matched with tracks of the same sign whose place, moved along with the part, is within
//! the gate or whose box overlaps; the closest pairs first. *Why closest pairs.* It is the stable matching (Gale and
//! Shapley 1962) for a closeness that both sides share, so the result does not depend on any order; equal distances go
//! to the region that comes first. *Hysteresis.* A track is tentative until seen in n of m frames, and lives until missed
//! in more than k in a row. *When full*, a stronger newcomer takes the place of the weakest tentative track; confirmed
//! ones are never given up, and what found no place is counted.
//!
//! *Limit.* When regions merge, one track goes on and the other ends; when one splits, the closer piece keeps the track.
//!
//! *Memory.* 272 bytes a track. *Cost.* Distances of all pairs once, and again for a region that
//! loses its track to a closer one: 16 regions and 64 slots take 35,000 instructions (measured, thumbv7em). *Scaling
//! and overflow*: places are in 1/16 pixel, below 2²⁰; squares below 2⁴¹.

use super::part::Placement;
use super::slip::{SlipJudgement, SlipRule, SlipSums};
use super::trend::{Trend, TrendSums};
use crate::codes::codes;
use crate::error::{Error, Result};
use crate::regions::Region;
use crate::sensor::SetupError;

codes! {
    /// How far a track is trusted.
    pub enum Stage {
        /// Seen, but not yet often enough.
        Tentative = 1, "tentative";
        /// Seen often enough, and now.
        Confirmed = 2, "confirmed";
        /// Confirmed before, not seen now.
        Missing = 3, "missing";
    }
}

/// When a region counts as the same, and when it exists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TrackSettings {
    /// Largest distance between centroids, in pixels; overlapping boxes match at any.
    pub gate: u16,
    /// n: sightings that confirm, 1 to m.
    pub born_after: u8,
    /// m: frames in which they must lie, 1 to 32.
    pub born_within: u8,
    /// k: frames in a row that may be missed, 0 to 254; one more ends the track.
    pub lost_after: u8,
}

impl TrackSettings {
    /// 8 pixels; 3 of 5; 5. Proposals, for 9 frames a second.
    pub const DEFAULT: Self = Self { gate: 8, born_after: 3, born_within: 5, lost_after: 5 };
}

/// A region over time; lend [`Track::EMPTY`]s.
#[derive(Clone, Copy, Debug)]
pub struct Track {
    /// 0 in an empty slot.
    id: u32,
    region: Option<Region>,
    /// Centroid in 1/16 pixel.
    place: (i32, i32),
    /// The last 32 frames, the latest in bit 0.
    history: u32,
    confirmed: bool,
    missed: u8,
    /// Region matched in this frame, and its squared distance.
    candidate: Option<(u64, u16)>,
    trend: TrendSums,
    slip: SlipSums,
}

impl Track {
    /// No track.
    pub const EMPTY: Self = Self {
        id: 0,
        region: None,
        place: (0, 0),
        history: 0,
        confirmed: false,
        missed: 0,
        candidate: None,
        trend: TrendSums::EMPTY,
        slip: SlipSums::EMPTY,
    };

    /// Number of the track, from 1 on; never used twice.
    #[must_use]
    pub const fn id(&self) -> u32 {
        self.id
    }

    /// The region as it was last seen; `None` only in a slot without a track.
    #[must_use]
    pub const fn region(&self) -> Option<&Region> {
        self.region.as_ref()
    }

    fn strength(&self) -> u16 {
        self.region.map_or(0, |region| region.strength)
    }

    /// How far it is trusted.
    #[must_use]
    pub const fn stage(&self) -> Stage {
        match (self.confirmed, self.missed) {
            (false, _) => Stage::Tentative,
            (true, 0) => Stage::Confirmed,
            (true, _) => Stage::Missing,
        }
    }

    /// Frames in a row, up to now, in which it was not seen.
    #[must_use]
    pub const fn missed(&self) -> u8 {
        self.missed
    }

    /// How it changes; `None` before the third sighting.
    #[must_use]
    pub fn trend(&self) -> Option<Trend> {
        self.trend.trend()
    }

    /// Whether it stays on the part or slides over it. `stepped_aside`: the viewer is known to have moved sideways,
    /// rather than turned the instrument.
    #[must_use]
    pub fn slip(&self, rule: &SlipRule, stepped_aside: bool) -> SlipJudgement {
        self.slip.judge(rule, stepped_aside)
    }

    /// Squared distance in 1/256 pixel², if the region may be this track moved by so much.
    fn distance(&self, region: &Region, moved: (i32, i32), gate: u16) -> Option<u64> {
        let own = self.region.as_ref().filter(|own| own.sign == region.sign)?;
        let (x, y) = centroid(region);
        let (dx, dy) = (x - self.place.0 - moved.0, y - self.place.1 - moved.1);
        let squared = i64::from(dx) * i64::from(dx) + i64::from(dy) * i64::from(dy);
        let gate = 16 * i64::from(gate);
        // Boxes in 1/16 pixel: a pixel reaches to its far edge.
        let overlap = |a: (u16, u16), b: (u16, u16), moved: i32| {
            let [a0, a1, b0, b1] = [a.0, a.1, b.0, b.1].map(|v| 16 * i32::from(v));
            a0 + moved < b1 + 16 && b0 < a1 + 16 + moved
        };
        let overlaps = overlap((own.x0, own.x1), (region.x0, region.x1), moved.0)
            && overlap((own.y0, own.y1), (region.y0, region.y1), moved.1);
        (squared <= gate * gate || overlaps).then_some(squared as u64)
    }

    fn see(&mut self, region: &Region, time_ms: u32, part: Option<&Placement>) {
        self.region = Some(*region);
        self.place = centroid(region);
        self.missed = 0;
        self.history |= 1;
        self.trend.add(time_ms, [region.area, u32::from(region.peak), u32::from(region.strength)]);
        if let Some(part) = part {
            self.slip.add(self.place, part);
        }
    }
}

/// Mean place of a region in 1/16 pixel, below 2²⁰.
fn centroid(region: &Region) -> (i32, i32) {
    ((region.centroid_x.to_bits() >> 12) as i32, (region.centroid_y.to_bits() >> 12) as i32)
}

/// What a frame changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Changes {
    /// Tracks confirmed in this frame.
    pub born: u16,
    /// Confirmed tracks that ended.
    pub lost: u16,
    /// Regions and tentative tracks that found no place, as every slot was taken.
    pub dropped: u16,
}

/// What a [`Tracker`] knows beyond the lent tracks.
#[derive(Clone, Copy, Debug)]
pub struct TrackerState {
    settings: TrackSettings,
    last_id: u32,
    last_ms: u32,
    part: Option<Placement>,
}

/// Follows regions from frame to frame in lent [`Track`]s: closest pairs first, born after n of m frames, lost after k.
/// When full, a stronger newcomer takes the place of the weakest tentative track; confirmed ones are never given up.
#[derive(Debug)]
pub struct Tracker<'m> {
    tracks: &'m mut [Track],
    state: TrackerState,
}

impl<'m> Tracker<'m> {
    /// In lent tracks, as many as are to be followed at once.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a setting outside its range, [`SetupError::Memory`] for no track or more than 32,766.
    pub fn new(tracks: &'m mut [Track], settings: TrackSettings) -> core::result::Result<Self, SetupError> {
        let TrackSettings { born_after, born_within, lost_after, .. } = settings;
        // What was missed is counted in eight bits, so that 255 would never be exceeded.
        let lives = lost_after == u8::MAX;
        if !(1..=32).contains(&born_within) || !(1..=born_within).contains(&born_after) || lives {
            return Err(SetupError::Setting);
        }
        if tracks.is_empty() || tracks.len() > 32_766 {
            return Err(SetupError::Memory);
        }
        tracks.fill(Track::EMPTY);
        Ok(Self { tracks, state: TrackerState { settings, last_id: 0, last_ms: 0, part: None } })
    }

    /// Takes up again from a state and the same tracks.
    pub const fn resume(tracks: &'m mut [Track], state: TrackerState) -> Self {
        Self { tracks, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> TrackerState {
        self.state
    }

    /// The tracks, in no particular order.
    pub fn tracks(&self) -> impl Iterator<Item = &Track> {
        self.tracks.iter().filter(|track| track.id != 0)
    }

    /// Whether a frame of this time can be the next, for whoever has something to change before [`Tracker::follow`].
    ///
    /// # Errors
    /// [`Error::TimeBackward`] if it is older than the last.
    pub const fn admits(&self, time_ms: u32) -> Result<()> {
        if time_ms < self.state.last_ms { Err(Error::TimeBackward) } else { Ok(()) }
    }

    /// Takes the regions of the next frame, strongest first, as the scanner delivers them, and where the part lies in it,
    /// if that is known ([`super::PartFollower`]).
    ///
    /// # Errors
    /// [`Error::TimeBackward`] if the frame is older than the last, [`Error::Full`] for more than 65,535 regions.
    pub fn follow(&mut self, regions: &[Region], time_ms: u32, part: Option<&Placement>) -> Result<Changes> {
        self.admits(time_ms)?;
        if regions.len() > usize::from(u16::MAX) {
            return Err(Error::Full);
        }
        let moved = match (self.state.part, part) {
            (Some(before), Some(now)) if before.epoch == now.epoch => (
                now.x.saturating_sub(before.x).clamp(-REACH, REACH),
                now.y.saturating_sub(before.y).clamp(-REACH, REACH),
            ),
            _ => (0, 0),
        };
        self.state.last_ms = time_ms;
        self.state.part = part.copied();
        for i in 0..regions.len() {
            self.offer(regions, i as u16, moved);
        }
        let mut changes = Changes::default();
        let settings = self.state.settings;
        let window = u32::MAX >> (32 - u32::from(settings.born_within));
        for track in self.tracks.iter_mut().filter(|track| track.id != 0) {
            track.history <<= 1;
            match track.candidate.and_then(|(_, i)| regions.get(usize::from(i))) {
                Some(region) => track.see(region, time_ms, part),
                None => {
                    track.missed = track.missed.saturating_add(1);
                    // Until it is seen again, it moves along with the part.
                    track.place = (track.place.0.saturating_add(moved.0), track.place.1.saturating_add(moved.1));
                }
            }
            if !track.confirmed && (track.history & window).count_ones() >= u32::from(settings.born_after) {
                track.confirmed = true;
                changes.born += 1;
            }
            let hopeless = !track.confirmed && track.history & window == 0;
            if track.missed > settings.lost_after || hopeless {
                changes.lost += u16::from(track.confirmed);
                *track = Track::EMPTY;
            }
        }
        for (i, region) in regions.iter().enumerate() {
            let taken = |track: &Track| track.candidate.is_some_and(|(_, own)| usize::from(own) == i);
            if !self.tracks.iter().any(taken) {
                self.open(region, time_ms, part, &mut changes);
            }
        }
        for track in self.tracks.iter_mut() {
            track.candidate = None;
        }
        Ok(changes)
    }

    /// Gives a region to the closest track that has no closer one; whoever loses its track by that looks for another. A
    /// track's region only ever gets closer, so this ends.
    fn offer(&mut self, regions: &[Region], first: u16, moved: (i32, i32)) {
        let mut seeker = Some(first);
        while let Some((i, region)) = seeker.and_then(|i| regions.get(usize::from(i)).map(|region| (i, region))) {
            let gate = self.state.settings.gate;
            let mut best: Option<(u64, &mut Track)> = None;
            for track in self.tracks.iter_mut() {
                let Some(distance) = track.distance(region, moved, gate) else { continue };
                if track.candidate.is_none_or(|held| (distance, i) < held)
                    && best.as_ref().is_none_or(|&(least, ref other)| (distance, track.id) < (least, other.id))
                {
                    best = Some((distance, track));
                }
            }
            let Some((distance, track)) = best else { return };
            seeker = track.candidate.replace((distance, i)).map(|(_, displaced)| displaced);
        }
    }

    /// A new track for a region that no track took.
    fn open(&mut self, region: &Region, time_ms: u32, part: Option<&Placement>, changes: &mut Changes) {
        let weaker = |track: &Track| track.id != 0 && !track.confirmed && track.strength() < region.strength;
        let free = self.tracks.iter().position(|track| track.id == 0);
        let place = free.or_else(|| {
            changes.dropped = changes.dropped.saturating_add(1);
            let weakest = self.tracks.iter().enumerate().filter(|(_, track)| weaker(track));
            weakest.min_by_key(|(_, track)| (track.strength(), track.id)).map(|(i, _)| i)
        });
        let Some(track) = place.and_then(|place| self.tracks.get_mut(place)) else { return };
        self.state.last_id = self.state.last_id.wrapping_add(1).max(1);
        *track = Track { id: self.state.last_id, ..Track::EMPTY };
        track.see(region, time_ms, part);
        if self.state.settings.born_after == 1 {
            track.confirmed = true;
            changes.born += 1;
        }
    }
}

/// Farthest a part is believed to move between two frames, 1/16 pixel.
const REACH: i32 = 1 << 20;
