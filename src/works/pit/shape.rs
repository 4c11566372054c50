//! The outline of a floor as it can be dug, and the ground under it.

use super::PitWanted;
use crate::geom::{Point, Polygon, Polyline, Side, area_of_ring, orient, segments_cross, snap_point};
use crate::surface::{Locator, Tin, holes, profile};
use crate::works::WorksError;
use crate::works::work::Subject;
use geo::{Coord, InteriorPoint, LineString};

/// The least floor, square metres: a bucket's width square.
const LEAST_FLOOR: f64 = 1.0;
/// Corners nearer to each other than this are one, metres.
const SAME: f64 = 0.01;

/// An anticlockwise outline with the batter of each side.
pub(super) struct Outline {
    pub corners: Vec<Point>,
    pub batters: Vec<f64>,
    /// For each side of the outline as asked for, its number here.
    pub side_of: Vec<usize>,
}

/// The outline asked for, anticlockwise, without corners that are none.
pub(super) fn outline(wanted: &PitWanted) -> Result<Outline, WorksError> {
    let bad = |why: String| WorksError::BadFloor { works: Subject::new(wanted.kind(), &wanted.name), why };
    let count = wanted.floor.len();
    if wanted.batters.len() != 1 && wanted.batters.len() != count {
        return Err(bad(format!(
            "has {count} sides, and {} batters were given: give one, or one a side",
            wanted.batters.len()
        )));
    }
    let batter = |k: usize| wanted.batters[if wanted.batters.len() == 1 { 0 } else { k }].in_horizontal_per_vertical();
    // Side, its first corner and its batter, in the order asked for.
    let mut sides: Vec<(usize, Point, f64)> = (0..count).map(|k| (k, snap_point(wanted.floor[k]), batter(k))).collect();
    if area_of_ring(&wanted.floor) < 0.0 {
        // Turned round, a side begins at what was its end.
        sides = (0..count).rev().map(|k| (k, snap_point(wanted.floor[(k + 1) % count]), batter(k))).collect();
    }
    sides.dedup_by(|b, a| a.1.distance(b.1) < SAME);
    while sides.len() > 1 && sides[0].1.distance(sides[sides.len() - 1].1) < SAME {
        sides.pop();
    }
    // A corner on a straight side is none, where its two sides are dug alike.
    let mut k = 0;
    while sides.len() > 3 && k < sides.len() {
        let n = sides.len();
        let [a, b, c] = [k + n - 1, k, k + 1].map(|i| sides[i % n]);
        if orient(a.1, b.1, c.1) == Side::On {
            if (a.2 - b.2).abs() > 1e-12 {
                return Err(bad(format!(
                    "runs straight on from side {} to side {}, which have two batters",
                    a.0 + 1,
                    b.0 + 1
                )));
            }
            sides.remove(k);
        } else {
            k += 1;
        }
    }
    let corners: Vec<Point> = sides.iter().map(|side| side.1).collect();
    let n = corners.len();
    if n < 3 || area_of_ring(&corners) < LEAST_FLOOR {
        return Err(bad(format!(
            "encloses {:.2} m2: at least {LEAST_FLOOR} m2 is wanted",
            area_of_ring(&corners).max(0.0)
        )));
    }
    for i in 0..n {
        for j in i + 2..n {
            let neighbours = i == 0 && j == n - 1;
            if !neighbours && segments_cross(corners[i], corners[i + 1], corners[j], corners[(j + 1) % n]) {
                return Err(bad(format!("crosses itself: side {} and side {}", sides[i].0 + 1, sides[j].0 + 1)));
            }
        }
    }
    let side_of = (0..count).map(|asked| sides.iter().position(|side| side.0 == asked).unwrap_or(0)).collect();
    Ok(Outline { corners, batters: sides.iter().map(|side| side.2).collect(), side_of })
}

/// Lowest and highest ground inside an outline, each with its place; else a place inside it without ground, on its rim or in a
/// hole of the surface that lies wholly inside.
pub(super) fn ground_under(
    surface: &Tin,
    locator: &Locator<'_>,
    floor: &Polygon,
) -> Result<[(f64, Point); 2], Option<Point>> {
    let closed = Polyline::new(floor.outer.iter().chain(floor.outer.first()).copied().collect()).ok_or(None)?;
    let bare = |places: &[Point]| places.iter().copied().find(|&p| locator.elevation(p).is_none());
    let rim = profile(locator, &closed);
    let mut found: Vec<(f64, Point)> = rim
        .iter()
        .map(|p| Some((p.elevation?, p.place)))
        .collect::<Option<_>>()
        .ok_or_else(|| bare(closed.with_steps(0.25).points()))?;
    if let Some(hole) = holes(surface).iter().find(|hole| hole.ring.iter().any(|&p| floor.contains(p))) {
        return Err(inside(&hole.ring));
    }
    found.extend(surface.vertices().iter().filter(|v| floor.contains(v.plan())).map(|v| (v.z, v.plan())));
    let low = found.iter().copied().min_by(|a, b| a.0.total_cmp(&b.0)).ok_or(None)?;
    let high = found.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0)).ok_or(None)?;
    Ok([low, high])
}

/// A place inside a ring.
fn inside(ring: &[Point]) -> Option<Point> {
    let ring = ring.iter().map(|p| Coord { x: p.x, y: p.y }).collect::<LineString<f64>>();
    geo::Polygon::new(ring, Vec::new()).interior_point().map(|p| Point::new(p.x(), p.y()))
}

/// A closed line on a ring with its right-hand side inside, beginning nearest to a place.
pub(super) fn clockwise_from(ring: &[Point], place: Point) -> Option<Polyline> {
    let mut ring = ring.to_vec();
    if area_of_ring(&ring) > 0.0 {
        ring.reverse();
    }
    let nearest = (0..ring.len()).min_by(|&i, &j| ring[i].distance(place).total_cmp(&ring[j].distance(place)))?;
    ring.rotate_left(nearest);
    ring.extend(ring.first().copied());
    Polyline::new(ring)
}
