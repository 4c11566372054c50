//! Standing water on a surface: what lies below a level, the pool at a place, and where it would spill.
//!
//! Invariant: a vertex at the level is up (dry), so flats and vertices exactly at the level need no special case, as in
//! contours. Volume and area are exact on the faces. The spill is the least elevation that a path over the surface from
//! a seed to the rim must climb to; on flat faces such a path may keep to edges, so it is a shortest path whose length
//! is the highest vertex passed (Dijkstra 1959, with the maximum in place of the sum).

use super::prism::part;
use super::tin::{Tin, TriangleId, plane_at, triangle_area};
use crate::geom::{CompensatedSum, Point, Point3, Side, orient};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// Water standing at one level.
#[derive(Debug, Clone, PartialEq)]
pub struct Pool {
    /// Elevation of the water, metres.
    pub level: f64,
    /// Water held, cubic metres.
    pub volume: f64,
    /// Water surface, square metres.
    pub area: f64,
    /// The least elevation at which water from a seed would reach the rim of the surface (or of a hole in it); above
    /// it the pool cannot stand. Infinite when no seed lies on the surface.
    pub spill: f64,
    /// The vertex that holds the water there: the highest on the lowest way out.
    pub spill_place: Option<Point3>,
    /// Closed shore lines, water on the left; where the pool runs off the surface they follow its rim.
    pub shore: Vec<Vec<Point>>,
}

impl Pool {
    /// True when the water stays on the surface: the level is not above the spill.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.level <= self.spill
    }
}

/// What lies between a surface and a level above it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stage {
    /// The level, metres.
    pub level: f64,
    /// Plan area below the level, square metres.
    pub area: f64,
    /// Volume between surface and level, cubic metres.
    pub volume: f64,
}

/// The pool at a level: every connected part of the surface below the level that holds a seed.
#[must_use]
pub fn pool(tin: &Tin, seeds: &[Point], level: f64) -> Pool {
    let starts = starts(tin, seeds);
    let wet = flooded(tin, &starts, level);
    let stage = stage_of(tin, level, wet.iter().copied());
    let (spill, spill_place) = spill(tin, &starts);
    Pool { level, volume: stage.volume, area: stage.area, spill, spill_place, shore: shore(tin, &wet, level) }
}

/// The water that stands when it is filled up to a level: no higher than its spill, for above that it runs away down the
/// slope beyond, all of which lies below the level too.
#[must_use]
pub fn standing_to(tin: &Tin, seeds: &[Point], level: f64) -> Pool {
    let full = pool(tin, seeds, level);
    if full.spill < level { pool(tin, seeds, full.spill) } else { full }
}

/// All of the surface below a level, connected or not.
#[must_use]
pub fn below(tin: &Tin, level: f64) -> Stage {
    stage_of(tin, level, tin.ids())
}

/// The hollow at a place, filled no higher than it can hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Hollow {
    /// The water in it: at the level asked for, or at its spill where that is lower. Empty where the place drains.
    pub pool: Pool,
    /// The ground at the place, metres.
    pub ground: f64,
    /// True when water at the place runs off to the rim without rising: it lies in no hollow.
    pub drains: bool,
}

/// The hollow at a place and the water in it up to a level; `None` off the surface.
#[must_use]
pub fn hollow(tin: &Tin, place: Point, level: f64) -> Option<Hollow> {
    let starts = starts(tin, &[place]);
    let ground = starts.first()?.seed.z;
    let (spill, spill_place) = spill(tin, &starts);
    let drains = spill <= ground;
    let mut pool = pool(tin, &[place], level.min(spill));
    if drains {
        pool = Pool { volume: 0.0, area: 0.0, shore: Vec::new(), ..pool };
    }
    pool.spill_place = spill_place;
    Some(Hollow { pool, ground, drains })
}

/// What stands below a level in all hollows, each filled no higher than its spill.
#[must_use]
pub fn standing(tin: &Tin, level: f64) -> Stage {
    let held = spills(tin);
    let (mut area, mut volume) = (CompensatedSum::default(), CompensatedSum::default());
    let mut wet = vec![false; tin.triangles().len()];
    for id in tin.ids() {
        for &corner in &tin.triangles()[id.0 as usize] {
            let seed = tin.vertices()[corner as usize];
            let up_to = level.min(held[corner as usize]);
            // A triangle takes part in one pool only: two would join below the lower one's spill.
            if wet[id.0 as usize] || seed.z >= up_to {
                continue;
            }
            let stage = stage_of(tin, up_to, flood(tin, vec![id], up_to, &mut wet));
            area.add(stage.area);
            volume.add(stage.volume);
        }
    }
    Stage { level, area: area.total(), volume: volume.total() }
}

