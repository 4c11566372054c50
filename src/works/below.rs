//! The way that water takes below a sill, a channel or a drain, as works look at it: so far and no farther, in places so near to
//! each other that what it passes is seen.

use crate::geom::{Point, Polyline};
use crate::surface::{Drainage, WayEnd};
use crate::units::Length;

/// No piece of a way is longer than this, metres.
pub(super) const STEP: f64 = 0.5;
/// A hollow up to so deep fills and runs over; in a deeper one the water stands, metres; common practice, no source.
pub(super) const HOLLOW: f64 = 0.3;

/// A way below a place.
#[derive(Debug, Clone)]
pub(super) struct Below {
    /// In plan; `None` where the water stands at once.
    pub path: Option<Polyline>,
    /// Why it ends.
    pub end: WayEnd,
    /// The deepest hollow that it fills on the way: how deep the water stands, and where.
    pub deepest: Option<(Length, Point)>,
}

/// The way down from a place, so many metres of it in plan at most.
pub(super) fn way_below(drainage: &Drainage<'_>, from: Point, metres: f64) -> Below {
    let way = drainage.way_from(from, metres, HOLLOW);
    let path = Polyline::new(way.points.iter().map(|p| p.plan()).collect());
    // Over the ground a way is longer than in plan, and its last piece may reach on.
    let farther = path.as_ref().is_some_and(|path| path.length() > metres);
    let end = if farther { WayEnd::Far } else { way.end };
    let path = path.and_then(|path| path.between(0.0, metres)).map(|path| path.with_steps(STEP));
    let deepest = way.deepest.map(|(deep, place)| (Length::metres(deep), place.plan()));
    Below { path, end, deepest }
}
