//! What the measuring tools state about themselves (noise, uncertainty, score, confidence), held against draws of noise.

use oddheat_core::measure::fit::Undetermined;
use oddheat_core::measure::{
    Above, Blob, Comb, InputUncertainty, Item, Lengthwise, Projection, Reading, Shape, Statistic, Tally,
    against_others, find_row,
};
use oddheat_core::radiometry::{Curve, Emissivity, MeasurementEquation, Scale, Scene};
use oddheat_scenes::draw::Draw;

fn equation() -> MeasurementEquation {
    let scale = Scale::Curve(Curve::sakuma_hattori(9.37, 172.2, 410_000.0).unwrap());
    MeasurementEquation::new(&scale, &Scene::new(Emissivity::new(0.95).unwrap())).unwrap()
}

fn tallied(row: &[u16], rows: u16) -> Tally {
    let mut tally = Tally::EMPTY;
    let shape = Shape::Box { x0: 0, y0: 0, x1: row.len() as u16 - 1, y1: rows - 1 };
    (0..rows).for_each(|y| tally.add_row(shape, y, row, 0, 16_383));
    tally.end_frame(0);
    tally
}

/// Scatter of a statistic over draws of a row against its stated noise, both in counts.
fn seen_and_stated(statistic: Statistic, noise: f64, surface: impl Fn(u16) -> f64) -> (f64, f64) {
    let equation = equation();
    let middle = equation.counts(333.15).unwrap().round();
    let slope = equation.sensitivities(333.15).unwrap();
    let inputs = InputUncertainty { netd_k: noise * slope.counts / slope.apparent, ..InputUncertainty::HANDHELD };
    let mut draw = Draw::new(21, "statistic");
    let (mut sum, mut squares, mut stated, trials) = (0.0, 0.0, 0.0, 1_500.0);
    for _ in 0..trials as u32 {
        let row: Vec<u16> = (0..100).map(|x| (middle + surface(x) + draw.normal(noise)).round() as u16).collect();
        let reading = Reading::of(&tallied(&row, 1), statistic, &equation, &inputs, 0.02).unwrap();
        let off = (reading.kelvin - 333.15) / slope.counts;
        (sum, squares, stated) = (sum + off, squares + off * off, stated + reading.noise_k / slope.counts);
    }
    (libm::sqrt(squares / trials - (sum / trials) * (sum / trials)), stated / trials)
}

