//! Shots and cloud as one ground: how the cloud stands against the shots, and where it gives way to them.
//!
//! At each shot the cloud's elevation is that of the plane fitted to its points near by. The offset is the median of
//! cloud minus shot, its standard error 1.2533 s / sqrt(n) with s the spread by the median deviation (the error of a median
//! of normal values), so a few shots on a bank the cloud never saw do not move it. A tilt is a plane through the differences
//! that lie within 3.5 s.

use crate::geom::{Point, Point3};
use crate::stats::{mad, median};
use nalgebra::{Matrix3, Vector3};
use std::collections::BTreeMap;

/// Cloud points this near to a shot say how high the cloud stands there, metres; common practice, no source.
const NEAR: f64 = 2.5;
/// Fewest cloud points that make a plane to be trusted.
const FEWEST_POINTS: f64 = 6.0;
/// Fewest shots that speak of an offset.
const FEWEST_SHOTS: usize = 5;
/// Differences farther out than this many spreads have no say in the tilt.
const FAR_OUT: f64 = 3.5;
/// Standard error of a median over that of a mean, for normal values: the root of half pi.
const OF_MEDIAN: f64 = 1.253_314_137_315_5;

/// How a cloud stands against shots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CloudOffset {
    /// Cloud above shots, metres.
    pub(super) offset: f64,
    /// Its standard error, metres.
    pub(super) standard_error: f64,
    /// Spread of the differences, metres, one standard deviation.
    pub(super) spread: f64,
    /// Shots that had enough cloud round them.
    pub(super) shots: usize,
    /// Rise of the cloud against the shots to the east and to the north, metres a metre, with standard errors.
    pub(super) tilt: Option<[(f64, f64); 2]>,
}

/// Sums for a plane through the cloud near a shot, relative to the shot.
#[derive(Clone, Default)]
struct Sums {
    matrix: Matrix3<f64>,
    right: Vector3<f64>,
}

impl Sums {
    fn add(&mut self, x: f64, y: f64, z: f64) {
        let row = Vector3::new(1.0, x, y);
        self.matrix += row * row.transpose();
        self.right += row * z;
    }

    fn solved(&self) -> Option<Vector3<f64>> {
        self.matrix.cholesky().map(|made| made.solve(&self.right)).filter(|found| found.iter().all(|v| v.is_finite()))
    }
}

/// Shots by cells of a grid, each in the cells that its reach touches, so that a cloud point looks in one cell.
struct Near<'a> {
    shots: &'a [Point3],
    reach: f64,
    cells: BTreeMap<(i64, i64), Vec<usize>>,
}

impl<'a> Near<'a> {
    fn new(shots: &'a [Point3], reach: f64) -> Self {
        let mut cells: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
        for (i, shot) in shots.iter().enumerate() {
            let (column, row) = cell(shot.plan(), reach);
            for (c, r) in (-1..=1).flat_map(|c| (-1..=1).map(move |r| (c, r))) {
                cells.entry((column + c, row + r)).or_default().push(i);
            }
        }
        Self { shots, reach, cells }
    }

    fn of(&self, place: Point) -> impl Iterator<Item = usize> {
        let near = self.cells.get(&cell(place, self.reach)).map_or(&[][..], Vec::as_slice);
        near.iter().copied().filter(move |&i| self.shots[i].plan().distance(place) <= self.reach)
    }
}

#[expect(clippy::cast_possible_truncation, reason = "coordinates lie within 65 km, the reach is a millimetre or more")]
fn cell(place: Point, reach: f64) -> (i64, i64) {
    ((place.x / reach).floor() as i64, (place.y / reach).floor() as i64)
}

/// How the cloud stands against the shots; `None` when fewer than five shots have cloud round them.
pub(super) fn offset(shots: &[Point3], cloud: &[Point3]) -> Option<CloudOffset> {
    let near = Near::new(shots, NEAR);
    let mut sums = vec![Sums::default(); shots.len()];
    for point in cloud {
        for i in near.of(point.plan()) {
            let from = point.plan() - shots[i].plan();
            sums[i].add(from.x, from.y, point.z - shots[i].z);
        }
    }
    let found: Vec<(Point, f64)> = shots
        .iter()
        .zip(&sums)
        .filter(|(_, sums)| sums.matrix[(0, 0)] >= FEWEST_POINTS)
        .filter_map(|(shot, sums)| Some((shot.plan(), sums.solved()?[0])))
        .collect();
    if found.len() < FEWEST_SHOTS {
        return None;
    }
    let differences: Vec<f64> = found.iter().map(|&(_, difference)| difference).collect();
    let (offset, spread) = (median(&differences)?, mad(&differences)?);
    let within: Vec<(Point, f64)> =
        found.into_iter().filter(|&(_, difference)| (difference - offset).abs() <= FAR_OUT * spread).collect();
    let standard_error = OF_MEDIAN * spread / (differences.len() as f64).sqrt();
    Some(CloudOffset { offset, standard_error, spread, shots: differences.len(), tilt: tilt(&within) })
}

