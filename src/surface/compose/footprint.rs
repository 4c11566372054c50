//! The parts where the roof rules, as far as a seed touches them, and their rim.
//!
//! Invariant: the daylight pieces form closed cycles with the footprint on their left.

use super::arrangement::{Arrangement, Edge, short};
use super::heights::{depth, weights};
use super::reach::TOUCH;
use super::{ComposeError, SAME};
use crate::geom::{Bounds, Point, Point3, snap_point};
use crate::surface::TriangleId;
use std::collections::BTreeMap;

/// The footprint on an arrangement. Nodes are the arrangement's vertices, then the places where an edge passes from
/// above to below.
#[derive(Debug)]
pub(super) struct Footprint {
    /// The triangles with a part in it.
    pub(super) chosen: Vec<TriangleId>,
    /// Its edges in the arrangement, and how many chosen triangles each has.
    edges: BTreeMap<[u32; 2], u8>,
    zero_nodes: BTreeMap<[u32; 2], u32>,
    zeros: Vec<Point>,
    /// The rim in pieces from node to node, the footprint on the left.
    pub(super) daylight: Vec<[u32; 2]>,
}

/// A piece of an edge: how it lies to the footprint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lies {
    Inside,
    Outside,
    OnRim,
}

impl Footprint {
    pub(super) fn new(arrangement: &Arrangement, seeds: &[Point]) -> Result<Self, ComposeError> {
        let chosen = flood(arrangement, starts(arrangement, seeds));
        let mut footprint = Self {
            chosen: arrangement.mesh.ids().filter(|id| chosen[id.0 as usize]).collect(),
            edges: BTreeMap::new(),
            zero_nodes: BTreeMap::new(),
            zeros: Vec::new(),
            daylight: Vec::new(),
        };
        for &id in &footprint.chosen {
            let corners = arrangement.mesh.triangles()[id.0 as usize];
            for k in 0..3 {
                let key = ordered(corners[k], corners[(k + 1) % 3]);
                *footprint.edges.entry(key).or_insert(0) += 1;
            }
        }
        footprint.add_zeros(arrangement);
        footprint.add_daylight(arrangement, &chosen)?;
        Ok(footprint)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.chosen.is_empty()
    }

    /// Number of nodes.
    pub(super) fn nodes(&self, arrangement: &Arrangement) -> usize {
        arrangement.heights.len() + self.zeros.len()
    }

    pub(super) fn place(&self, arrangement: &Arrangement, node: u32) -> Point {
        let own = arrangement.heights.len();
        if (node as usize) < own { arrangement.place(node) } else { self.zeros[node as usize - own] }
    }

    /// Nodes where edges pass through zero.
    fn add_zeros(&mut self, arrangement: &Arrangement) {
        let own = arrangement.heights.len();
        for &[a, b] in self.edges.keys() {
            if arrangement.signs[a as usize] * arrangement.signs[b as usize] != -1 {
                continue;
            }
            let (da, db) = (arrangement.difference(a), arrangement.difference(b));
            let (pa, pb) = (arrangement.place(a), arrangement.place(b));
            let place = snap_point(pa.towards(pb, da / (da - db)));
            let node = if place == pa {
                a
            } else if place == pb {
                b
            } else {
                self.zeros.push(place);
                short(own + self.zeros.len() - 1)
            };
            self.zero_nodes.insert([a, b], node);
        }
    }

    fn zero(&self, a: u32, b: u32) -> u32 {
        self.zero_nodes.get(&ordered(a, b)).copied().unwrap_or(a)
    }

