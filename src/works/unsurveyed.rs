//! Where ground that a work needs is not known, in words and with the place.

use crate::geom::Point;
use crate::ground::Ground;
use crate::surface::Locator;

/// Where the first of some places without ground lies: off the survey, or in a hole of it with its area.
pub(super) fn unsurveyed(ground: &Ground, natural: &Locator<'_>, places: impl IntoIterator<Item = Point>) -> String {
    places
        .into_iter()
        .find(|&place| natural.elevation(place).is_none())
        .map_or_else(|| "off the survey".to_owned(), |place| at(ground, place))
}

/// Where a place without ground lies.
pub(super) fn at(ground: &Ground, place: Point) -> String {
    let (easting, northing) = ground.frame.to_frame(place);
    format!("{} at E {easting:.2} N {northing:.2}", ground.beyond(place))
}
