//! Programs that are not part of the Rust toolchain: which there are, running them, and making the library for them.
//!
//! *Skipping.* Where a tool is missing, a test says so and passes, so that the crate can be worked on without
//! cross-compilers; where the variable `CI` is set, it fails instead.

use std::env;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Root of the repository.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(PathBuf::new, Path::to_path_buf)
}

/// A folder for build products, below the workspace's target folder; not made here.
#[must_use]
pub fn target(name: &str) -> PathBuf {
    env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from).join(name)
}

fn on_path(program: &str) -> bool {
    let path = env::var_os("PATH").unwrap_or_default();
    env::split_paths(&path).any(|folder| folder.join(program).is_file())
}

/// Whether all these programs and compiler targets are there; if not, prints which and why that matters.
///
/// # Panics
/// If one is missing and `CI` is set.
#[must_use]
pub fn available(programs: &[&str], targets: &[&str]) -> bool {
    let mut missing: Vec<&str> = programs.iter().copied().filter(|program| !on_path(program)).collect();
    missing.extend(targets.iter().filter(|target| !has_target(target)));
    if missing.is_empty() {
        return true;
    }
    let message = format!("not found: {}", missing.join(", "));
    assert!(env::var_os("CI").is_none(), "{message}; required where CI is set");
    eprintln!("skipped, {message}");
    false
}

fn has_target(target: &str) -> bool {
    sysroot().is_ok_and(|root| root.join("lib/rustlib").join(target).join("lib").is_dir())
}

fn sysroot() -> Result<PathBuf, String> {
    let output = run(Command::new("rustc").current_dir(root()).args(["--print", "sysroot"]))?;
    Ok(PathBuf::from(String::from_utf8_lossy(&output.stdout).trim()))
}

/// The linker that comes with the Rust toolchain; knows every target.
///
/// # Errors
/// If the toolchain cannot be asked.
pub fn rust_lld() -> Result<PathBuf, String> {
    let host = run(Command::new("rustc").current_dir(root()).args(["--print", "host-tuple"]))?;
    let host = String::from_utf8_lossy(&host.stdout).trim().to_owned();
    Ok(sysroot()?.join("lib/rustlib").join(host).join("bin/rust-lld"))
}

/// Runs a command to its end.
///
/// # Errors
/// The command with what it printed, if it cannot be started or does not succeed.
pub fn run(command: &mut Command) -> Result<Output, String> {
    let output = command.output().map_err(|error| format!("{command:?}: {error}"))?;
    if output.status.success() {
        return Ok(output);
    }
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    Err(format!("{command:?}: {}\n{out}{err}", output.status))
}

/// Makes the static library for the host, or for a bare-metal target with the panic trap, and returns its path.
///
/// With the trap (feature `panic-link-error`) an image in which a panic is reachable does not link. Each variant has a
/// target folder of its own, because cargo gives them all the same file name.
///
/// # Errors
/// What cargo said.
pub fn library(target_triple: Option<&str>) -> Result<PathBuf, String> {
    let folder = target(if target_triple.is_some() { "firmware" } else { "ffi-host" });
    let mut command = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(root()).args(["rustc", "--quiet", "--package", "oddheat-ffi", "--profile", "firmware"]);
    // Flags meant for the tests, coverage for instance, would change the measured code or need std.
    command.env_remove("RUSTFLAGS").env_remove("CARGO_ENCODED_RUSTFLAGS");
    command.arg("--crate-type=staticlib").arg("--target-dir").arg(&folder);
    let mut products = folder;
    if let Some(triple) = target_triple {
        command.args(["--target", triple, "--features", "panic-link-error"]);
        products.push(triple);
    }
    run(&mut command)?;
    Ok(products.join("firmware/liboddheat.a"))
}
