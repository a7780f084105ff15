//! `cargo bench`: scanning and converting whole frames, a different one on every call.

#![allow(missing_docs, reason = "the macros of the bench harness make undocumented functions")]

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use oddheat_benches::{Content, Frame, SIZES, frame};
use oddheat_core::radiometry::{Curve, MeasurementEquation, Scale, Scene, Table, Thresholds};
use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
use oddheat_core::units::RowKelvin;
use std::hint::black_box;

fn frames(content: Content, size: (u16, u16)) -> Vec<Frame> {
    (0..16).map(|seed| frame(content, size, seed)).collect()
}

fn scan(criterion: &mut Criterion) {
    for content in [Content::Blobs, Content::Noise, Content::Comb] {
        let mut group = criterion.benchmark_group(format!("scan {content:?}"));
        for size in SIZES {
            let frames = frames(content, size);
            let (mut runs, mut slots) = (vec![Run::EMPTY; Scanner::runs(size.0)], vec![Slot::EMPTY; 32_766]);
            // As many regions as the frames have; a bench of dropping would be another.
            let kept = if content == Content::Noise { slots.len() } else { 256 };
            group.throughput(Throughput::Elements(u64::from(size.0) * u64::from(size.1)));
            group.bench_function(BenchmarkId::from_parameter(format!("{}x{}", size.0, size.1)), |bencher| {
                let mut turn = frames.iter().cycle();
                bencher.iter(|| {
                    let Some(frame) = turn.next() else { return 0 };
                    let Ok(thresholds) = Thresholds::new(frame.hot, frame.cold) else { return 0 };
                    let connectivity = Connectivity::Eight;
                    let settings = Settings { width: frame.width, thresholds, connectivity, min_area: 1 };
                    let Ok(mut scanner) = Scanner::new(&mut runs, &mut slots[..kept], settings) else { return 0 };
                    for row in frame.counts.chunks_exact(usize::from(frame.width)) {
                        let _ = black_box(scanner.push(row));
                    }
                    black_box(scanner.finish().len())
                });
            });
        }
        group.finish();
    }
}

fn convert(criterion: &mut Criterion) {
    let curve = Curve::sakuma_hattori(9.37, 172.2, 410_000.0).and_then(|curve| curve.with_offset(1_850.0));
    let equation = curve.and_then(|curve| MeasurementEquation::new(&Scale::Curve(curve), &Scene::BLACKBODY));
    let Ok(table) = equation.and_then(|equation| Table::new(&equation, 16_383)) else { return };
    let frame = frame(Content::Blobs, (640, 512), 1);
    let mut kelvin = vec![RowKelvin::ZERO; frame.counts.len()];
    let mut group = criterion.benchmark_group("convert");
    group.throughput(Throughput::Elements(frame.counts.len() as u64));
    group.bench_function("640x512", |bencher| bencher.iter(|| table.kelvin_row(black_box(&frame.counts), &mut kelvin)));
    group.finish();
}

criterion_group!(benches, scan, convert);
criterion_main!(benches);
