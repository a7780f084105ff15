//! The conduction solvers against closed solutions (Carslaw and Jaeger, memory), and their heat balances.

use oddheat_scenes::heat::sheet::Stuff;
use oddheat_scenes::heat::{Network, Sheet};

/// √π.
const ROOT_PI: f64 = 1.772_453_850_905_516;

/// Semi-infinite solid under a constant flux: surface rise 2·q/k·√(αt/π), and at depth x its ierfc law.
#[test]
fn a_chain_is_a_semi_infinite_solid_until_its_end_is_reached() {
    // Rubber: k 0.2, ρc 2.07e6; 40 mm in cells of 0.5 mm; √(αt) is 7.6 mm after 10 min.
    let (k, volumetric, depth, cells, flux) = (0.2, 2.07e6, 0.04, 80, 400.0);
    let mut slab = Network::chain(cells, volumetric * depth, k / depth);
    slab.lose(cells - 1, 1e-9);
    slab.heat_w[0] = flux;
    slab.run(600.0, 0.5);
    let alpha: f64 = k / volumetric;
    let length = libm::sqrt(4.0 * alpha * 600.0);
    for cell in [0usize, 4, 10, 20] {
        let u = (cell as f64 + 0.5) * depth / cells as f64 / length;
        let ierfc = libm::exp(-u * u) / ROOT_PI - u * libm::erfc(u);
        let truth = flux / k * length * ierfc;
        let surface = flux / k * length / ROOT_PI;
        assert!((slab.rise_k[cell] - truth).abs() < 0.005 * surface, "{cell}: {} {truth}", slab.rise_k[cell]);
    }
}

/// A straight fin with an insulated end: rise cosh(m(L−x))/cosh(mL), heat √(hPkA)·tanh(mL).
#[test]
fn a_chain_with_losses_is_a_fin() {
    let (ka, hp, length, cells) = (390.0 * 25e-6, 0.27, 0.5, 80);
    let mut fin = Network::chain(cells, 100.0, ka / length);
    for cell in 0..cells {
        fin.lose(cell, hp * length / cells as f64);
    }
    fin.heat_w[0] = 1.0;
    fin.settle();
    let m: f64 = libm::sqrt(hp / ka);
    let base = 1.0 / (libm::sqrt(hp * ka) * libm::tanh(m * length));
    for cell in [0usize, 10, 40, 79] {
        let x = (cell as f64 + 0.5) * length / cells as f64;
        let truth = base * libm::cosh(m * (length - x)) / libm::cosh(m * length);
        assert!((fin.rise_k[cell] - truth).abs() < 0.005 * base, "{cell}: {} {truth}", fin.rise_k[cell]);
    }
    assert!((fin.loss_w() - 1.0).abs() < 1e-9);
}

/// Isothermal disc of radius a on a half space: conductance 4ka, surface profile (2/π)·asin(a/r). The tire leak's cold
/// spot rests on both.
#[test]
fn rings_of_cells_are_a_disc_on_a_half_space() {
    // Lengths in disc radii, k = 1. Cells grow from the rim outward and from the surface downward.
    let mut radii: Vec<f64> = vec![0.0, 0.25, 0.45, 0.6, 0.72, 0.81, 0.88, 0.93, 0.97, 1.0];
    let on_disc = radii.len() - 1;
    let mut step = 0.03;
    while radii.last().unwrap() < &60.0 {
        radii.push(radii.last().unwrap() + step);
        step *= 1.45;
    }
    let mut depths: Vec<f64> = vec![0.0];
    step = 0.03;
    while depths.last().unwrap() < &60.0 {
        depths.push(depths.last().unwrap() + step);
        step *= 1.5;
    }
    let (rings, layers) = (radii.len() - 1, depths.len() - 1);
    let node = |ring: usize, layer: usize| layer * rings + ring;
    let pi = std::f64::consts::PI;
    let mut body = Network::new(vec![1.0; rings * layers]);
    let middle = |edges: &[f64], i: usize| 0.5 * (edges[i] + edges[i + 1]);
    // Stiff enough to be a fixed temperature of 1.
    let stiff = 1e7;
    for layer in 0..layers {
        let height = depths[layer + 1] - depths[layer];
        for ring in 0..rings {
            let area = pi * (radii[ring + 1] * radii[ring + 1] - radii[ring] * radii[ring]);
            if ring + 1 < rings {
                let reach = libm::log(middle(&radii, ring + 1) / middle(&radii, ring));
                body.link(node(ring, layer), node(ring + 1, layer), 2.0 * pi * height / reach);
            } else {
                // The far field is at 0.
                body.lose(
                    node(ring, layer),
                    2.0 * pi * radii[ring + 1] * height / (radii[ring + 1] - middle(&radii, ring)),
                );
            }
            if layer + 1 < layers {
                let reach = middle(&depths, layer + 1) - middle(&depths, layer);
                body.link(node(ring, layer), node(ring, layer + 1), area / reach);
            } else {
                body.lose(node(ring, layer), area / (depths[layer + 1] - middle(&depths, layer)));
            }
            if layer == 0 && ring < on_disc {
                // From the surface, held at 1, to the middle of the first layer.
                let through = area / (0.5 * height);
                let held = 1.0 / (1.0 / through + 1.0 / stiff);
                body.lose(node(ring, 0), held);
                body.heat_w[node(ring, 0)] = held;
            }
        }
    }
    body.settle();
    let entering: f64 = (0..on_disc).map(|ring| body.heat_w[node(ring, 0)] * (1.0 - body.rise_k[node(ring, 0)])).sum();
    // 4ka with k = a = 1.
    assert!((entering / 4.0 - 1.0).abs() < 0.03, "{entering}");
    for ring in on_disc + 2..rings - 6 {
        let r = middle(&radii, ring);
        let truth = 2.0 / pi * libm::asin(1.0 / r);
        assert!((body.rise_k[node(ring, 0)] - truth).abs() < 0.03, "{r}: {} {truth}", body.rise_k[node(ring, 0)]);
    }
}

