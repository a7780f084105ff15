//! Hot and cold regions of a picture, and the search for a spot.

use crate::recording::{Connectivity as Stated, RegionLimit, RegionRules};
use crate::setup;
use oddheat_core::Result;
use oddheat_core::checks::{Check, Place, Setup};
use oddheat_core::measure::Shape;
use oddheat_core::radiometry::{MeasurementEquation, Thresholds};
use oddheat_core::regions::{Connectivity, Filter, Region, Run, Scanner, Settings, Sign, Slot};

/// Depth below the median of a searched area at which a spot is noticed, K. A proposal: somewhat under the least depth
/// that is graded (0.5 K), so that the blurred edge of a spot at that limit still belongs to it.
const SEARCH_DEPTH_K: f64 = 0.35;
/// Fewer pixels are noise or a bad pixel. A proposal.
const SEARCH_LEAST_AREA: u32 = 3;

/// The regions of one picture.
#[derive(Clone, Debug)]
pub struct ViewRegions {
    /// Median of all counts; half counts occur.
    pub median_counts: f64,
    /// Thresholds in counts.
    pub thresholds: Thresholds,
    /// Strongest first.
    pub rows: Vec<RegionRow>,
    /// Weaker regions lost because the table was full, at most.
    pub dropped: u32,
}

/// A region with the temperature of its peak and of its mean count.
#[derive(Clone, Copy, Debug)]
pub struct RegionRow {
    /// The region in counts.
    pub region: Region,
    /// Temperature of the most extreme pixel, °C, if it means one.
    pub peak_c: Option<f64>,
    /// Temperature of the mean count, °C, if it means one.
    pub mean_c: Option<f64>,
}

/// Finds the regions that the rules ask for.
///
/// # Errors
/// Those of the scanner and the scale.
pub(crate) fn find(
    counts: &[u16],
    width: u16,
    rules: &RegionRules,
    equation: &MeasurementEquation,
) -> Result<ViewRegions> {
    let median_counts = median(counts.to_vec());
    let thresholds = thresholds(rules, median_counts, equation)?;
    let connectivity = match rules.connectivity {
        Stated::Four => Connectivity::Four,
        Stated::Eight => Connectivity::Eight,
    };
    let settings = Settings { width, thresholds, connectivity, min_area: rules.min_area };
    let (regions, dropped) = scan(counts, settings, usize::from(rules.capacity))?;
    let celsius = |counts: f64| equation.object(counts).ok().map(|kelvin| kelvin - 273.15);
    let rows = regions
        .into_iter()
        .map(|region| RegionRow {
            region,
            peak_c: celsius(f64::from(region.peak)),
            mean_c: celsius(region.mean.to_num::<f64>()),
        })
        .collect();
    Ok(ViewRegions { median_counts, thresholds, rows, dropped })
}

/// Searches one area of a check for a cold (or warm) spot and lets the check place its shapes on it.
pub(crate) fn locate(counts: &[u16], width: u16, setup: &Setup, area: Place, check: &mut Check<'_>) -> Result<()> {
    let equation = setup::equation(setup, area.emissivity.map(|(emissivity, _)| emissivity))?;
    let wide = usize::from(width);
    let rows = counts.chunks_exact(wide).enumerate();
    let inside = rows.flat_map(|(y, row)| {
        let spans = area.shape.spans(y as u16);
        spans.into_iter().flat_map(|(start, end)| row[usize::from(start)..usize::from(end)].to_vec())
    });
    let valid = inside.filter(|&count| count > setup.dead_at_or_below && count < setup.saturated_at).collect();
    let level = equation.object(median(valid))?;
    let Some(sign) = check.searched_sign(area.role) else { return Err(oddheat_core::Error::NotInThisCheck) };
    // A dead pixel is no cold spot and a saturated one no hot spot; the scanner would take them for the strongest of all.
    // Nor is what lies in the hole of a ring, such as a bare stem.
    let ordinary = |count: u16| count > setup.dead_at_or_below && count < setup.saturated_at;
    let off = if sign == Sign::Cold { u16::MAX } else { 0 };
    let searched = |(i, &count): (usize, &u16)| {
        let (x, y) = ((i % wide) as u16, (i / wide) as u16);
        if ordinary(count) && !in_hole(area.shape, x, y) { count } else { off }
    };
    let searched: Vec<u16> = counts.iter().enumerate().map(searched).collect();
    let beyond = |depth: f64| {
        let thresholds = if sign == Sign::Cold {
            Thresholds::new(u16::MAX, snapped(equation.counts(level - depth)?).ceil() as u16)?
        } else {
            Thresholds::new(snapped(equation.counts(level + depth)?).floor() as u16, 0)?
        };
        let settings = Settings { width, thresholds, connectivity: Connectivity::Eight, min_area: SEARCH_LEAST_AREA };
        Ok::<_, oddheat_core::Error>(scan(&searched, settings, 256)?.0)
    };
    let noticed = beyond(SEARCH_DEPTH_K)?;
    // A shallow threshold joins a spot with its tail and with any uneven ground; at half depth it stands alone, and
    // its width there is the one that a blurred spot has by convention.
    let strongest = noticed.iter().find(|region| area.shape.contains(region.peak_x, region.peak_y));
    let peak = strongest.and_then(|region| equation.object(f64::from(region.peak)).ok());
    let regions = match peak.map(|peak| (level - peak).abs()) {
        Some(depth) if depth / 2.0 > SEARCH_DEPTH_K => beyond(depth / 2.0)?,
        _ => noticed,
    };
    check.locate(area.role, area.view, regions.into_iter())?;
    Ok(())
}

