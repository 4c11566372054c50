//! Fairing: the contour line bent no tighter than the machine can dig, moved off its level as little as can be.
//!
//! Invariant: the faired line keeps its ends on the traced line's ends to within the first step, and is sampled at even
//! steps. Method: penalised least squares. Each vertex moves along its normal by `d`; minimised is
//! `sum (deviation + slope d)^2 + sum weight (curvature)^2`, a banded symmetric system, solved again on the moved line
//! (Gauss-Newton), with the weight of the bend raised only where the line is still too tight. Smoothing by penalised
//! second differences: Whittaker 1923; the local weights are our own.

use crate::geom::{Point, Polyline};
use crate::surface::Locator;

/// Metres between vertices of a faired line, at most.
pub(super) const STEP: f64 = 1.0;
/// Rounds of solving and tightening before the best line so far is taken.
const ROUNDS: usize = 60;
/// First weight of a bend against a deviation; small, so that a line that needs no fairing is hardly moved.
const FIRST_WEIGHT: f64 = 1e-4;

/// The line faired under a bend radius (metres) about an elevation. Where band and radius cannot both hold, the radius
/// is kept and the deviation shows in the contour check.
pub(super) fn fair(line: &Polyline, ground: &Locator<'_>, level: f64, radius: f64) -> Polyline {
    let step = STEP.min(radius / 4.0);
    let mut current = line.resampled(step);
    let count = current.points().len();
    if count < 5 {
        return current;
    }
    let mut weights = vec![FIRST_WEIGHT; count];
    for _ in 0..ROUNDS {
        for _ in 0..3 {
            current = moved(&current, ground, level, &weights);
        }
        let tight = too_tight(&current, radius);
        if tight.is_empty() {
            break;
        }
        // The bend is eased over its own radius to both sides, or the tightness only wanders along the line.
        let reach = (radius / step).ceil().max(2.0);
        for (i, weight) in weights.iter_mut().enumerate() {
            if tight.iter().any(|&at| (at as f64 - i as f64).abs() <= reach) {
                *weight *= 2.5;
            }
        }
    }
    current
}

/// Vertices where the line bends tighter than the radius.
fn too_tight(line: &Polyline, radius: f64) -> Vec<usize> {
    line.points()
        .windows(3)
        .enumerate()
        .filter(|(_, trio)| crate::geom::radius_through(trio[0], trio[1], trio[2]) < radius)
        .map(|(i, _)| i + 1)
        .collect()
}

/// One Gauss-Newton step and even steps again, with the same count of vertices.
fn moved(line: &Polyline, ground: &Locator<'_>, level: f64, weights: &[f64]) -> Polyline {
    let points = line.points();
    let n = points.len();
    let step = line.length() / (n - 1) as f64;
    let normals: Vec<_> = line.stations().iter().map(|&s| line.direction(s).left()).collect();
    let mut system = Banded::new(n);
    for i in 0..n {
        if let (Some(z), Some(slope)) = (ground.elevation(points[i]), ground.gradient(points[i])) {
            let across = slope.dot(normals[i]);
            // A flat spot says nothing about where the line should go; the bend term alone holds it there.
            system.add(i, i, across * across + 1e-9);
            system.load[i] -= across * (z - level);
        } else {
            system.add(i, i, 1.0);
        }
    }
    let inverse = 1.0 / (step * step);
    for i in 1..n - 1 {
        let bend = (points[i - 1] - points[i]) + (points[i + 1] - points[i]);
        let here = normals[i].dot(bend) * inverse;
        let row = [
            (i - 1, normals[i].dot(normals[i - 1]) * inverse),
            (i, -2.0 * inverse),
            (i + 1, normals[i].dot(normals[i + 1]) * inverse),
        ];
        for &(a, value) in &row {
            system.load[a] -= weights[i] * value * here;
            for &(b, other) in &row {
                if b <= a {
                    system.add(a, b, weights[i] * value * other);
                }
            }
        }
    }
    // A step longer than the spacing would fold the line; the next round goes on from there.
    let moves = system.solve();
    let shifted: Vec<Point> =
        (0..n).map(|i| points[i] + normals[i] * moves[i].clamp(-step * 0.5, step * 0.5)).collect();
    let Some(shifted) = Polyline::new(shifted) else { return line.clone() };
    let length = shifted.length();
    let even = (0..n).map(|i| shifted.at(length * i as f64 / (n - 1) as f64)).collect();
    Polyline::new(even).unwrap_or(shifted)
}

/// A symmetric positive definite system with two bands on each side, solved by Cholesky's method.
struct Banded {
    /// `bands[i][k]` is the entry (i, i - k).
    bands: Vec<[f64; 3]>,
    load: Vec<f64>,
}

impl Banded {
    fn new(n: usize) -> Self {
        Self { bands: vec![[0.0; 3]; n], load: vec![0.0; n] }
    }

    fn add(&mut self, row: usize, column: usize, value: f64) {
        self.bands[row][row - column] += value;
    }

    fn solve(mut self) -> Vec<f64> {
        let n = self.load.len();
        for i in 0..n {
            for k in (0..=2.min(i)).rev() {
                let j = i - k;
                let mut value = self.bands[i][k];
                for m in j.saturating_sub(2)..j {
                    if i - m <= 2 {
                        value -= self.bands[i][i - m] * self.bands[j][j - m];
                    }
                }
                self.bands[i][k] = if k == 0 { value.max(f64::MIN_POSITIVE).sqrt() } else { value / self.bands[j][0] };
            }
        }
        for i in 0..n {
            for k in 1..=2.min(i) {
                self.load[i] -= self.bands[i][k] * self.load[i - k];
            }
            self.load[i] /= self.bands[i][0];
        }
        for i in (0..n).rev() {
            for k in 1..=2.min(n - 1 - i) {
                self.load[i] -= self.bands[i + k][k] * self.load[i + k];
            }
            self.load[i] /= self.bands[i][0];
        }
        self.load
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn banded_solver_agrees_with_a_known_system() {
        // A = [[4,1,1],[1,5,2],[1,2,6]], x = (1, 2, 3): b = (9, 17, 23).
        let mut system = Banded::new(3);
        for (row, column, value) in [(0, 0, 4.0), (1, 0, 1.0), (1, 1, 5.0), (2, 0, 1.0), (2, 1, 2.0), (2, 2, 6.0)] {
            system.add(row, column, value);
        }
        system.load = vec![9.0, 17.0, 23.0];
        let solved = system.solve();
        for (found, expected) in solved.iter().zip([1.0, 2.0, 3.0]) {
            assert!((found - expected).abs() < 1e-12, "{solved:?}");
        }
    }
}
