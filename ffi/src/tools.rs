//! Behind the C functions for measuring over shapes, in safe Rust on borrowed parts.

use crate::block::Listed;
use crate::convert::{self, sized};
use crate::device::Outcome;
use crate::metrology::{self, Ranges};
use crate::metrology_types;
use crate::status::Status;
use crate::tools_types as types;
use crate::tools_types::{
    AREA_AT_LEAST, AREA_NONE, AREA_WHOLE, ITEMS_MAX, POLYGON_VERTICES_MAX, SHAPE_ELLIPSE, SHAPE_POLYGON, SHAPE_SECTOR,
    STATISTIC_COOLER_MEDIAN, STATISTIC_MAJORITY, STATISTIC_MAXIMUM, STATISTIC_MEAN, STATISTIC_MEDIAN,
    STATISTIC_MINIMUM, STATISTIC_UPPER_HALF_MEDIAN, TOOLS_MEM_HEAD, TOOLS_MEM_PER_TOOL,
};
use crate::types::{SHAPE_BOX, SHAPE_RING, SHAPE_SPOT};
use oddheat_core::checks::Setup;
use oddheat_core::measure::{
    Above, Area, InputUncertainty, Item, Measurement, Polygon, Reading, Shape, Statistic, against_others,
};
use oddheat_core::radiometry::{Emissivity, MeasurementEquation};
use oddheat_core::units::Delta;

/// Head of a block of tools.
#[derive(Debug)]
pub(crate) struct ToolsHead {
    setup: Setup,
    /// Rows taken of the frame under way; 0 between frames.
    rows: u16,
    /// Time of the frame ended last.
    time_ms: Option<u32>,
}

/// Which pixels a tool covers.
#[derive(Clone, Copy, Debug)]
enum Covered {
    Nothing,
    Shape(Shape),
    /// So many of the tool's vertices.
    Polygon(usize),
}

/// What a tool was told. Apart from its sums, which are too large to be handed on.
#[derive(Clone, Copy, Debug)]
struct Placed {
    covered: Covered,
    vertices: [(u16, u16); POLYGON_VERTICES_MAX],
    emissivity: Option<(Emissivity, f64)>,
    /// Counts for the temperature of the area less its uncertainty, for it, and for it plus its uncertainty.
    limits: Option<[u16; 3]>,
}

/// One tool and what it has summed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tool {
    placed: Placed,
    measurement: Measurement,
    frame_mean_q8: Option<u32>,
    /// Of the frame under way, or of the one ended last.
    above: Option<Above>,
}

impl Listed for ToolsHead {
    const MAGIC: u32 = 0x0DD4_7001;
    const HEAD_BYTES: usize = TOOLS_MEM_HEAD;
    const ENTRY_BYTES: usize = TOOLS_MEM_PER_TOOL;
    type Entry = Tool;
    const EMPTY: Tool =
        Tool { placed: Placed::NOTHING, measurement: Measurement::EMPTY, frame_mean_q8: None, above: None };
}

impl ToolsHead {
    pub(crate) fn new(ranges: Ranges<'_>) -> Outcome<Self> {
        let setup = ranges.setup()?;
        // Refused now and not when something was measured.
        MeasurementEquation::new(&setup.scale, &setup.scene)?;
        Ok(Self { setup, rows: 0, time_ms: None })
    }
}

/// Number of tools from C.
pub(crate) fn count(tools_max: u32) -> Outcome<u32> {
    if (1..=u32::from(u16::MAX)).contains(&tools_max) { Ok(tools_max) } else { Err(Status::ErrRange) }
}

/// Tools, borrowed for a call.
pub(crate) struct Tools<'m> {
    pub(crate) head: &'m mut ToolsHead,
    pub(crate) tools: &'m mut [Tool],
}

