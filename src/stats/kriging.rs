//! Heights estimated from the heights around them, each with its standard error.
//!
//! The ground round a place is a tilted plane and a random field on it (universal kriging; Matheron 1969, Cressie 1993
//! chapter 3): the field's smoothness (Matern 1/2, 3/2 or 5/2), its strength against the noise, and the noise itself are
//! not chosen once. Every combination of a small grid is weighed by how well the neighbours predict each other, each left
//! out in turn (Dubrule 1983: all such residuals follow from one solution), by a likelihood with heavy tails so that a
//! blunder among them has little pull. The combinations that a whole survey speaks for weigh more: [`Field::fit`]. The
//! answer is the mean over all of them, its variance what they say together. Smooth pasture gets narrow errors, a hedge
//! bank wide ones, without anybody telling which is which.
//!
//! Invariant: an estimate of a member uses nothing of that member, neither in its value nor in the weights.
//!
//! Method: with Q an orthonormal basis of the plane at the places and C the correlation, (I - QQ')C(I - QQ') is
//! decomposed once; every strength of the field then costs one pass over the eigenvalues.

use crate::geom::Point;
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Strength of the field: its variance over that of the noise.
const STRENGTHS: [f64; 12] = [0.0625, 0.25, 1.0, 4.0, 16.0, 64.0, 256.0, 1024.0, 4096.0, 16384.0, 65536.0, 262_144.0];
/// The noise's variance over what it was said to be.
const NOISES: [f64; 4] = [0.5, 1.0, 2.0, 4.0];
/// Smoothness, and its range in spacings.
const KINDS: [(Smoothness, f64); 3] =
    [(Smoothness::Half, 6.0), (Smoothness::ThreeHalves, 3.0), (Smoothness::FiveHalves, 3.0)];
/// Degrees of freedom of the heavy-tailed likelihood.
const TAILS: f64 = 4.0;
/// Fewest members that a verdict rests on.
pub const FEWEST: usize = 6;
/// A spread below this share of the points' reach is none: points on one line have no plane through them.
const FLAT: f64 = 1e-6;

/// How smooth the field is (Matern's family).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Smoothness {
    /// Rough: exponential correlation.
    Half,
    /// Once differentiable.
    ThreeHalves,
    /// Twice differentiable.
    FiveHalves,
}

impl Smoothness {
    /// Correlation at a distance of `r` ranges.
    #[must_use]
    pub fn correlation(self, r: f64) -> f64 {
        match self {
            Self::Half => (-r).exp(),
            Self::ThreeHalves => {
                let t = 3.0_f64.sqrt() * r;
                (1.0 + t) * (-t).exp()
            }
            Self::FiveHalves => {
                let t = 5.0_f64.sqrt() * r;
                (1.0 + t + t * t / 3.0) * (-t).exp()
            }
        }
    }
}

/// A measured height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Where, metres.
    pub place: Point,
    /// Height, metres.
    pub height: f64,
    /// Variance of its own error, square metres; above zero.
    pub variance: f64,
}

/// A height estimated from those around it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Metres.
    pub height: f64,
    /// Standard error of `height` as the height of the ground, metres.
    pub standard_error: f64,
    /// The noise's variance over what it was said to be, as the neighbours have it.
    pub noise: f64,
}

impl Estimate {
    /// Standard deviation of the difference to a height measured there with such an error, metres.
    #[must_use]
    pub fn deviation_of(&self, variance: f64) -> f64 {
        (self.standard_error.powi(2) + self.noise * variance).sqrt()
    }
}

/// What is known of a field of heights before its neighbours are asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    spacing: f64,
    /// Variance that the strengths are multiples of.
    reference: f64,
    kinds: Vec<(Smoothness, f64)>,
    strengths: Vec<f64>,
    noises: Vec<f64>,
    /// Logarithms of the weights, kind by kind, strength by strength, noise by noise.
    log_weights: Vec<f64>,
}

/// The answers of every combination.
struct Answers {
    /// Target minus estimate.
    differences: Vec<f64>,
    /// Variance of that, with the noise of the target as the combination has it.
    variances: Vec<f64>,
    /// Log likelihood of the others.
    log_likelihoods: Vec<f64>,
}

impl Field {
    /// Nothing known but the spacing of the heights and the variance that is usual among them.
    #[must_use]
    pub fn unknown(spacing: f64, variance: f64) -> Self {
        let count = KINDS.len() * STRENGTHS.len() * NOISES.len();
        Self {
            spacing,
            reference: variance,
            kinds: KINDS.to_vec(),
            strengths: STRENGTHS.to_vec(),
            noises: NOISES.to_vec(),
            log_weights: vec![-(count as f64).ln(); count],
        }
    }

