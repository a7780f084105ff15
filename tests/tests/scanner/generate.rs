//! The images of `tests/oracle/regions.py`, line by line the same; integers only. `pixels` of `golden.csv` proves it.

use super::Frame;

pub(crate) const KINDS: u32 = 16;
const HOT: u16 = 1_000;
const COLD: u16 = 500;
const LEVELS: [u32; 6] = [1, 2, 3, 7, 60, 400];
const ORDINARY: [u16; 4] = [500, 700, 701, 1_000];
const DIRECTIONS: [(i32, i32); 8] = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];

/// xorshift32 with the shifts 13, 17, 5 (Marsaglia 2003).
struct Random(u32);

impl Random {
    fn new(index: u32) -> Self {
        let mut random = Self(index.wrapping_mul(2_654_435_761).wrapping_add(1).max(1));
        for _ in 0..4 {
            random.next();
        }
        random
    }

    fn next(&mut self) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        self.0
    }

    fn below(&mut self, n: u32) -> u32 {
        (self.next() >> 8) % n
    }

    /// 1 or 2: hot or cold.
    fn sign(&mut self) -> u8 {
        1 + self.below(2) as u8
    }
}

/// Classes of pixels, 0 ordinary, 1 hot, 2 cold, while they are drawn.
struct Canvas {
    width: i32,
    height: i32,
    classes: Vec<u8>,
}

impl Canvas {
    fn new(width: u32, height: u32) -> Self {
        Self { width: width as i32, height: height as i32, classes: vec![0; (width * height) as usize] }
    }

    fn set(&mut self, x: i32, y: i32, class: u8) {
        self.classes[(y * self.width + x) as usize] = class;
    }

    fn each(&mut self, mut class: impl FnMut(i32, i32) -> u8) {
        for y in 0..self.height {
            for x in 0..self.width {
                let class = class(x, y);
                self.set(x, y, class);
            }
        }
    }

    /// Distance to the nearest edge.
    fn depth(&self) -> impl Fn(i32, i32) -> i32 + use<> {
        let (width, height) = (self.width, self.height);
        move |x, y| x.min(y).min(width - 1 - x).min(height - 1 - y)
    }

    fn blobs(&mut self, r: &mut Random) {
        for _ in 0..1 + r.below(12) {
            let (cx, cy) = (r.below(self.width as u32) as i32, r.below(self.height as u32) as i32);
            let (radius, class) = (r.below(8) as i32, r.sign());
            for y in 0..self.height {
                for x in 0..self.width {
                    if (x - cx).pow(2) + (y - cy).pow(2) <= radius * radius {
                        self.set(x, y, class);
                    }
                }
            }
        }
    }

    fn walks(&mut self, r: &mut Random) {
        for _ in 0..1 + r.below(10) {
            let (mut x, mut y) = (r.below(self.width as u32) as i32, r.below(self.height as u32) as i32);
            let (class, steps, mut way) = (r.sign(), 5 + r.below(60), r.below(8));
            for _ in 0..steps {
                if !(0..self.width).contains(&x) || !(0..self.height).contains(&y) {
                    break;
                }
                self.set(x, y, class);
                if r.below(4) == 0 {
                    way = (way + r.below(3) + 7) % 8;
                }
                let (dx, dy) = DIRECTIONS[way as usize];
                (x, y) = (x + dx, y + dy);
            }
        }
    }

    fn single_pixels(&mut self, r: &mut Random) {
        for _ in 0..1 + r.below(20) {
            let (x, y) = (r.below(self.width as u32) as i32, r.below(self.height as u32) as i32);
            self.set(x, y, r.sign());
        }
        if r.below(2) == 1 {
            let (right, bottom) = (self.width - 1, self.height - 1);
            for (x, y) in [(0, 0), (right, 0), (0, bottom), (right, bottom)] {
                self.set(x, y, r.sign());
            }
        }
    }

    fn runs(&mut self, r: &mut Random) {
        for y in 0..self.height {
            let mut x = r.below(40) as i32;
            while x < self.width {
                let class = r.sign();
                let end = x + 1 + r.below(70) as i32;
                (x..end.min(self.width)).for_each(|at| self.set(at, y, class));
                x = end + r.below(40) as i32;
            }
        }
    }
}

fn noise(r: &mut Random, pixels: u32, hot: u32, cold: u32) -> Vec<u8> {
    let class = |t| if t < hot { 1 } else { u8::from(t < hot + cold) * 2 };
    (0..pixels).map(|_| class(r.below(100))).collect()
}