fn shape(tool: &types::Tool) -> Outcome<Shape> {
    let (x, y) = (tool.x_px, tool.y_px);
    let small = |value: u16| u8::try_from(value).map_err(|_| Status::ErrRange);
    Ok(match tool.shape {
        SHAPE_SPOT => Shape::Spot { x, y, size: tool.a_px },
        SHAPE_BOX => Shape::Box { x0: x, y0: y, x1: tool.a_px, y1: tool.b_px },
        SHAPE_RING => Shape::Ring { x, y, inner: tool.a_px, outer: tool.b_px },
        SHAPE_SECTOR => {
            let (index, of) = (small(tool.sector)?, small(tool.sectors)?);
            Shape::Sector { x, y, inner: tool.a_px, outer: tool.b_px, index, of }
        }
        SHAPE_ELLIPSE => Shape::Ellipse { x, y, axis_x: tool.axis_x_px, axis_y: tool.axis_y_px, across: tool.a_px },
        _ => return Err(Status::ErrRange),
    })
}

/// Counts of an area's temperature and of it less and plus its standard uncertainty. A pixel is above if its count is
/// greater, so counts are rounded down.
fn limits(tool: &types::Tool, equation: &MeasurementEquation, setup: &Setup, emissivity_u: f64) -> Outcome<[u16; 3]> {
    let kelvin = convert::kelvin(tool.above_mk).ok_or(Status::ErrRange)?.to_f64();
    let uncertainty = match tool.above_u_mk {
        0 => Reading::at(kelvin, 0.0, equation, emissivity_u)?.standard_uncertainty(&setup.inputs),
        mk if mk <= 1_000_000 => f64::from(mk) / 1_000.0,
        _ => return Err(Status::ErrRange),
    };
    // A saturating cast: beyond the counts there are, everything or nothing is above.
    let counts = |kelvin: f64| equation.counts(kelvin).map(|counts| libm::floor(counts) as u16);
    let threshold = counts(kelvin)?;
    let perhaps = counts(kelvin - uncertainty).unwrap_or(0).min(threshold);
    let surely = counts(kelvin + uncertainty).unwrap_or(u16::MAX).max(threshold);
    Ok([perhaps, threshold, surely])
}

impl Placed {
    const NOTHING: Self =
        Self { covered: Covered::Nothing, vertices: [(0, 0); POLYGON_VERTICES_MAX], emissivity: None, limits: None };

    /// What C asks for.
    fn new(from: &types::Tool, setup: &Setup) -> Outcome<Self> {
        sized::<types::Tool>(from.struct_size)?;
        let mut placed = Self::NOTHING;
        if from.shape == SHAPE_POLYGON {
            let used = from.vertices_count as usize;
            for (to, vertex) in placed.vertices.iter_mut().zip(&from.vertices) {
                *to = (vertex.x_px, vertex.y_px);
            }
            let vertices = placed.vertices.get(..used).ok_or(Status::ErrSize)?;
            Polygon::placed_in(vertices, setup.width, setup.height)?;
            placed.covered = Covered::Polygon(used);
        } else {
            placed.covered = Covered::Shape(shape(from)?.placed_in(setup.width, setup.height)?);
        }
        let share = |q15: u16| f64::from(q15) / 32_768.0;
        if from.emissivity_q15 > 0 {
            placed.emissivity = Some((Emissivity::new(share(from.emissivity_q15))?, share(from.emissivity_u_q15)));
        }
        if from.above_mk != 0 {
            placed.limits = Some(placed.area(from, setup)?);
        }
        Ok(placed)
    }

    /// Limits of the area. Never inlined: its equation would stand beside what else is placed.
    #[inline(never)]
    fn area(&self, from: &types::Tool, setup: &Setup) -> Outcome<[u16; 3]> {
        let (equation, emissivity_u) = self.equation(setup)?;
        limits(from, &equation, setup, emissivity_u)
    }

    /// Measurement equation with the tool's emissivity, and the standard uncertainty of that.
    fn equation(&self, setup: &Setup) -> Outcome<(MeasurementEquation, f64)> {
        let scene = self.emissivity.map_or(setup.scene, |(emissivity, _)| setup.scene.with_emissivity(emissivity));
        let emissivity_u = self.emissivity.map_or(setup.emissivity_u, |(_, uncertainty)| uncertainty);
        Ok((MeasurementEquation::new(&setup.scale, &scene)?, emissivity_u))
    }
}

