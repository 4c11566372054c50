//! The way that water takes from a place, by steepest descent over the triangles, exactly.
//!
//! Across a triangle it runs straight down its plane; where both triangles of an edge drain into it, it follows the edge to its lower
//! end, and from a corner the steepest way on. Where it comes into a hollow the water rises in it until it runs over the lowest place
//! of its brim, and the way goes on from there; a hollow deeper than is said ends the way: what comes there stays.
//!
//! Invariant: off the hollows that it passes a way never rises. Rising water takes the vertices in the order of their height (Barnes,
//! Lehman and Mulla 2014, priority flood), and leaves at the first that lies lower than it stands.

use super::drainage::{Drainage, WayDown};
use super::tin::TriangleId;
use super::ways_out::Front;
use crate::geom::{Point, Point3};
use std::cmp::Reverse;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

/// Why a way ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WayEnd {
    /// It has run as far as was asked.
    Far,
    /// It leaves the surface, at its rim or into a hole of it.
    Rim,
    /// It stands in a hollow, or on level ground that nothing leaves.
    Hollow,
}

/// The way that water takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Corner by corner, on the surface; nothing from a place off it.
    pub points: Vec<Point3>,
    /// Why it ends there.
    pub end: WayEnd,
    /// Of the hollows that it passes, the greatest depth of the water and the place of it.
    pub deepest: Option<(f64, Point3)>,
    /// Over the surface so far, metres.
    run: f64,
}

impl Way {
    fn go(&mut self, to: Point3) {
        if let Some(from) = self.points.last() {
            self.run += from.plan().distance(to.plan()).hypot(from.z - to.z);
        }
        self.points.push(to);
    }
}

/// Where a way stands.
enum Stands {
    /// In a triangle, to go on across it.
    In(TriangleId),
    /// At a vertex, to go on from it.
    At(u32),
}

/// How water leaves a hollow: by vertices in turn, and whether the last of them lies on the rim of the surface.
struct Brim {
    by: Vec<u32>,
    level: f64,
    rim: bool,
    /// The lowest vertex under the water.
    bottom: u32,
}

