//! Where the operator puts a shape, in whole pixels.

use serde::Serialize;

use crate::draw::Draw;
use crate::material::Emissivity;

/// Which picture of a check a frame belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum View {
    /// The only picture of the check.
    Single,
    /// Left side of the vehicle, as seen by its driver.
    Left,
    /// Right side of the vehicle, as seen by its driver.
    Right,
    /// The left wheel once more, turned by about a third of a turn.
    LeftTurned,
    /// The right wheel once more, turned by about a third of a turn.
    RightTurned,
    /// Left side of the rear axle.
    RearLeft,
    /// Right side of the rear axle.
    RearRight,
    /// Before the load was switched on, or at the first survey.
    Before,
    /// After the load has been on, or at a later survey.
    After,
}

/// What a shape covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Swept face of a brake rotor.
    Rotor,
    /// Painted body of a brake caliper.
    Caliper,
    /// Lacquered rim of the wheel.
    Rim,
    /// Tire tread, as an area to search.
    Tread,
    /// Joint of tire bead and rim, as an area to search.
    Bead,
    /// Valve stem and its base, as an area to search.
    Valve,
    /// Sound surface around a suspected spot, the reference for it.
    Surround,
    /// Electrical joint under test.
    Joint,
    /// Like joint that carries the same current.
    Twin,
    /// Insulated cable 10 to 20 mm from the joint.
    CableNear,
    /// The same cable well away from the joint.
    CableFar,
    /// Source of known temperature that fills the picture.
    Reference,
    /// Third of the tread toward the vehicle's middle.
    TreadInner,
    /// Middle third of the tread.
    TreadCenter,
    /// Third of the tread away from the vehicle's middle.
    TreadOuter,
    /// Hub nut recess or cap.
    HubCenter,
    /// Hat of a brake rotor, between hub and swept face.
    RotorHat,
    /// Seat cushion.
    Cushion,
    /// Seat backrest.
    Backrest,
    /// A sector of the steering wheel's rim; several, clockwise from the top.
    WheelRim,
    /// A line of a heating grid; several, from the top.
    GridLine,
    /// Glass between two lines of a grid.
    GridGap,
    /// Band of a battery cell on the case; several, from the left.
    Cell,
    /// Taped output stud.
    Stud,
    /// Housing of a machine.
    Housing,
    /// Top of a fuse; several, row by row.
    Fuse,
    /// Top of a relay; several, from the left.
    Relay,
    /// Lead under test, well away from joints.
    Lead,
    /// Parallel lead of the same size.
    LeadTwin,
    /// Splice or connector in the lead.
    Splice,
    /// Trim over or case of a module; the suspected spot.
    Module,
    /// Exhaust joint and what surrounds it.
    Flange,
    /// Mirror joint of the flange.
    FlangeTwin,
    /// Exhaust runner near its port; several, from the left.
    Port,
    /// Pipe before the catalytic converter.
    CatInlet,
    /// Pipe behind the catalytic converter.
    CatOutlet,
    /// Running face of a pulley; the idler's, then the driven one's.
    PulleyRim,
    /// Middle of the same pulley, in the same order.
    PulleyHub,
    /// Middle of a like pulley.
    PulleyTwin,
    /// Back of the belt.
    Belt,
    /// Face of a radiator or condenser.
    Core,
    /// Radiator tank at the inlet.
    InletTank,
    /// Radiator tank at the outlet.
    OutletTank,
    /// Hose behind the thermostat.
    UpperHose,
    /// Engine block or cylinder head, painted or oxidized.
    Block,
    /// Hose to the heater core.
    HeaterInlet,
    /// Hose from the heater core.
    HeaterOutlet,
    /// Louver or card in the left vent.
    VentLeft,
    /// Louver or card in the right vent.
    VentRight,
    /// Taped suction line.
    SuctionLine,
    /// Taped liquid line.
    LiquidLine,
}

/// A shape in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Pixels with inner² ≤ dx² + dy² ≤ outer².
    Ring {
        /// Center (x, y).
        center: [i32; 2],
        /// Inner radius.
        inner: i32,
        /// Outer radius.
        outer: i32,
    },
    /// Square around a pixel.
    Spot {
        /// Center (x, y).
        at: [i32; 2],
        /// Side, odd.
        size: i32,
    },
    /// Rectangle, both corners included.
    Box {
        /// Upper left corner (x, y).
        from: [i32; 2],
        /// Lower right corner (x, y).
        to: [i32; 2],
    },
}

