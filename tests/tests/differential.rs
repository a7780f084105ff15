//! The scanner against scipy.ndimage and OpenCV, as sets of regions: 2,000 generated images, five natural binary ones,
//! SciPy's own cases, and six real frames at three pairs of thresholds each, with 8 and with 4 neighbors.
//!
//! What the libraries found is in `tests/data/regions`, written by `tests/oracle/regions.py`, which says what a line
//! holds and stops where the two libraries differ.

mod scanner;

use oddheat_core::regions::Connectivity;
use oddheat_tests::toolchain::root;
use scanner::{Frame, Numbers, generate};
use std::collections::BTreeMap;
use std::fs::File;
use std::path::PathBuf;

const GOLDEN: &str = include_str!("../data/regions/golden.csv");
const LISTS: &str = include_str!("../data/regions/lists.csv");

fn data(name: &str) -> PathBuf {
    root().join("tests/data").join(name)
}

/// FNV-1a, 64 bits.
fn fnv(bytes: impl Iterator<Item = u8>) -> u64 {
    bytes.fold(0xCBF2_9CE4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x100_0000_01B3))
}

fn hash(list: &[Numbers]) -> u64 {
    fnv(list.iter().flatten().flat_map(|number| number.to_le_bytes()))
}

/// A line of golden.csv.
struct Line<'l> {
    name: &'l str,
    size: (usize, usize),
    thresholds: (u16, u16),
    pixels: u64,
    eight: (usize, u64),
    four: (usize, u64),
}

fn lines() -> impl Iterator<Item = Line<'static>> {
    GOLDEN.lines().skip(1).map(|line| {
        let words: Vec<&str> = line.split(',').collect();
        let number = |i: usize| words[i].parse::<usize>().unwrap();
        let hash = |i: usize| u64::from_str_radix(words[i], 16).unwrap();
        Line {
            name: words[0],
            size: (number(1), number(2)),
            thresholds: (number(3) as u16, number(4) as u16),
            pixels: hash(5),
            eight: (number(6), hash(7)),
            four: (number(8), hash(9)),
        }
    })
}

/// By name and neighbors.
type Lists = BTreeMap<(String, u32), Vec<Numbers>>;

/// Whole lists of the first images.
fn lists() -> Lists {
    let mut lists = Lists::new();
    for line in LISTS.lines().skip(1) {
        let (name, rest) = line.split_once(',').unwrap();
        let numbers: Vec<u32> = rest.split(',').map(|word| word.parse().unwrap()).collect();
        lists.entry((name.to_owned(), numbers[0])).or_default().push(numbers[1..].try_into().unwrap());
    }
    lists
}

/// Compares a frame's regions, with 8 and with 4 neighbors, and returns how many there were.
fn compare(line: &Line, counts: Vec<u16>, lists: &Lists) -> usize {
    let frame = Frame { width: line.size.0, counts, hot: line.thresholds.0, cold: line.thresholds.1 };
    assert_eq!(frame.counts.len(), line.size.0 * line.size.1, "{}", line.name);
    let pixels = fnv(frame.counts.iter().flat_map(|count| count.to_le_bytes()));
    assert_eq!(pixels, line.pixels, "{}: not the image that the libraries saw", line.name);
    for (neighbors, connectivity, (count, wanted)) in
        [(8, Connectivity::Eight, line.eight), (4, Connectivity::Four, line.four)]
    {
        let found = frame.regions(connectivity);
        if let Some(list) = lists.get(&(line.name.to_owned(), neighbors)) {
            assert_eq!(&found, list, "{}, {neighbors} neighbors", line.name);
        }
        assert_eq!(found.len(), count, "{}, {neighbors} neighbors: {found:?}", line.name);
        assert_eq!(hash(&found), wanted, "{}, {neighbors} neighbors: {found:?}", line.name);
    }
    line.eight.0 + line.four.0
}

