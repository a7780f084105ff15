//! Tones to colors.
//!
//! *Cost*, measured on thumbv7em: 7 instructions a pixel to RGB565, 10 to 12 to RGB888. *Memory.* Flash only: 768 bytes a
//! palette, 512 in RGB565; maps that are not named are not linked.

use super::tables;
use super::tone::tones;
use crate::codes::codes;
use crate::error::{Error, Result};

/// Color of a pixel without a reading: dark green. At least 78 of 8-bit RGB distance from every color of every map
/// here (computed in the tests), as are the other two.
const NONE: [u8; 3] = [0, 96, 0];
/// Color of a pixel below the range: cyan.
const UNDER: [u8; 3] = [0, 255, 255];
/// Color of a pixel above the range: magenta.
const OVER: [u8; 3] = [255, 0, 255];

codes! {
    /// A published color map. Using this list links every palette; name the static to link one.
    pub enum ColorMap {
        /// Cividis (Nuñez, Anderton, Renslow 2018; BSD-compatible): dark blue to yellow, for every kind of color vision.
        Cividis = 1, "cividis";
        /// Viridis (Smith, van der Walt, Firing 2015; CC0): violet through green to yellow.
        Viridis = 2, "viridis";
        /// Gray: even steps from black to white.
        Gray = 3, "gray";
        /// Vik (Crameri 2018; MIT): blue through white to red, for differences about a middle.
        Vik = 4, "vik";
    }
}

impl ColorMap {
    /// Its colors.
    #[must_use]
    pub const fn palette(self) -> &'static Palette {
        match self {
            Self::Cividis => &CIVIDIS,
            Self::Viridis => &VIRIDIS,
            Self::Gray => &GRAY,
            Self::Vik => &VIK,
        }
    }
}

/// The colors of the 256 tones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Palette {
    colors: [[u8; 3]; 256],
}

/// [`ColorMap::Cividis`].
pub static CIVIDIS: Palette = Palette::of(&tables::CIVIDIS);
/// [`ColorMap::Viridis`].
pub static VIRIDIS: Palette = Palette::of(&tables::VIRIDIS);
/// [`ColorMap::Gray`].
pub static GRAY: Palette = Palette::of(&{
    let mut table = [0; 256];
    let mut i = 0;
    while i < 256 {
        write(&mut table, i, 0x0001_0101 * i as u32);
        i += 1;
    }
    table
});
/// [`ColorMap::Vik`].
pub static VIK: Palette = Palette::of(&tables::VIK);

impl Palette {
    /// A palette from a table of 256 colors, 0xRRGGBB. The 253 tones of the range take the nearest of them; ends and
    /// middle match.
    #[must_use]
    pub const fn of(table: &[u32; 256]) -> Self {
        let mut colors = [[0; 3]; 256];
        let (none, under, over) = (NONE, UNDER, OVER);
        let mut tone = 0;
        while tone < 256 {
            let color = match tone as u8 {
                tones::NONE => none,
                tones::UNDER => under,
                tones::OVER => over,
                _ => {
                    let [_, r, g, b] = read(table, ((tone - 2) * 255 + 126) / 252).to_be_bytes();
                    [r, g, b]
                }
            };
            write(&mut colors, tone, color);
            tone += 1;
        }
        Self { colors }
    }

    /// Color of a tone: red, green, blue.
    #[must_use]
    #[inline]
    pub const fn rgb888(&self, tone: u8) -> [u8; 3] {
        read(&self.colors, tone as usize)
    }

    /// A row in RGB888, three bytes a pixel.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if `bytes` is not three times as long as `tones`; it is then untouched.
    pub fn row(&self, tones: &[u8], bytes: &mut [u8]) -> Result<()> {
        let (pixels, rest) = bytes.as_chunks_mut::<3>();
        if pixels.len() != tones.len() || !rest.is_empty() {
            return Err(Error::WrongLength);
        }
        for (pixel, &tone) in pixels.iter_mut().zip(tones) {
            *pixel = self.rgb888(tone);
        }
        Ok(())
    }
}

/// A palette in RGB565: five bits of red in the highest place, six of green, five of blue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Palette565 {
    colors: [u16; 256],
}

impl Palette565 {
    /// The nearest RGB565 colors of a palette; usable for a `static`.
    #[must_use]
    pub const fn of(palette: &Palette) -> Self {
        let mut colors = [0; 256];
        let mut tone = 0;
        while tone < 256 {
            let [r, g, b] = read(&palette.colors, tone);
            let color = (nearest(r, 31) << 11) | (nearest(g, 63) << 5) | nearest(b, 31);
            write(&mut colors, tone, color);
            tone += 1;
        }
        Self { colors }
    }

    /// Color of a tone.
    #[must_use]
    #[inline]
    pub const fn rgb565(&self, tone: u8) -> u16 {
        read(&self.colors, tone as usize)
    }

    /// A row in RGB565, two bytes a pixel, the high one first.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if `bytes` is not twice as long as `tones`; it is then untouched.
    pub fn row(&self, tones: &[u8], bytes: &mut [u8]) -> Result<()> {
        let (pixels, rest) = bytes.as_chunks_mut::<2>();
        if pixels.len() != tones.len() || !rest.is_empty() {
            return Err(Error::WrongLength);
        }
        let pixel = |tone: u8| self.rgb565(tone).to_be_bytes();
        // Written out fourfold, because an optimizer that is told to save space does not unroll.
        let (fours, rest) = tones.as_chunks::<4>();
        let (fours_out, rest_out) = pixels.as_chunks_mut::<4>();
        for (out, &[a, b, c, d]) in fours_out.iter_mut().zip(fours) {
            *out = [pixel(a), pixel(b), pixel(c), pixel(d)];
        }
        for (out, &tone) in rest_out.iter_mut().zip(rest) {
            *out = pixel(tone);
        }
        Ok(())
    }
}

/// The step of 0…`most` nearest to an 8-bit value.
const fn nearest(value: u8, most: u16) -> u16 {
    (value as u16 * most + 127) / 255
}

/// `array[i]`, for `i` below its length.
#[allow(clippy::indexing_slicing, reason = "i is a tone, or a table index below 256 by its formula")]
const fn read<T: Copy>(array: &[T; 256], i: usize) -> T {
    array[i & 255]
}

/// `array[i] = value`, for `i` below its length; evaluated by the compiler.
#[allow(clippy::indexing_slicing, reason = "as above")]
const fn write<T: Copy>(array: &mut [T; 256], i: usize, value: T) {
    array[i & 255] = value;
}
