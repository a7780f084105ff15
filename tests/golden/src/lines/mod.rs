//! The lines. Apart from the crate's root so that the test can also compile them into itself, unoptimized.

mod checks;
mod curves;
mod frames;
mod print;
mod random;
mod regions;
mod sensor;

use print::Lines;

/// Gives all lines to `out`, in pieces, each line with its newline; the same pieces on every target.
pub fn run(out: &mut dyn FnMut(&str)) {
    let mut lines = Lines::new(out);
    curves::run(&mut lines);
    sensor::run(&mut lines);
    regions::run(&mut lines);
    checks::run(&mut lines);
    // A program that ends too early is noticed.
    lines.begin("end").end();
}
