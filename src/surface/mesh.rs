//! The mesh while it is built: half-edges that can be flipped.
//!
//! Half-edge `h` belongs to triangle `h / 3` and runs from vertex `from[h]` to the start of the next one of its
//! triangle; its twin runs the other way in the triangle across. Invariant after each public step: every triangle is
//! anticlockwise (exactly), twins agree, and the triangles cover the convex hull.
//!
//! Sources: Lawson 1977, Software for C1 surface interpolation (flips towards the empty circle); Sloan 1993, A fast
//! algorithm for generating constrained Delaunay triangulations (a segment by flips of the edges it crosses).

pub(super) use super::sweep::NONE;
use crate::geom::{Point, Side, circle, orient};
use std::collections::VecDeque;

/// A triangulation of the convex hull of places that all differ and do not stand in one line.
#[derive(Debug)]
pub(super) struct Mesh<'a> {
    places: &'a [Point],
    pub(super) from: Vec<u32>,
    pub(super) twin: Vec<u32>,
    pub(super) fixed: Vec<bool>,
    /// Some half-edge that starts at each vertex.
    leaving: Vec<u32>,
    dirty: Vec<u32>,
}

const fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

const fn previous(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

impl<'a> Mesh<'a> {
    /// The exactly Delaunay mesh of the places.
    pub(super) fn delaunay(places: &'a [Point]) -> Self {
        let mut mesh = Self::adopted(places).unwrap_or_else(|| {
            let (from, twin) = super::sweep::triangulation(places);
            Self::new(places, from, twin)
        });
        let every = 0..mesh.from.len();
        mesh.legalize(every.map(|h| u32::try_from(h).unwrap_or(NONE)));
        mesh
    }

    fn new(places: &'a [Point], from: Vec<u32>, twin: Vec<u32>) -> Self {
        let mut leaving = vec![NONE; places.len()];
        for (h, &v) in (0_u32..).zip(&from) {
            leaving[v as usize] = h;
        }
        let fixed = vec![false; from.len()];
        Self { places, from, twin, fixed, leaving, dirty: Vec::new() }
    }

    /// What `delaunator` makes of the places; `None` when its rounded tests went wrong, as they can for places that
    /// nearly stand in one line. Its y axis points down, so it is given the mirror image.
    fn adopted(places: &'a [Point]) -> Option<Self> {
        let mirrored: Vec<_> = places.iter().map(|p| delaunator::Point { x: p.x, y: -p.y }).collect();
        let made = delaunator::triangulate(&mirrored);
        drop(mirrored);
        let narrow = |value: &usize| u32::try_from(*value).unwrap_or(NONE);
        let from: Vec<u32> = made.triangles.iter().map(narrow).collect();
        let twin: Vec<u32> = made.halfedges.iter().map(narrow).collect();
        drop(made);
        let mesh = Self::new(places, from, twin);
        mesh.covers_hull().then_some(mesh)
    }

    /// True when all triangles are anticlockwise, every place is used, and the rim is convex.
    fn covers_hull(&self) -> bool {
        let rim = self.twin.iter().filter(|&&twin| twin == NONE).count();
        let triangles = self.from.len() / 3;
        triangles > 0
            && triangles + 2 + rim == 2 * self.places.len()
            && self.leaving.iter().all(|&h| h != NONE)
            && self.from.chunks_exact(3).all(|t| self.side(t[0], t[1], t[2]) == Side::Left)
            && (0_u32..).zip(&self.twin).filter(|&(_, &twin)| twin == NONE).all(|(h, _)| {
                let after = self.rim_after(h);
                self.side(self.from[h as usize], self.to(h), self.to(after)) != Side::Right
            })
    }

    /// The next half-edge along the rim.
    fn rim_after(&self, h: u32) -> u32 {
        let mut along = next(h);
        while self.twin[along as usize] != NONE {
            along = next(self.twin[along as usize]);
        }
        along
    }

    fn place(&self, v: u32) -> Point {
        self.places[v as usize]
    }

    fn side(&self, a: u32, b: u32, c: u32) -> Side {
        orient(self.place(a), self.place(b), self.place(c))
    }

    fn to(&self, h: u32) -> u32 {
        self.from[next(h) as usize]
    }

    /// The corner opposite a half-edge.
    fn apex(&self, h: u32) -> u32 {
        self.from[previous(h) as usize]
    }

    /// Turns the edge of two triangles into the other diagonal. Half-edges `h`, `next(h)`, `twin`, `next(twin)` are
    /// then the four sides.
    fn flip(&mut self, h: u32) {
        let g = self.twin[h as usize];
        let (h1, h2, g1, g2) = (next(h), previous(h), next(g), previous(g));
        let (u, v) = (self.from[h as usize], self.from[g as usize]);
        let (p, q) = (self.from[h2 as usize], self.from[g2 as usize]);
        self.from[h as usize] = q;
        self.from[g as usize] = p;
        self.take(h, g2);
        self.take(g, h2);
        self.twin[h2 as usize] = g2;
        self.twin[g2 as usize] = h2;
        self.fixed[h2 as usize] = false;
        self.fixed[g2 as usize] = false;
        for (vertex, start) in [(u, g1), (v, h1), (p, h2), (q, g2)] {
            self.leaving[vertex as usize] = start;
        }
    }

    /// Half-edge `h` takes the place of `other` on the outside.
    fn take(&mut self, h: u32, other: u32) {
        let across = self.twin[other as usize];
        self.twin[h as usize] = across;
        self.fixed[h as usize] = self.fixed[other as usize];
        if across != NONE {
            self.twin[across as usize] = h;
        }
    }

    /// Flips edges, from the given ones on, until each that is not fixed has an empty circle, exactly.
    fn legalize(&mut self, edges: impl Iterator<Item = u32>) {
        let mut waiting = Vec::new();
        for edge in edges {
            waiting.push(edge);
            while let Some(h) = waiting.pop() {
                let g = self.twin[h as usize];
                if g == NONE || self.fixed[h as usize] {
                    continue;
                }
                let [a, b, c] = [self.from[h as usize], self.to(h), self.apex(h)].map(|v| self.place(v));
                if circle(a, b, c, self.place(self.apex(g))) > 0.0 {
                    self.flip(h);
                    waiting.extend([h, next(h), g, next(g)]);
                }
            }
        }
    }

    /// Makes the segment from `a` to `b` a chain of fixed edges (one, unless vertices stand exactly on it).
    ///
    /// # Errors
    /// A place where it meets a fixed edge, or where flips did not come to an end.
    pub(super) fn fix(&mut self, a: u32, b: u32) -> Result<(), Point> {
        let mut start = a;
        while start != b {
            start = self.fix_first(start, b)?;
        }
        Ok(())
    }

    /// Restores the empty circle beside the edges fixed since the last call.
    pub(super) fn settle(&mut self) {
        let mut dirty = std::mem::take(&mut self.dirty);
        dirty.sort_unstable();
        dirty.dedup();
        self.legalize(dirty.into_iter().flat_map(|t| 3 * t..3 * t + 3));
    }

    /// Fixes the part of a segment up to the first vertex on it, which it returns.
    fn fix_first(&mut self, a: u32, b: u32) -> Result<u32, Point> {
        let towards = self.place(b) - self.place(a);
        let mut crossed = NONE;
        for h in self.around(a) {
            for (edge, v) in [(h, self.to(h)), (previous(h), self.apex(h))] {
                let ahead = || towards.dot(self.place(v) - self.place(a)) > 0.0;
                if v == b || (self.side(a, b, v) == Side::On && ahead()) {
                    self.set_fixed(edge);
                    return Ok(v);
                }
            }
            if self.side(a, b, self.to(h)) == Side::Right && self.side(a, b, self.apex(h)) == Side::Left {
                crossed = next(h);
                break;
            }
        }
        let (edges, end) = self.crossed_edges(a, b, crossed)?;
        self.clear(edges, a, end)?;
        let edge = self.find(a, end).ok_or(self.place(a))?;
        self.set_fixed(edge);
        Ok(end)
    }

    fn set_fixed(&mut self, h: u32) {
        self.fixed[h as usize] = true;
        let across = self.twin[h as usize];
        if across != NONE {
            self.fixed[across as usize] = true;
        }
    }

    /// The half-edges that start at a vertex, clockwise to the rim first, then anticlockwise.
    fn around(&self, vertex: u32) -> Vec<u32> {
        let first = self.leaving[vertex as usize];
        let mut found = vec![first];
        let mut h = first;
        loop {
            let across = self.twin[previous(h) as usize];
            if across == first {
                return found;
            }
            if across == NONE {
                break;
            }
            found.push(across);
            h = across;
        }
        h = first;
        while self.twin[h as usize] != NONE {
            h = next(self.twin[h as usize]);
            found.push(h);
        }
        found
    }

    /// The edge between two vertices, as one of its half-edges.
    fn find(&self, a: u32, b: u32) -> Option<u32> {
        self.around(a)
            .into_iter()
            .find_map(|h| if self.to(h) == b { Some(h) } else { (self.apex(h) == b).then(|| previous(h)) })
    }

    /// The edges that a segment crosses from half-edge `h` on, as pairs of vertices right and left of it, and the
    /// vertex where the crossing ends.
    fn crossed_edges(&self, a: u32, b: u32, mut h: u32) -> Result<(VecDeque<[u32; 2]>, u32), Point> {
        let mut edges = VecDeque::new();
        loop {
            if h == NONE || self.fixed[h as usize] || self.twin[h as usize] == NONE {
                return Err(if h == NONE { self.place(a) } else { self.place(self.from[h as usize]) });
            }
            edges.push_back([self.from[h as usize], self.to(h)]);
            let g = self.twin[h as usize];
            let beyond = self.apex(g);
            if beyond == b {
                return Ok((edges, b));
            }
            h = match self.side(a, b, beyond) {
                Side::On => return Ok((edges, beyond)),
                Side::Left => next(g),
                Side::Right => previous(g),
            };
        }
    }

    /// Flips the crossed edges away.
    fn clear(&mut self, mut edges: VecDeque<[u32; 2]>, a: u32, b: u32) -> Result<(), Point> {
        // Real breaklines need two to eight flips an edge; the limit only makes sure that it ends.
        let mut left = 1_000 + 64 * edges.len().saturating_mul(edges.len());
        while let Some([u, v]) = edges.pop_front() {
            left -= 1;
            let h = self.find(u, v).filter(|_| left > 0).ok_or(self.place(u))?;
            let g = self.twin[h as usize];
            let (u, v) = (self.from[h as usize], self.to(h));
            let (p, q) = (self.apex(h), self.apex(g));
            if self.side(q, p, u) != Side::Left || self.side(q, p, v) != Side::Right {
                edges.push_back([u, v]);
                continue;
            }
            self.flip(h);
            self.dirty.extend([h / 3, g / 3]);
            let meets_end = [p, q].iter().any(|&w| w == a || w == b);
            if !meets_end && self.side(a, b, p) != self.side(a, b, q) {
                edges.push_back([p, q]);
            }
        }
        Ok(())
    }
}

#[cfg(test)]
#[path = "mesh_tests.rs"]
mod tests;
