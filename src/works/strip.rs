//! Strips: a floor or crest of some width along an axis, level or dished, with a batter on each side and round both ends.
//!
//! A strip is a roof (crest up, sides falling) or a bowl (floor down, sides rising): the elevation at a place is that
//! of the axis while the place is within half the width, and changes by 1/batter for each metre beyond. Where an axis
//! bends tighter than its sides reach, the strip is split there and each part gets a rounded end, so that every part
//! is single-valued and the highest (lowest) of them is the roof (bowl) of the whole.
//!
//! What the strip measures across may change along its axis, and its middle may stand aside of it: rows across, square to the
//! axis, are given at its vertices and run evenly from one to the next.
//!
//! Invariant: side planes keep their batter exactly (corners are mitred); rounded ends are facets within
//! [`CHORD_ERROR`] of the cone. A dished floor is a parabola across, in facets within the same of it and never deeper. Every
//! part is a [`Tin`] on the lattice.

use super::mesh::Mesh;
use crate::geom::{Point, Polyline, Vector};
use crate::surface::{Tin, TinError};

/// Greatest height between a cone or a dish and its facets, metres.
const CHORD_ERROR: f64 = 0.005;

/// Steps along an axis at which its footprint is looked for, metres.
const SEED_STEP: f64 = 10.0;

/// As many steps at least: of a short strip, carried on past the ground at one end and in over a floor at the other, neither
/// end lies in its footprint.
const LEAST_STEPS: f64 = 16.0;

/// Which way the sides of a strip go from its middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sense {
    /// A crest: sides fall.
    Roof,
    /// A floor: sides rise.
    Bowl,
}

/// What a strip looks like across; batters are horizontal for one vertical.
#[derive(Debug, Clone, Copy)]
pub(super) struct Profile {
    /// Crest or floor.
    pub sense: Sense,
    /// Half the width of crest or floor, metres.
    pub half_width: f64,
    /// Batter to the left of the axis.
    pub left: f64,
    /// Batter to the right of the axis.
    pub right: f64,
    /// Batter straight ahead at the ends.
    pub end: f64,
    /// How far down (roof) or up (bowl) the sides go, metres.
    pub height: f64,
    /// How far the edges of the width stand above (bowl) or below (roof) its middle, metres: a parabola; zero is level.
    pub dish: f64,
    /// Rounded off beyond both ends; else it ends there, on ground that it does not touch.
    pub rounded: bool,
}

/// A strip across at one vertex of its axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    /// Crest or floor, metres.
    pub level: f64,
    /// Offset of the strip's middle from the axis, positive to the left.
    pub middle: f64,
    /// What it looks like.
    pub profile: Profile,
}

impl Row {
    /// With its middle so far to the left of its axis.
    pub(super) fn aside(self, middle: f64) -> Self {
        Self { middle, ..self }
    }

    /// Left for right.
    pub(super) fn mirrored(self) -> Self {
        let Profile { left, right, .. } = self.profile;
        Self { middle: -self.middle, profile: Profile { left: right, right: left, ..self.profile }, ..self }
    }

    /// The rows of a strip that looks the same all along its axis.
    pub(super) fn alike(levels: &[f64], profile: &Profile) -> Vec<Self> {
        levels.iter().map(|&level| Self { level, middle: 0.0, profile: *profile }).collect()
    }
}

/// A line of corners along a strip: how far from the middle's level, and its offset on the left, at the ends, on the right.
#[derive(Debug, Clone, Copy)]
struct Rung {
    rise: f64,
    offsets: [f64; 3],
}

/// One part of a strip and the places on its axis that must lie in its footprint.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// The surface.
    pub tin: Tin,
    /// Places on the axis.
    pub seeds: Vec<Point>,
}

/// The parts of a strip along an axis; a row for each vertex of it, all of one sense.
pub(super) fn parts(axis: &Polyline, rows: &[Row]) -> Result<Vec<Part>, TinError> {
    let points = axis.points();
    debug_assert_eq!(points.len(), rows.len());
    let mut parts = Vec::new();
    let mut waiting = vec![(0, points.len() - 1)];
    while let Some((first, last)) = waiting.pop() {
        let (run, rows) = (&points[first..=last], &rows[first..=last]);
        if last - first > 1
            && let Some(split) = tightest_fold(run, rows)
        {
            waiting.push((first + split, last));
            waiting.push((first, first + split));
            continue;
        }
        // Where an axis is split, both parts are rounded off at the split.
        let rounded =
            [rows[0].profile.rounded || first > 0, rows[rows.len() - 1].profile.rounded || last + 1 < points.len()];
        let middle = middle(run, rows);
        let tin = build(run, rows, rounded)?;
        let seeds = Polyline::new(middle.clone())
            .map_or_else(|| middle, |run| run.resampled(SEED_STEP.min(run.length() / LEAST_STEPS)).points().to_vec());
        parts.push(Part { tin, seeds });
    }
    Ok(parts)
}

