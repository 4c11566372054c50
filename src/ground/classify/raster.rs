//! A raster of elevations: cells counted from the lower left, a value at each cell's centre, not a number where unknown.
//!
//! Elevations are kept to single precision above the base, which is an elevation of the cloud: a tenth of a millimetre in
//! a kilometre.

use crate::geom::{Bounds, Point, Point3, Vector};

/// Cells in rows from the lower left.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Raster {
    pub(super) wide: usize,
    pub(super) high: usize,
    low: Point,
    pub(super) cell: f64,
    base: Option<f64>,
    pub(super) values: Vec<f32>,
}

impl Raster {
    /// An unknown raster whose cells begin at whole multiples of their side; `None` when it would have too many.
    pub(super) fn over(bounds: Bounds, cell: f64, most: u64) -> Option<Self> {
        let low = Point::new((bounds.low.x / cell).floor() * cell, (bounds.low.y / cell).floor() * cell);
        let count = |span: f64| (span / cell).floor() + 1.0;
        let (wide, high) = (count(bounds.high.x - low.x), count(bounds.high.y - low.y));
        // A size that is no number is too many.
        if (wide * high).is_nan() || wide * high > most as f64 {
            return None;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked against the most above")]
        let (wide, high) = (wide as usize, high as usize);
        Some(Self { wide, high, low, cell, base: None, values: vec![f32::NAN; wide * high] })
    }

    /// The same cells with other values.
    pub(super) fn with(&self, values: Vec<f32>) -> Self {
        Self { values, ..Self { values: Vec::new(), ..*self } }
    }

    /// Cells with a value.
    pub(super) fn known(&self) -> usize {
        self.values.iter().filter(|value| !value.is_nan()).count()
    }

    /// Lowers the cell of a point to it.
    pub(super) fn lower(&mut self, point: Point3) {
        let base = *self.base.get_or_insert(point.z.round());
        let at = |value: f64, count: usize| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the bounds, clamped")]
            let at = (value / self.cell).floor().max(0.0) as usize;
            at.min(count - 1)
        };
        let (column, row) = (at(point.x - self.low.x, self.wide), at(point.y - self.low.y, self.high));
        let value = &mut self.values[row * self.wide + column];
        #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
        let z = (point.z - base) as f32;
        // A cell that is not a number yet takes the point.
        *value = value.min(z);
    }

    /// The value at a place, bilinear between the centres of cells, beyond the outer centres as at them.
    pub(super) fn at(&self, place: Point) -> f64 {
        let along = |value: f64, count: usize| {
            let value = (value / self.cell - 0.5).clamp(0.0, (count - 1) as f64);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the cells")]
            let first = (value as usize).min(count.saturating_sub(2));
            (first, (first + 1).min(count - 1), value - first as f64)
        };
        let Vector { x, y } = place - self.low;
        let ((left, right, u), (below, above, v)) = (along(x, self.wide), along(y, self.high));
        let value = |row: usize, column: usize| f64::from(self.values[row * self.wide + column]);
        let lower = value(below, left) * (1.0 - u) + value(below, right) * u;
        let upper = value(above, left) * (1.0 - u) + value(above, right) * u;
        lower * (1.0 - v) + upper * v + self.base.unwrap_or_default()
    }

    /// The steepest slope at each cell, by central differences; its base is zero.
    pub(super) fn slope(&self) -> Self {
        let mut values = Vec::with_capacity(self.values.len());
        #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
        let cell = self.cell as f32;
        for row in 0..self.high {
            let (below, above) = (row.saturating_sub(1), (row + 1).min(self.high - 1));
            for column in 0..self.wide {
                let (left, right) = (column.saturating_sub(1), (column + 1).min(self.wide - 1));
                let value = |row: usize, column: usize| self.values[row * self.wide + column];
                let across = |rise: f32, steps: usize| if steps == 0 { 0.0 } else { rise / (steps as f32 * cell) };
                let x = across(value(row, right) - value(row, left), right - left);
                let y = across(value(above, column) - value(below, column), above - below);
                values.push(x.hypot(y));
            }
        }
        Self { base: None, ..self.with(values) }
    }
}
