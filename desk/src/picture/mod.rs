//! Pictures: counts in a published color map, with a scale bar and with marks.
//!
//! *Colors* are those of [`oddheat_core::image`]: cividis, and beside it dark green for pixels without a temperature, cyan
//! and magenta for pixels below and above the range. *Layout.* The picture, enlarged by a whole number, above a
//! horizontal bar with its values, which has a patch in the colors of clipping at either end.

mod canvas;
mod marks;

pub use marks::Mark;

use crate::recording::Recording;
use canvas::Canvas;
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::Point;
use image::RgbImage;
use oddheat_core::image::{CIVIDIS, View, tones};
use oddheat_core::radiometry::MeasurementEquation;
use oddheat_core::wording::TemperatureUnit;

/// Width the picture is enlarged to, in screen pixels, at least.
const LEAST_WIDTH: u32 = 600;
/// Height of the bar and its numbers below the picture.
const BAR_HEIGHT: u32 = 46;
/// The bar's distance from the edges, and the width of a patch beside it.
const MARGIN: u32 = 30;
const PATCH: u32 = 14;

/// What a picture is drawn from.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// Counts, row by row.
    pub counts: &'a [u16],
    /// Columns.
    pub width: u16,
    /// Counts that are dead or saturated have no temperature: at or below, at or above.
    pub invalid: (u16, u16),
    /// Counts to temperature for the scale bar.
    pub equation: &'a MeasurementEquation,
}

impl<'a> Subject<'a> {
    /// A picture of this recording.
    #[must_use]
    pub fn of(recording: &Recording, counts: &'a [u16], equation: &'a MeasurementEquation) -> Self {
        let invalid = (recording.sensor.dead_at_or_below, recording.sensor.saturated_at);
        Self { counts, width: recording.width, invalid, equation }
    }

    /// Temperature of a count in °C, if it means one.
    fn celsius(&self, count: u16) -> Option<f64> {
        let valid = count > self.invalid.0 && count < self.invalid.1;
        valid.then(|| self.equation.object(f64::from(count)).ok()).flatten().map(|kelvin| kelvin - 273.15)
    }
}

/// Ends of the colors of pictures that are to be compared, in °C, at least 1 K apart: of each picture all but the eight
/// lowest and the eight highest temperatures, so that stray pixels do not flatten the rest while the smallest feature
/// that may be measured, 3 × 3 pixels, keeps its colors; together from the lowest to the highest of them.
#[must_use]
pub fn range(subjects: &[Subject<'_>]) -> (f64, f64) {
    let ends = subjects.iter().filter_map(|subject| {
        let mut valid: Vec<f64> = subject.counts.iter().filter_map(|&count| subject.celsius(count)).collect();
        valid.sort_by(f64::total_cmp);
        let strays = 8.min(valid.len().checked_sub(1)? / 2);
        Some((valid[strays], valid[valid.len() - 1 - strays]))
    });
    let (low, high) = ends.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap_or((0.0, 1.0));
    if high - low < 1.0 { ((low + high) / 2.0 - 0.5, (low + high) / 2.0 + 0.5) } else { (low, high) }
}

/// Draws a picture with its scale bar and marks, in colors between the ends of [`range`]; the bar says what they are.
#[must_use]
pub fn draw(subject: &Subject<'_>, (low, high): (f64, f64), marks: &[Mark], unit: TemperatureUnit) -> RgbImage {
    let width = u32::from(subject.width);
    let height = (subject.counts.len() as u32).checked_div(width).unwrap_or(0);
    let zoom = LEAST_WIDTH.div_ceil(width.max(1)).clamp(1, 16);
    let mut canvas = Canvas::new(width * zoom, height * zoom + BAR_HEIGHT);
    let tones: Vec<u8> = subject
        .counts
        .iter()
        .map(|&count| subject.celsius(count).map_or(tones::NONE, |t| tone_at((t - low) / (high - low))))
        .collect();
    let view = View { origin: Point::zero(), zoom: zoom as u16 };
    for (y, row) in tones.chunks_exact(usize::from(subject.width.max(1))).enumerate() {
        let Ok(()) = view.row(&mut canvas, y as u16, row, &CIVIDIS);
    }
    for mark in marks {
        mark.draw(&mut canvas, view);
    }
    bar(&mut canvas, height * zoom, (low, high), unit);
    canvas.into_image()
}

/// Tone at a share of the range.
fn tone_at(share: f64) -> u8 {
    if share < 0.0 {
        tones::UNDER
    } else if share > 1.0 {
        tones::OVER
    } else {
        tones::LOWEST + (share * f64::from(tones::HIGHEST - tones::LOWEST)).round() as u8
    }
}

fn color_of(tone: u8) -> Rgb888 {
    let [r, g, b] = CIVIDIS.rgb888(tone);
    Rgb888::new(r, g, b)
}

/// The scale: the color map with five values under it.
fn bar(canvas: &mut Canvas, top: u32, (low, high): (f64, f64), unit: TemperatureUnit) {
    let (left, width) = (MARGIN, canvas.width().saturating_sub(2 * MARGIN).max(1));
    canvas.fill(0, top as i32, canvas.width(), BAR_HEIGHT, Rgb888::new(255, 255, 255));
    for x in 0..width {
        let share = f64::from(x) / f64::from(width.saturating_sub(1).max(1));
        canvas.fill((left + x) as i32, top as i32 + 6, 1, 14, color_of(tone_at(share)));
    }
    for (x, tone) in [(left - PATCH - 2, tones::UNDER), (left + width + 2, tones::OVER)] {
        canvas.fill(x as i32, top as i32 + 6, PATCH, 14, color_of(tone));
    }
    let (convert, symbol): (fn(f64) -> f64, _) = match unit {
        TemperatureUnit::Celsius => (|c| c, "°C"),
        TemperatureUnit::Fahrenheit => (|c| c * 1.8 + 32.0, "°F"),
    };
    for i in 0..5u32 {
        let share = f64::from(i) / 4.0;
        let x = left + (f64::from(width - 1) * share).round() as u32;
        canvas.fill(x as i32, top as i32 + 20, 1, 4, Rgb888::new(0, 0, 0));
        let value = convert(low + (high - low) * share);
        canvas.text(&format!("{value:.1} {symbol}"), x as i32, top as i32 + 38, Rgb888::new(0, 0, 0), true);
    }
}
