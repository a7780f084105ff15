//! Behind the C functions for pictures, in safe Rust on borrowed parts.

use crate::convert::{self, or};
use crate::device::Outcome;
use crate::display_types::{DisplayConfig, PIXEL_RGB565, PIXEL_RGB888, PIXEL_TONE};
use crate::metrology::Ranges;
use crate::status::Status;
use oddheat_core::background::{Histogram, HistogramState, Window};
use oddheat_core::image::{
    AutoRange, AutoRangeSettings, CIVIDIS, Enlarger, GRAY, Palette, Palette565, ToneScale, VIK, VIRIDIS, repeat_row,
};
use oddheat_core::radiometry::MeasurementEquation;
use oddheat_core::sensor::CountRange;

/// Marks the block of a display that was initialized.
pub(crate) const DISPLAY_MAGIC: u32 = 0x0DD4_D159;
/// Marks the colors of a palette.
pub(crate) const COLORS_MAGIC: u32 = 0x0DD4_C010;

/// What a palette's handle points to.
pub(crate) struct Colors {
    pub(crate) magic: u32,
    rgb888: &'static Palette,
    rgb565: &'static Palette565,
}

/// The colors of a palette of core; a list of them would link them all.
macro_rules! colors {
    ($($name:ident $from:ident;)+) => {$(
        pub(crate) static $name: Colors = {
            static RGB565: Palette565 = Palette565::of(&$from);
            Colors { magic: COLORS_MAGIC, rgb888: &$from, rgb565: &RGB565 }
        };
    )+};
}

colors! {
    CIVIDIS_COLORS CIVIDIS;
    VIRIDIS_COLORS VIRIDIS;
    GRAY_COLORS GRAY;
    VIK_COLORS VIK;
}

/// Color of a tone as 0xRRGGBB.
pub(crate) fn color(colors: &Colors, tone: u32) -> Outcome<u32> {
    let [r, g, b] = colors.rgb888.rgb888(u8::try_from(tone).map_err(|_| Status::ErrRange)?);
    Ok(u32::from_be_bytes([0, r, g, b]))
}

/// Start of a display's block. No pointers.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct DisplayHead {
    pub(crate) magic: u32,
    pub(crate) sizes: DisplaySizes,
    range: CountRange,
    smooth: bool,
    every_rows: u16,
    /// Rows of the frame under way.
    rows: u32,
    scale: ToneScale,
    /// The range was set and does not follow the scene.
    fixed: bool,
    auto: AutoRange,
    histogram: HistogramState,
}

/// What the rest of the block holds, in entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct DisplaySizes {
    pub(crate) bins: u16,
    pub(crate) width: u16,
    pub(crate) zoom: u16,
}

impl DisplaySizes {
    pub(crate) const fn wide(self) -> usize {
        self.width as usize * self.zoom as usize
    }
}

/// A display: the parts of a block, borrowed for a call.
pub(crate) struct Display<'m> {
    pub(crate) head: &'m mut DisplayHead,
    pub(crate) bins: &'m mut [u32],
    pub(crate) before: &'m mut [u16],
    pub(crate) wide: &'m mut [u16],
    pub(crate) tones: &'m mut [u8],
}

/// Checks what a block's size depends on.
pub(crate) fn sizes(config: &DisplayConfig) -> Outcome<DisplaySizes> {
    if config.reserved != 0 {
        return Err(Status::ErrUnsupported);
    }
    let sizes = DisplaySizes { bins: or(config.bins, 256), width: config.width_px, zoom: or(config.zoom, 1) };
    if sizes.width == 0 || sizes.zoom > 64 || sizes.bins < 2 { Err(Status::ErrRange) } else { Ok(sizes) }
}

