//! C programs against the library of the host: they compile as C99, C11 and C++11 without a warning, see the same
//! layouts and numbers as Rust, and touch nothing they should not.

#[path = "c_programs/display.rs"]
mod display;
#[path = "c_programs/fits.rs"]
mod fits;
#[path = "c_programs/level.rs"]
mod level;
#[path = "c_programs/metrology.rs"]
mod metrology;
#[path = "c_programs/patterns.rs"]
mod patterns;
#[path = "c_programs/scene.rs"]
mod scene;
#[path = "c_programs/sensor.rs"]
mod sensor;
#[path = "c_programs/tools.rs"]
mod tools;

use oddheat::{
    ArrayFigures, BadPixel, Budget, CalibrationPoint, Comb, CombArea, CombLine, Condition, Config, Contribution, Decay,
    Detection, DisplayConfig, Edge, Estimate, Evidence, Exponential, FailedGate, Finding, Fit, FitOptions, Frame,
    Inputs, ItemRow, Knee, LevelFigures, Likeness, Line, LineFit, Measurement, Medium, NoiseFigure, Pair, Peak,
    PixelCorrection, Place, Point, Reading, Region, Ring, RingRange, Rule, SensorConfig, SensorFlags, Shift, SoakPoint,
    Summary, Surface, Tool, TwoRange, Vertex,
};
use oddheat_tests::{direct, image, toolchain};
use std::fmt::Write as _;
use std::mem::offset_of;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

const C99: [&str; 4] = ["gcc", "-std=c99", "-x", "c"];
const C11: [&str; 4] = ["gcc", "-std=c11", "-x", "c"];
const CPP11: [&str; 4] = ["g++", "-std=c++11", "-x", "c++"];
/// Every function with every error it may give; no output if nothing is wrong.
const API_PROGRAMS: [&str; 13] = [
    "api.c",
    "api_checks.c",
    "api_placing.c",
    "api_scan.c",
    "api_track.c",
    "api_sensor.c",
    "api_metrology.c",
    "api_tools.c",
    "api_fits.c",
    "api_display.c",
    "api_level.c",
    "api_patterns.c",
    "api_change.c",
];
/// Programs whose lines are compared with the core.
const PRINTING_PROGRAMS: [&str; 7] =
    ["metrology.c", "sensor.c", "tools.c", "fits.c", "display.c", "level.c", "patterns.c"];
const WARNINGS: [&str; 5] = ["-Wall", "-Wextra", "-pedantic", "-Werror", "-g"];

/// The library for the host, made once.
fn library() -> &'static Path {
    static LIBRARY: OnceLock<PathBuf> = OnceLock::new();
    LIBRARY.get_or_init(|| toolchain::library(None).unwrap())
}

fn source(name: &str) -> PathBuf {
    toolchain::root().join("tests/c").join(name)
}

fn compiler(dialect: [&str; 4], extra: &[&str], folder: &Path) -> Command {
    let mut command = Command::new(dialect[0]);
    command.args(&dialect[1..]).args(WARNINGS).args(extra);
    command.arg("-I").arg(toolchain::root().join("include")).arg("-I").arg(folder);
    command
}

/// Compiles and links a program; `variant` names its folder, so that tests do not write over each other.
fn program(dialect: [&str; 4], extra: &[&str], sources: &[&str], variant: &str) -> PathBuf {
    let folder = image::generated(&image::embedded().unwrap(), variant).unwrap();
    let program = folder.join("program");
    let mut command = compiler(dialect, extra, &folder);
    command.args(sources.iter().map(|name| source(name))).args(["-x", "none"]).arg(library());
    // What `rustc --print native-static-libs` names for this host.
    command.args(["-lgcc_s", "-lutil", "-lrt", "-lpthread", "-lm", "-ldl"]).arg("-o").arg(&program);
    toolchain::run(&mut command).unwrap();
    program
}

fn output(program: &Path) -> String {
    String::from_utf8(toolchain::run(&mut Command::new(program)).unwrap().stdout).unwrap()
}