    /// The part of a chosen triangle where the roof rules: nodes anticlockwise, each with the edge of the triangle that
    /// the side after it runs along (`None` along the zero line).
    fn part(&self, arrangement: &Arrangement, id: TriangleId) -> Vec<(u32, Option<usize>)> {
        let corners = arrangement.mesh.triangles()[id.0 as usize];
        let sign = |v: u32| arrangement.signs[v as usize];
        let mut part = Vec::with_capacity(4);
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            if sign(a) >= 0 {
                // From a zero corner towards a lower one the side leaves the edge.
                part.push((a, (sign(a) > 0 || sign(b) >= 0).then_some(k)));
            }
            if sign(a) > 0 && sign(b) < 0 {
                part.push((self.zero(a, b), None));
            } else if sign(a) < 0 && sign(b) > 0 {
                part.push((self.zero(a, b), Some(k)));
            }
        }
        part
    }

    /// The corners of the part of a chosen triangle that belongs to it.
    pub(super) fn shape(&self, arrangement: &Arrangement, id: TriangleId) -> Vec<Point> {
        self.part(arrangement, id).into_iter().map(|(node, _)| self.place(arrangement, node)).collect()
    }

    fn add_daylight(&mut self, arrangement: &Arrangement, chosen: &[bool]) -> Result<(), ComposeError> {
        let mut pieces = Vec::new();
        for &id in &self.chosen {
            let part = self.part(arrangement, id);
            for (i, &(from, edge)) in part.iter().enumerate() {
                let to = part[(i + 1) % part.len()].0;
                let Some(k) = edge else {
                    pieces.push([from, to]);
                    continue;
                };
                let across = arrangement.mesh.neighbour(id, k);
                if across.is_some_and(|across| chosen[across.0 as usize]) {
                    continue;
                }
                let (in_surface, shared) = across.map_or((true, false), |across| {
                    (arrangement.inside[across.0 as usize][0], arrangement.is_shared(across))
                });
                let corners = arrangement.mesh.triangles()[id.0 as usize];
                let same = [k, (k + 1) % 3].iter().all(|&k| arrangement.signs[corners[k] as usize] == 0);
                let Point { x, y } = self.place(arrangement, from).towards(self.place(arrangement, to), 0.5);
                if !shared && !in_surface {
                    return Err(ComposeError::LeavesSurvey { x, y });
                }
                if !same {
                    return Err(ComposeError::RoofTooShort { x, y });
                }
                pieces.push([from, to]);
            }
        }
        pieces.retain(|&[from, to]| from != to);
        self.daylight = self.joined(arrangement, &pieces);
        Ok(())
    }

    /// Joins pieces of the rim where nothing but a diagonal of the mesh parts them.
    fn joined(&self, arrangement: &Arrangement, pieces: &[[u32; 2]]) -> Vec<[u32; 2]> {
        let own = arrangement.heights.len();
        let mut needless = vec![true; self.zeros.len()];
        for &id in &self.chosen {
            let corners = arrangement.mesh.triangles()[id.0 as usize];
            for k in (0..3).filter(|&k| arrangement.mesh.is_break(id, k)) {
                let node = self.zero_nodes.get(&ordered(corners[k], corners[(k + 1) % 3]));
                if let Some(zero) = node.and_then(|&node| (node as usize).checked_sub(own)) {
                    needless[zero] = false;
                }
            }
        }
        let is_needless = |node: u32| node as usize >= own && needless[node as usize - own];
        let onward: BTreeMap<u32, u32> =
            pieces.iter().filter(|piece| is_needless(piece[0])).map(|&[from, to]| (from, to)).collect();
        let mut joined = Vec::new();
        for &[from, mut to] in pieces.iter().filter(|piece| !is_needless(piece[0])) {
            while let Some(&next) = onward.get(&to) {
                to = next;
            }
            joined.push([from, to]);
        }
        joined
    }

    /// The runs of an edge outside the footprint, and those inside it, as pairs of nodes; runs on its rim are left out.
    pub(super) fn runs(&self, arrangement: &Arrangement, edge: &Edge) -> (Vec<[u32; 2]>, Vec<[u32; 2]>) {
        let sign = |v: u32| arrangement.signs[v as usize];
        let (mut outside, mut inside): (Vec<[u32; 2]>, Vec<[u32; 2]>) = (Vec::new(), Vec::new());
        let mut last = Lies::OnRim;
        let mut add = |from: u32, to: u32, lies: Lies| {
            let list = match lies {
                Lies::Outside => &mut outside,
                Lies::Inside => &mut inside,
                Lies::OnRim => {
                    last = lies;
                    return;
                }
            };
            match list.last_mut() {
                Some(run) if last == lies && run[1] == from => run[1] = to,
                _ => list.push([from, to]),
            }
            last = lies;
        };
        for pair in edge.chain.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let sides = self.edges.get(&ordered(a, b)).copied().unwrap_or(0);
            match (sides, sign(a), sign(b)) {
                (0, _, _) | (_, 0, -1) | (_, -1, 0 | -1) => add(a, b, Lies::Outside),
                (_, 1, -1) => {
                    add(a, self.zero(a, b), Lies::Inside);
                    add(self.zero(a, b), b, Lies::Outside);
                }
                (_, -1, 1) => {
                    add(a, self.zero(a, b), Lies::Outside);
                    add(self.zero(a, b), b, Lies::Inside);
                }
                (1, 0, 0) => add(a, b, Lies::OnRim),
                _ => add(a, b, Lies::Inside),
            }
        }
        (outside, inside)
    }
}

