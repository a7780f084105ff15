//! Structs as C programs begin with them.

use std::mem::MaybeUninit;

/// Zeroed, as in C; every one of these structs is valid with all bits 0.
pub fn zeroed<T: Copy>() -> T {
    // SAFETY: used for structs of integers and doubles only.
    unsafe { MaybeUninit::zeroed().assume_init() }
}
