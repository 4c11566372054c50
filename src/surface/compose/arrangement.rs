//! Both surfaces on one mesh: their edges noded together, so that their difference is linear in each triangle.
//!
//! Invariant: every triangle lies in one face of each surface, to a lattice step; edges marked as breaklines in the mesh
//! are pieces of an edge of one of the two.

use super::heights::Heights;
use super::reach::Reach;
use super::{ComposeError, SAME, Way, difference};
use crate::geom::{Point, Point3};
use crate::surface::tin::plane_at;
use crate::surface::{Noded, Tin, TriangleId, constrained, node};

/// Faces that bend by less than this at the far corner count as one plane, metres.
const FLAT: f64 = 1e-9;

/// An edge of a surface and the vertices of the arrangement along it.
#[derive(Debug, Clone)]
pub(super) struct Edge {
    /// Its ends in its own surface, lower first.
    pub(super) ends: [u32; 2],
    /// Vertices of the arrangement from the first end to the second.
    pub(super) chain: Vec<u32>,
}

/// The arrangement of a roof and the part of a surface under it.
#[derive(Debug)]
pub(super) struct Arrangement {
    /// The mesh; its own heights mean nothing.
    pub(super) mesh: Tin,
    /// Height of the surface and of the roof at each vertex; not a number where there is none.
    pub(super) heights: Vec<[f64; 2]>,
    /// For each vertex 1 where the roof rules (above, or for a bowl below), -1 where the surface does, 0 where they
    /// are the same or one is missing.
    pub(super) signs: Vec<i8>,
    /// For each triangle whether it lies in the surface and in the roof.
    pub(super) inside: Vec<[bool; 2]>,
    /// The surface's edges, sorted by ends.
    pub(super) surface_edges: Vec<Edge>,
    /// The roof's creases and rim.
    pub(super) roof_edges: Vec<Edge>,
    /// For each vertex the surface's vertex that stands there.
    pub(super) surface_vertex: Vec<Option<u32>>,
    /// The part of the surface looked at, and the roof.
    pub(super) surface: Heights,
    pub(super) roof: Heights,
}

impl Arrangement {
    /// `None` when no seed lies on both surfaces.
    pub(super) fn new(surface: &Tin, roof: &Tin, seeds: &[Point], way: Way) -> Result<Option<Self>, ComposeError> {
        let roof_heights = Heights::new(roof, roof.ids().collect());
        let reach = Reach::new(surface, &roof_heights, seeds, way);
        let under = Heights::new(surface, reach.surface);
        if !seeds.iter().any(|&seed| under.at(seed).is_some() && roof_heights.at(seed).is_some()) {
            return Ok(None);
        }
        let mut surface_edges = edges(surface, under.ids(), |_, _| true);
        let mut roof_edges = edges(roof, &reach.roof, |id, edge| is_crease(roof, id, edge));
        surface_edges.sort_by_key(|edge| edge.ends);

        let (mut points, mut segments) = (Vec::new(), Vec::new());
        let mut owners = Vec::new();
        for (tin, list) in [(surface, &surface_edges), (roof, &roof_edges)] {
            let mut vertices: Vec<u32> = list.iter().flat_map(|edge| edge.ends).collect();
            vertices.sort_unstable();
            vertices.dedup();
            let start = points.len();
            points.extend(vertices.iter().map(|&v| tin.vertices()[v as usize].plan()));
            let index = |v: u32| short(start + vertices.binary_search(&v).unwrap_or(0));
            segments.extend(list.iter().map(|edge| edge.ends.map(index)));
            owners.push(vertices);
        }
        let noded = node(&points, &segments)?;
        let mut chains = chains(&noded, &segments).into_iter();
        for edge in surface_edges.iter_mut().chain(&mut roof_edges) {
            edge.chain = chains.next().unwrap_or_default();
        }
        let mut surface_vertex = vec![None; noded.points.len()];
        for (position, &vertex) in owners[0].iter().enumerate() {
            surface_vertex[noded.vertex_of_point[position] as usize] = Some(vertex);
        }
        let flat: Vec<Point3> = noded.points.iter().map(|p| p.at(0.0)).collect();
        let pieces: Vec<[u32; 2]> = noded.pieces.iter().map(|piece| piece.ends).collect();
        let mesh = constrained(&flat, &pieces)?;

        let heights: Vec<[f64; 2]> = (noded.points.iter().zip(&surface_vertex))
            .map(|(&place, vertex)| {
                let own = vertex.map(|v| surface.vertices()[v as usize].z);
                let ground = own.or_else(|| under.at(place));
                [ground.unwrap_or(f64::NAN), roof_heights.at(place).unwrap_or(f64::NAN)]
            })
            .collect();
        let signs = heights.iter().map(|&pair| sign(difference(pair, way))).collect();
        let inside = mesh
            .ids()
            .map(|id| {
                let corners = mesh.triangles()[id.0 as usize];
                let middle = middle(mesh.corners(id).map(Point3::plan));
                let known = |k: usize| corners.iter().all(|&v| !heights[v as usize][k].is_nan());
                [known(0) && under.holds(middle), known(1) && roof_heights.holds(middle)]
            })
            .collect();
        Ok(Some(Self {
            mesh,
            heights,
            signs,
            inside,
            surface_edges,
            roof_edges,
            surface_vertex,
            surface: under,
            roof: roof_heights,
        }))
    }

