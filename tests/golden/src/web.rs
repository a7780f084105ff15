//! WebAssembly: the module exports `golden`, and imports `print` from the program that runs it (`run.mjs`).

#[link(wasm_import_module = "host")]
unsafe extern "C" {
    fn print(text: *const u8, length: usize);
}

/// Prints all lines.
#[unsafe(no_mangle)]
extern "C" fn golden() {
    // SAFETY: `print` reads this many bytes from there, and returns before the text goes.
    oddheat_golden::run(&mut |piece| unsafe { print(piece.as_ptr(), piece.len()) });
}

#[panic_handler]
fn panicked(_: &core::panic::PanicInfo<'_>) -> ! {
    // A trap, which the runner reports.
    core::arch::wasm32::unreachable()
}