impl Shape {
    /// True if the pixel belongs to the shape.
    #[must_use]
    pub const fn contains(&self, x: i32, y: i32) -> bool {
        match *self {
            Self::Ring { center, inner, outer } => {
                let (dx, dy) = (x - center[0], y - center[1]);
                let square = dx * dx + dy * dy;
                inner * inner <= square && square <= outer * outer
            }
            Self::Spot { at, size } => (x - at[0]).abs() <= size / 2 && (y - at[1]).abs() <= size / 2,
            Self::Box { from, to } => from[0] <= x && x <= to[0] && from[1] <= y && y <= to[1],
        }
    }

    /// Mean of the pixels of a picture that the shape covers; none if it covers none.
    #[must_use]
    pub fn mean(&self, picture: &[f64], width: usize) -> Option<f64> {
        let (mut sum, mut count) = (0.0, 0u32);
        for (i, value) in picture.iter().enumerate() {
            if self.contains((i % width) as i32, (i / width) as i32) {
                sum += value;
                count += 1;
            }
        }
        (count > 0).then(|| sum / f64::from(count))
    }
}

/// A shape that the operator placed, with what is stated about its surface.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Place {
    /// What it covers.
    pub role: Role,
    /// In which view.
    pub view: View,
    /// Stated emissivity, if it is not the recording's default.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emissivity: Option<f64>,
    /// Standard uncertainty of that emissivity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emissivity_u: Option<f64>,
    /// The shape.
    #[serde(flatten)]
    pub shape: Shape,
}

impl Place {
    /// A shape on a surface whose emissivity the operator takes from a table.
    #[must_use]
    pub const fn on(role: Role, view: View, material: Emissivity, shape: Shape) -> Self {
        Self { role, view, emissivity: Some(material.nominal), emissivity_u: Some(material.stated_u()), shape }
    }
}

/// The operator's hand: puts points a little beside where they should be.
#[derive(Debug)]
pub struct Hand {
    draw: Draw,
    error_px: f64,
}

impl Hand {
    /// A hand that errs by up to `error_px` pixels in any direction (0–1.5 in scenes, proposal).
    #[must_use]
    pub fn new(seed: u64, error_px: f64) -> Self {
        Self { draw: Draw::new(seed, "hand"), error_px }
    }

    /// The pixel that is hit when (x, y) is aimed at.
    pub fn point(&mut self, x: f64, y: f64) -> [i32; 2] {
        let (sine, cosine) = libm::sincos(self.draw.uniform(0.0, std::f64::consts::TAU));
        let radius = self.error_px * libm::sqrt(self.draw.unit());
        [libm::round(x + radius * cosine) as i32, libm::round(y + radius * sine) as i32]
    }

    /// A ring around (x, y); radii are rounded to whole pixels.
    pub fn ring(&mut self, x: f64, y: f64, inner: f64, outer: f64) -> Shape {
        Shape::Ring { center: self.point(x, y), inner: libm::round(inner) as i32, outer: libm::round(outer) as i32 }
    }

    /// A square spot of odd `size` around (x, y).
    pub fn spot(&mut self, x: f64, y: f64, size: i32) -> Shape {
        Shape::Spot { at: self.point(x, y), size }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_cover_the_pixels_their_definition_says() {
        let count = |shape: Shape| (0..900).filter(|i| shape.contains(i % 30, i / 30)).count();
        assert_eq!(count(Shape::Spot { at: [10, 10], size: 5 }), 25);
        assert_eq!(count(Shape::Box { from: [2, 3], to: [4, 9] }), 21);
        // Lattice points with 4 ≤ dx² + dy² ≤ 9: the 29 of radius 3 without the 9 of radius below 2.
        assert_eq!(count(Shape::Ring { center: [15, 15], inner: 2, outer: 3 }), 20);
    }

    #[test]
    fn a_hand_errs_by_no_more_than_stated() {
        let mut hand = Hand::new(4, 1.5);
        let mut off = 0;
        for _ in 0..200 {
            let [x, y] = hand.point(50.0, 50.0);
            assert!((x - 50).abs() <= 2 && (y - 50).abs() <= 2);
            off += i32::from([x, y] != [50, 50]);
        }
        assert!(off > 100, "{off}");
    }
}
