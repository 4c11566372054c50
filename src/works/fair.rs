//! Fairing: the contour line bent no tighter than the machine can dig, inside a vertical band, clear of what must stay.
//!
//! Invariant: the faired line keeps the traced line's ends, is sampled at even steps and never crosses itself. Method: penalised
//! least squares. Each vertex moves along its normal by `d`; minimised is
//! `sum weight (deviation + slope d)^2 + sum even (bend)^2 + sum weight (bend - allowed bend)^2 + sum weight (push - d)^2`, a banded
//! symmetric system, solved again on the moved line (Gauss-Newton). The bend that is allowed grows from the line's own to the limit,
//! its weight is raised where the line is still too tight, and that of the deviation where it leaves the band; where both
//! cannot hold, the bend has the last word, for no machine digs tighter, and what is left of the deviation is told. Smoothing by
//! penalised second differences: Whittaker 1923; the one-sided bend, its growth and the local weights are our own.

use super::keep::Keep;
use crate::geom::{Point, Polyline, segments_cross};
use crate::surface::Locator;

/// Metres between vertices of a faired line, at most.
pub(super) const STEP: f64 = 1.0;
/// And at least, however tight a bend may be.
const FINEST: f64 = 0.25;
/// Rounds of solving and tightening before the best line so far is taken; and of bringing it back into its band.
const ROUNDS: (usize, usize) = (120, 20);
/// Weight of every bend against a deviation; small, so that a line that needs no fairing is hardly moved.
const EVEN: f64 = 1e-4;
/// First weight of what a bend has too much.
const FIRST_WEIGHT: f64 = 1e-3;
/// What a weight is raised by, and a deviation's at most.
const TIGHTER: f64 = 2.0;
const STRICTER: (f64, f64) = (1.5, 100.0);
/// The weight of a bend or of a push at most: more is lost in rounding.
const STRICTEST: f64 = 1e4;
/// Weight that holds an end.
const HELD: f64 = 1e9;
/// What the bend that is asked for grows by, and after how many rounds at the latest.
const GROWS: f64 = 1.15;
const STUCK: usize = 5;
/// Bends are eased to this share of what is asked for at most: the chords between vertices bend a little more than the line.
const EASED: f64 = 1.0 / 1.03;
/// A line that loses more than the rest of its length in a round, or crosses itself for so many, comes to nothing.
const LEAST_LENGTH: f64 = 0.7;
const CROSSED: usize = 12;
/// Tight bends that are cut across at most.
const CROSSINGS: usize = 6;

/// The elevation that a line is to keep: even from its first end to its last, so that a contour line keeps one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Even {
    /// At the first end, metres.
    pub first: f64,
    /// At the last end, metres.
    pub last: f64,
}

impl From<f64> for Even {
    fn from(level: f64) -> Self {
        Self { first: level, last: level }
    }
}

impl Even {
    /// The elevation at a station of a line.
    pub(super) fn at(self, line: &Polyline, station: f64) -> f64 {
        self.first + (self.last - self.first) * (station / line.length()).clamp(0.0, 1.0)
    }
}

/// What a line is to keep to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits<'a> {
    /// Tightest bend, metres.
    pub radius: f64,
    /// Farthest that natural ground on the line may be off its level, metres.
    pub band: f64,
    /// Where the line may not run.
    pub keep: &'a Keep,
}

/// The line faired about an elevation, or about one that falls evenly between its held ends. Where the limits cannot all hold, the line is the nearest to them that was found, and
/// the contour check shows what is left.
///
/// A bend into which the ground leads and that cannot be eased, such as the head of a narrow gully, is cut across where its two legs
/// stand two radii apart, and the line is faired from there.
pub(super) fn fair(line: &Polyline, ground: &Locator<'_>, level: impl Into<Even>, limits: &Limits<'_>) -> Polyline {
    let level = level.into();
    let first = eased(line, ground, level, limits);
    let bend = |line: &Polyline| line.least_radius().0;
    if keeps_bend(&first, limits) {
        return first;
    }
    let (mut crossed, mut best) = (line.resampled(STEP), first);
    for _ in 0..CROSSINGS {
        let Some(cut) = across(&crossed, limits.radius) else { break };
        let faired = eased(&cut, ground, level, limits);
        if bend(&faired) > bend(&best)
            && limits.keep.farthest(faired.points()) <= limits.keep.farthest(best.points()) + 0.1
        {
            best = faired;
        }
        if keeps_bend(&best, limits) {
            break;
        }
        crossed = cut;
    }
    best
}

fn keeps_bend(line: &Polyline, limits: &Limits<'_>) -> bool {
    line.least_radius().0 >= 0.999 * limits.radius
}

