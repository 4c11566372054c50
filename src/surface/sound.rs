//! For tests only: everything that must hold of a mesh, checked exactly.

use super::tin::{Tin, TriangleId};
use crate::geom::{LATTICE_STEP, Point, Side, circle, orient};

/// Checks what holds of every mesh: orientation, neighbours, breaklines on both sides, order of triangles.
pub(crate) fn assert_sound(tin: &Tin) {
    let places: Vec<Point> = tin.vertices().iter().map(|v| v.plan()).collect();
    for t in tin.ids() {
        let corners = tin.triangles()[t.0 as usize];
        let [a, b, c] = corners.map(|v| places[v as usize]);
        assert_eq!(orient(a, b, c), Side::Left, "triangle {t:?} {corners:?} is anticlockwise");
        for k in 0..3 {
            let (from, to) = (corners[k], corners[(k + 1) % 3]);
            let Some(across) = tin.neighbour(t, k) else { continue };
            let back = edge_to(tin, across, t, to).unwrap_or_else(|| panic!("{across:?} knows {t:?}"));
            let other = tin.triangles()[across.0 as usize];
            assert_eq!((other[back], other[(back + 1) % 3]), (to, from), "both sides of the edge agree");
            assert_eq!(tin.is_break(t, k), tin.is_break(across, back), "a breakline has two sides");
        }
    }
}

/// Checks what holds of a triangulation of the hull of all its vertices: each vertex used, Euler's formula, a convex
/// rim, areas that add up to the hull's, and empty circles off the breaklines.
pub(crate) fn assert_constrained_delaunay(tin: &Tin) {
    assert_sound(tin);
    let places: Vec<Point> = tin.vertices().iter().map(|v| v.plan()).collect();
    let mut used = vec![false; places.len()];
    tin.triangles().iter().flatten().for_each(|&v| used[v as usize] = true);
    assert!(used.iter().all(|&used| used), "each vertex belongs to a triangle");
    let mut rim = vec![None; places.len()];
    for t in tin.ids() {
        let corners = tin.triangles()[t.0 as usize];
        for k in 0..3 {
            let Some(across) = tin.neighbour(t, k) else {
                assert_eq!(rim[corners[k] as usize].replace(corners[(k + 1) % 3]), None, "one rim");
                continue;
            };
            let other = tin.triangles()[across.0 as usize];
            let beyond = other.into_iter().find(|v| !corners.contains(v)).expect("two triangles differ in one corner");
            let [a, b, c] = corners.map(|v| places[v as usize]);
            if !tin.is_break(t, k) {
                assert!(circle(a, b, c, places[beyond as usize]) <= 0.0, "empty circle of {t:?} at vertex {beyond}");
            }
        }
    }
    let start = rim.iter().position(Option::is_some).expect("a rim");
    let mut ring = vec![start];
    while let Some(next) = rim[ring[ring.len() - 1]].map(|v| v as usize).filter(|&v| v != start) {
        ring.push(next);
    }
    assert_eq!(ring.len(), rim.iter().flatten().count(), "the rim is one ring");
    let ring: Vec<Point> = ring.into_iter().map(|v| places[v]).collect();
    for i in 0..ring.len() {
        let (b, c) = (ring[(i + 1) % ring.len()], ring[(i + 2) % ring.len()]);
        assert_ne!(orient(ring[i], b, c), Side::Right, "the rim is convex");
    }
    let triangles = tin.triangles().len();
    assert_eq!(triangles + 2 + ring.len(), 2 * places.len(), "Euler's formula");
    let parts: i128 = tin.triangles().iter().map(|t| doubled_area(&t.map(|v| places[v as usize]))).sum();
    assert_eq!(parts, doubled_area(&ring), "areas add up");
}

/// Twice the area of a ring in square lattice steps, exact.
#[expect(clippy::cast_possible_truncation, reason = "whole numbers below 2^37, asserted")]
fn doubled_area(ring: &[Point]) -> i128 {
    let step = |value: f64| {
        let steps = value / LATTICE_STEP;
        assert_eq!(steps, steps.round(), "vertices stand on the lattice");
        steps as i128
    };
    let after = ring.iter().cycle().skip(1);
    ring.iter().zip(after).map(|(p, q)| step(p.x) * step(q.y) - step(p.y) * step(q.x)).sum()
}

/// The edge of `t` that starts at vertex `from` and lies towards `to`.
fn edge_to(tin: &Tin, t: TriangleId, to: TriangleId, from: u32) -> Option<usize> {
    (0..3).find(|&k| tin.neighbour(t, k) == Some(to) && tin.triangles()[t.0 as usize][k] == from)
}

/// True when the two vertices are joined by a breakline edge.
pub(crate) fn has_break(tin: &Tin, a: u32, b: u32) -> bool {
    tin.ids().any(|t| {
        let corners = tin.triangles()[t.0 as usize];
        (0..3).any(|k| {
            let (from, to) = (corners[k], corners[(k + 1) % 3]);
            tin.is_break(t, k) && ((from, to) == (a, b) || (from, to) == (b, a))
        })
    })
}