    /// One field and no doubt about it: its range in metres, its variance and the noise as said.
    #[must_use]
    pub fn known(smoothness: Smoothness, range: f64, variance: f64) -> Self {
        Self {
            spacing: range,
            reference: variance,
            kinds: vec![(smoothness, 1.0)],
            strengths: vec![1.0],
            noises: vec![1.0],
            log_weights: vec![0.0],
        }
    }

    /// The weights that many neighbourhoods speak for (empirical Bayes by expectation and maximisation); the first member
    /// of each is left out.
    #[must_use]
    pub fn fit<'a>(self, neighbourhoods: impl IntoIterator<Item = &'a [Measured]>) -> Self {
        let likelihoods: Vec<Vec<f64>> = neighbourhoods
            .into_iter()
            .filter_map(|block| self.answers(block))
            .map(|answers| {
                let most = answers.log_likelihoods.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                answers.log_likelihoods.into_iter().map(|value| (value - most).exp()).collect()
            })
            .collect();
        let count = self.log_weights.len();
        let mut weights = vec![1.0 / count as f64; count];
        // Sixty rounds settle to a thousandth; no weight goes to nothing, for the next neighbourhood may need it.
        for _ in 0..60 {
            let mut sum = vec![1e-4 * likelihoods.len() as f64; count];
            for likelihood in &likelihoods {
                let total: f64 = weights.iter().zip(likelihood).map(|(w, l)| w * l).sum();
                sum.iter_mut().zip(&weights).zip(likelihood).for_each(|((s, w), l)| *s += w * l / total);
            }
            let total: f64 = sum.iter().sum();
            if total > 0.0 {
                weights = sum.into_iter().map(|s| s / total).collect();
            }
        }
        Self { log_weights: weights.into_iter().map(f64::ln).collect(), ..self }
    }

    /// The height at the first member's place from the others; `None` with fewer than [`FEWEST`] others, or when they
    /// say nothing of it (all on one line, and it is not).
    #[must_use]
    pub fn without_first(&self, block: &[Measured]) -> Option<Estimate> {
        let first = block.first()?;
        self.answers(block).map(|answers| self.mean(&answers, first.height, first.variance))
    }

    /// The height of the ground at a place from the heights around it; `None` as for [`Self::without_first`].
    #[must_use]
    pub fn at(&self, place: Point, around: &[Measured]) -> Option<Estimate> {
        let target = Measured { place, height: around.first()?.height, variance: self.reference };
        let block: Vec<Measured> = std::iter::once(target).chain(around.iter().copied()).collect();
        self.without_first(&block)
    }

    fn mean(&self, answers: &Answers, height: f64, variance: f64) -> Estimate {
        let logs: Vec<f64> = answers.log_likelihoods.iter().zip(&self.log_weights).map(|(l, w)| l + w).collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.into_iter().map(|log| (log - most).exp()).collect();
        let total: f64 = weights.iter().sum();
        let mean = |of: &dyn Fn(usize) -> f64| -> f64 {
            weights.iter().enumerate().map(|(k, w)| w * of(k)).sum::<f64>() / total
        };
        let difference = mean(&|k| answers.differences[k]);
        let noise = mean(&|k| self.noises[k % self.noises.len()]);
        let spread = mean(&|k| answers.variances[k] + (answers.differences[k] - difference).powi(2));
        Estimate { height: height - difference, standard_error: (spread - noise * variance).max(0.0).sqrt(), noise }
    }

    fn answers(&self, block: &[Measured]) -> Option<Answers> {
        if block.len() <= FEWEST {
            return None;
        }
        let size = block.len();
        // All in units of each member's own sigma, so that the noise is the same for all.
        let sigma: Vec<f64> = block.iter().map(|m| m.variance.sqrt()).collect();
        let heights: Vec<f64> = block[1..].iter().map(|m| m.height).collect();
        let middle = super::median(&heights)?;
        let y = DVector::from_fn(size, |i, _| (block[i].height - middle) / sigma[i]);
        let basis = plane_basis(block, &sigma);
        let count = self.log_weights.len();
        let mut answers = Answers {
            differences: Vec::with_capacity(count),
            variances: Vec::with_capacity(count),
            log_likelihoods: Vec::with_capacity(count),
        };
        for &(smoothness, ranges) in &self.kinds {
            let range = ranges * self.spacing;
            let correlation = DMatrix::from_fn(size, size, |i, j| {
                let distance = block[i].place.distance(block[j].place);
                smoothness.correlation(distance / range) * self.reference / (sigma[i] * sigma[j])
            });
            let (values, vectors) = off_the_plane(correlation, &basis);
            let along: Vec<f64> = vectors.iter().map(|v| v.dot(&y)).collect();
            for &strength in &self.strengths {
                self.one_strength(strength, &values, &vectors, &along, &sigma, &mut answers)?;
            }
        }
        Some(answers)
    }

    /// The first member and the likelihood of the others at one strength of the field, for every noise.
    fn one_strength(
        &self,
        strength: f64,
        values: &[f64],
        vectors: &[DVector<f64>],
        along: &[f64],
        sigma: &[f64],
        answers: &mut Answers,
    ) -> Option<()> {
        let size = sigma.len();
        // The inverse covariance off the plane: its diagonal, its first column, and its product with the heights.
        let (mut diagonal, mut column, mut product) = (vec![0.0; size], vec![0.0; size], vec![0.0; size]);
        for ((value, vector), along) in values.iter().zip(vectors).zip(along) {
            let weight = 1.0 / (strength * value + 1.0);
            let (first, height) = (weight * vector[0], weight * along);
            for (i, &part) in vector.iter().enumerate() {
                diagonal[i] += weight * part * part;
                column[i] += first * part;
                product[i] += height * part;
            }
        }
        if diagonal[0] < 1e-12 {
            return None;
        }
        let difference = product[0] / diagonal[0];
        // The others without the first: one row less of the inverse. Products of all, so that logarithms are few.
        let (mut volume, mut squares) = (1.0_f64, Vec::with_capacity(size - 1));
        for i in 1..size {
            let own = diagonal[i] - column[i] * column[i] / diagonal[0];
            if own < 1e-12 {
                // A member that alone holds the plane up: it predicts itself and says nothing.
                continue;
            }
            let residual = product[i] - column[i] * difference;
            volume *= own;
            squares.push(residual * residual / own);
        }
        let scale = (TAILS - 2.0) / TAILS;
        for &noise in &self.noises {
            let tails: f64 = squares.iter().map(|square| 1.0 + (square / (noise * scale * TAILS)).min(1e11)).product();
            let spread = squares.len() as f64 * (noise * scale).ln();
            answers.log_likelihoods.push(0.5 * (volume.ln() - spread) - 0.5 * (TAILS + 1.0) * tails.ln());
            answers.differences.push(difference * sigma[0]);
            answers.variances.push(noise * sigma[0] * sigma[0] / diagonal[0]);
        }
        Some(())
    }
}