/// For each vertex the least elevation at which water from it reaches the rim: its own where it drains.
fn spills(tin: &Tin) -> Vec<f64> {
    let around = Around::new(tin);
    let mut ways = Ways { vertices: tin.vertices(), best: vec![None; tin.vertices().len()], queue: BinaryHeap::new() };
    for (vertex, &place) in (0..).zip(tin.vertices()) {
        if around.rim[vertex as usize] {
            ways.offer(place, vertex);
        }
    }
    while let Some(Reverse(Way { height, vertex })) = ways.queue.pop() {
        if let Some(highest) = ways.best[vertex as usize].filter(|best| best.z == height) {
            around.of(vertex).iter().for_each(|&next| ways.offer(highest, next));
        }
    }
    ways.best.iter().map(|best| best.map_or(f64::INFINITY, |best| best.z)).collect()
}

/// Area and volume of the pool at each of several levels, in the order given.
#[must_use]
pub fn stage_storage(tin: &Tin, seeds: &[Point], levels: &[f64]) -> Vec<Stage> {
    let starts = starts(tin, seeds);
    levels.iter().map(|&level| stage_of(tin, level, flooded(tin, &starts, level))).collect()
}

/// The least elevation at which water from a seed reaches the rim, and the vertex that holds it.
#[must_use]
pub fn spill_from(tin: &Tin, seeds: &[Point]) -> (f64, Option<Point3>) {
    spill(tin, &starts(tin, seeds))
}

/// A triangle that holds a seed, and the ground there.
#[derive(Clone, Copy)]
pub(super) struct Start {
    pub(super) triangle: TriangleId,
    seed: Point3,
}

/// Every triangle that holds a seed, edges and corners included.
pub(super) fn starts(tin: &Tin, seeds: &[Point]) -> Vec<Start> {
    let mut starts = Vec::new();
    for triangle in tin.ids() {
        let corners = tin.corners(triangle);
        let [a, b, c] = corners.map(Point3::plan);
        let holds = |p: Point| {
            p.x >= a.x.min(b.x).min(c.x)
                && p.x <= a.x.max(b.x).max(c.x)
                && orient(a, b, p) != Side::Right
                && orient(b, c, p) != Side::Right
                && orient(c, a, p) != Side::Right
        };
        starts
            .extend(seeds.iter().filter(|&&p| holds(p)).map(|&p| Start { triangle, seed: p.at(plane_at(corners, p)) }));
    }
    starts
}

/// The triangles with a part below the level that water reaches from the seeds, in order.
fn flooded(tin: &Tin, starts: &[Start], level: f64) -> Vec<TriangleId> {
    let open = starts.iter().filter(|start| start.seed.z < level).map(|start| start.triangle).collect();
    let mut found = flood(tin, open, level, &mut vec![false; tin.triangles().len()]);
    found.sort_unstable();
    found
}

/// Goes on from open triangles to all that water reaches below the level and that are not wet yet.
fn flood(tin: &Tin, mut open: Vec<TriangleId>, level: f64, wet: &mut [bool]) -> Vec<TriangleId> {
    let mut found = Vec::new();
    while let Some(id) = open.pop() {
        if std::mem::replace(&mut wet[id.0 as usize], true) {
            continue;
        }
        found.push(id);
        let corners = tin.corners(id);
        for edge in 0..3 {
            if corners[edge].z.min(corners[(edge + 1) % 3].z) < level {
                open.extend(tin.neighbour(id, edge));
            }
        }
    }
    found
}

fn stage_of(tin: &Tin, level: f64, triangles: impl IntoIterator<Item = TriangleId>) -> Stage {
    let (mut area, mut volume) = (CompensatedSum::default(), CompensatedSum::default());
    for id in triangles {
        let corners = tin.corners(id);
        let depths = corners.map(|corner| level - corner.z);
        if depths.iter().any(|&depth| depth > 0.0) {
            let parts = part(triangle_area(corners), depths);
            volume.add(parts.above);
            area.add(parts.area_above);
        }
    }
    Stage { level, area: area.total(), volume: volume.total() }
}

/// An entry of the queue: the lowest way comes first, ties by vertex so that the outcome is always the same.
#[derive(PartialEq)]
struct Way {
    height: f64,
    vertex: u32,
}

impl Eq for Way {}

impl Ord for Way {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.height.total_cmp(&other.height).then(self.vertex.cmp(&other.vertex))
    }
}

impl PartialOrd for Way {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

/// The lowest way found so far to each vertex: its highest place, and who holds it.
struct Ways<'a> {
    vertices: &'a [Point3],
    best: Vec<Option<Point3>>,
    queue: BinaryHeap<Reverse<Way>>,
}

impl Ways<'_> {
    /// Takes a way to a vertex whose highest place so far is given.
    fn offer(&mut self, highest: Point3, vertex: u32) {
        let here = self.vertices[vertex as usize];
        let highest = if here.z >= highest.z { here } else { highest };
        let best = &mut self.best[vertex as usize];
        if best.is_none_or(|best| highest.z < best.z) {
            *best = Some(highest);
            self.queue.push(Reverse(Way { height: highest.z, vertex }));
        }
    }
}

