//! What crosses the border: plain structs of fixed-width integers and doubles.
//!
//! Structs that may grow begin with their size. Layouts are asserted at the end of this file, for every target.

use core::mem::{align_of, offset_of, size_of};

/// Counts follow the calibration curve.
pub const SCALE_CURVE: u32 = 0;
/// Counts are proportional to apparent temperature.
pub const SCALE_LINEAR: u32 = 1;
/// Square of odd side around a center.
pub const SHAPE_SPOT: u32 = 1;
/// Rectangle, both corners included.
pub const SHAPE_BOX: u32 = 2;
/// Annulus around a center.
pub const SHAPE_RING: u32 = 3;

/// English, the only one that calls with a number take: a number could be any, so that an image would hold all. For others
/// see oddheat_language_spanish().
pub const LANGUAGE_ENGLISH: u32 = 1;
/// Temperatures in degrees Celsius, differences in kelvin.
pub const UNIT_CELSIUS: u32 = 0;
/// Temperatures and differences in degrees Fahrenheit.
pub const UNIT_FAHRENHEIT: u32 = 1;
/// Alignment of the memory block in bytes.
pub const MEM_ALIGN: usize = 8;
/// Bytes of the block that any device takes.
pub const MEM_HEAD: usize = 3072;
/// Bytes for each region kept.
pub const MEM_PER_REGION: usize = 48;
/// Bytes for each shape of a check.
pub const MEM_PER_SHAPE: usize = 640;
/// Bytes for each column of a frame.
pub const MEM_PER_COLUMN: usize = 12;
/// Version of the ABI: major << 16 | minor. Another major is a break, a higher minor only adds.
pub const ABI_VERSION: u32 = 65537;

/// Settings. Start from oddheat_config_init(); zero means the documented default.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Config {
    /// Set by oddheat_config_init().
    pub struct_size: u32,
    /// Set by oddheat_config_init().
    pub abi_version: u32,
    /// Columns of a frame, 1 to 65535.
    pub width_px: u16,
    /// Rows of a frame, 1 to 65535.
    pub height_px: u16,
    /// Regions kept per frame, 1 to 32766; 0 = 32.
    pub regions_max: u16,
    /// Shapes a check may place; 0 = no checks.
    pub shapes_max: u16,
    /// Largest count the sensor sends; 0 = 65535.
    pub full_scale_counts: u16,
    /// Counts at or above this are saturated; 0 = 65535.
    pub saturated_at_counts: u16,
    /// Counts at or below this are dead pixels.
    pub dead_at_or_below_counts: u16,
    /// Neighbors that belong to a region: 4 or 8; 0 = 8.
    pub connectivity: u16,
    /// Regions with fewer pixels are not delivered; 0 = 1.
    pub min_area_px: u32,
    /// How counts become temperatures: ODDHEAT_SCALE_CURVE or ODDHEAT_SCALE_LINEAR.
    pub scale: u32,
    /// Curve: A in micrometers, 1 to 100. S(T) = offset + C / (exp(c2 / (A T + B)) - shape), T in kelvin.
    pub curve_a_um: f64,
    /// Curve: B in micrometers times kelvin, 0 to 10000.
    pub curve_b_um_k: f64,
    /// Curve: C in counts, above 0.
    pub curve_c_counts: f64,
    /// Curve: offset in counts.
    pub curve_offset_counts: f64,
    /// Curve: shape, above -1 and at most 10; 1 in the Sakuma-Hattori form. Set to 1 by oddheat_config_init().
    pub curve_shape: f64,
    /// Linear: counts per kelvin of apparent temperature, above 0.
    pub linear_counts_per_kelvin: f64,
    /// Linear: temperature of count 0 in degrees Celsius.
    pub linear_zero_celsius: f64,
    /// Emissivity times 32768, see ODDHEAT_Q15; 0 = 1.
    pub emissivity_q15: u16,
    /// Standard uncertainty of the emissivity, times 32768.
    pub emissivity_u_q15: u16,
    /// Transmittance of a window or air path times 32768; 0 = 1.
    pub transmittance_q15: u16,
    /// Angle of one pixel in microradians; 0 = unknown, then no sizes in millimeters.
    pub ifov_urad: u16,
    /// Reflected apparent temperature in mK; 0 = 293150.
    pub reflected_mk: i32,
    /// Temperature of the window or air path in mK; 0 = 293150.
    pub medium_mk: i32,
    /// Noise equivalent temperature difference of a pixel in mK; 0 = 80.
    pub netd_mk: u32,
    /// Standard uncertainty of the absolute calibration in mK; 0 = 2000.
    pub calibration_u_mk: u32,
    /// Standard uncertainty of the calibration slope in parts per million; 0 = 10000.
    pub slope_u_ppm: u32,
    /// Standard uncertainty of the offset drift between two views in mK; 0 = 300.
    pub drift_u_mk: u32,
    /// Standard uncertainty from non-uniformity between two places of a frame in mK; 0 = 150.
    pub uniformity_u_mk: u32,
    /// Standard uncertainty of the reflected apparent temperature in mK; 0 = 1000.
    pub reflected_u_mk: u32,
    /// Standard uncertainty of the stated air temperature in mK; 0 = 1000.
    pub air_u_mk: u32,
    /// Standard uncertainty of the transmittance, times 32768.
    pub transmittance_u_q15: u16,
    /// Standard uncertainty of the temperature of the window or air path in hundredths of a kelvin.
    pub medium_u_centikelvin: u16,
}

