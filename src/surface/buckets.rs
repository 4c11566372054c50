//! Which triangles may lie at a place: a uniform grid of buckets over their boxes.
//!
//! Invariant: each triangle stands in every bucket that it meets, so a question never misses one; it may be told of
//! triangles that only pass near by. Long thin triangles are entered row by row, not by their box.

use crate::geom::{Bounds, Point};

/// Buckets reach this far beyond what they hold, metres: more than rounding, far less than a bucket.
const MARGIN: f64 = 4e-6;

/// A grid of buckets over triangles in plan.
#[derive(Debug, Clone, Default)]
pub(crate) struct Buckets {
    low: Point,
    per_metre: f64,
    columns: usize,
    rows: usize,
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl Buckets {
    /// Buckets for triangles given as corners; answers are positions in this list.
    pub(crate) fn new(triangles: &[[Point; 3]]) -> Self {
        let Some(bounds) = Bounds::around(triangles.iter().flatten().copied()) else { return Self::default() };
        let bounds = bounds.grown(4.0 * MARGIN);
        let size = (bounds.width() * bounds.height() / triangles.len() as f64).sqrt();
        let size = size.max(bounds.width().max(bounds.height()) / 2_000.0);
        let mut grid = Self {
            low: bounds.low,
            per_metre: 1.0 / size,
            columns: whole(bounds.width() / size) + 1,
            rows: whole(bounds.height() / size) + 1,
            ..Self::default()
        };
        let mut counts = vec![0u32; grid.columns * grid.rows + 1];
        for corners in triangles {
            grid.each_bucket(corners, |bucket| counts[bucket + 1] += 1);
        }
        for i in 1..counts.len() {
            counts[i] += counts[i - 1];
        }
        let mut next = counts.clone();
        let mut items = vec![0; counts[counts.len() - 1] as usize];
        for (index, corners) in (0u32..).zip(triangles) {
            grid.each_bucket(corners, |bucket| {
                items[next[bucket] as usize] = index;
                next[bucket] += 1;
            });
        }
        (grid.starts, grid.items) = (counts, items);
        grid
    }

    /// Triangles that may hold a place.
    pub(crate) fn at(&self, place: Point) -> &[u32] {
        let (x, y) = ((place.x - self.low.x) * self.per_metre, (place.y - self.low.y) * self.per_metre);
        if self.items.is_empty() || x < 0.0 || y < 0.0 || whole(x) >= self.columns || whole(y) >= self.rows {
            return &[];
        }
        self.bucket(whole(y) * self.columns + whole(x))
    }

    /// Calls with each triangle that may meet a convex shape; the same one may come several times.
    pub(crate) fn each_near(&self, corners: &[Point], mut call: impl FnMut(u32)) {
        if !self.items.is_empty() {
            self.each_bucket(corners, |bucket| self.bucket(bucket).iter().for_each(|&item| call(item)));
        }
    }

    fn bucket(&self, bucket: usize) -> &[u32] {
        &self.items[self.starts[bucket] as usize..self.starts[bucket + 1] as usize]
    }

    fn column(&self, x: f64) -> usize {
        whole((x - self.low.x) * self.per_metre).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        whole((y - self.low.y) * self.per_metre).min(self.rows - 1)
    }

    /// Calls with each bucket that a convex shape meets.
    fn each_bucket(&self, corners: &[Point], mut call: impl FnMut(usize)) {
        let Some(bounds) = Bounds::around(corners.iter().copied()) else { return };
        let bounds = bounds.grown(MARGIN);
        let high = Point::new(
            self.low.x + self.columns as f64 / self.per_metre,
            self.low.y + self.rows as f64 / self.per_metre,
        );
        if !bounds.meets(Bounds { low: self.low, high }) {
            return;
        }
        let (first, last) = (self.row(bounds.low.y), self.row(bounds.high.y));
        let (west, east) = (self.column(bounds.low.x), self.column(bounds.high.x));
        let few = (last - first).min(east - west) < 2;
        for row in first..=last {
            let (from, to) = if few { (west, east) } else { self.columns_in_row(corners, row) };
            for column in from..=to {
                call(row * self.columns + column);
            }
        }
    }

    /// First and last column that a convex shape meets within a row; first after last when none.
    fn columns_in_row(&self, corners: &[Point], row: usize) -> (usize, usize) {
        let south = self.low.y + row as f64 / self.per_metre - 2.0 * MARGIN;
        let north = self.low.y + (row + 1) as f64 / self.per_metre + 2.0 * MARGIN;
        let (mut west, mut east) = (f64::INFINITY, f64::NEG_INFINITY);
        for (i, &a) in corners.iter().enumerate() {
            let b = corners[(i + 1) % corners.len()];
            let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
            if b.y < south || a.y > north {
                continue;
            }
            let x_at = |y: f64| if b.y > a.y { a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)) } else { a.x };
            let (low, high) =
                (if a.y < south { x_at(south) } else { a.x }, if b.y > north { x_at(north) } else { b.x });
            west = west.min(low.min(high));
            east = east.max(low.max(high));
        }
        if west > east { (1, 0) } else { (self.column(west - MARGIN), self.column(east + MARGIN)) }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place in a grid of at most some million buckets; below zero counts as the first"
)]
const fn whole(value: f64) -> usize {
    value as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn place() -> impl Strategy<Value = Point> {
        (-50.0..50.0f64, -20.0..20.0f64).prop_map(|(x, y)| Point::new(x, y))
    }

    proptest! {
        #[test]
        fn a_place_in_a_triangle_finds_it(
            triangles in prop::collection::vec([place(), place(), place()], 1..40),
            pick in 0usize..40,
            (u, v) in (0.0..1.0f64, 0.0..1.0f64),
        ) {
            let grid = Buckets::new(&triangles);
            let pick = pick % triangles.len();
            let [a, b, c] = triangles[pick];
            let inside = a.towards(b, u).towards(c, v);
            prop_assert!(grid.at(inside).contains(&(pick as u32)));
            let mut found = false;
            grid.each_near(&[inside], |item| found |= item == pick as u32);
            prop_assert!(found);
            let mut found = false;
            let other = [inside, Point::new(inside.x + 30.0, inside.y + 7.0), Point::new(inside.x + 30.0, inside.y + 6.0)];
            grid.each_near(&other, |item| found |= item == pick as u32);
            prop_assert!(found, "a long thin shape that starts inside");
        }
    }
}
