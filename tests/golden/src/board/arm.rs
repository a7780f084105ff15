//! Cortex-M: vectors, start-up, and the semihosting trap.

use core::arch::{asm, global_asm};

// The initial stack pointer, then reset and the faults; the rest is never used. Hard faults only, as no other is
// enabled. Where there is a floating-point unit, full access to it comes before any code that may use it: CPACR of the
// Armv7-M architecture, coprocessors 10 and 11 (memory).
global_asm!(
    ".section .vectors, \"a\"",
    ".word stack_top, reset, fault, fault, fault, fault, fault",
    ".section .text.reset, \"ax\"",
    ".global reset",
    ".thumb_func",
    "reset:",
    #[cfg(target_abi = "eabihf")]
    "ldr r0, =0xE000ED88
     ldr r1, [r0]
     orr r1, r1, #0x00F00000
     str r1, [r0]
     dsb
     isb",
    "bl start",
    ".ltorg",
);

/// One semihosting operation; its result.
///
/// # Safety
/// The argument must be what the operation expects, often the address of words that it reads.
pub(super) unsafe fn semihosting(operation: usize, argument: usize) -> usize {
    let result;
    // SAFETY: the trap changes r0 only; what it reads from memory is for the caller to answer for.
    unsafe { asm!("bkpt 0xAB", inout("r0") operation => result, in("r1") argument, options(nostack)) };
    result
}
