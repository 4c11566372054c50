//! Segments in the mesh: a breakline is made an edge by flips of the edges it crosses.
//!
//! Source: Sloan 1993, A fast algorithm for generating constrained Delaunay triangulations.

use super::mesh::{Mesh, NONE, next, previous};
use crate::geom::{Point, Side};
use std::collections::VecDeque;

impl Mesh<'_> {
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
