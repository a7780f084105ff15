//! Pictures: counts in a published color map, with a scale bar and with marks.
//!
//! *Colors* are those of [`oddheat_core::image`]: cividis, and beside it dark green for pixels without a temperature, cyan
//! and magenta for pixels below and above the range. *Layout.* The picture, or several two by two, enlarged by a whole
//! number, above a horizontal bar with its values, which has a patch in the colors of clipping at either end.

mod canvas;
mod labels;
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

const WHITE: Rgb888 = Rgb888::new(255, 255, 255);
const BLACK: Rgb888 = Rgb888::new(0, 0, 0);
/// Pictures side by side, at most.
const PANELS_A_ROW: usize = 2;
/// Space between pictures side by side, and the height of the line with their names.
const GAP: u32 = 4;
const NAME_HEIGHT: u32 = 18;
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

/// How a picture is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Width the pictures are enlarged to together, in screen pixels, at least.
    pub least_width: u32,
    /// Steps of color between the ends of the range, 1 to those that the color map has.
    pub steps: u8,
    /// In which unit the bar has its values.
    pub unit: TemperatureUnit,
}

impl Style {
    /// The bench's: large, every color of the map.
    #[must_use]
    pub const fn bench(unit: TemperatureUnit) -> Self {
        Self { least_width: 600, steps: tones::HIGHEST - tones::LOWEST, unit }
    }

    /// Tone at a share of the range.
    fn tone_at(self, share: f64) -> u8 {
        let steps = f64::from(self.steps.max(1));
        if share < 0.0 {
            tones::UNDER
        } else if share > 1.0 {
            tones::OVER
        } else {
            let step = (share * steps).round() / steps;
            tones::LOWEST + (step * f64::from(tones::HIGHEST - tones::LOWEST)).round() as u8
        }
    }
}

/// One of several pictures side by side.
#[derive(Clone, Copy, Debug)]
pub struct Panel<'a> {
    /// What is shown.
    pub subject: Subject<'a>,
    /// Written above it; empty if it needs no name.
    pub name: &'a str,
    /// Drawn on it.
    pub marks: &'a [Mark],
}

/// Draws a picture with its scale bar and marks, in colors between the ends of [`range`]; the bar says what they are.
#[must_use]
pub fn draw(subject: &Subject<'_>, range: (f64, f64), marks: &[Mark], style: Style) -> RgbImage {
    draw_panels(&[Panel { subject: *subject, name: "", marks }], range, style)
}

