//! The firmware image: compiling, linking, running in the emulator, and reading what came out.

use crate::embed::Embedded;
use crate::toolchain::{library, root, run, rust_lld, target};
use oddheat_desk::recording::Recording;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Programs that the image needs.
pub const PROGRAMS: [&str; 5] =
    ["timeout", "arm-none-eabi-gcc", "arm-none-eabi-size", "arm-none-eabi-nm", "qemu-system-arm"];
/// Compiler target of the image: Armv7E-M without a floating-point unit, so that the worst case is measured.
pub const TARGET: &str = "thumbv7em-none-eabi";
/// Compiler targets for which the library is linked and weighed: the smallest Arm core, the image's, and RISC-V.
pub const TARGETS: [&str; 3] = ["thumbv6m-none-eabi", TARGET, "riscv32imc-unknown-none-elf"];

/// The recording that C programs carry.
///
/// # Errors
/// What is wrong with `tests/data/brake_small`.
pub fn embedded() -> Result<Embedded, String> {
    let folder = root().join("tests/data/brake_small");
    Embedded::new(&Recording::open(&folder).map_err(|error| error.to_string())?)
}

/// Writes `recording.h` and `table.h` into a folder below the target folder, and returns that folder.
///
/// # Errors
/// What the file system refuses, and the library.
pub fn generated(embedded: &Embedded, name: &str) -> Result<PathBuf, String> {
    let folder = target("c-programs").join(name);
    std::fs::create_dir_all(&folder).map_err(|error| error.to_string())?;
    for (name, text) in [("recording.h", embedded.c_header()), ("table.h", embedded.c_table()?)] {
        std::fs::write(folder.join(name), text).map_err(|error| error.to_string())?;
    }
    Ok(folder)
}

/// Builds the image; fails to link if a panic is reachable. Each `name` has a folder of its own.
///
/// # Errors
/// What compiler or linker said.
pub fn build(name: &str) -> Result<PathBuf, String> {
    build_for(TARGET, "cortex-m4", name)
}

/// The same image of Armv6-M instructions only, which the emulated Armv7E-M core runs as they are.
///
/// # Errors
/// As [`build`].
pub fn build_small(name: &str) -> Result<PathBuf, String> {
    build_for("thumbv6m-none-eabi", "cortex-m0", name)
}

fn build_for(triple: &str, core: &str, name: &str) -> Result<PathBuf, String> {
    let folder = generated(&embedded()?, name)?;
    let (library, image, sources) = (library(Some(triple))?, folder.join("firmware.elf"), root().join("tests"));
    let mut gcc = Command::new("arm-none-eabi-gcc");
    gcc.arg(format!("-mcpu={core}")).args([
        "-mthumb",
        "-Os",
        "-std=c11",
        "-Wall",
        "-Wextra",
        "-Werror",
        "-ffreestanding",
    ]);
    gcc.args(["-ffunction-sections", "-fdata-sections", "-Wl,--gc-sections", "-nostdlib", "-Wl,-z,noexecstack"]);
    gcc.arg("-I").arg(root().join("include")).arg("-I").arg(&folder);
    gcc.arg("-T").arg(sources.join("firmware/link.ld"));
    gcc.args(
        ["firmware/board.c", "firmware/main.c", "firmware/tools.c", "firmware/patterns.c", "c/brake.c"]
            .map(|file| sources.join(file)),
    );
    // The library before the compiler's own helpers: both have soft floats, and the library is what is measured.
    gcc.arg(library).arg("-lgcc").arg("-o").arg(&image);
    run(&mut gcc)?;
    Ok(image)
}

/// What one entry point cost in the emulator.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cost {
    /// Name of the measurement, as in `tests/firmware/main.c`.
    pub name: String,
    /// Instructions, in steps of 40.
    pub instructions: u64,
    /// Bytes of stack.
    pub stack: u64,
    /// Pixels handled, or 0 if the call is not per pixel.
    pub pixels: u64,
}

/// What the image printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The finding, in the format of [`crate::direct::report`].
    pub report: String,
    /// The measurements.
    pub costs: Vec<Cost>,
}

