//! The rims of a surface: where it ends, outside and round its holes.
//!
//! Invariant: a ring is simple and has the surface on its left, so that an outer rim runs anticlockwise and a hole's clockwise; the
//! signed areas of all rings add up to the area of the surface.

use super::tin::{Tin, TriangleId};
use crate::geom::{Point, area_of_ring};

/// A hole inside a surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// Its rim, clockwise.
    pub ring: Vec<Point>,
    /// Area inside the rim, with any islands in it, square metres.
    pub area: f64,
}

/// The holes of a surface, the largest first.
#[must_use]
pub fn holes(tin: &Tin) -> Vec<Hole> {
    let holes = rims(tin).into_iter().map(|ring| (-area_of_ring(&ring), ring)).filter(|(area, _)| *area > 0.0);
    let mut holes: Vec<Hole> = holes.map(|(area, ring)| Hole { ring, area }).collect();
    holes.sort_by(|a, b| b.area.total_cmp(&a.area));
    holes
}

/// All rims of a surface; a hole's has a negative [`area_of_ring`].
#[must_use]
pub fn rims(tin: &Tin) -> Vec<Vec<Point>> {
    let places = |ring: Vec<u32>| ring.iter().map(|&v| tin.vertices()[v as usize].plan()).collect();
    rings(tin, |_| true).into_iter().map(places).collect()
}

/// The simple rings round the triangles inside, which lie on their left.
pub(super) fn rings(mesh: &Tin, inside: impl Fn(TriangleId) -> bool) -> Vec<Vec<u32>> {
    let mut rings = Vec::new();
    let mut done = vec![[false; 3]; mesh.triangles().len()];
    let is_rim = |id: TriangleId, k: usize| inside(id) && mesh.neighbour(id, k).is_none_or(|across| !inside(across));
    for first in mesh.ids() {
        for edge in 0..3 {
            if done[first.0 as usize][edge] || !is_rim(first, edge) {
                continue;
            }
            let (mut id, mut k) = (first, edge);
            let mut ring: Vec<u32> = Vec::new();
            while !std::mem::replace(&mut done[id.0 as usize][k], true) {
                let v = mesh.triangles()[id.0 as usize][k];
                // A ring that comes back to a vertex parts there, so that each is simple.
                if let Some(before) = ring.iter().position(|&w| w == v) {
                    rings.push(ring.split_off(before));
                }
                ring.push(v);
                // Turn round the end vertex through the inside to the next edge of the rim.
                k = (k + 1) % 3;
                while !is_rim(id, k) {
                    let end = mesh.triangles()[id.0 as usize][k];
                    let Some(across) = mesh.neighbour(id, k) else { break };
                    let corners = mesh.triangles()[across.0 as usize];
                    // In the triangle across, the edge that leaves the same vertex.
                    k = (0..3).find(|&k| corners[k] == end).unwrap_or(0);
                    id = across;
                }
            }
            rings.push(ring);
        }
    }
    rings.retain(|ring| ring.len() >= 3);
    rings
}