/// The line with its tightest bend cut across, where its legs first stand two radii apart; `None` where they never do, or where no
/// bend is too tight.
fn across(line: &Polyline, radius: f64) -> Option<Polyline> {
    let smooth = line.resampled(radius / 2.0);
    let (tightest, station) = smooth.least_radius();
    if tightest >= radius {
        return None;
    }
    let middle = station / smooth.length() * line.length();
    let room = middle.min(line.length() - middle);
    let mut leg = radius;
    while leg < room {
        let (from, to) = (middle - leg, middle + leg);
        if line.at(from).distance(line.at(to)) >= 2.0 * radius {
            let (before, behind) = (line.between(0.0, from)?, line.between(to, line.length())?);
            return Polyline::new(before.points().iter().chain(behind.points()).copied().collect());
        }
        leg += STEP;
    }
    None
}

/// The line eased under its bend, as far as that is found, and then back into its band.
fn eased(line: &Polyline, ground: &Locator<'_>, level: Even, limits: &Limits<'_>) -> Polyline {
    let step = STEP.min((limits.radius / 4.0).max(FINEST));
    let mut sound = line.resampled(step);
    let count = sound.points().len();
    if count < 5 {
        return sound;
    }
    let mut current = sound.clone();
    let mut weights = Weights { bend: vec![0.0; count], ground: vec![1.0; count], push: vec![1.0; count] };
    // The bend is eased over its own radius to both sides, or the tightness only wanders along the line.
    let reach = (limits.radius / step).ceil().max(2.0);
    // First under the bend and clear of what must stay: the bend asked for grows from the line's own to the limit.
    let mut bend = (GROWS * sound.least_radius().0).max(2.0 * step).min(limits.radius);
    let (mut crossed, mut stuck) = (0, 0);
    let mut best = f64::NEG_INFINITY;
    for _ in 0..ROUNDS.0 {
        for _ in 0..3 {
            current = moved(&current, ground, level, &weights, limits.keep, bend);
        }
        // A ring that its own bend would pull together, or legs that only cross, get no nearer.
        crossed = if crosses_itself(&current) { crossed + 1 } else { 0 };
        if !(LEAST_LENGTH * sound.length()..).contains(&current.length()) || crossed > CROSSED {
            break;
        }
        let (tight, pushed) = (too_tight(&current, bend), limits.keep.pushed(current.points()));
        let least = current.least_radius().0;
        let good = least.min(limits.radius) - limits.keep.farthest(current.points());
        if crossed == 0 && good >= best {
            sound.clone_from(&current);
            best = good;
        }
        weights.press(&pushed);
        stuck += 1;
        if bend < limits.radius && (tight.is_empty() || stuck > STUCK) {
            bend = (GROWS * bend.max(least)).min(limits.radius);
            stuck = 0;
        } else if tight.is_empty() && pushed.is_empty() {
            break;
        } else {
            weights.tighten(&tight, reach);
        }
    }
    // Then back into the band, as far as the bend allows.
    let keeps = |line: &Polyline| {
        too_tight(line, limits.radius).is_empty()
            && limits.keep.pushed(line.points()).is_empty()
            && !crosses_itself(line)
    };
    let mut off = off_level(&sound, ground, level, limits);
    if off.is_empty() || !keeps(&sound) {
        return sound;
    }
    let mut least = worst(&sound, ground, level, limits);
    for _ in 0..ROUNDS.1 {
        off.iter().for_each(|&i| weights.ground[i] = (weights.ground[i] * STRICTER.0).min(STRICTER.1));
        for _ in 0..3 {
            current = moved(&current, ground, level, &weights, limits.keep, limits.radius);
        }
        let here = worst(&current, ground, level, limits);
        if keeps(&current) && here < least {
            sound.clone_from(&current);
            least = here;
        }
        off = off_level(&current, ground, level, limits);
        if off.is_empty() || !current.length().is_finite() {
            break;
        }
        weights.tighten(&too_tight(&current, limits.radius), reach);
    }
    sound
}

/// The tightest bend, among some shares of the one asked for, under which the line stays in its band; `None` when none does.
pub(super) fn bend_within_band(
    line: &Polyline,
    ground: &Locator<'_>,
    level: impl Into<Even>,
    limits: &Limits<'_>,
) -> Option<f64> {
    let level = level.into();
    [0.8, 0.6, 0.45, 0.3].into_iter().map(|share| share * limits.radius).find(|&radius| {
        let limits = Limits { radius, ..*limits };
        let line = fair(line, ground, level, &limits);
        off_level(&line, ground, level, &limits).is_empty()
    })
}

/// What the sums are weighted with, vertex by vertex.
struct Weights {
    push: Vec<f64>,
    bend: Vec<f64>,
    ground: Vec<f64>,
}

impl Weights {
    fn tighten(&mut self, tight: &[usize], reach: f64) {
        for (i, weight) in self.bend.iter_mut().enumerate() {
            if tight.iter().any(|&at| (at as f64 - i as f64).abs() <= reach) {
                *weight = (weight.max(FIRST_WEIGHT) * TIGHTER).min(STRICTEST);
            }
        }
    }

