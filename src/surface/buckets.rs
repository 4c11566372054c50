//! Which segments or triangles may lie at a place: a grid of buckets.
//!
//! Invariant: each item stands in every bucket that holds a place of it (with a margin above the rounding of the
//! rasteriser), so a question never misses one; it may be told of items that only pass near by. Long thin items are
//! entered row by row, not by their box, and the number of entries stays in proportion to the number of items: when
//! slivers would fill too many buckets, the buckets grow. Where a bucket is crowded it is parted by a grid of its own, so
//! two crowds of shots far apart cost no more than one.

use crate::geom::{Bounds, LATTICE_STEP, Point};

/// Entries allowed per item before the buckets are made larger.
const ENTRIES_PER_ITEM: usize = 12;
/// A bucket with more items is parted by a grid of its own, if that helps.
const CROWD: u32 = 96;
/// Grids within grids, at most; each is some hundred times finer.
const DEEPEST: usize = 8;
/// Items are taken to be thicker by this much, metres; far above the rounding of 65 km in `f64`.
const MARGIN: f64 = 4.0 * LATTICE_STEP;

/// A grid of buckets over segments or triangles in plan, in compressed rows; a crowded bucket is a grid again.
#[derive(Debug, Clone)]
pub(crate) struct Buckets {
    /// The grid over all, then those within crowded buckets.
    grids: Vec<Grid>,
    starts: Vec<u32>,
    items: Vec<u32>,
}

/// Even squares over a box.
#[derive(Debug, Clone)]
struct Grid {
    bounds: Bounds,
    size: f64,
    columns: usize,
    rows: usize,
    /// The number of its first bucket.
    first: usize,
    /// Buckets that are grids again, in rising order, and which.
    inner: Vec<(usize, usize)>,
    /// True for the grid over all: its outermost buckets also stand for what lies beyond.
    open: bool,
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
        let (grid, starts, items) = Grid::filled(bounds, count, true, &corners);
        let mut buckets = Self { grids: vec![grid], starts, items };
        if buckets.starts.windows(2).any(|pair| pair[1] - pair[0] > CROWD) {
            buckets.part_crowds(&corners);
        }
        buckets
    }

    /// Gives each crowded bucket a grid of its own.
    fn part_crowds(&mut self, corners: &impl Fn(usize) -> [Point; 3]) {
        let mut layers = vec![(std::mem::take(&mut self.starts), std::mem::take(&mut self.items), 0)];
        let mut at = 0;
        while at < layers.len() {
            let depth = layers[at].2;
            let crowded: Vec<usize> = (0..layers[at].0.len() - 1)
                .filter(|&cell| depth < DEEPEST && layers[at].0[cell + 1] - layers[at].0[cell] > CROWD)
                .collect();
            for cell in crowded {
                let (starts, items, _) = &layers[at];
                let crowd = items[starts[cell] as usize..starts[cell + 1] as usize].to_vec();
                let of_crowd = |item: usize| corners(crowd[item] as usize);
                let around = Bounds::around((0..crowd.len()).flat_map(of_crowd));
                let Some(bounds) = around.and_then(|around| self.grids[at].square(cell).shared(around.grown(MARGIN)))
                else {
                    continue;
                };
                let (grid, starts, mut within) = Grid::filled(bounds, crowd.len(), false, &of_crowd);
                let fullest = starts.windows(2).map(|pair| pair[1] - pair[0]).max().unwrap_or_default();
                // All of a fan meet at its centre, and no grid parts them; small ones may need a finer grid still.
                let small = within.len() * 2 <= crowd.len() * 3;
                if small || fullest as usize * 4 <= crowd.len() * 3 {
                    within.iter_mut().for_each(|item| *item = crowd[*item as usize]);
                    let inner = self.grids.len();
                    self.grids[at].inner.push((cell, inner));
                    self.grids.push(grid);
                    layers.push((starts, within, depth + 1));
                }
            }
            at += 1;
        }
        self.starts.push(0);
        for (grid, (starts, items, _)) in self.grids.iter_mut().zip(&layers) {
            grid.first = self.starts.len() - 1;
            for cell in 0..starts.len() - 1 {
                if grid.within(cell).is_none() {
                    self.items.extend(&items[starts[cell] as usize..starts[cell + 1] as usize]);
                }
                self.starts.push(u32::try_from(self.items.len()).unwrap_or(u32::MAX));
            }
        }
    }

    /// How many buckets there are.
    pub(crate) const fn count(&self) -> usize {
        self.starts.len() - 1
    }

    /// The bucket that holds a place; `None` outside the grid.
    pub(crate) fn bucket(&self, place: Point) -> Option<usize> {
        let mut grid = &self.grids[0];
        if !grid.bounds.contains(place) {
            return None;
        }
        loop {
            let cell = grid.row(place.y) * grid.columns + grid.column(place.x);
            match grid.within(cell) {
                Some(inner) => grid = &self.grids[inner],
                None => return Some(grid.first + cell),
            }
        }
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
        if bounds.grown(MARGIN).meets(self.grids[0].bounds) {
            let mut open = vec![0];
            while let Some(grid) = open.pop().map(|grid: usize| &self.grids[grid]) {
                grid.each_cell(corners, |cell| match grid.within(cell) {
                    Some(inner) => open.push(inner),
                    None => self.items(grid.first + cell).iter().for_each(|&item| call(item)),
                });
            }
        }
    }
}

