//! The firmware image in the emulator: it links, so no panic is reachable; it says what the host says; its parts are
//! of the sizes and kinds that firmware can live with.

use oddheat_tests::{direct, image, toolchain};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// The image, or nothing where the tools are missing.
fn built() -> Option<&'static Path> {
    static IMAGE: OnceLock<PathBuf> = OnceLock::new();
    let available = toolchain::available(&image::PROGRAMS, &[image::TARGET]);
    available.then(|| IMAGE.get_or_init(|| image::build("firmware-tests").unwrap()).as_path())
}

/// The image is linked with the panic trap: an undefined symbol, and so an error here, if a panic is reachable. It
/// calls every function but the versions.
#[test]
fn firmware_prints_what_the_core_says_on_the_host() {
    let Some(firmware) = built() else { return };
    let printed = image::emulate(firmware).unwrap();
    let finding = direct::judge(&image::embedded().unwrap()).unwrap();
    assert_eq!(printed.report, direct::report(&finding).unwrap());
}

/// Design notes, budgets: worst stack of any entry point 2 KiB.
#[test]
fn no_entry_point_takes_more_than_two_kilobytes_of_stack() {
    let Some(firmware) = built() else { return };
    let costs = image::emulate(firmware).unwrap().costs;
    for cost in &costs {
        println!("{:24} {:>9} instructions {:>6} bytes of stack", cost.name, cost.instructions, cost.stack);
    }
    // Every function that does more than return a constant.
    assert!(costs.len() >= 15 && costs.iter().all(|cost| cost.stack > 0), "{costs:?}");
    let deep: Vec<_> = costs.iter().filter(|cost| cost.stack > 2_048).map(|cost| (&cost.name, cost.stack)).collect();
    assert!(deep.is_empty(), "{deep:?}");
}

#[test]
fn image_has_no_heap_no_panic_machinery_and_no_formatting() {
    let Some(firmware) = built() else { return };
    let symbols = image::symbols(firmware).unwrap();
    assert!(symbols.iter().any(|name| name == "oddheat_check_judge"), "{symbols:?}");
    let heap = ["malloc", "calloc", "realloc", "free"];
    let parts = ["panicking", "panic_fmt", "core::fmt", "rust_begin_unwind"];
    let unwanted = |name: &&String| heap.contains(&name.as_str()) || parts.iter().any(|part| name.contains(part));
    let found: Vec<_> = symbols.iter().filter(unwanted).collect();
    assert!(found.is_empty(), "{found:?}");
}

/// On every target the whole interface links with the panic trap, and the library keeps nothing of its own: all memory
/// is the caller's.
#[test]
fn library_reaches_no_panic_and_has_no_data_on_any_target() {
    if !toolchain::available(&image::PROGRAMS, &image::TARGETS) {
        return;
    }
    for target in image::TARGETS {
        let library = image::link_library(target, &image::EVERYTHING.concat(), "library-data").unwrap();
        let sections = image::sections(&library).unwrap();
        assert!(sections.text > 0, "{target}");
        assert_eq!((sections.data, sections.bss), (0, 0), "{target}");
    }
}

/// An image holds the languages whose functions it calls: looked for by the words of a check's name.
#[test]
fn an_image_holds_only_the_languages_that_it_names() {
    if !toolchain::available(&image::PROGRAMS, &[image::TARGET]) {
        return;
    }
    let texts = ["oddheat_finding_text_in", "oddheat_brief_text_in"];
    let (english, spanish) = ("oddheat_language_english", "oddheat_language_spanish");
    for (name, languages, wanted) in [
        ("english", &[english][..], [true, false]),
        ("spanish", &[spanish], [false, true]),
        ("both", &[english, spanish], [true, true]),
        ("by-number", &["oddheat_finding_text", "oddheat_brief_text"], [true, false]),
    ] {
        let linked =
            image::link_library(image::TARGET, &[&texts, languages].concat(), &format!("language-{name}")).unwrap();
        // Phrases lie there packed.
        let symbols = image::symbols(&linked).unwrap();
        let holds = |words: &str| symbols.iter().any(|symbol| symbol == words);
        let words = ["en", "es"].map(|key| format!("oddheat_core::wording::{key}::PACKED"));
        assert_eq!(words.each_ref().map(|words| holds(words)), wanted, "{name}");
    }
}