#[test]
fn brake_program_prints_what_the_core_says() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let finding = direct::judge(&image::embedded().unwrap()).unwrap();
    let wanted = direct::report(&finding).unwrap();
    println!("{wanted}");
    // A finding that says nothing would compare equal too easily.
    assert!(finding.evidence.len() >= 4 && finding.gates.is_empty(), "{finding:?}");
    for (dialect, variant) in [(C99, "brake-c99"), (C11, "brake-c11"), (CPP11, "brake-cpp11")] {
        let program = program(dialect, &[], &["brake.c", "brake_hosted.c"], variant);
        assert_eq!(output(&program), wanted, "{variant}");
    }
}

#[test]
fn sources_compile_without_a_hosted_library() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let folder = image::generated(&image::embedded().unwrap(), "freestanding").unwrap();
    for dialect in [C99, C11, CPP11] {
        let mut command = compiler(dialect, &["-ffreestanding", "-c"], &folder);
        toolchain::run(command.arg(source("brake.c")).arg("-o").arg(folder.join("brake.o"))).unwrap();
    }
}

#[test]
fn api_programs_find_nothing_wrong() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    for name in API_PROGRAMS {
        for (dialect, variant) in [(C99, "c99"), (C11, "c11"), (CPP11, "cpp11")] {
            assert_eq!(output(&program(dialect, &[], &[name], &format!("{name}-{variant}"))), "", "{variant}");
        }
    }
}

#[test]
fn api_programs_are_clean_under_the_sanitizers() {
    if !toolchain::available(&["gcc"], &[]) {
        return;
    }
    for name in API_PROGRAMS {
        let flags = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all"];
        assert_eq!(output(&program(C11, &flags, &[name], &format!("{name}-sanitized"))), "");
    }
    for name in PRINTING_PROGRAMS {
        let flags = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all"];
        assert_ne!(output(&program(C11, &flags, &[name], &format!("{name}-sanitized"))), "");
    }
}

#[test]
fn api_programs_are_clean_under_valgrind() {
    if !toolchain::available(&["gcc", "valgrind"], &[]) {
        return;
    }
    for name in API_PROGRAMS.into_iter().chain(PRINTING_PROGRAMS) {
        let program = program(C11, &["-DPADDING_IS_WATCHED"], &[name], &format!("{name}-valgrind"));
        let mut valgrind = Command::new("valgrind");
        toolchain::run(valgrind.args(["--quiet", "--error-exitcode=2", "--leak-check=full"]).arg(program)).unwrap();
    }
}

#[test]
fn example_is_the_one_in_the_readme() {
    let read = |path: PathBuf| std::fs::read_to_string(path).unwrap();
    let (readme, example) = (read(toolchain::root().join("README.md")), read(source("example.c")));
    assert!(readme.contains(&format!("```c\n{example}```")), "tests/c/example.c and README.md differ");
}

/// 80 °C and 0 °C were drawn into it.
#[test]
fn example_finds_the_hot_and_the_cold_region() {
    if !toolchain::available(&["gcc"], &[]) {
        return;
    }
    let printed = output(&program(C99, &[], &["example.c"], "example"));
    let lines: Vec<&str> = printed.lines().collect();
    assert!(lines.len() == 2, "{printed}");
    assert!(lines[0].starts_with("hot, 2 px, peak 35") && lines[0].ends_with("at (3, 1)"), "{printed}");
    assert!(lines[1].starts_with("cold, 1 px, peak 273") && lines[1].ends_with("at (7, 2)"), "{printed}");
}

fn size_of_field<T, F>(_: impl Fn(&T) -> &F) -> usize {
    size_of::<F>()
}

/// Lines for a struct and its fields, as `layout.c` prints them.
macro_rules! layout {
    ($text:ident, $name:literal, $type:ty, $($field:ident)+) => {
        writeln!($text, "{} {}", $name, size_of::<$type>()).unwrap();
        $(writeln!($text, "{}.{} {} {}", $name, stringify!($field), offset_of!($type, $field),
            size_of_field(|value: &$type| &value.$field)).unwrap();)+
    };
}

