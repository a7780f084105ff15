//! Marks and legends on any display that has an `embedded-graphics` driver.
//!
//! *What.* [`View`] says where a frame lies on the display and how much it is enlarged; it draws rows of tones, and the
//! outlines of regions and shapes over them. [`Legend`] draws the colors of a palette with the values at its ends and
//! with the two colors of clipping. *Why twice.* Each outline has a dark line beside the bright one, so that it shows on
//! any color. *Panics.* None is reachable through these calls: each links without the panic handler for thumbv7em with
//! version 0.8.1 of the graphics library and a driver that has none itself. CI does not repeat that proof.
//! *Flash*, linked alone for thumbv7em: 0.5 KiB for rows, 2.2 KiB for any one kind of mark.

use super::palette::Palette;
use super::tone::tones;
use crate::measure::Shape;
use crate::regions::{Region, Sign};
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::mono_font::{MonoFont, MonoTextStyle};
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::{Drawable as _, PixelColor};
use embedded_graphics::primitives::{Circle, Line, Primitive as _, PrimitiveStyle, Rectangle};
use embedded_graphics::text::renderer::TextRenderer as _;
use embedded_graphics::text::{Alignment, Baseline, Text, TextStyleBuilder};

/// Beside every line.
const SHADE: Rgb888 = Rgb888::new(0, 0, 0);

/// A frame on a display.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct View {
    /// Where the first pixel's upper left corner is shown.
    pub origin: Point,
    /// Display pixels to a pixel, 1 to 64; what lies outside is taken as the nearest of them.
    pub zoom: u16,
}

impl View {
    /// Color for outlines of placed shapes: white.
    pub const SHAPE: Rgb888 = Rgb888::new(255, 255, 255);
    /// Color for outlines of hot regions: orange-red.
    pub const HOT: Rgb888 = Rgb888::new(230, 75, 30);
    /// Color for outlines of cold regions: pale blue. The color of clipping, cyan, is another.
    pub const COLD: Rgb888 = Rgb888::new(130, 190, 255);

    fn zoom(self) -> i32 {
        i32::from(self.zoom.clamp(1, 64))
    }

    /// Upper left corner of a pixel.
    fn corner(self, x: i32, y: i32) -> Point {
        self.origin + Point::new(x, y) * self.zoom()
    }

    /// Middle of a pixel.
    fn middle(self, x: i32, y: i32) -> Point {
        self.corner(x, y) + Point::new(self.zoom() / 2, self.zoom() / 2)
    }

    /// Shows row `y` of the frame, each pixel as a block.
    ///
    /// # Errors
    /// The display's.
    pub fn row<D>(&self, display: &mut D, y: u16, row: &[u8], palette: &Palette) -> Result<(), D::Error>
    where
        D: DrawTarget,
        D::Color: From<Rgb888>,
    {
        let zoom = self.zoom() as u32;
        let line = Rectangle::new(self.corner(0, i32::from(y)), Size::new(row.len() as u32 * zoom, zoom));
        let blocks = (0..zoom).flat_map(|_| row).flat_map(|&tone| {
            let [r, g, b] = palette.rgb888(tone);
            core::iter::repeat_n(D::Color::from(Rgb888::new(r, g, b)), zoom as usize)
        });
        display.fill_contiguous(&line, blocks)
    }

    /// Outlines the box of a region in [`View::HOT`] or [`View::COLD`], and puts a cross on its peak.
    ///
    /// # Errors
    /// The display's.
    pub fn region<D>(&self, display: &mut D, region: &Region) -> Result<(), D::Error>
    where
        D: DrawTarget,
        D::Color: From<Rgb888>,
    {
        let color = if region.sign == Sign::Hot { Self::HOT } else { Self::COLD };
        let Region { x0, y0, x1, y1, .. } = *region;
        self.shape(display, Shape::Box { x0, y0, x1, y1 }, color)?;
        self.cross(display, region.peak_x, region.peak_y, color)
    }

    /// Puts a cross on the middle of a pixel.
    ///
    /// # Errors
    /// The display's.
    pub fn cross<D>(&self, display: &mut D, x: u16, y: u16, color: Rgb888) -> Result<(), D::Error>
    where
        D: DrawTarget,
        D::Color: From<Rgb888>,
    {
        let arm = self.zoom().max(3);
        let middle = self.middle(i32::from(x), i32::from(y));
        twice(color, |color, shift| {
            let style = PrimitiveStyle::with_stroke(D::Color::from(color), 1);
            for reach in [Point::new(arm, 0), Point::new(0, arm)] {
                Line::new(middle - reach + shift, middle + reach + shift).into_styled(style).draw(display)?;
            }
            Ok(())
        })
    }

