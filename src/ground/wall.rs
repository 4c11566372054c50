//! Walls: two breaklines in one place in plan, at different heights. A surface has one elevation at a place, so it cannot
//! hold both, and what it would make of them are needles between top and toe.

use crate::geom::{Point, Point3};
use crate::surface::Buckets;

/// Two breaklines that are nearer than shots are told apart may differ by this much, metres: the same line shot twice.
/// A choice of this program, five times the scatter of a shot.
const SAME_LINE: f64 = 0.10;

/// Where one line runs above another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wall {
    /// Indices of the two lines.
    pub(super) lines: [usize; 2],
    /// Where they are farthest apart in height, of two shots that follow one another.
    pub(super) place: Point,
    /// How far, metres.
    pub(super) dz: f64,
}

/// The first wall in a list of lines given as point indices: two shots in a row that stand within a distance in plan of
/// another line, one of them higher or lower than it by more than a line shot twice would be.
pub(super) fn first_wall(points: &[Point3], lines: &[Vec<usize>], within: f64) -> Option<Wall> {
    let segments: Vec<(usize, [Point3; 2])> = lines
        .iter()
        .enumerate()
        .flat_map(|(line, run)| run.windows(2).map(move |pair| (line, [points[pair[0]], points[pair[1]]])))
        .collect();
    let buckets = Buckets::over(segments.len(), |at| {
        let [a, b] = segments[at].1.map(Point3::plan);
        [a, b, b]
    });
    let mut before: Vec<(usize, f64)>;
    let mut here: Vec<(usize, f64)> = Vec::new();
    for (line, run) in lines.iter().enumerate() {
        for (at, &shot) in run.iter().enumerate() {
            before = std::mem::take(&mut here);
            here = beside(points[shot], line, &segments, &buckets, within);
            if at == 0 {
                continue;
            }
            for &(other, dz) in &here {
                let earlier = before.iter().find(|(known, _)| *known == other).map(|(_, dz)| *dz);
                let Some(earlier) = earlier.filter(|earlier| earlier.max(dz) > SAME_LINE) else { continue };
                let highest = if earlier > dz { run[at - 1] } else { shot };
                return Some(Wall { lines: [line, other], place: points[highest].plan(), dz: earlier.max(dz) });
            }
        }
    }
    None
}

/// The other lines within a distance of a shot, and how far they are from it in height.
fn beside(
    shot: Point3,
    line: usize,
    segments: &[(usize, [Point3; 2])],
    buckets: &Buckets,
    within: f64,
) -> Vec<(usize, f64)> {
    let place = shot.plan();
    let corner = |x: f64, y: f64| Point::new(place.x + x * within, place.y + y * within);
    let mut found: Vec<(usize, f64)> = Vec::new();
    let around = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
    buckets.each_near(&around, |at| {
        let (other, [a, b]) = segments[at as usize];
        let along = b.plan() - a.plan();
        let length = along.dot(along);
        if other == line || length <= 0.0 {
            return;
        }
        let part = ((place - a.plan()).dot(along) / length).clamp(0.0, 1.0);
        if a.plan().towards(b.plan(), part).distance(place) > within {
            return;
        }
        let dz = (a.z + part * (b.z - a.z) - shot.z).abs();
        match found.iter_mut().find(|(known, _)| *known == other) {
            // Where a line bends, its nearer side in height counts.
            Some((_, least)) => *least = least.min(dz),
            None => found.push((other, dz)),
        }
    });
    found.sort_by_key(|(other, _)| *other);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two lines of three shots, the second beside the first and above it.
    fn wall(off: f64, along: f64, heights: [f64; 3]) -> Option<Wall> {
        let mut points: Vec<Point3> = [0.0, 10.0, 20.0].iter().map(|&x| Point3::new(x, 0.0, 5.0)).collect();
        points.extend(heights.iter().zip([0.0, 10.0, 20.0]).map(|(z, x)| Point3::new(x + along, off, 5.0 + z)));
        first_wall(&points, &[vec![0, 1, 2], vec![3, 4, 5]], 0.02)
    }

    #[test]
    fn top_over_toe_is_a_wall_wherever_their_shots_stand() {
        let found = wall(0.01, 0.0, [1.2; 3]).unwrap();
        assert_eq!(found.lines, [0, 1]);
        assert!((found.dz - 1.2).abs() < 1e-12);
        assert_eq!(wall(0.0, 4.0, [1.2; 3]).map(|found| found.lines), Some([0, 1]));
        // One that comes out of the ground.
        assert_eq!(wall(0.0, 0.0, [0.0, 0.0, 0.8]).map(|found| found.place), Some(Point::new(20.0, 0.0)));
    }

    #[test]
    fn a_line_shot_twice_or_beside_another_is_none() {
        assert_eq!(wall(0.01, 0.0, [0.05, -0.03, 0.09]), None);
        assert_eq!(wall(0.05, 0.0, [1.2; 3]), None, "five centimetres are enough");
        assert_eq!(wall(0.0, 30.0, [1.2; 3]), None);
    }

    #[test]
    fn lines_that_cross_or_meet_are_none() {
        let points = [(0.0, 0.0, 1.0), (10.0, 10.0, 1.0), (0.0, 10.0, 3.0), (10.0, 0.0, 3.0), (5.0, 5.0, 3.0)];
        let points = points.map(|(x, y, z)| Point3::new(x, y, z));
        assert_eq!(first_wall(&points, &[vec![0, 1], vec![2, 4, 3]], 0.02), None);
        assert_eq!(first_wall(&points, &[vec![0, 1], vec![4, 3]], 0.02), None);
        assert_eq!(first_wall(&points, &[vec![0, 1, 0], vec![]], 0.02), None);
    }
}
