//! Shots nearer to each other than the merging distance become one point.
//!
//! A shot on a breakline stands before one that is not, an earlier before a later; the others of its group give it the
//! mean of all their elevations, unless it is on a breakline, which keeps its own.

use crate::geom::Point3;
use std::collections::BTreeMap;

/// Points after merging.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Merged {
    /// The points that are left.
    pub(super) points: Vec<Point3>,
    /// For each given point the one that stands for it.
    pub(super) point_of: Vec<u32>,
    /// Points that went into another.
    pub(super) gone: usize,
    /// Greatest difference in elevation within a group, metres.
    pub(super) largest_dz: f64,
}

/// Merges points within a distance in plan; with a distance of zero only the order is looked at.
pub(super) fn merge(points: &[Point3], on_breakline: &[bool], within: f64) -> Merged {
    let (breaks, others): (Vec<usize>, Vec<usize>) = (0..points.len()).partition(|&i| on_breakline[i]);
    let mut cells: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    let mut heads: Vec<Option<usize>> = vec![None; points.len()];
    for &i in breaks.iter().chain(&others) {
        let (column, row) = cell(points[i], within);
        let mut best: Option<(f64, usize)> = None;
        for (c, r) in (-1..=1).flat_map(|c| (-1..=1).map(move |r| (c, r))) {
            for &j in cells.get(&(column + c, row + r)).into_iter().flatten() {
                let distance = points[i].plan().distance(points[j].plan());
                if distance <= within && best.is_none_or(|best| (distance, j) < best) {
                    best = Some((distance, j));
                }
            }
        }
        heads[i] = best.map(|(_, j)| j);
        if best.is_none() {
            cells.entry((column, row)).or_default().push(i);
        }
    }
    let mut merged = Merged { points: Vec::new(), point_of: vec![0; points.len()], gone: 0, largest_dz: 0.0 };
    for i in (0..points.len()).filter(|&i| heads[i].is_none()) {
        merged.point_of[i] = u32::try_from(merged.points.len()).unwrap_or(u32::MAX);
        merged.points.push(points[i]);
    }
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (i, head) in heads.iter().enumerate() {
        if let Some(head) = *head {
            merged.point_of[i] = merged.point_of[head];
            merged.gone += 1;
            groups.entry(head).or_insert_with(|| vec![head]).push(i);
        }
    }
    for (head, group) in groups {
        let elevations = || group.iter().map(|&i| points[i].z);
        let (low, high) = elevations().fold((f64::MAX, f64::MIN), |(low, high), z| (low.min(z), high.max(z)));
        merged.largest_dz = merged.largest_dz.max(high - low);
        if !on_breakline[head] {
            merged.points[merged.point_of[head] as usize].z = elevations().sum::<f64>() / group.len() as f64;
        }
    }
    merged
}

#[expect(clippy::cast_possible_truncation, reason = "coordinates lie within 65 km, cells are a millimetre or more")]
fn cell(point: Point3, within: f64) -> (i64, i64) {
    let size = within.max(1e-3);
    ((point.x / size).floor() as i64, (point.y / size).floor() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_points_become_one_at_their_mean_elevation() {
        let points = [
            Point3::new(0.0, 0.0, 10.0),
            Point3::new(0.015, 0.0, 10.2),
            Point3::new(0.1, 0.0, 10.4),
            Point3::new(-0.005, 0.0, 10.1),
        ];
        let merged = merge(&points, &[false; 4], 0.02);
        assert_eq!(merged.point_of, [0, 0, 1, 0]);
        assert_eq!((merged.points.len(), merged.gone), (2, 2));
        assert!((merged.points[0].z - 10.1).abs() < 1e-12);
        assert!((merged.largest_dz - 0.2).abs() < 1e-12);
    }

    #[test]
    fn a_breakline_keeps_its_own_place_and_elevation() {
        let points = [Point3::new(0.0, 0.0, 10.0), Point3::new(0.01, 0.0, 10.5)];
        let merged = merge(&points, &[false, true], 0.02);
        assert_eq!(merged.points, [points[1]]);
    }

    #[test]
    fn at_zero_only_equal_places_merge() {
        let points = [Point3::new(0.0, 0.0, 1.0), Point3::new(0.0, 0.0, 3.0), Point3::new(1e-6, 0.0, 5.0)];
        assert_eq!(merge(&points, &[false; 3], 0.0).point_of, [0, 0, 1]);
    }
}
