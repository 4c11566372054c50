//! The site frame and its local frame.

use crate::geom::Point;
use crate::units::LengthUnit;

/// What stands for the height system of a site that names none.
pub const HEIGHT_NOT_SAID: &str = "as the survey gives them";

/// The frame that a site's coordinates stand in.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SiteFrame {
    /// `EPSG:32755` or another definition that PROJ knows, or `local` for a site grid.
    pub crs: String,
    /// Its name for people, such as `WGS 84 / UTM zone 55S`; `site grid` when local.
    pub name: String,
    /// What the elevations are above, in the user's words; [`HEIGHT_NOT_SAID`] when not said.
    pub height: String,
    /// The unit of its coordinates and elevations.
    pub unit: LengthUnit,
    /// Local zero in the frame, metres (easting, northing).
    pub origin: Point,
}

impl SiteFrame {
    /// True for a site grid that is not tied to the earth.
    #[must_use]
    pub fn is_local(&self) -> bool {
        self.crs == "local"
    }

    /// Easting and northing in the frame's own unit.
    #[must_use]
    pub fn to_frame(&self, local: Point) -> (f64, f64) {
        ((local.x + self.origin.x) / self.unit.metres(), (local.y + self.origin.y) / self.unit.metres())
    }

    /// The local place of an easting and northing in the frame's own unit.
    #[must_use]
    pub fn to_local(&self, easting: f64, northing: f64) -> Point {
        Point::new(easting * self.unit.metres() - self.origin.x, northing * self.unit.metres() - self.origin.y)
    }

    /// An elevation in the frame's own unit, from metres.
    #[must_use]
    pub fn elevation_to_frame(&self, metres: f64) -> f64 {
        metres / self.unit.metres()
    }

    /// The origin for coordinates around a place: whole hundreds of metres below it.
    #[must_use]
    pub fn origin_near(easting_m: f64, northing_m: f64) -> Point {
        Point::new((easting_m / 100.0).floor() * 100.0, (northing_m / 100.0).floor() * 100.0)
    }
}
