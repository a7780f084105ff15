//! What a display shows: marks pixel by pixel, and a whole picture against a committed one that was looked at.
//!
//! After a change that is meant, `ODDHEAT_RENEW=1 cargo test -p oddheat-tests --test display_reference` writes the picture
//! anew; look at it before it is committed.

use embedded_graphics::mock_display::MockDisplay;
use embedded_graphics::mono_font::ascii::FONT_6X10;
use embedded_graphics::pixelcolor::{Rgb565, Rgb888};
use embedded_graphics::prelude::{DrawTarget, OriginDimensions, Pixel, Point, RgbColor, Size};
use embedded_graphics::primitives::Rectangle;
use oddheat_core::background::{Histogram, Window};
use oddheat_core::image::{
    AutoRange, AutoRangeSettings, CIVIDIS, ColorMap, Enlarger, Legend, Palette565, ToneScale, VIK, View, tones,
};
use oddheat_core::measure::Shape;
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
use oddheat_core::sensor::CountRange;
use oddheat_tests::frames::{Plain, brake_small};
use std::convert::Infallible;
use std::path::{Path, PathBuf};

fn range() -> CountRange {
    CountRange::new(0, 16_383).unwrap()
}

/// A display in memory.
struct Screen {
    size: Size,
    bytes: Vec<u8>,
}

impl Screen {
    fn new(width: u32, height: u32) -> Self {
        Self { size: Size::new(width, height), bytes: vec![255; (width * height * 3) as usize] }
    }

    fn at(&self, x: u32, y: u32) -> [u8; 3] {
        let i = 3 * (y * self.size.width + x) as usize;
        self.bytes[i..i + 3].try_into().unwrap()
    }
}

impl OriginDimensions for Screen {
    fn size(&self) -> Size {
        self.size
    }
}

impl DrawTarget for Screen {
    type Color = Rgb888;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb888>>>(&mut self, pixels: I) -> Result<(), Infallible> {
        for Pixel(Point { x, y }, color) in pixels {
            if (0..self.size.width as i32).contains(&x) && (0..self.size.height as i32).contains(&y) {
                let i = 3 * (y as u32 * self.size.width + x as u32) as usize;
                self.bytes[i..i + 3].copy_from_slice(&[color.r(), color.g(), color.b()]);
            }
        }
        Ok(())
    }
}

fn automatic(frame: &Plain) -> ToneScale {
    let mut bins = [0; 512];
    let mut histogram = Histogram::new(&mut bins, Window::of(range(), 512)).unwrap();
    frame.rows().for_each(|row| histogram.push(row, range()));
    let mut auto = AutoRange::new(range(), AutoRangeSettings::DEFAULT).unwrap();
    auto.follow(&histogram).unwrap()
}

/// The picture of the small brake recording: pixels as blocks, regions, a ring, a spot, and the legend.
fn picture() -> Screen {
    const ZOOM: u16 = 4;
    let frame = brake_small();
    let scale = automatic(&frame);
    let mut screen = Screen::new(340, 290);
    let view = View { origin: Point::new(10, 10), zoom: ZOOM };
    let mut row_tones = vec![0; frame.width];
    for (y, row) in frame.rows().enumerate() {
        scale.row(row, &mut row_tones).unwrap();
        let Ok(()) = view.row(&mut screen, y as u16, &row_tones, &CIVIDIS);
    }
    let thresholds = Thresholds::new(3_000, 1_000).unwrap();
    let settings = Settings { width: 80, thresholds, connectivity: Connectivity::Eight, min_area: 4 };
    let (mut runs, mut slots) = (vec![Run::EMPTY; Scanner::runs(80)], vec![Slot::EMPTY; 16]);
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
    frame.rows().for_each(|row| scanner.push(row).unwrap());
    for region in scanner.finish().regions() {
        let Ok(()) = view.region(&mut screen, &region);
    }
    let Ok(()) = view.shape(&mut screen, Shape::Ring { x: 40, y: 30, inner: 8, outer: 22 }, View::SHAPE);
    let Ok(()) = view.shape(&mut screen, Shape::Spot { x: 70, y: 50, size: 5 }, View::COLD);
    let legend = Legend { palette: &CIVIDIS, low: "1516", high: "4114 counts", font: &FONT_6X10 };
    let Ok(()) = legend.draw(&mut screen, Rectangle::new(Point::new(10, 258), Size::new(320, 26)), Rgb888::BLACK);
    screen
}

fn golden() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data/display/brake_small.png")
}

fn write_png(path: &Path, screen: &Screen) {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    let file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    let mut encoder = png::Encoder::new(file, screen.size.width, screen.size.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header().unwrap().write_image_data(&screen.bytes).unwrap();
}

#[test]
fn the_picture_is_the_one_that_was_looked_at() {
    let screen = picture();
    if std::env::var_os("ODDHEAT_RENEW").is_some() {
        write_png(&golden(), &screen);
    }
    let file = std::io::BufReader::new(std::fs::File::open(golden()).unwrap());
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut bytes).unwrap();
    assert_eq!((info.width, info.height), (screen.size.width, screen.size.height));
    let differing = bytes.chunks(3).zip(screen.bytes.chunks(3)).filter(|(a, b)| a != b).count();
    assert_eq!(differing, 0, "pixels differ from {}", golden().display());
}