/// When and how a frame was taken.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// sizeof(oddheat_frame).
    pub struct_size: u32,
    /// Time since any fixed moment in ms; must not run backward.
    pub time_ms: u32,
    /// Which picture it belongs to, ODDHEAT_VIEW_...; 0 = ODDHEAT_VIEW_SINGLE.
    pub view: u32,
    /// 1 if the shutter closed since the frame before, else 0.
    pub shutter: u32,
    /// Housing temperature in mK; 0 = unknown.
    pub housing_mk: i32,
}

/// One connected region of the last frame. Coordinates are pixels; boxes include both corners.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Region {
    /// Number of pixels.
    pub area_px: u32,
    /// Mean column times 65536.
    pub centroid_x_q16: u32,
    /// Mean row times 65536.
    pub centroid_y_q16: u32,
    /// Mean count times 256.
    pub mean_counts_q8: u32,
    /// Object temperature of the peak in mK; 0 = none belongs to it.
    pub peak_mk: i32,
    /// First column.
    pub x0_px: u16,
    /// First row.
    pub y0_px: u16,
    /// Last column.
    pub x1_px: u16,
    /// Last row.
    pub y1_px: u16,
    /// Most extreme count.
    pub peak_counts: u16,
    /// Column of the first pixel with that count.
    pub peak_x_px: u16,
    /// Row of that pixel.
    pub peak_y_px: u16,
    /// Counts by which the peak lies beyond its threshold.
    pub strength_counts: u16,
    /// ODDHEAT_SIGN_HOT or ODDHEAT_SIGN_COLD.
    pub sign: u16,
    /// 1 if a piece of it was dropped because the table was full, else 0.
    pub incomplete: u16,
}

/// What the last frame gave.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Summary {
    /// Regions found; may exceed what was written.
    pub regions_found: u32,
    /// Regions written, strongest first.
    pub regions_written: u32,
    /// At most this many weaker regions were lost because the table was full.
    pub regions_dropped: u32,
}

/// A shape on the image and what it covers.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// sizeof(oddheat_place).
    pub struct_size: u32,
    /// What it covers, ODDHEAT_ROLE_...
    pub role: u32,
    /// In which picture, ODDHEAT_VIEW_...; 0 = ODDHEAT_VIEW_SINGLE.
    pub view: u32,
    /// ODDHEAT_SHAPE_SPOT, ODDHEAT_SHAPE_BOX or ODDHEAT_SHAPE_RING.
    pub shape: u32,
    /// Spot and ring: center column. Box: first column.
    pub x_px: u16,
    /// Spot and ring: center row. Box: first row.
    pub y_px: u16,
    /// Spot: side, odd. Box: last column. Ring: inner radius.
    pub a_px: u16,
    /// Spot: unused, 0. Box: last row. Ring: outer radius.
    pub b_px: u16,
    /// Emissivity times 32768; 0 = that of the config.
    pub emissivity_q15: u16,
    /// Its standard uncertainty, times 32768.
    pub emissivity_u_q15: u16,
}

/// A stated condition.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Condition {
    /// Which, ODDHEAT_CONDITION_...
    pub condition: u32,
    /// Thousandths of its unit: mK (absolute), ms, mA, Pa, mm; 1 or 0 for yes and no.
    pub thousandths: i32,
}

/// One measured number of a finding.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Evidence {
    /// Value times 65536, in the unit of the metric.
    pub value_q16: i32,
    /// Standard uncertainty times 65536; twice this is the expanded uncertainty.
    pub uncertainty_q16: i32,
    /// ODDHEAT_METRIC_...
    pub metric: u16,
    /// ODDHEAT_ROLE_...; 0 = at no one place.
    pub role: u16,
    /// ODDHEAT_VIEW_...; 0 = at no one place.
    pub view: u16,
    /// Number of the limit it was held against, counted from 1; 0 = none.
    pub limit: u16,
    /// Grade that the value alone supports, ODDHEAT_GRADE_...
    pub grade: u16,
    /// Grade that the upper end of its interval reaches.
    pub reaches: u16,
}

