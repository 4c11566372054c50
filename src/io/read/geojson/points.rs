//! The points of a GeoJSON file as shots: their properties are read by the rules of a point file's header.
//!
//! Places are longitude and latitude on WGS 84 and third numbers are heights above its ellipsoid (RFC 7946); an old-style
//! `crs` member that names another system, or numbers that can be no degrees, make them grid coordinates. An `elevation`
//! property is worth more than a third number.

use crate::frame::{FrameError, Geographic, resolve};
use crate::io::read::ReadError;
use crate::io::read::points::{FileSettings, Header, PointFileError, Row, Table, is_place, known_title};
use crate::notes::{Note, Place};
use crate::survey::{Format, PointFile};
use geojson::GeometryValue;

/// What the places of a file are.
enum Places {
    Degrees(Geographic),
    Grid(Option<String>),
}

/// Reads a file that is in memory.
pub(in crate::io::read) fn parse(
    bytes: &[u8],
    name: &str,
    settings: &FileSettings,
) -> Result<PointFile, PointFileError> {
    let (features, crs) = super::features_of(bytes, name)?;
    let mut found: Vec<(u64, Vec<f64>, &geojson::Feature)> = Vec::new();
    let mut others = 0_u64;
    for (index, feature) in features.iter().enumerate() {
        let number = index as u64 + 1;
        match feature.geometry.as_ref().map(|geometry| &geometry.value) {
            Some(GeometryValue::Point { coordinates }) => {
                found.push((number, coordinates.as_slice().to_vec(), feature));
            }
            Some(GeometryValue::MultiPoint { coordinates }) => {
                found.extend(coordinates.iter().map(|at| (number, at.as_slice().to_vec(), feature)));
            }
            _ => others += 1,
        }
    }
    if found.is_empty() {
        let why = format!("there is no point in it, but {others} other features: a point file needs points");
        return Err(PointFileError::Lacks { file: name.to_owned(), why });
    }
    let degrees = |at: &[f64]| matches!(at, [x, y, ..] if x.abs() <= 180.0 && y.abs() <= 90.0);
    let places = match crs {
        Some(crs) => named(&crs, name)?,
        None if found.iter().all(|(_, at, _)| degrees(at)) => Places::Degrees(Geographic::Wgs84),
        None => Places::Grid(None),
    };
    let (mut titles, third): (Vec<String>, &str) = match &places {
        Places::Degrees(_) => (vec!["longitude".to_owned(), "latitude".to_owned()], "height"),
        Places::Grid(_) => (vec!["easting".to_owned(), "northing".to_owned()], "elevation"),
    };
    let mut keys: Vec<&String> = Vec::new();
    for key in found.iter().flat_map(|(_, _, feature)| feature.properties.iter().flatten()).map(|(key, _)| key) {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    // The geometry is the place, so properties that repeat it are left alone.
    keys.retain(|key| !is_place(key));
    let raised =
        found.iter().any(|(_, at, _)| at.len() > 2) && !keys.iter().any(|key| known_title(key) == known_title(third));
    if raised {
        titles.push(third.to_owned());
    }
    let id = keys.iter().all(|key| known_title(key) != known_title("point"))
        && found.iter().any(|(_, _, feature)| feature.id.is_some());
    if id {
        titles.push("point".to_owned());
    }
    titles.extend(keys.iter().map(|key| (*key).clone()));
    let rows = found.iter().map(|(line, at, feature)| {
        let number = |at: Option<&f64>| at.map_or_else(String::new, f64::to_string);
        let mut fields = vec![number(at.first()), number(at.get(1))];
        if raised {
            fields.push(number(at.get(2)));
        }
        if id {
            fields.push(feature.id.as_ref().map_or_else(String::new, |id| match id {
                geojson::feature::Id::String(text) => text.clone(),
                geojson::feature::Id::Number(number) => number.to_string(),
            }));
        }
        let property = |key: &String| feature.properties.as_ref().and_then(|all| all.get(key));
        fields.extend(keys.iter().map(|key| property(key).map_or_else(String::new, shown)));
        Row { line: *line, fields }
    });
    let rows = rows.collect();
    let header = Some(Header { line: 0, titles });
    let table = Table { name: name.to_owned(), format: Format::GeoJson, header, rows, notes: Vec::new() };
    let mut file = table.into_file(&FileSettings { columns: None, ..settings.clone() })?;
    match places {
        Places::Degrees(geographic) => file.geographic = Some(geographic),
        Places::Grid(crs) => file.crs = crs,
    }
    if others > 0 {
        let text = format!("{others} features are no points and are passed over");
        file.notes.push(Note::new("points::not-points", text).at(Place::File {
            file: name.to_owned(),
            line: 0,
            column: 0,
        }));
    }
    Ok(file)
}

/// A property as text.
fn shown(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::Null => String::new(),
        serde_json::Value::String(text) => text.trim().to_owned(),
        other => other.to_string(),
    }
}

fn named(crs: &str, name: &str) -> Result<Places, PointFileError> {
    match resolve(crs) {
        Ok(own) => Ok(Places::Grid(Some(own.crs))),
        Err(FrameError::Geographic { .. }) => Ok(Places::Degrees(Geographic::Named(crs.to_owned()))),
        Err(source) => Err(ReadError::Frame { path: name.to_owned(), source }.into()),
    }
}