/// Runs an image in the emulator.
///
/// # Errors
/// If it does not end with success within a minute, or prints something else.
pub fn emulate(image: &Path) -> Result<Printed, String> {
    let mut qemu = Command::new("timeout");
    qemu.args(["60", "qemu-system-arm", "-M", "mps2-an386", "-cpu", "cortex-m4", "-icount", "shift=0"]);
    qemu.args(["-semihosting-config", "enable=on,target=native", "-display", "none", "-monitor", "none"]);
    let output = run(qemu.args(["-serial", "none", "-kernel"]).arg(image))?;
    // Semihosting output goes to standard error or output, depending on the emulator's version; both are empty else.
    let text = String::from_utf8([output.stdout, output.stderr].concat()).map_err(|error| error.to_string())?;
    let (report, costs) = text.split_once("measurements\n").ok_or_else(|| format!("no measurements in:\n{text}"))?;
    let costs = costs.lines().map(cost).collect::<Option<Vec<_>>>();
    Ok(Printed { report: report.to_owned(), costs: costs.ok_or_else(|| format!("not understood:\n{text}"))? })
}

fn cost(line: &str) -> Option<Cost> {
    let mut words = line.split(' ');
    let name = words.next()?.to_owned();
    let mut number = || words.next()?.parse().ok();
    Some(Cost { name, instructions: number()?, stack: number()?, pixels: number()? })
}

/// Sizes of an image's sections by kind, as `size` sums them: code and constants, initialized data, zeroed data.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sections {
    /// Code and constants.
    pub text: u64,
    /// Initialized data.
    pub data: u64,
    /// Zeroed data.
    pub bss: u64,
}

/// Sizes of an ELF file.
///
/// # Errors
/// What `size` said.
pub fn sections(file: &Path) -> Result<Sections, String> {
    let output = run(Command::new("arm-none-eabi-size").arg(file))?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let numbers = text.lines().nth(1).unwrap_or_default().split_whitespace().map_while(|word| word.parse().ok());
    match numbers.collect::<Vec<u64>>()[..] {
        [text, data, bss, ..] => Ok(Sections { text, data, bss }),
        _ => Err(format!("not understood:\n{text}")),
    }
}

/// Names of the symbols in an ELF file, undefined ones included.
///
/// # Errors
/// What `nm` said.
pub fn symbols(file: &Path) -> Result<Vec<String>, String> {
    let output = run(Command::new("arm-none-eabi-nm").arg("--demangle").arg(file))?;
    let name = |line: &str| line.get(11..).map(str::to_owned);
    Ok(String::from_utf8_lossy(&output.stdout).lines().filter_map(name).collect())
}

