//! Sewing the footprint into the surface.
//!
//! Invariant: triangles away from the footprint are kept as they are; the patch made anew has the same rim, vertex by
//! vertex, so nothing gapes.

use super::arrangement::{Arrangement, chains, short};
use super::footprint::{Footprint, ordered};
use super::heights::Heights;
use super::{ComposeError, Composed};
use crate::geom::{Point, Point3, Polygon, area_of_ring, contains};
use crate::surface::holes::rings;
use crate::surface::{Noded, Tin, TinError, TriangleId, constrained, node};
use std::collections::{BTreeMap, BTreeSet};

/// Triangles this near to the footprint are made anew, metres.
const NEAR: f64 = 1e-5;
/// How often the patch may grow because its rim was bent.
const ROUNDS: usize = 8;

/// Replaces the surface by the roof inside the footprint.
pub(super) fn stitch(
    surface: &Tin,
    arrangement: &Arrangement,
    footprint: &Footprint,
) -> Result<Composed, ComposeError> {
    let mut member = patch(surface, arrangement, footprint);
    for _ in 0..ROUNDS {
        let plan = Plan::new(surface, arrangement, footprint, &member);
        let noded = node(&plan.points, &plan.segments)?;
        let chains = chains(&noded, &plan.segments);
        let bent = plan.bent(&chains);
        if bent.is_empty() {
            return Patch::new(surface, arrangement, &plan, &noded, &chains)?.sewn(
                surface,
                arrangement,
                footprint,
                &member,
            );
        }
        for id in bent {
            member[id.0 as usize] = true;
        }
    }
    let Point { x, y } = footprint.place(arrangement, footprint.daylight[0][0]);
    Err(TinError::Unsettled { x, y }.into())
}

/// The surface's triangles that the footprint touches, and one ring round them.
fn patch(surface: &Tin, arrangement: &Arrangement, footprint: &Footprint) -> Vec<bool> {
    let mut touched = vec![false; surface.vertices().len()];
    for &id in &footprint.chosen {
        let shape = footprint.shape(arrangement, id);
        arrangement.surface.each_near(&shape, |item| {
            let face = arrangement.surface.face(item as usize).map(Point3::plan);
            let apart = (0..3).any(|k| {
                let side = face[(k + 1) % 3] - face[k];
                let length = side.dot(side).sqrt();
                shape.iter().all(|&p| side.cross(p - face[k]) < -NEAR * length)
            });
            if !apart {
                let id = arrangement.surface.ids()[item as usize];
                surface.triangles()[id.0 as usize].iter().for_each(|&v| touched[v as usize] = true);
            }
        });
    }
    surface.triangles().iter().map(|corners| corners.iter().any(|&v| touched[v as usize])).collect()
}

/// What a segment of the patch is.
#[derive(Debug, Clone, Copy)]
enum Kind {
    /// An edge of the surface; true for a breakline.
    Edge(bool),
    /// An edge of the patch's rim, the patch on the left, with the triangle beyond; true for a breakline.
    Rim(Option<TriangleId>, bool),
    /// A crease of the roof.
    Crease,
    /// Part of the daylight line, the footprint on the left.
    Daylight,
}

/// Where a point of the plan comes from.
#[derive(Debug, Clone, Copy)]
struct Source {
    vertex: Option<u32>,
    node: Option<u32>,
}

/// The segments from which the patch is made.
struct Plan {
    points: Vec<Point>,
    sources: Vec<Source>,
    segments: Vec<[u32; 2]>,
    kinds: Vec<Kind>,
    ids: Vec<TriangleId>,
}

