//! GeoJSON: points, lines and regions in longitude and latitude (RFC 7946), brought into the site's frame.
//!
//! Files with easting and northing instead are common; they are taken as the site's own coordinates, with a note, when
//! the numbers can be no degrees or when an old-style `crs` member says so. Third numbers are left out with a note: by
//! the standard they are heights above the ellipsoid, and few writers keep to that.

pub(super) mod points;

use super::{ReadError, Shape, placing::Placing};
use crate::frame::{Geographic, SiteFrame};
use crate::geom::{Point, Point3};
use crate::io::Geometry;
use crate::notes::{Note, Noted};
use geojson::{Feature, GeoJson, GeometryValue, Position};
use std::collections::BTreeMap;
use std::path::Path;

const FORMAT: &str = "GeoJSON file";

/// Reads every feature; collections of geometries come apart into single ones.
///
/// # Errors
/// [`ReadError`] with the line and column where the text is no GeoJSON, or why a place cannot be brought into the frame.
pub fn read(path: &Path, frame: &SiteFrame) -> Result<Noted<Vec<Shape>>, ReadError> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|source| ReadError::Open { path: name.clone(), source })?;
    let (features, named) = features_of(&bytes, &name)?;

    let mut notes = Vec::new();
    let placing = placing(&features, named.as_deref(), frame, &name, &mut notes)?;
    let mut reading = Reading { path: &name, placing, shapes: Vec::new(), heights: 0, bare: 0 };
    for feature in &features {
        reading.feature(feature)?;
    }
    let Reading { shapes, heights, bare, .. } = reading;
    if heights > 0 {
        let text = format!("{heights} heights in {name} are left out: elevations come from the ground");
        notes.push(Note::new("geojson::heights-left-out", text));
    }
    if bare > 0 {
        notes.push(Note::new("geojson::no-geometry", format!("{bare} features in {name} have no geometry")));
    }
    Ok(Noted { value: shapes, notes })
}

/// The features of a text, and the system that an old-style `crs` member names.
fn features_of(bytes: &[u8], name: &str) -> Result<(Vec<Feature>, Option<String>), ReadError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: FORMAT });
    }
    let json: serde_json::Value = serde_json::from_slice(bytes).map_err(|why| ReadError::Fault {
        path: name.to_owned(),
        line: why.line() as u64,
        column: why.column() as u64,
        found: why.to_string(),
        accepted: FORMAT.to_owned(),
    })?;
    let named = json["crs"]["properties"]["name"].as_str().map(str::to_owned);
    let features = features(json).map_err(|why| ReadError::Format { path: name.to_owned(), format: FORMAT, why })?;
    Ok((features, named))
}

fn features(json: serde_json::Value) -> Result<Vec<Feature>, String> {
    Ok(match serde_json::from_value::<GeoJson>(json).map_err(|why| why.to_string())? {
        GeoJson::FeatureCollection(collection) => collection.features,
        GeoJson::Feature(feature) => vec![feature],
        GeoJson::Geometry(geometry) => vec![Feature { geometry: Some(geometry), ..Default::default() }],
    })
}

fn placing(
    features: &[Feature],
    named: Option<&str>,
    frame: &SiteFrame,
    name: &str,
    notes: &mut Vec<Note>,
) -> Result<Placing, ReadError> {
    if let Some(named) = named {
        return Placing::named(named, frame, name);
    }
    let geometries = features.iter().filter_map(|feature| feature.geometry.as_ref());
    let degrees = geometries.map(|geometry| &geometry.value).all(|value| {
        let mut all = true;
        each_position(value, &mut |at| {
            let numbers = at.as_slice();
            all &= numbers.len() >= 2 && numbers[0].abs() <= 180.0 && numbers[1].abs() <= 90.0;
        });
        all
    });
    if degrees && !frame.is_local() {
        return Placing::degrees(frame, &Geographic::Wgs84)
            .map_err(|source| ReadError::Frame { path: name.to_owned(), source });
    }
    let why = if frame.is_local() { "the site is a site grid" } else { "they are no degrees" };
    let text = format!("the numbers in {name} are taken as easting and northing of {}: {why}", frame.name);
    notes.push(Note::new("geojson::site-coordinates", text));
    Ok(Placing::site(frame))
}

