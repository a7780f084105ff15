//! `oddheat`: see `oddheat help`.

fn main() -> miette::Result<()> {
    oddheat_desk::cli::run()
}
