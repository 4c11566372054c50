//! A place, line or region as a map file gives it, in the local frame.

use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::io::Geometry;
use std::collections::BTreeMap;

/// One feature of a map file.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Its geometry in the local frame, metres; elevations are zero without [`Self::with_elevation`].
    pub geometry: Geometry,
    /// True when the file gives elevations.
    pub with_elevation: bool,
    /// Layer or table that it came from; empty when the format has none.
    pub layer: String,
    /// Its attributes as text.
    pub attributes: BTreeMap<String, String>,
}

impl Shape {
    /// As a line in plan; `None` for other geometry, or a line without length.
    #[must_use]
    pub fn as_line(&self) -> Option<Polyline> {
        match &self.geometry {
            Geometry::Line(points) => Polyline::new(points.iter().map(|point| point.plan()).collect()),
            _ => None,
        }
    }

    /// As a region; `None` for other geometry.
    #[must_use]
    pub fn as_polygon(&self) -> Option<Polygon> {
        let Geometry::Polygon(rings) = &self.geometry else { return None };
        let mut rings = rings.iter().map(|ring| ring.iter().map(|point| point.plan()).collect::<Vec<Point>>());
        Some(Polygon { outer: rings.next()?, holes: rings.collect() })
    }
}

/// A ring without its repeated last place; `None` when fewer than three places are left.
pub(super) fn open_ring(mut points: Vec<Point3>) -> Option<Vec<Point3>> {
    if points.len() > 1 && points.first().map(|point| point.plan()) == points.last().map(|point| point.plan()) {
        points.pop();
    }
    (points.len() >= 3).then_some(points)
}
