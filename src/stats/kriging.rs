//! Heights estimated from the heights around them, each with its standard error.
//!
//! The ground round a place is a tilted plane and a random field on it (universal kriging; Matheron 1969, Cressie 1993
//! chapter 3): the field's smoothness (Matern 1/2, 3/2 or 5/2), its strength against the noise, and the noise itself are
//! not chosen once. Every combination of a small grid is weighed by how well the neighbours predict each other, each left
//! out in turn (Dubrule 1983: all such residuals follow from one solution), by a likelihood with heavy tails so that a
//! blunder among them has little pull. A wary field ([`Field::wary`]) takes the worst seventh of the residuals as if they agreed (a
//! trimmed likelihood): a blunder spoils those of its neighbours too, and must not make the ground look rough to them. The combinations that a whole survey speaks for weigh more: [`Field::fit`]. The
//! answer is the mean over all of them, its variance what they say together. Smooth pasture gets narrow errors, a hedge
//! bank wide ones, without anybody telling which is which.
//!
//! Invariant: an estimate of a member uses nothing of that member, neither in its value nor in the weights.
//!
//! Method: `off_plane` brings the correlation into a form in which every strength of the field costs one pass.

use super::off_plane::{OffPlane, PlaneBasis};
use crate::geom::Point;

/// Strength of the field: its variance over that of the noise.
const STRENGTHS: [f64; 12] = [0.0625, 0.25, 1.0, 4.0, 16.0, 64.0, 256.0, 1024.0, 4096.0, 16384.0, 65536.0, 262_144.0];
/// The noise's variance over what it was said to be.
const NOISES: [f64; 4] = [0.5, 1.0, 2.0, 4.0];
/// Smoothness, and its range in spacings.
const KINDS: [(Smoothness, f64); 3] =
    [(Smoothness::Half, 6.0), (Smoothness::ThreeHalves, 3.0), (Smoothness::FiveHalves, 3.0)];
/// Degrees of freedom of the heavy-tailed likelihood.
const TAILS: f64 = 4.0;
/// Share of the members whose residuals, the worst ones, count as none: three of the 23 that a shot on the ground is judged by, one of
/// the ten along a line. Common practice, no source; trials on real ground chose it (docs/accuracy.md).
const TRIMMED: f64 = 0.14;
/// A strength that has less weight than this among all is not thought of again.
const IDLE: f64 = 0.005;
/// Fewest members that a verdict rests on.
pub const FEWEST: usize = 6;

/// How smooth the field is (Matern's family).
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
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
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Field {
    /// Variance that the strengths are multiples of.
    reference: f64,
    kinds: Vec<Kind>,
    noises: Vec<f64>,
    /// Logarithms of the weights, kind by kind, strength by strength, noise by noise.
    log_weights: Vec<f64>,
    /// Share of the neighbours' residuals, the worst ones, that count as none.
    trimmed: f64,
}

/// A smoothness with its range, metres, and the strengths that come into question.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct Kind {
    smoothness: Smoothness,
    range: f64,
    strengths: Vec<f64>,
}

/// What the neighbours of a place say of it and of themselves, combination by combination; knows nothing of weights.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Height of the first member minus that of the others, metres, for every kind and strength.
    differences: Vec<f64>,
    /// Variance of that over the noise's, in the first member's own variance.
    variances: Vec<f64>,
    /// Log likelihood of the others, for every noise too.
    log_likelihoods: Vec<f64>,
    /// The first member.
    height: f64,
    variance: f64,
}

impl Field {
    /// Nothing known but the spacing of the heights and the variance that is usual among them.
    #[must_use]
    pub fn unknown(spacing: f64, variance: f64) -> Self {
        let count = KINDS.len() * STRENGTHS.len() * NOISES.len();
        let kind = |(smoothness, spacings): (Smoothness, f64)| Kind {
            smoothness,
            range: spacings * spacing,
            strengths: STRENGTHS.to_vec(),
        };
        Self {
            reference: variance,
            kinds: KINDS.map(kind).to_vec(),
            noises: NOISES.to_vec(),
            log_weights: vec![-(count as f64).ln(); count],
            trimmed: 0.0,
        }
    }

    /// One field and no doubt about it: its range in metres, its variance and the noise as said.
    #[must_use]
    pub fn known(smoothness: Smoothness, range: f64, variance: f64) -> Self {
        Self {
            reference: variance,
            kinds: vec![Kind { smoothness, range, strengths: vec![1.0] }],
            noises: vec![1.0],
            log_weights: vec![0.0],
            trimmed: 0.0,
        }
    }

    /// One to which some of the neighbours may be blunders.
    #[must_use]
    pub fn wary(self) -> Self {
        Self { trimmed: TRIMMED, ..self }
    }