fn each_position(value: &GeometryValue, visit: &mut dyn FnMut(&Position)) {
    match value {
        GeometryValue::Point { coordinates } => visit(coordinates),
        GeometryValue::MultiPoint { coordinates } | GeometryValue::LineString { coordinates } => {
            coordinates.iter().for_each(visit);
        }
        GeometryValue::MultiLineString { coordinates } | GeometryValue::Polygon { coordinates } => {
            coordinates.iter().flatten().for_each(visit);
        }
        GeometryValue::MultiPolygon { coordinates } => coordinates.iter().flatten().flatten().for_each(visit),
        GeometryValue::GeometryCollection { geometries } => {
            for geometry in geometries {
                each_position(&geometry.value, visit);
            }
        }
    }
}

struct Reading<'a> {
    path: &'a str,
    placing: Placing,
    shapes: Vec<Shape>,
    heights: u64,
    bare: u64,
}

impl Reading<'_> {
    fn feature(&mut self, feature: &Feature) -> Result<(), ReadError> {
        let Some(geometry) = &feature.geometry else {
            self.bare += 1;
            return Ok(());
        };
        let mut attributes: BTreeMap<String, String> = BTreeMap::new();
        for (key, value) in feature.properties.iter().flatten() {
            let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
            attributes.insert(key.clone(), if value.is_null() { String::new() } else { text });
        }
        let layer = attributes.remove("layer").unwrap_or_default();
        self.geometry(&geometry.value, &layer, &attributes)
    }

    fn geometry(
        &mut self,
        value: &GeometryValue,
        layer: &str,
        attributes: &BTreeMap<String, String>,
    ) -> Result<(), ReadError> {
        let mut parts = Vec::new();
        match value {
            GeometryValue::Point { coordinates } => parts.push(Geometry::place(self.place(coordinates)?)),
            GeometryValue::MultiPoint { coordinates } => {
                for position in coordinates {
                    parts.push(Geometry::place(self.place(position)?));
                }
            }
            GeometryValue::LineString { coordinates } => parts.push(self.line(coordinates)?),
            GeometryValue::MultiLineString { coordinates } => {
                for line in coordinates {
                    parts.push(self.line(line)?);
                }
            }
            GeometryValue::Polygon { coordinates } => parts.push(self.polygon(coordinates)?),
            GeometryValue::MultiPolygon { coordinates } => {
                for polygon in coordinates {
                    parts.push(self.polygon(polygon)?);
                }
            }
            GeometryValue::GeometryCollection { geometries } => {
                for geometry in geometries {
                    self.geometry(&geometry.value, layer, attributes)?;
                }
            }
        }
        self.shapes.extend(parts.into_iter().map(|geometry| Shape {
            geometry,
            with_elevation: false,
            layer: layer.to_owned(),
            attributes: attributes.clone(),
        }));
        Ok(())
    }

    fn place(&mut self, position: &Position) -> Result<Point, ReadError> {
        let &[x, y, ref rest @ ..] = position.as_slice() else {
            return Err(self.format(format!("a position of {} numbers, two are needed", position.as_slice().len())));
        };
        self.heights += u64::from(!rest.is_empty());
        self.placing.place(x, y, self.path)
    }

    fn line(&mut self, line: &[Position]) -> Result<Geometry, ReadError> {
        if line.len() < 2 {
            return Err(self.format(format!("a line of {} positions, two are needed", line.len())));
        }
        let points = line.iter().map(|position| self.place(position)).collect::<Result<Vec<_>, _>>()?;
        Ok(Geometry::line(&points))
    }

    fn polygon(&mut self, rings: &[Vec<Position>]) -> Result<Geometry, ReadError> {
        let mut out = Vec::new();
        for ring in rings {
            let mut points: Vec<Point3> = Vec::new();
            for position in ring {
                points.push(self.place(position)?.at(0.0));
            }
            out.push(super::shape::open_ring(points).ok_or_else(|| {
                self.format(format!("a ring of {} positions, four are needed, the last as the first", ring.len()))
            })?);
        }
        if out.is_empty() {
            return Err(self.format("a polygon without a ring".to_owned()));
        }
        Ok(Geometry::Polygon(out))
    }

    fn format(&self, why: String) -> ReadError {
        ReadError::Format { path: self.path.to_owned(), format: FORMAT, why }
    }
}