    fn press(&mut self, pushed: &[usize]) {
        pushed.iter().for_each(|&i| self.push[i] = (self.push[i] * TIGHTER).min(STRICTEST));
    }
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

/// How far the ground is off the level at each vertex where it is known and nothing pushes.
fn free_deviations<'a>(
    line: &'a Polyline,
    ground: &'a Locator<'_>,
    level: Even,
    limits: &'a Limits<'_>,
) -> impl Iterator<Item = (usize, f64)> + 'a {
    line.points().iter().zip(line.stations()).enumerate().filter_map(move |(i, (&place, &station))| {
        let off = ground.elevation(place)? - level.at(line, station);
        limits.keep.push(place).is_none().then_some((i, off.abs()))
    })
}

/// Vertices that leave the band though nothing pushes them out of it.
fn off_level(line: &Polyline, ground: &Locator<'_>, level: Even, limits: &Limits<'_>) -> Vec<usize> {
    free_deviations(line, ground, level, limits).filter(|(_, off)| *off > limits.band).map(|(i, _)| i).collect()
}

/// Farthest off the level where nothing pushes.
fn worst(line: &Polyline, ground: &Locator<'_>, level: Even, limits: &Limits<'_>) -> f64 {
    free_deviations(line, ground, level, limits).map(|(_, off)| off).fold(0.0, f64::max)
}

/// True when two pieces of a line cross.
pub(super) fn crosses_itself(line: &Polyline) -> bool {
    let points = line.points();
    let longest = points.windows(2).map(|pair| pair[0].distance(pair[1])).fold(0.0, f64::max);
    (0..points.len().saturating_sub(3)).any(|i| {
        (i + 2..points.len() - 1).any(|j| {
            points[i].distance(points[j]) <= 2.0 * longest
                && segments_cross(points[i], points[i + 1], points[j], points[j + 1])
        })
    })
}

/// One Gauss-Newton step and even steps again, with the same count of vertices; both ends stay. Bends are eased to `radius`.
fn moved(line: &Polyline, ground: &Locator<'_>, level: Even, weights: &Weights, keep: &Keep, radius: f64) -> Polyline {
    let points = line.points();
    let n = points.len();
    let step = line.length() / (n - 1) as f64;
    let normals: Vec<_> = line.stations().iter().map(|&s| line.direction(s).left()).collect();
    let mut system = Banded::new(n);
    // The system knows that both ends stay, or it would ease a bend there by moving them.
    system.add(0, 0, HELD);
    system.add(n - 1, n - 1, HELD);
    for i in 1..n - 1 {
        if let (Some(z), Some(slope)) = (ground.elevation(points[i]), ground.gradient(points[i])) {
            let across = slope.dot(normals[i]);
            // A flat spot says nothing about where the line should go; the bend term alone holds it there.
            system.add(i, i, weights.ground[i] * across * across + 1e-9);
            system.load[i] -= weights.ground[i] * across * (z - level.at(line, line.stations()[i]));
        } else {
            system.add(i, i, 1.0);
        }
        if let Some(push) = keep.push(points[i]) {
            let (across, far) = (push.unit().dot(normals[i]), push.length());
            system.add(i, i, weights.push[i] * across * across);
            system.load[i] += weights.push[i] * across * far;
        }
    }
    let (inverse, most) = (1.0 / (step * step), EASED / radius);
    for i in 1..n - 1 {
        let second = (points[i - 1] - points[i]) + (points[i + 1] - points[i]);
        let bend = normals[i].dot(second) * inverse;
        // A line that moves to the inside of its bend gets shorter, and so do its steps: hence bend^2, with the sign that
        // makes a bend tighter inwards.
        let row = [
            (i - 1, normals[i].dot(normals[i - 1]) * inverse),
            (i, -2.0 * inverse + 2.0 * bend * bend),
            (i + 1, normals[i].dot(normals[i + 1]) * inverse),
        ];
        let too_much = bend - bend.clamp(-most, most);
        let (pull, weight) = (EVEN * bend + weights.bend[i] * too_much, EVEN + weights.bend[i]);
        for &(a, value) in &row {
            system.load[a] -= value * pull;
            for &(b, other) in &row {
                if b <= a {
                    system.add(a, b, weight * value * other);
                }
            }
        }
    }
    // A step longer than the spacing would fold the line; the next round goes on from there.
    let moves = system.solve();
    let last = n - 1;
    let shifted: Vec<Point> = (0..n)
        .map(|i| match i {
            _ if i == 0 || i == last => points[i],
            _ => points[i] + normals[i] * moves[i].clamp(-step * 0.5, step * 0.5),
        })
        .collect();
    let Some(shifted) = Polyline::new(shifted) else { return line.clone() };
    let length = shifted.length();
    let even = (0..n).map(|i| match i {
        _ if i == last => points[last],
        _ => shifted.at(length * i as f64 / last as f64),
    });
    Polyline::new(even.collect()).unwrap_or(shifted)
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
#[path = "fair_tests.rs"]
mod tests;

#[cfg(test)]
mod solver_tests {
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
