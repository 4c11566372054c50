//! Heights: ellipsoidal minus geoid, and the inclined plane that ties one height system to another.

use super::{Bringing, bare_frame, projector_of};
use crate::frame::{Ellipsoid, FrameDefinition, Geographic, Geoids, Projector};
use crate::notes::{Note, Place};
use crate::survey::{HeightsAre, PointFile, Position, Settings, SurveyError};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A vertical offset and slope: EPSG method 1046, IOGP 373-7-2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InclinedPlane {
    /// Latitude of the point about which it is given, degrees.
    pub latitude: f64,
    /// Its longitude, degrees.
    pub longitude: f64,
    /// What is added there, metres.
    pub offset: f64,
    /// Tilt along the meridian, radians: what is added for each metre to the north.
    pub slope_latitude: f64,
    /// Tilt along the parallel, radians: what is added for each metre to the east.
    pub slope_longitude: f64,
}

impl InclinedPlane {
    /// What is added to a height at a place, metres; the radii of curvature are those of the point it is given about.
    #[must_use]
    pub fn at(&self, longitude: f64, latitude: f64, ellipsoid: &Ellipsoid) -> f64 {
        let (meridian, across) = ellipsoid.radii(self.latitude.to_radians());
        let north = (latitude - self.latitude).to_radians() * meridian;
        let east = (longitude - self.longitude).to_radians() * across * latitude.to_radians().cos();
        self.offset + self.slope_latitude * north + self.slope_longitude * east
    }
}

/// Corrects the heights of one file.
pub(super) fn correct(
    file: &mut PointFile,
    settings: &Settings,
    definition: &FrameDefinition,
    bringing: &Bringing<'_>,
    notes: &mut Vec<Note>,
) -> Result<(), SurveyError> {
    let place = Place::File { file: file.name.clone(), line: 0, column: 0 };
    let heights = file.records.iter().filter(|record| record.ellipsoid_height.is_some()).count();
    let geoid = bringing.geoid.filter(|_| heights > 0);
    if let (Some(grid), 0) = (bringing.geoid, heights) {
        let text =
            format!("no heights above the ellipsoid in it: its elevations are used as given, not by {}", grid.name());
        notes.push(Note::new("survey::geoid-not-used", text).at(place.clone()));
    }
    if geoid.is_none() && bringing.plane.is_none() {
        return Ok(());
    }
    let Some(ellipsoid) = definition.ellipsoid else {
        return Err(SurveyError::HeightsNeedFrame { file: file.name.clone() });
    };
    let scale = file.unit.unwrap_or(definition.unit).metres();
    let projector = match projector_of(file, settings, definition)? {
        Some(projector) => projector,
        None => Projector::new(&bare_frame(definition), &Geographic::OwnDatum)
            .map_err(|error| SurveyError::Frame(error.to_string()))?,
    };
    let mut least_and_most = (f64::INFINITY, f64::NEG_INFINITY);
    let mut without = 0;
    let mut by: BTreeMap<String, usize> = BTreeMap::new();
    for record in &mut file.records {
        let lonlat = match record.position {
            Position::Geographic { longitude, latitude } => Some((longitude, latitude)),
            Position::Grid { easting, northing } => {
                projector.to_lonlat(crate::geom::Point::new(easting * scale, northing * scale)).ok()
            }
        };
        // A place that the frame cannot take is set aside later, with the frame's own words.
        let Some((longitude, latitude)) = lonlat else {
            // Its height must not stand among those of another system.
            if geoid.is_some() {
                record.elevation = None;
            }
            continue;
        };
        if let Some(grid) = geoid {
            record.elevation =
                if let Some(height) = record.ellipsoid_height {
                    let (geoid, name) = grid.height(longitude, latitude).map_err(|error| {
                        SurveyError::OutsideFrame { file: file.name.clone(), line: record.line, why: error.to_string() }
                    })?;
                    *by.entry(name.to_owned()).or_default() += 1;
                    least_and_most = (least_and_most.0.min(geoid), least_and_most.1.max(geoid));
                    Some(height - geoid / scale)
                } else {
                    without += 1;
                    None
                };
        }
        if let (Some(plane), Some(elevation)) = (&bringing.plane, &mut record.elevation) {
            *elevation += plane.at(longitude, latitude, &ellipsoid) / scale;
        }
    }
    if let Some(grid) = geoid {
        // Replaced: heights no longer stand in for elevations.
        file.heights = HeightsAre::ByGeoid;
        file.notes.retain(|note| note.code != "points::height-as-elevation");
        let (least, most) = least_and_most;
        let mut text = format!(
            "{heights} elevations are ellipsoidal height minus geoid height by {} ({least:.3} to {most:.3} m)",
            grid.name()
        );
        text.push_str(&geoid_parts(&by, grid));
        if without > 0 {
            let _ = write!(text, "; {without} shots without an ellipsoidal height have no elevation in this system");
        }
        notes.push(Note::new("survey::geoid-used", text).at(place.clone()));
    }
    if bringing.plane.is_some() {
        let text = "an inclined plane was added to its elevations, as the pipeline file says";
        notes.push(Note::new("survey::plane-used", text).at(place));
    }
    Ok(())
}

/// Who of several grids gave how many heights: where several did, their models need not agree where one ends and the next begins.
#[must_use]
pub fn geoid_parts(by: &BTreeMap<String, usize>, grids: &Geoids) -> String {
    let names = grids.names();
    if names.len() < 2 {
        return String::new();
    }
    let count = |name: &str| by.get(name).copied().unwrap_or(0);
    let each: Vec<String> = names.iter().map(|name| format!("{} by {name}", count(name))).collect();
    let step = if by.len() < 2 { "" } else { ": where one grid ends and another begins elevations may step" };
    format!("; {}{step}", each.join(", "))
}
