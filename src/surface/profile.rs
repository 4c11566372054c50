//! The surface along a line: a point wherever the line crosses an edge of the mesh.
//!
//! Between two following points the surface is straight, or there is no surface: then a point without elevation
//! stands between them.

use super::locate::Locator;
use crate::geom::{Point, Polyline, Side, orient};

/// A point of a profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfilePoint {
    /// Distance along the line, metres.
    pub station: f64,
    /// Where.
    pub place: Point,
    /// Elevation of the surface; `None` outside it.
    pub elevation: Option<f64>,
}

/// The profile of a surface along a line, by rising station: the line's own vertices, every edge it crosses, every
/// vertex it passes, and the middle of each stretch without a surface.
#[must_use]
pub fn profile(locator: &Locator, line: &Polyline) -> Vec<ProfilePoint> {
    let own = line.points().iter().zip(line.stations());
    let mut points: Vec<ProfilePoint> =
        own.map(|(&place, &station)| ProfilePoint { station, place, elevation: locator.elevation(place) }).collect();
    for (pair, stations) in line.points().windows(2).zip(line.stations().windows(2)) {
        points.extend(crossings(locator, pair[0], pair[1]).into_iter().map(|(part, place, z)| {
            let station = stations[0] + part * (stations[1] - stations[0]);
            ProfilePoint { station, place, elevation: Some(z) }
        }));
    }
    points.sort_by(|p, q| p.station.total_cmp(&q.station).then(p.elevation.is_none().cmp(&q.elevation.is_none())));
    points.dedup_by(|later, first| later.station == first.station);
    let gaps: Vec<ProfilePoint> = points
        .windows(2)
        .filter_map(|pair| {
            let station = f64::midpoint(pair[0].station, pair[1].station);
            let place = pair[0].place.towards(pair[1].place, 0.5);
            // Pieces shorter than this lie on a vertex; their middle may be just beside a rim.
            let long = pair[1].station - pair[0].station > 1e-6;
            (long && locator.elevation(place).is_none()).then_some(ProfilePoint { station, place, elevation: None })
        })
        .collect();
    points.extend(gaps);
    points.sort_by(|p, q| p.station.total_cmp(&q.station));
    points
}

/// Where a segment meets edges: part along it, place, elevation.
fn crossings(locator: &Locator, from: Point, to: Point) -> Vec<(f64, Point, f64)> {
    let tin = locator.tin();
    let along = to - from;
    let part = |place: Point| (place - from).dot(along) / along.dot(along);
    let mut found = Vec::new();
    for t in locator.near(from, to) {
        let corners = tin.triangles()[t.0 as usize];
        for k in 0..3 {
            // From the lower vertex, so that both sides of an edge compute the same bits; each edge once.
            let (u, v) = (corners[k].min(corners[(k + 1) % 3]), corners[k].max(corners[(k + 1) % 3]));
            let (a, b) = (tin.vertices()[u as usize], tin.vertices()[v as usize]);
            if tin.neighbour(t, k).is_some_and(|across| across < t) {
                continue;
            }
            let (side_a, side_b) = (orient(from, to, a.plan()), orient(from, to, b.plan()));
            for (vertex, side) in [(a, side_a), (b, side_b)] {
                let share = part(vertex.plan());
                if side == Side::On && (0.0..=1.0).contains(&share) {
                    found.push((share, vertex.plan(), vertex.z));
                }
            }
            let apart = side_a != side_b && side_a != Side::On && side_b != Side::On;
            if apart && orient(a.plan(), b.plan(), from) != orient(a.plan(), b.plan(), to) {
                let offset = |p: Point| along.cross(p - from);
                let share = offset(a.plan()) / (offset(a.plan()) - offset(b.plan()));
                let place = a.plan().towards(b.plan(), share.clamp(0.0, 1.0));
                found.push((part(place).clamp(0.0, 1.0), place, a.z + share.clamp(0.0, 1.0) * (b.z - a.z)));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point3;
    use crate::surface::{constrained, triangulate};
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    fn line(points: &[(f64, f64)]) -> Polyline {
        Polyline::new(points.iter().map(|&(x, y)| Point::new(x, y)).collect()).unwrap()
    }

    #[test]
    fn across_a_ridge() {
        let points =
            [(0.0, 0.0, 1.0), (10.0, 0.0, 1.0), (10.0, 10.0, 1.0), (0.0, 10.0, 1.0), (5.0, 0.0, 3.0), (5.0, 10.0, 3.0)]
                .map(|(x, y, z)| Point3::new(x, y, z));
        let tin = constrained(&points, &[[4, 5]]).unwrap();
        let cut = profile(&Locator::new(&tin), &line(&[(-2.0, 4.0), (12.0, 4.0)]));
        let at = |station: f64| cut.iter().find(|p| (p.station - station).abs() < 1e-12).map(|p| p.elevation);
        assert_eq!(at(0.0), Some(None), "before the rim");
        assert_eq!(at(2.0), Some(Some(1.0)), "the rim");
        assert_eq!(at(7.0), Some(Some(3.0)), "the ridge");
        assert_eq!(at(12.0), Some(Some(1.0)), "the other rim");
        assert_eq!(at(13.0), Some(None), "a gap is told");
        assert_eq!(at(14.0), Some(None));
    }

    #[test]
    fn along_an_edge_and_through_vertices() {
        let points = [(0.0, 0.0, 1.0), (10.0, 0.0, 2.0), (10.0, 10.0, 5.0), (0.0, 10.0, 4.0)]
            .map(|(x, y, z)| Point3::new(x, y, z));
        let tin = constrained(&points, &[[0, 2]]).unwrap();
        let cut = profile(&Locator::new(&tin), &line(&[(0.0, 0.0), (10.0, 10.0)]));
        let stations: Vec<(f64, Option<f64>)> = cut.iter().map(|p| (p.station, p.elevation)).collect();
        assert_eq!(stations, [(0.0, Some(1.0)), (200.0_f64.sqrt(), Some(5.0))]);
    }

    #[test]
    fn the_surface_is_straight_between_following_points() {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let mut near = |span: f64| rng.random_range(-span..span);
        let points: Vec<Point3> = (0..800).map(|_| Point3::new(near(50.0), near(50.0), near(2.0))).collect();
        let tin = triangulate(&points, &[]).unwrap().tin;
        let locator = Locator::new(&tin);
        let cut = profile(&locator, &line(&[(-45.0, -20.0), (30.0, 41.0), (38.0, -33.5)]));
        assert!(cut.len() > 80);
        for pair in cut.windows(2) {
            assert!(pair[0].station < pair[1].station);
            let (Some(a), Some(b)) = (pair[0].elevation, pair[1].elevation) else { panic!("inside") };
            let z = locator.elevation(pair[0].place.towards(pair[1].place, 0.3)).unwrap();
            assert!((z - (a + 0.3 * (b - a))).abs() < 1e-8, "{z}");
        }
    }
}
