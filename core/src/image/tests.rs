//! Tones by their formula, palettes by their distances, ranges that stand still, enlargement by its definition.

use super::tones::{HIGHEST, LOWEST, MIDDLE, NONE, OVER, UNDER};
use super::*;
use crate::background::{Histogram, Window};
use crate::sensor::CountRange;
use crate::units::{RowKelvin, celsius};
use proptest::prelude::*;
use std::vec;
use std::vec::Vec;

fn range() -> CountRange {
    CountRange::new(0, 16_383).unwrap()
}

proptest! {
    #[test]
    fn a_tone_is_the_nearest_step_and_clipping_shows(a in 1u16..16_383, b in 1u16..16_383, count in any::<u16>()) {
        prop_assume!(a != b);
        let (low, high) = (a.min(b), a.max(b));
        let scale = ToneScale::new(low, high, range()).unwrap();
        let tone = scale.tone(count);
        if (low..=high).contains(&count) {
            let exact = 2.0 + 252.0 * f64::from(count - low) / f64::from(high - low);
            // Half a tone for rounding, and the factor's half step of Q16 times up to 16,382 counts: 1/8.
            prop_assert!((f64::from(tone) - exact).abs() <= 0.5 + 0.125, "{} for {}", tone, exact);
            prop_assert!((LOWEST..=HIGHEST).contains(&tone));
        } else {
            prop_assert_eq!(tone, if count == 0 { NONE } else if count < low { UNDER } else { OVER });
        }
        prop_assert_eq!((scale.tone(low), scale.tone(high)), (LOWEST, HIGHEST));
        prop_assert!(count == u16::MAX || count < low || count >= high || scale.tone(count + 1) >= tone);
    }

    #[test]
    fn enlargement_interpolates_between_centers(
        width in 1usize..9, height in 1usize..6, zoom in 1u16..=9, seed in any::<u32>(),
    ) {
        let count = |x: usize, y: usize| 1 + (seed.wrapping_mul(2_654_435_761).rotate_left((x * 7 + y * 13) as u32) % 16_000) as u16;
        let shown = enlarged(width, height, zoom, count);
        prop_assert_eq!(shown.len(), height * usize::from(zoom));
        for (j, row) in shown.iter().enumerate() {
            for (i, &got) in row.iter().enumerate() {
                // Position in pixels, clamped to the centers, and the four pixels around it.
                let at = |i: usize, n: usize| {
                    let p = ((i as f64 + 0.5) / f64::from(zoom) - 0.5).clamp(0.0, (n - 1) as f64);
                    (libm::floor(p) as usize, (libm::floor(p) as usize + 1).min(n - 1), p - libm::floor(p))
                };
                let ((x0, x1, fx), (y0, y1, fy)) = (at(i, width), at(j, height));
                let v = |x, y| f64::from(count(x, y));
                let top = v(x0, y0) * (1.0 - fx) + v(x1, y0) * fx;
                let bottom = v(x0, y1) * (1.0 - fx) + v(x1, y1) * fx;
                let exact = top * (1.0 - fy) + bottom * fy;
                // Half a count for each of two roundings, and weights cut to Q14: 16,000·2⁻¹⁴ twice.
                prop_assert!((f64::from(got) - exact).abs() <= 3.0, "({i}, {j}): {got} for {exact}");
            }
        }
    }
}

fn enlarged(width: usize, height: usize, zoom: u16, count: impl Fn(usize, usize) -> u16) -> Vec<Vec<u16>> {
    let (mut before, mut wide) = (vec![0; width], vec![0; width * usize::from(zoom)]);
    let mut enlarger = Enlarger::new(&mut before, &mut wide, zoom, range()).unwrap();
    let mut shown = Vec::new();
    for y in 0..height {
        let row: Vec<u16> = (0..width).map(|x| count(x, y)).collect();
        enlarger.push(&row, |row| shown.push(row.to_vec())).unwrap();
    }
    enlarger.finish(|row| shown.push(row.to_vec()));
    shown
}

