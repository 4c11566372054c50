//! The site frame and its local frame.

use crate::geom::Point;
use crate::units::LengthUnit;
use std::fmt::Write as _;

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
    /// Grid length over ground length: one where lengths are those of the grid. Local metres are ground metres.
    #[serde(default = "one")]
    pub combined_factor: f64,
}

/// A frame written before it had a factor has none.
const fn one() -> f64 {
    1.0
}

impl SiteFrame {
    /// True for a site grid that is not tied to the earth.
    #[must_use]
    pub fn is_local(&self) -> bool {
        self.crs == "local"
    }

    /// The system of its coordinates, with its code.
    #[must_use]
    pub fn system(&self) -> String {
        if self.is_local() { self.name.clone() } else { format!("{} ({})", self.name, self.crs) }
    }

    /// Frame, height system and unit in one line, as every output says them.
    #[must_use]
    pub fn words(&self) -> String {
        let unit = self.unit.name();
        let mut words = format!("coordinates: {}, {unit}; elevations: {}, {unit}", self.system(), self.height);
        if self.combined_factor.to_bits() != 1.0_f64.to_bits() {
            let _ = write!(
                words,
                "; lengths, areas and volumes are those of the ground, lengths on the grid {:.6} of them",
                self.combined_factor
            );
        }
        words
    }

    /// Easting and northing in the frame's own unit.
    #[must_use]
    pub fn to_frame(&self, local: Point) -> (f64, f64) {
        let grid = self.to_grid_metres(local);
        (grid.x / self.unit.metres(), grid.y / self.unit.metres())
    }

    /// The local place of an easting and northing in the frame's own unit.
    #[must_use]
    pub fn to_local(&self, easting: f64, northing: f64) -> Point {
        self.from_grid_metres(easting * self.unit.metres(), northing * self.unit.metres())
    }

    /// Easting and northing on the grid, metres.
    #[must_use]
    pub fn to_grid_metres(&self, local: Point) -> Point {
        Point::new(local.x * self.combined_factor + self.origin.x, local.y * self.combined_factor + self.origin.y)
    }

    /// The local place of an easting and northing in metres.
    #[must_use]
    pub fn from_grid_metres(&self, easting: f64, northing: f64) -> Point {
        Point::new((easting - self.origin.x) / self.combined_factor, (northing - self.origin.y) / self.combined_factor)
    }

    /// An elevation in the frame's own unit, from metres.
    #[must_use]
    pub fn elevation_to_frame(&self, metres: f64) -> f64 {
        metres / self.unit.metres()
    }

    /// A site grid in metres with its zero at the local zero.
    #[must_use]
    pub fn site_grid() -> Self {
        super::FrameDefinition::local(LengthUnit::Metres).site_frame((0.0, 0.0), None)
    }

    /// The origin for coordinates around a place: whole hundreds of metres below it.
    #[must_use]
    pub fn origin_near(easting_m: f64, northing_m: f64) -> Point {
        Point::new((easting_m / 100.0).floor() * 100.0, (northing_m / 100.0).floor() * 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With a factor of 0.9996 a square of 100 m on the grid is 100.04 m on the ground, and the way back is exact.
    #[test]
    fn local_metres_are_ground_metres() {
        let frame = SiteFrame {
            crs: "EPSG:32755".into(),
            name: "WGS 84 / UTM zone 55S".into(),
            height: "as the survey gives them".into(),
            unit: LengthUnit::Metres,
            origin: SiteFrame::origin_near(412_350.0, 6_187_220.0),
            combined_factor: 0.9996,
        };
        let corners = [frame.to_local(412_350.0, 6_187_220.0), frame.to_local(412_450.0, 6_187_320.0)];
        let side = corners[1].x - corners[0].x;
        assert!((side - 100.0 / 0.9996).abs() < 1e-8, "{side}");
        let (easting, northing) = frame.to_frame(corners[1]);
        assert!((easting - 412_450.0).abs() < 1e-8 && (northing - 6_187_320.0).abs() < 1e-8);
    }

    #[test]
    fn a_frame_written_before_the_factor_reads_back() {
        let text = r#"{"crs":"local","name":"site grid","height":"","unit":"metres","origin":{"x_m":0.0,"y_m":0.0}}"#;
        let frame: SiteFrame = serde_json::from_str(text).unwrap();
        assert_eq!(frame.combined_factor, 1.0);
    }
}
