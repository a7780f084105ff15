//! A recording as C source, for programs that have no file system.
//!
//! *What.* [`Embedded`] holds what crosses the C border, in the border's own units (shares times 32768, millikelvin,
//! thousandths); [`Embedded::c_header`] writes it as `static const` arrays in the language common to C99 and C++11.
//! *Why the rounding happens here.* The core takes doubles, the border whole numbers. Both sides of a comparison start
//! from the rounded numbers, so a difference is a fault of the library and not of the comparison.

use oddheat::{
    ABI_VERSION, Condition, Config, FinishedTable, Frame, Place, SCALE_CURVE, SCALE_LINEAR, SHAPE_BOX, SHAPE_RING,
    SHAPE_SPOT, Status, TABLE_WORDS,
};
use oddheat_core::checks::{Kind, Unit};
use oddheat_core::measure::Shape;
use oddheat_core::units::ICE_POINT_K;
use oddheat_desk::recording::{Recording, Scale};
use std::fmt::Write as _;

/// A recording in the types of the C border.
#[derive(Clone, Debug)]
pub struct Embedded {
    /// Which check the recording is for.
    pub kind: Kind,
    /// Settings, but for `struct_size` and `abi_version`, which the header's macro sets.
    pub config: Config,
    /// Stated conditions; at least one.
    pub conditions: Vec<Condition>,
    /// Placed shapes; at least one.
    pub places: Vec<Place>,
    /// Frames with their counts, rows from the top.
    pub frames: Vec<(Frame, Vec<u16>)>,
}

/// A value that is a whole number at the border.
fn whole(value: f64, what: &str) -> Result<i64, String> {
    let rounded = libm::round(value);
    // Far outside any field's range, and exactly convertible.
    if rounded.abs() < 1e15 { Ok(rounded as i64) } else { Err(format!("{what} is {value}")) }
}

fn narrow<T: TryFrom<i64>>(value: f64, what: &str) -> Result<T, String> {
    T::try_from(whole(value, what)?).map_err(|_| format!("{what} does not fit the C interface: {value}"))
}

/// A number for which 0 means "the default" at the border, so that it must not round to 0.
fn stated<T: TryFrom<i64> + PartialEq + Default>(value: f64, what: &str) -> Result<T, String> {
    let number = narrow(value, what)?;
    if number == T::default() { Err(format!("{what} is 0, which means the default in C")) } else { Ok(number) }
}

fn millikelvin(celsius: f64, what: &str) -> Result<i32, String> {
    stated((celsius + ICE_POINT_K) * 1_000.0, what)
}

fn config(recording: &Recording) -> Result<Config, String> {
    let (scene, sensor) = (&recording.scene, &recording.sensor);
    let mut config = Config {
        struct_size: 0,
        abi_version: 0,
        width_px: recording.width,
        height_px: recording.height,
        regions_max: 1,
        shapes_max: narrow(recording.places.len() as f64, "number of places")?,
        full_scale_counts: 0,
        saturated_at_counts: sensor.saturated_at,
        dead_at_or_below_counts: sensor.dead_at_or_below,
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
        emissivity_q15: stated(scene.emissivity * 32_768.0, "emissivity")?,
        emissivity_u_q15: narrow(scene.emissivity_u * 32_768.0, "uncertainty of the emissivity")?,
        transmittance_q15: stated(scene.transmittance * 32_768.0, "transmittance")?,
        ifov_urad: narrow(sensor.ifov_mrad.unwrap_or(0.0) * 1_000.0, "angle of a pixel")?,
        reflected_mk: scene.reflected_c.map_or(Ok(0), |c| millikelvin(c, "reflected temperature"))?,
        medium_mk: scene.medium_c.map_or(Ok(0), |c| millikelvin(c, "temperature of the medium"))?,
        netd_mk: stated(sensor.netd_k * 1_000.0, "NETD")?,
        calibration_u_mk: stated(sensor.calibration_k * 1_000.0, "uncertainty of the calibration")?,
        slope_u_ppm: 0,
        drift_u_mk: stated(sensor.drift_k * 1_000.0, "uncertainty of the drift")?,
        uniformity_u_mk: 0,
        reflected_u_mk: stated(scene.reflected_u_k * 1_000.0, "uncertainty of the reflected temperature")?,
        air_u_mk: 0,
        transmittance_u_q15: narrow(scene.transmittance_u * 32_768.0, "uncertainty of the transmittance")?,
        medium_u_centikelvin: narrow(scene.medium_u_k * 100.0, "uncertainty of the medium")?,
    };
    match recording.scale {
        Scale::Curve { a_um, b_um_k, c_counts, offset_counts, shape } => {
            (config.curve_a_um, config.curve_b_um_k, config.curve_c_counts) = (a_um, b_um_k, c_counts);
            (config.curve_offset_counts, config.curve_shape) = (offset_counts, shape);
        }
        Scale::TwoRange { .. } => return Err("a config has one curve".to_owned()),
        Scale::Linear { counts_per_kelvin, zero_c } => {
            config.scale = SCALE_LINEAR;
            (config.linear_counts_per_kelvin, config.linear_zero_celsius) = (counts_per_kelvin, zero_c);
        }
    }
    Ok(config)
}

