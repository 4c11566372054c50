//! Strips: a level floor or crest of some width along an axis with a batter on each side and round both ends.
//!
//! A strip is a roof (crest up, sides falling) or a bowl (floor down, sides rising): the elevation at a place is that
//! of the axis while the place is within half the width, and changes by 1/batter for each metre beyond. Where an axis
//! bends tighter than its sides reach, the strip is split there and each part gets a rounded end, so that every part
//! is single-valued and the highest (lowest) of them is the roof (bowl) of the whole.
//!
//! Invariant: side planes keep their batter exactly (corners are mitred); rounded ends are facets within
//! [`CHORD_ERROR`] of the cone. Every part is a [`Tin`] on the lattice.

use super::mesh::Mesh;
use crate::geom::{Point, Polyline, Vector};
use crate::surface::{Tin, TinError};

/// Greatest height between a cone and its facets, metres.
const CHORD_ERROR: f64 = 0.005;

/// Steps along an axis at which its footprint is looked for, metres.
const SEED_STEP: f64 = 10.0;

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
}

/// One part of a strip and the places on its axis that must lie in its footprint.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// The surface.
    pub tin: Tin,
    /// Places on the axis.
    pub seeds: Vec<Point>,
}

/// The parts of a strip along an axis; `levels` holds the elevation at each vertex of the axis.
pub(super) fn parts(axis: &Polyline, levels: &[f64], profile: &Profile) -> Result<Vec<Part>, TinError> {
    let points = axis.points();
    debug_assert_eq!(points.len(), levels.len());
    let mut parts = Vec::new();
    let mut waiting = vec![(0, points.len() - 1)];
    while let Some((first, last)) = waiting.pop() {
        let run = &points[first..=last];
        if last - first > 1
            && let Some(split) = tightest_fold(run, profile)
        {
            waiting.push((first + split, last));
            waiting.push((first, first + split));
            continue;
        }
        let tin = build(run, &levels[first..=last], profile)?;
        let seeds =
            Polyline::new(run.to_vec()).map_or_else(|| run.to_vec(), |run| run.resampled(SEED_STEP).points().to_vec());
        parts.push(Part { tin, seeds });
    }
    Ok(parts)
}

impl Profile {
    fn outer(&self, batter: f64) -> f64 {
        self.half_width + batter * self.height
    }

    fn outer_level(&self, level: f64) -> f64 {
        match self.sense {
            Sense::Roof => level - self.height,
            Sense::Bowl => level + self.height,
        }
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
fn tightest_fold(run: &[Point], profile: &Profile) -> Option<usize> {
    let mitres = mitres(run);
    let (left, right) = (profile.outer(profile.left), -profile.outer(profile.right));
    let folded = (0..run.len() - 1).any(|i| {
        let along = run[i + 1] - run[i];
        [left, right].into_iter().any(|offset| {
            let side = (run[i + 1] + mitres[i + 1] * offset) - (run[i] + mitres[i] * offset);
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
fn build(run: &[Point], levels: &[f64], profile: &Profile) -> Result<Tin, TinError> {
    let mut mesh = Mesh::default();
    let mitres = mitres(run);
    let offsets = [profile.outer(profile.left), profile.half_width, -profile.half_width, -profile.outer(profile.right)];
    let rows: Vec<[u32; 4]> = (0..run.len())
        .map(|i| {
            let mut row = [0; 4];
            for (slot, &offset) in row.iter_mut().zip(&offsets) {
                let level = if offset.abs() > profile.half_width { profile.outer_level(levels[i]) } else { levels[i] };
                *slot = mesh.vertex(run[i] + mitres[i] * offset, level);
            }
            row
        })
        .collect();
    for pair in rows.windows(2) {
        for k in 0..3 {
            mesh.quad(pair[0][k], pair[0][k + 1], pair[1][k + 1], pair[1][k]);
        }
    }
    let last = run.len() - 1;
    let ahead = (run[last] - run[last - 1]).unit();
    mesh.cap(run[last], ahead, levels[last], profile, rows[last]);
    let back = (run[0] - run[1]).unit();
    let turned = Profile { left: profile.right, right: profile.left, ..*profile };
    let [a, b, c, d] = rows[0];
    mesh.cap(run[0], back, levels[0], &turned, [d, c, b, a]);
    mesh.finish()
}

impl Mesh {
    /// A rounded end at `centre`, from the left side (row slots 0 outer, 1 inner) through straight ahead to the right.
    fn cap(&mut self, centre: Point, ahead: Vector, level: f64, profile: &Profile, row: [u32; 4]) {
        use std::f64::consts::PI;
        let widest = [profile.left, profile.end, profile.right].into_iter().fold(0.0, f64::max);
        let steepest = [profile.left, profile.end, profile.right].into_iter().fold(f64::INFINITY, f64::min);
        let ratio = (1.0 - CHORD_ERROR * steepest / profile.outer(widest)).clamp(0.5, 1.0);
        let step = (2.0 * ratio.acos()).max(0.05);
        let steps = (PI / step).ceil().max(4.0);
        let (mut outer, mut inner) = (row[0], row[1]);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of at most 63 steps")]
        let count = steps as u32;
        for k in 1..=count {
            let (next_outer, next_inner) = if k == count {
                (row[3], row[2])
            } else {
                let share = f64::from(k) / steps;
                let (sin, cos) = (PI * share).sin_cos();
                let direction = ahead.left() * cos + ahead * sin;
                let batter = if share <= 0.5 {
                    profile.left + (profile.end - profile.left) * share * 2.0
                } else {
                    profile.end + (profile.right - profile.end) * (share - 0.5) * 2.0
                };
                (
                    self.vertex(centre + direction * profile.outer(batter), profile.outer_level(level)),
                    self.vertex(centre + direction * profile.half_width, level),
                )
            };
            // The level half disc is a fan from its left corner, so that it shares one edge with the strip.
            self.triangle(row[1], next_inner, inner);
            self.quad(inner, next_inner, next_outer, outer);
            (outer, inner) = (next_outer, next_inner);
        }
    }
}
