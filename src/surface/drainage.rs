//! What drains to a line on a surface by steepest descent: the flow is followed uphill from the line, exactly.
//!
//! On a triangle water runs straight down its plane. So what reaches a stretch within one triangle is the strip uphill of it, and
//! where that strip leaves over a higher edge it goes on in the triangle beyond, if that one drains over this edge. Where both
//! triangles of an edge drain into it, the edge is a valley: water runs along it to its lower end, and from there down the
//! steepest way, across a triangle or along the next valley edge. What comes in over an edge of the rim is not known; how wide
//! the strips are that end there is told.
//!
//! Invariant: a place is counted once, for it has one way down; what lies in a hollow, or on a level triangle, has none that
//! reaches a line and is not counted. Method: Jones, Wright and Maidment 1990, without their cells: strips in place of paths.

use super::locate::Locator;
use super::profile::profile;
use super::tin::{Tin, TriangleId, gradient};
use crate::geom::{CompensatedSum, Point, Polyline, Vector};

/// A strip that passes a corner nearer than this passes through it, metres; so does a line.
const AT_CORNER: f64 = 1e-9;
/// Strips narrower than this are nothing, metres.
const THIN: f64 = 1e-12;

/// What drains to a line.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Catchment {
    /// Surface that drains to it, in plan, square metres.
    pub area: f64,
    /// Width of the flow, across it, that may come in over the rim of the surface, metres: where it comes from is not known.
    pub open: f64,
}

/// A surface made ready to be asked where its water runs.
#[derive(Debug, Clone)]
pub struct Drainage<'a> {
    pub(super) locator: &'a Locator<'a>,
    /// Uphill, of each triangle.
    pub(super) gradients: Vec<Vector>,
    /// Triangles round each vertex, in compressed rows, each with the vertex's place among its corners.
    starts: Vec<usize>,
    round: Vec<(TriangleId, usize)>,
}

/// Where water leaves a vertex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum WayDown {
    /// Across a triangle.
    Across(TriangleId),
    /// Along a valley edge, to its lower end.
    Along(u32),
    /// Nowhere that the surface knows.
    Nowhere,
}

/// A stretch within one triangle whose uphill strip is still to be followed.
struct Stretch {
    triangle: TriangleId,
    ends: [Point; 2],
}

/// One question under way.
struct Search<'d, 'a> {
    of: &'d Drainage<'a>,
    waiting: Vec<Stretch>,
    /// Vertices whose water is counted.
    caught: Vec<bool>,
    area: CompensatedSum,
    open: CompensatedSum,
}

impl<'a> Drainage<'a> {
    /// Makes ready; time and memory are in proportion to the number of triangles.
    #[must_use]
    pub fn new(locator: &'a Locator<'a>) -> Self {
        let tin = locator.tin();
        let gradients = tin.ids().map(|t| gradient(tin.corners(t))).collect();
        let mut starts = vec![0_usize; tin.vertices().len() + 1];
        tin.triangles().iter().flatten().for_each(|&v| starts[v as usize + 1] += 1);
        for v in 0..tin.vertices().len() {
            starts[v + 1] += starts[v];
        }
        let mut next = starts.clone();
        let mut round = vec![(TriangleId(0), 0); starts[tin.vertices().len()]];
        for t in tin.ids() {
            for (k, &v) in tin.triangles()[t.0 as usize].iter().enumerate() {
                round[next[v as usize]] = (t, k);
                next[v as usize] += 1;
            }
        }
        Self { locator, gradients, starts, round }
    }

    /// What drains to a line from uphill of it. The line is to be one that water crosses once, such as a contour.
    #[must_use]
    pub fn to_line(&self, line: &Polyline) -> Catchment {
        let mut search = self.search();
        search.start(line);
        search.run()
    }

    /// What drains into hollows whose lowest place lies above a level: it reaches no line at that level before they are full.
    #[must_use]
    pub fn to_hollows_above(&self, level: f64) -> f64 {
        let mut search = self.search();
        let tin = self.locator.tin();
        for v in (0_u32..).take(tin.vertices().len()) {
            let higher = |other: u32| tin.vertices()[other as usize].z > tin.vertices()[v as usize].z;
            let around = self.around(v);
            let inside = around.iter().all(|&(t, k)| tin.neighbour(t, k).is_some());
            let lowest = around.iter().all(|&(t, k)| [1, 2].into_iter().all(|step| higher(self.corner(t, k + step))));
            if tin.vertices()[v as usize].z > level && inside && lowest && !around.is_empty() {
                search.catch(v);
            }
        }
        search.run().area
    }