impl Tool {
    /// Nothing counted above the limits, if there are any.
    fn fresh(limits: Option<[u16; 3]>) -> Option<Above> {
        let [perhaps, threshold, surely] = limits?;
        Above::new(perhaps, threshold, surely).ok()
    }

    fn forget(&mut self) {
        (self.measurement, self.frame_mean_q8, self.above) = (Measurement::EMPTY, None, None);
    }

    fn add_row(&mut self, y: u16, row: &[u16], setup: &Setup) {
        let (dead, saturated) = (setup.dead_at_or_below, setup.saturated_at);
        if y == 0 {
            self.above = Self::fresh(self.placed.limits);
        }
        match self.placed.covered {
            Covered::Nothing => {}
            Covered::Shape(shape) => {
                self.measurement.add_row(shape, y, row, dead, saturated);
                if let Some(above) = &mut self.above {
                    above.add_row(shape, y, row);
                }
            }
            Covered::Polygon(used) => {
                let polygon = Polygon::resume(self.placed.vertices.get(..used).unwrap_or(&[]));
                self.measurement.add_spans(&polygon.spans(y), row, dead, saturated);
                if let Some(above) = &mut self.above {
                    above.add_spans(|y| polygon.spans(y), y, row);
                }
            }
        }
    }

    /// One of the numbers that C knows. Never inlined, as it is large and asked for at two places.
    #[inline(never)]
    fn reading(
        &self,
        statistic: u32,
        equation: &MeasurementEquation,
        inputs: &InputUncertainty,
        emissivity_u: f64,
    ) -> Outcome<Reading> {
        let statistic = match statistic {
            STATISTIC_MEAN => Statistic::Mean,
            STATISTIC_MEDIAN => Statistic::Median,
            STATISTIC_MAJORITY => Statistic::Majority,
            STATISTIC_UPPER_HALF_MEDIAN => Statistic::UpperHalfMedian,
            STATISTIC_COOLER_MEDIAN => Statistic::CoolerMedian,
            STATISTIC_MINIMUM | STATISTIC_MAXIMUM => {
                let all = self.measurement.sums().statistics().ok_or(Status::ErrNoTemperature)?;
                let count = if statistic == STATISTIC_MINIMUM { all.minimum } else { all.maximum };
                return Ok(Reading::of_pixel(count, equation, inputs, emissivity_u)?);
            }
            _ => return Err(Status::ErrRange),
        };
        Ok(self.measurement.reading(statistic, equation, inputs, emissivity_u)?)
    }

    fn area(&self) -> Option<Area> {
        self.above.as_ref().map(Above::area)
    }
}

