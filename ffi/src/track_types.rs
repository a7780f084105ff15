//! What crosses the border of following regions from frame to frame.

use crate::types::Region;
use core::mem::{align_of, offset_of, size_of};

/// Bytes of the block of a tracker that any tracker takes.
pub const TRACKER_MEM_HEAD: usize = 128;
/// Bytes for each track.
pub const TRACKER_MEM_PER_TRACK: usize = 320;
/// Bytes for each region of a frame.
pub const TRACKER_MEM_PER_REGION: usize = 56;
/// Bytes for each column and each row of a frame.
pub const TRACKER_MEM_PER_LINE: usize = 10;

/// What to follow and how. Zero means the documented default; all are proposals, for 9 frames a second.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct TrackerConfig {
    /// sizeof(oddheat_tracker_config).
    pub struct_size: u32,
    /// Tracks at once, 1 to 32766; 0 = 16.
    pub tracks_max: u16,
    /// Largest shift of the image to look for, 2 to 32 pixels and at most a quarter of width and height; 0 = 8, or that
    /// quarter.
    pub reach_px: u16,
    /// Largest distance between the centroids of a region in two frames in pixels; 0 = 8. Overlapping boxes match at any.
    pub gate_px: u16,
    /// Sightings that confirm a track; 0 = 3.
    pub born_after: u16,
    /// Frames in which they must lie, up to 32; 0 = 5.
    pub born_within: u16,
    /// One more frame in a row without a sighting than this ends a track, 1 to 254; 0 = 5, 255 = the first ends it.
    pub lost_after: u16,
}

/// What a frame changed, and how far the image moved.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Tracked {
    /// Tracks confirmed in this frame.
    pub born: u32,
    /// Confirmed tracks that ended.
    pub lost: u32,
    /// Regions and tentative tracks that found no place, as every track was taken.
    pub dropped: u32,
    /// How far the part lies to the right of where it was when the epoch began, in pixels times 16.
    pub part_x_q4: i32,
    /// How far below.
    pub part_y_q4: i32,
    /// Standard uncertainty of each, in pixels times 16.
    pub part_u_q4: u32,
    /// Counts the epochs. A new one begins where a shift is in doubt; positions of two epochs do not compare.
    pub epoch: u32,
    /// 1 if rows came and the above says where the part lies, 0 if regions came without rows.
    pub part_known: u32,
}

/// A region over time.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Track {
    /// Number of the track, from 1 on; never used twice.
    pub id: u32,
    /// ODDHEAT_STAGE_...
    pub stage: u16,
    /// Frames in a row, up to now, in which it was not seen.
    pub missed: u16,
    /// The region as it was last seen, without a temperature.
    pub region: Region,
    /// Change of the area in pixels per second times 256; this and the next five are 0 before the third sighting.
    pub area_rate_q8: i32,
    /// Standard uncertainty of that, from the scatter about the line; likewise below.
    pub area_rate_u_q8: i32,
    /// Change of the peak in counts per second times 256.
    pub peak_rate_q8: i32,
    /// Standard uncertainty of that.
    pub peak_rate_u_q8: i32,
    /// Change of what the peak lies beyond its threshold, in counts per second times 256.
    pub contrast_rate_q8: i32,
    /// Standard uncertainty of that.
    pub contrast_rate_u_q8: i32,
    /// Sightings that the rates rest on; 0 before the third.
    pub trend_sightings: u32,
    /// Time from the first of them to the last in ms.
    pub trend_span_ms: u32,
    /// Whether it stays on the part, as a mark does, or slides over it, as a reflection does: ODDHEAT_VERDICT_...
    pub verdict: u16,
    /// What the verdict rests on, or what is missing: ODDHEAT_SLIP_CAUSE_...
    pub cause: u16,
    /// Slip in thousandths of the part's motion: 0 for what stays on the part.
    pub slip_per_mille: i32,
    /// Standard uncertainty of that.
    pub slip_u_per_mille: u32,
    /// Scatter of the part's places in pixels times 16.
    pub motion_q4: u32,
    /// Scatter of what the slip leaves unexplained in pixels times 16.
    pub rest_q4: u32,
    /// Sightings that the verdict rests on.
    pub slip_sightings: u32,
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(size_of::<TrackerConfig>() == 16 && size_of::<Tracked>() == 32);
    assert!(size_of::<Track>() == 104 && align_of::<Track>() == 4 && offset_of!(Track, verdict) == 80);
};
