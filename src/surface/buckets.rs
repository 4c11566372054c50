//! Which segments or triangles may lie at a place: a uniform grid of buckets.
//!
//! Invariant: each item stands in every bucket that holds a place of it (with a margin above the rounding of the
//! rasteriser), so a question never misses one; it may be told of items that only pass near by. Long thin items are
//! entered row by row, not by their box, and the number of entries stays in proportion to the number of items: when
//! slivers would fill too many buckets, the buckets grow.

use crate::geom::{Bounds, LATTICE_STEP, Point};

/// Entries allowed per item before the buckets are made larger.
const ENTRIES_PER_ITEM: usize = 12;
/// Items are taken to be thicker by this much, metres; far above the rounding of 65 km in `f64`.
const MARGIN: f64 = 4.0 * LATTICE_STEP;

/// A grid of buckets over segments or triangles in plan, in compressed rows.
#[derive(Debug, Clone)]
pub(crate) struct Buckets {
    bounds: Bounds,
    size: f64,
    columns: usize,
    rows: usize,
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl Buckets {
    /// Buckets for triangles given as corners; answers are positions in this list.
    pub(crate) fn new(triangles: &[[Point; 3]]) -> Self {
        Self::over(triangles.len(), |item| triangles[item])
    }

    /// Buckets for so many items, each a triangle or (with two corners the same) a segment.
    pub(crate) fn over(count: usize, corners: impl Fn(usize) -> [Point; 3]) -> Self {
        let bounds = Bounds::around((0..count).flat_map(&corners))
            .unwrap_or(Bounds { low: Point::default(), high: Point::default() })
            .grown(MARGIN);
        let (width, height) = (bounds.width(), bounds.height());
        let share = count.max(1) as f64;
        let mut size = (width * height / share).sqrt().max((width + height) / share / 2.0);
        loop {
            let mut grid = Self {
                bounds,
                size,
                columns: whole(width / size) + 1,
                rows: whole(height / size) + 1,
                starts: Vec::new(),
                items: Vec::new(),
            };
            if grid.fill(count, &corners) {
                return grid;
            }
            size *= 2.0;
        }
    }

    /// Puts every item into its buckets; false when that needs too many entries.
    fn fill(&mut self, count: usize, corners: &impl Fn(usize) -> [Point; 3]) -> bool {
        let buckets = self.columns * self.rows;
        let most = if buckets > 4 { count * ENTRIES_PER_ITEM + 64 } else { usize::MAX };
        let mut starts = vec![0_u32; buckets + 1];
        let mut total = 0;
        for item in 0..count {
            self.each_bucket(&corners(item), |bucket| {
                starts[bucket + 1] += 1;
                total += 1;
            });
            if total > most {
                return false;
            }
        }
        for bucket in 0..buckets {
            starts[bucket + 1] += starts[bucket];
        }
        let mut next = starts.clone();
        let mut items = vec![0_u32; total];
        for item in 0..count {
            let id = u32::try_from(item).unwrap_or(u32::MAX);
            self.each_bucket(&corners(item), |bucket| {
                items[next[bucket] as usize] = id;
                next[bucket] += 1;
            });
        }
        (self.starts, self.items) = (starts, items);
        true
    }

    /// How many buckets there are.
    pub(crate) const fn count(&self) -> usize {
        self.columns * self.rows
    }

    /// The bucket that holds a place; `None` outside the grid.
    pub(crate) fn bucket(&self, place: Point) -> Option<usize> {
        self.bounds.contains(place).then(|| self.row(place.y) * self.columns + self.column(place.x))
    }

    /// The items in a bucket, in rising order.
    pub(crate) fn items(&self, bucket: usize) -> &[u32] {
        &self.items[self.starts[bucket] as usize..self.starts[bucket + 1] as usize]
    }

    /// Items that may hold a place, in rising order.
    pub(crate) fn at(&self, place: Point) -> &[u32] {
        self.bucket(place).map_or(&[], |bucket| self.items(bucket))
    }

    /// Calls with each item that may meet a convex shape; the same one may come several times.
    pub(crate) fn each_near(&self, corners: &[Point], mut call: impl FnMut(u32)) {
        let Some(bounds) = Bounds::around(corners.iter().copied()) else { return };
        if bounds.grown(MARGIN).meets(self.bounds) {
            self.each_bucket(corners, |bucket| self.items(bucket).iter().for_each(|&item| call(item)));
        }
    }

    fn column(&self, x: f64) -> usize {
        whole((x - self.bounds.low.x) / self.size).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        whole((y - self.bounds.low.y) / self.size).min(self.rows - 1)
    }

    /// Calls with each bucket that a convex shape meets, row by row.
    fn each_bucket(&self, corners: &[Point], mut call: impl FnMut(usize)) {
        let Some(Bounds { low, high }) = Bounds::around(corners.iter().copied()) else { return };
        let (first, last) = (self.row(low.y - MARGIN), self.row(high.y + MARGIN));
        // Within two rows, or two columns, the box serves as well as the shape and is quicker.
        let few = last - first <= 1 || self.column(high.x + MARGIN) - self.column(low.x - MARGIN) <= 1;
        for row in first..=last {
            let (west, east) = if few {
                (low.x, high.x)
            } else {
                // The outermost rows also stand for what lies beyond the grid.
                let floor = self.bounds.low.y + self.size * row as f64 - MARGIN;
                let ceiling = floor + self.size + 2.0 * MARGIN;
                let floor = if row == 0 { f64::NEG_INFINITY } else { floor };
                let ceiling = if row + 1 == self.rows { f64::INFINITY } else { ceiling };
                extent(corners, floor, ceiling)
            };
            if west <= east {
                for column in self.column(west - MARGIN)..=self.column(east + MARGIN) {
                    call(row * self.columns + column);
                }
            }
        }
    }
}

/// West and east end of the part of a convex shape between two latitudes; crossed over when there is none.
fn extent(corners: &[Point], floor: f64, ceiling: f64) -> (f64, f64) {
    let (mut west, mut east) = (f64::INFINITY, f64::NEG_INFINITY);
    for (k, &a) in corners.iter().enumerate() {
        let b = corners[(k + 1) % corners.len()];
        let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
        if b.y < floor || a.y > ceiling {
            continue;
        }
        let at = |y: f64| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y));
        let from = if a.y < floor { at(floor) } else { a.x };
        let to = if b.y > ceiling { at(ceiling) } else { b.x };
        west = west.min(from).min(to);
        east = east.max(from).max(to);
    }
    (west, east)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, which is what is wanted: below zero counts as the first"
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
            pick in 0..40_usize,
            (u, v) in (0.0..1.0f64, 0.0..1.0f64),
        ) {
            let grid = Buckets::new(&triangles);
            let [a, b, c] = triangles[pick % triangles.len()];
            let pick = u32::try_from(pick % triangles.len()).unwrap();
            let inside = a.towards(b, u).towards(c, v);
            prop_assert!(grid.at(inside).contains(&pick));
            let mut found = false;
            grid.each_near(&[inside], |item| found |= item == pick);
            prop_assert!(found);
            let mut found = false;
            let other = [inside, Point::new(inside.x + 30.0, inside.y + 7.0), Point::new(inside.x + 30.0, inside.y + 6.0)];
            grid.each_near(&other, |item| found |= item == pick);
            prop_assert!(found, "a long thin shape that starts inside");
        }
    }

    #[test]
    fn slivers_from_corner_to_corner_do_not_fill_memory() {
        let slivers: Vec<[Point; 3]> = (0..5_000)
            .map(f64::from)
            .map(|i| [Point::new(0.0, 0.0), Point::new(1_000.0, 1_000.0 + i * 1e-5), Point::new(1_000.0, 1_000.1)])
            .collect();
        let grid = Buckets::new(&slivers);
        assert!(grid.items.len() <= ENTRIES_PER_ITEM * slivers.len() + 64, "{}", grid.items.len());
        assert!(grid.at(Point::new(500.0, 500.0)).contains(&0));
    }
}