#[test]
fn no_reading_is_never_mixed_with_its_neighbors() {
    let shown = enlarged(3, 3, 4, |x, y| if (x, y) == (1, 1) { 16_383 } else { 5_000 });
    assert!(shown.iter().flatten().all(|&count| count == 5_000 || count == 16_383));
    assert_eq!(shown.iter().flatten().filter(|&&count| count == 16_383).count(), 16);
}

#[test]
fn repeated_pixels_are_blocks() {
    let mut wide = [0; 6];
    repeat_row(&[7u8, 9], 3, &mut wide).unwrap();
    assert_eq!(wide, [7, 7, 7, 9, 9, 9]);
    assert!(repeat_row(&[7u8, 9], 0, &mut []).is_err());
    assert!(repeat_row(&[7u8, 9], 2, &mut wide).is_err());
}

#[test]
fn kelvin_rows_say_where_there_is_no_temperature() {
    let scale = ToneScale::kelvin(celsius(20.0), celsius(30.0)).unwrap();
    let kelvin = [0.0, 293.0, 293.15, 298.15, 303.15, 304.0].map(RowKelvin::from_num);
    let mut tones = [9; 7];
    scale.kelvin_row(&[kelvin.as_slice(), &[RowKelvin::MAX]].concat(), &mut tones).unwrap();
    assert_eq!(tones, [NONE, UNDER, LOWEST, MIDDLE, HIGHEST, OVER, OVER]);
    assert!(ToneScale::kelvin(celsius(20.0), celsius(20.0)).is_err());
    assert!(ToneScale::kelvin(celsius(20.0), celsius(3_000.0)).is_err());
}

#[test]
fn a_scale_about_a_middle_is_symmetric() {
    let scale = ToneScale::around(5_000, 100, range()).unwrap();
    assert_eq!(
        [4_899, 4_900, 5_000, 5_100, 5_101].map(|count| scale.tone(count)),
        [UNDER, LOWEST, MIDDLE, HIGHEST, OVER]
    );
    assert!(ToneScale::around(50, 100, range()).is_err() && ToneScale::around(50, 0, range()).is_err());
}

#[test]
fn colors_with_a_meaning_are_in_no_map() {
    for map in ColorMap::ALL {
        let palette = map.palette();
        let mut least = f64::MAX;
        for meaning in [NONE, UNDER, OVER] {
            for tone in LOWEST..=HIGHEST {
                let [a, b] = [meaning, tone].map(|tone| palette.rgb888(tone).map(f64::from));
                let apart = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum::<f64>();
                least = least.min(libm::sqrt(apart));
            }
        }
        std::println!("{}: {least:.0}", map.key());
        assert!(least >= 78.0, "{map:?}: {least}");
    }
}

#[test]
fn gray_is_even_and_rgb565_is_nearest() {
    assert_eq!([LOWEST, MIDDLE, HIGHEST].map(|tone| GRAY.rgb888(tone)), [[0; 3], [128; 3], [255; 3]]);
    for map in ColorMap::ALL {
        let narrow = Palette565::of(map.palette());
        for tone in 0..=255 {
            let [r, g, b] = map.palette().rgb888(tone).map(f64::from);
            let packed = narrow.rgb565(tone);
            let parts = [(r, packed >> 11, 31.0), (g, packed >> 5 & 63, 63.0), (b, packed & 31, 31.0)];
            for (exact, got, most) in parts {
                assert!((f64::from(got) - exact * most / 255.0).abs() <= 0.5);
            }
        }
    }
}

/// 2,000 pseudo-random counts around a level; each frame others.
fn follow(auto: &mut AutoRange, seed: u32, level: u16, spread: u32) -> ToneScale {
    let mut bins = [0; 512];
    let mut histogram = Histogram::new(&mut bins, Window::over(level - 400, level + 600, 512)).unwrap();
    let mut state = seed.wrapping_mul(747_796_405) | 1;
    let row: Vec<u16> = (0..2_000)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            level + ((state >> 16) % spread) as u16
        })
        .collect();
    histogram.push(&row, range());
    auto.follow(&histogram).unwrap()
}