/// An orthonormal basis of the planes over the places: level, and tilted two ways as far as the places spread.
fn plane_basis(block: &[Measured], sigma: &[f64]) -> Vec<DVector<f64>> {
    let origin = block[0].place;
    let reach = block.iter().map(|m| m.place.distance(origin)).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let column = |of: &dyn Fn(&Measured) -> f64| {
        DVector::from_iterator(block.len(), block.iter().zip(sigma).map(|(m, s)| of(m) / s))
    };
    let columns =
        [column(&|_| 1.0), column(&|m| (m.place.x - origin.x) / reach), column(&|m| (m.place.y - origin.y) / reach)];
    let scale = columns[0].norm();
    let mut basis: Vec<DVector<f64>> = Vec::new();
    for mut column in columns {
        // Twice is enough (Kahan).
        for _ in 0..2 {
            for known in &basis {
                let part = known.dot(&column);
                column.axpy(-part, known, 1.0);
            }
        }
        let left = column.norm();
        if left > FLAT * scale {
            basis.push(column / left);
        }
    }
    basis
}

/// Eigenvalues and vectors of the correlation off the planes.
fn off_the_plane(mut correlation: DMatrix<f64>, basis: &[DVector<f64>]) -> (Vec<f64>, Vec<DVector<f64>>) {
    for known in basis {
        let product = &correlation * known;
        let middle = known.dot(&product);
        // (I - qq') C (I - qq'), and q itself is given the eigenvalue -1, which no correlation has.
        correlation.ger(-1.0, known, &product, 1.0);
        correlation.ger(-1.0, &product, known, 1.0);
        correlation.ger(middle, known, known, 1.0);
    }
    for known in basis {
        correlation.ger(-1.0, known, known, 1.0);
    }
    let eigen = SymmetricEigen::new(correlation);
    let of_field = (0..eigen.eigenvalues.len()).filter(|&k| eigen.eigenvalues[k] > -0.5);
    of_field.map(|k| (eigen.eigenvalues[k].max(0.0), eigen.eigenvectors.column(k).into_owned())).unzip()
}
