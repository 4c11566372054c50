//! Every way by which water that rises in a hollow would leave it: the low stretches of the divide round it.
//!
//! Two floods rise together, one from the water's seeds and one from the rim of the surface, each vertex taken by the one
//! that reaches it at the lesser height (the watershed by flooding from markers: Vincent and Soille 1991, from memory). The
//! edges between the two are the divide; each connected stretch of it below a level is a way out, and its lowest edge says
//! where and how high. Invariant: the lowest way out is the spill that [`super::spill_from`] finds.

use super::pool::{Around, starts};
use super::tin::Tin;
use crate::geom::{Point, Point3};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// A way out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayOut {
    /// The elevation to which water must rise to leave there.
    pub level: f64,
    /// The vertex that holds it until then.
    pub place: Point3,
    /// True where that stands on the rim of the surface: what lies beyond is not known.
    pub at_rim: bool,
}

/// Who takes a vertex, and at which height; `Ord` as the floods rise.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Reach {
    height: f64,
    /// The vertex passed that stands so high.
    highest: u32,
    inside: bool,
}

/// A vertex that water has come to, the lowest first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Front {
    pub(super) height: f64,
    pub(super) vertex: u32,
}

impl Eq for Front {}

impl PartialOrd for Front {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Front {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.height.total_cmp(&other.height).then(self.vertex.cmp(&other.vertex))
    }
}

/// The ways out below a level, the lowest first. `closed` says of an edge, by its two ends, that it is no way out: a sill
/// that is known of.
#[must_use]
pub fn ways_out(tin: &Tin, seeds: &[Point], below: f64, closed: &dyn Fn(Point, Point) -> bool) -> Vec<WayOut> {
    let vertices = tin.vertices();
    let around = Around::new(tin);
    let mut reached: Vec<Option<Reach>> = vec![None; vertices.len()];
    let mut front: BinaryHeap<Reverse<Front>> = BinaryHeap::new();
    let offer = |reached: &mut Vec<Option<Reach>>, front: &mut BinaryHeap<Reverse<Front>>, vertex: u32, from: Reach| {
        let z = vertices[vertex as usize].z;
        let reach = if z > from.height { Reach { height: z, highest: vertex, ..from } } else { from };
        if reached[vertex as usize].is_none_or(|old| reach.height < old.height) {
            reached[vertex as usize] = Some(reach);
            front.push(Reverse(Front { height: reach.height, vertex }));
        }
    };
    let from = |vertex: u32, inside: bool| Reach { height: vertices[vertex as usize].z, highest: vertex, inside };
    for start in starts(tin, seeds) {
        for corner in tin.triangles()[start.triangle.0 as usize] {
            offer(&mut reached, &mut front, corner, from(corner, true));
        }
    }
    for vertex in (0..).zip(&around.rim).filter_map(|(vertex, &rim)| rim.then_some(vertex)) {
        offer(&mut reached, &mut front, vertex, from(vertex, false));
    }
    while let Some(Reverse(Front { height, vertex })) = front.pop() {
        if let Some(reach) = reached[vertex as usize].filter(|reach| reach.height == height) {
            around.of(vertex).iter().for_each(|&next| offer(&mut reached, &mut front, next, reach));
        }
    }
    // The divide, edge by edge; the edges of one triangle that are part of it belong to one stretch.
    let mut edges: BTreeMap<[u32; 2], usize> = BTreeMap::new();
    let mut stretches = Stretches::default();
    for id in tin.ids() {
        let corners = tin.triangles()[id.0 as usize];
        let mut first: Option<usize> = None;
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let (Some(here), Some(there)) = (reached[a as usize], reached[b as usize]) else { continue };
            let higher = if here.height >= there.height { here } else { there };
            let (p, q) = (vertices[a as usize].plan(), vertices[b as usize].plan());
            if here.inside == there.inside || higher.height >= below || closed(p, q) {
                continue;
            }
            let place = vertices[higher.highest as usize];
            let way = WayOut { level: higher.height, place, at_rim: around.rim[higher.highest as usize] };
            let edge = *edges.entry([a.min(b), a.max(b)]).or_insert_with(|| stretches.add(way));
            match first {
                Some(first) => stretches.join(first, edge),
                None => first = Some(edge),
            }
        }
    }
    let mut ways = stretches.lowest();
    ways.sort_by(|a, b| a.level.total_cmp(&b.level).then(a.place.x.total_cmp(&b.place.x)));
    ways
}

