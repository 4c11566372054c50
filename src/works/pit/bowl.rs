//! The bowl over a floor: level inside its outline, rising outside each side at that side's batter.
//!
//! A convex floor has one bowl: a place outside stands on the highest of the planes of its sides (corners are mitred, as the
//! closed forms of excavated ponds have them). A floor with inward corners is parted into convex ones by carrying a side on
//! from each inward corner; the lowest of their bowls is the bowl of the whole. A side that its neighbours outrun ends where
//! they meet. A shelf is a level step of a width in every side at one height.
//!
//! Invariant: every piece is a [`Tin`] on the lattice, watertight, single-valued.

use crate::geom::{Point, Side, Vector, orient, snap_point};
use crate::surface::{Tin, TinError};
use crate::works::mesh::Mesh;

/// Sides whose directions differ by less than this sine run on as one.
const IN_LINE: f64 = 1e-9;

/// A level step in every side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    /// Above the floor, metres.
    pub rise: f64,
    /// Metres.
    pub width: f64,
}

/// A convex floor: corners anticlockwise; side `k` runs from corner `k`, its batter horizontal for one vertical.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    pub corners: Vec<Point>,
    pub batters: Vec<f64>,
}

impl Piece {
    /// A place inside.
    pub(super) fn middle(&self) -> Point {
        let sum = self.corners.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.x, sum.1 + p.y));
        let count = self.corners.len() as f64;
        Point::new(sum.0 / count, sum.1 / count)
    }
}

/// Parts an anticlockwise outline that does not cross itself into convex floors.
pub(super) fn pieces(corners: Vec<Point>, batters: Vec<f64>) -> Vec<Piece> {
    let mut convex = Vec::new();
    let mut waiting = vec![Piece { corners, batters }];
    while let Some(piece) = waiting.pop() {
        match inward(&piece).and_then(|corner| parted(&piece, corner)) {
            Some(parts) => waiting.extend(parts),
            None => convex.push(piece),
        }
    }
    convex
}

/// The first inward corner.
fn inward(piece: &Piece) -> Option<usize> {
    let count = piece.corners.len();
    (0..count).find(|&i| {
        let [before, here, after] = [i + count - 1, i, i + 1].map(|k| piece.corners[k % count]);
        orient(before, here, after) == Side::Right
    })
}