/// Bytes of the structs that belong to no listed field; the structs have no padding.
fn unlisted_bytes(layout: &str) -> i64 {
    let bytes = |line: &str| line.rsplit(' ').next().unwrap().parse::<i64>().unwrap();
    let (fields, structs): (Vec<&str>, Vec<&str>) = layout.lines().partition(|line| line.contains('.'));
    structs.into_iter().map(bytes).sum::<i64>() - fields.into_iter().map(bytes).sum::<i64>()
}

#[test]
fn layouts_versions_and_sizes_agree() {
    if !toolchain::available(&["gcc", "g++"], &[]) {
        return;
    }
    let mut wanted = String::new();
    layout!(wanted, "config", Config, struct_size abi_version width_px height_px regions_max shapes_max
        full_scale_counts saturated_at_counts dead_at_or_below_counts connectivity min_area_px scale curve_a_um
        curve_b_um_k curve_c_counts curve_offset_counts curve_shape linear_counts_per_kelvin linear_zero_celsius
        emissivity_q15 emissivity_u_q15 transmittance_q15 ifov_urad reflected_mk medium_mk netd_mk calibration_u_mk
        slope_u_ppm drift_u_mk uniformity_u_mk reflected_u_mk air_u_mk transmittance_u_q15
        medium_u_centikelvin);
    layout!(wanted, "frame", Frame, struct_size time_ms view shutter housing_mk);
    layout!(wanted, "region", Region, area_px centroid_x_q16 centroid_y_q16 mean_counts_q8 peak_mk x0_px y0_px x1_px
        y1_px peak_counts peak_x_px peak_y_px strength_counts sign incomplete);
    layout!(wanted, "summary", Summary, regions_found regions_written regions_dropped);
    layout!(wanted, "place", Place, struct_size role view shape x_px y_px a_px b_px emissivity_q15 emissivity_u_q15);
    layout!(wanted, "condition", Condition, condition thousandths);
    layout!(wanted, "evidence", Evidence, value_q16 uncertainty_q16 metric role view limit grade reaches);
    layout!(wanted, "failed_gate", FailedGate, gate stops condition role view);
    layout!(wanted, "finding", Finding, struct_size check grade reaches symptom suspect_role suspect_view
        evidence_count gates_count causes_count tests_count cautions_count notes_count evidence gates causes tests
        cautions notes);
    layout!(wanted, "estimate", Estimate, value uncertainty);
    layout!(wanted, "calibration_point", CalibrationPoint, kelvin counts kelvin_sd counts_sd);
    layout!(wanted, "fit_options", FitOptions, struct_size form free_offset reserved band_from_um band_to_um offset_counts);
    layout!(wanted, "fit", Fit, struct_size points_count degrees_of_freedom known curve_a_um curve_b_um_k curve_c_counts curve_offset_counts curve_shape low_kelvin high_kelvin chi_square covariance residuals_k curve_u_k);
    layout!(wanted, "two_range", TwoRange, struct_size reserved curve_a_um curve_b_um_k curve_c_counts curve_offset_counts curve_shape hand_over_kelvin tolerance_k);
    layout!(wanted, "medium", Medium, transmittance reflectance kelvin reflected_kelvin);
    layout!(wanted, "surface", Surface, low typical high band read);
    layout!(wanted, "inputs", Inputs, struct_size reserved netd_k calibration_k slope_relative drift_k uniformity_k reflected_k transmittance medium_k air_k);
    layout!(wanted, "reading", Reading, struct_size reserved kelvin noise_k emissivity emissivity_u apparent_k by_apparent by_emissivity by_reflected by_transmittance by_medium by_counts);
    layout!(wanted, "contribution", Contribution, component reserved coefficient input kelvin share);
    layout!(wanted, "budget", Budget, struct_size parts_count value_k standard_k coverage_factor expanded_k parts);
    layout!(wanted, "ring_range", RingRange, least_radius_px greatest_radius_px edge_counts reserved);
    layout!(wanted, "ring", Ring, x_q8 y_q8 inner_q8 outer_q8 hotter confidence_per_mille);
    layout!(wanted, "pair", Pair, x0_px y0_px x1_px y1_px second_x0_px second_y0_px mirrored reach_px);
    layout!(wanted, "shift", Shift, dx_q8 dy_q8 confidence_per_mille);
    layout!(wanted, "comb_area", CombArea, x0_px y0_px x1_px y1_px upright least_pitch_px);
    layout!(wanted, "comb_line", CombLine, place_px contrast_counts present reserved);
    layout!(wanted, "comb", Comb, pitch_px slant confidence_per_mille lines_count lines);
    layout!(wanted, "item_row", ItemRow, first_x_px first_y_px step_x_px step_y_px places filled confidence_per_mille reserved);
    layout!(wanted, "sensor_config", SensorConfig, struct_size abi_version width_px height_px dead_at_or_below_counts saturated_at_counts bad_pixels_max watch_slots watch_frames watch_excursion_counts column_limit_counts column_reach_px column_slowness smoothing_shift correction shutter step_counts reserved warm_up_mk_per_minute warm_up_window_ms);
    layout!(wanted, "pixel_correction", PixelCorrection, gain_q14 offset_q4);
    layout!(wanted, "bad_pixel", BadPixel, x_px y_px kind reserved);
    layout!(wanted, "soak_point", SoakPoint, housing_kelvin counts);
    layout!(wanted, "sensor_flags", SensorFlags, struct_size pixels dead saturated found warming_up drift_unknown stepped step_q4);
    layout!(wanted, "array_figures", ArrayFigures, response_q8 noise_q8 good pixels);
    layout!(wanted, "noise_figure", NoiseFigure, netd_k signal_counts noise_counts);
    layout!(wanted, "vertex", Vertex, x_px y_px);
    layout!(wanted, "tool", Tool, struct_size shape x_px y_px a_px b_px axis_x_px axis_y_px sector sectors emissivity_q15
        emissivity_u_q15 above_mk above_u_mk vertices_count vertices);
    layout!(wanted, "measurement", Measurement, struct_size frames count_px rejected_px mean_q16 mean_u_q16 median_q16
        median_u_q16 minimum_q16 minimum_u_q16 maximum_q16 maximum_u_q16 deviation_q16 area area_px area_u_q8);
    layout!(wanted, "likeness", Likeness, difference uncertainty scatter score);
    layout!(wanted, "line", Line, struct_size lines x0_q8 y0_q8 x1_q8 y1_q8);
    layout!(wanted, "point", Point, place value);
    layout!(wanted, "line_fit", LineFit, center level slope);
    layout!(wanted, "peak", Peak, place height width);
    layout!(wanted, "edge", Edge, place before behind width);
    layout!(wanted, "exponential", Exponential, end amplitude constant);
    layout!(wanted, "decay", Decay, height length);
    layout!(wanted, "knee", Knee, place value before after);
    layout!(wanted, "display_config", DisplayConfig, struct_size abi_version width_px zoom smooth dead_at_or_below_counts saturated_at_counts bins every_rows low_thousandths high_thousandths least_span_counts slowness reserved);
    layout!(wanted, "level_figures", LevelFigures, struct_size known readings below above median_q8 deviation_q8 sigma_q8 noise_q8 upper split_counts separability);
    layout!(wanted, "detection_rule", Rule, struct_size sigmas frames floor_mk emissivity_thousandths reflected_mk);
    layout!(wanted, "detection", Detection, difference_q16 term hot_counts cold_counts);
    assert_eq!(unlisted_bytes(&wanted), 0, "a field is missing from the lists here and in layout.c");
    for (dialect, variant) in [(C99, "layout-c99"), (C11, "layout-c11"), (CPP11, "layout-cpp11")] {
        assert_eq!(output(&program(dialect, &[], &["layout.c"], variant)), wanted, "{variant}");
    }
}
