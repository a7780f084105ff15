//! What a shift, a mirror, a turn or a change of gain of the picture must do to what is found in it, and nothing else.

use oddheat_core::measure::{FoundComb, FoundRing, Lengthwise, Shape};
use oddheat_scenes::draw::Draw;
use oddheat_tests::placed::{find_comb, find_ring};

/// A large noisy picture, from which smaller ones are cut.
struct Picture {
    width: usize,
    counts: Vec<u16>,
}

impl Picture {
    fn new(width: usize, height: usize, purpose: &str, value: impl Fn(f64, f64) -> f64) -> Self {
        let mut draw = Draw::new(21, purpose);
        let pixels = (0..height).flat_map(|y| (0..width).map(move |x| (x as f64, y as f64)));
        Self { width, counts: pixels.map(|(x, y)| (value(x, y) + draw.normal(3.0)).round() as u16).collect() }
    }

    fn cut(&self, x0: usize, y0: usize, width: usize, height: usize) -> Vec<u16> {
        let rows = self.counts.chunks_exact(self.width).skip(y0).take(height);
        rows.flat_map(|row| row[x0..x0 + width].iter().copied()).collect()
    }
}

fn mirrored(frame: &[u16], width: usize) -> Vec<u16> {
    frame.chunks_exact(width).flat_map(|row| row.iter().rev().copied()).collect()
}

fn transposed(frame: &[u16], width: usize) -> Vec<u16> {
    (0..width).flat_map(|x| frame.iter().skip(x).step_by(width).copied()).collect()
}

fn ring(frame: &[u16], width: u16, edge: u16) -> FoundRing {
    find_ring(frame, width, (8, 50), edge).unwrap().unwrap()
}

/// Same ring, its center moved by this much. The grid of the first vote lies elsewhere, so the last fit starts elsewhere.
#[track_caller]
fn same(got: &FoundRing, expected: &FoundRing, center: (f64, f64)) {
    let near = |a: u32, b: f64, what: &str| assert!((f64::from(a) / 256.0 - b).abs() < 0.1, "{what} {got:?} {b}");
    near(got.x_q8, center.0, "x");
    near(got.y_q8, center.1, "y");
    near(got.inner_q8, f64::from(expected.inner_q8) / 256.0, "inner");
    near(got.outer_q8, f64::from(expected.outer_q8) / 256.0, "outer");
    assert_eq!(got.hotter, expected.hotter);
}

#[test]
fn a_ring_follows_its_picture() {
    let picture = Picture::new(220, 180, "ring", |x, y| {
        let r = libm::hypot(x - 103.3, y - 88.7);
        2_000.0 + 40.0 * (1.0 + libm::erf((r - 17.0) / 1.4)) * 0.5 * (1.0 + libm::erf((36.0 - r) / 1.4))
    });
    let plain = picture.cut(20, 20, 160, 140);
    let found = ring(&plain, 160, 20);
    let (x, y) = (f64::from(found.x_q8) / 256.0, f64::from(found.y_q8) / 256.0);
    assert!((x - 83.3).abs() < 0.15 && (y - 68.7).abs() < 0.15, "{found:?}");
    for (dx, dy) in [(1, 0), (0, 1), (5, 3), (11, 13), (17, 20)] {
        let moved = ring(&picture.cut(20 + dx, 20 + dy, 160, 140), 160, 20);
        same(&moved, &found, (x - dx as f64, y - dy as f64));
    }
    same(&ring(&mirrored(&plain, 160), 160, 20), &found, (159.0 - x, y));
    same(&ring(&transposed(&plain, 160), 140, 20), &found, (y, x));
    let louder: Vec<u16> = plain.iter().map(|count| count * 4 + 100).collect();
    same(&ring(&louder, 160, 80), &found, (x, y));
    let negative: Vec<u16> = plain.iter().map(|count| 9_000 - count).collect();
    let negative = ring(&negative, 160, 20);
    assert_eq!(FoundRing { hotter: true, ..negative }, found, "a cold ring is a hot one upside down");
}

fn comb(frame: &[u16], width: u16, lengthwise: Lengthwise) -> FoundComb {
    let height = (frame.len() / usize::from(width)) as u16;
    find_comb(frame, width, Shape::Box { x0: 0, y0: 0, x1: width - 1, y1: height - 1 }, lengthwise).unwrap()
}

#[test]
fn a_comb_follows_its_picture() {
    let picture = Picture::new(200, 140, "comb", |x, y| {
        let turns = (y - 12.3 - 0.04 * x) / 9.4;
        let z = (turns - libm::round(turns)) * 9.4 / 1.3;
        2_000.0 + 25.0 * libm::exp(-z * z / 2.0)
    });
    let near = |a: f64, b: f64, tolerance: f64| assert!((a - b).abs() < tolerance, "{a} {b}");
    let plain = picture.cut(10, 5, 160, 120);
    let found = comb(&plain, 160, Lengthwise::Rows);
    near(found.pitch.value, 9.4, 4.0 * found.pitch.uncertainty);
    near(found.slant.value, 0.04, 4.0 * found.slant.uncertainty);
    // Turned over its diagonal, the sums are the same numbers: so is the result, to the last bit.
    let turned = comb(&transposed(&plain, 160), 120, Lengthwise::Columns);
    assert_eq!((turned.pitch, turned.slant, turned.confidence), (found.pitch, found.slant, found.confidence));
    assert!(turned.lines.iter().eq(found.lines.iter()));
    let other = comb(&mirrored(&plain, 160), 160, Lengthwise::Rows);
    near(other.slant.value, -found.slant.value, 2.0 * found.slant.uncertainty);
    near(other.pitch.value, found.pitch.value, 2.0 * found.pitch.uncertainty);
    // Seven rows further down in the picture, all lines lie seven rows higher.
    let moved = comb(&picture.cut(10, 12, 160, 120), 160, Lengthwise::Rows);
    for line in &found.lines {
        let lowest = moved.lines.iter().map(|other| (other.place - (line.place - 7.0)).abs()).fold(f64::MAX, f64::min);
        assert!(line.place < 16.0 || lowest < 0.1, "{line:?} {lowest}");
    }
    let louder: Vec<u16> = plain.iter().map(|count| count * 4).collect();
    let louder = comb(&louder, 160, Lengthwise::Rows);
    near(louder.pitch.value, found.pitch.value, 1e-6);
    for (a, b) in louder.lines.iter().zip(&found.lines) {
        near(a.contrast, 4.0 * b.contrast, 1e-6);
    }
}