/// Draws pictures two by two, equally enlarged, over one scale bar. A line above each row has their names, if any has
/// one.
#[must_use]
pub fn draw_panels(panels: &[Panel<'_>], range: (f64, f64), style: Style) -> RgbImage {
    let rows = || panels.chunks(PANELS_A_ROW);
    let columns = |row: &[Panel<'_>]| row.iter().map(|panel| u32::from(panel.subject.width)).sum::<u32>();
    let zoom = style.least_width.div_ceil(rows().map(columns).max().unwrap_or(0).max(1)).clamp(1, 16);
    let names = if panels.iter().all(|panel| panel.name.is_empty()) { 0 } else { NAME_HEIGHT };
    let drawn: Vec<Vec<RgbImage>> =
        rows().map(|row| row.iter().map(|panel| draw_panel(panel, range, style, zoom)).collect()).collect();
    let width = |row: &Vec<RgbImage>| row.iter().map(|picture| picture.width() + GAP).sum::<u32>().saturating_sub(GAP);
    let height = |row: &Vec<RgbImage>| names + row.iter().map(RgbImage::height).max().unwrap_or(0);
    let (whole, bottom) = (drawn.iter().map(width).max().unwrap_or(0), drawn.iter().map(height).sum());
    let mut canvas = Canvas::new(whole, bottom + BAR_HEIGHT);
    canvas.fill(0, 0, whole, bottom + BAR_HEIGHT, WHITE);
    let mut top = 0;
    for (row, pictures) in rows().zip(&drawn) {
        let mut left = 0;
        for (panel, picture) in row.iter().zip(pictures) {
            canvas.text(panel.name, (left + picture.width() / 2) as i32, top as i32 + 13, BLACK, true);
            canvas.paste(picture, left, top + names);
            left += picture.width() + GAP;
        }
        top += height(pictures);
    }
    bar(&mut canvas, bottom, range, style);
    canvas.into_image()
}

fn draw_panel(panel: &Panel<'_>, (low, high): (f64, f64), style: Style, zoom: u32) -> RgbImage {
    let subject = &panel.subject;
    let width = u32::from(subject.width);
    let height = (subject.counts.len() as u32).checked_div(width).unwrap_or(0);
    let mut canvas = Canvas::new(width * zoom, height * zoom);
    let tone = |&count| subject.celsius(count).map_or(tones::NONE, |t| style.tone_at((t - low) / (high - low)));
    let tones: Vec<u8> = subject.counts.iter().map(tone).collect();
    let view = View { origin: Point::zero(), zoom: zoom as u16 };
    for (y, row) in tones.chunks_exact(usize::from(subject.width.max(1))).enumerate() {
        let Ok(()) = view.row(&mut canvas, y as u16, row, &CIVIDIS);
    }
    marks::draw(panel.marks, &mut canvas, view);
    canvas.into_image()
}

fn color_of(tone: u8) -> Rgb888 {
    let [r, g, b] = CIVIDIS.rgb888(tone);
    Rgb888::new(r, g, b)
}

/// The scale: the color map with five values under it.
fn bar(canvas: &mut Canvas, top: u32, (low, high): (f64, f64), style: Style) {
    let (left, width) = (MARGIN, canvas.width().saturating_sub(2 * MARGIN).max(1));
    for x in 0..width {
        let share = f64::from(x) / f64::from(width.saturating_sub(1).max(1));
        canvas.fill((left + x) as i32, top as i32 + 6, 1, 14, color_of(style.tone_at(share)));
    }
    for (x, tone) in [(left - PATCH - 2, tones::UNDER), (left + width + 2, tones::OVER)] {
        canvas.fill(x as i32, top as i32 + 6, PATCH, 14, color_of(tone));
    }
    let (convert, symbol): (fn(f64) -> f64, _) = match style.unit {
        TemperatureUnit::Celsius => (|c| c, "°C"),
        TemperatureUnit::Fahrenheit => (|c| c * 1.8 + 32.0, "°F"),
    };
    for i in 0..5u32 {
        let share = f64::from(i) / 4.0;
        let x = left + (f64::from(width - 1) * share).round() as u32;
        canvas.fill(x as i32, top as i32 + 20, 1, 4, BLACK);
        let value = convert(low + (high - low) * share);
        canvas.text(&format!("{value:.1} {symbol}"), x as i32, top as i32 + 38, BLACK, true);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddheat_core::measure::Shape;
    use oddheat_core::radiometry::{Emissivity, LinearScale, Scale, Scene};

    fn subject<'a>(counts: &'a [u16], equation: &'a MeasurementEquation) -> Subject<'a> {
        Subject { counts, width: 40, invalid: (0, 16_383), equation }
    }

    /// Tenths of a kelvin.
    fn equation() -> MeasurementEquation {
        let scene = Scene::new(Emissivity::new(1.0).expect("black"));
        MeasurementEquation::new(&Scale::Linear(LinearScale::new(10.0, -273.15).expect("a scale")), &scene)
            .expect("an equation")
    }

    #[test]
    fn panels_lie_two_by_two_over_one_bar() {
        let equation = equation();
        let counts: Vec<u16> = (0..1_200).map(|i| 2_950 + i / 40).collect();
        let panel = Panel { subject: subject(&counts, &equation), name: "one", marks: &[] };
        let style = Style { least_width: 160, ..Style::bench(TemperatureUnit::Celsius) };
        let size = |n: usize| draw_panels(&vec![panel; n], (20.0, 30.0), style).dimensions();
        assert_eq!(size(1), (160, 4 * 30 + NAME_HEIGHT + BAR_HEIGHT));
        assert_eq!(size(2), (160 + GAP, 2 * 30 + NAME_HEIGHT + BAR_HEIGHT));
        assert_eq!(size(3), (160 + GAP, 2 * (2 * 30 + NAME_HEIGHT) + BAR_HEIGHT));
        assert_eq!(size(3), size(4));
    }

    #[test]
    fn a_name_lies_beside_its_shape_and_not_on_another() {
        let equation = equation();
        let counts = vec![2_950; 1_200];
        let shape = |x| Shape::Spot { x, y: 15, size: 5 };
        let marks = [Mark::Shape("joint".to_owned(), shape(12)), Mark::Shape("twin".to_owned(), shape(20))];
        let style = Style { least_width: 640, ..Style::bench(TemperatureUnit::Celsius) };
        let named = draw(&subject(&counts, &equation), (20.0, 30.0), &marks, style);
        let plain = marks.map(|mark| if let Mark::Shape(_, shape) = mark { Mark::Outline(shape) } else { mark });
        let outlined = draw(&subject(&counts, &equation), (20.0, 30.0), &plain, style);
        let differs = |x0: u32, x1: u32, y0: u32, y1: u32| {
            (y0..y1).any(|y| (x0..x1).any(|x| named.get_pixel(x, y) != outlined.get_pixel(x, y)))
        };
        // Pixels 10 to 14 and 18 to 22 in columns, 13 to 17 in rows, 16 screen pixels each.
        assert!(!differs(160, 240, 208, 288) && !differs(288, 368, 208, 288));
        assert!(differs(0, 640, 0, 208) || differs(0, 640, 288, 480));
    }
}