/// Functions of the C interface in groups that an image may or may not use: scanning and temperatures; checks; texts and
/// versions; English; Spanish; sensor repair, calibration and budgets; measuring tools, fits, display, level and tracks;
/// scanning with a finished table; making one.
pub const EVERYTHING: [&[&str]; 9] = [
    &[
        "oddheat_config_init_sized",
        "oddheat_mem_size",
        "oddheat_init",
        "oddheat_set_thresholds",
        "oddheat_start_frame",
        "oddheat_push_row",
        "oddheat_regions",
        "oddheat_temperature",
        "oddheat_kelvin_row",
    ],
    &["oddheat_check_begin", "oddheat_check_place", "oddheat_check_locate", "oddheat_check_judge"],
    &[
        "oddheat_finding_text_in",
        "oddheat_brief_text_in",
        "oddheat_status_text",
        "oddheat_version",
        "oddheat_abi_version",
    ],
    &["oddheat_language_english", "oddheat_finding_text", "oddheat_brief_text"],
    &["oddheat_language_spanish"],
    &[
        "oddheat_sensor_config_init_sized",
        "oddheat_sensor_mem_size",
        "oddheat_sensor_init",
        "oddheat_sensor_begin_frame",
        "oddheat_sensor_row",
        "oddheat_sensor_end_frame",
        "oddheat_sensor_list_pixel",
        "oddheat_sensor_bad_pixels",
        "oddheat_sensor_load",
        "oddheat_sensor_save",
        "oddheat_sensor_set_drift",
        "oddheat_sensor_shutter_row",
        "oddheat_sensor_shutter_end",
        "oddheat_run_init",
        "oddheat_run_row",
        "oddheat_sensor_find_bad_pixels",
        "oddheat_sensor_calibrate",
        "oddheat_sensor_noise",
        "oddheat_netd",
        "oddheat_fit_curve",
        "oddheat_fit_uncertainty",
        "oddheat_emissivity_by_patch",
        "oddheat_emissivity_by_contact",
        "oddheat_reflected_by_foil",
        "oddheat_emissivity_gate",
        "oddheat_spot_check",
        "oddheat_path_transmittance",
        "oddheat_config_behind",
        "oddheat_init_two_range",
        "oddheat_surface_count",
        "oddheat_surface_at",
        "oddheat_surface_text",
        "oddheat_surface_find",
        "oddheat_inputs_init",
        "oddheat_reading_at",
        "oddheat_reading_of",
        "oddheat_budget_of",
        "oddheat_difference",
        "oddheat_rise_ratio",
    ],
    &[
        "oddheat_tools_mem_size",
        "oddheat_tools_init",
        "oddheat_tools_place",
        "oddheat_tools_row",
        "oddheat_tools_end_frame",
        "oddheat_tools_clear",
        "oddheat_tools_measurement",
        "oddheat_tools_reading",
        "oddheat_tools_frame_mean",
        "oddheat_tools_area",
        "oddheat_item_of",
        "oddheat_like_item",
        "oddheat_check_locate_along",
        "oddheat_find_ring_words",
        "oddheat_find_ring",
        "oddheat_find_comb_words",
        "oddheat_find_comb",
        "oddheat_find_items",
        "oddheat_find_shift_words",
        "oddheat_find_shift",
        "oddheat_tool_bands",
        "oddheat_tool_row",
        "oddheat_change_mem_size",
        "oddheat_change_init",
        "oddheat_change_row",
        "oddheat_change_read",
        "oddheat_local_mem_size",
        "oddheat_local_init",
        "oddheat_local_row",
        "oddheat_local_is_settled",
        "oddheat_local_correct",
        "oddheat_profile_mem_size",
        "oddheat_profile_init",
        "oddheat_profile_row",
        "oddheat_profile_points",
        "oddheat_trace_mem_size",
        "oddheat_trace_init",
        "oddheat_trace_add",
        "oddheat_trace_points",
        "oddheat_points_to_kelvin",
        "oddheat_fit_line",
        "oddheat_fit_peak",
        "oddheat_fit_gaussian",
        "oddheat_fit_edge",
        "oddheat_fit_exponential",
        "oddheat_fit_decay",
        "oddheat_fit_knee",
        "oddheat_palette_cividis",
        "oddheat_palette_viridis",
        "oddheat_palette_gray",
        "oddheat_palette_vik",
        "oddheat_palette_color",
        "oddheat_display_config_init_sized",
        "oddheat_display_mem_size",
        "oddheat_display_init",
        "oddheat_display_row",
        "oddheat_display_end_frame",
        "oddheat_display_set_range",
        "oddheat_display_range",
        "oddheat_counts_at",
        "oddheat_tracker_mem_size",
        "oddheat_tracker_init",
        "oddheat_tracker_set_clip",
        "oddheat_tracker_row",
        "oddheat_tracker_frame",
        "oddheat_tracker_tracks",
        "oddheat_level_mem_size",
        "oddheat_level_init",
        "oddheat_level_row",
        "oddheat_level_read",
        "oddheat_level_quantile",
        "oddheat_level_end_frame",
        "oddheat_set_thresholds_by_rule",
    ],
    &[
        "oddheat_config_init_sized",
        "oddheat_scan_mem_size",
        "oddheat_scan_init",
        "oddheat_scan_start",
        "oddheat_scan_row",
        "oddheat_scan_regions",
        "oddheat_table_temperature",
        "oddheat_table_kelvin_row",
        "oddheat_table_thresholds",
    ],
    &["oddheat_table_build"],
];

/// Links these functions of the library and what they need, and nothing else, so that an image's share of the library
/// can be weighed. Soft floats and memory copies are included, whoever brings them. Also fails if a panic is reachable.
///
/// # Errors
/// What the linker said.
pub fn link_library(triple: &str, functions: &[&str], name: &str) -> Result<PathBuf, String> {
    let folder = target("c-programs").join(name);
    std::fs::create_dir_all(&folder).map_err(|error| error.to_string())?;
    let linked = folder.join("library.elf");
    let mut linker = Command::new(rust_lld()?);
    // Any entry does: it only keeps the linker from looking for one.
    linker.args(["-flavor", "gnu", "--gc-sections", "--entry", functions.first().copied().unwrap_or_default()]);
    linker.args(functions.iter().flat_map(|function| ["--undefined", function]));
    run(linker.arg(library(Some(triple))?).arg("-o").arg(&linked))?;
    Ok(linked)
}
