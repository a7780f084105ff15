//! Binary PGM: one frame of 8-bit or 16-bit counts per file, as its specification (netpbm, M) lays them out: the
//! higher byte first, two bytes if the stated maximum is above 255.
//!
//! Only the header is read by the image library. Its pixel reader stretches samples to the full 8 or 16 bits if the
//! stated maximum is any other than 255 or 65535, which would turn the counts of a 14-bit sensor into other counts.

use std::io::Read;

use image::ImageError;
use image::codecs::pnm::{PnmDecoder, PnmSubtype, SampleEncoding};

use super::{Claim, Pixels, Source, Stack, Trouble, size};

pub(super) fn read(source: Source) -> Result<Stack, Trouble> {
    let Source { reader, length, budget } = source;
    let decoder = PnmDecoder::new(reader).map_err(|error| header_trouble(&error))?;
    let (mut reader, header) = decoder.into_inner();
    if header.subtype() != PnmSubtype::Graymap(SampleEncoding::Binary) {
        return Err(Trouble::new("byte 0", "a binary grayscale PGM (P5)", format!("{:?}", header.subtype())));
    }
    let maximum = header.maximal_sample();
    let bytes_per_pixel = if maximum > 255 { 2 } else { 1 };
    let (width, height) = (u64::from(header.width()), u64::from(header.height()));
    let (width, height) =
        Claim { width, height, frames: 1, bytes_per_pixel, expansion: 1 }.check(length, budget, "header")?;

    let expected = usize::from(width) * usize::from(height) * if maximum > 255 { 2 } else { 1 };
    let mut bytes = Vec::with_capacity(expected);
    // One byte more than expected shows whether anything follows.
    let read = reader.by_ref().take(expected as u64 + 1).read_to_end(&mut bytes);
    read.map_err(|error| Trouble::new("pixels", "readable bytes", error.to_string()))?;
    if bytes.len() != expected {
        let all = format!("exactly {expected} bytes of pixels for {}", size(width, height));
        let found = if bytes.len() < expected { format!("only {}", bytes.len()) } else { "more".to_owned() };
        return Err(Trouble::new("pixels", all, found));
    }
    let counts: Vec<u16> = if maximum > 255 {
        bytes.as_chunks::<2>().0.iter().map(|&pair| u16::from_be_bytes(pair)).collect()
    } else {
        bytes.into_iter().map(u16::from).collect()
    };
    if let Some(index) = counts.iter().position(|&count| u32::from(count) > maximum) {
        let (row, column) = (index / usize::from(width), index % usize::from(width));
        let expected = format!("counts up to the maximum of the header, {maximum}");
        return Err(Trouble::new(format!("row {row}, column {column}"), expected, counts[index].to_string()));
    }
    Ok(Stack { width, height, pixels: Pixels::Counts(vec![counts]) })
}

fn header_trouble(error: &ImageError) -> Trouble {
    Trouble::new("header", "a binary grayscale PGM (P5) with width, height and maximum", error.to_string())
}