impl Drainage<'_> {
    /// The way that water takes from a place, corner by corner, until it leaves the surface, stands in a hollow deeper than said or on
    /// level ground, or has run so many metres over the ground (to the end of the piece on which it does); no points for a place off
    /// the surface.
    #[must_use]
    pub fn way_from(&self, place: Point, metres: f64, hollows: f64) -> Way {
        let mut way = Way { points: Vec::new(), end: WayEnd::Rim, deepest: None, run: 0.0 };
        let Some(t) = self.locator.find(place) else { return way };
        way.points.push(place.at(self.locator.elevation(place).unwrap_or_default()));
        let mut stands = Stands::In(t);
        let mut wet = BTreeSet::new();
        // Every step leads to lower ground or over a brim; the count guards against what rounding might do in a sliver.
        for _ in 0..4 * self.gradients.len() {
            if way.run >= metres {
                way.end = WayEnd::Far;
                return way;
            }
            let next = match stands {
                Stands::In(t) => self.across_triangle(t, &mut way),
                Stands::At(v) => self.down_from_vertex(v, &mut way),
            };
            stands = match next {
                Ok(next) => next,
                Err(WayEnd::Rim) => return way,
                Err(_) => {
                    let from = match stands {
                        Stands::In(t) => self.tin().triangles()[t.0 as usize].to_vec(),
                        Stands::At(v) => vec![v],
                    };
                    match self.over_brim(&from, hollows, &mut wet, &mut way) {
                        Ok(vertex) => Stands::At(vertex),
                        Err(end) => {
                            way.end = end;
                            return way;
                        }
                    }
                }
            };
        }
        way.end = WayEnd::Hollow;
        way
    }

    /// From the place where a way stands across its triangle, and on to the next or to the lower end of a valley's edge.
    fn across_triangle(&self, t: TriangleId, way: &mut Way) -> Result<Stands, WayEnd> {
        let here = way.points[way.points.len() - 1].plan();
        let (k, share, exit) = self.exit(t, here).ok_or(WayEnd::Hollow)?;
        way.go(exit);
        if share == 0.0 || share == 1.0 {
            return Ok(Stands::At(self.corner(t, k + usize::from(share == 1.0))));
        }
        match self.across(t, k) {
            None => Err(WayEnd::Rim),
            Some((beyond, back)) if self.inflow(beyond, back) > 0.0 => Ok(Stands::In(beyond)),
            Some(_) => {
                let [a, b] = [self.corner(t, k), self.corner(t, k + 1)];
                let lower = if self.height(a) < self.height(b) { a } else { b };
                way.go(self.tin().vertices()[lower as usize]);
                Ok(Stands::At(lower))
            }
        }
    }

    fn down_from_vertex(&self, v: u32, way: &mut Way) -> Result<Stands, WayEnd> {
        match self.way_down(v) {
            WayDown::Across(t) => Ok(Stands::In(t)),
            WayDown::Along(lower) => {
                way.go(self.tin().vertices()[lower as usize]);
                Ok(Stands::At(lower))
            }
            WayDown::Nowhere if self.on_rim(v) => Err(WayEnd::Rim),
            WayDown::Nowhere => {
                // Where the plane on both sides falls just along an edge, that edge is no valley but the way all the same.
                let lower = self.steepest_edge(v).ok_or(WayEnd::Hollow)?;
                way.go(self.tin().vertices()[lower as usize]);
                Ok(Stands::At(lower))
            }
        }
    }

    /// The lower end of the steepest edge down from a vertex.
    fn steepest_edge(&self, v: u32) -> Option<u32> {
        let here = self.tin().vertices()[v as usize];
        let ends = self.around(v).iter().flat_map(|&(t, k)| [self.corner(t, k + 1), self.corner(t, k + 2)]);
        let falls = ends.map(|end| {
            let there = self.tin().vertices()[end as usize];
            ((here.z - there.z) / here.plan().distance(there.plan()), end)
        });
        falls.filter(|(fall, _)| *fall > 0.0).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, end)| end)
    }

    /// Out of the hollow in which a way stands, to the first vertex beyond its brim.
    fn over_brim(&self, from: &[u32], hollows: f64, wet: &mut BTreeSet<u32>, way: &mut Way) -> Result<u32, WayEnd> {
        let brim = self.brim(from, hollows, wet).ok_or(WayEnd::Hollow)?;
        let deep = brim.level - self.height(brim.bottom);
        if deep > 0.0 && way.deepest.is_none_or(|(before, _)| deep > before) {
            way.deepest = Some((deep, self.tin().vertices()[brim.bottom as usize]));
        }
        brim.by.iter().for_each(|&v| way.go(self.tin().vertices()[v as usize]));
        match brim.by.last() {
            Some(&vertex) if !brim.rim => Ok(vertex),
            _ => Err(WayEnd::Rim),
        }
    }

    /// Where water that rises about some vertices first runs over, while it is no deeper than said. What stood in water before is no
    /// way out: two hollows that run into each other are one.
    fn brim(&self, from: &[u32], hollows: f64, wet: &mut BTreeSet<u32>) -> Option<Brim> {
        let mut came: BTreeMap<u32, Option<u32>> = from.iter().map(|&v| (v, None)).collect();
        let mut front: BinaryHeap<Reverse<Front>> =
            from.iter().map(|&vertex| Reverse(Front { height: self.height(vertex), vertex })).collect();
        let mut level = f64::NEG_INFINITY;
        let mut bottom = *from.first()?;
        while let Some(Reverse(Front { height, vertex })) = front.pop() {
            let rim = self.on_rim(vertex);
            level = level.max(height);
            if (height < level && !wet.contains(&vertex)) || rim {
                let mut by = vec![vertex];
                while let Some(&Some(before)) = came.get(&by[by.len() - 1]) {
                    by.push(before);
                }
                // Of one vertex, that is where the way stands already.
                if from.len() == 1 && by.len() > 1 {
                    by.pop();
                }
                by.reverse();
                return Some(Brim { by, level, rim, bottom });
            }
            if height < self.height(bottom) {
                bottom = vertex;
            }
            if level > self.height(bottom) + hollows {
                return None;
            }
            wet.insert(vertex);
            for &(t, k) in self.around(vertex) {
                for next in [self.corner(t, k + 1), self.corner(t, k + 2)] {
                    if let Entry::Vacant(seat) = came.entry(next) {
                        seat.insert(Some(vertex));
                        front.push(Reverse(Front { height: self.height(next), vertex: next }));
                    }
                }
            }
        }
        None
    }

    fn height(&self, v: u32) -> f64 {
        self.tin().vertices()[v as usize].z
    }

    fn on_rim(&self, v: u32) -> bool {
        self.around(v).iter().any(|&(t, k)| self.across(t, k).is_none() || self.across(t, k + 2).is_none())
    }

    /// Over which edge water from a place of a triangle leaves it, and where along it.
    fn exit(&self, t: TriangleId, from: Point) -> Option<(usize, f64, Point3)> {
        let up = self.gradients[t.0 as usize];
        if up.length() == 0.0 {
            return None;
        }
        let down = up.unit() * -1.0;
        let corners = self.tin().corners(t);
        let way_to = |k: usize| {
            let [p, q] = self.edge(t, k);
            // Where the straight way down meets the edge's own line.
            let along = q - p;
            let distance = ((p - from).cross(along) / down.cross(along)).max(0.0);
            let share = ((from + down * distance - p).dot(along) / along.dot(along)).clamp(0.0, 1.0);
            (k, distance, share)
        };
        let lower = (0..3).filter(|&k| self.inflow(t, k) < 0.0).map(way_to);
        let (k, _, share) = lower.min_by(|a, b| a.1.total_cmp(&b.1))?;
        let (p, q) = (corners[k], corners[(k + 1) % 3]);
        Some((k, share, p.plan().towards(q.plan(), share).at(p.z + share * (q.z - p.z))))
    }
}

#[cfg(test)]
#[path = "way_down_tests.rs"]
mod tests;
