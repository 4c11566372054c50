//! How far apart the points of a surface stand.
//!
//! Taken as the median length of the mesh's edges, not as the distance to the nearest point: shots strewn at random have
//! their nearest neighbour at half the distance of their others, and a longest edge that follows from it would eat into
//! open ground (measured: a quarter of the area of 4400 random shots). Edges at breaklines are left out where there are
//! enough others: breaklines are shot closer than the ground between them.

use crate::stats::median;
use crate::surface::Tin;

/// Fewest edges off the breaklines that speak for the rest.
const FEWEST: usize = 10;

/// Median length of edges, metres; zero for an empty mesh.
pub(super) fn spacing(tin: &Tin) -> f64 {
    let mut on_break = vec![false; tin.vertices().len()];
    for (t, corners) in tin.ids().zip(tin.triangles()) {
        for k in (0..3).filter(|&k| tin.is_break(t, k)) {
            on_break[corners[k] as usize] = true;
            on_break[corners[(k + 1) % 3] as usize] = true;
        }
    }
    let lengths = |wanted: &dyn Fn(usize, usize) -> bool| -> Vec<f64> {
        let edges = tin.triangles().iter().flat_map(|corners| (0..3).map(|k| (corners[k], corners[(k + 1) % 3])));
        edges
            .map(|(a, b)| (a as usize, b as usize))
            .filter(|&(a, b)| wanted(a, b))
            .map(|(a, b)| tin.vertices()[a].plan().distance(tin.vertices()[b].plan()))
            .collect()
    };
    let open = lengths(&|a, b| !on_break[a] && !on_break[b]);
    let chosen = if open.len() < FEWEST { lengths(&|_, _| true) } else { open };
    median(&chosen).unwrap_or(0.0)
}