/// The middle of a strip beside the vertices of its axis.
pub(super) fn middle(run: &[Point], rows: &[Row]) -> Vec<Point> {
    if rows.iter().all(|row| row.middle == 0.0) {
        return run.to_vec();
    }
    run.iter().zip(mitres(run)).zip(rows).map(|((&place, mitre), row)| place + mitre * row.middle).collect()
}

impl Profile {
    /// One batter on both sides and round both ends, level across.
    pub(super) const fn even(sense: Sense, half_width: f64, batter: f64, height: f64) -> Self {
        Self { sense, half_width, left: batter, right: batter, end: batter, height, dish: 0.0, rounded: true }
    }

    fn outer(&self, batter: f64) -> f64 {
        self.half_width + batter * (self.height - self.dish)
    }

    fn level(&self, middle: f64, rise: f64) -> f64 {
        match self.sense {
            Sense::Roof => middle - rise,
            Sense::Bowl => middle + rise,
        }
    }

    /// In how many chords a side is laid that is dished so much: between n of them a parabola sags by dish / (4 n^2).
    fn chords(dish: f64) -> u32 {
        if dish <= 0.0 {
            return 0;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of some chords")]
        let count = (dish / (4.0 * CHORD_ERROR)).sqrt().ceil().max(1.0) as u32;
        count
    }

    /// From the middle outwards; the first stands on the middle itself where that has no level width.
    fn rungs(&self, chords: u32) -> Vec<Rung> {
        let mut rungs = Vec::new();
        if chords > 0 {
            rungs.extend((0..chords).map(|k| {
                let share = f64::from(k) / f64::from(chords);
                Rung { rise: self.dish * share * share, offsets: [self.half_width * share; 3] }
            }));
        }
        rungs.push(Rung { rise: self.dish, offsets: [self.half_width; 3] });
        let outer = [self.left, self.end, self.right].map(|batter| self.outer(batter));
        rungs.push(Rung { rise: self.height, offsets: outer });
        rungs
    }
}

/// The mitre at each vertex: the vector which, times an offset to the left, leads to the offset line's corner.
fn mitres(run: &[Point]) -> Vec<Vector> {
    let directions: Vec<Vector> = run.windows(2).map(|pair| (pair[1] - pair[0]).unit()).collect();
    (0..run.len())
        .map(|i| {
            let before = directions[i.saturating_sub(1)];
            let after = directions[i.min(directions.len() - 1)];
            let bisector = (before + after).unit();
            bisector.left() * (1.0 / bisector.dot(after).max(0.2))
        })
        .collect()
}

/// The vertex (index in the run) at which to split a run whose sides fold or meet themselves; `None` when they do not.
fn tightest_fold(run: &[Point], rows: &[Row]) -> Option<usize> {
    let mitres = mitres(run);
    let outer = |row: &Row| {
        let profile = &row.profile;
        [row.middle + profile.outer(profile.left), row.middle - profile.outer(profile.right)]
    };
    let folded = (0..run.len() - 1).any(|i| {
        let along = run[i + 1] - run[i];
        outer(&rows[i]).into_iter().zip(outer(&rows[i + 1])).any(|(from, to)| {
            let side = (run[i + 1] + mitres[i + 1] * to) - (run[i] + mitres[i] * from);
            side.dot(along) <= 0.05 * along.dot(along)
        })
    });
    // A run that turns by more than three quarters of a circle in all may meet itself though no side folds.
    let (mut turned, mut low, mut high) = (0.0f64, 0.0f64, 0.0f64);
    for trio in run.windows(3) {
        let (a, b) = (trio[1] - trio[0], trio[2] - trio[1]);
        turned += a.cross(b).atan2(a.dot(b));
        (low, high) = (low.min(turned), high.max(turned));
    }
    if !folded && high - low < 4.7 {
        return None;
    }
    let sharpest = (1..run.len() - 1).max_by(|&i, &j| bend(run, i).total_cmp(&bend(run, j)))?;
    // A long smooth bend has no one sharpest place: the middle halves the work.
    let middle = (run.len() / 2).clamp(1, run.len() - 2);
    Some(if bend(run, sharpest) > 1.5 * bend(run, middle) { sharpest } else { middle })
}

/// How sharply a run bends at a vertex: the turn in radians.
fn bend(run: &[Point], i: usize) -> f64 {
    let (before, after) = (run[i] - run[i - 1], run[i + 1] - run[i]);
    before.cross(after).atan2(before.dot(after)).abs()
}

/// Builds the mesh of a run that does not fold.
fn build(run: &[Point], strip: &[Row], rounded: [bool; 2]) -> Result<Tin, TinError> {
    let mut mesh = Mesh::default();
    let mitres = mitres(run);
    let chords = strip.iter().map(|row| Profile::chords(row.profile.dish)).max().unwrap_or(0);
    // Corners across at each place of the run: from the left edge to the middle, and from there to the right edge.
    let rows: Vec<[Vec<u32>; 2]> = (0..run.len())
        .map(|i| {
            let Row { level, middle, profile } = strip[i];
            let rungs = profile.rungs(chords);
            let mut corner = |rung: &Rung, offset: f64| {
                mesh.vertex(run[i] + mitres[i] * (middle + offset), profile.level(level, rung.rise))
            };
            let left: Vec<u32> = rungs.iter().map(|rung| corner(rung, rung.offsets[0])).collect();
            let right = rungs.iter().enumerate().map(|(k, rung)| {
                let offset = rung.offsets[2];
                // A floor without width has one line in the middle.
                if k == 0 && offset == 0.0 { left[0] } else { corner(rung, -offset) }
            });
            let right = right.collect();
            [left, right]
        })
        .collect();
    for pair in rows.windows(2) {
        let across = |row: &[Vec<u32>; 2]| -> Vec<u32> { row[0].iter().rev().chain(&row[1]).copied().collect() };
        let (here, next) = (across(&pair[0]), across(&pair[1]));
        for k in 0..here.len() - 1 {
            mesh.quad(here[k], here[k + 1], next[k + 1], next[k]);
        }
    }
    let last = run.len() - 1;
    let centre = |i: usize| run[i] + mitres[i] * strip[i].middle;
    let ahead = (run[last] - run[last - 1]).unit();
    if rounded[1] {
        mesh.cap(centre(last), ahead, &strip[last], chords, &rows[last]);
    }
    let back = (run[0] - run[1]).unit();
    let profile = strip[0].profile;
    let turned = Row { profile: Profile { left: profile.right, right: profile.left, ..profile }, ..strip[0] };
    let [left, right] = rows[0].clone();
    if rounded[0] {
        mesh.cap(centre(0), back, &turned, chords, &[right, left]);
    }
    mesh.finish()
}

impl Mesh {
    /// A rounded end at `centre`, from the left side (corners from the middle outwards) through straight ahead to the right.
    fn cap(&mut self, centre: Point, ahead: Vector, row: &Row, chords: u32, [left, right]: &[Vec<u32>; 2]) {
        use std::f64::consts::PI;
        let Row { level, profile, .. } = row;
        let rungs = profile.rungs(chords);
        let widest = [profile.left, profile.end, profile.right].into_iter().fold(0.0, f64::max);
        let steepest = [profile.left, profile.end, profile.right].into_iter().fold(f64::INFINITY, f64::min);
        // A parabola rises twice its height over its half width at its edge.
        let dish = CHORD_ERROR / (2.0 * profile.dish).max(f64::MIN_POSITIVE);
        let ratio = (1.0 - (CHORD_ERROR * steepest / profile.outer(widest)).min(dish)).clamp(0.5, 1.0);
        let step = (2.0 * ratio.acos()).max(0.05);
        // A side that turns into another leaves a circle: a chord of such a spiral lies farther off it, its facets are twisted, and
        // straight ahead a corner is due.
        let turn = [profile.left, profile.right].map(|side| (profile.end - side).abs()).into_iter().fold(0.0, f64::max);
        let steps = if turn > 0.0 {
            let growth = turn / (PI / 2.0) / steepest;
            let shorter = (1.0 + growth) * 2.0_f64.mul_add(growth * growth, 1.0).sqrt();
            2.0 * (PI / 2.0 * shorter / step).ceil().max(2.0)
        } else {
            (PI / step).ceil().max(4.0)
        };
        let mut here = left.clone();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a count of some hundred steps at most"
        )]
        let count = steps as u32;
        for k in 1..=count {
            let next: Vec<u32> = if k == count {
                right.clone()
            } else {
                let share = f64::from(k) / steps;
                let (sin, cos) = (PI * share).sin_cos();
                let direction = ahead.left() * cos + ahead * sin;
                let offset = |[left, end, right]: [f64; 3]| {
                    if share <= 0.5 {
                        left + (end - left) * share * 2.0
                    } else {
                        end + (right - end) * (share - 0.5) * 2.0
                    }
                };
                let mut corner = |rung: &Rung| {
                    self.vertex(centre + direction * offset(rung.offsets), profile.level(*level, rung.rise))
                };
                let on_middle = rungs[0].offsets[0] == 0.0;
                let first = if on_middle { left[0] } else { corner(&rungs[0]) };
                std::iter::once(first).chain(rungs[1..].iter().map(corner)).collect()
            };
            // The level half disc is a fan from its left corner, so that it shares one edge with the strip.
            self.triangle(left[0], next[0], here[0]);
            for r in 0..rungs.len() - 1 {
                self.quad(here[r], next[r], next[r + 1], here[r + 1]);
            }
            here = next;
        }
    }
}

#[cfg(test)]
#[path = "strip_tests.rs"]
mod tests;
