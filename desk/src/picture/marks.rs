//! Marks on a picture: shapes with the names of their parts, regions with their numbers.

use super::canvas::Canvas;
use super::labels;
use embedded_graphics::pixelcolor::Rgb888;
use oddheat_core::image::View;
use oddheat_core::measure::Shape;
use oddheat_core::regions::{Region, Sign};

const SHADE: Rgb888 = Rgb888::new(0, 0, 0);

/// Something to point out.
#[derive(Clone, Debug)]
pub enum Mark {
    /// A placed shape and the name written beside it, in Latin-1.
    Shape(String, Shape),
    /// A placed shape without a word.
    Outline(Shape),
    /// A region and its number in the table.
    Region(usize, Region),
}

/// Draws marks; the names of shapes last, so that no outline crosses them.
pub(super) fn draw(marks: &[Mark], canvas: &mut Canvas, view: View) {
    for mark in marks {
        mark.draw(canvas, view);
    }
    let shapes: Vec<(Shape, Option<&str>)> = marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Shape(name, shape) => Some((*shape, Some(name.as_str()))),
            Mark::Outline(shape) => Some((*shape, None)),
            Mark::Region(..) => None,
        })
        .collect();
    labels::write(canvas, &shapes, view);
}

impl Mark {
    fn draw(&self, canvas: &mut Canvas, view: View) {
        match self {
            Self::Shape(_, shape) | Self::Outline(shape) => {
                let Ok(()) = view.shape(canvas, *shape, View::SHAPE);
            }
            Self::Region(number, region) => {
                let color = if region.sign == Sign::Hot { View::HOT } else { View::COLD };
                let Ok(()) = view.region(canvas, region);
                label(canvas, &number.to_string(), i32::from(region.x0), i32::from(region.y0), view, color);
            }
        }
    }
}

fn label(canvas: &mut Canvas, text: &str, x: i32, y: i32, view: View, color: Rgb888) {
    let zoom = i32::from(view.zoom);
    let (x, y) = (x * zoom + 1, (y * zoom - 3).max(11));
    canvas.text(text, x + 1, y + 1, SHADE, false);
    canvas.text(text, x, y, color, false);
}
