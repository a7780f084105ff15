//! Grayscale TIFF with one or many pages: 16-bit unsigned counts, or 32-bit or 64-bit float temperatures.

use std::io::{Read, Seek};

use tiff::decoder::{Decoder, DecodingResult, Limits};
use tiff::tags::Tag;
use tiff::{ColorType, TiffError};

use super::{Claim, Pixels, Source, Stack, Trouble, size};

const EXPECTED: &str = "a grayscale page of 16-bit unsigned counts or of 32-bit or 64-bit float temperatures";

/// More than any of the usual packings reaches: 1,032 for deflate (its authors' technical notes, M), 4,096 codes of at
/// least 9 bits for the dictionary packing (D).
const MOST_EXPANSION: u64 = 4096;
/// `PhotometricInterpretation` of a picture whose numbers fall with brightness (TIFF 6.0, M).
const WHITE_IS_ZERO: u16 = 0;
/// `Compression` of plain pixels (TIFF 6.0, M).
const NOT_COMPRESSED: u16 = 1;
/// Working memory allowed beside the decoded page: a tile may be larger than a small page (P).
const LEAST_WORKING_BYTES: u64 = 1 << 20;

/// What a page turned out to hold.
enum Page {
    Counts(Vec<u16>),
    Temperatures(Vec<f64>),
}

pub(super) fn read(source: Source) -> Result<Stack, Trouble> {
    let Source { reader, length, mut budget } = source;
    let mut decoder = Decoder::new(reader).map_err(|error| unreadable(0, &error))?;
    let mut stack: Option<Stack> = None;
    let mut index = 0;
    loop {
        let (width, height, limits) = claimed_size(&mut decoder, index, length, budget)?;
        budget -= u64::from(width) * u64::from(height);
        decoder = decoder.with_limits(limits);
        let page = decode(&mut decoder, index)?;
        match &mut stack {
            None => {
                let pixels = match page {
                    Page::Counts(counts) => Pixels::Counts(vec![counts]),
                    Page::Temperatures(celsius) => Pixels::Temperatures(vec![celsius]),
                };
                stack = Some(Stack { width, height, pixels });
            }
            Some(stack) if (stack.width, stack.height) != (width, height) => {
                let expected = format!("{} as on page 0", size(stack.width, stack.height));
                return Err(Trouble::new(page_name(index), expected, size(width, height)));
            }
            Some(stack) => match (&mut stack.pixels, page) {
                (Pixels::Counts(frames), Page::Counts(counts)) => frames.push(counts),
                (Pixels::Temperatures(frames), Page::Temperatures(celsius)) => frames.push(celsius),
                _ => return Err(Trouble::new(page_name(index), "the kind of numbers of page 0", "another kind")),
            },
        }
        if !decoder.more_images() {
            break;
        }
        index += 1;
        decoder.next_image().map_err(|error| unreadable(index, &error))?;
    }
    stack.ok_or_else(|| Trouble::new("pages", "at least one page", "none"))
}

/// Width, height and memory limits of a page, checked before memory is taken for its pixels.
fn claimed_size<R: Read + Seek>(
    decoder: &mut Decoder<R>,
    index: usize,
    length: u64,
    budget: u64,
) -> Result<(u16, u16, Limits), Trouble> {
    let failed = |error: TiffError| unreadable(index, &error);
    let (width, height) = decoder.dimensions().map_err(failed)?;
    let bits = match decoder.colortype().map_err(failed)? {
        ColorType::Gray(bits @ (16 | 32 | 64)) => bits,
        other => return Err(Trouble::new(page_name(index), EXPECTED, kind_of(other))),
    };
    let tag = |decoder: &mut Decoder<R>, tag| decoder.find_tag_unsigned::<u16>(tag).map_err(failed);
    if tag(decoder, Tag::PhotometricInterpretation)? == Some(WHITE_IS_ZERO) {
        let expected = "numbers that rise with radiation (black is zero)";
        return Err(Trouble::new(page_name(index), expected, "white is zero"));
    }
    let plain = tag(decoder, Tag::Compression)?.is_none_or(|packing| packing == NOT_COMPRESSED);
    let bytes_per_pixel = u64::from(bits / 8);
    let claim = Claim {
        width: width.into(),
        height: height.into(),
        frames: 1,
        bytes_per_pixel,
        expansion: if plain { 1 } else { MOST_EXPANSION },
    };
    let (width, height) = claim.check(length, budget, &page_name(index))?;
    let bytes = u64::from(width) * u64::from(height) * bytes_per_pixel;
    let memory = |bytes: u64| usize::try_from(bytes).unwrap_or(usize::MAX);
    let mut limits = Limits::default();
    limits.decoding_buffer_size = memory(bytes);
    limits.intermediate_buffer_size = memory(bytes.max(LEAST_WORKING_BYTES));
    Ok((width, height, limits))
}

fn decode<R: Read + Seek>(decoder: &mut Decoder<R>, index: usize) -> Result<Page, Trouble> {
    let found = match decoder.read_image().map_err(|error| unreadable(index, &error))? {
        DecodingResult::U16(counts) => return Ok(Page::Counts(counts)),
        DecodingResult::F32(numbers) => return Ok(Page::Temperatures(numbers.into_iter().map(f64::from).collect())),
        DecodingResult::F64(numbers) => return Ok(Page::Temperatures(numbers)),
        DecodingResult::I16(_) => "16-bit signed numbers",
        DecodingResult::F16(_) => "16-bit float numbers",
        DecodingResult::U32(_) | DecodingResult::U64(_) => "unsigned numbers of more than 16 bits",
        _ => "signed numbers",
    };
    Err(Trouble::new(page_name(index), EXPECTED, found))
}

fn unreadable(index: usize, error: &TiffError) -> Trouble {
    Trouble::new(page_name(index), "a readable TIFF page", error.to_string())
}

fn page_name(index: usize) -> String {
    format!("page {index}")
}

fn kind_of(color: ColorType) -> String {
    match color {
        ColorType::Gray(8) => "8-bit gray: a picture for the eye, without the counts it was made from".to_owned(),
        ColorType::Gray(bits) => format!("{bits}-bit gray"),
        ColorType::RGB(bits) => format!("{bits}-bit RGB color: a picture for the eye, not a measurement"),
        ColorType::RGBA(bits) => format!("{bits}-bit RGB color with transparency: not a measurement"),
        ColorType::Palette(bits) => format!("{bits}-bit palette colors: not a measurement"),
        other => format!("{other:?}"),
    }
}