/// Carries the side before an inward corner on to the next side that it meets.
fn parted(piece: &Piece, corner: usize) -> Option<[Piece; 2]> {
    let (corners, batters) = (&piece.corners, &piece.batters);
    let count = corners.len();
    let at = |k: usize| corners[k % count];
    let before = (corner + count - 1) % count;
    let (from, along) = (at(corner), at(corner) - at(before));
    // How far along the ray each other side is met.
    let met = (0..count)
        .filter(|&k| k != corner && k != before)
        .filter_map(|k| {
            let side = at(k + 1) - at(k);
            let across = along.cross(side);
            let (far, part) = ((at(k) - from).cross(side) / across, (at(k) - from).cross(along) / across);
            (across.abs() > 0.0 && far > 1e-12 && (-1e-12..=1.0 + 1e-12).contains(&part)).then_some((far, k))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let (far, side) = met;
    let hit = snap_point(from + along * far);
    let walk = |start: usize, end: usize| {
        let steps = (end + count - start) % count;
        (0..=steps).map(move |i| (start + i) % count)
    };
    // One part keeps the side that was carried on, the other the corner.
    let mut kept: Vec<(Point, f64)> = vec![(at(before), batters[before]), (hit, batters[side])];
    kept.extend(walk((side + 1) % count, (before + count - 1) % count).map(|k| (at(k), batters[k])));
    let mut left: Vec<(Point, f64)> = walk(corner, side).map(|k| (at(k), batters[k])).collect();
    left.push((hit, batters[before]));
    if (side + 1) % count == before {
        kept.truncate(2);
    }
    let piece = |mut list: Vec<(Point, f64)>| {
        // A corner that was hit stands twice: its second side counts.
        let mut i = 0;
        while list.len() > 1 && i < list.len() {
            let next = (i + 1) % list.len();
            if list[i].0.distance(list[next].0) < 1e-5 {
                let _ = list.remove(i);
            } else {
                i += 1;
            }
        }
        let (corners, batters) = list.into_iter().unzip();
        Piece { corners, batters }
    };
    let parts = [piece(kept), piece(left)];
    parts.iter().all(|part| part.corners.len() >= 3).then_some(parts)
}

/// The bowl of a convex floor up to a height above it.
pub(super) fn bowl(piece: &Piece, floor: f64, step: Option<Step>, height: f64) -> Result<Tin, TinError> {
    let mut mesh = Mesh::default();
    let mut ring = Ring::new(&mut mesh, piece, floor);
    for k in 1..ring.ids.len() - 1 {
        mesh.triangle(ring.ids[0], ring.ids[k], ring.ids[k + 1]);
    }
    match step {
        None => ring.rise(&mut mesh, height),
        Some(step) => {
            ring.rise(&mut mesh, step.rise);
            ring.widen(&mut mesh, step.width);
            ring.rise(&mut mesh, height - step.rise);
        }
    }
    mesh.finish()
}

/// The outline at the level reached so far.
struct Ring {
    corners: Vec<Point>,
    ids: Vec<u32>,
    batters: Vec<f64>,
    level: f64,
}

impl Ring {
    fn new(mesh: &mut Mesh, piece: &Piece, level: f64) -> Self {
        let corners = piece.corners.clone();
        let ids = corners.iter().map(|&corner| mesh.vertex(corner, level)).collect();
        Self { corners, ids, batters: piece.batters.clone(), level }
    }

    fn rise(&mut self, mesh: &mut Mesh, height: f64) {
        let mut left = height;
        while left > 0.0 {
            let speeds = self.batters.clone();
            let taken = self.out(mesh, &speeds, left, 1.0);
            left -= taken;
        }
    }

    fn widen(&mut self, mesh: &mut Mesh, width: f64) {
        let mut left = width;
        while left > 0.0 {
            let speeds = vec![1.0; self.batters.len()];
            let taken = self.out(mesh, &speeds, left, 0.0);
            left -= taken;
        }
    }

    /// Moves every side outwards at its speed, as far as `most` or until one of them has no length left; gives how far.
    fn out(&mut self, mesh: &mut Mesh, speeds: &[f64], most: f64, climb: f64) -> f64 {
        let count = self.corners.len();
        let along: Vec<Vector> = (0..count).map(|k| (self.corners[(k + 1) % count] - self.corners[k]).unit()).collect();
        let moves: Vec<Vector> = (0..count)
            .map(|k| {
                let before = (k + count - 1) % count;
                corner_move((along[before], speeds[before]), (along[k], speeds[k]))
            })
            .collect();
        let ending = (0..count)
            .filter_map(|k| {
                let next = (k + 1) % count;
                let growth = (moves[next] - moves[k]).dot(along[k]);
                (growth < -1e-12).then(|| (self.corners[k].distance(self.corners[next]) / -growth, k))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|&(when, _)| when < most && count > 3);
        let far = ending.map_or(most, |(when, _)| when);
        self.level += climb * far;
        let corners: Vec<Point> = self.corners.iter().zip(&moves).map(|(&p, &m)| p + m * far).collect();
        let mut ids: Vec<u32> = corners.iter().map(|&corner| mesh.vertex(corner, self.level)).collect();
        if let Some((_, side)) = ending {
            ids[(side + 1) % count] = ids[side];
        }
        for k in 0..count {
            let next = (k + 1) % count;
            mesh.quad(self.ids[k], ids[k], ids[next], self.ids[next]);
        }
        (self.corners, self.ids) = (corners, ids);
        if let Some((_, side)) = ending {
            // The corner after the side that ended is the one before it now; the side after it starts there.
            let gone = (side + 1) % count;
            self.batters[side] = self.batters[gone];
            self.corners.remove(gone);
            self.ids.remove(gone);
            self.batters.remove(gone);
        }
        far
    }
}

/// How a corner moves while the sides before and after it move outwards (to their right) at their speeds.
fn corner_move((before, fast): (Vector, f64), (after, slow): (Vector, f64)) -> Vector {
    let (one, two) = (before.left() * -1.0, after.left() * -1.0);
    let turn = one.cross(two);
    if turn.abs() < IN_LINE {
        return one * fast;
    }
    Vector::new((fast * two.y - slow * one.y) / turn, (slow * one.x - fast * two.x) / turn)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::area_of_ring;
    use crate::surface::below;

    fn places(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn an_l_is_parted_into_two_and_keeps_its_area() {
        let ring = places(&[(0.0, 0.0), (20.0, 0.0), (20.0, 8.0), (8.0, 8.0), (8.0, 20.0), (0.0, 20.0)]);
        let parts = pieces(ring.clone(), vec![2.0; 6]);
        assert_eq!(parts.len(), 2, "{parts:?}");
        let area: f64 = parts.iter().map(|part| area_of_ring(&part.corners)).sum();
        assert!((area - area_of_ring(&ring)).abs() < 1e-9, "{area}");
        assert!(parts.iter().all(|part| inward(part).is_none() && part.corners.len() == part.batters.len()));
    }

    #[test]
    fn a_star_and_a_comb_are_parted() {
        let star: Vec<Point> = (0..14)
            .map(|i| {
                let (r, a) = (if i % 2 == 0 { 20.0 } else { 9.0 }, f64::from(i) * std::f64::consts::PI / 7.0);
                snap_point(Point::new(r * a.cos(), r * a.sin()))
            })
            .collect();
        let comb = places(&[
            (0.0, 0.0),
            (50.0, 0.0),
            (50.0, 20.0),
            (40.0, 20.0),
            (40.0, 5.0),
            (30.0, 5.0),
            (30.0, 20.0),
            (20.0, 20.0),
            (20.0, 5.0),
            (10.0, 5.0),
            (10.0, 20.0),
            (0.0, 20.0),
        ]);
        for ring in [star, comb] {
            let parts = pieces(ring.clone(), vec![2.0; ring.len()]);
            let area: f64 = parts.iter().map(|part| area_of_ring(&part.corners)).sum();
            assert!((area - area_of_ring(&ring)).abs() < 1e-3, "{area} {}", area_of_ring(&ring));
            assert!(parts.iter().all(|part| inward(part).is_none()));
        }
    }

    #[test]
    fn a_rectangle_holds_its_frustum_with_and_without_a_shelf() {
        let piece =
            Piece { corners: places(&[(0.0, 0.0), (20.0, 0.0), (20.0, 12.0), (0.0, 12.0)]), batters: vec![3.0; 4] };
        let volume = below(&bowl(&piece, 0.0, None, 2.5).unwrap(), 2.5).volume;
        assert!((volume - 1387.5).abs() < 1e-9, "{volume}");
        // A shelf 2 m wide 1 m above the floor: a frustum below it, another on the wider ground above it.
        let frustum = |a: f64, b: f64, d: f64| d * (a * b + (a + b) * 3.0 * d + 4.0 / 3.0 * 9.0 * d * d);
        let with = below(&bowl(&piece, 0.0, Some(Step { rise: 1.0, width: 2.0 }), 2.5).unwrap(), 2.5).volume;
        let exact = frustum(20.0, 12.0, 1.0) + frustum(30.0, 22.0, 1.5);
        assert!((with - exact).abs() < 1e-9, "{with} {exact}");
    }

    #[test]
    fn a_side_that_its_neighbours_outrun_ends() {
        // A corner cut off by a short flat side between two steep ones: they meet beyond it, 0.15 m up.
        let corners = places(&[(0.0, 0.0), (20.0, 0.0), (21.0, 1.0), (21.0, 12.0), (0.0, 12.0)]);
        let piece = Piece { corners, batters: vec![1.0, 6.0, 1.0, 2.0, 2.0] };
        let tin = bowl(&piece, 0.0, None, 3.0).unwrap();
        // Each place stands on the highest plane of the sides.
        let locator = crate::surface::Locator::new(&tin);
        for (x, y) in [(22.5, -1.5), (21.2, -0.2), (20.6, 0.4), (10.0, 14.0), (22.0, 5.0), (23.5, -2.0)] {
            let place = Point::new(x, y);
            let planes = (0..5).map(|k| {
                let (a, b) = (piece.corners[k], piece.corners[(k + 1) % 5]);
                (place - a).dot((b - a).unit().left() * -1.0) / piece.batters[k]
            });
            let exact = planes.fold(0.0, f64::max);
            let found = locator.elevation(place).unwrap();
            assert!((found - exact).abs() < 1e-5, "{x} {y}: {found} {exact}");
        }
    }
}
