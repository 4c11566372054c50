//! The mesh while it is built: half-edges that can be flipped, triangles that can be split.
//!
//! Half-edge `h` belongs to triangle `h / 3` and runs from vertex `from[h]` to the start of the next one of its
//! triangle; its twin runs the other way in the triangle across. Invariant after each public step: every triangle is
//! anticlockwise (exactly), twins agree, and the triangles cover the convex hull of the vertices that are in it.
//!
//! Source: Lawson 1977, Software for C1 surface interpolation (flips towards the empty circle).

use crate::geom::{Point, Side, circle, orient};
use std::cmp::Ordering;

/// No half-edge.
pub(super) const NONE: u32 = u32::MAX;

/// A triangulation of the convex hull of places that all differ and do not stand in one line.
#[derive(Debug)]
pub(super) struct Mesh<'a> {
    places: &'a [Point],
    pub(super) from: Vec<u32>,
    pub(super) twin: Vec<u32>,
    pub(super) fixed: Vec<bool>,
    /// Some half-edge that starts at each vertex; none for one that is not in the mesh (yet).
    leaving: Vec<u32>,
    /// Triangles whose edges are to be looked at again.
    pub(super) dirty: Vec<u32>,
    /// Half-edges whose circles are to be tried; kept to save its making.
    waiting: Vec<u32>,
}

/// What holds a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holder {
    /// The inside of a triangle.
    Triangle(u32),
    /// The inside of an edge, as one of its half-edges.
    Edge(u32),
    /// A vertex.
    Vertex(u32),
    /// Nothing: it lies beyond this half-edge of the rim.
    Beyond(u32),
}

pub(super) const fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

