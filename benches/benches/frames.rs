//! `cargo bench`: scanning, converting and measuring whole frames, a different one on every call.

#![allow(missing_docs, reason = "the macros of the bench harness make undocumented functions")]

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use oddheat_benches::calls::{self, MOST_REGIONS, Scan};
use oddheat_benches::{Content, Frame, SIZES, frame};
use oddheat_core::measure::Shape;
use oddheat_core::regions::Connectivity;
use oddheat_core::units::RowKelvin;
use std::hint::black_box;

fn frames(content: Content, size: (u16, u16)) -> Vec<Frame> {
    (0..16).map(|seed| frame(content, size, seed)).collect()
}

fn scan(criterion: &mut Criterion) {
    for content in Content::ALL {
        let mut group = criterion.benchmark_group(format!("scan {}", content.key()));
        for size in SIZES {
            let frames = frames(content, size);
            let mut scan = Scan::new(size.0, Connectivity::Eight, MOST_REGIONS);
            group.throughput(Throughput::Elements(u64::from(size.0) * u64::from(size.1)));
            group.bench_function(BenchmarkId::from_parameter(format!("{}x{}", size.0, size.1)), |bencher| {
                let mut turn = frames.iter().cycle();
                bencher.iter(|| turn.next().map(|frame| scan.frame(black_box(&frame.counts), frame.hot, frame.cold)));
            });
        }
        group.finish();
    }
}

fn convert_and_measure(criterion: &mut Criterion) {
    let Ok(table) = calls::table() else { return };
    let frame = frame(Content::Blobs, (640, 512), 1);
    let mut kelvin = vec![RowKelvin::ZERO; frame.counts.len()];
    let mut group = criterion.benchmark_group("640x512");
    group.throughput(Throughput::Elements(frame.counts.len() as u64));
    group.bench_function("convert", |bencher| {
        bencher.iter(|| calls::convert(&table, &frame.counts, &mut kelvin));
    });
    let whole = Shape::Box { x0: 0, y0: 0, x1: 639, y1: 511 };
    group.bench_function("measure", |bencher| bencher.iter(|| calls::tally(whole, &frame.counts, frame.width)));
    group.finish();
}

criterion_group!(benches, scan, convert_and_measure);
criterion_main!(benches);
