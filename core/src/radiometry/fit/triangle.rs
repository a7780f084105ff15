//! Linear least squares of at most four unknowns, by rotations.
//!
//! *What.* Rows `[J | r]` are rotated one by one into an upper triangle R with right side (Givens; any text on
//! numerical linear algebra, memory). *Why.* It needs no storage for the rows and the condition of R is that of J: the
//! normal equations would square it, and A, B, C and offset of a curve are strongly correlated.

/// Unknowns at most.
pub(super) const COLUMNS: usize = 4;

/// Coefficients of one row and its right side.
pub(super) type Row = [f64; COLUMNS + 1];

/// A diagonal element below this share of its column means that the column depends on those before it. A proposal:
/// well above the rounding of 16 rows (some 1e-15), well below the 1e-5 of a calibration over 100 K.
const DEPENDENT: f64 = 1e-11;

/// The triangle and the length of each column so far.
#[derive(Debug, Default)]
pub(super) struct Triangle {
    rows: [Row; COLUMNS],
    column_squares: [f64; COLUMNS],
}

impl Triangle {
    /// Adds one row, which is used up.
    pub(super) fn push(&mut self, row: &mut Row) {
        for (sum, value) in self.column_squares.iter_mut().zip(&*row) {
            *sum += value * value;
        }
        for (k, kept) in self.rows.iter_mut().enumerate() {
            let (Some(&old), Some(&new)) = (kept.get(k), row.get(k)) else { continue };
            if new == 0.0 {
                continue;
            }
            let length = libm::hypot(old, new);
            let (cosine, sine) = (old / length, new / length);
            for (a, b) in kept.iter_mut().zip(row.iter_mut()).skip(k) {
                (*a, *b) = (cosine * *a + sine * *b, cosine * *b - sine * *a);
            }
        }
    }

    /// Empties it for other rows.
    pub(super) fn clear(&mut self) {
        *self = Self::default();
    }

    /// Adds a row √λ·|column| for each of the first `unknowns`: Marquardt's damping. In place, since a copy is 192 bytes
    /// of a small stack: what was here before has to be built anew.
    pub(super) fn damp(&mut self, unknowns: usize, lambda: f64) {
        // The lengths before any of these rows came.
        let column_squares = self.column_squares;
        for (k, sum) in column_squares.iter().enumerate().take(unknowns) {
            let mut row = Row::default();
            if let Some(value) = row.get_mut(k) {
                *value = libm::sqrt(lambda * sum);
            }
            self.push(&mut row);
        }
    }

    fn right_side(&self) -> [f64; COLUMNS] {
        self.rows.map(|[.., right]| right)
    }

    /// Length of the part of the residuals that a step in the unknowns can still remove.
    pub(super) fn removable(&self, unknowns: usize) -> f64 {
        libm::sqrt(self.right_side().iter().take(unknowns).map(|right| right * right).sum::<f64>())
    }

    /// True if some column depends on those before it.
    pub(super) fn is_singular(&self, unknowns: usize) -> bool {
        self.rows.iter().zip(&self.column_squares).enumerate().take(unknowns).any(|(k, (row, squares))| {
            let diagonal = row.get(k).copied().map_or(0.0, libm::fabs);
            !(diagonal > DEPENDENT * libm::sqrt(*squares) && diagonal.is_finite())
        })
    }

    /// Least-squares solution; `None` if there is none.
    pub(super) fn solve(&self, unknowns: usize) -> Option<[f64; COLUMNS]> {
        self.back_substitute(self.right_side(), unknowns)
    }

    /// `scale`·(RᵀR)⁻¹ into `sum`: the covariance of the solution; `None` if there is none.
    pub(super) fn inverse_square(
        &self,
        unknowns: usize,
        scale: f64,
        sum: &mut [[f64; COLUMNS]; COLUMNS],
    ) -> Option<()> {
        *sum = [[0.0; COLUMNS]; COLUMNS];
        for k in 0..unknowns {
            let mut unit = [0.0; COLUMNS];
            *unit.get_mut(k)? = 1.0;
            let column = self.back_substitute(unit, unknowns)?;
            for (row, a) in sum.iter_mut().zip(&column) {
                for (cell, b) in row.iter_mut().zip(&column) {
                    *cell += scale * a * b;
                }
            }
        }
        Some(())
    }

    fn back_substitute(&self, right: [f64; COLUMNS], unknowns: usize) -> Option<[f64; COLUMNS]> {
        let mut x = [0.0; COLUMNS];
        for (k, (row, right)) in self.rows.iter().zip(&right).enumerate().take(unknowns).rev() {
            let known: f64 = row.iter().zip(&x).skip(k + 1).map(|(a, b)| a * b).sum();
            let value = (right - known) / row.get(k)?;
            if !value.is_finite() {
                return None;
            }
            *x.get_mut(k)? = value;
        }
        Some(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y = 1 + 2x − x² through five points, with a fifth-of-a-unit scatter orthogonal to the model.
    fn parabola() -> Triangle {
        let mut triangle = Triangle::default();
        let scatter = [1.0, -4.0, 6.0, -4.0, 1.0]; // fourth difference: orthogonal to every parabola on even points
        for (x, s) in [-2.0, -1.0, 0.0, 1.0, 2.0].into_iter().zip(scatter) {
            triangle.push(&mut [1.0, x, x * x, 0.0, 1.0 + 2.0 * x - x * x + 0.2 * s]);
        }
        triangle
    }

    #[test]
    fn least_squares_and_its_covariance() {
        let triangle = parabola();
        let x = triangle.solve(3).unwrap();
        for (got, wanted) in x.iter().zip([1.0, 2.0, -1.0, 0.0]) {
            assert!((got - wanted).abs() < 1e-14, "{x:?}");
        }
        // (JᵀJ)⁻¹ by hand: sums of 1, x², x⁴ are 5, 10, 34.
        let mut c = [[1.0; COLUMNS]; COLUMNS];
        triangle.inverse_square(3, 2.0, &mut c).unwrap();
        let wanted = [[34.0 / 70.0, 0.0, -10.0 / 70.0], [0.0, 0.1, 0.0], [-10.0 / 70.0, 0.0, 5.0 / 70.0]];
        for (got, wanted) in c.iter().zip(&wanted) {
            for (got, wanted) in got.iter().zip(wanted) {
                assert!((got - 2.0 * wanted).abs() < 1e-14, "{c:?}");
            }
        }
    }

    #[test]
    fn dependent_columns_are_seen() {
        assert!(!parabola().is_singular(3));
        assert!(parabola().is_singular(4), "a column of zeros");
        let mut triangle = Triangle::default();
        for x in [1.0, 2.0, 3.0] {
            triangle.push(&mut [x, 3.0 * x + 1.0, 6.0 * x + 2.0, 0.0, x]);
        }
        assert!(!triangle.is_singular(2) && triangle.is_singular(3));
    }
}