fn tilt(differences: &[(Point, f64)]) -> Option<[(f64, f64); 2]> {
    let count = differences.len() as f64;
    if count < 6.0 {
        return None;
    }
    let middle = |axis: fn(&Point) -> f64| differences.iter().map(|(place, _)| axis(place)).sum::<f64>() / count;
    let (x, y) = (middle(|p| p.x), middle(|p| p.y));
    let mut sums = Sums::default();
    for (place, d) in differences {
        sums.add(place.x - x, place.y - y, *d);
    }
    let plane = sums.solved()?;
    let rest = |place: &Point, d: f64| d - plane[0] - plane[1] * (place.x - x) - plane[2] * (place.y - y);
    let variance = differences.iter().map(|(place, d)| rest(place, *d).powi(2)).sum::<f64>() / (count - 3.0);
    let spread = sums.matrix.try_inverse()? * variance;
    Some([1, 2].map(|k| (plane[k], spread[(k, k)].sqrt())))
}

/// The cloud without the points nearer than `within` metres to a shot, lowered by `by` metres.
pub(super) fn beside_shots(shots: &[Point3], cloud: &[Point3], within: f64, by: f64) -> Vec<Point3> {
    let near = (within > 0.0).then(|| Near::new(shots, within));
    let free = |point: &&Point3| near.as_ref().is_none_or(|near| near.of(point.plan()).next().is_none());
    cloud.iter().filter(free).map(|point| Point3 { z: point.z - by, ..*point }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Normal};

    fn ground(x: f64, y: f64) -> f64 {
        430.0 + 0.05 * x - 0.03 * y
    }

    /// A cloud of two points a square metre over 100 m, 87 mm too high and tilted by 0.2 mm a metre to the east, and 81
    /// shots of which eight stand on a bank that the cloud never saw.
    fn site(tilt: f64) -> (Vec<Point3>, Vec<Point3>) {
        let mut random = ChaCha8Rng::seed_from_u64(4);
        let cloud_noise = Normal::new(0.0, 0.03).unwrap();
        let shot_noise = Normal::new(0.0, 0.015).unwrap();
        let cloud = (0..20_000)
            .map(|_| {
                let (x, y) = (random.random_range(0.0..100.0), random.random_range(0.0..100.0));
                let high = ground(x, y) + 0.087 + tilt * (x - 50.0) + cloud_noise.sample(&mut random);
                Point3::new(x, y, high)
            })
            .collect();
        let shots = (0..81_u32)
            .map(|i| {
                let (x, y) = (10.0 + 10.0 * f64::from(i % 9), 10.0 + 10.0 * f64::from(i / 9));
                let bank = if i < 8 { 1.4 } else { 0.0 };
                Point3::new(x, y, ground(x, y) + bank + shot_noise.sample(&mut random))
            })
            .collect();
        (shots, cloud)
    }

    #[test]
    fn a_planted_offset_is_found_within_three_standard_errors() {
        let (shots, cloud) = site(0.0);
        let found = offset(&shots, &cloud).unwrap();
        assert_eq!(found.shots, 81);
        assert!((found.offset - 0.087).abs() < 3.0 * found.standard_error, "{found:?}");
        assert!((0.001..0.005).contains(&found.standard_error), "{found:?}");
        let tilt = found.tilt.unwrap();
        assert!(tilt.iter().all(|(rise, error)| rise.abs() < 3.0 * error), "{tilt:?}");
    }

    #[test]
    fn a_planted_tilt_is_told() {
        let (shots, cloud) = site(0.001);
        let [(east, error), (north, _)] = offset(&shots, &cloud).unwrap().tilt.unwrap();
        assert!((east - 0.001).abs() < 3.0 * error && east > 3.0 * error, "{east} {error}");
        assert!(north.abs() < 3e-4);
    }

    #[test]
    fn few_shots_say_nothing_and_the_cloud_gives_way() {
        let (shots, cloud) = site(0.0);
        assert_eq!(offset(&shots[..4], &cloud), None);
        assert_eq!(offset(&shots, &[]), None);
        let left = beside_shots(&shots, &cloud, 1.5, 0.1);
        for point in &left {
            assert!(shots.iter().all(|shot| shot.plan().distance(point.plan()) > 1.5));
        }
        let gone = cloud.len() - left.len();
        // 81 discs of 7.07 m2 with two points a square metre.
        assert!((gone as f64 - 1_145.0).abs() < 4.0 * 1_145.0_f64.sqrt(), "{gone}");
        assert_eq!(beside_shots(&shots, &cloud, 0.0, 0.0), cloud);
    }
}
