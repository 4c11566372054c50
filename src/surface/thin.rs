//! A surface with as few vertices as hold it within a bound of the one it was made from.
//!
//! Every vertex on the rim (of holes too) and on a breakline stays, with its edges; of the others those are put back, the
//! worst first, that stand farther from the surface so far than the bound, until none does. Invariant: the thin surface
//! covers the same ground, its vertices are vertices of the full one, and no vertex of the full one stands farther from
//! it than the bound; that is measured afterwards, apart from how it was made.
//!
//! Source: Garland and Heckbert 1995, Fast polygonal approximation of terrains and height fields (greedy insertion, with
//! the worst point of each triangle in a heap), here with the exact constrained Delaunay mesh.

use super::delaunay::delaunay;
use super::hilbert;
use super::locate::Locator;
use super::mesh::{Holder, Mesh, NONE};
use super::tin::{Tin, TinError};
use crate::geom::{Point, Point3};
use std::collections::BinaryHeap;

/// A thinned surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Thinned {
    /// The surface.
    pub tin: Tin,
    /// The largest difference in elevation to any vertex of the full surface, metres, measured on the finished one.
    pub worst: f64,
}

/// Thins a surface: no vertex of it stands farther than `bound` metres above or below the result.
///
/// # Errors
/// [`TinError::SamePlace`] or [`TinError::Unsettled`] when its edges cross or vertices share a place, as they can in a
/// surface made elsewhere.
pub fn thin(tin: &Tin, bound: f64) -> Result<Thinned, TinError> {
    if tin.triangles().is_empty() {
        return Ok(Thinned { tin: tin.clone(), worst: 0.0 });
    }
    let edges = kept_edges(tin);
    let (order, count) = order(tin, &edges)?;
    let places: Vec<Point> = order.iter().map(|&v| tin.vertices()[v as usize].plan()).collect();
    let mut rank = vec![NONE; tin.vertices().len()];
    (0_u32..).zip(&order).for_each(|(at, &v)| rank[v as usize] = at);
    let mut mesh = delaunay(&places, count);
    for edge in &edges {
        let [a, b] = edge.ends.map(|v| rank[v as usize]);
        mesh.fix(a, b).map_err(|Point { x, y }| TinError::Unsettled { x, y })?;
    }
    mesh.settle();
    let heights = order.iter().map(|&v| tin.vertices()[v as usize].z).collect();
    // What the bound loses covers the rounding between two ways to compute a height.
    let limit = bound - (bound * 1e-3).min(1e-6);
    Thinning::new(&mut mesh, heights, limit, count).run();
    let thin = finished(tin, &mesh, &order, &rank, &edges)?;
    let worst = worst(tin, &thin);
    Ok(Thinned { tin: thin, worst })
}

/// An edge that stays, its ground on the left.
struct Edge {
    ends: [u32; 2],
    rim: bool,
    breaks: bool,
}

fn kept_edges(tin: &Tin) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (t, corners) in tin.ids().zip(tin.triangles()) {
        for k in 0..3 {
            let (across, breaks) = (tin.neighbour(t, k), tin.is_break(t, k));
            if across.is_none() || (breaks && across > Some(t)) {
                edges.push(Edge { ends: [corners[k], corners[(k + 1) % 3]], rim: across.is_none(), breaks });
            }
        }
    }
    edges
}

/// Vertices in use, those that stay first, each part along a Hilbert curve; and how many stay.
fn order(tin: &Tin, edges: &[Edge]) -> Result<(Vec<u32>, usize), TinError> {
    let mut standing = vec![0_u8; tin.vertices().len()];
    tin.triangles().iter().flatten().for_each(|&v| standing[v as usize] = 1);
    edges.iter().flat_map(|edge| edge.ends).for_each(|v| standing[v as usize] = 2);
    let along = |wanted: u8| -> Vec<u32> {
        let chosen: Vec<u32> = (0_u32..).zip(&standing).filter(|&(_, &is)| is == wanted).map(|(v, _)| v).collect();
        let places: Vec<Point> = chosen.iter().map(|&v| tin.vertices()[v as usize].plan()).collect();
        hilbert::order(&places).into_iter().map(|at| chosen[at as usize]).collect()
    };
    let mut order = along(2);
    let place = |v: u32| tin.vertices()[v as usize].plan();
    if let Some(pair) = order.windows(2).find(|pair| place(pair[0]) == place(pair[1])) {
        return Err(TinError::SamePlace { first: pair[0], second: pair[1] });
    }
    let count = order.len();
    order.extend(along(1));
    Ok((order, count))
}

