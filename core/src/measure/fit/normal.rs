//! Normal equations of up to three parameters, and their inverse.

/// Weighted sums of a linear least-squares problem: J^T·W·J and J^T·W·r, as the six different entries (00, 01, 02, 11, 12,
/// 22) and the three sides.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::measure) struct Normal {
    matrix: [f64; 6],
    side: [f64; 3],
}

/// Solution and the diagonal of the inverse matrix: variances of the parameters in units of the residual variance.
#[derive(Clone, Copy, Debug)]
pub(in crate::measure) struct Solution {
    pub(in crate::measure) parameters: [f64; 3],
    pub(in crate::measure) variances: [f64; 3],
}

impl Normal {
    /// Adds an equation: the derivatives by the parameters, the residual, and the weight.
    pub(in crate::measure) fn add(&mut self, [a, b, c]: [f64; 3], residual: f64, weight: f64) {
        let products = [a * a, a * b, a * c, b * b, b * c, c * c];
        for (sum, product) in self.matrix.iter_mut().zip(products) {
            *sum += weight * product;
        }
        for (sum, derivative) in self.side.iter_mut().zip([a, b, c]) {
            *sum += weight * derivative * residual;
        }
    }

    /// Holds the first parameter where it is: its step is 0, and the others are solved without it.
    pub(super) fn hold_first(&mut self) {
        let [_, _, _, m11, m12, m22] = self.matrix;
        let [_, s1, s2] = self.side;
        self.matrix = [1.0, 0.0, 0.0, m11, m12, m22];
        self.side = [0.0, s1, s2];
    }

    /// Solves by the adjugate, after scaling the diagonal to one. `None` if the parameters do not determine each other.
    pub(in crate::measure) fn solve(&self) -> Option<Solution> {
        let [m00, m01, m02, m11, m12, m22] = self.matrix;
        if !(m00 > 0.0 && m11 > 0.0 && m22 > 0.0) {
            return None;
        }
        let scale = [m00, m11, m22].map(|diagonal| 1.0 / libm::sqrt(diagonal));
        let [s0, s1, s2] = scale;
        let (a, b, c) = (m01 * s0 * s1, m02 * s0 * s2, m12 * s1 * s2);
        let determinant = 1.0 + 2.0 * a * b * c - a * a - b * b - c * c;
        // Of a correlation matrix: 1 if independent, 0 if one parameter follows from the others. Below 1e-12 half the
        // digits of the cofactors are gone.
        if determinant.is_nan() || determinant < 1e-12 {
            return None;
        }
        let (c00, c11, c22) = (1.0 - c * c, 1.0 - b * b, 1.0 - a * a);
        let (c01, c02, c12) = (b * c - a, a * c - b, a * b - c);
        let [r0, r1, r2] = self.side;
        let (r0, r1, r2) = (r0 * s0, r1 * s1, r2 * s2);
        let parameters = [
            s0 * (c00 * r0 + c01 * r1 + c02 * r2) / determinant,
            s1 * (c01 * r0 + c11 * r1 + c12 * r2) / determinant,
            s2 * (c02 * r0 + c12 * r1 + c22 * r2) / determinant,
        ];
        let variances = [s0 * s0 * c00 / determinant, s1 * s1 * c11 / determinant, s2 * s2 * c22 / determinant];
        Some(Solution { parameters, variances })
    }
}

/// Steps of the iteration at most. A start from a linearized fit needs about six.
const STEPS: usize = 40;

/// Nonlinear least squares by Gauss–Newton with halved steps. `model` gives value and derivatives at a place;
/// `scales` are sizes against which the steps of the parameters are small (1e-10 of them); with `hold` the first parameter
/// is fixed. Returns parameters, unscaled variances and the sum of squares; `None` if it does not converge.
pub(super) fn gauss_newton(
    points: impl Iterator<Item = (f64, f64)> + Clone,
    model: impl Fn([f64; 3], f64) -> (f64, [f64; 3]),
    start: [f64; 3],
    scales: [f64; 3],
    hold: bool,
) -> Option<(Solution, f64)> {
    let squares_of = |parameters: [f64; 3]| {
        points.clone().map(|(x, y)| y - model(parameters, x).0).map(|residual| residual * residual).sum::<f64>()
    };
    let (mut parameters, mut squares) = (start, squares_of(start));
    for _ in 0..STEPS {
        let mut normal = Normal::default();
        for (x, y) in points.clone() {
            let (value, derivatives) = model(parameters, x);
            normal.add(derivatives, y - value, 1.0);
        }
        if hold {
            normal.hold_first();
        }
        let solution = normal.solve()?;
        let moved = |part: f64| {
            let mut next = parameters;
            for (to, step) in next.iter_mut().zip(solution.parameters) {
                *to += part * step;
            }
            next
        };
        let below = |part: f64| scales.iter().zip(solution.parameters).all(|(s, step)| libm::fabs(step) <= part * s);
        let mut part = 1.0;
        let (mut next, mut next_squares) = (moved(part), squares_of(moved(part)));
        while (next_squares.is_nan() || next_squares > squares) && part > 1e-3 {
            part /= 2.0;
            (next, next_squares) = (moved(part), squares_of(moved(part)));
        }
        let better = next_squares <= squares;
        if better {
            (parameters, squares) = (next, next_squares);
        }
        // At the minimum, rounding keeps the last step from improving; that too is the end.
        if below(1e-10) || (!better && below(1e-6)) {
            return Some((Solution { parameters, variances: solution.variances }, squares));
        }
        if !better {
            return None;
        }
    }
    None
}
