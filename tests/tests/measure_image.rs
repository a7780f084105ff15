//! Every measuring tool in one firmware image: it links, so no panic is reachable in any of them; what they cost.

use oddheat_tests::image::{Cost, PROGRAMS, TARGET, emulate, symbols};
use oddheat_tests::toolchain::{available, root, run, target};
use std::process::Command;

/// Most instructions per pixel on a Cortex-M4, optimized for size. Measured, with the row's share: 18.1 and 15.9; a
/// regression of 3 % fails.
const MOST: [(&str, f64); 2] = [("tally", 18.6), ("sums", 16.4)];

#[test]
fn tools_reach_no_panic_and_cost_what_is_written() {
    if !available(&PROGRAMS, &[TARGET]) {
        return;
    }
    let (folder, sources) = (target("tools-image"), root().join("tests"));
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    // Flags meant for the tests would change the measured code.
    cargo.env_remove("RUSTFLAGS").env_remove("CARGO_ENCODED_RUSTFLAGS");
    cargo
        .args(["build", "--quiet", "--locked", "--profile", "firmware", "--target", TARGET, "--target-dir"])
        .arg(&folder);
    run(cargo.arg("--manifest-path").arg(sources.join("tools/Cargo.toml"))).unwrap();
    let (library, image) = (folder.join(TARGET).join("firmware/liboddheat_tools_image.a"), folder.join("tools.elf"));
    let mut gcc = Command::new("arm-none-eabi-gcc");
    gcc.args(["-mcpu=cortex-m4", "-mthumb", "-Os", "-std=c11", "-Wall", "-Wextra", "-Werror", "-ffreestanding"]);
    gcc.args(["-ffunction-sections", "-fdata-sections", "-Wl,--gc-sections", "-nostdlib", "-Wl,-z,noexecstack"]);
    gcc.arg("-I").arg(sources.join("firmware")).arg("-T").arg(sources.join("firmware/link.ld"));
    gcc.args(["firmware/board.c", "tools/main.c"].map(|file| sources.join(file)));
    // Fails here, by an undefined symbol, if a panic is reachable.
    run(gcc.arg(library).arg("-lgcc").arg("-o").arg(&image)).unwrap();
    let unwanted = |name: &&String| ["panicking", "panic_fmt", "core::fmt"].iter().any(|part| name.contains(part));
    let found: Vec<_> = symbols(&image).unwrap().into_iter().filter(|name| unwanted(&name)).collect();
    assert!(found.is_empty(), "{found:?}");

    let costs = emulate(&image).unwrap().costs;
    for cost in &costs {
        let pixels = if cost.pixels > 0 { format!("{:.1} per pixel", per_pixel(cost)) } else { String::new() };
        println!("{:12} {:>9} instructions {pixels}", cost.name, cost.instructions);
    }
    assert_eq!(costs.len(), 20);
    for (name, most) in MOST {
        let cost = costs.iter().find(|cost| cost.name == name).unwrap();
        assert!(per_pixel(cost) <= most, "{name}: {} instructions per pixel, at most {most}", per_pixel(cost));
    }
}

fn per_pixel(cost: &Cost) -> f64 {
    cost.instructions as f64 / cost.pixels as f64
}
