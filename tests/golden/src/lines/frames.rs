//! Pictures for checks: a cell of the image for each shape, noisy ground, and the shape's own level in it.
//!
//! Made from a check's definition, so that a new check needs nothing here. If a check searches areas, only these are
//! placed, each with a spot in it, and the rest is left to the search.

use super::random::XorShift;
use oddheat_core::checks::{Definition, Part, Place, Use, View};
use oddheat_core::measure::Shape;
use oddheat_core::radiometry::Emissivity;
use oddheat_core::regions::Sign;

/// Columns of a cell; the largest spot with the surround that the search puts around it needs 21.
const CELL: u16 = 24;
/// Cells in the image: a check with more shapes is refused, and that is a line.
const CELLS: usize = 4;
/// Room for every view number.
const VIEWS: usize = 8;

/// Columns of the image.
pub(super) const WIDTH: u16 = CELL * CELLS as u16;
/// Rows of the image.
pub(super) const HEIGHT: u16 = 25;

/// A shape of the check and what is seen there.
#[derive(Clone, Copy)]
struct Item {
    part: Part,
    placed: Shape,
    drawn: Shape,
    emissivity: Option<(Emissivity, f64)>,
    /// Counts over the ground in each view, by its code.
    levels: [i32; VIEWS],
}

/// What is in the pictures of one case.
pub(super) struct Pictures {
    ground: i32,
    items: [Option<Item>; CELLS],
    /// Whether searched spots go after two frames.
    fleeting: bool,
    /// Every how many pixels one is dead, about.
    dead_one_in: Option<i32>,
}

impl Pictures {
    /// Pictures with a ground at `ground` counts and shapes up to `span` counts above it; `per_kelvin` counts to a
    /// kelvin set the depth of spots.
    pub(super) fn new(
        definition: &Definition,
        (ground, per_kelvin): (i32, i32),
        span: i32,
        random: &mut XorShift,
    ) -> Self {
        let searches = definition.parts.iter().any(|part| matches!(part.usage, Use::Searched(_)));
        let mut wanted = definition.parts.iter().filter(|part| !searches || matches!(part.usage, Use::Searched(_)));
        let mut column = CELL / 2;
        let items = [(); CELLS].map(|()| {
            let item = wanted.next().map(|&part| item(part, column, span, per_kelvin, random));
            column += CELL;
            item
        });
        Self { ground, items, fleeting: random.one_in(4), dead_one_in: random.one_in(16).then_some(6) }
    }

    /// The shapes to place in one view.
    pub(super) fn places(&self, view: View) -> impl Iterator<Item = Place> {
        let place = move |&Item { part, placed, emissivity, .. }: &Item| Place {
            role: part.role,
            view,
            shape: placed,
            emissivity,
        };
        self.items.iter().flatten().map(place)
    }

    /// A row of the `number`th frame of a view.
    pub(super) fn row(&self, view: View, number: u32, y: u16, row: &mut [u16], random: &mut XorShift) {
        row.fill(0);
        let mut level_of = [0i32; WIDTH as usize];
        for item in self.items.iter().flatten() {
            if self.fleeting && number >= 2 && matches!(item.part.usage, Use::Searched(_)) {
                continue;
            }
            let level = item.levels[usize::from(view.code()) % VIEWS];
            for &(start, end) in &item.drawn.spans(y) {
                level_of[usize::from(start)..usize::from(end)].fill(level);
            }
        }
        for (pixel, level) in row.iter_mut().zip(level_of) {
            // Noise of the size that a usual sensor has: under 0.1 K.
            let count = self.ground + level + random.between(-4, 4);
            let dead = self.dead_one_in.is_some_and(|n| random.one_in(n));
            *pixel = if dead { 0 } else { count.clamp(0, 65_535) as u16 };
        }
    }
}

fn item(part: Part, x: u16, span: i32, per_kelvin: i32, random: &mut XorShift) -> Item {
    let y = HEIGHT / 2;
    let half = random.between(2, 9) as u16;
    let (placed, drawn, levels) = if let Use::Searched(sign) = part.usage {
        let area = Shape::Box { x0: x - CELL / 2, y0: 0, x1: x + CELL / 2 - 1, y1: HEIGHT - 1 };
        let spot = Shape::Ring { x, y, inner: 0, outer: random.between(1, 3) as u16 };
        // From what noise hides to what cannot be missed: 0.2 to 3.2 K.
        let depth = random.between(per_kelvin / 5, per_kelvin * 16 / 5);
        (area, spot, [if sign == Sign::Hot { depth } else { -depth }; VIEWS])
    } else {
        let shape = match random.between(0, 3) {
            0 => Shape::Spot { x, y, size: 2 * half + 1 },
            1 => Shape::Box { x0: x - half, y0: y - 3, x1: x + half, y1: y + half },
            2 => Shape::Ring { x, y, inner: half / 2, outer: half },
            _ => Shape::Ring { x, y, inner: 0, outer: half },
        };
        (shape, shape, [(); VIEWS].map(|()| random.between(0, span)))
    };
    let emissivity = if random.one_in(3) {
        Emissivity::new(f64::from(random.between(60, 99)) / 100.0).ok().map(|emissivity| (emissivity, 0.03))
    } else {
        None
    };
    Item { part, placed, drawn, emissivity, levels }
}
