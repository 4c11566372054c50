//! A correlation seen off the planes over its places, in a form in which every strength of the field costs one pass.
//!
//! With N an orthonormal basis of all that is no plane and C the correlation, N'CN = ZTZ' with T tridiagonal (Householder
//! 1958; Golub and Van Loan, Matrix Computations, 8.3). With V = NZ the inverse covariance off the planes at a strength s
//! and noise one is V (sT + I)^-1 V', and sT + I = LDL' with L of two diagonals: its diagonal, its first column and its
//! product with the heights follow from V L^-' column by column. No eigenvalue is asked for.
//!
//! Rows are padded with zeros to a multiple of four, so that loops have no remainder; the order of every sum is fixed.

/// Rows are padded to a multiple of this.
const LANES: usize = 4;
/// A spread below this share of the points' reach is none: points on one line have no plane through them.
const FLAT: f64 = 1e-6;

fn padded(size: usize) -> usize {
    size.div_ceil(LANES) * LANES
}

/// Reflections I - uu' with |u|^2 = 2, each with the first place where its u is not zero.
#[derive(Debug, Clone, Default)]
struct Reflections {
    from: Vec<usize>,
    parts: Vec<f64>,
}

/// The planes over some places: level, and tilted two ways as far as the places spread.
#[derive(Debug, Clone)]
pub(super) struct PlaneBasis {
    size: usize,
    /// Turn the planes into the first unit vectors.
    turns: Reflections,
}

impl PlaneBasis {
    /// From the heights of the three planes at each place.
    pub(super) fn new(planes: &[[f64; 3]]) -> Self {
        let (size, stride) = (planes.len(), padded(planes.len()));
        let mut columns = [0, 1, 2].map(|k| {
            let mut column: Vec<f64> = planes.iter().map(|plane| plane[k]).collect();
            column.resize(stride, 0.0);
            column
        });
        let scale = dot(&columns[0], &columns[0]).sqrt();
        let mut turns = Reflections::default();
        for k in 0..3 {
            let done = turns.from.len();
            let mut turn = vec![0.0; stride];
            turn[done..size].copy_from_slice(&columns[k][done..size]);
            if reflection(&mut turn, done, FLAT * scale).is_none() {
                continue;
            }
            for column in &mut columns[k + 1..] {
                let part = dot(&turn, column);
                add(column, -part, &turn);
            }
            turns.from.push(done);
            turns.parts.extend(turn);
        }
        Self { size, turns }
    }
}

/// Makes of x the u that turns x to the direction of the unit vector `at`; gives the length of x with the sign that it
/// then has, or `None` when x is no longer than `least`.
fn reflection(x: &mut [f64], at: usize, least: f64) -> Option<f64> {
    let length = dot(x, x).sqrt();
    if length <= least {
        return None;
    }
    // Away from x, so that nothing cancels.
    let turned = -length.copysign(x[at]);
    x[at] -= turned;
    let scale = (2.0 / dot(x, x)).sqrt();
    x.iter_mut().for_each(|part| *part *= scale);
    Some(turned)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; LANES];
    for (a, b) in a.chunks_exact(LANES).zip(b.chunks_exact(LANES)) {
        for lane in 0..LANES {
            sums[lane] += a[lane] * b[lane];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3])
}

fn add(to: &mut [f64], times: f64, what: &[f64]) {
    to.iter_mut().zip(what).for_each(|(to, what)| *to += times * what);
}

/// A correlation off the planes.
#[derive(Debug, Clone)]
pub(super) struct OffPlane {
    size: usize,
    /// The diagonal of T, and the one beside it.
    middle: Vec<f64>,
    beside: Vec<f64>,
    /// The columns of V, each padded.
    columns: Vec<f64>,
}

/// The first member without itself, and the others each without itself and the first, at one strength and noise one.
#[derive(Debug, Clone)]
pub(super) struct LeftOut {
    /// The first minus what the others say of it.
    pub(super) difference: f64,
    /// Variance of that.
    pub(super) variance: f64,
    /// Squares of the others' differences over their variances; a member that alone holds the plane up has none.
    pub(super) squares: Vec<f64>,
    /// Sum of the logarithms of those inverse variances.
    pub(super) log_volume: f64,
}

