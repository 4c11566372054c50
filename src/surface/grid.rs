//! A uniform grid of cells that lists which segments or triangles touch each of them.
//!
//! Invariant: an item stands in every cell that holds a place of it (with a margin above the rounding of the
//! rasteriser), so a search in the cell of a place misses nothing. The number of entries stays in proportion to the
//! number of items: when long slivers would fill too many cells, the cells grow.

use crate::geom::{Bounds, LATTICE_STEP, Point};

/// Entries allowed per item before the cells are made larger.
const ENTRIES_PER_ITEM: usize = 12;
/// Items are taken to be thicker by this much; far above the rounding of 65 km in `f64`.
const MARGIN: f64 = 4.0 * LATTICE_STEP;

/// Items by cell, in compressed rows.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    low: Point,
    high: Point,
    size: f64,
    columns: usize,
    rows: usize,
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl Grid {
    /// A grid over so many items, each a triangle or (with two corners the same) a segment.
    pub(super) fn over(count: usize, corners: impl Fn(usize) -> [Point; 3]) -> Self {
        let bounds = Bounds::around((0..count).flat_map(&corners))
            .unwrap_or(Bounds { low: Point::default(), high: Point::default() })
            .grown(MARGIN);
        let (width, height) = (bounds.width(), bounds.height());
        let share = count.max(1) as f64;
        let mut size = (width * height / share).sqrt().max((width + height) / share / 2.0);
        loop {
            let mut grid = Self {
                low: bounds.low,
                high: bounds.high,
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

    /// Puts every item into its cells; false when that needs too many entries.
    fn fill(&mut self, count: usize, corners: &impl Fn(usize) -> [Point; 3]) -> bool {
        let cells = self.columns * self.rows;
        let most = if cells > 1 { count * ENTRIES_PER_ITEM + 64 } else { usize::MAX };
        let mut starts = vec![0_u32; cells + 1];
        let mut total = 0;
        for item in 0..count {
            self.visit(corners(item), |cell| {
                starts[cell + 1] += 1;
                total += 1;
            });
            if total > most {
                return false;
            }
        }
        for cell in 0..cells {
            starts[cell + 1] += starts[cell];
        }
        let mut next = starts.clone();
        let mut items = vec![0_u32; total];
        for item in 0..count {
            let id = u32::try_from(item).unwrap_or(u32::MAX);
            self.visit(corners(item), |cell| {
                items[next[cell] as usize] = id;
                next[cell] += 1;
            });
        }
        (self.starts, self.items) = (starts, items);
        true
    }

    fn column(&self, x: f64) -> usize {
        whole((x - self.low.x) / self.size).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        whole((y - self.low.y) / self.size).min(self.rows - 1)
    }

    /// Calls with every cell that an item touches, row by row.
    fn visit(&self, corners: [Point; 3], mut each: impl FnMut(usize)) {
        let [a, b, c] = corners;
        let south = a.y.min(b.y).min(c.y) - MARGIN;
        let north = a.y.max(b.y).max(c.y) + MARGIN;
        let (first, last) = (self.row(south), self.row(north));
        for row in first..=last {
            let (west, east) = if first == last {
                (a.x.min(b.x).min(c.x), a.x.max(b.x).max(c.x))
            } else {
                let floor = self.low.y + self.size * row as f64 - MARGIN;
                extent(corners, floor, floor + self.size + 2.0 * MARGIN)
            };
            if west <= east {
                for column in self.column(west - MARGIN)..=self.column(east + MARGIN) {
                    each(row * self.columns + column);
                }
            }
        }
    }

    /// The cell that holds a place; `None` outside the grid.
    pub(super) fn cell(&self, place: Point) -> Option<usize> {
        let inside = Bounds { low: self.low, high: self.high }.contains(place);
        inside.then(|| self.row(place.y) * self.columns + self.column(place.x))
    }

    /// How many cells there are.
    pub(super) const fn cells(&self) -> usize {
        self.columns * self.rows
    }

    /// The items that touch a cell, in rising order.
    pub(super) fn items(&self, cell: usize) -> &[u32] {
        &self.items[self.starts[cell] as usize..self.starts[cell + 1] as usize]
    }

    /// All items that touch a cell that the segment touches, each once, in rising order.
    pub(super) fn along(&self, from: Point, to: Point) -> Vec<u32> {
        let mut found = Vec::new();
        let meets = Bounds { low: self.low, high: self.high }
            .meets(Bounds::around([from, to]).unwrap_or(Bounds { low: from, high: to }));
        if meets {
            self.visit([from, to, to], |cell| found.extend_from_slice(self.items(cell)));
        }
        found.sort_unstable();
        found.dedup();
        found
    }
}

/// West and east end of the part of a triangle between two latitudes; crossed over when there is none.
fn extent(corners: [Point; 3], floor: f64, ceiling: f64) -> (f64, f64) {
    let (mut west, mut east) = (f64::INFINITY, f64::NEG_INFINITY);
    for k in 0..3 {
        let (mut p, mut q) = (corners[k], corners[(k + 1) % 3]);
        if p.y > q.y {
            (p, q) = (q, p);
        }
        if q.y < floor || p.y > ceiling {
            continue;
        }
        let at = |y: f64| p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y));
        let from = if p.y < floor { at(floor) } else { p.x };
        let to = if q.y > ceiling { at(ceiling) } else { q.x };
        west = west.min(from).min(to);
        east = east.max(from).max(to);
    }
    (west, east)
}

/// The whole part of a number, zero below zero.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, which is what is wanted"
)]
const fn whole(value: f64) -> usize {
    value as usize
}
