//! `cargo xtask contact-sheet`: one frame of every family of simulated cases, to look at.
//!
//! A tile for each case of each check (of the three severities the clear one), one frame of every view side by
//! side, both views on one scale, in the color map that `docs/scenes/README.md` names. Framed by kind of case: green
//! sound, yellow decoy, red fault, gray unresolvable, blue gated.

use anyhow::{Context, Result};
use embedded_graphics::mono_font::{MonoTextStyle, ascii::FONT_6X10};
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::{DrawTarget, Drawable as _, OriginDimensions, Pixel, Point, RgbColor, Size};
use embedded_graphics::text::Text;
use image::{ImageBuffer, Luma, Rgb, RgbImage, imageops};
use oddheat_core::image::{CIVIDIS, tones};
use oddheat_scenes::case::{Case, Decoy, SeedSet, Severity};
use oddheat_scenes::catalog::{CHECKS, Check};
use oddheat_scenes::recording::Recording;
use oddheat_scenes::sensor::Sensor;
use rayon::prelude::*;
use std::path::Path;

/// Checks on one sheet.
const CHECKS_A_SHEET: usize = 7;
/// Height of a picture in px; its width follows from the sensor and the number of views.
const HEIGHT: u32 = 96;
const FRAME: u32 = 2;
const LABEL: u32 = 11;
const HEADING: u32 = 16;
const WIDTH: u32 = 1_320;
/// Steps of color: a few tens are all that an eye tells apart, and noise in fewer steps makes smaller files.
const STEPS: f64 = 48.0;
const PAPER: Rgb<u8> = Rgb([24, 24, 28]);

/// Draws the cases with one seed and writes `docs/scenes/sheet-N.png`.
///
/// # Errors
/// If a file cannot be written.
pub(crate) fn run(root: &Path, seed: u32) -> Result<()> {
    let folder = root.join("docs/scenes");
    std::fs::create_dir_all(&folder)?;
    for (i, checks) in CHECKS.chunks(CHECKS_A_SHEET).enumerate() {
        let bands: Vec<RgbImage> = checks.par_iter().map(|check| band(check, seed)).collect();
        let path = folder.join(format!("sheet-{}.png", i + 1));
        let sheet = stacked(&bands);
        sheet.save(&path).with_context(|| format!("writing {}", path.display()))?;
        println!("{} ({} x {})", path.display(), sheet.width(), sheet.height());
    }
    Ok(())
}

/// Of the severities the middle one: the three differ in degree only.
fn is_shown(case: Case) -> bool {
    !matches!(case, Case::Fault { severity: Severity::Slight | Severity::Grave, .. })
}

/// All tiles of a check under its heading, in rows.
fn band(check: &'static Check, seed: u32) -> RgbImage {
    let tiles: Vec<RgbImage> = check
        .cases()
        .into_iter()
        .filter(|case| is_shown(*case))
        .map(|case| {
            let recording = check.draw(case, SeedSet::Tuning.seed(seed), Some(&Sensor::medium()));
            tile(&picture(&recording, case), case)
        })
        .collect();
    let mut rows: Vec<Vec<&RgbImage>> = vec![Vec::new()];
    let mut used = 0;
    for tile in &tiles {
        if used + tile.width() > WIDTH {
            rows.push(Vec::new());
            used = 0;
        }
        used += tile.width() + FRAME;
        if let Some(row) = rows.last_mut() {
            row.push(tile);
        }
    }
    let step = HEIGHT + 2 * FRAME + LABEL + FRAME;
    let mut band = RgbImage::from_pixel(WIDTH, HEADING + step * rows.len() as u32, PAPER);
    write(&mut band, &format!("{} {}: {}", check.section, check.key, check.what), 2, 11, Rgb888::WHITE);
    for (y, row) in (0..).zip(rows) {
        let mut x = 0;
        for tile in row {
            imageops::replace(&mut band, tile, x, i64::from(HEADING + step * y));
            x += i64::from(tile.width() + FRAME);
        }
    }
    band
}

fn stacked(bands: &[RgbImage]) -> RgbImage {
    let height = bands.iter().map(RgbImage::height).sum();
    let mut sheet = RgbImage::from_pixel(WIDTH, height, PAPER);
    let mut y = 0;
    for band in bands {
        imageops::replace(&mut sheet, band, 0, y);
        y += i64::from(band.height());
    }
    sheet
}

