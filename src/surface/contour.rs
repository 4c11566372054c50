//! Contour lines, exact on the mesh.
//!
//! A vertex is up when its elevation reaches the level, so flats and vertices at the level need no special case: a
//! triangle with corners on both sides has exactly one line through it, from the edge that goes down (anticlockwise
//! round the triangle) to the edge that goes up. Lines therefore never branch and never cross, end only at the rim,
//! and have the higher ground on their left. A place on an edge is computed from its lower-numbered vertex, so both
//! sides of the edge get the same bits.

use super::tin::{Tin, TriangleId};
use crate::geom::Point;

/// A line of one elevation.
#[derive(Debug, Clone, PartialEq)]
pub struct ContourLine {
    /// Its vertices with the higher ground on the left; a closed line does not repeat the first.
    pub points: Vec<Point>,
    /// True when it returns to its start, false when it ends at the rim.
    pub closed: bool,
}

/// The contour lines of a surface at a level: those that start at the rim first, then closed ones, each kind by the
/// number of its first triangle. A peak that just reaches the level has no extent and gives no line.
#[must_use]
pub fn contour(tin: &Tin, level: f64) -> Vec<ContourLine> {
    contours(tin, &[level]).pop().unwrap_or_default()
}

/// The contour lines at each of several levels that rise, every one as [`contour`] gives it. Each triangle is looked at
/// only for the levels that cross it.
#[must_use]
pub fn contours(tin: &Tin, levels: &[f64]) -> Vec<Vec<ContourLine>> {
    let crossed_by = |t: TriangleId| {
        let [a, b, c] = tin.corners(t).map(|corner| corner.z);
        let (low, high) = (a.min(b).min(c), a.max(b).max(c));
        levels.partition_point(|&level| level <= low)..levels.partition_point(|&level| level <= high)
    };
    // Triangles level by level, in compressed rows.
    let mut starts = vec![0_usize; levels.len() + 1];
    tin.ids().flat_map(crossed_by).for_each(|k| starts[k + 1] += 1);
    for k in 0..levels.len() {
        starts[k + 1] += starts[k];
    }
    let mut next = starts.clone();
    let mut crossed = vec![TriangleId(0); starts[levels.len()]];
    for t in tin.ids() {
        for k in crossed_by(t) {
            crossed[next[k]] = t;
            next[k] += 1;
        }
    }
    let mut waiting = vec![false; tin.triangles().len()];
    let of_level = |(k, &level)| lines(tin, level, &crossed[starts[k]..starts[k + 1]], &mut waiting);
    levels.iter().enumerate().map(of_level).collect()
}

/// The contour lines at every whole multiple of an interval in metres (above zero) that has some, from the lowest.
///
/// # Panics
/// When the interval is not above zero: the caller's fault.
#[must_use]
pub fn contours_every(tin: &Tin, interval: f64) -> Vec<(f64, Vec<ContourLine>)> {
    assert!(interval > 0.0, "an interval is above zero");
    let Some((low, high)) = tin.elevation_range() else { return Vec::new() };
    let mut levels = Vec::new();
    let mut multiple = (low / interval).ceil();
    while multiple * interval <= high {
        levels.push(multiple * interval);
        multiple += 1.0;
    }
    let lines = contours(tin, &levels);
    levels.into_iter().zip(lines).filter(|(_, lines)| !lines.is_empty()).collect()
}

/// The lines of one level through the triangles that it crosses; none is waiting before or after.
fn lines(tin: &Tin, level: f64, crossed: &[TriangleId], waiting: &mut [bool]) -> Vec<ContourLine> {
    let mut starts = Vec::new();
    let mut inner = Vec::new();
    for &t in crossed {
        waiting[t.0 as usize] = true;
        let enters_at_rim = tin.neighbour(t, edge(tin, level, t, false)).is_none();
        if enters_at_rim { starts.push(t) } else { inner.push(t) }
    }
    let mut lines = Vec::new();
    for t in starts.into_iter().chain(inner) {
        if waiting[t.0 as usize] {
            lines.extend(trace(tin, level, t, waiting));
        }
    }
    lines
}

/// The edge of a crossed triangle that goes up, or the one that goes down.
fn edge(tin: &Tin, level: f64, t: TriangleId, rises: bool) -> usize {
    let up = tin.corners(t).map(|corner| corner.z >= level);
    (0..3).find(|&k| up[k] != rises && up[(k + 1) % 3] == rises).unwrap_or(0)
}

fn trace(tin: &Tin, level: f64, start: TriangleId, waiting: &mut [bool]) -> Option<ContourLine> {
    let mut points = vec![place_on(tin, level, start, edge(tin, level, start, false))];
    let mut t = start;
    let closed = loop {
        waiting[t.0 as usize] = false;
        let way_out = edge(tin, level, t, true);
        points.push(place_on(tin, level, t, way_out));
        match tin.neighbour(t, way_out) {
            None => break false,
            Some(next) if next == start => break true,
            Some(next) => t = next,
        }
    };
    points.dedup();
    if closed {
        points.pop();
    }
    let least = if closed { 3 } else { 2 };
    (points.len() >= least).then_some(ContourLine { points, closed })
}

fn place_on(tin: &Tin, level: f64, t: TriangleId, k: usize) -> Point {
    let corners = tin.triangles()[t.0 as usize];
    let (u, v) = (corners[k], corners[(k + 1) % 3]);
    let (a, b) = (tin.vertices()[u.min(v) as usize], tin.vertices()[u.max(v) as usize]);
    a.plan().towards(b.plan(), ((level - a.z) / (b.z - a.z)).clamp(0.0, 1.0))
}

impl ContourLine {
    /// The line with its corners cut twice, to look at: it is no longer at its level, so nothing is measured on it. The ends
    /// of an open line stay.
    ///
    /// Source: Chaikin 1974, An algorithm for high-speed curve generation.
    #[must_use]
    pub fn smoothed_to_show(&self) -> Self {
        let mut points = self.points.clone();
        for _ in 0..2 {
            let count = points.len();
            let pairs = if self.closed { count } else { count - 1 };
            let cut = (0..pairs).flat_map(|at| {
                let (a, b) = (points[at], points[(at + 1) % count]);
                [a.towards(b, 0.25), a.towards(b, 0.75)]
            });
            let mut cut: Vec<Point> = cut.collect();
            if let (false, Some(first), Some(last)) = (self.closed, cut.first_mut(), points.first()) {
                *first = *last;
            }
            if let (false, Some(end), Some(last)) = (self.closed, cut.last_mut(), points.last()) {
                *end = *last;
            }
            points = cut;
        }
        Self { points, closed: self.closed }
    }
}

#[cfg(test)]
#[path = "contour_tests.rs"]
mod tests;
