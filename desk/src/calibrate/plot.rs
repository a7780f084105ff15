//! The plot of the residuals.

use miette::{Result, miette};
use oddheat_core::radiometry::{CalibrationPoint, Fit};
use plotters::prelude::*;

/// Residuals in kelvin against temperature, with the standard uncertainty of each point as a bar and that of the curve
/// (k = 2) as a band; an SVG.
///
/// # Errors
/// If the plotting library fails.
pub(super) fn residuals(points: &[CalibrationPoint], fit: &Fit) -> Result<String> {
    let mut svg = String::new();
    draw(&mut svg, points, fit).map_err(|error| miette!("drawing the residuals: {error}"))?;
    Ok(svg)
}

fn draw(svg: &mut String, points: &[CalibrationPoint], fit: &Fit) -> Result<(), Box<dyn std::error::Error>> {
    let (low, high) = fit.range();
    let margin = (high - low) * 0.05;
    let (from, to) = (low - margin - 273.15, high + margin - 273.15);
    let deviation = |p: &CalibrationPoint| {
        fit.curve().slope(p.kelvin).map_or(p.kelvin_sd, |slope| p.kelvin_sd.hypot(p.counts_sd / slope))
    };
    let band: Vec<(f64, f64)> = (0..=100)
        .map(|i| from + (to - from) * f64::from(i) / 100.0)
        .filter_map(|celsius| Some((celsius, 2.0 * fit.standard_uncertainty(celsius + 273.15)?)))
        .collect();
    let of_points = points.iter().zip(fit.residuals()).map(|(p, r)| r.abs() + deviation(p));
    let reach = of_points.chain(band.iter().map(|&(_, u)| u)).fold(1e-6, f64::max) * 1.15;

    let root = SVGBackend::with_string(svg, (760, 420)).into_drawing_area();
    root.fill(&WHITE)?;
    let mut chart = ChartBuilder::on(&root)
        .margin(14)
        .caption("Residuals of the fitted curve", ("sans-serif", 18))
        .x_label_area_size(40)
        .y_label_area_size(64)
        // Room for the legend above all points.
        .build_cartesian_2d(from..to, -reach..1.4 * reach)?;
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .x_desc("blackbody temperature, °C")
        .y_desc("T(counts) − T(point), K")
        // The axis is counted up from below, so that zero is a trifle off and would get a sign.
        .y_label_formatter(&|&kelvin| {
            let kelvin = if kelvin.abs() < reach * 1e-6 { 0.0 } else { kelvin };
            format!("{:.*}", if reach < 0.05 { 4 } else { 2 }, kelvin)
        })
        .draw()?;
    let shade = RGBColor(205, 213, 224);
    let outline: Vec<(f64, f64)> = band.iter().copied().chain(band.iter().rev().map(|&(c, u)| (c, -u))).collect();
    if !outline.is_empty() {
        chart
            .draw_series([Polygon::new(outline, shade.mix(0.6))])?
            .label("curve, k = 2")
            .legend(move |(x, y)| Rectangle::new([(x, y - 4), (x + 18, y + 4)], shade.filled()));
    }
    chart.draw_series(LineSeries::new([(from, 0.0), (to, 0.0)], BLACK.stroke_width(1)))?;
    chart.draw_series(points.iter().zip(fit.residuals()).map(|(p, &r)| {
        let (celsius, u) = (p.kelvin - 273.15, deviation(p));
        PathElement::new([(celsius, r - u), (celsius, r + u)], RGBColor(60, 80, 110).stroke_width(2))
    }))?;
    chart
        .draw_series(
            points
                .iter()
                .zip(fit.residuals())
                .map(|(p, &r)| Circle::new((p.kelvin - 273.15, r), 4, RGBColor(60, 80, 110).filled())),
        )?
        .label("points, k = 1")
        .legend(|(x, y)| Circle::new((x + 9, y), 4, RGBColor(60, 80, 110).filled()));
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::UpperMiddle)
        .background_style(WHITE.mix(0.8))
        .border_style(shade)
        .draw()?;
    root.present()?;
    Ok(())
}