#[test]
fn generated_images() {
    let (mut images, mut regions, lists) = (0, 0, lists());
    for line in lines() {
        let Some(index) = line.name.strip_prefix("generated/") else { continue };
        regions += compare(&line, generate::frame(index.parse().unwrap()).counts, &lists);
        images += 1;
    }
    assert_eq!(images, 2_000);
    assert_eq!(lists.len(), 2 * 2 * generate::KINDS as usize, "two images of each kind");
    println!("{images} generated images, {regions} regions");
}

fn png(name: &str) -> Vec<u16> {
    let image = image::open(data(name)).unwrap().into_luma8();
    image.into_raw().into_iter().map(|v| if v > 0 { 1_001 } else { 700 }).collect()
}

fn tiff(name: &str) -> Vec<u16> {
    let mut decoder = tiff::decoder::Decoder::new(File::open(data(name)).unwrap()).unwrap();
    match decoder.read_image().unwrap() {
        tiff::decoder::DecodingResult::U16(counts) => counts,
        _ => panic!("{name}: not 16 bits"),
    }
}

/// Blocks of square images in a text file of numbers.
fn squares(name: &str, side: usize) -> Vec<Vec<u32>> {
    let text = std::fs::read_to_string(data(name)).unwrap();
    let numbers: Vec<u32> = text.split_whitespace().map(|word| word.parse().unwrap()).collect();
    numbers.chunks_exact(side * side).map(<[u32]>::to_vec).collect()
}

fn from_mask(mask: &[u32]) -> Vec<u16> {
    mask.iter().map(|&v| if v > 0 { 1_001 } else { 700 }).collect()
}

#[test]
fn natural_images_and_real_frames() {
    let (mut images, mut regions) = (0, 0);
    for line in lines().filter(|line| !line.name.starts_with("generated/")) {
        let counts = match line.name.rsplit_once(' ') {
            Some((file, index)) => from_mask(&squares(file, 7)[index.parse::<usize>().unwrap()]),
            None if line.name.ends_with(".png") => png(line.name),
            None => tiff(line.name),
        };
        regions += compare(&line, counts, &Lists::new());
        images += 1;
    }
    assert_eq!(images, 5 + 3 + 6 * 3);
    println!("{images} real images, {regions} regions");
}

/// SciPy's expected labelings, for the two of its neighborhoods that are ours.
#[test]
fn cases_of_scipy() {
    let inputs = squares("regions/ccl_binary/label_inputs.txt", 7);
    let neighborhoods = squares("regions/ccl_binary/label_strels.txt", 3);
    let results = squares("regions/ccl_binary/label_results.txt", 7);
    assert_eq!((inputs.len(), neighborhoods.len(), results.len()), (3, 14, 42));
    let mut compared = 0;
    for (mask, results) in inputs.iter().zip(results.chunks_exact(14)) {
        for (neighborhood, labels) in neighborhoods.iter().zip(results) {
            let connectivity = match neighborhood[..] {
                [1, 1, 1, 1, 1, 1, 1, 1, 1] => Connectivity::Eight,
                [0, 1, 0, 1, 1, 1, 0, 1, 0] => Connectivity::Four,
                _ => continue,
            };
            let frame = Frame { width: 7, counts: from_mask(mask), hot: 1_000, cold: 500 };
            // Area and box of every label.
            let mut wanted = BTreeMap::new();
            for (i, &label) in labels.iter().enumerate().filter(|(_, label)| **label > 0) {
                let (x, y) = (i as u32 % 7, i as u32 / 7);
                let [area, x0, y0, x1, y1] = wanted.entry(label).or_insert([0, x, y, x, y]);
                (*area, *x0, *y0) = (*area + 1, x.min(*x0), y.min(*y0));
                (*x1, *y1) = (x.max(*x1), y.max(*y1));
            }
            let mut wanted: Vec<[u32; 5]> = wanted.into_values().collect();
            wanted.sort_unstable();
            let found = frame.regions(connectivity);
            let found: Vec<[u32; 5]> = found.iter().map(|region| region[1..6].try_into().unwrap()).collect();
            assert_eq!(found, wanted);
            compared += 1;
        }
    }
    assert_eq!(compared, 6);
}
