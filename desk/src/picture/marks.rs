//! Marks on a picture: shapes with the names of their roles, regions with their numbers.

use super::canvas::Canvas;
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::{Drawable as _, Point, Primitive as _, Size};
use embedded_graphics::primitives::{Circle, PrimitiveStyle, Rectangle};
use oddheat_core::checks::Role;
use oddheat_core::measure::Shape;
use oddheat_core::regions::{Region, Sign};

const SHAPE: Rgb888 = Rgb888::new(255, 255, 255);
const HOT: Rgb888 = Rgb888::new(230, 75, 30);
const COLD: Rgb888 = Rgb888::new(40, 220, 235);
const SHADE: Rgb888 = Rgb888::new(0, 0, 0);

/// Something to point out.
#[derive(Clone, Copy, Debug)]
pub enum Mark {
    /// A placed shape.
    Shape(Role, Shape),
    /// A region and its number in the table.
    Region(usize, Region),
}

impl Mark {
    pub(super) fn draw(&self, canvas: &mut Canvas, zoom: u32) {
        // A dark line beside the bright one keeps marks visible on any color.
        match *self {
            Self::Shape(role, shape) => {
                outline(shape, canvas, zoom, SHADE, 1);
                outline(shape, canvas, zoom, SHAPE, 0);
                let (x0, y0, ..) = shape.bounds();
                label(canvas, role.key(), x0, y0, zoom, SHAPE);
            }
            Self::Region(number, region) => {
                let color = if region.sign == Sign::Hot { HOT } else { COLD };
                let shape = Shape::Box { x0: region.x0, y0: region.y0, x1: region.x1, y1: region.y1 };
                outline(shape, canvas, zoom, SHADE, 1);
                outline(shape, canvas, zoom, color, 0);
                label(canvas, &number.to_string(), i32::from(region.x0), i32::from(region.y0), zoom, color);
            }
        }
    }
}

fn label(canvas: &mut Canvas, text: &str, x: i32, y: i32, zoom: u32, color: Rgb888) {
    let (x, y) = (x * zoom as i32 + 1, (y * zoom as i32 - 3).max(11));
    canvas.text(text, x + 1, y + 1, SHADE, false);
    canvas.text(text, x, y, color, false);
}

/// Draws the outline of a shape, moved by `shift` screen pixels.
fn outline(shape: Shape, canvas: &mut Canvas, zoom: u32, color: Rgb888, shift: i32) {
    let style = PrimitiveStyle::with_stroke(color, 1);
    let z = zoom as i32;
    let circle = |x: u16, y: u16, radius: u16| {
        // From the center of the center pixel to the outer edge of the pixels at this distance.
        let diameter = u32::from(radius) * 2 * zoom + zoom;
        let center = Point::new(i32::from(x) * z + z / 2 + shift, i32::from(y) * z + z / 2 + shift);
        Circle::with_center(center, diameter).into_styled(style)
    };
    match shape {
        Shape::Ring { x, y, inner, outer } => {
            let Ok(()) = circle(x, y, outer).draw(canvas);
            if inner > 0 {
                let Ok(()) = circle(x, y, inner - 1).draw(canvas);
            }
        }
        other => {
            let (x0, y0, x1, y1) = other.bounds();
            let corner = Point::new(x0 * z + shift, y0 * z + shift);
            let size = Size::new((x1 - x0 + 1) as u32 * zoom, (y1 - y0 + 1) as u32 * zoom);
            let Ok(()) = Rectangle::new(corner, size).into_styled(style).draw(canvas);
        }
    }
}