impl Plan {
    fn new(surface: &Tin, arrangement: &Arrangement, footprint: &Footprint, member: &[bool]) -> Self {
        let ids: Vec<TriangleId> = surface.ids().filter(|id| member[id.0 as usize]).collect();
        let mut plan = Self { points: Vec::new(), sources: Vec::new(), segments: Vec::new(), kinds: Vec::new(), ids };
        let mut of_node = vec![u32::MAX; footprint.nodes(arrangement)];
        let mut of_vertex = BTreeMap::new();
        for (node, vertex) in arrangement.surface_vertex.iter().enumerate() {
            if let Some(vertex) = vertex {
                of_vertex.insert(*vertex, short(node));
            }
        }
        let mut lone = BTreeMap::new();
        for id in plan.ids.clone() {
            let corners = surface.triangles()[id.0 as usize];
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                let across = surface.neighbour(id, k);
                let is_break = surface.is_break(id, k);
                let inner = across.is_some_and(|across| member[across.0 as usize]);
                if inner && across.is_some_and(|across| across < id) {
                    continue;
                }
                let known = (arrangement.surface_edges).binary_search_by_key(&ordered(a, b), |edge| edge.ends).ok();
                if let (true, Some(edge)) = (inner, known) {
                    let (outside, _) = footprint.runs(arrangement, &arrangement.surface_edges[edge]);
                    for run in outside {
                        let ends = run.map(|node| plan.node(arrangement, footprint, &mut of_node, node));
                        plan.add(ends, Kind::Edge(is_break));
                    }
                    continue;
                }
                let ends = [a, b].map(|v| match of_vertex.get(&v) {
                    Some(&node) => plan.node(arrangement, footprint, &mut of_node, node),
                    None => *lone
                        .entry(v)
                        .or_insert_with(|| plan.point(surface.vertices()[v as usize].plan(), Some(v), None)),
                });
                plan.add(ends, if inner { Kind::Edge(is_break) } else { Kind::Rim(across, is_break) });
            }
        }
        for edge in &arrangement.roof_edges {
            let (_, inside) = footprint.runs(arrangement, edge);
            for run in inside {
                let ends = run.map(|node| plan.node(arrangement, footprint, &mut of_node, node));
                plan.add(ends, Kind::Crease);
            }
        }
        for &piece in &footprint.daylight {
            let ends = piece.map(|node| plan.node(arrangement, footprint, &mut of_node, node));
            plan.add(ends, Kind::Daylight);
        }
        plan
    }

    fn add(&mut self, ends: [u32; 2], kind: Kind) {
        self.segments.push(ends);
        self.kinds.push(kind);
    }

    fn point(&mut self, place: Point, vertex: Option<u32>, node: Option<u32>) -> u32 {
        self.points.push(place);
        self.sources.push(Source { vertex, node });
        short(self.points.len() - 1)
    }

    fn node(&mut self, arrangement: &Arrangement, footprint: &Footprint, of_node: &mut [u32], node: u32) -> u32 {
        if of_node[node as usize] == u32::MAX {
            let vertex = arrangement.surface_vertex.get(node as usize).copied().flatten();
            of_node[node as usize] = self.point(footprint.place(arrangement, node), vertex, Some(node));
        }
        of_node[node as usize]
    }

    /// Triangles beyond edges of the rim that noding has bent: they must be made anew too.
    fn bent(&self, chains: &[Vec<u32>]) -> Vec<TriangleId> {
        (self.kinds.iter().zip(chains))
            .filter_map(|(kind, chain)| match kind {
                Kind::Rim(Some(beyond), _) if chain.len() != 2 => Some(*beyond),
                _ => None,
            })
            .collect()
    }
}

/// The patch as a mesh, and what of it belongs to the surface and to the footprint.
struct Patch {
    mesh: Tin,
    /// For each triangle how often the daylight line winds round it; `None` outside the patch.
    windings: Vec<Option<i32>>,
    vertex: Vec<Option<u32>>,
    heights: Vec<f64>,
    breaks: BTreeSet<[u32; 2]>,
}

