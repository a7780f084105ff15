//! Frame files as stacks of frames, whatever their format. The format is told by the first bytes; CSV, which has no
//! mark of its own, by the extension.
//!
//! Every reader compares the size that a header claims with the length of the file before it takes memory for it
//! ([`Claim`]): a few hostile bytes must not ask for gigabytes.

mod csv;
mod npy;
mod pgm;
mod tiff;

use std::fs::{self, File};
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use super::error::RecordingError;
use super::limits::MOST_PIXELS;

/// Frames of one file, all of one size.
pub(super) struct Stack {
    pub(super) width: u16,
    pub(super) height: u16,
    pub(super) pixels: Pixels,
}

/// One vector per frame, rows from the top, columns from the left.
pub(super) enum Pixels {
    Counts(Vec<Vec<u16>>),
    Temperatures(Vec<Vec<f64>>),
}

impl Pixels {
    fn frames(&self) -> usize {
        match self {
            Self::Counts(frames) => frames.len(),
            Self::Temperatures(frames) => frames.len(),
        }
    }
}

/// What went wrong inside a file: where, what was expected, what was found.
struct Trouble {
    at: String,
    expected: String,
    found: String,
}

impl Trouble {
    fn new(at: impl Into<String>, expected: impl Into<String>, found: impl Into<String>) -> Self {
        Self { at: at.into(), expected: expected.into(), found: found.into() }
    }
}

/// An open frame file, its length, and how many pixels may still be read.
struct Source {
    reader: BufReader<File>,
    length: u64,
    budget: u64,
}

/// Reads the files in order. All frames have one size, and there is at least one frame if there is a file. `budget` is how
/// many pixels may still be read for the recording, [`MOST_PIXELS`] at first; what was read is taken off.
pub(super) fn read_all(paths: &[PathBuf], budget: &mut u64) -> Result<Vec<(PathBuf, Stack)>, RecordingError> {
    let mut stacks: Vec<(PathBuf, Stack)> = Vec::with_capacity(paths.len());
    for path in paths {
        let stack = read(path, *budget)?;
        if let Some((first_path, first)) = stacks.first()
            && (first.width, first.height) != (stack.width, stack.height)
        {
            return Err(RecordingError::frame(
                path,
                "size",
                format!("{} as in {}", size(first.width, first.height), first_path.display()),
                size(stack.width, stack.height),
            ));
        }
        let pixels = u64::from(stack.width) * u64::from(stack.height) * stack.pixels.frames() as u64;
        *budget = budget.saturating_sub(pixels);
        stacks.push((path.clone(), stack));
    }
    Ok(stacks)
}

fn read(path: &Path, budget: u64) -> Result<Stack, RecordingError> {
    let unreadable = |error| RecordingError::unreadable(path, error);
    // Asked before opening: to open a pipe can wait for ever.
    let facts = fs::metadata(path).map_err(unreadable)?;
    if !facts.is_file() {
        return Err(RecordingError::path(path, "a frame file", "something that is no regular file"));
    }
    let mut reader = BufReader::new(File::open(path).map_err(unreadable)?);
    let mut start = Vec::with_capacity(8);
    reader.by_ref().take(8).read_to_end(&mut start).map_err(unreadable)?;
    reader.seek(SeekFrom::Start(0)).map_err(unreadable)?;
    let source = Source { reader, length: facts.len(), budget };
    let extension = path.extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
    let stack = match start.as_slice() {
        [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => tiff::read(source),
        [0x93, b'N', b'U', b'M', b'P', b'Y', ..] => npy::read(source),
        [b'P', b'1'..=b'7', space, ..] if space.is_ascii_whitespace() || *space == b'#' => pgm::read(source),
        [] => Err(Trouble::new("byte 0", FORMATS, "an empty file")),
        _ if extension == "csv" => csv::read(source),
        other => {
            Err(Trouble::new("byte 0", FORMATS, format!("a file of another kind, starting with bytes {other:02x?}")))
        }
    };
    stack.map_err(|trouble| RecordingError::frame(path, trouble.at, trouble.expected, trouble.found))
}

const FORMATS: &str = "a grayscale TIFF, an NPY array, a binary PGM, or comma-separated numbers in a file named .csv";

fn size(width: impl std::fmt::Display, height: impl std::fmt::Display) -> String {
    format!("{width} × {height} pixels")
}

/// The size that a header claims, before it is believed.
struct Claim {
    width: u64,
    height: u64,
    frames: u64,
    bytes_per_pixel: u64,
    /// By how much the format can compress at best.
    expansion: u64,
}

impl Claim {
    /// Width and height, if the file is long enough to hold what it claims and the budget is not exceeded.
    fn check(&self, source_length: u64, budget: u64, at: &str) -> Result<(u16, u16), Trouble> {
        let side = |number: u64| u16::try_from(number).ok().filter(|&number| number > 0);
        let (Some(width), Some(height)) = (side(self.width), side(self.height)) else {
            return Err(Trouble::new(at, "1 to 65535 pixels in each direction", size(self.width, self.height)));
        };
        if self.frames == 0 {
            return Err(Trouble::new(at, "at least one frame", "none"));
        }
        let pixels = u128::from(self.width) * u128::from(self.height) * u128::from(self.frames);
        let bytes = pixels * u128::from(self.bytes_per_pixel);
        if bytes > u128::from(source_length) * u128::from(self.expansion) {
            let claimed = format!("{bytes} bytes of pixels for {} in {} frames", size(width, height), self.frames);
            return Err(Trouble::new(at, claimed, format!("{source_length} bytes, cut short or damaged")));
        }
        if pixels > u128::from(budget) {
            let most = format!("at most {MOST_PIXELS} pixels in all frames of a recording and of its runs");
            return Err(Trouble::new(at, most, format!("{pixels} with {budget} left")));
        }
        Ok((width, height))
    }
}