fn tile(picture: &RgbImage, case: Case) -> RgbImage {
    let (width, height) = (picture.width() + 2 * FRAME, picture.height() + 2 * FRAME + LABEL);
    let mut tile = RgbImage::from_pixel(width, height, frame_color(case));
    imageops::replace(&mut tile, picture, i64::from(FRAME), i64::from(FRAME + LABEL));
    let ink = if matches!(case, Case::Normal | Case::Decoy(_)) { Rgb888::BLACK } else { Rgb888::WHITE };
    write(&mut tile, &label(case), 2, 9, ink);
    tile
}

/// The kind is told by the color, so the label is what comes after it.
fn label(case: Case) -> String {
    match case {
        Case::Fault { fault, .. } | Case::Sweep { fault } => fault.to_owned(),
        Case::Decoy(decoy) => decoy.key().to_owned(),
        Case::Gated(gate) => gate.key().to_owned(),
        Case::Normal | Case::Unresolvable => case.to_string(),
    }
}

const fn frame_color(case: Case) -> Rgb<u8> {
    match case {
        Case::Normal => Rgb([60, 190, 90]),
        Case::Decoy(_) => Rgb([230, 200, 40]),
        Case::Fault { .. } | Case::Sweep { .. } => Rgb([195, 50, 45]),
        Case::Unresolvable => Rgb([110, 110, 110]),
        Case::Gated(_) => Rgb([50, 95, 200]),
    }
}

/// One frame of each view, side by side on one scale: the 0.5th to 99.5th percentile, so that bad pixels do not set it.
fn picture(recording: &Recording, case: Case) -> RgbImage {
    let mut views = recording.views.clone();
    views.dedup();
    // The last one, when heat has come; of a person who walks on the first.
    let first = case == Case::Decoy(Decoy::SlidingReflection);
    let of = |view| {
        let mut frames = recording.frames.iter().zip(&recording.views).filter(move |(_, of)| **of == view);
        if first { frames.next() } else { frames.next_back() }
    };
    let frames: Vec<&Vec<u16>> = views.into_iter().filter_map(of).map(|(frame, _)| frame).collect();
    let mut sorted: Vec<u16> = frames.iter().flat_map(|frame| frame.iter().copied()).collect();
    sorted.sort_unstable();
    let at = |index: usize| f64::from(sorted.get(index).copied().unwrap_or(0));
    let (low, high) = (at(sorted.len() / 200), at(sorted.len() - 1 - sorted.len() / 200));
    let width = HEIGHT * recording.sensor.width as u32 / recording.sensor.height as u32;
    let mut picture = RgbImage::new((width + 1) * frames.len() as u32 - 1, HEIGHT);
    for (i, frame) in (0..).zip(frames) {
        let full = ImageBuffer::from_fn(recording.sensor.width as u32, recording.sensor.height as u32, |x, y| {
            Luma([frame.get(y as usize * recording.sensor.width + x as usize).copied().unwrap_or(0)])
        });
        // Counts are resized before they get a color, so that only the steps of the color map occur.
        let small = imageops::resize(&full, width, HEIGHT, imageops::FilterType::Triangle);
        let small = RgbImage::from_fn(width, HEIGHT, |x, y| {
            color((f64::from(small.get_pixel(x, y).0[0]) - low) / (high - low).max(1.0))
        });
        imageops::replace(&mut picture, &small, i64::from((width + 1) * i), 0);
    }
    picture
}

fn color(share: f64) -> Rgb<u8> {
    let step = libm::round(share.clamp(0.0, 1.0) * STEPS) / STEPS;
    let tone = f64::from(tones::LOWEST) + libm::round(step * f64::from(tones::HIGHEST - tones::LOWEST));
    Rgb(CIVIDIS.rgb888(tone as u8))
}

fn write(image: &mut RgbImage, text: &str, x: i32, y: i32, color: Rgb888) {
    let style = MonoTextStyle::new(&FONT_6X10, color);
    let Ok(_) = Text::new(text, Point::new(x, y), style).draw(&mut Paper(image));
}

/// An image that the graphics library can draw on; what falls outside is cut off.
struct Paper<'a>(&'a mut RgbImage);

impl OriginDimensions for Paper<'_> {
    fn size(&self) -> Size {
        Size::new(self.0.width(), self.0.height())
    }
}

impl DrawTarget for Paper<'_> {
    type Color = Rgb888;
    type Error = core::convert::Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb888>>>(&mut self, pixels: I) -> Result<(), Self::Error> {
        for Pixel(Point { x, y }, color) in pixels {
            if let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y))
                && let Some(pixel) = self.0.get_pixel_mut_checked(x, y)
            {
                *pixel = Rgb([color.r(), color.g(), color.b()]);
            }
        }
        Ok(())
    }
}
