//! NPY arrays: u16 counts, or f32/f64 temperatures, of shape [rows, columns] or [frames, rows, columns].

use std::io::{Read, Seek, SeekFrom};

use npyz::{DType, Deserialize, NpyFile, NpyHeader, Order};

use super::{Claim, Pixels, Source, Stack, Trouble};

/// Longest header accepted. Plain arrays have 64 to 192 bytes of header (format description, NEP 1, M); the header is
/// a literal that is parsed recursively, so its length bounds the depth (P).
const MOST_HEADER_BYTES: u64 = 512;
/// Most decimal digits in a header. The product of numbers with d digits in all is below 10^d, so with a few bytes per
/// item it stays below 2^64 and cannot overflow (D). The largest recording needs 13.
const MOST_DIGITS: usize = 17;
const HEADER: &str = "header";

pub(super) fn read(mut source: Source) -> Result<Stack, Trouble> {
    check_header(&mut source)?;
    let Source { mut reader, length, budget } = source;
    let unreadable = |error: std::io::Error| Trouble::new(HEADER, "a readable NPY header", error.to_string());
    let header = NpyHeader::from_reader(&mut reader).map_err(unreadable)?;
    let data_length = length.saturating_sub(reader.stream_position().map_err(unreadable)?);
    let array = NpyFile::with_header(header, reader);
    if array.shape().len() > 1 && array.order() == Order::Fortran {
        return Err(Trouble::new(HEADER, "C order (rows one after the other)", "Fortran order"));
    }
    let (frames, height, width) = match *array.shape() {
        [height, width] => (1, height, width),
        [frames, height, width] => (frames, height, width),
        ref other => {
            let found = format!("{} dimensions: {other:?}", other.len());
            return Err(Trouble::new(HEADER, "shape [rows, columns] or [frames, rows, columns]", found));
        }
    };
    let kind = match array.dtype() {
        DType::Plain(kind) => kind.to_string(),
        other => other.descr(),
    };
    let bytes_per_pixel = match kind.get(1..) {
        Some("u2") => 2,
        Some("f4") => 4,
        Some("f8") => 8,
        _ => {
            let expected = "16-bit unsigned counts (u2) or 32-bit or 64-bit float temperatures (f4, f8)";
            return Err(Trouble::new(HEADER, expected, kind));
        }
    };
    let claim = Claim { width, height, frames, bytes_per_pixel, expansion: 1 };
    let (width, height) = claim.check(data_length, budget, HEADER)?;
    let claimed = array.len() * bytes_per_pixel;
    if data_length != claimed {
        let found = format!("{data_length}");
        return Err(Trouble::new(HEADER, format!("{claimed} bytes of pixels after the header"), found));
    }
    let size = usize::from(width) * usize::from(height);
    let pixels = match bytes_per_pixel {
        2 => Pixels::Counts(frames_of(array, size, |count: u16| count)?),
        4 => Pixels::Temperatures(frames_of(array, size, |number: f32| f64::from(number))?),
        _ => Pixels::Temperatures(frames_of(array, size, |number: f64| number)?),
    };
    Ok(Stack { width, height, pixels })
}

/// The pixels frame by frame, so that no second copy of the whole file is held.
fn frames_of<T: Deserialize, U, R: Read>(
    array: NpyFile<R>,
    size: usize,
    convert: impl Fn(T) -> U,
) -> Result<Vec<Vec<U>>, Trouble> {
    let frames = array.len() / size as u64;
    let mut values = array.data::<T>().map_err(|error| Trouble::new(HEADER, "a known type", error.to_string()))?;
    (0..frames)
        .map(|index| {
            let frame: Result<Vec<U>, _> = values.by_ref().take(size).map(|value| value.map(&convert)).collect();
            let at = format!("frame {index}");
            frame.map_err(|error| Trouble::new(at, "as many numbers as the header says", error.to_string()))
        })
        .collect()
}

/// Refuses headers that the library would have to trust: it multiplies the numbers that it finds.
///
/// Version 1 states the length of the header in bytes 8 and 9, later versions in bytes 8 to 11, lowest byte first.
fn check_header(source: &mut Source) -> Result<(), Trouble> {
    let unreadable =
        |error: std::io::Error| Trouble::new(HEADER, "an NPY header of 12 bytes or more", error.to_string());
    let mut start = [0; 12];
    source.reader.read_exact(&mut start).map_err(unreadable)?;
    let [.., version, _, a, b, c, d] = start;
    let (length, text_from) =
        if version == 1 { (u32::from(u16::from_le_bytes([a, b])), 10) } else { (u32::from_le_bytes([a, b, c, d]), 12) };
    if u64::from(length) > MOST_HEADER_BYTES {
        let expected = format!("a header of at most {MOST_HEADER_BYTES} bytes");
        return Err(Trouble::new("byte 8", expected, format!("{length} bytes")));
    }
    source.reader.seek(SeekFrom::Start(text_from)).map_err(unreadable)?;
    let mut text = Vec::new();
    source.reader.by_ref().take(length.into()).read_to_end(&mut text).map_err(unreadable)?;
    let digits = text.iter().filter(|byte| byte.is_ascii_digit()).count();
    if digits > MOST_DIGITS {
        let expected = format!("a type and a shape that are written with at most {MOST_DIGITS} digits in all");
        return Err(Trouble::new(HEADER, expected, format!("{digits} digits")));
    }
    source.reader.seek(SeekFrom::Start(0)).map_err(unreadable)?;
    Ok(())
}
