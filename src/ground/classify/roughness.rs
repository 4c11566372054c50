//! How far the ground's own points lie from the surface, block by block: where points are dense, what lies farther is not
//! ground.
//!
//! Each block holds a histogram of heights above the surface. Ground scatters alike below and above its middle, while
//! grass and objects add only above it; so the spread is taken from the lower half (the thought of the asymmetric weights of
//! Kraus and Pfeifer 1998).

use crate::geom::{Bounds, Point, Vector};

/// Side of a block, metres. With its eight neighbours a block looks at 15 m: wider than a vehicle or a bush, narrow enough for a change of cover.
const BLOCK: f64 = 5.0;
/// Points a square metre from which the spread tells roughness; with fewer, cells are coarser than the ground's relief. A choice
/// of this program, held against the reference samples (up to 1 point a square metre) and real pasture (7).
const DENSE: f64 = 2.0;
/// Spreads above the middle that are ground.
const SPREADS: f64 = 3.0;
/// What is always ground above the middle, metres; common practice, no source.
const LEAST: f64 = 0.10;
/// Width of a bin, metres, and how many of them stand on either side of the surface.
const BIN: f64 = 0.02;
const HALF: usize = 50;

/// Limits block by block.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Roughness {
    wide: usize,
    high: usize,
    low: Point,
    bins: Vec<[u16; 2 * HALF]>,
    limits: Vec<Option<(f32, f32)>>,
}

impl Roughness {
    pub(super) fn over(bounds: Bounds) -> Self {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded by the raster's cells")]
        let count = |span: f64| (span / BLOCK).floor() as usize + 1;
        let (wide, high) = (count(bounds.width()), count(bounds.height()));
        Self { wide, high, low: bounds.low, bins: Vec::new(), limits: Vec::new() }
    }

    /// Counts a point that may be ground.
    pub(super) fn take(&mut self, place: Point, above: f64) {
        if self.bins.is_empty() {
            self.bins = vec![[0; 2 * HALF]; self.wide * self.high];
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the bins")]
        let bin = ((above / BIN).floor() + HALF as f64).clamp(0.0, (2 * HALF - 1) as f64) as usize;
        let block = self.block(place);
        let count = &mut self.bins[block][bin];
        *count = count.saturating_add(1);
    }

    /// Turns the counts into limits, and lets go of the counts.
    pub(super) fn settle(&mut self) {
        if self.bins.is_empty() {
            return;
        }
        self.limits = (0..self.wide * self.high).map(|at| self.limits_of(at % self.wide, at / self.wide)).collect();
        self.bins = Vec::new();
    }

    /// Least and greatest height above the surface that are ground; `None` where the points are too few to tell.
    pub(super) fn limits(&self, place: Point) -> Option<(f64, f64)> {
        let (lowest, highest) = (*self.limits.get(self.block(place))?)?;
        Some((f64::from(lowest), f64::from(highest)))
    }

    fn block(&self, place: Point) -> usize {
        let Vector { x, y } = place - self.low;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the blocks")]
        let at = |value: f64, count: usize| ((value / BLOCK).max(0.0) as usize).min(count - 1);
        at(y, self.high) * self.wide + at(x, self.wide)
    }

    fn limits_of(&self, column: usize, row: usize) -> Option<(f32, f32)> {
        let mut sum = [0_u32; 2 * HALF];
        let mut blocks = 0;
        for row in row.saturating_sub(1)..(row + 2).min(self.high) {
            for column in column.saturating_sub(1)..(column + 2).min(self.wide) {
                let bins = &self.bins[row * self.wide + column];
                blocks += u32::from(bins.iter().any(|count| *count > 0));
                sum.iter_mut().zip(bins).for_each(|(sum, count)| *sum += u32::from(*count));
            }
        }
        let points = f64::from(sum.iter().sum::<u32>());
        if points < DENSE * BLOCK * BLOCK * f64::from(blocks) || blocks == 0 {
            return None;
        }
        let (middle, lower) = (quantile(&sum, 0.5 * points), quantile(&sum, 0.1587 * points));
        let reach = (SPREADS * (middle - lower)).max(LEAST);
        #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
        let limits = ((middle - 2.0 * reach) as f32, (middle + reach) as f32);
        Some(limits)
    }
}

/// The height below which so many points lie, evenly spread inside a bin.
fn quantile(bins: &[u32], wanted: f64) -> f64 {
    let mut below = 0.0;
    for (at, &count) in bins.iter().enumerate() {
        let count = f64::from(count);
        if below + count >= wanted && count > 0.0 {
            return (at as f64 - HALF as f64 + (wanted - below) / count) * BIN;
        }
        below += count;
    }
    HALF as f64 * BIN
}
