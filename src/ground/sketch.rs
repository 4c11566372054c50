//! A cloud in a few thousand cells: how dense it is, where its ground is, and the shape of it, whatever its size.
//!
//! Invariant: memory is that of [`MOST`] by [`MOST`] cells; the points are taken one by one and not held. A cell is never so
//! small that it would hold fewer than [`FEWEST`] points on average, so that an empty cell is a gap and not chance (of ten
//! points thrown at random none falls into a cell once in 22,000).

use crate::geom::{Bounds, Point, Point3};
use crate::surface::Tin;

/// Most cells along a side: what a printed sheet can show.
const MOST: f64 = 192.0;
/// Points that a cell holds on average at least.
const FEWEST: f64 = 10.0;

/// What fell into a cell.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Cell {
    points: u32,
    ground: u32,
    /// Sum of the ground points' elevations.
    sum: f64,
    lowest: f64,
}

/// A cloud in cells, rows from the lower left.
#[derive(Debug, Clone, PartialEq)]
pub struct Sketch {
    low: Point,
    /// Side of a cell, metres.
    pub cell: f64,
    /// Cells to the east.
    pub wide: usize,
    /// Cells to the north.
    pub high: usize,
    cells: Vec<Cell>,
    has_ground: bool,
}

/// Points a square metre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Density {
    /// Of all points.
    pub all: f64,
    /// Of ground points.
    pub ground: f64,
    /// Area of the cells with a point, square metres.
    pub covered: f64,
    /// Share of that area without a ground point.
    pub without_ground: f64,
}

impl Sketch {
    /// Cells over a rectangle that so many points lie in.
    #[must_use]
    pub fn over(bounds: Bounds, points: u64) -> Self {
        let side = bounds.width().max(bounds.height());
        let of_points = (bounds.width() * bounds.height() * FEWEST / points.max(1) as f64).sqrt();
        // A line of points, or one point, has no area: a tenth of a metre keeps the cells apart.
        let cell = (side / MOST).max(of_points).max(0.1);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred at most")]
        let count = |span: f64| (span / cell).floor() as usize + 1;
        let (wide, high) = (count(bounds.width()), count(bounds.height()));
        Self { low: bounds.low, cell, wide, high, cells: vec![Cell::default(); wide * high], has_ground: false }
    }