pub(super) fn ordered(a: u32, b: u32) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

/// Triangles with a part where the roof rules that a seed touches.
fn starts(arrangement: &Arrangement, seeds: &[Point]) -> Vec<TriangleId> {
    let touches = |id: TriangleId| {
        let face = arrangement.mesh.corners(id);
        let plan = face.map(Point3::plan);
        let Some(near) = Bounds::around(plan).map(|bounds| bounds.grown(TOUCH)) else { return false };
        seeds.iter().filter(|&&seed| near.contains(seed) && depth(plan, seed) >= -TOUCH).any(|&seed| {
            let kept = weights(face, seed).map(|weight| weight.max(0.0));
            let corners = arrangement.mesh.triangles()[id.0 as usize];
            let sum = |value: &dyn Fn(usize) -> f64| (0..3).map(value).sum::<f64>();
            sum(&|k| arrangement.difference(corners[k]) * kept[k]) >= -SAME * sum(&|k| kept[k])
        })
    };
    arrangement.mesh.ids().filter(|&id| lets_through(arrangement, id) && touches(id)).collect()
}

/// Does the roof rule in a triangle, or lie in the surface all over it.
fn lets_through(arrangement: &Arrangement, id: TriangleId) -> bool {
    let corners = arrangement.mesh.triangles()[id.0 as usize];
    let same = arrangement.is_shared(id) && corners.iter().all(|&v| arrangement.signs[v as usize] == 0);
    same || rules_somewhere(arrangement, id)
}

fn rules_somewhere(arrangement: &Arrangement, id: TriangleId) -> bool {
    let corners = arrangement.mesh.triangles()[id.0 as usize];
    arrangement.is_shared(id) && corners.iter().any(|&v| arrangement.signs[v as usize] > 0)
}

/// Where the roof rules, connected to the starts through edges along which it is not below: also through faces that coincide, as the
/// crest of one piece of a work does with that of the piece before.
fn flood(arrangement: &Arrangement, mut open: Vec<TriangleId>) -> Vec<bool> {
    let mut chosen = vec![false; arrangement.inside.len()];
    while let Some(id) = open.pop() {
        if std::mem::replace(&mut chosen[id.0 as usize], true) {
            continue;
        }
        let signs = arrangement.mesh.triangles()[id.0 as usize].map(|v| arrangement.signs[v as usize]);
        for k in 0..3 {
            let (a, b) = (signs[k], signs[(k + 1) % 3]);
            if a > 0 || b > 0 || (a == 0 && b == 0) {
                open.extend(arrangement.mesh.neighbour(id, k).filter(|&across| lets_through(arrangement, across)));
            }
        }
    }
    for id in arrangement.mesh.ids().filter(|&id| !rules_somewhere(arrangement, id)) {
        chosen[id.0 as usize] = false;
    }
    chosen
}