impl DisplayHead {
    /// A head whose histogram is empty over so many bins.
    pub(crate) fn new(config: &DisplayConfig) -> Outcome<Self> {
        let sizes = sizes(config)?;
        if config.smooth > 1 {
            return Err(Status::ErrRange);
        }
        let range = convert::readings(config.dead_at_or_below_counts, config.saturated_at_counts)?;
        let usual = AutoRangeSettings::DEFAULT;
        let thousandths = match (config.low_thousandths, config.high_thousandths) {
            (0, 0) => usual.thousandths,
            ends => ends,
        };
        let settings = AutoRangeSettings {
            thousandths,
            least_span: or(config.least_span_counts, usual.least_span),
            slowness: u8::try_from(or(config.slowness, u16::from(usual.slowness))).map_err(|_| Status::ErrRange)?,
        };
        // Any bins do for the state of an empty histogram.
        let window = Window::of(range, usize::from(sizes.bins));
        let histogram = Histogram::new(&mut [0; 2], window)?.suspend();
        Ok(Self {
            magic: DISPLAY_MAGIC,
            sizes,
            range,
            smooth: config.smooth == 1,
            every_rows: or(config.every_rows, 4),
            rows: 0,
            scale: ToneScale::new(range.dead() + 1, range.full_scale() - 1, range)?,
            fixed: false,
            auto: AutoRange::new(range, settings)?,
            histogram,
        })
    }
}