fn place(place: &oddheat_desk::recording::Place) -> Result<Place, String> {
    let (shape, [x_px, y_px, a_px, b_px]) = match place.shape {
        Shape::Spot { x, y, size } => (SHAPE_SPOT, [x, y, size, 0]),
        Shape::Box { x0, y0, x1, y1 } => (SHAPE_BOX, [x0, y0, x1, y1]),
        Shape::Ring { x, y, inner, outer } => (SHAPE_RING, [x, y, inner, outer]),
        other => return Err(format!("the C interface has no {other:?}")),
    };
    Ok(Place {
        struct_size: size_of::<Place>() as u32,
        role: u32::from(place.role.code()),
        view: u32::from(place.view.code()),
        shape,
        x_px,
        y_px,
        a_px,
        b_px,
        emissivity_q15: stated(place.emissivity * 32_768.0, "emissivity of a place")?,
        emissivity_u_q15: narrow(place.emissivity_u * 32_768.0, "uncertainty of a place's emissivity")?,
    })
}

impl Embedded {
    /// Rounds a recording to the units of the C border.
    ///
    /// # Errors
    /// A sentence if the recording names no known check, has no conditions or places, or a number does not fit.
    pub fn new(recording: &Recording) -> Result<Self, String> {
        let key = recording.check.as_deref().ok_or("the recording names no check")?;
        let kind = Kind::from_key(key).ok_or_else(|| format!("no check is called {key}"))?;
        let condition = |&(condition, value): &(oddheat_core::checks::Condition, f64)| {
            let thousandths = match condition.unit() {
                Unit::YesNo => value,
                Unit::Temperature => (value + ICE_POINT_K) * 1_000.0,
                _ => value * 1_000.0,
            };
            let thousandths = narrow(thousandths, condition.key())?;
            Ok(Condition { condition: u32::from(condition.code()), thousandths })
        };
        let frame = |frame: &oddheat_desk::recording::Frame| {
            let info = Frame {
                struct_size: size_of::<Frame>() as u32,
                time_ms: frame.time_ms,
                view: u32::from(frame.view.code()),
                shutter: u32::from(frame.shutter),
                housing_mk: frame.housing_c.map_or(Ok(0), |c| millikelvin(c, "housing temperature"))?,
            };
            Ok((info, frame.counts.clone()))
        };
        let embedded = Self {
            kind,
            config: config(recording)?,
            conditions: recording.conditions.iter().map(condition).collect::<Result<_, String>>()?,
            places: recording.places.iter().map(place).collect::<Result<_, String>>()?,
            frames: recording.frames.iter().map(frame).collect::<Result<_, String>>()?,
        };
        // C has no empty arrays.
        if embedded.conditions.is_empty() || embedded.places.is_empty() {
            return Err("a recording without conditions or places cannot be embedded".to_owned());
        }
        Ok(embedded)
    }

    /// The finished table of the settings as C source, as somebody would make it on a desktop for an image.
    ///
    /// # Errors
    /// What the library said of the settings.
    pub fn c_table(&self) -> Result<String, String> {
        let config = Config { struct_size: size_of::<Config>() as u32, abi_version: ABI_VERSION, ..self.config };
        let mut table = FinishedTable { words: [0; TABLE_WORDS] };
        // SAFETY: both pointers are good for the call.
        let status = unsafe { oddheat::oddheat_table_build(&config, &mut table) };
        if status != Status::Ok {
            return Err(format!("oddheat_table_build: {status:?}"));
        }
        let words: Vec<String> = table.words.iter().map(|word| format!("{word:#010x}u")).collect();
        let lines: Vec<String> = words.chunks(8).map(|line| format!("  {}", line.join(", "))).collect();
        Ok(format!(
            "/* Made by tests/src/embed.rs from a recording; do not edit. */\nstatic const oddheat_table recording_table = \
             {{{{\n{}\n}}}};\n",
            lines.join(",\n")
        ))
    }

