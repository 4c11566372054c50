//! Where the ground between shots could hide more than a tolerance, and where to shoot more.
//!
//! The standard error of the ground is asked for in the middle of every triangle: shots far apart on curved or rough
//! ground leave it large, close ones or smooth ground small. A place is in doubt when 1.96 of it exceed the tolerance.

use super::Ground;
use crate::geom::{Point, Point3};
use crate::surface::TriangleId;
use crate::survey::{Settings, Survey};

/// Triangles beyond which nobody asks: a shot list has thousands, a cloud millions and no need of it.
const MOST: usize = 20_000;

/// A triangle whose middle is not known to the tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Which.
    pub triangle: TriangleId,
    /// Its middle, metres.
    pub middle: Point,
    /// Half the width of the 95 % interval of the ground there, metres.
    pub hides: f64,
}

/// The triangles in doubt, largest first; `None` when the ground is too large to ask, or made of a cloud.
#[must_use]
pub fn doubts(ground: &Ground, survey: &Survey, settings: &Settings, tolerance: f64) -> Option<Vec<Doubt>> {
    if ground.tin.triangles().len() > MOST || !survey.cloud.is_empty() {
        return None;
    }
    let middles: Vec<(TriangleId, Point)> = ground
        .tin
        .ids()
        .map(|id| {
            let [a, b, c] = ground.tin.corners(id).map(Point3::plan);
            (id, Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0))
        })
        .collect();
    let places: Vec<Point> = middles.iter().map(|(_, place)| *place).collect();
    let errors = survey.standard_errors(settings, &places);
    let mut found: Vec<Doubt> = middles
        .into_iter()
        .zip(errors)
        .filter_map(|((triangle, middle), error)| Some(Doubt { triangle, middle, hides: 1.96 * error? }))
        .filter(|doubt| doubt.hides > tolerance)
        .collect();
    found.sort_by(|a, b| b.hides.total_cmp(&a.hides).then(a.triangle.0.cmp(&b.triangle.0)));
    Some(found)
}

/// Where to shoot: the middles of the worst triangles, none within half the spacing of a worse one.
#[must_use]
pub fn shoot_here(doubts: &[Doubt], spacing: f64) -> Vec<Doubt> {
    let mut chosen: Vec<Doubt> = Vec::new();
    for doubt in doubts {
        if chosen.iter().all(|other| other.middle.distance(doubt.middle) > spacing / 2.0) {
            chosen.push(*doubt);
        }
    }
    chosen
}
