//! The firmware image in the emulator: it links, so no panic is reachable; it says what the host says; its parts are
//! of the sizes and kinds that firmware can live with.

use oddheat_tests::{direct, image, toolchain};
use std::path::PathBuf;

/// The image, or nothing where the tools are missing.
fn built(name: &str) -> Option<PathBuf> {
    toolchain::available(&image::PROGRAMS, &[image::TARGET]).then(|| image::build(name).unwrap())
}

/// The image is linked with the panic trap: an undefined symbol, and so an error here, if a panic is reachable. It
/// calls every function but the versions.
#[test]
fn firmware_prints_what_the_core_says_on_the_host() {
    let Some(firmware) = built("firmware-report") else { return };
    let printed = image::emulate(&firmware).unwrap();
    let finding = direct::judge(&image::embedded().unwrap()).unwrap();
    assert_eq!(printed.report, direct::report(&finding).unwrap());
    for cost in &printed.costs {
        println!("{:24} {:>9} instructions {:>6} bytes of stack", cost.name, cost.instructions, cost.stack);
    }
    // Design notes, budgets: worst stack of any entry point 2 KiB.
    let deep: Vec<_> = printed.costs.iter().filter(|cost| cost.stack > 2_048).map(|c| (&c.name, c.stack)).collect();
    assert!(deep.is_empty(), "entry points with more than 2 KiB of stack: {deep:?}");
}

#[test]
fn image_has_no_heap_no_panic_machinery_and_no_formatting() {
    let Some(firmware) = built("firmware-symbols") else { return };
    let symbols = image::symbols(&firmware).unwrap();
    assert!(symbols.iter().any(|name| name == "oddheat_check_judge"), "{symbols:?}");
    let unwanted = ["malloc", "free", "realloc", "panicking", "panic_fmt", "core::fmt", "rust_begin_unwind"];
    let found: Vec<_> = symbols.iter().filter(|name| unwanted.iter().any(|part| name.contains(part))).collect();
    assert!(found.is_empty(), "{found:?}");
}

/// The library keeps nothing of its own: all memory is the caller's.
#[test]
fn library_has_no_data_of_its_own() {
    if !toolchain::available(&image::PROGRAMS, &[image::TARGET]) {
        return;
    }
    let library = image::link_library(image::TARGET, &image::EVERYTHING.concat(), "library-data").unwrap();
    let sections = image::sections(&library).unwrap();
    assert!(sections.text > 0);
    assert_eq!((sections.data, sections.bss), (0, 0));
}