pub(super) const fn previous(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

impl<'a> Mesh<'a> {
    /// One triangle, anticlockwise, with room for so many vertices.
    pub(super) fn started(places: &'a [Point], corners: [u32; 3], vertices: usize) -> Self {
        let room = 6 * vertices;
        let mut mesh = Self {
            places,
            from: Vec::with_capacity(room),
            twin: Vec::with_capacity(room),
            fixed: Vec::with_capacity(room),
            leaving: vec![NONE; places.len()],
            dirty: Vec::new(),
            waiting: Vec::new(),
        };
        mesh.triangle(corners);
        mesh
    }

    /// Where a vertex stands.
    pub(super) fn place(&self, v: u32) -> Point {
        self.places[v as usize]
    }

    /// On which side of two vertices a third stands.
    pub(super) fn side(&self, a: u32, b: u32, c: u32) -> Side {
        orient(self.place(a), self.place(b), self.place(c))
    }

    /// True when the vertex is in the mesh.
    pub(super) fn holds(&self, v: u32) -> bool {
        self.leaving[v as usize] != NONE
    }

    /// The end of a half-edge.
    pub(super) fn to(&self, h: u32) -> u32 {
        self.from[next(h) as usize]
    }

    /// The corner opposite a half-edge.
    pub(super) fn apex(&self, h: u32) -> u32 {
        self.from[previous(h) as usize]
    }

    /// Adds a triangle that has no neighbours yet, and returns its first half-edge.
    fn triangle(&mut self, corners: [u32; 3]) -> u32 {
        let first = u32::try_from(self.from.len()).unwrap_or(NONE);
        self.from.extend(corners);
        self.twin.extend([NONE; 3]);
        self.fixed.extend([false; 3]);
        for (h, v) in (first..).zip(corners) {
            self.leaving[v as usize] = h;
        }
        first
    }

    fn join(&mut self, h: u32, g: u32) {
        self.twin[h as usize] = g;
        self.twin[g as usize] = h;
        self.fixed[h as usize] = false;
        self.fixed[g as usize] = false;
    }

    /// Adds the triangle between a half-edge of the rim and a vertex beyond it; its circles are not tried.
    pub(super) fn add_beyond(&mut self, h: u32, v: u32) {
        let inner = self.triangle([self.to(h), self.from[h as usize], v]);
        self.join(h, inner);
    }

    /// What holds a place, found by a walk from a triangle. Which edge is tried first changes from step to step, so that
    /// no walk goes in a ring, as it could beside fixed edges (Devillers, Pion and Teillaud 2002, Walking in a
    /// triangulation).
    pub(super) fn locate(&self, place: Point, start: u32) -> Holder {
        let mut t = start;
        let mut came = NONE;
        let mut chance = 1_u32;
        'walk: loop {
            let mut on = NONE;
            let mut turned = 0;
            chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            for k in 0..3 {
                let h = 3 * t + ((chance >> 16) + k) % 3;
                if h == came {
                    continue;
                }
                match orient(self.place(self.from[h as usize]), self.place(self.to(h)), place) {
                    Side::Left => {}
                    Side::On => {
                        turned += 1;
                        on = h;
                    }
                    Side::Right => {
                        let across = self.twin[h as usize];
                        if across == NONE {
                            return Holder::Beyond(h);
                        }
                        came = across;
                        t = across / 3;
                        continue 'walk;
                    }
                }
            }
            return match turned {
                0 => Holder::Triangle(t),
                1 => Holder::Edge(on),
                _ => Holder::Vertex(
                    (3 * t..3 * t + 3).map(|h| self.from[h as usize]).find(|&v| self.place(v) == place).unwrap_or(NONE),
                ),
            };
        }
    }

    /// Puts a vertex into what holds it and restores the empty circles. All triangles that change have the vertex as a
    /// corner then; those that were there before are told, the one that held it first.
    pub(super) fn insert(&mut self, v: u32, holder: Holder, mut changed: impl FnMut(u32)) {
        let mut waiting = std::mem::take(&mut self.waiting);
        match holder {
            Holder::Triangle(t) => {
                changed(t);
                waiting.extend(self.split(t, v));
            }
            Holder::Edge(h) => {
                changed(h / 3);
                let across = self.twin[h as usize];
                if across == NONE {
                    waiting.extend(self.split_rim(h, v));
                } else {
                    changed(across / 3);
                    let ends = self.fixed[h as usize].then(|| [self.from[h as usize], self.to(h)]);
                    // A flat triangle on the edge, which the flip of the edge makes two proper ones of.
                    let [flat, one, two] = self.split_from(h, v);
                    self.flip(flat);
                    for half in ends.into_iter().flatten().filter_map(|end| self.find(v, end)).collect::<Vec<_>>() {
                        self.set_fixed(half);
                    }
                    waiting.extend([flat, next(across), one, two]);
                }
            }
            Holder::Vertex(_) | Holder::Beyond(_) => {}
        }
        while let Some(h) = waiting.pop() {
            let g = self.twin[h as usize];
            if g == NONE || self.fixed[h as usize] {
                continue;
            }
            let [a, b] = [self.from[h as usize], self.to(h)].map(|v| self.place(v));
            if circle(a, b, self.place(v), self.place(self.apex(g))) > 0.0 {
                changed(g / 3);
                self.flip(h);
                waiting.extend([h, next(g)]);
            }
        }
        self.waiting = waiting;
    }

    /// Parts a triangle in three round a vertex inside it; the half-edges opposite the vertex.
    fn split(&mut self, t: u32, v: u32) -> [u32; 3] {
        self.split_from(3 * t, v)
    }

    /// The same, with the part that keeps half-edge `h` first.
    fn split_from(&mut self, h: u32, v: u32) -> [u32; 3] {
        let (h1, h2) = (next(h), previous(h));
        let [a, b, c] = [h, h1, h2].map(|h| self.from[h as usize]);
        let one = self.triangle([b, c, v]);
        let two = self.triangle([c, a, v]);
        self.take(one, h1);
        self.take(two, h2);
        self.from[h2 as usize] = v;
        self.join(h1, one + 2);
        self.join(one + 1, two + 2);
        self.join(two + 1, h2);
        self.leaving[a as usize] = h;
        self.leaving[b as usize] = h1;
        [h, one, two]
    }

    /// Parts the triangle at an edge of the rim in two at a vertex on the edge; the half-edges opposite the vertex.
    fn split_rim(&mut self, h: u32, v: u32) -> [u32; 2] {
        let (h1, h2) = (next(h), previous(h));
        let (a, c) = (self.from[h as usize], self.from[h2 as usize]);
        let fixed = self.fixed[h as usize];
        // The part at `a` is new; the old triangle becomes `v`, `b`, `c`.
        let part = self.triangle([a, v, c]);
        self.take(part + 2, h2);
        self.from[h as usize] = v;
        self.join(h2, part + 1);
        self.fixed[part as usize] = fixed;
        self.leaving[v as usize] = h;
        self.leaving[c as usize] = h2;
        [h1, part + 2]
    }

    /// Turns the edge of two triangles into the other diagonal. Half-edges `h`, `next(h)`, `twin`, `next(twin)` are
    /// then the four sides.
    pub(super) fn flip(&mut self, h: u32) {
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
    pub(super) fn legalize(&mut self, edges: impl Iterator<Item = u32>) {
        let mut waiting = std::mem::take(&mut self.waiting);
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
        self.waiting = waiting;
    }

    /// Marks both sides of an edge as one that no flip may take.
    pub(super) fn set_fixed(&mut self, h: u32) {
        self.fixed[h as usize] = true;
        let across = self.twin[h as usize];
        if across != NONE {
            self.fixed[across as usize] = true;
        }
    }

    /// Whether a vertex lies to the right of the sector between the two sides of a triangle at the start of `h`, within
    /// it, or to the left.
    pub(super) fn beside(&self, h: u32, v: u32) -> Ordering {
        let start = self.from[h as usize];
        if self.side(start, self.to(h), v) == Side::Right {
            Ordering::Less
        } else if self.side(start, self.apex(h), v) == Side::Left {
            Ordering::Greater
        } else {
            Ordering::Equal
        }
    }

    /// The half-edges that start at a vertex, anticlockwise to the rim first, then clockwise.
    pub(super) fn around(&self, vertex: u32) -> Vec<u32> {
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
    pub(super) fn find(&self, a: u32, b: u32) -> Option<u32> {
        self.around(a)
            .into_iter()
            .find_map(|h| if self.to(h) == b { Some(h) } else { (self.apex(h) == b).then(|| previous(h)) })
    }
}

#[cfg(test)]
#[path = "mesh_tests.rs"]
mod tests;
