//! How far apart the points of a surface stand.
//!
//! A point's nearest neighbour is always at the other end of one of its Delaunay edges, so the mesh answers without a
//! search. Points on breaklines are left out where there are enough others: edges are shot closer than open ground, and
//! the longest edge that follows from the spacing must not eat the open ground between them.

use crate::stats::median;
use crate::surface::Tin;

/// Fewest points off the breaklines that speak for the rest.
const FEWEST: usize = 10;

/// Median distance from a point to the nearest other one, metres; zero for an empty mesh.
pub(super) fn spacing(tin: &Tin) -> f64 {
    let count = tin.vertices().len();
    let mut on_break = vec![false; count];
    for (t, corners) in tin.ids().zip(tin.triangles()) {
        for k in 0..3 {
            if tin.is_break(t, k) {
                on_break[corners[k] as usize] = true;
                on_break[corners[(k + 1) % 3] as usize] = true;
            }
        }
    }
    let open = on_break.iter().filter(|on| !**on).count() >= FEWEST;
    let mut nearest = vec![f64::INFINITY; count];
    for corners in tin.triangles() {
        for k in 0..3 {
            let (a, b) = (corners[k] as usize, corners[(k + 1) % 3] as usize);
            if open && (on_break[a] || on_break[b]) {
                continue;
            }
            let length = tin.vertices()[a].plan().distance(tin.vertices()[b].plan());
            nearest[a] = nearest[a].min(length);
            nearest[b] = nearest[b].min(length);
        }
    }
    let found: Vec<f64> = nearest.into_iter().filter(|length| length.is_finite()).collect();
    median(&found).unwrap_or(0.0)
}