    fn search(&self) -> Search<'_, 'a> {
        Search {
            of: self,
            waiting: Vec::new(),
            caught: vec![false; self.starts.len() - 1],
            area: CompensatedSum::default(),
            open: CompensatedSum::default(),
        }
    }

    pub(super) fn tin(&self) -> &'a Tin {
        self.locator.tin()
    }

    pub(super) fn around(&self, vertex: u32) -> &[(TriangleId, usize)] {
        &self.round[self.starts[vertex as usize]..self.starts[vertex as usize + 1]]
    }

    pub(super) fn corner(&self, t: TriangleId, k: usize) -> u32 {
        self.tin().triangles()[t.0 as usize][k % 3]
    }

    /// Both ends of an edge, in plan.
    pub(super) fn edge(&self, t: TriangleId, k: usize) -> [Point; 2] {
        let corners = self.tin().corners(t);
        [corners[k % 3].plan(), corners[(k + 1) % 3].plan()]
    }

    /// How water crosses an edge of a triangle: above zero when it comes in over it, below when it leaves.
    pub(super) fn inflow(&self, t: TriangleId, k: usize) -> f64 {
        let [from, to] = self.edge(t, k);
        self.gradients[t.0 as usize].cross(to - from)
    }

    /// Do both triangles of an edge drain into it.
    fn is_valley(&self, t: TriangleId, k: usize) -> bool {
        self.across(t, k).is_some_and(|(other, back)| self.inflow(t, k) < 0.0 && self.inflow(other, back) < 0.0)
    }

    /// The triangle beyond an edge, and the edge's place in it.
    pub(super) fn across(&self, t: TriangleId, k: usize) -> Option<(TriangleId, usize)> {
        let other = self.tin().neighbour(t, k % 3)?;
        (0..3)
            .find(|&back| {
                self.tin().neighbour(other, back) == Some(t) && self.corner(other, back) == self.corner(t, k + 1)
            })
            .map(|back| (other, back))
    }

    /// Valley edges that meet in a vertex, each as seen from the one triangle in which it starts there, with its other end.
    fn valleys(&self, vertex: u32) -> impl Iterator<Item = (TriangleId, usize, u32)> + '_ {
        let edges = self.around(vertex).iter().map(|&(t, k)| (t, k, self.corner(t, k + 1)));
        edges.filter(|&(t, k, _)| self.is_valley(t, k))
    }

    pub(super) fn way_down(&self, vertex: u32) -> WayDown {
        let place = |v: u32| self.tin().vertices()[v as usize];
        let here = place(vertex);
        let across = self.around(vertex).iter().filter(|&&(t, k)| {
            // The vertex is where both higher edges meet.
            self.inflow(t, k) > 0.0 && self.inflow(t, k + 2) > 0.0
        });
        let across = across.map(|&(t, _)| (self.gradients[t.0 as usize].length(), WayDown::Across(t)));
        let along = self.valleys(vertex).filter(|&(_, _, other)| place(other).z < here.z).map(|(_, _, other)| {
            let run = here.plan().distance(place(other).plan());
            ((here.z - place(other).z) / run, WayDown::Along(other))
        });
        across.chain(along).max_by(|a, b| a.0.total_cmp(&b.0)).map_or(WayDown::Nowhere, |(_, way)| way)
    }
}

impl Search<'_, '_> {
    /// The stretches of a line in each triangle, and the valleys that it crosses.
    fn start(&mut self, line: &Polyline) {
        let locator = self.of.locator;
        let (mut first, mut last): (Option<TriangleId>, Option<TriangleId>) = (None, None);
        for pair in profile(locator, line).windows(2) {
            let ends = [pair[0].place, pair[1].place];
            let triangle = match (pair[0].elevation, pair[1].elevation) {
                (Some(_), Some(_)) => locator.find(ends[0].towards(ends[1], 0.5)),
                _ => None,
            };
            if let (Some(from), Some(to)) = (last, triangle)
                && from != to
            {
                self.cross(ends[0], from, to);
            }
            last = triangle;
            first = first.or(triangle);
            self.waiting.extend(triangle.map(|triangle| Stretch { triangle, ends }));
        }
        if let (Some(from), Some(to)) = (last, first)
            && line.first() == line.last()
        {
            self.cross(line.first(), from, to);
        }
    }