/// How pixels are written.
#[derive(Clone, Copy)]
enum Format<'c> {
    Tone,
    Rgb565(&'c Palette565),
    Rgb888(&'c Palette),
}

impl<'c> Format<'c> {
    fn new(format: u32, colors: Option<&'c Colors>) -> Outcome<Self> {
        match (format, colors) {
            (PIXEL_TONE, _) => Ok(Self::Tone),
            (PIXEL_RGB565 | PIXEL_RGB888, None) => Err(Status::ErrNull),
            (PIXEL_RGB565, Some(colors)) => Ok(Self::Rgb565(colors.rgb565)),
            (PIXEL_RGB888, Some(colors)) => Ok(Self::Rgb888(colors.rgb888)),
            _ => Err(Status::ErrRange),
        }
    }

    const fn bytes(self) -> usize {
        match self {
            Self::Tone => 1,
            Self::Rgb565(_) => 2,
            Self::Rgb888(_) => 3,
        }
    }

    fn paint(self, scale: &ToneScale, wide: &[u16], tones: &mut [u8], pixels: &mut [u8]) -> Outcome<()> {
        if let Self::Tone = self {
            return Ok(scale.row(wide, pixels)?);
        }
        scale.row(wide, tones)?;
        match self {
            Self::Tone => {}
            Self::Rgb565(palette) => palette.row(tones, pixels)?,
            Self::Rgb888(palette) => palette.row(tones, pixels)?,
        }
        Ok(())
    }
}

/// Copies bytes, as many as both have; written out eightfold, because an optimizer that is told to save space does not.
fn copy(from: &[u8], to: &mut [u8]) {
    let ((eights, rest), (eights_to, rest_to)) = (from.as_chunks::<8>(), to.as_chunks_mut::<8>());
    for (to, from) in eights_to.iter_mut().zip(eights) {
        *to = *from;
    }
    for (to, from) in rest_to.iter_mut().zip(rest) {
        *to = *from;
    }
}

/// What goes into an enlarger: the next row, or the end of the frame.
#[derive(Clone, Copy)]
enum Step<'r> {
    Row(&'r [u16]),
    End,
}

impl Display<'_> {
    fn pixels<'p>(&self, format: Format<'_>, pixels: &'p mut [u8]) -> Outcome<core::slice::ChunksExactMut<'p, u8>> {
        let row = self.head.sizes.wide() * format.bytes();
        // Room for a whole zoom of rows, also where fewer come.
        let room = row.checked_mul(usize::from(self.head.sizes.zoom)).ok_or(Status::ErrSize)?;
        if pixels.len() < room || row == 0 { Err(Status::ErrSize) } else { Ok(pixels.chunks_exact_mut(row)) }
    }

    /// Interpolated rows.
    fn smoothed(&mut self, step: Step<'_>, format: Format<'_>, pixels: &mut [u8]) -> Outcome<u32> {
        let mut rows = self.pixels(format, pixels)?;
        let DisplayHead { range, rows: begun, scale, sizes, .. } = &*self.head;
        let mut enlarger = match begun {
            0 => Enlarger::new(self.before, self.wide, sizes.zoom, *range)?,
            _ => Enlarger::resume(self.before, self.wide, sizes.zoom, *range)?,
        };
        let mut written = 0;
        let tones = &mut *self.tones;
        let show = |wide: &[u16]| {
            // There is room for a zoom of rows, and no more come.
            if let Some(to) = rows.next()
                && format.paint(scale, wide, tones, to).is_ok()
            {
                written += 1;
            }
        };
        match step {
            Step::Row(row) => enlarger.push(row, show)?,
            Step::End => enlarger.finish(show),
        }
        Ok(written)
    }

    /// Blocks: one row is painted, the others are copies of it.
    fn blocks(&mut self, row: &[u16], format: Format<'_>, pixels: &mut [u8]) -> Outcome<u32> {
        let mut rows = self.pixels(format, pixels)?;
        let zoom = self.head.sizes.zoom;
        repeat_row(row, zoom, self.wide)?;
        let first = rows.next().ok_or(Status::ErrSize)?;
        format.paint(&self.head.scale, self.wide, self.tones, first)?;
        for to in rows.take(usize::from(zoom) - 1) {
            copy(first, to);
        }
        Ok(u32::from(zoom))
    }

    pub(crate) fn row(&mut self, row: &[u16], format: u32, colors: Option<&Colors>, pixels: &mut [u8]) -> Outcome<u32> {
        let format = Format::new(format, colors)?;
        if row.len() != usize::from(self.head.sizes.width) {
            return Err(Status::ErrSize);
        }
        let written = match self.head.smooth {
            true => self.smoothed(Step::Row(row), format, pixels)?,
            false => self.blocks(row, format, pixels)?,
        };
        // Not below 1, as it was set up; written so that no division by zero is left to prove.
        if self.head.rows.checked_rem(u32::from(self.head.every_rows)) == Some(0) {
            let mut histogram = Histogram::resume(self.bins, self.head.histogram);
            histogram.push(row, self.head.range);
            self.head.histogram = histogram.suspend();
        }
        self.head.rows = self.head.rows.saturating_add(1);
        Ok(written)
    }

    pub(crate) fn end_frame(&mut self, format: u32, colors: Option<&Colors>, pixels: &mut [u8]) -> Outcome<u32> {
        let format = Format::new(format, colors)?;
        if self.head.rows == 0 {
            return Err(Status::ErrOrder);
        }
        let written = if self.head.smooth { self.smoothed(Step::End, format, pixels)? } else { 0 };
        let mut histogram = Histogram::resume(self.bins, self.head.histogram);
        if !self.head.fixed
            && let Some(scale) = self.head.auto.follow(&histogram)
        {
            self.head.scale = scale;
        }
        histogram.start(histogram.next_window(self.head.range));
        self.head.histogram = histogram.suspend();
        self.head.rows = 0;
        Ok(written)
    }

    /// Sets the ends of the range in counts; both 0 lets it follow the scene.
    pub(crate) fn set_range(&mut self, low: u16, high: u16) -> Outcome<()> {
        if (low, high) == (0, 0) {
            self.head.auto.start();
            self.head.fixed = false;
            return Ok(());
        }
        self.head.scale = ToneScale::new(low, high, self.head.range)?;
        self.head.fixed = true;
        Ok(())
    }

    pub(crate) fn range(&self) -> (u16, u16) {
        self.head.scale.ends()
    }
}

/// Counts, not rounded, of an object at a temperature in K.
pub(crate) fn counts_at(ranges: Ranges<'_>, kelvin: f64) -> Outcome<f64> {
    if !(kelvin > 0.0 && kelvin <= 2_000.0) {
        return Err(Status::ErrRange);
    }
    let setup = ranges.setup()?;
    Ok(MeasurementEquation::new(&setup.scale, &setup.scene)?.counts(kelvin)?)
}
