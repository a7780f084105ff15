//! RISC-V: start-up, traps, and the semihosting trap.

use core::arch::{asm, global_asm};

// The machine starts at the first byte of its memory. A trap goes to `fault`; its address must be a multiple of four.
global_asm!(
    ".section .vectors, \"ax\"",
    ".global reset",
    "reset:",
    "la sp, stack_top",
    "la t0, trap",
    "csrw mtvec, t0",
    "call start",
    ".balign 4",
    "trap:",
    "call fault",
);

/// One semihosting operation; its result.
///
/// # Safety
/// The argument must be what the operation expects, often the address of words that it reads.
pub(super) unsafe fn semihosting(operation: usize, argument: usize) -> usize {
    let result;
    // SAFETY: the trap changes a0 only; what it reads from memory is for the caller to answer for. The sequence, not
    // compressed and within a page, is what RISC-V's semihosting specification asks for (memory).
    unsafe {
        asm!(
            ".option push",
            ".option norvc",
            ".balign 16",
            "slli x0, x0, 0x1f",
            "ebreak",
            "srai x0, x0, 7",
            ".option pop",
            inout("a0") operation => result,
            in("a1") argument,
            options(nostack),
        );
    }
    result
}