    /// Where the line goes from one triangle to the next, at a place of their edge or at a corner, it takes what runs there.
    fn cross(&mut self, place: Point, from: TriangleId, to: TriangleId) {
        let of = self.of;
        let corners = of.tin().triangles()[from.0 as usize];
        let near = |&v: &u32| of.tin().vertices()[v as usize].plan().distance(place) < AT_CORNER;
        if let Some(&corner) = corners.iter().find(|v| near(v)) {
            self.catch(corner);
            return;
        }
        let Some(k) = (0..3).find(|&k| of.tin().neighbour(from, k) == Some(to)) else { return };
        if of.is_valley(from, k) {
            let ends = [of.corner(from, k), of.corner(from, k + 1)];
            let z = ends.map(|v| of.tin().vertices()[v as usize].z);
            let (upper, lower) = if z[0] > z[1] { (ends[0], ends[1]) } else { (ends[1], ends[0]) };
            self.valley(from, k, place, upper, lower);
        }
    }

    /// Takes what runs in a valley edge between a place of it and its upper end.
    fn valley(&mut self, t: TriangleId, k: usize, from: Point, upper: u32, lower: u32) {
        let ends = [from, self.of.tin().vertices()[upper as usize].plan()];
        let beyond = self.of.across(t, k).map(|(other, _)| other);
        self.waiting.extend([Some(t), beyond].into_iter().flatten().map(|triangle| Stretch { triangle, ends }));
        if self.of.way_down(upper) == WayDown::Along(lower) {
            self.catch(upper);
        }
    }

    /// Takes what runs down to a vertex in valley edges.
    fn catch(&mut self, vertex: u32) {
        let of = self.of;
        let mut at = vec![vertex];
        while let Some(v) = at.pop() {
            if std::mem::replace(&mut self.caught[v as usize], true) {
                continue;
            }
            let here = of.tin().vertices()[v as usize];
            for (t, k, upper) in of.valleys(v) {
                let above = of.tin().vertices()[upper as usize];
                if above.z <= here.z {
                    continue;
                }
                let ends = [here.plan(), above.plan()];
                let beyond = of.across(t, k).map(|(other, _)| other);
                self.waiting.extend([Some(t), beyond].into_iter().flatten().map(|triangle| Stretch { triangle, ends }));
                if of.way_down(upper) == WayDown::Along(v) {
                    at.push(upper);
                }
            }
        }
    }

    fn run(mut self) -> Catchment {
        while let Some(stretch) = self.waiting.pop() {
            self.follow(&stretch);
        }
        Catchment { area: self.area.total(), open: self.open.total() }
    }

    /// The strip uphill of a stretch through its triangle, and where it goes on.
    fn follow(&mut self, stretch: &Stretch) {
        let (of, t) = (self.of, stretch.triangle);
        let up = of.gradients[t.0 as usize];
        if up.length() == 0.0 {
            return;
        }
        // Across the flow and along it, uphill.
        let up = up.unit();
        let origin = stretch.ends[0];
        let across = |p: Point| up.cross(p - origin);
        let along = |p: Point| up.dot(p - origin);
        let mut low = stretch.ends.map(|p| (across(p), along(p)));
        low.sort_by(|a, b| a.0.total_cmp(&b.0));
        let [(from, at_from), (to, at_to)] = low;
        if to - from <= THIN {
            return;
        }
        let below = |u: f64| at_from + (at_to - at_from) * (u - from) / (to - from);
        let over = |k: usize| of.inflow(t, k) > 0.0;
        for k in (0..3).filter(|&k| over(k)) {
            let [p, q] = of.edge(t, k);
            let (start, end) = (across(p), across(q));
            let (left, right) = (from.max(start.min(end)), to.min(start.max(end)));
            if right - left <= THIN {
                continue;
            }
            let part = |u: f64| ((u - start) / (end - start)).clamp(0.0, 1.0);
            let ends = [p.towards(q, part(left)), p.towards(q, part(right))];
            let height = |at: Point, u: f64| (along(at) - below(u)).max(0.0);
            self.area.add((right - left) * f64::midpoint(height(ends[0], left), height(ends[1], right)));
            match of.across(t, k) {
                None => self.open.add(right - left),
                Some((triangle, back)) if of.inflow(triangle, back) < 0.0 => {
                    self.waiting.push(Stretch { triangle, ends });
                }
                Some(_) => {}
            }
        }
        // A corner from which water comes down within the strip brings what it has gathered.
        if let Some(k) = (0..3).find(|&k| over(k) && over((k + 2) % 3)) {
            let vertex = of.corner(t, k);
            let u = across(of.edge(t, k)[0]);
            if (from - AT_CORNER..=to + AT_CORNER).contains(&u) && of.way_down(vertex) == WayDown::Across(t) {
                self.catch(vertex);
            }
        }
    }
}

#[cfg(test)]
#[path = "drainage_tests.rs"]
mod tests;