impl Patch {
    fn new(
        surface: &Tin,
        arrangement: &Arrangement,
        plan: &Plan,
        noded: &Noded,
        chains: &[Vec<u32>],
    ) -> Result<Self, ComposeError> {
        let flat: Vec<Point3> = noded.points.iter().map(|p| p.at(0.0)).collect();
        let pieces: Vec<[u32; 2]> = noded.pieces.iter().map(|piece| piece.ends).collect();
        let mesh = constrained(&flat, &pieces)?;
        let mut sources = vec![Source { vertex: None, node: None }; noded.points.len()];
        for (source, &v) in plan.sources.iter().zip(&noded.vertex_of_point) {
            let known = &mut sources[v as usize];
            known.vertex = known.vertex.or(source.vertex);
            known.node = known.node.or(source.node);
        }
        let (mut rim, mut daylight, mut breaks) = (BTreeMap::new(), BTreeMap::new(), BTreeSet::new());
        for (kind, chain) in plan.kinds.iter().zip(chains) {
            for pair in chain.windows(2) {
                let (key, turn) = (ordered(pair[0], pair[1]), if pair[0] < pair[1] { 1 } else { -1 });
                match kind {
                    Kind::Rim(..) => *rim.entry(key).or_insert(0) += turn,
                    Kind::Daylight => *daylight.entry(key).or_insert(0) += turn,
                    Kind::Edge(_) | Kind::Crease => {}
                }
                if matches!(kind, Kind::Edge(true) | Kind::Rim(_, true) | Kind::Crease | Kind::Daylight) {
                    breaks.insert(key);
                }
            }
        }
        let windings = windings(&mesh, &rim, &daylight);
        let mut patch =
            Self { mesh, windings, vertex: sources.iter().map(|s| s.vertex).collect(), heights: Vec::new(), breaks };
        patch.heights = patch.ruling_heights(surface, arrangement, plan, &sources);
        Ok(patch)
    }

    fn is_inside(&self, id: TriangleId) -> bool {
        self.windings[id.0 as usize].is_some_and(|turns| turns > 0)
    }

    /// The roof's height where only the footprint is around, the surface's elsewhere.
    fn ruling_heights(&self, surface: &Tin, arrangement: &Arrangement, plan: &Plan, sources: &[Source]) -> Vec<f64> {
        let mut outside = vec![false; sources.len()];
        let mut used = vec![false; sources.len()];
        for id in self.mesh.ids().filter(|id| self.windings[id.0 as usize].is_some()) {
            for v in self.mesh.triangles()[id.0 as usize] {
                used[v as usize] = true;
                outside[v as usize] |= !self.is_inside(id);
            }
        }
        let ground = Heights::new(surface, plan.ids.clone());
        (sources.iter().enumerate())
            .map(|(v, source)| {
                let place = self.mesh.vertices()[v].plan();
                let known = source.node.and_then(|node| arrangement.heights.get(node as usize));
                let own = || source.vertex.map(|v| surface.vertices()[v as usize].z);
                let height = if used[v] && !outside[v] {
                    known.map(|pair| pair[1]).filter(|z| !z.is_nan()).or_else(|| arrangement.roof.at(place))
                } else {
                    own().or_else(|| known.map(|pair| pair[0]).filter(|z| !z.is_nan())).or_else(|| ground.at(place))
                };
                height.unwrap_or(0.0)
            })
            .collect()
    }

    fn sewn(
        self,
        surface: &Tin,
        arrangement: &Arrangement,
        footprint: &Footprint,
        member: &[bool],
    ) -> Result<Composed, ComposeError> {
        let mut vertices = surface.vertices().to_vec();
        let place = |v: usize| self.mesh.vertices()[v].plan();
        let ids: Vec<u32> = (self.vertex.iter().enumerate())
            .map(|(v, own)| {
                if let Some(own) = own {
                    vertices[*own as usize].z = self.heights[v];
                    *own
                } else {
                    vertices.push(place(v).at(self.heights[v]));
                    short(vertices.len() - 1)
                }
            })
            .collect();
        let (mut triangles, mut breaks) = (Vec::new(), Vec::new());
        for id in surface.ids().filter(|id| !member[id.0 as usize]) {
            triangles.push(surface.triangles()[id.0 as usize]);
            breaks.push([0, 1, 2].map(|k| surface.is_break(id, k)));
        }
        for id in self.mesh.ids().filter(|id| self.windings[id.0 as usize].is_some()) {
            let corners = self.mesh.triangles()[id.0 as usize];
            triangles.push(corners.map(|v| ids[v as usize]));
            breaks.push([0, 1, 2].map(|k| self.breaks.contains(&ordered(corners[k], corners[(k + 1) % 3]))));
        }
        let tin = Tin::compacted(vertices, triangles, breaks)?;
        let rings = rings(&self.mesh, |id| self.is_inside(id));
        let (footprint_polygons, daylight) = self.polygons(rings);
        let largest_difference = self.largest_difference(arrangement, footprint);
        Ok(Composed { tin, footprint: footprint_polygons, daylight, largest_difference })
    }