#[test]
fn clipped_and_dead_pixels_have_colors_of_their_own() {
    let frame = brake_small();
    let (low, high) = automatic(&frame).ends();
    let screen = picture();
    let dead = frame.counts.iter().enumerate().filter(|&(_, &count)| count == 0);
    let mut seen = 0;
    for (i, _) in dead {
        let (x, y) = (i % 80, i / 80);
        let color = screen.at(10 + 4 * x as u32 + 1, 10 + 4 * y as u32 + 1);
        // A mark may cover it.
        seen += usize::from(color == CIVIDIS.rgb888(tones::NONE));
    }
    assert!(seen >= 2, "{seen}");
    let clipped = frame.counts.iter().filter(|&&count| count > high || (count > 0 && count < low)).count();
    let shown: usize = (0..60u32)
        .flat_map(|y| (0..80u32).map(move |x| (x, y)))
        .filter(|&(x, y)| {
            let color = screen.at(10 + 4 * x, 10 + 4 * y + 2);
            [tones::UNDER, tones::OVER].iter().any(|&tone| CIVIDIS.rgb888(tone) == color)
        })
        .count();
    println!("{clipped} clipped, {shown} shown as such outside marks");
    assert!(clipped > 0 && shown * 10 >= clipped * 7 && shown <= clipped);
}

/// The mock display fails on pixels drawn outside itself, and compares letter by letter.
#[test]
fn marks_lie_where_the_pixels_are() {
    let mut display = MockDisplay::<Rgb888>::new();
    display.set_allow_overdraw(true);
    let view = View { origin: Point::new(1, 1), zoom: 2 };
    view.shape(&mut display, Shape::Box { x0: 1, y0: 0, x1: 3, y1: 1 }, Rgb888::WHITE).unwrap();
    display.assert_pattern(&["          ", "   WWWWWW ", "   WKKKKWK", "   WK   WK", "   WWWWWWK", "    KKKKKK"]);

    let mut display = MockDisplay::<Rgb888>::new();
    display.set_allow_overdraw(true);
    View { origin: Point::zero(), zoom: 1 }.cross(&mut display, 4, 4, Rgb888::WHITE).unwrap();
    display.assert_pattern(&[
        "         ",
        "    W    ",
        "    WK   ",
        "    WK   ",
        " WWWWWWW ",
        "  KKWKKKK",
        "    WK   ",
        "    WK   ",
        "     K   ",
    ]);
}

#[test]
fn rows_are_blocks_of_their_palette_color() {
    let mut display = MockDisplay::<Rgb565>::new();
    display.set_allow_overdraw(true);
    let row = [tones::NONE, tones::UNDER, tones::LOWEST, tones::HIGHEST, tones::OVER];
    View { origin: Point::zero(), zoom: 3 }.row(&mut display, 1, &row, &CIVIDIS).unwrap();
    for (x, &tone) in row.iter().enumerate() {
        let [r, g, b] = CIVIDIS.rgb888(tone);
        let wanted = Rgb565::from(Rgb888::new(r, g, b));
        for (dx, dy) in [(0, 3), (2, 3), (1, 5)] {
            assert_eq!(display.get_pixel(Point::new(3 * x as i32 + dx, dy)), Some(wanted));
        }
    }
    assert_eq!((display.get_pixel(Point::new(0, 2)), display.get_pixel(Point::new(15, 3))), (None, None));
}

/// The published tables, as the generator wrote them, at points read off the publications' own data files.
#[test]
fn color_maps_are_the_published_ones() {
    // (map, tone, color): first, middle and last entries of the tables in matplotlib 3.11.2 and cmcrameri 1.10.
    let rgb = |r: f64, g: f64, b: f64| [r, g, b].map(|v| (v * 255.0).round() as u8);
    for (map, tone, wanted) in [
        (ColorMap::Cividis, tones::LOWEST, rgb(0.0, 0.135112, 0.304751)),
        (ColorMap::Cividis, tones::HIGHEST, rgb(0.995737, 0.909344, 0.217772)),
        (ColorMap::Viridis, tones::LOWEST, rgb(0.267004, 0.004874, 0.329415)),
        (ColorMap::Viridis, tones::HIGHEST, rgb(0.993248, 0.906157, 0.143936)),
        (ColorMap::Vik, tones::LOWEST, rgb(0.001328, 0.069836, 0.379529)),
        (ColorMap::Vik, tones::MIDDLE, rgb(0.926482, 0.897173, 0.879687)),
        (ColorMap::Vik, tones::HIGHEST, rgb(0.350423, 0.000061, 0.030499)),
    ] {
        assert_eq!(map.palette().rgb888(tone), wanted, "{map:?} {tone}");
    }
}

/// From counts to the bytes of a display twice as wide, as a device would: enlarge, tone, color.
#[test]
fn a_device_can_show_a_frame_row_by_row() {
    static COLORS: Palette565 = Palette565::of(&VIK);
    let frame = brake_small();
    let scale = automatic(&frame);
    let (mut before, mut wide) = (vec![0; 80], vec![0; 240]);
    let mut enlarger = Enlarger::new(&mut before, &mut wide, 3, range()).unwrap();
    let (mut row_tones, mut bytes, mut sent) = (vec![0; 240], vec![0; 480], Vec::new());
    let mut show = |wide: &[u16]| {
        scale.row(wide, &mut row_tones).unwrap();
        COLORS.row(&row_tones, &mut bytes).unwrap();
        sent.extend_from_slice(&bytes);
    };
    frame.rows().for_each(|row| enlarger.push(row, &mut show).unwrap());
    enlarger.finish(&mut show);
    assert_eq!(sent.len(), 240 * 180 * 2);
    // The middle of each block is the pixel itself.
    for (i, &count) in frame.counts.iter().enumerate() {
        let at = 2 * ((3 * (i / 80) + 1) * 240 + 3 * (i % 80) + 1);
        assert_eq!(sent[at..at + 2], COLORS.rgb565(scale.tone(count)).to_be_bytes());
    }
}
