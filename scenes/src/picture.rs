//! Pictures made of simple shapes in millimeters, and where they lie in the frame.

use crate::draw::Draw;
use crate::heat::sheet::sample;

/// Errors of the operator's aim (proposal): turn in rad, scale as a share, offset as a share of the frame height.
const TURN_RAD: f64 = 0.035;
const SCALE_SHARE: f64 = 0.03;
const OFFSET_SHARE: f64 = 0.02;

/// What is seen at a point: rise over air in K, and emissivity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Rise over air in K.
    pub rise_k: f64,
    /// Emissivity.
    pub emissivity: f64,
}

/// From millimeters on the object (origin in the middle of the frame, x right, y down) to pixels and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    center: (f64, f64),
    mm_per_px: f64,
    cosine: f64,
    sine: f64,
}

impl Pose {
    /// A pose with the operator's errors around an intended scale.
    #[must_use]
    pub fn draw(width: usize, height: usize, mm_per_px: f64, draw: &mut Draw) -> Self {
        let (sine, cosine) = libm::sincos(draw.uniform(-TURN_RAD, TURN_RAD));
        let offset = OFFSET_SHARE * height as f64;
        Self {
            center: (
                0.5 * (width - 1) as f64 + draw.uniform(-offset, offset),
                0.5 * (height - 1) as f64 + draw.uniform(-offset, offset),
            ),
            mm_per_px: mm_per_px * (1.0 + draw.uniform(-SCALE_SHARE, SCALE_SHARE)),
            cosine,
            sine,
        }
    }

    /// Millimeters of a pixel.
    #[must_use]
    pub const fn mm_per_px(&self) -> f64 {
        self.mm_per_px
    }

    /// The point in mm at a pixel.
    #[must_use]
    pub fn mm(&self, x: f64, y: f64) -> (f64, f64) {
        let (dx, dy) = ((x - self.center.0) * self.mm_per_px, (y - self.center.1) * self.mm_per_px);
        (dx * self.cosine + dy * self.sine, dy * self.cosine - dx * self.sine)
    }

    /// The pixel at a point in mm.
    #[must_use]
    pub fn px(&self, (u, v): (f64, f64)) -> (f64, f64) {
        let (dx, dy) = (u * self.cosine - v * self.sine, u * self.sine + v * self.cosine);
        (self.center.0 + dx / self.mm_per_px, self.center.1 + dy / self.mm_per_px)
    }
}

/// An outline in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outline {
    /// Center and radius.
    Disc((f64, f64), f64),
    /// Center, inner and outer radius.
    Ring((f64, f64), f64, f64),
    /// Upper left and lower right corner.
    Block((f64, f64), (f64, f64)),
    /// A straight bar with round ends: the ends of its axis and half its width.
    Bar((f64, f64), (f64, f64), f64),
}

impl Outline {
    fn contains(&self, u: f64, v: f64) -> bool {
        match *self {
            Self::Disc((x, y), r) => square(u - x) + square(v - y) <= r * r,
            Self::Ring((x, y), inner, outer) => {
                let d = square(u - x) + square(v - y);
                inner * inner <= d && d <= outer * outer
            }
            Self::Block(from, to) => from.0 <= u && u <= to.0 && from.1 <= v && v <= to.1,
            Self::Bar(from, to, half) => {
                let share = along(from, to, u, v).clamp(0.0, 1.0);
                let (x, y) = (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
                square(u - x) + square(v - y) <= half * half
            }
        }
    }
}

fn square(x: f64) -> f64 {
    x * x
}

/// Where on the line from one point (0) to another (1) a point is nearest to.
fn along(from: (f64, f64), to: (f64, f64), u: f64, v: f64) -> f64 {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    ((u - from.0) * dx + (v - from.1) * dy) / (dx * dx + dy * dy)
}

/// Rise inside an outline.
#[derive(Clone, Debug, PartialEq)]
pub enum Fill {
    /// The same everywhere, in K.
    Even(f64),
    /// Values in K at equal distances on the line between two points.
    Line((f64, f64), (f64, f64), Vec<f64>),
    /// Values in K at equal angles around a point, clockwise from the top.
    Turn((f64, f64), Vec<f64>),
}

impl Fill {
    fn rise_k(&self, u: f64, v: f64) -> f64 {
        match self {
            Self::Even(rise) => *rise,
            Self::Line(from, to, values) => {
                sample(values, values.len(), 1, along(*from, *to, u, v) * (values.len() - 1) as f64, 0.0)
            }
            Self::Turn((x, y), values) => {
                let turn = libm::atan2(u - x, y - v) / std::f64::consts::TAU;
                let position = (turn - libm::floor(turn)) * values.len() as f64;
                let i = (position as usize).min(values.len() - 1);
                let next = values[(i + 1) % values.len()];
                values[i] + (next - values[i]) * (position - i as f64)
            }
        }
    }
}

/// Shapes painted one over another.
#[derive(Clone, Debug, PartialEq)]
pub struct Painting {
    /// What is seen where nothing is painted.
    pub ground: Look,
    shapes: Vec<(Outline, Fill, f64)>,
}

impl Painting {
    /// An empty picture.
    #[must_use]
    pub const fn on(ground: Look) -> Self {
        Self { ground, shapes: Vec::new() }
    }

    /// Paints a shape over what is there.
    pub fn paint(&mut self, outline: Outline, fill: Fill, emissivity: f64) {
        self.shapes.push((outline, fill, emissivity));
    }

    /// What is seen at a point in mm.
    #[must_use]
    pub fn look(&self, (u, v): (f64, f64)) -> Look {
        let top = self.shapes.iter().rev().find(|(outline, ..)| outline.contains(u, v));
        top.map_or(self.ground, |(_, fill, emissivity)| Look { rise_k: fill.rise_k(u, v), emissivity: *emissivity })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pose_goes_there_and_back() {
        let pose = Pose::draw(160, 120, 2.0, &mut Draw::new(1, "pose"));
        for point in [(0.0, 0.0), (100.0, -40.0), (-33.0, 71.0)] {
            let (x, y) = pose.px(point);
            let (u, v) = pose.mm(x, y);
            assert!((u - point.0).abs() < 1e-9 && (v - point.1).abs() < 1e-9);
        }
    }

    #[test]
    fn fills_read_their_values_where_they_say() {
        let line = Fill::Line((0.0, 0.0), (10.0, 0.0), vec![0.0, 5.0, 10.0]);
        assert!((line.rise_k(2.5, 3.0) - 2.5).abs() < 1e-12 && (line.rise_k(99.0, 0.0) - 10.0).abs() < 1e-12);
        let turn = Fill::Turn((0.0, 0.0), vec![0.0, 1.0, 2.0, 3.0]);
        // Top, right, bottom, left.
        for (at, value) in [((0.0, -1.0), 0.0), ((1.0, 0.0), 1.0), ((0.0, 1.0), 2.0), ((-1.0, 0.0), 3.0)] {
            assert!((turn.rise_k(at.0, at.1) - value).abs() < 1e-9, "{at:?}");
        }
    }
}