const PLATE: Stuff = Stuff { spread_w_per_k: 0.0035, capacity_j_per_m2_k: 7_000.0 };

/// A cosine on an insulated sheet decays with (π/L)²·kd/(ρcd) + h/(ρcd), whatever the direction.
#[test]
fn a_sheet_loses_its_waves_at_their_rate() {
    let (cells, cell_m, loss) = (50, 0.005, 16.0);
    for across in [false, true] {
        let mut sheet = Sheet::new(cells, cells, cell_m, PLATE, loss);
        let length = cells as f64 * cell_m;
        for (i, rise) in sheet.rise_k.iter_mut().enumerate() {
            let at = if across { i / cells } else { i % cells } as f64 + 0.5;
            *rise = libm::cos(3.0 * std::f64::consts::PI * at / cells as f64);
        }
        let before = sheet.rise_k[0];
        sheet.run(200.0, 2.0);
        let wave = 3.0 * std::f64::consts::PI / length;
        let rate = (wave * wave * PLATE.spread_w_per_k + loss) / PLATE.capacity_j_per_m2_k;
        let share = sheet.rise_k[0] / before;
        assert!((share / libm::exp(-rate * 200.0) - 1.0).abs() < 0.01, "{across}: {share}");
    }
}

/// Heat in = heat stored + heat lost, to 1 % as the task asks; the schemes keep it to rounding.
#[test]
fn heat_balances_close() {
    let mut sheet = Sheet::new(40, 30, 0.01, PLATE, 14.0);
    sheet.warm(|x, y| if x < 0.1 && y > 0.2 { 900.0 } else { 30.0 });
    let lost = sheet.run(500.0, 3.0);
    let heat = sheet.heat_w() * 500.0;
    assert!(((sheet.stored_j() + lost) / heat - 1.0).abs() < 1e-9, "{} {lost} {heat}", sheet.stored_j());
    assert!(lost > 0.2 * heat && lost < 0.8 * heat);

    let mut lumps = Network::chain(6, 900.0, 0.4);
    lumps.lose(0, 0.2);
    lumps.lose(5, 0.1);
    lumps.heat_w[2] = 5.0;
    let lost = lumps.run(3_000.0, 10.0);
    assert!(((lumps.stored_j() + lost) / 15_000.0 - 1.0).abs() < 1e-9);
    assert!(lost > 0.2 * 15_000.0 && lost < 0.95 * 15_000.0);
}

/// Backward Euler is first order: halving the step halves the error, and the step that scenes take errs below 1 %.
#[test]
fn steps_converge() {
    let after = |step_s: f64| {
        let mut lump = Network::new(vec![1_000.0]);
        lump.lose(0, 2.0);
        lump.heat_w[0] = 2.0;
        lump.run(500.0, step_s);
        lump.rise_k[0]
    };
    let truth = 1.0 - libm::exp(-1.0);
    let error = |step_s: f64| (after(step_s) - truth).abs();
    assert!((error(10.0) / error(5.0) - 2.0).abs() < 0.05);
    // A hundredth of the time constant.
    assert!(error(5.0) < 0.01 * truth, "{}", error(5.0));
}
