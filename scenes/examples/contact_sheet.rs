//! Pictures to look at: one sheet with a tile for every case of every check, and the depot's morning in full.
//!
//! `cargo run --release -p oddheat-scenes --example contact_sheet [seed] [folder] [check]`
//!
//! Writes `cases.png` (one row a check, one tile a case, every view of the case side by side on one gray scale, framed
//! by kind of case: green sound, yellow decoy, red fault, gray unresolvable, blue gated), or with a check's key only
//! that row, larger and with the placed shapes; and without a check every recording of the morning as folder and
//! picture. The list that is printed is in the order of the tiles.

use std::error::Error;
use std::path::PathBuf;
use std::time::Instant;

use image::{GrayImage, Luma, Rgb, RgbImage, imageops};
use oddheat_scenes::case::{Case, SeedSet};
use oddheat_scenes::catalog::{CHECKS, Check};
use oddheat_scenes::depot;
use oddheat_scenes::place::View;
use oddheat_scenes::recording::Recording;

/// Height of a tile in px; its width follows from the views, and is cut to this.
const TILE: (u32, u32) = (112, 72);
const LARGE_TILE: (u32, u32) = (448, 240);
const FRAME: u32 = 3;
/// Tiles in a row of the large form.
const LARGE_COLUMNS: u32 = 4;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let seed = arguments.next().map_or(Ok(1), |text| text.parse::<u32>())?;
    let out = PathBuf::from(arguments.next().unwrap_or_else(|| "out/scenes".to_owned()));
    let only = arguments.next();
    std::fs::create_dir_all(&out)?;
    if let Some(key) = only {
        let check = oddheat_scenes::catalog::check(&key).ok_or("no such check")?;
        let tiles = tiles(check, seed, LARGE_TILE, true);
        let rows: Vec<Vec<RgbImage>> = tiles.chunks(LARGE_COLUMNS as usize).map(<[RgbImage]>::to_vec).collect();
        sheet(&rows, LARGE_TILE).save(out.join(format!("{key}.png")))?;
        return Ok(());
    }
    let rows: Vec<Vec<RgbImage>> = CHECKS.into_iter().map(|check| tiles(check, seed, TILE, false)).collect();
    sheet(&rows, TILE).save(out.join("cases.png"))?;
    for recording in depot::morning(u64::from(seed)) {
        let folder = out.join(recording.slug());
        recording.write(&folder)?;
        let picture = picture(&recording, true);
        let scale = (640 / recording.sensor.width as u32).max(1);
        imageops::resize(&picture, picture.width() * scale, picture.height() * scale, imageops::FilterType::Nearest)
            .save(folder.with_extension("png"))?;
        println!("{:<48} {} resolvable {}", recording.slug(), recording.truth.fault, recording.truth.resolvable);
    }
    Ok(())
}

/// A tile for each case of a check, with a printed line.
fn tiles(check: &'static Check, seed: u32, size: (u32, u32), shapes: bool) -> Vec<RgbImage> {
    check
        .cases()
        .into_iter()
        .map(|case| {
            let start = Instant::now();
            let recording = check.draw(case, SeedSet::Tuning.seed(seed), None);
            let took = start.elapsed().as_secs_f64();
            let truth = &recording.truth;
            println!(
                "{:<17} {:<34} {:<6} {:>3} frames {:<18} {:>9.3} {:<28} resolvable {:<5} {took:.2} s",
                check.key,
                case.to_string(),
                recording.sensor.name,
                recording.frames.len(),
                truth.fault,
                truth.severity,
                truth.severity_unit,
                truth.resolvable,
            );
            let inner = (size.0 - 2 * FRAME, size.1 - 2 * FRAME);
            let gray = picture(&recording, shapes);
            let scale =
                (f64::from(inner.0) / f64::from(gray.width())).min(f64::from(inner.1) / f64::from(gray.height()));
            let fit = |length: u32| ((f64::from(length) * scale) as u32).max(1);
            let small = imageops::resize(&gray, fit(gray.width()), fit(gray.height()), imageops::FilterType::Triangle);
            framed(&small, color(case), size)
        })
        .collect()
}

