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
    let up: Vec<bool> = tin.vertices().iter().map(|v| v.z >= level).collect();
    let crossed = |t: TriangleId| {
        let corners = tin.triangles()[t.0 as usize].map(|v| up[v as usize]);
        corners.contains(&true) && corners.contains(&false)
    };
    let mut waiting = vec![false; tin.triangles().len()];
    let mut starts = Vec::new();
    let mut inner = Vec::new();
    for t in tin.ids().filter(|&t| crossed(t)) {
        waiting[t.0 as usize] = true;
        let enters_at_rim = tin.neighbour(t, edge(tin, &up, t, false)).is_none();
        if enters_at_rim { starts.push(t) } else { inner.push(t) }
    }
    let mut lines = Vec::new();
    for t in starts.into_iter().chain(inner) {
        if waiting[t.0 as usize] {
            lines.extend(trace(tin, level, &up, t, &mut waiting));
        }
    }
    lines
}

/// The edge of a crossed triangle that goes up, or the one that goes down.
fn edge(tin: &Tin, up: &[bool], t: TriangleId, rises: bool) -> usize {
    let corners = tin.triangles()[t.0 as usize].map(|v| up[v as usize]);
    (0..3).find(|&k| corners[k] != rises && corners[(k + 1) % 3] == rises).unwrap_or(0)
}

fn trace(tin: &Tin, level: f64, up: &[bool], start: TriangleId, waiting: &mut [bool]) -> Option<ContourLine> {
    let mut points = vec![place_on(tin, level, start, edge(tin, up, start, false))];
    let mut t = start;
    let closed = loop {
        waiting[t.0 as usize] = false;
        let way_out = edge(tin, up, t, true);
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

#[cfg(test)]
#[path = "contour_tests.rs"]
mod tests;