#[test]
fn the_range_of_a_still_scene_does_not_move_and_a_change_glides() {
    let mut auto = AutoRange::new(range(), AutoRangeSettings::DEFAULT).unwrap();
    let first = follow(&mut auto, 0, 5_000, 200);
    assert!(first.ends().0.abs_diff(5_001) <= 2 && first.ends().1.abs_diff(5_198) <= 2, "{first:?}");
    assert!((1..200).all(|seed| follow(&mut auto, seed, 5_000, 200) == first), "flicker");

    // 300 counts up: monotonic, nine tenths in eight frames, then still again.
    let mut last = first.ends();
    for seed in 200..208 {
        let ends = follow(&mut auto, seed, 5_300, 200).ends();
        assert!(ends.0 > last.0 && ends.1 > last.1 && ends.0 < 5_303, "{ends:?} after {last:?}");
        last = ends;
    }
    assert!(last.0 > 5_270, "{last:?}");
    (208..240).for_each(|seed| last = follow(&mut auto, seed, 5_300, 200).ends());
    assert!(last.0.abs_diff(5_301) <= 4 && last.1.abs_diff(5_498) <= 4, "{last:?}");
    assert!((240..300).all(|seed| follow(&mut auto, seed, 5_300, 200).ends() == last), "flicker");
}

#[test]
fn a_flat_scene_keeps_the_least_span_and_ends_stay_readings() {
    let mut auto = AutoRange::new(range(), AutoRangeSettings::DEFAULT).unwrap();
    // The histogram's bins are two counts wide.
    let ends = follow(&mut auto, 0, 5_000, 1).ends();
    assert!(ends.1 - ends.0 == 32 && ends.0.abs_diff(4_984) <= 1, "{ends:?}");
    for level in [1, 16_382] {
        auto.start();
        let mut bins = [0; 16];
        let mut histogram = Histogram::new(&mut bins, Window::over(level, level, 16)).unwrap();
        histogram.push(&[level; 50], range());
        let ends = auto.follow(&histogram).unwrap().ends();
        assert_eq!(ends.1 - ends.0, 32);
        assert!(range().holds(ends.0) && range().holds(ends.1), "{ends:?}");
    }
    let settings = AutoRangeSettings { least_span: 0, ..AutoRangeSettings::DEFAULT };
    assert!(AutoRange::new(range(), settings).is_err());
}

/// A display that takes everything and counts the pixels that lie on it.
#[cfg(feature = "embedded-graphics")]
struct Counting(usize);

#[cfg(feature = "embedded-graphics")]
impl embedded_graphics::geometry::OriginDimensions for Counting {
    fn size(&self) -> embedded_graphics::geometry::Size {
        embedded_graphics::geometry::Size::new(64, 64)
    }
}

#[cfg(feature = "embedded-graphics")]
impl embedded_graphics::draw_target::DrawTarget for Counting {
    type Color = embedded_graphics::pixelcolor::Rgb888;
    type Error = core::convert::Infallible;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), Self::Error>
    where
        I: IntoIterator<Item = embedded_graphics::Pixel<Self::Color>>,
    {
        self.0 += pixels.into_iter().count();
        Ok(())
    }
}

#[cfg(feature = "embedded-graphics")]
#[test]
fn a_box_with_crossed_corners_is_not_shown() {
    use crate::measure::Shape;
    let view = View { origin: embedded_graphics::geometry::Point::zero(), zoom: 4 };
    let shown = |x0, y0, x1, y1| {
        let mut display = Counting(0);
        view.shape(&mut display, Shape::Box { x0, y0, x1, y1 }, View::SHAPE).unwrap();
        display.0
    };
    assert!(shown(3, 2, 9, 8) > 0 && shown(3, 2, 3, 2) > 0);
    assert_eq!([shown(9, 2, 3, 8), shown(3, 8, 9, 2), shown(4, 2, 3, 8), shown(u16::MAX, 0, 0, u16::MAX)], [0; 4]);
}