/// Each statistic scatters as stated, on an even surface, with grooves, and on a surface that is itself spread.
#[test]
fn noise_of_a_statistic_is_what_the_draws_show() {
    use Statistic::{Majority, Mean, Median, UpperHalfMedian};
    let even = |_| 0.0;
    let grooves = |x: u16| if x % 20 < 7 { 400.0 } else { 0.0 };
    let ramp = |x: u16| f64::from(x);
    type Surface<'s> = &'s dyn Fn(u16) -> f64;
    let surfaces: [(&str, Surface<'_>, &[Statistic]); 3] = [
        ("even", &even, &[Mean, Median, Majority, UpperHalfMedian]),
        ("grooves", &grooves, &[Mean, Majority]),
        ("ramp", &ramp, &[Mean, Median, UpperHalfMedian]),
    ];
    for (name, surface, statistics) in surfaces {
        for &statistic in statistics {
            for noise in [1.0, 4.0, 12.0] {
                let (seen, stated) = seen_and_stated(statistic, noise, surface);
                println!("{name}, {statistic:?}, noise {noise}: scatter {seen:.3}, stated {stated:.3} counts");
                // 1,500 draws give the scatter to 2 %; four of that. The width of a bin may make the statement larger.
                assert!(seen < 1.08 * stated, "{name} {statistic:?} {noise}: {seen} {stated}");
                let by_noise = if noise > 5.0 { 0.7 } else { 0.0 };
                assert!(seen > by_noise * stated, "{name} {statistic:?} {noise}: {seen} {stated}");
            }
        }
    }
}

/// One hot screw widens all bins: what the majority is off by then is in its noise.
#[test]
fn a_screw_does_not_make_a_majority_surer_than_it_is() {
    let equation = equation();
    let inputs = InputUncertainty { netd_k: 0.0, ..InputUncertainty::HANDHELD };
    for screw in [2_000, 9_000, 16_000] {
        let (mut squares, mut count) = (0.0, 0.0);
        for base in (1_000..1_400).step_by(7) {
            let mut row: Vec<u16> = (0..100).map(|x| base + x % 9).collect();
            row[50] = screw;
            let reading = Reading::of(&tallied(&row, 20), Statistic::Majority, &equation, &inputs, 0.02).unwrap();
            let off = (reading.kelvin - equation.object(f64::from(base) + 3.96).unwrap()) / reading.noise_k;
            (squares, count) = (squares + off * off, count + 1.0);
        }
        let ratio = libm::sqrt(squares / count);
        println!("screw of {screw} counts: {ratio:.2} of the stated noise");
        assert!(ratio < 1.2, "{screw}: {ratio}");
    }
}

/// Of healthy items as many have a high score as normal values would, however few others there are.
#[test]
fn a_healthy_item_among_few_is_rarely_called_odd() {
    let mut draw = Draw::new(22, "likeness");
    for count in [4usize, 5, 6, 7, 8, 9, 10, 11, 13, 17, 25, 33, 48] {
        let (mut odd, trials) = (0, 20_000);
        for _ in 0..trials {
            let items: Vec<_> =
                (0..count).map(|_| Some(Item { value: 300.0 + draw.normal(1.0), noise: 0.02 })).collect();
            odd += u32::from(against_others(&items, 0).unwrap().score.abs() > 3.0);
        }
        let percent = 100.0 * f64::from(odd) / f64::from(trials);
        println!("{count} items: {percent:.2} % of healthy ones score beyond 3");
        // 0.27 %, to 0.04 % by draws.
        assert!(percent < 0.45, "{count}: {percent}");
    }
    let item = |value, noise| Some(Item { value, noise });
    // Without noise or scatter there is no measure of what is much.
    assert_eq!(against_others(&[item(1.0, 0.0), item(1.0, 0.0), item(1.0, 0.0), item(501.0, 0.0)], 3), None);
    // One faulty of four is still found if it is clear.
    let four = [item(300.0, 0.1), item(300.2, 0.1), item(299.9, 0.1), item(310.0, 0.1)];
    assert!(against_others(&four, 3).unwrap().score > 5.0 && against_others(&four, 0).unwrap().score.abs() < 1.0);
}

/// A bar along the grid: its edges are off by the same along their whole length, and the stated uncertainty says so.
#[test]
fn the_area_of_a_bar_is_as_uncertain_as_its_long_edges() {
    let mut draw = Draw::new(23, "bars");
    let all = Shape::Box { x0: 0, y0: 0, x1: 159, y1: 159 };
    for (name, holed) in [("bar", false), ("frame", true)] {
        for upright in [false, true] {
            let (mut squares, trials) = (0.0, 400.0);
            for _ in 0..trials as u32 {
                let (top, left) = (40.0 + draw.unit(), 30.0 + draw.unit());
                let (high, long) = (3.0 + 20.0 * draw.unit(), 100.0 + draw.unit());
                // The hole of a frame is 1.3 pixels inside all around.
                let within = |a: f64, b: f64, by: f64| {
                    (top + by..top + high - by).contains(&a) && (left + by..left + long - by).contains(&b)
                };
                let mut above = Above::new(500, 500, 500).unwrap();
                for y in 0..160u16 {
                    let row: Vec<u16> = (0..160u16)
                        .map(|x| {
                            let (a, b) = if upright { (x, y) } else { (y, x) };
                            let (a, b) = (f64::from(a), f64::from(b));
                            if within(a, b, 0.0) && !(holed && within(a, b, 1.3)) { 1_000 } else { 100 }
                        })
                        .collect();
                    above.add_row(all, y, &row);
                }
                let hole = if holed { (high - 2.6).max(0.0) * (long - 2.6) } else { 0.0 };
                let off = (f64::from(above.area().pixels) - (high * long - hole)) / above.area().uncertainty();
                squares += off * off;
            }
            let ratio = libm::sqrt(squares / trials);
            println!("{name}, upright {upright}: off by {ratio:.2} of the stated uncertainty");
            assert!((0.5..1.25).contains(&ratio), "{name} {upright} {ratio}");
        }
    }
}

/// An area that touches the curved edge of its shape anywhere may go on outside.
#[test]
fn an_area_at_a_curved_border_is_a_lower_bound() {
    for shape in [
        Shape::Ring { x: 20, y: 20, inner: 0, outer: 10 },
        Shape::Ring { x: 20, y: 20, inner: 4, outer: 10 },
        Shape::Ellipse { x: 20, y: 20, axis_x: 12, axis_y: 5, across: 6 },
        Shape::Box { x0: 4, y0: 0, x1: 30, y1: 12 },
    ] {
        for (x, y) in (0..41u16).flat_map(|y| (0..41u16).map(move |x| (x, y))).filter(|&(x, y)| shape.contains(x, y)) {
            let mut above = Above::new(500, 500, 500).unwrap();
            for row in 0..41 {
                let counts: Vec<u16> = (0..41).map(|at| if (at, row) == (x, y) { 1_000 } else { 100 }).collect();
                above.add_row(shape, row, &counts);
            }
            let outside = |x: Option<u16>, y: Option<u16>| x.zip(y).is_none_or(|(x, y)| !shape.contains(x, y));
            let border = outside(x.checked_sub(1), Some(y))
                || outside(Some(x + 1), Some(y))
                || outside(Some(x), y.checked_sub(1))
                || outside(Some(x), Some(y + 1));
            assert_eq!(above.area().at_border, border, "{shape:?} {x} {y}");
        }
    }
}

/// More lines than are told apart are refused, not cut off.
#[test]
fn a_comb_of_too_many_lines_is_refused() {
    let mut draw = Draw::new(24, "lines");
    for (pitch, fits) in [(5, false), (6, false), (8, true)] {
        let shape = Shape::Box { x0: 0, y0: 0, x1: 159, y1: 159 };
        let mut words = vec![0; Comb::words(160)];
        let mut comb = Comb::new(&mut words, shape, Lengthwise::Rows).unwrap();
        for y in 0..160 {
            let line = if y % pitch == 2 { 100.0 } else { 0.0 };
            let row: Vec<u16> = (0..160).map(|_| (1_000.0 + line + draw.normal(2.0)).round() as u16).collect();
            comb.add_row(y, &row, 0, 16_383);
        }
        match comb.find(4) {
            Ok(found) => assert!(fits && found.lines.len() == 20, "{pitch} {found:?}"),
            Err(reason) => assert!(!fits && reason == Undetermined::NotThisForm, "{pitch} {reason:?}"),
        }
    }
}

/// Sums of independent noise are hardly ever registered, however short; and a first pixel that is dead shifts nothing.
#[test]
fn noise_is_no_pair() {
    let mut draw = Draw::new(25, "pairs");
    for side in [5u16, 6, 8, 12, 16, 24] {
        let shape = Shape::Box { x0: 0, y0: 0, x1: side - 1, y1: side - 1 };
        let (mut found, size) = (0, usize::from(side));
        for _ in 0..2_000 {
            let mut lists = [(); 4].map(|()| vec![0; size]);
            let [a, b, c, d] = &mut lists;
            let (mut first, mut second) =
                (Projection::new(a, b, shape).unwrap(), Projection::new(c, d, shape).unwrap());
            for part in [&mut first, &mut second] {
                for y in 0..side {
                    let row: Vec<u16> = (0..side).map(|_| (3_000.0 + draw.normal(5.0)).round() as u16).collect();
                    part.add_row(y, &row, 0, 16_383);
                }
            }
            found += u32::from(first.register(&second, true, side / 2).is_some());
        }
        println!("{side} × {side}: {found} of 2,000 pairs of noise registered");
        assert!(found <= 4, "{side}: {found}");
    }
    let (mut columns, mut rows) = ([0; 16], [0; 16]);
    let mut part = Projection::new(&mut columns, &mut rows, Shape::Box { x0: 0, y0: 0, x1: 15, y1: 15 }).unwrap();
    for y in 0..16 {
        let mut row = [5_000; 16];
        row[0] = 0;
        part.add_row(y, &row, 0, 16_383);
    }
    assert_eq!((columns, rows), ([80_000; 16], [80_000; 16]));
}

/// Scattered blobs seldom lie in a row of four or more that is called one; an even row's step is known to a part of a
/// pixel.
#[test]
fn scattered_blobs_are_seldom_a_row() {
    let mut draw = Draw::new(26, "blobs");
    for count in [3, 4, 6, 8, 12, 16, 24, 32] {
        let (mut rows, mut long) = (0, 0);
        for _ in 0..300 {
            let blobs: Vec<Blob> = (0..count)
                .map(|_| {
                    let (x, y) = (draw.uniform(0.0, 150.0) as u16, draw.uniform(0.0, 110.0) as u16);
                    Blob::of_box(x, y, x + 4, y + 4)
                })
                .collect();
            let Some(row) = find_row(&blobs) else { continue };
            (rows, long) = (rows + 1, long + u32::from(row.filled.count_ones() > 3));
        }
        println!("{count} blobs, 300 fields: {rows} rows, {long} of four or more");
        assert!(long <= 6 && rows <= 12, "{count}: {rows} {long}");
    }
    // A row that is there is found: three alone, four among four others.
    for (items, others) in [(3, 0), (4, 4), (6, 8)] {
        let mut found = 0;
        for _ in 0..200 {
            let mut blob = |x: f64, y: f64| {
                let (x, y) = (x + draw.normal(0.3), y + draw.normal(0.3));
                Blob::of_box(x.round() as u16, y.round() as u16, x.round() as u16 + 4, y.round() as u16 + 4)
            };
            let mut blobs: Vec<Blob> = (0..items).map(|i| blob(20.0 + 18.0 * f64::from(i), 30.0)).collect();
            for _ in 0..others {
                let (x, y) = (draw.uniform(0.0, 150.0) as u16, draw.uniform(0.0, 110.0) as u16);
                blobs.push(Blob::of_box(x, y, x + 4, y + 4));
            }
            found += u32::from(find_row(&blobs).is_some_and(|row| row.filled.count_ones() >= items as u32));
        }
        println!("{items} in a row among {others}: {found} of 200");
        assert!(found >= 160, "{items} {others}: {found}");
    }
    let even: Vec<Blob> = (0..5).map(|i| Blob::of_box(10 + 20 * i, 10, 14 + 20 * i, 14)).collect();
    let row = find_row(&even).unwrap();
    // 1/√12 pixel in each of five centers: over the root of the sum of squared places, 10.
    assert!((row.step.0.uncertainty - 0.289 / libm::sqrt(10.0)).abs() < 1e-3, "{row:?}");
}
