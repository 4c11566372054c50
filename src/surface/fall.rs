//! A line of constant fall over a surface: the way on which the ground falls at one grade, exact on the triangles.
//!
//! On a triangle steeper than the grade two directions fall at it, one with the higher ground on the left and one with it on the
//! right; the line keeps to its side, so it is straight across a triangle and turns at edges, and with no grade at all it is the
//! contour. On a triangle no steeper than the grade the steepest way down is as near as the ground comes: the line takes that, and
//! the stretch is told. Where both triangles of an edge lead into it the line runs along the edge, at the edge's own fall, which is
//! told where it is another.

use super::drainage::Drainage;
use super::tin::TriangleId;
use crate::geom::{Point, Point3, Vector};

/// A place nearer to a corner than this is the corner, metres.
const AT_CORNER: f64 = 1e-7;
/// A fall off the one asked for by less is that one.
const SAME: f64 = 1e-9;

/// Where a line of constant fall ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FallEnd {
    /// It is as long as asked for.
    Length,
    /// At the rim of the surface.
    Rim,
    /// Where the ground leads no farther: level ground, or the bottom of a hollow.
    Stuck,
}

/// A line of constant fall.
#[derive(Debug, Clone, PartialEq)]
pub struct FallPath {
    /// Its places on the surface, each straight from the one before.
    pub points: Vec<Point3>,
    /// For each piece, its fall, where it is not the one asked for.
    pub other_falls: Vec<Option<f64>>,
    /// Why it ends there.
    pub end: FallEnd,
}

/// Where the line stands while it is followed.
enum At {
    /// On its way through a triangle.
    Inside(TriangleId),
    /// At a corner, with the direction in which it came.
    Corner(u32, Vector),
}

/// What is followed.
#[derive(Clone, Copy)]
struct Asked {
    fall: f64,
    uphill_on_left: bool,
}

impl Drainage<'_> {
    /// The line that falls at `fall` (a share, zero or more) from a place, with the higher ground on one side, for so many metres in
    /// plan; `None` for a place off the surface or on level ground.
    #[must_use]
    pub fn fall_path(&self, from: Point, fall: f64, uphill_on_left: bool, metres: f64) -> Option<FallPath> {
        let asked = Asked { fall, uphill_on_left };
        let first = self.locator.find(from)?;
        self.heading(first, asked)?;
        let mut path =
            Path { points: vec![from.at(self.locator.elevation(from)?)], other_falls: Vec::new(), left: metres, fall };
        let mut at = At::Inside(first);
        let tin = self.tin();
        // It never comes back to where it was while it falls; the count guards a level line on a flat and what rounding might do.
        for _ in 0..8 * tin.triangles().len() {
            let next = match at {
                At::Inside(t) => self.through(t, asked, &mut path),
                At::Corner(v, came) => self.at_corner(v, came, asked, &mut path),
            };
            match next {
                Ok(on) => at = on,
                Err(end) => return Some(path.ended(end)),
            }
        }
        Some(path.ended(FallEnd::Stuck))
    }

    /// The direction on a triangle and its fall there; `None` on level ground.
    fn heading(&self, t: TriangleId, asked: Asked) -> Option<(Vector, f64)> {
        let up = self.gradients[t.0 as usize];
        let slope = up.length();
        if slope == 0.0 {
            return None;
        }
        let up = up.unit();
        if slope <= asked.fall {
            return Some((up * -1.0, slope));
        }
        let down = asked.fall / slope;
        let along = if asked.uphill_on_left { up.left() * -1.0 } else { up.left() };
        Some((along * (1.0 - down * down).sqrt() - up * down, asked.fall))
    }

    /// Across a triangle to its far edge, and into the next.
    fn through(&self, t: TriangleId, asked: Asked, path: &mut Path) -> Result<At, FallEnd> {
        let (way, fall) = self.heading(t, asked).ok_or(FallEnd::Stuck)?;
        let from = path.last().plan();
        let out = (0..3).filter_map(|k| {
            let [p, q] = self.edge(t, k);
            let edge = q - p;
            let speed = way.cross(edge);
            // Edges over which it leaves; one that it stands on is behind it.
            (speed > 0.0).then(|| ((p - from).cross(edge) / speed, k))
        });
        let (distance, k) =
            out.filter(|(d, _)| *d > -AT_CORNER).min_by(|a, b| a.0.total_cmp(&b.0)).ok_or(FallEnd::Stuck)?;
        let distance = distance.max(0.0);
        path.go(way, distance, fall)?;
        let here = path.last().plan();
        let ends = [self.corner(t, k), self.corner(t, k + 1)];
        let place = |v: u32| self.tin().vertices()[v as usize];
        if let Some(&corner) = ends.iter().find(|&&v| place(v).plan().distance(here) < AT_CORNER) {
            return Ok(At::Corner(corner, way));
        }
        let (beyond, back) = self.across(t, k).ok_or(FallEnd::Rim)?;
        let (next, _) = self.heading(beyond, asked).ok_or(FallEnd::Stuck)?;
        let [p, q] = self.edge(beyond, back);
        if next.cross(q - p) < 0.0 {
            return Ok(At::Inside(beyond));
        }
        // Both lead into the edge: along it, the way that they lead together.
        let along = way + next;
        let ahead = |v: u32| along.dot(place(v).plan() - here);
        let to = if ahead(ends[0]) > ahead(ends[1]) { ends[0] } else { ends[1] };
        self.along(to, path)
    }

    /// From a corner: into the triangle that leads on, else along an edge that both its triangles lead into.
    fn at_corner(&self, v: u32, came: Vector, asked: Asked, path: &mut Path) -> Result<At, FallEnd> {
        let place = |v: u32| self.tin().vertices()[v as usize].plan();
        let inside = self.around(v).iter().filter_map(|&(t, k)| {
            let (way, _) = self.heading(t, asked)?;
            let (first, second) = (place(self.corner(t, k + 1)) - place(v), place(self.corner(t, k + 2)) - place(v));
            (first.cross(way) >= 0.0 && way.cross(second) > 0.0).then(|| (way.dot(came), t))
        });
        if let Some((_, t)) = inside.max_by(|a, b| a.0.total_cmp(&b.0)) {
            return Ok(At::Inside(t));
        }
        let edges = self.around(v).iter().filter_map(|&(t, k)| {
            let (other, _) = self.across(t, k)?;
            let edge = place(self.corner(t, k + 1)) - place(v);
            let (own, beyond) = (self.heading(t, asked)?.0, self.heading(other, asked)?.0);
            // The triangle lies left of the edge, so it leads into it by turning right.
            let into = edge.cross(own) <= 0.0 && edge.cross(beyond) >= 0.0 && edge.dot(own + beyond) > 0.0;
            into.then(|| (edge.unit().dot(came), self.corner(t, k + 1)))
        });
        let (_, to) = edges.max_by(|a, b| a.0.total_cmp(&b.0)).ok_or_else(|| {
            let at_rim =
                self.around(v).iter().any(|&(t, k)| [k, k + 2].into_iter().any(|k| self.across(t, k % 3).is_none()));
            if at_rim { FallEnd::Rim } else { FallEnd::Stuck }
        })?;
        self.along(to, path)
    }

    /// Straight to a corner along an edge, at the edge's own fall.
    fn along(&self, to: u32, path: &mut Path) -> Result<At, FallEnd> {
        let (here, there) = (path.last(), self.tin().vertices()[to as usize]);
        let way = there.plan() - here.plan();
        let length = way.length();
        if length > 0.0 {
            path.go(way.unit(), length, (here.z - there.z) / length)?;
        }
        Ok(At::Corner(to, if length > 0.0 { way.unit() } else { way }))
    }
}