impl OffPlane {
    /// Of the correlation that is asked for row by row, each up to its diagonal.
    pub(super) fn of(basis: &PlaneBasis, mut correlation: impl FnMut(usize, usize) -> f64) -> Self {
        let (size, stride) = (basis.size, padded(basis.size));
        let mut matrix = vec![0.0; size * stride];
        for i in 0..size {
            for j in 0..=i {
                let value = correlation(i, j);
                (matrix[i * stride + j], matrix[j * stride + i]) = (value, value);
            }
        }
        let mut product = vec![0.0; stride];
        for (&from, turn) in basis.turns.from.iter().zip(basis.turns.parts.chunks_exact(stride)) {
            turn_both_sides(&mut matrix, &mut product, turn, from, size);
        }
        let first = basis.turns.from.len();
        let mut turns = basis.turns.clone();
        let (mut middle, mut beside) = (Vec::with_capacity(size - first), Vec::with_capacity(size - first));
        let mut turn = vec![0.0; stride];
        for k in first..size {
            middle.push(matrix[k * stride + k]);
            if k + 1 == size {
                break;
            }
            turn.fill(0.0);
            turn[k + 1..size].copy_from_slice(&matrix[k * stride + k + 1..k * stride + size]);
            let Some(length) = reflection(&mut turn, k + 1, 0.0) else {
                beside.push(0.0);
                continue;
            };
            beside.push(length);
            turn_both_sides(&mut matrix, &mut product, &turn, k + 1, size);
            turns.from.push(k + 1);
            turns.parts.extend_from_slice(&turn);
        }
        // Unit vectors turned back, last turn first; a turn leaves those before it alone.
        let mut columns = vec![0.0; (size - first) * stride];
        for (k, column) in columns.chunks_exact_mut(stride).enumerate() {
            column[first + k] = 1.0;
        }
        for (&from, turn) in turns.from.iter().zip(turns.parts.chunks_exact(stride)).rev() {
            let aligned = from / LANES * LANES;
            for column in columns.chunks_exact_mut(stride).skip(from.saturating_sub(first)) {
                let part = dot(&turn[aligned..], &column[aligned..]);
                add(&mut column[aligned..], -part, &turn[aligned..]);
            }
        }
        Self { size, middle, beside, columns }
    }

    /// The parts of heights along the columns.
    pub(super) fn parts_of(&self, heights: &[f64]) -> Vec<f64> {
        let mut padded_heights = heights.to_vec();
        padded_heights.resize(padded(self.size), 0.0);
        self.columns.chunks_exact(padded(self.size)).map(|column| dot(column, &padded_heights)).collect()
    }

    /// Leaves each member out in turn; `None` when the others say nothing of the first.
    pub(super) fn left_out(&self, strength: f64, parts: &[f64]) -> Option<LeftOut> {
        let stride = padded(self.size);
        let mut sums = vec![0.0; 4 * stride];
        let (diagonal, rest) = sums.split_at_mut(stride);
        let (column, rest) = rest.split_at_mut(stride);
        let (product, current) = rest.split_at_mut(stride);
        let (mut pivot, mut height) = (1.0, 0.0);
        for (k, (&part, v)) in parts.iter().zip(self.columns.chunks_exact(stride)).enumerate() {
            let across = if k == 0 { 0.0 } else { strength * self.beside[k - 1] };
            let below = across / pivot;
            pivot = strength * self.middle[k] + 1.0 - below * across;
            height = part - below * height;
            let weight = 1.0 / pivot;
            let first = weight * (v[0] - below * current[0]);
            let along = weight * height;
            for ((((current, v), diagonal), column), product) in
                current.iter_mut().zip(v).zip(&mut *diagonal).zip(&mut *column).zip(&mut *product)
            {
                let own = v - below * *current;
                *current = own;
                *diagonal += weight * own * own;
                *column += first * own;
                *product += along * own;
            }
        }
        if diagonal[0] < 1e-12 {
            return None;
        }
        let variance = 1.0 / diagonal[0];
        let difference = product[0] * variance;
        // The others without the first: one row less of the inverse. Products of all, so that logarithms are few.
        let (mut volume, mut squares) = (1.0_f64, Vec::with_capacity(self.size - 1));
        for i in 1..self.size {
            let own = diagonal[i] - column[i] * column[i] * variance;
            if own < 1e-12 {
                continue;
            }
            let residual = product[i] - column[i] * difference;
            volume *= own;
            squares.push(residual * residual / own);
        }
        Some(LeftOut { difference, variance, squares, log_volume: volume.ln() })
    }
}

/// (I - uu') A (I - uu') for the part of a symmetric matrix from `from` on; what stands before it is not needed again.
fn turn_both_sides(matrix: &mut [f64], product: &mut [f64], turn: &[f64], from: usize, size: usize) {
    let stride = turn.len();
    let aligned = from / LANES * LANES;
    let turn_part = &turn[aligned..];
    product.fill(0.0);
    for i in from..size {
        product[i] = dot(&matrix[i * stride + aligned..(i + 1) * stride], turn_part);
    }
    let half = 0.5 * dot(product, turn);
    add(product, -half, turn);
    for i in from..size {
        let (own, across) = (turn[i], product[i]);
        let row = &mut matrix[i * stride + aligned..(i + 1) * stride];
        for ((cell, turn), product) in row.iter_mut().zip(turn_part).zip(&product[aligned..]) {
            *cell -= own * product + across * turn;
        }
    }
}
