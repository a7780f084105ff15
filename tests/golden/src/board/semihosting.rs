//! Printing and ending through the emulator, by the semihosting operations that Arm and RISC-V share.
//!
//! Numbers of operations, of the open mode and of the reasons: Arm's semihosting specification (memory).

use super::machine::semihosting;

const SYS_OPEN: usize = 0x01;
const SYS_CLOSE: usize = 0x02;
const SYS_WRITE: usize = 0x05;
const SYS_EXIT: usize = 0x18;
/// Open mode "w": with the name `:tt`, standard output.
const WRITE: usize = 4;
/// ADP_Stopped_ApplicationExit: the emulator ends with exit code 0; with any other reason, with 1.
const APPLICATION_EXIT: usize = 0x2_0026;
/// ADP_Stopped_RunTimeErrorUnknown.
const RUN_TIME_ERROR: usize = 0x2_0023;

/// Lends a function that prints on the emulator's standard output, to which SYS_WRITE0 does not go in every version.
pub(super) fn with_standard_output(user: impl FnOnce(&mut dyn FnMut(&str))) {
    let name = c":tt";
    let open = [name.as_ptr() as usize, WRITE, name.count_bytes()];
    // SAFETY: the operation reads three words, and the name that they lead to.
    let file = unsafe { semihosting(SYS_OPEN, open.as_ptr() as usize) };
    user(&mut |text| {
        let write = [file, text.as_ptr() as usize, text.len()];
        // SAFETY: the operation reads three words, and the text that they lead to.
        unsafe { semihosting(SYS_WRITE, write.as_ptr() as usize) };
    });
    let close = [file];
    // SAFETY: the operation reads one word.
    unsafe { semihosting(SYS_CLOSE, close.as_ptr() as usize) };
}

/// Ends the emulator.
pub(super) fn exit(well: bool) -> ! {
    let reason = if well { APPLICATION_EXIT } else { RUN_TIME_ERROR };
    loop {
        // SAFETY: on a 32-bit machine the reason is the argument itself; no memory is read.
        unsafe { semihosting(SYS_EXIT, reason) };
    }
}