    /// Takes a point; one outside counts for the nearest cell.
    pub fn take(&mut self, place: Point3, ground: bool) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the cells")]
        let at = |value: f64, count: usize| ((value / self.cell).max(0.0) as usize).min(count - 1);
        let (column, row) = (at(place.x - self.low.x, self.wide), at(place.y - self.low.y, self.high));
        let cell = &mut self.cells[row * self.wide + column];
        cell.lowest = if cell.points == 0 { place.z } else { cell.lowest.min(place.z) };
        cell.points = cell.points.saturating_add(1);
        if ground {
            self.has_ground = true;
            cell.ground = cell.ground.saturating_add(1);
            cell.sum += place.z;
        }
    }

    /// The lower left corner, local metres.
    #[must_use]
    pub const fn low(&self) -> Point {
        self.low
    }

    /// True when a point of the cloud fell into the cell.
    #[must_use]
    pub fn is_covered(&self, column: usize, row: usize) -> bool {
        self.cells[row * self.wide + column].points > 0
    }

    /// Ground points a square metre in a cell.
    #[must_use]
    pub fn ground_density(&self, column: usize, row: usize) -> f64 {
        f64::from(self.cells[row * self.wide + column].ground) / (self.cell * self.cell)
    }

    /// The mean elevation of a cell's ground points; where the cloud has no ground at all, of its lowest point.
    #[must_use]
    pub fn elevation(&self, column: usize, row: usize) -> Option<f64> {
        let cell = self.cells[row * self.wide + column];
        if cell.ground > 0 {
            return Some(cell.sum / f64::from(cell.ground));
        }
        (cell.points > 0 && !self.has_ground).then_some(cell.lowest)
    }

    /// True when a point of it was ground.
    #[must_use]
    pub const fn has_ground(&self) -> bool {
        self.has_ground
    }

    /// How dense it is: over the cells all of whose neighbours have points, since the rim cuts cells; over all where there
    /// are none such. `None` without points.
    #[must_use]
    pub fn density(&self) -> Option<Density> {
        let covered = (0..self.cells.len()).filter(|&at| self.cells[at].points > 0);
        let covered: Vec<usize> = covered.collect();
        let inner: Vec<usize> = covered.iter().copied().filter(|&at| self.is_inner(at)).collect();
        let chosen = if inner.is_empty() { &covered } else { &inner };
        if chosen.is_empty() {
            return None;
        }
        let area = chosen.len() as f64 * self.cell * self.cell;
        let sum = |of: fn(&Cell) -> u32| chosen.iter().map(|&at| f64::from(of(&self.cells[at]))).sum::<f64>();
        let bare = covered.iter().filter(|&&at| self.cells[at].ground == 0).count();
        Some(Density {
            all: sum(|cell| cell.points) / area,
            ground: sum(|cell| cell.ground) / area,
            covered: covered.len() as f64 * self.cell * self.cell,
            without_ground: bare as f64 / covered.len() as f64,
        })
    }

    fn is_inner(&self, at: usize) -> bool {
        let (row, column) = (at / self.wide, at % self.wide);
        (1..self.wide.saturating_sub(1)).contains(&column)
            && (1..self.high.saturating_sub(1)).contains(&row)
            && (row - 1..=row + 1).all(|row| (column - 1..=column + 1).all(|column| self.is_covered(column, row)))
    }

    /// Slope of the cells' elevations to the east and to the north; `None` where no neighbour tells it.
    #[must_use]
    pub fn slope(&self, column: usize, row: usize) -> Option<(f64, f64)> {
        let here = self.elevation(column, row)?;
        let along = |before: Option<f64>, after: Option<f64>| match (before, after) {
            (Some(a), Some(b)) => Some((b - a) / (2.0 * self.cell)),
            (Some(a), None) => Some((here - a) / self.cell),
            (None, Some(b)) => Some((b - here) / self.cell),
            (None, None) => None,
        };
        let at = |column: Option<usize>, row: Option<usize>| {
            let (column, row) = (column.filter(|at| *at < self.wide)?, row.filter(|at| *at < self.high)?);
            self.elevation(column, row)
        };
        let east = along(at(column.checked_sub(1), Some(row)), at(Some(column + 1), Some(row)))?;
        let north = along(at(Some(column), row.checked_sub(1)), at(Some(column), Some(row + 1)))?;
        Some((east, north))
    }

    /// The cells' elevations as a surface through the middles of neighbours, so that gaps stay open; `None` when they make
    /// none.
    #[must_use]
    pub fn surface(&self) -> Option<Tin> {
        let middle = |at: usize, low: f64| low + (at as f64 + 0.5) * self.cell;
        let mut vertices = Vec::new();
        let mut vertex = vec![None; self.cells.len()];
        for (at, vertex) in vertex.iter_mut().enumerate() {
            let (column, row) = (at % self.wide, at / self.wide);
            if let Some(z) = self.elevation(column, row) {
                *vertex = u32::try_from(vertices.len()).ok();
                vertices.push(Point3::new(middle(column, self.low.x), middle(row, self.low.y), z));
            }
        }
        let mut triangles = Vec::new();
        for row in 1..self.high {
            for column in 1..self.wide {
                let at = row * self.wide + column;
                let square = [at - self.wide - 1, at - self.wide, at, at - 1].map(|at| vertex[at]);
                let known: Vec<u32> = square.into_iter().flatten().collect();
                match known[..] {
                    [a, b, c, d] => triangles.extend([[a, b, c], [a, c, d]]),
                    [a, b, c] => triangles.push([a, b, c]),
                    _ => {}
                }
            }
        }
        Tin::from_triangles(vertices, triangles).ok().filter(|tin| !tin.triangles().is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    fn bounds(width: f64, height: f64) -> Bounds {
        Bounds { low: Point::new(0.0, 0.0), high: Point::new(width, height) }
    }

    /// Points at random, four a square metre, half of them ground, with a square of 20 m where none is.
    #[test]
    fn density_and_gaps_are_those_that_were_planted() {
        let mut random = ChaCha8Rng::seed_from_u64(12);
        let mut sketch = Sketch::over(bounds(100.0, 80.0), 32_000);
        for at in 0..32_000_u32 {
            let (x, y) = (random.random_range(0.0..100.0), random.random_range(0.0..80.0));
            let hole = (40.0..60.0).contains(&x) && (30.0..50.0).contains(&y);
            sketch.take(Point3::new(x, y, 0.05 * x), at % 2 == 0 && !hole);
        }
        let found = sketch.density().unwrap();
        assert!((found.all - 4.0).abs() < 0.1, "{found:?}");
        assert!((found.covered - 8_000.0).abs() < 300.0, "{found:?}");
        assert!((found.without_ground - 400.0 / 8_000.0).abs() < 0.02, "{found:?}");
        assert!((found.ground - 2.0 * 0.95).abs() < 0.1, "{found:?}");
        let (east, north) = sketch.slope(3, 3).unwrap();
        assert!((east - 0.05).abs() < 0.02 && north.abs() < 0.02, "{east} {north}");
        // The gap of 20 m stays open in the surface.
        let area = sketch.surface().unwrap().plan_area();
        assert!((6_500.0..7_600.0).contains(&area), "{area}");
    }

    #[test]
    fn however_many_points_the_cells_are_few() {
        for (width, height, points) in [(1e4, 1e4, 1 << 40), (1e5, 0.0, 5), (0.0, 0.0, 1), (1e-3, 1e-3, 1 << 40)] {
            let sketch = Sketch::over(bounds(width, height), points);
            assert!(sketch.wide <= 193 && sketch.high <= 193, "{} by {}", sketch.wide, sketch.high);
        }
    }

    #[test]
    fn without_ground_the_lowest_points_show_the_shape() {
        let mut sketch = Sketch::over(bounds(30.0, 30.0), 900);
        for at in 0..900_u32 {
            let (x, y) = (f64::from(at % 30), f64::from(at / 30));
            sketch.take(Point3::new(x, y, 100.0 + x), false);
        }
        assert!(!sketch.has_ground());
        assert_eq!(sketch.elevation(0, 0), Some(100.0));
        sketch.take(Point3::new(29.0, 29.0, 120.0), true);
        assert_eq!(sketch.elevation(0, 0), None, "where ground is known, only ground is shown");
        assert_eq!(Sketch::over(bounds(1.0, 1.0), 0).density(), None);
    }
}
