//! Builds the firmware image of the tests, runs it in the emulator and prints what it said and how large it is.

use anyhow::{Error, Result, bail};
use oddheat_tests::image;
use oddheat_tests::toolchain::available;

/// Stops with a sentence if a tool of the image is missing.
pub(crate) fn require(targets: &[&str]) -> Result<()> {
    if available(&image::PROGRAMS, targets) { Ok(()) } else { bail!("install what is missing, then try again") }
}

/// Builds, runs and prints.
pub(crate) fn run() -> Result<()> {
    require(&[image::TARGET])?;
    let firmware = image::build("xtask-firmware").map_err(Error::msg)?;
    let printed = image::emulate(&firmware).map_err(Error::msg)?;
    print!("{}", printed.report);
    println!("\n{:28} {:>13} {:>12}", "entry point", "instructions", "stack bytes");
    for cost in &printed.costs {
        println!("{:28} {:>13} {:>12}", cost.name, cost.instructions, cost.stack);
    }
    let sizes = image::sections(&firmware).map_err(Error::msg)?;
    println!("\n{}\ntext {} data {} bss {}", firmware.display(), sizes.text, sizes.data, sizes.bss);
    println!("(with the embedded recording; the library alone is weighed by `cargo xtask footprint`)");
    Ok(())
}