impl Grid {
    /// A grid over a box with so many items in it; squares as small as the number of entries allows.
    fn filled(
        bounds: Bounds,
        count: usize,
        open: bool,
        corners: &impl Fn(usize) -> [Point; 3],
    ) -> (Self, Vec<u32>, Vec<u32>) {
        let (width, height) = (bounds.width(), bounds.height());
        let share = count.max(1) as f64;
        let mut size = (width * height / share).sqrt().max((width + height) / share / 2.0);
        loop {
            let (columns, rows) = (whole(width / size) + 1, whole(height / size) + 1);
            let grid = Self { bounds, size, columns, rows, first: 0, inner: Vec::new(), open };
            if let Some((starts, items)) = grid.fill(count, corners) {
                return (grid, starts, items);
            }
            size *= 2.0;
        }
    }

    /// Puts every item into its buckets; `None` when that needs too many entries.
    fn fill(&self, count: usize, corners: &impl Fn(usize) -> [Point; 3]) -> Option<(Vec<u32>, Vec<u32>)> {
        let buckets = self.columns * self.rows;
        let most = if buckets > 4 { count * ENTRIES_PER_ITEM + 64 } else { usize::MAX };
        // Two places on, so that the second pass can move the starts on and leave them right.
        let mut starts = vec![0_u32; buckets + 2];
        let mut total = 0;
        for item in 0..count {
            self.each_cell(&corners(item), |cell| {
                starts[cell + 2] += 1;
                total += 1;
            });
            if total > most {
                return None;
            }
        }
        for cell in 2..buckets + 2 {
            starts[cell] += starts[cell - 1];
        }
        let mut items = vec![0_u32; total];
        for item in 0..count {
            let id = u32::try_from(item).unwrap_or(u32::MAX);
            self.each_cell(&corners(item), |cell| {
                items[starts[cell + 1] as usize] = id;
                starts[cell + 1] += 1;
            });
        }
        starts.pop();
        Some((starts, items))
    }

    /// The grid within a bucket.
    fn within(&self, cell: usize) -> Option<usize> {
        if self.inner.is_empty() {
            return None;
        }
        self.inner.binary_search_by_key(&cell, |&(cell, _)| cell).ok().map(|at| self.inner[at].1)
    }

    /// The box of a bucket, with the margin.
    fn square(&self, cell: usize) -> Bounds {
        let corner = |row: usize, column: usize| {
            Point::new(self.bounds.low.x + self.size * column as f64, self.bounds.low.y + self.size * row as f64)
        };
        let (row, column) = (cell / self.columns, cell % self.columns);
        Bounds { low: corner(row, column), high: corner(row + 1, column + 1) }.grown(MARGIN)
    }

    fn column(&self, x: f64) -> usize {
        whole((x - self.bounds.low.x) / self.size).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        whole((y - self.bounds.low.y) / self.size).min(self.rows - 1)
    }

    /// Calls with each bucket that a convex shape meets, row by row.
    fn each_cell(&self, corners: &[Point], mut call: impl FnMut(usize)) {
        let Some(shape) = Bounds::around(corners.iter().copied()) else { return };
        if !self.open && !shape.grown(MARGIN).meets(self.bounds) {
            return;
        }
        let Bounds { low, high } = shape;
        let (first, last) = (self.row(low.y - MARGIN), self.row(high.y + MARGIN));
        // Within two rows, or two columns, the box serves as well as the shape and is quicker.
        let few = last - first <= 1 || self.column(high.x + MARGIN) - self.column(low.x - MARGIN) <= 1;
        for row in first..=last {
            let (west, east) = if few {
                (low.x, high.x)
            } else {
                let floor = self.bounds.low.y + self.size * row as f64 - MARGIN;
                let ceiling = floor + self.size + 2.0 * MARGIN;
                let floor = if row == 0 && self.open { f64::NEG_INFINITY } else { floor };
                let ceiling = if row + 1 == self.rows && self.open { f64::INFINITY } else { ceiling };
                extent(corners, floor, ceiling)
            };
            let beside = !self.open && (east + MARGIN < self.bounds.low.x || west - MARGIN > self.bounds.high.x);
            if west <= east && !beside {
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

    #[test]
    fn two_crowds_far_apart_are_parted() {
        let small = |x: f64, y: f64| [Point::new(x, y), Point::new(x + 1e-5, y), Point::new(x, y + 1e-5)];
        let triangles: Vec<[Point; 3]> = (0..20_000_u32)
            .map(|i| {
                let far = if i % 2 == 0 { 0.0 } else { 60_000.0 };
                small(far + f64::from(i % 141) * 1e-5, far + f64::from(i / 141) * 1e-5)
            })
            .chain([[Point::new(0.0, 0.0), Point::new(60_000.0, 60_000.0), Point::new(60_000.0, 59_999.0)]])
            .collect();
        let grid = Buckets::new(&triangles);
        let fullest = (0..grid.count()).map(|bucket| grid.items(bucket).len()).max();
        assert!(fullest.is_some_and(|fullest| fullest <= CROWD as usize), "{fullest:?}");
        for (pick, corners) in (0_u32..).zip(&triangles) {
            let inside = corners[0].towards(corners[1], 0.4).towards(corners[2], 0.3);
            assert!(grid.at(inside).contains(&pick));
            let mut found = false;
            grid.each_near(&[inside, Point::new(30_000.0, 10.0)], |item| found |= item == pick);
            assert!(found);
        }
    }
}
