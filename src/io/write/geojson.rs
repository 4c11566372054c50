//! GeoJSON (RFC 7946): WGS 84 longitude and latitude, nine decimals (0.1 mm), one feature a line.
//!
//! The third number of a position would mean metres above the ellipsoid, which a survey's elevations are not, so there
//! is none: elevations are properties whose names carry their unit, beside one that says what they are above. Outer rings run anticlockwise, holes clockwise.
//! A site grid without a tie to the earth has no GeoJSON.

use super::{MapContext, WriteError, atomic, cell, ring::closed};
use crate::frame::FrameError;
use crate::geom::Point3;
use crate::io::{ColumnKind, Geometry, Layer, Value};
use serde_json::{Map, Value as Json};
use std::path::Path;

/// The property that says what the elevations among a feature's properties are above.
pub(super) const HEIGHTS: &str = "elevations_above";

/// Writes the layers as one collection; each feature names its layer.
///
/// # Errors
/// [`WriteError::Frame`] for a site grid or a place outside the frame's area of use, [`WriteError::File`].
pub fn write(path: &Path, layers: &[Layer], context: &MapContext) -> Result<(), WriteError> {
    let fault = |source| WriteError::Frame { path: path.to_owned(), source };
    let mut lines = Vec::new();
    for layer in layers {
        for feature in &layer.features {
            let mut properties = Map::new();
            properties.insert("layer".to_owned(), Json::from(layer.name.as_str()));
            for (column, value) in layer.columns.iter().zip(&feature.values) {
                let json = match value {
                    Value::Nothing => Json::Null,
                    Value::Text(text) => Json::from(text.as_str()),
                    Value::Integer(number) => Json::from(*number),
                    Value::Number(number) => Json::from(cell::rounded(column.kind, *number, &context.frame)),
                    Value::Flag(flag) => Json::from(*flag),
                };
                properties.insert(cell::header(column, context.frame.unit), json);
            }
            if layer.columns.iter().any(|column| column.kind == ColumnKind::Elevation) {
                properties.insert(HEIGHTS.to_owned(), Json::from(context.frame.height.as_str()));
            }
            let geometry = geojson::Geometry::new(shape(&feature.geometry, context).map_err(fault)?);
            let feature =
                geojson::Feature { geometry: Some(geometry), properties: Some(properties), ..Default::default() };
            lines.push(feature.to_string());
        }
    }
    // A member of our own, as RFC 7946 allows at the top.
    let about = Json::from(format!("longitude and latitude: WGS 84, degrees; survey: {}", context.frame.words()));
    let text =
        format!("{{\"type\":\"FeatureCollection\",\"about\":{about},\"features\":[\n{}\n]}}\n", lines.join(",\n"));
    atomic::write(path, text.as_bytes())
}

fn shape(geometry: &Geometry, context: &MapContext) -> Result<geojson::GeometryValue, FrameError> {
    let projector = context.projector.as_ref().ok_or(FrameError::Local)?;
    let position = |place: Point3| {
        let (longitude, latitude) = projector.to_lonlat(place.plan())?;
        Ok(geojson::Position::from(vec![nine_decimals(longitude), nine_decimals(latitude)]))
    };
    let line = |points: &[Point3]| points.iter().map(|point| position(*point)).collect::<Result<Vec<_>, FrameError>>();
    Ok(match geometry {
        Geometry::Point(place) => geojson::GeometryValue::Point { coordinates: position(*place)? },
        Geometry::Line(points) => geojson::GeometryValue::LineString { coordinates: line(points)? },
        Geometry::Polygon(rings) => {
            let coordinates = rings.iter().enumerate().map(|(at, ring)| line(&closed(ring, at == 0)));
            geojson::GeometryValue::Polygon { coordinates: coordinates.collect::<Result<_, FrameError>>()? }
        }
    })
}

fn nine_decimals(degrees: f64) -> f64 {
    (degrees * 1e9).round() / 1e9
}
