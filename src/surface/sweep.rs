//! A plain triangulation by a sweep from west to east with exact tests: slower towards the empty circle than
//! `delaunator`, but right for every set of places that differ and do not stand in one line.

use crate::geom::{Point, Side, orient};

/// No half-edge.
pub(super) const NONE: u32 = u32::MAX;

/// Half-edges of a triangulation of the convex hull: start vertices and twins.
pub(super) fn triangulation(places: &[Point]) -> (Vec<u32>, Vec<u32>) {
    let mut order: Vec<u32> = (0..u32::try_from(places.len()).unwrap_or(NONE)).collect();
    order.sort_unstable_by(|&i, &j| {
        let (p, q) = (places[i as usize], places[j as usize]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    });
    let side = |a: u32, b: u32, c: u32| orient(places[a as usize], places[b as usize], places[c as usize]);
    let Some(apex) = (2..order.len()).find(|&k| side(order[0], order[1], order[k]) != Side::On) else {
        return (Vec::new(), Vec::new());
    };
    let mut sweep = Sweep {
        from: Vec::new(),
        twin: Vec::new(),
        after: vec![NONE; places.len()],
        before: vec![NONE; places.len()],
        edge: vec![NONE; places.len()],
    };
    let mut base = order[..apex].to_vec();
    if side(order[0], order[1], order[apex]) == Side::Right {
        base.reverse();
    }
    sweep.start(&base, order[apex]);
    for pair in order[apex..].windows(2) {
        sweep.add(pair[0], pair[1], side);
    }
    (sweep.from, sweep.twin)
}

/// Triangles so far and the rim anticlockwise: vertex after, vertex before, half-edge to the vertex after.
struct Sweep {
    from: Vec<u32>,
    twin: Vec<u32>,
    after: Vec<u32>,
    before: Vec<u32>,
    edge: Vec<u32>,
}

impl Sweep {
    /// Adds triangle `a`, `b`, `c` and returns its first half-edge.
    fn triangle(&mut self, corners: [u32; 3]) -> u32 {
        let first = u32::try_from(self.from.len()).unwrap_or(NONE);
        self.from.extend(corners);
        self.twin.extend([NONE; 3]);
        first
    }

    fn join(&mut self, h: u32, g: u32) {
        self.twin[h as usize] = g;
        self.twin[g as usize] = h;
    }

    fn rim(&mut self, a: u32, b: u32, edge: u32) {
        self.after[a as usize] = b;
        self.before[b as usize] = a;
        self.edge[a as usize] = edge;
    }

    /// A fan from places in line to the first one beside the line.
    fn start(&mut self, base: &[u32], apex: u32) {
        let mut last = NONE;
        for pair in base.windows(2) {
            let h = self.triangle([pair[0], pair[1], apex]);
            self.rim(pair[0], pair[1], h);
            if last == NONE {
                self.rim(apex, pair[0], h + 2);
            } else {
                self.join(last, h + 2);
            }
            last = h + 1;
        }
        self.rim(base[base.len() - 1], apex, last);
    }

    /// Joins the next place to the part of the rim that it sees; the place before it is on that part.
    fn add(&mut self, seen: u32, new: u32, side: impl Fn(u32, u32, u32) -> Side) {
        let (mut right, mut left) = (seen, seen);
        // Half-edges `seen` to `new` and `new` to `right`, once there are triangles beside them.
        let (mut inward, mut outward) = (NONE, NONE);
        while side(right, self.after[right as usize], new) == Side::Right {
            let beyond = self.after[right as usize];
            let h = self.triangle([beyond, right, new]);
            self.join(h, self.edge[right as usize]);
            if outward == NONE {
                inward = h + 1;
            } else {
                self.join(outward, h + 1);
            }
            outward = h + 2;
            right = beyond;
        }
        while side(self.before[left as usize], left, new) == Side::Right {
            let beyond = self.before[left as usize];
            let h = self.triangle([left, beyond, new]);
            self.join(h, self.edge[beyond as usize]);
            if inward == NONE {
                outward = h + 2;
            } else {
                self.join(inward, h + 2);
            }
            inward = h + 1;
            left = beyond;
        }
        self.rim(left, new, inward);
        self.rim(new, right, outward);
    }
}