    /// The weights that many neighbourhoods speak for; the first member of each is left out.
    #[must_use]
    pub fn fit<'a>(self, neighbourhoods: impl IntoIterator<Item = &'a [Measured]>) -> Self {
        let evidence: Vec<Evidence> = neighbourhoods.into_iter().filter_map(|block| self.evidence(block)).collect();
        self.learned(&evidence)
    }

    /// The weights that the evidence of many neighbourhoods speaks for (empirical Bayes by expectation and maximisation).
    #[must_use]
    pub fn learned<'a>(self, evidence: impl IntoIterator<Item = &'a Evidence>) -> Self {
        let likelihoods: Vec<Vec<f64>> = evidence
            .into_iter()
            .map(|evidence| {
                let most = evidence.log_likelihoods.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                evidence.log_likelihoods.iter().map(|value| (value - most).exp()).collect()
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
        self.without_idle(&weights)
    }

    /// With these weights, and without the strengths that next to nothing spoke for: they would cost as much as the others.
    fn without_idle(self, weights: &[f64]) -> Self {
        let mut of_strength = weights.chunks_exact(self.noises.len());
        let mut log_weights = Vec::with_capacity(weights.len());
        let mut kinds = self.kinds;
        for kind in &mut kinds {
            kind.strengths.retain(|_| {
                let weights = of_strength.next().unwrap_or_default();
                let keep = weights.iter().sum::<f64>() > IDLE;
                log_weights.extend(weights.iter().filter(|_| keep).map(|weight| weight.ln()));
                keep
            });
        }
        kinds.retain(|kind| !kind.strengths.is_empty());
        Self { kinds, log_weights, ..self }
    }

    /// The height at the first member's place from the others; `None` with fewer than [`FEWEST`] others, or when they
    /// say nothing of it (all on one line, and it is not).
    #[must_use]
    pub fn without_first(&self, block: &[Measured]) -> Option<Estimate> {
        self.evidence(block).map(|evidence| self.estimate(&evidence))
    }

    /// The height of the ground at a place from the heights around it; `None` as for [`Self::without_first`].
    #[must_use]
    pub fn at(&self, place: Point, around: &[Measured]) -> Option<Estimate> {
        let target = Measured { place, height: around.first()?.height, variance: self.reference };
        let block: Vec<Measured> = std::iter::once(target).chain(around.iter().copied()).collect();
        self.without_first(&block)
    }

    /// The mean over all combinations by their weights.
    #[must_use]
    pub fn estimate(&self, evidence: &Evidence) -> Estimate {
        let noises = self.noises.len();
        let logs: Vec<f64> = evidence.log_likelihoods.iter().zip(&self.log_weights).map(|(l, w)| l + w).collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.into_iter().map(|log| (log - most).exp()).collect();
        let total: f64 = weights.iter().sum();
        let mean = |of: &dyn Fn(usize, f64) -> f64| -> f64 {
            let of_strength = |(k, weights): (usize, &[f64])| -> f64 {
                weights.iter().zip(&self.noises).map(|(weight, noise)| weight * of(k, *noise)).sum()
            };
            weights.chunks_exact(noises).enumerate().map(of_strength).sum::<f64>() / total
        };
        let difference = mean(&|k, _| evidence.differences[k]);
        let noise = mean(&|_, noise| noise);
        let spread = mean(&|k, noise| {
            noise * evidence.variance * evidence.variances[k] + (evidence.differences[k] - difference).powi(2)
        });
        let standard_error = (spread - noise * evidence.variance).max(0.0).sqrt();
        Estimate { height: evidence.height - difference, standard_error, noise }
    }

    /// What the members say of the first one's place and of each other; `None` as for [`Self::without_first`].
    #[must_use]
    pub fn evidence(&self, block: &[Measured]) -> Option<Evidence> {
        let first = block.first().filter(|_| block.len() > FEWEST)?;
        // All in units of each member's own sigma, so that the noise is the same for all.
        let sigma: Vec<f64> = block.iter().map(|m| m.variance.sqrt()).collect();
        let heights: Vec<f64> = block[1..].iter().map(|m| m.height).collect();
        let middle = super::median(&heights)?;
        let heights: Vec<f64> = block.iter().zip(&sigma).map(|(m, s)| (m.height - middle) / s).collect();
        let distances: Vec<f64> =
            (0..block.len()).flat_map(|i| (0..i).map(move |j| block[i].place.distance(block[j].place))).collect();
        let reach = distances.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let step = |m: &Measured| m.place - first.place;
        let planes = block.iter().zip(&sigma).map(|(m, s)| [1.0, step(m).x / reach, step(m).y / reach].map(|v| v / s));
        let basis = PlaneBasis::new(&planes.collect::<Vec<_>>());
        let count = self.log_weights.len();
        let mut evidence = Evidence {
            differences: Vec::with_capacity(count / self.noises.len()),
            variances: Vec::with_capacity(count / self.noises.len()),
            log_likelihoods: Vec::with_capacity(count),
            height: first.height,
            variance: first.variance,
        };
        for kind in &self.kinds {
            let per_range = 1.0 / kind.range;
            let mut distances = distances.iter();
            let correlation = OffPlane::of(&basis, |i, j| {
                let correlation = if i == j {
                    1.0
                } else {
                    distances.next().map_or(1.0, |distance| kind.smoothness.correlation(distance * per_range))
                };
                correlation * self.reference / (sigma[i] * sigma[j])
            });
            let parts = correlation.parts_of(&heights);
            for &strength in &kind.strengths {
                let left_out = correlation.left_out(strength, &parts)?;
                evidence.differences.push(left_out.difference * sigma[0]);
                evidence.variances.push(left_out.variance);
                let members = left_out.squares.len() as f64;
                let squares = self.without_worst(left_out.squares);
                for &noise in &self.noises {
                    let scale = noise * (TAILS - 2.0);
                    let log = left_out.log_volume - members * (scale / TAILS).ln();
                    let tails: f64 = squares.iter().map(|square| 1.0 + (square / scale).min(1e11)).product();
                    evidence.log_likelihoods.push(0.5 * log - 0.5 * (TAILS + 1.0) * tails.ln());
                }
            }
        }
        Some(evidence)
    }

    /// Squared residuals without the worst.
    fn without_worst(&self, mut squares: Vec<f64>) -> Vec<f64> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a few members")]
        let worst = (self.trimmed * squares.len() as f64) as usize;
        let kept = squares.len() - worst;
        if worst > 0 {
            squares.select_nth_unstable_by(kept, f64::total_cmp);
            squares.truncate(kept);
        }
        squares
    }
}
