//! An RGB image that the graphics library can draw on.

use core::convert::Infallible;
use embedded_graphics::mono_font::{MonoTextStyle, iso_8859_1::FONT_7X13};
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::{DrawTarget, Drawable as _, OriginDimensions, Pixel, Point, RgbColor, Size};
use embedded_graphics::text::{Alignment, Text};
use image::{Rgb, RgbImage, imageops};

/// See the [module](self). What falls outside is cut off.
pub(super) struct Canvas(RgbImage);

impl Canvas {
    pub(super) fn new(width: u32, height: u32) -> Self {
        Self(RgbImage::new(width, height))
    }

    pub(super) fn width(&self) -> u32 {
        self.0.width()
    }

    pub(super) fn height(&self) -> u32 {
        self.0.height()
    }

    pub(super) fn into_image(self) -> RgbImage {
        self.0
    }

    /// Puts a picture with its upper left corner here.
    pub(super) fn paste(&mut self, picture: &RgbImage, x: u32, y: u32) {
        imageops::replace(&mut self.0, picture, i64::from(x), i64::from(y));
    }

    pub(super) fn set(&mut self, x: i32, y: i32, color: Rgb888) {
        if let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y))
            && let Some(pixel) = self.0.get_pixel_mut_checked(x, y)
        {
            *pixel = Rgb([color.r(), color.g(), color.b()]);
        }
    }

    pub(super) fn fill(&mut self, x: i32, y: i32, width: u32, height: u32, color: Rgb888) {
        for dy in 0..height as i32 {
            for dx in 0..width as i32 {
                self.set(x + dx, y + dy, color);
            }
        }
    }

    /// Width of a line of text.
    pub(super) fn width_of(text: &str) -> i32 {
        7 * text.chars().count() as i32
    }

    /// Writes a line of text with its baseline at `y`, starting at `x` or centered on it, kept inside the picture.
    pub(super) fn text(&mut self, text: &str, x: i32, y: i32, color: Rgb888, centered: bool) {
        let width = Self::width_of(text);
        let left = if centered { x - width / 2 } else { x };
        let left = left.min(self.width() as i32 - width - 1).max(1);
        let style = MonoTextStyle::new(&FONT_7X13, color);
        let Ok(_) = Text::with_alignment(text, Point::new(left, y), style, Alignment::Left).draw(self);
    }
}

impl OriginDimensions for Canvas {
    fn size(&self) -> Size {
        Size::new(self.0.width(), self.0.height())
    }
}

impl DrawTarget for Canvas {
    type Color = Rgb888;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb888>>>(&mut self, pixels: I) -> Result<(), Infallible> {
        for Pixel(Point { x, y }, color) in pixels {
            self.set(x, y, color);
        }
        Ok(())
    }
}