/// The line as far as it is followed.
struct Path {
    points: Vec<Point3>,
    other_falls: Vec<Option<f64>>,
    left: f64,
    fall: f64,
}

impl Path {
    fn last(&self) -> Point3 {
        self.points[self.points.len() - 1]
    }

    /// Goes on straight, as far as the length allows.
    fn go(&mut self, way: Vector, distance: f64, fall: f64) -> Result<(), FallEnd> {
        let run = distance.min(self.left);
        if run > 0.0 {
            let here = self.last();
            self.points.push((here.plan() + way * run).at(here.z - fall * run));
            self.other_falls.push(((fall - self.fall).abs() > SAME).then_some(fall));
            self.left -= run;
        }
        if distance >= self.left + run { Err(FallEnd::Length) } else { Ok(()) }
    }

    fn ended(self, end: FallEnd) -> FallPath {
        FallPath { points: self.points, other_falls: self.other_falls, end }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::{Locator, Tin, contour, triangulate};

    /// Ground over 200 m by 120 m, a vertex every so many metres, nudged.
    fn ground(spacing: f64, height: impl Fn(f64, f64) -> f64) -> Tin {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps")]
        let count = |length: f64| (length / spacing).round() as u32;
        let mut points = Vec::new();
        for j in 0..=count(120.0) {
            for i in 0..=count(200.0) {
                let nudge = if i > 0 && i < count(200.0) && j > 0 && j < count(120.0) { 0.13 } else { 0.0 };
                let x = f64::from(i) * spacing + nudge * f64::from((i * 7 + j * 3) % 5);
                let place = crate::geom::snap_point(Point::new(x, f64::from(j) * spacing));
                points.push(place.at(height(place.x, place.y)));
            }
        }
        triangulate(&points, &[]).unwrap().tin
    }

    /// On a plane it is straight, at asin(grade / slope) below the contour, on the side asked for.
    #[test]
    fn on_a_plane_it_is_straight_at_the_angle_of_grade_over_slope() {
        let tin = ground(5.0, |_, y| 430.0 + 0.04 * y);
        let locator = Locator::new(&tin);
        let drainage = Drainage::new(&locator);
        let from = Point::new(100.0, 60.0);
        for (fall, left) in [(0.005, true), (0.005, false), (0.02, true), (0.0, false), (0.03, true)] {
            let path = drainage.fall_path(from, fall, left, 70.0).unwrap();
            let angle: f64 = (fall / 0.04_f64).asin();
            let east = if left { 1.0 } else { -1.0 };
            let mut run = 0.0;
            for pair in path.points.windows(2) {
                run += pair[0].plan().distance(pair[1].plan());
                let expected = from + Vector::new(east * angle.cos(), -angle.sin()) * run;
                assert!(pair[1].plan().distance(expected) < 1e-7, "{fall} {left}: {:?} {expected:?}", pair[1]);
                assert!((pair[1].z - (432.4 - fall * run)).abs() < 1e-9);
            }
            assert!((run - 70.0).abs() < 1e-9 && path.end == FallEnd::Length, "{fall}: {run} {:?}", path.end);
            assert!(path.other_falls.iter().all(Option::is_none));
        }
    }

    /// Round a cone of slope m it keeps the angle psi with sin psi = grade / m to the contour: r = r0 exp(theta tan psi), and
    /// after s metres r = r0 + s sin psi.
    #[test]
    fn round_a_cone_it_is_a_logarithmic_spiral() {
        let (slope, fall) = (0.08, 0.02);
        let tin = ground(1.0, |x, y| 440.0 - slope * (x - 100.0).hypot(y - 60.0));
        let locator = Locator::new(&tin);
        let path = Drainage::new(&locator).fall_path(Point::new(120.0, 60.0), fall, true, 100.0).unwrap();
        let psi: f64 = (fall / slope).asin();
        let (mut turned, mut run, mut worst) = (0.0, 0.0, 0.0_f64);
        let middle = Point::new(100.0, 60.0);
        for pair in path.points.windows(2) {
            let (a, b) = (pair[0].plan() - middle, pair[1].plan() - middle);
            turned += a.cross(b).atan2(a.dot(b)).abs();
            run += pair[0].plan().distance(pair[1].plan());
            worst = worst.max((b.length() - 20.0 * (turned * psi.tan()).exp()).abs());
            worst = worst.max((b.length() - (20.0 + run * psi.sin())).abs());
        }
        assert_eq!(path.end, FallEnd::Length);
        assert!(turned > 2.0, "{turned}");
        // The chords of a mesh of 1 m on a curve of 20 m and more.
        assert!(worst < 0.15, "{worst}");
    }

    /// Without a grade it is the contour, across valleys and ridges.
    #[test]
    fn without_a_fall_it_is_the_contour() {
        let tin = ground(4.0, |x, y| 430.0 + 0.04 * y + 0.8 * (x / 17.0).sin() * (y / 31.0).cos());
        let locator = Locator::new(&tin);
        let lines = contour(&tin, 432.4);
        let line = lines.iter().max_by_key(|line| line.points.len()).unwrap();
        let start = line.points[0].towards(line.points[1], 0.5);
        let path = Drainage::new(&locator).fall_path(start, 0.0, true, f64::INFINITY).unwrap();
        assert_eq!(path.end, FallEnd::Rim);
        assert_eq!(path.points.len(), line.points.len());
        for (found, expected) in path.points.iter().zip(&line.points).skip(1) {
            assert!(found.plan().distance(*expected) < 1e-6, "{found:?} {expected:?}");
        }
    }

    /// On ground no steeper than the grade it takes the steepest way down, and says with what fall.
    #[test]
    fn flatter_ground_is_told_and_every_place_lies_on_the_surface() {
        let tin = ground(4.0, |x, y| {
            let step = ((x - 100.0) / 20.0).clamp(0.0, 1.0);
            430.0 + 0.05 * y * (1.0 - step) + (0.004 * y - 0.1) * step + 0.3 * (x / 23.0).sin()
        });
        let locator = Locator::new(&tin);
        let path = Drainage::new(&locator).fall_path(Point::new(5.0, 90.0), 0.01, true, f64::INFINITY).unwrap();
        for (pair, other) in path.points.windows(2).zip(&path.other_falls) {
            let length = pair[0].plan().distance(pair[1].plan());
            let fall = (pair[0].z - pair[1].z) / length.max(1e-12);
            if length > 1e-3 {
                assert!((fall - other.unwrap_or(0.01)).abs() < 1e-6, "{fall} {other:?}");
            }
            let middle = pair[0].plan().towards(pair[1].plan(), 0.5);
            let on = locator.elevation(middle).unwrap();
            assert!((on - f64::midpoint(pair[0].z, pair[1].z)).abs() < 1e-6, "{on} {pair:?}");
        }
    }

    #[test]
    fn level_ground_and_places_off_it_have_no_line() {
        let tin = ground(20.0, |_, _| 430.0);
        let locator = Locator::new(&tin);
        let drainage = Drainage::new(&locator);
        assert!(drainage.fall_path(Point::new(50.0, 50.0), 0.01, true, 10.0).is_none());
        assert!(drainage.fall_path(Point::new(500.0, 50.0), 0.01, true, 10.0).is_none());
    }
}