    /// Outlines a shape along the outer edges of its pixels; of a ring, both circles. Other shapes are shown by their
    /// bounding box. A box whose corners are crossed has no pixels and is not shown.
    ///
    /// # Errors
    /// The display's.
    pub fn shape<D>(&self, display: &mut D, shape: Shape, color: Rgb888) -> Result<(), D::Error>
    where
        D: DrawTarget,
        D::Color: From<Rgb888>,
    {
        let zoom = self.zoom() as u32;
        twice(color, |color, shift| {
            let style = PrimitiveStyle::with_stroke(D::Color::from(color), 1);
            if let Shape::Ring { x, y, inner, outer } = shape {
                let mut circle = |radius: u16| {
                    let diameter = (2 * u32::from(radius) + 1) * zoom;
                    let center = self.middle(i32::from(x), i32::from(y)) + shift;
                    Circle::with_center(center, diameter).into_styled(style).draw(display)
                };
                circle(outer)?;
                return if inner > 0 { circle(inner - 1) } else { Ok(()) };
            }
            let (x0, y0, x1, y1) = shape.bounds();
            let (Ok(columns @ 1..), Ok(rows @ 1..)) = (u32::try_from(x1 - x0 + 1), u32::try_from(y1 - y0 + 1)) else {
                return Ok(());
            };
            let size = Size::new(columns.saturating_mul(zoom), rows.saturating_mul(zoom));
            Rectangle::new(self.corner(x0, y0) + shift, size).into_styled(style).draw(display)
        })
    }
}

/// First the dark line one pixel aside, then the bright one.
fn twice<E>(color: Rgb888, mut draw: impl FnMut(Rgb888, Point) -> Result<(), E>) -> Result<(), E> {
    draw(SHADE, Point::new(1, 1))?;
    draw(color, Point::zero())
}

/// The colors of a palette as a horizontal bar, the values of its ends below it, and to either side a patch in the color
/// of what lies outside.
#[derive(Clone, Copy, Debug)]
pub struct Legend<'a> {
    /// Colors.
    pub palette: &'a Palette,
    /// Value of the lower end, as it is to be read.
    pub low: &'a str,
    /// Value of the upper end.
    pub high: &'a str,
    /// Font of the values.
    pub font: &'a MonoFont<'a>,
}

impl Legend<'_> {
    /// Draws it into an area, of which the bar takes what the font leaves. Values that do not fit are cut off.
    ///
    /// # Errors
    /// The display's.
    pub fn draw<D>(&self, display: &mut D, area: Rectangle, text: D::Color) -> Result<(), D::Error>
    where
        D: DrawTarget,
        D::Color: From<Rgb888> + PixelColor,
    {
        let style = MonoTextStyle::new(self.font, text);
        let bar = Size::new(area.size.width, area.size.height.saturating_sub(style.line_height() + 1));
        // A patch is as wide as the bar is high, if there is room.
        let patch = bar.height.min(bar.width / 4);
        let ramp = bar.width.saturating_sub(2 * patch);
        let steps = u32::from(tones::HIGHEST - tones::LOWEST);
        let color = |x: u32| {
            let tone = if x < patch {
                tones::UNDER
            } else if x >= patch + ramp {
                tones::OVER
            } else {
                let step = ((x - patch) * steps).checked_div(ramp.saturating_sub(1)).unwrap_or(0);
                tones::LOWEST + step.min(steps) as u8
            };
            let [r, g, b] = self.palette.rgb888(tone);
            D::Color::from(Rgb888::new(r, g, b))
        };
        let colors = (0..bar.height).flat_map(|_| (0..bar.width).map(color));
        display.fill_contiguous(&Rectangle::new(area.top_left, bar), colors)?;
        let below = area.top_left.y + bar.height as i32 + 1;
        let left = area.top_left.x + patch as i32;
        for (value, x, alignment) in
            [(self.low, left, Alignment::Left), (self.high, left + ramp as i32 - 1, Alignment::Right)]
        {
            let place = TextStyleBuilder::new().alignment(alignment).baseline(Baseline::Top).build();
            Text::with_text_style(value, Point::new(x, below), style, place).draw(display)?;
        }
        Ok(())
    }
}
