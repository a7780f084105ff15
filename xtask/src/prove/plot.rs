//! Detection against severity, one chart for each fault of a check.

use super::stats::{Logistic, Share, parts};
use super::tally::Tally;
use super::trial::Outcome;
use anyhow::{Result, anyhow};
use plotters::coord::Shift;
use plotters::prelude::*;

const SIZE: (u32, u32) = (640, 300);
const SEEN: RGBColor = RGBColor(30, 80, 160);
const CALLED: RGBColor = RGBColor(190, 90, 20);

type Failure = Box<dyn std::error::Error>;

/// What counts as detected: its name, whether an outcome does, its color, and the side to which its bars are shifted.
struct Counted(&'static str, fn(&Outcome) -> bool, RGBColor, f64);

const COUNTED: [Counted; 2] = [
    Counted("possible or worse", Outcome::seen, SEEN, -1.0),
    Counted("probable or worse", Outcome::called, CALLED, 1.0),
];

/// The charts of all faults, one below the other, as an SVG.
///
/// # Errors
/// If the plotting library fails.
pub(super) fn svg(tally: &Tally) -> Result<String> {
    let mut text = String::new();
    draw(&mut text, tally).map_err(|error| anyhow!("drawing the curves: {error}"))?;
    Ok(text)
}

fn draw(text: &mut String, tally: &Tally) -> Result<(), Failure> {
    let rows = tally.faults.len().max(1);
    let root = SVGBackend::with_string(text, (SIZE.0, SIZE.1 * rows as u32)).into_drawing_area();
    root.fill(&WHITE)?;
    for (area, fault) in root.split_evenly((rows, 1)).iter().zip(tally.faults) {
        chart(area, tally, fault)?;
    }
    root.present()?;
    Ok(())
}

fn chart(area: &DrawingArea<SVGBackend<'_>, Shift>, tally: &Tally, fault: &str) -> Result<(), Failure> {
    let points = tally.points(fault, Outcome::seen);
    let low = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
    if high <= low {
        return Ok(());
    }
    let logarithmic = low > 0.0;
    let scale = |severity: f64| if logarithmic { libm::log10(severity) } else { severity };
    let (from, to) = (scale(low), scale(high));
    let margin = 0.03 * (to - from);
    let mut chart = ChartBuilder::on(area)
        .margin(12)
        .caption(format!("{}: {fault}", tally.key), ("sans-serif", 17))
        .x_label_area_size(40)
        .y_label_area_size(52)
        .build_cartesian_2d(from - margin..to + margin, 0.0..1.0)?;
    let back = |x: &f64| if logarithmic { libm::pow(10.0, *x) } else { *x };
    let label = |x: &f64| if back(x) < 0.1 { format!("{:.3}", back(x)) } else { format!("{:.2}", back(x)) };
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .x_desc(format!("severity, {}", tally.unit(fault)))
        .y_desc("share detected")
        .x_label_formatter(&label)
        .draw()?;
    for Counted(name, so, color, side) in COUNTED {
        if let Some(curve) = Logistic::fit(&tally.points(fault, so)) {
            let at = |i: u32| low_to_high((from, to), i);
            let line = (0..=120).map(at).map(|x| (x, curve.chance(back(&x).clamp(low, high))));
            chart
                .draw_series(LineSeries::new(line, color.stroke_width(2)))?
                .label(name)
                .legend(move |(x, y)| PathElement::new([(x, y), (x + 18, y)], color.stroke_width(2)));
        }
        let shares = shares(&tally.points(fault, so));
        // Side by side, so that the bars of the two do not hide each other.
        let shift = side * 0.003 * (to - from);
        chart.draw_series(shares.iter().map(|(severity, share)| {
            let (x, (a, b)) = (scale(*severity) + shift, share.interval());
            PathElement::new([(x, a), (x, b)], color.mix(0.6).stroke_width(2))
        }))?;
        let dots = shares.iter().map(|(s, share)| Circle::new((scale(*s) + shift, share.value()), 4, color.filled()));
        chart.draw_series(dots)?;
    }
    // In the corner that a curve leaves free.
    let rises = Logistic::fit(&points).is_none_or(|curve| curve.rises());
    let corner = if rises { SeriesLabelPosition::UpperLeft } else { SeriesLabelPosition::UpperRight };
    chart
        .configure_series_labels()
        .position(corner)
        .background_style(WHITE.mix(0.8))
        .border_style(RGBColor(205, 213, 224))
        .draw()?;
    Ok(())
}

fn low_to_high((from, to): (f64, f64), i: u32) -> f64 {
    from + (to - from) * f64::from(i) / 120.0
}

/// Median severity and share of each part of the recordings, by severity.
fn shares(points: &[(f64, bool)]) -> Vec<(f64, Share)> {
    let of_part = |part: Vec<(f64, bool)>| {
        let mut share = Share::default();
        part.iter().for_each(|(_, hit)| share.add(*hit));
        part.get(part.len() / 2).map(|middle| (middle.0, share))
    };
    parts(points).into_iter().filter_map(of_part).collect()
}