    /// Rings sorted into polygons with holes, and all of them with heights.
    fn polygons(&self, rings: Vec<Vec<u32>>) -> (Vec<Polygon>, Vec<Vec<Point3>>) {
        let plan =
            |ring: &[u32]| -> Vec<Point> { ring.iter().map(|&v| self.mesh.vertices()[v as usize].plan()).collect() };
        let solid = |ring: &[u32]| -> Vec<Point3> {
            ring.iter().map(|&v| self.mesh.vertices()[v as usize].plan().at(self.heights[v as usize])).collect()
        };
        let (outer, holes): (Vec<_>, Vec<_>) = rings.into_iter().partition(|ring| area_of_ring(&plan(ring)) > 0.0);
        let mut groups: Vec<(Polygon, Vec<Vec<Point3>>)> =
            outer.iter().map(|ring| (Polygon::simple(plan(ring)), vec![solid(ring)])).collect();
        for hole in &holes {
            let ring = plan(hole);
            let around = (0..groups.len())
                .filter(|&g| ring.iter().all(|&p| contains(&groups[g].0.outer, p)))
                .min_by(|&g, &h| area_of_ring(&groups[g].0.outer).total_cmp(&area_of_ring(&groups[h].0.outer)));
            if let Some(group) = around {
                groups[group].0.holes.push(ring);
                groups[group].1.push(solid(hole));
            }
        }
        let (polygons, lines): (Vec<_>, Vec<_>) = groups.into_iter().unzip();
        (polygons, lines.into_iter().flatten().collect())
    }

    /// The greatest difference to the exact envelope at vertices of the arrangement.
    fn largest_difference(&self, arrangement: &Arrangement, footprint: &Footprint) -> f64 {
        let mut rules = vec![false; arrangement.heights.len()];
        for &id in &footprint.chosen {
            for v in arrangement.mesh.triangles()[id.0 as usize] {
                rules[v as usize] = arrangement.signs[v as usize] > 0;
            }
        }
        let ids: Vec<TriangleId> = self.mesh.ids().filter(|id| self.windings[id.0 as usize].is_some()).collect();
        let mut vertices: Vec<Point3> = self.mesh.vertices().to_vec();
        vertices.iter_mut().zip(&self.heights).for_each(|(vertex, &z)| vertex.z = z);
        let made = Heights::from_faces(
            ids.iter().map(|id| self.mesh.triangles()[id.0 as usize].map(|v| vertices[v as usize])).collect(),
        );
        let mut largest: f64 = 0.0;
        for (v, &[ground, roof]) in arrangement.heights.iter().enumerate() {
            let exact = if rules[v] { roof } else { ground };
            let place = arrangement.place(short(v));
            if !exact.is_nan() && made.holds(place) {
                largest = largest.max((made.at(place).unwrap_or(exact) - exact).abs());
            }
        }
        largest
    }
}

/// How often the daylight line winds round each triangle inside the rim.
fn windings(mesh: &Tin, rim: &BTreeMap<[u32; 2], i32>, daylight: &BTreeMap<[u32; 2], i32>) -> Vec<Option<i32>> {
    let mut windings = vec![None; mesh.triangles().len()];
    // How much more a piece winds round its left side than its right, seen in the direction from `a` to `b`.
    let turns = |lines: &BTreeMap<[u32; 2], i32>, a: u32, b: u32| {
        let turns = lines.get(&ordered(a, b)).copied().unwrap_or(0);
        if a < b { turns } else { -turns }
    };
    let mut open = Vec::new();
    for id in mesh.ids() {
        let corners = mesh.triangles()[id.0 as usize];
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            if turns(rim, a, b) > 0 {
                open.push((id, turns(daylight, a, b)));
            }
        }
    }
    while let Some((id, winding)) = open.pop() {
        if windings[id.0 as usize].replace(winding).is_some() {
            continue;
        }
        let corners = mesh.triangles()[id.0 as usize];
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let across = mesh.neighbour(id, k).filter(|across| windings[across.0 as usize].is_none());
            if let Some(across) = across.filter(|_| turns(rim, a, b) == 0) {
                open.push((across, winding - turns(daylight, a, b)));
            }
        }
    }
    windings
}
