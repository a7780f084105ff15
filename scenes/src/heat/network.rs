//! Lumps joined by conductances: wheel ends, battery cells, fuse boxes, and chains that stand for slabs and fins.
//!
//! Backward Euler with the matrix factored once per step length: unconditionally stable and free of overshoot, first
//! order in time; scenes take steps of a hundredth of the time constant they show.

/// A network of heat capacities. Rises are over the air that all losses go to.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    /// Heat capacity of each node in J/K (> 0).
    capacity: Vec<f64>,
    /// Conductance matrix: losses and links on the diagonal, links negative beside it; W/K.
    matrix: Vec<f64>,
    /// Loss of each node in W/K.
    loss: Vec<f64>,
    /// Heat put into each node in W.
    pub heat_w: Vec<f64>,
    /// Rise of each node in K.
    pub rise_k: Vec<f64>,
}

impl Network {
    /// Nodes at air temperature, with no links, losses or heat.
    #[must_use]
    pub fn new(capacity_j_per_k: Vec<f64>) -> Self {
        let count = capacity_j_per_k.len();
        Self {
            capacity: capacity_j_per_k,
            matrix: vec![0.0; count * count],
            loss: vec![0.0; count],
            heat_w: vec![0.0; count],
            rise_k: vec![0.0; count],
        }
    }

    /// A slab or bar of `count` equal cells: total capacity in J/K, total conductance from end to end in W/K.
    #[must_use]
    pub fn chain(count: usize, capacity_j_per_k: f64, conductance_w_per_k: f64) -> Self {
        let mut chain = Self::new(vec![capacity_j_per_k / count as f64; count]);
        for i in 1..count {
            chain.link(i - 1, i, conductance_w_per_k * count as f64);
        }
        chain
    }

    /// Joins two nodes with a conductance in W/K, in addition to what joins them already.
    pub fn link(&mut self, a: usize, b: usize, w_per_k: f64) {
        let count = self.capacity.len();
        self.matrix[a * count + a] += w_per_k;
        self.matrix[b * count + b] += w_per_k;
        self.matrix[a * count + b] -= w_per_k;
        self.matrix[b * count + a] -= w_per_k;
    }

    /// Lets a node lose heat to the air, in W/K, in addition to what it loses already.
    pub fn lose(&mut self, node: usize, w_per_k: f64) {
        self.matrix[node * self.capacity.len() + node] += w_per_k;
        self.loss[node] += w_per_k;
    }

    /// Scales all losses by a factor (a vehicle stops, a fan starts); links stay.
    pub fn scale_losses(&mut self, factor: f64) {
        let count = self.capacity.len();
        for (node, loss) in self.loss.iter_mut().enumerate() {
            self.matrix[node * count + node] += *loss * (factor - 1.0);
            *loss *= factor;
        }
    }

    /// Heat that goes to the air now, in W.
    #[must_use]
    pub fn loss_w(&self) -> f64 {
        self.loss.iter().zip(&self.rise_k).map(|(g, t)| g * t).sum()
    }

    /// Heat held over that at air temperature, in J.
    #[must_use]
    pub fn stored_j(&self) -> f64 {
        self.capacity.iter().zip(&self.rise_k).map(|(c, t)| c * t).sum()
    }

    /// Runs for `seconds` in equal steps of at most `step_s`. Returns the heat lost to the air in J.
    pub fn run(&mut self, seconds: f64, step_s: f64) -> f64 {
        let steps = libm::ceil(seconds / step_s).max(1.0);
        let step = seconds / steps;
        if step <= 0.0 {
            return 0.0;
        }
        let count = self.capacity.len();
        let mut factors = self.matrix.clone();
        for (node, capacity) in self.capacity.iter().enumerate() {
            factors[node * count + node] += capacity / step;
        }
        factor(&mut factors, count);
        let mut lost = 0.0;
        for _ in 0..steps as u64 {
            for (node, rise) in self.rise_k.iter_mut().enumerate() {
                *rise = *rise * self.capacity[node] / step + self.heat_w[node];
            }
            solve(&factors, &mut self.rise_k);
            lost += self.loss_w() * step;
        }
        lost
    }

    /// Goes to the steady state at once; every node must be connected to a loss.
    pub fn settle(&mut self) {
        let count = self.capacity.len();
        let mut factors = self.matrix.clone();
        factor(&mut factors, count);
        self.rise_k.clone_from(&self.heat_w);
        solve(&factors, &mut self.rise_k);
    }
}

/// Factors a symmetric positive definite matrix in place into unit-lower L and diagonal D.
fn factor(matrix: &mut [f64], count: usize) {
    for j in 0..count {
        for k in 0..j {
            let ljk = matrix[j * count + k];
            let scaled = ljk * matrix[k * count + k];
            matrix[j * count + j] -= ljk * scaled;
            for i in j + 1..count {
                matrix[i * count + j] -= matrix[i * count + k] * scaled;
            }
        }
        let pivot = matrix[j * count + j];
        for i in j + 1..count {
            matrix[i * count + j] /= pivot;
        }
    }
}

/// Solves L·D·Lᵀ·x = b in place.
fn solve(factors: &[f64], x: &mut [f64]) {
    let count = x.len();
    for i in 0..count {
        let known: f64 = (0..i).map(|k| factors[i * count + k] * x[k]).sum();
        x[i] -= known;
    }
    for i in (0..count).rev() {
        let known: f64 = (i + 1..count).map(|k| factors[k * count + i] * x[k]).sum();
        x[i] = x[i] / factors[i * count + i] - known;
    }
}
