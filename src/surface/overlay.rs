//! Exact cut and fill between two surfaces.
//!
//! Method: each triangle of the one surface is clipped by the triangles of the other that it meets (Sutherland and
//! Hodgman 1974, Reentrant polygon clipping). Inside such a cell both surfaces are planes, so their difference is linear
//! and its positive and negative parts are known in closed form ([`super::prism`]); nothing is sampled. Coordinates and
//! planes are taken from the triangle's own first corner, sums are compensated. A region is a signed fan of triangles
//! round one place, so it need not be convex and may have holes.

use super::Tin;
use super::buckets::Buckets;
use super::convex::{Convex, MOST, moved};
use super::prism::{Parts, part};
use super::tin::gradient;
use crate::geom::{Bounds, CompensatedSum, Point, Point3, Polygon, Vector, area_of_ring};
use crate::notes::in_blocks;

/// Where two faces differ by less than this everywhere in a cell they count as the same face in the areas, metres.
const SAME_FACE: f64 = 1e-6;
/// Triangles that one thread takes at a time; the order of sums depends on it alone, not on the machine.
const BLOCK: usize = 4096;

/// Volumes and areas between two surfaces, cubic and square metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CutFill {
    /// Volume where the second surface lies below the first.
    pub cut: f64,
    /// Volume where the second surface lies above the first.
    pub fill: f64,
    /// Plan area of the cut. Faces closer than 1 um count as neither.
    pub cut_area: f64,
    /// Plan area of the fill.
    pub fill_area: f64,
    /// Plan area where both surfaces exist (within the region).
    pub area: f64,
    /// Plan area (within the region) where exactly one of the two surfaces exists; nothing is counted there.
    pub area_left_out: f64,
}

impl CutFill {
    /// Fill minus cut.
    #[must_use]
    pub fn net(&self) -> f64 {
        self.fill - self.cut
    }
}

/// Cut (`to` below `from`) and fill (`to` above `from`) where both surfaces exist, within a region if one is given.
#[must_use]
pub fn cut_and_fill(from: &Tin, to: &Tin, within: Option<&Polygon>) -> CutFill {
    let region = within.map(Region::new);
    let other = Faces::new(to);
    let sums = in_blocks(
        from.triangles().len(),
        BLOCK,
        || Near { stamps: vec![usize::MAX; to.triangles().len()], faces: Vec::new() },
        |near, block| {
            let mut sums = Sums::default();
            for index in block {
                let corners = from.triangles()[index].map(|v| from.vertices()[v as usize]);
                near.gather(&other, corners.map(Point3::plan), index);
                sums.add_triangle(corners, region.as_ref(), &other, &near.faces);
            }
            sums
        },
    );
    let total = sums.iter().fold(Sums::default(), Sums::plus);
    let area = total.area.total();
    // What the second surface covers of the region, by the same clipping.
    let to_area = region.as_ref().map_or_else(|| to.plan_area(), |region| area_within(to, region));
    let from_area = total.from_area.total();
    let left_out = (from_area - area).max(0.0) + (to_area - area).max(0.0);
    CutFill {
        cut: total.cut.total().max(0.0),
        fill: total.fill.total().max(0.0),
        cut_area: total.cut_area.total().max(0.0),
        fill_area: total.fill_area.total().max(0.0),
        area,
        area_left_out: if left_out <= 1e-12 * (from_area + to_area) { 0.0 } else { left_out },
    }
}

/// A region as signed triangles round one place.
struct Region {
    wedges: Vec<([Point; 3], f64)>,
    buckets: Buckets,
    bounds: Option<Bounds>,
}

impl Region {
    fn new(polygon: &Polygon) -> Self {
        let bounds = polygon.bounds();
        let hub = bounds.map_or_else(Point::default, |b| b.low.towards(b.high, 0.5));
        let mut wedges = Vec::new();
        for (ring, wanted) in
            std::iter::once((&polygon.outer, 1.0)).chain(polygon.holes.iter().map(|hole| (hole, -1.0)))
        {
            let turn = area_of_ring(ring).signum() * wanted;
            for (i, &a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                let doubled = (a - hub).cross(b - hub);
                if doubled > 0.0 {
                    wedges.push(([hub, a, b], turn));
                } else if doubled < 0.0 {
                    wedges.push(([hub, b, a], -turn));
                }
            }
        }
        let corners: Vec<[Point; 3]> = wedges.iter().map(|wedge| wedge.0).collect();
        Self { buckets: Buckets::new(&corners), wedges, bounds }
    }

    /// Calls with each signed piece of a triangle that lies in the region.
    fn each_piece(&self, triangle: [Point; 3], origin: Point, mut call: impl FnMut(&Convex, f64)) {
        if !self.bounds.is_some_and(|b| Bounds::around(triangle).is_some_and(|t| t.meets(b))) {
            return;
        }
        let mut near = Vec::new();
        self.buckets.each_near(&triangle, |wedge| near.push(wedge));
        near.sort_unstable();
        near.dedup();
        let whole = Convex::new(triangle, origin);
        for wedge in near {
            let (corners, sign) = self.wedges[wedge as usize];
            let piece = whole.clipped(corners.map(|p| moved(p, origin)));
            if piece.len >= 3 {
                call(&piece, sign);
            }
        }
    }
}

