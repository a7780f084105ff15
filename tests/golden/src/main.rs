//! Prints the lines of [`oddheat_golden::run`]: on standard output, through an emulator's semihosting, or through the
//! function that WebAssembly is given.

#![cfg_attr(not(unix), no_std, no_main)]

#[cfg(target_os = "none")]
mod board;
#[cfg(target_family = "wasm")]
mod web;

#[cfg(unix)]
fn main() -> std::io::Result<()> {
    use std::io::Write as _;
    let mut text = String::new();
    oddheat_golden::run(&mut |piece| text.push_str(piece));
    std::io::stdout().write_all(text.as_bytes())
}