impl Tools<'_> {
    fn between_frames(&self) -> Outcome<()> {
        if self.head.rows == 0 { Ok(()) } else { Err(Status::ErrOrder) }
    }

    fn slot(&mut self, index: u32) -> Outcome<&mut Tool> {
        self.between_frames()?;
        self.tools.get_mut(index as usize).ok_or(Status::ErrRange)
    }

    /// A tool that covers something, between frames, and what its numbers mean.
    fn tool(&self, index: u32) -> Outcome<(&Tool, &Setup)> {
        self.between_frames()?;
        let tool = self.tools.get(index as usize).ok_or(Status::ErrRange)?;
        match tool.placed.covered {
            Covered::Nothing => Err(Status::ErrOrder),
            _ => Ok((tool, &self.head.setup)),
        }
    }

    pub(crate) fn place(&mut self, index: u32, tool: Option<&types::Tool>) -> Outcome<()> {
        self.slot(index)?;
        let placed = tool.map_or(Ok(Placed::NOTHING), |tool| Placed::new(tool, &self.head.setup))?;
        let slot = self.slot(index)?;
        slot.placed = placed;
        slot.forget();
        Ok(())
    }

    pub(crate) fn row(&mut self, row: &[u16]) -> Outcome<()> {
        let ToolsHead { setup, rows, .. } = &mut *self.head;
        if row.len() != usize::from(setup.width) {
            return Err(Status::ErrSize);
        }
        if *rows == setup.height {
            return Err(Status::ErrOrder);
        }
        for tool in &mut *self.tools {
            tool.add_row(*rows, row, setup);
        }
        *rows += 1;
        Ok(())
    }

    pub(crate) fn end_frame(&mut self, time_ms: u32) -> Outcome<()> {
        if self.head.rows != self.head.setup.height {
            return Err(Status::ErrOrder);
        }
        if self.head.time_ms.is_some_and(|before| time_ms < before) {
            return Err(Status::ErrTime);
        }
        for tool in &mut *self.tools {
            tool.frame_mean_q8 = tool.measurement.end_frame(time_ms);
        }
        (self.head.rows, self.head.time_ms) = (0, Some(time_ms));
        Ok(())
    }

    /// Forgets what was summed, and a frame under way; the shapes stay.
    pub(crate) fn clear(&mut self) {
        self.tools.iter_mut().for_each(Tool::forget);
        (self.head.rows, self.head.time_ms) = (0, None);
    }

    pub(crate) fn frame_mean(&self, index: u32) -> Outcome<u32> {
        let (tool, _) = self.tool(index)?;
        tool.frame_mean_q8.ok_or(Status::ErrNoTemperature)
    }

    pub(crate) fn measurement(&self, index: u32, out: &mut types::Measurement) -> Outcome<()> {
        sized::<types::Measurement>(out.struct_size)?;
        let (tool, setup) = self.tool(index)?;
        let (equation, emissivity_u) = tool.placed.equation(setup)?;
        let inputs = &setup.inputs;
        let q16 = |kelvin: f64| Delta::from_f64(kelvin).0.to_bits();
        // One after the other, as there is no room on the stack for all; kept until none can be refused any more.
        let mut numbers = [0; 8];
        let mut per_count = 0.0;
        for (to, statistic) in numbers.as_chunks_mut::<2>().0.iter_mut().zip(STATISTIC_MEAN..) {
            let reading = tool.reading(statistic, &equation, inputs, emissivity_u)?;
            *to = [q16(reading.kelvin), q16(reading.standard_uncertainty(inputs))];
            if statistic == STATISTIC_MEAN {
                per_count = reading.sensitivities.counts;
            }
        }
        let statistics = tool.measurement.sums().statistics().ok_or(Status::ErrNoTemperature)?;
        out.frames = tool.measurement.tally().means().frames();
        out.count_px = statistics.count;
        out.rejected_px = tool.measurement.tally().rejected();
        [
            out.mean_q16,
            out.mean_u_q16,
            out.median_q16,
            out.median_u_q16,
            out.minimum_q16,
            out.minimum_u_q16,
            out.maximum_q16,
            out.maximum_u_q16,
        ] = numbers;
        out.deviation_q16 = q16(statistics.deviation * per_count);
        (out.area, out.area_px, out.area_u_q8) = match tool.area() {
            None => (AREA_NONE, 0, 0),
            // A saturating cast.
            Some(area) => {
                let reaches = if area.at_border { AREA_AT_LEAST } else { AREA_WHOLE };
                (reaches, area.pixels, libm::round(area.uncertainty() * 256.0) as u32)
            }
        };
        Ok(())
    }

    pub(crate) fn reading(&self, index: u32, statistic: u32, out: &mut metrology_types::Reading) -> Outcome<()> {
        sized::<metrology_types::Reading>(out.struct_size)?;
        let (tool, setup) = self.tool(index)?;
        let (equation, emissivity_u) = tool.placed.equation(setup)?;
        let reading = tool.reading(statistic, &equation, &setup.inputs, emissivity_u)?;
        *out = metrology::reading_from(&reading, out.struct_size);
        Ok(())
    }

    pub(crate) fn area_mm2(
        &self,
        index: u32,
        distance_m: &metrology_types::Estimate,
        ifov_mrad: &metrology_types::Estimate,
    ) -> Outcome<metrology_types::Estimate> {
        let area = self.tool(index)?.0.area().ok_or(Status::ErrOrder)?;
        let (distance, ifov) = (metrology::estimate(distance_m), metrology::estimate(ifov_mrad));
        Ok(metrology::estimated(area.square_mm(distance, ifov)?))
    }
}

