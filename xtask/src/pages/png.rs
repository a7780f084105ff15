//! Small files for pictures with few colors.

use anyhow::{Result, ensure};
use image::{Rgb, RgbImage};
use std::collections::BTreeSet;

/// A PNG with a palette, the same bytes on every machine.
///
/// # Errors
/// If there are more than 256 colors.
pub(super) fn encode(picture: &RgbImage) -> Result<Vec<u8>> {
    // By green first: along the color map it only rises, so neighbors in the picture have indices near each other.
    let order = |&Rgb([r, g, b]): &Rgb<u8>| [g, r, b];
    let colors: Vec<[u8; 3]> = picture.pixels().map(order).collect::<BTreeSet<_>>().into_iter().collect();
    ensure!(colors.len() <= 256, "expected a picture of 256 colors or fewer, found {}", colors.len());
    let indices: Vec<u8> =
        picture.pixels().map(|pixel| colors.partition_point(|color| *color < order(pixel)) as u8).collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(colors.iter().flat_map(|&[g, r, b]| [r, g, b]).collect::<Vec<u8>>());
    encoder.set_compression(png::Compression::High);
    encoder.set_filter(FILTER);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&indices)?;
    writer.finish()?;
    Ok(bytes)
}

/// The smallest files of those tried on these pictures: an enlarged pixel repeats itself along rows and columns.
const FILTER: png::Filter = png::Filter::NoFilter;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_survives() {
        let picture = RgbImage::from_fn(16, 8, |x, y| Rgb([(16 * x) as u8, (30 * y) as u8, 7]));
        let bytes = encode(&picture).expect("128 colors");
        assert_eq!(image::load_from_memory(&bytes).expect("a PNG").to_rgb8(), picture);
        assert!(encode(&RgbImage::from_fn(32, 16, |x, y| Rgb([x as u8, y as u8, 0]))).is_err());
    }
}
