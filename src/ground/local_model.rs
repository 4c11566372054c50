//! Which random field the ground near a line is: chosen place by place from how well the shots around it predict one another.
//!
//! Candidates are fields of Matern's family on a local plane (universal kriging, [`crate::stats::Field::known`]), smooth ones from
//! two to twenty spacings in range and weak to strong, and a rougher one. Every shot near the lines is left out in turn and
//! predicted by its neighbours under each candidate; at a place the predictions of the shots within some spacings of it, the nearer
//! the more, give each candidate its likelihood, with the common scale of all variances at its best value (predictive likelihood:
//! Geisser and Eddy 1979; leaving out: Dubrule 1983). The answer is the mean over the few candidates that stand up to the best one,
//! its variance what they say together, scaled by what the left-out residuals show.
//!
//! Pooling some fifty shots chooses sharper than a single neighbourhood of two dozen can, which is what smooth ground wants;
//! weighing by distance lets smooth and rough ground along one line have fields of their own.

use crate::geom::Point;
use crate::notes::each;
use crate::stats::{Estimate, Field, Measured, Smoothness};
use crate::survey::GroundField;

/// Smoothness, range in spacings, and strengths: variance of the field over that of a usual shot.
const KINDS: [(Smoothness, f64, [f64; 5]); 6] = [
    (Smoothness::ThreeHalves, 3.0, [0.5, 4.0, 32.0, 256.0, 2048.0]),
    (Smoothness::FiveHalves, 2.0, [0.5, 4.0, 32.0, 256.0, 2048.0]),
    (Smoothness::FiveHalves, 3.5, [1.0, 8.0, 64.0, 512.0, 4096.0]),
    (Smoothness::FiveHalves, 6.0, [4.0, 32.0, 256.0, 2048.0, 16384.0]),
    (Smoothness::FiveHalves, 11.0, [16.0, 128.0, 1024.0, 8192.0, 65536.0]),
    (Smoothness::FiveHalves, 20.0, [64.0, 512.0, 4096.0, 32768.0, 262_144.0]),
];
/// Spacings within which shots speak for a place (standard deviation of their weight).
const POOL: f64 = 3.0;
/// Weight of every other shot: far ones speak a little where near ones are few.
const FAR: f64 = 0.02;
/// Shots that are left out in turn, at most.
const LEARN_FROM: usize = 160;
/// A squared step counts for this at most, so that a blunder does not make rough ground.
const MOST: f64 = 16.0;
/// Shots that the scale of the variances is thought to be right for before they are seen.
const PRIOR: f64 = 8.0;
/// Candidates that answer at most, and the least share of the best one's weight.
const ANSWERING: (usize, f64) = (4, 0.05);

/// How well a candidate predicts one shot: squared step in standard deviations, logarithm of that deviation.
#[derive(Debug, Clone, Copy)]
struct Prediction {
    square: f64,
    log_deviation: f64,
}

/// The fields that the ground may be, and what the shots say of them.
#[derive(Debug)]
pub(super) struct LocalModel {
    candidates: Vec<Field>,
    /// Where a shot was left out, and how each candidate predicted it.
    judged: Vec<(Point, Vec<Prediction>)>,
    /// Metres over which shots are pooled.
    pool: f64,
}

impl LocalModel {
    /// From shots near the lines; `usual` is the variance of a usual shot.
    pub(super) fn learned(field: &GroundField, shots: &[Measured], spacing: f64, usual: f64) -> Self {
        let candidates: Vec<Field> = KINDS
            .iter()
            .flat_map(|&(kind, range, strengths)| strengths.map(|s| Field::known(kind, range * spacing, s * usual)))
            .collect();
        let step = shots.len().div_ceil(LEARN_FROM).max(1);
        let chosen: Vec<Measured> = shots.iter().step_by(step).copied().collect();
        let judged = each(chosen.len(), |i| {
            let shot = chosen[i];
            let others = field.around(shot.place).into_iter().filter(|other| other.place.distance(shot.place) > 1e-6);
            let block: Vec<Measured> = std::iter::once(shot).chain(others).collect();
            let predictions = candidates.iter().map(|candidate| {
                let estimate = candidate.without_first(&block)?;
                let deviation = estimate.deviation_of(shot.variance);
                let square = ((shot.height - estimate.height) / deviation).powi(2).min(MOST);
                Some(Prediction { square, log_deviation: deviation.ln() })
            });
            predictions.collect::<Option<Vec<Prediction>>>().map(|predictions| (shot.place, predictions))
        });
        Self { candidates, judged: judged.into_iter().flatten().collect(), pool: POOL * spacing }
    }

    /// The ground at a place from the shots around it; its `noise` is what variances are scaled by. `None` where too few stand
    /// round it.
    pub(super) fn at(&self, place: Point, around: &[Measured]) -> Option<Estimate> {
        let standing = self.standing(place);
        let best = standing.iter().map(|(log, _)| *log).reduce(f64::max)?;
        let mut ranked: Vec<(f64, f64, &Field)> = standing
            .into_iter()
            .zip(&self.candidates)
            .map(|((log, scale), field)| ((log - best).exp(), scale, field))
            .filter(|(weight, ..)| *weight >= ANSWERING.1)
            .collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        ranked.truncate(ANSWERING.0);
        let answers: Vec<(f64, f64, Estimate)> = ranked
            .into_iter()
            .map(|(weight, scale, field)| Some((weight, scale, field.at(place, around)?)))
            .collect::<Option<_>>()?;
        let total: f64 = answers.iter().map(|(weight, ..)| weight).sum();
        let mean = |of: &dyn Fn(f64, &Estimate) -> f64| {
            answers.iter().map(|(weight, scale, estimate)| weight * of(*scale, estimate)).sum::<f64>() / total
        };
        let height = mean(&|_, estimate| estimate.height);
        let variance =
            mean(&|scale, estimate| scale * estimate.standard_error.powi(2) + (estimate.height - height).powi(2));
        Some(Estimate { height, standard_error: variance.sqrt(), noise: mean(&|scale, _| scale) })
    }

    /// Log likelihood of each candidate at a place, and the scale of its variances.
    fn standing(&self, place: Point) -> Vec<(f64, f64)> {
        let (mut squares, mut logs) = (vec![0.0; self.candidates.len()], vec![0.0; self.candidates.len()]);
        let mut count = 0.0;
        for (at, predictions) in &self.judged {
            let weight = FAR + (-0.5 * (at.distance(place) / self.pool).powi(2)).exp();
            count += weight;
            for (k, prediction) in predictions.iter().enumerate() {
                squares[k] += weight * prediction.square;
                logs[k] += weight * prediction.log_deviation;
            }
        }
        let scale = |square: f64| (square + PRIOR) / (count + PRIOR);
        let each = squares.into_iter().zip(logs).map(|(square, log)| {
            let scale = scale(square);
            (-0.5 * count * scale.ln() - 0.5 * square / scale - log, scale)
        });
        each.collect()
    }
}
