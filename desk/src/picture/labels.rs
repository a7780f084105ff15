//! Where the names of shapes go: beside them, off other shapes and names, with a line to the shape if they are not
//! next to it.

use super::canvas::Canvas;
use embedded_graphics::pixelcolor::Rgb888;
use embedded_graphics::prelude::{Drawable as _, Point, Primitive as _, Size};
use embedded_graphics::primitives::{Line, PrimitiveStyle, Rectangle};
use oddheat_core::image::View;
use oddheat_core::measure::Shape;

/// Behind a name, and beside its line.
const SHADE: Rgb888 = Rgb888::new(0, 0, 0);
/// Height of a line of text and room beside it, in screen pixels.
const HEIGHT: i32 = 14;
const ROOM: i32 = 2;
/// Distances from a shape that are tried, in screen pixels.
const DISTANCES: [i32; 9] = [2, 8, 16, 26, 38, 52, 68, 86, 106];
/// Least distance from a small box: what it lies on is to be seen around it.
const OFF_SMALL: i32 = 26;
/// A name this near to a shape needs no line to it.
const BESIDE: i32 = 4;
/// Directions that are tried: up and left first, where a reader looks for a name.
const DIRECTIONS: [(i32, i32); 8] = [(-1, -1), (0, -1), (1, -1), (1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0)];
/// What lying on a shape, and on a name, is worth in screen pixels of distance.
const ON_SHAPE: i32 = 1_000;
const ON_NAME: i32 = 10_000;
/// A box of more screen pixels than this in width or height is an area: names may lie in it, but not on its border.
const AREA: i32 = 100;

/// A shape in screen pixels.
#[derive(Clone, Copy)]
enum Outline {
    Box(Rectangle),
    Disc { center: Point, radius: i32 },
}

impl Outline {
    fn of(shape: Shape, view: View) -> Self {
        let zoom = i32::from(view.zoom.clamp(1, 64));
        if let Shape::Ring { x, y, outer, .. } = shape {
            let center = view.origin + Point::new(i32::from(x), i32::from(y)) * zoom + Point::new(zoom / 2, zoom / 2);
            return Self::Disc { center, radius: (2 * i32::from(outer) + 1) * zoom / 2 };
        }
        let (x0, y0, x1, y1) = shape.bounds();
        let corners = [(x0, y0), (x1 + 1, y1 + 1)].map(|(x, y)| view.origin + Point::new(x, y) * zoom);
        Self::Box(Rectangle::with_corners(corners[0], corners[1]))
    }

    fn bounds(self) -> Rectangle {
        match self {
            Self::Box(bounds) => bounds,
            Self::Disc { center, radius } => Rectangle::with_center(center, Size::new_equal(2 * radius as u32)),
        }
    }

    /// A box that is not an area.
    fn is_small(self) -> bool {
        matches!(self, Self::Box(bounds) if bounds.size.width as i32 <= AREA && bounds.size.height as i32 <= AREA)
    }

    fn meets(self, name: Rectangle) -> bool {
        match self {
            Self::Box(bounds) => {
                let inside = !self.is_small() && bounds.offset(-ROOM).intersection(&name) == name;
                !inside && bounds.intersection(&name).size != Size::zero()
            }
            Self::Disc { center, radius } => {
                let off = nearest(name, center) - center;
                off.x * off.x + off.y * off.y < radius * radius
            }
        }
    }

    /// The point of the outline that is nearest to a name.
    fn toward(self, name: Rectangle) -> Point {
        match self {
            Self::Box(bounds) => nearest(bounds, name.center()),
            Self::Disc { center, radius } => {
                let off = nearest(name, center) - center;
                let length = libm::hypot(f64::from(off.x), f64::from(off.y)).max(1.0);
                let part = |v: i32| libm::round(f64::from(v) * f64::from(radius) / length) as i32;
                center + Point::new(part(off.x), part(off.y))
            }
        }
    }
}

/// The point of a rectangle that is nearest to another point.
fn nearest(rectangle: Rectangle, to: Point) -> Point {
    let last = rectangle.bottom_right().unwrap_or(rectangle.top_left);
    Point::new(to.x.clamp(rectangle.top_left.x, last.x), to.y.clamp(rectangle.top_left.y, last.y))
}

/// Writes the names of shapes. The rest of `shapes`, those without a name, is kept free too.
pub(super) fn write(canvas: &mut Canvas, shapes: &[(Shape, Option<&str>)], view: View) {
    let outlines: Vec<Outline> = shapes.iter().map(|&(shape, _)| Outline::of(shape, view)).collect();
    let mut taken: Vec<Rectangle> = Vec::new();
    for (&outline, &(_, name)) in outlines.iter().zip(shapes) {
        let Some(name) = name else { continue };
        let width = Canvas::width_of(name) + 2 * ROOM;
        let place = place(canvas, outline, (width, HEIGHT), &outlines, &taken);
        let end = outline.toward(place);
        let off = nearest(place, end) - end;
        if off.x.abs().max(off.y.abs()) > BESIDE {
            for (color, aside) in [(SHADE, Point::new(1, 1)), (View::SHAPE, Point::zero())] {
                let line = Line::new(nearest(place, end) + aside, end + aside);
                let Ok(()) = line.into_styled(PrimitiveStyle::with_stroke(color, 1)).draw(canvas);
            }
        }
        let Ok(()) = place.into_styled(PrimitiveStyle::with_fill(SHADE)).draw(canvas);
        canvas.text(name, place.top_left.x + ROOM, place.top_left.y + 11, View::SHAPE, false);
        taken.push(place);
    }
}

/// The best place for a name of a size.
fn place(
    canvas: &Canvas,
    outline: Outline,
    (width, height): (i32, i32),
    outlines: &[Outline],
    taken: &[Rectangle],
) -> Rectangle {
    let bounds = outline.bounds();
    let (first, last) = (bounds.top_left, bounds.bottom_right().unwrap_or(bounds.top_left));
    let least = if outline.is_small() { OFF_SMALL } else { 0 };
    let tried = DISTANCES.into_iter().filter(|&distance| distance >= least).flat_map(|distance| {
        DIRECTIONS.map(|(right, down)| {
            let along = |sign: i32, first: i32, last: i32, size: i32| match sign {
                -1 => first - distance - size,
                0 => (first + last - size) / 2,
                _ => last + distance,
            };
            let most = |size: u32, own: i32| (size as i32 - own).max(0);
            let x = along(right, first.x, last.x, width).clamp(0, most(canvas.width(), width));
            let y = along(down, first.y, last.y, height).clamp(0, most(canvas.height(), height));
            (distance, Rectangle::new(Point::new(x, y), Size::new(width as u32, height as u32)))
        })
    });
    let cost = |&(distance, place): &(i32, Rectangle)| {
        let shapes = outlines.iter().filter(|other| other.meets(place)).count() as i32;
        let names = taken.iter().filter(|other| other.intersection(&place).size != Size::zero()).count() as i32;
        distance + ON_SHAPE * shapes + ON_NAME * names
    };
    tried.min_by_key(cost).map_or(bounds, |(_, place)| place)
}