    /// The text of `recording.h`; include it after `oddheat.h`.
    #[must_use]
    pub fn c_header(&self) -> String {
        let c = &self.config;
        let mut text = String::from("/* Made by tests/src/embed.rs from a recording; do not edit. */\n");
        let mut line = |line: std::fmt::Arguments<'_>| {
            // A String takes everything.
            let _ = writeln!(text, "{line}");
        };
        line(format_args!("#define RECORDING_WIDTH_PX {}", c.width_px));
        line(format_args!("#define RECORDING_HEIGHT_PX {}", c.height_px));
        line(format_args!("#define RECORDING_KIND {}u", self.kind.code()));
        line(format_args!("#define RECORDING_SHAPES {}", self.places.len()));
        line(format_args!("#define RECORDING_FRAMES {}", self.frames.len()));
        line(format_args!("static void recording_settings(oddheat_config *config) {{"));
        // The shortest decimal that reads back as the same double, in Rust and in C.
        for (field, value) in [
            ("curve_a_um", c.curve_a_um),
            ("curve_b_um_k", c.curve_b_um_k),
            ("curve_c_counts", c.curve_c_counts),
            ("curve_offset_counts", c.curve_offset_counts),
            ("curve_shape", c.curve_shape),
            ("linear_counts_per_kelvin", c.linear_counts_per_kelvin),
            ("linear_zero_celsius", c.linear_zero_celsius),
        ] {
            line(format_args!("  config->{field} = {value:?};"));
        }
        for (field, value) in [
            ("scale", i64::from(c.scale)),
            ("saturated_at_counts", i64::from(c.saturated_at_counts)),
            ("dead_at_or_below_counts", i64::from(c.dead_at_or_below_counts)),
            ("emissivity_q15", i64::from(c.emissivity_q15)),
            ("emissivity_u_q15", i64::from(c.emissivity_u_q15)),
            ("transmittance_q15", i64::from(c.transmittance_q15)),
            ("ifov_urad", i64::from(c.ifov_urad)),
            ("reflected_mk", i64::from(c.reflected_mk)),
            ("medium_mk", i64::from(c.medium_mk)),
            ("netd_mk", i64::from(c.netd_mk)),
            ("calibration_u_mk", i64::from(c.calibration_u_mk)),
            ("drift_u_mk", i64::from(c.drift_u_mk)),
            ("reflected_u_mk", i64::from(c.reflected_u_mk)),
        ] {
            line(format_args!("  config->{field} = {value};"));
        }
        line(format_args!("}}\nstatic const oddheat_condition recording_conditions[] = {{"));
        for Condition { condition, thousandths } in &self.conditions {
            line(format_args!("  {{{condition}u, {thousandths}}},"));
        }
        line(format_args!("}};\nstatic const oddheat_place recording_places[] = {{"));
        for p in &self.places {
            let (position, emissivity) = ([p.x_px, p.y_px, p.a_px, p.b_px], [p.emissivity_q15, p.emissivity_u_q15]);
            let numbers = [&position[..], &emissivity[..]].concat().iter().map(u16::to_string).collect::<Vec<_>>();
            let codes = format!("{}u, {}u, {}u", p.role, p.view, p.shape);
            line(format_args!("  {{(uint32_t)sizeof(oddheat_place), {codes}, {}}},", numbers.join(", ")));
        }
        line(format_args!("}};\nstatic const oddheat_frame recording_frames[] = {{"));
        for (f, _) in &self.frames {
            let numbers = format!("{}u, {}u, {}u, {}", f.time_ms, f.view, f.shutter, f.housing_mk);
            line(format_args!("  {{(uint32_t)sizeof(oddheat_frame), {numbers}}},"));
        }
        line(format_args!(
            "}};\nstatic const uint16_t recording_counts[RECORDING_FRAMES][RECORDING_WIDTH_PX * RECORDING_HEIGHT_PX] = {{"
        ));
        for (_, counts) in &self.frames {
            line(format_args!("  {{"));
            for row in counts.chunks(20) {
                let row: Vec<String> = row.iter().map(u16::to_string).collect();
                line(format_args!("    {},", row.join(", ")));
            }
            line(format_args!("  }},"));
        }
        line(format_args!("}};"));
        text
    }
}