/// The worst point of a triangle, as the heap has it: bits of its error, triangle, point.
type Worst = (u64, u32, u32);

/// Points that wait in triangles.
struct Thinning<'m, 'p> {
    mesh: &'m mut Mesh<'p>,
    heights: Vec<f64>,
    limit: f64,
    /// The first point waiting in each triangle, and the one after each point.
    first: Vec<u32>,
    after: Vec<u32>,
    /// Error bits and point of the worst in each triangle that is over the limit.
    worst: Vec<(u64, u32)>,
    heap: BinaryHeap<Worst>,
}

impl<'m, 'p> Thinning<'m, 'p> {
    /// Puts all points after the first `count` into their triangles.
    fn new(mesh: &'m mut Mesh<'p>, heights: Vec<f64>, limit: f64, count: usize) -> Self {
        let triangles = mesh.from.len() / 3;
        let mut first = vec![NONE; triangles];
        let mut after = vec![NONE; heights.len()];
        let mut last = 0;
        for p in count..heights.len() {
            let p = u32::try_from(p).unwrap_or(NONE);
            last = match mesh.locate(mesh.place(p), last) {
                Holder::Triangle(t) => t,
                Holder::Edge(h) => h / 3,
                // No better than the vertex that stands there.
                Holder::Vertex(_) | Holder::Beyond(_) => continue,
            };
            after[p as usize] = std::mem::replace(&mut first[last as usize], p);
        }
        let worst = vec![(0, NONE); triangles];
        let mut all = Self { mesh, heights, limit, first, after, worst, heap: BinaryHeap::new() };
        for t in 0..u32::try_from(triangles).unwrap_or(NONE) {
            all.weigh(t);
        }
        all
    }

    /// Finds the worst point of a triangle.
    fn weigh(&mut self, t: u32) {
        let mut worst = (0, NONE);
        let mut p = self.first[t as usize];
        if p != NONE {
            let plane = Plane::of(self.mesh, &self.heights, t);
            while p != NONE {
                let error = (self.heights[p as usize] - plane.at(self.mesh.place(p))).abs();
                if error > self.limit {
                    worst = worst.max((error.to_bits(), p));
                }
                p = self.after[p as usize];
            }
        }
        self.worst[t as usize] = worst;
        if worst.1 != NONE {
            self.heap.push((worst.0, t, worst.1));
        }
    }

    /// Puts points back until none is over the limit.
    fn run(&mut self) {
        let mut changed = Vec::new();
        let mut points = Vec::new();
        while let Some((error, t, p)) = self.heap.pop() {
            if self.worst[t as usize] != (error, p) {
                continue;
            }
            let holder = self.mesh.locate(self.mesh.place(p), t);
            changed.clear();
            self.mesh.insert(p, holder, |t| changed.push(t));
            points.clear();
            for &t in &changed {
                let mut next = std::mem::replace(&mut self.first[t as usize], NONE);
                while next != NONE {
                    points.push(next);
                    next = self.after[next as usize];
                }
                self.worst[t as usize] = (0, NONE);
            }
            let triangles = self.mesh.from.len() / 3;
            self.first.resize(triangles, NONE);
            self.worst.resize(triangles, (0, NONE));
            self.spread(p, &points);
            if self.heap.len() > 4 * triangles + 1024 {
                let worst = &self.worst;
                self.heap.retain(|&(error, t, p)| worst[t as usize] == (error, p));
            }
        }
    }

    /// Puts points into the triangles round a new vertex.
    fn spread(&mut self, vertex: u32, points: &[u32]) {
        let star = self.mesh.around(vertex);
        let mut at = 0;
        for &p in points.iter().filter(|&&p| p != vertex) {
            // Each triangle is less than half a turn wide, so this goes one way only.
            at = (0..star.len()).fold(at, |at, _| match self.mesh.beside(star[at], p) {
                std::cmp::Ordering::Less => (at + star.len() - 1) % star.len(),
                std::cmp::Ordering::Greater => (at + 1) % star.len(),
                std::cmp::Ordering::Equal => at,
            });
            if self.mesh.beside(star[at], p).is_ne() {
                // On the rim the triangles make no full turn.
                at = star.iter().position(|&h| self.mesh.beside(h, p).is_eq()).unwrap_or(at);
            }
            let t = star[at] / 3;
            self.after[p as usize] = std::mem::replace(&mut self.first[t as usize], p);
        }
        for h in star {
            self.weigh(h / 3);
        }
    }
}