fn size(kind: u32, r: &mut Random) -> (u32, u32) {
    match kind {
        10 => (1 + r.below(300), 1),
        11 => (1, 1 + r.below(300)),
        15 => (60 + r.below(600), 1 + r.below(5)),
        _ => (1 + r.below(70), 1 + r.below(40)),
    }
}

fn classes(kind: u32, (width, height): (u32, u32), r: &mut Random) -> Vec<u8> {
    let mut canvas = Canvas::new(width, height);
    let (w, h) = (canvas.width, canvas.height);
    match kind {
        0 => canvas.blobs(r),
        1 => {
            let hot = 1 + r.below(99);
            return noise(r, width * height, hot, 0);
        }
        2 | 10 | 11 => {
            let (hot, cold) = (1 + r.below(60), 1 + r.below(39));
            return noise(r, width * height, hot, cold);
        }
        3 => {
            let (side, hot, cold) = (2 + r.below(7), 1 + r.below(60), 1 + r.below(39));
            let columns = width.div_ceil(side);
            let blocks = noise(r, columns * height.div_ceil(side), hot, cold);
            canvas.each(|x, y| blocks[(y as u32 / side * columns + x as u32 / side) as usize]);
        }
        4 => {
            let period = 2 + r.below(3) as i32;
            let (phase, ends, class) = (r.below(period as u32) as i32, r.below(4), r.sign());
            canvas.each(|x, y| {
                let on = x % period == phase || (ends & 1 != 0 && y == 0) || (ends & 2 != 0 && y == h - 1);
                u8::from(on) * class
            });
        }
        5 => {
            let (class, other) = (r.sign(), r.below(2) as u8);
            canvas.each(|x, y| {
                let turn = if y / 2 % 2 == 0 { w - 1 } else { 0 };
                if y % 2 == 0 || x == turn { class } else { (3 - class) * other }
            });
        }
        6 => {
            let (class, other, depth) = (r.sign(), r.below(2) as u8, canvas.depth());
            canvas.each(|x, y| {
                let on = (depth(x, y) % 2 == 0) != (x == depth(x, y) && y == x + 1);
                if on { class } else { (3 - class) * other }
            });
        }
        7 => {
            let (side, other) = (1 + r.below(3) as i32, 2 * r.below(2) as u8);
            canvas.each(|x, y| if (x / side + y / side) % 2 == 0 { 1 } else { other });
        }
        8 => canvas.walks(r),
        9 => canvas.single_pixels(r),
        12 => {
            let (period, over, class) = (2 + r.below(3) as i32, r.below(2), r.sign());
            canvas.each(|x, y| {
                let y = if over == 1 { h - 1 - y } else { y };
                u8::from(((x - w / 2).abs() + y) % period == 0) * class
            });
        }
        14 => {
            let (variant, class, depth) = (r.below(4), r.sign(), canvas.depth());
            canvas.each(|x, y| match variant {
                0 => 1,
                1 => 2,
                2 => u8::from(depth(x, y) % 2 == 0) * class,
                _ => 1 + u8::from(x >= w / 2),
            });
        }
        _ => canvas.runs(r),
    }
    canvas.classes
}

/// Image `index` of the generated ones.
pub(crate) fn frame(index: u32) -> Frame {
    let (kind, mut random) = (index % KINDS, Random::new(index));
    let r = &mut random;
    let (width, height) = size(kind, r);
    if kind == 13 {
        return all_counts((width, height), r);
    }
    let classes = classes(kind, (width, height), r);
    let levels = LEVELS[r.below(6) as usize];
    let counts = classes.into_iter().map(|class| match class {
        0 => ORDINARY[r.below(4) as usize],
        1 => HOT + 1 + r.below(levels) as u16,
        _ => COLD - 1 - r.below(levels) as u16,
    });
    Frame { width: width as usize, counts: counts.collect(), hot: HOT, cold: COLD }
}

/// Any count between any thresholds.
fn all_counts((width, height): (u32, u32), r: &mut Random) -> Frame {
    let (width, pixels) = (width as usize, width * height);
    if r.below(4) == 0 {
        let counts = (0..pixels).map(|_| [0, 1, 65_534, 65_535][r.below(4) as usize]).collect();
        return Frame { width, counts, hot: 65_534, cold: 1 };
    }
    let cold = r.below(65_536);
    let hot = cold + r.below(65_536 - cold);
    let counts = (0..pixels).map(|_| (r.next() >> 16) as u16).collect();
    Frame { width, counts, hot: hot as u16, cold: cold as u16 }
}
