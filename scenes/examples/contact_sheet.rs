//! Writes a picture and the folder of every recording of the depot's morning to `out/scenes/`.
//!
//! `cargo run --release -p oddheat-scenes --example contact_sheet [seed] [folder]`

use std::error::Error;
use std::path::PathBuf;
use std::time::Instant;

use image::{GrayImage, Luma, imageops};
use oddheat_scenes::depot;
use oddheat_scenes::place::View;
use oddheat_scenes::recording::Recording;

/// Pictures are enlarged to about this width.
const WIDE: u32 = 640;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let seed = arguments.next().map_or(Ok(1), |text| text.parse())?;
    let out = PathBuf::from(arguments.next().unwrap_or_else(|| "out/scenes".to_owned()));
    let start = Instant::now();
    let recordings = depot::morning(seed);
    println!("{} recordings in {:.2} s", recordings.len(), start.elapsed().as_secs_f64());
    for recording in &recordings {
        let folder = out.join(recording.slug());
        recording.write(&folder)?;
        picture(recording).save(folder.with_extension("png"))?;
        let truth = &recording.truth;
        println!(
            "{:<44} {:<6} {:<18} {:>8.2} {:<13} resolvable {}",
            recording.slug(),
            recording.sensor.name,
            truth.fault,
            truth.severity,
            truth.severity_unit,
            truth.resolvable,
        );
    }
    Ok(())
}

/// Mean frame of each view, side by side, with the placed shapes' outlines in white.
fn picture(recording: &Recording) -> GrayImage {
    let (width, height) = (recording.sensor.width as u32, recording.sensor.height as u32);
    let mut views: Vec<View> = recording.views.clone();
    views.dedup();
    let scale = (WIDE / width).max(1);
    let mut sheet = GrayImage::new(width * scale * views.len() as u32, height * scale);
    for (i, view) in views.iter().enumerate() {
        let mut gray = stretched(&mean(recording, *view), width);
        outline(recording, *view, &mut gray);
        let large = imageops::resize(&gray, width * scale, height * scale, imageops::FilterType::Nearest);
        imageops::replace(&mut sheet, &large, i64::from(width * scale) * i as i64, 0);
    }
    sheet
}

fn mean(recording: &Recording, view: View) -> Vec<f64> {
    let mut sum = vec![0.0; recording.sensor.pixels()];
    for (frame, of) in recording.frames.iter().zip(&recording.views) {
        if *of == view {
            sum.iter_mut().zip(frame).for_each(|(sum, counts)| *sum += f64::from(*counts));
        }
    }
    sum
}

/// Gray from the 0.5th to the 99.5th percentile, so that bad pixels do not set the range.
fn stretched(values: &[f64], width: u32) -> GrayImage {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let low = sorted[sorted.len() / 200];
    let high = sorted[sorted.len() - 1 - sorted.len() / 200];
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