/// Whether a pixel lies in the hole of a ring: nearer to its center than its inner radius.
fn in_hole(ring: Shape, x: u16, y: u16) -> bool {
    let Shape::Ring { x: x0, y: y0, inner, .. } = ring else { return false };
    let squared = |a: u16, b: u16| u64::from(a.abs_diff(b)).pow(2);
    squared(x, x0) + squared(y, y0) < u64::from(inner).pow(2)
}

fn scan(counts: &[u16], settings: Settings, capacity: usize) -> Result<(Vec<Region>, u32)> {
    let mut runs = vec![Run::EMPTY; Scanner::runs(settings.width)];
    let mut slots = vec![Slot::EMPTY; capacity.clamp(1, 32_766)];
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings)?;
    let found = scanner.frame(settings.thresholds, counts, &Filter::min_area(settings.min_area))?;
    Ok((found.regions().collect(), found.dropped()))
}

fn thresholds(rules: &RegionRules, median: f64, equation: &MeasurementEquation) -> Result<Thresholds> {
    let limit = |limit: RegionLimit, sign: f64| {
        let kelvin = match limit {
            RegionLimit::FromMedianK(k) => equation.object(median)? + sign * k,
            RegionLimit::AtC(c) => c + 273.15,
        };
        equation.counts(kelvin).map(snapped)
    };
    // A pixel is hot at its limit or above it, and cold at its limit or below it; the scanner's thresholds are the last
    // ordinary counts.
    let hot = rules.hot.map(|hot| limit(hot, 1.0)).transpose()?.map_or(u16::MAX, |v| (v.ceil() - 1.0) as u16);
    let cold = rules.cold.map(|cold| limit(cold, -1.0)).transpose()?.map_or(0, |v| (v.floor() + 1.0) as u16);
    Thresholds::new(hot, cold)
}

/// A limit that is a whole count but for rounding in the curve is that count.
fn snapped(counts: f64) -> f64 {
    let whole = counts.round();
    if (counts - whole).abs() < 1e-6 { whole } else { counts }
}

/// Median; the mean of the middle two for an even number, 0 for none.
fn median(mut counts: Vec<u16>) -> f64 {
    if counts.is_empty() {
        return 0.0;
    }
    let (even, middle) = (counts.len().is_multiple_of(2), counts.len() / 2);
    let (below, &mut upper, _) = counts.select_nth_unstable(middle);
    match below.iter().copied().max() {
        Some(lower) if even => (f64::from(lower) + f64::from(upper)) / 2.0,
        _ => f64::from(upper),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_of_even_and_odd_numbers() {
        assert_eq!(median(vec![5, 1, 3]), 3.0);
        assert_eq!(median(vec![5, 1, 4, 3]), 3.5);
        assert_eq!(median(vec![7]), 7.0);
        assert_eq!(median(Vec::new()), 0.0);
    }
}