const fn color(case: Case) -> Rgb<u8> {
    match case {
        Case::Normal => Rgb([40, 190, 80]),
        Case::Decoy(_) => Rgb([230, 200, 40]),
        Case::Fault { .. } | Case::Sweep { .. } => Rgb([225, 60, 50]),
        Case::Unresolvable => Rgb([130, 130, 130]),
        Case::Gated(_) => Rgb([70, 120, 230]),
    }
}

fn framed(gray: &GrayImage, color: Rgb<u8>, size: (u32, u32)) -> RgbImage {
    let mut tile = RgbImage::from_pixel(size.0, size.1, color);
    for (x, y, Luma([level])) in gray.enumerate_pixels() {
        tile.put_pixel(x + FRAME, y + FRAME, Rgb([*level; 3]));
    }
    tile
}

fn sheet(rows: &[Vec<RgbImage>], size: (u32, u32)) -> RgbImage {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(1) as u32;
    let mut sheet = RgbImage::from_pixel(columns * (size.0 + 2), rows.len() as u32 * (size.1 + 2), Rgb([20, 20, 24]));
    for (y, row) in rows.iter().enumerate() {
        for (x, tile) in row.iter().enumerate() {
            imageops::replace(&mut sheet, tile, x as i64 * i64::from(size.0 + 2), y as i64 * i64::from(size.1 + 2));
        }
    }
    sheet
}

/// Mean frame of each view, side by side on one gray scale, with the placed shapes' outlines if wanted.
fn picture(recording: &Recording, shapes: bool) -> GrayImage {
    let (width, height) = (recording.sensor.width as u32, recording.sensor.height as u32);
    let mut views: Vec<View> = recording.views.clone();
    views.dedup();
    let means: Vec<Vec<f64>> = views.iter().map(|view| mean(recording, *view)).collect();
    let range = range(&means);
    let mut sheet = GrayImage::new(width * views.len() as u32, height);
    for (i, (view, mean)) in views.iter().zip(&means).enumerate() {
        let mut gray = stretched(mean, width, range);
        if shapes {
            outline(recording, *view, &mut gray);
        }
        imageops::replace(&mut sheet, &gray, i64::from(width) * i as i64, 0);
    }
    sheet
}

fn mean(recording: &Recording, view: View) -> Vec<f64> {
    let mut sum = vec![0.0; recording.sensor.pixels()];
    let mut count = 0.0;
    for (frame, _) in recording.frames.iter().zip(&recording.views).filter(|(_, of)| **of == view) {
        sum.iter_mut().zip(frame).for_each(|(sum, counts)| *sum += f64::from(*counts));
        count += 1.0;
    }
    sum.iter_mut().for_each(|sum| *sum /= count);
    sum
}

/// 0.5th and 99.5th percentile over all views, so that bad pixels do not set the range.
fn range(means: &[Vec<f64>]) -> (f64, f64) {
    let mut sorted = means.concat();
    sorted.sort_by(f64::total_cmp);
    (sorted[sorted.len() / 200], sorted[sorted.len() - 1 - sorted.len() / 200])
}

fn stretched(values: &[f64], width: u32, (low, high): (f64, f64)) -> GrayImage {
    GrayImage::from_fn(width, values.len() as u32 / width, |x, y| {
        let share = (values[(y * width + x) as usize] - low) / (high - low).max(1.0);
        Luma([(share.clamp(0.0, 1.0) * 235.0) as u8])
    })
}

fn outline(recording: &Recording, view: View, gray: &mut GrayImage) {
    let places = recording.places.iter().filter(|place| place.view == view);
    for shape in places.map(|place| place.shape) {
        for (x, y, pixel) in gray.enumerate_pixels_mut() {
            let (x, y) = (x as i32, y as i32);
            let around = [(x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)];
            if !shape.contains(x, y) && around.iter().any(|(x, y)| shape.contains(*x, *y)) {
                *pixel = Luma([255]);
            }
        }
    }
}