/// Edges joined into stretches, each with its lowest way.
#[derive(Default)]
struct Stretches {
    parents: Vec<usize>,
    ways: Vec<WayOut>,
}

impl Stretches {
    fn add(&mut self, way: WayOut) -> usize {
        self.parents.push(self.parents.len());
        self.ways.push(way);
        self.parents.len() - 1
    }

    fn root(&mut self, mut edge: usize) -> usize {
        while self.parents[edge] != edge {
            self.parents[edge] = self.parents[self.parents[edge]];
            edge = self.parents[edge];
        }
        edge
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        let (kept, gone) = if self.ways[b].level < self.ways[a].level { (b, a) } else { (a, b) };
        self.parents[gone] = kept;
    }

    fn lowest(&self) -> Vec<WayOut> {
        (0..self.parents.len()).filter(|&edge| self.parents[edge] == edge).map(|edge| self.ways[edge]).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::{spill_from, triangulate};
    use proptest::prelude::*;

    /// A grid of 10 m, 11 by 11, with a height for each node.
    fn grid(height: impl Fn(i32, i32) -> f64) -> Tin {
        let nodes = (0..11).flat_map(|i| (0..11).map(move |j| (i, j)));
        let points: Vec<Point3> =
            nodes.map(|(i, j)| Point::new(f64::from(i) * 10.0, f64::from(j) * 10.0).at(height(i, j))).collect();
        triangulate(&points, &[]).expect("a grid").tin
    }

    /// A square basin, floor at 0, inside a wall at 10 with three gaps, outside at -1.
    #[test]
    fn every_gap_of_a_wall_is_a_way_out() {
        let tin = grid(|i, j| match (i.min(10 - i).min(j.min(10 - j)), (i, j)) {
            (0 | 1, _) => -1.0,
            (2, (2, 5)) => 4.0,
            (2, (8, 4)) => 6.0,
            (2, (5, 8)) => 9.5,
            (2, _) => 10.0,
            _ => 0.0,
        });
        let seeds = [Point::new(50.5, 50.2)];
        let ways = ways_out(&tin, &seeds, 9.0, &|_, _| false);
        let found: Vec<(f64, f64, f64)> = ways.iter().map(|way| (way.level, way.place.x, way.place.y)).collect();
        assert_eq!(found, [(4.0, 20.0, 50.0), (6.0, 80.0, 40.0)]);
        assert_eq!(ways_out(&tin, &seeds, 10.0, &|_, _| false).len(), 3);
        // The one that is known of is left out.
        let known = |a: Point, b: Point| a.x.min(b.x) < 35.0;
        let others: Vec<f64> = ways_out(&tin, &seeds, 9.0, &known).iter().map(|way| way.level).collect();
        assert_eq!(others, [6.0]);
        assert!(ways.iter().all(|way| !way.at_rim));
    }

    #[test]
    fn a_basin_at_the_edge_leaves_over_the_rim() {
        let tin = grid(|i, j| {
            if i == 0 {
                3.0
            } else if j.min(10 - j) == 0 || i == 10 {
                8.0
            } else {
                0.0
            }
        });
        let ways = ways_out(&tin, &[Point::new(50.5, 50.2)], 7.0, &|_, _| false);
        assert!(ways.len() == 1 && ways[0].level == 3.0 && ways[0].at_rim, "{ways:?}");
    }

    proptest! {
        /// On any ground the lowest way out is the spill, by another search.
        #[test]
        fn the_lowest_is_the_spill(heights in proptest::collection::vec(0.0f64..10.0, 121)) {
            let tin = grid(|i, j| heights[usize::try_from(i * 11 + j).expect("a node")]);
            let seeds = [Point::new(50.5, 50.2)];
            let ways = ways_out(&tin, &seeds, f64::INFINITY, &|_, _| false);
            let (spill, _) = spill_from(&tin, &seeds);
            let lowest = ways.first().expect("a way").level;
            // The seed itself may stand higher than all of it.
            let seed = crate::surface::Locator::new(&tin).elevation(seeds[0]).expect("on the grid");
            prop_assert!((lowest.max(seed) - spill).abs() < 1e-12, "{lowest} {seed} {spill}");
            prop_assert!(ways.windows(2).all(|pair| pair[0].level <= pair[1].level));
        }
    }
}
