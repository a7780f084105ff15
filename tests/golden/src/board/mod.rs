//! Bare metal in an emulator: start-up, faults, panics and the end of the program. No heap, no variables, no C.

#[cfg_attr(target_arch = "arm", path = "arm.rs")]
#[cfg_attr(target_arch = "riscv32", path = "riscv.rs")]
mod machine;
mod semihosting;

/// What the start-up code of the machine calls.
#[unsafe(no_mangle)]
extern "C" fn start() -> ! {
    semihosting::with_standard_output(|out| oddheat_golden::run(out));
    semihosting::exit(true)
}

/// What the machine calls when an instruction faults, a stack that has run out for instance.
#[unsafe(no_mangle)]
extern "C" fn fault() -> ! {
    semihosting::with_standard_output(|out| out("\nfault\n"));
    semihosting::exit(false)
}

#[panic_handler]
fn panicked(_: &core::panic::PanicInfo<'_>) -> ! {
    semihosting::with_standard_output(|out| out("\npanic\n"));
    semihosting::exit(false)
}