/// What a reading counts for among like items.
pub(crate) fn item(
    reading: &metrology_types::Reading,
    inputs: &metrology_types::Inputs,
) -> Outcome<metrology_types::Estimate> {
    let item = Item::of(&metrology::reading(reading)?, &metrology::inputs(inputs)?);
    Ok(metrology_types::Estimate { value: item.value, uncertainty: item.noise })
}

/// One item against the others; an item with a negative uncertainty could not be measured.
pub(crate) fn likeness(items: &[metrology_types::Estimate], index: usize) -> Outcome<types::Likeness> {
    let mut row = heapless::Vec::<Option<Item>, ITEMS_MAX>::new();
    for one in items {
        let measured = one.uncertainty >= 0.0;
        // Squares of these stay finite.
        if !(one.value.abs() <= 1e100 && one.uncertainty <= 1e100) {
            return Err(Status::ErrRange);
        }
        let item = measured.then_some(Item { value: one.value, noise: one.uncertainty });
        row.push(item).map_err(|_| Status::ErrTooMany)?;
    }
    if row.get(index).copied().flatten().is_none() {
        return Err(Status::ErrRange);
    }
    if row.iter().flatten().count() < 4 {
        return Err(Status::ErrTooFew);
    }
    let found = against_others(&row, index).ok_or(Status::ErrNoSignal)?;
    let oddheat_core::measure::Likeness { difference, uncertainty, scatter, score, .. } = found;
    Ok(types::Likeness { difference, uncertainty, scatter, score })
}

/// The box of a tool.
fn box_of(tool: &types::Tool) -> Outcome<Shape> {
    sized::<types::Tool>(tool.struct_size)?;
    if tool.shape != SHAPE_BOX || tool.x_px > tool.a_px || tool.y_px > tool.b_px {
        return Err(Status::ErrRange);
    }
    Ok(Shape::Box { x0: tool.x_px, y0: tool.y_px, x1: tool.a_px, y1: tool.b_px })
}

/// Writes tools that are like one but for their boxes, which must be as many as there is room for.
fn write_boxes<I: Iterator<Item = Shape>>(
    like: &types::Tool,
    boxes: impl Fn(u8) -> I,
    tools: &mut [types::Tool],
) -> Outcome<()> {
    let count = u8::try_from(tools.len()).map_err(|_| Status::ErrRange)?;
    if count == 0 || boxes(count).count() != tools.len() {
        return Err(Status::ErrRange);
    }
    for (tool, shape) in tools.iter_mut().zip(boxes(count)) {
        if let Shape::Box { x0, y0, x1, y1 } = shape {
            *tool = types::Tool { x_px: x0, y_px: y0, a_px: x1, b_px: y1, ..*like };
        }
    }
    Ok(())
}

/// Cuts the box of a tool into bands.
pub(crate) fn bands(tool: &types::Tool, side_by_side: u32, tools: &mut [types::Tool]) -> Outcome<()> {
    let lengthwise = convert::lengthwise(side_by_side)?;
    let shape = box_of(tool)?;
    write_boxes(tool, |count| shape.bands(count, lengthwise), tools)
}

/// Puts boxes of the size of a tool's evenly from there to where the last begins.
pub(crate) fn row_of(tool: &types::Tool, last: (u32, u32), tools: &mut [types::Tool]) -> Outcome<()> {
    box_of(tool)?;
    let size = (tool.a_px - tool.x_px, tool.b_px - tool.y_px);
    let size = (size.0.checked_add(1).ok_or(Status::ErrRange)?, size.1.checked_add(1).ok_or(Status::ErrRange)?);
    let center = |first: u32, size: u16| {
        u16::try_from(first).ok().and_then(|first| first.checked_add(size / 2)).ok_or(Status::ErrRange)
    };
    let first = (center(u32::from(tool.x_px), size.0)?, center(u32::from(tool.y_px), size.1)?);
    let last = (center(last.0, size.0)?, center(last.1, size.1)?);
    write_boxes(tool, |count| Shape::row_of(first, last, count, size), tools)
}