    /// How far the roof lies on its side of the surface at a vertex.
    pub(super) fn difference(&self, vertex: u32) -> f64 {
        let [surface, roof] = self.heights[vertex as usize];
        (roof - surface).abs() * f64::from(self.signs[vertex as usize])
    }

    /// True when both surfaces are there.
    pub(super) fn is_shared(&self, triangle: TriangleId) -> bool {
        self.inside[triangle.0 as usize] == [true; 2]
    }

    pub(super) fn place(&self, vertex: u32) -> Point {
        self.mesh.vertices()[vertex as usize].plan()
    }
}

fn sign(difference: f64) -> i8 {
    if difference > SAME {
        1
    } else if difference < -SAME {
        -1
    } else {
        0
    }
}

pub(super) fn middle([a, b, c]: [Point; 3]) -> Point {
    Point::new(a.x + ((b.x - a.x) + (c.x - a.x)) / 3.0, a.y + ((b.y - a.y) + (c.y - a.y)) / 3.0)
}

/// Each edge of some triangles once, as far as it is wanted; edges with no neighbour are always wanted.
fn edges(tin: &Tin, ids: &[TriangleId], wanted: impl Fn(TriangleId, usize) -> bool) -> Vec<Edge> {
    let mut edges = Vec::new();
    for &id in ids {
        let corners = tin.triangles()[id.0 as usize];
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let first = match tin.neighbour(id, k) {
                None => true,
                Some(across) => (id < across || ids.binary_search(&across).is_err()) && wanted(id, k),
            };
            if first {
                edges.push(Edge { ends: [a.min(b), a.max(b)], chain: Vec::new() });
            }
        }
    }
    edges
}

/// True when the faces on both sides of an edge are no single plane.
fn is_crease(tin: &Tin, id: TriangleId, edge: usize) -> bool {
    let Some(across) = tin.neighbour(id, edge) else { return true };
    let mine = tin.triangles()[id.0 as usize];
    let far = |from: TriangleId, other: [u32; 3], corners: [Point3; 3]| {
        let apex = tin.triangles()[from.0 as usize].into_iter().find(|v| !other.contains(v));
        apex.map(|v| tin.vertices()[v as usize]).is_some_and(|p| (plane_at(corners, p.plan()) - p.z).abs() > FLAT)
    };
    let theirs = tin.triangles()[across.0 as usize];
    far(across, mine, tin.corners(id)) || far(id, theirs, tin.corners(across))
}

/// For each segment the vertices along it.
pub(super) fn chains(noded: &Noded, segments: &[[u32; 2]]) -> Vec<Vec<u32>> {
    let mut pieces: Vec<Vec<[u32; 2]>> = vec![Vec::new(); segments.len()];
    for piece in noded.pieces.iter().chain(&noded.overlaid) {
        pieces[piece.segment as usize].push(piece.ends);
    }
    segments
        .iter()
        .zip(pieces)
        .map(|(ends, mut pieces)| {
            let mut here = noded.vertex_of_point[ends[0] as usize];
            let mut chain = vec![here];
            while let Some(next) = pieces.iter().position(|piece| piece[0] == here) {
                here = pieces.remove(next)[1];
                chain.push(here);
            }
            chain
        })
        .collect()
}

pub(super) fn short(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}
