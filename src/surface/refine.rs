//! A surface with more vertices and other heights on the same ground.
//!
//! Invariant: the rim and every breakline stay where they are, the old vertices keep their places and their order, and the
//! result covers exactly what the surface covered. The mesh is constrained Delaunay again with the new vertices in it.

use super::locate::Locator;
use super::tin::{Tin, TinError};
use super::triangulate::constrained;
use crate::geom::{Point, Point3};
use std::collections::BTreeSet;

/// The surface with `heights` at its vertices (as many as it has) and further vertices, which stand on the lattice inside it,
/// off its vertices and breaklines. New vertices outside it are left out.
///
/// # Errors
/// [`TinError::SamePlace`] for a new vertex where one stands, [`TinError::Unsettled`] for one on a breakline or the rim.
///
/// # Panics
/// When there are not as many heights as vertices: the caller's fault.
pub fn refined(tin: &Tin, heights: &[f64], more: &[Point3]) -> Result<Tin, TinError> {
    assert_eq!(heights.len(), tin.vertices().len(), "a height for each vertex");
    let locator = Locator::new(tin);
    let mut vertices: Vec<Point3> = tin.vertices().iter().zip(heights).map(|(v, &z)| v.plan().at(z)).collect();
    vertices.extend(more.iter().filter(|place| locator.find(place.plan()).is_some()));
    let mut segments = Vec::new();
    let mut rim = BTreeSet::new();
    for (t, corners) in tin.ids().zip(tin.triangles()) {
        for k in 0..3 {
            let ends = [corners[k], corners[(k + 1) % 3]];
            let across = tin.neighbour(t, k);
            if across.is_none() && !tin.is_break(t, k) {
                rim.insert(sorted(ends));
            }
            if across.is_none() || (tin.is_break(t, k) && across > Some(t)) {
                segments.push(ends);
            }
        }
    }
    let whole = constrained(&vertices, &segments)?;
    let (mut triangles, mut breaks) = (Vec::new(), Vec::new());
    for (t, &corners) in whole.ids().zip(whole.triangles()) {
        let [a, b, c] = corners.map(|v| vertices[v as usize]);
        // The rim stands in the mesh, so a triangle lies on one side of it and its middle tells which.
        if locator.find(Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)).is_some() {
            triangles.push(corners);
            let is_break =
                |k: usize| whole.is_break(t, k) && !rim.contains(&sorted([corners[k], corners[(k + 1) % 3]]));
            breaks.push([0, 1, 2].map(is_break));
        }
    }
    Tin::compacted(vertices, triangles, breaks)
}

fn sorted([a, b]: [u32; 2]) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Polygon;
    use crate::surface::sound::assert_sound;
    use crate::surface::{cut_and_fill, triangulate};

    /// A notched plate with a breakline across it.
    fn plate() -> Tin {
        let points: Vec<Point3> = (0..49)
            .map(|i| {
                let (x, y) = (f64::from(i % 7) * 4.0 + f64::from(i / 7 % 2) * 0.5, f64::from(i / 7) * 4.0);
                Point3::new(x, y, 10.0 + 0.1 * x)
            })
            .collect();
        let notch = [(-1.0, -1.0), (30.0, -1.0), (30.0, 9.0), (13.0, 13.0), (13.0, 30.0), (-1.0, 30.0)];
        let notch = Polygon::simple(notch.iter().map(|&(x, y)| Point::new(x, y)).collect());
        triangulate(&points, &[vec![7, 8, 9, 10]]).unwrap().tin.trimmed(None, Some(&notch))
    }

    #[test]
    fn more_vertices_at_the_surfaces_own_height_change_nothing() {
        let tin = plate();
        let locator = Locator::new(&tin);
        let more: Vec<Point3> = (0..200)
            .map(|i| Point::new(f64::from(i % 20) * 1.5 + 0.3, f64::from(i / 20) * 2.6 + 0.6))
            .filter_map(|place| Some(crate::geom::snap_point(place).at(locator.elevation(place)?)))
            .chain([Point3::new(28.0, 28.0, 0.0)])
            .collect();
        let heights: Vec<f64> = tin.vertices().iter().map(|v| v.z).collect();
        let fine = refined(&tin, &heights, &more).unwrap();
        assert_sound(&fine);
        assert_eq!(fine.vertices().len(), tin.vertices().len() + more.len() - 1, "the one outside is left out");
        assert_eq!(fine.vertices()[..tin.vertices().len()], *tin.vertices());
        assert!((fine.plan_area() - tin.plan_area()).abs() < 1e-9);
        let between = cut_and_fill(&tin, &fine, None);
        assert!(between.cut + between.fill < 1e-4, "{between:?}");
        let length = |tin: &Tin| -> f64 {
            let edges = tin.ids().flat_map(|t| (0..3).map(move |k| (t, k))).filter(|&(t, k)| tin.is_break(t, k));
            edges.map(|(t, k)| tin.corners(t)[k].plan().distance(tin.corners(t)[(k + 1) % 3].plan())).sum()
        };
        assert!((length(&fine) - length(&tin)).abs() < 1e-9, "breaklines stay, and the rim is none");
    }

    #[test]
    fn other_heights_are_taken() {
        let tin = plate();
        let heights: Vec<f64> = tin.vertices().iter().map(|v| v.z + 0.25).collect();
        let raised = refined(&tin, &heights, &[]).unwrap();
        let fill = cut_and_fill(&tin, &raised, None).fill;
        assert!((fill - 0.25 * tin.plan_area()).abs() < 1e-6 * fill, "{fill}");
    }
}
