//! The same bytes on every target: conversions, regions, findings and texts, computed by one program (`golden/`) on the
//! host, on emulated Cortex-M0, M4, M7 and RISC-V cores and in WebAssembly, against `data/golden.txt`.
//!
//! *The file* holds what the host said when it was last looked at. After a change that is meant to change results, write
//! it anew and read the difference before it is committed:
//!
//! ```text
//! ODDHEAT_WRITE_GOLDEN=1 cargo test -p oddheat-tests --test golden host_unoptimized
//! git diff tests/data/golden.txt
//! ```
//!
//! *One target by hand*: `cd tests/golden && cargo run --profile firmware --target thumbv6m-none-eabi`.
//! *Skipping*: as in `oddheat_tests::toolchain`.

use oddheat_core::checks::{Kind, Must};
use oddheat_core::finding::Grade;
use oddheat_tests::toolchain::{available, root, target};
use std::collections::BTreeSet;
use std::env;
use std::path::PathBuf;
use std::process::Command;

// Compiled into this test, so that it runs as tests do: not optimized, and every overflow a panic.
#[path = "../golden/src/lines/mod.rs"]
pub mod lines;

fn file() -> PathBuf {
    root().join("tests/data/golden.txt")
}

fn golden() -> String {
    std::fs::read_to_string(file()).unwrap()
}

/// Fails with the first lines that differ, which say what differs; numbers count from 1, as editors do.
fn assert_golden(who: &str, printed: &str) {
    let golden = golden();
    let (expected, printed): (Vec<_>, Vec<_>) = (golden.lines().collect(), printed.lines().collect());
    let line = |lines: &[&str], i: usize| lines.get(i).map_or("(no line)".to_owned(), |line| (*line).to_owned());
    let differ = |&i: &usize| expected.get(i) != printed.get(i);
    let differing: Vec<_> = (0..expected.len().max(printed.len())).filter(differ).collect();
    let show = |&i: &usize| format!("{}:\n  file {}\n  here {}\n", i + 1, line(&expected, i), line(&printed, i));
    let first: String = differing.iter().take(5).map(show).collect();
    assert!(differing.is_empty(), "{who}: {} of {} lines differ, first\n{first}", differing.len(), expected.len());
}

/// Builds the program for a target, or for the host, runs it, and compares.
fn assert_runs(triple: Option<&str>, programs: &[&str]) {
    if !available(programs, triple.as_slice()) {
        return;
    }
    let mut cargo = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    // The folder's `.cargo/config.toml` says how images are linked and run; flags from outside would displace it.
    cargo.current_dir(root().join("tests/golden")).env_remove("RUSTFLAGS").env_remove("CARGO_ENCODED_RUSTFLAGS");
    // A folder for each, as two builds cannot share one at a time.
    let folder = target("golden").join(triple.unwrap_or("host"));
    cargo.args(["run", "--quiet", "--locked", "--profile", "firmware", "--target-dir"]).arg(folder);
    cargo.args(triple.iter().flat_map(|triple| ["--target", triple]));
    let output = cargo.output().unwrap();
    let (who, printed) = (triple.unwrap_or("optimized host"), String::from_utf8(output.stdout).unwrap());
    // A fault or a panic of an image is its last line; a compiler or an emulator speaks on standard error.
    let (count, last) = (printed.lines().count(), printed.lines().last().unwrap_or_default());
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{who}: {} after {count} lines, the last \"{last}\"\n{errors}", output.status);
    assert_golden(who, &printed);
}

#[test]
fn host_unoptimized() {
    let mut text = String::new();
    lines::run(&mut |piece| text.push_str(piece));
    if env::var_os("ODDHEAT_WRITE_GOLDEN").is_some() {
        assert!(env::var_os("CI").is_none(), "where CI is set the file is compared, never written");
        std::fs::write(file(), &text).unwrap();
    }
    assert_golden("unoptimized host", &text);
}

#[test]
fn host_optimized_for_size() {
    assert_runs(None, &[]);
}

/// Armv6-M in 16 KiB of RAM: no hardware division, multiplications of 32 bits only.
#[test]
fn cortex_m0() {
    assert_runs(Some("thumbv6m-none-eabi"), &["timeout", "qemu-system-arm"]);
}

/// Armv7E-M with floats in software.
#[test]
fn cortex_m4() {
    assert_runs(Some("thumbv7em-none-eabi"), &["timeout", "qemu-system-arm"]);
}

/// Armv7E-M with f64 in hardware, where a compiler might fuse or reorder what software floats keep apart.
#[test]
fn cortex_m7_with_double_precision() {
    assert_runs(Some("thumbv7em-none-eabihf"), &["timeout", "qemu-system-arm"]);
}

#[test]
fn riscv32() {
    assert_runs(Some("riscv32imc-unknown-none-elf"), &["timeout", "qemu-system-riscv32"]);
}

#[test]
fn webassembly() {
    assert_runs(Some("wasm32-unknown-unknown"), &["timeout", "node"]);
}

/// Equal lines prove little if nothing happens in them.
#[test]
fn every_check_grade_and_gate_of_a_condition_occurs() {
    let golden = golden();
    let words = |first: &str, second: usize| -> BTreeSet<String> {
        let lines = golden.lines().filter(|line| line.starts_with(first));
        lines.filter_map(|line| line.split(' ').nth(second)).map(str::to_owned).collect()
    };
    let grades = words("finding ", 3);
    let missing: Vec<_> = Grade::ALL.iter().filter(|grade| !grades.contains(grade.key())).collect();
    assert!(missing.is_empty(), "grades {missing:?}");
    let gates = words("- gate ", 2);
    for kind in Kind::ALL {
        let findings: Vec<_> =
            golden.lines().filter(|line| line.starts_with(&format!("finding {} ", kind.key()))).collect();
        let conclusive = findings.iter().filter(|line| !line.contains("not-assessable")).count();
        assert!(conclusive >= 5, "{kind:?}: {conclusive} of {} findings say something", findings.len());
        for need in kind.definition().needs {
            // What may be left unstated fails no gate.
            if need.must != Must::MayBeStated {
                assert!(gates.contains(need.gate.key()), "{kind:?}: {:?}", need.gate);
            }
        }
    }
    let refused: Vec<_> = golden.lines().filter(|line| line.starts_with("refused")).collect();
    assert!(refused.is_empty(), "{refused:?}");
    assert_eq!(golden.lines().last(), Some("end"));
}

/// The runners have a lock file of their own; other versions in it, of `libm` above all, would be another product.
#[test]
fn runners_have_the_versions_of_the_workspace() {
    let packages = |path: &str| -> BTreeSet<(String, String)> {
        let text = std::fs::read_to_string(root().join(path)).unwrap();
        let value = |block: &str, key: &str| {
            block.lines().find_map(|line| line.strip_prefix(key)).map(|value| value.trim_matches('"').to_owned())
        };
        let package = |block| Some((value(block, "name = ")?, value(block, "version = ")?));
        text.split("[[package]]").filter_map(package).collect()
    };
    let (workspace, golden) = (packages("Cargo.lock"), packages("tests/golden/Cargo.lock"));
    assert!(golden.iter().any(|(name, _)| name == "libm"), "{golden:?}");
    let other: Vec<_> = golden.difference(&workspace).filter(|(name, _)| name != "oddheat-golden").collect();
    assert!(other.is_empty(), "{other:?}; in tests/golden: cp ../../Cargo.lock . && cargo update --workspace");
}
