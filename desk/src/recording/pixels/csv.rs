//! One frame of temperatures per file: comma-separated numbers with a decimal point, a line per row, no header.

use super::{Claim, Pixels, Source, Stack, Trouble};

/// A number and its separator take two bytes at least.
const LEAST_BYTES_PER_PIXEL: u64 = 2;

pub(super) fn read(source: Source) -> Result<Stack, Trouble> {
    let mut lines = csv::ReaderBuilder::new().has_headers(false).trim(csv::Trim::All).from_reader(source.reader);
    let (mut pixels, mut width, mut height) = (Vec::new(), 0, 0);
    let mut record = csv::StringRecord::new();
    while lines.read_record(&mut record).map_err(|error| unreadable(&error))? {
        width = record.len() as u64;
        for (column, field) in record.iter().enumerate() {
            let number = field.parse::<f64>().map_err(|_| {
                Trouble::new(format!("row {height}, column {column}"), "a number with a decimal point", quoted(field))
            })?;
            pixels.push(number);
        }
        height += 1;
        if pixels.len() as u64 > source.budget {
            break;
        }
    }
    // The last number of the file may lack its separator.
    let claim = Claim { width, height, frames: 1, bytes_per_pixel: LEAST_BYTES_PER_PIXEL, expansion: 1 };
    let (width, height) = claim.check(source.length + 1, source.budget, "size")?;
    Ok(Stack { width, height, pixels: Pixels::Temperatures(vec![pixels]) })
}

fn unreadable(error: &csv::Error) -> Trouble {
    match error.kind() {
        csv::ErrorKind::UnequalLengths { pos, expected_len, len } => Trouble::new(
            pos.as_ref().map_or_else(|| "rows".to_owned(), |pos| format!("row {}", pos.record())),
            format!("{expected_len} numbers as in the rows before"),
            format!("{len}"),
        ),
        csv::ErrorKind::Utf8 { pos, .. } => Trouble::new(
            pos.as_ref().map_or_else(|| "text".to_owned(), |pos| format!("byte {} and after", pos.byte())),
            "text in UTF-8",
            "bytes that are none",
        ),
        _ => Trouble::new("text", "comma-separated numbers", error.to_string()),
    }
}

/// The field, shortened: a message should not repeat a whole file.
fn quoted(field: &str) -> String {
    let start: String = field.chars().take(20).collect();
    if start.len() == field.len() { format!("\"{field}\"") } else { format!("\"{start}…\"") }
}