/// A gate that failed.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct FailedGate {
    /// ODDHEAT_GATE_...
    pub gate: u16,
    /// 1 if it stops the check (not assessable), 0 if it weakens the grade.
    pub stops: u16,
    /// The condition behind it, ODDHEAT_CONDITION_...; 0 = none.
    pub condition: u16,
    /// The shape behind it, ODDHEAT_ROLE_...; 0 = none.
    pub role: u16,
    /// The picture behind it, ODDHEAT_VIEW_...; 0 = none.
    pub view: u16,
}

/// The outcome of a check, in codes. oddheat_finding_text() puts it into words.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Finding {
    /// sizeof(oddheat_finding), set by the caller.
    pub struct_size: u32,
    /// ODDHEAT_KIND_...
    pub check: u32,
    /// ODDHEAT_GRADE_...
    pub grade: u32,
    /// Grade that the intervals reach; above grade if the measurement cannot decide.
    pub reaches: u32,
    /// ODDHEAT_SYMPTOM_...
    pub symptom: u32,
    /// Where the suspected fault is, ODDHEAT_ROLE_...; 0 = no place.
    pub suspect_role: u32,
    /// In which picture, ODDHEAT_VIEW_...; 0 = no place.
    pub suspect_view: u32,
    /// Entries used in evidence.
    pub evidence_count: u32,
    /// Entries used in gates.
    pub gates_count: u32,
    /// Entries used in causes.
    pub causes_count: u32,
    /// Entries used in tests.
    pub tests_count: u32,
    /// Entries used in cautions.
    pub cautions_count: u32,
    /// Entries used in notes.
    pub notes_count: u32,
    /// Numbers, the deciding one first.
    pub evidence: [Evidence; 12],
    /// Gates that failed.
    pub gates: [FailedGate; 12],
    /// Suspected causes, ODDHEAT_CAUSE_..., most likely first.
    pub causes: [u16; 6],
    /// What to test next, ODDHEAT_NEXT_TEST_..., in order.
    pub tests: [u16; 6],
    /// What can hurt, ODDHEAT_CAUTION_...
    pub cautions: [u16; 8],
    /// What has to be said along, ODDHEAT_NOTE_...
    pub notes: [u16; 8],
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(
        size_of::<Config>() == 136
            && offset_of!(Config, curve_a_um) == 32
            && offset_of!(Config, transmittance_u_q15) == 132
    );
    assert!(size_of::<Frame>() == 20 && size_of::<Summary>() == 12);
    assert!(size_of::<Region>() == 40 && offset_of!(Region, x0_px) == 20);
    assert!(size_of::<Place>() == 28 && offset_of!(Place, x_px) == 16);
    assert!(size_of::<Condition>() == 8);
    assert!(size_of::<Evidence>() == 20 && size_of::<FailedGate>() == 10);
    assert!(size_of::<Finding>() == 468 && offset_of!(Finding, evidence) == 52 && offset_of!(Finding, gates) == 292);
    assert!(align_of::<Finding>() == 4 && align_of::<Region>() == 4);
};

impl Config {
    /// Everything zero but the shape of the curve.
    pub(crate) const DEFAULT: Self = Self {
        struct_size: 0,
        abi_version: 0,
        width_px: 0,
        height_px: 0,
        regions_max: 0,
        shapes_max: 0,
        full_scale_counts: 0,
        saturated_at_counts: 0,
        dead_at_or_below_counts: 0,
        connectivity: 0,
        min_area_px: 0,
        scale: SCALE_CURVE,
        curve_a_um: 0.0,
        curve_b_um_k: 0.0,
        curve_c_counts: 0.0,
        curve_offset_counts: 0.0,
        curve_shape: 1.0,
        linear_counts_per_kelvin: 0.0,
        linear_zero_celsius: 0.0,
        emissivity_q15: 0,
        emissivity_u_q15: 0,
        transmittance_q15: 0,
        ifov_urad: 0,
        reflected_mk: 0,
        medium_mk: 0,
        netd_mk: 0,
        calibration_u_mk: 0,
        slope_u_ppm: 0,
        drift_u_mk: 0,
        uniformity_u_mk: 0,
        reflected_u_mk: 0,
        air_u_mk: 0,
        transmittance_u_q15: 0,
        medium_u_centikelvin: 0,
    };
}