fn spill(tin: &Tin, starts: &[Start]) -> (f64, Option<Point3>) {
    let around = Around::new(tin);
    let mut ways = Ways { vertices: tin.vertices(), best: vec![None; tin.vertices().len()], queue: BinaryHeap::new() };
    for start in starts {
        tin.triangles()[start.triangle.0 as usize].iter().for_each(|&corner| ways.offer(start.seed, corner));
    }
    while let Some(Reverse(Way { height, vertex })) = ways.queue.pop() {
        let Some(highest) = ways.best[vertex as usize].filter(|best| best.z == height) else { continue };
        if around.rim[vertex as usize] {
            return (height, Some(highest));
        }
        around.of(vertex).iter().for_each(|&next| ways.offer(highest, next));
    }
    (f64::INFINITY, None)
}

/// The neighbours of each vertex, and whether it stands on the rim.
pub(super) struct Around {
    starts: Vec<u32>,
    neighbours: Vec<u32>,
    pub(super) rim: Vec<bool>,
}

impl Around {
    pub(super) fn of(&self, vertex: u32) -> &[u32] {
        let v = vertex as usize;
        &self.neighbours[self.starts[v] as usize..self.starts[v + 1] as usize]
    }

    pub(super) fn new(tin: &Tin) -> Self {
        let count = tin.vertices().len();
        let (mut starts, mut rim) = (vec![0u32; count + 1], vec![false; count]);
        let each_edge = |call: &mut dyn FnMut(u32, u32, bool)| {
            for id in tin.ids() {
                let corners = tin.triangles()[id.0 as usize];
                for k in 0..3 {
                    call(corners[k], corners[(k + 1) % 3], tin.neighbour(id, k).is_none());
                }
            }
        };
        each_edge(&mut |a, b, open| {
            starts[a as usize + 1] += 1;
            if open {
                starts[b as usize + 1] += 1;
                rim[a as usize] = true;
                rim[b as usize] = true;
            }
        });
        for v in 0..count {
            starts[v + 1] += starts[v];
        }
        let mut next = starts.clone();
        let mut neighbours = vec![0; starts[count] as usize];
        each_edge(&mut |a, b, open| {
            let mut push = |from: u32, to: u32| {
                neighbours[next[from as usize] as usize] = to;
                next[from as usize] += 1;
            };
            push(a, b);
            if open {
                push(b, a);
            }
        });
        Self { starts, neighbours, rim }
    }
}

/// A corner of a shore line: a vertex, or the place where an edge (lower number first) meets the water.
type Corner = [u32; 2];

/// The closed lines round the wet parts, water on the left.
fn shore(tin: &Tin, wet: &[TriangleId], level: f64) -> Vec<Vec<Point>> {
    let z = |v: u32| tin.vertices()[v as usize].z;
    let mut onward: BTreeMap<Corner, Vec<Corner>> = BTreeMap::new();
    let mut piece = |from: Corner, to: Corner| onward.entry(from).or_default().push(to);
    for &id in wet {
        let corners = tin.triangles()[id.0 as usize];
        let (mut leaves, mut enters) = (None, None);
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let crossing = [a.min(b), a.max(b)];
            let (low_a, low_b) = (z(a) < level, z(b) < level);
            let (from, to) = match (low_a, low_b) {
                (true, true) => ([a, a], [b, b]),
                (true, false) => {
                    leaves = Some(crossing);
                    ([a, a], crossing)
                }
                (false, true) => {
                    enters = Some(crossing);
                    (crossing, [b, b])
                }
                (false, false) => continue,
            };
            if tin.neighbour(id, k).is_none() {
                piece(from, to);
            }
        }
        // Going round the wet part anticlockwise, the water line runs from where it was left to where it is entered.
        if let (Some(from), Some(to)) = (leaves, enters) {
            piece(from, to);
        }
    }
    let place = |[a, b]: Corner| {
        let (p, q) = (tin.vertices()[a as usize], tin.vertices()[b as usize]);
        if a == b { p.plan() } else { p.plan().towards(q.plan(), (level - p.z) / (q.z - p.z)) }
    };
    let mut lines = Vec::new();
    while let Some((&first, _)) = onward.first_key_value() {
        let (mut line, mut here) = (Vec::new(), first);
        while let Some(targets) = onward.get_mut(&here) {
            line.push(place(here));
            let next = targets.pop();
            if targets.is_empty() {
                onward.remove(&here);
            }
            match next {
                Some(next) if next != first => here = next,
                _ => break,
            }
        }
        line.dedup();
        if line.len() > 1 && line.first() == line.last() {
            line.pop();
        }
        if line.len() >= 3 {
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
#[path = "pool_tests.rs"]
mod tests;