/// The plane through a triangle, by weights of its corners.
struct Plane {
    corner: Point,
    z: f64,
    sides: [crate::geom::Vector; 2],
    rises: [f64; 2],
    whole: f64,
}

impl Plane {
    fn of(mesh: &Mesh, heights: &[f64], t: u32) -> Self {
        let corners = [0, 1, 2].map(|k| mesh.from[(3 * t + k) as usize]);
        let [a, b, c] = corners.map(|v| mesh.place(v));
        let [z, at_b, at_c] = corners.map(|v| heights[v as usize]);
        let sides = [b - a, c - a];
        Self { corner: a, z, sides, rises: [at_b - z, at_c - z], whole: sides[0].cross(sides[1]) }
    }

    fn at(&self, place: Point) -> f64 {
        let step = place - self.corner;
        let (of_b, of_c) = (step.cross(self.sides[1]), self.sides[0].cross(step));
        self.z + (of_b * self.rises[0] + of_c * self.rises[1]) / self.whole
    }
}

/// The part of the mesh that the full surface covers.
fn finished(tin: &Tin, mesh: &Mesh, order: &[u32], rank: &[u32], edges: &[Edge]) -> Result<Tin, TinError> {
    let mut breaks = mesh.fixed.clone();
    let mut rim = vec![false; mesh.from.len()];
    let mut inside = vec![false; mesh.from.len() / 3];
    let mut open = Vec::new();
    for edge in edges.iter().filter(|edge| edge.rim) {
        let [a, b] = edge.ends.map(|v| rank[v as usize]);
        let lost = || TinError::Unsettled { x: mesh.place(a).x, y: mesh.place(a).y };
        let found = mesh.find(a, b).ok_or_else(lost)?;
        let sides = [found, mesh.twin[found as usize]];
        for h in sides.into_iter().filter(|&h| h != NONE) {
            rim[h as usize] = true;
            breaks[h as usize] = edge.breaks;
            if mesh.from[h as usize] == a {
                open.push(h / 3);
            }
        }
    }
    while let Some(t) = open.pop() {
        if !std::mem::replace(&mut inside[t as usize], true) {
            let sides = (3 * t..3 * t + 3).filter(|&h| !rim[h as usize] && mesh.twin[h as usize] != NONE);
            open.extend(sides.map(|h| mesh.twin[h as usize] / 3));
        }
    }
    let chosen = (0_u32..).zip(&inside).filter(|&(_, &inside)| inside);
    let mut faces: Vec<([u32; 3], [bool; 3])> = chosen
        .map(|(t, _)| {
            let sides = [3 * t, 3 * t + 1, 3 * t + 2].map(|h| h as usize);
            let corners = sides.map(|h| order[mesh.from[h] as usize]);
            let least = (0..3).min_by_key(|&k| corners[k]).unwrap_or(0);
            let turned = [least, (least + 1) % 3, (least + 2) % 3];
            (turned.map(|k| corners[k]), turned.map(|k| breaks[sides[k]]))
        })
        .collect();
    faces.sort_unstable();
    let (triangles, breaks) = faces.into_iter().unzip();
    Tin::compacted(tin.vertices().to_vec(), triangles, breaks)
}

/// The largest difference in elevation between the vertices of a surface and another one over the same ground.
fn worst(full: &Tin, thin: &Tin) -> f64 {
    let locator = Locator::new(thin);
    let mut walker = locator.walker();
    let mut used = vec![false; full.vertices().len()];
    full.triangles().iter().flatten().for_each(|&v| used[v as usize] = true);
    let off = |v: &Point3| walker.elevation(v.plan()).map_or(f64::INFINITY, |z| (z - v.z).abs());
    full.vertices().iter().zip(used).filter(|(_, used)| *used).map(|(v, _)| v).map(off).fold(0.0, f64::max)
}

#[cfg(test)]
#[path = "thin_tests.rs"]
mod tests;
