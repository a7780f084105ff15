//! A thin sheet with heat spreading in its plane: glass, trim, seat cover, shield.
//!
//! ρcd·∂T/∂t = kd·∇²T − h·T + q by the Peaceman–Rachford scheme (alternating directions): second order in space and
//! time, stable at any step. Edges are insulated.

/// What a sheet is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stuff {
    /// Conductivity times thickness in W/K.
    pub spread_w_per_k: f64,
    /// Heat capacity of an area in J/(m² K).
    pub capacity_j_per_m2_k: f64,
}

/// A rectangular sheet of square cells; rises are over the air.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    columns: usize,
    rows: usize,
    cell_m: f64,
    stuff: Stuff,
    /// Loss of each cell to the air, both faces together, in W/(m² K).
    pub loss_w_per_m2_k: Vec<f64>,
    /// Heat put into each cell in W/m².
    pub heat_w_per_m2: Vec<f64>,
    /// Rise of each cell in K, row by row.
    pub rise_k: Vec<f64>,
}

impl Sheet {
    /// A sheet at air temperature that loses `loss` W/(m² K) everywhere.
    #[must_use]
    pub fn new(columns: usize, rows: usize, cell_m: f64, stuff: Stuff, loss: f64) -> Self {
        let cells = columns * rows;
        Self {
            columns,
            rows,
            cell_m,
            stuff,
            loss_w_per_m2_k: vec![loss; cells],
            heat_w_per_m2: vec![0.0; cells],
            rise_k: vec![0.0; cells],
        }
    }

    /// Runs for `seconds` in equal steps of at most `step_s`; returns the heat lost to the air in J.
    pub fn run(&mut self, seconds: f64, step_s: f64) -> f64 {
        let steps = libm::ceil(seconds / step_s).max(1.0);
        let half = 0.5 * seconds / steps;
        if half <= 0.0 {
            return 0.0;
        }
        let area = self.cell_m * self.cell_m;
        let mut lost = 0.0;
        for _ in 0..steps as u64 {
            for along_rows in [true, false] {
                let before = self.rise_k.clone();
                self.half_step(half, along_rows);
                let pairs = before.iter().zip(&self.rise_k).zip(&self.loss_w_per_m2_k);
                lost += pairs.map(|((a, b), h)| 0.5 * h * (a + b)).sum::<f64>() * area * half;
            }
        }
        lost
    }

    /// Half a step, implicit in one direction.
    fn half_step(&mut self, seconds: f64, along_rows: bool) {
        let spread = self.stuff.spread_w_per_k / (self.cell_m * self.cell_m);
        let inertia = self.stuff.capacity_j_per_m2_k / seconds;
        let (columns, rows) = (self.columns, self.rows);
        let (length, lines, stride, jump) =
            if along_rows { (columns, rows, 1, columns) } else { (rows, columns, columns, 1) };
        let old = self.rise_k.clone();
        let mut upper = vec![0.0; length];
        let mut known = vec![0.0; length];
        for line in 0..lines {
            let first = line * jump;
            for i in 0..length {
                let at = first + i * stride;
                let here = old[at];
                let mut across = 0.0;
                if line > 0 {
                    across += old[at - jump] - here;
                }
                if line + 1 < lines {
                    across += old[at + jump] - here;
                }
                let half_loss = 0.5 * self.loss_w_per_m2_k[at];
                let right = (inertia - half_loss) * here + spread * across + self.heat_w_per_m2[at];
                let ends = f64::from(u8::from(i > 0)) + f64::from(u8::from(i + 1 < length));
                let diagonal = inertia + half_loss + spread * ends;
                // Thomas algorithm, forward part.
                let (above, before) = if i > 0 { (upper[i - 1], known[i - 1]) } else { (0.0, 0.0) };
                let lower = if i > 0 { -spread } else { 0.0 };
                let pivot = 1.0 / (diagonal - lower * above);
                upper[i] = if i + 1 < length { -spread * pivot } else { 0.0 };
                known[i] = (right - lower * before) * pivot;
            }
            for i in (0..length).rev() {
                let next = if i + 1 < length { self.rise_k[first + (i + 1) * stride] } else { 0.0 };
                self.rise_k[first + i * stride] = known[i] - upper[i] * next;
            }
        }
    }

    /// Heat held over that at air temperature, in J.
    #[must_use]
    pub fn stored_j(&self) -> f64 {
        let sum: f64 = self.rise_k.iter().sum();
        sum * self.stuff.capacity_j_per_m2_k * self.cell_m * self.cell_m
    }

    /// Heat put in, in W.
    #[must_use]
    pub fn heat_w(&self) -> f64 {
        self.heat_w_per_m2.iter().sum::<f64>() * self.cell_m * self.cell_m
    }

    /// Sets the heat of cells whose centers, in m from the upper left corner, are asked for.
    pub fn warm(&mut self, w_per_m2: impl Fn(f64, f64) -> f64) {
        for row in 0..self.rows {
            for column in 0..self.columns {
                let (x, y) = ((column as f64 + 0.5) * self.cell_m, (row as f64 + 0.5) * self.cell_m);
                self.heat_w_per_m2[row * self.columns + column] = w_per_m2(x, y);
            }
        }
    }

    /// Rise in K at a point in m from the upper left corner: bilinear between cell centers, constant beyond them.
    #[must_use]
    pub fn at(&self, x_m: f64, y_m: f64) -> f64 {
        sample(&self.rise_k, self.columns, self.rows, x_m / self.cell_m - 0.5, y_m / self.cell_m - 0.5)
    }
}

/// Bilinear reading of a grid at a column and row, clamped to it.
#[must_use]
pub fn sample(values: &[f64], columns: usize, rows: usize, column: f64, row: f64) -> f64 {
    let column = column.clamp(0.0, (columns - 1) as f64);
    let row = row.clamp(0.0, (rows - 1) as f64);
    let (c, r) = ((column as usize).min(columns.max(2) - 2), (row as usize).min(rows.max(2) - 2));
    let (u, v) = (column - c as f64, row - r as f64);
    let (c1, r1) = ((c + 1).min(columns - 1), (r + 1).min(rows - 1));
    let line = |row: usize| values[row * columns + c] * (1.0 - u) + values[row * columns + c1] * u;
    line(r) * (1.0 - v) + line(r1) * v
}