fn box_of([a, b, c]: [Point; 3]) -> Bounds {
    Bounds {
        low: Point::new(a.x.min(b.x).min(c.x), a.y.min(b.y).min(c.y)),
        high: Point::new(a.x.max(b.x).max(c.x), a.y.max(b.y).max(c.y)),
    }
}

fn area_within(tin: &Tin, region: &Region) -> f64 {
    let mut sum = CompensatedSum::default();
    for id in tin.ids() {
        let corners = tin.corners(id).map(Point3::plan);
        region.each_piece(corners, corners[0], |piece, sign| sum.add(sign * piece.area()));
    }
    sum.total()
}

/// The other surface, ready to be asked for what meets a triangle.
struct Faces {
    corners: Vec<[Point; 3]>,
    boxes: Vec<Bounds>,
    first_z: Vec<f64>,
    gradients: Vec<Vector>,
    buckets: Buckets,
}

impl Faces {
    fn new(tin: &Tin) -> Self {
        let solid: Vec<[Point3; 3]> = tin.ids().map(|id| tin.corners(id)).collect();
        let corners: Vec<[Point; 3]> = solid.iter().map(|face| face.map(Point3::plan)).collect();
        Self {
            buckets: Buckets::new(&corners),
            boxes: corners.iter().map(|&corners| box_of(corners)).collect(),
            corners,
            first_z: solid.iter().map(|face| face[0].z).collect(),
            gradients: solid.iter().map(|&face| gradient(face)).collect(),
        }
    }
}

#[derive(Debug, Clone, Default)]
struct Sums {
    cut: CompensatedSum,
    fill: CompensatedSum,
    cut_area: CompensatedSum,
    fill_area: CompensatedSum,
    area: CompensatedSum,
    from_area: CompensatedSum,
}

impl Sums {
    fn plus(mut self, other: &Self) -> Self {
        for (mine, theirs) in [
            (&mut self.cut, other.cut),
            (&mut self.fill, other.fill),
            (&mut self.cut_area, other.cut_area),
            (&mut self.fill_area, other.fill_area),
            (&mut self.area, other.area),
            (&mut self.from_area, other.from_area),
        ] {
            mine.add(theirs.total());
        }
        self
    }
}

/// The faces of the other surface near one triangle, each once.
struct Near {
    stamps: Vec<usize>,
    faces: Vec<u32>,
}

impl Near {
    fn gather(&mut self, other: &Faces, triangle: [Point; 3], index: usize) {
        let Self { stamps, faces } = self;
        let own = box_of(triangle);
        faces.clear();
        other.buckets.each_near(&triangle, |face| {
            let new = std::mem::replace(&mut stamps[face as usize], index) != index;
            if new && own.meets(other.boxes[face as usize]) {
                faces.push(face);
            }
        });
    }
}

impl Sums {
    fn add_triangle(&mut self, corners: [Point3; 3], region: Option<&Region>, other: &Faces, near: &[u32]) {
        let plan = corners.map(Point3::plan);
        let origin = plan[0];
        let slope = gradient(corners);
        let mut tally = Tally::default();
        let mut add_piece = |piece: &Convex, sign: f64| {
            tally.from_area += sign * piece.area();
            for &face in near {
                let clip = other.corners[face as usize].map(|p| moved(p, origin));
                let cell = piece.clipped(clip);
                if cell.len < 3 {
                    continue;
                }
                let other_slope = other.gradients[face as usize];
                let base = other.first_z[face as usize] - corners[0].z;
                let heights =
                    cell.heights(|p| (base + other_slope.dot(p - clip[0])) - slope.dot(Vector::new(p.x, p.y)));
                tally.add_cell(&cell, &heights, sign);
            }
        };
        match region {
            None => add_piece(&Convex::new(plan, origin), 1.0),
            Some(region) => region.each_piece(plan, origin, add_piece),
        }
        self.fill.add(tally.parts.above);
        self.cut.add(tally.parts.below);
        self.fill_area.add(tally.parts.area_above);
        self.cut_area.add(tally.parts.area_below);
        self.area.add(tally.area);
        self.from_area.add(tally.from_area);
    }
}

/// Sums over one triangle.
#[derive(Default)]
struct Tally {
    parts: Parts,
    area: f64,
    from_area: f64,
}

impl Tally {
    fn add_cell(&mut self, cell: &Convex, heights: &[f64; MOST], sign: f64) {
        let same = heights[..cell.len].iter().all(|d| d.abs() < SAME_FACE);
        for i in 1..cell.len - 1 {
            let area = sign * (cell.corners[i] - cell.corners[0]).cross(cell.corners[i + 1] - cell.corners[0]) / 2.0;
            let Parts { above, below, area_above, area_below } = part(area, [heights[0], heights[i], heights[i + 1]]);
            self.area += area;
            self.parts.above += above;
            self.parts.below += below;
            if !same {
                self.parts.area_above += area_above;
                self.parts.area_below += area_below;
            }
        }
    }
}

#[cfg(test)]
#[path = "overlay_tests.rs"]
mod tests;
