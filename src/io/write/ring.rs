//! Rings as the formats want them: closed, outer anticlockwise, holes clockwise.

use crate::geom::{Point, Point3, area_of_ring};

/// The ring with its first place repeated at the end, turned as its part asks.
pub(super) fn closed(ring: &[Point3], anticlockwise: bool) -> Vec<Point3> {
    let plan: Vec<Point> = ring.iter().map(|point| point.plan()).collect();
    let mut turned = ring.to_vec();
    if (area_of_ring(&plan) > 0.0) != anticlockwise {
        turned.reverse();
    }
    turned.extend(turned.first().copied());
    turned
}
